"""The slot as far as it is known, to scale, each number at its arrow; and the feeds as a chart."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence

from loadsim.base import shop, units
from loadsim.page.worth import FeedRow
from loadsim.report.drawings import svg
from loadsim.report.drawings.marks import dimension_text, zigzag
from loadsim.report.drawings.svg import Label, Paper, View
from loadsim.words.short import one_in

Point = tuple[float, float]

#: Paper of the slot and its tallest view, and paper of the chart. [mm]
WIDTH, TALL = 88.0, 40.0
CHART = (80.0, 88.0)

#: On the chart: left and right of both halves, top and bottom of each. [mm]
PANEL = (25.0, 76.0)
CHANCES = (5.0, 45.0)
FORCES = (55.0, 74.0)

#: Room beside the stock for its lettering, over it and under it, and stock beside the slot and
#: under it. [mm]
SIDE, OVER, UNDER = 20.0, 5.0, 24.0
STOCK = 6.0

#: Room for the view from above, and its part from left to right. [mm]
ABOVE = 30.0
PART = (17.0, 71.0)

#: What a dimension is called beside its arrow.
CALLED = {
    "throat_width": "throat",
    "undercut_width": "undercut",
    "undercut_height": "height",
    "depth": "depth",
}


def slot(
    sizes: Mapping[str, float],
    given: Collection[str],
    system: units.System,
    *,
    sides: int,
    ends: int,
) -> str:
    """Draw the slot across the feed, and from above.

    Parameters
    ----------
    sizes : mapping
        Throat width, undercut width and height, depth, length, by their keys. [mm]
    given : collection of str
        Keys of those that were answered, "sides" and "open_ends" among them; the others are drawn
        dashed, as usual values have them.
    system : {"metric", "inch"}
        Of the lettering.
    sides : int
        How many walls are undercut. [1]
    ends : int
        How many ends are open. [1]

    Returns
    -------
    svg : str
    """
    known = CALLED.keys() <= set(given)
    words = {
        key: f"{called} {dimension_text(sizes[key], system)}" + ("" if key in given else "?")
        for key, called in (*CALLED.items(), ("length", "length"))
    }
    scale = _scale(sizes)
    name = f"{scale:.3g}:1" if scale >= 1 else f"1:{1 / scale:.3g}"
    unit = "inch" if system == "inch" else "mm"
    whole = {*words, "open_ends"} <= set(given)
    foot = f"scale {name}, {unit}" + ("" if whole else "; ? not given yet")
    paper = _drawn(sizes, words, sides, known=known, foot=foot)
    doubt = "" if "open_ends" in given else "?"
    from_above(paper, words["length"], ends, doubt)
    told = f"Scale {name}. {'; '.join(words.values())}; ends open: {ends}{doubt}."
    return svg.finish(paper, "slot-sketch", "The slot across the feed", told)


def blank(sizes: Mapping[str, float]) -> str:
    """Draw a slot of no job, each dimension by its name.

    Parameters
    ----------
    sizes : mapping
        As `slot` has them. [mm]

    Returns
    -------
    svg : str
    """
    words = {key: f"{called} ______" for key, called in CALLED.items()}
    paper = _drawn(sizes, words, 2, known=True, foot="not to scale")
    told = "Where throat, undercut, height and depth lie."
    return svg.finish(paper, "slot-sketch", "The slot across the feed", told)


def _drawn(
    sizes: Mapping[str, float], words: Mapping[str, str], sides: int, *, known: bool, foot: str
) -> Paper:
    scale = _scale(sizes)
    bottom = OVER + max(sizes["depth"], sizes["undercut_height"]) * scale + STOCK
    paper = Paper(width=WIDTH, height=bottom + UNDER)
    true = _outline(sizes, sides)
    middle = (min(y for y, _ in true) + max(y for y, _ in true)) / 2
    view = View(x=WIDTH / 2 - middle * scale, y=bottom - STOCK, scale=scale)
    outline = [view.at(y, z) for y, z in true]
    _stock(paper, outline, view.at(0, sizes["depth"])[1], bottom, known)
    _heights(paper, view, sizes, outline, words)
    _widths(paper, outline, bottom, words)
    svg.text(paper, (WIDTH / 2, paper.height - 1.4), foot, anchor="middle")
    return paper


def _scale(sizes: Mapping[str, float]) -> float:
    """Largest scale of two figures at which the slot fits, as 3.2 : 1. [1]"""
    wide = max(sizes["throat_width"], sizes["undercut_width"])
    deep = max(sizes["depth"], sizes["undercut_height"])
    most = min((WIDTH - 2 * (SIDE + STOCK)) / wide, TALL / deep)
    step = 10.0 ** (math.floor(math.log10(most)) - 1)
    return math.floor(most / step) * step


def _outline(sizes: Mapping[str, float], sides: int) -> list[Point]:
    """From the left edge of the surface round to the right one; a slot undercut on one side has
    its plain wall on the left. [mm]
    """
    half, roof = sizes["throat_width"] / 2, sizes["undercut_height"]
    top = sizes["depth"]
    high = sizes["undercut_width"] / 2 if sides == 2 else sizes["undercut_width"] - half
    low = -high if sides == 2 else -half
    left = [(-half, roof), (low, roof)] if sides == 2 else []
    return [(-half, top), *left, (low, 0.0), (high, 0.0), (high, roof), (half, roof), (half, top)]


def _stock(paper: Paper, outline: list[Point], surface: float, bottom: float, known: bool) -> None:
    left, right = SIDE, WIDTH - SIDE
    corners = [(left, surface), *outline, (right, surface)]
    svg.hatch(paper, [[*corners, (right, bottom), (left, bottom)]])
    svg.path(paper, outline, "outline" if known else "dashed", part="slot")
    svg.path(paper, outline[-4:-1], part="dim-sides")
    svg.path(paper, outline[1:4], part="dim-sides" if len(outline) > 6 else "")
    for a, b in ((corners[0], outline[0]), (outline[-1], corners[-1])):
        svg.path(paper, [a, b], "outline")
    ends = ((corners[0], (left, bottom)), (corners[-1], (right, bottom)))
    for a, b in (*ends, ((left, bottom), (right, bottom))):
        svg.path(paper, zigzag(a, b))


def _heights(
    paper: Paper,
    view: View,
    sizes: Mapping[str, float],
    outline: list[Point],
    words: Mapping[str, str],
) -> None:
    """Depth on the left, the undercut's height on the right, each lettered at its arrow."""
    floor = view.y
    for side, key, size in (
        (-1, "depth", sizes["depth"]),
        (1, "undercut_height", sizes["undercut_height"]),
    ):
        x = WIDTH / 2 + side * (WIDTH / 2 - SIDE + 5)
        top = floor - size * view.scale
        from_x = (max if side > 0 else min)(p[0] for p in outline)
        svg.extension(paper, (from_x, floor), (x, floor))
        svg.extension(paper, (from_x, top), (x, top))
        svg.dimension(paper, (x, top), (x, floor), key)
        middle = (top + floor) / 2
        label = Label(lines=tuple(words[key].split()), leader=(), wanted=middle)
        svg.column(paper, [label], x + side * 2.0, side, 0.0, paper.height - 6)


def _widths(paper: Paper, outline: list[Point], bottom: float, words: Mapping[str, str]) -> None:
    throat = outline[0][0], outline[-1][0]
    low = min(p[0] for p in outline), max(p[0] for p in outline)
    floor = max(p[1] for p in outline)
    roof = outline[-2][1]
    text_x = WIDTH - SIDE - 8
    beside = max(text_x, low[1] + 2)  # clear of the undercut's own lines
    svg.across(
        paper, bottom + 6, throat, (roof, roof), words["throat_width"], beside, "throat_width"
    )
    svg.across(
        paper, bottom + 14, low, (floor, floor), words["undercut_width"], text_x, "undercut_width"
    )


def from_above(paper: Paper, length: str, ends: int, doubt: str) -> None:
    """Draw the slot from above under what is drawn: its length, and which ends are open.

    Parameters
    ----------
    paper : Paper
        Made longer by it.
    length : str
        Lettered at its arrow.
    ends : int
        How many are open. [1]
    doubt : str
        After what is said of the ends.
    """
    top = paper.height + 7
    paper.height += ABOVE
    left, right = PART
    bottom = top + 12
    middle = (top + bottom) / 2
    start, end = (left if ends == 2 else left + 7), (right if ends else right - 7)
    closed = [x for x, edge in ((start, left), (end, right)) if x != edge]
    svg.text(paper, (WIDTH / 2, top - 1.4), "from above, not to scale", anchor="middle")
    svg.path(paper, [(left, top), (right, top), (right, bottom), (left, bottom)], close=True)
    for half, pen in ((4.0, "dashed"), (2.0, "outline")):  # the undercut is hidden, the throat not
        walls = [[(start, y), (end, y)] for y in (middle - half, middle + half)]
        walls += [[(x, middle - half), (x, middle + half)] for x in closed]
        for wall in walls:
            svg.path(paper, wall, pen)
    svg.across(paper, bottom + 6, (start, end), (middle, middle), length, right, "length")
    for x, side, is_open in ((start, -1, ends == 2), (end, 1, ends > 0)):
        tail = (PART[side > 0] + side * 4.0, middle)
        svg.path(paper, [tail, (x, middle)], part="dim-open_ends")
        svg.arrowhead(paper, (x, middle), (-side, 0.0))
        words = ("open" if is_open else "closed") + doubt
        at = (tail[0] + side * 0.5, middle + 1.2)
        svg.text(paper, at, words, anchor="start" if side > 0 else "end")


def feed_places(rows: Sequence[FeedRow]) -> list[float]:
    """Return where each feed stands on the chart, from its left edge. [mm]"""
    first, last = rows[0].feed_per_tooth, rows[-1].feed_per_tooth
    wide = PANEL[1] - PANEL[0]
    return [PANEL[0] + (r.feed_per_tooth - first) / (last - first) * wide for r in rows]


def feeds(rows: Sequence[FeedRow], accepted: float, system: units.System) -> str:
    """Draw chance and force over the feed, with the accepted chance as a line and the pick marked.

    Parameters
    ----------
    rows : sequence of FeedRow
        The least feed first.
    accepted : float
        Accepted chance. [1]
    system : {"metric", "inch"}
        Of the lettering.

    Returns
    -------
    svg : str
    """
    paper = Paper(width=CHART[0], height=CHART[1])
    _chances(paper, rows, accepted)
    _forces(paper, rows, system)
    places = feed_places(rows)
    picked = next(x for x, row in zip(places, rows, strict=True) if row.picked)
    svg.path(paper, [(picked, CHANCES[0]), (picked, FORCES[1])], "dashed", part="handle")
    base = FORCES[1] + 4.5
    svg.text(paper, (picked, base), "pick", anchor="middle")
    for i, anchor in ((0, "start"), (-1, "end")):
        words = shop.fine(rows[i].feed_per_tooth, system)
        svg.text(paper, (places[i], base), words, anchor=anchor)
    svg.text(paper, (CHART[0] / 2, CHART[1] - 1.5), "feed per tooth", anchor="middle")
    told = "; ".join(
        f"{shop.fine(r.feed_per_tooth, system)}: {one_in(r.snap_probability)},"
        f" {shop.force(r.force, system)}"
        for r in rows
    )
    return svg.finish(paper, "feed-chart", "Chance to snap and force over the feed", told)


def _chances(paper: Paper, rows: Sequence[FeedRow], accepted: float) -> None:
    """The upper half: the chance, in powers of ten."""
    shown = [max(r.snap_probability, 1e-6) for r in rows]
    least = math.floor(math.log10(min(*shown, accepted)))
    most = math.ceil(math.log10(max(*shown, accepted)))
    top, bottom = CHANCES

    def up(p: float) -> float:
        return bottom - (math.log10(p) - least) / max(most - least, 1) * (bottom - top)

    for power in range(least, most + 1):
        y = up(10.0**power)
        svg.path(paper, [(PANEL[0], y), (PANEL[1], y)])
        svg.text(
            paper, (PANEL[0] - 1.5, y + 1.2), one_in(10.0**power) if power else "all", anchor="end"
        )
    svg.path(paper, [(x, up(accepted)) for x in PANEL], "cut", part="accepted")
    svg.text(paper, (PANEL[1], up(accepted) - 1.2), "accepted", anchor="end")
    points = [(x, up(p)) for x, p in zip(feed_places(rows), shown, strict=True)]
    svg.path(paper, points, "outline", part="chance")
    for row, point in zip(rows, points, strict=True):
        if row.picked:
            svg.circle(paper, point, 1.6, "outline", fill="#fff", part="pick")


def _forces(paper: Paper, rows: Sequence[FeedRow], system: units.System) -> None:
    """The lower half: the force, from nothing."""
    most = max(r.force for r in rows)
    top, bottom = FORCES
    for share in (0.0, 0.5, 1.0):
        y = bottom - share * (bottom - top)
        svg.path(paper, [(PANEL[0], y), (PANEL[1], y)])
        words = shop.force(share * most, system) if share else "0"
        svg.text(paper, (PANEL[0] - 1.5, y + 1.2), words, anchor="end")
    points = [
        (x, bottom - row.force / most * (bottom - top))
        for x, row in zip(feed_places(rows), rows, strict=True)
    ]
    svg.path(paper, points, "outline", part="force")
    svg.text(paper, (PANEL[0] + 1, top - 1.2), "force")

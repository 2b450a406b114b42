"""A small writer of line drawings: paper in mm, black on white, dimensions and lettering as on a
workshop drawing.

Paper is measured in millimetres of paper, x to the right and y down. Line widths and kinds follow
ISO 128 (outlines 0.5 mm, everything else 0.25 mm), lettering ISO 3098 (2.5 mm high), scales ISO
5455.
"""

from __future__ import annotations

import html
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

Point = tuple[float, float]

#: Size of type whose capitals are 2.5 mm high (capitals of common sans-serif faces are 0.72 of the
#: size). [mm]
TYPE = 3.5

#: From one line of lettering to the next. [mm]
LEADING = 4.0

#: Capitals over the size of the type, with a little room. [1]
CAPITALS = 0.74

#: Arrowheads, and the tails of arrows that point inward from outside. [mm]
ARROW = 2.2
ARROW_HALF = 0.4
TAIL = 4.0

#: Advance widths of a common sans-serif face, in thousandths of the size (memory high); what is not
#: here counts as the widest. [1]
ADVANCE = {
    **dict.fromkeys("ijl'", 222),
    **dict.fromkeys(" .,:/;tfI", 278),
    **dict.fromkeys("()r-", 333),
    "°": 400,
    **dict.fromkeys("ckvxyszJ", 500),
    **dict.fromkeys("0123456789abdeghnopquL", 556),
    **dict.fromkeys("+×−", 584),
    **dict.fromkeys("FTZ", 611),
    **dict.fromkeys("ABESKPVXY", 667),
    **dict.fromkeys("CDHNRUw", 722),
    **dict.fromkeys("GOQØ", 778),
    **dict.fromkeys("mM", 833),
}

#: Enlarging, full size, reducing: the scales of ISO 5455, and what they multiply by.
SCALES = (
    *((f"{n}:1", float(n)) for n in (50, 20, 10, 5, 2, 1)),
    *((f"1:{n}", 1.0 / n) for n in (2, 5, 10, 20, 50, 100, 200, 500, 1000)),
)  # fmt: skip

PENS = {
    "none": 'stroke="none"',
    "outline": 'stroke-width="0.5"',
    "thin": 'stroke-width="0.25"',
    "cut": 'stroke-width="1.2" stroke-linecap="butt"',
    "dashed": 'stroke-width="0.25" stroke-dasharray="2 0.8"',
    "chain": 'stroke-width="0.25" stroke-dasharray="5 0.8 0.6 0.8"',
}  # fmt: skip


@dataclass(slots=True, kw_only=True)
class Paper:
    """A drawing in the making; what comes later lies on top."""

    width: float  #: [mm]
    height: float  #: [mm]
    parts: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """Where a view lies on the paper."""

    x: float  #: of its origin [mm]
    y: float  #: [mm]
    scale: float  #: paper over thing [1]

    def at(self, u: float, v: float) -> Point:
        """Return the place on paper of a point u to the right and v up from the origin. [mm]"""
        return self.x + u * self.scale, self.y - v * self.scale


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Lines of lettering beside the view, with a leader to what they speak of."""

    lines: tuple[str, ...]
    leader: tuple[Point, ...]  #: from the thing towards the label; the label closes it
    wanted: float  #: y of its middle, if nothing else stands there [mm]
    arrow: bool = False  #: whether the leader points with an arrowhead


def num(x: float) -> str:
    """Write a coordinate: three decimals at most, one way only."""
    if not math.isfinite(x):
        raise ValueError(f"a coordinate of the drawing is {x}, not a number")
    return f"{round(x, 3) + 0.0:.3f}".rstrip("0").rstrip(".")


def text_width(text: str, size: float = TYPE) -> float:
    """Estimate how wide a text is set. [mm]"""
    return sum(ADVANCE.get(c, 1015) for c in text) * size / 1000


def block(lines: Sequence[str]) -> Point:
    """Return width and height of lines of lettering. [mm]"""
    return max(text_width(x) for x in lines), (len(lines) - 1) * LEADING + TYPE * CAPITALS


def fitting(fits: Callable[[float], bool]) -> tuple[str, float]:
    """Choose the largest standard scale at which a drawing fits.

    Parameters
    ----------
    fits : callable
        Told a scale factor, whether it fits.

    Returns
    -------
    name : str
        As written on the drawing, e.g. 2:1.
    scale : float
        Paper over thing. [1]

    Raises
    ------
    ValueError
        If none fits.
    """
    for name, scale in SCALES:
        if fits(scale):
            return name, scale
    raise ValueError("the box is too small for the drawing and its lettering at any standard scale")


def path(
    paper: Paper,
    points: Sequence[Point],
    pen: str = "thin",
    *,
    fill: str = "none",
    part: str = "",
    close: bool = False,
) -> None:
    """Draw a run of straight lines, closed on request."""
    named = f' data-part="{html.escape(part)}"' if part else ""
    d = "M" + " L".join(f"{num(x)} {num(y)}" for x, y in points) + (" Z" if close else "")
    paper.parts.append(f'<path d="{d}" fill="{fill}" {PENS[pen]}{named}/>')


def circle(
    paper: Paper,
    centre: Point,
    radius: float,
    pen: str = "thin",
    *,
    fill: str = "none",
    part: str = "",
) -> None:
    """Draw a circle."""
    named = f' data-part="{html.escape(part)}"' if part else ""
    paper.parts.append(
        f'<circle cx="{num(centre[0])}" cy="{num(centre[1])}" r="{num(radius)}" fill="{fill}"'
        f" {PENS[pen]}{named}/>"
    )


def text(
    paper: Paper, at: Point, words: str, *, anchor: str = "start", upright: bool = False
) -> None:
    """Letter one line; `at` is its base line. Upright runs it upward, to be read from the right."""
    x = num(at[0])
    y = num(at[1])
    turn = f' transform="rotate(-90 {x} {y})"' if upright else ""
    paper.parts.append(
        f'<text x="{x}" y="{y}" text-anchor="{anchor}"{turn}>{html.escape(words)}</text>'
    )


def arrowhead(paper: Paper, tip: Point, towards: Point, size: float = 1.0) -> None:
    """Draw a filled arrowhead at a tip, pointing along a direction of unit length."""
    (x, y), (u, v) = tip, towards
    base = (x - size * ARROW * u, y - size * ARROW * v)
    sides = [
        (base[0] - s * size * ARROW_HALF * v, base[1] + s * size * ARROW_HALF * u) for s in (-1, 1)
    ]
    d = "M" + " L".join(f"{num(a)} {num(b)}" for a, b in (tip, *sides)) + " Z"
    paper.parts.append(f'<path d="{d}" fill="#000" stroke="none" data-part="arrow"/>')


def arc(centre: Point, radius: float, start: float, end: float) -> list[Point]:
    """Return points along an arc; angles from the top, clockwise on paper. [rad]"""
    n = max(2, math.ceil(math.fabs(end - start) / math.radians(3)))
    turns = (start + (end - start) * k / n for k in range(n + 1))
    return [(centre[0] + radius * math.sin(t), centre[1] - radius * math.cos(t)) for t in turns]


def hatch(
    paper: Paper, outline: Sequence[Sequence[Point]], spacing: float = 1.6, part: str = "hatch"
) -> None:
    """Hatch what lies inside an odd number of closed outlines, at 45 degrees as sections are."""
    edges = [edge for ring in outline for edge in pairwise([*ring, ring[0]])]
    sums = [x + y for ring in outline for x, y in ring]
    lines = []
    for k in range(math.ceil(min(sums) / spacing), math.floor(max(sums) / spacing) + 1):
        c = k * spacing + 1e-7  # a hair beside the corners, which would count twice
        cuts = sorted(_cut(a, b, c) for a, b in edges if (a[0] + a[1] - c) * (b[0] + b[1] - c) < 0)
        lines += [(u, v, c) for u, v in zip(cuts[::2], cuts[1::2], strict=True) if v - u > 0.05]
    if lines:
        d = " ".join(f"M{num(u)} {num(c - u)} L{num(v)} {num(c - v)}" for u, v, c in lines)
        paper.parts.append(
            f'<path d="{d}" fill="none" {PENS["thin"]} data-part="{html.escape(part)}"/>'
        )


def _cut(a: Point, b: Point, c: float) -> float:
    """Return x where the segment from a to b meets the line x + y = c."""
    p = a[0] + a[1] - c
    q = b[0] + b[1] - c
    return a[0] + (b[0] - a[0]) * p / (p - q)


def dimension(paper: Paper, a: Point, b: Point, part: str, tail: float = TAIL) -> None:
    """Draw a dimension line from a to b with arrowheads; where there is no room they point in from
    outside.
    """
    length = math.hypot(b[0] - a[0], b[1] - a[1])
    if length < 1e-9:  # no gap: only the place is pointed at
        u = (1.0, 0.0) if part.endswith("across") else (0.0, 1.0)
    else:
        u = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    inside = length >= 2 * ARROW + 0.8
    d = 0.0 if inside else tail
    ends = [(a[0] - d * u[0], a[1] - d * u[1]), (b[0] + d * u[0], b[1] + d * u[1])]
    path(paper, ends, part=f"dim-{part}" if inside else "")
    if not inside:
        path(paper, [a, b], part=f"dim-{part}")
    sign = -1 if inside else 1
    arrowhead(paper, a, (sign * u[0], sign * u[1]))
    arrowhead(paper, b, (-sign * u[0], -sign * u[1]))


def extension(paper: Paper, start: Point, end: Point) -> None:
    """Draw an extension line from a little off the thing to a little beyond the dimension line."""
    length = math.hypot(end[0] - start[0], end[1] - start[1])
    u = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    path(
        paper,
        [
            (start[0] + 0.6 * u[0], start[1] + 0.6 * u[1]),
            (end[0] + 1.2 * u[0], end[1] + 1.2 * u[1]),
        ],
    )


def across(
    paper: Paper, y: float, x: Point, from_y: Point, words: str, text_x: float, part: str
) -> None:
    """Draw a horizontal dimension under a view: between its arrows if there is room, else to the
    right from `text_x`.
    """
    for u, v in zip(x, from_y, strict=True):
        extension(paper, (u, v), (u, y))
    dimension(paper, (x[0], y), (x[1], y), part)
    width = text_width(words)
    middle = (x[0] + x[1]) / 2
    if x[1] - x[0] < width + 2 * ARROW + 1:
        path(paper, [(x[1], y), (text_x + width, y)])
        middle = text_x + width / 2
    text(paper, (middle, y - 0.8), words, anchor="middle")


def spread(
    wanted: Sequence[float], sizes: Sequence[float], low: float, high: float, gap: float = 2.0
) -> list[float]:
    """Space blocks along a column, each as near as may be to where it is wanted, in their order.

    Parameters
    ----------
    wanted : sequence of float
        Middles, in order. [mm]
    sizes : sequence of float
        Heights. [mm]
    low : float
        Start of the column. [mm]
    high : float
        End of the column. [mm]
    gap : float
        Kept between blocks. [mm]

    Returns
    -------
    middles : list of float
        [mm]

    Raises
    ------
    ValueError
        If they do not fit.
    """
    if sum(sizes) + gap * (len(sizes) - 1) > high - low + 1e-9:
        raise ValueError("the box is too small for the lettering beside the drawing")
    middles: list[float] = []
    edge = low
    for middle, size in zip(wanted, sizes, strict=True):
        middles.append(max(middle, edge + size / 2))
        edge = middles[-1] + size / 2 + gap
    edge = high
    for i in range(len(middles) - 1, -1, -1):
        middles[i] = min(middles[i], edge - sizes[i] / 2)
        edge = middles[i] - sizes[i] / 2 - gap
    return middles


def column_height(labels: Sequence[tuple[str, ...]], gap: float = 2.0) -> float:
    """Return the height that a column of labels needs. [mm]"""
    return sum(block(x)[1] for x in labels) + gap * max(len(labels) - 1, 0)


def labels_of(
    texts: Mapping[str, tuple[str, ...]],
    leaders: Mapping[str, tuple[Point, ...]],
    pointed: Sequence[str] = (),
) -> list[Label]:
    """Join lettering and leaders of the same name to labels, each wanted where its leader ends.

    Parameters
    ----------
    texts : dict of tuple of str
        Lines of lettering by name, top to bottom.
    leaders : dict of tuple of (float, float)
        Leaders by name. [mm]
    pointed : sequence of str
        Names whose leader ends in an arrowhead.

    Returns
    -------
    labels : list of Label
    """
    return [
        Label(lines=lines, leader=leaders[name], wanted=leaders[name][-1][1], arrow=name in pointed)
        for name, lines in texts.items()
    ]


def column(
    paper: Paper, labels: Sequence[Label], x: float, side: int, low: float, high: float
) -> None:
    """Letter a column of labels and lead each to its thing.

    Parameters
    ----------
    paper : Paper
        Drawn on.
    labels : sequence of Label
        Top to bottom.
    x : float
        Edge of the lettering that faces the view. [mm]
    side : int
        -1 left of the view, +1 right of it.
    low : float
        Top of the column. [mm]
    high : float
        Bottom of the column. [mm]
    """
    heights = [block(label.lines)[1] for label in labels]
    middles = spread([label.wanted for label in labels], heights, low, high)
    anchor = "start" if side > 0 else "end"
    for label, middle, height in zip(labels, middles, heights, strict=True):
        _leader(paper, label, (x - side * 0.8, middle))
        base = middle - height / 2 + TYPE * CAPITALS
        for i, words in enumerate(label.lines):
            text(paper, (x, base + i * LEADING), words, anchor=anchor)


def _leader(paper: Paper, label: Label, end: Point) -> None:
    """Lead from the thing to the lettering, with an arrowhead where the label asks for one."""
    run = [*label.leader, end]
    if label.leader:
        path(paper, run, part="leader")
    if label.arrow:
        (x0, y0), (x1, y1) = run[:2]
        length = math.hypot(x1 - x0, y1 - y0)
        arrowhead(paper, run[0], ((x0 - x1) / length, (y0 - y1) / length))


def finish(paper: Paper, name: str, title: str, words: str) -> str:
    """Close a drawing.

    Parameters
    ----------
    paper : Paper
        What was drawn.
    name : str
        Id of the drawing; those of its title and description are made from it.
    title : str
        What it shows.
    words : str
        The same in words, with the numbers, for who cannot see it.

    Returns
    -------
    svg : str
    """
    w = num(paper.width)
    h = num(paper.height)
    name = html.escape(name)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" id="{name}" role="img"'
        f' aria-labelledby="{name}-title {name}-desc" width="{w}mm" height="{h}mm" viewBox="0 0 {w}'
        f' {h}" font-family="Arial, Helvetica, sans-serif" font-size="{num(TYPE)}"><title'
        f' id="{name}-title">{html.escape(title)}</title><desc'
        f' id="{name}-desc">{html.escape(words)}</desc><rect x="0" y="0" width="{w}" height="{h}"'
        ' fill="#fff" stroke="none"/><g stroke="#000" stroke-linejoin="round"'
        ' stroke-linecap="round" fill="none">'
    )
    body = "\n".join(
        p.replace("<text ", '<text fill="#000" stroke="none" ', 1) if p.startswith("<text ") else p
        for p in paper.parts
    )
    return f"{head}\n{body}\n</g></svg>"

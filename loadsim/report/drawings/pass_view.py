"""One pass of the undercut seen from the spindle: what metal stands ahead, where the teeth cut,
which wall is which.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from loadsim.answers.results import Settings
from loadsim.job.tables import Job
from loadsim.loads.passes import Pass, passes
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.report.drawings import svg
from loadsim.report.drawings.marks import (
    CAPTION,
    EDGE,
    OFF,
    REACH,
    Box,
    caption,
    said,
    turn_arrow,
    width_of,
)
from loadsim.report.drawings.outlines import OutlineBand, arcs_in_cut, bands, holes_of, immersion
from loadsim.report.drawings.svg import Label, Paper, View

Point = tuple[float, float]

#: Stock shown beyond walls and head; room for the feed arrow. [mm]
MARGIN = 3.5
FEED = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """What the view shows, in the frame of the feed."""

    s: ResolvedJob
    p: Pass
    low: float  #: y of the undercut's wall on the low side [mm]
    high: float  #: on the high side [mm]
    arcs: tuple[Point, ...]  #: in the cut, first and last immersion angle [rad]

    @property
    def sides(self) -> dict[str, Point]:
        """First and last angle of the cut in each half of the turn. [rad]"""
        right = math.pi / 2
        halves = {
            "conventional": [(a, min(b, right)) for a, b in self.arcs if a < right - 1e-9],
            "climb": [(max(a, right), b) for a, b in self.arcs if b > right + 1e-9],
        }
        return {k: (x[0][0], x[-1][1]) for k, x in halves.items() if x}


def _plan(job: Job, settings: Settings, index: int) -> _Plan:
    resolved = resolve(job)
    laid = passes(
        resolved, settings.stepover_mm, job.cut.direction or "conventional", holes_of(settings)
    )
    told = [(x["offset_mm"], x["height_mm"], x["direction"]) for x in settings.passes]
    if [(x.offset, x.level, x.direction) for x in laid] != told:
        raise ValueError(
            "the passes in the settings are not those of this job; take both from the same answer"
        )
    p = laid[index]
    turned = (
        p.swept.offset != p.offset
        if p.offset != 0
        else job.slot.sides == 1 and p.direction == "climb"
    )
    low, high = (
        (-resolved.side, -resolved.side_low) if turned else (resolved.side_low, resolved.side)
    )
    return _Plan(s=resolved, p=p, low=low, high=high, arcs=tuple(arcs_in_cut(p)))


def _degrees(angles: Point) -> str:
    return f"{math.degrees(angles[0]):.0f} to {math.degrees(angles[1]):.0f}°"


def engagement(
    job: Job,
    settings: Settings,
    pass_index: int = 0,
    *,
    box: Box = (85.0, 70.0),
    id: str = "engagement",
) -> str:
    """Draw one pass seen from the spindle, cut at the height of the head, feed to the right.

    Parameters
    ----------
    job : Job
        The job.
    settings : Settings
        Passes and end holes, from the answer to this job.
    pass_index : int
        Which pass, counted from 0.
    box : (float, float)
        Width and greatest height of the drawing on paper. [mm]
    id : str
        Of the drawing on the page.

    Returns
    -------
    svg : str

    Raises
    ------
    ValueError
        If the box is too small for any standard scale, or the settings are not those of this job.
    IndexError
        If there is no such pass.
    """
    d = _plan(job, settings, pass_index)
    words = {k: (k, _degrees(a)) for k, a in d.sides.items()}
    left = EDGE + width_of([("undercut",)])
    right = EDGE + width_of([*words.values()])
    name, scale = svg.fitting(
        lambda k: left + right + 2 * (REACH + OFF) + _wide(d, k) <= box[0] and _tall(d, k) <= box[1]
    )
    sheet = Paper(width=box[0], height=_tall(d, scale))
    middle = (left + sheet.width - right) / 2
    reach = min((sheet.width - right - left) / 2 - REACH - OFF, 0.75 * _wide(d, scale))
    view = View(x=middle, y=1.0 + MARGIN + _ends(d)[1] * scale, scale=scale)
    x = middle - reach, middle + reach
    columns = x[0] - OFF - REACH, x[1] + OFF + REACH  # a wide sheet keeps its lettering by the view
    _draw_metal(sheet, d, view, x)
    _draw_head(sheet, d, view)
    walls = _draw_walls(sheet, d, view, x)
    leads = {k: _lead(d, view, a, x[1]) for k, a in d.sides.items()}
    bottom = sheet.height - CAPTION
    svg.column(
        sheet,
        [Label(lines=(k,), leader=((x[0] + 1, y), (x[0] - OFF, y)), wanted=y) for k, y in walls],
        columns[0],
        -1,
        1.0,
        bottom,
    )
    svg.column(
        sheet,
        [
            Label(lines=words[k], leader=lead, wanted=lead[-1][1], arrow=True)
            for k, lead in leads.items()
        ],
        columns[1],
        1,
        1.0,
        bottom,
    )
    _feed(sheet, middle, bottom - FEED / 2)
    which = f"pass {pass_index + 1} of {len(settings.passes)}, " if len(settings.passes) > 1 else ""
    caption(sheet, f"{which}scale {name}, seen from the spindle")
    return svg.finish(
        sheet,
        id,
        "One pass seen from the spindle: where the teeth are in the cut",
        _plan_words(d, name),
    )


def _ends(d: _Plan) -> Point:
    """Least and largest y shown of walls and head. [mm]"""
    r = d.s.head.radius
    return min(d.low, d.p.swept.offset - r), max(d.high, d.p.swept.offset + r)


def _wide(d: _Plan, scale: float) -> float:
    return d.s.head.radius * 2 * scale + 3 * MARGIN


def _tall(d: _Plan, scale: float) -> float:
    low, high = _ends(d)
    return 1.0 + (high - low) * scale + 2 * MARGIN + FEED + CAPTION


def _draw_metal(sheet: Paper, d: _Plan, view: View, x: Point) -> None:
    low, high = (y + side * MARGIN / view.scale for side, y in zip((-1, 1), _ends(d), strict=True))
    for band in bands(d.p, low, high):
        left = _left_edge(d, view, band, x[0])
        ring = [(x[1], view.at(0, band.low)[1]), (x[1], view.at(0, band.high)[1]), *left]
        svg.hatch(sheet, [ring])
        edge = [
            *([ring[1]] if band.high < high else []),
            *left,
            *([ring[0]] if band.low > low else []),
        ]
        start = 0 if band.high < high else 1  # where the view is broken off there is no edge
        svg.path(sheet, edge[start:] if band.low > low else edge[start:-1], "outline", part="metal")


def _left_edge(d: _Plan, view: View, band: OutlineBand, start: float) -> list[Point]:
    """Edge of a band of metal towards the cutter, from its high y down: the wall behind, or the arc
    that the head has cut.
    """
    off = d.p.swept.offset
    r = d.s.head.radius
    found: list[Point] = []
    if band.high > off + r:
        found += [(start, view.at(0, band.high)[1])]
        found += [(start, view.at(0, max(off + r, band.low))[1])]
    top = min(band.high, off + r)
    bottom = max(band.low, off - r)
    if top > bottom:
        found += svg.arc(
            view.at(0, off), r * view.scale, immersion(top, d.p), immersion(bottom, d.p)
        )
    if band.low < off - r:
        found += [(start, view.at(0, min(off - r, band.high))[1])]
        found += [(start, view.at(0, band.low)[1])]
    return found


def _draw_head(sheet: Paper, d: _Plan, view: View) -> None:
    centre = view.at(0, d.p.swept.offset)
    radius = d.s.head.radius * view.scale
    neck = d.s.cutter.neck_diameter / 2 * view.scale
    svg.circle(sheet, centre, radius, "outline", fill="#fff", part="head")
    svg.circle(sheet, centre, neck, "dashed", part="neck")
    for a, b in d.arcs:
        svg.path(sheet, svg.arc(centre, radius, a, b), "cut", part="in-cut")
    for u, w in ((1, 0), (0, 1)):
        ends = [
            (centre[0] + k * (radius + 1.5) * u, centre[1] + k * (radius + 1.5) * w)
            for k in (-1, 1)
        ]
        svg.path(sheet, ends, "chain", part="centre-mark")
    turn_arrow(sheet, centre, (radius + neck) / 2, -60, 60)


def _draw_walls(sheet: Paper, d: _Plan, view: View, x: Point) -> list[tuple[str, float]]:
    """Draw throat and undercut walls that the cut at this height does not show; returns what to
    name on the left, top first.
    """
    throat = d.p.section.throat_high, d.p.section.throat_low
    for y in {*throat, d.high, d.low}:
        at = view.at(0, y)[1]
        svg.path(
            sheet,
            [(x[0], at), (x[1], at)],
            "dashed",
            part="throat-wall" if y in throat else "undercut-wall",
        )
    found = (
        [("undercut", d.high), ("throat", throat[0])]
        if d.high > throat[0] + 1e-9
        else [("throat", throat[0])]
    )
    if d.low < throat[1] - 1e-9:
        found += [("throat", throat[1]), ("undercut", d.low)]
    elif d.high > throat[0] + 1e-9:
        found += [("throat", throat[1])]
    return [(k, view.at(0, y)[1]) for k, y in found]


def _lead(d: _Plan, view: View, angles: Point, right: float) -> tuple[Point, ...]:
    t = sum(angles) / 2
    r = d.s.head.radius
    x, y = view.at(r * math.sin(t), d.p.swept.offset + r * math.cos(t))
    return (x, y), (right + OFF, y - 2.0 * math.cos(t))


def _feed(sheet: Paper, x: float, y: float) -> None:
    svg.path(sheet, [(x - 4, y), (x + 10, y)], "outline", part="feed")
    svg.arrowhead(sheet, (x + 13, y), (1.0, 0.0), 1.6)
    svg.text(sheet, (x - 5.5, y + svg.TYPE * svg.CAPITALS / 2), "feed", anchor="end")


def _plan_words(d: _Plan, scale: str) -> str:
    job = d.s.written
    off = d.p.swept.offset
    where = (
        "on the throat's centre line"
        if off == 0
        else f"{said(off, job)} off the throat's centre line, positive to the left of the feed"
    )
    cuts = [
        f"{'Conventional' if k == 'conventional' else 'Climb'} cut from {_degrees(a)} of immersion."
        for k, a in d.sides.items()
    ]
    return (
        f"Scale {scale}. Seen from the spindle, feed to the right, the cutter turns clockwise. Its"
        f" axis runs {where}; the head is {said(job.cutter.head_diameter, job)} in diameter and"
        f" meets {said(d.p.radial_width, job)} of metal across. " + " ".join(cuts)
    )

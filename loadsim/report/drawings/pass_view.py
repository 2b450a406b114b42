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
    centre_mark,
    length_text,
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
class _Scene:
    """What the view shows, in the frame of the feed."""

    job: ResolvedJob
    cut: Pass  #: the pass shown
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
        return {name: (arcs[0][0], arcs[-1][1]) for name, arcs in halves.items() if arcs}


def _scene(job: Job, settings: Settings, index: int) -> _Scene:
    """Find the pass in the settings among those of the job, and the walls it runs between."""
    resolved = resolve(job)
    direction = job.cut.direction or "conventional"
    job_passes = passes(resolved, settings.stepover_mm, direction, holes_of(settings))
    places = [(p.offset, p.level, p.direction) for p in job_passes]
    entries = [(p["offset_mm"], p["height_mm"], p["direction"]) for p in settings.passes]
    if places != entries:
        raise ValueError(
            "the passes in the settings are not those of this job; take both from the same answer"
        )
    cut = job_passes[index]
    low, high = resolved.side_low, resolved.side
    if _is_turned(cut, job):
        low, high = -high, -low
    return _Scene(job=resolved, cut=cut, low=low, high=high, arcs=tuple(arcs_in_cut(cut)))


def _is_turned(cut: Pass, job: Job) -> bool:
    """Whether a pass is fed the other way along the slot, so that its sides are swapped."""
    if cut.offset != 0:
        return cut.swept.offset != cut.offset
    return job.slot.sides == 1 and cut.direction == "climb"


def _degrees(angles: Point) -> str:
    return f"{math.degrees(angles[0]):.0f} to {math.degrees(angles[1]):.0f}°"


def engagement(
    job: Job,
    settings: Settings,
    pass_index: int = 0,
    *,
    box: Box = (85.0, 70.0),
    id: str = "engagement",  # noqa: A002
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
    scene = _scene(job, settings, pass_index)
    words = {side: (side, _degrees(angles)) for side, angles in scene.sides.items()}
    left = EDGE + width_of([("undercut",)])
    right = EDGE + width_of([*words.values()])
    beside = left + right + 2 * (REACH + OFF)
    name, scale = svg.fitting(
        lambda k: beside + _wide(scene, k) <= box[0] and _tall(scene, k) <= box[1]
    )
    paper = Paper(width=box[0], height=_tall(scene, scale))
    middle = (left + paper.width - right) / 2
    reach = min((paper.width - right - left) / 2 - REACH - OFF, 0.75 * _wide(scene, scale))
    view = View(x=middle, y=1.0 + MARGIN + _ends(scene)[1] * scale, scale=scale)
    x = middle - reach, middle + reach
    _draw_metal(paper, scene, view, x)
    _draw_head(paper, scene, view)
    walls = _draw_walls(paper, scene, view, x)
    bottom = paper.height - CAPTION
    # wide paper keeps its lettering by the view
    columns = x[0] - OFF - REACH, x[1] + OFF + REACH
    svg.column(paper, _wall_labels(walls, x[0]), columns[0], -1, 1.0, bottom)
    leads = {side: _lead(scene, view, angles, x[1]) for side, angles in scene.sides.items()}
    svg.column(paper, svg.labels_of(words, leads, [*leads]), columns[1], 1, 1.0, bottom)
    _draw_feed(paper, middle, bottom - FEED / 2)
    count = len(settings.passes)
    which = f"pass {pass_index + 1} of {count}, " if count > 1 else ""
    caption(paper, f"{which}scale {name}, seen from the spindle")
    return svg.finish(
        paper,
        id,
        "One pass seen from the spindle: where the teeth are in the cut",
        _words(scene, name),
    )


def _ends(scene: _Scene) -> Point:
    """Least and largest y shown of walls and head. [mm]"""
    r = scene.job.head.radius
    return min(scene.low, scene.cut.swept.offset - r), max(scene.high, scene.cut.swept.offset + r)


def _wide(scene: _Scene, scale: float) -> float:
    return scene.job.head.radius * 2 * scale + 3 * MARGIN


def _tall(scene: _Scene, scale: float) -> float:
    low, high = _ends(scene)
    return 1.0 + (high - low) * scale + 2 * MARGIN + FEED + CAPTION


def _draw_metal(paper: Paper, scene: _Scene, view: View, x: Point) -> None:
    low, high = _ends(scene)
    low -= MARGIN / view.scale
    high += MARGIN / view.scale
    for band in bands(scene.cut, low, high):
        left = _left_edge(scene, view, band, x[0])
        ring = [(x[1], view.at(0, band.low)[1]), (x[1], view.at(0, band.high)[1]), *left]
        svg.hatch(paper, [ring])
        edge = [
            *([ring[1]] if band.high < high else []),
            *left,
            *([ring[0]] if band.low > low else []),
        ]
        start = 0 if band.high < high else 1  # where the view is broken off there is no edge
        svg.path(paper, edge[start:] if band.low > low else edge[start:-1], "outline", part="metal")


def _left_edge(scene: _Scene, view: View, band: OutlineBand, start: float) -> list[Point]:
    """Edge of a band of metal towards the cutter, from its high y down: the wall behind, or the arc
    that the head has cut.
    """
    off = scene.cut.swept.offset
    r = scene.job.head.radius
    edge: list[Point] = []
    if band.high > off + r:
        edge.append((start, view.at(0, band.high)[1]))
        edge.append((start, view.at(0, max(off + r, band.low))[1]))
    top = min(band.high, off + r)
    bottom = max(band.low, off - r)
    if top > bottom:
        angles = immersion(top, scene.cut), immersion(bottom, scene.cut)
        edge += svg.arc(view.at(0, off), r * view.scale, *angles)
    if band.low < off - r:
        edge.append((start, view.at(0, min(off - r, band.high))[1]))
        edge.append((start, view.at(0, band.low)[1]))
    return edge


def _draw_head(paper: Paper, scene: _Scene, view: View) -> None:
    centre = view.at(0, scene.cut.swept.offset)
    radius = scene.job.head.radius * view.scale
    neck = scene.job.cutter.neck_diameter / 2 * view.scale
    svg.circle(paper, centre, radius, "outline", fill="#fff", part="head")
    svg.circle(paper, centre, neck, "dashed", part="neck")
    for a, b in scene.arcs:
        svg.path(paper, svg.arc(centre, radius, a, b), "cut", part="in-cut")
    centre_mark(paper, centre, radius + 1.5)
    turn_arrow(paper, centre, (radius + neck) / 2, -60, 60)


def _draw_walls(paper: Paper, scene: _Scene, view: View, x: Point) -> list[tuple[str, float]]:
    """Draw throat and undercut walls that the cut at this height does not show; returns what to
    name on the left, top first.
    """
    section = scene.cut.section
    throat = section.throat_high, section.throat_low
    for y in {*throat, scene.high, scene.low}:
        part = "throat-wall" if y in throat else "undercut-wall"
        on_paper = view.at(0, y)[1]
        svg.path(paper, [(x[0], on_paper), (x[1], on_paper)], "dashed", part=part)
    is_wider_above = scene.high > section.throat_high + 1e-9
    is_wider_below = scene.low < section.throat_low - 1e-9
    walls = [("throat", section.throat_high)]
    if is_wider_above:
        walls.insert(0, ("undercut", scene.high))
    if is_wider_above or is_wider_below:
        walls.append(("throat", section.throat_low))
    if is_wider_below:
        walls.append(("undercut", scene.low))
    return [(name, view.at(0, y)[1]) for name, y in walls]


def _wall_labels(walls: list[tuple[str, float]], x: float) -> list[Label]:
    return [Label(lines=(name,), leader=((x + 1, y), (x - OFF, y)), wanted=y) for name, y in walls]


def _lead(scene: _Scene, view: View, angles: Point, right: float) -> tuple[Point, ...]:
    t = sum(angles) / 2
    r = scene.job.head.radius
    x, y = view.at(r * math.sin(t), scene.cut.swept.offset + r * math.cos(t))
    return (x, y), (right + OFF, y - 2.0 * math.cos(t))


def _draw_feed(paper: Paper, x: float, y: float) -> None:
    svg.path(paper, [(x - 4, y), (x + 10, y)], "outline", part="feed")
    svg.arrowhead(paper, (x + 13, y), (1.0, 0.0), 1.6)
    svg.text(paper, (x - 5.5, y + svg.TYPE * svg.CAPITALS / 2), "feed", anchor="end")


def _words(scene: _Scene, scale: str) -> str:
    """Say what the view shows, with its numbers, for who cannot see it."""
    job = scene.job.written
    off = scene.cut.swept.offset
    where = "on the throat's centre line"
    if off != 0:
        offset = length_text(off, job)
        where = f"{offset} off the throat's centre line, positive to the left of the feed"
    cuts = [
        f"{side.capitalize()} cut from {_degrees(angles)} of immersion."
        for side, angles in scene.sides.items()
    ]
    return (
        f"Scale {scale}. Seen from the spindle, feed to the right, the cutter turns clockwise. Its"
        f" axis runs {where}; the head is {length_text(job.cutter.head_diameter, job)} in diameter"
        f" and meets {length_text(scene.cut.radial_width, job)} of metal across. "
    ) + " ".join(cuts)

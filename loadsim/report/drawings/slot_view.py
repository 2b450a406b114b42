"""The section of the slot across the feed, with the cutter standing in it."""

from __future__ import annotations

import math

from loadsim.answers.results import Settings
from loadsim.job.tables import Job
from loadsim.mechanics.stock import Hole, TopHole
from loadsim.report.drawings import svg
from loadsim.report.drawings.marks import (
    APART,
    CAPTION,
    EDGE,
    OFF,
    REACH,
    ROW,
    Box,
    at_scale,
    caption,
    centre_mark,
    length_text,
    width_of,
    zigzag,
)
from loadsim.report.drawings.outlines import (
    head_outline,
    holes_of,
    silhouette,
    slot_outline,
    top_holes_of,
)
from loadsim.report.drawings.slot_dimensions import gap_dimensions, width_dimensions
from loadsim.report.drawings.slot_scene import SlotScene, scene_of
from loadsim.report.drawings.svg import Paper, View

Point = tuple[float, float]


def slot_section(
    job: Job,
    settings: Settings,
    *,
    box: Box = (85.0, 70.0),
    id: str = "slot-section",  # noqa: A002
) -> str:
    """Draw the slot across the feed, seen against it, with the cutter standing in it.

    Parameters
    ----------
    job : Job
        The job.
    settings : Settings
        Passes and end holes, from the answer to this job.
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
        If the box is too small for any standard scale.
    """
    scene = scene_of(job, settings)
    name, scale = svg.fitting(lambda k: _slot_height(scene, k, box[0]) <= box[1])
    paper = Paper(width=box[0], height=_slot_height(scene, scale, box[0]))
    low, high = _slot_span(scene, scale)
    bottom = paper.height - CAPTION - 2 * ROW - APART
    spare = bottom - _slot_view_height(scene, scale)
    left = width_of([*scene.labels(-1).values()]) + EDGE
    right = paper.width - width_of([*scene.labels(1).values()]) - EDGE
    room = (right - left - 2 * (REACH + OFF) - (high - low)) / 2
    inset = max(room - 5.0, 0.0)  # wide paper keeps its lettering by the view
    columns = left + inset, right - inset
    view = View(x=(sum(columns) - low - high) / 2, y=bottom - 4.0 - 0.4 * spare, scale=scale)
    edges = view.x + low - min(room, 5.0), view.x + high + min(room, 5.0)
    _draw_stock(paper, scene, view, edges, bottom)
    _draw_cutter(paper, scene, view)
    gap_dimensions(paper, scene, view, columns, edges, bottom)
    width_dimensions(paper, scene, view, bottom)
    ends = ("", ", one end closed", ", both ends closed")[2 - job.slot.open_ends]
    caption(paper, at_scale(name, job, f"against the feed{ends}"))
    return svg.finish(
        paper,
        id,
        "Section of the slot across the feed, with the cutter at its first pass",
        _slot_words(scene, name),
    )


def _slot_span(scene: SlotScene, scale: float) -> Point:
    """Least extent of the stock drawn, left and right of the centre line, on paper. [mm]"""
    shank = scene.job.cutter.shank_diameter / 2
    left = min(scene.job.side_low * scale - 2, (scene.axis - shank) * scale - 4)
    right = max(scene.job.side * scale + 2, (scene.axis + shank) * scale + 4)
    return left, right


def _slot_view_height(scene: SlotScene, scale: float) -> float:
    return 2.0 + max(scene.shoulder * scale, 0.0) + 7.0 + scene.job.slot.depth * scale + 4.0


def _slot_height(scene: SlotScene, scale: float, width: float) -> float:
    """Height that the whole section needs at a scale, infinite when it is too wide. [mm]"""
    left = [*scene.labels(-1).values()]
    right = [*scene.labels(1).values()]
    low, high = _slot_span(scene, scale)
    if high - low + width_of(left) + width_of(right) + 2 * (EDGE + REACH + OFF) > width:
        return math.inf
    tall = max(
        _slot_view_height(scene, scale), svg.column_height(left) + 1, svg.column_height(right) + 1
    )
    return tall + 2 * ROW + APART + CAPTION


def _draw_stock(paper: Paper, scene: SlotScene, view: View, edges: Point, bottom: float) -> None:
    slot = scene.job.slot
    outline = [view.at(y, z) for y, z in slot_outline(scene.job)]
    surface = view.at(0, slot.depth)[1]
    left = (edges[0], surface)
    right = (edges[1], surface)
    low = [(edges[1], bottom), (edges[0], bottom)]
    svg.hatch(paper, [[left, *outline, right, *low]], part="hatch")
    svg.path(paper, outline, "outline", part="slot")
    for a, b in ((left, outline[0]), (outline[-1], right)):
        svg.path(paper, [a, b], "outline")
    for a, b in ((left, low[1]), (right, low[0]), (low[1], low[0])):
        svg.path(paper, zigzag(a, b))


def _draw_cutter(paper: Paper, scene: SlotScene, view: View) -> None:
    """Draw the cutter at its first pass, and what lies behind it dashed."""
    top = scene.job.slot.depth + max(scene.shoulder, 0.0) + 7.0 / view.scale
    around = [view.at(y, z) for y, z in silhouette(scene.job, scene.axis, scene.level, top)]
    svg.path(paper, around, "none", fill="#fff", close=True)
    svg.path(paper, around, "outline", part="cutter")
    svg.path(paper, zigzag(around[0], around[-1]))
    for other in scene.settings.passes[1:]:
        _draw_other_pass(paper, scene, view, other["offset_mm"], other["height_mm"])
    if scene.shallow:
        section = scene.job.section
        floor = [
            view.at(y, section.throat_floor) for y in (section.throat_low, section.throat_high)
        ]
        svg.path(paper, floor, "dashed", part="throat-floor")
    for hole in holes_of(scene.settings):
        _draw_hole(paper, hole, view)
    for above in top_holes_of(scene.settings):
        _draw_top_hole(paper, scene, above, view)
    x, low = view.at(scene.axis, scene.level)
    high = view.at(scene.axis, top)[1]
    svg.path(paper, [(x, high - 1.8), (x, low + 2.2)], "chain", part="centre-line")


def _draw_other_pass(paper: Paper, scene: SlotScene, view: View, axis: float, level: float) -> None:
    """Draw the head at another pass, and the neck where it stands beside that of the first."""
    head = [view.at(y, z) for y, z in head_outline(scene.job, axis, level)]
    svg.path(paper, head, "dashed", part="other-pass", close=True)
    if axis == scene.axis:
        return
    bottom = level + scene.job.head.height
    for side in (-1, 1):
        y = axis + side * scene.job.cutter.neck_diameter / 2
        svg.path(paper, [view.at(y, bottom), view.at(y, scene.job.slot.depth)], "dashed")


def _draw_hole(paper: Paper, hole: Hole, view: View) -> None:
    x, y = view.at(hole.offset, hole.height)
    r = hole.diameter / 2 * view.scale
    svg.circle(paper, (x, y), r, "outline", part="hole")
    centre_mark(paper, (x, y), r + 1.2)


def _draw_top_hole(paper: Paper, scene: SlotScene, hole: TopHole, view: View) -> None:
    """Draw a hole from the top, which stands at the closed end, behind the section: dashed."""
    slot = scene.job.slot
    assert scene.settings.predrill is not None  # it has the hole
    floor = slot.depth - scene.settings.predrill["depth_mm"]
    r = hole.diameter / 2
    corners = [(hole.offset + s * r, z) for s, z in ((-1, slot.depth), (-1, floor), (1, floor))]
    sides = [*corners, (hole.offset + r, slot.depth)]
    svg.path(paper, [view.at(y, z) for y, z in sides], "dashed", part="top-hole")
    axis = [view.at(hole.offset, z) for z in (slot.depth, floor)]
    svg.path(paper, [(axis[0][0], axis[0][1] - 1.2), (axis[1][0], axis[1][1] + 1.2)], "chain")


def _slot_words(scene: SlotScene, scale: str) -> str:
    """Say what the section shows, with its numbers, for who cannot see it."""
    sentences = [*_slot_sentences(scene, scale)]
    low, high = scene.neck_gaps
    if min(low, high) < 0:
        sentences.append("The neck runs into the stock.")
    if scene.shank_fouls:
        sentences.append("The shank runs into the stock.")
    job = scene.job.written
    if scene.shallow:
        depth = length_text(scene.milled_depth, job)
        sentences.append(f"The throat slot was milled {depth} deep.")
    holes = scene.settings.predrill
    if holes:
        diameter = length_text(holes["diameter_mm"], job)
        kind = "holes from the top" if "along_mm" in holes else "end holes"
        sentences.append(f"{holes['count']} {kind} of {diameter} diameter.")
    others = len(scene.settings.passes) - 1
    if others:
        passes = "pass" if others == 1 else "passes"
        sentences.append(f"The positions of {others} other {passes} are dashed.")
    return " ".join(sentences)


def _slot_sentences(scene: SlotScene, scale: str) -> tuple[str, str]:
    """Say the sizes of the slot, and the clearances of the cutter in it."""
    job = scene.job.written
    slot = job.slot
    kind = "T-shaped slot" if slot.sides == 2 else "slot undercut on one side"
    ends = ("both ends closed", "one end open", "both ends open")[slot.open_ends]
    low, high = scene.neck_gaps
    sizes = (
        f"Scale {scale}. {kind}, {length_text(slot.length, job)} long, {ends}: throat"
        f" {length_text(slot.throat_width, job)} wide, undercut"
        f" {length_text(slot.undercut_width, job)} wide and"
        f" {length_text(slot.undercut_height, job)} high, depth {length_text(slot.depth, job)}."
    )
    clearances = (
        f"Neck to throat wall at the nearest pass: {length_text(low, job)} on the low side,"
        f" {length_text(high, job)} on the high side. Head to undercut roof:"
        f" {length_text(scene.roof_gap, job)}. Shank shoulder over the surface:"
        f" {length_text(scene.shoulder, job)}."
    )
    return sizes, clearances

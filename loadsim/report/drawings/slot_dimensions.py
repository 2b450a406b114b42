"""Dimensions of the section of the slot, and the leaders of its lettering."""

from __future__ import annotations

import math

from loadsim.mechanics.stock import Hole
from loadsim.report.drawings import svg
from loadsim.report.drawings.marks import APART, OFF, ROW, lettered
from loadsim.report.drawings.outlines import holes_of, top_holes_of
from loadsim.report.drawings.slot_scene import SlotScene
from loadsim.report.drawings.svg import Paper, View

Point = tuple[float, float]

#: Labels whose leader ends in an arrowhead on the thing.
POINTED = ("throat", "holes")


def gap_dimensions(
    paper: Paper, scene: SlotScene, view: View, columns: Point, edges: Point, bottom: float
) -> None:
    """Dimension clearances and heights, with their lettering in the two columns."""
    for side in (-1, 1):
        column = columns[0] if side < 0 else columns[1]
        edge = edges[0] if side < 0 else edges[1]
        leads = _busy_leads if side == scene.busy else _quiet_leads
        labels = svg.labels_of(scene.labels(side), leads(paper, scene, view, edge), POINTED)
        svg.column(paper, labels, column, side, 1.0, bottom)


def _neck_gap(paper: Paper, scene: SlotScene, view: View, side: int) -> Point:
    """Dimension the gap between neck and throat wall on a side; returns where its leader leaves the
    wall.
    """
    slot = scene.job.slot
    section = scene.job.section
    half = scene.job.cutter.neck_diameter / 2
    z = slot.undercut_height + 0.7 * (slot.depth - slot.undercut_height)
    if side < 0:
        neck, wall, name = scene.low - half, section.throat_low, "low"
    else:
        neck, wall, name = scene.high + half, section.throat_high, "high"
    place = view.at(wall, z)
    svg.dimension(paper, view.at(neck, z), place, f"neck-gap-{name}-across", 3.0)
    return place


def _busy_leads(
    paper: Paper, scene: SlotScene, view: View, edge: float
) -> dict[str, tuple[Point, ...]]:
    """Dimension shank, neck, roof and height of the undercut; returns the leaders."""
    slot = scene.job.slot
    side = scene.busy
    line = edge + side * OFF
    x, over = _shank_gap(paper, scene, view)
    wall = _neck_gap(paper, scene, view, side)
    throat = side * slot.throat_width / 2
    far = scene.job.side if side > 0 else scene.job.side_low
    roof = view.at((throat + far) / 2, slot.undercut_height)
    top = view.at((throat + far) / 2, scene.level + scene.job.head.height)
    svg.dimension(paper, top, roof, "roof-gap", 3.4)
    floor = view.at(far, 0)
    for z in (roof[1], floor[1]):
        svg.extension(paper, (floor[0], z), (line, z))
    svg.dimension(paper, (line, roof[1]), (line, floor[1]), "undercut-height", 3.0)
    out = line + side * 0.8
    return {
        "shank": ((x, over), (out, over)),
        "neck": (wall, (out, wall[1])),
        "roof": ((roof[0], roof[1] - 3.4), (out, roof[1] - 3.4)),
        "height": ((line, (roof[1] + floor[1]) / 2),),
    }


def _shank_gap(paper: Paper, scene: SlotScene, view: View) -> Point:
    """Dimension the shank's shoulder over the surface; returns where its leader starts."""
    slot = scene.job.slot
    half = scene.job.cutter.shank_diameter / 2
    shank = view.at(scene.axis + scene.busy * half, slot.depth + scene.shoulder)
    surface = view.at(0, slot.depth)[1]
    x = shank[0] + scene.busy * 2.2
    svg.extension(paper, shank, (x, shank[1]))
    svg.dimension(paper, (x, shank[1]), (x, surface), "shank-gap", 3.0)
    return x, min(shank[1], surface) - 3.0


def _quiet_leads(
    paper: Paper, scene: SlotScene, view: View, edge: float
) -> dict[str, tuple[Point, ...]]:
    """Dimension neck and depth, point at end holes and the milled throat; returns the leaders."""
    slot = scene.job.slot
    side = -scene.busy
    line = edge + side * OFF
    surface = view.at(0, slot.depth)[1]
    wall = _neck_gap(paper, scene, view, side)
    shank = view.at(scene.axis + side * scene.job.cutter.shank_diameter / 2, 0)[0]
    corner = shank + side * 1.2 if side * (shank - wall[0]) > 0 else wall[0] + side * 1.2
    floor = view.at(scene.job.side if side > 0 else scene.job.side_low, 0)
    svg.extension(paper, (edge, surface), (line, surface))
    svg.extension(paper, floor, (line, floor[1]))
    svg.dimension(paper, (line, surface), (line, floor[1]), "depth")
    neck: tuple[Point, ...] = (wall, (corner, wall[1]), (corner + side * 2, surface - 3))
    if side * (shank - wall[0]) < -4:  # the way up is free inside the throat
        neck = ((wall[0] - side * 2, wall[1]), (wall[0] + side * 0.5, surface - 3))
    leads = {"neck": neck, "depth": ((line, (surface + floor[1]) / 2),)}
    under = floor[1] + 1.6
    holes = holes_of(scene.settings)
    if holes:
        outermost = max(holes, key=lambda hole: side * hole.offset)
        leads["holes"] = _hole_lead(outermost, view, side, (line, under))
    above = top_holes_of(scene.settings)
    if above:
        top = max(above, key=lambda hole: side * hole.offset)
        edge_of_it = view.at(top.offset + side * top.diameter / 2 * 0.9, 0)
        leads["holes"] = (edge_of_it, (edge_of_it[0] + side * 1, under), (line, under))
    if scene.shallow:
        start = view.at(side * slot.throat_width * 0.3, scene.job.section.throat_floor)
        leads["throat"] = (start, (start[0] + side * 3, under + 1), (line, under + 1))
    return leads


def _hole_lead(hole: Hole, view: View, side: int, end: Point) -> tuple[Point, ...]:
    """Lead from the lower outer edge of an end hole to a place below the floor."""
    x, y = view.at(hole.offset, hole.height)
    r = hole.diameter / 2 * view.scale
    return (x + side * 0.5 * r, y + math.sqrt(3) / 2 * r), (x + side * (r + 1), end[1]), end


def width_dimensions(paper: Paper, scene: SlotScene, view: View, bottom: float) -> None:
    """Dimension throat and undercut in two rows under the view."""
    slot = scene.job.slot
    job = scene.job.written
    half = slot.throat_width / 2
    low = view.at(scene.job.side_low, 0)
    high = view.at(scene.job.side, 0)
    roof = view.at(0, slot.undercut_height)[1]
    text_x = high[0] + 2.0
    y = bottom + APART + ROW - 1.0
    throat = view.at(-half, 0)[0], view.at(half, 0)[0]
    throat_from = low[1] if slot.sides == 1 else roof, roof
    (throat_words,) = lettered(slot.throat_width, job)
    (undercut_words,) = lettered(slot.undercut_width, job)
    svg.across(paper, y, throat, throat_from, throat_words, text_x, "throat-width")
    svg.across(
        paper,
        y + ROW,
        (low[0], high[0]),
        (low[1], high[1]),
        undercut_words,
        text_x,
        "undercut-width",
    )

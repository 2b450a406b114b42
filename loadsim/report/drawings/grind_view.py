"""The head as it is ground, seen on its end face, and the cutter from the side with every measure
from the end face.
"""

from __future__ import annotations

import math

from loadsim.answers.cutter.grinding_sheet import GrindingSheet, end_view, side_view
from loadsim.job.tables import Job
from loadsim.report.drawings import svg
from loadsim.report.drawings.marks import (
    CAPTION,
    EDGE,
    OFF,
    REACH,
    Box,
    at_scale,
    caption,
    centre_mark,
    length_text,
    lettered,
    width_of,
)
from loadsim.report.drawings.svg import Paper, View

Point = tuple[float, float]


def grinding(
    job: Job,
    sheet: GrindingSheet,
    *,
    box: Box = (180.0, 95.0),
    id: str = "grinding",  # noqa: A002
) -> str:
    """Draw the head seen on its end face, and the cutter from the side.

    Parameters
    ----------
    job : Job
        The job, with [grind].
    sheet : GrindingSheet
        Its grinding paper.
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
    cutter = job.cutter
    across = max(cutter.head_diameter, cutter.shank_diameter)
    along = cutter.head_height + cutter.neck_length + 0.5 * cutter.shank_diameter
    left = _end_labels(job, sheet)
    right = _side_labels(job)
    edges = EDGE + width_of([*left.values()]), EDGE + width_of([*right.values()])
    spare = box[0] - sum(edges) - 2 * (REACH + OFF) - 12.0
    lettering = max(svg.column_height([*texts.values()]) for texts in (left, right)) + 2.6

    def height(k: float) -> float:
        return max(max(across, along) * k + 8 + CAPTION, lettering + CAPTION)

    name, scale = svg.fitting(lambda k: 2 * across * k <= spare and height(k) <= box[1])
    paper = Paper(width=box[0], height=height(scale))
    bottom = paper.height - CAPTION
    reach = REACH + OFF + across / 2 * scale
    end = View(x=edges[0] + reach, y=bottom / 2, scale=scale)
    side = View(
        x=paper.width - edges[1] - reach - 4.0, y=bottom / 2 + along / 2 * scale, scale=scale
    )
    leads = _draw_end(paper, job, end)
    svg.column(paper, svg.labels_of(left, leads, [*leads]), edges[0], -1, 1.0, bottom)
    leads = _draw_side(paper, job, side)
    svg.column(paper, svg.labels_of(right, leads), paper.width - edges[1], 1, 1.0, bottom)
    seen = "head seen on its end face, where it turns counter-clockwise"
    caption(paper, at_scale(name, job, f"{seen}; lengths from the end face"))
    return svg.finish(
        paper,
        id,
        "The head as it is ground, seen on its end face, and the cutter from the side",
        _words(job, sheet, name),
    )


def _end_labels(job: Job, sheet: GrindingSheet) -> dict[str, tuple[str, ...]]:
    head = sheet.head
    return {
        "blank": ("blank", *lettered(job.cutter.shank_diameter, job, "Ø")),
        "edges": ("edges", *lettered(job.cutter.head_diameter, job, "Ø")),
        "web": ("web", *lettered(head["web_mm"], job)),
        "neck": ("neck", *lettered(job.cutter.neck_diameter, job, "Ø")),
    }


def _side_labels(job: Job) -> dict[str, tuple[str, ...]]:
    cutter = job.cutter
    return {
        "shoulder": ("shoulder", *lettered(cutter.head_height + cutter.neck_length, job)),
        "head": ("head", *lettered(cutter.head_height, job)),
        "zero": ("end face", "zero"),
    }


def _draw_end(paper: Paper, job: Job, view: View) -> dict[str, tuple[Point, ...]]:
    """Draw the head seen on its end face; returns the leaders of the lettering."""
    cutter = job.cutter
    rings = {name: [view.at(float(u), float(v)) for u, v in ring] for name, ring in end_view(job)}
    svg.path(paper, rings["blank"], "dashed", part="blank", close=True)
    svg.path(paper, rings["head"], "outline", fill="#fff", part="ground-head", close=True)
    svg.hatch(paper, [rings["head"]], part="ground-head-hatch")
    svg.path(paper, rings["circle of the edges"], "chain", part="edges", close=True)
    svg.path(paper, rings["neck"], "dashed", part="neck-behind", close=True)
    centre_mark(paper, (view.x, view.y), cutter.shank_diameter / 2 * view.scale + 2)

    def on(radius: float, angle: float) -> Point:
        t = math.radians(angle)
        r = radius * view.scale
        return view.x - r * math.sin(t), view.y - r * math.cos(t)

    out = view.x - max(cutter.shank_diameter, cutter.head_diameter) / 2 * view.scale - OFF
    places = {
        "blank": on(cutter.shank_diameter / 2, 40),
        "edges": on(cutter.head_diameter / 2, 62),
        "web": on(0.2 * cutter.neck_diameter, 100),
        "neck": on(cutter.neck_diameter / 2, 130),
    }
    return {name: (place, (out, place[1])) for name, place in places.items()}


def _draw_side(paper: Paper, job: Job, view: View) -> dict[str, tuple[Point, ...]]:
    """Draw the cutter from the side with every measure from the end face; returns the leaders."""
    cutter = job.cutter
    shoulder = cutter.head_height + cutter.neck_length
    top = shoulder + 0.5 * cutter.shank_diameter
    for name, ring in side_view(job):
        points = [view.at(float(u), min(float(v), top)) for u, v in ring]
        svg.path(paper, points, "outline", fill="#fff", part=f"side-{name}", close=True)
    axis = [view.at(0, -0.06 * top), view.at(0, 1.06 * top)]
    svg.path(paper, axis, "chain", part="side-centre-line")
    line = view.x + max(cutter.shank_diameter, cutter.head_diameter) / 2 * view.scale + 3.0
    edges = {
        "zero": view.at(cutter.head_diameter / 2, 0.0),
        "head": view.at(cutter.head_diameter / 2, cutter.head_height),
        "shoulder": view.at(cutter.shank_diameter / 2, shoulder),
    }
    for edge in edges.values():
        svg.extension(paper, edge, (line, edge[1]))
    return {name: ((line, edge[1]),) for name, edge in edges.items()}


def _words(job: Job, sheet: GrindingSheet, scale: str) -> str:
    """Say what the drawing shows, with its numbers, for who cannot see it."""
    cutter = job.cutter
    head = sheet.head
    shoulder = length_text(cutter.head_height + cutter.neck_length, job)
    return (
        f"Scale {scale}. Blank {length_text(cutter.shank_diameter, job)}, circle of the edges"
        f" {length_text(cutter.head_diameter, job)}, web {length_text(head['web_mm'], job)}, rake"
        f" {head['rake_deg']:.1f} deg, relief {head['relief_deg']:.1f} deg. From the end face: head"
        f" to {length_text(cutter.head_height, job)}, shoulder at {shoulder}."
    )

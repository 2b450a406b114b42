"""The head as it is ground, seen on its end face, and the cutter from the side with every measure
from the end face.
"""

from __future__ import annotations

import math

from loadsim.answers.cutter.grinding_sheet import GrindingSheet as Steps
from loadsim.answers.cutter.grinding_sheet import end_view, side_view
from loadsim.job.tables import Job
from loadsim.report.drawings import svg
from loadsim.report.drawings.marks import (
    CAPTION,
    EDGE,
    OFF,
    REACH,
    Box,
    both,
    caption,
    said,
    width_of,
)
from loadsim.report.drawings.svg import Label, Paper, View

Point = tuple[float, float]


def grinding(job: Job, steps: Steps, *, box: Box = (180.0, 95.0), id: str = "grinding") -> str:  # noqa: A002
    """Draw the head seen on its end face, and the cutter from the side.

    Parameters
    ----------
    job : Job
        The job, with [grind].
    steps : Sheet
        Its grinding sheet.
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
    c = job.cutter
    across = max(c.head_diameter, c.shank_diameter)
    along = c.head_height + c.neck_length + 0.5 * c.shank_diameter
    left = _end_labels(job, steps)
    right = _side_labels(job)
    words = EDGE + width_of([*left.values()]), EDGE + width_of([*right.values()])
    spare = box[0] - sum(words) - 2 * (REACH + OFF) - 12.0
    tall = (
        max(svg.column_height([*left.values()]), svg.column_height([*right.values()]))
        + 2.6
        + CAPTION
    )
    name, k = svg.fitting(
        lambda k: (
            2 * across * k <= spare
            and max(across * k, along * k) + 8 + CAPTION <= box[1]
            and tall <= box[1]
        )
    )
    sheet = Paper(width=box[0], height=max(max(across, along) * k + 8 + CAPTION, tall))
    middle = (sheet.height - CAPTION) / 2
    end = View(x=words[0] + REACH + OFF + across / 2 * k, y=middle, scale=k)
    side = View(
        x=sheet.width - words[1] - REACH - OFF - 4.0 - across / 2 * k,
        y=middle + along / 2 * k,
        scale=k,
    )
    leads = _end(sheet, job, end)
    svg.column(
        sheet,
        [
            Label(lines=w, leader=leads[n], wanted=leads[n][-1][1], arrow=True)
            for n, w in left.items()
        ],
        words[0],
        -1,
        1.0,
        sheet.height - CAPTION,
    )
    leads = _side(sheet, job, side)
    svg.column(
        sheet,
        [Label(lines=w, leader=leads[n], wanted=leads[n][-1][1]) for n, w in right.items()],
        sheet.width - words[1],
        1,
        1.0,
        sheet.height - CAPTION,
    )
    caption(
        sheet,
        f"scale {name}, head seen on its end face, where it turns counter-clockwise; lengths from"
        " the end face",
    )
    return svg.finish(
        sheet,
        id,
        "The head as it is ground, seen on its end face, and the cutter from the side",
        _words(job, steps, name),
    )


def _end_labels(job: Job, steps: Steps) -> dict[str, tuple[str, ...]]:
    head = steps.head
    return {
        "blank": ("blank", *both(job.cutter.shank_diameter, job, "Ø")),
        "edges": ("edges", *both(job.cutter.head_diameter, job, "Ø")),
        "web": ("web", *both(head["web_mm"], job)),
        "neck": ("neck", *both(job.cutter.neck_diameter, job, "Ø")),
    }


def _side_labels(job: Job) -> dict[str, tuple[str, ...]]:
    c = job.cutter
    return {
        "shoulder": ("shoulder", *both(c.head_height + c.neck_length, job)),
        "head": ("head", *both(c.head_height, job)),
        "zero": ("end face", "zero"),
    }


def _end(sheet: Paper, job: Job, view: View) -> dict[str, tuple[Point, ...]]:
    rings = {n: [view.at(float(u), float(v)) for u, v in ring] for n, ring in end_view(job)}
    svg.path(sheet, rings["blank"], "dashed", part="blank", close=True)
    svg.path(sheet, rings["head"], "outline", fill="#fff", part="ground-head", close=True)
    svg.hatch(sheet, [rings["head"]], part="ground-head-hatch")
    svg.path(sheet, rings["circle of the edges"], "chain", part="edges", close=True)
    svg.path(sheet, rings["neck"], "dashed", part="neck-behind", close=True)
    reach = job.cutter.shank_diameter / 2 * view.scale + 2
    for a, b in (((-1, 0), (1, 0)), ((0, -1), (0, 1))):
        svg.path(
            sheet,
            [(view.x + reach * u, view.y + reach * w) for u, w in (a, b)],
            "chain",
            part="centre-mark",
        )

    def on(radius: float, turn: float) -> Point:
        t = math.radians(turn)
        return view.x - radius * view.scale * math.sin(t), view.y - radius * view.scale * math.cos(
            t
        )

    out = view.x - max(job.cutter.shank_diameter, job.cutter.head_diameter) / 2 * view.scale - OFF
    places = {
        "blank": on(job.cutter.shank_diameter / 2, 40),
        "edges": on(job.cutter.head_diameter / 2, 62),
        "web": on(0.2 * job.cutter.neck_diameter, 100),
        "neck": on(job.cutter.neck_diameter / 2, 130),
    }
    return {n: (p, (out, p[1])) for n, p in places.items()}


def _side(sheet: Paper, job: Job, view: View) -> dict[str, tuple[Point, ...]]:
    c = job.cutter
    top = job.cutter.head_height + job.cutter.neck_length + 0.5 * job.cutter.shank_diameter
    for n, ring in side_view(job):
        points = [view.at(float(u), min(float(v), top)) for u, v in ring]
        svg.path(sheet, points, "outline", fill="#fff", part=f"side-{n}", close=True)
    svg.path(
        sheet, [view.at(0, -0.06 * top), view.at(0, 1.06 * top)], "chain", part="side-centre-line"
    )
    line = view.x + max(c.shank_diameter, c.head_diameter) / 2 * view.scale + 3.0
    found: dict[str, tuple[Point, ...]] = {}
    for n, z, half in (
        ("zero", 0.0, c.head_diameter / 2),
        ("head", c.head_height, c.head_diameter / 2),
        ("shoulder", c.head_height + c.neck_length, c.shank_diameter / 2),
    ):
        x, y = view.at(half, z)
        svg.extension(sheet, (x, y), (line, y))
        found[n] = ((line, y),)
    return found


def _words(job: Job, steps: Steps, scale: str) -> str:
    c = job.cutter
    head = steps.head
    return (
        f"Scale {scale}. Blank {said(c.shank_diameter, job)}, circle of the edges"
        f" {said(c.head_diameter, job)}, web {said(head['web_mm'], job)}, rake"
        f" {head['rake_deg']:.1f} deg, relief {head['relief_deg']:.1f} deg. From the end face: head"
        f" to {said(c.head_height, job)}, shoulder at {said(c.head_height + c.neck_length, job)}."
    )

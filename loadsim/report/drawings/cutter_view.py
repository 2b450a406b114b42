"""The cutter from the side with its ground dimensions, and its head from the spindle."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loadsim.base import units
from loadsim.job.tables import Job
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
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
    turn_arrow,
    width_of,
    zigzag,
)
from loadsim.report.drawings.outlines import ground_teeth, rake_offset, silhouette, teeth
from loadsim.report.drawings.svg import Label, Paper, View

Point = tuple[float, float]


def _cutter_labels(resolved: ResolvedJob, side: int) -> dict[str, tuple[str, ...]]:
    """Lettering beside the cutter, top to bottom."""
    job = resolved.written
    c = resolved.cutter
    e = rake_offset(resolved)
    if side < 0:
        found: dict[str, tuple[str, ...]] = {
            "shank": both(c.shank_diameter, job, "Ø"),
            "fillet": both(resolved.fillet, job, "R"),
            "neck": both(c.neck_diameter, job, "Ø"),
            "head": both(c.head_diameter, job, "Ø"),
        }
        if c.neck_fillet is None:
            found["fillet"] += ("assumed",)
        if resolved.head.corner > 0:
            found["corner"] = both(resolved.head.corner, job, "R")
        return {**found, "teeth": (f"{c.teeth} teeth" if c.teeth > 1 else "1 tooth", "clockwise")}
    centre = ("past centre",) if e >= 0 else ("short of", "centre")
    first, second = both(e if e >= 0 else -e, job)
    return {
        "length": both(c.neck_length, job),
        "height": both(c.head_height, job),
        "rake": ("rake " + units.show(resolved.rake, "angle"), "face " + first, second, *centre),
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class _CutterView:
    """Where the two views of the cutter lie on the sheet. All on paper. [mm]"""

    x: float  #: of the axis
    top: float  #: of the collet's face
    stub: float  #: length of shank drawn
    bottom: float  #: of the head's lower face
    end: float  #: y of the axis in the end view
    left: float  #: edge of the lettering on the left
    line: float  #: x of the chain of lengths
    stickout: float  #: x of the stick-out's dimension
    height: float  #: of the sheet
    broken: bool  #: whether shank is left out
    #: whether the stick-out is too short on paper for its lettering, which then stands with the
    #: rest
    tight: bool
    column: float  #: edge of the lettering on the right


def _cutter_view(job: ResolvedJob, scale: float, width: float) -> _CutterView:
    c = job.cutter
    left = EDGE + width_of([*_cutter_labels(job, -1).values()])
    upper = [*_cutter_labels(job, 1).values()][:2]
    lower = [*_cutter_labels(job, 1).values()][2:]
    out = both(c.stickout, job.written)
    part = (c.neck_length + c.head_height) * scale
    full = c.stickout * scale - part
    radius = max(c.head_diameter, c.shank_diameter) / 2 * scale
    least = max(9.0, width_of([out]) + 7 - part, svg.column_height(upper) + 3 - part)
    stub = min(full, least) if full > 1.4 * least else full
    tight = full + part < max(width_of([out]) + 7, svg.column_height(upper) + 3)
    right = (
        max(width_of([*upper, out]), width_of(lower)) + 3.5
        if tight
        else max(width_of(upper) + 8.2, width_of(lower))
    )
    spare = (width - left - 2 * REACH - OFF - 2 * radius - 3 - right - EDGE) / 2
    left += max(spare - 3.0, 0.0)  # a wide sheet keeps its lettering by the view
    x = left + REACH + OFF + radius + min(spare, 3.0)
    top = 3.0
    bottom = top + stub + part
    end = bottom + 7.0 + c.head_diameter / 2 * scale
    line = x + radius + 3
    column = line + REACH + (3.5 if tight else 0.0)
    beside = (
        svg.column_height([out, *upper, *lower]) + 2.6
        if tight
        else bottom + svg.column_height(lower) + 2.6
    )
    tall = max(
        end + c.head_diameter / 2 * scale + 2.0,
        svg.column_height([*_cutter_labels(job, -1).values()]) + 2.6,
        beside,
    )
    return _CutterView(
        x=x,
        top=top,
        stub=stub,
        bottom=bottom,
        end=end,
        left=left,
        line=line,
        column=column,
        tight=tight,
        broken=stub < full,
        stickout=line + 3.5 if tight else column + width_of(upper) + 4.2,
        height=tall + CAPTION if spare >= 0 else math.inf,
    )


def cutter(job: Job, *, box: Box = (85.0, 70.0), id: str = "cutter") -> str:  # noqa: A002
    """Draw the cutter from the side with its ground dimensions, and its head from the spindle with
    the neck cut away.

    Parameters
    ----------
    job : Job
        The job.
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
    resolved = resolve(job)
    name, scale = svg.fitting(lambda k: _cutter_view(resolved, k, box[0]).height <= box[1])
    v = _cutter_view(resolved, scale, box[0])
    sheet = Paper(width=box[0], height=v.height)
    side = View(x=v.x, y=v.bottom, scale=scale)
    leads = {
        **_cutter_side(sheet, resolved, side, v),
        **_cutter_end(sheet, resolved, View(x=v.x, y=v.end, scale=scale), v),
    }
    pointed = ("fillet", "corner", "rake")
    left, right = (
        [
            Label(lines=w, leader=leads[k], wanted=leads[k][-1][1], arrow=k in pointed)
            for k, w in _cutter_labels(resolved, i).items()
        ]
        for i in (-1, 1)
    )
    svg.column(sheet, left, v.left, -1, 1.0, v.height - CAPTION - 0.6)
    if v.tight:
        middle = (v.top + v.bottom) / 2
        out = Label(
            lines=both(job.cutter.stickout, job), leader=((v.stickout, middle),), wanted=v.top
        )
        svg.column(sheet, [out, *right], v.column, 1, 1.0, v.height - CAPTION - 0.6)
    else:
        svg.column(sheet, right[:2], v.column, 1, v.top + 1, v.bottom - 1)
        svg.column(sheet, right[2:], v.column, 1, v.bottom + 1, v.height - CAPTION - 0.6)
    caption(sheet, f"scale {name}, head seen from the spindle")
    return svg.finish(
        sheet,
        id,
        "The cutter from the side, and its head seen from the spindle with the neck cut away",
        _cutter_words(resolved, name),
    )


def _cutter_side(
    sheet: Paper, job: ResolvedJob, view: View, v: _CutterView
) -> dict[str, tuple[Point, ...]]:
    """Draw the side view and its dimensions; returns the leaders of the lettering."""
    c = job.cutter
    shank = job.cutter.shank_diameter / 2 * view.scale
    around = [
        view.at(y, z)
        for y, z in silhouette(job, 0.0, 0.0, c.neck_length + c.head_height + v.stub / view.scale)
    ]
    svg.path(sheet, around, "none", fill="#fff", close=True)
    svg.path(sheet, around, "outline", part="cutter")
    svg.path(sheet, [(v.x - shank - 3, v.top), (v.x + shank + 3, v.top)], "outline", part="collet")
    for x in (v.x - shank - 3, v.x + shank):
        svg.hatch(
            sheet,
            [[(x, v.top - 2), (x + 3, v.top - 2), (x + 3, v.top), (x, v.top)]],
            part="collet-hatch",
        )
    if v.broken:
        _break(sheet, v.x, shank, v.top + 0.5 * v.stub)
    svg.path(sheet, [(v.x, v.top - 2), (v.x, v.bottom + 2)], "chain", part="centre-line")
    top = view.at(0, c.head_height)[1]
    shoulder = view.at(0, c.head_height + c.neck_length)[1]
    edges = {
        v.top: shank + 3,
        shoulder: shank,
        top: c.head_diameter / 2 * view.scale,
        v.bottom: c.head_diameter / 2 * view.scale,
    }
    for y, half in edges.items():
        svg.extension(sheet, (v.x + half, y), (v.stickout if y in (v.top, v.bottom) else v.line, y))
    svg.dimension(sheet, (v.line, shoulder), (v.line, top), "neck-length", 3.0)
    svg.dimension(sheet, (v.line, v.bottom), (v.line, top), "head-height", 3.0)
    svg.dimension(sheet, (v.stickout, v.top), (v.stickout, v.bottom), "stickout")
    if not v.tight:
        for words, off in zip(
            both(c.stickout, job.written), (-0.8, 0.8 + svg.TYPE * svg.CAPITALS), strict=True
        ):
            svg.text(
                sheet,
                (v.stickout + off, (v.top + v.bottom) / 2),
                words,
                anchor="middle",
                upright=True,
            )
    out = v.x - max(shank, c.head_diameter / 2 * view.scale) - OFF + 0.8
    fillet = _on_fillet(job, view)
    leads: dict[str, tuple[Point, ...]] = {
        "fillet": (fillet, (out, fillet[1] + 1.2)),
        "length": ((v.line, (top + shoulder) / 2),),
        "height": ((v.line, (top + v.bottom) / 2),),
    }
    heights = {
        "shank": v.top + (0.25 if v.broken else 0.5) * v.stub,
        "neck": shoulder + 0.6 * (top - shoulder),
        "head": (top + v.bottom) / 2,
    }
    for key, d in (
        ("shank", c.shank_diameter),
        ("neck", c.neck_diameter),
        ("head", c.head_diameter),
    ):
        (x, _), y = view.at(-d / 2, 0), heights[key]
        svg.dimension(sheet, (x, y), (2 * v.x - x, y), f"{key}-diameter", 3.0)
        leads[key] = ((x, y), (min(out, x), y))
    if job.head.corner > 0:
        corner = view.at(-job.head.radius + 0.293 * job.head.corner, 0.293 * job.head.corner)
        leads["corner"] = (corner, (out, corner[1] + 2.5))
    return leads


def _on_fillet(job: ResolvedJob, view: View) -> Point:
    """Return the middle of the neck's fillet at the shoulder, left side."""
    c = job.cutter
    r = job.fillet
    return view.at(-c.neck_diameter / 2 - 0.293 * r, c.head_height + c.neck_length - 0.293 * r)


def _break(sheet: Paper, x: float, half: float, y: float) -> None:
    """Break the shank: a white strip between two break lines."""
    upper = zigzag((x - half - 1, y - 0.8), (x + half + 1, y - 0.8))
    lower = zigzag((x - half - 1, y + 0.8), (x + half + 1, y + 0.8))
    svg.path(sheet, [*upper, *reversed(lower)], "none", fill="#fff", close=True)
    svg.path(sheet, upper, part="break")
    svg.path(sheet, lower, part="break")


def _cutter_end(
    sheet: Paper, job: ResolvedJob, view: View, v: _CutterView
) -> dict[str, tuple[Point, ...]]:
    """Draw the head seen from the spindle; returns the leaders of the lettering."""
    c = job.cutter
    centre = view.at(0, 0)
    radius = job.head.radius * view.scale
    if job.grind is None:
        forms = teeth(c, job.head.radius, job.rake, job.relief)
        around = [p for form in reversed(forms) for p in form]
        edge = forms[0][1]
        foot = forms[0][0]
    else:
        around, edge, foot = ground_teeth(job.written)
    ring = [view.at(u, w) for u, w in around]
    svg.path(sheet, ring, "outline", fill="#fff", part="teeth", close=True)
    svg.circle(sheet, centre, radius, "chain", part="over-teeth")
    neck = svg.arc(centre, c.neck_diameter / 2 * view.scale, 0, 2 * math.pi)[:-1]
    svg.path(sheet, neck, "outline", fill="#fff", part="neck", close=True)
    svg.hatch(sheet, [neck], part="neck-hatch")
    for a, b in (((-1, 0), (1, 0)), ((0, -1), (0, 1))):
        svg.path(
            sheet,
            [(centre[0] + (radius + 1.5) * u, centre[1] + (radius + 1.5) * w) for u, w in (a, b)],
            "chain",
            part="centre-mark",
        )
    turn_arrow(sheet, centre, radius + 2.2, 100, 150)
    tip = view.at(*edge)
    root = view.at(*foot)
    face = (0.4 * tip[0] + 0.6 * root[0], 0.4 * tip[1] + 0.6 * root[1])
    across = max(job.head.radius, c.shank_diameter / 2) * view.scale
    left = (
        centre[0] - radius * math.sin(math.radians(70)),
        centre[1] - radius * math.cos(math.radians(70)),
    )
    return {
        "rake": (face, (v.x + across + 2, face[1] - 1.0)),
        "teeth": (left, (v.x - across - 1.5, left[1])),
    }


def _cutter_words(resolved: ResolvedJob, scale: str) -> str:
    job = resolved.written
    c = resolved.cutter
    e = rake_offset(resolved)
    corner = (
        f", corner radius {said(resolved.head.corner, job)}" if resolved.head.corner > 0 else ""
    )
    face = f"{said(e, job)} past centre" if e >= 0 else f"{said(-e, job)} short of centre"
    return (
        f"Scale {scale}. Head {said(c.head_diameter, job)} in diameter and"
        f" {said(c.head_height, job)} high{corner}, {c.teeth}"
        f" {'teeth' if c.teeth > 1 else 'tooth'}; neck {said(c.neck_diameter, job)} in diameter and"
        f" {said(c.neck_length, job)} long, fillets"
        f" {said(resolved.fillet, job)}{' (assumed)' if c.neck_fillet is None else ''}; shank"
        f" {said(c.shank_diameter, job)} in diameter; stick-out {said(c.stickout, job)}. Rake"
        f" {units.show(resolved.rake, 'angle')}: the flute face lies {face}. Seen from the spindle"
        " the cutter turns clockwise. "
        + (
            "How the flanks run out into the gullets is schematic."
            if resolved.grind is None
            else "The end view is as [grind] has it."
        )
    )

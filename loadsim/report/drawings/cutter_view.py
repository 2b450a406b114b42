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
    at_scale,
    caption,
    centre_mark,
    dimension_text,
    length_text,
    lettered,
    turn_arrow,
    width_of,
    zigzag,
)
from loadsim.report.drawings.outlines import ground_teeth, rake_offset, silhouette, teeth
from loadsim.report.drawings.svg import Label, Paper, View

Point = tuple[float, float]

#: Labels on the right that stand beside the cutter; the others stand under them.
BESIDE = 2

#: Labels whose leader ends in an arrowhead on the thing.
POINTED = ("fillet", "corner", "rake")

#: From a rounded corner to the middle of its arc, along either side, over the radius:
#: 1 - sqrt(1/2). [1]
MID_ARC = 0.293


def _left_labels(job: ResolvedJob) -> dict[str, tuple[str, ...]]:
    """Lettering left of the cutter, top to bottom."""
    cutter = job.cutter
    written = job.written
    labels: dict[str, tuple[str, ...]] = {
        "shank": lettered(cutter.shank_diameter, written, "Ø"),
        "fillet": lettered(job.fillet, written, "R"),
        "neck": lettered(cutter.neck_diameter, written, "Ø"),
        "head": lettered(cutter.head_diameter, written, "Ø"),
    }
    if cutter.neck_fillet is None:
        labels["fillet"] += ("assumed",)
    if job.head_fillet != job.fillet:
        labels["fillet"] += ("at the head", *lettered(job.head_fillet, written, "R"))
    if job.head.corner > 0:
        labels["corner"] = lettered(job.head.corner, written, "R")
    count = f"{cutter.teeth} teeth" if cutter.teeth > 1 else "1 tooth"
    return {**labels, "teeth": (count, "clockwise")}


def _right_labels(job: ResolvedJob) -> dict[str, tuple[str, ...]]:
    """Lettering right of the cutter, top to bottom: two lengths beside it, the rest under them."""
    offset = rake_offset(job)
    centre = ("past centre",) if offset >= 0 else ("short of", "centre")
    face = dimension_text(math.fabs(offset), job.written.job.units)
    rake = f"rake {units.show(job.rake, 'angle')}"
    return {
        "length": lettered(job.cutter.neck_length, job.written),
        "height": lettered(job.cutter.head_height, job.written),
        "rake": (rake, f"face {face}", *centre),
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """Where the two views of the cutter lie. All on paper. [mm]"""

    x: float  #: of the axis
    top: float  #: of the collet's face
    stub: float  #: length of shank drawn
    bottom: float  #: of the head's lower face
    end: float  #: y of the axis in the end view
    left: float  #: edge of the lettering on the left
    line: float  #: x of the chain of lengths
    stickout: float  #: x of the stick-out's dimension
    height: float  #: of the paper
    broken: bool  #: whether shank is left out
    #: whether the stick-out is too short on paper for its lettering, which then stands with the
    #: rest
    tight: bool
    column: float  #: edge of the lettering on the right


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lettering:
    """Labels of the two columns; those on the right beside the cutter, and those under them."""

    left: list[tuple[str, ...]]
    upper: list[tuple[str, ...]]
    lower: list[tuple[str, ...]]
    stickout: tuple[str, ...]


def _lettering(job: ResolvedJob) -> _Lettering:
    right = [*_right_labels(job).values()]
    return _Lettering(
        left=[*_left_labels(job).values()],
        upper=right[:BESIDE],
        lower=right[BESIDE:],
        stickout=lettered(job.cutter.stickout, job.written),
    )


def _frame(job: ResolvedJob, scale: float, width: float) -> _Frame:
    """Lay the two views out on paper of a width; the height is infinite when they are too wide."""
    cutter = job.cutter
    lettering = _lettering(job)
    part = (cutter.neck_length + cutter.head_height) * scale
    full = cutter.stickout * scale - part
    radius = max(cutter.head_diameter, cutter.shank_diameter) / 2 * scale
    stub = _stub(lettering, part, full)
    tight = full + part < _upright_height(lettering)
    left = EDGE + width_of(lettering.left)
    right = _right_width(lettering, tight)
    spare = (width - left - 2 * REACH - OFF - 2 * radius - 3 - right - EDGE) / 2
    left += max(spare - 3.0, 0.0)  # wide paper keeps its lettering by the view
    x = left + REACH + OFF + radius + min(spare, 3.0)
    top = 3.0
    bottom = top + stub + part
    line = x + radius + 3
    column = line + REACH + (3.5 if tight else 0.0)
    end = bottom + 7.0 + cutter.head_diameter / 2 * scale
    foot = end + cutter.head_diameter / 2 * scale + 2.0
    height = max(foot, _lettering_height(lettering, tight, bottom)) + CAPTION
    return _Frame(
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
        stickout=line + 3.5 if tight else column + width_of(lettering.upper) + 4.2,
        height=height if spare >= 0 else math.inf,
    )


def _upright_height(lettering: _Lettering) -> float:
    """Height beside which the stick-out, lettered upright, and the two lengths have room. [mm]"""
    return max(width_of([lettering.stickout]) + 7, svg.column_height(lettering.upper) + 3)


def _stub(lettering: _Lettering, part: float, full: float) -> float:
    """Length of shank drawn: all of it, or what the lettering needs when it is much longer. [mm]"""
    upright = width_of([lettering.stickout]) + 7 - part
    upper = svg.column_height(lettering.upper) + 3 - part
    least = max(9.0, upright, upper)
    return min(full, least) if full > 1.4 * least else full


def _right_width(lettering: _Lettering, tight: bool) -> float:
    """Width that the lettering on the right needs. [mm]"""
    lower = width_of(lettering.lower)
    if tight:
        return max(width_of([*lettering.upper, lettering.stickout]), lower) + 3.5
    return max(width_of(lettering.upper) + 8.2, lower)


def _lettering_height(lettering: _Lettering, tight: bool, bottom: float) -> float:
    """Height that the two columns of lettering need. [mm]"""
    left = svg.column_height(lettering.left) + 2.6
    if tight:
        column = [lettering.stickout, *lettering.upper, *lettering.lower]
        return max(left, svg.column_height(column) + 2.6)
    return max(left, bottom + svg.column_height(lettering.lower) + 2.6)


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
    name, scale = svg.fitting(lambda k: _frame(resolved, k, box[0]).height <= box[1])
    frame = _frame(resolved, scale, box[0])
    paper = Paper(width=box[0], height=frame.height)
    side = View(x=frame.x, y=frame.bottom, scale=scale)
    end = View(x=frame.x, y=frame.end, scale=scale)
    leads = {**_draw_side(paper, resolved, side, frame), **_draw_end(paper, resolved, end, frame)}
    foot = frame.height - CAPTION - 0.6
    left = svg.labels_of(_left_labels(resolved), leads, POINTED)
    right = svg.labels_of(_right_labels(resolved), leads, POINTED)
    svg.column(paper, left, frame.left, -1, 1.0, foot)
    if frame.tight:
        stickout = _stickout_label(job, frame)
        svg.column(paper, [stickout, *right], frame.column, 1, 1.0, foot)
    else:
        svg.column(paper, right[:BESIDE], frame.column, 1, frame.top + 1, frame.bottom - 1)
        svg.column(paper, right[BESIDE:], frame.column, 1, frame.bottom + 1, foot)
    caption(paper, at_scale(name, job, "head seen from the spindle"))
    return svg.finish(
        paper,
        id,
        "The cutter from the side, and its head seen from the spindle with the neck cut away",
        _words(resolved, name),
    )


def _stickout_label(job: Job, frame: _Frame) -> Label:
    middle = (frame.top + frame.bottom) / 2
    lines = lettered(job.cutter.stickout, job)
    return Label(lines=lines, leader=((frame.stickout, middle),), wanted=frame.top)


def _draw_side(
    paper: Paper, job: ResolvedJob, view: View, frame: _Frame
) -> dict[str, tuple[Point, ...]]:
    """Draw the side view and its dimensions; returns the leaders of the lettering."""
    cutter = job.cutter
    length = cutter.neck_length + cutter.head_height + frame.stub / view.scale
    around = [view.at(y, z) for y, z in silhouette(job, 0.0, 0.0, length)]
    svg.path(paper, around, "none", fill="#fff", close=True)
    svg.path(paper, around, "outline", part="cutter")
    shank = cutter.shank_diameter / 2 * view.scale
    _draw_collet(paper, frame.x, frame.top, shank)
    if frame.broken:
        _break(paper, frame.x, shank, frame.top + 0.5 * frame.stub)
    axis = [(frame.x, frame.top - 2), (frame.x, frame.bottom + 2)]
    svg.path(paper, axis, "chain", part="centre-line")
    return {
        **_length_dimensions(paper, job, view, frame),
        **_diameter_dimensions(paper, job, view, frame),
        **_radius_leads(job, view),
    }


def _draw_collet(paper: Paper, x: float, top: float, shank: float) -> None:
    """Draw the face of the collet, hatched on both sides of the shank."""
    svg.path(paper, [(x - shank - 3, top), (x + shank + 3, top)], "outline", part="collet")
    for left in (x - shank - 3, x + shank):
        ring = [(left, top - 2), (left + 3, top - 2), (left + 3, top), (left, top)]
        svg.hatch(paper, [ring], part="collet-hatch")


def _length_dimensions(
    paper: Paper, job: ResolvedJob, view: View, frame: _Frame
) -> dict[str, tuple[Point, ...]]:
    """Dimension neck, head and stick-out on the right; returns the leaders of the first two."""
    cutter = job.cutter
    line = frame.line
    head = cutter.head_diameter / 2 * view.scale
    shank = cutter.shank_diameter / 2 * view.scale
    top = view.at(0, cutter.head_height)[1]
    shoulder = view.at(0, cutter.head_height + cutter.neck_length)[1]
    edges = {
        frame.top: (shank + 3, frame.stickout),
        shoulder: (shank, line),
        top: (head, line),
        frame.bottom: (head, frame.stickout),
    }
    for y, (half, end) in edges.items():
        svg.extension(paper, (frame.x + half, y), (end, y))
    svg.dimension(paper, (line, shoulder), (line, top), "neck-length", 3.0)
    svg.dimension(paper, (line, frame.bottom), (line, top), "head-height", 3.0)
    ends = (frame.stickout, frame.top), (frame.stickout, frame.bottom)
    svg.dimension(paper, *ends, "stickout")
    if not frame.tight:
        _letter_stickout(paper, job, frame)
    return {
        "length": ((line, (top + shoulder) / 2),),
        "height": ((line, (top + frame.bottom) / 2),),
    }


def _letter_stickout(paper: Paper, job: ResolvedJob, frame: _Frame) -> None:
    """Letter the stick-out upright, on the left of its dimension line."""
    y = (frame.top + frame.bottom) / 2
    (words,) = lettered(job.cutter.stickout, job.written)
    svg.text(paper, (frame.stickout - 0.8, y), words, anchor="middle", upright=True)


def _diameter_dimensions(
    paper: Paper, job: ResolvedJob, view: View, frame: _Frame
) -> dict[str, tuple[Point, ...]]:
    """Dimension shank, neck and head across the view; returns the leaders."""
    cutter = job.cutter
    out = _left_reach(job, view)
    top = view.at(0, cutter.head_height)[1]
    shoulder = view.at(0, cutter.head_height + cutter.neck_length)[1]
    shank = frame.top + (0.25 if frame.broken else 0.5) * frame.stub
    heights = (
        ("shank", cutter.shank_diameter, shank),
        ("neck", cutter.neck_diameter, shoulder + 0.6 * (top - shoulder)),
        ("head", cutter.head_diameter, (top + frame.bottom) / 2),
    )
    leads: dict[str, tuple[Point, ...]] = {}
    for name, diameter, y in heights:
        x = view.at(-diameter / 2, 0)[0]
        svg.dimension(paper, (x, y), (2 * frame.x - x, y), f"{name}-diameter", 3.0)
        leads[name] = ((x, y), (min(out, x), y))
    return leads


def _left_reach(job: ResolvedJob, view: View) -> float:
    """Return how far to the left the leaders run beside the view, on paper. [mm]"""
    cutter = job.cutter
    shank = cutter.shank_diameter / 2 * view.scale
    return view.x - max(shank, cutter.head_diameter / 2 * view.scale) - OFF + 0.8


def _radius_leads(job: ResolvedJob, view: View) -> dict[str, tuple[Point, ...]]:
    """Return the leaders from the neck's fillet and from the corner of the head, if it has one."""
    out = _left_reach(job, view)
    fillet = _on_fillet(job, view)
    leads: dict[str, tuple[Point, ...]] = {"fillet": (fillet, (out, fillet[1] + 1.2))}
    r = job.head.corner
    if r > 0:
        corner = view.at(-job.head.radius + MID_ARC * r, MID_ARC * r)
        leads["corner"] = (corner, (out, corner[1] + 2.5))
    return leads


def _on_fillet(job: ResolvedJob, view: View) -> Point:
    """Return the middle of the neck's fillet at the shoulder, left side."""
    cutter = job.cutter
    r = job.fillet
    shoulder = cutter.head_height + cutter.neck_length
    return view.at(-cutter.neck_diameter / 2 - MID_ARC * r, shoulder - MID_ARC * r)


def _break(paper: Paper, x: float, half: float, y: float) -> None:
    """Break the shank: a white strip between two break lines."""
    upper = zigzag((x - half - 1, y - 0.8), (x + half + 1, y - 0.8))
    lower = zigzag((x - half - 1, y + 0.8), (x + half + 1, y + 0.8))
    svg.path(paper, [*upper, *reversed(lower)], "none", fill="#fff", close=True)
    svg.path(paper, upper, part="break")
    svg.path(paper, lower, part="break")


def _draw_end(
    paper: Paper, job: ResolvedJob, view: View, frame: _Frame
) -> dict[str, tuple[Point, ...]]:
    """Draw the head seen from the spindle; returns the leaders of the lettering."""
    cutter = job.cutter
    centre = view.at(0, 0)
    radius = job.head.radius * view.scale
    around, edge, foot = _teeth(job)
    ring = [view.at(u, w) for u, w in around]
    svg.path(paper, ring, "outline", fill="#fff", part="teeth", close=True)
    svg.circle(paper, centre, radius, "chain", part="over-teeth")
    neck = svg.arc(centre, cutter.neck_diameter / 2 * view.scale, 0, 2 * math.pi)[:-1]
    svg.path(paper, neck, "outline", fill="#fff", part="neck", close=True)
    svg.hatch(paper, [neck], part="neck-hatch")
    centre_mark(paper, centre, radius + 1.5)
    turn_arrow(paper, centre, radius + 2.2, 100, 150)
    tip = view.at(*edge)
    root = view.at(*foot)
    face = (0.4 * tip[0] + 0.6 * root[0], 0.4 * tip[1] + 0.6 * root[1])
    across = max(job.head.radius, cutter.shank_diameter / 2) * view.scale
    angle = math.radians(70)
    left = (centre[0] - radius * math.sin(angle), centre[1] - radius * math.cos(angle))
    return {
        "rake": (face, (frame.x + across + 2, face[1] - 1.0)),
        "teeth": (left, (frame.x - across - 1.5, left[1])),
    }


def _teeth(job: ResolvedJob) -> tuple[list[Point], Point, Point]:
    """Outline of all teeth seen from the spindle, the edge of one and the root of its face."""
    if job.grind is not None:
        return ground_teeth(job.written)
    outlines = teeth(job.cutter, job.head.radius, job.rake, job.relief)
    around = [point for outline in reversed(outlines) for point in outline]
    root, edge, *_ = outlines[0]
    return around, edge, root


def _words(job: ResolvedJob, scale: str) -> str:
    """Say what the drawing shows, with its numbers, for who cannot see it."""
    cutter = job.cutter

    def text(length: float) -> str:
        return length_text(length, job.written)

    corner = f", corner radius {text(job.head.corner)}" if job.head.corner > 0 else ""
    assumed = " (assumed)" if cutter.neck_fillet is None else ""
    at_head = ""
    if job.head_fillet != job.fillet:
        at_head = f" at the shank, {text(job.head_fillet)} at the head"
    offset = rake_offset(job)
    side = "past centre" if offset >= 0 else "short of centre"
    end_view = "The end view is as [grind] has it."
    if job.grind is None:
        end_view = "How the flanks run out into the gullets is schematic."
    return (
        f"Scale {scale}. Head {text(cutter.head_diameter)} in diameter and"
        f" {text(cutter.head_height)} high{corner}, {cutter.teeth}"
        f" {'teeth' if cutter.teeth > 1 else 'tooth'}; neck {text(cutter.neck_diameter)} in"
        f" diameter and {text(cutter.neck_length)} long, fillets"
        f" {text(job.fillet)}{assumed}{at_head}; shank"
        f" {text(cutter.shank_diameter)} in diameter; stick-out {text(cutter.stickout)}. Rake"
        f" {units.show(job.rake, 'angle')}: the flute face lies {text(math.fabs(offset))} {side}."
        f" Seen from the spindle the cutter turns clockwise. {end_view}"
    )

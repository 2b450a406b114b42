"""Shapes that the drawings show, in mm of the thing: slot, cutter, teeth, metal around a pass."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from loadsim.answers.cutter.grinding_sheet import end_view
from loadsim.answers.results import Settings
from loadsim.job.tables import Cutter, Job
from loadsim.loads.passes import Pass
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.stock import Hole, TopHole, events, solid_length

Point = tuple[float, float]


def holes_of(settings: Settings) -> tuple[Hole, ...]:
    """Return the end holes of the answer; an empty tuple when none is drilled."""
    holes = settings.predrill
    if not holes or "along_mm" in holes:
        return ()
    heights = holes.get("heights_mm") or [holes["height_mm"]] * holes["count"]
    return tuple(
        Hole(offset=y, height=z, diameter=holes["diameter_mm"])
        for y, z in zip(holes["offsets_mm"], heights, strict=True)
    )


def top_holes_of(settings: Settings) -> tuple[TopHole, ...]:
    """Return the holes from the top of the answer; an empty tuple when none is drilled."""
    holes = settings.predrill
    if not holes or "along_mm" not in holes:
        return ()
    return tuple(
        TopHole(along=x, offset=y, diameter=holes["diameter_mm"])
        for x, y in zip(holes["along_mm"], holes["offsets_mm"], strict=True)
    )


def _corner(x: float, z: float, r: float, quarter: int) -> list[Point]:
    """Round a corner, counterclockwise; quarter 0 is top right, 1 top left, 2 bottom left, 3 bottom
    right.
    """
    if r <= 0:
        return [(x, z)]
    sx = (1, -1, -1, 1)[quarter]
    sz = (1, 1, -1, -1)[quarter]
    turns = (math.pi / 2 * (quarter + k / 16) for k in range(17))
    return [(x - sx * r + r * math.cos(t), z - sz * r + r * math.sin(t)) for t in turns]


def slot_outline(job: ResolvedJob) -> list[Point]:
    """Outline of the finished slot from the left edge of the surface round to the right edge; the
    corners as the head leaves them.
    """
    slot = job.slot
    r = job.head.corner
    low = job.side_low
    high = job.side
    roof = slot.undercut_height
    half = slot.throat_width / 2
    neck = [(-half, slot.depth)]
    left = [(low, 0.0)]
    if slot.sides == 2:
        neck.append((-half, roof))
        left = [*_corner(low, roof, r, 1), *_corner(low, 0.0, r, 2)]
    return [
        *neck,
        *left,
        *_corner(high, 0.0, r, 3),
        *_corner(high, roof, r, 0),
        (half, roof),
        (half, slot.depth),
    ]


def head_outline(job: ResolvedJob, axis: float, level: float) -> list[Point]:
    """Closed outline of the head at a pass, seen from the side."""
    r = job.head.radius
    c = job.head.corner
    top = level + job.head.height
    return [
        *_corner(axis + r, top, c, 0),
        *_corner(axis - r, top, c, 1),
        *_corner(axis - r, level, c, 2),
        *_corner(axis + r, level, c, 3),
    ]


def _neck_profile(job: ResolvedJob) -> list[Point]:
    """Half-width of the neck over height above the head, fillets included, up to the shoulder's
    outer edge.
    """
    c = job.cutter
    length = c.neck_length

    def end(r: float, most: float) -> list[Point]:
        """Half-width over the distance from one end."""
        steps = [r * (1 - math.cos(math.pi / 2 * k / 12)) for k in range(13)]
        return [
            (min(c.neck_diameter / 2 + r - math.sqrt(max(r**2 - (r - t) ** 2, 0.0)), most), t)
            for t in steps
            if t <= length / 2
        ]

    lower = end(job.head_fillet, job.head.radius)
    upper = [(w, length - t) for w, t in reversed(end(job.fillet, c.shank_diameter / 2))]
    return [*lower, *upper, (c.shank_diameter / 2, length)]


def silhouette(job: ResolvedJob, axis: float, level: float, top: float) -> list[Point]:
    """Cutter seen from the side, open at the top: from the shank's left edge down round the head to
    its right edge.
    """
    base = level + job.head.height
    right = [(axis + w, base + t) for w, t in _neck_profile(job)]
    left = [(2 * axis - y, z) for y, z in reversed(right)]
    head = head_outline(job, axis, level)
    # the head starts at its right edge, top corner first: turn it to run from the left edge
    n = len(head) // 4
    around = [*head[n:], *head[:n]]
    shank = job.cutter.shank_diameter / 2
    return [(axis - shank, top), *left, *around, *right, (axis + shank, top)]


def rake_offset(job: ResolvedJob) -> float:
    """How far past centre the flute face lies, negative short of it. [mm]"""
    return job.head.radius * math.sin(job.rake)


def ground_teeth(job: Job) -> tuple[list[Point], Point, Point]:
    """Outline of the head as `[grind]` has it, seen from the spindle, a tooth at the top; with that
    tooth's edge and the root of its face.
    """
    # the end view is seen on the end face
    ring = [(-float(u), float(v)) for u, v in dict(end_view(job))["head"]]
    radius = max(math.hypot(*p) for p in ring)

    def foot(k: int) -> int:
        return min((k - 1, (k + 1) % len(ring)), key=lambda j: math.hypot(*ring[j]))

    edges = [k for k in range(len(ring)) if math.hypot(*ring[k]) > radius * (1 - 1e-6)]
    # the face is the longest way in from the circle of the edges
    i = min(edges, key=lambda k: math.hypot(*ring[foot(k)]))
    j = foot(i)
    turn = math.atan2(ring[i][0], ring[i][1])
    ring = [
        (u * math.cos(turn) - v * math.sin(turn), u * math.sin(turn) + v * math.cos(turn))
        for u, v in ring
    ]
    return ring, ring[i], ring[j]


def teeth(cutter: Cutter, radius: float, rake: float, relief: float) -> list[list[Point]]:
    """Outline of each tooth seen from the spindle, turning clockwise: from the face's root over the
    edge to the next face's root.

    The face stands at the rake, the flank at the relief; how the flank runs out into the gullet is
    schematic.
    """
    pitch = 2 * math.pi / cutter.teeth
    root = max(0.62 * radius, cutter.neck_diameter / 2 + 0.25 * (radius - cutter.neck_diameter / 2))
    e = radius * math.sin(rake)
    along = radius * math.cos(rake) - math.sqrt(max(root**2 - e**2, 0.0))
    # the face's root, along and across the radius
    r_f = radius - along * math.cos(rake)
    t_f = -along * math.sin(rake)
    back = math.atan2(-t_f, r_f)  # angle by which the root lies behind the edge
    land = 0.3 * pitch
    # the relief stays the same along it
    flank = [
        (radius * math.exp(-math.tan(relief) * t), t) for t in (land * k / 8 for k in range(9))
    ]
    end = pitch - 0.02 * pitch + back
    last = flank[-1][0]
    stop = min(land + 0.28 * pitch, 0.9 * end)
    heel = [(last + (root - last) * k / 8, land + (stop - land) * k / 8) for k in range(1, 9)]
    gullet = [(root, stop + (pitch + back - stop) * k / 8) for k in range(1, 9)]
    rows = [(math.hypot(r_f, t_f), back), *flank, *heel, *gullet]
    return [
        [(r * math.sin(k * pitch - t), r * math.cos(k * pitch - t)) for r, t in rows]
        for k in range(cutter.teeth)
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineBand:
    """A run of metal ahead of a pass, in the frame of its feed."""

    low: float  #: y [mm]
    high: float  #: y [mm]


def bands(p: Pass, low: float, high: float) -> list[OutlineBand]:
    """Runs of metal across the feed that stand in the head's height before the pass, from y low to
    y high.
    """
    runs: list[OutlineBand] = []
    for a, b in pairwise(_band_edges(p, low, high)):
        if b - a < 1e-9 or not _has_metal(p, (a + b) / 2):
            continue
        if runs and runs[-1].high >= a - 1e-9:
            runs[-1] = OutlineBand(low=runs[-1].low, high=b)
        else:
            runs.append(OutlineBand(low=a, high=b))
    return runs


def _band_edges(p: Pass, low: float, high: float) -> list[float]:
    """Where a run of metal may begin or end: walls, and what earlier passes have swept. [mm]"""
    section = p.section
    inside = [float(y) for y in events(section, p.swept)]
    earlier = [
        swept.offset + side * swept.head.radius for swept in section.swept for side in (-1, 1)
    ]
    beyond = [*earlier, section.throat_low, section.throat_high]
    return sorted({low, high, *inside, *(y for y in beyond if low < y < high)})


def _has_metal(p: Pass, y: float) -> bool:
    """Whether metal stands in the head's height across the feed at y."""
    bottom = p.swept.bottom
    top = bottom + p.swept.head.height
    return bool(solid_length(p.section, np.array([y]), bottom, top)[0] > 1e-9)


def immersion(y: float, p: Pass) -> float:
    """Immersion angle at which the front half of the head passes y; a hair beyond the head counts
    as its end. [rad]
    """
    return math.acos(min(max((y - p.swept.offset) / p.swept.head.radius, -1.0), 1.0))


def arcs_in_cut(p: Pass) -> list[Point]:
    """Immersion angles from which to which a tooth meets metal, along the front half of the turn.
    [rad]
    """
    off = p.swept.offset
    r = p.swept.head.radius
    runs = bands(p, off - r, off + r)
    return sorted((immersion(run.high, p), immersion(run.low, p)) for run in runs)

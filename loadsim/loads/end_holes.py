"""End holes: which stock drill fits inside the undercut's outline, where, how deep, and what it
takes away.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from loadsim.base import units
from loadsim.base.errors import FILE, InputError, Problem
from loadsim.job.tables import Job
from loadsim.job.top_holes import top_holes_of
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import drill_sizes
from loadsim.mechanics.drilling import DEPTH_IN_DIAMETERS
from loadsim.mechanics.force_law import Kienzle
from loadsim.mechanics.stock import Hole, TopHole, middle_of_solid, solid_length

#: Metal left between a hole and the outline or the next hole, so that the drill stays in (common
#: practice). [mm]
WALL = 0.3

#: Most holes of a layout, as many as a job file holds. [1]
MOST_HOLES = 12

#: Where the inner hole may sit on the edge of the throat, its axis outward of the edge, in
#: diameters. [1]
ON_THE_EDGE = (-0.25, 0.0, 0.25)

#: Force law by which layouts are compared: m_c of most metals; its level cancels.
RANKING_LAW = Kienzle(1.0, 0.25)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleLayout:
    """A set of equal end holes."""

    drill: drill_sizes.Drill
    holes: tuple[Hole, ...]
    depth: float  #: from each open end [mm]
    ends: int  #: drilled from how many ends
    removed: float  #: share of the undercut's metal outside the throat [1]
    rows: int  #: one above the other
    #: largest moment on the neck by the holes' place alone, over that without holes [1]
    load: float
    #: a hole breaks into the throat slot, so it is drilled before that is milled
    before_throat: bool


def layouts(job: ResolvedJob) -> tuple[HoleLayout, ...]:
    """Lay out end holes in one row and in two, clear of the throat and on its edge; the best of
    each kind.

    Of every kind the layout counts that lets the largest moment fall most and then takes the most
    metal away. The moment is that of one tooth over the first pass, from the height of metal, the
    chip and the arm: it ranks layouts and nothing else. Every hole keeps `WALL` to the outline and
    to the next hole.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter and stock, and the units its drills come in.

    Returns
    -------
    layouts : tuple of Layout
        Lowest moment first; empty when no hole fits or reaches through.
    """
    slot = job.slot
    best = dict[tuple[int, bool], HoleLayout]()
    if slot.open_ends == 0:
        return ()
    bare = _moment(job, ())
    for drill, rows, columns in _grids(job):
        for heights in _heights(slot.undercut_height, drill.diameter, rows):
            for across, before in columns:
                holes = tuple(
                    Hole(offset=y, height=z, diameter=drill.diameter)
                    for z in heights
                    for y in across
                )
                candidate = HoleLayout(
                    drill=drill,
                    holes=holes,
                    depth=slot.length / slot.open_ends,
                    ends=slot.open_ends,
                    rows=rows,
                    removed=removed_share(job, holes),
                    load=_moment(job, holes) / bare,
                    before_throat=before,
                )
                rival = best.get((rows, before))
                if rival is None or _rank(candidate, slot.undercut_height) < _rank(
                    rival, slot.undercut_height
                ):
                    best[rows, before] = candidate
    return tuple(sorted(best.values(), key=lambda x: _rank(x, slot.undercut_height)))


def layout(job: ResolvedJob) -> HoleLayout | None:
    """Lay out the end holes that spare the neck most, or None when no hole fits or reaches through.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter and stock, and the units its drills come in.

    Returns
    -------
    layout : Layout or None
    """
    candidates = layouts(job)
    return candidates[0] if candidates else None


def _rank(one: HoleLayout, height: float) -> tuple[float, float, int, float]:
    """Order layouts: lowest moment, most metal, fewest holes, and of equal ones that nearest
    mid-height.
    """
    middle = sum(h.height for h in one.holes) / len(one.holes)
    return (
        round(one.load, 3),
        -round(one.removed, 3),
        len(one.holes),
        round(math.fabs(middle - height / 2), 6),
    )


def _reaches(job: ResolvedJob, d: float) -> bool:
    return DEPTH_IN_DIAMETERS * d * job.slot.open_ends >= job.slot.length


def _grids(
    job: ResolvedJob,
) -> Iterator[tuple[drill_sizes.Drill, int, list[tuple[list[float], bool]]]]:
    """Yield the thickest stock drill for every number of rows and columns, with the offsets it can
    have.

    A thinner drill in the same places takes less and spares less.
    """
    slot = job.slot
    rack = [
        d
        for d in drill_sizes.stock("inch" if job.units == "inch" else "metric")
        if _reaches(job, d.diameter)
    ][::-1]
    for rows in (1, 2):
        fits = [
            d for d in rack if rows * d.diameter + (rows + 1) * WALL <= slot.undercut_height + 1e-9
        ]
        for n in range(1, MOST_HOLES // (rows * slot.sides) + 1):
            for kind in (None, *ON_THE_EDGE):
                grid = next(
                    ((d, x) for d in fits if (x := _columns(job, d.diameter, n, kind))), None
                )
                if grid is not None:
                    yield grid[0], rows, [(x, kind is not None) for x in grid[1]]


def _columns(job: ResolvedJob, d: float, n: int, edge: float | None) -> list[list[float]]:
    """Offsets of n columns a side: the inner one clear of the throat, or on its edge; spread out,
    and close together.
    """
    outer = job.side - WALL - d / 2
    pitch = d + WALL
    wall = job.section.throat_high
    two = job.slot.sides == 2
    inner = wall + pitch - d / 2 if edge is None else wall + edge * d
    least = pitch / 2 if two else job.side_low + WALL + d / 2
    if inner < least - 1e-9 or inner + (n - 1) * pitch > outer + 1e-9:
        return []
    even = (outer - inner) / (n - 1) if n > 1 else 0.0
    columns = []
    for step in {pitch, even} if n > 1 else {pitch}:
        ys = [inner + k * step for k in range(n)]
        columns.append([*ys, *(-y for y in ys)] if two else ys)
    if n == 1 and edge is None:  # one hole a side on the middle of its band
        middle = (inner + outer) / 2
        columns.append([middle, -middle] if two else [middle])
    return columns


def _heights(height: float, d: float, rows: int) -> list[tuple[float, ...]]:
    """Heights of the rows: spread evenly, down at the floor, up at the roof, and between."""
    spare = height - rows * d - (rows + 1) * WALL
    tight = [WALL + d / 2 + k * (d + WALL) for k in range(rows)]
    lifted = {round(spare * part, 9) for part in (0.0, 0.25, 0.5, 0.75, 1.0)}
    heights = [tuple(z + lift for z in tight) for lift in sorted(lifted)]
    return heights if rows == 1 else [*heights, (tight[0], tight[1] + spare)]


def _moment(job: ResolvedJob, holes: tuple[Hole, ...]) -> float:
    """Largest moment of one tooth on the neck over the first pass that meets metal, in arbitrary
    units.
    """
    from dataclasses import replace

    head = job.head
    section = replace(job.section, holes=holes)
    edge = job.section.throat_high
    centre = job.slot.sides == 2 and (head.radius > 1.001 * edge or section.throat_floor > 0)
    # a head inside the throat meets metal in its side passes alone
    offset = 0.0 if centre else max(job.axis_limits[1], 0.0)
    y = np.concatenate(
        [
            offset + head.radius * np.cos(np.linspace(0.01, math.pi - 0.01, 160)),
            [edge + 1e-6, -edge - 1e-6],
        ]
    )
    u = (y - offset) / head.radius
    y = y[np.abs(u) < 1]
    u = u[np.abs(u) < 1]
    b = solid_length(section, y, 0.0, head.height)
    arm = job.cutter.neck_length + head.height - middle_of_solid(section, y, 0.0, head.height)
    return float((b * RANKING_LAW.force(np.sqrt(1 - u**2)) * arm).max())


def breaks_into_throat(job: ResolvedJob, holes: tuple[Hole | TopHole, ...]) -> bool:
    """Whether a hole breaks into the throat slot, so that it has to be drilled before that is
    milled; one from the top is taken to.

    Parameters
    ----------
    job : ResolvedJob
        The section of its stock, with the throat slot in it.
    holes : tuple of Hole
        The end holes.

    Returns
    -------
    breaks : bool
    """
    low = job.section.throat_low
    high = job.section.throat_high
    floor = job.section.throat_floor
    return any(isinstance(h, TopHole) for h in holes) or any(
        low - h.diameter / 2 < h.offset < high + h.diameter / 2
        and h.height + h.diameter / 2 > floor
        for h in holes
        if isinstance(h, Hole)
    )


def removed_share(job: ResolvedJob, holes: tuple[Hole | TopHole, ...]) -> float:
    """Share of the undercut's metal beside the throat that end holes take; what lies in the throat
    does not count. Of holes from the top it is the share over the whole slot.

    Parameters
    ----------
    job : ResolvedJob
        Its slot and the section of its stock.
    holes : tuple of Hole
        They do not overlap.

    Returns
    -------
    share : float
        [1]
    """
    slot = job.slot
    wall = job.section.throat_high
    metal = (job.side - wall) * slot.undercut_height * slot.sides
    if any(isinstance(h, TopHole) for h in holes):  # seen from above
        metal = (job.side - wall) * slot.length * slot.sides
    gone = sum(_beyond(h, wall) + (_beyond(h, wall, -1) if slot.sides == 2 else 0.0) for h in holes)
    return gone / metal


def _beyond(hole: Hole | TopHole, wall: float, side: int = 1) -> float:
    """Area of a hole beyond the throat's wall: a segment of a circle."""
    r = hole.diameter / 2
    t = min(max(wall - side * hole.offset, -r), r)
    return r**2 * math.acos(t / r) - t * math.sqrt(r**2 - t**2)


def no_holes(job: ResolvedJob) -> InputError:
    """The refusal of a job that asks for end holes where none fits.

    Parameters
    ----------
    job : ResolvedJob
        Its slot and stock, and the units its drills come in.

    Returns
    -------
    error : InputError
    """
    message = f"is true, but {why_none(job)}; leave it out, or give [predrill]"
    return InputError(FILE, [Problem(where="[cut] predrill", message=message)])


def why_none(job: ResolvedJob) -> str:
    """Say why no end hole helps.

    Parameters
    ----------
    job : ResolvedJob
        Its slot and stock, and the units its drills come in.

    Returns
    -------
    why : str
    """
    slot = job.slot
    if slot.open_ends == 0:
        return "no end of the slot is open to drill from"
    rack = drill_sizes.stock("inch" if job.units == "inch" else "metric")
    fits = [
        d.diameter
        for d in rack
        if d.diameter + 2 * WALL <= slot.undercut_height + 1e-9
        and any(_columns(job, d.diameter, 1, kind) for kind in (None, *ON_THE_EDGE))
    ]
    if fits:
        system = job.units
        show = units.show
        name = next(d.name for d in rack[::-1] if d.diameter == fits[-1])
        reach = DEPTH_IN_DIAMETERS * fits[-1] * slot.open_ends
        return (
            f"the largest drill that stays inside the undercut, {name}, reaches"
            f" {show(reach, 'length', system)} of the {show(slot.length, 'length', system)} long"
            " slot; the metal beyond would load the neck as before"
        )
    return "no stock drill fits inside the undercut's outline"


def holes_for(resolved: ResolvedJob) -> tuple[Hole | TopHole, ...]:
    """Return the end holes that ``[cut]`` asks for; raises InputError when it asks for them and
    none fits.
    """
    job = resolved.written
    if not job.cut.predrill:
        return ()
    if job.predrill is not None:
        return holes_of(job)
    plan = layout(resolved)
    if plan is None:
        raise no_holes(resolved)
    return plan.holes


def depth_for(resolved: ResolvedJob) -> float:
    """Depth of the end holes that ``[cut]`` asks for, from each open end; 0 without holes. [mm]"""
    job = resolved.written
    if not job.cut.predrill:
        return 0.0
    if job.predrill is not None:
        return job.predrill.depth
    plan = layout(resolved)
    return 0.0 if plan is None else plan.depth


def holes_of(job: Job) -> tuple[Hole | TopHole, ...]:
    """Return the end holes as the shop means to drill them."""
    p = job.predrill
    if p is None:
        return ()
    if p.along is not None:
        return top_holes_of(job)
    heights = p.heights if p.height is None else [p.height] * len(p.offsets)
    return tuple(
        Hole(offset=y, height=z, diameter=p.diameter)
        for y, z in zip(p.offsets, heights or (), strict=True)
    )

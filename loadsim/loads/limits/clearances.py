"""Where the cutter must not touch: neck, shank and head against every wall, floor and roof they
come near.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from loadsim.base import units
from loadsim.base.numbers import Array
from loadsim.loads.assumptions import CLEARANCE
from loadsim.loads.limits.utilization import Utilization
from loadsim.loads.passes import Pass, drop_in_hole
from loadsim.loads.resolved_job import ResolvedJob


def _show(job: ResolvedJob) -> Callable[[float], str]:
    return lambda x: units.show(x, "length", job.units)


def clearances(
    job: ResolvedJob,
    passes: tuple[Pass, ...],
    neck_diameter: Array,
    neck_length: Array,
    fillet: Array,
    one: Array,
) -> list[Utilization]:
    """List every clearance that a cut needs.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    passes : tuple of Pass
        The passes.
    neck_diameter : ndarray
        [mm]
    neck_length : ndarray
        [mm]
    fillet : ndarray
        At the neck's ends. [mm]
    one : ndarray
        Ones, as many as there are cuts. [1]

    Returns
    -------
    checks : list of Utilization
    """
    slot = job.slot
    cutter = job.cutter
    show = _show(job)
    d = neck_diameter * one
    reach = neck_length * one
    found = [
        Utilization(
            name="neck in throat",
            demand=d + 2 * CLEARANCE,
            capacity=slot.throat_width * one,
            unit="mm",
            hard=True,
            fit=True,
            say=lambda d, c: (
                f"The neck with {show(CLEARANCE)} clearance each side needs {show(d)} of the throat's {show(c)}."
            ),
        ),
        Utilization(
            name="fillet in throat",
            demand=np.minimum(d + 2 * fillet, np.maximum(cutter.head_diameter, d))
            + 2 * max(math.fabs(p.offset) for p in passes),
            capacity=slot.throat_width * one,
            unit="mm",
            hard=True,
            fit=True,
            say=lambda d, c: (
                f"Where the neck leaves the head, it and its fillet need {show(d)} of the throat's {show(c)}"
                + ("." if d <= c else ", or it rubs the throat's lower corners.")
            ),
        ),
        Utilization(
            name="shoulder above surface",
            demand=(slot.depth - cutter.head_height + CLEARANCE) * one,
            capacity=reach,
            unit="mm",
            hard=True,
            fit=True,
            say=lambda d, c: (
                f"The neck must be {show(d)} long to keep the shank's shoulder off the surface; it is {show(c)}."
            ),
        ),
        Utilization(
            name="head in undercut",
            demand=cutter.head_height * one,
            capacity=slot.undercut_height * one,
            unit="mm",
            hard=True,
            fit=True,
            say=lambda d, c: f"The head is {show(d)} high in an undercut of {show(c)}.",
        ),
    ]
    return [*found, *_off_centre(job, passes, d), *_shallow(job, passes, one), *_drop_in(job, one)]


def _off_centre(job: ResolvedJob, passes: tuple[Pass, ...], d: Array) -> list[Utilization]:
    """Neck against the throat wall it comes nearest to, over all passes; the throat is even about
    its centre line.
    """
    show = _show(job)
    offset = max(math.fabs(p.offset) for p in passes)
    if offset == 0:
        return []
    return [
        Utilization(
            name="reach of side passes",
            demand=d + 2 * (offset + CLEARANCE),
            capacity=job.slot.throat_width * np.ones_like(d),
            unit="mm",
            hard=True,
            fit=True,
            say=lambda d, c: (
                f"With the axis {show(offset)} off centre the neck needs a throat of {show(d)}; it is {show(c)}."
            ),
        )
    ]


def _shallow(job: ResolvedJob, passes: tuple[Pass, ...], one: Array) -> list[Utilization]:
    """A throat that was not milled to the floor: the neck starts at the head's upper face, which
    must be above it.
    """
    floor = job.section.throat_floor
    show = _show(job)
    if floor <= 1e-9:
        return []
    top = min(p.level for p in passes) + job.head.height
    return [
        Utilization(
            name="neck above throat floor",
            demand=floor * one,
            capacity=top * one,
            unit="mm",
            hard=True,
            fit=True,
            say=lambda d, c: (
                f"The throat was milled to {show(d)} above the undercut's floor; the neck of the lowest pass starts at {show(c)}."
            ),
        )
    ]


def _drop_in(job: ResolvedJob, one: Array) -> list[Utilization]:
    """How the head gets into a slot that is closed at both ends: by a hole, or down the throat
    itself.
    """
    slot = job.slot
    show = _show(job)
    hole = drop_in_hole(job)
    if slot.open_ends > 0:
        return []
    if hole is None:
        return [
            Utilization(
                name="head between the ends",
                demand=(job.cutter.head_diameter + 2 * CLEARANCE) * one,
                capacity=slot.length * one,
                unit="mm",
                hard=True,
                fit=True,
                say=lambda d, c: (
                    f"Both ends are closed; the head goes down the throat and needs {show(d)} of its length, {show(c)}."
                ),
            )
        ]
    return [
        Utilization(
            name="drop-in hole",
            demand=hole * one,
            capacity=slot.length * one,
            unit="mm",
            hard=True,
            fit=True,
            say=lambda d, c: (
                f"Both ends are closed: drill a drop-in hole of at least {show(d)} to the undercut's floor first."
            ),
        )
    ]

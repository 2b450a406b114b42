"""Where the cutter must not touch: neck, shank and head against every wall, floor and roof they
come near.
"""

from __future__ import annotations

import math

import numpy as np

from loadsim.base.numbers import Array
from loadsim.job.tolerances import oversize
from loadsim.loads.assumptions import BURNISHED, CLEARANCE
from loadsim.loads.fillets import fillet_overlap
from loadsim.loads.limits.utilization import LimitCode, Utilization
from loadsim.loads.passes import Pass, drop_in_hole
from loadsim.loads.resolved_job import ResolvedJob


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
        Its slot, cutter and stock.
    passes : tuple of Pass
        The passes.
    neck_diameter : ndarray
        [mm]
    neck_length : ndarray
        [mm]
    fillet : ndarray
        Where the neck meets the head. [mm]
    one : ndarray
        Ones, as many as there are cuts. [1]

    Returns
    -------
    checks : list of Utilization
    """
    d = neck_diameter * one
    return [
        *_in_throat(job, passes, d, fillet),
        *_in_depth(job, neck_length * one, one),
        *_off_centre(job, passes, d),
        *_shallow(job, passes, one),
        *_drop_in(job, one),
    ]


def _in_throat(
    job: ResolvedJob, passes: tuple[Pass, ...], d: Array, fillet: Array
) -> list[Utilization]:
    """Neck between the walls of the throat, and the fillet at the head beside its lower corners."""
    width = job.slot.throat_width * np.ones_like(d)
    wide, high = overlap_in_throat(job, passes, d, fillet)
    return [
        Utilization(
            code=LimitCode.NECK_IN_THROAT,
            demand=d + 2 * CLEARANCE,
            capacity=width,
            unit="mm",
            hard=True,
            fit=True,
            facts={"clearance": CLEARANCE},
        ),
        Utilization(
            code=LimitCode.FILLET_IN_THROAT,
            demand=high,
            capacity=BURNISHED * np.ones_like(d),
            unit="mm",
            hard=False,
            fit=True,
            facts={"wide": wide},
        ),
    ]


def gap_beside_neck(job: ResolvedJob, passes: tuple[Pass, ...], d: Array) -> Array:
    """Room between a neck of diameter d and the throat wall it comes nearest to, not above 0 where
    it does not pass. [mm]
    """
    return np.asarray((job.slot.throat_width - d) / 2 - farthest_offset(passes))


def overlap_in_throat(
    job: ResolvedJob, passes: tuple[Pass, ...], d: Array, fillet: Array
) -> tuple[Array, Array]:
    """`fillet_overlap` of this cut's necks: none where the head that the fillet runs into clears
    the throat itself.
    """
    wide, high = fillet_overlap(fillet, gap_beside_neck(job, passes, d))
    head = job.cutter.head_diameter * np.ones_like(d)
    meets = gap_beside_neck(job, passes, head) < 0
    return np.where(meets, wide, 0.0), np.where(meets, high, 0.0)


def _in_depth(job: ResolvedJob, neck_length: Array, one: Array) -> list[Utilization]:
    """Shank above the surface, head under the roof."""
    slot = job.slot
    cutter = job.cutter
    return [
        Utilization(
            code=LimitCode.SHOULDER_ABOVE_SURFACE,
            demand=(slot.depth - cutter.head_height + CLEARANCE) * one,
            capacity=neck_length,
            unit="mm",
            hard=True,
            fit=True,
        ),
        Utilization(
            code=LimitCode.HEAD_IN_UNDERCUT,
            demand=cutter.head_height * one,
            capacity=(slot.undercut_height + oversize(slot).height) * one,
            unit="mm",
            hard=True,
            fit=True,
        ),
    ]


def farthest_offset(passes: tuple[Pass, ...]) -> float:
    """Farthest that any pass runs off the throat's centre line. [mm]"""
    return max(math.fabs(p.offset) for p in passes)


def thickest_neck(
    *,
    throat_width: float,
    offset: float,
    fillet: float,
    head_diameter: float,
    shank_diameter: float,
) -> float:
    """Thickest neck to propose: its fillet clears the throat, and these diameters leave it.

    A thicker one may pass and burnish the corners, `fillet_overlap`; a proposal does not rely on
    that. The wall is kept `CLEARANCE` off the neck, and off the fillet's foot by nothing: a fillet
    larger than `CLEARANCE` decides, unless the head that it runs into clears the throat itself.

    Parameters
    ----------
    throat_width : float
        [mm]
    offset : float
        Farthest that any pass runs off the throat's centre line. [mm]
    fillet : float
        Between neck and head. [mm]
    head_diameter : float
        [mm]
    shank_diameter : float
        [mm]

    Returns
    -------
    neck_diameter : float
        Not above 0 where no neck passes. [mm]

    Examples
    --------
    >>> sizes = {"throat_width": 6.0, "head_diameter": 10.0, "shank_diameter": 10.0}
    >>> round(thickest_neck(offset=0.5, fillet=0.25, **sizes), 9)
    4.5
    """
    room = throat_width - 2 * offset
    gap = CLEARANCE if head_diameter <= room else max(CLEARANCE, fillet)
    return min(room - 2 * gap, head_diameter, shank_diameter)


def largest_fillet(
    *, throat_width: float, offset: float, neck_diameter: float, head_diameter: float
) -> float:
    """Largest fillet to propose beside a neck: it clears the throat, `thickest_neck` the other way
    round. A larger one burnishes the corners, `fillet_overlap`.

    Parameters
    ----------
    throat_width : float
        [mm]
    offset : float
        Farthest that any pass runs off the throat's centre line. [mm]
    neck_diameter : float
        [mm]
    head_diameter : float
        [mm]

    Returns
    -------
    fillet : float
        Negative where the neck alone does not pass; infinite where the head that the fillet runs
        into clears the throat itself, so that no fillet meets its walls. [mm]

    Examples
    --------
    >>> sizes = {"throat_width": 6.0, "offset": 0.5, "neck_diameter": 4.5}
    >>> largest_fillet(head_diameter=10.0, **sizes), largest_fillet(head_diameter=5.0, **sizes)
    (0.25, inf)
    """
    room = throat_width - 2 * offset
    return math.inf if head_diameter <= room else (room - neck_diameter) / 2


def _off_centre(job: ResolvedJob, passes: tuple[Pass, ...], d: Array) -> list[Utilization]:
    """Neck against the throat wall it comes nearest to, over all passes; the throat is even about
    its centre line.
    """
    offset = farthest_offset(passes)
    if offset == 0:
        return []
    return [
        Utilization(
            code=LimitCode.REACH_OF_SIDE_PASSES,
            demand=d + 2 * (offset + CLEARANCE),
            capacity=job.slot.throat_width * np.ones_like(d),
            unit="mm",
            hard=True,
            fit=True,
            facts={"offset": offset},
        )
    ]


def _shallow(job: ResolvedJob, passes: tuple[Pass, ...], one: Array) -> list[Utilization]:
    """A throat that was not milled to the floor: the neck starts at the head's upper face, which
    must be above it.
    """
    floor = job.section.throat_floor
    if floor <= 1e-9:
        return []
    top = min(p.level for p in passes) + job.head.height
    return [
        Utilization(
            code=LimitCode.NECK_ABOVE_THROAT_FLOOR,
            demand=floor * one,
            capacity=top * one,
            unit="mm",
            hard=True,
            fit=True,
        )
    ]


def _drop_in(job: ResolvedJob, one: Array) -> list[Utilization]:
    """How the head gets into a slot that is closed at both ends: by a hole, or down the throat
    itself.
    """
    slot = job.slot
    hole = drop_in_hole(job)
    if slot.open_ends > 0:
        return []
    if hole is None:
        return [
            Utilization(
                code=LimitCode.HEAD_BETWEEN_THE_ENDS,
                demand=(job.cutter.head_diameter + 2 * CLEARANCE) * one,
                capacity=slot.length * one,
                unit="mm",
                hard=True,
                fit=True,
            )
        ]
    return [
        Utilization(
            code=LimitCode.DROP_IN_HOLE,
            demand=hole * one,
            capacity=slot.length * one,
            unit="mm",
            hard=True,
            fit=True,
        )
    ]

"""What holds against the cut: the shank in its holder, the table on its ways."""

from __future__ import annotations

import math

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import (
    COLLET_PULL,
    COLLET_PULL_SD,
    COLLET_SHANK,
    LOOSE,
    SCREW_EFFICIENCY,
    SIDE_LOCK_SCREW,
    SIDE_LOCK_SHEAR,
    TABLE_FRICTION,
    WHEEL_RADIUS,
)
from loadsim.loads.load_case import LoadCase
from loadsim.loads.resolved_job import ResolvedJob

#: How many standard deviations under the middle the lowest one in twenty lies. [1]
ONE_IN_TWENTY = 1.645


def holder_of(job: ResolvedJob) -> str:
    """How a shank is held: in a collet where the job file does not say."""
    return job.machine.holder or "collet"


def grip(holder: str, shank_diameter: float) -> float:
    """Force at the surface of a shank from which on its holder may let it slip.

    Parameters
    ----------
    holder : str
        "collet" or "side-lock".
    shank_diameter : float
        [mm]

    Returns
    -------
    force : float
        Of a collet what nineteen in twenty hold, in proportion to the shank; of a side-lock what
        shears its screw. [N]
    """
    if holder == "side-lock":
        return SIDE_LOCK_SHEAR * math.pi / 4 * (SIDE_LOCK_SCREW * shank_diameter) ** 2
    weak = COLLET_PULL * math.exp(-ONE_IN_TWENTY * COLLET_PULL_SD)
    return weak * shank_diameter / COLLET_SHANK


def is_loose(job: ResolvedJob) -> bool:
    """Whether a cut can drag the table through its backlash at all.

    Parameters
    ----------
    job : ResolvedJob
        Its backlash, and how its table is driven.

    Returns
    -------
    loose : bool
    """
    return job.backlash > 0 and (job.machine.feed != "cnc" or job.backlash > LOOSE)


def table_friction(job: ResolvedJob) -> float:
    """Force on the table, along the feed, under which it stays where it is.

    Parameters
    ----------
    job : ResolvedJob
        Force at the handwheel's rim that moves its table while nothing cuts, where that is known,
        and the travel of a turn.

    Returns
    -------
    force : float
        Median. [N]
    """
    rim = job.machine.wheel_force
    if rim is None:
        return TABLE_FRICTION
    return rim * 2 * math.pi * WHEEL_RADIUS * SCREW_EFFICIENCY / job.handwheel


def grabbed_growth(case: LoadCase, backlash: float | Array) -> Array:
    """Growth of force and stress when a tooth is fed by the backlash instead of the screw.

    Parameters
    ----------
    case : LoadCase
        Its feed per tooth and force law.
    backlash : float or ndarray
        [mm]

    Returns
    -------
    growth : ndarray
        [1]
    """
    return case.law.growth(np.maximum(case.f_z, backlash), case.f_z)

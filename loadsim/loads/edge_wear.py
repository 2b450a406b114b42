"""The worn land of an edge: what it starts with, how it grows along the cut, when it is due for the
stone.
"""

from __future__ import annotations

import math

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import (
    EDGE_LIFE,
    EDGE_LIFE_HARD,
    SHARP_LAND,
    STONE_LAND,
    STONED_LAND,
    USUAL_FEED,
)
from loadsim.loads.passes import Pass, travel_of
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials.families import by_family
from loadsim.mechanics.wear import LAND_CHIP, land_force, wear_by_speed


def usual_speed(job: ResolvedJob) -> float:
    """Highest surface speed at which an edge of this blank has its usual life. [mm/s]"""
    return job.work.surface_speed_hi * job.blank.speed_factor


def start_land(job: ResolvedJob) -> float:
    """Land of the edge before the cut: as measured, or the middle of what the stone leaves.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter.

    Returns
    -------
    land : float
        [mm]
    """
    return STONED_LAND / 2 if job.cutter.wear is None else job.cutter.wear


def growth(job: ResolvedJob, travel: float, speed: float | None = None) -> float:
    """How far the land grows along a cut.

    By the way that an edge goes in metal, half of each turn, at a usual feed; over the usual
    surface speed by Taylor's law.

    Parameters
    ----------
    job : ResolvedJob
        Its head, tooth count, metal and blank.
    travel : float
        Of the table, all passes together. [mm]
    speed : float, optional
        Spindle speed; not over the usual one when left out. [rad/s]

    Returns
    -------
    land : float
        [mm]

    Notes
    -----
    Whatever the feed: printed lives of end mills in time go with its power of -0.6 to -1.5, so that
    the land that a slot costs does not change much with it, and more feed never wears less.

    References
    ----------
    KosilovaMeshcheryakov1985 table 39
    """
    way = travel / (USUAL_FEED * job.cutter.teeth) * math.pi * job.head.radius
    v_usual = usual_speed(job)
    life = v_usual * by_family(EDGE_LIFE, job.work.family, EDGE_LIFE_HARD)
    faster = 1.0 if speed is None else wear_by_speed(speed * job.head.radius, v_usual)
    return float((STONE_LAND - STONED_LAND / 2) * way / life * faster)


def edge_force(job: ResolvedJob, land: float | Array) -> tuple[Array, Array]:
    """Force that a land adds on a millimetre of edge, over that of the sharp edges which forces
    were measured with.

    Parameters
    ----------
    job : ResolvedJob
        Its metal.
    land : float or ndarray
        [mm]

    Returns
    -------
    along : ndarray
        [N/mm]
    across : ndarray
        [N/mm]
    """
    if job.written.work.kc11 is not None and job.cutter.wear is None:
        land = 0.0  # constants of the job's own hold for the edge as it is
    worn = np.maximum(np.asarray(land, float) - SHARP_LAND, 0.0)
    return land_force(job.metal.median.specific(LAND_CHIP), worn)


def slots_between_stones(each: float) -> float:
    """Slots that a stoned edge cuts until it is due again.

    Parameters
    ----------
    each : float
        How far its land grows in one. [mm]

    Returns
    -------
    slots : float
        At least 1: a slot is finished. [1]
    """
    return max((STONE_LAND - STONED_LAND / 2) / each, 1.0)


def slots_to_stone(job: ResolvedJob, passes: tuple[Pass, ...], speed: float) -> float:
    """Slots that one edge cuts until its land is due for the stone.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter, metal and blank.
    passes : tuple of Pass
        Of one slot.
    speed : float
        Spindle speed. [rad/s]

    Returns
    -------
    slots : float
        0 where it is due already. [1]
    """
    return max(STONE_LAND - start_land(job), 0.0) / growth(job, travel_of(passes), speed)

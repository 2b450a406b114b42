"""How the edge wears from slot to slot, and when it is due for the stone."""

from __future__ import annotations

from loadsim.loads.assumptions import EDGE_LIFE, EDGE_LIFE_HARD, STONE_GROWTH
from loadsim.loads.passes import Pass, travel_of
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials.families import by_family
from loadsim.mechanics.chip import feed_rate


def slots_to_stone(job: ResolvedJob, passes: tuple[Pass, ...], f_z: float, speed: float) -> float:
    """Slots that one edge cuts until it is due for the stone.

    Parameters
    ----------
    job : ResolvedJob
        Its tooth count and the family of its material.
    passes : tuple of Pass
        Of one slot.
    f_z : float
        Feed per tooth. [mm]
    speed : float
        Spindle speed. [rad/s]

    Returns
    -------
    slots : float
        [1]
    """
    time = travel_of(passes) / feed_rate(f_z, job.cutter.teeth, speed)
    return by_family(EDGE_LIFE, job.work.family, EDGE_LIFE_HARD) / time


def wear_growth(
    job: ResolvedJob, passes: tuple[Pass, ...], f_z: float, speed: float | None, slots: float
) -> float:
    """Force of the last of several slots over that of the first, by the wear of the edge.

    The edge is stoned when it is due; until then the force grows in proportion.

    Parameters
    ----------
    job : ResolvedJob
        Its tooth count and the family of its material.
    passes : tuple of Pass
        Of one slot.
    f_z : float
        Feed per tooth. [mm]
    speed : float or None
        Spindle speed. [rad/s]
    slots : float
        Slots cut with one edge, the last one included. [1]

    Returns
    -------
    growth : float
        [1]

    Raises
    ------
    ValueError
        If several slots are asked for and the speed is not known.
    """
    if slots <= 1 or job.written.work.kc11 is not None:
        return 1.0
    if speed is None:
        raise ValueError("the wear of several slots needs the spindle speed")
    worn = (slots - 1) / slots_to_stone(job, passes, f_z, speed)
    return 1 + STONE_GROWTH * min(worn, 1.0)

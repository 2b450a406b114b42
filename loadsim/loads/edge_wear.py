"""When the edge is due for the stone."""

from __future__ import annotations

from loadsim.loads.assumptions import STONE_LAND
from loadsim.loads.nominal import growth, start_land
from loadsim.loads.resolved_job import ResolvedJob


def slots_to_stone(job: ResolvedJob, travel: float, speed: float) -> float:
    """Slots that one edge cuts until its land is due for the stone.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter, metal and blank.
    travel : float
        Of one slot, all passes together. [mm]
    speed : float
        Spindle speed. [rad/s]

    Returns
    -------
    slots : float
        0 where it is due already. [1]
    """
    return max(STONE_LAND - start_land(job), 0.0) / growth(job, travel, speed)

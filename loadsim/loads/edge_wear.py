"""When the edge is due for the stone.

Until then its force lies within the spread of the edge's wear that every chance counts.
"""

from __future__ import annotations

from loadsim.loads.assumptions import EDGE_LIFE, EDGE_LIFE_HARD
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

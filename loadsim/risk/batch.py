"""What becomes of one cutter over all slots of a job, and what a scrap cut would prove of it."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from functools import partial

import numpy as np

from loadsim.base.numbers import tidy
from loadsim.base.roots import last_under
from loadsim.loads.cut import Engagement
from loadsim.loads.edge_wear import slots_to_stone
from loadsim.loads.passes import travel_of
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk import bayes
from loadsim.risk.demand import demand_of, survived_demand
from loadsim.risk.results import Batch, Prove
from loadsim.risk.samples import Draws, Worn, few_of
from loadsim.risk.snap import assess, next_snap
from loadsim.risk.survival import survival
from loadsim.risk.table_grab import chance_of_grab

#: Slots up to which the chance of one cutter is followed, and of scrap cuts that are proposed. [1]
MOST_SLOTS = 10_000
SCRAP_SLOTS = (1, 3)

#: Points of each replicate that slots are counted with. [1]
FEW = 64
PROVED = 256

#: How near the number of slots is sought: the next over the last that was looked at. [1]
WITHIN = 1.02


def batch_of(
    job: ResolvedJob, way: Engagement, f_z: float, speed: float, drawn: Draws, slots: int
) -> Batch:
    """Follow one cutter through all slots of a job.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine, strength and asked snap probability.
    way : Engagement
        How the undercut is made.
    f_z : float
        Feed per tooth. [mm]
    speed : float
        Spindle speed. [rad/s]
    drawn : Draws
        The sample, and what the cutter has lived through.
    slots : int
        Of the whole job. [1]

    Returns
    -------
    batch : Batch
    """
    most, edge = _between_stones(job, way, f_z, speed, few_of(drawn, FEW))
    whole = assess(job, way, f_z, drawn, speed=speed, slots=slots, edge=edge)
    return Batch(
        slots=slots,
        snap_probability=whole.snap_probability,
        slots_to_target=int(most) if 0 < most < MOST_SLOTS else None,
        stone_after_slots=edge if edge < slots else None,
    )


def _between_stones(
    job: ResolvedJob, way: Engagement, f_z: float, speed: float, few: Draws
) -> tuple[int, int]:
    """Slots within the asked chance, and after how many to stone: when the land is due, or so much
    sooner that at least half of the slots are reached that an always fresh edge would.
    """

    @functools.cache
    def over(slots: int, edge: int) -> float:
        """Logarithm of the chance over that asked."""
        chance = assess(job, way, f_z, few, speed=speed, slots=slots, edge=edge)
        return _log_over(chance.snap_probability, job.target.snap_probability)

    travel = travel_of(way.passes)
    edge = min(max(math.floor(slots_to_stone(job, travel, speed)), 1), MOST_SLOTS)
    fresh = _slots_to_target(partial(over, edge=1))
    while fresh and edge > 1 and over(math.ceil(fresh / 2), edge) > 0:
        edge //= 2
    return _slots_to_target(partial(over, edge=edge)), edge


def _log_over(chance: float, asked: float) -> float:
    return math.log(chance / asked) if chance > 0 else -math.inf


def _slots_to_target(over: Callable[[int], float]) -> int:
    """Most slots within the asked chance, between none and `MOST_SLOTS`, to `WITHIN`."""
    ends = (over(1), over(MOST_SLOTS))
    if ends[0] > 0:
        return 0
    if not ends[1] > 0:
        return MOST_SLOTS
    return round(last_under(lambda slots: over(round(slots)), 1, MOST_SLOTS, ends, WITHIN))


def prove_of(job: ResolvedJob, way: Engagement, f_z: float, speed: float, drawn: Draws) -> Prove:
    """Scrap cuts at the very settings of the job: their chance, and that of the next slot if the
    cutter lives through them.

    The fewest are proposed that bring the next slot within the asked chance, else the most.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine, strength and asked snap probability.
    way : Engagement
        How the undercut is made.
    f_z : float
        Feed per tooth. [mm]
    speed : float
        Spindle speed. [rad/s]
    drawn : Draws
        The sample, and what the cutter has lived through.

    Returns
    -------
    prove : Prove
    """
    few = few_of(drawn, PROVED)
    for slots in SCRAP_SLOTS:
        chance, after = lived_through(job, way, f_z, speed, few, slots)
        if after <= job.target.snap_probability:
            break
    return Prove(
        feed_per_tooth_mm=tidy(f_z),
        length_mm=job.slot.length,
        slots=slots,
        snap_probability=float(f"{chance:.2g}"),
        after=float(f"{after:.2g}"),
    )


def lived_through(
    job: ResolvedJob, way: Engagement, f_z: float, speed: float, drawn: Draws, slots: int
) -> tuple[float, float]:
    """Chance to snap in some scrap slots, and in the next slot of a cutter that lived through them.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine and strength.
    way : Engagement
        How the undercut is made.
    f_z : float
        Feed per tooth. [mm]
    speed : float
        Spindle speed. [rad/s]
    drawn : Draws
        The sample, and what the cutter has lived through.
    slots : int
        Scrap slots. [1]

    Returns
    -------
    chance : float
        [1]
    after : float
        [1]
    """
    worn = drawn.lived_by(job.cutter)
    scrap = survived_demand(
        job, way, f_z, drawn, speed=speed, cuts=slots, share=1.0, travel=None, seed=(slots,)
    )
    asked = demand_of(job, way, f_z, drawn, speed=speed)
    past = scrap if worn is None else worn.demand.then(scrap)
    lived = survival(job, past, drawn)
    proved = Worn(cutter=job.cutter, demand=past, lived=lived)
    p = next_snap(job, proved, asked, drawn, chance_of_grab(job, way, f_z)).p
    start = 0.0 if worn is None else worn.lived.all
    through = np.exp(lived.all - start)
    weights = through if drawn.weights is None else drawn.weights * through
    chance = assess(job, way, f_z, drawn, speed=speed, slots=slots).snap_probability
    # where no sample lives through the scrap cut, none would through the next slot
    return chance, bayes.mean(p, weights) if np.any(weights > 0) else 1.0

"""What the cut that snaps looks like, read off the samples: for a neck whose limits alone look
ample.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum, auto

import numpy as np

from loadsim.base.notes import Note
from loadsim.base.numbers import Array
from loadsim.loads.assumptions import STEADINESS
from loadsim.loads.limits.chip_packing import burst_factor
from loadsim.loads.limits.utilization import NECK, Limit
from loadsim.loads.nominal import peak_chip
from loadsim.loads.passes import Pass
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk.bayes import effective_size, quantiles
from loadsim.risk.results import Risk
from loadsim.risk.samples import Draws, Uncertain, force_at
from loadsim.risk.snap import Snap

#: Use of the neck under which a chance over this share of the asked one needs an explanation. [1]
AMPLE = 0.5
ASKED_SHARE = 0.1

#: How far the middle of what snaps must lie from the middle of all before it is told, and least
#: share of packed chips. [1]
TOLD = 1.15
PACKED = 0.5

#: Deviation of the fillet's middle under which it is told to be small, in standard deviations. [1]
SMALL_FILLET = -0.5

#: Rank of the edges' lean among all drawn, under which it is told to be small. [1]
STRAIGHT = 0.35

#: Fewest equally weighted samples that the breaks must rest on. [1]
FEWEST = 100


class Trait(Enum):
    """What sets the cuts that snap apart from all cuts."""

    PACKED_CHIPS = auto()
    UNSTEADY_FEED = auto()
    HARD_METAL = auto()
    WEAK_BLANK = auto()
    SMALL_FILLET = auto()
    STRAIGHT_EDGES = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class BadCase:
    """What the cuts that snap have in common."""

    used: float  #: share of the neck's most used limit [1]
    snap_probability: float
    traits: tuple[Note, ...]  #: at least one, each with the middle over all cuts that snap


def bad_case(
    job: ResolvedJob,
    passes: tuple[Pass, ...],
    f_z: float,
    limits: list[Limit],
    chance: Risk,
    snap: Snap,
    drawn: Draws,
) -> BadCase | None:
    """Find what the cuts that snap have in common, when no limit of the neck is used to half and
    yet the chance is not small.

    Parameters
    ----------
    job : ResolvedJob
        Its machine, force constants, strength and asked chance.
    passes : tuple of Pass
        The passes.
    f_z : float
        Feed per tooth as set. [mm]
    limits : list of Limit
        Every limit.
    chance : Risk
        Snap probability.
    snap : Snap
        Chance of a break at every sample.
    drawn : Draws
        The samples.

    Returns
    -------
    case : BadCase or None
        None when there is nothing to explain, or the breaks rest on too few samples to be told.
    """
    used = max(limit.utilization for limit in limits if limit.name in NECK)
    p = chance.snap_probability
    if used >= AMPLE or p <= ASKED_SHARE * job.target.snap_probability:
        return None
    common = what_snaps(job, passes, f_z, snap, drawn)
    return BadCase(used=used, snap_probability=p, traits=common) if common else None


def what_snaps(
    job: ResolvedJob, passes: tuple[Pass, ...], f_z: float, snap: Snap, drawn: Draws
) -> tuple[Note, ...]:
    """List what sets the cuts that snap apart.

    Parameters
    ----------
    job : ResolvedJob
        Its machine, force constants and strength.
    passes : tuple of Pass
        The passes.
    f_z : float
        Feed per tooth as set. [mm]
    snap : Snap
        Chance of a break at every sample.
    drawn : Draws
        The samples.

    Returns
    -------
    traits : tuple of Note
        Empty when nothing does, or the breaks rest on too few samples to be told.
    """
    weights = snap.p if drawn.weights is None else snap.p * drawn.weights
    if effective_size(weights) < FEWEST:
        return ()
    return traits(job, passes, f_z, drawn, weights)


def traits(
    job: ResolvedJob, passes: tuple[Pass, ...], f_z: float, drawn: Draws, weights: Array
) -> tuple[Note, ...]:
    """List what sets the cuts that snap apart, the middle of each over all that snap.

    Parameters
    ----------
    job : ResolvedJob
        Its machine, force constants and strength.
    passes : tuple of Pass
        The passes.
    f_z : float
        Feed per tooth as set. [mm]
    drawn : Draws
        The samples.
    weights : ndarray, shape (s,)
        Chance of a break at every sample, times its weight. [1]

    Returns
    -------
    traits : tuple of Note
        Empty when nothing does.
    """
    z = drawn.z
    median, steady = STEADINESS[job.machine.feed]
    packing = burst_factor(job, passes, f_z, drawn.u[Uncertain.CHIP_PACKING])
    common = []
    if float(weights @ (packing > 1)) > PACKED * float(weights.sum()):
        common.append(Note(code=Trait.PACKED_CHIPS, facts={"factor": _median(packing, weights)}))
    feed = _median(z[Uncertain.FEED_STEADINESS], weights)
    if math.exp(steady * feed) > TOLD:
        facts = {"factor": median * math.exp(steady * feed)}
        common.append(Note(code=Trait.UNSTEADY_FEED, facts=facts))
    hard = _median(force_at(job, float(np.max(peak_chip(job, f_z, 1.0))), z), weights)
    if hard > TOLD:
        common.append(Note(code=Trait.HARD_METAL, facts={"factor": hard}))
    weak = math.exp(job.strength.spread * _median(z[Uncertain.BLANK_STRENGTH], weights))
    if weak < 1 / TOLD:
        common.append(Note(code=Trait.WEAK_BLANK, facts={"share": weak}))
    if _median(z[Uncertain.NECK_FILLET], weights) < SMALL_FILLET:
        common.append(Note(code=Trait.SMALL_FILLET))
    lean = _median(drawn.u[Uncertain.EDGE_SKEW], weights)
    if job.cutter.edge_skew is None and lean < STRAIGHT:
        common.append(Note(code=Trait.STRAIGHT_EDGES))
    return tuple(common)


def _median(x: Array, weights: Array) -> float:
    """Weighted median, always one of the samples: packed chips are all or nothing."""
    return float(quantiles(x, [0.5], weights, interpolated=False)[0])

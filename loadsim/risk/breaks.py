"""What the cut that snaps looks like, read off the samples: for a neck whose limits alone look
ample.
"""

from __future__ import annotations

import math

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import STEADINESS
from loadsim.loads.limits.chip_packing import burst_factor
from loadsim.loads.limits.utilization import NECK, Limit
from loadsim.loads.nominal import force_constants, peak_chip
from loadsim.loads.passes import Pass
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk.results import Risk
from loadsim.risk.samples import Draws
from loadsim.risk.snap import Snap

#: Use of the neck under which a chance over this share of the asked one needs an explanation. [1]
AMPLE = 0.5
ASKED_SHARE = 0.1

#: How far the middle of what snaps must lie from the middle of all before it is told, and least
#: share of packed chips. [1]
TOLD = 1.15
PACKED = 0.5

#: Fewest samples that the breaks must rest on. [1]
FEWEST = 100


def bad_case(
    job: ResolvedJob,
    passes: tuple[Pass, ...],
    f_z: float,
    found: list[Limit],
    chance: Risk,
    snap: Snap,
    drawn: Draws,
) -> str:
    """Say what the cuts that snap have in common, when no limit of the neck is used to half and yet
    the chance is not small.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    passes : tuple of Pass
        The passes.
    f_z : float
        Feed per tooth as set. [mm]
    found : list of Limit
        Every limit.
    chance : Risk
        Snap probability.
    snap : Snap
        Chance of a break at every sample.
    drawn : Draws
        The samples.

    Returns
    -------
    sentence : str
        Empty when there is nothing to explain, or the breaks rest on too few samples to be told.
    """
    used = max(x.utilization for x in found if x.name in NECK)
    p = chance.snap_probability
    if used >= AMPLE or p <= ASKED_SHARE * job.target.snap_probability:
        return ""
    weights = snap.p if drawn.weights is None else snap.p * drawn.weights
    if not weights.sum() > 0 or weights.sum() ** 2 / float(weights @ weights) < FEWEST:
        return ""
    told = traits(job, passes, f_z, drawn, weights)
    if not told:
        return ""
    who = (
        f"the one cut in {float(f'{1 / p:.2g}'):,.0f} that snaps has"
        if p <= 0.2
        else f"the {100 * p:.0f} cuts in 100 that snap have"
    )
    return (
        f"Why it snaps though the neck is used to {used:.0%} at most: {who}, in the middle of all"
        f" that snap, {' and '.join(told)}."
    )


def traits(
    job: ResolvedJob, passes: tuple[Pass, ...], f_z: float, drawn: Draws, weights: Array
) -> list[str]:
    """List what sets the cuts that snap apart, the middle of each over all that snap.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
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
    told : list of str
    """
    z, (median, steady) = drawn.z, STEADINESS[job.machine.feed]
    packing = burst_factor(job, passes, f_z, drawn.u[13])
    told = []
    if float(weights @ (packing > 1)) > PACKED * float(weights.sum()):
        told.append(f"chips that pack and multiply the force by {middle(packing, weights):.2g}")
    feed = middle(z[3], weights)
    if math.exp(steady * feed) > TOLD:
        told.append(
            f"a feed that runs at its worst to {median * math.exp(steady * feed):.2g} times the"
            " set one"
        )
    sigma = float(np.max(force_constants(job, peak_chip(job, f_z, 1.0))[2]))
    hard = math.exp(sigma * middle(z[0], weights))
    if hard > TOLD:
        told.append(f"metal that takes {hard:.2g} times the usual force to cut")
    weak = math.exp(job.strength.spread * middle(z[10], weights))
    if weak < 1 / TOLD:
        told.append(f"a blank of {weak:.0%} of the usual strength")
    fillet = middle(z[6], weights)
    if fillet < -0.5:
        told.append("a fillet smaller than it was taken to be")
    return told


def middle(x: Array, weights: Array) -> float:
    """Weighted median.

    Parameters
    ----------
    x : ndarray, shape (s,)
        Values.
    weights : ndarray, shape (s,)
        Not negative, not all zero. [1]

    Returns
    -------
    median : float

    Examples
    --------
    >>> middle(np.array([3.0, 1.0, 2.0]), np.array([5.0, 1.0, 1.0]))
    3.0
    """
    order = np.argsort(x)
    total = np.cumsum(weights[order])
    return float(x[order][np.searchsorted(total, total[-1] / 2)])

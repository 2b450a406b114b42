"""The chance that the neck snaps: the same chain on arrays, over everything that is not known for
sure.

Scrambled Sobol points in independent replicates; fracture, fatigue and torsion enter by their own
probability at each sample's load, so that rare breaks are resolved without waiting for one. The
neck is the same in every slot: what it has lived through counts as damage, and as proof.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array, earned_digits, outward, rounded
from loadsim.loads.cut import Engagement
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk import bayes, sobol
from loadsim.risk.demand import MOST_POSITIONS, Run, demand_of
from loadsim.risk.neck_demand import Demand
from loadsim.risk.results import Driver, Modes, Risk
from loadsim.risk.samples import Draws, Uncertain, Worn
from loadsim.risk.survival import FATIGUE_SD, log_fracture, survival
from loadsim.risk.table_grab import chance_of_grab

#: Two-sided 95 % point of Student's t with 15 degrees of freedom. [1]
T_95 = 2.131

#: Fatigue governs the drivers when its mean margin lies this far over that of fracture. [1]
FATIGUE_LEAD = 0.15

#: Least share of the variance that is told, and most samples that weighted ones are drawn as. [1]
LEAST_SHARE = 0.005
MOST_RESAMPLED = 8192


@dataclass(frozen=True, slots=True, kw_only=True)
class Snap:
    """Chance of a break at every sample, and the logarithmic margins behind it; (s,)."""

    p: Array  #: [1]
    fracture: Array  #: ln(stress / characteristic strength) [1]
    fatigue: Array  #: ln(amplitude / strength), the damage of all turns summed [1]
    by_fracture: Array  #: chance by this way alone, from here on [1]
    by_fatigue: Array
    by_torsion: Array
    by_grab: Array

    def take(self, which: npt.NDArray[np.intp]) -> Snap:
        """Return the samples wanted."""
        return Snap(**{k: getattr(self, k)[which] for k in Snap.__dataclass_fields__})


def assess(
    job: ResolvedJob,
    way: Engagement,
    f_z: float,
    drawn: Draws,
    *,
    speed: float | None = None,
    slots: int = 1,
    edge: int | None = None,
) -> Risk:
    """Chance that the neck snaps in the next slots, its interval, and what drives it.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine and strength.
    way : Engagement
        How the undercut is made.
    f_z : float
        Feed per tooth as set. [mm]
    drawn : Draws
        The sample.
    speed : float, optional
        Spindle speed. [rad/s]
    slots : int
        How many slots, one after the other with one cutter. [1]
    edge : int, optional
        Slots cut between two stonings of the edge; until its land is due when left out. [1]

    Returns
    -------
    risk : Risk

    Raises
    ------
    ValueError
        If the probability is not finite.
    """
    return risk_of(job, snaps(job, way, f_z, drawn, speed=speed, slots=slots, edge=edge), drawn)


def risk_of(job: ResolvedJob, snap: Snap, drawn: Draws) -> Risk:
    """Average the chances of all samples; raises ValueError if the probability is not finite."""
    p, low, high = interval(snap.p, drawn.weights, drawn.replicates)

    def alone(chance: Array) -> float:
        return float(f"{bayes.mean(chance, drawn.weights):.3g}")

    return Risk(
        snap_probability=p,
        low=low,
        high=high,
        samples=snap.p.size,
        seed=drawn.seed,
        drivers=_drivers(job, snap, drawn),
        modes=Modes(
            fracture=alone(snap.by_fracture),
            fatigue=alone(snap.by_fatigue),
            torsion=alone(snap.by_torsion),
            grab=alone(snap.by_grab),
        ),
    )


def interval(p: Array, weights: Array | None, replicates: int) -> tuple[float, float, float]:
    """Mean chance with its 95 % interval, in the digits that the interval earns.

    Parameters
    ----------
    p : ndarray, shape (s,)
        Chance at every sample, one replicate after the other. [1]
    weights : ndarray, shape (s,), or None
        Weights; None counts all alike. [1]
    replicates : int
        Number of replicates, at least 2. [1]

    Returns
    -------
    p : float
        [1]
    low : float
        Rounded outward. [1]
    high : float
        Rounded outward. [1]

    Raises
    ------
    ValueError
        If the chance or its error is not finite.
    """
    mean, error = bayes.mean_and_error(p, weights, replicates)
    half = T_95 * error
    if not (math.isfinite(mean) and math.isfinite(half)):
        raise ValueError("the snap probability is not a finite number")
    shown = rounded(mean, earned_digits(mean, half))
    low = min(outward(max(mean - half, 0.0), math.floor), shown)
    high = max(outward(min(mean + half, 1.0), math.ceil), shown)
    return shown, low, high


def snaps(
    job: ResolvedJob,
    way: Engagement,
    f_z: float,
    drawn: Draws,
    *,
    speed: float | None = None,
    slots: int = 1,
    edge: int | None = None,
    most_positions: int = MOST_POSITIONS,
) -> Snap:
    """Chance of a break at every sample, in the next slots of a neck that has lived so far.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine and strength.
    way : Engagement
        How the undercut is made.
    f_z : float
        Feed per tooth as set. [mm]
    drawn : Draws
        The sample, and what the job's cutter has lived through.
    speed : float, optional
        Spindle speed; an edge may build up under a certain one. [rad/s]
    slots : int
        How many slots, one after the other with one cutter. [1]
    edge : int, optional
        Slots cut between two stonings of the edge; until its land is due when left out. [1]
    most_positions : int
        Longer tables of turning positions are trimmed to the leading ones. [1]

    Returns
    -------
    snap : Snap
    """
    run = Run(slots=float(slots), edge=edge)
    asked = demand_of(job, way, f_z, drawn, speed=speed, run=run, most_positions=most_positions)
    grab = chance_of_grab(job, way, f_z)
    return next_snap(job, drawn.lived_by(job.cutter), asked, drawn, grab)


def next_snap(
    job: ResolvedJob, worn: Worn | None, asked: Demand, drawn: Draws, grab: float
) -> Snap:
    """Chance of a break in what is asked next, of necks that have lived through what was before.

    Parameters
    ----------
    job : ResolvedJob
        Its strength.
    worn : Worn or None
        What was before; None: the neck is new.
    asked : Demand
        What is asked next.
    drawn : Draws
        The sample.
    grab : float
        Chance that the table is grabbed. [1]

    Returns
    -------
    snap : Snap
    """
    total = survival(job, asked if worn is None else worn.demand.then(asked), drawn)

    def breaks(way: str) -> Array:
        past = 0.0 if worn is None else getattr(worn.lived, way)
        with np.errstate(invalid="ignore"):
            gone = getattr(total, way) - past
        # a neck that cannot have lived so far has no weight either; more is never borne better, so
        # that only rounding lifts the difference over zero
        return np.asarray(-np.expm1(np.where(np.isnan(gone), -np.inf, np.minimum(gone, 0.0))))

    by_grab = np.zeros_like(total.margin)
    if grab > 0:
        by_grab = grab * -np.expm1(log_fracture(job, asked.grabbed, drawn))
    all_ways = breaks("all")
    return Snap(
        p=all_ways + by_grab * (1 - all_ways),
        fracture=total.margin,
        fatigue=total.fatigue_margin,
        by_fracture=breaks("fracture"),
        by_fatigue=breaks("fatigue"),
        by_torsion=breaks("torsion"),
        by_grab=by_grab,
    )


def _drivers(job: ResolvedJob, snap: Snap, drawn: Draws) -> tuple[Driver, ...]:
    """Shares of the variance of the logarithmic margin that governs, largest first; of an even
    sample when weighted.
    """
    u = drawn.u
    # inputs are no longer independent: a share is what that input alone would settle
    if drawn.weights is not None:
        kept = bayes.resampled(drawn.weights, min(u.shape[1], MOST_RESAMPLED))
        snap = snap.take(kept)
        u = bayes.ranks(u[:, kept])
    margin, own = _governing(job, snap)
    variance = float(margin.var())
    total = variance + own
    even = drawn.weights is None
    shares = sobol.first_order_shares(u, margin, stratified=even) * variance / total
    shares[Uncertain.BLANK_STRENGTH] += own / total
    return tuple(
        Driver(name=Uncertain(row).driver, share=round(float(shares[row]), 3))
        for row in np.argsort(-shares, kind="stable").tolist()
        if shares[row] >= LEAST_SHARE
    )


def _governing(job: ResolvedJob, snap: Snap) -> tuple[Array, float]:
    """Return the logarithmic margin that governs, and one blank's own variance in it."""
    if float(np.mean(snap.fatigue)) > float(np.mean(snap.fracture)) + FATIGUE_LEAD:
        return snap.fatigue, FATIGUE_SD**2
    # scatter of a Weibull strength: pi/(m sqrt 6) in the logarithm
    return snap.fracture, math.pi**2 / (6 * job.strength.m**2)

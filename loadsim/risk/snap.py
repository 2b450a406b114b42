"""The chance that the neck snaps: the same chain on arrays, over everything that is not known for
sure.

Scrambled Sobol points in independent replicates; fracture, fatigue and torsion enter by their own
probability at each sample's load, so that rare breaks are resolved without waiting for one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from loadsim.base.numbers import Array, earned_digits, outward, rounded
from loadsim.base.ranges import finite, trusted
from loadsim.loads.assumptions import GRIND_SD, TORSION_SD
from loadsim.loads.limits.chip_packing import burst_factor
from loadsim.loads.load_case import LoadCase, checked
from loadsim.loads.neck_stress import Notch, Peaks, leading, notches, peaks
from loadsim.loads.nominal import as_drawn
from loadsim.loads.passes import Contact, Pass, pass_travel, thickest_sine
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.fatigue import basquin_strength
from loadsim.mechanics.strength import torque_to_snap
from loadsim.mechanics.stress_concentration import K_T_BENDING_FE_MEAN
from loadsim.risk import bayes, sobol
from loadsim.risk.results import Driver, Risk
from loadsim.risk.samples import Draws, Uncertain, sampled_case

#: Two-sided 95 % point of Student's t with 15 degrees of freedom. [1]
T_95 = 2.131

#: Tables of more turning positions than this are trimmed to the leading ones for the samples. [1]
MOST_POSITIONS = 40

#: Scatter of necks ground alike, in the logarithm, about their fatigue strength and about the load
#: that bends them for good (assumed, no source). [1]
FATIGUE_SD = 0.10
BEND_SD = 0.05

#: Chances under this are summed over the causes instead of taken from 1: no rounding. [1]
RARE = 1e-4

#: Fatigue governs the drivers when its mean margin lies this far over that of fracture. [1]
FATIGUE_LEAD = 0.15

#: Least share of the variance that is told, and most samples that weighted ones are drawn as. [1]
LEAST_SHARE = 0.005
MOST_RESAMPLED = 8192

#: Feeds and runouts, over the nominal ones, that span what the samples do. [1]
FEEDS = (0.6, 1.0, 2.5)
RUNOUTS = (0.0, 1.0, 2.5)

#: Pairs of tooth position and sample in one block (what the cache holds), and the sizes of a block.
BLOCK_PAIRS = 2**19
BLOCK_SIZES = (256, 8192)

#: The head's end of the neck is followed where its bending stress, or its bending stress with more
#: torsion, is over this share of the shoulder's; and how much more torsion that is. [1]
NEAR = 0.5
NEAR_TWISTED = 0.25
TWISTED = 1.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Snap:
    """Chance of a break at every sample, and the logarithmic margins behind it; (s,)."""

    p: Array  #: [1]
    fracture: Array  #: ln(stress / characteristic strength) [1]
    fatigue: Array  #: ln(amplitude / strength at these cycles) [1]


def assess(
    job: ResolvedJob, passes: tuple[Pass, ...], contacts: list[Contact], f_z: float, drawn: Draws
) -> Risk:
    """Chance that the neck snaps in the whole cut, its interval, and what drives it.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine and strength.
    passes : tuple of Pass
        The passes.
    contacts : list of Contact
        One for each pass.
    f_z : float
        Feed per tooth as set. [mm]
    drawn : Draws
        The sample.

    Returns
    -------
    risk : Risk

    Raises
    ------
    ValueError
        If the probability is not finite.
    """
    return risk_of(job, snaps(job, passes, contacts, f_z, drawn), drawn)


def risk_of(job: ResolvedJob, snap: Snap, drawn: Draws) -> Risk:
    """Average the chances of all samples; raises ValueError if the probability is not finite."""
    p, low, high = interval(snap.p, drawn.weights, drawn.replicates)
    return Risk(
        snap_probability=p,
        low=low,
        high=high,
        samples=snap.p.size,
        seed=drawn.seed,
        drivers=_drivers(job, snap, drawn),
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
    passes: tuple[Pass, ...],
    contacts: list[Contact],
    f_z: float,
    drawn: Draws,
    *,
    travel: float | None = None,
    most_positions: int = MOST_POSITIONS,
) -> Snap:
    """Chance of a break at every sample.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine and strength.
    passes : tuple of Pass
        The passes.
    contacts : list of Contact
        One for each pass.
    f_z : float
        Feed per tooth as set. [mm]
    drawn : Draws
        The sample.
    travel : float, optional
        Of each pass; that of the whole slot when left out. [mm]
    most_positions : int
        Longer tables of turning positions are trimmed to the leading ones. [1]

    Returns
    -------
    snap : Snap
    """
    contacts = _led(job, contacts, f_z, most_positions)
    pairs = max(c.peak.phi.size for c in contacts)
    least, most = BLOCK_SIZES
    block = max(least, min(most, BLOCK_PAIRS // max(pairs, 1)))
    travel = pass_travel(job.slot, job.cutter.head_diameter) if travel is None else travel
    cycles = len(passes) * travel / (f_z * job.cutter.teeth)
    parts = []
    for i in range(0, drawn.u.shape[1], block):
        u = drawn.u[Uncertain.CHIP_PACKING, i : i + block]
        z = drawn.z[:, i : i + block]
        case = sampled_case(job, contacts, f_z, z)
        packed = case.force_factor * burst_factor(job, passes, f_z, u)
        parts.append(_block(job, case.with_(force_factor=packed), contacts, cycles, z))
    names = Snap.__dataclass_fields__
    return Snap(**{k: np.concatenate([getattr(x, k) for x in parts]) for k in names})


def _led(
    job: ResolvedJob, contacts: list[Contact], f_z: float, most_positions: int
) -> list[Contact]:
    """Trim large tables of positions to those that lead over the feeds and runouts drawn."""
    if max(c.peak.turn.size for c in contacts) <= most_positions:
        return contacts
    base = as_drawn(job, f_z, thickest_sine(contacts), K_T_BENDING_FE_MEAN)
    cases = [base.with_(f_z=f * f_z, rho=r * base.rho) for f in FEEDS for r in RUNOUTS]
    notch = notches(base)[0]
    return [
        replace(c, peak=leading(cases, c.peak, notch)) if c.peak.turn.size > most_positions else c
        for c in contacts
    ]


def _block(
    job: ResolvedJob, case: LoadCase, contacts: list[Contact], cycles: float, z: Array
) -> Snap:
    checked(case)
    with trusted():
        ends = _ends(job, case, contacts)
        runs = [peaks(case, c.peak, notch, rubbed) for c in contacts for notch, rubbed in ends]
    names = Peaks.__dataclass_fields__
    worst = Peaks(**{k: np.maximum.reduce([getattr(r, k) for r in runs]) for k in names})
    for name in ("sigma_1", "sigma_v", "sigma_ar"):  # no chance from a stress that is not a number
        finite(name, getattr(worst, name), " MPa")
    K_ts = np.maximum.reduce([notch.K_ts for notch, _ in ends])
    return snap_of(job, worst, K_ts, case.neck_diameter, np.asarray(cycles), z)


def _ends(job: ResolvedJob, case: LoadCase, contacts: list[Contact]) -> list[tuple[Notch, Notch]]:
    """Return the ends of the neck that can govern: that at the head only when its arm is not far
    the shorter.
    """
    size = job.strength.notch_size
    both = notches(case)
    worn = notches(case, size) if size else both
    level = min(float(c.peak.level.min()) for c in contacts)
    shoulder, head = ((n.arm + case.head_height - level) * n.bending for n in both)
    twisted = both[1].torsion > TWISTED * both[0].torsion
    share = head / shoulder
    near = bool(np.max(share) > NEAR) or bool(np.max(twisted & (share > NEAR_TWISTED)))
    return list(zip(both, worn, strict=True))[: 2 if near else 1]


def snap_of(
    job: ResolvedJob, worst: Peaks, K_ts: Array, diameter: Array, N: Array, z: Array
) -> Snap:
    """Chance that each sample's neck breaks by fracture, fatigue or torsion, or bends for good.

    Parameters
    ----------
    job : ResolvedJob
        Its strength.
    worst : Peaks
        The worst of all passes.
    K_ts : ndarray
        Torsion stress concentration. [1]
    diameter : ndarray
        Neck diameter. [mm]
    N : ndarray
        Stress cycles. [1]
    z : ndarray, shape (14, s)
        Standard normal deviates, rows by `Uncertain`. [1]

    Returns
    -------
    snap : Snap
    """
    from scipy.special import ndtr

    s = job.strength
    level = np.exp(s.spread * z[Uncertain.BLANK_STRENGTH])
    with np.errstate(divide="ignore"):
        fracture = np.log(worst.sigma_1 / (s.sigma_0 * level))
        bears = basquin_strength(N, s.S_limit, s.N_limit, s.k, s.S_static) * np.exp(
            s.fatigue_spread * z[Uncertain.FATIGUE_STRENGTH]
        )
        grind = GRIND_SD * z[Uncertain.NECK_GRINDING] if s.yield_strength is None else 0.0
        fatigue = np.log(worst.sigma_ar / bears) - grind
        torsion = np.log(worst.torque / torque_to_snap(s.tau_u, K_ts, diameter))
    with np.errstate(over="ignore", under="ignore"):
        lives = (
            np.exp(-np.exp(s.m * fracture))
            * ndtr(-fatigue / FATIGUE_SD)
            * ndtr(-torsion / TORSION_SD)
        )
        small = np.exp(s.m * fracture) + ndtr(fatigue / FATIGUE_SD) + ndtr(torsion / TORSION_SD)
        if s.yield_strength is not None:
            bent = ndtr(np.log(worst.sigma_v / (s.yield_strength * level)) / BEND_SD)
            lives = lives * (1 - bent)
            small = small + bent
    return Snap(p=np.where(small < RARE, small, 1.0 - lives), fracture=fracture, fatigue=fatigue)


def _drivers(job: ResolvedJob, snap: Snap, drawn: Draws) -> tuple[Driver, ...]:
    """Shares of the variance of the logarithmic margin that governs, largest first; of an even
    sample when weighted.
    """
    u = drawn.u
    # inputs are no longer independent: a share is what that input alone would settle
    if drawn.weights is not None:
        kept = bayes.resampled(drawn.weights, min(u.shape[1], MOST_RESAMPLED))
        snap = Snap(**{k: getattr(snap, k)[kept] for k in Snap.__dataclass_fields__})
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

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
from loadsim.loads.assumptions import GRIND_SD, TORSION_SD
from loadsim.loads.limits.chip_packing import burst_factor
from loadsim.loads.load_case import LoadCase
from loadsim.loads.neck_stress import Notch, Peaks, leading, notches, peaks
from loadsim.loads.nominal import as_drawn
from loadsim.loads.passes import Contact, Pass, thickest_sine
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.fatigue import basquin_strength
from loadsim.mechanics.strength import torque_to_snap
from loadsim.mechanics.stress_concentration import K_T_BENDING_FE_MEAN
from loadsim.risk import bayes, sobol
from loadsim.risk.results import Driver, Risk
from loadsim.risk.samples import NAMES, Draws, sampled_case

#: Two-sided 95 % point of Student's t with 15 degrees of freedom.
T_95 = 2.131

#: Tables of more turning positions than this are trimmed to the leading ones for the samples. [1]
MOST_POSITIONS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Snap:
    """Chance of a break at every sample, and the logarithmic margins behind it; (s,)."""

    p: Array
    fracture: Array  #: ln(stress / characteristic strength)
    fatigue: Array  #: ln(amplitude / strength at these cycles)


def snap_of(
    job: ResolvedJob, worst: Peaks, K_ts: Array, diameter: Array, N: Array, z: Array
) -> Snap:
    """Chance that each sample's neck breaks by fracture, fatigue or torsion.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    worst : Peaks
        The worst of all passes.
    K_ts : ndarray
        Torsion stress concentration. [1]
    diameter : ndarray
        Neck diameter. [mm]
    N : ndarray
        Stress cycles. [1]
    z : ndarray, shape (dims, s)
        Standard normal draws.

    Returns
    -------
    snap : Snap
    """
    from scipy.special import ndtr

    s = job.strength
    level = np.exp(s.spread * z[10])
    with np.errstate(divide="ignore"):
        fracture = np.log(worst.sigma_1 / (s.sigma_0 * level))
        bears = basquin_strength(N, s.S_limit, s.N_limit, s.k, s.S_static) * np.exp(
            s.fatigue_spread * z[11]
        )
        grind = GRIND_SD * z[12] if s.yield_strength is None else 0.0
        fatigue = np.log(worst.sigma_ar / bears) - grind
        torsion = np.log(worst.torque / torque_to_snap(s.tau_u, K_ts, diameter))
    with np.errstate(over="ignore", under="ignore"):
        lives = (
            np.exp(-np.exp(s.m * fracture)) * ndtr(-fatigue / 0.10) * ndtr(-torsion / TORSION_SD)
        )
        small = np.exp(s.m * fracture) + ndtr(fatigue / 0.10) + ndtr(torsion / TORSION_SD)
        if s.yield_strength is not None:
            bent = ndtr(np.log(worst.sigma_v / (s.yield_strength * level)) / 0.05)
            lives = lives * (1 - bent)
            small = small + bent
    return Snap(p=np.where(small < 1e-4, small, 1.0 - lives), fracture=fracture, fatigue=fatigue)


def assess(
    job: ResolvedJob, passes: tuple[Pass, ...], contacts: list[Contact], f_z: float, drawn: Draws
) -> Risk:
    """Chance that the neck snaps in the whole cut, its interval, and what drives it.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    passes : tuple of Pass
        The passes.
    contacts : list of Contact
        One for each pass.
    f_z : float
        Feed per tooth as set. [mm]
    drawn : Draws
        From `draws`.

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
    p, error = bayes.mean_and_error(snap.p, drawn.weights, drawn.replicates)
    half = T_95 * error
    if not (math.isfinite(p) and math.isfinite(half)):
        raise ValueError("the snap probability is not a finite number")
    digits = earned_digits(p, half)
    return Risk(
        snap_probability=rounded(p, digits),
        low=min(outward(max(p - half, 0.0), math.floor), rounded(p, digits)),
        high=max(outward(min(p + half, 1.0), math.ceil), rounded(p, digits)),
        samples=snap.p.size,
        seed=drawn.seed,
        drivers=_drivers(job, snap, drawn),
    )


def _led(job: ResolvedJob, contacts: list[Contact], f_z: float) -> list[Contact]:
    """Trim large tables of positions to those that lead over the span of feeds and runouts drawn."""
    if max(c.peak.turn.size for c in contacts) <= MOST_POSITIONS:
        return contacts
    base = as_drawn(job, f_z, thickest_sine(contacts), K_T_BENDING_FE_MEAN)
    cases = [
        base.with_(f_z=f * f_z, rho=r * base.rho) for f in (0.6, 1.0, 2.5) for r in (0.0, 1.0, 2.5)
    ]
    notch = notches(base)[0]
    return [
        replace(c, peak=leading(cases, c.peak, notch)) if c.peak.turn.size > MOST_POSITIONS else c
        for c in contacts
    ]


def snaps(
    job: ResolvedJob,
    passes: tuple[Pass, ...],
    contacts: list[Contact],
    f_z: float,
    drawn: Draws,
    travel: float | None = None,
) -> Snap:
    """Chance of a break at every sample, as `assess` takes it; travel for each pass, when it is not
    the slot's. [mm]
    """
    contacts = _led(job, contacts, f_z)
    pairs = max(c.peak.phi.size for c in contacts)
    # keeps an array of pairs and samples in the cache
    block = max(256, min(8192, 2**19 // max(pairs, 1)))
    travel = job.slot.length + job.cutter.head_diameter if travel is None else travel
    parts = [
        _block(
            job, passes, contacts, f_z, drawn.u[:, i : i + block], drawn.z[:, i : i + block], travel
        )
        for i in range(0, drawn.u.shape[1], block)
    ]
    return Snap(
        **{k: np.concatenate([getattr(x, k) for x in parts]) for k in Snap.__dataclass_fields__}
    )


def _block(
    job: ResolvedJob,
    passes: tuple[Pass, ...],
    contacts: list[Contact],
    f_z: float,
    u: Array,
    z: Array,
    travel: float,
) -> Snap:
    case = sampled_case(job, contacts, f_z, z)
    case = case.with_(force_factor=case.force_factor * burst_factor(job, passes, f_z, u[13]))
    ends = _ends(job, case, contacts)
    runs = [peaks(case, c.peak, notch, rubbed) for c in contacts for notch, rubbed in ends]
    worst = Peaks(
        **{
            name: np.maximum.reduce([getattr(r, name) for r in runs])
            for name in Peaks.__dataclass_fields__
        }
    )
    N = np.asarray(len(passes) * travel / (f_z * case.teeth))
    K_ts = np.maximum.reduce([notch.K_ts for notch, _ in ends])
    return snap_of(job, worst, K_ts, case.neck_diameter, N, z)


def _ends(job: ResolvedJob, case: LoadCase, contacts: list[Contact]) -> list[tuple[Notch, Notch]]:
    """Return the ends of the neck that can govern: that at the head only when its arm is not far
    the shorter.
    """
    size = job.strength.notch_size
    both = notches(case)
    worn = notches(case, size) if size else both
    level = min(float(c.peak.level.min()) for c in contacts)
    shoulder, head = ((n.arm + case.head_height - level) * n.bending for n in both)
    twist = both[1].torsion > 1.02 * both[0].torsion
    near = bool(np.max(head / shoulder) > 0.5) or bool(np.max(twist & (head / shoulder > 0.25)))
    return list(zip(both, worn, strict=True))[: 2 if near else 1]


def _drivers(job: ResolvedJob, snap: Snap, drawn: Draws) -> tuple[Driver, ...]:
    """Shares of the variance of the logarithmic margin that governs, largest first; of an even
    sample when weighted.
    """
    s = job.strength
    u = drawn.u
    # inputs are no longer independent: a share is what that input alone would settle
    if drawn.weights is not None:
        kept = bayes.resampled(drawn.weights, min(u.shape[1], 8192))
        snap = Snap(**{k: getattr(snap, k)[kept] for k in Snap.__dataclass_fields__})
        u = bayes.ranks(u[:, kept])
    if float(np.mean(snap.fatigue)) > float(np.mean(snap.fracture)) + 0.15:
        margin = snap.fatigue
        own = 0.10**2
    else:  # scatter of a Weibull strength: pi/(m sqrt 6) in the logarithm
        margin = snap.fracture
        own = math.pi**2 / (6 * s.m**2)
    total = float(margin.var()) + own
    shares = (
        sobol.first_order_shares(u, margin, stratified=drawn.weights is None)
        * float(margin.var())
        / total
    )
    found = dict(zip(NAMES, (float(x) for x in shares), strict=True))
    found["strength of the blank"] += own / total
    return tuple(
        Driver(name=n, share=round(x, 3))
        for n, x in sorted(found.items(), key=lambda x: -x[1])
        if x >= 0.005
    )

"""The chance that the neck snaps: the same chain on arrays, over everything that is not known for sure.

Scrambled Sobol points in independent replicates; fracture, fatigue and torsion enter by their own
probability at each sample's load, so that rare breaks are resolved without waiting for one.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from loadsim import bayes, sobol
from loadsim.case import Case, Setup, force_constants, nominal_case, peak_chip
from loadsim.chain import Contact, Notch, Peaks, notches, peaks, thickest_sine
from loadsim.fatigue import basquin_strength
from loadsim.fillet import K_T_BENDING_FE_MEAN, K_T_BENDING_FE_SD
from loadsim.leaders import leading
from loadsim.limits import CHIP_STAY, gullet_area
from loadsim.passes import Pass
from loadsim.results import Driver, Risk
from loadsim.strength import torque_to_snap

Array = npt.NDArray[np.float64]

SEED = 20_260
#: Independent scrambles; their scatter gives the interval. [1]
REPLICATES = 16
#: Two-sided 95 % point of Student's t with 15 degrees of freedom.
T_95 = 2.131
#: Unsteadiness of the feed: median factor on the feed at its worst, and its spread (common practice, no source).
STEADINESS = {"hand": (1.20, 0.35), "power": (1.0, 0.10), "cnc": (1.0, 0.03)}
#: What a workshop instrument leaves open, one standard deviation (common practice, no source). [mm]
NECK_SD, REACH_SD, HEIGHT_SD = 0.01, 0.05, 0.02
#: Spread of a fillet that was measured, and of one that was assumed. [1]
FILLET_SD, FILLET_SD_ASSUMED = 0.10, 0.40
RUNOUT_SD, RUNOUT_SD_ASSUMED = 0.15, 0.40
WEAR_SD = 0.10  # from a sharp edge to one that is due for the stone
GRIND_SD = 0.15  # hand grinding, from gentle to rough, on the fatigue strength
TORSION_SD = 0.10  # scatter of printed breaking torques about the rule
#: Largest factor on the force while chips are packed, and how often that happens: 1 - exp(-k (base + fill)).
BURST, BURST_BASE, BURST_RATE = 2.0, 0.01, {"dry": 0.6, "brush": 0.4, "mist": 0.2, "flood": 0.1}

#: Tables of more turning positions than this are trimmed to the leading ones for the samples. [1]
MOST_POSITIONS = 40

NAMES = (
    "force constants of the metal", "radial force", "edge wear", "steadiness of the feed", "runout", "neck diameter",
    "neck fillet", "neck length", "head height", "stress concentration", "strength of the blank", "fatigue strength",
    "grinding of the neck", "chip packing",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """Standard normal and uniform draws of one job, kept while settings are compared; (dims, n)."""

    u: Array
    z: Array
    replicates: int
    seed: int
    weights: Array | None = None  #: what test cuts make of each sample, (n,); None: nothing was seen


def draws(samples_log2: int = 16, seed: int = SEED) -> Draws:
    """Draw the sample once.

    Parameters
    ----------
    samples_log2 : int
        Base-2 logarithm of the number of samples, at least 8. [1]
    seed : int
        Stamped in every result.

    Returns
    -------
    draws : Draws
    """
    from scipy.special import ndtri

    each = samples_log2 - int(math.log2(REPLICATES))
    u = sobol.replicates(each, len(NAMES), REPLICATES, seed)
    u = np.ascontiguousarray(u.transpose(1, 0, 2).reshape(len(NAMES), -1))
    return Draws(u=u, z=ndtri(u), replicates=REPLICATES, seed=seed)


def sampled_case(setup: Setup, contacts: list[Contact], f_z: float, z: Array) -> Case:
    """Return the cut with every uncertain input drawn.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    contacts : list of Contact
        One for each pass.
    f_z : float
        Feed per tooth as set. [mm]
    z : ndarray, shape (dims, s)
        Standard normal draws.

    Returns
    -------
    case : Case
        Every uncertain number has shape (s,).
    """
    cutter, sine = setup.job.cutter, thickest_sine(contacts)
    base = nominal_case(setup, f_z, sine, K_T_BENDING_FE_MEAN)
    _, _, sigma_ln, _ = force_constants(setup, peak_chip(setup, f_z, sine))
    median, steady = STEADINESS[setup.job.machine.feed]
    fillet_sd = FILLET_SD_ASSUMED if cutter.neck_fillet is None else FILLET_SD
    runout_sd = RUNOUT_SD_ASSUMED if cutter.runout is None else RUNOUT_SD
    own = setup.job.work.kc11 is not None
    return base.with_(
        force_factor=base.force_factor * np.exp(sigma_ln * z[0] + (0.0 if own else WEAR_SD) * z[2]),
        radial_factor=np.exp(setup.radial.spread * z[1]),
        f_z=f_z * median * np.exp(steady * z[3]),
        rho=base.rho * np.exp(runout_sd * z[4]),
        neck_diameter=_near(base.neck_diameter, NECK_SD, z[5]),
        fillet=base.fillet * np.exp(fillet_sd * z[6]),
        neck_length=_near(base.neck_length, REACH_SD, z[7]),
        head_height=_near(base.head_height, HEIGHT_SD, z[8]),
        fe_factor=base.fe_factor + K_T_BENDING_FE_SD * z[9],
    )


def _near(value: Array, sd: float, z: Array) -> Array:
    """Scatter a measured length by its instrument, by ratio so that it stays positive."""
    near: Array = value * np.exp(sd / value * z)
    return near


def burst_factor(setup: Setup, passes: tuple[Pass, ...], f_z: float, u: Array) -> Array:
    """Factor on the force from chips that pack, drawn.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    passes : tuple of Pass
        The passes.
    f_z : float
        Feed per tooth. [mm]
    u : ndarray, shape (s,)
        Uniform draws.

    Returns
    -------
    factor : ndarray, shape (s,)
        1 without packing; up to 1 + `BURST` with it. [1]
    """
    lubrication = setup.job.work.lubrication
    fill = f_z * max(p.area for p in passes) * setup.work.bulking * CHIP_STAY[lubrication]
    fill /= gullet_area(setup) * setup.head.height
    p = -math.expm1(-BURST_RATE[lubrication] * (BURST_BASE + fill))
    factor: Array = 1.0 + BURST * np.maximum(u - (1.0 - p), 0.0) / p
    return factor


@dataclass(frozen=True, slots=True, kw_only=True)
class Snap:
    """Chance of a break at every sample, and the logarithmic margins behind it; (s,)."""

    p: Array
    fracture: Array  #: ln(stress / characteristic strength)
    fatigue: Array  #: ln(amplitude / strength at these cycles)


def snap_of(setup: Setup, worst: Peaks, K_ts: Array, diameter: Array, N: Array, z: Array) -> Snap:
    """Chance that each sample's neck breaks by fracture, fatigue or torsion.

    Parameters
    ----------
    setup : Setup
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

    s = setup.strength
    level = np.exp(s.spread * z[10])
    with np.errstate(divide="ignore"):
        fracture = np.log(worst.sigma_1 / (s.sigma_0 * level))
        bears = basquin_strength(N, s.S_limit, s.N_limit, s.k, s.S_static) * np.exp(s.fatigue_spread * z[11])
        grind = GRIND_SD * z[12] if s.yield_strength is None else 0.0
        fatigue = np.log(worst.sigma_ar / bears) - grind
        torsion = np.log(worst.torque / torque_to_snap(s.tau_u, K_ts, diameter))
    with np.errstate(over="ignore", under="ignore"):
        lives = np.exp(-np.exp(s.m * fracture)) * ndtr(-fatigue / 0.10) * ndtr(-torsion / TORSION_SD)
        small = np.exp(s.m * fracture) + ndtr(fatigue / 0.10) + ndtr(torsion / TORSION_SD)
        if s.yield_strength is not None:
            bent = ndtr(np.log(worst.sigma_v / (s.yield_strength * level)) / 0.05)
            lives, small = lives * (1 - bent), small + bent
    return Snap(p=np.where(small < 1e-4, small, 1.0 - lives), fracture=fracture, fatigue=fatigue)


def assess(setup: Setup, passes: tuple[Pass, ...], contacts: list[Contact], f_z: float, drawn: Draws) -> Risk:
    """Chance that the neck snaps in the whole cut, its interval, and what drives it.

    Parameters
    ----------
    setup : Setup
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
    return risk_of(setup, snaps(setup, passes, contacts, f_z, drawn), drawn)


def risk_of(setup: Setup, snap: Snap, drawn: Draws) -> Risk:
    """Average the chances of all samples; raises ValueError if the probability is not finite."""
    p, error = bayes.mean_and_error(snap.p, drawn.weights, drawn.replicates)
    half = T_95 * error
    if not (math.isfinite(p) and math.isfinite(half)):
        raise ValueError("the snap probability is not a finite number")
    digits = earned_digits(p, half)
    return Risk(
        snap_probability=_rounded(p, digits),
        low=min(_outward(max(p - half, 0.0), math.floor), _rounded(p, digits)),
        high=max(_outward(min(p + half, 1.0), math.ceil), _rounded(p, digits)),
        samples=snap.p.size, seed=drawn.seed, drivers=_drivers(setup, snap, drawn),
    )  # fmt: skip


def _led(setup: Setup, contacts: list[Contact], f_z: float) -> list[Contact]:
    """Trim large tables of positions to those that lead over the span of feeds and runouts drawn."""
    if max(c.peak.turn.size for c in contacts) <= MOST_POSITIONS:
        return contacts
    base = nominal_case(setup, f_z, thickest_sine(contacts), K_T_BENDING_FE_MEAN)
    cases = [base.with_(f_z=f * f_z, rho=r * base.rho) for f in (0.6, 1.0, 2.5) for r in (0.0, 1.0, 2.5)]
    notch = notches(base)[0]
    return [replace(c, peak=leading(cases, c.peak, notch)) if c.peak.turn.size > MOST_POSITIONS else c for c in contacts]


def snaps(setup: Setup, passes: tuple[Pass, ...], contacts: list[Contact], f_z: float, drawn: Draws, travel: float | None = None) -> Snap:
    """Chance of a break at every sample, as `assess` takes it; travel for each pass, when it is not the slot's. [mm]"""
    contacts = _led(setup, contacts, f_z)
    pairs = max(c.peak.phi.size for c in contacts)
    block = max(256, min(8192, 2**19 // max(pairs, 1)))  # keeps an array of pairs and samples in the cache
    travel = setup.job.slot.length + setup.job.cutter.head_diameter if travel is None else travel
    parts = [_block(setup, passes, contacts, f_z, drawn.u[:, i : i + block], drawn.z[:, i : i + block], travel)
             for i in range(0, drawn.u.shape[1], block)]  # fmt: skip
    return Snap(**{k: np.concatenate([getattr(x, k) for x in parts]) for k in Snap.__dataclass_fields__})


def _block(setup: Setup, passes: tuple[Pass, ...], contacts: list[Contact], f_z: float, u: Array, z: Array, travel: float) -> Snap:
    case = sampled_case(setup, contacts, f_z, z)
    case = case.with_(force_factor=case.force_factor * burst_factor(setup, passes, f_z, u[13]))
    ends = _ends(setup, case, contacts)
    runs = [peaks(case, c.peak, notch, rubbed) for c in contacts for notch, rubbed in ends]
    worst = Peaks(**{name: np.maximum.reduce([getattr(r, name) for r in runs]) for name in Peaks.__dataclass_fields__})
    N = np.asarray(len(passes) * travel / (f_z * case.teeth))
    K_ts = np.maximum.reduce([notch.K_ts for notch, _ in ends])
    return snap_of(setup, worst, K_ts, case.neck_diameter, N, z)


def _ends(setup: Setup, case: Case, contacts: list[Contact]) -> list[tuple[Notch, Notch]]:
    """Return the ends of the neck that can govern: that at the head only when its arm is not far the shorter."""
    size = setup.strength.notch_size
    both = notches(case)
    worn = notches(case, size) if size else both
    level = min(float(c.peak.level.min()) for c in contacts)
    shoulder, head = ((n.arm + case.head_height - level) * n.bending for n in both)
    twist = both[1].torsion > 1.02 * both[0].torsion
    near = bool(np.max(head / shoulder) > 0.5) or bool(np.max(twist & (head / shoulder > 0.25)))
    return list(zip(both, worn, strict=True))[: 2 if near else 1]


def _drivers(setup: Setup, snap: Snap, drawn: Draws) -> tuple[Driver, ...]:
    """Shares of the variance of the logarithmic margin that governs, largest first; of an even sample when weighted."""
    s, u = setup.strength, drawn.u
    if drawn.weights is not None:  # inputs are no longer independent: a share is what that input alone would settle
        kept = bayes.resampled(drawn.weights, min(u.shape[1], 8192))
        snap, u = Snap(**{k: getattr(snap, k)[kept] for k in Snap.__dataclass_fields__}), bayes.ranks(u[:, kept])
    if float(np.mean(snap.fatigue)) > float(np.mean(snap.fracture)) + 0.15:
        margin, own = snap.fatigue, 0.10**2
    else:  # scatter of a Weibull strength: pi/(m sqrt 6) in the logarithm
        margin, own = snap.fracture, math.pi**2 / (6 * s.m**2)
    total = float(margin.var()) + own
    shares = sobol.first_order_shares(u, margin, stratified=drawn.weights is None) * float(margin.var()) / total
    found = dict(zip(NAMES, (float(x) for x in shares), strict=True))
    found["strength of the blank"] += own / total
    return tuple(Driver(name=n, share=round(x, 3)) for n, x in sorted(found.items(), key=lambda x: -x[1]) if x >= 0.005)


def earned_digits(p: float, half: float) -> int:
    """How many significant digits a probability earns from the half width of its interval.

    Parameters
    ----------
    p : float
        Probability. [1]
    half : float
        Half width of its interval. [1]

    Returns
    -------
    digits : int
        1 to 3.

    Examples
    --------
    >>> earned_digits(0.0123, 0.0005), earned_digits(0.0123, 0.02)
    (3, 1)
    """
    if p <= 0 or half <= 0:
        return 1
    return min(max(math.floor(math.log10(p)) - math.floor(math.log10(half)) + 1, 1), 3)


def _outward(x: float, way: Callable[[float], int]) -> float:
    """Round an end of an interval to two figures, never inward."""
    if x <= 0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(x)) - 1)
    return float(f"{way(x / step) * step:.3g}")


def _rounded(x: float, digits: int) -> float:
    return float(f"{x:.{digits - 1}e}")

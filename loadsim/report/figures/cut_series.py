"""The numbers behind the charts of one cut: over a turn, over the immersion, along the neck, load
against strength.

Everything is in internal units; nothing here knows how it will be drawn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array
from loadsim.loads.cut import one
from loadsim.loads.load_case import LoadCase
from loadsim.loads.neck_stress import notches, peaks
from loadsim.loads.passes import Pass, PieceKind
from loadsim.loads.turn import turn
from loadsim.mechanics import beam, chip
from loadsim.mechanics.engagement import breakpoints, edge_elements, engaged
from loadsim.report.figures.basis import Basis, samples
from loadsim.risk.bayes import quantiles
from loadsim.risk.samples import Uncertain
from loadsim.risk.snap import snaps


@dataclass(frozen=True, slots=True, kw_only=True)
class OverTurn:
    """One turn of the pass with the largest force; (a,)."""

    number: int  #: which pass, from 1
    kind: PieceKind  #: which piece of it
    angle: Array  #: turning angle of the first tooth [rad]
    F_x: Array  #: along the feed, negative resists it [N]
    F_y: Array  #: across the feed [N]
    F: Array  #: resultant [N]
    torque: Array  #: [N*mm]


def over_turn(basis: Basis) -> OverTurn:
    """Force and torque over one turn, as drawn and as assumed.

    Evenly spaced positions and those of the peak, so that the largest force is that of the answer.

    Parameters
    ----------
    basis : Basis
        From `basis.basis_of`.

    Returns
    -------
    series : OverTurn
    """
    case = basis.cut.case
    notch = notches(case)[0]
    contacts = basis.way.contacts
    forces = [one(peaks(case, contact.peak, notch).force) for contact in contacts]
    i = int(np.argmax(forces))
    even = turn(case, contacts[i].turn)
    at_peak = turn(case, contacts[i].peak)
    F = np.hypot(at_peak.F_x, at_peak.F_y)[:, 0]
    T = at_peak.torque[:, 0]
    # the rest of these positions lie beside jumps and would draw needles
    top = np.flatnonzero((F.max() == F) | (T.max() == T))
    angle = np.concatenate([even.angle, at_peak.angle[top]])
    order = np.argsort(angle, kind="stable")

    def merged(spaced: Array, peak: Array) -> Array:
        values: Array = np.concatenate([spaced[:, 0], peak[top, 0]])[order]
        return values

    F_x = merged(even.F_x, at_peak.F_x)
    F_y = merged(even.F_y, at_peak.F_y)
    return OverTurn(
        number=contacts[i].step + 1,
        kind=contacts[i].kind,
        angle=angle[order],
        F_x=F_x,
        F_y=F_y,
        F=np.hypot(F_x, F_y),
        torque=merged(even.torque, at_peak.torque),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class OverImmersion:
    """Chip of every tooth in the pass with the thickest chip."""

    number: int  #: which pass, from 1
    kind: PieceKind  #: which piece of it
    #: immersion angles between which a tooth meets metal [rad]
    stretches: tuple[tuple[float, float], ...]
    phi: tuple[Array, ...]  #: immersion angles in each stretch [rad]
    h: tuple[Array, ...]  #: chip of each tooth in each stretch, (teeth, p) [mm]
    h_min: float  #: thinnest chip that the edge cuts [mm]


def over_immersion(basis: Basis) -> OverImmersion:
    """Chip thickness where a tooth meets metal, tooth by tooth.

    Parameters
    ----------
    basis : Basis
        From `basis.basis_of`.

    Returns
    -------
    series : OverImmersion
    """
    case = basis.cut.case
    notch = notches(case)[0]
    contacts = basis.way.contacts
    thickest = [one(peaks(case, contact.peak, notch).h) for contact in contacts]
    i = int(np.argmax(thickest))
    stretches = _stretches(basis.way.passes[contacts[i].step], contacts[i].kind)
    phi = [_angles(stretch, contacts[i].peak.phi) for stretch in stretches]
    return OverImmersion(
        number=contacts[i].step + 1,
        kind=contacts[i].kind,
        stretches=tuple(stretches),
        phi=tuple(phi),
        h=tuple(_chips(angles, case) for angles in phi),
        h_min=basis.job.h_min,
    )


def _stretches(p: Pass, kind: PieceKind) -> list[tuple[float, float]]:
    """Immersion angles between which a tooth meets metal in a piece; neighbours joined. [rad]"""
    (section,) = (piece.section for piece in p.pieces if piece.kind is kind)
    events = breakpoints(section, p.swept)
    middle = (events[1:] + events[:-1]) / 2
    height = engaged(section, p.swept, edge_elements(p.swept.head), middle).sum(axis=1)
    stretches: list[tuple[float, float]] = []
    for (low, high), b in zip(pairwise(events.tolist()), height.tolist(), strict=True):
        if b > 0 and stretches and stretches[-1][1] == low:
            stretches[-1] = (stretches[-1][0], high)
        elif b > 0:
            stretches.append((low, high))
    return stretches


def _angles(stretch: tuple[float, float], at_peak: Array) -> Array:
    """Immersion angles every two degrees of a stretch, and those of the peak within it. [rad]"""
    low, high = stretch
    even = np.linspace(low, high, max(3, math.ceil(math.degrees(high - low) / 2)))
    return np.unique(np.concatenate([even, at_peak[(at_peak > low) & (at_peak < high)]]))


def _chips(phi: Array, case: LoadCase) -> Array:
    """Uncut chip of each tooth at each angle; (teeth, p). [mm]"""
    teeth = (np.full(phi.size, tooth) for tooth in range(case.teeth))
    return np.stack(
        [chip.thickness(phi, tooth, case.f_z, case.rho, case.teeth)[:, 0] for tooth in teeth]
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class AlongNeck:
    """The tool under the largest force of the cut."""

    profile: beam.Profile
    force: float  #: on the head [N]
    load_at: float  #: distance of the force from the collet face [mm]
    in_neck: npt.NDArray[np.bool_]  #: which stations lie in the neck


def along_neck(basis: Basis) -> AlongNeck:
    """Deflection, moment and nominal stress from the collet face to the end of the head.

    Parameters
    ----------
    basis : Basis
        From `basis.basis_of`.

    Returns
    -------
    series : AlongNeck
    """
    job = basis.job
    cutter = job.cutter
    level = min(float(contact.peak.level.min()) for contact in basis.way.contacts)
    force = one(basis.cut.summary.force)
    shank = max(cutter.stickout - cutter.neck_length - cutter.head_height, 0.0)
    reach = cutter.neck_length + cutter.head_height - level
    profile = beam.profile(
        shank_length=shank,
        shank_diameter=cutter.shank_diameter,
        neck_length=cutter.neck_length,
        neck_diameter=cutter.neck_diameter,
        head_height=cutter.head_height,
        head_diameter=cutter.head_diameter,
        head_second_moment=job.head_section.second_moment,
        head_area=job.head_section.area,
        load_reach=reach,
        E=job.blank.E,
        nu=job.blank.nu,
        k_collet=job.stiffness,
        F=force,
        n=13,
    )
    in_neck = (
        (profile.z >= shank - 1e-9)
        & (profile.z <= shank + cutter.neck_length + 1e-9)
        & (profile.diameter == cutter.neck_diameter)
    )
    return AlongNeck(profile=profile, force=force, load_at=shank + reach, in_neck=in_neck)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadAndStrength:
    """How often each stress occurs and how often the blank's strength is there: density in
    ln(stress).
    """

    stress: Array  #: (x,) [MPa]
    load: Array  #: of the peak stress at the fillet, (x,) [1]
    strength: Array  #: of the bend strength of the neck, (x,) [1]
    load_median: float  #: [MPa]
    strength_median: float  #: [MPa]
    fracture: float  #: chance that the one is over the other, by fracture alone [1]


def moments(x: Array, w: Array) -> tuple[float, float]:
    """Mean and standard deviation of weighted numbers.

    Parameters
    ----------
    x : ndarray, shape (s,)
        Numbers.
    w : ndarray, shape (s,)
        Weights, of sum one. [1]

    Returns
    -------
    mean, sd : float
    """
    mean = float(x @ w)
    return mean, math.sqrt(float((x - mean) ** 2 @ w))


def load_and_strength(basis: Basis) -> LoadAndStrength:
    """Peak stress over the samples of the risk, against the strength of such necks.

    The strength is a Weibull distribution whose level is not known for sure either; both are
    smoothed or averaged over ln(stress).

    Parameters
    ----------
    basis : Basis
        From `basis.basis_of`.

    Returns
    -------
    series : LoadAndStrength
    """
    strength = basis.job.strength
    drawn = samples(basis.plan)
    blank_strength = drawn.z[Uncertain.BLANK_STRENGTH]
    count = drawn.u.shape[1]
    w = np.full(count, 1 / count)
    mean, sd = (0.0, 1.0)
    if drawn.weights is not None:
        w = drawn.weights / drawn.weights.sum()
        mean, sd = moments(blank_strength, w)
    snap = snaps(basis.job, basis.way, basis.f_z, drawn, speed=basis.speed)
    ln_load = snap.fracture + math.log(strength.sigma_0) + strength.spread * blank_strength
    node, weight = np.polynomial.hermite_e.hermegauss(21)
    level = math.log(strength.sigma_0) + strength.spread * (mean + sd * node)
    width = bell_width(ln_load, w)
    ends = [
        float(ln_load.min()) - 3 * width,
        float(ln_load.max()) + 3 * width,
        float(level.mean()) - 6 / strength.m - 3 * strength.spread,
        float(level.mean()) + 2 / strength.m + 3 * strength.spread,
    ]
    ln_stress = np.linspace(min(ends), max(ends), 201)
    scale = strength.sigma_0 * math.exp(strength.spread * mean)
    exponent = np.minimum(strength.m * snap.fracture, 50.0)
    return LoadAndStrength(
        stress=np.exp(ln_stress),
        load=kernel_density(ln_stress, ln_load, w, width),
        strength=_weibull_density(ln_stress, level, weight, strength.m),
        load_median=float(np.exp(quantiles(ln_load, [0.5], w)[0])),
        strength_median=scale * math.log(2) ** (1 / strength.m),
        fracture=float(-np.expm1(-np.exp(exponent)) @ w),
    )


def bell_width(samples: Array, w: Array) -> float:
    """Return the width of bell curve by Silverman's rule.

    Parameters
    ----------
    samples : ndarray, shape (s,)
        Samples.
    w : ndarray, shape (s,)
        Their weights, of sum one. [1]

    Returns
    -------
    width : float
    """
    return float(moments(samples, w)[1] * (4 / 3 * float((w**2).sum())) ** 0.2)


def kernel_density(x: Array, samples: Array, w: Array, width: float) -> Array:
    """Density of weighted samples, smoothed by a bell curve.

    Parameters
    ----------
    x : ndarray, shape (x,)
        Where it is wanted.
    samples : ndarray, shape (s,)
        Samples.
    w : ndarray, shape (s,)
        Their weights, of sum one. [1]
    width : float
        Standard deviation of the bell.

    Returns
    -------
    density : ndarray, shape (x,)
    """
    bells = np.exp(-0.5 * ((x[:, None] - samples) / width) ** 2)
    density: Array = bells @ w / (width * math.sqrt(2 * math.pi))
    return density


def _weibull_density(x: Array, level: Array, weight: Array, m: float) -> Array:
    """Density of ln(strength), averaged over the levels that it may have. [1]"""
    t = np.exp(np.minimum(m * (x[:, None] - level), 50.0))
    density: Array = (m * t * np.exp(-t)) @ (weight / weight.sum())
    return density

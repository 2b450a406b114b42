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
from loadsim.loads.neck_stress import notches, peaks
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
    angle: Array  #: turning angle of the first tooth [rad]
    F_x: Array  #: along the feed, negative resists it [N]
    F_y: Array  #: across the feed [N]
    F: Array  #: resultant [N]
    torque: Array  #: [N*mm]


def over_turn(b: Basis) -> OverTurn:
    """Force and torque over one turn, as drawn and as assumed.

    Evenly spaced positions and those of the peak, so that the largest force is that of the answer.

    Parameters
    ----------
    b : Basis
        From `basis`.

    Returns
    -------
    series : OverTurn
    """
    case = b.cut.case
    notch = notches(b.cut.case)[0]
    i = int(np.argmax([one(peaks(case, c.peak, notch).force) for c in b.way.contacts]))
    even = turn(case, b.way.contacts[i].turn)
    at_peak = turn(case, b.way.contacts[i].peak)
    F = np.hypot(at_peak.F_x, at_peak.F_y)[:, 0]
    T = at_peak.torque[:, 0]
    # the rest of these positions lie beside jumps and would draw needles
    top = np.flatnonzero((F.max() == F) | (T.max() == T))
    angle = np.concatenate([even.angle, at_peak.angle[top]])
    order = np.argsort(angle, kind="stable")
    x, y, torque = (
        np.concatenate([getattr(even, n)[:, 0], getattr(at_peak, n)[top, 0]])[order]
        for n in ("F_x", "F_y", "torque")
    )
    return OverTurn(number=i + 1, angle=angle[order], F_x=x, F_y=y, F=np.hypot(x, y), torque=torque)


@dataclass(frozen=True, slots=True, kw_only=True)
class OverImmersion:
    """Chip of every tooth in the pass with the thickest chip."""

    number: int  #: which pass, from 1
    #: immersion angles between which a tooth meets metal [rad]
    stretches: tuple[tuple[float, float], ...]
    phi: tuple[Array, ...]  #: immersion angles in each stretch [rad]
    h: tuple[Array, ...]  #: chip of each tooth in each stretch, (teeth, p) [mm]
    h_min: float  #: thinnest chip that the edge cuts [mm]


def over_immersion(b: Basis) -> OverImmersion:
    """Chip thickness where a tooth meets metal, tooth by tooth.

    Parameters
    ----------
    b : Basis
        From `basis`.

    Returns
    -------
    series : OverImmersion
    """
    case = b.cut.case
    notch = notches(b.cut.case)[0]
    i = int(np.argmax([one(peaks(case, c.peak, notch).h) for c in b.way.contacts]))
    where = b.way.passes[i]
    at_peak = b.way.contacts[i].peak.phi
    events = breakpoints(where.section, where.swept)
    middle = (events[1:] + events[:-1]) / 2
    metal = engaged(where.section, where.swept, edge_elements(where.swept.head), middle).sum(axis=1)
    stretches: list[tuple[float, float]] = []
    for (low, high), b_here in zip(pairwise(events.tolist()), metal.tolist(), strict=True):
        if b_here > 0 and stretches and stretches[-1][1] == low:
            stretches[-1] = (stretches[-1][0], high)
        elif b_here > 0:
            stretches.append((low, high))
    phi = []
    h = []
    for low, high in stretches:
        even = np.linspace(low, high, max(3, math.ceil(math.degrees(high - low) / 2)))
        phi.append(np.unique(np.concatenate([even, at_peak[(at_peak > low) & (at_peak < high)]])))
        h.append(
            np.stack(
                [
                    chip.thickness(
                        phi[-1], np.full(phi[-1].size, j), case.f_z, case.rho, case.teeth
                    )[:, 0]
                    for j in range(case.teeth)
                ]
            )
        )
    return OverImmersion(
        number=i + 1, stretches=tuple(stretches), phi=tuple(phi), h=tuple(h), h_min=b.job.h_min
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class AlongNeck:
    """The tool under the largest force of the cut."""

    profile: beam.Profile
    force: float  #: on the head [N]
    load_at: float  #: distance of the force from the collet face [mm]
    in_neck: npt.NDArray[np.bool_]  #: which stations lie in the neck


def along_neck(b: Basis) -> AlongNeck:
    """Deflection, moment and nominal stress from the collet face to the end of the head.

    Parameters
    ----------
    b : Basis
        From `basis`.

    Returns
    -------
    series : AlongNeck
    """
    s = b.job
    cutter = b.job.cutter
    D = b.job.cutter.head_diameter
    level = min(float(c.peak.level.min()) for c in b.way.contacts)
    force = one(b.cut.summary.force)
    shank = max(cutter.stickout - cutter.neck_length - cutter.head_height, 0.0)
    reach = cutter.neck_length + cutter.head_height - level
    found = beam.profile(
        shank_length=shank,
        shank_diameter=cutter.shank_diameter,
        neck_length=cutter.neck_length,
        neck_diameter=cutter.neck_diameter,
        head_height=cutter.head_height,
        head_diameter=D,
        head_second_moment=s.head_section.second_moment,
        head_area=s.head_section.area,
        load_reach=reach,
        E=s.blank.E,
        nu=s.blank.nu,
        k_collet=s.stiffness,
        F=force,
        n=13,
    )
    in_neck = (
        (found.z >= shank - 1e-9)
        & (found.z <= shank + cutter.neck_length + 1e-9)
        & (found.diameter == cutter.neck_diameter)
    )
    return AlongNeck(profile=found, force=force, load_at=shank + reach, in_neck=in_neck)


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


def _moments(x: Array, w: Array) -> tuple[float, float]:
    mean = float(x @ w)
    return mean, math.sqrt(float((x - mean) ** 2 @ w))


def load_and_strength(b: Basis) -> LoadAndStrength:
    """Peak stress over the samples of the risk, against the strength of such necks.

    The strength is a Weibull distribution whose level is not known for sure either; both are
    smoothed or averaged over ln(stress).

    Parameters
    ----------
    b : Basis
        From `basis`.

    Returns
    -------
    series : LoadAndStrength
    """
    s = b.job.strength
    drawn = samples(b.job)
    w = (
        np.full(drawn.u.shape[1], 1 / drawn.u.shape[1])
        if drawn.weights is None
        else drawn.weights / drawn.weights.sum()
    )
    snap = snaps(b.job, b.way.passes, b.way.contacts, b.f_z, drawn)
    ln_load = snap.fracture + math.log(s.sigma_0) + s.spread * drawn.z[Uncertain.BLANK_STRENGTH]
    node, weight = np.polynomial.hermite_e.hermegauss(21)
    mean, sd = (0.0, 1.0) if drawn.weights is None else _moments(drawn.z[Uncertain.BLANK_STRENGTH], w)
    level = math.log(s.sigma_0) + s.spread * (mean + sd * node)
    # Silverman's rule for a bell curve
    width = _moments(ln_load, w)[1] * (4 / 3 * float((w**2).sum())) ** 0.2
    ends = [
        float(ln_load.min()) - 3 * width,
        float(ln_load.max()) + 3 * width,
        float(level.mean()) - 6 / s.m - 3 * s.spread,
        float(level.mean()) + 2 / s.m + 3 * s.spread,
    ]
    x = np.linspace(min(ends), max(ends), 201)
    kernel = (
        np.exp(-0.5 * ((x[:, None] - ln_load) / width) ** 2) @ w / (width * math.sqrt(2 * math.pi))
    )
    t = np.exp(np.minimum(s.m * (x[:, None] - level), 50.0))
    weibull = (s.m * t * np.exp(-t)) @ (weight / weight.sum())
    return LoadAndStrength(
        stress=np.exp(x),
        load=kernel,
        strength=weibull,
        load_median=float(np.exp(quantiles(ln_load, [0.5], w)[0])),
        strength_median=s.sigma_0 * math.exp(s.spread * mean) * math.log(2) ** (1 / s.m),
        fracture=float(-np.expm1(-np.exp(np.minimum(s.m * snap.fracture, 50.0))) @ w),
    )

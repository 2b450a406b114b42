"""Each way the throat mill's cut can go wrong; on arrays, by the same measures as the undercut's."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loadsim.base import units
from loadsim.base.numbers import Array
from loadsim.job.tolerances import general_tolerance
from loadsim.loads.assumptions import (
    BURST,
    BURST_BASE,
    BURST_RATE,
    CHIP_STAY,
    COLLET_PULL,
    COLLET_SHANK,
    DETUNED,
    DRIVE,
    EDGE_KEPT_CLEAN,
    GRIND_SD,
    GULLETS,
    HARMONICS,
    STEADINESS,
    TORSION_SD,
    WEAR_SD,
)
from loadsim.loads.limits.utilization import Utilization
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.throat_mill import FLUTED, Mill, MillLoads
from loadsim.mechanics import fatigue, sections, strength
from loadsim.words import phrases


@dataclass(frozen=True, slots=True, kw_only=True)
class MillCut:
    """Settings of the throat mill and the loads that come of them; (s,) where they vary."""

    speed: float  #: [rad/s]
    f_z: Array  #: [mm]
    depth: Array  #: axial depth of a pass [mm]
    levels: Array  #: how many of them [1]
    loads: MillLoads


def per_level(mill: Mill) -> int:
    """Passes at one depth: the first, and those beside it. [1]"""
    return 1 + 2 * mill.side_steps


def turns(job: ResolvedJob, mill: Mill, cut: MillCut) -> Array:
    """Turns of the spindle in the whole throat slot. [1]"""
    travel = job.slot.length + mill.table.diameter
    return np.asarray(cut.levels * per_level(mill) * travel / (cut.f_z * mill.table.teeth))


def mill_checks(job: ResolvedJob, mill: Mill, cut: MillCut) -> list[Utilization]:
    """List every limit of the throat mill.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    mill : Mill
        From `loadsim.loads.throat_mill.mill_of`.
    cut : MillCut
        Its settings and loads.

    Returns
    -------
    checks : list of Utilization
    """
    return [
        *_strength_checks(job, mill, cut),
        _snap(job, mill, cut),
        *_machine_checks(job, mill, cut),
        *_cutting_checks(job, mill, cut),
    ]


def _show(job: ResolvedJob, x: float, dimension: str) -> str:
    return units.show(x, dimension, job.units)


def _bears(job: ResolvedJob, mill: Mill, cut: MillCut) -> tuple[Array, Array, Array]:
    """Fracture stress at the asked probability, amplitude for the turns of this cut, and breaking
    torque.
    """
    one = np.ones_like(cut.loads.torque)
    fracture = (
        strength.weibull_strength(job.target.snap_probability, mill.sigma_0, mill.blank.weibull_m)
        * one
    )
    tired = fatigue.basquin_strength(
        turns(job, mill, cut), mill.S_limit, 1e7, mill.blank.basquin_k, mill.blank.bend_strength
    )
    torque = mill.tau_u * sections.polar_section_modulus(mill.table.diameter) * FLUTED**4 * one
    return fracture, np.asarray(tired), np.asarray(torque)


def _strength_checks(job: ResolvedJob, mill: Mill, cut: MillCut) -> list[Utilization]:
    fracture, tired, torque = _bears(job, mill, cut)
    p = job.target.snap_probability
    number = float(np.max(turns(job, mill, cut)))
    return [
        Utilization(
            name="mill fracture",
            demand=cut.loads.sigma_1,
            capacity=fracture,
            unit="MPa",
            hard=True,
            say=lambda d, c: (
                f"The throat mill sees {_show(job, d, 'stress')}; about one in {1 / p:.0f} breaks at {_show(job, c, 'stress')}."
            ),
        ),
        Utilization(
            name="mill fatigue",
            demand=cut.loads.sigma_a,
            capacity=tired,
            unit="MPa",
            hard=True,
            say=lambda d, c: (
                f"Each turn strains the throat mill to and fro by up to {_show(job, d, 'stress')}; for the {number:,.0f} turns of its cut it bears {_show(job, c, 'stress')}."
            ),
        ),
        Utilization(
            name="mill torsion",
            demand=cut.loads.torque,
            capacity=torque,
            unit="N*mm",
            hard=True,
            say=lambda d, c: (
                f"The cut twists the throat mill with {_show(job, d, 'torque')}; {_show(job, c, 'torque')} would twist it off."
            ),
        ),
    ]


def chip_fill(job: ResolvedJob, mill: Mill, f_z: Array) -> Array:
    """Share of a gullet that loose chips fill, staying as long as in the undercut. [1]"""
    t = mill.table
    lubrication = job.written.work.lubrication
    room = GULLETS * math.pi / 4 * t.diameter**2 / t.teeth
    return np.asarray(f_z * t.diameter * job.work.bulking * CHIP_STAY[lubrication] / room)


def snap_probability(job: ResolvedJob, mill: Mill, cut: MillCut) -> Array:
    """Chance that the mill breaks in the whole slot: fracture, fatigue and torsion added up, chips
    packed or not.

    The force is lognormal by its constants, the edge's wear and the feed's steadiness; strengths
    scatter as for the neck. Adding the three counts a mill that breaks in two ways twice: an upper
    estimate.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    mill : Mill
        From `loadsim.loads.throat_mill.mill_of`.
    cut : MillCut
        Its settings and loads.

    Returns
    -------
    p : ndarray, shape (s,)
        [1]
    """
    from scipy.special import ndtr

    median, steady = STEADINESS[job.machine.feed]
    slope = 1 - cut.loads.m_c
    blank = mill.blank
    wear = 0.0 if job.written.work.kc11 is not None else WEAR_SD
    spread = np.sqrt(cut.loads.sigma_ln**2 + wear**2 + (slope * steady) ** 2)
    _, tired, torque = _bears(job, mill, cut)
    tired_sd = math.hypot(0.10, 0.10, GRIND_SD, blank.defect_size_spread / 6)
    x, w = np.polynomial.hermite_e.hermegauss(48)

    def given(factor: float) -> Array:
        f = factor * median**slope
        stress = (
            f
            * cut.loads.sigma_1
            / mill.sigma_0
            * np.exp(np.hypot(spread, blank.bend_strength_spread) * x[:, None])
        )
        breaks = -np.expm1(-np.minimum(stress**blank.weibull_m, 700.0))
        p = (w[:, None] * breaks).sum(axis=0) / math.sqrt(2 * math.pi)
        p = p + ndtr(np.log(f * cut.loads.sigma_a / tired) / np.hypot(spread, tired_sd))
        return np.asarray(
            np.minimum(
                p + ndtr(np.log(f * cut.loads.torque / torque) / np.hypot(spread, TORSION_SD)), 1.0
            )
        )

    nodes, weights = np.polynomial.legendre.leggauss(8)
    packed = sum(
        0.5 * q * given(1 + BURST * (n + 1) / 2)
        for n, q in zip(nodes.tolist(), weights.tolist(), strict=True)
    )
    often = -np.expm1(
        -BURST_RATE[job.written.work.lubrication] * (BURST_BASE + chip_fill(job, mill, cut.f_z))
    )
    p: Array = np.asarray((1 - often) * given(1.0) + often * packed)
    return p


def _snap(job: ResolvedJob, mill: Mill, cut: MillCut) -> Utilization:
    p = snap_probability(job, mill, cut)
    return Utilization(
        name="mill snap probability",
        demand=p,
        capacity=job.target.snap_probability * np.ones_like(p),
        unit="1",
        hard=True,
        say=lambda d, c: (
            f"The chance that the throat mill breaks is {phrases.probability(d)}; accepted is {phrases.accepted(c)}."
        ),
    )


def _machine_checks(job: ResolvedJob, mill: Mill, cut: MillCut) -> list[Utilization]:
    t = mill.table
    m = cut.loads
    one = np.ones_like(cut.loads.torque)
    passing = cut.speed / (2 * math.pi) * t.teeth
    return [
        Utilization(
            name="spindle torque",
            demand=m.torque,
            capacity=DRIVE * job.machine.spindle_power / cut.speed * one,
            unit="N*mm",
            hard=True,
            say=lambda d, c: (
                f"The throat mill asks {_show(job, d, 'torque')} of the spindle at the peak; it stalls at about {_show(job, c, 'torque')}."
            ),
        ),
        Utilization(
            name="collet hold",
            demand=np.hypot(2 * m.torque / t.diameter, m.axial),
            capacity=COLLET_PULL * t.diameter / COLLET_SHANK * one,
            unit="N",
            hard=True,
            say=lambda d, c: (
                f"Torque and the pull of the helix together drag {_show(job, d, 'force')} at the shank; a clean, tight collet holds about {_show(job, c, 'force')}."
            ),
        ),
        Utilization(
            name="resonance",
            demand=HARMONICS * passing * one,
            capacity=DETUNED * mill.frequency * one,
            unit="Hz",
            hard=True,
            say=lambda d, c: (
                f"The mill's teeth pass {d / HARMONICS:.0f} times a second; with {HARMONICS} harmonics, {d:.0f} Hz, that must stay under {c:.0f} Hz."
            ),
        ),
    ]


def mill_wall_allowance(job: ResolvedJob) -> tuple[float, str]:
    """Accepted error of a throat wall, and where it comes from.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.

    Returns
    -------
    error : float
        [mm]
    origin : str

    References
    ----------
    ISO2768-1 table 1, medium
    """
    if job.target.wall_error is not None:
        return job.target.wall_error, "asked for in [target]"
    return (
        general_tolerance(job.slot.throat_width) / 2,
        "half the general tolerance of an untoleranced width",
    )


def _cutting_checks(job: ResolvedJob, mill: Mill, cut: MillCut) -> list[Utilization]:
    t, m, one, (allowed, origin) = (
        mill.table,
        cut.loads,
        np.ones_like(cut.loads.torque),
        mill_wall_allowance(job),
    )
    v = cut.speed * t.diameter / 2
    fastest = job.work.surface_speed_hi * mill.blank.speed_factor
    fill = chip_fill(job, mill, cut.f_z) * one
    lubrication = job.written.work.lubrication
    found = [
        Utilization(
            name="throat wall error",
            demand=m.wall_force * mill.compliance + mill.runout,
            capacity=allowed * one,
            unit="mm",
            hard=False,
            say=lambda d, c: (
                f"Deflection and runout set a throat wall off by up to {_show(job, d, 'length')}; allowed is {_show(job, c, 'length')} ({origin})."
            ),
        ),
        Utilization(
            name="rubbing",
            demand=mill.h_min * one,
            capacity=cut.f_z * one,
            unit="mm",
            hard=False,
            say=lambda d, c: (
                f"The thickest chip is {_show(job, c, 'feed per tooth')}; the edge only rubs below {_show(job, d, 'feed per tooth')}."
            ),
        ),
        Utilization(
            name="chip packing",
            demand=fill,
            capacity=one,
            unit="1",
            hard=False,
            say=lambda d, c: (
                f"Loose chips fill {d:.0%} of the mill's gullets before they are out: clear them with air or coolant."
            ),
        ),
        Utilization(
            name="surface speed",
            demand=v * one,
            capacity=fastest * one,
            unit="mm/s",
            hard=False,
            say=lambda d, c: (
                f"The mill's teeth run at {_show(job, d, 'surface speed')}; {mill.blank.title} lasts up to about {_show(job, c, 'surface speed')}."
            ),
        ),
    ]
    if job.work.built_up_edge_speed is not None:
        least = job.work.built_up_edge_speed * EDGE_KEPT_CLEAN[lubrication]
        found.append(
            Utilization(
                name="built-up edge",
                demand=least * one,
                capacity=v * one,
                unit="mm/s",
                hard=False,
                say=lambda d, c: (
                    f"At {_show(job, c, 'surface speed')} with {lubrication} lubrication metal may weld to the mill's edge below about {_show(job, d, 'surface speed')}."
                ),
            )
        )
    return found

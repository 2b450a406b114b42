"""Each way the throat mill's cut can go wrong; on arrays, by the measures of the undercut's."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from loadsim.base.notes import Note
from loadsim.base.numbers import Array
from loadsim.job.tolerances import WallOrigin, general_tolerance
from loadsim.loads.assumptions import (
    BUILT_UP_EDGE_SD,
    BURST,
    BURST_BASE,
    BURST_RATE,
    CHIP_STAY,
    DRIVE,
    GRIND_SD,
    GULLETS,
    PACKED_STAYS,
    STEADINESS,
    THOUSAND_SD,
    TORSION_SD,
    UNSTEADY_SHARE,
    WEAR_SD,
)
from loadsim.loads.cut import loading_turns
from loadsim.loads.holding import grip, holder_of
from loadsim.loads.limits.blank_against_metal import blank_against_metal, edge_hardness
from loadsim.loads.limits.built_up_edge import built_up_edge_notes, clean_speed
from loadsim.loads.limits.handwheel import handwheel
from loadsim.loads.limits.resonance import harmonic_notes, resonance
from loadsim.loads.limits.utilization import LimitCode, Utilization
from loadsim.loads.passes import pass_travel
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.throat_mill import FLUTED, Mill, MillLoads
from loadsim.mechanics import sections, strength
from loadsim.mechanics.chip import tooth_passing
from loadsim.mechanics.fatigue import damage_margin

#: Scatter of mills ground alike about their fatigue strength, in the logarithm (assumed, no
#: source), and nodes that the unsteady feed is averaged by. [1]
ALIKE_SD = 0.10
FEED_NODES = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class MillCut:
    """Settings of the throat mill and the loads that come of them; (s,) where they vary."""

    speed: float  #: [rad/s]
    f_z: Array  #: [mm]
    depth: Array  #: axial depth of a pass on the centre line [mm]
    levels: Array  #: how many of them [1]
    side_levels: Array  #: depths of the passes beside it; any number where there are none [1]
    loads: MillLoads


def pass_count(mill: Mill, levels: float | Array, side_levels: float | Array) -> Array:
    """Passes in all: those on the centre line, and those beside it on each side. [1]"""
    return np.asarray(levels + 2 * mill.side_steps * np.asarray(side_levels, float))


def turns(job: ResolvedJob, mill: Mill, cut: MillCut) -> Array:
    """Turns that load the mill in the whole throat slot. [1]"""
    travel = pass_travel(job.slot, mill.table.diameter)
    each = loading_turns(travel, 1.0, cut.f_z, mill.h_min, mill.table.teeth)
    return np.asarray(pass_count(mill, cut.levels, cut.side_levels) * each)


def mill_checks(job: ResolvedJob, mill: Mill, cut: MillCut) -> list[Utilization]:
    """List every limit of the throat mill.

    Parameters
    ----------
    job : ResolvedJob
        Its throat slot, machine, material and asked snap probability.
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


def _bears(job: ResolvedJob, mill: Mill, cut: MillCut) -> tuple[Array, Array, Array]:
    """Fracture stress at the asked probability, amplitude for the turns of this cut, and breaking
    torque.
    """
    ones = np.ones_like(cut.loads.torque)
    fracture = (
        strength.weibull_strength(job.target.snap_probability, mill.sigma_0, mill.blank.weibull_m)
        * ones
    )
    tired = mill.line.strength(turns(job, mill, cut))
    torque = mill.tau_u * sections.polar_section_modulus(mill.table.diameter) * FLUTED**4 * ones
    return fracture, tired, np.asarray(torque)


def _strength_checks(job: ResolvedJob, mill: Mill, cut: MillCut) -> list[Utilization]:
    fracture, tired, torque = _bears(job, mill, cut)
    p = job.target.snap_probability
    return [
        Utilization(
            code=LimitCode.MILL_FRACTURE,
            demand=cut.loads.sigma_1,
            capacity=fracture,
            unit="MPa",
            hard=True,
            facts={"one_in": 1 / p},
        ),
        Utilization(
            code=LimitCode.MILL_FATIGUE,
            demand=cut.loads.sigma_a,
            capacity=tired,
            unit="MPa",
            hard=True,
            facts={"turns": turns(job, mill, cut)},
        ),
        Utilization(
            code=LimitCode.MILL_TORSION,
            demand=cut.loads.torque,
            capacity=torque,
            unit="N*mm",
            hard=True,
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
    scatter as for the neck. The worst instant breaks or twists off; fatigue sums the damage of the
    turns as they happen, the unsteady feed and packed chips for the few that they last. Adding the
    three counts a mill that breaks in two ways twice: an upper estimate.

    Parameters
    ----------
    job : ResolvedJob
        How steady its machine feeds, and its lubrication.
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
    welded = BUILT_UP_EDGE_SD if builds_up(job, mill, cut.speed) else 0.0
    evenly = np.sqrt(cut.loads.sigma_ln**2 + wear**2 + welded**2)
    spread = np.hypot(evenly, slope * steady)
    _, _, torque = _bears(job, mill, cut)
    tired_sd = np.hypot(evenly, _tired_sd(job, mill, cut))
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
        p = p + _mean(lambda y: ndtr(tired(job, mill, cut, y, factor) / tired_sd))
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


def _mean(of: Callable[[float], Array]) -> Array:
    """Mean over a standard normal deviate."""
    y, w = np.polynomial.hermite_e.hermegauss(FEED_NODES)
    parts = [q * of(x) for x, q in zip(y.tolist(), w.tolist(), strict=True)]
    return np.asarray(np.sum(parts, axis=0) / math.sqrt(2 * math.pi))


def tired(job: ResolvedJob, mill: Mill, cut: MillCut, y: float, packing: float) -> Array:
    """Stress over strength of all turns of the slot, their damage summed.

    Parameters
    ----------
    job : ResolvedJob
        How steady its machine feeds, and its lubrication.
    mill : Mill
        From `loadsim.loads.throat_mill.mill_of`.
    cut : MillCut
        Its settings and loads.
    y : float
        How many standard deviations the feed is unsteady. [1]
    packing : float
        Factor on the force while chips are packed; 1 where they never are. [1]

    Returns
    -------
    margin : ndarray, shape (s,)
        ln(stress / strength). [1]
    """
    median, steady = STEADINESS[job.machine.feed]
    unsteady = (median * math.exp(steady * y)) ** (1 - cut.loads.m_c)
    all_turns = turns(job, mill, cut)
    packed = PACKED_STAYS * CHIP_STAY[job.written.work.lubrication] if packing > 1 else 0.0
    levels = [
        (all_turns * (1 - UNSTEADY_SHARE), cut.loads.sigma_a),
        (all_turns * UNSTEADY_SHARE, cut.loads.sigma_a * unsteady),
        (np.minimum(packed, all_turns), cut.loads.sigma_a * packing),
    ]
    return damage_margin([n for n, _ in levels], [sigma for _, sigma in levels], mill.line)


def _tired_sd(job: ResolvedJob, mill: Mill, cut: MillCut) -> Array:
    """Scatter of what is borne for the turns of this cut: that of a thousand turns and that of the
    limit, each by how near the turns are to it, and that of mills ground alike. [1]
    """
    decades = np.log10(turns(job, mill, cut) / 1e3) / math.log10(mill.line.N_limit / 1e3)
    late = np.clip(decades, 0.0, 1.0)
    limit_sd = math.hypot(0.10, GRIND_SD, mill.blank.defect_size_spread / 6)
    return np.sqrt(((1 - late) * THOUSAND_SD) ** 2 + (late * limit_sd) ** 2 + ALIKE_SD**2)


def _snap(job: ResolvedJob, mill: Mill, cut: MillCut) -> Utilization:
    p = snap_probability(job, mill, cut)
    return Utilization(
        code=LimitCode.MILL_SNAP_PROBABILITY,
        demand=p,
        capacity=job.target.snap_probability * np.ones_like(p),
        unit="1",
        hard=True,
    )


def _machine_checks(job: ResolvedJob, mill: Mill, cut: MillCut) -> list[Utilization]:
    t = mill.table
    m = cut.loads
    ones = np.ones_like(cut.loads.torque)
    holder = holder_of(job)
    return [
        Utilization(
            code=LimitCode.SPINDLE_TORQUE,
            demand=m.mean_torque,
            capacity=DRIVE * job.machine.spindle_power / cut.speed * ones,
            unit="N*mm",
            hard=True,
            facts={"peak": m.torque},
        ),
        Utilization(
            code=LimitCode.COLLET_HOLD,
            demand=np.hypot(2 * m.mean_torque / mill.shank, m.mean_axial),
            capacity=grip(holder, mill.shank) * ones,
            unit="N",
            hard=True,
            facts={"peak": m.grip, "holder": holder},
        ),
        resonance(tooth_passing(t.teeth, cut.speed), mill.frequency, ones),
    ]


def builds_up(job: ResolvedJob, mill: Mill, speed: float) -> bool:
    """Whether the mill runs so slowly that metal may weld to its edge, speed in rad/s."""
    return speed * mill.table.diameter / 2 < clean_speed(job)


def mill_notes(job: ResolvedJob, mill: Mill, speed: float) -> tuple[Note, ...]:
    """List what to know of the throat mill's cut beside its limits.

    Parameters
    ----------
    job : ResolvedJob
        Its material and lubrication.
    mill : Mill
        The throat mill.
    speed : float
        Its spindle speed. [rad/s]

    Returns
    -------
    notes : tuple of Note
    """
    return (
        *built_up_edge_notes(job, speed * mill.table.diameter / 2),
        *harmonic_notes(float(tooth_passing(mill.table.teeth, speed)), mill.frequency),
    )


def mill_wall_allowance(job: ResolvedJob) -> tuple[float, WallOrigin]:
    """Accepted error of a throat wall, and where it comes from.

    Parameters
    ----------
    job : ResolvedJob
        The width of its throat and the accepted error of a wall.

    Returns
    -------
    error : float
        [mm]
    origin : WallOrigin

    References
    ----------
    ISO2768-1 table 1, medium
    """
    if job.target.wall_error is not None:
        return job.target.wall_error, WallOrigin.TARGET
    return general_tolerance(job.slot.throat_width) / 2, WallOrigin.GENERAL_TOLERANCE


def _cutting_checks(job: ResolvedJob, mill: Mill, cut: MillCut) -> list[Utilization]:
    ones = np.ones_like(cut.loads.torque)
    allowed, origin = mill_wall_allowance(job)
    return [
        Utilization(
            code=LimitCode.THROAT_WALL_ERROR,
            demand=cut.loads.wall_force * mill.compliance + mill.runout,
            capacity=allowed * ones,
            unit="mm",
            hard=False,
            facts={"origin": origin},
        ),
        Utilization(
            code=LimitCode.RUBBING,
            demand=mill.h_min * ones,
            capacity=cut.f_z * ones,
            unit="mm",
            hard=False,
        ),
        Utilization(
            code=LimitCode.CHIP_PACKING,
            demand=chip_fill(job, mill, cut.f_z) * ones,
            capacity=ones,
            unit="1",
            hard=False,
        ),
        Utilization(
            code=LimitCode.SURFACE_SPEED,
            demand=cut.speed * mill.table.diameter / 2 * ones,
            capacity=job.work.surface_speed_hi * mill.blank.speed_factor * ones,
            unit="mm/s",
            hard=False,
            facts={"blank": mill.blank.title},
        ),
        *blank_against_metal(
            job.work, mill.blank, edge_hardness(mill.blank, mill.table.hardness), ones
        ),
        *handwheel(job, cut.f_z * tooth_passing(mill.table.teeth, cut.speed) * ones),
    ]

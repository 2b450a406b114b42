"""Each way the cut can go wrong: demand, capacity, and one plain sentence. Works on arrays too.

Hard limits over capacity are a no-go; soft ones are marginal, with what to do.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from loadsim import fatigue, force, neck, strength, tooth, units
from loadsim.case import Case, Setup
from loadsim.fits import Check as Check
from loadsim.fits import clearances
from loadsim.passes import Pass, width_tolerance
from loadsim.results import Limit
from loadsim.summary import Summary

Array = npt.NDArray[np.float64]

#: Share of the rated power that reaches the cutter (common practice, no source). [1]
DRIVE = 0.8
#: Pull that makes a shank slip in a collet, lowest of a published range (CatalogColletPull), for a 12.7 mm shank. [N]
COLLET_PULL, COLLET_SHANK = 2669.0, 12.7
#: Harmonics of tooth passing kept below the natural frequency, and how far below (common practice, no source). [1]
HARMONICS, DETUNED = 5, 0.8
#: Stress at the inner corner of a gullet over that of the plain section (common practice, no source). [1]
GULLET_CORNER = 2.5
#: Turns a chip stays in an undercut before it finds the way out (common practice, no source). [1]
CHIP_STAY = {"dry": 4.0, "brush": 3.0, "mist": 2.0, "flood": 1.5}
#: Share of the thinnest chip's speed that lubrication spares: factor on the built-up-edge speed (common practice).
EDGE_KEPT_CLEAN = {"dry": 1.2, "brush": 0.8, "mist": 0.7, "flood": 0.6}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """The cut whose limits are asked: settings as numbers, (s,) where they vary."""

    case: Case
    speed: Array  #: spindle speed [rad/s]
    summary: Summary
    passes: tuple[Pass, ...]
    frequency: float  #: natural frequency of the cutter [Hz]


def cycles(setup: Setup, cutting: Cutting) -> Array:
    """Stress cycles of the neck in this cut: one for each turn.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    cutting : Cutting
        The cut.

    Returns
    -------
    N : ndarray
        [1]
    """
    travel = setup.job.slot.length + setup.job.cutter.head_diameter
    return np.asarray(len(cutting.passes) * travel / (cutting.case.f_z * cutting.case.teeth), float)


def checks(setup: Setup, cutting: Cutting) -> list[Check]:
    """List every limit of a cut.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    cutting : Cutting
        The cut.

    Returns
    -------
    checks : list of Check
    """
    return [
        _fracture(setup, cutting), _fatigue(setup, cutting), _torsion(setup, cutting), _tooth_root(setup, cutting),
        *_web(setup, cutting),
        _spindle(setup, cutting), _table_grab(setup, cutting), _collet(setup, cutting), _resonance(cutting),
        _wall(setup, cutting), _rubbing(setup, cutting), _packing(setup, cutting), *_built_up_edge(setup, cutting),
        _surface_speed(setup, cutting),
        *clearances(setup, cutting.passes, cutting.case.neck_diameter, cutting.case.neck_length, cutting.case.fillet,
                    np.ones_like(cutting.summary.torque)),
    ]  # fmt: skip


def _show(setup: Setup, dimension: str) -> Callable[[float], str]:
    system = setup.job.job.units
    return lambda x: units.show(x, dimension, system)


def _fracture(setup: Setup, cutting: Cutting) -> Check:
    s, target, show = setup.strength, setup.job.target.snap_probability, _show(setup, "stress")
    one = np.ones_like(cutting.summary.sigma_1)
    bears = strength.weibull_strength(target, s.sigma_0, s.m) * one
    demand, what = cutting.summary.sigma_1, "breaks"
    if s.yield_strength is not None:
        yields = cutting.summary.sigma_v / s.yield_strength > demand / bears
        demand = np.where(yields, cutting.summary.sigma_v, demand)
        bears = np.where(yields, s.yield_strength, bears)
        what = "bends for good or breaks"
    return Check(name="neck fracture", demand=demand, capacity=bears, unit="MPa", hard=True, say=lambda d, c:
                 f"The neck sees {show(d)} at its fillet; about one neck in {1 / target:.0f} {what} at {show(c)}.")  # fmt: skip


def _fatigue(setup: Setup, cutting: Cutting) -> Check:
    s, show, N = setup.strength, _show(setup, "stress"), cycles(setup, cutting)
    bears = fatigue.basquin_strength(N, s.S_limit, s.N_limit, s.k, s.S_static)
    return Check(name="neck fatigue", demand=cutting.summary.sigma_ar, capacity=bears, unit="MPa", hard=True,
                 say=lambda d, c: f"Each turn bends the neck to and fro by {show(d)}; for the {float(N.max()):,.0f} turns "
                 f"of this cut it bears {show(c)}.")  # fmt: skip


def _torsion(setup: Setup, cutting: Cutting) -> Check:
    show, case = _show(setup, "torque"), cutting.case
    bears = strength.torque_to_snap(setup.strength.tau_u, cutting.summary.K_ts, case.neck_diameter)
    bears = bears * np.ones_like(cutting.summary.torque)
    return Check(name="neck torsion", demand=cutting.summary.torque, capacity=bears, unit="N*mm", hard=True,
                 say=lambda d, c: f"The cut twists the neck with {show(d)}; {show(c)} would twist it off.")  # fmt: skip


def _tooth_root(setup: Setup, cutting: Cutting) -> Check:
    show, F = _show(setup, "stress"), cutting.summary.tooth_force
    root = tooth.root_stress(F, setup.ground.tooth_arm, setup.ground.tooth_thickness, setup.head.height)
    chip, r = np.maximum(cutting.summary.peak_chip, setup.edge_radius), setup.radial
    F_r = F * force.radial_ratio(chip, r.K_tc, r.K_te, r.K_rc, r.K_re)
    across, along, wedge = tooth.wedge_tip_force(F, F_r, setup.rake, setup.relief)
    edge = tooth.wedge_edge_stress(across, along, wedge, 3 * chip, setup.head.height)
    bears = strength.weibull_strength(setup.job.target.snap_probability, setup.strength.sigma_0, setup.strength.m)
    demand = np.maximum(root, edge)
    return Check(name="tooth root", demand=demand, capacity=bears * np.ones_like(demand), unit="MPa", hard=True,
                 say=lambda d, c: f"A tooth sees {show(d)} at its root or behind its edge; it bears {show(c)}.")  # fmt: skip


def _web(setup: Setup, cutting: Cutting) -> list[Check]:
    """The fluted head as a bar at the neck: its arm is at most its height; torsion is that of the web's circle."""
    ground, s, show = setup.ground, cutting.summary, _show(setup, "stress")
    if ground.web is None:
        return []
    bending = s.force * setup.head.height * setup.head.radius / ground.second_moment
    twist = s.torque / neck.polar_section_modulus(ground.web)
    demand = GULLET_CORNER * neck.largest_principal(bending, twist)
    bears = strength.weibull_strength(setup.job.target.snap_probability, setup.strength.sigma_0, setup.strength.m) * np.ones_like(demand)
    return [Check(name="web of the head", demand=demand, capacity=bears, unit="MPa", hard=True, say=lambda d, c:
                  f"The head sees {show(d)} at the corners of its gullets; it bears {show(c)}.")]  # fmt: skip


def _spindle(setup: Setup, cutting: Cutting) -> Check:
    show, speed = _show(setup, "torque"), np.asarray(cutting.speed, float)
    bears = DRIVE * setup.job.machine.spindle_power / speed * np.ones_like(cutting.summary.torque)
    return Check(name="spindle torque", demand=cutting.summary.torque, capacity=bears, unit="N*mm", hard=True,
                 say=lambda d, c: f"The cut asks {show(d)} of the spindle at the peak; it stalls at about {show(c)}.")  # fmt: skip


def _table_grab(setup: Setup, cutting: Cutting) -> Check:
    """If the cut drags the table, the tooth is fed by the backlash instead of the screw."""
    s, machine, case = cutting.summary, setup.job.machine, cutting.case
    show, length = _show(setup, "stress"), _show(setup, "length")
    loose = machine.feed != "cnc" or setup.backlash > 0.02
    fed = np.maximum(case.f_z, setup.backlash)
    grabbed = s.sigma_1 * (force.kienzle(fed, 1.0, case.m_c) / force.kienzle(case.f_z, 1.0, case.m_c))
    pulls = (s.net_pull > 0) & (setup.backlash > 0) & loose
    demand = np.where(pulls, grabbed, 0.0)
    bears = strength.weibull_strength(setup.job.target.snap_probability, setup.strength.sigma_0, setup.strength.m)
    if setup.strength.yield_strength is not None:
        bears = np.minimum(bears, setup.strength.yield_strength)

    def say(d: float, c: float) -> str:
        if d == 0:
            return ("The cut, taken over a turn, pushes against the feed: it does not drag the table through its backlash."
                    if loose else "The screw holds the table; there is no backlash to be dragged through.")  # fmt: skip
        return (f"The cut drags the table along: it can jump by the backlash of {length(setup.backlash)} and feed the tooth by "
                f"that; the neck would then see {show(d)} against {show(c)}. Cut conventionally, or lock the screw.")  # fmt: skip

    return Check(name="table grab", demand=demand, capacity=bears * np.ones_like(demand), unit="MPa", hard=True, say=say)


def _collet(setup: Setup, cutting: Cutting) -> Check:
    show, d = _show(setup, "torque"), setup.job.cutter.shank_diameter
    bears = COLLET_PULL * (d / COLLET_SHANK) * d / 2 * np.ones_like(cutting.summary.torque)
    return Check(name="collet slip", demand=cutting.summary.torque, capacity=bears, unit="N*mm", hard=True,
                 say=lambda d, c: f"The shank must hold {show(d)}; a clean, tight collet holds about {show(c)}.")  # fmt: skip


def _resonance(cutting: Cutting) -> Check:
    passing = np.asarray(cutting.speed, float) / (2 * math.pi) * cutting.case.teeth
    demand = HARMONICS * passing * np.ones_like(cutting.summary.torque)
    bears = DETUNED * cutting.frequency * np.ones_like(demand)
    return Check(name="resonance", demand=demand, capacity=bears, unit="Hz", hard=True, say=lambda d, c:
                 f"The teeth pass {d / HARMONICS:.0f} times a second; with {HARMONICS} harmonics, {d:.0f} Hz, that must stay under "
                 f"{c:.0f} Hz, {DETUNED:.0%} of the neck's own {c / DETUNED:.0f} Hz.")  # fmt: skip


def wall_allowance(setup: Setup) -> tuple[float, str]:
    """Accepted error of a wall's position, and where it comes from.

    Parameters
    ----------
    setup : Setup
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
    target, slot = setup.job.target, setup.job.slot
    if target.wall_error is not None:
        return target.wall_error, "asked for in [target]"
    if slot.width_tolerance is not None:
        return slot.width_tolerance / 2, "half the width tolerance, one wall's share"
    return width_tolerance(slot) / 2, "half the general tolerance of an untoleranced width"


def _wall(setup: Setup, cutting: Cutting) -> Check:
    show, (allowed, origin) = _show(setup, "length"), wall_allowance(setup)
    demand = cutting.summary.wall_deflection + cutting.case.rho
    return Check(name="wall error", demand=demand, capacity=allowed * np.ones_like(demand), unit="mm", hard=False,
                 say=lambda d, c: f"Deflection and runout set a wall off by up to {show(d)}; allowed is {show(c)} ({origin}).")  # fmt: skip


def _rubbing(setup: Setup, cutting: Cutting) -> Check:
    show, s = _show(setup, "feed per tooth"), cutting.summary
    demand = setup.h_min * np.ones_like(s.peak_chip)

    def say(d: float, c: float) -> str:
        idle = " One tooth skips because of runout." if float(np.min(s.thin_chip)) <= 0 else ""
        return f"The thickest chip is {show(c)}; an edge of this sharpness only rubs below {show(d)}.{idle}"

    return Check(name="rubbing", demand=demand, capacity=s.peak_chip, unit="mm", hard=False, say=say)


def gullet_area(setup: Setup) -> float:
    """Area of one gullet across the axis. [mm^2]"""
    return setup.ground.gullet


def _packing(setup: Setup, cutting: Cutting) -> Check:
    stay, show = CHIP_STAY[setup.job.work.lubrication], _show(setup, "volume")
    area = max(p.area for p in cutting.passes)
    demand = cutting.case.f_z * area * setup.work.bulking * stay * np.ones_like(cutting.summary.torque)
    room = gullet_area(setup) * setup.head.height * np.ones_like(demand)
    return Check(name="chip packing", demand=demand, capacity=room, unit="mm^3", hard=False, say=lambda d, c:
                 f"Loose chips fill {show(d)} of a gullet's {show(c)} before they find the way out: clear them with air "
                 "or coolant, and stop when they pack.")  # fmt: skip


def _built_up_edge(setup: Setup, cutting: Cutting) -> list[Check]:
    least = setup.work.built_up_edge_speed
    if least is None:
        return []
    v = np.asarray(cutting.speed, float) * setup.head.radius * np.ones_like(cutting.summary.torque)
    show, lubrication = _show(setup, "surface speed"), setup.job.work.lubrication
    demand = least * EDGE_KEPT_CLEAN[lubrication] * np.ones_like(v)
    return [Check(name="built-up edge", demand=demand, capacity=v, unit="mm/s", hard=False, say=lambda d, c:
                  f"At {show(c)} with {lubrication} lubrication metal may weld to the edge below about {show(d)}.")]  # fmt: skip


def speed_limit(setup: Setup) -> float:
    """Highest surface speed for this blank in this metal. [mm/s]"""
    return setup.work.surface_speed_hi * setup.blank.speed_factor


def _surface_speed(setup: Setup, cutting: Cutting) -> Check:
    show = _show(setup, "surface speed")
    v = np.asarray(cutting.speed, float) * setup.head.radius * np.ones_like(cutting.summary.torque)
    return Check(name="surface speed", demand=v, capacity=speed_limit(setup) * np.ones_like(v), unit="mm/s", hard=False,
                 say=lambda d, c: f"The teeth run at {show(d)}; {setup.blank.title} lasts up to about {show(c)} here.")  # fmt: skip


def worded(check: Check) -> Limit:
    """Put a limit of one cut into words.

    Parameters
    ----------
    check : Check
        Of a single cut.

    Returns
    -------
    limit : Limit

    Raises
    ------
    ValueError
        If demand, capacity or their ratio is not finite.
    """
    demand, capacity, u = (float(np.asarray(x).reshape(-1)[0]) for x in (check.demand, check.capacity, check.utilization))
    if not all(math.isfinite(x) for x in (demand, capacity, u)):
        raise ValueError(f"limit {check.name}: demand {demand}, capacity {capacity} give no finite utilization")
    return Limit(name=check.name, demand=demand, capacity=capacity, unit=check.unit, utilization=u, hard=check.hard, fit=check.fit,
                 note=check.say(demand, capacity))  # fmt: skip

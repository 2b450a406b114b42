"""Each way the cut can go wrong: demand, capacity, and one plain sentence. Works on arrays too.

Hard limits over capacity are a no-go; soft ones are marginal, with what to do.
"""

from __future__ import annotations

import math

import numpy as np

from loadsim.job.tolerances import wall_allowance
from loadsim.loads.assumptions import (
    CHIP_STAY,
    COLLET_PULL,
    COLLET_SHANK,
    DETUNED,
    DRIVE,
    EDGE_KEPT_CLEAN,
    GULLET_CORNER,
    HARMONICS,
)
from loadsim.loads.cut import Cutting, cycles
from loadsim.loads.limits.chip_packing import gullet_area
from loadsim.loads.limits.clearances import clearances
from loadsim.loads.limits.utilization import Utilization, shown
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import fatigue, force, sections, strength, tooth


def checks(job: ResolvedJob, cutting: Cutting) -> list[Utilization]:
    """List every limit of a cut.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    cutting : Cutting
        The cut.

    Returns
    -------
    checks : list of Utilization
    """
    return [
        _fracture(job, cutting),
        _fatigue(job, cutting),
        _torsion(job, cutting),
        _tooth_root(job, cutting),
        *_web(job, cutting),
        _spindle(job, cutting),
        _table_grab(job, cutting),
        _collet(job, cutting),
        _resonance(cutting),
        _wall(job, cutting),
        _rubbing(job, cutting),
        _packing(job, cutting),
        *_built_up_edge(job, cutting),
        _surface_speed(job, cutting),
        *clearances(
            job,
            cutting.passes,
            cutting.case.neck_diameter,
            cutting.case.neck_length,
            cutting.case.fillet,
            np.ones_like(cutting.summary.torque),
        ),
    ]


def _fracture(job: ResolvedJob, cutting: Cutting) -> Utilization:
    s = job.strength
    target = job.target.snap_probability
    show = shown(job, "stress")
    one = np.ones_like(cutting.summary.sigma_1)
    bears = strength.weibull_strength(target, s.sigma_0, s.m) * one
    demand = cutting.summary.sigma_1
    what = "breaks"
    if s.yield_strength is not None:
        yields = cutting.summary.sigma_v / s.yield_strength > demand / bears
        demand = np.where(yields, cutting.summary.sigma_v, demand)
        bears = np.where(yields, s.yield_strength, bears)
        what = "bends for good or breaks"
    return Utilization(
        name="neck fracture",
        demand=demand,
        capacity=bears,
        unit="MPa",
        hard=True,
        say=lambda d, c: (
            f"The neck sees {show(d)} at its fillet; about one neck in {1 / target:.0f} {what} at {show(c)}."
        ),
    )


def _fatigue(job: ResolvedJob, cutting: Cutting) -> Utilization:
    s = job.strength
    show = shown(job, "stress")
    N = cycles(job, cutting)
    bears = fatigue.basquin_strength(N, s.S_limit, s.N_limit, s.k, s.S_static)
    return Utilization(
        name="neck fatigue",
        demand=cutting.summary.sigma_ar,
        capacity=bears,
        unit="MPa",
        hard=True,
        say=lambda d, c: (
            f"Each turn bends the neck to and fro by {show(d)}; for the {float(N.max()):,.0f} turns of this cut it bears {show(c)}."
        ),
    )


def _torsion(job: ResolvedJob, cutting: Cutting) -> Utilization:
    show = shown(job, "torque")
    case = cutting.case
    bears = strength.torque_to_snap(job.strength.tau_u, cutting.summary.K_ts, case.neck_diameter)
    bears = bears * np.ones_like(cutting.summary.torque)
    return Utilization(
        name="neck torsion",
        demand=cutting.summary.torque,
        capacity=bears,
        unit="N*mm",
        hard=True,
        say=lambda d, c: f"The cut twists the neck with {show(d)}; {show(c)} would twist it off.",
    )


def _tooth_root(job: ResolvedJob, cutting: Cutting) -> Utilization:
    show = shown(job, "stress")
    F = cutting.summary.tooth_force
    root = tooth.root_stress(
        F, job.head_section.tooth_arm, job.head_section.tooth_thickness, job.head.height
    )
    chip = np.maximum(cutting.summary.peak_chip, job.edge_radius)
    r = job.radial
    F_r = F * force.radial_ratio(chip, r.K_tc, r.K_te, r.K_rc, r.K_re)
    across, along, wedge = tooth.wedge_tip_force(F, F_r, job.rake, job.relief)
    edge = tooth.wedge_edge_stress(across, along, wedge, 3 * chip, job.head.height)
    bears = strength.weibull_strength(
        job.target.snap_probability, job.strength.sigma_0, job.strength.m
    )
    demand = np.maximum(root, edge)
    return Utilization(
        name="tooth root",
        demand=demand,
        capacity=bears * np.ones_like(demand),
        unit="MPa",
        hard=True,
        say=lambda d, c: (
            f"A tooth sees {show(d)} at its root or behind its edge; it bears {show(c)}."
        ),
    )


def _web(job: ResolvedJob, cutting: Cutting) -> list[Utilization]:
    """The fluted head as a bar at the neck: its arm is at most its height; torsion is that of the
    web's circle.
    """
    ground = job.head_section
    s = cutting.summary
    show = shown(job, "stress")
    if ground.web is None:
        return []
    bending = s.force * job.head.height * job.head.radius / ground.second_moment
    twist = s.torque / sections.polar_section_modulus(ground.web)
    demand = GULLET_CORNER * sections.largest_principal(bending, twist)
    bears = strength.weibull_strength(
        job.target.snap_probability, job.strength.sigma_0, job.strength.m
    ) * np.ones_like(demand)
    return [
        Utilization(
            name="web of the head",
            demand=demand,
            capacity=bears,
            unit="MPa",
            hard=True,
            say=lambda d, c: (
                f"The head sees {show(d)} at the corners of its gullets; it bears {show(c)}."
            ),
        )
    ]


def _spindle(job: ResolvedJob, cutting: Cutting) -> Utilization:
    show = shown(job, "torque")
    speed = np.asarray(cutting.speed, float)
    bears = DRIVE * job.machine.spindle_power / speed * np.ones_like(cutting.summary.torque)
    return Utilization(
        name="spindle torque",
        demand=cutting.summary.torque,
        capacity=bears,
        unit="N*mm",
        hard=True,
        say=lambda d, c: (
            f"The cut asks {show(d)} of the spindle at the peak; it stalls at about {show(c)}."
        ),
    )


def _table_grab(job: ResolvedJob, cutting: Cutting) -> Utilization:
    """If the cut drags the table, the tooth is fed by the backlash instead of the screw."""
    s = cutting.summary
    machine = job.machine
    case = cutting.case
    show = shown(job, "stress")
    length = shown(job, "length")
    loose = machine.feed != "cnc" or job.backlash > 0.02
    fed = np.maximum(case.f_z, job.backlash)
    grabbed = s.sigma_1 * (
        force.kienzle(fed, 1.0, case.m_c) / force.kienzle(case.f_z, 1.0, case.m_c)
    )
    pulls = (s.net_pull > 0) & (job.backlash > 0) & loose
    demand = np.where(pulls, grabbed, 0.0)
    bears = strength.weibull_strength(
        job.target.snap_probability, job.strength.sigma_0, job.strength.m
    )
    if job.strength.yield_strength is not None:
        bears = np.minimum(bears, job.strength.yield_strength)

    def say(d: float, c: float) -> str:
        if d == 0:
            return (
                "The cut, taken over a turn, pushes against the feed: it does not drag the table"
                " through its backlash."
                if loose
                else "The screw holds the table; there is no backlash to be dragged through."
            )
        return (
            f"The cut drags the table along: it can jump by the backlash of {length(job.backlash)}"
            f" and feed the tooth by that; the neck would then see {show(d)} against {show(c)}. Cut"
            " conventionally, or lock the screw."
        )

    return Utilization(
        name="table grab",
        demand=demand,
        capacity=bears * np.ones_like(demand),
        unit="MPa",
        hard=True,
        say=say,
    )


def _collet(job: ResolvedJob, cutting: Cutting) -> Utilization:
    show = shown(job, "torque")
    d = job.cutter.shank_diameter
    bears = COLLET_PULL * (d / COLLET_SHANK) * d / 2 * np.ones_like(cutting.summary.torque)
    return Utilization(
        name="collet slip",
        demand=cutting.summary.torque,
        capacity=bears,
        unit="N*mm",
        hard=True,
        say=lambda d, c: (
            f"The shank must hold {show(d)}; a clean, tight collet holds about {show(c)}."
        ),
    )


def _resonance(cutting: Cutting) -> Utilization:
    passing = np.asarray(cutting.speed, float) / (2 * math.pi) * cutting.case.teeth
    demand = HARMONICS * passing * np.ones_like(cutting.summary.torque)
    bears = DETUNED * cutting.frequency * np.ones_like(demand)
    return Utilization(
        name="resonance",
        demand=demand,
        capacity=bears,
        unit="Hz",
        hard=True,
        say=lambda d, c: (
            f"The teeth pass {d / HARMONICS:.0f} times a second; with {HARMONICS} harmonics, {d:.0f} Hz, that must stay under {c:.0f} Hz, {DETUNED:.0%} of the neck's own {c / DETUNED:.0f} Hz."
        ),
    )


def _wall(job: ResolvedJob, cutting: Cutting) -> Utilization:
    show, (allowed, origin) = shown(job, "length"), wall_allowance(job)
    demand = cutting.summary.wall_deflection + cutting.case.rho
    return Utilization(
        name="wall error",
        demand=demand,
        capacity=allowed * np.ones_like(demand),
        unit="mm",
        hard=False,
        say=lambda d, c: (
            f"Deflection and runout set a wall off by up to {show(d)}; allowed is {show(c)} ({origin})."
        ),
    )


def _rubbing(job: ResolvedJob, cutting: Cutting) -> Utilization:
    show = shown(job, "feed per tooth")
    s = cutting.summary
    demand = job.h_min * np.ones_like(s.peak_chip)

    def say(d: float, c: float) -> str:
        idle = " One tooth skips because of runout." if float(np.min(s.thin_chip)) <= 0 else ""
        return (
            f"The thickest chip is {show(c)}; an edge of this sharpness only rubs below"
            f" {show(d)}.{idle}"
        )

    return Utilization(
        name="rubbing", demand=demand, capacity=s.peak_chip, unit="mm", hard=False, say=say
    )


def _packing(job: ResolvedJob, cutting: Cutting) -> Utilization:
    stay = CHIP_STAY[job.written.work.lubrication]
    show = shown(job, "volume")
    area = max(p.area for p in cutting.passes)
    demand = (
        cutting.case.f_z * area * job.work.bulking * stay * np.ones_like(cutting.summary.torque)
    )
    room = gullet_area(job) * job.head.height * np.ones_like(demand)
    return Utilization(
        name="chip packing",
        demand=demand,
        capacity=room,
        unit="mm^3",
        hard=False,
        say=lambda d, c: (
            f"Loose chips fill {show(d)} of a gullet's {show(c)} before they find the way out: clear them with air or coolant, and stop when they pack."
        ),
    )


def _built_up_edge(job: ResolvedJob, cutting: Cutting) -> list[Utilization]:
    least = job.work.built_up_edge_speed
    if least is None:
        return []
    v = np.asarray(cutting.speed, float) * job.head.radius * np.ones_like(cutting.summary.torque)
    show = shown(job, "surface speed")
    lubrication = job.written.work.lubrication
    demand = least * EDGE_KEPT_CLEAN[lubrication] * np.ones_like(v)
    return [
        Utilization(
            name="built-up edge",
            demand=demand,
            capacity=v,
            unit="mm/s",
            hard=False,
            say=lambda d, c: (
                f"At {show(c)} with {lubrication} lubrication metal may weld to the edge below about {show(d)}."
            ),
        )
    ]


def speed_limit(job: ResolvedJob) -> float:
    """Highest surface speed for this blank in this metal. [mm/s]"""
    return job.work.surface_speed_hi * job.blank.speed_factor


def _surface_speed(job: ResolvedJob, cutting: Cutting) -> Utilization:
    show = shown(job, "surface speed")
    v = np.asarray(cutting.speed, float) * job.head.radius * np.ones_like(cutting.summary.torque)
    return Utilization(
        name="surface speed",
        demand=v,
        capacity=speed_limit(job) * np.ones_like(v),
        unit="mm/s",
        hard=False,
        say=lambda d, c: (
            f"The teeth run at {show(d)}; {job.blank.title} lasts up to about {show(c)} here."
        ),
    )

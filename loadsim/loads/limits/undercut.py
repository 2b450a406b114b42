"""Each way the cut can go wrong, as demand and capacity; works on arrays too.

Hard limits over capacity are a no-go; soft ones are marginal, with what to do.
"""

from __future__ import annotations

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
from loadsim.loads.limits.utilization import LimitCode, Utilization
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import fatigue, sections, strength, tooth
from loadsim.mechanics.chip import tooth_passing


def checks(job: ResolvedJob, cutting: Cutting) -> list[Utilization]:
    """List every limit of a cut.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine, material and tolerances.
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
    ones = np.ones_like(cutting.summary.sigma_1)
    bears = strength.weibull_strength(target, s.sigma_0, s.m) * ones
    demand = cutting.summary.sigma_1
    if s.yield_strength is not None:
        yields = cutting.summary.sigma_v / s.yield_strength > demand / bears
        demand = np.where(yields, cutting.summary.sigma_v, demand)
        bears = np.where(yields, s.yield_strength, bears)
    return Utilization(
        code=LimitCode.NECK_FRACTURE,
        demand=demand,
        capacity=bears,
        unit="MPa",
        hard=True,
        facts={"one_in": 1 / target, "ductile": s.yield_strength is not None},
    )


def _fatigue(job: ResolvedJob, cutting: Cutting) -> Utilization:
    s = job.strength
    N = cycles(job, cutting)
    bears = fatigue.basquin_strength(N, s.S_limit, s.N_limit, s.k, s.S_static)
    return Utilization(
        code=LimitCode.NECK_FATIGUE,
        demand=cutting.summary.sigma_ar,
        capacity=bears,
        unit="MPa",
        hard=True,
        facts={"turns": N},
    )


def _torsion(job: ResolvedJob, cutting: Cutting) -> Utilization:
    case = cutting.case
    bears = strength.torque_to_snap(job.strength.tau_u, cutting.summary.K_ts, case.neck_diameter)
    bears = bears * np.ones_like(cutting.summary.torque)
    return Utilization(
        code=LimitCode.NECK_TORSION,
        demand=cutting.summary.torque,
        capacity=bears,
        unit="N*mm",
        hard=True,
    )


def _tooth_root(job: ResolvedJob, cutting: Cutting) -> Utilization:
    F = cutting.summary.tooth_force
    root = tooth.root_stress(
        F, job.head_section.tooth_arm, job.head_section.tooth_thickness, job.head.height
    )
    chip = np.maximum(cutting.summary.peak_chip, job.edge_radius)
    F_r = F * job.radial.at(chip)
    across, along, wedge = tooth.wedge_tip_force(F, F_r, job.rake, job.relief)
    edge = tooth.wedge_edge_stress(across, along, wedge, 3 * chip, job.head.height)
    bears = strength.weibull_strength(
        job.target.snap_probability, job.strength.sigma_0, job.strength.m
    )
    demand = np.maximum(root, edge)
    return Utilization(
        code=LimitCode.TOOTH_ROOT,
        demand=demand,
        capacity=bears * np.ones_like(demand),
        unit="MPa",
        hard=True,
    )


def _web(job: ResolvedJob, cutting: Cutting) -> list[Utilization]:
    """The fluted head as a bar at the neck: its arm is at most its height; torsion is that of the
    web's circle.
    """
    ground = job.head_section
    s = cutting.summary
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
            code=LimitCode.WEB_OF_THE_HEAD, demand=demand, capacity=bears, unit="MPa", hard=True
        )
    ]


def _spindle(job: ResolvedJob, cutting: Cutting) -> Utilization:
    speed = np.asarray(cutting.speed, float)
    bears = DRIVE * job.machine.spindle_power / speed * np.ones_like(cutting.summary.torque)
    return Utilization(
        code=LimitCode.SPINDLE_TORQUE,
        demand=cutting.summary.torque,
        capacity=bears,
        unit="N*mm",
        hard=True,
    )


def _table_grab(job: ResolvedJob, cutting: Cutting) -> Utilization:
    """If the cut drags the table, the tooth is fed by the backlash instead of the screw."""
    s = cutting.summary
    machine = job.machine
    case = cutting.case
    loose = machine.feed != "cnc" or job.backlash > 0.02
    fed = np.maximum(case.f_z, job.backlash)
    grabbed = s.sigma_1 * case.law.growth(fed, case.f_z)
    pulls = (s.net_pull > 0) & (job.backlash > 0) & loose
    demand = np.where(pulls, grabbed, 0.0)
    bears = strength.weibull_strength(
        job.target.snap_probability, job.strength.sigma_0, job.strength.m
    )
    if job.strength.yield_strength is not None:
        bears = np.minimum(bears, job.strength.yield_strength)

    return Utilization(
        code=LimitCode.TABLE_GRAB,
        demand=demand,
        capacity=bears * np.ones_like(demand),
        unit="MPa",
        hard=True,
        facts={"loose": loose, "backlash": job.backlash},
    )


def _collet(job: ResolvedJob, cutting: Cutting) -> Utilization:
    d = job.cutter.shank_diameter
    bears = COLLET_PULL * (d / COLLET_SHANK) * d / 2 * np.ones_like(cutting.summary.torque)
    return Utilization(
        code=LimitCode.COLLET_SLIP,
        demand=cutting.summary.torque,
        capacity=bears,
        unit="N*mm",
        hard=True,
    )


def _resonance(cutting: Cutting) -> Utilization:
    passing = tooth_passing(cutting.case.teeth, np.asarray(cutting.speed, float))
    demand = HARMONICS * passing * np.ones_like(cutting.summary.torque)
    bears = DETUNED * cutting.frequency * np.ones_like(demand)
    return Utilization(
        code=LimitCode.RESONANCE,
        demand=demand,
        capacity=bears,
        unit="Hz",
        hard=True,
        facts={
            "passing": passing,
            "harmonics": HARMONICS,
            "detuned": DETUNED,
            "own": cutting.frequency,
        },
    )


def _wall(job: ResolvedJob, cutting: Cutting) -> Utilization:
    allowed, origin = wall_allowance(job.written)
    demand = cutting.summary.wall_deflection + cutting.case.rho
    return Utilization(
        code=LimitCode.WALL_ERROR,
        demand=demand,
        capacity=allowed * np.ones_like(demand),
        unit="mm",
        hard=False,
        facts={"origin": origin},
    )


def _rubbing(job: ResolvedJob, cutting: Cutting) -> Utilization:
    s = cutting.summary
    demand = job.h_min * np.ones_like(s.peak_chip)

    return Utilization(
        code=LimitCode.RUBBING,
        demand=demand,
        capacity=s.peak_chip,
        unit="mm",
        hard=False,
        facts={"thin_chip": s.thin_chip},
    )


def _packing(job: ResolvedJob, cutting: Cutting) -> Utilization:
    stay = CHIP_STAY[job.written.work.lubrication]
    area = max(p.area for p in cutting.passes)
    demand = (
        cutting.case.f_z * area * job.work.bulking * stay * np.ones_like(cutting.summary.torque)
    )
    room = gullet_area(job) * job.head.height * np.ones_like(demand)
    return Utilization(
        code=LimitCode.CHIP_PACKING, demand=demand, capacity=room, unit="mm^3", hard=False
    )


def _built_up_edge(job: ResolvedJob, cutting: Cutting) -> list[Utilization]:
    least = job.work.built_up_edge_speed
    if least is None:
        return []
    v = np.asarray(cutting.speed, float) * job.head.radius * np.ones_like(cutting.summary.torque)
    lubrication = job.written.work.lubrication
    demand = least * EDGE_KEPT_CLEAN[lubrication] * np.ones_like(v)
    return [
        Utilization(
            code=LimitCode.BUILT_UP_EDGE,
            demand=demand,
            capacity=v,
            unit="mm/s",
            hard=False,
            facts={"lubrication": lubrication},
        )
    ]


def speed_limit(job: ResolvedJob) -> float:
    """Highest surface speed for this blank in this metal. [mm/s]"""
    return job.work.surface_speed_hi * job.blank.speed_factor


def _surface_speed(job: ResolvedJob, cutting: Cutting) -> Utilization:
    v = np.asarray(cutting.speed, float) * job.head.radius * np.ones_like(cutting.summary.torque)
    return Utilization(
        code=LimitCode.SURFACE_SPEED,
        demand=v,
        capacity=speed_limit(job) * np.ones_like(v),
        unit="mm/s",
        hard=False,
        facts={"blank": job.blank.title},
    )

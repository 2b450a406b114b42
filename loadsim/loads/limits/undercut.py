"""Each way the cut can go wrong, as demand and capacity; works on arrays too.

Hard limits over capacity are a no-go; soft ones are marginal, with what to do.
"""

from __future__ import annotations

import numpy as np

from loadsim.base.numbers import Array
from loadsim.job.tolerances import wall_allowance
from loadsim.loads.assumptions import CHIP_STAY, DRIVE, GULLET_CORNER
from loadsim.loads.cut import Cutting, cycles
from loadsim.loads.holding import grabbed_growth, grip, holder_of, is_loose, table_friction
from loadsim.loads.limits.blank_against_metal import blank_against_metal, edge_hardness
from loadsim.loads.limits.built_up_edge import surface_speed
from loadsim.loads.limits.chip_packing import gullet_area
from loadsim.loads.limits.clearances import clearances, gap_beside_neck
from loadsim.loads.limits.handwheel import handwheel
from loadsim.loads.limits.resonance import resonance
from loadsim.loads.limits.tooth_edge import worse_edge
from loadsim.loads.limits.utilization import LimitCode, Utilization
from loadsim.loads.nominal import usual_speed
from loadsim.loads.passes import travel_of
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import sections, strength, tooth
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
        _surface_speed(job, cutting),
        *_blank(job, cutting),
        *_handwheel(job, cutting),
        *_neck_on_wall(job, cutting),
        *clearances(
            job,
            cutting.passes,
            cutting.case.neck_diameter,
            cutting.case.neck_length,
            cutting.case.head_fillet,
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
    N = cycles(cutting)
    bears = s.line.strength(N)
    return Utilization(
        code=LimitCode.NECK_FATIGUE,
        demand=cutting.summary.fatigue * bears,  # the even amplitude that does the same damage
        capacity=bears,
        unit="MPa",
        hard=True,
        facts={"turns": N, "rubs": _spindle_turns(cutting) * (1 - 1e-9) > N},
    )


def _spindle_turns(cutting: Cutting) -> Array:
    return travel_of(cutting.passes) / (cutting.case.f_z * cutting.case.teeth)


def _torsion(job: ResolvedJob, cutting: Cutting) -> Utilization:
    case = cutting.case
    bears = strength.torque_to_snap(
        job.strength.tau_u, cutting.summary.K_ts_worse, case.neck_diameter
    )
    bears = bears * np.ones_like(cutting.summary.torque)
    return Utilization(
        code=LimitCode.NECK_TORSION,
        demand=cutting.summary.torque,
        capacity=bears,
        unit="N*mm",
        hard=True,
    )


def _tooth_root(job: ResolvedJob, cutting: Cutting) -> Utilization:
    """A tooth as a cantilever at its root, and as a wedge behind its edge: the one used more."""
    s = cutting.summary
    ground = job.head_section
    root = tooth.root_stress(
        s.tooth_force, ground.tooth_arm, ground.tooth_thickness, job.head.height
    )
    root_bears = strength.weibull_strength(
        job.target.snap_probability, job.strength.sigma_0, job.strength.m
    )
    edge, edge_bears = worse_edge(job, s.peak_chip, cutting.case.force_factor)
    by_edge = edge / edge_bears > root / root_bears
    return Utilization(
        code=LimitCode.TOOTH_ROOT,
        demand=np.where(by_edge, edge, root),
        capacity=np.where(by_edge, edge_bears, root_bears),
        unit="MPa",
        hard=False,
        facts={"by_edge": by_edge},
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
    """Torque over a turn; the flywheel of the spindle carries the peak."""
    s = cutting.summary
    speed = np.asarray(cutting.speed, float)
    return Utilization(
        code=LimitCode.SPINDLE_TORQUE,
        demand=s.mean_torque,
        capacity=DRIVE * job.machine.spindle_power / speed * np.ones_like(s.mean_torque),
        unit="N*mm",
        hard=True,
        facts={"peak": s.torque},
    )


def _table_grab(job: ResolvedJob, cutting: Cutting) -> Utilization:
    """Nothing moves while the net pull stays under the table's friction; then the table jumps by
    the backlash.
    """
    s = cutting.summary
    loose = is_loose(job)
    bears = strength.weibull_strength(
        job.target.snap_probability, job.strength.sigma_0, job.strength.m
    )
    if job.strength.yield_strength is not None:
        bears = np.minimum(bears, job.strength.yield_strength)
    return Utilization(
        code=LimitCode.TABLE_GRAB,
        demand=s.net_pull if loose else np.zeros_like(s.net_pull),
        capacity=table_friction(job) * np.ones_like(s.net_pull),
        unit="N",
        hard=False,
        facts={
            "loose": loose,
            "backlash": job.backlash,
            "grabbed": s.sigma_1 * grabbed_growth(cutting.case, job.backlash),
            "bears": bears,
        },
    )


def _collet(job: ResolvedJob, cutting: Cutting) -> Utilization:
    """Torque over a turn; the peak, which is told, makes a shank creep."""
    s = cutting.summary
    d = job.cutter.shank_diameter
    holder = holder_of(job)
    return Utilization(
        code=LimitCode.COLLET_SLIP,
        demand=s.mean_torque,
        capacity=grip(holder, d) * d / 2 * np.ones_like(s.mean_torque),
        unit="N*mm",
        hard=True,
        facts={"peak": s.torque, "holder": holder},
    )


def _resonance(cutting: Cutting) -> Utilization:
    passing = tooth_passing(cutting.case.teeth, np.asarray(cutting.speed, float))
    return resonance(passing, cutting.frequency, np.ones_like(cutting.summary.torque))


def _neck_on_wall(job: ResolvedJob, cutting: Cutting) -> list[Utilization]:
    """The neck bends until it leans on the throat wall; a neck that does not pass at all has a
    limit of its own.
    """
    s = cutting.summary
    ones = np.ones_like(s.deflection)
    gap = gap_beside_neck(job, cutting.passes, cutting.case.neck_diameter * ones)
    if not (gap > 0).any():
        return []
    return [
        Utilization(
            code=LimitCode.NECK_ON_WALL,
            demand=s.deflection,
            capacity=np.where(gap > 0, gap, np.inf),
            unit="mm",
            hard=False,
            facts={"touches": gap * s.stiffness},
        )
    ]


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


def _surface_speed(job: ResolvedJob, cutting: Cutting) -> Utilization:
    v = surface_speed(job, np.asarray(cutting.speed, float)) * np.ones_like(cutting.summary.torque)
    return Utilization(
        code=LimitCode.SURFACE_SPEED,
        demand=v,
        capacity=usual_speed(job) * np.ones_like(v),
        unit="mm/s",
        hard=False,
        facts={"blank": job.blank.title},
    )


def _blank(job: ResolvedJob, cutting: Cutting) -> list[Utilization]:
    HV = edge_hardness(job.blank, job.cutter.hardness)
    return blank_against_metal(job.work, job.blank, HV, np.ones_like(cutting.summary.torque))


def _handwheel(job: ResolvedJob, cutting: Cutting) -> list[Utilization]:
    passing = tooth_passing(cutting.case.teeth, np.asarray(cutting.speed, float))
    return handwheel(job, cutting.case.f_z * passing * np.ones_like(cutting.summary.torque))

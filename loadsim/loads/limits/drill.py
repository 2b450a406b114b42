"""What a twist drill of high-speed steel has to bear against what it can: torque, thrust, depth."""

from __future__ import annotations

import math

import numpy as np

from loadsim.loads.limits.utilization import LimitCode, Utilization
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials.law import metal_law
from loadsim.materials.load import load_work
from loadsim.materials.pooling import adhesion_factor
from loadsim.mechanics import drilling
from loadsim.mechanics.drilling import DEPTH_IN_DIAMETERS, DRILL_FEED
from loadsim.mechanics.stock import Hole, TopHole

#: Wear of a drill in normal use (MachinerysHandbook31, W). [1]
DRILL_WEAR = 1.30

#: Sine of half the point angle of a general-purpose drill, 118 degrees (ASME-B94-11M). [1]
SIN_HALF_POINT = math.sin(math.radians(59.0))


def drill_limits(
    K_torque: float, K_thrust: float, D: float, f: float, depth: float
) -> tuple[Utilization, ...]:
    """List what a drill has to bear against what it can: torque, thrust and depth.

    Parameters
    ----------
    K_torque : float
        The handbook's work material factor for the torque, inches and pounds. [1]
    K_thrust : float
        For the thrust. [1]
    D : float
        Drill diameter. [mm]
    f : float
        Feed per turn. [mm]
    depth : float
        Depth of the hole. [mm]

    Returns
    -------
    limits : tuple of Utilization
        Over 1 the drill does not hold.

    Raises
    ------
    ModelError
        If an input is not finite and above 0.
    """
    share = drilling.torque_share(depth, D)
    twist = drilling.torque_to_break(drilling.TORSION_STRENGTH, D)
    return (
        Utilization(
            code=LimitCode.DRILL_TORQUE,
            demand=drilling.torque(K_torque, f, D, DRILL_WEAR),
            capacity=share * twist,
            unit="N*mm",
            hard=True,
            facts={"share": float(share)},
        ),
        Utilization(
            code=LimitCode.DRILL_THRUST,
            demand=drilling.thrust(K_thrust, f, D, DRILL_WEAR),
            capacity=drilling.bearable_thrust(D, depth),
            unit="N",
            hard=True,
        ),
        Utilization(
            code=LimitCode.DRILL_DEPTH,
            demand=np.array(depth),
            capacity=np.array(DEPTH_IN_DIAMETERS * D),
            unit="mm",
            hard=True,
            fit=True,
        ),
    )


def drill_metal(job: ResolvedJob) -> str:
    """Title of the metal whose drill factors are brought to this one; "" where they are its own.

    Parameters
    ----------
    job : ResolvedJob
        Its material and ``[work]`` table.

    Returns
    -------
    title : str
    """
    reference = job.work.drill.reference
    if reference:
        return load_work(reference).title
    return "" if job.written.work.kc11 is None else job.work.title


def _over_reference(job: ResolvedJob, f: float) -> float:
    """Cutting force of this job over that of the metal its drill factors stand for, at the chip of
    the lips; 1 where they are its own. [1]
    """
    if not drill_metal(job):
        return 1.0
    h = np.array(f / 2 * SIN_HALF_POINT)
    reference = job.work.drill.reference
    metal = load_work(reference) if reference else job.work
    return float(job.metal.median.specific(h) / metal_law(metal.curves).median.specific(h))


def drill_checks(job: ResolvedJob, diameter: float, depth: float) -> tuple[Utilization, ...]:
    """What a high-speed-steel drill has to bear in this metal against what it can.

    Parameters
    ----------
    job : ResolvedJob
        Its material and the force law for it.
    diameter : float
        Drill diameter. [mm]
    depth : float
        Depth of the hole. [mm]

    Returns
    -------
    limits : tuple of Utilization
        Torque, thrust and depth; over 1 the drill does not hold.

    Notes
    -----
    Torque and thrust are those of the handbook's formula at the feed `DRILL_FEED`, with the wear of
    a drill and the adhesion of this lubrication. Factors of another metal, and those of a metal
    whose force constants the job gives, are multiplied by the ratio of the cutting forces.
    """
    f = DRILL_FEED * diameter
    work = job.written.work
    sticky = 1.0 if work.kc11 is not None else adhesion_factor(job.work, work.lubrication)
    scale = _over_reference(job, f) * sticky
    factors = job.work.drill
    return drill_limits(scale * factors.torque, scale * factors.thrust, diameter, f, depth)


def drilled_checks(
    job: ResolvedJob, holes: tuple[Hole | TopHole, ...], depth: float
) -> tuple[Utilization, ...]:
    """What the drill of these end holes has to bear.

    Parameters
    ----------
    job : ResolvedJob
        Its material and the force law for it.
    holes : tuple of Hole
        Equal ones; none of them has no checks.
    depth : float
        From each open end, or from the top. [mm]

    Returns
    -------
    limits : tuple of Utilization
    """
    return drill_checks(job, holes[0].diameter, depth) if holes else ()

"""What a twist drill of high-speed steel has to bear against what it can: torque, thrust, depth."""

from __future__ import annotations

import math

import numpy as np

from loadsim.base.ranges import positive
from loadsim.loads.limits.utilization import LimitCode, Utilization
from loadsim.loads.nominal import force_model
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials.pooling import adhesion_factor
from loadsim.mechanics import drilling
from loadsim.mechanics.drilling import DEPTH_IN_DIAMETERS, DRILL_FEED, TORQUE_SHARE
from loadsim.mechanics.stock import Hole

#: Wear of a drill in normal use (MachinerysHandbook31, W). [1]
DRILL_WEAR = 1.30


def drill_limits(
    k_c: float, ratio: float, D: float, f: float, depth: float
) -> tuple[Utilization, ...]:
    """List what a drill has to bear against what it can: torque, thrust and depth.

    Parameters
    ----------
    k_c : float
        Specific cutting force at the chip thickness of the lips, wear included. [MPa]
    ratio : float
        Force across a lip over its cutting force. [1]
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
    M = drilling.torque(positive("k_c", k_c, " MPa"), f, D)
    F = drilling.thrust(k_c, ratio, f, D)
    twist = TORQUE_SHARE * drilling.torque_to_break(drilling.TORSION_STRENGTH, D)
    return (
        Utilization(code=LimitCode.DRILL_TORQUE, demand=M, capacity=twist, unit="N*mm", hard=True),
        Utilization(
            code=LimitCode.DRILL_THRUST,
            demand=F,
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
    The force is that of this metal at the chip of the lips, at the feed `DRILL_FEED`, with the wear
    of a drill. The force across a lip is the metal's own share where that is known to be higher
    than `drilling.LIP_RATIO`.
    """
    f = DRILL_FEED * diameter
    work = job.written.work
    h = np.array(f / 2 * math.sin(drilling.HALF_POINT))
    sticky = 1.0 if work.kc11 is not None else adhesion_factor(job.work, work.lubrication)
    ratio = max(float(job.radial_measured.at(h)), drilling.LIP_RATIO)
    k_c = float(force_model(job, h).law.specific(h)) * DRILL_WEAR * sticky
    return drill_limits(k_c, ratio, diameter, f, depth)


def drilled_checks(
    job: ResolvedJob, holes: tuple[Hole, ...], depth: float
) -> tuple[Utilization, ...]:
    """What the drill of these end holes has to bear.

    Parameters
    ----------
    job : ResolvedJob
        Its material and the force law for it.
    holes : tuple of Hole
        Equal ones; none of them has no checks.
    depth : float
        From each open end. [mm]

    Returns
    -------
    limits : tuple of Utilization
    """
    return drill_checks(job, holes[0].diameter, depth) if holes else ()

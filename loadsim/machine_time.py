"""How long a way of making the undercut keeps the machine: cutting, setting up passes, drilling end holes."""

from __future__ import annotations

import math

from loadsim.case import Setup
from loadsim.drilling import DRILL_FEED
from loadsim.stock import Hole

#: Time on the machine beside cutting (common practice, no source). [s]
TOOL_CHANGE, HOLE_SETUP, PASS_SETUP = 180.0, 60.0, 20.0
#: Share of the surface speed for an end mill at which a drill runs; travel over depth, for pecking (common practice). [1]
DRILL_SPEED, PECKING = 0.5, 2.0


def drill_speed(setup: Setup, diameter: float) -> float:
    """Spindle speed for a drill.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    diameter : float
        Drill diameter. [mm]

    Returns
    -------
    speed : float
        [rad/s]
    """
    return min(DRILL_SPEED * setup.work.surface_speed_hi / (diameter / 2), setup.job.machine.max_spindle_speed)


def drilling_time(setup: Setup, holes: tuple[Hole, ...], depth: float) -> float:
    """Time to drill the end holes, the change of tools included.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    holes : tuple of Hole
        None of them takes no time.
    depth : float
        From each open end. [mm]

    Returns
    -------
    time : float
        [s]
    """
    if not holes:
        return 0.0
    D = holes[0].diameter
    each = PECKING * depth / (DRILL_FEED * D * drill_speed(setup, D) / (2 * math.pi)) + HOLE_SETUP
    ends = setup.job.slot.open_ends if depth < setup.job.slot.length else 1
    return TOOL_CHANGE + each * len(holes) * ends


def machine_time(setup: Setup, passes: int, rate: float, holes: tuple[Hole, ...] = (), depth: float = 0.0) -> float:
    """Time on the machine of one way of making the undercut.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    passes : int
        How many. [1]
    rate : float
        Table feed. [mm/s]
    holes : tuple of Hole
        End holes drilled before.
    depth : float
        Of the end holes, from each open end. [mm]

    Returns
    -------
    time : float
        [s]
    """
    travel = setup.job.slot.length + setup.job.cutter.head_diameter
    return travel * passes / rate + PASS_SETUP * passes + drilling_time(setup, holes, depth)

"""Stand-in until end holes bring their own drill checks and times; then this file goes and its names come from there.

TEMPORARY: `drill_checks` belongs to `predrill`, `DRILL_FEED` to `drilling`, the rest to `machine_time`. Torque only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loadsim import drilling
from loadsim.case import Setup, force_constants

#: Time on the machine beside cutting (common practice, no source). [s]
TOOL_CHANGE, HOLE_SETUP, PASS_SETUP = 180.0, 60.0, 20.0
#: Feed of a small twist drill, for each turn, over its diameter; share of the surface speed; travel over depth, for pecking. [1]
DRILL_FEED, DRILL_SPEED, PECKING = 0.015, 0.5, 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillCheck:
    """One thing that a drill has to bear."""

    name: str
    demand: float
    capacity: float
    unit: str
    utilization: float
    note: str


def drill_speed(setup: Setup, diameter: float) -> float:
    """Spindle speed for a drill. [rad/s]"""
    return min(DRILL_SPEED * setup.work.surface_speed_hi / (diameter / 2), setup.job.machine.max_spindle_speed)


def drill_checks(setup: Setup, diameter: float, depth: float) -> tuple[DrillCheck, ...]:
    """Torque against half of what breaks a drill; of its thrust nothing is said here."""
    f = DRILL_FEED * diameter
    h = np.array(f / 2 * math.sin(math.radians(59)))
    k_c11, m_c, _, _ = force_constants(setup, h)
    M, most = float(drilling.torque(k_c11 * h**-m_c, f, diameter)) * setup.force_factor, 0.5 * float(drilling.torque_to_break(1500.0, diameter))
    return (DrillCheck(name="drill torque", demand=M, capacity=most, unit="N*mm", utilization=M / most,
                       note=f"The drill is twisted with {M:.3g} N*mm for {depth:.3g} mm; half of what breaks it is {most:.3g} N*mm."),)  # fmt: skip

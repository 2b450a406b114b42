"""What has to fit together in the end mill of the throat slot."""

from __future__ import annotations

import math
from collections.abc import Callable

from loadsim.domain import Job
from loadsim.errors import Problem

#: Most steps of a side pass; more is a slip of the decimal point. [1]
MOST_STEPS = 30
#: Most depths of the throat slot; more is a slip of the decimal point too. [1]
MOST_LEVELS = 200


def mill_relations(job: Job, say: Callable[[float], str]) -> list[Problem]:
    """List what does not fit in [throat_mill].

    Parameters
    ----------
    job : Job
        The whole job.
    say : callable
        Writes a length.

    Returns
    -------
    problems : list of Problem
    """
    mill, slot, machine, rpm = job.throat_mill, job.slot, job.machine, 30 / math.pi
    found: list[Problem] = []
    if mill is None:
        return found
    depth = slot.depth if slot.throat_depth is None else slot.throat_depth

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[throat_mill] {key}", message=message))

    if mill.diameter > slot.throat_width * (1 + 1e-9):
        wrong("diameter", f"is {say(mill.diameter)}; it must not be over throat_width, {say(slot.throat_width)}")
    if mill.diameter * MOST_STEPS < slot.throat_width:
        wrong("diameter", f"is {say(mill.diameter)}; that makes over {MOST_STEPS} passes side by side, allowed is from "
              f"{say(slot.throat_width / MOST_STEPS)}")  # fmt: skip
    if mill.flute_length < depth * (1 - 1e-9):
        wrong("flute_length", f"is {say(mill.flute_length)}; the throat slot is {say(depth)} deep and the shank must stay out of it")
    if mill.stickout < mill.flute_length * (1 - 1e-9):
        wrong("stickout", f"is {say(mill.stickout)}; it runs from the collet to the tip, so it is at least flute_length, {say(mill.flute_length)}")
    if mill.corner_radius is not None and mill.corner_radius > mill.diameter / 2 * (1 + 1e-9):
        wrong("corner_radius", f"is {say(mill.corner_radius)}; it must not be over half the diameter, {say(mill.diameter / 2)}")
    low, high = machine.min_spindle_speed or 0.0, machine.max_spindle_speed
    if mill.spindle_speed is not None and not low * (1 - 1e-9) <= mill.spindle_speed <= high * (1 + 1e-9):
        wrong("spindle_speed", f"is {mill.spindle_speed * rpm:.5g} rpm; the machine runs {low * rpm:.5g} to {high * rpm:.5g} rpm")
    if mill.depth_per_pass is not None and not depth / MOST_LEVELS <= mill.depth_per_pass <= depth * (1 + 1e-9):
        wrong("depth_per_pass", f"is {say(mill.depth_per_pass)}; allowed is from {say(depth / MOST_LEVELS)} to the throat's depth, {say(depth)}")
    return found

"""How many passes and what feed per tooth a job may ask for."""

from __future__ import annotations

import math

from loadsim.domain import Slot
from loadsim.errors import Problem

#: Most passes of an undercut; more take minutes to work out and hours to make. [1]
MOST_PASSES = 100
#: Least and greatest feed per tooth, as for the key of that name. [mm/tooth]
FEEDS = (1e-5, 5.0)


def pass_count(slot: Slot, head_diameter: float, head_height: float, stepover: float | None) -> int:
    """How many passes an undercut takes, those that meet no metal counted.

    Parameters
    ----------
    slot : Slot
        The [slot] table.
    head_diameter : float
        Not over the undercut's width. [mm]
    head_height : float
        [mm]
    stepover : float or None
        Largest step of a side pass; None: each side in one step. [mm]

    Returns
    -------
    n : int
        [1]
    """
    heights = math.ceil(slot.undercut_height / head_height - 1e-9)
    if stepover is None:
        return heights * (3 if slot.sides == 2 and slot.undercut_width - head_diameter > (slot.width_tolerance or 0.0) + 1e-9 else 1)
    span = (slot.undercut_width - head_diameter) / 2 if slot.sides == 2 else slot.undercut_width - min(head_diameter, slot.throat_width)
    return heights * max(slot.sides * math.ceil(span / stepover - 1e-9) + slot.sides - 1, 1)


def feed_problems(where: str, rate: float, speed: float, teeth: int) -> list[Problem]:
    """List what is wrong with a table feed at a spindle speed: the feed per tooth that it makes is out of range.

    Parameters
    ----------
    where : str
        The key.
    rate : float
        Table feed. [mm/s]
    speed : float
        Spindle speed. [rad/s]
    teeth : int
        Number of teeth. [1]

    Returns
    -------
    problems : list of Problem
    """
    f_z, (least, most) = rate / (speed / (2 * math.pi) * teeth), FEEDS
    if least * (1 - 1e-9) <= f_z <= most * (1 + 1e-9):
        return []
    return [Problem(where=where, message=f"makes {f_z:.6g} mm/tooth at {speed * 30 / math.pi:.5g} rpm with {teeth} "
                    f"{'teeth' if teeth > 1 else 'tooth'}; allowed is {least:g} to {most:g} mm/tooth")]  # fmt: skip

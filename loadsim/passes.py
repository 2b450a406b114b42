"""The passes of the undercut: where each runs, which way, and the stock it meets."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from loadsim.case import CLEARANCE, Setup
from loadsim.domain import Job, Slot
from loadsim.relations import LEAST_UNDERCUT
from loadsim.stock import (
    Head,
    Hole,
    Section,
    Swept,
    pass_levels,
    pass_offsets,
    radial_width,
    reach_of_side_pass,
    removed_area,
)

Way = Literal["both", "conventional", "climb"]
#: General tolerance, medium class, by nominal size up to [mm] (ISO2768-1, table 1): plus and minus [mm]
GENERAL_TOLERANCE = ((3.0, 0.1), (6.0, 0.1), (30.0, 0.2), (120.0, 0.3), (400.0, 0.5), (1000.0, 0.8))


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One pass of the cutter along the slot, seen in the frame of its feed."""

    offset: float  #: of the cutter axis from the throat's centre line, as on the drawing [mm]
    level: float  #: of the head's lower face above the undercut floor [mm]
    direction: Way  #: how it cuts its wall; both when it cuts both sides at once
    section: Section  #: stock it meets, mirrored when the feed runs the other way
    swept: Swept  #: its path in that section
    radial_width: float  #: over which it meets metal [mm]
    area: float  #: of metal taken out of the section [mm^2]
    back: bool = False  #: fed the other way along the slot: from the far end to the one where the first pass starts


def holes_of(job: Job) -> tuple[Hole, ...]:
    """Return the end holes as the shop means to drill them."""
    p = job.predrill
    if p is None:
        return ()
    heights = p.heights if p.height is None else [p.height] * len(p.offsets)
    return tuple(Hole(offset=y, height=z, diameter=p.diameter) for y, z in zip(p.offsets, heights or (), strict=True))


def width_tolerance(slot: Slot) -> float:
    """Plus and minus on the undercut's width: that of the print, or the general tolerance. [mm]

    References
    ----------
    ISO2768-1 table 1, medium
    """
    if slot.width_tolerance is not None:
        return slot.width_tolerance
    return general_tolerance(slot.undercut_width)


def general_tolerance(size: float) -> float:
    """Plus and minus on a size that the print does not tolerance. [mm]

    References
    ----------
    ISO2768-1 table 1, medium
    """
    return next((t for most, t in GENERAL_TOLERANCE if size <= most), 1.2)


def full_width(setup: Setup) -> bool:
    """Whether a head on the centre line undercuts at all and leaves the width within its tolerance, so that no side pass is needed."""
    slot = setup.job.slot
    undercuts = 2 * setup.head.radius > slot.throat_width + LEAST_UNDERCUT / 2
    return slot.sides == 2 and undercuts and slot.undercut_width - 2 * setup.head.radius <= width_tolerance(slot) * (1 + 1e-9)


def axis_offsets(setup: Setup, stepover: float | None) -> list[float]:
    """Offsets of the cutter axis for one level of the undercut.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    stepover : float or None
        Largest step outward; None takes each side in one step. [mm]

    Returns
    -------
    offsets : list of float
        On the drawing, high side first. [mm]
    """
    low, high = setup.axis_limits
    if stepover is None and full_width(setup):
        return [0.0]
    if setup.job.slot.sides == 2:
        return pass_offsets(low, high, 0.0, stepover)
    if stepover is None:
        return [high]
    start = max(low, setup.section.throat_high - setup.head.radius)
    return pass_offsets(start, high, min(start + stepover, high), stepover)[: _outward(start, high, stepover)]


def _outward(start: float, high: float, stepover: float) -> int:
    first = min(start + stepover, high)
    return 1 + math.ceil((high - first) / stepover - 1e-9)


def passes(
    setup: Setup, stepover: float | None, direction: Literal["conventional", "climb"], holes: tuple[Hole, ...] = ()
) -> tuple[Pass, ...]:
    """Lay out the passes that make the whole undercut, floor first, centre line first.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    stepover : float or None
        Largest step outward; None takes each side in one step. [mm]
    direction : str
        How the side passes cut their wall.
    holes : tuple of Hole
        End holes drilled before.

    Returns
    -------
    passes : tuple of Pass
        Those that meet no metal are left out.
    """
    stock, found = replace(setup.section, holes=holes), []
    for level in pass_levels(setup.job.slot.undercut_height, setup.head.height):
        for offset in axis_offsets(setup, stepover):
            swept = Swept(head=setup.head, offset=offset, bottom=level)
            one = _pass(stock, swept, direction)
            if one.area > 1e-6:
                found.append(one)
                stock = stock.after(swept)
    return tuple(found)


def _pass(stock: Section, swept: Swept, direction: Literal["conventional", "climb"]) -> Pass:
    left, right = _reach_into_metal(stock, swept)
    both = left and right
    wall_high = right or not left
    # in the feed's frame a conventional wall lies at +y: turn the section round when it does not
    turned = not both and wall_high == (direction == "climb")
    section = stock.mirrored() if turned else stock
    path = Swept(head=swept.head, offset=-swept.offset, bottom=swept.bottom) if turned else swept
    return Pass(
        offset=swept.offset, level=swept.bottom, direction="both" if both else direction, section=section, swept=path,
        radial_width=radial_width(section, path), area=removed_area(section, path),
        back=turned,
    )  # fmt: skip


def _reach_into_metal(stock: Section, swept: Swept) -> tuple[bool, bool]:
    """Tell whether the pass meets metal at its low and at its high edge."""
    def sliver(side: int) -> float:
        # a thin head that occupies the outer hundredth of the path on that side
        r = swept.head.radius
        thin = Swept(head=Head(radius=0.01 * r, height=swept.head.height), offset=swept.offset + side * 0.985 * r,
                     bottom=swept.bottom)  # fmt: skip
        return removed_area(stock, thin)

    return sliver(-1) > 1e-9, sliver(+1) > 1e-9


def drop_in_hole(setup: Setup) -> float | None:
    """Least diameter of the hole that lets the head into a slot closed at both ends; None where none is needed. [mm]

    None is needed with an open end, or when the head itself goes down a throat that is milled to the undercut's floor.
    """
    slot, need = setup.job.slot, setup.job.cutter.head_diameter + 2 * CLEARANCE
    passes_down = need <= slot.throat_width + 1e-9 and setup.section.throat_floor <= 1e-9
    return None if slot.open_ends > 0 or passes_down else need


def side_reach(setup: Setup) -> float:
    """Farthest offset at which the neck clears the throat. [mm]"""
    job = setup.job
    return float(reach_of_side_pass(job.slot.throat_width, job.cutter.neck_diameter, CLEARANCE))


def widest_undercut(setup: Setup) -> float:
    """Widest undercut that this cutter reaches through this throat. [mm]"""
    slot, reach = setup.job.slot, max(side_reach(setup), 0.0)
    if slot.sides == 2:
        return setup.job.cutter.head_diameter + 2 * reach
    return slot.throat_width / 2 + reach + setup.head.radius

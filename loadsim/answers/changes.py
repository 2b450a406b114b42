"""Changes that clear one thing that is over capacity: room for the neck first, then speed and
direction.
"""

from __future__ import annotations

import math
from typing import Any

from loadsim.base import units
from loadsim.base.numbers import step_down, step_up, two_figures_down
from loadsim.loads.assumptions import CLEARANCE
from loadsim.loads.cut import Picked
from loadsim.loads.limits.utilization import LimitCode
from loadsim.loads.passes import Pass
from loadsim.loads.resolved_job import ResolvedJob

Change = tuple[str, dict[str, Any]]


def _show(job: ResolvedJob, x: float) -> str:
    return units.show(x, "length", job.units)


def making_room(job: ResolvedJob, laid: tuple[Pass, ...], over: set[LimitCode]) -> list[Change]:
    """List changes each of which gives the cutter room where it runs into metal.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    laid : tuple of Pass
        The passes.
    over : set of LimitCode
        The clearances that are missing.

    Returns
    -------
    changes : list of (str, dict)
        What to do in words, and as changes to the job; empty when nothing gives room.
    """
    throat = {LimitCode.NECK_IN_THROAT, LimitCode.FILLET_IN_THROAT, LimitCode.REACH_OF_SIDE_PASSES}
    common, words = _common(job, over - throat)
    if not over & throat:
        return [(_sentence(words), common)] if common else []
    offset = max(math.fabs(p.offset) for p in laid)
    return [
        (_sentence([text, *words]), changes | common)
        for text, changes in (*_by_cutter(job, offset), *_by_print(job, offset))
    ]


def _sentence(words: list[str]) -> str:
    text = "; ".join(words)
    return text[0].upper() + text[1:]


def _common(job: ResolvedJob, over: set[LimitCode]) -> tuple[dict[str, Any], list[str]]:
    """What clears everything but the throat's walls."""
    slot = job.slot
    c = job.cutter
    words = []
    found: dict[str, Any] = {}
    if LimitCode.SHOULDER_ABOVE_SURFACE in over:
        long = step_up(slot.depth - c.head_height + CLEARANCE)
        found |= {"cutter.neck_length": long, "cutter.stickout": c.stickout + long - c.neck_length}
        words.append(f"grind the neck {_show(job, long)} long")
    if LimitCode.NECK_ABOVE_THROAT_FLOOR in over:
        found["slot.throat_depth"] = slot.depth
        words.append("mill the throat to its full depth first")
    if over & {LimitCode.DROP_IN_HOLE, LimitCode.HEAD_BETWEEN_THE_ENDS}:
        small = step_down(slot.length - 2 * CLEARANCE)
        found["cutter.head_diameter"] = small
        words.append(
            f"grind the head to {_show(job, small)}, which goes in between the closed ends"
        )
    return found, words


def _by_cutter(job: ResolvedJob, offset: float) -> list[Change]:
    """The thickest neck for this head, the smallest head for this neck, and the largest head with
    the thickest neck for it.
    """
    # the fillet passes the throat's corners too
    slot = job.slot
    c = job.cutter
    gap = max(CLEARANCE, job.fillet)
    wide = slot.undercut_width
    half = slot.throat_width / 2
    reach = half - c.neck_diameter / 2 - gap
    found: list[Change] = []
    thick = step_down(slot.throat_width - 2 * (offset + gap))
    if thick > 0:
        found.append(
            (
                (
                    f"grind the neck to {_show(job, thick)}, the thickest that passes the throat"
                    " with this head"
                ),
                {"cutter.neck_diameter": thick},
            )
        )
    head = wide - 2 * reach if slot.sides == 2 else 2 * (wide - half - reach)
    if reach > 0 and head <= wide:
        head = min(step_up(head), wide)
        found.append(
            (
                f"grind a head of {_show(job, head)}, the smallest that reaches with this neck",
                {"cutter.head_diameter": head},
            )
        )
    most = 0.0 if slot.sides == 2 else (wide - slot.throat_width) / 2
    neck = min(step_down(slot.throat_width - 2 * (most + gap)), c.shank_diameter)
    if neck > 0 and most < offset:
        found.append(
            (
                (
                    f"grind a head of {_show(job, wide)} on a neck of {_show(job, neck)}, the"
                    " largest that fit"
                ),
                {"cutter.head_diameter": wide, "cutter.neck_diameter": neck},
            )
        )
    return found


def _by_print(job: ResolvedJob, offset: float) -> list[Change]:
    slot = job.slot
    c = job.cutter
    gap = max(CLEARANCE, job.fillet)
    need = c.neck_diameter + 2 * (offset + gap)
    if slot.sides == 1:  # a wider throat moves its centre line, and the axis comes nearer to it
        need = slot.undercut_width - job.head.radius + c.neck_diameter / 2 + gap
    need = step_up(need)
    if need >= slot.undercut_width:
        return []
    return [
        (
            f"ask whether the print allows a throat of {_show(job, need)}",
            {"slot.throat_width": need},
        )
    ]


def for_limits(
    job: ResolvedJob, used: dict[LimitCode, float], speed: float, f_z: float
) -> list[Change]:
    """List changes of speed and direction for the hard limits they move.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    used : dict
        Utilization of the hard limits over capacity. [1]
    speed : float
        Spindle speed. [rad/s]
    f_z : float
        Feed per tooth. [mm]

    Returns
    -------
    changes : list of (str, dict)
    """
    found: list[Change] = []
    too_fast = max(used.get(c, 0.0) for c in (LimitCode.RESONANCE, LimitCode.SPINDLE_TORQUE))
    if too_fast:
        slow = two_figures_down(units.to_unit(speed / too_fast, "rpm", "angular speed"))
        found.append(
            (
                f"Run at {slow:g} rpm with the same feed per tooth",
                {
                    "cut.spindle_speed": units.from_unit(slow, "rpm", "angular speed"),
                    "cut.feed_per_tooth": f_z,
                    "cut.feed_rate": None,
                },
            )
        )
    if LimitCode.TABLE_GRAB in used and job.cut.direction == "climb":
        found.append(("Cut conventionally", {"cut.direction": "conventional"}))
    return found


#: Blanks that bear more, tried as advice: name under materials/, what to call it.
TOUGHER = (
    ("hss-m4-pm", "powder-metal high-speed steel (M4)"),
    ("carbide-fine", "fine-grain carbide"),
)


def changes_of(resolved: ResolvedJob, picked: Picked) -> list[tuple[str, dict[str, Any]]]:
    """Changes of one thing each that fit the slot."""
    job = resolved.written
    c = resolved.cutter
    slot = resolved.slot
    found: list[tuple[str, dict[str, Any]]] = []

    def show(x: float) -> str:
        return units.show(x, "length", job.job.units)

    low, high = resolved.axis_limits
    offset = max(math.fabs(high), math.fabs(low) if slot.sides == 2 else 0.0)
    # for the neck, and where it leaves the head for its fillet beside it
    room = slot.throat_width - 2 * (offset + CLEARANCE)
    thick = min(room - 2 * resolved.fillet, c.head_diameter, c.shank_diameter)
    if thick > c.neck_diameter * 1.02:
        found.append(
            (
                (
                    f"Grind the neck to {show(thick)}, the thickest that passes the throat with its"
                    " fillet"
                ),
                {"cutter.neck_diameter": thick},
            )
        )
    short = slot.depth - c.head_height + CLEARANCE
    if short < c.neck_length * 0.98:
        found.append((f"Shorten the neck to {show(short)}", {"cutter.neck_length": short}))
    step = (c.shank_diameter - c.neck_diameter) / 2
    larger = min(step, 0.5, c.neck_diameter / 2, (room - c.neck_diameter) / 2)
    if step > 0.05 and resolved.fillet < 0.9 * larger:
        found.append((f"Give the neck a fillet of {show(larger)}", {"cutter.neck_fillet": larger}))
    if resolved.runout > 0.004:
        found.append((f"Bring the runout down to {show(0.003)} radial", {"cutter.runout": 0.003}))
    half = max(picked.f_z / 2, resolved.h_min)
    if half < 0.9 * picked.f_z:
        shown = units.show(half, "feed per tooth", job.job.units)
        found.append((f"Feed slower, {shown}", {"cut.feed_per_tooth": half, "cut.feed_rate": None}))
    if job.work.lubrication in ("dry", "brush"):
        found.append(("Flood the cut and clear the chips", {"work.lubrication": "flood"}))
    if c.head_height > 0.6 * slot.undercut_height:
        thin = c.head_height / 2
        found.append(
            (
                f"Grind the head {show(thin)} high and take two heights",
                {"cutter.head_height": thin, "cutter.neck_length": c.neck_length + thin},
            )
        )
    if slot.throat_depth is not None and slot.throat_depth < slot.depth:
        found.append(("Mill the throat to its full depth first", {"slot.throat_depth": slot.depth}))
    for name, title in TOUGHER:
        if name != c.material:
            found.append(
                (f"Grind it from {title}", {"cutter.material": name, "cutter.hardness": None})
            )
    return found

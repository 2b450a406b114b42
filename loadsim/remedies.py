"""Changes that clear one thing that is over capacity: room for the neck first, then speed and direction."""

from __future__ import annotations

import math
from typing import Any

from loadsim import units
from loadsim.case import CLEARANCE, Setup
from loadsim.passes import Pass
from loadsim.settings import two_figures_down

Change = tuple[str, dict[str, Any]]
#: Sizes are rounded to this, to the safe side. [mm]
STEP = 0.01


def _up(x: float) -> float:
    return round(math.ceil(x / STEP - 1e-9) * STEP, 9)


def _down(x: float) -> float:
    return round(math.floor(x / STEP + 1e-9) * STEP, 9)


def _show(s: Setup, x: float) -> str:
    return units.show(x, "length", s.job.job.units)


def making_room(s: Setup, laid: tuple[Pass, ...], over: set[str]) -> list[Change]:
    """List changes each of which gives the cutter room where it runs into metal.

    Parameters
    ----------
    s : Setup
        The job, resolved.
    laid : tuple of Pass
        The passes.
    over : set of str
        Names of the clearances that are missing.

    Returns
    -------
    changes : list of (str, dict)
        What to do in words, and as changes to the job; empty when nothing gives room.
    """
    throat = {"neck in throat", "fillet in throat", "reach of side passes"}
    common, words = _common(s, over - throat)
    if not over & throat:
        return [(_sentence(words), common)] if common else []
    offset = max(math.fabs(p.offset) for p in laid)
    return [(_sentence([text, *words]), changes | common) for text, changes in (*_by_cutter(s, offset), *_by_print(s, offset))]


def _sentence(words: list[str]) -> str:
    text = "; ".join(words)
    return text[0].upper() + text[1:]


def _common(s: Setup, over: set[str]) -> tuple[dict[str, Any], list[str]]:
    """What clears everything but the throat's walls."""
    slot, c, words = s.job.slot, s.job.cutter, []
    found: dict[str, Any] = {}
    if "shoulder above surface" in over:
        long = _up(slot.depth - c.head_height + CLEARANCE)
        found |= {"cutter.neck_length": long, "cutter.stickout": c.stickout + long - c.neck_length}
        words.append(f"grind the neck {_show(s, long)} long")
    if "neck above throat floor" in over:
        found["slot.throat_depth"] = slot.depth
        words.append("mill the throat to its full depth first")
    if over & {"drop-in hole", "head between the ends"}:
        small = _down(slot.length - 2 * CLEARANCE)
        found["cutter.head_diameter"] = small
        words.append(f"grind the head to {_show(s, small)}, which goes in between the closed ends")
    return found, words


def _by_cutter(s: Setup, offset: float) -> list[Change]:
    """The thickest neck for this head, the smallest head for this neck, and the largest head with the thickest neck for it."""
    slot, c, gap = s.job.slot, s.job.cutter, max(CLEARANCE, s.fillet)  # the fillet passes the throat's corners too
    wide, half = slot.undercut_width, slot.throat_width / 2
    reach = half - c.neck_diameter / 2 - gap
    found: list[Change] = []
    thick = _down(slot.throat_width - 2 * (offset + gap))
    if thick > 0:
        found.append((f"grind the neck to {_show(s, thick)}, the thickest that passes the throat with this head", {"cutter.neck_diameter": thick}))
    head = wide - 2 * reach if slot.sides == 2 else 2 * (wide - half - reach)
    if reach > 0 and head <= wide:
        head = min(_up(head), wide)
        found.append((f"grind a head of {_show(s, head)}, the smallest that reaches with this neck", {"cutter.head_diameter": head}))
    most = 0.0 if slot.sides == 2 else (wide - slot.throat_width) / 2
    neck = min(_down(slot.throat_width - 2 * (most + gap)), c.shank_diameter)
    if neck > 0 and most < offset:
        found.append((f"grind a head of {_show(s, wide)} on a neck of {_show(s, neck)}, the largest that fit", {
            "cutter.head_diameter": wide, "cutter.neck_diameter": neck}))
    return found


def _by_print(s: Setup, offset: float) -> list[Change]:
    slot, c = s.job.slot, s.job.cutter
    gap = max(CLEARANCE, s.fillet)
    need = c.neck_diameter + 2 * (offset + gap)
    if slot.sides == 1:  # a wider throat moves its centre line, and the axis comes nearer to it
        need = slot.undercut_width - s.head.radius + c.neck_diameter / 2 + gap
    need = _up(need)
    if need >= slot.undercut_width:
        return []
    return [(f"ask whether the print allows a throat of {_show(s, need)}", {"slot.throat_width": need})]


def for_limits(s: Setup, used: dict[str, float], speed: float, f_z: float) -> list[Change]:
    """List changes of speed and direction for the hard limits they move.

    Parameters
    ----------
    s : Setup
        The job, resolved.
    used : dict
        Name to utilization of the hard limits over capacity. [1]
    speed : float
        Spindle speed. [rad/s]
    f_z : float
        Feed per tooth. [mm]

    Returns
    -------
    changes : list of (str, dict)
    """
    found: list[Change] = []
    if "resonance" in used or "spindle torque" in used:
        slow = two_figures_down(units.to_unit(speed / max(used.get("resonance", 1.0), used.get("spindle torque", 1.0)), "rpm", "angular speed"))
        found.append((f"Run at {slow:g} rpm with the same feed per tooth", {
            "cut.spindle_speed": units.from_unit(slow, "rpm", "angular speed"), "cut.feed_per_tooth": f_z, "cut.feed_rate": None}))
    if "table grab" in used and s.job.cut.direction == "climb":
        found.append(("Cut conventionally", {"cut.direction": "conventional"}))
    return found

"""Changes that help a cut: room where there is none, then one thing at a time, the most doable
first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from loadsim.base import shop, units
from loadsim.base.numbers import step_down, step_up, two_figures_down
from loadsim.loads.assumptions import CLEARANCE, DEFAULT_EDGE_RADIUS, SKEW_ADVISED, STONED_LAND
from loadsim.loads.cut import Picked, written_passes
from loadsim.loads.limits.clearances import farthest_offset, largest_fillet, thickest_neck
from loadsim.loads.limits.utilization import LimitCode
from loadsim.loads.passes import Pass
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.words.passes import dialled

#: What to do in words, and as changes to the job.
Change = tuple[str, dict[str, Any]]

#: Blanks that bear more, tried as advice: name under materials/, what to call it.
TOUGHER = (
    ("hss-m4-pm", "powder-metal high-speed steel (M4)"),
    ("carbide-fine", "fine-grain carbide"),
)

#: The usual hardened blank, tried where one is too soft.
HARDENED = ("hss-m2", "high-speed steel (M2)")

#: Spindle speed that is tried as advice, over that of the cut. [1]
SLOWER = 0.6

#: Limits that a slower spindle moves.
SPEED_BOUND = (LimitCode.RESONANCE, LimitCode.SPINDLE_TORQUE, LimitCode.SURFACE_SPEED)


def _show(job: ResolvedJob, length: float) -> str:
    return units.show(length, "length", job.units)


def making_room(job: ResolvedJob, cut: tuple[Pass, ...], over: set[LimitCode]) -> list[Change]:
    """List changes each of which gives the cutter room where it runs into metal.

    Parameters
    ----------
    job : ResolvedJob
        Its slot and cutter.
    cut : tuple of Pass
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
    offset = farthest_offset(cut)
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
    cutter = job.cutter
    words = []
    changes: dict[str, Any] = {}
    if LimitCode.SHOULDER_ABOVE_SURFACE in over:
        neck_length = step_up(slot.depth - cutter.head_height + CLEARANCE)
        changes["cutter.neck_length"] = neck_length
        changes["cutter.stickout"] = cutter.stickout + neck_length - cutter.neck_length
        words.append(f"grind the neck {_show(job, neck_length)} long")
    if LimitCode.NECK_ABOVE_THROAT_FLOOR in over:
        changes["slot.throat_depth"] = slot.depth
        words.append("mill the throat to its full depth first")
    if over & {LimitCode.DROP_IN_HOLE, LimitCode.HEAD_BETWEEN_THE_ENDS}:
        head = step_down(slot.length - 2 * CLEARANCE)
        changes["cutter.head_diameter"] = head
        words.append(f"grind the head to {_show(job, head)}, which goes in between the closed ends")
    return changes, words


def _by_cutter(job: ResolvedJob, offset: float) -> list[Change]:
    """The thickest neck for this head, the smallest head for this neck, and the largest head with
    the thickest neck for it.
    """
    return [*_thicker_neck(job, offset), *_smaller_head(job), *_largest_head(job, offset)]


def _gap(job: ResolvedJob) -> float:
    """Room beside the neck: the fillet passes the throat's corners too. [mm]"""
    return max(CLEARANCE, job.head_fillet)


def _thickest_neck(job: ResolvedJob, offset: float, head_diameter: float) -> float:
    return thickest_neck(
        throat_width=job.slot.throat_width,
        offset=offset,
        fillet=job.head_fillet,
        head_diameter=head_diameter,
        shank_diameter=job.cutter.shank_diameter,
    )


def _thicker_neck(job: ResolvedJob, offset: float) -> list[Change]:
    neck = step_down(_thickest_neck(job, offset, job.cutter.head_diameter))
    if neck <= 0:
        return []
    text = f"grind the neck to {_show(job, neck)}, the thickest that passes the throat"
    return [(f"{text} with this head", {"cutter.neck_diameter": neck})]


def _smaller_head(job: ResolvedJob) -> list[Change]:
    slot = job.slot
    wide = slot.undercut_width
    half = slot.throat_width / 2
    reach = half - job.cutter.neck_diameter / 2 - _gap(job)
    head = wide - 2 * reach if slot.sides == 2 else 2 * (wide - half - reach)
    if reach <= 0 or head > wide:
        return []
    head = min(step_up(head), wide)
    text = f"grind a head of {_show(job, head)}, the smallest that reaches with this neck"
    return [(text, {"cutter.head_diameter": head})]


def _largest_head(job: ResolvedJob, offset: float) -> list[Change]:
    slot = job.slot
    wide = slot.undercut_width
    least_offset = 0.0 if slot.sides == 2 else (wide - slot.throat_width) / 2
    neck = step_down(_thickest_neck(job, least_offset, wide))
    if neck <= 0 or least_offset >= offset:
        return []
    text = (
        f"grind a head of {_show(job, wide)} on a neck of {_show(job, neck)}, the largest that fit"
    )
    return [(text, {"cutter.head_diameter": wide, "cutter.neck_diameter": neck})]


def _by_print(job: ResolvedJob, offset: float) -> list[Change]:
    slot = job.slot
    neck = job.cutter.neck_diameter
    throat = neck + 2 * (offset + _gap(job))
    if slot.sides == 1:  # a wider throat moves its centre line, and the axis comes nearer to it
        throat = slot.undercut_width - job.head.radius + neck / 2 + _gap(job)
    throat = step_up(throat)
    if throat >= slot.undercut_width:
        return []
    text = f"ask whether the print allows a throat of {_show(job, throat)}"
    return [(text, {"slot.throat_width": throat})]


def changes_of(
    job: ResolvedJob, picked: Picked, over: Mapping[LimitCode, float], room: Sequence[Change] = ()
) -> list[Change]:
    """List changes of one thing each, the most doable first: what is turned at the machine, then
    what is measured, milled, ground or stoned, then another blank.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, metal and [cut].
    picked : Picked
        Speed and feed of the cut.
    over : mapping
        The limits that do not hold as a go asks, with their use. [1]
    room : sequence of (str, dict)
        Changes that give the cutter room, to stand among the others.

    Returns
    -------
    changes : list of (str, dict)
    """
    return [
        *_to_the_settings(job, picked, over),
        *_to_the_cut(job),
        *_to_what_is_known(job),
        *room,
        *_to_the_throat(job),
        *_to_the_neck(job, picked),
        *_to_the_head(job),
        *_to_the_edges(job),
        *_to_the_ends(job),
        *_to_the_blank(job, LimitCode.BLANK_AGAINST_METAL in over),
    ]


def slower_feed(job: ResolvedJob, f_z: float, speed: float) -> Change:
    """The change to another feed per tooth [mm] at a spindle speed [rad/s]."""
    text = f"Feed slower, {dialled(job, f_z, speed)}"
    return text, {"cut.feed_per_tooth": f_z, "cut.feed_rate": None}


def _to_the_settings(
    job: ResolvedJob, picked: Picked, over: Mapping[LimitCode, float]
) -> list[Change]:
    """Speed and direction, for the limits they move."""
    changes: list[Change] = []
    excess = max(over.get(code, 0.0) for code in SPEED_BOUND)
    if excess > 1:
        rpm = two_figures_down(units.to_unit(picked.speed / excess, "rpm", "angular speed"))
        slower = {
            "cut.spindle_speed": units.from_unit(rpm, "rpm", "angular speed"),
            "cut.feed_per_tooth": picked.f_z,
            "cut.feed_rate": None,
        }
        at = units.from_unit(rpm, "rpm", "angular speed")
        changes.append((f"Run at {rpm:g} rpm, fed {dialled(job, picked.f_z, at)}", slower))
    if LimitCode.RUBBING in over:
        more = 1.02 * over[LimitCode.RUBBING] * picked.f_z
        text = f"Feed more, {dialled(job, more, picked.speed)}"
        changes.append((text, {"cut.feed_per_tooth": more, "cut.feed_rate": None}))
    if job.cut.direction == "climb":
        changes.append(("Cut the sides conventionally", {"cut.direction": "conventional"}))
    if excess <= 1:
        changes += _softer_blows(job, picked)
    return changes


def _softer_blows(job: ResolvedJob, picked: Picked) -> list[Change]:
    """A slower spindle at the same feed per tooth: the teeth bite less suddenly."""
    least = job.machine.min_spindle_speed or 0.0
    rpm = two_figures_down(units.to_unit(SLOWER * picked.speed, "rpm", "angular speed"))
    speed = units.from_unit(rpm, "rpm", "angular speed")
    if speed < least or not rpm:
        return []
    settings = {"cut.spindle_speed": speed, "cut.feed_per_tooth": picked.f_z, "cut.feed_rate": None}
    return [(f"Run at {rpm:g} rpm, fed {dialled(job, picked.f_z, speed)}", settings)]


def _to_the_cut(job: ResolvedJob) -> list[Change]:
    """Lubrication and runout."""
    changes: list[Change] = []
    if job.written.work.lubrication in ("dry", "brush"):
        changes.append(("Flood the cut and clear the chips", {"work.lubrication": "flood"}))
    if job.runout > 0.004:
        text = f"Bring the runout down to {shop.fine(0.003, job.units)} radial"
        changes.append((text, {"cutter.runout": 0.003}))
    return changes


def _to_what_is_known(job: ResolvedJob) -> list[Change]:
    """A fillet that was assumed, measured."""
    if job.written.cutter.neck_fillet is not None:
        return []
    text = (
        f"Measure the fillet at the neck's ends and write it into the job: if it is"
        f" {_show(job, job.fillet)}, as was assumed"
    )
    return [(text, {"cutter.neck_fillet": job.fillet})]


def _to_the_throat(job: ResolvedJob) -> list[Change]:
    slot = job.slot
    if slot.throat_depth is None or slot.throat_depth >= slot.depth:
        return []
    return [("Mill the throat to its full depth first", {"slot.throat_depth": slot.depth})]


def _to_the_neck(job: ResolvedJob, picked: Picked) -> list[Change]:
    """Its fillet, which is the cheapest strength there is, its diameter and its length."""
    cutter = job.cutter
    slot = job.slot
    changes: list[Change] = []
    offset = farthest_offset(written_passes(job, picked.stepover))
    step = (cutter.shank_diameter - cutter.neck_diameter) / 2
    passing = largest_fillet(
        throat_width=slot.throat_width,
        offset=offset,
        neck_diameter=cutter.neck_diameter,
        head_diameter=cutter.head_diameter,
    )
    fillet = step_down(min(step, 0.5, cutter.neck_diameter / 2, passing))
    ends = {"cutter.neck_fillet": job.fillet}
    if cutter.head_fillet is not None:
        ends["cutter.head_fillet"] = cutter.head_fillet
    if step > 0.05 and min(job.fillet, job.head_fillet) < 0.9 * fillet:
        text = f"Give the neck a fillet of {_show(job, fillet)}"
        changes.append((text, {key: max(r, fillet) for key, r in ends.items()}))
    thick = step_down(_thickest_neck(job, offset, cutter.head_diameter))
    if thick > cutter.neck_diameter * 1.02:
        text = (
            f"Grind the neck to {_show(job, thick)}, the thickest that passes the throat with its"
            " fillet"
        )
        changes.append((text, {"cutter.neck_diameter": thick}))
    short = step_up(slot.depth - cutter.head_height + CLEARANCE)
    if short < cutter.neck_length * 0.98:
        changes.append((f"Shorten the neck to {_show(job, short)}", {"cutter.neck_length": short}))
    return changes


def _to_the_head(job: ResolvedJob) -> list[Change]:
    """The head's height."""
    cutter = job.cutter
    if cutter.head_height <= 0.6 * job.slot.undercut_height:
        return []
    thin = cutter.head_height / 2
    change = {"cutter.head_height": thin, "cutter.neck_length": cutter.neck_length + thin}
    return [(f"Grind the head {_show(job, thin)} high and take two heights", change)]


def _to_the_edges(job: ResolvedJob) -> list[Change]:
    """Edges that bite along their length at once, blunter or more worn than a fresh stone leaves
    them.
    """
    leaning = []
    if (job.cutter.edge_skew or 0.0) < SKEW_ADVISED / 2:
        text = f"Grind the edges {units.show(SKEW_ADVISED, 'angle', job.units)} askew to the axis"
        leaning = [(text, {"cutter.edge_skew": SKEW_ADVISED})]
    fresh: dict[str, Any] = {}
    if job.edge_radius > DEFAULT_EDGE_RADIUS:
        fresh["cutter.edge_radius"] = DEFAULT_EDGE_RADIUS
    if (job.cutter.wear or 0.0) > STONED_LAND:
        fresh["cutter.wear"] = STONED_LAND / 2
    return [*leaning, *([("Stone the edges", fresh)] if fresh else [])]


def _to_the_ends(job: ResolvedJob) -> list[Change]:
    """End holes, as the job gives them or as they are laid out for it."""
    if job.cut.predrill or not job.slot.open_ends:
        return []
    return [("Drill end holes along the slot before the throat is milled", {"cut.predrill": True})]


def _to_the_blank(job: ResolvedJob, soft: bool) -> list[Change]:
    return [
        (f"Grind it from {title}", {"cutter.material": name, "cutter.hardness": None})
        for name, title in ((HARDENED, *TOUGHER) if soft else TOUGHER)
        if name != job.cutter.material
    ]

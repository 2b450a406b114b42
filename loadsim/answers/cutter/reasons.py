"""Why each dimension of a proposed cutter is what it is, and what to know about those that were
given.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from loadsim.answers.cutter.neck import Passage
from loadsim.answers.cutter.rules import (
    COLLET_ROOM,
    TOOTH_COST,
    CutterLayout,
    farthest_offset_of,
    offset_of,
)
from loadsim.answers.cutter.steps import step_either_way
from loadsim.answers.cutter.texts import step_of
from loadsim.answers.results import Plan
from loadsim.base import units
from loadsim.job.cutter_geometry import shoulder_fillet
from loadsim.job.read import Draft
from loadsim.job.tolerances import width_tolerance
from loadsim.loads.assumptions import CLEARANCE
from loadsim.loads.limits.utilization import LimitCode
from loadsim.loads.resolve import resolve


def _show(plan: Plan) -> Callable[[float], str]:
    return lambda length: units.show(length, "length", plan.job.job.units)


def reason(draft: Draft, plan: Plan, path: str, layout: CutterLayout) -> str:
    """Say why a dimension is what it is.

    Parameters
    ----------
    draft : Draft
        The job as given.
    plan : Plan
        Of the cutter proposed.
    path : str
        "table.key".
    layout : CutterLayout
        The layout chosen.

    Returns
    -------
    reason : str
    """
    key = path.split(".")[1]
    if key == "head_diameter":
        return _head(plan)
    if key == "head_height":
        return _height(draft, plan, layout)
    if key in ("neck_diameter", "neck_fillet", "head_fillet"):
        return _neck(draft, plan, key)
    if key in ("gullet_depth", "teeth"):
        return _teeth(plan, key)
    return (_cutter_reasons(plan) | _grind_reasons(plan))[key]


def _cutter_reasons(plan: Plan) -> dict[str, str]:
    show = _show(plan)
    return {
        "neck_length": (
            f"the shortest that keeps the shank's shoulder {show(CLEARANCE)} off the surface: depth"
            " less head height, rounded up"
        ),
        "shank_diameter": "the thinnest stock blank that the head can be ground from",
        "stickout": (
            f"as short as it goes: neck and head, and {show(COLLET_ROOM)} to see the cut and blow"
            " the chips out"
        ),
        "rake": "usual for this metal (common practice, no source)",
        "face_offset": "as given: with the head's radius it makes the rake",
        "relief": (
            "usual for this metal (common practice, no source); less makes a stronger edge, more"
            " keeps a small head from rubbing"
        ),
        "edge_skew": (
            "an edge that leans bites one end first and the neck does not ring; it costs a swivel"
            " of the indexing head"
        ),
    }


def _grind_reasons(plan: Plan) -> dict[str, str]:
    return {
        "land": "a twentieth of the head: enough to stone twice; a wide land rubs",
        "secondary_relief": (
            "12 deg steeper than the relief, so that the land is a line you can see"
        ),
        "secondary_land": (
            "of the widths tried, the one that leaves the strongest tooth once the heel is off"
        ),
        "heel_relief": (
            f"the least that takes the heel of {plan.job.cutter.teeth} teeth below the circle of"
            " the edges"
        ),
    }


def wall_error(plan: Plan) -> float:
    """How far runout and deflection set a wall off. [mm]"""
    return next(x.demand for x in plan.result.limits if x.name == LimitCode.WALL_ERROR)


def _head(plan: Plan) -> str:
    show = _show(plan)
    slot = plan.job.slot
    cutter = plan.job.cutter
    offset = offset_of(slot, cutter.head_diameter)
    if slot.sides == 1:
        return (
            "as wide as the undercut lets it, clear of the plain wall: the axis runs"
            f" {show(offset)} off the throat's centre"
        )
    tolerance = width_tolerance(slot)
    growth = 2 * wall_error(plan)
    if offset > 0:
        why = (
            "the blank is no wider"
            if cutter.head_diameter > cutter.shank_diameter - 0.02
            else "the smaller head loads the neck less"
        )
        return (
            f"narrower than the undercut, because {why}; side passes {show(offset)} off centre"
            " finish the width"
        )
    return (
        f"the undercut's {show(slot.undercut_width)} less what the cut grows by: runout and"
        f" deflection, at most {show(growth)} over both walls; it comes out"
        f" {show(cutter.head_diameter)} to {show(cutter.head_diameter + growth)}, asked"
        f" {show(slot.undercut_width - tolerance)} to {show(slot.undercut_width + tolerance)}"
    )


def _height(draft: Draft, plan: Plan, layout: CutterLayout) -> str:
    show = _show(plan)
    undercut_height = show(plan.job.slot.undercut_height)
    heights = len({step["height_mm"] for step in plan.result.settings.passes})
    if heights == 1:
        return (
            f"the undercut's own height of {undercut_height}: floor and roof come out in one height"
        )
    if "head_height" not in layout.settled:
        return (
            f"{heights} heights for an undercut of {undercut_height}, because no cut at full height"
            " is a go"
        )
    step = show(step_either_way("head_height", draft.job.job.units))
    return (
        f"{heights} heights for an undercut of {undercut_height}: a lower head loads the neck less,"
        f" and of heights {step} apart this is the one from which no step is better"
    )


def _passage(plan: Plan) -> Passage:
    slot = plan.job.slot
    cutter = plan.job.cutter
    return Passage(
        throat_width=slot.throat_width,
        offset=farthest_offset_of(slot, cutter.head_diameter, plan.job.cut.stepover),
        depth=slot.depth,
        head_diameter=cutter.head_diameter,
        head_height=cutter.head_height,
        shank_diameter=cutter.shank_diameter,
        neck_length=cutter.neck_length,
    )


def _neck(draft: Draft, plan: Plan, key: str) -> str:
    cutter = plan.job.cutter
    at_head = resolve(plan.job).head_fillet
    if key == "neck_diameter":
        return _thickness(plan, at_head)
    if key == "neck_fillet" and cutter.head_fillet is not None:
        return _shoulder(plan, at_head)
    if draft.given("cutter.neck_diameter"):
        return "the largest that clears the throat beside the neck as given"
    ends = "neck and fillet" if cutter.head_fillet is None else "neck and both fillets"
    return (
        f"the one that lets {ends} together bear most in this throat: a larger one leaves"
        " too thin a neck, a smaller one a sharp notch"
    )


def _thickness(plan: Plan, at_head: float) -> str:
    show = _show(plan)
    cutter = plan.job.cutter
    passage = _passage(plan)
    thickest = passage.thickest(at_head)
    if cutter.neck_diameter < thickest - step_of("neck_diameter", plan.job.job.units):
        return "stepped from the thickest that passes until no step either way was better"
    for name, widest in (("head", cutter.head_diameter), ("shank", cutter.shank_diameter)):
        if thickest >= widest:
            return f"as thick as the {name} lets it"
    offset = passage.offset
    side = f"{show(offset)} of side pass each way and " if offset > 0 else ""
    beside = (
        "room for the fillet where the neck leaves the head"
        if at_head > CLEARANCE
        else "clearance each side"
    )
    room = passage.throat_width - 2 * offset
    return (
        f"the thickest that passes the throat of {show(passage.throat_width)} with {side}{beside}:"
        f" {show(room)} less twice {show(max(at_head, CLEARANCE))}"
    )


def _shoulder(plan: Plan, at_head: float) -> str:
    """Why the fillet at the shank, where it is another than at the head."""
    show = _show(plan)
    d = plan.job.cutter.neck_diameter
    passage = _passage(plan)
    bounds = {
        "that clears the throat's upper corner, the shoulder"
        f" {show(passage.above)} above the surface": shoulder_fillet(passage.gap(d), passage.above),
        "that its step on the shank holds": (passage.shank_diameter - d) / 2,
        "that is worth its width: half the neck": d / 2,
        "that the neck's length holds beside the one at the head": passage.neck_length - at_head,
    }
    bound = min(bounds, key=bounds.__getitem__)
    return f"the shank's end bears the larger moment, so the largest {bound}"


def _teeth(plan: Plan, key: str) -> str:
    show = _show(plan)
    cutter = plan.job.cutter
    web = show(resolve(plan.job).head_section.web or 0.0)
    gullet_depth = plan.job.grind.gullet_depth if plan.job.grind else 0.0
    floor = cutter.head_diameter / 2 - gullet_depth
    if key == "gullet_depth":
        level = (
            "level with the neck's surface, so that the wheel does not nick the neck"
            if floor >= cutter.neck_diameter / 2 - 0.06
            and math.fabs(floor - cutter.neck_diameter / 2) < 0.11
            else "as deep as the chips need and the web allows"
        )
        return f"{level}; it leaves a web of {web}"
    filled = next(
        limit.utilization for limit in plan.result.limits if limit.name == LimitCode.CHIP_PACKING
    )
    feed = units.show(plan.result.settings.feed_per_tooth_mm, "feed per tooth", plan.job.job.units)
    return (
        "the best of those compared below: by the verdict, a go by its time on the machine and"
        f" {units.duration(TOOTH_COST)} at the grinder for each tooth over two, shared by the parts"
        f" of the job, others by the chance to snap; {feed}, chips fill {filled:.0%} of a gullet,"
        f" web {web}"
    )


def user_warnings(draft: Draft, plan: Plan) -> list[str]:
    """Check what the user gave against the slot: it is kept, and told when it does not serve.

    Parameters
    ----------
    draft : Draft
        The job as given.
    plan : Plan
        Of the whole cutter.

    Returns
    -------
    warnings : list of str
    """
    show = _show(plan)
    slot = plan.job.slot
    cutter = plan.job.cutter
    sentences = [limit.note for limit in plan.result.limits if limit.fit and limit.over]
    offset = offset_of(slot, cutter.head_diameter)
    tolerance = width_tolerance(slot)
    growth = 2 * wall_error(plan)
    if slot.sides == 2 and offset == 0:
        if growth > 2 * tolerance:
            sentences.append(
                f"Runout and deflection can move the walls by {show(growth)} over both: the width"
                f" of plus and minus {show(tolerance)} cannot be promised. Bring the runout down,"
                " or finish with a light side pass."
            )
        elif cutter.head_diameter + growth > slot.undercut_width + tolerance:
            sentences.append(
                f"A head of {show(cutter.head_diameter)} can cut"
                f" {show(cutter.head_diameter + growth)} wide, over the {show(slot.undercut_width)}"
                f" plus {show(tolerance)} of the print."
            )
    if cutter.head_diameter > cutter.shank_diameter + 1e-6:
        sentences.append(
            f"The head of {show(cutter.head_diameter)} is wider than the shank of"
            f" {show(cutter.shank_diameter)}: start from a thicker blank and grind the shank down,"
            " or narrow the head."
        )
    return sentences

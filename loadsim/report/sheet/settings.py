"""The settings as page one shows them: what is dialled, large, and what goes with it, small."""

from __future__ import annotations

from typing import Any

from loadsim.answers.results import Plan, ThroatMillState
from loadsim.base import shop, units
from loadsim.report.rows.numbers import Show
from loadsim.report.rows.settings import turns_a_pass
from loadsim.words import phrases
from loadsim.words.steps import DROP_IN
from loadsim.words.throat_mill import depths_and_sides


def dialled(plan: Plan) -> tuple[tuple[str, str], ...]:
    """The three settings as they are dialled: spindle, feed, and where the passes run; those of the
    throat mill after them.

    Parameters
    ----------
    plan : Plan
        The answer.

    Returns
    -------
    rows : tuple of (name, text)
    """
    settings = plan.result.settings
    system = plan.job.job.units
    rate = shop.feed_rate(settings.feed_rate_mm_per_min, system)
    seconds = settings.handwheel_seconds_per_turn
    name, feed = "Feed", rate
    if seconds is not None:
        travel = seconds * settings.feed_rate_mm_per_min / 60
        turn = phrases.wheel(seconds, travel, system).replace(" of the handwheel", "")
        slow = "; too slow by hand: power feed" if seconds > phrases.SLOWEST_TURN else ""
        name, feed = "Handwheel", f"{turn} ({rate}){slow}"
    return (
        ("Spindle", f"{settings.spindle_speed_rpm:.0f} rpm"),
        (name, feed),
        ("Undercut passes", _path(plan)),
        *_mill(plan.result.throat_mill, system),
    )


def _mill(mill: ThroatMillState | None, system: units.System) -> tuple[tuple[str, str], ...]:
    """How the throat mill is set, where there is one."""
    if mill is None:
        return ()
    rate = shop.feed_rate(mill.feed_rate_mm_per_min, system)
    deep = shop.length_text(mill.depth_per_pass_mm, system)
    levels = depths_and_sides(mill.levels, mill.side_levels, mill.side_steps)
    text = f"{mill.spindle_speed_rpm:.0f} rpm, {rate}, {deep} deep a pass, {levels}"
    return (("Throat mill", text),)


def _path(plan: Plan) -> str:
    """Where the passes run, from the first to the last reading of each dial."""
    system = plan.job.job.units
    passes = plan.result.settings.passes
    levels = sorted({row["height_mm"] - plan.job.slot.depth for row in passes})
    offsets = sorted({row["offset_mm"] for row in passes})
    z, y = (
        " to ".join(shop.dial(x, system, signed=True) for x in sorted({all_[0], all_[-1]}))
        for all_ in (levels, offsets)
    )
    count = "1 pass" if len(passes) == 1 else f"{len(passes)} passes"
    return f"{count}: Z {z}, Y {y} {shop.DIAL[system]}"


def also_set(plan: Plan) -> tuple[str, ...]:
    """What follows from the settings, and what goes with them.

    Parameters
    ----------
    plan : Plan
        The answer.

    Returns
    -------
    texts : tuple of str
    """
    settings = plan.result.settings
    show = Show(plan.job.job.units)
    passes = len(settings.passes)
    speed = show(settings.surface_speed_m_per_min, "m/min", "surface speed", both=False)
    lets_in = any(operation.name == DROP_IN for operation in plan.routing.operations)
    drop_in = ", beside the drop-in hole" if lets_in else ""
    texts = [
        f"Surface speed {speed}",
        f"{shop.fine(settings.feed_per_tooth_mm, show.system)} a tooth",
        turns_a_pass(settings) or "",
        phrases.times(settings.cutting_time_s, passes),
        f"end holes: {_holes_text(settings.predrill, show)}{drop_in}",
    ]
    if settings.stepover_mm is not None and passes > 1:
        stepover = units.show(settings.stepover_mm, "length", show.system)
        texts.insert(2, f"stepover {stepover}")
    return tuple(text for text in texts if text)


def _holes_text(holes: dict[str, Any] | None, show: Show) -> str:
    if not holes:
        return "none"
    if "along_mm" in holes:
        drill = phrases.drill(holes["diameter_mm"], show.system)
        deep = show.length(holes["depth_mm"])
        return f"{holes['count']} of {drill}, from the top at the closed end, {deep} deep"
    return (
        f"{holes['count']} of {phrases.drill(holes['diameter_mm'], show.system)}, along the slot"
        f" from its open end, {show.length(holes['depth_mm'])} deep"
    )

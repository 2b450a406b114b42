"""A plan in words, for a terminal: settings with their reasons, the ways that lost, the operations,
the inspection, then the check.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from loadsim.base import units
from loadsim.report.terminal.check import check_text, travel
from loadsim.report.terminal.layout import columns, wrap
from loadsim.words import phrases

if TYPE_CHECKING:
    from loadsim.answers.results import Inspection, Plan, Spread


def plan_text(plan: Plan) -> str:
    """Write the answer of `loadsim plan`: the settings with their reasons, the ways that lost, then
    the check.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.

    Returns
    -------
    text : str
    """
    parts = [
        "The plan" if plan.safe else "No safe plan: the least bad way is shown",
        *(wrap(r, "    ", "  - ") for r in plan.reasons),
    ]
    turns = plan.result.settings.handwheel_seconds_per_turn
    if turns is not None:
        one = plan.result.settings.cutting_time_s / turns / len(plan.result.settings.passes)
        told = phrases.handwheel(turns, travel(plan.result), plan.job.job.units)
        parts.append(
            wrap(
                f"Hand feed: {told}, about {one:.0f} turns a pass, without a stop.", "    ", "  - "
            )
        )
    rows = [["way", "feed per tooth", "with setting up", "snap probability", "why not"]]
    system = plan.job.job.units
    for a in plan.alternatives:
        p = phrases.probability(float(f"{a.snap_probability:.1g}"))
        rows.append(
            [
                a.name,
                units.show(a.feed_per_tooth_mm, "feed per tooth", system),
                units.duration(a.time_s),
                p,
                a.why_not or "chosen",
            ]
        )
    inspected = (
        _inspection(plan.inspection, system)
        if plan.safe
        else ["Inspection: no plan is safe, so there is nothing to inspect."]
    )
    return "\n".join(
        [
            *parts,
            "",
            "Ways",
            columns(rows),
            "",
            *_operations(plan),
            "",
            *inspected,
            "",
            check_text(plan.result, plan.job),
        ]
    )


def _operations(plan: Plan) -> list[str]:
    """Write the routing: every operation with its settings, and the weakest tool."""
    lines = ["Order of operations"]
    system = plan.job.job.units
    for i, o in enumerate(plan.routing.operations, 1):
        told = [] if o.spindle_speed_rpm is None else [f"{o.spindle_speed_rpm:.0f} rpm"]
        if o.feed_mm_per_min is not None:
            told.append(
                units.show(
                    units.from_unit(o.feed_mm_per_min, "mm/min", "feed speed"), "feed speed", system
                )
            )
        told += [] if o.share is None else [f"used to {units.percent(o.share)}"]
        told += [] if o.time_s is None else [f"about {units.duration(o.time_s)} with tool change"]
        head = f"{o.name}, {o.tool}" + (": " + ", ".join(told) if told else "") + ". "
        lines.append(wrap(head + o.what, "      ", f"  {i:>2}. "))
    return [*lines, wrap(f"Weakest tool: {plan.routing.weakest}. {plan.routing.why}", "  ")]


def _inspection(found: Inspection, system: units.System) -> list[str]:
    def show(x: float) -> str:
        return units.show(x, "length", system)

    def spread(x: Spread) -> str:
        low = show(x.p05)
        middle = show(x.p50)
        high = show(x.p95)
        return (
            f"{middle} in nine cuts of ten"
            if low == high
            else f"{middle} (nine cuts in ten: {low} to {high})"
        )

    drawn = show(found.drawn_width_mm) + (
        "" if found.tolerance_mm is None else f" plus and minus {show(found.tolerance_mm)}"
    )
    rows = [
        ["undercut width", f"{spread(found.width_mm)}; drawn {drawn}"],
        ["wall lean, floor less roof", spread(found.wall_lean_mm)],
        ["floor step", spread(found.floor_step_mm)],
    ]
    if found.out and found.under and found.over:
        narrow, wide, out = (
            f"under {phrases.plain(x.high, 1)}" if x.p == 0 else phrases.plain(x.p, 2)
            for x in (found.under, found.over, found.out)
        )
        rows.append(
            [
                "out of tolerance",
                (
                    f"chance {out}, interval {phrases.interval(found.out.low, found.out.high)}; too"
                    f" narrow {narrow}, too wide {wide}"
                ),
            ]
        )
    for m in found.gauges:
        pins = f"{m.pins} of {show(m.pin)}, " if m.pins else ""
        rows.append(
            [
                m.name,
                f"{pins}go {show(m.go)}, no-go {show(m.no_go)}, class {m.grade or 'finer than XX'}",
            ]
        )
    told = [
        wrap(x, "    ", "  - ")
        for x in (
            found.correction.why,
            *(m.name + ": " + m.how for m in found.gauges),
            *found.notes,
        )
    ]
    return ["Inspection, predicted", columns(rows), *told]

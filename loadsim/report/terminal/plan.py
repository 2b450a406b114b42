"""A plan in words, for a terminal: settings with their reasons, the ways that lost, the operations,
the inspection, then the check.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from loadsim.answers.steps import steps
from loadsim.base import units
from loadsim.report.rows.inspection import chance_figure, grade_text, inspection_sentences
from loadsim.report.rows.settings import handwheel_text, operation_settings, turns_a_pass
from loadsim.report.terminal.check import findings, heading
from loadsim.report.terminal.layout import CAUTION, bullets, columns, wrap
from loadsim.report.terminal.steps import steps_text
from loadsim.words import phrases

if TYPE_CHECKING:
    from loadsim.answers.results import Inspection, Operation, Plan, Spread
    from loadsim.mechanics.gauging import Method


#: What stands over a plan.
HEADINGS = {
    "go": "The plan",
    "marginal": "The plan: prove it on scrap first",
    "no-go": "No way passes: the least bad one is shown",
}

#: What stands over its steps.
STEPS = {
    "go": "Steps",
    "marginal": "Steps, on scrap first",
    "no-go": "Steps as checked: do not run them",
}


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
    lines = [heading(plan.result, plan.job), "", HEADINGS[plan.result.verdict]]
    settings = plan.result.settings
    times = phrases.times(settings.cutting_time_s, len(settings.passes))
    lines += bullets([*plan.reasons, *_hand_feed(plan), f"Time: {times}."])
    lines += ["", STEPS[plan.result.verdict], *steps_text(steps(plan), plan.job)]
    lines += ["", "Ways", columns(_way_rows(plan))]
    lines += ["", *_operations(plan)]
    if plan.result.verdict != "no-go":
        lines += ["", *inspection_lines(plan.inspection, plan.job.job.units)]
    else:
        lines += ["", "Inspection: the plan is a no-go, so there is nothing to inspect."]
    return "\n".join([*lines, *findings(plan.result, plan.job), "", wrap(CAUTION), ""])


def _hand_feed(plan: Plan) -> list[str]:
    """Say how the handwheel is turned; nothing when the table is not fed by hand."""
    settings = plan.result.settings
    handwheel = handwheel_text(settings, plan.job.job.units)
    if handwheel is None:
        return []
    return [f"Hand feed: {handwheel}, about {turns_a_pass(settings)}, without a stop."]


def _way_rows(plan: Plan) -> list[list[str]]:
    heads = ["way", "feed per tooth", "with setting up", "snap probability", "why not"]
    rows = [
        [
            way.name,
            units.show(way.feed_per_tooth_mm, "feed per tooth", plan.job.job.units),
            units.duration(way.time_s),
            phrases.few_figures(way.snap_probability),
            way.why_not or "chosen",
        ]
        for way in plan.alternatives
    ]
    return [heads, *rows]


def _operations(plan: Plan) -> list[str]:
    """Write the routing: every operation with its settings, and the weakest tool."""
    lines = ["Order of operations"]
    for number, operation in enumerate(plan.routing.operations, 1):
        text = _operation_text(operation, plan.job.job.units)
        lines.append(wrap(text, "      ", f"  {number:>2}. "))
    weakest = next(x for x in plan.routing.operations if x.tool == plan.routing.weakest)
    used = f": {phrases.used_text(weakest.worst)}" if weakest.worst is not None else ""
    return [*lines, wrap(f"Weakest tool: {weakest.tool}{used}.", "  ")]


def _operation_text(operation: Operation, system: units.System) -> str:
    settings = operation_settings(operation, system)
    if operation.time_s is not None:
        settings.append(f"about {units.duration(operation.time_s)} with tool change")
    colon = ": " if settings else ""
    # the passes of the undercut stand among the steps
    what = "" if operation.name == "undercut" else f" {operation.what}"
    return f"{operation.name}, {operation.tool}{colon}{', '.join(settings)}.{what}"


def inspection_lines(inspection: Inspection, system: units.System) -> list[str]:
    """Write what an inspector would measure, with which gauges, and what would correct it.

    Parameters
    ----------
    inspection : Inspection
        Of a plan.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    lines : list of str
    """
    width = _spread_text(inspection.width_mm, system)
    rows = [
        ["undercut width", f"{width}; drawn {_drawn_text(inspection, system)}"],
        ["wall lean, floor less roof", _spread_text(inspection.wall_lean_mm, system)],
        ["floor step", _spread_text(inspection.floor_step_mm, system)],
        *_tolerance_rows(inspection),
        *([gauge.name, _gauge_text(gauge, system)] for gauge in inspection.gauges),
    ]
    return ["Inspection, predicted", columns(rows), *bullets(inspection_sentences(inspection))]


def _spread_text(spread: Spread, system: units.System) -> str:
    low, middle, high = (_length(size, system) for size in (spread.p05, spread.p50, spread.p95))
    if low == high:
        return f"{middle} in nine cuts of ten"
    return f"{middle} (nine cuts in ten: {low} to {high})"


def _drawn_text(inspection: Inspection, system: units.System) -> str:
    drawn = _length(inspection.drawn_width_mm, system)
    if inspection.tolerance_mm is None:
        return drawn
    return f"{drawn} plus and minus {_length(inspection.tolerance_mm, system)}"


def _tolerance_rows(inspection: Inspection) -> list[list[str]]:
    """Tabulate the chance of being out of tolerance; nothing when there is none to be out of."""
    if not (inspection.out and inspection.under and inspection.over):
        return []
    interval = phrases.interval(inspection.out.low, inspection.out.high)
    narrow = chance_figure(inspection.under)
    wide = chance_figure(inspection.over)
    text = f"chance {chance_figure(inspection.out)}, interval {interval}"
    return [["out of tolerance", f"{text}; too narrow {narrow}, too wide {wide}"]]


def _gauge_text(gauge: Method, system: units.System) -> str:
    pins = f"{gauge.pins} of {_length(gauge.pin, system)}, " if gauge.pins else ""
    sizes = f"go {_length(gauge.go, system)}, no-go {_length(gauge.no_go, system)}"
    return f"{pins}{sizes}, class {grade_text(gauge.grade)}"


def _length(value: float, system: units.System) -> str:
    return units.show(value, "length", system)

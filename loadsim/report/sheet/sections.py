"""Further tables of the report: tools of the routing, next test cut, grinding sheet, inspection."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from loadsim.answers.cutter import grinding_sheet
from loadsim.answers.results import Plan, Verdict
from loadsim.base import units
from loadsim.report.rows.grinding import (
    INFEED,
    INTRO,
    adds_up,
    head_rows,
    heat_rows,
    infeed_rows,
    settings_of,
)
from loadsim.report.rows.inspection import chance_figure, grade_text, inspection_sentences
from loadsim.report.rows.numbers import Show
from loadsim.report.rows.test_cuts import cut_sentences, factor_rows, next_cut_text, reading_rows
from loadsim.report.sheet.limits import limit_cells
from loadsim.words import phrases

if TYPE_CHECKING:
    from loadsim.answers.results import Inspection, Operation, Spread, TrialSheet
    from loadsim.mechanics.gauging import Chance, Method
    from loadsim.risk.results import Trials

Table = dict[str, Any]
Section = dict[str, Any]


def table(caption: str, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> Table:
    """Make one table of a section.

    Parameters
    ----------
    caption : str
        Its heading.
    columns : sequence of str
        Heads of the columns.
    rows : sequence of sequence of str
        Cells.

    Returns
    -------
    table : dict
    """
    cells = tuple(tuple(row) for row in rows)
    return {"caption": caption, "columns": tuple(columns), "rows": cells}


def section(
    title: str,
    text: list[str],
    tables: list[Table],
    drawings: tuple[Any, ...] = (),
    bench: bool = False,
) -> Section:
    """Make one section of the report.

    Parameters
    ----------
    title : str
        Its heading.
    text : list of str
        Paragraphs.
    tables : list of dict
        From `table`.
    drawings : tuple
        Markup that is safe to write out as it is.
    bench : bool
        Whether it is for the bench: printed with the appendix alone.

    Returns
    -------
    section : dict
    """
    return {
        "title": title,
        "text": tuple(text),
        "tables": tuple(tables),
        "drawings": drawings,
        "bench": bench,
    }


def sections(plan: Plan, trial: TrialSheet) -> tuple[Section, ...]:
    """Make the further sections that a plan has something for.

    Parameters
    ----------
    plan : Plan
        The answer.
    trial : TrialSheet
        The next scrap test cut.

    Returns
    -------
    sections : tuple of dict
    """
    show = Show(plan.job.job.units)
    grinding = [] if plan.job.grind is None else [_grinding(plan)]
    runs = plan.result.verdict is not Verdict.NO_GO
    inspection = _inspection(plan.inspection, show) if runs else _nothing_to_inspect()
    return (_routing(plan, show), _test_cut(plan, trial), *grinding, inspection)


# ---- the tools of the routing


def _routing(plan: Plan, show: Show) -> Section:
    mill = plan.result.throat_mill
    heads = (
        "Operation",
        "Tool",
        "Spindle speed",
        "Table feed",
        "Depth a pass",
        "Passes",
        "With tool change",
        "Used",
    )
    operations = plan.routing.operations
    rows = [_operation_row(number, entry, show) for number, entry in enumerate(operations, 1)]
    limit_heads = ("Limit", "Demand", "Capacity", "Used", "In words")
    limit_tables = [
        table(
            f"Limits of {operation.tool}",
            limit_heads,
            [limit_cells(limit, show) for limit in operation.limits],
        )
        for operation in operations
        if operation.limits and operation.name != "undercut"
    ]
    text = [f"Weakest tool: {plan.routing.weakest}. {plan.routing.why}"]
    text += [] if mill is None else mill.reasons
    tables = [table("Order of operations", heads, rows), *limit_tables]
    return section("Tools of the routing", text, tables)


def _operation_row(number: int, operation: Operation, show: Show) -> tuple[str, ...]:
    """Tabulate what is set for an operation; what it does not have is left empty."""
    speed = operation.spindle_speed_rpm
    feed = operation.feed_mm_per_min
    depth = operation.depth_per_pass_mm
    time = operation.time_s
    worst = operation.worst
    return (
        f"{number}. {operation.name}",
        operation.tool,
        "" if speed is None else f"{speed:.0f} rpm",
        "" if feed is None else show(feed, "mm/min", "feed speed"),
        "" if depth is None else show.length(depth),
        str(operation.passes),
        "" if time is None else units.duration(time),
        "" if worst is None else phrases.used_text(worst),
    )


# ---- the next scrap test cut


def _test_cut(plan: Plan, trial: TrialSheet) -> Section:
    """The next scrap test cut, what it would teach, and what those made have changed."""
    system = plan.job.job.units
    trials = plan.result.trials
    heads, *readings = reading_rows(trial.candidates[0], system)
    tables = [] if trials is None or not trials.cuts else [_changed(trials)]
    tables.append(
        table(
            "What to read on it, and by how much that narrows what is not known",
            [head.capitalize() for head in heads],
            readings,
        )
    )
    looks = [(look.what, look.right, look.if_not) for look in trial.looks]
    tables.append(table("What to look for", ("What", "Right", "If not"), looks))
    text = [next_cut_text(trial, plan.job), trial.why]
    if trials is not None:
        text += [*cut_sentences(trials, plan.job), *trials.skipped]
    return section("Scrap test cut", text, tables)


def _changed(trials: Trials) -> Table:
    effective = f"{trials.effective_samples:,.0f} effective samples of {trials.samples:,}"
    return table(
        f"What {len(trials.cuts)} test cuts changed; {effective}",
        ("What", "Before (19 in 20)", "After (19 in 20)"),
        factor_rows(trials),
    )


# ---- the grinding sheet


def _grinding(plan: Plan) -> Section:
    """The grinding sheet of a job that says how its cutter is ground."""
    from loadsim.report.drawings.grind_view import grinding

    system = plan.job.job.units
    sheet = grinding_sheet.sheet(plan.job)
    work = [
        (f"{step.number}. {step.name}", step.what, settings_of(step, system), step.check)
        for step in sheet.operations
    ]
    heads, *infeed = infeed_rows(sheet, system)
    tables = [
        table("Order of work", ("Step", "What", "Set", "Check"), work),
        table("The end of the head comes to", ("What", "Value"), head_rows(sheet, system)),
        table(INFEED, [head.capitalize() for head in heads], infeed),
    ]
    if heat := heat_rows(sheet, system):
        tables.append(table("What a colour on this blank means", ("Colour", "Meaning"), heat))
    drawing = Markup(grinding(plan.job, sheet))
    text = [INTRO, adds_up(sheet), *sheet.notes]
    return section("Grinding sheet", text, tables, (drawing,), bench=True)


# ---- the inspection

INSPECTION = "Inspection, predicted"


def _nothing_to_inspect() -> Section:
    return section(INSPECTION, ["The plan is a no-go: there is nothing to inspect."], [])


def _inspection(inspection: Inspection, show: Show) -> Section:
    drawn = show.length(inspection.drawn_width_mm)
    if inspection.tolerance_mm is not None:
        drawn += f" plus and minus {show.length(inspection.tolerance_mm)}"
    sizes = [
        _spread_row("Undercut width", inspection.width_mm, show),
        _spread_row("Wall lean, floor less roof", inspection.wall_lean_mm, show),
        _spread_row("Floor step", inspection.floor_step_mm, show),
    ]
    size_heads = ("What", "5 of 100 are under", "Half are under", "95 of 100 are under")
    tables = [table(f"Predicted, drawn width {drawn}", size_heads, sizes)]
    if inspection.out and inspection.under and inspection.over:
        chances = [
            _chance_row("Too narrow", inspection.under),
            _chance_row("Too wide", inspection.over),
            _chance_row("Out of tolerance", inspection.out),
        ]
        chance_heads = ("What", "Chance", "95 % interval")
        tables.append(table("Chance of being out of tolerance", chance_heads, chances))
    if inspection.gauges:
        gauges = [_gauge_row(gauge, show) for gauge in inspection.gauges]
        gauge_heads = ("Way", "Pins", "Go", "No-go", "Class")
        tables.append(table("Gauges that can get in", gauge_heads, gauges))
    return section(INSPECTION, inspection_sentences(inspection), tables)


def _spread_row(name: str, spread: Spread, show: Show) -> tuple[str, ...]:
    return (name, *(show.length(size) for size in (spread.p05, spread.p50, spread.p95)))


def _chance_row(name: str, chance: Chance) -> tuple[str, ...]:
    return name, chance_figure(chance), phrases.interval(chance.low, chance.high)


def _gauge_row(gauge: Method, show: Show) -> tuple[str, ...]:
    pins = f"{gauge.pins} of {show.length(gauge.pin)}" if gauge.pins else "none"
    sizes = show.length(gauge.go), show.length(gauge.no_go)
    return gauge.name, pins, *sizes, grade_text(gauge.grade)

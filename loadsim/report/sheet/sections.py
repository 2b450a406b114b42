"""Further tables of the report: the other tools of the routing, and what the inspection will see."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from loadsim.answers.cutter import grinding_sheet
from loadsim.answers.results import Plan
from loadsim.base import units
from loadsim.loads.resolve import resolve
from loadsim.report import rows
from loadsim.report.rows import cuts
from loadsim.report.rows import next_cut as rows_next_cut
from loadsim.report.rows import reads as rows_reads
from loadsim.words import phrases

if TYPE_CHECKING:
    from loadsim.answers.results import Spread
    from loadsim.answers.trial_sheet import TrialSheet
    from loadsim.loads.limits.utilization import Limit
    from loadsim.mechanics.gauging import Chance

Show = Callable[[float, str, str], str]  #: value, its unit, its dimension -> text in both systems


def table(
    caption: str, columns: tuple[str, ...], rows: Sequence[tuple[str, ...]]
) -> dict[str, Any]:
    """Make one table of a section.

    Parameters
    ----------
    caption : str
        Its heading.
    columns : tuple of str
        Heads of the columns.
    rows : sequence of tuple of str
        Cells.

    Returns
    -------
    table : dict
    """
    return {"caption": caption, "columns": columns, "rows": tuple(rows)}


def section(
    title: str, text: list[str], tables: list[dict[str, Any]], drawings: tuple[Any, ...] = ()
) -> dict[str, Any]:
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

    Returns
    -------
    section : dict
    """
    return {"title": title, "text": tuple(text), "tables": tuple(tables), "drawings": drawings}


def sections(
    plan: Plan, sheet: TrialSheet, show: Show, limit_cells: Callable[[Limit], tuple[str, ...]]
) -> tuple[dict[str, Any], ...]:
    """Make the further sections that a plan has something for.

    Parameters
    ----------
    plan : Plan
        The answer.
    sheet : Sheet
        The next scrap test cut.
    show : callable
        Writes a number in the reader's units.
    limit_cells : callable
        A limit to its cells: name, demand, capacity, used, sentence.

    Returns
    -------
    sections : tuple of dict
    """
    return (
        _routing(plan, show, limit_cells),
        _test_cut(plan, sheet),
        *_grinding(plan),
        _inspection(plan, show),
    )


def _grinding(plan: Plan) -> tuple[dict[str, Any], ...]:
    """The grinding sheet of a job that says how its cutter is ground."""
    if plan.job.grind is None:
        return ()
    from loadsim.report.drawings.grind_view import grinding

    system = plan.job.job.units
    steps = grinding_sheet.sheet(plan.job)
    work = [
        (f"{o.number}. {o.name}", o.what, rows.settings_of(o, system), o.check)
        for o in steps.operations
    ]
    heads, *infeed = [tuple(r) for r in rows.infeed_rows(steps, system)]
    tables = [
        table("Order of work", ("Step", "What", "Set", "Check"), work),
        table(
            "The end of the head comes to",
            ("What", "Value"),
            [tuple(r) for r in rows.head_rows(steps, system)],
        ),
        table(rows.INFEED, tuple(x.capitalize() for x in heads), infeed),
    ]
    if steps.heat:
        tables.append(
            table("What a colour on this blank means", ("Colour", "Meaning"), list(steps.heat))
        )
    drawing = Markup(grinding(plan.job, steps))
    return (
        section(
            "Grinding sheet", [rows.INTRO, rows.adds_up(steps), *steps.notes], tables, (drawing,)
        ),
    )


def next_cut(plan: Plan) -> TrialSheet:
    """Work out which scrap test cut to make next; those recorded are counted.

    Parameters
    ----------
    plan : Plan
        The answer.

    Returns
    -------
    sheet : Sheet
    """
    from loadsim.answers import trial_sheet
    from loadsim.risk import samples, trial_update

    job = resolve(plan.job)
    return trial_sheet.sheet(job, plan.result, trial_update.weighed(job, samples.draws()))


def _test_cut(plan: Plan, sheet: TrialSheet) -> dict[str, Any]:
    """The next scrap test cut, what it would teach, and what those made have changed."""
    system = plan.job.job.units
    trials = plan.result.trials
    tables = []
    if trials is not None and trials.cuts:
        rows = [
            (
                f"{f.name} factor",
                *(
                    f"{b.middle:.2f} ({b.low_95:.2f} to {b.high_95:.2f})"
                    for b in (f.before, f.after)
                ),
            )
            for f in trials.factors
        ]
        rows.append(
            (
                "snap probability",
                *(
                    f"{phrases.probability(c['snap_probability'])}"
                    f" ({phrases.interval(c['low'], c['high'])})"
                    for c in (trials.before, trials.after)
                ),
            )
        )
        tables.append(
            table(
                f"What {len(trials.cuts)} test cuts changed; {trials.effective_samples:,.0f}"
                f" effective samples of {trials.samples:,}",
                ("What", "Before (19 in 20)", "After (19 in 20)"),
                rows,
            )
        )
    reads = rows_reads(sheet.candidates[0], system)
    heads, *rest = [tuple(r) for r in reads]
    tables.append(
        table(
            "What to read on it, and by how much that narrows what is not known",
            tuple(x.capitalize() for x in heads),
            rest,
        )
    )
    tables.append(
        table(
            "What to look for",
            ("What", "Right", "If not"),
            [(x.what, x.right, x.if_not) for x in sheet.looks],
        )
    )
    told = [] if trials is None else [*cuts(trials, plan.job), *trials.skipped]
    return section("Scrap test cut", [rows_next_cut(sheet, system), sheet.why, *told], tables)


def _routing(
    plan: Plan, show: Show, limit_cells: Callable[[Limit], tuple[str, ...]]
) -> dict[str, Any]:
    rows = []
    tables = []
    mill = plan.result.throat_mill
    for i, o in enumerate(plan.routing.operations, 1):
        rows.append(
            (
                f"{i}. {o.name}",
                o.tool,
                "" if o.spindle_speed_rpm is None else f"{o.spindle_speed_rpm:.0f} rpm",
                (
                    ""
                    if o.feed_mm_per_min is None
                    else show(o.feed_mm_per_min, "mm/min", "feed speed")
                ),
                "" if o.depth_per_pass_mm is None else show(o.depth_per_pass_mm, "mm", "length"),
                str(o.passes),
                "" if o.time_s is None else units.duration(o.time_s),
                "" if o.share is None else units.percent(o.share),
            )
        )
        if o.limits and o.name != "undercut":
            tables.append(
                table(
                    f"Limits of {o.tool}",
                    ("Limit", "Demand", "Capacity", "Used", "In words"),
                    [limit_cells(x) for x in o.limits],
                )
            )
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
    text = [
        f"Weakest tool: {plan.routing.weakest}. {plan.routing.why}",
        *(() if mill is None else mill.reasons),
    ]
    return section(
        "Tools of the routing", text, [table("Order of operations", heads, rows), *tables]
    )


def _inspection(plan: Plan, show: Show) -> dict[str, Any]:
    found = plan.inspection

    def spread(name: str, x: Spread) -> tuple[str, ...]:
        return (name, *(show(v, "mm", "length") for v in (x.p05, x.p50, x.p95)))

    rows = [
        spread("Undercut width", found.width_mm),
        spread("Wall lean, floor less roof", found.wall_lean_mm),
        spread("Floor step", found.floor_step_mm),
    ]
    drawn = show(found.drawn_width_mm, "mm", "length")
    drawn += (
        ""
        if found.tolerance_mm is None
        else f" plus and minus {show(found.tolerance_mm, 'mm', 'length')}"
    )
    tables = [
        table(
            f"Predicted, drawn width {drawn}",
            ("What", "5 of 100 are under", "Half are under", "95 of 100 are under"),
            rows,
        )
    ]
    if found.out and found.under and found.over:
        chances = [
            _chance("Too narrow", found.under),
            _chance("Too wide", found.over),
            _chance("Out of tolerance", found.out),
        ]
        tables.append(
            table("Chance of being out of tolerance", ("What", "Chance", "95 % interval"), chances)
        )
    gauges = [
        (
            m.name,
            f"{m.pins} of {show(m.pin, 'mm', 'length')}" if m.pins else "none",
            show(m.go, "mm", "length"),
            show(m.no_go, "mm", "length"),
            m.grade or "finer than XX",
        )
        for m in found.gauges
    ]
    if gauges:
        tables.append(
            table("Gauges that can get in", ("Way", "Pins", "Go", "No-go", "Class"), gauges)
        )
    if not plan.safe:
        return section(
            "Inspection, predicted", ["No plan is safe: there is nothing to inspect."], []
        )
    return section(
        "Inspection, predicted",
        [found.correction.why, *(f"{m.name}: {m.how}" for m in found.gauges), *found.notes],
        tables,
    )


def _chance(name: str, x: Chance) -> tuple[str, ...]:
    return (
        name,
        f"under {phrases.plain(x.high, 1)}" if x.p == 0 else phrases.plain(x.p, 2),
        phrases.interval(x.low, x.high),
    )

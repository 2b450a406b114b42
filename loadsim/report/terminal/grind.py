"""The proposal and the grinding sheet in words, for a terminal. Nothing is computed here."""

from __future__ import annotations

from loadsim.answers.cutter.design import ComparedLayout, CutterDimension, Proposal, Step
from loadsim.answers.cutter.grinding_sheet import GrindingSheet, GrindStep
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
from loadsim.report.terminal.layout import CAUTION, bullets, columns, wrap
from loadsim.words.phrases import VERDICTS, chance_text


def grind_text(proposal: Proposal, sheet: GrindingSheet) -> str:
    """Write the answer of `loadsim grind` for a reader at the bench.

    Parameters
    ----------
    proposal : Proposal
        From `loadsim.grind`.
    sheet : GrindingSheet
        From `loadsim.answers.cutter.grinding_sheet.sheet`, of the proposal's job.

    Returns
    -------
    text : str
    """
    job = proposal.job
    system = job.job.units
    part = f": {job.job.part}" if job.job.part else ""
    lines = [f"Cutter for job {job.job.number}{part}", wrap(_verdict(proposal))]
    if proposal.plan.result.verdict != "go":
        lines += bullets([*proposal.plan.reasons, *proposal.plan.result.advice])
    if proposal.warnings:
        lines += ["", "Look at these first", *bullets(proposal.warnings)]
    base = f"As laid out: {chance_text(proposal.base)}, by the same sample as the steps."
    lines += [
        "",
        "Dimensions, why, and what one step either way does to the chance of a snap",
        wrap(base, "  "),
        *(_dimension(dimension, system) for dimension in proposal.dimensions),
    ]
    lines += [
        "",
        "Layouts compared (quick samples, each side in one step), before neck, fillets and head"
        " height were stepped",
        columns(_layout_rows(proposal.tried, system)),
    ]
    return "\n".join([*lines, "", grinding_sheet_text(sheet, system), "", wrap(CAUTION), ""])


def _verdict(proposal: Proposal) -> str:
    result = proposal.plan.result
    settings = result.settings
    feed = units.show(settings.feed_per_tooth_mm, "feed per tooth", proposal.job.job.units)
    verdict = {
        "go": "The plan with this cutter is a go.",
        "marginal": "The plan with this cutter has to be proved on scrap first.",
        "no-go": "No plan with this cutter passes.",
    }[result.verdict]
    return (
        f"{verdict} The neck snaps in {chance_text(result.risk.snap_probability)} at a feed of"
        f" {feed} and {settings.spindle_speed_rpm:.0f} rpm."
    )


def _dimension(dimension: CutterDimension, system: units.System) -> str:
    """Write a dimension with its reason, and what a step either way would do."""
    name = dimension.key.split(".")[1].replace("_", " ")
    value = _value(dimension, dimension.value, system)
    text = wrap(f"{value}: {dimension.reason}.", " " * 22, f"  {name:<18}  ")
    if dimension.smaller is None or dimension.larger is None:
        return text
    told = _both(dimension, dimension.smaller, dimension.larger, system)
    return "\n".join([text, wrap(f"{told}.", " " * 24, " " * 22)])


def _both(dimension: CutterDimension, smaller: Step, larger: Step, system: units.System) -> str:
    """Tell the steps either way, in one where they come to the same."""
    values = [_value(dimension, step.value, system) for step in (smaller, larger)]
    said = [_outcome(step) for step in (smaller, larger)]
    if said[0] == said[1]:
        return f"{values[0]} or {values[1]}{said[0]}"
    return "; ".join(value + outcome for value, outcome in zip(values, said, strict=True))


def _outcome(step: Step) -> str:
    if step.snap_probability is None:
        return f" cannot be: {step.note}"
    note = f", but {step.note}" if step.note else ""
    return f": {chance_text(step.snap_probability)}{note}"


def _value(dimension: CutterDimension, value: float, system: units.System) -> str:
    if dimension.dimension == "count":
        return str(int(value))
    return units.show(value, dimension.dimension, system)


def _layout_rows(tried: tuple[ComparedLayout, ...], system: units.System) -> list[list[str]]:
    """Tabulate the layouts that were compared, the chosen one first."""
    heads = ["layout", "neck", "web", "feed per tooth", "gullet filled", "time", "snaps", ""]
    rows = []
    for i, layout in enumerate(tried):
        marks = ["chosen"] if i == 0 else []
        if not layout.safe:
            marks.append(VERDICTS[layout.verdict].lower())
        rows.append(
            [
                layout.name,
                units.show(layout.neck_diameter_mm, "length", system),
                units.show(layout.web_mm, "length", system),
                units.show(layout.feed_per_tooth_mm, "feed per tooth", system),
                f"{layout.gullet_filled:.0%}",
                units.duration(layout.time_s),
                chance_text(layout.snap_probability),
                ", ".join(marks),
            ]
        )
    return [heads, *rows]


def grinding_sheet_text(sheet: GrindingSheet, system: units.System) -> str:
    """Write the grinding sheet.

    Parameters
    ----------
    sheet : GrindingSheet
        From `loadsim.answers.cutter.grinding_sheet.sheet`.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str
    """
    lines = ["Grinding sheet", wrap(INTRO, "  ")]
    lines += [_operation(step, system) for step in sheet.operations]
    lines += ["", "The end of the head comes to", columns(head_rows(sheet, system))]
    lines += ["", INFEED, columns(infeed_rows(sheet, system)), wrap(adds_up(sheet), "  ")]
    if heat := heat_rows(sheet, system):
        lines += ["", "What a colour on this blank means"]
        lines += [wrap(meaning, " " * 18, f"  {colour:<14}  ") for colour, meaning in heat]
    if sheet.notes:
        lines += ["", *bullets(sheet.notes)]
    return "\n".join(lines)


def _operation(step: GrindStep, system: units.System) -> str:
    lines = [wrap(f"{step.name}. {step.what}", " " * 5, f"{step.number:>3}. ")]
    settings = settings_of(step, system)
    if settings:
        lines.append(wrap(f"Set: {settings}.", " " * 10, " " * 5))
    lines.append(wrap("Check: " + step.check, " " * 12, " " * 5))
    return "\n".join(lines)

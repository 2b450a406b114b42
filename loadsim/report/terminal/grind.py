"""The proposal and the grinding sheet in words, for a terminal. Nothing is computed here."""

from __future__ import annotations

from loadsim.answers.cutter.design import CutterDimension, Proposal, Step, Tried
from loadsim.answers.cutter.grinding_sheet import GrindingSheet, GrindStep
from loadsim.base import units
from loadsim.report.rows import INFEED, INTRO, adds_up, head_rows, infeed_rows, settings_of
from loadsim.report.terminal.layout import CAUTION, columns, wrap
from loadsim.words.phrases import chance_text


def grind_text(proposal: Proposal, sheet: GrindingSheet) -> str:
    """Write the answer of `loadsim grind` for a reader at the bench.

    Parameters
    ----------
    proposal : Proposal
        From `loadsim.grind`.
    sheet : Sheet
        From `loadsim.answers.cutter.grinding_sheet.sheet`, of the proposal's job.

    Returns
    -------
    text : str
    """
    job = proposal.job
    result = proposal.plan.result
    system = proposal.job.job.units
    p = result.risk.snap_probability
    parts = [
        f"Cutter for job {job.job.number}" + (f": {job.job.part}" if job.job.part else ""),
        wrap(
            (
                "This cutter has a safe plan. "
                if proposal.safe
                else "There is no safe plan with this cutter. "
            )
            + f"The neck snaps in {chance_text(p)} at a feed of "
            + units.show(result.settings.feed_per_tooth_mm, "feed per tooth", system)
            + f" and {result.settings.spindle_speed_rpm:.0f} rpm."
        ),
    ]
    if not proposal.safe:
        parts += [wrap(x, "    ", "  - ") for x in (*proposal.plan.reasons, *result.advice)]
    if proposal.warnings:
        parts += ["", "Look at these first", *(wrap(w, "    ", "  - ") for w in proposal.warnings)]
    parts += [
        "",
        "Dimensions, why, and what one step either way does to the chance of a snap",
        wrap(f"As laid out: {chance_text(proposal.base)}, by the same sample as the steps.", "  "),
    ]
    parts += [_dimension(d, system) for d in proposal.dimensions]
    parts += [
        "",
        "Layouts compared (quick samples, each side in one step)",
        columns(_layouts(proposal.tried, system)),
        "",
    ]
    return "\n".join([*parts, sheet_text(sheet, system), "", wrap(CAUTION), ""])


def _dimension(d: CutterDimension, system: units.System) -> str:
    name = d.key.split(".")[1].replace("_", " ")
    value = (
        str(int(d.value)) if d.dimension == "count" else units.show(d.value, d.dimension, system)
    )
    lines = [wrap(f"{value}: {d.reason}.", " " * 22, f"  {name:<18}  ")]
    if d.smaller is not None and d.larger is not None:
        lines.append(
            wrap(
                f"{_step(d, d.smaller, system)}; {_step(d, d.larger, system)}.", " " * 24, " " * 22
            )
        )
    return "\n".join(lines)


def _step(d: CutterDimension, step: Step, system: units.System) -> str:
    value = (
        str(int(step.value))
        if d.dimension == "count"
        else units.show(step.value, d.dimension, system)
    )
    if step.snap_probability is None:
        return f"{value} cannot be: {step.note}"
    return f"{value}: {chance_text(step.snap_probability)}" + (
        f", but {step.note}" if step.note else ""
    )


def _layouts(tried: tuple[Tried, ...], system: units.System) -> list[list[str]]:
    rows = [["layout", "neck", "web", "feed per tooth", "gullet filled", "time", "snaps", ""]]
    for i, t in enumerate(tried):
        rows.append(
            [
                t.name,
                *(units.show(x, "length", system) for x in (t.neck_diameter_mm, t.web_mm)),
                units.show(t.feed_per_tooth_mm, "feed per tooth", system),
                f"{t.gullet_filled:.0%}",
                units.duration(t.time_s),
                chance_text(t.snap_probability),
                (
                    "chosen" + ("" if t.safe else ", not safe")
                    if i == 0
                    else ""
                    if t.safe
                    else "not safe"
                ),
            ]
        )
    return rows


def sheet_text(sheet: GrindingSheet, system: units.System) -> str:
    """Write the grinding sheet.

    Parameters
    ----------
    sheet : Sheet
        From `loadsim.answers.cutter.grinding_sheet.sheet`.
    system : str
        metric or inch.

    Returns
    -------
    text : str
    """

    def show(x: float) -> str:
        return units.show(x, "length", system)

    parts = [
        "Grinding sheet",
        wrap(INTRO, "  "),
        *(_operation(o, system) for o in sheet.operations),
    ]
    parts += [
        "",
        "The end of the head comes to",
        columns(head_rows(sheet, system)),
        "",
        INFEED,
        columns(infeed_rows(sheet, system)),
        wrap(adds_up(sheet), "  "),
    ]
    if sheet.heat:
        parts += [
            "",
            "What a colour on this blank means",
            *(wrap(f"{m}", " " * 18, f"  {c:<14}  ") for c, m in sheet.heat),
        ]
    if sheet.notes:
        parts += ["", *(wrap(n, "    ", "  - ") for n in sheet.notes)]
    return "\n".join(parts)


def _operation(o: GrindStep, system: units.System) -> str:
    lines = [wrap(f"{o.name}. {o.what}", " " * 5, f"{o.number:>3}. ")]
    if told := settings_of(o, system):
        lines.append(wrap(f"Set: {told}.", " " * 10, " " * 5))
    lines.append(wrap("Check: " + o.check, " " * 12, " " * 5))
    return "\n".join(lines)

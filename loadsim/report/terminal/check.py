"""Results in words, for a terminal: the reader's own units first. Nothing is computed here."""

from __future__ import annotations

from typing import Any

from loadsim.answers.results import Result, ThroatMillState
from loadsim.answers.steps import steps_of
from loadsim.base import units
from loadsim.job.tables import Job
from loadsim.loads.limits.utilization import Limit
from loadsim.report.rows.loads import brief_load_rows
from loadsim.report.rows.numbers import Show
from loadsim.report.rows.settings import handwheel_text
from loadsim.report.rows.test_cuts import cut_sentences, factor_rows
from loadsim.report.rows.verdict import governed_text, over_capacity, proving_lines
from loadsim.report.terminal.layout import CAUTION, bullets, columns, wrap
from loadsim.report.terminal.steps import steps_text
from loadsim.risk.results import Risk, Trials
from loadsim.words import phrases
from loadsim.words.throat_mill import depths_and_sides

#: Where the sentence of a limit begins on its line.
NOTE_COLUMN = 33

#: Drivers of the risk that are named.
SHOWN_DRIVERS = 5


def check_text(result: Result, job: Job) -> str:
    """Write the whole answer of `loadsim check` for a reader at the machine.

    Parameters
    ----------
    result : Result
        From `loadsim.check`.
    job : Job
        The job that was checked.

    Returns
    -------
    text : str
    """
    steps = ["", "Steps", *steps_text(steps_of(job, result), job)]
    lines = [heading(result, job), *_settings(result, job), *steps]
    return "\n".join([*lines, *findings(result, job), "", wrap(CAUTION), ""])


def findings(result: Result, job: Job) -> list[str]:
    """Write what was found of a cut: loads, limits, the chance, what would help, notes.

    Parameters
    ----------
    result : Result
        From `loadsim.check`.
    job : Job
        The job that was checked.

    Returns
    -------
    lines : list of str
    """
    lines = ["", "Loads", columns(brief_load_rows(result, job.job.units))]
    told = _told_above(result, job)
    lines += ["", *_limits(result, told), ""]
    lines += [wrap(line) for line in _risk_lines(result.risk, job.target.snap_probability)]
    if result.bad_case:
        lines.append(wrap(result.bad_case))
    lines += [wrap(line) for line in proving_lines(result, job)]
    lines += trials_text(result.trials, job)
    lines += ["", wrap("Would I feel it? " + result.feel), wrap(_predrill_text(result))]
    if result.advice:
        lines += ["", "What would help:", *bullets(result.advice)]
    if result.warnings:
        lines += ["", "Notes:", *bullets(result.warnings)]
    return lines


def _told_above(result: Result, job: Job) -> str:
    """What the heading tells already."""
    return governed_text(result, job.target.snap_probability)


def heading(result: Result, job: Job) -> str:
    """Write the job, the verdict with what decides it, and what is over capacity.

    Parameters
    ----------
    result : Result
        From `loadsim.check`.
    job : Job
        The job that was checked.

    Returns
    -------
    text : str
    """
    target = job.target.snap_probability
    because = f" because {result.why}. " if result.why else ". "
    lines = [
        f"Job {job.job.number}{_title(job)}",
        phrases.VERDICTS[result.verdict] + because + governed_text(result, target),
    ]
    over = over_capacity(result, target)
    if over and result.verdict == "no-go":
        lines.append("Over capacity: " + ", ".join(over) + ".")
    if result.throat_mill is not None and not result.throat_mill.safe:
        lines.append("The throat mill does not hold as set: see the notes.")
    return "\n".join(wrap(line) for line in lines)


def _title(job: Job) -> str:
    parts = [job.job.part] if job.job.part else []
    if job.job.operation:
        parts.append(f"operation {job.job.operation}")
    if job.job.drawing:
        parts.append(f"drawing {job.job.drawing}")
    return ": " + ", ".join(parts) if parts else ""


def _settings(result: Result, job: Job) -> list[str]:
    settings = result.settings
    system = job.job.units
    show = Show(system)
    surface_speed = show(settings.surface_speed_m_per_min, "m/min", "surface speed")
    rows = [
        ["spindle speed", f"{settings.spindle_speed_rpm:.0f} rpm, {surface_speed}"],
        ["feed per tooth", show(settings.feed_per_tooth_mm, "mm/tooth", "feed per tooth")],
        ["table feed", show(settings.feed_rate_mm_per_min, "mm/min", "feed speed")],
    ]
    handwheel = handwheel_text(settings, system)
    if handwheel is not None:
        rows.append(["handwheel", handwheel])
    rows.append(["time", phrases.times(settings.cutting_time_s, len(settings.passes))])
    if settings.predrill:
        rows.append(["end holes", _holes_text(settings.predrill, show)])
    if result.throat_mill is not None:
        rows.append(["throat mill", _mill_text(result.throat_mill, show)])
    return ["", "Settings", columns(rows), *bullets(result.picked)]


def _holes_text(holes: dict[str, Any], show: Show) -> str:
    def several(lengths: list[float]) -> str:
        return ", ".join(show.length(length) for length in sorted(set(lengths)))

    drill = phrases.drill(holes["diameter_mm"], show.system)
    if "along_mm" in holes:
        return (
            f"drilled from the top at the closed end, {holes['count']} of {drill},"
            f" {show.length(holes['depth_mm'])} deep; axes {several(holes['along_mm'])} from the"
            f" undercut's end, {several(holes['offsets_mm'])} off centre"
        )
    return (
        f"drilled along the slot from its open end, {holes['count']} of {drill},"
        f" {show.length(holes['depth_mm'])} deep from each open end; axes"
        f" {several(holes['offsets_mm'])} off centre,"
        f" {several(holes['heights_mm'])} above the floor"
    )


def _mill_text(mill: ThroatMillState, show: Show) -> str:
    hard = [limit for limit in mill.limits if limit.hard]
    worst = max(hard, key=lambda limit: limit.utilization)
    feed = show(mill.feed_rate_mm_per_min, "mm/min", "feed speed")
    safety = "" if mill.safe else ", OVER"
    levels = depths_and_sides(mill.levels, mill.side_levels, mill.side_steps)
    return (
        f"{mill.spindle_speed_rpm:.0f} rpm, {feed}, {levels}, each"
        f" {show.length(mill.depth_per_pass_mm)} deep; {phrases.used_text(worst)}{safety}"
    )


def _limits(result: Result, told: str) -> list[str]:
    """Every limit with its sentence, once: not again where it is told already."""
    title = "Limits (used share of capacity; 100 % is the end)"
    indent = " " * NOTE_COLUMN
    notes = ("told above" if limit.note in told else limit.note for limit in result.limits)
    marks = (_limit_mark(limit) for limit in result.limits)
    return [title, *(wrap(note, indent, mark) for note, mark in zip(notes, marks, strict=True))]


def _limit_mark(limit: Limit) -> str:
    """Write what stands before the sentence of a limit: its name and how far it is used."""
    if limit.fit:
        mark = " OVER" if limit.over else " fits"
        return f"  {limit.name:<24}{mark:<7}"
    mark = "!" if limit.over else " "
    return f"  {limit.name:<19}{units.percent(limit.utilization):>10}{mark} "


def _risk_lines(risk: Risk, target: float) -> list[str]:
    chance = phrases.chance_text(risk.snap_probability)
    number = phrases.probability(risk.snap_probability)
    if risk.snap_probability >= 1e-6:
        number += f" (95 % interval {phrases.interval(risk.low, risk.high)})"
    drivers = ", ".join(
        f"{driver.name} {driver.share:.0%}" for driver in risk.drivers[:SHOWN_DRIVERS]
    )
    return [
        f"Snap probability: {number}, {chance}; accepted: {phrases.accepted(target)}.",
        f"From {risk.samples:,} samples, seed {risk.seed}.",
        f"What drives it: {drivers}.",
    ]


def trials_text(trials: Trials | None, job: Job) -> list[str]:
    """Say what the test cuts changed: before and after; nothing when none counts.

    Parameters
    ----------
    trials : Trials or None
        Of a result.
    job : Job
        Its job, for the units.

    Returns
    -------
    lines : list of str
    """
    if trials is None or not trials.cuts:
        return []
    count = len(trials.cuts)
    heading = (
        f"Test cuts: {count} count{'s' if count == 1 else ''}; they leave"
        f" {trials.effective_samples:,.0f} effective samples of {trials.samples:,}. A factor is"
        " over what the sources give, with the range of 19 in 20."
    )
    table = columns([("", "before", "after"), *factor_rows(trials)])
    return ["", wrap(heading), table, *bullets(cut_sentences(trials, job))]


def _predrill_text(result: Result) -> str:
    return (
        f"Pre-drilling: {result.predrill.verdict} (end holes are drilled along the slot from its"
        f" open end); {result.predrill.why}"
    )

"""The sheet for scrap test cuts in words, for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loadsim.base import units
from loadsim.report.rows.test_cuts import (
    feed_text,
    length_text,
    next_cut_text,
    reading_rows,
    record_example,
    share_text,
)
from loadsim.report.terminal.check import trials_text
from loadsim.report.terminal.layout import CAUTION, bullets, columns, wrap
from loadsim.words import phrases

if TYPE_CHECKING:
    from loadsim.answers.results import TrialSheet
    from loadsim.job.tables import Job


def trial_text(sheet: TrialSheet, job: Job) -> str:
    """Write what the test cuts say, and the sheet for the next one.

    Parameters
    ----------
    sheet : TrialSheet
        From `loadsim.answers.trial_sheet.sheet`.
    job : Job
        Its job.

    Returns
    -------
    text : str
    """
    result = sheet.result
    system = job.job.units
    chance = phrases.probability(result.risk.snap_probability)
    heading = (
        f"Job {job.job.number}: {phrases.VERDICTS[result.verdict]}, snap probability {chance}."
    )
    lines = [wrap(heading)]
    lines += trials_text(result.trials, job) or ["", "No test cut counts for this job yet."]
    lines += ["", wrap(f"The next test cut: {next_cut_text(sheet, job)} {sheet.why}")]
    lines += [
        "",
        "What to read on it, and by how much that narrows what is not known of load over strength",
        columns(reading_rows(sheet.candidates[0], system)),
    ]
    lines += ["", "The others", columns(_other_rows(sheet, system))]
    looks = (f"{look.what}: {look.right}. If not: {look.if_not}." for look in sheet.looks)
    lines += ["", "What to look for", *bullets(looks)]
    record = "Record it, all in one line, with the settings that were really set:"
    lines += ["", record, "  " + " ".join(record_example(sheet, job))]
    if result.warnings:
        lines += ["", "Notes:", *bullets(result.warnings)]
    return "\n".join([*lines, "", wrap(CAUTION), ""])


def _other_rows(sheet: TrialSheet, system: units.System) -> list[list[str]]:
    """Tabulate the test cuts that could be made instead."""
    heads = [
        "feed per tooth",
        "length",
        "chance to snap",
        "narrows by, outcome alone",
        "with the best reading",
    ]
    lengths: dict[tuple[str, ...], list[str]] = {}
    for candidate in sheet.candidates[1:]:
        chance = phrases.few_figures(candidate.snap_chance)
        shares = share_text(candidate.narrowing), share_text(candidate.most)
        same = lengths.setdefault((feed_text(candidate, system), chance, *shares), [])
        same.append(length_text(candidate, system))
    rows = [
        [feed, " or ".join(dict.fromkeys(same)), *rest] for (feed, *rest), same in lengths.items()
    ]
    return [heads, *rows]

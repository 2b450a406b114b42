"""The sheet for scrap test cuts in words, for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loadsim.base import units
from loadsim.report.rows import feed_text, length_text, next_cut, reads, share_text
from loadsim.report.terminal.check import trials_text
from loadsim.report.terminal.layout import CAUTION, columns, wrap
from loadsim.words import phrases

if TYPE_CHECKING:
    from loadsim.answers.trial_sheet import TrialSheet
    from loadsim.job.tables import Job


def sheet_text(sheet: TrialSheet, job: Job) -> str:
    """Write what the test cuts say, and the sheet for the next one.

    Parameters
    ----------
    sheet : Sheet
        From `loadsim.answers.trial_sheet.sheet`.
    job : Job
        Its job.

    Returns
    -------
    text : str
    """
    result = sheet.result
    first = sheet.candidates[0]
    system = job.job.units
    verdict = {"go": "GO", "marginal": "MARGINAL", "no-go": "NO-GO"}[result.verdict]
    parts = [
        wrap(
            f"Job {job.job.number}: {verdict}, snap probability"
            f" {phrases.probability(result.risk.snap_probability)}."
        )
    ]
    parts += trials_text(result.trials, job) or ["", "No test cut counts for this job yet."]
    parts += ["", wrap(f"The next test cut: {next_cut(sheet, system)} {sheet.why}")]
    parts += [
        "",
        "What to read on it, and by how much that narrows what is not known of load over strength",
        columns(reads(first, system)),
    ]
    parts += ["", "The others", columns(_others(sheet, system))]
    parts += [
        "",
        "What to look for",
        *(wrap(f"{x.what}: {x.right}. If not: {x.if_not}.", "    ", "  - ") for x in sheet.looks),
    ]
    record = (
        'loadsim trial JOB --record outcome=survived "length=30 mm" "spindle_power=40 W"'
        ' "spindle_power_uncertainty=10 W"'
    )
    parts += [
        "",
        wrap(
            "Record it, with the settings that were really set (left out, those in [cut] are"
            " taken):"
        ),
        f"  {record}",
    ]
    if result.warnings:
        parts += ["", "Notes:", *(wrap(w, "    ", "  - ") for w in result.warnings)]
    return "\n".join([*parts, "", wrap(CAUTION), ""])


def _others(sheet: TrialSheet, system: units.System) -> list[list[str]]:
    rows = [
        [
            "feed per tooth",
            "length",
            "chance to snap",
            "narrows by, outcome alone",
            "with the best reading",
        ]
    ]
    for c in sheet.candidates[1:]:
        chance = phrases.probability(float(f"{c.snap_chance:.1g}"))
        rows.append(
            [
                feed_text(c, system),
                length_text(c, system),
                chance,
                share_text(c.narrowing),
                share_text(c.most),
            ]
        )
    return rows

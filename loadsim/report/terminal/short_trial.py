"""The short answer of `loadsim trial`: the scrap cut to make, and what to read on it. Nothing is
computed here.
"""

from __future__ import annotations

from loadsim.answers.results import Candidate, TrialSheet, Watched
from loadsim.answers.verdict import WORST_CHANCE
from loadsim.base import shop, units
from loadsim.job.tables import Job
from loadsim.loads.resolve import resolve
from loadsim.report.rows import short as rows
from loadsim.report.rows.test_cuts import reading_error, record_example
from loadsim.report.terminal.short import Block, block, deeds, fitted, more, plain, text_of, title
from loadsim.words import phrases
from loadsim.words.passes import dialled
from loadsim.words.short import chance_between

#: Readings that are told, and what is looked for first.
READINGS = 3
LOOKS = (Watched.CHIPS, Watched.SOUND)


def short_trial(sheet: TrialSheet, job: Job) -> str:
    """Write the sheet for the next test cut in 24 lines of 80 columns.

    Parameters
    ----------
    sheet : TrialSheet
        From `loadsim.answers.trial_sheet.sheet_of`.
    job : Job
        Its job.

    Returns
    -------
    text : str
    """
    result = sheet.result
    blocks = [
        title(f"{phrases.VERDICTS[result.verdict]}. Test cut for job {job.job.number}"),
        plain(rows.reason(result, job.target.snap_probability)),
        *(_cut(sheet, job) if sheet.candidates[0].snap_chance <= WORST_CHANCE else _none(sheet)),
        block("so far", rows.test_cuts(result) or "No test cut counts yet.", most=2),
        block("the job", f"Snaps in {chance_between(result.risk)}.", most=2),
        *more("Other test cuts, and all that tells how it runs: add --full."),
    ]
    return text_of(fitted(blocks))


def _none(sheet: TrialSheet) -> list[Block]:
    """No test cut, where even the safest is too much to risk."""
    chance = phrases.chance_text(sheet.candidates[0].snap_chance)
    return deeds(
        [
            f"Make no test cut yet: even the safest snaps the cutter in {chance}.",
            "Change the job first: loadsim check says what helps.",
        ]
    )


def _cut(sheet: TrialSheet, job: Job) -> list[Block]:
    """Which cut to make, what to read and look for, and how to write it down."""
    system = job.job.units
    first = sheet.candidates[0]
    speed = units.from_unit(sheet.spindle_speed_rpm, "rpm", "angular speed")
    feed = dialled(resolve(job), first.feed_per_tooth_mm, speed)
    cut = (
        f"Cut {shop.length_text(first.length_mm, system)} of scrap, same stock, at"
        f" {sheet.spindle_speed_rpm:.0f} rpm and {feed}. The cutter snaps there in"
        f" {phrases.chance_text(first.snap_chance)}."
    )
    looks = {look.what: look for look in sheet.looks}
    command, *entries = record_example(sheet, job)
    return [
        *deeds([cut, _read(first, system)]),
        *(block(what, f"{looks[what].right}.", spare=2) for what in LOOKS if what in looks),
        plain("Write it down like this, all in one line, with what was really set:"),
        Block(lines=(f"  {command}", *(f"    {line}" for line in entries))),
    ]


def _read(first: Candidate, system: units.System) -> str:
    reads = sorted(first.reads, key=lambda reading: -reading.narrowing)[:READINGS]
    if not reads:
        return "Look whether the cutter lives: that is what this cut tells."
    told = (
        f"{reading.name.replace('_', ' ')} to +-{reading_error(reading, system)}"
        for reading in reads
    )
    return f"Read what you can, the first tells most: {', '.join(told)}."

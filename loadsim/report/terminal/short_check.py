"""The short answers of `loadsim check` and `loadsim plan`. Nothing is computed here."""

from __future__ import annotations

from collections.abc import Sequence

from loadsim.answers.results import Plan, Result, Verdict
from loadsim.answers.steps import UNDERCUT, Step, steps
from loadsim.job.tables import Job
from loadsim.report.rows import short as rows
from loadsim.report.terminal.short import (
    LINES,
    Block,
    block,
    deeds,
    fitted,
    more,
    plain,
    text_of,
    title,
)
from loadsim.report.terminal.steps import step_table
from loadsim.words import phrases
from loadsim.words.short import chance_between
from loadsim.words.steps import DROP_IN


def short_check(result: Result, job: Job) -> str:
    """Write the answer of `loadsim check` in 24 lines of 80 columns.

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
    settings = _settings(rows.settings_rows(result, job))
    return text_of(fitted([*_head(result, job), *settings, *_tail(result, job)]))


def short_plan(plan: Plan) -> str:
    """Write the answer of `loadsim plan` in 24 lines of 80 columns, with the steps as far as they
    go in.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.

    Returns
    -------
    text : str
    """
    result = plan.result
    head = _head(result, plan.job)
    tail = _tail(result, plan.job)
    barred = result.verdict is Verdict.NO_GO  # nobody is to run it
    set_ = _settings(rows.settings_rows(result, plan.job, path=barred))
    drilled = result.settings.predrill is not None  # told among the steps
    told = f"End holes are {result.predrill.verdict}."
    if any(operation.name == DROP_IN for operation in plan.routing.operations):
        told = "A drop-in hole first, where the head goes in: both ends are closed."
    holes = block("holes", "" if drilled else told, spare=4)
    least = sum(len(b.lines) for b in (*head, *set_, *tail) if b.spare < 3)
    table = [] if barred else [_table(steps(plan), plan.job, LINES - least)]
    return text_of(fitted([*head, *set_, holes, *table, *tail]))


def _table(done: tuple[Step, ...], job: Job, room: int) -> Block:
    """The steps, where there is room for all; else those of the undercut, as far as they go in."""
    lines = step_table(done, job)
    if len(lines) <= room:
        return Block(lines=tuple(lines))
    undercut = tuple(step for step in done if step.tool == UNDERCUT)
    lines = step_table(undercut[1:], job)  # after touching off
    kept = lines[: max(room - 1, 0)]
    return Block(lines=(*kept, f"    ... all {len(done)} steps: --full"), spare=1)


def _head(result: Result, job: Job) -> list[Block]:
    """The job, the verdict and its one reason."""
    part = f": {job.job.part}" if job.job.part else ""
    verdict = phrases.VERDICTS[result.verdict]
    return [
        title(f"{verdict}. Job {job.job.number}{part}"),
        plain(rows.reason(result, job.target.snap_probability)),
    ]


def _settings(told: Sequence[tuple[str, str]]) -> list[Block]:
    return [block(name, text, most=2) for name, text in told]


def _tail(result: Result, job: Job) -> list[Block]:
    """What follows the settings: the chance, why, what to do, what was assumed, how to see more."""
    taken = rows.assumed(result, job)
    told = "; ".join(taken[:2])
    notes = len(result.warnings)
    return [
        block("snaps", f"In {chance_between(result.risk)}.{rows.batch(result)}", most=2),
        block("scrap", rows.test_cuts(result), most=2, spare=1),
        block("look", rows.mistyped(result, job), most=2),
        block("why", rows.why(result), most=4),
        *deeds(rows.deeds(result, job)),
        block("assumed", f"{told[0].upper()}{told[1:]}." if told else "", most=2, spare=3),
        *more(f"{notes} notes, every limit and all steps: add --full."),
    ]

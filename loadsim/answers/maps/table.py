"""Loads, limits and snap probability over a grid of one to three quantities: the same chain, as a
table.

Where only feed, neck diameter or spindle speed vary, the contact tables stay and whole blocks of
points run as arrays; any other point is answered one by one. Both give the same rows.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Any

import numpy as np

from loadsim.answers.maps.arrays import CHANCE, FEED, NECK, SPEED, Group, Table, numbers, run_arrays
from loadsim.answers.maps.axes import axes_of
from loadsim.answers.settings import pick_feed
from loadsim.base.errors import InputError, LoadsimError
from loadsim.base.numbers import Index
from loadsim.job.quantities import column, outside
from loadsim.job.read import changed
from loadsim.job.tables import Job
from loadsim.loads.cut import Engagement, cutting, one, written_engagement
from loadsim.loads.machine import pick_speed
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip
from loadsim.risk import samples, snap
from loadsim.risk.samples import few_of

if TYPE_CHECKING:
    from concurrent.futures import Executor

    import pandas as pd

Task = tuple[Callable[..., list[dict[str, Any]]], tuple[Any, ...]]

NOT_FINITE = "the answer is not a finite number"


def table(
    job: Job,
    over: Mapping[str, Sequence[float]],
    *,
    probability: bool = True,
    samples_log2: int = 12,
    executor: Executor | None = None,
    chunk: int = 64,
    progress: Callable[[int, int], None] | None = None,
) -> pd.DataFrame:
    """Answer a job at every point of a grid.

    Parameters
    ----------
    job : Job
        From `loadsim.read_job`; what is not mapped stays as it is, what ``[cut]`` leaves out is
        picked anew at each point.
    over : dict
        One to three keys of `quantities`, each with its values in internal units.
    probability : bool
        Whether the snap probability is wanted, which takes most of the time.
    samples_log2 : int
        Base-2 logarithm of the number of samples of each point, 8 to 20; the draws are the same at
        every point. [1]
    executor : Executor, optional
        Any `concurrent.futures.Executor`; only its ``submit`` is used. None works in this process.
    chunk : int
        Most points in one piece of work. [1]
    progress : callable, optional
        Called with the pieces of work done and their number.

    Returns
    -------
    table : DataFrame
        One row for each point, the last key varying fastest: quantities, settings that were picked,
        loads, the utilization of every limit ("use: ..."; NaN where a limit does not apply), the
        snap probability with the ends of its interval, the verdict (go, marginal or no-go, without
        the snap probability when that is not computed), whether that is a go ("safe"), and a note.
        A point that is no valid job has NaN everywhere and says why in its note.

    Raises
    ------
    InputError
        If a key is not known, the values cannot be used, or a material is not known.
    """
    if chunk < 1 or not 8 <= samples_log2 <= 20:
        raise ValueError(
            f"chunk is {chunk}, samples_log2 is {samples_log2}; allowed are at least 1, and 8 to 20"
        )
    axes = axes_of(over)
    base = resolve(job)  # a material that is not known is a problem of the job and not of a point
    answers = Table(
        points=[
            dict(zip(axes, values, strict=True)) for values in itertools.product(*axes.values())
        ]
    )
    pieces: list[tuple[Task, list[Index]]] = []
    groups: list[Group] = []
    left = np.arange(len(answers.points))
    engagement = _common_engagement(base, axes)
    if engagement is not None:
        groups, left = run_arrays(base, engagement, axes, answers)
        if probability:
            for group in groups:
                pieces += [
                    ((_chances, (group.job, group.way, group.speed, feeds, samples_log2)), at)
                    for feeds, at in group.parts(chunk)
                ]
    for i in range(0, left.size, chunk):
        at = left[i : i + chunk]
        pieces.append(
            (
                (_rows, (job, [answers.points[k] for k in at], probability, samples_log2)),
                [at[k : k + 1] for k in range(at.size)],
            )
        )
    done = _run([task for task, _ in pieces], executor, progress)
    for (_, places), rows in zip(pieces, done, strict=True):
        for at, row in zip(places, rows, strict=True):
            _put(answers, at, row)
    return answers.frame(list(axes), probability, job.target.snap_probability)


def _put(answers: Table, at: Index, row: dict[str, Any]) -> None:
    note = row.pop("note", "")
    if note:
        answers.notes.update(dict.fromkeys(at.tolist(), note))
    if row.pop("void", False):  # no answer at all: never half a row
        answers.fill(at, dict.fromkeys(answers.columns, math.nan))
    answers.fill(at, row)


def _run(
    tasks: list[Task], executor: Executor | None, progress: Callable[[int, int], None] | None
) -> list[list[dict[str, Any]]]:
    """Run every task, in this process or on an executor; results in the order of the tasks."""
    tell = progress or (lambda done, of: None)
    if executor is None:
        results = []
        for k, (f, args) in enumerate(tasks):
            results.append(f(*args))
            tell(k + 1, len(tasks))
        return results
    futures = []
    try:
        for f, args in tasks:
            futures.append(executor.submit(f, *args))
        results = []
        for k, future in enumerate(futures):
            results.append(future.result())
            tell(k + 1, len(tasks))
        return results
    except BaseException:  # a stop from the keyboard too: what has not begun must not begin
        for future in futures:
            future.cancel()
        raise


# --- point by point, in any process ---


@functools.lru_cache(maxsize=2)
def _draws(samples_log2: int) -> samples.Draws:
    return samples.draws(samples_log2)  # the same in every process: the seed is fixed


def _rows(
    job: Job, points: list[dict[str, float]], probability: bool, samples_log2: int
) -> list[dict[str, Any]]:
    return [_guarded(_row, job, p, probability, samples_log2) for p in points]


def _chances(
    job: ResolvedJob, way: Engagement, speed: float, feeds: list[float], samples_log2: int
) -> list[dict[str, Any]]:
    return [_guarded(_chance, job, way, speed, f, samples_log2) for f in feeds]


def _guarded(run: Callable[..., dict[str, Any]], *args: Any) -> dict[str, Any]:
    """Return a row, or a void one that says why there is none."""
    try:
        row = run(*args)
        if all(isinstance(value, str) or math.isfinite(value) for value in row.values()):
            return row
        return {"note": NOT_FINITE, "void": True}
    except InputError as error:
        return {"note": "; ".join(f"{p.where}: {p.message}" for p in error.problems), "void": True}
    except (LoadsimError, ValueError, ArithmeticError) as error:
        return {"note": str(error) or NOT_FINITE, "void": True}


def _row(job: Job, point: dict[str, float], probability: bool, samples_log2: int) -> dict[str, Any]:
    resolved = resolve(changed(job, point))
    engagement = written_engagement(resolved, resolved.cut.stepover)
    speed, f_z, row = _settings(resolved, engagement, samples_log2)
    cut = cutting(resolved, engagement, speed, f_z)
    row |= {name: one(value) for name, value in numbers(resolved, cut).items()}
    if probability:
        row |= _chance(resolved, engagement, speed, f_z, samples_log2)
    return row


def _chance(
    job: ResolvedJob, way: Engagement, speed: float, f_z: float, samples_log2: int
) -> dict[str, Any]:
    drawn = _draws(samples_log2)
    found = snap.snaps(job, way, f_z, drawn, speed=speed)
    return dict(zip(CHANCE, snap.interval(found.p, drawn.weights, drawn.replicates), strict=True))


def _common_engagement(base: ResolvedJob, axes: Mapping[str, Sequence[float]]) -> Engagement | None:
    """Contact tables that all points share, so that they can run as arrays; None if they differ."""
    cut = base.cut
    if set(axes) <= {FEED, NECK, SPEED} and (
        FEED in axes or cut.feed_per_tooth is not None or cut.feed_rate is not None
    ):
        # each point then says it for itself
        with suppress(LoadsimError, ValueError, ArithmeticError):
            return written_engagement(base, base.cut.stepover)
    return None


def _settings(
    job: ResolvedJob, engagement: Engagement, samples_log2: int
) -> tuple[float, float, dict[str, Any]]:
    """Return speed and feed, given or picked, and what to say of the picked ones."""
    cut = job.cut
    row: dict[str, Any] = {}
    speed = cut.spindle_speed
    f_z = cut.feed_per_tooth
    if speed is None:
        speed = pick_speed(job, engagement.frequency)[0]
        row[column(SPEED)] = outside(SPEED, speed)
    if cut.feed_rate is not None:
        f_z = chip.feed_per_tooth(cut.feed_rate, job.cutter.teeth, speed)
    if f_z is None:
        feed = pick_feed(job, engagement, speed, few_of(_draws(samples_log2)))
        f_z = feed.f_z
        row |= {
            column(FEED): f_z,
            "note": "" if feed.safe else f"No feed is a go, bound by {feed.bound}.",
        }
    return speed, f_z, row

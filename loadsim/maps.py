"""Loads, limits and snap probability over a grid of one to three quantities: the same chain, as a table.

Where only feed, neck diameter or spindle speed vary, the contact tables stay and whole blocks of points run
as arrays; any other point is answered one by one. Both give the same rows.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from loadsim import limits, risk
from loadsim.case import Setup, nominal_case, setup
from loadsim.chain import Contact, natural_frequency, notches, peaks
from loadsim.counsel import few_of, holes_for
from loadsim.domain import Job
from loadsim.errors import InputError, LoadsimError
from loadsim.fillet import K_T_BENDING_FE_BOUND
from loadsim.grid import axes_of, column, csv_text, outside, parse_over, quantities, write_csv
from loadsim.job import changed
from loadsim.passes import Pass, passes
from loadsim.relations import relations
from loadsim.settings import Way, cutting, pick_feed, pick_speed, way_of

if TYPE_CHECKING:
    from concurrent.futures import Executor

    import pandas as pd

__all__ = ["csv_text", "parse_over", "quantities", "table", "write_csv"]

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.intp]
Task = tuple[Callable[..., list[dict[str, Any]]], tuple[Any, ...]]

FEED, NECK, SPEED = "cut.feed_per_tooth", "cutter.neck_diameter", "cut.spindle_speed"
LOADS = ("peak_force_N", "peak_torque_Nmm", "peak_stress_MPa", "deflection_mm")
CHANCE = ("snap_probability", "low", "high")
#: Points that run as one array: more fall out of the processor's cache. [1]
BLOCK = 512
NOT_FINITE = "the answer is not a finite number"


@dataclass(slots=True, kw_only=True)
class _Table:
    """The columns while they are filled: NaN until a point is answered."""

    points: list[dict[str, float]]
    columns: dict[str, Array] = field(default_factory=dict)
    notes: dict[int, str] = field(default_factory=dict)

    def fill(self, at: Index | int, values: Mapping[str, Any]) -> None:
        for name, value in values.items():
            if name not in self.columns:
                self.columns[name] = np.full(len(self.points), np.nan)
            self.columns[name][at] = value

    def frame(self, keys: Sequence[str], probability: bool) -> pd.DataFrame:
        import pandas as pd

        data: dict[str, Any] = {column(k): [outside(k, p[k]) for p in self.points] for k in keys}
        blank = np.full(len(self.points), np.nan)
        uses = [c for c in self.columns if c.startswith("use: ")]
        picked = [c for c in (column(SPEED), column(FEED)) if c in self.columns]
        for name in (*picked, *LOADS, *uses, *(CHANCE if probability else ())):
            data[name] = self.columns.get(name, blank)
        return pd.DataFrame({**data, "note": [self.notes.get(i, "") for i in range(len(self.points))]})


def table(
    job: Job, over: Mapping[str, Sequence[float]], *, probability: bool = True, samples_log2: int = 12,
    executor: Executor | None = None, chunk: int = 64, progress: Callable[[int, int], None] | None = None,
) -> pd.DataFrame:  # fmt: skip
    """Answer a job at every point of a grid.

    Parameters
    ----------
    job : Job
        From `loadsim.read_job`; what is not mapped stays as it is, what ``[cut]`` leaves out is picked anew at each point.
    over : dict
        One to three keys of `quantities`, each with its values in internal units.
    probability : bool
        Whether the snap probability is wanted, which takes most of the time.
    samples_log2 : int
        Base-2 logarithm of the number of samples of each point, 8 to 20; the draws are the same at every point. [1]
    executor : Executor, optional
        Any `concurrent.futures.Executor`; only its ``submit`` is used. None works in this process.
    chunk : int
        Most points in one piece of work. [1]
    progress : callable, optional
        Called with the pieces of work done and their number.

    Returns
    -------
    table : DataFrame
        One row for each point, the last key varying fastest: quantities, settings that were picked, loads, the
        utilization of every limit ("use: ..."; NaN where a limit does not apply), the snap probability with the
        ends of its interval, and a note. A point that is no valid job has NaN everywhere and says why in its note.

    Raises
    ------
    InputError
        If a key is not known, the values cannot be used, or a material is not known.
    """
    if chunk < 1 or not 8 <= samples_log2 <= 20:
        raise ValueError(f"chunk is {chunk}, samples_log2 is {samples_log2}; allowed are at least 1, and 8 to 20")
    axes = axes_of(over)
    base = setup(job)  # a material that is not known is a problem of the job and not of a point
    found = _Table(points=[dict(zip(axes, values, strict=True)) for values in itertools.product(*axes.values())])
    pieces: list[tuple[Task, list[Index]]] = []
    left = np.arange(len(found.points))
    if set(axes) <= {FEED, NECK, SPEED} and (FEED in axes or job.cut.feed_per_tooth is not None or job.cut.feed_rate is not None):
        groups, left = _run_arrays(base, axes, found)
        if probability:
            for g in groups:
                pieces += [((_chances, (g.setup, g.passes, g.contacts, feeds, samples_log2)), at) for feeds, at in g.parts(chunk)]
    for i in range(0, left.size, chunk):
        at = left[i : i + chunk]
        pieces.append(((_rows, (job, [found.points[k] for k in at], probability, samples_log2)), [at[k : k + 1] for k in range(at.size)]))
    done = _run([task for task, _ in pieces], executor, progress)
    for (_, places), rows in zip(pieces, done, strict=True):
        for at, row in zip(places, rows, strict=True):
            _put(found, at, row)
    return found.frame(list(axes), probability)


def _put(found: _Table, at: Index, row: dict[str, Any]) -> None:
    note = row.pop("note", "")
    if note:
        found.notes.update(dict.fromkeys(at.tolist(), note))
    if row.pop("void", False):  # no answer at all: never half a row
        found.fill(at, dict.fromkeys(found.columns, math.nan))
    found.fill(at, row)


def _run(tasks: list[Task], executor: Executor | None, progress: Callable[[int, int], None] | None) -> list[list[dict[str, Any]]]:
    """Run every task, in this process or on an executor; results in the order of the tasks."""
    tell = progress or (lambda done, of: None)
    if executor is None:
        found = []
        for k, (f, args) in enumerate(tasks):
            found.append(f(*args))
            tell(k + 1, len(tasks))
        return found
    futures = []
    try:
        for f, args in tasks:
            futures.append(executor.submit(f, *args))
        found = []
        for k, future in enumerate(futures):
            found.append(future.result())
            tell(k + 1, len(tasks))
        return found
    except BaseException:  # a stop from the keyboard too: what has not begun must not begin
        for future in futures:
            future.cancel()
        raise


# --- point by point, in any process ---


@functools.lru_cache(maxsize=2)
def _draws(samples_log2: int) -> risk.Draws:
    return risk.draws(samples_log2)  # the same in every process: the seed is fixed


def _rows(job: Job, points: list[dict[str, float]], probability: bool, samples_log2: int) -> list[dict[str, Any]]:
    return [_guarded(_row, job, p, probability, samples_log2) for p in points]


def _chances(s: Setup, passes: tuple[Pass, ...], contacts: list[Contact], feeds: list[float], samples_log2: int) -> list[dict[str, Any]]:
    return [_guarded(_chance, s, passes, contacts, f, samples_log2) for f in feeds]


def _guarded(run: Callable[..., dict[str, Any]], *args: Any) -> dict[str, Any]:
    """Return a row, or a void one that says why there is none."""
    try:
        row = run(*args)
        if all(isinstance(x, str) or math.isfinite(x) for x in row.values()):
            return row
        return {"note": NOT_FINITE, "void": True}
    except InputError as error:
        return {"note": "; ".join(f"{p.where}: {p.message}" for p in error.problems), "void": True}
    except (LoadsimError, ValueError, ArithmeticError) as error:
        return {"note": str(error) or NOT_FINITE, "void": True}


def _row(job: Job, point: dict[str, float], probability: bool, samples_log2: int) -> dict[str, Any]:
    s = setup(changed(job, point))
    way = _way(s)
    speed, f_z, row = _settings(s, way, samples_log2)
    row |= {name: float(np.asarray(x).reshape(-1)[0]) for name, x in _numbers(s, cutting(s, way, speed, f_z)).items()}
    return row | (_chance(s, way.passes, way.contacts, f_z, samples_log2) if probability else {})


def _chance(s: Setup, passes: tuple[Pass, ...], contacts: list[Contact], f_z: float, samples_log2: int) -> dict[str, Any]:
    found = risk.assess(s, passes, contacts, f_z, _draws(samples_log2))
    return {name: getattr(found, name) for name in CHANCE}


def _way(s: Setup) -> Way:
    cut = s.job.cut
    return way_of(s, passes(s, cut.stepover, cut.direction or "conventional", holes_for(s)))


def _settings(s: Setup, way: Way, samples_log2: int) -> tuple[float, float, dict[str, Any]]:
    """Return speed and feed, given or picked, and what to say of the picked ones."""
    cut = s.job.cut
    said: dict[str, Any] = {}
    speed, f_z = cut.spindle_speed, cut.feed_per_tooth
    if speed is None:
        speed = pick_speed(s, way.frequency)[0]
        said[column(SPEED)] = outside(SPEED, speed)
    if cut.feed_rate is not None:
        f_z = cut.feed_rate / (speed / (2 * math.pi) * s.job.cutter.teeth)
    if f_z is None:
        feed = pick_feed(s, way, speed, few_of(_draws(samples_log2)))
        f_z = feed.f_z
        said |= {column(FEED): f_z, "note": "" if feed.safe else f"No feed is safe, bound by {feed.bound}."}
    return speed, f_z, said


def _numbers(s: Setup, cut: limits.Cutting) -> dict[str, Array]:
    m = cut.summary
    found = dict(zip(LOADS, (m.force, m.torque, m.sigma_1, m.deflection), strict=True))
    return found | {f"use: {c.name}": c.utilization for c in limits.checks(s, cut)}


# --- whole blocks, where the contact tables stay ---


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    """Points of one neck: one setup, whose strength belongs to its volume."""

    setup: Setup
    passes: tuple[Pass, ...]
    contacts: list[Contact]
    at: Index  #: rows of the table
    f_z: Array  #: [mm]

    def parts(self, chunk: int) -> Iterator[tuple[list[float], list[Index]]]:
        """Each feed once (the snap probability does not know the speed), with the rows it stands for."""
        feeds, which, counts = np.unique(self.f_z, return_inverse=True, return_counts=True)
        places = np.split(self.at[np.argsort(which, kind="stable")], np.cumsum(counts)[:-1])
        for i in range(0, feeds.size, chunk):
            yield feeds[i : i + chunk].tolist(), places[i : i + chunk]


def _run_arrays(base: Setup, axes: dict[str, list[float]], found: _Table) -> tuple[list[_Group], Index]:
    """Fill in the loads of all points that can run as arrays; return their groups, and the points left over."""
    job, groups, left = base.job, [], []
    try:
        way = _way(base)  # none of the three keys is part of a contact table
    except (LoadsimError, ValueError, ArithmeticError):
        return [], np.arange(len(found.points))  # each point then says it for itself
    members: dict[float, list[int]] = {}
    right = _right(job, axes)
    for i, point in enumerate(found.points):
        if right(point):
            members.setdefault(point.get(NECK, job.cutter.neck_diameter), []).append(i)
        else:
            left.append(i)
    for neck, rows in members.items():
        try:
            s = setup(changed(job, {NECK: neck})) if NECK in axes else base
            here = Way(passes=way.passes, contacts=way.contacts, sine=way.sine, frequency=natural_frequency(s))
            group, bad = _fill_group(s, here, [found.points[i] for i in rows], np.array(rows), found)
        except (LoadsimError, ValueError, ArithmeticError):
            left += rows
            continue
        groups.append(group)
        left += bad.tolist()
    return groups, np.array(sorted(left), dtype=np.intp)


def _right(job: Job, axes: dict[str, list[float]]) -> Callable[[dict[str, float]], bool]:
    """Tell of a point whether it is a valid job: each value read once, then what has to fit together."""
    parts: dict[tuple[str, float], Job | None] = {}
    for key, values in axes.items():
        for value in values:
            try:
                parts[key, value] = changed(job, {key: value})
            except InputError:
                parts[key, value] = None

    def right(point: dict[str, float]) -> bool:
        if any(parts.get(item) is None for item in point.items()):
            return False
        names = {"cutter": NECK in point, "cut": FEED in point or SPEED in point}
        update: dict[str, Any] = {}
        for table in (t for t, used in names.items() if used):
            values = {k.split(".")[1]: v for k, v in point.items() if k.startswith(f"{table}.")}
            update[table] = getattr(job, table).model_copy(update=values)
        return not relations(job.model_copy(update=update))

    return right


def _fill_group(s: Setup, way: Way, points: list[dict[str, float]], at: Index, found: _Table) -> tuple[_Group, Index]:
    cut = s.job.cut
    picked = cut.spindle_speed is None and SPEED not in points[0]
    default = pick_speed(s, way.frequency)[0] if picked else cut.spindle_speed
    speed = np.array([p.get(SPEED, default) for p in points], float)
    f_z = np.array([p.get(FEED, cut.feed_per_tooth) for p in points], float)
    if cut.feed_rate is not None:
        f_z = cut.feed_rate / (speed / (2 * math.pi) * s.job.cutter.teeth)
    finite = np.ones(at.size, bool)
    for i in range(0, at.size, BLOCK):
        block = np.arange(i, min(i + BLOCK, at.size))
        head = _head_governs(s, way, f_z[block])
        for k in (block[~head], block[head]):  # one array run keeps to one end of the neck
            if k.size:
                values = _numbers(s, cutting(s, way, speed[k], f_z[k]))
                finite[k] = np.all([np.isfinite(np.broadcast_to(x, k.shape)) for x in values.values()], axis=0)
                found.fill(at[k], values)
    if picked and default is not None:
        found.fill(at, {column(SPEED): outside(SPEED, default)})
    group = _Group(setup=s, passes=way.passes, contacts=way.contacts, at=at[finite], f_z=f_z[finite])
    return group, at[~finite]


def _head_governs(s: Setup, way: Way, f_z: Array) -> npt.NDArray[np.bool_]:
    """Tell for each feed whether the notch at the head sees more stress than the one at the shank's shoulder."""
    case = nominal_case(s, f_z, way.sine, K_T_BENDING_FE_BOUND)
    shoulder, head = (np.maximum.reduce([peaks(case, c.peak, n).sigma_1 for c in way.contacts]) for n in notches(case))
    return np.asarray(head > shoulder)

"""Whole blocks of a map's points as arrays, where the contact tables stay: over feed, neck diameter
and spindle speed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from loadsim.answers.operations import drills_over
from loadsim.answers.results import Verdict
from loadsim.answers.states import end_holes_of
from loadsim.answers.verdict import GRADES, Uses, grades, uses_of
from loadsim.base.errors import InputError, LoadsimError
from loadsim.base.numbers import Array, Index
from loadsim.job.quantities import column, outside
from loadsim.job.read import changed
from loadsim.job.rules_cut import setting_relations
from loadsim.job.tables import Job
from loadsim.loads.cut import Cutting, Engagement, cut_demand, cut_stress
from loadsim.loads.deflection import natural_frequencies
from loadsim.loads.limits import undercut
from loadsim.loads.limits.built_up_edge import builds_up
from loadsim.loads.machine import pick_speed
from loadsim.loads.nominal import as_drawn, necks_of, on_necks
from loadsim.loads.passes import travel_of
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip
from loadsim.mechanics.stress_concentration import K_T_BENDING_FE_BOUND

if TYPE_CHECKING:
    import pandas as pd

FEED = "cut.feed_per_tooth"
NECK = "cutter.neck_diameter"
SPEED = "cut.spindle_speed"

LOADS = ("peak_force_N", "peak_torque_Nmm", "peak_stress_MPa", "deflection_mm")

CHANCE = ("snap_probability", "low", "high")

#: Largest utilization of each kind of limit: kept for the column "verdict", not shown.
KINDS = ("hard", "fit", "soft")

#: A use that does not hold, of a drill that breaks. [1]
OVER = 2.0

#: Feeds (or necks), and points, that run as one array: more fall out of the processor's cache. [1]
FEEDS = 512
BLOCK = 2048


@dataclass(slots=True, kw_only=True)
class Table:
    """The columns while they are filled: NaN until a point is answered."""

    points: list[dict[str, float]]
    columns: dict[str, Array] = field(default_factory=dict)
    notes: dict[int, str] = field(default_factory=dict)

    def fill(self, at: Index | int, values: Mapping[str, Any]) -> None:
        """Put values into rows, each in the column of its name."""
        for name, value in values.items():
            if name not in self.columns:
                self.columns[name] = np.full(len(self.points), np.nan)
            self.columns[name][at] = value

    def frame(self, keys: Sequence[str], probability: bool, target: float) -> pd.DataFrame:
        """Return the table, each point with its verdict; the snap probability is weighed where it
        was asked for.
        """
        import pandas as pd

        data: dict[str, Any] = {}
        for key in keys:
            shown = {value: outside(key, value) for value in {point[key] for point in self.points}}
            data[column(key)] = [shown[point[key]] for point in self.points]
        blank = np.full(len(self.points), np.nan)
        uses = [name for name in self.columns if name.startswith("use: ")]
        picked = [name for name in (column(SPEED), column(FEED)) if name in self.columns]
        for name in (*picked, *LOADS, *uses, *(CHANCE if probability else ())):
            data[name] = self.columns.get(name, blank)
        verdicts = self._verdicts(probability, target)
        data["verdict"] = pd.array(verdicts, dtype="string")
        data["safe"] = pd.array(
            [None if said is None else said is Verdict.GO for said in verdicts], dtype="boolean"
        )
        data["note"] = [self.notes.get(i, "") for i in range(len(self.points))]
        return pd.DataFrame(data)

    def _verdicts(self, probability: bool, target: float) -> list[Verdict | None]:
        """The verdict of each point as far as it is known; None where there is no answer."""
        blank = np.full(len(self.points), np.nan)
        kinds = {kind: self.columns.get(kind, blank) for kind in KINDS}
        chances = [
            self.columns.get(name, blank) if probability else np.zeros_like(blank)
            for name in ("snap_probability", "high")
        ]
        known = np.all(np.isfinite([*kinds.values(), *chances]), axis=0)
        p, high = (chance[known] for chance in chances)
        uses = Uses(**{kind: used[known] for kind, used in kinds.items()})
        verdicts: list[Verdict | None] = [None] * known.size
        for i, grade in zip(np.flatnonzero(known), grades(uses, p, high, target), strict=True):
            verdicts[i] = GRADES[grade]
        return verdicts


def numbers(job: ResolvedJob, cut: Cutting) -> dict[str, Array]:
    """Return the loads of a cut, and the utilization of every limit, by the name of their column.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine, material and tolerances.
    cut : Cutting
        One cut or many.

    Returns
    -------
    numbers : dict
        Loads, then "use: ..." of each limit and the largest of each kind; as many as cuts.
    """
    m = cut.summary
    loads = dict(zip(LOADS, (m.force, m.torque, m.sigma_1, m.deflection), strict=True))
    limits = undercut.checks(job, cut)
    uses = {f"use: {limit.code}": limit.utilization for limit in limits}
    worst = uses_of(limits)
    kinds = {kind: np.broadcast_to(getattr(worst, kind), np.shape(m.force)) for kind in KINDS}
    if drills_over(job, end_holes_of(job)):  # no go, whatever the cut: as `with_tools` weighs it
        kinds["soft"] = np.maximum(kinds["soft"], OVER)
    return loads | uses | kinds


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Points of one neck, alike in whether an edge builds up: one resolved job, whose strength
    belongs to its volume.
    """

    job: ResolvedJob
    way: Engagement
    speed: float  #: of one of them: an edge builds up at all of them or at none [rad/s]
    at: Index  #: rows of the table
    f_z: Array  #: [mm]

    def parts(self, chunk: int) -> Iterator[tuple[list[float], list[Index]]]:
        """Each feed once (the snap probability does not know the speed), with the rows it stands
        for.
        """
        feeds, which, counts = np.unique(self.f_z, return_inverse=True, return_counts=True)
        places = np.split(self.at[np.argsort(which, kind="stable")], np.cumsum(counts)[:-1])
        for i in range(0, feeds.size, chunk):
            yield feeds[i : i + chunk].tolist(), places[i : i + chunk]


def run_arrays(
    base: ResolvedJob, engagement: Engagement, axes: dict[str, list[float]], answers: Table
) -> tuple[list[Group], Index]:
    """Fill in the loads of all points that can run as arrays.

    Parameters
    ----------
    base : ResolvedJob
        The job that every point changes in feed, neck diameter or speed.
    engagement : Engagement
        How the undercut is made: none of the three keys is part of a contact table.
    axes : dict
        The values of each key.
    answers : Table
        What is filled in.

    Returns
    -------
    groups : list of Group
    left : ndarray of int
        Rows that are left over, to be answered one by one.
    """
    job = base.written
    rows = np.arange(len(answers.points))
    valid = _valid(job, axes)
    members: dict[float, list[int]] = {}
    for i, point in enumerate(answers.points):
        if valid(point):
            members.setdefault(point.get(NECK, job.cutter.neck_diameter), []).append(i)
    answered = np.zeros(rows.size, bool)
    necks = _necks(base, {d: np.array(at) for d, at in members.items()}, answers) if members else []
    if necks:
        answered[_fill_loads(base, engagement, necks, answers)] = True
    groups = [
        Group(
            job=neck.job,
            way=engagement,
            speed=float(neck.speed[alike][0]),
            at=neck.at[alike],
            f_z=neck.f_z[alike],
        )
        for neck in necks
        for alike in _alike(neck, answered[neck.at])
    ]
    return groups, rows[~answered]


def _alike(neck: _Neck, answered: npt.NDArray[np.bool_]) -> list[Index]:
    """Points of a neck that are answered: those with a clean edge, those without."""
    built_up = np.array([builds_up(neck.job, v) for v in neck.speed.tolist()])
    kinds = [np.flatnonzero(answered & (built_up == kind)) for kind in (False, True)]
    return [kind for kind in kinds if kind.size]


def _valid(job: Job, axes: dict[str, list[float]]) -> Callable[[dict[str, float]], bool]:
    """Tell of a point whether it is a valid job: each value read once, then what has to fit
    together.
    """

    def read(key: str) -> dict[float | None, Job]:
        jobs: dict[float | None, Job] = {} if key in axes else {None: job}
        for value in axes.get(key, ()):
            with suppress(InputError):
                jobs[value] = changed(job, {key: value})
        return jobs

    cutters = {diameter: necked.cutter for diameter, necked in read(NECK).items()}
    feeds = read(FEED)
    speeds = read(SPEED)
    cuts = {
        (f_z, speed): fed.cut
        if speed is None
        else fed.cut.model_copy(update={"spindle_speed": speed})
        for f_z, fed in feeds.items()
        for speed in speeds
    }

    def valid(point: dict[str, float]) -> bool:
        cutter = cutters.get(point.get(NECK))
        cut = cuts.get((point.get(FEED), point.get(SPEED)))
        return cutter is not None and cut is not None and not setting_relations(job, cut, cutter)

    return valid


@dataclass(frozen=True, slots=True, kw_only=True)
class _Neck:
    """The valid points of one neck diameter."""

    job: ResolvedJob
    frequency: float  #: [Hz]
    at: Index  #: rows of the table
    speed: Array  #: [rad/s]
    f_z: Array  #: [mm]


def _necks(base: ResolvedJob, members: dict[float, Index], answers: Table) -> list[_Neck]:
    """Resolve the job for every neck diameter, with the rows that have it; one without an answer is
    left out.
    """
    necks = []
    with suppress(LoadsimError, ValueError, ArithmeticError):
        d = np.array(list(members))
        frequencies = np.concatenate(
            [natural_frequencies(base, d[i : i + FEEDS]) for i in range(0, d.size, FEEDS)]
        )
        for (diameter, at), frequency in zip(members.items(), frequencies.tolist(), strict=True):
            with suppress(LoadsimError, ValueError, ArithmeticError):
                necks.append(_neck(base, diameter, frequency, at, answers))
    return necks


def _neck(base: ResolvedJob, diameter: float, frequency: float, at: Index, answers: Table) -> _Neck:
    cut = base.cut
    points = [answers.points[i] for i in at]
    job = base
    if diameter != base.cutter.neck_diameter:
        job = resolve(changed(base.written, {NECK: diameter}))
    picked = cut.spindle_speed is None and SPEED not in points[0]
    default = pick_speed(job, frequency)[0] if picked else cut.spindle_speed
    if picked and default is not None:
        answers.fill(at, {column(SPEED): outside(SPEED, default)})
    speed = np.array([point.get(SPEED, default) for point in points], float)
    if cut.feed_rate is None:
        f_z = np.array([point.get(FEED, cut.feed_per_tooth) for point in points], float)
    else:
        f_z = chip.feed_per_tooth(cut.feed_rate, job.cutter.teeth, speed)
    return _Neck(job=job, frequency=frequency, at=at, speed=speed, f_z=f_z)


def _fill_loads(
    base: ResolvedJob, engagement: Engagement, necks: list[_Neck], answers: Table
) -> Index:
    """Fill in loads and limits; return the rows that have them.

    Forces know the feed alone: they are made once for each, then shared by every neck and speed.
    """
    at, speed, f_z = (
        np.concatenate([getattr(neck, name) for neck in necks]) for name in ("at", "speed", "f_z")
    )
    which = np.repeat(np.arange(len(necks)), [neck.at.size for neck in necks])
    of_each = necks_of([neck.job for neck in necks])
    frequency = np.array([neck.frequency for neck in necks])
    answered = [at[:0]]
    travel = travel_of(engagement.passes)
    feeds, feed = np.unique(f_z, return_inverse=True)
    order = np.argsort(feed, kind="stable")
    ends = np.searchsorted(feed[order], np.arange(0, feeds.size + FEEDS, FEEDS))
    for i in range(0, feeds.size, FEEDS):
        # a point without numbers is then answered alone
        with suppress(LoadsimError, ValueError, ArithmeticError):
            case = as_drawn(base, feeds[i : i + FEEDS], travel, K_T_BENDING_FE_BOUND)
            loads = cut_demand(engagement.contacts, case)
            inside = order[ends[i // FEEDS] : ends[i // FEEDS + 1]]
            for j in range(0, inside.size, BLOCK):
                k = inside[j : j + BLOCK]
                at_feed = feed[k] - i
                n = which[k]
                fed = case.with_(f_z=f_z[k])
                here = of_each.take(n)
                job, necked = on_necks(base, fed, here)
                asked = loads.take(at_feed).times(here.force_factor / base.force_factor)
                cut = Cutting(
                    case=necked,
                    speed=speed[k],
                    summary=cut_stress(job, necked, asked),
                    passes=engagement.passes,
                    frequency=frequency[n],
                )
                values = numbers(job, cut)
                finite = np.all(
                    [np.isfinite(np.broadcast_to(value, k.shape)) for value in values.values()],
                    axis=0,
                )
                answers.fill(at[k], values)
                answered.append(at[k[finite]])
    return np.concatenate(answered)

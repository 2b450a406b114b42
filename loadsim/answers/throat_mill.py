"""Picks what [throat_mill] leaves out: spindle speed, feed and depth per pass, the quickest that
hold every limit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from loadsim.answers.results import ThroatMillState
from loadsim.base import units
from loadsim.base.numbers import Array, tidy
from loadsim.loads.assumptions import PASS_SETUP
from loadsim.loads.limits.throat_mill import MillCut, mill_checks, mill_notes, pass_count
from loadsim.loads.limits.utilization import FEEDLESS, FULL, NEAR, Limit
from loadsim.loads.machine import SpeedBound, below_resonance, lowest_speed, settable, usual_feed
from loadsim.loads.nominal import known_force
from loadsim.loads.passes import pass_travel
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.throat_mill import Mill, MillLoads, loads, mill_of, pass_loads, worse
from loadsim.mechanics import chip
from loadsim.words.limits import THROAT_MILL, worded
from loadsim.words.phrases import used_text
from loadsim.words.reservations import spoken
from loadsim.words.settings import speed_bound
from loadsim.words.throat_mill import depths_and_sides, lost, sides_at_each

#: Share of the surface speed for an end mill at which it runs in a full slot (common practice, no
#: source). [1]
SLOT_SPEED = 0.8

#: Deepest pass in a full slot, over the diameter, in soft metals and in the others (memory medium).
#: [1]
DEEPEST_SOFT = 1.0
DEEPEST = 0.5

SOFT = ("aluminum", "brass", "copper", "bronze", "magnesium", "plastic")

#: Most depths tried, depths of the side passes that are tried, one of the throat's full depth
#: first, and steps of the feed from the usual one to one that only rubs. [1]
MOST_DEPTHS = 60
SIDE_DEPTHS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 24, 40)
FEEDS = 8

#: Depths that are evaluated at once. [1]
BLOCK = 8

#: A way lost to one that is slower by this share of its time is told. [1]
QUICKER = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class MillSettings:
    """Settings of the throat mill, given or picked, with what they come to."""

    title: str  #: of the mill's material
    sources: tuple[str, ...]
    speed: float  #: [rad/s]
    f_z: float  #: [mm]
    rate: float  #: table feed [mm/s]
    depth: float  #: of a pass on the centre line [mm]
    levels: int  #: passes deep
    side_levels: int  #: passes deep beside it, zero where the mill is as wide as the throat
    passes: int  #: in all
    side_width: float  #: radial width of the passes beside the first, zero without [mm]
    limits: tuple[Limit, ...]  #: largest share first
    safe: bool  #: whether every hard limit holds
    reasons: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def worst(self) -> Limit:
        """The hard limit that is used most."""
        return max(
            (limit for limit in self.limits if limit.hard), key=lambda limit: limit.utilization
        )


class _Tried(NamedTuple):
    """Ways through the throat with what they come to, (s,)."""

    f_z: Array  #: [mm]
    levels: Array  #: depths on the centre line [1]
    side_levels: Array  #: depths of the side passes [1]
    depth: Array  #: of a pass on the centre line [mm]
    side_depth: Array  #: of a side pass [mm]
    time: Array  #: with setting up [s]
    hard: Array  #: largest share of a hard limit, of what a go allows [1]
    soft: Array  #: largest share of a soft limit [1]

    def one(self, i: int) -> _Tried:
        """Return one of them."""
        return _Tried(*(x[i : i + 1] for x in self))


def mill_settings(job: ResolvedJob) -> MillSettings | None:
    """Pick the settings of the throat mill, or None when the job has none.

    Of some settable feeds, from the usual one down, with every number of equal depths on the centre
    line and some of the side passes, those are kept at which hard limits stay under what a go
    allows and the others hold; the quickest of them is picked. The side passes of a mill narrower
    than the throat come last and meet a thin band of metal, so one at the full depth often does.

    Parameters
    ----------
    job : ResolvedJob
        Its [throat_mill], throat slot, machine and material.

    Returns
    -------
    settings : MillSettings or None
    """
    mill = mill_of(job)
    if mill is None:
        return None
    speed, reason = _speed(job, mill)
    tried = _candidates(job, mill, speed)
    best, holds = _quickest(tried)
    cut, limits = _checked(job, mill, speed, best)
    beyond = known_force(job, cut.loads.peak_chip).notes
    f_z, depth = float(best.f_z[0]), float(best.depth[0])
    return MillSettings(
        title=mill.blank.title,
        sources=mill.blank.sources,
        speed=speed,
        f_z=f_z,
        rate=chip.feed_rate(f_z, mill.table.teeth, speed),
        depth=depth,
        levels=int(best.levels[0]),
        side_levels=int(best.side_levels[0]) if mill.side_steps else 0,
        passes=int(pass_count(mill, best.levels, best.side_levels)[0]),
        side_width=mill.side_width,
        limits=limits,
        safe=not any(limit.hard and limit.over for limit in limits),
        notes=(
            *(spoken(note, job.units) for note in mill.assumed),
            *(f"Throat mill: {spoken(note, job.units)}." for note in mill.notes),
            *(f"Throat mill: {spoken(note, job.units)}" for note in mill_notes(job, mill, speed)),
            *(f"Throat mill: {note}." for note in beyond),
        ),
        reasons=(
            reason,
            _why(job, mill, limits, holds),
            *(_not_taken(job, mill, speed, best, tried) if holds else ()),
        ),
    )


def _checked(
    job: ResolvedJob, mill: Mill, speed: float, way: _Tried
) -> tuple[MillCut, tuple[Limit, ...]]:
    """The loads of one way, and its limits in words, largest share first."""
    cut = MillCut(
        speed=speed,
        f_z=way.f_z,
        depth=way.depth,
        levels=way.levels,
        side_levels=way.side_levels,
        loads=loads(job, mill, way.f_z, way.depth, way.side_depth),
    )
    limits = (worded(c, job.units, THROAT_MILL) for c in mill_checks(job, mill, cut))
    return cut, tuple(sorted(limits, key=lambda limit: -limit.utilization))


def _not_taken(
    job: ResolvedJob, mill: Mill, speed: float, best: _Tried, tried: _Tried
) -> tuple[str, ...]:
    """Say of the quicker way that comes nearest why it lost, and what sides at every depth cost."""
    sentences = []
    strain = np.maximum(tried.hard, tried.soft)
    quicker = tried.time < (1 - QUICKER) * best.time[0]
    if quicker.any():
        way = tried.one(int(np.argmin(np.where(quicker, strain, np.inf))))
        _, limits = _checked(job, mill, speed, way)
        open_ = [limit for limit in limits if limit.name not in FEEDLESS]
        most = max(open_, key=lambda x: x.utilization / (NEAR if x.hard else FULL))
        how = depths_and_sides(int(way.levels[0]), int(way.side_levels[0]), mill.side_steps)
        sentences.append(lost(how, float(way.time[0]), most))
    if mill.side_steps and mill.table.depth_per_pass is None and best.levels[0] > 1:
        every = _time(job, mill, speed, best.f_z, best.levels, best.levels)
        sentences.append(sides_at_each(float(every[0])))
    return tuple(sentences)


def mill_state(job: ResolvedJob, settings: MillSettings) -> ThroatMillState:
    """Put the settings of the throat mill into the units of the answer.

    Parameters
    ----------
    job : ResolvedJob
        Its [throat_mill] and slot, and the units to speak in.
    settings : MillSettings
        From `mill_settings`.

    Returns
    -------
    state : ThroatMillState
    """
    table = job.throat_mill
    assert table is not None
    travel = pass_travel(job.slot, table.diameter)
    return ThroatMillState(
        tool=f"end mill {units.show(table.diameter, 'length', job.units)}, {settings.title}",
        spindle_speed_rpm=tidy(units.to_unit(settings.speed, "rpm", "angular speed")),
        feed_per_tooth_mm=tidy(settings.f_z),
        feed_rate_mm_per_min=tidy(units.to_unit(settings.rate, "mm/min", "feed speed")),
        depth_per_pass_mm=tidy(settings.depth),
        levels=settings.levels,
        side_levels=settings.side_levels,
        passes=settings.passes,
        side_width_mm=tidy(settings.side_width),
        cutting_time_s=tidy(settings.passes * travel / settings.rate),
        limits=settings.limits,
        safe=settings.safe,
        reasons=settings.reasons,
    )


def _speed(job: ResolvedJob, mill: Mill) -> tuple[float, str]:
    if mill.table.spindle_speed is not None:
        return mill.table.spindle_speed, "Spindle speed as given in [throat_mill]."
    best = (
        max(SLOT_SPEED * job.work.surface_speed_hi, job.work.surface_speed_lo)
        * mill.blank.speed_factor
    )
    speed, bound = lowest_speed(
        job.machine,
        {
            SpeedBound.FASTEST: job.machine.max_spindle_speed,
            SpeedBound.SURFACE_SPEED: best / (mill.table.diameter / 2),
            SpeedBound.RESONANCE: below_resonance(mill.frequency, mill.table.teeth),
        },
    )
    return speed, f"Spindle speed: bound by {speed_bound(bound, mill.blank, job.work)}."


def _feeds(job: ResolvedJob, mill: Mill, speed: float) -> Array:
    """Feeds per tooth that the machine can set, from the usual one down to the least that cuts."""
    if mill.table.feed_per_tooth is not None:
        return np.array([mill.table.feed_per_tooth])
    most = max(usual_feed(job, mill.table.diameter), 1.5 * mill.h_min)
    feeds = [
        settable(job, speed, f_z, mill.table.teeth)
        for f_z in np.geomspace(most, mill.h_min, FEEDS).tolist()
    ]
    cutting = sorted({f_z for f_z in feeds if f_z >= mill.h_min * (1 - 1e-9)}, reverse=True)
    return np.array(cutting or [settable(job, speed, mill.h_min, mill.table.teeth)])


def _levels(job: ResolvedJob, mill: Mill) -> Array:
    """How many equal depths are tried, from the fewest that are usual."""
    given = mill.table.depth_per_pass
    if given is not None:
        return np.array([float(math.ceil(mill.depth / given - 1e-9))])
    deepest = (DEEPEST_SOFT if job.work.family.startswith(SOFT) else DEEPEST) * mill.table.diameter
    few = math.ceil(mill.depth / deepest - 1e-9)
    return np.arange(few, max(MOST_DEPTHS, few) + 1, dtype=float)


def _candidates(job: ResolvedJob, mill: Mill, speed: float) -> _Tried:
    """Evaluate feeds and depths, fewest depths first, until none that is left can be quicker."""
    feeds = _feeds(job, mill, speed)
    levels = _levels(job, mill)
    beside = levels
    if mill.table.depth_per_pass is None:
        beside = np.array(SIDE_DEPTHS if mill.side_steps else (1,), float)
    side = None
    if mill.side_steps:
        f_z, deep = np.meshgrid(feeds, _deep(mill, beside), indexing="ij")
        side = pass_loads(job, mill, f_z.ravel(), deep.ravel(), side=True)
    blocks: list[_Tried] = []
    best = math.inf
    for i in range(0, levels.size, BLOCK):
        block = levels[i : i + BLOCK]
        if _time(job, mill, speed, feeds, block[0], beside[0]).min() >= best:
            break
        rows = _judged(job, mill, speed, (feeds, block, beside), side)
        good = (rows.hard <= 1) & (rows.soft <= FULL)
        best = min(best, float(rows.time[good].min(initial=math.inf)))
        blocks.append(rows)
    return _Tried(*(np.concatenate(x) for x in zip(*blocks, strict=True)))


def _deep(mill: Mill, levels: Array) -> Array:
    """Axial depth of a pass with so many equal depths, or the one that is given. [mm]"""
    given = mill.table.depth_per_pass
    return mill.depth / levels if given is None else np.full_like(levels, given)


def _time(
    job: ResolvedJob,
    mill: Mill,
    speed: float,
    f_z: Array,
    levels: float | Array,
    side_levels: float | Array,
) -> Array:
    """Time for the whole throat, with setting up. [s]"""
    rate = chip.feed_rate(f_z, mill.table.teeth, speed)
    each = pass_travel(job.slot, mill.table.diameter) / rate + PASS_SETUP
    return np.asarray(pass_count(mill, levels, side_levels) * each)


def _judged(
    job: ResolvedJob,
    mill: Mill,
    speed: float,
    tried: tuple[Array, Array, Array],
    side: MillLoads | None,
) -> _Tried:
    """Every one of some feeds, depths and side depths; the side passes' loads by feed and depth."""
    feeds, levels, beside = tried
    at = [x.ravel() for x in np.indices([x.size for x in tried])]
    f_z, n, m = (x[i] for x, i in zip(tried, at, strict=True))
    grid = [x.ravel() for x in np.meshgrid(feeds, _deep(mill, levels), indexing="ij")]
    centre = pass_loads(job, mill, *grid, side=False)
    on_the_mill = _taken(centre, at[0] * levels.size + at[1])
    if side is not None:
        on_the_mill = worse(on_the_mill, _taken(side, at[0] * beside.size + at[2]))
    depth = _deep(mill, n)
    cut = MillCut(speed=speed, f_z=f_z, depth=depth, levels=n, side_levels=m, loads=on_the_mill)
    limits = [limit for limit in mill_checks(job, mill, cut) if limit.code not in FEEDLESS]
    hard = [np.broadcast_to(c.utilization / NEAR, f_z.shape) for c in limits if c.hard]
    soft = [np.broadcast_to(c.utilization, f_z.shape) for c in limits if not c.hard]
    return _Tried(
        f_z=f_z,
        levels=n,
        side_levels=m,
        depth=depth,
        side_depth=_deep(mill, m),
        time=_time(job, mill, speed, f_z, n, m),
        hard=np.max(hard, axis=0),
        soft=np.max(soft, axis=0),
    )


def _taken(found: MillLoads, at: npt.NDArray[np.intp]) -> MillLoads:
    return MillLoads(**{f.name: getattr(found, f.name)[at] for f in fields(MillLoads)})


def _quickest(tried: _Tried) -> tuple[_Tried, bool]:
    """The quickest cut that holds all; else of those that hold the hard limits the one that strains
    the others least; else the least bad.
    """
    hard, soft = tried.hard, tried.soft
    for good, rank in (((hard <= 1) & (soft <= FULL), tried.time), (hard <= 1, soft)):
        if good.any():
            i = int(np.argmin(np.where(good, rank, np.inf)))
            return tried.one(i), bool(soft[i] <= FULL)
    return tried.one(int(np.argmin(hard))), False


def _why(job: ResolvedJob, mill: Mill, limits: tuple[Limit, ...], holds: bool) -> str:
    worst = max(
        (limit for limit in limits if limit.name not in FEEDLESS),
        key=lambda limit: limit.utilization,
    )
    feed = mill.table.feed_per_tooth is not None
    depth = mill.table.depth_per_pass is not None
    used = used_text(worst)
    if any(limit.hard and limit.over for limit in limits):
        return (
            f"No feed and depth that were tried hold: {used}."
            if not (feed or depth)
            else f"The settings given in [throat_mill] do not hold: {used}."
        )
    if holds and feed and depth:
        return f"Feed and depth per pass: as given in [throat_mill]; every limit holds, {used}."
    if holds:
        usual = f"{used}; never over what is usual for {_size(job, mill)}"
        if feed:
            return (
                f"Depth per pass: the quickest that holds every limit at the given feed, {usual}."
            )
        if depth:
            return f"Feed: the quickest that holds every limit at the given depth, {usual}."
        return f"Feed and depth per pass: the quickest that hold every limit, {usual}."
    return f"Feed and depth per pass: a limit stays near or over, {used}."


def _size(job: ResolvedJob, mill: Mill) -> str:
    return f"a {units.show(mill.table.diameter, 'length', job.units)} mill"

"""Picks what [throat_mill] leaves out: spindle speed, feed and depth per pass, the quickest that
hold every limit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loadsim.answers.results import ThroatMillState
from loadsim.base import units
from loadsim.base.numbers import Array, tidy
from loadsim.loads.assumptions import PASS_SETUP
from loadsim.loads.limits.throat_mill import MillCut, mill_checks, mill_notes, per_level
from loadsim.loads.limits.utilization import FEEDLESS, FULL, NEAR, Limit
from loadsim.loads.machine import SpeedBound, below_resonance, lowest_speed, settable, usual_feed
from loadsim.loads.nominal import known_force
from loadsim.loads.passes import pass_travel
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.throat_mill import Mill, loads, mill_of
from loadsim.mechanics import chip
from loadsim.words.limits import THROAT_MILL, worded
from loadsim.words.phrases import used_text
from loadsim.words.reservations import spoken
from loadsim.words.settings import speed_bound

#: Share of the surface speed for an end mill at which it runs in a full slot (common practice, no
#: source). [1]
SLOT_SPEED = 0.8

#: Deepest pass in a full slot, over the diameter, in soft metals and in the others (memory medium).
#: [1]
DEEPEST_SOFT = 1.0
DEEPEST = 0.5

SOFT = ("aluminum", "brass", "copper", "bronze", "magnesium", "plastic")

#: Most depths tried, and steps of the feed from the usual one to one that only rubs. [1]
MOST_DEPTHS = 60
FEEDS = 8

#: Depths that are evaluated at once. [1]
BLOCK = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class MillSettings:
    """Settings of the throat mill, given or picked, with what they come to."""

    title: str  #: of the mill's material
    sources: tuple[str, ...]
    speed: float  #: [rad/s]
    f_z: float  #: [mm]
    rate: float  #: table feed [mm/s]
    depth: float  #: of a pass [mm]
    levels: int  #: passes deep
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


def mill_settings(job: ResolvedJob) -> MillSettings | None:
    """Pick the settings of the throat mill, or None when the job has none.

    Of some settable feeds, from the usual one down, with every number of equal depths those are
    kept at which hard limits stay under what a go allows and the others hold; the quickest of them
    is picked.

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
    settings, holds = _quickest(_candidates(job, mill, speed))
    f_z, levels, depth = settings[:3, None]
    cut = MillCut(
        speed=speed, f_z=f_z, depth=depth, levels=levels, loads=loads(job, mill, f_z, depth)
    )
    limits = tuple(
        sorted(
            (worded(c, job.units, THROAT_MILL) for c in mill_checks(job, mill, cut)),
            key=lambda limit: -limit.utilization,
        )
    )
    beyond = known_force(job, cut.loads.peak_chip).notes
    return MillSettings(
        title=mill.blank.title,
        sources=mill.blank.sources,
        speed=speed,
        f_z=float(f_z[0]),
        rate=chip.feed_rate(float(f_z[0]), mill.table.teeth, speed),
        depth=float(depth[0]),
        levels=int(levels[0]),
        passes=int(levels[0]) * per_level(mill),
        side_width=mill.side_width,
        limits=limits,
        safe=not any(limit.hard and limit.over for limit in limits),
        notes=(
            *(spoken(note, job.units) for note in mill.assumed),
            *(f"Throat mill: {spoken(note, job.units)}." for note in mill.notes),
            *(f"Throat mill: {spoken(note, job.units)}" for note in mill_notes(job, mill, speed)),
            *(f"Throat mill: {note}." for note in beyond),
        ),
        reasons=(reason, _why(job, mill, limits, holds)),
    )


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


def _candidates(job: ResolvedJob, mill: Mill, speed: float) -> Array:
    """Evaluate feeds and depths, fewest depths first, until none that is left can be quicker; rows
    as in `_judged`.
    """
    feeds = _feeds(job, mill, speed)
    levels = _levels(job, mill)
    blocks = []
    best = math.inf
    fastest = _time(job, mill, speed, feeds).min()
    for i in range(0, levels.size, BLOCK):
        block = levels[i : i + BLOCK]
        if block[0] * fastest >= best:
            break
        rows = _judged(job, mill, speed, *(grid.ravel() for grid in np.meshgrid(feeds, block)))
        time, hard, soft = rows[3:]
        best = min(best, float(time[(hard <= 1) & (soft <= FULL)].min(initial=math.inf)))
        blocks.append(rows)
    return np.concatenate(blocks, axis=1)


def _time(job: ResolvedJob, mill: Mill, speed: float, f_z: Array) -> Array:
    """Time for one depth. [s]"""
    rate = chip.feed_rate(f_z, mill.table.teeth, speed)
    return np.asarray(
        per_level(mill) * (pass_travel(job.slot, mill.table.diameter) / rate + PASS_SETUP)
    )


def _judged(job: ResolvedJob, mill: Mill, speed: float, f_z: Array, levels: Array) -> Array:
    """Feed, depths, depth, time, and the largest share of a hard (of what a go allows) and of a
    soft limit; (6, s).
    """
    depth = (
        mill.depth / levels
        if mill.table.depth_per_pass is None
        else np.full_like(levels, mill.table.depth_per_pass)
    )
    cut = MillCut(
        speed=speed, f_z=f_z, depth=depth, levels=levels, loads=loads(job, mill, f_z, depth)
    )
    limits = [limit for limit in mill_checks(job, mill, cut) if limit.code not in FEEDLESS]
    hard = [np.broadcast_to(c.utilization / NEAR, f_z.shape) for c in limits if c.hard]
    soft = [np.broadcast_to(c.utilization, f_z.shape) for c in limits if not c.hard]
    time = levels * _time(job, mill, speed, f_z)
    return np.stack([f_z, levels, depth, time, np.max(hard, axis=0), np.max(soft, axis=0)])


def _quickest(candidates: Array) -> tuple[Array, bool]:
    """The quickest cut that holds all; else of those that hold the hard limits the one that strains
    the others least; else the least bad.
    """
    time, hard, soft = candidates[3:]
    for good, rank in (((hard <= 1) & (soft <= FULL), time), (hard <= 1, soft)):
        if good.any():
            i = int(np.argmin(np.where(good, rank, np.inf)))
            return candidates[:, i], bool(soft[i] <= FULL)
    return candidates[:, int(np.argmin(hard))], False


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

"""Picks what [cut] leaves out: spindle speed, and the largest feed at which every limit holds."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from loadsim.base import units
from loadsim.base.numbers import Array
from loadsim.loads.cut import Engagement, Picked, cutting
from loadsim.loads.limits import undercut
from loadsim.loads.limits.utilization import FEEDLESS, NEAR, LimitCode
from loadsim.loads.machine import given_feed, pick_speed, rubbing_feed, settable, usual_feed
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip
from loadsim.risk import samples, snap
from loadsim.words.settings import speed_bound

#: The slower engagement that is shown beside the one chosen, its feed over the chosen one. [1]
SLOWER = 0.5


class FeedBound(StrEnum):
    """What bounds a feed when no limit of the cut does, as a reader sees it."""

    USUAL = "what is usual for a cutter of this size"
    SNAP_PROBABILITY = "the asked snap probability"
    GIVEN = "the feed given in [cut]"
    SLOWER = f"{SLOWER:.0%} of the feed chosen"


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """A feed picked, or the reason why there is none."""

    f_z: float  #: [mm]
    rate: float  #: table feed [mm/s]
    safe: bool  #: every limit holds at the asked snap probability
    bound: LimitCode | FeedBound
    next_bound: str  #: the next limit, and how far it is


def _utilizations(
    job: ResolvedJob, engagement: Engagement, speed: float, f_z: Array
) -> tuple[Array, list[LimitCode]]:
    """Utilization, against what a go allows, of every limit that the feed moves; by limit and
    feed.
    """
    limits = [
        limit
        for limit in undercut.checks(job, cutting(job, engagement, speed, f_z))
        if limit.code not in FEEDLESS and not limit.fit
    ]
    rows = [
        np.broadcast_to(limit.utilization / (NEAR if limit.hard else 1.0), f_z.shape)
        for limit in limits
    ]
    return np.array(rows), [limit.code for limit in limits]


def pick_feed(job: ResolvedJob, engagement: Engagement, speed: float, drawn: samples.Draws) -> Feed:
    """Pick the largest settable feed at which every limit holds at the asked snap probability.

    Bisection on utilization and probability, both rising with the feed; never under the rubbing
    feed, never over what is usual for the size.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine and asked snap probability.
    engagement : Engagement
        Passes and contact tables of the cut.
    speed : float
        Spindle speed. [rad/s]
    drawn : Draws
        Sample of the risk.

    Returns
    -------
    feed : Feed
        When nothing is safe, the rubbing feed with ``safe`` false.
    """
    target = job.target.snap_probability
    least = rubbing_feed(job, engagement)
    high, bound = _bound_by_limits(job, engagement, speed, least)

    def chance(f_z: float) -> float:
        return snap.assess(job, engagement.passes, engagement.contacts, f_z, drawn).high

    if high and chance(high) > target:
        bound = FeedBound.SNAP_PROBABILITY
        high = _root(lambda f: chance(f) - target, least, high) if chance(least) <= target else 0.0
    f_z = settable(job, speed, high) if high else least
    safe = high > 0 and f_z >= least * (1 - 1e-9)
    if not safe:
        f_z = settable(job, speed, least)
    return Feed(
        f_z=f_z,
        rate=chip.feed_rate(f_z, job.cutter.teeth, speed),
        safe=safe,
        bound=bound,
        next_bound=_next(job, engagement, speed, f_z, bound),
    )


def _bound_by_limits(
    job: ResolvedJob, engagement: Engagement, speed: float, least: float
) -> tuple[float, LimitCode | FeedBound]:
    """Largest feed at which every limit holds, 0 where none does, and what bounds it. [mm]"""
    most = max(usual_feed(job), 1.5 * least)
    grid = np.geomspace(least, most, 25)
    u, codes = _utilizations(job, engagement, speed, grid)
    worst = u.max(axis=0)
    if not worst[-1] > 1:
        return most, FeedBound.USUAL
    i = int(np.argmax(worst > 1))
    bound = codes[int(np.argmax(u[:, i]))]
    if i == 0:
        return 0.0, bound

    def excess(f_z: float) -> float:
        return float(_utilizations(job, engagement, speed, np.array([f_z]))[0].max()) - 1

    return _root(excess, grid[i - 1], grid[i]), bound


def _root(f: Callable[[float], float], low: float, high: float) -> float:
    """Largest x in [low, high] with f(x) <= 0 for a rising f, to 0.2 %."""
    while high / low > 1.002:
        middle = math.sqrt(low * high)
        if f(middle) > 0:
            high = middle
        else:
            low = middle
    return low


def _next(job: ResolvedJob, engagement: Engagement, speed: float, f_z: float, bound: str) -> str:
    u, codes = _utilizations(job, engagement, speed, np.array([f_z]))
    others = [
        (used, code) for used, code in zip(u[:, 0].tolist(), codes, strict=True) if code != bound
    ]
    used, code = max(others)
    return f"{code}, used to {units.percent(used)} of what a go allows"


def pick(
    job: ResolvedJob, engagement: Engagement, stepover: float | None, few: samples.Draws
) -> Picked:
    """Take the settings that [cut] gives, and pick those it leaves out.

    Parameters
    ----------
    job : ResolvedJob
        Its [cut], and slot, cutter, machine and asked snap probability to pick by.
    engagement : Engagement
        Passes and contact tables of the cut.
    stepover : float or None
        Largest step outward of the cut, handed on. [mm]
    few : Draws
        Sample of the risk.

    Returns
    -------
    picked : Picked
        With a note on each setting that was picked.

    Raises
    ------
    InputError
        If the table feed in [cut] makes an absurd chip at this speed.
    """
    cut = job.cut
    notes = []
    speed = cut.spindle_speed
    if speed is None:
        speed, bound = pick_speed(job, engagement.frequency)
        reason = speed_bound(bound, job.blank, job.work)
        rpm = units.to_unit(speed, "rpm", "angular speed")
        notes.append(f"Spindle speed picked: {rpm:.0f} rpm, bound by {reason}.")
    f_z = given_feed(job, speed)
    if f_z is None:
        feed = pick_feed(job, engagement, speed, few)
        f_z = feed.f_z
        notes.append(_feed_note(job, feed))
    if not cut.direction:
        notes.append("Direction picked: conventional, which does not drag the table.")
    return Picked(speed=speed, f_z=f_z, stepover=stepover, notes=tuple(notes))


def _feed_note(job: ResolvedJob, feed: Feed) -> str:
    shown = units.show(feed.f_z, "feed per tooth", job.units)
    if not feed.safe:
        return (
            f"No feed is safe, bound by {feed.bound}; the answer is for {shown}, near the least the"
            " edge can cut."
        )
    return f"Feed picked: {shown}, bound by {feed.bound}; next is {feed.next_bound}."


def picked_rate(job: ResolvedJob, picked: Picked) -> float:
    """Table feed. [mm/s]"""
    return chip.feed_rate(picked.f_z, job.cutter.teeth, picked.speed)

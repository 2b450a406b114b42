"""Picks what [cut] leaves out: spindle speed, and the largest feed at which every limit holds."""

from __future__ import annotations

import math
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

#: The slower way that is shown beside the one chosen, its feed over the chosen one. [1]
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


def _over(
    job: ResolvedJob, way: Engagement, speed: float, f_z: Array
) -> tuple[Array, list[LimitCode]]:
    """Utilization, against what a go allows, of every limit that the feed moves; (limits, feeds)."""
    found = [
        c
        for c in undercut.checks(job, cutting(job, way, speed, f_z))
        if c.code not in FEEDLESS and not c.fit
    ]
    u = np.array(
        [np.broadcast_to(c.utilization / (NEAR if c.hard else 1.0), f_z.shape) for c in found]
    )
    return u, [c.code for c in found]


def pick_feed(job: ResolvedJob, way: Engagement, speed: float, drawn: samples.Draws) -> Feed:
    """Pick the largest settable feed at which every limit holds at the asked snap probability.

    Bisection on utilization and probability, both rising with the feed; never under the rubbing
    feed, never over what is usual for the size.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    way : Engagement
        How the undercut is made.
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
    least = rubbing_feed(job, way)
    most = usual_feed(job)
    most = max(most, 1.5 * least)
    grid = np.geomspace(least, most, 25)
    u, names = _over(job, way, speed, grid)
    worst = u.max(axis=0)

    def chance(f_z: float) -> float:
        return snap.assess(job, way.passes, way.contacts, f_z, drawn).high

    bound: LimitCode | FeedBound = FeedBound.USUAL
    high = most
    if worst[-1] > 1:
        i = int(np.argmax(worst > 1))
        bound = names[int(np.argmax(u[:, i]))]
        high = (
            _root(
                lambda f: float(_over(job, way, speed, np.array([f]))[0].max()) - 1,
                grid[max(i - 1, 0)],
                grid[i],
            )
            if i
            else 0.0
        )
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
        next_bound=_next(job, way, speed, f_z, bound),
    )


def _root(f: object, low: float, high: float) -> float:
    """Largest x in [low, high] with f(x) <= 0 for a rising f, to 0.2 %."""
    assert callable(f)
    while high / low > 1.002:
        middle = math.sqrt(low * high)
        if f(middle) > 0:
            high = middle
        else:
            low = middle
    return low


def _next(job: ResolvedJob, way: Engagement, speed: float, f_z: float, bound: str) -> str:
    u, names = _over(job, way, speed, np.array([f_z]))
    ranked = sorted((x, n) for x, n in zip(u[:, 0].tolist(), names, strict=True) if n != bound)
    return f"{ranked[-1][1]}, used to {units.percent(ranked[-1][0])} of what a go allows"


def pick(job: ResolvedJob, way: Engagement, stepover: float | None, few: samples.Draws) -> Picked:
    cut = job.cut
    notes = []
    speed = cut.spindle_speed
    if speed is None:
        speed, bound = pick_speed(job, way.frequency)
        reason = speed_bound(bound, job.blank, job.work)
        notes.append(f"Spindle speed picked: {speed * 30 / math.pi:.0f} rpm, bound by {reason}.")
    f_z = given_feed(job, speed)
    if f_z is None:
        feed = pick_feed(job, way, speed, few)
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

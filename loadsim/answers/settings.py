"""Picks what [cut] leaves out: spindle speed, and the largest feed at which every limit holds."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import partial

import numpy as np
import numpy.typing as npt

from loadsim.answers.proved import FARTHEST, farthest_feed
from loadsim.answers.results import Verdict
from loadsim.answers.verdict import most_to_prove
from loadsim.base import units
from loadsim.base.numbers import Array
from loadsim.base.roots import last_under
from loadsim.loads.assumptions import FASTEST_WHEEL
from loadsim.loads.cut import Engagement, Picked, cutting
from loadsim.loads.limits import undercut
from loadsim.loads.limits.utilization import FEEDLESS, FULL, NEAR, LimitCode
from loadsim.loads.machine import given_feed, pick_speed, rubbing_feed, settable, usual_feed
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip
from loadsim.risk import samples, snap
from loadsim.words.settings import speed_bound

#: The slower engagement that is shown beside the one chosen, its feed over the chosen one. [1]
SLOWER = 0.5

#: Feeds at which the limits are looked at before their crossing is sought. [1]
FEEDS = 25


#: Points of each replicate that say about where the feed lies. [1]
PILOT = 16

#: How near a feed is sought: the next over the last that was looked at. [1]
WITHIN = 1.002


class FeedBound(StrEnum):
    """What bounds a feed when no limit of the cut does, as a reader sees it."""

    USUAL = "what is usual for a cutter of this size"
    SNAP_PROBABILITY = "the asked snap probability"
    GIVEN = "the feed given in [cut]"
    SLOWER = f"{SLOWER:.0%} of the feed chosen"
    PROVED = f"{FARTHEST:g} times the largest feed that this cutter survived on scrap"


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """A feed picked, or the reason why there is none."""

    f_z: float  #: [mm]
    rate: float  #: table feed [mm/s]
    verdict: Verdict  #: by the limits that the feed moves, and by the snap probability
    bound: LimitCode | FeedBound
    next_bound: str  #: the next limit, and how far it is

    @property
    def safe(self) -> bool:
        """Whether the feed keeps the cut a go."""
        return self.verdict is Verdict.GO


@dataclass(frozen=True, slots=True, kw_only=True)
class _Standard:
    """What a feed has to hold for a verdict."""

    verdict: Verdict
    hard: float  #: most use of a hard limit [1]
    lets_go: bool  #: of the soft limits that no feed holds
    chance: float  #: highest upper end of the snap probability [1]


def _standards(target: float) -> tuple[_Standard, ...]:
    """What is tried, the best first: a go; what only misses limits that no feed holds; whatever may
    be proved on scrap.
    """
    go = _Standard(verdict=Verdict.GO, hard=NEAR, lets_go=False, chance=target)
    missed = replace(go, verdict=Verdict.MARGINAL, lets_go=True)
    return go, missed, replace(missed, hard=1.0, chance=most_to_prove(target))


class _Uses:
    """Use of every limit that the feed moves, at any feed."""

    def __init__(self, job: ResolvedJob, engagement: Engagement, speed: float, least: float):
        self.cut = (job, engagement, speed)
        self.never = np.zeros(1, bool)
        self.hard, used = self._at(np.array([least]))
        self.never = ~self.hard & (used[:, 0] > FULL)

    def _at(self, f_z: Array) -> tuple[npt.NDArray[np.bool_], Array]:
        job, engagement, speed = self.cut
        limits = [
            limit
            for limit in undercut.checks(job, cutting(job, engagement, speed, f_z))
            if limit.code not in FEEDLESS and not limit.fit
        ]
        self.codes = [limit.code for limit in limits]
        return (
            np.array([limit.hard for limit in limits]),
            np.array([np.broadcast_to(limit.utilization, f_z.shape) for limit in limits]),
        )

    def of(self, f_z: Array, standard: _Standard) -> Array:
        """Share of what a standard allows, by limit and feed. [1]"""
        used = self._at(f_z)[1]
        used = np.where(self.hard[:, None], used / standard.hard, used)
        return np.where((self.never & standard.lets_go)[:, None], 0.0, used)

    def excess(self, standard: _Standard, f_z: float) -> float:
        """How far the worst lies over what the standard allows. [1]"""
        return float(self.of(np.array([f_z]), standard).max()) - 1


def pick_feed(job: ResolvedJob, engagement: Engagement, speed: float, drawn: samples.Draws) -> Feed:
    """Pick the largest settable feed at which the cut is a go; if there is none, the largest at
    which it may be proved on scrap.

    Sought on utilization and probability, both rising with the feed; never under the rubbing
    feed, never over what is usual for the size or a hand keeps up, nor far over what the cutter has
    survived.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine, asked snap probability and test cuts.
    engagement : Engagement
        Passes and contact tables of the cut.
    speed : float
        Spindle speed. [rad/s]
    drawn : Draws
        Sample of the risk.

    Returns
    -------
    feed : Feed
        The rubbing feed where every feed is a no-go.
    """
    least = rubbing_feed(job, engagement)
    most, bound = _most(job, least, speed)
    uses = _Uses(job, engagement, speed, least)

    @functools.cache
    def chance(f_z: float) -> float:
        found = snap.snaps(job, engagement, f_z, drawn, speed=speed)
        return snap.interval(found.p, drawn.weights, drawn.replicates)[2]

    @functools.cache
    def pilot(f_z: float) -> float:
        few = samples.few_of(drawn, PILOT)
        return float(snap.snaps(job, engagement, f_z, few, speed=speed).p.mean())

    def about(asked: float, high: float) -> float | None:
        """Where a small sample puts the feed; of a weighted one too little would be left."""
        if drawn.weights is not None or not pilot(least) <= asked < pilot(high):
            return None
        over = partial(_over, pilot, asked)
        return last_under(over, least, high, (over(least), over(high)), WITHIN)

    for standard in _standards(job.target.snap_probability):
        high, by = _bound_by_limits(uses, standard, least, most)
        if high and chance(high) > standard.chance:
            by = FeedBound.SNAP_PROBABILITY
            over = partial(_over, chance, standard.chance)
            guess = about(standard.chance, high)
            high = _last_under(over, least, high, guess)
        f_z = settable(job, speed, high) if high else 0.0
        if f_z >= least * (1 - 1e-9):
            return _feed(uses, standard, f_z, by or bound)
    return _feed(uses, None, settable(job, speed, least), by or bound)


def _over(chance: Callable[[float], float], asked: float, f_z: float) -> float:
    """Logarithm of the chance over that asked, which is nearly straight over that of the feed."""
    p = chance(f_z)
    return math.log(p / asked) if p > 0 else -math.inf


def _last_under(f: Callable[[float], float], low: float, high: float, guess: float | None) -> float:
    """Largest feed under the asked chance, 0 where the least is over it; that one is looked at only
    where nothing over it is under.
    """
    if guess is None and f(low) > 0:
        return 0.0
    ends = (-math.inf if guess is not None else f(low), f(high))
    found = last_under(f, low, high, ends, WITHIN, guess)
    return 0.0 if found == low and f(low) > 0 else found


def _most(job: ResolvedJob, least: float, speed: float) -> tuple[float, LimitCode | FeedBound]:
    """Largest feed that is looked at, and why. [mm]"""
    usual = max(usual_feed(job), 1.5 * least)
    near = farthest_feed(job)
    most: tuple[float, LimitCode | FeedBound] = (usual, FeedBound.USUAL)
    if near is not None and near < usual:
        most = max(near, least), FeedBound.PROVED
    if (hand := _by_hand(job, speed)) < most[0]:
        # where no hand is as quick as the edge asks, the least that cuts
        most = hand if hand >= least else min(most[0], 1.5 * least), LimitCode.HANDWHEEL_SPEED
    return most


def _by_hand(job: ResolvedJob, speed: float) -> float:
    """Feed per tooth that a hand keeps up, but for rounding; a driven table has no such bound."""
    if job.machine.feed != "hand":
        return math.inf
    rate = FASTEST_WHEEL * job.handwheel * (1 - 1e-12)
    return chip.feed_per_tooth(rate, job.cutter.teeth, speed)


def _bound_by_limits(
    uses: _Uses, standard: _Standard, least: float, most: float
) -> tuple[float, LimitCode | FeedBound | None]:
    """Largest feed at which every limit holds, 0 where none does, and which one bounds it, None
    where none does. [mm]
    """
    grid = np.geomspace(least, most, FEEDS)
    u = uses.of(grid, standard)
    worst = u.max(axis=0)
    if not worst[-1] > 1:
        return most, None
    i = int(np.argmax(worst > 1))
    bound = uses.codes[int(np.argmax(u[:, i]))]
    if i == 0:
        return 0.0, bound
    low, high = grid[i - 1 : i + 1].tolist()
    ends = (float(worst[i - 1]) - 1, float(worst[i]) - 1)
    return last_under(partial(uses.excess, standard), low, high, ends, WITHIN), bound


def _feed(
    uses: _Uses, standard: _Standard | None, f_z: float, bound: LimitCode | FeedBound
) -> Feed:
    """The feed that meets a standard, or the one where none is met."""
    job, _, speed = uses.cut
    return Feed(
        f_z=f_z,
        rate=chip.feed_rate(f_z, job.cutter.teeth, speed),
        verdict=Verdict.NO_GO if standard is None else standard.verdict,
        bound=bound,
        next_bound=_next(uses, f_z, bound),
    )


def _next(uses: _Uses, f_z: float, bound: str) -> str:
    go = _standards(1.0)[0]
    used, code = max(
        (used, code)
        for used, code in zip(uses.of(np.array([f_z]), go)[:, 0].tolist(), uses.codes, strict=True)
        if code != bound
    )
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
    if feed.verdict is Verdict.NO_GO:
        return (
            f"No feed passes, bound by {feed.bound}; the answer is for {shown}, near the least the"
            " edge can cut."
        )
    if feed.verdict is Verdict.MARGINAL:
        return (
            f"No feed is a go; picked is {shown}, the largest to be proved on scrap, bound by"
            f" {feed.bound}."
        )
    return f"Feed picked: {shown}, bound by {feed.bound}; next is {feed.next_bound}."


def picked_rate(job: ResolvedJob, picked: Picked) -> float:
    """Table feed. [mm/s]"""
    return chip.feed_rate(picked.f_z, job.cutter.teeth, picked.speed)

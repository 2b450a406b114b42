"""Choose the cut: speed, feed, stepover, passes, end holes; every way is evaluated by the same
chain and risk.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from loadsim.answers.check import check
from loadsim.answers.inspection import inspect_job
from loadsim.answers.operations import routing
from loadsim.answers.options import EndHoles, PlanOption, hole_options, options, top_options
from loadsim.answers.proved import room_proved, way_in
from loadsim.answers.results import Alternative, Plan, Result, Verdict
from loadsim.answers.settings import SLOWER, Feed, FeedBound, pick_feed
from loadsim.answers.verdict import GRADES, verdict_of, with_tools
from loadsim.base import units
from loadsim.job.read import changed
from loadsim.job.tables import Job
from loadsim.loads import assumptions
from loadsim.loads.assumptions import HOLE_SETUP, PASS_SETUP, TOOL_CHANGE
from loadsim.loads.cut import Engagement, cutting, engagement_of, one
from loadsim.loads.limits import undercut
from loadsim.loads.limits.drill import drill_metal, drilled_checks
from loadsim.loads.limits.utilization import LimitCode, Utilization
from loadsim.loads.machine import (
    drill_speed,
    drilling_time,
    given_feed,
    machine_time,
    pick_speed,
    rubbing_feed,
    settable,
)
from loadsim.loads.passes import down_throat
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.top_holes import top_layouts
from loadsim.mechanics import chip
from loadsim.mechanics.drilling import DRILL_FEED
from loadsim.mechanics.stock import Hole
from loadsim.risk import samples, snap, trial_update
from loadsim.risk.samples import few_of
from loadsim.words import phrases
from loadsim.words.limits import trouble
from loadsim.words.phrases import few_figures
from loadsim.words.settings import speed_bound
from loadsim.words.top_holes import top_holes_text

#: Where the whole sample takes back what the small one gave: how much less feed, and how often it
#: is checked. [1]
STEP_BACK = 0.95
STEPS_BACK = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class _Candidate:
    """One option at its feed, with what the chain and the risk say of it."""

    option: PlanOption
    engagement: Engagement
    feed: Feed
    answer: Alternative
    barred: bool  #: by more than its limits: it is planned only where [cut] leaves nothing else

    @property
    def rank(self) -> tuple[bool, int, int, float]:
        """Sorts the best first: by the verdict, then quick, then sure; of what is a no-go the
        surest.
        """
        answer = self.answer
        time = 0 if answer.verdict is Verdict.NO_GO else round(answer.time_s)
        return self.barred, GRADES.index(answer.verdict), time, answer.snap_probability


def plan(
    job: Job, drawn: samples.Draws | None = None, progress: Callable[[int, int], None] | None = None
) -> Plan:
    """Pick spindle speed, feed, stepover, passes and end holes; what ``[cut]`` gives is kept.

    Ranked by: the verdict, then time on the machine, then snap probability. A climb cut that drags
    a loose table is never picked; it is kept when ``[cut]`` gives it.

    Parameters
    ----------
    job : Job
        From `loadsim.read_job`.
    drawn : Draws, optional
        Sample of the risk; made when None.
    progress : callable, optional
        Called with the number of ways evaluated and of all ways.

    Returns
    -------
    plan : Plan

    Raises
    ------
    InputError
        If a material is not known, or ``[cut]`` asks for end holes that do not fit.
    """
    resolved = resolve(job)
    drawn = samples.draws_for(job) if drawn is None else drawn
    seen = trial_update.weighed(resolved, drawn)
    few = few_of(seen.drawn)
    speed, speed_reason = _speed(resolved)
    best, *others = _candidates(resolved, speed, few, progress)
    tops = _from_the_top(resolved, best, speed, few)
    others = [*others, *_slower(resolved, best, speed, few), *tops]
    others = sorted(others, key=lambda c: c.rank)
    final, result, best = _checked(job, resolved, best, speed, few, seen)
    route = routing(final, result)
    over = (f"Over capacity: {', '.join(route.over)}.",) if route.over else ()
    chosen = replace(
        best.answer, verdict=result.verdict, safe=result.verdict is Verdict.GO, why_not=""
    )
    return Plan(
        asked=job,
        job=final,
        result=result,
        drawn=seen.drawn,
        alternatives=_with_reasons(chosen, [c.answer for c in others]),
        safe=chosen.safe,
        routing=route,
        inspection=inspect_job(final),
        reasons=(
            f"Spindle speed: {speed_reason}.",
            *_feed_reasons(resolved, best.feed, chosen),
            *_way_reasons(resolved, best.option, best.answer),
            *_drill_reasons(resolved, best.option.drilled),
            *_top_reasons(resolved, best, tops, speed, few),
            *over,
        ),
    )


def _checked(
    job: Job,
    resolved: ResolvedJob,
    best: _Candidate,
    speed: float,
    few: samples.Draws,
    seen: trial_update.Weighed,
) -> tuple[Job, Result, _Candidate]:
    """Check the way chosen on the whole sample; where that takes a go back, with a little less
    feed.
    """
    for _ in range(STEPS_BACK):
        final = changed(job, _cut(resolved, best.option, speed, best.feed))
        result = check(final, seen=seen)
        gone = best.answer.verdict is not Verdict.NO_GO and GRADES.index(
            result.verdict
        ) > GRADES.index(best.answer.verdict)
        f_z = settable(resolved, speed, STEP_BACK * best.feed.f_z)
        least = rubbing_feed(resolved, best.engagement) * (1 - 1e-9)
        if not gone or best.feed.bound is not FeedBound.SNAP_PROBABILITY or f_z < least:
            break
        rate = chip.feed_rate(f_z, resolved.cutter.teeth, speed)
        feed = replace(best.feed, f_z=f_z, rate=rate)
        best = _evaluate(resolved, best.option, speed, few, feed)
    return final, result, best


def _speed(job: ResolvedJob) -> tuple[float, str]:
    given = job.cut.spindle_speed
    if given is not None:
        return given, "as given in [cut]"
    from loadsim.loads.deflection import natural_frequency

    speed, bound = pick_speed(job, natural_frequency(job))
    return speed, f"bound by {speed_bound(bound, job.blank, job.work)}"


def _candidates(
    job: ResolvedJob, speed: float, few: samples.Draws, progress: Callable[[int, int], None] | None
) -> list[_Candidate]:
    """Evaluate every way without end holes and with the first layout, then the best with the other
    layouts; best first.
    """
    layouts = hole_options(job)
    at_once = 1 + len([layout for layout in layouts if not layout.holes])
    first = options(job, layouts[:at_once])
    rest = layouts[at_once:]
    candidates: list[_Candidate] = []

    def evaluate(ways: list[PlanOption]) -> None:
        for option in ways:
            if progress is not None:
                progress(len(candidates), len(first) + len(rest))
            candidates.append(_evaluate(job, option, speed, few))

    evaluate(first)
    if rest:
        like = min((c for c in candidates if c.option.drilled.holes), key=lambda c: c.rank).option
        cut = {"cut.stepover": like.stepover, "cut.direction": like.direction}
        evaluate(options(replace(job, written=changed(job.written, cut)), rest))
    return sorted(candidates, key=lambda c: c.rank)


def _evaluate(
    job: ResolvedJob, option: PlanOption, speed: float, few: samples.Draws, at: Feed | None = None
) -> _Candidate:
    engagement = engagement_of(job, option.passes, 90)
    feed = at or _given_feed(job, speed) or pick_feed(job, engagement, speed, few)
    chance = snap.assess(job, engagement, feed.f_z, few, speed=speed)
    found = undercut.checks(job, cutting(job, engagement, speed, feed.f_z))
    proved = room_proved(job, option.passes, found)
    limits = [limit for limit in found if limit.code not in proved]
    drilled = option.drilled
    drills = _drill_trouble(job, drilled)
    way = way_in(job, option.passes)
    verdict = verdict_of([*limits, *way], chance, job.target.snap_probability)
    verdict = with_tools(verdict, hold=not drills)
    bars = [*_bars(job, option, limits), *drills]
    hard = [limit.code for limit in limits if limit.hard and limit.over.any()]
    hard += [limit.name for limit in way]
    soft = [limit.code for limit in limits if not limit.hard and limit.over.any()]
    passes = len(option.passes)
    return _Candidate(
        option=option,
        engagement=engagement,
        feed=feed,
        answer=Alternative(
            name=option.name,
            verdict=verdict,
            safe=verdict is Verdict.GO and not bars,
            feed_per_tooth_mm=feed.f_z,
            passes=passes,
            time_s=machine_time(job, passes, feed.rate, drilled.holes, drilled.depth),
            snap_probability=chance.snap_probability,
            bound_by=", ".join([*hard, *bars] or soft) or feed.bound,
            next_limit=feed.next_bound,
            why_not=f"not taken: {', '.join(bars)}" if bars else "",
        ),
        barred=bool(bars),
    )


def _drill_trouble(job: ResolvedJob, drilled: EndHoles) -> list[str]:
    limits = drilled_checks(job, drilled.holes, drilled.depth)
    return [trouble(limit, job.units) for limit in limits if limit.over]


def _given_feed(job: ResolvedJob, speed: float) -> Feed | None:
    f_z = given_feed(job, speed)
    if f_z is None:
        return None
    return Feed(
        f_z=f_z,
        rate=chip.feed_rate(f_z, job.cutter.teeth, speed),
        verdict=Verdict.GO,
        bound=FeedBound.GIVEN,
        next_bound="not asked",
    )


def _bars(job: ResolvedJob, option: PlanOption, limits: list[Utilization]) -> list[str]:
    """What bars a way beside its limits: a hole that shows on the part, or a loose table dragged by
    a climb cut that nobody asked for.
    """
    grab = max(one(x.utilization) for x in limits if x.code is LimitCode.TABLE_GRAB)
    if option.drilled.asks_print:
        return ["only where the print allows it"]
    if job.cut.direction is None and option.direction == "climb" and grab > 0:
        return [f"{LimitCode.TABLE_GRAB} (the cut drags a loose table)"]
    return []


def _slower(
    job: ResolvedJob, best: _Candidate, speed: float, few: samples.Draws
) -> list[_Candidate]:
    """The way chosen at half its feed, where a feed is open and that much less still cuts."""
    if best.answer.verdict is Verdict.NO_GO or _given_feed(job, speed) is not None:
        return []
    f_z = settable(job, speed, SLOWER * best.feed.f_z)
    cuts = f_z >= rubbing_feed(job, best.engagement) * (1 - 1e-9)
    half = Feed(
        f_z=f_z,
        rate=chip.feed_rate(f_z, job.cutter.teeth, speed),
        verdict=best.answer.verdict if cuts else Verdict.NO_GO,
        bound=FeedBound.SLOWER if cuts else LimitCode.RUBBING,
        next_bound="not asked",
    )
    option = replace(best.option, name=f"{best.option.name}, at half the feed")
    return [_evaluate(job, option, speed, few, half)]


def _from_the_top(
    job: ResolvedJob, best: _Candidate, speed: float, few: samples.Draws
) -> list[_Candidate]:
    """The way chosen with holes from the top at the closed end, each at its own best feed."""
    return [_evaluate(job, option, speed, few) for option in top_options(job, best.option)]


def _top_reasons(
    job: ResolvedJob, best: _Candidate, tops: list[_Candidate], speed: float, few: samples.Draws
) -> tuple[str, ...]:
    """What those holes bring at the feed of the way chosen."""
    chances = [
        snap.assess(job, c.engagement, best.feed.f_z, few, speed=speed).snap_probability
        for c in tops
    ]
    found = list(zip(top_layouts(job), chances, strict=True)) if tops else []
    text = top_holes_text(
        found, best.answer.snap_probability, job.units, lifted=not down_throat(job)
    )
    return (text,) if text else ()


def _with_reasons(best: Alternative, rest: list[Alternative]) -> tuple[Alternative, ...]:
    """Say of each way that lost why it did."""

    def why(other: Alternative) -> str:
        if other.why_not:
            return other.why_not
        if GRADES.index(other.verdict) > GRADES.index(best.verdict):
            return f"{phrases.VERDICTS[other.verdict]}: {other.bound_by}"
        if other.verdict is Verdict.NO_GO:
            return f"{phrases.VERDICTS[other.verdict]} as well: {other.bound_by}"
        if round(other.time_s) > round(best.time_s):
            return f"takes {units.duration(other.time_s - best.time_s)} longer"
        if other.snap_probability > max(1.2 * best.snap_probability, 1e-6):
            return (
                "as quick, but the snap probability is"
                f" {few_figures(other.snap_probability)} against"
                f" {few_figures(best.snap_probability)}"
            )
        return "as good"

    return (best, *(replace(other, why_not=why(other)) for other in rest))


def _cut(job: ResolvedJob, option: PlanOption, speed: float, feed: Feed) -> dict[str, Any]:
    """Return [cut] and [predrill] of the way chosen, as changes to the job."""
    holes = option.drilled.holes
    changes: dict[str, Any] = {
        "cut.spindle_speed": speed,
        "cut.feed_per_tooth": feed.f_z,
        "cut.feed_rate": None,
        "cut.stepover": option.stepover,
        "cut.direction": option.direction,
        "cut.predrill": bool(holes),
    }
    if holes and job.predrill is None:
        heights = [hole.height for hole in holes if isinstance(hole, Hole)]
        key, value = ("height", heights[0]) if len(set(heights)) == 1 else ("heights", heights)
        changes |= {
            "predrill.diameter": holes[0].diameter,
            "predrill.offsets": [hole.offset for hole in holes],
            f"predrill.{key}": value,
            "predrill.depth": option.drilled.depth,
        }
    return changes


def _feed_reasons(job: ResolvedJob, feed: Feed, best: Alternative) -> tuple[str, ...]:
    if best.verdict is Verdict.NO_GO and feed.verdict is not Verdict.NO_GO:
        return (f"No way passes: {best.bound_by}. The feed itself is bound by {feed.bound}.",)
    if best.verdict is Verdict.NO_GO:
        return (
            f"No feed passes: {best.bound_by}. The answer is for the least feed that the edge can"
            " cut.",
        )
    hand = (
        f" Handwheel: {phrases.handwheel(job.handwheel / feed.rate, job.handwheel, job.units)}."
        if job.machine.feed == "hand"
        else ""
    )
    steady, spread = assumptions.STEADINESS[job.machine.feed]
    bound = (
        "Feed: no feed is a go; this is the largest that may be proved on scrap, bound by"
        f" {feed.bound}"
        if feed.verdict is Verdict.MARGINAL
        else f"Feed: bound by {feed.bound}; next is {feed.next_bound}"
    )
    return (
        f"{bound}.{hand}",
        (
            f"The plan assumes a {job.machine.feed} feed that swings by a factor"
            f" {math.exp(spread) * steady:.2f} (one cut in six is worse)."
        ),
    )


def _way_reasons(job: ResolvedJob, option: PlanOption, best: Alternative) -> tuple[str, ...]:
    drilled = option.drilled
    holes = ""
    if drilled.holes:
        time = units.duration(drilling_time(job, drilled.holes, drilled.depth))
        holes = f", of which drilling {time} with its tool change"
    assumed = (
        f"{PASS_SETUP:.0f} s to set up a pass, {HOLE_SETUP:.0f} s a hole,"
        f" {units.duration(TOOL_CHANGE)} a tool change"
    )
    time = units.duration(best.time_s)
    return (f"Way: {best.name}; about {time} with setting up{holes} (assumed {assumed}).",)


def _drill_reasons(job: ResolvedJob, drilled: EndHoles) -> tuple[str, ...]:
    """How to drill the end holes, and how much of what it bears the drill is given."""
    if not drilled.holes:
        return ()
    D = drilled.holes[0].diameter
    system = job.units
    limits = drilled_checks(job, drilled.holes, drilled.depth)
    used = {limit.code: float(limit.utilization) for limit in limits}
    deep = units.show(drilled.depth, "length", system)
    feed = units.show(DRILL_FEED * D, "length", system)
    speed = units.to_unit(drill_speed(job, D), "rpm", "angular speed")
    along = isinstance(drilled.holes[0], Hole)
    where = "along the slot from its open end" if along else "from the top at the closed end"
    each = " from each open end drilled" if along else ""
    how = (
        f"End holes, drilled {where}: {phrases.drill(D, system)} drill,"
        f" {deep} deep at full diameter{each}, at {speed:.0f} rpm and {feed}"
        f" a turn; its torque is at {units.percent(used[LimitCode.DRILL_TORQUE])} and its thrust at"
        f" {units.percent(used[LimitCode.DRILL_THRUST])} of what it bears. Start each with a spot"
        f" drill, clear the chips often.{phrases.drill_factors(drill_metal(job))}"
    )
    if not drilled.before_throat:
        return (how,)
    return (
        how,
        "The end holes break into the throat slot: drill them before the throat is milled, or the"
        " drill runs off.",
    )

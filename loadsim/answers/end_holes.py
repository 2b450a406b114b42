"""Whether end holes are needed, worthwhile, not needed or not possible, and the numbers of it."""

from __future__ import annotations

from dataclasses import dataclass

from loadsim.answers.results import PredrillVerdict, Verdict
from loadsim.answers.settings import pick_feed
from loadsim.answers.states import hole_dict
from loadsim.base import units
from loadsim.loads.cut import Engagement, engagement_of
from loadsim.loads.end_holes import breaks_into_throat, holes_of, layout, why_none
from loadsim.loads.limits.drill import drill_checks
from loadsim.loads.machine import machine_time
from loadsim.loads.passes import passes
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.stock import Hole, TopHole
from loadsim.risk import samples, snap
from loadsim.words import phrases
from loadsim.words.limits import trouble
from loadsim.words.phrases import few_figures

#: End holes are worthwhile when they save this share of the time on the machine, [1]
SAVED_TIME = 0.05

#: or divide the snap probability by this, where it is over this share of the asked one (what a shop
#: would call worth it). [1]
CUT_RISK = 1.3
NEGLIGIBLE = 0.25


def predrill_verdict(job: ResolvedJob, speed: float, few: samples.Draws) -> PredrillVerdict:
    """Say whether end holes are needed, with the numbers behind it: feed, time and snap probability
    without and with.

    Needed: without them every feed is a no-go. Worthwhile: they turn a cut to be proved on scrap
    into a go, save `SAVED_TIME` of the time on the machine, or cut a snap probability over
    `NEGLIGIBLE` of the asked one by `CUT_RISK`, at the feed of each or at the feed without holes.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine, asked snap probability, and end holes where it gives them.
    speed : float
        Spindle speed. [rad/s]
    few : Draws
        Sample of the risk.

    Returns
    -------
    verdict : PredrillVerdict
    """
    holes, depth, name, before_throat = _holes_to_judge(job)
    bare = _best_feed(job, speed, few, (), 0.0)
    cuts = bare.verdict is not Verdict.NO_GO
    if not holes:
        kind = "not needed" if cuts else "not possible"
        return PredrillVerdict(
            verdict=kind, why=f"without holes: {_sentence(job, bare)}; {why_none(job)}.", holes=None
        )
    drilled = _best_feed(job, speed, few, holes, depth)
    limits = drill_checks(job, holes[0].diameter, depth)
    troubles = [trouble(limit, job.units) for limit in limits if limit.over]
    same = drilled.p  # at the feed without holes
    if drilled.f_z != bare.f_z:
        same = _chance(job, drilled.engagement, speed, bare.f_z, few)
    sentences = [
        f"without holes: {_sentence(job, bare)}",
        f"with {name}: {_sentence(job, drilled)}",
    ]
    if cuts:
        quicker = drilled.time <= (1 - SAVED_TIME) * bare.time
        surer = (
            bare.p >= NEGLIGIBLE * job.target.snap_probability
            and min(drilled.p, same) * CUT_RISK <= bare.p
        )
        turns = drilled.verdict is Verdict.GO and bare.verdict is not Verdict.GO
        holds = drilled.verdict in (Verdict.GO, bare.verdict) and not troubles
        better = holds and (turns or quicker or surer)
        kind = "worthwhile" if better else "not needed"
        if drilled.f_z > bare.f_z:
            sentences.append(f"with them at the feed without, {few_figures(same)}")
    else:
        kind = "not possible" if troubles else "needed"
        if drilled.verdict is not Verdict.GO and not troubles:
            sentences.append("even with them no feed is a go")
    sentences += troubles
    if before_throat:
        sentences.append("drill them before the throat slot is milled")
    return PredrillVerdict(
        verdict=kind, why="; ".join(sentences) + ".", holes=hole_dict(job, holes, depth)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _BestFeed:
    """The best feed with some end holes or none, and what it takes."""

    engagement: Engagement
    verdict: Verdict
    f_z: float  #: [mm]
    time: float  #: on the machine [s]
    p: float  #: snap probability [1]


def _holes_to_judge(job: ResolvedJob) -> tuple[tuple[Hole | TopHole, ...], float, str, bool]:
    """End holes as the shop means to drill them, or the layout that spares the neck most: holes,
    depth, name, order.
    """
    given = job.predrill
    if given is not None:
        holes = holes_of(job.written)
        depth = given.depth
        drill = phrases.drill(given.diameter, job.units)
        top = "" if given.along is None else " from the top"
        name = f"{len(holes)} hole{'s' if len(holes) > 1 else ''} of {drill}{top}"
        return holes, depth, name, breaks_into_throat(job, holes)
    plan = layout(job)
    if plan is None:
        return (), 0.0, "", False
    rows = "" if plan.rows == 1 else f" in {plan.rows} rows"
    return (
        plan.holes,
        plan.depth,
        f"{len(plan.holes)} holes {plan.drill.name}{rows}",
        plan.before_throat,
    )


def _best_feed(
    job: ResolvedJob,
    speed: float,
    few: samples.Draws,
    holes: tuple[Hole | TopHole, ...],
    depth: float,
) -> _BestFeed:
    """Best feed of the way as checked, with these holes or none, and what it takes."""
    cut = job.cut
    steps = passes(job, cut.stepover, cut.direction or "conventional", holes, depth)
    engagement = engagement_of(job, steps, 90)
    feed = pick_feed(job, engagement, speed, few)
    return _BestFeed(
        engagement=engagement,
        verdict=feed.verdict,
        f_z=feed.f_z,
        time=machine_time(job, len(steps), feed.rate, holes, depth),
        p=_chance(job, engagement, speed, feed.f_z, few),
    )


def _chance(
    job: ResolvedJob, engagement: Engagement, speed: float, f_z: float, few: samples.Draws
) -> float:
    """Snap probability of a cut at a feed. [1]"""
    return snap.assess(job, engagement, f_z, few, speed=speed).snap_probability


def _sentence(job: ResolvedJob, best: _BestFeed) -> str:
    feed = units.show(best.f_z, "feed per tooth", job.units)
    reach = {
        Verdict.GO: f"best feed {feed}",
        Verdict.MARGINAL: f"to be proved on scrap at {feed}",
        Verdict.NO_GO: f"no feed passes, at {feed}",
    }[best.verdict]
    time = units.duration(best.time)
    return f"{reach}, {time} with setting up, snap probability {few_figures(best.p)}"

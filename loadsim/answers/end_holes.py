"""Whether end holes are needed, worthwhile, not needed or not possible, and the numbers of it."""

from __future__ import annotations

from dataclasses import dataclass

from loadsim.answers.results import PredrillVerdict
from loadsim.answers.settings import pick_feed
from loadsim.answers.states import hole_dict
from loadsim.base import units
from loadsim.loads.cut import Engagement, engagement_of
from loadsim.loads.end_holes import breaks_into_throat, holes_of, layout, why_none
from loadsim.loads.limits.drill import drill_checks
from loadsim.loads.machine import machine_time
from loadsim.loads.passes import passes
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.stock import Hole
from loadsim.risk import samples, snap
from loadsim.words import phrases
from loadsim.words.limits import trouble
from loadsim.words.phrases import few_figures

#: End holes are worthwhile when they save this share of the time on the machine, [1]
SAVED_TIME = 0.05

#: or divide the snap probability by this, where it is over this share of the asked one (what a shop
#: would call worth it). [1]
CUT_RISK = 1.5
NEGLIGIBLE = 0.25


def predrill_verdict(
    job: ResolvedJob, way: Engagement, speed: float, verdict: str, few: samples.Draws
) -> PredrillVerdict:
    """Say whether end holes are needed, with the numbers behind it: feed, time and snap probability
    without and with.

    Needed: without them nothing is safe. Worthwhile: they save `SAVED_TIME` of the time on the
    machine, or cut a snap probability over `NEGLIGIBLE` of the asked one by `CUT_RISK`, at the feed
    of each or at the feed without holes.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine, asked snap probability, and end holes where it gives them.
    way : Engagement
        The passes as checked.
    speed : float
        Spindle speed. [rad/s]
    verdict : str
        Of the check.
    few : Draws
        Sample of the risk.

    Returns
    -------
    verdict : PredrillVerdict
    """
    holes, depth, name, before = _holes_to_judge(job)
    bare = _judge(job, speed, few, (), 0.0)
    if not holes:
        kind = "not needed" if bare.safe else "not possible"
        return PredrillVerdict(
            verdict=kind, why=f"without holes: {_told(job, bare)}; {why_none(job)}.", holes=None
        )
    drilled = _judge(job, speed, few, holes, depth)
    broken = [trouble(c, job.units) for c in drill_checks(job, holes[0].diameter, depth) if c.over]
    same = drilled.p if drilled.f_z == bare.f_z else chance_of(job, drilled.way, bare.f_z, few)
    why = [f"without holes: {_told(job, bare)}", f"with {name}: {_told(job, drilled)}"]
    if bare.safe:
        quicker = drilled.time <= (1 - SAVED_TIME) * bare.time
        surer = (
            bare.p >= NEGLIGIBLE * job.target.snap_probability
            and min(drilled.p, same) * CUT_RISK <= bare.p
        )
        kind = "worthwhile" if drilled.safe and not broken and (quicker or surer) else "not needed"
        if drilled.f_z > bare.f_z:
            why.append(f"with them at the feed without, {few_figures(same)}")
    else:
        kind = "not possible" if broken else "needed"
        why += [] if drilled.safe or broken else ["even with them no feed is safe"]
    why += broken + (["drill them before the throat slot is milled"] if before else [])
    data = hole_dict(job, holes, depth)
    return PredrillVerdict(verdict=kind, why="; ".join(why) + ".", holes=data)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Judged:
    way: Engagement
    safe: bool
    f_z: float
    time: float
    p: float


def _holes_to_judge(job: ResolvedJob) -> tuple[tuple[Hole, ...], float, str, bool]:
    """End holes as the shop means to drill them, or the layout that spares the neck most: holes,
    depth, name, order.
    """
    given = job.predrill
    if given is not None:
        holes = holes_of(job.written)
        depth = given.depth
        drill = phrases.drill(given.diameter, job.units)
        return holes, depth, f"{len(holes)} holes of {drill}", breaks_into_throat(job, holes)
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


def _judge(
    job: ResolvedJob, speed: float, few: samples.Draws, holes: tuple[Hole, ...], depth: float
) -> _Judged:
    """Best safe feed of the way as checked, with these holes or none, and what it takes."""
    cut = job.cut
    way = engagement_of(job, passes(job, cut.stepover, cut.direction or "conventional", holes), 90)
    feed = pick_feed(job, way, speed, few)
    return _Judged(
        way=way,
        safe=feed.safe,
        f_z=feed.f_z,
        time=machine_time(job, len(way.passes), feed.rate, holes, depth),
        p=chance_of(job, way, feed.f_z, few),
    )


def chance_of(job: ResolvedJob, way: Engagement, f_z: float, few: samples.Draws) -> float:
    """Snap probability of a way at a feed. [1]"""
    return snap.assess(job, way.passes, way.contacts, f_z, few).snap_probability


def _told(job: ResolvedJob, x: _Judged) -> str:
    feed = units.show(x.f_z, "feed per tooth", job.units)
    best = f"best safe feed {feed}" if x.safe else f"no safe feed, at {feed}"
    return f"{best}, {units.duration(x.time)} with setting up, snap probability {few_figures(x.p)}"

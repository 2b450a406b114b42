"""Whether end holes are needed, worthwhile, not needed or not possible, with the numbers behind it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from loadsim import risk, units, words
from loadsim.case import Setup
from loadsim.machine_time import machine_time
from loadsim.passes import holes_of, passes
from loadsim.predrill import Layout, breaks_into_throat, drill_checks, layout, no_holes, removed_share, why_none
from loadsim.results import PredrillVerdict
from loadsim.settings import Way, pick_feed, way_of
from loadsim.stock import Hole

#: End holes are worthwhile when they save this share of the time on the machine, [1]
SAVED_TIME = 0.05
#: or divide the snap probability by this, where it is over this share of the asked one (what a shop would call worth it). [1]
CUT_RISK, NEGLIGIBLE = 1.5, 0.25


def holes_for(s: Setup) -> tuple[Hole, ...]:
    """Return the end holes that ``[cut]`` asks for; raises InputError when it asks for them and none fits."""
    job = s.job
    if not job.cut.predrill:
        return ()
    if job.predrill is not None:
        return holes_of(job)
    plan = layout(s)
    if plan is None:
        raise no_holes(s)
    return plan.holes


def tidy(x: float) -> float:
    """Drop the noise of conversion behind the ninth figure."""
    return float(f"{x:.9g}")


def hole_dict(s: Setup, holes: tuple[Hole, ...], plan: Layout | None, depth: float | None) -> dict[str, Any]:
    return {"diameter_mm": tidy(holes[0].diameter), "count": len(holes), "offsets_mm": [tidy(h.offset) for h in holes],
            "height_mm": tidy(min(h.height for h in holes)), "heights_mm": [tidy(h.height) for h in holes],
            "depth_mm": tidy(plan.depth if plan else depth or 0.0), "removed_fraction": tidy(removed_share(s, holes))}  # fmt: skip


def few_figures(p: float) -> str:
    """Write a probability with the figure it earns."""
    return words.probability(float(f"{p:.1g}")) if p <= words.EVERY else "nearly 1"


def predrill_verdict(s: Setup, way: Way, speed: float, verdict: str, few: risk.Draws) -> PredrillVerdict:
    """Say whether end holes are needed, with the numbers behind it: feed, time and snap probability without and with.

    Needed: without them nothing is safe. Worthwhile: they save `SAVED_TIME` of the time on the machine, or cut a snap
    probability over `NEGLIGIBLE` of the asked one by `CUT_RISK`, at the feed of each or at the feed without holes.

    Parameters
    ----------
    s : Setup
        The job, resolved.
    way : Way
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
    holes, depth, name, before = _holes_to_judge(s)
    bare = _judge(s, speed, few, (), 0.0)
    if not holes:
        kind = "not needed" if bare.safe else "not possible"
        return PredrillVerdict(verdict=kind, why=f"without holes: {_told(s, bare)}; {why_none(s)}.", holes=None)
    drilled = _judge(s, speed, few, holes, depth)
    broken = [c.trouble for c in drill_checks(s, holes[0].diameter, depth) if c.utilization > 1 + 1e-9]
    same = drilled.p if drilled.f_z == bare.f_z else chance_of(s, drilled.way, bare.f_z, few)
    why = [f"without holes: {_told(s, bare)}", f"with {name}: {_told(s, drilled)}"]
    if bare.safe:
        quicker = drilled.time <= (1 - SAVED_TIME) * bare.time
        surer = bare.p >= NEGLIGIBLE * s.job.target.snap_probability and min(drilled.p, same) * CUT_RISK <= bare.p
        kind = "worthwhile" if drilled.safe and not broken and (quicker or surer) else "not needed"
        if drilled.f_z > bare.f_z:
            why.append(f"with them at the feed without, {few_figures(same)}")
    else:
        kind = "not possible" if broken else "needed"
        why += [] if drilled.safe or broken else ["even with them no feed is safe"]
    why += broken + (["drill them before the throat slot is milled"] if before else [])
    data = hole_dict(s, holes, None, depth)
    return PredrillVerdict(verdict=kind, why="; ".join(why) + ".", holes=data)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Judged:
    way: Way
    safe: bool
    f_z: float
    time: float
    p: float


def _holes_to_judge(s: Setup) -> tuple[tuple[Hole, ...], float, str, bool]:
    """End holes as the shop means to drill them, or the layout that spares the neck most: holes, depth, name, order."""
    given = s.job.predrill
    if given is not None:
        holes, depth = holes_of(s.job), given.depth
        drill = words.drill(given.diameter, s.job.job.units)
        return holes, depth, f"{len(holes)} holes of {drill}", breaks_into_throat(s, holes)
    plan = layout(s)
    if plan is None:
        return (), 0.0, "", False
    rows = "" if plan.rows == 1 else f" in {plan.rows} rows"
    return plan.holes, plan.depth, f"{len(plan.holes)} holes {plan.drill.name}{rows}", plan.before_throat


def _judge(s: Setup, speed: float, few: risk.Draws, holes: tuple[Hole, ...], depth: float) -> _Judged:
    """Best safe feed of the way as checked, with these holes or none, and what it takes."""
    cut = s.job.cut
    way = way_of(s, passes(s, cut.stepover, cut.direction or "conventional", holes), 90)
    feed = pick_feed(s, way, speed, few)
    return _Judged(way=way, safe=feed.safe, f_z=feed.f_z, time=machine_time(s, len(way.passes), feed.rate, holes, depth),
                   p=chance_of(s, way, feed.f_z, few))  # fmt: skip


def chance_of(s: Setup, way: Way, f_z: float, few: risk.Draws) -> float:
    """Snap probability of a way at a feed. [1]"""
    return risk.assess(s, way.passes, way.contacts, f_z, few).snap_probability


def _told(s: Setup, x: _Judged) -> str:
    feed = units.show(x.f_z, "feed per tooth", s.job.job.units)
    best = f"best safe feed {feed}" if x.safe else f"no safe feed, at {feed}"
    return f"{best}, {units.duration(x.time)} with setting up, snap probability {few_figures(x.p)}"

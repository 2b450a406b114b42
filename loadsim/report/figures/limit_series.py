"""The numbers behind every chart of a plan; those of other feeds, stepovers and necks are made
here.

Everything is in internal units; nothing here knows how it will be drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from loadsim.answers.results import Plan
from loadsim.base import units
from loadsim.base.errors import InputError
from loadsim.base.numbers import Array
from loadsim.job.read import changed
from loadsim.loads.assumptions import CLEARANCE
from loadsim.loads.cut import Engagement, cutting, engagement_of
from loadsim.loads.deflection import natural_frequency
from loadsim.loads.end_holes import holes_for
from loadsim.loads.limits import undercut
from loadsim.loads.limits.utilization import LimitCode
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.report.figures.basis import Basis, basis, samples
from loadsim.risk.snap import assess
from loadsim.words.phrases import chance, percent

#: Feeds looked at, over the chosen one. [1]
FEEDS = np.round(np.linspace(0.2, 2.0, 37), 9)

#: Necks of a map and of the slider. [1]
MAP = 25
NECKS = 13

#: Feeds of a map, over the chosen one, which is among them. [1]
MAP_FEEDS = np.round(np.linspace(0.2, 2.0, 28), 9)

#: Side passes that step outward by less than this are one pass. [mm]
LEAST_SPAN = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class OverFeed:
    """Utilization of the limits that have a demand, clearances left out, the largest at the chosen
    feed first.
    """

    f_z: Array  #: (f,) [mm]
    names: tuple[str, ...]
    hard: tuple[bool, ...]
    utilization: Array  #: (limits, f) [1]
    chosen: int  #: which of the feeds is the plan's


def over_feed(b: Basis) -> OverFeed:
    """Utilization of each limit over the feed, all else kept.

    Parameters
    ----------
    b : Basis
        From `basis`.

    Returns
    -------
    series : OverFeed
    """
    f_z = b.f_z * FEEDS
    chosen = int(np.argmin(np.abs(FEEDS - 1)))
    found = [c for c in undercut.checks(b.job, cutting(b.job, b.way, b.speed, f_z)) if not c.fit]
    u = np.array([np.broadcast_to(c.utilization, f_z.shape) for c in found])
    order = [i for i in np.argsort(-u[:, chosen], kind="stable") if u[i].any()]
    return OverFeed(
        f_z=f_z,
        names=tuple(found[i].code for i in order),
        hard=tuple(found[i].hard for i in order),
        utilization=u[order],
        chosen=chosen,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Map:
    """Utilization of the hard limit that is nearest, over the feed and one other length."""

    f_z: Array  #: (f,) [mm]
    other: Array  #: (o,) [mm]
    worst: Array  #: (o, f); NaN where there is no such cut [1]
    chosen: tuple[float, float]  #: feed and the other length [mm]


def _hard(
    job: ResolvedJob, way: Engagement, speed: float, f_z: Array
) -> tuple[list[LimitCode], Array]:
    """Utilization of the hard limits, clearances left out; (limits, f)."""
    found = [c for c in undercut.checks(job, cutting(job, way, speed, f_z)) if c.hard and not c.fit]
    return [c.code for c in found], np.array(
        [np.broadcast_to(c.utilization, np.shape(f_z)) for c in found]
    )


def _with_neck(b: Basis, diameter: float) -> tuple[ResolvedJob, Engagement]:
    """Return the plan's cut with another neck: the contact tables do not know it."""
    job = resolve(changed(b.plan.job, {"cutter.neck_diameter": diameter}))
    return job, Engagement(
        passes=b.way.passes,
        contacts=b.way.contacts,
        sine=b.way.sine,
        frequency=natural_frequency(job),
    )


def thickest_neck(b: Basis) -> float:
    """Thickest neck that passes the throat in every pass and is ground from this shank. [mm]"""
    cutter = b.job.cutter
    offset = max(max(p.offset, -p.offset) for p in b.way.passes)
    throat = b.job.slot.throat_width - 2 * (offset + CLEARANCE)
    return min(throat, cutter.shank_diameter, cutter.head_diameter)


def necks(b: Basis, count: int) -> Array:
    """Neck diameters around the job's own, which is one of them, up to the thickest that fits.

    Parameters
    ----------
    b : Basis
        From `basis`.
    count : int
        How many, at least 3. [1]

    Returns
    -------
    diameters : ndarray, shape (at most count,)
        Rising. [mm]
    """
    own = b.job.cutter.neck_diameter
    low = max(0.5 * own, min(0.2, own))
    high = min(1.5 * own, thickest_neck(b))
    if high <= own * 1.001:
        return np.linspace(low, own, count)
    below = max(1, min(count - 2, round((count - 1) * (own - low) / (high - low))))
    return np.concatenate(
        [np.linspace(low, own, below + 1), np.linspace(own, high, count - below)[1:]]
    )


def over_feed_and_neck(b: Basis) -> Map:
    """Worst hard limit over feed and neck diameter, all else kept.

    Parameters
    ----------
    b : Basis
        From `basis`.

    Returns
    -------
    series : Map
    """
    f_z = b.f_z * MAP_FEEDS
    other = necks(b, MAP)
    worst = np.full((other.size, f_z.size), np.nan)
    for i, d in enumerate(other.tolist()):
        try:
            s, way = _with_neck(b, d)
        except InputError:  # no valid job: the map stays empty there
            continue
        worst[i] = _hard(s, way, b.speed, f_z)[1].max(axis=0)
    return Map(f_z=f_z, other=other, worst=worst, chosen=(b.f_z, b.job.cutter.neck_diameter))


def side_span(b: Basis) -> float:
    """How far the side passes step outward in all; zero when one pass makes the undercut. [mm]"""
    low, high = b.job.axis_limits
    start = (
        0.0 if b.job.slot.sides == 2 else max(low, b.job.section.throat_high - b.job.head.radius)
    )
    return max(high - start, 0.0)


def over_feed_and_stepover(b: Basis, count: int = 9) -> Map:
    """Worst hard limit over feed and stepover of the side passes, all else kept.

    Parameters
    ----------
    b : Basis
        From `basis`.
    count : int
        How many stepovers. [1]

    Returns
    -------
    series : Map

    Raises
    ------
    ValueError
        If this cut has no side passes.
    """
    span = side_span(b)
    s = b.job
    if span <= LEAST_SPAN:
        raise ValueError("one pass makes this undercut; there is no stepover to look at")
    chosen = min(s.cut.stepover or span, span)
    f_z = b.f_z * MAP_FEEDS
    other = np.unique(np.append(np.linspace(max(span / 6, 0.005), span, count), chosen))
    worst = []
    for step in other.tolist():
        laid = passes(s, step, s.cut.direction or "conventional", holes_for(s))
        worst.append(_hard(s, engagement_of(s, laid, 90), b.speed, f_z)[1].max(axis=0))
    return Map(f_z=f_z, other=other, worst=np.array(worst), chosen=(b.f_z, chosen))


def over_neck(plan: Plan, b: Basis | None = None) -> dict[str, Any]:
    """Hard limits and snap probability for other necks: plain data for a slider.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.
    b : Basis, optional
        From `basis`, when it is at hand.

    Returns
    -------
    data : dict
        "values" (neck diameters in mm), "labels" (the same in the job's units), "own" (index of the
        job's own neck), "names" (hard limits), "utilization" (a list for each neck, 1 is the
        capacity), "text" (the same to read), "snap" (probability), "snap_text". The job's own neck
        carries the numbers of the answer.
    """
    b = basis(plan) if b is None else b
    drawn = samples(b.job)
    own = b.job.cutter.neck_diameter
    given = {x.name: x.utilization for x in plan.result.limits if x.hard and not x.fit}
    names = list(given)
    values = []
    uses = []
    snap = []
    for d in necks(b, NECKS).tolist():
        if d == own:
            row = list(given.values())
            p = plan.result.risk.snap_probability
        else:
            try:
                s, way = _with_neck(b, d)
            except InputError:  # no valid job with this neck
                continue
            found = dict(zip(*_hard(s, way, b.speed, np.array([b.f_z])), strict=True))
            row = [float(found[n][0]) for n in names]
            p = assess(s, way.passes, way.contacts, b.f_z, drawn).snap_probability
        values.append(d)
        uses.append([float(f"{u:.5g}") for u in row])
        snap.append(p)
    return {
        "values": [float(f"{d:.5g}") for d in values],
        "labels": [units.show(d, "length", plan.job.job.units) for d in values],
        "own": values.index(own),
        "names": names,
        "utilization": uses,
        "text": [[percent(u) for u in row] for row in uses],
        "snap": snap,
        "snap_text": [chance(p) for p in snap],
    }

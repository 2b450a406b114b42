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
from loadsim.loads.cut import Engagement, cutting, written_engagement
from loadsim.loads.deflection import natural_frequency
from loadsim.loads.limits import undercut
from loadsim.loads.limits.clearances import farthest_offset, thickest_neck
from loadsim.loads.limits.utilization import Utilization
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.report.figures.basis import Basis, basis_of, samples
from loadsim.risk.samples import Draws, few_of
from loadsim.risk.snap import assess
from loadsim.words.phrases import chance, percent

#: Feeds looked at, over the chosen one. [1]
FEEDS = np.round(np.linspace(0.2, 2.0, 37), 9)

#: Necks of a map and of the slider. [1]
MAP = 25
NECKS = 13

#: Feeds of a map, over the chosen one, which is among them. [1]
MAP_FEEDS = np.round(np.linspace(0.2, 2.0, 28), 9)

#: Pieces of a cut from which on other necks are asked with fewer samples, and points kept of each
#: replicate then: a bar of a slider shows no more. [1]
MANY = 12
FEW = 64

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


def over_feed(basis: Basis) -> OverFeed:
    """Utilization of each limit over the feed, all else kept.

    Parameters
    ----------
    basis : Basis
        From `basis.basis_of`.

    Returns
    -------
    series : OverFeed
    """
    f_z = basis.f_z * FEEDS
    chosen = int(np.argmin(np.abs(FEEDS - 1)))
    cut = cutting(basis.job, basis.way, basis.speed, f_z)
    limits = [limit for limit in undercut.checks(basis.job, cut) if not limit.fit]
    u = np.array([np.broadcast_to(limit.utilization, f_z.shape) for limit in limits])
    order = [i for i in np.argsort(-u[:, chosen], kind="stable") if u[i].any()]
    return OverFeed(
        f_z=f_z,
        names=tuple(limits[i].code for i in order),
        hard=tuple(limits[i].hard for i in order),
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


def _hard(job: ResolvedJob, way: Engagement, speed: float, f_z: Array) -> list[Utilization]:
    """Hard limits over the feed, clearances left out."""
    limits = undercut.checks(job, cutting(job, way, speed, f_z))
    return [limit for limit in limits if limit.hard and not limit.fit]


def _nearest(job: ResolvedJob, way: Engagement, speed: float, f_z: Array) -> Array:
    """Utilization of the hard limit that is nearest, of those that decide; (f,)."""
    uses = [limit.utilization for limit in _hard(job, way, speed, f_z) if limit.decides]
    return np.asarray(np.maximum.reduce(np.broadcast_arrays(f_z, *uses)[1:]))


def with_neck(basis: Basis, diameter: float) -> tuple[ResolvedJob, Engagement]:
    """Return the plan's cut with another neck: the contact tables do not know it.

    Parameters
    ----------
    basis : Basis
        From `basis.basis_of`.
    diameter : float
        Of the neck. [mm]

    Returns
    -------
    job : ResolvedJob
    way : Engagement

    Raises
    ------
    InputError
        If there is no valid job with such a neck.
    """
    job = resolve(changed(basis.plan.job, {"cutter.neck_diameter": diameter}))
    return job, Engagement(
        passes=basis.way.passes,
        contacts=basis.way.contacts,
        sine=basis.way.sine,
        frequency=natural_frequency(job),
    )


def thickest_of(basis: Basis) -> float:
    """Thickest neck that passes the throat in every pass and is ground from this shank. [mm]"""
    cutter = basis.job.cutter
    return thickest_neck(
        throat_width=basis.job.slot.throat_width,
        offset=farthest_offset(basis.way.passes),
        fillet=basis.job.head_fillet,
        head_diameter=cutter.head_diameter,
        shank_diameter=cutter.shank_diameter,
    )


def necks(basis: Basis, count: int) -> Array:
    """Neck diameters around the job's own, which is one of them, up to the thickest that fits.

    Parameters
    ----------
    basis : Basis
        From `basis.basis_of`.
    count : int
        How many, at least 3. [1]

    Returns
    -------
    diameters : ndarray, shape (at most count,)
        Rising. [mm]
    """
    own = basis.job.cutter.neck_diameter
    low = max(0.5 * own, min(0.2, own))
    high = min(1.5 * own, thickest_of(basis))
    if high <= own * 1.001:
        return np.linspace(low, own, count)
    below = max(1, min(count - 2, round((count - 1) * (own - low) / (high - low))))
    return np.concatenate(
        [np.linspace(low, own, below + 1), np.linspace(own, high, count - below)[1:]]
    )


def over_feed_and_neck(basis: Basis) -> Map:
    """Worst hard limit over feed and neck diameter, all else kept.

    Parameters
    ----------
    basis : Basis
        From `basis.basis_of`.

    Returns
    -------
    series : Map
    """
    f_z = basis.f_z * MAP_FEEDS
    diameters = necks(basis, MAP)
    worst = np.full((diameters.size, f_z.size), np.nan)
    for i, diameter in enumerate(diameters.tolist()):
        try:
            job, way = with_neck(basis, diameter)
        except InputError:  # no valid job: the map stays empty there
            continue
        worst[i] = _nearest(job, way, basis.speed, f_z)
    chosen = (basis.f_z, basis.job.cutter.neck_diameter)
    return Map(f_z=f_z, other=diameters, worst=worst, chosen=chosen)


def side_span(basis: Basis) -> float:
    """How far the side passes step outward in all; zero when one pass makes the undercut. [mm]"""
    job = basis.job
    low, high = job.axis_limits
    start = max(low, job.section.throat_high - job.head.radius)
    if job.slot.sides == 2:
        start = 0.0
    return max(high - start, 0.0)


def over_feed_and_stepover(basis: Basis, count: int = 9) -> Map:
    """Worst hard limit over feed and stepover of the side passes, all else kept.

    Parameters
    ----------
    basis : Basis
        From `basis.basis_of`.
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
    job = basis.job
    span = side_span(basis)
    if span <= LEAST_SPAN:
        raise ValueError("one pass makes this undercut; there is no stepover to look at")
    chosen = min(job.cut.stepover or span, span)
    f_z = basis.f_z * MAP_FEEDS
    stepovers = np.unique(np.append(np.linspace(max(span / 6, 0.005), span, count), chosen))
    worst = []
    for stepover in stepovers.tolist():
        way = written_engagement(job, stepover, 90)
        worst.append(_nearest(job, way, basis.speed, f_z))
    return Map(f_z=f_z, other=stepovers, worst=np.array(worst), chosen=(basis.f_z, chosen))


def over_neck(plan: Plan, basis: Basis | None = None) -> dict[str, Any]:
    """Hard limits and snap probability for other necks: plain data for a slider.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.
    basis : Basis, optional
        From `basis.basis_of`, when it is at hand.

    Returns
    -------
    data : dict
        "values" (neck diameters in mm), "labels" (the same in the job's units), "own" (index of the
        job's own neck), "names" (hard limits), "utilization" (a list for each neck, 1 is the
        capacity), "text" (the same to read), "snap" (probability), "snap_text". The job's own neck
        carries the numbers of the answer.
    """
    basis = basis_of(plan) if basis is None else basis
    own = basis.job.cutter.neck_diameter
    own_neck = _Neck(
        diameter=own,
        utilization={x.name: x.utilization for x in plan.result.limits if x.hard and not x.fit},
        snap=plan.result.risk.snap_probability,
    )
    names = list(own_neck.utilization)
    drawn = samples(basis.plan)
    if len(basis.way.contacts) > MANY:
        drawn = few_of(drawn, FEW)
    states = []
    for diameter in necks(basis, NECKS).tolist():
        state = own_neck if diameter == own else _other_neck(basis, diameter, drawn)
        if state is not None:
            states.append(state)
    used = [[float(f"{state.utilization[name]:.5g}") for name in names] for state in states]
    diameters = [state.diameter for state in states]
    return {
        "values": [float(f"{diameter:.5g}") for diameter in diameters],
        "labels": [units.show(diameter, "length", plan.job.job.units) for diameter in diameters],
        "own": diameters.index(own),
        "names": names,
        "utilization": used,
        "text": [[percent(u) for u in row] for row in used],
        "snap": [state.snap for state in states],
        "snap_text": [chance(state.snap) for state in states],
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Neck:
    """The hard limits and the risk of one neck."""

    diameter: float  #: [mm]
    utilization: dict[str, float]  #: by name [1]
    snap: float  #: probability [1]


def _other_neck(basis: Basis, diameter: float, drawn: Draws) -> _Neck | None:
    """Work out another neck; None where there is no valid job with it."""
    try:
        job, way = with_neck(basis, diameter)
    except InputError:
        return None
    hard = _hard(job, way, basis.speed, np.array([basis.f_z]))
    risk = assess(job, way, basis.f_z, drawn, speed=basis.speed)
    return _Neck(
        diameter=diameter,
        utilization={x.code: float(np.ravel(x.utilization)[0]) for x in hard},
        snap=risk.snap_probability,
    )

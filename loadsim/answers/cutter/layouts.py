"""Layouts of a cutter, each with its own feed, compared: teeth, a smaller head, two heights."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from loadsim.answers.cutter.rules import (
    TOOTH_COST,
    CutterLayout,
    allowance,
    cutter_texts,
    grind_texts,
)
from loadsim.answers.cutter.texts import step_of
from loadsim.answers.results import Verdict
from loadsim.answers.settings import Feed, FeedBound, pick_feed
from loadsim.answers.verdict import GRADES, verdict_of
from loadsim.base.errors import InputError
from loadsim.job.read import Draft, job_from_dict
from loadsim.job.tables import Job
from loadsim.job.tolerances import width_tolerance
from loadsim.loads.cut import Engagement, cutting, written_engagement
from loadsim.loads.limits import undercut
from loadsim.loads.limits.utilization import LimitCode
from loadsim.loads.machine import given_feed, machine_time, pick_speed
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip
from loadsim.risk import samples, snap

#: A smaller head, on a thinner neck, must save this share of the time to be chosen (common
#: practice, no source). [1]
SMALLER_HEAD = 0.2

#: Offsets of side passes tried for a smaller head, over the throat's width. [1]
OFFSETS = (0.08, 0.16)

#: Most rounds in which head diameter and growth are matched. [1]
ROUNDS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class EvaluatedLayout:
    """One layout with its own feed, evaluated in the plainest way: conventional, each side in one
    step.
    """

    layout: CutterLayout
    job: ResolvedJob
    speed: float  #: [rad/s]
    feed: Feed
    time: float  #: on the machine [s]
    chance: float  #: snap probability [1]
    verdict: Verdict
    wall: float  #: how far a wall is set off [mm]
    filled: float  #: share of a gullet filled [1]
    worst: float  #: largest utilization of a hard limit [1]


def _evaluated(
    draft: Draft, family: str, layout: CutterLayout, few: samples.Draws
) -> EvaluatedLayout:
    job = resolve(completed(draft, family, layout)[0])
    engagement = written_engagement(job, job.cut.stepover, 90)
    speed = job.cut.spindle_speed or pick_speed(job, engagement.frequency)[0]
    feed = _feed(job, engagement, speed, few)
    risk = snap.assess(job, engagement, feed.f_z, few, speed=speed)
    limits = undercut.checks(job, cutting(job, engagement, speed, feed.f_z))
    by_code = {limit.code: limit for limit in limits}
    hard = [limit for limit in limits if limit.hard]
    return EvaluatedLayout(
        layout=layout,
        job=job,
        speed=speed,
        feed=feed,
        time=machine_time(job, len(engagement.passes), feed.rate),
        chance=risk.snap_probability,
        verdict=verdict_of(limits, risk, job.target.snap_probability),
        wall=float(by_code[LimitCode.WALL_ERROR].demand.max()),
        filled=float(by_code[LimitCode.CHIP_PACKING].utilization.max()),
        worst=max(float(limit.utilization.max()) for limit in hard if not limit.fit),
    )


def _feed(job: ResolvedJob, engagement: Engagement, speed: float, few: samples.Draws) -> Feed:
    """The feed given in [cut], else the largest safe one."""
    f_z = given_feed(job, speed)
    if f_z is None:
        return pick_feed(job, engagement, speed, few)
    rate = chip.feed_rate(f_z, job.cutter.teeth, speed)
    return Feed(f_z=f_z, rate=rate, verdict=Verdict.GO, bound=FeedBound.GIVEN, next_bound="")


def compared(draft: Draft, family: str, few: samples.Draws) -> list[EvaluatedLayout]:
    """Compare teeth, then a smaller head with side passes, then two heights if nothing is a go.

    Parameters
    ----------
    draft : Draft
        The job as given.
    family : str
        Of the metal.
    few : Draws
        Sample of the risk.

    Returns
    -------
    layouts : list of EvaluatedLayout
        The best first.

    Raises
    ------
    InputError
        If no cutter can be ground for this slot.
    """
    layouts = sorted(_by_teeth(draft, family, few), key=_rank)
    for layout in _further_layouts(draft, layouts[0]):
        try:
            layouts.append(_evaluated(draft, family, layout, few))
        except InputError:
            continue  # too thin for the slot: no layout
    return sorted(layouts, key=_rank)


def _by_teeth(draft: Draft, family: str, few: samples.Draws) -> list[EvaluatedLayout]:
    """One full-width layout a number of teeth; raises where none can be ground."""
    given = draft.value("cutter.teeth")
    layouts = []
    errors = []
    for teeth in (2, 3, 4) if given is None else (given,):
        layout = CutterLayout(teeth=teeth, offset=0.0, growth=0.0, heights=1)
        try:
            layouts.append(_matched(draft, family, layout, few))
        except InputError as error:  # with more teeth it may not be possible to grind
            errors.append(error)
    if not layouts:
        raise errors[0]
    return layouts


def _further_layouts(draft: Draft, best: EvaluatedLayout) -> list[CutterLayout]:
    """Smaller heads with side passes, and two heights where nothing is a go."""
    layouts = []
    if not draft.given("cutter.head_diameter"):
        throat = draft.job.slot.throat_width
        layouts += [replace(best.layout, offset=share * throat) for share in OFFSETS]
    if best.verdict is not Verdict.GO and not draft.given("cutter.head_height"):
        layouts.append(replace(best.layout, heights=2))
    return layouts


def _rank(evaluated: EvaluatedLayout) -> tuple[int, float, float]:
    """By the verdict; a go by its time, the others by their chance to snap."""
    grade = GRADES.index(evaluated.verdict)
    if evaluated.verdict is not Verdict.GO:
        return grade, evaluated.chance, evaluated.worst
    layout = evaluated.layout
    quantity = evaluated.job.written.job.quantity or 1
    grinding = TOOTH_COST * max(layout.teeth - 2, 0) / quantity
    handicap = 1 + SMALLER_HEAD * (layout.offset > 0)
    return grade, evaluated.time * handicap + grinding, evaluated.chance


def _matched(
    draft: Draft, family: str, layout: CutterLayout, few: samples.Draws
) -> EvaluatedLayout:
    """Repeat the feed and the head diameter until the cut grows by what the head was made smaller
    by.
    """
    close = step_of("head_diameter", draft.job.job.units) / 2
    for _ in range(ROUNDS):
        evaluated = _evaluated(draft, family, layout, few)
        growth = grown(draft, layout, evaluated.wall, close)
        if growth == layout.growth:
            break
        layout = replace(layout, growth=growth)
    return evaluated


def grown(draft: Draft, layout: CutterLayout, wall: float, close: float) -> float:
    """By how much a full-width head is made smaller than the undercut.

    Parameters
    ----------
    draft : Draft
        The job as given.
    layout : CutterLayout
        With what it was made smaller by so far.
    wall : float
        How far a wall is set off. [mm]
    close : float
        What is near enough to stay. [mm]

    Returns
    -------
    growth : float
        As so far where it is near enough, or where the head is given or has one side. [mm]
    """
    slot = draft.job.slot
    growth = allowance(2 * wall, width_tolerance(slot))
    fixed = draft.given("cutter.head_diameter") or slot.sides == 1
    return layout.growth if fixed or math.fabs(growth - layout.growth) < close else growth


def completed(draft: Draft, family: str, layout: CutterLayout) -> tuple[Job, dict[str, Any]]:
    """Lay out the cutter and its grind, and validate the whole.

    Parameters
    ----------
    draft : Draft
        The job as given.
    family : str
        Of the metal.
    layout : CutterLayout
        Teeth, offset, growth and heights.

    Returns
    -------
    job : Job
    data : dict
        The completed job file, as tables and keys.

    Raises
    ------
    InputError
        If the cutter cannot be ground or does not fit the slot.
    """
    data = {**draft.data, "cutter": cutter_texts(draft, family, layout)}
    without_grind = {table: keys for table, keys in data.items() if table != "grind"}
    cutter = job_from_dict(without_grind, draft.name).cutter
    data["grind"] = grind_texts(draft, cutter)
    return job_from_dict(data, draft.name, shop=draft.shop), data

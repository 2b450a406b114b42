"""The order of operations for one slot, with the settings of every tool, and which tool is the
weakest.
"""

from __future__ import annotations

import math
from typing import Any, Protocol

import numpy as np

from loadsim.answers.results import Operation, Result, Routing, ThroatMillState
from loadsim.base import units
from loadsim.base.numbers import two_figures_down
from loadsim.job.tables import Job
from loadsim.loads.assumptions import HOLE_SETUP, PASS_SETUP, TOOL_CHANGE
from loadsim.loads.limits.drill import drill_checks
from loadsim.loads.limits.utilization import Limit, LimitCode, Utilization
from loadsim.loads.machine import PECKING, drill_speed
from loadsim.loads.passes import drop_in_hole
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import drill_sizes
from loadsim.mechanics.drilling import DRILL_FEED
from loadsim.words import phrases
from loadsim.words.limits import DRILL, worded

#: From this diameter on a hole gets a pilot first, and how wide the pilot is at least: over the
#: chisel edge (common practice). [mm], [1]
PILOTED = 12.0
PILOT = 0.25

#: How far the point of a 118 degree drill runs ahead of its full diameter, over the diameter. [1]
POINT = 0.5 / math.tan(math.radians(59))


class PlannedTool(Protocol):
    """What the routing needs of a plan."""

    @property
    def job(self) -> Job:
        """The job with [cut] filled in."""

    @property
    def result(self) -> Result:
        """Its check."""


def operations(plan: PlannedTool) -> Routing:
    """Lay out the operations of a plan.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.

    Returns
    -------
    routing : Routing
    """
    return routing(plan.job, plan.result)


def routing(job: Job, result: Result) -> Routing:
    """Lay out the operations: holes, throat slot, undercut, deburring, inspection.

    End holes come before the throat slot, so that no drill can wander into it; a drop-in hole comes
    before both.

    Parameters
    ----------
    job : Job
        The job that was checked.
    result : Result
        Its check.

    Returns
    -------
    routing : Routing
    """
    resolved = resolve(job)
    done = (
        *_drop_in(resolved),
        *_end_holes(resolved, result),
        _throat(resolved, result.throat_mill),
        _undercut(resolved, result),
        *_bench(resolved),
    )
    checked = [o for o in done if o.share is not None]
    worst = max(checked, key=lambda o: o.share or 0.0)
    limit = max((x for x in worst.limits if x.hard and not x.fit), key=lambda x: x.utilization)
    why = (
        f"Of the tools that were checked, {worst.tool} is used most: {limit.name}, to"
        f" {units.percent(limit.utilization)}. {limit.note}"
    )
    if job.throat_mill is None:
        why += (
            " The end mill of the throat slot was not checked: the job file has no [throat_mill]."
        )
    return Routing(operations=done, weakest=worst.tool, why=why)


def _length(job: ResolvedJob, x: float) -> str:
    return units.show(x, "length", job.units)


def _bare(name: str, tool: str, what: str) -> Operation:
    """Return an operation without settings."""
    return Operation(
        name=name,
        tool=tool,
        spindle_speed_rpm=None,
        feed_mm_per_min=None,
        depth_per_pass_mm=None,
        passes=1,
        time_s=None,
        limits=(),
        steps=(),
        what=what,
    )


def _drill(
    job: ResolvedJob,
    name: str,
    diameter: float,
    depth: float,
    count: int,
    steps: tuple[dict[str, Any], ...],
    what: str,
) -> Operation:
    """A drilling operation with its settings; the speed is rounded down, never under the slowest
    the machine runs.
    """
    rpm = two_figures_down(units.to_unit(drill_speed(job, diameter), "rpm", "angular speed"))
    slowest = units.to_unit(job.machine.min_spindle_speed or 0.0, "rpm", "angular speed")
    rpm = max(rpm, slowest)
    feed = DRILL_FEED * diameter
    limits = tuple(worded(c, job.units, DRILL) for c in drill_checks(job, diameter, depth))
    each = PECKING * depth / (feed * rpm / 60) + HOLE_SETUP
    return Operation(
        name=name,
        tool=f"drill {_drill_name(job, diameter)}",
        spindle_speed_rpm=rpm,
        feed_mm_per_min=feed * rpm,
        depth_per_pass_mm=None,
        passes=count,
        time_s=TOOL_CHANGE + each * count,
        limits=_ranked(limits),
        steps=steps,
        what=(
            f"{what} Feed {_length(job, feed)} a turn, and withdraw to clear chips every diameter"
            " of depth."
        ),
    )


def _ranked(limits: tuple[Limit, ...]) -> tuple[Limit, ...]:
    return tuple(sorted(limits, key=lambda x: (x.fit, -x.utilization)))


def _drill_name(job: ResolvedJob, diameter: float) -> str:
    return phrases.drill(diameter, job.units)


def _rack(job: ResolvedJob) -> tuple[drill_sizes.Drill, ...]:
    return drill_sizes.stock("inch" if job.units == "inch" else "metric")


def _drop_in(job: ResolvedJob) -> tuple[Operation, ...]:
    """A hole through which the head reaches the undercut of a slot that is closed at both ends."""
    slot = job.slot
    head = drop_in_hole(job)
    if head is None:
        return ()
    fits = next((d.diameter for d in _rack(job) if d.diameter >= head - 1e-9), None)
    if fits is None:
        return (
            _bare(
                "drop-in hole",
                "boring head",
                f"Bore a hole of at least {_length(job, head)}, {_length(job, slot.depth)} deep,"
                " where the head goes in: it is over the stock drills, so its tool is not"
                " checked.",
            ),
        )
    steps = ({"diameter_mm": fits, "depth_mm": slot.depth},)
    what = (
        f"Drill one hole of {_drill_name(job, fits)} where the head goes in, its full diameter"
        f" {_length(job, slot.depth)} deep, to the undercut's floor; the drill's point goes"
        f" {phrases.point_depth(POINT * fits, job.units)} deeper, so where the drawing shows a flat"
        " floor stop short and finish with an end mill."
    )
    hole = _drill(job, "drop-in hole", fits, slot.depth, 1, steps, what)
    if fits < PILOTED:
        return (hole,)
    pilot = next(d.diameter for d in _rack(job) if d.diameter >= PILOT * fits)
    first = _drill(
        job,
        "drop-in hole, pilot",
        pilot,
        slot.depth,
        1,
        ({"diameter_mm": pilot, "depth_mm": slot.depth},),
        f"Drill a pilot of {_drill_name(job, pilot)}, {_length(job, slot.depth)} deep, where the"
        " drop-in hole goes.",
    )
    return first, hole


def _end_holes(job: ResolvedJob, result: Result) -> tuple[Operation, ...]:
    held = result.settings.predrill
    if held is None:
        return ()
    both = job.slot.open_ends == 2 and held["depth_mm"] < job.slot.length * (1 - 1e-9)
    count = held["count"] * (2 if both else 1)
    heights = held.get("heights_mm") or [held["height_mm"]] * held["count"]
    steps = tuple(
        {
            "offset_mm": y,
            "height_mm": z,
            "diameter_mm": held["diameter_mm"],
            "depth_mm": held["depth_mm"],
        }
        for y, z in zip(held["offsets_mm"], heights, strict=True)
    )
    where = ", ".join(
        f"{_length(job, y)} off centre at {_length(job, z)}"
        for y, z in zip(held["offsets_mm"], heights, strict=True)
    )
    what = (
        f"Before the throat slot is milled, drill {held['count']} end holes of"
        f" {_drill_name(job, held['diameter_mm'])} along the slot from its open end,"
        f" {_length(job, held['depth_mm'])} deep from {'each open end' if both else 'an open end'}"
        f" (axes {where} above the undercut's floor)."
    )
    return (_drill(job, "end holes", held["diameter_mm"], held["depth_mm"], count, steps, what),)


def _throat(job: ResolvedJob, mill: ThroatMillState | None) -> Operation:
    slot = job.slot
    depth = slot.depth if slot.throat_depth is None else slot.throat_depth
    size = (
        f"Mill the throat slot {_length(job, slot.throat_width)} wide and {_length(job, depth)}"
        f" deep, {_length(job, slot.length)} long"
    )
    if mill is None:
        return _bare(
            "throat slot",
            "end mill, not given",
            f"{size}. No [throat_mill] is given, so its end mill has no settings here and is "
            "not checked.",
        )
    beside = (
        ""
        if not mill.side_width_mm
        else (
            ", at each depth first on the centre line, then stepping"
            f" {_length(job, mill.side_width_mm)} to each side, cutting conventionally"
        )
    )
    unsafe = (
        ""
        if mill.safe
        else " NOT SAFE: "
        + ", ".join(x.name for x in mill.limits if x.hard and x.over)
        + " over capacity."
    )
    wheel = (
        ""
        if job.machine.feed != "hand"
        else _wheel(job, 60 * job.handwheel / mill.feed_rate_mm_per_min)
    )
    time = TOOL_CHANGE + mill.cutting_time_s + PASS_SETUP * mill.passes
    return Operation(
        name="throat slot",
        tool=mill.tool,
        spindle_speed_rpm=mill.spindle_speed_rpm,
        feed_mm_per_min=mill.feed_rate_mm_per_min,
        depth_per_pass_mm=mill.depth_per_pass_mm,
        passes=mill.passes,
        time_s=time,
        limits=_ranked(mill.limits),
        steps=tuple(
            {"depth_mm": min((i + 1) * mill.depth_per_pass_mm, depth)} for i in range(mill.levels)
        ),
        what=(
            f"{size}, in {phrases.levels(mill.levels, mill.passes)}, each"
            f" {_length(job, mill.depth_per_pass_mm)} deep{beside}.{wheel}{unsafe}"
        ),
    )


def _wheel(job: ResolvedJob, seconds: float) -> str:
    return f" Handwheel: {phrases.handwheel(seconds, job.handwheel, job.units)}."


def _undercut(job: ResolvedJob, result: Result) -> Operation:
    held = result.settings
    cutter = job.cutter
    target = job.target.snap_probability
    p = result.risk.snap_probability
    snap = Utilization(
        code=LimitCode.SNAP_PROBABILITY,
        demand=np.array(p),
        capacity=np.array(target),
        unit="1",
        hard=True,
    )
    passes = [f"{i}: {x['how']}" for i, x in enumerate(held.passes, 1)]
    unsafe = " NOT SAFE as checked." if result.verdict == "no-go" else ""
    return Operation(
        name="undercut",
        tool=f"undercut cutter {_length(job, cutter.head_diameter)}, {job.blank.title}",
        spindle_speed_rpm=held.spindle_speed_rpm,
        feed_mm_per_min=held.feed_rate_mm_per_min,
        depth_per_pass_mm=cutter.head_height,
        passes=len(held.passes),
        time_s=TOOL_CHANGE + held.cutting_time_s + PASS_SETUP * len(held.passes),
        limits=_ranked((*result.limits, worded(snap, job.units))),
        steps=held.passes,
        what=f"Cut the undercut in {len(passes)} pass{'es' if len(passes) > 1 else ''}. "
        + " ".join(passes)
        + unsafe,
    )


def _bench(job: ResolvedJob) -> tuple[Operation, Operation]:
    slot = job.slot
    tolerance = (
        f" plus and minus {_length(job, slot.width_tolerance)}"
        if slot.width_tolerance is not None
        else ""
    )
    deburr = (
        "With the spindle stopped, break the edges of the throat and draw a hooked blade along the"
        " undercut's edges below it."
    )
    inspect = (
        f"Measure the throat's width {_length(job, slot.throat_width)}, the undercut's width"
        f" {_length(job, slot.undercut_width)}{tolerance} and height"
        f" {_length(job, slot.undercut_height)}, and the depth {_length(job, slot.depth)} to its"
        " floor."
    )
    return _bare("deburr", "hand tools", deburr), _bare("inspect", "gauges", inspect)

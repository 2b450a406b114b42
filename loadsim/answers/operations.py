"""The order of operations for one slot, with the settings of every tool, and which tool is the
weakest.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from loadsim.answers.results import (
    Operation,
    Result,
    Routing,
    ThroatMillState,
    Verdict,
    over_capacity,
)
from loadsim.base import units
from loadsim.base.numbers import two_figures_down
from loadsim.job.tables import Job
from loadsim.loads.assumptions import HOLE_SETUP, PASS_SETUP, TOOL_CHANGE
from loadsim.loads.cut import written_passes
from loadsim.loads.limits.drill import drill_checks, drill_metal
from loadsim.loads.limits.utilization import Limit, LimitCode, Utilization
from loadsim.loads.machine import PECKING, drill_speed
from loadsim.loads.passes import drop_in_hole
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import drill_sizes
from loadsim.mechanics.drilling import DRILL_FEED
from loadsim.words import phrases
from loadsim.words.limits import DRILL, worded
from loadsim.words.passes import way_out
from loadsim.words.steps import DROP_IN
from loadsim.words.throat_mill import depths_and_sides

#: From this diameter on a hole gets a pilot first, and how wide the pilot is at least: over the
#: chisel edge (common practice). [mm], [1]
PILOTED = 12.0
PILOT = 0.25

#: How far the point of a 118 degree drill runs ahead of its full diameter, over the diameter. [1]
POINT = 0.5 / math.tan(math.radians(59))


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
    operations = (
        *_drop_in(resolved),
        *_end_holes(resolved, result.settings.predrill),
        _throat(resolved, result.throat_mill),
        _undercut(resolved, result),
        *_bench(resolved),
    )
    checked = [operation for operation in operations if operation.share is not None]
    weakest = max(checked, key=lambda operation: operation.share or 0.0)
    return Routing(
        operations=operations,
        weakest=weakest.tool,
        why=_why_weakest(weakest, mill_checked=job.throat_mill is not None),
    )


def drills_over(job: ResolvedJob, end_holes: dict[str, Any] | None) -> tuple[str, ...]:
    """Name the drills of a cut that do not bear what they are asked for, each with its limit.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter and material.
    end_holes : dict or None
        End holes in the units of the answer.

    Returns
    -------
    drills : tuple of str
    """
    return over_capacity((*_drop_in(job), *_end_holes(job, end_holes)))


def _why_weakest(weakest: Operation, *, mill_checked: bool) -> str:
    limit = weakest.worst
    assert limit is not None  # only tools that are checked are asked
    used = (
        limit.note
        if limit.name in phrases.CHANCES
        else f"{limit.name}, to {units.percent(limit.utilization)}. {limit.note}"
    )
    why = f"Of the tools that were checked, {weakest.tool} is used most: {used}"
    if mill_checked:
        return why
    return (
        f"{why} The end mill of the throat slot was not checked: the job file has no [throat_mill]."
    )


def _length(job: ResolvedJob, length: float) -> str:
    return units.show(length, "length", job.units)


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
    limits = tuple(
        worded(utilization, job.units, DRILL) for utilization in drill_checks(job, diameter, depth)
    )
    time_a_hole = PECKING * depth / (feed * rpm / 60) + HOLE_SETUP
    return Operation(
        name=name,
        tool=f"drill {_drill_name(job, diameter)}",
        spindle_speed_rpm=rpm,
        feed_mm_per_min=feed * rpm,
        depth_per_pass_mm=None,
        passes=count,
        time_s=TOOL_CHANGE + time_a_hole * count,
        limits=_ranked(limits),
        steps=steps,
        what=(
            f"{what} Start with a spot drill, feed {_length(job, feed)} a turn, and withdraw to"
            f" clear chips every diameter of depth.{phrases.drill_factors(drill_metal(job))}"
        ),
    )


def _ranked(limits: tuple[Limit, ...]) -> tuple[Limit, ...]:
    return tuple(sorted(limits, key=lambda limit: (limit.fit, -limit.utilization)))


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
    diameter = next((d.diameter for d in _rack(job) if d.diameter >= head - 1e-9), None)
    if diameter is None:
        return (_bored(job, head),)
    what = (
        f"Drill one hole of {_drill_name(job, diameter)} where the head goes in, its full diameter"
        f" {_length(job, slot.depth)} deep, to the undercut's floor; the drill's point goes"
        f" {phrases.point_depth(POINT * diameter, job.units)} deeper, so where the drawing shows a"
        " flat floor stop short and finish with an end mill."
    )
    steps = ({"diameter_mm": diameter, "depth_mm": slot.depth},)
    hole = _drill(job, DROP_IN, diameter, slot.depth, 1, steps, what)
    return (hole,) if diameter < PILOTED else (_pilot(job, diameter), hole)


def _bored(job: ResolvedJob, diameter: float) -> Operation:
    what = (
        f"Bore a hole of at least {_length(job, diameter)}, {_length(job, job.slot.depth)} deep,"
        " where the head goes in: it is over the stock drills, so its tool is not checked."
    )
    return _bare(DROP_IN, "boring head", what)


def _pilot(
    job: ResolvedJob, hole: float, name: str = DROP_IN, places: tuple[dict[str, Any], ...] = ({},)
) -> Operation:
    """The hole drilled first where each wide one goes."""
    depth = job.slot.depth
    diameter = next(d.diameter for d in _rack(job) if d.diameter >= PILOT * hole)
    what = (
        f"Drill a pilot of {_drill_name(job, diameter)}, {_length(job, depth)} deep, where the"
        f" {name} go{'' if name.startswith('holes') else 'es'}."
    )
    steps = tuple({**place, "diameter_mm": diameter, "depth_mm": depth} for place in places)
    return _drill(job, f"{name}, pilot", diameter, depth, len(steps), steps, what)


def _end_holes(job: ResolvedJob, holes: dict[str, Any] | None) -> tuple[Operation, ...]:
    if holes is None:
        return ()
    diameter = holes["diameter_mm"]
    depth = holes["depth_mm"]
    if "along_mm" in holes:
        return _top_holes(job, holes)
    both = job.slot.open_ends == 2 and depth < job.slot.length * (1 - 1e-9)
    count = holes["count"] * (2 if both else 1)
    heights = holes.get("heights_mm") or [holes["height_mm"]] * holes["count"]
    axes = list(zip(holes["offsets_mm"], heights, strict=True))
    steps = tuple(
        {"offset_mm": y, "height_mm": z, "diameter_mm": diameter, "depth_mm": depth}
        for y, z in axes
    )
    where = ", ".join(f"{_length(job, y)} off centre at {_length(job, z)}" for y, z in axes)
    what = (
        f"Before the throat slot is milled, drill {holes['count']} end holes of"
        f" {_drill_name(job, diameter)} along the slot from its open end,"
        f" {_length(job, depth)} deep from {'each open end' if both else 'an open end'}"
        f" (axes {where} above the undercut's floor)."
    )
    return (_drill(job, "end holes", diameter, depth, count, steps, what),)


def _top_holes(job: ResolvedJob, holes: dict[str, Any]) -> tuple[Operation, ...]:
    diameter = holes["diameter_mm"]
    depth = holes["depth_mm"]
    axes = list(zip(holes["along_mm"], holes["offsets_mm"], strict=True))
    steps = tuple(
        {"along_mm": x, "offset_mm": y, "diameter_mm": diameter, "depth_mm": depth} for x, y in axes
    )
    where = ", ".join(
        f"{_length(job, x)} from it and {_length(job, y)} off centre" for x, y in axes
    )
    what = (
        f"Before the throat slot is milled, drill {len(axes)} of {_drill_name(job, diameter)} from"
        f" the top at the closed end of the undercut, {_length(job, depth)} deep at full diameter"
        f" (axes {where}); the drill's point goes"
        f" {phrases.point_depth(POINT * diameter, job.units)} deeper, so where the drawing shows a"
        " flat floor stop short and finish with an end mill."
    )
    name = "holes from the top"
    hole = _drill(job, name, diameter, depth, len(axes), steps, what)
    if diameter < PILOTED:
        return (hole,)
    return _pilot(job, diameter, name, steps), hole


def _throat(job: ResolvedJob, mill: ThroatMillState | None) -> Operation:
    slot = job.slot
    depth = slot.depth if slot.throat_depth is None else slot.throat_depth
    size = (
        f"Mill the throat slot {_length(job, slot.throat_width)} wide and {_length(job, depth)}"
        f" deep, {_length(job, slot.length)} long"
    )
    if mill is None:
        what = (
            f"{size}. No [throat_mill] is given, so its end mill has no settings here and is "
            "not checked."
        )
        return _bare("throat slot", "end mill, not given", what)
    return Operation(
        name="throat slot",
        tool=mill.tool,
        spindle_speed_rpm=mill.spindle_speed_rpm,
        feed_mm_per_min=mill.feed_rate_mm_per_min,
        depth_per_pass_mm=mill.depth_per_pass_mm,
        passes=mill.passes,
        time_s=TOOL_CHANGE + mill.cutting_time_s + PASS_SETUP * mill.passes,
        limits=_ranked(mill.limits),
        steps=tuple(
            {"depth_mm": min((i + 1) * mill.depth_per_pass_mm, depth)} for i in range(mill.levels)
        ),
        what=size + _mill_settings_text(job, mill),
    )


def _mill_settings_text(job: ResolvedJob, mill: ThroatMillState) -> str:
    """How the throat mill goes through the slot, to follow its size."""
    depth = _length(job, mill.depth_per_pass_mm)
    how = depths_and_sides(mill.levels, mill.side_levels, mill.side_steps)
    text = f", in {how}; each depth on the centre line {depth}"
    if mill.side_width_mm:
        text += (
            f". To the sides step {_length(job, mill.side_width_mm)} at a time, cutting"
            " conventionally"
        )
    time = mill.cutting_time_s + PASS_SETUP * mill.passes
    text += f". {mill.passes} passes, {units.duration(time)} with setting up."
    if job.machine.feed == "hand":
        text += _wheel(job, 60 * job.handwheel / mill.feed_rate_mm_per_min)
    if not mill.safe:
        over = [limit.name for limit in mill.limits if limit.hard and limit.over]
        text += f" NOT LIKE THIS: {', '.join(over)} over capacity."
    return text


def _wheel(job: ResolvedJob, seconds: float) -> str:
    return f" Handwheel: {phrases.handwheel(seconds, job.handwheel, job.units)}."


def _undercut(job: ResolvedJob, result: Result) -> Operation:
    settings = result.settings
    cutter = job.cutter
    snap = Utilization(
        code=LimitCode.SNAP_PROBABILITY,
        demand=np.array(result.risk.snap_probability),
        capacity=np.array(job.target.snap_probability),
        unit="1",
        hard=True,
    )
    count = len(settings.passes)
    steps = written_passes(job, settings.stepover_mm)
    ways = [[row["how"], way_out(job, steps, i)] for i, row in enumerate(settings.passes)]
    passes = " ".join(f"{i}: {' '.join(way).strip()}" for i, way in enumerate(ways, 1))
    said = {
        Verdict.GO: "",
        Verdict.MARGINAL: " PROVE IT ON SCRAP FIRST.",
        Verdict.NO_GO: " NO-GO as checked: do not run it.",
    }[result.verdict]
    return Operation(
        name="undercut",
        tool=f"undercut cutter {_length(job, cutter.head_diameter)}, {job.blank.title}",
        spindle_speed_rpm=settings.spindle_speed_rpm,
        feed_mm_per_min=settings.feed_rate_mm_per_min,
        depth_per_pass_mm=cutter.head_height,
        passes=count,
        time_s=TOOL_CHANGE + settings.cutting_time_s + PASS_SETUP * count,
        limits=_ranked((*result.limits, worded(snap, job.units))),
        steps=settings.passes,
        what=f"Cut the undercut in {count} pass{'es' if count > 1 else ''}. {passes}{said}",
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

"""The steps of a job at the machine, one row each: what to set on which dial, which way to feed,
and what to look for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from loadsim.answers.operations import routing
from loadsim.answers.results import Operation, Plan, Result, Settings, ThroatMillState
from loadsim.job.tables import Job
from loadsim.loads.cut import written_passes
from loadsim.loads.passes import Pass, pass_travel
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.words import steps as words
from loadsim.words.passes import LIFT, RUN_OUT, way_out

#: Depths of the throat slot that are told in rows of their own; more are told in one.
DEPTHS_TOLD = 4

#: Name of the tool that this is all about.
UNDERCUT = "undercut cutter"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step at the machine. What it does not set is None, a text it has not is empty."""

    number: int = 0  #: place in the order, from 1
    name: str  #: in two or three words
    tool: str
    what: str  #: one order, to follow the dials
    look: str  #: what tells that it goes right
    #: tool's lowest point, from touch-off on the top of the work, negative below it; axis of an end
    #: hole [mm]
    z_mm: float | None = None
    #: tool's axis from the throat's centre line, positive to the left of one who looks in from the
    #: open end (from the end of the first pass, where both or none are open) [mm]
    y_mm: float | None = None
    feed: str = ""  #: which way the cutter travels: in, out, down
    wall: str = ""  #: which wall it cuts, and how
    spindle_speed_rpm: float | None = None
    feed_mm_per_min: float | None = None
    feed_mm_per_turn: float | None = None  #: of the spindle: of a drill
    wheel_seconds: float | None = None  #: for one turn of the handwheel [s]
    wheel_travel_mm: float | None = None  #: of the table, for one turn
    wheel_turns: float | None = None  #: over the whole step


def steps(plan: Plan) -> tuple[Step, ...]:
    """List what is done at the machine for a plan, in order.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.

    Returns
    -------
    steps : tuple of Step
    """
    return _numbered(plan.job, plan.result, plan.routing.operations)


def steps_of(job: Job, result: Result) -> tuple[Step, ...]:
    """List what is done at the machine for a cut that was checked, in order.

    Parameters
    ----------
    job : Job
        The job that was checked.
    result : Result
        Its check.

    Returns
    -------
    steps : tuple of Step
    """
    return _numbered(job, result, routing(job, result).operations)


def _numbered(job: Job, result: Result, operations: tuple[Operation, ...]) -> tuple[Step, ...]:
    resolved = resolve(job)
    rows = [row for operation in operations for row in _of_operation(resolved, result, operation)]
    return tuple(replace(row, number=i) for i, row in enumerate(rows, 1))


def _of_operation(job: ResolvedJob, result: Result, operation: Operation) -> Iterator[Step]:
    """List the steps of one operation."""
    match operation.name:
        case "throat slot":
            yield from _throat(job, result, operation)
        case "undercut":
            yield from _undercut(job, result.settings)
        case "deburr":
            yield _bare("deburr", operation.tool, words.DEBURR)
        case "inspect":
            yield _bare("measure", operation.tool, _measure(job))
        case _:
            yield from _holes(job, operation)


def _bare(name: str, tool: str, what: str) -> Step:
    return Step(name=name, tool=tool, what=what, look=words.LOOK[name])


def _measure(job: ResolvedJob) -> str:
    slot = job.slot
    widths = slot.throat_width, slot.undercut_width, slot.undercut_height, slot.depth
    return words.measure(widths, job.units)


def _holes(job: ResolvedJob, operation: Operation) -> Iterator[Step]:
    """Every hole of a drilling operation: along the slot by the height of its axis, else down."""
    depth = job.slot.depth
    holes: tuple[dict[str, Any], ...] = operation.steps or ({"depth_mm": depth},)
    ends = operation.passes // len(holes)
    rpm = operation.spindle_speed_rpm
    rate = operation.feed_mm_per_min
    a_turn = rate / rpm if rpm and rate else None
    for i, hole in enumerate(holes, 1):
        along = "height_mm" in hole
        count = len(holes)
        yield Step(
            name=f"{operation.name.removesuffix('s')} {i}" if along else operation.name,
            tool=operation.tool,
            what=_drill_words(job, operation, hole, (i, count, ends)),
            look=words.LOOK["drill"],
            z_mm=hole["height_mm"] - depth if along else -hole["depth_mm"],
            y_mm=hole.get("offset_mm", 0.0),
            feed=words.IN[job.slot.open_ends] if along else words.DOWN,
            spindle_speed_rpm=rpm,
            feed_mm_per_min=rate,
            feed_mm_per_turn=a_turn,
        )


def _drill_words(
    job: ResolvedJob, operation: Operation, hole: dict[str, Any], of: tuple[int, int, int]
) -> str:
    """What is said of one hole: the number of it, of so many, from so many ends."""
    if "along_mm" in hole:
        return words.drill_at_the_end(*of[:2], hole["along_mm"], job.units)
    return words.drill_on_axis(*of) if "height_mm" in hole else words.drill_down(operation.name)


def _throat(job: ResolvedJob, result: Result, operation: Operation) -> Iterator[Step]:
    """The depths of the throat slot, a row each where they are few."""
    slot = job.slot
    depth = slot.depth if slot.throat_depth is None else slot.throat_depth
    mill = result.throat_mill
    levels = 1 if mill is None else mill.levels
    sides_last = mill is not None and mill.side_levels not in (0, levels)
    side = 0.0 if mill is None or sides_last else mill.side_width_mm
    travel = 0.0 if job.throat_mill is None else pass_travel(slot, job.throat_mill.diameter)
    row = Step(
        name="mill throat",
        tool=operation.tool,
        what=words.throat_at(1, 1, side, job.units),
        look=words.LOOK["throat"],
        z_mm=-depth,
        y_mm=0.0,
        feed=words.IN[slot.open_ends],
        wall="both walls" if not side and not sides_last else "",
        spindle_speed_rpm=operation.spindle_speed_rpm,
        feed_mm_per_min=operation.feed_mm_per_min,
    )
    row = _fed(job, row, travel)
    if mill is None:
        yield replace(row, what=words.THROAT_UNKNOWN)
    elif levels == 1:
        yield row
    elif levels > DEPTHS_TOLD:
        what = words.throat_in(levels, mill.depth_per_pass_mm, side, job.units)
        yield replace(row, what=what)
    else:
        for level in range(1, levels + 1):
            yield replace(
                row,
                name=f"mill throat {level}/{levels}",
                what=words.throat_at(level, levels, side, job.units),
                z_mm=-min(level * mill.depth_per_pass_mm, depth),
            )
    if mill is not None and sides_last:
        yield from _sides(job, row, mill)


def _sides(job: ResolvedJob, row: Step, mill: ThroatMillState) -> Iterator[Step]:
    """What the throat mill takes beside its first pass when that is done: a row for each side,
    where one pass takes it; the left wall is cut conventionally on the way in, the right one out.
    """
    ends = job.slot.open_ends
    if mill.side_levels > 1 or mill.side_steps > 1:
        wall = "each wall, conventional"
        what = words.throat_sides(mill.side_levels, mill.side_steps, mill.side_width_mm, job.units)
        yield replace(row, name="mill throat sides", what=what, y_mm=None, wall=wall)
        return
    for side, sign, feed in (("left", 1, words.IN), ("right", -1, words.OUT)):
        yield replace(
            row,
            name=f"mill throat {side}",
            what=f"Mill the {side} side at full depth.",
            y_mm=sign * mill.side_width_mm,
            feed=feed[ends],
            wall=f"{side} wall, conventional",
        )


def _fed(job: ResolvedJob, row: Step, travel: float) -> Step:
    """Add how the handwheel is turned for the row's table feed over a travel [mm]; nothing where
    the table is driven or the feed is not known.
    """
    if row.feed_mm_per_min is None or job.machine.feed != "hand":
        return row
    return replace(
        row,
        wheel_seconds=60 * job.handwheel / row.feed_mm_per_min,
        wheel_travel_mm=job.handwheel,
        wheel_turns=travel / job.handwheel,
    )


def _undercut(job: ResolvedJob, settings: Settings) -> Iterator[Step]:
    """Touching off, every pass of the undercut, and the way back out of a closed end."""
    tool = UNDERCUT
    look = words.LOOK
    yield Step(
        name="touch off",
        tool=tool,
        what=words.TOUCH_OFF,
        look=look["touch off"],
        z_mm=0.0,
        y_mm=0.0,
    )
    passes = written_passes(job, settings.stepover_mm)
    told = False  # where a pass stops, which is the same for all
    levels = sorted({p.level for p in passes})
    travel = pass_travel(job.slot, job.cutter.head_diameter)
    for i, p in enumerate(passes):
        before = passes[i - 1] if i else None
        wall = _wall(p)
        cut = words.cut_wall(wall, 1 + levels.index(p.level), len(levels))
        out = way_out(job, passes, i)
        there = [_lowered(job, p)] if before is None else []
        there.append(_way_there(job, before, p))
        stop = "" if told or out == RUN_OUT else _stop(job, p)
        told = told or bool(stop)
        row = Step(
            name=f"cut {wall}",
            tool=tool,
            what=" ".join(x for x in (*there, cut, stop) if x),
            look=look["undercut"],
            z_mm=p.level - job.slot.depth,
            y_mm=p.offset,
            feed=(words.OUT if p.back else words.IN)[job.slot.open_ends],
            wall=wall if p.direction == "both" else f"{wall}, {p.direction}",
            spindle_speed_rpm=settings.spindle_speed_rpm,
            feed_mm_per_min=settings.feed_rate_mm_per_min,
        )
        # the settings' own figure: rounded from the rounded feed it would be another
        row = replace(_fed(job, row, travel), wheel_seconds=settings.handwheel_seconds_per_turn)
        yield row
        if out:
            yield _leaving(job, row, out)


def _lowered(job: ResolvedJob, first: Pass) -> str:
    """How the head gets to the depth of the first pass."""
    inside = job.slot.open_ends == 0 or (first.back and job.slot.open_ends == 1)
    return words.LOWER_IN if inside else words.LOWER


def _stop(job: ResolvedJob, p: Pass) -> str:
    """Where a pass ends that ends at a closed end."""
    if job.slot.open_ends == 2 or (p.back and job.slot.open_ends == 1):
        return ""
    if job.slot.open_ends == 0:
        return words.stop_short(job.head.radius, job.units)
    return words.stop_past(job.slot.length - job.head.radius, job.units)


def _wall(p: Pass) -> str:
    """Which wall a pass cuts, seen from the open end into the slot whichever way it is fed."""
    if p.direction == "both":
        return "both walls"
    return "left wall" if (p.direction == "conventional") != p.back else "right wall"


def _way_there(job: ResolvedJob, before: Pass | None, p: Pass) -> str:
    """How the cutter gets to where a pass begins, where that is not outside of the slot."""
    if not p.back and job.slot.open_ends == 0:
        return words.ASIDE if p.offset != (before.offset if before else 0.0) else ""
    if not p.back or job.slot.open_ends == 2:
        return ""
    return words.STEP_OVER if before is not None and not before.back else words.GO_ROUND


def _leaving(job: ResolvedJob, row: Step, out: str) -> Step:
    """How the cutter leaves the slot after a pass that ends where it is closed."""
    lifted = out in (LIFT, RUN_OUT)
    return replace(
        row,
        name=words.LEAVING[lifted],
        what=out,
        look=words.LOOK["back out"],
        feed=words.UP if lifted else words.OUT[job.slot.open_ends],
        wall="",
        feed_mm_per_min=None,
        wheel_seconds=None,
    )

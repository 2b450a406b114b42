"""The ways of making the undercut that a job leaves open: steps, direction, end holes; each has a
name of its own.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

from loadsim.base import units
from loadsim.job.fields import Direction
from loadsim.job.rules_cut import MOST_PASSES, pass_count
from loadsim.loads.end_holes import HoleLayout, holes_of, layouts, no_holes
from loadsim.loads.passes import Pass, full_width, passes
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.top_holes import top_layouts
from loadsim.mechanics.stock import Hole, TopHole
from loadsim.words.top_holes import top_holes_name

#: In how many steps a side pass is tried, beside one. [1]
STEPS = (2, 3, 4)

#: Least step of a side pass that is worth a pass. [mm]
LEAST_STEP = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class EndHoles:
    """End holes of one way; none when there are none."""

    name: str = ""
    holes: tuple[Hole | TopHole, ...] = ()
    depth: float = 0.0  #: from each open end, or from the top [mm]
    before_throat: bool = False  #: to be drilled before the throat slot is milled
    asks_print: bool = False  #: they show on the part, so the print has to allow them


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanOption:
    """One way of making the undercut, its passes laid out."""

    name: str
    stepover: float | None
    direction: Direction
    drilled: EndHoles
    passes: tuple[Pass, ...]


def hole_options(job: ResolvedJob) -> list[EndHoles]:
    """List the end holes that ``[cut]`` and ``[predrill]`` leave open, the most promising layout
    first.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter and [cut].

    Returns
    -------
    options : list of EndHoles

    Raises
    ------
    InputError
        If ``[cut]`` asks for end holes and none fits.
    """
    cut = job.cut
    given = job.predrill
    if cut.predrill is False:
        return [EndHoles()]
    if given is not None:
        count = len(given.offsets)
        kind = "end holes"
        if given.along is not None:
            kind = f"hole{'s' if count > 1 else ''} from the top"
        as_given = EndHoles(
            name=f", after {count} {kind} as given", holes=holes_of(job.written), depth=given.depth
        )
        return [as_given] if cut.predrill else [EndHoles(), as_given]
    proposed = [_proposed(layout) for layout in layouts(job)]
    if cut.predrill and not proposed:
        raise no_holes(job)
    return proposed if cut.predrill else [EndHoles(), *proposed]


def _proposed(layout: HoleLayout) -> EndHoles:
    rows = "" if layout.rows == 1 else f" in {layout.rows} rows"
    place = " on the throat's edges" if layout.before_throat else " clear of the throat"
    return EndHoles(
        name=f", after {len(layout.holes)} end holes {layout.drill.name}{rows}{place}",
        holes=layout.holes,
        depth=layout.depth,
        before_throat=layout.before_throat,
    )


def top_options(job: ResolvedJob, like: PlanOption) -> list[PlanOption]:
    """List a way again with holes from the top at the closed end, where the job leaves them open.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, [cut] and [predrill].
    like : PlanOption
        The way.

    Returns
    -------
    options : list of PlanOption
        None where it has end holes already.
    """
    if like.drilled.holes or job.predrill is not None or job.cut.predrill is not None:
        return []
    return [
        PlanOption(
            name=f"{like.name}, after {top_holes_name(layout)}",
            stepover=like.stepover,
            direction=like.direction,
            drilled=EndHoles(
                name=top_holes_name(layout),
                holes=layout.holes,
                depth=layout.depth,
                before_throat=True,
                asks_print=True,
            ),
            passes=passes(job, like.stepover, like.direction, layout.holes, layout.depth),
        )
        for layout in top_layouts(job)
    ]


def options(job: ResolvedJob, drilled: list[EndHoles]) -> list[PlanOption]:
    """List every way with these end holes; ways with the same passes are one way, and no two share
    a name.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter and [cut].
    drilled : list of EndHoles
        The end holes to try.

    Returns
    -------
    options : list of PlanOption
    """
    by_passes: dict[object, PlanOption] = {}
    for direction, step, holes in itertools.product(_directions(job), _steps(job), drilled):
        steps = passes(job, step, direction, holes.holes, holes.depth)
        option = PlanOption(
            name=_name(job, step, steps) + holes.name,
            stepover=step,
            direction=direction,
            drilled=holes,
            passes=steps,
        )
        positions = tuple((p.offset, p.level, p.direction) for p in steps)
        by_passes.setdefault((positions, holes.holes, holes.depth), option)
    return _told_apart(list(by_passes.values()))


def _steps(job: ResolvedJob) -> list[float | None]:
    """Steps outward that are tried; None takes each side in one. [mm]"""
    slot = job.slot
    cutter = job.cutter
    if job.cut.stepover is not None:
        return [job.cut.stepover]
    if full_width(job):
        return [None]
    low, high = job.axis_limits
    inner = 0.0 if slot.sides == 2 else max(low, job.section.throat_high - job.head.radius)
    span = high - inner
    steps = [span / n for n in STEPS if span / n > LEAST_STEP]
    return [None] + [
        step
        for step in steps
        if pass_count(slot, cutter.head_diameter, cutter.head_height, step) <= MOST_PASSES
    ]


def _directions(job: ResolvedJob) -> list[Direction]:
    if job.cut.direction is not None:
        return [job.cut.direction]
    return ["conventional", "climb"]


def _name(job: ResolvedJob, step: float | None, steps: tuple[Pass, ...]) -> str:
    """Name a way by its passes as they come out: those that cut both sides have no direction."""
    levels = len({p.level for p in steps})
    heights = f" at {levels} heights" if levels > 1 else ""
    directions = {p.direction for p in steps} - {"both"}
    if not directions:
        return ("one full pass" if len(steps) == levels else f"{len(steps)} full passes") + heights
    if len(steps) == levels:
        return f"one pass, {directions.pop()}" + heights
    how = "in one step" if step is None else f"by {units.show(step, 'length', job.units)}"
    first = "each side" if job.slot.sides == 2 else "side cut"
    if job.slot.sides == 2 and steps[0].offset == 0:
        first = "centre line first, then each side"
    return f"{first} {how}, {', '.join(sorted(directions))}" + heights


def _told_apart(options: list[PlanOption]) -> list[PlanOption]:
    """Give ways that still read the same the number of their passes, and then a number."""

    def same(option: PlanOption) -> list[PlanOption]:
        return [other for other in options if other.name == option.name]

    options = [
        option
        if len(same(option)) == 1
        else replace(option, name=f"{option.name}, {len(option.passes)} passes")
        for option in options
    ]
    return [
        option
        if len(same(option)) == 1
        else replace(option, name=f"{option.name}, variant {same(option).index(option) + 1}")
        for option in options
    ]

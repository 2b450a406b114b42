"""The ways of making the undercut that a job leaves open: steps, direction, end holes; each has a
name of its own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from loadsim.base import units
from loadsim.job.fields import Direction
from loadsim.job.rules_cut import MOST_PASSES, pass_count
from loadsim.loads.end_holes import HoleLayout, holes_of, layouts, no_holes
from loadsim.loads.passes import Pass, full_width, passes
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.stock import Hole

#: In how many steps a side pass is tried, beside one. [1]
STEPS = (2, 3, 4)

#: Least step of a side pass that is worth a pass. [mm]
LEAST_STEP = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class EndHoles:
    """End holes of one way; none when there are none."""

    name: str = ""
    holes: tuple[Hole, ...] = ()
    depth: float = 0.0  #: from each open end [mm]
    before_throat: bool = False  #: to be drilled before the throat slot is milled


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
        The job, resolved.

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
        held = EndHoles(
            name=f", after {len(given.offsets)} end holes as given",
            holes=holes_of(job.written),
            depth=given.depth,
        )
        return [held] if cut.predrill else [EndHoles(), held]
    laid = [_laid(job, x) for x in layouts(job)]
    if cut.predrill and not laid:
        raise no_holes(job)
    return laid if cut.predrill else [EndHoles(), *laid]


def _laid(job: ResolvedJob, x: HoleLayout) -> EndHoles:
    rows = "" if x.rows == 1 else f" in {x.rows} rows"
    place = " on the throat's edges" if x.before_throat else " clear of the throat"
    return EndHoles(
        name=f", after {len(x.holes)} end holes {x.drill.name}{rows}{place}",
        holes=x.holes,
        depth=x.depth,
        before_throat=x.before_throat,
    )


def options(job: ResolvedJob, drilled: list[EndHoles]) -> list[PlanOption]:
    """List every way with these end holes; ways with the same passes are one way, and no two share
    a name.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    drilled : list of EndHoles
        The end holes to try.

    Returns
    -------
    options : list of PlanOption
    """
    found: dict[object, PlanOption] = {}
    for direction in _directions(job):
        for step in _steps(job):
            for holes in drilled:
                laid = passes(job, step, direction, holes.holes)
                same = (
                    tuple((p.offset, p.level, p.direction) for p in laid),
                    holes.holes,
                    holes.depth,
                )
                found.setdefault(
                    same,
                    PlanOption(
                        name=_name(job, step, laid) + holes.name,
                        stepover=step,
                        direction=direction,
                        drilled=holes,
                        passes=laid,
                    ),
                )
    return _told_apart(list(found.values()))


def _steps(resolved: ResolvedJob) -> list[float | None]:
    if resolved.cut.stepover is not None:
        return [resolved.cut.stepover]
    if full_width(resolved):
        return [None]
    (low, high), sides = resolved.axis_limits, resolved.slot.sides
    span = high - (
        0.0 if sides == 2 else max(low, resolved.section.throat_high - resolved.head.radius)
    )
    steps = [span / n for n in STEPS if span / n > LEAST_STEP]
    job = resolved.written
    return [None] + [
        x
        for x in steps
        if pass_count(job.slot, job.cutter.head_diameter, job.cutter.head_height, x) <= MOST_PASSES
    ]


def _directions(job: ResolvedJob) -> list[Direction]:
    if job.cut.direction is not None:
        return [job.cut.direction]
    return ["conventional", "climb"]


def _name(job: ResolvedJob, step: float | None, laid: tuple[Pass, ...]) -> str:
    """Name a way by its passes as they come out: those that cut both sides have no direction."""
    levels = len({p.level for p in laid})
    heights = f" at {levels} heights" if levels > 1 else ""
    ways = {p.direction for p in laid} - {"both"}
    if not ways:
        return ("one full pass" if len(laid) == levels else f"{len(laid)} full passes") + heights
    if len(laid) == levels:
        return f"one pass, {ways.pop()}" + heights
    how = "in one step" if step is None else f"by {units.show(step, 'length', job.units)}"
    first = "each side" if job.slot.sides == 2 else "side cut"
    if job.slot.sides == 2 and laid[0].offset == 0:
        first = "centre line first, then each side"
    return f"{first} {how}, {', '.join(sorted(ways))}" + heights


def _told_apart(found: list[PlanOption]) -> list[PlanOption]:
    """Give ways that still read the same the number of their passes, and then a number."""

    def same(o: PlanOption) -> list[PlanOption]:
        return [x for x in found if x.name == o.name]

    found = [
        o if len(same(o)) == 1 else replace(o, name=f"{o.name}, {len(o.passes)} passes")
        for o in found
    ]
    return [
        o if len(same(o)) == 1 else replace(o, name=f"{o.name}, variant {same(o).index(o) + 1}")
        for o in found
    ]

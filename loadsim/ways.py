"""The ways of making the undercut that a job leaves open: steps, direction, end holes; each has a name of its own."""

from __future__ import annotations

from dataclasses import dataclass, replace

from loadsim import units
from loadsim.case import Setup
from loadsim.cut_bounds import MOST_PASSES, pass_count
from loadsim.domain import Direction
from loadsim.passes import Pass, full_width, holes_of, passes
from loadsim.predrill import Layout, layouts, no_holes
from loadsim.stock import Hole

#: In how many steps a side pass is tried, beside one. [1]
STEPS = (2, 3, 4)
#: Least step of a side pass that is worth a pass. [mm]
LEAST_STEP = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Holes:
    """End holes of one way; none when there are none."""

    name: str = ""
    holes: tuple[Hole, ...] = ()
    depth: float = 0.0  #: from each open end [mm]
    before_throat: bool = False  #: to be drilled before the throat slot is milled


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One way of making the undercut, its passes laid out."""

    name: str
    stepover: float | None
    direction: Direction
    drilled: Holes
    passes: tuple[Pass, ...]


def hole_options(s: Setup) -> list[Holes]:
    """List the end holes that ``[cut]`` and ``[predrill]`` leave open, the most promising layout first.

    Parameters
    ----------
    s : Setup
        The job, resolved.

    Returns
    -------
    options : list of Holes

    Raises
    ------
    InputError
        If ``[cut]`` asks for end holes and none fits.
    """
    cut, given = s.job.cut, s.job.predrill
    if cut.predrill is False:
        return [Holes()]
    if given is not None:
        held = Holes(name=f", after {len(given.offsets)} end holes as given", holes=holes_of(s.job), depth=given.depth)
        return [held] if cut.predrill else [Holes(), held]
    laid = [_laid(s, x) for x in layouts(s)]
    if cut.predrill and not laid:
        raise no_holes(s)
    return laid if cut.predrill else [Holes(), *laid]


def _laid(s: Setup, x: Layout) -> Holes:
    rows = "" if x.rows == 1 else f" in {x.rows} rows"
    place = " on the throat's edges" if x.before_throat else " clear of the throat"
    return Holes(name=f", after {len(x.holes)} end holes {x.drill.name}{rows}{place}", holes=x.holes, depth=x.depth, before_throat=x.before_throat)


def options(s: Setup, drilled: list[Holes]) -> list[Option]:
    """List every way with these end holes; ways with the same passes are one way, and no two share a name.

    Parameters
    ----------
    s : Setup
        The job, resolved.
    drilled : list of Holes
        The end holes to try.

    Returns
    -------
    options : list of Option
    """
    found: dict[object, Option] = {}
    for direction in _directions(s):
        for step in _steps(s):
            for holes in drilled:
                laid = passes(s, step, direction, holes.holes)
                same = (tuple((p.offset, p.level, p.direction) for p in laid), holes.holes, holes.depth)
                found.setdefault(same, Option(name=_name(s, step, laid) + holes.name, stepover=step, direction=direction, drilled=holes, passes=laid))
    return _told_apart(list(found.values()))


def _steps(s: Setup) -> list[float | None]:
    if s.job.cut.stepover is not None:
        return [s.job.cut.stepover]
    if full_width(s):
        return [None]
    (low, high), sides = s.axis_limits, s.job.slot.sides
    span = high - (0.0 if sides == 2 else max(low, s.section.throat_high - s.head.radius))
    steps, job = [span / n for n in STEPS if span / n > LEAST_STEP], s.job
    return [None] + [x for x in steps if pass_count(job.slot, job.cutter.head_diameter, job.cutter.head_height, x) <= MOST_PASSES]


def _directions(s: Setup) -> list[Direction]:
    if s.job.cut.direction is not None:
        return [s.job.cut.direction]
    return ["conventional", "climb"]


def _name(s: Setup, step: float | None, laid: tuple[Pass, ...]) -> str:
    """Name a way by its passes as they come out: those that cut both sides have no direction."""
    levels = len({p.level for p in laid})
    heights = f" at {levels} heights" if levels > 1 else ""
    ways = {p.direction for p in laid} - {"both"}
    if not ways:
        return ("one full pass" if len(laid) == levels else f"{len(laid)} full passes") + heights
    if len(laid) == levels:
        return f"one pass, {ways.pop()}" + heights
    how = "in one step" if step is None else f"by {units.show(step, 'length', s.job.job.units)}"
    first = "each side" if s.job.slot.sides == 2 else "side cut"
    if s.job.slot.sides == 2 and laid[0].offset == 0:
        first = "centre line first, then each side"
    return f"{first} {how}, {', '.join(sorted(ways))}" + heights


def _told_apart(found: list[Option]) -> list[Option]:
    """Give ways that still read the same the number of their passes, and then a number."""
    def same(o: Option) -> list[Option]:
        return [x for x in found if x.name == o.name]

    found = [o if len(same(o)) == 1 else replace(o, name=f"{o.name}, {len(o.passes)} passes") for o in found]
    return [o if len(same(o)) == 1 else replace(o, name=f"{o.name}, variant {same(o).index(o) + 1}") for o in found]

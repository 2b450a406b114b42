"""The passes of the undercut: where each runs, which way, and the stock it meets."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Literal

import numpy as np
import numpy.typing as npt

from loadsim.base.errors import ModelError
from loadsim.base.numbers import Array
from loadsim.job.rules_cut import LEAST_UNDERCUT
from loadsim.job.tables import Slot
from loadsim.job.tolerances import oversize, width_tolerance
from loadsim.job.top_holes import top_holes_of
from loadsim.loads.assumptions import CLEARANCE
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.closed_end import holds, opened
from loadsim.mechanics.engagement import Positions, peak_positions, wall_positions, whole_turn
from loadsim.mechanics.stock import (
    Head,
    Hole,
    Section,
    Swept,
    TopHole,
    inside,
    radial_width,
    removed_area,
)

ArrayLike = npt.ArrayLike


class PieceKind(StrEnum):
    """What a piece of a pass is."""

    RUN = "run"
    HOLES = "stretch with end holes"
    CLOSED_END = "closed end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A length of one pass over which the cutter meets the same metal."""

    kind: PieceKind
    section: Section  #: the metal, in the frame of the feed
    travel: float  #: [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """The contact tables of one piece of a pass: geometry alone, made once."""

    section: Section  #: the metal, in the frame of the feed
    swept: Swept  #: where the head runs in it
    peak: Positions
    turn: Positions
    wall: Positions
    kind: PieceKind
    step: int  #: place of its pass among the passes [1]
    travel: float  #: [mm]

    @property
    def sine(self) -> float:
        """sin(phi) of its thickest chip. [1]"""
        return float(np.sin(self.peak.phi).max())

    @property
    def height(self) -> float:
        """Height of the metal that a tooth meets where it takes most. [mm]"""
        met = self.peak.b.sum(axis=1)
        return float(met[np.argmax(met * np.sin(self.peak.phi))])


def contacts_of(passes: tuple[Pass, ...], teeth: int, fine: int = 720) -> list[Contact]:
    """Make the contact tables of every piece of every pass, the longest run of a pass first.

    Parameters
    ----------
    passes : tuple of Pass
        From `loadsim.loads.passes.passes`.
    teeth : int
        Number of teeth. [1]
    fine : int
        About how many positions stand for a turn. [1]

    Returns
    -------
    contacts : list of Contact
    """
    contacts = []
    for step, p in enumerate(passes):
        for piece in p.pieces:
            swept, peak = _met(piece.section, p.swept, teeth)
            contacts.append(
                Contact(
                    section=piece.section,
                    swept=swept,
                    peak=peak,
                    turn=whole_turn(piece.section, swept, teeth, fine),
                    wall=wall_positions(piece.section, swept, teeth),
                    kind=piece.kind,
                    step=step,
                    travel=piece.travel,
                )
            )
    return contacts


#: Turning positions in half a turn that are tried, and where none of them meets a sliver. [1]
GRIDS = (180, 4000)


def _met(section: Section, swept: Swept, teeth: int) -> tuple[Swept, Positions]:
    """Find the positions of the peak, and the path whose teeth meet the metal.

    A sliver may lie between the nodes of a corner's arc: a square corner meets it, and more.
    """
    square = replace(swept, head=replace(swept.head, corner=0.0))
    for path in (swept, square):
        for grid in GRIDS:
            peak = peak_positions(section, path, teeth, grid)
            if peak.phi.size > 0:
                return path, peak
    area = removed_area(section, swept)
    raise ModelError(f"no tooth meets the {area:g} mm^2 of metal of a pass")


#: Tables that differ less than this are one table. [rad] or [mm]
SAME = 1e-7


def merged(contacts: list[Contact]) -> list[Contact]:
    """Join pieces whose teeth meet the same metal in the same positions, as both sides of a slot
    do: what they ask is asked once, over the travel of them all.
    """
    kept: list[Contact] = []
    for c in contacts:
        for i, like in enumerate(kept):
            if _alike(like.peak, c.peak):
                kept[i] = replace(like, travel=like.travel + c.travel)
                break
        else:
            kept.append(c)
    return kept


def _alike(a: Positions, b: Positions) -> bool:
    """Whether two tables hold the same metal in the same positions; `turn` is told by the teeth."""
    return (
        a.idle == b.idle
        and np.array_equal(a.tooth, b.tooth)
        and np.array_equal(a.position, b.position)
        and np.array_equal(a.sin_kappa, b.sin_kappa)
        and all(
            np.allclose(x, y, rtol=0.0, atol=SAME)
            for x, y in ((a.phi, b.phi), (a.b, b.b), (a.level, b.level))
        )
    )


def along(contacts: list[Contact]) -> list[Contact]:
    """Return of each pass the piece that it mostly consists of: it shapes the walls."""
    return [c for i, c in enumerate(contacts) if i == 0 or c.step != contacts[i - 1].step]


def thickest_sine(contacts: list[Contact]) -> float:
    """sin(phi) of the thickest chip over all passes. [1]"""
    return max(c.sine for c in contacts)


def down_throat(job: ResolvedJob) -> bool:
    return (
        job.cutter.head_diameter + 2 * CLEARANCE <= job.slot.throat_width + 1e-9
        and job.section.throat_floor <= 1e-9
    )


def in_drop_in(job: ResolvedJob, p: Pass) -> bool:
    """Whether the head of a pass stands in a hole from the top when it is at the closed end."""
    if not job.cut.predrill or job.predrill is None:
        return False
    here = replace(p.swept, offset=p.offset)
    return holds(here, top_holes_of(job.written), job.slot.depth - job.predrill.depth)


def no_way_in(job: ResolvedJob, p: Pass) -> bool:
    """Whether a pass is to start at the closed end where neither an earlier pass nor the throat nor
    a hole from the top lets the head get.
    """
    starts = p.back and job.slot.open_ends == 1 and not p.section.swept
    return starts and not down_throat(job) and not in_drop_in(job, p)


Way = Literal["both", "conventional", "climb"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One pass of the cutter along the slot, seen in the frame of its feed."""

    offset: float  #: of the cutter axis from the throat's centre line, as on the drawing [mm]
    level: float  #: of the head's lower face above the undercut floor [mm]
    direction: Way  #: how it cuts its wall; both when it cuts both sides at once
    section: Section  #: stock it meets, mirrored when the feed runs the other way
    swept: Swept  #: its path in that section
    radial_width: float  #: over which it meets metal [mm]
    area: float  #: of metal taken out of the section [mm^2]
    pieces: tuple[Piece, ...]  #: the run along the slot first
    #: fed the other way along the slot: from the far end to the one where the first pass starts
    back: bool = False


def pass_travel(slot: Slot, diameter: float) -> float:
    """Travel of one pass: from the tool's edge at one end of the slot until it has left the other.

    Parameters
    ----------
    slot : Slot
        Its length.
    diameter : float
        Of the head, or of the throat's end mill. [mm]

    Returns
    -------
    travel : float
        [mm]
    """
    return slot.length + diameter


def full_width(job: ResolvedJob) -> bool:
    """Whether a head on the centre line undercuts at all and leaves the width within its tolerance,
    so that no side pass is needed.
    """
    slot = job.slot
    undercuts = 2 * job.head.radius > slot.throat_width + LEAST_UNDERCUT / 2
    return (
        slot.sides == 2
        and undercuts
        and slot.undercut_width - 2 * job.head.radius <= width_tolerance(slot) * (1 + 1e-9)
    )


def axis_offsets(job: ResolvedJob, stepover: float | None) -> list[float]:
    """Offsets of the cutter axis for one level of the undercut.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, stock and head, and how far the axis may go.
    stepover : float or None
        Largest step outward; None takes each side in one step. [mm]

    Returns
    -------
    offsets : list of float
        On the drawing, high side first. [mm]
    """
    low, high = job.axis_limits
    if stepover is None and full_width(job):
        return [0.0]
    if job.slot.sides == 2:
        return pass_offsets(low, high, 0.0, stepover)
    if stepover is None:
        return [high]
    start = max(low, job.section.throat_high - job.head.radius)
    return pass_offsets(start, high, min(start + stepover, high), stepover)[
        : _outward(start, high, stepover)
    ]


def _outward(start: float, high: float, stepover: float) -> int:
    first = min(start + stepover, high)
    return 1 + math.ceil((high - first) / stepover - 1e-9)


def passes(
    job: ResolvedJob,
    stepover: float | None,
    direction: Literal["conventional", "climb"],
    holes: tuple[Hole | TopHole, ...] = (),
    depth: float = math.inf,
) -> tuple[Pass, ...]:
    """Lay out the passes that make the whole undercut, floor first, centre line first.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, head and the section of its stock.
    stepover : float or None
        Largest step outward; None takes each side in one step. [mm]
    direction : str
        How the side passes cut their wall.
    holes : tuple of Hole or of TopHole
        End holes drilled before: all along the slot, or all from the top.
    depth : float
        Of the holes, from each open end or from the top; left out: they go through. [mm]

    Returns
    -------
    passes : tuple of Pass
        Those that meet no metal are left out.
    """
    own = tuple(h for h in holes if isinstance(h, Hole))
    above = tuple(h for h in holes if isinstance(h, TopHole))
    through = not own or depth * job.slot.open_ends >= job.slot.length * (1 - 1e-9)
    stock = replace(job.section, holes=own if through else ())
    run = []
    slot = job.slot
    for level in pass_levels(slot.undercut_height, job.head.height, oversize(slot).height):
        for offset in axis_offsets(job, stepover):
            swept = Swept(head=job.head, offset=offset, bottom=level)
            step = _pass(stock, swept, direction)
            if step.area > LEAST_AREA:
                pieces = _pieces(job, step, () if through else own, depth)
                pieces += _closed_ends(job, step, above, depth)
                run.append(replace(step, pieces=pieces))
                stock = stock.after(swept)
    return tuple(run)


#: A pass or a piece of it that takes less metal out of the section meets none. [mm^2]
LEAST_AREA = 1e-6

#: Length over which the force at a closed end counts as that at the stop, over the head's radius:
#: more than the damage of the last radius is worth. [1]
STOP = 0.5


def _pieces(job: ResolvedJob, p: Pass, holes: tuple[Hole, ...], depth: float) -> tuple[Piece, ...]:
    """Cut a pass into pieces: the bare run, and the stretch that holes along the slot reach.

    A drilled stretch counts from where the whole front of the head is over it.
    """
    slot = job.slot
    radius = job.head.radius
    travel = pass_travel(slot, 2 * radius)
    drilled = slot.open_ends * max(min(depth, slot.length) - radius, 0.0) if holes else 0.0
    pieces = [Piece(kind=PieceKind.RUN, section=p.section, travel=travel - drilled)]
    if drilled > 0:
        own = tuple(replace(hole, offset=-hole.offset) for hole in holes) if p.back else holes
        with_holes = replace(p.section, holes=own)
        if removed_area(with_holes, p.swept) > LEAST_AREA:
            pieces.append(Piece(kind=PieceKind.HOLES, section=with_holes, travel=drilled))
    return tuple(pieces)


def _closed_ends(
    job: ResolvedJob, p: Pass, holes: tuple[TopHole, ...], depth: float
) -> tuple[Piece, ...]:
    """The last stretch of a pass at each closed end.

    The throat ends in a round of half its width and the head is fed until its front reaches the
    same end: its whole front then stands in metal that neither the throat, nor a pass at another
    offset, nor a hole from the top has taken. Holes are credited to a pass that is fed towards
    them; one that starts there, and the other end of a slot closed at both, are counted without.
    """
    slot = job.slot
    ends = 2 - slot.open_ends
    here = p.swept.offset
    beside = tuple(s for s in p.section.swept if math.isclose(s.offset, here, abs_tol=1e-9))
    solid = replace(p.section, throat_low=0.0, throat_high=0.0, swept=beside)
    stretch = STOP * job.head.radius
    pieces = [Piece(kind=PieceKind.CLOSED_END, section=solid, travel=ends * stretch)]
    if holes and ends and not p.back:
        floor = max(slot.depth - depth, 0.0)
        taken = opened(p.section, p.swept, holes, floor, stretch, slot.undercut_height)
        relieved = replace(solid, swept=(*beside, *taken))
        other = replace(pieces[0], travel=(ends - 1) * stretch)
        pieces = [Piece(kind=PieceKind.CLOSED_END, section=relieved, travel=stretch), other]
        if inside(relieved, p.section, p.swept):  # no metal that the run does not meet as well
            pieces = [other]
    met = (x for x in pieces if x.travel > 0)
    return tuple(x for x in met if removed_area(x.section, p.swept) > LEAST_AREA)


def travel_of(passes: tuple[Pass, ...]) -> float:
    """Travel of all passes, piece by piece. [mm]"""
    return math.fsum(piece.travel for p in passes for piece in p.pieces)


def way_of(contacts: list[Contact]) -> float:
    """Travel of all pieces that these tables stand for. [mm]"""
    return math.fsum(c.travel for c in contacts)


def _pass(stock: Section, swept: Swept, direction: Literal["conventional", "climb"]) -> Pass:
    left, right = _reach_into_metal(stock, swept)
    both = left and right
    wall_high = right or not left
    # in the feed's frame a conventional wall lies at +y: turn the section round when it does not
    turned = not both and wall_high == (direction == "climb")
    section = stock.mirrored() if turned else stock
    path = Swept(head=swept.head, offset=-swept.offset, bottom=swept.bottom) if turned else swept
    return Pass(
        offset=swept.offset,
        level=swept.bottom,
        direction="both" if both else direction,
        section=section,
        swept=path,
        radial_width=radial_width(section, path),
        area=removed_area(section, path),
        pieces=(),
        back=turned,
    )


def _reach_into_metal(stock: Section, swept: Swept) -> tuple[bool, bool]:
    """Tell whether the pass meets metal at its low and at its high edge."""

    def sliver(side: int) -> float:
        # a thin head that occupies the outer hundredth of the path on that side
        r = swept.head.radius
        thin = Swept(
            head=Head(radius=0.01 * r, height=swept.head.height),
            offset=swept.offset + side * 0.985 * r,
            bottom=swept.bottom,
        )
        return removed_area(stock, thin)

    return sliver(-1) > 1e-9, sliver(+1) > 1e-9


def drop_in_hole(job: ResolvedJob) -> float | None:
    """Least diameter of the hole that lets the head into a slot closed at both ends; None where
    none is needed. [mm]

    None is needed with an open end, or when the head itself goes down a throat that is milled to
    the undercut's floor.
    """
    slot = job.slot
    need = job.cutter.head_diameter + 2 * CLEARANCE
    passes_down = need <= slot.throat_width + 1e-9 and job.section.throat_floor <= 1e-9
    return None if slot.open_ends > 0 or passes_down else need


def side_reach(resolved: ResolvedJob) -> float:
    """Farthest offset at which the neck clears the throat. [mm]"""
    job = resolved.written
    return float(reach_of_side_pass(job.slot.throat_width, job.cutter.neck_diameter, CLEARANCE))


def widest_undercut(job: ResolvedJob) -> float:
    """Widest undercut that this cutter reaches through this throat. [mm]"""
    slot = job.slot
    reach = max(side_reach(job), 0.0)
    if slot.sides == 2:
        return job.cutter.head_diameter + 2 * reach
    return slot.throat_width / 2 + reach + job.head.radius


def reach_of_side_pass(
    throat_width: ArrayLike, neck_diameter: ArrayLike, clearance: ArrayLike
) -> Array:
    """Farthest offset of the cutter axis at which the neck still clears the throat wall.

    ``(throat - neck)/2 - clearance``; negative when the neck does not pass at all.

    Parameters
    ----------
    throat_width : array_like
        [mm]
    neck_diameter : array_like
        [mm]
    clearance : array_like
        Gap kept between neck and wall. [mm]

    Returns
    -------
    offset : ndarray
        [mm]
    """
    gap = np.asarray(throat_width, float) - np.asarray(neck_diameter, float)
    reach: Array = gap / 2 - np.asarray(clearance, float)
    return reach


def pass_levels(undercut_height: float, head_height: float, tolerance: float = 0.0) -> list[float]:
    """Heights of the head's lower face above the floor, floor first.

    Parameters
    ----------
    undercut_height : float
        [mm]
    head_height : float
        [mm]
    tolerance : float
        How far a head may be over the height. [mm]

    Returns
    -------
    levels : list of float
        The fewest that cover the height, evenly spread. [mm]

    Raises
    ------
    ValueError
        If the head is higher than the undercut by more than the tolerance.

    Examples
    --------
    >>> pass_levels(3.0, 3.0), pass_levels(3.0, 1.6)
    ([0.0], [0.0, 1.4])
    """
    spare = undercut_height - head_height
    if spare < -tolerance - 1e-9:
        raise ValueError(
            f"a head of {head_height:g} mm does not fit an undercut {undercut_height:g} mm high"
        )
    if spare <= 1e-9:
        return [0.0]
    n = math.ceil(spare / head_height - 1e-9) + 1
    return [round(spare * k / (n - 1), 9) for k in range(n)]


def pass_offsets(low: float, high: float, start: float, stepover: float | None) -> list[float]:
    """Offsets of the cutter axis that widen the undercut from a first pass to its walls.

    Parameters
    ----------
    low : float
        Axis offset at which the head touches the wall on the low side. [mm]
    high : float
        Axis offset at which the head touches the wall on the high side. [mm]
    start : float
        Offset of the first pass. [mm]
    stepover : float or None
        Largest step outward; None takes each side in one step. [mm]

    Returns
    -------
    offsets : list of float
        First pass, then outward to the high side, then to the low side. [mm]

    Examples
    --------
    >>> pass_offsets(-0.6, 0.6, 0.0, 0.3)
    [0.0, 0.3, 0.6, -0.3, -0.6]
    """
    offsets = [start]
    for end in (high, low):
        span = end - start
        if math.fabs(span) > 1e-9:
            steps = 1 if stepover is None else math.ceil(math.fabs(span) / stepover - 1e-9)
            offsets += [round(start + span * k / steps, 9) for k in range(1, steps + 1)]
    return offsets

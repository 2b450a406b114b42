"""What an answer warns of: constants, reach, sources that differ, trials."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol

import numpy as np

from loadsim.base import shop, units
from loadsim.base.notes import Note
from loadsim.job.cutter_geometry import shoulder_fillet
from loadsim.job.tolerances import oversize
from loadsim.loads.cut import Cutting, cycles, one
from loadsim.loads.cut_notes import cut_notes
from loadsim.loads.end_holes import breaks_into_throat, holes_for
from loadsim.loads.fillets import gap_beside_neck
from loadsim.loads.limits import undercut
from loadsim.loads.limits.utilization import NECK, Limit
from loadsim.loads.nominal import known_force, peak_chip
from loadsim.loads.passes import drop_in_hole, no_way_in, widest_undercut
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials.pooling import pooled
from loadsim.mechanics import fatigue
from loadsim.mechanics.stress_concentration import stress_concentration_notes
from loadsim.risk.results import Risk, Trials
from loadsim.risk.trial_update import Weighed
from loadsim.words import phrases
from loadsim.words.phrases import SLOWEST_TURN, plain
from loadsim.words.reservations import spoken

#: Steps that a wheel's corner is dressed in (common practice, no source): a fillet less than one
#: under the largest that fits is the largest. [mm]
DRESSED = 0.05


class Holds(Protocol):
    """A tool that is checked."""

    @property
    def safe(self) -> bool:
        """Whether every hard limit of it holds."""


def slow_feed(job: ResolvedJob, rate: float, tool: str = "") -> tuple[str, ...]:
    """Warn of a hand feed that no hand holds.

    Parameters
    ----------
    job : ResolvedJob
        Its machine: how it feeds, and a turn of the handwheel.
    rate : float
        Table feed. [mm/s]
    tool : str
        Put before it: whose feed it is, when not the undercut cutter's.

    Returns
    -------
    warnings : tuple of str
    """
    if job.machine.feed != "hand" or job.handwheel / rate <= SLOWEST_TURN:
        return ()
    return (
        (
            f"{tool}One handwheel turn in {plain(job.handwheel / rate, 3)} s cannot be fed evenly"
            f" by hand (over {SLOWEST_TURN:.0f} s); use a power feed."
        ),
    )


def core_left(job: ResolvedJob) -> tuple[str, ...]:
    """Warn of a throat that ends at the undercut's roof: the head then has the core under it to cut
    as well.

    Parameters
    ----------
    job : ResolvedJob
        The floors of its throat and undercut, and the units to speak in.

    Returns
    -------
    warnings : tuple of str
    """
    slot = job.slot
    show = units.show
    roof = slot.depth - slot.undercut_height
    if slot.throat_depth is None or slot.throat_depth > roof * (1 + 1e-9):
        return ()
    return (
        (
            f"throat_depth, {show(slot.throat_depth, 'length', job.units)}, ends at the undercut's"
            " roof: the head also cuts the core under the throat, over its whole width. Mill the"
            " throat down to depth first, unless that is meant."
        ),
    )


def room_note(limit: Limit, number: int) -> str:
    """Say that a clearance is missing by the drawing, and was there in a test cut.

    Parameters
    ----------
    limit : Limit
        The clearance.
    number : int
        Place of the test cut that was survived. [1]

    Returns
    -------
    note : str
    """
    return (
        f"By the drawing {limit.name} does not hold, but it is proved by the test cut: [[trial]]"
        f" {number} ran the same passes with this cutter and lived. {limit.note}"
    )


def tools_help(mill: Holds | None, drills: Sequence[str]) -> tuple[str, ...]:
    """Say what to do about the tools beside the undercut cutter that do not hold.

    Parameters
    ----------
    mill : ThroatMillState or None
        The throat mill with its settings.
    drills : sequence of str
        Drills over capacity, each with its limit.

    Returns
    -------
    sentences : tuple of str
    """
    sentences = [
        f"{drill} is over capacity: drill less deep, or leave the end holes out (predrill = false)."
        for drill in drills
    ]
    if mill is not None and not mill.safe:
        sentences.append(
            "The throat mill does not hold: leave its speed, feed and depth out of the job to have"
            " them picked; if none holds, take a thicker or a shorter mill."
        )
    return tuple(sentences)


#: Use of the neck over which a mistyped unit is likelier than a bad plan (25.4 to the third power
#: is 16,000). [1]
MISTYPED = 20.0


def _cannot_be(job: ResolvedJob, cut: Cutting) -> list[str]:
    """What is told first, because the rest hardly matters then: a neck like a hair, a way in that
    is not there.
    """
    slips = []
    d = job.cutter.neck_diameter
    if max(one(c.utilization) for c in undercut.checks(job, cut) if c.code in NECK) > MISTYPED:
        slips.append(
            f"The neck is used over {MISTYPED:.0f} times what it bears: is a unit mistyped?"
            f" [cutter] neck_diameter is {units.show(d, 'length', job.units, both=True)}."
        )
    if any(no_way_in(job, p) for p in cut.passes):
        slips.append(
            "The first pass would start at the closed end, where nothing lets the head in: set the"
            " other [cut] direction."
        )
    return slips


def warnings(job: ResolvedJob, cut: Cutting, chance: Risk) -> tuple[str, ...]:
    """Say what to know of an answer, the gravest first.

    Parameters
    ----------
    job : ResolvedJob
        What was assumed of it, and where its models leave their ranges.
    cut : Cutting
        The cut.
    chance : Risk
        Its snap probability.

    Returns
    -------
    warnings : tuple of str
    """
    known = known_force(job, peak_chip(job, cut.case.f_z, 1.0))
    life = fatigue.finite_life_notes(cycles(cut))
    sentences = [
        *_own_constants(job, cut),
        *_cannot_be(job, cut),
        *_out_of_reach(job),
        *_over_as_drawn(job),
        *_over_target(job, chance),
        *known.notes,
        *(spoken(n, job.units) for n in cut_notes(job, cut)),
        *(spoken(n, job.units) for n in (*job.notes, *life, *job.assumed, *_fillet(job))),
        *_holes_to_know(job),
        *_sources_differ(float(np.max(known.sigma_ln))),
        *job.work.cautions,
        *(shop.temperatures(caution, job.units) for caution in job.blank.cautions),
    ]
    return tuple(dict.fromkeys(sentences))


def _own_constants(job: ResolvedJob, cut: Cutting) -> list[str]:
    """Constants of the job's own that are far under what the sources give."""
    if job.written.work.kc11 is None:
        return []
    h = peak_chip(job, cut.case.f_z, 1.0)
    usual = float(pooled(job.work.curves, h).k_c.max())
    mine = float(job.metal.median.specific(h).max())
    if mine >= usual / 3:
        return []
    return [
        f"[work] kc11 and mc give {units.show(mine, 'stress', job.units)} at the chip of this cut,"
        f" under a third of the {units.show(usual, 'stress', job.units)} that the sources for this"
        " material give: check them before trusting the answer."
    ]


def _out_of_reach(job: ResolvedJob) -> list[str]:
    reach = widest_undercut(job)
    if job.slot.undercut_width <= reach + 1e-9:
        return []
    most, wide = (units.show(x, "length", job.units) for x in (reach, job.slot.undercut_width))
    return [f"This cutter reaches {most} through this throat at most; the undercut is {wide} wide."]


def _over_as_drawn(job: ResolvedJob) -> list[str]:
    """A head over the undercut, inside the tolerance: the slot takes its size."""
    slot = job.slot
    tolerance = oversize(slot)
    return [
        f"The head is {units.show(over, 'length', job.units)} over the undercut's {name} as drawn,"
        f" inside its tolerance of {units.show(most, 'length', job.units)}: the slot comes out"
        " larger by that and by what the cut adds."
        for name, over, most in (
            ("width", job.cutter.head_diameter - slot.undercut_width, tolerance.width),
            ("height", job.cutter.head_height - slot.undercut_height, tolerance.height),
        )
        if over > 1e-9
    ]


def _over_target(job: ResolvedJob, chance: Risk) -> list[str]:
    target = job.target.snap_probability
    if chance.snap_probability <= target:
        return []
    return [
        f"The snap probability, {phrases.probability(chance.snap_probability)}, is over the"
        f" accepted {phrases.accepted(target)}."
    ]


def _fillet(job: ResolvedJob) -> tuple[Note, ...]:
    """Where the fillet leaves the range of the formulas."""
    c = job.cutter
    thick = max(c.shank_diameter, c.neck_diameter)
    fits = {"largest": job.fillet > _largest_fillet(job) - DRESSED}
    return tuple(
        Note(code=note.code, facts={**note.facts, **fits})
        for note in stress_concentration_notes(thick, c.neck_diameter, job.fillet)
    )


def _largest_fillet(job: ResolvedJob) -> float:
    """Largest fillet at the shank that the throat and the neck leave room for. [mm]"""
    c = job.cutter
    gap = gap_beside_neck(job.written, (job.side_low, job.side))
    above = c.neck_length + c.head_height - job.slot.depth
    return min(shoulder_fillet(gap, above), c.neck_diameter / 2, c.neck_length - job.head_fillet)


def _holes_to_know(job: ResolvedJob) -> list[str]:
    """What to know of the drop-in hole and of the end holes."""
    sentences = []
    hole = drop_in_hole(job)
    if hole is not None:
        sentences.append(
            "Both ends are closed: a drop-in hole of at least"
            f" {units.show(hole, 'length', job.units)} must be drilled to the undercut's floor"
            " first."
        )
    if job.cut.predrill and breaks_into_throat(job, holes_for(job)):
        sentences.append(
            "The end holes break into the throat slot: drill them before the throat is milled, or"
            " the drill runs off."
        )
    p = job.predrill
    along = job.cut.predrill and p is not None and p.along is None
    if along and p is not None and p.depth * job.slot.open_ends < job.slot.length:
        sentences.append(
            "The end holes do not reach through the slot; beyond them the neck is loaded as without"
            " holes. Check that case too: predrill = false."
        )
    return sentences


def _sources_differ(sigma: float) -> list[str]:
    if sigma < 0.4:
        return []
    return [
        "Sources for this metal's cutting force differ: two cuts in three lie within a factor"
        f" {math.exp(sigma):.1f} of the middle (one standard deviation). Prove the cut on scrap."
    ]


def notes(seen: Weighed, trials: Trials | None) -> tuple[str, ...]:
    """Say which test cuts do not count, and what in the change may surprise.

    Parameters
    ----------
    seen : Weighed
        From `weighed`.
    trials : Trials or None
        From `told`.

    Returns
    -------
    notes : tuple of str
    """
    sentences = list(seen.skipped)
    if trials is None or not trials.cuts:
        return tuple(sentences)
    force = trials.factors[0]
    safer = trials.after["snap_probability"] < trials.before["snap_probability"]
    if force.after.middle > force.before.middle and safer:
        sentences.append(
            f"The test cuts put the force at {force.after.middle:.2f} times what the sources for"
            " this metal give, yet the snap probability fell: the force is now better known, 39"
            f" times in 40 under {force.after.high_95:.2f} instead of {force.before.high_95:.2f}"
            " times that."
        )
    surprises = [c for c in trials.cuts if c.outcome == "snapped" and c.snap_expected < 0.01]
    sentences += [
        f"{c.where} snapped, where {c.snap_expected:.1g} was its chance before it: look for a cause"
        " that is not in the job file (a burnt or cracked blank, a hidden scratch, packed chips)."
        for c in surprises
    ]
    return tuple(sentences)

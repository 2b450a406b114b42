"""What to make of an answer: would a hand feel it, are end holes needed, what would help, what to know."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from loadsim import fatigue, limits, risk, strength, units, words
from loadsim.bad_case import NECK
from loadsim.case import CLEARANCE, Setup, force_constants, peak_chip, setup
from loadsim.domain import Job
from loadsim.end_holes import few_figures
from loadsim.end_holes import hole_dict as hole_dict
from loadsim.end_holes import holes_for as holes_for
from loadsim.end_holes import predrill_verdict as predrill_verdict
from loadsim.end_holes import tidy as tidy
from loadsim.errors import InputError
from loadsim.fillet import K_T_BENDING_FE_BOUND, stress_concentration_notes
from loadsim.job import changed
from loadsim.materials import pooled
from loadsim.pass_words import no_way_in
from loadsim.passes import drop_in_hole, passes, widest_undercut
from loadsim.predrill import breaks_into_throat
from loadsim.remedies import for_limits, making_room
from loadsim.results import Limit, Risk
from loadsim.settings import NEAR, cutting, way_of

#: Wheel radius, efficiency of a table screw, and the force that moves a table (common practice, no source).
WHEEL_RADIUS, SCREW_EFFICIENCY, TABLE_FRICTION = 60.0, 0.3, 150.0
#: Blanks that bear more, tried as advice: name under materials/, what to call it.
TOUGHER = (("hss-m4-pm", "powder-metal high-speed steel (M4)"), ("carbide-fine", "fine-grain carbide"))
#: Best single changes that are combined, and most combinations of a size that are tried. [1]
COMBINED, MOST_COMBINED = 6, 15
#: Use of the neck over which a mistyped unit is likelier than a bad plan (25.4 to the third power is 16,000). [1]
MISTYPED = 20.0
#: Most passes of a cut whose changes are tried out; each of them is worked out anew. [1]
MOST_TRIED = 20
#: Change of force at a handwheel's rim that a hand notices (common practice, no source). [N]
NOTICED = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """The settings of a check, given or picked."""

    speed: float  #: [rad/s]
    f_z: float  #: [mm]
    stepover: float | None  #: [mm]
    notes: tuple[str, ...]


def few_of(drawn: risk.Draws, most: int = 256) -> risk.Draws:
    """Return the first points of each replicate, 256 if not said otherwise, four times that when they are weighted: enough to compare settings by."""
    each = drawn.u.shape[1] // drawn.replicates
    kept = np.arange(min(each, most if drawn.weights is None else 4 * most))[None, :] + each * np.arange(drawn.replicates)[:, None]
    at = kept.ravel()
    return risk.Draws(u=drawn.u[:, at], z=drawn.z[:, at], replicates=drawn.replicates, seed=drawn.seed,
                      weights=None if drawn.weights is None else drawn.weights[at])  # fmt: skip


def one(x: object) -> float:
    return float(np.asarray(x).reshape(-1)[0])


def snapping(s: Setup, cut: limits.Cutting) -> tuple[float, float]:
    """Force and torque at which half of all such necks have broken."""
    m, c, b = cut.summary, cut.case, s.strength
    half = float(strength.weibull_strength(0.5, b.sigma_0, b.m))
    if b.yield_strength is not None:
        half = min(half, b.yield_strength)
    reach = one(m.moment) / one(m.force)
    K = one(m.K_t) * K_T_BENDING_FE_BOUND
    return (one(strength.force_to_snap(half, K, c.neck_diameter, reach)),
            one(strength.torque_to_snap(b.tau_u, m.K_ts, c.neck_diameter)))  # fmt: skip


def feel(s: Setup, cut: limits.Cutting) -> str:
    """Answer the practitioner's worry in one sentence."""
    force, torque = snapping(s, cut)
    rim, idle = (float(strength.rim_force(F, s.handwheel, WHEEL_RADIUS, SCREW_EFFICIENCY)) for F in (force, TABLE_FRICTION))
    stall = limits.DRIVE * s.job.machine.spindle_power / float(cut.speed)
    system = s.job.job.units

    def f(x: float) -> str:
        return units.show(x, "force", system)

    def t(x: float) -> str:
        return units.show(x, "torque", system)

    spindle = (f"The spindle stalls only at {t(stall)}, past the {t(torque)} that twist the neck off."
               if stall > torque else f"The spindle stalls at {t(stall)}, before the {t(torque)} that twist the neck off.")  # fmt: skip
    if s.job.machine.feed == "hand":
        felt = "you may feel it coming" if rim > NOTICED and force > TABLE_FRICTION else "you would not feel it coming"
        return (f"The neck snaps at a feed force of about {f(force)}, {f(rim)} at the handwheel's rim, where moving the table alone "
                f"takes about {f(idle)}: {felt}. {spindle}")  # fmt: skip
    return f"The neck snaps at a feed force of about {f(force)}; a driven table does not notice that. {spindle}"


def advice(s: Setup, picked: Picked, found: list[Limit], few: risk.Draws, verdict: str = "no-go") -> tuple[str, ...]:
    """List changes that help, each with its new snap probability, best first; none that does not fit the slot.

    When no single one is enough, the smallest combination that is enough comes first.

    Parameters
    ----------
    s : Setup
        The job, resolved.
    picked : Picked
        The settings checked.
    found : list of Limit
        Every limit.
    few : Draws
        Sample of the risk.
    verdict : str
        What they are to help against; a no-go never goes without an answer.

    Returns
    -------
    advice : tuple of str
    """
    now = _state(s.job, picked, few)
    soft = [f"{x.name}: {x.note}" for x in found if x.utilization > 1 + 1e-9 and not x.hard]
    if verdict != "no-go" and now.used <= NEAR and now.p < s.job.target.snap_probability / 10:
        return tuple(soft)  # neither the neck nor its room is the trouble
    if (n := len(passes(s, picked.stepover, s.job.cut.direction or "conventional", holes_for(s)))) > MOST_TRIED:
        return (f"With {n} passes what would help is not tried out: take a larger stepover or a higher head, then ask again.", *soft)
    room = _room(s, picked, found, now, few)
    solved = any(_enough(s, x) for _, _, x in room)  # then what helps the neck alone is no help
    own = [] if solved else _helping(s, [*_for_limits(s, picked, found), *_changes(s, picked)], picked, now, few)
    best = [f"{text}: {_from_to(now, x)}" + ("." if _enough(s, x) else ", not enough by itself.") for text, _, x in (*room, *own)]
    if not any(_enough(s, x) for _, _, x in (*room, *own)):
        first = [_combined(s, picked, now, room[:1], own, few)] if room or own else []
        best = [*first, *best] or (["Nothing that was tried helps: neither neck, head, feed, lubrication nor another blank; make the undercut "
                                    "another way."] if verdict == "no-go" else [])  # fmt: skip
    return (*best, *soft)


def _enough(s: Setup, x: _State) -> bool:
    """Whether a cut so changed is no no-go: judged by the upper end of its chance, for the sample is small."""
    return x.high <= s.job.target.snap_probability and x.used <= 1 and not x.over


def _room(s: Setup, picked: Picked, found: list[Limit], now: _State, few: risk.Draws) -> list[_Helps]:
    """Return changes that give the cutter room where it has none: those that are enough first, then by their chance."""
    over = {x.name for x in found if x.fit and x.utilization > 1 + 1e-9}
    if not over:
        return []
    laid = passes(s, picked.stepover, s.job.cut.direction or "conventional", holes_for(s))
    tried = [(text, changes, _after(s, changes, picked, few)) for text, changes in making_room(s, laid, over)]
    fits = [(t, c, x) for t, c, x in tried if x is not None and x.over < now.over]
    return sorted(fits, key=lambda x: (not _enough(s, x[2]), "slot.throat_width" in x[1], x[2].p, x[2].used))


def _for_limits(s: Setup, picked: Picked, found: list[Limit]) -> list[tuple[str, dict[str, Any]]]:
    return for_limits(s, {x.name: x.utilization for x in found if x.hard and x.utilization > 1 + 1e-9}, picked.speed, picked.f_z)


def _helping(s: Setup, changes: list[tuple[str, dict[str, Any]]], picked: Picked, now: _State, few: risk.Draws) -> list[_Helps]:
    """Return those of the changes that help and make nothing else worse, best first."""
    tried = [(text, c, _after(s, c, picked, few)) for text, c in changes]
    better = [(t, c, x) for t, c, x in tried if x is not None and x.over <= now.over
              and (x.over < now.over or x.p < 0.8 * now.p or x.used < 0.95 * now.used)]  # fmt: skip
    return sorted(better, key=lambda x: (x[2].p, x[2].used, x[0]))


def _combined(s: Setup, picked: Picked, now: _State, room: list[_Helps], own: list[_Helps], few: risk.Draws) -> str:
    """Smallest combination of the best changes that makes the cut safe; of equal ones that with the lowest probability.

    Where room is missing, it is made first and the others are chosen for the cutter that then stands there.
    """
    base, rough = (room[0][1] if room else {}), few_of(few, 32)
    if room:
        there = setup(changed(s.job, base))
        own = _helping(s, [(t, base | c) for t, c in _changes(there, picked)], picked, room[0][2], rough)
    for size in (1, 2) if room else (2, 3):
        own_only = [{k: v for k, v in c.items() if base.get(k, _NONE) != v} for _, c, _ in own[:COMBINED]]
        together = [c for c in itertools.combinations(range(len(own_only)), size) if _apart([own_only[i] for i in c])][:MOST_COMBINED]
        merged = [base | {k: v for i in c for k, v in own_only[i].items()} for c in together]
        tried = [(a.p, i) for i, m in enumerate(merged) if (a := _after(s, m, picked, rough)) is not None
                 and a.p <= 2 * s.job.target.snap_probability and a.used <= 1 and not a.over]  # fmt: skip
        for _, i in sorted(tried):
            after = _after(s, merged[i], picked, few)  # asked again with the whole sample
            if after is not None and _enough(s, after):
                said = [*(t for t, _, _ in room), *(own[k][0] for k in together[i])]
                words = "; ".join(x[0].lower() + x[1:] if k else x for k, x in enumerate(said))
                return f"No single change makes it safe; {'two' if len(said) == 2 else 'three'} together do. {words}: {_from_to(now, after)}."
    return "No single change makes it safe, nor do two or three of these together; make the undercut another way."


def _apart(changes: list[dict[str, Any]]) -> bool:
    """Whether no two of the changes touch the same key."""
    keys = [k for c in changes for k in c]
    return len(keys) == len(set(keys))


@dataclass(frozen=True, slots=True, kw_only=True)
class _State:
    """Where a cut stands: snap probability, worst use of the neck, and the other hard limits and clearances over capacity."""

    p: float
    high: float  #: upper end of its interval
    used: float
    over: frozenset[str] = frozenset()


#: A change in words, as changes to the job, and where the cut then stands.
_Helps = tuple[str, dict[str, Any], _State]
#: Stands for a key that is not there.
_NONE = object()


def _from_to(before: _State, after: _State) -> str:
    first, then = (few_figures(x.p) for x in (before, after))
    p = f"the snap probability stays {then}" if first == then else f"snap probability {first} to {then}"
    return f"{p}, worst use of the neck {units.percent(before.used)} to {units.percent(after.used)}"


def _after(s: Setup, changes: dict[str, Any], picked: Picked, few: risk.Draws) -> _State | None:
    """State after changes; None when they do not fit the cutter or the slot."""
    try:
        job = changed(s.job, changes)
        after = _state(job, picked, few)
        if "cutter.material" in changes and few.weights is not None:  # what was learned of this blank is not true of that one
            bare = _state(job, picked, replace(few, weights=None))
            after = replace(after, p=max(after.p, bare.p), high=max(after.high, bare.high))
        return after
    except InputError:
        return None


def _state(job: Job, picked: Picked, few: risk.Draws) -> _State:
    """Work out where a cut stands."""
    s = setup(job)
    way = way_of(s, passes(s, picked.stepover, job.cut.direction or "conventional", holes_for(s)), 24)
    f_z = job.cut.feed_per_tooth or picked.f_z
    used = {c.name: one(c.utilization) for c in limits.checks(s, cutting(s, way, job.cut.spindle_speed or picked.speed, f_z)) if c.hard}
    neck = {n: u for n, u in used.items() if n in NECK}
    over = frozenset(n for n, u in used.items() if n not in neck and u > 1 + 1e-9)
    chance = risk.assess(s, way.passes, way.contacts, f_z, few)
    return _State(p=chance.snap_probability, high=chance.high, used=max(neck.values()), over=over)


def _changes(s: Setup, picked: Picked) -> list[tuple[str, dict[str, Any]]]:
    """Changes of one thing each that fit the slot."""
    job, c, slot = s.job, s.job.cutter, s.job.slot
    found: list[tuple[str, dict[str, Any]]] = []

    def show(x: float) -> str:
        return units.show(x, "length", job.job.units)

    low, high = s.axis_limits
    offset = max(math.fabs(high), math.fabs(low) if slot.sides == 2 else 0.0)
    room = slot.throat_width - 2 * (offset + CLEARANCE)  # for the neck, and where it leaves the head for its fillet beside it
    thick = min(room - 2 * s.fillet, c.head_diameter, c.shank_diameter)
    if thick > c.neck_diameter * 1.02:
        found.append((f"Grind the neck to {show(thick)}, the thickest that passes the throat with its fillet", {"cutter.neck_diameter": thick}))
    short = slot.depth - c.head_height + CLEARANCE
    if short < c.neck_length * 0.98:
        found.append((f"Shorten the neck to {show(short)}", {"cutter.neck_length": short}))
    step = (c.shank_diameter - c.neck_diameter) / 2
    larger = min(step, 0.5, c.neck_diameter / 2, (room - c.neck_diameter) / 2)
    if step > 0.05 and s.fillet < 0.9 * larger:
        found.append((f"Give the neck a fillet of {show(larger)}", {"cutter.neck_fillet": larger}))
    if s.runout > 0.004:
        found.append((f"Bring the runout down to {show(0.003)} radial", {"cutter.runout": 0.003}))
    half = max(picked.f_z / 2, s.h_min)
    if half < 0.9 * picked.f_z:
        shown = units.show(half, "feed per tooth", job.job.units)
        found.append((f"Feed slower, {shown}", {"cut.feed_per_tooth": half, "cut.feed_rate": None}))
    if job.work.lubrication in ("dry", "brush"):
        found.append(("Flood the cut and clear the chips", {"work.lubrication": "flood"}))
    if c.head_height > 0.6 * slot.undercut_height:
        thin = c.head_height / 2
        found.append((f"Grind the head {show(thin)} high and take two heights", {
            "cutter.head_height": thin, "cutter.neck_length": c.neck_length + thin}))
    if slot.throat_depth is not None and slot.throat_depth < slot.depth:
        found.append(("Mill the throat to its full depth first", {"slot.throat_depth": slot.depth}))
    for name, title in TOUGHER:
        if name != c.material:
            found.append((f"Grind it from {title}", {"cutter.material": name, "cutter.hardness": None}))
    return found


def _cannot_be(s: Setup, cut: limits.Cutting) -> list[str]:
    """What is told first, because the rest hardly matters then: a neck like a hair, a way in that is not there."""
    found, d = [], s.job.cutter.neck_diameter
    if max(one(c.utilization) for c in limits.checks(s, cut) if c.name in NECK) > MISTYPED:
        found.append(f"The neck is used over {MISTYPED:.0f} times what it bears: is a unit mistyped? [cutter] neck_diameter is "
                     f"{units.show(d, 'length', s.job.job.units, both=True)}.")  # fmt: skip
    if any(no_way_in(s, p) for p in cut.passes):
        found.append("The first pass would start at the closed end, where nothing lets the head in: set the other [cut] direction.")
    return found


def warnings(s: Setup, cut: limits.Cutting, chance: Risk) -> tuple[str, ...]:
    _, _, sigma, notes = force_constants(s, peak_chip(s, cut.case.f_z, 1.0))
    found = [*notes, *s.notes, *fatigue.finite_life_notes(limits.cycles(s, cut)), *s.assumed]
    c, target = s.job.cutter, s.job.target.snap_probability
    fillet = stress_concentration_notes(max(c.shank_diameter, c.neck_diameter), c.neck_diameter, s.fillet)
    found += [n for n in fillet if "(tension:" not in n]  # nothing pulls on this neck
    if chance.snap_probability > target:
        found.insert(0, f"The snap probability, {words.probability(chance.snap_probability)}, is over the accepted {words.accepted(target)}.")
    reach = widest_undercut(s)
    if s.job.slot.undercut_width > reach + 1e-9:
        most, wide = (units.show(x, "length", s.job.job.units) for x in (reach, s.job.slot.undercut_width))
        found.insert(0, f"This cutter reaches {most} through this throat at most; the undercut is {wide} wide.")
    found[:0] = _cannot_be(s, cut)
    hole = drop_in_hole(s)
    if hole is not None:
        found.append(f"Both ends are closed: a drop-in hole of at least {units.show(hole, 'length', s.job.job.units)} "
                     "must be drilled to the undercut's floor first.")  # fmt: skip
    if s.job.cut.predrill and breaks_into_throat(s, holes_for(s)):
        found.append("The end holes break into the throat slot: drill them before the throat is milled, or the drill runs off.")
    p = s.job.predrill
    if s.job.cut.predrill and p is not None and p.depth * s.job.slot.open_ends < s.job.slot.length:
        found.append("The end holes do not reach through the slot; beyond them the neck is loaded as without holes. "
                     "Check that case too: predrill = false.")  # fmt: skip
    own = s.job.work.kc11
    if own is not None:
        h = peak_chip(s, cut.case.f_z, 1.0)
        usual = float(pooled(s.work.curves, h).k_c.max())
        mine = float(own * h.max() ** -(s.job.work.mc or 0.0))
        if mine < usual / 3:
            found.insert(0, f"[work] kc11 and mc give {units.show(mine, 'stress', s.job.job.units)} at the chip of this cut, under a third of the "
                         f"{units.show(usual, 'stress', s.job.job.units)} that the sources for this material "
                         "give: check them before trusting the answer.")  # fmt: skip
    if float(np.max(sigma)) >= 0.4:
        found.append(f"Sources for this metal's cutting force differ: two cuts in three lie within a factor {math.exp(float(np.max(sigma))):.1f} of the "
                     "middle (one standard deviation). Prove the cut on scrap.")  # fmt: skip
    found += s.work.cautions
    return tuple(dict.fromkeys(found))

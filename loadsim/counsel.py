"""What to make of an answer: would a hand feel it, are end holes needed, what would help, what to know."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from loadsim import limits, risk, strength, units
from loadsim.case import CLEARANCE, Setup, force_constants, peak_chip, setup
from loadsim.domain import Job
from loadsim.errors import InputError
from loadsim.fillet import K_T_BENDING_FE_BOUND, stress_concentration_notes
from loadsim.job import changed
from loadsim.materials import pooled
from loadsim.passes import holes_of, passes, widest_undercut
from loadsim.predrill import Layout, layout, why_none
from loadsim.results import Limit, PredrillVerdict, Risk
from loadsim.settings import NEAR, Feed, Way, cutting, pick_feed, way_of
from loadsim.stock import Hole

#: Wheel radius, efficiency of a table screw, and the force that moves a table (common practice, no source).
WHEEL_RADIUS, SCREW_EFFICIENCY, TABLE_FRICTION = 60.0, 0.3, 150.0
#: Blanks that bear more, tried as advice: name under materials/, what to call it.
TOUGHER = (("hss-m4-pm", "powder-metal high-speed steel (M4)"), ("carbide-fine", "fine-grain carbide"))
#: Change of force at a handwheel's rim that a hand notices (common practice, no source). [N]
NOTICED = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """The settings of a check, given or picked."""

    speed: float  #: [rad/s]
    f_z: float  #: [mm]
    stepover: float | None  #: [mm]
    notes: tuple[str, ...]


def few_of(drawn: risk.Draws) -> risk.Draws:
    """Return the first 256 points of each replicate, 1024 when they are weighted: enough to compare settings by."""
    each = drawn.u.shape[1] // drawn.replicates
    kept = np.arange(min(each, 256 if drawn.weights is None else 1024))[None, :] + each * np.arange(drawn.replicates)[:, None]
    at = kept.ravel()
    return risk.Draws(u=drawn.u[:, at], z=drawn.z[:, at], replicates=drawn.replicates, seed=drawn.seed,
                      weights=None if drawn.weights is None else drawn.weights[at])  # fmt: skip


def holes_for(s: Setup) -> tuple[Hole, ...]:
    job = s.job
    if not job.cut.predrill:
        return ()
    if job.predrill is not None:
        return holes_of(job)
    plan = layout(s)
    return plan.holes if plan is not None else ()


def tidy(x: float) -> float:
    """Drop the noise of conversion behind the ninth figure."""
    return float(f"{x:.9g}")


def hole_dict(s: Setup, holes: tuple[Hole, ...], plan: Layout | None, depth: float | None) -> dict[str, Any]:
    metal = sum(h.diameter**2 * math.pi / 4 for h in holes)
    area = (s.side - s.section.throat_high) * s.job.slot.undercut_height * s.job.slot.sides
    return {"diameter_mm": tidy(holes[0].diameter), "count": len(holes), "offsets_mm": [tidy(h.offset) for h in holes],
            "height_mm": tidy(holes[0].height), "depth_mm": tidy(plan.depth if plan else depth or 0.0),
            "removed_fraction": tidy(metal / area)}  # fmt: skip


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


def predrill_verdict(s: Setup, way: Way, speed: float, verdict: str, few: risk.Draws) -> PredrillVerdict:
    """Say whether end holes are needed, with the numbers behind it.

    Parameters
    ----------
    s : Setup
        The job, resolved.
    way : Way
        The passes as checked.
    speed : float
        Spindle speed. [rad/s]
    verdict : str
        Of the check.
    few : Draws
        Sample of the risk.

    Returns
    -------
    verdict : PredrillVerdict
    """
    job, plan = s.job, layout(s)
    direction = job.cut.direction or "conventional"
    bare = way_of(s, passes(s, job.cut.stepover, direction), 90)
    without = pick_feed(s, bare, speed, few)
    if plan is None:
        kind = "not needed" if without.safe else "not possible"
        return PredrillVerdict(verdict=kind, why=_why_without(s, without, bare, few) + f"; {why_none(s)}.", holes=None)
    drilled = way_of(s, passes(s, job.cut.stepover, direction, plan.holes), 90)
    holed = pick_feed(s, drilled, speed, few)
    p = [risk.assess(s, w.passes, w.contacts, f.f_z, few).snap_probability for w, f in ((bare, without), (drilled, holed))]
    shown = [units.show(x.f_z, "feed per tooth", job.job.units) for x in (without, holed)]
    why = (f"{'best safe' if without.safe else 'no safe'} feed without holes {shown[0]} (snap probability {p[0]:.1g}), "
           f"with {len(plan.holes)} holes {plan.drill.name} {shown[1]} ({p[1]:.1g})")  # fmt: skip
    if not without.safe:
        kind, why = "needed", why + ("" if holed.safe else "; even with them no feed is safe")
    else:
        kind = "worthwhile" if holed.f_z > 1.5 * without.f_z else "not needed"
    return PredrillVerdict(verdict=kind, why=why + ".", holes=hole_dict(s, plan.holes, plan, None))


def _why_without(s: Setup, feed: Feed, way: Way, few: risk.Draws) -> str:
    shown = units.show(feed.f_z, "feed per tooth", s.job.job.units)
    p = risk.assess(s, way.passes, way.contacts, feed.f_z, few).snap_probability
    return (f"without holes {shown} is safe (snap probability {p:.1g})" if feed.safe
            else f"without holes nothing is safe (snap probability {p:.1g} at {shown})")  # fmt: skip


def advice(s: Setup, picked: Picked, found: list[Limit], few: risk.Draws) -> tuple[str, ...]:
    """List changes that help, each with its new snap probability, best first; none that does not fit the slot.

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

    Returns
    -------
    advice : tuple of str
    """
    now, used = _state(s.job, picked, few)
    soft = [f"{x.name}: {x.note}" for x in found if x.utilization > 1 + 1e-9 and not x.hard]
    if used <= NEAR and now < s.job.target.snap_probability / 10:
        return tuple(soft)  # the neck is not the trouble
    ranked = []
    for text, changes in _changes(s, picked):
        try:
            p, u = _state(changed(s.job, changes), picked, few)
            if "cutter.material" in changes and few.weights is not None:  # what was learned of this blank is not true of that one
                p = max(p, _state(changed(s.job, changes), picked, replace(few, weights=None))[0])
        except InputError:
            continue  # a change that does not fit the cutter is no advice
        if p < 0.8 * now or u < 0.95 * used:
            ranked.append((p, u, f"{text}: snap probability {_from_to(now, p)}, worst use of the neck {used:.0%} to {u:.0%}"
                           + ("." if p <= s.job.target.snap_probability and u <= 1 else ", not enough by itself.")))  # fmt: skip
    best = [text for _, _, text in sorted(ranked)]
    if best and all(x.endswith("itself.") for x in best):
        best.insert(0, "No single change makes it safe; combine them, or make the undercut another way.")
    return (*best, *soft)


def _from_to(before: float, after: float) -> str:
    return " to ".join("under 1e-06" if p < 1e-6 else f"{p:.1g}" for p in (before, after))


def _state(job: Job, picked: Picked, few: risk.Draws) -> tuple[float, float]:
    """Snap probability, and the worst use of the neck by fracture, fatigue or torsion."""
    s = setup(job)
    way = way_of(s, passes(s, picked.stepover, job.cut.direction or "conventional", holes_for(s)), 24)
    f_z = job.cut.feed_per_tooth or picked.f_z
    used = [one(c.utilization) for c in limits.checks(s, cutting(s, way, picked.speed, f_z)) if c.name.startswith("neck ") and not c.fit]
    return risk.assess(s, way.passes, way.contacts, f_z, few).snap_probability, max(used)


def _changes(s: Setup, picked: Picked) -> list[tuple[str, dict[str, Any]]]:
    """Changes of one thing each that fit the slot."""
    job, c, slot = s.job, s.job.cutter, s.job.slot
    found: list[tuple[str, dict[str, Any]]] = []

    def show(x: float) -> str:
        return units.show(x, "length", job.job.units)

    low, high = s.axis_limits
    offset = max(math.fabs(high), math.fabs(low) if slot.sides == 2 else 0.0)
    thick = min(slot.throat_width - 2 * (offset + CLEARANCE), c.head_diameter, c.shank_diameter)
    if thick > c.neck_diameter * 1.02:
        found.append((f"Grind the neck to {show(thick)}, the thickest the throat passes", {"cutter.neck_diameter": thick}))
    short = slot.depth - c.head_height + CLEARANCE
    if short < c.neck_length * 0.98:
        found.append((f"Shorten the neck to {show(short)}", {"cutter.neck_length": short}))
    step = (c.shank_diameter - c.neck_diameter) / 2
    if step > 0.05 and s.fillet < 0.9 * min(step, 0.5):
        larger = min(step, 0.5, c.neck_diameter / 2)
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


def warnings(s: Setup, cut: limits.Cutting, chance: Risk) -> tuple[str, ...]:
    _, _, sigma, notes = force_constants(s, peak_chip(s, cut.case.f_z, 1.0))
    found = [*notes, *s.notes, *s.assumed]
    c, target = s.job.cutter, s.job.target.snap_probability
    fillet = stress_concentration_notes(max(c.shank_diameter, c.neck_diameter), c.neck_diameter, s.fillet)
    found += [n for n in fillet if not n.startswith("tension")]  # nothing pulls on this neck
    if chance.snap_probability > target:
        found.insert(0, f"The snap probability, {chance.snap_probability:.2g}, is over the asked {target:g}.")
    reach = widest_undercut(s)
    if s.job.slot.undercut_width > reach + 1e-9:
        most, wide = (units.show(x, "length", s.job.job.units) for x in (reach, s.job.slot.undercut_width))
        found.insert(0, f"This cutter reaches {most} through this throat at most; the undercut is {wide} wide.")
    if s.job.slot.open_ends == 0:
        found.append(f"Both ends are closed: a drop-in hole of at least {units.show(c.head_diameter, 'length', s.job.job.units)} "
                     "must be drilled to the undercut's floor first.")  # fmt: skip
    if s.job.cut.predrill and not holes_for(s):
        found.append(f"[cut] predrill is true, but {why_none(s)}: the answer is without holes.")
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
            found.insert(0, f"[work] kc11 and mc give {mine:.0f} N/mm^2 at the chip of this cut, under a third of the {usual:.0f} N/mm^2 "
                         "that the sources for this material give: check them before trusting the answer.")  # fmt: skip
    if float(np.max(sigma)) >= 0.4:
        found.append(f"Sources for this metal differ by a factor {math.exp(float(np.max(sigma))):.1f} (one standard deviation): "
                     "prove the cut on scrap.")  # fmt: skip
    found += s.work.cautions
    return tuple(dict.fromkeys(found))

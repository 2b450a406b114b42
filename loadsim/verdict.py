"""Will the neck survive? The whole answer for one job, from setup to verdict."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loadsim import __version__, limits, risk, strength, units
from loadsim.case import CLEARANCE, Setup, force_constants, peak_chip, setup
from loadsim.domain import Job
from loadsim.job import changed
from loadsim.fillet import K_T_BENDING_FE_BOUND, stress_concentration_notes
from loadsim.passes import holes_of, passes, widest_undercut
from loadsim.predrill import Layout, layout, why_none
from loadsim.results import Limit, Loads, NeckState, PredrillVerdict, Result, Risk, Settings
from loadsim.settings import NEAR, Feed, Way, cutting, pick_feed, pick_speed, way_of
from loadsim.stock import Hole

#: Wheel radius, efficiency of a table screw, and the force that moves a table (common practice, no source).
WHEEL_RADIUS, SCREW_EFFICIENCY, TABLE_FRICTION = 60.0, 0.3, 150.0
#: Change of force at a handwheel's rim that a hand notices (common practice, no source). [N]
NOTICED = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """The settings of a check, given or picked."""

    speed: float  #: [rad/s]
    f_z: float  #: [mm]
    stepover: float | None  #: [mm]
    notes: tuple[str, ...]


def check(job: Job, drawn: risk.Draws | None = None) -> Result:
    """Answer whether the neck survives the cut as written in ``[cut]``; what is left out is picked.

    Parameters
    ----------
    job : Job
        From `loadsim.read_job`.
    drawn : Draws, optional
        Sample of the risk, to be shared between checks; made when None.

    Returns
    -------
    result : Result

    Raises
    ------
    InputError
        If a material is not known, or the cut asks for what the job does not give.
    """
    s = setup(job)
    drawn = risk.draws() if drawn is None else drawn
    stepover = job.cut.stepover
    holes = _holes(s)
    way = way_of(s, passes(s, stepover, job.cut.direction or "conventional", holes))
    picked = _pick(s, way, stepover, few_of(drawn))
    cut = cutting(s, way, picked.speed, picked.f_z)
    found = [limits.worded(c) for c in limits.checks(s, cut)]
    chance = risk.assess(s, way.passes, way.contacts, picked.f_z, drawn)
    verdict = verdict_of(found, chance, job.target.snap_probability)
    nearest = max(found, key=lambda x: x.utilization if not x.fit or x.utilization > 1 + 1e-9 else 0.0)
    return Result(
        loadsim=__version__, job=job.job.number, verdict=verdict, governed_by=nearest.name,
        settings=settings_of(s, way, picked), loads=loads_of(cut, picked, s), neck=neck_of(s, cut),
        limits=tuple(sorted(found, key=lambda x: (x.fit, -x.utilization))), risk=chance,
        predrill=predrill_verdict(s, way, picked.speed, verdict, few_of(drawn)),
        feel=_feel(s, cut), advice=() if verdict == "go" else advice(s, picked, found, few_of(drawn)),
        picked=picked.notes, warnings=_warnings(s, cut, chance), sources=(*s.work.sources, *s.blank.sources),
    )  # fmt: skip


def few_of(drawn: risk.Draws) -> risk.Draws:
    """Return the first 256 points of each replicate: enough to compare settings by."""
    each = drawn.u.shape[1] // drawn.replicates
    keep = np.arange(min(each, 256))[None, :] + each * np.arange(drawn.replicates)[:, None]
    return risk.Draws(u=drawn.u[:, keep.ravel()], z=drawn.z[:, keep.ravel()], replicates=drawn.replicates)


def _holes(s: Setup) -> tuple[Hole, ...]:
    job = s.job
    if not job.cut.predrill:
        return ()
    if job.predrill is not None:
        return holes_of(job)
    plan = layout(s)
    return plan.holes if plan is not None else ()


def _pick(s: Setup, way: Way, stepover: float | None, few: risk.Draws) -> Picked:
    cut, notes = s.job.cut, []
    speed = cut.spindle_speed
    if speed is None:
        speed, reason = pick_speed(s, way.frequency)
        notes.append(f"Spindle speed picked: {speed * 30 / math.pi:.0f} rpm, bound by {reason}.")
    f_z = cut.feed_per_tooth
    if cut.feed_rate is not None:
        f_z = cut.feed_rate / (speed / (2 * math.pi) * s.job.cutter.teeth)
    if f_z is None:
        feed = pick_feed(s, way, speed, few)
        f_z = feed.f_z
        notes.append(_feed_note(s, feed))
    if not cut.direction:
        notes.append("Direction picked: conventional, which does not drag the table.")
    return Picked(speed=speed, f_z=f_z, stepover=stepover, notes=tuple(notes))


def _feed_note(s: Setup, feed: Feed) -> str:
    shown = units.show(feed.f_z, "feed per tooth", s.job.job.units)
    if not feed.safe:
        return f"No feed is safe, bound by {feed.bound}; the answer is for {shown}, near the least the edge can cut."
    return f"Feed picked: {shown}, bound by {feed.bound}; next is {feed.next_bound}."


def verdict_of(found: list[Limit], chance: Risk, target: float) -> str:
    """Weigh limits and risk into go, marginal or no-go.

    Parameters
    ----------
    found : list of Limit
        Every limit.
    chance : Risk
        Snap probability with its interval.
    target : float
        Accepted snap probability. [1]

    Returns
    -------
    verdict : str
    """
    over = [x for x in found if x.utilization > 1 + 1e-9]
    if any(x.hard for x in over) or chance.snap_probability > target:
        return "no-go"
    near = any(x.hard and not x.fit and x.utilization > NEAR for x in found)
    return "marginal" if over or near or chance.high > target else "go"


def settings_of(s: Setup, way: Way, picked: Picked) -> Settings:
    """Put the settings into the units of the answer."""
    rate = picked.f_z * s.job.cutter.teeth * picked.speed / (2 * math.pi)
    travel = s.job.slot.length + s.job.cutter.head_diameter
    hand = s.job.machine.feed == "hand"
    p = s.job.predrill
    holes = _holes(s)
    plan = layout(s) if holes and p is None else None
    return Settings(
        spindle_speed_rpm=_tidy(units.to_unit(picked.speed, "rpm", "angular speed")),
        surface_speed_m_per_min=_tidy(units.to_unit(picked.speed * s.head.radius, "m/min", "surface speed")),
        feed_per_tooth_mm=_tidy(picked.f_z), feed_rate_mm_per_min=_tidy(units.to_unit(rate, "mm/min", "feed speed")),
        stepover_mm=picked.stepover, handwheel_seconds_per_turn=_tidy(s.handwheel / rate) if hand else None,
        cutting_time_s=_tidy(travel * len(way.passes) / rate),
        passes=tuple({"offset_mm": x.offset, "height_mm": x.level, "radial_width_mm": _tidy(x.radial_width),
                      "direction": x.direction} for x in way.passes),
        predrill=None if not holes else _hole_dict(s, holes, plan, p.depth if p else None),
    )  # fmt: skip


def _tidy(x: float) -> float:
    """Drop the noise of conversion behind the ninth figure."""
    return float(f"{x:.9g}")


def _hole_dict(s: Setup, holes: tuple[Hole, ...], plan: Layout | None, depth: float | None) -> dict[str, object]:
    metal = sum(h.diameter**2 * math.pi / 4 for h in holes)
    area = (s.side - s.section.throat_high) * s.job.slot.undercut_height * s.job.slot.sides
    return {"diameter_mm": _tidy(holes[0].diameter), "count": len(holes), "offsets_mm": [_tidy(h.offset) for h in holes],
            "height_mm": _tidy(holes[0].height), "depth_mm": _tidy(plan.depth if plan else depth or 0.0),
            "removed_fraction": _tidy(metal / area)}  # fmt: skip


def _one(x: object) -> float:
    return float(np.asarray(x).reshape(-1)[0])


def loads_of(cut: limits.Cutting, picked: Picked, s: Setup) -> Loads:
    """Put the loads into the answer."""
    m = cut.summary
    rate = picked.f_z * s.job.cutter.teeth * picked.speed / (2 * math.pi)
    return Loads(
        peak_chip_mm=_one(m.peak_chip), peak_force_N=_one(m.force), mean_force_N=_one(m.mean_force),
        peak_torque_Nmm=_one(m.torque), mean_torque_Nmm=_one(m.mean_torque),
        mean_power_W=units.to_unit(_one(m.mean_torque) * picked.speed, "W", "power"),
        feed_force_mean_N=_one(m.feed_force), feed_force_pull_N=_one(m.pull),
        removal_rate_mm3_per_min=max(p.area for p in cut.passes) * units.to_unit(rate, "mm/min", "feed speed"),
    )  # fmt: skip


def _snapping(s: Setup, cut: limits.Cutting) -> tuple[float, float]:
    """Force and torque at which half of all such necks have broken."""
    m, c, b = cut.summary, cut.case, s.strength
    half = float(strength.weibull_strength(0.5, b.sigma_0, b.m))
    if b.yield_strength is not None:
        half = min(half, b.yield_strength)
    reach = _one(m.moment) / _one(m.force)
    K = _one(m.K_t) * K_T_BENDING_FE_BOUND
    return (_one(strength.force_to_snap(half, K, c.neck_diameter, reach)),
            _one(strength.torque_to_snap(b.tau_u, m.K_ts, c.neck_diameter)))  # fmt: skip


def neck_of(s: Setup, cut: limits.Cutting) -> NeckState:
    """Put the neck's state into the answer."""
    m = cut.summary
    force, torque = _snapping(s, cut)
    return NeckState(
        stiffness_N_per_mm=_one(m.stiffness), deflection_mm=_one(m.deflection), moment_Nmm=_one(m.moment),
        bending_stress_MPa=_one(m.bending), torsion_stress_MPa=_one(m.torsion), kt_bending=_one(m.K_t),
        kt_torsion=_one(m.K_ts), peak_stress_MPa=_one(m.sigma_1), natural_frequency_Hz=cut.frequency,
        force_to_snap_N=force, torque_to_snap_Nmm=torque, cycles=_one(limits.cycles(s, cut)),
    )  # fmt: skip


def _feel(s: Setup, cut: limits.Cutting) -> str:
    """Answer the practitioner's worry in one sentence."""
    force, torque = _snapping(s, cut)
    rim, idle = (float(strength.rim_force(F, s.handwheel, WHEEL_RADIUS, SCREW_EFFICIENCY)) for F in (force, TABLE_FRICTION))
    stall = limits.DRIVE * s.job.machine.spindle_power / float(cut.speed)
    system = s.job.job.units
    f, t = (lambda x: units.show(x, "force", system)), (lambda x: units.show(x, "torque", system))
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
        kind = "needed" if holed.safe else "not possible"
    else:
        kind = "worthwhile" if holed.f_z > 1.5 * without.f_z else "not needed"
    return PredrillVerdict(verdict=kind, why=why + ".", holes=_hole_dict(s, plan.holes, plan, None))


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
        p, u = _state(changed(s.job, changes), picked, few)
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
    way = way_of(s, passes(s, picked.stepover, job.cut.direction or "conventional", _holes(s)), 24)
    f_z = job.cut.feed_per_tooth or picked.f_z
    used = [_one(c.utilization) for c in limits.checks(s, cutting(s, way, picked.speed, f_z)) if c.name.startswith("neck ") and not c.fit]
    return risk.assess(s, way.passes, way.contacts, f_z, few).snap_probability, max(used)


def _changes(s: Setup, picked: Picked) -> list[tuple[str, dict[str, object]]]:
    """Changes of one thing each that fit the slot."""
    job, show = s.job, (lambda x: units.show(x, "length", s.job.job.units))
    c, slot, found = job.cutter, job.slot, []
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
    return found


def _warnings(s: Setup, cut: limits.Cutting, chance: Risk) -> tuple[str, ...]:
    _, _, sigma, notes = force_constants(s, peak_chip(s, cut.case.f_z, 1.0))
    found = [*notes, *s.notes, *s.assumed]
    c, target = s.job.cutter, s.job.target.snap_probability
    fillet = stress_concentration_notes(max(c.shank_diameter, c.neck_diameter), c.neck_diameter, s.fillet)
    found += [n for n in fillet if not n.startswith("tension")]  # nothing pulls on this neck
    if chance.snap_probability > target:
        found.insert(0, f"The snap probability, {chance.snap_probability:.2g}, is over the asked {target:g}.")
    reach = widest_undercut(s)
    if s.job.slot.undercut_width > reach + 1e-9:
        show = lambda x: units.show(x, "length", s.job.job.units)  # noqa: E731
        found.insert(0, f"This cutter reaches {show(reach)} through this throat at most; the undercut is "
                     f"{show(s.job.slot.undercut_width)} wide.")  # fmt: skip
    if s.job.slot.open_ends == 0:
        found.append(f"Both ends are closed: a drop-in hole of at least {units.show(c.head_diameter, 'length', s.job.job.units)} "
                     "must be drilled to the undercut's floor first.")  # fmt: skip
    if s.job.cut.predrill and not _holes(s):
        found.append(f"[cut] predrill is true, but {why_none(s)}: the answer is without holes.")
    p = s.job.predrill
    if s.job.cut.predrill and p is not None and p.depth * s.job.slot.open_ends < s.job.slot.length:
        found.append("The end holes do not reach through the slot; beyond them the neck is loaded as without holes. "
                     "Check that case too: predrill = false.")  # fmt: skip
    if float(np.max(sigma)) >= 0.4:
        found.append(f"Sources for this metal differ by a factor {math.exp(float(np.max(sigma))):.1f} (one standard deviation): "
                     "prove the cut on scrap.")  # fmt: skip
    found += s.work.cautions
    return tuple(dict.fromkeys(found))

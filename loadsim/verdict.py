"""Will the neck survive? The whole answer for one job, from setup to verdict."""

from __future__ import annotations

import math
from collections.abc import Callable

from loadsim import __version__, limits, risk, trial, units
from loadsim.bad_case import bad_case
from loadsim.case import Setup, setup
from loadsim.counsel import Picked, advice, feel, few_of, hole_dict, holes_for, one, predrill_verdict, snapping, tidy, warnings
from loadsim.domain import Job
from loadsim.mill_settings import MillSettings, mill_settings, mill_state
from loadsim.pass_words import how
from loadsim.passes import passes
from loadsim.predrill import layout
from loadsim.results import SNAP, Limit, Loads, NeckState, Result, Risk, Settings
from loadsim.settings import NEAR, Feed, Way, cutting, given_feed, pick_feed, pick_speed, way_of
from loadsim.words import core_left, slow_feed

#: Steps of which a check tells how far it is.
STEPS = 5


def check(job: Job, drawn: risk.Draws | None = None, seen: trial.Weighed | None = None, progress: Callable[[int, int], None] | None = None) -> Result:
    """Answer whether the neck survives the cut as written in ``[cut]``; what is left out is picked.

    Parameters
    ----------
    job : Job
        From `loadsim.read_job`.
    drawn : Draws, optional
        Sample of the risk, to be shared between checks; made when None.
    seen : Weighed, optional
        The same sample as the test cuts of this job weigh it, where that is known already.
    progress : callable, optional
        Called with the number of steps done and of all steps.

    Returns
    -------
    result : Result

    Raises
    ------
    InputError
        If a material is not known, the cut asks for what the job does not give, or its test cuts contradict the model.
    """
    s, tell = setup(job), progress or (lambda done, of: None)
    tell(0, STEPS)
    seen = trial.weighed(s, risk.draws() if drawn is None else drawn) if seen is None else seen
    drawn = seen.drawn
    stepover = job.cut.stepover
    holes = holes_for(s)
    way = way_of(s, passes(s, stepover, job.cut.direction or "conventional", holes))
    tell(1, STEPS)
    picked = _pick(s, way, stepover, few_of(drawn))
    tell(2, STEPS)
    cut, mill = cutting(s, way, picked.speed, picked.f_z), mill_settings(s)
    found = [limits.worded(c) for c in limits.checks(s, cut)]
    snap = risk.snaps(s, way.passes, way.contacts, picked.f_z, drawn)
    chance = risk.risk_of(s, snap, drawn)
    told = trial.told(s, way, picked.f_z, seen, chance)
    target = job.target.snap_probability
    verdict = verdict_of(found, chance, target)
    whole = "marginal" if verdict == "go" and mill is not None and not mill.safe else verdict  # no go while a tool of the job breaks
    tell(3, STEPS)
    helps = () if verdict == "go" else advice(s, picked, found, few_of(drawn), verdict)
    tell(4, STEPS)
    return Result(
        loadsim=__version__, job=job.job.number, verdict=whole, governed_by=governing(found, chance.snap_probability / target),
        settings=settings_of(s, way, picked), loads=loads_of(cut, picked, s), neck=neck_of(s, cut),
        limits=tuple(sorted(found, key=lambda x: (x.fit, -x.utilization))), risk=chance,
        predrill=predrill_verdict(s, way, picked.speed, verdict, few_of(drawn)),
        feel=feel(s, cut), advice=helps,
        picked=picked.notes, warnings=(*trial.notes(seen, told), *_mill_warnings(s, mill), *slow_feed(s, picked_rate(s, picked)), *core_left(s),
                  *warnings(s, cut, chance)),
        sources=tuple(dict.fromkeys((*s.work.sources, *s.blank.sources, *(mill.sources if mill else ())))),
        throat_mill=None if mill is None else mill_state(s, mill), trials=told,
        why=why_marginal(found, chance, target, mill) if whole == "marginal" else "",
        bad_case=bad_case(s, way.passes, picked.f_z, found, chance, snap, drawn),
    )  # fmt: skip


def _mill_warnings(s: Setup, mill: MillSettings | None) -> tuple[str, ...]:
    if mill is None:
        return ()
    over = ", ".join(x.name for x in mill.limits if x.hard and x.utilization > 1 + 1e-9)
    return (*((f"The throat mill is not safe: {over} over capacity.",) if over else ()), *slow_feed(s, mill.rate, "Throat mill: "), *mill.notes)


def _pick(s: Setup, way: Way, stepover: float | None, few: risk.Draws) -> Picked:
    cut, notes = s.job.cut, []
    speed = cut.spindle_speed
    if speed is None:
        speed, reason = pick_speed(s, way.frequency)
        notes.append(f"Spindle speed picked: {speed * 30 / math.pi:.0f} rpm, bound by {reason}.")
    f_z = given_feed(s, speed)
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


def picked_rate(s: Setup, picked: Picked) -> float:
    """Table feed. [mm/s]"""
    return picked.f_z * s.job.cutter.teeth * picked.speed / (2 * math.pi)


def governing(found: list[Limit], chance_used: float) -> str:
    """Name what decides: what is over capacity before what is not, and hard before soft.

    A clearance that is missing comes before any stress, for the cut cannot be made at all; within each, the largest use.

    Parameters
    ----------
    found : list of Limit
        Every limit.
    chance_used : float
        Snap probability over the asked one; it stands among the hard limits. [1]

    Returns
    -------
    name : str
    """
    def over(uses: list[tuple[float, str]]) -> list[tuple[float, str]]:
        return [x for x in uses if x[0] > 1 + 1e-9]

    fits, soft = ([(x.utilization, x.name) for x in found if f(x)] for f in (lambda x: x.fit, lambda x: not x.fit and not x.hard))
    hard = [(chance_used, SNAP), *((x.utilization, x.name) for x in found if x.hard and not x.fit)]
    return max(over(fits) or over(hard) or over(soft) or [*hard, *soft])[1]


def why_marginal(found: list[Limit], chance: Risk, target: float, mill: MillSettings | None) -> str:
    """Say why an answer is neither a go nor a no-go.

    Parameters
    ----------
    found : list of Limit
        Every limit.
    chance : Risk
        Snap probability with its interval.
    target : float
        Accepted snap probability. [1]
    mill : MillSettings or None
        Of the throat slot.

    Returns
    -------
    why : str
        To follow "because".
    """
    said = [f"{x.name} is over what is advised ({units.percent(x.utilization)})" for x in found if not x.hard and x.utilization > 1 + 1e-9]
    said += [f"{x.name} is used to {units.percent(x.utilization)}, over the {NEAR:.0%} that a go allows" for x in found
             if x.hard and not x.fit and x.utilization > NEAR]  # fmt: skip
    if chance.high > target:
        said.append(f"the interval of the snap probability, {chance.low:g} to {chance.high:g}, reaches over the asked {target:g}")
    if mill is not None and not mill.safe:
        said.append("the throat mill is not safe as set")
    return " and ".join(said)


def settings_of(s: Setup, way: Way, picked: Picked) -> Settings:
    """Put the settings into the units of the answer."""
    rate = picked_rate(s, picked)
    travel = s.job.slot.length + s.job.cutter.head_diameter
    hand = s.job.machine.feed == "hand"
    p = s.job.predrill
    holes = holes_for(s)
    plan = layout(s) if holes and p is None else None
    return Settings(
        spindle_speed_rpm=tidy(units.to_unit(picked.speed, "rpm", "angular speed")),
        surface_speed_m_per_min=tidy(units.to_unit(picked.speed * s.head.radius, "m/min", "surface speed")),
        feed_per_tooth_mm=tidy(picked.f_z), feed_rate_mm_per_min=tidy(units.to_unit(rate, "mm/min", "feed speed")),
        stepover_mm=picked.stepover, handwheel_seconds_per_turn=tidy(s.handwheel / rate) if hand else None,
        cutting_time_s=tidy(travel * len(way.passes) / rate),
        passes=tuple({"offset_mm": x.offset, "height_mm": x.level, "radial_width_mm": tidy(x.radial_width),
                      "direction": x.direction, "how": how(s, x)} for x in way.passes),
        predrill=None if not holes else hole_dict(s, holes, plan, p.depth if p else None),
    )  # fmt: skip


def loads_of(cut: limits.Cutting, picked: Picked, s: Setup) -> Loads:
    """Put the loads into the answer."""
    m = cut.summary
    rate = picked.f_z * s.job.cutter.teeth * picked.speed / (2 * math.pi)
    return Loads(
        peak_chip_mm=one(m.peak_chip), peak_force_N=one(m.force), mean_force_N=one(m.mean_force),
        peak_torque_Nmm=one(m.torque), mean_torque_Nmm=one(m.mean_torque),
        mean_power_W=units.to_unit(one(m.mean_torque) * picked.speed, "W", "power"),
        feed_force_mean_N=one(m.feed_force), feed_force_pull_N=one(m.pull),
        removal_rate_mm3_per_min=max(p.area for p in cut.passes) * units.to_unit(rate, "mm/min", "feed speed"),
    )  # fmt: skip


def neck_of(s: Setup, cut: limits.Cutting) -> NeckState:
    """Put the neck's state into the answer."""
    m = cut.summary
    force, torque = snapping(s, cut)
    return NeckState(
        stiffness_N_per_mm=one(m.stiffness), deflection_mm=one(m.deflection), moment_Nmm=one(m.moment),
        bending_stress_MPa=one(m.bending), torsion_stress_MPa=one(m.torsion), kt_bending=one(m.K_t),
        kt_torsion=one(m.K_ts), peak_stress_MPa=one(m.sigma_1), natural_frequency_Hz=cut.frequency,
        force_to_snap_N=force, torque_to_snap_Nmm=torque, cycles=one(limits.cycles(s, cut)),
    )  # fmt: skip

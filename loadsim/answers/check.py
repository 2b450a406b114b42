"""Will the neck survive? The whole answer for one job, from setup to verdict."""

from __future__ import annotations

from collections.abc import Callable

from loadsim.answers.advice import advice
from loadsim.answers.end_holes import predrill_verdict
from loadsim.answers.results import Loads, NeckState, Result, Settings, hole_dict
from loadsim.answers.settings import pick, picked_rate
from loadsim.answers.throat_mill import MillSettings, mill_settings, mill_state
from loadsim.answers.verdict import governing, verdict_of, why_marginal
from loadsim.base import units
from loadsim.base.numbers import tidy
from loadsim.base.version import __version__
from loadsim.job.tables import Job
from loadsim.loads.cut import (
    Cutting,
    Engagement,
    Picked,
    cutting,
    cycles,
    one,
    snapping,
    written_engagement,
)
from loadsim.loads.end_holes import holes_for, layout
from loadsim.loads.limits import undercut
from loadsim.loads.passes import pass_travel
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip
from loadsim.risk import samples, trial_update
from loadsim.risk.breaks import bad_case
from loadsim.risk.samples import few_of
from loadsim.risk.snap import risk_of, snaps
from loadsim.words import notes
from loadsim.words.limits import worded
from loadsim.words.notes import core_left, feel, slow_feed, warnings
from loadsim.words.passes import how

#: Steps of which a check tells how far it is.
STEPS = 5


def check(
    job: Job,
    drawn: samples.Draws | None = None,
    seen: trial_update.Weighed | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Result:
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
        If a material is not known, the cut asks for what the job does not give, or its test cuts
        contradict the model.
    """
    resolved = resolve(job)
    tell = progress or (lambda done, of: None)
    tell(0, STEPS)
    seen = (
        trial_update.weighed(resolved, samples.draws() if drawn is None else drawn)
        if seen is None
        else seen
    )
    drawn = seen.drawn
    stepover = job.cut.stepover
    way = written_engagement(resolved, stepover)
    tell(1, STEPS)
    picked = pick(resolved, way, stepover, few_of(drawn))
    tell(2, STEPS)
    cut = cutting(resolved, way, picked.speed, picked.f_z)
    mill = mill_settings(resolved)
    found = [worded(c, resolved.units) for c in undercut.checks(resolved, cut)]
    snap = snaps(resolved, way.passes, way.contacts, picked.f_z, drawn)
    chance = risk_of(resolved, snap, drawn)
    told = trial_update.told(resolved, way, picked.f_z, seen, chance)
    target = job.target.snap_probability
    verdict = verdict_of(found, chance, target)
    # no go while a tool of the job breaks
    whole = "marginal" if verdict == "go" and mill is not None and not mill.safe else verdict
    tell(3, STEPS)
    helps = () if verdict == "go" else advice(resolved, picked, found, few_of(drawn), verdict)
    tell(4, STEPS)
    return Result(
        loadsim=__version__,
        job=job.job.number,
        verdict=whole,
        governed_by=governing(found, chance.snap_probability / target),
        settings=settings_of(resolved, way, picked),
        loads=loads_of(cut, picked, resolved),
        neck=neck_of(resolved, cut),
        limits=tuple(sorted(found, key=lambda x: (x.fit, -x.utilization))),
        risk=chance,
        predrill=predrill_verdict(resolved, way, picked.speed, verdict, few_of(drawn)),
        feel=feel(resolved, cut),
        advice=helps,
        picked=picked.notes,
        warnings=(
            *notes.notes(seen, told),
            *_mill_warnings(resolved, mill),
            *slow_feed(resolved, picked_rate(resolved, picked)),
            *core_left(resolved),
            *warnings(resolved, cut, chance),
        ),
        sources=tuple(
            dict.fromkeys(
                (*resolved.work.sources, *resolved.blank.sources, *(mill.sources if mill else ()))
            )
        ),
        throat_mill=None if mill is None else mill_state(resolved, mill),
        trials=told,
        why=why_marginal(found, chance, target, mill) if whole == "marginal" else "",
        bad_case=bad_case(resolved, way.passes, picked.f_z, found, chance, snap, drawn),
    )


def _mill_warnings(job: ResolvedJob, mill: MillSettings | None) -> tuple[str, ...]:
    if mill is None:
        return ()
    over = ", ".join(x.name for x in mill.limits if x.hard and x.over)
    return (
        *((f"The throat mill is not safe: {over} over capacity.",) if over else ()),
        *slow_feed(job, mill.rate, "Throat mill: "),
        *mill.notes,
    )


def settings_of(job: ResolvedJob, way: Engagement, picked: Picked) -> Settings:
    """Put the settings into the units of the answer."""
    rate = picked_rate(job, picked)
    travel = pass_travel(job.slot, job.cutter.head_diameter)
    hand = job.machine.feed == "hand"
    p = job.predrill
    holes = holes_for(job)
    plan = layout(job) if holes and p is None else None
    return Settings(
        spindle_speed_rpm=tidy(units.to_unit(picked.speed, "rpm", "angular speed")),
        surface_speed_m_per_min=tidy(
            units.to_unit(picked.speed * job.head.radius, "m/min", "surface speed")
        ),
        feed_per_tooth_mm=tidy(picked.f_z),
        feed_rate_mm_per_min=tidy(units.to_unit(rate, "mm/min", "feed speed")),
        stepover_mm=picked.stepover,
        handwheel_seconds_per_turn=tidy(job.handwheel / rate) if hand else None,
        cutting_time_s=tidy(travel * len(way.passes) / rate),
        passes=tuple(
            {
                "offset_mm": x.offset,
                "height_mm": x.level,
                "radial_width_mm": tidy(x.radial_width),
                "direction": x.direction,
                "how": how(job, x),
            }
            for x in way.passes
        ),
        predrill=None if not holes else hole_dict(job, holes, plan, p.depth if p else None),
    )


def loads_of(cut: Cutting, picked: Picked, job: ResolvedJob) -> Loads:
    """Put the loads into the answer."""
    m = cut.summary
    rate = chip.feed_rate(picked.f_z, job.cutter.teeth, picked.speed)
    return Loads(
        peak_chip_mm=one(m.peak_chip),
        peak_force_N=one(m.force),
        mean_force_N=one(m.mean_force),
        peak_torque_Nmm=one(m.torque),
        mean_torque_Nmm=one(m.mean_torque),
        mean_power_W=units.to_unit(one(m.mean_torque) * picked.speed, "W", "power"),
        feed_force_mean_N=one(m.feed_force),
        feed_force_pull_N=one(m.pull),
        removal_rate_mm3_per_min=max(p.area for p in cut.passes)
        * units.to_unit(rate, "mm/min", "feed speed"),
    )


def neck_of(job: ResolvedJob, cut: Cutting) -> NeckState:
    """Put the neck's state into the answer."""
    m = cut.summary
    force, torque = snapping(job, cut)
    return NeckState(
        stiffness_N_per_mm=one(m.stiffness),
        deflection_mm=one(m.deflection),
        moment_Nmm=one(m.moment),
        bending_stress_MPa=one(m.bending),
        torsion_stress_MPa=one(m.torsion),
        kt_bending=one(m.K_t),
        kt_torsion=one(m.K_ts),
        peak_stress_MPa=one(m.sigma_1),
        natural_frequency_Hz=cut.frequency,
        force_to_snap_N=force,
        torque_to_snap_Nmm=torque,
        cycles=one(cycles(job, cut)),
    )

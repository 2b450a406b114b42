"""Settings, loads, neck and end holes of a cut in the units of the answer."""

from __future__ import annotations

from typing import Any

from loadsim.answers.results import Loads, NeckState, Settings
from loadsim.base import units
from loadsim.base.numbers import tidy
from loadsim.loads.cut import Cutting, Engagement, Picked, cycles, one, snapping
from loadsim.loads.end_holes import holes_for, layout, removed_share
from loadsim.loads.passes import Pass, pass_travel
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.ringing import shock_factors
from loadsim.mechanics import chip
from loadsim.mechanics.stock import Hole, TopHole
from loadsim.words.passes import how


def settings_of(job: ResolvedJob, engagement: Engagement, picked: Picked) -> Settings:
    """Put the settings into the units of the answer.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine and end holes.
    engagement : Engagement
        The passes.
    picked : Picked
        Speed, feed and stepover.

    Returns
    -------
    settings : Settings
    """
    rate = chip.feed_rate(picked.f_z, job.cutter.teeth, picked.speed)
    travel = pass_travel(job.slot, job.cutter.head_diameter)
    surface_speed = picked.speed * job.head.radius
    hand = job.machine.feed == "hand"
    return Settings(
        spindle_speed_rpm=tidy(units.to_unit(picked.speed, "rpm", "angular speed")),
        surface_speed_m_per_min=tidy(units.to_unit(surface_speed, "m/min", "surface speed")),
        feed_per_tooth_mm=tidy(picked.f_z),
        feed_rate_mm_per_min=tidy(units.to_unit(rate, "mm/min", "feed speed")),
        stepover_mm=picked.stepover,
        handwheel_seconds_per_turn=tidy(job.handwheel / rate) if hand else None,
        cutting_time_s=tidy(travel * len(engagement.passes) / rate),
        passes=tuple(_pass_row(job, step) for step in engagement.passes),
        predrill=end_holes_of(job),
    )


def _pass_row(job: ResolvedJob, step: Pass) -> dict[str, Any]:
    return {
        "offset_mm": step.offset,
        "height_mm": step.level,
        "radial_width_mm": tidy(step.radial_width),
        "direction": step.direction,
        "how": how(job, step),
    }


def end_holes_of(job: ResolvedJob) -> dict[str, Any] | None:
    """Put the end holes that [cut] asks for into the units of the answer: those of [predrill], else
    those laid out for it.
    """
    holes = holes_for(job)
    if not holes:
        return None
    if job.predrill is not None:
        return hole_dict(job, holes, job.predrill.depth or 0.0)
    plan = layout(job)
    return hole_dict(job, holes, plan.depth if plan else 0.0)


def hole_dict(job: ResolvedJob, holes: tuple[Hole | TopHole, ...], depth: float) -> dict[str, Any]:
    """Put end holes into the units of the answer.

    Parameters
    ----------
    job : ResolvedJob
        Its slot and cutter.
    holes : tuple of Hole
        At least one.
    depth : float
        To which they are drilled. [mm]

    Returns
    -------
    holes : dict
    """
    heights = [hole.height for hole in holes if isinstance(hole, Hole)]
    along = [hole.along for hole in holes if isinstance(hole, TopHole)]
    where: dict[str, Any] = {"along_mm": [tidy(x) for x in along]}
    if heights:
        where = {"height_mm": tidy(min(heights)), "heights_mm": [tidy(z) for z in heights]}
    return {
        "diameter_mm": tidy(holes[0].diameter),
        "count": len(holes),
        "offsets_mm": [tidy(hole.offset) for hole in holes],
        **where,
        "depth_mm": tidy(depth),
        "removed_fraction": tidy(removed_share(job, holes)),
    }


def loads_of(cut: Cutting, picked: Picked, job: ResolvedJob) -> Loads:
    """Put the loads into the units of the answer.

    Parameters
    ----------
    cut : Cutting
        The cut.
    picked : Picked
        Its speed and feed.
    job : ResolvedJob
        Its cutter.

    Returns
    -------
    loads : Loads
    """
    worst = cut.summary
    rate = chip.feed_rate(picked.f_z, job.cutter.teeth, picked.speed)
    return Loads(
        peak_chip_mm=one(worst.peak_chip),
        peak_force_N=one(worst.force),
        mean_force_N=one(worst.mean_force),
        peak_torque_Nmm=one(worst.torque),
        mean_torque_Nmm=one(worst.mean_torque),
        mean_power_W=units.to_unit(one(worst.mean_torque) * picked.speed, "W", "power"),
        feed_force_mean_N=one(worst.feed_force),
        feed_force_pull_N=one(worst.pull),
        removal_rate_mm3_per_min=max(step.area for step in cut.passes)
        * units.to_unit(rate, "mm/min", "feed speed"),
    )


def neck_of(job: ResolvedJob, cut: Cutting, way: Engagement, f_z: float) -> NeckState:
    """Put the neck's state into the units of the answer.

    Parameters
    ----------
    job : ResolvedJob
        Its neck and what the blank bears.
    cut : Cutting
        The cut.
    way : Engagement
        Its passes, cut into pieces.
    f_z : float
        Feed per tooth. [mm]

    Returns
    -------
    neck : NeckState
    """
    worst = cut.summary
    rings = shock_factors(job, way.contacts, cut.case, f_z, one(cut.speed))
    force, torque = snapping(job, cut)
    return NeckState(
        stiffness_N_per_mm=one(worst.stiffness),
        deflection_mm=one(worst.deflection),
        moment_Nmm=one(worst.moment),
        bending_stress_MPa=one(worst.bending),
        torsion_stress_MPa=one(worst.torsion),
        kt_bending=one(worst.K_t),
        kt_torsion=one(worst.K_ts),
        peak_stress_MPa=one(worst.sigma_1),
        natural_frequency_Hz=one(cut.frequency),
        shock_moment_factor=rings.moment,
        shock_amplitude_factor=rings.amplitude,
        force_to_snap_N=force,
        torque_to_snap_Nmm=torque,
        cycles=one(cycles(cut)),
    )

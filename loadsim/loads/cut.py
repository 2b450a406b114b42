"""A whole cut: the chain run over every pass, and the worst of it kept for the limits."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array
from loadsim.base.ranges import trusted
from loadsim.loads.deflection import compliance, natural_frequency
from loadsim.loads.end_holes import depth_for, holes_for
from loadsim.loads.load_case import LoadCase, checked
from loadsim.loads.neck_stress import Notch, Peaks, neck_stress, notches
from loadsim.loads.nominal import as_drawn
from loadsim.loads.passes import Contact, Pass, along, contacts_of, passes, thickest_sine, travel_of
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.turn import NeckLoad, Turn, neck_loads, turn
from loadsim.mechanics import chip, sections, strength
from loadsim.mechanics.fatigue import damage_margin
from loadsim.mechanics.stress_concentration import K_T_BENDING_FE_BOUND

#: Teeth up to which the cut is asked with its runout alone. [1]
PAIR = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class CutLoads:
    """What the limits need of a whole cut: the worst over its passes; (s,)."""

    peak_chip: Array  #: thickest chip [mm]
    thin_chip: Array  #: thickest chip of the tooth that cuts least [mm]
    force: Array  #: largest resultant force [N]
    mean_force: Array  #: mean resultant force over a turn [N]
    torque: Array  #: largest torque [N*mm]
    mean_torque: Array  #: over a turn [N*mm]
    tooth_force: Array  #: largest tangential force on one tooth [N]
    moment: Array  #: at the governing notch [N*mm]
    sigma_1: Array  #: largest principal stress, deterministic K_t bound applied [MPa]
    sigma_v: Array  #: von Mises stress then [MPa]
    sigma_a: Array  #: stress amplitude in the turning frame [MPa]
    sigma_m: Array  #: mean stress [MPa]
    sigma_ar: Array  #: equivalent fully reversed amplitude [MPa]
    turns: Array  #: turns that load the neck, as `loading_turns` counts them [1]
    fatigue: Array  #: amplitude over strength, the damage of all pieces of the cut summed [1]
    bending: Array  #: nominal bending stress at the governing notch [MPa]
    torsion: Array  #: nominal torsion stress [MPa]
    K_t: Array  #: published, bending [1]
    K_ts: Array  #: published, torsion [1]
    K_ts_worse: Array  #: of the end that the torque breaks first [1]
    deflection: Array  #: of the head under the largest force [mm]
    wall_deflection: Array  #: across the feed when a wall is shaped [mm]
    stiffness: Array  #: of the head, across [N/mm]
    feed_force: Array  #: mean force that resists the feed, worst pass [N]
    pull: Array  #: largest momentary force along the feed [N]
    net_pull: Array  #: mean force that drags the table along, zero when it resists [N]
    at_shoulder: npt.NDArray[np.bool_]  #: whether the notch at the shank's shoulder governs


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """The cut whose limits are asked: settings as numbers, (s,) where they vary."""

    case: LoadCase
    speed: Array  #: spindle speed [rad/s]
    summary: CutLoads
    passes: tuple[Pass, ...]
    frequency: float | Array  #: natural frequency of the cutter [Hz]


def cycles(cutting: Cutting) -> Array:
    """Stress cycles of the neck in this cut: one for each turn that loads it.

    Parameters
    ----------
    cutting : Cutting
        The cut.

    Returns
    -------
    N : ndarray
        Where every chip is under the thinnest, those at the feed that just cuts. [1]
    """
    return cutting.summary.turns


def loading_turns(
    travel: float, sine: float, f_z: float | Array, h_min: float | Array, teeth: int
) -> Array:
    """Turns that load the neck over a piece of a cut: at most those at the feed that just cuts.

    Under the thinnest chip an edge does not cut whenever it passes: it rubs, and then takes what
    has piled up. ``N = travel/(N_t max(f_z, h_min/sin(phi)))``.

    Parameters
    ----------
    travel : float
        Of the piece. [mm]
    sine : float
        sin(phi) of its thickest chip. [1]
    f_z : float or ndarray
        Feed per tooth. [mm]
    h_min : float or ndarray
        Thinnest chip that the edge cuts. [mm]
    teeth : int
        Number of teeth N_t. [1]

    Returns
    -------
    N : ndarray
        [1]

    Notes
    -----
    Runout is left out. A tooth that stands out cuts once a turn from the N_t-th part of that feed
    on, and the neck swings from none to full; counted is a swing to and fro, as if every tooth cut,
    in fewer turns. That is the larger damage.
    """
    return np.asarray(travel * sine / (teeth * np.maximum(f_z * sine, h_min)), float)


@dataclass(frozen=True, slots=True, kw_only=True)
class Engagement:
    """One way of making the undercut: its passes and their contact tables."""

    passes: tuple[Pass, ...]
    contacts: list[Contact]
    sine: float  #: sin(phi) of the thickest chip [1]
    frequency: float  #: natural frequency of the cutter [Hz]


def engagement_of(job: ResolvedJob, steps: tuple[Pass, ...], fine: int = 360) -> Engagement:
    """Make the contact tables of one way of cutting, once.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter: tooth count, and the bending frequency.
    steps : tuple of Pass
        From `loadsim.loads.passes.passes`.
    fine : int
        About how many positions stand for a turn. [1]

    Returns
    -------
    way : Engagement
    """
    contacts = contacts_of(steps, job.cutter.teeth, fine)
    return Engagement(
        passes=steps,
        contacts=contacts,
        sine=thickest_sine(contacts),
        frequency=natural_frequency(job),
    )


def written_passes(job: ResolvedJob, stepover: float | None) -> tuple[Pass, ...]:
    """Lay out the passes as [cut] has them: conventional where it leaves the direction open, with
    the end holes it asks for.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter and [cut].
    stepover : float or None
        Largest step outward; None takes each side in one step. [mm]

    Returns
    -------
    passes : tuple of Pass

    Raises
    ------
    InputError
        If end holes are asked for and none fits.
    """
    direction = job.cut.direction or "conventional"
    return passes(job, stepover, direction, holes_for(job), depth_for(job))


def written_engagement(job: ResolvedJob, stepover: float | None, fine: int = 360) -> Engagement:
    """Make the contact tables of the cut as [cut] has it.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter and [cut].
    stepover : float or None
        Largest step outward; None takes each side in one step. [mm]
    fine : int
        About how many positions stand for a turn. [1]

    Returns
    -------
    engagement : Engagement

    Raises
    ------
    InputError
        If end holes are asked for and none fits.
    """
    return engagement_of(job, written_passes(job, stepover), fine)


def cutting(job: ResolvedJob, way: Engagement, speed: float | Array, f_z: float | Array) -> Cutting:
    """Run the chain for one speed and one feed, or many.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter and materials, as drawn and assumed.
    way : Engagement
        How the undercut is made.
    speed : float or array
        Spindle speed. [rad/s]
    f_z : float or array
        Feed per tooth. [mm]

    Returns
    -------
    cutting : Cutting
    """
    case: LoadCase = as_drawn(job, f_z, travel_of(way.passes), K_T_BENDING_FE_BOUND)
    return Cutting(
        case=case,
        speed=np.asarray(speed, float),
        summary=cut_loads(job, way.contacts, case),
        passes=way.passes,
        frequency=way.frequency,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """The settings of a check, given or picked."""

    speed: float  #: [rad/s]
    f_z: float  #: [mm]
    stepover: float | None  #: [mm]
    notes: tuple[str, ...]


def one(x: object) -> float:
    return float(np.asarray(x).reshape(-1)[0])


def snapping(job: ResolvedJob, cut: Cutting) -> tuple[float, float]:
    """Force and torque at which half of all such necks have broken."""
    m = cut.summary
    c = cut.case
    b = job.strength
    half = float(strength.weibull_strength(0.5, b.sigma_0, b.m))
    if b.yield_strength is not None:
        half = min(half, b.yield_strength)
    reach = one(m.moment) / one(m.force)
    K = one(m.K_t) * K_T_BENDING_FE_BOUND
    return (
        one(strength.force_to_snap(half, K, c.neck_diameter, reach)),
        one(strength.torque_to_snap(b.tau_u, m.K_ts_worse, c.neck_diameter)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CutDemand:
    """What a whole cut asks, before the neck's diameter and its fillets: the worst over its passes;
    (s,).
    """

    shoulder: list[NeckLoad]  #: of each piece, at the shank's shoulder
    head: list[NeckLoad]  #: of each piece, at the head
    travels: tuple[float, ...]  #: of each piece [mm]
    sines: tuple[float, ...]  #: sin(phi) of the thickest chip of each piece [1]
    level: float  #: lowest load above the head's lower face [mm]
    thin_chip: Array  #: as in `CutLoads`, from here on
    mean_force: Array
    mean_torque: Array
    wall_force: Array  #: across the feed when a wall is shaped [N]
    feed_force: Array
    pull: Array
    net_pull: Array

    def turns(self, case: LoadCase) -> list[Array]:
        """Turns that load the neck, of each piece of these cuts. [1]"""
        return [
            loading_turns(travel, sine, case.f_z, case.h_min, case.teeth)
            for travel, sine in zip(self.travels, self.sines, strict=True)
        ]

    def take(self, which: npt.NDArray[np.intp]) -> CutDemand:
        """Return the samples wanted."""
        taken: dict[str, Any] = {
            k: getattr(self, k)[which]
            for k in (f.name for f in fields(self))
            if k not in ("shoulder", "head", "travels", "sines", "level")
        }
        return replace(
            self,
            shoulder=[x.take(which) for x in self.shoulder],
            head=[x.take(which) for x in self.head],
            **taken,
        )

    def times(self, factor: Array) -> CutDemand:
        """Return it with all forces that many times as large; chips are not."""
        forces = ("mean_force", "mean_torque", "wall_force", "feed_force", "pull", "net_pull")
        more: dict[str, Any] = {k: getattr(self, k) * factor for k in forces}
        return replace(
            self,
            shoulder=[x.times(factor) for x in self.shoulder],
            head=[x.times(factor) for x in self.head],
            **more,
        )


def cut_loads(job: ResolvedJob, contacts: list[Contact], case: LoadCase) -> CutLoads:
    """Run the chain over all passes of a cut and keep the worst.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter: strength and stiffness of the neck.
    contacts : list of Contact
        One for each pass, from `contacts_of`.
    case : LoadCase
        One cut or many.

    Returns
    -------
    summary : CutLoads
    """
    return cut_stress(job, case, cut_demand(contacts, case))


def cut_demand(contacts: list[Contact], case: LoadCase) -> CutDemand:
    """Run the chain over all passes of a cut as far as it does not know the neck's diameter and
    fillets.

    Parameters
    ----------
    contacts : list of Contact
        One for each pass, from `contacts_of`.
    case : LoadCase
        One cut or many.

    Returns
    -------
    loads : Loads

    Notes
    -----
    Runout leaves the cut to few of three and more teeth: thick chips take less torque than as much
    metal in thin ones, and fewer teeth press on a wall. It is seldom known well enough to count on
    that: drive and wall are asked the worse of with and without. The neck is never asked less than
    without.
    """
    turns = [turn(case, c.turn) for c in contacts]
    mean_torque = _mean_torque(turns)
    wall_force = _wall_force(case, contacts)
    if case.teeth > PAIR and case.rho.any():
        even = case.with_(rho=np.zeros_like(case.rho))
        mean_torque = np.maximum(mean_torque, _mean_torque([turn(even, c.turn) for c in contacts]))
        wall_force = np.maximum(wall_force, _wall_force(even, contacts))
    means = [t.weight @ t.F_x for t in turns]
    ends = [case.neck_length, np.zeros_like(case.neck_length)]
    swings = [neck_loads(case, c.peak, ends) for c in contacts]
    return CutDemand(
        shoulder=[shoulder for shoulder, _ in swings],
        head=[head for _, head in swings],
        travels=tuple(c.travel for c in contacts),
        sines=tuple(c.sine for c in contacts),
        level=min(float(c.peak.level.min()) for c in contacts),
        thin_chip=_thin(case, contacts),
        mean_force=_worst([t.weight @ np.hypot(t.F_x, t.F_y) for t in turns]),
        mean_torque=mean_torque,
        wall_force=wall_force,
        feed_force=_worst([-m for m in means]),
        pull=_worst([np.maximum(t.F_x.max(axis=0), 0.0) for t in turns]),
        net_pull=np.maximum(_worst(means), 0.0),
    )


def cut_stress(job: ResolvedJob, case: LoadCase, loads: CutDemand) -> CutLoads:
    """Stresses and deflections that the loads of a cut make in its neck.

    Parameters
    ----------
    job : ResolvedJob
        The strength of its neck and what the neck bends by.
    case : LoadCase
        One cut or many.
    loads : Loads
        From `loads_of`, of the same cuts.

    Returns
    -------
    summary : CutLoads
    """
    checked(case)
    with trusted():
        both = notches(case)
        runs = _stressed_ends(job.strength.notch_size, case, loads, both)
    worst = [_worst([p.sigma_1 for p in run]) for run in runs]
    governs = worst[1] > worst[0]  # each cut is judged at the end of its neck that is worse for it
    ends = [*runs[0], *runs[1]]
    moment = np.where(governs, *(_worst([p.moment for p in x]) for x in reversed(runs)))
    torque = _worst([p.torque for p in runs[0]])
    give = compliance(job, case, loads.level)
    top = _worst([p.force for p in runs[0]])
    return CutLoads(
        peak_chip=_worst([p.h for p in runs[0]]),
        thin_chip=loads.thin_chip,
        force=top,
        mean_force=loads.mean_force,
        torque=torque,
        mean_torque=loads.mean_torque,
        tooth_force=_worst([p.tooth_force for p in runs[0]]),
        moment=moment,
        sigma_1=_worst(worst),
        sigma_v=_worst([p.sigma_v for p in ends]),
        sigma_a=_worst([p.sigma_a for p in ends]),
        sigma_m=_worst([p.sigma_m for p in ends]),
        sigma_ar=_worst([p.sigma_ar for p in ends]),
        turns=np.add.reduce(loads.turns(case)),
        fatigue=_fatigue(job, loads.turns(case), runs),
        bending=moment / sections.section_modulus(case.neck_diameter),
        torsion=torque / sections.polar_section_modulus(case.neck_diameter),
        K_t=np.where(governs, both[1].K_t, both[0].K_t),
        K_ts=np.where(governs, both[1].K_ts, both[0].K_ts),
        K_ts_worse=np.maximum(both[0].K_ts, both[1].K_ts),
        deflection=top * give,
        wall_deflection=loads.wall_force * give,
        stiffness=1 / give,
        feed_force=loads.feed_force,
        pull=loads.pull,
        net_pull=loads.net_pull,
        at_shoulder=~governs,
    )


def _stressed_ends(
    notch_size: float | None, case: LoadCase, loads: CutDemand, both: tuple[Notch, Notch]
) -> list[list[Peaks]]:
    """Stress of every pass at the shank's shoulder, then at the head."""
    rubbed = notches(case, notch_size) if notch_size else both
    return [
        [neck_stress(load, notch, worn) for load in end]
        for end, notch, worn in zip((loads.shoulder, loads.head), both, rubbed, strict=True)
    ]


def _fatigue(job: ResolvedJob, turns: list[Array], runs: list[list[Peaks]]) -> Array:
    """Amplitude over strength of the worse end, every piece of the cut for its own turns."""
    margins = [damage_margin(turns, [p.sigma_ar for p in run], job.strength.line) for run in runs]
    return np.exp(_worst(margins))


def _worst(values: list[Array]) -> Array:
    return np.asarray(np.maximum.reduce(values))


def _mean_torque(turns: list[Turn]) -> Array:
    return _worst([t.weight @ t.torque for t in turns])


def _wall_force(case: LoadCase, contacts: list[Contact]) -> Array:
    walls = [turn(case, c.wall).F_y for c in along(contacts)]  # a closed end is no wall
    return _worst([np.maximum.reduce(np.fmax(y, -y), axis=0) for y in walls])


def _thin(case: LoadCase, contacts: list[Contact]) -> Array:
    """Thickest chip of the tooth that cuts least, in the pass whose thickest chip is least."""
    least = []
    for c in contacts:
        phi = np.full(case.teeth, c.peak.phi[np.argmax(np.sin(c.peak.phi))])
        least.append(
            chip.thickness(phi, np.arange(case.teeth), case.f_z, case.rho, case.teeth).min(axis=0)
        )
    return np.asarray(np.minimum.reduce(least))

"""A whole cut: the chain run over every pass, and the worst of it kept for the limits."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from loadsim import chip, neck
from loadsim.beam import compliance
from loadsim.case import Case, Setup
from loadsim.chain import Contact, Swing, notches, stressed, swing, turn

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
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
    bending: Array  #: nominal bending stress at the governing notch [MPa]
    torsion: Array  #: nominal torsion stress [MPa]
    K_t: Array  #: published, bending [1]
    K_ts: Array  #: published, torsion [1]
    deflection: Array  #: of the head under the largest force [mm]
    wall_deflection: Array  #: across the feed when a wall is shaped [mm]
    stiffness: Array  #: of the head, across [N/mm]
    feed_force: Array  #: mean force that resists the feed, worst pass [N]
    pull: Array  #: largest momentary force along the feed [N]
    net_pull: Array  #: mean force that drags the table along, zero when it resists [N]
    at_shoulder: npt.NDArray[np.bool_]  #: whether the notch at the shank's shoulder governs


@dataclass(frozen=True, slots=True, kw_only=True)
class Loads:
    """What a whole cut asks, before the neck's diameter and its fillets: the worst over its passes; (s,)."""

    shoulder: list[Swing]  #: of each pass, at the shank's shoulder
    head: list[Swing]  #: of each pass, at the head
    level: float  #: lowest load above the head's lower face [mm]
    thin_chip: Array  #: as in `Summary`, from here on
    mean_force: Array
    mean_torque: Array
    wall_force: Array  #: across the feed when a wall is shaped [N]
    feed_force: Array
    pull: Array
    net_pull: Array

    def take(self, which: npt.NDArray[np.intp]) -> Loads:
        """Return the samples wanted."""
        taken: dict[str, Any] = {k: getattr(self, k)[which] for k in (f.name for f in fields(self)) if k not in ("shoulder", "head", "level")}
        return replace(self, shoulder=[x.take(which) for x in self.shoulder], head=[x.take(which) for x in self.head], **taken)


def summarise(setup: Setup, contacts: list[Contact], case: Case) -> Summary:
    """Run the chain over all passes of a cut and keep the worst.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    contacts : list of Contact
        One for each pass, from `contacts_of`.
    case : Case
        One cut or many.

    Returns
    -------
    summary : Summary
    """
    return judged(setup, case, loads_of(contacts, case))


def loads_of(contacts: list[Contact], case: Case) -> Loads:
    """Run the chain over all passes of a cut as far as it does not know the neck's diameter and fillets.

    Parameters
    ----------
    contacts : list of Contact
        One for each pass, from `contacts_of`.
    case : Case
        One cut or many.

    Returns
    -------
    loads : Loads
    """
    turns = [turn(case, c.turn) for c in contacts]
    walls = [np.maximum.reduce(np.fmax(t.F_y, -t.F_y), axis=0) for t in (turn(case, c.wall) for c in contacts)]
    means = [t.weight @ t.F_x for t in turns]
    return Loads(
        shoulder=[swing(case, c.peak, case.neck_length) for c in contacts],
        head=[swing(case, c.peak, np.zeros_like(case.neck_length)) for c in contacts],
        level=min(float(c.peak.level.min()) for c in contacts), thin_chip=_thin(case, contacts),
        mean_force=_worst([t.weight @ np.hypot(t.F_x, t.F_y) for t in turns]),
        mean_torque=_worst([t.weight @ t.torque for t in turns]), wall_force=_worst(walls),
        feed_force=_worst([-m for m in means]), pull=_worst([np.maximum(t.F_x.max(axis=0), 0.0) for t in turns]),
        net_pull=np.maximum(_worst(means), 0.0),
    )  # fmt: skip


def judged(setup: Setup, case: Case, loads: Loads) -> Summary:
    """Stresses and deflections that the loads of a cut make in its neck.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    case : Case
        One cut or many.
    loads : Loads
        From `loads_of`, of the same cuts.

    Returns
    -------
    summary : Summary
    """
    both = notches(case)
    rubbed = notches(case, setup.strength.notch_size) if setup.strength.notch_size else both
    runs = [[stressed(x, n, r) for x in end] for end, n, r in zip((loads.shoulder, loads.head), both, rubbed, strict=True)]
    worst = [_worst([p.sigma_1 for p in run]) for run in runs]
    governs = worst[1] > worst[0]
    run, ends = runs[0], [*runs[0], *runs[1]]  # each cut is judged at the end of its neck that is worse for it
    moments = [_worst([p.moment for p in x]) for x in runs]
    moment, torque = np.where(governs, moments[1], moments[0]), _worst([p.torque for p in run])
    K_t, K_ts = (np.where(governs, b, a) for a, b in ((both[0].K_t, both[1].K_t), (both[0].K_ts, both[1].K_ts)))
    give, top = compliance(setup, case, loads.level), _worst([p.force for p in run])
    return Summary(
        peak_chip=_worst([p.h for p in run]), thin_chip=loads.thin_chip, force=top,
        mean_force=loads.mean_force, torque=torque, mean_torque=loads.mean_torque,
        tooth_force=_worst([p.tooth_force for p in run]), moment=moment,
        sigma_1=_worst(worst), sigma_v=_worst([p.sigma_v for p in ends]),
        sigma_a=_worst([p.sigma_a for p in ends]), sigma_m=_worst([p.sigma_m for p in ends]),
        sigma_ar=_worst([p.sigma_ar for p in ends]),
        bending=moment / neck.section_modulus(case.neck_diameter),
        torsion=torque / neck.polar_section_modulus(case.neck_diameter), K_t=K_t, K_ts=K_ts,
        deflection=top * give, wall_deflection=loads.wall_force * give, stiffness=1 / give,
        feed_force=loads.feed_force, pull=loads.pull, net_pull=loads.net_pull, at_shoulder=~governs,
    )  # fmt: skip


def _worst(values: list[Array]) -> Array:
    return np.asarray(np.maximum.reduce(values))


def _thin(case: Case, contacts: list[Contact]) -> Array:
    """Thickest chip of the tooth that cuts least, in the pass whose thickest chip is least."""
    least = []
    for c in contacts:
        phi = np.full(case.teeth, c.peak.phi[np.argmax(np.sin(c.peak.phi))])
        least.append(chip.thickness(phi, np.arange(case.teeth), case.f_z, case.rho, case.teeth).min(axis=0))
    return np.asarray(np.minimum.reduce(least))

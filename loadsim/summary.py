"""A whole cut: the chain run over every pass, and the worst of it kept for the limits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from loadsim import chip, neck
from loadsim.case import Case, Setup
from loadsim.chain import Contact, compliance, notches, peaks, turn

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
    at_shoulder: bool  #: whether the notch at the shank's shoulder governs


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
    both = notches(case)
    rubbed = notches(case, setup.strength.notch_size) if setup.strength.notch_size else both
    runs = [[peaks(case, c.peak, n, r) for c in contacts] for n, r in zip(both, rubbed, strict=True)]
    worst = [max(float(p.sigma_1.max()) for p in run) for run in runs]
    governs = int(worst[1] > worst[0])
    run, notch = runs[governs], both[governs]
    ends = [*runs[0], *runs[1]]  # of many cuts each is judged at the end of its neck that is worse for it
    turns = [turn(case, c.turn) for c in contacts]
    walls = [np.maximum.reduce(np.fmax(t.F_y, -t.F_y), axis=0) for t in (turn(case, c.wall) for c in contacts)]
    level = min(float(c.peak.level.min()) for c in contacts)
    give = compliance(setup, case, level)
    moment, torque = _worst([p.moment for p in run]), _worst([p.torque for p in run])
    means = [t.weight @ t.F_x for t in turns]
    top = _worst([p.force for p in run])
    return Summary(
        peak_chip=_worst([p.h for p in run]), thin_chip=_thin(case, contacts), force=top,
        mean_force=_worst([t.weight @ np.hypot(t.F_x, t.F_y) for t in turns]),
        torque=torque, mean_torque=_worst([t.weight @ t.torque for t in turns]),
        tooth_force=_worst([p.tooth_force for p in run]), moment=moment,
        sigma_1=_worst([p.sigma_1 for p in ends]), sigma_v=_worst([p.sigma_v for p in ends]),
        sigma_a=_worst([p.sigma_a for p in ends]), sigma_m=_worst([p.sigma_m for p in ends]),
        sigma_ar=_worst([p.sigma_ar for p in ends]),
        bending=moment / neck.section_modulus(case.neck_diameter),
        torsion=torque / neck.polar_section_modulus(case.neck_diameter), K_t=notch.K_t, K_ts=notch.K_ts,
        deflection=top * give, wall_deflection=_worst(walls) * give, stiffness=1 / give,
        feed_force=_worst([-m for m in means]), pull=_worst([np.maximum(t.F_x.max(axis=0), 0.0) for t in turns]),
        net_pull=np.maximum(_worst(means), 0.0), at_shoulder=governs == 0,
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

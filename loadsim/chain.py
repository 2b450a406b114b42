"""The order of the steps: contact, chip, force, moment on the neck, stress. One cut or a hundred thousand.

Arrays carry pairs of turning position and tooth first (p), positions (a), and samples last (s).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from loadsim import chip, fatigue, fillet, force, mean_stress, neck
from loadsim.case import Case
from loadsim.contact import Positions, peak_positions, wall_positions, whole_turn
from loadsim.passes import Pass

Array = npt.NDArray[np.float64]

#: Points around half the neck at which the stress is followed.
POINTS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothForces:
    """Forces on each tooth in the cut, in each turning position; (p, s)."""

    h: Array  #: uncut chip thickness on the straight edge [mm]
    F_t: Array  #: tangential [N]
    F_r: Array  #: radial [N]
    held_t: Array  #: tangential, a tooth that runout lifts clear counted as rubbing [N]
    held_r: Array  #: radial, likewise [N]


@dataclass(frozen=True, slots=True, kw_only=True)
class Notch:
    """One end of the neck: its stress for each unit of load, (s,) or ()."""

    name: str
    K_t: Array  #: published, bending [1]
    K_ts: Array  #: published, torsion [1]
    arm: Array  #: from the notch to the head's upper face [mm]
    bending: Array  #: peak stress for each N*mm of moment [MPa]
    torsion: Array  #: peak stress for each N*mm of torque [MPa]


@dataclass(frozen=True, slots=True, kw_only=True)
class Peaks:
    """The worst of a turn; (s,)."""

    h: Array  #: thickest chip [mm]
    force: Array  #: largest resultant radial-plane force [N]
    torque: Array  #: largest torque [N*mm]
    tooth_force: Array  #: largest tangential force on one tooth [N]
    moment: Array  #: largest bending moment at the notch [N*mm]
    sigma_1: Array  #: largest principal stress [MPa]
    sigma_v: Array  #: von Mises stress then [MPa]
    sigma_a: Array  #: amplitude of the neck's stress in the turning frame, notch factor applied [MPa]
    sigma_m: Array  #: its mean [MPa]
    sigma_ar: Array  #: fully reversed amplitude that does the same damage [MPa]


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """What one turn asks of one end of the neck, before its diameter and its notch; (s,) unless said otherwise."""

    h: Array  #: thickest chip [mm]
    force: Array  #: largest resultant radial-plane force [N]
    tooth_force: Array  #: largest tangential force on one tooth [N]
    torque: Array  #: in each position, (a', s) [N*mm]
    moment: Array  #: bending moment in each position, (a', s) [N*mm]
    low: Array  #: lowest moment of the point around the neck that the turn harms most [N*mm]
    high: Array  #: its highest [N*mm]

    def take(self, which: npt.NDArray[np.intp]) -> Swing:
        """Return the samples wanted."""
        return Swing(**{f.name: getattr(self, f.name)[..., which] for f in fields(self)})


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One turn of the cutter in the frame of the table; (a, s)."""

    angle: Array  #: turning angle of tooth 0, (a,) [rad]
    weight: Array  #: share of the turn, (a,) [1]
    F_x: Array  #: [N]
    F_y: Array  #: [N]
    torque: Array  #: [N*mm]


def tooth_forces(case: Case, positions: Positions) -> ToothForces:
    """Chip thickness and force of every tooth in the cut.

    Below the thinnest chip the edge rubs and the force stays at its value there while the tooth touches.

    Parameters
    ----------
    case : Case
        One cut or many.
    positions : Positions
        Turning positions from `loadsim.contact`.

    Returns
    -------
    forces : ToothForces
    """
    h = chip.thickness(positions.phi, positions.tooth, case.f_z, case.rho, case.teeth)
    touching = h > 0
    F_t = np.zeros(np.broadcast_shapes(h.shape, np.shape(case.force_factor), np.shape(case.k_c11)))
    F_r = np.zeros_like(F_t)
    r = case.radial
    for e, sin_kappa in enumerate(positions.sin_kappa):
        b = positions.b[:, e, None] / sin_kappa
        h_e = np.maximum(h * sin_kappa, case.h_min)
        F = b * force.kienzle(h_e, case.k_c11, case.m_c)
        F_t += F
        F_r += F * sin_kappa * force.radial_ratio(h_e, r.K_tc, r.K_te, r.K_rc, r.K_re)
    F_t *= case.force_factor
    F_r *= case.force_factor * case.radial_factor
    if touching.all():
        return ToothForces(h=h, F_t=F_t, F_r=F_r, held_t=F_t, held_r=F_r)
    return ToothForces(h=h, F_t=F_t * touching, F_r=F_r * touching, held_t=F_t, held_r=F_r)


def gather(x: Array, positions: Positions) -> Array:
    """Return pairs (p, s) summed into the positions that have a tooth in the cut, (a', s)."""
    starts = np.flatnonzero(np.diff(positions.position, prepend=-1))
    return x if starts.size == len(x) else np.add.reduceat(x, starts, axis=0)


def notches(case: Case, notch_size: float | None = None) -> tuple[Notch, Notch]:
    """Both ends of the neck: at the shank's shoulder and at the head.

    Parameters
    ----------
    case : Case
        One cut or many.
    notch_size : float, optional
        Tensile strength for Peterson's notch sensitivity; None counts the full K_t. [MPa]

    Returns
    -------
    shoulder : Notch
    head : Notch
    """
    d, r = case.neck_diameter, case.fillet
    W, W_p = neck.section_modulus(d), neck.polar_section_modulus(d)
    ends = []
    for name, D, arm in (("shank shoulder", np.maximum(case.shank_diameter, d), case.neck_length),
                         ("head", np.maximum(case.head_diameter, d), np.zeros_like(case.neck_length))):  # fmt: skip
        K_t, K_ts = fillet.stress_concentration_bending(D, d, r), fillet.stress_concentration_torsion(D, d, r)

        def bending(x: Array, D: Array = D) -> Array:
            return np.maximum(fillet.stress_concentration_bending(D, d, x) * case.fe_factor * fillet.bending_fe_scale(d, x), 1.0)

        def torsion(x: Array, D: Array = D) -> Array:
            return fillet.stress_concentration_torsion(D, d, x)

        if notch_size is None:
            b, t = np.maximum(K_t * case.fe_factor * fillet.bending_fe_scale(d, r), 1.0), K_ts
        else:
            b = fatigue.notch_factor_peterson(bending, r, notch_size, jump=(1 - 1e-9) * (D - d) / 4)
            t = fatigue.notch_factor_peterson(torsion, r, notch_size, torsion=True)
        ends.append(Notch(name=name, K_t=K_t, K_ts=K_ts, arm=arm, bending=b / W, torsion=t / W_p))
    return ends[0], ends[1]


def peaks(case: Case, positions: Positions, notch: Notch, rubbed: Notch | None = None) -> Peaks:
    """The worst force, torque and stress of a turn, followed in the frame that turns with the neck.

    Parameters
    ----------
    case : Case
        One cut or many.
    positions : Positions
        From `loadsim.contact.peak_positions`.
    notch : Notch
        The end of the neck that is judged.
    rubbed : Notch, optional
        The same end with fatigue notch factors; None takes the full factors.

    Returns
    -------
    peaks : Peaks

    Notes
    -----
    The stress is followed at `POINTS` points on half the neck; a direction between two of them is
    covered by dividing by the cosine of half their spacing.
    """
    return stressed(swing(case, positions, notch.arm), notch, rubbed)


def swing(case: Case, positions: Positions, arm: Array) -> Swing:
    """What a turn asks of one end of the neck; neither the neck's diameter nor its fillet is part of it.

    Parameters
    ----------
    case : Case
        One cut or many.
    positions : Positions
        From `loadsim.contact.peak_positions`.
    arm : ndarray
        From that end to the head's upper face. [mm]

    Returns
    -------
    swing : Swing
    """
    forces = tooth_forces(case, positions)
    F_1, F_2 = force.cutter_frame(forces.F_t, forces.F_r, positions.tooth, case.teeth)
    arms = arm + case.head_height - positions.level[:, None]
    M_1, M_2 = gather(F_1 * arms, positions), gather(F_2 * arms, positions)
    low, high = _held_range(case, positions, forces, arms) if forces.held_t is not forces.F_t else _range_around(
        M_1, M_2, positions.idle)  # fmt: skip
    resultant = np.hypot(gather(F_1, positions), gather(F_2, positions))
    return Swing(
        h=forces.h.max(axis=0, initial=0.0), force=resultant.max(axis=0, initial=0.0),
        tooth_force=forces.F_t.max(axis=0, initial=0.0), torque=gather(forces.F_t, positions) * case.radius,
        moment=np.hypot(M_1, M_2), low=low, high=high,
    )  # fmt: skip


def stressed(swing: Swing, notch: Notch, rubbed: Notch | None = None) -> Peaks:
    """The worst stress of a turn at a notch.

    Parameters
    ----------
    swing : Swing
        What the turn asks of this end of the neck.
    notch : Notch
        The end of the neck that is judged.
    rubbed : Notch, optional
        The same end with fatigue notch factors; None takes the full factors.

    Returns
    -------
    peaks : Peaks
    """
    sigma, tau = swing.moment * notch.bending, swing.torque * notch.torsion
    worn, torque = notch if rubbed is None else rubbed, swing.torque.max(axis=0, initial=0.0)
    sigma_a, sigma_m, sigma_ar = _fatigue_stress(swing.low * worn.bending, swing.high * worn.bending, torque * worn.torsion)
    return Peaks(
        h=swing.h, force=swing.force, torque=torque, tooth_force=swing.tooth_force, moment=swing.moment.max(axis=0, initial=0.0),
        sigma_1=neck.largest_principal(sigma, tau).max(axis=0, initial=0.0),
        sigma_v=neck.von_mises(sigma, tau).max(axis=0, initial=0.0),
        sigma_a=sigma_a, sigma_m=sigma_m, sigma_ar=sigma_ar,
    )  # fmt: skip


def _held_range(case: Case, positions: Positions, forces: ToothForces, arm: Array) -> tuple[Array, Array]:
    """Range of the moment with every tooth counted as touching.

    A tooth that skips would make the load look less reversed, and more runout look safer.
    """
    F_1, F_2 = force.cutter_frame(forces.held_t, forces.held_r, positions.tooth, case.teeth)
    return _range_around(gather(F_1 * arm, positions), gather(F_2 * arm, positions), positions.idle)


def _range_around(M_1: Array, M_2: Array, idle: bool) -> tuple[Array, Array]:
    """Lowest and highest moment of the point around the neck that a turn harms most, (s,)."""
    best = low = high = np.zeros(M_1.shape[1:])
    for alpha in math.pi * np.arange(POINTS) / POINTS:
        along = M_1 * math.cos(alpha) + M_2 * math.sin(alpha)
        lo, hi = along.min(axis=0), along.max(axis=0)
        if idle:
            lo, hi = np.minimum(lo, 0.0), np.maximum(hi, 0.0)
        harm = np.maximum(hi, -lo) * (hi - lo)  # by Smith, Watson and Topper: neither is less where more metal is met
        wider = harm > best
        best, low, high = np.where(wider, harm, best), np.where(wider, lo, low), np.where(wider, hi, high)
    between = math.cos(math.pi / POINTS / 2)
    return low / between, high / between


def _fatigue_stress(low: Array, high: Array, tau_max: Array) -> tuple[Array, Array, Array]:
    """Amplitude, mean and equivalent fully reversed amplitude; the torque is taken to pulsate from zero."""
    sigma_a, sigma_m = (high - low) / 2, np.fmax((high + low) / 2, -(high + low) / 2)
    a = neck.von_mises(sigma_a, tau_max / 2)
    top = neck.von_mises(sigma_a + sigma_m, tau_max)
    return a, top - a, mean_stress.smith_watson_topper(a, top - a)


def turn(case: Case, positions: Positions) -> Turn:
    """Forces on the cutter in the frame of the table, over one turn.

    Parameters
    ----------
    case : Case
        One cut or many.
    positions : Positions
        From `loadsim.contact.whole_turn`.

    Returns
    -------
    turn : Turn
    """
    forces = tooth_forces(case, positions)
    F_x, F_y = force.feed_frame(forces.F_t, forces.F_r, positions.phi[:, None])
    shape = (positions.turn.size, *forces.F_t.shape[1:])
    x, y, t = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    met = np.unique(positions.position)
    x[met], y[met] = gather(F_x, positions), gather(F_y, positions)
    t[met] = gather(forces.F_t, positions) * case.radius
    return Turn(angle=positions.turn, weight=positions.weight, F_x=x, F_y=y, torque=t)


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """The contact tables of one pass: geometry alone, made once."""

    peak: Positions
    turn: Positions
    wall: Positions


def contacts_of(passes: tuple[Pass, ...], teeth: int, fine: int = 720) -> list[Contact]:
    """Make the contact tables of every pass.

    Parameters
    ----------
    passes : tuple of Pass
        From `loadsim.passes.passes`.
    teeth : int
        Number of teeth. [1]
    fine : int
        About how many positions stand for a turn. [1]

    Returns
    -------
    contacts : list of Contact
    """
    return [
        Contact(
            peak=peak_positions(p.section, p.swept, teeth),
            turn=whole_turn(p.section, p.swept, teeth, fine),
            wall=wall_positions(p.section, p.swept, teeth),
        )
        for p in passes
    ]


def thickest_sine(contacts: list[Contact]) -> float:
    """sin(phi) of the thickest chip over all passes. [1]"""
    return max(float(np.sin(c.peak.phi).max()) for c in contacts)

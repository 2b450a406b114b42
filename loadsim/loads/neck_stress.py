"""Which turning positions can lead: large tables trimmed for the samples."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.load_case import LoadCase
from loadsim.loads.turn import POINTS, NeckLoad, gather, neck_load, tooth_forces
from loadsim.mechanics import fatigue, force, sections, stress_concentration
from loadsim.mechanics.engagement import Positions


def leading(case: LoadCase, positions: Positions, notch: Notch) -> Positions:
    """Keep the positions that lead in any cut of a few: in moment, in torque, or in any direction
    around the neck.

    Where several teeth cut at once the peak lies at no known angle and the table holds hundreds of
    positions; a sample near these cuts peaks at one of the leaders.

    Parameters
    ----------
    case : LoadCase
        Cuts that span what the samples do.
    positions : Positions
        From `loadsim.mechanics.engagement.peak_positions`.
    notch : Notch
        The end of the neck that is judged.

    Returns
    -------
    positions : Positions
    """
    ids = np.unique(positions.position)
    forces = tooth_forces(case, positions)
    F_1, F_2 = force.cutter_frame(forces.held_t, forces.held_r, positions.tooth, case.teeth)
    arm = notch.arm.reshape(-1)[:1] + case.head_height - positions.level[:, None]
    M_1, M_2 = (gather(F * arm, positions).T for F in (F_1, F_2))
    ranked = [np.hypot(M_1, M_2), gather(forces.F_t, positions).T]
    for alpha in math.pi * np.arange(2 * POINTS) / POINTS:
        ranked.append(M_1 * math.cos(alpha) + M_2 * math.sin(alpha))
    kept = ids[_leaders(np.concatenate(ranked))].tolist()
    keep = np.array(sorted(kept))
    pairs = np.isin(positions.position, keep)
    return replace(
        positions,
        phi=positions.phi[pairs],
        tooth=positions.tooth[pairs],
        b=positions.b[pairs],
        level=positions.level[pairs],
        position=np.searchsorted(keep, positions.position[pairs]),
        weight=positions.weight[keep],
        turn=positions.turn[keep],
    )


#: A position leads that is short of the best by no more than this share: a third of what the grid
#: of positions leaves open. [1]
SHORT = 3e-4


def _leaders(ranked: Array) -> list[int]:
    """Fewest columns, nearly, that hold a leader of every row; (rows, positions)."""
    top = ranked.max(axis=1, keepdims=True)
    near = ranked >= top - SHORT * np.fmax(top, -top)
    leaders = []
    while len(near):
        leaders.append(int(near.sum(axis=0).argmax()))
        near = near[~near[:, leaders[-1]]]
    return leaders


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
    #: amplitude of the neck's stress in the turning frame, notch factor applied [MPa]
    sigma_a: Array
    sigma_m: Array  #: its mean [MPa]
    sigma_ar: Array  #: fully reversed amplitude that does the same damage [MPa]


def notches(case: LoadCase, notch_size: float | None = None) -> tuple[Notch, Notch]:
    """Both ends of the neck: at the shank's shoulder and at the head.

    Parameters
    ----------
    case : LoadCase
        One cut or many.
    notch_size : float, optional
        Tensile strength for Peterson's notch sensitivity; None counts the full K_t. [MPa]

    Returns
    -------
    shoulder : Notch
    head : Notch
    """
    d = case.neck_diameter
    W = sections.section_modulus(d)
    W_p = sections.polar_section_modulus(d)
    ends = []
    for name, widest, arm, r in (
        ("shank shoulder", case.shank_diameter, case.neck_length, case.fillet),
        ("head", case.head_diameter, np.zeros_like(case.neck_length), case.head_fillet),
    ):
        D = np.maximum(widest, d)
        K_t = stress_concentration.stress_concentration_bending(D, d, r)
        K_ts = stress_concentration.stress_concentration_torsion(D, d, r)

        def bending(x: Array, D: Array = D) -> Array:
            K_t = stress_concentration.stress_concentration_bending(D, d, x)
            return np.maximum(K_t * case.fe_factor, 1.0)

        def torsion(x: Array, D: Array = D) -> Array:
            return stress_concentration.stress_concentration_torsion(D, d, x)

        if notch_size is None:
            b = np.maximum(K_t * case.fe_factor, 1.0)
            t = K_ts
        else:
            b = fatigue.notch_factor_peterson(bending, r, notch_size, jump=(1 - 1e-9) * (D - d) / 4)
            t = fatigue.notch_factor_peterson(torsion, r, notch_size, torsion=True)
        ends.append(Notch(name=name, K_t=K_t, K_ts=K_ts, arm=arm, bending=b / W, torsion=t / W_p))
    return ends[0], ends[1]


def peaks(case: LoadCase, positions: Positions, notch: Notch, rubbed: Notch | None = None) -> Peaks:
    """The worst force, torque and stress of a turn, followed in the frame that turns with the neck.

    Parameters
    ----------
    case : LoadCase
        One cut or many.
    positions : Positions
        From `loadsim.mechanics.engagement.peak_positions`.
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
    return neck_stress(neck_load(case, positions, notch.arm), notch, rubbed)


def neck_stress(swing: NeckLoad, notch: Notch, rubbed: Notch | None = None) -> Peaks:
    """The worst stress of a turn at a notch.

    Parameters
    ----------
    swing : NeckLoad
        What the turn asks of this end of the neck.
    notch : Notch
        The end of the neck that is judged.
    rubbed : Notch, optional
        The same end with fatigue notch factors; None takes the full factors.

    Returns
    -------
    peaks : Peaks
    """
    sigma = swing.moment * notch.bending
    tau = swing.torque * notch.torsion
    worn = notch if rubbed is None else rubbed
    torque = swing.torque.max(axis=0, initial=0.0)
    sigma_a, sigma_m, sigma_ar = _fatigue_stress(
        swing.low * worn.bending, swing.high * worn.bending, torque * worn.torsion
    )
    return Peaks(
        h=swing.h,
        force=swing.force,
        torque=torque,
        tooth_force=swing.tooth_force,
        moment=swing.moment.max(axis=0, initial=0.0),
        sigma_1=sections.largest_principal(sigma, tau).max(axis=0, initial=0.0),
        sigma_v=sections.von_mises(sigma, tau).max(axis=0, initial=0.0),
        sigma_a=sigma_a,
        sigma_m=sigma_m,
        sigma_ar=sigma_ar,
    )


def reversed_amplitude(swing: NeckLoad, notch: Notch) -> Array:
    """Fully reversed amplitude of a turn at a notch, as in `neck_stress`.

    Parameters
    ----------
    swing : NeckLoad
        What the turn asks of this end of the neck.
    notch : Notch
        The end of the neck that is judged, with its fatigue notch factors.

    Returns
    -------
    sigma_ar : ndarray
        [MPa]
    """
    torque = swing.torque.max(axis=0, initial=0.0)
    return _fatigue_stress(
        swing.low * notch.bending, swing.high * notch.bending, torque * notch.torsion
    )[2]


def _fatigue_stress(low: Array, high: Array, tau_max: Array) -> tuple[Array, Array, Array]:
    """Amplitude, mean and equivalent fully reversed amplitude; the torque is taken to pulsate from
    zero.
    """
    sigma_a = (high - low) / 2
    sigma_m = np.fmax((high + low) / 2, -(high + low) / 2)
    a = sections.von_mises(sigma_a, tau_max / 2)
    top = sections.von_mises(sigma_a + sigma_m, tau_max)
    return a, top - a, fatigue.smith_watson_topper(a, top - a)

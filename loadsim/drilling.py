"""Torque and thrust of a twist drill, and what the drill bears."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
ArrayLike = npt.ArrayLike


def torque(k_c: ArrayLike, f: ArrayLike, D: ArrayLike) -> Array:
    """Torque of a two-lipped drill from the specific cutting force.

    ``M = k_c f D^2/8``: each lip cuts a chip of width D/2 and area f D/4 at a mean radius of D/4.

    Parameters
    ----------
    k_c : array_like
        Specific cutting force at the chip thickness of the lips. [MPa]
    f : array_like
        Feed per turn. [mm]
    D : array_like
        Drill diameter. [mm]

    Returns
    -------
    M : ndarray
        [N*mm]

    References
    ----------
    Kienzle1952
    """
    M: Array = np.asarray(k_c, float) * np.asarray(f, float) * np.asarray(D, float) ** 2 / 8
    return M


def handbook_thrust_and_torque(
    K_d: float, F_f: float, F_T: float, F_M: float, A: float, B: float, J: float, W: float, d: float
) -> tuple[float, float]:
    """Thrust and torque by the handbook's factors, in its own inch units: a rival of `torque`.

    ``T = 2 K_d F_f F_T B W + K_d d^2 J W``, ``M = K_d F_f F_M A W``.

    Parameters
    ----------
    K_d : float
        Work material factor. [1]
    F_f : float
        Feed factor. [1]
    F_T : float
        Thrust factor for the drill diameter. [1]
    F_M : float
        Torque factor for the drill diameter. [1]
    A : float
        Chisel edge factor for torque. [1]
    B : float
        Chisel edge factor for thrust. [1]
    J : float
        Chisel edge factor for thrust. [1]
    W : float
        Wear factor. [1]
    d : float
        Drill diameter in inches. [1]

    Returns
    -------
    T : float
        Thrust in pounds. [1]
    M : float
        Torque in inch pounds. [1]

    References
    ----------
    MachinerysHandbook31 pp. 1152-1153
    """
    return 2 * K_d * F_f * F_T * B * W + K_d * d**2 * J * W, K_d * F_f * F_M * A * W


def torque_to_break(tau_u: ArrayLike, D: ArrayLike) -> Array:
    """Torque that breaks a twist drill, its fluted section taken as a round bar of its web and lands.

    ``M = tau_u (pi/16) (0.6 D)^3``: the inscribed bar of 0.6 D (common practice, no source).

    Parameters
    ----------
    tau_u : array_like
        Torsion strength of the drill. [MPa]
    D : array_like
        Drill diameter. [mm]

    Returns
    -------
    M : ndarray
        [N*mm]
    """
    M: Array = np.asarray(tau_u, float) * (math.pi / 16) * (0.6 * np.asarray(D, float)) ** 3
    return M

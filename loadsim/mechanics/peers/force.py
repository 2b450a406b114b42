"""Published rivals of the force side that no answer uses: tests hold the models against them."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array
from loadsim.mechanics.chip import checked_feed

ArrayLike = npt.ArrayLike


def thickness_circular(phi: ArrayLike, f_z: ArrayLike) -> Array:
    """Uncut chip thickness with the tooth path taken as a circle and no runout.

    ``h = f_z sin(phi)`` in front of the cutter, zero behind it.

    Parameters
    ----------
    phi : array_like
        Immersion angle from the feed normal. [rad]
    f_z : array_like, broadcastable to phi
        Feed per tooth, not negative. [mm]

    Returns
    -------
    h : ndarray, phi and f_z broadcast together
        Uncut chip thickness. [mm]

    Raises
    ------
    ValueError
        If any f_z is negative or not finite.

    Notes
    -----
    Valid while ``f_z << D``; the true path is a trochoid.

    References
    ----------
    Martellotti1941

    Examples
    --------
    >>> thickness_circular(np.pi / 2, 0.05).item()
    0.05
    """
    h: Array = np.maximum(checked_feed(f_z) * np.sin(np.asarray(phi, float)), 0.0)
    return h


def thinnest_ratio_from_friction(friction_angle: ArrayLike) -> Array:
    """Minimum chip over edge radius from the friction on the edge.

    ``h_min/r = 1 - cos(pi/4 - beta/2)``.

    Parameters
    ----------
    friction_angle : array_like
        beta, in [0, pi/2). [rad]

    Returns
    -------
    ratio : ndarray
        [1]

    References
    ----------
    Son2005 h_min/r = 1 - cos(pi/4 - beta/2)

    Examples
    --------
    >>> round(thinnest_ratio_from_friction(0.0).item(), 3)
    0.293
    """
    ratio: Array = np.asarray(1 - np.cos(math.pi / 4 - np.asarray(friction_angle, float) / 2))
    return ratio


def lip_torque(k_c: float, f: float, D: float) -> float:
    """Torque of a two-lipped drill from the specific cutting force of milling or turning.

    ``M = k_c f D^2/8``: each lip cuts a chip of width D/2 and area f D/4 at a mean radius of D/4.
    Chisel edge and margins are left out, so it lies under the handbook's.

    Parameters
    ----------
    k_c : float
        Specific cutting force at the chip thickness of the lips. [MPa]
    f : float
        Feed per turn. [mm]
    D : float
        Drill diameter. [mm]

    Returns
    -------
    M : float
        [N*mm]

    References
    ----------
    Kienzle1952
    """
    return k_c * f * D**2 / 8


def lip_thrust(k_c: float, f: float, D: float) -> float:
    """Thrust of the lips of a two-lipped drill of 118 degrees, without its chisel edge.

    ``F_f = 0.5 k_c f (D/2) sin(59 deg)``.

    Parameters
    ----------
    k_c : float
        Specific cutting force at the chip thickness of the lips. [MPa]
    f : float
        Feed per turn. [mm]
    D : float
        Drill diameter. [mm]

    Returns
    -------
    F_f : float
        [N]

    References
    ----------
    TrainingMetalCutting2017 feed force in drilling
    """
    return 0.5 * k_c * f * D / 2 * math.sin(math.radians(59.0))


def shaw_oxford(chisel: float) -> tuple[float, float, float]:
    """Factors of a drill's point from the length of its chisel edge, behind the handbook's A, B, J.

    ``A = (1 - k^2)/(1 + k)^0.2 + 3.2 k^1.8``, ``B = (1 - k)/(1 + k)^0.2 + 2.2 k^0.8``, ``J = k^2``.

    Parameters
    ----------
    chisel : float
        k, length of the chisel edge over the diameter. [1]

    Returns
    -------
    A : float
        On the torque. [1]
    B : float
        On the thrust that grows with the feed. [1]
    J : float
        Of the thrust that presses the chisel edge in. [1]

    References
    ----------
    ShawOxford1957
    """
    k = chisel
    lips = (1 + k) ** 0.2
    return (1 - k**2) / lips + 3.2 * k**1.8, (1 - k) / lips + 2.2 * k**0.8, k**2


def merchant(
    rake: float, h: float, h_chip: float, b: float, F_c: float, F_f: float
) -> tuple[float, float, float, float]:
    """Merchant's circle: shear angle, friction angle, shear stress and specific force of an
    orthogonal cut.

    Parameters
    ----------
    rake : float
        [rad]
    h : float
        Uncut chip thickness. [mm]
    h_chip : float
        Chip thickness. [mm]
    b : float
        Width of cut. [mm]
    F_c : float
        Cutting force. [N]
    F_f : float
        Thrust force. [N]

    Returns
    -------
    shear_angle : float
        [rad]
    friction_angle : float
        [rad]
    shear_stress : float
        [MPa]
    k_c : float
        [MPa]

    References
    ----------
    Merchant1945
    """
    r = h / h_chip
    shear_angle = math.atan2(r * math.cos(rake), 1 - r * math.sin(rake))
    friction_angle = rake + math.atan2(F_f, F_c)
    F_s = F_c * math.cos(shear_angle) - F_f * math.sin(shear_angle)
    return shear_angle, friction_angle, F_s * math.sin(shear_angle) / (b * h), F_c / (b * h)


def oblique(
    shear_stress: ArrayLike,
    shear_angle: ArrayLike,
    friction_angle: ArrayLike,
    rake: ArrayLike,
    inclination: ArrayLike,
) -> tuple[Array, Array, Array]:
    """Cutting coefficients of an inclined edge from orthogonal data: a rival source of k_c.

    Parameters
    ----------
    shear_stress : array_like
        tau_s. [MPa]
    shear_angle : array_like
        phi_n. [rad]
    friction_angle : array_like
        beta_a of the orthogonal test. [rad]
    rake : array_like
        alpha_n. [rad]
    inclination : array_like
        i, the helix angle of a milling edge; the chip flows at eta = i. [rad]

    Returns
    -------
    K_tc : ndarray
        [MPa]
    K_rc : ndarray
        [MPa]
    K_ac : ndarray
        [MPa]

    References
    ----------
    Budak1996 eqs. for K_tc, K_rc, K_ac
    """
    i = np.asarray(inclination, float)
    eta = np.asarray(inclination, float)
    beta_n = np.arctan(np.tan(friction_angle) * np.cos(eta))
    lean = beta_n - np.asarray(rake, float)
    c = np.sqrt(np.cos(shear_angle + lean) ** 2 + (np.tan(eta) * np.sin(beta_n)) ** 2)
    tau = np.asarray(shear_stress, float) / (np.sin(shear_angle) * c)
    K_tc: Array = tau * (np.cos(lean) + np.tan(i) * np.tan(eta) * np.sin(beta_n))
    K_rc: Array = tau / np.cos(i) * np.sin(lean)
    K_ac: Array = tau * (np.cos(lean) * np.tan(i) - np.tan(eta) * np.sin(beta_n))
    return K_tc, K_rc, K_ac

"""What the blank bears once: hardness, Weibull strength, torsion, the snap force."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.numbers import Array
from loadsim.base.ranges import real

TORSION_RATIO = 0.69  #: tau_u / S_ut of hard steel rods, from printed key torques [1]


def effective_volume_factor_rotating(m: ArrayLike) -> Array:
    """Weibull effective volume, as a share of the volume, of a turning round cantilever.

    ``2 / ((m + 2)(m + 1))``: load at the end, every point of the skin passes the stress peak. It is
    the plain cantilever; with the fillet's peak stress it takes too much metal for stressed, which
    is on the safe side.

    Parameters
    ----------
    m : array_like
        Weibull modulus, > 0. [1]

    Returns
    -------
    factor : ndarray
        Effective volume over volume. [1]

    Raises
    ------
    ModelError
        If any m is not finite or not positive.

    References
    ----------
    Weibull1951, stress integral over the volume
    """
    m = real("m", m, "1", over=0.0)
    factor: Array = 2.0 / ((m + 2.0) * (m + 1.0))
    return factor


def effective_volume_factor_three_point(m: ArrayLike) -> Array:
    """Weibull effective volume, as a share of the volume between supports, of a three-point bend
    bar.

    ``1 / (2 (m + 1)^2)``, rectangular bar.

    Parameters
    ----------
    m : array_like
        Weibull modulus, > 0. [1]

    Returns
    -------
    factor : ndarray
        Effective volume over volume. [1]

    Raises
    ------
    ModelError
        If any m is not finite or not positive.

    References
    ----------
    Weibull1951, stress integral over the volume
    """
    m = real("m", m, "1", over=0.0)
    factor: Array = 0.5 / (m + 1.0) ** 2
    return factor


def weibull_scale(
    mean_strength: ArrayLike, m: ArrayLike, V_eff_test: ArrayLike, V_eff_part: ArrayLike
) -> Array:
    """Characteristic strength of the part from the mean strength of a test bar of another size.

    ``sigma_0 = mean / Gamma(1 + 1/m) * (V_eff_test / V_eff_part)^(1/m)``.

    Parameters
    ----------
    mean_strength : array_like
        Mean bend strength of the test bars. [MPa]
    m : array_like
        Weibull modulus, > 0. [1]
    V_eff_test : array_like
        Effective volume of a test bar. [mm^3]
    V_eff_part : array_like
        Effective volume of the part. [mm^3]

    Returns
    -------
    sigma_0 : ndarray
        Stress at which 63.2 % of the parts have broken. [MPa]

    Raises
    ------
    ModelError
        If any value is not finite or not positive.

    Notes
    -----
    A part smaller than the bar is credited with fewer flaws; where the flaws come from grinding
    rather than from the bar, set both volumes equal.

    References
    ----------
    Weibull1951, mean of the distribution and size effect
    """
    from scipy.special import gamma  # 0.1 s to import, so only when asked for

    mean = real("mean_strength", mean_strength, "MPa", over=0.0)
    m = real("m", m, "1", over=0.0)
    V_test = real("V_eff_test", V_eff_test, "mm^3", over=0.0)
    V_part = real("V_eff_part", V_eff_part, "mm^3", over=0.0)
    sigma_0: Array = mean / gamma(1.0 + 1.0 / m) * (V_test / V_part) ** (1.0 / m)
    return real("sigma_0", sigma_0, "MPa", over=0.0)


def weibull_strength(p: ArrayLike, sigma_0: ArrayLike, m: ArrayLike) -> Array:
    """Stress at which the chance of fracture is p; the inverse of `weibull_failure`.

    Parameters
    ----------
    p : array_like
        Probability of fracture, 0 <= p < 1. [1]
    sigma_0 : array_like
        Characteristic strength of the part. [MPa]
    m : array_like
        Weibull modulus, > 0. [1]

    Returns
    -------
    sigma : ndarray
        Stress. [MPa]

    Raises
    ------
    ModelError
        If p is outside [0, 1), or sigma_0 or m is not finite and positive.

    References
    ----------
    Weibull1951, two-parameter distribution solved for the stress
    """
    p = real("p", p, "1", least=0.0, below=1.0)
    sigma_0 = real("sigma_0", sigma_0, "MPa", over=0.0)
    m = real("m", m, "1", over=0.0)
    sigma: Array = sigma_0 * (-np.log1p(-p)) ** (1.0 / m)
    return sigma


def torsion_strength(S_ut: ArrayLike) -> Array:
    """Shear strength of a hard steel rod in torsion, ``0.69 S_ut``.

    The ratio is what printed breaking torques of hexagonal keys imply when the section is fully
    plastic.

    Parameters
    ----------
    S_ut : array_like
        Tensile strength, or its hardness equivalent. [MPa]

    Returns
    -------
    tau_u : ndarray
        Shear stress at fracture, plastic section. [MPa]

    Raises
    ------
    ModelError
        If any S_ut is not finite or not positive.

    References
    ----------
    HexKeyTorque, rule T = 0.2 S_ut s^3
    """
    tau_u: Array = TORSION_RATIO * real("S_ut", S_ut, "MPa", over=0.0)
    return tau_u


def torque_to_break_elastic(d: ArrayLike, tau_u: ArrayLike, K_ts: ArrayLike = 1.0) -> Array:
    """Torque at which the peak shear stress at a fillet reaches the strength, ``pi d^3 tau_u / (16
    K_ts)``.

    Parameters
    ----------
    d : array_like
        Smaller diameter at the fillet. [mm]
    tau_u : array_like
        Shear strength. [MPa]
    K_ts : array_like
        Concentration factor in torsion, >= 1. [1]

    Returns
    -------
    T : ndarray
        Torque. [N*mm]

    Raises
    ------
    ModelError
        If any value is not finite, d or tau_u is not positive, or K_ts is under 1.

    References
    ----------
    TimoshenkoGoodier1970, torsion of a round bar
    """
    d = real("d", d, "mm", over=0.0)
    K_ts = real("K_ts", K_ts, "1", least=1.0)
    T: Array = np.pi / 16.0 * d**3 * real("tau_u", tau_u, "MPa", over=0.0) / K_ts
    return T


def force_to_snap(
    sigma_capacity: ArrayLike, K_t: ArrayLike, d: ArrayLike, reach: ArrayLike
) -> Array:
    """Side force on the head that snaps the neck, ``sigma pi d^3 / (32 K_t reach)``.

    Parameters
    ----------
    sigma_capacity : array_like
        Peak stress the blank bears. [MPa]
    K_t : array_like
        Concentration factor of the fillet in bending, >= 1. [1]
    d : array_like
        Neck diameter. [mm]
    reach : array_like
        Distance from the load to the fillet. [mm]

    Returns
    -------
    F : ndarray
        Force. [N]

    Raises
    ------
    ModelError
        If any value is not finite or not positive, or K_t is under 1.

    References
    ----------
    TimoshenkoGoodier1970, bending of a round bar
    """
    sigma = real("sigma_capacity", sigma_capacity, "MPa", over=0.0)
    K_t = real("K_t", K_t, "1", least=1.0)
    d = real("d", d, "mm", over=0.0)
    F: Array = sigma * np.pi * d**3 / (32.0 * K_t * real("reach", reach, "mm", over=0.0))
    return F


def torque_to_snap(tau_u: ArrayLike, K_ts: ArrayLike, d: ArrayLike) -> Array:
    """Torque that snaps the neck at its fillet: `torque_to_break_elastic`, the brittle, lower
    answer.

    Parameters
    ----------
    tau_u : array_like
        Shear strength. [MPa]
    K_ts : array_like
        Concentration factor of the fillet in torsion, >= 1. [1]
    d : array_like
        Neck diameter. [mm]

    Returns
    -------
    T : ndarray
        Torque. [N*mm]

    Raises
    ------
    ModelError
        If any value is not finite, d or tau_u is not positive, or K_ts is under 1.

    References
    ----------
    TimoshenkoGoodier1970, torsion of a round bar
    """
    return torque_to_break_elastic(d, tau_u, K_ts)


def rim_force(
    F_table: ArrayLike, lead: ArrayLike, wheel_radius: ArrayLike, efficiency: ArrayLike
) -> Array:
    """Force at the handwheel rim that makes a force on the table, ``F lead / (2 pi r eta)``.

    Parameters
    ----------
    F_table : array_like
        Feed force on the table, not negative. [N]
    lead : array_like
        Travel of the screw in one turn. [mm]
    wheel_radius : array_like
        Radius of the handwheel at the grip. [mm]
    efficiency : array_like
        Efficiency of the screw and slides, in (0, 1]. [1]

    Returns
    -------
    F_rim : ndarray
        Force at the rim. [N]

    Raises
    ------
    ModelError
        If any value is not finite or outside the range given above.

    References
    ----------
    Shigley-fatigue, power screws: work in equals work out over the efficiency
    """
    F_table = real("F_table", F_table, "N", least=0.0)
    eta = real("efficiency", efficiency, "1", over=0.0, most=1.0)
    turn = 2.0 * np.pi * real("wheel_radius", wheel_radius, "mm", over=0.0)
    F_rim: Array = F_table * real("lead", lead, "mm", over=0.0) / (turn * eta)
    return F_rim

"""What the blank bears once: hardness, Weibull strength, torsion, the snap force."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import must_be, real, takes

TORSION_RATIO = 0.69  #: tau_u / S_ut of hard steel rods, from printed key torques [1]


@takes(m=must_be("1", over=0.0))
def effective_volume_factor_rotating(m: Reals) -> Array:
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
    factor: Array = 2.0 / ((m + 2.0) * (m + 1.0))
    return factor


@takes(m=must_be("1", over=0.0))
def effective_volume_factor_three_point(m: Reals) -> Array:
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
    factor: Array = 0.5 / (m + 1.0) ** 2
    return factor


@takes(
    mean_strength=must_be("MPa", over=0.0),
    m=must_be("1", over=0.0),
    V_eff_test=must_be("mm^3", over=0.0),
    V_eff_part=must_be("mm^3", over=0.0),
)
def weibull_scale(mean_strength: Reals, m: Reals, V_eff_test: Reals, V_eff_part: Reals) -> Array:
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

    sigma_0: Array = mean_strength / gamma(1.0 + 1.0 / m) * (V_eff_test / V_eff_part) ** (1.0 / m)
    return real("sigma_0", sigma_0, "MPa", over=0.0)


@takes(
    p=must_be("1", least=0.0, below=1.0), sigma_0=must_be("MPa", over=0.0), m=must_be("1", over=0.0)
)
def weibull_strength(p: Reals, sigma_0: Reals, m: Reals) -> Array:
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
    sigma: Array = sigma_0 * (-np.log1p(-p)) ** (1.0 / m)
    return sigma


@takes(S_ut=must_be("MPa", over=0.0))
def torsion_strength(S_ut: Reals) -> Array:
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
    tau_u: Array = TORSION_RATIO * S_ut
    return tau_u


@takes(d=must_be("mm", over=0.0), K_ts=must_be("1", least=1.0), tau_u=must_be("MPa", over=0.0))
def torque_to_break_elastic(d: Reals, tau_u: Reals, K_ts: Reals = 1.0) -> Array:
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
    T: Array = np.pi / 16.0 * d**3 * tau_u / K_ts
    return T


@takes(
    sigma_capacity=must_be("MPa", over=0.0),
    K_t=must_be("1", least=1.0),
    d=must_be("mm", over=0.0),
    reach=must_be("mm", over=0.0),
)
def force_to_snap(sigma_capacity: Reals, K_t: Reals, d: Reals, reach: Reals) -> Array:
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
    F: Array = sigma_capacity * np.pi * d**3 / (32.0 * K_t * reach)
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


@takes(
    F_table=must_be("N", least=0.0),
    efficiency=must_be("1", over=0.0, most=1.0),
    wheel_radius=must_be("mm", over=0.0),
    lead=must_be("mm", over=0.0),
)
def rim_force(F_table: Reals, lead: Reals, wheel_radius: Reals, efficiency: Reals) -> Array:
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
    eta = efficiency
    turn = 2.0 * np.pi * wheel_radius
    F_rim: Array = F_table * lead / (turn * eta)
    return F_rim

"""What the blank bears once: hardness, Weibull strength, torsion, the snap force."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numpy.typing import ArrayLike

from loadsim.bounds import real
from loadsim.errors import ModelError

Array = npt.NDArray[np.float64]

# Printed conversion. Where the two tables differ (HV 649/653 at 58; UTS 1620/1760 at 50, 1875/2075 at 55)
# the lower figure stands: strength is never credited from the kinder table.
_HRC_HV = (50.0, 55.0, 58.0, 60.0, 61.0, 62.0, 63.0, 64.0, 65.0, 66.0, 67.0, 68.0)
_HV = (513.0, 595.0, 649.0, 697.0, 720.0, 746.0, 772.0, 800.0, 832.0, 865.0, 900.0, 940.0)
_HRC_UTS = _HRC_HV[:9]
_UTS = (1620.0, 1875.0, 2048.0, 2172.0, 2240.0, 2300.0, 2360.0, 2430.0, 2500.0)

HRC_RANGE = (50.0, 70.0)  #: accepted hardness; held at the last printed value above 68 (HV), 65 (UTS) [HRC]
TORSION_RATIO = 0.69  #: tau_u / S_ut of hard steel rods, from printed key torques [1]


def _hardness(HRC: ArrayLike) -> Array:
    x = np.asarray(HRC, dtype=float)
    bad = ~((x >= HRC_RANGE[0]) & (x <= HRC_RANGE[1]))
    if bad.any():
        raise ModelError(
            f"HRC must lie in [{HRC_RANGE[0]:g}, {HRC_RANGE[1]:g}], got {np.extract(bad, x)[0]:g}; "
            "outside the printed table give the Vickers hardness and the tensile strength themselves"
        )
    return x


def hardness_to_vickers(HRC: ArrayLike) -> Array:
    """Vickers hardness of steel from Rockwell C, interpolated in a printed table.

    Printed for 50 to 68 HRC; held at the value for 68 up to 70 (`hardness_notes` says so).

    Parameters
    ----------
    HRC : array_like
        Rockwell C hardness, 50 to 70. [HRC]

    Returns
    -------
    HV : ndarray
        Vickers hardness. [HV]

    Raises
    ------
    ModelError
        If any hardness lies outside 50 to 70 HRC or is not a number.

    References
    ----------
    HardnessConversion, HRC-HV columns

    Examples
    --------
    >>> hardness_to_vickers(64).item()
    800.0
    """
    return np.interp(_hardness(HRC), _HRC_HV, _HV)


def hardness_to_tensile(HRC: ArrayLike) -> Array:
    """Equivalent tensile strength of steel from Rockwell C, interpolated in a printed table.

    An equivalent only: above about 60 HRC a bar in tension breaks brittle before it. Bend strength is the
    measure of brittle fracture. Printed for 50 to 65 HRC; held at the value for 65 up to 70.

    Parameters
    ----------
    HRC : array_like
        Rockwell C hardness, 50 to 70. [HRC]

    Returns
    -------
    S_ut : ndarray
        Equivalent tensile strength. [MPa]

    Raises
    ------
    ModelError
        If any hardness lies outside 50 to 70 HRC or is not a number.

    References
    ----------
    HardnessConversion, HRC-UTS columns

    Examples
    --------
    >>> hardness_to_tensile(60).item()
    2172.0
    """
    return np.interp(_hardness(HRC), _HRC_UTS, _UTS)


def hardness_notes(HRC: ArrayLike) -> tuple[str, ...]:
    """Say where the hardness conversion is stretched.

    Parameters
    ----------
    HRC : array_like
        Rockwell C hardness, 50 to 70. [HRC]

    Returns
    -------
    notes : tuple of str
        One sentence for each reservation; empty when there is none.

    Raises
    ------
    ModelError
        If any hardness lies outside 50 to 70 HRC or is not a number.

    References
    ----------
    HardnessConversion, end of each column
    """
    top = float(np.max(_hardness(HRC), initial=0.0))
    rules = (
        (60.0, "What a blank this hard bears in a straight pull is only worked out from its hardness, and it breaks brittle before that "
         "(above 60 HRC the tensile strength is a hardness equivalent)"),
        (_HRC_UTS[-1], "For a blank this hard no table gives a strength: it is credited with that of 65 HRC and no more (no tensile equivalent above)"),
        (_HRC_HV[-1], "The table of hardness ends at 68 HRC: a harder blank is credited with that and no more (no Vickers equivalent above)"),
    )
    return tuple(text for limit, text in rules if top > limit)


def effective_volume_factor_rotating(m: ArrayLike) -> Array:
    """Weibull effective volume, as a share of the volume, of a turning round cantilever.

    ``2 / ((m + 2)(m + 1))``: load at the end, every point of the skin passes the stress peak. It is the plain
    cantilever; with the fillet's peak stress it takes too much metal for stressed, which is on the safe side.

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
    """Weibull effective volume, as a share of the volume between supports, of a three-point bend bar.

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
    A part smaller than the bar is credited with fewer flaws; where the flaws come from grinding rather than
    from the bar, set both volumes equal.

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


def weibull_failure(sigma: ArrayLike, sigma_0: ArrayLike, m: ArrayLike) -> Array:
    """Chance that a part breaks at a stress, accurate also when it is tiny.

    ``p = 1 - exp(-(sigma / sigma_0)^m)``.

    Parameters
    ----------
    sigma : array_like
        Largest principal stress, with the full concentration factor, not negative. [MPa]
    sigma_0 : array_like
        Characteristic strength of the part. [MPa]
    m : array_like
        Weibull modulus, > 0. [1]

    Returns
    -------
    p : ndarray
        Probability of fracture. [1]

    Raises
    ------
    ModelError
        If any value is not finite, sigma is negative, or sigma_0 or m is not positive.

    References
    ----------
    Weibull1951, two-parameter distribution
    """
    sigma = real("sigma", sigma, "MPa", least=0.0)
    sigma_0 = real("sigma_0", sigma_0, "MPa", over=0.0)
    m = real("m", m, "1", over=0.0)
    with np.errstate(over="ignore"):  # an endless hazard is meant: p = 1
        p: Array = -np.expm1(-((sigma / sigma_0) ** m))
    return p


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

    The ratio is what printed breaking torques of hexagonal keys imply when the section is fully plastic.

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


def torque_to_break_plastic(d: ArrayLike, tau_u: ArrayLike) -> Array:
    """Torque that breaks a smooth round rod once the whole section yields, ``pi d^3 tau_u / 12``.

    The upper bound, 4/3 of the elastic one: for tough rods without a notch.

    Parameters
    ----------
    d : array_like
        Rod diameter. [mm]
    tau_u : array_like
        Shear strength. [MPa]

    Returns
    -------
    T : ndarray
        Torque. [N*mm]

    Raises
    ------
    ModelError
        If any value is not finite or not positive.

    References
    ----------
    Nadai1950, sand-heap analogy of a full circle
    """
    T: Array = np.pi / 12.0 * real("d", d, "mm", over=0.0) ** 3 * real("tau_u", tau_u, "MPa", over=0.0)
    return T


def torque_to_break_elastic(d: ArrayLike, tau_u: ArrayLike, K_ts: ArrayLike = 1.0) -> Array:
    """Torque at which the peak shear stress at a fillet reaches the strength, ``pi d^3 tau_u / (16 K_ts)``.

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


def force_to_snap(sigma_capacity: ArrayLike, K_t: ArrayLike, d: ArrayLike, reach: ArrayLike) -> Array:
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
    """Torque that snaps the neck at its fillet: `torque_to_break_elastic`, the brittle, lower answer.

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


def rim_force(F_table: ArrayLike, lead: ArrayLike, wheel_radius: ArrayLike, efficiency: ArrayLike) -> Array:
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

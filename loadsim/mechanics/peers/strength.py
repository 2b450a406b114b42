"""Strength by rival models: what the tests set the chain's own fatigue and fracture against."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base import units
from loadsim.base.errors import ModelError
from loadsim.base.numbers import Array
from loadsim.base.ranges import real
from loadsim.mechanics.stress_concentration import Fit, from_fit

#: Bending by the chart. No answer uses it: see `stress_concentration_bending_chart`.
BENDING_CHART = Fit(
    bounds=(0.1, 2.0, 20.0),
    branches=(
        (
            (0.947, 1.206, -0.131),
            (0.022, -3.405, 0.915),
            (0.869, 1.777, -0.555),
            (-0.810, 0.422, -0.260),
        ),
        (
            (1.232, 0.832, -0.008),
            (-3.813, 0.968, -0.260),
            (7.423, -4.868, 0.869),
            (-3.839, 3.070, -0.600),
        ),
    ),
    corner=0.4555,
)

#: Tension; nothing pulls on the neck.
TENSION = Fit(
    bounds=(0.1, 2.0, 20.0),
    branches=(
        (
            (0.926, 1.157, -0.099),
            (0.012, -3.036, 0.961),
            (-0.302, 3.977, -1.744),
            (0.365, -2.098, 0.878),
        ),
        (
            (1.200, 0.860, -0.022),
            (-1.805, -0.346, -0.038),
            (2.198, -0.486, 0.165),
            (-0.593, -0.028, -0.106),
        ),
    ),
    corner=0.4555,
)

#: From the tension fit to finite elements, which it lies 6 to 24 % below for r/d 0.03 to 0.2. [1]
K_T_TENSION_FE_BOUND = 1.26


def stress_concentration_bending_chart(D: ArrayLike, d: ArrayLike, r: ArrayLike) -> Array:
    """Stress concentration factor of a shouldered round bar in bending, by the chart drawn from
    photoelastic tests.

    Parameters
    ----------
    D : array_like, broadcastable
        Diameter of the thick bar, not smaller than d. [mm]
    d : array_like, broadcastable
        Diameter of the thin bar. [mm]
    r : array_like, broadcastable
        Radius of the fillet. [mm]

    Returns
    -------
    K_t : ndarray, shape of the inputs broadcast together
        Largest principal stress over ``32 M / (pi d^3)``; 1 without a step. [1]

    Raises
    ------
    ModelError
        If an input is not finite or not > 0, or D is below d (a ValueError).

    Notes
    -----
    Two branches, ``0.1 <= t/r <= 2`` and ``2 <= t/r <= 20``, carried on as in
    `stress_concentration_tension`. The fit lies below finite elements: by up to 4 % at r/d 0.1, 9 %
    at 0.03, 14 % at 0.01.

    References
    ----------
    Pilkey2008, chart 3.10
    Williams1952
    """
    return from_fit(BENDING_CHART, D, d, r)


def stress_concentration_tension(D: ArrayLike, d: ArrayLike, r: ArrayLike) -> Array:
    """Stress concentration factor of a shouldered round bar in tension.

    Parameters
    ----------
    D : array_like, broadcastable
        Diameter of the thick bar, not smaller than d. [mm]
    d : array_like, broadcastable
        Diameter of the thin bar. [mm]
    r : array_like, broadcastable
        Radius of the fillet. [mm]

    Returns
    -------
    K_t : ndarray, shape of the inputs broadcast together
        Largest principal stress over ``4 F / (pi d^2)``; 1 without a step. [1]

    Raises
    ------
    ModelError
        If an input is not finite or not > 0, or D is below d (a ValueError).

    Notes
    -----
    Two branches, ``0.1 <= t/r <= 2`` and ``2 <= t/r <= 20``. Where they do not meet, or a branch
    falls with t/r, the highest value on the way holds. The fit lies far below finite elements: see
    `K_T_TENSION_FE_BOUND`. A smaller fillet never lowers the answer. Outside the fit's range in
    ``t/r``, ``t = (D - d)/2``: below it K_t is held, above it K_t
    grows with ``(t/r)^0.4555``, the singularity of a sharp 90-degree corner, which no fillet
    exceeds in slope.

    References
    ----------
    Pilkey2008, chart 3.4
    Williams1952
    """
    return from_fit(TENSION, D, d, r)


def _mean_stress_ratios(
    sigma_a: ArrayLike, sigma_m: ArrayLike, S_e: ArrayLike, S_u: ArrayLike, S_y: ArrayLike
) -> tuple[Array, Array, Array]:
    """Amplitude over S_e, tensile mean over S_u and S_y; a pressing mean earns no credit."""
    amplitude = real("sigma_a", sigma_a, "MPa", least=0.0) / real("S_e", S_e, "MPa", over=0.0)
    pull = np.maximum(real("sigma_m", sigma_m, "MPa"), 0.0)
    on_u = pull / real("S_u", S_u, "MPa", over=0.0)
    on_y = pull / real("S_y", S_y, "MPa", over=0.0)
    amplitude, on_u, on_y = np.broadcast_arrays(amplitude, on_u, on_y)
    return amplitude, on_u, on_y


def goodman(
    sigma_a: ArrayLike, sigma_m: ArrayLike, S_e: ArrayLike, S_u: ArrayLike, S_y: ArrayLike
) -> Array:
    """Utilization by the straight line to the tensile strength, ``sigma_a/S_e + sigma_m/S_u``.

    Parameters
    ----------
    sigma_a : array_like
        Stress amplitude with the notch factor, not negative. [MPa]
    sigma_m : array_like
        Mean stress; a compressive one counts as zero. [MPa]
    S_e : array_like
        Corrected endurance limit, or the strength at the life asked for. [MPa]
    S_u : array_like
        Tensile strength. [MPa]
    S_y : array_like
        Yield strength; not used here, kept for one signature. [MPa]

    Returns
    -------
    utilization : ndarray
        One over the factor of safety. [1]

    Raises
    ------
    ModelError
        If a value is not finite, sigma_a is negative or a strength is not positive.

    References
    ----------
    Shigley-fatigue, fluctuating stress, modified Goodman
    """
    amplitude, on_u, _ = _mean_stress_ratios(sigma_a, sigma_m, S_e, S_u, S_y)
    utilization: Array = amplitude + on_u
    return utilization


def gerber(
    sigma_a: ArrayLike, sigma_m: ArrayLike, S_e: ArrayLike, S_u: ArrayLike, S_y: ArrayLike
) -> Array:
    """Utilization by the parabola to the tensile strength, ``n sigma_a/S_e + (n sigma_m/S_u)^2 =
    1``.

    Parameters
    ----------
    sigma_a : array_like
        Stress amplitude with the notch factor, not negative. [MPa]
    sigma_m : array_like
        Mean stress; a compressive one counts as zero. [MPa]
    S_e : array_like
        Corrected endurance limit, or the strength at the life asked for. [MPa]
    S_u : array_like
        Tensile strength. [MPa]
    S_y : array_like
        Yield strength; not used here, kept for one signature. [MPa]

    Returns
    -------
    utilization : ndarray
        One over the factor of safety. [1]

    Raises
    ------
    ModelError
        If a value is not finite, sigma_a is negative or a strength is not positive.

    Notes
    -----
    Drawn through tests on ductile steel; for a brittle blank Goodman is the safer line.

    References
    ----------
    Shigley-fatigue, fluctuating stress, Gerber
    """
    amplitude, on_u, _ = _mean_stress_ratios(sigma_a, sigma_m, S_e, S_u, S_y)
    utilization: Array = (amplitude + np.hypot(amplitude, 2.0 * on_u)) / 2.0
    return utilization


def elliptic(
    sigma_a: ArrayLike, sigma_m: ArrayLike, S_e: ArrayLike, S_u: ArrayLike, S_y: ArrayLike
) -> Array:
    """Utilization by the ellipse to the yield strength, ``sqrt((sigma_a/S_e)^2 +
    (sigma_m/S_y)^2)``.

    Parameters
    ----------
    sigma_a : array_like
        Stress amplitude with the notch factor, not negative. [MPa]
    sigma_m : array_like
        Mean stress; a compressive one counts as zero. [MPa]
    S_e : array_like
        Corrected endurance limit, or the strength at the life asked for. [MPa]
    S_u : array_like
        Tensile strength; not used here, kept for one signature. [MPa]
    S_y : array_like
        Yield strength. [MPa]

    Returns
    -------
    utilization : ndarray
        One over the factor of safety. [1]

    Raises
    ------
    ModelError
        If a value is not finite, sigma_a is negative or a strength is not positive.

    References
    ----------
    Shigley-fatigue, fluctuating stress, ASME elliptic
    """
    amplitude, _, on_y = _mean_stress_ratios(sigma_a, sigma_m, S_e, S_u, S_y)
    utilization: Array = np.hypot(amplitude, on_y)
    return utilization


def soderberg(
    sigma_a: ArrayLike, sigma_m: ArrayLike, S_e: ArrayLike, S_u: ArrayLike, S_y: ArrayLike
) -> Array:
    """Utilization by the straight line to the yield strength, ``sigma_a/S_e + sigma_m/S_y``.

    Parameters
    ----------
    sigma_a : array_like
        Stress amplitude with the notch factor, not negative. [MPa]
    sigma_m : array_like
        Mean stress; a compressive one counts as zero. [MPa]
    S_e : array_like
        Corrected endurance limit, or the strength at the life asked for. [MPa]
    S_u : array_like
        Tensile strength; not used here, kept for one signature. [MPa]
    S_y : array_like
        Yield strength. [MPa]

    Returns
    -------
    utilization : ndarray
        One over the factor of safety. [1]

    Raises
    ------
    ModelError
        If a value is not finite, sigma_a is negative or a strength is not positive.

    References
    ----------
    Shigley-fatigue, fluctuating stress, Soderberg
    """
    amplitude, _, on_y = _mean_stress_ratios(sigma_a, sigma_m, S_e, S_u, S_y)
    utilization: Array = amplitude + on_y
    return utilization


def walker(sigma_a: ArrayLike, sigma_m: ArrayLike, gamma: ArrayLike) -> Array:
    """Fully reversed amplitude that does the same damage, ``sigma_max^(1-gamma) sigma_a^gamma``.

    Parameters
    ----------
    sigma_a : array_like
        Stress amplitude, not negative. [MPa]
    sigma_m : array_like
        Mean stress; a compressive one counts as zero. [MPa]
    gamma : array_like
        Walker's exponent, 0 to 1; smaller in harder steel (more harm from the mean). [1]

    Returns
    -------
    sigma_ar : ndarray
        Equivalent amplitude at zero mean. [MPa]

    Raises
    ------
    ModelError
        If a value is not finite, sigma_a is negative or gamma lies outside [0, 1].

    References
    ----------
    Walker1970, effect of the stress ratio
    """
    sigma_a = real("sigma_a", sigma_a, "MPa", least=0.0)
    gamma = real("gamma", gamma, "1", least=0.0, most=1.0)
    sigma_max = sigma_a + np.maximum(real("sigma_m", sigma_m, "MPa"), 0.0)
    sigma_ar: Array = sigma_max ** (1.0 - gamma) * sigma_a**gamma
    return sigma_ar


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
    T: Array = (
        np.pi / 12.0 * real("d", d, "mm", over=0.0) ** 3 * real("tau_u", tau_u, "MPa", over=0.0)
    )
    return T


#: The polynomials below are printed in kpsi and sqrt(inch). [MPa]
_KPSI = units.factor("ksi", "stress")

#: sqrt(a) in sqrt(inch), powers of S_ut in kpsi
NEUBER_BENDING = (0.246, -3.08e-3, 1.51e-5, -2.67e-8)

NEUBER_TORSION = (0.190, -2.51e-3, 1.35e-5, -2.67e-8)  #: the same for torsion

_NEUBER_RANGE = {"bending": (50.0 * _KPSI, 250.0 * _KPSI), "torsion": (50.0 * _KPSI, 220.0 * _KPSI)}


def _neuber_root(S_ut: ArrayLike, coefficients: tuple[float, ...], load: str) -> Array:
    S = real("S_ut", S_ut, "MPa")
    low, high = _NEUBER_RANGE[load]
    bad = (low > S) | (high < S)
    if bad.any():
        raise ModelError(
            f"Neuber's polynomial for {load} holds for S_ut {low:.0f} to {high:.0f} MPa, got"
            f" {np.extract(bad, S)[0]:g} MPa (negative for hard steel); use"
            " notch_sensitivity_peterson"
        )
    root_a: Array = np.polynomial.polynomial.polyval(S / _KPSI, coefficients) * np.sqrt(units.IN)
    return root_a


def neuber_root_a_bending(S_ut: ArrayLike) -> Array:
    """Square root of Neuber's length for steel in bending or tension, by the printed cubic.

    Parameters
    ----------
    S_ut : array_like
        Tensile strength, 345 to 1724 MPa (50 to 250 kpsi). [MPa]

    Returns
    -------
    root_a : ndarray
        Square root of Neuber's length a, where a is in [mm]

    Raises
    ------
    ModelError
        If any S_ut lies outside the range of the fit; past 1755 MPa the cubic is negative.

    References
    ----------
    Shigley-fatigue, notch sensitivity, cubic in S_ut
    """
    return _neuber_root(S_ut, NEUBER_BENDING, "bending")


def neuber_root_a_torsion(S_ut: ArrayLike) -> Array:
    """Square root of Neuber's length for steel in torsion, by the printed cubic.

    Parameters
    ----------
    S_ut : array_like
        Tensile strength, 345 to 1517 MPa (50 to 220 kpsi). [MPa]

    Returns
    -------
    root_a : ndarray
        Square root of Neuber's length a, where a is in [mm]

    Raises
    ------
    ModelError
        If any S_ut lies outside the range of the fit; past 1610 MPa the cubic is negative.

    References
    ----------
    Shigley-fatigue, notch sensitivity, cubic in S_ut
    """
    return _neuber_root(S_ut, NEUBER_TORSION, "torsion")


def notch_sensitivity_neuber(r: ArrayLike, S_ut: ArrayLike, torsion: bool = False) -> Array:
    """Notch sensitivity by Neuber, ``q = 1 / (1 + sqrt(a) / sqrt(r))``.

    Parameters
    ----------
    r : array_like
        Notch radius. [mm]
    S_ut : array_like
        Tensile strength, within the range of the cubic. [MPa]
    torsion : bool
        Take the cubic for torsion. [1]

    Returns
    -------
    q : ndarray
        Notch sensitivity, 0 to 1. [1]

    Raises
    ------
    ModelError
        If r is not positive or S_ut lies outside the range of the cubic.

    References
    ----------
    Shigley-fatigue, notch sensitivity, Neuber's equation
    """
    root_a = neuber_root_a_torsion(S_ut) if torsion else neuber_root_a_bending(S_ut)
    q: Array = 1.0 / (1.0 + root_a / np.sqrt(real("r", r, "mm", over=0.0)))
    return q


def marin_size(d: ArrayLike) -> Array:
    """Size factor of a round bar turning in bending, ``k_b = (d / 7.62)^-0.107``, never above 1.

    The fit is printed for 2.79 to 51 mm. It is not carried below, and the credit it gives between
    2.79 and 7.62 mm (up to 1.11) is not taken.

    Parameters
    ----------
    d : array_like
        Diameter, up to 51 mm. [mm]

    Returns
    -------
    k_b : ndarray
        Size factor, 1 for a small neck. [1]

    Raises
    ------
    ModelError
        If d is not positive or above 51 mm.

    References
    ----------
    Shigley-fatigue, size factor

    Examples
    --------
    >>> marin_size(2.0).item()
    1.0
    """
    d = real("d", d, "mm", over=0.0, most=51.0)
    k_b: Array = np.minimum((d / 7.62) ** -0.107, 1.0)
    return k_b


def finite_life(sigma_a: ArrayLike, a: ArrayLike, b: ArrayLike) -> Array:
    """Cycles to failure on the line ``sigma_a = a N^b``; meant for 1000 to a million cycles.

    Parameters
    ----------
    sigma_a : array_like
        Fully reversed stress amplitude, > 0. [MPa]
    a : array_like
        Amplitude where the line meets one cycle. [MPa]
    b : array_like
        Exponent, negative. [1]

    Returns
    -------
    N : ndarray
        Cycles. [1]

    Raises
    ------
    ModelError
        If a value is out of range or the life is beyond counting.

    References
    ----------
    Shigley-fatigue, finite life between 10^3 and 10^6 cycles
    """
    ratio = real("sigma_a", sigma_a, "MPa", over=0.0) / real("a", a, "MPa", over=0.0)
    slope = real("-b", -np.asarray(b, dtype=float), "1", over=0.0)
    with np.errstate(over="ignore"):
        N: Array = ratio ** (-1.0 / slope)
    return real("N", N, "1")

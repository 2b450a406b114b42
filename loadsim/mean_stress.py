"""What a mean stress takes from the amplitude that the blank bears."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numpy.typing import ArrayLike

from loadsim.bounds import real

Array = npt.NDArray[np.float64]


def _mean_stress_ratios(
    sigma_a: ArrayLike, sigma_m: ArrayLike, S_e: ArrayLike, S_u: ArrayLike, S_y: ArrayLike
) -> tuple[Array, Array, Array]:
    """Return amplitude over S_e and tensile mean over S_u and S_y; a pressing mean earns no credit."""
    amplitude = real("sigma_a", sigma_a, "MPa", least=0.0) / real("S_e", S_e, "MPa", over=0.0)
    pull = np.maximum(real("sigma_m", sigma_m, "MPa"), 0.0)
    on_u, on_y = pull / real("S_u", S_u, "MPa", over=0.0), pull / real("S_y", S_y, "MPa", over=0.0)
    amplitude, on_u, on_y = np.broadcast_arrays(amplitude, on_u, on_y)
    return amplitude, on_u, on_y


def goodman(sigma_a: ArrayLike, sigma_m: ArrayLike, S_e: ArrayLike, S_u: ArrayLike, S_y: ArrayLike) -> Array:
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


def gerber(sigma_a: ArrayLike, sigma_m: ArrayLike, S_e: ArrayLike, S_u: ArrayLike, S_y: ArrayLike) -> Array:
    """Utilization by the parabola to the tensile strength, ``n sigma_a/S_e + (n sigma_m/S_u)^2 = 1``.

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


def elliptic(sigma_a: ArrayLike, sigma_m: ArrayLike, S_e: ArrayLike, S_u: ArrayLike, S_y: ArrayLike) -> Array:
    """Utilization by the ellipse to the yield strength, ``sqrt((sigma_a/S_e)^2 + (sigma_m/S_y)^2)``.

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


def smith_watson_topper(sigma_a: ArrayLike, sigma_m: ArrayLike) -> Array:
    """Fully reversed amplitude that does the same damage, ``sqrt(sigma_max sigma_a)``.

    Parameters
    ----------
    sigma_a : array_like
        Stress amplitude, not negative. [MPa]
    sigma_m : array_like
        Mean stress; a compressive one counts as zero. [MPa]

    Returns
    -------
    sigma_ar : ndarray
        Equivalent amplitude at zero mean. [MPa]

    Raises
    ------
    ModelError
        If a value is not finite or sigma_a is negative.

    References
    ----------
    SmithWatsonTopper1970, stress-strain function
    """
    sigma_a = real("sigma_a", sigma_a, "MPa", least=0.0)
    pull = np.maximum(real("sigma_m", sigma_m, "MPa"), 0.0)
    sigma_ar: Array = np.sqrt((sigma_a + pull) * sigma_a)
    return sigma_ar

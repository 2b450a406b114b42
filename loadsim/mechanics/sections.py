"""mechanics/sections"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.numbers import Array
from loadsim.base.ranges import between, finite, positive

# --- checks of input
# --------------------------------------------------------------------------------


def check_poisson(nu: ArrayLike) -> Array:
    return between("nu", nu, "", 0.0, 0.5, "between 0 and 0.5")


# --- round sections
# ---------------------------------------------------------------------------------


def area(d: ArrayLike) -> Array:
    """Area of a round section.

    Parameters
    ----------
    d : array_like, shape (...,)
        Diameter. [mm]

    Returns
    -------
    A : ndarray, shape (...,)
        ``pi d^2 / 4``. [mm^2]

    Raises
    ------
    ModelError
        If any d is not finite or not > 0 (a ValueError).
    """
    return np.asarray(np.pi / 4 * positive("d", d) ** 2)


def second_moment(d: ArrayLike) -> Array:
    """Second moment of area of a round section about a diameter.

    Parameters
    ----------
    d : array_like, shape (...,)
        Diameter. [mm]

    Returns
    -------
    I : ndarray, shape (...,)
        ``pi d^4 / 64``. [mm^4]

    Raises
    ------
    ModelError
        If any d is not finite or not > 0 (a ValueError).
    """
    return np.asarray(np.pi / 64 * positive("d", d) ** 4)


def section_modulus(d: ArrayLike) -> Array:
    """Section modulus of a round section in bending.

    Parameters
    ----------
    d : array_like, shape (...,)
        Diameter. [mm]

    Returns
    -------
    W : ndarray, shape (...,)
        ``pi d^3 / 32``. [mm^3]

    Raises
    ------
    ModelError
        If any d is not finite or not > 0 (a ValueError).
    """
    return np.asarray(np.pi / 32 * positive("d", d) ** 3)


def polar_section_modulus(d: ArrayLike) -> Array:
    """Section modulus of a round section in torsion.

    Parameters
    ----------
    d : array_like, shape (...,)
        Diameter. [mm]

    Returns
    -------
    W_p : ndarray, shape (...,)
        ``pi d^3 / 16``. [mm^3]

    Raises
    ------
    ModelError
        If any d is not finite or not > 0 (a ValueError).
    """
    return np.asarray(np.pi / 16 * positive("d", d) ** 3)


def shear_coefficient_round(nu: ArrayLike) -> Array:
    """Timoshenko's shear coefficient of a solid round section.

    ``kappa = 6 (1 + nu) / (7 + 6 nu)``

    Parameters
    ----------
    nu : array_like, shape (...,)
        Poisson's ratio, between 0 and 0.5. [1]

    Returns
    -------
    kappa : ndarray, shape (...,)
        Shear coefficient. [1]

    Raises
    ------
    ModelError
        If any nu lies outside 0 to 0.5 (a ValueError).

    References
    ----------
    Cowper1966, circle

    Examples
    --------
    >>> round(shear_coefficient_round(0.30).item(), 4)
    0.8864
    """
    nu = check_poisson(nu)
    return np.asarray(6 * (1 + nu) / (7 + 6 * nu))


# --- stress at a point
# ------------------------------------------------------------------------------


def largest_principal(sigma: ArrayLike, tau: ArrayLike) -> Array:
    """Largest principal stress of one normal and one shear stress.

    ``sigma/2 + sqrt((sigma/2)^2 + tau^2)``

    Parameters
    ----------
    sigma : array_like, shape (...,)
        Normal stress, tension positive. [MPa]
    tau : array_like, broadcastable to sigma
        Shear stress. [MPa]

    Returns
    -------
    sigma_1 : ndarray, shape of the inputs broadcast together
        Largest principal stress. [MPa]

    Raises
    ------
    ModelError
        If an input is not finite (a ValueError).
    """
    half = finite("sigma", sigma, " MPa") / 2
    return np.asarray(half + np.hypot(half, finite("tau", tau, " MPa")))


def von_mises(sigma: ArrayLike, tau: ArrayLike) -> Array:
    """Equivalent stress of one normal and one shear stress by the distortion energy.

    ``sqrt(sigma^2 + 3 tau^2)``

    Parameters
    ----------
    sigma : array_like, shape (...,)
        Normal stress. [MPa]
    tau : array_like, broadcastable to sigma
        Shear stress. [MPa]

    Returns
    -------
    sigma_v : ndarray, shape of the inputs broadcast together
        Equivalent stress. [MPa]

    Raises
    ------
    ModelError
        If an input is not finite (a ValueError).
    """
    return np.asarray(
        np.hypot(finite("sigma", sigma, " MPa"), math.sqrt(3) * finite("tau", tau, " MPa"))
    )

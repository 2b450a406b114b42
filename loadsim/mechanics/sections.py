"""Round sections: area and moduli, and the stress that bending and torsion make together."""

from __future__ import annotations

import functools
import math

import numpy as np

from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import Range, above_zero, any_finite, between, takes

#: Range of Poisson's ratio of a metal; the ends are left out. [1]
POISSON: Range = functools.partial(between, unit="", low=0.0, high=0.5, allowed="between 0 and 0.5")


# --- round sections
# ---------------------------------------------------------------------------------


@takes(d=above_zero("mm"))
def area(d: Reals) -> Array:
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
    return np.asarray(np.pi / 4 * d**2)


@takes(d=above_zero("mm"))
def second_moment(d: Reals) -> Array:
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
    return np.asarray(np.pi / 64 * d**4)


@takes(d=above_zero("mm"))
def section_modulus(d: Reals) -> Array:
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
    return np.asarray(np.pi / 32 * d**3)


@takes(d=above_zero("mm"))
def polar_section_modulus(d: Reals) -> Array:
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
    return np.asarray(np.pi / 16 * d**3)


@takes(nu=POISSON)
def shear_coefficient_round(nu: Reals) -> Array:
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
    return np.asarray(6 * (1 + nu) / (7 + 6 * nu))


# --- stress at a point
# ------------------------------------------------------------------------------


@takes(sigma=any_finite("MPa"), tau=any_finite("MPa"))
def largest_principal(sigma: Reals, tau: Reals) -> Array:
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
    half = sigma / 2
    return np.asarray(half + np.hypot(half, tau))


@takes(sigma=any_finite("MPa"), tau=any_finite("MPa"))
def von_mises(sigma: Reals, tau: Reals) -> Array:
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
    return np.asarray(np.hypot(sigma, math.sqrt(3) * tau))

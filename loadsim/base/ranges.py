"""Checks of the numbers that come into a physics room: finite, and within their bounds."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.errors import ModelError
from loadsim.base.numbers import Array


def real(
    name: str,
    value: ArrayLike,
    unit: str,
    *,
    over: float = -np.inf,
    least: float = -np.inf,
    most: float = np.inf,
    below: float = np.inf,
) -> Array:
    """Return value as floats, or say which number breaks which bound.

    Parameters
    ----------
    name : str
        What to call the value in the message.
    value : array_like
        Numbers, all of them finite.
    unit : str
        Unit of the value, for the message.
    over : float
        Every number must be above it.
    least : float
        Every number must be at least this.
    most : float
        Every number must be at most this.
    below : float
        Every number must be below it.

    Returns
    -------
    x : ndarray
        The value as floats.

    Raises
    ------
    ModelError
        If any number is not finite or breaks a bound (a ValueError).
    """
    x = np.asarray(value, dtype=float)
    bad = ~(np.isfinite(x) & (x > over) & (x >= least) & (x <= most) & (x < below))
    if bad.any():
        bounds = {">": over, ">=": least, "<=": most, "<": below}
        rule = " and ".join(
            ["finite", *(f"{sign} {v:g}" for sign, v in bounds.items() if np.isfinite(v))]
        )
        raise ModelError(f"{name} must be {rule} [{unit}], got {np.extract(bad, x)[0]:g}")
    return x


def between(name: str, value: ArrayLike, unit: str, low: float, high: float, allowed: str) -> Array:
    """Return value as floats, every one above low and below high.

    Parameters
    ----------
    name : str
        What to call the value in the message.
    value : array_like
        Numbers.
    unit : str
        Unit with a blank before it, for the message.
    low : float
        Every number must be above it.
    high : float
        Every number must be below it.
    allowed : str
        The same in words.

    Returns
    -------
    a : ndarray
        The value as floats.

    Raises
    ------
    ModelError
        If any number is out of bounds or not a number (a ValueError).
    """
    a = np.asarray(value, dtype=np.float64)
    if a.size and not (a.min() > low and a.max() < high):  # min and max see a NaN too
        bad = a[~((a > low) & (a < high))].flat[0]
        raise ModelError(f"{name} is {bad:g}{unit}; allowed is {allowed}{unit}")
    return a


def positive(name: str, value: ArrayLike, unit: str = " mm") -> Array:
    """Return value as floats, every one finite and above 0.

    Parameters
    ----------
    name : str
        What to call the value in the message.
    value : array_like
        Numbers.
    unit : str
        Unit with a blank before it, for the message.

    Returns
    -------
    a : ndarray
        The value as floats.

    Raises
    ------
    ModelError
        If any number is not finite and above 0 (a ValueError).
    """
    return between(name, value, unit, 0.0, math.inf, "a finite number > 0")


def not_negative(name: str, value: ArrayLike, unit: str = " mm") -> Array:
    """Return value as floats, every one finite and not below 0.

    Parameters
    ----------
    name : str
        What to call the value in the message.
    value : array_like
        Numbers.
    unit : str
        Unit with a blank before it, for the message.

    Returns
    -------
    a : ndarray
        The value as floats.

    Raises
    ------
    ModelError
        If any number is not finite and not below 0 (a ValueError).
    """
    return between(name, value, unit, -5e-324, math.inf, "a finite number >= 0")


def finite(name: str, value: ArrayLike, unit: str) -> Array:
    """Return value as floats, every one finite.

    Parameters
    ----------
    name : str
        What to call the value in the message.
    value : array_like
        Numbers.
    unit : str
        Unit with a blank before it, for the message.

    Returns
    -------
    a : ndarray
        The value as floats.

    Raises
    ------
    ModelError
        If any number is not finite (a ValueError).
    """
    return between(name, value, unit, -math.inf, math.inf, "a finite number")

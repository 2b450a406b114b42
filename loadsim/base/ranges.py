"""Checks of the numbers that come into a physics room: finite, and within their bounds.

A formula declares the range of what it `takes`. A chain that has checked its numbers once runs
`trusted`: the formulas under it do not ask again.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, ParamSpec, TypeVar

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


#: A declared range: told the name and the value of an argument, it refuses or gives the floats.
Range = Callable[[str, ArrayLike], Array]

P = ParamSpec("P")
R = TypeVar("R")

# of this thread and this task alone: another thread checks until it is trusted itself
_TRUSTED: ContextVar[bool] = ContextVar("trusted", default=False)


@contextmanager
def trusted() -> Iterator[None]:
    """Skip the ranges declared by `takes`: the numbers were checked where they came in.

    What a formula checks in its body, a number worked out on the way, is checked all the same.
    """
    token = _TRUSTED.set(True)
    try:
        yield
    finally:
        _TRUSTED.reset(token)


def takes(**ranges: Range) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Declare the range of a formula's arguments; the formula gets them as arrays of floats.

    Parameters
    ----------
    **ranges : Range
        For each argument, in the order in which they are checked; a default that was not given is
        not checked.

    Returns
    -------
    decorate : callable
        Its formula raises ModelError for a number out of range, but not while `trusted`.
    """

    def decorate(formula: Callable[P, R]) -> Callable[P, R]:
        # read off the code: a signature takes long enough to be felt when a command starts
        code = formula.__code__
        parameters = code.co_varnames[: code.co_argcount + code.co_kwonlyargcount]
        places = [(parameters.index(name), name, within) for name, within in ranges.items()]
        call: Callable[..., R] = formula

        @functools.wraps(formula)
        def guarded(*args: P.args, **kwargs: P.kwargs) -> R:
            values: list[Any] = list(args)
            named: dict[str, Any] = dict(kwargs)
            for place, name, within in places:
                if place < len(values):
                    values[place] = _taken(within, name, values[place])
                elif name in named:
                    named[name] = _taken(within, name, named[name])
            return call(*values, **named)

        return guarded

    return decorate


def _taken(within: Range, name: str, value: ArrayLike) -> Array:
    return np.asarray(value, float) if _TRUSTED.get() else within(name, value)


def must_be(
    unit: str,
    *,
    over: float = -np.inf,
    least: float = -np.inf,
    most: float = np.inf,
    below: float = np.inf,
) -> Range:
    """Declare a range by its bounds, as `real` takes them.

    Parameters
    ----------
    unit : str
        Unit of the argument.
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
    within : Range
    """
    return functools.partial(real, unit=unit, over=over, least=least, most=most, below=below)


def above_zero(unit: str = "mm") -> Range:
    """Declare a range of finite numbers over 0.

    Parameters
    ----------
    unit : str
        Unit of the argument, "" without one.

    Returns
    -------
    within : Range
    """
    return functools.partial(positive, unit=f" {unit}".rstrip())


def from_zero(unit: str = "mm") -> Range:
    """Declare a range of finite numbers from 0 on.

    Parameters
    ----------
    unit : str
        Unit of the argument, "" without one.

    Returns
    -------
    within : Range
    """
    return functools.partial(not_negative, unit=f" {unit}".rstrip())


def any_finite(unit: str) -> Range:
    """Declare a range of all finite numbers.

    Parameters
    ----------
    unit : str
        Unit of the argument, "" without one.

    Returns
    -------
    within : Range
    """
    return functools.partial(finite, unit=f" {unit}".rstrip())

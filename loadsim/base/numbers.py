"""Array types, and rounding: numbers as an answer shows them, to the figures that they earn."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

#: What a formula takes: one number, or as many as an array is long; `ranges.takes` makes it floats.
Reals: TypeAlias = Any

Index = npt.NDArray[np.intp]


def two_figures_down(x: float) -> float:
    """Round down to two significant figures, as a speed or feed is set.

    Parameters
    ----------
    x : float
        Above zero.

    Returns
    -------
    rounded : float

    Examples
    --------
    >>> two_figures_down(3579.0), two_figures_down(0.0467)
    (3500.0, 0.046)
    """
    step = 10.0 ** (math.floor(math.log10(x)) - 1)
    return float(f"{math.floor(x / step * (1 + 1e-12)) * step:.12g}")


def plain(value: Any) -> Any:
    """Turn dataclasses and tuples into dicts and lists, and refuse what is not finite."""
    if hasattr(value, "__dataclass_fields__"):
        return {name: plain(getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, dict):
        return {k: plain(v) for k, v in value.items()}
    if isinstance(value, tuple | list):
        return [plain(v) for v in value]
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError("a result is not a finite number")
    return value


def tidy(x: float) -> float:
    """Drop the noise of conversion behind the ninth figure."""
    return float(f"{x:.9g}")


#: Sizes are rounded to this, to the safe side. [mm]
STEP = 0.01


def step_up(x: float) -> float:
    return round(math.ceil(x / STEP - 1e-9) * STEP, 9)


def step_down(x: float) -> float:
    return round(math.floor(x / STEP + 1e-9) * STEP, 9)


def earned_digits(p: float, half: float) -> int:
    """How many significant digits a probability earns from the half width of its interval.

    Parameters
    ----------
    p : float
        Probability. [1]
    half : float
        Half width of its interval. [1]

    Returns
    -------
    digits : int
        1 to 3.

    Examples
    --------
    >>> earned_digits(0.0123, 0.0005), earned_digits(0.0123, 0.02)
    (3, 1)
    """
    if p <= 0 or half <= 0:
        return 1
    return min(max(math.floor(math.log10(p)) - math.floor(math.log10(half)) + 1, 1), 3)


def outward(x: float, way: Callable[[float], int]) -> float:
    """Round an end of an interval to two figures, never inward."""
    if x <= 0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(x)) - 1)
    return float(f"{way(x / step) * step:.3g}")


def rounded(x: float, digits: int) -> float:
    return float(f"{x:.{digits - 1}e}")

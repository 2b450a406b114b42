"""Where a rising function passes zero, with few looks at it.

Our own: a library's search ends at a point of its own, not at one that is the same whatever it
looked at, and importing one takes a fifth of a whole check.
"""

from __future__ import annotations

import math
from collections.abc import Callable

#: Every so many looks the bracket is halved, whatever the curve through the last ones says. [1]
HALVED = 4


def last_under(
    f: Callable[[float], float],
    low: float,
    high: float,
    ends: tuple[float, float],
    within: float,
    guess: float | None = None,
) -> float:
    """Largest x with f(x) <= 0 among the points that halvings of [low, high] reach.

    The point that a bisection ends at, bit for bit, in about half as many looks: a parabola through
    the values nearest zero says where to look next.

    Parameters
    ----------
    f : callable
        Rising; may be minus infinity.
    low, high : float
        Positive.
    ends : tuple of float
        f at both, over zero at the upper one only.
    within : float
        Halvings are done when upper over lower end is at most this. [1]
    guess : float, optional
        Where to look first; it changes how many looks are taken, not where they end.

    Returns
    -------
    x : float
        The lower end itself where nothing over it is under zero.
    """
    places = 1
    while math.log(high / low) > places * math.log(within):
        places *= 2
    under = 0
    over = places
    seen = dict(zip((under, over), ends, strict=True))
    first = None if guess is None else places * math.log(guess / low) / math.log(high / low)
    while over - under > 1:
        halve = len(seen) % HALVED == 1
        near = None if halve else _crossing(seen)
        if first is not None and len(seen) == len(ends):
            near = first
        if near is None or not under <= near <= over:
            near = (under + over) / 2
        place = min(max(math.floor(near), under + 1), over - 1)
        seen[place] = f(_point(low, high, place, places))
        if seen[place] > 0:
            over = place
        else:
            under = place
    return _point(low, high, under, places)


def _point(low: float, high: float, place: int, places: int) -> float:
    """Point number `place` of the evenly spaced ones in ln x, by the halvings that lead to it."""
    if place == 0:
        return low
    half = places // 2
    middle = math.sqrt(low * high)
    if place == half:
        return middle
    if place < half:
        return _point(low, middle, place, half)
    return _point(middle, high, place - half, half)


def _crossing(seen: dict[int, float]) -> float | None:
    """Place where x, as a parabola of the three values nearest zero, is met; None when it cannot be
    told.
    """
    finite = [(abs(y), y, x) for x, y in seen.items() if math.isfinite(y)]
    nearest = [(y, x) for _, y, x in sorted(finite)[:3]]
    values = {y for y, _ in nearest}
    if len(nearest) < 2 or len(values) < len(nearest):
        return None
    return sum(
        x * math.prod(other / (other - y) for other in values if other != y) for y, x in nearest
    )

"""Where a rising function passes zero."""

from __future__ import annotations

import math
from collections.abc import Callable
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadsim.base.roots import last_under


def bisected(f: Callable[[float], float], low: float, high: float) -> float:
    """The plain way."""
    while high / low > 1.002:
        middle = math.sqrt(low * high)
        if f(middle) > 0:
            high = middle
        else:
            low = middle
    return low


@pytest.mark.independent("a plain bisection")
@given(
    low=st.floats(1e-3, 0.02),
    ratio=st.floats(1.0021, 30.0),
    at=st.floats(0.0, 1.0),
    slope=st.floats(0.3, 10.0),
    asked=st.floats(1e-5, 0.1),
    digits=st.integers(2, 6),
)
def test_it_ends_where_a_bisection_ends_bit_for_bit(
    low: float, ratio: float, at: float, slope: float, asked: float, digits: int
) -> None:
    normal = NormalDist()
    root = low * ratio**at
    high = low * ratio

    def chance(x: float) -> float:  # of a margin that grows with ln x, in the digits shown
        p = normal.cdf(normal.inv_cdf(asked) + slope * math.log(x / root))
        return float(f"{p:.{digits}g}")

    def over(x: float) -> float:
        p = chance(x)
        return math.log(p / asked) if p > 0 else -math.inf

    if over(low) > 0 or over(high) <= 0:
        return
    looks: list[float] = []

    def looked(x: float) -> float:
        looks.append(x)
        return over(x)

    found = last_under(looked, low, high, (over(low), over(high)), 1.002)
    assert found == bisected(over, low, high)
    assert len(looks) <= 18
    # a guess, good or bad, moves no end
    for guess in (low, math.sqrt(low * high), found * 1.003, high):
        assert last_under(over, low, high, (-math.inf, over(high)), 1.002, guess) == found


@pytest.mark.closed_form("ln x is a straight line over ln x: one look below, one above")
def test_a_straight_line_takes_a_few_looks() -> None:
    looks: list[float] = []

    def f(x: float) -> float:
        looks.append(x)
        return math.log(x / 0.0123)

    found = last_under(f, 0.004, 0.04, (math.log(0.004 / 0.0123), math.log(0.04 / 0.0123)), 1.002)
    assert found <= 0.0123 < found * 1.002
    assert len(looks) <= 4


@pytest.mark.parametrize("step", [0.3, 0.77, 0.999])
def test_a_step_is_found_too(step: float) -> None:
    def f(x: float) -> float:
        return 1.0 if x > step else -math.inf

    found = last_under(f, 0.1, 1.0, (-math.inf, 1.0), 1.002)
    assert found == bisected(f, 0.1, 1.0)


def test_ends_that_are_near_enough_need_no_look() -> None:
    def f(x: float) -> float:
        raise AssertionError

    assert last_under(f, 1.0, 1.001, (-1.0, 1.0), 1.002) == 1.0

"""Gauges: intervals against scipy's, sizes worked by hand, and a go and no-go that never pass a bad
slot.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from loadsim.base.errors import ModelError
from loadsim.mechanics.gauging import (
    CLASSES,
    PROUD,
    counted,
    lying_pin,
    methods,
    out_of_tolerance,
    pair,
    size_down,
    size_up,
)

IN = 25.4


@pytest.mark.independent("scipy.stats.binomtest, method exact")
@pytest.mark.parametrize(("hits", "n"), [(0, 4096), (3, 50), (50, 50), (1, 1), (2048, 4096)])
def test_the_interval_is_the_exact_binomial_one(hits: int, n: int) -> None:
    """scipy.stats.binomtest, method exact, is Clopper and Pearson's."""
    found = counted(hits, n)
    exact = stats.binomtest(hits, n).proportion_ci(0.95, "exact")
    assert (found.p, found.low, found.high) == pytest.approx(
        (hits / n, exact.low, exact.high), rel=1e-9
    )


@pytest.mark.closed_form("1 - 0.025^(1/n) (ClopperPearson1934)")
def test_no_hit_is_not_no_chance() -> None:
    """The rule for none of n: 1 - 0.025^(1/n), about 3.7/n."""
    assert counted(0, 4096).high == pytest.approx(1 - 0.025 ** (1 / 4096), rel=1e-9)


@pytest.mark.parametrize(("hits", "n"), [(-1, 5), (6, 5), (0, 0)])
def test_impossible_counts_are_refused(hits: int, n: int) -> None:
    with pytest.raises(ModelError, match="allowed is 0 to n"):
        counted(hits, n)


@pytest.mark.independent("scipy.stats.norm")
def test_chance_of_a_normal_width_is_that_of_the_normal_law() -> None:
    """N(10.42, 0.05) against 10.4 plus and minus 0.1, on 20,000 evenly spread quantiles: exact to one in 20,000."""
    n = 20_000
    mu = 10.42
    sd = 0.05
    width = stats.norm.ppf((np.arange(n) + 0.5) / n, mu, sd)
    under, over, out = out_of_tolerance(width, width, 10.3, 10.5)
    below = stats.norm.cdf(10.3, mu, sd)
    above = stats.norm.sf(10.5, mu, sd)
    assert under.p == pytest.approx(below, abs=1 / n)
    assert over.p == pytest.approx(above, abs=1 / n)
    assert out.p == pytest.approx(below + above, abs=2 / n)


def test_a_leaning_wall_can_be_out_on_both_sides_and_counts_once() -> None:
    under, over, out = out_of_tolerance([9.0, 10.0], [11.0, 10.0], 9.5, 10.5)
    assert (under.p, over.p, out.p) == (0.5, 0.5, 0.5)


def test_a_width_that_is_not_a_number_is_an_error() -> None:
    with pytest.raises(ModelError, match="narrowest"):
        out_of_tolerance([np.nan], [1.0], 0.9, 1.1)


def test_grid_sizes() -> None:
    assert size_up(10.304, 0.01) == 10.31
    assert size_down(10.497, 0.01) == 10.49
    assert size_up(0.606 * IN, 0.001 * IN) == pytest.approx(0.606 * IN)  # a size on the grid stays
    assert size_down(0.6149 * IN, 0.001 * IN) == pytest.approx(0.614 * IN)


@pytest.mark.closed_form("a tenth of the whole tolerance, half of it each, against ASMEB89Pins")
@pytest.mark.parametrize(
    ("low", "high", "go", "no_go", "grade"),
    [  # by hand: a tenth of the whole tolerance, half of it each, against ASMEB89Pins
        (10.30, 10.50, 10.30, 10.50, "ZZ"),  # 0.0100 each: ZZ takes 0.00508
        (10.35, 10.45, 10.35, 10.45, "Z"),  # 0.0050 each: just under ZZ; Z takes 0.00254
        (10.304, 10.497, 10.31, 10.49, "ZZ"),  # 0.00965 each; rounded inward
        (10.375, 10.425, 10.38, 10.42, "Y"),  # 0.0025 each: Z takes 0.00254, Y takes 0.00178
    ],
)  # fmt: skip
def test_pairs_worked_by_hand(low: float, high: float, go: float, no_go: float, grade: str) -> None:
    found = pair(low, high, 0.01)
    assert (found.go, found.no_go) == (go, no_go)
    assert found.grade == grade
    assert dict(CLASSES)[found.grade] <= 0.05 * (high - low)


@pytest.mark.published("ASMEB89Pins, 0.010 to 0.825 in, classes XX to ZZ", read="memory (high)")
def test_class_bands_are_those_of_the_table() -> None:
    """ASMEB89Pins, 0.010 to 0.825 in, in millionths of an inch."""
    assert [(n, round(b / IN * 1e6)) for n, b in CLASSES] == [
        ("XX", 20),
        ("X", 40),
        ("Y", 70),
        ("Z", 100),
        ("ZZ", 200),
    ]


def test_a_tolerance_too_fine_for_pins_says_so() -> None:
    found = pair(10.395, 10.405, 0.001)  # a twentieth is 0.0005 mm, XX takes 0.000508
    assert found.grade == "" and "measure the width" in found.notes[0]
    with pytest.raises(ModelError, match="no two sizes"):
        pair(10.401, 10.409, 0.01)


@given(
    low=st.floats(1.0, 20.0),
    tolerance=st.floats(0.03, 1.0),
    width=st.floats(0.0, 1.0),
    error=st.tuples(st.floats(0, 1), st.floats(0, 1)),
)
def test_no_bad_slot_passes_both_gauges(
    low: float, tolerance: float, width: float, error: tuple[float, float]
) -> None:
    """Whatever the pins' errors within their band and side: go enters and no-go does not means within tolerance."""
    high = low + tolerance
    p = pair(low, high, 0.01)
    slot = low - tolerance + 3 * tolerance * width
    enters = slot >= p.go + error[0] * p.band
    stopped = slot < p.no_go - error[1] * p.band
    if enters and stopped:
        assert low - 1e-7 <= slot <= high + 1e-7
    if low + (p.go - low) + p.band <= slot < high - (high - p.no_go) - p.band:
        assert enters and stopped  # and a slot well inside is not refused


@pytest.mark.closed_form("ledge (w - throat)/2, gap w - 2 pins")
def test_pins_and_gap_by_hand() -> None:
    """10.4 +-0.1 over a 6.2 throat, 2.6 high: ledge (10.5 - 6.2)/2 = 2.15, pin 2.35, gap 10.3 - 4.7 = 5.6 to 5.8."""
    found, _ = methods(10.3, 10.5, 6.2, 2.6, 2, 0)
    (m,) = found
    assert (m.pins, m.pin, m.go, m.no_go) == (2, 2.35, 5.6, 5.8)
    assert m.no_go < 6.2  # the blocks go down the throat


@pytest.mark.closed_form("ledge w - throat, gap w - pin")
def test_one_sided_pin_and_gap_by_hand() -> None:
    """0.610 +-0.004 in over a 0.550 throat: ledge 0.064, pin 0.072 in, gap 0.606 - 0.072 = 0.534 to 0.542 in."""
    found, _ = methods(0.606 * IN, 0.614 * IN, 0.55 * IN, 0.09375 * IN, 1, 0, "inch")
    (m,) = found
    assert (m.pins, m.pin / IN, m.go / IN, m.no_go / IN) == pytest.approx((1, 0.072, 0.534, 0.542))


@pytest.mark.parametrize("sides", [1, 2])
@pytest.mark.parametrize("ends", [0, 1, 2])
def test_a_sliding_gauge_needs_an_open_end(sides: int, ends: int) -> None:
    found, notes = methods(10.3, 10.5, 8.3, 2.6, sides, ends)
    names = [m.name for m in found]
    assert names == ([{1: "L-shaped gauge", 2: "T-shaped gauge"}[sides]] if ends else []) + [
        "pins and gap"
    ]
    assert any("Both ends are closed" in n for n in notes) == (ends == 0)
    assert any("slide it out" in n for n in notes) == (ends > 0)


@given(
    width=st.floats(5.0, 20.0),
    share=st.floats(0.3, 0.98),
    height=st.floats(1.0, 5.0),
    sides=st.sampled_from([1, 2]),
    corner=st.floats(0, 1.0),
)
def test_laid_pins_can_be_got_in_and_met(
    width: float, share: float, height: float, sides: int, corner: float
) -> None:
    throat = share * width
    pin = lying_pin(width, throat, height, sides, 0.01, corner)
    if pin is None:
        return
    ledge = (width - throat) / sides
    assert pin <= height and pin <= throat  # under the roof, through the throat
    assert (
        width - sides * pin <= throat - sides * PROUD + 1e-6
    )  # blocks between them pass the throat
    assert pin / 2 >= corner - 1e-6  # meets the wall above the corner
    if sides == 2:  # the first pin covers pin - ledge of the throat
        assert pin <= throat - (pin - ledge) + 1e-9


def test_pins_that_do_not_fit_are_said() -> None:
    assert lying_pin(10.5, 6.2, 2.0, 2, 0.01) is None  # 2.35 under a roof of 2.0
    found, notes = methods(10.3, 10.5, 6.2, 2.0, 2, 0)
    assert found == () and any("under the roof" in n for n in notes)


@pytest.mark.parametrize(
    ("throat", "sides", "ends"), [(10.4, 2, 1), (6.2, 3, 1), (6.2, 2, 3), (0.0, 2, 1)]
)
def test_shapes_that_are_none_are_refused(throat: float, sides: int, ends: int) -> None:
    with pytest.raises(ModelError, match="throat"):
        methods(10.3, 10.5, throat, 2.6, sides, ends)

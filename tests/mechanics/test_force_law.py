"""Laws of the cutting force: by hand, by their limits, against differences and each other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadsim.mechanics.force_law import (
    BentPower,
    EdgeRatio,
    ForceLaw,
    Kienzle,
    LinearEdge,
    MainValueRatio,
    PowerRatio,
    RadialRatio,
)

# 7075-T6, HSS cutter, dry: CJME2021 table 5 (via a copied table)
K_TC = 951.365
K_TE = 11.115
K_RC = 262.597
K_RE = 11.314
LAWS = (Kienzle(800.0, 0.25), Kienzle(1500.0, 0.0), LinearEdge(K_TC, K_TE), LinearEdge(K_TC, 0.0))
by_law = pytest.mark.parametrize("law", LAWS, ids=str)


@pytest.mark.closed_form("k_c11 h^(1 - m)")
def test_kienzle_by_hand():
    # at h = 1 mm it is k_c1.1; at h = 1/16, m = 1/4: (1/16)^(3/4) = 1/8 and (1/16)^(-1/4) = 2; at 0 nothing
    law = Kienzle(800.0, 0.25)
    assert law.force(np.array([1.0, 1 / 16, 0.0])) == pytest.approx([800.0, 100.0, 0.0])
    assert law.specific(np.array([1.0, 1 / 16])) == pytest.approx([800.0, 1600.0])


@pytest.mark.closed_form("10^m for a chip ten times thinner")
def test_kienzle_specific_force_rises_by_the_exponent():
    law = Kienzle(700.0, 0.3)
    assert law.specific(0.01) / law.specific(0.1) == pytest.approx(10**0.3)


@pytest.mark.closed_form("K_tc h + K_te")
def test_linear_edge_by_hand():
    # peak of the K1 case, 951.365 x 0.0127 + 11.115 = 23.1973 N/mm; over 0.0127 mm that is 1826.56 MPa
    law = LinearEdge(K_TC, K_TE)
    assert law.force(np.array([0.0, 0.0127])) == pytest.approx([11.115, 23.1973], abs=1e-4)
    assert law.specific(0.0127) == pytest.approx(1826.56, abs=0.01)


@pytest.mark.closed_form("m_c = 0 and K_te = 0 are the same line through the origin")
def test_both_laws_meet_where_neither_has_a_size_effect():
    h = np.array([0.001, 0.02, 0.5])
    for method in ("force", "specific", "size_effect"):
        assert getattr(Kienzle(900.0, 0.0), method)(h) == pytest.approx(
            getattr(LinearEdge(900.0, 0.0), method)(h)
        )


@by_law
@given(h=st.floats(1e-3, 1.0))
def test_force_is_the_specific_force_times_the_chip(law: ForceLaw, h: float):
    assert law.force(h) == pytest.approx(law.specific(h) * h)


@pytest.mark.independent("central differences of the force and of the specific force")
@by_law
@given(h=st.floats(1e-3, 1.0))
def test_size_effect_against_differences(law: ForceLaw, h: float):
    step = 1e-5
    low, high = h * math.exp(-step), h * math.exp(step)
    rise = -(law.specific(high) - law.specific(low)) / (2 * step)
    slope = (law.force(high) - law.force(low)) / (high - low)
    assert law.size_effect(h) == pytest.approx(rise, rel=1e-6, abs=1e-6)
    assert law.specific(h) - law.size_effect(h) == pytest.approx(slope, rel=1e-6)


@pytest.mark.closed_form("the local exponent of a power law is m_c, of a force all edge it is 1")
def test_local_exponent_of_each_law():
    law = Kienzle(800.0, 0.25)
    assert law.size_effect(0.02) / law.specific(0.02) == pytest.approx(0.25)
    law = LinearEdge(0.0, K_TE)
    assert law.size_effect(0.02) / law.specific(0.02) == pytest.approx(1.0)


@by_law
def test_growth_is_the_ratio_of_two_forces(law: ForceLaw):
    assert law.growth(0.08, 0.01) == pytest.approx(law.force(0.08) / law.force(0.01))


@by_law
def test_a_scaled_law_has_every_force_as_many_times(law: ForceLaw):
    h = np.array([0.01, 0.2])
    assert law.scaled(1.7).force(h) == pytest.approx(1.7 * law.force(h))


@pytest.mark.closed_form("k_c11 = k_c h^m, and the tangent of a line-and-edge law")
def test_kienzle_through_a_point_touches_the_other_law():
    other = LinearEdge(K_TC, K_TE)
    h = 0.02
    law = Kienzle.through(h, other.specific(h), other.size_effect(h) / other.specific(h))
    assert law.force(h) == pytest.approx(other.force(h))
    assert law.size_effect(h) == pytest.approx(other.size_effect(h))
    assert Kienzle.through(1 / 16, 1600.0, 0.25) == Kienzle(800.0, 0.25)


def test_a_law_of_many_cuts_is_taken_apart():
    law = Kienzle(np.array([500.0, 800.0, 900.0]), np.array([0.1, 0.2, 0.3]))
    assert law.shape == (3,)
    assert Kienzle(500.0, 0.1).shape == ()
    assert law.take(np.array([2, 0])).force(1.0).tolist() == [900.0, 500.0]


@pytest.mark.closed_form("K_re/K_te of no chip, K_rc/K_tc of a very thick one")
def test_radial_ratio_of_edge_laws_runs_between_its_limits():
    h = np.array([0.0, 0.005, 0.05, 0.5, 1e9])
    r = EdgeRatio(radial=LinearEdge(K_RC, K_RE), tangential=LinearEdge(K_TC, K_TE)).at(h)
    assert r[0] == pytest.approx(11.314 / 11.115)
    assert r[-1] == pytest.approx(262.597 / 951.365, rel=1e-6)
    assert (np.diff(r) < 0).all()


def test_a_constant_radial_ratio_knows_no_chip():
    assert PowerRatio(0.4).at(np.array([0.001, 0.1])) == pytest.approx([0.4, 0.4])


@pytest.mark.closed_form("r (h/0.1)^-n between the ends, held beyond")
def test_power_radial_ratio_by_hand():
    # sixteen times thinner, n = 1/4: twice the ratio
    law = PowerRatio(0.75, 0.25, thinnest=0.1 / 16, thickest=1.6)
    h = np.array([0.001, 0.1 / 16, 0.1, 1.6, 5.0])
    expected = [1.5, 1.5, 0.75, 0.375, 0.375]
    assert law.at(h) == pytest.approx(expected)
    assert [float(law.at(x)) for x in h] == pytest.approx(expected)
    # all of them thin, none at all, and many cuts at once
    assert law.at(h[:2]) == pytest.approx([1.5, 1.5])
    assert law.at(np.array([])).shape == (0,)
    assert law.at(np.full((2, 3), 0.1)) == pytest.approx(np.full((2, 3), 0.75))


@pytest.mark.closed_form("a line in the logarithms through two points")
def test_power_radial_ratio_through_two_points():
    law = PowerRatio.through(0.05, 0.9, 0.2, 0.4)
    assert law.at(np.array([0.05, 0.1, 0.2])) == pytest.approx([0.9, 0.6, 0.4])
    assert law.exponent == pytest.approx(math.log(1.5) / math.log(2))


@pytest.mark.closed_form("hypot(3, 4) = 5, of 10")
def test_main_value_ratio_by_hand():
    # at 1/16 mm, F_f = 12 h^(1/2) = 3, F_p = 64 h = 4, F_c = 20 h^(1/4) = 10; held below 1/256: 3/4, 1/4, 5
    law = MainValueRatio(Kienzle(20.0, 0.75), Kienzle(12.0, 0.5), Kienzle(64.0, 0.0), 1 / 256)
    assert law.at(1 / 16) == pytest.approx(0.5)
    assert law.at(np.array([1e-6, 1 / 256])) == pytest.approx([math.sqrt(0.625) / 5] * 2)


@pytest.mark.parametrize(
    "law",
    [
        PowerRatio(0.7, 0.2, 0.05, 0.3),
        PowerRatio(0.4),
        EdgeRatio(LinearEdge(K_RC, K_RE), LinearEdge(K_TC, K_TE), 0.02),
        MainValueRatio(Kienzle(1659.0, 0.21), Kienzle(521.0, 0.49), Kienzle(309.0, 0.4), 0.05),
    ],
    ids=lambda law: type(law).__name__,
)
def test_a_scaled_ratio_is_as_many_times_at_every_chip(law: RadialRatio):
    h = np.geomspace(0.001, 1.0, 20)
    assert law.scaled(1.3).at(h) == pytest.approx(1.3 * law.at(h))


@pytest.mark.published(
    "Kalpakjian, Manufacturing Processes: drilling magnesium, D 10, f 0.2, N 800",
    read="memory (high)",
)
def test_drilling_power_from_the_specific_force():
    # two lips, each with an uncut chip of f/2 over the radius D/2, at the mean arm D/4; 0.5 W s/mm3 = 500 MPa
    D = 10.0
    f = 0.2
    omega = 2 * math.pi * 800 / 60
    torque = 2 * Kienzle(500.0, 0.0).force(f / 2) * D / 2 * D / 4
    assert torque == pytest.approx(1250, rel=0.01)  # 1.25 N m
    assert torque * omega / 1000 == pytest.approx(105, rel=0.01)  # W
    assert torque * omega / 500 == pytest.approx(210, rel=0.01)  # mm3/s


# --- Kienzle's law with a bend


@pytest.mark.closed_form("no bend: the law of Kienzle")
def test_a_bent_law_without_a_bend_is_kienzles() -> None:
    straight, kienzle = BentPower(800.0, 0.25), Kienzle(800.0, 0.25)
    h = np.geomspace(0.001, 1.0, 7)
    for name in ("force", "specific", "size_effect"):
        assert getattr(straight, name)(h) == pytest.approx(getattr(kienzle, name)(h))


@pytest.mark.closed_form("ln F = ln k + (1 - m) ln h + c ln^2 h; its slope by differences")
def test_a_bent_law_bends_in_the_logarithm() -> None:
    law = BentPower(700.0, 0.1, 0.03)
    h = np.array([0.005, 0.03, 0.2])
    x = np.log(h)
    assert law.force(h) == pytest.approx(np.exp(np.log(700.0) + 0.9 * x + 0.03 * x**2))
    assert law.specific(h) == pytest.approx(law.force(h) / h)
    step = 1e-5
    slope = np.log(law.specific(h * (1 + step)) / law.specific(h)) / np.log1p(step)
    assert law.size_effect(h) / law.specific(h) == pytest.approx(-slope, abs=1e-5)
    assert law.scaled(2.0).force(h) == pytest.approx(2 * law.force(h))
    assert law.growth(h, 0.01) == pytest.approx(law.force(h) / law.force(0.01))


@pytest.mark.closed_form("a power law rises by its exponent; a constant does not")
def test_how_a_radial_ratio_rises() -> None:
    h = np.array([0.01, 0.1])
    assert PowerRatio(0.7, 0.25).rise(h) == pytest.approx([0.25, 0.25])
    assert PowerRatio(0.7).rise(h) == pytest.approx([0.0, 0.0])
    assert (
        PowerRatio(0.7, 0.25, 0.05).rise(h)[0] == 0.0
    )  # held below the thinnest that was measured

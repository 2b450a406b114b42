"""A worn land: its force in closed form, its growth by Taylor's law, and what the ranges refuse."""

from __future__ import annotations

import math

import pytest

from loadsim.base.errors import ModelError
from loadsim.mechanics.wear import land_force, wear_by_speed


@pytest.mark.published(
    "open data set of hard-turned H13, land 0.3 mm: 387 to 641 N along the cut a mm of edge and of land, across 2.9 to 4"
    " times that; 139 N at depth 0.5, feed 0.1 mm: 2780 MPa",
    read="via a copied table; hardness not stated",
)
@pytest.mark.published(
    "Klocke, Koenig: cutting, feed and passive force 10, 25, 30 % more for each 0.1 mm of land; C45: 1659, 521, 309 MPa"
    " with 0.79, 0.51, 0.60 (memory medium), feed 0.3 mm at 70 degrees",
    read="memory (medium)",
)
def test_a_land_presses_as_measured_in_two_steels() -> None:
    h = 0.3 * math.sin(math.radians(70))
    along_c45 = 1659 * h**0.79 * 0.10 / 0.1
    across_c45 = math.hypot(521 * h**0.51 * 0.25, 309 * h**0.60 * 0.30) / 0.1
    k_c45, k_h13 = 1659 * 0.1**-0.21, 2780.0
    along, across = (float(x) for x in land_force(1.0, 1.0))
    # between the two, and within a third of either
    assert 387 / k_h13 < along < along_c45 / k_c45
    assert across_c45 / k_c45 < across < 3.2 * 450 / k_h13
    assert across == pytest.approx(across_c45 / k_c45, rel=0.35)
    assert across == pytest.approx(3.2 * 450 / k_h13, rel=0.35)


@pytest.mark.closed_form(
    "proportional to land and to the metal's specific force; none without a land"
)
def test_a_land_presses_by_its_height_and_its_metal() -> None:
    assert [float(x) for x in land_force(1000.0, 0.0)] == [0.0, 0.0]
    one, other = (land_force(1000.0, 0.05), land_force(3000.0, 0.1))
    assert [float(b / a) for a, b in zip(one, other, strict=True)] == pytest.approx([6.0, 6.0])


@pytest.mark.published("Taylor, V T^0.125 = C for high-speed steel (Groover)", read="memory (high)")
def test_an_edge_wears_by_taylor_over_the_usual_speed() -> None:
    # half of the life in time at twice the speed would be a way as long: 2^8 less of the one, 2^7 less of the other
    assert float(wear_by_speed(2.0, 1.0)) == pytest.approx(2.0**7)
    assert float(wear_by_speed(0.3, 1.0)) == 1.0


@pytest.mark.parametrize("land", [-0.01, float("nan"), float("inf")])
def test_a_land_that_cannot_be_is_refused(land: float) -> None:
    with pytest.raises(ModelError):
        land_force(1000.0, land)

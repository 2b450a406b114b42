"""A worn land: its force in closed form, its growth by Taylor's law, and what the ranges refuse."""

from __future__ import annotations

import pytest

from loadsim.base.errors import ModelError
from loadsim.mechanics.wear import land_force, wear_by_speed


@pytest.mark.published(
    "open data set of hard-turned H13, depth 0.5 and 0.25 mm, land 0.3 mm: 387 to 641 N along the cut a mm of edge and of"
    " land, the force across about three times that; 139 N at depth 0.5, feed 0.1 mm: 2780 MPa",
    read="via a copied table; hardness not stated",
)
def test_a_land_presses_as_measured_in_hard_steel() -> None:
    along, across = (float(x) / 0.3 for x in land_force(2780.0, 0.3))
    assert 387 < along < 641
    assert 2.9 < across / along < 4.0


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

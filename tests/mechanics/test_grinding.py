"""Cutting the neck on the turning blank, against hand computation, conservation of what is ground
away, and limits.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadsim.base.errors import ModelError
from loadsim.mechanics import grinding
from loadsim.mechanics.peers import grinding as peers_grinding


@pytest.mark.closed_form("F_t = u b a v_w/v_s, sqrt(F_t^2 + F_n^2) (Malkin2008)")
def test_force_from_energy_by_hand() -> None:
    """60 J/mm^3 on a contact 4 mm wide, 0.02 mm deep; blank at 15 mm/s, wheel at 25 m/s: 4 * 0.02 * 15 = 1.2 mm^3/s, 72 W, over
    25 m/s is 2.88 N; with twice that pressing inward sqrt(1 + 4) * 2.88 = 6.44 N."""
    F_t = grinding.tangential_force(60_000.0, 4.0, 0.02, 15.0 / 25_000.0)
    assert float(F_t) == pytest.approx(2.88)
    assert float(grinding.resultant(F_t, 2.0)) == pytest.approx(6.43988, abs=5e-6)


@pytest.mark.closed_form("steps of a quarter turn: four lie on top of each other")
def test_infeed_moved_before_a_full_turn_adds_up() -> None:
    """Moved every quarter turn: after the first turn the wheel meets four steps, not one; moved once a turn it meets one."""
    every_quarter = np.arange(0, 6, 0.25)
    assert peers_grinding.depth_met(
        [0.0, 0.3, 0.6, 0.9, 3.1], every_quarter, 0.01
    ) == pytest.approx([0.01, 0.02, 0.03, 0.04, 0.04])
    assert peers_grinding.depth_met([0.5, 1.5, 4.9], np.arange(6.0), 0.01) == pytest.approx(
        [0.01] * 3
    )
    assert float(peers_grinding.steps_on_top(0.25)) == 4
    assert float(peers_grinding.steps_on_top(0.3)) == 4  # now, 0.3, 0.6 and 0.9 of a turn ago
    assert float(peers_grinding.steps_on_top(1.0)) == 1


def test_a_turn_without_infeed_meets_nothing() -> None:
    assert float(peers_grinding.depth_met([1.0], [0.0], 0.02)[0]) == 0.0


@pytest.mark.closed_form("conservation: depth over all turns is the whole infeed")
@given(moves=st.lists(st.floats(0, 5), min_size=1, max_size=12), step=st.floats(1e-3, 0.1))
def test_all_that_is_set_is_ground_away(moves: list[float], step: float) -> None:
    """Depth summed over all turns is the whole infeed: nothing is lost and nothing is met twice."""
    t = (np.arange(70_000) + 0.5) / 10_000
    assert peers_grinding.depth_met(t, moves, step).mean() * 7 == pytest.approx(
        step * len(moves), rel=2e-3
    )


@given(fraction=st.floats(0.05, 2.0))
def test_steps_on_top_is_the_most_that_is_met(fraction: float) -> None:
    set_at = fraction * np.arange(200)
    late = set_at[-1] if fraction < 0.05 else set_at[100]
    met = float(peers_grinding.depth_met([late], set_at[:101], 1.0)[0])
    assert met == pytest.approx(
        float(peers_grinding.steps_on_top(fraction)),
        abs=1.0 if abs(1 / fraction - round(1 / fraction)) < 1e-9 else 1e-9,
    )


@pytest.mark.closed_form("32 F L/(pi d^3) and F L^3/(3 E I) of a round cantilever")
def test_largest_infeed_by_the_cantilever() -> None:
    """A bare round cantilever, closed form: d 4, L 10, E 200,000: M = 10 F, W = pi 4^3/32 = 6.2832, so 1.59155 MPa a newton;
    F L^3/(3 E I) with I = pi 4^4/64 = 12.566: 1.3263e-4 mm a newton. At 300 N for each mm of depth, 400 MPa and 0.01 mm:
    400/(300 * 1.59155) = 0.83776 mm, and 0.01/(300 * 1.3263e-4) = 0.25133 mm."""
    by_strength, by_deflection = grinding.largest_infeed(
        300.0, 10 / (math.pi * 2), 1000 / (3 * 2e5 * 4 * math.pi), 400.0, 0.01
    )
    assert float(by_strength) == pytest.approx(0.837758, abs=5e-6)
    assert float(by_deflection) == pytest.approx(0.251327, abs=5e-6)


def test_thinner_takes_less() -> None:
    d = np.array([8.0, 6.0, 4.0, 3.0])
    s, c = grinding.largest_infeed(
        300.0, 10 * 32 / (np.pi * d**3), 1000 * 64 / (3 * 2e5 * np.pi * d**4), 400.0, 0.01
    )
    assert (np.diff(s) < 0).all()
    assert (np.diff(c) < 0).all()


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 0.0])
def test_what_is_no_number_is_refused(bad: float) -> None:
    with pytest.raises(ModelError):
        grinding.tangential_force(bad, 4.0, 0.02, 0.001)
    with pytest.raises(ModelError):
        grinding.largest_infeed(300.0, bad, 1e-4, 400.0, 0.01)
    with pytest.raises(ModelError):
        peers_grinding.steps_on_top(bad)


# --- edges that lean ----------------------------------------------------------------------------------


@pytest.mark.closed_form("h tan(psi): 3 mm at 2 deg")
def test_how_far_a_leaning_edge_runs_off() -> None:
    assert grinding.lean(math.radians(2), 3.0) == pytest.approx(0.104762, abs=1e-6)
    assert grinding.lean(0.0, 3.0) == 0.0


@pytest.mark.independent(
    "a plane through three points: both ends of the edge, and one down the relief"
)
@pytest.mark.parametrize(("skew", "relief"), [(2.0, 8.0), (5.0, 12.0), (0.0, 8.0)])
def test_dip_of_a_flat_that_holds_a_leaning_edge(skew: float, relief: float) -> None:
    # along the axis, back along the cut, up
    foot = np.array([0.0, 0.0, 0.0])
    tip = np.array([1.0, math.tan(math.radians(skew)), 0.0])
    behind = np.array([0.0, 1.0, -math.tan(math.radians(relief))])
    n = np.cross(tip - foot, behind - foot)
    # slope of that plane along the axis
    expected = math.atan(-n[0] / n[2])
    found = grinding.dip(math.radians(skew), math.radians(relief))
    assert found == pytest.approx(expected, abs=1e-12)


def test_edges_that_lean_backwards_are_refused() -> None:
    with pytest.raises(ModelError, match="skew"):
        grinding.lean(-0.01, 3.0)
    with pytest.raises(ModelError, match="skew"):
        grinding.dip(-0.01, 0.1)

"""Chip thickness against closed forms and a brute-force search over the teeth that passed before."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadsim.mechanics import chip
from loadsim.mechanics.peers import force


def brute_force(phi: float, tooth: int, f_z: float, rho: float, teeth: int) -> float:
    """Return tooth to centre less the surface that the last four turns left, tooth by tooth."""
    if math.sin(phi) <= 0:
        return 0.0
    radius = [rho * math.cos(2 * math.pi * j / teeth) for j in range(teeth)]
    passed = range(1, 4 * teeth + 1)
    left = min(
        k * f_z * math.sin(phi) + radius[tooth] - radius[(tooth - k) % teeth] for k in passed
    )
    return max(0.0, left)


# --- no runout ---------------------------------------------------------------------------------------


@pytest.mark.closed_form("h = f_z sin(phi) (Martellotti1941)")
def test_circular_path():
    # closed form (Martellotti 1941, memory high): h = f_z sin(phi); behind the cutter there is no chip
    phi = np.radians([0, 30, 90, 150, 210, 270, 330])
    expected = 0.04 * np.array([0, 0.5, 1, 0.5, 0, 0, 0])
    assert force.thickness_circular(phi, 0.04) == pytest.approx(expected, abs=1e-15)


@pytest.mark.closed_form("2 f_z/pi: the metal f_z 2R over the arc pi R")
def test_mean_circular_chip_is_the_area_over_the_arc():
    # closed form: the metal f_z x 2R spread over the half circle pi R has a mean thickness of 2 f_z/pi
    phi = (np.arange(20_000) + 0.5) * math.pi / 20_000
    assert force.thickness_circular(phi, 0.03).mean() == pytest.approx(2 * 0.03 / math.pi, rel=1e-8)


@pytest.mark.closed_form("h = f_z sin(phi) (Martellotti1941)")
@pytest.mark.parametrize("teeth", range(1, 9))
def test_without_runout_every_tooth_cuts_the_circular_chip(teeth):
    # limit case: rho = 0
    phi = np.linspace(-math.pi, math.pi, 41)
    for j in range(teeth):
        h = chip.thickness(phi, np.full(41, j), 0.02, 0.0, teeth)[:, 0]
        assert h == pytest.approx(0.02 * np.maximum(np.sin(phi), 0), abs=1e-16)


# --- runout ------------------------------------------------------------------------------------------


@pytest.mark.independent("brute force over four turns, one tooth at a time")
@settings(max_examples=200, deadline=None)
@given(
    teeth=st.integers(1, 6), phi=st.floats(-3.1, 3.1), f_z=st.floats(1e-4, 0.2), rho=st.floats(0, 0.2),
)  # fmt: skip
def test_chip_is_the_minimum_over_the_earlier_teeth(teeth, phi, f_z, rho):
    # computed: brute force over four turns, one tooth at a time (the definition; Kline and DeVor 1983,
    # memory high)
    got = chip.thickness(np.full(teeth, phi), np.arange(teeth), f_z, rho, teeth)[:, 0]
    assert got == pytest.approx(
        [brute_force(phi, j, f_z, rho, teeth) for j in range(teeth)], abs=1e-12
    )


@pytest.mark.closed_form("f_z + 2 rho and f_z - 2 rho at phi = 90 deg")
def test_two_teeth_with_runout_by_hand():
    # computed by hand: f_z 10 um, rho 3 um, phi 90: tooth 0 stands out by 6 um: 10 + 6 and 10 - 6
    h = chip.thickness(np.full(2, math.pi / 2), np.array([0, 1]), 0.010, 0.003, 2)[:, 0]
    assert h == pytest.approx([0.016, 0.004], abs=1e-15)


@pytest.mark.closed_form("2 f_z sin(phi) once rho >= f_z/2")
@pytest.mark.parametrize("rho", [0.0050001, 0.007, 0.05])
def test_runout_of_half_the_feed_leaves_one_tooth_with_twice_the_chip(rho):
    # limit case: rho >= f_z/2; tooth 1 never meets metal, tooth 0 takes the feed of a whole turn
    phi = np.array([0.3, 1.0, math.pi / 2, 2.9])
    first, second = (chip.thickness(phi, np.full(4, j), 0.010, rho, 2)[:, 0] for j in (0, 1))
    assert first == pytest.approx(2 * 0.010 * np.sin(phi), rel=1e-12)
    assert second.tolist() == [0.0] * 4


@pytest.mark.closed_form("f_z - 2 rho at phi = 90 deg")
def test_runout_just_under_half_the_feed_still_lets_both_teeth_cut():
    # limit case, from the other side: at phi = 90 tooth 1 keeps f_z - 2 rho
    h = chip.thickness(np.full(2, math.pi / 2), np.array([0, 1]), 0.010, 0.00499, 2)[:, 0]
    assert h == pytest.approx([0.01998, 0.00002], abs=1e-12)


@pytest.mark.closed_form("conservation: a turn removes N f_z sin(phi)")
@settings(max_examples=100, deadline=None)
@given(
    teeth=st.integers(1, 6),
    phi=st.floats(0.01, 3.1),
    f_z=st.floats(1e-3, 0.2),
    rho=st.floats(0, 0.1),
)
def test_chips_of_a_turn_add_up_to_the_feed_of_a_turn(teeth, phi, f_z, rho):
    # conservation: whatever the runout, a turn removes N f_z sin(phi) along every direction
    h = chip.thickness(np.full(teeth, phi), np.arange(teeth), f_z, rho, teeth)
    assert h.sum() == pytest.approx(teeth * f_z * math.sin(phi), rel=1e-9)


@settings(max_examples=100, deadline=None)
@given(
    teeth=st.integers(1, 6), phi=st.floats(0, math.pi), f_z=st.floats(1e-3, 0.1), rho=st.floats(0, 0.1),
    more=st.floats(0, 0.1),
)  # fmt: skip
def test_thickest_chip_never_falls_with_feed_nor_with_runout_of_two_teeth(
    teeth, phi, f_z, rho, more
):
    # with three teeth and more a larger runout may share the feed of a turn out otherwise: no claim there
    feed = np.array([f_z, f_z + more, f_z])
    runout = np.array([rho, rho, rho + more])
    base, fed, run_out = chip.thickness(
        np.full(teeth, phi), np.arange(teeth), feed, runout, teeth
    ).max(axis=0)
    assert fed >= base - 1e-15
    if teeth <= 2:
        assert run_out >= base - 1e-15


@pytest.mark.independent("differences of the teeth's radii, one by one")
@pytest.mark.parametrize("teeth", [1, 2, 3, 5])
def test_runout_steps_from_the_radii(teeth):
    # computed: r_j - r_(j-k) with r_j = cos(angle - 2 pi j/N), one by one
    angle = 0.7
    step = chip.runout_steps(teeth, 0.7)
    r = [math.cos(angle - 2 * math.pi * j / teeth) for j in range(teeth)]
    expected = [[r[j] - r[(j - k) % teeth] for k in range(1, teeth + 1)] for j in range(teeth)]
    assert step == pytest.approx(np.array(expected), abs=1e-12)
    assert (step[:, -1] == 0).all()


def test_runout_towards_a_tooth_is_the_worst_direction_of_two_teeth():
    # property that the default angle stands on: no other direction makes a longer step
    worst = chip.runout_steps(2).max()
    assert worst == pytest.approx(2.0)
    assert all(
        chip.runout_steps(2, a).max() <= worst + 1e-12 for a in np.linspace(0, 2 * math.pi, 37)
    )


def test_vector_equals_scalar():
    rng = np.random.default_rng(5)
    phi = rng.uniform(-3, 3, 12)
    tooth = rng.integers(0, 4, 12)
    f_z = rng.uniform(0, 0.1, 7)
    rho = rng.uniform(0, 0.05, 7)
    h = chip.thickness(phi, tooth, f_z, rho, 4)
    assert h.shape == (12, 7)
    for p in range(12):
        for s in range(7):
            assert h[p, s] == chip.thickness(phi[[p]], tooth[[p]], f_z[s], rho[s], 4)[0, 0]


# --- the thinnest chip -------------------------------------------------------------------------------


@pytest.mark.closed_form("h_min/r = 1 - cos(pi/4 - beta/2) (Son2005)")
def test_thinnest_ratio_from_friction():
    # closed form h_min/r = 1 - cos(pi/4 - beta/2) (Son, Lim, Kumar, Rahman 2005, memory high):
    # beta 0: 1 - cos 45 = 0.29289; beta 30: 1 - cos 30 = 0.13397; beta 90: 0
    got = force.thinnest_ratio_from_friction(np.radians([0, 30, 90]))
    assert got == pytest.approx([1 - math.sqrt(0.5), 1 - math.sqrt(0.75), 0.0], abs=1e-12)


def test_thinnest_is_the_ratio_of_the_edge_radius():
    assert chip.thinnest([0.010, 0.020], 0.3) == pytest.approx([0.003, 0.006])


# --- refusals ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("f_z", [-0.01, math.nan, math.inf])
def test_bad_feed_is_refused(f_z):
    with pytest.raises(ValueError, match="f_z must be finite and >= 0 mm"):
        force.thickness_circular(1.0, f_z)
    with pytest.raises(ValueError, match="f_z must be finite and >= 0 mm"):
        chip.thickness(np.array([1.0]), np.array([0]), f_z, 0.0, 2)


@pytest.mark.parametrize("rho", [-0.001, math.nan, math.inf])
def test_bad_runout_is_refused(rho):
    with pytest.raises(ValueError, match="rho must be finite and >= 0 mm"):
        chip.thickness(np.array([1.0]), np.array([0]), 0.01, rho, 2)


@pytest.mark.parametrize("edge, ratio", [(0.0, 0.3), (-0.01, 0.3), (0.01, 0.0), (math.nan, 0.3)])
def test_bad_edge_is_refused(edge, ratio):
    with pytest.raises(ValueError, match="must be finite and > 0"):
        chip.thinnest(edge, ratio)


def test_two_wrong_signs_do_not_make_a_right():
    with pytest.raises(ValueError, match="must be finite and > 0"):
        chip.thinnest(-0.01, -0.3)


# --- feed --------------------------------------------------------------------------------------------


@pytest.mark.closed_form("v_f = f_z N n by hand: 4 teeth x 0.05 mm x 1500 rpm = 300 mm/min")
def test_feed_of_a_worked_milling_example():
    speed = 1500 * 2 * math.pi / 60
    assert chip.tooth_passing(4, speed) == pytest.approx(100)
    assert chip.feed_rate(0.05, 4, speed) == pytest.approx(5.0)
    assert chip.feed_per_tooth(5.0, 4, speed) == pytest.approx(0.05)


@given(st.floats(1e-4, 1), st.integers(1, 8), st.floats(1, 5000))
def test_feed_per_tooth_is_the_inverse_of_feed_rate(f_z: float, teeth: int, speed: float):
    assert chip.feed_per_tooth(chip.feed_rate(f_z, teeth, speed), teeth, speed) == pytest.approx(
        f_z
    )

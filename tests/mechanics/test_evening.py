"""Give that evens out runout: closed forms of a line of springs, and a head marched in small steps."""

from __future__ import annotations

import importlib.util
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadsim.mechanics import chip, evening

_spec = importlib.util.spec_from_file_location(
    "head_give", Path(__file__).with_name("head_give.py")
)
assert _spec and _spec.loader
head_give = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(head_give)

#: of the marched head: feed [mm], radius [mm], slope of the radial force [N/mm]
FEED, RADIUS, SLOPE = 0.02, 5.2, 2000.0


def marched(throws, G, ratio=0.4, *, force=None, **more):
    """Chips over the feed of a head that gives alike in both directions, (tooth, angle)."""
    law = force or head_give.linear(SLOPE, ratio)
    c = G / SLOPE
    more = {"steps": 12, "turns": 12, "compliance": (c, c)} | more
    h = head_give.march(
        throws=[FEED * r for r in throws], f_z=FEED, radius=RADIUS, force=law, **more
    )
    return h / FEED


def offset(teeth, q):
    """Throws of an axis set off by q, over the feed, towards tooth 0."""
    return q * np.cos(2 * math.pi * np.arange(teeth) / teeth)


# --- closed forms ------------------------------------------------------------------------------------


@pytest.mark.closed_form("h_1 - h_2 = 2 (r_1 - r_2)/(1 + 2 G), h_1 + h_2 = 2 f")
@pytest.mark.parametrize("G", [0.05, 0.3, 1.0])
def test_two_teeth(G):
    thick, thin = evening.evened_chips(G, [0.15, -0.25])[:, 0]
    assert thick - thin == pytest.approx(2 * 0.4 / (1 + 2 * G), rel=1e-9)
    assert thick + thin == pytest.approx(2.0, rel=1e-9)


@pytest.mark.closed_form("1 - (G/(1 + G))^n")
@pytest.mark.parametrize("G", [0.2, 1.0, 4.0])
def test_the_chip_builds_up_after_the_feed_starts(G):
    # h_n = (f + G h_(n-1))/(1 + G): the share that a pass lacks falls by G/(1 + G) from tooth to tooth
    for n in (1, 2, 5):
        one = evening.evened_chips(G, [0.0], turns=n)[0, 0]
        assert one == pytest.approx(1 - (G / (1 + G)) ** n, rel=1e-12)
        pair = evening.evened_chips(G, [0.0, 0.0], turns=n)[:, 0]  # tooth 1 cuts first
        assert pair[[1, 0]] == pytest.approx(
            [1 - (G / (1 + G)) ** (2 * n - 1), 1 - (G / (1 + G)) ** (2 * n)]
        )


@pytest.mark.closed_form("(1 + G) h_j - G h_(j-1) = f + r_j - r_(j-1)")
@pytest.mark.parametrize("teeth", [2, 3, 4])
def test_while_every_tooth_cuts_the_chips_are_a_linear_system(teeth):
    G = 0.7
    r = np.linspace(-0.1, 0.15, teeth) ** 2 * 10
    system = (1 + G) * np.eye(teeth) - G * np.roll(np.eye(teeth), -1, axis=1)
    expected = np.linalg.solve(system, 1 + r - np.roll(r, 1))
    assert expected.min() > 0
    assert evening.evened_chips(G, r)[:, 0] == pytest.approx(expected, rel=1e-6)


@pytest.mark.closed_form("h = max(0, min_k [k f_z + r_j - r_(j-k)]) (Kline1983)")
@pytest.mark.parametrize("teeth", range(1, 7))
def test_without_give_it_is_the_rigid_chip(teeth):
    q = np.linspace(0.0, 3.0, 25)
    rigid = chip.thickness(np.full(teeth, math.pi / 2), np.arange(teeth), 1.0, q, teeth)
    throws = np.cos(2 * math.pi * np.arange(teeth) / teeth)[:, None] * q
    assert evening.evened_chips(0.0, throws) == pytest.approx(rigid, abs=1e-12)
    assert evening.evened_chips(1e-9, throws) == pytest.approx(rigid, abs=1e-7)


@pytest.mark.closed_form(
    "a tooth that cuts alone has h = f: its own track is as far back everywhere"
)
def test_one_tooth_is_left_alone():
    assert evening.evened_chips(0.8, [0.3]) == pytest.approx(1.0, abs=1e-6)
    assert (evening.evening_factor([0.1, 0.8], [0.3, 2.0], 1) == 1).all()


@pytest.mark.closed_form("min(1 + 2 q/(1 + 2 G), 2)/min(1 + 2 q, 2)")
def test_factor_of_two_teeth():
    # by hand: 1.25/1.5; both teeth still cut, rigid only one: 1.5/2; only one with give, too: 1
    G, q = [0.5, 0.5, 0.25], [0.25, 0.5, 0.75]
    assert evening.evening_factor(G, q, 2) == pytest.approx([1.25 / 1.5, 1.5 / 2, 1.0], rel=1e-12)


# --- a head marched in two dimensions, on true tracks --------------------------------------------------


@pytest.mark.independent("a head marched in small steps: true tracks, Newton on two unknowns")
@pytest.mark.parametrize(("G", "r", "ratio"), [(0.1, 0.2, 0.4), (0.5, 0.3, 1.0), (1.0, 0.35, 0.4)])
def test_two_teeth_on_true_tracks(G, r, ratio):
    # left out by the factor: the straight feed within a turn, and the push along the surface, 1 % of the
    # way around where G is 1 and the cutting force 2.5 times the radial one
    within = 0.005 if G < 1 else 0.02
    h = marched([r, -r], G, ratio)
    f = np.sin(math.pi / 12 * np.arange(12))
    both = 2 * r / (1 + 2 * G) < 0.9 * f
    assert both.sum() >= 5
    expected = f + 2 * r / (1 + 2 * G) * np.array([[1], [-1]])
    assert h[:, :12][:, both] == pytest.approx(expected[:, both], abs=within)
    factor = evening.evening_factor(G, r, 2)[0]
    assert h.max() / min(1 + 2 * r, 2.0) == pytest.approx(factor, rel=within)


@pytest.mark.independent("a head marched in small steps: true tracks, Newton on two unknowns")
@pytest.mark.parametrize(("teeth", "q", "edge"), [(3, 0.3, 80), (3, 1.0, 60), (4, 0.4, 75)])
def test_three_and_four_teeth_on_one_side_cut_one_by_one(teeth, q, edge):
    G = 0.4
    steps = {3: 24, 4: 18}[teeth]  # 5 degrees
    throat = math.cos(math.radians(edge))
    h = marched(offset(teeth, q), G, throat=throat, sides=1, steps=steps, turns=9)
    at = np.arange(edge // 10, edge // 5 + 1)
    f = np.sin(np.radians(5 * at))
    expected = f * evening.evened_chips(G, offset(teeth, q)[:, None] / f)
    # at the band's end the marched face has a step, which it sees half of
    assert h[:, at[:-1]] == pytest.approx(expected[:, :-1], abs=0.01)
    rigid = chip.thickness(np.radians([edge] * teeth), np.arange(teeth), 1.0, q, teeth)
    factor = evening.evening_factor(G, q / f[-1], teeth)[0]
    assert factor < 0.96
    assert h.max() / rigid.max() == pytest.approx(factor, rel=0.004)


@pytest.mark.independent("step halving of the marched head")
def test_halving_the_step_converges():
    mean = [marched([0.2, -0.2], 0.5, steps=n)[0, n // 2] for n in (6, 12, 24)]
    assert abs(mean[2] - mean[1]) < 0.4 * abs(mean[1] - mean[0]) < 1e-4


@pytest.mark.independent("a head marched in small steps: several teeth cut together")
def test_teeth_that_cut_together_can_thicken_the_chip():
    # 4 teeth, 60 degrees a side: the cutting force on one tooth pushes the other into the metal
    G, q, edge = 0.1, 0.5, math.radians(60)
    h = marched(offset(4, q), G, 0.3, throat=math.cos(edge), steps=6)
    rigid = marched(offset(4, q), 0.0, 0.3, throat=math.cos(edge), steps=6)
    assert h.max() > 1.1 * rigid.max()
    assert (evening.evening_factor([G, 1.0], q, 4, at_once=2) == 1).all()


# --- forces that are no line ---------------------------------------------------------------------------


def equilibrium(a, force, c):
    """Chip with h + c F(h) = a, by halving; a tooth pressed back by more than a lies on the surface."""
    low, high = np.zeros_like(a), np.maximum(a, 0.0)
    for _ in range(60):
        h = (low + high) / 2
        over = h + c * force(h) > a
        low, high = np.where(over, low, h), np.where(over, h, high)
    return low


def power_chips(teeth, q, c, force):
    """Thickest chip of one turn with any force, pass by pass, one tooth at a time."""
    front, chips = np.zeros_like(q), []
    for n in range(1, 60 * teeth + 1):
        h = equilibrium(n + q * math.cos(2 * math.pi * n / teeth) - front, force, c)
        front = front + h
        chips.append(h)
    return np.max(chips[-teeth:], axis=0)


@pytest.mark.independent("any force, pass by pass, by halving")
@pytest.mark.parametrize("teeth", [2, 3, 4])
def test_the_sure_slope_never_credits_more_than_the_force_does(teeth):
    rng = np.random.default_rng(teeth)
    n = 1500
    q, p = rng.uniform(0.02, 1.5, n), rng.uniform(0.5, 1.0, n)
    rub = rng.uniform(0.01, 0.9, n) * rng.integers(0, 2, n) + 1e-4
    c = np.exp(rng.uniform(math.log(0.02), math.log(1.0), n))

    def force(h):
        return np.maximum(h, rub) ** p  # the edge rubs under its thinnest chip

    h = chip.thickness(np.full(teeth, math.pi / 2), np.arange(teeth), 1.0, q, teeth)
    slope = evening.sure_slope(force, np.ones(n), h.max(axis=0), h.min(axis=0), teeth)
    told = evening.evening_factor(c * slope, q, teeth) * h.max(axis=0)
    true = power_chips(teeth, q, c, force)
    assert (told >= true * (1 - 1e-5)).all()
    assert (slope > 0).mean() > 0.2, "some is credited"
    if teeth == 2:  # and the line is a good one where nothing rubs
        clear = (rub < 1e-3) & (c * slope <= 1)
        assert (told / true - 1)[clear].max() < 0.07


@pytest.mark.independent("a head marched in small steps, with a power law and a worn land")
@pytest.mark.parametrize(("c", "q"), [(1e-4, 0.15), (2e-4, 0.35)])
def test_a_worn_land_and_a_bent_law_on_true_tracks(c, q):
    force = head_give.power(2.6, 800.0, 0.7, 12.0, 0.44)  # mm, N/mm at 1 mm, 1, N/mm, 1

    def radial(h):
        return force(h)[1]

    mean, apart = np.array(FEED), FEED * 2 * q
    slope = evening.sure_slope(radial, mean, mean + apart, mean - apart, 2)
    told = evening.evening_factor(c * slope, q, 2)[0]
    h = marched([q, -q], 0.0, force=force, compliance=(c, c))
    assert told < 0.96
    assert h.max() / (1 + 2 * q) == pytest.approx(told, rel=0.01)
    assert h.max() / (1 + 2 * q) < told * 1.003


@pytest.mark.closed_form(
    "F = 3 h + 5: slope 3, with or without runout; where the edge rubs at the mean, none"
)
def test_slopes_by_hand():
    one = np.array([0.02])

    def line(h):
        return 3 * np.maximum(h, 0.01) + 5

    for thick, thin in [(0.025, 0.015), (0.02, 0.02), (0.03, 0.01)]:
        assert evening.sure_slope(line, one, one * 0 + thick, one * 0 + thin, 2) == pytest.approx(3)
    # (F(0.04) - F(0.01))/(0.04 - 0): the lifted tooth counts as one that rubs
    assert evening.sure_slope(line, one, 2 * one, 0 * one, 2) == pytest.approx(0.09 / 0.04)
    assert evening.sure_slope(line, one * 0.4, one * 0.8, 0 * one, 2) == pytest.approx(0)
    assert evening.sure_slope(line, one, one * 1.5, one * 0.6, 3) == pytest.approx(3)
    assert evening.sure_slope(line, one, one * 1.5, one * 0.4, 3) == 0
    assert evening.sure_slope(lambda h: 1 / h, one, one * 1.5, one * 0.5, 2) == 0


# --- on the safe side ----------------------------------------------------------------------------------

numbers = st.floats(0.0, 5.0)


@pytest.mark.closed_form(
    "limit cases: more give never thickens, more runout never thins the thickest chip"
)
@settings(max_examples=150, deadline=None)
@given(st.sampled_from([2, 3, 4]), numbers, numbers, numbers, numbers)
def test_more_give_more_credit_and_more_runout_thicker_chips(teeth, G, more, q, wider):
    factor = evening.evening_factor([G, G + more], q, teeth)
    assert (factor > 0).all() and (factor <= 1).all()
    assert factor[1] <= factor[0] + 1e-6
    q = np.array([q, q + wider])
    rigid = chip.thickness(np.full(teeth, math.pi / 2), np.arange(teeth), 1.0, q, teeth).max(axis=0)
    thick = evening.evening_factor(G, q, teeth) * rigid
    assert thick[1] >= thick[0] - 1e-5


@pytest.mark.closed_form("limit cases, and 1 - 1/2^n of the credit after n turns")
def test_what_is_not_sure_is_not_credited():
    assert (evening.evening_factor([0.1, 5.0], 0.5, 5) == 1).all(), (
        "pitch under the width of a side band"
    )
    assert (evening.evening_factor(0.5, [0.0, 9.0], 2) == 1).all(), "no runout; one tooth does all"
    assert evening.evening_factor(40.0, 0.4, 2) == evening.evening_factor(1.0, 0.4, 2), (
        "no more than G = 1"
    )
    credit = 1 - evening.evening_factor(0.5, 0.25, 2, turns=[0, 2.9, 3, 6, 1e4])
    assert credit == pytest.approx(np.array([0, 0, 7 / 8, 63 / 64, 1]) / 6, rel=1e-12)


@pytest.mark.parametrize(("G", "q"), [(-0.1, 0.2), (math.nan, 0.2), (0.1, -0.2), (0.1, math.inf)])
def test_refused(G, q):
    with pytest.raises(ValueError, match="must be finite and >= 0"):
        evening.evening_factor(G, q, 2)
    with pytest.raises(ValueError, match="give must be finite"):
        evening.evened_chips(-1.0, [0.1, -0.1])


@pytest.mark.independent("chips pass by pass from a face that a rigid cutter left")
@pytest.mark.parametrize("teeth", [2, 3, 4])
def test_the_credit_of_a_short_cut_is_not_ahead_of_the_chips(teeth):
    q, G = np.meshgrid(np.linspace(0.05, 2.0, 30), np.linspace(0.05, 1.0, 20))
    r = q * np.cos(2 * math.pi * np.arange(teeth) / teeth)[:, None, None]
    front = np.max([r[-k % teeth] - k for k in range(teeth)], axis=0)
    rigid = evening.evened_chips(0.0, r.reshape(teeth, -1)).max(axis=0)
    for turn in range(1, 9):
        most = np.zeros_like(q)
        for n in range((turn - 1) * teeth + 1, turn * teeth + 1):
            h = np.maximum(n + r[n % teeth] - front, 0.0) / (1 + G)
            front = front + h
            most = np.maximum(most, h)
        told = evening.evening_factor(G.ravel(), q.ravel(), teeth, turns=turn) * rigid
        assert (most.ravel() <= told + 1e-6).all()

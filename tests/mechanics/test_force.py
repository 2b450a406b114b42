"""Rake, frames and the rivals of the force model, against textbooks and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loadsim.mechanics import force
from loadsim.mechanics.peers.force import merchant, oblique

# --- rake --------------------------------------------------------------------------------------------


@pytest.mark.closed_form("asin(e/R)")
@pytest.mark.parametrize(
    "e, R, degrees",
    [
        (0.0, 2.0, 0.0),
        (1.0, 2.0, 30.0),
        (-1.0, 2.0, -30.0),
        (math.sqrt(0.5), 1.0, 45.0),
        (math.sqrt(3), 2.0, 60.0),
    ],
)
def test_rake_from_offset_by_hand(e, R, degrees):
    # closed form: the face at distance e from the centre meets the circle R at asin(e/R)
    assert math.degrees(force.rake_from_offset(e, R)) == pytest.approx(degrees, abs=1e-9)


@pytest.mark.parametrize("e", [2.0, -2.0, 2.5, math.nan])
def test_face_that_misses_the_head_is_refused(e):
    with pytest.raises(ValueError, match="face offset must be smaller than the radius"):
        force.rake_from_offset(e, 2.0)


@pytest.mark.published(
    "Merchant's rake series, NE 9445 steel, in Kalpakjian's table", read="memory (high)"
)
def test_rake_slope_against_the_measured_series():
    # measured: 2683 MPa at +10 deg, 3101 MPa at -10 deg: 0.7 % for each degree; accepted are 0.5 to 1.6 %
    sharp = np.radians(10.0)
    blunt = np.radians(-10.0)
    middle = force.rake_factor(0.0, 0.0)
    slope = (force.rake_factor(blunt, 0.0) - force.rake_factor(sharp, 0.0)) / middle / 20
    measured = (3101 - 2683) / ((3101 + 2683) / 2) / 20
    assert 0.005 <= measured <= 0.016
    assert 0.005 <= slope <= 0.016
    # from the sharp reference the correction must not promise less force than was measured
    assert force.rake_factor(blunt, sharp) >= 3101 / 2683


@pytest.mark.closed_form("K = 1 - (gamma - gamma_0)/66.7 (Degner1993)")
def test_rake_factor_is_one_at_its_reference_and_falls_a_part_in_66_7_a_degree():
    # Degner 1993 (memory medium): K = 1 - (gamma - gamma_0)/66.7
    gamma = np.radians([6.0, 12.0, -4.0])
    expected = [1.0, 1 - 6 / 66.7, 1 + 10 / 66.7]
    assert force.rake_factor(gamma, math.radians(6.0)) == pytest.approx(expected, abs=5e-4)


def test_no_relief_is_credited_past_35_degrees_but_the_rise_goes_on():
    # safe side: +35, +45 and +80 degrees alike; -40 degrees twice the rise of -20
    at = force.rake_factor(np.radians([35.0, 45.0, 80.0, -20.0, -40.0]), 0.0)
    assert at[1] == at[0] == at[2]
    # by hand: 1 - 35 x 0.015
    assert at[0] == pytest.approx(0.475)
    assert at[4] - 1 == pytest.approx(2 * (at[3] - 1))


def test_more_rake_never_raises_the_force_and_never_makes_it_vanish():
    factor = force.rake_factor(np.radians(np.linspace(-60.0, 80.0, 1401)), math.radians(6.0))
    assert (np.diff(factor) <= 0).all()
    assert (factor > 0.4).all()


#: Merchant's cutting force on 4130, HSS, at each rake [deg, lbf].
FORCES_4130 = {25.0: 380.0, 35.0: 254.0, 40.0: 232.0, 45.0: 232.0}


@pytest.mark.published(
    "Merchant's rake series, AISI 4130, HSS, in Kalpakjian's table", read="memory (high)"
)
@pytest.mark.parametrize("reference", [0.0, 2.0, 6.0])
def test_relief_at_large_rakes_against_the_measured_series(reference):
    gamma = math.radians(reference)
    sharp, *sharper = FORCES_4130
    start = force.rake_factor(math.radians(sharp), gamma)
    off = []
    for rake in sharper:
        factor = force.rake_factor(math.radians(rake), gamma) / start
        measured = FORCES_4130[rake] / FORCES_4130[sharp]
        # no more relief than was measured, and more than the half of it
        assert measured <= factor < 0.5 * (1 + measured)
        spread = force.rake_spread(math.radians(rake), gamma) - force.rake_spread(
            math.radians(sharp), gamma
        )
        off.append(math.log(measured / factor) / spread)
    # inside the 90 % band, and the band is no wider than the series asks
    assert max(map(abs, off)) < 1.645
    assert 0.5 < math.sqrt(sum(x**2 for x in off) / len(off)) < 1.2


#: Published fall of the cutting force for each degree of rake near the reference [1].
SLOPES = {
    "Merchant, NE 9445, carbide, 122 m/min": math.log(3101 / 2683) / 20,
    "Merchant, NE 9445, carbide, 195 m/min": math.log(2862 / 2452) / 20,
    "Shaw": 0.01,
    "handbook, k_c (1 - gamma/100)": 0.01,
    "Degner": 1 / 66.7,
    "Kosilova 1985 table 23, HSS": math.log(1.15) / 9,
    "Kosilova 1985 table 23, carbide, -15 to 10": math.log(1.25) / 25,
}


@pytest.mark.published("published falls of the force for a degree of rake", read="memory (high)")
def test_spread_near_the_reference_is_what_published_slopes_differ_by():
    off = [x - force.RAKE_SLOPE for x in SLOPES.values()]
    rms = math.sqrt(sum(x**2 for x in off) / len(off))
    ours = force.rake_spread(math.radians(7.0), math.radians(6.0))
    assert ours == pytest.approx(rms, rel=0.15)
    assert max(map(abs, off)) < 1.7 * ours


@pytest.mark.closed_form("0.005 a degree to 20, then 0.015")
def test_rake_spread_by_hand():
    spread = force.rake_spread(np.radians([6.0, 16.0, -4.0, 26.0, 41.0, 46.0]), math.radians(6.0))
    # none; 10 x 0.005 either way; 20 x 0.005; 0.1 + 15 x 0.015; 0.1 + 20 x 0.015
    assert spread == pytest.approx([0.0, 0.05, 0.05, 0.1, 0.325, 0.4])


@pytest.mark.parametrize(
    "degrees, said", [(20.0, 0), (-20.0, 0), (0.0, 0), (21.0, 1), (-21.0, 1), (-45.0, 1)]
)
def test_rake_notes(degrees, said):
    # the edge itself belongs to the range; 1e-9 rad keeps rounding out of it
    notes = force.rake_notes(math.radians(degrees) * (1 - 1e-9), 0.0)
    assert len(notes) == said
    if said:
        assert notes[0].code is force.RakeNote.FAR_FROM_MEASURED
        assert notes[0].facts["difference"] == pytest.approx(degrees)
        assert notes[0].facts["trusted"] == pytest.approx(20.0)
        assert notes[0].facts["credited"] == pytest.approx(35.0)


# --- frames ------------------------------------------------------------------------------------------


@pytest.mark.closed_form("F_x = -F_t cos(phi) - F_r sin(phi) at 0, 90, 180 degrees")
def test_feed_frame_at_the_four_corners():
    # by hand in the frame: feed +x, phi clockwise from +y; the force opposes the tooth's motion (cos phi,
    # -sin phi)
    # and pushes it back along its radius (sin phi, cos phi)
    phi = np.radians([0, 90, 180])
    F_x, F_y = force.feed_frame(2.0, 1.0, phi)
    assert F_x == pytest.approx([-2, -1, 2], abs=1e-12)
    assert F_y == pytest.approx([-1, 2, 1], abs=1e-12)


@pytest.mark.parametrize("teeth", [1, 2, 3, 5, 8])
def test_cutter_frame_is_the_feed_frame_turned(teeth):
    # computed: axes of tooth 0 at turning angle theta are (sin, cos) and (cos, -sin); tooth j is at theta -
    # 2 pi j/N
    rng = np.random.default_rng(teeth)
    tooth = rng.integers(0, teeth, 30)
    theta = rng.uniform(0, 2 * math.pi, 30)
    F_t = rng.uniform(0, 50, (30, 1))
    F_r = rng.uniform(-20, 50, (30, 1))
    F_x, F_y = force.feed_frame(F_t[:, 0], F_r[:, 0], theta - 2 * math.pi * tooth / teeth)
    F_1, F_2 = force.cutter_frame(F_t, F_r, tooth, teeth)
    assert F_1[:, 0] == pytest.approx(F_x * np.sin(theta) + F_y * np.cos(theta), abs=1e-12)
    assert F_2[:, 0] == pytest.approx(F_x * np.cos(theta) - F_y * np.sin(theta), abs=1e-12)


@pytest.mark.closed_form("a turn of axes keeps hypot(3, 4) = 5")
def test_frames_keep_the_resultant():
    # a turn of axes changes no length
    F_x, F_y = force.feed_frame(3.0, 4.0, np.linspace(0, 6, 13))
    assert np.hypot(F_x, F_y) == pytest.approx(np.full(13, 5.0))
    F_1, F_2 = force.cutter_frame(np.full((4, 1), 3.0), np.full((4, 1), 4.0), np.arange(4), 4)
    assert np.hypot(F_1, F_2) == pytest.approx(np.full((4, 1), 5.0))


# --- orthogonal cutting ------------------------------------------------------------------------------


@pytest.mark.published(
    "Groover, Fundamentals of Modern Manufacturing, orthogonal cutting problem",
    read="memory (high)",
)
def test_merchant_against_groover():
    phi, _, tau, k_c = merchant(math.radians(10), 0.5, 1.125, 3.0, 1559.0, 1271.0)
    assert math.degrees(phi) == pytest.approx(25.4, rel=0.005)
    assert tau == pytest.approx(247, rel=0.005)
    assert k_c == pytest.approx(1040, rel=0.005)  # U = 1.04 J/mm3
    assert k_c * 3.0 * 0.5 * 100 / 60 == pytest.approx(2598, rel=0.005)  # W at 100 m/min


@pytest.mark.published(
    "a textbook's Merchant circle, book not noted, chip 0.228 mm thick", read="memory (high)"
)
def test_merchant_against_a_textbook_circle():
    phi, beta, tau, k_c = merchant(math.radians(10), 0.127, 0.228, 6.35, 567.0, 227.0)
    assert k_c == pytest.approx(703, rel=0.01)
    assert math.degrees(phi) == pytest.approx(31.27, rel=0.01)
    assert math.degrees(beta) == pytest.approx(31.8, rel=0.01)
    assert tau == pytest.approx(236, rel=0.01)


@pytest.mark.published("Budak1996: Ti-6Al-4V, rake 0, t 0.05", read="memory (high)")
@pytest.mark.parametrize("helix, K_tc, K_rc, K_ac", [(30.0, 1775, 559, 652), (0.0, 1731, 599, 0)])
def test_oblique_against_budak(helix, K_tc, K_rc, K_ac):
    # tau_s 613, beta = 19.1 + 0.29 alpha, r = r0 t^a, r0 = 1.755 - 0.028 alpha, a = 0.331 - 0.0082 alpha;
    # alpha = 0
    r = 1.755 * 0.05**0.331
    got = oblique(613.0, math.atan(r), math.radians(19.1), 0.0, math.radians(helix))
    assert got == pytest.approx((K_tc, K_rc, K_ac), rel=0.01, abs=1e-9)


def test_oblique_without_inclination_is_the_merchant_circle():
    # peers: both describe one orthogonal cut; from the forces of a circle back to the same forces
    rake = math.radians(5)
    h = 0.1
    b = 4.0
    F_c = 700.0
    F_f = 300.0
    phi, beta, tau, k_c = merchant(rake, h, 0.25, b, F_c, F_f)
    K_tc, K_rc, K_ac = oblique(tau, phi, beta, rake, 0.0)
    assert (K_tc, K_rc, K_ac) == pytest.approx((k_c, F_f / (b * h), 0.0), rel=1e-9, abs=1e-9)


# ---- radial over tangential force against rake

#: Published change of the ratio for each degree between two rakes [deg, deg, 1].
CHANGES = {
    "Merchant, NE 9445, carbide, 122 m/min": (-10.0, 10.0, math.log(0.925 / 0.786) / 20),
    "Merchant, NE 9445, carbide, 195 m/min": (-10.0, 10.0, math.log(0.849 / 0.660) / 20),
    "Koenig and Klocke: F_c 1.5 %, F_f 5 %, F_p 4 %": (0.0, 10.0, 0.03),
    "Kosilova 1985 table 23, carbide, -15 to 0": (
        -15.0,
        0.0,
        math.log(2 / 1.25 / (1.4 / 1.1)) / 15,
    ),
    "Kosilova 1985 table 23, carbide, 0 to 10": (0.0, 10.0, math.log(1.4 / 1.1) / 10),
    # P_y 1.6 times and P_z 1.15 times as much; the ends of the rakes 12 to 15 and 20 to 25 taken in their middle
    "Kosilova 1985 table 23, HSS": (13.5, 22.5, math.log(1.6 / 1.15) / 9),
    "4130, HSS, 25 to 45": (25.0, 45.0, math.log(0.589 / 0.293) / 20),
}


@pytest.mark.published("changes of the radial ratio for a degree of rake", read="memory (high)")
def test_change_of_the_radial_ratio_with_rake():
    off = []
    for low, high, measured in CHANGES.values():
        factor = force.radial_rake_factor(math.radians(high), math.radians(low))
        ours = -math.log(factor) / (high - low)
        assert 0.01 <= ours <= 0.04
        off.append(ours - measured)
    inside = [abs(x) <= 1.645 * force.RADIAL_RAKE_SPREAD for x in off]
    assert sum(inside) >= 0.85 * len(off)
    # no wider than the sources force
    rms = math.sqrt(sum(x**2 for x in off) / len(off))
    assert pytest.approx(rms, rel=0.1) == force.RADIAL_RAKE_SPREAD


@pytest.mark.published(
    "friction angles of the 4130 (HSS) and NE 9445 (carbide) series, less the rake",
    read="memory (high)",
)
@pytest.mark.parametrize(
    ("rake", "angle"),
    [
        (-10, 42.8),
        (-10, 40.3),
        (10, 38.2),
        (10, 33.4),
        (25, 30.5),
        (35, 21.9),
        (40, 17.0),
        (45, 16.3),
    ],
)
def test_normal_angle_against_the_measured_series(rake, angle):
    # the two speeds of NE 9445 lie 2.5 and 4.8 deg apart; 4 deg either way
    assert math.degrees(force.normal_angle(math.radians(rake))) == pytest.approx(angle, abs=4.3)


@pytest.mark.closed_form("0.3 a degree up to 15, then a parabola, 0.7 from 25 on")
def test_normal_angle_by_hand():
    # 39 - 0.3 x 15; less 0.3 x 10 and 0.4 x 10/2 at 25; less 0.7 x 20 at 45
    angle = np.degrees(force.normal_angle(np.radians([0.0, 15.0, 25.0, 45.0])))
    assert angle == pytest.approx([39.0, 34.5, 29.5, 15.5])


def test_the_radial_ratio_never_comes_to_nothing_and_never_jumps():
    rake = np.radians(np.linspace(-30.0, 45.0, 1501))
    factor = force.radial_rake_factor(rake, math.radians(6.0))
    assert force.radial_rake_factor(0.1, 0.1) == pytest.approx(1.0)
    assert (factor > 0.3).all()
    assert (np.diff(factor) < 0).all()
    assert np.abs(np.diff(np.log(factor))).max() < 0.003  # 0.05 deg at under 6 % a degree


@pytest.mark.closed_form("no radial force, 5 deg, R = L, d = L/2: sqrt(1 + tan^2 5) + tan(5)/16")
def test_what_a_leaning_edge_adds() -> None:
    t = math.tan(math.radians(5))
    assert force.axial_factor(t, 0.0, 8.0, 8.0, 4.0) == pytest.approx(math.hypot(1, t) + t / 16)
    # a radial force of as much as the other: the axial one adds to it in full
    assert force.axial_factor(0.1, 1.0, 6.0, 6.0, 1e-9) == pytest.approx(math.sqrt((1 + 1.21) / 2))
    assert force.axial_factor(0.0, 0.4, 5.0, 6.0, 3.0) == 1.0

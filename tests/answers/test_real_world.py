"""Whole jobs whose outcome is known from standards, published measurements or shop practice."""

from __future__ import annotations

import functools
import math
import re

import numpy as np
import pytest

from loadsim import check
from loadsim.answers.results import Result
from loadsim.job.read import changed, job_from_text
from loadsim.loads.holding import grabbed_growth
from loadsim.loads.limits.utilization import Limit
from loadsim.loads.nominal import as_drawn, known_force, peak_chip
from loadsim.loads.resolve import resolve
from loadsim.risk import samples

RPM = math.pi / 30
NECK = ("neck fracture", "neck fatigue", "neck torsion")


@functools.cache
def drawn(samples_log2: int) -> samples.Draws:
    return samples.draws(samples_log2)


@functools.cache
def answer(text: str, **changes: object) -> Result:
    job = job_from_text(text, "job")
    if changes:
        job = changed(job, {k.replace("__", "."): v for k, v in changes.items()})
    return check(job, drawn(10 if job.cutter.teeth == 2 else 8))  # many teeth take long


def limit(result: Result, name: str) -> Limit:
    (found,) = (x for x in result.limits if x.name == name)
    return found


# --- standard cutters for T-slots ---------------------------------------------------------------------

#: ISO 3337, slot 10 (memory: high for head and width, medium for neck, reach and shank); undercut of a slot 10
#: 16 to 18 wide (ISO 299, memory medium). Steel C45, throat milled first; steady feed; the rest is assumed.
SLOT_10 = """
[job]
number = "slot 10"
[work]
material = "steel-1045"
lubrication = "flood"
[slot]
throat_width = "10 mm"
undercut_width = "18 mm"
undercut_height = "8 mm"
depth = "20 mm"
length = "100 mm"
sides = 2
open_ends = 2
width_tolerance = "1 mm"
[cutter]
material = "hss-m2"
head_diameter = "18 mm"
head_height = "8 mm"
neck_diameter = "8 mm"
neck_length = "13 mm"
neck_fillet = "0.5 mm"
shank_diameter = "12 mm"
stickout = "26 mm"
teeth = 6
rake = "10 deg"
runout = "0.005 mm"
[machine]
max_spindle_speed = "3000 rpm"
spindle_power = "2.2 kW"
feed = "power"
[cut]
spindle_speed = "400 rpm"
feed_per_tooth = "0.025 mm/tooth"
direction = "conventional"
"""
#: the same standard, slot 14: head 25 x 11, neck 12, reach 17, shank 16, 8 teeth; undercut 23 to 25 wide
SLOT_14 = functools.reduce(
    lambda text, new: re.sub(rf"(?m)^{new[0]} = .*$", f"{new[0]} = {new[1]}", text),
    [
        ("throat_width", '"14 mm"'), ("undercut_width", '"25 mm"'), ("undercut_height", '"11 mm"'),
        ("depth", '"27 mm"'), ("head_diameter", '"25 mm"'), ("head_height", '"11 mm"'), ("neck_diameter", '"12 mm"'),
        ("neck_length", '"17 mm"'), ("shank_diameter", '"16 mm"'), ("stickout", '"33 mm"'), ("teeth", "8"),
        ("spindle_speed", '"300 rpm"'),
    ],
    SLOT_10,
)  # fmt: skip


@pytest.mark.parametrize(
    ("text", "f_z"), [(SLOT_10, 0.03), (SLOT_14, 0.02)], ids=["slot 10", "slot 14"]
)
def test_standard_cutters_do_not_break(text, f_z):
    result = answer(text, cut__feed_per_tooth=f_z)
    assert all(limit(result, name).utilization < 0.8 for name in (*NECK, "tooth root"))
    assert result.risk.snap_probability < 0.03  # of 100 such cuts all but a few at the most
    assert 100 < result.neck.bending_stress_MPa < 500  # a few hundred MPa, nominal


def test_standard_slot_14_cutter_is_a_go_for_the_neck():
    result = answer(SLOT_14, cut__feed_per_tooth=0.02)
    assert result.risk.high <= 0.01
    assert {x.name for x in result.limits if x.utilization > 1 + 1e-9} <= {"wall error"}


def test_standard_slot_14_cutter_is_a_go():
    result = answer(SLOT_14, cut__feed_per_tooth=0.02)
    assert result.verdict == "go"


def test_standard_slot_10_cutter_at_twenty_times_the_feed_is_a_no_go():
    result = answer(SLOT_10, cut__feed_per_tooth=0.5)
    assert result.verdict == "no-go"
    assert limit(result, "neck fracture").utilization > 1
    assert result.risk.low > 0.5


# --- a small hand-ground cutter -----------------------------------------------------------------------

#: Neck of 1.8 on a 3.2 head, reach 2: common practice, no source. Aluminum, hand-fed, throat milled first.
SMALL = """
[job]
number = "small"
[work]
material = "al-6061-t6"
lubrication = "flood"
[slot]
throat_width = "2.3 mm"
undercut_width = "3.2 mm"
undercut_height = "1.0 mm"
depth = "2.9 mm"
length = "30 mm"
sides = 2
open_ends = 2
[cutter]
material = "hss-m2"
head_diameter = "3.2 mm"
head_height = "1.0 mm"
neck_diameter = "1.8 mm"
neck_length = "2.0 mm"
neck_fillet = "0.2 mm"
shank_diameter = "6 mm"
stickout = "12 mm"
teeth = 2
rake = "8 deg"
runout = "0.005 mm"
[machine]
max_spindle_speed = "10000 rpm"
spindle_power = "1 kW"
feed = "hand"
handwheel = "5 mm"
backlash = "0.1 mm"
[cut]
spindle_speed = "6000 rpm"
feed_per_tooth = "0.010 mm/tooth"
direction = "conventional"
"""


@pytest.mark.parametrize("f_z", [0.010, 0.013])
def test_small_neck_survives_without_end_holes(f_z):
    # common practice, no source: such cutters are run at 10 to 13 um a tooth
    result = answer(SMALL, cut__feed_per_tooth=f_z)
    assert result.verdict == "go"
    assert result.risk.high < 0.01
    assert result.predrill.verdict == "not needed"


@pytest.mark.parametrize("f_z", [0.010, 0.013, 0.02])
def test_stress_in_aluminum_is_about_a_third_of_that_in_carbon_steel(f_z):
    # ratio of handbook cutting forces, 6061 over C45 about 1/3, 35 % either way (common practice, no source)
    soft, hard = (
        answer(SMALL, work__material=m, cut__feed_per_tooth=f_z)
        for m in ("al-6061-t6", "steel-1045")
    )
    assert soft.neck.bending_stress_MPa / hard.neck.bending_stress_MPa == pytest.approx(
        1 / 3, rel=0.35
    )


@pytest.mark.parametrize("material", ["al-6061-t6", "steel-1045"])
def test_slight_relief_is_enough_and_steep_relief_weakens_the_edge(material):
    # common practice, no source: 5 to 7 degrees of primary relief is enough; steep relief only in soft metal
    five, seven, steep = (
        limit(
            answer(
                SMALL,
                work__material=material,
                cutter__relief=math.radians(a),
                cut__feed_per_tooth=0.05,
            ),
            "tooth root",
        ).utilization
        for a in (5, 7, 40)
    )
    assert max(five, seven) < 0.8
    assert steep > 1.3 * seven


def test_steep_relief_costs_more_in_steel_than_in_aluminum():
    soft, hard = (
        limit(
            answer(SMALL, work__material=m, cutter__relief=math.radians(40)), "tooth root"
        ).utilization
        for m in ("al-6061-t6", "steel-1045")
    )
    # in kind only: the radial force spares a steep tooth of steel more, and is less sure in aluminum
    assert hard > 1.3 * soft


# --- a hand-fed climb cut -----------------------------------------------------------------------------

#: Side passes of a smaller head; power law of slope 1 - 0.25, which makes ten times the chip 5.62 times the force.
SIDE = {
    "slot__throat_width": 2.6, "slot__undercut_width": 4.0, "cutter__neck_diameter": 1.6, "cutter__runout": 0.0,
    "cutter__edge_radius": 0.001, "cut__stepover": 0.2, "work__kc11": 800.0, "work__mc": 0.25,
    "work__radial_ratio": 0.4,
}  # fmt: skip


@pytest.mark.closed_form("ten times the chip takes 10^(1 - 0.25) times the force")
def test_hand_fed_climb_cut_can_grab_the_table():
    # computed: (0.1/0.01)^(1 - 0.25) = 5.62
    result = answer(SMALL, **SIDE, cut__direction="climb")
    found = limit(result, "table grab")
    assert not found.hard and 0 < found.demand < result.loads.feed_force_pull_N
    job = resolve(
        changed(job_from_text(SMALL, "job"), {k.replace("__", "."): v for k, v in SIDE.items()})
    )
    case = as_drawn(job, 0.01, 1.0, 1.0)
    assert grabbed_growth(case, 0.1) == pytest.approx(10**0.75, rel=1e-3)
    grabbed = 10**0.75 * result.neck.peak_stress_MPa
    assert f"jumps by its backlash of 0.100 mm and the neck sees {grabbed:.0f} MPa" in found.note
    # a screw tighter than the feed leaves the tooth its feed
    assert grabbed_growth(case, 0.001) == pytest.approx(1.0)


def test_hand_fed_conventional_cut_does_not_grab():
    found = limit(answer(SMALL, **SIDE, cut__direction="conventional"), "table grab")
    assert found.demand == 0
    assert "does not drag the table" in found.note


def test_a_table_that_runs_lightly_is_grabbed():
    # a table that 0.1 N at the rim moves resists with 0.1 x 2 pi x 60 x 0.3/5 = 2.3 N, another with 150 N
    tough = SIDE | {"work__kc11": 8000.0, "machine__wheel_force": 0.1}
    climb, conventional = (
        answer(SMALL, **tough, cut__direction=d) for d in ("climb", "conventional")
    )
    assert limit(climb, "table grab").utilization > 1
    assert climb.verdict != "go"
    assert limit(conventional, "table grab").utilization == 0
    assert limit(answer(SMALL, **SIDE, cut__direction="climb"), "table grab").utilization < 1


# --- forces and feeds ---------------------------------------------------------------------------------

#: The whole width of a 1/8 inch head 1 mm high: the throat is milled to the undercut's roof only.
FULL = {
    "slot__throat_width": 2.2, "slot__throat_depth": 1.9, "slot__undercut_width": 3.175, "cutter__runout": 0.0,
    "cutter__head_diameter": 3.175, "cut__feed_per_tooth": 0.0127,
}  # fmt: skip


@pytest.mark.independent("geometric mean of eleven sets of constants, worked apart")
@pytest.mark.parametrize("material", ["al-6061-t6", "al-7075-t6", "al-2024-t3"])
def test_mean_torque_in_age_hardened_aluminum(material):
    # eleven independent sets of constants for age-hardened aluminum on this geometry (computed from their
    # published values): geometric mean 28.6 N*mm, sigma of the logarithm 0.41, so 90 % between 14 and 55
    result = answer(SMALL, **FULL, work__material=material)
    assert 20 < result.loads.mean_torque_Nmm < 40
    s = resolve(
        changed(job_from_text(SMALL, "job"), {"work.material": material, "cutter.runout": 0.0})
    )
    sigma = known_force(s, peak_chip(s, 0.0127, 1.0)).sigma_ln.item()
    band = result.loads.mean_torque_Nmm * np.exp(1.645 * sigma * np.array([-1, 1]))
    assert band == pytest.approx([14, 55], rel=0.25)


@pytest.mark.published("ShopPractice: 6 to 30 um a tooth, 3.2 mm, 6061-T6", read="memory (medium)")
def test_picked_feed_of_a_small_cutter_in_aluminum():
    # shop practice for a 3.2 mm two-tooth cutter of high-speed steel in 6061-T6: 6 to 30 um/tooth (memory medium);
    # a stout neck, so that it does not limit
    stout = {"slot__throat_width": 2.8, "cutter__neck_diameter": 2.6, "cutter__neck_fillet": 0.1}
    result = answer(SMALL, **stout, cut__feed_per_tooth=None)
    assert 0.006 <= result.settings.feed_per_tooth_mm <= 0.030
    assert result.verdict == "go"
    assert limit(result, "rubbing").utilization < 1
    assert any(x.startswith("Feed picked") for x in result.picked)


def test_a_dull_edge_never_picks_a_feed_that_only_rubs():
    # chip at the throat's edge: sin(phi) with cos(phi) = 2.0/3.2, and 0.3 of the edge radius as thinnest chip
    result = answer(
        SMALL,
        cut__feed_per_tooth=None,
        cutter__edge_radius=0.03,
        cutter__runout=0.0,
        machine__feed="cnc",
        machine__backlash=0.0,
    )
    sine = math.sqrt(1 - (2.0 / 3.2) ** 2)
    assert result.settings.feed_per_tooth_mm * sine > 0.25 * 0.03
    assert limit(result, "rubbing").utilization <= 1 + 1e-9

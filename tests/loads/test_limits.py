"""Every way the cut can go wrong: it is listed, it flips when its cause is made bad enough, and its
demand is worked in closed form.
"""

from __future__ import annotations

import functools
import math
from typing import Any

import numpy as np
import pytest

from loadsim import check
from loadsim.answers.results import Result
from loadsim.answers.verdict import GRADES, Uses, grades, most_to_prove, verdict_of
from loadsim.job import tolerances
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads.limits.utilization import Limit, LimitCode, Utilization, is_over
from loadsim.loads.resolve import resolve
from loadsim.mechanics.hardness import hardness_to_tensile
from loadsim.risk import samples
from loadsim.risk.results import Modes, Risk

RPM = math.pi / 30
#: the ways a cut can go wrong, and whether over capacity is a no-go (hard) or marginal (soft)
HARD = {
    "neck fracture", "neck fatigue", "neck torsion", "spindle torque", "collet slip", "resonance", "neck in throat",
    "shoulder above surface", "head in undercut", "blank against metal",
}  # fmt: skip
SOFT = {
    "tooth root", "table grab", "wall error", "rubbing", "chip packing", "surface speed", "neck on throat wall",
    "fillet in throat", "handwheel speed",
}  # fmt: skip
FITS = {"neck in throat", "fillet in throat", "shoulder above surface", "head in undercut"}


@functools.cache
def track() -> Job:
    """A stout cutter in soft aluminum that is a go."""
    return job_from_text(example("t-track"), "t-track")


@functools.cache
def drawn() -> samples.Draws:
    return samples.draws(8)


def answer(**changes: Any) -> Result:
    return check(changed(track(), {k.replace("__", "."): v for k, v in changes.items()}), drawn())


def limit(result: Result, name: str) -> Limit:
    (found,) = (x for x in result.limits if x.name == name)
    return found


def test_every_limit_is_there_and_none_is_over_in_a_sound_cut():
    result = answer()
    assert {x.name for x in result.limits if x.hard} == HARD
    assert {x.name for x in result.limits if not x.hard} == SOFT
    assert {x.name for x in result.limits if x.fit} == FITS
    assert result.verdict == "go"
    assert all(x.utilization <= 1 + 1e-9 for x in result.limits)
    assert all(
        x.utilization == pytest.approx(x.demand / x.capacity) and x.note for x in result.limits
    )


HARD_METAL = {"work__kc11": 20_000.0, "work__mc": 0.1}
CAUSES: dict[str, dict[str, Any]] = {
    # 1.35 x 1.05 x 150 HB is 213 HV; annealed rod keeps 0.93 x 205 HV, 191, when hot
    "blank against metal": {
        "work__material": "al-7075-t6", "cutter__material": "drill-rod-annealed", "cutter__hardness": None,
    },
    "neck in throat": {"cutter__neck_diameter": 6.15},  # 6.15 and twice 0.05 do not pass 6.2
    # gap 0.5 beside the neck: 0.8 - sqrt(2 x 0.8 x 0.5 - 0.25) is 0.058 high
    "fillet in throat": {"cutter__neck_fillet": 0.8},
    # a neck of 6.0 in 6.2 has a gap of 0.1
    "neck on throat wall": {**HARD_METAL, "cutter__neck_diameter": 6.0, "cut__feed_per_tooth": 0.05},
    "shoulder above surface": {"cutter__neck_length": 4.7},  # 7.4 deep, 2.6 of it head
    "reach of side passes": {"slot__undercut_width": 12.0},  # 0.8 off centre: 5.2 + 1.6 > 6.2
    "drop-in hole": {"slot__open_ends": 0, "slot__length": 10.0},  # shorter than the head is wide
    "spindle torque": {"machine__spindle_power": 20e3},  # 20 W
    "surface speed": {"machine__max_spindle_speed": 9000 * RPM, "cut__spindle_speed": 9000 * RPM},
    # eight teeth at 13,900 rpm pass 1853 times a second, what a stick-out of 60 mm rings at
    "resonance": {
        "cutter__stickout": 60.0, "cutter__teeth": 8,
        "machine__max_spindle_speed": 14_000 * RPM, "cut__spindle_speed": 13_900 * RPM,
    },
    "rubbing": {"cut__feed_per_tooth": 0.001, "cutter__runout": 0.0},
    "wall error": {"target__wall_error": 0.002},
    "handwheel speed": {"machine__handwheel": 1.0},  # 83 mm/min: 1.4 turns a second
    "chip packing": {"cut__feed_per_tooth": 0.4, "work__lubrication": "dry"},
    "neck fracture": {"cutter__neck_diameter": 1.0, "cut__feed_per_tooth": 0.2},
    "neck fatigue": {"cutter__neck_diameter": 1.0, "cut__feed_per_tooth": 0.05},
    "neck torsion": {"cutter__neck_diameter": 1.0, "cut__feed_per_tooth": 0.2},
    "collet slip": {**HARD_METAL, "cut__feed_per_tooth": 0.2},
    "tooth root": {**HARD_METAL, "cut__feed_per_tooth": 1.0, "cutter__rake": math.radians(30)},
    "table grab": {
        **HARD_METAL, "slot__undercut_width": 11.2, "cut__stepover": 0.1, "cut__direction": "climb",
        "machine__backlash": 1.0, "machine__wheel_force": 0.1,
    },
}  # fmt: skip


@pytest.mark.parametrize("name", CAUSES)
def test_a_cause_made_bad_enough_flips_its_limit(name):
    result = answer(**CAUSES[name])
    found = limit(result, name)
    assert found.utilization > 1
    assert found.hard == (name not in SOFT)
    assert result.verdict == ("no-go" if found.hard else result.verdict)
    assert result.verdict != "go"


def test_no_limit_is_left_without_a_cause():
    # a head higher than the undercut is refused when the job is read, so it has no cut to judge
    assert set(CAUSES) == (HARD | SOFT | {"reach of side passes", "drop-in hole"}) - {
        "head in undercut"
    }


@pytest.mark.parametrize("name", ["wall error", "rubbing"])
def test_a_soft_limit_alone_is_marginal_and_says_what_to_do(name):
    result = answer(**CAUSES[name])
    over = {x.name for x in result.limits if x.utilization > 1 + 1e-9}
    assert over == {name}
    assert result.verdict == "marginal"
    told = {"rubbing": "Feed more", "wall error": "prove it on scrap"}[name]
    assert any(name in x or told in x for x in result.advice)


def test_closed_ends_name_the_drop_in_hole():
    result = answer(slot__open_ends=0)
    found = limit(result, "drop-in hole")
    assert (
        found.hard and "at least 10.500 mm" in found.note
    )  # 0.05 on each side, as the drill of the routing
    assert any("drop-in hole" in x for x in result.warnings)
    assert result.predrill.verdict in ("not needed", "not possible")


# --- demand and capacity in closed form ---------------------------------------------------------------


@pytest.mark.closed_form("power over speed, harmonics of the teeth, dimensions of the job")
def test_demands_and_capacities_in_closed_form():
    # computed: the dimensions of the example, by hand
    result = answer()
    speed = 2600 * RPM
    # 1.1 kW at 2600 rpm, four fifths of it at the cutter
    assert limit(result, "spindle torque").capacity == pytest.approx(0.8 * 1.1e6 / speed)
    assert limit(result, "spindle torque").demand == result.loads.mean_torque_Nmm
    assert limit(result, "resonance").demand == pytest.approx(2 * 2600 / 60)  # two teeth
    # 15 % under its own
    assert limit(result, "resonance").capacity == pytest.approx(
        0.85 * result.neck.natural_frequency_Hz
    )
    gap = limit(result, "neck on throat wall")
    assert gap.capacity == pytest.approx((6.2 - 5.2) / 2)
    assert gap.demand == pytest.approx(result.neck.deflection_mm)
    touches = 0.5 * result.neck.stiffness_N_per_mm
    assert f"leans on the throat wall from {touches:.1f} N on" in gap.note
    assert limit(result, "surface speed").demand == pytest.approx(speed * 5.2)
    assert limit(result, "neck in throat").demand == pytest.approx(5.2 + 0.1)
    assert limit(result, "shoulder above surface").demand == pytest.approx(7.4 - 2.6 + 0.05)
    assert limit(result, "wall error").capacity == pytest.approx(
        0.05
    )  # half of plus and minus 0.10
    assert result.neck.cycles == pytest.approx((118 + 10.4) / (0.016 * 2))


@pytest.mark.closed_form("F/k, 0.4 k_c11 h_min^0.75 b, a line from 0.74 S_ut to Murakami2002")
def test_deflection_wall_error_and_fatigue_in_closed_form():
    # computed by hand from the laws: one tooth rubs at the wall with 0.4 kc11 h_min^0.75 b, h_min = 0.3 x 0.010 mm
    result = answer(work__kc11=700.0, work__mc=0.25, work__radial_ratio=0.4)
    stiffness = result.neck.stiffness_N_per_mm
    assert result.neck.deflection_mm == pytest.approx(result.loads.peak_force_N / stiffness)
    at_wall = 0.4 * 700 * 0.003**0.75 * 2.6
    assert limit(result, "wall error").demand == pytest.approx(
        at_wall / stiffness + 0.010, rel=1e-6
    )
    # Murakami at 63 HRC = 772 HV (HardnessConversion, via), 24 um, times 0.85 for hand grinding, at ten million turns;
    # 0.74 of the tensile strength by hardness at a thousand; a straight line in log-log to 4012.5 turns
    limits = 0.85 * 1.43 * (772 + 120) / 24 ** (1 / 6)
    thousand = 0.74 * float(hardness_to_tensile(63.0))
    bears = thousand * (limits / thousand) ** (math.log(4.0125) / math.log(1e4))
    assert limit(result, "neck fatigue").capacity == pytest.approx(bears, rel=1e-6)


@pytest.mark.parametrize(("k", "name"), [(2.0, "spindle torque"), (4.0, "spindle torque")])
def test_more_power_bears_in_proportion(k, name):
    one, more = (limit(answer(machine__spindle_power=p), name) for p in (1.1e6, k * 1.1e6))
    assert more.capacity / one.capacity == pytest.approx(k)
    assert more.demand == one.demand


@pytest.mark.published("ISO2768-1 table 1, class m", read="memory (high)")
@pytest.mark.parametrize(
    ("width", "tolerance"), [(11.0, 0.2), (29.0, 0.2), (31.0, 0.3), (121.0, 0.5)]
)
def test_untoleranced_width_takes_the_general_tolerance(width, tolerance):
    job = changed(track(), {"slot.undercut_width": width, "slot.width_tolerance": None})
    allowed, origin = tolerances.wall_allowance(job)
    assert allowed == pytest.approx(tolerance / 2)
    assert origin is tolerances.WallOrigin.GENERAL_TOLERANCE


def test_a_driven_screw_without_backlash_cannot_be_dragged():
    climb = {k: v for k, v in CAUSES["table grab"].items() if not k.startswith("machine")}
    held = limit(answer(**climb, machine__feed="cnc", machine__backlash=0.0), "table grab")
    loose = limit(answer(**climb, machine__feed="cnc", machine__backlash=0.1), "table grab")
    assert held.demand == 0 and "no backlash" in held.note
    assert loose.demand > 0 and "holds it" in loose.note
    assert loose.capacity == held.capacity == 150.0  # common practice, no source


@pytest.mark.closed_form("rim force x 2 pi 60 mm x 0.3 over a travel of 5 mm a turn")
def test_a_table_is_held_by_what_its_wheel_was_measured_to_take():
    result = answer(**CAUSES["table grab"])
    found = limit(result, "table grab")
    assert found.capacity == pytest.approx(0.1 * 2 * math.pi * 60 * 0.3 / 5)
    assert found.demand > found.capacity and not found.hard
    assert "Cut conventionally" in found.note
    # twice the force at the rim is twice the friction
    twice = limit(answer(**CAUSES["table grab"] | {"machine__wheel_force": 0.2}), "table grab")
    assert twice.capacity == pytest.approx(2 * found.capacity)
    assert twice.demand == found.demand


# --- the verdict rule ---------------------------------------------------------------------------------


def made(u: float, *, hard: bool = True, fit: bool = False) -> Limit:
    return Limit(
        name="x", demand=u, capacity=1.0, unit="1", utilization=u, hard=hard, fit=fit, note="n"
    )


def chance(p: float, high: float | None = None) -> Risk:
    top = p if high is None else high
    modes = Modes(fracture=p, fatigue=0.0, torsion=0.0, grab=0.0)
    return Risk(snap_probability=p, low=0.0, high=top, samples=1, seed=0, drivers=(), modes=modes)


@pytest.mark.parametrize(
    ("found", "risk_", "verdict"),
    [
        ([made(0.5)], chance(0.001), "go"),
        ([made(0.8)], chance(0.001), "go"),
        ([made(0.81)], chance(0.001), "marginal"),
        ([made(1.0)], chance(0.001), "marginal"),
        ([made(1.01)], chance(0.001), "no-go"),
        ([made(0.99, hard=False)], chance(0.001), "go"),
        ([made(1.01, hard=False)], chance(0.001), "marginal"),
        ([made(9.0, hard=False), made(0.2)], chance(0.001), "marginal"),
        ([made(1.01, hard=False), made(1.01)], chance(0.001), "no-go"),
        ([made(1.0, fit=True)], chance(0.001), "go"),  # a fit is judged by itself
        ([made(1.01, fit=True)], chance(0.001), "no-go"),
        ([made(0.1)], chance(0.01), "go"),  # at the target
        ([made(0.1)], chance(0.009, 0.011), "marginal"),  # the interval reaches over
        ([made(0.1)], chance(0.011), "marginal"),  # over the asked one
        ([made(0.1)], chance(0.0999), "marginal"),  # and under ten times it
        ([made(0.1)], chance(0.1), "no-go"),
        ([made(0.1)], chance(0.0999, 0.11), "marginal"),
        ([made(1.2, hard=False, fit=True)], chance(0.001), "marginal"),  # a soft clearance
    ],
)
def test_the_verdict_rule(found, risk_, verdict):
    assert verdict_of(found, risk_, 0.01) == verdict


@pytest.mark.parametrize(
    ("p", "target", "verdict"),
    [(0.25, 0.05, "marginal"), (0.251, 0.05, "no-go"), (0.24, 0.02, "no-go"), (0.3, 0.4, "go")],
)
def test_one_cut_in_four_is_never_proved_on_scrap(p, target, verdict):
    assert verdict_of([made(0.1)], chance(p), target) == verdict
    assert (most_to_prove(target) >= p) == (verdict != "no-go")  # feeds are picked by that


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_number_that_is_none_has_no_verdict(bad):
    with pytest.raises(ValueError, match="finite"):
        verdict_of([made(bad)], chance(0.001), 0.01)
    with pytest.raises(ValueError, match="finite"):
        verdict_of([made(bad, hard=False)], chance(0.001), 0.01)
    for risk_ in (chance(bad), chance(0.001, bad)):
        with pytest.raises(ValueError, match="finite"):
            verdict_of([made(0.1)], risk_, 0.01)


def test_many_cuts_are_weighed_as_one_is():
    ladder = [0.1, 0.79, 0.81, 1.0, 1.01, 7.0]
    chances = [0.001, 0.01, 0.02, 0.099, 0.11, 0.9]
    points = [(u, s, f, p) for u in ladder for s in ladder for f in ladder for p in chances]
    u, s, f, p = (np.array(x) for x in zip(*points, strict=True))
    many = grades(Uses(hard=u, soft=s, fit=f), p, np.minimum(1.05 * p, 1.0), 0.01)
    for i, (one_u, one_s, one_f, one_p) in enumerate(points):
        found = [made(one_u), made(one_s, hard=False), made(one_f, fit=True)]
        risk_ = chance(one_p, min(1.05 * one_p, 1.0))
        assert GRADES[many[i]] is verdict_of(found, risk_, 0.01)


@pytest.mark.closed_form("(1 - 0.015 x 8) x 1.10")
def test_force_factor_holds_rake_and_adhesion():
    # by hand: rake 10 degrees against a mean reference of (0 + 0 + 6)/3 = 2; brushed soft aluminum 1.10 (common
    # practice, no source)
    assert resolve(track()).force_factor == pytest.approx((1 - 0.015 * 8) * 1.10)


# --- over or not -------------------------------------------------------------------------------------


@pytest.mark.closed_form("used to the full holds; a percent more does not; rounding is no percent")
@pytest.mark.parametrize(
    ("used", "over"),
    [(0.0, False), (1.0, False), (0.1 * 3 / 0.3, False), (1.01, True), (math.nan, True)],
)
def test_a_limit_is_over_past_its_capacity(used: float, over: bool):
    share = Utilization(
        code=LimitCode.WALL_ERROR,
        demand=np.array([0.0, used]),
        capacity=np.ones(2),
        unit="mm",
        hard=False,
    )
    assert is_over(used) == over
    assert share.over.tolist() == [False, over]

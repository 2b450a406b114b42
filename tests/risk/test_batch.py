"""What becomes of one cutter over many slots, and what the slots that it has lived through prove."""

from __future__ import annotations

import functools
import math
from dataclasses import replace
from typing import Any

import pytest

from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.loads.cut import Engagement, engagement_of
from loadsim.loads.edge_wear import slots_to_stone
from loadsim.loads.passes import passes, travel_of
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk import batch, bayes, samples, snap
from loadsim.risk.trial_update import weighed

#: A neck of 1.8 mm on a 3.2 mm head, hand-fed: shops make this cut every day (common practice, no
#: source).
EVERYDAY = """
[job]
number = "R3"
[work]
material = "al-6061-t6"
lubrication = "brush"
[slot]
throat_width = "1.93 mm"
undercut_width = "3.2 mm"
undercut_height = "1.9 mm"
depth = "3.1 mm"
length = "12 mm"
sides = 2
open_ends = 1
[cutter]
material = "hss-m2"
head_diameter = "3.2 mm"
head_height = "1.9 mm"
neck_diameter = "1.8 mm"
neck_length = "2 mm"
shank_diameter = "3.2 mm"
stickout = "13 mm"
teeth = 2
rake = "0 deg"
relief = "40 deg"
[machine]
max_spindle_speed = "2700 rpm"
spindle_power = "1.5 kW"
feed = "hand"
[cut]
spindle_speed = "2500 rpm"
feed_per_tooth = "0.010 mm/tooth"
"""

SPEED = 2500 * 2 * math.pi / 60
F_Z = 0.010


def everyday(**changes: Any) -> Job:
    own = {k.replace("__", "."): v for k, v in changes.items()}
    return changed(job_from_text(EVERYDAY, "R3"), own)


def survived(slots: int, **more: Any) -> Job:
    data = everyday().model_dump(exclude_none=True)
    cut = {"spindle_speed": SPEED, "feed_per_tooth": F_Z, "outcome": "survived", "length": 12.0}
    data["trial"] = [cut | {"slots": slots} | more]
    return Job.model_validate(data, context={"inside": True})


@functools.cache
def drawn(samples_log2: int = 13) -> samples.Draws:
    return samples.draws(samples_log2)


def way_of(job: ResolvedJob) -> Engagement:
    return engagement_of(job, passes(job, None, "conventional"), 24)


def chance(job: ResolvedJob, seen: samples.Draws, f_z: float = F_Z, slots: int = 1) -> float:
    """Chance of the next slots, unrounded."""
    p = snap.snaps(job, way_of(job), f_z, seen, speed=SPEED, slots=slots).p
    assert (p >= 0).all() and (p <= 1).all()
    return bayes.mean(p, seen.weights)


# --- a batch --------------------------------------------------------------------------------------


def test_a_batch_of_one_is_the_slot() -> None:
    job = resolve(everyday())
    one = batch.batch_of(job, way_of(job), F_Z, SPEED, drawn(), 1)
    alone = snap.assess(job, way_of(job), F_Z, drawn(), speed=SPEED)
    assert one.snap_probability == alone.snap_probability
    assert one.slots == 1


def test_more_slots_are_never_safer() -> None:
    job = resolve(everyday())
    found = [chance(job, drawn(), slots=n) for n in (1, 2, 5, 20, 100, 1000)]
    assert found == sorted(found)
    assert found[0] < 0.9 * found[2] < 0.9 * found[-1]
    # never more than if each were cut with a neck of its own
    assert all(p <= n * found[0] for p, n in zip(found, (1, 2, 5, 20, 100, 1000), strict=True))


def test_slots_to_the_asked_chance_are_those_that_hold() -> None:
    for target in (0.02, 0.1, 0.2):
        job = resolve(everyday(target__snap_probability=target))
        few = samples.few_of(drawn(), batch.FEW)
        made = batch.batch_of(job, way_of(job), F_Z, SPEED, drawn(), 10_000)
        n, edge = made.slots_to_target, made.stone_after_slots

        def within(
            slots: int, job: ResolvedJob = job, few: samples.Draws = few, edge: int | None = edge
        ) -> bool:
            found = snap.assess(job, way_of(job), F_Z, few, speed=SPEED, slots=slots, edge=edge)
            return found.snap_probability <= job.target.snap_probability

        if n is None:
            assert not within(1) or within(batch.MOST_SLOTS)
        else:
            assert within(n) and not within(n + max(1, n // 50) + 1)


def test_an_edge_is_stoned_before_it_costs_the_neck() -> None:
    # a fresh edge in each slot asks the least, one that is stoned when its land is due the most
    job = resolve(everyday(slot__length=100.0, target__snap_probability=0.45))
    speed = 0.9 * job.work.surface_speed_hi / job.head.radius
    few = samples.few_of(drawn(), batch.FEW)

    def most(edge: int) -> int:
        def over(slots: int) -> float:
            found = snap.assess(job, way_of(job), 0.003, few, speed=speed, slots=slots, edge=edge)
            return math.log(found.snap_probability / job.target.snap_probability)

        return batch._slots_to_target(over)

    made = batch.batch_of(job, way_of(job), 0.003, speed, drawn(), 10_000)
    assert made.stone_after_slots is not None and made.slots_to_target is not None
    due = math.floor(slots_to_stone(job, travel_of(way_of(job).passes), speed))
    assert most(1) >= made.slots_to_target == most(made.stone_after_slots) >= most(due)
    assert made.slots_to_target >= most(1) / 2
    assert made.stone_after_slots < due


def test_both_ends_of_the_slots_to_target_occur() -> None:
    def counted(target: float) -> int | None:
        job = resolve(everyday(target__snap_probability=target))
        return batch.batch_of(job, way_of(job), F_Z, SPEED, drawn(), 20).slots_to_target

    assert counted(1e-6) is None
    assert counted(0.2) is not None


@pytest.mark.closed_form(
    "way of the edge: 0.09 mm of land in 7200 s (aluminum), 1800 s (steel) at the usual speed"
)
def test_the_edge_is_stoned_after_its_way_in_the_metal() -> None:
    job = resolve(everyday())
    way = way_of(job)
    # 12 mm of slot and 3.2 mm of head, and half a radius once more at the closed end; 0.02 mm a tooth, half of each turn
    travel = 12.0 + 3.2 + 0.5 * 1.6
    metal = travel / (0.02 * 2) * math.pi * 1.6
    slots = 7200 * job.work.surface_speed_hi / metal
    assert slots_to_stone(job, travel, SPEED) == pytest.approx(slots)
    whole = int(slots)
    found = [batch.batch_of(job, way, 0.011, SPEED, drawn(8), n) for n in (whole, whole + 1)]
    assert [x.stone_after_slots for x in found] == [None, whole]
    steel = resolve(everyday(work__material="steel-1045"))
    usual = steel.work.surface_speed_hi
    assert slots_to_stone(steel, travel, usual / 1.6) == pytest.approx(1800 * usual / metal)
    # Taylor, n = 1/8: a tenth faster, 1.1^7 times the land on the same way
    faster = slots_to_stone(steel, travel, 1.1 * usual / 1.6)
    assert faster == pytest.approx(1800 * usual / metal / 1.1**7)
    # half of the land is there already
    worn = resolve(everyday(cutter__wear=0.055))
    assert slots_to_stone(worn, travel, SPEED) == pytest.approx(slots / 2)


# --- what was lived through -------------------------------------------------------------------------


@functools.cache
def next_slot(slots: int) -> float:
    job = survived(slots)
    return chance(resolve(job), weighed(resolve(job), drawn(14)).drawn)


def test_each_slot_survived_makes_the_next_one_surer() -> None:
    new = chance(resolve(everyday()), drawn(14))
    three, twelve, many = (next_slot(n) for n in (3, 12, 500))
    assert three < 0.5 * new  # at most half after three survived scrap slots
    assert twelve < 0.7 * three
    # after five hundred about 1 in 1,000
    assert 2e-4 < many < 3e-3
    assert new < 0.08


def test_another_neck_is_not_credited() -> None:
    job = survived(12)
    seen = weighed(resolve(job), drawn()).drawn
    bare = replace(seen, worn=None)
    other = resolve(changed(job, {"cutter.neck_diameter": 1.8001}))
    assert chance(other, seen) == chance(other, bare)
    assert chance(resolve(job), seen) != chance(resolve(job), bare)
    # held straighter it is the same neck, and has its history
    straight = resolve(changed(job, {"cutter.runout": 0.005}))
    assert chance(straight, seen) != chance(straight, bare)
    made_by_another = weighed(resolve(survived(12, cutter="another")), drawn()).drawn
    assert made_by_another.worn is None and made_by_another.weights is not None


def test_a_slower_feed_after_what_was_survived_is_safer_still() -> None:
    job = resolve(survived(3))
    seen = weighed(job, drawn()).drawn
    found = [chance(job, seen, f_z) for f_z in (0.006, 0.010, 0.015)]
    assert found == sorted(found)


def test_the_scrap_cut_that_is_proposed_is_what_a_trial_then_says() -> None:
    # peer: the same slots entered as a test cut that was survived, its draws paired otherwise
    job = resolve(everyday())
    for slots in (1, 3):
        p, after = batch.lived_through(job, way_of(job), F_Z, SPEED, drawn(14), slots)
        assert p == pytest.approx(
            snap.assess(job, way_of(job), F_Z, drawn(14), speed=SPEED, slots=slots).snap_probability
        )
        told = survived(slots)
        seen = weighed(resolve(told), drawn(14)).drawn
        assert after == pytest.approx(chance(resolve(told), seen), rel=0.15)

"""What holds shank and table, and the torque that asks for it: means over a turn, by hand."""

from __future__ import annotations

import functools
import math
from typing import Any

import pytest

from loadsim import check
from loadsim.answers.results import Result
from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.holding import grip, is_loose, table_friction
from loadsim.loads.limits.utilization import Limit
from loadsim.loads.resolve import resolve
from loadsim.risk import samples

#: Standard T-slot cutter for a slot of 18 (ISO 3337, memory medium): head 32 x 14, 8 teeth, shank 16.
SLOT_18 = """
[job]
number = "slot 18"
[work]
material = "steel-1045"
lubrication = "flood"
[slot]
throat_width = "18 mm"
undercut_width = "32 mm"
undercut_height = "14 mm"
depth = "32 mm"
length = "100 mm"
sides = 2
open_ends = 2
[cutter]
material = "hss-m2"
head_diameter = "32 mm"
head_height = "14 mm"
neck_diameter = "15 mm"
neck_length = "22 mm"
neck_fillet = "0.5 mm"
shank_diameter = "16 mm"
stickout = "52 mm"
teeth = 8
rake = "10 deg"
[machine]
max_spindle_speed = "3000 rpm"
spindle_power = "3 kW"
feed = "power"
[cut]
spindle_speed = "200 rpm"
feed_per_tooth = "0.03 mm/tooth"
"""


@functools.cache
def answer(text: str = SLOT_18, **changes: Any) -> Result:
    job = changed(job_from_text(text, "job"), {k.replace("__", "."): v for k, v in changes.items()})
    return check(job, samples.draws(8))


def limit(result: Result, name: str) -> Limit:
    (found,) = (x for x in result.limits if x.name == name)
    return found


@pytest.mark.published(
    "CatalogColletPull: 600 to 3750 lb on a shank of 1/2 in", read="via a copied catalog page"
)
def test_a_collet_holds_in_the_lower_part_of_the_printed_range() -> None:
    low, high = 600 * 4.4482, 3750 * 4.4482
    middle = math.sqrt(low * high)
    # the range holds nineteen in twenty: two standard deviations each way; one in twenty is 1.645 under
    one_in_twenty = middle * math.exp(-1.645 * math.log(high / low) / 4)
    assert low < grip("collet", 12.7) < middle
    assert grip("collet", 12.7) == pytest.approx(one_in_twenty, rel=0.01)
    assert grip("collet", 25.4) == pytest.approx(2 * grip("collet", 12.7))


@pytest.mark.closed_form("400 MPa on a screw of half the shank's diameter: 400 pi/4 8^2")
def test_a_side_lock_holds_more() -> None:
    assert grip("side-lock", 16.0) == pytest.approx(400 * math.pi / 4 * 64)
    assert all(grip("side-lock", d) > 1.5 * grip("collet", d) for d in (6.0, 10.0, 16.0, 32.0))


def test_a_standard_cutter_stays_in_its_collet_at_its_usual_feed() -> None:
    # common practice, no source: T-slot cutters of 32 mm run in 16 mm collets
    result = answer()
    held = limit(result, "collet slip")
    assert held.hard and held.utilization < 1
    assert held.demand == result.loads.mean_torque_Nmm < result.loads.peak_torque_Nmm
    locked = limit(answer(machine__holder="side-lock"), "collet slip")
    assert locked.capacity == pytest.approx(400 * math.pi / 4 * 64 * 8)
    assert "side-lock" in locked.note and "collet" in held.note
    assert limit(answer(machine__holder="collet"), "collet slip") == held


@pytest.mark.closed_form("power = torque x speed; work of a turn = torque x 2 pi")
def test_the_spindle_is_asked_for_the_mean() -> None:
    result = answer()
    found = limit(result, "spindle torque")
    speed = 200 * 2 * math.pi / 60
    assert found.demand * speed / 1000 == pytest.approx(result.loads.mean_power_W)
    assert found.capacity * speed / 1000 == pytest.approx(0.8 * 3000)
    # two side bands of 7 by 14 mm at 0.24 mm a turn, and the specific force that this comes to
    volume = 2 * 7 * 14 * 0.24
    k_c = found.demand * 2 * math.pi / volume
    # C45 at chips of 0.02 to 0.03 mm, positive rake: 2.5 to 5.5 GPa (handbook 1,450 h^-0.27 and its spread, memory medium)
    assert 2500 < k_c < 5500
    assert f"The peaks, {result.loads.peak_torque_Nmm / 1000:.3f} N*m" in found.note


@pytest.mark.closed_form("removal rate x specific force")
def test_power_follows_the_feed_rate_and_the_specific_force() -> None:
    own = {
        "work__kc11": 3000.0,
        "work__mc": 0.0001,
        "work__radial_ratio": 0.4,
        "cutter__runout": 0.0,
    }
    found = answer(**own, cutter__edge_radius=0.001)
    # 196 mm^2 at 0.03 x 8 x 200 mm/min, 3000 MPa
    rate = 196 * 0.03 * 8 * 200 / 60
    assert found.loads.mean_power_W == pytest.approx(rate * 3000 / 1000, rel=0.02)


def test_a_table_is_loose_by_its_backlash_and_its_drive() -> None:
    def loose(**machine: Any) -> bool:
        changes = {f"machine.{k}": v for k, v in machine.items()}
        return is_loose(resolve(changed(job_from_text(SLOT_18, "job"), changes)))

    assert loose() and loose(backlash=0.01)
    assert not loose(backlash=0.0)
    assert loose(feed="cnc", backlash=0.05)
    assert not loose(feed="cnc") and not loose(feed="cnc", backlash=0.02)


@pytest.mark.closed_form("work in equals work out: F 5 mm = 8 N x 2 pi 60 mm x 0.3")
def test_friction_by_the_wheel() -> None:
    track = job_from_text(example("t-track"), "t-track")
    assert table_friction(resolve(track)) == 150.0  # common practice, no source
    measured = resolve(changed(track, {"machine.wheel_force": 8.0}))
    assert table_friction(measured) * 5.0 == pytest.approx(8 * 2 * math.pi * 60 * 0.3)

"""The steps at the machine: Z and Y on the dials, which wall and which way, worked out by hand."""

from __future__ import annotations

import copy
import tomllib
from typing import Any

import pytest

from loadsim import check, plan
from loadsim.answers.steps import Step, steps, steps_of
from loadsim.job.read import job_from_dict
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.mechanics.drilling import DRILL_FEED
from loadsim.risk import samples

DRAWN = samples.draws(8)  # what is set on a dial does not hang on the sample
TRACK = tomllib.loads(example("t-track"))
MILL = {
    "diameter": "5 mm",
    "flute_length": "12 mm",
    "teeth": 2,
    "helix": "30 deg",
    "material": "hss-m2",
    "stickout": "20 mm",
}
#: throat 6.2, undercut 10.4 wide and 2.6 high, 7.4 deep, 118 long: a head of 9 goes (10.4 - 9)/2 =
#: 0.7 to each side
NARROW_HEAD = {"cutter.head_diameter": "9 mm", "slot.open_ends": 1}


def track(changes: dict[str, Any], **tables: dict[str, Any]) -> Job:
    data = copy.deepcopy(TRACK) | tables
    for path, value in changes.items():
        table, key = path.split(".")
        data[table][key] = value
    return job_from_dict(data, "job")


def told(job: Job) -> tuple[Step, ...]:
    return steps_of(job, check(job, DRAWN))


def named(rows: tuple[Step, ...], start: str) -> list[Step]:
    return [row for row in rows if row.name.startswith(start)]


@pytest.mark.closed_form("offset (10.4 - 9)/2; spindle clockwise: conventional is the left wall")
def test_passes_on_the_left_and_on_the_right_are_told_apart() -> None:
    rows = named(told(track(NARROW_HEAD)), "cut")
    assert [row.y_mm for row in rows] == pytest.approx([0.0, 0.7, -0.7])
    assert [row.z_mm for row in rows] == pytest.approx([-7.4] * 3)
    # the third is fed out, so that what is on its left is on the right of one who looks in
    assert [(row.wall, row.feed) for row in rows] == [
        ("both walls", "in"),
        ("left wall, conventional", "in"),
        ("right wall, conventional", "out"),
    ]
    climbing = named(told(track(NARROW_HEAD | {"cut.direction": "climb"})), "cut")
    assert [(row.y_mm, row.wall, row.feed) for row in climbing[1:]] == [
        (pytest.approx(0.7), "left wall, climb", "out"),
        (pytest.approx(-0.7), "right wall, climb", "in"),
    ]


@pytest.mark.closed_form("a turn moves 5 mm; 118 mm and the head of 9 mm are 25.4 turns")
def test_the_handwheel_is_told_where_a_hand_feeds() -> None:
    job = track(
        NARROW_HEAD | {"cut.spindle_speed": "2500 rpm", "cut.feed_per_tooth": "0.016 mm/tooth"}
    )
    first = named(told(job), "cut")[0]  # 2 teeth x 2500 x 0.016 = 80 mm/min: 5 mm in 3.75 s
    assert first.feed_mm_per_min == pytest.approx(80)
    assert first.wheel_seconds == pytest.approx(3.75)
    assert (first.wheel_travel_mm, first.wheel_turns) == pytest.approx((5, 25.4))
    # 10.5 s is told as 10 or as 11 s: never both on one sheet
    slow = track(NARROW_HEAD | {"cut.feed_per_tooth": "0.0057 mm/tooth"})
    turned = check(slow, DRAWN).settings.handwheel_seconds_per_turn
    assert {row.wheel_seconds for row in named(told(slow), "cut")} == {turned}
    driven = named(told(track({"machine.feed": "power"})), "cut")[0]
    assert (driven.wheel_seconds, driven.wheel_travel_mm, driven.wheel_turns) == (None, None, None)


def test_a_closed_end_is_backed_out_of_along_the_same_line() -> None:
    rows = told(track(NARROW_HEAD))
    names = [row.name for row in rows]
    # the third pass comes out by itself: it begins at the closed end, where the second stops
    assert names == [
        "mill throat",
        "touch off",
        "cut both walls",
        "back out",
        "cut left wall",
        "cut right wall",
        "deburr",
        "measure",
    ]
    cut, out = rows[2:4]
    assert (out.y_mm, out.z_mm, out.feed) == (cut.y_mm, cut.z_mm, "out")
    assert out.feed_mm_per_min is None and "spindle running" in out.what and "ledges" in out.what
    assert "step over" in rows[5].what and "step over" not in rows[4].what
    assert [row.number for row in rows] == [1, 2, 3, 4, 5, 6, 7, 8]
    assert not named(told(track(NARROW_HEAD | {"slot.open_ends": 2})), "back out")


@pytest.mark.closed_form(
    "118 long, a head of 9: its axis stops 118 - 4.5 = 113.5 past the open end"
)
def test_where_the_head_is_let_down_and_where_a_pass_stops() -> None:
    rows = told(track(NARROW_HEAD))
    first, left, right = named(rows, "cut")
    assert first.what.startswith("Lower it outside the slot")
    assert "axis 113.50 past the open end" in first.what  # told once
    assert "Stop" not in left.what + right.what
    assert "Lower it" not in left.what + right.what
    assert all("Stop" not in x.what for x in told(track(NARROW_HEAD | {"slot.open_ends": 2})))


def test_in_a_slot_closed_at_both_ends_the_head_is_let_down_and_raised_in_its_hole() -> None:
    # one-sided: the pass lies off the hole's axis, under the ledge
    rows = told(
        track(NARROW_HEAD | {"slot.open_ends": 0, "slot.sides": 1, "slot.undercut_width": "9.4 mm"})
    )
    cut, *_ = named(rows, "cut")
    assert cut.y_mm != 0.0
    assert "where the head goes in, at Y 0" in cut.what and "half the feed" in cut.what
    assert "axis 4.50 short" in cut.what
    last = [row for row in rows if row.name in ("lift out", "back out")][-1]
    assert "cross slide to Y 0" in last.what
    assert last.what.index("cross slide to Y 0") < last.what.index("raise the cutter")


@pytest.mark.closed_form("floor at -7.4; a head 1.5 high in an undercut 2.6 high stands 1.1 up")
def test_levels_and_depths_are_told_from_the_top() -> None:
    low, high = named(
        told(track({"cutter.head_height": "1.5 mm", "cutter.neck_length": "6.5 mm"})), "cut"
    )
    assert (low.z_mm, high.z_mm) == pytest.approx((-7.4, -6.3))
    mill = MILL | {"spindle_speed": "2000 rpm", "feed_per_tooth": "0.015 mm/tooth"}
    depths = named(told(track({}, throat_mill=mill | {"depth_per_pass": "3 mm"})), "mill throat")
    assert [row.z_mm for row in depths] == pytest.approx([-3, -6, -7.4])
    # a mill of 5 in a throat of 6.2 goes 0.6 to each side
    assert "+0.60" in depths[0].what and "-0.60" in depths[0].what
    many = named(told(track({}, throat_mill=mill | {"depth_per_pass": "1 mm"})), "mill throat")
    assert len(many) == 1 and "8 depths" in many[0].what and many[0].z_mm == pytest.approx(-7.4)


@pytest.mark.closed_form("a mill of 5 in a throat of 6.2 goes (6.2 - 5)/2 = 0.6 to each side")
def test_the_sides_of_the_throat_are_told_after_its_depths() -> None:
    rows = told(track({"slot.open_ends": 1}, throat_mill=MILL))
    left, right = named(rows, "mill throat left"), named(rows, "mill throat right")
    assert [(row.y_mm, row.z_mm, row.feed, row.wall, row.what) for row in (*left, *right)] == [
        (pytest.approx(0.6), -7.4, "in", "left wall, conventional",
         "Mill the left side at full depth."),
        (pytest.approx(-0.6), -7.4, "out", "right wall, conventional",
         "Mill the right side at full depth."),
    ]  # fmt: skip
    depths = [row for row in named(rows, "mill throat") if row not in (*left, *right)]
    assert depths and max(row.number for row in depths) < left[0].number
    assert all(row.y_mm == 0.0 and "Y" not in row.what for row in depths)


@pytest.mark.closed_form("an axis 1.3 above a floor 7.4 deep lies 6.1 under the top")
def test_holes_are_told_by_their_axes_and_a_hole_from_the_top_by_its_floor() -> None:
    holes = {"diameter": "2 mm", "offsets": ["4 mm", "-4 mm"], "height": "1.3 mm", "depth": "16 mm"}
    rows = named(told(track({"cut.predrill": True}, predrill=holes)), "end hole")
    assert [(row.y_mm, row.z_mm) for row in rows] == [
        (pytest.approx(4), pytest.approx(-6.1)),
        (pytest.approx(-4), pytest.approx(-6.1)),
    ]
    assert rows[0].feed_mm_per_turn == pytest.approx(DRILL_FEED * 2)
    drop = named(told(track({"slot.open_ends": 0})), "drop-in hole")[-1]
    assert (drop.y_mm, drop.z_mm, drop.feed) == (0.0, pytest.approx(-7.4), "down")


def test_a_plan_and_its_check_tell_the_same_steps() -> None:
    planned = plan(track(NARROW_HEAD), DRAWN)
    assert steps(planned) == steps_of(planned.job, planned.result)

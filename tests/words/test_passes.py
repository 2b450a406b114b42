"""How the cutter leaves a closed end, against what each kind of slot allows."""

from __future__ import annotations

import pytest

from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.cut import written_passes
from loadsim.loads.resolve import resolve
from loadsim.words.passes import CLEAR, LIFT, WHY, way_out

#: A head smaller than its undercut: a pass on the centre line, then one to each wall.
SIDES = {"cutter.head_diameter": 8.8, "cutter.neck_diameter": 4.0, "cut.direction": "conventional"}


def ways_out(ends: int, **changes: object) -> list[str]:
    base = job_from_text(example("t-track"), "t-track")
    keys = {k.replace("__", "."): v for k, v in changes.items()}
    job = resolve(changed(base, {"slot.open_ends": ends} | keys))
    steps = written_passes(job, job.cut.stepover)
    return [way_out(job, steps, i) for i in range(len(steps))]


def test_a_slot_open_at_both_ends_is_left_at_its_end() -> None:
    assert ways_out(2) == [""]


@pytest.mark.parametrize(
    ("feed", "told"),
    [("hand", "handwheel the other way"), ("power", "feed the table back"), ("cnc", "in rapid")],
)
def test_out_of_a_closed_end_the_spindle_runs(feed: str, told: str) -> None:
    (out,) = ways_out(1, machine__feed=feed)
    assert out.startswith(CLEAR) and out.endswith(WHY) and told in out
    assert out.index("blow the chips out") < out.index("Back out with the spindle running")
    assert "no faster than you fed in" in out and "cross slide untouched" in out


def test_a_pass_that_starts_where_the_one_before_ends_needs_no_way_out() -> None:
    # the high wall is cut on the way in, the low one from the closed end back: both conventionally
    inward, high, back = ways_out(1, **SIDES)
    assert inward.startswith(CLEAR)  # the next pass starts at the open end again
    assert high == "" == back


def test_a_slot_closed_at_both_ends_is_left_by_the_drop_in_hole() -> None:
    (out,) = ways_out(0)
    assert out.startswith(CLEAR) and out.endswith(LIFT)
    *before, last = ways_out(0, **SIDES)
    assert last == LIFT and all(LIFT not in out for out in before)


def test_a_head_that_passes_the_throat_is_raised_on_the_centre_line() -> None:
    narrow = {"cutter.head_diameter": 6.0, "cutter.neck_diameter": 2.0, "cutter.neck_fillet": 0.1}
    outs = ways_out(0, **narrow, slot__undercut_width=7.0)
    assert outs and all("step back to the centre line" in out for out in outs if out)
    assert any(outs) and not any("Do not lift" in out for out in outs)

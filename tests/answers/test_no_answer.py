"""Valid jobs at the edges: each is answered, or refused by the key that is wrong, by `check` and
`plan` alike. No expected numbers.
"""

from __future__ import annotations

import copy
import math
import time
import tomllib
from typing import Any

import numpy as np
import pytest

from loadsim import check, plan
from loadsim.base.errors import InputError
from loadsim.job.read import changed, job_from_dict
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads import end_holes
from loadsim.loads.resolve import resolve
from loadsim.mechanics import stock
from loadsim.risk import samples

DRAWN = samples.draws(8)


def job(**changes: Any) -> Job:
    """The stout track with keys changed, written `table__key` as in the file."""
    data = copy.deepcopy(tomllib.loads(example("t-track")))
    for path, value in changes.items():
        table, key = path.split("__")
        data[table][key] = value
        if value is None:
            del data[table][key]
    return job_from_dict(data, "f.toml")


def inside_the_throat(**changes: Any) -> Job:
    """A head that passes the throat and meets metal in its side passes alone."""
    return job(
        **{
            "work__material": "brass-360",
            "slot__throat_width": "30 mm",
            "slot__undercut_width": "40 mm",
            "slot__undercut_height": "6 mm",
            "slot__depth": "14 mm",
            "slot__length": "40 mm",
            "cutter__head_diameter": "20 mm",
            "cutter__head_height": "2.5 mm",
            "cutter__neck_diameter": "8 mm",
            "cutter__neck_length": "12 mm",
            "cutter__shank_diameter": "8 mm",
            "cutter__stickout": "20 mm",
            **changes,
        }
    )


def refusal(what: Job) -> str:
    """The line with which both commands refuse a job."""
    lines = []
    for run in (check, plan):
        with pytest.raises(InputError) as error:
            run(what, DRAWN)
        lines.append(error.value.lines())
    assert lines[0] == lines[1]
    (line,) = lines[0]
    return line


# --- a head inside the throat -------------------------------------------------------------------------


def test_a_head_inside_the_throat_is_answered():
    what = inside_the_throat()
    assert check(what, DRAWN).predrill.holes
    assert plan(what, DRAWN).alternatives


@pytest.mark.parametrize("head", ["9.9 mm", "20 mm", "29.999 mm", "30 mm", "30.001 mm"])
def test_layouts_of_holes_spare_the_neck_of_any_head(head: str):
    # limit case: the moment on the neck is never larger after metal was taken away
    found = end_holes.layouts(
        resolve(inside_the_throat(cutter__head_diameter=head, cutter__neck_diameter="4 mm"))
    )
    assert found
    assert all(0 <= x.load <= 1 + 1e-9 and 0 < x.removed < 1 for x in found)


# --- levels that end within round-off of the roof -----------------------------------------------------


def test_a_height_near_a_whole_number_of_heads_is_answered():
    # 20 heads less 1 um high; the levels are rounded to 1e-9 mm, which leaves slivers between them
    what = job(
        slot__sides=1,
        slot__throat_width="5.744164 mm",
        slot__undercut_width="120.627451 mm",
        slot__undercut_height="60.69002 mm",
        slot__depth="72.5572345 mm",
        slot__open_ends=1,
        cutter__head_diameter="109.850508 mm",
        cutter__head_height="3.034501 mm",
        cutter__neck_diameter="0.517 mm",
        cutter__shank_diameter="0.517 mm",
        cutter__neck_fillet="0.026 mm",
        cutter__teeth=3,
        cutter__neck_length="69.5727335 mm",
        cutter__stickout="72.6072345 mm",
        cut__predrill=False,
        cutter__runout="0 mm",
        cut__feed_per_tooth="1e-05 mm/tooth",
    )
    assert check(what, DRAWN).verdict == "no-go"  # a neck of 130 diameters


def test_the_middle_of_a_sliver_lies_in_the_sliver():
    # closed form: of metal from a to b alone the middle is (a + b)/2, however thin and however high up it is
    for low, thick in ((0.0, 1e-3), (57.0, 1e-8), (60.0, 3e-10), (900.0, 1e-9)):
        head = stock.Head(radius=5.0, height=3.0)
        section = stock.Section(throat_low=-1.0, throat_high=1.0, throat_floor=0.0).after(
            stock.Swept(head=head, offset=0.0, bottom=low + thick)
        )
        middle = stock.middle_of_solid(section, np.array([2.0]), low, low + 3.0).item()
        assert low <= middle <= low + thick


# --- many passes --------------------------------------------------------------------------------------


def many(step: str, height: str = "1 mm") -> Job:
    """A wide and high undercut cut in small bites."""
    return job(
        slot__throat_width="20 mm",
        slot__undercut_width="40 mm",
        slot__undercut_height="10 mm",
        slot__depth="20 mm",
        cutter__head_diameter="12 mm",
        cutter__head_height=height,
        cutter__neck_diameter="8 mm",
        cutter__neck_length="19.2 mm",
        cutter__shank_diameter="10 mm",
        cutter__stickout="30 mm",
        cut__stepover=step,
    )


def test_more_passes_than_anyone_makes_are_refused_with_their_number():
    # by hand: 10 heights of 1 mm, 14 mm a side in steps of 0.5 mm: 10 (1 + 2 * 28) = 570
    with pytest.raises(
        InputError, match=r"\[cut\] stepover: is 0.5 mm .*that makes 570 passes.*at most 100"
    ):
        many("0.5 mm")
    # without a stepover it is the head that is too low: 100 heights of 0.1 mm with 3 passes each
    with pytest.raises(
        InputError, match=r"\[cutter\] head_height: is 0.1 mm .*that makes 300 passes.*at most 100"
    ):
        job(
            slot__undercut_width="12 mm",
            slot__undercut_height="10 mm",
            slot__depth="20 mm",
            cutter__head_height="0.1 mm",
            cutter__neck_length="20 mm",
            cutter__stickout="31 mm",
        )
    for step, height, n in (("14 mm", "1 mm", 30), ("5 mm", "2.5 mm", 28)):
        assert len(check(many(step, height), DRAWN).settings.passes) <= n


def test_no_way_of_a_plan_has_more_passes_than_a_job_may():
    # 40 heights of 0.25 mm leave room for one step a side, 2 would make 200 passes
    found = plan(
        changed(
            many("14 mm", "1 mm"),
            {
                "cut.stepover": None,
                "cut.direction": None,
                "cut.predrill": False,
                "cutter.head_height": 0.4,
                "cutter.neck_length": 19.7,
            },
        ),
        DRAWN,
    )
    assert found.alternatives
    assert max(x.passes for x in found.alternatives) <= 100


def test_with_many_passes_no_change_is_tried_and_that_is_said():
    what = many(
        "5 mm", "2 mm"
    )  # 5 heights of 2 * 3 steps, the centre line meets no metal: 30 passes
    weak = changed(what, {"cutter.neck_diameter": 1.5, "cut.feed_per_tooth": 0.05})
    start = time.monotonic()
    found = check(weak, DRAWN)
    assert found.verdict == "no-go"
    assert any("passes" in x and "not tried" in x for x in found.advice)
    assert not any("snap probability" in x for x in found.advice)
    assert time.monotonic() - start < 30


def test_an_undercut_that_is_none_is_refused():
    for width in ("6.2000001 mm", "6.2 mm"):
        with pytest.raises(InputError, match=r"\[slot\] undercut_width: is .*nothing to undercut"):
            job(slot__undercut_width=width, cutter__head_diameter="6.2 mm")
    # a head inside the throat makes no undercut on the centre line, however wide the tolerance
    what = job(
        slot__throat_width="10.35 mm",
        cutter__head_diameter="10.3 mm",
        slot__width_tolerance="0.2 mm",
    )
    assert len(check(what, DRAWN).settings.passes) == 2


# --- table feed ---------------------------------------------------------------------------------------


def test_a_table_feed_that_makes_no_chip_of_sense_is_refused_by_its_own_name():
    # by hand: 40,000 mm/min over 2600 rpm and 2 teeth is 7.692 mm; 0.1 mm/min is 1.9e-5 mm, which is allowed
    with pytest.raises(
        InputError,
        match=r"\[cut\] feed_rate: .* 7.69231 mm/tooth .* 2600 rpm .*allowed is 1e-05 to 5 mm/tooth",
    ):
        job(cut__feed_per_tooth=None, cut__feed_rate="40000 mm/min")
    with pytest.raises(
        InputError, match=r"\[cut\] feed_rate: "
    ):  # 30 m/min at the fastest, 2800 rpm, is over 5 mm
        job(cut__feed_per_tooth=None, cut__feed_rate="30 m/min", cut__spindle_speed=None)
    job(cut__feed_per_tooth=None, cut__feed_rate="0.1 mm/min")
    # 27 m/min is under 5 mm at 2800 rpm, and over it at the speed picked for steel
    slow = job(
        cut__feed_per_tooth=None,
        cut__feed_rate="27 m/min",
        cut__spindle_speed=None,
        work__material="steel-1018",
    )
    assert refusal(slow).startswith("job: [cut] feed_rate: ")


def test_a_table_feed_of_a_test_cut_likewise():
    data = copy.deepcopy(tomllib.loads(example("t-track")))
    data["trial"] = [
        {
            "spindle_speed": "100 rpm",
            "feed_rate": "4 m/min",
            "length": "20 mm",
            "outcome": "survived",
        }
    ]
    with pytest.raises(InputError, match=r"\[\[trial\]\] 1 feed_rate: .* 20 mm/tooth"):
        job_from_dict(data, "f.toml")


def test_the_range_of_feeds_is_that_of_the_key():
    from loadsim.job.rules_cut import FEEDS
    from loadsim.job.tables import Cut

    found = {type(m).__name__: m for m in Cut.model_fields["feed_per_tooth"].metadata}
    assert (found["Ge"].ge, found["Le"].le) == FEEDS


# --- end holes that do not fit ------------------------------------------------------------------------


@pytest.mark.parametrize(("changes", "why"), [
    ({"slot__open_ends": 0}, "no end of the slot is open"),
    ({"slot__length": "400 mm"}, "reaches"),
    ({"slot__undercut_height": "0.8 mm", "cutter__head_height": "0.8 mm", "cutter__neck_length": "7.2 mm", "slot__undercut_width": "6.6 mm",
      "cutter__head_diameter": "6.6 mm"}, "no stock drill fits"),
])  # fmt: skip
def test_end_holes_that_do_not_fit_are_refused_by_both_commands(changes: dict[str, Any], why: str):
    line = refusal(job(cut__predrill=True, **changes))
    assert line.startswith("job: [cut] predrill: is true, but ")
    assert why in line
    assert math.isfinite(
        check(job(**changes), DRAWN).risk.snap_probability
    )  # without them the job is answered


def test_a_check_tells_how_far_it_is():
    told: list[tuple[int, int]] = []
    check(job(), DRAWN, progress=lambda done, of: told.append((done, of)))
    assert told == [(k, 5) for k in range(5)]

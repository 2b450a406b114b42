"""Valid jobs at the edges: each is answered, or refused by the key that is wrong, by `check` and `plan` alike."""

from __future__ import annotations

import copy
import math
import time
import tomllib
from typing import Any

import numpy as np
import pytest

from loadsim import predrill, risk, stock
from loadsim.case import setup
from loadsim.domain import Job
from loadsim.errors import InputError
from loadsim.job import changed, job_from_dict
from loadsim.new import example
from loadsim.planner import plan
from loadsim.verdict import check

DRAWN = risk.draws(8)


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
    return job(**{
        "work__material": "brass-360", "slot__throat_width": "30 mm", "slot__undercut_width": "40 mm", "slot__undercut_height": "6 mm",
        "slot__depth": "14 mm", "slot__length": "40 mm", "cutter__head_diameter": "20 mm", "cutter__head_height": "2.5 mm",
        "cutter__neck_diameter": "8 mm", "cutter__neck_length": "12 mm", "cutter__shank_diameter": "8 mm", "cutter__stickout": "20 mm",
        **changes})  # fmt: skip


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
    found = predrill.layouts(setup(inside_the_throat(cutter__head_diameter=head, cutter__neck_diameter="4 mm")))
    assert found
    assert all(0 <= x.load <= 1 + 1e-9 and 0 < x.removed < 1 for x in found)


# --- levels that end within round-off of the roof -----------------------------------------------------


def test_a_height_near_a_whole_number_of_heads_is_answered():
    # 20 heads less 1 um high; the levels are rounded to 1e-9 mm, which leaves slivers between them
    what = job(slot__sides=1, slot__throat_width="5.744164 mm", slot__undercut_width="120.627451 mm", slot__undercut_height="60.69002 mm",
               slot__depth="72.5572345 mm", slot__open_ends=1, cutter__head_diameter="109.850508 mm", cutter__head_height="3.034501 mm",
               cutter__neck_diameter="0.517 mm", cutter__shank_diameter="0.517 mm", cutter__neck_fillet="0.026 mm", cutter__teeth=3,
               cutter__neck_length="69.5727335 mm", cutter__stickout="72.6072345 mm", cut__stepover="7.65888655 mm", cut__predrill=False,
               cutter__runout="0 mm", cut__feed_per_tooth="1e-05 mm/tooth")  # fmt: skip
    assert check(what, DRAWN).verdict == "no-go"  # a neck of 130 diameters


def test_the_middle_of_a_sliver_lies_in_the_sliver():
    # closed form: of metal from a to b alone the middle is (a + b)/2, however thin and however high up it is
    for low, thick in ((0.0, 1e-3), (57.0, 1e-8), (60.0, 3e-10), (900.0, 1e-9)):
        head = stock.Head(radius=5.0, height=3.0)
        section = stock.Section(throat_low=-1.0, throat_high=1.0, throat_floor=0.0).after(stock.Swept(head=head, offset=0.0, bottom=low + thick))
        middle = stock.middle_of_solid(section, np.array([2.0]), low, low + 3.0).item()
        assert low <= middle <= low + thick

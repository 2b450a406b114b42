"""A fillet that is assumed fits its step and clears the throat's corner; one that is given stays."""

from __future__ import annotations

from typing import Any

import pytest

from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.resolve import Assumption, resolve
from loadsim.loads.resolved_job import ResolvedJob


def made(**changes: Any) -> ResolvedJob:
    base = job_from_text(example("t-track"), "t-track")
    own = {f"{k.replace('__', '.')}": v for k, v in changes.items()}
    return resolve(changed(base, {"cutter.neck_fillet": None, "cut.predrill": False, **own}))


@pytest.mark.closed_form("head: the gap (6.2 - d)/2 beside the neck, at most 0.1, at least 0.02")
@pytest.mark.parametrize(
    ("neck", "head"), [(5.2, 0.1), (6.1, 0.05), (6.08, 0.06), (6.18, 0.02), (6.0, 0.1)]
)
def test_an_assumed_fillet_stays_in_the_gap(neck: float, head: float) -> None:
    job = made(cutter__neck_diameter=neck)
    assert job.head_fillet == pytest.approx(head)
    assert job.fillet == 0.1
    assert Assumption.FILLET in {note.code for note in job.assumed}


@pytest.mark.closed_form("a wider undercut: the axis runs (11.2 - 10.4)/2 off the centre line")
def test_side_passes_take_their_offset_off_the_gap() -> None:
    # (6.2 - 5.26)/2 - 0.4 = 0.07
    wide = made(cutter__neck_diameter=5.26, slot__undercut_width=11.2)
    assert wide.head_fillet == pytest.approx(0.07)


@pytest.mark.closed_form("shoulder: the step (shank - neck)/2 where it is under 0.1")
def test_an_assumed_fillet_never_fills_its_step() -> None:
    job = made(cutter__neck_diameter=5.2, cutter__shank_diameter=5.3)
    assert job.fillet == pytest.approx(0.05)
    assert job.head_fillet == pytest.approx(0.1)


@pytest.mark.parametrize("given", [0.05, 0.4])
def test_a_fillet_that_is_given_stays(given: float) -> None:
    both = made(cutter__neck_diameter=6.1, cutter__neck_fillet=given)
    assert (both.fillet, both.head_fillet) == (given, given)
    assert Assumption.FILLET not in {note.code for note in both.assumed}
    apart = made(cutter__neck_diameter=6.1, cutter__neck_fillet=0.4, cutter__head_fillet=given)
    assert (apart.fillet, apart.head_fillet) == (0.4, given)

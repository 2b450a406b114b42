"""Where the passes go: offsets and levels worked by hand, and what any of them must cover."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadsim.base.errors import InputError
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.tolerances import oversize
from loadsim.job.write import example
from loadsim.loads import passes
from loadsim.loads.cut import written_engagement, written_passes
from loadsim.loads.resolve import resolve


@pytest.mark.closed_form("(throat - neck)/2 - clearance")
def test_reach_of_a_side_pass():
    # by hand: (5 - 4.4)/2 - 0.05 = 0.25; a neck too thick for the throat reaches a negative offset
    assert passes.reach_of_side_pass([5.0, 4.0], 4.4, 0.05) == pytest.approx([0.25, -0.25])


@settings(max_examples=100, deadline=None)
@given(height=st.floats(0.2, 12), share=st.floats(0.1, 1.0))
def test_levels_cover_the_undercut_without_a_gap(height, share):
    head = height * share
    levels = passes.pass_levels(height, head)
    assert levels[0] == 0.0
    assert levels[-1] + head == pytest.approx(height, abs=1e-8)
    assert all(b - a <= head + 1e-8 for a, b in pairwise(levels))
    assert len(levels) == math.ceil(height / head - 1e-9)  # the fewest that can


def test_head_higher_than_the_undercut_is_refused():
    with pytest.raises(ValueError, match=r"a head of 2 mm does not fit an undercut 1\.5 mm high"):
        passes.pass_levels(1.5, 2.0)


@settings(max_examples=100, deadline=None)
@given(low=st.floats(-5, 0), high=st.floats(0, 5), step=st.floats(0.05, 2))
def test_offsets_reach_both_walls_in_steps_no_larger_than_asked(low, high, step):
    offsets = passes.pass_offsets(low, high, 0.0, step)
    assert offsets[0] == 0.0
    assert max(offsets) == pytest.approx(high, abs=1e-8)
    assert min(offsets) == pytest.approx(low, abs=1e-8)
    assert np.diff(sorted(offsets)).max(initial=0.0) <= step + 1e-8


@pytest.mark.closed_form("half a head before one end, the slot, half a head behind the other")
def test_a_pass_travels_the_slot_and_the_head():
    slot = job_from_text(example("t-track"), "t-track").slot
    assert passes.pass_travel(slot, 0.0) == slot.length
    assert passes.pass_travel(slot, 8.0) == slot.length + 4.0 + 4.0


@pytest.mark.closed_form(
    "a wider undercut in one step a side: the middle, the high wall, the low wall"
)
def test_the_cut_as_written_is_conventional_and_has_the_holes_asked_for():
    job = job_from_text(example("t-track"), "t-track")
    half = job.slot.undercut_width / 2
    reach = half - 3.2
    narrow = {"cutter.head_diameter": 6.4, "cutter.neck_diameter": 4.0, "cut.direction": None}
    steps = written_passes(resolve(changed(job, {**narrow, "cut.predrill": False})), None)
    assert [p.offset for p in steps] == pytest.approx([0.0, reach, -reach])
    assert [p.direction for p in steps] == ["both", "conventional", "conventional"]
    assert all(p.section.holes == () for p in steps)

    short = {"slot.length": 24.0, "cut.direction": "climb", "cut.predrill": True}
    climb = resolve(changed(job, narrow | short))
    engagement = written_engagement(climb, None, 24)
    assert [p.direction for p in engagement.passes] == ["both", "climb", "climb"]
    assert all(p.section.holes for p in engagement.passes)


def _over(slot: dict[str, float], diameter: float, height: float) -> Job:
    job = job_from_text(example("t-track"), "t-track")
    head = {"cutter.head_diameter": diameter, "cutter.head_height": height}
    return changed(job, {**slot, **head, "cut.predrill": False})


#: One-sided, undercut wall at 11.2 - 3.1 = 8.1, plain wall at -3.1.
ONE_SIDED = {"slot.sides": 1, "slot.undercut_width": 11.2}


@pytest.mark.published(
    "ISO 2768-1:1989, table 1, medium: 0.5 to 6 mm +-0.1, 6 to 30 mm +-0.2", read="memory (high)"
)
def test_a_head_inside_the_undercuts_tolerance_is_no_misfit():
    assert oversize(_over({"slot.width_tolerance": None}, 10.4, 2.6).slot) == (0.2, 0.1)
    assert oversize(_over({"slot.width_tolerance": 0.03}, 10.4, 2.6).slot) == (0.03, 0.1)
    # the standard has no general tolerance under 0.5 mm
    thin = {"slot.undercut_height": 0.4, "slot.throat_depth": None}
    assert oversize(_over(thin, 10.4, 0.4).slot).height == 0.0


@pytest.mark.closed_form(
    "5 um over both: half way between two undercut walls, or against the plain wall, on the floor"
)
@pytest.mark.parametrize(("slot", "wide", "axis"), [({}, 10.4, 0.0), (ONE_SIDED, 11.2, 2.5025)])
@pytest.mark.parametrize("stepover", [None, 0.3])
def test_a_head_5_um_over_the_undercut_is_cut_in_one_pass(slot, wide, axis, stepover):
    # -3.1 + 11.205/2 = 2.5025 off a plain wall, which stays uncut; the neck is thinned so that it clears
    job = resolve(_over({**slot, "cutter.neck_diameter": 1.0}, wide + 0.005, 2.605))
    (only,) = passes.passes(job, stepover, "conventional")
    assert (only.offset, only.level) == (pytest.approx(axis, abs=1e-12), 0.0)
    # the head's own section is cut, less the throat of 6.2
    assert only.area == pytest.approx((wide + 0.005 - 6.2) * 2.605, rel=1e-6)


@pytest.mark.parametrize(("slot", "wide"), [({}, 10.4), (ONE_SIDED, 11.2)])
def test_a_head_over_the_tolerance_is_refused(slot, wide):
    tolerance = {"slot.width_tolerance": 0.004}
    with pytest.raises(InputError, match=r"head_diameter: .*lets .* pass"):
        _over(slot | tolerance, wide + 0.005, 2.6)
    with pytest.raises(InputError, match=r"head_height: .*lets 2\.7 mm .* pass"):
        _over(slot, wide, 2.705)

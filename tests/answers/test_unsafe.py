"""What once made an answer too kind, held on whole answers: each of these may only cost."""

from __future__ import annotations

import functools
import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadsim import check
from loadsim.answers.results import Result
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads.cut import engagement_of
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.risk import samples, snap

FEW = settings(max_examples=4, deadline=None, derandomize=True)
#: How much of a chance the points of the sample may hide. [1]
NOISE = 0.02


@functools.cache
def drawn() -> samples.Draws:
    return samples.draws(10)


@functools.cache
def base() -> Job:
    """A neck in danger, hand-fed, in a slot open at both ends, the throat milled first."""
    frail = {
        "slot.open_ends": 2,
        "cutter.neck_diameter": 2.6,
        "cutter.neck_fillet": 0.25,
        "machine.feed": "hand",
    }
    return changed(job_from_text(example("t-track"), "t-track"), frail)


def answer(f_z: float, **changes: Any) -> Result:
    keys = {k.replace("__", "."): v for k, v in changes.items()}
    return check(changed(base(), {"cut.feed_per_tooth": f_z, **keys}), drawn())


def chance(f_z: float, **changes: Any) -> float:
    return answer(f_z, **changes).risk.snap_probability


FEEDS = st.floats(0.02, 0.07)


@FEW
@given(f_z=FEEDS)
def test_closed_ends_are_never_safer(f_z: float) -> None:
    both, one, none = (chance(f_z, slot__open_ends=n) for n in (2, 1, 0))
    assert both * (1 - NOISE) <= one
    assert one * (1 - NOISE) <= none


def test_a_closed_end_costs() -> None:
    # by force alone: edges that lean do not knock, and at a closed end a tooth meets its chip from nothing
    lean = {"cutter__edge_skew": math.radians(10)}
    assert chance(0.05, slot__open_ends=0, **lean) > 1.02 * chance(0.05, **lean)


def drilled(f_z: float, depth: float) -> float:
    holes = {"diameter": 2.0, "offsets": [-4.0, 4.0], "height": 1.3, "depth": depth}
    data = changed(base(), {"cut.feed_per_tooth": f_z, "cut.predrill": True}).model_dump(
        exclude_none=True
    ) | {"predrill": holes}
    return check(Job.model_validate(data, context={"inside": True}), drawn()).risk.snap_probability


@FEW
@given(f_z=FEEDS)
def test_short_end_holes_are_worth_nothing(f_z: float) -> None:
    # 0.5 mm from each end of 118 mm: the slot is bare
    assert drilled(f_z, 0.5) == pytest.approx(chance(f_z), rel=0.02)


@FEW
@given(f_z=FEEDS, depth=st.floats(1.0, 40.0))
def test_deeper_end_holes_are_never_worse(f_z: float, depth: float) -> None:
    assert drilled(f_z, 1.4 * depth) <= drilled(f_z, depth) * (1 + NOISE)


@FEW
@given(f_z=FEEDS, n=st.integers(2, 300))
def test_more_slots_are_never_safer(f_z: float, n: int) -> None:
    one, few, many = (answer(f_z, job__quantity=q) for q in (1, n, 3 * n))
    assert one.batch is not None and few.batch is not None and many.batch is not None
    assert one.batch.snap_probability == one.risk.snap_probability
    assert few.risk.snap_probability == one.risk.snap_probability
    assert one.risk.snap_probability * (1 - NOISE) <= few.batch.snap_probability
    assert few.batch.snap_probability * (1 - NOISE) <= many.batch.snap_probability


@FEW
@given(f_z=FEEDS, k=st.floats(1.2, 20.0))
def test_a_looser_table_is_never_safer(f_z: float, k: float) -> None:
    climb = {
        "slot__throat_width": 6.2,
        "cutter__head_diameter": 9.0,
        "cut__direction": "climb",
        "machine__wheel_force": 0.5,
    }
    tight, loose = (answer(f_z, **climb, machine__backlash=0.1 * x).risk for x in (1.0, k))
    heavy = answer(f_z, **(climb | {"machine__wheel_force": 50.0}), machine__backlash=0.1 * k).risk
    assert 0 < tight.modes.grab <= loose.modes.grab
    assert heavy.modes.grab < loose.modes.grab
    assert tight.snap_probability * (1 - NOISE) <= loose.snap_probability


@FEW
@given(f_z=FEEDS, k=st.floats(1.1, 4.0))
def test_a_larger_overlap_of_a_given_fillet_is_never_safer(f_z: float, k: float) -> None:
    """The same fillet in a narrower throat, down to the neck's own clearance."""
    fillet = {"cutter__neck_fillet": 1.0}
    wide, narrow = (
        answer(f_z, **fillet, slot__throat_width=2.6 + 2 * gap) for gap in (0.9, 0.9 / k)
    )
    uses = [
        next(x.utilization for x in r.limits if x.name == "fillet in throat")
        for r in (wide, narrow)
    ]
    assert uses[0] <= uses[1]
    order = ("go", "marginal", "no-go")
    assert order.index(wide.verdict) <= order.index(narrow.verdict)


@pytest.mark.parametrize("f_z", [0.03, 0.06])
def test_a_small_neck_has_less_than_the_whole_credit_of_its_size(f_z: float) -> None:
    job = resolve(changed(base(), {"cut.feed_per_tooth": f_z, "machine.feed": "cnc"}))
    way = engagement_of(job, passes(job, None, "conventional"), 24)
    s = job.strength
    assert s.size_credit > 0.05
    whole, drawn_between, none = (
        snap.assess(replace(job, strength=x), way, f_z, drawn()).modes.fracture
        for x in (
            replace(s, sigma_0=s.sigma_0 * math.exp(s.size_credit / 2), size_credit=0.0),
            s,
            replace(s, sigma_0=s.sigma_0 * math.exp(-s.size_credit / 2), size_credit=0.0),
        )
    )
    assert whole < drawn_between < none

"""Whether a hand feels the neck going: forces at the rim by hand, and answers that cannot turn the
wrong way.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.cut import Cutting, cutting, snapping, written_engagement
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.words.feel import Wheel, feel, wheel_of

#: 2600 rpm and two teeth at 0.016 mm: 83.2 mm/min.
RATE = 2600 / 60 * 2 * 0.016


def cut(**changes: object) -> tuple[ResolvedJob, Cutting]:
    base = job_from_text(example("t-track"), "t-track")
    job = resolve(changed(base, {k.replace("__", "."): v for k, v in changes.items()}))
    speed = job.cut.spindle_speed
    assert speed is not None and job.cut.feed_per_tooth is not None
    way = written_engagement(job, None, 24)
    return job, cutting(job, way, speed, job.cut.feed_per_tooth)


def wheel(**changes: object) -> Wheel:
    return wheel_of(*cut(**changes))


@pytest.mark.closed_form("rim force F lead / (2 pi r eta): 5 mm a turn, 60 mm grip, efficiency 0.3")
def test_forces_at_the_rim() -> None:
    job, c = cut()
    share = 5.0 / (2 * math.pi * 60.0 * 0.3)
    found = wheel_of(job, c)
    assert found.snaps == pytest.approx(snapping(job, c)[0] * share)
    assert found.empty == pytest.approx(150.0 * share)
    assert (found.low, found.high) == pytest.approx(
        (found.empty * math.exp(-0.4), found.empty * math.exp(0.4))
    )
    # two fifths of the 6.6 N are under the 10 N that a busy hand heeds
    assert found.noticed == 10.0


@pytest.mark.closed_form("push grows by stiffness times table feed until the neck snaps")
def test_time_left_to_a_hand() -> None:
    job, c = cut()
    force, _ = snapping(job, c)
    stiffness = float(c.summary.stiffness.reshape(-1)[0])
    noticed_on_the_table = 10.0 * 2 * math.pi * 60.0 * 0.3 / 5.0
    by_hand = (force - noticed_on_the_table) / stiffness / RATE
    assert wheel_of(job, c).left == pytest.approx(by_hand)


@pytest.mark.closed_form("a tenth by Weber, three tenths by the slides, a spread of 0.15")
def test_a_wheel_that_was_measured() -> None:
    found = wheel(machine__wheel_force=80.0)
    assert found.empty == pytest.approx(80.0)
    assert found.high == pytest.approx(80.0 * math.exp(0.15))
    assert found.noticed == pytest.approx((0.10 + 0.30) * 80.0 * math.exp(0.15))


@settings(max_examples=30, deadline=None)
@given(less=st.floats(0.1, 450.0), more=st.floats(1.0, 5.0), thin=st.floats(1.0, 5.2))
def test_more_force_on_the_wheel_is_never_more_felt(less: float, more: float, thin: float) -> None:
    own = {"cutter__neck_diameter": thin, "cutter__neck_fillet": 0.1}
    light, heavy = (wheel(machine__wheel_force=min(f, 500.0), **own) for f in (less, less * more))
    assert heavy.left <= light.left + 1e-12
    assert light.noticeable >= heavy.noticeable
    assert light.in_time >= heavy.in_time


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, "You may: "),
        ({"machine__wheel_force": 400.0}, "No, you will not feel it: less than 190 N is lost in"),
        ({"cutter__neck_diameter": 1.2}, "No, you will not feel it: a hand that feeds does not"),
        ({"machine__stiffness": 1e5, "cut__feed_per_tooth": 0.06}, "Only as it goes: "),
        ({"machine__feed": "power"}, "No: a driven table does not notice the push of "),
    ],
)
def test_the_answer_comes_first(changes: dict[str, object], said: str) -> None:
    text = feel(*cut(**changes))
    assert text.startswith(said), text
    assert "The spindle stalls" in text
    assumed = changes.get("machine__feed") != "power" and "machine__wheel_force" not in changes
    assert ("give [machine] wheel_force" in text) == assumed


def test_forces_have_two_figures_in_the_units_of_the_job() -> None:
    text = feel(*cut(machine__wheel_force=20 * 4.4482216152605, job__units="inch"))
    assert "turning the wheel empty takes 20 lbf (17 to 23 lbf)." in text

"""A handwheel turned faster than a hand keeps up: it is told, and no plan asks for it."""

from __future__ import annotations

import functools
import tomllib
from typing import Any

import pytest

from loadsim import check, plan
from loadsim.answers.results import Plan, Result
from loadsim.answers.trial_sheet import sheet_of
from loadsim.job.read import changed, job_from_dict, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads.limits.utilization import Limit
from loadsim.loads.resolve import resolve
from loadsim.risk import samples

#: 2600 rpm and two teeth of the example; 0.1 mm for a turn of the wheel.
FINE_SCREW = {"machine.handwheel": 0.1}
OPEN = {"cut.feed_per_tooth": None, "cut.spindle_speed": None, "cut.direction": None}


def made(**changes: Any) -> Job:
    base = job_from_text(example("t-track"), "t-track")
    return changed(base, {"cut.predrill": False, **changes})


@functools.cache
def drawn() -> samples.Draws:
    return samples.draws(8)


def wheel(result: Result) -> list[Limit]:
    return [x for x in result.limits if x.name == "handwheel speed"]


@pytest.mark.closed_form("0.016 mm x 2 x 2600 a minute: 83.2 mm/min over the screw's lead")
@pytest.mark.parametrize(
    ("lead", "turns"), [(5.0, 83.2 / 60 / 5), (1.386, 83.2 / 60 / 1.386), (0.1, 83.2 / 6)]
)
def test_the_turns_of_a_handwheel_are_told(lead: float, turns: float) -> None:
    result = check(made(**{"machine.handwheel": lead}), drawn())
    (limit,) = wheel(result)
    assert limit.demand == pytest.approx(turns, rel=1e-9)
    assert limit.capacity == 1.0 and not limit.hard  # one a second, common practice
    assert limit.over is (lead < 83.2 / 60)
    other = check(made(**{"machine.handwheel": 5.0}), drawn())
    assert other.verdict == "go"  # a limit that is soft: at worst the cut is marginal
    assert result.verdict == ("marginal" if limit.over else "go")


@pytest.mark.parametrize("feed", ["power", "cnc"])
def test_a_driven_table_has_no_handwheel(feed: str) -> None:
    assert wheel(check(made(**{"machine.feed": feed}, **FINE_SCREW), drawn())) == []


@functools.cache
def planned(**changes: Any) -> Plan:
    return plan(made(**{**OPEN, **{k.replace("__", "."): v for k, v in changes.items()}}), drawn())


def test_a_plan_feeds_no_faster_than_a_hand_keeps_up_and_says_so() -> None:
    free, held = planned(), planned(machine__handwheel=1.0)
    assert free.result.settings.feed_rate_mm_per_min > 60.0  # 1 mm a turn, once a second
    assert held.result.settings.feed_rate_mm_per_min <= 60.0 * (1 + 1e-9)
    assert held.result.settings.handwheel_seconds_per_turn == pytest.approx(1.0)
    assert held.result.verdict == "go"
    (reason,) = (x for x in held.reasons if x.startswith("Feed:"))
    assert reason.startswith("Feed: bound by handwheel speed;")


def test_no_test_cut_is_asked_for_that_a_hand_does_not_keep_up() -> None:
    # 83.2 mm/min as given is 1.4 turns a second; 1.6 times that would be set as two
    candidates = sheet_of(made(**{"machine.handwheel": 1.0})).candidates
    turns = {x.feed_per_tooth_mm * 2 * 2600 / 60 for x in candidates}
    given = 0.016 * 2 * 2600 / 60
    others = {x for x in turns if x != pytest.approx(given)}
    assert len(others) > 1 and max(others) <= 1 + 1e-3  # feeds are told to four figures


@pytest.mark.parametrize(("units", "travel"), [("metric", 5.0), ("inch", 0.2 * 25.4)])
@pytest.mark.closed_form("an inch is 25.4 mm")
def test_a_wheel_that_is_not_given_is_one_of_the_jobs_units(units: str, travel: float) -> None:
    data = tomllib.loads(example("t-track"))
    data["job"]["units"] = units
    del data["machine"]["handwheel"]
    assert resolve(job_from_dict(data, "f")).handwheel == pytest.approx(travel, rel=1e-12)

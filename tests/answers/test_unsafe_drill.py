"""A drill that does not hold keeps a job from go, and every answer says the same."""

from __future__ import annotations

import functools

import pytest

from loadsim import check, plan
from loadsim.answers.maps.table import table
from loadsim.answers.operations import routing
from loadsim.answers.results import Verdict
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads.limits.utilization import LimitCode
from loadsim.report.embed import payload
from loadsim.report.sheet.content import page
from loadsim.report.terminal.check import check_text
from loadsim.risk import samples
from loadsim.words.phrases import VERDICTS


@functools.cache
def drawn() -> samples.Draws:
    return samples.draws(10)


def drilled(depth: float) -> Job:
    """The stout cutter, a go by itself, with two end holes of 2 mm so deep."""
    base = job_from_text(example("t-track"), "t-track")
    holes = {"diameter": 2.0, "offsets": [-3.0, 3.0], "height": 1.3, "depth": depth}
    return changed(base, {"cut.predrill": True, **{f"predrill.{k}": v for k, v in holes.items()}})


# eight diameters, 16 mm, are as deep as a drill goes without wandering; at 59 it buckles
def test_short_holes_leave_the_go() -> None:
    assert check(drilled(15.0), drawn()).verdict is Verdict.GO


def test_a_drill_that_buckles_is_no_go_in_check_plan_and_sheet() -> None:
    job = drilled(118.0)
    result = check(job, drawn())
    hole = next(x for x in routing(job, result).operations if x.name == "end holes")
    buckles = next(x for x in hole.limits if x.name is LimitCode.DRILL_THRUST)
    assert buckles.hard and buckles.over
    assert result.verdict is Verdict.MARGINAL
    assert "drill thrust is over capacity" in result.why
    assert any("drill less deep" in text for text in result.advice)
    assert VERDICTS[Verdict.MARGINAL] in check_text(result, job)


@pytest.mark.parametrize("kept", [True, None])
def test_the_plan_never_calls_it_safe(kept: bool | None) -> None:
    found = plan(changed(drilled(118.0), {"cut.predrill": kept}), drawn())
    over = found.routing.over
    drills = [x for x in over if x.startswith("drill ")]
    # either it leaves the holes out, or it is no go; the sheet says what the plan says
    assert found.safe == (found.result.verdict is Verdict.GO)
    assert not (drills and found.safe)
    assert bool(found.job.cut.predrill) == bool(drills)
    said = page(found, payload.gather(found, found.asked, "today")).head.verdict
    assert (said == VERDICTS[Verdict.GO]) == found.safe
    if kept:
        assert drills and not found.safe


@pytest.mark.parametrize(("depth", "safe"), [(15.0, True), (118.0, False)])
def test_a_map_says_what_check_says(depth: float, safe: bool) -> None:
    job = drilled(depth)
    assert job.cut.feed_per_tooth is not None
    over = {"cut.feed_per_tooth": [job.cut.feed_per_tooth], "slot.width_tolerance": [0.1]}
    for axes in (over, {"cut.feed_per_tooth": over["cut.feed_per_tooth"]}):  # by points, by arrays
        (row,) = table(job, axes, samples_log2=10).to_dict("records")
        assert (row["verdict"] == check(job, drawn()).verdict.value) and row["safe"] == safe

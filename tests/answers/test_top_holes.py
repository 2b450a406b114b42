"""Holes from the top in an answer: offered, never taken unasked, told, drawn and kept in the job."""

from __future__ import annotations

import math

import pytest

from loadsim import check, plan
from loadsim.answers.options import hole_options
from loadsim.answers.steps import steps
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads.resolve import resolve
from loadsim.loads.top_holes import top_layouts
from loadsim.report.drawings.slot_view import slot_section
from loadsim.risk import samples
from loadsim.words.passes import RUN_OUT

ASKED = "not taken: only where the print allows it"

#: A neck thin enough for the end of the slot to count.
THIN = {
    "cutter.edge_skew": 0.17,
    "cutter.neck_diameter": 2.7,
    "cutter.neck_fillet": 0.1,
    "cut.feed_per_tooth": 0.01,
}


@pytest.fixture(scope="module")
def drawn() -> samples.Draws:
    return samples.draws(10)


def job(ends: int = 1, **changes: object) -> Job:
    base = job_from_text(example("t-track"), "t-track")
    return changed(base, {"slot.open_ends": ends} | THIN | changes)


def drilled(kind: int, **more: object) -> Job:
    """The job with one of the layouts as the shop's own."""
    made = top_layouts(resolve(job()))[kind]
    return job(
        **{
            "predrill.diameter": made.drill.diameter,
            "predrill.offsets": [h.offset for h in made.holes],
            "predrill.along": [h.along for h in made.holes],
            "predrill.depth": made.depth,
        }
        | more
    )


def test_they_are_offered_at_a_closed_end_and_not_taken(drawn: samples.Draws) -> None:
    found = plan(job(), drawn)
    offered = [x for x in found.alternatives if x.why_not == ASKED]
    assert len(offered) == 3 and all(not x.safe for x in offered)
    bare = found.alternatives[0]
    assert bare.why_not == "" and found.result.settings.predrill is None
    drop_in = next(x for x in offered if "drop-in" in x.name)
    assert drop_in.feed_per_tooth_mm == bare.feed_per_tooth_mm == 0.01
    assert drop_in.snap_probability < bare.snap_probability
    (told,) = (x for x in found.reasons if x.startswith("Holes from the top"))
    assert '[predrill] diameter = "10.500 mm"' in told


@pytest.mark.parametrize("changes", [{"cut.predrill": False}, {"slot.open_ends": 2}])
def test_where_they_are_not_asked_for_nothing_is_said(
    drawn: samples.Draws, changes: dict[str, object]
) -> None:
    found = plan(job(**changes), drawn)
    assert not any("end line" in x.name or "drop-in" in x.name for x in found.alternatives)
    assert not any("from the top" in x for x in found.reasons)


def test_the_shops_own_are_weighed_like_any_way(drawn: samples.Draws) -> None:
    ways = hole_options(resolve(drilled(2)))
    assert [way.name for way in ways] == ["", ", after 2 holes from the top as given"]
    assert hole_options(resolve(drilled(0)))[1].name == ", after 1 hole from the top as given"
    found = plan(drilled(0, **{"cut.predrill": True}), drawn)
    holes = found.result.settings.predrill
    assert holes is not None and holes["along_mm"] == [5.2] and "height_mm" not in holes
    # of the undercut beside the throat, 2 x 2.1 mm x 118 mm, the two segments of a circle of 10.5
    segment = 5.25**2 * math.acos(3.1 / 5.25) - 3.1 * math.sqrt(5.25**2 - 3.1**2)
    assert holes["removed_fraction"] == pytest.approx(2 * segment / (4.2 * 118), rel=1e-6)
    operation = found.routing.operations[0]
    assert operation.name == "holes from the top" and operation.passes == 1
    assert [x.name for x in found.routing.operations[1:3]] == ["throat slot", "undercut"]
    assert RUN_OUT in found.routing.operations[2].what


def test_a_wide_one_gets_a_pilot_first(drawn: samples.Draws) -> None:
    wide = {"predrill.diameter": 12.5, "predrill.along": [6.0], "cut.predrill": True}
    pilot, hole, *_ = plan(drilled(0, **wide), drawn).routing.operations
    assert (pilot.name, pilot.tool) == ("holes from the top, pilot", "drill 3.2 mm")  # over 12.5/4
    assert "where the holes from the top go." in pilot.what and hole.name == "holes from the top"


def test_the_steps_tell_their_places_and_lift_the_cutter(drawn: samples.Draws) -> None:
    rows = steps(plan(drilled(2, **{"cut.predrill": True}), drawn))
    holes = [row for row in rows if row.name.startswith("holes from the top")]
    assert [(row.y_mm, row.z_mm) for row in holes] == [(1.625, -7.4), (-1.625, -7.4)]
    assert all("on the line where the undercut ends" in row.what for row in holes)
    assert [row.name for row in rows if row.name in ("back out", "lift out")] == ["back out"]
    rows = steps(plan(drilled(0, **{"cut.predrill": True}), drawn))
    assert [row.name for row in rows if row.name in ("back out", "lift out")] == ["lift out"]


def test_they_are_drawn_dashed_behind_the_section() -> None:
    one = drilled(2, **{"cut.predrill": True})
    drawing = slot_section(one, check(one).settings)
    assert drawing.count('data-part="top-hole"') == 2
    assert "2 holes from the top of 2.950 mm" in drawing.replace("\n", " ")
    bare = job(**{"cut.predrill": False})
    assert "top-hole" not in slot_section(bare, check(bare).settings)


def test_a_job_file_asks_for_them() -> None:
    text = example("t-track").replace("open_ends = 2", "open_ends = 1")
    table = (
        '\n[predrill]\ndiameter = "2.95 mm"\noffsets = ["1.625 mm", "-1.625 mm"]\n'
        'along = ["0 mm", "0 mm"]\ndepth = "7.4 mm"\n'
    )
    found = job_from_text(text + table, "t-track").predrill
    assert found is not None and found == drilled(2).predrill

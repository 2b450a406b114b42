"""The traveler on sheets of paper: what is filled in, with its limits; how lines are counted; which steps stand where."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadsim import plan
from loadsim.job import write
from loadsim.job.read import changed, job_from_text
from loadsim.report.drawings.svg import text_width
from loadsim.report.embed import payload
from loadsim.report.sheet import blanks, leaves
from loadsim.report.sheet.content import page
from loadsim.report.sheet.steps import StepRow
from loadsim.risk import samples

T_TRACK = job_from_text(write.example("t-track"), "t-track")
ROW = StepRow(number="1", tool="", what="Cut.", z="-1.00", y="0.00", feed="in", look="chips")
SHOWN = page(
    (PLAN := plan(T_TRACK, samples.draws(10))), payload.gather(PLAN, PLAN.asked, "2026-01-02 03:04")
)


def test_what_is_measured_has_its_limits_where_a_tolerance_is_known() -> None:
    told = {blank.name: blank.told for blank in blanks.measured(T_TRACK)}
    # undercut 10.4 plus and minus 0.1; throat 6.2, as deep as the slot; floor 7.4 down, 2.6 high
    assert told["undercut width"] == "10.3 to 10.5"
    assert told["throat width"] == "6.2 drawn" and told["throat depth"] == "7.4 drawn"
    assert told["undercut height"] == "2.6 drawn" and told["depth to the floor"] == "7.4 drawn"
    assert told["head diameter"] == "Ø10.4 ground" and told["neck diameter"] == "Ø5.2 ground"
    bare = changed(T_TRACK, {"slot.width_tolerance": None, "slot.throat_depth": 6.0})
    told = {blank.name: blank.told for blank in blanks.measured(bare)}
    assert told["undercut width"] == "10.4 drawn" and told["throat depth"] == "6 drawn"
    inch = {b.name: b.told for b in blanks.measured(changed(T_TRACK, {"job.units": "inch"}))}
    # 10.3 and 10.5 over 25.4; 2.6 over 25.4
    assert inch["undercut width"] == ".4055 to .4134" and inch["undercut height"] == ".1024 drawn"


def test_what_the_file_leaves_out_is_a_field_to_fill_in() -> None:
    asked = ("Part", "Drawing", "Revision", "Operation", "Quantity")
    full = dict(blanks.job_fields(T_TRACK, "now"))
    assert all(full[name] for name in asked)
    bare = changed(T_TRACK, {f"job.{name.lower()}": None for name in asked})
    fields = dict(blanks.job_fields(bare, "now"))
    assert [fields[name] for name in asked] == [""] * 5
    names = " ".join(blank.name for blank in blanks.set_up(PLAN))
    for word in (
        "Machine",
        "Workholding",
        "X zero",
        "Y zero",
        "Z touch-off",
        "Dial",
        "Blank",
        "Stoning",
    ):
        assert word in names


@pytest.mark.closed_form(
    "ten words as wide as the line take ten lines; a word of three lines takes three"
)
def test_lines_are_counted() -> None:
    word = "mmmm"
    width = text_width(word, 2.0)
    assert leaves.lines(" ".join([word] * 10), width * 1.01, 2.0) == 10
    assert leaves.lines("m" * 12, width * 1.01, 2.0) == 3
    assert leaves.lines("", width, 2.0) == 1
    assert leaves.lines(word, width * 1.01, 2.0, start=width / 2) == 2


@given(st.integers(0, 120))
def test_every_step_stands_once_and_sheets_are_numbered(count: int) -> None:
    rows = [replace(ROW, number=str(i)) for i in range(1, count + 1)]
    found = leaves.leaves(SHOWN.head, SHOWN.foot, rows)
    assert [row.number for leaf in found for row in leaf.steps] == [row.number for row in rows]
    assert [leaf.number for leaf in found] == list(range(1, len(found) + 1))
    assert {leaf.of for leaf in found} == {len(found)}
    assert [leaf.first for leaf in found] == [True] + [False] * (len(found) - 1)
    assert [leaf.last for leaf in found] == [False] * (len(found) - 1) + [True]
    # a step takes at least a line of 11 pt, 4.3 mm: no more than 61 go on 265 mm
    assert all(len(leaf.steps) <= 61 for leaf in found)
    assert len(found) > 1 or count <= 40


def test_a_row_does_not_say_again_what_the_one_before_said() -> None:
    job = changed(T_TRACK, {"slot.undercut_width": 10.9, "cutter.neck_diameter": 5.0})
    drawn = plan(job, samples.draws(10))
    rows = [
        row
        for leaf in page(drawn, payload.gather(drawn, drawn.asked, "now")).leaves
        for row in leaf.steps
    ]
    cuts = [row for row in rows if "Cut " in row.what]
    assert len(cuts) == 3
    assert [row.tool for row in cuts] == ["", "", ""]
    assert [row.look for row in cuts][1:] == ["as before", "as before"]
    # plus and minus (10.9 - 10.4) / 2
    assert sorted(row.y for row in cuts) == ["+0.25", "-0.25", "0.00"]

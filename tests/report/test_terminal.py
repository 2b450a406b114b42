"""Lines of a terminal, held against lines written by hand."""

from __future__ import annotations

from typing import Any

from loadsim.answers.results import Operation, Spread
from loadsim.answers.steps import Step
from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.limits.utilization import Limit, LimitCode
from loadsim.report.terminal.check import _limit_mark
from loadsim.report.terminal.layout import bullets, columns
from loadsim.report.terminal.plan import _operation_text, _spread_text
from loadsim.report.terminal.steps import step_table, steps_text


def limit(utilization: float, *, fit: bool = False) -> Limit:
    return Limit(
        name=LimitCode.TABLE_GRAB,
        demand=utilization,
        capacity=1.0,
        unit="1",
        utilization=utilization,
        hard=True,
        fit=fit,
        note="as told",
    )


def test_columns_are_as_wide_as_their_widest_cell_and_the_last_runs_on() -> None:
    rows = [["a", "bb", "last"], ["ccc", "runs on far beyond"], ["d", "", "end"]]
    assert columns(rows) == "  a    bb  last\n  ccc  runs on far beyond\n  d        end"


def test_points_are_folded_under_their_text() -> None:
    words = " ".join(["word"] * 25)  # 124 letters: 19 words of 5 letters fit behind the dash
    first, second = bullets([words])[0].splitlines()
    assert first == "  - " + " ".join(["word"] * 19)
    assert second == "    " + " ".join(["word"] * 6)


def test_limits_over_capacity_are_marked() -> None:
    assert _limit_mark(limit(1.2)) == "  table grab               120%! "
    assert _limit_mark(limit(0.5)) == "  table grab                50%  "
    assert _limit_mark(limit(1.2, fit=True)) == "  table grab               OVER  "
    assert _limit_mark(limit(0.5, fit=True)) == "  table grab               fits  "


def test_a_size_that_does_not_spread_has_no_range() -> None:
    wide = Spread(p05=3.98, p50=4.0, p95=4.03)
    assert _spread_text(wide, "metric") == "4.000 mm (nine cuts in ten: 3.980 mm to 4.030 mm)"
    assert _spread_text(Spread(p05=4.0, p50=4.0, p95=4.0), "metric") == (
        "4.000 mm in nine cuts of ten"
    )


def test_an_operation_names_its_settings_and_leaves_out_what_it_has_not() -> None:
    bare = Operation(
        name="deburr",
        tool="file",
        spindle_speed_rpm=None,
        feed_mm_per_min=None,
        depth_per_pass_mm=None,
        passes=1,
        time_s=None,
        limits=(),
        steps=(),
        what="Break the edges.",
    )
    assert _operation_text(bare, "metric") == "deburr, file. Break the edges."
    cut = Operation(
        name="undercut",
        tool="cutter",
        spindle_speed_rpm=300.0,
        feed_mm_per_min=6.0,
        depth_per_pass_mm=None,
        passes=1,
        time_s=120.0,
        limits=(limit(0.5), limit(2.0, fit=True)),
        steps=(),
        what="Its passes, which stand among the steps.",
    )
    assert _operation_text(cut, "metric") == (
        "undercut, cutter: 300 rpm, 6.0 mm/min, table grab used to 50%, about 120 s with tool change."
    )


def step(number: int, name: str, **more: Any) -> Step:
    return Step(number=number, name=name, tool="cutter", what="Do it.", look="a sign", **more)


def test_steps_are_a_table_of_dials_with_what_to_do_under_each_line() -> None:
    job = job_from_text(example("t-track"), "job")  # 118 mm long, both ends open, fed by hand
    rows = (
        step(1, "cut left wall", z_mm=-7.4, y_mm=0.7, feed="in", wall="left wall, conventional",
             wheel_seconds=3.61, wheel_turns=25.4, spindle_speed_rpm=2600.0),
        step(2, "deburr"),
    )  # fmt: skip
    assert steps_text(rows, job) == [
        "Z from touch-off on the top of the work, down is minus; Y from the throat's",
        "centre line, + is left, looking in from the end where the first pass starts.",
        "    step            Z [mm]   Y [mm]  feed       handwheel",
        " 1  cut left wall    -7.40    +0.70  in, conv.  turn in 3.6 s, 25 turns",
        "    Do it. Look for: a sign. (cutter, 2600 rpm)",
        " 2  deburr",
        "    Do it. Look for: a sign. (cutter)",
    ]


def test_a_step_of_a_driven_table_tells_its_feed() -> None:
    job = changed(
        job_from_text(example("t-track"), "job"), {"machine.feed": "cnc", "job.units": "inch"}
    )
    row = step(1, "cut right wall", z_mm=-6.35, y_mm=-0.7, feed="out", feed_mm_per_min=7.0)
    # 7 mm/min are 0.2756 in/min; 0.7 mm are 0.02756 in
    assert step_table((row,), job)[-1] == " 1  cut right wall   -0.250  -0.0276  out   0.28 in/min"

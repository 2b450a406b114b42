"""Lines of a terminal, held against lines written by hand."""

from __future__ import annotations

from loadsim.answers.results import Operation, Spread
from loadsim.loads.limits.utilization import Limit, LimitCode
from loadsim.report.terminal.check import _limit_mark
from loadsim.report.terminal.layout import bullets, columns
from loadsim.report.terminal.plan import _operation_text, _spread_text


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
        what="Go.",
    )
    assert _operation_text(cut, "metric") == (
        "undercut, cutter: 300 rpm, 6.0 mm/min, table grab used to 50%, about 120 s with tool change. Go."
    )

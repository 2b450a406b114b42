"""Rows and sentences that terminal and sheet share, held against numbers worked out by hand."""

from __future__ import annotations

import pytest

from loadsim.answers.cutter.grinding_sheet import GrindStep
from loadsim.answers.results import Settings
from loadsim.mechanics.gauging import Chance
from loadsim.report.rows.grinding import settings_of
from loadsim.report.rows.inspection import chance_figure
from loadsim.report.rows.materials import value_text
from loadsim.report.rows.numbers import Show, reading_text
from loadsim.report.rows.settings import handwheel_text, turns_a_pass


def settings(seconds: float | None) -> Settings:
    """A cut of 600 s in two passes, fed at 6 mm/min."""
    return Settings(
        spindle_speed_rpm=300,
        surface_speed_m_per_min=5,
        feed_per_tooth_mm=0.01,
        feed_rate_mm_per_min=6.0,
        handwheel_seconds_per_turn=seconds,
        stepover_mm=None,
        passes=({}, {}),
        predrill=None,
        cutting_time_s=600.0,
    )


def test_the_handwheel_moves_the_table_by_hand_arithmetic() -> None:
    """50 s a turn at 6 mm/min are 5 mm a turn: 1 mm in 10 s. 600 s are 12 turns, 6 a pass."""
    text = "one turn in 50 s: 0.2 of a turn every 10 s, 1.000 mm on the dial"
    assert handwheel_text(settings(50.0), "metric") == text
    assert turns_a_pass(settings(50.0)) == "6 turns a pass"


def test_a_power_feed_has_no_handwheel() -> None:
    assert handwheel_text(settings(None), "metric") is None
    assert turns_a_pass(settings(None)) is None


def test_numbers_are_shown_in_both_systems() -> None:
    """One inch is 25.4 mm by definition (ISO 31-1)."""
    assert Show("metric").length(25.4) == "25.400 mm (1.0000 in)"
    assert Show("inch").length(25.4) == "1.0000 in (25.400 mm)"
    assert reading_text(25.4, "mm", "inch") == "1.0000 in"


@pytest.mark.parametrize(
    ("value", "lo", "hi", "unit", "spread", "text"),
    [
        (700.0, 600.0, 800.0, "MPa", 0.1, "700 (600 to 800) MPa +-10%"),
        (None, 0.2, 0.3, "1", None, "0.2 to 0.3"),
        (0.25, None, None, "1", None, "0.25"),
    ],
)
def test_values_of_a_material_say_only_what_is_known(
    value: float | None,
    lo: float | None,
    hi: float | None,
    unit: str,
    spread: float | None,
    text: str,
) -> None:
    data = {"value": value, "lo": lo, "hi": hi, "unit": unit, "spread": spread}
    assert value_text(data) == text


def test_a_chance_that_was_never_counted_is_under_its_upper_end() -> None:
    assert chance_figure(Chance(p=0.0, low=0.0, high=0.0009)) == "under 0.0009"
    assert chance_figure(Chance(p=0.013, low=0.01, high=0.02)) == "0.013"


@pytest.mark.parametrize(
    ("offset", "set_down", "from_blank", "text"),
    [
        (0.0001, 0.5, None, "index 0.0, 90.0 deg; on centre; set down 0.500 mm from the blank"),
        (
            -0.2,
            0.5,
            0.7,
            "index 0.0, 90.0 deg; offset 0.200 mm short of centre; set down 0.500 mm from the round"
            " head (0.700 mm from the blank)",
        ),
        (0.2, 0.5, 0.5, "index 0.0, 90.0 deg; offset 0.200 mm past centre; set down 0.500 mm from the blank"),
    ],
)  # fmt: skip
def test_a_step_at_the_grinder_is_set_as_told(
    offset: float, set_down: float, from_blank: float | None, text: str
) -> None:
    step = GrindStep(
        number=1,
        name="flute",
        what="grind",
        index_deg=(0.0, 90.0),
        offset_mm=offset,
        set_down_mm=set_down,
        set_down_from_blank_mm=from_blank,
        from_end_mm=(0.0, 0.0),
        check="look",
    )
    assert settings_of(step, "metric") == text

"""Which question comes next."""

from __future__ import annotations

import pytest

from loadsim.page import ask
from loadsim.page.state import BY_KEY


@pytest.mark.parametrize(
    ("settled", "step"),
    [
        ([], ask.METAL),
        (ask.METAL.keys, ask.SLOT),
        ([*ask.METAL.keys, *ask.SLOT.keys], ask.CUTTER_GROUND),
        ([*ask.METAL.keys, *ask.SLOT.keys, ask.GROUND], ask.CUTTER),
        (ask.TOGETHER, None),
        (ask.TOGETHER - {"slot.depth"}, ask.SLOT),  # whichever is open, however late
    ],
)
def test_the_print_comes_first(settled: list[str], step: ask.Step | None) -> None:
    assert ask.next_step(settled) is step


def test_what_moves_the_chance_most_comes_first() -> None:
    keys = ["a", "b", "c", "d"]
    assert ask.order(keys, {"b": 1.5, "d": 40.0}) == ["d", "b", "a", "c"]
    assert ask.order(keys, {}) == keys


def test_before_that_is_counted_the_drivers_rank() -> None:
    worth = ask.by_drivers({"runout": 0.3, "neck fillet": 0.1, "radial force": 0.5})
    keys = ["cutter.neck_fillet", "cutter.rake", "cutter.runout"]
    assert ask.order(keys, worth) == ["cutter.runout", "cutter.neck_fillet", "cutter.rake"]


def test_every_question_is_asked_somewhere() -> None:
    assert set(BY_KEY) >= ask.TOGETHER - {ask.GROUND}
    assert set(ask.DRIVERS) <= set(BY_KEY) - ask.TOGETHER


@pytest.mark.parametrize(
    ("ends", "enough"),
    [
        ((0.001, 0.005), True),
        ((0.02, 0.05), True),
        ((0.005, 0.02), False),
        ((0.005, 0.01), True),
        ((0.01, 0.02), False),
        ((0.001, 0.005, 0.0005, 0.03), False),  # one answer may carry it over
    ],
)
def test_enough_is_on_one_side_of_what_is_accepted(ends: list[float], enough: bool) -> None:
    assert ask.enough(ends, 0.01) is enough

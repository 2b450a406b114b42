"""What a long run says beforehand of its time."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from typing import Any

import pytest

from loadsim import grind
from loadsim.answers.trial_sheet import sheet_of
from loadsim.job.read import job_from_text
from loadsim.job.write import example
from loadsim.report.terminal.streams import Forecast

JOB = job_from_text(example("t-track"), "t-track")
DRAFT = tomllib.loads(example("thin-neck")) | {"cutter": {"material": "hss-m2"}}


@pytest.mark.closed_form("30 pieces of 5 s: 150 s; three at once, each 2 s: 20 s")
@pytest.mark.parametrize(
    ("at_once", "each", "said"),
    [(1, 5.0, "about 2 min 30 s"), (3, 2.0 / 3, "about 20 s"), (1, 0.3, "")],
)
def test_a_long_run_says_so_once(
    at_once: int, each: float, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    times = iter([100.0, 100.0 + at_once * each])  # a slow start is no measure
    forecast = Forecast(at_once, lambda: next(times))
    for done in range(1, 31):
        forecast.tell(done, 30)
    shown = capsys.readouterr()
    assert shown.out == ""
    assert (said in shown.err) if said else shown.err == ""


@pytest.mark.parametrize("ask", [lambda tell: sheet_of(JOB, tell), lambda tell: grind(DRAFT, tell)])
def test_a_test_cut_and_a_cutter_tell_how_far_they_are(ask: Callable[..., Any]) -> None:
    told: list[tuple[int, int]] = []
    ask(lambda done, count: told.append((done, count)))
    assert told[0][0] == 0 and told[-1][0] + 1 == told[-1][1]

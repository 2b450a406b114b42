"""What a terminal shows while one waits: nothing of a short run, how far a longer one is, nothing when it is over."""

from __future__ import annotations

import io
import sys
import time
from collections.abc import Callable

import pytest

from loadsim.report.terminal import streams


class Terminal(io.StringIO):
    """A standard error that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def until(holds: Callable[[], bool]) -> None:
    end = time.monotonic() + 10
    while not holds() and time.monotonic() < end:
        time.sleep(0.01)
    assert holds()


def test_a_short_run_shows_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", shown := Terminal())
    with streams.Working("way") as working:
        working.tell(0, 9)
    assert shown.getvalue() == ""


def test_a_longer_run_shows_the_step_it_is_at(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", shown := Terminal())
    monkeypatch.setattr(streams, "SOON", 0.01)
    with streams.Working("way") as working:
        working.tell(0, 9)
        until(lambda: "way 1 of 9" in shown.getvalue())
        working.say("page")
        assert shown.getvalue().endswith("\r" + " " * 10 + "\rpage")
    assert shown.getvalue().endswith("\r" + " " * 4 + "\r")


def test_what_is_no_terminal_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", shown := io.StringIO())
    monkeypatch.setattr(streams, "SOON", 0.0)
    with streams.Working("way") as working:
        working.tell(0, 9)
        time.sleep(0.05)
    assert shown.getvalue() == ""

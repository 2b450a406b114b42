"""Counting: the newest question wins."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import pytest

from loadsim.base.errors import ModelError
from loadsim.job import write
from loadsim.job.read import job_from_text
from loadsim.page import run
from loadsim.page.run import Counter, Superseded, Tell


def test_a_newer_question_stops_an_older_count() -> None:
    counter: Counter[str] = Counter()
    begun, go_on, ended = threading.Event(), threading.Event(), threading.Event()

    def old(tell: Tell, take: Callable[[str], None]) -> None:
        begun.set()
        go_on.wait(30)
        try:
            tell(1, 5)
        except Superseded:
            ended.set()
            raise
        take("old")

    counter.start("old", old)
    assert begun.wait(30)
    counter.start("new", lambda tell, take: take("new"))
    go_on.set()
    assert ended.wait(30), "the older count went on"
    finish(counter, "new")
    assert counter.of("new") == "new"
    assert counter.of("old") is None


def test_an_older_answer_does_not_stand_for_a_newer_question() -> None:
    counter: Counter[str] = Counter()
    begun, go_on = threading.Event(), threading.Event()
    gone: list[bool] = []

    def old(tell: Tell, take: Callable[[str], None]) -> None:
        begun.set()
        go_on.wait(30)
        try:
            take("old")
        except Superseded:
            gone.append(True)
            raise

    counter.start("old", old)
    assert begun.wait(30)
    counter.start("new", lambda tell, take: take("new"))
    finish(counter, "new")
    go_on.set()
    end = time.monotonic() + 30
    while not gone and time.monotonic() < end:
        time.sleep(0.01)
    assert gone == [True]
    assert counter.of("new") == "new"


def test_the_same_question_is_counted_once() -> None:
    counter: Counter[int] = Counter()
    times: list[int] = []

    def count(tell: Tell, take: Callable[[int], None]) -> None:
        times.append(1)
        take(len(times))

    for _ in range(3):
        counter.start("same", count)
        finish(counter, "same")
    assert times == [1]


@pytest.mark.parametrize(
    ("error", "words"),
    [(ModelError("does not hold"), "does not hold"), (KeyError("x"), "A defect in the program")],
)
def test_trouble_is_told(error: Exception, words: str) -> None:
    counter: Counter[int] = Counter()

    def count(tell: Tell, take: Callable[[int], None]) -> None:
        raise error

    counter.start("a", count)
    finish(counter, "a")
    assert words in counter.trouble


def test_a_newer_first_answer_stops_an_older(monkeypatch: pytest.MonkeyPatch) -> None:
    first = run.First()

    def slow(job: object, drawn: object, *, progress: Tell, advise: bool) -> object:
        if job == "old":
            first.of("new", "new")  # type: ignore[arg-type]
        progress(1, 5)
        return job

    monkeypatch.setattr(run, "check", slow)
    with pytest.raises(Superseded):
        first.of("old", "old", yields=True)  # type: ignore[arg-type]
    assert first.kept == {"new": "new"}


def finish(counter: Counter[object], key: str) -> None:
    end = time.monotonic() + 30
    while counter.counting(key):
        assert time.monotonic() < end
        time.sleep(0.01)


def test_what_he_sends_off_gives_way_to_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    first = run.First()

    def slow(job: object, drawn: object, *, progress: Tell, advise: bool) -> object:
        if job == "sent":
            first.of("new", "new")  # type: ignore[arg-type]
        progress(1, 5)
        return job

    monkeypatch.setattr(run, "check", slow)
    assert first.of("sent", "sent") == "sent"  # type: ignore[arg-type,comparison-overlap]


def test_a_count_never_goes_back() -> None:
    shares: list[float] = []
    found: list[run.Found] = []
    job = job_from_text(write.example("t-track"), "a")
    keys = ["work.lubrication", "cutter.runout"]
    run.whole_count(job, keys, lambda done, of: shares.append(done / of), found.append)
    assert shares == sorted(shares)
    assert 0 <= shares[0] < shares[-1] <= 1
    assert [bool(x.worths) + bool(x.feeds) for x in found] == [0, 1, 2]

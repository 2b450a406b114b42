"""Counting for the page: the newest question wins, and a count that nobody waits for stops."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from loadsim.answers.check import check
from loadsim.answers.results import Result
from loadsim.base.errors import LoadsimError, printable
from loadsim.job.tables import Job
from loadsim.loads.resolve import resolve
from loadsim.page.worth import FeedRow, Worth, feed_table, held, worths
from loadsim.risk.samples import draws, draws_for
from loadsim.risk.trial_update import weighed

#: Base-2 logarithm of the sample of a first answer. [1]
FIRST = 12

#: Longest wait for a count that was stopped, which looks up some times a second. [s]
PATIENCE = 10.0

T = TypeVar("T")
Tell = Callable[[int, int], None]


class Superseded(Exception):  # noqa: N818 - not an error: it ends a count
    """Another question has come since."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What was counted of a job; more is added as it comes."""

    result: Result
    worths: dict[str, Worth]
    feeds: tuple[FeedRow, ...]


@dataclass(slots=True)
class Counter(Generic[T]):
    """One count at a time, of what was asked last."""

    key: str = ""
    found: T | None = None
    done: bool = True
    trouble: str = ""
    share: float = 0.0  #: of the count [1]
    turn: int = 0  #: of the count that runs
    begun: float = 0.0  #: by the clock [s]
    threads: list[threading.Thread] = field(default_factory=list)  #: that may still count
    lock: threading.Lock = field(default_factory=threading.Lock)

    def start(self, key: str, count: Callable[[Tell, Callable[[T], None]], None]) -> None:
        """Begin a count, unless it is the one that runs or has run.

        Parameters
        ----------
        key : str
            Equal keys are the same question.
        count : callable
            Takes what is told how far it is, and what takes each answer found; the former raises
            `Superseded` once another question has come.
        """
        with self.lock:
            if key == self.key:
                return
            self._begin(key, done=False)
            turn = self.turn
        thread = threading.Thread(target=self._run, args=(turn, count), daemon=True)
        self.threads = [*(t for t in self.threads if t.is_alive()), thread]
        thread.start()

    def stop(self, *, but: str = "") -> None:
        """Stop what is counted and forget it, to be counted anew when it is asked again.

        Parameters
        ----------
        but : str
            A question whose count goes on.
        """
        with self.lock:
            if self.key != but:
                self._begin("", done=True)

    def end(self) -> None:
        """Stop and wait until nothing is counted any more, for a program that ends."""
        self.stop()
        for thread in self.threads:
            thread.join(PATIENCE)

    def _begin(self, key: str, *, done: bool) -> None:
        self.key, self.found, self.done = key, None, done
        self.trouble, self.share = "", 0.0
        self.turn += 1
        self.begun = time.monotonic()

    @property
    def elapsed(self) -> float:
        """Since the count began. [s]"""
        return time.monotonic() - self.begun

    def of(self, key: str) -> T | None:
        """Return what was found for a key so far."""
        with self.lock:
            return self.found if key == self.key else None

    def counting(self, key: str) -> bool:
        """Whether a key is being counted."""
        with self.lock:
            return key == self.key and not self.done

    def _run(self, turn: int, count: Callable[[Tell, Callable[[T], None]], None]) -> None:
        def tell(done: int, of: int) -> None:
            with self.lock:
                self._still(turn)
                self.share = done / max(of, 1)

        def take(found: T) -> None:
            with self.lock:
                self._still(turn)
                self.found = found

        trouble = ""
        try:
            count(tell, take)
        except Superseded:
            return
        except (LoadsimError, ValueError, ArithmeticError, OSError) as error:
            trouble = printable(str(error), 400)
        except Exception as error:  # a defect of ours is told as such, and the page goes on
            trouble = f"A defect in the program: {type(error).__name__}."
        with self.lock:
            if turn == self.turn:
                self.done, self.trouble = True, trouble

    def _still(self, turn: int) -> None:
        if turn != self.turn:
            raise Superseded


@dataclass(slots=True)
class First:
    """First answers, from a small sample and without advice: the newest wins."""

    newest: int = 0
    kept: dict[str, Result] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def of(self, key: str, job: Job, *, yields: bool = False) -> Result:
        """Answer a job.

        Parameters
        ----------
        key : str
            Equal keys are the same job.
        job : Job
            The job.
        yields : bool
            Whether it gives way to another job, as it does while he types.

        Returns
        -------
        result : Result

        Raises
        ------
        Superseded
            If it yields, and another job has come meanwhile.
        """
        with self.lock:
            if key in self.kept:
                return self.kept[key]
            self.newest += 1
            mine = self.newest

        def tell(done: int, of: int) -> None:
            if yields and self.newest != mine:
                raise Superseded

        result = check(job, draws(FIRST), progress=tell, advise=False)
        with self.lock:
            self.kept = {**dict(list(self.kept.items())[-7:]), key: result}
        return result


def whole_count(job: Job, keys: list[str], tell: Tell, take: Callable[[Found], None]) -> None:
    """Count a job in full, then what each open answer is worth, then the feeds.

    Parameters
    ----------
    job : Job
        The job.
    keys : list of str
        Open questions.
    tell : callable
        Told how far it is; may raise to stop.
    take : callable
        Given each answer as it is found.
    """
    result = check(job, progress=_part(tell, 0))
    take(Found(result=result, worths={}, feeds=()))
    at = held(job, result.settings)
    drawn = weighed(resolve(at), draws_for(at)).drawn
    worth = worths(at, keys, drawn, _part(tell, 1))
    take(Found(result=result, worths=worth, feeds=()))
    take(Found(result=result, worths=worth, feeds=feed_table(at, drawn, _part(tell, 2))))


def _part(tell: Tell, i: int) -> Tell:
    """Tell of one of three counts that follow each other and take about as long."""
    return lambda done, of: tell(i * of + done, 3 * of)

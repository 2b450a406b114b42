"""The two streams of a terminal: the answer on one, all that is said beside it on the other."""

from __future__ import annotations

import io
import os
import sys
import threading
import time
from collections.abc import Callable
from typing import Any

import click

from loadsim.base.errors import printable
from loadsim.base.units import duration

#: Letters of a line after which it is cut. [1]
LONGEST = 10_000

#: A run that takes longer says so beforehand. [s]
LONG = 10.0

#: What takes longer shows how far it is. [s]
SOON = 1.0


def out(text: str) -> None:
    """Print the answer; a pipe that was closed is not an error.

    Parameters
    ----------
    text : str
        For standard output.

    Raises
    ------
    OSError
        If it cannot be written for another reason.
    """
    _out(text.rstrip("\n"))


def out_page(text: str) -> None:
    """Print what a file would hold, in UTF-8 as files are, whatever the terminal speaks.

    Parameters
    ----------
    text : str
        For standard output.

    Raises
    ------
    OSError
        If it cannot be written, but not for a pipe that was closed.
    """
    _out(text.rstrip("\n").encode("utf-8"))


def replace_unknown() -> None:
    """Let a letter that the code page of standard output lacks be replaced, not end the answer."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")


def _out(text: str | bytes) -> None:
    try:
        click.echo(text)
        sys.stdout.flush()
    except BrokenPipeError:
        _give_up(sys.stdout)
    except OSError:
        _give_up(sys.stdout)
        raise


def say(*lines: str) -> None:
    """Say something beside the answer, what would steer the terminal shown escaped; where it cannot
    be said the exit status still tells.

    Parameters
    ----------
    lines : str
        For standard error.
    """
    try:
        for line in "\n".join(lines).split("\n") if lines else ():
            click.echo(printable(line, LONGEST), err=True)
    except OSError:
        _give_up(sys.stderr)


class Working:
    """Shows on a terminal how far a run is that takes longer than a moment; wiped at its end.

    Parameters
    ----------
    noun : str
        What a step is called.
    """

    def __init__(self, noun: str) -> None:
        self.noun = noun
        self.text = "working"
        self.width = 0  #: of what is shown [1]
        self.shown = False
        self.late = threading.Timer(SOON, self._begin)
        self.late.daemon = True
        self.turn = threading.Lock()

    def __enter__(self) -> Working:
        if sys.stderr.isatty():
            self.late.start()
        return self

    def __exit__(self, *exception: object) -> None:
        self.late.cancel()
        with self.turn:
            if self.shown:
                self._write("")
            self.shown = False

    def tell(self, done: int, count: int) -> None:
        """Take note of a step.

        Parameters
        ----------
        done : int
            Steps that are done. [1]
        count : int
            Steps there are. [1]
        """
        self.say(f"{self.noun} {done + 1} of {count}")

    def say(self, what: str) -> None:
        """Take note of what is being done.

        Parameters
        ----------
        what : str
            Like "making the page".
        """
        with self.turn:
            self.text = what
            if self.shown:
                self._write(what)

    def _begin(self) -> None:
        with self.turn:
            if not self.late.finished.is_set():
                self.shown = True
                self._write(self.text)

    def _write(self, text: str) -> None:
        click.echo("\r" + " " * self.width + "\r" + text, nl=False, err=True)
        self.width = len(text)


class Forecast:
    """Says once, from the first pieces of a long run, about how long all of it takes.

    Parameters
    ----------
    at_once : int
        Pieces that are worked on at once. [1]
    clock : callable
        Time. [s]
    """

    def __init__(self, at_once: int = 1, clock: Callable[[], float] = time.monotonic) -> None:
        self.at_once = at_once
        self.clock = clock
        self.first = 0.0

    def tell(self, done: int, count: int) -> None:
        """Take note that a piece is done; what comes before the first is no measure.

        Parameters
        ----------
        done : int
            Pieces that are done, from 1. [1]
        count : int
            Pieces there are. [1]
        """
        if done == 1:
            self.first = self.clock()
        if done == 1 + self.at_once:
            whole = (self.clock() - self.first) / self.at_once * count
            if whole > LONG:
                say(f"All {count} pieces of work take about {duration(whole)}.")


def _give_up(stream: Any) -> None:
    """Send what is left in a stream nowhere, so that the end of the program does not fail on it
    again.
    """
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())

"""Errors that carry data: which key, what was given, what is allowed, what to do."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

#: Most lines that are printed of one file's problems; the rest are counted. [1]
MOST_LINES = 50

#: What joins letters and pictures, as many languages and signs need; unlike the marks of direction
#: it hides nothing.
JOINERS = "\u200c\u200d"


def is_plain(text: str) -> bool:
    """Tell whether a text is one line that shows what it holds: no control character, line break or
    mark of direction.
    """
    return (
        all(c.isprintable() or c in JOINERS or unicodedata.category(c) == "Zs" for c in text)
        if not text.isprintable()
        else True
    )


def printable(text: str, most: int = 1000) -> str:
    """Return a text fit for one line of a message: with escapes where it is not plain, and cut when
    far too long.
    """
    text = text if is_plain(text) else text.encode("unicode_escape").decode("ascii")
    return text if len(text) <= most else text[: most - 3] + "..."


def _shown_key(key: str) -> str:
    """Return a key fit for one line: a space that does not break would hide in it."""
    shown = (c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in key)
    return printable("".join(shown), 200) if is_plain(key) else printable(key, 200)


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that is wrong with one key of a job or material file."""

    where: str  #: "[table] key", or "" when the whole file is meant
    message: str  #: what is wrong and what would be right
    rule: str = ""  #: what would be right, by itself, for a reader who sees the value

    def line(self, file: str) -> str:
        """Return the line that the command prints: ``FILE: [table] key: message``."""
        place = f"{printable(file)}: {_shown_key(self.where)}" if self.where else printable(file)
        return f"{place}: {printable(self.message)}"


class LoadsimError(Exception):
    """Everything this package raises on purpose."""


class UnitError(LoadsimError, ValueError):
    """A text is not a quantity of the wanted dimension."""


class InputError(LoadsimError, ValueError):
    """A file from outside cannot be used; carries every problem found in it."""

    def __init__(self, file: str, problems: list[Problem]) -> None:
        self.file = file
        self.problems = tuple(problems)
        super().__init__("\n".join(self.lines()))

    def lines(self) -> list[str]:
        """Return one printable line for each problem; of very many the first, and how many more
        there are.
        """
        more = len(self.problems) - MOST_LINES
        shown = [p.line(self.file) for p in self.problems[:MOST_LINES]]
        return [*shown, f"{printable(self.file)}: and {more} more"] if more > 0 else shown


class ModelError(LoadsimError, ValueError):
    """A formula was asked for something it cannot answer (not finite, no solution)."""


#: Stands for the job's own file in problems that are found after it was read.
FILE = "job"


def echo(text: str) -> str:
    """Return a given text fit for one line of a message: printable and not over 60 characters."""
    return printable(text, 60)

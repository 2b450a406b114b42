"""Errors that carry data: which key, what was given, what is allowed, what to do."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that is wrong with one key of a job or material file."""

    where: str  #: "[table] key", or "" when the whole file is meant
    message: str  #: what is wrong and what would be right

    def line(self, file: str) -> str:
        """Return the line that the command prints: ``FILE: [table] key: message``."""
        return f"{file}: {self.where}: {self.message}" if self.where else f"{file}: {self.message}"


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
        """Return one printable line for each problem."""
        return [p.line(self.file) for p in self.problems]


class ModelError(LoadsimError, ValueError):
    """A formula was asked for something it cannot answer (not finite, no solution)."""

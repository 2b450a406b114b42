"""Reads a job file whose [cutter] and [grind] say only what is known."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from loadsim.domain import Job
from loadsim.errors import InputError
from loadsim.explain import explain, not_toml
from loadsim.files import parse_toml
from loadsim.job import read_text, system_of
from loadsim.relations import slot_relations

#: Keys that may be left out of a draft, and what stands in for them while the rest is read.
STAND_IN: dict[str, dict[str, Any]] = {
    "cutter": {"head_diameter": "10 mm", "head_height": "2 mm", "neck_diameter": "1 mm", "neck_length": "10 mm",
               "shank_diameter": "10 mm", "stickout": "30 mm", "teeth": 2},
    "grind": {"gullet_depth": "1 mm", "land": "0.1 mm"},
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A job whose cutter is not settled yet."""

    name: str  #: what to call the file in messages
    data: dict[str, Any]  #: tables and keys as written
    job: Job  #: with stand-ins for what is left out: only ask it for keys that are given

    def given(self, path: str) -> bool:
        """Whether the file gives "table.key"."""
        table, key = path.split(".")
        return key in self.data.get(table, {})

    def value(self, path: str) -> Any:
        """Return the value of "table.key" in internal units, or None when the file leaves it out."""
        table, key = path.split(".")
        return getattr(getattr(self.job, table), key) if self.given(path) else None


def read_draft(source: str | Path | dict[str, Any]) -> Draft:
    """Read a job that may leave out everything of the cutter but its material.

    Parameters
    ----------
    source : str, Path or dict
        A TOML file, "-" for standard input, or tables and keys as in the file.

    Returns
    -------
    draft : Draft

    Raises
    ------
    InputError
        With every problem found.
    """
    name, data = ("job", source) if isinstance(source, dict) else (str(source), _tables(source))
    filled = dict(data)
    for table, keys in STAND_IN.items():
        if table in data and isinstance(data[table], dict):
            filled[table] = {**keys, **data[table]}
    try:
        job = Job.model_validate(filled, context={"system": system_of(data)})
    except ValidationError as error:
        raise InputError(name, [explain(e, Job, system_of(data), data) for e in error.errors(include_url=False)]) from None
    problems = slot_relations(job.slot, job.job.units)
    if problems:
        raise InputError(name, problems)
    return Draft(name=name, data=data, job=job)


def _tables(path: str | Path) -> dict[str, Any]:
    text = read_text(path)
    try:
        return parse_toml(text)
    except (ValueError, RecursionError) as error:
        raise InputError(str(path), [not_toml(error, text)]) from None

"""The shop's jobs: the job files of the folder that the page was started in, and no others."""

from __future__ import annotations

import tomllib
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from loadsim.base.errors import InputError, Problem
from loadsim.base.files import parse_toml, read_bytes
from loadsim.job.questions import kept
from loadsim.job.read import MAX_BYTES
from loadsim.page.state import VERDICT, kept_name

#: Most files that are looked at, and most jobs of a folder. [1]
MOST_FILES = 400
MOST_JOBS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A job of the shop."""

    name: str  #: of its file
    number: str
    verdict: str  #: when it was saved from the page; empty where it changed since
    date: str


def known(folder: Path) -> list[Known]:
    """List the jobs of a folder, the one changed last first.

    Parameters
    ----------
    folder : Path
        Where the page was started.

    Returns
    -------
    jobs : list of Known
    """
    found = [(p.stat().st_mtime, p) for p in sorted(folder.glob("*.toml"))[:MOST_FILES]]
    return [job for _, path in sorted(found, reverse=True) if (job := _job(path)) is not None]


def _job(path: Path) -> Known | None:
    """Read the head of a job; None where the file is none, or cannot be read."""
    data: dict[str, Any] = {}
    with suppress(OSError, ValueError, RecursionError, tomllib.TOMLDecodeError):
        data = parse_toml(read_bytes(path, MAX_BYTES).decode("utf-8-sig"))
    heading = data.get("job")
    if not isinstance(heading, dict) or "slot" not in data:
        return None
    changed = path.stat().st_mtime_ns
    beside = path.parent / kept_name(path)
    answers = kept.kept_in(path.parent, kept_name(path)) or {}
    current = beside.exists() and beside.stat().st_mtime_ns >= changed
    return Known(
        name=path.name,
        number=str(heading.get("number", "")),
        verdict=answers.get(VERDICT, "") if current else "",
        date=datetime.fromtimestamp(changed / 1e9).astimezone().strftime("%Y-%m-%d %H:%M"),
    )


def chosen(folder: Path, name: str) -> Path:
    """Return the file of a job that is listed, or a free name for a new one.

    Parameters
    ----------
    folder : Path
        Where the page was started.
    name : str
        Of the list; empty: a new job.

    Returns
    -------
    path : Path

    Raises
    ------
    InputError
        If the folder has no such job.
    """
    if not name:
        tried = (folder / f"job-{n}.toml" for n in range(2, MOST_JOBS))
        free = (p for p in tried if not p.exists() and not (folder / kept_name(p)).exists())
        path = next(free, None)
    else:
        path = next((folder / job.name for job in known(folder) if job.name == name), None)
    if path is None:
        raise InputError(str(folder), [Problem(where="", message="has no such job")])
    return path

"""A report run again: the job inside it, and whether its numbers come out as they stand there."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loadsim.job.read import read_job

if TYPE_CHECKING:
    from loadsim.job.tables import Job
    from loadsim.report.embed.payload import Report

#: How a page begins, and in how many bytes that is looked for.
PAGE = (b"<!doctype html", b"<html")
START = 200


def read_either(path: str, *, planned: bool) -> tuple[Job, Report | None]:
    """Read a job file, or the job inside a report.

    Parameters
    ----------
    path : str
        Of a job file or a report; "-" for a job file on standard input.
    planned : bool
        Take the job of a report with [cut] filled in as it was planned, not as it was given.

    Returns
    -------
    job : Job
    report : Report or None
        None for a job file.

    Raises
    ------
    InputError
        If it cannot be read.
    """
    with Path(path).open("rb") if path != "-" and Path(path).is_file() else nullcontext() as file:
        start = file.read(START).lstrip().lower() if file is not None else b""
    if not start.startswith(PAGE):
        return read_job(path), None
    from loadsim.report.embed import payload

    old = payload.read(path)
    return (old.planned if planned else old.job), old


def changes(old: Report | None, now: dict[str, Any]) -> list[str]:
    """Say whether the numbers are those of the report that was run again.

    Parameters
    ----------
    old : Report or None
        As it was read; None when no report was.
    now : dict
        The answer as data.

    Returns
    -------
    sentences : list of str
        Empty for a job file.
    """
    if old is None:
        return []
    from loadsim.report.embed import compare

    sentences = compare.changes(old, now)
    same = sentences == old.restored
    return [*sentences, "The numbers are those of the report."] if same else [*sentences]

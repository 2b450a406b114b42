"""`loadsim new` on a terminal: the questions asked, stopped, and gone on with."""

from __future__ import annotations

import json
import sys
import textwrap
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import click

from loadsim.base.errors import InputError, Problem, printable
from loadsim.base.files import may_write, write_whole
from loadsim.job import write
from loadsim.job.questions import asking, kept
from loadsim.job.shop import filled, told
from loadsim.report.terminal.streams import out_page, say

#: Stands for bytes that are no text: an answer that is refused.
NO_TEXT = "\x1a"


def new(file: str, example: str | None, schema: bool, force: bool) -> None:
    """Write a job file, whole or not at all.

    Parameters
    ----------
    file : str
        Where to; - for standard output.
    example : str or None
        Which example; None: from questions.
    schema : bool
        Write the schema beside it.
    force : bool
        Write over a file that is there.

    Raises
    ------
    InputError
        If it cannot be written, there is no such example, or there is nothing to ask on.
    """
    path = Path(file)
    beside = path.with_name("job.schema.json")
    for there in (path, beside) if schema else (path,):
        if file != "-":
            may_write(there, force)
    text = asked(file) if example is None else write.example(example)
    if file == "-":
        out_page(text)
        return
    if schema:
        write_whole(beside, json.dumps(write.schema(), indent=1) + "\n", new=not force)
        text = "#:schema ./job.schema.json\n" + text
    write_whole(path, text, new=not force)
    if example is None:
        kept.drop(path.parent)
    say(f"Wrote {file}. Next: loadsim check {file}")


def asked(file: str) -> str:
    """Return the text of a job file from questions on a terminal; what is typed is kept until it
    is whole.

    Parameters
    ----------
    file : str
        Where it is to go; - for standard output.

    Returns
    -------
    text : str

    Raises
    ------
    InputError
        If this is no terminal, or the slot is none that is answered for.
    """
    if sys.stdin is None or not sys.stdin.isatty():
        message = (
            "nothing to ask on: this is not a terminal; use --example NAME, with NAME one of "
            + ", ".join(write.examples())
        )
        raise InputError(file, [Problem(where="", message=message)])
    from loadsim.words.left_out import left_out  # numpy is not for an example

    folder = Path(file).parent
    if not folder.is_dir():  # not to be told after thirty answers
        message = "cannot be written: its folder is not there; make it, or give another place"
        raise InputError(file, [Problem(where="", message=message)])
    prompt = partial(click.prompt, err=file == "-")
    say(*textwrap.wrap(asking.INTRO, asking.WIDTH), "")
    fixed, source = filled({}, file, "metric")
    if source is not None:
        say(f"Not asked, as the shop file {source.file} gives it: {told(source)}.", "")
    start = None if file == "-" else _kept(folder)
    try:
        return asking.asked(
            lambda question, default: _typed(prompt, question, default),
            say,
            left_out=left_out,
            fixed=fixed,
            start=start,
            keep=None if file == "-" else partial(kept.keep, folder),
        )
    except (click.exceptions.Abort, KeyboardInterrupt):
        exec("")  # see loadsim.cli.main
        if file == "-" or not (folder / kept.NAME).is_file():
            raise click.exceptions.Abort from None
        where = folder / kept.NAME
        say("", f"Stopped. What you typed is kept in {where}; to go on: loadsim new {file}")
        sys.exit(2)


def _typed(prompt: Callable[..., Any], question: str, default: str) -> str:
    try:
        return str(prompt(question, default=default))
    except UnicodeDecodeError:
        return NO_TEXT


def _kept(folder: Path) -> dict[str, str] | None:
    """Return what was typed before, if it shall go on."""
    typed = kept.kept_in(folder)
    if typed is None:
        return None
    number = typed.get("job.number", "")
    of = f" of job {printable(number, 40)}" if number else ""
    if click.confirm(
        f"{len(typed)} answers{of} are kept from before. Go on with them?", default=True
    ):
        return typed
    kept.drop(folder)
    return None

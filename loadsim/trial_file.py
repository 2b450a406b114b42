"""Writes a test cut into its job file: text added at the end, everything above it kept as it is."""

from __future__ import annotations

import difflib
import json
import tomllib
from typing import Any

from loadsim.domain import Trial
from loadsim.errors import InputError, Problem
from loadsim.explain import echo
from loadsim.job import job_from_text

#: Settings that a test cut takes from [cut] when they are not given.
FROM_CUT = ("spindle_speed", "feed_per_tooth", "feed_rate", "stepover", "predrill", "direction")
#: What it was cut in and with, written down so that a later change of the job does not change what was seen.
FROM_JOB = {"material": ("work", "material"), "blank": ("cutter", "material"), "neck_diameter": ("cutter", "neck_diameter"),
            "neck_length": ("cutter", "neck_length"), "neck_fillet": ("cutter", "neck_fillet")}  # fmt: skip


def recorded(text: str, name: str, entries: tuple[str, ...]) -> str:
    """Return the text of a job file with one test cut more.

    Parameters
    ----------
    text : str
        The job file as it is, valid.
    name : str
        What to call the file in messages.
    entries : tuple of str
        Each "key=value", keys as in ``[[trial]]``; settings left out are written as ``[cut]`` gives them,
        and what was cut with what as ``[work]`` and ``[cutter]`` do.

    Returns
    -------
    text : str

    Raises
    ------
    InputError
        If an entry cannot be read, or the file would not be valid with it.
    """
    job_from_text(text, name)
    given = _given(entries)
    data = tomllib.loads(text)
    cut = data.get("cut", {})
    feed_given = {"feed_per_tooth", "feed_rate"} & set(given)
    start = {k: cut[k] for k in FROM_CUT if k in cut and k not in given and not (feed_given and k.startswith("feed"))}
    start |= {k: data[table][key] for k, (table, key) in FROM_JOB.items() if k not in given and key in data[table]}
    order = [k for k in Trial.model_fields if k in start or k in given]
    lines = ["[[trial]]", *(f"{k} = {json.dumps(given.get(k, start.get(k)), ensure_ascii=False)}" for k in order)]
    end = "\r\n" if "\r\n" in text else "\n"
    new = text.rstrip() + end * 2 + end.join(lines) + end
    job_from_text(new, name)  # refused whole when it does not fit
    return new


def _given(entries: tuple[str, ...]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    problems = []
    for entry in entries:
        key, equals, value = (x.strip() for x in entry.partition("="))
        if not equals:
            problems.append(Problem(where=echo(key), message='has no "="; write KEY=VALUE, e.g. outcome=survived "length=30 mm"'))
        elif key not in Trial.model_fields:
            near = difflib.get_close_matches(key[:100], list(Trial.model_fields), 1)
            hint = f"did you mean {near[0]}?" if near else f"known are {', '.join(Trial.model_fields)}"
            problems.append(Problem(where=echo(key), message=f"is not a key of [[trial]]; {hint}"))
        elif key in found:
            problems.append(Problem(where=key, message="is given twice; give it once"))
        elif key == "predrill":
            found[key] = {"true": True, "false": False}.get(value, value)
        else:
            found[key] = value
    if problems:
        raise InputError("--record", problems)
    return found

"""The questions `loadsim new` asks one by one, and the job file their answers make."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from loadsim.base.errors import InputError, Problem
from loadsim.job.write import render

#: The questions of `loadsim new` on a terminal: table, key, question, default, default of an inch
#: job where it is another. A key
#: comes after those that it has to fit with, so that each answer can be judged at once.
_QUESTIONS = (
    ("job", "number", "Job number", "1", ""),
    ("job", "units", "Units of the answer (metric or inch)", "metric", "metric"),
    ("work", "material", "Material to cut (a name from: loadsim materials)", "al-6061-t6", ""),
    ("work", "lubrication", "Lubrication (dry, brush, mist, flood)", "brush", ""),
    ("slot", "throat_width", "Throat slot: width", "6 mm", "1/4 in"),
    (
        "slot",
        "undercut_width",
        "Undercut: width over both sides (one-sided: plain wall to undercut wall)",
        "10 mm",
        "3/8 in",
    ),
    ("slot", "depth", "Surface to undercut floor", "7 mm", "0.280 in"),
    ("slot", "undercut_height", "Undercut: height", "2.5 mm", "0.100 in"),
    ("slot", "length", "Slot length", "80 mm", "3 in"),
    ("slot", "sides", "Sides undercut (2 = T-shaped, 1 = one side)", "2", ""),
    ("slot", "open_ends", "Open ends (0, 1, 2)", "1", ""),
    ("job", "slots_per_part", "Slots like this in one part", "1", ""),
    ("job", "quantity", "Parts to cut", "1", ""),
    ("cutter", "material", "Blank material", "hss-m2", ""),
    ("cutter", "head_diameter", "Head: diameter over the teeth", "10 mm", "3/8 in"),
    ("cutter", "head_height", "Head: height", "2.5 mm", "0.100 in"),
    ("cutter", "shank_diameter", "Shank: diameter", "10 mm", "3/8 in"),
    ("cutter", "neck_diameter", "Neck: diameter", "5 mm", "3/16 in"),
    ("cutter", "neck_length", "Neck: length, shank shoulder to head", "5.2 mm", "0.190 in"),
    ("cutter", "neck_fillet", "Neck: fillet radius at its ends", "0.2 mm", "0.010 in"),
    ("cutter", "stickout", "Collet face to the head's lower face", "16 mm", "5/8 in"),
    ("cutter", "teeth", "Teeth", "2", ""),
    ("cutter", "rake", "Rake", "8 deg", ""),
    ("machine", "max_spindle_speed", "Machine: fastest spindle speed", "2800 rpm", ""),
    ("machine", "spindle_power", "Machine: spindle power", "1.1 kW", "1.5 hp"),
    ("machine", "feed", "Machine: feed (hand, power, cnc)", "hand", ""),
)

_COUNTS = ("sides", "open_ends", "slots_per_part", "quantity", "teeth")

#: A number or a fraction without a unit.
_BARE = re.compile(r"[0-9]+(?:[ -][0-9]+)?/[0-9]+|[0-9]*\.?[0-9]+")


def asked(ask: Callable[[str, str], str], tell: Callable[[str], object] | None = None) -> str:
    """Write a job file from answers; each is judged at once.

    Parameters
    ----------
    ask : callable
        Takes a question and a default, returns the answer.
    tell : callable, optional
        Takes what is wrong with an answer, which is then asked for again; when None such an answer
        is an error.

    Returns
    -------
    text : str

    Raises
    ------
    InputError
        If an answer cannot be used and there is no `tell`; each problem names its key.
    """
    from loadsim.job.read import job_from_dict

    values: dict[str, dict[str, Any]] = {}
    for question in _QUESTIONS:
        while True:
            tried = _answered(values, question, ask)
            problems = _wrong(tried, question[0], question[1])
            if not problems:
                values = tried
                break
            if tell is None:
                raise InputError("answers", problems)
            for p in problems:
                tell(p.message)
    job_from_dict(values, "answers")
    return render("Written from questions.", values)


def _inch(values: dict[str, dict[str, Any]]) -> bool:
    return values.get("job", {}).get("units") == "inch"


def _is_length(table: str, key: str) -> bool:
    from loadsim.job.quantities import quantities

    return quantities().get(f"{table}.{key}") == "length"


def _answered(
    values: dict[str, dict[str, Any]], question: tuple[str, ...], ask: Callable[[str, str], str]
) -> dict[str, dict[str, Any]]:
    """Ask one question; in an inch job a bare number or fraction of a length is in inch, as its
    question says.
    """
    table, key, words, metric, inch = question
    bare = _inch(values) and _is_length(table, key)
    answer = ask(
        words + (" (inch when there is no unit)" if bare else ""),
        inch if inch and _inch(values) else metric,
    )
    if bare and _BARE.fullmatch(answer.strip()):
        answer = f"{answer.strip()} in"
    given = int(answer) if key in _COUNTS and answer.isascii() and answer.isdigit() else answer
    return {**values, table: {**values.get(table, {}), key: given}}


def _wrong(values: dict[str, dict[str, Any]], table: str, key: str) -> list[Problem]:
    """List what is wrong with the answer given last, by itself or beside those before it; defaults
    stand in for what comes.
    """
    from loadsim.job.read import job_from_dict
    from loadsim.materials import load

    filled: dict[str, dict[str, Any]] = {}
    for t, k, _, metric, inch in _QUESTIONS:
        default = inch if inch and _inch(values) else metric
        filled.setdefault(t, {})[k] = values.get(t, {}).get(
            k, int(default) if k in _COUNTS else default
        )
    try:
        job_from_dict(filled, "answers")
        if key == "material":
            (load.load_work if table == "work" else load.load_blank)(values[table][key])
    except InputError as error:
        where = f"[{table}] {key}"
        return [
            Problem(where=where, message=p.message)
            for p in error.problems
            if p.where == where or (key == "material" and not p.where)
        ]
    return []

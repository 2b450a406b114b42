"""What was typed, to the value of its key: bare numbers, usual words, the units of a shop."""

from __future__ import annotations

import re

from loadsim.base import units
from loadsim.base.errors import UnitError
from loadsim.job.fields import usual_unit
from loadsim.job.messages import MEANT, constraints
from loadsim.job.questions.catalogue import Question
from loadsim.job.tables import Job

#: What the key of an answer holds.
Value = str | int | float | bool

#: A number or a fraction without a unit.
_BARE = re.compile(r"[+-]?(?:[0-9]+(?:[ -][0-9]+)?/[0-9]+|[0-9]+\.?[0-9]*|\.[0-9]+)")

#: Spellings of units that shops use and job files do not.
_SPELLED = (
    (r"(?<=[0-9.\s])''$", "in"),
    (r"(?<=[0-9.\s])(?:millimet(?:er|re)s?|metric)$", "mm"),
    (r"(?<=[0-9.\s])thousandths?$", "thou"),
    (r"(?<=[0-9.\s])(?:hor?se ?power)$", "hp"),
    (r"(?<=[0-9.\s])kilowatts?$", "kW"),
)

#: Ways to say that one does not know.
_UNKNOWN = {"dk", "unknown", "don't know", "dont know", "do not know", "not known", "no idea"}

_YES = {"yes", "y", "true", "no", "n", "false"}


def unknown(text: str) -> bool:
    """Whether an answer says that its giver does not know.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    unknown : bool
    """
    return " ".join(text.replace("’", "'").lower().split()).rstrip(".!") in _UNKNOWN


def value_of(question: Question, typed: str, system: units.System) -> Value:
    """Return what an answer comes to; a wrong one comes back as it is and is refused by its key.

    Parameters
    ----------
    question : Question
        What was asked.
    typed : str
        As typed, not empty.
    system : {"metric", "inch"}
        What a number without a unit is in.

    Returns
    -------
    value : str, int, float or bool
    """
    text = typed.strip()
    if question.form in ("text", "material"):
        return text
    if question.form == "yes":
        return text.lower() in ("yes", "y", "true") if text.lower() in _YES else text
    if question.form == "units" or question.form == "choice":
        return _choice(question, text)
    if question.form == "count":
        return int(text) if re.fullmatch(r"[0-9]{1,9}", text) else text
    if question.form == "hardness":
        number = re.fullmatch(
            r"(?i)(?:hrc|rc)?\s*([0-9]{1,3}(?:\.[0-9]{1,3})?)\s*(?:hrc|rc|c)?", text
        )
        return float(number[1]) if number else text
    full = _with_unit(text, dimension_of(question), system)
    return _halved(full, system) if question.form == "reading" else full


def dimension_of(question: Question) -> str:
    """Return the dimension of a question's key.

    Parameters
    ----------
    question : Question
        One whose answer is a quantity.

    Returns
    -------
    dimension : str
        A key of `loadsim.base.units.UNITS`; empty where it is none.
    """
    return constraints(Job, [question.table, question.name])[0] or ""


def in_full(question: Question, typed: str, value: Value, system: units.System) -> str:
    """Tell back an answer that was taken for more than what was typed.

    Parameters
    ----------
    question : Question
        What was asked.
    typed : str
        As typed.
    value : str, int, float or bool
        What it came to, right by itself.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str
        Empty where there is nothing to tell.
    """
    if question.form == "reading" and isinstance(value, str):
        return f"{value} radial, half of the reading"
    if typed.strip() == str(value) or question.form in ("yes", "text", "count", "hardness"):
        return ""
    dimension = dimension_of(question)
    if not dimension:
        return str(value)
    v = units.parse(value, dimension)
    other = units.show(v, dimension, "metric" if str(value).endswith(("in", '"')) else "inch")
    return f"{value} ({other})" if dimension in ("length", "power") else str(value)


def _choice(question: Question, text: str) -> str:
    word = text.lower().rstrip(".")
    if question.form == "units" and (word in ('"', "''", "inchs") or word.startswith("millim")):
        return "metric" if word.startswith("millim") else "inch"
    if word in question.choices:
        return word
    return MEANT.get(question.name, {}).get(word, (text, ""))[0]


def _with_unit(text: str, dimension: str, system: units.System) -> str:
    """Write a quantity as a job file has it: a bare number with its usual unit."""
    for spelling, unit in _SPELLED:
        text = re.sub(f"(?i){spelling}", unit, text)
    tenths = re.fullmatch(r"(?i)([0-9]{1,6}(?:\.[0-9]{1,6})?|\.[0-9]{1,6})\s*tenths?", text)
    if tenths and dimension == "length":  # of a thousandth of an inch
        return f"{float(tenths[1]) / 1e4:.8g} in"
    return f"{text} {usual_unit(dimension, system)}" if _BARE.fullmatch(text) else text


def _halved(text: str, system: units.System) -> str:
    """Return half of a reading; what is none comes back as it is."""
    try:
        half = units.parse(text, "length") / 2
    except UnitError:
        return text
    unit = "in" if system == "inch" else "mm"
    return f"{units.to_unit(half, unit, 'length'):.6g} {unit}"

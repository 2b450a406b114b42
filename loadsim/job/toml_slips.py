"""A text that is not TOML: the line that is wrong, and what to write in its place."""

from __future__ import annotations

import re
from contextlib import suppress

from loadsim.base import units
from loadsim.base.errors import Problem, UnitError, echo
from loadsim.base.files import parse_toml
from loadsim.job.fields import usual_unit
from loadsim.job.messages import constraints
from loadsim.job.tables import Job

#: Quotes that a word processor sets, to those of a job file.
STRAIGHT = str.maketrans({"“": '"', "”": '"', "„": '"', "‟": '"', "‘": "'", "’": "'", "‚": "'"})

#: A number or a fraction by itself, with a point or a comma.
BARE = re.compile(r"[+-]?(?:[0-9]+(?:[ -][0-9]+)?/[0-9]+|[0-9]*[.,]?[0-9]+|[0-9]+[.,])")

_LINE = re.compile(r"\s*([A-Za-z_][\w-]*)\s*(=?:?|)\s*(.*?)\s*")
_HEADING = re.compile(r"\s*(\[\[?)\s*([A-Za-z_]+)\s*(\]?\]?)\s*(?:#.*)?")
_WORDS = {"true": "true", "yes": "true", "false": "false", "no": "false"}


def not_toml(error: Exception, text: str) -> Problem:
    """Say why a text is not TOML, by its line and by what to write there.

    Parameters
    ----------
    error : Exception
        From the reader of TOML.
    text : str
        What it read.

    Returns
    -------
    problem : Problem
    """
    lines = text.split("\n")
    number = _number(error, lines)
    if number is None:
        return Problem(where="", message=f"is not TOML: {error}; {_COMPARE}")
    line = _without_comment(lines[number - 1].strip())
    where = f"line {number}"
    if "Cannot overwrite" in str(error) or "Cannot declare" in str(error):
        message = f"{echo(line)} is not TOML: it stands in the file twice; keep one of the two"
        return Problem(where=where, message=message)
    fault, better = _heading(line) or _entry(line, lines[:number], text)
    if better and len(line) <= _LONGEST and _is_toml(better):
        return Problem(where=where, message=f"{echo(line)} {fault}: {better}")
    return Problem(where=where, message=f"{echo(line)} is not TOML ({_reason(error)}); {_COMPARE}")


_COMPARE = (
    'a line is a key, an equals sign and a value in quotes, as in depth = "7 mm"; compare with:'
    " loadsim new --example t-track"
)

#: Longest line that is written anew. [1]
_LONGEST = 120


def _number(error: Exception, lines: list[str]) -> int | None:
    """Return the line that is meant; None when it is not one."""
    position = re.search(r"at line (\d+)", str(error))
    if position and int(position[1]) <= len(lines):
        return int(position[1])
    if "at end of document" not in str(error):
        return None
    return max((i for i, line in enumerate(lines, 1) if line.strip()), default=None)


def _reason(error: Exception) -> str:
    return re.sub(r" \(at .*\)$", "", str(error)).lower()


def _is_toml(line: str) -> bool:
    with suppress(ValueError):
        return bool(parse_toml(line))
    return False


def _heading(line: str) -> tuple[str, str] | None:
    """Name what is wrong with a [table], and how it is written; None when the line is none."""
    match = _HEADING.fullmatch(line)
    if match is None:
        return None
    n = 2 if match[2] == "trial" else 1
    return "lacks a bracket or has one too many; write", f"{'[' * n}{match[2]}{']' * n}"


def _entry(line: str, above: list[str], text: str) -> tuple[str, str]:
    """Name what is wrong with the line of a key, and how it is written; nothing when that is not
    plain.
    """
    plain = line.translate(STRAIGHT)
    match = _LINE.fullmatch(plain)
    if match is None or not match[3] or (not match[2] and not re.search(r"\d", match[3])):
        return "", ""
    key, sign, value = match[1], match[2], match[3]
    body = value.strip("\"'").strip()
    if not body or '"' in body or not body.isprintable() or body[0] in "[{#=":
        return "", ""
    inch_mark = value.endswith('"') and (not value.startswith('"') or value.endswith('""'))
    inside = _inside(_table(above), key, body, text, inch_mark)
    fault = _fault(line, plain, sign, value, body) if '"' in inside else "is not read; write"
    return fault, f"{key} = {inside}"


def _fault(line: str, plain: str, sign: str, value: str, body: str) -> str:
    if sign != "=":
        return "has no equals sign; write"
    if plain != line:
        return "has curly quotes; write it with straight ones"
    if re.match(r"[+-]?[0-9]+,[0-9]", body):
        return (
            "has a comma; put it in quotes with a point, and nothing between thousands"
            if value == body
            else "has a comma; write it with a point, and nothing between thousands"
        )
    if value == body:
        return "has no quotes; put it in quotes" + (
            ", with its unit" if BARE.fullmatch(body) else ""
        )
    return "has quotes that do not pair; write"


def _without_comment(line: str) -> str:
    """Drop a comment; a hash between quotes is none."""
    quoted = re.fullmatch(r"""([^"']*(["'“‘„‟‚]).*?["'”’“])\s*#.*""", line)
    return quoted[1] if quoted and quoted[1].count("#") else re.sub(r"\s*#.*$", "", line)


def _table(above: list[str]) -> str:
    headings = (_HEADING.fullmatch(line) for line in reversed(above))
    return next((match[2] for match in headings if match), "")


def _inside(table: str, key: str, body: str, text: str, inch_mark: bool) -> str:
    """Write a value as its key takes it: with its unit where it is a quantity."""
    dimension, low, _ = constraints(Job, [table, key])
    point = "" if dimension == "angular speed" and re.match(r"[0-9]+,[0-9]{3}\b", body) else "."
    number = re.sub(r"^([+-]?[0-9]+),([0-9])", rf"\1{point}\2", body)
    bare = BARE.fullmatch(number)
    if dimension is not None and bare:
        inch = re.search(r"(?m)^\s*units\s*=\s*.inch", text) is not None
        unit = usual_unit(dimension, "inch" if inch else "metric")
        return f'"{number} {"in" if inch_mark and dimension == "length" else unit}"'
    if dimension is not None and inch_mark:
        with suppress(UnitError):
            units.parse(f'{number}"', dimension)
            return f'"{number} in"'
    if dimension is None and bare and low is not None and "/" not in number:
        return re.sub(r"^([+-]?)\.", r"\g<1>0.", number)
    if key == "predrill" and number.lower() in _WORDS:
        return _WORDS[number.lower()]
    return f'"{number}"'

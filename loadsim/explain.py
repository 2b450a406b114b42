"""One pydantic error to one plain line."""

from __future__ import annotations

import difflib
import typing
from typing import Any

from loadsim import units
from loadsim.domain import LIMIT_UNIT, Dimension, Thing
from loadsim.errors import Problem, printable


def explain(error: Any, model: type[Thing]) -> Problem:
    """Say one pydantic error as "[table] key: what is wrong, and what would be right".

    Parameters
    ----------
    error : dict
        One entry of ``ValidationError.errors()``.
    model : type
        The model that was validated.

    Returns
    -------
    problem : Problem
    """
    path = list(error["loc"])  # keys, and the places in lists
    table, keys = str(path[0]) if path else "", [str(p) for p in path[1:] if isinstance(p, str)]
    named = f"[[{echo(table)}]] {path[1] + 1}" if len(path) > 1 and isinstance(path[1], int) else f"[{echo(table)}]"
    where = named + (f" {echo('.'.join(keys))}" if keys else "")
    return Problem(where=where, message=_message(error, model, path))


def echo(text: str) -> str:
    """Return a given text fit for one line of a message: printable and not over 60 characters."""
    return printable(text, 60)


def _names(model: type[Thing]) -> list[str]:
    return list(model.model_fields)


def _model_at(model: type[Thing], path: list[Any]) -> type[Thing] | None:
    for key in path:
        if isinstance(key, int):
            continue
        field = model.model_fields.get(key)
        inner = None if field is None else next((a for a in _parts(field.annotation) if _is_thing(a)), None)
        if inner is None:
            return None
        model = inner
    return model


def _parts(annotation: Any) -> list[Any]:
    parts = [annotation]
    for a in typing.get_args(annotation):
        parts += _parts(a)
    return parts


def _is_thing(a: Any) -> bool:
    return isinstance(a, type) and issubclass(a, Thing)


def _near(key: str, names: list[str]) -> str:
    near = difflib.get_close_matches(key[:100], names, 1)
    return f"; did you mean {near[0]}?" if near else f"; known are {', '.join(names)}"


def _message(error: Any, model: type[Thing], path: list[Any]) -> str:
    kind, given, ctx = error["type"], error["input"], error.get("ctx", {})
    if kind == "extra_forbidden":
        parent = _model_at(model, path[:-1]) or model
        what = "table" if len(path) == 1 else "key"
        return f"is not a known {what}{_near(str(path[-1]), _names(parent))}"
    if kind == "missing":
        return _missing(model, path)
    if kind == "value_error":
        return str(error["msg"]).removeprefix("Value error, ")
    if kind in ("greater_than_equal", "less_than_equal"):
        return _out_of_range(model, path, given)
    if kind == "literal_error":
        allowed = ctx["expected"].replace("'", "").replace(" or ", ", ").split(", ")
        near = difflib.get_close_matches(str(given)[:60], allowed, 1)
        hint = f"; did you mean {near[0]}?" if near else ""
        return f"is {_given(given)}; allowed is one of {', '.join(allowed)}{hint}"
    if kind in ("string_too_long", "string_too_short"):
        n = len(given)
        most = f"at most {ctx.get('max_length')}" if n else "at least 1"
        return f"is {n} characters long; allowed is {most}"
    return _wrong_type(kind, given, error)


def _wrong_type(kind: str, given: object, error: Any) -> str:
    wanted = {
        "string_type": "write it as a text in quotes", "int_type": "write a whole number without quotes",
        "int_from_float": "write a whole number", "float_type": "write a number without quotes",
        "bool_type": "write true or false",
        "list_type": 'write a list, e.g. ["-2 mm", "2 mm"]',
        "model_type": "write a table of keys under its [heading]",
        "finite_number": "write an ordinary number",
        "too_short": "give at least one",
        "too_long": f"give at most {error.get('ctx', {}).get('max_length')}",
    }.get(kind, str(error["msg"]))  # fmt: skip
    return f"is {_given(given)}; {wanted}"


def _given(value: object) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return "a list"
    return echo(value if isinstance(value, str) else repr(value))


def _missing(model: type[Thing], path: list[Any]) -> str:
    field = None
    parent = _model_at(model, path[:-1])
    if parent is not None:
        field = parent.model_fields.get(str(path[-1]))
    if field is None or len(path) == 1:
        return "is missing; the job file needs this table"
    dimension = next((m.name for m in field.metadata if isinstance(m, Dimension)), None)
    like = f', e.g. {path[-1]} = "{units.example(dimension)}"' if dimension else ""
    return f"is missing ({(field.description or '').rstrip('.')}){like}"


def _constraints(model: type[Thing], path: list[Any]) -> tuple[str | None, float | None, float | None]:
    """Return the dimension and the bounds of a field."""
    parent = _model_at(model, [p for p in path if isinstance(p, str)][:-1])
    keys = [p for p in path if isinstance(p, str)]
    field = parent.model_fields.get(keys[-1]) if parent is not None else None
    found: list[Any] = [] if field is None else [*field.metadata]
    if field is not None:
        for part in _parts(field.annotation):
            found += list(getattr(part, "__metadata__", ()))
    spread = [x for m in found for x in ([m, *getattr(m, "metadata", [])])]
    dimension = next((m.name for m in spread if isinstance(m, Dimension)), None)
    low = next((m.ge for m in spread if getattr(m, "ge", None) is not None), None)
    high = next((m.le for m in spread if getattr(m, "le", None) is not None), None)
    return dimension, low, high


def _out_of_range(model: type[Thing], path: list[Any], given: object) -> str:
    dimension, low, high = _constraints(model, path)
    if low is None or high is None:
        allowed = f"at least {low:g}" if low is not None else f"at most {high:g}"
        return f"is {_given(given)}; allowed is {allowed}"
    if dimension is None:
        return f"is {_given(given)}; allowed is {low:g} to {high:g}"
    unit = LIMIT_UNIT[dimension]
    lo, hi = (units.to_unit(float(x), unit, dimension) for x in (low, high))
    if isinstance(given, float):  # already converted: show it in the unit of the limits
        given = f"{units.to_unit(given, unit, dimension):.6g} {unit}"
    return f"is {_given(given)}; allowed is {lo:.6g} to {hi:.6g} {unit}"

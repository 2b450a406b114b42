"""One pydantic error to one plain line."""

from __future__ import annotations

import difflib
import math
import re
import typing
from contextlib import suppress
from typing import Any

from loadsim.base import units
from loadsim.base.errors import Problem, UnitError, echo
from loadsim.job.fields import LIMIT_UNIT, UnitOf
from loadsim.job.tables import Thing

#: What a limit is written in for a job in inch units, where that is not `LIMIT_UNIT`.
LIMIT_UNIT_INCH = {
    "length": "in",
    "feed speed": "in/min",
    "surface speed": "ft/min",
    "feed per tooth": "in/tooth",
    "stress": "ksi",
    "power": "hp",
    "stiffness": "lbf/in",
    "force": "lbf",
    "torque": "in*lbf",
}

#: What a shop may write for a word that a key allows: key -> word -> what it means, and why where
#: that is not plain.
MEANT = {
    "direction": {
        "up": ("conventional", "up milling is conventional, down milling is climb"),
        "down": ("climb", "up milling is conventional, down milling is climb"),
    },
    "feed": {
        "manual": ("hand", ""),
        "handwheel": ("hand", ""),
        "auto": ("power", ""),
        "automatic": ("power", ""),
        "dro": ("hand", ""),
        "nc": ("cnc", ""),
    },
    "holder": {
        "er": ("collet", ""),
        "set screw": ("side-lock", ""),
        "setscrew": ("side-lock", ""),
        "end mill holder": ("side-lock", "its screw holds on a flat of the shank"),
    },
    "lubrication": {
        "none": ("dry", ""),
        "air": ("dry", ""),
        "oil": ("brush", ""),
        "cutting oil": ("brush", ""),
        "coolant": ("flood", ""),
    },
    "units": {
        "imperial": ("inch", ""),
        "in": ("inch", ""),
        "inches": ("inch", ""),
        "us": ("inch", ""),
        "mm": ("metric", ""),
        "si": ("metric", ""),
    },
}


def explain(
    error: Any,
    model: type[Thing],
    system: units.System = "metric",
    data: dict[str, Any] | None = None,
) -> Problem:
    """Say one pydantic error as "[table] key: what is wrong, and what would be right".

    Parameters
    ----------
    error : dict
        One entry of ``ValidationError.errors()``.
    model : type
        The model that was validated.
    system : {"metric", "inch"}
        Whose units examples and limits are written in.
    data : dict, optional
        All that was validated, for what the other keys say.

    Returns
    -------
    problem : Problem
    """
    path = list(error["loc"])  # keys, and the places in lists
    table = str(path[0]) if path else ""
    keys = [str(p) for p in path[1:] if isinstance(p, str)]
    named = (
        f"[[{echo(table)}]] {path[1] + 1}"
        if len(path) > 1 and isinstance(path[1], int)
        else f"[{echo(table)}]"
    )
    where = named + (f" {echo('.'.join(keys))}" if keys else "")
    return Problem(where=where, message=_message(error, model, path, system, data or {}))


def _names(model: type[Thing]) -> list[str]:
    return list(model.model_fields)


def _model_at(model: type[Thing], path: list[Any]) -> type[Thing] | None:
    for key in path:
        if isinstance(key, int):
            continue
        field = model.model_fields.get(key)
        inner = (
            None
            if field is None
            else next((a for a in _parts(field.annotation) if _is_thing(a)), None)
        )
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


def _message(
    error: Any, model: type[Thing], path: list[Any], system: units.System, data: dict[str, Any]
) -> str:
    kind = error["type"]
    given = error["input"]
    ctx = error.get("ctx", {})
    if kind == "extra_forbidden":
        parent = _model_at(model, path[:-1]) or model
        what = "table" if len(path) == 1 else "key"
        return _other_slot(path, given) or (
            f"is not a known {what}{_near(str(path[-1]), _names(parent))}"
        )
    if kind == "missing":
        return _missing(model, path, system)
    if kind == "value_error":
        return _surface_speed(given, path, system, data) or str(error["msg"]).removeprefix(
            "Value error, "
        )
    if kind in ("greater_than_equal", "less_than_equal"):
        return _out_of_range(model, path, given, system)
    if kind == "literal_error":
        allowed = ctx["expected"].replace("'", "").replace(" or ", ", ").split(", ")
        if isinstance(given, str) and given.strip() in allowed and given.strip().isdigit():
            return f'is "{given.strip()}" in quotes; write {given.strip()} without quotes'
        return (
            f"is {_given(given)}; allowed is one of"
            f" {', '.join(allowed)}{_hint(str(path[-1]), given, allowed)}"
        )
    if kind in ("string_too_long", "string_too_short"):
        n = len(given)
        most = f"at most {ctx.get('max_length')}" if n else "at least 1"
        return f"is {n} characters long; allowed is {most}"
    return _wrong_type(kind, given, error)


#: What the program answers for, in one sentence.
STRAIGHT_ONLY = (
    "Straight slots only, T-shaped or undercut on one side: no dovetail, no keyseat (throat as wide"
    " as the undercut), no ring groove."
)

#: What a key or its value may name, to how it is called.
_OTHER_SLOTS = {
    "dovetail": "a dovetail",
    "keyseat": "a keyseat",
    "keyway": "a keyseat",
    "woodruff": "a keyseat",
    "ring": "a ring groove",
    "circular": "a ring groove",
    "annular": "a ring groove",
    "curved": "a ring groove",
    "arc": "a ring groove",
}

#: Keys that ask for a kind of slot by their value.
_KINDS = ("kind", "shape", "type", "form", "profile", "slot_kind", "slot_type")


def _other_slot(path: list[Any], given: object) -> str:
    """Say of a key that asks for another slot than a straight one what there is, or nothing."""
    asked = str(path[-1]) + (f" {given}" if path[-1] in _KINDS else "")
    words = re.split(r"[^a-z]+", asked[:200].lower())
    name = next((_OTHER_SLOTS[word] for word in words if word in _OTHER_SLOTS), "")
    if name:
        return f"asks for {name}. {STRAIGHT_ONLY.removesuffix('.')}"
    if path[-1] in _KINDS and path[0] == "slot":
        return f"is not a known key; write sides = 2 or 1. {STRAIGHT_ONLY.removesuffix('.')}"
    return ""


def _wrong_type(kind: str, given: object, error: Any) -> str:
    wanted = {
        "string_type": "write it as a text in quotes",
        "int_type": "write a whole number without quotes",
        "int_from_float": "write a whole number",
        "float_type": "write a number without quotes",
        "bool_type": "write true or false",
        "list_type": 'write a list, e.g. ["-2 mm", "2 mm"]',
        "model_type": "write a table of keys under its [heading]",
        "finite_number": "write an ordinary number",
        "too_short": "give at least one",
        "too_long": f"give at most {error.get('ctx', {}).get('max_length')}",
    }.get(kind, str(error["msg"]))
    if isinstance(given, str):
        bare = given.strip().lower()
        share = re.fullmatch(r"([0-9]*\.?[0-9]+)\s*%", given.strip())
        if kind == "int_type" and bare.isascii() and bare.isdigit() and len(bare) < 9:
            return f'is "{bare}" in quotes; write {bare} without quotes'
        if kind == "bool_type" and bare in ("true", "yes", "false", "no"):
            return (
                f"is {bare}; write {'true' if bare in ('true', 'yes') else 'false'} without quotes"
            )
        if kind == "float_type" and share:
            return (
                f"is {_given(given)}; write a share of 1 without quotes:"
                f" {float(share[1]) / 100:.6g}"
            )
        if kind == "float_type" and re.fullmatch(r"[0-9]{0,9}\.?[0-9]{1,9}", bare):
            return f'is "{bare}" in quotes; write {bare} without quotes'
    return f"is {_given(given)}; {wanted}"


def _hint(key: str, given: object, allowed: list[str]) -> str:
    """Say which allowed word was meant."""
    meant, why = MEANT.get(key, {}).get(str(given).strip().lower(), ("", ""))
    if meant in allowed:
        return f"; write {meant}" + (f" ({why})" if why else "")
    near = difflib.get_close_matches(str(given)[:60], allowed, 1)
    return f"; did you mean {near[0]}?" if near else ""


def _surface_speed(
    given: object, path: list[Any], system: units.System, data: dict[str, Any]
) -> str:
    """Say of a surface speed that stands for a spindle speed which rpm it is on this tool, or
    nothing.
    """
    if not path or path[-1] != "spindle_speed" or not isinstance(given, str):
        return ""
    table, key, tool = (
        ("throat_mill", "diameter", "mill")
        if path[0] == "throat_mill"
        else ("cutter", "head_diameter", "head")
    )
    with suppress(UnitError):
        v = units.parse(given, "surface speed")
        problem = (
            f"is {_given(given)}, which is a surface speed, but a spindle speed is needed here"
        )
        with suppress(UnitError, AttributeError, ZeroDivisionError):
            D = units.parse(data.get(table, {}).get(key), "length")
            rpm = units.to_unit(2 * v / D, "rpm", "angular speed")
            if v > 0 and D > 0:
                size = units.show(D, "length", system)
                return f'{problem}: on this {tool} of {size} it is "{rpm:.0f} rpm"'
        return f"{problem}, in rpm: rpm = surface speed / (3.14 x diameter of the {tool})"
    return ""


def _given(value: object) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return "a list"
    return echo(value if isinstance(value, str) else repr(value))


def _missing(model: type[Thing], path: list[Any], system: units.System) -> str:
    field = None
    parent = _model_at(model, path[:-1])
    if parent is not None:
        field = parent.model_fields.get(str(path[-1]))
    if field is None or len(path) == 1:
        return "is missing; the job file needs this table"
    dimension = next((m.name for m in field.metadata if isinstance(m, UnitOf)), None)
    like = f', e.g. {path[-1]} = "{units.example(dimension, system)}"' if dimension else ""
    return f"is missing ({(field.description or '').rstrip('.')}){like}"


def constraints(
    model: type[Thing], path: list[Any]
) -> tuple[str | None, float | None, float | None]:
    """Return the dimension and the bounds of a field; nothing where there is none.

    Parameters
    ----------
    model : type
        The model of the whole.
    path : list
        Keys, and the places in lists.

    Returns
    -------
    dimension : str or None
    low, high : float or None
        In the internal unit.
    """
    parent = _model_at(model, [p for p in path if isinstance(p, str)][:-1])
    keys = [p for p in path if isinstance(p, str)]
    field = parent.model_fields.get(keys[-1]) if parent is not None else None
    marks: list[Any] = [] if field is None else [*field.metadata]
    if field is not None:
        for part in _parts(field.annotation):
            marks += list(getattr(part, "__metadata__", ()))
    spread = [x for m in marks for x in [m, *getattr(m, "metadata", [])]]
    dimension = next((m.name for m in spread if isinstance(m, UnitOf)), None)
    low = next((m.ge for m in spread if getattr(m, "ge", None) is not None), None)
    high = next((m.le for m in spread if getattr(m, "le", None) is not None), None)
    return dimension, low, high


def _plain(x: float) -> str:
    """Write six figures without an exponent, but for what is absurd."""
    text = f"{x:.6g}"
    return (
        f"{float(text):.12f}".rstrip("0").rstrip(".")
        if "e" in text and 1e-9 < math.fabs(x) < 1e12
        else text
    )


def _out_of_range(model: type[Thing], path: list[Any], given: object, system: units.System) -> str:
    dimension, low, high = constraints(model, path)
    if low is None or high is None:
        allowed = f"at least {low:g}" if low is not None else f"at most {high:g}"
        return f"is {_given(given)}; allowed is {allowed}"
    if dimension is None:
        return f"is {_given(given)}; allowed is {low:g} to {high:g}"
    unit = (
        LIMIT_UNIT_INCH.get(dimension, LIMIT_UNIT[dimension])
        if system == "inch"
        else LIMIT_UNIT[dimension]
    )
    lo, hi = (units.to_unit(float(x), unit, dimension) for x in (low, high))
    if isinstance(given, float):  # already converted: show it in the unit of the limits
        given = f"{_plain(units.to_unit(given, unit, dimension))} {unit}"
    return f"is {_given(given)}; allowed is {_plain(lo)} to {_plain(hi)} {unit}"

"""Every value of the job file: as it was given, as it was understood, and what it means."""

from __future__ import annotations

import math
import typing
from dataclasses import dataclass
from typing import Any

from loadsim.answers.results import Plan
from loadsim.base import units
from loadsim.job.fields import UnitOf
from loadsim.job.material_paths import first_name
from loadsim.job.tables import Job

#: Lengths under this are written finer. [mm]
FINE = 0.05

Place = tuple[str | int, ...]  #: a table of the job file: its name, and which of an array


@dataclass(frozen=True, slots=True, kw_only=True)
class InputRow:
    """One value of the job file, as given and as understood."""

    key: str
    given: str
    understood: str
    meaning: str


def input_rows(plan: Plan) -> tuple[InputRow, ...]:
    """List every key of the job: as given, as understood, and what it means.

    Parameters
    ----------
    plan : Plan
        The answer.

    Returns
    -------
    rows : tuple of InputRow
    """
    rows: list[InputRow] = []
    for name, field in type(plan.job).model_fields.items():
        for place, table in _tables(name, getattr(plan.job, name)):
            rows += _table_rows(plan, place, table, field.description or "")
    return tuple(rows)


def _tables(name: str, value: Any) -> list[tuple[Place, Any]]:
    """Give the tables under one name: none, one, or an array of them."""
    if value is None:
        return []
    if isinstance(value, list | tuple):
        return [((name, i), table) for i, table in enumerate(value)]
    return [((name,), value)]


def _table_rows(plan: Plan, place: Place, table: Any, purpose: str) -> list[InputRow]:
    """Row by row what a table says, and what was given though it came to nothing."""
    as_given = _as_given(plan.asked.given or {}, place)
    rows = []
    for key, info in type(table).model_fields.items():
        value = getattr(table, key)
        if value in (None, ()) and key not in as_given:
            continue
        rows.append(
            InputRow(
                key=f"{_heading(place)} {key}",
                given=_given_text(as_given, key, unwritten=plan.asked.given is None)
                + _from_shop(plan, place, key),
                understood=_understood(value, info, plan.job)
                if key != "surface_speed"
                else "read as spindle_speed",
                meaning=info.description or purpose,
            )
        )
    return rows


def _from_shop(plan: Plan, place: Place, key: str) -> str:
    shop = plan.asked.shop
    return ", from the shop file" if shop and f"{place[0]}.{key}" in shop.keys else ""


def _heading(place: Place) -> str:
    return f"[{place[0]}]" if len(place) == 1 else f"[[{place[0]}]] {int(place[1]) + 1}"


def _as_given(given: Any, place: Place) -> dict[str, Any]:
    """Return a table as it was written; empty where it was not."""
    for step in place:
        try:
            given = given[step]
        except (KeyError, IndexError, TypeError):
            return {}
    return given if isinstance(given, dict) else {}


def _given_text(table: dict[str, Any], key: str, unwritten: bool) -> str:
    if key == "spindle_speed" and "surface_speed" in table and key not in table:
        return "from surface_speed"
    if key not in table:
        return "made in Python" if unwritten else "not given; picked or default"
    value = table[key]
    if isinstance(value, list):
        return ", ".join(str(entry) for entry in value)
    return str(value).lower() if isinstance(value, bool) else str(value)


def _understood(value: Any, info: Any, job: Job) -> str:
    if value is None:
        return "left to the plan"
    if isinstance(value, bool):
        return "yes" if value else "no"
    dimension = next((mark.name for mark in info.metadata if isinstance(mark, UnitOf)), None)
    dimension = dimension or _dimension_inside(info.annotation)
    if isinstance(value, list | tuple):
        return ", ".join(_value_text(entry, dimension, job) for entry in value)
    return _value_text(value, dimension, job)


def _value_text(value: Any, dimension: str | None, job: Job) -> str:
    if dimension is not None and isinstance(value, float):
        # an edge radius or a runout, as given and not rounded away
        if dimension == "length" and 0 < math.fabs(value) < FINE:
            dimension = "chip thickness"
        return units.show(value, dimension, job.job.units, both=True)
    return f"{value:g}" if isinstance(value, float) else first_name(str(value))


def _dimension_inside(annotation: Any) -> str | None:
    """Find the dimension of an optional or listed quantity."""
    for part in typing.get_args(annotation):
        dimension = part.name if isinstance(part, UnitOf) else _dimension_inside(part)
        if dimension is not None:
            return dimension
    return None

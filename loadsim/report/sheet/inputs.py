"""Every value of the job file: as it was given, as it was understood, and what it means."""

from __future__ import annotations

import math
import typing
from dataclasses import dataclass
from typing import Any

from loadsim.answers.results import Plan
from loadsim.base import units
from loadsim.job.tables import Job, UnitOf
from loadsim.report.embed.materials import first_name

#: Lengths under this are written finer. [mm]
FINE = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class InputRow:
    """One value of the job file, as given and as understood."""

    key: str
    given: str
    understood: str
    meaning: str


def inputs(plan: Plan) -> tuple[InputRow, ...]:
    """List every key of the job: as given, as understood, and what it means.

    Parameters
    ----------
    plan : Plan
        The answer.

    Returns
    -------
    rows : tuple of InputRow
    """
    given = plan.asked.given or {}
    rows = []
    for table, model in type(plan.job).model_fields.items():
        value = getattr(plan.job, table)
        for place, things in _things(table, value):
            raw = _raw(given, place)
            for key, info in type(things).model_fields.items():
                if (inner := getattr(things, key)) not in (None, ()) or key in raw:
                    rows.append(
                        InputRow(
                            key=f"{_called(place)} {key}",
                            given=_given_text(raw, key, plan.asked.given is None),
                            understood=_understood(inner, info, plan.job),
                            meaning=info.description or model.description or "",
                        )
                    )
    return tuple(rows)


def _things(table: str, value: Any) -> list[tuple[tuple[str | int, ...], Any]]:
    """Give the tables under one name: none, one, or an array of them."""
    if value is None:
        return []
    if isinstance(value, list | tuple):
        return [((table, i), x) for i, x in enumerate(value)]
    return [((table,), value)]


def _called(place: tuple[str | int, ...]) -> str:
    return f"[{place[0]}]" if len(place) == 1 else f"[[{place[0]}]] {int(place[1]) + 1}"


def _raw(given: Any, place: tuple[str | int, ...]) -> dict[str, Any]:
    for step in place:
        try:
            given = given[step]
        except (KeyError, IndexError, TypeError):
            return {}
    return given if isinstance(given, dict) else {}


def _given_text(raw: dict[str, Any], key: str, unwritten: bool) -> str:
    if key not in raw:
        return "made in Python" if unwritten else "not given; picked or default"
    value = raw[key]
    return (
        ", ".join(str(x) for x in value)
        if isinstance(value, list)
        else str(value).lower()
        if isinstance(value, bool)
        else str(value)
    )


def _understood(value: Any, info: Any, job: Job) -> str:
    dimension = next(
        (m.name for m in info.metadata if isinstance(m, UnitOf)), None
    ) or _dimension_inside(info.annotation)
    if value is None:
        return "left to the plan"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return ", ".join(_one(x, dimension, job) for x in value)
    return _one(value, dimension, job)


def _one(value: Any, dimension: str | None, job: Job) -> str:
    if dimension is not None and isinstance(value, float):
        # an edge radius or a runout, as given and not rounded away
        if dimension == "length" and 0 < math.fabs(value) < FINE:
            dimension = "chip thickness"
        return units.show(value, dimension, job.job.units, both=True)
    return f"{value:g}" if isinstance(value, float) else first_name(str(value))


def _dimension_inside(annotation: Any) -> str | None:
    """Find the dimension of an optional or listed quantity."""
    for part in typing.get_args(annotation):
        if isinstance(part, UnitOf):
            return part.name
        found = _dimension_inside(part)
        if found is not None:
            return found
    return None

"""The quantities of a job file that have a unit, by table.key, and their names as columns."""

from __future__ import annotations

import functools
import math
import typing

from loadsim.base import units
from loadsim.job.fields import UnitOf
from loadsim.job.tables import Cut, Cutter, Grind, Machine, Slot, Thing, Work

TABLES: dict[str, type[Thing]] = {
    "slot": Slot,
    "cutter": Cutter,
    "cut": Cut,
    "machine": Machine,
    "work": Work,
    "grind": Grind,
}

#: What a quantity is written in, by dimension: the units of the JSON answer.
COLUMN_UNIT = {
    "length": "mm",
    "angle": "deg",
    "angular speed": "rpm",
    "feed speed": "mm/min",
    "feed per tooth": "mm",
    "stress": "MPa",
    "power": "W",
    "stiffness": "N/mm",
    "force": "N",
}


@functools.cache
def quantities() -> dict[str, str]:
    """Return every quantity of a job file that a map can run over, with its dimension.

    Returns
    -------
    quantities : dict
        "table.key" to a key of `loadsim.base.units.UNITS`.
    """
    kinds = {}
    for table, model in TABLES.items():
        for key, entry in model.model_fields.items():
            inside = [
                m
                for part in typing.get_args(entry.annotation)
                for m in getattr(part, "__metadata__", ())
            ]
            dimension = next(
                (m.name for m in (*entry.metadata, *inside) if isinstance(m, UnitOf)), None
            )
            # a surface speed is read as the spindle speed that makes it
            if dimension is not None and key != "surface_speed":
                kinds[f"{table}.{key}"] = dimension
    return kinds


def column(key: str) -> str:
    """Return the name of a quantity's column.

    Parameters
    ----------
    key : str
        One of `quantities`.

    Returns
    -------
    name : str

    Examples
    --------
    >>> column("cut.spindle_speed")
    'cut.spindle_speed [rpm]'
    """
    return f"{key} [{COLUMN_UNIT[quantities()[key]]}]"


def outside(key: str, value: float) -> float:
    """Return a value in the unit of its column.

    Parameters
    ----------
    key : str
        One of `quantities`.
    value : float
        In the internal unit.

    Returns
    -------
    value : float

    Examples
    --------
    >>> outside("work.kc11", 800.0), outside("machine.spindle_power", 1.1e6)
    (800.0, 1100.0)
    """
    dimension = quantities()[key]
    size = units.factor(COLUMN_UNIT[dimension], dimension)
    # without the noise of conversion
    return float(f"{value / size:.9g}") if math.isfinite(value) else value

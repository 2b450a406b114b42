"""What a map runs over, and how it is written: quantities of a job file, their values, comma-separated text."""

from __future__ import annotations

import difflib
import functools
import math
import numbers
import typing
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from loadsim import units
from loadsim.domain import Cut, Cutter, Dimension, Grind, Machine, Slot, Thing, Work
from loadsim.errors import InputError, Problem, UnitError
from loadsim.explain import echo
from loadsim.files import write_whole

if TYPE_CHECKING:
    import pandas as pd

TABLES: dict[str, type[Thing]] = {"slot": Slot, "cutter": Cutter, "cut": Cut, "machine": Machine, "work": Work, "grind": Grind}
#: What a quantity is written in, by dimension: the units of the JSON answer.
COLUMN_UNIT = {"length": "mm", "angle": "deg", "angular speed": "rpm", "feed speed": "mm/min", "feed per tooth": "mm",
               "stress": "MPa", "power": "W", "stiffness": "N/mm"}  # fmt: skip
#: Most points of a map; more is a slip in a count. [1]
MOST_POINTS = 1_000_000


@functools.cache
def quantities() -> dict[str, str]:
    """Return every quantity of a job file that a map can run over, with its dimension.

    Returns
    -------
    quantities : dict
        "table.key" to a key of `loadsim.units.UNITS`.
    """
    found = {}
    for table, model in TABLES.items():
        for key, entry in model.model_fields.items():
            inside = [m for part in typing.get_args(entry.annotation) for m in getattr(part, "__metadata__", ())]
            dimension = next((m.name for m in (*entry.metadata, *inside) if isinstance(m, Dimension)), None)
            if dimension is not None:
                found[f"{table}.{key}"] = dimension
    return found


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


def parse_over(text: str) -> tuple[str, tuple[float, ...]]:
    """Read what a map runs over: "table.key=low:high:count", or "table.key=value, value, ...".

    Parameters
    ----------
    text : str
        Every value with its unit.

    Returns
    -------
    key : str
        "table.key".
    values : tuple of float
        In internal units; evenly spaced, both ends included.

    Raises
    ------
    InputError
        If the key or a value cannot be used.

    Examples
    --------
    >>> parse_over("cutter.neck_diameter=2 mm:3 mm:3")
    ('cutter.neck_diameter', (2.0, 2.5, 3.0))
    """
    key, _, written = (x.strip() for x in text.partition("="))
    dimension = _dimension(key, "--over")
    like = units.example(dimension)
    try:
        if ":" in written:
            return key, _spaced(key, written.split(":"), dimension)
        return key, tuple(units.parse(x.strip(), dimension) for x in written.split(","))
    except UnitError as error:
        raise _wrong("--over", key, f'{error}; write {key}=LOW:HIGH:COUNT or {key}=VALUE,VALUE,... with units, e.g. "{like}"') from None


def _spaced(key: str, parts: list[str], dimension: str) -> tuple[float, ...]:
    if len(parts) != 3:
        raise _wrong("--over", key, f"has {len(parts)} parts between colons; write LOW:HIGH:COUNT")
    low, high = (units.parse(x.strip(), dimension) for x in parts[:2])
    count = parts[2].strip()
    if not (count.isascii() and count.isdigit() and len(count) < 8 and 2 <= int(count) <= MOST_POINTS):
        raise _wrong("--over", key, f"has the count {echo(count)!r}; write a whole number, 2 to {MOST_POINTS:,}")
    if not low < high:
        raise _wrong("--over", key, "starts at or over its end; write the lower value first")
    return tuple(np.linspace(low, high, int(count)).tolist())


def _wrong(file: str, where: str, message: str) -> InputError:
    return InputError(file, [Problem(where=echo(where), message=message)])


def _dimension(key: str, file: str) -> str:
    known = quantities()
    if key in known:
        return known[key]
    table, _, name = key.partition(".")
    if table in TABLES and name in TABLES[table].model_fields:
        raise _wrong(file, key, "has no unit; a map runs over quantities with one, like cutter.neck_diameter")
    near = difflib.get_close_matches(key[:100], known, 1) or [k for k in known if k.endswith(f".{key}")][:1]
    hint = f"did you mean {near[0]}?" if near else "write table.key as in the job file, like cut.feed_per_tooth"
    raise _wrong(file, key or "(empty)", f"is not a known quantity; {hint}")


def axes_of(over: Mapping[str, Sequence[float]]) -> dict[str, list[float]]:
    """Return the values of each key as floats.

    Parameters
    ----------
    over : dict
        One to three keys of `quantities`, each with its values in internal units.

    Returns
    -------
    axes : dict

    Raises
    ------
    InputError
        If a key is not known or the values cannot be used.
    """
    if not 1 <= len(over) <= 3:
        raise _wrong("over", "", f"names {len(over)} quantities; a map runs over 1 to 3")
    axes = {}
    for key, values in over.items():
        _dimension(key, "over")
        listed = [] if isinstance(values, str | bytes) else list(values)
        if not listed or not all(isinstance(x, numbers.Real) and not isinstance(x, bool) for x in listed):
            raise _wrong("over", key, "needs at least one value, each a number in internal units (mm, rad/s, MPa, ...)")
        axes[key] = [float(x) for x in listed]
    n = math.prod(len(v) for v in axes.values())
    if n > MOST_POINTS:
        raise _wrong("over", "", f"makes {n:,} points; allowed are {MOST_POINTS:,}")
    return axes


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
    return float(f"{value / size:.9g}") if math.isfinite(value) else value  # without the noise of conversion


def write_csv(frame: pd.DataFrame, path: str | Path, *, new: bool = False) -> None:
    """Write a table as comma-separated values, whole or not at all.

    Parameters
    ----------
    frame : DataFrame
        From `table`.
    path : str or Path
        Where to.
    new : bool
        Whether there must be nothing yet.

    Raises
    ------
    InputError
        If it cannot be written; nothing is left behind.
    """
    write_whole(Path(path), csv_text(frame), new=new)


def csv_text(frame: pd.DataFrame) -> str:
    """Return a table as comma-separated values; what has no number is left empty.

    Parameters
    ----------
    frame : DataFrame
        From `table`.

    Returns
    -------
    text : str
    """
    return str(frame.to_csv(index=False, lineterminator="\n"))

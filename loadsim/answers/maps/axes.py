"""What a map runs over, and how it is written: quantities of a job file, their values,
comma-separated text.
"""

from __future__ import annotations

import difflib
import math
import numbers
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from loadsim.base import units
from loadsim.base.errors import InputError, Problem, UnitError, echo
from loadsim.job.quantities import TABLES, quantities

if TYPE_CHECKING:
    import pandas as pd

#: Most points of a map; more is a slip in a count. [1]
MOST_POINTS = 1_000_000


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
    key, _, written = (part.strip() for part in text.partition("="))
    dimension = _dimension(key, "--over")
    like = units.example(dimension)
    try:
        if ":" in written:
            return key, _spaced(key, written.split(":"), dimension)
        return key, tuple(units.parse(value.strip(), dimension) for value in written.split(","))
    except UnitError as error:
        raise _wrong(
            "--over",
            key,
            f"{error}; write {key}=LOW:HIGH:COUNT or {key}=VALUE,VALUE,... with units, e.g."
            f' "{like}"',
        ) from None


def _spaced(key: str, parts: list[str], dimension: str) -> tuple[float, ...]:
    if len(parts) != 3:
        raise _wrong("--over", key, f"has {len(parts)} parts between colons; write LOW:HIGH:COUNT")
    low, high = (units.parse(part.strip(), dimension) for part in parts[:2])
    count = parts[2].strip()
    if not (
        count.isascii() and count.isdigit() and len(count) < 8 and 2 <= int(count) <= MOST_POINTS
    ):
        raise _wrong(
            "--over",
            key,
            f"has the count {echo(count)!r}; write a whole number, 2 to {MOST_POINTS:,}",
        )
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
        raise _wrong(
            file, key, "has no unit; a map runs over quantities with one, like cutter.neck_diameter"
        )
    near = (
        difflib.get_close_matches(key[:100], known, 1)
        or [name for name in known if name.endswith(f".{key}")][:1]
    )
    hint = (
        f"did you mean {near[0]}?"
        if near
        else "write table.key as in the job file, like cut.feed_per_tooth"
    )
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
        if not listed or not all(
            isinstance(value, numbers.Real) and not isinstance(value, bool) for value in listed
        ):
            raise _wrong(
                "over",
                key,
                "needs at least one value, each a number in internal units (mm, rad/s, MPa, ...)",
            )
        axes[key] = [float(value) for value in listed]
    points = math.prod(len(values) for values in axes.values())
    if points > MOST_POINTS:
        raise _wrong("over", "", f"makes {points:,} points; allowed are {MOST_POINTS:,}")
    return axes


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

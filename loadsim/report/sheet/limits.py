"""Limits as the page shows them: in the reader's units, with how far each is used."""

from __future__ import annotations

from dataclasses import dataclass

from loadsim.base import units
from loadsim.loads.limits.utilization import Limit, LimitCode
from loadsim.report.rows.numbers import DIMENSIONS, Show
from loadsim.report.sheet.wording import LIMIT_NOTE


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow:
    """One limit as shown."""

    name: str
    demand: str
    capacity: str
    used: float  #: share of capacity [1]
    percent: str
    mark: str  #: H or S
    over: bool
    fit: bool  #: a clearance
    note: str


def limit_row(limit: Limit, show: Show) -> LimitRow:
    """Put one limit into the reader's units.

    Parameters
    ----------
    limit : Limit
        From a result.
    show : Show
        Writes a number in the reader's units.

    Returns
    -------
    row : LimitRow
    """
    return LimitRow(
        name=limit.name,
        demand=_number(limit, limit.demand, show),
        capacity=_number(limit, limit.capacity, show),
        used=limit.utilization,
        percent=units.percent(limit.utilization),
        mark="H" if limit.hard else "S",
        over=limit.over,
        fit=limit.fit,
        note=limit.note,
    )


def _number(limit: Limit, value: float, show: Show) -> str:
    """Write a demand or a capacity; one that is not there, as of a table not dragged, is none."""
    if value == 0:
        return "none"
    dimension = DIMENSIONS.get(limit.unit)
    if limit.name == LimitCode.RUBBING:
        dimension = "chip thickness"
    if dimension is not None:
        return show(value, limit.unit, dimension, both=False)
    unit = "" if limit.unit == "1" else limit.unit
    return f"{_three_figures(value)} {unit}".rstrip()


def _three_figures(value: float) -> str:
    """Three figures, never with an exponent."""
    return f"{float(f'{value:.3g}'):,.12g}"


def limit_cells(limit: Limit, show: Show) -> tuple[str, ...]:
    """Return the cells of a limit in a table of its own: name, demand, capacity, used, sentence."""
    row = limit_row(limit, show)
    used = f"OVER {row.percent}" if row.over else row.percent
    return f"{row.name} {row.mark}", row.demand, row.capacity, used, row.note


def limits_text(limits: tuple[LimitRow, ...]) -> str:
    """List how far each limit is used, what does not fit, and what fits.

    Parameters
    ----------
    limits : tuple of LimitRow
        All of them.

    Returns
    -------
    text : str
    """
    used = (
        f"{row.name} {row.mark} {'OVER ' if row.over else ''}{row.percent}"
        for row in limits
        if not row.fit
    )
    fouls = [row.note for row in limits if row.fit and row.over]
    fits = [row.name for row in limits if row.fit and not row.over]
    return " ".join(
        [
            f"Limits, used: {', '.join(used)}.",
            *([f"Does not fit: {' '.join(fouls)}"] if fouls else []),
            *([f"Fits: {', '.join(fits)}."] if fits else []),
            LIMIT_NOTE,
        ]
    )

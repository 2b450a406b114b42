"""How the charts look: black on white, told apart by dash, width and words, readable when printed
in greys.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from loadsim.answers.results import Plan, Verdict
from loadsim.base import units

#: Height of a chart in pixels, so that three go on a printed page.
HEIGHT = 285

MARGIN = {"l": 62, "r": 16, "t": 24, "b": 42, "pad": 0}

#: Height of the plot itself, between the usual margins.
PLOT = HEIGHT - MARGIN["t"] - MARGIN["b"]

FONT = "Helvetica, Arial, sans-serif"

INK = "#111111"
PALE = "#777777"
GRID = "#dddddd"

DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")

#: Space one label needs down the page, in pixels.
LABEL = 14

#: Most rows of the table behind a chart. [1]
ROWS = 25


def figure(
    data: list[dict[str, Any]], layout: dict[str, Any], margin: dict[str, int] | None = None
) -> Any:
    """Make the plotly figure.

    Parameters
    ----------
    data : list of dict
        Traces.
    layout : dict
        Axes, shapes and annotations.
    margin : dict, optional
        Where it differs from the usual one, in pixels.

    Returns
    -------
    figure : plotly.graph_objects.Figure
    """
    import plotly.graph_objects as go

    base = {
        "template": "none",
        "colorway": [INK],
        "autosize": True,
        "height": HEIGHT,
        "paper_bgcolor": "white",
        "plot_bgcolor": "white",
        "font": {"family": FONT, "size": 12, "color": INK},
        "margin": {**MARGIN, **(margin or {})},
        "showlegend": False,
        "hovermode": "closest",
        "hoverlabel": {"bgcolor": "white", "bordercolor": INK, "font": {"color": INK}},
    }
    return go.Figure({"data": data, "layout": {**base, **layout}})


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """One chart with the words and the numbers that stand in for it."""

    id: str
    title: str
    use: str  #: one sentence: what to do with it
    caption: str
    alt: str  #: the point of the chart in words, with its main numbers
    columns: tuple[str, ...]
    rows: tuple[tuple[float | str, ...], ...]  #: the table behind the chart
    figure: Any  #: a plotly Figure
    slider: dict[str, Any] | None = None  #: numbers for other settings of one quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """A dimension as the job's unit system shows it."""

    unit: str  #: as it is read
    size: float  #: of the unit, in the internal one

    def of(self, values: Any, figures: int = 5) -> Any:
        """Return numbers in this unit, as many figures as can be seen."""
        return sig(np.asarray(values, float) / self.size, figures)


def scale(dimension: str, system: units.System) -> Scale:
    """Return the unit in which the job's system shows a dimension.

    Parameters
    ----------
    dimension : str
        A key of `loadsim.base.units.UNITS`.
    system : str
        "metric" or "inch".

    Returns
    -------
    scale : Scale
    """
    unit = units.show(1.0, dimension, system).split(" ", 1)[1]
    return Scale(unit=unit.replace("*", "·"), size=units.factor(unit, dimension))


def sig(values: Any, figures: int = 5) -> Any:
    """Round to significant figures, keep the nesting; what is no number becomes None.

    Examples
    --------
    >>> sig([1.234567, float("nan")], 3)
    [1.23, None]
    """
    if isinstance(values, np.ndarray):
        values = values.tolist()
    if isinstance(values, list | tuple):
        return [sig(v, figures) for v in values]
    return float(f"{values:.{figures}g}") if math.isfinite(values) else None


def thinned(count: int, keep: Iterable[int] = (), rows: int = ROWS) -> list[int]:
    """Return which rows of a long series go into its table: evenly spaced, the ones that matter
    always.

    Examples
    --------
    >>> thinned(100, [33], 5)
    [0, 33, 66, 99]
    """
    kept = set(keep)
    even = np.linspace(0, count - 1, min(count, rows - len(kept))).round().astype(int).tolist()
    near = 0.3 * count / rows
    apart = {i for i in even if all(math.fabs(i - k) > near for k in kept)}
    return sorted(apart | kept)


def rows_of(which: list[int], *columns: list[Any]) -> tuple[tuple[float | str, ...], ...]:
    """Return the rows of a table; what has no number is left empty."""
    return tuple(tuple("" if c[i] is None else c[i] for c in columns) for i in which)


def shower(plan: Plan) -> Callable[[float, str], str]:
    """Return how this plan writes a number of a dimension to read."""
    system = plan.job.job.units
    return lambda value, dimension: units.show(value, dimension, system).replace("*", "·")


def spread(at: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Move labels apart along a line so that none covers another and none leaves it, order kept.

    Parameters
    ----------
    at : sequence of float
        Where they would stand best.
    gap : float
        Least distance of two.
    low, high : float
        Ends of the line.

    Returns
    -------
    places : list of float

    Examples
    --------
    >>> spread([1.0, 1.0, 50.0], 10.0, 0.0, 100.0)
    [1.0, 11.0, 50.0]
    """
    order = sorted(range(len(at)), key=lambda i: at[i])
    places = [min(max(at[i], low), high) for i in order]
    for k in range(1, len(places)):
        places[k] = max(places[k], places[k - 1] + gap)
    if places and places[-1] > high:
        places[-1] = high
        for k in range(len(places) - 2, -1, -1):
            places[k] = min(places[k], places[k + 1] - gap)
    place_of = dict(zip(order, places, strict=True))
    return [place_of[i] for i in range(len(at))]


def decades(low: float, high: float, most: int = 8) -> list[float]:
    """Return round numbers between two ends, for a logarithmic axis.

    Examples
    --------
    >>> decades(0.3, 12)
    [0.5, 1.0, 2.0, 5.0, 10.0]
    """
    exponents = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    numbers: list[float] = []
    for steps in ((1, 2, 5), (1, 3), (1,)):  # no more than can be read side by side
        round_numbers = (float(f"{k}e{exponent}") for exponent in exponents for k in steps)
        numbers = [number for number in round_numbers if low <= number <= high]
        if len(numbers) <= most:
            break
    return numbers


def axis(title: str, **more: Any) -> dict[str, Any]:
    """Return one axis: thin grey grid, black line, ticks outside."""
    return {
        "title": {"text": title, "standoff": 6, "font": {"size": 12}},
        "showgrid": True,
        "gridcolor": GRID,
        "gridwidth": 1,
        "zeroline": False,
        "showline": True,
        "linecolor": INK,
        "ticks": "outside",
        "ticklen": 4,
        "tickfont": {"size": 11},
        "fixedrange": True,
        "exponentformat": "none",
        "tickangle": 0,
        **more,
    }


def line(
    x: Any, y: Any, dash: str = "solid", width: float = 1.6, color: str = INK, **more: Any
) -> dict[str, Any]:
    """Return one line."""
    return {
        "type": "scatter",
        "mode": "lines",
        "x": x,
        "y": y,
        "line": {"dash": dash, "width": width, "color": color, "simplify": False},
        "showlegend": False,
        **more,
    }


def note(text: str, x: Any, y: Any, **more: Any) -> dict[str, Any]:
    """Return words at a place of the chart, without an arrow."""
    return {
        "text": text,
        "x": x,
        "y": y,
        "showarrow": False,
        "font": {"size": 11, "color": INK},
        **more,
    }


def pointed(text: str, x: Any, y: Any, ax: float, ay: float, **more: Any) -> dict[str, Any]:
    """Return words beside a point, with a thin line to it; ax and ay in pixels from the point."""
    return {
        "text": text,
        "x": x,
        "y": y,
        "ax": ax,
        "ay": ay,
        "showarrow": True,
        "arrowhead": 0,
        "arrowwidth": 0.7,
        "arrowcolor": PALE,
        "font": {"size": 11, "color": INK},
        "align": "left",
        **more,
    }


def end_labels(
    texts: Sequence[str],
    x: float,
    y: Sequence[float],
    span: tuple[float, float],
    gap: float = LABEL,
) -> list[dict[str, Any]]:
    """Label lines at their right ends, moved apart.

    Parameters
    ----------
    texts : sequence of str
        One for each line.
    x : float
        Where the lines end, as the axis counts (a logarithm on a logarithmic axis).
    y : sequence of float
        Where each ends, likewise.
    span : tuple of float
        Range of the axis, low and high.
    gap : float
        Least distance of two labels, in pixels.

    Returns
    -------
    annotations : list of dict
    """
    low, high = span
    down = [PLOT * (high - end) / (high - low) for end in y]
    places = spread(down, gap, gap / 2, PLOT - gap / 2)
    return [
        pointed(text, x, sig(end), 14, sig(place - wanted), xanchor="left")
        for text, end, place, wanted in zip(texts, y, places, down, strict=True)
    ]


#: How the point chosen is marked and called, by verdict: told apart without colour.
CHOSEN = {
    Verdict.GO: ("circle", INK, 2.0, "chosen: GO"),
    Verdict.MARGINAL: ("diamond", "white", 2.0, "chosen: PROVE IT FIRST"),
    Verdict.NO_GO: ("x-thin", INK, 3.5, "chosen: NO-GO"),
}


def chosen_marker(verdict: Verdict) -> dict[str, Any]:
    """Return the marker of the point chosen: a dot for a go, a diamond for one to be proved, a
    cross for a no-go.
    """
    symbol, color, width, _ = CHOSEN[verdict]
    edge = "white" if verdict is Verdict.GO else INK
    line = {"color": edge, "width": width}
    return {"symbol": symbol, "size": 11, "color": color, "line": line}


def chosen_words(verdict: Verdict) -> str:
    """Return what the point chosen is called."""
    return CHOSEN[verdict][3]


def upright(x: float, text: str, **more: Any) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return a vertical line through the whole plot and the words above it."""
    mark = {
        "type": "line",
        "x0": x,
        "x1": x,
        "y0": 0,
        "y1": 1,
        "yref": "paper",
        "line": {"color": INK, "width": 1.2, "dash": "dash"},
    }
    return mark, note(text, x, 1.0, yref="paper", yanchor="bottom", yshift=2, **more)

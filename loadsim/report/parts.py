"""What every page of ours is put together from: assets, charts as data, and the charts' program."""

from __future__ import annotations

import re
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from loadsim.report.embed.payload import escaped
from loadsim.report.figures.picture import picture

if TYPE_CHECKING:
    from collections.abc import Sequence

    from loadsim.report.figures.style import Chart


#: Letters of the longest word that a cell of a table shows unbroken. [1]
LONGEST = 22


def asset(name: str) -> str:
    """Read a file that travels with the report.

    Parameters
    ----------
    name : str
        Its name in this folder.

    Returns
    -------
    text : str
    """
    return files("loadsim.report").joinpath(name).read_text(encoding="utf-8")


def environment() -> Environment:
    """Make the templates' reader: it escapes every text, and a name that is missing is an error.

    Returns
    -------
    environment : jinja2.Environment
    """
    environment = Environment(
        loader=FunctionLoader(asset), autoescape=True, undefined=StrictUndefined
    )
    environment.tests["long"] = _is_long
    return environment


def _is_long(text: str) -> bool:
    """Whether a text has a word that no column can be as wide as."""
    return any(len(word) > LONGEST for word in str(text).split())


def bundle() -> str:
    """Read the charts' program; control characters in its texts, which HTML forbids, are written as
    escapes of the same meaning.

    Returns
    -------
    program : str
    """
    return re.sub(
        "[\x00-\x08\x0b\x0e-\x1f\x7f]",
        lambda match: f"\\x{ord(match.group()):02x}",
        asset("plotly-cartesian.min.js"),
    )


def page_parts(charts: Sequence[Chart]) -> dict[str, Any]:
    """Gather what a template needs to show charts: style, tables, data and programs.

    Parameters
    ----------
    charts : sequence of Chart
        In the order of the page.

    Returns
    -------
    parts : dict
        By the name that the templates have for each.
    """
    return {
        "style": Markup(asset("style.css")),
        "charts": [_table(chart) for chart in charts],
        "chart_data": Markup(escaped({chart.id: _figure(chart) for chart in charts})),
        "plotly": Markup(bundle()),
        "script": Markup(asset("script.js")),
    }


def _table(chart: Chart) -> dict[str, Any]:
    """The chart in words and numbers, for who cannot see it."""
    rows = [
        [cell if isinstance(cell, str) else f"{cell:.6g}" for cell in row] for row in chart.rows
    ]
    return {
        "id": chart.id,
        "title": chart.title,
        "use": chart.use,
        "caption": chart.caption,
        "picture": Markup(picture(chart)),
        "alt": chart.alt,
        "columns": chart.columns,
        "rows": rows,
    }


def _figure(chart: Chart) -> dict[str, Any]:
    figure = chart.figure
    if hasattr(figure, "to_plotly_json"):
        figure = figure.to_plotly_json()
    return {"data": figure["data"], "layout": figure["layout"]}

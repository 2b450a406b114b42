"""A chart as a picture that stands still: for paper, and where no script runs.

Drawn from the very figure that the charts' program draws, so that both show the same numbers: its
traces, axes, shapes and words, as far as our own charts use them. All in pixels, y down.
"""

from __future__ import annotations

import html
from collections.abc import Iterator
from typing import Any

from loadsim.report.drawings.svg import num, text_width
from loadsim.report.figures.still import SMALL, Axis, Point, path, plain, words
from loadsim.report.figures.still_axes import Frame, axes_of, axis_marks, frame_of
from loadsim.report.figures.still_marks import trace_marks
from loadsim.report.figures.style import INK, Chart

#: Width of a picture: half a printed page, and what a phone shows. [px]
WIDTH = 360


def picture(chart: Chart) -> str:
    """Draw a chart that stands still.

    Parameters
    ----------
    chart : Chart
        Any of ours.

    Returns
    -------
    svg : str
        One element; its lettering is text.
    """
    figure = chart.figure
    if hasattr(figure, "to_plotly_json"):
        figure = figure.to_plotly_json()
    data, layout = figure["data"], figure["layout"]
    frame = frame_of(layout, data, WIDTH)
    axes = axes_of(layout, data, frame)
    parts = [
        *_shapes(layout, axes, frame, below=True),
        *_all_axes(layout, axes, frame),
        *_all_traces(data, axes),
        *_shapes(layout, axes, frame, below=False),
        *(_legend(data, frame) if layout.get("showlegend") else ()),
        *_all_words(layout, axes, frame),
    ]
    size = f'width="{WIDTH}" height="{num(frame.height)}"'
    return (
        f'<svg class="still" role="img" aria-label="{html.escape(chart.alt)}"'
        f' viewBox="0 0 {WIDTH} {num(frame.height)}" {size}'
        f' font-family="Helvetica, Arial, sans-serif" font-size="{num(SMALL)}" fill="none">'
        f"<title>{html.escape(chart.title)}</title><desc>{html.escape(chart.alt)}</desc>"
        f'<rect {size} fill="#fff"/>' + "".join(parts) + "</svg>"
    )


def _all_axes(layout: dict[str, Any], axes: dict[str, Axis], frame: Frame) -> Iterator[str]:
    for key, asked in layout.items():
        if key.startswith(("xaxis", "yaxis")):
            yield from axis_marks(key, asked, axes[key.replace("axis", "")], frame)


def _all_traces(data: list[dict[str, Any]], axes: dict[str, Axis]) -> Iterator[str]:
    for trace in data:
        yield from trace_marks(trace, axes[trace.get("xaxis", "x")], axes[trace.get("yaxis", "y")])


def _shapes(
    layout: dict[str, Any], axes: dict[str, Axis], frame: Frame, *, below: bool
) -> Iterator[str]:
    """Lines and grey areas that belong to no trace."""
    for shape in layout.get("shapes", ()):
        if (shape.get("layer") == "below") is not below:
            continue
        a, b = (
            (
                _place(shape, "x", shape[f"x{k}"], axes, frame),
                _place(shape, "y", shape[f"y{k}"], axes, frame),
            )
            for k in (0, 1)
        )
        if shape["type"] == "rect":
            yield (
                f'<rect x="{num(a[0])}" y="{num(min(a[1], b[1]))}" width="{num(b[0] - a[0])}"'
                f' height="{num(abs(b[1] - a[1]))}" fill="{shape["fillcolor"]}"/>'
            )
        else:
            pen = shape["line"]
            yield path([a, b], pen["width"], pen["color"], pen.get("dash", "solid"))


def _place(
    asked: dict[str, Any], letter: str, value: Any, axes: dict[str, Axis], frame: Frame
) -> float:
    """Return where something of the layout stands: a share of the plot, or a number of an axis."""
    if asked.get(f"{letter}ref") == "paper":
        return frame.across(value) if letter == "x" else frame.up(value)
    return axes[letter].at(value)


def _all_words(layout: dict[str, Any], axes: dict[str, Axis], frame: Frame) -> Iterator[str]:
    """Words in the plot, and beside it with a thin line to what they name."""
    for note in layout.get("annotations", ()):
        at = _word_place(note, axes, frame)
        x = at[0] + note.get("ax", 0) + note.get("xshift", 0)
        y = at[1] + note.get("ay", 0) - note.get("yshift", 0)
        if note["showarrow"]:
            yield path([at, (x, y)], note["arrowwidth"], note["arrowcolor"])
        yield words(
            note["text"],
            (x, y),
            anchor=note.get("xanchor", "center"),
            rise=note.get("yanchor", "middle"),
            paper="bgcolor" in note,
        )


def _word_place(note: dict[str, Any], axes: dict[str, Axis], frame: Frame) -> Point:
    """Return what words stand at; on a logarithmic axis they count in logarithms."""
    places = []
    for letter, share in (("x", frame.across), ("y", frame.up)):
        paper = note.get(f"{letter}ref") == "paper"
        axis = axes[letter]
        value = note[letter]
        places.append(
            share(value) if paper else axis.at(value) if axis.names else axis.along(value)
        )
    return places[0], places[1]


def _legend(data: list[dict[str, Any]], frame: Frame) -> Iterator[str]:
    """Names of the lines above the plot, each beside a piece of its line."""
    x = 4.0
    y = frame.top - 12
    for trace in data:
        if trace.get("showlegend"):
            pen = trace["line"]
            yield path([(x, y), (x + 22, y)], pen["width"], INK, pen["dash"])
            yield words(plain(trace["name"]), (x + 26, y), anchor="left")
            x += 40 + text_width(trace["name"], SMALL)

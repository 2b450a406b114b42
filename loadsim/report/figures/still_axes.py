"""Axes of a picture of a chart: where numbers lie, and the ticks that say so."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from loadsim.report.drawings.svg import num, text_width
from loadsim.report.figures.still import SMALL, Axis, Point, path, words
from loadsim.report.figures.style import GRID, INK, MARGIN, PALE

#: Size of the lettering of an axis' title. [px]
TITLE = 12.0

#: Length of a tick. [px]
TICK = 4.0

#: Part of an automatic range that is added at each end. [1]
ROOM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The part of a picture that is plotted on. [px]"""

    left: float
    right: float
    top: float
    bottom: float
    height: float  #: of the whole picture

    def across(self, share: float) -> float:
        """Return the place of a share of the width. [px]"""
        return self.left + (self.right - self.left) * share

    def up(self, share: float) -> float:
        """Return the place of a share of the height. [px]"""
        return self.bottom - (self.bottom - self.top) * share


def frame_of(layout: dict[str, Any], data: list[dict[str, Any]], width: float) -> Frame:
    """Lay a picture out: the chart's own margins, and room for names at the left.

    Parameters
    ----------
    layout : dict
        Of the figure.
    data : list of dict
        Its traces.
    width : float
        Of the picture. [px]

    Returns
    -------
    frame : Frame
    """
    margin = {**MARGIN, **layout["margin"]}
    named = [name for trace in data if trace["type"] == "bar" for name in trace["y"]]
    beside = max((text_width(name, SMALL) + 10 for name in named), default=0.0)
    return Frame(
        left=max(float(margin["l"]), beside),
        right=width - margin["r"],
        top=float(margin["t"]),
        bottom=layout["height"] - float(margin["b"]),
        height=layout["height"],
    )


def axes_of(layout: dict[str, Any], data: list[dict[str, Any]], frame: Frame) -> dict[str, Axis]:
    """Return every axis of a figure by its name in traces: x, x2, y, ...

    Parameters
    ----------
    layout : dict
        Of the figure.
    data : list of dict
        Its traces.
    frame : Frame
        Where they are drawn.

    Returns
    -------
    axes : dict of Axis
    """
    return {
        key.replace("axis", ""): _axis(key, asked, data, frame)
        for key, asked in layout.items()
        if key.startswith(("xaxis", "yaxis"))
    }


def _axis(key: str, asked: dict[str, Any], data: list[dict[str, Any]], frame: Frame) -> Axis:
    letter = key[0]
    place = frame.across if letter == "x" else frame.up
    start, end = (place(share) for share in asked.get("domain", (0, 1)))
    mine = [
        trace
        for trace in data
        if trace.get(key.replace("axis", "")[:1] + "axis", letter) == key.replace("axis", "")
    ]
    names = tuple(name for trace in mine if trace["type"] == "bar" for name in trace["y"])
    if names and letter == "y":
        if asked.get("autorange") == "reversed":
            start, end = end, start
        return Axis(start=start, end=end, low=-0.5, high=len(names) - 0.5, names=names)
    low, high = asked.get("range") or _range(mine, letter, asked.get("rangemode") == "tozero")
    return Axis(start=start, end=end, low=low, high=high, log=asked.get("type") == "log")


def _range(traces: list[dict[str, Any]], letter: str, from_zero: bool) -> Point:
    """Return the range that holds all numbers of some traces, with a little room."""
    numbers = [value for trace in traces for value in trace[letter] if value is not None]
    low, high = min(numbers), max(numbers)
    room = ROOM * (high - low) or 1.0
    return (0.0 if from_zero else low - room), high + room


def axis_marks(key: str, asked: dict[str, Any], axis: Axis, frame: Frame) -> Iterator[str]:
    """Draw an axis: its grid, line, ticks and title.

    Parameters
    ----------
    key : str
        "xaxis", "yaxis2" and so on.
    asked : dict
        What the figure says of it.
    axis : Axis
        Where its numbers lie.
    frame : Frame
        Where the figure is drawn.

    Yields
    ------
    markup : str
    """
    flat = key.startswith("x")
    span = (axis.start, axis.end)
    foot = frame.bottom if flat else frame.left
    ticks = _apart(list(_ticks(asked, axis))) if flat else list(_ticks(asked, axis))
    if asked.get("showgrid", True):
        for place, _ in ticks:
            yield _across(flat, place, _other_span(asked, flat, frame), 1.0, GRID)
    if asked.get("zeroline") and axis.low < 0 < axis.high:
        yield _across(flat, axis.along(0), _other_span(asked, flat, frame), 1.0, PALE)
    yield _across(not flat, foot, span, 1.0, INK)
    if asked.get("showticklabels", True):
        for place, text in ticks:
            if flat:
                yield path([(place, foot), (place, foot + TICK)], 1.0, INK)
                yield words(text, (place, foot + TICK + 2), rise="top")
            else:
                yield path([(foot - TICK, place), (foot, place)], 1.0, INK)
                yield words(text, (foot - TICK - 3, place), anchor="right")
    title = asked.get("title", {}).get("text", "")
    if title:
        yield _title(title, flat, span, frame, foot)


def _apart(ticks: list[tuple[float, str]]) -> list[tuple[float, str]]:
    """Leave out every other tick until their words stand clear of each other."""
    while any(
        b - a < (text_width(first, SMALL) + text_width(second, SMALL)) / 2 + 4
        for (a, first), (b, second) in pairwise(ticks)
    ):
        ticks = ticks[::2]
    return ticks


def _across(upright: bool, place: float, span: Point, width: float, color: str) -> str:
    if upright:
        return path([(place, span[0]), (place, span[1])], width, color)
    return path([(span[0], place), (span[1], place)], width, color)


def _other_span(asked: dict[str, Any], flat: bool, frame: Frame) -> Point:
    return (frame.top, frame.bottom) if flat else (frame.left, frame.right)


def _title(text: str, flat: bool, span: Point, frame: Frame, foot: float) -> str:
    middle = (span[0] + span[1]) / 2
    if flat:
        return words(text, (middle, frame.height - 2), rise="bottom", size=TITLE)
    lettered = words(text, (0.0, 0.0), rise="top", size=TITLE)
    return f'<g transform="translate(2 {num(middle)}) rotate(-90)">{lettered}</g>'


def _ticks(asked: dict[str, Any], axis: Axis) -> Iterator[tuple[float, str]]:
    """Give places and words of the ticks within the range."""
    if axis.names:
        yield from ((axis.at(name), name) for name in axis.names)
        return
    values = asked.get("tickvals")
    values = list(_even(asked, axis)) if values is None else values
    texts = asked.get("ticktext") or [_number(value, asked.get("tickformat")) for value in values]
    low, high = sorted((axis.start, axis.end))
    for value, text in zip(values, texts, strict=True):
        place = axis.at(value)
        if low - 0.01 <= place <= high + 0.01:
            yield place, text


def _even(asked: dict[str, Any], axis: Axis) -> Iterable[float]:
    """Give round numbers over the range, no more of them than asked for."""
    low, high = sorted((axis.low, axis.high))
    step = asked.get("dtick")
    if step is None:
        rough = (high - low) / asked.get("nticks", 6)
        decade = 10.0 ** math.floor(math.log10(rough))
        step = next(k * decade for k in (1, 2, 5, 10) if k * decade >= rough * (1 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return (float(f"{k * step:.10g}") for k in range(first, last + 1))


def _number(value: float, how: str | None) -> str:
    return f"{100 * value:.6g}%" if how and "%" in how else f"{value:.6g}"

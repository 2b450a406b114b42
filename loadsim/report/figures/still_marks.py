"""What a chart draws between its axes, as a picture: lines, points, bars, words, lines of a map."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from loadsim.report.drawings.svg import num
from loadsim.report.figures.still import Axis, Point, area, path, words

Chain = list[Point]

#: A line is drawn a hair beside its level, so that it runs through no corner of the grid. [1]
HAIR = 1e-9

#: Where across a map the lines of its levels are numbered, away from the words in its middle. [1]
NUMBER_AT = 0.85


def trace_marks(trace: dict[str, Any], x: Axis, y: Axis) -> Iterator[str]:
    """Draw one trace of a figure.

    Parameters
    ----------
    trace : dict
        Lines, markers, texts, bars or the lines of a map.
    x, y : Axis
        Its axes.

    Yields
    ------
    markup : str
    """
    if trace["type"] == "bar":
        yield from _bars(trace, x, y)
    elif trace["type"] == "contour":
        yield from _levels(trace, x, y)
    else:
        points = [(x.at(u), y.at(v)) for u, v in zip(trace["x"], trace["y"], strict=True)]
        yield from _scatter(trace, points)


def _scatter(trace: dict[str, Any], points: list[Point]) -> Iterator[str]:
    mode = trace["mode"]
    if trace.get("fill") == "toself":
        yield area(points, trace["fillcolor"])
    elif "lines" in mode:
        pen = trace["line"]
        yield path(points, pen["width"], pen["color"], pen["dash"])
    if "markers" in mode:
        yield _markers(points, trace["marker"])
    if "text" in mode:
        side = "right" if "left" in trace["textposition"] else "left"
        for point, text in zip(points, trace["text"], strict=True):
            yield words(text, point, anchor=side, paper=True)


def _markers(points: list[Point], marker: dict[str, Any]) -> str:
    """Draw a mark at each of some points, all of one kind."""
    edge = marker["line"]
    d = "".join(_outline(point, marker["symbol"], marker["size"] / 2) for point in points)
    fill = "none" if "x" in marker["symbol"] else marker["color"]
    pen = f'stroke="{edge["color"]}" stroke-width="{num(edge["width"])}"'
    return f'<path d="{d}" fill="{fill}" {pen}/>'


def _outline(point: Point, symbol: str, r: float) -> str:
    """Outline of a mark: a cross, a diamond, or a dot."""
    x, y = num(round(point[0], 1)), num(round(point[1], 1))
    whole = num(2 * r)
    if "x" in symbol:
        return f"M{x} {y}m-{num(r)}-{num(r)}l{whole} {whole}m0-{whole}l-{whole} {whole}"
    if "diamond" in symbol:
        side = num(r * math.sqrt(2))
        return f"M{x} {y}m0-{side}l{side} {side}-{side} {side}-{side}-{side}Z"
    arc = f"a{num(r)} {num(r)} 0 1 0"
    return f"M{x} {y}m-{num(r)} 0{arc} {whole} 0{arc} -{whole} 0Z"


def _bars(trace: dict[str, Any], x: Axis, y: Axis) -> Iterator[str]:
    """Bars to the right, each as high as leaves a third of its row free."""
    marker = trace["marker"]
    colors = marker["color"]
    half = math.fabs(y.along(1) - y.along(0)) / 3
    texts = trace.get("text") or [""] * len(trace["x"])
    for i, (value, name) in enumerate(zip(trace["x"], trace["y"], strict=True)):
        left, middle = x.along(0), y.at(name)
        end = min(x.at(value), max(x.start, x.end))
        fill = colors if isinstance(colors, str) else colors[i]
        yield (
            f'<rect x="{num(left)}" y="{num(middle - half)}" width="{num(max(end - left, 0.5))}"'
            f' height="{num(2 * half)}" fill="{fill}" stroke="{marker["line"]["color"]}"/>'
        )
        if texts[i]:
            yield words(texts[i], (end + 4, middle), anchor="left")


def _levels(trace: dict[str, Any], x: Axis, y: Axis) -> Iterator[str]:
    """Draw the lines of one level of a map, the longest with the level's number."""
    level = trace["contours"]["start"]
    pen = trace["line"]
    us = [x.at(u) for u in trace["x"]]
    vs = [y.at(v) for v in trace["y"]]
    found = chains(us, vs, trace["z"], level)
    for chain in found:
        yield path(chain, pen["width"], pen["color"], pen["dash"])
    longest = max(found, key=len, default=[])
    if len(longest) > 3:
        wanted = us[0] + NUMBER_AT * (us[-1] - us[0])
        place = min(longest, key=lambda point: math.fabs(point[0] - wanted))
        yield words(f"{level:.0%}", place, paper=True)


def chains(us: list[float], vs: list[float], z: list[list[Any]], level: float) -> list[Chain]:
    """Find the lines of a level over a grid: stretches cell by cell, those that meet joined.

    Parameters
    ----------
    us, vs : list of float
        Where the columns and the rows of the grid lie.
    z : list of list of float or None
        Its values, row by row.
    level : float
        Which.

    Returns
    -------
    chains : list of list of (float, float)
    """
    level += HAIR
    ends: dict[Point, Chain] = {}
    for i in range(len(vs) - 1):
        for j in range(len(us) - 1):
            corners = [
                (us[j + k], vs[i + m], z[i + m][j + k]) for k, m in ((0, 0), (1, 0), (1, 1), (0, 1))
            ]
            for stretch in _stretches(corners, level):
                _join(ends, stretch)
    return list({id(chain): chain for chain in ends.values()}.values())


def _stretches(corners: list[tuple[float, float, Any]], level: float) -> list[Chain]:
    """Find where a level crosses a cell; a corner without a number is no place for it."""
    if any(value is None for *_, value in corners):
        return []
    crossings: Chain = []
    # neighbours see an edge in the same order, and so the same crossing to the last digit
    for first, second in ((0, 1), (1, 2), (3, 2), (0, 3)):
        (u, v, p), (s, t, q) = corners[first], corners[second]
        if (p - level) * (q - level) < 0:
            share = (level - p) / (q - p)
            crossings.append((u + (s - u) * share, v + (t - v) * share))
    return [crossings[k : k + 2] for k in range(0, len(crossings) - 1, 2)]


def _join(ends: dict[Point, Chain], stretch: Chain) -> None:
    """Add a stretch to the lines found so far, joined to those that end where it does."""
    chain = list(stretch)
    for _ in range(2):
        chain.reverse()
        other = ends.pop(chain[-1], None)
        if other is not None:
            if other[-1] == chain[-1]:
                other.reverse()
            ends.pop(other[-1], None)
            chain += other[1:]
    ends[chain[0]] = chain
    ends[chain[-1]] = chain

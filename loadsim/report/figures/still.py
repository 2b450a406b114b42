"""What pictures of charts are drawn with: the frame, its axes, lines and words. All in pixels, y
down.
"""

from __future__ import annotations

import html
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from loadsim.report.drawings.svg import num, text_width
from loadsim.report.figures.style import INK

Point = tuple[float, float]

#: Size of the lettering within a plot. [px]
SMALL = 11.0

#: From one line of lettering to the next, over its size. [1]
LEADING = 1.18

#: Dashes, over the width of a line; as the charts' program has them. [1]
DASHES = {
    "solid": (),
    "dot": (1.2, 2.4),
    "dash": (5.0, 3.0),
    "longdash": (9.0, 3.0),
    "dashdot": (5.0, 2.5, 1.2, 2.5),
    "longdashdot": (9.0, 2.5, 1.2, 2.5),
}

#: A point nearer than this to the line of its neighbours is left out. [px]
FLAT = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """How numbers of one axis lie on paper."""

    start: float  #: where the range begins [px]
    end: float  #: where it ends [px]
    low: float  #: what the range begins at; a logarithm on a logarithmic axis
    high: float
    log: bool = False
    names: tuple[str, ...] = ()  #: of an axis that counts names

    def at(self, value: Any) -> float:
        """Return the place of a number or a name; a number that has none is NaN. [px]"""
        if self.names:
            return self.along(float(self.names.index(value)))
        if value is None or (self.log and value <= 0):
            return math.nan
        return self.along(math.log10(value) if self.log else float(value))

    def along(self, value: float) -> float:
        """Return the place of a number as the axis counts it. [px]"""
        return self.start + (self.end - self.start) * (value - self.low) / (self.high - self.low)


def path(points: Sequence[Point], width: float, color: str, dash: str = "solid") -> str:
    """Draw lines through points; where a point has no place there is a gap.

    Parameters
    ----------
    points : sequence of (float, float)
        [px]
    width : float
        [px]
    color : str
        Grey or black.
    dash : str
        A key of `DASHES`.

    Returns
    -------
    markup : str
    """
    d = "".join(_run(run) for run in _runs(points))
    if not d:
        return ""
    dashes = " ".join(num(step * max(width, 1.0)) for step in DASHES[dash])
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<path d="{d}" stroke="{color}" stroke-width="{num(width)}"{dashed}/>'


def area(points: Sequence[Point], fill: str) -> str:
    """Fill what points go round."""
    return f'<path d="{_run(points)}Z" fill="{fill}"/>'


def _runs(points: Sequence[Point]) -> list[list[Point]]:
    """Split points where one has no place."""
    runs: list[list[Point]] = [[]]
    for x, y in points:
        if math.isfinite(x) and math.isfinite(y):
            runs[-1].append((x, y))
        elif runs[-1]:
            runs.append([])
    return [run for run in runs if len(run) > 1]


def _run(points: Sequence[Point]) -> str:
    first, *others = [(round(x, 1), round(y, 1)) for x, y in _fewer(points)]
    return f"M{_pair(first)}" + "".join(f"L{_pair(p)}" for p in others)


def _pair(point: Point) -> str:
    return f"{num(point[0])} {num(point[1])}"


def _fewer(points: Sequence[Point]) -> list[Point]:
    """Leave out points that lie on the line of those kept (Douglas and Peucker)."""
    keep = {0, len(points) - 1}
    spans = [(0, len(points) - 1)]
    while spans:
        low, high = spans.pop()
        far, where = FLAT, 0
        for i in range(low + 1, high):
            off = _off(points[i], points[low], points[high])
            if off > far:
                far, where = off, i
        if where:
            keep.add(where)
            spans += [(low, where), (where, high)]
    return [points[i] for i in sorted(keep)]


def _off(p: Point, a: Point, b: Point) -> float:
    """Distance of a point from a stretch. [px]"""
    u, v = b[0] - a[0], b[1] - a[1]
    length = math.hypot(u, v)
    if length == 0:
        return math.hypot(p[0] - a[0], p[1] - a[1])
    return math.fabs(u * (p[1] - a[1]) - v * (p[0] - a[0])) / length


def words(
    text: str,
    at: Point,
    *,
    anchor: str = "middle",
    rise: str = "middle",
    size: float = SMALL,
    paper: bool = False,
) -> str:
    """Letter words, a line of them for each <br>.

    Parameters
    ----------
    text : str
        With <b> and <br> as the charts' program takes them.
    at : (float, float)
        Where. [px]
    anchor : {"left", "center", "right", "middle"}
        Which side of them stands there.
    rise : {"top", "middle", "bottom"}
        Which height of them stands there.
    size : float
        [px]
    paper : bool
        Whether they stand on white.

    Returns
    -------
    markup : str
    """
    lines = text.split("<br>")
    side = {"left": "start", "right": "end"}.get(anchor, "middle")
    over = {"top": 0.0, "bottom": 1.0}.get(rise, 0.5) * len(lines) * LEADING * size
    x, top = at[0], at[1] - over
    wide = max(text_width(plain(line), size) for line in lines)
    left = {"start": x, "end": x - wide}.get(side, x - wide / 2)
    back = (
        f'<rect x="{num(left - 2)}" y="{num(top)}" width="{num(wide + 4)}"'
        f' height="{num(len(lines) * LEADING * size)}" fill="#fff"/>'
    )
    bold = ' font-weight="bold"' if "<b>" in text else ""
    sized = "" if size == SMALL else f' font-size="{num(size)}"'
    lettered = "".join(
        f'<text x="{num(x)}" y="{num(top + (i + 0.82) * LEADING * size)}" text-anchor="{side}"'
        f' fill="{INK}"{bold}{sized}>{html.escape(plain(line))}</text>'
        for i, line in enumerate(lines)
    )
    return (back if paper else "") + lettered


def plain(text: str) -> str:
    """Return words without the marks of the charts' program."""
    return re.sub("</?b>", "", text).strip()

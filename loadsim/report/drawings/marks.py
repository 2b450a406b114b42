"""What the drawings share: how a length is lettered, break lines, margins."""

from __future__ import annotations

import math
import re

from loadsim.base import units
from loadsim.job.tables import Job
from loadsim.report.drawings import svg
from loadsim.report.drawings.svg import Paper

Point = tuple[float, float]

Box = tuple[float, float]

#: Border of a paper; from lettering to the dimension line beside it; from there to the view. [mm]
EDGE = 0.5
REACH = 3.5
OFF = 2.0

#: Height of a row of dimensions under a view, of what parts the rows from it, and of the caption.
#: [mm]
ROW = 5.0
APART = 1.0
CAPTION = 5.0


def dimension_text(value: float, system: units.System) -> str:
    """Letter a length as a shop drawing does (ASME Y14.5): no unit, which stands at the foot;
    millimetres with a zero before the point and none that says nothing at the end, inches with no
    zero before the point and three decimals, a fourth where it says something.

    Parameters
    ----------
    value : float
        [mm]
    system : {"metric", "inch"}
        Of the drawing.

    Returns
    -------
    text : str

    Examples
    --------
    >>> dimension_text(10.4, "metric"), dimension_text(6.35, "inch"), dimension_text(6.2, "inch")
    ('10.4', '.250', '.2441')
    """
    number = units.show(value, "length", system).rsplit(" ", 1)[0]
    if system == "metric":
        return number.rstrip("0").rstrip(".") if "." in number else number
    return re.sub(r"(?<![0-9])0(\.)|(?<=\.[0-9]{3})0$", r"\1", number)


def lettered(value: float, job: Job, before: str = "") -> tuple[str]:
    """Letter a length in the job's own system, as one line of a label."""
    return (before + dimension_text(value, job.job.units),)


def at_scale(scale: str, job: Job, words: str) -> str:
    """Say at the foot of a drawing its scale, its unit, and how it is seen."""
    unit = "mm" if job.job.units == "metric" else "inch"
    return f"scale {scale}, {unit}, {words}"


def length_text(value: float, job: Job) -> str:
    """Write a length in both systems, one behind the other."""
    return units.show(value, "length", job.job.units, both=True)


def width_of(labels: list[tuple[str, ...]]) -> float:
    """Return the width of the widest of several labels. [mm]"""
    return max(svg.block(lines)[0] for lines in labels)


def zigzag(a: Point, b: Point) -> list[Point]:
    """Break line from a to b."""
    x, y = a
    length = math.hypot(b[0] - x, b[1] - y)
    u = (b[0] - x) / length
    v = (b[1] - y) / length
    run = [
        (0.0, 0.0),
        (length / 2 - 1, 0.0),
        (length / 2 - 0.4, -1.2),
        (length / 2 + 0.4, 1.2),
        (length / 2 + 1, 0.0),
        (length, 0.0),
    ]
    return [(x + p * u - q * v, y + p * v + q * u) for p, q in run]


def centre_mark(paper: Paper, centre: Point, reach: float) -> None:
    """Mark a centre by two lines that cross in it."""
    x, y = centre
    svg.path(paper, [(x - reach, y), (x + reach, y)], "chain", part="centre-mark")
    svg.path(paper, [(x, y - reach), (x, y + reach)], "chain", part="centre-mark")


def caption(paper: Paper, words: str) -> None:
    """Letter the line at the foot of a drawing."""
    svg.text(paper, (paper.width / 2, paper.height - 1.4), words, anchor="middle")


def turn_arrow(paper: Paper, centre: Point, radius: float, start: float, end: float) -> None:
    """Draw an arrow that turns clockwise, between two angles from the top in degrees."""
    points = svg.arc(centre, radius, math.radians(start), math.radians(end))
    svg.path(paper, points, part="rotation")
    t = math.radians(end) - svg.ARROW / 2 / radius  # the head's middle lies on the arc
    svg.arrowhead(paper, points[-1], (math.cos(t), math.sin(t)))

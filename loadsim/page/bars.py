"""How hard a metal pushes back, as a bar beside the families of metals."""

from __future__ import annotations

from loadsim.base import shop, units
from loadsim.page import metals
from loadsim.report.drawings import svg
from loadsim.report.drawings.svg import Paper

#: Paper, where the bars lie on it, and from one to the next. [mm]
WIDTH = 88.0
BARS = (41.0, 85.0)
STEP = 6.0
THICK = 3.0

#: Standard deviations to either side that hold 19 cases in 20. [1]
DEVIATES = 1.96

#: Length of edge that the force is told for. [mm]
EDGE = {"metric": 1.0, "inch": 0.1 * units.IN}
CALLED = {"metric": "each mm of edge", "inch": "each .100 in of edge"}


def metal(name: str, system: units.System) -> tuple[str, str]:
    """Draw the force of a metal with its doubt, and those of the families.

    Parameters
    ----------
    name : str
        Of the list.
    system : {"metric", "inch"}
        Of the lettering.

    Returns
    -------
    svg : str
    words : str
        The same in a sentence.
    """
    edge = EDGE[system] * metals.CHIP
    pushes = metals.pushes()
    picked = pushes[name]
    usual, least, most = (
        edge * picked.level * picked.factor**k for k in (0.0, -DEVIATES, DEVIATES)
    )
    ranges = {
        called: (edge * min(levels), edge * max(levels))
        for called, levels in metals.levels().items()
    }
    top = max(most, *(high for _, high in ranges.values()))
    paper = Paper(width=WIDTH, height=STEP * (len(ranges) + 1) + 9)
    _row(paper, 0, picked.title, (least, most), top, mark=usual)
    for i, (called, ends) in enumerate(ranges.items(), 1):
        _row(paper, i, called, ends, top, mark=None)
    foot = paper.height - 1.5
    svg.text(paper, (BARS[0], foot), "0")
    svg.text(paper, (BARS[1], foot), shop.force(top, system), anchor="end")
    words = (
        f"Usually {shop.force(usual, system)} on {CALLED[system]} at a"
        f" chip of {shop.fine(metals.CHIP, system)}; 19 times in 20 between"
        f" {shop.force(least, system)} and {shop.force(most, system)}."
    )
    return svg.finish(paper, "metal-bar", "How hard the metal pushes back", words), words


def _row(
    paper: Paper, i: int, called: str, ends: tuple[float, float], top: float, *, mark: float | None
) -> None:
    """Draw one bar: solid with its usual value for the metal picked, else the usual ones."""
    y = 3.0 + STEP * i
    low, high = (_x(end, top) for end in ends)
    svg.text(paper, (BARS[0] - 2, y + 1.2), _short(called), anchor="end")
    svg.path(paper, [(BARS[0], y), (BARS[1], y)])
    half = THICK / 2 if mark is not None else THICK / 4
    corners = [(low, y - half), (high, y - half), (high, y + half), (low, y + half)]
    if mark is None:
        svg.path(paper, corners, fill="#fff", close=True)
        return
    svg.path(paper, corners, fill="#ccc", part="band", close=True)
    svg.path(paper, [(_x(mark, top), y - 2.2), (_x(mark, top), y + 2.2)], "cut", part="usual")


def _x(force: float, top: float) -> float:
    return BARS[0] + force / top * (BARS[1] - BARS[0])


def _short(called: str) -> str:
    """Cut a name to the room beside the bars."""
    while svg.text_width(called) > BARS[0] - 2:
        called = called.removesuffix("...").rstrip()[:-1] + "..."
    return called

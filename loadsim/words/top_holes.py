"""Holes from the top at a closed end, in words: their name, what they do to the part, what they
bring.
"""

from __future__ import annotations

from collections.abc import Sequence

from loadsim.base import units
from loadsim.loads.top_holes import TopKind, TopLayout
from loadsim.words.phrases import probability

NAMES = {
    TopKind.DROP_IN: "a drop-in hole {drill}",
    TopKind.ONE: "a hole {drill} on the end line",
    TopKind.PAIR: "2 holes {drill} on the end line",
}

#: What each does to the part and to the cut.
DOES = {
    TopKind.DROP_IN: (
        "it opens the surface to the drill's size; the cutter runs out into it and is lifted there"
    ),
    TopKind.ONE: "the throat then runs {past} past the undercut, as it does if milled so far",
    TopKind.PAIR: "the throat then ends in two ears, {past} past the undercut",
}


def top_holes_name(layout: TopLayout) -> str:
    """Name a layout of holes from the top."""
    return NAMES[layout.kind].format(drill=layout.drill.name)


def top_holes_text(
    found: Sequence[tuple[TopLayout, float]], without: float, system: units.System, *, lifted: bool
) -> str:
    """Say what holes from the top would bring at the planned feed, and what they do to the part.

    Parameters
    ----------
    found : sequence of (TopLayout, float)
        Each with the snap probability that it leaves. [1]
    without : float
        Snap probability without. [1]
    system : {"metric", "inch"}
        Which system leads.
    lifted : bool
        A drop-in hole is what lets the cutter be lifted at that end.

    Returns
    -------
    text : str
        Whole sentences; "" when there are none.
    """
    if not found:
        return ""
    best, least = min(found, key=lambda x: x[1])
    if probability(least) == probability(without):
        return (
            "A hole from the top at the closed end, where the print allows one, would take away the"
            " last stretch, where the whole front of the head cuts: the snap probability stays"
            f" {probability(without)}."
            + (" It is worth drilling only to lift the cutter out there." if lifted else "")
        )
    each = [
        f"{probability(p)} after {top_holes_name(layout)}"
        f" ({DOES[layout.kind].format(past=units.show(layout.past, 'length', system))})"
        for layout, p in found
    ]
    return (
        "Holes from the top at the closed end, where the print allows them, take away the last"
        " stretch, where the whole front of the head cuts, and nothing of the run. Snap probability"
        f" at the planned feed, the way out for chips not counted: {probability(without)} without;"
        f" {'; '.join(each)}. To plan with {top_holes_name(best)}: {_keys(best, system)}"
    )


def _keys(layout: TopLayout, system: units.System) -> str:
    """The table of the job file that asks for a layout."""

    def listed(lengths: Sequence[float]) -> str:
        return "[" + ", ".join(f'"{units.show(x, "length", system)}"' for x in lengths) + "]"

    return (
        f'[predrill] diameter = "{units.show(layout.drill.diameter, "length", system)}", offsets ='
        f" {listed([h.offset for h in layout.holes])}, along ="
        f" {listed([h.along for h in layout.holes])}, depth ="
        f' "{units.show(layout.depth, "length", system)}".'
    )

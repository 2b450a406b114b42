"""What an inspection is expected to see."""

from __future__ import annotations

from loadsim.answers.results import Inspection
from loadsim.mechanics.gauging import Chance
from loadsim.words import phrases


def chance_figure(chance: Chance) -> str:
    """Write a counted chance; where nothing was counted, what it stays under."""
    return f"under {phrases.plain(chance.high, 1)}" if chance.p == 0 else phrases.plain(chance.p, 2)


def grade_text(grade: str) -> str:
    """Name the class of a gauge; "" is finer than any."""
    return grade or "finer than XX"


def inspection_sentences(inspection: Inspection) -> list[str]:
    """Say what brings the size right, how each gauge is used, and what else to know."""
    hows = (f"{gauge.name}: {gauge.how}" for gauge in inspection.gauges)
    return [inspection.correction.why, *hows, *inspection.notes]

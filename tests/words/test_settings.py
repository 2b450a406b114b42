"""What bounds a speed, in words, against sentences written here."""

from __future__ import annotations

import pytest

from loadsim.loads.machine import SpeedBound
from loadsim.materials.load import load_blank, load_work
from loadsim.words.settings import speed_bound

SAID = {
    SpeedBound.FASTEST: "the fastest the machine runs",
    SpeedBound.SLOWEST: "the slowest the machine runs, faster than the metal asks for",
    SpeedBound.SURFACE_SPEED: "the surface speed for {} in {}",
    SpeedBound.RESONANCE: "the distance to resonance",
}


@pytest.mark.parametrize("bound", SpeedBound)
def test_what_bounds_a_speed(bound: SpeedBound) -> None:
    blank, work = load_blank("carbide-fine"), load_work("steel-1045")
    assert speed_bound(bound, blank, work) == SAID[bound].format(blank.title, work.title)
    assert blank.title and work.title and blank.title != work.title

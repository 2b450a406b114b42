"""The passes of a throat mill in words, against sentences written here."""

from __future__ import annotations

import pytest

from loadsim.loads.limits.utilization import Limit, LimitCode
from loadsim.words.throat_mill import depths_and_sides, lost, sides_at_each


@pytest.mark.parametrize(
    ("passes", "said"),
    [
        ((1, 0, 0), "1 depth"),
        ((14, 0, 0), "14 depths"),
        ((14, 1, 1), "14 depths on the centre line, then each side once at full depth"),
        ((1, 1, 1), "1 depth on the centre line, then each side once at full depth"),
        ((6, 1, 3), "6 depths on the centre line, then each side in 3 steps at full depth"),
        ((6, 2, 1), "6 depths on the centre line, then each side in 2 depths"),
        ((6, 2, 3), "6 depths on the centre line, then each side in 3 steps of 2 depths"),
        ((6, 6, 1), "6 depths, at each the centre line and then each side"),
    ],
)
def test_depths_and_sides(passes: tuple[int, int, int], said: str) -> None:
    assert depths_and_sides(*passes) == said


@pytest.mark.parametrize(
    ("demand", "said"),
    [
        (1.2, "Next, 2 depths: 90 s, but mill fatigue used to 120%."),
        (
            0.9,
            "Next, 2 depths: 90 s, but mill fatigue used to 90%, and a go keeps a fifth in hand.",
        ),
    ],
)
def test_why_a_quicker_way_lost(demand: float, said: str) -> None:
    limit = Limit(
        name=LimitCode.MILL_FATIGUE, demand=demand, capacity=1.0, unit="1", utilization=demand,
        hard=True, fit=False, note="",
    )  # fmt: skip
    assert lost("2 depths", 90.0, limit) == said


def test_how_long_sides_at_every_depth_take() -> None:
    assert sides_at_each(2820.0) == "With the sides cut at every depth: 47 min."

"""The trimmed table of turning positions gives the samples what the whole table gives them."""

from __future__ import annotations

import numpy as np
import pytest

from loadsim.job import write
from loadsim.job.read import changed, job_from_text
from loadsim.loads import cut, neck_stress
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.risk import demand, samples, snap


@pytest.mark.parametrize("teeth", [3, 4, 6, 8])
def test_leading_positions_stand_for_all(teeth: int) -> None:
    job = changed(
        job_from_text(write.example("t-track"), "t-track"),
        {"cutter.teeth": teeth, "slot.throat_depth": 6.0},
    )
    s = resolve(job)
    way = cut.engagement_of(s, passes(s, None, "conventional"), 90)
    drawn = samples.draws(9)
    assert way.contacts[0].peak.turn.size > demand.MOST_POSITIONS
    trimmed = snap.snaps(s, way, 0.05, drawn)
    whole = snap.snaps(s, way, 0.05, drawn, most_positions=10**9)
    # peers: the same samples over every position; margins are logarithms of stress over strength
    assert np.max(np.abs(trimmed.fracture - whole.fracture)) < 0.01
    assert np.max(np.abs(trimmed.fatigue - whole.fatigue)) < 0.01
    assert trimmed.p.mean() == pytest.approx(whole.p.mean(), rel=1.5e-3)


@pytest.mark.closed_form(
    "a column stands for a row when it is within three ten-thousandths of its best"
)
def test_the_fewest_positions_hold_a_leader_of_every_case() -> None:
    ranked = np.array([[1.0, 0.99995, 0.5], [0.2, 0.99995, 1.0], [-2.0, -3.0, -4.0]])
    assert neck_stress._leaders(ranked[:2]) == [1]
    assert neck_stress._leaders(ranked) == [0, 1]
    assert neck_stress._leaders(ranked - [[0.0, 1e-3, 0.0]]) == [0, 2]

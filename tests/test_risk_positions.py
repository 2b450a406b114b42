"""The trimmed table of turning positions gives the samples what the whole table gives them."""

from __future__ import annotations

import numpy as np
import pytest

from loadsim import new, risk, settings
from loadsim.case import setup
from loadsim.job import changed, job_from_text
from loadsim.passes import passes


@pytest.mark.parametrize("teeth", [3, 4, 6, 8])
def test_leading_positions_stand_for_all(teeth: int, monkeypatch: pytest.MonkeyPatch) -> None:
    job = changed(job_from_text(new.example("t-track"), "t-track"), {"cutter.teeth": teeth, "slot.throat_depth": 6.0})
    s = setup(job)
    way = settings.way_of(s, passes(s, None, "conventional"), 90)
    drawn = risk.draws(9)
    assert way.contacts[0].peak.turn.size > risk.MOST_POSITIONS
    trimmed = risk.snaps(s, way.passes, way.contacts, 0.05, drawn)
    monkeypatch.setattr(risk, "MOST_POSITIONS", 10**9)
    whole = risk.snaps(s, way.passes, way.contacts, 0.05, drawn)
    # peers: the same samples over every position; margins are logarithms of stress over strength
    assert np.max(np.abs(trimmed.fracture - whole.fracture)) < 0.01
    assert np.max(np.abs(trimmed.fatigue - whole.fatigue)) < 0.01
    assert trimmed.p.mean() == pytest.approx(whole.p.mean(), rel=1e-3)

"""From a job to the force: the radial force of the metal at the rake of the cutter."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.resolve import ForceNote, GroundNote, resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.force_law import PowerRatio


def resolved(rake: float, **changes: Any) -> ResolvedJob:
    track = job_from_text(example("t-track"), "t-track")
    keys = {k.replace("__", "."): v for k, v in changes.items()}
    return resolve(changed(track, {"cutter.rake": math.radians(rake), **keys}))


@pytest.mark.closed_form("tan 29.5 / tan 36: friction angles less rake of 25 and 10 deg")
def test_radial_force_at_the_rake_of_the_cutter() -> None:
    # aluminum is taken as measured at 10 deg; 39 - 0.3 x 10 and 39 - 0.3 x 15 - 0.5 x 10
    tool = resolved(25.0, work__material="al-6061-t6")
    h = np.array([0.01, 0.1])
    factor = math.tan(math.radians(29.5)) / math.tan(math.radians(36.0))
    assert tool.radial.at(h) == pytest.approx(factor * tool.work.radial.ratio.at(h))
    # the drill and the throat mill have a rake of their own
    assert tool.radial_measured == tool.work.radial.ratio


@pytest.mark.closed_form("1.2 % for each of 15 degrees, beside the spread of the sources")
def test_radial_force_spreads_wider_far_from_the_rake_it_was_measured_at() -> None:
    near = resolved(10.0, work__material="al-6061-t6")
    far = resolved(25.0, work__material="al-6061-t6")
    assert near.radial_spread == pytest.approx(near.work.radial.spread)
    assert far.radial_spread == pytest.approx(math.hypot(near.radial_spread, 15 * 0.012))


def test_a_radial_ratio_that_is_given_stands_as_it_is() -> None:
    tool = resolved(25.0, work__material="brass-360", work__radial_ratio=0.4)
    assert tool.radial == PowerRatio(0.4) == tool.radial_measured
    assert tool.radial_spread == 0.0
    assert ForceNote.RADIAL_BORROWED not in {n.code for n in tool.notes}


@pytest.mark.parametrize(
    ("material", "family"),
    [("brass-360", "aluminum wrought"), ("stainless-304", "steel"), ("steel-1045", None)],
)
def test_a_borrowed_radial_force_is_told(material: str, family: str | None) -> None:
    notes = resolved(10.0, work__material=material).notes
    told = [n.facts["family"] for n in notes if n.code is ForceNote.RADIAL_BORROWED]
    assert told == ([] if family is None else [family])


@pytest.mark.published("ShopPractice: an edge needs some relief", read="memory (medium)")
@pytest.mark.parametrize(("relief", "told"), [(0.5, True), (1.9, True), (2.0, False), (8.0, False)])
def test_a_relief_that_rubs_is_told(relief: float, told: bool) -> None:
    base = job_from_text(example("t-track"), "t-track")
    job = resolve(changed(base, {"cutter.relief": math.radians(relief)}))
    assert (GroundNote.FLANK_RUBS in {note.code for note in job.notes}) == told

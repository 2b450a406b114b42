"""Shock in the chance: what rings snaps sooner, skew and a slower spindle help, and test cuts keep their sound."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from loadsim import check
from loadsim.answers.changes import changes_of
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example, recorded
from loadsim.loads.cut import Picked, engagement_of
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.report.rows.test_cuts import cut_sentences
from loadsim.risk import breaks, samples, snap
from loadsim.risk.breaks import Trait
from loadsim.risk.samples import Uncertain

DEG = math.pi / 180
RPM = 2 * math.pi / 60
DRAWN = samples.draws(10)


def job(**changes: Any) -> Job:
    thin = {"cutter.neck_diameter": 3.0}
    keys = {k.replace("__", "."): v for k, v in changes.items()}
    return changed(job_from_text(example("t-track"), "t-track"), thin | keys)


def chance(rpm: float | None = 2600.0, **changes: Any) -> float:
    s = resolve(job(**changes))
    way = engagement_of(s, passes(s, None, "conventional"), 24)
    speed = None if rpm is None else rpm * RPM
    return snap.assess(s, way, 0.016, DRAWN, speed=speed).snap_probability


def test_straight_edges_snap_the_neck_sooner() -> None:
    straight, unknown, two, ten = (
        chance(cutter__edge_skew=x) for x in (0.0, None, 2 * DEG, 10 * DEG)
    )
    assert straight > unknown > two > ten
    # an estimate beforehand: two to four times for a shock of 1.3 to 1.5; here it is up to 1.8
    assert straight > 2 * ten


@pytest.mark.closed_form("no speed, no shock")
def test_a_spindle_that_stands_still_knocks_nothing() -> None:
    # half a degree pushes next to nothing along the axis
    assert chance(None, cutter__edge_skew=0.0) == pytest.approx(
        chance(None, cutter__edge_skew=0.5 * DEG), rel=0.05
    )
    assert chance(600.0) < chance(2600.0)


def test_its_skew_is_a_driver_of_its_own() -> None:
    names = [d.name for d in check(job(), DRAWN, advise=False).risk.drivers]
    assert Uncertain.EDGE_SKEW.driver in names
    assert len({x.driver for x in Uncertain}) == len(Uncertain)


@pytest.mark.closed_form(
    "the middle of an even lean is 0.5, of its lower six tenths 0.3: under 0.35"
)
def test_straight_edges_are_told_as_why() -> None:
    s = resolve(job())
    way = engagement_of(s, passes(s, None, "conventional"), 24)
    drawn = samples.draws(12)
    even = np.ones(drawn.u.shape[1])
    steep = (drawn.u[Uncertain.EDGE_SKEW] < 0.6) * even
    found = [
        {note.code for note in breaks.traits(s, way.passes, 0.016, drawn, w)} for w in (even, steep)
    ]
    assert [Trait.STRAIGHT_EDGES in x for x in found] == [False, True]
    known = resolve(job(cutter__edge_skew=0.0))
    told = breaks.traits(known, way.passes, 0.016, drawn, steep)
    assert Trait.STRAIGHT_EDGES not in {note.code for note in told}


def test_what_softens_the_blows_is_tried_as_advice() -> None:
    s = resolve(job(cutter__edge_skew=0.0, cut__direction="climb"))
    picked = Picked(speed=2600 * RPM, f_z=0.016, stepover=None, notes=())
    tried = dict(changes_of(s, picked, {}))
    (slower,) = (
        change for text, change in tried.items() if text.startswith("Run at 1500 rpm, fed ")
    )
    assert slower["cut.spindle_speed"] == pytest.approx(1500 * RPM)  # 0.6 of 2600, rounded down
    assert tried["Grind the edges 2.0 deg askew to the axis"] == {"cutter.edge_skew": 2 * DEG}
    assert tried["Cut the sides conventionally"] == {"cut.direction": "conventional"}
    leaning = resolve(job(cutter__edge_skew=3 * DEG))
    assert not [x for x in dict(changes_of(leaning, picked, {})) if "askew" in x]


def test_the_sound_of_a_test_cut_is_kept_and_said() -> None:
    entry = ("outcome=survived", "length=30 mm", "sound=howls")
    text = recorded(example("t-track"), "t-track", entry)
    made = job_from_text(text, "t-track")
    assert made.trial[0].sound == "howls"
    trials = check(made, samples.draws(8), advise=False).trials
    assert trials is not None and trials.cuts[0].sound == "howls"
    (told,) = cut_sentences(trials, made)
    assert "it howled: do not run the part so" in told

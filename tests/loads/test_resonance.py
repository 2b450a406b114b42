"""Tooth passing against the own frequency: by hand on both sides, everyday mills, harmonics told."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from loadsim import check
from loadsim.answers.results import Result
from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.cut import cutting, written_engagement
from loadsim.loads.cut_notes import cut_notes
from loadsim.loads.limits.built_up_edge import builds_up, clean_speed
from loadsim.loads.limits.resonance import harmonic, resonance
from loadsim.loads.limits.throat_mill import mill_notes
from loadsim.loads.limits.utilization import CutNote
from loadsim.loads.machine import SpeedBound, below_resonance, pick_speed
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.throat_mill import mill_of
from loadsim.risk import samples

RPM = math.pi / 30


def job(**changes: Any) -> ResolvedJob:
    track = job_from_text(example("t-track"), "t-track")
    return resolve(changed(track, {k.replace("__", "."): v for k, v in changes.items()}))


@pytest.mark.closed_form("r/0.85 up to the own frequency, 1.15/r above it")
def test_fifteen_percent_on_either_side() -> None:
    passing = np.array([425.0, 850.0, 900.0, 1000.0, 1001.0, 1150.0, 2300.0])
    found = resonance(passing, 1000.0, np.ones(7))
    expected = [0.5, 1.0, 0.9 / 0.85, 1 / 0.85, 1.15 / 1.001, 1.0, 0.5]
    assert found.utilization == pytest.approx(expected)
    assert found.hard and found.over.tolist() == [False, False, True, True, True, False, False]


@pytest.mark.closed_form("0.8 x 0.85 x 3000 Hz, two teeth: 1020 turns a second")
def test_the_speed_picked_keeps_clear() -> None:
    assert below_resonance(3000.0, 2) == pytest.approx(1020 * 2 * math.pi)
    # a neck that rings at 40 Hz under two teeth: 13.6 turns a second, 816 rpm, to two figures 810
    speed, bound = pick_speed(job(), 40.0)
    assert (speed / RPM, bound) == (pytest.approx(810), SpeedBound.RESONANCE)
    assert resonance(2 * speed / (2 * math.pi), 40.0, np.ones(1)).utilization < 0.8


@pytest.mark.parametrize(
    ("own", "order"),
    [
        (110.0, None),
        (171.0, None),
        (175.0, 2),
        (234.0, 2),
        (236.0, None),
        (345.0, 3),
        (500.0, 5),
        (700.0, None),
    ],
)
def test_harmonics_by_hand(own: float, order: int | None) -> None:
    # teeth pass 100 times a second: 200 to 500 Hz, each 15 % of the own frequency wide
    assert harmonic(100.0, own) == order


def told(tool: ResolvedJob, speed: float, f_z: float = 0.016) -> dict[CutNote, dict[str, Any]]:
    way = written_engagement(tool, None, 24)
    return {n.code: dict(n.facts) for n in cut_notes(tool, cutting(tool, way, speed, f_z))}


def test_a_harmonic_is_told_and_not_judged() -> None:
    tool = job()
    own = written_engagement(tool, None, 24).frequency
    # a third of the own frequency, by two teeth
    facts = told(tool, own / 3 / 2 * 2 * math.pi)[CutNote.HARMONIC]
    assert facts == {
        "order": 3, "passing": pytest.approx(own / 3), "times": pytest.approx(own), "own": pytest.approx(own),
    }  # fmt: skip
    assert CutNote.HARMONIC not in told(tool, 2600 * RPM)


@pytest.mark.closed_form(
    "shop rule of the material file times what the lubrication spares: 100 x 0.8"
)
def test_a_slow_edge_is_told_of() -> None:
    tool = job(work__material="al-6061-o", work__lubrication="brush")
    assert clean_speed(tool) == pytest.approx(100 * 0.8 * 1000 / 60)  # m/min in mm/s
    fast = clean_speed(tool) / 5.2  # head of 10.4 mm
    assert builds_up(tool, 0.999 * fast) and not builds_up(tool, 1.001 * fast)
    assert told(tool, 0.5 * fast)[CutNote.BUILT_UP_EDGE] == {
        "speed": pytest.approx(0.5 * clean_speed(tool)), "needed": clean_speed(tool), "lubrication": "brush",
    }  # fmt: skip
    assert CutNote.BUILT_UP_EDGE not in told(tool, 1.001 * fast)
    assert clean_speed(job(work__material="steel-1045")) == 0
    assert CutNote.BUILT_UP_EDGE not in told(job(work__material="steel-1045"), 1.0)


#: With force constants of its own, so that what the sources say moves no edge of the rule.
SLENDER = {
    "cutter__neck_diameter": 2.5,
    "cutter__stickout": 14.0,
    "work__kc11": 500.0,
    "work__mc": 0.25,
}


@pytest.mark.parametrize(
    ("changes", "f_z", "chatters"),
    [
        ({}, 0.016, False),
        # a stout neck may give over 0.05 mm in metal of 20 GPa and run quietly; one of over two
        # diameters may not
        ({"work__kc11": 20_000.0, "work__mc": 0.1}, 0.05, False),
        ({"work__kc11": 20_000.0, "work__mc": 0.1, "cutter__neck_diameter": 2.6}, 0.05, True),
        # a neck of 3 diameters and more gives over three chips of 0.01 mm, though not 0.05 mm
        ({**SLENDER, "cutter__neck_length": 8.0}, 0.01, True),
        ({**SLENDER, "cutter__neck_length": 7.4}, 0.01, False),
    ],
)
def test_a_soft_head_is_asked_to_be_listened_to(
    changes: dict[str, Any], f_z: float, chatters: bool
) -> None:
    tool = job(**changes)
    found = told(tool, 2600 * RPM, f_z)
    assert (CutNote.CHATTER in found) == chatters
    if chatters:
        assert found[CutNote.CHATTER]["passing"] == pytest.approx(2 * 2600 / 60)


#: An everyday mill: 6 mm carbide, two flutes, 20 mm out of its collet, in the 6 mm throat of soft aluminum.
MILL = {
    "diameter": "6 mm", "flute_length": "13 mm", "teeth": 2, "helix": "30 deg", "material": "carbide-fine",
    "stickout": "25 mm", "spindle_speed": "24000 rpm",
}  # fmt: skip


def milled() -> Result:
    table = "\n".join(
        f"{key} = {value}" if isinstance(value, int) else f'{key} = "{value}"'
        for key, value in MILL.items()
    )
    fast = example("t-track").replace('"2800 rpm"', '"24000 rpm"')
    return check(job_from_text(f"{fast}\n[throat_mill]\n{table}\n", "milled"), samples.draws(8))


def test_an_everyday_carbide_mill_at_full_speed_does_not_ring() -> None:
    mill = milled().throat_mill
    found = {x.name: x for x in mill.limits}
    assert found["resonance"].demand == pytest.approx(800)  # two teeth, 400 turns a second
    assert found["resonance"].utilization < 0.8
    assert found["spindle torque"].utilization < 0.8 and found["collet hold"].utilization < 0.8


@pytest.mark.closed_form(
    "24,000 rpm on 6 mm is 452 m/min, 60 rpm is 1.1 m/min; 100 x 0.8 is asked for"
)
def test_the_mill_is_told_of_its_edge_and_its_harmonics() -> None:
    table = "\n".join(
        f"{key} = {value}" if isinstance(value, int) else f'{key} = "{value}"'
        for key, value in MILL.items()
        if key != "spindle_speed"
    )
    tool = resolve(
        changed(
            job_from_text(f"{example('t-track')}\n[throat_mill]\n{table}\n", "milled"),
            {"work.material": "al-6061-o", "work.lubrication": "brush"},
        )
    )
    mill = mill_of(tool)
    assert mill is not None
    assert [n.code for n in mill_notes(tool, mill, 60 * RPM)] == [CutNote.BUILT_UP_EDGE]
    assert mill_notes(tool, mill, 5000 * RPM) == ()
    assert 0.85 * 60 * mill.frequency / 2 / 5 > 5000  # even the fifth harmonic is far below
    third = mill.frequency / 3 / 2 * 2 * math.pi
    assert [n.facts["order"] for n in mill_notes(tool, mill, third)] == [3]

"""The words of the short answers, from numbers handed in: worked out by hand."""

from __future__ import annotations

import pytest

from loadsim.base.notes import Note
from loadsim.loads.limits.utilization import Limit, LimitCode
from loadsim.loads.resolve import Assumption
from loadsim.risk.breaks import Trait
from loadsim.risk.results import Driver, Modes, Risk
from loadsim.words import short

FATIGUE = Modes(fracture=0.001, fatigue=0.006, torsion=0.0, grab=0.0)


def limit(code: LimitCode, used: float, *, fit: bool = False) -> Limit:
    return Limit(
        name=code, demand=used, capacity=1.0, unit="1", utilization=used, hard=True, fit=fit, note="N."
    )  # fmt: skip


def risk(p: float, low: float, high: float) -> Risk:
    return Risk(
        snap_probability=p, low=low, high=high, samples=1, seed=0, drivers=(), modes=FATIGUE
    )


@pytest.mark.parametrize(
    ("p", "low", "high", "told"),
    [
        # 1/0.0062 = 161, 1/0.0069 = 145, 1/0.0055 = 182, to two figures
        (0.0062, 0.0055, 0.0069, "1 cut in 160 (between 1 in 140 and 1 in 180)"),
        (0.62, 0.60, 0.64, "62 cuts in 100 (between 60 in 100 and 64 in 100)"),
        (1e-7, 0.0, 2e-7, "less than 1 cut in 1,000,000"),
        (0.999, 0.99, 1.0, "practically every cut"),
        (0.001, 0.0, 0.002, "1 cut in 1,000 (between 1 in 500 and under 1 in 1,000,000)"),
    ],
)
@pytest.mark.closed_form("one over the chance, two figures")
def test_a_chance_is_told_between_its_ends(p: float, low: float, high: float, told: str) -> None:
    assert short.chance_between(risk(p, low, high)) == told


def test_why_tells_the_way_the_place_the_turns_and_what_it_takes() -> None:
    traits = (Note(code=Trait.HARD_METAL, facts={"factor": 2.8}), Note(code=Trait.SMALL_FILLET))
    told = short.why(
        FATIGUE,
        at_shoulder=False,
        turns=812.0,
        limits=[limit(LimitCode.NECK_FATIGUE, 0.4)],
        traits=traits,
    )
    assert told == (
        "If it goes, it goes by bending to and fro at the fillet above the head, within about 810"
        " turns. That takes metal that takes 2.8 times the usual force to cut and a fillet smaller"
        " than it was taken to be."
    )


@pytest.mark.closed_form("used to 0.4: 1/0.4 = 2.5 times the force; 5.13 to two figures")
def test_where_few_snap_the_force_it_takes_is_told_and_where_it_is_over_how_far() -> None:
    def told(used: float, modes: Modes = FATIGUE) -> str:
        both = [limit(LimitCode.NECK_FATIGUE, used), limit(LimitCode.NECK_FRACTURE, 9.0)]
        return short.why(modes, at_shoulder=True, turns=10.0, limits=both, traits=())

    assert told(0.4).endswith("That takes about 2.5 times the force reckoned with.")
    assert told(5.13).endswith("It is asked 5.1 times what it bears.")
    blow = Modes(fracture=0.5, fatigue=0.1, torsion=0.0, grab=0.0)
    assert told(0.4, blow) == (
        "If it goes, it goes in one blow at the fillet under the shank. It is asked 9 times what it"
        " bears."
    )


@pytest.mark.closed_form("0.57 is 57%; 1.56 and 8.41 to two figures")
def test_a_limit_is_told_as_a_share_until_it_is_over_and_a_chance_never() -> None:
    speed = "the surface speed that the blank lasts at"
    assert short.go_reason(limit(LimitCode.SURFACE_SPEED, 0.57)).endswith(f"used to 57%: {speed}.")
    assert (
        short.over_reason(limit(LimitCode.SURFACE_SPEED, 1.56))
        == f"The cut asks 1.6 times {speed}."
    )
    assert short.over_reason(limit(LimitCode.NECK_IN_THROAT, 1.1, fit=True)) == "N."
    mill = short.over_reason(limit(LimitCode.MILL_SNAP_PROBABILITY, 0.5))
    assert "50 cuts in 100" in mill and "%" not in mill


def test_what_settles_most_is_done_first_and_each_deed_once() -> None:
    drivers = [
        Driver(name="force constants of the metal", share=0.5),
        Driver(name="neck fillet", share=0.3),
        Driver(name="strength of the blank", share=0.2),  # a test cut as well
        Driver(name="runout", share=0.01),  # not worth a deed
    ]
    first, second, always = short.settle(drivers)
    assert first.startswith(short.TEST_CUT) and "50% of the doubt is the force" in first
    assert second.startswith("Measure the fillet") and "30% of the doubt" in second
    assert always == short.ALWAYS


def test_what_was_assumed_is_told_by_what_it_moves_and_the_handwheel_first() -> None:
    notes = [
        Note(code=Assumption.STIFFNESS, facts={"value": 1e4}),
        Note(code=Assumption.RUNOUT, facts={"value": 0.0254 * 0.4}),
        Note(code=Assumption.FILLET, facts={"value": 0.1}),
        Note(code=Assumption.HANDWHEEL, facts={"value": 2.54}),
    ]
    drivers = [Driver(name="neck fillet", share=0.3), Driver(name="runout", share=0.4)]
    assert short.assumed(notes, drivers, "inch") == [
        "one turn of the handwheel moves 0.100 in: count yours",
        "the head runs out 0.4 thou, half the indicator's swing",
        "a fillet of 3.9 thou at the neck",
        "a collet as stiff as usual",
    ]

"""Scrap cuts and batches in words: the numbers of the answer, each said once."""

from __future__ import annotations

import pytest

from loadsim import check
from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.report.terminal.check import check_text
from loadsim.risk import samples
from loadsim.risk.results import Batch, Modes, Prove, Risk
from loadsim.words.proving import batch_text, mode_shares, prove_text


def risk(p: float) -> Risk:
    modes = Modes(fracture=p, fatigue=0.0, torsion=0.0, grab=0.0)
    return Risk(snap_probability=p, low=p, high=p, samples=1, seed=0, drivers=(), modes=modes)


def batch(**numbers: float | int | None) -> Batch:
    usual = {"slots": 50, "snap_probability": 0.125, "slots_to_target": None}
    return Batch(**(usual | {"stone_after_slots": None} | numbers))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("numbers", "text"),
    [
        (
            {},
            "the next slot snaps it in about 1 cut in 200, the whole batch in about 1 batch in 8.",
        ),
        ({"snap_probability": 0.64}, "the whole batch in 64 batches in 100."),
        (
            {"slots_to_target": 12},
            "It stays within 1 cut in 100 for 12 slots; then take another cutter.",
        ),
        ({"slots_to_target": 1}, "for 1 slot; then"),
        (
            {"stone_after_slots": 30},
            "Stone the edges after 30 slots, or sooner when their worn land is 0.100 mm wide.",
        ),
    ],
)
def test_a_batch_in_words(numbers: dict[str, float | int | None], text: str) -> None:
    told = batch_text(batch(**numbers), risk(0.005), 0.01)
    assert told.startswith("Batch of 50 slots with one cutter: ") and text in told


def test_what_holds_for_the_whole_batch_is_not_told_to_end() -> None:
    told = batch_text(batch(slots_to_target=90), risk(0.00001), 0.01)
    assert "another cutter" not in told and "Stone" not in told
    assert batch_text(batch(slots=1), risk(0.005), 0.01) == ""


@pytest.mark.parametrize(
    ("slots", "text"), [(1, "cut one slot of 118.000 mm"), (3, "cut 3 slots of 118.000 mm each")]
)
def test_a_scrap_cut_in_words(slots: int, text: str) -> None:
    scrap = Prove(
        feed_per_tooth_mm=0.016, length_mm=118.0, slots=slots, snap_probability=0.05, after=0.004
    )
    told = prove_text(scrap, "metric")
    assert text in told and "0.0160 mm/tooth" in told
    # 1/0.05 and 1/0.004
    assert "snaps there in about 1 cut in 20" in told
    assert told.endswith("if it lives, the next slot snaps it in about 1 cut in 250.")


def test_shares_of_the_ways_to_break_are_parts_of_their_sum() -> None:
    shares = dict(mode_shares(Modes(fracture=0.01, fatigue=0.02, torsion=0.0, grab=0.01)))
    assert shares == {"fatigue": 0.5, "fracture": 0.25, "grab": 0.25, "torsion": 0.0}


def test_only_a_cut_to_be_proved_names_its_scrap_cut() -> None:
    track = job_from_text(example("t-track"), "t-track")
    drawn = samples.draws(10)
    go = check(changed(track, {"job.quantity": 1}), drawn)
    assert go.verdict == "go" and go.prove is None
    assert go.batch is not None and go.batch.slots == 1
    assert go.batch.snap_probability == go.risk.snap_probability
    many = changed(
        track, {"cutter.neck_diameter": 2.9, "job.quantity": 20, "job.slots_per_part": 2}
    )
    proved = check(many, drawn)
    assert proved.verdict == "marginal" and proved.prove is not None and proved.batch is not None
    # the very settings of the cut
    assert proved.prove.feed_per_tooth_mm == track.cut.feed_per_tooth
    assert proved.prove.length_mm == track.slot.length
    assert proved.prove.after < proved.risk.snap_probability
    assert proved.batch.slots == 40
    assert proved.batch.snap_probability > proved.risk.snap_probability
    text = " ".join(check_text(proved, many).split())
    assert "Prove it on scrap: cut " in text and "Batch of 40 slots" in text
    data = proved.to_dict()
    assert set(data["prove"]) == {
        "feed_per_tooth_mm",
        "length_mm",
        "slots",
        "snap_probability",
        "after",
    }
    assert set(data["batch"]) == {
        "slots",
        "snap_probability",
        "slots_to_target",
        "stone_after_slots",
    }
    assert set(data["risk"]["modes"]) == {"fracture", "fatigue", "torsion", "grab"}

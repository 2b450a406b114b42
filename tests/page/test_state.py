"""Answers to a job file and back."""

from __future__ import annotations

import math
import os
from pathlib import Path

import pytest

from loadsim.base.units import IN
from loadsim.job import write
from loadsim.job.read import job_from_text
from loadsim.page import ask, state
from loadsim.page.state import Answers

TYPED = {
    "job.number": "A-1", "job.units": "inch", "work.material": "6061-t6",
    "slot.throat_width": ".25", "slot.undercut_width": "13/32", "slot.depth": "7 mm",
    "slot.undercut_height": ".1", "slot.length": "3", "slot.sides": "2", "slot.open_ends": "1",
    "slot.width_tolerance": "don't know", "page.ground": "yes", "cutter.neck_diameter": "5.1 mm",
    "cutter.neck_length": "0.2", "cutter.head_diameter": "don't know", "cutter.head_height": "don't know",
}  # fmt: skip


def answers(tmp_path: Path, **more: str) -> Answers:
    typed = {**TYPED, **{key.replace("__", "."): text for key, text in more.items()}}
    return Answers(tmp_path / "job.toml", typed)


@pytest.mark.parametrize(
    ("key", "typed", "attribute", "size"),
    [
        ("slot__throat_width", ".125", "throat_width", 0.125 * IN),
        ("slot__throat_width", "1/8", "throat_width", IN / 8),
        ("slot__throat_width", "5.4 mm", "throat_width", 5.4),
        ("slot__length", "1 1/2", "length", 1.5 * IN),
        ("slot__length", '2"', "length", 2 * IN),
        ("slot__length", "1500 thou", "length", 1.5 * IN),
    ],
)
@pytest.mark.closed_form("25.4 mm to the inch")
def test_numbers_as_they_are_written(
    tmp_path: Path, key: str, typed: str, attribute: str, size: float
) -> None:
    given = answers(
        tmp_path, cutter__neck_diameter="2 mm", **{key: typed}
    )  # thin enough for any of these throats
    standing = state.stand(given)
    assert standing.wrong == {}
    job, wrong = state.job_of(given, state.text_of(given, standing))
    assert wrong == {}
    assert job is not None
    assert math.isclose(getattr(job.slot, attribute), size, rel_tol=1e-12)


def test_a_bare_number_is_in_the_units_of_the_job(tmp_path: Path) -> None:
    given = answers(tmp_path, job__units="metric", slot__throat_width="6.2",
                    slot__undercut_width="10.4", slot__undercut_height="2.6", slot__length="80",
                    cutter__neck_length="4.9")  # fmt: skip
    job, wrong = state.job_of(given, state.text_of(given, state.stand(given)))
    assert wrong == {}
    assert job is not None
    assert job.slot.throat_width == 6.2


def test_a_runout_is_half_of_what_the_indicator_reads(tmp_path: Path) -> None:
    given = answers(tmp_path, cutter__runout="0.0010")
    standing = state.stand(given)
    job, _ = state.job_of(given, state.text_of(given, standing))
    assert job is not None
    assert job.cutter.runout == pytest.approx(0.0005 * IN)
    assert "half of the reading" in standing.said["cutter.runout"]


def test_what_is_not_known_is_left_out_and_the_head_fills_the_undercut(tmp_path: Path) -> None:
    given = answers(tmp_path, cutter__neck_fillet="don't know")
    standing = state.stand(given)
    tables = state.tables_of(given, standing)
    assert "neck_fillet" not in tables["cutter"]
    assert "width_tolerance" not in tables["slot"]
    assert tables["cutter"]["head_diameter"] == "13/32 in"
    assert "cutter.neck_fillet" in standing.unknown
    assert "cutter.head_diameter" in state.assumed(standing)
    assert ask.next_step(standing.settled) is None


@pytest.mark.parametrize(
    ("key", "typed", "words"),
    [
        ("slot.throat_width", "fourteen", "fourteen"),
        ("slot.depth", "-1", "-1"),
        ("slot.undercut_width", "1/8", "throat"),
        ("work.material", "aluminum", "are called so"),
        ("work.material", "unobtainium", "unobtainium"),
        ("work.material", "../own.toml", "not into the page"),
        ("cutter.material", "/etc/passwd", "not into the page"),
        ("slot.sides", "3", "allowed is one of 1, 2"),
    ],
)
def test_a_wrong_answer_is_kept_and_told_at_its_place(
    tmp_path: Path, key: str, typed: str, words: str
) -> None:
    given = answers(tmp_path)
    given.typed[key] = typed
    standing = state.stand(given)
    assert words in standing.wrong[key]
    assert key not in standing.so_far.values
    assert given.typed[key] == typed


def test_answers_are_kept_as_typed_and_taken_up(tmp_path: Path) -> None:
    given = answers(tmp_path, slot__depth='nonsense "quoted" <b> ü', job__number="")
    state.keep(given)
    assert state.opened(given.path).typed == given.typed
    assert not given.path.exists()


@pytest.mark.parametrize("name", write.examples())
def test_a_job_file_taken_up_and_written_is_the_same_job(tmp_path: Path, name: str) -> None:
    path = tmp_path / "job.toml"
    path.write_text(write.example(name), encoding="utf-8")
    given = state.opened(path)
    standing = state.stand(given)
    assert standing.wrong == {}
    written = state.text_of(given, standing)
    assert job_from_text(written, "a") == job_from_text(write.example(name), "b")


def test_test_cuts_and_own_materials_stay_in_the_file(tmp_path: Path) -> None:
    text = write.example("t-track")
    cuts = '\n[[trial]]\nspindle_speed = "2600 rpm"\nfeed_per_tooth = "0.01 mm/tooth"\nlength = "30 mm"\noutcome = "survived"\n'
    path = tmp_path / "job.toml"
    path.write_text(text + cuts, encoding="utf-8")
    given = state.opened(path)
    written = state.text_of(given, state.stand(given))
    job = job_from_text(written, "a")
    assert job == job_from_text(text + cuts, "b")
    assert len(job.trial) == 1


def test_the_later_of_file_and_kept_answers_counts(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(write.example("t-track"), encoding="utf-8")
    given = state.opened(path)
    given.typed["slot.depth"] = "8 mm"
    state.keep(given)
    beside = path.parent / state.kept_name(path)
    now = path.stat().st_mtime
    os.utime(beside, (now + 5, now + 5))
    assert state.opened(path).typed["slot.depth"] == "8 mm"
    os.utime(beside, (now - 5, now - 5))
    assert state.opened(path).typed["slot.depth"] == job_depth(path)


def job_depth(path: Path) -> str:
    """The depth as the example's text has it."""
    line = next(x for x in path.read_text("utf-8").splitlines() if x.startswith("depth"))
    return line.split('"')[1]


def test_a_shop_file_answers_and_stays_out_of_the_job(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(
        '[machine]\nmax_spindle_speed = "4200 rpm"\nspindle_power = "1 hp"\nfeed = "power"\n',
        encoding="utf-8",
    )
    given = answers(tmp_path)
    standing = state.stand(given)
    assert "max_spindle_speed" in standing.shop
    assert "machine.feed" in standing.settled
    text = state.text_of(given, standing)
    assert 'max_spindle_speed = "' not in text
    job, wrong = state.job_of(given, text)
    assert wrong == {}
    assert job is not None
    assert job.machine.feed == "power"


def test_a_proposed_cutter_is_taken_and_let_go(tmp_path: Path) -> None:
    given = Answers(tmp_path / "job.toml", {k: v for k, v in TYPED.items() if "cutter" not in k})
    data = {"cutter": {"neck_diameter": "4 mm", "teeth": 2, "head_fillet": "0.2 mm"},
            "grind": {"gullet_depth": "2 mm", "land": "0.5 mm"}}  # fmt: skip
    state.propose(given, data)
    tables = state.tables_of(given, state.stand(given))
    assert tables["cutter"]["neck_diameter"] == "4 mm"
    assert tables["cutter"]["head_fillet"] == "0.2 mm"
    assert tables["cutter"]["teeth"] == 2
    assert tables["grind"] == data["grind"]
    state.unpropose(given)
    assert not [key for key in given.typed if key.startswith(("cutter", "grind"))]


@pytest.mark.parametrize(
    ("message", "words"),
    [
        ("is 9 mm; the neck must pass through throat_width, 6 mm", "it is 9 mm; the neck must pass through throat width, 6 mm"),
        ("is -1 in; allowed is 0 to 5 in", "it is -1 in; allowed is 0 to 5 in"),
        ("no blank material 'x'; 'loadsim materials' lists them all", "no blank material 'x'"),
        ("[cut] feed_per_tooth is 2; write it in quotes", "cut: feed per tooth is 2; write it"),
    ],
)  # fmt: skip
def test_a_refusal_names_no_key(message: str, words: str) -> None:
    assert state.in_words(message) == words


def test_files_beside_the_job_are_read_again_when_they_change(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    text = write.example("t-track").replace("[job]", '[job]\ntrials = ["scrap.toml"]', 1)
    path.write_text(text, encoding="utf-8")
    opened = state.opened(path)
    assert state.beside(opened) == ""
    stamps = {""}
    for n, name in enumerate(("scrap.toml", "scrap.toml", "shop.toml"), 1):
        (tmp_path / name).write_text("", encoding="utf-8")
        os.utime(tmp_path / name, (n, n))
        stamps.add(state.beside(opened))
    assert len(stamps) == 4

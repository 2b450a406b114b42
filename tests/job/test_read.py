"""Bad job files: every problem is an InputError with one line that names the key, what was given, what is allowed."""

from __future__ import annotations

import copy
import math
import os
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from loadsim import read_job
from loadsim.base import units
from loadsim.base.errors import InputError
from loadsim.job.cutter_geometry import rake_of
from loadsim.job.material_paths import first_name, seen_from
from loadsim.job.read import changed, job_from_dict, job_from_text, read_draft
from loadsim.job.tables import Job
from loadsim.job.write import example

TEXT = example("t-track")
GOOD: dict[str, dict[str, Any]] = tomllib.loads(TEXT)


def edited(**changes: Any) -> dict[str, dict[str, Any]]:
    """The example with some keys changed: table__key=value; ... takes the key away."""
    data = copy.deepcopy(GOOD)
    for path, value in changes.items():
        table, key = path.split("__")
        if value is ...:
            del data[table][key]
        else:
            data.setdefault(table, {})[key] = value
    return data


def lines_of(data: dict[str, Any]) -> list[str]:
    with pytest.raises(InputError) as caught:
        job_from_dict(data, "f.toml")
    lines = caught.value.lines()
    assert all(x.isprintable() and x.startswith("f.toml: ") for x in lines), lines
    return lines


def one_line(data: dict[str, Any], key: str, *words: str) -> None:
    """The file has exactly one problem, on this key, and the line holds these words."""
    lines = lines_of(data)
    assert len(lines) == 1, lines
    assert lines[0].startswith(f"f.toml: {key}: "), lines[0]
    assert [w for w in words if w not in lines[0]] == [], lines[0]
    assert len(lines[0]) < 400


def test_the_example_is_a_job() -> None:
    assert job_from_dict(GOOD, "f.toml").cutter.neck_diameter == 5.2  # as written: "5.2 mm"


REQUIRED = [(t, k) for t, m in Job.model_fields.items() if m.is_required()
            for k, f in m.annotation.model_fields.items() if f.is_required()]  # type: ignore[union-attr]  # fmt: skip


def test_what_is_required_is_what_the_job_file_says() -> None:
    """Count by hand from the description of the job file: [job] number; two of [work]; seven of [slot];
    eight of [cutter], its teeth too, less rake, which face_offset may stand for; three of [machine]."""
    count = {
        t: sum(x == t for x, _ in REQUIRED) for t in ("job", "work", "slot", "cutter", "machine")
    }
    assert count == {"job": 1, "work": 2, "slot": 7, "cutter": 8, "machine": 3}


@pytest.mark.parametrize(("table", "key"), REQUIRED)
def test_a_missing_key_is_named(table: str, key: str) -> None:
    one_line(edited(**{f"{table}__{key}": ...}), f"[{table}] {key}", "is missing")


def test_a_cutter_left_open_is_told_who_proposes_one() -> None:
    cutter = {"material": "hss-m2"}
    lines = lines_of({**copy.deepcopy(GOOD), "cutter": cutter})
    asked = [x for x in lines if "is missing" in x]
    assert len(asked) == 7 and asked == lines[:-1]  # of the eight that are required, less material
    assert lines[-1].startswith("f.toml: [cutter]: ") and "loadsim grind JOB" in lines[-1]


@pytest.mark.parametrize("table", ["job", "work", "slot", "cutter", "machine"])
def test_a_missing_table_is_named(table: str) -> None:
    data = copy.deepcopy(GOOD)
    del data[table]
    one_line(data, f"[{table}]", "is missing")


@pytest.mark.parametrize("table", ["cut", "target"])
def test_an_optional_table_may_be_left_out(table: str) -> None:
    data = copy.deepcopy(GOOD)
    del data[table]
    job_from_dict(data, "f.toml")


@pytest.mark.parametrize(("table", "right", "wrong"), [
    ("slot", "throat_width", "throat_widht"), ("cutter", "neck_diameter", "neck_diametre"), ("cut", "feed_per_tooth", "feed_per_toth"),
    ("machine", "handwheel", "hand_wheel"), ("machine", "wheel_force", "weel_force"), ("cutter", "head_fillet", "head_filet"),
    ("job", "slots_per_part", "slot_per_part"), ("target", "wall_error", "wallerror"), ("work", "kc11", "kc1.1"),
])  # fmt: skip
def test_a_misspelt_key_gets_a_suggestion(table: str, right: str, wrong: str) -> None:
    found = [x for x in lines_of(edited(**{f"{table}__{wrong}": "1 mm"})) if wrong in x]
    assert len(found) == 1
    assert f"did you mean {right}?" in found[0]


@pytest.mark.parametrize("wrong", ["cuter", "Slot", "machines"])
def test_a_misspelt_table_gets_a_suggestion(wrong: str) -> None:
    right = {"cuter": "cutter", "Slot": "slot", "machines": "machine"}[wrong]
    data = copy.deepcopy(GOOD)
    data[wrong] = data.pop(right)
    found = [x for x in lines_of(data) if f"[{wrong}]" in x]
    assert len(found) == 1
    assert f"did you mean {right}?" in found[0]


@pytest.mark.parametrize(("key", "given"), [
    ("work__lubrication", "brsh"), ("cut__direction", "convential"), ("machine__feed", "hnd"), ("job__units", "metrc"),
])  # fmt: skip
def test_a_misspelt_word_gets_the_choices(key: str, given: str) -> None:
    table, name = key.split("__")
    one_line(edited(**{key: given}), f"[{table}] {name}", given, "allowed", "did you mean")


QUANTITIES = [
    ("slot", "throat_width", "6 mm"), ("slot", "undercut_width", "6 mm"), ("slot", "depth", "6 mm"), ("slot", "length", "6 mm"),
    ("cutter", "head_diameter", "6 mm"), ("cutter", "head_height", "6 mm"), ("cutter", "neck_diameter", "6 mm"),
    ("cutter", "neck_length", "6 mm"), ("cutter", "neck_fillet", "6 mm"), ("cutter", "head_fillet", "6 mm"), ("cutter", "shank_diameter", "6 mm"),
    ("cutter", "stickout", "6 mm"), ("cutter", "rake", "8 deg"), ("cutter", "relief", "8 deg"), ("cutter", "runout", "6 mm"),
    ("machine", "max_spindle_speed", "4000 rpm"), ("machine", "spindle_power", "750 W"), ("machine", "handwheel", "5 mm"),
    ("machine", "stiffness", "20 N/um"), ("machine", "wheel_force", "12 N"), ("cut", "spindle_speed", "4200 rpm"), ("cut", "feed_per_tooth", "0.01 mm/tooth"),
    ("cut", "feed_rate", "40 mm/min"), ("cut", "stepover", "6 mm"), ("target", "wall_error", "0.1 mm"), ("work", "kc11", "800 MPa"),
]  # fmt: skip
by_quantity = pytest.mark.parametrize(("table", "key", "like"), QUANTITIES)


@by_quantity
@pytest.mark.parametrize(
    "bare",
    [
        6,
        6.5,
        "6",
        " 6.5 ",
        True,
        None,
        "",
        [],
        {},
        "six mm",
        "6,5 mm",
        "1e999 mm",
        "1_0 mm",
        "0x10 mm",
    ],
)
def test_what_is_not_a_quantity_is_refused(table: str, key: str, like: str, bare: Any) -> None:
    if bare is None and key not in ("throat_width", "depth"):
        pytest.skip("TOML has no null")
    found = [x for x in lines_of(edited(**{f"{table}__{key}": bare})) if f"[{table}] {key}" in x]
    assert len(found) == 1, found


@by_quantity
@pytest.mark.parametrize("bare", [6, 6.5, "6"])
def test_a_number_without_a_unit_is_told_which_unit(
    table: str, key: str, like: str, bare: Any
) -> None:
    found = [x for x in lines_of(edited(**{f"{table}__{key}": bare})) if f"[{table}] {key}" in x]
    assert "unit" in found[0]
    assert like.split()[1].split("/")[0] in found[0] or "N/mm^2" in found[0]


@by_quantity
def test_the_wrong_dimension_is_refused(table: str, key: str, like: str) -> None:
    wrong = "3 s"  # no key of a job file is a time
    found = [x for x in lines_of(edited(**{f"{table}__{key}": wrong})) if f"[{table}] {key}" in x]
    assert len(found) == 1
    assert "3 s" in found[0]


MAY_BE_ZERO = {
    ("cutter", "rake"),
    ("cutter", "runout"),
    ("machine", "backlash"),
    ("cutter", "corner_radius"),
}
MAY_BE_NEGATIVE = {("cutter", "rake")}


@by_quantity
@pytest.mark.parametrize("number", ["-3", "0", "nan", "inf", "-inf", "1e-12", "1e15"])
def test_negative_zero_not_finite_and_absurd_sizes_are_refused(
    table: str, key: str, like: str, number: str
) -> None:
    if (number == "0" and (table, key) in MAY_BE_ZERO) or (
        number == "-3" and (table, key) in MAY_BE_NEGATIVE
    ):
        pytest.skip("allowed for this key")
    if number == "1e-12" and (table, key) in MAY_BE_ZERO:
        pytest.skip("as good as zero, which is allowed for this key")
    given = f"{number} {like.split()[1]}"
    found = [x for x in lines_of(edited(**{f"{table}__{key}": given})) if f"[{table}] {key}: " in x]
    assert len(found) == 1, found
    assert ("allowed is" in found[0]) or ("finite" in found[0]), found[0]


@pytest.mark.parametrize(("key", "bad"), [
    ("cutter__teeth", 0), ("cutter__teeth", -2), ("cutter__teeth", 2.5), ("cutter__teeth", "2"), ("cutter__teeth", True),
    ("cutter__teeth", 10**30), ("slot__sides", 3), ("slot__sides", "2"), ("slot__sides", True), ("slot__sides", 1.0), ("slot__open_ends", False), ("slot__open_ends", 3),
    ("slot__open_ends", -1), ("cutter__hardness", float("nan")), ("cutter__hardness", float("inf")),
    ("cutter__hardness", -1), ("cutter__hardness", 900), ("target__snap_probability", 0), ("target__snap_probability", 1.0),
    ("target__snap_probability", -0.1), ("target__snap_probability", float("nan")), ("target__snap_probability", "0.01"),
    ("job__quantity", 0), ("job__quantity", 1.5), ("cut__predrill", "yes"), ("cut__predrill", 1), ("job__number", ""),
    ("job__number", 12), ("job__number", "two\nlines"), ("job__part", "esc\x1b[31m"), ("job__number", "x" * 1000), ("work__material", ""),
    ("work__material", "a\x00b"), ("work__radial_ratio", 0), ("work__radial_ratio", float("inf")), ("work__spread", -0.1),
    ("work__spread", 10**400), ("job__slots_per_part", 0), ("job__slots_per_part", 1001), ("job__slots_per_part", 2.0),
    ("job__slots_per_part", "4"), ("job__slots_per_part", True), ("machine__holder", "magnet"), ("machine__holder", 1),
    ("machine__wheel_force", "0.09 N"), ("machine__wheel_force", "501 N"), ("cutter__head_fillet", "0.0049 mm"), ("cutter__head_fillet", "21 mm"),
])  # fmt: skip
def test_bad_counts_ratios_and_texts_are_refused(key: str, bad: Any) -> None:
    table, name = key.split("__")
    one_line(edited(**{key: bad}), f"[{table}] {name}")


def test_a_million_letters_give_a_short_line() -> None:
    one_line(edited(job__number="x" * 900_000), "[job] number", "120")


# ---- what does not fit together


@pytest.mark.parametrize(("changes", "key", "words"), [
    ({"cutter__head_diameter": "10.51 mm"}, "[cutter] head_diameter", ("10.51", "10.4", "10.5 mm", "undercut_width")),
    ({"cutter__head_height": "2.71 mm"}, "[cutter] head_height", ("2.71", "2.6", "2.7 mm", "undercut_height")),
    ({"cutter__neck_diameter": "6.2 mm"}, "[cutter] neck_diameter", ("6.2", "throat_width")),
    ({"cutter__neck_diameter": "6.3 mm"}, "[cutter] neck_diameter", ("6.3", "6.2", "throat_width")),
    ({"cutter__shank_diameter": "5 mm"}, "[cutter] neck_diameter", ("5.2", "shank_diameter")),
    ({"cutter__stickout": "7.9 mm"}, "[cutter] stickout", ("7.9", "8 mm", "neck_length")),
    ({"cutter__corner_radius": "1.4 mm"}, "[cutter] corner_radius", ("1.4", "1.3")),
    ({"cutter__neck_fillet": "6 mm"}, "[cutter] neck_fillet", ("6 mm", "step")),
    ({"cutter__head_fillet": "6 mm"}, "[cutter] head_fillet", ("6 mm", "step", "2.6 mm")),  # (10.4 - 5.2)/2
    ({"machine__feed": "cnc", "machine__wheel_force": "9 N"}, "[machine] wheel_force", ("cnc", "handwheel", "leave it out")),
    ({"machine__feed": "power", "machine__wheel_force": "9 N"}, "[machine] wheel_force", ("power", 'feed = "hand"')),
    ({"slot__undercut_width": "6.2 mm", "cutter__head_diameter": "6.2 mm"}, "[slot] undercut_width", ("6.2", "throat_width")),
    ({"slot__undercut_height": "7.4 mm"}, "[slot] undercut_height", ("7.4", "depth")),
    ({"slot__throat_depth": "4.7 mm"}, "[slot] throat_depth", ("4.7", "4.8", "7.4")),
    ({"slot__throat_depth": "7.5 mm"}, "[slot] throat_depth", ("7.5", "4.8", "7.4")),
    ({"cutter__rake": ...}, "[cutter] rake", ("missing", "face_offset")),
    ({"cutter__face_offset": "0.2 mm"}, "[cutter] rake", ("face_offset", "one of the two")),
    ({"cutter__rake": ..., "cutter__face_offset": "4 mm"}, "[cutter] face_offset", ("4 mm", "radius")),
    ({"cut__feed_rate": "40 mm/min"}, "[cut] feed_rate", ("feed_per_tooth", "one of the two")),
    ({"work__kc11": "800 MPa"}, "[work] mc", ("missing", "kc11")),
    ({"work__mc": 0.2}, "[work] kc11", ("missing", "mc")),
    ({"work__rake_reference": "0 deg"}, "[work] rake_reference", ("kc11",)),
    ({"cut__spindle_speed": "2900 rpm"}, "[cut] spindle_speed", ("2900 rpm", "80", "2800 rpm")),
    ({"cut__spindle_speed": "70 rpm"}, "[cut] spindle_speed", ("70 rpm", "80", "2800 rpm")),
    ({"machine__min_spindle_speed": "2900 rpm", "cut__spindle_speed": ...}, "[machine] min_spindle_speed", ("2900", "2800")),
])  # fmt: skip
def test_what_does_not_fit_together_is_said(
    changes: dict[str, Any], key: str, words: tuple[str, ...]
) -> None:
    found = [x for x in lines_of(edited(**changes)) if x.startswith(f"f.toml: {key}: ")]
    assert len(found) == 1, found
    assert [w for w in words if w not in found[0]] == [], found[0]


@pytest.mark.parametrize("changes", [
    {"slot__throat_depth": "4.8 mm"}, {"slot__throat_depth": "7.4 mm"}, {"cutter__stickout": "8 mm"}, {"cutter__corner_radius": "1.3 mm"},
    {"cut__spindle_speed": "2800 rpm"}, {"cut__spindle_speed": "80 rpm"}, {"cutter__head_diameter": "10.4 mm"},
])  # fmt: skip
def test_the_very_edge_of_what_fits_is_accepted(changes: dict[str, Any]) -> None:
    job_from_dict(edited(**changes), "f.toml")


def test_the_fillet_at_the_head_sits_in_its_own_step() -> None:
    """Neck 5.2: the shank of 18 leaves a step of 6.4, the head of 10.4 one of 2.6; at most twice the step or the neck, 5.2."""
    shank = {"cutter__shank_diameter": "18 mm"}
    job_from_dict(edited(**shank, cutter__neck_fillet="12.8 mm", cutter__head_fillet="5.2 mm"), "f")
    one_line(edited(**shank, cutter__head_fillet="5.3 mm"), "[cutter] head_fillet", "2.6 mm")


@pytest.mark.parametrize(("given", "meant"), [("set screw", "side-lock"), ("er", "collet")])
def test_what_a_shop_calls_its_holder_is_told(given: str, meant: str) -> None:
    one_line(edited(machine__holder=given), "[machine] holder", given, f"write {meant}")


def test_new_keys_are_read() -> None:
    """1 lbf is 4.448222 N (NIST SP 811 app. B, memory high)."""
    job = job_from_dict(
        edited(
            job__slots_per_part=3,
            cutter__head_fillet="0.25 mm",
            machine__wheel_force="2 lbf",
            machine__holder="side-lock",
        ),
        "f",
    )
    assert (job.job.slots_per_part, job.cutter.head_fillet) == (3, 0.25)
    assert job.machine.wheel_force == pytest.approx(8.896443)
    assert job.machine.holder == "side-lock"
    silent = job_from_dict(GOOD, "f")
    assert (silent.job.slots_per_part, silent.cutter.head_fillet) == (None, None)
    assert (silent.machine.wheel_force, silent.machine.holder) == (None, None)


@pytest.mark.closed_form("a face e past the centre of a head of radius R: sin(rake) = e/R")
def test_the_rake_is_given_or_follows_from_the_face() -> None:
    # head 10.4, face 1.3 past the centre: asin(1.3/5.2) = asin(1/4)
    ground = job_from_dict(edited(cutter__rake=..., cutter__face_offset="1.3 mm"), "f")
    assert math.degrees(rake_of(ground.cutter)) == pytest.approx(14.4775122)
    assert math.degrees(rake_of(job_from_dict(GOOD, "f").cutter)) == pytest.approx(10)


@pytest.mark.closed_form("parts times slots a part, one where nothing is said")
@pytest.mark.parametrize(("parts", "each", "slots"), [(5, 4, 20), (5, ..., 5), (..., 4, 4), (..., ..., 1)])  # fmt: skip
def test_a_batch_is_parts_times_slots(parts: Any, each: Any, slots: int) -> None:
    data = edited(job__quantity=parts)
    if each is not ...:
        data["job"]["slots_per_part"] = each
    assert job_from_dict(data, "f").slots_in_batch == slots


TRIAL = {
    "spindle_speed": "2600 rpm",
    "feed_per_tooth": "0.01 mm/tooth",
    "length": "118 mm",
    "outcome": "survived",
}


def test_slots_of_a_test_cut_are_counted() -> None:
    def first(**more: Any) -> int:
        return job_from_dict({**GOOD, "trial": [TRIAL | more]}, "f").trial[0].slots

    assert (first(), first(slots=12), first(slots=12, outcome="snapped")) == (1, 12, 12)


@pytest.mark.parametrize("bad", [0, -1, 2.0, "12", True, 100_001])
def test_slots_that_cannot_be_are_refused(bad: Any) -> None:
    one_line({**GOOD, "trial": [TRIAL, TRIAL | {"slots": bad}]}, "[[trial]] 2 slots")


HOLES = {
    "diameter": "1.5 mm",
    "offsets": ["-4.2 mm", "4.2 mm"],
    "height": "1.3 mm",
    "depth": "40 mm",
}


@pytest.mark.parametrize(("change", "key", "words"), [
    ({"height": "0.7 mm"}, "[predrill] height", ("0.7", "0.75")),  # less than the hole's own radius
    ({"height": "1.9 mm"}, "[predrill] height", ("1.9", "1.85")),
    ({"offsets": ["4.5 mm"]}, "[predrill] offsets", ("4.5", "4.45")),  # 5.2 - 0.75
    ({"offsets": ["3 mm", "4.2 mm"]}, "[predrill] offsets", ("3 mm", "4.2", "diameter")),
    ({"offsets": ["4 mm", "4 mm"]}, "[predrill] offsets", ("4 mm", "diameter")),
    ({"offsets": []}, "[predrill] offsets", ("at least one",)),
    ({"offsets": ["1 mm"] * 99}, "[predrill] offsets", ("12",)),
    ({"offsets": "4 mm"}, "[predrill] offsets", ("list",)),
    ({"offsets": [4]}, "[predrill] offsets", ("unit",)),
    ({"diameter": "0 mm"}, "[predrill] diameter", ("allowed is",)),
    ({"depth": "-1 mm"}, "[predrill] depth", ("allowed is",)),
])  # fmt: skip
def test_holes_that_cannot_be_are_refused(
    change: dict[str, Any], key: str, words: tuple[str, ...]
) -> None:
    one_line({**GOOD, "predrill": HOLES | change}, key, *words)


def test_holes_need_an_open_end() -> None:
    job_from_dict({**GOOD, "predrill": HOLES}, "f.toml")
    one_line({**edited(slot__open_ends=0), "predrill": HOLES}, "[predrill]", "open")


def test_all_problems_stand_in_one_list() -> None:
    data = edited(
        slot__throat_width=...,
        cutter__neck_diameter="7",
        cutter__teth=2,
        machine__feed="foot",
        cutter__stickout="1 km",
        target__snap_probability=2.0,
        cut__spindle_speed="nan rpm",
    )
    data["extra"] = {"x": 1}
    lines = "\n".join(lines_of(data))
    for key in (
        "[slot] throat_width",
        "[cutter] neck_diameter",
        "[cutter] teth",
        "[machine] feed",
        "[cutter] stickout",
        "[target] snap_probability",
        "[cut] spindle_speed",
        "[extra]",
    ):
        assert lines.count(f"f.toml: {key}: ") == 1, (key, lines)


def test_a_wrong_key_does_not_hide_what_does_not_fit() -> None:
    lines = "\n".join(
        lines_of(edited(machine__feed="foot", cutter__stickout="1 mm", slot__throat_depth="1 mm"))
    )
    assert "[machine] feed" in lines
    assert "[cutter] stickout" in lines
    assert "[slot] throat_depth" in lines


# ---- files


def problem_of(path: Path, data: bytes | None = None) -> str:
    if data is not None:
        path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_job(path)
    line = "\n".join(caught.value.lines())
    assert line.startswith(f"{path}: ")
    return line.removeprefix(str(path))


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    assert "does not exist" in problem_of(tmp_path / "none.toml")


def test_a_directory(tmp_path: Path) -> None:
    assert "is a directory" in problem_of(tmp_path)


@pytest.mark.skipif(
    os.name != "posix" or os.geteuid() == 0, reason="the superuser can read everything"
)
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(TEXT, encoding="utf-8")
    path.chmod(0)
    assert "permission" in problem_of(path)


@pytest.mark.parametrize(("data", "word"), [
    (b"\xff\xfe\x00j", "UTF-8"), ("number = \"é\"".encode("latin-1"), "UTF-8"), (TEXT.encode("utf-16"), "UTF-8"),
    (b"hello, lathe", "TOML"), (b"{\"job\": 1}", "TOML"), (b"[job\n", "write: [job]"), (b"<html>", "TOML"), (b"\x00" * 100, "TOML"),
    (b"[job]\nnumber = \"1\"\nnumber = \"2\"\n", "TOML"), (b"[job]\n[job]\n", "TOML"), (b"a = " + b"[" * 5000, "TOML"),
    (b"a = " + b"{a = " * 5000, "TOML"), (b"x" * 256_001, "256 kB"), (b"teeth = " + b"9" * 5000, "TOML"),
])  # fmt: skip
def test_what_is_not_a_job_file(tmp_path: Path, data: bytes, word: str) -> None:
    assert word in problem_of(tmp_path / "job.toml", data)


def test_an_empty_file_is_told_which_tables_it_needs(tmp_path: Path) -> None:
    line = problem_of(tmp_path / "job.toml", b"")
    assert [t for t in ("job", "work", "slot", "cutter", "machine") if f"[{t}]" not in line] == []


def test_a_table_that_is_a_list_or_a_number(tmp_path: Path) -> None:
    assert "[slot]" in problem_of(tmp_path / "a.toml", TEXT.replace("[slot]", "[[slot]]").encode())
    assert "[job]" in problem_of(tmp_path / "b.toml", b"job = 3")


def test_a_very_deep_key_is_refused_and_not_echoed_whole(tmp_path: Path) -> None:
    line = problem_of(tmp_path / "job.toml", b"a." * 2000 + b"b = 1\n" + TEXT.encode())
    assert len(line) < 300


def test_a_key_with_control_characters_does_not_reach_the_terminal(tmp_path: Path) -> None:
    line = problem_of(
        tmp_path / "job.toml", TEXT.replace("[job]", '[job]\n"\\u001b[31m" = 1').encode()
    )
    assert line.isprintable()


def test_a_key_that_is_a_space_is_shown_as_what_it_is(tmp_path: Path) -> None:
    text = TEXT.replace("[cutter]", '[cutter]\n"\u00a0" = 1')
    line = problem_of(tmp_path / "job.toml", text.encode())
    assert line.isprintable() and "[cutter] \\xa0: is not a known key" in line


@pytest.mark.parametrize("text", ["\ufeff" + TEXT, TEXT.replace("\n", "\r\n")])
def test_byte_order_mark_and_dos_line_ends_are_read(tmp_path: Path, text: str) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(text.encode())
    assert read_job(path) == job_from_text(TEXT, "f")


# ---- units


# the spellings a job file is promised to take, with their size from the definitions (inch 25.4 mm and pound 0.45359237 kg,
# NIST SP 811 app. B, memory high; hp 745.69987 W, the same; turn = 2 pi rad)
@pytest.mark.parametrize(("path", "text", "size"), [
    ("cutter__neck_diameter", "2.4 mm", 2.4), ("cutter__neck_diameter", "3/32 in", 2.38125), ("cutter__neck_diameter", "0.2 in", 5.08),
    ("cutter__neck_diameter", "1-3/64 in", None), ("cutter__runout", "0.0004 in", 0.01016), ("cutter__edge_radius", "12 um", 0.012),
    ("cutter__runout", "0.4 thou", 0.01016), ("cut__spindle_speed", "2100 rpm", 219.911485751),
    ("cut__feed_per_tooth", "0.012 mm/tooth", 0.012), ("cut__feed_per_tooth", "0.0004 in/tooth", 0.01016),
    ("cutter__rake", "35 deg", 0.610865238), ("machine__stiffness", "20 N/um", 20_000.0), ("machine__spindle_power", "1.1 kW", 1.1e6),
    ("machine__spindle_power", "750 W", 750e3), ("machine__spindle_power", "1.5 hp", 1_118_549.807),
    ("slot__length", "2 in", 50.8), ("slot__length", "0.1 m", 100.0), ("slot__length", "8 cm", 80.0),
])  # fmt: skip
def test_every_promised_unit_is_read(path: str, text: str, size: float | None) -> None:
    table, key = path.split("__")
    data = edited(**{path: text})
    if size is None:  # read as a quantity, and then too thick: the size is in the message
        assert "26.5906 mm" in lines_of(data)[0]  # 67/64 in
        return
    assert getattr(getattr(job_from_dict(data, "f"), table), key) == pytest.approx(size, rel=1e-8)


@pytest.mark.parametrize(("text", "size"), [
    ("40 mm/min", 0.6666666667), ("2.5 in/min", 1.0583333333), ("0.03 m/min", 0.5), ("0.1 ft/min", 0.508),
])  # fmt: skip
def test_every_promised_unit_of_the_table_feed_is_read(text: str, size: float) -> None:
    job = job_from_dict(edited(cut__feed_per_tooth=..., cut__feed_rate=text), "f")
    assert job.cut.feed_rate == pytest.approx(size, rel=1e-8)


@pytest.mark.parametrize(
    ("text", "size"),
    [("800 N/mm^2", 800.0), ("800 MPa", 800.0), ("0.8 GPa", 800.0), ("116 ksi", 799.791846)],
)
def test_every_promised_unit_of_the_force_constant_is_read(text: str, size: float) -> None:
    job = job_from_dict(
        edited(work__kc11=text, work__mc=0.2, work__rake_reference="0 deg", work__spread=0.2), "f"
    )
    assert job.work.kc11 == pytest.approx(size, rel=1e-8)


@pytest.mark.parametrize("text", ["2 mil", "2 mils", "0.02 mm/rev", "0.001 ipr"])
def test_a_unit_with_two_meanings_is_refused_with_its_reason(text: str) -> None:
    one_line(edited(cut__feed_per_tooth=text), "[cut] feed_per_tooth", "write")


# ---- changes from inside


def test_a_change_from_inside_is_validated_too() -> None:
    job = job_from_dict(GOOD, "f")
    assert changed(job, {"cutter.neck_diameter": 5.0}).cutter.neck_diameter == 5.0
    assert changed(job, {"cut.feed_per_tooth": None}).cut.feed_per_tooth is None
    for bad in (
        {"cutter.neck_diameter": 9.0},
        {"cutter.neck_diameter": float("nan")},
        {"cutter.nck": 1.0},
        {"slot.depth": -1.0},
    ):
        with pytest.raises(InputError):
            changed(job, bad)  # type: ignore[arg-type]


def test_a_bare_float_is_taken_from_inside_only() -> None:
    data = job_from_dict(GOOD, "f").model_dump(exclude_none=True)
    assert job_from_dict(data, "f", inside=True) == job_from_dict(GOOD, "f")
    with pytest.raises(InputError):
        job_from_dict(data, "f")


def test_a_job_cannot_be_changed_in_place() -> None:
    job = job_from_dict(GOOD, "f")
    with pytest.raises(ValueError, match="frozen"):
        job.cutter.neck_diameter = 1.0


def test_units_example_of_every_dimension_is_what_messages_recommend() -> None:
    for dimension in units.UNITS:
        units.parse(units.example(dimension), dimension)


@pytest.mark.parametrize(
    ("rake", "relief", "says"),
    [
        # 90 less both: 45 and 45 leave nothing, 40 and 36 leave 14, 40 and 35 just enough
        ("45 deg", "45 deg", "leave a wedge of 0 deg (rake 45 deg, relief 45 deg)"),
        ("40 deg", "36 deg", "leave a wedge of 14 deg (rake 40 deg, relief 36 deg)"),
        ("40 deg", "35 deg", ""),
    ],
)
def test_rake_and_relief_leave_a_wedge(rake: str, relief: str, says: str) -> None:
    text = example("t-track")
    text = re.sub(r"(?m)^rake +=.*$", f'rake = "{rake}"', text)
    text = re.sub(r"(?m)^relief +=.*$", f'relief = "{relief}"', text)
    if not says:
        job_from_text(text, "job")
        return
    with pytest.raises(InputError) as told:
        job_from_text(text, "job")
    assert f"[cutter] rake: and relief {says}" in str(told.value)
    assert "at least 15 deg: grind one of the two less steep" in str(told.value)


def test_material_paths_lead_from_the_job_files_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = example("t-track").replace('"al-6061-o"', '"own.toml"').replace('"hss-m2"', '"b/x.toml"')
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs" / "job.toml").write_text(text, "utf-8")
    monkeypatch.chdir(tmp_path)
    for found in (read_job("jobs/job.toml"), read_draft("jobs/job.toml").job):
        assert Path(found.work.material) == Path("jobs/own.toml")
        assert Path(found.cutter.material) == Path("jobs/b/x.toml")
        assert first_name(found.work.material) == "own.toml"
    assert read_draft("jobs/job.toml").data["work"]["material"] == found.work.material
    data = read_draft("jobs/job.toml").data
    assert seen_from(data, Path("out/deep"))["work"]["material"] == "../../jobs/own.toml"
    assert seen_from(data, Path("jobs"))["cutter"]["material"] == "b/x.toml"
    absolute = text.replace('"own.toml"', f'"{tmp_path}/own.toml"').replace("b/x.toml", "hss-m2")
    (tmp_path / "jobs" / "job.toml").write_text(absolute, "utf-8")
    found = read_job("jobs/job.toml")
    assert (found.work.material, found.cutter.material) == (f"{tmp_path}/own.toml", "hss-m2")

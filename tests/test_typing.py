"""Slips of typing in a job file: each is answered with what to write, against words written here."""

from __future__ import annotations

import copy
import math
import re
import tomllib
from typing import Any

import pytest

from loadsim import check
from loadsim.base.errors import InputError
from loadsim.job.read import job_from_dict, job_from_text, read_draft
from loadsim.job.rules_cutter import relations
from loadsim.job.write import example
from loadsim.materials.describe import describe
from loadsim.materials.load import load_blank, load_work

METRIC, INCH = (tomllib.loads(example(x)) for x in ("t-track", "one-sided"))


def lines(data: dict[str, dict[str, Any]], table: str, key: str, value: Any) -> list[str]:
    data = copy.deepcopy(data)
    if value is ...:
        del data[table][key]
    else:
        data.setdefault(table, {})[key] = value
    with pytest.raises(InputError) as caught:
        job_from_dict(data, "f")
    return [x for x in caught.value.lines() if x.startswith(f"f: [{table}] {key}: ")]


@pytest.mark.parametrize(("table", "key", "value", "told"), [
    ("slot", "sides", "1", "write 1 without quotes"), ("cutter", "teeth", "2", "write 2 without quotes"),
    ("cut", "predrill", "yes", "write true without quotes"), ("target", "snap_probability", "1%", "write a share of 1 without quotes: 0.01"),
    ("target", "snap_probability", "0.5 %", ": 0.005"), ("target", "snap_probability", "0.01", "write 0.01 without quotes"),
    ("cut", "direction", "up", "write conventional (up milling is conventional, down milling is climb)"), ("cut", "direction", "down", "write climb"),
    ("machine", "feed", "manual", "write hand"), ("job", "units", "imperial", "write inch"), ("work", "lubrication", "coolant", "write flood"),
])  # fmt: skip
def test_a_slip_is_answered_with_what_to_write(table: str, key: str, value: Any, told: str) -> None:
    (line,) = lines(METRIC, table, key, value)
    assert told in line


@pytest.mark.parametrize(("data", "value", "rpm", "head"), [
    (METRIC, "70 sfm", 70 * 304.8 / (math.pi * 10.4), "10.400 mm"),  # feet are 304.8 mm, the head is 10.4 mm: 653 rpm
    (INCH, "70 sfm", 70 * 12 / (math.pi * 0.5), "0.5000 in"), (METRIC, "30 m/min", 30000 / (math.pi * 10.4), "10.400 mm"),
])  # fmt: skip
def test_a_surface_speed_is_turned_into_rpm_on_this_head(
    data: Any, value: str, rpm: float, head: str
) -> None:
    (line,) = lines(data, "cut", "spindle_speed", value)
    assert "surface speed" in line and f'"{rpm:.0f} rpm"' in line and head in line


@pytest.mark.parametrize(("old", "new", "told"), [
    ('throat_width = "6.2 mm"', "throat_width = 5/8 in", 'throat_width = "5/8 in"'), ('depth = "7.4 mm"', "depth = 7.4 mm  # floor", 'depth = "7.4 mm"'),
    ('feed = "hand"', "feed = hand", 'feed = "hand"'),
])  # fmt: skip
def test_a_quantity_without_quotes_is_told_with_its_line(
    old: str, new: str, told: str, tmp_path: Any
) -> None:
    text = example("t-track").replace(old, new, 1)
    number = next(i for i, x in enumerate(text.splitlines(), 1) if new in x)
    file = tmp_path / "job.toml"
    file.write_text(text)
    for read in (lambda: job_from_text(text, "f"), lambda: read_draft(file)):
        with pytest.raises(InputError) as caught:
            read()
        (line,) = caught.value.lines()
        assert f"line {number}: " in line and f"put it in quotes: {told}" in line


@pytest.mark.parametrize(("name", "line", "told"), [
    ("one-sided", "depth = .125", 'has no quotes; put it in quotes, with its unit: depth = ".125 in"'),
    ("t-track", "depth = .125", 'with its unit: depth = ".125 mm"'),
    ("one-sided", "depth = 3/8", 'with its unit: depth = "3/8 in"'),
    ("t-track", "depth = “1/8 in”", 'has curly quotes; write it with straight ones: depth = "1/8 in"'),
    ("t-track", "depth = „7 mm“  # floor", 'straight ones: depth = "7 mm"'),
    ("t-track", 'depth = 1/8"', 'has quotes that do not pair; write: depth = "1/8 in"'),
    ("t-track", 'depth = "1/8""', 'write: depth = "1/8 in"'),
    ("t-track", 'depth = "7.4 mm', 'has quotes that do not pair; write: depth = "7.4 mm"'),
    ("t-track", 'depth = 7.4 mm"', 'has quotes that do not pair; write: depth = "7.4 mm"'),
    ("t-track", "depth = '7.4 mm  # floor", 'write: depth = "7.4 mm"'),
    ("t-track", "depth = 3,5", 'has a comma; put it in quotes with a point, and nothing between thousands: depth = "3.5 mm"'),
    ("t-track", "depth = 3,5 mm", 'thousands: depth = "3.5 mm"'),
    ("t-track", "depth 7.4 mm", 'has no equals sign; write: depth = "7.4 mm"'),
    ("t-track", "depth: 7.4 mm", 'has no equals sign; write: depth = "7.4 mm"'),
    ("t-track", "depth =", "a line is a key, an equals sign and a value in quotes"),
    ("t-track", "= 3", "is not TOML (invalid statement)"),
    ("t-track", 'depth = "7 mm" "x"', "is not TOML (expected newline"),
    ("t-track", 'depth = "7 mm"\ndepth = "8 mm"', "stands in the file twice; keep one of the two"),
])  # fmt: skip
def test_a_line_that_is_not_toml_is_told_with_what_to_write(
    name: str, line: str, told: str
) -> None:
    text = re.sub(r"(?m)^depth = .*$", lambda _: line, example(name), count=1)
    number = next(i for i, x in enumerate(text.splitlines(), 1) if x == line.split("\n")[-1])
    with pytest.raises(InputError) as caught:
        job_from_text(text, "f")
    (said,) = caught.value.lines()
    assert said.startswith(f"f: line {number}: {line.split(chr(10))[-1].split('  #')[0]} ")
    assert told in said and "column" not in said


@pytest.mark.parametrize(("old", "new", "told"), [
    ("[slot]", "[slot", "write: [slot]"), ("[slot]", "[[slot", "write: [slot]"),
    ("max_spindle_speed = .*", "max_spindle_speed = 2,800 rpm", 'max_spindle_speed = "2800 rpm"'),
    ("spindle_power = .*", "spindle_power = 1-1/2", 'spindle_power = "1-1/2 kW"'),
    ("snap_probability = .*", "snap_probability = .02", "write: snap_probability = 0.02"),
    ("direction = .*", "predrill = Yes", "write: predrill = true"),
])  # fmt: skip
def test_a_line_of_another_kind_is_told_as_its_key_takes_it(old: str, new: str, told: str) -> None:
    pattern = re.escape(old) if old.startswith("[") else f"(?m)^{old}$"
    text = re.sub(pattern, lambda _: new, example("t-track"), count=1)
    with pytest.raises(InputError) as caught:
        job_from_text(text, "f")
    (said,) = caught.value.lines()
    assert said.endswith(told), said


def test_a_quote_missing_at_the_end_of_a_file_is_found() -> None:
    text = '[job]\nnumber = "1"\n[slot]\ndepth = "7 mm'
    with pytest.raises(InputError, match=r'f: line 4: .*write: depth = "7 mm"$'):
        job_from_text(text, "f")


@pytest.mark.parametrize(
    "line",
    [
        "depth = ١",
        "depth = " + "9" * 500,
        "depth = “”",
        'depth = """',
        "depth = \x1b[0m",
        "depth = 1e999 mm",
    ],
)
def test_odd_lines_are_answered_in_one_printable_line(line: str) -> None:
    text = re.sub(r"(?m)^depth = .*$", lambda _: line, example("t-track"), count=1)
    with pytest.raises(InputError) as caught:
        job_from_text(text, "f")
    assert all(x.isprintable() and len(x) < 400 for x in caught.value.lines())


def test_an_inch_job_gets_inch_examples_and_limits() -> None:
    assert "e.g. '0.094 in'" in lines(INCH, "cutter", "neck_diameter", "0.2")[0]
    assert 'e.g. neck_diameter = "0.094 in"' in lines(INCH, "cutter", "neck_diameter", ...)[0]
    assert 'with its unit, as in "0.2 in"' in lines(INCH, "cutter", "neck_diameter", 0.2)[0]
    wide = lines(INCH, "cutter", "neck_diameter", "9 in")  # 100 mm is 3.93701 in
    assert any("is 9 in; allowed is 0.00787402 to 3.93701 in" in x for x in wide), wide
    assert (
        "is 0.75 in (19.05 mm); it must not be over head_diameter, 0.5 in (12.7 mm)"
        in lines(INCH, "cutter", "neck_diameter", "0.75 in")[0]
    )
    assert (
        "is 19.05 mm (0.75 in); it must not be over head_diameter, 10.4 mm"
        in lines(METRIC, "cutter", "neck_diameter", "0.75 in")[0]
    )
    assert "e.g. '2.4 mm'" in lines(METRIC, "cutter", "neck_diameter", "0.2")[0]


def test_an_inch_answer_has_no_metric_but_in_brackets() -> None:
    """Chip packing, notes, what was assumed, and why no end hole fits: all in inch."""
    bare = {
        **INCH,
        "cutter": {
            k: v
            for k, v in INCH["cutter"].items()
            if k not in ("neck_fillet", "edge_radius", "runout")
        },
    }
    found = check(job_from_dict(bare, "f"))
    said = [
        *(x.note for x in found.limits),
        *found.warnings,
        found.predrill.why,
        found.feel,
        *found.advice,
    ]
    assert [x for x in said if " mm" in x or "N/mm" in x or "MPa" in x] == []
    assert any("lbf/thou at the collet" in x for x in said) and any(
        "stretched from thicker" in x for x in said
    )


def test_notes_start_in_plain_words() -> None:
    """What a reader needs first, no symbol and no abbreviation before the brackets."""
    for name in ("t-track", "thin-neck", "one-sided"):
        for note in check(job_from_text(example(name), name)).warnings:
            plain = note.split(" (")[0]
            assert plain[0].isupper(), note
            assert not [
                w
                for w in (
                    "k_c",
                    "K_t",
                    "HV",
                    "t/r",
                    "r/d",
                    "sigma",
                    "extrapolat",
                    "second moment",
                    "standard deviation",
                )
                if w in plain
            ], note


@pytest.mark.parametrize(("kind", "given", "meant"), [
    ("blank", "carbide", ("carbide-fine", "carbide-6co")), ("work", "1018", ("steel-1018",)), ("work", "4140", ("steel-4140", "steel-4140-ph")),
    ("blank", "m2", ("hss-m2",)), ("work", "steel-1019", ("steel-1018",)),
])  # fmt: skip
def test_a_part_of_a_name_offers_all_that_have_it(
    kind: str, given: str, meant: tuple[str, ...]
) -> None:
    for read in (
        lambda: (load_work if kind == "work" else load_blank)(given),
        lambda: describe(given),
    ):
        with pytest.raises(InputError) as caught:
            read()
        assert f"did you mean {' or '.join(meant)}?" in str(caught.value).replace("'", "")


def test_a_throat_that_ends_at_the_roof_is_warned_of() -> None:
    """Depth 7.4 mm less an undercut of 2.6 mm: the roof lies 4.8 mm down."""

    def said(depth: str) -> bool:
        data = copy.deepcopy(METRIC)
        data["slot"]["throat_depth"] = depth
        job = job_from_dict(data, "f")
        assert not relations(job)
        return any("also cuts the core under the throat" in x for x in check(job).warnings)

    assert said("4.8 mm") and not said("6 mm") and not said("7.4 mm")


@pytest.mark.parametrize(("data", "value", "rpm"), [
    (METRIC, "280 sfm", 280 * 304.8 / (math.pi * 10.4)),  # v = pi D n, feet are 304.8 mm, the head is 10.4 mm
    (METRIC, "250 ft/min", 250 * 304.8 / (math.pi * 10.4)), (METRIC, "75 m/min", 75000 / (math.pi * 10.4)),
    (INCH, "60 sfm", 60 * 12 / (math.pi * 0.5)),
])  # fmt: skip
@pytest.mark.closed_form("v = pi D n")
def test_a_surface_speed_in_cut_is_taken(data: Any, value: str, rpm: float) -> None:
    data = copy.deepcopy(data)
    data["cut"].pop("spindle_speed")
    data["cut"]["surface_speed"] = value
    job = job_from_dict(data, "f")
    assert job.cut.spindle_speed == pytest.approx(rpm * 2 * math.pi / 60, rel=1e-12)
    assert job.cut.surface_speed is None
    assert check(job).settings.spindle_speed_rpm == pytest.approx(rpm, rel=1e-6)
    assert job_from_dict(job.given or {}, "f") == job


@pytest.mark.parametrize(("value", "told"), [
    ("400 sfm", "makes 3731.6 rpm on this head of 10.4 mm (0.4094 in); the machine runs 80 to 2800 rpm"),
    (250, 'write the surface speed in quotes with its unit, as in "250 m/min"'),
    ("2600 rpm", "is an angular speed, but a surface speed is needed here"), ("9000 m/min", "allowed is 0.06 to 3000 m/min"),
])  # fmt: skip
def test_a_surface_speed_that_cannot_be_is_told(value: Any, told: str) -> None:
    data = copy.deepcopy(METRIC)
    del data["cut"]["spindle_speed"]
    (line,) = lines(data, "cut", "surface_speed", value)
    assert told in line


def test_a_surface_speed_beside_a_spindle_speed_is_one_too_many() -> None:
    (line,) = lines(METRIC, "cut", "surface_speed", "75 m/min")
    assert "is given together with spindle_speed; give one of the two" in line


@pytest.mark.parametrize(("key", "value", "name"), [
    ("dovetail_angle", "60 deg", "a dovetail"), ("dovetail", True, "a dovetail"), ("kind", "dovetail", "a dovetail"),
    ("keyseat", True, "a keyseat"), ("woodruff_number", "404", "a keyseat"), ("shape", "Woodruff keyseat", "a keyseat"),
    ("ring_diameter", "60 mm", "a ring groove"), ("arc_radius", "60 mm", "a ring groove"), ("type", "ring", "a ring groove"),
])  # fmt: skip
def test_another_slot_is_refused_by_name(key: str, value: Any, name: str) -> None:
    (line,) = lines(METRIC, "slot", key, value)
    assert f": asks for {name}. Straight slots only, T-shaped or undercut on one side: no" in line


def test_a_kind_of_slot_that_is_answered_for_is_told_how() -> None:
    (line,) = lines(METRIC, "slot", "kind", "straight")
    assert "write sides = 2 or 1" in line
    assert "asks for" not in lines(METRIC, "slot", "spring", "1 mm")[0]


def test_a_throat_as_wide_as_the_undercut_is_a_keyseat() -> None:
    (line,) = lines(METRIC, "slot", "undercut_width", "6.2 mm")
    assert "a keyseat, as wide above as below, is not answered for" in line


@pytest.mark.parametrize(("table", "typed", "name"), [
    ("work", "AL 6061 T6", "al-6061-t6"), ("work", "Al-6061-T6", "al-6061-t6"), ("work", "stainless_304", "stainless-304"),
    ("cutter", "HSS M2", "hss-m2"), ("cutter", "Carbide Fine", "carbide-fine"),
])  # fmt: skip
def test_a_material_is_known_in_any_case_and_with_spaces(table: str, typed: str, name: str) -> None:
    data = copy.deepcopy(METRIC)
    data[table]["material"] = typed
    job = job_from_dict(data, "f")
    assert getattr(job, table).material == name
    assert (job.given or {})[table]["material"] == typed  # as it was written


def test_a_part_of_a_name_is_not_taken_for_it() -> None:
    data = copy.deepcopy(METRIC)
    data["work"]["material"] = "6061"
    with pytest.raises(InputError, match="did you mean 'al-6061-o' or 'al-6061-t6'"):
        check(job_from_dict(data, "f"))


@pytest.mark.parametrize("key", ["material", "blank"])
def test_a_material_of_a_test_cut_is_named_by_its_key(key: str) -> None:
    data = copy.deepcopy(METRIC)
    cut = {"spindle_speed": "2000 rpm", "feed_per_tooth": "0.01 mm", "length": "30 mm"}
    data["trial"] = [{**cut, "outcome": "survived", key: "./nope.toml"}]
    with pytest.raises(InputError) as caught:
        check(job_from_dict(data, "f"))
    (problem,) = caught.value.problems
    assert problem.where == f"[[trial]] 1 {key}"
    assert problem.message == "./nope.toml: there is no such file"


@pytest.mark.parametrize(("shank", "told"), [("10 mm", True), ("10.4 mm", False), ("12 mm", False)])
def test_check_tells_of_a_head_wider_than_its_blank(shank: str, told: bool) -> None:
    data = copy.deepcopy(METRIC)
    data["cutter"]["shank_diameter"] = shank
    found = [w for w in check(job_from_dict(data, "f")).warnings if "wider than the shank" in w]
    assert bool(found) is told


def test_a_file_of_test_cuts_that_is_not_there_is_named_by_its_key(tmp_path: Any) -> None:
    data = copy.deepcopy(METRIC)
    data["job"]["trials"] = [str(tmp_path / "gone.toml")]
    with pytest.raises(InputError) as caught:
        check(job_from_dict(data, "f"))
    (problem,) = caught.value.problems
    assert problem.where == "[job] trials" and "gone.toml: there is no such file" in problem.message

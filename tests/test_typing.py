"""Slips of typing in a job file: each is answered with what to write, against words written here."""

from __future__ import annotations

import copy
import math
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
    ('feed = "hand"', "feed = hand", 'feed = "hand"'), ('throat_width = "6.2 mm"', "throat_width = 5/8", 'throat_width = "5/8"'),
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


def test_other_slips_of_toml_are_told_as_before() -> None:
    for bad in ("[slot", "a = [1,, 2]", 'x = "a" "b"', "= 3"):
        with pytest.raises(InputError, match="is not TOML: "):
            job_from_text(bad, "f")


def test_an_inch_job_gets_inch_examples_and_limits() -> None:
    assert "e.g. '0.094 in'" in lines(INCH, "cutter", "neck_diameter", "0.2")[0]
    assert 'e.g. neck_diameter = "0.094 in"' in lines(INCH, "cutter", "neck_diameter", ...)[0]
    assert 'e.g. "0.094 in"' in lines(INCH, "cutter", "neck_diameter", 0.2)[0]
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
    assert (
        any("in^3" in x for x in said)
        and any("lbf/in at the collet" in x for x in said)
        and any("stretched from thicker" in x for x in said)
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

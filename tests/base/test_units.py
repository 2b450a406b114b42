"""Units: every factor against pint, every refusal with its message."""

from __future__ import annotations

import json
import math
import re

import pint
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from loadsim.base.errors import ModelError, UnitError
from loadsim.base.units import UNITS, example, factor, from_unit, parse, pattern, show, to_unit

REG = pint.UnitRegistry()
# rev, r: a turn, as in ISO 80000-3; tooth: a count, so a feed per tooth is a length.
REG.define("tooth = [] = count")
REG.define("rev = 2 * pi * radian = r")
INTERNAL = {
    "length": "mm",
    "angle": "rad",
    "angular speed": "rad/s",
    "speed": "mm/s",
    "surface speed": "mm/s",
    "feed speed": "mm/s",
    "feed per tooth": "mm",
    "stress": "N/mm^2",
    "force": "N",
    "torque": "N*mm",
    "power": "N*mm/s",
    "stiffness": "N/mm",
    "time": "s",
    "volume": "mm^3",
    "chip thickness": "mm",
}
#: trade shorthand that pint does not read, written out
WRITTEN_OUT = {
    '"': "in",
    "″": "in",
    "”": "in",
    "thou": "in/1000",
    "thou/tooth": "in/1000",
    "1/min": "rev/min",
    "ipm": "in/min",
    "fpm": "ft/min",
    "sfm": "ft/min",
    "sfpm": "ft/min",
    "ipt": "in",
    "lb": "lbf",
    "in*lb": "in*lbf",
    "ft*lb": "ft*lbf",
    "mm/tooth": "mm",
    "in/tooth": "in",
    "um/tooth": "um",
    "hp": "hp",
    "°": "degree",
    "sec": "s",
}
ENTRIES = [(d, u) for d, table in UNITS.items() for u in table]
DIMENSIONS = list(UNITS)


@pytest.mark.parametrize(("dimension", "unit"), ENTRIES)
def test_every_factor_is_pints(dimension: str, unit: str) -> None:
    expected = REG.parse_expression(WRITTEN_OUT.get(unit, unit)).to(INTERNAL[dimension]).magnitude
    assert factor(unit, dimension) == pytest.approx(expected, rel=1e-12)


@pytest.mark.published(
    "NISTSP811 app. B.8: exact inch and pound-force, ft lbf/s horsepower", read="memory (high)"
)
def test_the_exact_factors() -> None:
    assert parse("1 in", "length") == 25.4
    assert parse("1 lbf", "force") == pytest.approx(
        4.4482216152605, rel=1e-15
    )  # exact by definition
    assert parse("1 hp", "power") == pytest.approx(
        745.6999e3, rel=0.5e-4 / 745
    )  # printed to 7 figures
    assert parse("1 ksi", "stress") == pytest.approx(6.894757, rel=0.5e-6 / 6.9)


ACCEPTED = [  # expected values by hand from 1 in = 25.4 mm and the SI prefixes
    ("2.4 mm", "length", 2.4),
    (" 2.4\tmm ", "length", 2.4),
    ("2.4mm", "length", 2.4),
    ("2.4\u00a0mm", "length", 2.4),
    ("3/32 in", "length", 2.38125),
    ("1-1/8 in", "length", 28.575),
    ("1 1/8 in", "length", 28.575),
    ("-1-1/8 in", "length", -28.575),
    ('3/32"', "length", 2.38125),
    ("0.0004 in", "length", 0.01016),
    ("12 um", "length", 0.012),
    ("12 \u00b5m", "length", 0.012),
    ("12 \u03bcm", "length", 0.012),
    ("2 thou", "length", 0.0508),
    (".5 MM", "length", 0.5),
    ("5. mm", "length", 5.0),
    ("+5e-1 mm", "length", 0.5),
    ("\u22125 mm", "length", -5.0),
    ("4200 rpm", "angular speed", 140 * math.pi),
    ("4200 RPM", "angular speed", 140 * math.pi),
    ("4200 1/min", "angular speed", 140 * math.pi),
    ("4200 r/min", "angular speed", 140 * math.pi),
    ("30 m/min", "speed", 500.0),
    ("30 M/MIN", "speed", 500.0),
    ("30 m / min", "speed", 500.0),
    ("250 ft/min", "surface speed", 1270.0),
    ("250 sfm", "speed", 1270.0),
    ("250 SFM", "speed", 1270.0),
    ("60 mm/min", "feed speed", 1.0),
    ("2.5 in/min", "speed", 2.5 * 25.4 / 60),
    ("0.012 mm/tooth", "feed per tooth", 0.012),
    ("0.0005 in/tooth", "feed per tooth", 0.0127),
    ("12 um/tooth", "feed per tooth", 0.012),
    ("12 \u00b5m/tooth", "feed per tooth", 0.012),
    ("0.012 mm", "feed per tooth", 0.012),
    ("0.0005 in", "feed per tooth", 0.0127),
    ("12 um", "feed per tooth", 0.012),
    ("35 deg", "angle", 35 * math.pi / 180),
    ("35°", "angle", 35 * math.pi / 180),
    ("800 N/mm^2", "stress", 800.0),
    ("800 N/mm²", "stress", 800.0),
    ("800 N/mm**2", "stress", 800.0),
    ("800 N/mm2", "stress", 800.0),
    ("800 MPa", "stress", 800.0),
    ("800 mpa", "stress", 800.0),
    ("210 GPa", "stress", 210e3),
    ("2 kn", "force", 2000.0),
    ("1 N m", "torque", 1000.0),
    ("1 Nm", "torque", 1000.0),
    ("1 N·m", "torque", 1000.0),
    ("1 in-lbf", "torque", 25.4 * 4.4482216152605),
    ("0.5 kW", "power", 0.5e6),
    ("0.5 KW", "power", 0.5e6),
    ("500 W", "power", 0.5e6),
    ("1 HP", "power", 550 * 12 * 25.4 * 4.4482216152605),
    ("20 N/um", "stiffness", 20e3),
    ("20 N/\u00b5m", "stiffness", 20e3),
    ("2 min", "time", 120.0),
    ("20 ms", "time", 0.02),
]


@pytest.mark.parametrize(("text", "dimension", "value"), ACCEPTED)
def test_accepted(text: str, dimension: str, value: float) -> None:
    assert parse(text, dimension) == pytest.approx(value, rel=1e-14)
    assert re.search(pattern(dimension), text)


WRITE = "; write a length with its unit, e.g. '2.4 mm'"
KNOWN = '(known: mm, in, um, thou, cm, m, ft, inch, inches, ")'
REFUSED = [
    ("2.4", "length", f"'2.4' has no unit{WRITE}"),
    ("3/32", "length", f"'3/32' has no unit{WRITE}"),
    ("4200", "angular speed", "'4200' has no unit; write an angular speed with its unit, e.g. '4200 rpm'"),
    (2.4, "length", "2.4 has no unit; write a length as quoted text with its unit, e.g. '2.4 mm'"),
    (math.nan, "length", "nan has no unit; write a length as quoted text with its unit, e.g. '2.4 mm'"),
    (True, "length", "True is not a quantity; write a length as quoted text with its unit, e.g. '2.4 mm'"),
    (None, "length", "None is not a quantity; write a length as quoted text with its unit, e.g. '2.4 mm'"),
    (["2 mm"], "length",
     "['2 mm'] is not a quantity; write a length as quoted text with its unit, e.g. '2.4 mm'"),
    ("", "length", f"'' is empty{WRITE}"),
    (" \t", "length", rf"' \t' is empty{WRITE}"),
    ("mm", "length", f"'mm' does not start with a number{WRITE}"),
    ("1,5 mm", "length",
     f"'1,5 mm' has a comma; write 1.5 with a point, and thousands without a separator{WRITE}"),
    ("-1,500 mm", "length",
     f"'-1,500 mm' has a comma; write -1.500 with a point, and thousands without a separator{WRITE}"),
    ("nan mm", "length", f"'nan mm' is not a finite number{WRITE}"),
    ("-INF mm", "length", f"'-INF mm' is not a finite number{WRITE}"),
    ("1/0 in", "length", f"'1/0 in' divides by zero{WRITE}"),
    ("1-1/00 in", "length", f"'1-1/00 in' divides by zero{WRITE}"),
    ("٣ mm", "length", f"'٣ mm' has digits or fractions other than 0-9 (1/2 is written with a slash){WRITE}"),
    ("1½ in", "length",
     f"'1½ in' has digits or fractions other than 0-9 (1/2 is written with a slash){WRITE}"),
    ("0x10 mm", "length", f"'0x10 mm' is not a plain decimal number{WRITE}"),
    ("1_000 mm", "length", f"'1_000 mm' is not a plain decimal number{WRITE}"),
    ("1e999 mm", "length", f"'1e999 mm' has a number with too many digits or too large an exponent{WRITE}"),
    ("1" * 400 + " mm", "length",
     f"'{'1' * 57}...' has a number with too many digits or too large an exponent{WRITE}"),
    ("3 N", "length", "'3 N' is a force, but a length is needed here (mm, in, um, ...)"),
    ("3 rpm", "surface speed",
     "'3 rpm' is an angular speed, but a surface speed is needed here (m/min, mm/min, in/min, ...)"),
    ("3 mm", "angle", "'3 mm' is a length, but an angle is needed here (deg, °, rad, ...)"),
    ("3 mm/tooth", "length",
     "'3 mm/tooth' is a feed per tooth, but a length is needed here (mm, in, um, ...)"),
    ("3 mil", "length",
     "'3 mil': 'mil' is a thousandth of an inch to some and a millimetre to others; write thou, in or mm"),
    ("0.1 mm/rev", "feed per tooth",
     "'0.1 mm/rev': 'mm/rev' is a feed per turn; divide by the number of teeth and write mm/tooth"),
    ("2 PS", "power", "'2 PS': 'PS' is the metric horsepower to some; write kW, W or hp"),
    ("3 inchs", "length",
     f"'3 inchs': unit 'inchs' is not known for a length {KNOWN}; did you mean 'inches'?"),
    ("3 furlong", "length", f"'3 furlong': unit 'furlong' is not known for a length {KNOWN}"),
    ("2 Mm", "length", f"'2 Mm': unit 'Mm' is not known for a length {KNOWN}; did you mean 'mm'?"),
    ("1 mW", "power", "'1 mW': unit 'mW' is not known for a power (known: W, kW, hp); did you mean 'W'?"),
    ("1 MW", "power", "'1 MW': unit 'MW' is not known for a power (known: W, kW, hp); did you mean 'W'?"),
    ("8 mPa", "stress", "'8 mPa': unit 'mPa' is not known for a stress "
     "(known: MPa, N/mm^2, GPa, psi, ksi, lbf/in^2); did you mean 'MPa'?"),
    ("42001/min", "angular speed", "'42001/min': unit '/min' is not known for an angular speed "
     "(known: rpm, rad/s, rev/min, r/min, 1/min, rev/s); did you mean 'r/min'?"),
    ("1\x1b[31m\n", "length",
     rf"'1\x1b[31m\n': unit '\x1b[31m' is not known for a length {KNOWN}"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "dimension", "message"), REFUSED)
def test_refused(text: object, dimension: str, message: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text, dimension)
    assert str(caught.value) == message


@given(st.text(max_size=400), st.sampled_from(DIMENSIONS))
def test_any_text_is_a_number_or_one_short_printable_line(text: str, dimension: str) -> None:
    try:
        assert math.isfinite(parse(text, dimension))
    except UnitError as error:
        line = str(error)
        assert line.isprintable()
        assert len(line) < 400


BAD_NUMBERS = ["nan mm", "infinity mm", "1,5 mm", "1_0 mm", "0x1 mm", "1e400 mm", "1/0 mm", "１ mm"]


@given(st.sampled_from(BAD_NUMBERS), st.sampled_from(DIMENSIONS))
def test_no_dimension_lets_a_bad_number_in(text: str, dimension: str) -> None:
    unit = next(iter(UNITS[dimension]))
    assert not re.search(pattern(dimension), text.replace("mm", unit))
    with pytest.raises(UnitError):
        parse(text.replace("mm", unit), dimension)


NUMBERISH = st.text(st.sampled_from("0123456789./-+eE ,_"), min_size=1, max_size=8)
ODD_UNITS = ["mil", "mW", "MW", "mPa", "Mm", "Nmm", "µm", "N/mm²", "N m"]
ANY_UNIT = st.sampled_from([u for _, u in ENTRIES] + ODD_UNITS)
RECASED = ANY_UNIT.flatmap(
    lambda u: st.sampled_from([u, u.upper(), u.lower(), u.swapcase(), u.title()])
)


@given(NUMBERISH, st.sampled_from(["", " ", "\u00a0", "  "]), RECASED, st.sampled_from(DIMENSIONS))
def test_pattern_matches_what_parse_accepts(
    number: str, gap: str, unit: str, dimension: str
) -> None:
    text = number + gap + unit
    try:
        parse(text, dimension)
        accepted = True
    except UnitError:
        accepted = False
    assert bool(re.search(pattern(dimension), text)) == accepted


@given(st.data(), st.sampled_from(DIMENSIONS))
def test_whatever_the_pattern_makes_parse_reads(data: st.DataObject, dimension: str) -> None:
    text = data.draw(st.from_regex(pattern(dimension)))
    assert math.isfinite(parse(text, dimension))


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_pattern_keeps_to_the_syntax_of_json_schema(dimension: str) -> None:
    text = pattern(dimension)
    assert json.loads(json.dumps(text)) == text
    assert text.startswith("^")
    assert text.endswith("$")
    # ECMA-262 has no named groups in Python's spelling, no inline flags, no possessive or atomic groups
    assert not re.search(r"\(\?[^:]", text)
    assert re.search(text, example(dimension))


@pytest.mark.parametrize(("dimension", "unit"), ENTRIES)
def test_units_of_a_dimension_are_told_apart(dimension: str, unit: str) -> None:
    for text in (f"1 {unit}", f"1 {unit.upper()}", f"1 {unit.lower()}"):
        assert parse(text, dimension) == pytest.approx(factor(unit, dimension), rel=1e-15)


@given(st.floats(1e-6, 1e6), st.sampled_from(ENTRIES))
def test_round_trip_through_a_unit(value: float, entry: tuple[str, str]) -> None:
    dimension, unit = entry
    written = to_unit(value, unit, dimension)
    assert parse(f"{written:.17g} {unit}", dimension) == pytest.approx(value, rel=1e-14)
    assert from_unit(written, unit, dimension) == pytest.approx(value, rel=1e-14)


@given(st.integers(0, 99), st.integers(0, 64), st.integers(1, 64))
def test_fractions_are_exact_before_the_unit(whole: int, top: int, bottom: int) -> None:
    assert parse(f"{whole} {top}/{bottom} mm", "length") == (whole * bottom + top) / bottom


SHOWN = [  # values by hand: 2.4 / 25.4 = 0.09449, 0.8 mm/s = 48 mm/min, 1 N = 0.224809 lbf, 1 hp = 745.7 W
    (2.4, "length", "2.400 mm (0.0945 in)", "0.0945 in (2.400 mm)"),
    (
        0.00147,
        "length",
        "0.001 mm (0.0001 in)",
        "0.0001 in (0.001 mm)",
    ),  # 0.00147 / 25.4 = 0.0000579
    (
        -0.00062,
        "length",
        "-0.001 mm (under 0.0001 in)",
        "under 0.0001 in (-0.001 mm)",
    ),  # -0.0000244 in
    (0.127, "length", "0.127 mm (0.0050 in)", "0.0050 in (0.127 mm)"),
    (0.0126, "chip thickness", "0.0126 mm (0.50 thou)", "0.50 thou (0.0126 mm)"),
    (131.0, "volume", "131.0 mm^3 (0.00799 in^3)", "0.00799 in^3 (131.0 mm^3)"),  # 131 / 16387.064
    (0.0, "length", "0.000 mm (0.0000 in)", "0.0000 in (0.000 mm)"),
    (-0.0, "length", "0.000 mm (0.0000 in)", "0.0000 in (0.000 mm)"),
    (1e-9, "length", "under 0.001 mm (under 0.0001 in)", "under 0.0001 in (under 0.001 mm)"),
    (1500.0, "length", "1500.0 mm (59.0551 in)", "59.0551 in (1500.0 mm)"),
    (
        0.012,
        "feed per tooth",
        "0.0120 mm/tooth (0.47 thou/tooth)",
        "0.47 thou/tooth (0.0120 mm/tooth)",
    ),
    (0.8, "feed speed", "48 mm/min (1.9 in/min)", "1.9 in/min (48 mm/min)"),
    (0.08, "feed speed", "4.8 mm/min (0.19 in/min)", "0.19 in/min (4.8 mm/min)"),
    (700.0, "surface speed", "42 m/min (138 ft/min)", "138 ft/min (42 m/min)"),
    (12.34, "force", "12.3 N (2.77 lbf)", "2.77 lbf (12.3 N)"),
    (29.86, "torque", "0.0299 N*m (0.264 in*lbf)", "0.264 in*lbf (0.0299 N*m)"),
    (812.4, "stress", "812 MPa (117.8 ksi)", "117.8 ksi (812 MPa)"),
    (12e3, "power", "12 W (0.016 hp)", "0.016 hp (12 W)"),
    (140 * math.pi, "angular speed", "4200 rpm", "4200 rpm"),
    (math.pi / 6, "angle", "30.0 deg", "30.0 deg"),
    (90.0, "time", "90.0 s", "90.0 s"),
]


@pytest.mark.parametrize(("value", "dimension", "metric", "inch"), SHOWN)
def test_shown_to_people(value: float, dimension: str, metric: str, inch: str) -> None:
    assert show(value, dimension, both=True) == metric
    assert show(value, dimension, "inch", both=True) == inch
    assert show(value, dimension) == metric.split(" (")[0]


@given(st.floats(1e-4, 1e6), st.sampled_from(DIMENSIONS), st.sampled_from(["metric", "inch"]))
def test_what_is_shown_reads_back(value: float, dimension: str, system: str) -> None:
    # under a hundredth of a watt, or of N/mm, the decimals of hp and lbf/thou run out
    assume(value > {"power": 10, "stiffness": 0.01}.get(dimension, 0.0))
    text = show(value, dimension, system)  # type: ignore[arg-type]
    if text.startswith("under "):
        assert value < parse(text.removeprefix("under "), dimension)
        return
    assert re.fullmatch(r"[0-9.]+", text.split(" ")[0])  # no exponent
    if dimension in (
        "length",
        "chip thickness",
    ):  # to half of the last decimal, 0.001 mm or 0.0001 in, and a tenth of that
        last = {"metric": 1e-3, "inch": 25.4e-4}[system] / (
            10 if dimension == "chip thickness" else 1
        )
        assert parse(text, dimension) == pytest.approx(value, abs=0.5001 * last, rel=1e-4)
        return
    assert parse(text, dimension) == pytest.approx(
        value, rel=0.05
    )  # half of the last of two figures: 5 %


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_not_finite_is_an_error(bad: float) -> None:
    with pytest.raises(
        ModelError, match=r"^a length came out as -?(nan|inf), which is not a finite number$"
    ):
        show(bad, "length")
    with pytest.raises(ModelError, match="not a finite number"):
        to_unit(bad, "mm", "length")
    with pytest.raises(ModelError, match="not a finite number"):
        from_unit(bad, "mm", "length")


def test_unknown_unit_dimension_and_system() -> None:
    with pytest.raises(UnitError, match=r"^unit 'N' is not known for a length \(known: mm, in, "):
        to_unit(1.0, "N", "length")
    with pytest.raises(
        ValueError, match=r"^no dimension 'mass'; it must be one of length, angle, "
    ):
        parse("1 kg", "mass")
    with pytest.raises(ValueError, match=r"^system is 'imperial'; it must be 'metric' or 'inch'$"):
        show(1.0, "length", "imperial")  # type: ignore[arg-type]


def test_a_long_text_is_refused_quickly() -> None:
    # a regular expression that backtracks would take minutes on these
    for text in (
        "1" + " " * 100_000 + "x",
        "1 N" + " " * 100_000 + "x",
        " " * 100_000,
        "1" * 100_000,
    ):
        with pytest.raises(UnitError):
            parse(text, "torque")

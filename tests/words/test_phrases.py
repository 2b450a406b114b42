"""What every answer is told in, against words written here: times, chances, lengths that a shop can
hold, the reader's own units, drills by name.
"""

from __future__ import annotations

import math
import re
from typing import Any

import pytest

from loadsim import check, plan
from loadsim.answers.inspection import correct
from loadsim.base.errors import InputError
from loadsim.base.units import duration
from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.passes import Pass, passes
from loadsim.loads.resolve import resolve
from loadsim.report.terminal.check import check_text
from loadsim.report.terminal.plan import inspection_lines, plan_text
from loadsim.words import phrases
from loadsim.words.phrases import chance_text

EXPONENT = re.compile(r"\d[eE][+-]?\d")


def job(name: str, **changes: Any) -> Any:
    found = job_from_text(example(name), name)
    return (
        changed(found, {k.replace("__", "."): v for k, v in changes.items()}) if changes else found
    )


# ---- 1 and 2: times


@pytest.mark.parametrize(("seconds", "text"), [
    (0.0, "0 s"), (93.4, "93 s"), (120.0, "120 s"), (121.0, "2 min 1 s"), (320.0, "5 min 20 s"), (240.2, "4 min"), (3599.4, "59 min 59 s"),
    (3600.0, "1 h"), (6960.0, "1 h 56 min"), (7800.0, "2 h 10 min"), (0.52, "0.52 s"),
])  # fmt: skip
def test_a_time_is_told_as_a_clock_tells_it(seconds: float, text: str) -> None:
    """By hand: 320 = 5 * 60 + 20, 6960 = 116 * 60."""
    assert duration(seconds) == text


def test_the_three_times_of_a_cut_have_three_names() -> None:
    """298 s of cutting in one pass, 20 s to set it up, 180 s for the tool: 318 s and 498 s."""
    assert (
        phrases.times(298.0, 1)
        == "cutting 4 min 58 s in 1 pass; with setting up 5 min 18 s; with tool change 8 min 18 s"
    )
    answer = plan(job("thin-neck"))
    text = plan_text(answer)
    cut = (
        answer.result.settings.cutting_time_s
    )  # 46 + 6.8 mm at 0.012 mm, 2 teeth, 420 rpm: 52.8/10.08 min
    assert cut == pytest.approx(52.8 / 10.08 * 60, rel=1e-6)
    assert (
        "cutting 5 min 14 s in 1 pass; with setting up 5 min 34 s; with tool change 8 min 34 s"
        in text
    )
    assert "about 5 min 34 s with setting up" in " ".join(text.split())
    assert "about 8 min 34 s with tool change" in " ".join(text.split())
    assert "on the machine" not in text and "cutting time" not in text
    assert not re.search(r"\b\d{3,} s\b", text.replace("180 s", ""))


# ---- 3: a hand that cannot turn so slowly


@pytest.mark.parametrize(("seconds", "text"), [
    (3.61, "one turn in 3.61 s"), (20.0, "one turn in 20 s"),
    (29.8, "one turn in 29.8 s: 0.34 of a turn every 10 s, 1.678 mm on the dial"),  # 10/29.8 = 0.3356, of 5 mm
])  # fmt: skip
def test_a_slow_handwheel_is_told_by_the_share_of_a_turn(seconds: float, text: str) -> None:
    assert phrases.handwheel(seconds, 5.0, "metric") == text


def test_a_feed_that_no_hand_holds_is_warned_of() -> None:
    slow = job("thin-neck")
    quick = job("t-track")
    assert any(
        "cannot be fed evenly by hand (over 20 s); use a power feed" in w
        for w in check(slow).warnings
    )
    assert not any("cannot be fed" in w for w in check(quick).warnings)
    assert not any(
        "cannot be fed" in w for w in check(changed(slow, {"machine.feed": "power"})).warnings
    )
    assert phrases.SLOWEST_TURN == 20.0


# ---- 4: no finer than a shop holds


@pytest.mark.parametrize("name", ["t-track", "thin-neck", "one-sided"])
def test_shop_dimensions_are_no_finer_than_a_shop_holds(name: str) -> None:
    found = plan(job(name))
    text = plan_text(found)
    part = "\n".join(inspection_lines(found.inspection, found.job.job.units))
    assert (part in text) == found.safe == ("nothing to inspect" not in text)
    assert not EXPONENT.search(text + part)
    for number in re.findall(r"(?<![\d.])-?\d+\.(\d+) mm(?![/^])", text):
        assert len(number) <= 4  # four only for a chip
    assert all(len(x) <= 3 for x in re.findall(r"\d+\.(\d+) mm", part)) and all(
        len(x) <= 4 for x in re.findall(r"\d+\.(\d+) in", part)
    )


def test_a_tolerance_has_four_places() -> None:
    text = plan_text(plan(job("one-sided")))
    assert "drawn 0.6100 in plus and minus 0.0040 in" in text  # as the job gives it
    assert "wall lean, floor less roof  under 0.0001 in" in text


def test_a_pass_that_cannot_be_moved_is_not_moved_by_nothing() -> None:
    """A neck of 5.1 mm in a throat of 6.2 mm leaves (6.2 - 5.1)/2 - 0.05 = 0.5 mm to each side; the outer pass sits there."""
    s = resolve(job("t-track", cutter__head_diameter=9.0, cutter__neck_diameter=5.1))
    base = passes(s, None, "conventional", ())[0]
    at = Pass(
        **{f: getattr(base, f) for f in base.__dataclass_fields__}
        | {"offset": 0.5, "direction": "conventional"}
    )
    found = correct(s, (at,), -0.3)
    assert found.kind == "offset short" and "no room" in found.why and "0.000 mm" not in found.why


@pytest.mark.published("ASME-B94-11M, drill sizes", read="memory (high)")
@pytest.mark.parametrize(("diameter", "system", "name"), [
    (8.1, "metric", "8.1 mm"), (0.201 * 25.4, "inch", "#7"), (6.35, "inch", "1/4 in"), (0.234 * 25.4, "inch", "letter A"), (8.137, "metric", "8.137 mm"),
])  # fmt: skip
def test_a_drill_is_called_as_the_index_calls_it(diameter: float, system: Any, name: str) -> None:
    """No. 7 is 0.2010 in, letter A 0.2340 in."""
    assert phrases.drill(diameter, system) == name


def test_the_point_of_a_drill_is_told_to_what_a_shop_sets() -> None:
    """10.5 mm, 118 degrees: 5.25/tan 59 deg = 3.154 mm = 0.1242 in."""
    point = 5.25 / math.tan(math.radians(59))
    assert phrases.point_depth(point, "metric") == "3.2 mm"
    assert phrases.point_depth(point, "inch") == "0.125 in"


# ---- 6: chances in words


def test_chances_are_told_in_words() -> None:
    assert [phrases.accepted(p) for p in (0.01, 0.001, 0.02, 0.003)] == [
        "1 cut in 100",
        "1 cut in 1,000",
        "1 cut in 50",
        "3 cuts in 1,000",
    ]
    assert chance_text(1.0) == chance_text(0.999) == "practically every cut"
    text = check_text(check(job("thin-neck")), job("thin-neck"))
    assert "practically every cut; accepted: 1 cut in 100." in text
    assert "100 cuts in 100" not in text and " 1 to 1," not in text
    assert "snap probability stays nearly 1" in " ".join(text.split())


# ---- 7: end holes are said to be along the slot


def test_end_holes_are_said_to_run_along_the_slot() -> None:
    assert "end holes are drilled along the slot from its open end" in " ".join(
        check_text(check(job("t-track")), job("t-track")).split()
    )


def test_asking_for_holes_that_do_not_fit_is_answered_with_the_same_reason() -> None:
    asked = job("t-track", cut__predrill=True)
    with pytest.raises(InputError) as caught:
        plan(asked)
    why = check(job("t-track")).predrill.why.split("; ", 1)[1].rstrip(".")
    assert why.startswith("the largest drill") and why in caught.value.problems[0].message


def test_a_limit_without_demand_has_no_number() -> None:
    from loadsim.report.rows.numbers import Show
    from loadsim.report.sheet.limits import limit_row

    grab = next(x for x in check(job("t-track")).limits if x.name == "table grab")
    assert grab.demand == 0 and limit_row(grab, Show("metric")).demand == "none"


def test_a_throat_mill_that_no_hand_feeds_evenly_is_warned_of() -> None:
    """By hand: 0.01 mm, 2 teeth, 300 rpm make 6 mm/min; 5 mm a turn of the wheel take 50 s."""
    mill = {
        "diameter": "6 mm",
        "flute_length": "13 mm",
        "teeth": 2,
        "helix": "30 deg",
        "material": "hss-m2",
        "stickout": "22 mm",
        "spindle_speed": "300 rpm",
        "feed_per_tooth": "0.01 mm/tooth",
        "depth_per_pass": "2 mm",
    }
    text = (
        example("t-track").split("# [throat_mill]")[0]
        + "[throat_mill]\n"
        + "\n".join(f"{k} = {v!r}" for k, v in mill.items())
        + "\n"
    )
    found = check(job_from_text(text + "\n" + "[target]\nsnap_probability = 0.01\n", "f"))
    assert any(
        "Throat mill: One handwheel turn in 50 s cannot be fed evenly" in w for w in found.warnings
    )

"""What the answer tells a reader: advice is tried out anew, what governs is worked by hand, the bad
cut has a closed form.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from loadsim import check, plan
from loadsim.answers import advice as advice_room
from loadsim.answers import changes
from loadsim.answers.options import EndHoles, options
from loadsim.answers.results import Result, Verdict
from loadsim.answers.verdict import chance_governs, governing, why_marginal
from loadsim.base import units
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads import cut
from loadsim.loads.limits import chip_packing
from loadsim.loads.limits.utilization import Limit, LimitCode
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.report.terminal.check import check_text
from loadsim.risk import breaks, samples
from loadsim.risk.results import Modes, Risk
from loadsim.words.passes import how
from loadsim.words.proving import chance_by


@functools.cache
def track() -> Job:
    return job_from_text(example("t-track"), "t-track")


@functools.cache
def drawn() -> samples.Draws:
    return samples.draws(
        8
    )  # so few that the advice is judged by the very same sample as the verdict


def job(**changes: Any) -> Job:
    return changed(track(), {k.replace("__", "."): v for k, v in changes.items()})


def answer(**changes: Any) -> Result:
    return check(job(**changes), drawn())


# --- advice ---------------------------------------------------------------------------------------------

ONE_SIDED: dict[str, Any] = {"slot__throat_width": 9.0, "slot__sides": 1, "slot__undercut_width": 12.0, "cutter__head_diameter": 8.0,
                             "cutter__neck_diameter": 4.0, "cut__feed_per_tooth": 0.008}  # fmt: skip
NO_GO: dict[str, dict[str, Any]] = {
    "one side too far": ONE_SIDED,
    "two sides too far": {"slot__undercut_width": 12.5},
    "neck too thick": {"cutter__neck_diameter": 6.15},
    "neck too short": {"cutter__neck_length": 4.7},
    "too short and too far": {"cutter__neck_length": 4.7, "slot__undercut_width": 12.5},
    "shallow throat": {"slot__throat_depth": 4.8, "cutter__head_height": 1.3, "cutter__neck_length": 6.7},
    "closed and short": {"slot__open_ends": 0, "slot__length": 10.0},
    "far in hard steel": {**ONE_SIDED, "work__material": "steel-4140-ph", "cutter__neck_diameter": 2.0},
    "hopeless": {"work__material": "ti-6al-4v", "slot__throat_width": 2.0, "cutter__neck_diameter": 1.0, "cutter__neck_fillet": 0.1, "cut__feed_per_tooth": 0.4},
    # eight teeth at 13,900 rpm pass 1853 times a second, what a stick-out of 60 mm rings at
    "resonance": {
        "cutter__stickout": 60.0, "cutter__teeth": 8, "machine__max_spindle_speed": 1466.0, "cut__spindle_speed": 1455.6,
    },
    "stall": {"machine__spindle_power": 20e3},
    "thin": {"cutter__neck_diameter": 1.6},
}  # fmt: skip


def changed_by(one: Job, line: str) -> dict[str, Any]:
    """The change that a line of advice asks for, read off its words."""
    patterns = {
        "cut.feed_per_tooth": r"[Ff]eed (?:slower|more), [^(]*(?:\([^(]*)?\(([\d.]+) mm a tooth\)",
        "cutter.runout": r"unout down to ([\d.]+) mm",
        "cutter.neck_diameter": r"neck (?:to|of) ([\d.]+) mm",
        "cutter.head_diameter": r"head (?:of|to) ([\d.]+) mm",
        "cutter.neck_fillet": r"fillet of ([\d.]+) mm",
        "cutter.neck_length": r"neck ([\d.]+) mm long|horten the neck to ([\d.]+) mm",
        "cutter.head_height": r"head ([\d.]+) mm high",
        "slot.throat_width": r"throat of ([\d.]+) mm",
    }
    found: dict[str, Any] = {}
    for key, pattern in patterns.items():
        if hit := re.search(pattern, line):
            found[key] = float(next(x for x in hit.groups() if x))
    if rpm := re.search(r"un at (\d+) rpm", line):
        found["cut.spindle_speed"] = float(rpm[1]) * math.pi / 30
    if "lood the cut" in line:
        found["work.lubrication"] = "flood"
    if "ull depth first" in line:
        found["slot.throat_depth"] = one.slot.depth
    if "cutter.head_height" in found and "cutter.neck_length" not in found:  # shoulder stays
        found["cutter.neck_length"] = one.cutter.neck_length + found["cutter.head_height"]
    if "horten the neck" not in line and re.search(r"neck [\d.]+ mm long", line):
        longer = found["cutter.neck_length"] - one.cutter.neck_length
        found["cutter.stickout"] = one.cutter.stickout + longer
    if "carbide" in line:
        found |= {"cutter.material": "carbide-fine", "cutter.hardness": None}
    if "(M4)" in line:
        found |= {"cutter.material": "hss-m4-pm", "cutter.hardness": None}
    return found


ORDER = {"go": 0, "marginal": 1, "no-go": 2}


@pytest.mark.parametrize("name", NO_GO)
def test_advice_holds_what_it_promises_and_makes_nothing_worse(name: str) -> None:
    one = job(**NO_GO[name])
    result = check(one, drawn())
    assert result.verdict == "no-go" and result.advice
    told = [x for x in result.advice if "snap probability" in x]
    assert len(told) <= 3
    for line in told:
        change = changed_by(one, line)
        assert change, line
        then = check(changed(one, change), drawn())
        assert ORDER[then.verdict] <= 1 or line.endswith("not enough by itself."), line
        assert not line.endswith("a go.") or then.verdict in ("go", "marginal"), line
        assert then.risk.snap_probability <= 1.05 * max(result.risk.snap_probability, 0.001), line
    if all(x.endswith("not enough by itself.") for x in told):
        assert "another way" in result.advice[0]


def risk_of_share(used: float, **modes: float) -> Risk:
    """A chance that is so many times the asked 0.01, and the ways it comes by."""
    by = dict.fromkeys(("fracture", "fatigue", "torsion", "grab"), 0.0) | modes
    return Risk(
        snap_probability=0.01 * used,
        low=0.0,
        high=0.01 * used,
        samples=1,
        seed=0,
        drivers=(),
        modes=Modes(**by),
    )


def state(p: float, high: float, verdict: str, **used: float) -> Any:
    """Where a cut stands: a chance against the asked 0.01, and limits by their share of what a go allows."""
    risk = replace(risk_of_share(100 * p, fatigue=p), high=high)
    codes = {LimitCode[name.upper()]: u for name, u in used.items()}
    return advice_room._State(
        verdict=Verdict(verdict),
        chance=risk,
        target=0.01,
        used=codes,
        real=codes,
        hard=frozenset(codes),
    )


@pytest.mark.parametrize(
    ("after", "helps"),
    [
        (state(0.01, 0.02, "marginal", wall_error=0.5), True),  # half the chance
        (state(0.017, 0.03, "marginal", wall_error=0.5), False),  # under a fifth off
        (state(0.01, 0.02, "marginal", wall_error=1.1), False),  # a limit is then over
        (state(0.01, 0.02, "no-go", wall_error=0.5), False),
        (state(0.001, 0.002, "go", wall_error=0.99), True),
        (state(0.03, 0.04, "marginal", wall_error=0.1), False),  # the chance rises
    ],
)
def test_what_helps_and_what_makes_worse_by_hand(after: Any, helps: bool) -> None:
    now = state(0.02, 0.03, "marginal", wall_error=0.6)
    assert advice_room._better(now, after) is helps


def test_the_most_doable_comes_first_and_three_are_told() -> None:
    one = job(cutter__neck_diameter=2.9)
    result = check(one, drawn())
    assert result.verdict == "marginal" and 1 <= len(result.advice) <= 3
    # in the order of the rule: feed, lubricant, ..., a larger fillet, two heights, ..., a blank
    ranks = [
        "Feed slower",
        "Run at",
        "Flood",
        "runout",
        "fillet of",
        "Grind the neck",
        "two heights",
        "askew",
        "Grind it from",
    ]
    found = [next(i for i, x in enumerate(ranks) if x in line) for line in result.advice]
    assert found == sorted(found)
    assert any("a go." in line for line in result.advice)


def test_the_feed_advised_is_the_one_that_the_plan_would_take() -> None:
    one = job(cutter__neck_diameter=2.9)
    (line,) = (x for x in check(one, drawn()).advice if x.startswith("Feed slower"))
    feed = changed_by(one, line)["cut.feed_per_tooth"]
    assert feed < one.cut.feed_per_tooth
    picked = check(changed(one, {"cut.feed_per_tooth": None}), drawn())
    assert feed == pytest.approx(picked.settings.feed_per_tooth_mm, rel=0.05)  # told to two figures


def test_room_is_made_before_anything_else() -> None:
    found = answer(**ONE_SIDED).advice
    every = " ".join(found)
    # by hand: the head of 12 stands at 12 - 4.5 - 6 = 1.5 off centre, where a neck with its fillet of 0.4 passes: 9 - 2 (1.5 + 0.4) = 5.2
    assert "head of 12.000 mm on a neck of 5.200 mm" in every
    assert all("neck" in x or "head" in x or "throat" in x for x in found)
    assert "carbide" not in every and "Feed slower" not in every


def test_when_nothing_helps_the_answer_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(advice_room, "changes_of", lambda *of: [])
    monkeypatch.setattr(advice_room, "slower_feed", lambda job, f_z, speed: ("", {}))
    (line,) = answer(cutter__neck_diameter=1.6).advice
    assert line.startswith("Nothing that was tried helps") and "another way" in line


def test_a_drill_that_breaks_is_no_go_and_says_what_to_do() -> None:
    holes = {"predrill__diameter": 2.0, "predrill__offsets": [4.0], "predrill__height": 1.3}
    one = job(**holes, predrill__depth=118.0, cut__predrill=True)
    result = check(one, drawn())
    # common practice: a drill goes 8 diameters deep, 16 mm; these are 118
    assert result.verdict == "marginal" and "drill depth is over capacity" in result.why
    assert any("drill less deep" in x for x in result.advice)


# --- drop-in hole ---------------------------------------------------------------------------------------


def test_a_head_that_goes_down_the_throat_needs_no_drop_in_hole() -> None:
    small = {**ONE_SIDED, "slot__undercut_width": 10.4, "slot__open_ends": 0}
    result = answer(**small)
    assert "drop-in hole" not in {x.name for x in result.limits} and not any(
        "drop-in" in x for x in result.warnings
    )
    assert "drop-in hole" not in [o.name for o in plan(job(**small), drawn()).routing.operations]
    blind = answer(
        **small, slot__throat_depth=5.5
    )  # the throat stops 1.9 above the floor: the head does not get down
    assert "drop-in hole" in {x.name for x in blind.limits}
    short = answer(**small, slot__length=8.0)  # 8.1 with clearance
    assert {x.name: x for x in short.limits}[
        "head between the ends"
    ].utilization > 1 and short.verdict == "no-go"


def test_one_number_for_the_drop_in_hole() -> None:
    p = plan(job(slot__open_ends=0), drawn())
    assert {x.name: x for x in p.result.limits}["drop-in hole"].demand == pytest.approx(10.4 + 0.1)
    assert any("10.500 mm" in x for x in p.result.warnings if "drop-in" in x)
    assert p.routing.operations[0].steps[0]["diameter_mm"] == pytest.approx(10.5)


# --- passes in words ------------------------------------------------------------------------------------


@pytest.mark.parametrize("ends", [0, 1, 2])
@pytest.mark.parametrize("direction", ["conventional", "climb"])
@pytest.mark.parametrize("sides", [1, 2])
def test_the_words_of_a_pass_agree_with_a_clockwise_spindle(
    ends: int, direction: Any, sides: int
) -> None:
    # computed: a tooth at r on a spindle that turns clockwise seen from above moves with (-z) x r; conventional when it
    # moves the way the cutter travels over the work, for then it meets the chip at its thin end
    s = resolve(
        job(
            slot__open_ends=ends,
            slot__sides=sides,
            slot__undercut_width=11.0 if sides == 2 else 10.9,
        )
    )
    up = np.array([0.0, 0.0, 1.0])
    seen = 0
    for p in passes(s, None, direction):
        text = how(s, p)
        if p.direction == "both":
            assert "both walls" in text
            continue
        out = any(
            x in text.split(";")[0] for x in ("closed end out", "far end back", "other end back")
        )
        travel = np.array([-1.0 if out else 1.0, 0.0, 0.0])
        left = np.cross(up, np.array([1.0, 0.0, 0.0]))  # of one who looks in, however it is fed
        wall = left if "cuts the left wall" in text else -left
        assert ("cuts the left wall" in text) != ("cuts the right wall" in text)
        conventional = float(np.cross(-up, wall) @ travel) > 0
        assert conventional == (f"wall, {direction}" in text and direction == "conventional")
        assert wall[1] * p.offset > 0  # the wall beyond the axis is the one it cuts
        assert ("left of the centre" in text) == ("cuts the left wall" in text)
        seen += 1
    assert seen == sides


def test_the_second_side_with_one_open_end_is_fed_from_the_closed_end_or_climbs() -> None:
    s = resolve(job(slot__open_ends=1, slot__undercut_width=11.0))
    _, high, low = (how(s, p) for p in passes(s, None, "conventional"))
    assert (
        "Feed from the open end in" in high
        and "Feed from the closed end out" in low
        and "step it over there" in low
    )
    result = answer(slot__open_ends=1, slot__undercut_width=11.0)
    assert [p["how"] for p in result.settings.passes] == [
        how(s, p) for p in passes(s, None, "conventional")
    ]
    single = how(
        resolve(job(**{**ONE_SIDED, "slot__open_ends": 1})),
        passes(resolve(job(**{**ONE_SIDED, "slot__open_ends": 1})), None, "conventional")[0],
    )
    assert "from the closed end out, or it climbs" in single


def test_a_climb_cut_that_would_start_where_the_head_cannot_get_is_told_and_not_planned() -> None:
    one = {
        "slot__sides": 1,
        "slot__undercut_width": 11.0,
        "slot__throat_width": 9.0,
        "cutter__head_diameter": 10.4,
        "slot__open_ends": 1,
    }
    s = resolve(job(**one))
    (climb,), (against,) = passes(s, None, "climb"), passes(s, None, "conventional")
    assert "Nothing lets the head in" in how(s, climb) and "Nothing lets" not in how(s, against)
    assert any("closed end" in x for x in answer(**one, cut__direction="climb").warnings)
    assert not plan(job(**one, cut__direction="climb"), drawn()).safe
    small = resolve(
        job(**{**one, "cutter__head_diameter": 8.5, "slot__undercut_width": 10.0})
    )  # goes down the throat
    assert "along the throat" in how(small, passes(small, None, "climb")[0])


def test_a_way_is_named_by_its_passes() -> None:
    narrow = {
        "slot__throat_width": 9.0,
        "slot__undercut_width": 11.5,
        "cutter__head_diameter": 8.5,
        "cut__direction": None,
    }
    for one in (job(**narrow), job(slot__undercut_width=11.0, cut__direction=None)):
        for o in options(resolve(one), [EndHoles()]):
            centred = len(o.passes) > 1 and o.passes[0].offset == 0
            assert ("centre line first" in o.name) == centred, o.name
    assert any("each side" in o.name for o in options(resolve(job(**narrow)), [EndHoles()]))


# --- what governs, and why ------------------------------------------------------------------------------


def made(name: str, u: float, *, hard: bool = True, fit: bool = False) -> Limit:
    return Limit(
        name=name, demand=u, capacity=1.0, unit="1", utilization=u, hard=hard, fit=fit, note="n"
    )


@pytest.mark.parametrize(("found", "chance_used", "name"), [
    ([made("a", 0.5)], 0.4, "a"), ([made("a", 0.5)], 0.6, "neck fatigue"), ([made("a", 1.2)], 3.7, "neck fatigue"),
    ([made("a", 1.2)], 1.1, "a"), ([made("a", 1.2), made("s", 9.0, hard=False)], 0.1, "a"), ([made("s", 9.0, hard=False)], 1.1, "neck fatigue"),
    ([made("a", 0.5), made("s", 1.1, hard=False)], 0.9, "s"), ([made("f", 1.01, fit=True), made("a", 4.0)], 9.0, "f"),
    ([made("f", 1.0, fit=True), made("a", 0.2)], 0.1, "a"), ([made("a", 0.2), made("s", 0.9, hard=False)], 0.1, "s"),
    ([made("f", 1.3, hard=False, fit=True), made("a", 0.2)], 0.1, "f"),
])  # fmt: skip
def test_what_is_over_governs_before_what_is_not_and_hard_before_soft(
    found: list[Limit], chance_used: float, name: str
) -> None:
    risk = risk_of_share(chance_used, fracture=0.001, fatigue=0.002)
    assert governing(found, risk, 0.01) == name
    assert chance_governs(found, risk, 0.01) == (name == "neck fatigue")


@pytest.mark.parametrize(
    ("used", "name"),
    [(0.64, "a"), (0.8, "a"), (0.81, "blank against metal"), (1.1, "blank against metal")],
)
def test_blank_and_metal_decide_only_near_their_end(used: float, name: str) -> None:
    # no setting changes them: HSS in mild steel is 0.64 in every cut
    found = [made("a", 0.5), made(LimitCode.BLANK_AGAINST_METAL, used)]
    assert governing(found, risk_of_share(0.1, fatigue=0.001), 0.01) == name


@pytest.mark.parametrize(
    ("modes", "code", "text"),
    [
        # by hand: 0.0062/(0.0038 + 0.0062) = 62 %
        ({"fracture": 0.0038, "fatigue": 0.0062}, "neck fatigue", "neck fatigue: 62% of the chance, fracture 38%"),
        ({"fracture": 0.03, "torsion": 0.01}, "neck fracture", "neck fracture: 75% of the chance, torsion 25%"),
        ({"grab": 0.04, "fatigue": 0.00001}, "table grab", "table grab: 100% of the chance"),
        ({"torsion": 0.02}, "neck torsion", "neck torsion: 100% of the chance"),
    ],
)  # fmt: skip
def test_the_way_to_break_that_brings_most_of_the_chance_is_named(
    modes: dict[str, float], code: str, text: str
) -> None:
    risk = risk_of_share(8.41, **modes)
    assert governing([made("a", 0.5)], risk, 0.01) == code
    assert chance_by(risk.modes) == text


def test_a_chance_over_the_asked_one_governs_a_neck_whose_limits_hold() -> None:
    result = answer(cutter__neck_diameter=2.9)
    # 0.01 asked: under ten times that it may be proved on scrap
    assert 0.01 < result.risk.snap_probability < 0.1
    assert result.verdict == "marginal" and result.governed_by == "neck fatigue"
    text = " ".join(check_text(result, job(cutter__neck_diameter=2.9)).split())
    assert "PROVE IT ON SCRAP FIRST because the snap probability, about 1 cut in " in text
    assert "is over the asked 1 cut in 100" in text and "Over capacity" not in text
    assert re.search(r"Governed by neck fatigue: \d+% of the chance", text)
    assert "Prove it on scrap: cut" in text and "used to" not in text.split("Settings")[0]


def test_marginal_says_why() -> None:
    chance = replace(risk_of_share(0.99, fatigue=0.0099), low=0.0092, high=0.011)
    reach = "the interval of the snap probability, 0.0092 to 0.011, reaches over the asked 0.01"
    assert why_marginal([made("a", 0.5)], chance, 0.01) == reach
    assert "a is used to 85%, over the 80% that a go allows" in why_marginal(
        [made("a", 0.85)], chance, 0.01
    )
    result = answer(target__wall_error=0.002)
    assert result.verdict == "marginal"
    line = " ".join(check_text(result, job(target__wall_error=0.002)).split())
    assert re.search(
        r"PROVE IT ON SCRAP FIRST because wall error is over what is advised \(\d+%\)\. Governed by wall error",
        line,
    )
    assert answer().why == "" and answer(cutter__neck_diameter=1.6).why == ""


def test_a_mistyped_unit_is_asked_about_and_no_absurd_share_is_shown() -> None:
    wrong = job(cutter__neck_diameter=0.34, cutter__neck_fillet=0.1)
    result = check(wrong, drawn())
    text = " ".join(check_text(result, wrong).split())
    assert any("is a unit mistyped?" in x for x in result.warnings)
    assert max(int(x) for x in re.findall(r"(\d+)%", text)) <= 1000 and "over 1000%" in text
    assert not any("mistyped" in x for x in answer(cutter__neck_diameter=2.0).warnings)
    assert (units.percent(10.0), units.percent(10.01)) == ("1000%", "over 1000%")


def test_a_fillet_that_meets_the_throats_corner_is_told() -> None:
    # by hand: 6.2/2 - 5.6/2 = 0.3 of room beside the neck; 0.8 - sqrt(2 x 0.8 x 0.3 - 0.09) high
    wide, fits = (
        next(
            x
            for x in answer(cutter__neck_diameter=5.6, cutter__neck_fillet=r).limits
            if x.name == "fillet in throat"
        )
        for r in (0.8, 0.29)
    )
    assert (
        not wide.hard
        and wide.fit
        and (wide.demand, wide.capacity) == pytest.approx((0.8 - 0.39**0.5, 0.05))
        and "lower corners" in wide.note
    )
    assert fits.utilization < 1


# --- what the bad cut looks like ------------------------------------------------------------------------


@pytest.mark.parametrize(("ends", "larger"), [
    ({"cutter__neck_fillet": 0.1}, {"cutter.neck_fillet": 0.5}),
    ({"cutter__neck_fillet": 0.1, "cutter__head_fillet": 0.1}, {"cutter.neck_fillet": 0.5, "cutter.head_fillet": 0.5}),
    ({"cutter__neck_fillet": 0.8, "cutter__head_fillet": 0.1}, {"cutter.neck_fillet": 0.8, "cutter.head_fillet": 0.5}),
    ({"cutter__neck_fillet": 0.1, "cutter__head_fillet": 0.5}, {"cutter.neck_fillet": 0.5, "cutter.head_fillet": 0.5}),
    ({"cutter__neck_fillet": 0.5, "cutter__head_fillet": 0.5}, None),
])  # fmt: skip
def test_a_larger_fillet_is_advised_for_the_end_that_lacks_it(
    ends: dict[str, float], larger: dict[str, float] | None
) -> None:
    """Throat 6.2, neck 5.2: 0.5 is left beside the neck, and at most 0.5 is advised; no end gets a smaller one."""
    s = resolve(job(**ends))
    picked = cut.Picked(speed=1.0, f_z=0.01, stepover=None, notes=())
    found = [c for words, c in changes.changes_of(s, picked, {}) if "neck a fillet" in words]
    assert found == ([] if larger is None else [pytest.approx(larger)])


def test_the_middle_of_what_snaps_in_closed_form() -> None:
    # computed: of a normal draw, those over t have their median where the tail is halved; hand feed, factor 1.20 exp(0.35 z)
    from scipy.stats import norm

    s = resolve(track())
    many = samples.draws(12)
    laid = passes(s, None, "conventional")
    weights = (many.z[samples.Uncertain.FEED_STEADINESS] > 1.0).astype(float)
    (feed,) = breaks.traits(s, laid, 0.016, many, weights)
    expected = 1.20 * math.exp(0.35 * norm.isf(norm.sf(1.0) / 2))
    assert feed.code is breaks.Trait.UNSTEADY_FEED
    assert feed.facts["factor"] == pytest.approx(expected, rel=0.03)
    # nothing sets all cuts apart from themselves
    assert breaks.traits(s, laid, 0.016, many, np.ones_like(weights)) == ()
    packed = breaks.traits(
        s,
        laid,
        0.016,
        many,
        (
            chip_packing.burst_factor(s, laid, 0.016, many.u[samples.Uncertain.CHIP_PACKING]) > 1.5
        ).astype(float),
    )
    assert [trait.code for trait in packed] == [breaks.Trait.PACKED_CHIPS]


def test_a_neck_with_room_that_still_snaps_says_what_the_bad_cut_has() -> None:
    one = job(cutter__neck_diameter=2.9)
    result = check(one, samples.draws(13))
    assert (
        max(x.utilization for x in result.limits if x.name.startswith("neck f")) < 0.5
        and result.risk.snap_probability > 0.01
    )
    assert "metal that takes" in result.bad_case and result.bad_case in " ".join(
        check_text(result, one).split()
    )
    assert check(track(), drawn()).bad_case == ""
    assert check(job(cutter__neck_diameter=2.0), drawn()).bad_case == ""  # the limits say it


# --- a model used beyond its range ----------------------------------------------------------------------


def test_a_short_cut_says_that_the_fatigue_line_is_extrapolated() -> None:
    # by hand: one pass of 118 + 10.4 mm at 0.016 mm/tooth and two teeth is 4,012 turns; at 0.08 mm/tooth 802
    told = [
        any("Under 1000 turns" in x for x in answer(cut__feed_per_tooth=f).warnings)
        for f in (0.016, 0.08)
    ]
    assert told == [False, True]


def test_a_stubby_tooth_says_that_its_root_is_no_beam() -> None:
    # by hand: two teeth of an unknown grind stand 0.25 D over a root of 0.35 D, 0.71; 1/(4 x 0.714) of shear
    (note,) = (x for x in answer().warnings if "no beam" in x)
    assert "arm 0.71 of its thickness" in note and "the shear, 35% of the bending" in note


@pytest.mark.closed_form(
    "plane geometry: the axis goes as far off as the neck and its fillet let it"
)
def test_the_smallest_head_of_a_one_sided_undercut_reaches_its_wall() -> None:
    # throat 0.550, undercut 0.610 from the plain wall, neck 0.260, fillet 0.020 in: the axis comes
    # 0.275 - 0.130 - 0.020 = 0.125 off centre, the wall stands 0.610 - 0.275 = 0.335 off: the head
    # reaches the 0.210 between with a radius of that, and is told a step larger at most
    s = resolve(job_from_text(example("one-sided"), "one-sided"))
    ((_, change),) = changes._smaller_head(s)
    assert 0.420 * 25.4 - 1e-9 <= change["cutter.head_diameter"] <= 0.420 * 25.4 + 0.1

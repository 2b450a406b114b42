"""Charts that stand still, and what charts may say: the picture carries the numbers of the figure, the point chosen
wears the verdict, "safe" stands only where a check is a go, labels stand in the order of their lines.
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from loadsim import check, plan
from loadsim.answers.results import Plan, Verdict
from loadsim.job import write
from loadsim.job.read import changed, job_from_text
from loadsim.report.figures import (
    basis,
    charts,
    limit_figures,
    limit_series,
    map_figures,
    mode_series,
    neck_figures,
    still,
    still_marks,
    style,
)
from loadsim.report.figures.picture import WIDTH, picture
from loadsim.risk import samples
from loadsim.risk.results import Modes

DRAWN = samples.draws(12)
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def plans() -> dict[str, Plan]:
    go = job_from_text(write.example("t-track"), "go")
    jobs = {"go": go, "no-go": changed(go, {"cutter.neck_diameter": 1.6})}
    return {name: plan(job, DRAWN) for name, job in jobs.items()}


@pytest.fixture(scope="module")
def drawn(plans: dict[str, Plan]) -> dict[str, dict[str, style.Chart]]:
    return {name: {c.id: c for c in charts.charts_of(p)} for name, p in plans.items()}


def svg_of(chart: style.Chart) -> ET.Element:
    return ET.fromstring(picture(chart).replace("<svg ", f'<svg xmlns="{SVG[1:-1]}" ', 1))


def lettered(root: ET.Element) -> list[tuple[str, float, float]]:
    return [
        ((e.text or ""), float(e.attrib["x"]), float(e.attrib["y"]))
        for e in root.iter(f"{SVG}text")
    ]


# ---- the picture


@pytest.mark.parametrize("name", ["go", "no-go"])
def test_every_chart_has_a_small_picture_in_greys(
    drawn: dict[str, dict[str, style.Chart]], name: str
) -> None:
    pictures = {key: picture(chart) for key, chart in drawn[name].items()}
    assert sum(map(len, pictures.values())) < 90_000
    for key, text in pictures.items():
        root = svg_of(drawn[name][key])
        assert root.attrib["role"] == "img" and root.attrib["aria-label"] == drawn[name][key].alt
        assert float(root.attrib["width"]) == WIDTH
        colours = set(re.findall(r'(?:fill|stroke)="(#[0-9a-f]+|[a-z]+)"', text)) - {
            "none",
            "white",
        }
        for colour in colours:
            hexes = re.findall("..", colour[1:]) if len(colour) == 7 else list(colour[1:])
            assert len(set(hexes)) == 1, (key, colour)
        assert not re.search(r"(?<![a-z])(nan|None|inf)(?![a-z])", text)
        for words, x, y in lettered(root):
            assert (-1 <= x <= WIDTH + 1 and -1 <= y <= style.HEIGHT + 8) or "translate" in text, (
                words
            )


def test_bars_are_as_long_as_their_numbers(drawn: dict[str, dict[str, style.Chart]]) -> None:
    chart = drawn["no-go"]["limits-neck"]
    used = list(chart.figure.data[0].x)
    bars = [
        float(e.attrib["width"])
        for e in svg_of(chart).iter(f"{SVG}rect")
        if e.get("stroke") == "#111111"
    ]
    # within the axis, which ends at 150 %
    pairs = [(u, b) for u, b in zip(used, bars, strict=True) if 0.02 < u < 1.5]
    assert len(pairs) >= 3
    ratios = [b / u for u, b in pairs]
    assert max(ratios) == pytest.approx(min(ratios), rel=2e-3)


def test_a_line_goes_through_its_numbers_on_both_kinds_of_axis() -> None:
    even = still.Axis(start=10, end=110, low=0, high=50)
    assert [even.at(x) for x in (0, 25, 50)] == [10, 60, 110]
    log = still.Axis(start=200, end=0, low=-1, high=1, log=True)
    assert [log.at(x) for x in (0.1, 1, 10)] == pytest.approx([200, 100, 0])
    assert math.isnan(log.at(0)) and math.isnan(even.at(None))


@pytest.mark.closed_form("points within a quarter pixel of a chord may go, a corner may not")
def test_points_on_a_straight_line_are_left_out() -> None:
    line = [(float(x), 2.0 * x) for x in range(11)]
    assert still.path(line, 1, "#000").count("L") == 1
    corner = [(0.0, 0.0), (5.0, 5.0), (10.0, 0.0)]
    assert "5 5" in still.path(corner, 1, "#000")
    gap = [(0.0, 0.0), (1.0, 1.0), (2.0, math.nan), (3.0, 0.0), (4.0, 1.0)]
    assert still.path(gap, 1, "#000").count("M") == 2


@pytest.mark.closed_form("the level of a plane is a straight line")
def test_the_level_of_a_slope_is_one_straight_line() -> None:
    us = [float(u) for u in range(6)]
    vs = [float(v) for v in range(5)]
    z = [[u + 2 * v for u in us] for v in vs]
    (chain,) = still_marks.chains(us, vs, z, 4.5)
    assert all(u + 2 * v == pytest.approx(4.5) for u, v in chain)
    ends = sorted((chain[0], chain[-1]))
    assert ends == [pytest.approx((0.0, 2.25)), pytest.approx((4.5, 0.0))]


@pytest.mark.closed_form("the level of a cone is a circle")
def test_the_level_round_a_hill_is_one_closed_line() -> None:
    us = np.linspace(-1, 1, 41).tolist()
    z = [[math.hypot(u, v) for u in us] for v in us]
    (chain,) = still_marks.chains(us, us, z, 0.7)
    assert chain[0] == chain[-1]
    # a chord of a cell of 0.05 lies within 0.05^2 / (8 x 0.7) of its arc, and the slope is as straight
    assert [math.hypot(*p) for p in chain] == pytest.approx([0.7] * len(chain), abs=1e-3)


# ---- what the charts may say


@pytest.mark.parametrize(
    ("verdict", "symbol", "said"),
    [
        (Verdict.GO, "circle", "chosen: GO"),
        (Verdict.MARGINAL, "diamond", "chosen: PROVE IT FIRST"),
        (Verdict.NO_GO, "x-thin", "chosen: NO-GO"),
    ],
)
def test_the_point_chosen_wears_the_verdict(
    plans: dict[str, Plan], verdict: Verdict, symbol: str, said: str
) -> None:
    p = plans["go"]
    worn = replace(p, result=replace(p.result, verdict=verdict))
    chart = map_figures.feed_neck_map(worn)
    assert chart.figure.data[-1].marker.symbol == symbol
    assert chart.figure.layout.annotations[0].text == f"<b>{said}</b>"
    over_feed = limit_figures.limits_over_feed(worn)
    assert over_feed.figure.layout.annotations[0].text.startswith(said)
    assert said in picture(chart)


def test_safe_stands_only_where_a_check_is_a_go(plans: dict[str, Plan]) -> None:
    b = basis.basis_of(plans["go"])
    series = limit_series.over_feed_and_neck(b)
    grades = set()
    for i in range(0, series.other.size, 8):
        for j in (0, 13, series.f_z.size - 1):
            said = map_figures.area_words(b, series, "neck diameter", (i, j))
            point = {
                "cut.feed_per_tooth": float(series.f_z[j]),
                "cutter.neck_diameter": float(series.other[i]),
            }
            found = check(changed(plans["go"].job, point), DRAWN).verdict
            assert (said == "safe") == (found is Verdict.GO), point
            grades.add(found)
    assert Verdict.GO in grades


def test_low_loads_are_not_called_safe_where_the_chance_is_too_high(
    plans: dict[str, Plan], monkeypatch: pytest.MonkeyPatch
) -> None:
    b = basis.basis_of(plans["go"])
    series = limit_series.over_feed_and_neck(b)
    place = (series.other.size - 1, 13)
    assert series.worst[place] < 0.2
    assert map_figures.area_words(b, series, "neck diameter", place) == "safe"
    # over the accepted 1 in 100, at the same loads
    risk = replace(plans["go"].result.risk, snap_probability=0.02, low=0.02, high=0.02)
    monkeypatch.setattr(map_figures, "assess", lambda *a, **k: risk)
    assert map_figures.area_words(b, series, "neck diameter", place) == "loads under 80%"


@pytest.mark.parametrize("name", ["go", "no-go"])
@pytest.mark.parametrize("key", ["limits-feed", "force-tangential", "force-radial"])
def test_labels_stand_in_the_order_of_their_lines(
    drawn: dict[str, dict[str, style.Chart]], name: str, key: str
) -> None:
    notes = [a for a in drawn[name][key].figure.layout.annotations if a.showarrow]
    assert len(notes) >= 4
    # down the page: the line's end is at y, the label ay below it
    low, high = drawn[name][key].figure.layout.yaxis.range
    ends = [style.PLOT * (high - a.y) / (high - low) for a in notes]
    places = [end + a.ay for end, a in zip(ends, notes, strict=True)]
    order = sorted(range(len(notes)), key=lambda i: ends[i])
    assert all(places[a] < places[b] for a, b in pairwise(order))


@pytest.mark.parametrize("mode", ["fracture", "fatigue", "torsion"])
def test_load_against_strength_shows_the_way_to_break_that_governs(
    plans: dict[str, Plan], mode: str
) -> None:
    p = plans["no-go"]
    chances = {"fracture": 0.01, "fatigue": 0.01, "torsion": 0.01, "grab": 0.0} | {mode: 0.4}
    led = replace(p, result=replace(p.result, risk=replace(p.result.risk, modes=Modes(**chances))))
    chart = neck_figures.load_against_strength(led)
    assert chart.title == f"Load against strength: {mode}"
    humps = mode_series.governing_humps(basis.basis_of(led))
    x = np.log(humps.x)
    for density in (humps.load, humps.strength):
        assert np.trapezoid(density, x) == pytest.approx(1, abs=5e-3)


@pytest.mark.closed_form("P(load over strength) of independent quantities, from both densities")
def test_the_overlap_of_the_humps_is_the_chance_by_fatigue(plans: dict[str, Plan]) -> None:
    p = plans["no-go"]
    assert p.result.risk.modes.fatigue > max(
        p.result.risk.modes.fracture, p.result.risk.modes.torsion
    )
    humps = mode_series.governing_humps(basis.basis_of(p))
    assert humps.mode == "fatigue"
    x = np.log(humps.x)
    weaker = np.concatenate(
        [[0.0], np.cumsum((humps.strength[1:] + humps.strength[:-1]) / 2 * np.diff(x))]
    )
    overlap = float(np.trapezoid(humps.load * weaker, x))
    assert 0.1 < overlap < 0.97
    assert overlap == pytest.approx(p.result.risk.modes.fatigue, rel=0.05)


@pytest.mark.parametrize("name", ["go", "no-go"])
def test_each_chart_says_what_to_do_with_it_in_one_sentence(
    drawn: dict[str, dict[str, style.Chart]], name: str
) -> None:
    said = [chart.use for chart in drawn[name].values()]
    for use in said:
        assert use.endswith(".") and use[0].isupper() and 20 < len(use) < 190, use
    assert "safe" not in " ".join(a.text for a in drawn["no-go"]["map"].figure.layout.annotations)

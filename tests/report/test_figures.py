"""The charts carry the numbers of the answer, and those have closed forms; what is drawn can be printed in greys.

Expected values: the JSON answer where a chart repeats it, closed forms of mechanics and of the Weibull distribution, and a
separate check or map of the same job where a chart looks at other settings.
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadsim import check, plan, read_job
from loadsim.answers.maps.table import table
from loadsim.answers.results import Plan
from loadsim.job.read import changed, job_from_text
from loadsim.loads.turn import turn
from loadsim.report.figures import (
    basis,
    charts,
    cut_series,
    driver_figure,
    limit_figures,
    limit_series,
    map_figures,
    neck_figures,
    style,
    turn_figures,
)
from loadsim.risk import samples
from loadsim.words import phrases

ROOT = Path(__file__).resolve().parents[2]
#: Our own part: a T-slot whose undercut is wider than the head, so that side passes are needed.
TEE = """
[job]
number = "<b>T-1</b> & co"
part = "</script><i>plate</i>"
[work]
material = "al-6061-t6"
lubrication = "brush"
[slot]
throat_width = "6 mm"
throat_depth = "5 mm"
undercut_width = "9.6 mm"
undercut_height = "3 mm"
depth = "8 mm"
length = "24 mm"
sides = 2
open_ends = 2
[cutter]
material = "hss-m2"
head_diameter = "8.4 mm"
head_height = "3 mm"
neck_diameter = "4.2 mm"
neck_length = "5.2 mm"
neck_fillet = "0.2 mm"
shank_diameter = "8 mm"
stickout = "14 mm"
teeth = 2
rake = "6 deg"
[machine]
max_spindle_speed = "4200 rpm"
spindle_power = "2 hp"
feed = "hand"
[cut]
spindle_speed = "3400 rpm"
feed_per_tooth = "0.012 mm/tooth"
direction = "conventional"
"""
NAMES = ("t-track", "one-sided", "thin-neck", "tee")
#: In the smallest bundle of the drawing library that holds them all.
CARTESIAN = {"scatter", "bar", "heatmap", "contour", "histogram", "box"}
#: The answer's sample is larger than that of the curves, so that one cannot pass for the other.
DRAWN = samples.draws(13)
FEWER = samples.draws(basis.SAMPLES_LOG2)


@pytest.fixture(scope="module")
def plans() -> dict[str, Plan]:
    jobs = {n: read_job(ROOT / "reports" / f"{n}.toml") for n in NAMES[:3]} | {
        "tee": job_from_text(TEE, "tee")
    }
    return {n: plan(j, DRAWN) for n, j in jobs.items()}


@pytest.fixture(scope="module")
def bases(plans: dict[str, Plan]) -> dict[str, basis.Basis]:
    return {n: basis.basis_of(p) for n, p in plans.items()}


@pytest.fixture(scope="module")
def drawn(plans: dict[str, Plan]) -> dict[str, tuple[style.Chart, ...]]:
    return {n: charts.charts_of(p) for n, p in plans.items()}


def chart(charts: tuple[style.Chart, ...], key: str) -> style.Chart:
    return next(c for c in charts if c.id == key)


by_name = pytest.mark.parametrize("name", NAMES)


# --- the numbers are those of the answer, and of closed forms ---


@by_name
def test_the_peak_over_a_turn_is_that_of_the_answer(
    name: str, plans: dict[str, Plan], bases: dict[str, basis.Basis]
) -> None:
    s = cut_series.over_turn(bases[name])
    loads = plans[name].result.loads
    assert s.F.max() == pytest.approx(
        loads.peak_force_N, rel=1e-9
    )  # the positions of the peak are among those drawn
    assert np.hypot(s.F_x, s.F_y) == pytest.approx(s.F)
    assert (np.diff(s.angle) >= 0).all() and s.angle[0] >= 0 and s.angle[-1] <= 2 * math.pi


@pytest.mark.parametrize("name", NAMES[:3])  # of several passes each may hold another maximum
def test_the_mean_torque_is_the_area_under_the_curve(
    name: str, plans: dict[str, Plan], bases: dict[str, basis.Basis]
) -> None:
    s = cut_series.over_turn(bases[name])
    area = np.trapezoid(
        np.append(s.torque, s.torque[0]), np.append(s.angle, s.angle[0] + 2 * math.pi)
    ) / (2 * math.pi)
    # at each of four jumps half a step of 1 degree is lost or won: under 1 % of stretches of 100 degrees
    b = bases[name]
    (piece,) = (c for c in b.way.contacts if (c.step + 1, c.kind) == (s.number, s.kind))
    t = turn(b.cut.case, piece.turn)
    assert area == pytest.approx((t.weight @ t.torque).item(), rel=0.01)
    if len(b.way.contacts) == 1:  # no other piece asks more
        assert area == pytest.approx(plans[name].result.loads.mean_torque_Nmm, rel=0.01)
    pull = np.trapezoid(
        np.append(s.F_x, s.F_x[0]), np.append(s.angle, s.angle[0] + 2 * math.pi)
    ) / (2 * math.pi)
    assert -pull == pytest.approx(-(t.weight @ t.F_x).item(), rel=0.03)


@by_name
def test_the_thickest_chip_is_that_of_the_answer(
    name: str, plans: dict[str, Plan], bases: dict[str, basis.Basis]
) -> None:
    s = cut_series.over_immersion(bases[name])
    assert max(x.max() for x in s.h) == pytest.approx(
        plans[name].result.loads.peak_chip_mm, rel=1e-9
    )


def test_the_curve_over_a_turn_has_no_needles(plans: dict[str, Plan]) -> None:
    # four teeth, none lifted by runout: one leaves the metal as the next enters, so that the cutter is never idle
    p = plan(changed(plans["t-track"].job, {"cutter.teeth": 4, "cutter.runout": 0.0}), DRAWN)
    s = cut_series.over_turn(basis.basis_of(p))
    assert s.F.min() > 0 and s.F.max() == pytest.approx(p.result.loads.peak_force_N, rel=1e-9)


def test_without_runout_the_chip_is_the_circle_s(plans: dict[str, Plan]) -> None:
    # h = f_z sin(phi), Martellotti's circle: the limit case of no runout
    p = plan(changed(plans["tee"].job, {"cutter.runout": 0.0}), DRAWN)
    s = cut_series.over_immersion(basis.basis_of(p))
    for phi, h in zip(s.phi, s.h, strict=True):
        assert h == pytest.approx(np.broadcast_to(0.012 * np.sin(phi), h.shape), abs=1e-12)


def test_teeth_meet_metal_beside_the_throat_alone(bases: dict[str, basis.Basis]) -> None:
    # t-track: throat 6.2 mm as deep as the slot, head 10.4 mm: cos(phi) = 6.2/10.4 where a tooth leaves the metal
    edge = math.acos(6.2 / 10.4)
    assert cut_series.over_immersion(bases["t-track"]).stretches == pytest.approx(
        np.array([(0, edge), (math.pi - edge, math.pi)])
    )


@by_name
def test_the_neck_is_a_cantilever_under_the_peak_force(
    name: str, plans: dict[str, Plan], bases: dict[str, basis.Basis]
) -> None:
    s = cut_series.along_neck(bases[name])
    job = plans[name].job
    answer = plans[name].result.neck
    F = plans[name].result.loads.peak_force_N
    c = plans[name].job.cutter
    assert s.profile.moment[0] == pytest.approx(F * s.load_at)  # at the collet: force times lever
    shoulder = int(np.argmax(np.where(s.in_neck, s.profile.stress, 0.0)))
    moment = F * (s.load_at - (c.stickout - c.neck_length - c.head_height))
    assert s.profile.moment[shoulder] == pytest.approx(moment)
    assert s.profile.stress[shoulder] == pytest.approx(
        32 * moment / (math.pi * job.cutter.neck_diameter**3)
    )
    assert moment == pytest.approx(answer.moment_Nmm)
    assert s.profile.stress[shoulder] == pytest.approx(answer.bending_stress_MPa)
    assert np.interp(s.load_at, s.profile.z, s.profile.deflection) == pytest.approx(
        answer.deflection_mm
    )
    assert s.profile.moment[-1] == 0  # beyond the load there is none


@by_name
def test_the_limits_at_the_chosen_feed_are_those_of_the_answer(
    name: str, plans: dict[str, Plan], bases: dict[str, basis.Basis]
) -> None:
    s = limit_series.over_feed(bases[name])
    given_ = {x.name: x for x in plans[name].result.limits if not x.fit}
    assert s.f_z[s.chosen] == pytest.approx(plans[name].result.settings.feed_per_tooth_mm, rel=1e-8)
    assert s.f_z[[0, -1]] == pytest.approx(s.f_z[s.chosen] * np.array([0.2, 2.0]))
    for n, hard, u in zip(s.names, s.hard, s.utilization, strict=True):
        assert u[s.chosen] == pytest.approx(given_[n].utilization) and hard == given_[n].hard
    assert {n for n, x in given_.items() if x.utilization > 0} <= set(s.names)
    assert (np.diff(s.utilization[:, s.chosen]) <= 0).all()


def test_limits_at_another_feed_are_those_of_a_check(
    plans: dict[str, Plan], bases: dict[str, basis.Basis]
) -> None:
    s = limit_series.over_feed(bases["tee"])
    other = check(changed(plans["tee"].job, {"cut.feed_per_tooth": float(s.f_z[-1])}), DRAWN)
    expected = {x.name: x.utilization for x in other.limits}
    assert s.utilization[:, -1] == pytest.approx(np.array([expected[n] for n in s.names]))


@by_name
def test_the_map_holds_the_answer_at_the_chosen_point(
    name: str, plans: dict[str, Plan], bases: dict[str, basis.Basis]
) -> None:
    s = limit_series.over_feed_and_neck(bases[name])
    row = int(np.argmin(np.abs(s.other - s.chosen[1])))
    col = int(np.argmin(np.abs(s.f_z - s.chosen[0])))
    assert (s.f_z[col], s.other[row]) == pytest.approx(s.chosen)
    worst = max(
        x.utilization for x in plans[name].result.limits if x.hard and not x.fit and x.decides
    )
    assert s.worst[row, col] == pytest.approx(worst)


def test_a_blank_far_from_its_end_does_not_hide_what_feed_and_neck_do(
    plans: dict[str, Plan],
) -> None:
    # HSS is asked 513 of its 800 HV in mild steel, whatever the feed and the neck
    p = plan(changed(plans["tee"].job, {"work.material": "steel-1018"}), DRAWN)
    (blank,) = (x for x in p.result.limits if x.name == "blank against metal")
    assert blank.utilization == pytest.approx(513 / 800)
    worst = limit_series.over_feed_and_neck(basis.basis_of(p)).worst
    assert np.nanmin(worst) < 513 / 800 and np.nanmax(worst) > 513 / 800


def test_the_map_agrees_with_a_table_of_the_same_points(
    plans: dict[str, Plan], bases: dict[str, basis.Basis]
) -> None:
    s = limit_series.over_feed_and_neck(bases["tee"])
    feeds = s.f_z[[0, -1]].tolist()
    necks = s.other[[0, -1]].tolist()
    found = table(
        plans["tee"].job,
        {"cutter.neck_diameter": necks, "cut.feed_per_tooth": feeds},
        probability=False,
    )
    hard = [
        f"use: {x.name}" for x in plans["tee"].result.limits if x.hard and not x.fit and x.decides
    ]
    assert s.worst[np.ix_([0, -1], [0, -1])].ravel() == pytest.approx(
        found[hard].max(axis=1).to_numpy()
    )


def test_the_stepover_map_holds_the_answer_and_is_refused_without_side_passes(
    plans: dict[str, Plan], bases: dict[str, basis.Basis]
) -> None:
    s = limit_series.over_feed_and_stepover(bases["tee"])
    assert s.other[-1] == pytest.approx((9.6 - 8.4) / 2)  # each side in one step
    worst = max(
        x.utilization for x in plans["tee"].result.limits if x.hard and not x.fit and x.decides
    )
    col = int(np.argmin(np.abs(s.f_z - s.chosen[0])))
    assert s.worst[np.flatnonzero(s.other == s.chosen[1]), col] == pytest.approx(
        worst, rel=2e-3
    )  # coarser contact tables
    assert map_figures.feed_stepover_map(plans["tee"]).columns[0] == "stepover [mm]"
    with pytest.raises(ValueError, match="no stepover to look at"):
        map_figures.feed_stepover_map(plans["t-track"])


@by_name
def test_both_curves_are_densities(name: str, bases: dict[str, basis.Basis]) -> None:
    s = cut_series.load_and_strength(bases[name])
    x = np.log(s.stress)
    assert np.trapezoid(s.load, x) == pytest.approx(1, abs=2e-3)
    assert np.trapezoid(s.strength, x) == pytest.approx(1, abs=2e-3)
    below = np.concatenate([[0.0], np.cumsum((s.load[1:] + s.load[:-1]) / 2 * np.diff(x))])
    assert np.interp(math.log(s.load_median), x, below) == pytest.approx(0.5, abs=0.01)


def test_the_strength_is_weibull_s(plans: dict[str, Plan]) -> None:
    p = plans["t-track"]
    b = basis.basis_of(p)
    s = cut_series.load_and_strength(b)
    strength = b.job.strength
    x = np.log(s.stress)
    mean = np.trapezoid(x * s.strength, x)
    sd = math.sqrt(np.trapezoid((x - mean) ** 2 * s.strength, x))
    # ln of a Weibull variable: mean ln(sigma_0) - gamma/m, variance pi^2/(6 m^2); the level adds its own spread
    assert mean == pytest.approx(math.log(strength.sigma_0) - np.euler_gamma / strength.m, abs=2e-3)
    assert sd == pytest.approx(
        math.hypot(math.pi / (strength.m * math.sqrt(6)), strength.spread), rel=0.01
    )
    assert s.strength_median == pytest.approx(strength.sigma_0 * math.log(2) ** (1 / strength.m))


def test_the_chance_by_fracture_is_the_overlap_of_the_curves(plans: dict[str, Plan]) -> None:
    # P(load > strength) = integral of the load's density times the strength's distribution, the two being independent
    thin = changed(
        plans["thin-neck"].job,
        {"cutter.neck_length": 3.0, "slot.depth": 4.9, "slot.throat_depth": None},
    )
    s = cut_series.load_and_strength(basis.basis_of(plan(thin, DRAWN)))
    x = np.log(s.stress)
    weaker = np.concatenate([[0.0], np.cumsum((s.strength[1:] + s.strength[:-1]) / 2 * np.diff(x))])
    overlap = float(np.trapezoid(s.load * weaker, x))
    assert 0.05 < overlap < 0.95  # else the case says nothing
    assert s.fracture == pytest.approx(
        overlap, rel=0.03
    )  # smoothing widens the load's curve a little


@by_name
def test_the_slider_s_own_neck_is_the_answer(name: str, plans: dict[str, Plan]) -> None:
    s = limit_series.over_neck(plans[name])
    r = plans[name].result
    own = s["own"]
    assert s["values"][own] == pytest.approx(plans[name].job.cutter.neck_diameter)
    assert s["snap"][own] == r.risk.snap_probability
    expected = {x.name: x.utilization for x in r.limits}
    assert s["utilization"][own] == pytest.approx([expected[n] for n in s["names"]], rel=1e-4)
    assert s["values"] == sorted(s["values"]) and 10 <= len(s["values"]) <= 13
    assert {len(s[k]) for k in ("labels", "utilization", "text", "snap", "snap_text")} == {
        len(s["values"])
    }
    json.dumps(s, allow_nan=False)


@by_name
def test_every_neck_of_the_slider_fits(name: str, plans: dict[str, Plan]) -> None:
    s = limit_series.over_neck(plans[name])
    job = plans[name].job
    offset = max(math.fabs(p["offset_mm"]) for p in plans[name].result.settings.passes)
    assert (
        s["values"][-1] + 2 * (offset + 0.05) <= job.slot.throat_width + 1e-4
    )  # 0.05 mm is left each side
    assert (
        s["values"][-1] <= min(job.cutter.shank_diameter, job.cutter.head_diameter) + 1e-4
    )  # five figures


def test_another_neck_of_the_slider_is_a_check_of_it(plans: dict[str, Plan]) -> None:
    s = limit_series.over_neck(plans["tee"])
    other = check(changed(plans["tee"].job, {"cutter.neck_diameter": s["values"][0]}), FEWER)
    expected = {x.name: x.utilization for x in other.limits}
    assert s["utilization"][0] == pytest.approx([expected[n] for n in s["names"]], rel=1e-4)
    assert s["snap"][0] == other.risk.snap_probability
    # a thicker neck snaps less; the job's own is told as in its answer, from more samples
    others = [x for i, x in enumerate(s["snap"]) if i != s["own"]]
    assert others == sorted(others, reverse=True)


def test_a_neck_that_does_not_fit_still_shows_itself(plans: dict[str, Plan]) -> None:
    p = plan(
        changed(plans["t-track"].job, {"cutter.neck_diameter": 6.15}), DRAWN
    )  # 0.025 mm a side where 0.05 is asked
    s = limit_series.over_neck(p)
    assert s["values"][s["own"]] == 6.15 and s["own"] == len(s["values"]) - 1


def test_a_plan_without_settings_is_refused(plans: dict[str, Plan]) -> None:
    p = plans["tee"]
    bare = replace(p, job=changed(p.job, {"cut.feed_per_tooth": None}))
    with pytest.raises(ValueError, match=r"made from loadsim\.plan"):
        basis.basis_of(bare)


# --- what is shown ---


@by_name
def test_the_charts_of_a_plan(name: str, drawn: dict[str, tuple[style.Chart, ...]]) -> None:
    assert [c.id for c in drawn[name]] == [
        "forces",
        "chip",
        "shock",
        "neck",
        "limits-feed",
        "limits-neck",
        "map",
        "strength",
        "drivers",
        "force-tangential",
        "force-radial",
    ]
    for c in drawn[name]:
        assert all(len(row) == len(c.columns) for row in c.rows) and 5 <= len(c.rows) <= 25, c.id
        assert c.alt.endswith(".") and any(x.isdigit() for x in c.alt), c.id
        assert 270 <= c.figure.layout.height <= 290


@by_name
def test_tables_and_figures_carry_the_same_numbers(
    name: str, drawn: dict[str, tuple[style.Chart, ...]]
) -> None:
    for key in ("forces", "chip", "limits-feed"):
        c = chart(drawn[name], key)
        for row in c.rows:
            for value, trace in zip(row[1:], c.figure.data, strict=True):
                at = {y for x, y in zip(trace.x, trace.y, strict=True) if x == row[0]}
                assert value in at, (key, row[0])
    c = chart(drawn[name], "neck")
    for row in c.rows:
        for value, trace in zip(row[1:], c.figure.data, strict=True):
            assert value in {x for x, y in zip(trace.x, trace.y, strict=True) if y == row[0]}
    c = chart(drawn[name], "drivers")
    assert {r[0]: r[1] for r in c.rows} == dict(
        zip(c.figure.data[0].y, c.figure.data[0].x, strict=True)
    )
    c = chart(drawn[name], "limits-neck")
    assert (
        list(c.figure.data[0].x) in [list(r[1:-1]) for r in c.rows]
        and tuple(c.figure.data[0].y) == c.columns[1:-1]
    )
    c = chart(drawn[name], "map")
    z = np.array(c.figure.data[0].z, float)
    assert all(v in z[list(c.figure.data[0].y).index(row[0])] for row in c.rows for v in row[1:])


@by_name
def test_the_table_of_forces_holds_the_peak(
    name: str, plans: dict[str, Plan], drawn: dict[str, tuple[style.Chart, ...]]
) -> None:
    c = chart(drawn[name], "forces")
    p = plans[name]
    newton = 4.4482216152605 if p.job.job.units == "inch" else 1.0  # 1 lbf, exact
    assert max(row[1] for row in c.rows) * newton == pytest.approx(
        p.result.loads.peak_force_N, rel=5e-5
    )  # five figures


def test_the_risk_in_the_words_is_that_of_the_answer(
    plans: dict[str, Plan], drawn: dict[str, tuple[style.Chart, ...]]
) -> None:
    r = plans["tee"].result.risk
    c = chart(drawn["tee"], "strength")
    assert r.low < 1e-6 < r.snap_probability  # what is under one in a million is not written out
    said = f"{100 * r.snap_probability:g}% (95% between under 1 in a million and {100 * r.high:g}%"
    assert said in c.caption and said in c.alt
    top = chart(drawn["tee"], "drivers")
    assert [row[:2] for row in top.rows] == [(d.name, d.share) for d in r.drivers[:8]]
    assert "Measure first: force constants of the metal" in top.use


@by_name
def test_figures_are_small_and_of_the_cartesian_kind(
    name: str, drawn: dict[str, tuple[style.Chart, ...]]
) -> None:
    texts = [c.figure.to_json() for c in drawn[name]]
    assert sum(map(len, texts)) < 135_000
    for text in texts:
        data = json.loads(text)
        assert {t["type"] for t in data["data"]} <= CARTESIAN
        assert "NaN" not in text and "Infinity" not in text
        assert not data["layout"].get("template", {}).get("layout", {}).get("colorway")


@by_name
def test_everything_drawn_is_a_grey(name: str, drawn: dict[str, tuple[style.Chart, ...]]) -> None:
    def colors(part: object) -> list[str]:
        if isinstance(part, dict):
            return [
                c
                for k, v in part.items()
                for c in ([v] if k.endswith("color") and isinstance(v, str) else colors(v))
            ]
        return (
            [
                c
                for v in part
                for c in ([v] if isinstance(v, str) and v.startswith("#") else colors(v))
            ]
            if isinstance(part, list)
            else []
        )

    for c in drawn[name]:
        found = set(colors(json.loads(c.figure.to_json())["data"])) | set(
            colors(json.loads(c.figure.to_json())["layout"])
        )
        assert found - {"white"} and all(
            x == "white" or (x[0] == "#" and x[1:3] == x[3:5] == x[5:7]) for x in found
        ), (c.id, found)


def test_the_same_plan_gives_the_same_bytes(
    plans: dict[str, Plan], drawn: dict[str, tuple[style.Chart, ...]]
) -> None:
    again = charts.charts_of(plans["tee"])
    assert [c.figure.to_json() for c in again] == [c.figure.to_json() for c in drawn["tee"]]
    assert [(c.caption, c.alt, c.rows) for c in again] == [
        (c.caption, c.alt, c.rows) for c in drawn["tee"]
    ]


def test_each_chart_can_be_had_by_itself(
    plans: dict[str, Plan], drawn: dict[str, tuple[style.Chart, ...]]
) -> None:
    for f in (
        turn_figures.forces_over_turn,
        turn_figures.chip_over_immersion,
        neck_figures.along_neck,
        limit_figures.limits_over_feed,
        limit_figures.limits_over_neck,
        map_figures.feed_neck_map,
        neck_figures.load_against_strength,
        driver_figure.drivers,
    ):
        c = f(plans["t-track"])
        assert c.figure.to_json() == chart(drawn["t-track"], c.id).figure.to_json()


def test_no_text_of_the_user_reaches_a_figure(
    plans: dict[str, Plan], drawn: dict[str, tuple[style.Chart, ...]]
) -> None:
    assert plans["tee"].job.job.part == "</script><i>plate</i>"
    for c in drawn["tee"]:
        shown = c.figure.to_json() + c.title + c.caption + c.alt + str(c.rows)
        assert "plate<" not in shown and "T-1" not in shown and "script" not in shown


def test_an_inch_job_has_inch_axes(drawn: dict[str, tuple[style.Chart, ...]]) -> None:
    def titles(name: str) -> str:
        return " ".join(
            json.loads(c.figure.to_json())["layout"][k]["title"]["text"]
            for c in drawn[name]
            for k in c.figure.layout
            if k[1:5] == "axis"
        )

    for unit in ("[in]", "[lbf]", "[in·lbf]", "[ksi]", "[thou/tooth]"):
        assert unit in titles("one-sided")
    assert not any(unit in titles("one-sided") for unit in ("[mm", "[N", "[MPa"))
    for unit in ("[mm]", "[N]", "[N·m]", "[MPa]", "[mm/tooth]"):
        assert unit in titles("t-track")
    assert chart(drawn["one-sided"], "map").columns[0] == "neck diameter [in]"


def test_charts_do_without_the_table_package() -> None:
    code = (
        "import sys; from loadsim import read_job, plan; from loadsim.report.figures import charts;"
        "charts.charts_of(plan(read_job('reports/t-track.toml'))); print('pandas' in sys.modules, 'plotly' in sys.modules)"
    )
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert run.stdout.split() == ["False", "True"]


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        ((0.5, 0.7, 0.9), (0.1, 0.2, 2.0), "no hard limit is over capacity up to 0.0300 mm/tooth."),
        ((0.5, 0.9, 1.1), (2.0, 2.0, 2.0), "neck is over capacity from 0.0300 mm/tooth."),
        ((1.5, 1.2, 1.1), (0.1, 0.1, 0.1), "at no feed drawn are all hard limits within capacity."),
        ((1.5, 0.9, 0.8), (0.1, 0.1, 0.1), "hard limits are within capacity from 0.0200 mm/tooth."),
    ],
)
def test_where_a_hard_limit_is_crossed_is_said(
    first: tuple[float, ...], second: tuple[float, ...], said: str, plans: dict[str, Plan]
) -> None:
    s = limit_series.OverFeed(
        f_z=np.array([0.01, 0.02, 0.03]),
        names=("neck", "wall"),
        hard=(True, False),
        utilization=np.array([first, second]),
        chosen=1,
    )
    assert limit_figures._crossing(s, style.shower(plans["tee"])) == said


def test_words_on_a_map_stand_in_their_area_away_from_the_point() -> None:
    area = np.zeros((25, 28), bool)
    area[:, :20] = True
    row, col = map_figures._middle(area, area.astype(int), (12, 10))  # type: ignore[misc]
    assert (
        area[row, col]
        and max(abs(row - 12), abs(col - 10)) >= 5
        and 3 <= row <= 21
        and 2 <= col <= 17
    )
    assert map_figures._middle(area & False, area.astype(int), (12, 10)) is None


# --- how it is laid out ---


@given(st.lists(st.floats(-50, 250), max_size=12))
def test_labels_are_moved_apart_and_stay_in_order(at: list[float]) -> None:
    places = style.spread(at, 14.0, 7.0, 212.0)
    order = sorted(range(len(at)), key=lambda i: at[i])
    steps = np.diff([places[i] for i in order])
    assert (steps >= 14.0 - 1e-9).all()
    assert all(7.0 - 1e-9 <= p <= 212.0 + 1e-9 for p in places)  # twelve of them find room


@given(st.integers(2, 2000), st.sets(st.integers(0, 1999), max_size=4))
def test_a_thinned_table_keeps_what_matters(count: int, keep: set[int]) -> None:
    keep = {k for k in keep if k < count}
    rows = style.thinned(count, keep)
    assert (
        keep <= set(rows)
        and len(rows) <= style.ROWS
        and rows == sorted(set(rows))
        and 0 <= rows[0] <= rows[-1] < count
    )


@given(st.floats(-3, 4), st.floats(0.3, 4))
def test_a_logarithmic_axis_has_numbers_that_fit(low: float, span: float) -> None:
    found = style.decades(10**low, 10 ** (low + span), 6)
    assert len(found) <= 6
    assert all(10**low <= x <= 10 ** (low + span) for x in found)
    assert found or span < math.log10(2.5)


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "0%"), (0.0949, "9.5%"), (0.1, "10%"), (1.0, "100%"), (7.42, "742%")]
)
def test_utilizations_are_written_whole(value: float, text: str) -> None:
    assert phrases.percent(value) == text


# ---- the moment as the neck rings


def test_the_moment_at_the_fillet_peaks_where_the_answer_has_it(
    plans: dict[str, Plan], drawn: dict[str, tuple[style.Chart, ...]]
) -> None:
    for name in ("t-track", "thin-neck"):
        p = plans[name]
        c = chart(drawn[name], "shock")
        straight, askew, rest = (max(trace.y) for trace in c.figure.data)
        # the turn is laid out evenly, ramps take the points off: a few per cent under the peak of the answer
        peak = p.result.neck.moment_Nmm
        unit = 1e3 if "N·m" in c.columns[1] else 1.0
        assert 0.8 * peak < rest * unit < 1.02 * peak
        assert straight >= askew
        # at a closed end, as the second example has it, a chip grows from nothing and nothing rings
        assert (straight > 1.2 * rest) is (name == "t-track")
        assert "nobody has measured it" in c.caption and "edges straight" in c.columns[1]

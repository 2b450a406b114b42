"""The predicted undercut: limit cases, closed forms, and agreement with the wall-error limit."""

from __future__ import annotations

import functools
import json
import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from scipy import integrate, stats

import loadsim
from loadsim.answers import inspection
from loadsim.answers.inspection import correct, inspect_job, scatter_of
from loadsim.base.errors import InputError
from loadsim.job import write
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.loads.cut import cutting, engagement_of
from loadsim.loads.nominal import as_drawn
from loadsim.loads.passes import Pass, contacts_of, passes, side_reach, thickest_sine
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.walls import Scatter, Walls, no_scatter, nominal_walls, walls_of
from loadsim.mechanics import beam, gauging
from loadsim.report.terminal.plan import plan_text
from loadsim.risk import samples

F_Z = 0.016
SMALL_HEAD = {"cutter__head_diameter": 9.0, "cutter__neck_diameter": 4.0}


@functools.cache
def example(name: str) -> Job:
    return job_from_text(write.example(name), name)


def track(**changes: Any) -> Job:
    return changed(example("t-track"), {k.replace("__", "."): v for k, v in changes.items()})


def made(job: Job) -> tuple[ResolvedJob, tuple[Pass, ...]]:
    s = resolve(job)
    return s, passes(s, job.cut.stepover, job.cut.direction or "conventional")


def rigid(s: ResolvedJob) -> ResolvedJob:
    return replace(s, blank=replace(s.blank, E=1e15), stiffness=1e15)


def walls(s: ResolvedJob, laid: tuple[Pass, ...], **scatter: Any) -> Walls:
    contacts = contacts_of(laid, s.cutter.teeth, 24)
    off = replace(no_scatter(laid), **{k: np.asarray(v, float) for k, v in scatter.items()})
    return walls_of(s, laid, contacts, as_drawn(s, F_Z, thickest_sine(contacts), 1.0), off)


def one(x: Any) -> float:
    return float(np.asarray(x).reshape(-1)[0])


# ---- limit cases


@pytest.mark.parametrize("teeth", [1, 2, 3, 4])
def test_a_rigid_true_cutter_leaves_a_slot_as_wide_as_its_head(teeth: int) -> None:
    s, laid = made(track(cutter__runout=0.0, cutter__teeth=teeth))
    w = walls(rigid(s), laid)
    assert one(w.narrowest) == pytest.approx(10.4, abs=1e-9)
    assert one(w.widest) == pytest.approx(10.4, abs=1e-9)
    assert one(w.lean) == pytest.approx(0.0, abs=1e-9) and one(w.step) == pytest.approx(
        0.0, abs=1e-9
    )


@pytest.mark.parametrize("teeth", [1, 2, 3, 4, 5])
def test_runout_widens_a_rigid_slot_by_twice_itself(teeth: int) -> None:
    """Outside: teeth on a disc whose centre is off the spindle axis by rho, turned in small steps; the path's width."""
    rho = 0.03
    R = 5.2
    turn = np.linspace(0, 2 * math.pi, 3601)[:, None]
    at = 2 * math.pi * np.arange(teeth) / teeth
    y = rho * np.cos(turn) + R * np.cos(turn + at)  # the offset points at tooth 0
    s, laid = made(track(cutter__runout=rho, cutter__teeth=teeth))
    assert one(walls(rigid(s), laid).widest) == pytest.approx(float(y.max() - y.min()), abs=1e-6)


def test_one_sided_runout_widens_by_once_itself() -> None:
    """Drawn from the plain wall, which no tooth touches: only the wall opposite moves."""
    job = changed(example("one-sided"), {"cutter.runout": 0.03})
    s, laid = made(job)
    assert one(walls(rigid(s), laid).widest) == pytest.approx(
        job.slot.undercut_width + 0.03, abs=1e-6
    )


def test_wear_and_head_size_move_both_walls() -> None:
    s, laid = made(track(cutter__runout=0.0))
    r = rigid(s)
    assert one(walls(r, laid, wear=[0.004]).widest) == pytest.approx(10.4 - 0.008, abs=1e-9)
    assert one(walls(r, laid, head=[0.01]).widest) == pytest.approx(10.41, abs=1e-9)


def test_setting_errors_count_in_side_passes_alone() -> None:
    s, laid = made(track(cutter__runout=0.0))
    assert one(walls(rigid(s), laid, setting=[[0.05]]).widest) == pytest.approx(10.4, abs=1e-9)
    s, laid = made(track(cutter__runout=0.0, **SMALL_HEAD))
    assert [p.offset for p in laid] == pytest.approx([0.0, 0.7, -0.7])
    off = walls(rigid(s), laid, setting=[[0.2], [0.03], [-0.01]])  # the centre pass leaves no wall
    assert one(off.widest) == pytest.approx(10.4 + 0.03 + 0.01, abs=1e-9)


def test_a_spindle_out_of_square_slopes_the_floor_from_wall_to_wall() -> None:
    s, laid = made(track(cutter__runout=0.0))
    assert one(walls(rigid(s), laid, tram=[-0.001]).step) == pytest.approx(0.0104, abs=1e-9)


def test_both_walls_of_a_full_pass_are_alike_and_direction_does_not_matter_to_a_pair() -> None:
    wide = [
        one(nominal_walls(*made(track(cut__direction=d, **SMALL_HEAD)), F_Z).narrowest)
        for d in ("conventional", "climb")
    ]
    assert wide[0] == pytest.approx(wide[1], rel=1e-9)


# ---- deflection and tilt, by hand


def own_force(**changes: Any) -> Job:
    return track(
        work__kc11=1000.0,
        work__mc=0.25,
        work__radial_ratio=0.5,
        cutter__edge_radius=0.01,
        cutter__runout=0.0,
        **changes,
    )


def bent(reach: float, shank: float, s: ResolvedJob) -> tuple[float, float]:
    """Deflection and tilt at a unit load by numerical integration of the moment (Castigliano), bending alone."""
    c = s.cutter
    E = s.blank.E
    I_n, I_s = (math.pi * d**4 / 64 for d in (c.neck_diameter, c.shank_diameter))
    I_h = 0.20 * math.pi * c.head_diameter**4 / 64
    ends = [0.0, reach - c.neck_length, reach, reach + shank]
    EI = [E * I_h, E * I_n, E * I_s]
    pieces = list(zip(ends, ends[1:], EI, strict=False))
    tilted = sum(integrate.quad(lambda x, k=k: x / k, a, b)[0] for a, b, k in pieces)
    return sum(integrate.quad(lambda x, k=k: x * x / k, a, b)[0] for a, b, k in pieces), tilted


def test_tilt_of_a_plain_cantilever_is_the_handbook_s() -> None:
    """F L^2/(2 E I), L = 20 mm, d = 4 mm, E = 200 GPa: 400/(2 * 200000 * 12.566)."""
    got = beam.tilt_compliance(
        shank_length=0.0,
        shank_diameter=4.0,
        neck_length=20.0,
        neck_diameter=4.0,
        head_second_moment=5.0,
        load_reach=20.0,
        E=200_000.0,
    )
    assert float(got) == pytest.approx(400 / (400_000 * math.pi * 4), rel=1e-9)


def test_width_and_lean_by_hand() -> None:
    """The tooth at the wall rubs with F_r = 0.5 b k_c11 h_min^0.75; it pushes the head off, the floor end farther."""
    job = own_force()
    s, laid = made(job)
    c = job.cutter
    F_r = 0.5 * 2.6 * 1000.0 * s.h_min**0.75
    reach = c.neck_length + 1.3
    shank = c.stickout - c.neck_length - c.head_height
    give, tilted = bent(reach, shank, s)
    w = walls(s, laid)
    assert one(w.lean) == pytest.approx(-F_r * tilted * 2.6, rel=1e-9)
    assert one(w.step) == pytest.approx(F_r * tilted * 5.2, rel=1e-9)
    assert one(w.widest) - one(w.narrowest) == pytest.approx(2 * F_r * tilted * 2.6, rel=1e-6)
    shear = (
        1.2
        * (
            1.3 / 0.49 / (math.pi * 10.4**2 / 4)
            + c.neck_length / (math.pi * c.neck_diameter**2 / 4)
            + shank / (math.pi * c.shank_diameter**2 / 4)
        )
        * 2.58
        / s.blank.E
    )
    total = F_r * (
        give + shear + 1 / s.stiffness
    )  # shear by a rectangle's 6/5: a few per cent of the whole
    assert one(w.deflection) == pytest.approx(-total, rel=0.02)
    middle = (one(w.widest) + one(w.narrowest)) / 2
    assert middle == pytest.approx(10.4 + 2 * one(w.deflection), abs=1e-9)


# ---- agreement with the limit


@pytest.mark.parametrize("name", ["t-track", "thin-neck", "one-sided"])
def test_nominal_wall_is_that_of_the_limit(name: str) -> None:
    """One tooth at a time: deflection and runout are the two terms that the limit adds up; here they have their signs."""
    job = example(name)
    s, laid = made(job)
    cut = cutting(s, engagement_of(s, laid), 200.0, F_Z)
    w = nominal_walls(s, laid, F_Z)
    assert one(w.deflection) < 0
    assert -one(w.deflection) == pytest.approx(one(cut.summary.wall_deflection), rel=1e-9)
    (limit,) = (c for c in room_limits(s, cut) if c.code == "wall error")
    moved = math.fabs(one(w.deflection) + s.runout)
    assert moved <= one(limit.demand) == pytest.approx(s.runout - one(w.deflection))


def room_limits(s: ResolvedJob, cut: Any) -> Any:
    from loadsim.loads.limits.undercut import checks

    return checks(s, cut)


@pytest.mark.parametrize("changes", [{}, SMALL_HEAD, {"slot__throat_depth": 6.0}, {"cutter__head_height": 1.3, "cutter__neck_length": 6.7,
                                     "cutter__stickout": 20.0}])  # fmt: skip
@pytest.mark.parametrize("teeth", [1, 2, 3, 4, 6])
def test_the_limit_bounds_the_wall(changes: dict[str, Any], teeth: int) -> None:
    """With several teeth in the metal the limit also counts a tooth that runout holds back from the wall: larger, never less."""
    s, laid = made(track(cutter__teeth=teeth, **changes))
    cut = cutting(s, engagement_of(s, laid), 200.0, F_Z)
    assert math.fabs(one(nominal_walls(s, laid, F_Z).deflection)) <= one(
        cut.summary.wall_deflection
    ) * (1 + 1e-9)


# ---- the spread


def test_more_runout_makes_a_wider_median() -> None:
    medians = [
        inspect_job(track(cutter__runout=r), 10).width_mm.p50
        for r in (0.0, 1e-6, 0.005, 0.02, 0.05)
    ]
    assert medians[1] == pytest.approx(medians[0], abs=1e-5)  # and no jump at none
    assert all(b > a for a, b in pairwise(medians[1:]))


def test_the_spread_of_a_rigid_true_cutter_is_that_of_its_instruments() -> None:
    """Head and two side settings, independent normal: sd = sqrt(0.005^2 + 2 (0.010^2 + (0.1 * 0.12)^2)); chances by the normal law."""
    s, laid = made(track(cutter__runout=0.0, **SMALL_HEAD))
    r = rigid(s)
    drawn = samples.draws(14)
    contacts = contacts_of(laid, 2, 24)
    scatter = scatter_of(r, laid, drawn, wear_land=0.0)
    w = walls_of(r, laid, contacts, as_drawn(r, F_Z, 1.0, 1.0), scatter)
    sd = math.sqrt(0.005**2 + 2 * (0.010**2 + 0.012**2))
    assert float(w.widest.std()) == pytest.approx(sd, rel=0.02)
    got = inspection._width(w)
    assert (got.p05, got.p50, got.p95) == pytest.approx(
        stats.norm.ppf((0.05, 0.5, 0.95), 10.4, sd), abs=0.0008
    )
    under, over, _ = gauging.out_of_tolerance(w.narrowest, w.widest, 10.37, 10.43)
    for side in (under, over):
        assert side.low <= stats.norm.sf(0.03, 0, sd) <= side.high


def test_without_a_tolerance_it_only_predicts() -> None:
    found = inspect_job(track(slot__width_tolerance=None), 8)
    assert found.out is None and found.gauges == () and any("not judged" in n for n in found.notes)
    assert found.width_mm.p50 == inspect_job(track(), 8).width_mm.p50


def test_a_head_of_three_teeth_is_known_worse() -> None:
    three = inspect_job(example("one-sided"), 8)
    assert any("no opposite pair" in n for n in three.notes)


def test_a_neck_that_gives_more_than_the_feed_is_said() -> None:
    assert any("pushes the head off" in n for n in inspect_job(example("thin-neck"), 8).notes)
    assert not any("pushes the head off" in n for n in inspect_job(track(), 8).notes)


def test_a_very_thin_head_is_answered() -> None:
    """The height's scatter is not small beside it: the load stays on the head."""
    thin = track(
        slot__undercut_height=0.1,
        cutter__head_height=0.1,
        cutter__neck_length=8.0,
        cutter__stickout=20.0,
    )
    assert math.isfinite(inspect_job(thin, 14).width_mm.p50)


def test_feed_must_be_given() -> None:
    with pytest.raises(InputError, match="feed_per_tooth"):
        inspect_job(track(cut__feed_per_tooth=None))


# ---- the correction, put to the test: applied, the wall lands on the drawing


def test_grinding_by_the_correction_lands_on_the_drawn_width() -> None:
    s, laid = made(track(cutter__runout=0.03))
    before = walls(s, laid)
    excess = (one(before.narrowest) + one(before.widest)) / 2 - 10.4
    c = correct(s, laid, excess)
    assert c.kind == "grind" and c.change_mm < 0
    after = walls(s, laid, head=[c.change_mm])
    assert (one(after.narrowest) + one(after.widest)) / 2 == pytest.approx(10.4, abs=1e-9)


def test_metal_cannot_be_ground_on() -> None:
    s, laid = made(track())
    c = correct(s, laid, -0.05)
    assert c.kind == "new head" and c.change_mm == pytest.approx(0.05) and "10.45" in c.why


@pytest.mark.parametrize("excess", [0.04, -0.02])
def test_side_passes_are_moved_instead(excess: float) -> None:
    s, laid = made(track(cutter__runout=0.0, **SMALL_HEAD))
    r = rigid(s)
    c = correct(s, laid, excess)
    assert c.kind == "offset"
    start = walls(r, laid, head=[excess], setting=[[0.0], [c.change_mm], [-c.change_mm]])
    assert one(start.widest) == pytest.approx(10.4, abs=1e-9)


def test_one_sided_offset_takes_the_whole_of_it() -> None:
    s, laid = made(example("one-sided"))
    c = correct(s, laid, 0.03)
    assert c.kind == "offset" and c.change_mm == pytest.approx(-0.03)


def test_an_offset_stops_where_the_neck_meets_the_throat() -> None:
    s, laid = made(track(**SMALL_HEAD))
    room_left = side_reach(s) - 0.7
    assert side_reach(s) == pytest.approx((6.2 - 4.0) / 2 - 0.05)
    c = correct(s, laid, -2 * room_left - 0.1)
    assert c.kind == "offset short" and c.change_mm == pytest.approx(room_left) and "0.1" in c.why


def test_within_the_micrometer_or_a_tenth_of_the_tolerance_nothing_is_changed() -> None:
    s, laid = made(track())  # 10.4 mm plus and minus 0.10 mm
    assert correct(s, laid, 0.009).kind == "none" and correct(s, laid, 0.011).kind == "grind"
    assert "within 10% of the tolerance" in correct(s, laid, 0.009).why
    s, laid = made(track(slot__width_tolerance=0.02))
    assert correct(s, laid, 0.004).kind == "none" and correct(s, laid, 0.006).kind == "grind"
    assert "as nearly as the head can be measured" in correct(s, laid, 0.004).why


def test_no_head_is_ground_anew_well_inside_the_tolerance() -> None:
    s, laid = made(track())  # 10.4 mm plus and minus 0.10 mm: half of it is 0.05
    c = correct(s, laid, -0.049)
    assert c.kind == "none" and c.change_mm == 0 and "0.049 mm under the drawn width" in c.why
    assert correct(s, laid, 0.049).kind == "grind"  # metal comes off for nothing


# ---- where it is shown


def test_the_plan_carries_it_to_json_and_text() -> None:
    found = loadsim.plan(track(), samples.draws(8))
    data = json.loads(json.dumps(found.to_dict(), allow_nan=False))["inspection"]
    assert data == json.loads(json.dumps(loadsim.inspect_cut(found).to_dict()))
    assert (
        data["gauges"][0]["go"] == 10.3
        and data["out"]["low"] <= data["out"]["p"] <= data["out"]["high"]
    )
    text = plan_text(found)
    assert "Inspection, predicted" in text and "go 10.300 mm, no-go 10.500 mm" in text


def test_it_is_quick() -> None:
    import time

    job = track()
    inspect_job(job)
    start = time.process_time()
    inspect_job(job)
    assert time.process_time() - start < 0.25  # 20 to 30 ms on one core; room for a busy one


def test_scatter_is_only_of_the_shapes_it_says() -> None:
    s, laid = made(track(**SMALL_HEAD))
    sc = scatter_of(s, laid, samples.draws(8))
    assert (
        isinstance(sc, Scatter)
        and sc.setting.shape == (3, 256)
        and sc.head.shape == sc.wear.shape == sc.tram.shape == (256,)
    )
    assert float(sc.wear.min()) >= 0 and float(sc.wear.max()) <= 0.1 * math.tan(s.relief)

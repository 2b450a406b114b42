"""What must hold for any job: directions of change, units, arrays against loops, and a verdict on the safe side."""

from __future__ import annotations

import functools
import json
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadsim import check
from loadsim.answers.results import Result
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example, examples
from loadsim.loads import cut, nominal, resolve
from loadsim.loads.cut import cutting, engagement_of
from loadsim.loads.limits import undercut
from loadsim.loads.load_case import LoadCase
from loadsim.loads.passes import Contact, contacts_of, passes, thickest_sine
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk import samples, snap
from loadsim.risk.results import Risk

FAST = settings(max_examples=8, deadline=None, derandomize=True)
F_Z = 0.05


@functools.cache
def drawn() -> samples.Draws:
    return samples.draws(10)


@functools.cache
def named(name: str) -> Job:
    return job_from_text(example(name), name)


def thin(**changes: Any) -> Job:
    """A cutter in soft aluminum whose neck is in danger."""
    base = {"cutter.neck_diameter": 2.6, "cutter.neck_fillet": 0.25, "cut.feed_per_tooth": F_Z}
    return changed(named("t-track"), base | {k.replace("__", "."): v for k, v in changes.items()})


def state(job: Job) -> tuple[Risk, float]:
    """Risk, and how much of its fracture strength the neck uses."""
    s = resolve.resolve(job)
    way = engagement_of(s, passes(s, job.cut.stepover, job.cut.direction or "conventional"), 24)
    f_z = job.cut.feed_per_tooth or F_Z
    found = undercut.checks(s, cutting(s, way, 270.0, f_z))
    (used,) = (np.asarray(c.utilization).item() for c in found if c.code == "neck fracture")
    return snap.assess(s, way, f_z, drawn()), used


def numbers(value: Any) -> list[float]:
    if isinstance(value, dict):
        return [x for v in value.values() for x in numbers(v)]
    if isinstance(value, list):
        return [x for v in value for x in numbers(v)]
    return [float(value)] if isinstance(value, int | float) and not isinstance(value, bool) else []


# --- directions of change -----------------------------------------------------------------------------

#: what makes it worse: name, and the changes for k > 1
WORSE: dict[str, Any] = {
    "thinner neck": lambda k: {"cutter__neck_diameter": 2.6 / k},
    "longer reach": lambda k: {
        "cutter__neck_length": 5.4 * k,
        "cutter__stickout": 16 + 5.4 * (k - 1),
    },
    "more feed": lambda k: {"cut__feed_per_tooth": F_Z * k},
    "more runout": lambda k: {"cutter__runout": 0.010 * k},
    "duller edge": lambda k: {"cutter__edge_radius": 0.10 * k},  # dull enough to rub
    "smaller fillet": lambda k: {"cutter__neck_fillet": 0.25 / k},
    "harder metal": lambda k: {"work__kc11": 700.0 * k, "work__mc": 0.25},
}


@pytest.mark.parametrize("name", WORSE)
@FAST
@given(k=st.floats(1.05, 1.8))
def test_worse_is_never_safer(name, k):
    (before, used), (after, more) = state(thin(**WORSE[name](1.0))), state(thin(**WORSE[name](k)))
    assert after.high >= before.low
    assert after.snap_probability >= before.snap_probability * (1 - 1e-9)
    assert more >= used * (1 - 1e-9)


@pytest.mark.parametrize(
    "name", ["thinner neck", "longer reach", "more feed", "smaller fillet", "harder metal"]
)
def test_much_worse_is_clearly_more_dangerous(name):
    (before, used), (after, more) = state(thin(**WORSE[name](1.0))), state(thin(**WORSE[name](1.7)))
    assert after.low > before.high
    assert more > 1.05 * used


@FAST
@given(k=st.floats(0.3, 3.0))
def test_fracture_stress_is_proportional_to_the_force_constant(k):
    own = {"work__mc": 0.25, "work__radial_ratio": 0.4}
    one, scaled = (state(thin(**own, work__kc11=700.0 * x))[1] for x in (1.0, k))
    assert scaled / one == pytest.approx(k, rel=1e-9)


@FAST
@given(k=st.floats(0.5, 2.0))
def test_sizes_scale(k):
    # every length by k at one force constant (m_c = 0): forces by k^2, stresses alike, frequency by 1/k
    own = {
        "work.kc11": 700.0,
        "work.mc": 0.0,
        "work.radial_ratio": 0.4,
        "cutter.edge_radius": 0.01 * k,
    }
    lengths = [
        ("slot", x)
        for x in ("throat_width", "undercut_width", "undercut_height", "depth", "length")
    ]
    lengths += [
        ("cutter", x)
        for x in (
            "head_diameter",
            "head_height",
            "neck_diameter",
            "neck_length",
            "neck_fillet",
            "shank_diameter",
            "stickout",
            "runout",
        )
    ]
    lengths += [("cut", "feed_per_tooth")]
    base = thin()
    grown = {f"{t}.{x}": getattr(getattr(base, t), x) * k for t, x in lengths}
    stiff = {"machine.stiffness": 1e4 * k}
    cuts = []
    for job in (
        changed(base, own | {"cutter.edge_radius": 0.01, "machine.stiffness": 1e4}),
        changed(base, own | grown | stiff),
    ):
        s = resolve.resolve(job)
        way = engagement_of(s, passes(s, None, "conventional"), 90)
        cuts.append(cutting(s, way, 270.0, job.cut.feed_per_tooth or 0.0))
    one, other = cuts
    assert other.summary.force / one.summary.force == pytest.approx(k**2, rel=1e-6)
    assert other.summary.sigma_1 == pytest.approx(
        one.summary.sigma_1, rel=0.03
    )  # fits in t/r, and the finite element one
    assert other.frequency * k == pytest.approx(one.frequency, rel=1e-6)


# --- units --------------------------------------------------------------------------------------------

INCH = {
    "6.2 mm": 6.2, "10.4 mm": 10.4, "2.6 mm": 2.6, "7.4 mm": 7.4, "118 mm": 118.0, "0.10 mm": 0.10, "5.2 mm": 5.2,
    "5.4 mm": 5.4, "0.4 mm": 0.4, "10 mm": 10.0, "16 mm": 16.0, "0.010 mm": 0.010, "5 mm": 5.0, "0.12 mm": 0.12,
}  # fmt: skip


def test_an_inch_file_gives_the_same_answer():
    text = example("t-track")
    for old, mm in INCH.items():
        assert f'"{old}"' in text
        text = text.replace(f'"{old}"', f'"{mm / 25.4!r} in"')
    text = text.replace('"0.016 mm/tooth"', f'"{0.016 / 25.4!r} in/tooth"')
    assert not any(" mm" in x.split("#")[0] for x in text.splitlines())
    # 1 hp = 550 ft*lbf/s exactly: 745.699871582... W
    text = text.replace('"1.1 kW"', f'"{1100 / 745.6998715822702!r} hp"')
    one, other = (check(job_from_text(x, "job"), drawn()) for x in (example("t-track"), text))
    a, b = (x.to_dict() for x in (one, other))
    assert [x.name for x in one.limits] == [x.name for x in other.limits]
    assert one.verdict == other.verdict
    assert numbers(b) == pytest.approx(numbers(a), rel=1e-9, abs=1e-12)


def test_units_of_the_answer_change_words_only():
    one, other = (
        check(changed(named("t-track"), {"job.units": u}), drawn()) for u in ("metric", "inch")
    )
    assert numbers([x.demand for x in one.limits]) == numbers([x.demand for x in other.limits])
    assert one.risk == other.risk
    assert one.feel != other.feel
    metric, inch = (
        next(x.note for x in r.limits if x.name == "neck in throat") for r in (one, other)
    )
    assert "throat's 0.2441 in" in inch  # 6.2 mm
    assert "throat's 6.2" in metric


# --- arrays against loops -----------------------------------------------------------------------------


def setup_and_way() -> tuple[ResolvedJob, list[Contact]]:
    s = resolve.resolve(thin())
    return s, contacts_of(passes(s, None, "conventional"), 2, 90)


def varied(base: LoadCase, rng: np.random.Generator, n: int) -> LoadCase:
    fields = (
        "f_z",
        "rho",
        "force_factor",
        "radial_factor",
        "neck_diameter",
        "fillet",
        "neck_length",
    )
    law = base.law.scaled(rng.uniform(0.8, 1.2, n))
    return base.with_(law=law, **{x: getattr(base, x) * rng.uniform(0.8, 1.2, n) for x in fields})


def test_arrays_equal_loops():
    (s, contacts), rng, n = setup_and_way(), np.random.default_rng(3), 7
    many = varied(nominal.as_drawn(s, F_Z, thickest_sine(contacts), 1.0), rng, n)
    together = cut.cut_loads(s, contacts, many)
    for i in range(n):
        names = [x for x in LoadCase.__dataclass_fields__ if x not in ("teeth", "law", "radial")]
        one = many.with_(
            law=many.law.take(i), **{x: np.broadcast_to(getattr(many, x), n)[i] for x in names}
        )
        alone = cut.cut_loads(s, contacts, one)
        for name in cut.CutLoads.__dataclass_fields__:
            whole = np.broadcast_to(np.asarray(getattr(together, name), float), n)[i]
            assert np.asarray(getattr(alone, name), float).item() == pytest.approx(
                whole, rel=1e-9, abs=1e-12
            ), name


def test_many_feeds_equal_one_at_a_time():
    s = resolve.resolve(thin())
    way = engagement_of(s, passes(s, None, "conventional"), 90)
    feeds = np.array([0.01, 0.03, 0.07])
    together = undercut.checks(s, cutting(s, way, 270.0, feeds))
    for i, f_z in enumerate(feeds):
        alone = undercut.checks(s, cutting(s, way, 270.0, f_z))
        for a, b in zip(alone, together, strict=True):
            expected = np.broadcast_to(b.utilization, feeds.shape)[i]
            assert np.asarray(a.utilization).item() == pytest.approx(expected, rel=1e-9), a.name


# --- the answer ---------------------------------------------------------------------------------------


@functools.cache
def answered(name: str) -> Result:
    return check(named(name), drawn())


@pytest.mark.parametrize("name", examples())
def test_answers_are_finite_json(name):
    data = answered(name).to_dict()
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    found = numbers(data)
    assert len(found) > 60
    assert all(math.isfinite(x) for x in found)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(
    feed=st.floats(0.002, 0.6),
    neck=st.floats(1.0, 6.15),
    speed=st.floats(100.0, 2800.0),
    reach=st.floats(4.5, 7.0),
)
def test_never_go_when_a_hard_limit_is_over(feed, neck, speed, reach):
    job = thin(
        cut__feed_per_tooth=feed,
        cutter__neck_diameter=neck,
        cutter__neck_length=reach,
        cut__spindle_speed=speed * math.pi / 30,
    )
    result = check(job, samples.draws(8))
    hard = [x for x in result.limits if x.hard and x.utilization > 1 + 1e-9]
    soft = [x for x in result.limits if not x.hard and x.utilization > 1 + 1e-9]
    near = [x for x in result.limits if x.hard and not x.fit and x.utilization > 0.8 + 1e-9]
    p, asked = result.risk.snap_probability, job.target.snap_probability
    if hard or (result.risk.high > asked and (p >= 10 * asked or p > 0.25)):
        assert result.verdict == "no-go"
    elif soft or near or result.risk.high > asked:
        assert result.verdict == "marginal"
    else:
        assert result.verdict == "go"
    json.dumps(result.to_dict(), allow_nan=False)


def test_a_neck_as_thick_as_the_shank_has_an_answer():
    # a cutter ground from a blank no thicker than its neck: there is no shoulder, and no notch there
    result = check(thin(cutter__shank_diameter=2.6), samples.draws(8))
    assert math.isfinite(result.risk.snap_probability)


def test_risk_follows_the_end_of_the_neck_that_governs():
    # hardly any neck, a shank barely thicker than it: the notch at the head is the sharper one, and the shank's
    # diameter says nothing about it
    job = thin(
        cutter__neck_length=0.1,
        slot__depth=2.72,
        cutter__neck_fillet=0.05,
        cut__feed_per_tooth=0.15,
    )
    found = []
    for shank in (2.7, 2.8):
        s = resolve.resolve(changed(job, {"cutter.shank_diameter": shank}))
        way = engagement_of(s, passes(s, None, "conventional"), 24)
        assert not cutting(s, way, 270.0, 0.15).summary.at_shoulder
        found.append(snap.assess(s, way, 0.15, drawn()).snap_probability)
    assert found[0] == pytest.approx(found[1], rel=0.02)


# --- one side -----------------------------------------------------------------------------------------


def one_sided(direction: str) -> Any:
    job = changed(named("one-sided"), {"cut.direction": direction})
    s = resolve.resolve(job)
    way = engagement_of(s, passes(s, None, direction), 720)
    f_z = job.cut.feed_per_tooth or 0.0
    return way, cutting(s, way, job.cut.spindle_speed or 0.0, f_z).summary


def test_one_sided_slot_cut_both_ways():
    (way_1, up), (way_2, down) = one_sided("conventional"), one_sided("climb")
    assert [p.direction for p in way_1.passes] == ["conventional"]
    assert [p.direction for p in way_2.passes] == ["climb"]
    # the same metal, the same chips in the reverse order: thickness, torque and tooth force are alike
    for name in ("peak_chip", "torque", "mean_torque", "tooth_force"):
        assert getattr(up, name) == pytest.approx(getattr(down, name), rel=1e-3), name
    # the tangential force turns round along the feed: what resists it one way drags the table the other
    assert up.net_pull.item() == 0
    assert down.net_pull.item() > 0
    assert up.feed_force.item() > down.feed_force.item()


def test_two_sided_pass_is_its_own_mirror():
    s = resolve.resolve(thin())
    (p,) = passes(s, None, "conventional")
    q = passes(s, None, "climb")[0]
    assert (p.section, p.swept, p.direction) == (q.section, q.swept, "both")
    assert p.section.mirrored() == p.section

"""A metal drawn is one metal: its force law holds for every chip, feed and runout of the sample."""

from __future__ import annotations

import numpy as np
import pytest

from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads import nominal
from loadsim.loads.cut import Engagement, engagement_of
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk import samples
from loadsim.risk.samples import Uncertain
from loadsim.risk.snap import snaps

METALS = ("al-6061-t6", "al-7075-t6", "steel-1045", "stainless-304", "brass-360", "ti-6al-4v")
DRAWN = samples.draws(12)


def small(metal: str, **keys: object) -> Job:
    """A neck of 2 mm under a head of 3.6 mm, all chips far under what the sources measured."""
    job = job_from_text(example("t-track"), "t-track")
    own = {
        "work.material": metal, "slot.throat_width": 2.3, "slot.undercut_width": 3.6, "slot.undercut_height": 1.6,
        "slot.depth": 2.8, "slot.length": 15.0, "cutter.head_diameter": 3.6, "cutter.head_height": 1.6,
        "cutter.neck_diameter": 2.0, "cutter.neck_length": 2.2, "cutter.neck_fillet": 0.1, "cutter.head_fillet": None,
        "cutter.shank_diameter": 4.0, "cutter.stickout": 14.0, "cutter.runout": 0.004, "cut.predrill": False,
    }  # fmt: skip
    return changed(job, own | {k.replace("__", "."): v for k, v in keys.items()})


def way_of(job: ResolvedJob) -> Engagement:
    return engagement_of(job, passes(job, None, "conventional"), 24)


def chance(job: Job, f_z: float = 0.008) -> float:
    s = resolve(job)
    return float(snaps(s, way_of(s), f_z, DRAWN, speed=100.0).p.mean())


@pytest.mark.parametrize("metal", METALS)
def test_runout_from_nothing_on_is_never_safer(metal: str) -> None:
    # once, a thicker chip was surer of its force, and the chance fell from 0.018 to 0.014 as runout rose
    chances = [chance(small(metal, cutter__runout=x)) for x in (0.0, 0.001, 0.003, 0.008, 0.02)]
    assert 0 < chances[0] < 0.9
    assert (np.diff(chances) >= -1e-3 * np.array(chances[1:])).all()
    assert chances[-1] > chances[0]


@pytest.mark.parametrize("metal", METALS)
def test_feed_is_never_safer(metal: str) -> None:
    chances = [chance(small(metal), f) for f in (0.004, 0.006, 0.009, 0.014, 0.022)]
    assert (np.diff(chances) > 0).all()


def test_one_law_for_every_feed_and_runout() -> None:
    laws = []
    for f_z, rho in ((0.005, 0.0), (0.03, 0.02)):
        s = resolve(small("steel-1045", cutter__runout=rho))
        laws.append(samples.sampled_case(s, way_of(s).contacts, f_z, DRAWN.z))
    one, other = laws
    assert (one.law.k_c11 == other.law.k_c11).all() and (one.law.m_c == other.law.m_c).all()
    assert (one.force_factor == other.force_factor).all()


@pytest.mark.closed_form(
    "ln force = level z1 + slope ln(pivot/h) z2: the spreads add in quadrature"
)
@pytest.mark.parametrize("metal", METALS)
@pytest.mark.parametrize("h", [0.005, 0.02, 0.1])
def test_the_drawn_forces_spread_as_is_said(metal: str, h: float) -> None:
    s = resolve(small(metal))
    drawn = np.log(samples.force_at(s, h, DRAWN.z))
    law = s.metal
    said = np.hypot(law.level_sd, law.slope_sd * np.log(h / law.pivot))
    assert float(drawn.std()) == pytest.approx(said, rel=0.03)
    assert float(np.median(drawn)) == pytest.approx(0.0, abs=0.02)


def test_cutters_ground_alike_differ_by_a_part_of_the_spread() -> None:
    s = resolve(small("steel-1045"))
    unit = np.eye(len(Uncertain))
    parts = {x: samples.force_level(s, unit[:, [x]])[0] for x in Uncertain}
    own = {x for x, value in parts.items() if value}
    assert own == {Uncertain.FORCE_CONSTANTS, Uncertain.EDGE_GROUND}
    assert sum(x**2 for x in parts.values()) == pytest.approx(s.metal.level_sd**2)
    assert 0.1 <= parts[Uncertain.EDGE_GROUND] <= 0.15


# --- the worn land


def test_a_worn_land_is_never_safer() -> None:
    chances = [chance(small("steel-1045", cutter__wear=x)) for x in (0.0, 0.02, 0.04, 0.08, 0.2)]
    assert chances[0] == pytest.approx(
        chances[1], rel=0.15
    )  # what sharp edges have is in the sources
    assert (np.diff(chances) >= 0).all() and chances[-1] > 2 * chances[0]


@pytest.mark.closed_form(
    "0.05 mm +- 15 %, growth of a lognormal of 0.5 by the same deviate; 0.1 mm at most"
)
def test_a_measured_land_grows_along_the_cut() -> None:
    s = resolve(small("steel-1045", cutter__wear=0.05))
    travel, life = 600.0, 1800.0 * s.work.surface_speed_hi
    each = 0.09 * (travel / (0.02 * 2)) * np.pi * 1.8 / life
    for z in (-1.0, 0.0, 1.5):
        expected = 0.05 * np.exp(0.15 * z) + each * np.exp(0.5 * z)
        assert samples.drawn_land(s, travel, np.array([z]))[0] == pytest.approx(expected)
    # four slots with one edge: four times as far; a hundred: it was stoned when due
    four, many = (samples.drawn_land(s, travel, np.zeros(1), slots=n)[0] for n in (4, 100))
    assert four == pytest.approx(0.05 + 4 * each)
    assert many == 0.1
    assert nominal.land_at_end(s, travel) == pytest.approx(0.05 + each)


def test_an_edge_that_was_due_is_no_sharper_for_it() -> None:
    s = resolve(small("steel-1045", cutter__wear=0.4))
    assert samples.drawn_land(s, 600.0, np.zeros(1))[0] == pytest.approx(0.4)
    assert nominal.land_at_end(s, 600.0) == pytest.approx(0.4)


def test_own_constants_hold_for_the_edge_as_it_is() -> None:
    own = {"work__kc11": 1600.0, "work__mc": 0.25}
    for keys, counted in (({}, False), ({"cutter__wear": 0.1}, True)):
        s = resolve(small("steel-1045", **own, **keys))
        case = samples.sampled_case(s, way_of(s).contacts, 0.01, DRAWN.z)
        assert bool((case.edge_r > 0).any()) is counted

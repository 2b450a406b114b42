"""Under the thinnest chip more feed is never safer: the edge then cuts no oftener than at the feed
that just cuts.
"""

from __future__ import annotations

import functools
import math
from typing import Any

import numpy as np
import pytest

from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.cut import Engagement, cutting, loading_turns, written_engagement
from loadsim.loads.limits import undercut
from loadsim.loads.limits.utilization import LimitCode, Utilization
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk import samples
from loadsim.risk.demand import demand_of
from loadsim.risk.snap import snaps

#: A small brushed cutter at 2500 rpm: neck 1.8 mm on a head 3.2 x 1.9 mm, slot 12 mm long.
SMALL = {
    "work.lubrication": "brush", "slot.throat_width": 1.93, "slot.undercut_width": 3.2,
    "slot.undercut_height": 1.9, "slot.depth": 3.1, "slot.length": 12.0, "slot.open_ends": 1,
    "cutter.head_diameter": 3.2, "cutter.head_height": 1.9, "cutter.neck_diameter": 1.8,
    "cutter.neck_length": 2.0, "cutter.neck_fillet": None, "cutter.runout": None,
    "cutter.shank_diameter": 3.2, "cutter.stickout": 13.0, "cutter.rake": 0.0,
    "cut.predrill": False,
}  # fmt: skip
SPEED = 2500 * math.pi / 30
FEEDS = (0.001, 0.0015, 0.002, 0.0025, 0.003, 0.004, 0.005, 0.006)


@functools.cache
def small(metal: str, **more: Any) -> tuple[ResolvedJob, Engagement]:
    base = job_from_text(example("t-track"), "t-track")
    own = {k.replace("__", "."): v for k, v in more.items()}
    job = resolve(changed(base, {**SMALL, "work.material": metal, **own}))
    return job, written_engagement(job, None, 90)


def fatigue(job: ResolvedJob, way: Engagement, f_z: Any) -> Utilization:
    (limit,) = (
        x
        for x in undercut.checks(job, cutting(job, way, SPEED, np.asarray(f_z)))
        if x.code is LimitCode.NECK_FATIGUE
    )
    return limit


@pytest.mark.parametrize("metal", ["al-6061-t6", "al-6061-o"])
@pytest.mark.parametrize("runout", [None, 0.0, 0.001])
@pytest.mark.parametrize("teeth", [1, 2, 3])
def test_more_feed_is_never_safer_around_the_thinnest_chip(
    metal: str, runout: float | None, teeth: int
) -> None:
    job, way = small(metal, cutter__runout=runout, cutter__teeth=teeth)
    used = fatigue(job, way, FEEDS).utilization
    assert (np.diff(used) >= -1e-9 * used[:-1]).all(), used
    drawn = samples.draws(8)
    chances = [float(snaps(job, way, f_z, drawn, speed=SPEED).p.mean()) for f_z in FEEDS]
    assert (np.diff(chances) >= -1e-9 * np.array(chances[:-1])).all(), chances
    assert chances[-1] > chances[0] and used[-1] > used[0]


@pytest.mark.closed_form("travel over teeth and the larger of f_z and h_min/sin(phi)")
@pytest.mark.parametrize(
    ("f_z", "turns"),
    [(0.02, 100 / 0.04), (0.006, 100 / 0.012), (0.0059, 100 / 0.012), (0.001, 100 / 0.012)],
)
def test_turns_that_load_the_neck(f_z: float, turns: float) -> None:
    # h_min 3 um at half a chip's full thickness: 6 um a tooth just cut
    assert float(loading_turns(100.0, 0.5, f_z, 0.003, 2)) == pytest.approx(turns, rel=1e-12)


@pytest.mark.closed_form("edge of 10 um, 0.3 of it in aluminum: turns of 3 um on whole width")
def test_while_it_only_rubs_the_answer_counts_the_turns_that_cut() -> None:
    job, way = small("al-6061-t6", cutter__runout=0.0, cutter__edge_radius=0.01)
    assert job.h_min == pytest.approx(0.003)
    by_hand = sum(c.travel / (2 * 0.003 / np.sin(c.peak.phi).max()) for c in way.contacts)
    for f_z in (0.001, 0.0025):
        limit = fatigue(job, way, f_z)
        assert np.asarray(limit.facts["turns"]).item() == pytest.approx(by_hand)
        assert np.asarray(limit.facts["rubs"]).item()
        drawn = demand_of(job, way, f_z, samples.median_draws(), speed=SPEED)
        assert sum(drawn.turns) == pytest.approx(by_hand + 30)  # and the packed chips' 30
    thick = fatigue(job, way, 0.01)
    assert np.asarray(thick.facts["turns"]).item() == pytest.approx(
        sum(c.travel for c in way.contacts) / 0.02
    )
    assert not np.asarray(thick.facts["rubs"]).item()

"""The chance that the cut drags a loose table: none where nothing can, else by hand."""

from __future__ import annotations

import math

import pytest

from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.cut import Engagement, cutting, engagement_of
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk.table_grab import chance_of_grab

#: One side pass that climbs, far off the wall it cut before: it pulls.
CLIMB = {
    "slot.undercut_width": 11.2,
    "cutter.neck_diameter": 4.4,
    "work.kc11": 700.0,
    "work.mc": 0.25,
    "work.spread": 0.3,
    "work.radial_ratio": 0.1,
    "machine.feed": "hand",
    "machine.backlash": 0.1,
}


def made(**changes: object) -> ResolvedJob:
    base = job_from_text(example("t-track"), "t-track")
    own = {k.replace("__", "."): v for k, v in changes.items()}
    return resolve(changed(base, CLIMB | own))


def way_of(job: ResolvedJob, direction: str = "climb") -> Engagement:
    return engagement_of(job, passes(job, None, direction), 90)  # type: ignore[arg-type]


def pull_of(job: ResolvedJob, f_z: float, direction: str = "climb") -> float:
    return float(cutting(job, way_of(job, direction), 200.0, f_z).summary.net_pull[0])


@pytest.mark.closed_form("P(pull > friction) of two lognormals: erfc by hand")
@pytest.mark.parametrize("f_z", [0.05, 0.2])
@pytest.mark.parametrize(("rim", "sd"), [(None, 0.4), (4.0, 0.15)])
def test_the_chance_is_that_of_two_lognormals(f_z: float, rim: float | None, sd: float) -> None:
    job = made(machine__wheel_force=rim, machine__handwheel=5.0)
    # a rim of 60 mm turns a screw of 5 mm at 30 %; not known: 150 N
    friction = 150.0 if rim is None else rim * 2 * math.pi * 60.0 * 0.3 / 5.0
    pull = pull_of(job, f_z)
    assert pull > 1.0
    z = math.log(friction / pull) / math.hypot(0.3, sd)
    expected = 0.5 * math.erfc(z / math.sqrt(2))
    assert chance_of_grab(job, way_of(job), f_z) == pytest.approx(expected, rel=1e-6)
    assert 0 < expected < 1


def test_nothing_grabs_without_backlash_or_pull() -> None:
    f_z = 0.2
    assert chance_of_grab(made(), way_of(made()), f_z) > 0
    for job in (made(machine__backlash=0.0), made(machine__feed="cnc", machine__backlash=0.01)):
        assert chance_of_grab(job, way_of(job), f_z) == 0.0
    against = made(work__radial_ratio=0.5, slot__undercut_width=10.4)
    assert pull_of(against, f_z, "conventional") == 0.0
    assert chance_of_grab(against, way_of(against, "conventional"), f_z) == 0.0


def test_more_pull_is_never_less_chance() -> None:
    job = made()
    found = [chance_of_grab(job, way_of(job), f_z) for f_z in (0.02, 0.05, 0.1, 0.2, 0.5)]
    assert found == sorted(found)
    assert found[0] < found[-1]

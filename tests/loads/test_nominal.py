"""The load case as drawn, and the same cut on other necks: against the weakest-link law by hand and
against jobs resolved one by one.
"""

from __future__ import annotations

import numpy as np
import pytest

from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.nominal import as_drawn, necks_of, on_necks
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob

DIAMETERS = (4.4, 5.2, 5.0)


def with_neck(diameter: float) -> ResolvedJob:
    base = job_from_text(example("t-track"), "t-track")
    return resolve(changed(base, {"cutter.neck_diameter": diameter}))


@pytest.mark.closed_form(
    "weakest link: sigma_0 falls with volume to the power -1/m, volume as d^2; half of it counts"
)
def test_a_thinner_neck_has_less_volume_and_more_strength() -> None:
    jobs = [with_neck(d) for d in DIAMETERS]
    necks = necks_of(jobs)
    by_hand = (necks.diameter / necks.diameter[0]) ** (-1 / jobs[0].strength.m)
    assert necks.sigma_0 / necks.sigma_0[0] == pytest.approx(by_hand, rel=1e-12)


def test_diameter_and_strength_change_together() -> None:
    base = with_neck(5.2)
    case = as_drawn(base, np.array([0.01, 0.02]), 0.8, 1.0)
    necks = necks_of([with_neck(d) for d in DIAMETERS]).take(np.array([2, 0]))
    job, other = on_necks(base, case, necks)
    for i, diameter in enumerate((5.0, 4.4)):
        alone = with_neck(diameter)
        assert other.neck_diameter[i] == alone.cutter.neck_diameter
        assert np.asarray(job.strength.sigma_0)[i] == alone.strength.sigma_0
        assert other.force_factor[i] == alone.force_factor
        assert (other.fillet[i], other.head_fillet[i]) == (alone.fillet, alone.head_fillet)
    assert (other.f_z == case.f_z).all()

"""Runout spares nothing: neck, drive and wall are asked at least what they are without."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.cut import Cutting, cutting, written_engagement
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob

OWN = {"work__kc11": 800.0, "work__mc": 0.25, "work__radial_ratio": 0.4}
#: What more runout would lower, or might, and what it loads.
HELD = ("sigma_1", "fatigue", "torque", "mean_torque", "wall_deflection")


def resolved(teeth: int, runout: float, **changes: Any) -> ResolvedJob:
    track = job_from_text(example("t-track"), "t-track")
    keys = {k.replace("__", "."): v for k, v in (OWN | changes).items()}
    return resolve(changed(track, {"cutter.teeth": teeth, "cutter.runout": runout, **keys}))


def cut(teeth: int, runout: float, f_z: float, **changes: Any) -> tuple[ResolvedJob, Cutting]:
    job = resolved(teeth, runout, **changes)
    return job, cutting(job, written_engagement(job, None, 90), 100.0, f_z)


@pytest.mark.parametrize("teeth", [3, 4, 6, 7])
@pytest.mark.parametrize("f_z", [0.008, 0.016, 0.0589])
@pytest.mark.parametrize("head", [10.4, 8.0])
def test_no_runout_is_safer_than_none(teeth: int, f_z: float, head: float) -> None:
    # a head of 8.0 takes the undercut of 10.4 in side passes
    neck = {"cutter__head_diameter": head, "cutter__neck_diameter": 4.2, "work__mc": 0.15}
    _, even = cut(teeth, 0.0, f_z, **neck)
    for runout in (0.003, 0.01, 0.05):
        _, run = cut(teeth, runout, f_z, **neck)
        for name in HELD:
            asked, least = (getattr(x.summary, name) for x in (run, even))
            assert (asked >= least * (1 - 1e-9)).all(), (runout, name)


@pytest.mark.closed_form("4 teeth of 800 (f sin phi)^0.75 x 2.6 x 5.2, over a turn")
def test_the_mean_torque_of_four_even_teeth_is_asked_at_any_runout() -> None:
    # the bands beside the throat of 6.2 under a head of 10.4: cos phi over 6.2/10.4, on both sides
    job, run = cut(4, 0.02, 0.016, cutter__edge_radius=0.0005)
    n = 200_000
    phi = (np.arange(n) + 0.5) * math.acos(6.2 / 10.4) / n
    chips = np.maximum(0.016 * np.sin(phi), job.h_min) ** 0.75
    band = float(chips.mean()) * math.acos(6.2 / 10.4)
    mean = 4 * 2 * band * 800 * 2.6 * 5.2 * job.force_factor / (2 * math.pi)
    assert run.summary.mean_torque == pytest.approx(mean, rel=1e-3)

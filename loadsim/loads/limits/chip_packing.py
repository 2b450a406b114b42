"""Chips that pack in a gullet, and the burst of force that they make."""

from __future__ import annotations

import math

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import BURST, BURST_BASE, BURST_RATE, CHIP_STAY
from loadsim.loads.passes import Pass
from loadsim.loads.resolved_job import ResolvedJob


def gullet_area(job: ResolvedJob) -> float:
    """Area of one gullet across the axis. [mm^2]"""
    return job.head_section.gullet


def burst_factor(job: ResolvedJob, passes: tuple[Pass, ...], f_z: float, u: Array) -> Array:
    """Factor on the force from chips that pack, drawn.

    Parameters
    ----------
    job : ResolvedJob
        Its head, gullets, material and lubrication.
    passes : tuple of Pass
        The passes.
    f_z : float
        Feed per tooth. [mm]
    u : ndarray, shape (s,)
        Uniform draws.

    Returns
    -------
    factor : ndarray, shape (s,)
        1 without packing; up to 1 + `BURST` with it. [1]
    """
    lubrication = job.written.work.lubrication
    fill = f_z * max(p.area for p in passes) * job.work.bulking * CHIP_STAY[lubrication]
    fill /= gullet_area(job) * job.head.height
    p = -math.expm1(-BURST_RATE[lubrication] * (BURST_BASE + fill))
    factor: Array = 1.0 + BURST * np.maximum(u - (1.0 - p), 0.0) / p
    return factor

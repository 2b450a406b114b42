"""The chance that the cut drags a loose table, so that the backlash feeds a tooth."""

from __future__ import annotations

import math

import numpy as np

from loadsim.loads.assumptions import TABLE_FRICTION_SD, TABLE_FRICTION_SD_MEASURED
from loadsim.loads.cut import Engagement, cut_demand
from loadsim.loads.holding import is_loose, table_friction
from loadsim.loads.nominal import as_drawn, peak_chip
from loadsim.loads.passes import travel_of
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.stress_concentration import K_T_BENDING_FE_MEAN


def chance_of_grab(job: ResolvedJob, way: Engagement, f_z: float) -> float:
    """Chance that the mean pull along the feed overcomes the friction of a loose table.

    Pull and friction are lognormal, the pull by the force constants of the metal.

    Parameters
    ----------
    job : ResolvedJob
        Its machine and force constants.
    way : Engagement
        How the undercut is made.
    f_z : float
        Feed per tooth. [mm]

    Returns
    -------
    p : float
        0 for a table without backlash, and where nothing pulls. [1]
    """
    if not is_loose(job):
        return 0.0
    case = as_drawn(job, f_z, travel_of(way.passes), K_T_BENDING_FE_MEAN)
    pull = float(np.max(cut_demand(way.contacts, case).net_pull))
    if pull <= 0:
        return 0.0
    sigma_ln = float(np.max(job.metal.sigma_ln(peak_chip(job, f_z, way.sine))))
    own = TABLE_FRICTION_SD if job.machine.wheel_force is None else TABLE_FRICTION_SD_MEASURED
    away = math.log(pull / table_friction(job)) / math.hypot(sigma_ln, own)
    return 0.5 * math.erfc(-away / math.sqrt(2))

"""How fast a handwheel is turned where the table is fed by hand."""

from __future__ import annotations

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import FASTEST_WHEEL
from loadsim.loads.limits.utilization import LimitCode, Utilization
from loadsim.loads.resolved_job import ResolvedJob


def handwheel(job: ResolvedJob, rate: float | Array) -> list[Utilization]:
    """Turns of the handwheel in a second against what a hand keeps up.

    Parameters
    ----------
    job : ResolvedJob
        How its machine feeds, and the travel for one turn of the handwheel.
    rate : float or ndarray
        Table feed. [mm/s]

    Returns
    -------
    checks : list of Utilization
        None where the table is not fed by hand.
    """
    if job.machine.feed != "hand":
        return []
    turns = np.asarray(rate, float) / job.handwheel
    return [
        Utilization(
            code=LimitCode.HANDWHEEL_SPEED,
            demand=turns,
            capacity=FASTEST_WHEEL * np.ones_like(turns),
            unit="turn/s",
            hard=False,
        )
    ]


def hand_keeps_up(job: ResolvedJob, rate: float) -> bool:
    """Whether a hand keeps up a table feed, [mm/s]; a driven table does without one."""
    return not any(limit.over.any() for limit in handwheel(job, rate))

"""loads/limits/utilization"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from loadsim.base import units
from loadsim.base.numbers import Array
from loadsim.loads.resolved_job import ResolvedJob


def shown(job: ResolvedJob, dimension: str) -> Callable[[float], str]:
    system = job.units
    return lambda x: units.show(x, dimension, system)


def worded(check: Utilization) -> Limit:
    """Put a limit of one cut into words.

    Parameters
    ----------
    check : Utilization
        Of a single cut.

    Returns
    -------
    limit : Limit

    Raises
    ------
    ValueError
        If demand, capacity or their ratio is not finite.
    """
    demand, capacity, u = (
        float(np.asarray(x).reshape(-1)[0])
        for x in (check.demand, check.capacity, check.utilization)
    )
    if not all(math.isfinite(x) for x in (demand, capacity, u)):
        raise ValueError(
            f"limit {check.name}: demand {demand}, capacity {capacity} give no finite utilization"
        )
    return Limit(
        name=check.name,
        demand=demand,
        capacity=capacity,
        unit=check.unit,
        utilization=u,
        hard=check.hard,
        fit=check.fit,
        note=check.say(demand, capacity),
    )


#: Limits of the neck itself.
NECK = ("neck fracture", "neck fatigue", "neck torsion")

#: Reading a limit as "near" its capacity: a go keeps every hard limit under this. [1]
NEAR = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One way the cut can go wrong: demand against capacity."""

    name: str
    demand: float
    capacity: float
    unit: str
    utilization: float
    hard: bool
    fit: bool  #: a clearance, judged by itself
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Utilization:
    """One limit before it is put into words."""

    name: str
    demand: Array
    capacity: Array
    unit: str
    hard: bool
    say: Callable[[float, float], str]
    fit: bool = False  #: a check of clearances, which is judged by itself and not by how near it is

    @property
    def utilization(self) -> Array:
        """Demand over capacity. [1]"""
        u: Array = np.asarray(self.demand, float) / np.asarray(self.capacity, float)
        return u

"""What every sample's neck bears, and the chance that it lives through what is asked."""

from __future__ import annotations

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import GRIND_SD, TORSION_SD
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.fatigue import StrengthLine, damage_margin
from loadsim.risk.neck_demand import Demand, Survival
from loadsim.risk.samples import Draws, Uncertain, part_of

#: Scatter of necks ground alike, in the logarithm, about their fatigue strength and about the load
#: that bends them for good (assumed, no source). [1]
FATIGUE_SD = 0.10
BEND_SD = 0.05

#: Samples that strengths are asked for at once: what the cache holds.
BLOCK = 8192


def _bend_strength(job: ResolvedJob, drawn: Draws) -> Array:
    """Characteristic bend strength of every sample's blank and neck. [MPa]"""
    s = job.strength
    credit = s.size_credit * (drawn.u[Uncertain.SMALL_VOLUME] - 0.5)
    return np.asarray(s.sigma_0 * np.exp(credit + s.spread * drawn.z[Uncertain.BLANK_STRENGTH]))


def log_fracture(job: ResolvedJob, sigma_1: Array, drawn: Draws) -> Array:
    """Logarithm of the chance that each sample's neck lives through a stress.

    Parameters
    ----------
    job : ResolvedJob
        Its strength.
    sigma_1 : ndarray, shape (s,)
        Largest principal stress. [MPa]
    drawn : Draws
        The sample.

    Returns
    -------
    ln_lived : ndarray, shape (s,)
        [1]

    References
    ----------
    Weibull1951, two-parameter distribution
    """
    with np.errstate(over="ignore"):
        return -((sigma_1 / _bend_strength(job, drawn)) ** job.strength.m)


def survival(job: ResolvedJob, asked: Demand, drawn: Draws) -> Survival:
    """Chance that each sample's neck lives through what is asked.

    Parameters
    ----------
    job : ResolvedJob
        Its strength.
    asked : Demand
        The worst instant and the turns.
    drawn : Draws
        The sample.

    Returns
    -------
    survival : Survival
    """
    n = asked.sigma_1.size
    parts = []
    for i in range(0, n, BLOCK):
        some = slice(i, i + BLOCK)
        parts.append(_survival(job, asked.take(some), part_of(drawn, some)))
    names = Survival.__dataclass_fields__
    return Survival(**{k: np.concatenate([getattr(x, k) for x in parts]) for k in names})


def _survival(job: ResolvedJob, asked: Demand, drawn: Draws) -> Survival:
    from scipy.special import log_ndtr

    s = job.strength
    tired = damage_margin(asked.turns, asked.amplitudes, _line(job, drawn))
    fracture = log_fracture(job, asked.sigma_1, drawn)
    with np.errstate(divide="ignore"):
        margin = np.log(asked.sigma_1 / _bend_strength(job, drawn))
        twist = np.log(asked.torsion)
        if s.yield_strength is not None:
            level = np.exp(s.spread * drawn.z[Uncertain.BLANK_STRENGTH])
            bent = np.log(asked.sigma_v / (s.yield_strength * level))
            fracture = fracture + log_ndtr(-bent / BEND_SD)
    return Survival(
        fracture=fracture,
        fatigue=log_ndtr(-tired / FATIGUE_SD),
        torsion=log_ndtr(-twist / TORSION_SD),
        margin=margin,
        fatigue_margin=tired,
    )


def _line(job: ResolvedJob, drawn: Draws) -> StrengthLine:
    """Strength against turns of every sample: each anchor with a scatter of its own."""
    s = job.strength
    z = drawn.z
    grind = GRIND_SD * z[Uncertain.NECK_GRINDING] if s.yield_strength is None else 0.0
    return StrengthLine(
        once=s.line.once * np.exp(s.spread * z[Uncertain.BLANK_STRENGTH]),
        thousand=s.line.thousand * np.exp(s.thousand_spread * z[Uncertain.THOUSAND_TURNS]),
        limit=s.line.limit * np.exp(s.limit_spread * z[Uncertain.FATIGUE_LIMIT] + grind),
        N_limit=s.line.N_limit,
    )

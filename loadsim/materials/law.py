"""One force law a metal: what its pooled sources say at every chip, and how far a cut may lie off.

A metal is what it is: who draws it once keeps its level and its slope for all chips, edges and
passes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from loadsim.base.numbers import Array
from loadsim.materials.pooling import M_FLOOR, pooled
from loadsim.materials.schema import ForceCurve
from loadsim.mechanics.force_law import BentPower, Numbers, PowerRatio, RadialRatio

#: Chips over which the law is fitted to the pool: from an edge that rubs to a coarse mill. [mm]
FITTED = (0.003, 0.3)

#: Chips up to which the law must not fall with the chip. [mm]
KEPT = (0.0005, 3.0)

#: Least exponent of the resultant force over the chip that is drawn: fewer turns at more
#: feed must not outweigh it; the flattest power law of a source has 0.43. [1]
LEAST_EXPONENT = 0.15

#: Chips at which the best-known one is looked for. [mm]
PIVOTS = (0.02, 0.3)

#: Points of the fit, and chips tried as the best-known one.
POINTS = 40
TRIED = 28

#: Deviations beyond which a slope need not be held from turning the force around. [1]
FAR = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MetalLaw:
    """Tangential force of a metal over the chip, and how well it is known."""

    median: BentPower  #: at the rake of its sources
    pivot: float  #: chip at which it is known best [mm]
    level_sd: float  #: standard deviation of ln(force) there [1]
    slope_sd: float  #: that of the exponent: spread that each factor of e from there adds [1]
    rake_reference: float  #: [rad]
    notes: tuple[str, ...]  #: what to know of its sources

    def sigma_ln(self, h: Numbers) -> Array:
        """Standard deviation of ln(force) at a chip thickness.

        Parameters
        ----------
        h : float or ndarray
            Uncut chip thickness, above 0. [mm]

        Returns
        -------
        sigma_ln : ndarray
            [1]
        """
        return np.hypot(self.level_sd, self.slope_sd * np.log(h / self.pivot))

    def steepened(self, z: Array, radial: RadialRatio) -> BentPower:
        """Law of each metal drawn: its force at thin chips over that at the best-known one.

        Parameters
        ----------
        z : ndarray, shape (s,)
            Standard normal deviates of the slope; positive: more force at thin chips. [1]
        radial : RadialRatio
            Radial over tangential force.

        Returns
        -------
        law : BentPower
            (s,); no deviate makes the resultant force grow with the chip by less than
            `LEAST_EXPONENT`: the normal is cut off where one would.
        """
        if self.slope_sd == 0.0:
            return self.median
        steep = self.slope_sd * _cut_off(z, self._room(radial) / self.slope_sd)
        level = self.median.k_c11 * np.exp(steep * math.log(self.pivot))
        return BentPower(level, self.median.m_c + steep, self.median.bend)

    def deviation(self, h: Numbers, z: Array, radial: RadialRatio) -> Array:
        """Logarithm of the drawn force over the median one at a chip thickness, the level apart.

        Parameters
        ----------
        h : float or ndarray
            Uncut chip thickness, above 0. [mm]
        z : ndarray, shape (s,)
            As of `steepened`. [1]
        radial : RadialRatio
            As of `steepened`.

        Returns
        -------
        deviation : ndarray, shape (s,)
            [1]
        """
        law = self.steepened(z, radial)
        return np.log(law.specific(h) / self.median.specific(h)) + np.zeros_like(z)

    def _room(self, radial: RadialRatio) -> float:
        """How far the exponent of the resultant force may fall, by its least over all chips."""
        h = np.geomspace(*KEPT, POINTS)
        ratio = radial.at(h) ** 2
        thinner = ratio / (1.0 + ratio) * radial.rise(h)
        exponent = 1.0 - self.median.size_effect(h) / self.median.specific(h) - thinner
        return float(np.min(exponent)) - LEAST_EXPONENT


def _cut_off(z: Array, most: float) -> Array:
    """Standard normal deviates of a normal that is cut off above."""
    from scipy.special import ndtr, ndtri

    return z if most > FAR else np.asarray(ndtri(ndtr(z) * ndtr(most)))


@lru_cache(maxsize=64)
def metal_law(curves: tuple[ForceCurve, ...]) -> MetalLaw:
    """Fit one law through what a metal's pooled sources say.

    ``ln F/b`` is a parabola in ``ln h`` by least squares over `FITTED`: Kienzle's straight line
    with a bend, as edge forces make one. Level and slope about the best-known chip have the spreads
    that come nearest to the pool's, what the parabola leaves included.

    Parameters
    ----------
    curves : tuple of ForceCurve
        Of the metal, and those of the aged alloy that bounds a soft temper.

    Returns
    -------
    law : MetalLaw

    Raises
    ------
    ValueError
        If there is no curve, or the force would hardly grow with the chip.

    References
    ----------
    Kienzle1952
    DerSimonianKacker2007 section 2
    """
    h = np.geomspace(*FITTED, POINTS)
    pool = pooled(curves, h)
    x = np.log(h)
    ln_force = np.log(pool.k_c) + x
    bend, slope, level = np.polyfit(x, ln_force, 2)
    left = np.polyval([bend, slope, level], x) - ln_force
    pivot, level_sd, slope_sd = _spreads(h, pool.sigma_ln**2 + left**2)
    law = MetalLaw(
        median=BentPower(math.exp(level), float(1.0 - slope), float(bend)),
        pivot=pivot,
        level_sd=level_sd,
        slope_sd=slope_sd,
        rake_reference=pool.rake_reference,
        notes=pool.notes,
    )
    if law._room(PowerRatio(1.0)) <= 0.0:
        raise ValueError("the pooled cutting force hardly grows with the chip")
    return law


def _spreads(h: Array, variance: Array) -> tuple[float, float, float]:
    """Best-known chip, and the spreads of level and slope about it, nearest to a variance."""
    best = (math.inf, 0.0, 0.0, 0.0)
    for pivot in np.geomspace(*PIVOTS, TRIED).tolist():
        distance = np.log(h / pivot) ** 2
        rows = np.stack([np.ones_like(h), distance]) / variance  # relative: thin chips do not rule
        (a, b), *_ = np.linalg.lstsq(rows.T, np.ones_like(h), rcond=None)
        b = max(b, M_FLOOR**2)
        off = float((((a + b * distance) / variance - 1.0) ** 2).sum())
        if a > 0 and off < best[0]:
            best = (off, pivot, math.sqrt(a), math.sqrt(b))
    return best[1:]

"""The force law of a metal not known for sure: one for all chips, level and slope drawn once."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loadsim.base.numbers import Array
from loadsim.mechanics.force_law import BentPower, Numbers, RadialRatio

#: Chips up to which the law must not fall with the chip. [mm]
KEPT = (0.0005, 3.0)

#: Least exponent of the resultant force over the chip that is drawn: fewer turns at more
#: feed must not outweigh it; the flattest power law of a source has 0.43. [1]
LEAST_EXPONENT = 0.15

#: Chips looked at between these.
LOOKED = 40

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
        steep = self.slope_sd * _cut_off(z, self.room(radial) / self.slope_sd)
        level = self.median.k_c11 * np.exp(steep * math.log(self.pivot))
        return BentPower(level, self.median.m_c + steep, self.median.bend)

    def room(self, radial: RadialRatio) -> float:
        """How far the exponent of the resultant force may fall, by its least over all chips.

        Parameters
        ----------
        radial : RadialRatio
            Radial over tangential force.

        Returns
        -------
        room : float
            Down to `LEAST_EXPONENT`. [1]
        """
        h = np.geomspace(*KEPT, LOOKED)
        ratio = radial.at(h) ** 2
        thinner = ratio / (1.0 + ratio) * radial.rise(h)
        exponent = 1.0 - self.median.size_effect(h) / self.median.specific(h) - thinner
        return float(np.min(exponent)) - LEAST_EXPONENT


def _cut_off(z: Array, most: float) -> Array:
    """Standard normal deviates of a normal that is cut off above."""
    from scipy.special import ndtr, ndtri

    return z if most > FAR else np.asarray(ndtri(ndtr(z) * ndtr(most)))

"""From chip to force on a millimetre of edge: the laws of the tangential force, and the radial
force over it.

A law answers the four questions of `ForceLaw`; who needs a force holds a law and asks it, and knows
none of its constants. Another law is another class of this kind in a file of its own.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass, fields, replace
from typing import Self

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array

#: One number, or an array of them for many cuts.
Numbers = float | Array

#: Chip at which a radial ratio is told. [mm]
RATIO_CHIP = 0.1

#: Step of the chip, over it, by which the rise of a radial ratio is found. [1]
STEP = 1e-3


@dataclass(frozen=True)
class ForceLaw(ABC):
    """Tangential force on a millimetre of edge against chip thickness, for one cut or for many.

    The fields of a law are its constants, numbers or arrays of one shape.
    """

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape of the constants: one cut, or how many."""
        return np.broadcast_shapes(*(np.shape(getattr(self, f.name)) for f in fields(self)))

    def take(self, which: npt.NDArray[np.intp]) -> Self:
        """Return the law of some of the cuts.

        Parameters
        ----------
        which : ndarray of int
            Places in the last axis of the constants.

        Returns
        -------
        law : ForceLaw
        """
        constants = {f.name: getattr(self, f.name) for f in fields(self)}
        return replace(
            self, **{k: np.broadcast_to(x, self.shape)[..., which] for k, x in constants.items()}
        )

    @abstractmethod
    def force(self, h: Numbers) -> Array:
        """Tangential force on a millimetre of edge.

        Parameters
        ----------
        h : float or ndarray, broadcastable to the constants
            Uncut chip thickness, not negative. [mm]

        Returns
        -------
        force : ndarray
            [N/mm]
        """

    @abstractmethod
    def specific(self, h: Numbers) -> Array:
        """Specific cutting force k_c: `force` over h.

        Parameters
        ----------
        h : float or ndarray, broadcastable to the constants
            Uncut chip thickness, above 0. [mm]

        Returns
        -------
        k_c : ndarray
            [MPa]
        """

    @abstractmethod
    def size_effect(self, h: Numbers) -> Array:
        """How fast the specific force rises as the chip thins, ``-h dk_c/dh``.

        Over `specific` it is the local exponent m_c; the slope of `force` is `specific` less it.

        Parameters
        ----------
        h : float or ndarray, broadcastable to the constants
            Uncut chip thickness, above 0. [mm]

        Returns
        -------
        rise : ndarray
            [MPa]
        """

    @abstractmethod
    def scaled(self, factor: Numbers) -> Self:
        """Return the law with every force this many times as large.

        Parameters
        ----------
        factor : float or ndarray
            [1]

        Returns
        -------
        law : ForceLaw
        """

    def growth(self, h: Numbers, h_0: Numbers) -> Array:
        """Force at one chip thickness over that at another.

        Parameters
        ----------
        h : float or ndarray, broadcastable to the constants
            Uncut chip thickness. [mm]
        h_0 : float or ndarray, broadcastable to h
            The one it is compared with, above 0. [mm]

        Returns
        -------
        growth : ndarray
            [1]
        """
        return self.force(h) / self.force(h_0)


@dataclass(frozen=True)
class Kienzle(ForceLaw):
    """Kienzle's law: ``F/b = k_c1.1 h^(1 - m_c)``, ``k_c = k_c1.1 h^-m_c``.

    References
    ----------
    Kienzle1952
    """

    k_c11: Numbers  #: specific force at h = b = 1 mm [MPa]
    m_c: Numbers  #: rise of the specific force as the chip thins [1]

    @classmethod
    def through(cls, h: Numbers, k_c: Numbers, m_c: Numbers) -> Kienzle:
        """Return the law that has a given specific force at one chip thickness.

        Parameters
        ----------
        h : float or ndarray
            That uncut chip thickness, above 0. [mm]
        k_c : float or ndarray, broadcastable to h
            Specific force there. [MPa]
        m_c : float or ndarray, broadcastable to h
            Rise of the specific force as the chip thins. [1]

        Returns
        -------
        law : Kienzle

        Examples
        --------
        >>> float(Kienzle.through(1 / 16, 1600.0, 0.25).k_c11)
        800.0
        """
        return cls(k_c * h**m_c, m_c)

    def force(self, h: Numbers) -> Array:
        force: Array = self.k_c11 * np.power(h, 1.0 - self.m_c)
        return force

    def specific(self, h: Numbers) -> Array:
        k_c: Array = self.k_c11 * np.power(h, -self.m_c)
        return k_c

    def size_effect(self, h: Numbers) -> Array:
        return self.m_c * self.specific(h)

    def growth(self, h: Numbers, h_0: Numbers) -> Array:
        growth: Array = np.power(h, 1.0 - self.m_c) / np.power(h_0, 1.0 - self.m_c)
        return growth

    def scaled(self, factor: Numbers) -> Kienzle:
        return Kienzle(self.k_c11 * factor, self.m_c)


@dataclass(frozen=True)
class BentPower(ForceLaw):
    """Kienzle's law with a bend: ``ln(F/b) = ln k_c1.1 + (1 - m_c) ln h + bend ln^2 h``, h in mm.

    Without a bend it is Kienzle's; with one the exponent changes along the chip, as an edge force
    makes it.

    References
    ----------
    Kienzle1952
    """

    k_c11: Numbers  #: specific force at h = b = 1 mm [MPa]
    m_c: Numbers  #: rise of the specific force as the chip thins, at 1 mm [1]
    bend: Numbers = 0.0  #: half the change of the exponent for each factor of e in h [1]

    def force(self, h: Numbers) -> Array:
        x = np.log(h)
        # in place: this is the innermost line of every sample
        y = np.asarray(self.bend * x)
        y = y + (1.0 - self.m_c)
        y *= x
        y += np.log(self.k_c11)
        return np.asarray(np.exp(y))

    def specific(self, h: Numbers) -> Array:
        return np.asarray(self.force(h) / h)

    def size_effect(self, h: Numbers) -> Array:
        return np.asarray((self.m_c - 2.0 * self.bend * np.log(h)) * self.specific(h))

    def scaled(self, factor: Numbers) -> BentPower:
        return replace(self, k_c11=self.k_c11 * factor)


@dataclass(frozen=True)
class LinearEdge(ForceLaw):
    """Linear edge-force law: ``F/b = K_tc h + K_te``, ``k_c = K_tc + K_te/h``.

    The same form serves the radial force, with ``K_rc`` and ``K_re``.

    References
    ----------
    CJME2021 table 5
    """

    K_tc: Numbers  #: shearing coefficient [MPa]
    K_te: Numbers  #: edge coefficient [N/mm]

    def force(self, h: Numbers) -> Array:
        return np.asarray(self.K_tc * h + self.K_te)

    def specific(self, h: Numbers) -> Array:
        return np.asarray(self.K_tc + self.K_te / h)

    def size_effect(self, h: Numbers) -> Array:
        return np.asarray(self.K_te / h)

    def scaled(self, factor: Numbers) -> LinearEdge:
        return LinearEdge(self.K_tc * factor, self.K_te * factor)


class RadialRatio(ABC):
    """Radial over tangential force against chip thickness."""

    @abstractmethod
    def at(self, h: Numbers) -> Array:
        """Radial over tangential force at a chip thickness.

        Parameters
        ----------
        h : float or ndarray
            Uncut chip thickness. [mm]

        Returns
        -------
        ratio : ndarray
            [1]
        """

    def rise(self, h: Array) -> Array:
        """How fast the ratio rises as the chip thins, ``-d ln ratio / d ln h``.

        Parameters
        ----------
        h : ndarray
            Uncut chip thickness, above 0. [mm]

        Returns
        -------
        exponent : ndarray
            By differences over a thousandth of the chip. [1]
        """
        step = 1.0 + STEP
        return np.asarray(np.log(self.at(h / step) / self.at(h * step)) / (2.0 * math.log(step)))

    @abstractmethod
    def scaled(self, factor: float) -> RadialRatio:
        """Return this many times the ratio at every chip.

        Parameters
        ----------
        factor : float
            [1]

        Returns
        -------
        ratio : RadialRatio
        """


@dataclass(frozen=True)
class PowerRatio(RadialRatio):
    """``r (h / 0.1 mm)^-n`` between the thinnest and the thickest chip it was measured at, held
    beyond them: it neither runs away nor comes to nothing.
    """

    ratio: float  #: at a chip of 0.1 mm [1]
    exponent: float = 0.0  #: its rise as the chip thins; 0: one ratio for every chip [1]
    thinnest: float = 0.0  #: held below [mm]
    thickest: float = math.inf  #: held above [mm]

    @classmethod
    def through(cls, thinnest: float, thin: float, thickest: float, thick: float) -> PowerRatio:
        """Return the law with given ratios at its two ends.

        Parameters
        ----------
        thinnest : float
            Chip at its thin end, above 0. [mm]
        thin : float
            Ratio there. [1]
        thickest : float
            Chip at its thick end, over the thinnest. [mm]
        thick : float
            Ratio there. [1]

        Returns
        -------
        ratio : PowerRatio

        Examples
        --------
        >>> law = PowerRatio.through(0.05, 0.8, 0.2, 0.4)
        >>> law.at(np.array([0.05, 0.1, 0.2])).round(3).tolist()
        [0.8, 0.566, 0.4]
        """
        n = math.log(thin / thick) / math.log(thickest / thinnest)
        return cls(thin * (RATIO_CHIP / thinnest) ** -n, n, thinnest, thickest)

    def at(self, h: Numbers) -> Array:
        if self.exponent == 0.0:
            return np.full(np.shape(h), self.ratio)
        at_one = self.ratio * RATIO_CHIP**self.exponent
        if np.all(h <= self.thinnest):  # the usual chip of a small cutter: no power to be taken
            return np.full(np.shape(h), at_one * self.thinnest**-self.exponent)
        held = np.minimum(np.maximum(h, self.thinnest), self.thickest)
        return np.asarray(at_one * np.power(held, -self.exponent))

    def scaled(self, factor: float) -> PowerRatio:
        return replace(self, ratio=factor * self.ratio)


@dataclass(frozen=True)
class EdgeRatio(RadialRatio):
    """``(K_rc h + K_re)/(K_tc h + K_te)``; it rises as the chip thins, down to the thinnest that
    was measured.

    References
    ----------
    CJME2021 table 5
    """

    radial: LinearEdge  #: K_rc and K_re
    tangential: LinearEdge  #: K_tc and K_te
    thinnest: float = 0.0  #: held below [mm]

    def at(self, h: Numbers) -> Array:
        held = np.maximum(h, self.thinnest)
        return self.radial.force(held) / self.tangential.force(held)

    def scaled(self, factor: float) -> EdgeRatio:
        return replace(self, radial=self.radial.scaled(factor))


@dataclass(frozen=True)
class MainValueRatio(RadialRatio):
    """Feed and passive force of turning together, square to the edge, over the cutting force; each
    by Kienzle's law, down to the thinnest chip of the table.

    References
    ----------
    KoenigEssel1973
    """

    cutting: Kienzle  #: k_c1.1 and m_c
    feed: Kienzle  #: k_f1.1 and m_f
    passive: Kienzle  #: k_p1.1 and m_p
    thinnest: float = 0.0  #: held below [mm]

    def at(self, h: Numbers) -> Array:
        held = np.maximum(h, self.thinnest)
        square: Array = np.hypot(self.feed.force(held), self.passive.force(held))
        return square / self.cutting.force(held)

    def scaled(self, factor: float) -> MainValueRatio:
        return replace(self, feed=self.feed.scaled(factor), passive=self.passive.scaled(factor))

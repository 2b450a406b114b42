"""From chip to force on a millimetre of edge: the laws of the tangential force, and the radial
force over it.

A law answers the four questions of `ForceLaw`; who needs a force holds a law and asks it, and knows
none of its constants. Another law is another class of this kind in a file of its own.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass, fields, replace
from typing import Self

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array

#: One number, or an array of them for many cuts.
Numbers = float | Array


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


@dataclass(frozen=True)
class RadialRatio:
    """Radial over tangential force, ``(K_rc h + K_re)/(K_tc h + K_te)``; it rises as the chip
    thins.

    References
    ----------
    CJME2021 table 5
    """

    radial: LinearEdge  #: K_rc and K_re
    tangential: LinearEdge  #: K_tc and K_te

    @classmethod
    def constant(cls, ratio: float) -> RadialRatio:
        """Return one ratio for every chip.

        Parameters
        ----------
        ratio : float
            [1]

        Returns
        -------
        ratio : RadialRatio
        """
        return cls(LinearEdge(ratio, 0.0), LinearEdge(1.0, 0.0))

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
        return self.radial.force(h) / self.tangential.force(h)

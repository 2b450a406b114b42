"""How a thin neck rings when a straight tooth meets the full chip at once.

The force on the head over a turn, in the frame that turns with it, is passed through the bending
modes of the beam, harmonic by harmonic: exact for a history that repeats. Time is counted in
periods of the lowest mode.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loadsim.base.errors import ModelError
from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import real

#: Ramps that answers are tabled for, in periods of the lowest mode: between 1 and the last the tops
#: of what is left; after a ramp without end nothing rings. [1]
RAMPS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.5)

#: Damping ratios that answers are tabled for. [1]
DAMPINGS = (0.02, 0.055, 0.15)

#: Periods of the lowest mode while one tooth passes, in the tables: what rang has died away by
#: then, and more of them change nothing. [1]
VIBRATIONS = 64.0

#: Modes over so many times the lowest frequency answer as at rest. [1]
STIFF = 25.0


def transfer(nu: Array, ratios: Array, shares: Array, damping: float) -> Array:
    """Moment at a section for each unit of it at rest, under a force that swings.

    ``H = sum_i s_i r_i^2 / (r_i^2 - nu^2 + 2 j zeta r_i nu) / sum_i s_i``.

    Parameters
    ----------
    nu : ndarray, shape (k,)
        Frequency over that of the lowest mode, of either sign. [1]
    ratios : ndarray, shape (modes,)
        r, frequency of each mode over that of the lowest. [1]
    shares : ndarray, shape (modes,)
        s, what each mode brings of the moment at rest, in any unit. [1]
    damping : float
        zeta, damping ratio of every mode. [1]

    Returns
    -------
    H : ndarray of complex, shape (k,)
        [1]

    References
    ----------
    CloughPenzien1993, mode superposition (12-3)
    """
    swings = ratios < STIFF
    r = ratios[swings, None]
    answers = r**2 / (r**2 - nu**2 + 2j * damping * r * nu)
    at_rest = shares[~swings].sum()
    return np.asarray((shares[swings] @ answers + at_rest) / shares.sum())


def ringing(
    history: Array,
    ratios: Array,
    shares: Array,
    *,
    vibrations: float,
    damping: float,
    ramps: tuple[float, float] = (0.0, 0.0),
    twist: float = 0.0,
) -> tuple[Array, Array]:
    """Moment over a stretch that repeats: at rest, and as the beam rings.

    Parameters
    ----------
    history : ndarray of complex, shape (n,)
        Moment at rest at even times, its two parts in axes that turn with the cutter.
    ratios : ndarray, shape (modes,)
        Frequency of each mode over that of the lowest. [1]
    shares : ndarray, shape (modes,)
        What each mode brings of the moment at rest. [1]
    vibrations : float
        Periods of the lowest mode in the stretch. [1]
    damping : float
        Damping ratio of every mode. [1]
    ramps : tuple of float
        Lengths over which every step of the history is spread, one after the other, in periods of
        the lowest mode. [1]
    twist : float
        How far the cutter has turned when the stretch comes again, the same but turned with it;
        0: it comes again as it is. [rad]

    Returns
    -------
    rest : ndarray of complex, shape (n,)
        The history with its steps spread, in the unit of the history.
    rung : ndarray of complex, shape (n,)
        What the section bears.
    """
    swung = _Harmonics(history, twist, vibrations)
    spread = swung.spread(ramps[0]) * swung.spread(ramps[1])
    return swung.after(spread), swung.after(spread * transfer(swung.nu, ratios, shares, damping))


def _frequencies(n: int, twist: float, vibrations: float) -> Array:
    """Of the harmonics of a stretch, over that of the lowest mode. [1]"""
    harmonics = np.asarray(np.fft.fftfreq(n, 1 / n), float) + twist / (2 * math.pi)
    return np.asarray(harmonics / vibrations)


@functools.lru_cache(maxsize=64)
def _transfers(
    n: int, twist: float, ratios: tuple[float, ...], shares: tuple[float, ...]
) -> list[Array]:
    """Transfers of a table for each damping: the same for every piece that one cutter cuts."""
    nu = _frequencies(n, twist, VIBRATIONS)
    return [transfer(nu, np.array(ratios), np.array(shares), x) for x in DAMPINGS]


class _Harmonics:
    """A history that repeats, by its harmonics."""

    def __init__(self, history: Array, twist: float, vibrations: float) -> None:
        self.count = history.size
        self.twist = twist
        self.turned = np.exp(1j * twist * np.arange(self.count) / self.count)
        self.nu = _frequencies(self.count, twist, vibrations)
        self.spectrum = np.fft.fft(history / self.turned)

    def spread(self, ramp: float) -> Array:
        """What is left of each harmonic when every step is spread over a ramp. [1]"""
        return np.asarray(np.sinc(self.nu * ramp))

    def after(self, factor: Array) -> Array:
        """The history with each harmonic times a factor."""
        return np.asarray(np.fft.ifft(self.spectrum * factor) * self.turned)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shock:
    """What a section of the neck bears over what it would at rest, tabled over ramp, ramp and
    damping.
    """

    overshoot: Array  #: largest moment, (ramps, ramps, dampings) [1]
    #: how far the moment swings past zero once a tooth is through, over its largest at rest,
    #: (ramps, ramps, dampings) [1]
    undershoot: Array

    def at(self, rise: Reals, skew: Reals, damping: Reals) -> tuple[Array, Array]:
        """Look up answers between those of the table.

        Parameters
        ----------
        rise : array_like, shape (s,)
            Time in which the force of a tooth rises, in periods of the lowest mode. [1]
        skew : array_like, shape (s,)
            Time from the first to the last point of a skewed edge, likewise. [1]
        damping : array_like, shape (s,)
            Damping ratio, from the least to the largest of `DAMPINGS`. [1]

        Returns
        -------
        overshoot : ndarray, shape (s,)
            [1]
        undershoot : ndarray, shape (s,)
            [1]

        Raises
        ------
        ModelError
            If a ramp is negative, or damping outside the table.
        """
        short = _shortness(np.array([*RAMPS, math.inf]))
        # rising coordinates: the ramp without end comes first
        told = np.stack([self.overshoot, self.undershoot], axis=-1)[::-1, ::-1]
        axes = (short[::-1], short[::-1], np.log(DAMPINGS))
        points = (_shortness(rise), _shortness(skew), np.log(_damped(damping)))
        found = _between(told, axes, np.broadcast_arrays(*points))
        return found[..., 0], found[..., 1]

    def rising(self, exponent: float) -> Shock:
        """Return it with no chip asking less than a thinner one.

        A thicker chip takes longer to bite and rings less, which may outweigh that it takes more
        force. No feed is as steady as that: thinner chips are there as well.

        Parameters
        ----------
        exponent : float
            Growth of the force with the chip, ``d ln F / d ln h``, from 0 to 1. [1]

        Returns
        -------
        shock : Shock
            Times ``rise^exponent`` it does not fall with the rise of the force. [1]
        """
        return Shock(
            overshoot=np.maximum(_no_less(self.overshoot, exponent), 1.0),
            undershoot=_no_less(self.undershoot, exponent),
        )


def _between(told: Array, axes: tuple[Array, ...], points: Sequence[Array]) -> Array:
    """Values between those of a table, straight from one to the next along each axis."""
    places = []
    for axis, x in zip(axes, points, strict=True):
        low = np.minimum(np.searchsorted(axis, x, side="right") - 1, axis.size - 2)
        low = np.maximum(low, 0)
        places.append((low, (x - axis[low]) / (axis[low + 1] - axis[low])))
    found = np.zeros((*points[0].shape, told.shape[-1]))
    for corner in itertools.product((0, 1), repeat=len(axes)):
        weight = math.prod(
            share if up else 1 - share for up, (_, share) in zip(corner, places, strict=True)
        )
        at = tuple(low + up for up, (low, _) in zip(corner, places, strict=True))
        found += np.asarray(weight)[..., None] * told[at]
    return found


#: Shares of a chip that are looked at. [1]
THINNER = np.geomspace(0.1, 1.0, 41)


@functools.cache
def _thinner() -> Array:
    """Weights of the table's ramps in the answers of thinner chips, (ramps, thinner, ramps and one
    without end).
    """
    nodes = _shortness(np.array([*RAMPS, math.inf]))[::-1]
    short = _shortness(THINNER * np.array(RAMPS)[:, None])
    each = [np.interp(short, nodes, row)[..., None] for row in np.eye(nodes.size)[::-1]]
    return np.concatenate(each, axis=-1)


def _no_less(told: Array, exponent: float) -> Array:
    """Largest over thinner chips, each with its own force, along the first axis."""
    found = np.tensordot(_thinner(), told, axes=1)
    more = (found * (THINNER**exponent)[:, None, None]).max(axis=1)
    return np.concatenate([more, told[-1:]])


def _shortness(ramp: Reals) -> Array:
    """1 for a step, 0 for a ramp without end."""
    if not (np.asarray(ramp) >= 0).all():
        raise ModelError(f"a ramp is {np.min(ramp):g} periods; allowed is >= 0")
    return np.asarray(1 / (1 + np.asarray(ramp, float)))


def _damped(damping: Reals) -> Array:
    return real("damping ratio", damping, "1", least=DAMPINGS[0], most=DAMPINGS[-1])


def shock(pulse: Array, teeth: int, ratios: Array, shares: Array) -> Shock:
    """Make the table of one tooth's passage: once for a way of cutting.

    The largest moment is that of teeth that cut alike; how far it swings back is that of one tooth
    alone, as the next may cut less.

    Parameters
    ----------
    pulse : ndarray of complex, shape (n teeth,)
        Moment that one tooth makes at rest, over a turn, in axes that turn with the cutter:
        tangential and radial part. In any unit.
    teeth : int
        Number of teeth N_t. [1]
    ratios : ndarray, shape (modes,)
        Frequency of each mode over that of the lowest. [1]
    shares : ndarray, shape (modes,)
        What each mode brings of the moment at rest. [1]

    Returns
    -------
    shock : Shock
        Nowhere under 1: that a short stroke may ask less than at rest is not counted.

    Notes
    -----
    Left out: what the force does to the chip as the neck swings, and the smaller cycles while it
    rings; both axes have the modes of the same round neck.
    """
    n = pulse.size // teeth
    pitch = 2 * math.pi / teeth
    alike = sum(np.exp(1j * pitch * j) * np.roll(pulse, j * n)[:n] for j in range(teeth))
    alone = pulse[::teeth]
    peak = alone[np.argmax(np.abs(alone))]
    alone = alone * np.conj(peak / np.abs(peak))
    size = len(RAMPS) + 1
    over = np.ones((size, size, len(DAMPINGS)))
    under = np.zeros_like(over)
    i, j = np.tril_indices(len(RAMPS))
    for swung, told, worst in (
        (_Harmonics(alike, pitch, VIBRATIONS), over, _largest),
        (_Harmonics(alone, 0.0, VIBRATIONS), under, _past_zero),
    ):
        ramps = np.array([swung.spread(ramp) for ramp in RAMPS])
        spread = ramps[i] * ramps[j]
        rest = swung.after(spread)
        transfers = _transfers(swung.count, swung.twist, tuple(ratios), tuple(shares))
        found = np.stack([worst(rest, swung.after(spread * H)) for H in transfers], axis=-1)
        told[i, j] = told[j, i] = found
    return Shock(overshoot=over, undershoot=under)


def _largest(rest: Array, rung: Array) -> Array:
    return np.maximum(_size(rung) / _size(rest), 1.0)


def _size(moment: Array) -> Array:
    return np.asarray(np.sqrt((moment.real**2 + moment.imag**2).max(axis=-1)))


def _past_zero(rest: Array, rung: Array) -> Array:
    return np.asarray(np.maximum(-rung.real.min(axis=-1) / rest.real.max(axis=-1), 0.0))

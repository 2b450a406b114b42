"""Stress concentration of the shoulder fillets: published formulas and how near they lie to finite
elements.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum, auto
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.errors import ModelError
from loadsim.base.notes import Note
from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import above_zero, takes

K_T_BENDING_FE_MEAN: Final = 1.0
"""Mean of finite-element K_t over the bending formula, for the risk."""

K_T_BENDING_FE_SD: Final = 0.01
"""Standard deviation that goes with `K_T_BENDING_FE_MEAN`.

Finite elements of our own, D/d 1.005 to 6 and r/d 0.0025 to 1, lie 1.9 % below to 0.8 % above
`stress_concentration_bending`, 0.6 % either way in the root of the mean square.
"""

K_T_BENDING_FE_BOUND: Final = 1.02
"""Factor on the bending formula for a judgement on the safe side: two standard deviations."""

#: Fillet over bar's diameter that bending was held against finite elements for. [1]
BENDING_RANGE: Final = (0.0025, 1.0)

#: Fillet over bar's diameter from which the formula falls below finite elements, 3 % at 0.5 and 9 %
#: at 1. [1]
_LARGE_ROUND: Final = 0.3

#: How K_t - 1 falls with the fillet from there on, in the same finite elements (0.88 to 0.90 for
#: D/d 4; where the step is low it falls less, and the formula holds). [1]
_LARGE_EXPONENT: Final = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A published fit K_t(q, x), q = t/r, x = 2 t/D: for fixed x a quadratic in sqrt(q) on each
    branch.
    """

    bounds: tuple[float, ...]  #: q at the ends of the branches [1]
    #: rows C1..C4, columns 1, sqrt(q), q
    branches: tuple[tuple[tuple[float, float, float], ...], ...]
    corner: float  #: exponent of the stress at a sharp re-entrant corner of 90 degrees [1]


_TORSION: Final = Fit(
    bounds=(0.25, 4.0),
    branches=(
        (
            (0.905, 0.783, -0.075),
            (-0.437, -1.969, 0.553),
            (1.557, 1.073, -0.578),
            (-1.061, 0.171, 0.086),
        ),
    ),
    corner=1 / 3,
)


def _highest_up_to(s: Array, s_low: float, c: Array) -> Array:
    """Highest value of the quadratic c0 + c1 s + c2 s^2 from s_low to s, so that it can never fall
    with s.
    """
    c0, c1, c2 = c
    with np.errstate(divide="ignore", over="ignore"):  # a straight line has its top at infinity
        top = -c1 / (2 * np.where(c2 < 0, c2, -1.0))
    best = np.where(c2 < 0, np.clip(top, s_low, s), s)
    return np.asarray(np.maximum(c0 + s_low * (c1 + s_low * c2), c0 + best * (c1 + best * c2)))


@takes(D=above_zero("mm"), d=above_zero("mm"), r=above_zero("mm"))
def _shape(D: Reals, d: Reals, r: Reals) -> tuple[Array, Array]:
    """Return q = t/r and x = 2 t/D of a checked shoulder."""
    step = D - d
    if step.size and step.min() < 0:
        D_bad, d_bad = (a[step < 0].flat[0] for a in np.broadcast_arrays(D, d))
        raise ModelError(
            f"D is {D_bad:g} mm; allowed is a finite number >= d, which is {d_bad:g} mm"
        )
    q, x = np.broadcast_arrays(step / (2 * r), step / D)
    return q, x


def from_fit(fit: Fit, D: ArrayLike, d: ArrayLike, r: ArrayLike) -> Array:
    """Stress concentration factor of a shouldered round bar from a published fit.

    Parameters
    ----------
    fit : Fit
        Of one load.
    D : array_like, broadcastable
        Diameter of the thick bar, not smaller than d. [mm]
    d : array_like, broadcastable
        Diameter of the thin bar. [mm]
    r : array_like, broadcastable
        Radius of the fillet. [mm]

    Returns
    -------
    K_t : ndarray, shape of the inputs broadcast together
        Highest value of the fit up to this t/r, carried on past its end; 1 without a step. [1]

    Raises
    ------
    ModelError
        If an input is not finite or not > 0, or D is below d (a ValueError).

    References
    ----------
    Pilkey2008, charts 3.4, 3.10 and 3.12
    """
    q, x = _shape(D, d, r)
    K = np.ones_like(q)
    for low, high, rows in zip(fit.bounds, fit.bounds[1:], fit.branches, strict=False):
        C1, C2, C3, C4 = np.array(rows).reshape(4, 3, *(1,) * x.ndim)
        s = np.sqrt(np.clip(q, low, high))
        branch = _highest_up_to(s, math.sqrt(low), C1 + x * (C2 + x * (C3 + x * C4)))
        reached = (q > 0) if low == fit.bounds[0] else (q >= low)
        K = np.where(reached, np.maximum(K, branch), K)
    return np.asarray(K * np.maximum(q / fit.bounds[-1], 1.0) ** fit.corner)


def stress_concentration_bending(D: ArrayLike, d: ArrayLike, r: ArrayLike) -> Array:
    """Stress concentration factor of a shouldered round bar in bending.

    ``0.632 + 0.377 u^2.2 + sqrt((0.503 - 0.363 u - 0.14 u^2)/(3.368 - 2.39 u + u^2) d/r)`` with
    ``u = (d/D)^2``.

    Parameters
    ----------
    D : array_like, broadcastable
        Diameter of the thick bar, not smaller than d. [mm]
    d : array_like, broadcastable
        Diameter of the thin bar. [mm]
    r : array_like, broadcastable
        Radius of the fillet. [mm]

    Returns
    -------
    K_t : ndarray, shape of the inputs broadcast together
        Largest principal stress over ``32 M / (pi d^3)``; 1 without a step. [1]

    Raises
    ------
    ModelError
        If an input is not finite or not > 0, or D is below d (a ValueError).

    Notes
    -----
    A formula fitted to finite elements; what is left is `K_T_BENDING_FE_SD`. Where the fillet is
    over 0.3 of the bar it would fall short; K_t - 1 goes on with ``r^-0.9`` there if that is more.
    A smaller fillet never lowers the answer, and the smallest step gives 1.009. K_t grows with
    ``r^-0.5``, faster than at the sharp 90-degree corner (``r^-0.4555``, Williams1952): below r/d
    0.0025 it errs on the safe side.

    References
    ----------
    TiptonSoremRolovic1996
    """
    x = _shape(D, d, r)[1]
    u = (1 - x) ** 2
    # (1 - u)(0.503 + 0.14 u) is the formula's numerator: no rounding takes it below zero
    corner = (1 - u) * (0.503 + 0.14 * u) / (3.368 + u * (u - 2.39))
    round_of = np.divide(r, d)
    low = 0.632 + 0.377 * u**2.2
    K = low + np.sqrt(corner / round_of)
    if round_of.size and round_of.max() > _LARGE_ROUND:
        held = low + np.sqrt(corner / np.minimum(round_of, _LARGE_ROUND))
        beyond = np.maximum(round_of / _LARGE_ROUND, 1.0)
        K = np.maximum(K, 1 + (held - 1) * beyond**-_LARGE_EXPONENT)
    return np.where(x > 0, K, 1.0)


def stress_concentration_torsion(D: ArrayLike, d: ArrayLike, r: ArrayLike) -> Array:
    """Stress concentration factor of a shouldered round bar in torsion.

    Parameters
    ----------
    D : array_like, broadcastable
        Diameter of the thick bar, not smaller than d. [mm]
    d : array_like, broadcastable
        Diameter of the thin bar. [mm]
    r : array_like, broadcastable
        Radius of the fillet. [mm]

    Returns
    -------
    K_t : ndarray, shape of the inputs broadcast together
        Largest shear stress over ``16 T / (pi d^3)``; 1 without a step. [1]

    Raises
    ------
    ModelError
        If an input is not finite or not > 0, or D is below d (a ValueError).

    Notes
    -----
    One branch, ``0.25 <= t/r <= 4``. It lies up to 3 % above finite elements for D/d <= 1.5 and r/d
    <= 0.2, and up to 0.8 % below them at r/d 0.5. For D/d > 2 the extrapolation lies far above
    them: 7 % at t/r 5, 30 % at t/r 20. A smaller fillet never lowers the answer. Outside the fit's
    range in ``t/r``, ``t = (D - d)/2``, see `stress_concentration_notes`: below it K_t is held,
    above it K_t grows with ``(t/r)^(1/3)``, the singularity of a sharp 90-degree corner, which no
    fillet exceeds in slope.

    References
    ----------
    Pilkey2008, chart 3.12
    Williams1952
    """
    return from_fit(_TORSION, D, d, r)


class FilletNote(Enum):
    """Where a fillet lies outside what the formulas were held against."""

    LARGE_FOR_ITS_STEP = auto()
    SMALL_FOR_ITS_STEP = auto()
    LARGE_FOR_THE_NECK = auto()
    SMALL_FOR_THE_NECK = auto()


def stress_concentration_notes(D: float, d: float, r: float) -> tuple[Note, ...]:
    """List where a fillet lies outside what the formulas were held against.

    Parameters
    ----------
    D : float
        Diameter of the thick bar, not smaller than d. [mm]
    d : float
        Diameter of the thin bar. [mm]
    r : float
        Radius of the fillet. [mm]

    Returns
    -------
    notes : tuple of Note
        Torsion by step over radius, bending by radius over diameter; empty inside both ranges and
        without a step.

    Raises
    ------
    ModelError
        If an input is not finite or not > 0, or D is below d (a ValueError).

    References
    ----------
    Pilkey2008, chart 3.12
    """
    q = float(_shape(D, d, r)[0])
    if q == 0:
        return ()
    outside = FilletNote.LARGE_FOR_ITS_STEP, FilletNote.SMALL_FOR_ITS_STEP
    notes = _outside(outside, _TORSION.bounds, "step_over_radius", q)
    outside = FilletNote.SMALL_FOR_THE_NECK, FilletNote.LARGE_FOR_THE_NECK
    return notes + _outside(outside, BENDING_RANGE, "radius_over_diameter", r / d)


def _outside(
    below_above: tuple[FilletNote, FilletNote], bounds: tuple[float, ...], name: str, value: float
) -> tuple[Note, ...]:
    low, high = bounds
    if low <= value <= high:
        return ()
    facts = {name: value, "low": low, "high": high}
    return (Note(code=below_above[value > high], facts=facts),)

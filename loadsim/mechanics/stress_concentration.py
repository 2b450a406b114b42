"""Stress concentration of the shoulder fillets: published fits and how far they lie below finite
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

K_T_BENDING_FE_MEAN: Final = 1.04
"""Mean of finite-element K_t over the published bending fit, for the risk; see
`K_T_BENDING_FE_BOUND`.
"""

K_T_BENDING_FE_SD: Final = 0.03
"""Standard deviation that goes with `K_T_BENDING_FE_MEAN`."""

K_T_BENDING_FE_BOUND: Final = 1.09
"""Factor on the published bending fit for a judgement on the safe side.

The fit follows a chart drawn from photoelastic tests and lies below finite elements: by up to 4 %
at r/d 0.1,
7 % at 0.05, 8.9 % at 0.03 (D/d 1.2). The factor covers every D/d from 1.02 to 4 while r/d is at
least 0.03;
for smaller fillets multiply it, and the mean, by `bending_fe_scale`.
"""

_FE_R_OVER_D: Final = 0.03

_FE_EXPONENT: Final = 0.055


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A published fit K_t(q, x), q = t/r, x = 2 t/D: for fixed x a quadratic in sqrt(q) on each
    branch.
    """

    bounds: tuple[float, ...]  #: q at the ends of the branches [1]
    #: rows C1..C4, columns 1, sqrt(q), q
    branches: tuple[tuple[tuple[float, float, float], ...], ...]
    corner: float  #: exponent of the stress at a sharp re-entrant corner of 90 degrees [1]


_BENDING: Final = Fit(
    bounds=(0.1, 2.0, 20.0),
    branches=(
        (
            (0.947, 1.206, -0.131),
            (0.022, -3.405, 0.915),
            (0.869, 1.777, -0.555),
            (-0.810, 0.422, -0.260),
        ),
        (
            (1.232, 0.832, -0.008),
            (-3.813, 0.968, -0.260),
            (7.423, -4.868, 0.869),
            (-3.839, 3.070, -0.600),
        ),
    ),
    corner=0.4555,
)

#: Tension: its range is told in the notes, and the rival formulas in `peers` take its factor.
TENSION: Final = Fit(
    bounds=(0.1, 2.0, 20.0),
    branches=(
        (
            (0.926, 1.157, -0.099),
            (0.012, -3.036, 0.961),
            (-0.302, 3.977, -1.744),
            (0.365, -2.098, 0.878),
        ),
        (
            (1.200, 0.860, -0.022),
            (-1.805, -0.346, -0.038),
            (2.198, -0.486, 0.165),
            (-0.593, -0.028, -0.106),
        ),
    ),
    corner=0.4555,
)

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
        Of one load, e.g. `TENSION`.
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
    Two branches, ``0.1 <= t/r <= 2`` and ``2 <= t/r <= 20``. Where they do not meet, or a branch
    falls with t/r, the highest value on the way holds. The fit lies below finite elements: see
    `K_T_BENDING_FE_BOUND`. A smaller fillet never lowers the answer. Outside the fit's range in
    ``t/r``, ``t = (D - d)/2``, see `stress_concentration_notes`: below it K_t is held, above it K_t
    grows with ``(t/r)^0.4555``, the singularity of a sharp 90-degree corner, which no fillet
    exceeds in slope.

    References
    ----------
    Pilkey2008, chart 3.10
    Williams1952
    """
    return from_fit(_BENDING, D, d, r)


@takes(d=above_zero("mm"), r=above_zero("mm"))
def bending_fe_scale(d: Reals, r: Reals) -> Array:
    """Growth of the bending fit's shortfall at fillets that are very small for their bar.

    ``max(1, 0.03 d/r)^0.055``, to be multiplied with `K_T_BENDING_FE_BOUND` and
    `K_T_BENDING_FE_MEAN`.

    Parameters
    ----------
    d : array_like, broadcastable
        Diameter of the thin bar. [mm]
    r : array_like, broadcastable
        Radius of the fillet. [mm]

    Returns
    -------
    scale : ndarray, shape of the inputs broadcast together
        Factor, 1 while r/d is at least 0.03. [1]

    Raises
    ------
    ModelError
        If an input is not finite or not > 0 (a ValueError).

    Notes
    -----
    An envelope over finite-element solutions for D/d 1.02 to 1.5 and r/d down to 0.0025, where the
    fit falls 23 % short.
    """
    return np.asarray(np.maximum(_FE_R_OVER_D * d / r, 1.0) ** _FE_EXPONENT)


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
    """Where a fillet lies outside the published fits."""

    LARGE_FOR_ITS_STEP = auto()
    SMALL_FOR_ITS_STEP = auto()
    SMALL_FOR_THE_NECK = auto()


#: Fit by the load that it is of.
_FITS = {"bending": _BENDING, "tension": TENSION, "torsion": _TORSION}


def stress_concentration_notes(
    D: float, d: float, r: float, loads: tuple[str, ...] = tuple(_FITS)
) -> tuple[Note, ...]:
    """List where a fillet lies outside the published fits.

    Parameters
    ----------
    D : float
        Diameter of the thick bar, not smaller than d. [mm]
    d : float
        Diameter of the thin bar. [mm]
    r : float
        Radius of the fillet. [mm]
    loads : tuple of {"bending", "tension", "torsion"}
        What the bar bears.

    Returns
    -------
    notes : tuple of Note
        One for each range that is left; empty inside them all.

    Raises
    ------
    ModelError
        If an input is not finite or not > 0, or D is below d (a ValueError).

    References
    ----------
    Pilkey2008, charts 3.4, 3.10 and 3.12
    """
    q = float(_shape(D, d, r)[0])
    notes = []
    for load in loads:
        low, *_, high = _FITS[load].bounds
        facts = {"load": load, "step_over_radius": q, "low": low, "high": high}
        if 0 < q < low:
            notes.append(Note(code=FilletNote.LARGE_FOR_ITS_STEP, facts=facts))
        elif q > high:
            notes.append(Note(code=FilletNote.SMALL_FOR_ITS_STEP, facts=facts))
    if q > 0 and r < _FE_R_OVER_D * d:
        facts = {"radius_over_diameter": r / d, "least": _FE_R_OVER_D}
        notes.append(Note(code=FilletNote.SMALL_FOR_THE_NECK, facts=facts))
    return tuple(notes)

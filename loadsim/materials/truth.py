"""What a metal's sources come to, and what each says by itself: force on a millimetre of edge over
the chip.

The edge is sharp, no chip sticks to it, and its rake is the one that each source had.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from scipy.special import ndtr

from loadsim.base.numbers import Array
from loadsim.base.units import IN, System
from loadsim.materials import votes
from loadsim.materials.law import metal_law
from loadsim.materials.radial import SILENT_RANGE
from loadsim.materials.schema import MARKS, ForceCurve, RadialCurve, ValueRow, WorkMaterial

#: Chips at which forces are told. [mm]
CHIPS: dict[System, tuple[float, ...]] = {
    "metric": (0.005, 0.01, 0.02, 0.05, 0.1, 0.2),
    "inch": tuple(thou * IN / 1e3 for thou in (0.2, 0.4, 0.8, 2.0, 4.0, 8.0)),
}

#: Standard deviations from the median to the ends of a band that holds nine in ten. [1]
Z90 = 1.6448536269514722

#: Points over the radial force's spread; four would do for one figure in a hundred. [1]
NODES = 40

#: Halvings of the range in which a quantile lies: 1e-12 of it is left. [1]
HALVINGS = 40

#: Where a chip counts as the end of a range although it was converted from another unit. [1]
ROUNDING = 1e-9

#: Values of a file that say where a curve was measured, not what.
_WHERE = ("h_range", "rake_reference")

_LEVELS = ("k_c11", "K_tc", "unit_power", "ratio")

_BESIDE = (*_WHERE, "ratio_spread", "weight")

Kind = Literal["tangential", "radial"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A force and the band that holds it nine times in ten; shape of the chips."""

    median: Array  #: [N/mm]
    low: Array  #: one in twenty lies below [N/mm]
    high: Array  #: one in twenty lies above [N/mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Forces:
    """What all sources of a metal come to."""

    h: Array  #: uncut chip thickness [mm]
    tangential: Band  #: along the cut
    radial: Band  #: square to it and to the edge
    resultant: Band  #: of both: what bends the neck


@dataclass(frozen=True, slots=True, kw_only=True)
class ForceSource:
    """What one source says, and where it was measured."""

    kind: Kind  #: which force it is a source of
    source: str  #: key of the publication
    label: str  #: name of the curve in its file; "" where the file has one only
    alloy: str  #: another alloy of the family that it was measured on; "": the material's own
    bound: bool  #: it is the aged alloy's, lower bound of a soft temper
    condition: str  #: what was cut with what
    mark: str  #: how surely it was read: that of its least sure constant
    values: tuple[ValueRow, ...]  #: its constants as printed
    rake: float | None  #: rake it was measured at, None when it does not say [rad]
    h_lo: float  #: thinnest chip it was measured at, or is taken to start at [mm]
    h_hi: float  #: thickest; infinite when it does not say [mm]
    silent: bool  #: it does not say which chips it was measured at
    force: Array  #: what it says at the chips asked, shape of these [N/mm]
    stretched: tuple[bool, ...]  #: whether each of these lies outside what it was measured at


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """A metal's forces and every source behind them, at the chips that a system of units tells."""

    system: System
    forces: Forces
    sources: tuple[ForceSource, ...]


def truth_of(material: WorkMaterial, system: System) -> Truth:
    """Forces of a metal with every source of them, at round chips.

    Parameters
    ----------
    material : WorkMaterial
        As loaded.
    system : {"metric", "inch"}
        Whose round numbers the chips are.

    Returns
    -------
    truth : Truth
    """
    h = np.array(CHIPS[system])
    return Truth(system=system, forces=forces(material, h), sources=sources_of(material, h))


def forces(material: WorkMaterial, h: Array) -> Forces:
    """Force on a millimetre of edge by all sources of a metal.

    Logarithms are normal: that of the tangential force, and that of radial over tangential force,
    which does not depend on it.

    Parameters
    ----------
    material : WorkMaterial
        As loaded.
    h : ndarray, shape (n,)
        Uncut chip thickness, > 0. [mm]

    Returns
    -------
    forces : Forces
        The resultant's band by quadrature over the ratio, as to the first order it is up to 10 %
        low where the radial force is not well known.
    """
    tangential, sigma = _tangential(material, h)
    ratio = material.radial.ratio.at(h)
    spread = material.radial.spread
    return Forces(
        h=h,
        tangential=_lognormal(tangential, sigma),
        radial=_lognormal(ratio * tangential, np.hypot(sigma, spread)),
        resultant=_resultant(tangential, sigma, ratio, spread),
    )


def _tangential(material: WorkMaterial, h: Array) -> tuple[Array, Array]:
    """Median of the tangential force, and the standard deviation of its logarithm."""
    law = metal_law(material.curves)
    return law.median.force(h), law.sigma_ln(h)


def _lognormal(median: Array, sigma: Array) -> Band:
    factor = np.exp(Z90 * sigma)
    return Band(median=median, low=median / factor, high=median * factor)


def _resultant(tangential: Array, sigma: Array, ratio: Array, spread: float) -> Band:
    """Quantiles of ``F_t sqrt(1 + r^2)``: a normal law for each ratio that may be, weighed."""
    nodes, weight = np.polynomial.hermite_e.hermegauss(NODES)
    share = weight / weight.sum()
    over = 0.5 * np.log1p((ratio[:, None] * np.exp(spread * nodes)) ** 2)
    ends = [_quantile(level, over, share, sigma[:, None]) for level in (-Z90, 0.0, Z90)]
    low, median, high = (tangential * np.exp(end) for end in ends)
    return Band(median=median, low=low, high=high)


def _quantile(level: float, over: Array, share: Array, sigma: Array) -> Array:
    """Where as much lies below as under so many standard deviations of a normal law."""
    wide = (abs(level) + 1.0) * sigma[:, 0]
    low = over.min(axis=1) - wide
    high = over.max(axis=1) + wide
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        below = (share * ndtr((middle[:, None] - over) / sigma)).sum(axis=1) < ndtr(level)
        low = np.where(below, middle, low)
        high = np.where(below, high, middle)
    return np.asarray((low + high) / 2)


def sources_of(material: WorkMaterial, h: Array) -> tuple[ForceSource, ...]:
    """Every source of a metal by itself, the tangential force's first.

    Parameters
    ----------
    material : WorkMaterial
        As loaded.
    h : ndarray, shape (n,)
        Uncut chip thickness, > 0. [mm]

    Returns
    -------
    sources : tuple of ForceSource
        A source of the radial force says a ratio: its force is that of the median tangential force.
    """
    tangential = _tangential(material, h)[0]
    return (
        *(_of_curve(curve, material, h) for curve in material.curves),
        *(_of_ratio(curve, material, h, tangential) for curve in material.radial_curves),
    )


def _of_curve(curve: ForceCurve, material: WorkMaterial, h: Array) -> ForceSource:
    rows = _rows_of(material, lambda group: _is_curve(group, curve))
    lo, hi = votes.reach([curve])
    return ForceSource(
        kind="tangential",
        alloy=curve.alloy,
        bound=curve.upward is not None,
        silent=curve.h_lo is None,
        force=curve.law.force(h),
        **_facts(curve, rows, h, lo, hi),
    )


def _of_ratio(
    curve: RadialCurve, material: WorkMaterial, h: Array, tangential: Array
) -> ForceSource:
    rows = _rows_of(material, lambda group: _is_ratio(group, curve))
    lo = SILENT_RANGE[0] if curve.h_lo is None else curve.h_lo
    hi = math.inf if curve.h_hi is None else curve.h_hi
    return ForceSource(
        kind="radial",
        alloy="",
        bound=False,
        silent=curve.h_lo is None,
        force=curve.ratio.at(h) * tangential,
        **_facts(curve, rows, h, lo, hi),
    )


def _facts(
    curve: ForceCurve | RadialCurve, rows: tuple[ValueRow, ...], h: Array, lo: float, hi: float
) -> dict[str, Any]:
    """What a source of either force has."""
    outside = (h < lo * (1 - ROUNDING)) | (h > hi * (1 + ROUNDING))
    constants = [row for row in rows if row.quantity not in _BESIDE]
    return {
        "source": curve.source,
        "label": curve.label,
        "condition": next(row.condition for row in rows if row.quantity in _LEVELS),
        "mark": max((row.mark for row in constants), key=MARKS.index),
        "values": tuple(row for row in rows if row.quantity not in _WHERE),
        "rake": curve.rake_reference,
        "h_lo": lo,
        "h_hi": hi,
        "stretched": tuple(outside.tolist()),
    }


def _rows_of(material: WorkMaterial, whose: Callable[[str], bool]) -> tuple[ValueRow, ...]:
    return tuple(row for row in material.rows if whose(row.group))


def _is_curve(group: str, curve: ForceCurve) -> bool:
    """Whether a table is this curve's; those of an aged alloy stand under its name."""
    name = f"curves.{curve.label}"
    if curve.upward is None:
        return group == name
    return group.endswith(f" {name}") and not group.startswith("curves.")


def _is_ratio(group: str, curve: RadialCurve) -> bool:
    label = group.rpartition(".")[2] if "." in group else ""
    return group.startswith("radial") and label == curve.label

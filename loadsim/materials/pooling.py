"""Rival sources of cutting force pooled, with their spread and what to know of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base import units
from loadsim.base.numbers import Array
from loadsim.materials import votes
from loadsim.materials.schema import LUBRICATIONS, ForceCurve, Pooled, WorkMaterial
from loadsim.materials.votes import SIGMA_FLOOR

SIGMA_FLOOR_FEW = 0.30  # what three or more sources typically show; two that agree prove nothing

#: Least standard deviation of the local exponent between sources. [1]
M_FLOOR = 0.05


def _thickness(h: ArrayLike) -> Array:
    h = np.asarray(h, dtype=np.float64)
    if not (np.isfinite(h) & (h > 0)).all():
        raise ValueError("chip thickness must be finite and > 0 mm; k_c has no value at h = 0")
    return h


def specific_force(curves: tuple[ForceCurve, ...], h: ArrayLike) -> Array:
    """Specific cutting force of each source, as printed, at its own rake.

    Parameters
    ----------
    curves : tuple of ForceCurve
        One for each source.
    h : array_like, shape (...,)
        Uncut chip thickness, > 0. [mm]

    Returns
    -------
    k_c : ndarray, shape (n_curves, ...)
        Specific cutting force. [MPa]

    Raises
    ------
    ValueError
        If any h is not finite or not > 0, or there is no curve.

    References
    ----------
    KienzleVictor1957, CJME2021 table 5

    Examples
    --------
    >>> from loadsim.mechanics.force_law import Kienzle
    >>> one = ForceCurve(label="a", source="b", model="kienzle", law=Kienzle(800.0, 0.25))
    >>> specific_force((one,), 0.0625).round(6).tolist()
    [1600.0]
    """
    if not curves:
        raise ValueError("at least one force curve is needed")
    h = _thickness(h)
    return np.stack([curve.law.specific(h) for curve in curves])


def pooled(curves: tuple[ForceCurve, ...], h: ArrayLike) -> Pooled:
    """Specific cutting force over all sources at the chip thickness of the cut.

    Random-effects pooling of ln k_c at each h, one vote a publication and alloy. The spread is the
    one to expect of a new cut: between the sources, and of their mean; never below
    ``sigma_floor``; it grows as h leaves the range of every source. Where curves of the aged
    alloy stand as a lower bound (a soft temper), the mean is no lower than theirs.

    Parameters
    ----------
    curves : tuple of ForceCurve
        One or more for each source. Each stays at its own rake: the differences of rake are part
        of the spread.
    h : array_like, shape (...,)
        Uncut chip thickness, > 0. [mm]

    Returns
    -------
    pooled : Pooled
        The mean, its slope and the spreads, each of the shape of h.

    Raises
    ------
    ValueError
        If any h is not finite or not > 0, or there is no curve.

    References
    ----------
    KienzleVictor1957, CJME2021 table 5
    DerSimonianKacker2007 section 2
    """
    h = _thickness(h)
    own = tuple(c for c in curves if c.upward is None)
    if not own:
        raise ValueError("at least one force curve is needed")
    aged = tuple(c for c in curves if c.upward is not None)
    mean = _random_effects(own, h)
    if aged:
        mean = _no_softer(mean, _random_effects(aged, h), max(c.upward or 0.0 for c in aged))
    rakes = [c.rake_reference for c in curves if c.rake_reference is not None]
    return Pooled(
        k_c=np.exp(mean.log_k),
        m_c=mean.m_c,
        m_spread=mean.m_spread,
        sigma_ln=mean.sigma,
        rake_reference=sum(rakes) / len(rakes) if rakes else 0.0,
        notes=_source_notes(own, len(rakes), soft=bool(aged)),
    )


@dataclass(frozen=True, slots=True)
class _Mean:
    """What votes come to, each of the shape of h."""

    log_k: Array
    m_c: Array
    m_spread: Array
    sigma: Array


@lru_cache(maxsize=256)
def _where_it_starts(curves: tuple[ForceCurve, ...]) -> float:
    """Variance between the votes at the thinnest chip that any of them covers."""
    start = min(votes.reach(vote)[0] for vote in votes.by_vote(curves))
    nearest = votes.cast(curves, np.asarray(start))
    return float(votes.between_variance(nearest.log_k, nearest.scatter))


def _random_effects(curves: tuple[ForceCurve, ...], h: Array) -> _Mean:
    """Weighted mean of the votes, and the spread that a new cut is predicted with."""
    cast = votes.cast(curves, h)
    tau2 = votes.between_variance(cast.log_k, cast.scatter)
    if (h < cast.start).any():  # laws that happen to cross outside their range agree on nothing
        tau2 = np.where(h < cast.start, np.maximum(tau2, _where_it_starts(curves)), tau2)
    share = votes.shares(cast, tau2)
    m_c = (share * cast.slope).sum(axis=0)
    apart = (share * (cast.slope - m_c) ** 2).sum(axis=0)
    free = 1.0 - (share**2).sum(axis=0)  # so that the weighted variance is without bias
    # how far the nearest source is stretched is an error of all: it does not average out
    of_mean = (share**2 * (tau2 + cast.variance - cast.shared)).sum(axis=0)
    near = np.maximum(np.sqrt(tau2 + of_mean), sigma_floor(curves))
    return _Mean(
        log_k=(share * cast.log_k).sum(axis=0),
        m_c=m_c,
        m_spread=np.maximum(np.sqrt(apart / free) if len(share) > 1 else 0.0 * h, M_FLOOR),
        sigma=np.sqrt(near**2 + cast.shared),
    )


def _no_softer(own: _Mean, aged: _Mean, upward: float) -> _Mean:
    """A soft temper's force: its own sources', but no lower than the aged alloy's."""
    higher = own.log_k > aged.log_k
    return _Mean(
        log_k=np.where(higher, own.log_k, aged.log_k),
        m_c=np.where(higher, own.m_c, aged.m_c),
        m_spread=np.where(higher, own.m_spread, aged.m_spread),
        sigma=np.hypot(np.where(higher, own.sigma, aged.sigma), upward),
    )


def sigma_floor(curves: tuple[ForceCurve, ...]) -> float:
    """Smallest spread of ln k_c that a set of sources is trusted with.

    Sources that agree may have copied each other, so their agreement alone earns no less than 0.15,
    and fewer than three show too little of it: 0.30. Where every source states its own spread (a
    shop's own test cuts) the root mean square of those takes the place of both.

    Parameters
    ----------
    curves : tuple of ForceCurve
        One or more for each source; fewer than three are counted by publication and alloy.

    Returns
    -------
    floor : float
        Standard deviation of ln k_c. [1]
    """
    own = math.sqrt(sum(c.spread**2 for c in curves) / len(curves))
    if all(c.spread > 0 for c in curves):
        return own
    return max(own, SIGMA_FLOOR if len(votes.by_vote(curves)) >= 3 else SIGMA_FLOOR_FEW)


def _source_notes(curves: tuple[ForceCurve, ...], stated: int, *, soft: bool) -> tuple[str, ...]:
    notes = []
    n = len(votes.by_vote(curves))
    if n < 3 and not all(c.spread > 0 for c in curves):
        count = f"Only {n} source{'s' if n > 1 else ''} for the cutting force of this metal"
        least = f"at least +-{math.expm1(SIGMA_FLOOR_FEW):.0%}"
        notes.append(f"{count}: {least} is allowed for (sigma_ln at least {SIGMA_FLOOR_FEW:g})")
    if stated == 0:
        notes.append(
            "No source says with what rake it measured the cutting force: 0 deg is assumed"
        )
    if soft:
        notes.append(
            "Soft temper: its cutting force is taken no lower than the aged alloy's at the same"
            " chip, with a wider spread; handbooks print less, tests of gummy metal do not bear"
            " them out at low speed"
        )
    return tuple(notes)


def range_notes(
    curves: tuple[ForceCurve, ...],
    h: ArrayLike,
    system: units.System = "metric",
    sigma_ln: float | None = None,
) -> tuple[str, ...]:
    """Say where h lies outside what the sources were measured at.

    Parameters
    ----------
    curves : tuple of ForceCurve
        One for each source.
    h : array_like, shape (...,)
        Uncut chip thickness, > 0. [mm]
    system : {"metric", "inch"}
        Units of the sentences.
    sigma_ln : float, optional
        Standard deviation of ln(force) that is allowed for, to be told. [1]

    Returns
    -------
    notes : tuple of str
        Empty when every source covers every h.
    """
    h = _thickness(h)
    thin = float(h.min())
    thick = float(h.max())
    below = [c.h_lo for c in curves if c.h_lo is not None and thin < c.h_lo]
    above = [c.h_hi for c in curves if c.h_hi is not None and thick > c.h_hi]
    silent = sum(c.h_lo is None or c.h_hi is None for c in curves)
    allowed = (
        ""
        if sigma_ln is None
        else f": +-{math.expm1(sigma_ln):.0%} is allowed for, which two cuts in three keep"
    )
    notes = []
    for ends, chip, kind, other, word in (
        (below, thin, "thin", "thicker", "start"),
        (above, thick, "thick", "thinner", "end"),
    ):
        if ends:
            lo, hi, at = (
                units.show(x, "chip thickness", system) for x in (min(ends), max(ends), chip)
            )
            reach = lo if lo == hi else f"{lo} to {hi}"
            notes.append(
                f"Cutting force at chips this {kind}, {at}, is stretched from {other} ones"
                f" ({len(ends)} of {len(curves)} sources {word} at {reach}, k_c extrapolated)"
                f"{allowed}"
            )
    if silent:
        say = "does not say" if silent == 1 else "do not say"
        notes.append(
            f"Of {len(curves)} sources for the cutting force, {silent} {say} for which chips it"
            " holds (no range of chip thickness)"
        )
    return tuple(notes)


def adhesion_factor(material: WorkMaterial, lubrication: str) -> float:
    """Return K_a, the factor on the cutting force for chips that stick to the edge.

    Parameters
    ----------
    material : WorkMaterial
        As loaded.
    lubrication : {"dry", "brush", "mist", "flood"}
        How the cut is wetted.

    Returns
    -------
    K_a : float
        At least 1. [1]

    Raises
    ------
    ValueError
        If the lubrication is none of the four.
    """
    if lubrication not in LUBRICATIONS:
        raise ValueError(f"lubrication is {lubrication!r}; allowed: {', '.join(LUBRICATIONS)}")
    factor: float = getattr(material, f"adhesion_{lubrication}")
    return factor

"""How rival sources of specific cutting force are pooled, and what they say on force and adhesion."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base import units
from loadsim.base.numbers import Array
from loadsim.materials.schema import LUBRICATIONS, ForceCurve, Pooled, RadialCurve, WorkMaterial

# repeated cuts of one bar scatter about this much; agreeing tables copy each other
SIGMA_FLOOR = 0.15

SIGMA_FLOOR_FEW = 0.30  # what three or more sources typically show; two that agree prove nothing


def _thickness(h: ArrayLike) -> Array:
    h = np.asarray(h, dtype=np.float64)
    if not (np.isfinite(h) & (h > 0)).all():
        raise ValueError("chip thickness must be finite and > 0 mm; k_c has no value at h = 0")
    return h


def _terms(curves: tuple[ForceCurve, ...], h: ArrayLike) -> tuple[Array, Array, Array]:
    """Power-law part, edge part and exponent of each curve."""
    if not curves:
        raise ValueError("at least one force curve is needed")
    h = _thickness(h)
    K = np.array([(c.k_c11, c.m_c, c.K_te) for c in curves]).T.reshape(
        3, len(curves), *([1] * h.ndim)
    )
    return K[0] * h ** -K[1], K[2] / h, K[1]


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
    >>> one = ForceCurve(label="a", source="b", model="kienzle", k_c11=800.0, m_c=0.25)
    >>> specific_force((one,), 0.0625).round(6).tolist()
    [1600.0]
    """
    power, edge, _ = _terms(curves, h)
    return power + edge


def pooled(curves: tuple[ForceCurve, ...], h: ArrayLike) -> Pooled:
    """Specific cutting force over all sources at the chip thickness of the cut.

    At each h: geometric mean over the sources; its local exponent; sample standard deviation of ln
    k_c between them. The spread is taken at h, not from the printed constants: the sources differ
    in slope as well as in level. It is never below ``sigma_floor``.

    Parameters
    ----------
    curves : tuple of ForceCurve
        One for each source. Each stays at its own rake: the differences of rake are part of the
        spread.
    h : array_like, shape (...,)
        Uncut chip thickness, > 0. [mm]

    Returns
    -------
    pooled : Pooled
        The mean, its slope and the spread, each of the shape of h.

    Raises
    ------
    ValueError
        If any h is not finite or not > 0, or there is no curve.

    References
    ----------
    KienzleVictor1957, CJME2021 table 5
    """
    power, edge, exponent = _terms(curves, h)
    k = power + edge
    log_k = np.log(k)
    mean = log_k.sum(axis=0) / len(curves)
    slope = ((exponent * power + edge) / k).sum(axis=0) / len(curves)
    between = np.sqrt(((log_k - mean) ** 2).sum(axis=0) / max(len(curves) - 1, 1))
    rakes = [c.rake_reference for c in curves if c.rake_reference is not None]
    return Pooled(
        k_c=np.exp(mean),
        m_c=slope,
        sigma_ln=np.maximum(between, sigma_floor(curves)),
        rake_reference=sum(rakes) / len(rakes) if rakes else 0.0,
        notes=_source_notes(curves, len(rakes)),
    )


def sigma_floor(curves: tuple[ForceCurve, ...]) -> float:
    """Smallest spread of ln k_c that a set of sources is trusted with.

    Sources that agree may have copied each other, so their agreement alone earns no less than 0.15,
    and fewer than three show too little of it: 0.30. Where every source states its own spread (a
    shop's own test cuts) the root mean square of those takes the place of both.

    Parameters
    ----------
    curves : tuple of ForceCurve
        One for each source.

    Returns
    -------
    floor : float
        Standard deviation of ln k_c. [1]
    """
    own = math.sqrt(sum(c.spread**2 for c in curves) / len(curves))
    if all(c.spread > 0 for c in curves):
        return own
    return max(own, SIGMA_FLOOR if len(curves) >= 3 else SIGMA_FLOOR_FEW)


def _source_notes(curves: tuple[ForceCurve, ...], stated: int) -> tuple[str, ...]:
    notes = []
    if len(curves) < 3 and not all(c.spread > 0 for c in curves):
        few = (
            f"Only {len(curves)} source{'s' if len(curves) > 1 else ''} for the cutting force of"
            " this metal"
        )
        notes.append(
            f"{few}: at least +-{math.expm1(SIGMA_FLOOR_FEW):.0%} is allowed for (sigma_ln at least"
            f" {SIGMA_FLOOR_FEW:g})"
        )
    if stated == 0:
        notes.append(
            "No source says with what rake it measured the cutting force: 0 deg is assumed"
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
    notes = []
    allowed = (
        ""
        if sigma_ln is None
        else f": +-{math.expm1(sigma_ln):.0%} is allowed for, which two cuts in three keep"
    )
    for ends, far, kind, other, word in (
        (below, thin, "thin", "thicker", "start"),
        (above, thick, "thick", "thinner", "end"),
    ):
        if ends:
            detail = ", k_c extrapolated"
            few, (lo, hi, at) = (
                f"{len(ends)} of {len(curves)} sources",
                (units.show(x, "chip thickness", system) for x in (min(ends), max(ends), far)),
            )
            reach = lo if lo == hi else f"{lo} to {hi}"
            notes.append(
                f"Cutting force at chips this {kind}, {at}, is stretched from {other} ones ({few}"
                f" {word} at {reach}{detail}){allowed}"
            )
    if silent:
        notes.append(
            f"{silent} of {len(curves)} sources for the cutting force do not say for which chips it"
            " holds (no range of chip thickness)"
        )
    return tuple(notes)


def radial_ratio(radial: RadialCurve, h: ArrayLike) -> Array:
    """Radial force over tangential force.

    Parameters
    ----------
    radial : RadialCurve
        Of the material.
    h : array_like, shape (...,)
        Uncut chip thickness, > 0. [mm]

    Returns
    -------
    ratio : ndarray, shape of h
        F_r / F_t. [1]

    Raises
    ------
    ValueError
        If any h is not finite or not > 0.

    References
    ----------
    CJME2021 table 5
    """
    h = _thickness(h)
    ratio: Array = (radial.K_rc * h + radial.K_re) / (radial.K_tc * h + radial.K_te)
    return ratio


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

"""Rival sources of cutting force pooled, with their spread and what to know of them."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base import units
from loadsim.base.numbers import Array
from loadsim.materials.schema import LUBRICATIONS, ForceCurve, Pooled, WorkMaterial

# repeated cuts of one bar scatter about this much; agreeing tables copy each other
SIGMA_FLOOR = 0.15

SIGMA_FLOOR_FEW = 0.30  # what three or more sources typically show; two that agree prove nothing


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
    k = specific_force(curves, h)
    log_k = np.log(k)
    mean = log_k.sum(axis=0) / len(curves)
    rise = np.stack([curve.law.size_effect(_thickness(h)) for curve in curves])
    between = np.sqrt(((log_k - mean) ** 2).sum(axis=0) / max(len(curves) - 1, 1))
    rakes = [c.rake_reference for c in curves if c.rake_reference is not None]
    return Pooled(
        k_c=np.exp(mean),
        m_c=(rise / k).sum(axis=0) / len(curves),
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
        count = (
            f"Only {len(curves)} source{'s' if len(curves) > 1 else ''} for the cutting force of"
            " this metal"
        )
        least = f"at least +-{math.expm1(SIGMA_FLOOR_FEW):.0%}"
        notes.append(f"{count}: {least} is allowed for (sigma_ln at least {SIGMA_FLOOR_FEW:g})")
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
        notes.append(
            f"{silent} of {len(curves)} sources for the cutting force do not say for which chips it"
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

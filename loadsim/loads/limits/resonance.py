"""Tooth passing against a tool's own frequency: the fundamental is a limit, harmonics are told."""

from __future__ import annotations

import numpy as np

from loadsim.base.notes import Note
from loadsim.base.numbers import Array
from loadsim.loads.assumptions import HARMONICS, RESONANCE_BAND
from loadsim.loads.limits.utilization import CutNote, LimitCode, Utilization


def resonance(passing: float | Array, own: float | Array, ones: Array) -> Utilization:
    """Distance of tooth passing from the own frequency, on whichever side it is.

    Parameters
    ----------
    passing : float or ndarray
        Teeth that pass in a second. [Hz]
    own : float or ndarray
        Own frequency of the tool. [Hz]
    ones : ndarray
        Ones, as many as there are cuts. [1]

    Returns
    -------
    limit : Utilization
        Passing over what may pass below the own frequency, or what must pass above over passing.
    """
    teeth = passing * ones
    rings = own * ones
    below = teeth <= rings
    least, most = (1 + RESONANCE_BAND) * rings, (1 - RESONANCE_BAND) * rings
    return Utilization(
        code=LimitCode.RESONANCE,
        demand=np.where(below, teeth, least),
        capacity=np.where(below, most, teeth),
        unit="Hz",
        hard=True,
        facts={"below": below, "own": rings},
    )


def harmonic(passing: float, own: float) -> int | None:
    """Which harmonic of tooth passing lies near the own frequency.

    Parameters
    ----------
    passing : float
        Teeth that pass in a second. [Hz]
    own : float
        Own frequency of the tool. [Hz]

    Returns
    -------
    order : int or None
        2 to `HARMONICS`, the nearest; None when none is near. [1]

    Examples
    --------
    >>> harmonic(100.0, 310.0), harmonic(100.0, 250.0), harmonic(100.0, 600.0)
    (3, None, None)
    """
    orders = range(2, HARMONICS + 1)
    nearest = min(orders, key=lambda k: (k * passing - own) ** 2)
    off = (nearest * passing - own) / own
    return nearest if -RESONANCE_BAND <= off <= RESONANCE_BAND else None


def harmonic_notes(passing: float, own: float) -> list[Note]:
    """Tell of the harmonic of tooth passing that lies near the own frequency, both in Hz."""
    order = harmonic(passing, own)
    if order is None:
        return []
    facts = {"order": order, "passing": passing, "times": order * passing, "own": own}
    return [Note(code=CutNote.HARMONIC, facts=facts)]

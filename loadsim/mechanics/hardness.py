"""Hardness of hardened steel on other scales, and the tensile strength that goes with it."""

from __future__ import annotations

from enum import Enum, auto

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.errors import ModelError
from loadsim.base.notes import Note
from loadsim.base.numbers import Array

# Printed conversion. Where the two tables differ (HV 649/653 at 58; UTS 1620/1760 at 50, 1875/2075
# at 55)
# the lower figure stands: strength is never credited from the kinder table.
_HRC_HV = (50.0, 55.0, 58.0, 60.0, 61.0, 62.0, 63.0, 64.0, 65.0, 66.0, 67.0, 68.0)

_HV = (513.0, 595.0, 649.0, 697.0, 720.0, 746.0, 772.0, 800.0, 832.0, 865.0, 900.0, 940.0)

_HRC_UTS = _HRC_HV[:9]

_UTS = (1620.0, 1875.0, 2048.0, 2172.0, 2240.0, 2300.0, 2360.0, 2430.0, 2500.0)

#: accepted hardness; held at the last printed value above 68 (HV), 65 (UTS) [HRC]
HRC_RANGE = (50.0, 70.0)


def _hardness(HRC: ArrayLike) -> Array:
    x = np.asarray(HRC, dtype=float)
    bad = ~((x >= HRC_RANGE[0]) & (x <= HRC_RANGE[1]))
    if bad.any():
        raise ModelError(
            f"HRC must lie in [{HRC_RANGE[0]:g}, {HRC_RANGE[1]:g}], got {np.extract(bad, x)[0]:g};"
            " outside the printed table give the Vickers hardness and the tensile strength"
            " themselves"
        )
    return x


def hardness_to_vickers(HRC: ArrayLike) -> Array:
    """Vickers hardness of steel from Rockwell C, interpolated in a printed table.

    Printed for 50 to 68 HRC; held at the value for 68 up to 70 (`hardness_notes` says so).

    Parameters
    ----------
    HRC : array_like
        Rockwell C hardness, 50 to 70. [HRC]

    Returns
    -------
    HV : ndarray
        Vickers hardness. [HV]

    Raises
    ------
    ModelError
        If any hardness lies outside 50 to 70 HRC or is not a number.

    References
    ----------
    HardnessConversion, HRC-HV columns

    Examples
    --------
    >>> hardness_to_vickers(64).item()
    800.0
    """
    return np.interp(_hardness(HRC), _HRC_HV, _HV)


def hardness_to_tensile(HRC: ArrayLike) -> Array:
    """Equivalent tensile strength of steel from Rockwell C, interpolated in a printed table.

    An equivalent only: above about 60 HRC a bar in tension breaks brittle before it. Bend strength
    is the measure of brittle fracture. Printed for 50 to 65 HRC; held at the value for 65 up to 70.

    Parameters
    ----------
    HRC : array_like
        Rockwell C hardness, 50 to 70. [HRC]

    Returns
    -------
    S_ut : ndarray
        Equivalent tensile strength. [MPa]

    Raises
    ------
    ModelError
        If any hardness lies outside 50 to 70 HRC or is not a number.

    References
    ----------
    HardnessConversion, HRC-UTS columns

    Examples
    --------
    >>> hardness_to_tensile(60).item()
    2172.0
    """
    return np.interp(_hardness(HRC), _HRC_UTS, _UTS)


class HardnessNote(Enum):
    """How far the conversion of a hardness is stretched."""

    TENSILE_IS_AN_EQUIVALENT = auto()
    NO_TENSILE_ABOVE = auto()
    NO_VICKERS_ABOVE = auto()


def hardness_notes(HRC: ArrayLike) -> tuple[Note, ...]:
    """List where the hardness conversion is stretched.

    Parameters
    ----------
    HRC : array_like
        Rockwell C hardness, 50 to 70. [HRC]

    Returns
    -------
    notes : tuple of Note
        One for each reservation; empty when there is none.

    Raises
    ------
    ModelError
        If any hardness lies outside 50 to 70 HRC or is not a number.

    References
    ----------
    HardnessConversion, end of each column
    """
    top = float(np.max(_hardness(HRC), initial=0.0))
    rules = (
        (60.0, HardnessNote.TENSILE_IS_AN_EQUIVALENT),
        (_HRC_UTS[-1], HardnessNote.NO_TENSILE_ABOVE),
        (_HRC_HV[-1], HardnessNote.NO_VICKERS_ABOVE),
    )
    return tuple(Note(code=code) for limit, code in rules if top > limit)

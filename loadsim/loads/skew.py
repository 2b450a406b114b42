"""What is not known of how a neck rings: above all how far the edges lean against the axis."""

from __future__ import annotations

from dataclasses import dataclass

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import MADE_TEETH, SKEW_MOST, SKEW_MOST_MADE


def most_skew(teeth: int) -> float:
    """Largest lean that is drawn, from straight on.

    Parameters
    ----------
    teeth : int
        Number of teeth. [1]

    Returns
    -------
    skew : float
        A few teeth are ground by hand, straight; many are made by machine, and lean. [rad]
    """
    return SKEW_MOST if teeth < MADE_TEETH else SKEW_MOST_MADE


@dataclass(frozen=True, slots=True, kw_only=True)
class RingDraws:
    """What is not known of the ringing of some necks; (s,)."""

    skew: Array  #: angle between edge and axis [rad]
    entry: Array  #: how suddenly a tooth bites, 0 to 1: within `ENTRY` [1]
    frequency: Array  #: likewise, within `OWN_FREQUENCY` [1]
    damping: Array  #: likewise, within `DAMPINGS` [1]

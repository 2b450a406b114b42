"""How far the edges of a cutter lean against its axis where nobody has measured it."""

from __future__ import annotations

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

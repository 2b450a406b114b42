"""How the throat slot is milled, in words: depths, sides, minutes, and what was not taken."""

from __future__ import annotations

from loadsim.base import units
from loadsim.loads.limits.utilization import Limit
from loadsim.words.phrases import used_text


def depths_and_sides(levels: int, side_levels: int, side_steps: int) -> str:
    """Tell the passes of a throat mill.

    Parameters
    ----------
    levels : int
        Depths on the centre line. [1]
    side_levels : int
        Depths of the passes beside it; as many as on the centre line are cut with those. [1]
    side_steps : int
        Passes side by side on each side; 0 where the mill is as wide as the throat. [1]

    Returns
    -------
    text : str

    Examples
    --------
    >>> depths_and_sides(12, 1, 1)
    '12 depths on the centre line, then each side once at full depth'
    >>> depths_and_sides(1, 2, 2)
    '1 depth on the centre line, then each side in 2 steps of 2 depths'
    >>> depths_and_sides(8, 8, 1), depths_and_sides(3, 1, 0)
    ('8 depths, at each the centre line and then each side', '3 depths')
    """
    depths = f"{levels} depth{'s' if levels > 1 else ''}"
    if not side_steps:
        return depths
    if side_levels == levels > 1:
        return f"{depths}, at each the centre line and then each side"
    steps = "once" if side_steps == 1 else f"in {side_steps} steps"
    deep = "at full depth"
    if side_levels > 1:
        steps = "" if side_steps == 1 else f"{steps} of "
        deep = f"{side_levels} depths"
        return f"{depths} on the centre line, then each side {steps or 'in '}{deep}"
    return f"{depths} on the centre line, then each side {steps} {deep}"


def lost(how: str, seconds: float, limit: Limit) -> str:
    """Say of a quicker way through the throat why it was not taken.

    Parameters
    ----------
    how : str
        From `depths_and_sides`.
    seconds : float
        With setting up. [s]
    limit : Limit
        The limit that it strains most.

    Returns
    -------
    sentence : str
    """
    left = "" if limit.over else ", and a go keeps a fifth in hand"
    return f"Next, {how}: {units.duration(seconds)}, but {used_text(limit)}{left}."


def sides_at_each(seconds: float) -> str:
    """Say how long side passes at every depth would take. [s]"""
    return f"With the sides cut at every depth: {units.duration(seconds)}."

"""What decides an answer."""

from __future__ import annotations

from loadsim.answers.results import Result, Verdict
from loadsim.base import units
from loadsim.loads.limits.utilization import LimitCode
from loadsim.words.phrases import accepted, chance_text


def governed_text(result: Result, target: float) -> str:
    """Say what decides, and how far it is used.

    Parameters
    ----------
    result : Result
        From `loadsim.check`.
    target : float
        Accepted snap probability. [1]

    Returns
    -------
    text : str
    """
    if result.governed_by == LimitCode.SNAP_PROBABILITY:
        chance = chance_text(result.risk.snap_probability)
        return f"Governed by the snap probability, {chance}; asked: at most {accepted(target)}."
    limit = next(limit for limit in result.limits if limit.name == result.governed_by)
    if limit.fit:
        return f"Governed by {limit.name}: {limit.note}"
    return f"Governed by {limit.name}, used to {units.percent(limit.utilization)}."


def over_capacity(result: Result, target: float) -> list[str]:
    """Name everything over capacity; of a no-go the chance that the neck snaps too, when it is over
    the asked one.
    """
    names: list[str] = [limit.name for limit in result.limits if limit.over]
    if result.verdict is Verdict.NO_GO and result.risk.snap_probability > target:
        names.append(LimitCode.SNAP_PROBABILITY)
    return names

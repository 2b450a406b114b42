"""Go, marginal or no-go, what governs, and why an answer is marginal."""

from __future__ import annotations

from loadsim.answers.throat_mill import MillSettings
from loadsim.base import units
from loadsim.loads.limits.utilization import NEAR, Limit, LimitCode, is_over
from loadsim.risk.results import Risk


def verdict_of(limits: list[Limit], chance: Risk, target: float) -> str:
    """Weigh limits and risk into go, marginal or no-go.

    Parameters
    ----------
    limits : list of Limit
        Every limit.
    chance : Risk
        Snap probability with its interval.
    target : float
        Accepted snap probability. [1]

    Returns
    -------
    verdict : str
    """
    over = [limit for limit in limits if limit.over]
    if any(limit.hard for limit in over) or chance.snap_probability > target:
        return "no-go"
    near = any(limit.hard and not limit.fit and limit.utilization > NEAR for limit in limits)
    return "marginal" if over or near or chance.high > target else "go"


def with_mill(verdict: str, mill: MillSettings | None) -> str:
    """Weigh the throat mill in: no go while a tool of the job breaks.

    Parameters
    ----------
    verdict : str
        Of the undercut.
    mill : MillSettings or None
        Of the throat slot.

    Returns
    -------
    verdict : str
        Of the whole job.
    """
    return "marginal" if verdict == "go" and mill is not None and not mill.safe else verdict


def governing(limits: list[Limit], chance_used: float) -> LimitCode:
    """Name what decides: what is over capacity before what is not, and hard before soft.

    A clearance that is missing comes before any stress, for the cut cannot be made at all; within
    each, the largest use.

    Parameters
    ----------
    limits : list of Limit
        Every limit.
    chance_used : float
        Snap probability over the asked one; it stands among the hard limits. [1]

    Returns
    -------
    code : LimitCode
    """

    def over(uses: list[tuple[float, LimitCode]]) -> list[tuple[float, LimitCode]]:
        return [(used, code) for used, code in uses if is_over(used)]

    fits = [(limit.utilization, limit.name) for limit in limits if limit.fit]
    soft = [(limit.utilization, limit.name) for limit in limits if not limit.fit and not limit.hard]
    hard = [
        (chance_used, LimitCode.SNAP_PROBABILITY),
        *((limit.utilization, limit.name) for limit in limits if limit.hard and not limit.fit),
    ]
    return max(over(fits) or over(hard) or over(soft) or [*hard, *soft])[1]


def why_marginal(
    limits: list[Limit], chance: Risk, target: float, mill: MillSettings | None
) -> str:
    """Say why an answer is neither a go nor a no-go.

    Parameters
    ----------
    limits : list of Limit
        Every limit.
    chance : Risk
        Snap probability with its interval.
    target : float
        Accepted snap probability. [1]
    mill : MillSettings or None
        Of the throat slot.

    Returns
    -------
    why : str
        To follow "because".
    """
    sentences = [
        f"{limit.name} is over what is advised ({units.percent(limit.utilization)})"
        for limit in limits
        if not limit.hard and limit.over
    ]
    sentences += [
        f"{limit.name} is used to {units.percent(limit.utilization)}, over the {NEAR:.0%} that a go"
        " allows"
        for limit in limits
        if limit.hard and not limit.fit and limit.utilization > NEAR
    ]
    if chance.high > target:
        sentences.append(
            f"the interval of the snap probability, {chance.low:g} to {chance.high:g}, reaches over"
            f" the asked {target:g}"
        )
    if mill is not None and not mill.safe:
        sentences.append("the throat mill is not safe as set")
    return " and ".join(sentences)

"""Go, marginal or no-go, what governs, and why an answer is marginal."""

from __future__ import annotations

from loadsim.answers.throat_mill import MillSettings
from loadsim.base import units
from loadsim.loads.limits.utilization import NEAR, Limit, LimitCode, is_over
from loadsim.risk.results import Risk


def verdict_of(found: list[Limit], chance: Risk, target: float) -> str:
    """Weigh limits and risk into go, marginal or no-go.

    Parameters
    ----------
    found : list of Limit
        Every limit.
    chance : Risk
        Snap probability with its interval.
    target : float
        Accepted snap probability. [1]

    Returns
    -------
    verdict : str
    """
    over = [x for x in found if x.over]
    if any(x.hard for x in over) or chance.snap_probability > target:
        return "no-go"
    near = any(x.hard and not x.fit and x.utilization > NEAR for x in found)
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


def governing(found: list[Limit], chance_used: float) -> LimitCode:
    """Name what decides: what is over capacity before what is not, and hard before soft.

    A clearance that is missing comes before any stress, for the cut cannot be made at all; within
    each, the largest use.

    Parameters
    ----------
    found : list of Limit
        Every limit.
    chance_used : float
        Snap probability over the asked one; it stands among the hard limits. [1]

    Returns
    -------
    code : LimitCode
    """

    def over(uses: list[tuple[float, LimitCode]]) -> list[tuple[float, LimitCode]]:
        return [x for x in uses if is_over(x[0])]

    fits, soft = (
        [(x.utilization, x.name) for x in found if f(x)]
        for f in (lambda x: x.fit, lambda x: not x.fit and not x.hard)
    )
    hard = [
        (chance_used, LimitCode.SNAP_PROBABILITY),
        *((x.utilization, x.name) for x in found if x.hard and not x.fit),
    ]
    return max(over(fits) or over(hard) or over(soft) or [*hard, *soft])[1]


def why_marginal(found: list[Limit], chance: Risk, target: float, mill: MillSettings | None) -> str:
    """Say why an answer is neither a go nor a no-go.

    Parameters
    ----------
    found : list of Limit
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
    said = [
        f"{x.name} is over what is advised ({units.percent(x.utilization)})"
        for x in found
        if not x.hard and x.over
    ]
    said += [
        f"{x.name} is used to {units.percent(x.utilization)}, over the {NEAR:.0%} that a go allows"
        for x in found
        if x.hard and not x.fit and x.utilization > NEAR
    ]
    if chance.high > target:
        said.append(
            f"the interval of the snap probability, {chance.low:g} to {chance.high:g}, reaches over"
            f" the asked {target:g}"
        )
    if mill is not None and not mill.safe:
        said.append("the throat mill is not safe as set")
    return " and ".join(said)

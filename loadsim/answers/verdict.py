"""Go, prove it on scrap first, or no-go: the one rule of every answer, what governs, and why."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from loadsim.answers.results import ThroatMillState, Verdict
from loadsim.base import units
from loadsim.base.numbers import Array
from loadsim.loads.limits.utilization import FULL, NEAR, Limit, LimitCode, Utilization, is_over
from loadsim.risk.results import Risk
from loadsim.words import phrases
from loadsim.words.proving import MODES, mode_shares

#: Up to how many times the asked chance a cut may be proved on scrap, and the chance over which it
#: may not, whatever is asked. [1]
OVER_ASKED = 10.0
WORST_CHANCE = 0.25

#: The verdicts, the best first: a grade is a place in this list.
GRADES = (Verdict.GO, Verdict.MARGINAL, Verdict.NO_GO)


@dataclass(frozen=True, slots=True, kw_only=True)
class Uses:
    """Largest use of the limits of each kind, of one cut or of many; zero where there is none."""

    hard: Array  #: of the hard limits [1]
    fit: Array  #: of the clearances that are hard [1]
    soft: Array  #: of the soft limits [1]


def uses_of(limits: Iterable[Limit | Utilization]) -> Uses:
    """Sort the limits of one cut, or of many, by what they weigh.

    Parameters
    ----------
    limits : iterable of Limit or Utilization
        Every limit.

    Returns
    -------
    uses : Uses
    """
    kinds: dict[str, list[Array]] = {"hard": [], "fit": [], "soft": []}
    for limit in limits:
        kind = "soft" if not limit.hard else "fit" if limit.fit else "hard"
        kinds[kind].append(np.asarray(limit.utilization, float))
    return Uses(
        **{
            kind: np.maximum.reduce(np.broadcast_arrays(*some)) if some else np.zeros(())
            for kind, some in kinds.items()
        }
    )


def grades(uses: Uses, p: Array, high: Array, target: float) -> npt.NDArray[np.int_]:
    """Weigh limits and risk of one cut or of many.

    Parameters
    ----------
    uses : Uses
        Of the limits.
    p : ndarray
        Snap probability. [1]
    high : ndarray
        Upper end of its interval. [1]
    target : float
        Accepted snap probability. [1]

    Returns
    -------
    grades : ndarray of int
        Places in `GRADES`.

    Raises
    ------
    ValueError
        If a number is not finite: nothing can be said of such a cut.
    """
    for name, x in (("use", uses.hard), ("use", uses.fit), ("use", uses.soft), ("chance", high)):
        if not np.all(np.isfinite(x)):
            raise ValueError(f"the largest {name} of a cut is not a finite number")
    asked = np.asarray(high, float) <= target
    beyond = ~asked & ((np.asarray(p) >= OVER_ASKED * target) | (np.asarray(p) > WORST_CHANCE))
    no_go = (uses.hard > FULL) | (uses.fit > FULL) | beyond
    near = uses.hard > NEAR * FULL
    return np.where(no_go, 2, np.where(near | (uses.soft > FULL) | ~asked, 1, 0))


def most_to_prove(target: float) -> float:
    """Highest snap probability at which a cut may still be proved on scrap. [1]"""
    return max(min(OVER_ASKED * target * (1 - 1e-9), WORST_CHANCE), target)


def verdict_of(limits: Sequence[Limit | Utilization], chance: Risk, target: float) -> Verdict:
    """Weigh limits and risk into go, marginal or no-go.

    Go: every hard limit at most `NEAR`, where a clearance need only hold, every soft one holds, and
    the whole interval of the snap probability is at or under the accepted one. No-go: a hard limit
    over capacity, or a snap probability of `OVER_ASKED` times the accepted one or over
    `WORST_CHANCE`. Marginal, told as "prove it on scrap first": what lies between.

    Parameters
    ----------
    limits : sequence of Limit or Utilization
        Every limit of one cut.
    chance : Risk
        Snap probability with its interval.
    target : float
        Accepted snap probability. [1]

    Returns
    -------
    verdict : Verdict

    Raises
    ------
    ValueError
        If a number is not finite.
    """
    p, high = (np.asarray(x) for x in (chance.snap_probability, chance.high))
    if not math.isfinite(chance.snap_probability):
        raise ValueError("the snap probability is not a finite number")
    return GRADES[int(grades(uses_of(limits), p, high, target).max())]


def with_mill(verdict: Verdict, mill: ThroatMillState | None) -> Verdict:
    """Weigh the throat mill in: a job whose first tool breaks is a no-go.

    Parameters
    ----------
    verdict : Verdict
        Of the undercut.
    mill : ThroatMillState or None
        Of the throat slot.

    Returns
    -------
    verdict : Verdict
        Of the whole job.
    """
    return verdict if mill is None or mill.safe else Verdict.NO_GO


def with_tools(verdict: Verdict, hold: bool) -> Verdict:
    """Weigh the drills in: no go unless they hold."""
    return verdict if hold or verdict is not Verdict.GO else Verdict.MARGINAL


def breaking_mill(
    limits: Sequence[Limit], chance: Risk, target: float, mill: ThroatMillState | None
) -> Limit | None:
    """Find the limit of the throat mill that decides: where the undercut itself can be cut.

    Parameters
    ----------
    limits : sequence of Limit
        Every limit of the undercut.
    chance : Risk
        Snap probability.
    target : float
        Accepted snap probability. [1]
    mill : ThroatMillState or None
        Of the throat slot.

    Returns
    -------
    limit : Limit or None
        None where the mill holds, or the undercut is a no-go by itself.
    """
    if mill is None or mill.safe or verdict_of(limits, chance, target) is Verdict.NO_GO:
        return None
    return max((x for x in mill.limits if x.hard), key=lambda limit: limit.utilization)


def governing(
    limits: Sequence[Limit], chance: Risk, target: float, mill: ThroatMillState | None = None
) -> LimitCode:
    """Name what decides; where the snap probability does, the way to break that brings most of it.

    Parameters
    ----------
    limits : sequence of Limit
        Every limit.
    chance : Risk
        Snap probability, whole and by each way to break.
    target : float
        Accepted snap probability. [1]
    mill : ThroatMillState, optional
        Of the throat slot.

    Returns
    -------
    code : LimitCode
    """
    breaks = breaking_mill(limits, chance, target, mill)
    if breaks is not None:
        return breaks.name
    code = _governing(limits, chance.snap_probability / target)
    if code is not LimitCode.SNAP_PROBABILITY:
        return code
    return MODES[mode_shares(chance.modes)[0][0]][0]


def chance_governs(limits: Sequence[Limit], chance: Risk, target: float) -> bool:
    """Whether the snap probability decides, rather than a limit."""
    used = chance.snap_probability / target
    return _governing(limits, used) is LimitCode.SNAP_PROBABILITY


def _governing(limits: Sequence[Limit], chance_used: float) -> LimitCode:
    """Name what decides: what is over capacity before what is not, and hard before soft, the share
    of the asked chance among the hard ones.

    A clearance that is missing comes before any stress, for the cut cannot be made at all; within
    each, the largest use.
    """
    limits = [limit for limit in limits if limit.decides]

    def over(uses: list[tuple[float, LimitCode]]) -> list[tuple[float, LimitCode]]:
        return [(used, code) for used, code in uses if is_over(used)]

    fits = [(limit.utilization, limit.name) for limit in limits if limit.fit and limit.hard]
    soft = [(limit.utilization, limit.name) for limit in limits if not limit.hard]
    hard = [
        (chance_used, LimitCode.SNAP_PROBABILITY),
        *((limit.utilization, limit.name) for limit in limits if limit.hard and not limit.fit),
    ]
    return max(over(fits) or over(hard) or over(soft) or [*hard, *soft])[1]


def why_marginal(
    limits: Sequence[Limit], chance: Risk, target: float, drills: Sequence[str] = ()
) -> str:
    """Say why an answer is neither a go nor a no-go.

    Parameters
    ----------
    limits : sequence of Limit
        Every limit.
    chance : Risk
        Snap probability with its interval.
    target : float
        Accepted snap probability. [1]
    drills : sequence of str
        Drills over capacity, each with its limit.

    Returns
    -------
    why : str
        To follow "because".
    """
    sentences = [
        *_soft_over(limits),
        *_near(limits),
        *_chance_over(chance, target),
        *(f"{drill} is over capacity" for drill in drills),
    ]
    return " and ".join(sentences)


def _soft_over(limits: Sequence[Limit]) -> list[str]:
    return [
        f"{limit.name} is over what is advised ({units.percent(limit.utilization)})"
        for limit in limits
        if not limit.hard and limit.over
    ]


def _near(limits: Sequence[Limit]) -> list[str]:
    return [
        f"{limit.name} is used to {units.percent(limit.utilization)}, over the {NEAR:.0%} that a go"
        " allows"
        for limit in limits
        if limit.hard and not limit.fit and limit.utilization > NEAR * FULL
    ]


def _chance_over(chance: Risk, target: float) -> list[str]:
    if chance.snap_probability > target:
        return [
            f"the snap probability, {phrases.chance_text(chance.snap_probability)}, is over the"
            f" asked {phrases.accepted(target)}"
        ]
    if chance.high > target:
        return [
            f"the interval of the snap probability, {chance.low:g} to {chance.high:g}, reaches over"
            f" the asked {target:g}"
        ]
    return []

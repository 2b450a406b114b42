"""What decides an answer."""

from __future__ import annotations

from loadsim.answers.results import Result, Verdict
from loadsim.answers.verdict import breaking_mill, chance_governs
from loadsim.base import units
from loadsim.job.tables import Job
from loadsim.loads.limits.utilization import LimitCode
from loadsim.risk.results import Batch
from loadsim.words.phrases import accepted, chance_text, used_text
from loadsim.words.proving import batch_text, chance_by, prove_text


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
    breaks = breaking_mill(result.limits, result.risk, target, result.throat_mill)
    if breaks is not None:
        return f"Governed by the throat mill: {used_text(breaks)}."
    if chance_governs(result.limits, result.risk, target):
        governed = f"Governed by {chance_by(result.risk.modes)}"
        if result.verdict is Verdict.MARGINAL:  # the reason tells the chance already
            return f"{governed}."
        chance = chance_text(result.risk.snap_probability)
        return f"{governed}; it snaps in {chance}, asked is at most {accepted(target)}."
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
    mill = result.throat_mill
    if mill is not None:
        names += [
            f"{limit.name} (throat mill)" for limit in mill.limits if limit.hard and limit.over
        ]
    return names


#: Chance of a whole batch, over the asked one of a cut, under which there is nothing to act on. [1]
IDLE_BATCH = 0.01


def _tells(batch: Batch, target: float) -> bool:
    """Whether there is anything to do about a batch."""
    stone = batch.stone_after_slots is not None
    return stone or batch.snap_probability > IDLE_BATCH * target


def proving_lines(result: Result, job: Job) -> list[str]:
    """Say which scrap cut proves the cut, and what becomes of a whole batch; only what there is.

    Parameters
    ----------
    result : Result
        From `loadsim.check`.
    job : Job
        Its job: the units, and the accepted snap probability.

    Returns
    -------
    lines : list of str
    """
    prove = "" if result.prove is None else prove_text(result.prove, job.job.units)
    target = job.target.snap_probability
    batch = ""
    if result.batch is not None and _tells(result.batch, target):
        batch = batch_text(result.batch, result.risk, target, job.job.units)
    return [line for line in (prove, batch) if line]

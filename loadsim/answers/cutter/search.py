"""Neck, fillets and head height moved together until no step either way is better."""

from __future__ import annotations

from loadsim.answers.cutter.steps import Bench, Tried, better, searched, step_either_way
from loadsim.answers.cutter.texts import length_text
from loadsim.base.errors import InputError
from loadsim.job.tables import Job

#: The neck and its fillets, settled together.
NECK = ("neck_diameter", "neck_fillet", "head_fillet")


def settled(bench: Bench, job: Job) -> dict[str, str]:
    """Step from a cutter to better ones, at its own speed and feed.

    Each step lowers the chance to snap by more than its interval, on a lattice of sizes that throat
    and stock bound, so that it ends.

    Parameters
    ----------
    bench : Bench
        Whose draft says what is open.
    job : Job
        Whole, with speed and feed in [cut].

    Returns
    -------
    settled : dict
        Keys of [cutter] that another size serves better, as in a job file; empty where none does.
    """
    draft = bench.draft
    best = _descended(bench, job)
    before, after = job.cutter, best.cutter
    moved = {key for key in searched(draft) if getattr(after, key) != getattr(before, key)}
    if moved.intersection(NECK):
        moved.update(NECK)
    return {
        key: length_text(key, getattr(after, key), "near", job.job.units)
        for key in sorted(moved)
        if not draft.given(f"cutter.{key}") and getattr(after, key) is not None
    }


def _descended(bench: Bench, job: Job) -> Job:
    """Step one size after the other, each way as long as it is better, until none is."""
    here = bench.tried(job)
    ways = [(key, sign) for key in searched(bench.draft) for sign in (-1, 1)]
    idle = 0
    while idle < len(ways):
        step = _step(bench, here.job, *ways[0])
        if step is not None and better(step, here):
            here = step
            idle = 0
        else:
            ways = [*ways[1:], ways[0]]
            idle += 1
    return here.job


def _step(bench: Bench, job: Job, key: str, sign: int) -> Tried | None:
    """One size a step away; None where it cannot be made so."""
    value = getattr(job.cutter, key)
    if value is None:
        return None
    step = step_either_way(key, job.job.units)
    try:
        return bench.stepped(job, f"cutter.{key}", value + sign * step)
    except InputError:
        return None

"""What to make of an answer: would a hand feel it, are end holes needed, what would help, what to
know.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import Any

from loadsim.answers.changes import changes_of, for_limits, making_room
from loadsim.base import units
from loadsim.base.errors import InputError
from loadsim.job.read import changed
from loadsim.job.tables import Job
from loadsim.loads.cut import Picked, cutting, one, written_engagement, written_passes
from loadsim.loads.limits import undercut
from loadsim.loads.limits.utilization import NEAR, NECK, Limit, is_over
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk import samples, snap
from loadsim.risk.samples import few_of
from loadsim.words.phrases import few_figures

#: Best single changes that are combined, and most combinations of a size that are tried. [1]
COMBINED = 6
MOST_COMBINED = 15

#: Most passes of a cut whose changes are tried out; each of them is worked out anew. [1]
MOST_TRIED = 20


def advice(
    job: ResolvedJob,
    picked: Picked,
    limits: list[Limit],
    few: samples.Draws,
    verdict: str = "no-go",
) -> tuple[str, ...]:
    """List changes that help, each with its new snap probability, best first; none that does not
    fit the slot.

    When no single one is enough, the smallest combination that is enough comes first.

    Parameters
    ----------
    job : ResolvedJob
        The job as written, which every change is tried on, and its asked snap probability.
    picked : Picked
        The settings checked.
    limits : list of Limit
        Every limit.
    few : Draws
        Sample of the risk.
    verdict : str
        What they are to help against; a no-go never goes without an answer.

    Returns
    -------
    advice : tuple of str
    """
    now = _state(job.written, picked, few)
    soft = [f"{limit.name}: {limit.note}" for limit in limits if limit.over and not limit.hard]
    if verdict != "no-go" and now.used <= NEAR and now.p < job.target.snap_probability / 10:
        return tuple(soft)  # neither the neck nor its room is the trouble
    if (n := len(written_passes(job, picked.stepover))) > MOST_TRIED:
        return (
            (
                f"With {n} passes what would help is not tried out: take a larger stepover or a"
                " higher head, then ask again."
            ),
            *soft,
        )
    room = _room(job, picked, limits, now, few)
    solved = any(_enough(job, x) for _, _, x in room)  # then what helps the neck alone is no help
    own = (
        []
        if solved
        else _helping(
            job, [*_for_limits(job, picked, limits), *changes_of(job, picked)], picked, now, few
        )
    )
    best = [
        f"{text}: {_from_to(now, x)}" + ("." if _enough(job, x) else ", not enough by itself.")
        for text, _, x in (*room, *own)
    ]
    if not any(_enough(job, x) for _, _, x in (*room, *own)):
        first = [_combined(job, picked, now, room[:1], own, few)] if room or own else []
        best = [*first, *best] or (
            [
                "Nothing that was tried helps: neither neck, head, feed, lubrication nor another"
                " blank; make the undercut another way."
            ]
            if verdict == "no-go"
            else []
        )
    return (*best, *soft)


def _enough(job: ResolvedJob, x: _State) -> bool:
    """Whether a cut so changed is no no-go: judged by the upper end of its chance, for the sample
    is small.
    """
    return x.high <= job.target.snap_probability and x.used <= 1 and not x.over


def _room(
    job: ResolvedJob, picked: Picked, limits: list[Limit], now: _State, few: samples.Draws
) -> list[_Helps]:
    """Return changes that give the cutter room where it has none: those that are enough first, then
    by their chance.
    """
    over = {limit.name for limit in limits if limit.fit and limit.over}
    if not over:
        return []
    steps = written_passes(job, picked.stepover)
    tried = [
        (text, changes, _after(job, changes, picked, few))
        for text, changes in making_room(job, steps, over)
    ]
    fits = [(t, c, x) for t, c, x in tried if x is not None and x.over < now.over]
    return sorted(
        fits, key=lambda x: (not _enough(job, x[2]), "slot.throat_width" in x[1], x[2].p, x[2].used)
    )


def _for_limits(
    job: ResolvedJob, picked: Picked, limits: list[Limit]
) -> list[tuple[str, dict[str, Any]]]:
    return for_limits(
        job,
        {limit.name: limit.utilization for limit in limits if limit.hard and limit.over},
        picked.speed,
        picked.f_z,
    )


def _helping(
    job: ResolvedJob,
    changes: list[tuple[str, dict[str, Any]]],
    picked: Picked,
    now: _State,
    few: samples.Draws,
) -> list[_Helps]:
    """Return those of the changes that help and make nothing else worse, best first."""
    tried = [(text, c, _after(job, c, picked, few)) for text, c in changes]
    better = [
        (t, c, x)
        for t, c, x in tried
        if x is not None
        and x.over <= now.over
        and (x.over < now.over or x.p < 0.8 * now.p or x.used < 0.95 * now.used)
    ]
    return sorted(better, key=lambda x: (x[2].p, x[2].used, x[0]))


def _combined(
    job: ResolvedJob,
    picked: Picked,
    now: _State,
    room: list[_Helps],
    own: list[_Helps],
    few: samples.Draws,
) -> str:
    """Smallest combination of the best changes that makes the cut safe; of equal ones that with the
    lowest probability.

    Where room is missing, it is made first and the others are chosen for the cutter that then
    stands there.
    """
    base = room[0][1] if room else {}
    rough = few_of(few, 32)
    if room:
        roomy = resolve(changed(job.written, base))
        own = _helping(
            job, [(t, base | c) for t, c in changes_of(roomy, picked)], picked, room[0][2], rough
        )
    for size in (1, 2) if room else (2, 3):
        own_only = [
            {k: v for k, v in c.items() if base.get(k, _NONE) != v} for _, c, _ in own[:COMBINED]
        ]
        together = [
            c
            for c in itertools.combinations(range(len(own_only)), size)
            if _apart([own_only[i] for i in c])
        ][:MOST_COMBINED]
        merged = [base | {k: v for i in c for k, v in own_only[i].items()} for c in together]
        tried = [
            (a.p, i)
            for i, m in enumerate(merged)
            if (a := _after(job, m, picked, rough)) is not None
            and a.p <= 2 * job.target.snap_probability
            and a.used <= 1
            and not a.over
        ]
        for _, i in sorted(tried):
            after = _after(job, merged[i], picked, few)  # asked again with the whole sample
            if after is not None and _enough(job, after):
                texts = [*(t for t, _, _ in room), *(own[k][0] for k in together[i])]
                words = "; ".join(x[0].lower() + x[1:] if k else x for k, x in enumerate(texts))
                return (
                    f"No single change makes it safe; {'two' if len(texts) == 2 else 'three'}"
                    f" together do. {words}: {_from_to(now, after)}."
                )
    return (
        "No single change makes it safe, nor do two or three of these together; make the undercut"
        " another way."
    )


def _apart(changes: list[dict[str, Any]]) -> bool:
    """Whether no two of the changes touch the same key."""
    keys = [k for c in changes for k in c]
    return len(keys) == len(set(keys))


@dataclass(frozen=True, slots=True, kw_only=True)
class _State:
    """Where a cut stands: snap probability, worst use of the neck, and the other hard limits and
    clearances over capacity.
    """

    p: float
    high: float  #: upper end of its interval
    used: float
    over: frozenset[str] = frozenset()


#: A change in words, as changes to the job, and where the cut then stands.
_Helps = tuple[str, dict[str, Any], _State]

#: Stands for a key that is not there.
_NONE = object()


def _from_to(before: _State, after: _State) -> str:
    first, then = (few_figures(x.p) for x in (before, after))
    p = (
        f"the snap probability stays {then}"
        if first == then
        else f"snap probability {first} to {then}"
    )
    return f"{p}, worst use of the neck {units.percent(before.used)} to {units.percent(after.used)}"


def _after(
    resolved: ResolvedJob, changes: dict[str, Any], picked: Picked, few: samples.Draws
) -> _State | None:
    """State after changes; None when they do not fit the cutter or the slot."""
    try:
        job = changed(resolved.written, changes)
        after = _state(job, picked, few)
        # what was learned of this blank is not true of that one
        if "cutter.material" in changes and few.weights is not None:
            bare = _state(job, picked, replace(few, weights=None))
            after = replace(after, p=max(after.p, bare.p), high=max(after.high, bare.high))
        return after
    except InputError:
        return None


def _state(job: Job, picked: Picked, few: samples.Draws) -> _State:
    """Work out where a cut stands."""
    resolved = resolve(job)
    way = written_engagement(resolved, picked.stepover, 24)
    f_z = job.cut.feed_per_tooth or picked.f_z
    used = {
        c.code: one(c.utilization)
        for c in undercut.checks(
            resolved, cutting(resolved, way, job.cut.spindle_speed or picked.speed, f_z)
        )
        if c.hard
    }
    neck = {n: u for n, u in used.items() if n in NECK}
    over = frozenset(n for n, u in used.items() if n not in neck and is_over(u))
    chance = snap.assess(resolved, way.passes, way.contacts, f_z, few)
    return _State(p=chance.snap_probability, high=chance.high, used=max(neck.values()), over=over)

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
    # where room alone is enough, what helps the neck alone is no help
    solved = any(_enough(job, after) for _, _, after in room)
    own = (
        []
        if solved
        else _helping(
            job, [*_for_limits(job, picked, limits), *changes_of(job, picked)], picked, now, few
        )
    )
    best = [
        f"{text}: {_from_to(now, after)}"
        + ("." if _enough(job, after) else ", not enough by itself.")
        for text, _, after in (*room, *own)
    ]
    if not any(_enough(job, after) for _, _, after in (*room, *own)):
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


def _enough(job: ResolvedJob, state: _State) -> bool:
    """Whether a cut so changed is no no-go: judged by the upper end of its chance, for the sample
    is small.
    """
    return state.high <= job.target.snap_probability and state.used <= 1 and not state.over


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
    states = [
        (text, changes, _after(job, changes, picked, few))
        for text, changes in making_room(job, steps, over)
    ]
    fits = [
        (text, changes, after)
        for text, changes, after in states
        if after is not None and after.over < now.over
    ]

    def rank(helps: _Helps) -> tuple[bool, bool, float, float]:
        _, changes, after = helps
        return not _enough(job, after), "slot.throat_width" in changes, after.p, after.used

    return sorted(fits, key=rank)


def _for_limits(
    job: ResolvedJob, picked: Picked, limits: list[Limit]
) -> list[tuple[str, dict[str, Any]]]:
    return for_limits(
        job,
        {limit.name: limit.utilization for limit in limits if limit.over},
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
    states = [(text, change, _after(job, change, picked, few)) for text, change in changes]
    better = [
        (text, change, after)
        for text, change, after in states
        if after is not None
        and after.over <= now.over
        and (after.over < now.over or after.p < 0.8 * now.p or after.used < 0.95 * now.used)
    ]
    return sorted(better, key=lambda helps: (helps[2].p, helps[2].used, helps[0]))


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
        changes = [(text, base | change) for text, change in changes_of(roomy, picked)]
        own = _helping(job, changes, picked, room[0][2], rough)
    own_only = [
        {key: value for key, value in change.items() if base.get(key, _NONE) != value}
        for _, change, _ in own[:COMBINED]
    ]
    for size in (1, 2) if room else (2, 3):
        groups = [
            group
            for group in itertools.combinations(range(len(own_only)), size)
            if _apart([own_only[i] for i in group])
        ][:MOST_COMBINED]
        merged = [
            base | {key: value for i in group for key, value in own_only[i].items()}
            for group in groups
        ]
        promising = [
            (state.p, i)
            for i, change in enumerate(merged)
            if (state := _after(job, change, picked, rough)) is not None
            and state.p <= 2 * job.target.snap_probability
            and state.used <= 1
            and not state.over
        ]
        for _, i in sorted(promising):
            after = _after(job, merged[i], picked, few)  # asked again with the whole sample
            if after is not None and _enough(job, after):
                texts = [*(text for text, _, _ in room), *(own[k][0] for k in groups[i])]
                return _together(texts, now, after)
    return (
        "No single change makes it safe, nor do two or three of these together; make the undercut"
        " another way."
    )


def _together(texts: list[str], now: _State, after: _State) -> str:
    first, *others = texts
    words = "; ".join([first, *(text[0].lower() + text[1:] for text in others)])
    return (
        f"No single change makes it safe; {'two' if len(texts) == 2 else 'three'} together do."
        f" {words}: {_from_to(now, after)}."
    )


def _apart(changes: list[dict[str, Any]]) -> bool:
    """Whether no two of the changes touch the same key."""
    keys = [key for change in changes for key in change]
    return len(keys) == len(set(keys))


@dataclass(frozen=True, slots=True, kw_only=True)
class _State:
    """Where a cut stands: snap probability, worst use of the neck, and the other hard limits and
    clearances over capacity.
    """

    p: float  #: [1]
    high: float  #: upper end of its interval [1]
    used: float  #: [1]
    over: frozenset[str] = frozenset()


#: A change in words, as changes to the job, and where the cut then stands.
_Helps = tuple[str, dict[str, Any], _State]

#: Stands for a key that is not there.
_NONE = object()


def _from_to(before: _State, after: _State) -> str:
    first, then = (few_figures(state.p) for state in (before, after))
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
            bare = _state(job, picked, replace(few, weights=None, worn=None))
            after = replace(after, p=max(after.p, bare.p), high=max(after.high, bare.high))
        return after
    except InputError:
        return None


def _state(job: Job, picked: Picked, few: samples.Draws) -> _State:
    """Work out where a cut stands."""
    resolved = resolve(job)
    engagement = written_engagement(resolved, picked.stepover, 24)
    speed = job.cut.spindle_speed or picked.speed
    f_z = job.cut.feed_per_tooth or picked.f_z
    limits = undercut.checks(resolved, cutting(resolved, engagement, speed, f_z))
    shares = {limit.code: one(limit.utilization) for limit in limits if limit.hard or limit.fit}
    chance = snap.assess(resolved, engagement, f_z, few, speed=speed)
    return _State(
        p=chance.snap_probability,
        high=chance.high,
        used=max(share for code, share in shares.items() if code in NECK),
        over=frozenset(
            code for code, share in shares.items() if code not in NECK and is_over(share)
        ),
    )

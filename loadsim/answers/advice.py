"""What would help a cut that is no go: changes that the program would plan itself, each of them
tried out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from loadsim.answers.changes import Change, changes_of, making_room, slower_feed
from loadsim.answers.operations import drills_over
from loadsim.answers.results import Help, Verdict
from loadsim.answers.settings import pick_feed
from loadsim.answers.states import end_holes_of
from loadsim.answers.verdict import GRADES, verdict_of, with_tools
from loadsim.base import units
from loadsim.base.errors import InputError
from loadsim.job.read import changed
from loadsim.loads.cut import Engagement, Picked, cutting, one, written_engagement
from loadsim.loads.deflection import natural_frequency
from loadsim.loads.limits import undercut
from loadsim.loads.limits.utilization import FULL, NEAR, Limit, LimitCode
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk import samples, snap
from loadsim.risk.results import Risk
from loadsim.words.phrases import few_figures

#: Most changes that are told, and that are taken together. [1]
TOLD = 3
TOGETHER = 3

#: Most passes of a cut whose changes are tried out; each of them is worked out anew. [1]
MOST_TRIED = 20

#: A change helps when it takes this share off what is over, or off a chance that is over. [1]
LESS_USE = 0.05
LESS_CHANCE = 0.2

#: A chance under this share of the asked one may rise: it is no trouble. [1]
IDLE = 0.1

#: Positions that stand for a turn where changes are compared. [1]
COARSE = 24

#: Keys that leave the contact tables of a cut as they are.
OFF_THE_TABLES = frozenset(
    {
        "cut.feed_per_tooth",
        "cut.feed_rate",
        "cut.spindle_speed",
        "work.lubrication",
        "cutter.runout",
        "cutter.edge_skew",
        "cutter.material",
        "cutter.hardness",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _State:
    """Where a cut stands."""

    verdict: Verdict
    chance: Risk
    target: float  #: accepted snap probability [1]
    used: dict[LimitCode, float]  #: of what a go allows, by limit [1]
    hard: frozenset[LimitCode]
    real: dict[LimitCode, float]  #: of its capacity [1]

    @property
    def over(self) -> dict[LimitCode, float]:
        """What does not hold as a go asks, with its use of that; the chance is among it."""
        over = {code: used for code, used in self.used.items() if used > FULL}
        if self.chance.high > self.target:
            over[LimitCode.SNAP_PROBABILITY] = self.chance.high / self.target
        return over

    @property
    def grade(self) -> int:
        """Place of the verdict, the best first."""
        return GRADES.index(self.verdict)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Helps:
    """A change that helps, and where the cut then stands."""

    text: str
    changes: dict[str, Any]
    after: _State


def advice(
    job: ResolvedJob,
    picked: Picked,
    limits: Sequence[Limit],
    few: samples.Draws,
    verdict: Verdict,
    proved: Iterable[LimitCode] = (),
) -> tuple[tuple[str, ...], tuple[Help, ...]]:
    """List changes that help, the most doable first, each with its snap probability before and
    after.

    None makes the chance or a limit worse, and none is told that the verdict would not take. Where
    no single one makes the cut a go, several together that do come first.

    Parameters
    ----------
    job : ResolvedJob
        The job as written, which every change is tried on, and its asked snap probability.
    picked : Picked
        The settings checked.
    limits : sequence of Limit
        Every limit.
    few : Draws
        Sample of the risk.
    verdict : Verdict
        What they are to help against; never a go.
    proved : iterable of LimitCode
        Clearances that a test cut has proved.

    Returns
    -------
    advice : tuple of str
        Never empty: where nothing helps it says so.
    helps : tuple of Help
        The changes told, in the same order.
    """
    trials = _Trials(job, picked, few, frozenset(proved))
    if (n := len(trials.engagement.passes)) > MOST_TRIED:
        return (_untried(n),), ()
    missing = {x.name for x in limits if x.fit and x.over}
    barred = any(x.fit and x.over and x.hard for x in limits)
    room = making_room(job, trials.engagement.passes, missing) if missing else []
    # where the cutter does not get through, what helps it otherwise is no help
    tried = room if barred else _own(trials, picked, room)
    singles = trials.helping(tried)
    together = None
    if not any(helps.after.verdict is Verdict.GO for helps in singles):
        together = _together(trials, picked, singles, barred=barred)
    told = _told(singles)
    lines = [_line(trials.now, helps.text, helps.after) for helps in told]
    helps = [_help(helps.text, helps.after) for helps in told]
    if together is not None:
        joint = _help(_together_text(together), together[-1].after)
        line = _together_line(trials.now, together)
        return (line, *lines[: TOLD - 1]), (joint, *helps[: TOLD - 1])
    if any(helps.after.grade < GRADES.index(Verdict.NO_GO) for helps in singles):
        return tuple(lines), tuple(helps)
    return (_nothing(verdict, bool(lines)), *lines), tuple(helps)


def _untried(passes: int) -> str:
    return (
        f"With {passes} passes what would help is not tried out: take a larger stepover or a"
        " higher head, then ask again."
    )


def _help(text: str, after: _State) -> Help:
    return Help(text=text, verdict=after.verdict, snap_probability=after.chance.snap_probability)


class _Trials:
    """Tries changes of one cut out, on the same samples."""

    def __init__(
        self, job: ResolvedJob, picked: Picked, few: samples.Draws, proved: frozenset[LimitCode]
    ):
        self.job = job
        self.picked = picked
        self.few = few
        self.proved = proved
        self.engagement = written_engagement(job, picked.stepover, COARSE)
        self.now = self._state(job, self.engagement, few)

    def after(self, changes: dict[str, Any]) -> _State | None:
        """State after changes; None where they fit neither cutter nor slot."""
        try:
            job = resolve(changed(self.job.written, changes))
            engagement = self._engagement(job, changes)
            state = self._state(job, engagement, self.few)
            # what was learned of this blank is not true of that one
            if "cutter.material" in changes and self.few.weights is not None:
                bare = self._state(job, engagement, replace(self.few, weights=None, worn=None))
                state = max(state, bare, key=lambda x: (x.grade, x.chance.high))
        except InputError:
            return None
        return state

    def helping(self, changes: Iterable[Change]) -> list[_Helps]:
        """Those of the changes that help and make nothing worse, in their order."""
        tried = [(text, change, self.after(change)) for text, change in changes]
        return [
            _Helps(text=text, changes=change, after=after)
            for text, change, after in tried
            if after is not None and _better(self.now, after)
        ]

    def _engagement(self, job: ResolvedJob, changes: dict[str, Any]) -> Engagement:
        if changes.keys() <= OFF_THE_TABLES:
            return replace(self.engagement, frequency=natural_frequency(job))
        return written_engagement(job, self.picked.stepover, COARSE)

    def _state(self, job: ResolvedJob, engagement: Engagement, few: samples.Draws) -> _State:
        speed = job.cut.spindle_speed or self.picked.speed
        f_z = job.cut.feed_per_tooth or self.picked.f_z
        found = [
            limit
            for limit in undercut.checks(job, cutting(job, engagement, speed, f_z))
            if limit.code not in self.proved
        ]
        chance = snap.assess(job, engagement, f_z, few, speed=speed)
        target = job.target.snap_probability
        drills = drills_over(job, end_holes_of(job))
        verdict = with_tools(verdict_of(found, chance, target), hold=not drills)
        real = {limit.code: one(limit.utilization) for limit in found}
        allowed = {x.code: NEAR if x.hard and not x.fit else 1.0 for x in found}
        return _State(
            verdict=verdict,
            chance=chance,
            target=target,
            used={code: used / allowed[code] for code, used in real.items()},
            real=real,
            hard=frozenset(limit.code for limit in found if limit.hard),
        )


def _better(now: _State, after: _State) -> bool:
    """Whether a change helps, and makes neither the chance nor a limit worse."""
    before = now.over
    worse = [
        code
        for code, used in after.used.items()
        if used > FULL and used > FULL * before.get(code, 0.0)
    ]
    if worse or after.grade > now.grade:
        return False
    risen = after.chance.snap_probability > now.chance.snap_probability
    if risen and after.chance.high > IDLE * after.target:
        return False
    left = after.over
    gains = [
        1 - left.get(code, 0.0) / used
        for code, used in before.items()
        if code is not LimitCode.SNAP_PROBABILITY
    ]
    chance = after.chance.snap_probability / max(now.chance.snap_probability, 1e-300)
    surer = LimitCode.SNAP_PROBABILITY in before and chance <= 1 - LESS_CHANCE
    return after.grade < now.grade or surer or max(gains, default=0.0) > LESS_USE


def _own(trials: _Trials, picked: Picked, room: list[Change]) -> list[Change]:
    """Changes of the cut itself: a slower feed where the plan would take one, then all others."""
    job = trials.job
    feed = pick_feed(job, trials.engagement, picked.speed, trials.few)
    slower = (
        [slower_feed(job, feed.f_z, picked.speed)] if feed.f_z < (1 - LESS_USE) * picked.f_z else []
    )
    return [*slower, *changes_of(job, picked, trials.now.over, room)]


def _told(helps: list[_Helps]) -> list[_Helps]:
    """The most doable ones that make the cut pass, and among them the most doable that makes it a
    go; where none passes, those that help most.
    """
    passing = [x for x in helps if x.after.verdict is not Verdict.NO_GO]
    if not passing:
        return sorted(helps, key=lambda x: (x.after.chance.high, max(x.after.over.values())))[:TOLD]
    enough = next((x for x in passing if x.after.verdict is Verdict.GO), None)
    if enough is None or enough in passing[:TOLD]:
        return passing[:TOLD]
    return [*passing[: TOLD - 1], enough]


def _together(
    trials: _Trials, picked: Picked, singles: list[_Helps], *, barred: bool
) -> list[_Helps] | None:
    """The strongest changes one on top of the other until the cut is a go; the last of them holds
    where it then stands. None where they do not get it there.

    Where room is missing, it is made first and the others are chosen for the cutter that then
    stands there.
    """
    taken: list[_Helps] = []
    others = singles
    if barred and singles:
        taken = [min(singles, key=_strength)]
        others = _on_top(trials, picked, taken[0])
    for helps in sorted(others, key=_strength):
        changes = {key: value for x in taken for key, value in x.changes.items()}
        if helps.changes.keys() & changes.keys():
            continue
        after = trials.after(changes | helps.changes)
        if after is None or (taken and not _better(taken[-1].after, after)):
            continue
        taken.append(replace(helps, after=after))
        if after.verdict is Verdict.GO or len(taken) == TOGETHER:
            break
    if len(taken) < 2 or taken[-1].after.grade >= min(x.after.grade for x in singles):
        return None
    return taken


def _strength(helps: _Helps) -> tuple[int, float]:
    return helps.after.grade, helps.after.chance.high


def _on_top(trials: _Trials, picked: Picked, first: _Helps) -> list[_Helps]:
    """Changes that help once a first one is made, tried for the cutter that then stands there."""
    there = resolve(changed(trials.job.written, first.changes))
    tried = [
        (text, change, trials.after(first.changes | change))
        for text, change in changes_of(there, picked, first.after.over)
    ]
    return [
        _Helps(text=text, changes=change, after=after)
        for text, change, after in tried
        if after is not None and _better(first.after, after)
    ]


def _line(now: _State, text: str, after: _State) -> str:
    return f"{text}: {_from_to(now, after)}, {_outcome(after)}."


def _together_text(taken: list[_Helps]) -> str:
    first, *others = (helps.text for helps in taken)
    return "; ".join([first, *(text[0].lower() + text[1:] for text in others)])


def _together_line(now: _State, taken: list[_Helps]) -> str:
    words = _together_text(taken)
    count = "Two" if len(taken) == 2 else "Three"
    after = taken[-1].after
    return f"{count} changes together: {words}: {_from_to(now, after)}, {_outcome(after)}."


def _outcome(after: _State) -> str:
    return {
        Verdict.GO: "a go",
        Verdict.MARGINAL: "to be proved on scrap first",
        Verdict.NO_GO: "not enough by itself",
    }[after.verdict]


def _from_to(now: _State, after: _State) -> str:
    """The chance before and after, and the limit that is farthest over, where one is."""
    first, then = (few_figures(state.chance.snap_probability) for state in (now, after))
    chance = (
        f"snap probability stays {then}" if first == then else f"snap probability {first} to {then}"
    )
    over = {code: x for code, x in now.over.items() if code is not LimitCode.SNAP_PROBABILITY}
    if not over:
        return chance
    code = max(over, key=lambda x: (x in now.hard, over[x]))
    if code not in after.real:
        return f"{chance}, {code} is then none"
    return f"{chance}, {code} {units.percent(now.real[code])} to {units.percent(after.real[code])}"


def _nothing(verdict: Verdict, helps: bool) -> str:
    if verdict is not Verdict.NO_GO:
        return "Nothing that was tried helps; prove it on scrap as it stands."
    if helps:
        return (
            "Nothing that was tried makes it pass, neither alone nor together; make the undercut"
            " another way."
        )
    return (
        "Nothing that was tried helps: neither feed, speed, lubrication and runout, nor neck,"
        " fillet, head, edges and end holes, nor another blank; make the undercut another way."
    )

"""What an answer is worth: the factor that it may move the chance by, at the same settings."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace

from loadsim.answers.results import Settings
from loadsim.base import units
from loadsim.base.errors import InputError, ModelError
from loadsim.base.shop import figures, length_text
from loadsim.job.cutter_geometry import relief_of
from loadsim.job.questions.answers import dimension_of
from loadsim.job.questions.catalogue import Question
from loadsim.job.read import changed
from loadsim.job.tables import Job
from loadsim.loads.cut import cutting, one, written_engagement
from loadsim.loads.resolve import Assumption, resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip
from loadsim.page.state import BY_KEY
from loadsim.risk import snap
from loadsim.risk.samples import Draws, few_of
from loadsim.words import phrases

#: Chance under which a factor says nothing. [1]
LEAST = 1e-6

#: How far a number that nobody has given may be off (common practice, no source). [1]
OFF = 1.25

#: Feeds of the table, over the one picked. [1]
FEEDS = (0.4, 0.55, 0.7, 0.85, 1.0, 1.2, 1.45, 1.75)

#: The assumption that stands for each key, and what else a shop may find, over what is assumed
#: (common practice, no source). [1]
NOTES = {
    "cutter.neck_fillet": (Assumption.FILLET, (1.0, 2.0, 4.0)),
    "cutter.runout": (Assumption.RUNOUT, (0.25, 1.0, 3.0)),
    "cutter.wear": (Assumption.STONED, (0.25, 1.0, 5.0)),
    "cutter.edge_skew": (Assumption.SKEW, (0.0, 0.5, 1.0, 4 / 3)),
}

#: What a shop may find where a share of what stands there says nothing (common practice, no
#: source). [rad]
FOUND = {"cutter.rake": (0.0, math.radians(8.0), math.radians(15.0))}

#: What is taken for other keys that a job may leave out.
TAKEN: dict[str, Callable[[ResolvedJob], float | None]] = {
    "cutter.relief": lambda job: relief_of(job.cutter),
    "cutter.hardness": lambda job: job.blank.hardness,
}

#: How far a hardness may be off (common practice, no source). [HRC]
HARDNESS_OFF = 2.0

#: Keys that move the time or the wear, not the chance of one cut.
STILL = ("job.slots_per_part", "job.quantity", "machine.handwheel", "slot.width_tolerance")

#: A factor that is next to nothing. [1]
LITTLE = 1.05
HARDLY = "It hardly moves the chance of one cut."

#: How an answer is varied, in words.
OFF_BY = {"quantity": "A quarter more or less moves", "hardness": "Two HRC more or less move"}

Tell = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """What one answer is worth."""

    low: float  #: least chance that it may come to [1]
    high: float  #: largest [1]
    words: str

    @property
    def factor(self) -> float:
        """How far it may move the chance. [1]"""
        return max(self.high, LEAST) / max(self.low, LEAST)


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedRow:
    """One feed, and what it brings."""

    feed_per_tooth: float  #: [mm]
    rate: float  #: of the table [mm/s]
    snap_probability: float  #: [1]
    force: float  #: largest across the head [N]
    picked: bool


def held(job: Job, settings: Settings) -> Job:
    """Return a job with the settings of its answer, so that a change moves the chance alone.

    Parameters
    ----------
    job : Job
        As it was checked.
    settings : Settings
        Of the answer.

    Returns
    -------
    job : Job
    """
    speed = units.from_unit(settings.spindle_speed_rpm, "rpm", "angular speed")
    return changed(
        job,
        {
            "cut.spindle_speed": speed,
            "cut.feed_per_tooth": settings.feed_per_tooth_mm,
            "cut.feed_rate": None,
        },
    )


def chance(job: Job, drawn: Draws) -> float:
    """Return the chance to snap at the settings of [cut].

    Parameters
    ----------
    job : Job
        With spindle speed and feed.
    drawn : Draws
        The sample.

    Returns
    -------
    p : float
        [1]
    """
    resolved = resolve(job)
    way = written_engagement(resolved, job.cut.stepover)
    f_z, speed = job.cut.feed_per_tooth, job.cut.spindle_speed
    if f_z is None or speed is None:
        raise ValueError("a chance at settings that are not given")
    return snap.assess(resolved, way, f_z, drawn, speed=speed).snap_probability


def worths(job: Job, keys: Collection[str], drawn: Draws, tell: Tell) -> dict[str, Worth]:
    """Return what each open answer is worth.

    Parameters
    ----------
    job : Job
        With settings.
    keys : collection of str
        Open questions.
    drawn : Draws
        The sample, of which a part is used.
    tell : callable
        Told how many are done, of how many; it may raise to stop.

    Returns
    -------
    worths : dict
        Only of answers that move the chance.
    """
    few = few_of(drawn)
    base = chance(job, few)
    found: dict[str, Worth] = {}
    for i, key in enumerate(keys):
        tell(i, len(keys))
        worth = _worth(job, BY_KEY[key], base, few)
        if worth is not None:
            found[key] = worth
    return found


def _worth(job: Job, question: Question, base: float, few: Draws) -> Worth | None:
    if question.key in STILL:
        return None
    if question.key in NOTES:
        return _of_spread(job, question, base, few)
    values = _values(job, question)
    found = {v: p for v in values if (p := _chance_with(job, question.key, v, few)) is not None}
    if len(found) < 2:
        return None
    low, high = min(found, key=found.__getitem__), max(found, key=found.__getitem__)
    worth = Worth(low=found[low], high=found[high], words=HARDLY)
    if worth.factor < LITTLE:
        return worth
    worse, better = told(found[high]), told(found[low])
    if worse == better:
        return worth
    if question.form == "choice" or question.key in FOUND:
        a, b = (_shown(question, v, job.job.units) for v in (high, low))
        words = f"With {a} it snaps in {worse}, with {b} in {better}"
    else:
        words = f"{OFF_BY[question.form]} it between {worse} and {better}"
    return replace(worth, words=f"{words}: {_times(worth.factor)}.")


def told(p: float) -> str:
    """Say a chance, to follow "snaps in"."""
    return phrases.chance_text(p).removeprefix("about ")


def _of_spread(job: Job, question: Question, base: float, few: Draws) -> Worth | None:
    """What it costs that a number is assumed, against what a shop may find when it measures."""
    code, shares = NOTES[question.key]
    note = next((n for n in resolve(job).assumed if n.code is code), None)
    value = None if note is None else note.facts.get("value")
    if not isinstance(value, float):
        return None
    sizes = [value * share for share in shares]
    found = {v: p for v in sizes if (p := _chance_with(job, question.key, v, few)) is not None}
    if not found:
        return None
    best = min(found, key=found.__getitem__)
    ends = (base, *found.values())
    cost = max(base, LEAST) / max(found[best], LEAST)
    words = f"Not known, it snaps in {told(base)}"
    if cost < LITTLE:
        words = f"{words}. Knowing it hardly moves that, unless it is worse than assumed."
    else:
        good = _shown(question, best, job.job.units)
        words = (
            f"{words}. Were it measured as {good}: {told(found[best])}. Not knowing costs"
            f" {_times(cost)}."
        )
    return Worth(low=min(ends), high=max(ends), words=words)


def _shown(question: Question, value: str | float, system: units.System) -> str:
    """Write a size as it would be measured: of a runout the reading, twice as much."""
    if isinstance(value, str):
        return value
    if question.form == "reading":
        return length_text(2 * value, system)
    dimension = dimension_of(question)
    return (
        length_text(value, system)
        if dimension == "length"
        else units.show(value, dimension, system)
    )


def _times(factor: float) -> str:
    return f"a factor of {figures(factor, 2)}"


def _values(job: Job, question: Question) -> list[str | float]:
    if question.form == "choice":
        return list(question.choices)
    if question.key in FOUND:
        return list(FOUND[question.key])
    now = getattr(getattr(job, question.table), question.name)
    if now is None and question.key in TAKEN:
        now = TAKEN[question.key](resolve(job))
    if not isinstance(now, float):
        return []
    if question.form == "hardness":
        return [now - HARDNESS_OFF, now, now + HARDNESS_OFF]
    return [now / OFF, now, now * OFF] if question.form == "quantity" else []


def _chance_with(job: Job, key: str, value: str | float, few: Draws) -> float | None:
    """Return the chance with another answer; None where it does not fit the rest of the job."""
    try:
        return chance(changed(job, {key: value}), few)
    except (InputError, ModelError):
        return None


def feed_table(job: Job, drawn: Draws, tell: Tell) -> tuple[FeedRow, ...]:
    """Return chance and force over the feed.

    Parameters
    ----------
    job : Job
        With settings.
    drawn : Draws
        The sample.
    tell : callable
        Told how many are done, of how many; it may raise to stop.

    Returns
    -------
    rows : tuple of FeedRow
        The least feed first.
    """
    resolved = resolve(job)
    way = written_engagement(resolved, job.cut.stepover)
    picked, speed = job.cut.feed_per_tooth, job.cut.spindle_speed
    if picked is None or speed is None:
        raise ValueError("a table of feeds for settings that are not given")
    rows = []
    for i, share in enumerate(FEEDS):
        tell(i, len(FEEDS))
        f_z = picked * share
        risk = snap.assess(resolved, way, f_z, drawn, speed=speed)
        rows.append(
            FeedRow(
                feed_per_tooth=f_z,
                rate=chip.feed_rate(f_z, resolved.cutter.teeth, speed),
                snap_probability=risk.snap_probability,
                force=one(cutting(resolved, way, speed, f_z).summary.force),
                picked=share == 1.0,
            )
        )
    return tuple(rows)

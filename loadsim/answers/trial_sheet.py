"""Which scrap test cut would teach most for the least risk, and what to look for while it runs."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from loadsim.answers.check import check
from loadsim.answers.results import Result
from loadsim.base import units
from loadsim.base.numbers import Array, plain
from loadsim.job.tables import Direction, Job, Trial
from loadsim.loads.cut import Engagement, engagement_of
from loadsim.loads.end_holes import holes_for
from loadsim.loads.machine import rubbing_feed, settable
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials.families import by_family
from loadsim.mechanics import chip
from loadsim.risk import bayes, samples
from loadsim.risk.results import Band
from loadsim.risk.samples import few_of
from loadsim.risk.snap import snaps
from loadsim.risk.trial_readings import FINE, OF_THE_CUT, Prediction, TrialCut, foresee, predict
from loadsim.risk.trial_update import SHOWN, Weighed, expected, weighed

#: Feeds tried, over the feed of the job. [1]
FEEDS = (0.5, 0.7, 1.0, 1.3, 1.6)

#: Lengths tried: head diameters, and the whole slot. [1]
HEADS = 2.0

#: What a shop's instrument leaves open, 19 readings in 20 (common practice, no source): share of
#: the reading, and the least in its unit.
INSTRUMENT = {"force": (0.10, 2.0), "torque": (0.10, 20.0), "spindle_power": (0.15, 10_000.0), "deflection": (0.20, 0.005),
              "slot_width": (0.0, 0.02), "wall_offset": (0.0, 0.02)}  # fmt: skip

#: Of the narrowing that can be had, the share that is enough when it comes with less risk. [1]
ENOUGH = 0.9

#: What chips of a family look like when the cut is right, and what to do when they do not.
CHIPS = {
    "aluminum": (
        "bright, curled and dry to the touch",
        (
            "smeared or welded to the edge: more lubricant, clean the edge, never on with a clogged"
            " head"
        ),
    ),
    "brass": ("short bright needles", "dust: the edge rubs, feed a little more; hone the edge"),
    "copper": (
        "long soft curls that break when they are blown",
        "welded to the edge: more lubricant",
    ),
    "steel": (
        "silver to straw, curled",
        "blue: slower spindle; powder: the edge rubs, hone it or feed a little more",
    ),
    "stainless": (
        "silver to straw, curled, no glaze left on the wall",
        "blue, or a glazed wall: slower spindle, and do not dwell",
    ),
    "iron": ("short gray crumbs", "red hot or sparks: slower spindle"),
    "plastic": ("white curls", "melted strings: slower spindle, more air"),
    "titanium": (
        "silver curls",
        "blue or sparks: stop; chips of titanium burn, never put water on them",
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reads:
    """What one reading would add to a test cut."""

    name: str
    unit: str
    uncertainty: float  #: assumed of the instrument, 19 readings in 20
    expected: Band
    narrowing: float  #: of the band of load over strength, the outcome included [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One test cut that could be made."""

    feed_per_tooth_mm: float
    length_mm: float
    snap_chance: float
    narrowing: float  #: by the outcome alone [1]
    reads: tuple[Reads, ...]

    @property
    def most(self) -> float:
        """Narrowing with the reading that teaches most. [1]"""
        return max([self.narrowing, *(r.narrowing for r in self.reads)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One thing to watch: what it is like when the cut is right, and what to do if not."""

    what: str
    right: str
    if_not: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialSheet:
    """The sheet for the machine."""

    result: Result
    spindle_speed_rpm: float
    candidates: tuple[Candidate, ...]  #: the one to make first
    why: str
    looks: tuple[Look, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON object: what the test cuts say, and the sheet for the next one."""
        r = self.result
        return {
            "loadsim": r.loadsim,
            "job": r.job,
            "verdict": r.verdict,
            "risk": plain(r.risk),
            "trials": plain(r.trials),
            "spindle_speed_rpm": self.spindle_speed_rpm,
            "candidates": plain(self.candidates),
            "why": self.why,
            "looks": plain(self.looks),
            "warnings": list(r.warnings),
        }


def sheet_of(job: Job) -> TrialSheet:
    """Check a job with its test cuts and work out the sheet for the next one.

    Parameters
    ----------
    job : Job
        From `loadsim.read_job`.

    Returns
    -------
    sheet : Sheet

    Raises
    ------
    InputError
        As `loadsim.check`.
    """
    resolved = resolve(job)
    seen = weighed(resolved, samples.draws())
    return sheet(resolved, check(job, seen=seen), seen)


def sheet(job: ResolvedJob, result: Result, seen: Weighed) -> TrialSheet:
    """Work out the sheet: test cuts at several feeds and lengths, what each would teach and risk.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    result : Result
        Its check, test cuts counted.
    seen : Weighed
        The sample that the check used.

    Returns
    -------
    sheet : Sheet
    """
    few = few_of(seen.drawn)
    set_ = result.settings
    speed = units.from_unit(set_.spindle_speed_rpm, "rpm", "angular speed")
    direction: Direction = job.cut.direction or "conventional"
    way = engagement_of(job, passes(job, set_.stepover_mm, direction, holes_for(job)), FINE)
    margin = _margin(job, way, set_.feed_per_tooth_mm, few)
    found = []
    for f_z in _feeds(job, way, speed, set_.feed_per_tooth_mm):
        for length in sorted(
            {min(HEADS * job.cutter.head_diameter, job.slot.length), job.slot.length}
        ):
            found.append(_candidate(_site(job, way, speed, f_z, length), few, margin))
    best, why = _best(found, job.target.snap_probability)
    rest = [c for c in found if c is not best]
    return TrialSheet(
        result=result,
        spindle_speed_rpm=set_.spindle_speed_rpm,
        candidates=(best, *rest),
        why=why,
        looks=_looks(job, way, result, best),
    )


def _feeds(job: ResolvedJob, way: Engagement, speed: float, f_z: float) -> list[float]:
    """Feeds that the machine can set and the edge can cut, around that of the job."""
    least = rubbing_feed(job, way)
    found = {settable(job, speed, x * f_z) if x != 1.0 else f_z for x in FEEDS}
    return sorted(x for x in found if x >= least * (1 - 1e-9)) or [f_z]


def _site(job: ResolvedJob, way: Engagement, speed: float, f_z: float, length: float) -> TrialCut:
    bare = Trial.model_validate(
        {"spindle_speed": speed, "feed_per_tooth": f_z, "length": length, "outcome": "survived"},
        context={"inside": True},
    )
    site = TrialCut(
        file="sheet", number=1, trial=bare, job=job, way=way, speed=speed, f_z=f_z, same_cutter=True
    )
    usual = predict(site, tuple(INSTRUMENT), samples.median_draws().z)
    values = {k: float(v[0]) for k, v in usual.items()}
    spreads = {
        f"{k}_uncertainty": max(share * v, least)
        for (k, v), (share, least) in zip(values.items(), INSTRUMENT.values(), strict=True)
    }
    return replace(site, trial=bare.model_copy(update=values | spreads))


def _margin(job: ResolvedJob, way: Engagement, f_z: float, few: samples.Draws) -> Array:
    """Logarithm of load over strength, without what differs from cut to cut: what test cuts can
    narrow.
    """
    u = few.u.copy()
    z = few.z.copy()
    u[list(OF_THE_CUT)] = 0.5
    z[list(OF_THE_CUT)] = 0.0
    snap = snaps(job, way.passes, way.contacts, f_z, replace(few, u=u, z=z))
    tired = bayes.mean(snap.fatigue, few.weights) > bayes.mean(snap.fracture, few.weights)
    return snap.fatigue if tired else snap.fracture


def _candidate(site: TrialCut, few: samples.Draws, margin: Array) -> Candidate:
    f = foresee(site, few)
    w = np.ones_like(margin) if few.weights is None else few.weights
    lives = w * np.exp(bayes.log_survived(f.p, f.share))
    breaks = w * np.exp(bayes.log_snapped(f.p, f.share))
    chance = float(breaks.sum() / w.sum())
    before = _variance(margin, w)
    broken = chance * _variance(margin, breaks) if chance > 0 else 0.0

    def left(variance: float) -> float:
        return 1.0 - math.sqrt(((1 - chance) * variance + broken) / before)

    reads = tuple(
        Reads(
            name=r.name,
            unit=SHOWN[r.name][0],
            uncertainty=_shown(r.name, getattr(site.trial, f"{r.name}_uncertainty")),
            expected=expected(r, few.weights),
            narrowing=round(left(_told(margin, lives, f, i)), 3),
        )
        for i, r in enumerate(f.readings)
    )
    return Candidate(
        feed_per_tooth_mm=float(f"{site.f_z:.4g}"),
        length_mm=site.trial.length,
        snap_chance=float(f"{chance:.2g}"),
        narrowing=round(left(_variance(margin, lives)), 3),
        reads=reads,
    )


def _shown(name: str, value: float) -> float:
    return float(f"{units.to_unit(value, *SHOWN[name]):.3g}")


def _variance(x: Array, w: Array) -> float:
    return bayes.mean((x - bayes.mean(x, w)) ** 2, w)


def _told(margin: Array, w: Array, f: Prediction, i: int) -> float:
    """Variance of the margin that one reading is expected to leave, by its regression on the
    reading.
    """
    r = f.readings[i]
    noise = r.sd**2 + r.wear**2 + r.feed**2 + r.stiffness**2 + r.model**2
    x = r.predicted - bayes.mean(r.predicted, w)
    m = margin - bayes.mean(margin, w)
    return bayes.mean(m**2, w) - bayes.mean(x * m, w) ** 2 / (bayes.mean(x**2, w) + noise)


def _best(found: list[Candidate], target: float) -> tuple[Candidate, str]:
    safe = [c for c in found if c.snap_chance <= target]
    if not safe:
        return (
            min(found, key=lambda c: c.snap_chance),
            (
                f"No test cut keeps the chance of snapping under the asked {target:g}; this one"
                " risks least. Make it with a spare cutter, or not at all."
            ),
        )
    most = max(c.most for c in safe)
    best = min(
        (c for c in safe if c.most >= ENOUGH * most),
        key=lambda c: (c.snap_chance, -c.most, c.length_mm),
    )
    return (
        best,
        (
            f"Of the test cuts that snap at most {target:g} of the time it risks least, and teaches"
            f" at least {ENOUGH:.0%} of what any of them would."
        ),
    )


def _looks(job: ResolvedJob, way: Engagement, result: Result, best: Candidate) -> tuple[Look, ...]:
    """List what to watch, in the order in which it shows."""
    system = job.units
    n = result.settings.spindle_speed_rpm / 60
    right, wrong = by_family(CHIPS, job.work.family, CHIPS["steel"])
    chip = units.show(max(best.feed_per_tooth_mm, job.h_min), "chip thickness", system)
    reads = {r.name: r for r in best.reads}

    def span(name: str) -> str:
        low, high = (
            units.show(units.from_unit(x, *SHOWN[name]), SHOWN[name][1], system)
            for x in (reads[name].expected.low_95, reads[name].expected.high_95)
        )
        return f"{low} to {high}"

    return (
        _sound(job, best.feed_per_tooth_mm, n),
        Look(
            what="chips",
            right=f"{right}; about {chip} thick",
            if_not=f"{wrong}; stop when they pack in the slot",
        ),
        Look(
            what="spindle power",
            right=f"{span('spindle_power')} over idling (19 in 20)",
            if_not=(
                "more: stop, the edge is dull, chips are packed or the metal is harder; record it"
            ),
        ),
        Look(
            what="finish and burrs",
            right=(
                "even marks one feed apart on the floor, a thin burr at the throat that one stroke"
                " of a deburring blade takes"
            ),
            if_not="torn or wavy walls: slower; a thick rolled burr: the edge is dull",
        ),
        Look(
            what="size",
            right=f"undercut {span('slot_width')} wide (19 in 20)",
            if_not=(
                "wider: runout or the neck gives, measure both; narrower: the head "
                "is worn or was ground small"
            ),
        ),
        Look(
            what="neck",
            right="no mark at the fillets under a loupe, runout as before",
            if_not="a line, a colour or more runout: the neck is cracked or bent, scrap the cutter",
        ),
    )


def _sound(job: ResolvedJob, f_z: float, n: float) -> Look:
    """What is heard when the cut runs as computed: every tooth, or one alone where runout lifts the
    others clear of the metal. n: turns a second.
    """
    teeth = job.cutter.teeth
    h = chip.thickness(
        np.full(teeth, math.pi / 2), np.arange(teeth), np.array(f_z), np.array(job.runout), teeth
    )
    working = int(np.count_nonzero(h > 0))
    squeal = "a squeal: it rubs or rings, hone the edge, slower spindle"
    if working < teeth:
        one = "one tooth works" if working == 1 else f"{working} of {teeth} teeth work"
        return Look(
            what="sound",
            right=f"a beat {n:.0f} times a second: at this runout {one}",
            if_not=(
                "a heavier knock, or one that comes and goes: stop, look at the edges and the"
                f" collet; {squeal}"
            ),
        )
    knock = (
        f"a beat {n:.0f} times a second: one tooth works alone, bring the runout down; "
        if teeth > 1
        else ""
    )
    return Look(what="sound", right=f"a steady hum of {teeth * n:.0f} Hz", if_not=knock + squeal)

"""Which scrap test cut would teach most for the least risk, and what to look for while it runs."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from loadsim.answers.check import check
from loadsim.answers.results import (
    Candidate,
    CutSign,
    ExpectedReading,
    Plan,
    Result,
    TrialSheet,
    Verdict,
    Watched,
)
from loadsim.base import units
from loadsim.base.numbers import Array
from loadsim.job.tables import Job, Trial
from loadsim.loads.cut import Engagement, written_engagement
from loadsim.loads.limits.handwheel import hand_keeps_up
from loadsim.loads.machine import rubbing_feed, settable
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials.families import by_family
from loadsim.mechanics import chip
from loadsim.risk import bayes, samples
from loadsim.risk.samples import OF_THE_CUT, few_of
from loadsim.risk.snap import snaps
from loadsim.risk.trial_readings import FINE, PredictedReading, TrialCut, foresee, predict
from loadsim.risk.trial_update import SHOWN, expected, weighed

#: Feeds tried, over the feed of the job. [1]
FEEDS = (0.5, 0.7, 1.0, 1.3, 1.6)

#: Lengths tried: head diameters, and the whole slot. [1]
HEADS = 2.0

#: What a shop's instrument leaves open, 19 readings in 20 (common practice, no source): share of
#: the reading, and the least in its unit.
INSTRUMENT = {
    "force": (0.10, 2.0),
    "torque": (0.10, 20.0),
    "spindle_power": (0.15, 10_000.0),
    "deflection": (0.20, 0.005),
    "slot_width": (0.0, 0.02),
    "wall_offset": (0.0, 0.02),
}

#: Largest over smallest value that a reading is expected at (19 in 20), up to which it is proposed
#: (common practice, no source). [1]
WIDEST = 30.0

#: Of the narrowing that can be had, the share that is enough when it comes with less risk. [1]
ENOUGH = 0.9

#: What chips of a family look like when the cut is right, and what to do when they do not.
CHIPS = {
    "aluminum": (
        "bright, curled and dry to the touch",
        "smeared or welded to the edge: more lubricant, clean the edge, never on with a clogged"
        " head",
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


def sheet_of(job: Job, progress: Callable[[int, int], None] | None = None) -> TrialSheet:
    """Check a job with its test cuts and work out the sheet for the next one.

    Parameters
    ----------
    job : Job
        From `loadsim.read_job`.
    progress : callable, optional
        Called with the number of steps of its check done and of all steps.

    Returns
    -------
    sheet : TrialSheet

    Raises
    ------
    InputError
        As `loadsim.check`.
    """
    resolved = resolve(job)
    seen = weighed(resolved, samples.draws_for(job))
    return sheet(resolved, check(job, seen=seen, progress=progress), seen.drawn)


def next_trial(plan: Plan) -> TrialSheet:
    """Work out which scrap test cut to make before a planned one; those recorded are counted.

    Parameters
    ----------
    plan : Plan
        Its job and its answer.

    Returns
    -------
    sheet : TrialSheet
    """
    return sheet(resolve(plan.job), plan.result, plan.drawn)


def sheet(job: ResolvedJob, result: Result, drawn: samples.Draws) -> TrialSheet:
    """Work out the sheet: test cuts at several feeds and lengths, what each would teach and risk.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine and metal.
    result : Result
        Its check, test cuts counted.
    drawn : Draws
        The sample that the check used.

    Returns
    -------
    sheet : TrialSheet
    """
    few = few_of(drawn)
    settings = result.settings
    f_z = settings.feed_per_tooth_mm
    speed = units.from_unit(settings.spindle_speed_rpm, "rpm", "angular speed")
    engagement = written_engagement(job, settings.stepover_mm, FINE)
    margin = _margin(job, engagement, f_z, few)
    candidates = [
        _candidate(_trial_cut(job, engagement, speed, feed, length), few, margin)
        for feed in _feeds(job, engagement, speed, f_z)
        for length in _lengths(job)
    ]
    best, why = _best(candidates, job.target.snap_probability, result.verdict)
    return TrialSheet(
        result=result,
        spindle_speed_rpm=settings.spindle_speed_rpm,
        candidates=(best, *(other for other in candidates if other is not best)),
        why=why,
        looks=_signs(job, result, best),
    )


def _feeds(job: ResolvedJob, engagement: Engagement, speed: float, f_z: float) -> list[float]:
    """Feeds around that of the job that the machine can set, a hand keeps up and the edge can cut.
    [mm]
    """
    least = rubbing_feed(job, engagement)
    feeds = {settable(job, speed, share * f_z) if share != 1.0 else f_z for share in FEEDS}
    teeth = job.cutter.teeth
    kept = [x for x in feeds if x == f_z or hand_keeps_up(job, chip.feed_rate(x, teeth, speed))]
    return sorted(feed for feed in kept if feed >= least * (1 - 1e-9)) or [f_z]


def _lengths(job: ResolvedJob) -> list[float]:
    """Lengths of a test cut, the whole slot the longest. [mm]"""
    slot = job.slot.length
    return sorted({min(HEADS * job.cutter.head_diameter, slot), slot})


def _trial_cut(
    job: ResolvedJob, engagement: Engagement, speed: float, f_z: float, length: float
) -> TrialCut:
    """A test cut that survives and on which every instrument reads what is expected."""
    bare = Trial.model_validate(
        {"spindle_speed": speed, "feed_per_tooth": f_z, "length": length, "outcome": "survived"},
        context={"inside": True},
    )
    site = TrialCut(
        file="sheet",
        number=1,
        trial=bare,
        job=job,
        way=engagement,
        speed=speed,
        f_z=f_z,
        same_cutter=True,
    )
    predictions = predict(site, tuple(INSTRUMENT), samples.median_draws().z)
    readings = {name: float(predicted[0]) for name, predicted in predictions.items()}
    uncertainties = {
        f"{name}_uncertainty": max(share * reading, least)
        for (name, reading), (share, least) in zip(
            readings.items(), INSTRUMENT.values(), strict=True
        )
    }
    return replace(site, trial=bare.model_copy(update=readings | uncertainties))


def _margin(job: ResolvedJob, engagement: Engagement, f_z: float, few: samples.Draws) -> Array:
    """Logarithm of load over strength, without what differs from cut to cut: what test cuts can
    narrow.
    """
    u = few.u.copy()
    z = few.z.copy()
    u[list(OF_THE_CUT)] = 0.5
    z[list(OF_THE_CUT)] = 0.0
    snap = snaps(job, engagement, f_z, replace(few, u=u, z=z, worn=None))
    tired = bayes.mean(snap.fatigue, few.weights) > bayes.mean(snap.fracture, few.weights)
    return snap.fatigue if tired else snap.fracture


def _candidate(cut: TrialCut, few: samples.Draws, margin: Array) -> Candidate:
    prediction = foresee(cut, few)
    weights = np.ones_like(margin) if few.weights is None else few.weights
    survived = weights * np.exp(prediction.ln_lived)
    snapped = weights * np.exp(bayes.log_snapped(prediction.ln_lived))
    chance = float(snapped.sum() / weights.sum())
    if not survived.any():  # no cutter lives to be read: its variance has no share below
        survived = weights
    before = _variance(margin, weights)
    after_snap = chance * _variance(margin, snapped) if chance > 0 else 0.0

    def narrowing(variance: float) -> float:
        return round(1.0 - math.sqrt(((1 - chance) * variance + after_snap) / before), 3)

    readings = tuple(
        ExpectedReading(
            name=reading.name,
            unit=SHOWN[reading.name][0],
            uncertainty=_shown(reading.name, getattr(cut.trial, f"{reading.name}_uncertainty")),
            expected=expected(reading, few.weights),
            narrowing=narrowing(_variance_with(reading, margin, survived)),
        )
        for reading in prediction.readings
    )
    telling = tuple(reading for reading in readings if _tells(reading))
    return Candidate(
        feed_per_tooth_mm=float(f"{cut.f_z:.4g}"),
        length_mm=cut.trial.length,
        snap_chance=float(f"{chance:.2g}"),
        narrowing=narrowing(_variance(margin, survived)),
        reads=telling,
    )


def _tells(reading: ExpectedReading) -> bool:
    """Whether the span that a reading is expected in is narrow enough to be held against."""
    share, _ = INSTRUMENT[reading.name]
    band = reading.expected
    return share == 0.0 or band.high_95 <= WIDEST * band.low_95  # a wall's place may be negative


def _shown(name: str, value: float) -> float:
    return float(f"{units.to_unit(value, *SHOWN[name]):.3g}")


def _variance(values: Array, weights: Array) -> float:
    """Weighted variance; none where no sample has weight."""
    if not np.any(weights > 0):
        return 0.0
    return bayes.mean((values - bayes.mean(values, weights)) ** 2, weights)


def _variance_with(reading: PredictedReading, margin: Array, weights: Array) -> float:
    """Variance of the margin that one reading is expected to leave, by its regression on the
    reading; none where no sample has weight.
    """
    if not np.any(weights > 0):
        return 0.0
    noise = reading.sd**2 + reading.feed**2 + reading.stiffness**2 + reading.model**2
    x = reading.predicted - bayes.mean(reading.predicted, weights)
    y = margin - bayes.mean(margin, weights)
    slope_part = bayes.mean(x * y, weights) ** 2 / (bayes.mean(x**2, weights) + noise)
    return bayes.mean(y**2, weights) - slope_part


def _best(candidates: list[Candidate], target: float, verdict: Verdict) -> tuple[Candidate, str]:
    """The candidate to make, and why."""
    safe = [candidate for candidate in candidates if candidate.snap_chance <= target]
    if not safe:
        rather = ", or not at all" if verdict is Verdict.NO_GO else " at hand"
        why = (
            f"No test cut keeps the chance of snapping under the asked {target:g}; this one"
            f" risks least. Make it with a spare cutter{rather}."
        )
        return min(candidates, key=lambda candidate: candidate.snap_chance), why
    enough = ENOUGH * max(candidate.most for candidate in safe)
    why = (
        f"Of the test cuts that snap at most {target:g} of the time it risks least, and teaches"
        f" at least {ENOUGH:.0%} of what any of them would."
    )
    best = min(
        (candidate for candidate in safe if candidate.most >= enough),
        key=lambda candidate: (candidate.snap_chance, -candidate.most, candidate.length_mm),
    )
    return best, why


def _signs(job: ResolvedJob, result: Result, best: Candidate) -> tuple[CutSign, ...]:
    """List what to watch, in the order in which it shows."""
    turns_per_second = result.settings.spindle_speed_rpm / 60
    return (
        _sound(job, best.feed_per_tooth_mm, turns_per_second),
        _chips(job, best.feed_per_tooth_mm),
        *_power(job, best),
        CutSign(
            what=Watched.FINISH,
            right=(
                "even marks one feed apart on the floor, a thin burr at the throat that one stroke"
                " of a deburring blade takes"
            ),
            wrong=("torn or wavy walls: slower", "a thick rolled burr: the edge is dull"),
        ),
        CutSign(
            what=Watched.SIZE,
            right=f"undercut {_span(job, best, 'slot_width')} wide (19 in 20)",
            wrong=(
                "wider: runout or the neck gives, measure both",
                "narrower: the head is worn or was ground small",
            ),
        ),
        CutSign(
            what=Watched.NECK,
            right="no mark at the fillets under a loupe, runout as before",
            wrong=(
                "a line, a colour or more runout: the neck is cracked or bent, scrap the cutter",
            ),
        ),
    )


def _power(job: ResolvedJob, best: Candidate) -> tuple[CutSign, ...]:
    """What the spindle's power tells; nothing where it is expected anywhere."""
    if all(reading.name != "spindle_power" for reading in best.reads):
        return ()
    return (
        CutSign(
            what=Watched.POWER,
            right=f"{_span(job, best, 'spindle_power')} over idling (19 in 20)",
            wrong=(
                "more: stop, the edge is dull, chips are packed or the metal is harder; record it",
            ),
        ),
    )


def _span(job: ResolvedJob, best: Candidate, name: str) -> str:
    """The interval in which a reading is expected."""
    band = next(reading.expected for reading in best.reads if reading.name == name)
    unit, dimension = SHOWN[name]
    low, high = (
        units.show(units.from_unit(bound, unit, dimension), dimension, job.units)
        for bound in (band.low_95, band.high_95)
    )
    return f"{low} to {high}"


def _chips(job: ResolvedJob, f_z: float) -> CutSign:
    right, wrong = by_family(CHIPS, job.work.family, CHIPS["steel"])
    thick = units.show(max(f_z, job.h_min), "chip thickness", job.units)
    return CutSign(
        what=Watched.CHIPS,
        right=f"{right}; about {thick} thick",
        wrong=(wrong, "stop when they pack in the slot"),
    )


def _sound(job: ResolvedJob, f_z: float, turns_per_second: float) -> CutSign:
    """What is heard when the cut runs as computed: every tooth, or one alone where runout lifts the
    others clear of the metal.
    """
    teeth = job.cutter.teeth
    beat = f"a beat {turns_per_second:.0f} times a second"
    squeal = "a squeal: it rubs or rings, hone the edge, slower spindle"
    h = chip.thickness(
        np.full(teeth, math.pi / 2), np.arange(teeth), np.array(f_z), np.array(job.runout), teeth
    )
    working = int(np.count_nonzero(h > 0))
    if working < teeth:
        cutting = "one tooth works" if working == 1 else f"{working} of {teeth} teeth work"
        return CutSign(
            what=Watched.SOUND,
            right=f"{beat}: at this runout {cutting}",
            wrong=(
                "a heavier knock, or one that comes and goes: stop, look at the edges and the"
                " collet",
                squeal,
            ),
        )
    alone = (f"{beat}: one tooth works alone, bring the runout down",) if teeth > 1 else ()
    return CutSign(
        what=Watched.SOUND,
        right=f"a steady hum of {teeth * turns_per_second:.0f} Hz",
        wrong=(*alone, squeal),
    )

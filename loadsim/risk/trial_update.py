"""What scrap test cuts make of the sample: weights by Bayes, and the answer before and after.

A test cut that survived is a censored strength: the neck bears at least what the cut asked. Weights
fall on the same samples that the risk is averaged over, so that before and after differ by what was
seen and by nothing else.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from loadsim.base import units
from loadsim.base.errors import InputError, Problem
from loadsim.base.numbers import Array
from loadsim.job.tables import Trial
from loadsim.loads.cut import Engagement
from loadsim.loads.nominal import peak_chip
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk import bayes, samples, snap
from loadsim.risk.neck_demand import Demand
from loadsim.risk.results import Band, Factor, Risk, ScrapCut, TrialReading, Trials
from loadsim.risk.samples import Uncertain
from loadsim.risk.survival import survival
from loadsim.risk.trial_readings import (
    WALLS,
    PredictedReading,
    Prediction,
    TrialCut,
    foresee,
    trial_cuts,
)

#: Fewest equally weighted samples an answer may rest on; of a sample too small for that, one in 64.
#: [1]
LEAST_EFFECTIVE = 250

#: More test cuts than this are first held against a small sample, of so many points of each
#: replicate, and refused where the strain of their readings there is over so many times the most
#: allowed. [1]
MANY = 12
SCREEN = 64
BEYOND = 3.0

#: Logarithm of the least chance to have lived that a break after it is asked of. [1]
LEAST = -1e4

#: Shares at the ends and the middle of a band. [1]
BAND = (0.025, 0.16, 0.5, 0.84, 0.975)

#: What a reading is shown in: unit and its dimension.
SHOWN = {
    "force": ("N", "force"),
    "torque": ("N*mm", "torque"),
    "spindle_power": ("W", "power"),
    "deflection": ("mm", "length"),
    "slot_width": ("mm", "length"),
    "wall_offset": ("mm", "length"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """The sample as the test cuts weigh it."""

    drawn: samples.Draws
    foresights: tuple[Prediction, ...]
    skipped: tuple[str, ...]
    effective: float  #: equally weighted samples that tell as much [1]


def covariance(readings: list[tuple[TrialCut, PredictedReading]]) -> Array:
    """Scatter of readings about what a sample foresees, with what they share.

    Parameters
    ----------
    readings : list of (TrialCut, PredictedReading)
        All readings of all test cuts.

    Returns
    -------
    C : ndarray, shape (k, k)
        Readings of one cut share its feed; those on one machine its stiffness; those
        of one kind the model's own error, which no number of readings averages away.
    """

    def alike(key: object) -> Array:
        keys = [key(site, r) for site, r in readings]  # type: ignore[operator]
        return np.array([[a == b for b in keys] for a in keys], float)

    def part(name: str) -> Array:
        v = np.array([getattr(r, name) for _, r in readings])
        return np.outer(v, v)

    cut = alike(lambda site, r: (site.file, site.number))
    C: Array = np.diag(np.diag(part("sd"))) + cut * part("feed")
    return (
        C
        + alike(lambda site, r: site.file) * part("stiffness")
        + alike(lambda site, r: r.name) * part("model")
    )


def log_likelihood(job: ResolvedJob, drawn: samples.Draws, foresights: list[Prediction]) -> Array:
    """Logarithm of the chance of all that was seen, at every sample.

    What one neck went through is one history, up to the cut that broke it; cuts with other cutters
    stand each for itself.

    Parameters
    ----------
    job : ResolvedJob
        Its strength.
    drawn : Draws
        The sample.
    foresights : list of Prediction
        One for each test cut.

    Returns
    -------
    log_likelihood : ndarray, shape (s,)
    """
    return np.asarray(_outcomes(job, drawn, foresights, {}) + _reading_density(foresights))


def _outcomes(
    job: ResolvedJob,
    drawn: samples.Draws,
    foresights: list[Prediction],
    known: dict[tuple[int, ...], Array],
) -> Array:
    """Sum the logarithms of what became of every neck; each neck's own is worked out once.

    known: those worked out so far, by the test cuts of the neck.
    """
    total = np.zeros(drawn.u.shape[1])
    for neck in necks(foresights):
        cuts = tuple(map(id, neck))
        if cuts not in known:
            known[cuts] = _outcome(job, drawn, neck)
        total = total + known[cuts]
    return total


def necks(foresights: list[Prediction]) -> list[list[Prediction]]:
    """Test cuts neck by neck, in the order of the files: the job's own cutter made one after the
    other until it snapped, and the next ones with a cutter ground alike.

    Parameters
    ----------
    foresights : list of Prediction
        One for each test cut.

    Returns
    -------
    necks : list of list of Prediction
    """
    groups: list[list[Prediction]] = []
    own: list[Prediction] = []
    for f in foresights:
        if not f.site.same_cutter:
            groups.append([f])
            continue
        own.append(f)
        if not f.survived:
            groups.append(own)
            own = []
    return [*groups, own] if own else groups


def _outcome(job: ResolvedJob, drawn: samples.Draws, neck: list[Prediction]) -> Array:
    """Logarithm of the chance of what became of one neck: it lived, or its last cut broke it."""
    *cuts, last = neck
    if last.survived:
        return survival(job, _demand(neck), drawn).all if cuts else last.ln_lived
    if not cuts:
        return _broke(last.ln_before, last.ln_lived)
    so_far = _demand(cuts)
    total = survival(job, so_far.then(last.demand), drawn).all
    if last.before is not None:
        so_far = so_far.then(last.before)
    return _broke(survival(job, so_far, drawn).all, total)


def _broke(lived: Array | float, total: Array) -> Array:
    """Logarithm of the chance to live so far and then to break, from those to live so far and
    through it all.
    """
    # more is never borne better: only rounding lifts the difference over zero
    gone = np.minimum(total - np.maximum(lived, LEAST), 0.0)
    return np.asarray(lived + bayes.log_snapped(gone))


def _demand(cuts: list[Prediction]) -> Demand:
    demand = cuts[0].demand
    for f in cuts[1:]:
        demand = demand.then(f.demand)
    return demand


def history(
    job: ResolvedJob, drawn: samples.Draws, foresights: list[Prediction]
) -> samples.Worn | None:
    """Everything that the job's own cutter lived through; None when nothing, or when it snapped: a
    new one is next.

    Parameters
    ----------
    job : ResolvedJob
        Its strength.
    drawn : Draws
        The sample.
    foresights : list of Prediction
        One for each test cut.

    Returns
    -------
    worn : Worn or None
    """
    last = [neck for neck in necks(foresights) if neck[-1].proves]
    if not last:
        return None
    (neck,) = last
    demand = _demand(neck)
    return samples.Worn(
        cutter=neck[0].site.job.cutter, demand=demand, lived=survival(job, demand, drawn)
    )


def _reading_density(foresights: list[Prediction]) -> Array:
    """Logarithm of the joint density of all readings, zero where a sample foresees every one of
    them exactly.
    """
    readings = [(f.site, r) for f in foresights for r in f.readings]
    if not readings:
        return np.zeros(1)
    return bayes.log_normal_density(
        np.array([r.value - r.predicted for _, r in readings]), covariance(readings)
    )


def strained(foresights: list[Prediction]) -> float:
    """How badly even the sample that fits best explains the readings: chi-square over its 0.1 %
    point.

    Parameters
    ----------
    foresights : list of Prediction
        One for each test cut.

    Returns
    -------
    strain : float
        Over 1 the readings contradict each other or the model. [1]
    """
    return _strain_of(foresights, _reading_density(foresights))


def _strain_of(foresights: list[Prediction], density: Array) -> float:
    """`strained`, of a density that was worked out."""
    from scipy.special import chdtri

    k = sum(len(f.readings) for f in foresights)
    return -2 * float(density.max()) / float(chdtri(k, 0.001)) if k else 0.0


def weighed(job: ResolvedJob, drawn: samples.Draws) -> Weighed:
    """Weigh the sample by every test cut that counts.

    Parameters
    ----------
    job : ResolvedJob
        Its test cuts, metal, blank and the files that it names.
    drawn : Draws
        The sample, before any test cut.

    Returns
    -------
    weighed : Weighed
        The sample as it was when nothing counts.

    Raises
    ------
    InputError
        If too little of the sample is left: the test cuts contradict the model, or each other.
    """
    if drawn.weights is not None:
        raise ValueError("the sample is weighed already")
    sites, skipped = trial_cuts(job)
    n = drawn.u.shape[1]
    if not sites:
        return Weighed(drawn=drawn, foresights=(), skipped=skipped, effective=float(n))
    if len(sites) > MANY:
        _screened(job, samples.few_of(drawn, SCREEN), sites)
    foresights = [foresee(site, drawn) for site in sites]
    weights = bayes.weights(log_likelihood(job, drawn, foresights))
    left = bayes.effective_size(weights)
    if left < least_effective(n) or strained(foresights) > 1:
        raise _contradiction(job, drawn, foresights, left)
    return Weighed(
        drawn=replace(drawn, weights=weights, worn=history(job, drawn, foresights)),
        foresights=tuple(foresights),
        skipped=skipped,
        effective=left,
    )


def _screened(job: ResolvedJob, few: samples.Draws, sites: list[TrialCut]) -> None:
    """Refuse test cuts whose readings are far from what a small sample can explain.

    A small sample holds no point as good as the best of a large one: `BEYOND` is what it is allowed
    more.
    """
    foresights = [foresee(site, few) for site in sites]
    if strained(foresights) > BEYOND:
        weights = bayes.weights(log_likelihood(job, few, foresights))
        raise _contradiction(job, few, foresights, bayes.effective_size(weights))


def least_effective(n: int) -> float:
    """Fewest equally weighted samples that an answer from n samples may rest on. [1]"""
    return min(LEAST_EFFECTIVE, n / 64)


def _contradiction(
    job: ResolvedJob, drawn: samples.Draws, foresights: list[Prediction], left: float
) -> InputError:
    """Name the test cut that costs most of the sample, and say what to do."""
    n = drawn.u.shape[1]
    least = least_effective(n)

    known: dict[tuple[int, ...], Array] = {}

    def strain(some: list[Prediction], density: Array) -> float:
        if not some:
            return float(least / n)
        size = bayes.effective_size(bayes.weights(_outcomes(job, drawn, some, known) + density))
        return max(least / max(size, 1e-9), _strain_of(some, density))

    strains = [
        strain(foresights[:i] + foresights[i + 1 :], density)
        for i, density in enumerate(_densities_without(foresights))
    ]
    worst = int(np.argmin(strains))
    suspect = foresights[worst]
    site = suspect.site
    alone = strain([suspect], _reading_density([suspect])) > 1
    rival = "what is known of this metal and this blank" if alone else "the other test cuts"
    how = (
        f"of {n:,} samples only {left:,.0f} count, {least:,.0f} are needed"
        if left < least
        else "no sample explains all readings"
    )
    message = (
        f"contradicts {rival}: {how}. Check its units, its settings and the cutter's measures; if"
        " they are right, find out what was different in that cut (blank burnt in grinding, dull"
        " edge, packed chips, another stock) before you cut again. A neck that snapped is a"
        " warning: do not take the entry out to get an answer"
    )
    return InputError(site.file, [Problem(where=site.where, message=message)])


def _densities_without(foresights: list[Prediction]) -> Iterator[Array]:
    """`_reading_density` with each test cut left out in turn, all from one inverse of the whole
    covariance: with y = C^-1 r, chi-square falls by y_i' (C^-1)_ii^-1 y_i.
    """
    readings = [(f.site, r) for f in foresights for r in f.readings]
    if not readings:
        yield from (np.zeros(1) for _ in foresights)
        return
    residuals = np.array([r.value - r.predicted for _, r in readings])
    inverse = np.linalg.inv(covariance(readings))
    y = inverse @ residuals
    density = -0.5 * (residuals * y).sum(axis=0)
    first = 0
    for f in foresights:
        own = slice(first, first + len(f.readings))
        first = own.stop
        yield density + 0.5 * (y[own] * np.linalg.solve(inverse[own, own], y[own])).sum(axis=0)


def band(x: Array, w: Array | None) -> Band:
    """Middle of a sample, and where it lies 68 and 95 times in 100."""
    low_95, low_68, middle, high_68, high_95 = (_figures(q) for q in bayes.quantiles(x, BAND, w))
    return Band(middle=middle, low_68=low_68, high_68=high_68, low_95=low_95, high_95=high_95)


def _figures(x: float) -> float:
    """Keep the four figures that a sample earns."""
    return float(f"{x:.4g}")


def factors(job: ResolvedJob, f_z: float, sine: float, drawn: samples.Draws) -> tuple[Factor, ...]:
    """Factors on the force and on the strength, before and after the test cuts.

    Parameters
    ----------
    job : ResolvedJob
        Its force constants and strength.
    f_z : float
        Feed per tooth of the job. [mm]
    sine : float
        sin(phi) of the thickest chip. [1]
    drawn : Draws
        The sample, weighed.

    Returns
    -------
    factors : tuple of Factor
    """
    spreads = {
        "strength": (Uncertain.BLANK_STRENGTH, job.strength.spread),
        "fatigue strength": (Uncertain.THOUSAND_TURNS, job.strength.thousand_spread),
    }
    factors = {"force": samples.force_at(job, peak_chip(job, f_z, sine), drawn.z)}
    factors |= {name: np.exp(sd * drawn.z[row]) for name, (row, sd) in spreads.items()}
    return tuple(
        Factor(name=k, before=band(v, None), after=band(v, drawn.weights))
        for k, v in factors.items()
    )


def trials_of(
    job: ResolvedJob, way: Engagement, f_z: float, speed: float, seen: Weighed, after: Risk
) -> Trials | None:
    """Put before and after into the answer.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine and strength.
    way : Engagement
        How the undercut is made.
    f_z : float
        Feed per tooth of the job. [mm]
    speed : float
        Spindle speed of the job. [rad/s]
    seen : Weighed
        From `weighed`.
    after : Risk
        With the test cuts.

    Returns
    -------
    trials : Trials or None
        None when there is no test cut and none was skipped.
    """
    if not seen.foresights and not seen.skipped:
        return None
    before = (
        snap.assess(job, way, f_z, replace(seen.drawn, weights=None, worn=None), speed=speed)
        if seen.foresights
        else after
    )
    chances = [
        {"snap_probability": r.snap_probability, "low": r.low, "high": r.high}
        for r in (before, after)
    ]
    return Trials(
        cuts=tuple(_cut(f) for f in seen.foresights),
        skipped=seen.skipped,
        samples=seen.drawn.u.shape[1],
        effective_samples=float(f"{seen.effective:.4g}"),
        factors=factors(job, f_z, way.sine, seen.drawn),
        before=chances[0],
        after=chances[1],
    )


def _cut(f: Prediction) -> ScrapCut:
    trial = f.site.trial
    file = "" if f.site.file == "job" else f"{f.site.file} "
    snaps = float(f"{np.mean(np.exp(bayes.log_snapped(f.ln_lived))):.2g}")
    return ScrapCut(
        where=file + f.site.where,
        outcome=trial.outcome,
        length_mm=trial.length,
        snap_expected=snaps,
        readings=tuple(_reading(trial, r) for r in f.readings),
        sound=trial.sound,
    )


def _reading(trial: Trial, r: PredictedReading) -> TrialReading:
    unit, dimension = SHOWN[r.name]
    return TrialReading(
        name=r.name,
        unit=unit,
        value=units.to_unit(getattr(trial, r.name), unit, dimension),
        uncertainty=units.to_unit(getattr(trial, f"{r.name}_uncertainty"), unit, dimension),
        expected=expected(r, None),
    )


def expected(r: PredictedReading, w: Array | None) -> Band:
    """Where a reading is expected: what the samples foresee, widened by what else scatters it; in
    the unit shown.

    Parameters
    ----------
    r : PredictedReading
        The reading.
    w : ndarray or None
        Weights of the samples.

    Returns
    -------
    band : Band
    """
    unit, dimension = SHOWN[r.name]
    own = math.sqrt(r.feed**2 + r.stiffness**2 + r.model**2 + r.sd**2)
    ends = bayes.quantiles(r.predicted, BAND, w)
    away = ends - ends[2]
    wide = ends[2] + np.copysign(np.hypot(away, np.array([2, 1, 0, 1, 2]) * own), away)
    shown = [
        _figures(units.to_unit(float(v), unit, dimension))
        for v in (wide if r.name in WALLS else np.exp(wide))
    ]
    return Band(
        **dict(zip(("low_95", "low_68", "middle", "high_68", "high_95"), shown, strict=True))
    )

"""Scrap test cuts: the whole update is calibrated, moves the right way, and refuses what contradicts the model."""

from __future__ import annotations

import functools
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.special import ndtr

from loadsim import check, plan, read_job
from loadsim.base.errors import InputError
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads import assumptions
from loadsim.loads.cut import engagement_of
from loadsim.loads.neck_stress import notches, peaks
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.risk import bayes, samples, snap, trial_readings, trial_update
from loadsim.risk.demand import Run, demand_of
from loadsim.risk.neck_demand import Demand
from loadsim.risk.samples import OF_THE_CUT, Uncertain
from loadsim.risk.survival import survival
from loadsim.risk.trial_readings import OF_THE_CUTTER, WALLS, Prediction, TrialCut

BASE = job_from_text(example("t-track"), "t-track")
#: A neck that breaks now and then, on a machine that feeds evenly: a test cut tells something.
FRAIL = changed(
    BASE,
    {
        "cutter.neck_diameter": 2.9,
        "cutter.neck_fillet": 0.2,
        "machine.feed": "cnc",
        "machine.stiffness": 8000.0,
    },
)


def cut(
    f_z: float = 0.04, outcome: str = "survived", length: float = 118.0, **more: Any
) -> dict[str, Any]:
    return {
        "spindle_speed": 270.0,
        "feed_per_tooth": f_z,
        "outcome": outcome,
        "length": length,
        **more,
    }


def with_cuts(job: Job, *cuts: dict[str, Any]) -> Job:
    data = job.model_dump(exclude_none=True) | {"trial": list(cuts)}
    return Job.model_validate(data, context={"inside": True})


@functools.cache
def drawn(samples_log2: int = 13) -> samples.Draws:
    return samples.draws(samples_log2)


def after(job: Job, f_z: float = 0.03) -> tuple[float, trial_update.Weighed]:
    """Snap probability of the job at one feed, unrounded, and the weights."""
    s = resolve(job)
    seen = trial_update.weighed(s, drawn())
    way = engagement_of(s, passes(s, None, "conventional"), 24)
    p = snap.snaps(s, way, f_z, seen.drawn).p
    return bayes.mean(p, seen.drawn.weights), seen


@functools.cache
def usual(name: str, f_z: float = 0.03) -> float:
    """What a reading is in the middle, in internal units."""
    site = trial_readings.trial_cuts(resolve(with_cuts(FRAIL, cut(f_z))))[0][0]
    return float(trial_readings.predict(site, (name,), samples.median_draws().z)[name][0])


def reading(name: str, times: float, relative: float = 0.1) -> dict[str, float]:
    """A reading so many times the usual, with its uncertainty."""
    return {name: times * usual(name), f"{name}_uncertainty": times * usual(name) * relative}


def force_factor(seen: trial_update.Weighed) -> float:
    return float(
        bayes.quantiles(seen.drawn.z[Uncertain.FORCE_CONSTANTS], [0.5], seen.drawn.weights)[0]
    )


# ---- calibrated: simulated shops whose truth is known (Talts2018)

SHOPS = 1000
BINS = 20
#: Upper 0.1 % point of chi-square with 19 degrees of freedom (printed tables: 43.82).
CHI_0_001 = 43.82
RELATIVE = 0.20  # standard deviation of the logarithm of a reading
CUTS = (
    cut(
        0.03,
        force=60.0,
        force_uncertainty=24.0,
        spindle_power=20_000.0,
        spindle_power_uncertainty=8_000.0,
    ),
    cut(0.08, length=60.0, slot_width=10.43, slot_width_uncertainty=0.01),
    cut(0.12, cutter="another", force=90.0, force_uncertainty=36.0),
)


@functools.cache
def site_list() -> tuple[TrialCut, ...]:
    return tuple(trial_readings.trial_cuts(resolve(with_cuts(FRAIL, *CUTS)))[0])


@functools.cache
def foreseen() -> tuple[Prediction, ...]:
    return tuple(trial_readings.foresee(x, drawn()) for x in site_list())


def cut_draws(true: np.ndarray, site: TrialCut, rng: np.random.Generator) -> samples.Draws:
    """What is true in one test cut of every shop: half of how the feed wanders and chips pack is habit,
    the rest is this cut's; a cutter of its own has its own neck.
    """
    z = true.copy()
    for row in (*OF_THE_CUT, *(() if site.same_cutter else OF_THE_CUTTER)):
        z[row] = rng.standard_normal(z.shape[1])
    for row in (Uncertain.FEED_STEADINESS, Uncertain.CHIP_PACKING):
        z[row] = (true[row] + z[row]) / 2**0.5
    return samples.Draws(u=ndtr(z), z=z, replicates=1, seed=0)


def asked_of(site: TrialCut, cut_drawn: samples.Draws) -> Demand:
    run = Run(slots=site.share, cuts=1.0, travel=site.trial.length)
    return demand_of(site.job, site.way, site.f_z, cut_drawn, speed=site.speed, run=run)


class Necks:
    """Necks of many shops, each with strengths of its own: they live or break, cut by cut."""

    def __init__(self, true: np.ndarray, rng: np.random.Generator) -> None:
        self.n = true.shape[1]
        self.rng = rng
        self.lots = -rng.exponential(
            size=(3, self.n)
        )  # ln of the chance at which each way breaks it
        self.past: Demand | None = None

    def breaks(self, job: Any, asked: Demand, cut_drawn: samples.Draws) -> np.ndarray:
        """Whether each breaks now; those that do are replaced by new ones."""
        total = asked if self.past is None else self.past.then(asked)
        lives = survival(job, total, cut_drawn)
        ways = np.array([lives.fracture, lives.fatigue, lives.torsion])
        broken = (ways < self.lots).any(axis=0)
        new = -self.rng.exponential(size=(3, self.n))
        self.lots = np.where(broken, new, self.lots)
        # a new neck starts without a past
        self.past = Demand(
            sigma_1=np.where(broken, 0.0, total.sigma_1),
            sigma_v=np.where(broken, 0.0, total.sigma_v),
            torsion=np.where(broken, 0.0, total.torsion),
            grabbed=np.where(broken, 0.0, total.grabbed),
            turns=total.turns,
            amplitudes=tuple(np.where(broken, 0.0, x) for x in total.amplitudes),
        )
        return broken


@functools.cache
def shops() -> tuple[np.ndarray, list[tuple[np.ndarray, dict[str, np.ndarray]]]]:
    """What is true in each shop, and what each test cut there shows, drawn step by step and not from any likelihood."""
    rng = np.random.default_rng(7)
    true = rng.standard_normal((len(Uncertain), SHOPS))
    stiff = rng.standard_normal(SHOPS)
    model = {k: rng.standard_normal(SHOPS) for k in trial_update.SHOWN}
    shown = []
    own = Necks(true, rng)
    for site, f in zip(site_list(), foreseen(), strict=True):
        cut_drawn = cut_draws(true, site, rng)
        z = cut_drawn.z
        necks = own if site.same_cutter else Necks(true, rng)
        snapped = necks.breaks(site.job, asked_of(site, cut_drawn), cut_drawn)
        softer = replace(
            site,
            job=replace(
                site.job,
                stiffness=site.job.stiffness * np.exp(-trial_readings.STIFFNESS_SD * stiff),
            ),
        )  # type: ignore[arg-type]
        names = tuple(r.name for r in f.readings)
        fed = np.exp(assumptions.STEADINESS["cnc"][1] * rng.standard_normal(SHOPS))
        right = trial_readings.predict(softer, names, z, 1.0, fed) if names else {}
        values = {}
        for r in f.readings:
            x = right[r.name] if r.name in WALLS else np.log(right[r.name])
            values[r.name] = x + r.model * model[r.name] + r.sd * rng.standard_normal(SHOPS)
        shown.append((snapped, values))
    return true, shown


def seen_in(shop: int, sharper: float = 1.0, censored: bool = True) -> list[Prediction]:
    found = []
    for f, (snapped, values) in zip(foreseen(), shops()[1], strict=True):
        outcome = "snapped" if snapped[shop] or not censored else "survived"
        site = replace(f.site, trial=f.site.trial.model_copy(update={"outcome": outcome}))
        readings = tuple(
            replace(r, value=float(values[r.name][shop]), sd=r.sd * sharper) for r in f.readings
        )
        found.append(replace(f, site=site, readings=readings))
    return found


def chi_square(rows: tuple[int, ...], **wrong: Any) -> dict[int, float]:
    """Chi-square of the ranks of the truth among the weighted samples against even bins, by row of the draws."""
    true = shops()[0]
    ranks = {row: [] for row in rows}
    s = resolve(FRAIL)
    for shop in range(SHOPS):
        w = bayes.weights(trial_update.log_likelihood(s, drawn(), seen_in(shop, **wrong)))
        for row in rows:
            ranks[row].append(bayes.mean(drawn().z[row] < true[row, shop], w))
    counts = {row: np.histogram(r, bins=BINS, range=(0, 1))[0] for row, r in ranks.items()}
    return {
        row: float(((c - SHOPS / BINS) ** 2).sum() / (SHOPS / BINS)) for row, c in counts.items()
    }


ROWS = (
    Uncertain.FORCE_CONSTANTS,
    Uncertain.BLANK_STRENGTH,
    Uncertain.THOUSAND_TURNS,
    Uncertain.RUNOUT,
)


def test_the_update_is_calibrated_over_simulated_shops() -> None:
    snapped = np.array([s.mean() for s, _ in shops()[1]])
    assert ((snapped > 0.005) & (snapped < 0.95)).all(), snapped  # both outcomes occur
    assert snapped.max() > 0.15
    found = chi_square(ROWS)
    assert max(found.values()) < CHI_0_001, found


def test_the_calibration_sees_an_uncertainty_that_is_halved() -> None:
    assert chi_square(ROWS[:1], sharper=0.5)[ROWS[0]] > CHI_0_001


def test_the_calibration_sees_a_survival_that_is_taken_for_a_break() -> None:
    assert max(chi_square(ROWS[:2], censored=False).values()) > CHI_0_001


def test_an_uncertainty_is_two_standard_deviations() -> None:
    # JCGM100: an expanded uncertainty that covers 95 in 100 has coverage factor 2
    (f, *_) = foreseen()
    force, power = f.readings
    assert force.sd == pytest.approx(24.0 / 60.0 / 2)
    assert power.sd == pytest.approx(0.2)
    (_, g, _) = foreseen()
    assert g.readings[0].sd == pytest.approx(0.005)


# ---- a peer: shops drawn one by one, kept when they show what was seen


@pytest.mark.parametrize(("cuts", "kept"), [
    ([cut(0.10)], 0.2), ([cut(0.08), cut(0.09, "snapped", 60.0)], 0.2), ([cut(0.08, cutter="another"), cut(0.10, "snapped")], 0.2),
])  # fmt: skip
def test_weights_give_what_rejection_gives(cuts: list[dict[str, Any]], kept: float) -> None:
    job = with_cuts(FRAIL, *cuts)
    rng = np.random.default_rng(11)
    n = 60_000
    s = resolve(job)
    true = rng.standard_normal((len(Uncertain), n))
    keep = np.ones(n, bool)
    own = Necks(true, rng)
    for site in trial_readings.trial_cuts(s)[0]:
        cut_drawn = cut_draws(true, site, rng)
        necks = own if site.same_cutter else Necks(true, rng)
        snapped = necks.breaks(s, asked_of(site, cut_drawn), cut_drawn)
        keep &= snapped == (site.trial.outcome == "snapped")
    # the job itself is cut by those necks: they break or they live
    way = engagement_of(s, passes(s, None, "conventional"), 24)
    job_drawn = samples.Draws(u=ndtr(true), z=true, replicates=1, seed=0)
    snapped = own.breaks(s, demand_of(s, way, 0.06, job_drawn), job_drawn)
    p = snapped[keep]
    assert keep.mean() > kept * 0.1
    found, seen = after(job, 0.06)
    error = (
        4 * float(p.std()) * (1 / keep.sum() + 1 / seen.effective) ** 0.5
    )  # four standard errors of both
    assert found == pytest.approx(float(p.mean()), abs=error)
    # the cuts did teach something: two standard errors
    assert abs(after(FRAIL, 0.06)[0] - float(p.mean())) > error / 2


# ---- which way it moves


@pytest.mark.parametrize("f_z", [0.01, 0.04, 0.08, 0.15])
@pytest.mark.parametrize("length", [5.0, 60.0, 400.0])
@pytest.mark.parametrize("cutter", ["this", "another"])
def test_survival_never_looks_worse_and_a_break_never_safer(
    f_z: float, length: float, cutter: str
) -> None:
    for job_feed in (0.02, 0.08):
        before = after(FRAIL, job_feed)[0]
        assert after(with_cuts(FRAIL, cut(f_z, "survived", length, cutter=cutter)), job_feed)[
            0
        ] <= before * (1 + 1e-6)
        try:
            broken = after(with_cuts(FRAIL, cut(f_z, "snapped", length, cutter=cutter)), job_feed)[
                0
            ]
        except InputError:
            continue  # too unlikely to be weighed, and said so
        assert broken >= before * (1 - 1e-6)


def test_more_survivals_and_longer_ones_teach_more() -> None:
    found = [
        after(with_cuts(FRAIL, *cuts), 0.06)[0]
        for cuts in ([], [cut(0.06, length=20.0)], [cut(0.06, length=118.0)], [cut(0.06)] * 3)
    ]
    assert found == sorted(found, reverse=True) and found[0] > 1.05 * found[-1]


@pytest.mark.parametrize("name", ["force", "torque", "spindle_power", "deflection"])
def test_a_higher_reading_never_looks_safer(name: str) -> None:
    found = [
        after(with_cuts(FRAIL, cut(0.03, **reading(name, x, 0.2))))
        for x in (0.6, 0.8, 1.0, 1.3, 1.7)
    ]
    chances = [p for p, _ in found]
    factors = [force_factor(seen) for _, seen in found]
    assert chances == sorted(chances) and chances[0] < chances[-1]
    assert factors == sorted(factors) and factors[0] < factors[-1]


def test_a_reading_moves_the_force_its_way() -> None:
    """Over the usual raises the force factor; far over raises the chance too, in the middle the band narrows and it falls."""
    before = after(FRAIL)[0]
    high, over, middle = (
        after(with_cuts(FRAIL, cut(0.03, **reading("force", x)))) for x in (2.0, 1.2, 1.0)
    )
    assert high[0] > before and force_factor(high[1]) > force_factor(over[1]) > 0.2
    assert middle[0] < before and abs(force_factor(middle[1])) < 0.1


def test_many_readings_never_beat_the_error_they_share() -> None:
    """Closed form in the logarithm: what is left is at least the model's error beside that of the metal."""
    seen = after(with_cuts(FRAIL, *[cut(0.03, **reading("spindle_power", 1.0, 0.05))] * 12))[1]
    # of all that makes the force of this chip: metal, slope and cutter; at 270 rpm a built-up edge widens it
    speed = 270.0 * np.pi / 30
    job = resolve(FRAIL)
    force = np.log(samples.force_at(job, 0.03, seen.drawn.z, speed))
    w = seen.drawn.weights
    model = trial_readings.MODEL_SD["spindle_power"]
    sd = bayes.mean((force - bayes.mean(force, w)) ** 2, w) ** 0.5
    assert sd >= 0.95 * (1 / force.var() + 1 / model**2) ** -0.5


# ---- refused


def test_a_cut_that_contradicts_the_model_is_named() -> None:
    with pytest.raises(InputError) as caught:
        after(with_cuts(BASE, cut(0.016), cut(0.016, "snapped", 2.0)))
    (line,) = caught.value.lines()
    assert line.startswith(
        "job: [[trial]] 2: contradicts what is known of this metal and this blank: of 8,192 samples only"
    )
    assert (
        "128 are needed" in line
        and "Check its units" in line
        and "do not take the entry out" in line
    )


def test_cuts_that_contradict_each_other_are_named() -> None:
    alone = [
        after(with_cuts(FRAIL, cut(0.03, **reading("force", x, 0.05))))[1].effective
        for x in (0.6, 1.8)
    ]
    assert min(alone) > trial_update.least_effective(8192)  # each by itself is nothing strange
    with pytest.raises(InputError) as caught:
        after(
            with_cuts(
                FRAIL, *[cut(0.03, **reading("force", x, 0.05)) for x in (0.6, 0.62, 1.8, 0.61)]
            )
        )
    assert caught.value.lines()[0].startswith(
        "job: [[trial]] 3: contradicts the other test cuts: no sample explains all readings"
    )


@pytest.mark.independent("the density of the readings of the cuts that are left")
def test_a_cut_left_out_changes_the_density_as_if_it_had_never_been_read() -> None:
    job = with_cuts(
        FRAIL,
        cut(0.03, **reading("force", 0.6), **reading("spindle_power", 1.1)),
        cut(0.04),
        cut(0.05, cutter="another", **reading("force", 1.8)),
        cut(0.06, **reading("force", 1.2), slot_width=10.43, slot_width_uncertainty=0.01),
    )
    sites = trial_readings.trial_cuts(resolve(job))[0]
    seen = [trial_readings.foresee(site, drawn(8)) for site in sites]
    found = list(trial_update._densities_without(seen))
    for i, density in enumerate(found):
        left = trial_update._reading_density(seen[:i] + seen[i + 1 :])
        np.testing.assert_allclose(density, left, rtol=1e-8, atol=1e-8)
    alone = list(trial_update._densities_without(seen[1:2]))
    assert [x.tolist() for x in alone] == [[0.0]]


def test_many_cuts_that_contradict_each_other_are_refused_by_a_small_sample() -> None:
    cuts = [cut(0.03, **reading("force", x, 0.05)) for x in [0.6, 0.62] * 6]
    against = cut(0.03, **reading("force", 4.0, 0.05))
    with pytest.raises(InputError) as caught:
        after(with_cuts(FRAIL, *cuts, against))
    (many,) = caught.value.lines()
    assert many.startswith("job: [[trial]] 13: contradicts ")
    few = samples.few_of(drawn(), trial_update.SCREEN)
    with pytest.raises(InputError) as caught:  # as the small sample by itself
        trial_update.weighed(resolve(with_cuts(FRAIL, *cuts[1:], against)), few)
    assert caught.value.lines()[0].startswith("job: [[trial]] 12: contradicts ")


@pytest.mark.parametrize("high", [1.0, 1.8])
def test_many_cuts_that_only_a_large_sample_can_judge_are_left_to_it(
    high: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    cuts = [cut(0.03, **reading("force", x, 0.3)) for x in [0.9] * 12 + [high]]
    found = after(with_cuts(FRAIL, *cuts))
    monkeypatch.setattr(trial_update, "MANY", 1000)
    whole = after(with_cuts(FRAIL, *cuts))
    assert found[0] == whole[0] and found[1].effective == whole[1].effective


def test_least_effective_size() -> None:
    assert trial_update.least_effective(65_536) == 250
    assert trial_update.least_effective(256) == 4
    with pytest.raises(ValueError, match="weighed already"):
        trial_update.weighed(resolve(FRAIL), replace(drawn(), weights=np.ones(8192)))


# ---- in the answers


def test_without_test_cuts_nothing_changes() -> None:
    result = check(FRAIL, samples.draws(8))
    assert result.trials is None and result.to_dict()["trials"] is None


def test_check_shows_before_and_after() -> None:
    bare = check(FRAIL, drawn())
    result = check(with_cuts(FRAIL, cut(0.03, **reading("force", 1.2)), cut(0.03)), drawn())
    t = result.trials
    assert t is not None and [c.where for c in t.cuts] == ["[[trial]] 1", "[[trial]] 2"]
    assert t.before["snap_probability"] == bare.risk.snap_probability
    assert t.after == {
        "snap_probability": result.risk.snap_probability,
        "low": result.risk.low,
        "high": result.risk.high,
    }
    force = t.factors[0]
    assert [f.name for f in t.factors] == ["force", "strength", "fatigue strength"]
    assert (
        force.before.middle == pytest.approx(1, abs=0.01)
        and force.before.high_95 / force.before.low_95 > force.after.high_95 / force.after.low_95
    )
    assert 128 <= t.effective_samples < t.samples == 8192
    assert sum(d.share for d in result.risk.drivers) > 0.5


def test_a_better_known_force_that_is_higher_says_why_it_looks_safer() -> None:
    result = check(with_cuts(FRAIL, cut(0.03, **reading("force", 1.1))), drawn())
    assert result.risk.snap_probability < check(FRAIL, drawn()).risk.snap_probability
    assert "yet the snap probability fell: the force is now better known" in result.warnings[0]


def test_a_plan_after_a_break_feeds_slower_and_after_survivals_not() -> None:
    open_cut = changed(
        changed(FRAIL, {"cut.feed_per_tooth": None, "cut.spindle_speed": 250.0}),
        {"cutter.neck_diameter": 3.4},
    )
    feeds = [
        plan(with_cuts(open_cut, *cuts), drawn(12)).result.settings.feed_per_tooth_mm
        for cuts in ([cut(0.05, "snapped", 118.0)], [], [cut(0.08)] * 4)
    ]
    assert feeds[0] < feeds[1] <= feeds[2]


def test_advice_for_another_blank_takes_no_credit_from_this_one() -> None:
    from loadsim.answers import advice
    from loadsim.loads.cut import Picked
    from loadsim.risk import samples

    s = resolve(changed(FRAIL, {"cutter.neck_diameter": 2.2}))
    weights = np.exp(
        1.5 * drawn().z[Uncertain.BLANK_STRENGTH] + 1.5 * drawn().z[Uncertain.THOUSAND_TURNS]
    )  # a blank that proved strong
    few = samples.few_of(replace(drawn(), weights=weights / weights.mean()))
    picked = Picked(speed=250.0, f_z=0.04, stepover=None, notes=())
    other = {"cutter.material": "hss-m4-pm", "cutter.hardness": None}
    seen, bare = (
        advice._Trials(s, picked, x, frozenset()) for x in (few, replace(few, weights=None))
    )
    found, plain = (x.after(other) for x in (seen, bare))
    assert found is not None and plain is not None
    assert found.chance == plain.chance
    assert seen.now.chance.snap_probability < 0.85 * bare.now.chance.snap_probability


# ---- other files


def shop_file(tmp_path: Any, job: Job, name: str = "shop.toml", text: str = "") -> str:
    start = (
        example("t-track")
        .split("# [[trial]]")[0]
        .replace('"5.2 mm"', '"2.9 mm"')
        .replace('"0.4 mm"', '"0.2 mm"')
        .replace('feed = "hand"', 'feed = "cnc"')
    )
    (tmp_path / name).write_text(start + text, encoding="utf-8")
    return str(tmp_path / name)


SNAPPED = '\n[[trial]]\nspindle_speed = "2600 rpm"\nfeed_per_tooth = "0.05 mm/tooth"\nlength = "60 mm"\noutcome = "snapped"\n'


def naming(job: Job, *paths: str) -> Job:
    return Job.model_validate(
        job.model_dump(exclude_none=True) | {"job": {"number": "1", "trials": list(paths)}},
        context={"inside": True},
    )


def test_the_shop_file_counts_where_metal_and_blank_match(tmp_path: Any) -> None:
    path = shop_file(tmp_path, FRAIL, text=SNAPPED)
    before = after(FRAIL)[0]
    p, seen = after(naming(FRAIL, path))
    assert p > before and len(seen.foresights) == 1 and not seen.foresights[0].site.same_cutter
    for key, value, why in (
        ("work.material", "al-6061-t6", "it cut al-6061-o, this job cuts al-6061-t6"),
        ("cutter.hardness", 64.0, "its blank is another one"),
    ):
        p, seen = after(naming(changed(FRAIL, {key: value}), path))
        assert seen.foresights == () and why in seen.skipped[0] and path in seen.skipped[0]
        result = check(naming(changed(FRAIL, {key: value}), path), samples.draws(8))
        assert why in result.warnings[0] and result.trials is not None and result.trials.cuts == ()


def test_one_file_holds_cuts_in_several_metals_and_necks(tmp_path: Any) -> None:
    text = (
        SNAPPED
        + 'material = "al-6061-t6"\n'
        + SNAPPED
        + 'neck_diameter = "2.5 mm"\n'
        + SNAPPED
        + 'blank = "hss-m42"\n'
    )
    seen = after(naming(FRAIL, shop_file(tmp_path, FRAIL, text=text)))[1]
    assert [f.site.number for f in seen.foresights] == [2]
    assert seen.foresights[0].site.job.cutter.neck_diameter == 2.5
    assert (
        len(seen.skipped) == 2
        and "[[trial]] 1" in seen.skipped[0]
        and "[[trial]] 3" in seen.skipped[1]
    )


def test_a_file_that_teaches_nothing_or_points_on_is_said(tmp_path: Any) -> None:
    empty = shop_file(tmp_path, FRAIL, "empty.toml")
    assert after(naming(FRAIL, empty))[1].skipped == (
        f"{empty} has no [[trial]]: it teaches nothing.",
    )
    other = tmp_path / "on.toml"
    other.write_text(
        (tmp_path / "empty.toml")
        .read_text("utf-8")
        .replace("[job]", '[job]\ntrials = ["empty.toml"]')
        + SNAPPED,
        encoding="utf-8",
    )
    assert "are not read; name them in this job" in after(naming(FRAIL, str(other)))[1].skipped[0]


def test_the_files_are_found_beside_the_job(tmp_path: Any) -> None:
    shop_file(tmp_path, FRAIL, text=SNAPPED)
    own = tmp_path / "own.toml"
    own.write_text(
        example("t-track").replace("[job]", '[job]\ntrials = ["shop.toml", "none.toml"]'),
        encoding="utf-8",
    )
    job = read_job(own)
    assert job.job.trials == (str(tmp_path / "shop.toml"), str(tmp_path / "none.toml"))
    with pytest.raises(InputError, match=r"none\.toml: there is no such file"):
        check(job, samples.draws(8))


def test_a_neck_that_does_not_fit_its_file_is_said() -> None:
    with pytest.raises(
        InputError, match=r"job: \[\[trial\]\] 1: does not fit its file: \[cutter\] neck_diameter"
    ):
        after(with_cuts(FRAIL, cut(0.03, neck_diameter=7.0)))


def test_a_cutter_that_was_reground_is_another_one() -> None:
    site = trial_readings.trial_cuts(resolve(with_cuts(FRAIL, cut(0.03, neck_diameter=3.1))))[0][0]
    assert not site.same_cutter and site.job.cutter.neck_diameter == 3.1


# ---- predictions against by-hand numbers


def test_power_is_mean_torque_times_speed_and_width_is_head_and_runout() -> None:
    job = changed(BASE, {"machine.feed": "cnc", "cutter.runout": 0.02})
    s = resolve(with_cuts(job, cut(0.02)))
    site = trial_readings.trial_cuts(s)[0][0]
    found = trial_readings.predict(
        site,
        ("spindle_power", "slot_width", "wall_offset", "deflection", "force"),
        samples.median_draws().z,
    )
    result = check(
        changed(job, {"cut.feed_per_tooth": 0.02, "cut.spindle_speed": 270.0}), samples.draws(8)
    )
    # peer: the limits' summary, which takes the means over a fine turn
    assert found["spindle_power"][0] / 1e3 == pytest.approx(result.loads.mean_power_W, rel=0.01)
    assert found["force"][0] == pytest.approx(result.loads.peak_force_N, rel=0.02)
    # one pass through the middle: both walls are pushed the same way, each tooth's runout adds on both sides
    rigid = trial_readings.predict(
        site, ("slot_width", "wall_offset"), samples.median_draws().z, force=1e-9
    )
    assert rigid["slot_width"][0] == pytest.approx(10.4 + 2 * 0.02, abs=1e-6)
    assert rigid["wall_offset"][0] == pytest.approx(0.02, abs=1e-6)


@pytest.mark.parametrize("direction", ["conventional", "climb"])
def test_both_side_passes_push_their_wall_alike(direction: str) -> None:
    """By symmetry: the slot is wider by twice what one wall is off, whichever end of the slot the second pass starts from."""
    job = with_cuts(
        changed(
            BASE, {"slot.undercut_width": 11.0, "cutter.runout": 0.0, "cutter.neck_diameter": 4.0}
        ),
        cut(0.02, direction=direction),
    )
    site = trial_readings.trial_cuts(resolve(job))[0][0]
    assert [p.offset for p in site.way.passes[1:]] == pytest.approx([0.3, -0.3])
    found = trial_readings.predict(site, ("slot_width", "wall_offset"), samples.median_draws().z)
    assert abs(found["wall_offset"][0]) > 1e-4
    assert found["slot_width"][0] == pytest.approx(11.0 + 2 * found["wall_offset"][0], abs=1e-7)


def test_the_turns_are_those_of_the_cut() -> None:
    s = resolve(
        with_cuts(FRAIL, cut(0.05, length=118.0 + 10.4), cut(0.05, length=12.0))
    )  # travel of the job: slot and head
    whole, short = (trial_readings.foresee(x, drawn()) for x in trial_readings.trial_cuts(s)[0])
    # by hand: travel over feed per turn; packed chips stay ten times the three turns that a chip does
    # (brushed), in a short cut a share of that
    assert s.written.work.lubrication == "brush"
    assert sum(whole.demand.turns) == pytest.approx(128.4 / 0.1 + 30)
    assert sum(short.demand.turns) == pytest.approx(12 / 0.1 + 30 * 12 / 118)
    assert whole.ln_lived.mean() < 1.1 * short.ln_lived.mean() < 0
    assert whole.site.share == 1 and short.site.share == pytest.approx(12 / 118)


def next_chance(seen: trial_update.Weighed, job: Job, f_z: float = 0.06) -> float:
    s = resolve(job)
    way = engagement_of(s, passes(s, None, "conventional"), 24)
    return bayes.mean(snap.snaps(s, way, f_z, seen.drawn).p, seen.drawn.weights)


def test_three_slots_are_three_entries() -> None:
    # limit case: the same history, its draws paired otherwise
    one, three = (
        after(with_cuts(FRAIL, *cuts), 0.06)
        for cuts in ([cut(0.06, slots=3)], [cut(0.06), cut(0.06), cut(0.06)])
    )
    bare = after(FRAIL, 0.06)[0]
    p = one[0]
    error = 4 * (p * (1 - p)) ** 0.5 * (1 / one[1].effective + 1 / three[1].effective) ** 0.5
    assert p == pytest.approx(three[0], abs=min(error, 0.1 * p))
    assert p < 0.8 * bare
    assert sum(one[1].foresights[0].demand.turns) == pytest.approx(
        sum(sum(f.demand.turns) for f in three[1].foresights)
    )


@pytest.mark.parametrize("cutter", ["this", "another"])
def test_a_break_in_the_last_of_several_slots(cutter: str) -> None:
    # limit case: those before it were survived; other draws of the same history
    split = [cut(0.08, slots=3, cutter="this"), cut(0.08, "snapped", cutter="this")]
    one, two = (
        after(with_cuts(FRAIL, *cuts), 0.06)
        for cuts in ([cut(0.08, "snapped", slots=4, cutter=cutter)], split)
    )
    first = after(with_cuts(FRAIL, cut(0.08, "snapped", cutter=cutter)), 0.06)
    p = two[0]
    error = 4 * (p * (1 - p)) ** 0.5 * (1 / one[1].effective + 1 / two[1].effective) ** 0.5
    if cutter == "this":
        assert one[0] == pytest.approx(p, abs=min(error, 0.3 * p))
    # a neck that lived through three was no weak one: its break teaches less
    assert one[0] < 0.8 * first[0]


def test_another_cutters_neck_has_no_history() -> None:
    own, other = (
        after(with_cuts(FRAIL, cut(0.06, slots=12, cutter=x)), 0.06)[1] for x in ("this", "another")
    )
    assert own.drawn.worn is not None and other.drawn.worn is None


@pytest.mark.closed_form("a neck bears its worst instant again; another breaks by Weibull at it")
def test_what_a_neck_has_borne_it_bears_again() -> None:
    s = resolve(FRAIL)
    stress = np.array([0.9 * s.strength.sigma_0])
    none = np.array([1e-6])
    asked = Demand(
        sigma_1=stress,
        sigma_v=stress,
        torsion=none,
        grabbed=stress,
        turns=(1.0,),
        amplitudes=(none,),
    )
    median = samples.median_draws()
    worn = samples.Worn(cutter=s.cutter, demand=asked, lived=survival(s, asked, median))
    assert snap.next_snap(s, worn, asked, median, 0.0).p.item() == 0.0
    new = snap.next_snap(s, None, asked, median, 0.0).p.item()
    assert new == pytest.approx(-np.expm1(-(0.9**s.strength.m)), rel=1e-9)


def test_a_neck_that_is_changed_has_no_history() -> None:
    seen = after(with_cuts(FRAIL, cut(0.06, slots=12)), 0.06)[1]
    for key, value in (("neck_diameter", 2.9001), ("neck_fillet", 0.2001), ("neck_length", 5.4001)):
        # next to nothing is changed but that it is another neck: the chance is that without history
        changed_job = changed(FRAIL, {f"cutter.{key}": value})
        bare = trial_update.Weighed(
            drawn=replace(seen.drawn, worn=None),
            foresights=seen.foresights,
            skipped=(),
            effective=seen.effective,
        )
        found = next_chance(seen, changed_job)
        assert found == pytest.approx(next_chance(bare, changed_job), rel=1e-12)
        assert found != pytest.approx(next_chance(seen, FRAIL), rel=0.1)


def test_a_neck_that_broke_proves_nothing_to_the_next() -> None:
    broke = after(with_cuts(FRAIL, cut(0.06, slots=3), cut(0.06, "snapped")), 0.06)
    assert broke[1].drawn.worn is None
    again = after(with_cuts(FRAIL, cut(0.06), cut(0.06, "snapped"), cut(0.06, slots=2)), 0.06)
    worn = again[1].drawn.worn
    assert worn is not None and sum(worn.demand.turns) == pytest.approx(2 * (118 / 0.12 + 30))


@pytest.mark.closed_form(
    "Weibull: exp(-x^m) to live through x, exp(-x^m) - exp(-y^m) to break at y"
)
@pytest.mark.parametrize(("x", "y"), [(0.9, 1.1), (1.1, 0.9), (0.5, 0.5), (3.0, 4.0)])
def test_a_neck_that_lived_and_then_broke_is_one_neck(x: float, y: float) -> None:
    job = resolve(with_cuts(FRAIL, cut(0.06), cut(0.06, "snapped")))
    drawn = samples.median_draws()
    b = job.strength
    none = np.array([1e-6])
    foresights = []
    for site, times in zip(trial_readings.trial_cuts(job)[0], (x, y), strict=True):
        stress = np.array([times * b.sigma_0])
        asked = Demand(
            sigma_1=stress,
            sigma_v=stress,
            torsion=none,
            grabbed=stress,
            turns=(1.0,),
            amplitudes=(none,),
        )
        ln_lived = survival(job, asked, drawn).all
        foresights.append(Prediction(site=site, demand=asked, ln_lived=ln_lived, readings=()))
    found = float(np.exp(trial_update.log_likelihood(job, drawn, foresights)).item())
    expected = np.exp(-(x**b.m)) - np.exp(-(max(x, y) ** b.m))
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-300)


@pytest.mark.parametrize("length", [0.1, 1.0, 20.0])
@pytest.mark.parametrize("outcome", ["survived", "snapped"])
def test_a_cut_of_next_to_no_length_asks_what_the_steady_run_asks(
    length: float, outcome: str
) -> None:
    # limit case: the feed as set and the edge as it is are there from the first millimetre
    # edges that lean: next to nothing rings
    lean = changed(FRAIL, {"cutter.edge_skew": math.radians(10)})
    job = resolve(with_cuts(lean, cut(0.06, outcome, length)))
    (site,) = trial_readings.trial_cuts(job)[0]
    found = trial_readings.foresee(site, drawn(8))
    own = samples.redrawn(drawn(8), OF_THE_CUT, (*site.seed, 0))
    (at,) = site.way.contacts
    # the edge wears as far as it was used
    used = [replace(at, travel=length)]
    drawn_case = samples.sampled_case(job, used, 0.06, own.z, site.speed)
    case = samples.evened_case(job, used, drawn_case, 0.06, own.z)
    steady = peaks(case.with_(f_z=0.06), at.peak, notches(case)[0]).sigma_1
    assert (found.demand.sigma_1 >= steady * (1 - 1e-9)).all()
    if length == 0.1:
        # what is left of ringing; chips may pack in one of a hundred even so
        assert np.quantile(found.demand.sigma_1 / steady, 0.99) < 1.18


def test_what_readings_share() -> None:
    """Two cuts on one machine share its stiffness and the model's error of each kind, two readings of one cut its wear and feed."""
    both = {**reading("deflection", 1.0), **reading("force", 1.0)}
    s = resolve(
        with_cuts(
            changed(FRAIL, {"machine.stiffness": None, "cutter.stickout": 20.0}),
            cut(0.03, **both),
            cut(0.03, **both),
        )
    )
    found = [
        (x, r)
        for x in trial_readings.trial_cuts(s)[0]
        for r in trial_readings.foresee(x, drawn(8)).readings
    ]
    assert [r.name for _, r in found] == ["force", "deflection"] * 2
    C, (force, bend) = trial_update.covariance(found), [r for _, r in found[:2]]
    common = force.feed * bend.feed
    assert C[0, 0] == pytest.approx(force.sd**2 + force.feed**2 + force.model**2)
    assert C[0, 1] == pytest.approx(common)
    assert C[0, 2] == pytest.approx(force.model**2)
    assert C[1, 3] == pytest.approx(bend.stiffness**2 + bend.model**2)
    assert C[0, 3] == pytest.approx(0, abs=1e-12)
    # closed form: a collet of stiffness k adds 1/k and, by its tilt none, to the compliance of the cutter alone
    site = found[0][0]
    case = samples.sampled_case(s, site.way.contacts, 0.03, samples.median_draws().z)
    with_it = float(trial_readings._give(site, case)[0])
    alone = with_it - 1 / s.stiffness
    assert bend.stiffness == pytest.approx(
        np.log((alone + np.exp(trial_readings.STIFFNESS_SD_ASSUMED) / s.stiffness) / with_it),
        rel=1e-6,
    )
    assert force.stiffness == 0


@pytest.mark.parametrize("height", [0.10, 0.12])
@pytest.mark.parametrize("name", ["force", "deflection"])
def test_a_reading_on_a_head_a_tenth_high_is_taken(height: float, name: str) -> None:
    """A head of 0.10 to 0.12 mm, known to +-0.02, is drawn down to under half its height: the load stands in the
    middle of the head that is drawn, not at the middle of the one in the file."""
    sizes = {"slot.undercut_height": height, "cutter.head_height": height}
    thin = changed(FRAIL, sizes | {"cut.feed_per_tooth": 0.01})
    site = trial_readings.trial_cuts(resolve(with_cuts(thin, cut(0.01))))[0][0]
    as_expected = float(trial_readings.predict(site, (name,), samples.median_draws().z)[name][0])
    read = {name: as_expected, f"{name}_uncertainty": as_expected / 5}
    result = check(with_cuts(thin, cut(0.01, **read)))
    assert result.trials is not None
    assert [c.where for c in result.trials.cuts] == ["[[trial]] 1"]
    factor = result.trials.factors[0]
    # what was expected was read: the middle of the force stays, and is better known
    assert factor.after.middle == pytest.approx(factor.before.middle, rel=0.1)
    assert factor.after.high_95 / factor.after.low_95 < factor.before.high_95 / factor.before.low_95

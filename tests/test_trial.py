"""Scrap test cuts: the whole update is calibrated, moves the right way, and refuses what contradicts the model."""

from __future__ import annotations

import functools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.special import ndtr

from loadsim import bayes, check, foresight, plan, risk, trial
from loadsim.case import Setup, setup
from loadsim.domain import Job
from loadsim.errors import InputError
from loadsim.foresight import OF_THE_CUT, OF_THE_CUTTER, WALLS, Foresight, Site
from loadsim.job import changed, job_from_text, read_job
from loadsim.new import example

BASE = job_from_text(example("t-track"), "t-track")
#: A neck that breaks now and then, on a machine that feeds evenly: a test cut tells something.
FRAIL = changed(BASE, {"cutter.neck_diameter": 2.9, "cutter.neck_fillet": 0.2, "machine.feed": "cnc", "machine.stiffness": 8000.0})
NAME = {x: i for i, x in enumerate(risk.NAMES)}


def cut(f_z: float = 0.04, outcome: str = "survived", length: float = 118.0, **more: Any) -> dict[str, Any]:
    return {"spindle_speed": 270.0, "feed_per_tooth": f_z, "outcome": outcome, "length": length, **more}


def with_cuts(job: Job, *cuts: dict[str, Any]) -> Job:
    data = job.model_dump(exclude_none=True) | {"trial": list(cuts)}
    return Job.model_validate(data, context={"inside": True})


@functools.cache
def drawn(samples_log2: int = 13) -> risk.Draws:
    return risk.draws(samples_log2)


def after(job: Job, f_z: float = 0.03) -> tuple[float, trial.Weighed]:
    """Snap probability of the job at one feed, unrounded, and the weights."""
    s = setup(job)
    seen = trial.weighed(s, drawn())
    way = foresight.way_of(s, foresight.passes(s, None, "conventional"), 24)
    p = risk.snaps(s, way.passes, way.contacts, f_z, drawn()).p
    return bayes.mean(p, seen.drawn.weights), seen


def force_factor(seen: trial.Weighed) -> float:
    return float(bayes.quantiles(seen.drawn.z[0], [0.5], seen.drawn.weights)[0])


# ---- calibrated: simulated shops whose truth is known (Talts2018)

SHOPS, BINS = 1000, 20
#: Upper 0.1 % point of chi-square with 19 degrees of freedom (printed tables: 43.82).
CHI_0_001 = 43.82
RELATIVE = 0.20  # standard deviation of the logarithm of a reading
CUTS = (
    cut(0.03, force=60.0, force_uncertainty=24.0, spindle_power=20_000.0, spindle_power_uncertainty=8_000.0),
    cut(0.08, length=60.0, slot_width=10.43, slot_width_uncertainty=0.01),
    cut(0.12, cutter="another", force=90.0, force_uncertainty=36.0),
)


@functools.cache
def site_list() -> tuple[Site, ...]:
    return tuple(foresight.sites(setup(with_cuts(FRAIL, *CUTS)))[0])


@functools.cache
def foreseen() -> tuple[Foresight, ...]:
    return tuple(foresight.foresee(x, drawn()) for x in site_list())


@functools.cache
def shops() -> tuple[np.ndarray, list[tuple[np.ndarray, dict[str, np.ndarray]]]]:
    """What is true in each shop, and what each test cut there shows, drawn step by step and not from any likelihood."""
    rng = np.random.default_rng(7)
    true = rng.standard_normal((len(risk.NAMES), SHOPS))
    stiff = rng.standard_normal(SHOPS)
    model = {k: rng.standard_normal(SHOPS) for k in trial.SHOWN}
    shown = []
    for site, f in zip(site_list(), foreseen(), strict=True):
        z = true.copy()
        for row in (*OF_THE_CUT, *(() if site.same_cutter else OF_THE_CUTTER)):
            z[row] = rng.standard_normal(SHOPS)
        p = risk.snaps(site.setup, site.way.passes, site.way.contacts, site.f_z, risk.Draws(u=ndtr(z), z=z, replicates=1, seed=0), site.trial.length).p
        snapped = rng.random(SHOPS) < 1 - (1 - p) ** f.share
        softer = replace(site, setup=replace(site.setup, stiffness=site.setup.stiffness * np.exp(-foresight.STIFFNESS_SD * stiff)))  # type: ignore[arg-type]
        names = tuple(r.name for r in f.readings)
        worn = np.exp(risk.WEAR_SD * rng.standard_normal(SHOPS))
        fed = np.exp(risk.STEADINESS["cnc"][1] * rng.standard_normal(SHOPS))
        right = foresight.predict(softer, names, z, worn, fed) if names else {}
        values = {}
        for r in f.readings:
            x = right[r.name] if r.name in WALLS else np.log(right[r.name])
            values[r.name] = x + r.model * model[r.name] + r.sd * rng.standard_normal(SHOPS)
        shown.append((snapped, values))
    return true, shown


def seen_in(shop: int, sharper: float = 1.0, censored: bool = True) -> list[Foresight]:
    found = []
    for f, (snapped, values) in zip(foreseen(), shops()[1], strict=True):
        outcome = "snapped" if snapped[shop] or not censored else "survived"
        site = replace(f.site, trial=f.site.trial.model_copy(update={"outcome": outcome}))
        readings = tuple(replace(r, value=float(values[r.name][shop]), sd=r.sd * sharper) for r in f.readings)
        found.append(replace(f, site=site, readings=readings))
    return found


def chi_square(rows: tuple[int, ...], **wrong: Any) -> dict[int, float]:
    """Chi-square of the ranks of the truth among the weighted samples against even bins, by row of the draws."""
    true, ranks = shops()[0], {row: [] for row in rows}
    for shop in range(SHOPS):
        w = bayes.weights(trial.log_likelihood(seen_in(shop, **wrong)))
        for row in rows:
            ranks[row].append(bayes.mean(drawn().z[row] < true[row, shop], w))
    counts = {row: np.histogram(r, bins=BINS, range=(0, 1))[0] for row, r in ranks.items()}
    return {row: float(((c - SHOPS / BINS) ** 2).sum() / (SHOPS / BINS)) for row, c in counts.items()}


ROWS = tuple(NAME[x] for x in ("force constants of the metal", "strength of the blank", "fatigue strength", "runout"))


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

"""What one reading teaches: of the lathe cuts that others measured, and of cuts whose truth was drawn."""

from __future__ import annotations

import functools
import math
from typing import Any

import numpy as np
import pytest

from loadsim.base.errors import InputError
from loadsim.base.numbers import Array
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads.resolve import resolve
from loadsim.materials import load
from loadsim.materials.law import MetalLaw, metal_law
from loadsim.mechanics.wear import land_force
from loadsim.risk import bayes, samples, trial_readings, trial_update
from loadsim.risk.samples import OF_THE_CUT, Uncertain

TWO_SIDED_90 = 1.645
UNCERTAINTY = 0.05  # of a reading, 19 in 20

# ---- finish-turned H13: six edges, each at four feeds

#: Cutting force by depth [mm] and worn land [mm], at the four feeds. [N]
H13 = {
    (0.5, 0.0): (107.9, 126.6, 150.9, 171.0),
    (0.5, 0.1): (116.1, 141.4, 161.8, 183.2),
    (0.5, 0.3): (169.4, 195.0, 211.7, 229.2),
    (0.25, 0.0): (53.4, 63.4, 72.7, 80.1),
    (0.25, 0.1): (72.2, 84.5, 106.2, 116.9),
    (0.25, 0.3): (95.1, 106.8, 117.5, 128.2),
}
FEEDS = np.array([0.07, 0.09, 0.11, 0.13])  # [mm]


class Edge:
    """One edge of the lathe against the metal's law: what is measured over the median, and what moves it."""

    def __init__(self, law: MetalLaw, depth: float, land: float) -> None:
        sharp = law.median.force(FEEDS)
        along = float(land_force(law.median.specific(0.1), land)[0])
        self.off: Array = np.log(np.array(H13[depth, land]) / depth / (sharp + along))
        # a unit of level moves the whole, a unit of slope the part that the chip makes
        slope = sharp / (sharp + along) * np.log(FEEDS / law.pivot)
        self.moves: Array = np.stack([np.ones(len(FEEDS)), slope], axis=1)


@functools.cache
def h13() -> tuple[MetalLaw, list[Edge], float]:
    law = metal_law(load.load_work("tool-steel-h13").curves)
    job = changed(job_from_text(example("t-track"), "t-track"), {"work.material": "tool-steel-h13"})
    edges = [Edge(law, depth, land) for depth, land in H13]
    return law, edges, samples.tool_sd(resolve(job))


def learned(at: Edge, i: int, to: Edge, of_tool: float) -> tuple[Array, Array, Array]:
    """Two normal variables, level and slope, after a reading of one edge at one feed: mean of ln(force) of another at
    every feed, variance after and before; `of_tool`: variance of the level that the two edges do not share.
    """
    law = h13()[0]
    prior = np.diag([law.level_sd**2, law.slope_sd**2])
    shared = prior - np.diag([of_tool, 0.0])
    reading = (UNCERTAINTY / 2) ** 2 + trial_readings.MODEL_SD["force"] ** 2
    gain = to.moves @ shared @ at.moves[i] / (at.moves[i] @ prior @ at.moves[i] + reading)
    before = np.einsum("ki,ij,kj->k", to.moves, prior, to.moves)
    return gain * at.off[i], before - gain * (to.moves @ shared @ at.moves[i]), before


@pytest.mark.published(
    "finish-turned H13, open data set: one feed tells of the others", read="via a copied table"
)
def test_a_reading_in_h13_covers_the_other_feeds() -> None:
    held = []
    narrower = []
    for edge in h13()[1]:
        for i in range(len(FEEDS)):
            mean, after, before = learned(edge, i, edge, 0.0)
            scatter = (UNCERTAINTY / 2) ** 2  # of the force it is compared with
            z = (edge.off - mean) / np.sqrt(after + scatter)
            held += [abs(z[k]) <= TWO_SIDED_90 for k in range(len(FEEDS)) if k != i]
            narrower.append(math.sqrt(after[i] / before[i]))
    print(
        f"{sum(held)} of {len(held)} covered; band at the same feed {max(narrower):.2f} of what it was"
    )
    assert len(held) == 72
    assert sum(held) >= 0.85 * len(held)
    assert max(narrower) <= 0.6


@pytest.mark.published(
    "finish-turned H13, open data set: one edge tells of another", read="via a copied table"
)
def test_a_reading_in_h13_covers_other_edges() -> None:
    _, edges, tool = h13()
    assert 0.10 <= tool <= 0.15
    held = []
    narrower = []
    for edge in edges:
        for other in edges:
            if other is edge:
                continue
            for i in range(len(FEEDS)):
                mean, after, before = learned(edge, i, other, tool**2)
                z = (other.off - mean) / np.sqrt(after + (UNCERTAINTY / 2) ** 2)
                held += (abs(z) <= TWO_SIDED_90).tolist()
                narrower.append(math.sqrt(after[i] / before[i]))
    print(f"{sum(held)} of {len(held)} covered; {np.mean(narrower):.2f} of the band")
    assert sum(held) >= 0.85 * len(held)
    # another cutter's reading teaches less than one's own, but it teaches
    assert min(narrower) > 0.3
    assert max(narrower) < 0.9


# ---- whole jobs, their truth drawn

METALS = ("al-6061-t6", "steel-1045", "stainless-304")
TRUTHS = 24
READ_AT = 0.03  # [mm]
OTHERS = (0.015, 0.06)


def with_cut(job: Job, f_z: float, **more: Any) -> Job:
    row = {
        "spindle_speed": 30.0,
        "feed_per_tooth": f_z,
        "outcome": "survived",
        "length": 100.0,
    } | more
    return Job.model_validate(
        job.model_dump(exclude_none=True) | {"trial": [row]}, context={"inside": True}
    )


@functools.cache
def job_in(metal: str) -> Job:
    # an even feed and a stout neck: the reading teaches, not the survival
    return changed(
        job_from_text(example("t-track"), "t-track"),
        {"work.material": metal, "machine.feed": "cnc", "cutter.neck_diameter": 5.5},
    )


@functools.cache
def drawn() -> samples.Draws:
    return samples.draws(13)


def forces(metal: str, f_z: float, z: Array) -> Array:
    """Logarithm of the peak force of a slot at every sample."""
    (site,) = trial_readings.trial_cuts(resolve(with_cut(job_in(metal), f_z)))[0]
    return np.log(trial_readings.predict(site, ("force",), z)["force"])


def taught(metal: str, seed: int) -> tuple[list[float], list[bool], int]:
    """Share of the band that a reading leaves at its feed, whether the truth lies in the bands of other feeds, and how
    many readings were refused, which count as not covered.
    """
    rng = np.random.default_rng(seed)
    z = rng.standard_normal((len(Uncertain), TRUTHS))
    z[list(OF_THE_CUT)] = 0.0  # the steady run
    error = rng.normal(0.0, math.hypot(UNCERTAINTY / 2, trial_readings.MODEL_SD["force"]), TRUTHS)
    foreseen = {f_z: forces(metal, f_z, drawn().z) for f_z in (READ_AT, *OTHERS)}
    true = {f_z: forces(metal, f_z, z) for f_z in foreseen}
    left = []
    held = []
    for i in range(TRUTHS):
        force = math.exp(float(true[READ_AT][i] + error[i]))
        cut = with_cut(job_in(metal), READ_AT, force=force, force_uncertainty=UNCERTAINTY * force)
        try:
            weights = trial_update.weighed(resolve(cut), drawn()).drawn.weights
        except InputError:  # so far out that too few samples agree
            held += [False] * len(OTHERS)
            continue
        bands = {f_z: bayes.quantiles(x, [0.05, 0.95], weights) for f_z, x in foreseen.items()}
        before = bayes.quantiles(foreseen[READ_AT], [0.05, 0.95], None)
        left.append(float(np.diff(bands[READ_AT])[0] / np.diff(before)[0]))
        held += [bool(bands[f][0] <= true[f][i] <= bands[f][1]) for f in OTHERS]
    return left, held, TRUTHS - len(left)


@pytest.mark.independent(
    "truths drawn from the prior, readings made of them, against the bands that they leave"
)
def test_one_reading_narrows_the_band_and_keeps_the_truth() -> None:
    covered = []
    for seed, metal in enumerate(METALS):
        left, held, refused = taught(metal, seed)
        print(
            f"{metal}: {np.mean(left):.2f} of the band, at most {max(left):.2f}; {sum(held)} of {len(held)}, {refused} refused"
        )
        assert max(left) <= 0.6
        covered += held
    assert sum(covered) >= 0.85 * len(covered)

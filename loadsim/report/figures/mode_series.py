"""The numbers behind load against strength, for the way to break that brings most of the chance."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import TORSION_SD
from loadsim.report.figures.basis import Basis, samples
from loadsim.report.figures.cut_series import bell_width, kernel_density, load_and_strength
from loadsim.risk.bayes import quantiles
from loadsim.risk.demand import demand_of
from loadsim.risk.samples import Draws
from loadsim.risk.snap import snaps
from loadsim.risk.survival import FATIGUE_SD
from loadsim.words.proving import mode_shares

#: Half width of what is drawn of a strength, in standard deviations. [1]
REACH = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Humps:
    """How often each load occurs and how often the strength is there: density in its logarithm."""

    mode: str  #: way to break, a field of `loadsim.risk.results.Modes`
    dimension: str | None  #: of x; None where it is a share of what necks bear in the middle
    x: Array  #: (x,) [MPa], or [1]
    load: Array  #: (x,) [1]
    strength: Array  #: (x,) [1]
    load_median: float  #: [MPa], or [1]
    strength_median: float
    chance: float  #: that the one is over the other [1]


def governing_humps(basis: Basis) -> Humps:
    """Load against strength of the way to break that brings most of the chance to snap.

    Fracture is told in stress; fatigue, whose strength depends on all the turns, and torsion as a
    share of what necks bear in the middle. A grab of the table breaks by fracture too, at the
    stress of the tooth that is fed by the backlash, where it happens at all.

    Parameters
    ----------
    basis : Basis
        From `basis.basis_of`.

    Returns
    -------
    humps : Humps
    """
    mode = mode_shares(basis.plan.result.risk.modes)[0][0]
    if mode in ("fatigue", "torsion"):
        return _of_share(mode, basis)
    series = load_and_strength(basis)
    fracture = Humps(
        mode=mode,
        dimension="stress",
        x=series.stress,
        load=series.load,
        strength=series.strength,
        load_median=series.load_median,
        strength_median=series.strength_median,
        chance=series.fracture,
    )
    return fracture if mode == "fracture" else _of_grab(fracture, basis)


def _of_share(mode: str, basis: Basis) -> Humps:
    """Load over what a neck bears in the middle, against the scatter of necks ground alike."""
    drawn = samples(basis.plan)
    if mode == "fatigue":
        sd = FATIGUE_SD
        ln_load = snaps(basis.job, basis.way, basis.f_z, drawn, speed=basis.speed).fatigue
    else:
        sd = TORSION_SD
        ln_load = np.log(
            demand_of(basis.job, basis.way, basis.f_z, drawn, speed=basis.speed).torsion
        )
    w = _weights(drawn)
    x, load = _hump(ln_load, w, (-REACH * sd, REACH * sd))
    return Humps(
        mode=mode,
        dimension=None,
        x=np.exp(x),
        load=load,
        strength=np.exp(-0.5 * (x / sd) ** 2) / (sd * math.sqrt(2 * math.pi)),
        load_median=float(np.exp(quantiles(ln_load, [0.5], w)[0])),
        strength_median=1.0,
        chance=float(getattr(basis.plan.result.risk.modes, mode)),
    )


def _of_grab(fracture: Humps, basis: Basis) -> Humps:
    """Stress if the table is grabbed, against the strength that fracture has."""
    drawn = samples(basis.plan)
    asked = demand_of(basis.job, basis.way, basis.f_z, drawn, speed=basis.speed)
    ln_load = np.log(asked.grabbed)
    w = _weights(drawn)
    ln_x = np.log(fracture.x)
    x, load = _hump(ln_load, w, (float(ln_x[0]), float(ln_x[-1])))
    return replace(
        fracture,
        x=np.exp(x),
        load=load,
        strength=np.interp(x, ln_x, fracture.strength, left=0.0, right=0.0),
        load_median=float(np.exp(quantiles(ln_load, [0.5], w)[0])),
        chance=float(basis.plan.result.risk.modes.grab),
    )


def _weights(drawn: Draws) -> Array:
    count = drawn.u.shape[1]
    if drawn.weights is None:
        return np.full(count, 1 / count)
    return np.asarray(drawn.weights / drawn.weights.sum())


def _hump(ln_load: Array, w: Array, span: tuple[float, float]) -> tuple[Array, Array]:
    """Return logarithms that hold all samples and a span, and the density of the samples there."""
    width = bell_width(ln_load, w)
    low = min(span[0], float(ln_load.min()) - 3 * width)
    high = max(span[1], float(ln_load.max()) + 3 * width)
    x = np.linspace(low, high, 201)
    return x, kernel_density(x, ln_load, w, width)

"""One force law a metal: what its pooled sources say at every chip, and how far a cut may lie off.

A metal is what it is: who draws it once keeps its level and its slope for all chips, edges and
passes.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from loadsim.base.numbers import Array
from loadsim.materials.pooling import M_FLOOR, pooled
from loadsim.materials.schema import ForceCurve
from loadsim.mechanics.force_law import BentPower, PowerRatio
from loadsim.mechanics.metal_law import MetalLaw

#: Chips over which the law is fitted to the pool: from an edge that rubs to a coarse mill. [mm]
FITTED = (0.003, 0.3)

#: Chips at which the best-known one is looked for. [mm]
PIVOTS = (0.02, 0.3)

#: Points of the fit, and chips tried as the best-known one.
POINTS = 40
TRIED = 28


@lru_cache(maxsize=64)
def metal_law(curves: tuple[ForceCurve, ...]) -> MetalLaw:
    """Fit one law through what a metal's pooled sources say.

    ``ln F/b`` is a parabola in ``ln h`` by least squares over `FITTED`: Kienzle's straight line
    with a bend, as edge forces make one. Level and slope about the best-known chip have the spreads
    that come nearest to the pool's, what the parabola leaves included; no level is surer
    than the pool is anywhere.

    Parameters
    ----------
    curves : tuple of ForceCurve
        Of the metal, and those of the aged alloy that bounds a soft temper.

    Returns
    -------
    law : MetalLaw

    Raises
    ------
    ValueError
        If there is no curve, or the force would hardly grow with the chip.

    References
    ----------
    Kienzle1952
    DerSimonianKacker2007 section 2
    """
    h = np.geomspace(*FITTED, POINTS)
    pool = pooled(curves, h)
    x = np.log(h)
    ln_force = np.log(pool.k_c) + x
    bend, slope, level = np.polyfit(x, ln_force, 2)
    left = np.polyval([bend, slope, level], x) - ln_force
    pivot, level_sd, slope_sd = _spreads(h, pool.sigma_ln**2 + left**2)
    level_sd = max(level_sd, float(pool.sigma_ln.min()))
    law = MetalLaw(
        median=BentPower(math.exp(level), float(1.0 - slope), float(bend)),
        pivot=pivot,
        level_sd=level_sd,
        slope_sd=slope_sd,
        rake_reference=pool.rake_reference,
        notes=pool.notes,
    )
    if law.room(PowerRatio(1.0)) <= 0.0:
        raise ValueError("the pooled cutting force hardly grows with the chip")
    return law


def _spreads(h: Array, variance: Array) -> tuple[float, float, float]:
    """Best-known chip, and the spreads of level and slope about it, nearest to a variance."""
    best = (math.inf, 0.0, 0.0, 0.0)
    for pivot in np.geomspace(*PIVOTS, TRIED).tolist():
        distance = np.log(h / pivot) ** 2
        rows = np.stack([np.ones_like(h), distance]) / variance  # relative: thin chips do not rule
        (a, b), *_ = np.linalg.lstsq(rows.T, np.ones_like(h), rcond=None)
        b = max(b, M_FLOOR**2)
        off = float((((a + b * distance) / variance - 1.0) ** 2).sum())
        if a > 0 and off < best[0]:
            best = (off, pivot, math.sqrt(a), math.sqrt(b))
    return best[1:]

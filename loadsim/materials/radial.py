"""Radial over tangential force: what each source says, and one law a metal."""

from __future__ import annotations

import math

import numpy as np

from loadsim.materials.schema import RadialCurve
from loadsim.mechanics.force import radial_rake_factor
from loadsim.mechanics.force_law import (
    RATIO_CHIP,
    EdgeRatio,
    Kienzle,
    LinearEdge,
    MainValueRatio,
    PowerRatio,
    RadialRatio,
)

#: Standard deviation of ln(ratio) that is added where a family borrows another's (common practice,
#: no source: as far as families with sources of their own lie apart). [1]
BORROWED_SPREAD = 0.25

#: Chips that a source covers which does not say (common practice, no source). [mm]
SILENT_RANGE = (0.05, 0.3)


def ratio_of(
    model: str, v: dict[str, float], h_lo: float | None, h_hi: float | None
) -> RadialRatio:
    """Return the law of one source, by the model it prints.

    Parameters
    ----------
    model : str
        "edge", "main-values", "power" or "constant".
    v : dict
        Its constants by their key in the file, in mm and N.
    h_lo : float or None
        Thinnest chip that it covers. [mm]
    h_hi : float or None
        Thickest. [mm]

    Returns
    -------
    ratio : RadialRatio
        Held beyond these chips.
    """
    thin = h_lo or 0.0
    if model == "constant":
        return PowerRatio(v["ratio"])
    if model == "edge":
        radial = LinearEdge(v["K_rc"], v["K_re"])
        return EdgeRatio(radial, LinearEdge(v["K_tc"], v["K_te"]), thin)
    if model == "main-values":
        cutting, feed, passive = (Kienzle(v[f"k_{x}11"], 1.0 - v[f"x_{x}"]) for x in "cfp")
        return MainValueRatio(cutting, feed, passive, thin)
    n = v["exponent"]
    level = v["ratio"] * (v["chip_thickness"] / RATIO_CHIP) ** n
    return PowerRatio(level, n, thin, math.inf if h_hi is None else h_hi)


def pooled(curves: tuple[RadialCurve, ...], family: str) -> RadialCurve:
    """One law over all sources: the power law through their weighted geometric means at the ends of
    the chips that all cover, each brought to the mean rake first.

    Its spread is that between them at the thin end, and not less than what they state.

    Parameters
    ----------
    curves : tuple of RadialCurve
        At least one. A single one stands as it is.
    family : str
        Name of the whole.

    Returns
    -------
    curve : RadialCurve
    """
    if len(curves) == 1:
        return curves[0]
    weight = np.array([c.weight for c in curves])
    rakes = np.array([c.rake_reference or 0.0 for c in curves])
    rake = float(np.average(rakes, weights=weight))
    low = max(SILENT_RANGE[0] if c.h_lo is None else c.h_lo for c in curves)
    high = min(SILENT_RANGE[1] if c.h_hi is None else c.h_hi for c in curves)
    at = np.array([c.ratio.at(np.array([low, high])) for c in curves])
    logs = np.log(at * radial_rake_factor(rake, rakes)[:, None])
    mean = np.average(logs, axis=0, weights=weight)
    freedom = weight.sum() - (weight**2).sum() / weight.sum()
    between = float((weight * (logs[:, 0] - mean[0]) ** 2).sum() / freedom)
    stated = float(np.average([c.spread**2 for c in curves], weights=weight))
    thin, thick = np.exp(mean)
    return RadialCurve(
        label=family,
        source=", ".join(dict.fromkeys(c.source for c in curves)),
        ratio=PowerRatio.through(low, float(thin), high, float(thick)),
        spread=math.sqrt(max(between, stated)),
        rake_reference=rake,
        h_lo=low,
        h_hi=high,
    )

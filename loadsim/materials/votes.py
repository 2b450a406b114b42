"""Force curves gathered into votes, and the spread between votes: random-effects pooling."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loadsim.base.numbers import Array
from loadsim.materials.schema import ForceCurve

#: Standard deviation of ln k_c between alloys of one family. [1]
ALLOY_SD = 0.2

#: Standard deviation of ln k_c that each factor of e outside a source's range adds. [1]
STRETCH_SD = 0.25

#: Where a source that states no range is taken to start. [mm]
SILENT_START = 0.05

#: Repeated cuts of one bar scatter about this much; agreeing tables copy each other. [1]
SIGMA_FLOOR = 0.15

#: Least variance between sources that is looked for; far below what the floor lets count. [1]
TAU2_LEAST = 1e-4

#: Keeps the step finite where the votes are all one; the step then leads to no spread. [1]
SLOPE_LEAST = 1e-12

#: Most Newton steps; the function is convex, three to six are usual.
STEPS = 40


@dataclass(frozen=True, slots=True)
class Votes:
    """One vote a publication and alloy; every array has shape (n_votes, ...) with h's behind."""

    log_k: Array  #: mean over its curves of ln k_c, k_c in MPa [1]
    slope: Array  #: mean over its curves of -d ln k_c / d ln h [1]
    scatter: Array  #: variance of its ln k_c that is its own: other alloy, what it states [1]
    variance: Array  #: the same and what stretching its range adds [1]
    shared: Array  #: of that stretch what no vote is without, as a variance, shape of h [1]
    start: float  #: thinnest chip that any vote covers [mm]


def by_vote(curves: tuple[ForceCurve, ...]) -> list[list[ForceCurve]]:
    """Gather the curves that one publication gives for one alloy.

    Parameters
    ----------
    curves : tuple of ForceCurve
        In any order.

    Returns
    -------
    votes : list of list of ForceCurve
        In the order in which each is first met.
    """
    votes: dict[tuple[str, str], list[ForceCurve]] = {}
    for curve in curves:
        votes.setdefault((curve.source, curve.alloy), []).append(curve)
    return list(votes.values())


def reach(vote: list[ForceCurve]) -> tuple[float, float]:
    """Say for which chips a vote was measured.

    Parameters
    ----------
    vote : list of ForceCurve
        Of one publication and alloy.

    Returns
    -------
    lo, hi : float
        Thinnest and thickest chip; a silent source starts at ``SILENT_START`` and does not end.
        [mm]
    """
    lo = min(SILENT_START if c.h_lo is None else c.h_lo for c in vote)
    hi = max(math.inf if c.h_hi is None else c.h_hi for c in vote)
    return lo, hi


def cast(curves: tuple[ForceCurve, ...], h: Array) -> Votes:
    """Let every publication and alloy say its specific force at h, and how well it knows it.

    Parameters
    ----------
    curves : tuple of ForceCurve
        At least one.
    h : ndarray, shape (...,)
        Uncut chip thickness, > 0. [mm]

    Returns
    -------
    votes : Votes
        Of every vote: its variance is ``ALLOY_SD**2`` where it was measured on another alloy, and
        ``(STRETCH_SD * distance)**2`` of h from its range, and the mean square of what its curves
        state themselves. The middle one is no part of ``scatter``: laws of one form stretch alike,
        so that error does not show in the scatter of the votes and explains none of it.
    """
    groups = by_vote(curves)
    behind = (-1,) + (1,) * h.ndim
    sizes = [len(vote) for vote in groups]
    firsts = np.cumsum([0, *sizes[:-1]])
    k = np.stack([c.law.specific(h) for vote in groups for c in vote])
    rise = np.stack([c.law.size_effect(h) for vote in groups for c in vote])
    log_k, slope = (
        np.add.reduceat(x, firsts) / np.reshape(sizes, behind) for x in (np.log(k), rise / k)
    )
    lo, hi = (np.reshape(x, behind) for x in zip(*map(reach, groups), strict=True))
    apart = np.maximum(np.maximum(np.log(lo / h), -np.log(hi / h)), 0.0)
    known = [
        (ALLOY_SD**2 if vote[0].alloy else 0.0) + sum(c.spread**2 for c in vote) / len(vote)
        for vote in groups
    ]
    scatter = np.broadcast_to(np.reshape(known, behind), apart.shape)
    return Votes(
        log_k=log_k,
        slope=slope,
        scatter=scatter,
        variance=scatter + (STRETCH_SD * apart) ** 2,
        shared=(STRETCH_SD * apart.min(axis=0)) ** 2,
        start=float(lo.min()),
    )


def between_variance(y: Array, variance: Array) -> Array:
    """Variance between votes beyond what each vote's own variance explains.

    The estimator of Paule and Mandel: the tau^2 >= 0 at which the weighted sum of squares,
    weights ``1/(tau^2 + s_i^2)``, equals its expectation n - 1; none where it is smaller already.

    Parameters
    ----------
    y : ndarray, shape (n_votes, ...)
        Votes. [1]
    variance : ndarray, shape (n_votes, ...)
        Variance s_i^2 of each. [1]

    Returns
    -------
    tau2 : ndarray, shape (...,)
        [1]

    References
    ----------
    PauleMandel1982
    DerSimonianKacker2007 section 2.2
    """
    n = len(y)
    if n == 1:
        return np.zeros(y.shape[1:])
    tau2 = np.maximum(y.var(axis=0, ddof=1) - variance.mean(axis=0), TAU2_LEAST)
    for _ in range(STEPS):
        weight = 1.0 / (tau2 + variance)
        off = y - (weight * y).sum(axis=0) / weight.sum(axis=0)
        excess = (weight * off**2).sum(axis=0) - (n - 1)
        slope = (weight**2 * off**2).sum(axis=0)
        moved = excess / np.maximum(slope, SLOPE_LEAST)
        after = np.maximum(tau2 + moved, TAU2_LEAST)
        settled = np.abs(after - tau2) <= 1e-6 * after  # the next step would be the square of it
        tau2 = after
        if settled.all():
            break
    return np.where(tau2 > TAU2_LEAST, tau2, 0.0)


def shares(votes: Votes, tau2: Array) -> Array:
    """Weight of every vote in the mean.

    Parameters
    ----------
    votes : Votes
        At least one.
    tau2 : ndarray, shape (...,)
        Variance between them. [1]

    Returns
    -------
    share : ndarray, shape (n_votes, ...)
        ``1/(tau^2 + s_i^2)`` over the sum of these; tau no smaller than ``SIGMA_FLOOR`` here, as no
        source repeats itself better, so none outvotes the others altogether. [1]
    """
    weight = 1.0 / (np.maximum(tau2, SIGMA_FLOOR**2) + votes.variance)
    share: Array = weight / weight.sum(axis=0)
    return share

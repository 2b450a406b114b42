"""The one law of each metal held against the sources it was made from: each left out in turn, and all of them together."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from loadsim.base.numbers import Array
from loadsim.materials import folder, load, pooling, votes
from loadsim.materials.law import metal_law
from loadsim.materials.schema import ForceCurve

WORK = folder.names("work")
THIN = np.array([0.01, 0.03, 0.1])  # [mm]
TWO_SIDED_90 = 1.645
by_metal = pytest.mark.parametrize("name", WORK)


@cache
def own_curves(name: str) -> tuple[ForceCurve, ...]:
    return tuple(c for c in load.load_work(name).curves if c.upward is None)


MANY = [n for n in WORK if len(votes.by_vote(own_curves(n))) >= 4]


@dataclass(frozen=True)
class LeftOut:
    """Votes of a metal against the law of the others; (votes, chips)."""

    off: Array  #: ln of the vote's specific force over the law's [1]
    sigma: Array  #: spread of that law [1]
    own: Array  #: variance that the vote has of its own: another alloy, what it states [1]
    least: Array  #: spread that any pool of the others has: the floor, and the stretch that they share [1]


@cache
def left_out(name: str) -> LeftOut:
    groups = votes.by_vote(own_curves(name))
    found = []
    for vote in groups:
        others = tuple(c for g in groups if g is not vote for c in g)
        law = metal_law(others)
        cast = votes.cast(tuple(vote), THIN)
        shared = votes.cast(others, THIN).shared
        found.append((
            cast.log_k[0] - np.log(law.median.specific(THIN)),
            law.sigma_ln(THIN),
            cast.scatter[0] + 0.0 * THIN,
            np.sqrt(pooling.sigma_floor(others) ** 2 + shared),
        ))  # fmt: skip
    return LeftOut(*map(np.array, zip(*found, strict=True)))


# ---- each vote left out


def test_each_vote_lies_in_the_band_of_the_others_law() -> None:
    assert len(MANY) >= 25
    each = [left_out(name) for name in MANY]
    plain = np.concatenate([abs(x.off) <= TWO_SIDED_90 * x.sigma for x in each])
    allowed = [abs(x.off) <= TWO_SIDED_90 * np.sqrt(x.sigma**2 + x.own) for x in each]
    with_own = np.concatenate(allowed)
    for i, h in enumerate(THIN):
        print(
            f"{h:g} mm: {plain[:, i].mean():.3f}, its own variance counted {with_own[:, i].mean():.3f}"
        )
    print(f"all {plain.size}: {plain.mean():.3f}, {with_own.mean():.3f}")
    # asked: 90 % inside, 85 % at the least; a band that holds nearly all would be wider than forced
    assert 0.85 <= plain.mean() <= 0.95
    assert 0.85 <= with_own.mean() <= 0.97
    assert (plain.mean(axis=0) >= 0.80).all()


def test_no_metal_is_held_badly() -> None:
    # the chips of a vote go together: of four votes, each outside with a chance of 0.1, two are outside 1 in 20
    for name in MANY:
        x = left_out(name)
        assert np.mean(abs(x.off) <= TWO_SIDED_90 * np.sqrt(x.sigma**2 + x.own)) > 0.6, name


@pytest.mark.parametrize("name", MANY)
def test_the_law_spreads_no_wider_than_the_votes_left_out_scatter(name: str) -> None:
    # what is left out scatters about the others' law as the law's spread says; the floor and the stretch that all
    # the others share come on top as stated. A root mean square of n normal deviates is good to 1/sqrt(2 n): 35 %
    # for four votes; the law of all may lie a tenth over its pool.
    x = left_out(name)
    rms = np.sqrt((x.off**2).mean(axis=0))
    forced = np.hypot(np.maximum(rms, pooling.SIGMA_FLOOR), np.sqrt((x.least**2).mean(axis=0)))
    sigma = np.sqrt((x.sigma**2).mean(axis=0))
    n = len(x.off)
    print(f"{name}: spread {sigma.round(2)}, of the votes left out {rms.round(2)}")
    assert (sigma <= 1.1 * (1 + 1 / math.sqrt(2 * n)) * forced).all()
    # nor so narrow that it promises what the votes do not keep
    assert (np.sqrt(sigma**2 + x.own.mean(axis=0)) >= rms / (1 + 2 / math.sqrt(2 * n))).all()


# ---- the law against its pool


@by_metal
def test_the_law_lies_on_the_pooled_mean(name: str) -> None:
    # a straight line with one bend through a mean whose weights change with the chip: 4 % of the force
    h = np.geomspace(0.003, 0.3, 80)
    curves = load.load_work(name).curves
    law = metal_law(curves).median
    assert np.log(law.specific(h) / pooling.pooled(curves, h).k_c) == pytest.approx(0.0, abs=0.04)


def test_the_law_is_as_sure_as_its_pool() -> None:
    # two numbers, level and slope, cannot follow a spread that is flat where the sources reach and rises where they
    # end: a fifth is asked; metals whose votes agree (floor, then a steep rise) are held to it from 10 um to 100 um only,
    # and may be less sure there
    h = np.geomspace(0.005, 0.3, 80)
    near = (h >= 0.0099) & (h <= 0.101)
    off = []
    for name in WORK:
        curves = load.load_work(name).curves
        ratio = metal_law(curves).sigma_ln(h) / pooling.pooled(curves, h).sigma_ln
        assert ((ratio[near] > 0.8) & (ratio[near] < 1.4)).all(), name
        if (abs(ratio - 1) > 0.2).any():
            off.append(f"{name} {ratio.min():.2f} to {ratio.max():.2f}")
    print(off)
    assert len(off) <= len(WORK) // 4, off


@by_metal
def test_more_chip_is_never_less_force_by_the_law(name: str) -> None:
    h = np.geomspace(5e-4, 3.0, 500)
    law = metal_law(load.load_work(name).curves)
    assert (np.diff(law.median.force(h)) > 0).all()
    # and a thinner chip is harder to cut, over the chips of the fit: beyond, a bend may turn round
    assert (np.diff(law.median.specific(np.geomspace(5e-4, 0.3, 500))) < 0).all()
    # nor in any sample drawn, however far: the cutting force and what bends the neck
    radial = load.load_work(name).radial.ratio
    for z in (-4.0, -2.0, 2.0, 4.0):
        F_t = law.steepened(np.array([z]), radial).force(h)
        assert (np.diff(F_t) > 0).all()
        assert (np.diff(F_t * np.hypot(1.0, radial.at(h))) > 0).all()


def test_spread_beside_that_of_the_sources() -> None:
    # the table to read (pytest -s -n0): plain spread of the votes, of the pool, of the law
    print("standard deviation of ln k_c at 10, 30, 100 um: votes, theirs, the pool's, the law's")
    over = []
    for name in WORK:
        curves = load.load_work(name).curves
        k = votes.cast(own_curves(name), THIN).log_k
        if len(k) == 1:
            continue
        rows = (
            k.std(axis=0, ddof=1),
            pooling.pooled(curves, THIN).sigma_ln,
            metal_law(curves).sigma_ln(THIN),
        )
        told = "   ".join(" ".join(f"{x:.2f}" for x in row) for row in rows)
        print(f"{name:24}{len(k):2}   {told}")
        over.append(np.log(rows[2] / rows[0]))
    # one more cut scatters by at least what the sources do: over the metals, at each chip
    assert (np.mean(over, axis=0) > 0).all()
    print("law over votes, geometric mean:", np.exp(np.mean(over, axis=0)).round(2))

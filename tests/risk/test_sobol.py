"""Sobol points against scipy's, nets by their definition, variance shares against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtri
from scipy.stats import qmc

from loadsim.base.errors import ModelError
from loadsim.risk.sobol import MAX_DIMENSIONS, first_order_shares, replicates, sobol

RNG = np.random.default_rng


@pytest.mark.published(
    "JoeKuo2008, table new-joe-kuo-6",
    read="via scipy.stats.qmc.Sobol, which carries the same table",
)
@pytest.mark.parametrize("bits", [30, 32])
def test_unscrambled_points_are_scipys(bits: int) -> None:
    m = 10
    theirs = qmc.Sobol(MAX_DIMENSIONS, scramble=False, bits=bits).random_base2(m).T
    i = np.arange(1 << m)
    ours = (
        sobol(m, MAX_DIMENSIONS, None, bits) - 0.5 * 2.0**-bits
    )  # ours: centres of cells; theirs: corners
    np.testing.assert_array_equal(ours[:, i ^ (i >> 1)], theirs)  # theirs is in Gray code order


@pytest.mark.parametrize("m", [0, 1, 7, 12])
@pytest.mark.parametrize("seed", [1, 2])
def test_every_projection_is_a_net(m: int, seed: int) -> None:
    # definition of a (0, m, 1)-net in base 2: one point in each interval of length 2**-m
    u = sobol(m, MAX_DIMENSIONS, RNG(seed))
    cells = np.sort(np.floor(u * 2**m), axis=1)
    np.testing.assert_array_equal(cells, np.broadcast_to(np.arange(2**m), cells.shape))


def test_the_first_two_dimensions_are_a_net_in_the_plane() -> None:
    # Sobol 1967: t = 0 in two dimensions, so each box 2**-a by 2**-(m-a) holds one point; scrambling keeps it
    m = 8
    u = sobol(m, 2, RNG(3))
    for a in range(m + 1):
        box = np.floor(u[0] * 2**a) * 2 ** (m - a) + np.floor(u[1] * 2 ** (m - a))
        assert len(np.unique(box)) == 2**m


def test_points_are_inside_contiguous_and_not_repeated() -> None:
    u = sobol(16, 4, RNG(0), 16)
    assert u.shape == (4, 65536)
    assert u.flags.c_contiguous
    assert u.min() == 0.5 * 2.0**-16  # with every cell of 16 bits taken, the extremes are known
    assert u.max() == 1 - 0.5 * 2.0**-16
    assert 0 < sobol(4, 2, RNG(0)).min() < sobol(4, 2, RNG(0)).max() < 1


def test_a_scrambled_point_is_uniform() -> None:
    # over scrambles, any one point is uniform: the shift alone makes it so
    first = np.array([sobol(3, 2, RNG(s))[:, 5] for s in range(2000)])
    for column in first.T:
        assert stats.kstest(column, "uniform").pvalue > 1e-3


def test_the_matrix_scramble_changes_more_than_a_shift() -> None:
    # a digital shift alone keeps the exclusive or of two points; the matrices must not
    def differences(seed: int) -> list[int]:
        words = (sobol(3, 3, RNG(seed)) * 2.0**32).astype(np.uint64)
        return (words[:, 1] ^ words[:, 6]).tolist()

    assert differences(1) != differences(2)


def test_integral_converges_faster_than_monte_carlo() -> None:
    # the integral of prod(1 + (u_j - 1/2)/j) over the unit cube is 1
    def error(points: list[np.ndarray]) -> float:
        j = np.arange(1, 7)[:, None]
        return math.sqrt(
            np.mean([((1 + (u - 0.5) / j).prod(axis=0).mean() - 1) ** 2 for u in points])
        )

    fine = error([sobol(12, 6, RNG(s)) for s in range(20)])
    coarse = error([sobol(8, 6, RNG(s)) for s in range(20)])
    plain = error([RNG(s).random((6, 4096)) for s in range(20)])
    assert fine < plain / 20
    assert (
        math.log2(coarse / fine) / 4 > 0.8
    )  # Monte Carlo: order 1/2; scrambled nets: 1 and better


def test_replicates_are_independent_and_reproducible() -> None:
    a = replicates(6, 3, 4, 11)
    b = replicates(6, 3, 4, 11)
    c = replicates(6, 3, 4, 12)
    assert a.shape == (4, 3, 64)
    np.testing.assert_array_equal(a, b)
    assert not np.isin(a, c).any()
    assert len(np.unique(a)) == a.size  # no point of one scramble in another
    np.testing.assert_array_equal(
        a[:2], replicates(6, 3, 2, 11)
    )  # more scrambles keep the first ones


def test_replicate_means_scatter_as_their_error() -> None:
    # the mean of the replicates is unbiased: over many, it is within its own standard error (z < 4) of 1/3
    means = (replicates(4, 1, 400, 5)[:, 0] ** 2).mean(axis=1)
    assert abs(means.mean() - 1 / 3) < 4 * means.std(ddof=1) / math.sqrt(400) + 1e-12


# Ishigami and Homma 1990 (memory high): sin x1 + a sin^2 x2 + b x3^4 sin x1 on [-pi, pi]^3, closed form
A = 7.0
B = 0.1
V = A**2 / 8 + B * math.pi**4 / 5 + B**2 * math.pi**8 / 18 + 0.5
ISHIGAMI = np.array([0.5 * (1 + B * math.pi**4 / 5) ** 2 / V, A**2 / 8 / V, 0.0])


def ishigami(u: np.ndarray) -> np.ndarray:
    x = math.pi * (2 * u - 1)
    return np.sin(x[0]) + A * np.sin(x[1]) ** 2 + B * x[2] ** 4 * np.sin(x[0])


@pytest.mark.published(
    "Ishigami1990: S = 0.3139, 0.4424, 0 by the closed form", read="memory (high)"
)
def test_ishigami() -> None:
    assert pytest.approx([0.3139, 0.4424, 0], abs=5e-5) == ISHIGAMI
    u = sobol(14, 3, RNG(1))
    np.testing.assert_allclose(
        first_order_shares(u, ishigami(u), stratified=True), ISHIGAMI, atol=1e-3
    )
    # too much is taken off, up to 2 bins / n
    np.testing.assert_allclose(first_order_shares(u, ishigami(u)), ISHIGAMI, atol=2 * 32 / 2**14)


def test_ishigami_by_plain_monte_carlo_is_unbiased() -> None:
    # an average of 100 estimates of n = 2048; uncorrected, the third would be 31/2048 = 0.015 and more
    samples = [RNG(s).random((3, 2048)) for s in range(100)]
    shares = np.array([first_order_shares(u, ishigami(u)) for u in samples])
    error = shares.std(axis=0, ddof=1) / 10
    assert (np.abs(shares.mean(axis=0) - ISHIGAMI) < 4 * error).all()
    assert error[2] < 0.002


def test_shares_agree_with_scipy() -> None:
    def function(x: np.ndarray) -> np.ndarray:
        return np.exp(0.5 * x[0]) * (1 + x[1]) + 0.3 * x[2]

    uniform = stats.uniform()
    peer = stats.sobol_indices(func=function, n=2**13, dists=[uniform] * 3, rng=RNG(2)).first_order
    u = sobol(13, 3, RNG(4))
    np.testing.assert_allclose(
        first_order_shares(u, function(u), stratified=True), peer, atol=0.005
    )


@pytest.mark.parametrize("bins", [4, 16, 32])
def test_a_linear_sum_has_the_squares_of_its_weights(bins: int) -> None:
    # Var(sum w_j u_j) = sum w_j^2 / 12; with 4 bins the plain estimate would be 1/16 too small
    w = np.array([3.0, 2.0, 1.0, 0.0])
    u = sobol(14, 4, RNG(5))
    shares = first_order_shares(u, w @ u + 100, bins, stratified=True)
    np.testing.assert_allclose(shares, w**2 / (w @ w), atol=1e-3)


def test_shares_of_normal_inputs() -> None:
    w = np.array([2.0, 1.0, 1.0])
    u = sobol(14, 3, RNG(6))
    shares = first_order_shares(u, w @ ndtri(u), stratified=True)
    np.testing.assert_allclose(shares, w**2 / (w @ w), rtol=0.01)  # the tails' bins: a steep ndtri


def test_shares_do_not_depend_on_scale_and_offset() -> None:
    u = sobol(10, 3, RNG(7))
    y = ishigami(u)
    np.testing.assert_allclose(
        first_order_shares(u, 5 - 1e6 * y), first_order_shares(u, y), atol=1e-9
    )


def test_refusals() -> None:
    with pytest.raises(ValueError, match=r"^dimensions is 25; it must be in 1 \.\.\. 24$"):
        sobol(3, 25, None)
    with pytest.raises(
        ValueError, match=r"^n_log2 is 31 with 30 bits; 0 <= n_log2 <= bits <= 32 is needed$"
    ):
        sobol(31, 1, None, 30)
    with pytest.raises(ValueError, match=r"^count is 0; at least one scramble is needed$"):
        replicates(3, 1, 0, 1)
    u = sobol(8, 2, RNG(1))
    shapes = r"^inputs \(2, 256\), output \(2,\): not \(dimensions, n\) and \(n,\)$"
    with pytest.raises(ValueError, match=shapes):
        first_order_shares(u, np.ones(2))
    with pytest.raises(ValueError, match=r"^bins is 5; an even number from 4 on is needed$"):
        first_order_shares(u, u[0], 5)
    with pytest.raises(ValueError, match=r"^an input lies outside \(0, 1\)$"):
        first_order_shares(u + 0.5, u[0])
    with pytest.raises(ModelError, match=r"^the output has values that are not finite"):
        first_order_shares(u, np.where(u[0] > 0.5, np.nan, 1.0))
    with pytest.raises(
        ModelError, match=r"^256 samples are too few for 128 bins; take at least 512$"
    ):
        first_order_shares(u, u[0], 128)
    with pytest.raises(
        ModelError, match=r"^the output does not vary: it has no variance to share out$"
    ):
        first_order_shares(u, np.full(256, 0.1))
    with pytest.raises(
        ModelError, match=r"^a bin of 32 is empty; take more samples or fewer bins$"
    ):
        first_order_shares(u / 2, u[0])

"""Weights against closed forms: the conjugate normal case, censored and broken, sizes, quantiles, errors."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import log_ndtr, ndtri

from loadsim.risk import bayes, sobol

Z = ndtri(sobol.sobol(15, 2, np.random.default_rng(1)))


def posterior(x: np.ndarray, log_likelihood: np.ndarray) -> tuple[float, float]:
    w = bayes.weights(log_likelihood)
    m = bayes.mean(x, w)
    return m, math.sqrt(bayes.mean((x - m) ** 2, w))


@pytest.mark.parametrize(
    ("mean", "sd", "y", "s"), [(7.6, 0.25, 7.4, 0.10), (0.0, 1.0, 1.2, 0.5), (2.0, 0.1, 2.05, 0.4)]
)
def test_one_reading_is_the_conjugate_normal_case(
    mean: float, sd: float, y: float, s: float
) -> None:
    # closed form: precision 1/sd^2 + 1/s^2, mean weighted by precisions
    x = mean + sd * Z[0]
    m, spread = posterior(x, bayes.log_normal_density([y - x], [[s**2]]))
    precision = 1 / sd**2 + 1 / s**2
    assert m == pytest.approx((mean / sd**2 + y / s**2) / precision, abs=0.002 * sd)
    assert spread == pytest.approx(precision**-0.5, rel=0.004)


def test_readings_that_share_an_error_are_the_conjugate_normal_case() -> None:
    # closed form of y = A x + e, e ~ N(0, C): precision P = S^-1 + A' C^-1 A, mean P^-1 A' C^-1 y
    A = np.array([[1.0, 0.5], [0.8, -0.2], [0.3, 1.0]])
    C = np.diag([0.3, 0.2, 0.4]) ** 2 + 0.25**2 * np.outer([1, 1, 0], [1, 1, 0])
    y = np.array([0.6, -0.1, 0.4])
    S = np.diag([0.5, 0.7]) ** 2
    x = np.sqrt(np.diag(S))[:, None] * Z
    P = np.linalg.inv(S) + A.T @ np.linalg.inv(C) @ A
    expected = np.linalg.solve(P, A.T @ np.linalg.inv(C) @ y)
    w = bayes.weights(bayes.log_normal_density(y[:, None] - A @ x, C))
    for i in range(2):
        assert bayes.mean(x[i], w) == pytest.approx(expected[i], abs=0.003)
        assert math.sqrt(bayes.mean((x[i] - expected[i]) ** 2, w)) == pytest.approx(
            math.sqrt(np.linalg.inv(P)[i, i]), rel=0.01
        )


def test_the_shared_part_never_averages_away() -> None:
    # closed form: k readings with own error s and common error c leave c^2 + s^2/k
    x = Z[0]
    k = 60
    s = 0.2
    c = 0.3
    y = 0.5
    C = s**2 * np.eye(k) + c**2
    _, spread = posterior(x, bayes.log_normal_density(np.tile(y - x, (k, 1)), C))
    assert spread == pytest.approx((1 + 1 / (c**2 + s**2 / k)) ** -0.5, rel=0.01)


def test_survival_is_a_censored_strength() -> None:
    # peer: a normal strength x + e, e ~ N(0, s), known to be over the load; log_ndtr is the censored normal likelihood
    s = 0.3
    load = 0.4
    x = Z[0]
    lived = log_ndtr((x - load) / s)
    m, _ = posterior(x, lived)
    # closed form, selection of a normal by another: E x = rho phi(a)/Phi(-a), a = load/sqrt(1 + s^2), rho = 1/sqrt(1 + s^2)
    r = math.sqrt(1 + s**2)
    a = load / r
    hazard = math.exp(-(a**2) / 2) / math.sqrt(2 * math.pi) / (0.5 * math.erfc(a / math.sqrt(2)))
    assert m == pytest.approx(hazard / r, abs=0.003)
    broke, _ = posterior(x, bayes.log_snapped(lived))
    assert broke == pytest.approx(
        -math.exp(-(a**2) / 2) / math.sqrt(2 * math.pi) / (0.5 * math.erfc(-a / math.sqrt(2))) / r,
        abs=0.003,
    )


def test_beta_binomial() -> None:
    # p uniform: after 7 survived and 3 snapped the mean is (3 + 1)/(10 + 2), Laplace's rule of succession
    p = sobol.sobol(14, 1, np.random.default_rng(2))[0]
    w = bayes.weights(7 * np.log1p(-p) + 3 * bayes.log_snapped(np.log1p(-p)))
    assert bayes.mean(p, w) == pytest.approx(4 / 12, abs=1e-3)


@given(st.floats(0.0, 1.0 - 1e-12))
def test_survived_and_snapped_are_all_that_can_happen(p: float) -> None:
    ln_lived = math.log1p(-p)
    assert math.exp(ln_lived) + math.exp(bayes.log_snapped(ln_lived)) == pytest.approx(1)


@pytest.mark.closed_form("ln(1 - exp(-x)) of x that is next to nothing is ln x")
def test_small_chances_keep_their_figures() -> None:
    assert float(bayes.log_snapped(-1e-14)) == pytest.approx(math.log(1e-14), rel=1e-12)
    assert float(bayes.log_snapped(0.0)) == -math.inf
    assert float(bayes.log_snapped(-math.inf)) == 0.0


@pytest.mark.parametrize("bad", [0.1, math.nan, math.inf])
def test_what_is_no_chance_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="a chance to live is over 1 or is not a number"):
        bayes.log_snapped([-0.1, bad])


def test_effective_size_counts_what_counts() -> None:
    # k of n alike and the rest nothing: k
    assert bayes.effective_size([1, 1, 1, 0, 0, 0, 0]) == pytest.approx(3)
    assert bayes.effective_size([5, 5]) == pytest.approx(2)
    assert bayes.effective_size([0, 0]) == 0
    # lognormal weights: n exp(-v), the variance of the logarithm being v
    assert bayes.effective_size(np.exp(0.5 * Z[0])) / Z.shape[1] == pytest.approx(
        math.exp(-0.25), rel=0.01
    )


def test_weights_ruled_out_and_not_finite() -> None:
    assert (bayes.weights([-np.inf, -np.inf]) == 0).all()
    assert bayes.weights([-1e9, -1e9 + math.log(3)]) == pytest.approx([0.5, 1.5])
    for bad in ([math.nan, 0.0], [math.inf, 0.0]):
        with pytest.raises(ValueError, match="not a finite number"):
            bayes.weights(bad)
    with pytest.raises(ValueError, match="not positive definite"):
        bayes.log_normal_density([[1.0], [1.0]], [[1.0, 2.0], [2.0, 1.0]])


def test_weighted_quantiles_are_those_of_the_posterior() -> None:
    # N(0, 1) tilted by exp(x/2) is N(1/2, 1); its points at -1, 0 and 1 standard deviation
    found = bayes.quantiles(Z[0], [0.158655, 0.5, 0.841345], bayes.weights(0.5 * Z[0]))
    assert found == pytest.approx([-0.5, 0.5, 1.5], abs=0.01)
    assert bayes.quantiles(Z[0], [0.5], None) == pytest.approx([0.0], abs=1e-3)


def test_error_of_even_weights_is_that_of_none() -> None:
    x = Z[1].reshape(16, -1).ravel() ** 2
    a = bayes.mean_and_error(x, None, 16)
    b = bayes.mean_and_error(x, np.ones_like(x), 16)
    assert a == pytest.approx(b, rel=1e-9)


def test_interval_of_a_weighted_mean_covers() -> None:
    # N(0, 1) tilted by exp(x/2): mean 1/2; 200 samples of plain random numbers, two-sided 95 % of t with 15 degrees: 2.131
    rng = np.random.default_rng(4)
    hits = 0
    for _ in range(200):
        x = rng.standard_normal(16 * 64)
        m, error = bayes.mean_and_error(x, bayes.weights(0.5 * x), 16)
        hits += abs(m - 0.5) < 2.131 * error
    assert 180 <= hits <= 199  # 190 expected, binomial sd 3.1


def test_resampling_keeps_the_mean_and_ranks_are_even() -> None:
    kept = bayes.resampled(bayes.weights(0.5 * Z[0]), 4096)
    assert Z[0][kept].mean() == pytest.approx(0.5, abs=0.02)
    u = bayes.ranks(Z[:, kept])
    assert np.bincount((u[0] * 32).astype(int)).tolist() == [128] * 32


@pytest.mark.independent("numpy.quantile, method hazen")
@pytest.mark.parametrize("n", [1, 2, 7, 1000])
def test_quantiles_of_alike_weights_are_hazens(n: int) -> None:
    # numpy's own: a sample stands in the middle of its share of the whole (Hazen)
    x = np.random.default_rng(n).standard_normal(n)
    at = [0.0, 0.05, 0.31, 0.5, 0.95, 1.0]
    expected = np.quantile(x, at, method="hazen")
    assert bayes.quantiles(x, at, None) == pytest.approx(expected, rel=1e-12)
    assert bayes.quantiles(x, at, np.full(n, 3.0)) == pytest.approx(expected, rel=1e-12)


@pytest.mark.independent("numpy.quantile of the sample repeated, method inverted_cdf")
@pytest.mark.parametrize("n", [1, 2, 7, 1000])
def test_stepped_quantiles_are_numpys_of_the_weighted_sample(n: int) -> None:
    rng = np.random.default_rng(n)
    x = rng.standard_normal(n)
    w = rng.integers(1, 5, n).astype(float)  # whole weights: the sample repeated so many times
    at = [0.05, 0.31, 0.5, 0.95]
    expected = np.quantile(np.repeat(x, w.astype(int)), at, method="inverted_cdf")
    assert bayes.quantiles(x, at, w, interpolated=False).tolist() == expected.tolist()

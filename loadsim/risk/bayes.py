"""What was seen, on samples of what was believed before: likelihoods, weights, weighted means and
quantiles.

Samples come last, (s,). A weight is the likelihood of all that was seen, taken at one sample of the
prior.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array

ArrayLike = npt.ArrayLike


def log_snapped(ln_lived: ArrayLike) -> Array:
    """Logarithm of the chance to break, from that of the chance to live.

    Parameters
    ----------
    ln_lived : array_like, shape (s,)
        Natural logarithm of the chance to live, not over 0. [1]

    Returns
    -------
    log_likelihood : ndarray, shape (s,)
        Minus infinity where nothing breaks.

    Raises
    ------
    ValueError
        If a chance to live is over 1 or is not a number.
    """
    ln_lived = np.asarray(ln_lived, float)
    if not (ln_lived <= 0).all():
        raise ValueError("a chance to live is over 1 or is not a number")
    with np.errstate(divide="ignore"):
        log_likelihood: Array = np.log(-np.expm1(ln_lived))
    return log_likelihood


def log_normal_density(residuals: ArrayLike, covariance: ArrayLike) -> Array:
    """Logarithm of the joint normal density of readings, less its constant.

    Parameters
    ----------
    residuals : array_like, shape (k, s)
        Reading less its prediction at every sample.
    covariance : array_like, shape (k, k)
        Of the readings about a prediction: what they share makes them teach less together.

    Returns
    -------
    log_likelihood : ndarray, shape (s,)

    Raises
    ------
    ValueError
        If the covariance is not positive definite.
    """
    try:
        root = np.linalg.cholesky(np.asarray(covariance, float))
    except np.linalg.LinAlgError:
        raise ValueError("the covariance of the readings is not positive definite") from None
    z = np.linalg.solve(root, np.asarray(residuals, float))
    log_likelihood: Array = -0.5 * (z**2).sum(axis=0)
    return log_likelihood


def weights(log_likelihood: ArrayLike) -> Array:
    """Weights of the samples, with mean 1, from the logarithm of their likelihood.

    Parameters
    ----------
    log_likelihood : array_like, shape (s,)
        May be minus infinity, where a sample is ruled out.

    Returns
    -------
    w : ndarray, shape (s,)
        All zero when every sample is ruled out. [1]

    Raises
    ------
    ValueError
        If a value is not a number or plus infinity.
    """
    exponent = np.asarray(log_likelihood, float)
    if np.isnan(exponent).any() or (exponent == np.inf).any():
        raise ValueError("a likelihood is not a finite number")
    top = float(exponent.max())
    if top == -np.inf:
        return np.zeros_like(exponent)
    w: Array = np.exp(exponent - top)
    w /= w.mean()
    return w


def effective_size(w: ArrayLike) -> float:
    """Number of equally weighted samples that tell as much: ``(sum w)^2 / sum w^2``.

    Parameters
    ----------
    w : array_like, shape (s,)
        Weights. [1]

    Returns
    -------
    size : float
        Zero when every weight is. [1]

    References
    ----------
    Kong1994
    """
    w = np.asarray(w, float)
    square = float((w**2).sum())
    return float(w.sum()) ** 2 / square if square > 0 else 0.0


def mean(x: ArrayLike, w: ArrayLike | None) -> float:
    """Weighted mean.

    Parameters
    ----------
    x : array_like, shape (s,)
        Samples.
    w : array_like, shape (s,), or None
        Weights; None counts all alike. [1]

    Returns
    -------
    mean : float
    """
    weights = None if w is None else np.asarray(w, float)
    return float(np.average(np.asarray(x, float), weights=weights))


def quantiles(
    x: ArrayLike, at: ArrayLike, w: ArrayLike | None, *, interpolated: bool = True
) -> Array:
    """Weighted quantiles, the only ones of the project.

    A sample stands where half its own weight and all below it reach the share.

    Parameters
    ----------
    x : array_like, shape (s,)
        Samples.
    at : array_like, shape (q,)
        Shares, between 0 and 1. [1]
    w : array_like, shape (s,), or None
        Weights; None counts all alike. [1]
    interpolated : bool
        Straight lines between the samples; else the first sample with which all below it and
        itself reach the share, for samples that fall in two heaps with nothing between.

    Returns
    -------
    quantiles : ndarray, shape (q,)

    Examples
    --------
    >>> quantiles([3.0, 1.0, 2.0], [0.5], [5.0, 1.0, 1.0], interpolated=False)
    array([3.])
    """
    x = np.asarray(x, float)
    w = np.ones_like(x) if w is None else np.asarray(w, float)
    order = np.argsort(x, kind="stable")
    x = x[order]
    w = w[order]
    below = np.cumsum(w)
    share = np.asarray(at, float)
    if interpolated:
        between: Array = np.interp(share * w.sum(), below - w / 2, x)
        return between
    reached: Array = x[np.searchsorted(below, share * below[-1])]
    return reached


def mean_and_error(x: ArrayLike, w: ArrayLike | None, replicates: int) -> tuple[float, float]:
    """Mean over independent replicates, and its standard error.

    With weights: the ratio of sums, its error by leaving out one replicate at a time.

    Parameters
    ----------
    x : array_like, shape (s,)
        Samples, one replicate after the other.
    w : array_like, shape (s,), or None
        Weights; None counts all alike. [1]
    replicates : int
        Number of replicates, at least 2. [1]

    Returns
    -------
    mean : float
    error : float
    """
    x = np.asarray(x, float).reshape(replicates, -1)
    if w is None:
        each = x.mean(axis=1)
        return float(each.mean()), float(each.std(ddof=1)) / replicates**0.5
    w = np.asarray(w, float).reshape(replicates, -1)
    top = (w * x).sum(axis=1)
    bottom = w.sum(axis=1)
    without = (top.sum() - top) / (bottom.sum() - bottom)
    error = ((replicates - 1) * float(np.var(without))) ** 0.5
    return float(top.sum() / bottom.sum()), error


def resampled(w: ArrayLike, n: int) -> npt.NDArray[np.intp]:
    """Indices of n samples that stand for the weighted ones, taken at even steps of the summed
    weight.

    The samples are shuffled first, always alike: even steps through points of a sequence would
    follow its order.

    Parameters
    ----------
    w : array_like, shape (s,)
        Weights, not all zero. [1]
    n : int
        How many. [1]

    Returns
    -------
    indices : ndarray of int, shape (n,)
    """
    w = np.asarray(w, float)
    order = np.random.default_rng(w.size).permutation(w.size)
    total = np.cumsum(w[order])
    steps = (np.arange(n) + 0.5) / n * total[-1]
    places = np.minimum(np.searchsorted(total, steps, side="right"), total.size - 1)
    return np.asarray(order[places], np.intp)


def ranks(x: ArrayLike) -> Array:
    """Rank of every sample as a uniform in (0, 1), so that bins of it hold alike many.

    Parameters
    ----------
    x : array_like, shape (d, s)
        Samples.

    Returns
    -------
    u : ndarray, shape (d, s)
        [1]
    """
    x = np.asarray(x, float)
    place = np.argsort(np.argsort(x, axis=-1, kind="stable"), axis=-1, kind="stable")
    u: Array = (place + 0.5) / x.shape[-1]
    return u

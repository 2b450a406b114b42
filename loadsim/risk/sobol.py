"""Scrambled Sobol points, and the shares of variance read off a sample.

Our own, because importing the statistics part of scipy takes longer than a whole check.
"""

from __future__ import annotations

import functools
from typing import Final

import numpy as np
from numpy.typing import NDArray

from loadsim.base.errors import ModelError
from loadsim.base.numbers import Array

Bits = NDArray[np.uint32]

WORD: Final = 32

#: Joe and Kuo's table new-joe-kuo-6, its first dimensions: (degree s, coefficients a, m_1 ... m_s);
#: the first dimension, van der Corput's, has no line there
_JOE_KUO: Final = (
    (1, 0, (1,)),
    (2, 1, (1, 3)),
    (3, 1, (1, 3, 1)),
    (3, 2, (1, 1, 1)),
    (4, 1, (1, 1, 3, 3)),
    (4, 4, (1, 3, 5, 13)),
    (5, 2, (1, 1, 5, 5, 17)),
    (5, 4, (1, 1, 5, 5, 5)),
    (5, 7, (1, 1, 7, 11, 19)),
    (5, 11, (1, 1, 5, 1, 1)),
    (5, 13, (1, 1, 1, 3, 11)),
    (5, 14, (1, 3, 5, 5, 31)),
    (6, 1, (1, 3, 3, 9, 7, 49)),
    (6, 13, (1, 1, 1, 15, 21, 21)),
    (6, 16, (1, 3, 1, 13, 27, 49)),
    (6, 19, (1, 1, 1, 15, 7, 5)),
    (6, 22, (1, 3, 1, 15, 13, 25)),
    (6, 25, (1, 1, 5, 5, 19, 61)),
    (7, 1, (1, 3, 7, 11, 23, 15, 103)),
    (7, 4, (1, 3, 7, 13, 13, 15, 69)),
    (7, 7, (1, 1, 3, 13, 7, 35, 63)),
    (7, 8, (1, 3, 5, 9, 1, 25, 53)),
    (7, 14, (1, 3, 1, 13, 9, 35, 107)),
)

MAX_DIMENSIONS: Final = len(_JOE_KUO) + 1


def sobol(n_log2: int, dimensions: int, rng: np.random.Generator | None, bits: int = WORD) -> Array:
    """Sobol points in natural order, scrambled by random matrices and a digital shift.

    Parameters
    ----------
    n_log2 : int
        Logarithm to base 2 of the number of points n. [1]
    dimensions : int
        Number of inputs, at most `MAX_DIMENSIONS`. [1]
    rng : numpy.random.Generator or None
        Source of the scramble; None leaves the points unscrambled.
    bits : int
        Binary digits of a point, at least n_log2. [1]

    Returns
    -------
    u : ndarray, shape (dimensions, n)
        Points at the centres of their cells, strictly inside (0, 1). [1]

    Raises
    ------
    ValueError
        If the table does not reach so far.

    References
    ----------
    JoeKuo2008 table new-joe-kuo-6
    Matousek1998 random linear scrambling
    """
    if not 1 <= dimensions <= MAX_DIMENSIONS:
        raise ValueError(f"dimensions is {dimensions}; it must be in 1 ... {MAX_DIMENSIONS}")
    if not 1 <= bits <= WORD or not 0 <= n_log2 <= bits:
        raise ValueError(
            f"n_log2 is {n_log2} with {bits} bits; 0 <= n_log2 <= bits <= {WORD} is needed"
        )
    v = _directions()[:dimensions, :n_log2] >> np.uint32(WORD - bits)
    x = np.zeros((dimensions, 1 << n_log2), np.uint32)
    if rng is not None:
        v = _scrambled(v, _matrices(dimensions, bits, rng))
        x[:, 0] = rng.integers(0, 1 << bits, dimensions, dtype=np.uint64)
    for k in range(n_log2):
        half = 1 << k
        np.bitwise_xor(x[:, :half], v[:, k, None], out=x[:, half : 2 * half])
    u = x.astype(np.float64)
    u += 0.5
    u *= 2.0**-bits
    return u


def replicates(n_log2: int, dimensions: int, count: int, seed: int) -> Array:
    """Make independent scrambles of the same points: their scatter is the error of the mean.

    Parameters
    ----------
    n_log2 : int
        Logarithm to base 2 of the number of points n of each. [1]
    dimensions : int
        Number of inputs, at most `MAX_DIMENSIONS`. [1]
    count : int
        How many scrambles. [1]
    seed : int
        Equal seeds give equal points. [1]

    Returns
    -------
    u : ndarray, shape (count, dimensions, n)
        Points strictly inside (0, 1). [1]

    Raises
    ------
    ValueError
        As `sobol`, and if count is not positive.
    """
    if count < 1:
        raise ValueError(f"count is {count}; at least one scramble is needed")
    seeds = np.random.SeedSequence(seed).spawn(count)
    return np.stack([sobol(n_log2, dimensions, np.random.default_rng(s)) for s in seeds])


def first_order_shares(
    inputs_u: Array, output: Array, bins: int = 32, *, stratified: bool = False
) -> Array:
    """Share of the output's variance that each input explains alone.

    The variance between the means of the output in bins of one input. Two biases are removed: the
    chance scatter of the means (as in a one-way analysis of variance), and what is lost by the
    width of the bins, of order ``bins**-2``, by extrapolating from half as many bins.

    Points of `sobol` leave the means less scatter than chance does, on a smooth output of few
    inputs next to none; there the first correction takes off too much, by about ``2 bins / n`` at
    most.

    Parameters
    ----------
    inputs_u : ndarray, shape (dimensions, n)
        Independent inputs as uniforms in (0, 1). [1]
    output : ndarray, shape (n,)
        Result of each sample, in any unit.
    bins : int
        Number of bins, even. [1]
    stratified : bool
        Leave out the correction for chance scatter; shares are then up to ``2 bins / n`` too large.

    Returns
    -------
    shares : ndarray, shape (dimensions,)
        First-order indices; one near zero may come out slightly negative. [1]

    Raises
    ------
    ValueError
        If the shapes do not fit, an input lies outside (0, 1), or bins is odd.
    ModelError
        If the output is not finite or does not vary, or the sample is too small for the bins.

    References
    ----------
    Plischke2013 sec. 2
    """
    inputs_u = np.asarray(inputs_u, np.float64)
    output = np.asarray(output, np.float64)
    if inputs_u.ndim != 2 or output.shape != inputs_u.shape[1:]:
        raise ValueError(
            f"inputs {inputs_u.shape}, output {output.shape}: not (dimensions, n) and (n,)"
        )
    if bins < 4 or bins % 2:
        raise ValueError(f"bins is {bins}; an even number from 4 on is needed")
    if not ((inputs_u > 0) & (inputs_u < 1)).all():
        raise ValueError("an input lies outside (0, 1)")
    if not np.isfinite(output).all():
        raise ModelError(
            "the output has values that are not finite: it has no variance to share out"
        )
    if output.size < 4 * bins:
        raise ModelError(
            f"{output.size} samples are too few for {bins} bins; take at least {4 * bins}"
        )
    centred = output - output.mean()
    total = float(centred @ centred)
    if total <= output.size * (1e-14 * float(np.abs(output).max())) ** 2:  # all rounding
        raise ModelError("the output does not vary: it has no variance to share out")
    return np.array(
        [_share((u * bins).astype(np.intp), centred, total, bins, stratified) for u in inputs_u]
    )


def _share(
    where: NDArray[np.intp], centred: Array, total: float, bins: int, stratified: bool
) -> float:
    counts = np.bincount(where, minlength=bins).astype(np.float64)
    if not counts.all():
        raise ModelError(f"a bin of {bins} is empty; take more samples or fewer bins")
    sums: Array = np.bincount(where, centred, bins).astype(np.float64)
    pairs = counts.reshape(-1, 2).sum(axis=1)
    pair_sums = sums.reshape(-1, 2).sum(axis=1)
    fine = _explained(counts, sums, total, stratified)
    coarse = _explained(pairs, pair_sums, total, stratified)
    return fine + (fine - coarse) / 3


def _explained(counts: Array, sums: Array, total: float, stratified: bool) -> float:
    """Variance between bins over total variance, less what chance alone would put there."""
    between = float((sums**2 / counts).sum())
    if stratified:
        return between / total
    free = counts.size - 1
    within = (total - between) / (counts.sum() - counts.size)
    return float((between - free * within) / total)


@functools.cache
def _directions() -> Bits:
    """Direction numbers, shape (MAX_DIMENSIONS, WORD), most significant bit first."""
    v = np.empty((MAX_DIMENSIONS, WORD), np.uint32)
    v[0] = [1 << (WORD - 1 - k) for k in range(WORD)]
    for row, (s, a, m) in zip(v[1:], _JOE_KUO, strict=True):
        numbers = [m_k << (WORD - 1 - k) for k, m_k in enumerate(m)]
        for k in range(s, WORD):
            new = numbers[k - s] ^ (numbers[k - s] >> s)
            for i in range(1, s):
                if a >> (s - 1 - i) & 1:
                    new ^= numbers[k - i]
            numbers.append(new)
        row[:] = numbers
    v.setflags(write=False)  # shared by every call
    return v


def _matrices(dimensions: int, bits: int, rng: np.random.Generator) -> Bits:
    """Random lower triangular matrices over {0, 1} with a unit diagonal, a row packed in a word."""
    diagonal = np.uint32(1) << np.arange(bits - 1, -1, -1, dtype=np.uint32)
    above = np.uint32((1 << bits) - 1) ^ (diagonal | (diagonal - np.uint32(1)))
    random = rng.integers(0, 1 << bits, (dimensions, bits), dtype=np.uint64).astype(np.uint32)
    rows: Bits = (random & above) | diagonal
    return rows


def _scrambled(v: Bits, rows: Bits) -> Bits:
    """Multiply each direction number by its dimension's matrix, modulo 2."""
    bits = rows.shape[1]
    parity = np.bitwise_count(v[:, :, None] & rows[:, None, :]) & np.uint8(1)
    place = np.uint32(1) << np.arange(bits - 1, -1, -1, dtype=np.uint32)
    out: Bits = (parity * place).sum(axis=2).astype(np.uint32)
    return out

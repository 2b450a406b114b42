"""A head on springs, marched in small steps: true tracks of the edges, two unknowns at each step."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
#: Tangential and radial force on teeth against their chips. [N]
Law = Callable[[Array], tuple[Array, Array]]


def linear(slope: float, ratio: float) -> Law:
    """Return a radial force that rises by `slope` [N/mm], `ratio` of the tangential."""
    return lambda h: (slope / ratio * h, slope * h)


def power(width: float, K: float, p: float, land: float, ratio: float) -> Law:
    """Return F = b (K h^p + land); the land's press builds up within a nanometre."""

    def force(h: Array) -> tuple[Array, Array]:
        F = width * (K * h**p + land * np.minimum(h / 1e-6, 1.0))
        return F, ratio * F

    return force


def march(
    *,
    throws: list[float],
    f_z: float,
    radius: float,
    compliance: tuple[float, float],
    force: Law,
    throat: float = 0.0,
    sides: int = 2,
    steps: int = 12,
    turns: int = 20,
) -> Array:
    """Return the chips of the last turn, (tooth, angle), angles from 0 on in steps of the pitch/steps.

    The balance `u = c F(u)` is found by Newton with both unknowns; the surface is what the tips of
    earlier teeth have swept, farthest from where the axis would stand without give. Nothing is cut
    within `throat` (over the head) of the middle.
    """
    N = len(throws)
    around = N * steps
    tips = np.full((N * turns, around, 2), np.nan)  # by passes of an angle
    chips = np.zeros((N * turns, around))
    c = np.array(compliance)
    u = np.zeros(2)
    for s in range(around * turns):
        axis = np.array([f_z * s / steps, 0.0])
        a = (s - np.arange(N) * steps) % around  # tooth 0 leads
        n = (s - a) // steps  # passes of this angle before
        phi = 2 * math.pi * a / around
        out = np.stack([np.sin(phi), np.cos(phi)], axis=1)
        along = np.stack([np.cos(phi), -np.sin(phi)], axis=1)
        reach = (radius + np.array(throws))[:, None] * out
        aside = np.abs(out[:, 1]) if sides == 2 else out[:, 1]
        cuts = (out[:, 0] > 1e-9) & (aside >= throat - 1e-9) & (n >= 0)
        seen = [_before(tips, k, i, radius, axis) for k, i in zip(n, a, strict=True)]

        def deep(u: Array) -> Array:
            tip = u + reach  # noqa: B023
            front = [_front(x, t) for x, t in zip(seen, tip, strict=True)]  # noqa: B023
            return np.where(cuts, np.hypot(tip[:, 0], tip[:, 1]) - front, -1.0)  # noqa: B023

        def off(u: Array) -> Array:
            F_t, F_r = force(np.maximum(deep(u), 0.0))
            return u + c * (F_t @ along + F_r @ out)  # noqa: B023

        u = _root(off, u, 1e-4 * f_z)
        h = np.maximum(deep(u), 0.0)
        for j in np.flatnonzero(n >= 0):
            chips[n[j], a[j]] = h[j]
            tips[n[j], a[j]] = axis + u + reach[j]
    last = np.arange(N * (turns - 1) - N, N * (turns - 1))
    return np.stack([chips[last[(last % N) == j][0]] for j in range(N)])


def _before(tips: Array, n: int, a: int, radius: float, axis: Array) -> tuple[Array, Array]:
    """Return angle and distance of earlier tips near an angle, seen from the axis."""
    around = tips.shape[1]
    near = np.array([a - 1, a, a + 1])
    old = tips[max(n - 8, 0) : max(n, 0), near % around]
    # the face at the start is a circle around the first axis
    at = 2 * math.pi * near / around
    face = radius * np.stack([np.sin(at), np.cos(at)], axis=1)
    seen = np.concatenate([face[None], old]) - axis
    return np.unwrap(np.arctan2(seen[..., 0], seen[..., 1])), np.hypot(seen[..., 0], seen[..., 1])


def _front(seen: tuple[Array, Array], tip: Array) -> float:
    """Return how far earlier teeth have cut in the direction of a tip: a parabola through each."""
    angle, reach = seen
    d = np.angle(np.exp(1j * (math.atan2(tip[0], tip[1]) - angle)))
    span = angle[:, 1:] - angle[:, :-1]
    x0, x1, x2 = d.T
    first = reach[:, 0] * x1 * x2 / (span[:, 0] * (span[:, 0] + span[:, 1]))
    second = -reach[:, 1] * x0 * x2 / (span[:, 0] * span[:, 1])
    third = reach[:, 2] * x0 * x1 / ((span[:, 0] + span[:, 1]) * span[:, 1])
    return float(np.nanmax(first + second + third))


def _root(off: Callable[[Array], Array], u: Array, step: float) -> Array:
    """Newton on two unknowns, halved where it would go astray."""
    r = off(u)
    for _ in range(60):
        if np.abs(r).max() < 1e-4 * step:
            break
        slopes = [(off(u + e) - r) / step for e in step * np.eye(2)]
        move = np.linalg.solve(np.stack(slopes, axis=1), -r)
        share = 1.0
        while np.hypot(*(new := off(u + share * move))) > np.hypot(*r) and share > 1e-6:
            share /= 2
        u, r = u + share * move, new
    return u

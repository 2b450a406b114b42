"""A bench for whoever adds a model of chatter; the program has none.

One degree of freedom, ``x'' + 2 zeta omega x' + omega^2 x = -b H(t)/m (x(t) - x(t - tau))``, by
semi-discretization (the delayed motion a straight line in each step, the force its mean), and by a
second method that shares nothing with it, collocation. A new model is held
against the same numbers: multipliers (above 1 it chatters), depths, the limit of turning.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize_scalar

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Mode:
    """What gives, and what pushes it: mass [kg], frequency [rad/s], damping ratio [1]."""

    mass: float
    omega: float
    zeta: float
    push: Callable[
        [Array], Array
    ]  #: H over a share of the tooth period, for a metre of depth [N/m^2]


def teeth_push(
    K_t: float, K_n: float, teeth: int, enter: float, leave: float
) -> Callable[[Array], Array]:
    """Return sum of sin(phi) (K_t cos(phi) + K_n sin(phi)) over the teeth in the cut."""

    def push(share: Array) -> Array:
        total = np.zeros_like(share)
        for j in range(teeth):
            phi = 2 * math.pi * (share + j) / teeth
            cuts = (phi >= enter) & (phi <= leave)
            total += cuts * np.sin(phi) * (K_t * np.cos(phi) + K_n * np.sin(phi))
        return total

    return push


#: the benchmark of InspergerStepan2004: two teeth, full immersion
MILL = Mode(0.03993, 2 * math.pi * 922.0, 0.011, teeth_push(6e8, 2e8, 2, 0.0, math.pi))
#: turning with a tool of the same kind, K = 5e8 N/m^2
TURN = Mode(0.03993, 2 * math.pi * 922.0, 0.011, lambda share: np.full_like(share, 5e8))


def stepped(mode: Mode, delay: float, depth: float, steps: int, fine: int = 16) -> float:
    """Return the largest multiplier of a tooth period by semi-discretization."""
    dt = delay / steps
    share = (np.arange(steps * fine) + 0.5) / (steps * fine)
    H = depth / mode.mass * mode.push(share).reshape(steps, fine).mean(axis=1)
    A = np.zeros((steps, 2, 2))
    A[:, 0, 1] = 1.0
    A[:, 1, 0] = -(mode.omega**2) - H
    A[:, 1, 1] = -2 * mode.zeta * mode.omega
    fade = mode.zeta * mode.omega
    nu = np.sqrt(mode.omega**2 + H - fade**2)[:, None, None]  # e^(A dt) of a mode that swings
    swing = np.cos(nu * dt) * np.eye(2) + np.sin(nu * dt) / nu * (A + fade * np.eye(2))
    P = math.exp(-fade * dt) * swing
    once = np.linalg.solve(A, P - np.eye(2))  # integral of e^(As) over a step
    twice = np.linalg.solve(A, once - np.eye(2) * dt)
    late = twice[:, :, 1] * H[:, None] / dt
    early = once[:, :, 1] * H[:, None] - late
    state = np.eye(steps + 2)  # x, x', and x of so many steps before
    for p, b, a in zip(P, late, early, strict=True):
        new = p @ state[:2] + np.outer(b, state[-2]) + np.outer(a, state[-1])
        state = np.concatenate([new, state[:1], state[2:-1]])
    return float(np.abs(np.linalg.eigvals(state)).max())


def multiplier(mode: Mode, delay: float, depth: float, steps: int = 40) -> float:
    """Return it with the error of the second order taken off (two steppings)."""
    coarse, fine = (stepped(mode, delay, depth, n) for n in (steps, 2 * steps))
    return fine + (fine - coarse) / 3


def critical(mode: Mode, delay: float, most: float) -> float:
    """Return the depth [m] from which on it chatters."""
    return brentq(lambda b: multiplier(mode, delay, b) - 1, most / 20, most, rtol=1e-5)


def collocated(mode: Mode, delay: float, depth: float, nodes: int = 48) -> float:
    """Return the largest multiplier by one polynomial a tooth period through Chebyshev's nodes.

    Motion of this period in terms of that of the last: where the one ends the other begins, and the
    equation holds at all other nodes.
    """
    j = np.arange(nodes + 1)
    at = np.cos(math.pi * j / nodes)  # from the end, 1, to the beginning, -1
    sign = np.where((j == 0) | (j == nodes), 2.0, 1.0) * (-1.0) ** j
    D = np.outer(sign, 1 / sign) / (at[:, None] - at + np.eye(nodes + 1))
    D = (D - np.diag(D.sum(axis=1))) * 2 / delay
    H = np.diag(depth / mode.mass * mode.push((1 + at) / 2))
    one, none = np.eye(nodes + 1), np.zeros((nodes + 1, nodes + 1))
    stiff = mode.omega**2 * one + H
    now = np.block([[D, -one], [stiff, D + 2 * mode.zeta * mode.omega * one]])
    before = np.block([[none, none], [H, none]])
    for last in (nodes, 2 * nodes + 1):  # the beginning, of x and of x'
        now[last] = before[last] = 0.0
        now[last, last] = before[last, last - nodes] = 1.0
    return float(np.abs(np.linalg.eigvals(np.linalg.solve(now, before))).max())


def tooth_period(rpm: float) -> float:
    return 60 / (2 * rpm)


# --- milling -----------------------------------------------------------------------------------------


@pytest.mark.independent(
    "collocation; and the converged multipliers that are told of InspergerStepan2004"
)
@pytest.mark.parametrize(
    ("depth", "largest"), [(0.2, 0.8197), (0.5, 1.0739), (0.7, 1.2215), (1.0, 1.4064)]
)
def test_multipliers_at_5000_rpm(depth, largest):
    delay, b = tooth_period(5000), depth * 1e-3
    assert collocated(MILL, delay, b) == pytest.approx(largest, abs=1.1e-4)
    assert multiplier(MILL, delay, b) == pytest.approx(largest, rel=4e-4)


@pytest.mark.independent(
    "collocation; and the depths that are told of InspergerStepan2004, within 0.6 %"
)
@pytest.mark.parametrize(("krpm", "depth"), [(5, 0.411), (8, 0.678), (10, 0.323), (18, 0.690)])
def test_critical_depths(krpm, depth):
    delay = tooth_period(1000 * krpm)
    found = critical(MILL, delay, 1e-3)
    assert found * 1e3 == pytest.approx(depth, rel=6e-3)
    assert collocated(MILL, delay, found) == pytest.approx(1, abs=4e-4)
    assert collocated(MILL, delay, 0.99 * found) < 1 < collocated(MILL, delay, 1.01 * found)


@pytest.mark.closed_form("the error of the stepping falls with the square of the step: 4")
def test_the_stepping_is_of_second_order():
    delay = tooth_period(5000)
    found = [stepped(MILL, delay, 5e-4, n) for n in (40, 80, 160)]
    assert (found[1] - found[0]) / (found[2] - found[1]) == pytest.approx(4, rel=0.06)


@pytest.mark.closed_form(
    "no depth: e^(-zeta omega tau), free vibration; sin(phi) (K_t cos(phi) + K_n sin(phi)) at 45 and 135 degrees"
)
def test_limit_cases():
    delay = tooth_period(5000)
    free = math.exp(-MILL.zeta * MILL.omega * delay)
    assert stepped(MILL, delay, 0.0, 20) == pytest.approx(free, rel=1e-9)
    assert collocated(MILL, delay, 0.0) == pytest.approx(free, rel=1e-9)
    # half immersions: up-milling pushes with K_t + K_n, down-milling with K_n - K_t
    up, down = (
        teeth_push(6e8, 2e8, 2, *a)(np.array([0.25, 0.75]))
        for a in ((0.0, math.pi / 2), (math.pi / 2, math.pi))
    )
    assert up == pytest.approx([4e8, 0.0])
    assert down == pytest.approx([0.0, -2e8])


# --- turning -----------------------------------------------------------------------------------------


def limit_of_turning(mode: Mode, K: float) -> float:
    return 2 * mode.mass * mode.omega**2 * mode.zeta * (1 + mode.zeta) / K


def edge_of_turning(mode: Mode, K: float, omega: float, lobe: int) -> tuple[float, float]:
    """Return depth and delay at which i omega solves m s^2 + c s + k + K b (1 - e^(-s tau)) = 0."""
    stiff = mode.mass * (mode.omega**2 - omega**2)
    damp = 2 * mode.mass * mode.zeta * mode.omega * omega
    # K b (1 - cos) = -stiff, K b sin = -damp
    b = -(stiff**2 + damp**2) / (2 * stiff) / K
    phase = math.atan2(-damp / (K * b), 1 + stiff / (K * b))
    return b, (phase % (2 * math.pi) + 2 * math.pi * lobe) / omega


@pytest.mark.published("Tlusty1963: b_lim = 2 k zeta (1 + zeta)/K", read="memory (high)")
def test_limit_of_turning_is_the_least_depth_of_the_exact_equation():
    # the formula is the exact minimum, at omega sqrt(1 + 2 zeta)
    least = minimize_scalar(
        lambda w: edge_of_turning(TURN, 5e8, w, 3)[0],
        bounds=(1.001 * TURN.omega, 1.2 * TURN.omega), method="bounded", options={"xatol": 1e-3},
    )  # fmt: skip
    assert least.fun == pytest.approx(limit_of_turning(TURN, 5e8), rel=1e-8)
    assert least.x == pytest.approx(TURN.omega * math.sqrt(1 + 2 * TURN.zeta), rel=1e-4)


@pytest.mark.independent("the characteristic equation of turning, solved on the imaginary axis")
@pytest.mark.parametrize(
    ("stretch", "lobe"), [(math.sqrt(1.022), 1), (math.sqrt(1.022), 3), (1.05, 2), (1.15, 1)]
)
def test_edges_of_turning(stretch, lobe):
    omega = stretch * TURN.omega
    b, delay = edge_of_turning(TURN, 5e8, omega, lobe)
    s, k = 1j * omega, TURN.mass * TURN.omega**2
    left = (
        TURN.mass * s**2
        + 2 * TURN.zeta * TURN.mass * TURN.omega * s
        + k
        + 5e8 * b * (1 - np.exp(-s * delay))
    )
    assert abs(left) < 1e-9 * k
    assert multiplier(TURN, delay, b) == pytest.approx(1, abs=1e-3)
    assert collocated(TURN, delay, b) == pytest.approx(1, abs=1e-7)
    assert multiplier(TURN, delay, 0.95 * b) < 1 < multiplier(TURN, delay, 1.05 * b)


@pytest.mark.closed_form("below 2 k zeta (1 + zeta)/K no speed chatters")
def test_below_the_limit_every_speed_is_stable():
    b = limit_of_turning(TURN, 5e8)
    periods = np.linspace(0.6, 4.0, 40)
    deep = [multiplier(TURN, n / 922.0, 0.97 * b, 30) for n in periods]
    assert max(deep) < 1
    assert max(multiplier(TURN, n / 922.0, 1.1 * b, 30) for n in periods) > 1

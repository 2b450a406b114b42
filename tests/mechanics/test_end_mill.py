"""Helical end mill forces, against a textbook's averages and its closed form at an instant,
quadrature, and limits.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate

from loadsim.base.errors import ModelError
from loadsim.mechanics import chip, end_mill, force
from loadsim.mechanics.force_law import EdgeRatio, Kienzle, LinearEdge, PowerRatio

# 7075-T6, HSS cutter, dry: CJME2021 table 5 (via a copied table); the axial pair is chosen here,
# any number serves
K_TC = 951.365
K_TE = 11.115
K_RC = 262.597
K_RE = 11.314
K_AC = 301.0
K_AE = 4.2
LAWS = (LinearEdge(K_TC, K_TE), LinearEdge(K_RC, K_RE), LinearEdge(K_AC, K_AE))
D = 6.0
C = 0.02


def mean_forces(
    start: float, leave: float, N: int, a: float, c: float
) -> tuple[float, float, float, float]:
    """Average forces over a tooth period, Altintas, Manufacturing Automation, ch. 2, average force method (memory medium).

    Fx = {N a c/(8 pi) [K_tc cos 2phi - K_rc (2 phi - sin 2phi)] + N a/(2 pi) [-K_te sin phi + K_re cos phi]} from start to leave,
    Fy = {N a c/(8 pi) [K_tc (2 phi - sin 2phi) + K_rc cos 2phi] - N a/(2 pi) [K_te cos phi + K_re sin phi]},
    Fz = N a/(2 pi) {-K_ac c cos phi + K_ae phi}; the book's frame is the one used here. The torque by the same integral.
    """

    def between(f):
        return f(leave) - f(start)

    sin = math.sin
    cos = math.cos
    x = between(
        lambda p: (
            N * a * c / (8 * math.pi) * (K_TC * cos(2 * p) - K_RC * (2 * p - sin(2 * p)))
            + N * a / (2 * math.pi) * (-K_TE * sin(p) + K_RE * cos(p))
        )
    )
    y = between(
        lambda p: (
            N * a * c / (8 * math.pi) * (K_TC * (2 * p - sin(2 * p)) + K_RC * cos(2 * p))
            - N * a / (2 * math.pi) * (K_TE * cos(p) + K_RE * sin(p))
        )
    )
    z = between(lambda p: N * a / (2 * math.pi) * (-K_AC * c * cos(p) + K_AE * p))
    t = between(lambda p: D / 2 * N * a / (2 * math.pi) * (-K_TC * c * cos(p) + K_TE * p))
    return x, y, z, t


def averaged(
    start: float, leave: float, N: int, a: float, helix: float, n: int = 24, turns: int = 2880
) -> tuple[float, ...]:
    """The same from the slices: the mean over a tooth period, by midpoints."""
    turn = (np.arange(turns) + 0.5) / turns * 2 * math.pi / N
    s = end_mill.slices(turn, N, a, helix, D, start, leave, n)
    loads = end_mill.loads(s, end_mill.chip_thickness(s, C), *LAWS)
    return tuple(float(x.mean()) for x in (loads.F_x, loads.F_y, loads.F_z, loads.torque))


WINDOWS = [(0.0, math.pi), (0.0, math.pi / 2), (math.pi / 2, math.pi), (0.3, 1.1), (2.0, math.pi)]


@pytest.mark.published(
    "Altintas2012 ch. 2, average milling forces over a tooth period", read="memory (medium)"
)
@pytest.mark.parametrize("helix", [0.0, 10.0, 30.0, 45.0, 60.0])
@pytest.mark.parametrize("N", [1, 2, 3, 4])
@pytest.mark.parametrize(("start", "leave"), WINDOWS)
def test_average_forces_are_those_of_the_book_whatever_the_helix(
    start: float, leave: float, N: int, helix: float
) -> None:
    expected = mean_forces(start, leave, N, 4.0, C)
    # a straight tooth jumps at entry and exit: the midpoints see that to one part in their number
    rel = 2e-3 if helix == 0 else 5e-4
    found = averaged(start, leave, N, 4.0, math.radians(helix))
    size = max(math.fabs(x) for x in expected[:3])
    assert found[:3] == pytest.approx(expected[:3], rel=rel, abs=rel * size)
    assert found[3] == pytest.approx(expected[3], rel=rel)


@pytest.mark.published("Altintas2012 ch. 2, average forces of a full slot", read="memory (medium)")
@pytest.mark.parametrize("helix", [0.0, 30.0])
def test_slot(helix: float) -> None:
    # Fx = -N a/4 K_rc c - N a/pi K_re, Fy = N a/4 K_tc c + N a/pi K_te, Fz = N a/pi K_ac c + N a/2 K_ae
    N = 4
    a = 2.5
    expected = (
        -N * a / 4 * K_RC * C - N * a / math.pi * K_RE,
        N * a / 4 * K_TC * C + N * a / math.pi * K_TE,
        N * a / math.pi * K_AC * C + N * a / 2 * K_AE,
    )
    assert averaged(0.0, math.pi, N, a, math.radians(helix))[:3] == pytest.approx(
        expected, rel=1e-3
    )


def test_half_immersion_is_half_of_its_slot() -> None:
    """Up and down halves of a slot add up to the slot; across the feed and along the axis they are mirror images."""
    up, down = (
        averaged(*w, 2, 3.0, math.radians(30)) for w in ((0.0, math.pi / 2), (math.pi / 2, math.pi))
    )
    slot = averaged(0.0, math.pi, 2, 3.0, math.radians(30))
    assert np.add(up, down) == pytest.approx(np.array(slot), rel=1e-3)
    assert up[2] == pytest.approx(slot[2] / 2, rel=1e-3) and up[3] == pytest.approx(
        slot[3] / 2, rel=1e-3
    )


@pytest.mark.published(
    "Altintas2012 ch. 2, analytical end milling forces, integral over z in closed form",
    read="memory (medium)",
)
@pytest.mark.parametrize("helix", [5.0, 30.0, 50.0])
@pytest.mark.parametrize("turn", np.linspace(0.05, 2 * math.pi, 11))
def test_at_an_instant_the_closed_form(helix: float, turn: float) -> None:
    """F_x = {c/(4 k)[-K_tc cos 2p + K_rc (2p - sin 2p)] + 1/k [K_te sin p - K_re cos p]} from z1 to z2, p = phi - k z; so F_y, F_z."""
    N = 3
    a = 7.0
    start = 0.2
    leave = 2.7
    k = 2 * math.tan(math.radians(helix)) / D
    total = np.zeros(3)
    for j in range(N):
        for turns in (0, 1):
            tip = (turn - 2 * math.pi * j / N) % (2 * math.pi) + 2 * math.pi * turns
            z = [min(max((tip - p) / k, 0.0), a) for p in (leave, start)]
            for sign, p in zip((-1, 1), (tip - k * x for x in z), strict=True):
                s2 = math.sin(2 * p)
                c2 = math.cos(2 * p)
                s = math.sin(p)
                c = math.cos(p)
                total += sign * np.array(
                    [
                        C / (4 * k) * (-K_TC * c2 + K_RC * (2 * p - s2))
                        + (K_TE * s - K_RE * c) / k,
                        -C / (4 * k) * (K_TC * (2 * p - s2) + K_RC * c2)
                        + (K_TE * c + K_RE * s) / k,
                        (K_AC * C * c - K_AE * p) / k,
                    ]
                )
    cut = end_mill.slices([turn], N, a, math.radians(helix), D, start, leave, 400)
    loads = end_mill.loads(cut, end_mill.chip_thickness(cut, C), *LAWS)
    assert [loads.F_x.item(), loads.F_y.item(), loads.F_z.item()] == pytest.approx(
        total.tolist(), rel=1e-4, abs=1e-3
    )


def test_zero_helix_is_the_straight_cutter() -> None:
    """The other rooms' formulas for straight teeth: chip, Kienzle, frame; and the torque's closed form (K2 of the force kernel)."""
    turn = np.linspace(0.01, 2 * math.pi, 97)
    a = 1.7
    f_z = 0.03
    rho = 0.004
    h_min = 0.002
    s = end_mill.slices(turn, 2, a, 0.0, D, 0.0, math.pi)
    h = end_mill.chip_thickness(s, f_z, rho)
    loads = end_mill.rubbing_loads(s, h, Kienzle(800.0, 0.25), h_min, PowerRatio(0.5), 0.0)
    x = np.zeros_like(turn)
    y = np.zeros_like(turn)
    for j in range(2):
        phi = (turn - math.pi * j) % (2 * math.pi)
        flat = chip.thickness(phi, np.full(phi.size, j), f_z, rho, 2)[:, 0]
        F = a * Kienzle(800.0, 0.25).force(np.maximum(flat, h_min)) * (flat > 0)
        F_x, F_y = force.feed_frame(F, 0.5 * F, phi)
        x = x + F_x
        y = y + F_y
    assert loads.F_x[:, 0] == pytest.approx(x) and loads.F_y[:, 0] == pytest.approx(y)
    assert not loads.F_z.any()


@pytest.mark.closed_form("T = N a D k_c11 f^(1-m) B/(4 pi), B of gamma functions")
@pytest.mark.parametrize("helix", [0.0, 35.0])
def test_mean_torque_of_kienzle_in_a_slot(helix: float) -> None:
    # closed form: T = N a D k_c11 f^(1-m) B/(4 pi), B = sqrt(pi) Gamma((2-m)/2)/Gamma((3-m)/2); the helix does not enter
    N = 2
    a = 1.0
    f = 0.0127
    m = 0.25
    B = math.sqrt(math.pi) * math.gamma((2 - m) / 2) / math.gamma((3 - m) / 2)
    turn = (np.arange(4000) + 0.5) / 4000 * math.pi
    s = end_mill.slices(turn, N, a, math.radians(helix), 3.175, 0.0, math.pi)
    T = end_mill.rubbing_loads(
        s,
        end_mill.chip_thickness(s, f),
        Kienzle(800.0, m),
        1e-9,
        PowerRatio(0.5),
        math.radians(helix),
    ).torque.mean()
    assert pytest.approx(N * a * 3.175 * 800 * f ** (1 - m) * B / (4 * math.pi), rel=1e-3) == T
    assert pytest.approx(33.228, rel=1e-3) == T  # computed beforehand from the same closed form


def test_the_helix_limit_is_reached_smoothly() -> None:
    turn = np.linspace(0.3, 2.8, 40)

    def at(helix: float) -> np.ndarray:
        s = end_mill.slices(turn, 2, 1.0, helix, D, 0.0, math.pi, 32)
        return end_mill.loads(s, end_mill.chip_thickness(s, C), *LAWS).F_y[:, 0]

    straight = at(0.0)
    errors = [float(np.abs(at(b) - straight).max()) for b in (0.02, 0.01, 0.005)]
    assert errors[0] / errors[1] == pytest.approx(2, rel=0.1) and errors[1] / errors[
        2
    ] == pytest.approx(2, rel=0.1)


@pytest.mark.independent("scipy.integrate.quad over z")
def test_slices_converge_with_their_square() -> None:
    """Against adaptive quadrature over z by another library; entry and exit are met exactly, so the order is two everywhere."""
    N = 3
    a = 5.0
    helix = math.radians(38)
    start = 0.4
    leave = 2.2
    m = 0.3
    k = 2 * math.tan(helix) / D
    for turn in (0.5, 1.2, 2.5, 3.3):
        exact = 0.0
        for j in range(N):
            tip = (turn - 2 * math.pi * j / N) % (2 * math.pi)
            low, high = (min(max((tip - p) / k, 0.0), a) for p in (leave, start))
            exact += integrate.quad(
                lambda z, tip=tip: 700 * (0.03 * math.sin(tip - k * z)) ** (1 - m),
                low,
                high,
                epsabs=1e-12,
            )[0]
        errors = []
        for n in (4, 8, 16):
            s = end_mill.slices([turn], N, a, helix, D, start, leave, n)
            T = end_mill.rubbing_loads(
                s, end_mill.chip_thickness(s, 0.03), Kienzle(700.0, m), 1e-9, PowerRatio(0.0), helix
            ).torque.item()
            errors.append(math.fabs(T - exact * D / 2))
        assert errors[0] / errors[1] == pytest.approx(4, rel=0.1) and errors[1] / errors[
            2
        ] == pytest.approx(4, rel=0.1)


@pytest.mark.independent("a scan of 20,000 heights up each tooth")
@given(st.floats(0.1, 60), st.floats(0.5, 30), st.integers(1, 6), st.floats(0.0, 6.28))
@settings(max_examples=40, deadline=None)
def test_the_edge_in_the_cut_lies_in_the_cut(helix: float, a: float, N: int, turn: float) -> None:
    """Counted anew: a fine scan up each tooth finds the same height of edge between entry and exit, however often it winds round."""
    beta = math.radians(helix)
    start = 0.5
    leave = 2.0
    s = end_mill.slices([turn], N, a, beta, D, start, leave, 8)
    z = (np.arange(20000) + 0.5) / 20000 * a
    phi = (turn - 2 * math.pi * np.arange(N)[:, None] / N - 2 * z * math.tan(beta) / D) % (
        2 * math.pi
    )
    scanned = ((phi > start) & (phi < leave)).sum() / 20000 * a
    windings = 2 + a * math.tan(beta) / D
    assert 8 * s.dz.sum() == pytest.approx(scanned, abs=N * windings * 2 * a / 20000)


def test_many_cases_at_once_equal_one_by_one() -> None:
    a = np.array([1.0, 4.0, 9.0])
    beta = np.radians([0.0, 30.0, 45.0])
    d = np.array([3.0, 6.0, 8.0])
    f = np.array([0.01, 0.02, 0.03])
    rho = 0.005
    turn = np.linspace(0, 2 * math.pi, 13)
    s = end_mill.slices(turn, 4, a, beta, d, 0.0, math.pi)
    all_ = end_mill.rubbing_loads(
        s,
        end_mill.chip_thickness(s, f, rho),
        Kienzle(700.0, 0.25),
        0.003,
        EdgeRatio(LinearEdge(0.3, 1.0), LinearEdge(1.0, 2.0)),
        beta,
    )
    for i in range(3):
        one = end_mill.slices(turn, 4, a[i], beta[i], d[i], 0.0, math.pi)
        x = end_mill.rubbing_loads(
            one,
            end_mill.chip_thickness(one, f[i], rho),
            Kienzle(700.0, 0.25),
            0.003,
            EdgeRatio(LinearEdge(0.3, 1.0), LinearEdge(1.0, 2.0)),
            beta[i],
        )
        for name in ("F_x", "F_y", "F_z", "torque", "S_x", "S_y"):
            assert getattr(all_, name)[:, i] == pytest.approx(getattr(x, name)[:, 0], abs=1e-9), (
                name
            )


@pytest.mark.closed_form("an even line load acts at half its length")
def test_first_moments_of_a_straight_tooth_act_at_half_the_depth() -> None:
    s = end_mill.slices([1.0], 1, 3.0, 0.0, D, 0.0, math.pi)
    loads = end_mill.loads(s, end_mill.chip_thickness(s, C), *LAWS)
    assert loads.S_x.item() == pytest.approx(
        1.5 * loads.F_x.item()
    ) and loads.S_y.item() == pytest.approx(1.5 * loads.F_y.item())


@pytest.mark.published("Budak1996: K_tc 1775, K_ac 652 at 30 degrees", read="memory (high)")
def test_the_axial_force_bounds_the_oblique_model() -> None:
    # Budak, Altintas, Armarego 1996: K_tc 1775, K_ac 652 at 30 degrees (memory high); tan 30 x 1775 = 1025 lies above
    s = end_mill.slices([1.0], 1, 1.0, math.radians(30), D, 0.0, math.pi)
    loads = end_mill.rubbing_loads(
        s,
        end_mill.chip_thickness(s, C),
        Kienzle(1775.0, 0.0),
        1e-6,
        PowerRatio(0.0),
        math.radians(30),
    )
    assert loads.F_z.item() >= 652 / 1775 * loads.torque.item() / (D / 2)


@pytest.mark.closed_form("2 f_z and nothing once rho >= f_z/2")
def test_more_runout_than_feed_leaves_one_tooth_of_two_with_twice_the_chip() -> None:
    s = end_mill.slices([math.pi / 2, 3 * math.pi / 2], 2, 0.1, 0.0, D, 0.0, math.pi)
    h = end_mill.chip_thickness(s, 0.01, 0.02)
    cut = h * (s.dz > 0)
    assert cut.max(axis=(1, 2, 3)) == pytest.approx([0.02, 0.0])


@pytest.mark.parametrize(("change", "message"), [
    ({"helix": -0.1}, "helix"), ({"helix": 1.6}, "helix"), ({"depth": 0.0}, "depth"), ({"D": math.nan}, "D"),
    ({"start": 2.0, "leave": 1.0}, "leave"), ({"leave": 3.5}, "leave"), ({"turn": [math.inf]}, "turn"),
])  # fmt: skip
def test_nonsense_is_refused(change: dict[str, object], message: str) -> None:
    good = {
        "turn": [1.0],
        "teeth": 2,
        "depth": 1.0,
        "helix": 0.5,
        "D": 6.0,
        "start": 0.0,
        "leave": math.pi,
    }
    with pytest.raises(ModelError, match=message):
        end_mill.slices(**(good | change))
    s = end_mill.slices(**good)
    with pytest.raises(ModelError, match="f_z"):
        end_mill.chip_thickness(s, -0.01)

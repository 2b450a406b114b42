"""Drilling: stock sizes against their standards, torque and thrust against a handbook's example, buckling against finite differences."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loadsim.mechanics import drilling
from loadsim.mechanics.drill_sizes import stock
from loadsim.mechanics.peers import force

LBF = 4.4482216152605  # N
IN = 25.4  # mm


@pytest.mark.published("ASME-B94-11M, drill sizes", read="memory (high)")
def test_stock_drills_sort_and_hold_their_printed_sizes() -> None:
    drills = stock("inch")
    assert len(drills) == 80 + 26 + 64
    assert [d.diameter for d in drills] == sorted(d.diameter for d in drills)
    size = {d.name: d.diameter for d in drills}
    for name, mm in {
        "#80": 0.343,
        "#60": 1.016,
        "#30": 3.264,
        "#1": 5.791,
        "letter A": 5.944,
        "letter F": 6.528,
        "letter Z": 10.490,
        "1/8 in": 3.175,
        "7/8 in": 22.225,
        "1 in": 25.4,
    }.items():
        assert size[name] == pytest.approx(mm, abs=0.5e-3 + 1e-9), name
    assert size["#1"] < size["letter A"]


@pytest.mark.published(
    "BS328, metric series: 0.05 steps to 3, 0.1 to 14, 0.25 to 25 mm",
    read="via an encyclopedia article on drill bit sizes",
)
def test_metric_drills() -> None:
    sizes = [d.diameter for d in stock("metric")]
    assert sizes == sorted(set(sizes))
    for there in (0.20, 0.52, 0.98, 1.05, 2.95, 3.1, 13.9, 14.0, 14.25, 25.0):
        assert any(math.isclose(x, there) for x in sizes), there
    assert not any(math.isclose(x, 3.05) for x in sizes)


# --- torque and thrust


@pytest.mark.published(
    "MachinerysHandbook31 pp. 1152-1153: 2313 lb, 559 in lb", read="memory (high)"
)
def test_handbook_drill_example() -> None:
    T, M = force.handbook_thrust_and_torque(
        K_d=24000, F_f=0.021, F_T=0.899, F_M=0.786, A=1.085, B=1.355, J=0.030, W=1.30, d=0.875
    )
    assert pytest.approx(2313, rel=5e-3) == T
    assert pytest.approx(559, rel=5e-3) == M


@pytest.mark.published(
    "Kalpakjian, drilling magnesium: D 10, f 0.2, u 0.5 W s/mm^3 gives 1.25 N m",
    read="memory (high)",
)
def test_drill_torque_of_the_textbook() -> None:
    assert drilling.torque(500.0, 0.2, 10.0) == pytest.approx(
        1250, rel=1e-2
    )  # power over speed gives 1.25 N m: printed to 3 figures


@pytest.mark.published(
    "MachinerysHandbook31 pp. 1152-1153: 2313 lb, 559 in lb, 7/8 in drill, 0.008 in a turn",
    read="memory (high)",
)
def test_thrust_agrees_with_the_handbook() -> None:
    """Two models: the specific force behind the handbook's torque, put into ours, gives its thrust within 10 %."""
    T, M = force.handbook_thrust_and_torque(
        K_d=24000, F_f=0.021, F_T=0.899, F_M=0.786, A=1.085, B=1.355, J=0.030, W=1.30, d=0.875
    )
    D = 0.875 * IN
    f = 0.008 * IN
    k_c = 8 * M * LBF * IN / (f * D**2)
    assert drilling.thrust(k_c, drilling.LIP_RATIO, f, D) == pytest.approx(T * LBF, rel=0.10)
    lips = 2 * 24000 * 0.021 * 0.899 * 1.30  # of an edge that reaches the centre: B 1, J 0
    assert 1 - lips / T == pytest.approx(drilling.CHISEL_SHARE, abs=0.02)


@pytest.mark.closed_form("F_f = 0.5 k_c (D/2) f sin(kappa) (TrainingMetalCutting2017)")
def test_thrust_of_the_lips_alone_is_the_printed_formula() -> None:
    # F_f = 0.5 k_c (D/2) f sin(kappa) (memory high): 0.5 * 2000 * 5 * 0.2 * sin 59 deg = 857.2
    assert drilling.thrust(2000.0, 0.5, 0.2, 10.0, chisel=0.0) == pytest.approx(857.17, abs=0.01)
    assert drilling.thrust(2000.0, 0.5, 0.2, 10.0, chisel=0.5) == pytest.approx(
        2 * 857.17, abs=0.02
    )


# --- what a drill bears


@pytest.mark.independent("eigenvalues of finite differences, and tan(u) = u by bisection")
def test_buckling_load_of_a_column_by_finite_differences() -> None:
    """Lowest root of E I y'''' + P y'' = 0: fixed-free against K = 2, fixed-pinned against K = 0.7 (0.6992 exactly)."""
    n = 400
    x = 1.0 / n
    A = (np.diag(np.full(n, 2.0)) - np.diag(np.ones(n - 1), 1) - np.diag(np.ones(n - 1), -1)) / x**2
    A[0, 1] *= (
        2  # y'' + P y = 0 with the slope zero at the wall, deflection counted from the loaded end
    )
    assert np.sort(np.linalg.eigvals(A).real)[0] == pytest.approx(
        float(drilling.buckling_load(1.0, 1.0, 1.0, drilling.FREE)), rel=1e-3
    )
    # fixed and pinned: tan(u) = u
    low = 4.4
    high = 4.6
    for _ in range(60):
        low, high = (
            (low, (low + high) / 2)
            if math.tan((low + high) / 2) > (low + high) / 2
            else ((low + high) / 2, high)
        )
    assert float(drilling.buckling_load(1.0, 1.0, 1.0, drilling.PINNED)) == pytest.approx(
        low**2, rel=3e-3
    )


@pytest.mark.closed_form("pi^2 E I/(K L)^2 (TimoshenkoGere1961)")
def test_the_start_of_the_hole_governs_and_is_worked_by_hand() -> None:
    # D 2, 16 deep: 20 mm out, bar of 1.2 mm: I = pi/64 * 1.2^4 = 0.101788; pi^2 * 210000 * I/(2 * 20)^2 = 131.854; twice that
    assert drilling.second_moment(2.0) == pytest.approx(0.101788, rel=1e-5)
    assert drilling.bearable_thrust(2.0, 16.0) == pytest.approx(263.71, abs=0.05)
    assert drilling.bearable_thrust(2.0, 16.0) < drilling.buckling_load(
        210_000.0, 0.101788, 20.0, 0.7
    )
    assert drilling.bearable_thrust(4.0, 32.0) == pytest.approx(
        4 * 263.71, abs=0.2
    )  # similar drills: by the square

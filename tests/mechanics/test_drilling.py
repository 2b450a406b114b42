"""Drilling: stock sizes against their standards, torque and thrust against a handbook's example, buckling against finite differences."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loadsim.base.errors import ModelError
from loadsim.materials import folder
from loadsim.materials.load import load_work
from loadsim.materials.pooling import pooled
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
    "MachinerysHandbook31 pp. 1152-1153: 2313 lb, 559 in lb; K_d 24000, W 1.30, 7/8 in, 0.008 in a turn",
    read="via excerpts",
)
def test_handbook_drill_example() -> None:
    f = 0.008 * IN
    D = 0.875 * IN
    assert drilling.thrust(24000, f, D, 1.30) == pytest.approx(2313 * LBF, rel=5e-3)
    assert drilling.torque(24000, f, D, 1.30) == pytest.approx(559 * LBF * IN, rel=5e-3)


@pytest.mark.published(
    "MachinerysHandbook31 p. 1153, A, B and J by length of the chisel edge over the diameter",
    read="via excerpts at 0.03 and 0.18, else memory (medium)",
)
@pytest.mark.parametrize(
    ("chisel", "A", "B", "J"),
    [
        (0.03, 1.000, 1.100, 0.001),
        (0.10, 1.020, 1.235, 0.010),
        (0.18, 1.085, 1.355, 0.030),
        (0.20, 1.105, 1.380, 0.040),
        (0.25, 1.155, 1.445, 0.065),
        (0.30, 1.235, 1.500, 0.090),
    ],
)
def test_handbook_factors_are_those_of_shaw_and_oxford(
    chisel: float, A: float, B: float, J: float
) -> None:
    # the print goes by steps of 0.005
    assert force.shaw_oxford(chisel) == pytest.approx((A, B, J), abs=0.0055)


def test_the_point_is_the_standard_one() -> None:
    """Closed form of ShawOxford1957 at 0.18, as a second hand worked it: 1.082, 1.351, 0.032; the print is rounded."""
    held = (drilling.CHISEL_TORQUE, drilling.CHISEL_THRUST, drilling.CHISEL_INDENT)
    assert held == pytest.approx((1.082, 1.351, 0.032), abs=0.005)


@pytest.mark.closed_form(
    "M = 2.5e-5 K_d f^0.8 D^1.8 A W, T = 0.05 K_d f^0.8 D^0.8 B W + 0.007 K_d D^2 J W, by another hand"
)
@pytest.mark.parametrize(
    ("D", "f", "M", "T"),
    [
        (2.0, 0.03, 0.137, 191),
        (3.2, 0.05, 0.481, 427),
        (6.35, 0.1, 2.88, 1334),
        (12, 0.2, 15.7, 4001),
    ],
)
def test_handbook_formula_in_metric_units(D: float, f: float, M: float, T: float) -> None:
    # its constants have one or two digits, and J is 0.0324 there, 0.030 here
    assert drilling.torque(24000, f, D) == pytest.approx(1000 * M, rel=0.02)
    assert drilling.thrust(24000, f, D) == pytest.approx(T, rel=0.03)


@pytest.mark.published(
    "Kosilova and Meshcheryakov 1985, table 32, drills of high-speed steel: M = 10 C D^q s^y, P = 10 C D^q s^y",
    read="memory (high)",
)
@pytest.mark.parametrize(
    ("K_torque", "K_thrust", "M", "P"),
    [
        # the handbook's K_d; C and y of torque (q 2) and of thrust (q 1), its alloy factor in C
        (24000, 24000, (0.0345, 0.8), (68.0, 0.7)),  # steel, 750 MPa
        (14000, 14000, (0.021, 0.8), (42.7, 0.8)),  # grey iron, 190 HB
        (24000, 35000, (0.041, 0.7), (143.0, 0.7)),  # austenitic stainless, 141 HB
        (7000, 7000, (0.005 * 2.75, 0.8), (9.8 * 2.75, 0.7)),  # duralumin over 350 MPa
        (7000, 7000, (0.012 * 0.67, 0.8), (31.5 * 0.67, 0.8)),  # leaded brass
    ],
)
@pytest.mark.parametrize(("D", "f"), [(2.0, 0.03), (3.2, 0.05), (6.35, 0.1), (12.0, 0.2)])
def test_a_rival_table_lies_beside_or_under_the_handbook(
    K_torque: float,
    K_thrust: float,
    M: tuple[float, float],
    P: tuple[float, float],
    D: float,
    f: float,
) -> None:
    """The rival tells no wear and grows with D^2: 0.4 to 1.25 of the handbook's sharp drill, so never above the worn one."""
    torque = 10_000 * M[0] * D**2 * f ** M[1]
    thrust = 10 * P[0] * D * f ** P[1]
    over = [torque / drilling.torque(K_torque, f, D), thrust / drilling.thrust(K_thrust, f, D)]
    assert all(0.4 < x < 1.25 for x in over)


@pytest.mark.published(
    "Kalpakjian, drilling magnesium: D 10, f 0.2, u 0.5 W s/mm^3 gives 1.25 N m",
    read="memory (high)",
)
def test_lip_torque_of_the_textbook() -> None:
    # power over speed gives 1.25 N m: printed to 3 figures
    assert force.lip_torque(500.0, 0.2, 10.0) == pytest.approx(1250, rel=1e-2)


@pytest.mark.closed_form("F_f = 0.5 k_c (D/2) f sin(kappa) (TrainingMetalCutting2017)")
def test_lip_thrust_is_the_printed_formula() -> None:
    # 0.5 * 2000 * 5 * 0.2 * sin 59 deg = 857.17
    assert force.lip_thrust(2000.0, 0.2, 10.0) == pytest.approx(857.17, abs=0.01)


@pytest.mark.published(
    "ShawOxford1957: the chisel edge of an unsplit point takes about half of the thrust",
    read="memory (high)",
)
def test_chisel_edge_takes_about_half_of_the_thrust() -> None:
    """Two models: the specific force behind the handbook's torque, put into the lips' formula, leaves half of its thrust."""
    f = 0.008 * IN
    D = 0.875 * IN
    k_c = 8 * float(drilling.torque(24000, f, D)) / (f * D**2)
    lips = force.lip_thrust(k_c, f, D)
    T = float(drilling.thrust(24000, f, D))
    assert 1 - lips / T == pytest.approx(0.5, abs=0.06)


@pytest.mark.independent(
    "lips alone, with the specific cutting force pooled from turning and milling"
)
@pytest.mark.parametrize(
    "metal", ["steel-1045", "iron-grey", "al-6061-t6", "brass-360", "stainless-316", "ti-6al-4v"]
)
def test_lips_alone_ask_less_than_the_handbook(metal: str) -> None:
    work = load_work(metal)
    for D in (2.0, 6.0, 12.0):
        f = 0.015 * D
        k_c = float(pooled(work.curves, np.array([f / 2 * math.sin(math.radians(59))])).k_c[0])
        share = force.lip_torque(k_c, f, D) / float(drilling.torque(work.drill.torque, f, D))
        assert 0.4 < share < 1.0
        assert force.lip_thrust(k_c, f, D) < drilling.thrust(work.drill.thrust, f, D)


def test_larger_and_faster_and_duller_drills_ask_more() -> None:
    """Monotone in diameter, feed and wear: torque and thrust are sums of powers of them."""
    D = np.linspace(0.3, 30.0, 200)
    f = np.linspace(0.002, 1.0, 200)
    for asks in (drilling.torque, drilling.thrust):
        assert np.all(np.diff(asks(24000.0, 0.05, D)) > 0)
        assert np.all(np.diff(asks(24000.0, f, 3.0)) > 0)
        assert asks(24000.0, 0.05, 3.0, 1.3) == pytest.approx(1.3 * asks(24000.0, 0.05, 3.0))


@pytest.mark.closed_form("1 down to three diameters, half at eight, a third at thirteen")
def test_chips_in_a_deep_hole_take_their_share_of_the_torque() -> None:
    share = drilling.torque_share(np.array([2.0, 6.0, 16.0, 26.0]), 2.0)
    assert share == pytest.approx([1.0, 1.0, 0.5, 1 / 3])


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_torque_and_thrust_of_no_drill_are_refused(bad: float) -> None:
    for i in range(4):
        values = [24000.0, 0.05, 3.0, 1.3]
        values[i] = bad
        for asks in (drilling.torque, drilling.thrust):
            with pytest.raises(ModelError):
                asks(*values)


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
        float(drilling.buckling_load(1.0, 1.0, 1.0, 2.0)), rel=1e-3
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


@pytest.mark.closed_form("pi^2 E I/(K L)^2 (TimoshenkoGere1961), Y (1 - Y/(4 P)) (Johnson1897)")
def test_buckling_of_a_drill_is_worked_by_hand() -> None:
    # D 2, 16 deep: 20 mm out, bar of 1.2 mm: I = pi/64 * 1.2^4 = 0.101788; pi^2 * 210000 * I/(0.7 * 20)^2 = 1076.36,
    # under half of 2500 (pi/4) 1.2^2 = 2827.4
    assert drilling.second_moment(2.0) == pytest.approx(0.101788, rel=1e-5)
    assert drilling.bearable_thrust(2.0, 16.0) == pytest.approx(1076.36, abs=0.05)
    # similar drills: by the square
    assert drilling.bearable_thrust(4.0, 32.0) == pytest.approx(4 * 1076.36, abs=0.2)
    # 6 deep: 10 mm out, Euler 4305.4; 2827.4 * (1 - 2827.4/(4 * 4305.4)) = 2363.2
    assert drilling.bearable_thrust(2.0, 6.0) == pytest.approx(2363.2, abs=0.5)
    # one curve, and never over what the section yields at
    bears = drilling.bearable_thrust(2.0, np.linspace(0.1, 40.0, 2000))
    assert np.all(np.diff(bears) < 0)
    assert np.all(np.diff(bears) > -8)
    assert bears[0] < 2827.5


@pytest.mark.parametrize("metal", folder.names("work"))
def test_a_drill_of_two_millimeters_lives_at_the_depth_shops_drill(metal: str) -> None:
    """Eight diameters deep at a usual feed, in every metal of the shelf (common practice, no source)."""
    K_d = load_work(metal).drill
    left = drilling.torque_share(16.0, 2.0) * drilling.torque_to_break(1500.0, 2.0)
    assert drilling.torque(K_d.torque, 0.03, 2.0, 1.3) < left
    assert drilling.thrust(K_d.thrust, 0.03, 2.0, 1.3) < drilling.bearable_thrust(2.0, 16.0)

"""The end view of the head: closed forms, cases worked by hand, finite elements, and the definition itself by counting points."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadsim.base.errors import ModelError
from loadsim.mechanics import force, grinding, head_profile, polygon
from loadsim.mechanics.peers import grinding as peers_grinding

DEG = math.pi / 180
SQUARE = math.pi / 2


def head(
    radius=5.0,
    teeth=2,
    offset=0.8,
    depth=2.4,
    angle=SQUARE,
    clearances=(8, 20, 45),
    widths=(0.5, 0.5),
):
    flats = (
        head_profile.flats_behind(radius, [a * DEG for a in clearances], widths)
        if clearances
        else ()
    )
    return head_profile.ground_head(radius, teeth, math.asin(offset / radius), depth, angle, flats)


# ---- worked by hand


@pytest.mark.closed_form("sin(gamma) = e/R")
def test_rake_of_a_face_past_the_centre() -> None:
    """R 5, e 0.8: sin(gamma) = 0.16, gamma = 9.2069 deg (five-figure sine table: sin 9 deg 12.4 min = 0.16000)."""
    assert float(force.rake_from_offset(0.8, 5.0)) / DEG == pytest.approx(9.2069, abs=5e-5)
    assert float(force.rake_from_offset(-0.5, 1.0)) / DEG == pytest.approx(
        -30.0
    )  # sin 30 deg = 1/2
    assert float(grinding.offset_from_rake(30 * DEG, 4.0)) == pytest.approx(2.0)


@pytest.mark.closed_form("R (1 - cos alpha), 2 R sin alpha")
def test_set_down_of_a_relief_flat() -> None:
    """cos 8 deg = 0.9902681 (table): 5 (1 - 0.9902681) = 0.0486597; the flat is 2 * 5 * sin 8 deg = 1.391731 wide."""
    assert float(peers_grinding.relief_setdown(8 * DEG, 5.0)) == pytest.approx(0.0486597, abs=5e-7)
    assert float(grinding.flat_width(8 * DEG, 5.0)) == pytest.approx(1.391731, abs=5e-7)


@pytest.mark.closed_form("distance of a line from the axis, point by point")
def test_flats_meet_where_they_should() -> None:
    """R 10, 30 deg, width 2: the next flat starts at (10 - 2 * 0.5, -2 * 0.8660254); at 60 deg its distance from the axis is
    9 * 0.5 + 1.7320508 * 0.8660254 = 4.5 + 1.5 = 6. The first lies at 10 * 0.8660254 = 8.660254."""
    a, b = head_profile.flats_behind(10.0, [30 * DEG, 60 * DEG], [2.0])
    assert a.distance == pytest.approx(8.660254, abs=5e-7)
    assert b.distance == pytest.approx(6.0)


@pytest.mark.closed_form("90 deg - rake - relief")
def test_wedge_is_what_rake_and_relief_leave() -> None:
    assert float(grinding.wedge_angle(10 * DEG, 8 * DEG)) / DEG == pytest.approx(72.0)
    assert float(grinding.wedge_angle(-5 * DEG, 8 * DEG)) / DEG == pytest.approx(87.0)


@pytest.mark.closed_form("quarter circle less a strip, (f sqrt(R^2 - f^2) + R^2 asin(f/R))/2")
def test_zero_rake_two_teeth_without_relief() -> None:
    """No flats, e = 0, floor at f: two quarter-circle pieces each less a strip f wide. One gullet is the quarter circle less the area
    over its strip 0 < x < f: pi R^2/4 - (f sqrt(R^2 - f^2) + R^2 asin(f/R))/2."""
    R = 5.0
    f = 2.0
    s = head(R, 2, 0.0, R - f, clearances=())
    strip = (f * math.sqrt(R * R - f * f) + R * R * math.asin(f / R)) / 2
    gone = math.pi * R * R / 4 - strip
    assert s.gullet == pytest.approx(gone, rel=5e-5)
    assert polygon.moments(s.outline).area == pytest.approx(math.pi * R * R - 2 * gone, rel=5e-5)
    assert head_profile.web(s) == pytest.approx(2 * f)
    assert head_profile.tooth_height(s) == pytest.approx(R - f)
    # down from the floor's corner to the round: sqrt(R^2 - f^2)
    assert head_profile.tooth_thickness(s, R - f)[0] == pytest.approx(
        math.sqrt(R * R - f * f), rel=1e-4
    )


@pytest.mark.closed_form("a square web 2 f wide, teeth f thick")
def test_four_square_teeth() -> None:
    """Four teeth, square gullets, no rake, floor at f: the web is a square 2f wide with four teeth f thick standing at its corners,
    so the inner circle touches the flats of the square at f."""
    s = head(5.0, 4, 0.0, 2.0, clearances=())
    assert head_profile.web(s) == pytest.approx(6.0)
    assert head_profile.tooth_thickness(s, [1.2, 2.0]) == pytest.approx(3.0, rel=1e-9)
    assert head_profile.weakest_tooth_section(s) == pytest.approx((2.0, 3.0), rel=1e-9)


@pytest.mark.closed_form("f sin 60 + e cos 60 - e between parallel sides")
def test_parallel_teeth_of_six() -> None:
    """A gullet angle of one pitch leaves teeth with parallel sides, f sin(60 deg) + e cos(60 deg) - e thick."""
    R = 8.0
    e = 0.4
    depth = 4.0
    f = R - depth
    s = head(R, 6, e, depth, 60 * DEG, clearances=())
    assert head_profile.tooth_thickness(s, [3.0, 3.9]) == pytest.approx(
        f * math.sin(60 * DEG) + e * math.cos(60 * DEG) - e, rel=1e-9
    )


# ---- closed forms of the moments


@pytest.mark.closed_form("b h^3/12")
def test_moments_of_a_rectangle_off_the_axis() -> None:
    m = polygon.moments([(1, 2), (5, 2), (5, 4), (1, 4)])
    assert (m.area, m.x, m.y) == pytest.approx((8.0, 3.0, 3.0))
    assert (m.I_xx, m.I_yy, m.I_xy) == pytest.approx((4 * 2**3 / 12, 2 * 4**3 / 12, 0.0))


@pytest.mark.closed_form("b h^3/36, -b^2 h^2/72")
def test_moments_of_a_right_triangle() -> None:
    """Legs b along x, h along y: I_xx = b h^3/36, I_yy = h b^3/36, I_xy = -b^2 h^2/72 (every table of sections)."""
    b = 3.0
    h = 2.0
    m = polygon.moments([(7, 1), (7 + b, 1), (7, 1 + h)])
    assert (m.I_xx, m.I_yy, m.I_xy) == pytest.approx(
        (b * h**3 / 36, h * b**3 / 36, -(b**2) * h**2 / 72)
    )


@pytest.mark.closed_form("pi R^2, pi R^4/4, and the regular polygon's (2 pi/n)^2/6 short of it")
@pytest.mark.parametrize("n", [90, 360, head_profile.SIDES])
def test_moments_of_a_circle_and_the_error_stated(n: int) -> None:
    a = 2 * np.pi * np.arange(n) / n
    m = polygon.moments(np.stack([3 * np.cos(a), 3 * np.sin(a)], axis=1))
    lost_area = 1 - m.area / (9 * math.pi)
    lost_I = 1 - m.least / (81 * math.pi / 4)
    assert lost_area == pytest.approx((2 * math.pi / n) ** 2 / 6, rel=2e-3)
    assert lost_I == pytest.approx((2 * math.pi / n) ** 2 / 3, rel=3e-3)


@pytest.mark.closed_form("4 R/(3 pi), (pi/8 - 8/(9 pi)) R^4, pi R^4/8")
def test_half_circle() -> None:
    """Centroid 4R/(3 pi) over the chord; I about the centroid's axis (pi/8 - 8/(9 pi)) R^4, across it pi R^4/8."""
    a = np.linspace(0, math.pi, 4001)
    m = polygon.moments(np.stack([2 * np.cos(a), 2 * np.sin(a)], axis=1))
    assert m.y == pytest.approx(4 * 2 / (3 * math.pi), rel=1e-6)
    assert m.I_xx == pytest.approx((math.pi / 8 - 8 / (9 * math.pi)) * 16, rel=1e-5)
    assert m.I_yy == pytest.approx(math.pi / 8 * 16, rel=1e-5)
    assert m.least == pytest.approx(m.I_xx)


def test_corners_the_wrong_way_round_are_refused() -> None:
    with pytest.raises(ModelError, match="counter-clockwise"):
        polygon.moments([(0, 0), (0, 1), (1, 1), (1, 0)])


# ---- finite elements


@pytest.mark.independent("scikit-fem quadrature over triangles")
@pytest.mark.parametrize("teeth", [2, 3, 4])
def test_moments_against_finite_element_quadrature(teeth: int) -> None:
    """The head cut into triangles from the axis (every point is seen from there with a face short of the centre), integrated by
    scikit-fem's quadrature, which knows nothing of Green's theorem."""
    skfem = pytest.importorskip("skfem")
    s = head(5.0, teeth, -0.3, 2.0)
    n = len(s.outline)
    points = np.vstack([[0.0, 0.0], s.outline]).T
    corners = np.stack([np.zeros(n, int), 1 + np.arange(n), 1 + (np.arange(n) + 1) % n])
    mesh = skfem.MeshTri(points, corners)
    basis = skfem.Basis(mesh, skfem.ElementTriP1(), intorder=4)

    def integral(f):
        return skfem.Functional(lambda w: f(w.x[0], w.x[1])).assemble(basis)

    m = polygon.moments(s.outline)
    A = integral(lambda x, y: 1 + 0 * x)
    cx = integral(lambda x, y: x) / A
    cy = integral(lambda x, y: y) / A
    assert m.area == pytest.approx(A, rel=1e-12)
    assert m.I_xx == pytest.approx(integral(lambda x, y: (y - cy) ** 2), rel=1e-9)
    assert m.I_yy == pytest.approx(integral(lambda x, y: (x - cx) ** 2), rel=1e-9)
    assert m.I_xy == pytest.approx(
        integral(lambda x, y: (x - cx) * (y - cy)), rel=1e-9, abs=1e-9 * m.I_xx
    )
    if teeth > 2:
        assert m.least == pytest.approx(
            m.I_xx, rel=1e-4
        )  # three or more alike have no weak direction


# ---- the definition itself, by counting points


def inside(x, y, R, teeth, e, depth, psi, clearances, widths):
    """A point is left standing when it is inside the round, under every flat, and in no flute."""
    left = x * x + y * y < R * R
    gamma = math.asin(e / R)
    for k in range(teeth):
        c = math.cos(2 * math.pi * k / teeth)
        s = math.sin(2 * math.pi * k / teeth)
        # tooth k's edge at (R, 0)
        u = c * x + s * y
        v = -s * x + c * y
        px = R
        py = 0.0
        for i, a in enumerate(clearances):
            left &= math.cos(a) * u - math.sin(a) * v < math.cos(a) * px - math.sin(a) * py
            if i < len(widths):
                px = px - widths[i] * math.sin(a)
                py = py - widths[i] * math.cos(a)
        # turned so that the face is level, e under the axis
        p = math.cos(gamma) * u + math.sin(gamma) * v
        q = -math.sin(gamma) * u + math.cos(gamma) * v
        above = q + e
        ahead = p - (R - depth)
        left &= ~((above > 0) & (math.sin(psi) * ahead - math.cos(psi) * above > 0))
    return left


@pytest.mark.independent("4 million points tried against the definition of the cuts")
@pytest.mark.parametrize(
    ("teeth", "e", "depth", "psi", "clearances", "widths"),
    [(1, 0.5, 2.5, 90, (8, 20), (0.5,)), (2, 0.8, 2.4, 90, (8, 20, 45), (0.5, 0.5)), (2, 0.8, 2.0, 110, (7, 18, 40), (0.6, 0.8)),
     (3, 0.6, 1.8, 90, (8, 20, 45), (0.4, 0.5)), (4, -0.4, 1.6, 80, (6, 15), (0.3,))],
)  # fmt: skip
def test_outline_is_what_the_cuts_leave(teeth, e, depth, psi, clearances, widths) -> None:
    R = 5.0
    s = head(R, teeth, e, depth, psi * DEG, clearances, widths)
    n = 2001
    g = R * (2 * (np.arange(n) + 0.5) / n - 1)
    x, y = np.meshgrid(g, g)
    left = inside(x, y, R, teeth, e, depth, psi * DEG, [a * DEG for a in clearances], widths)
    cell = (2 * R / n) ** 2
    m = polygon.moments(s.outline)
    A = left.sum() * cell
    assert m.area == pytest.approx(A, rel=3e-4)
    cx = x[left].mean()
    cy = y[left].mean()
    assert (m.x, m.y) == pytest.approx((cx, cy), abs=2e-3)
    assert m.I_xx == pytest.approx(((y[left] - cy) ** 2).sum() * cell, rel=8e-4)
    assert m.I_yy == pytest.approx(((x[left] - cx) ** 2).sum() * cell, rel=8e-4)


# ---- what it has to be like


@given(
    teeth=st.integers(2, 4), e=st.floats(-0.1, 0.15), f=st.floats(0.35, 0.75), land=st.floats(0.02, 0.08), scale=st.floats(0.1, 20),
)  # fmt: skip
def test_scale_and_share(teeth: int, e: float, f: float, land: float, scale: float) -> None:
    """Twice the size has four times the area and 16 times the second moment; what was cut is never over the circle."""

    def made(R):
        return head_profile.ground_head(
            R,
            teeth,
            math.asin(e),
            (1 - f) * R,
            SQUARE,
            head_profile.flats_behind(R, [8 * DEG, 20 * DEG], [land * R]),
        )

    try:
        one = made(1.0)
        big = made(scale)
    except ModelError:
        return
    a = polygon.moments(one.outline)
    b = polygon.moments(big.outline)
    assert b.area == pytest.approx(a.area * scale**2, rel=1e-6)
    assert b.least == pytest.approx(a.least * scale**4, rel=1e-6)
    assert a.area + teeth * one.gullet <= math.pi
    assert math.pi / 64 * head_profile.web(one) ** 4 <= a.least * (
        1 + 1e-4
    )  # the web's circle lies inside
    assert head_profile.torsion_constant_bound(one) <= 2 * math.pi / 64 * 2**4
    assert head_profile.land_width(one) == pytest.approx(land, rel=1e-6)


@pytest.mark.parametrize(
    "more",
    [{"depth": 2.6}, {"clearances": (10, 22, 47)}, {"angle": 100 * DEG}, {"widths": (0.4, 0.5)}],
)
def test_more_ground_off_is_weaker(more) -> None:
    before = polygon.moments(head().outline)
    after = polygon.moments(head(**more).outline)
    assert after.area < before.area
    assert after.least < before.least


def test_heel_that_was_not_cleared_stands_as_high_as_the_edge() -> None:
    """Behind a flat alone the round stands again at 2 alpha."""
    drop, behind = head_profile.heel_drop(head(clearances=(8,), widths=()))
    assert drop == pytest.approx(0.0, abs=1e-6)
    assert behind >= 16 * DEG - 1e-6
    assert head_profile.heel_drop(head(clearances=(8, 20, 65)))[0] > 0.1


@pytest.mark.parametrize(
    ("changes", "message"),
    [({"depth": 5.0}, "gullet_depth must be"), ({"depth": 0.05, "offset": 0.8}, "does not reach below the edge"),
     ({"teeth": 4, "depth": 4.5}, "run into the next tooth"), ({"teeth": 6, "depth": 2.5, "clearances": ()}, "cut the next tooth off|run into"),
     ({"teeth": 6, "depth": 1.2, "angle": 60 * DEG, "clearances": (8, 60), "widths": (0.2,)}, "cuts the edge of the tooth"),
     ({"clearances": (8, 8), "widths": (0.5,)}, "clearance of a flat"), ({"widths": (1.6, 0.5)}, "wider than the stock"),
     ({"clearances": (8, 20), "widths": ()}, "need 1 widths"), ({"offset": 4.0}, "rake must be"),
     ({"offset": math.nan}, "rake must be")],
)  # fmt: skip
def test_what_cannot_be_ground_is_refused(changes, message) -> None:
    with pytest.raises(ModelError, match=message):
        head(**changes)

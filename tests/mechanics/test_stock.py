"""The stock across the feed against closed forms and a search point by point."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadsim.mechanics import stock
from loadsim.mechanics.stock import Head, Hole, Section, Swept

#: a section whose throat lies far away: solid wherever a cutter goes
SOLID = Section(throat_low=1000.0, throat_high=1001.0, throat_floor=0.0)


def open_at(section: Section, y: float, z: np.ndarray) -> np.ndarray:
    """Tell point by point where no metal stands: throat, rounded rectangles, circles."""
    gone = (section.throat_low < y < section.throat_high) & (z > section.throat_floor)
    for s in section.swept:
        R = s.head.radius
        r = s.head.corner
        # one quarter stands for all
        u = abs(y - s.offset)
        v = np.abs(z - s.bottom - s.head.height / 2)
        a = u - (R - r)
        c = v - (s.head.height / 2 - r)
        inside = (u < R) & (v < s.head.height / 2)
        gone = gone | (inside & ~((a > 0) & (c > 0) & (np.hypot(a, c) > r)))
    for hole in section.holes:
        gone = gone | (np.hypot(y - hole.offset, z - hole.height) < hole.diameter / 2)
    return gone


@st.composite
def heads(draw: st.DrawFn) -> Head:
    R = draw(st.floats(0.5, 6))
    H = draw(st.floats(0.3, 4))
    return Head(
        radius=R, height=H, corner=draw(st.sampled_from([0.0, 0.1, 0.4, 1.0])) * min(R, H / 2)
    )


@st.composite
def sections(draw: st.DrawFn) -> Section:
    low = draw(st.floats(-4, 3))
    swept = st.builds(Swept, head=heads(), offset=st.floats(-3, 3), bottom=st.floats(-2, 2))
    holes = st.builds(
        Hole, offset=st.floats(-3, 3), height=st.floats(-1, 3), diameter=st.floats(0.1, 3)
    )
    return Section(
        throat_low=low,
        throat_high=low + draw(st.floats(0.1, 5)),
        throat_floor=draw(st.floats(-1, 3)),
        swept=tuple(draw(st.lists(swept, max_size=3))),
        holes=tuple(draw(st.lists(holes, max_size=2))),
    )


# --- how much metal stands at y ----------------------------------------------------------------------


@pytest.mark.independent("20,000 points on the vertical, one by one")
@settings(max_examples=150, deadline=None)
@given(section=sections(), y=st.floats(-6, 6), z_low=st.floats(-2, 2), height=st.floats(0, 4))
def test_solid_length_against_points(section, y, z_low, height):
    # computed: 20,000 points on the vertical; each of the at most 12 ends of metal costs one spacing
    z = z_low + height * (np.arange(20_000) + 0.5) / 20_000
    expected = height * float((~open_at(section, y, z)).mean())
    assert stock.solid_length(section, y, z_low, z_low + height)[0] == pytest.approx(
        expected, abs=12 * height / 20_000 + 1e-12
    )


@pytest.mark.independent("the definition of throat, passes and holes, point by point")
@settings(max_examples=150, deadline=None)
@given(section=sections(), y=st.floats(-6, 6), z=st.floats(-2, 6))
def test_is_solid_against_the_points(section, y, z):
    near = open_at(section, y, np.array([z - 1e-9, z, z + 1e-9]))
    if near.all() or not near.any():  # a point on an edge may fall either way
        assert stock.is_solid(section, np.array([y]), z)[0] == (not near[1])


@pytest.mark.closed_form("heights added by hand, holes and passes overlapping")
def test_solid_length_by_hand():
    # by hand: an undercut 2 high over a floor at 0, throat to 0.5; a pass of 1 mm, a hole of 0.4 mm that
    # overlaps it
    tee = Section(
        throat_low=-2,
        throat_high=2,
        throat_floor=0.5,
        swept=(Swept(head=Head(radius=3, height=1), offset=0.0, bottom=0.0),),
        holes=(Hole(offset=2.5, height=1.0, diameter=0.4),),
    )
    assert stock.solid_length(tee, [0.0, 2.5, 2.9, 3.5], 0.0, 2.0) == pytest.approx(
        [0.0, 0.8, 1.0, 2.0]
    )


def test_solid_length_refuses_levels_upside_down():
    with pytest.raises(ValueError, match="z_high must be >= z_low, got 0 mm below 1 mm"):
        stock.solid_length(SOLID, 0.0, 1.0, 0.0)


@settings(max_examples=60, deadline=None)
@given(section=sections(), head=heads(), offset=st.floats(-3, 3))
def test_metal_only_ever_goes_away(section, head, offset):
    y = np.linspace(-6, 6, 61)
    before = stock.solid_length(section, y, 0.0, 3.0)
    after = stock.solid_length(
        section.after(Swept(head=head, offset=offset, bottom=0.2)), y, 0.0, 3.0
    )
    assert (after <= before + 1e-12).all()
    assert (after >= -1e-12).all()


@settings(max_examples=60, deadline=None)
@given(section=sections(), y=st.floats(-6, 6))
def test_mirrored_section(section, y):
    got = stock.solid_length(section.mirrored(), -y, -1.0, 4.0)
    assert got == pytest.approx(stock.solid_length(section, y, -1.0, 4.0), abs=1e-9)
    assert section.mirrored().mirrored() == section


# --- how much a pass takes ---------------------------------------------------------------------------


@pytest.mark.closed_form("2 R H - (4 - pi) r^2")
@settings(max_examples=40, deadline=None)
@given(head=heads())
def test_area_of_a_head_in_solid_metal(head):
    # closed form: a rectangle 2R x H less the four corners, (4 - pi) r^2
    area = 2 * head.radius * head.height - (4 - math.pi) * head.corner**2
    got = stock.removed_area(SOLID, Swept(head=head, offset=0.3, bottom=-0.2))
    assert got == pytest.approx(area, rel=2e-5)
    width = stock.radial_width(SOLID, Swept(head=head, offset=0.3, bottom=-0.2))
    assert width == pytest.approx(2 * head.radius, rel=1e-9)


@pytest.mark.closed_form("(2 R - throat) H + throat times what was left shallow")
def test_area_beside_a_full_throat():
    # closed form: two bands (9 - 5) mm x 2.2 mm; a throat left 0.3 mm shallow adds 5 x 0.3
    path = Swept(head=Head(radius=4.5, height=2.2), offset=0.0, bottom=0.0)
    for floor, area, width in ((0.0, 4 * 2.2, 4.0), (0.3, 4 * 2.2 + 5 * 0.3, 9.0)):
        tee = Section(throat_low=-2.5, throat_high=2.5, throat_floor=floor)
        assert stock.removed_area(tee, path) == pytest.approx(area, rel=1e-9)
        assert stock.radial_width(tee, path) == pytest.approx(width, rel=1e-9)


@pytest.mark.closed_form("pi d^2/4 of each hole")
def test_holes_take_their_circles():
    # closed form: whole circles inside the path
    path = Swept(head=Head(radius=4.5, height=2.2), offset=0.0, bottom=0.0)
    holes = (
        Hole(offset=-3.5, height=1.1, diameter=1.8),
        Hole(offset=3.4, height=1.0, diameter=1.0),
    )
    tee = Section(throat_low=-2.5, throat_high=2.5, throat_floor=0.0, holes=holes)
    circles = math.pi / 4 * (1.8**2 + 1.0**2)
    assert stock.removed_area(tee, path) == pytest.approx(8.8 - circles, rel=1e-4)


@settings(max_examples=40, deadline=None)
@given(
    section=sections(),
    a=heads(),
    b=heads(),
    u=st.floats(-3, 3),
    v=st.floats(-3, 3),
    w=st.floats(-1, 1),
)
def test_two_passes_take_the_same_in_either_order(section, a, b, u, v, w):
    # conservation: the metal gone after both does not ask which came first
    one = Swept(head=a, offset=u, bottom=0.0)
    two = Swept(head=b, offset=v, bottom=w)
    this = stock.removed_area(section, one) + stock.removed_area(section.after(one), two)
    that = stock.removed_area(section, two) + stock.removed_area(section.after(two), one)
    assert this == pytest.approx(that, rel=3e-3, abs=3e-3)


def test_nothing_is_left_where_a_pass_has_been():
    path = Swept(head=Head(radius=2.0, height=1.0, corner=0.2), offset=0.5, bottom=0.0)
    assert stock.removed_area(SOLID.after(path), path) == pytest.approx(0.0, abs=1e-9)
    assert stock.radial_width(SOLID.after(path), path) == 0.0


# --- where a pass can go -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "given_, said",
    [
        ({"radius": 0.0, "height": 1.0}, "both are > 0 mm"),
        ({"radius": 1.0, "height": -1.0}, "both are > 0 mm"),
        ({"radius": math.nan, "height": 1.0}, "both are > 0 mm"),
        (
            {"radius": 1.0, "height": 1.0, "corner": 0.51},
            r"corner radius 0.51 mm; it lies in \[0, 0.5\] mm",
        ),
        ({"radius": 1.0, "height": 1.0, "corner": -0.1}, "corner radius -0.1 mm"),
    ],
)
def test_impossible_head_is_refused(given_, said):
    with pytest.raises(ValueError, match=said):
        Head(**given_)

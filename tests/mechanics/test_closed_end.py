"""What holes from the top leave in front of a head at a closed end: circles by hand, and limits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadsim.mechanics.closed_end import holds, opened
from loadsim.mechanics.stock import Head, Section, Swept, TopHole, inside, removed_area

R = 5.0
BLANK = Section(throat_low=0.0, throat_high=0.0, throat_floor=0.0)
THROAT = Section(throat_low=-3.0, throat_high=3.0, throat_floor=0.0)
PASS = Swept(head=Head(radius=R, height=2.5), offset=0.0, bottom=0.0)


def hole(along: float, offset: float, diameter: float) -> TopHole:
    return TopHole(along=along, offset=offset, diameter=diameter)


def area(section: Section, *holes: TopHole, floor: float = 0.0, stretch: float = 2.5) -> float:
    """Metal in front of the head at the end, less what the holes have taken. [mm^2]"""
    solid = Section(throat_low=0.0, throat_high=0.0, throat_floor=0.0)
    for taken in opened(section, PASS, holes, floor, stretch, 2.5):
        solid = solid.after(taken)
    return removed_area(solid, PASS)


def test_without_a_hole_and_with_one_of_no_depth_nothing_is_open() -> None:
    assert opened(THROAT, PASS, (), 0.0, 2.5, 2.5) == ()
    assert opened(THROAT, PASS, (hole(R, 0.0, 20.0),), 2.5, 2.5, 2.5) == ()
    assert area(THROAT) == pytest.approx(2 * R * 2.5)


def test_a_hole_over_the_whole_front_leaves_nothing_to_cut() -> None:
    # all along the last 2.5 mm the front lies within R + 2.5 of where the head stops
    assert area(BLANK, hole(R, 0.0, 2 * (R + 2.5) + 1e-9)) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.closed_form("two circles: y = r sqrt(1 - r^2 / 4 R^2), r about a point of the other")
@pytest.mark.parametrize("r", [0.5, 1.5, 3.0])
def test_a_hole_on_the_end_line_opens_the_middle_of_the_front(r: float) -> None:
    y = r * math.sqrt(1 - r**2 / (4 * R**2))
    left = area(BLANK, hole(0.0, 0.0, 2 * r), stretch=0.0)
    assert left == pytest.approx(2.5 * (2 * R - 2 * y), abs=2.5 * 2 * 0.012)  # the grid's step


@pytest.mark.closed_form("a hole 1 mm short of the floor leaves that under it")
def test_a_hole_short_of_the_floor_leaves_a_floor() -> None:
    over = hole(R, 0.0, 2 * (R + 2.5) + 1e-9)
    assert area(BLANK, over, floor=1.0) == pytest.approx(2 * R * 1.0, rel=1e-3)


def test_the_throat_helps_where_a_hole_takes_over_from_it() -> None:
    # the throat's own round touches the end in one point alone; on the end line the hole takes over
    one = hole(0.0, 0.0, 6.0)
    assert area(THROAT, one) < area(BLANK, one)
    assert area(THROAT, one) == pytest.approx(2.5 * (2 * R - 2 * 2.6), rel=0.1)


def test_two_holes_side_by_side_count_when_their_web_is_a_sliver() -> None:
    """Throat 6 wide, web 0.3: at 0.15 off centre the metal before the throat's round is
    0.15^2 (1/6 - 1/10) = 0.0015 thick, which an edge brushes away; 1 mm apart it is 0.017.
    """

    def middle_is_open(web: float) -> bool:
        y = 1.4 + web / 2
        taken = opened(THROAT, PASS, (hole(0, y, 2.8), hole(0, -y, 2.8)), 0.0, 2.5, 2.5)
        return any(s.offset - s.head.radius < 0 < s.offset + s.head.radius for s in taken)

    assert middle_is_open(0.3) and not middle_is_open(1.0)


@settings(max_examples=40, deadline=None)
@given(
    along=st.floats(-1.0, 8.0),
    offset=st.floats(-4.0, 4.0),
    d=st.floats(0.5, 12.0),
    more=st.floats(1.0, 2.0),
    floor=st.floats(0.0, 2.4),
)
def test_more_hole_never_leaves_more_metal(
    along: float, offset: float, d: float, more: float, floor: float
) -> None:
    small = area(THROAT, hole(along, offset, d), floor=floor)
    assert area(THROAT, hole(along, offset, d * more), floor=floor) <= small + 1e-9
    assert area(THROAT, hole(along, offset, d)) <= small + 1e-9 <= 2 * R * 2.5 + 1e-6


@pytest.mark.closed_form("the farthest edge of the head: distance of the axes and its radius")
def test_a_hole_holds_the_head_where_it_stops() -> None:
    assert holds(PASS, (hole(5.0, 0.0, 10.0),), 0.0)
    assert not holds(PASS, (hole(5.0, 0.0, 9.98),), 0.0)
    assert holds(PASS, (hole(5.3, 0.4, 2 * (5 + 0.5)),), 0.0)  # 3-4-5
    assert not holds(PASS, (hole(5.3, 0.4, 2 * (5 + 0.499)),), 0.0)
    assert not holds(PASS, (hole(5.0, 0.0, 12.0),), 0.1)  # a floor under the head


def test_metal_that_another_section_has_as_well() -> None:
    wide = Section(throat_low=-4.0, throat_high=4.0, throat_floor=0.0)
    assert inside(wide, THROAT, PASS) and not inside(THROAT, wide, PASS)
    assert inside(THROAT, THROAT, PASS)

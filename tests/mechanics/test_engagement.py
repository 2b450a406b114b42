"""Which tooth meets what metal: against closed forms, conservation of volume, and a turn in small steps."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadsim.mechanics import engagement
from loadsim.mechanics.stock import Head, Hole, Section, Swept, removed_area

SOLID = Section(throat_low=1000.0, throat_high=1001.0, throat_floor=0.0)
TEE = Section(throat_low=-2.5, throat_high=2.5, throat_floor=0.0)
HEAD = Head(radius=4.5, height=2.2)
ROUNDED = Head(radius=4.5, height=2.2, corner=0.4)
HOLES = (Hole(offset=-3.5, height=1.1, diameter=1.8), Hole(offset=3.5, height=1.1, diameter=1.8))


def path(head: Head = HEAD, offset: float = 0.0, bottom: float = 0.0) -> Swept:
    return Swept(head=head, offset=offset, bottom=bottom)


def chips_of_a_turn(section: Section, swept: Swept, teeth: int, f_z: float) -> float:
    """Volume b h R dphi of all chips of one turn, over all elements of the edge."""
    p = engagement.whole_turn(section, swept, teeth)
    d_phi = 2 * math.pi * p.weight[p.position]
    R = engagement.edge_elements(swept.head).radius
    return float(((p.b * R).sum(axis=1) * f_z * np.sin(p.phi) * d_phi).sum())


# --- volume ------------------------------------------------------------------------------------------


@pytest.mark.closed_form("rectangles less (4 - pi) r^2 and circles, times the feed")
@pytest.mark.parametrize("teeth", [1, 2, 3, 8])
@pytest.mark.parametrize(
    "section, swept, area",
    [
        # closed forms: rectangles, less (4 - pi) r^2 at the corners, less the circles of the holes
        (SOLID, path(), 9 * 2.2),
        (SOLID, path(ROUNDED), 9 * 2.2 - (4 - math.pi) * 0.4**2),
        (TEE, path(), 4 * 2.2),
        (TEE, path(ROUNDED), 4 * 2.2 - (4 - math.pi) * 0.4**2),
        (Section(throat_low=-2.5, throat_high=2.5, throat_floor=0.3), path(), 4 * 2.2 + 5 * 0.3),
        (
            Section(throat_low=-2.5, throat_high=2.5, throat_floor=0.0, holes=HOLES),
            path(),
            8.8 - math.pi / 2 * 1.8**2,
        ),
        (TEE.after(path()), path(offset=0.7), 0.7 * 2.2),
        (TEE.after(path()), path(bottom=1.0), 4 * 1.0),
        (TEE.after(path()), path(offset=-0.5, bottom=0.8), 4 * 0.8 + 0.5 * (2.2 - 0.8)),
    ],
    ids=[
        "solid",
        "corner",
        "throat",
        "throat+corner",
        "shallow",
        "holes",
        "widened",
        "second level",
        "both",
    ],
)
def test_chips_of_a_turn_are_the_area_times_the_feed(teeth, section, swept, area):
    # conservation of volume: section area x feed of a turn
    if teeth == 1 and swept.head.corner == 0:  # the geometry itself, once
        assert removed_area(section, swept) == pytest.approx(area, rel=1e-4)
    assert chips_of_a_turn(section, swept, teeth, 0.02) == pytest.approx(
        area * 0.02 * teeth, rel=1e-3
    )


@settings(max_examples=40, deadline=None)
@given(
    half=st.floats(0.3, 2.5),
    floor=st.floats(-0.5, 2.0),
    offset=st.floats(-1.5, 1.5),
    bottom=st.floats(0, 1.5),
    teeth=st.integers(1, 8),
    corner=st.sampled_from([0.0, 0.2, 0.5]),
)
def test_volume_holds_in_any_section(half, floor, offset, bottom, teeth, corner):
    head = Head(radius=3.0, height=1.5, corner=corner)
    section = Section(throat_low=-half, throat_high=half, throat_floor=floor).after(path(head))
    swept = path(head, offset, bottom)
    expected = removed_area(section, swept) * 0.01 * teeth
    # three nodes on a corner see a step of the stock as metal or none: up to half the corner's height over
    # the width
    slack = 0.5 * corner * 6.0 * 0.01 * teeth
    assert chips_of_a_turn(section, swept, teeth, 0.01) == pytest.approx(
        expected, rel=1e-3, abs=slack + 1e-9
    )


@pytest.mark.closed_form("height H, section 2 R H - (4 - pi) r^2, arc pi r")
def test_edge_elements_make_up_the_head():
    # closed forms: heights add up to H; 2 sum(R dz) is the section of the head; the arc is r long for each
    # radian
    e = engagement.edge_elements(ROUNDED)
    both = np.array([1.0, 2.0, 2.0, 2.0])  # corner nodes stand at the top and at the bottom
    assert (both * e.length).sum() == pytest.approx(2.2, rel=1e-4)
    assert 2 * (both * e.length * e.radius).sum() == pytest.approx(
        9 * 2.2 - (4 - math.pi) * 0.4**2, rel=1e-5
    )
    assert (both * e.length / e.sin_kappa).sum() == pytest.approx(1.4 + math.pi * 0.4, rel=1e-9)
    # each node lies on the arc: (distance from the arc's centre)^2 = r^2
    assert np.hypot(e.radius[1:] - (4.5 - 0.4), e.level[1:] - 0.4) == pytest.approx([0.4] * 3)


def test_square_head_is_one_element():
    e = engagement.edge_elements(HEAD)
    assert (e.length.tolist(), e.sin_kappa.tolist(), e.radius.tolist()) == ([2.2], [1.0], [4.5])


# --- angles ------------------------------------------------------------------------------------------


@pytest.mark.closed_form("y = R cos(phi)")
def test_breakpoints_at_the_throat_edges():
    # closed form: y = R cos(phi) at y = +-2.5
    edge = math.acos(2.5 / 4.5)
    assert engagement.breakpoints(TEE, path()) == pytest.approx([0, edge, math.pi - edge, math.pi])


@settings(max_examples=80, deadline=None)
@given(
    half=st.floats(0.3, 2.5), floor=st.floats(-0.5, 2.0), first=st.floats(-2, 2), bottom=st.floats(-1, 1),
    offset=st.floats(-1.5, 1.5), seed=st.integers(0, 99),
)  # fmt: skip
def test_square_edges_meet_a_constant_height_between_breakpoints(
    half, floor, first, bottom, offset, seed
):
    head = Head(radius=3.0, height=1.5)
    section = Section(throat_low=-half, throat_high=half, throat_floor=floor).after(
        path(head, first, bottom)
    )
    ends = engagement.breakpoints(section, path(head, offset))
    assert (ends[0], ends[-1]) == (0.0, math.pi)
    for a, b in pairwise(ends):
        if b - a > 1e-6:
            phi = a + (b - a) * np.random.default_rng(seed).uniform(0.01, 0.99, 6)
            met = engagement.engaged(
                section, path(head, offset), engagement.edge_elements(head), phi
            )
            assert np.ptp(met) < 1e-9


def test_teeth_behind_meet_nothing():
    phi = np.array([-0.5, math.pi + 0.5, 0.0, math.pi])
    assert (engagement.engaged(SOLID, path(), engagement.edge_elements(HEAD), phi) == 0).all()


@pytest.mark.closed_form(
    "height over the throat's floor, or of the head where R cos(phi) is beyond it"
)
def test_engaged_height_by_hand():
    # by hand: R 4.5; over the throat (phi = 90) a floor of 0.3 stands; at phi = 20 deg, y = 4.23, the full
    # 2.2
    shallow = Section(throat_low=-2.5, throat_high=2.5, throat_floor=0.3)
    met = engagement.engaged(
        shallow, path(), engagement.edge_elements(HEAD), np.radians([20, 90, 160])
    )
    assert met[:, 0] == pytest.approx([2.2, 0.3, 2.2])


@pytest.mark.closed_form("teeth in the cut on average: N arc/(2 pi)")
@pytest.mark.parametrize("teeth", range(1, 9))
def test_whole_turn_counts_the_time_in_the_cut(teeth):
    # closed form: teeth in the cut at once, on average = N x arc/(2 pi); two bands of acos(2.5/4.5) each
    p = engagement.whole_turn(TEE, path(), teeth)
    assert p.weight.sum() == pytest.approx(1.0, abs=1e-12)
    mean = p.weight[p.position].sum()
    assert mean == pytest.approx(teeth * 2 * math.acos(2.5 / 4.5) / (2 * math.pi), rel=1e-9)


@pytest.mark.parametrize("teeth", [1, 2, 3, 5])
def test_each_tooth_follows_the_one_before_by_a_pitch(teeth):
    # frame: tooth j stands 2 pi j/N behind tooth 0
    p = engagement.whole_turn(SOLID, path(), teeth)
    lag = p.turn[p.position] - p.phi - 2 * math.pi * p.tooth / teeth
    assert np.sin(lag / 2) == pytest.approx(np.zeros(lag.size), abs=1e-9)
    assert set(p.tooth.tolist()) == set(range(teeth))


@pytest.mark.closed_form("a pitch of 2 pi/N against the arcs in the cut and between them")
@pytest.mark.parametrize(
    "section, teeth, idle",
    [
        # by hand: full slot 180 degrees: one tooth idles half a turn, two just never
        (SOLID, 1, True), (SOLID, 2, False), (SOLID, 3, False),
        # two bands of 56 degrees with 68 between them: pitch 120 leaves a gap, pitch 45 does not
        (TEE, 2, True), (TEE, 3, True), (TEE, 8, False),
    ],
)  # fmt: skip
def test_idle(section, teeth, idle):
    assert engagement.peak_positions(section, path(), teeth).idle is idle
    assert engagement.whole_turn(section, path(), teeth).idle is idle


@pytest.mark.closed_form("half of the height that is met")
def test_level_is_the_middle_of_the_metal():
    # by hand: full height: 1.1; only a floor 0.3 mm thick: 0.15, found to one of 24 layers (0.09 mm)
    shallow = Section(throat_low=-2.5, throat_high=2.5, throat_floor=0.3)
    p = engagement.whole_turn(shallow, path(), 1)
    over = np.abs(np.cos(p.phi)) * 4.5 < 2.5
    assert p.level[~over] == pytest.approx(np.full((~over).sum(), 1.1))
    assert p.level[over] == pytest.approx(np.full(over.sum(), 0.15), abs=0.05)


@settings(max_examples=40, deadline=None)
@given(
    low=st.floats(-3, 0), width=st.floats(0.5, 4), offset=st.floats(-1.5, 1.5), hole=st.floats(-3, 3),
    corner=st.sampled_from([0.0, 0.3]), phi=st.lists(st.floats(0.01, 3.13), min_size=1, max_size=8),
)  # fmt: skip
def test_mirrored_section_meets_the_mirrored_tooth(low, width, offset, hole, corner, phi):
    # symmetry: y -> -y takes phi to pi - phi
    head = Head(radius=3.0, height=1.5, corner=corner)
    holes = (Hole(offset=hole, height=0.7, diameter=0.9),)
    section = Section(throat_low=low, throat_high=low + width, throat_floor=0.4, holes=holes)
    e = engagement.edge_elements(head)
    here = engagement.engaged(section, path(head, offset), e, np.array(phi))
    there = engagement.engaged(section.mirrored(), path(head, -offset), e, math.pi - np.array(phi))
    near = np.isclose(here, there, atol=1e-6).all(axis=1)
    # a point that rounding puts on the other side of an edge may differ: at most where an event is that close
    events = engagement.breakpoints(section, path(head, offset))
    for i in np.flatnonzero(~near):
        assert np.abs(events - phi[i]).min() < 1e-6


@pytest.mark.parametrize("teeth", [1, 2, 3])
def test_wall_positions_put_every_tooth_at_both_walls(teeth):
    # by hand: phi = 0 shapes the high wall, phi = pi the low one
    p = engagement.wall_positions(SOLID, path(), teeth)
    shaping = {
        (int(t), round(float(f) / math.pi))
        for t, f in zip(p.tooth, p.phi, strict=True)
        if math.sin(f) < 1e-6
    }
    assert shaping == {(j, wall) for j in range(teeth) for wall in (0, 1)}


def test_nothing_to_cut_makes_empty_tables():
    gone = SOLID.after(path())
    for p in (engagement.peak_positions(gone, path(), 2), engagement.whole_turn(gone, path(), 2)):
        assert p.phi.size == 0
        assert p.idle

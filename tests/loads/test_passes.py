"""Where the passes go: offsets and levels worked by hand, and what any of them must cover."""

from __future__ import annotations

import dataclasses
import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadsim.base.errors import InputError
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.tolerances import oversize
from loadsim.job.write import example
from loadsim.loads import passes
from loadsim.loads.cut import CutLoads, cut_loads, written_engagement, written_passes
from loadsim.loads.neck_stress import notches, peaks
from loadsim.loads.nominal import as_drawn
from loadsim.loads.passes import PieceKind
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.stock import removed_area


@pytest.mark.closed_form("(throat - neck)/2 - clearance")
def test_reach_of_a_side_pass():
    # by hand: (5 - 4.4)/2 - 0.05 = 0.25; a neck too thick for the throat reaches a negative offset
    assert passes.reach_of_side_pass([5.0, 4.0], 4.4, 0.05) == pytest.approx([0.25, -0.25])


@settings(max_examples=100, deadline=None)
@given(height=st.floats(0.2, 12), share=st.floats(0.1, 1.0))
def test_levels_cover_the_undercut_without_a_gap(height, share):
    head = height * share
    levels = passes.pass_levels(height, head)
    assert levels[0] == 0.0
    assert levels[-1] + head == pytest.approx(height, abs=1e-8)
    assert all(b - a <= head + 1e-8 for a, b in pairwise(levels))
    assert len(levels) == math.ceil(height / head - 1e-9)  # the fewest that can


def test_head_higher_than_the_undercut_is_refused():
    with pytest.raises(ValueError, match=r"a head of 2 mm does not fit an undercut 1\.5 mm high"):
        passes.pass_levels(1.5, 2.0)


@settings(max_examples=100, deadline=None)
@given(low=st.floats(-5, 0), high=st.floats(0, 5), step=st.floats(0.05, 2))
def test_offsets_reach_both_walls_in_steps_no_larger_than_asked(low, high, step):
    offsets = passes.pass_offsets(low, high, 0.0, step)
    assert offsets[0] == 0.0
    assert max(offsets) == pytest.approx(high, abs=1e-8)
    assert min(offsets) == pytest.approx(low, abs=1e-8)
    assert np.diff(sorted(offsets)).max(initial=0.0) <= step + 1e-8


@pytest.mark.closed_form("half a head before one end, the slot, half a head behind the other")
def test_a_pass_travels_the_slot_and_the_head():
    slot = job_from_text(example("t-track"), "t-track").slot
    assert passes.pass_travel(slot, 0.0) == slot.length
    assert passes.pass_travel(slot, 8.0) == slot.length + 4.0 + 4.0


@pytest.mark.closed_form(
    "a wider undercut in one step a side: the middle, the high wall, the low wall"
)
def test_the_cut_as_written_is_conventional_and_has_the_holes_asked_for():
    job = job_from_text(example("t-track"), "t-track")
    half = job.slot.undercut_width / 2
    reach = half - 3.2
    narrow = {"cutter.head_diameter": 6.4, "cutter.neck_diameter": 4.0, "cut.direction": None}
    steps = written_passes(resolve(changed(job, {**narrow, "cut.predrill": False})), None)
    assert [p.offset for p in steps] == pytest.approx([0.0, reach, -reach])
    assert [p.direction for p in steps] == ["both", "conventional", "conventional"]
    assert all(p.section.holes == () for p in steps)

    short = {"slot.length": 24.0, "cut.direction": "climb", "cut.predrill": True}
    climb = resolve(changed(job, narrow | short))
    engagement = written_engagement(climb, None, 24)
    assert [p.direction for p in engagement.passes] == ["both", "climb", "climb"]
    assert all(p.section.holes for p in engagement.passes)


def _over(slot: dict[str, float], diameter: float, height: float) -> Job:
    job = job_from_text(example("t-track"), "t-track")
    head = {"cutter.head_diameter": diameter, "cutter.head_height": height}
    return changed(job, {**slot, **head, "cut.predrill": False})


#: One-sided, undercut wall at 11.2 - 3.1 = 8.1, plain wall at -3.1.
ONE_SIDED = {"slot.sides": 1, "slot.undercut_width": 11.2}


@pytest.mark.published(
    "ISO 2768-1:1989, table 1, medium: 0.5 to 6 mm +-0.1, 6 to 30 mm +-0.2", read="memory (high)"
)
def test_a_head_inside_the_undercuts_tolerance_is_no_misfit():
    assert oversize(_over({"slot.width_tolerance": None}, 10.4, 2.6).slot) == (0.2, 0.1)
    assert oversize(_over({"slot.width_tolerance": 0.03}, 10.4, 2.6).slot) == (0.03, 0.1)
    # the standard has no general tolerance under 0.5 mm
    thin = {"slot.undercut_height": 0.4, "slot.throat_depth": None}
    assert oversize(_over(thin, 10.4, 0.4).slot).height == 0.0


@pytest.mark.closed_form(
    "5 um over both: half way between two undercut walls, or against the plain wall, on the floor"
)
@pytest.mark.parametrize(("slot", "wide", "axis"), [({}, 10.4, 0.0), (ONE_SIDED, 11.2, 2.5025)])
@pytest.mark.parametrize("stepover", [None, 0.3])
def test_a_head_5_um_over_the_undercut_is_cut_in_one_pass(slot, wide, axis, stepover):
    # -3.1 + 11.205/2 = 2.5025 off a plain wall, which stays uncut; the neck is thinned so that it clears
    job = resolve(_over({**slot, "cutter.neck_diameter": 1.0}, wide + 0.005, 2.605))
    (only,) = passes.passes(job, stepover, "conventional")
    assert (only.offset, only.level) == (pytest.approx(axis, abs=1e-12), 0.0)
    # the head's own section is cut, less the throat of 6.2
    assert only.area == pytest.approx((wide + 0.005 - 6.2) * 2.605, rel=1e-6)


@pytest.mark.parametrize(("slot", "wide"), [({}, 10.4), (ONE_SIDED, 11.2)])
def test_a_head_over_the_tolerance_is_refused(slot, wide):
    tolerance = {"slot.width_tolerance": 0.004}
    with pytest.raises(InputError, match=r"head_diameter: .*lets .* pass"):
        _over(slot | tolerance, wide + 0.005, 2.6)
    with pytest.raises(InputError, match=r"head_height: .*lets 2\.7 mm .* pass"):
        _over(slot, wide, 2.705)


# --- pieces ---------------------------------------------------------------------------------------


def _job(**changes: object) -> ResolvedJob:
    job = job_from_text(example("t-track"), "t-track")
    keys = {k.replace("__", "."): v for k, v in changes.items()}
    return resolve(changed(job, {"cut.predrill": False, **keys}))


def _fronts(job: ResolvedJob, f_z: float) -> dict[PieceKind, float]:
    """Largest force on the first pass, by piece."""
    way = written_engagement(job, None)
    case = as_drawn(job, f_z, way.sine, 1.0)
    notch = notches(case)[0]
    first = [c for c in way.contacts if c.step == 0]
    return {c.kind: float(peaks(case, c.peak, notch).force[0]) for c in first}


#: Head, throat, feed per tooth, runout [mm], and the largest force at the stop over the steady one.
STOPS = [
    (11.0, 10.0, 0.05, 0.005, 1.70),
    (3.175, 1.905, 0.01016, 0.01, 1.20),
    (18.0, 10.0, 0.025, 0.005, 1.11),
]


@pytest.mark.independent("plan view of the head in a slot that ends in a round, forces as h^0.8")
@pytest.mark.parametrize(("head", "throat", "f_z", "rho", "ratio"), STOPS)
def test_the_force_at_a_closed_end(head, throat, f_z, rho, ratio):
    job = _job(
        cutter__head_diameter=head,
        cutter__neck_diameter=0.8 * throat,
        cutter__shank_diameter=12.0,
        cutter__runout=rho,
        cutter__edge_radius=0.001,
        slot__undercut_width=head,
        slot__throat_width=throat,
        slot__open_ends=1,
        work__kc11=800.0,
        work__mc=0.2,
        work__radial_ratio=0.5,
    )
    found = _fronts(job, f_z)
    assert found[PieceKind.CLOSED_END] / found[PieceKind.RUN] == pytest.approx(ratio, rel=0.01)


@pytest.mark.independent("the front integrated in the plan view, from its corners to the stop")
@pytest.mark.parametrize(("head", "throat", "f_z", "rho", "ratio"), STOPS)
@pytest.mark.parametrize("slope", [8.7, 11.7])
def test_the_piece_at_the_stop_is_worth_the_last_radius(head, throat, f_z, rho, ratio, slope):
    # The throat ends in a round about (-throat/2, 0), the head's front stops at the same x = 0. A point
    # of the front at y meets metal from this travel before the stop on; the farther in, the later.
    R = head / 2
    a = throat / 2
    y = np.linspace(0.0, a, 20_001)
    left = a - R + np.sqrt(R**2 - y**2) - np.sqrt(a**2 - y**2)
    sine = np.sqrt(1 - (y / R) ** 2)
    # chip of the longer tooth of two
    force = np.minimum(f_z * sine + 2 * rho, 2 * f_z * sine) ** 0.8
    assert (np.diff(left) > 0).all() and left[0] == 0
    assert force[0] / force[-1] == pytest.approx(ratio, rel=0.01)
    damage = (force / force[0]) ** slope
    growing = float((np.diff(left) * (damage[1:] + damage[:-1]) / 2).sum())
    last_radius = growing + (R - left[-1]) * float(damage[-1])
    assert last_radius < passes.STOP * R


@pytest.mark.closed_form("half a radius at each closed end of every pass")
@pytest.mark.parametrize("open_ends", [0, 1, 2])
def test_every_pass_has_its_closed_ends(open_ends):
    # a wider undercut in one step a side: three passes; the head goes down a hole where none is open
    job = _job(cutter__head_diameter=8.0, cutter__neck_diameter=4.0, slot__open_ends=open_ends)
    steps = passes.passes(job, None, "conventional")
    assert len(steps) == 3
    for p in steps:
        assert p.pieces[0].kind is PieceKind.RUN and p.pieces[0].travel == 118.0 + 8.0
        ends = [x for x in p.pieces if x.kind is PieceKind.CLOSED_END]
        assert len(ends) == (open_ends < 2)
        assert sum(x.travel for x in ends) == pytest.approx((2 - open_ends) * 0.5 * 4.0)
        for end in ends:
            # the whole front, at the height of the head: 8 wide and 2.6 high, in metal
            assert removed_area(end.section, p.swept) == pytest.approx(8.0 * 2.6, rel=1e-6)
    assert passes.travel_of(steps) == pytest.approx(3 * (126.0 + (2 - open_ends) * 2.0))


@pytest.mark.parametrize("width", [10.4, 11.2])
def test_more_closed_ends_are_never_safer(width):
    found = []
    # one force law for all: the sources are pooled at the thickest chip, which a closed end moves
    law = {"work__kc11": 500.0, "work__mc": 0.25}
    for open_ends in (2, 1, 0):
        job = _job(slot__open_ends=open_ends, slot__undercut_width=width, **law)
        way = written_engagement(job, None, 36)
        loads = cut_loads(job, way.contacts, as_drawn(job, 0.02, way.sine, 1.0))
        found.append((float(loads.sigma_1[0]), float(loads.fatigue[0])))
    assert found[1][0] > 1.02 * found[0][0] and found[2][0] == found[1][0]
    assert found[0][1] < found[1][1] < found[2][1]


def _drilled(depth: float, length: float, **more: object) -> ResolvedJob:
    own = {"diameter": 2.0, "offsets": [-4.0, 4.0], "height": 1.3, "depth": depth}
    return _job(
        cut__predrill=True,
        slot__length=length,
        **{f"predrill__{k}": v for k, v in own.items()} | {"slot__open_ends": 1} | more,
    )


def _loads(job: ResolvedJob, f_z: float = 0.02) -> CutLoads:
    way = written_engagement(job, None, 36)
    return cut_loads(job, way.contacts, as_drawn(job, f_z, way.sine, 1.0))


@pytest.mark.closed_form("holes as deep as a scratch change nothing")
def test_holes_half_a_millimetre_deep_are_none():
    bare = _job(slot__length=12.7, slot__open_ends=1)
    for field in (f.name for f in dataclasses.fields(CutLoads)):
        ours, theirs = (getattr(_loads(x), field) for x in (_drilled(0.5, 12.7), bare))
        assert (ours == theirs).all(), field


@pytest.mark.closed_form("a drilled stretch counts from where the whole front is over it")
def test_holes_half_deep_leave_the_bare_slot_the_worst():
    half = _drilled(20.0, 40.0)
    (step,) = written_passes(half, None)
    kinds = [x.kind for x in step.pieces]
    assert kinds == [PieceKind.RUN, PieceKind.HOLES, PieceKind.CLOSED_END]
    run, holes, _ = step.pieces
    assert holes.travel == pytest.approx(20.0 - 5.2)
    assert run.travel + holes.travel == pytest.approx(40.0 + 10.4)
    assert run.section.holes == () and len(holes.section.holes) == 2
    with_holes, bare = _loads(half), _loads(_job(slot__length=40.0, slot__open_ends=1))
    assert with_holes.sigma_1 == bare.sigma_1 and with_holes.force == bare.force
    assert with_holes.fatigue < bare.fatigue


def test_holes_through_leave_no_bare_piece():
    # half way from each of two open ends
    through = _drilled(20.0, 40.0, slot__open_ends=2)
    (step,) = written_passes(through, None)
    (only,) = step.pieces
    assert only.kind is PieceKind.RUN and len(only.section.holes) == 2
    bare = _loads(_job(slot__length=40.0))
    assert _loads(through).sigma_1 < bare.sigma_1
    assert _loads(through).fatigue < bare.fatigue


# --- slivers --------------------------------------------------------------------------------------


@pytest.mark.closed_form("y = 3.1 is met at sin phi = sqrt(1 - (3.1/3.5)^2), 0.1 mm under the roof")
def test_a_pass_that_meets_slivers_alone_is_cut_by_a_square_corner():
    # heads of 2.5 in 2.6 leave a strip of 0.1; two passes 0.2 off centre have taken the rest beside
    # the throat, and the strip lies between two nodes of the corner's arc
    job = _job(
        cutter__head_diameter=7.0,
        cutter__head_height=2.5,
        cutter__corner_radius=0.5,
        slot__undercut_width=7.4,
    )
    steps = written_passes(job, None)
    sliver = steps[3]
    assert (sliver.offset, sliver.level) == (0.0, 0.1) and sliver.area > 0.02
    peak = passes.contacts_of(steps, 2, 24)[3].peak
    sine = np.sin(peak.phi)
    assert sine.max() == pytest.approx(math.sqrt(1 - (3.1 / 3.5) ** 2), rel=1e-6)
    assert peak.b[sine.argmax()].tolist() == pytest.approx([0.1], rel=1e-6)
    assert _loads(job).force > 0


@pytest.mark.closed_form("0.8^2 - 0.45^2 = 0.66^2: the hole takes what lies from 2.14 to 3.46")
def test_a_stretch_whose_metal_is_all_drilled_is_no_piece():
    # the middle one of three heads 0.9 high on the centre line takes y from 3.1 to 3.2
    job = _drilled(
        15.0,
        40.0,
        predrill__diameter=1.6,
        predrill__offsets=[-2.8, 2.8],
        slot__open_ends=2,
        slot__undercut_width=7.2,
        cutter__head_diameter=6.4,
        cutter__head_height=0.9,
    )
    steps = written_passes(job, None)
    bare = [(p.offset, p.level) for p in steps if [x.kind for x in p.pieces] == [PieceKind.RUN]]
    assert bare == [(0.0, 0.85)]
    assert len(passes.contacts_of(steps, 2, 24)) == 9 + 8


def test_sides_that_meet_the_same_metal_are_asked_once() -> None:
    """Both side passes of a conventional cut mirror each other; the first pass is another."""
    job = changed(job_from_text(example("t-track"), "t-track"), {"slot.undercut_width": 11.2})
    contacts = written_engagement(resolve(job), None).contacts
    assert [c.step for c in contacts] == [0, 1, 2]
    joined = passes.merged(contacts)
    assert [c.step for c in joined] == [0, 1]
    assert joined[1].travel == contacts[1].travel + contacts[2].travel
    longer = dataclasses.replace(contacts[2].peak, b=contacts[2].peak.b * 1.001)
    other = [*contacts[:2], dataclasses.replace(contacts[2], peak=longer)]
    assert passes.merged(other) == other

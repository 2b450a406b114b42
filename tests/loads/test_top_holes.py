"""Holes from the top at a closed end: their sizes by hand, and what they spare the neck."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loadsim.base.errors import InputError
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads.cut import cut_loads, engagement_of, written_passes
from loadsim.loads.machine import drilling_time
from loadsim.loads.nominal import as_drawn
from loadsim.loads.passes import PieceKind, no_way_in, passes
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.top_holes import TopKind, TopLayout, top_layouts
from loadsim.mechanics.stock import Hole, TopHole

#: Head 10.4 in a throat 6.2 wide and 7.4 deep; the undercut ends where the slot is closed.
DROP_IN = {
    "predrill.diameter": 10.5,
    "predrill.offsets": [0.0],
    "predrill.along": [5.2],
    "predrill.depth": 7.4,
    "cut.predrill": True,
}


def job(ends: int = 1, **changes: object) -> Job:
    base = job_from_text(example("t-track"), "t-track")
    keys = {k.replace("__", "."): v for k, v in changes.items()}
    return changed(base, {"slot.open_ends": ends} | keys)


def stress(
    s: ResolvedJob, holes: tuple[Hole | TopHole, ...] = (), depth: float = 7.4
) -> tuple[float, float]:
    """Largest stress and force in the cut. [MPa], [N]"""
    steps = passes(s, None, "conventional", holes, depth)
    found = cut_loads(s, engagement_of(s, steps, 90).contacts, as_drawn(s, 0.016, 100.0, 1.0))
    return float(found.sigma_1.item()), float(found.force.item())


def layout(s: ResolvedJob, kind: TopKind) -> TopLayout:
    return next(x for x in top_layouts(s) if x.kind is kind)


@pytest.mark.closed_form("10.4 and 0.05 of room on each side; 6.2; (6.2 - 0.3)/2 at (6.2 - 2.95)/2")
def test_sizes_and_places() -> None:
    s = resolve(job())
    drop, one, pair = top_layouts(s)
    assert [x.kind for x in (drop, one, pair)] == [*TopKind]
    assert drop.holes == (TopHole(along=pytest.approx(5.2), offset=0.0, diameter=10.5),)
    assert one.holes == (TopHole(along=0.0, offset=0.0, diameter=6.2),)
    assert [(h.along, h.offset, h.diameter) for h in pair.holes] == [
        (0.0, pytest.approx(1.625), 2.95),
        (0.0, pytest.approx(-1.625), 2.95),
    ]
    assert [x.past for x in (drop, one, pair)] == pytest.approx([0.05, 3.1, 1.475])
    assert {x.depth for x in (drop, one, pair)} == {7.4}
    assert top_layouts(resolve(job(2))) == ()
    one_sided = resolve(job(slot__sides=1))
    assert layout(one_sided, TopKind.DROP_IN).holes[0].offset == one_sided.axis_limits[1] > 0


def test_a_drop_in_hole_leaves_what_a_slot_open_at_both_ends_asks() -> None:
    s = resolve(job())
    free = stress(resolve(job(2)))
    drop = layout(s, TopKind.DROP_IN)
    assert stress(s, drop.holes) == pytest.approx(free)
    assert stress(s)[0] > 1.1 * free[0]  # the whole front in metal at the stop
    pieces = passes(s, None, "conventional", drop.holes, 7.4)[0].pieces
    assert [piece.kind for piece in pieces] == [PieceKind.RUN]


def test_holes_inside_the_throat_spare_a_part_of_it() -> None:
    s = resolve(job())
    bare, free = stress(s)[0], stress(resolve(job(2)))[0]
    for kind in (TopKind.ONE, TopKind.PAIR):
        assert free < stress(s, layout(s, kind).holes)[0] < bare
    # closer in, the middle of the front stays in metal, and the thickest chip with it
    pair = tuple(dataclasses.replace(h, along=1.475) for h in layout(s, TopKind.PAIR).holes)
    assert stress(s, pair)[0] == pytest.approx(bare)


def test_a_hole_of_no_depth_changes_nothing() -> None:
    s = resolve(job())
    holes = layout(s, TopKind.DROP_IN).holes
    for depth in (1e-6, 7.4 - 2.6):  # down to the undercut's roof
        assert passes(s, None, "conventional", holes, depth) == passes(s, None, "conventional")


def test_the_other_end_and_a_pass_that_starts_there_are_not_spared() -> None:
    s = resolve(job(0))
    holes = layout(s, TopKind.DROP_IN).holes
    assert stress(s, holes) == pytest.approx(stress(s))
    steps = passes(s, None, "conventional", holes, 7.4)
    bare = passes(s, None, "conventional")
    closed = [sum(x.travel for x in p.pieces if x.kind is PieceKind.CLOSED_END)
              for p in (steps[0], bare[0])]  # fmt: skip
    assert closed[0] == pytest.approx(closed[1] / 2)
    sides = {"cutter__head_diameter": 8.8, "cutter__neck_diameter": 4.0}
    s = resolve(job(**sides))
    back = [p for p in passes(s, None, "conventional", holes, 7.4) if p.back]
    assert back == [p for p in passes(s, None, "conventional") if p.back] != []


@settings(max_examples=15, deadline=None)
@given(along=st.floats(-1.0, 6.0), d=st.floats(1.0, 10.0), more=st.floats(1.0, 1.5))
def test_a_larger_hole_never_asks_more(along: float, d: float, more: float) -> None:
    s = resolve(job())
    small, large = (
        stress(s, (TopHole(along=along, offset=0.0, diameter=x),))[0] for x in (d, d * more)
    )
    assert large <= small * (1 + 1e-9) <= stress(s)[0] * (1 + 2e-9)


def test_a_hole_lets_the_head_in_at_a_closed_end() -> None:
    one_sided = {"slot__sides": 1, "cut__direction": "climb"}
    s = resolve(job(**one_sided))
    offset = s.axis_limits[1]
    own = DROP_IN | {"predrill.offsets": [offset]}
    drilled = resolve(changed(job(**one_sided), own))
    starts = [[no_way_in(x, p) for p in written_passes(x, None)] for x in (s, drilled)]
    assert any(starts[0]) and not any(starts[1])


def test_the_job_asks_for_them() -> None:
    s = resolve(changed(job(), DROP_IN))
    assert written_passes(s, None) == passes(
        s, None, "conventional", (TopHole(along=5.2, offset=0.0, diameter=10.5),), 7.4
    )


@pytest.mark.closed_form("one end to drill from: a minute a hole over the time in the metal")
def test_they_are_drilled_from_one_end() -> None:
    s = resolve(job())
    pair = layout(s, TopKind.PAIR).holes
    two, one = (drilling_time(s, holes, 7.4) for holes in (pair, pair[:1]))
    assert two - one == pytest.approx(one - 180.0)


@pytest.mark.parametrize(
    ("ends", "change", "words"),
    [
        (2, {}, "along: is for holes at a closed end"),
        (1, {"predrill.height": 1.3}, "along: is given together with a height"),
        (1, {"predrill.along": [1.0, 2.0]}, "along: hold 2 for 1 offsets"),
        (
            1,
            {"predrill.depth": 7.5},
            "depth: is 7.5 mm (0.2953 in); that is past the undercut's floor, 7.4 mm",
        ),
        (
            1,
            {"predrill.along": [-5.3]},
            "along: and offsets put a hole at -5.3 mm (-0.2087 in) and 0 mm",
        ),
        (
            1,
            {"predrill.offsets": [5.3]},
            "along: and offsets put a hole at 5.2 mm (0.2047 in) and 5.3 mm",
        ),
        (
            1,
            {"predrill.along": [5.2, 6.0], "predrill.offsets": [0.0, 0.0]},
            "along: and offsets put two holes closer than the diameter",
        ),
    ],
)
def test_holes_that_cannot_be_are_refused(ends: int, change: dict[str, object], words: str) -> None:
    with pytest.raises(InputError) as caught:
        changed(job(ends), DROP_IN | change)
    told = [f"{p.where.removeprefix('[predrill] ')}: {p.message}" for p in caught.value.problems]
    assert any(text.startswith(words) for text in told), told

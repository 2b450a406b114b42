"""No GO with steel inside steel: every pass against every wall, by plane geometry written again
here and by the drawing.
"""

from __future__ import annotations

import functools
import random
from typing import Any

import pytest

from loadsim import check, plan
from loadsim.answers.results import Result
from loadsim.base.errors import InputError
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.report.drawings.slot_scene import scene_of
from loadsim.risk import samples


@functools.cache
def track() -> Job:
    return job_from_text(example("t-track"), "t-track")


@functools.cache
def drawn() -> samples.Draws:
    return samples.draws(8)


def job(**changes: Any) -> Job:
    return changed(track(), {k.replace("__", "."): v for k, v in changes.items()})


def one_sided(width: float, **more: Any) -> Job:
    """A one-sided undercut by a small head, in one pass: throat 9 mm, head 8 mm, neck 4 mm."""
    return job(
        slot__throat_width=9.0,
        slot__sides=1,
        slot__undercut_width=width,
        cutter__head_diameter=8.0,
        cutter__neck_diameter=4.0,
        cutter__neck_fillet=0.1,
        cut__feed_per_tooth=0.008,
        **more,
    )


@pytest.mark.closed_form("4.5 - (width - 4.5 - 4.0) - 2.0")
@pytest.mark.parametrize("width", [10.4, 10.9, 10.99, 11.5, 12.0, 13.0, 15.0])
def test_the_neck_of_a_one_sided_cut_never_goes_into_the_throat_wall(width: float) -> None:
    # by hand: the axis goes to width - 4.5 - 4.0 off centre; the neck's surface is 2.0 farther, the wall stands at 4.5
    result = check(one_sided(width), drawn())
    gap = 4.5 - (width - 4.5 - 4.0) - 2.0
    assert (result.verdict == "no-go") == (gap < 0.05) == (width > 10.95)
    found = {x.name: x for x in result.limits}["reach of side passes"]
    assert found.hard and found.fit and (found.utilization > 1) == (gap < 0.05)
    assert (plan(one_sided(width), drawn()).result.verdict != "no-go") == (gap >= 0.05)


def random_job(rng: random.Random) -> Job:
    """Any T or L of soft aluminum with a stout cutter, so that a clearance is what decides."""
    throat = rng.uniform(3.0, 12.0)
    width = throat * rng.uniform(1.05, 2.2)
    height = rng.uniform(1.0, 4.0)
    depth = rng.uniform(5.0, 10.0)
    head = min(width, throat * rng.uniform(0.6, 2.2))
    neck = min(head, throat) * rng.uniform(0.2, 0.98)
    thick = height * rng.choice([1.0, 1.0, 0.8, 0.5])
    long = depth - thick + rng.choice([0.3, 0.06, 0.04, -0.5])
    return job(
        slot__throat_width=throat,
        slot__undercut_width=width,
        slot__undercut_height=height,
        slot__depth=depth,
        slot__length=rng.uniform(4.0, 60.0),
        slot__sides=rng.choice([1, 2]),
        slot__open_ends=rng.choice([0, 1, 2]),
        slot__throat_depth=rng.choice([None, depth, depth - height, depth - 0.5 * height]),
        cutter__head_diameter=head,
        cutter__head_height=thick,
        cutter__neck_diameter=neck,
        cutter__neck_length=long,
        cutter__neck_fillet=None,
        cutter__shank_diameter=max(neck, 10.0),
        cutter__stickout=long + thick + 4.0,
        cut__stepover=rng.choice([None, None, 0.5]),
        cut__direction=rng.choice(["conventional", "climb"]),
        cut__feed_per_tooth=0.004,
        target__snap_probability=0.5,
    )


def gaps(job: Job, result: Result) -> dict[str, float]:
    """Least clearance of each pair over all passes, by plane geometry of our own. [mm]"""
    slot = job.slot
    c = job.cutter
    half = slot.throat_width / 2
    r = c.neck_diameter / 2
    floor = slot.depth - (slot.throat_depth or slot.depth)
    at = [(p["offset_mm"], p["height_mm"]) for p in result.settings.passes]
    return {
        "throat": min(min(half - y, half + y) - r for y, _ in at),
        "shoulder": min(z + c.head_height + c.neck_length - slot.depth for _, z in at),
        "roof": min(slot.undercut_height - z - c.head_height for _, z in at),
        "under": min(
            z + c.head_height - floor for _, z in at
        ),  # the neck stands on the head: no throat there, no room
    }


def trials(n: int) -> list[tuple[Job, Result]]:
    rng = random.Random(5)
    found = []
    while len(found) < n:
        try:
            one = random_job(rng)
        except InputError:
            continue
        found.append((one, check(one, drawn(), advise=False)))
    return found


@functools.cache
def sample() -> tuple[tuple[Job, Result], ...]:
    return tuple(trials(120))


@pytest.mark.independent("plane geometry written again in the test")
def test_a_clearance_that_is_missing_is_a_no_go_and_named() -> None:
    named = {
        "throat": {"neck in throat", "reach of side passes"},
        "shoulder": {"shoulder above surface"},
        "under": {"neck above throat floor"},
    }
    seen = set()
    for one, result in sample():
        over = {x.name for x in result.limits if x.hard and x.utilization > 1 + 1e-9}
        for pair, gap in gaps(one, result).items():
            if gap < (0.05 if pair in ("throat", "shoulder") else 0.0) - 1e-6:
                assert result.verdict == "no-go", (pair, gap)
                assert over & named[pair], (pair, gap, over)
                seen.add(pair)
        fine = gaps(one, result)
        if fine["throat"] > 0.0501 and fine["shoulder"] > 0.0501 and fine["under"] > 1e-6:
            assert not over & set().union(*named.values())
    assert seen == set(named)
    assert {r.verdict for _, r in sample()} >= {"go", "no-go"}


def test_the_drawing_shows_no_part_of_a_go_in_the_metal() -> None:
    shown = 0
    for one, result in sample():
        if result.verdict == "no-go":
            continue
        d = scene_of(one, result.settings)
        assert min(*d.neck_gaps, d.shoulder) > 0 and not d.shank_fouls
        assert d.roof_gap > -1e-9
        shown += 1
    assert shown > 15


def test_check_and_plan_agree_on_clearances() -> None:
    seen = set()
    for one, result in sample()[::20]:
        fits = {x.name for x in result.limits if x.fit and x.utilization > 1 + 1e-9}
        planned = plan(changed(one, {"cut.feed_per_tooth": None}), drawn())
        if fits:
            assert not planned.safe and planned.result.verdict == "no-go"
        seen.add(bool(fits))
    assert seen == {True, False}


@pytest.mark.published(
    "ISO 2768-1:1989, table 1, medium: 0.5 to 3 mm +-0.1: 2.6 mm may come out 2.7",
    read="memory (high)",
)
def test_a_head_5_um_over_the_undercut_is_a_go_that_says_so() -> None:
    # the example's undercut is 10.4 x 2.6 mm, its width toleranced to +-0.1
    asdrawn = check(track(), drawn())
    over = check(job(cutter__head_diameter=10.405, cutter__head_height=2.605), drawn())
    assert over.verdict == asdrawn.verdict == "go"
    assert [p["radial_width_mm"] for p in over.settings.passes] == [pytest.approx(10.405 - 6.2)]
    found = {x.name: x for x in over.limits}["head in undercut"]
    assert (found.demand, found.capacity) == (2.605, pytest.approx(2.7))
    said = [w for w in over.warnings if "as drawn" in w]
    assert [w for w in ("0.005 mm", "width", "0.100 mm") if w not in said[0]] == []
    assert [w for w in ("0.005 mm", "height", "0.100 mm") if w not in said[1]] == []
    assert not [w for w in asdrawn.warnings if "as drawn" in w]

"""The fillet between neck and head must not rub the throat's lower corners: plane geometry by hand,
and advice tried out anew.
"""

from __future__ import annotations

import re
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadsim import check
from loadsim.answers import changes
from loadsim.base.errors import InputError
from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example, examples
from loadsim.loads.cut import Picked, written_passes
from loadsim.loads.limits.clearances import (
    clearances,
    farthest_offset,
    fillet_overlap,
    largest_fillet,
    overlap_in_throat,
    thickest_neck,
)
from loadsim.loads.resolve import resolve
from loadsim.report.figures import limit_series
from loadsim.risk import samples

DRAWN = samples.draws(8)


def answer(name: str = "t-track", **changes):
    return check(
        changed(
            job_from_text(example(name), name),
            {k.replace("__", "."): v for k, v in changes.items()},
        ),
        DRAWN,
    )


def fit(found):
    return next(x for x in found.limits if x.name == "fillet in throat")


@pytest.mark.closed_form("r - c wide, r - sqrt(2 r c - c^2) high")
def test_the_overlap_by_hand():
    # 0.1 mm fillet, gap 0.0635 mm: 0.1 - sqrt(2 x 0.1 x 0.0635 - 0.0635^2) = 0.1 - 0.0931
    wide, high = fillet_overlap(np.array(0.1), np.array(0.0635))
    assert (wide, high) == (pytest.approx(0.0365), pytest.approx(0.0069, abs=5e-5))
    # a fillet no larger than the gap clears the corner; a neck that touches has all of it in there
    assert fillet_overlap(np.array([0.1, 0.1]), np.array([0.1, 0.3])) == pytest.approx(
        np.zeros((2, 2))
    )
    assert fillet_overlap(np.array(0.1), np.array([0.0, -0.2])) == pytest.approx(
        np.full((2, 2), 0.1)
    )


@pytest.mark.independent("a quarter circle followed point by point")
@given(st.floats(0.02, 1.0), st.floats(0.0, 1.0))
def test_the_overlap_of_a_drawn_fillet(fillet, share):
    # the surface of the fillet, from the neck at its foot to the head: x off the neck, z above the head
    gap = share * fillet
    angle = np.linspace(0, np.pi / 2, 200_001)
    x = fillet * (1 - np.cos(angle))
    z = fillet * (1 - np.sin(angle))
    wide, high = fillet_overlap(np.array(fillet), np.array(gap))
    assert high == pytest.approx(z[x >= gap - 1e-12].max(), abs=1e-3 * fillet)
    assert wide == pytest.approx(x.max() - gap)


def burnishes(found):
    return [x for x in found.warnings if "burnishes the corner" in x]


@pytest.mark.closed_form("gap (6.2 - 5.2)/2 less the axis's offset, then the quarter circle")
def test_what_the_fillet_does_to_the_corner():
    # a fillet of 0.4 beside a gap of 0.5 clears
    found = answer()
    assert (fit(found).demand, fit(found).capacity) == (0.0, pytest.approx(0.05))
    assert (fit(found).hard, fit(found).fit, burnishes(found)) == (False, True, [])
    assert fit(answer(cutter__neck_fillet=0.5)).demand == pytest.approx(0.0)
    # 0.6 - sqrt(2 x 0.6 x 0.5 - 0.25): told, not judged
    found = answer(cutter__neck_fillet=0.6)
    assert fit(found).demand == pytest.approx(0.6 - 0.35**0.5)
    assert "0.008 mm high: it burnishes the corner" in burnishes(found)[0]
    assert found.verdict == answer(cutter__neck_fillet=0.5).verdict
    # 0.8 - sqrt(2 x 0.8 x 0.5 - 0.25) is over 0.05
    found = answer(cutter__neck_fillet=0.8)
    assert fit(found).demand == pytest.approx(0.8 - 0.55**0.5)
    assert fit(found).utilization > 1
    assert (found.verdict, burnishes(found)) == ("marginal", [])
    # axis 0.8 mm off centre each way, so that the neck itself does not pass
    found = answer(slot__undercut_width=12.0)
    assert fit(found).demand == pytest.approx(0.4)
    assert found.verdict == "no-go"
    # one-sided, in inches: gap (0.550 - 0.260)/2 - (0.610 - 0.275 - 0.250) is 0.060, fillet 0.070:
    # 0.070 - sqrt(2 x 0.070 x 0.060 - 0.060^2)
    found = fit(answer("one-sided", cutter__neck_fillet=25.4 * 0.070))
    assert found.demand == pytest.approx(25.4 * (0.070 - 0.0048**0.5))


@pytest.mark.closed_form("a fillet reaches no farther out than the head that it runs into")
@pytest.mark.parametrize(
    ("head", "offset", "high"), [(5.0, 0.5, False), (5.2, 0.5, True), (5.2, 0.3, False)]
)
def test_no_overlap_where_the_head_itself_clears_the_throat(head, offset, high):
    # throat 6.0, neck 4.8 off centre by 0.5: gap 0.1, fillet 0.2: 0.2 - sqrt(0.04 - 0.01), 0.027
    job = SimpleNamespace(
        slot=SimpleNamespace(throat_width=6.0), cutter=SimpleNamespace(head_diameter=head)
    )
    steps = (SimpleNamespace(offset=offset), SimpleNamespace(offset=-offset))
    _, found = overlap_in_throat(job, steps, np.array([4.8]), np.array([0.2]))
    assert found == pytest.approx([0.2 - 0.03**0.5 if high else 0.0])


def test_the_shipped_examples_fit():
    for name in examples():
        assert fit(answer(name)).utilization <= 1


@pytest.mark.parametrize("changes", [
    {"cutter__neck_diameter": 2.0, "cutter__neck_fillet": 0.1}, {"cutter__neck_diameter": 4.5, "cutter__neck_fillet": 0.1, "work__kc11": 9000.0},
    {"cutter__neck_diameter": 5.9, "cutter__neck_fillet": 0.05, "work__kc11": 20000.0}, {"cutter__neck_fillet": None, "work__kc11": 20000.0},
    {"slot__undercut_width": 11.4, "cutter__neck_diameter": 4.4, "cutter__neck_fillet": 0.1, "work__kc11": 20000.0},
])  # fmt: skip
def test_no_advice_leads_into_the_throats_corners(changes):
    changes |= {"work__mc": 0.25} if "work__kc11" in changes else {}
    changes |= {"cut__feed_per_tooth": 0.2}
    found = answer(**changes)
    assert found.verdict == "no-go"
    tried = 0
    for line in found.advice:
        after = {}
        if thick := re.search(r"[Gg]rind the neck to ([\d.]+) mm", line):
            after["cutter__neck_diameter"] = float(thick[1])
        if larger := re.search(r"fillet of ([\d.]+) mm", line):
            after["cutter__neck_fillet"] = float(larger[1])
        if after:
            tried += 1
            try:
                then = answer(**{**changes, **after})
            except InputError as error:
                raise AssertionError(line) from error
            assert fit(then).utilization <= 1 + 1e-4, line  # the advice is written to a micrometre
            assert (
                next(x for x in then.limits if x.name == "neck in throat").utilization <= 1 + 1e-4
            )
    # off centre and for a stout neck other things help more
    assert tried or changes.get("cutter__neck_diameter", 5.2) >= 4.4


@pytest.mark.closed_form("6.2 - 2 x 0.1")
def test_the_neck_advised_leaves_room_for_its_fillet():
    # by hand: 6.2 less twice 0.1 of fillet, which is more than the clearance of 0.05 beside the neck
    text = " ".join(
        answer(cutter__neck_diameter=2.0, cutter__neck_fillet=0.1, cut__feed_per_tooth=0.2).advice
    )
    assert re.search("rind the neck to 6.000 mm", text)


SIZES = {
    # throat 6.0, axis 0.5 off, fillet 0.25: 6.0 - 1.0 - 2 x 0.25
    "fillet": ({"fillet": 0.25}, 4.5),
    # a fillet below the clearance of 0.05: 6.0 - 1.0 - 2 x 0.05
    "clearance": ({"fillet": 0.02}, 4.9),
    # a head of 5.0 clears the throat by itself, its fillet reaches no farther: 5.0 - 0.1
    "small head": ({"fillet": 0.25, "head_diameter": 5.0}, 4.9),
    "head": ({"fillet": 0.25, "head_diameter": 4.0}, 4.0),
    "shank": ({"fillet": 0.25, "shank_diameter": 4.0}, 4.0),
}


@pytest.mark.closed_form("throat - 2 offset - 2 max(clearance, fillet), head and shank no thinner")
@pytest.mark.parametrize("case", SIZES)
def test_the_thickest_neck_by_hand(case):
    other, expected = SIZES[case]
    plain = {"throat_width": 6.0, "offset": 0.5, "head_diameter": 10.0, "shank_diameter": 10.0}
    assert thickest_neck(**(plain | other)) == pytest.approx(expected)


@pytest.mark.closed_form("(throat - 2 offset - neck)/2, any beside a head that clears the throat")
@pytest.mark.parametrize(
    ("neck", "head", "expected"),
    [
        # throat 6.0, axis 0.5 off: (6.0 - 1.0 - 4.5)/2
        (4.5, 10.0, 0.25),
        # the neck alone is 0.2 too thick
        (5.2, 10.0, -0.1),
        # a head of 5.0 passes the throat, its fillet reaches no farther
        (4.5, 5.0, np.inf),
    ],
)
def test_the_largest_fillet_by_hand(neck, head, expected):
    fillet = largest_fillet(throat_width=6.0, offset=0.5, neck_diameter=neck, head_diameter=head)
    assert fillet == pytest.approx(expected)


@pytest.mark.parametrize("fillet", [0.02, 0.1, 0.4])
@pytest.mark.parametrize("width", [10.6, 11.4])
@pytest.mark.parametrize("apart", [False, True])
def test_every_place_says_the_same_thickest_neck_and_the_clearances_agree(fillet, width, apart):
    """Advice that strengthens, advice that makes room and the clearances: one neck passes in all,
    by the fillet at the head: the other end stays out of the throat.
    """
    ends = {"cutter.neck_fillet": 0.01, "cutter.head_fillet": fillet} if apart else {}
    job = changed(
        job_from_text(example("t-track"), "t-track"),
        {"slot.undercut_width": width, "cutter.neck_diameter": 2.0, "cutter.neck_fillet": fillet}
        | ends,
    )
    resolved = resolve(job)
    steps = written_passes(resolved, None)
    picked = Picked(speed=1.0, f_z=0.01, stepover=None, notes=())
    advised = {
        change["cutter.neck_diameter"]
        for _, change in (
            *changes._to_the_neck(resolved, picked),
            *changes._thicker_neck(resolved, farthest_offset(steps)),
        )
        if "cutter.neck_diameter" in change
    }
    # the report's slider ends at the thickest; what is advised is rounded down to what a shop sets
    basis = SimpleNamespace(job=resolved, way=SimpleNamespace(passes=steps))
    thickest = limit_series.thickest_of(basis)
    assert len(advised) == 1 and thickest - 0.1 < max(advised) <= thickest + 1e-9

    def over(neck: float) -> bool:
        one = np.ones(1)
        limits = clearances(resolved, steps, neck * one, 5.0 * one, fillet * one, one)
        throat = {"neck in throat", "reach of side passes"}
        # a proposal keeps the fillet off the corners, which a cut may burnish
        touches = overlap_in_throat(resolved, steps, neck * one, fillet * one)[0] > 1e-9
        return touches.any() or any(x.over.any() for x in limits if x.code in throat)

    assert not over(thickest)
    assert over(thickest + 1e-6)


@pytest.mark.closed_form("r - sqrt(2 r c - c^2), of the fillet at the head alone")
@pytest.mark.parametrize(("shank", "head", "high"), [(0.5, 0.1, 0.0), (0.1, 0.5, 0.2)])
def test_the_fillet_at_the_head_meets_the_corner_and_that_at_the_shank_does_not(shank, head, high):
    # throat 6.2, neck 6: c = 0.1; 0.5 - sqrt(2 x 0.5 x 0.1 - 0.1^2) = 0.2
    ends = {"cutter__neck_fillet": shank, "cutter__head_fillet": head}
    assert fit(answer(cutter__neck_diameter=6.0, **ends)).demand == pytest.approx(high, abs=1e-7)


@pytest.mark.closed_form("11.25 over 11.2: axis at 11.25/2 - 3.1, gap (6.2 - 1)/2 - 2.525")
def test_an_assumed_fillet_fits_beside_a_head_over_a_one_sided_width():
    sizes = {"slot.sides": 1, "slot.undercut_width": 11.2, "cutter.head_diameter": 11.25}
    more = {"cutter.neck_diameter": 1.0, "cutter.neck_fillet": None}
    job = resolve(changed(job_from_text(example("t-track"), "t-track"), sizes | more))
    assert written_passes(job, None)[0].offset == pytest.approx(2.525)
    assert job.head_fillet == pytest.approx(0.075)

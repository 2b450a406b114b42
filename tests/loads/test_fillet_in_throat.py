"""The fillet between neck and head must not rub the throat's lower corners: plane geometry by hand,
and advice tried out anew.
"""

from __future__ import annotations

import re
from types import SimpleNamespace

import numpy as np
import pytest

from loadsim import check
from loadsim.answers import changes
from loadsim.base.errors import InputError
from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example, examples
from loadsim.loads.cut import Picked, written_passes
from loadsim.loads.limits.clearances import (
    clearances,
    farthest_offset,
    largest_fillet,
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


@pytest.mark.closed_form("d + 2 r and twice the axis's offset")
def test_what_the_fillet_needs_of_the_throat():
    # plane geometry by hand: at the head's upper face a neck of d with a fillet r stands d + 2 r wide, the throat is 6.2 mm
    found = fit(answer())  # 5.2 + 2 * 0.4
    assert (found.demand, found.capacity, found.hard, found.fit) == (
        pytest.approx(6.0),
        pytest.approx(6.2),
        True,
        True,
    )
    assert fit(answer(cutter__neck_fillet=0.5)).utilization == pytest.approx(1.0)
    rubbing = answer(cutter__neck_fillet=0.51)
    assert fit(rubbing).utilization > 1
    assert rubbing.verdict == "no-go"
    assert "it rubs the throat's lower corners" in fit(rubbing).note
    # axis 0.8 mm off centre each way: 5.2 + 0.8 + 1.6
    assert fit(answer(slot__undercut_width=12.0)).demand == pytest.approx(7.6)
    # one-sided, in inches: 0.260 + 2 * 0.020 + 2 * (0.610 - 0.275 - 0.250)
    assert fit(answer("one-sided")).demand == pytest.approx(25.4 * 0.470)
    # limit case: a fillet reaches no farther out than the head that it runs into
    assert fit(
        answer(
            slot__throat_width=9.0,
            cutter__head_diameter=10.4,
            cutter__neck_diameter=8.0,
            cutter__shank_diameter=12.0,
            cutter__neck_fillet=2.0,
        )
    ).demand == pytest.approx(10.4)


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
    assert tried or changes.get("cutter__neck_diameter", 5.2) >= 5.2


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
def test_every_place_says_the_same_thickest_neck_and_the_clearances_agree(fillet, width):
    """Advice that strengthens, advice that makes room and the clearances: one neck passes in all."""
    job = changed(
        job_from_text(example("t-track"), "t-track"),
        {"slot.undercut_width": width, "cutter.neck_diameter": 2.0, "cutter.neck_fillet": fillet},
    )
    resolved = resolve(job)
    steps = written_passes(resolved, None)
    advised = [
        change["cutter.neck_diameter"]
        for change in (
            changes._to_the_neck(resolved, Picked(speed=1.0, f_z=0.01, stepover=None, notes=()))[0][
                1
            ],
            changes._thicker_neck(resolved, farthest_offset(steps))[0][1],
        )
    ]
    # what makes room is rounded down to what a shop sets
    assert advised[0] - 0.1 < advised[1] <= advised[0] + 1e-9

    def over(neck: float) -> bool:
        one = np.ones(1)
        limits = clearances(resolved, steps, neck * one, 5.0 * one, fillet * one, one)
        throat = {"neck in throat", "fillet in throat", "reach of side passes"}
        return any(limit.over.any() for limit in limits if limit.code in throat)

    # the report's slider ends there too
    basis = SimpleNamespace(job=resolved, way=SimpleNamespace(passes=steps))
    assert limit_series.thickest_of(basis) == advised[0]
    assert not over(advised[0])
    assert over(advised[0] + 1e-6)

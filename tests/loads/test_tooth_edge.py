"""The edge of a tooth: the worst chip by arithmetic, and never less used at a larger feed."""

from __future__ import annotations

import dataclasses
import functools
import math
from typing import Any

import numpy as np
import pytest

from loadsim import check
from loadsim.answers.results import Result
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads.cut import cutting, written_engagement
from loadsim.loads.limits import undercut
from loadsim.loads.limits.tooth_edge import edge_strength, edge_stress, worse_edge
from loadsim.loads.limits.utilization import LimitCode
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk import samples

FEEDS = np.geomspace(0.001, 0.2, 60)
OWN = {"work__kc11": 800.0, "work__mc": 0.25, "work__radial_ratio": 0.4}


def job(**changes: Any) -> Job:
    track = job_from_text(example("t-track"), "t-track")
    return changed(track, {k.replace("__", "."): v for k, v in changes.items()})


def resolved(rake: float, relief: float, **changes: Any) -> ResolvedJob:
    angles = {"cutter__rake": math.radians(rake), "cutter__relief": math.radians(relief)}
    return resolve(job(**angles, **changes))


def tension(h: float, rake: float, relief: float, edge: float) -> float:
    """Michell's wedge, bending at twice the contact and push at the contact, of 1 mm of edge."""
    F = 800 * h**0.75
    half = (math.pi / 2 - math.radians(rake + relief)) / 2
    turn = half + math.radians(relief)
    across = F * (math.sin(turn) - 0.4 * math.cos(turn))
    along = F * (math.cos(turn) + 0.4 * math.sin(turn))
    contact = 2.5 * max(h, edge)
    bending = across * math.sin(half) / (half - math.sin(2 * half) / 2) / (2 * contact)
    push = along * math.cos(half) / (half + math.sin(2 * half) / 2) / contact
    return bending - push


@pytest.mark.closed_form(
    "F = 800 h^0.75 over 2.5 max(h, edge radius): worst at min(h, edge radius)"
)
@pytest.mark.parametrize(("rake", "relief"), [(0.0, 40.0), (10.0, 30.0), (10.0, 8.0)])
def test_the_worst_chip_is_as_thick_as_the_edge_is_round(rake: float, relief: float) -> None:
    # h^0.75 over a constant contact rises, h^0.75 over a contact that grows with h falls, and so
    # does it with the loss of strength by h^(2/15) that the larger volume brings
    tool = resolved(rake, relief, **OWN, cutter__edge_radius=0.01)
    peaks = np.array([0.004, 0.007, 0.01, 0.03, 0.2])
    expected = [tension(min(h, 0.01), rake, relief, 0.01) for h in peaks.tolist()]
    assert edge_stress(tool, peaks, tool.force_factor) == pytest.approx(expected, rel=2e-3)
    # written again: the stress of the thick chip by itself is less
    assert tension(0.2, rake, relief, 0.01) * 20 ** (2 / 15) < tension(0.01, rake, relief, 0.01)


@pytest.mark.closed_form("the given ratio at the ends of a 90 % band: times exp(-+1.645 sd)")
def test_a_radial_force_that_is_not_sure_spares_no_tooth() -> None:
    peak = np.array([0.02])
    sure = resolved(10.0, 40.0, **OWN)
    unsure = dataclasses.replace(sure, radial_spread=0.3)
    less, more = (
        dataclasses.replace(sure, radial=sure.radial.scaled(math.exp(x * 1.645 * 0.3)))
        for x in (-1, 1)
    )
    assert (
        edge_stress(less, peak, 1.0) > edge_stress(sure, peak, 1.0) > edge_stress(more, peak, 1.0)
    )
    assert edge_stress(unsure, peak, 1.0) == pytest.approx(edge_stress(less, peak, 1.0), rel=1e-12)


@pytest.mark.closed_form("mean / Gamma(1 + 1/15) (V_bar/(2 16^2) / (0.025^2 x 2.6) )^(1/15)")
def test_the_metal_behind_the_edge_is_small_and_strong() -> None:
    tool = resolved(10.0, 8.0, cutter__edge_radius=0.01)
    blank = tool.blank
    assert blank.weibull_m == 15
    sized = (blank.bar_volume / (2 * 16**2) / (0.025**2 * 2.6)) ** (1 / 15)
    one_in_hundred = (-math.log(0.99)) ** (1 / 15)
    expected = blank.bend_strength / math.gamma(1 + 1 / 15) * sized * one_in_hundred
    assert tool.target.snap_probability == 0.01
    assert edge_strength(tool) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("material", ["al-6061-t6", "al-6061-o", "steel-1045", "stainless-304"])
@pytest.mark.parametrize("rake", [-10.0, 0.0, 10.0, 25.0])
@pytest.mark.parametrize("relief", [3.0, 8.0, 20.0, 40.0])
def test_more_feed_never_spares_the_tooth(material: str, rake: float, relief: float) -> None:
    tool = resolved(rake, relief, work__material=material)
    way = written_engagement(tool, None, 24)
    (root,) = (
        x
        for x in undercut.checks(tool, cutting(tool, way, 100.0, FEEDS))
        if x.code is LimitCode.TOOTH_ROOT
    )
    assert not root.hard
    assert (np.diff(root.utilization) >= -1e-12).all()
    assert root.utilization[-1] > root.utilization[0]


@functools.cache
def steep(material: str, relief: float) -> Result:
    small = {
        "slot__throat_width": 1.93, "slot__undercut_width": 3.2, "slot__undercut_height": 1.9, "slot__depth": 3.1,
        "cutter__head_diameter": 3.2, "cutter__head_height": 1.9, "cutter__neck_diameter": 1.8,
        "cutter__neck_length": 2.0, "cutter__neck_fillet": None, "cutter__shank_diameter": 3.2,
        "cutter__stickout": 13.0, "cutter__rake": 0.0, "cut__feed_per_tooth": 0.01,
    }  # fmt: skip
    tool = job(**small, cutter__relief=math.radians(relief), work__material=material)
    return check(tool, samples.draws(8))


@pytest.mark.parametrize("material", ["al-6061-t6", "al-6061-o"])
def test_steep_relief_on_a_small_cutter_holds_in_aluminum(material: str) -> None:
    # common practice, no source: steep relief is ground on small cutters for soft metal, and lives
    used = {r: {x.name: x.utilization for x in steep(material, r).limits} for r in (8.0, 40.0)}
    assert used[40.0]["tooth root"] < 1
    assert used[8.0]["tooth root"] < used[40.0]["tooth root"]


@pytest.mark.parametrize("material", ["al-6061-t6", "al-6061-o", "steel-1045", "stainless-304"])
@pytest.mark.parametrize("relief", [8.0, 20.0, 40.0])
@pytest.mark.parametrize("f_z", [0.002, 0.008, 0.03])
def test_a_duller_edge_never_spares_the_tooth(material: str, relief: float, f_z: float) -> None:
    used = []
    for edge in (0.005, 0.007, 0.010, 0.014, 0.02, 0.05):
        tool = resolved(0.0, relief, work__material=material, cutter__edge_radius=edge)
        cut = cutting(tool, written_engagement(tool, None, 24), 100.0, f_z)
        (root,) = (x for x in undercut.checks(tool, cut) if x.code is LimitCode.TOOTH_ROOT)
        used.append(float(root.utilization[0]))
    assert (np.diff(used) >= -1e-2 * np.array(used[:-1])).all(), used


@pytest.mark.closed_form("the chip of 4 um over an edge of 5 um: tension(4 um) of the sharper edge")
def test_a_dull_edge_is_judged_as_the_sharp_one_it_was() -> None:
    # shop-ground edges are 5 to 20 um round (memory medium)
    tool = resolved(0.0, 40.0, **OWN, cutter__edge_radius=0.02)
    sigma, bears = worse_edge(tool, np.array([0.004]), tool.force_factor)
    assert sigma == pytest.approx([tension(0.004, 0.0, 40.0, 0.005)], rel=2e-3)
    as_sharp = resolved(0.0, 40.0, **OWN, cutter__edge_radius=0.005)
    assert bears == pytest.approx([edge_strength(as_sharp)])

"""How the neck of a job rings, and what give evens out: limit cases, hand arithmetic, worse stays worse."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Job
from loadsim.job.write import example
from loadsim.loads.assumptions import SKEW_MOST, SKEW_MOST_MADE
from loadsim.loads.cut import Engagement, cutting, engagement_of
from loadsim.loads.deflection import evened, natural_frequency
from loadsim.loads.nominal import as_drawn
from loadsim.loads.passes import merged, passes
from loadsim.loads.resolve import Assumption, resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.ringing import modes_of, ringing_of, shock_factors, shock_of
from loadsim.loads.skew import RingDraws, most_skew
from loadsim.loads.turn import moment_around, neck_load
from loadsim.mechanics import force, force_law
from loadsim.mechanics.engagement import even_turn
from loadsim.risk import samples
from loadsim.risk.samples import Uncertain

RPM = 2 * math.pi / 60
DEG = math.pi / 180


def made(**changes: Any) -> ResolvedJob:
    base: Job = job_from_text(example("t-track"), "t-track")
    thin = {"cutter.neck_diameter": 3.0}
    return resolve(changed(base, thin | {k.replace("__", "."): v for k, v in changes.items()}))


def way_of(s: ResolvedJob) -> Engagement:
    return engagement_of(s, passes(s, None, "conventional"), 90)


def told(skew: float, n: int = 5, entry: float | None = None) -> RingDraws:
    """Necks that differ in how they ring alone."""
    spread = np.linspace(0.05, 0.95, n)
    return RingDraws(
        skew=np.full(n, skew),
        push=np.zeros(n),
        entry=spread if entry is None else np.full(n, entry),
        frequency=spread[::-1],
        damping=np.full(n, 0.5),
    )


def rung(s: ResolvedJob, draws: RingDraws, rpm: float = 2600.0, f_z: float = 0.016) -> Any:
    (only,) = merged(way_of(s).contacts)
    return ringing_of(s, [only], f_z, rpm * RPM, draws)[0]


@pytest.mark.independent("the frequency of the same beam, root held")
def test_the_neck_rings_at_the_frequency_of_its_beam() -> None:
    s = made()
    modes = modes_of(s)
    rigid = natural_frequency(replace(s, stiffness=1e12))
    assert modes.omega / (2 * math.pi) == pytest.approx(rigid, rel=2e-3)  # a piece more in the mesh
    assert math.fsum(modes.shares) == pytest.approx(1.0)
    assert modes.ratios[0] == 1.0 and modes.shares[0] > 0.9


def test_a_head_under_the_collet_has_no_shank_to_bend() -> None:
    c = made().cutter
    short = made(cutter__stickout=c.neck_length + c.head_height)
    assert modes_of(short).omega > modes_of(made()).omega


@pytest.mark.closed_form("no speed, no shock")
def test_without_speed_nothing_rings() -> None:
    over, under = rung(made(), told(0.0), rpm=1e-6)
    assert over == pytest.approx(np.ones(5), abs=1e-6)
    assert under == pytest.approx(np.zeros(5), abs=1e-6)
    s = made()
    over, under = ringing_of(s, way_of(s).contacts, 0.016, None, told(0.0))[0]
    assert (over == 1).all() and (under == 0).all()


def test_edges_that_lean_ring_less_and_slower_ones_too() -> None:
    s = made()
    straight, half, two, ten = (rung(s, told(x * DEG))[0] for x in (0.0, 0.5, 2.0, 10.0))
    assert (straight > half).all() and (half > two).all() and (two > ten).all()
    assert (ten < 1.12).all() and straight.max() > 1.4
    assert (rung(s, told(0.0), rpm=600.0)[0] < straight).all()


def test_a_thicker_chip_bites_less_suddenly_but_never_asks_less() -> None:
    s = made()
    thin, thick = (rung(s, told(0.0), f_z=x)[0] for x in (0.016, 0.032))
    assert (thick <= thin).all()
    # twice the chip, and a force that grows as slowly as a worn edge lets it: a quarter power at least
    assert (thick * 2**0.25 >= thin * (1 - 2e-3)).all()


def test_pieces_and_necks_alike_share_one_table() -> None:
    s = made()
    (only,) = merged(way_of(s).contacts)
    assert shock_of(s, only) is shock_of(made(cutter__neck_fillet=0.2), only)
    assert shock_of(s, only) is not shock_of(made(cutter__neck_diameter=1.5), only)


@pytest.mark.independent("the answer of one section, its moment followed over a whole turn")
def test_the_moment_of_a_turn_is_that_of_its_peaks() -> None:
    s = made()
    c = cutting(s, way_of(s), 2600 * RPM, 0.016)
    (only,) = way_of(s).contacts
    positions = even_turn(only.section, only.swept, s.cutter.teeth, 3600)
    M = np.abs(moment_around(c.case, positions, c.case.neck_length))
    load = neck_load(c.case, only.peak, c.case.neck_length)
    assert M.max() == pytest.approx(load.moment.max(), rel=2e-3)


@pytest.mark.closed_form("largest moment times P; the far side by P or by U, whichever is more")
def test_a_load_that_rings() -> None:
    s = made()
    (only,) = way_of(s).contacts
    rest = neck_load(as_drawn(s, 0.016, 100.0, 1.0), only.peak, np.array(s.cutter.neck_length))
    rings = rest.rung(np.array([1.5]), np.array([0.1]))
    assert rings.moment.max() == pytest.approx(1.5 * rest.moment.max())
    assert rest.high < -rest.low  # the tooth that stands out bends the neck this way
    assert rings.low == pytest.approx(1.5 * rest.low)
    assert rings.high == pytest.approx(max(1.5 * rest.high[0], -0.1 * rest.low[0]))
    far = rest.rung(np.array([1.0]), np.array([3.0]))
    assert far.high == pytest.approx(-3.0 * rest.low) and far.torque is rest.torque
    turned = replace(rest, low=-rest.high, high=-rest.low).rung(np.array([1.0]), np.array([3.0]))
    assert turned.low == pytest.approx(3.0 * rest.low)


def test_the_factors_told_are_those_of_the_middle() -> None:
    s = made()
    way = way_of(s)
    case = as_drawn(s, 0.016, 100.0, 1.0)
    found = shock_factors(s, way.contacts, case, 0.016, 2600 * RPM)
    skew = np.array([SKEW_MOST / 2])
    half = np.array([0.5])
    draws = RingDraws(skew=skew, push=np.tan(skew), entry=half, frequency=half, damping=half)
    assert found.moment == pytest.approx(rung(s, draws)[0].item())
    assert found.amplitude >= found.moment > 1.2
    still = shock_factors(s, way.contacts, case, 0.016, 1e-9)
    # what leans pushes along the axis, at any speed
    pushed = force.axial_factor(np.tan(skew), 0.4, 5.2, 5.4, 3.0).item()
    assert (still.moment, still.amplitude) == pytest.approx((pushed, pushed), rel=5e-3)
    assert 1.0 < pushed < 1.01


# --- how far edges lean -------------------------------------------------------------------------------


def test_what_is_drawn_of_edges_that_nobody_measured() -> None:
    drawn = samples.draws(8)
    few = samples.ring_draws(made(), drawn).skew
    assert 0 <= few.min() < 0.05 * DEG and 1.45 * DEG < few.max() <= SKEW_MOST
    many = samples.ring_draws(made(cutter__teeth=6), drawn).skew
    assert few.max() < many.max() <= SKEW_MOST_MADE == most_skew(4)
    known = samples.ring_draws(made(cutter__edge_skew=2 * DEG), drawn).skew
    assert np.median(known) == pytest.approx(2 * DEG, rel=1e-3)
    assert np.log(known).std() == pytest.approx(0.10, rel=0.02)


def test_teeth_that_lean_by_turns_push_along_the_axis_by_turns() -> None:
    drawn = samples.draws(8)
    few, many = (samples.ring_draws(made(cutter__teeth=n), drawn) for n in (2, 6))
    assert few.push == pytest.approx(np.tan(few.skew))
    assert (many.push == 0).all() and many.skew.max() > 9 * DEG
    known = samples.ring_draws(made(cutter__teeth=6, cutter__edge_skew=2 * DEG), drawn)
    assert known.push == pytest.approx(np.tan(known.skew))


def test_that_it_was_assumed_is_said() -> None:
    (note,) = (x for x in made().assumed if x.code is Assumption.SKEW)
    assert note.facts == {"value": pytest.approx(1.5 * DEG)}
    assert not [x for x in made(cutter__edge_skew=0.0).assumed if x.code is Assumption.SKEW]


# --- give that evens out runout -----------------------------------------------------------------------


@pytest.mark.closed_form(
    "rho/(1 + 2 G), G = compliance of a cantilever times slope of the radial force"
)
def test_runout_is_evened_out_by_hand() -> None:
    """A shank too short to bend and a force with a known slope: G = c k_r (1 - m) k b h^-m."""
    s = made(cutter__stickout=8.0, work__kc11=700.0, work__mc=0.25, work__radial_ratio=0.4)
    case = replace(as_drawn(s, 0.05, 100.0, 1.0), rho=np.array(1e-4))
    b = s.cutter.head_height
    assert isinstance(s.radial, force_law.PowerRatio)
    h = np.array([0.05 * (1 - 1e-4), 0.05 * (1 + 1e-4)])
    F = case.force_factor * b * case.law.force(h) * case.radial.at(h) * case.radial_factor
    slope = (F[1] - F[0]) / (h[1] - h[0])
    length, E = s.cutter.neck_length, s.blank.E
    inertia = math.pi * 3.0**4 / 64
    bending = length**3 / (3 * E * inertia)
    kappa = 6 * (1 + s.blank.nu) / (7 + 6 * s.blank.nu)
    shearing = length * 2 * (1 + s.blank.nu) / (kappa * E * math.pi * 3.0**2 / 4)
    G = (bending + shearing) * slope
    for share in (0.0, 0.5, 1.0):
        found = evened(s, case, np.array([share]), [(math.pi / 2, b)])
        assert found == pytest.approx(1e-4 / (1 + 2 * share * G), rel=2e-3)


def test_only_a_pair_of_teeth_and_only_its_chips_are_evened_out() -> None:
    z = np.zeros((len(Uncertain), 3))
    z[Uncertain.GIVE] = (-np.inf, 0.0, np.inf)
    for teeth, credited in ((1, False), (2, True), (3, False)):
        s = made(cutter__teeth=teeth, cutter__neck_diameter=1.5)
        contacts = way_of(s).contacts
        as_is = samples.sampled_case(s, contacts, 0.02, z)
        assert np.ptp(as_is.rho) == 0  # walls see the whole of it
        chips = samples.evened_case(s, contacts, as_is, 0.02, z)
        assert (chips.rho[0] == as_is.rho[0]) and (np.ptp(chips.rho) > 0) is np.bool_(credited)
        assert (np.diff(chips.rho) <= 0).all()

"""The throat mill and the order of operations: hand-worked loads, Monte Carlo, brute force, limits. Own dimensions throughout."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from loadsim import plan
from loadsim.answers.operations import routing
from loadsim.answers.results import Plan
from loadsim.answers.throat_mill import (
    DEEPEST_SOFT,
    SIDE_DEPTHS,
    MillSettings,
    mill_settings,
    mill_state,
)
from loadsim.base import units
from loadsim.base.errors import InputError
from loadsim.cli import cli
from loadsim.job import write
from loadsim.job.read import changed, job_from_dict, job_from_text
from loadsim.job.tables import Job
from loadsim.loads.limits import throat_mill
from loadsim.loads.limits.throat_mill import MillCut, mill_checks, snap_probability
from loadsim.loads.limits.utilization import NEAR, Utilization
from loadsim.loads.machine import usual_feed
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.throat_mill import Mill, loads, mill_of, pass_loads, side_angle
from loadsim.risk import samples

MILL = {
    "diameter": 6.0,
    "flute_length": 12.0,
    "teeth": 2,
    "helix": math.radians(30),
    "material": "hss-m2",
    "stickout": 20.0,
    "runout": 0.005,
}


def job(name: str = "t-track", **changes: object) -> Job:
    """An example with a throat mill; keys are table__key, those of the mill without their table."""
    found: dict[str, object] = {f"throat_mill.{k}": v for k, v in MILL.items()}
    return changed(
        job_from_text(write.example(name), name),
        found
        | {
            (k if "__" in k else f"throat_mill__{k}").replace("__", "."): v
            for k, v in changes.items()
        },
    )


def resolved(**changes: object) -> tuple[ResolvedJob, Mill]:
    s = resolve(job(**changes))
    mill = mill_of(s)
    assert mill is not None
    return s, mill


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ((), "Feed and depth per pass: the quickest that hold every limit, "),
        (("f_z",), "Depth per pass: the quickest that holds every limit at the given feed, "),
        (("depth",), "Feed: the quickest that holds every limit at the given depth, "),
        (("f_z", "depth"), "Feed and depth per pass: as given in [throat_mill]; every limit holds"),
    ],
)
def test_what_was_given_is_not_told_as_picked(given: tuple[str, ...], said: str) -> None:
    own = picked()
    keys = {"f_z": ("feed_per_tooth", own.f_z), "depth": ("depth_per_pass", own.depth)}
    found = picked(**dict(keys[x] for x in given))
    assert (found.f_z, found.depth) == pytest.approx((own.f_z, own.depth))
    assert found.reasons[1].startswith(said), found.reasons[1]


def cut_of(s: ResolvedJob, mill: Mill, f_z: float, depth: float, speed: float = 100.0) -> MillCut:
    f = np.array([f_z])
    a = np.array([depth])
    n = np.ceil(mill.depth / a)
    return MillCut(speed=speed, f_z=f, depth=a, levels=n, side_levels=n, loads=loads(s, mill, f, a))


def picked(**changes: object) -> MillSettings:
    found = mill_settings(resolve(job(**changes)))
    assert found is not None
    return found


def named(checks: list[Utilization], name: str) -> Utilization:
    return next(c for c in checks if c.code == name)


@pytest.fixture(scope="module")
def drawn() -> samples.Draws:
    return samples.draws(12)


# --- loads, by hand -----------------------------------------------------------------------------------------------------


def test_tip_deflection_is_that_of_a_stepped_cantilever() -> None:
    # by hand: two round pieces, 0.8 of the diameter over the flutes, loaded at the tip; Timoshenko's shear with 6(1+nu)/(7+6nu)
    _, mill = resolved(machine__stiffness=1e7)
    E = mill.blank.E
    nu = mill.blank.nu
    L = 12.0
    S = 20.0
    D = 6.0
    kG = 6 * (1 + nu) / (7 + 6 * nu) * E / (2 * (1 + nu))
    I_f = math.pi * (0.8 * D) ** 4 / 64
    I_s = math.pi * D**4 / 64
    A_f = math.pi * (0.8 * D) ** 2 / 4
    A_s = math.pi * D**2 / 4
    by_hand = (
        L**3 / (3 * E * I_f)
        + (S**3 - L**3) / (3 * E * I_s)
        + L / (kG * A_f)
        + (S - L) / (kG * A_s)
        + 1e-7
    )
    assert mill.compliance == pytest.approx(by_hand, rel=1e-9)


def test_loads_of_a_straight_mill_by_hand() -> None:
    """Two straight teeth in a full slot, no runout, own constants: the peak is one tooth at phi = 90 degrees."""
    k = 800.0
    m = 0.25
    ratio = 0.5
    f = 0.02
    a = 2.0
    D = 6.2
    s, mill = resolved(
        diameter=D, helix=0.0, runout=0.0, work__kc11=k, work__mc=m, work__radial_ratio=ratio
    )
    got = loads(s, mill, np.array([f]), np.array([a]))
    F = k * a * f ** (1 - m)
    tol = 1 - math.cos(math.radians(1.5)) + 1e-9  # the grid of turning positions is 3 degrees wide
    assert got.torque.item() == pytest.approx(F * D / 2, rel=tol)
    assert got.force.item() == pytest.approx(F * math.hypot(1, ratio), rel=tol)
    assert got.peak_chip.item() == pytest.approx(f, rel=tol) and got.mean_axial.item() == 0
    # section at the flutes' end: arm to half the depth; modulus pi D^3/32 times 0.8^4
    M = F * math.hypot(1, ratio) * (12.0 - a / 2)
    T = F * D / 2
    W = math.pi * D**3 / 32 * 0.8**4
    sigma = M / W
    tau = T / (2 * W)
    assert got.sigma_1.item() == pytest.approx(sigma / 2 + math.hypot(sigma / 2, tau), rel=2 * tol)
    assert got.sigma_a.item() == pytest.approx(math.sqrt(sigma**2 + 3 * tau**2), rel=2 * tol)
    # a wall is made where the chip ends, so only the rubbing force at h_min presses across the feed there
    assert got.wall_force.item() == pytest.approx(ratio * k * a * mill.h_min ** (1 - m), rel=1e-4)
    cut = MillCut(
        speed=200.0,
        f_z=np.array([f]),
        depth=np.array([a]),
        levels=np.array([4.0]),
        side_levels=np.array([1.0]),
        loads=got,
    )
    checks = mill_checks(s, mill, cut)
    assert named(checks, "throat wall error").demand.item() == pytest.approx(
        got.wall_force.item() * mill.compliance
    )
    # 80 % of 1100 W at 200 rad/s
    assert named(checks, "spindle torque").capacity.item() == pytest.approx(0.8 * 1.1e6 / 200)
    assert named(checks, "rubbing").utilization.item() == pytest.approx(mill.h_min / f)
    # one turn for each f_z N of travel, the slot's length and one diameter, four times
    assert throat_mill.turns(s, mill, cut).item() == pytest.approx(4 * (118 + D) / (f * 2))


def test_the_wall_force_of_a_helical_mill_by_scan() -> None:
    """Counted anew, slice by slice in plain Python: at each height a tooth makes the wall when its own angle there is 0 or pi."""
    N = 3
    beta = math.radians(35)
    D = 6.2
    a = 4.0
    f = 0.03
    rho = 0.005
    k = 800.0
    m = 0.25
    ratio = 0.5
    s, mill = resolved(
        diameter=D,
        teeth=N,
        helix=beta,
        runout=rho,
        work__kc11=k,
        work__mc=m,
        work__radial_ratio=ratio,
    )
    lag = 2 * math.tan(beta) / D
    n = 120
    worst = 0.0
    heights = (np.arange(n) + 0.5) / n * a
    for wall, nudge in ((0.0, 1e-6), (math.pi, -1e-6)):
        for j in range(N):
            for z_0 in np.linspace(0, a, 16):
                turn = wall + nudge + lag * z_0 + 2 * math.pi * j / N
                F_y = 0.0
                for i in range(N):
                    phi = (turn - 2 * math.pi * i / N - lag * heights) % (2 * math.pi)
                    r = [rho * np.cos(2 * math.pi * q / N + lag * heights) for q in range(N)]
                    h = np.min(
                        [q * f * np.sin(phi) + r[i] - r[(i - q) % N] for q in range(1, N + 1)],
                        axis=0,
                    )
                    F = (
                        k
                        * np.maximum(h, mill.h_min) ** (1 - m)
                        * ((h > 0) & (phi < math.pi))
                        * a
                        / n
                    )
                    F_y += float((F * np.sin(phi) - ratio * F * np.cos(phi)).sum())
                worst = max(worst, math.fabs(F_y))
    assert loads(s, mill, np.array([f]), np.array([a])).wall_force.item() == pytest.approx(
        worst, rel=0.03
    )  # 120 plain slices


def test_a_shank_that_stands_out_far_governs() -> None:
    # by hand: its full section (1/0.41 of the flutes') with a longer arm; from there on the stress rises with the stickout
    s, mill = resolved(
        diameter=6.2,
        stickout=60.0,
        helix=0.0,
        runout=0.0,
        work__kc11=800.0,
        work__mc=0.25,
        work__radial_ratio=0.5,
    )
    got = loads(s, mill, np.array([0.02]), np.array([2.0]))
    sigma = got.force.item() * 59.0 / (math.pi * 6.2**3 / 32)
    tau = got.torque.item() / (math.pi * 6.2**3 / 16)
    assert got.sigma_1.item() == pytest.approx(sigma / 2 + math.hypot(sigma / 2, tau), rel=1e-3)


def test_a_narrower_mill_takes_side_passes() -> None:
    _, mill = resolved(diameter=3.1)  # throat 6.2: 1.55 on each side, half the diameter each
    assert (mill.side_steps, mill.side_width) == (1, pytest.approx(1.55))
    assert side_angle(mill) == pytest.approx(math.pi / 2)  # half immersion
    assert throat_mill.pass_count(mill, 8, 1) == 10 and throat_mill.pass_count(mill, 8, 8) == 24
    assert resolved(diameter=3.0)[1].side_steps == 2 and resolved(diameter=6.2)[1].side_steps == 0
    assert resolved(diameter=6.0)[1].side_width == pytest.approx(0.1)


def test_helix_spreads_the_peak_and_pulls() -> None:
    s, straight = resolved(helix=0.0, flute_length=20.0)
    _, steep = resolved(helix=math.radians(45), flute_length=20.0)
    a, b = (loads(s, m, np.array([0.02]), np.array([6.0])) for m in (straight, steep))
    assert b.torque.item() < a.torque.item() and b.mean_axial.item() > a.mean_axial.item() == 0
    # the axial bound, F_t tan(beta): torque over radius at 45 degrees
    assert b.mean_axial.item() == pytest.approx(b.mean_torque.item() / 3.0, rel=1e-6)
    # both together, at the shank's surface: hypot(T/R, T/R)
    assert b.grip.item() == pytest.approx(math.sqrt(2) * b.torque.item() / 3.0, rel=1e-6)


# --- probability --------------------------------------------------------------------------------------------------------


def turns_borne(mill: Mill, sigma: np.ndarray) -> np.ndarray:
    """Straight in log-log from the bend strength through a thousand turns to the limit, and on."""
    once, thousand, limit = (
        math.log(np.asarray(x).item())
        for x in (mill.line.once, mill.line.thousand, mill.line.limit)
    )
    y = np.log(sigma)
    early = 3 * (once - y) / (once - thousand)
    late = 3 + 4 * (thousand - y) / (thousand - limit)
    return np.asarray(10 ** np.where(y > thousand, early, late))


def test_a_hand_feeds_over_what_is_set(monkeypatch: pytest.MonkeyPatch) -> None:
    """The middle of a hand's worst feed is 1.2 times that set: without it less breaks."""
    s, mill = resolved(material="hss-m42")
    cut = cut_of(s, mill, 0.05, 7.4)
    by_hand = snap_probability(s, mill, cut).item()
    monkeypatch.setitem(throat_mill.STEADINESS, "hand", (1.0, 0.35))
    assert s.machine.feed == "hand"
    assert by_hand > 1.1 * snap_probability(s, mill, cut).item()


@pytest.mark.parametrize(
    ("lubrication", "f_z", "depth"),
    [("brush", 0.04, 3.7), ("flood", 0.05, 7.4), ("dry", 0.02, 7.4)],
)
def test_snap_probability_against_monte_carlo(lubrication: str, f_z: float, depth: float) -> None:
    """Every strength drawn and every break counted; the sum of the three ways may only lie above, and not far."""
    s, mill = resolved(work__lubrication=lubrication, material="hss-m42")
    cut = cut_of(s, mill, f_z, depth)
    p = snap_probability(s, mill, cut).item()
    rng = np.random.default_rng(7)
    n = 4_000_000
    slope = 1 - cut.loads.m_c.item()
    m = mill.blank.weibull_m
    fill = throat_mill.chip_fill(s, mill, cut.f_z).item()
    rate = {"dry": 0.6, "brush": 0.4, "flood": 0.1}[lubrication]
    burst = np.where(
        rng.random(n) < 1 - math.exp(-rate * (0.01 + fill)), 1 + 2 * rng.random(n), 1.0
    )
    even = np.exp(cut.loads.sigma_ln.item() * rng.standard_normal(n) + 0.1 * rng.standard_normal(n))
    unsteady = np.exp(slope * (math.log(1.20) + 0.35 * rng.standard_normal(n)))
    F = burst * even * unsteady
    bar = (
        mill.sigma_0
        * np.exp(mill.blank.bend_strength_spread * rng.standard_normal(n))
        * rng.weibull(m, n)
    )
    broken = F * cut.loads.sigma_1.item() > bar
    # damage of 98 turns in 100 at the even feed, 2 at the unsteady one, and of ten stays of packed chips
    stay = {"dry": 4.0, "brush": 3.0, "flood": 1.5}[lubrication]
    turns = throat_mill.turns(s, mill, cut).item()
    late = math.log10(turns / 1e3) / 4
    limit_sd = math.sqrt(0.10**2 + 0.15**2 + (mill.blank.defect_size_spread / 6) ** 2)
    sd = math.sqrt(((1 - late) * 0.12) ** 2 + (late * limit_sd) ** 2 + 0.10**2)
    bears = np.exp(sd * rng.standard_normal(n))
    levels = [(0.98 * turns, 1.0), (0.02 * turns, unsteady), (10 * stay * (burst > 1), burst)]
    sigma = even * cut.loads.sigma_a.item() / bears
    broken |= sum(m / turns_borne(mill, sigma * times) for m, times in levels) > 1
    twist = named(mill_checks(s, mill, cut), "mill torsion").capacity.item()
    broken |= F * cut.loads.torque.item() > twist * np.exp(0.10 * rng.standard_normal(n))
    counted = float(broken.mean())
    assert counted > 5e-4  # enough of them for 3 %
    noise = 3 * math.sqrt(counted / n)
    # where chips pack, one instant tires and breaks the same mills: at the most they count twice
    assert counted - noise <= p <= 2 * counted + noise


@pytest.mark.closed_form(
    "Miner: the damage of all levels is one at the amplitude that is just borne"
)
@pytest.mark.parametrize("packing", [1.0, 3.0])
def test_a_mill_tires_by_the_turns_as_they_happen(packing: float) -> None:
    s, mill = resolved(work__lubrication="brush")  # hand-fed: 1.20 times the feed at its worst
    cut = cut_of(s, mill, 0.04, 3.7)
    borne = math.exp(throat_mill.tired(s, mill, cut, 0.5, packing).item())
    n = throat_mill.turns(s, mill, cut).item()
    unsteady = (1.20 * math.exp(0.35 * 0.5)) ** (1 - cut.loads.m_c.item())
    packed = 30 if packing > 1 else 0  # ten stays of three turns
    sigma = cut.loads.sigma_a.item() / borne
    levels = [(0.98 * n, 1.0), (0.02 * n, unsteady), (packed, packing)]
    damage = sum(k / turns_borne(mill, np.asarray(sigma * times)).item() for k, times in levels)
    assert damage == pytest.approx(1.0, rel=1e-6)


def test_a_longer_or_thinner_mill_is_never_safer() -> None:
    p = [
        snap_probability(*(x := resolved(**c)), cut_of(*x, 0.03, 3.0)).item()
        for c in (
            {"diameter": 6.2},
            {"diameter": 5.0},
            {"diameter": 4.0},
            {"diameter": 4.0, "flute_length": 20.0, "stickout": 25.0},
        )
    ]
    assert p == sorted(p) and p[0] < p[-1]


# --- settings -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("changes", [{}, {"diameter": 4.0}, {"work__material": "steel-1018"}, {"material": "carbide-fine"},
                                     {"machine__feed": "cnc", "work__material": "stainless-304"}])  # fmt: skip
def test_what_is_picked_holds_every_limit_and_nothing_quicker_does(
    changes: dict[str, object],
) -> None:
    """Brute force over depths on the centre line and beside it at the same feed: what takes fewer
    passes breaks a limit or is deeper than is usual.
    """
    s, mill = resolved(**changes)
    m = picked(**changes)
    assert m.safe and m.f_z <= usual_feed(s, mill.table.diameter) * (1 + 1e-9)
    assert m.depth * m.levels == pytest.approx(mill.depth)
    assert m.passes == m.levels + 2 * mill.side_steps * m.side_levels
    usual = DEEPEST_SOFT if s.work.family.startswith("aluminum") else 0.5
    beside = SIDE_DEPTHS if mill.side_steps else (0,)
    n, sides = (x.ravel().astype(float) for x in np.meshgrid(np.arange(1, m.passes + 1), beside))
    ways = n + 2 * mill.side_steps * sides
    fewer = (ways < m.passes) & (mill.depth / n <= usual * mill.table.diameter * (1 + 1e-9))

    def holds(n: np.ndarray, sides: np.ndarray) -> np.ndarray:
        f = np.full(n.shape, m.f_z)
        depth = mill.depth / n
        beside = mill.depth / np.maximum(sides, 1)
        on_it = loads(s, mill, f, depth, beside)
        cut = MillCut(speed=m.speed, f_z=f, depth=depth, levels=n, side_levels=sides, loads=on_it)
        free = ("surface speed", "resonance", "rubbing")
        used = [
            np.broadcast_to(c.utilization / (NEAR if c.hard else 1.0), n.shape)
            for c in mill_checks(s, mill, cut)
            if c.code not in free
        ]
        return np.asarray(np.max(used, axis=0) <= 1 + 1e-9)

    assert holds(np.array([float(m.levels)]), np.array([float(m.side_levels)])).all()
    least = math.ceil(mill.depth / (usual * mill.table.diameter)) + 2 * mill.side_steps
    assert fewer.any() == (m.passes > least)
    assert not fewer.any() or not holds(n[fewer], sides[fewer]).any()


@pytest.mark.closed_form(
    "a pass each: six depths and one on each side are eight, at 55 mm of travel"
)
def test_sides_are_cut_once_where_that_holds() -> None:
    m = picked(diameter=5.0, slot__length=50.0)
    assert m.side_levels == 1 and m.passes == m.levels + 2
    state = mill_state(resolve(job(diameter=5.0, slot__length=50.0)), m)
    assert state.side_steps == 1 and state.passes == m.passes
    assert state.cutting_time_s == pytest.approx(m.passes * 55.0 / m.rate, rel=1e-6)
    each = 55.0 / m.rate + 20.0
    assert m.reasons[-1] == (
        f"With the sides cut at every depth: {units.duration(3 * m.levels * each)}."
    )
    assert m.reasons[-2].startswith("Next, ") and ", but " in m.reasons[-2]
    wide = picked(diameter=6.2)
    assert wide.side_levels == 0 and wide.passes == wide.levels


def test_given_depths_are_those_of_the_sides_too() -> None:
    m = picked(diameter=5.0, depth_per_pass=1.0)
    assert (m.levels, m.side_levels, m.passes) == (8, 8, 24)
    assert not any("With the sides" in reason for reason in m.reasons)


def test_the_larger_load_of_either_pass_counts() -> None:
    s, mill = resolved(diameter=5.0)
    f = np.array([0.02, 0.02])
    centre = pass_loads(s, mill, f, np.array([1.0, 5.0]), side=False)
    side = pass_loads(s, mill, f, np.array([7.4, 1.0]), side=True)
    both = loads(s, mill, f, np.array([1.0, 5.0]), np.array([7.4, 1.0]))
    for name in ("force", "torque", "sigma_1", "sigma_a", "grip", "mean_torque"):
        a, b, most = (getattr(x, name) for x in (centre, side, both))
        assert most.tolist() == pytest.approx([max(x) for x in zip(a, b, strict=True)])
    # the walls are made by the side passes alone
    assert centre.wall_force.tolist() == [0.0, 0.0]
    assert both.wall_force.tolist() == pytest.approx(side.wall_force.tolist())
    assert side.wall_force[0] > side.wall_force[1] > 0


@pytest.mark.closed_form("a round bar under a force at its end: the flutes' part in series")
def test_a_thin_mill_runs_out_into_a_thicker_shank() -> None:
    assert [resolved(diameter=d)[1].shank for d in (1.6, 2.9, 3.0, 5.0)] == [3.0, 3.0, 3.0, 5.0]
    s, mill = resolved(diameter=2.0, shank_diameter=4.0, machine__stiffness=1e7)
    assert mill.shank == 4.0
    E, L, S = mill.blank.E, 12.0, 20.0
    # by hand, slender: the shear of two stubby pieces is left out
    by_hand = L**3 / (3 * E * math.pi * 1.6**4 / 64) + (S**3 - L**3) / (3 * E * math.pi * 4**4 / 64)
    assert by_hand < mill.compliance < 1.1 * by_hand
    f, a = np.array([0.01]), np.array([1.0])
    got = loads(s, mill, f, a)
    # its shank, four times the section modulus of the flutes twelve times over, is not what breaks
    assert got.sigma_1.item() == pytest.approx(
        loads(
            s, resolved(diameter=2.0, shank_diameter=8.0, machine__stiffness=1e7)[1], f, a
        ).sigma_1.item()
    )


@pytest.mark.parametrize("changes", [{"machine__feed": "hand"}, {"machine__feed": "power"}])
def test_the_feed_is_one_the_machine_can_set(changes: dict[str, object]) -> None:
    m = picked(**changes)
    if changes["machine__feed"] == "hand":  # whole half seconds for a handwheel turn of 5 mm
        assert 2 * 5.0 / m.rate == pytest.approx(round(2 * 5.0 / m.rate), abs=1e-9)
    else:
        assert 60 * m.rate == pytest.approx(float(f"{60 * m.rate:.2g}"), rel=1e-9)


@pytest.mark.closed_form("one turn of the handwheel a second: its lead")
def test_the_throat_mill_is_fed_no_faster_than_a_hand_keeps_up() -> None:
    free, held = (picked(machine__handwheel=lead) for lead in (5.0, 0.5))
    assert free.rate > 0.5 * (1 + 1e-9) >= held.rate > 0
    given = picked(machine__handwheel=0.5, spindle_speed=150.0, feed_per_tooth=0.05)
    (wheel,) = (x for x in given.limits if x.name == "handwheel speed")
    assert wheel.demand == pytest.approx(0.05 * 2 * 150 / (2 * math.pi) / 0.5)
    assert wheel.over and not wheel.hard
    driven = picked(machine__feed="power", machine__handwheel=0.5)
    assert not [x for x in driven.limits if x.name == "handwheel speed"]


def test_given_settings_are_kept_and_judged() -> None:
    m = picked(spindle_speed=150.0, feed_per_tooth=0.01, depth_per_pass=1.0)
    assert (m.speed, m.f_z, m.depth, m.levels) == (150.0, 0.01, 1.0, 8)  # 7.4 mm deep
    wild = picked(diameter=2.0, flute_length=8.0, feed_per_tooth=0.2, depth_per_pass=7.4)
    assert not wild.safe and "do not hold" in wild.reasons[1]


def test_surface_speed_is_not_over_what_the_metal_asks() -> None:
    # steel 1018 with high-speed steel: 35 m/min at most (the material's own file), 80 % of that in a slot
    m = picked(work__material="steel-1018")
    assert m.speed * 3.0 <= 0.8 * 35_000 / 60 * (1 + 1e-9)


@pytest.mark.published(
    "ShopPractice: end mills in aluminum slots to one diameter deep, in steel to half",
    read="memory (medium)",
)
def test_a_common_mill_in_common_metals_gets_a_common_depth() -> None:
    # a stub 6 mm mill on a hand-fed machine: a tenth of the diameter to one diameter, wherever it is used every day
    for metal in ("al-6061-t6", "steel-1018", "brass-360"):
        m = picked(work__material=metal, diameter=6.2)
        assert 0.1 * 6.2 <= m.depth <= 6.2 and m.safe, metal


# --- refused ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("changes", "key", "words"), [
    ({"diameter": 6.3}, "diameter", "must not be over throat_width"),
    ({"flute_length": 7.0}, "flute_length", "7.4 mm"),
    ({"stickout": 11.0}, "stickout", "at least flute_length"),
    ({"corner_radius": 3.5}, "corner_radius", "half the diameter"),
    ({"spindle_speed": 400.0}, "spindle_speed", "the machine runs"),
    ({"depth_per_pass": 8.0}, "depth_per_pass", "the throat's depth"),
])  # fmt: skip
def test_what_does_not_fit_is_refused(changes: dict[str, object], key: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        job(**changes)
    assert any(f"[throat_mill] {key}: " in x and words in x for x in caught.value.lines())


@pytest.mark.parametrize(("changes", "key"), [({"material": "drill-shank-soft"}, "material"), ({"material": "nothing"}, "material"),
                                              ({"hardness": 45.0}, "hardness"), ({"material": "carbide-fine", "hardness": 65.0}, "hardness")])  # fmt: skip
def test_a_mill_of_the_wrong_stuff_is_refused(changes: dict[str, object], key: str) -> None:
    with pytest.raises(InputError, match=rf"\[throat_mill\] {key}: "):
        mill_of(resolve(job(**changes)))


def test_negative_helix_and_a_typing_slip_are_refused() -> None:
    data = {
        **job_from_text(write.example("t-track"), "t").model_dump(exclude_none=True),
        "throat_mill": {**MILL, "helix": -0.5},
    }
    with pytest.raises(InputError, match=r"\[throat_mill\] helix: "):
        job_from_dict(data, "f", inside=True)
    data["throat_mill"] = {**MILL, "flutes": 2}
    with pytest.raises(InputError, match=r"\[throat_mill\] flutes: "):
        job_from_dict(data, "f", inside=True)


# --- order of operations ------------------------------------------------------------------------------------------------


def planned(drawn: samples.Draws, **changes: object) -> Plan:
    return plan(job(**changes), drawn)


DRILLABLE = {"work__material": "steel-1018", "slot__length": 30.0, "slot__undercut_width": 16.2, "slot__undercut_height": 5.0, "slot__depth": 11.0,
             "cutter__head_diameter": 16.2, "cutter__head_height": 5.0, "cutter__neck_length": 6.4, "cutter__stickout": 18.0,
             "cutter__shank_diameter": 12.0, "machine__feed": "power", "cut__predrill": True, "cut__spindle_speed": None,
             "cut__feed_per_tooth": None}  # fmt: skip


def test_end_holes_come_before_the_throat_and_the_undercut_after_it(drawn: samples.Draws) -> None:
    p = planned(drawn, **DRILLABLE)
    done = p.routing.operations
    assert [o.name for o in done] == ["end holes", "throat slot", "undercut", "deburr", "inspect"]
    held = p.result.settings.predrill
    assert held is not None and len(done[0].steps) == held["count"]
    assert "Before the throat slot" in done[0].what and done[0].limits
    for o in done[:3]:
        assert (
            o.spindle_speed_rpm
            and o.feed_mm_per_min
            and o.limits
            and o.time_s
            and o.share is not None
        )
        assert 0 < o.spindle_speed_rpm <= 2800 * (1 + 1e-9)
    assert done[2].steps == p.result.settings.passes and done[2].passes == len(
        p.result.settings.passes
    )
    assert routing(p.job, p.result) == p.routing


def test_a_closed_slot_starts_with_a_drop_in_hole_as_large_as_the_head(
    drawn: samples.Draws,
) -> None:
    done = planned(drawn, slot__open_ends=0).routing.operations
    assert [o.name for o in done] == [
        "drop-in hole",
        "throat slot",
        "undercut",
        "deburr",
        "inspect",
    ]
    # head 10.4 with 0.05 on each side: the metric list goes by tenths, so 10.5; its 118 degree point is 0.30 of that
    assert done[0].steps == ({"diameter_mm": 10.5, "depth_mm": 7.4},)
    assert f"{0.3004 * 10.5:.1f} mm deeper" in done[0].what
    large = planned(
        drawn,
        slot__open_ends=0,
        slot__undercut_width=14.0,
        cutter__head_diameter=14.0,
        cutter__neck_diameter=5.5,
    ).routing.operations
    assert [o.name for o in large][:2] == ["drop-in hole, pilot", "drop-in hole"]
    assert (
        large[1].steps[0]["diameter_mm"] == 14.25 and large[0].steps[0]["diameter_mm"] >= 14.25 / 4
    )


def test_a_drill_that_breaks_leaves_no_safe_plan(drawn: samples.Draws) -> None:
    # the drop-in drill in a metal of our own, thirty times as hard to cut as aluminum; the mill and the neck break with it
    p = planned(drawn, slot__open_ends=0, work__kc11=20_000.0, work__mc=0.5)
    assert not p.safe and any(x.startswith("drill ") for x in p.routing.over)
    hole = p.routing.operations[0]
    assert "Start with a spot drill" in hole.what
    assert "times the ratio of the cutting forces" in hole.what


def test_without_a_throat_mill_the_operation_stands_and_says_so(drawn: samples.Draws) -> None:
    p = plan(job_from_text(write.example("t-track"), "t"), drawn)
    throat = p.routing.operations[0]
    assert (
        throat.name == "throat slot" and throat.spindle_speed_rpm is None and throat.share is None
    )
    assert "No [throat_mill] is given" in throat.what and "not checked" in p.routing.why
    assert p.routing.weakest.startswith("undercut cutter") and p.result.throat_mill is None


def test_the_weakest_tool_is_the_one_nearest_to_its_end(drawn: samples.Draws) -> None:
    mill = planned(drawn, feed_per_tooth=0.04, depth_per_pass=3.7)
    assert mill.routing.weakest == "end mill 6.000 mm, HSS M2"
    neck = planned(drawn, cutter__neck_diameter=2.0, feed_per_tooth=0.004, depth_per_pass=0.2)
    assert neck.routing.weakest == "undercut cutter 10.400 mm, HSS M2"
    for p in (mill, neck):
        shares = {o.tool: o.share for o in p.routing.operations if o.share is not None}
        assert (
            shares[p.routing.weakest] == max(shares.values()) and p.routing.weakest in p.routing.why
        )


def test_a_job_whose_mill_breaks_is_a_no_go(drawn: samples.Draws) -> None:
    p = planned(drawn, diameter=2.0, flute_length=8.0, feed_per_tooth=0.1, depth_per_pass=7.4)
    assert not p.safe and p.result.verdict == "no-go" and p.routing.weakest.startswith("end mill")
    assert any("throat mill does not hold" in w for w in p.result.warnings)
    assert any(x.startswith("end mill 2.000 mm") for x in p.routing.over) and any(
        "Over capacity: end mill" in r for r in p.reasons
    )
    assert "NOT LIKE THIS" in next(o for o in p.routing.operations if o.name == "throat slot").what


def test_words_and_json(tmp_path: Path) -> None:
    table = '\n[throat_mill]\ndiameter = "6 mm"\nflute_length = "1/2 in"\nteeth = 2\nhelix = "30 deg"\nmaterial = "hss-m2"\nstickout = "20 mm"\n'
    path = tmp_path / "j.toml"
    path.write_text(write.example("t-track") + table, encoding="utf-8")
    out = CliRunner().invoke(cli, ["plan", str(path), "--full"])
    assert out.exit_code == 0
    for words in (
        "Order of operations",
        "1. throat slot, end mill",
        "Weakest tool: ",
        "mill throat",
    ):
        assert words in out.output
    assert "  throat mill     " in CliRunner().invoke(cli, ["check", str(path), "--full"]).output
    data = json.loads(CliRunner().invoke(cli, ["plan", str(path), "--json"]).output)
    assert [o["name"] for o in data["operations"]] == [
        "throat slot",
        "undercut",
        "deburr",
        "inspect",
    ]
    assert data["weakest_tool"] in {o["tool"] for o in data["operations"]}
    assert data["throat_mill"]["safe"] is True and data["throat_mill"]["levels"] * data[
        "throat_mill"
    ]["depth_per_pass_mm"] == pytest.approx(7.4)
    bare = json.loads(
        CliRunner().invoke(cli, ["check", "-", "--json"], input=write.example("t-track")).output
    )
    assert bare["throat_mill"] is None

"""The chance that the neck snaps: repeatable, equal to plain random sampling and to closed forms."""

from __future__ import annotations

import dataclasses
import functools
import math
from typing import Any

import numpy as np
import pytest
from scipy.special import ndtri

from loadsim.base import numbers
from loadsim.base.errors import ModelError
from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads import assumptions, neck_stress, nominal, resolve
from loadsim.loads.cut import Engagement, engagement_of
from loadsim.loads.holding import grabbed_growth
from loadsim.loads.limits import chip_packing
from loadsim.loads.load_case import LoadCase
from loadsim.loads.passes import passes
from loadsim.loads.resolved_job import ResolvedJob, Strength
from loadsim.mechanics import stress_concentration
from loadsim.mechanics.force_law import PowerRatio
from loadsim.risk import samples, snap
from loadsim.risk.neck_demand import Demand
from loadsim.risk.samples import Uncertain
from loadsim.risk.table_grab import chance_of_grab


@functools.cache
def made(**changes: Any) -> ResolvedJob:
    base = job_from_text(example("t-track"), "t-track")
    return resolve.resolve(changed(base, {k.replace("__", "."): v for k, v in changes.items()}))


def way(s: ResolvedJob) -> Engagement:
    return engagement_of(s, passes(s, None, "conventional"), 24)


def thin(**changes: Any) -> ResolvedJob:
    """A neck that breaks every few cuts."""
    return made(cutter__neck_diameter=2.6, cutter__neck_fillet=0.2, **changes)


def assessed(s: ResolvedJob, f_z: float, drawn: samples.Draws) -> Any:
    return snap.assess(s, way(s), f_z, drawn)


# --- repeatable ---------------------------------------------------------------------------------------


def test_same_seed_same_numbers():
    one = samples.draws(12, 7)
    two = samples.draws(12, 7)
    other = samples.draws(12, 9)
    assert (one.u == two.u).all()
    assert not (one.u == other.u).any()
    assert assessed(thin(), 0.06, one) == assessed(thin(), 0.06, two)
    assert (
        assessed(thin(), 0.06, one).snap_probability
        != assessed(thin(), 0.06, other).snap_probability
    )


def test_the_seed_that_was_used_is_stamped():
    assert assessed(thin(), 0.06, samples.draws(8, 7)).seed == 7


def test_draws_are_uniform_and_normal():
    drawn = samples.draws(12)
    assert drawn.u.shape == drawn.z.shape == (len(Uncertain), 2**12)
    assert ((drawn.u > 0) & (drawn.u < 1)).all()
    assert drawn.u.mean(axis=1) == pytest.approx(
        0.5, abs=0.002
    )  # means of scrambled nets are near exact
    assert drawn.z.std(axis=1) == pytest.approx(1, abs=0.02)


# --- plain random sampling ----------------------------------------------------------------------------


def turns_borne(b: Strength, z: np.ndarray, sigma: np.ndarray) -> np.ndarray:
    """Turns that each neck bears at an amplitude: straight in log-log between its three anchors and
    on past them, by hand.
    """
    once = np.log(b.line.once) + b.spread * z[Uncertain.BLANK_STRENGTH]
    middle = np.log(b.line.thousand) + b.thousand_spread * z[Uncertain.THOUSAND_TURNS]
    grind = assumptions.GRIND_SD * z[Uncertain.NECK_GRINDING]
    limit = np.log(b.line.limit) + b.limit_spread * z[Uncertain.FATIGUE_LIMIT] + grind
    # more turns are never borne better: a hundredth less from anchor to anchor at least
    middle = np.minimum(middle, once - 0.01)
    limit = np.minimum(limit, middle - 0.01)
    x = np.log(sigma)
    early = math.log(1e3) * (once - x) / (once - middle)
    late = math.log(1e3) + math.log(b.line.N_limit / 1e3) * (middle - x) / (middle - limit)
    return np.exp(np.clip(np.where(x > middle, early, late), -300.0, 300.0))


def broken(
    s: ResolvedJob, f_z: float, n: int, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """The chance that the package gives every sample, and whether it breaks when strengths are drawn
    instead of integrated and the damage is counted turn by turn.
    """
    cutting = way(s)
    u = rng.random((len(Uncertain), n))
    z = ndtri(u)
    drawn = samples.Draws(u=u, z=z, replicates=1, seed=0)
    p = snap.snaps(s, cutting, f_z, drawn).p
    c = samples.sampled_case(s, cutting.contacts, f_z, z)
    c = c.with_(f_z=np.where(c.f_z > f_z, c.f_z, f_z))  # the steady run is part of every cut
    c = samples.evened_case(s, cutting.contacts, c, f_z, z)
    packing = chip_packing.burst_factor(s, cutting.passes, f_z, u[Uncertain.CHIP_PACKING])
    notch = neck_stress.notches(c)[0]
    (at,) = cutting.contacts
    worst = neck_stress.peaks(c, at.peak, notch)
    steady = neck_stress.peaks(c.with_(f_z=f_z), at.peak, notch).sigma_ar
    b = s.strength
    credit = b.size_credit * (u[Uncertain.SMALL_VOLUME] - 0.5)
    bears = b.sigma_0 * np.exp(b.spread * z[Uncertain.BLANK_STRENGTH] + credit)
    turns = (s.slot.length + s.cutter.head_diameter) / (f_z * s.cutter.teeth)
    own = np.exp(0.10 * rng.standard_normal(n))  # of necks ground alike
    stay = {"dry": 4.0, "brush": 3.0, "mist": 2.0, "flood": 1.5}[s.written.work.lubrication]
    levels = ((0.98 * turns, steady), (0.02 * turns, worst.sigma_ar), (10 * stay, steady * packing))
    damage = sum(N / turns_borne(b, z, sigma / own) for N, sigma in levels)
    # torque on a round bar: 16 K T / (pi d^3) against the torsion strength
    tau = 16 * worst.torque * packing * notch.K_ts / (math.pi * c.neck_diameter**3)
    grabbed = worst.sigma_1 * grabbed_growth(c, s.backlash) > bears * rng.weibull(b.m, n)
    return p, (
        (worst.sigma_1 * packing > bears * rng.weibull(b.m, n))
        | (damage > 1)
        | (tau > b.tau_u * np.exp(0.10 * rng.standard_normal(n)))
        | (grabbed & (rng.random(n) < chance_of_grab(s, cutting, f_z)))
    )


@pytest.mark.parametrize("f_z", [0.03, 0.08])
def test_agrees_with_plain_random_sampling(f_z):
    s = thin()
    n = 400_000
    rng = np.random.default_rng(1)
    parts = [broken(s, f_z, 20_000, rng) for _ in range(n // 20_000)]
    p = np.concatenate([x for x, _ in parts])
    snapped = np.concatenate([x for _, x in parts])
    found = assessed(s, f_z, samples.draws(14))
    assert s.strength.size_credit > 0  # so that its draw counts
    half = (found.high - found.low) / 2
    assert 0.001 < found.snap_probability < 0.9
    for sample in (p, snapped):  # four standard errors of both
        error = 4 * math.hypot(sample.std() / math.sqrt(n), half / 2) + 5 * 10.0 ** (
            math.floor(math.log10(p.mean())) - 3
        )
        assert found.snap_probability == pytest.approx(sample.mean(), abs=error)


def test_interval_shrinks_with_the_sample():
    widths = []
    for samples_log2 in (
        8,
        14,
    ):  # 64 times the points: to an eighth at plain random sampling's rate, or better
        found = [assessed(thin(), 0.06, samples.draws(samples_log2, seed)) for seed in range(4)]
        assert all(0 <= x.low <= x.high <= 1 for x in found)
        widths.append(np.mean([x.high - x.low for x in found]))
    assert widths[1] < 0.5 * widths[0]  # both ends are rounded to two digits


def test_interval_holds_its_own_estimate():
    for seed in range(4):
        x = assessed(thin(), 0.06, samples.draws(14, seed))
        assert x.low <= x.snap_probability <= x.high


def test_intervals_hold_the_truth_as_often_as_they_say():
    # 95 % intervals of 40 seeds: fewer than 33 hits would come once in 10,000 (binomial, computed)
    s = thin()
    truth = assessed(s, 0.06, samples.draws(16)).snap_probability
    found = [assessed(s, 0.06, samples.draws(11, seed)) for seed in range(40)]
    assert sum(x.low <= truth <= x.high for x in found) >= 33


# --- closed forms -------------------------------------------------------------------------------------


def phi(x: float) -> float:
    return 0.5 * math.erfc(-x / math.sqrt(2))


def asked(sigma: float, amplitude: float, twist: float, turns: float = 1e4) -> Demand:
    """One worst instant and one level; twist is the torque over the one that snaps the neck."""
    one = [np.array([x]) for x in (sigma, sigma, twist, sigma)]
    return Demand(
        sigma_1=one[0],
        sigma_v=one[1],
        torsion=one[2],
        grabbed=one[3],
        turns=(turns,),
        amplitudes=(np.array([amplitude]),),
    )


def at(**deviates: float) -> samples.Draws:
    """The median sample but for some deviates, by name."""
    drawn = samples.median_draws()
    for name, z in deviates.items():
        drawn.z[Uncertain[name]] = z
    return drawn


def chance(s: ResolvedJob, demand: Demand, drawn: samples.Draws, grab: float = 0.0) -> float:
    return float(snap.next_snap(s, None, demand, drawn, grab).p.item())


def borne_for(b: Strength, N: float, thousand: float = 1.0, limit: float = 1.0) -> float:
    """What the middle line bears for a turn number over a thousand, its anchors times a factor."""
    share = math.log(N / 1e3) / math.log(b.line.N_limit / 1e3)
    return float((thousand * b.line.thousand) ** (1 - share) * (limit * b.line.limit) ** share)


@pytest.mark.closed_form("survival of three independent causes: Weibull, lognormal, lognormal")
@pytest.mark.parametrize(
    ("stress", "tired", "twist"),
    [
        (1.0, 0.1, 0.1),
        (0.9, 0.95, 0.1),
        (0.1, 1.0, 0.1),
        (0.5, 1.1, 1.0),
        (0.1, 0.1, 1.0),
        (0.3, 0.60, 0.60),
    ],
)
def test_chance_of_one_sample_in_closed_form(stress, tired, twist):
    s = made()
    b = s.strength
    demand = asked(stress * b.sigma_0, tired * borne_for(b, 1e4), twist)
    ok = math.exp(-(stress**b.m)) * phi(-math.log(tired) / 0.10) * phi(-math.log(twist) / 0.10)
    assert chance(s, demand, at()) == pytest.approx(1 - ok, rel=2e-4, abs=1e-15)


@pytest.mark.closed_form("at the strength that was drawn the chance is one in two")
@pytest.mark.parametrize("row", ["THOUSAND_TURNS", "FATIGUE_LIMIT", "NECK_GRINDING"])
@pytest.mark.parametrize("z", [-1.0, 2.0])
def test_a_drawn_fatigue_strength_counts_as_one(row, z):
    s = made()
    b = s.strength
    sd = {"THOUSAND_TURNS": 0.12, "FATIGUE_LIMIT": b.limit_spread, "NECK_GRINDING": 0.15}[row]
    moved = math.exp(z * sd)
    kind = "thousand" if row == "THOUSAND_TURNS" else "limit"
    bears = borne_for(b, 1e4, **{kind: moved})
    assert chance(s, asked(1e-3, bears, 1e-9), at(**{row: z})) == pytest.approx(0.5, abs=1e-6)


@pytest.mark.closed_form("at the characteristic strength a Weibull part breaks with 1 - 1/e")
@pytest.mark.parametrize(("credit", "share"), [(0.0, -0.5), (0.5, 0.0), (1.0, 0.5)])
def test_a_drawn_bend_strength_counts_as_one(credit, share):
    s = made()
    b = s.strength
    drawn = at(BLANK_STRENGTH=-1.5)
    drawn.u[Uncertain.SMALL_VOLUME] = credit
    bears = b.sigma_0 * math.exp(-1.5 * b.spread + share * b.size_credit)
    assert b.size_credit > 0.01
    assert chance(s, asked(bears, 1e-9, 1e-9), drawn) == pytest.approx(1 - 1 / math.e, abs=1e-9)


@pytest.mark.closed_form("a soft neck bends for good: lognormal about the yield strength, 5 %")
@pytest.mark.parametrize("share", [0.95, 1.0, 1.1])
def test_a_ductile_neck_bends_at_its_yield_strength(share):
    s = made(cutter__material="drill-rod-annealed", cutter__hardness=None)
    b = s.strength
    assert b.yield_strength is not None
    demand = dataclasses.replace(
        asked(1e-6, 1e-9, 1e-9), sigma_v=np.array([share * b.yield_strength])
    )
    assert chance(s, demand, at()) == pytest.approx(phi(math.log(share) / 0.05), rel=1e-6)


def test_rare_chances_are_not_lost_in_rounding():
    s = made()
    p = chance(s, asked(0.05 * s.strength.sigma_0, 1e-9, 1e-9), at())
    assert p == pytest.approx(0.05**s.strength.m, rel=1e-6)
    assert 0 < p < 1e-10


@pytest.mark.closed_form("1 - (1 - p)(1 - g P), P by Weibull at the stress of a grab")
def test_a_grab_joins_the_chance():
    s = made()
    b = s.strength
    demand = dataclasses.replace(
        asked(0.9 * b.sigma_0, 1e-9, 1e-9), grabbed=np.array([1.1 * b.sigma_0])
    )
    p, P = (-math.expm1(-(x**b.m)) for x in (0.9, 1.1))
    found = snap.next_snap(s, None, demand, at(), 0.3)
    assert found.p.item() == pytest.approx(1 - (1 - p) * (1 - 0.3 * P), rel=1e-12)
    assert found.by_grab.item() == pytest.approx(0.3 * P, rel=1e-12)
    assert found.by_fracture.item() == pytest.approx(p, rel=1e-12)
    assert found.by_torsion.item() == 0.0


@pytest.mark.closed_form("survival of three causes, each law at its median load; one Miner sum")
def test_with_nothing_off_its_median_the_chance_is_the_closed_form():
    s = thin(work__kc11=700.0, work__mc=0.25, work__spread=0.0, work__radial_ratio=0.4)
    s = dataclasses.replace(s, backlash=0.0)  # no table grab
    cutting, f_z = way(s), 0.03
    # by hand the table runs at its worst to 1.2 times the set feed in the median
    mean = stress_concentration.K_T_BENDING_FE_MEAN
    steady, fast = (
        peaks_of(nominal.as_drawn(s, x * f_z, cutting.sine, mean), cutting) for x in (1.0, 1.2)
    )
    b = s.strength
    N = (118 + 10.4) / (f_z * 2)
    # packed chips raise nothing here, but their turns are counted: ten stays of three turns
    levels = ((0.98 * N + 30, steady.sigma_ar.item()), (0.02 * N, fast.sigma_ar.item()))
    early = math.log(1e3) / math.log(b.line.once / b.line.thousand)
    late = math.log(b.line.N_limit / 1e3) / math.log(b.line.thousand / b.line.limit)

    def damage(x):
        over = [(n, sigma / x / float(b.line.thousand)) for n, sigma in levels]
        return sum(n / 1e3 * r ** (early if r > 1 else late) for n, r in over)

    low, high = 0.01, 100.0
    for _ in range(100):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if damage(middle) > 1 else (low, middle)
    tired = low
    K_ts = neck_stress.notches(nominal.as_drawn(s, f_z, cutting.sine, mean))[0].K_ts.item()
    snaps_at = math.pi * 2.6**3 / 16 * b.tau_u / K_ts
    ok = math.exp(-((fast.sigma_1.item() / b.sigma_0) ** b.m))
    ok *= phi(-math.log(tired) / 0.10)
    ok *= phi(-math.log(fast.torque.item() / snaps_at) / assumptions.TORSION_SD)
    assert 1e-6 < 1 - ok < 0.999
    assert abs(math.log(tired)) < 0.3  # so that the sum of the damage matters
    middle = samples.median_draws(3)
    middle.z[Uncertain.GIVE] = -np.inf  # no runout is taken to be evened out
    middle.u[Uncertain.EDGE_SKEW] = 0.0  # and nothing pushes along the axis
    p = snap.snaps(s, cutting, f_z, middle).p
    assert p == pytest.approx([1 - ok] * 3, rel=2e-4)


def peaks_of(case: LoadCase, cutting: Engagement) -> neck_stress.Peaks:
    (only,) = cutting.contacts
    return neck_stress.peaks(case, only.peak, neck_stress.notches(case)[0])


def test_packed_chips_raise_the_force_as_often_as_they_say():
    # rate k (base + fill): the share of cuts with a burst is 1 - exp(-rate), the mean excess half the burst (uniform)
    s = made()
    u = (np.arange(100_000) + 0.5) / 100_000
    factor = chip_packing.burst_factor(s, way(s).passes, 0.05, u)
    fill = 0.05 * 4.2 * 2.6 * s.work.bulking * 3.0 / (0.35 * math.pi * 5.2**2 / 2 * 2.6)
    share = 1 - math.exp(-0.4 * (0.01 + fill))
    assert factor.min() == 1.0
    assert factor.max() == pytest.approx(3.0, rel=1e-3)
    assert (factor > 1).mean() == pytest.approx(share, abs=1e-4)
    assert factor.mean() - 1 == pytest.approx(share * 2.0 / 2, rel=1e-3)


@pytest.mark.parametrize(
    ("field", "row", "sd"),
    [
        ("rho", Uncertain.RUNOUT, 0.15),
        ("fillet", Uncertain.NECK_FILLET, 0.10),
        ("f_z", Uncertain.FEED_STEADINESS, 0.35),
        ("neck_diameter", Uncertain.NECK_DIAMETER, 0.01 / 5.2),
        ("neck_length", Uncertain.NECK_LENGTH, 0.05 / 5.4),
        ("head_height", Uncertain.HEAD_HEIGHT, 0.02 / 2.6),
    ],
)
def test_one_standard_deviation_moves_one_number(field, row, sd):
    # the sample is lognormal: one unit of z multiplies by exp(sd)
    s = made()
    z = np.zeros((len(Uncertain), 2))
    z[row, 1] = 1.0
    c = samples.sampled_case(s, way(s).contacts, 0.02, z)
    values = {
        k: getattr(c, k) for k in type(c).__dataclass_fields__ if k not in ("teeth", "radial")
    }
    moved = {k for k, x in values.items() if np.ndim(x) and np.ptp(x) > 0}
    # both ends of the neck are ground with one corner where one fillet is given
    assert moved == ({"fillet", "head_fillet"} if field == "fillet" else {field})
    assert math.log(values[field][1] / values[field][0]) == pytest.approx(sd, rel=1e-9)


def test_an_assumed_number_scatters_more_than_a_measured_one():
    z = np.zeros((len(Uncertain), 2))
    z[Uncertain.NECK_FILLET, 1] = z[Uncertain.RUNOUT, 1] = 1.0
    known = made()
    guessed = made(cutter__neck_fillet=None, cutter__runout=None)
    for field in ("fillet", "rho"):
        a, b = (
            np.ptp(np.log(getattr(samples.sampled_case(s, way(s).contacts, 0.02, z), field)))
            for s in (known, guessed)
        )
        assert b > 2 * a


# --- what drives it, and how many digits --------------------------------------------------------------


def share(s: ResolvedJob, name: str) -> float:
    return next(
        (d.share for d in assessed(s, 0.05, samples.draws(12)).drivers if d.name == name), 0.0
    )


def test_shares_of_the_variance_sum_to_one_at_most():
    for s in (thin(), made(), thin(work__spread=0.8)):
        drivers = assessed(s, 0.05, samples.draws(14)).drivers
        shares = [d.share for d in drivers]
        assert shares == sorted(shares, reverse=True)
        assert min(shares) > 0
        assert 0.6 < sum(shares) < 1.05
        assert {d.name for d in drivers} <= {x.driver for x in Uncertain}


def test_share_of_the_force_constants_grows_with_their_spread():
    shares = [
        share(thin(work__spread=x), "force constants of the metal") for x in (0.05, 0.2, 0.4, 0.8)
    ]
    assert shares == sorted(shares)
    assert shares[0] < 0.1
    assert shares[-1] > 0.7


def test_share_of_the_feed_is_that_of_the_worst_instant(monkeypatch):
    # unsteady for one turn in fifty it hardly tires the neck; the worst instant is the hand's
    tired = share(thin(machine__feed="hand"), "steadiness of the feed")
    monkeypatch.setattr(snap, "FATIGUE_LEAD", 99.0)
    hand, driven = (share(thin(machine__feed=f), "steadiness of the feed") for f in ("hand", "cnc"))
    assert hand > 0.05 > 10 * driven
    assert tired < hand / 4


@pytest.mark.parametrize(
    ("p", "half", "digits"),
    [
        (0.0123, 0.0005, 3),  # 0.0123 +- 0.0005: the last digit is in the interval's first
        (0.0123, 0.002, 2),
        (0.0123, 0.02, 1),
        (0.5, 0.04, 2),
        (0.5, 0.004, 3),
        (0.5, 1e-9, 3),
        (1e-9, 1e-3, 1),
        (0.0, 0.1, 1),
    ],
)
def test_digits_earned(p, half, digits):
    assert numbers.earned_digits(p, half) == digits


@pytest.mark.parametrize(
    ("level", "swing", "p", "low", "high"),
    [
        # replicates at level +- swing: half width = 2.131 swing sqrt(16/15)/4 (Student's t, 15 degrees of freedom, 95 %,
        # 2.131: printed in any table); computed, then rounded by hand
        (0.1234, 0.010, 0.123, 0.11, 0.13),  # half 0.0055, ends rounded outward
        (0.1234, 0.040, 0.12, 0.10, 0.15),  # half 0.0220
        (0.0777, 0.0777, 0.08, 0.034, 0.13),  # half 0.0428
    ],
)
def test_interval_from_the_scatter_of_the_replicates(level, swing, p, low, high):
    each = level + swing * np.where(np.arange(16) % 2, 1.0, -1.0)
    bounds = snap.interval(np.repeat(each, 16), None, 16)
    assert bounds == pytest.approx((p, low, high), rel=1e-12)


def test_no_chance_from_a_stress_that_is_not_a_number():
    s = made(cutter__teeth=1)
    cutting = way(s)
    broken = dataclasses.replace(s, radial=PowerRatio(math.nan))
    with pytest.raises(ModelError, match=r"^sigma_1 is nan MPa; allowed is a finite number"):
        snap.assess(broken, cutting, 0.06, samples.draws(8))

"""What a run of slots asks: each level of amplitude for the turns that it lasts, by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.special import ndtr

from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads.cut import Engagement, engagement_of, written_engagement
from loadsim.loads.limits.chip_packing import burst_factor
from loadsim.loads.nominal import known_force, peak_chip
from loadsim.loads.passes import PieceKind, passes
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk import samples
from loadsim.risk.demand import Run, demand_of
from loadsim.risk.neck_demand import Demand
from loadsim.risk.samples import Uncertain

F_Z = 0.02


def made(**changes: Any) -> ResolvedJob:
    base = job_from_text(example("t-track"), "t-track")
    own = {k.replace("__", "."): v for k, v in changes.items()}
    return resolve(changed(base, {"cut.predrill": False, **own}))


def way_of(job: ResolvedJob) -> Engagement:
    return engagement_of(job, passes(job, None, "conventional"), 24)


def at(**deviates: float) -> samples.Draws:
    """The median sample but for some deviates, by name."""
    drawn = samples.median_draws()
    for name, z in deviates.items():
        drawn.z[Uncertain[name]] = z
        drawn.u[Uncertain[name]] = ndtr(z)
    return drawn


def asked(job: ResolvedJob, drawn: samples.Draws, **run: Any) -> Demand:
    return demand_of(job, way_of(job), F_Z, drawn, run=Run(**run))


@pytest.mark.closed_form("2 % of the turns unsteady, the rest at the feed as set")
@pytest.mark.parametrize("slots", [1, 20])
def test_the_hand_is_unsteady_for_its_share_of_the_turns(slots: int) -> None:
    turns = (118.0 + 10.4) / (2 * F_Z)
    quiet, shaky = (asked(made(), at(FEED_STEADINESS=z), slots=float(slots)) for z in (0.0, 2.0))
    moved = [
        n
        for n, a, b in zip(quiet.turns, quiet.amplitudes, shaky.amplitudes, strict=True)
        if (b > a * (1 + 1e-9)).any()
    ]
    if slots == 1:
        assert moved == [pytest.approx(0.02 * turns)]
        # 30 turns of packed chips beside the turns of the cut: ten stays of three turns
        assert sum(quiet.turns) == pytest.approx(turns + 30)
    else:  # those of all slots; one slot more is at the worst of all
        assert moved == [pytest.approx(20 * 0.02 * turns), pytest.approx(0.02 * turns)]
    # 2 sd of 0.35 more feed on the worst instant: at most in proportion, and it is felt
    growth = (shaky.sigma_1 / quiet.sigma_1).item()
    assert 1.2 < growth < np.exp(0.7)


@pytest.mark.closed_form("ten times the turns that a chip stays: 4 dry, 3 brushed, 1.5 flooded")
@pytest.mark.parametrize(("lubrication", "stay"), [("dry", 4.0), ("brush", 3.0), ("flood", 1.5)])
def test_chips_stay_packed_for_their_turns(lubrication: str, stay: float) -> None:
    job = made(work__lubrication=lubrication)
    clear, packed = at(), at()
    packed.u[Uncertain.CHIP_PACKING] = 1 - 1e-9
    free, jammed = (asked(job, x) for x in (clear, packed))
    moved = [
        (n, (b / a).item())
        for n, a, b in zip(free.turns, free.amplitudes, jammed.amplitudes, strict=True)
        if (b > a).any()
    ]
    growth = float(burst_factor(job, way_of(job).passes, F_Z, np.array([1 - 1e-9]))[0])
    assert growth == pytest.approx(3.0, rel=1e-4)
    assert moved == [(pytest.approx(10 * stay), pytest.approx(growth, rel=1e-9))]
    assert (jammed.sigma_1 / free.sigma_1).item() == pytest.approx(growth, rel=1e-9)
    assert (jammed.torsion / free.torsion).item() == pytest.approx(growth, rel=1e-9)


def test_the_worst_instant_is_never_under_the_feed_as_set() -> None:
    low, none = (asked(made(), at(FEED_STEADINESS=z)).sigma_1.item() for z in (-3.0, -30.0))
    assert low == none
    assert low < asked(made(), at()).sigma_1.item()  # by hand 1.2 times the feed in the median


@pytest.mark.closed_form("n slots have n times the turns, and the worst of n draws once")
def test_several_slots_add_their_turns() -> None:
    drawn = samples.draws(8)
    one, twelve = (asked(made(), drawn, slots=n) for n in (1.0, 12.0))
    turns = (118.0 + 10.4) / (2 * F_Z)
    assert sum(one.turns) == pytest.approx(turns + 30)
    assert sum(twelve.turns) == pytest.approx(12 * (turns + 30) + 0.02 * turns + 30)
    assert (twelve.sigma_1 >= one.sigma_1).all()
    # the largest of 12 even draws: its mean is 12/13
    worst = samples.worst_of(drawn, 12.0)
    assert worst.u[Uncertain.FEED_STEADINESS].mean() == pytest.approx(12 / 13, abs=0.01)


def test_each_piece_has_its_turns_and_its_table() -> None:
    # one force law for both: the sources are pooled at the thickest chip, which a closed end moves
    law = {"work__kc11": 500.0, "work__mc": 0.25}
    job = made(slot__open_ends=1, **law)
    way = written_engagement(job, None, 24)
    kinds = [c.kind for c in way.contacts]
    assert kinds == [PieceKind.RUN, PieceKind.CLOSED_END]
    found = demand_of(job, way, F_Z, at())
    assert found.turns[:2] == pytest.approx([0.98 * 128.4 / 0.04, 0.98 * 0.5 * 5.2 / 0.04])
    run, stop = (x.item() for x in found.amplitudes[:2])
    assert stop > 1.05 * run
    open_slot = demand_of(made(**law), way_of(made(**law)), F_Z, at())
    assert open_slot.amplitudes[0].item() == pytest.approx(run, rel=1e-9)
    assert open_slot.sigma_1.item() < found.sigma_1.item()


def test_a_cut_shorter_than_the_slot_has_no_closed_end() -> None:
    job = made(slot__open_ends=1)
    way = written_engagement(job, None, 24)
    short, whole = (demand_of(job, way, F_Z, at(), run=Run(travel=x)) for x in (100.0, 118.0))
    assert sum(short.turns) == pytest.approx(100.0 / 0.04 + 30)
    assert sum(whole.turns) == pytest.approx((118.0 + 2.6) / 0.04 + 30)
    assert short.sigma_1 < whole.sigma_1


@pytest.mark.closed_form("the drilled stretch first, then what is left of the length")
@pytest.mark.parametrize(("length", "run"), [(10.0, 0.0), (30.0, 30.0 - 14.8), (40.0, 25.2)])
def test_a_short_cut_is_over_the_holes_first(length: float, run: float) -> None:
    holes = {"diameter": 2.0, "offsets": [-4.0, 4.0], "height": 1.3, "depth": 20.0}
    own = {f"predrill__{k}": v for k, v in holes.items()}
    job = made(cut__predrill=True, slot__length=60.0, slot__open_ends=1, **own)
    way = written_engagement(job, None, 24)
    # 20 mm deep, less half a head of 5.2: 14.8 mm
    found = demand_of(job, way, F_Z, at(), run=Run(travel=length))
    expected = [x * 0.98 / 0.04 for x in (run, length - run) if x > 0]
    assert found.turns[: len(expected)] == pytest.approx(expected)
    assert sum(found.turns) == pytest.approx(length / 0.04 + 30)


@pytest.mark.closed_form("independent spreads: sqrt(sigma^2 + 0.15^2)")
def test_a_built_up_edge_widens_the_force() -> None:
    job = made(work__spread=0.2)
    usual = float(np.max(known_force(job, peak_chip(job, F_Z, way_of(job).sine)).sigma_ln))
    assert usual == pytest.approx(0.2)
    assert job.work.built_up_edge_speed is not None
    needed = job.work.built_up_edge_speed * 0.8 / job.head.radius  # brushed: 0.8 of the speed
    rows = [at(**{name: 1.0}).z for name in ("FORCE_CONSTANTS", "EDGE_GROUND")]

    def spread(speed: float | None) -> float:
        """Of the metal and of the cutter together."""
        return float(np.hypot(*(samples.force_level(job, z, speed).item() for z in rows)))

    slow, fast, unknown = (spread(x) for x in (0.99 * needed, 1.01 * needed, None))
    assert slow == pytest.approx(np.hypot(0.2, 0.15))
    assert fast == unknown == pytest.approx(0.2)
    z = at(FORCE_CONSTANTS=1.0).z
    felt, clean = (
        samples.sampled_case(job, way_of(job).contacts, F_Z, z, x * needed).force_factor.item()
        for x in (0.99, 1.01)
    )
    of_metal = 0.2**2 - 0.12**2  # the rest is that of the cutter
    assert felt / clean == pytest.approx(np.exp((of_metal + 0.15**2) ** 0.5 - of_metal**0.5))


def test_one_history_after_the_other() -> None:
    first, then = (asked(made(), samples.draws(8), slots=n) for n in (1.0, 3.0))
    both = first.then(then)
    assert both.turns == (*first.turns, *then.turns)
    assert (both.sigma_1 == np.maximum(first.sigma_1, then.sigma_1)).all()
    some = both.take(np.array([3, 5]))
    assert some.sigma_1.tolist() == both.sigma_1[[3, 5]].tolist()
    assert all(x.shape == (2,) for x in some.amplitudes)


def test_what_was_survived_is_the_least_that_it_can_have_been() -> None:
    # the worst feed and the worst packing, each with a usual draw of the other, never ask more
    # than both at once
    drawn = samples.draws(8)
    worst = samples.worst_of(drawn, 20.0)
    apart = asked(made(), drawn, slots=20.0, worst=worst)
    together = asked(made(), drawn, slots=20.0)
    assert (apart.sigma_1 <= together.sigma_1 * (1 + 1e-12)).all()
    assert (apart.sigma_1 < together.sigma_1 * 0.99).any()
    assert (apart.sigma_1 >= asked(made(), drawn).sigma_1).all()


def test_draws_of_a_cut_are_half_habit() -> None:
    drawn = samples.draws(13)
    again = samples.redrawn(drawn, samples.OF_THE_CUT, (1,))
    for row, expected in (
        (Uncertain.FEED_STEADINESS, 0.5**0.5),
        (Uncertain.CHIP_PACKING, 0.5**0.5),
        (Uncertain.EDGE_WEAR, 1.0),
        (Uncertain.RUNOUT, 1.0),
    ):
        together = float(np.corrcoef(drawn.z[row], again.z[row])[0, 1])
        assert together == pytest.approx(expected, abs=0.05)
        assert again.z[row].std() == pytest.approx(1.0, abs=0.03)


def test_a_sharp_fillet_at_the_head_is_felt_under_a_long_neck() -> None:
    # the torque is the same at both ends, and a fillet of 0.1 gathers more of it than one of 0.5
    worst = []
    for fillet in (0.5, 0.1):
        keys = {
            "slot.throat_width": 4.0, "slot.undercut_width": 11.1, "slot.undercut_height": 0.93, "slot.depth": 3.5,
            "cutter.head_diameter": 11.1, "cutter.head_height": 0.93, "cutter.neck_diameter": 2.52,
            "cutter.neck_length": 3.28, "cutter.neck_fillet": 0.5, "cutter.head_fillet": fillet,
            "cutter.shank_diameter": 4.0, "cutter.stickout": 15.0, "cutter.teeth": 4,
        }  # fmt: skip
        job = resolve(changed(job_from_text(example("t-track"), "t-track"), keys))
        asked = demand_of(job, way_of(job), F_Z, at())
        worst.append(max(float(level[0]) for level in asked.amplitudes))
    assert worst[1] > 1.2 * worst[0]

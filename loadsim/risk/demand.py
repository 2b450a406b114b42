"""What a run of equal slots asks of every sampled neck: the worst instant, and every turn with its
amplitude.

Fracture and torsion are judged at the worst instant of the run, fatigue by the turns as they
happen: the steady feed for nearly all, the unsteady feed for the few it lasts, packed chips until
they are cleared, each piece of the cut with its own table. Of several slots the worst instant is
the worst of as many draws, and their turns add up.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from loadsim.base.numbers import Array
from loadsim.base.ranges import finite, trusted
from loadsim.loads.assumptions import CHIP_STAY, PACKED_STAYS, UNSTEADY_SHARE
from loadsim.loads.cut import Engagement, loading_turns
from loadsim.loads.holding import grabbed_growth
from loadsim.loads.limits.chip_packing import burst_factor
from loadsim.loads.load_case import LoadCase, checked
from loadsim.loads.neck_stress import Notch, leading, neck_stress, notches, reversed_amplitude
from loadsim.loads.nominal import as_drawn
from loadsim.loads.passes import Contact, PieceKind, merged, way_of
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.ringing import Rings, ringing_of
from loadsim.loads.turn import NeckLoad, neck_loads
from loadsim.mechanics.strength import torque_to_snap
from loadsim.mechanics.stress_concentration import K_T_BENDING_FE_MEAN
from loadsim.risk.neck_demand import Demand
from loadsim.risk.samples import (
    OF_THE_CUT,
    Draws,
    Uncertain,
    evened_case,
    part_of,
    redrawn,
    ring_draws,
    sampled_case,
    worst_of,
)

#: Tables of more turning positions than this are trimmed to the leading ones for the samples. [1]
MOST_POSITIONS = 40

#: Feeds and runouts, over the nominal ones, and deviates of the force's slope and of the radial
#: force that span what the samples do. [1]
FEEDS = (0.6, 1.0, 2.5)
RUNOUTS = (0.0, 1.0, 2.5)
DEVIATES = ((0.0, 0.0), (-2.0, -2.0), (-2.0, 2.0), (2.0, -2.0), (2.0, 2.0))

#: Cuts that were survived and are drawn one by one. [1]
SEPARATE = 4

#: Pairs of tooth position and sample in one block (what the cache holds), and the sizes of a block.
BLOCK_PAIRS = 2**19
BLOCK_SIZES = (256, 8192)

#: The head's end of the neck is followed where its bending stress is over this share of the
#: shoulder's, or its torsion over so many times. [1]
NEAR = 0.5
TWISTED = 1.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A run of equal slots with one cutter."""

    slots: float = 1.0  #: how many the worst instant is drawn of; under one for a short cut [1]
    cuts: float | None = None  #: how many, where each has a travel of its own; None: slots [1]
    travel: float | None = None  #: of each pass, in place of that of the whole slot [mm]
    edge: int | None = None  #: slots between two stonings; None: until the land is due [1]
    #: the sample at the worst of all slots, feed and packing each for itself: the least that a run
    #: can have asked, as what was survived must be counted; None: both at their worst at once
    worst: Draws | None = None


def demand_of(
    job: ResolvedJob,
    way: Engagement,
    f_z: float,
    drawn: Draws,
    *,
    speed: float | None = None,
    run: Run | None = None,
    most_positions: int = MOST_POSITIONS,
) -> Demand:
    """What a run of slots asks of every sample's neck.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine and material.
    way : Engagement
        Its passes, cut into pieces.
    f_z : float
        Feed per tooth as set. [mm]
    drawn : Draws
        The sample.
    speed : float, optional
        Spindle speed; an edge may build up under a certain one. [rad/s]
    run : Run, optional
        How many slots; one when left out.
    most_positions : int
        Longer tables of turning positions are trimmed to the leading ones. [1]

    Returns
    -------
    demand : Demand
    """
    run = run or Run()
    cuts = run.slots if run.cuts is None else run.cuts
    on_edge = cuts if run.edge is None else min(cuts, run.edge)
    contacts = merged(_cut(job, way.contacts, run.travel))
    turns = [
        float(loading_turns(c.travel, c.sine, f_z, job.h_min, job.cutter.teeth)) for c in contacts
    ]
    contacts = led(job, contacts, f_z, most_positions)
    block = block_of(max(c.peak.phi.size for c in contacts))
    worst = run.worst
    if worst is None and run.slots != 1.0:
        worst = worst_of(drawn, run.slots)
    parts = []
    for i in range(0, drawn.u.shape[1], block):
        some = slice(i, i + block)
        rings = ringing_of(job, contacts, f_z, speed, ring_draws(job, part_of(drawn, some)))
        here = None if worst is None else part_of(worst, some)
        instants = []
        for deviates, packed in _instants(part_of(drawn, some), here, run.worst is not None):
            drawn_case = sampled_case(job, contacts, f_z, deviates, speed, on_edge)
            # the feed as set is there in any cut: at its worst it is not under it
            fed = drawn_case.with_(f_z=np.maximum(drawn_case.f_z, f_z))
            case = evened_case(job, contacts, fed, f_z, deviates)
            packing = burst_factor(job, way.passes, f_z, packed)
            instants.append(_instant(job, case, contacts, f_z, packing, rings))
        parts.append(instants)
    return _joined(job, turns, run, parts)


def survived_demand(
    job: ResolvedJob,
    way: Engagement,
    f_z: float,
    drawn: Draws,
    *,
    speed: float,
    cuts: int,
    share: float,
    travel: float | None,
    seed: tuple[int, ...],
) -> Demand:
    """What some equal cuts have asked at least of every sample's neck, each with draws of its own.

    Up to `SEPARATE` cuts are drawn one by one; of more the rest counts as one run.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter, machine and material.
    way : Engagement
        Its passes, cut into pieces.
    f_z : float
        Feed per tooth as set. [mm]
    drawn : Draws
        The sample.
    speed : float
        Spindle speed. [rad/s]
    cuts : int
        How many. [1]
    share : float
        Of a slot, that each of them was long. [1]
    travel : float or None
        Of each pass, in place of that of the whole slot. [mm]
    seed : tuple of int
        Of these cuts' own draws.

    Returns
    -------
    demand : Demand
    """
    single = Run(slots=share, cuts=1.0, travel=travel)
    demands = []
    for k in range(min(cuts, SEPARATE)):
        own = redrawn(drawn, OF_THE_CUT, (*seed, k))
        demands.append(demand_of(job, way, f_z, own, speed=speed, run=single))
    if (rest := cuts - SEPARATE) > 0:
        own = redrawn(drawn, OF_THE_CUT, (*seed, SEPARATE))
        worst = redrawn(drawn, OF_THE_CUT, (*seed, SEPARATE), max(rest * share, 1.0))
        run = Run(slots=rest * share, cuts=float(rest), travel=travel, worst=worst)
        demands.append(demand_of(job, way, f_z, own, speed=speed, run=run))
    demand = demands[0]
    for later in demands[1:]:
        demand = demand.then(later)
    return demand


def _instants(usual: Draws, worst: Draws | None, apart: bool) -> Iterator[tuple[Array, Array]]:
    """Deviates and draws of packing: those of any slot, then those at the worst of all slots.

    apart: the worst feed and the worst packing each with a usual draw of the other.
    """
    packed = usual.u[Uncertain.CHIP_PACKING]
    yield usual.z, packed
    if worst is None:
        return
    packed_worst = worst.u[Uncertain.CHIP_PACKING]
    if not apart:
        yield worst.z, packed_worst
        return
    fed = usual.z.copy()
    fed[Uncertain.FEED_STEADINESS] = worst.z[Uncertain.FEED_STEADINESS]
    yield fed, packed
    yield usual.z, packed_worst


@dataclass(frozen=True, slots=True, kw_only=True)
class _Instant:
    """What some draws of feed, edge and packing ask of one block of samples; (s,)."""

    sigma_1: Array
    sigma_v: Array
    torsion: Array
    grabbed: Array
    steady: list[Array]  #: amplitude at the feed as set, of each piece [MPa]
    unsteady: list[Array]  #: amplitude at the unsteady feed, of each piece [MPa]
    packed: Array  #: amplitude while chips are packed [MPa]


def _instant(
    job: ResolvedJob,
    case: LoadCase,
    contacts: list[Contact],
    f_z: float,
    packing: Array,
    rings: list[Rings],
) -> _Instant:
    checked(case)
    evenly = case.with_(f_z=f_z)

    def loads(cut: LoadCase, contact: Contact, ring: Rings) -> list[NeckLoad]:
        return [load.rung(*ring) for load in neck_loads(cut, contact.peak, arms)]

    with trusted():
        ends, K_ts = _ends(job, case, contacts)
        arms = [notch.arm for notch, _ in ends]
        runs = [
            [
                neck_stress(load, notch, worn)
                for load, (notch, worn) in zip(loads(case, c, ring), ends, strict=True)
            ]
            for c, ring in zip(contacts, rings, strict=True)
        ]
        steady = [
            _worst(
                [
                    reversed_amplitude(load, worn)
                    for load, (_, worn) in zip(loads(evenly, c, ring), ends, strict=True)
                ]
            )
            for c, ring in zip(contacts, rings, strict=True)
        ]
        peaks = [p for end in runs for p in end]
        breaks = torque_to_snap(job.strength.tau_u, K_ts, case.neck_diameter)
        sigma_1 = _worst([p.sigma_1 for p in peaks])
        instant = _Instant(
            sigma_1=sigma_1 * packing,
            sigma_v=_worst([p.sigma_v for p in peaks]) * packing,
            torsion=_worst([p.torque for p in peaks]) * packing / breaks,
            grabbed=sigma_1 * grabbed_growth(case, job.backlash),
            steady=steady,
            unsteady=[_worst([p.sigma_ar for p in end]) for end in runs],
            packed=_worst(steady) * packing,
        )
    for name in ("sigma_1", "sigma_v", "packed"):  # no chance from a stress that is not a number
        finite(name, getattr(instant, name), " MPa")
    return instant


def _joined(job: ResolvedJob, turns: list[float], run: Run, parts: list[list[_Instant]]) -> Demand:
    """One demand of all blocks: the worst instant, and the turns of every slot with one slot at the
    worst of all where there are several.

    turns: of each piece in one slot. [1]
    """
    cuts = run.slots if run.cuts is None else run.cuts
    packed_turns = PACKED_STAYS * CHIP_STAY[job.written.work.lubrication]
    usual, *extremes = (_whole([part[k] for part in parts]) for k in range(len(parts[0])))
    levels = [
        (n * cuts * (1 - UNSTEADY_SHARE), x) for n, x in zip(turns, usual.steady, strict=True)
    ]
    slots = [(usual, cuts, run.slots), *((x, 1.0, 1.0) for x in extremes if run.slots > 1.0)]
    for instant, times, packings in slots:
        levels += [
            (n * times * UNSTEADY_SHARE, x) for n, x in zip(turns, instant.unsteady, strict=True)
        ]
        levels.append((packed_turns * packings, instant.packed))
    worst = extremes or [usual]
    return Demand(
        sigma_1=_worst([x.sigma_1 for x in worst]),
        sigma_v=_worst([x.sigma_v for x in worst]),
        torsion=_worst([x.torsion for x in worst]),
        grabbed=_worst([x.grabbed for x in worst]),
        turns=tuple(n for n, _ in levels),
        amplitudes=tuple(x for _, x in levels),
    )


def _whole(parts: list[_Instant]) -> _Instant:
    """All blocks of samples, one after the other."""

    def levels(name: str) -> list[Array]:
        rows = [getattr(part, name) for part in parts]
        return [np.concatenate(level) for level in zip(*rows, strict=True)]

    return _Instant(
        steady=levels("steady"),
        unsteady=levels("unsteady"),
        **{
            name: np.concatenate([getattr(part, name) for part in parts])
            for name in ("sigma_1", "sigma_v", "torsion", "grabbed", "packed")
        },
    )


def _cut(job: ResolvedJob, contacts: list[Contact], travel: float | None) -> list[Contact]:
    """Pieces of a cut of another length: from the drilled end on, and to a closed end only where it
    is as long as the slot.
    """
    if travel is None:
        return contacts
    whole = travel >= job.slot.length
    drilled = [0.0] * (contacts[-1].step + 1)
    for c in contacts:
        if c.kind is PieceKind.HOLES:
            drilled[c.step] = min(c.travel, travel)
    lengths = {PieceKind.RUN: [travel - x for x in drilled], PieceKind.HOLES: drilled}
    return [
        replace(c, travel=lengths[c.kind][c.step]) if c.kind in lengths else c
        for c in contacts
        if (whole if c.kind is PieceKind.CLOSED_END else lengths[c.kind][c.step] > 0)
    ]


def block_of(pairs: int) -> int:
    """Samples that are worked on at once, for so many pairs of tooth and position. [1]"""
    least, most = BLOCK_SIZES
    return max(least, min(most, BLOCK_PAIRS // max(pairs, 1)))


def led(
    job: ResolvedJob, contacts: list[Contact], f_z: float, most_positions: int = MOST_POSITIONS
) -> list[Contact]:
    """Trim large tables of positions to those that lead over the feeds and runouts drawn.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter and metal.
    contacts : list of Contact
        Of a whole cut.
    f_z : float
        Feed per tooth as set. [mm]
    most_positions : int
        Smaller tables stay as they are. [1]

    Returns
    -------
    contacts : list of Contact
    """
    if max(c.peak.turn.size for c in contacts) <= most_positions:
        return contacts
    base = as_drawn(job, f_z, way_of(contacts), K_T_BENDING_FE_MEAN)
    every = np.array([(f, r, *metal) for f in FEEDS for r in RUNOUTS for metal in DEVIATES])
    feed, rho, slope, across = every.T
    case = base.with_(
        f_z=feed * f_z,
        rho=rho * base.rho,
        law=job.metal.steepened(slope, job.radial),
        radial_factor=np.exp(job.radial_spread * across),
    )
    notch = notches(base)[0]
    return [
        replace(c, peak=leading(case, c.peak, notch)) if c.peak.turn.size > most_positions else c
        for c in contacts
    ]


def _ends(
    job: ResolvedJob, case: LoadCase, contacts: list[Contact]
) -> tuple[list[tuple[Notch, Notch]], Array]:
    """Return the ends of the neck that can govern, that at the head only when its arm is not far
    the shorter or its fillet is the sharper; and the torsion concentration of the worse end,
    whichever that is.
    """
    size = job.strength.notch_size
    both = notches(case)
    worn = notches(case, size) if size else both
    level = min(float(c.peak.level.min()) for c in contacts)
    shoulder, head = ((n.arm + case.head_height - level) * n.bending for n in both)
    twisted = both[1].torsion > TWISTED * both[0].torsion
    near = bool(np.max(head / shoulder) > NEAR) or bool(np.max(twisted))
    K_ts = np.maximum(both[0].K_ts, both[1].K_ts)
    return list(zip(both, worn, strict=True))[: 2 if near else 1], K_ts


def _worst(values: list[Array]) -> Array:
    return np.asarray(np.maximum.reduce(values))

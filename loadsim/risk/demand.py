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
from loadsim.loads.cut import Engagement
from loadsim.loads.edge_wear import wear_growth
from loadsim.loads.limits.chip_packing import burst_factor
from loadsim.loads.limits.undercut import grabbed_growth
from loadsim.loads.load_case import LoadCase, checked
from loadsim.loads.neck_stress import Notch, leading, neck_stress, notches, reversed_amplitude
from loadsim.loads.nominal import as_drawn
from loadsim.loads.passes import Contact, PieceKind, along, thickest_sine
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.turn import neck_load
from loadsim.mechanics.strength import torque_to_snap
from loadsim.mechanics.stress_concentration import K_T_BENDING_FE_MEAN
from loadsim.risk.neck_demand import Demand
from loadsim.risk.samples import Draws, Uncertain, sampled_case

#: Tables of more turning positions than this are trimmed to the leading ones for the samples. [1]
MOST_POSITIONS = 40

#: Feeds and runouts, over the nominal ones, that span what the samples do. [1]
FEEDS = (0.6, 1.0, 2.5)
RUNOUTS = (0.0, 1.0, 2.5)

#: Pairs of tooth position and sample in one block (what the cache holds), and the sizes of a block.
BLOCK_PAIRS = 2**19
BLOCK_SIZES = (256, 8192)

#: The head's end of the neck is followed where its bending stress, or its bending stress with more
#: torsion, is over this share of the shoulder's; and how much more torsion that is. [1]
NEAR = 0.5
NEAR_TWISTED = 0.25
TWISTED = 1.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A run of equal slots with one cutter."""

    slots: float = 1.0  #: how many the worst instant is drawn of; under one for a short cut [1]
    cuts: float | None = None  #: how many, where each has a travel of its own; None: slots [1]
    travel: float | None = None  #: of each pass, in place of that of the whole slot [mm]
    before: float = 0.0  #: slots that have worn the edge before [1]
    #: count the least that the run can have asked, as what is survived must be counted
    survived: bool = False


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
    contacts = _led(job, _cut(job, way.contacts, run.travel), f_z, most_positions)
    pairs = max(c.peak.phi.size for c in contacts)
    least, most = BLOCK_SIZES
    block = max(least, min(most, BLOCK_PAIRS // max(pairs, 1)))
    wear = 1.0 if run.survived else wear_growth(job, way.passes, f_z, speed, run.before + run.slots)
    cuts = run.slots if run.cuts is None else run.cuts
    turns = [c.travel * cuts / (f_z * job.cutter.teeth) for c in contacts]
    packed_turns = run.slots * PACKED_STAYS * CHIP_STAY[job.written.work.lubrication]
    parts = []
    for i in range(0, drawn.u.shape[1], block):
        u = drawn.u[:, i : i + block]
        z = drawn.z[:, i : i + block]
        blocks = []
        for deviates, packed in _instants(u, z, run):
            case = sampled_case(job, contacts, f_z, deviates, speed)
            case = case.with_(force_factor=case.force_factor * wear)
            packing = burst_factor(job, way.passes, f_z, packed)
            blocks.append(_block(job, case, contacts, f_z, packing))
        parts.append(_worst_of(blocks))
    return _joined(parts, turns, packed_turns)


def _instants(u: Array, z: Array, run: Run) -> Iterator[tuple[Array, Array]]:
    """Deviates and draws of packing: those of any slot, then those at the worst instant of all.

    The largest feed and the worst packing need not meet: what a run asks counts as if they did,
    what it has survived counts each with a usual draw of the other.
    """
    from scipy.special import ndtri

    packed = u[Uncertain.CHIP_PACKING]
    yield z, packed
    if run.slots == 1.0:
        return
    fed = z.copy()
    fed[Uncertain.FEED_STEADINESS] = ndtri(u[Uncertain.FEED_STEADINESS] ** (1 / run.slots))
    worst = packed ** (1 / run.slots)
    if not run.survived or run.slots < 1.0:
        yield fed, worst
        return
    yield fed, packed
    yield z, worst


@dataclass(frozen=True, slots=True, kw_only=True)
class _Block:
    """What one block of samples bears; levels: steady and unsteady of each piece, then packed."""

    sigma_1: Array
    sigma_v: Array
    torsion: Array
    grabbed: Array
    steady: list[Array]
    unsteady: list[Array]
    packed: Array


def _block(
    job: ResolvedJob, case: LoadCase, contacts: list[Contact], f_z: float, packing: Array
) -> _Block:
    checked(case)
    evenly = case.with_(f_z=f_z)
    with trusted():
        ends = _ends(job, case, contacts)
        runs = [
            [neck_stress(neck_load(case, c.peak, notch.arm), notch, worn) for notch, worn in ends]
            for c in contacts
        ]
        steady = [
            _worst([reversed_amplitude(neck_load(evenly, c.peak, n.arm), w) for n, w in ends])
            for c in contacts
        ]
        peaks = [p for end in runs for p in end]
        K_ts = _worst([notch.K_ts for notch, _ in ends])
        breaks = torque_to_snap(job.strength.tau_u, K_ts, case.neck_diameter)
        sigma_1 = _worst([p.sigma_1 for p in peaks])
        block = _Block(
            sigma_1=sigma_1 * packing,
            sigma_v=_worst([p.sigma_v for p in peaks]) * packing,
            torsion=_worst([p.torque for p in peaks]) * packing / breaks,
            grabbed=sigma_1 * grabbed_growth(case, job.backlash),
            steady=steady,
            unsteady=[_worst([p.sigma_ar for p in end]) for end in runs],
            packed=_worst(steady) * packing,
        )
    for name in ("sigma_1", "sigma_v", "packed"):  # no chance from a stress that is not a number
        finite(name, getattr(block, name), " MPa")
    return block


def _worst_of(blocks: list[_Block]) -> _Block:
    """The turns of any slot, with the worst instant of all slots where there are several."""
    usual, *worst = blocks
    instants = worst or [usual]
    return replace(
        usual,
        sigma_1=_worst([x.sigma_1 for x in instants]),
        sigma_v=_worst([x.sigma_v for x in instants]),
        torsion=_worst([x.torsion for x in instants]),
        grabbed=_worst([x.grabbed for x in instants]),
    )


def _joined(parts: list[_Block], turns: list[float], packed_turns: float) -> Demand:
    def one(name: str) -> Array:
        return np.concatenate([getattr(part, name) for part in parts])

    def levels(name: str) -> list[Array]:
        rows = [getattr(part, name) for part in parts]
        return [np.concatenate(level) for level in zip(*rows, strict=True)]

    return Demand(
        sigma_1=one("sigma_1"),
        sigma_v=one("sigma_v"),
        torsion=one("torsion"),
        grabbed=one("grabbed"),
        turns=(
            *(n * (1 - UNSTEADY_SHARE) for n in turns),
            *(n * UNSTEADY_SHARE for n in turns),
            packed_turns,
        ),
        amplitudes=(*levels("steady"), *levels("unsteady"), one("packed")),
    )


def _cut(job: ResolvedJob, contacts: list[Contact], travel: float | None) -> list[Contact]:
    """Pieces of a cut of another length: a closed end only where it is as long as the slot."""
    if travel is None:
        return contacts
    whole = travel >= job.slot.length
    kept = [c for c in contacts if whole or c.kind is not PieceKind.CLOSED_END]
    runs = {id(c) for c in along(contacts)}
    return [replace(c, travel=travel) if id(c) in runs else c for c in kept]


def _led(
    job: ResolvedJob, contacts: list[Contact], f_z: float, most_positions: int
) -> list[Contact]:
    """Trim large tables of positions to those that lead over the feeds and runouts drawn."""
    if max(c.peak.turn.size for c in contacts) <= most_positions:
        return contacts
    base = as_drawn(job, f_z, thickest_sine(contacts), K_T_BENDING_FE_MEAN)
    cases = [base.with_(f_z=f * f_z, rho=r * base.rho) for f in FEEDS for r in RUNOUTS]
    notch = notches(base)[0]
    return [
        replace(c, peak=leading(cases, c.peak, notch)) if c.peak.turn.size > most_positions else c
        for c in contacts
    ]


def _ends(job: ResolvedJob, case: LoadCase, contacts: list[Contact]) -> list[tuple[Notch, Notch]]:
    """Return the ends of the neck that can govern: that at the head only when its arm is not far
    the shorter.
    """
    size = job.strength.notch_size
    both = notches(case)
    worn = notches(case, size) if size else both
    level = min(float(c.peak.level.min()) for c in contacts)
    shoulder, head = ((n.arm + case.head_height - level) * n.bending for n in both)
    twisted = both[1].torsion > TWISTED * both[0].torsion
    share = head / shoulder
    near = bool(np.max(share) > NEAR) or bool(np.max(twisted & (share > NEAR_TWISTED)))
    return list(zip(both, worn, strict=True))[: 2 if near else 1]


def _worst(values: list[Array]) -> Array:
    return np.asarray(np.maximum.reduce(values))

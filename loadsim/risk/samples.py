"""The uncertain inputs by name, the sample of them, and a load case drawn from it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np

from loadsim.base.numbers import Array, Index
from loadsim.job.tables import Cutter, Job
from loadsim.loads.assumptions import (
    BUILT_UP_EDGE_SD,
    FILLET_SD,
    FILLET_SD_ASSUMED,
    HABIT,
    HEIGHT_SD,
    LAND_GROWTH_SD,
    LAND_SD,
    NECK_SD,
    REACH_SD,
    RUNOUT_SD,
    RUNOUT_SD_ASSUMED,
    SKEW_SD,
    STEADINESS,
    STONE_LAND,
    STONED_LAND,
    TOOL_SD,
)
from loadsim.loads.deflection import PAIR, evened
from loadsim.loads.limits.built_up_edge import builds_up
from loadsim.loads.load_case import LoadCase
from loadsim.loads.nominal import as_drawn, edge_force, growth
from loadsim.loads.passes import Contact, way_of
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.skew import RingDraws, most_skew, pushes
from loadsim.mechanics.force_law import BentPower
from loadsim.mechanics.stress_concentration import K_T_BENDING_FE_MEAN, K_T_BENDING_FE_SD
from loadsim.risk import sobol
from loadsim.risk.neck_demand import Demand, Survival

SEED = 20_260

#: Base-2 logarithm of the size of the sample, and of one that test cuts weigh. [1]
USUAL = 14
TRIED = 15

#: Independent scrambles; their scatter gives the interval. [1]
REPLICATES = 16


class Uncertain(IntEnum):
    """What is not known for sure: the rows of every sample, in the order of the Sobol columns.

    A number is its nominal times ``exp(sd z)``, z standard normal, unless said otherwise.
    """

    driver: str  #: what an answer calls it

    FORCE_CONSTANTS = "force constants of the metal"  # sd: of its sources, at the best-known chip
    RADIAL_FORCE = "radial force"  # sd: of the radial ratio's sources
    EDGE_WEAR = "edge wear"  # land: even from 0 to STONED_LAND or LAND_SD; growth: LAND_GROWTH_SD
    FEED_STEADINESS = "steadiness of the feed"  # median and sd: STEADINESS
    RUNOUT = "runout"  # sd: RUNOUT_SD, RUNOUT_SD_ASSUMED
    NECK_DIAMETER = "neck diameter"  # sd: NECK_SD over the diameter
    NECK_FILLET = "neck fillet"  # sd: FILLET_SD, FILLET_SD_ASSUMED
    NECK_LENGTH = "neck length"  # sd: REACH_SD over the length
    HEAD_HEIGHT = "head height"  # sd: HEIGHT_SD over the height
    STRESS_CONCENTRATION = "stress concentration"  # nominal + sd z, sd: K_T_BENDING_FE_SD
    BLANK_STRENGTH = "strength of the blank"  # sd: of its sources
    FATIGUE_LIMIT = "fatigue limit"  # sd: of its sources
    NECK_GRINDING = "grinding of the neck"  # on the fatigue limit; sd: GRIND_SD
    CHIP_PACKING = "chip packing"  # rare and even, by burst_factor: BURST, BURST_BASE, BURST_RATE
    THOUSAND_TURNS = "strength at a thousand turns"  # sd: THOUSAND_SD
    SMALL_VOLUME = "credit for the neck's small volume"  # even, from none to the whole
    THIN_CHIPS = "force at thin chips"  # on the exponent; sd: of its sources
    EDGE_GROUND = "edge as it was ground"  # on the force; sd: TOOL_SD
    EDGE_SKEW = "skew of the edges"  # even, from 0 to SKEW_MOST; sd: SKEW_SD
    TOOTH_ENTRY = "how suddenly a tooth bites"  # even: ENTRY
    OWN_FREQUENCY = "frequency the neck rings at"  # even in the logarithm: OWN_FREQUENCY
    DAMPING = "how soon the ringing dies"  # even in the logarithm: DAMPINGS
    GIVE = "runout that the neck's give evens out"  # share of what is sure: even, from 0 to 1

    def __new__(cls, driver: str) -> Uncertain:
        """Number the rows as they stand here."""
        member = int.__new__(cls, len(cls.__members__))
        member._value_ = len(cls.__members__)
        member.driver = driver
        return member


#: What is at its worst for moments of a cut, and differs from cut to cut.
OF_THE_CUT = (Uncertain.FEED_STEADINESS, Uncertain.CHIP_PACKING)


#: Most of the variance between sources that their tools are taken to make (no source). [1]
TOOL_SHARE = 0.5

#: What may change of a cutter whose neck stays the same.
OFF_THE_NECK = {"runout", "stickout", "edge_radius"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Worn:
    """What one cutter has lived through before the cut that is asked about."""

    cutter: Cutter  #: the very one; another has lived through nothing
    demand: Demand  #: of all its cuts, (n,)
    lived: Survival  #: chance to have lived through them, (n,)

    def take(self, which: Index | slice) -> Worn:
        """Return the samples wanted."""
        return replace(self, demand=self.demand.take(which), lived=self.lived.take(which))

    def is_of(self, cutter: Cutter) -> bool:
        """Whether a cutter is this one, be it held otherwise or honed."""
        own, other = (x.model_dump(exclude=OFF_THE_NECK) for x in (self.cutter, cutter))
        return bool(own == other)


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """One sample of all that is not known for sure; rows by `Uncertain`, (23, n)."""

    u: Array  #: uniform between 0 and 1 [1]
    z: Array  #: the same as standard normal deviates [1]
    replicates: int  #: independent parts that follow each other, of equal size [1]
    seed: int
    #: what test cuts make of each sample, (n,); None: nothing was seen [1]
    weights: Array | None = None
    worn: Worn | None = None  #: what the job's cutter has lived through; None: nothing

    def lived_by(self, cutter: Cutter) -> Worn | None:
        """What this very cutter has lived through; None where it is a new neck."""
        return self.worn if self.worn is not None and self.worn.is_of(cutter) else None


def draws(samples_log2: int = USUAL, seed: int = SEED) -> Draws:
    """Draw the sample once.

    Parameters
    ----------
    samples_log2 : int
        Base-2 logarithm of the number of samples, at least 8. [1]
    seed : int
        Stamped in every result.

    Returns
    -------
    draws : Draws
    """
    from scipy.special import ndtri

    each = samples_log2 - int(math.log2(REPLICATES))
    u = sobol.replicates(each, len(Uncertain), REPLICATES, seed)
    u = np.ascontiguousarray(u.transpose(1, 0, 2).reshape(len(Uncertain), -1))
    return Draws(u=u, z=ndtri(u), replicates=REPLICATES, seed=seed)


def draws_for(job: Job) -> Draws:
    """Draw the sample of a job: a larger one where test cuts will rule out much of it.

    Parameters
    ----------
    job : Job
        Its test cuts.

    Returns
    -------
    draws : Draws
    """
    return draws(TRIED if job.trial or job.job.trials else USUAL)


def median_draws(n: int = 1) -> Draws:
    """Return samples in which nothing deviates: every number at its median, no chips packed.

    Parameters
    ----------
    n : int
        How many, all alike. [1]

    Returns
    -------
    draws : Draws
        Of one replicate, with the usual seed.
    """
    shape = (len(Uncertain), n)
    return Draws(u=np.full(shape, 0.5), z=np.zeros(shape), replicates=1, seed=SEED)


def part_of(drawn: Draws, some: slice) -> Draws:
    """Take a part of the sample, without weights and history."""
    return replace(drawn, u=drawn.u[:, some], z=drawn.z[:, some], weights=None, worn=None)


def few_of(drawn: Draws, most: int = 256) -> Draws:
    """Keep the first points of each replicate: enough to compare settings by.

    Parameters
    ----------
    drawn : Draws
        The sample.
    most : int
        Points kept of each replicate; four times as many when they are weighted. [1]

    Returns
    -------
    draws : Draws
    """
    each = drawn.u.shape[1] // drawn.replicates
    first = np.arange(min(each, most if drawn.weights is None else 4 * most))
    kept = (first + each * np.arange(drawn.replicates)[:, None]).ravel()
    worn = drawn.worn
    return replace(
        drawn,
        u=drawn.u[:, kept],
        z=drawn.z[:, kept],
        weights=None if drawn.weights is None else drawn.weights[kept],
        worn=None if worn is None else worn.take(kept),
    )


def redrawn(
    drawn: Draws, rows: tuple[Uncertain, ...], seed: tuple[int, ...], cuts: float = 1.0
) -> Draws:
    """Draw some inputs anew: the same points, paired otherwise within each replicate.

    How steadily a cut is fed and whether its chips pack is half the habit of hand, machine and
    slot, which stays, and half the cut's own.

    Parameters
    ----------
    drawn : Draws
        The sample.
    rows : tuple of Uncertain
        What is drawn anew.
    seed : tuple of int
        Of this pairing, beside the sample's own.
    cuts : float
        Take the worst of as many cuts. [1]

    Returns
    -------
    draws : Draws
    """
    from scipy.special import ndtr

    rng = np.random.default_rng([drawn.seed, *seed])
    u = drawn.u.copy()
    z = drawn.z.copy()
    first = np.arange(drawn.u.shape[1]).reshape(drawn.replicates, -1)
    for row in rows:
        order = rng.permuted(first, axis=1).ravel()
        u[row] = u[row, order]
        z[row] = z[row, order]
    anew = replace(drawn, u=u, z=z) if cuts == 1.0 else worst_of(replace(drawn, u=u, z=z), cuts)
    for row in set(OF_THE_CUT) & set(rows):
        anew.z[row] = math.sqrt(HABIT) * drawn.z[row] + math.sqrt(1 - HABIT) * anew.z[row]
        anew.u[row] = ndtr(anew.z[row])
    return anew


def worst_of(drawn: Draws, cuts: float) -> Draws:
    """Put what differs from cut to cut at the worst of several cuts.

    Parameters
    ----------
    drawn : Draws
        The sample of one cut.
    cuts : float
        How many; a share of one for a short cut. [1]

    Returns
    -------
    draws : Draws
        The largest of as many independent draws, in distribution.
    """
    from scipy.special import ndtri_exp

    u = drawn.u.copy()
    z = drawn.z.copy()
    for row in OF_THE_CUT:
        ln_u = np.log(u[row]) / cuts
        u[row] = np.exp(ln_u)
        z[row] = ndtri_exp(ln_u)
    return replace(drawn, u=u, z=z)


def sampled_case(
    job: ResolvedJob,
    contacts: list[Contact],
    f_z: float,
    z: Array,
    speed: float | None = None,
    slots: float = 1.0,
) -> LoadCase:
    """Return the cut with every uncertain input drawn.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter, machine and force constants.
    contacts : list of Contact
        One for each pass.
    f_z : float
        Feed per tooth as set. [mm]
    z : ndarray, shape (23, s)
        Standard normal deviates, rows by `Uncertain`. [1]
    speed : float, optional
        Spindle speed; under a certain one an edge builds up, and the force is less sure; over a
        certain one it wears faster. [rad/s]
    slots : float
        Cut since the edge was stoned, this one included. [1]

    Returns
    -------
    case : LoadCase
        Every uncertain number has shape (s,).
    """
    cutter = job.cutter
    travel = way_of(contacts)
    base = as_drawn(job, f_z, travel, K_T_BENDING_FE_MEAN)
    median, steady = STEADINESS[job.machine.feed]
    shoulder_sd = FILLET_SD_ASSUMED if cutter.neck_fillet is None else FILLET_SD
    head_sd = FILLET_SD if cutter.head_fillet is not None else shoulder_sd
    runout_sd = RUNOUT_SD_ASSUMED if cutter.runout is None else RUNOUT_SD
    wear = z[Uncertain.EDGE_WEAR]
    edge_t, edge_r = edge_force(job, drawn_land(job, travel, wear, speed, slots))
    return base.with_(
        law=drawn_law(job, z),
        force_factor=base.force_factor * np.exp(force_level(job, z, speed)),
        radial_factor=np.exp(job.radial_spread * z[Uncertain.RADIAL_FORCE]),
        edge_t=edge_t,
        edge_r=edge_r,
        f_z=f_z * median * np.exp(steady * z[Uncertain.FEED_STEADINESS]),
        rho=base.rho * np.exp(runout_sd * z[Uncertain.RUNOUT]),
        neck_diameter=_near(base.neck_diameter, NECK_SD, z[Uncertain.NECK_DIAMETER]),
        fillet=base.fillet * np.exp(shoulder_sd * z[Uncertain.NECK_FILLET]),
        head_fillet=base.head_fillet * np.exp(head_sd * z[Uncertain.NECK_FILLET]),
        neck_length=_near(base.neck_length, REACH_SD, z[Uncertain.NECK_LENGTH]),
        head_height=_near(base.head_height, HEIGHT_SD, z[Uncertain.HEAD_HEIGHT]),
        fe_factor=base.fe_factor + K_T_BENDING_FE_SD * z[Uncertain.STRESS_CONCENTRATION],
    )


def evened_case(
    job: ResolvedJob, contacts: list[Contact], case: LoadCase, f_z: float, z: Array
) -> LoadCase:
    """Return a drawn cut with its runout as far as the neck's give does not even it out.

    For the chips alone: what a tooth that stands out takes off a wall stays as it is.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter and blank.
    contacts : list of Contact
        The pieces of the cut; where two teeth cut at once none is credited.
    case : LoadCase
        From `sampled_case`.
    f_z : float
        Feed per tooth as set: how even the teeth come out does not hang on how steady it is. [mm]
    z : ndarray, shape (23, s)
        Standard normal deviates, rows by `Uncertain`. [1]

    Returns
    -------
    case : LoadCase
    """
    from scipy.special import ndtr

    if case.teeth != PAIR or any(_together(c) for c in contacts):
        return case
    met = [(float(c.peak.phi[np.argmax(np.sin(c.peak.phi))]), c.height) for c in contacts]
    share = ndtr(z[Uncertain.GIVE])
    return case.with_(rho=evened(job, case.with_(f_z=f_z), share, met))


def _together(contact: Contact) -> bool:
    """Whether several teeth are in the cut at once."""
    return bool((np.diff(contact.peak.position) == 0).any())


def ring_draws(job: ResolvedJob, drawn: Draws) -> RingDraws:
    """What every sample takes for the ringing of its neck.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter.
    drawn : Draws
        The sample.

    Returns
    -------
    draws : RingDraws
        Skew as measured, or between straight and what a tooth may be off.
    """
    u = drawn.u
    skew = most_skew(job.cutter.teeth) * u[Uncertain.EDGE_SKEW]
    if job.cutter.edge_skew is not None:
        skew = job.cutter.edge_skew * np.exp(SKEW_SD * drawn.z[Uncertain.EDGE_SKEW])
    return RingDraws(
        skew=skew,
        push=pushes(job, skew),
        entry=u[Uncertain.TOOTH_ENTRY],
        frequency=u[Uncertain.OWN_FREQUENCY],
        damping=u[Uncertain.DAMPING],
    )


def drawn_law(job: ResolvedJob, z: Array) -> BentPower:
    """Force law of every metal drawn, at the level of the median; one for all chips.

    Parameters
    ----------
    job : ResolvedJob
        Its metal.
    z : ndarray, shape (23, s)
        Standard normal deviates. [1]

    Returns
    -------
    law : BentPower
        (s,), or () where the slope is known.
    """
    return job.metal.steepened(z[Uncertain.THIN_CHIPS], job.radial)


def force_level(job: ResolvedJob, z: Array, speed: float | None = None) -> Array:
    """Logarithm of the drawn force over the median one at the chip that is known best.

    Parameters
    ----------
    job : ResolvedJob
        Its metal, cutter, material and lubrication.
    z : ndarray, shape (23, s)
        Standard normal deviates. [1]
    speed : float or None
        Spindle speed; None: the edge is taken to stay clean. [rad/s]

    Returns
    -------
    level : ndarray, shape (s,)
        Of its sources, of an edge that builds up, and of this one cutter. [1]
    """
    welded = BUILT_UP_EDGE_SD if speed is not None and builds_up(job, speed) else 0.0
    of_tool = tool_sd(job)
    of_metal = math.sqrt(job.metal.level_sd**2 - of_tool**2 + welded**2)
    level = of_metal * z[Uncertain.FORCE_CONSTANTS] + of_tool * z[Uncertain.EDGE_GROUND]
    return np.asarray(level)


def tool_sd(job: ResolvedJob) -> float:
    """Spread of the force between cutters ground alike: a part of the spread between sources, as
    each cut with tools of its own. Constants of the job's own were measured with this cutter. [1]
    """
    most = math.sqrt(TOOL_SHARE) * job.metal.level_sd
    return min(TOOL_SD, most) if job.written.work.kc11 is None else 0.0


def force_at(job: ResolvedJob, h: float | Array, z: Array, speed: float | None = None) -> Array:
    """Factor on the median force at a chip thickness.

    Parameters
    ----------
    job : ResolvedJob
        Its metal, cutter, material and lubrication.
    h : float or ndarray
        Uncut chip thickness. [mm]
    z : ndarray, shape (23, s)
        Standard normal deviates. [1]
    speed : float or None
        Spindle speed. [rad/s]

    Returns
    -------
    factor : ndarray, shape (s,)
        [1]
    """
    law = drawn_law(job, z)
    steeper = law.specific(h) / job.metal.median.specific(h)
    return np.asarray(steeper * np.exp(force_level(job, z, speed)))


def drawn_land(
    job: ResolvedJob, travel: float, z: Array, speed: float | None = None, slots: float = 1.0
) -> Array:
    """Worn land of every edge drawn, at the end of its last slot.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter, metal and blank.
    travel : float
        Of one slot, all passes together. [mm]
    z : ndarray, shape (s,)
        Standard normal deviates of the edge. [1]
    speed : float or None
        Spindle speed. [rad/s]
    slots : float
        Cut one after the other; it is stoned when its land is due. [1]

    Returns
    -------
    land : ndarray, shape (s,)
        [mm]
    """
    from scipy.special import ndtr

    wear = job.cutter.wear
    start = STONED_LAND * ndtr(z) if wear is None else wear * np.exp(LAND_SD * z)
    land = start + slots * growth(job, travel, speed) * np.exp(LAND_GROWTH_SD * z)
    return np.maximum(start, np.minimum(land, STONE_LAND))


def _near(value: Array, sd: float, z: Array) -> Array:
    """Scatter a measured length by its instrument, by ratio so that it stays positive."""
    near: Array = value * np.exp(sd / value * z)
    return near

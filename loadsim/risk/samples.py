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
    NECK_SD,
    REACH_SD,
    RUNOUT_SD,
    RUNOUT_SD_ASSUMED,
    STEADINESS,
    WEAR_SD,
)
from loadsim.loads.limits.built_up_edge import builds_up
from loadsim.loads.load_case import LoadCase
from loadsim.loads.nominal import as_drawn, force_model, peak_chip
from loadsim.loads.passes import Contact, thickest_sine
from loadsim.loads.resolved_job import ResolvedJob
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

    FORCE_CONSTANTS = "force constants of the metal"  # sd: of its sources, at the chip of this cut
    RADIAL_FORCE = "radial force"  # sd: of the radial ratio's sources
    EDGE_WEAR = "edge wear"  # force: sd WEAR_SD; land on the tooth: even from 0 to WEAR_LAND
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

    def __new__(cls, driver: str) -> Uncertain:
        """Number the rows as they stand here."""
        member = int.__new__(cls, len(cls.__members__))
        member._value_ = len(cls.__members__)
        member.driver = driver
        return member


#: What is at its worst for moments of a cut, and what differs from cut to cut.
OF_THE_INSTANT = (Uncertain.FEED_STEADINESS, Uncertain.CHIP_PACKING)
OF_THE_CUT = (Uncertain.EDGE_WEAR, Uncertain.FEED_STEADINESS, Uncertain.CHIP_PACKING)


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
    """One sample of all that is not known for sure; rows by `Uncertain`, (16, n)."""

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
    for row in set(OF_THE_INSTANT) & set(rows):
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
    # an edge is no sharper in a short cut
    for row in OF_THE_CUT if cuts > 1 else OF_THE_INSTANT:
        ln_u = np.log(u[row]) / cuts
        u[row] = np.exp(ln_u)
        z[row] = ndtri_exp(ln_u)
    return replace(drawn, u=u, z=z)


def sampled_case(
    job: ResolvedJob, contacts: list[Contact], f_z: float, z: Array, speed: float | None = None
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
    z : ndarray, shape (16, s)
        Standard normal deviates, rows by `Uncertain`. [1]
    speed : float, optional
        Spindle speed; under a certain one an edge builds up, and the force is less sure. [rad/s]

    Returns
    -------
    case : LoadCase
        Every uncertain number has shape (s,).
    """
    cutter = job.cutter
    sine = thickest_sine(contacts)
    base = as_drawn(job, f_z, sine, K_T_BENDING_FE_MEAN)
    sigma_ln = force_spread(job, f_z, sine, speed)
    median, steady = STEADINESS[job.machine.feed]
    shoulder_sd = FILLET_SD_ASSUMED if cutter.neck_fillet is None else FILLET_SD
    head_sd = FILLET_SD if cutter.head_fillet is not None else shoulder_sd
    runout_sd = RUNOUT_SD_ASSUMED if cutter.runout is None else RUNOUT_SD
    # force constants of one's own are taken to hold for the edge as it is
    wear_sd = WEAR_SD if job.written.work.kc11 is None else 0.0
    return base.with_(
        force_factor=base.force_factor
        * np.exp(sigma_ln * z[Uncertain.FORCE_CONSTANTS] + wear_sd * z[Uncertain.EDGE_WEAR]),
        radial_factor=np.exp(job.radial_spread * z[Uncertain.RADIAL_FORCE]),
        f_z=f_z * median * np.exp(steady * z[Uncertain.FEED_STEADINESS]),
        rho=base.rho * np.exp(runout_sd * z[Uncertain.RUNOUT]),
        neck_diameter=_near(base.neck_diameter, NECK_SD, z[Uncertain.NECK_DIAMETER]),
        fillet=base.fillet * np.exp(shoulder_sd * z[Uncertain.NECK_FILLET]),
        head_fillet=base.head_fillet * np.exp(head_sd * z[Uncertain.NECK_FILLET]),
        neck_length=_near(base.neck_length, REACH_SD, z[Uncertain.NECK_LENGTH]),
        head_height=_near(base.head_height, HEIGHT_SD, z[Uncertain.HEAD_HEIGHT]),
        fe_factor=base.fe_factor + K_T_BENDING_FE_SD * z[Uncertain.STRESS_CONCENTRATION],
    )


def force_spread(job: ResolvedJob, f_z: float, sine: float, speed: float | None) -> Array:
    """Standard deviation of ln(force): of its sources, and of an edge that builds up.

    Parameters
    ----------
    job : ResolvedJob
        Its force constants, head, material and lubrication.
    f_z : float
        Feed per tooth. [mm]
    sine : float
        sin(phi) of the thickest chip. [1]
    speed : float or None
        Spindle speed; None: the edge is taken to stay clean. [rad/s]

    Returns
    -------
    sigma_ln : ndarray
        [1]
    """
    sigma_ln = force_model(job, peak_chip(job, f_z, sine)).sigma_ln
    if speed is None or not builds_up(job, speed):
        return sigma_ln
    return np.hypot(sigma_ln, BUILT_UP_EDGE_SD)


def _near(value: Array, sd: float, z: Array) -> Array:
    """Scatter a measured length by its instrument, by ratio so that it stays positive."""
    near: Array = value * np.exp(sd / value * z)
    return near

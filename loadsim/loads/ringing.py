"""How the neck of a job rings: its modes, the table of each piece of a cut, made once, and what
every sample makes of it.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import ENTRY, OWN_FREQUENCY
from loadsim.loads.load_case import LoadCase
from loadsim.loads.passes import Contact
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.skew import RingDraws, most_skew, pushes
from loadsim.loads.turn import NeckLoad, neck_load
from loadsim.mechanics import beam, sections
from loadsim.mechanics.engagement import even_turn
from loadsim.mechanics.force import axial_factor
from loadsim.mechanics.shock import DAMPINGS, Shock, shock
from loadsim.mechanics.stock import Section, Swept

#: Turning positions of a tooth from one to the next. [1]
POSITIONS = 1024

#: Chip at which the shape of a tooth's force over a turn is taken, steps of its exponent and of the
#: radial ratio, how much flatter a worn edge in an odd metal may make it, and steps of a mode's
#: share: cuts and necks nearly alike share one table. [mm] [1]
CHIP = 0.02
STEP = 0.05
FLATTER = 0.25
SHARE_STEP = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Modes:
    """How the neck of a cutter swings, its root held by the spindle's mass."""

    omega: float  #: of the lowest mode [rad/s]
    ratios: tuple[float, ...]  #: of every mode over the lowest [1]
    shares: tuple[float, ...]  #: of every mode in the moment at the shank's shoulder [1]


@functools.lru_cache(maxsize=256)
def _modes(
    lengths: tuple[float, ...], diameters: tuple[float, float], head: tuple[float, float],
    blank: tuple[float, float, float],
) -> Modes:  # fmt: skip
    """Modes of shank, neck, upper and lower half of the head; a shank of no length is left out."""
    round_I = [float(sections.second_moment(d)) for d in diameters]
    round_A = [float(sections.area(d)) for d in diameters]
    first = 0 if lengths[0] > 0 else 1
    E, nu, rho = blank
    omega, shares = beam.moment_modes(
        lengths=lengths[first:],
        second_moments=[*round_I, head[0], head[0]][first:],
        areas=[*round_A, head[1], head[1]][first:],
        E=E,
        nu=nu,
        rho=rho,
        k_collet=math.inf,
        loaded=2 - first,
        at=(1 - first,),
    )
    ratios = omega / omega[0]
    part = shares[0] / shares[0].sum()
    return Modes(omega=float(omega[0]), ratios=tuple(ratios.tolist()), shares=tuple(part.tolist()))


def modes_of(job: ResolvedJob) -> Modes:
    """Tell how the neck of a job's cutter swings.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter, blank and section of the head.

    Returns
    -------
    modes : Modes

    Notes
    -----
    The spindle is heavy against a neck that swings ten thousand times a second, and stands still:
    the shank is held at the collet's face. What that leaves open is drawn.
    """
    c = job.cutter
    shank = c.stickout - c.neck_length - c.head_height
    half = c.head_height / 2
    return _modes(
        (shank if shank > 1e-6 else 0.0, c.neck_length, half, half),
        (c.shank_diameter, c.neck_diameter),
        (job.head_section.second_moment, job.head_section.area),
        (job.blank.E, job.blank.nu, job.blank.density),
    )


@functools.lru_cache(maxsize=512)
def _table(
    section: Section, swept: Swept, teeth: int, law: tuple[float, float, float],
    ratios: tuple[float, ...], shares: tuple[float, ...],
) -> Shock:  # fmt: skip
    exponent, radial, least = law
    positions = even_turn(section, swept, 1, POSITIONS * teeth)
    h = np.maximum(np.sin(positions.phi), least)
    force = (positions.b * positions.sin_kappa**-exponent).sum(axis=1) * h ** (1 - exponent)
    pulse = np.zeros(POSITIONS * teeth, complex)
    pulse[positions.position] = force * (1 + 1j * radial)
    made = shock(pulse, teeth, np.array(ratios), np.array(shares))
    return made.rising(max(1 - exponent - FLATTER, 0.0))


def shock_of(job: ResolvedJob, contact: Contact) -> Shock:
    """Table of what the neck bears over what it would at rest, for one piece of a cut.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter and metal.
    contact : Contact
        The piece.

    Returns
    -------
    shock : Shock
        Made once for every shape of cut and neck.
    """
    modes = modes_of(job)
    h = np.array(max(CHIP, job.h_min))
    exponent = float(job.metal.median.size_effect(h) / job.metal.median.specific(h))
    least = job.h_min / float(h)
    law = (_near(exponent, STEP), _near(float(job.radial.at(h)), STEP), _near(least, STEP))
    return _table(contact.section, contact.swept, job.cutter.teeth, law, *_few(modes))


def _few(modes: Modes) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Modes that bring a share worth telling, in steps; the rest answers as at rest."""
    ratios = np.exp(STEP * np.round(np.log(modes.ratios) / STEP))
    shares = SHARE_STEP * np.round(np.array(modes.shares) / SHARE_STEP)
    told = shares != 0
    rest = 1 - math.fsum(shares[told])
    return (*ratios[told].tolist(), math.inf), (*shares[told].tolist(), rest)


def _near(x: float, step: float) -> float:
    return round(x / step) * step


#: Over- and undershoot of the moment, over its largest at rest; (s,). [1]
Rings: TypeAlias = tuple[Array, Array]


def ringing_of(
    job: ResolvedJob, contacts: list[Contact], f_z: float, speed: float | None, drawn: RingDraws
) -> list[Rings]:
    """Look up how every sample's neck rings in every piece of a cut.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter.
    contacts : list of Contact
        The pieces.
    f_z : float
        Feed per tooth as set: a thicker chip of an unsteady feed rises no faster. [mm]
    speed : float or None
        Spindle speed; None: so slow that nothing rings. [rad/s]
    drawn : RingDraws
        What is not known.

    Returns
    -------
    rings : list of tuple of ndarray
        Over- and undershoot, one pair for each piece.
    """
    pushed = _pushed(job, drawn.push)
    if speed is None:
        return [(pushed, np.zeros_like(pushed)) for _ in contacts]
    rings = []
    for contact in contacts:
        ramps = ramps_of(job, contact, f_z, speed, drawn)
        over, under = shock_of(job, contact).at(*ramps, damping_of(drawn))
        rings.append((over * pushed, under * pushed))
    return rings


def own_frequency(job: ResolvedJob, drawn: RingDraws) -> Array:
    """Lowest frequency at which necks ring.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter.
    drawn : RingDraws
        What is not known.

    Returns
    -------
    frequency : ndarray, shape (s,)
        [Hz]
    """
    rigid = modes_of(job).omega / (2 * math.pi)
    return np.asarray(rigid * _between(OWN_FREQUENCY, drawn.frequency))


def damping_of(drawn: RingDraws) -> Array:
    """Damping ratio of necks, (s,). [1]"""
    return _between((DAMPINGS[0], DAMPINGS[-1]), drawn.damping)


def ramps_of(
    job: ResolvedJob, contact: Contact, f_z: float, speed: float, drawn: RingDraws
) -> tuple[Array, Array]:
    """How long the force of a tooth rises, and how long a leaning edge takes to be in as a whole.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter.
    contact : Contact
        The piece of a cut.
    f_z : float
        Feed per tooth. [mm]
    speed : float
        Spindle speed. [rad/s]
    drawn : RingDraws
        What is not known.

    Returns
    -------
    rise : ndarray, shape (s,)
        In periods of the lowest mode, like the other. [1]
    lean : ndarray, shape (s,)
        [1]
    """
    # for each millimetre that a tooth goes
    periods = own_frequency(job, drawn) / (speed * job.head.radius)
    least, most = ENTRY
    entry = least + (most - least) * drawn.entry
    skewed = np.tan(drawn.skew)
    h = max(f_z * contact.sine, job.h_min)
    return entry * h * periods, contact.height * skewed * periods


def at_the_middle(job: ResolvedJob, skew: float | None) -> RingDraws:
    """All that is not known of the ringing at its middle; skew left out: as the job has it.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter.
    skew : float or None
        Of the edges. [rad]

    Returns
    -------
    draws : RingDraws
        Of one neck.
    """
    middle = np.array([0.5])
    known = job.cutter.edge_skew if skew is None else skew
    lean = most_skew(job.cutter.teeth) * middle if known is None else np.array([known])
    return RingDraws(
        skew=lean, push=pushes(job, lean), entry=middle, frequency=middle, damping=middle
    )


def _pushed(job: ResolvedJob, push: Array) -> Array:
    """Moment at the shoulder with the axial force of leaning edges, over that without."""
    c = job.cutter
    ratio = float(job.radial.at(np.array(max(CHIP, job.h_min))))
    return axial_factor(push, ratio, job.head.radius, c.neck_length, c.neck_diameter)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShockFactors:
    """What ringing adds to a cut, with all that is not known at its middle."""

    moment: float  #: largest moment at the shank's shoulder over that at rest [1]
    amplitude: float  #: fatigue amplitude there over that at rest [1]


def shock_factors(
    job: ResolvedJob, contacts: list[Contact], case: LoadCase, f_z: float, speed: float
) -> ShockFactors:
    """Tell what ringing adds to a cut as it is drawn.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter.
    contacts : list of Contact
        The pieces of the cut.
    case : LoadCase
        The cut as drawn.
    f_z : float
        Feed per tooth as set. [mm]
    speed : float
        Spindle speed. [rad/s]

    Returns
    -------
    factors : ShockFactors
        The worst moment and the worst swing over the pieces, ringing, over those at rest.
    """
    rest = [neck_load(case, c.peak, case.neck_length) for c in contacts]
    rings = ringing_of(job, contacts, f_z, speed, at_the_middle(job, None))
    rung = [load.rung(*ring) for load, ring in zip(rest, rings, strict=True)]

    def worst(loads: list[NeckLoad]) -> tuple[float, float]:
        swing = [np.maximum(x.high, -x.low) * (x.high - x.low) for x in loads]
        return float(max(x.moment.max() for x in loads)), math.sqrt(np.max(swing))

    (moment, amplitude), (largest, swing) = worst(rest), worst(rung)
    return ShockFactors(moment=largest / moment, amplitude=swing / amplitude)


def _between(ends: tuple[float, float], u: Array) -> Array:
    """Even in the logarithm."""
    low, high = ends
    return np.asarray(low * (high / low) ** u)

"""How every sample's neck rings in every piece of a cut."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import ENTRY, OWN_FREQUENCY, SKEW_SD
from loadsim.loads.load_case import LoadCase
from loadsim.loads.passes import Contact
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.shock import modes_of, shock_of
from loadsim.loads.skew import most_skew
from loadsim.loads.turn import NeckLoad, neck_load
from loadsim.mechanics.shock import DAMPINGS
from loadsim.risk.samples import Draws, Uncertain, median_draws

#: Over- and undershoot of the moment, over its largest at rest; (s,). [1]
Rings: TypeAlias = tuple[Array, Array]


def ringing_of(
    job: ResolvedJob, contacts: list[Contact], f_z: float, speed: float | None, drawn: Draws
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
    drawn : Draws
        The sample.

    Returns
    -------
    rings : list of tuple of ndarray
        Over- and undershoot, one pair for each piece.
    """
    if speed is None:
        n = drawn.u.shape[1]
        return [(np.ones(n), np.zeros(n)) for _ in contacts]
    u = drawn.u
    ring = modes_of(job).omega / (2 * math.pi) * _between(OWN_FREQUENCY, u[Uncertain.OWN_FREQUENCY])
    damping = _between((DAMPINGS[0], DAMPINGS[-1]), u[Uncertain.DAMPING])
    least, most = ENTRY
    entry = least + (most - least) * u[Uncertain.TOOTH_ENTRY]
    skewed = np.tan(drawn_skew(job, drawn))
    periods = ring / (speed * job.head.radius)  # for each millimetre that a tooth goes
    rings = []
    for contact in contacts:
        h = max(f_z * contact.sine, job.h_min)
        height = contact.height
        rings.append(
            shock_of(job, contact).at(entry * h * periods, height * skewed * periods, damping)
        )
    return rings


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
    rings = ringing_of(job, contacts, f_z, speed, median_draws())
    rung = [load.rung(*ring) for load, ring in zip(rest, rings, strict=True)]

    def worst(loads: list[NeckLoad]) -> tuple[float, float]:
        swing = [np.maximum(x.high, -x.low) * (x.high - x.low) for x in loads]
        return float(max(x.moment.max() for x in loads)), math.sqrt(np.max(swing))

    (moment, amplitude), (largest, swing) = worst(rest), worst(rung)
    return ShockFactors(moment=largest / moment, amplitude=swing / amplitude)


def drawn_skew(job: ResolvedJob, drawn: Draws) -> Array:
    """Angle between edge and axis of every sample's cutter.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter.
    drawn : Draws
        The sample.

    Returns
    -------
    skew : ndarray, shape (s,)
        As measured, or between straight and what a hand-ground tooth may be off. [rad]
    """
    measured = job.cutter.edge_skew
    if measured is None:
        return np.asarray(most_skew(job.cutter.teeth) * drawn.u[Uncertain.EDGE_SKEW])
    return np.asarray(measured * np.exp(SKEW_SD * drawn.z[Uncertain.EDGE_SKEW]))


def _between(ends: tuple[float, float], u: Array) -> Array:
    """Even in the logarithm."""
    low, high = ends
    return np.asarray(low * (high / low) ** u)

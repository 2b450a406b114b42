"""The load case as drawn: every number at its nominal value, the edge as worn as it usually is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from loadsim.base.numbers import Array, Index
from loadsim.loads.assumptions import (
    EDGE_LIFE,
    EDGE_LIFE_HARD,
    SHARP_LAND,
    STONE_LAND,
    STONED_LAND,
    USUAL_FEED,
)
from loadsim.loads.load_case import LoadCase, as_array
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials import pooling
from loadsim.materials.families import by_family
from loadsim.mechanics import chip
from loadsim.mechanics.wear import LAND_CHIP, land_force, wear_by_speed


def peak_chip(job: ResolvedJob, f_z: float | Array, sine: float) -> Array:
    """Thickest chip of a turn, at which it is told how well the force is known.

    Parameters
    ----------
    job : ResolvedJob
        Its teeth, runout and thinnest chip.
    f_z : float or array
        Feed per tooth. [mm]
    sine : float
        sin(phi) where the thickest chip is cut. [1]

    Returns
    -------
    h : ndarray
        [mm]
    """
    teeth = job.cutter.teeth
    phi = np.full(teeth, math.asin(min(sine, 1.0)))
    h = chip.thickness(phi, np.arange(teeth), f_z, job.runout, teeth).max(axis=0)
    return np.asarray(np.maximum(h, job.h_min))


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownForce:
    """How well the tangential force is known at the chip of a cut."""

    m_c: Array  #: local exponent of its law, ``-d ln k_c / d ln h`` [1]
    sigma_ln: Array  #: standard deviation of the natural logarithm of the force [1]
    notes: tuple[str, ...]  #: where a source is used outside its range


def known_force(job: ResolvedJob, h: Array) -> KnownForce:
    """Tell how well the force of a job is known at the chip of the cut.

    Parameters
    ----------
    job : ResolvedJob
        Its work material and ``[work]`` table.
    h : ndarray
        Chip thickness of the cut. [mm]

    Returns
    -------
    known : KnownForce
        Every number of the shape of h.
    """
    metal = job.metal
    sigma_ln = metal.sigma_ln(h)
    own = job.written.work.kc11 is not None
    curves = job.work.curves
    ranges = () if own else pooling.range_notes(curves, h, job.units, float(np.max(sigma_ln)))
    return KnownForce(
        m_c=metal.median.size_effect(h) / metal.median.specific(h),
        sigma_ln=sigma_ln,
        notes=(*metal.notes, *ranges),
    )


def usual_speed(job: ResolvedJob) -> float:
    """Highest surface speed at which an edge of this blank has its usual life. [mm/s]"""
    return job.work.surface_speed_hi * job.blank.speed_factor


def start_land(job: ResolvedJob) -> float:
    """Land of the edge before the cut: as measured, or the middle of what the stone leaves.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter.

    Returns
    -------
    land : float
        [mm]
    """
    return STONED_LAND / 2 if job.cutter.wear is None else job.cutter.wear


def growth(job: ResolvedJob, travel: float, speed: float | None = None) -> float:
    """How far the land grows along a cut.

    By the way that an edge goes in metal, half of each turn, at a usual feed; over the usual
    surface speed by Taylor's law.

    Parameters
    ----------
    job : ResolvedJob
        Its head, tooth count, metal and blank.
    travel : float
        Of the table, all passes together. [mm]
    speed : float, optional
        Spindle speed; not over the usual one when left out. [rad/s]

    Returns
    -------
    land : float
        [mm]

    Notes
    -----
    Whatever the feed: printed lives of end mills in time go with its power of -0.6 to -1.5, so that
    the land that a slot costs does not change much with it, and more feed never wears less.

    References
    ----------
    KosilovaMeshcheryakov1985 table 39
    """
    way = travel / (USUAL_FEED * job.cutter.teeth) * math.pi * job.head.radius
    v_usual = usual_speed(job)
    life = v_usual * by_family(EDGE_LIFE, job.work.family, EDGE_LIFE_HARD)
    faster = 1.0 if speed is None else wear_by_speed(speed * job.head.radius, v_usual)
    return float((STONE_LAND - STONED_LAND / 2) * way / life * faster)


def land_at_end(job: ResolvedJob, travel: float) -> float:
    """Land of the edge at the end of a cut, by the middle of what is assumed.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter, metal and blank.
    travel : float
        Of the table, all passes together. [mm]

    Returns
    -------
    land : float
        No wider than where it is due for the stone, or than it was before. [mm]
    """
    start = start_land(job)
    return max(start, min(start + growth(job, travel), STONE_LAND))


def edge_force(job: ResolvedJob, land: float | Array) -> tuple[Array, Array]:
    """Force that a land adds on a millimetre of edge, over that of the sharp edges which forces
    were measured with.

    Parameters
    ----------
    job : ResolvedJob
        Its metal.
    land : float or ndarray
        [mm]

    Returns
    -------
    along : ndarray
        [N/mm]
    across : ndarray
        [N/mm]
    """
    if job.written.work.kc11 is not None and job.cutter.wear is None:
        land = 0.0  # constants of the job's own hold for the edge as it is
    worn = np.maximum(np.asarray(land, float) - SHARP_LAND, 0.0)
    return land_force(job.metal.median.specific(LAND_CHIP), worn)


def as_drawn(job: ResolvedJob, f_z: float | Array, travel: float, fe_factor: float) -> LoadCase:
    """Return the cut as drawn and as assumed, for one feed or many.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter, head, edge and work material.
    f_z : float or array
        Feed per tooth. [mm]
    travel : float
        Of the table in the whole cut: the edge is taken as it is at its end. [mm]
    fe_factor : float
        On the bending K_t: 1, or its bound. [1]

    Returns
    -------
    case : LoadCase
    """
    cutter = job.cutter
    edge_t, edge_r = edge_force(job, land_at_end(job, travel))
    return LoadCase(
        teeth=cutter.teeth,
        f_z=as_array(f_z),
        rho=as_array(job.runout),
        h_min=as_array(job.h_min),
        law=job.metal.median,
        force_factor=as_array(job.force_factor),
        radial=job.radial,
        radial_factor=as_array(1.0),
        edge_t=edge_t,
        edge_r=edge_r,
        radius=as_array(job.head.radius),
        head_height=as_array(cutter.head_height),
        head_diameter=as_array(cutter.head_diameter),
        neck_length=as_array(cutter.neck_length),
        neck_diameter=as_array(cutter.neck_diameter),
        fillet=as_array(job.fillet),
        head_fillet=as_array(job.head_fillet),
        shank_diameter=as_array(cutter.shank_diameter),
        fe_factor=as_array(fe_factor),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Necks:
    """Necks of several diameters, each with what goes with it; (n,)."""

    diameter: Array  #: [mm]
    sigma_0: Array  #: characteristic bend strength, half the size credit counted [MPa]
    fillet: Array  #: at the shank's shoulder [mm]
    head_fillet: Array  #: where the neck meets the head [mm]
    force_factor: Array  #: on the force: a fillet may cut into the throat's corner [1]

    def take(self, which: Index) -> Necks:
        """Return the necks wanted."""
        return Necks(**{f.name: getattr(self, f.name)[which] for f in fields(self)})


def necks_of(jobs: Sequence[ResolvedJob]) -> Necks:
    """Take the necks out of jobs that differ in their neck alone.

    Parameters
    ----------
    jobs : sequence of ResolvedJob
        Their neck diameters and fillets, and what those bear.

    Returns
    -------
    necks : Necks
    """
    return Necks(
        diameter=np.array([job.cutter.neck_diameter for job in jobs]),
        sigma_0=np.array([job.strength.sigma_0 for job in jobs]),
        fillet=np.array([job.fillet for job in jobs]),
        head_fillet=np.array([job.head_fillet for job in jobs]),
        force_factor=np.array([job.force_factor for job in jobs]),
    )


def on_necks(job: ResolvedJob, case: LoadCase, necks: Necks) -> tuple[ResolvedJob, LoadCase]:
    """The same cut on other necks: all that goes with a diameter changes together, here and nowhere
    else.

    Parameters
    ----------
    job : ResolvedJob
        Its strength is replaced by that of the necks.
    case : LoadCase
        One cut for each neck.
    necks : Necks
        One for each cut.

    Returns
    -------
    job : ResolvedJob
        With the strength of each neck; its own neck is not read by loads and limits.
    case : LoadCase
        With diameter, fillets and force factor of each neck.
    """
    strengths: Any = necks.sigma_0  # the limits take one number or an array
    stronger = replace(job.strength, sigma_0=strengths)
    return replace(job, strength=stronger), case.with_(
        neck_diameter=necks.diameter,
        fillet=necks.fillet,
        head_fillet=necks.head_fillet,
        force_factor=necks.force_factor,
    )

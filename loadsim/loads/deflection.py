"""The cutter as a stepped beam in its collet: how far its head gives, what runout
that evens out, and how it rings.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.numbers import Array
from loadsim.loads.load_case import LoadCase
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import beam, chip, sections
from loadsim.mechanics.evening import evened_runout, sure_slope


def tilt(job: ResolvedJob, case: LoadCase, level: float | Array) -> Array:
    """Tilt of the head's axis for each newton across, (s,).

    Parameters
    ----------
    job : ResolvedJob
        Its cutter, the modulus of its blank and the section of its head.
    case : LoadCase
        One cut or many.
    level : float or array
        Height of the load above the head's lower face. [mm]

    Returns
    -------
    tilt : ndarray
        In rad for each N.
    """
    cutter = job.cutter
    return beam.tilt_compliance(
        shank_length=np.maximum(cutter.stickout - case.neck_length - case.head_height, 0.0),
        shank_diameter=case.shank_diameter,
        neck_length=case.neck_length,
        neck_diameter=case.neck_diameter,
        head_second_moment=job.head_section.second_moment,
        load_reach=case.neck_length + case.head_height - level,
        E=job.blank.E,
    )


def compliance(
    job: ResolvedJob, case: LoadCase, level: float | Array, k_collet: float | None = None
) -> Array:
    """Deflection of the head for each newton across, (s,).

    Parameters
    ----------
    job : ResolvedJob
        Its cutter, blank, section of the head and stiffness of the spindle.
    case : LoadCase
        One cut or many.
    level : float or array
        Height of the load above the head's lower face. [mm]
    k_collet : float, optional
        Stiffness at the collet in place of the job's own. [N/mm]

    Returns
    -------
    compliance : ndarray
        In mm for each N.
    """
    cutter = job.cutter
    ground = job.head_section
    return beam.compliance(
        shank_length=np.maximum(cutter.stickout - case.neck_length - case.head_height, 0.0),
        shank_diameter=case.shank_diameter,
        neck_length=case.neck_length,
        neck_diameter=case.neck_diameter,
        head_height=case.head_height,
        head_second_moment=ground.second_moment,
        head_area=ground.area,
        load_reach=case.neck_length + case.head_height - level,
        E=job.blank.E,
        nu=job.blank.nu,
        k_collet=job.stiffness if k_collet is None else k_collet,
    )


def natural_frequency(job: ResolvedJob) -> float:
    """Lowest bending frequency of the cutter in its collet.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter, blank, section of the head and stiffness of the spindle.

    Returns
    -------
    frequency : float
        [Hz]
    """
    return float(natural_frequencies(job, np.array([job.cutter.neck_diameter]))[0])


def natural_frequencies(job: ResolvedJob, neck_diameter: Array) -> Array:
    """Lowest bending frequency of the cutter in its collet, for many diameters of its neck.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter, blank, section of the head and stiffness of the spindle.
    neck_diameter : ndarray, shape (n,)
        In place of the job's own. [mm]

    Returns
    -------
    frequency : ndarray, shape (n,)
        [Hz]
    """
    c = job.cutter
    shank = c.stickout - c.neck_length - c.head_height
    pieces = [
        (c.neck_length, *_round(neck_diameter)),
        (
            c.head_height,
            np.asarray(job.head_section.second_moment),
            np.asarray(job.head_section.area),
        ),
    ]
    if shank > 1e-6:
        pieces.insert(0, (shank, *_round(c.shank_diameter)))
    moments, areas = (
        np.stack(np.broadcast_arrays(*(p[i] for p in pieces)), axis=-1) for i in (1, 2)
    )
    return beam.natural_frequencies(
        lengths=[p[0] for p in pieces],
        second_moments=moments,
        areas=areas,
        E=job.blank.E,
        nu=job.blank.nu,
        rho=job.blank.density,
        k_collet=job.stiffness,
        count=1,
    )[..., 0]


def _round(d: ArrayLike) -> tuple[Array, Array]:
    """Second moment and area of a round piece."""
    return sections.second_moment(d), sections.area(d)


#: Teeth that even each other out. [1]
PAIR = 2


def evened(
    job: ResolvedJob, case: LoadCase, share: Array, met: Sequence[tuple[float, float]]
) -> Array:
    """Runout with a share of what the neck's give evens out between two teeth.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter and blank; the collet counts as rigid, as it is not known.
    case : LoadCase
        One cut or many, of two teeth that cut one at a time.
    share : ndarray, shape (s,)
        Of the give that is credited, from 0 to 1. [1]
    met : sequence of (float, float)
        Immersion angle of the thickest chip [rad] and height of the metal there [mm], of each piece
        of the cut; what the least of them evens out counts for all.

    Returns
    -------
    rho : ndarray, shape (s,)
        In the first turns, before the chips are even, the head gives way as well and both teeth cut
        less. [mm]
    """
    slope = np.minimum.reduce([_slope(case, phi, height) for phi, height in met])
    # just under the head's upper face the neck gives least
    give = compliance(job, case, (1 - 1e-6) * case.head_height, math.inf) * slope
    return evened_runout(case.rho, share * give)


def _slope(case: LoadCase, phi: float, height: float) -> Array:
    """Rise of the radial force with the chip that is sure in one piece. [N/mm]"""
    teeth = np.arange(case.teeth)
    h = chip.thickness(np.full(case.teeth, phi), teeth, case.f_z, case.rho, case.teeth)

    def force(x: Array) -> Array:
        met = np.maximum(x, case.h_min)
        F_t = case.force_factor * height * case.law.force(met)
        return np.asarray(F_t * case.radial.at(met) * case.radial_factor)

    mean = case.f_z * math.sin(phi)
    return sure_slope(force, mean, h.max(axis=0), h.min(axis=0), case.teeth)

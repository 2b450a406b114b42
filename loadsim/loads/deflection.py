"""The cutter as a stepped beam in its collet: how far its head gives, and how it rings."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.numbers import Array
from loadsim.loads.load_case import LoadCase
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import beam, sections


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

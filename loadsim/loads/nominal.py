"""loads/nominal"""

from __future__ import annotations

import math

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.load_case import LoadCase, as_array
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials import pooling
from loadsim.mechanics import chip


def peak_chip(job: ResolvedJob, f_z: float | Array, sine: float) -> Array:
    """Thickest chip of a turn, at which the force constants are pooled.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
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


def force_constants(job: ResolvedJob, h: Array) -> tuple[Array, Array, Array, tuple[str, ...]]:
    """Force constants of this job at the chip thickness of the cut.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    h : ndarray
        Chip thickness of the cut. [mm]

    Returns
    -------
    k_c11 : ndarray
        Of the power law that touches the pooled curve at h. [MPa]
    m_c : ndarray
        [1]
    sigma_ln : ndarray
        Standard deviation of the natural logarithm of the force. [1]
    notes : tuple of str
        Where a source is used outside its range.
    """
    work = job.written.work
    if work.kc11 is not None:
        m_c = 0.25 if work.mc is None else work.mc
        spread = 0.2 if work.spread is None else work.spread
        one = np.ones_like(h)
        return one * work.kc11, one * m_c, one * spread, ()
    p = pooling.pooled(job.work.curves, h)
    sigma = p.sigma_ln if work.spread is None else np.full_like(p.sigma_ln, work.spread)
    return (
        p.k_c * h**p.m_c,
        p.m_c,
        sigma,
        (*p.notes, *pooling.range_notes(job.work.curves, h, job.units, float(np.max(sigma)))),
    )


def as_drawn(job: ResolvedJob, f_z: float | Array, sine: float, fe_factor: float) -> LoadCase:
    """Return the cut as drawn and as assumed, for one feed or many.

    Parameters
    ----------
    job : ResolvedJob
        The job, resolved.
    f_z : float or array
        Feed per tooth. [mm]
    sine : float
        sin(phi) where the thickest chip is cut. [1]
    fe_factor : float
        On the published bending K_t, for the finite elements it lies below. [1]

    Returns
    -------
    case : LoadCase
    """
    cutter = job.cutter
    h = peak_chip(job, f_z, sine)
    k_c11, m_c, _, _ = force_constants(job, h)
    return LoadCase(
        teeth=cutter.teeth,
        f_z=as_array(f_z),
        rho=as_array(job.runout),
        h_min=as_array(job.h_min),
        k_c11=k_c11,
        m_c=m_c,
        force_factor=as_array(job.force_factor),
        radial=job.radial,
        radial_factor=as_array(1.0),
        radius=as_array(job.head.radius),
        head_height=as_array(cutter.head_height),
        head_diameter=as_array(cutter.head_diameter),
        neck_length=as_array(cutter.neck_length),
        neck_diameter=as_array(cutter.neck_diameter),
        fillet=as_array(job.fillet),
        shank_diameter=as_array(cutter.shank_diameter),
        fe_factor=as_array(fe_factor),
    )

"""The edge of a tooth under the pressure of its chip: never less loaded by a larger feed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import SHARP_EDGE_RADIUS
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import strength, tooth

#: Chips judged up to the edge radius and beyond, and the thickest over the edge radius. [1]
THIN = 12
THICK = 24
THICKEST = 100.0

#: To which the worst chip is found between those judged. [1]
FOUND = 2e-3

#: Half of the 90 % band of the radial force, in standard deviations. [1]
RADIAL_BAND = 1.645


def worse_edge(
    job: ResolvedJob, peak_chip: Array, force_factor: float | Array
) -> tuple[Array, Array]:
    """Judge the edge as given and a sharp one; the one that is used more counts.

    Parameters
    ----------
    job : ResolvedJob
        Its edge, force law and blank.
    peak_chip : ndarray, shape (s,)
        Thickest chip. [mm]
    force_factor : float or ndarray, shape (s,)
        On the force of the law. [1]

    Returns
    -------
    sigma : ndarray, shape (s,)
        Largest tension behind the edge. [MPa]
    bears : ndarray, shape (s,)
        What the metal there bears. [MPa]

    Notes
    -----
    A dull edge spreads a thin chip over more metal, but nobody can count on a tooth that grew dull:
    it was sharp once, and is after the stone.
    """
    stress = edge_stress(job, peak_chip, force_factor)
    bears = edge_strength(job)
    if job.edge_radius <= SHARP_EDGE_RADIUS:
        return stress, np.full_like(stress, bears)
    ratio = SHARP_EDGE_RADIUS / job.edge_radius
    sharp = replace(job, edge_radius=SHARP_EDGE_RADIUS, h_min=ratio * job.h_min)
    of_sharp = edge_stress(sharp, peak_chip, force_factor)
    sharp_bears = edge_strength(sharp)
    worse = of_sharp / sharp_bears > (1 + FOUND) * stress / bears
    return np.where(worse, of_sharp, stress), np.where(worse, sharp_bears, bears)


def edge_stress(job: ResolvedJob, peak_chip: Array, force_factor: float | Array) -> Array:
    """Largest tension behind the edge over all chips that a tooth passes.

    Parameters
    ----------
    job : ResolvedJob
        Its edge, force law and blank.
    peak_chip : ndarray, shape (s,)
        Thickest chip. [mm]
    force_factor : float or ndarray, shape (s,)
        On the force of the law. [1]

    Returns
    -------
    sigma : ndarray, shape (s,)
        As on the volume of `edge_strength`. [MPa]

    Notes
    -----
    A tooth passes every thinner chip on its way to the thickest, so the worst of them counts. With
    a force ``h^(1 - m)`` over a contact ``max(h, edge radius)`` the stress rises up to the edge
    radius and falls beyond: the worst chip is ``min(h, edge radius)``. A radial share that falls
    with h can move it. A large radial force presses on a steep tooth and spares it: that is not
    counted on, the worse end of its 90 % band holds.
    """
    h = np.concatenate(
        [
            np.geomspace(job.h_min, job.edge_radius, THIN),
            np.geomspace(job.edge_radius, THICKEST * job.edge_radius, THICK)[1:],
        ]
    )
    F_t = job.metal.median.force(h)  # of a millimetre of edge
    ends = np.exp(RADIAL_BAND * job.radial_spread * np.array([[-1.0], [1.0]]))
    F_r = F_t * job.radial.at(h) * ends
    across, along, wedge = tooth.wedge_tip_force(F_t, F_r, job.rake, job.relief)
    contact = tooth.contact_length(h, job.edge_radius)
    stress = tooth.wedge_contact_stress(across, along, wedge, contact, 1.0).max(axis=0)
    # a longer contact strains more metal, which bears less: told as stress on the smallest
    as_smallest = stress * (contact / contact[0]) ** (2 / job.blank.weibull_m)
    worst = np.maximum.accumulate(as_smallest)
    return np.asarray(force_factor * np.interp(np.log(peak_chip), np.log(h), worst))


def edge_strength(job: ResolvedJob) -> float:
    """Stress that the metal behind the edge bears at the asked snap probability.

    Parameters
    ----------
    job : ResolvedJob
        Its edge, head and blank.

    Returns
    -------
    sigma : float
        Of a volume as long and as thick as the shortest contact, over the head's height. [MPa]
    """
    blank = job.blank
    m = blank.weibull_m
    contact = tooth.contact_length(job.edge_radius, job.edge_radius)
    tested = blank.bar_volume * strength.effective_volume_factor_three_point(m)
    sigma_0 = strength.weibull_scale(blank.bend_strength, m, tested, contact**2 * job.head.height)
    return float(strength.weibull_strength(job.target.snap_probability, sigma_0, m))

"""The cutter as a stepped beam in its collet: how far its head gives, and how it rings."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numpy.typing import ArrayLike

from loadsim import neck
from loadsim.case import Case, Setup

Array = npt.NDArray[np.float64]


def compliance(setup: Setup, case: Case, level: float | Array) -> Array:
    """Deflection of the head for each newton across, (s,).

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    case : Case
        One cut or many.
    level : float or array
        Height of the load above the head's lower face. [mm]

    Returns
    -------
    compliance : ndarray
        In mm for each N.
    """
    cutter, ground = setup.job.cutter, setup.ground
    return neck.compliance(
        shank_length=np.maximum(cutter.stickout - case.neck_length - case.head_height, 0.0),
        shank_diameter=case.shank_diameter, neck_length=case.neck_length, neck_diameter=case.neck_diameter,
        head_height=case.head_height, head_second_moment=ground.second_moment,
        head_area=ground.area, load_reach=case.neck_length + case.head_height - level,
        E=setup.blank.E, nu=setup.blank.nu, k_collet=setup.stiffness,
    )  # fmt: skip


def natural_frequency(setup: Setup) -> float:
    """Lowest bending frequency of the cutter in its collet.

    Parameters
    ----------
    setup : Setup
        The job, resolved.

    Returns
    -------
    frequency : float
        [Hz]
    """
    return float(natural_frequencies(setup, np.array([setup.job.cutter.neck_diameter]))[0])


def natural_frequencies(setup: Setup, neck_diameter: Array) -> Array:
    """Lowest bending frequency of the cutter in its collet, for many diameters of its neck.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    neck_diameter : ndarray, shape (n,)
        In place of the job's own. [mm]

    Returns
    -------
    frequency : ndarray, shape (n,)
        [Hz]
    """
    c = setup.job.cutter
    shank = c.stickout - c.neck_length - c.head_height
    pieces = [(c.neck_length, *_round(neck_diameter)), (c.head_height, np.asarray(setup.ground.second_moment), np.asarray(setup.ground.area))]
    if shank > 1e-6:
        pieces.insert(0, (shank, *_round(c.shank_diameter)))
    moments, areas = (np.stack(np.broadcast_arrays(*(p[i] for p in pieces)), axis=-1) for i in (1, 2))
    return neck.natural_frequencies(
        lengths=[p[0] for p in pieces], second_moments=moments, areas=areas,
        E=setup.blank.E, nu=setup.blank.nu, rho=setup.blank.density, k_collet=setup.stiffness, count=1,
    )[..., 0]  # fmt: skip


def _round(d: ArrayLike) -> tuple[Array, Array]:
    """Second moment and area of a round piece."""
    return neck.second_moment(d), neck.area(d)

"""The cutter as a stepped beam in its collet: how far its head gives, and how it rings."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numpy.typing import ArrayLike

from loadsim import neck
from loadsim.case import HEAD_AREA_SHARE, HEAD_MOMENT_SHARE, Case, Setup

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
    D, cutter = case.head_diameter, setup.job.cutter
    return neck.compliance(
        shank_length=np.maximum(cutter.stickout - case.neck_length - case.head_height, 0.0),
        shank_diameter=case.shank_diameter, neck_length=case.neck_length, neck_diameter=case.neck_diameter,
        head_height=case.head_height, head_second_moment=HEAD_MOMENT_SHARE * neck.second_moment(D),
        head_area=HEAD_AREA_SHARE * neck.area(D), load_reach=case.neck_length + case.head_height - level,
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
    pieces: list[tuple[float, ArrayLike, float, float]] = [
        (c.neck_length, neck_diameter, 1.0, 1.0), (c.head_height, c.head_diameter, HEAD_MOMENT_SHARE, HEAD_AREA_SHARE)]  # fmt: skip
    if shank > 1e-6:
        pieces.insert(0, (shank, c.shank_diameter, 1.0, 1.0))
    D = np.stack(np.broadcast_arrays(*(p[1] for p in pieces)), axis=-1)
    moment_share, area_share = np.array([p[2:] for p in pieces]).T
    return neck.natural_frequencies(
        lengths=[p[0] for p in pieces], second_moments=neck.second_moment(D) * moment_share, areas=neck.area(D) * area_share,
        E=setup.blank.E, nu=setup.blank.nu, rho=setup.blank.density, k_collet=setup.stiffness, count=1,
    )[..., 0]  # fmt: skip

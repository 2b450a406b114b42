"""The neck's fillets: what is assumed of them, and what one does that meets the throat's corner."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.numbers import Array
from loadsim.job.tables import Cutter, Job, Slot
from loadsim.job.tolerances import width_tolerance
from loadsim.loads.assumptions import BURNISHED, DEFAULT_FILLET, LEAST_FILLET


def gap_beside_neck(job: Job, walls: tuple[float, float]) -> float:
    """Gap between the neck and the throat's wall that it comes nearest to.

    Parameters
    ----------
    job : Job
        Its slot and cutter.
    walls : tuple of float
        Undercut's low and high wall, from the throat's centre line. [mm]

    Returns
    -------
    gap : float
        Negative where the neck does not pass. [mm]
    """
    radius = job.cutter.head_diameter / 2
    across = (job.slot.throat_width - job.cutter.neck_diameter) / 2
    return across - _farthest(job.slot, walls, radius)


def _farthest(slot: Slot, walls: tuple[float, float], radius: float) -> float:
    """How far the cutter's axis runs off the throat's centre line. [mm]"""
    low, high = walls
    if slot.sides == 2 and slot.undercut_width - 2 * radius <= width_tolerance(slot):
        return 0.0
    # a head over a one-sided width, inside its tolerance, stands against the plain wall
    other = -(low + radius) if slot.sides == 2 else low + radius
    return max(high - radius, other, 0.0)


def fillets(cutter: Cutter, gap: float) -> tuple[float, float]:
    """Fillet at the shank's shoulder and at the head: as given, else the usual one where it fits.

    One that is assumed never fills its step, and at the head never meets the throat's corner.

    Parameters
    ----------
    cutter : Cutter
        What it gives.
    gap : float
        Between neck and throat. [mm]

    Returns
    -------
    shoulder : float
        [mm]
    head : float
        [mm]
    """
    given = cutter.neck_fillet
    shoulder = given
    if shoulder is None:
        step = (cutter.shank_diameter - cutter.neck_diameter) / 2
        shoulder = min(DEFAULT_FILLET, step) if step > 0 else DEFAULT_FILLET
    head = given if cutter.head_fillet is None else cutter.head_fillet
    if head is None:
        head = min(DEFAULT_FILLET, max(gap, LEAST_FILLET))
    return shoulder, head


def rubbing(cutter: Cutter, gap: float, fillet: float) -> float:
    """What a fillet adds to the force where it cuts into the throat's corner, over the force of the
    head: as if its overlap were so much more edge.

    Parameters
    ----------
    cutter : Cutter
        Its head and neck.
    gap : float
        Between neck and throat. [mm]
    fillet : float
        At the head. [mm]

    Returns
    -------
    share : float
        0 where the head clears the throat's wall, or the fillet only burnishes its corner. [1]
    """
    _, high = fillet_overlap(fillet, gap)
    clears = (cutter.head_diameter - cutter.neck_diameter) / 2 <= gap
    return 0.0 if clears or high <= BURNISHED else float(high) / cutter.head_height


def fillet_overlap(fillet: ArrayLike, gap: ArrayLike) -> tuple[Array, Array]:
    """Overlap of a fillet with the sharp lower corner of the throat wall beside the neck.

    ``wide = r - c`` and ``high = r - sqrt(2 r c - c^2)`` where the fillet r is larger than the gap
    c: the corner stands c off the neck, where the quarter circle is that high above the head.

    Parameters
    ----------
    fillet : array_like
        Radius of the quarter circle between neck and head. [mm]
    gap : array_like
        Between neck and wall; a neck that touches has its whole fillet in the wall. [mm]

    Returns
    -------
    wide : ndarray
        Across the throat, 0 where the fillet clears the wall. [mm]
    high : ndarray
        Along the neck. [mm]

    Examples
    --------
    >>> wide, high = fillet_overlap(0.1, 0.02)
    >>> round(float(wide), 9), round(float(high), 9)
    (0.08, 0.04)
    """
    r = np.asarray(fillet, float)
    c = np.clip(np.asarray(gap, float), 0.0, r)
    return r - c, r - np.sqrt(c * (2 * r - c))

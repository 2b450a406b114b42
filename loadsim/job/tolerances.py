"""What the print allows: general tolerances, and how far a wall may be off."""

from __future__ import annotations

from enum import Enum, auto
from typing import NamedTuple

from loadsim.job.tables import Job, Slot


class WallOrigin(Enum):
    """Where the accepted error of a wall comes from."""

    TARGET = auto()
    WIDTH_TOLERANCE = auto()
    GENERAL_TOLERANCE = auto()


def wall_allowance(job: Job) -> tuple[float, WallOrigin]:
    """Accepted error of a wall's position, and where it comes from.

    Parameters
    ----------
    job : Job
        Its [target] and [slot].

    Returns
    -------
    error : float
        [mm]
    origin : WallOrigin

    References
    ----------
    ISO2768-1 table 1, medium
    """
    target = job.target
    slot = job.slot
    if target.wall_error is not None:
        return target.wall_error, WallOrigin.TARGET
    if slot.width_tolerance is not None:
        return slot.width_tolerance / 2, WallOrigin.WIDTH_TOLERANCE
    return width_tolerance(slot) / 2, WallOrigin.GENERAL_TOLERANCE


#: General tolerance, medium class, by nominal size up to [mm] (ISO2768-1, table 1): plus and minus
#: [mm]
GENERAL_TOLERANCE = ((3.0, 0.1), (6.0, 0.1), (30.0, 0.2), (120.0, 0.3), (400.0, 0.5), (1000.0, 0.8))


def width_tolerance(slot: Slot) -> float:
    """Plus and minus on the undercut's width: that of the print, or the general tolerance. [mm]

    References
    ----------
    ISO2768-1 table 1, medium
    """
    if slot.width_tolerance is not None:
        return slot.width_tolerance
    return general_tolerance(slot.undercut_width)


class Oversize(NamedTuple):
    """How far a head may be over the undercut and still be no misfit: it cuts a slot that the print
    lets pass.
    """

    width: float  #: of its diameter over the undercut's width [mm]
    height: float  #: of its height over the undercut's height [mm]


#: Least size that has a general tolerance (ISO2768-1, table 1): below it the print must give one.
#: [mm]
LEAST_TOLERANCED = 0.5


def oversize(slot: Slot) -> Oversize:
    """How far a head may be over the undercut's sizes as drawn.

    Parameters
    ----------
    slot : Slot
        Its undercut, and the width's tolerance where the print gives one.

    Returns
    -------
    oversize : Oversize
        Nothing for a size that neither the print nor the standard tolerances.

    References
    ----------
    ISO2768-1 table 1, medium
    """
    height = slot.undercut_height
    of_print = slot.width_tolerance is not None
    return Oversize(
        width=width_tolerance(slot) if of_print or slot.undercut_width >= LEAST_TOLERANCED else 0.0,
        height=general_tolerance(height) if height >= LEAST_TOLERANCED else 0.0,
    )


def general_tolerance(size: float) -> float:
    """Plus and minus on a size that the print does not tolerance. [mm]

    References
    ----------
    ISO2768-1 table 1, medium
    """
    return next((t for most, t in GENERAL_TOLERANCE if size <= most), 1.2)

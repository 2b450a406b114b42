"""What is not known of how a neck rings: above all how far the edges lean against the axis."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loadsim.base.numbers import Array
from loadsim.loads.assumptions import MADE_TEETH, SKEW_MOST, SKEW_MOST_MADE
from loadsim.loads.resolved_job import ResolvedJob


def most_skew(teeth: int) -> float:
    """Largest lean that is drawn, from straight on.

    Parameters
    ----------
    teeth : int
        Number of teeth. [1]

    Returns
    -------
    skew : float
        A few teeth are ground by hand, straight; many are made by machine, and lean. [rad]
    """
    return SKEW_MOST if teeth < MADE_TEETH else SKEW_MOST_MADE


def pushes(job: ResolvedJob, skew: Array) -> Array:
    """Part of the cutting force that leaning edges turn along the axis, ``tan(psi)``.

    Parameters
    ----------
    job : ResolvedJob
        Its teeth, and whether their lean was measured.
    skew : ndarray, shape (s,)
        psi. [rad]

    Returns
    -------
    push : ndarray, shape (s,)
        None of teeth that are taken to lean by turns to one side and the other. [1]
    """
    if job.cutter.edge_skew is None and job.cutter.teeth >= MADE_TEETH:
        return np.zeros_like(skew)
    return np.asarray(np.tan(skew))


@dataclass(frozen=True, slots=True, kw_only=True)
class RingDraws:
    """What is not known of the ringing of some necks; (s,)."""

    skew: Array  #: angle between edge and axis [rad]
    push: Array  #: part of the cutting force that a leaning edge turns along the axis [1]
    entry: Array  #: how suddenly a tooth bites, 0 to 1: within `ENTRY` [1]
    frequency: Array  #: likewise, within `OWN_FREQUENCY` [1]
    damping: Array  #: likewise, within `DAMPINGS` [1]

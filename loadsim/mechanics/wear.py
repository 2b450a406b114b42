"""What a worn land on the flank adds to the force, and how fast a land grows."""

from __future__ import annotations

import numpy as np

from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import above_zero, from_zero, takes

#: Force of a millimetre of edge for each millimetre of land, over the specific cutting force at a
#: chip of 0.1 mm, along the cut and across the edge. Between hard H13, 0.16 and 0.50 (387 to 641
#: and about three times that over 2780 N/mm^2 at a land of 0.3 mm, OpenDataH13), and turned steel,
#: 0.22 and 0.29 (cutting, feed and passive force 10, 25 and 30 % more for each 0.1 mm of land at a
#: chip of 0.28 mm, KlockeKoenig2008). [1]
LAND_ALONG = 0.19
LAND_ACROSS = 0.38

#: Chip at which that specific force is taken. [mm]
LAND_CHIP = 0.1

#: Taylor's exponent of high-speed steel (Groover2012; others print 0.08 to 0.20). [1]
TAYLOR_N = 0.125


@takes(k_c=above_zero("MPa"), land=from_zero("mm"))
def land_force(k_c: Reals, land: Reals) -> tuple[Array, Array]:
    """Force that a worn land adds on a millimetre of edge, whatever the chip.

    Parameters
    ----------
    k_c : array_like
        Specific cutting force of the metal at a chip of 0.1 mm. [MPa]
    land : array_like
        Height of the worn land. [mm]

    Returns
    -------
    along : ndarray
        Against the cut. [N/mm]
    across : ndarray
        Across the edge, away from the metal. [N/mm]

    Raises
    ------
    ModelError
        If k_c is not above 0 or the land is negative.

    Notes
    -----
    Where the chip is thinner than the edge is round, force was seen to fall at first as the land
    grows, the blunt edge being ground away; that is not counted on.

    References
    ----------
    OpenDataH13
    KlockeKoenig2008
    """
    force = k_c * land
    return LAND_ALONG * force, LAND_ACROSS * force


@takes(v=above_zero("mm/s"), v_usual=above_zero("mm/s"))
def wear_by_speed(v: Reals, v_usual: Reals) -> Array:
    """How many times faster, by the way it goes, an edge wears than at the usual speed.

    ``T v^(1/n) = const``; a life T at v is a way of v T, so wear on each metre goes with
    ``v^(1/n - 1)``. Slower cuts are credited nothing: a rubbing edge wears by the way it goes.

    Parameters
    ----------
    v : array_like
        Surface speed. [mm/s]
    v_usual : array_like
        The highest at which the usual life is reached. [mm/s]

    Returns
    -------
    factor : ndarray
        At least 1. [1]

    Raises
    ------
    ModelError
        If a speed is not finite and above 0.

    References
    ----------
    Groover2012 Taylor's tool life equation
    """
    return np.asarray(np.maximum(v / v_usual, 1.0) ** (1.0 / TAYLOR_N - 1.0))

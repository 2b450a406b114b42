"""Give of the head evens out runout: the tooth with the thicker chip is pushed away farther.

The head is a point on springs, pushed by the one tooth in the cut. A force along the surface moves
the edge along what was cut and leaves the chip alone, so at every angle the way into the metal is a
problem of its own in one direction, from pass to pass, whatever stands at other angles:

``x_n = n f_z sin(phi) + r_n - c F_r(h_n)``, ``h_n = max(0, x_n - P)``, P the farthest of all x
before.

With a force that rises by dF_r/dh it hangs on ``G = c dF_r/dh`` and on throws over feed alone. Two
teeth: ``h_1 - h_2 = 2 (r_1 - r_2)/(1 + 2 G)``.

Left out: the tooth's true path (circle and straight feed together) and how far the cutting force
pushes it along the surface, under 0.5 % of the thickest chip up to G = 0.5 and 1 % at 1; tilt of
the head, its mass and what it rings with; and teeth that cut together: there the cutting force on
one pushes the other into the metal or out of it, and give can thicken the thickest chip by a fifth
and raise the largest force on the head by 3 to 8 %.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array

ArrayLike = npt.ArrayLike

#: Largest give that is credited; more counts as this. Past it a cutter sings, and a head that moves
#: by the speed of the teeth has no balance of forces to go by. [1]
MOST_GIVE = 1.0

#: Most teeth that are credited: with more, more runout can thin the thickest chip. [1]
MOST_TEETH = 4

#: Turns after which credit begins. [1]
FEW_TURNS = 3.0

#: Turns followed until the chips repeat; what is left of the start is G/(1 + G) a turn or less. [1]
FOLLOWED_TURNS = 20

#: Half the step of the chip, over it, by which the slope of a force is found. [1]
STEP = 1e-3


def sure_slope(
    force: Callable[[Array], Array], mean: Array, thick: Array, thin: Array, teeth: int
) -> Array:
    """Slope of the radial force that evens out no more than the force itself, which is no line.

    Force against chip rises slower the thicker the chip, and not at all where the edge rubs. For
    two teeth, ``h_1 + h_2 = 2 mean``, the push that tells them apart is ``F(mean + d) - F(mean -
    d)``; over ``2 d`` it is least at one end: at d = 0 (the tangent) or without give (the chord).
    For more teeth it is the tangent at the thickest chip, and none where one rubs. A force that
    falls as the chip grows evens out nothing: no slope. What a worn land presses, whatever the
    chip, is the same for all teeth and makes no difference between them.

    Parameters
    ----------
    force : callable
        Radial force on the tooth against chip thickness, a rubbing edge included. [N]
    mean : ndarray
        ``f_z sin(phi)`` at the angle of the thickest chip. [mm]
    thick : ndarray, broadcastable to mean
        Thickest chip there without give, over the teeth. [mm]
    thin : ndarray, broadcastable to mean
        Thinnest there without give, 0 where a tooth is lifted clear. [mm]
    teeth : int
        Number of teeth N. [1]

    Returns
    -------
    slope : ndarray
        [N/mm]
    """

    def tangent(h: Array) -> Array:
        rise = force(h * (1 + STEP)) - force(h * (1 - STEP))
        return np.asarray(rise / (2 * STEP * h))

    if teeth > 2:
        low = np.asarray(thin * (1 + STEP))
        rubs = force(low) <= force(np.asarray(thin * (1 - STEP)))
        return np.where(rubs, 0.0, np.maximum(tangent(thick), 0.0))
    apart = thick > thin
    chord = (force(thick) - force(thin)) / np.where(apart, thick - thin, 1.0)
    at_mean = tangent(mean)
    return np.maximum(np.where(apart, np.minimum(chord, at_mean), at_mean), 0.0)


def _from_zero(name: str, value: ArrayLike) -> Array:
    """Return numbers as floats, every one finite and not negative."""
    x = np.asarray(value, float)
    if not (np.isfinite(x) & (x >= 0)).all():
        raise ValueError(f"{name} must be finite and >= 0")
    return x


def evened_chips(give: ArrayLike, throws: ArrayLike, turns: int = FOLLOWED_TURNS) -> Array:
    """Chips of one turn after some turns at one angle, over the feed: one tooth cuts at a time.

    Parameters
    ----------
    give : array_like, shape () or (s,)
        G: compliance of the head times the slope of the radial force, not negative. [1]
    throws : array_like, shape (N,) or (N, s)
        Radius of each tooth less their mean, over the feed per tooth along the radius,
        ``r_j/(f_z sin(phi))``; teeth cut in this order. [1]
    turns : int
        Turns since the head stood free before a plain face, which lay at the mean radius. [1]

    Returns
    -------
    chips : ndarray, shape (N, s)
        Chip thickness over ``f_z sin(phi)``, tooth by tooth. [1]

    Raises
    ------
    ValueError
        If a give is negative or not finite.

    Examples
    --------
    >>> evened_chips(0.5, [0.2, -0.2]).round(6).tolist()
    [[1.2], [0.8]]
    """
    G = np.atleast_1d(_from_zero("give", give))
    r = np.asarray(throws, float)
    r = r[:, None] if r.ndim == 1 else r
    teeth = len(r)
    share = 1 / (1 + G)
    front = np.zeros(np.broadcast_shapes(G.shape, r.shape[1:]))
    h = np.empty((teeth, *front.shape))
    for n in range(1, turns * teeth + 1):
        tooth = n % teeth
        np.subtract(r[tooth] + n, front, out=h[tooth])
        h[tooth] *= share
        np.maximum(h[tooth], 0.0, out=h[tooth])
        front += h[tooth]
    return h


def _thickest(G: ArrayLike, q: Array, teeth: int) -> Array:
    """Thickest chip over the feed along the radius, once the chips repeat."""
    if teeth == 2:  # its closed form: the other tooth gives up as much, down to nothing
        return np.asarray(np.minimum(1 + 2 * q / (1 + 2 * np.asarray(G)), 2.0))
    throws = np.cos(2 * math.pi * np.arange(teeth) / teeth)[:, None] * q
    return np.asarray(evened_chips(G, throws).max(axis=0))


def evened_runout(rho: ArrayLike, give: ArrayLike) -> Array:
    """Runout of a rigid head with two teeth that cuts the same chips as one that gives.

    ``rho/(1 + 2 G)``: at every angle ``h_1 - h_2 = 2 (r_1 - r_2)/(1 + 2 G)``, down to a tooth that
    is lifted clear.

    Parameters
    ----------
    rho : array_like, shape () or (s,)
        Offset of the axis. [mm]
    give : array_like, shape () or (s,)
        G, with one tooth in the cut at a time; not negative, over `MOST_GIVE` it counts as that.
        [1]

    Returns
    -------
    rho : ndarray, shape (s,)
        [mm]

    Raises
    ------
    ValueError
        If a give or a runout is negative or not finite.

    Examples
    --------
    >>> float(evened_runout(0.010, 0.5))
    0.005
    """
    G = np.minimum(_from_zero("give", give), MOST_GIVE)
    return np.asarray(_from_zero("runout", rho) / (1 + 2 * G))


def evening_factor(
    give: ArrayLike,
    runout_over_feed: ArrayLike,
    teeth: int,
    at_once: int = 1,
    turns: ArrayLike = math.inf,
) -> Array:
    """Thickest chip of a head that gives over that of a rigid one; 1 where that is not sure.

    No credit for one tooth, for more than `MOST_TEETH`, for teeth that cut together, and in the
    first `FEW_TURNS`. Then what is still to come is counted as left out: ``(G/(1 + G))^turns`` of
    the credit, with the largest G, so that more give never earns less.

    It is a factor on the thickest chip only; force falls by less. The thinner chips grow: of two
    teeth the sum stays, ``2 f_z sin(phi)``. As force rises slower the thicker the chip, the swing
    of the moment from tooth to tooth grows, up to that of even chips.

    Parameters
    ----------
    give : array_like, shape () or (s,)
        G: compliance of the head times the slope of the radial force, not negative; over
        `MOST_GIVE` it counts as that. [1]
    runout_over_feed : array_like, shape () or (s,)
        ``rho/(f_z sin(phi))``, the offset of the axis, which points at a tooth, over the feed along
        the radius where the chip is thickest; not negative. [1]
    teeth : int
        Number of teeth N. [1]
    at_once : int
        Most teeth in the cut together. [1]
    turns : array_like, shape () or (s,)
        Turns that the cut has gone on with this contact. [1]

    Returns
    -------
    factor : ndarray, shape (s,)
        In (0, 1]. [1]

    Raises
    ------
    ValueError
        If a give or a runout is negative or not finite.

    Examples
    --------
    >>> evening_factor(0.5, 0.25, 2).round(6).tolist()
    [0.833333]
    """
    q = np.atleast_1d(_from_zero("runout over feed", runout_over_feed))
    G = np.minimum(_from_zero("give", give), MOST_GIVE)
    shape = np.broadcast_shapes(G.shape, q.shape, np.shape(turns))
    if not 2 <= teeth <= MOST_TEETH or at_once > 1:
        return np.ones(shape)
    rigid = _thickest(0.0, q, teeth)
    # what is left of the start, and rounding, are no reason to count more than the rigid chip
    credit = 1 - np.minimum(_thickest(G, q, teeth), rigid) / rigid
    still = (MOST_GIVE / (1 + MOST_GIVE)) ** np.asarray(turns, float)
    known = np.where(np.asarray(turns) >= FEW_TURNS, 1 - still, 0.0)
    return np.broadcast_to(1 - credit * known, shape)

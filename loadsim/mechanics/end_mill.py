"""Forces of a helical end mill by axial slices.

The edge of a tooth trails up the mill: at height z above the tip it lags the tip by ``psi = 2 z
tan(beta)/D``. Each
stretch of edge that is in the cut is cut into slices of equal height, the ends of the stretch being
exact, so that the
sum closes with the square of the slice. A straight tooth is the case beta = 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array
from loadsim.base.ranges import not_negative, positive, real
from loadsim.mechanics.force_law import ForceLaw, RadialRatio

ArrayLike = npt.ArrayLike

#: Lag for each mm of height that stands for a straight tooth: too small to matter, large enough to
#: divide by.
_STRAIGHT = 1e-12


def lag(z: ArrayLike, helix: ArrayLike, D: ArrayLike) -> Array:
    """Angle by which the edge at a height trails the tip.

    ``psi = 2 z tan(beta)/D``.

    Parameters
    ----------
    z : array_like
        Height above the tip. [mm]
    helix : array_like
        beta, from 0 to under 90 degrees. [rad]
    D : array_like
        Diameter. [mm]

    Returns
    -------
    psi : ndarray
        [rad]

    Raises
    ------
    ModelError
        If a number is out of range (a ValueError).

    References
    ----------
    Altintas2012 ch. 2, helical end mills

    Examples
    --------
    >>> round(lag(5.0, math.pi / 4, 10.0).item(), 12)
    1.0
    """
    beta = real("helix", helix, "rad", least=0.0, below=math.pi / 2)
    psi: Array = np.asarray(2 * not_negative("z", z) * np.tan(beta) / positive("D", D))
    return psi


@dataclass(frozen=True, slots=True, kw_only=True)
class Slices:
    """Edge in the cut, sliced; axes: a turning positions, e edge stretches, n slices, s cases."""

    phi: Array  #: immersion angle of a slice's middle, (a, e, n, s) [rad]
    z: Array  #: its height above the tip, (a, e, n, s) [mm]
    dz: Array  #: its height, zero outside the cut, (a, e, 1, s) [mm]
    lag: Array  #: how far it trails the tip, (a, e, n, s) [rad]
    tooth: npt.NDArray[np.intp]  #: tooth of each stretch, (e,)
    teeth: int
    radius: Array  #: (s,) [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class EndMillLoads:
    """What the cut does to the mill in each turning position, (a, s)."""

    F_x: Array  #: along the feed; negative resists it [N]
    F_y: Array  #: across the feed [N]
    F_z: Array  #: along the axis; positive pulls a right-hand mill out of its collet [N]
    torque: Array  #: [N*mm]
    S_x: Array  #: sum of F_x times its height above the tip [N*mm]
    S_y: Array  #: sum of F_y times its height above the tip [N*mm]


def slices(
    turn: ArrayLike,
    teeth: int,
    depth: ArrayLike,
    helix: ArrayLike,
    D: ArrayLike,
    start: float,
    leave: float,
    n: int = 16,
) -> Slices:
    """Slice the edge that is in the cut.

    Parameters
    ----------
    turn : array_like, shape (a,) or (a, s)
        Immersion angle of tooth 0 at the tip. [rad]
    teeth : int
        Number of teeth N, evenly spaced. [1]
    depth : array_like, shape () or (s,)
        Axial depth of cut. [mm]
    helix : array_like, shape () or (s,)
        beta. [rad]
    D : array_like, shape () or (s,)
        Diameter. [mm]
    start : float
        Immersion angle at which a tooth enters the metal, from 0. [rad]
    leave : float
        Immersion angle at which it leaves, to pi. [rad]
    n : int
        Slices in each stretch. [1]

    Returns
    -------
    slices : Slices

    Raises
    ------
    ModelError
        If a number is out of range (a ValueError).

    References
    ----------
    Altintas2012 ch. 2, helical end mills
    """
    start, leave = (
        float(real("start", start, "rad", least=0.0)),
        float(real("leave", leave, "rad", over=start, most=math.pi)),
    )
    depth = np.atleast_1d(positive("depth", depth))
    D = np.atleast_1d(positive("D", D))
    k = np.maximum(np.atleast_1d(lag(1.0, helix, D)), _STRAIGHT)
    depth, D, k = np.broadcast_arrays(depth, D, k)
    # a tall mill winds round more than once
    rounds = 1 + math.ceil(float((k * depth).max()) / (2 * math.pi))
    at = np.atleast_1d(real("turn", turn, "rad"))
    at = at[:, None, None] if at.ndim == 1 else at[:, None, :]
    tip = (at - 2 * math.pi / teeth * np.arange(teeth)[:, None]) % (2 * math.pi)
    tip = tip[:, :, None, :] + 2 * math.pi * np.arange(rounds)[:, None]
    tip = tip.reshape(tip.shape[0], teeth * rounds, 1, tip.shape[3])
    low = np.clip((tip - leave) / k, 0.0, depth)
    high = np.clip((tip - start) / k, 0.0, depth)
    z = low + (high - low) * ((np.arange(n) + 0.5) / n)[:, None]
    return Slices(
        phi=tip - k * z,
        z=z,
        dz=(high - low) / n,
        lag=k * z,
        tooth=np.repeat(np.arange(teeth), rounds),
        teeth=teeth,
        radius=D / 2,
    )


def chip_thickness(s: Slices, f_z: ArrayLike, rho: ArrayLike = 0.0) -> Array:
    """Uncut chip thickness of every slice, the tooth path taken as a circle.

    ``h = max(0, min over k = 1..N of [k f_z sin(phi) + r_j - r_(j-k)])``. The offset of the axis
    points at tooth 0 at the tip; up the helix the teeth turn away from it.

    Parameters
    ----------
    s : Slices
        From `slices`.
    f_z : array_like, shape () or (s,)
        Feed per tooth, not negative. [mm]
    rho : array_like, shape () or (s,)
        Radial runout: offset of the axis, not negative. [mm]

    Returns
    -------
    h : ndarray, shape (a, e, n, s)
        [mm]

    Raises
    ------
    ModelError
        If a feed or a runout is negative or not finite (a ValueError).

    References
    ----------
    Kline1983
    """
    f_z = not_negative("f_z", f_z)
    rho = not_negative("rho", rho)
    advance = f_z * np.sin(s.phi)
    h = s.teeth * advance
    at = 2 * math.pi / s.teeth * s.tooth[:, None, None] + s.lag
    own = np.cos(at)
    for k in range(1, s.teeth):
        h = np.minimum(h, k * advance + rho * (own - np.cos(at - 2 * math.pi * k / s.teeth)))
    result: Array = np.maximum(h, 0.0)
    return result


def _sum(s: Slices, F_t: Array, F_r: Array, F_a: Array) -> EndMillLoads:
    """Add slices whose forces are given for each mm of height."""
    sine = np.sin(s.phi)
    cosine = np.cos(s.phi)
    x = (-F_t * cosine - F_r * sine) * s.dz
    y = (F_t * sine - F_r * cosine) * s.dz

    def total(a: Array) -> Array:
        return np.asarray(a.sum(axis=(1, 2)))

    return EndMillLoads(
        F_x=total(x),
        F_y=total(y),
        F_z=total(F_a * s.dz),
        torque=total(F_t * s.dz) * s.radius,
        S_x=total(x * s.z),
        S_y=total(y * s.z),
    )


def loads(
    s: Slices, h: Array, tangential: ForceLaw, radial: ForceLaw, axial: ForceLaw
) -> EndMillLoads:
    """Loads where each part of the force has a law of its own; no force where there is no chip.

    Parameters
    ----------
    s : Slices
        From `slices`.
    h : ndarray, shape (a, e, n, s)
        Chip thickness, from `chip_thickness`. [mm]
    tangential : ForceLaw
        Against the motion of the tooth.
    radial : ForceLaw
        Towards the axis.
    axial : ForceLaw
        Along the axis.

    Returns
    -------
    loads : EndMillLoads

    References
    ----------
    Altintas2012 ch. 2, mechanics of milling
    """
    touching = h > 0
    F_t, F_r, F_a = (law.force(h) * touching for law in (tangential, radial, axial))
    return _sum(s, F_t, F_r, F_a)


def rubbing_loads(
    s: Slices, h: Array, law: ForceLaw, h_min: ArrayLike, ratio: RadialRatio, helix: ArrayLike
) -> EndMillLoads:
    """Loads by the law of the tangential force and the ratio of the radial one to it; below h_min
    the edge rubs and the force stays.

    The axial force is taken as ``F_t tan(beta)``: that of a rake face without friction, an upper
    bound, since friction along an inclined edge only takes from it.

    Parameters
    ----------
    s : Slices
        From `slices`.
    h : ndarray, shape (a, e, n, s)
        Chip thickness, from `chip_thickness`. [mm]
    law : ForceLaw
        Of the tangential force, all factors on it.
    h_min : array_like, shape () or (s,)
        Thinnest chip that the edge cuts. [mm]
    ratio : RadialRatio
        Radial over tangential force.
    helix : array_like, shape () or (s,)
        beta. [rad]

    Returns
    -------
    loads : EndMillLoads

    References
    ----------
    Budak1996 eqs. for K_tc, K_ac
    """
    cut = np.maximum(h, positive("h_min", h_min))
    F_t = law.force(cut) * (h > 0)
    F_r = F_t * ratio.at(cut)
    return _sum(s, F_t, F_r, F_t * np.tan(np.asarray(helix, float)))

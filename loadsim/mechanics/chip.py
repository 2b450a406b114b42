"""Uncut chip thickness: circular tooth path, runout, and the thinnest chip an edge can cut."""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array

ArrayLike = npt.ArrayLike

#: One number, or an array of them.
Value = TypeVar("Value", float, Array)


def tooth_passing(teeth: int, speed: Value) -> Value:
    """Teeth that pass a point of the work in a second.

    ``N omega/(2 pi)``.

    Parameters
    ----------
    teeth : int
        Number of teeth N. [1]
    speed : float or ndarray
        Spindle speed omega. [rad/s]

    Returns
    -------
    frequency : float or ndarray
        [Hz]

    Examples
    --------
    >>> round(tooth_passing(2, 600 * 2 * math.pi / 60), 9)
    20.0
    """
    return speed / (2 * math.pi) * teeth


def feed_rate(f_z: Value, teeth: int, speed: float) -> Value:
    """Table feed: what every tooth advances, times the teeth that pass in a second.

    ``v_f = f_z N omega/(2 pi)``.

    Parameters
    ----------
    f_z : float or ndarray
        Feed per tooth. [mm]
    teeth : int
        Number of teeth N. [1]
    speed : float
        Spindle speed omega. [rad/s]

    Returns
    -------
    v_f : float or ndarray
        [mm/s]

    Examples
    --------
    >>> round(feed_rate(0.01, 2, 600 * 2 * math.pi / 60), 9)
    0.2
    """
    return f_z * tooth_passing(teeth, speed)


def feed_per_tooth(rate: float, teeth: int, speed: Value) -> Value:
    """Feed per tooth that a table feed makes; the inverse of `feed_rate`.

    ``f_z = 2 pi v_f/(N omega)``.

    Parameters
    ----------
    rate : float
        Table feed v_f. [mm/s]
    teeth : int
        Number of teeth N. [1]
    speed : float or ndarray
        Spindle speed omega. [rad/s]

    Returns
    -------
    f_z : float or ndarray
        [mm]

    Examples
    --------
    >>> round(feed_per_tooth(0.2, 2, 600 * 2 * math.pi / 60), 9)
    0.01
    """
    return rate / tooth_passing(teeth, speed)


def checked_feed(f_z: ArrayLike) -> Array:
    """Return the feed as floats, every one finite and not negative.

    Parameters
    ----------
    f_z : array_like
        Feed per tooth. [mm]

    Returns
    -------
    f_z : ndarray
        [mm]

    Raises
    ------
    ValueError
        If a feed is negative or not finite.
    """
    f_z = np.asarray(f_z, float)
    bad = ~(np.isfinite(f_z) & (f_z >= 0))
    if bad.any():
        raise ValueError(f"f_z must be finite and >= 0 mm, got {f_z[bad].flat[0]:g} mm")
    return f_z


def runout_steps(teeth: int, angle: float = 0.0) -> Array:
    """Radius of tooth j less that of the tooth k before it, for a unit offset of the axis.

    ``r_j = R + rho cos(angle - 2 pi j/N)``; the step is ``cos(angle - 2 pi j/N) - cos(angle - 2 pi
    (j-k)/N)``.

    Parameters
    ----------
    teeth : int
        Number of teeth N. [1]
    angle : float
        Direction of the runout from tooth 0. It is rarely known; 0 (it points at a tooth) is the
        worst. [rad]

    Returns
    -------
    step : ndarray, shape (N, N)
        Row j, column k - 1 for k = 1..N; the last column is zero. [1]

    References
    ----------
    Kline1983
    """
    j = np.arange(teeth)[:, None]
    k = np.arange(1, teeth + 1)[None, :]
    step: Array = np.cos(angle - 2 * math.pi * j / teeth) - np.cos(
        angle - 2 * math.pi * (j - k) / teeth
    )
    step[:, -1] = 0.0  # k = N is the same tooth one turn before: exactly zero
    return step


def thickness(
    phi: ArrayLike, tooth: npt.NDArray[np.intp], f_z: ArrayLike, rho: ArrayLike, teeth: int
) -> Array:
    """Uncut chip thickness with runout: the exact minimum over all earlier teeth.

    ``h_j(phi) = max(0, min_k [k f_z sin(phi) + r_j - r_(j-k)])``, k = 1..N. The rigid result is
    also the periodic steady state of a compliant cutter when the deflection repeats from tooth to
    tooth. What give of the head does to runout is `loadsim.mechanics.evening`: with one tooth in
    the cut at a time it evens it out; where teeth cut together it can thicken a chip by a fifth.

    Parameters
    ----------
    phi : array_like, shape (p,)
        Immersion angle of each pair of position and tooth. [rad]
    tooth : ndarray of int, shape (p,)
        Which tooth, 0..N-1.
    f_z : array_like, shape () or (s,)
        Feed per tooth, not negative. [mm]
    rho : array_like, shape () or (s,)
        Radial runout: offset of the axis, not negative. [mm]
    teeth : int
        Number of teeth N. [1]

    Returns
    -------
    h : ndarray, shape (p, s)
        Uncut chip thickness. [mm]

    Raises
    ------
    ValueError
        If a feed or a runout is negative or not finite.

    References
    ----------
    Kline1983
    """
    f_z = np.atleast_1d(checked_feed(f_z))
    rho = np.atleast_1d(np.asarray(rho, float))
    if not (np.isfinite(rho) & (rho >= 0)).all():
        raise ValueError("rho must be finite and >= 0 mm")
    sine = np.maximum(np.sin(np.asarray(phi, float)), 0.0)[:, None]
    step = runout_steps(teeth)[np.asarray(tooth)]
    advance = sine * f_z
    h: Array = teeth * advance * np.ones_like(rho)
    before = np.empty_like(h)
    stepped = np.empty_like(h)
    for k in range(1, teeth):  # in place: twelve teeth would fill the memory with what is dropped
        np.multiply(k, advance, out=before)
        np.multiply(step[:, k - 1, None], rho, out=stepped)
        before += stepped
        np.minimum(h, before, out=h)
    np.maximum(h, 0.0, out=h)
    h[(sine <= 0)[:, 0]] = 0.0
    return h


def thinnest(edge_radius: ArrayLike, ratio: ArrayLike) -> Array:
    """Thinnest chip that an edge still cuts; below it the metal is pushed and rubbed.

    ``h_min = ratio * edge_radius``.

    Parameters
    ----------
    edge_radius : array_like
        Radius of the cutting edge. [mm]
    ratio : array_like
        About 0.3 for aluminum. [1]

    Returns
    -------
    h_min : ndarray
        [mm]

    Raises
    ------
    ValueError
        If either is not a number above zero.

    References
    ----------
    Son2005 h_min/r = 1 - cos(pi/4 - beta/2)
    """
    edge_radius = np.asarray(edge_radius, float)
    ratio = np.asarray(ratio, float)
    h_min: Array = edge_radius * ratio
    if not (np.isfinite(h_min) & (edge_radius > 0) & (ratio > 0)).all():
        raise ValueError("edge radius and ratio must be finite and > 0")
    return h_min

"""Offsets, set-downs and angles by which a tooth is ground on round stock."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numpy.typing import ArrayLike

from loadsim.bounds import real

Array = npt.NDArray[np.float64]


def offset_from_rake(rake: ArrayLike, radius: ArrayLike) -> Array:
    """How far past the centre a flute face is ground for a rake, ``R sin(gamma)``.

    Parameters
    ----------
    rake : array_like
        gamma, within a quarter turn. [rad]
    radius : array_like
        R, over the teeth. [mm]

    Returns
    -------
    face_offset : ndarray
        e. [mm]

    Raises
    ------
    ModelError
        If any value is out of range.

    References
    ----------
    PlaneGeometry, right triangle of radius and offset
    """
    gamma = real("rake", rake, "rad", over=-np.pi / 2, below=np.pi / 2)
    return np.asarray(real("radius", radius, "mm", over=0.0) * np.sin(gamma))


def relief_setdown(relief: ArrayLike, radius: ArrayLike) -> Array:
    """Set-down from the round surface at which a relief flat just reaches the edge, ``R (1 - cos(alpha))``.

    Parameters
    ----------
    relief : array_like
        alpha, by which the edge is turned past the top. [rad]
    radius : array_like
        R, over the teeth. [mm]

    Returns
    -------
    set_down : ndarray
        [mm]

    Raises
    ------
    ModelError
        If any value is out of range.

    References
    ----------
    PlaneGeometry, sagitta of a chord

    Examples
    --------
    >>> round(float(relief_setdown(np.pi / 3, 2.0)), 9)
    1.0
    """
    alpha = real("relief", relief, "rad", over=0.0, below=np.pi / 2)
    return np.asarray(2 * real("radius", radius, "mm", over=0.0) * np.sin(alpha / 2) ** 2)


def flat_width(relief: ArrayLike, radius: ArrayLike) -> Array:
    """Width of a relief flat that just reaches the edge, ``2 R sin(alpha)``; behind it the round stands again.

    Parameters
    ----------
    relief : array_like
        alpha. [rad]
    radius : array_like
        R, over the teeth. [mm]

    Returns
    -------
    width : ndarray
        [mm]

    Raises
    ------
    ModelError
        If any value is out of range.

    References
    ----------
    PlaneGeometry, length of a chord
    """
    alpha = real("relief", relief, "rad", over=0.0, below=np.pi / 2)
    return np.asarray(2 * real("radius", radius, "mm", over=0.0) * np.sin(alpha))


def wedge_angle(rake: ArrayLike, relief: ArrayLike) -> Array:
    """Wedge of a tooth at its edge, a right angle less rake and relief.

    Parameters
    ----------
    rake : array_like
        gamma. [rad]
    relief : array_like
        alpha. [rad]

    Returns
    -------
    beta : ndarray
        [rad]

    Raises
    ------
    ModelError
        If no wedge is left.

    References
    ----------
    ISO3002-1, tool orthogonal plane: alpha + beta + gamma = a right angle
    """
    return real("wedge angle", np.pi / 2 - real("rake", rake, "rad") - real("relief", relief, "rad", over=0.0), "rad", over=0.0, below=np.pi)

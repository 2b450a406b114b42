"""Grinding a cutter by hand: offsets and flats of rake and relief, forces, the wheel's infeed."""

from __future__ import annotations

import numpy as np

from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import must_be, real, takes


@takes(rake=must_be("rad", over=-np.pi / 2, below=np.pi / 2), radius=must_be("mm", over=0.0))
def offset_from_rake(rake: Reals, radius: Reals) -> Array:
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
    gamma = rake
    return np.asarray(radius * np.sin(gamma))


@takes(relief=must_be("rad", over=0.0, below=np.pi / 2), radius=must_be("mm", over=0.0))
def flat_width(relief: Reals, radius: Reals) -> Array:
    """Width of a relief flat that just reaches the edge, ``2 R sin(alpha)``; behind it the round
    stands again.

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
    alpha = relief
    return np.asarray(2 * radius * np.sin(alpha))


@takes(skew=must_be("rad", least=0.0, below=np.pi / 2), height=must_be("mm", over=0.0))
def lean(skew: Reals, height: Reals) -> Array:
    """How far an edge that leans runs off over the head's height, ``h tan(psi)``.

    Parameters
    ----------
    skew : array_like
        psi, between edge and axis. [rad]
    height : array_like
        h, of the head. [mm]

    Returns
    -------
    lean : ndarray
        What an indicator drawn along the edge shows. [mm]

    Raises
    ------
    ModelError
        If any value is out of range.

    References
    ----------
    PlaneGeometry, right triangle of height and lean
    """
    return np.asarray(height * np.tan(skew))


@takes(
    skew=must_be("rad", least=0.0, below=np.pi / 2),
    relief=must_be("rad", over=0.0, below=np.pi / 2),
)
def dip(skew: Reals, relief: Reals) -> Array:
    """How far the axis is dipped so that a level relief flat holds the whole of a leaning edge.

    ``tan(delta) = tan(alpha) tan(psi)``: over a length z the edge runs back by ``z tan(psi)``, and
    the flat falls by ``tan(alpha)`` of that.

    Parameters
    ----------
    skew : array_like
        psi, between edge and axis. [rad]
    relief : array_like
        alpha. [rad]

    Returns
    -------
    dip : ndarray
        delta. [rad]

    Raises
    ------
    ModelError
        If any value is out of range.

    References
    ----------
    PlaneGeometry, a line in a plane
    """
    return np.asarray(np.arctan(np.tan(relief) * np.tan(skew)))


@takes(relief=must_be("rad", over=0.0), rake=must_be("rad"))
def wedge_angle(rake: Reals, relief: Reals) -> Array:
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
    return real("wedge angle", np.pi / 2 - rake - relief, "rad", over=0.0, below=np.pi)


@takes(
    width=must_be("mm", over=0.0),
    depth=must_be("mm", least=0.0),
    speed_ratio=must_be("1", over=0.0),
    u=must_be("MPa", over=0.0),
)
def tangential_force(u: Reals, width: Reals, depth: Reals, speed_ratio: Reals) -> Array:
    """Tangential force of a wheel or cutter that takes a depth off the turning blank, ``u b a
    v_w/v_s``.

    Parameters
    ----------
    u : array_like
        Specific energy, for a cutter its specific cutting force; 1 J/mm^3 is 1000 N/mm^2. [MPa]
    width : array_like
        b, of the contact along the neck. [mm]
    depth : array_like
        a, that the wheel meets. [mm]
    speed_ratio : array_like
        Surface speed of the blank over that of the wheel, above 0. [1]

    Returns
    -------
    F_t : ndarray
        [N]

    Raises
    ------
    ModelError
        If any value is not finite or out of range.

    References
    ----------
    Malkin2008, power is specific energy times removal rate

    Examples
    --------
    >>> float(tangential_force(40_000.0, 5.0, 0.02, 0.001))
    4.0
    """
    b = width
    a = depth
    F_t: Array = u * b * a * speed_ratio
    return F_t


@takes(F_t=must_be("N", least=0.0), normal_ratio=must_be("1", least=0.0))
def resultant(F_t: Reals, normal_ratio: Reals) -> Array:
    """Force across the blank: tangential and normal together.

    Parameters
    ----------
    F_t : array_like
        Tangential. [N]
    normal_ratio : array_like
        Normal over tangential force. [1]

    Returns
    -------
    F : ndarray
        [N]

    Raises
    ------
    ModelError
        If any value is not finite or negative.

    References
    ----------
    Malkin2008, force ratio of grinding
    """
    F: Array = F_t * np.hypot(1.0, normal_ratio)
    return F


@takes(
    force_per_depth=must_be("N/mm", over=0.0),
    stress_per_force=must_be("1/mm^2", over=0.0),
    strength=must_be("MPa", over=0.0),
    give=must_be("mm", over=0.0),
    compliance=must_be("mm/N", over=0.0),
)
def largest_infeed(
    force_per_depth: Reals, stress_per_force: Reals, compliance: Reals, strength: Reals, give: Reals
) -> tuple[Array, Array]:
    """Largest infeed for each turn: by what the thinning neck bears, and by how far it may give
    way.

    Parameters
    ----------
    force_per_depth : array_like
        Force across the blank for each mm of depth. [N/mm]
    stress_per_force : array_like
        Largest stress at the neck's fillet for each newton, in MPa.
    compliance : array_like
        Deflection under the wheel for each newton, in mm.
    strength : array_like
        Stress that the neck may see. [MPa]
    give : array_like
        Deflection that is accepted. [mm]

    Returns
    -------
    by_strength : ndarray
        [mm]
    by_deflection : ndarray
        [mm]

    Raises
    ------
    ModelError
        If any value is not finite or not above 0.

    References
    ----------
    TimoshenkoGoodier1970, bending of a cantilever loaded at the end
    """
    by_strength: Array = strength / (force_per_depth * stress_per_force)
    by_deflection: Array = give / (force_per_depth * compliance)
    return by_strength, by_deflection

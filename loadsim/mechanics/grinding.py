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
def relief_setdown(relief: Reals, radius: Reals) -> Array:
    """Set-down from the round surface at which a relief flat just reaches the edge, ``R (1 -
    cos(alpha))``.

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
    alpha = relief
    return np.asarray(2 * radius * np.sin(alpha / 2) ** 2)


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


@takes(turns=must_be("1", least=0.0), set_at=must_be("1", least=0.0), step=must_be("mm", over=0.0))
def depth_met(turns: Reals, set_at: Reals, step: float) -> Array:
    """Depth that the wheel meets while the blank is turned: all that was set within the last turn.

    Parameters
    ----------
    turns : array_like, shape (m,)
        Turns made so far. [1]
    set_at : array_like, shape (k,)
        Turns at which the wheel was set in by one step, not negative. [1]
    step : float
        Infeed of one step. [mm]

    Returns
    -------
    depth : ndarray, shape (m,)
        [mm]

    Raises
    ------
    ModelError
        If any value is not finite or negative.

    Notes
    -----
    The surface at the wheel was last cut one turn ago, down to where the wheel stood then.

    References
    ----------
    Malkin2008, kinematics of cylindrical plunge grinding

    Examples
    --------
    >>> depth_met([1.1], [0.0, 0.25, 0.5, 0.75], 0.01).tolist()
    [0.03]
    >>> depth_met([1.1], [0.0, 1.0], 0.01).tolist()
    [0.01]
    """
    t = turns[..., None]
    count = np.count_nonzero((set_at <= t) & (set_at > t - 1.0), axis=-1)
    return np.asarray(count * float(step))


@takes(fraction=must_be("1", over=0.0))
def steps_on_top(fraction: Reals) -> Array:
    """Steps that lie on top of each other when the infeed is moved after a fraction of a turn each
    time.

    Parameters
    ----------
    fraction : array_like
        Of a turn between two moves, above 0. [1]

    Returns
    -------
    steps : ndarray
        One when a full turn or more is made. [1]

    Raises
    ------
    ModelError
        If any value is not finite or not above 0.

    References
    ----------
    Malkin2008, kinematics of cylindrical plunge grinding

    Examples
    --------
    >>> steps_on_top([0.25, 0.3, 1.0, 1.5]).tolist()
    [4.0, 4.0, 1.0, 1.0]
    """
    return np.asarray(np.ceil(1.0 / fraction - 1e-9))


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

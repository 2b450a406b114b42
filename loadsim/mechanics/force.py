"""What a force on the edge is corrected by (rake), and the frames it is resolved in."""

from __future__ import annotations

import math
from enum import Enum, auto

import numpy as np
import numpy.typing as npt

from loadsim.base.notes import Note
from loadsim.base.numbers import Array

ArrayLike = npt.ArrayLike

#: Fall of the cutting force for each degree of rake (German textbooks; Shaw gives about 1 %). [1]
RAKE_SLOPE = 0.015

#: How far from its reference rake the correction is trusted. [rad]
RAKE_RANGE = math.radians(20.0)

#: How far above its reference rake relief is credited: 4130 with HSS tools at 25 to 45 deg falls
#: faster than the correction up to there. [rad]
RAKE_CREDIT = math.radians(35.0)

#: Standard deviation of ln(cutting force) for each degree between reference and rake: within
#: `RAKE_RANGE` what published slopes (0.7 to 1.6 %) differ from `RAKE_SLOPE`; beyond it what the
#: 4130 series does. [1]
RAKE_SPREADS = (0.005, 0.015)


def rake_from_offset(face_offset: ArrayLike, radius: ArrayLike) -> Array:
    """Radial rake of a flute face ground past (or short of) the centre.

    ``gamma = asin(e/R)``.

    Parameters
    ----------
    face_offset : array_like
        e, positive past the centre. [mm]
    radius : array_like
        R, over the teeth. [mm]

    Returns
    -------
    rake : ndarray
        gamma. [rad]

    Raises
    ------
    ValueError
        If the face would miss the circle.

    Examples
    --------
    >>> round(float(np.degrees(rake_from_offset(0.5, 1.0))), 6)
    30.0
    """
    s = np.asarray(face_offset, float) / np.asarray(radius, float)
    if not (np.abs(s) < 1).all():
        raise ValueError("face offset must be smaller than the radius of the head")
    rake: Array = np.arcsin(s)
    return rake


def rake_factor(rake: ArrayLike, rake_reference: ArrayLike) -> Array:
    """Correction of the cutting force for rake.

    ``K_gamma = 1 - 0.015 (gamma - gamma_0)`` with the difference in degrees. Beyond 35 degrees
    above the reference no further relief is credited; below it the rise goes on. How far it may be
    off is `rake_spread`.

    Parameters
    ----------
    rake : array_like
        gamma of this cutter. [rad]
    rake_reference : array_like
        gamma_0 that the force constant was measured at. [rad]

    Returns
    -------
    factor : ndarray
        [1]

    References
    ----------
    Degner1993 K = 1 - (gamma - gamma_0)/66.7
    KalpakjianSchmid2014 Merchant's forces on 4130 (HSS): falls faster from 25 to 40 degrees
    """
    difference = np.minimum(np.asarray(rake, float) - rake_reference, RAKE_CREDIT)
    factor: Array = np.asarray(1.0 - RAKE_SLOPE * np.degrees(difference))
    return factor


def rake_spread(rake: ArrayLike, rake_reference: ArrayLike) -> Array:
    """Spread of the correction of the cutting force for rake.

    0.005 for each of the first 20 degrees from the reference, 0.015 for each one more.

    Parameters
    ----------
    rake : array_like
        gamma of this cutter. [rad]
    rake_reference : array_like
        gamma_0 that the force constant was measured at. [rad]

    Returns
    -------
    spread : ndarray
        Standard deviation of ln(force); 0 at the reference. [1]

    References
    ----------
    Degner1993 1.5 % a degree
    KalpakjianSchmid2014 Merchant's forces on NE 9445 (carbide, 0.7 % a degree) and 4130 (HSS)
    """
    distance = np.degrees(np.fabs(np.asarray(rake, float) - rake_reference))
    near, far = RAKE_SPREADS
    beyond = np.maximum(distance - math.degrees(RAKE_RANGE), 0.0)
    return np.asarray(near * distance + (far - near) * beyond)


#: Fall of the angle whose tangent is the radial over the tangential force, for each degree of rake:
#: what the friction angle does not follow. Up to the first rake it follows by about 0.7, from the
#: second on by about 0.3. [1]
NORMAL_SLOPES = (0.3, 0.7)

#: Rakes between which the one slope becomes the other. [rad]
NORMAL_BEND = (math.radians(15.0), math.radians(25.0))

#: That angle at no rake: the friction angles of NE 9445 (-10 and +10 deg) and 4130 (25 to 45 deg),
#: 42.8, 38.2, 40.3, 33.4, 30.5, 21.9, 17.0 and 16.3 deg, fitted with these slopes. [rad]
NORMAL_ANGLE = math.radians(39.0)

#: Standard deviation of ln(radial over tangential force) for each degree between the rake it was
#: measured at and the cutter's: what published changes differ from this law (0.8 to 3.6 % a
#: degree). [1]
RADIAL_RAKE_SPREAD = 0.012


def normal_angle(rake: ArrayLike) -> Array:
    """Angle between the resultant on a steel's chip and the direction of cutting: friction angle
    less rake.

    Parameters
    ----------
    rake : array_like
        gamma. [rad]

    Returns
    -------
    angle : ndarray
        Its tangent is the normal over the tangential force. [rad]

    References
    ----------
    KalpakjianSchmid2014 Merchant's forces on 4130 (HSS) and NE 9445 (carbide)
    """
    gamma = np.asarray(rake, float)
    low, high = NORMAL_BEND
    gentle, steep = NORMAL_SLOPES
    within = np.clip(gamma - low, 0.0, high - low)
    bend = (steep - gentle) * (within**2 / (2 * (high - low)) + np.maximum(gamma - high, 0.0))
    return np.asarray(NORMAL_ANGLE - gentle * gamma - bend)


def radial_rake_factor(rake: ArrayLike, rake_reference: ArrayLike) -> Array:
    """Correction of the radial over the tangential force for rake.

    ``tan(beta - gamma) / tan(beta_0 - gamma_0)`` with the friction angles of `normal_angle`: 1 to 4
    % a degree, and above zero for every rake up to 45 degrees.

    Parameters
    ----------
    rake : array_like
        gamma of this cutter. [rad]
    rake_reference : array_like
        gamma_0 that the ratio was measured at. [rad]

    Returns
    -------
    factor : ndarray
        [1]

    References
    ----------
    KalpakjianSchmid2014 Merchant's forces on 4130 (HSS) and NE 9445 (carbide)
    """
    factor: Array = np.tan(normal_angle(rake)) / np.tan(normal_angle(rake_reference))
    return factor


class RakeNote(Enum):
    """Where the correction of the force for the rake is stretched."""

    FAR_FROM_MEASURED = auto()


def rake_notes(rake: float, rake_reference: float) -> tuple[Note, ...]:
    """Tell when a rake lies outside the range that `rake_factor` is trusted in.

    Parameters
    ----------
    rake : float
        gamma of this cutter. [rad]
    rake_reference : float
        gamma_0 that the force constant was measured at. [rad]

    Returns
    -------
    notes : tuple of Note
    """
    difference = math.degrees(rake - rake_reference)
    limit = math.degrees(RAKE_RANGE)
    if math.fabs(difference) <= limit:
        return ()
    credited = math.degrees(RAKE_CREDIT)
    facts = {"difference": difference, "trusted": limit, "credited": credited}
    return (Note(code=RakeNote.FAR_FROM_MEASURED, facts=facts),)


def feed_frame(F_t: ArrayLike, F_r: ArrayLike, phi: ArrayLike) -> tuple[Array, Array]:
    """Force on the cutter along the feed and across it.

    ``F_x = -F_t cos(phi) - F_r sin(phi)``, ``F_y = F_t sin(phi) - F_r cos(phi)``.

    Parameters
    ----------
    F_t : array_like
        Tangential force on a tooth. [N]
    F_r : array_like
        Radial force on a tooth. [N]
    phi : array_like, broadcastable to the forces
        Immersion angle. [rad]

    Returns
    -------
    F_x : ndarray
        Along the feed; negative resists the feed. [N]
    F_y : ndarray
        Across the feed. [N]

    References
    ----------
    Altintas2012 ch. 2
    """
    s = np.sin(phi)
    c = np.cos(phi)
    F_t = np.asarray(F_t, float)
    F_r = np.asarray(F_r, float)
    F_x: Array = np.asarray(-F_t * c - F_r * s)
    F_y: Array = np.asarray(F_t * s - F_r * c)
    return F_x, F_y


def cutter_frame(
    F_t: ArrayLike, F_r: ArrayLike, tooth: npt.NDArray[np.intp], teeth: int
) -> tuple[Array, Array]:
    """Force on the cutter in axes that turn with it: towards tooth 0, and the way tooth 0 moves.

    Parameters
    ----------
    F_t : array_like, shape (p, ...)
        Tangential force of each pair. [N]
    F_r : array_like, shape (p, ...)
        Radial force of each pair. [N]
    tooth : ndarray of int, shape (p,)
        Which tooth, 0..N-1.
    teeth : int
        Number of teeth N. [1]

    Returns
    -------
    F_1 : ndarray
        Along the radius of tooth 0. [N]
    F_2 : ndarray
        Along the motion of tooth 0. [N]

    Notes
    -----
    Tooth j lies ``2 pi j/N`` behind tooth 0. A turn of the axes by phi takes this to `feed_frame`.
    """
    beta = 2 * math.pi * np.asarray(tooth) / teeth
    c = np.cos(beta)[:, None]
    s = np.sin(beta)[:, None]
    F_t = np.asarray(F_t, float)
    F_r = np.asarray(F_r, float)
    F_1: Array = np.asarray(-F_t * s - F_r * c)
    F_2: Array = np.asarray(-F_t * c + F_r * s)
    return F_1, F_2


def axial_factor(
    push: ArrayLike, ratio: float, radius: float, arm: float, diameter: float
) -> Array:
    """Largest stress of the neck with the axial force of edges that lean, over that without.

    An edge that leans by psi turns ``F_t tan(psi)`` along the axis. It acts on the head's radius R,
    in the plane of the radial force, and across the neck's section; the worse side counts:
    ``(sqrt(1 + (k + t R/L)^2) + t d/(8 L)) / sqrt(1 + k^2)``.

    Parameters
    ----------
    push : array_like
        t, tangent of the lean, not negative. [1]
    ratio : float
        k, radial over tangential force. [1]
    radius : float
        R, over the teeth. [mm]
    arm : float
        L, from the notch to the force. [mm]
    diameter : float
        d, of the neck. [mm]

    Returns
    -------
    factor : ndarray
        At least 1. [1]

    References
    ----------
    PlaneGeometry, force resolved along and across a leaning edge
    """
    t = np.asarray(push, float)
    bent = np.hypot(1.0, ratio + t * radius / arm) + t * diameter / (8 * arm)
    return np.asarray(bent / math.hypot(1.0, ratio))

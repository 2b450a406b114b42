"""Torque and thrust of a twist drill, and what the drill bears: it twists off, buckles, or goes too
deep.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import above_zero, must_be, takes
from loadsim.base.units import IN, LBF

ArrayLike = npt.ArrayLike

#: The handbook's factors of a standard point, its chisel edge 0.18 of the diameter long: on the
#: torque, on the thrust that grows with the feed, and of the thrust that presses the chisel edge in
#: (MachinerysHandbook31, A, B and J). Kept for every size: small drills have thicker webs (up to
#: about 0.25, which adds 7 % of torque and up to a fifth of thrust), but there the formula already
#: lies over a rival table that was measured on such drills (KosilovaMeshcheryakov1985). [1]
CHISEL_TORQUE = 1.085
CHISEL_THRUST = 1.355
CHISEL_INDENT = 0.030

#: Exponent of the feed, and of the diameter in the lips' thrust; the torque has one more, for the
#: arm (MachinerysHandbook31, F_f, F_T and F_M). [1]
SIZE = 0.8

#: Feed of a small twist drill, for each turn, over its diameter (common practice, no source). [1]
DRILL_FEED = 0.015

#: How deep a twist drill goes without wandering, in diameters (5 to 8, common practice, no source).
#: [1]
DEPTH_IN_DIAMETERS = 8.0

#: The round bar that stands for the fluted section, over the drill's diameter (common practice, no
#: source). [1]
CORE = 0.6

#: What sticks out of the chuck beside the depth of the hole, so that chips get out, in diameters
#: (assumed). [1]
SPARE_LENGTH = 2.0

#: Torsion strength, yield strength in compression and modulus of a drill of high-speed steel
#: (memory medium; the last two at their low end). [MPa]
TORSION_STRENGTH = 1500.0
COMPRESSION_STRENGTH = 2500.0
E_DRILL = 210_000.0

#: Depth from which chips add to the torque, and over which more they double it, so that they do at
#: `DEPTH_IN_DIAMETERS`, in diameters (common practice, no source). [1]
CHIPS_FROM = 3.0
CHIPS_DOUBLE = 5.0

#: Effective length of a column over its length, fixed at the chuck and held at the point by the
#: cone of a spot drill or of its own (TimoshenkoGere1961). [1]
PINNED = 0.7


@takes(K_d=above_zero(""), f=above_zero("mm"), D=above_zero("mm"), wear=must_be("1", least=1.0))
def torque(K_d: Reals, f: Reals, D: Reals, wear: float = 1.0) -> Array:
    """Torque of a twist drill by the handbook, chisel edge and margins included.

    ``M = K_d f^0.8 D^1.8 A W`` in inches and pounds; in metric units ``M = 2.5e-5 K_d f^0.8 D^1.8 A
    W`` N*m. The margins' friction is inside K_d.

    Parameters
    ----------
    K_d : array_like
        Work material factor for the torque, as printed for inches and pounds. [1]
    f : array_like
        Feed per turn. [mm]
    D : array_like
        Drill diameter. [mm]
    wear : float
        W, 1 for a sharp drill. [1]

    Returns
    -------
    M : ndarray
        [N*mm]

    Raises
    ------
    ModelError
        If an input is not finite and above 0, or wear is under 1.

    References
    ----------
    MachinerysHandbook31 pp. 1151-1153
    ShawOxford1957
    """
    M: Array = K_d * (f / IN) ** SIZE * (D / IN) ** (1 + SIZE) * CHISEL_TORQUE * wear * LBF * IN
    return M


@takes(K_d=above_zero(""), f=above_zero("mm"), D=above_zero("mm"), wear=must_be("1", least=1.0))
def thrust(K_d: Reals, f: Reals, D: Reals, wear: float = 1.0) -> Array:
    """Thrust of a twist drill by the handbook: of lips and chisel edge, and what presses the chisel
    edge in.

    ``T = 2 K_d f^0.8 D^0.8 B W + K_d D^2 J W`` in inches and pounds; in metric units ``T = 0.05 K_d
    f^0.8 D^0.8 B W + 0.007 K_d D^2 J W`` N.

    Parameters
    ----------
    K_d : array_like
        Work material factor for the thrust, as printed for inches and pounds. [1]
    f : array_like
        Feed per turn. [mm]
    D : array_like
        Drill diameter. [mm]
    wear : float
        W, 1 for a sharp drill. [1]

    Returns
    -------
    T : ndarray
        [N]

    Raises
    ------
    ModelError
        If an input is not finite and above 0, or wear is under 1.

    References
    ----------
    MachinerysHandbook31 pp. 1151-1153
    ShawOxford1957
    """
    lips = 2 * (f / IN * D / IN) ** SIZE * CHISEL_THRUST
    T: Array = K_d * (lips + (D / IN) ** 2 * CHISEL_INDENT) * wear * LBF
    return T


@takes(depth=above_zero("mm"), D=above_zero("mm"))
def torque_share(depth: Reals, D: Reals) -> Array:
    """Share of the torque that breaks a drill which is left for cutting, chips in its flutes taking
    the rest.

    ``1 / (1 + (depth/D - 3)/5)``, 1 down to three diameters; half at eight.

    Parameters
    ----------
    depth : array_like
        Depth of the hole. [mm]
    D : array_like
        Drill diameter. [mm]

    Returns
    -------
    share : ndarray
        [1]
    """
    chips = np.maximum(depth / D - CHIPS_FROM, 0.0) / CHIPS_DOUBLE
    share: Array = 1 / (1 + chips)
    return share


def torque_to_break(tau_u: ArrayLike, D: ArrayLike) -> Array:
    """Torque that breaks a twist drill, its fluted section taken as a round bar of its web and
    lands.

    ``M = tau_u (pi/16) (0.6 D)^3``: the inscribed bar of 0.6 D (common practice, no source).

    Parameters
    ----------
    tau_u : array_like
        Torsion strength of the drill. [MPa]
    D : array_like
        Drill diameter. [mm]

    Returns
    -------
    M : ndarray
        [N*mm]
    """
    M: Array = np.asarray(tau_u, float) * (math.pi / 16) * (CORE * np.asarray(D, float)) ** 3
    return M


@takes(D=above_zero("mm"))
def second_moment(D: Reals) -> Array:
    """Least second moment of area of a drill's fluted section, taken as a round bar of 0.6 D.

    ``I = (pi/64) (0.6 D)^4``, 13 % of the full circle (common practice, no source; the web is about
    0.15 D thick and the lands make up the rest, and the twist evens out the strong and the weak
    direction).

    Parameters
    ----------
    D : array_like
        Drill diameter. [mm]

    Returns
    -------
    I : ndarray
        [mm^4]
    """
    moment: Array = math.pi / 64 * (CORE * D) ** 4
    return moment


@takes(E=above_zero("MPa"), I=above_zero("mm^4"), L=above_zero("mm"), K=above_zero(""))
def buckling_load(E: Reals, I: Reals, L: Reals, K: float) -> Array:  # noqa: E741
    """Load at which a slender column buckles, by Euler.

    ``P = pi^2 E I/(K L)^2``.

    Parameters
    ----------
    E : array_like
        Modulus of elasticity. [MPa]
    I : array_like
        Least second moment of area. [mm^4]
    L : array_like
        Length that sticks out. [mm]
    K : float
        Effective length over length: 2 with a free end, 0.7 with a pinned one, the other end fixed.
        [1]

    Returns
    -------
    P : ndarray
        [N]

    Raises
    ------
    ModelError
        If an input is not finite and above 0.

    References
    ----------
    TimoshenkoGere1961 art. 2.1
    """
    second = I
    P: Array = math.pi**2 * E * second / (float(K) * L) ** 2
    return P


@takes(D=above_zero("mm"), depth=above_zero("mm"))
def bearable_thrust(D: Reals, depth: Reals) -> Array:
    """Thrust at which a drill buckles or yields that starts in the cone of a spot drill.

    Euler's load ``P = pi^2 E I/(0.7 L)^2`` over all that sticks out of the chuck, up to half of
    what the section yields at, Y; above it Johnson's parabola, ``Y (1 - Y/(4 P))``.

    Parameters
    ----------
    D : array_like
        Drill diameter. [mm]
    depth : array_like
        Depth of the hole. [mm]

    Returns
    -------
    T : ndarray
        [N]

    References
    ----------
    TimoshenkoGere1961 art. 2.1
    Johnson1897
    """
    euler = buckling_load(E_DRILL, second_moment(D), depth + SPARE_LENGTH * D, PINNED)
    crushed = COMPRESSION_STRENGTH * math.pi / 4 * (CORE * D) ** 2
    return np.where(euler < crushed / 2, euler, crushed * (1 - crushed / (4 * euler)))

"""Torque and thrust of a twist drill, and what the drill bears: it twists off, buckles, or goes too
deep.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import above_zero, must_be, takes

ArrayLike = npt.ArrayLike

#: Half the point angle of a general-purpose drill of 118 degrees (ASME-B94-11M). [rad]
HALF_POINT = math.radians(59.0)

#: Force across a lip over its cutting force, in the usual formula for feed force
#: (TrainingMetalCutting2017). [1]
LIP_RATIO = 0.5

#: Share of the thrust that the chisel edge of an unsplit point takes: about half (ShawOxford1957).
#: [1]
CHISEL_SHARE = 0.5

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

#: Torsion strength and modulus of a drill of high-speed steel (memory medium; the modulus at its
#: low end). [MPa]
TORSION_STRENGTH = 1500.0
E_DRILL = 210_000.0

#: Share of the torque that breaks a drill it is given: chips in a deep hole can double the torque
#: (common practice). [1]
TORQUE_SHARE = 0.5

#: Effective length of a column over its length: fixed at the chuck, and free or pinned at the point
#: (TimoshenkoGere1961). [1]
FREE = 2.0
PINNED = 0.7


def torque(k_c: ArrayLike, f: ArrayLike, D: ArrayLike) -> Array:
    """Torque of a two-lipped drill from the specific cutting force.

    ``M = k_c f D^2/8``: each lip cuts a chip of width D/2 and area f D/4 at a mean radius of D/4.

    Parameters
    ----------
    k_c : array_like
        Specific cutting force at the chip thickness of the lips. [MPa]
    f : array_like
        Feed per turn. [mm]
    D : array_like
        Drill diameter. [mm]

    Returns
    -------
    M : ndarray
        [N*mm]

    References
    ----------
    Kienzle1952
    """
    M: Array = np.asarray(k_c, float) * np.asarray(f, float) * np.asarray(D, float) ** 2 / 8
    return M


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


@takes(
    k_c=above_zero("MPa"),
    ratio=above_zero(""),
    f=above_zero("mm"),
    D=above_zero("mm"),
    chisel=must_be("1", least=0.0, below=1.0),
)
def thrust(
    k_c: Reals,
    ratio: Reals,
    f: Reals,
    D: Reals,
    kappa: float = HALF_POINT,
    chisel: float = CHISEL_SHARE,
) -> Array:
    """Thrust of a two-lipped drill from the specific cutting force: what the lips take, and the
    chisel edge on top.

    ``F_f = ratio k_c f (D/2) sin(kappa) / (1 - chisel)``: both lips together cut an area f D/2.

    Parameters
    ----------
    k_c : array_like
        Specific cutting force at the chip thickness of the lips. [MPa]
    ratio : array_like
        Force across a lip over its cutting force. [1]
    f : array_like
        Feed per turn. [mm]
    D : array_like
        Drill diameter. [mm]
    kappa : float
        Half the point angle. [rad]
    chisel : float
        Share of the whole thrust that the chisel edge takes, under 1; 0 for a split point. [1]

    Returns
    -------
    F_f : ndarray
        [N]

    Raises
    ------
    ModelError
        If an input is not finite and above 0, or chisel is not from 0 to under 1.

    Notes
    -----
    The formula printed for the lips has a ratio of 0.5. `handbook_thrust_and_torque` is a rival
    that needs the handbook's tables.

    References
    ----------
    TrainingMetalCutting2017 feed force in drilling
    ShawOxford1957
    """
    F_f: Array = ratio * k_c * f * D / 2 * math.sin(kappa) / (1 - chisel)
    return F_f


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


@takes(D=above_zero("mm"), depth=above_zero("mm"), chisel=above_zero(""))
def bearable_thrust(D: Reals, depth: Reals, chisel: float = CHISEL_SHARE) -> Array:
    """Full thrust at which a drill buckles, at the worse of its start and its run.

    At the start only the chisel edge's share presses, on a point that is still free (K = 2); once
    the lips cut, the whole thrust presses, on a point that sits in its own cone (K = 0.7). The
    length is that of the whole drill outside the chuck both times.

    Parameters
    ----------
    D : array_like
        Drill diameter. [mm]
    depth : array_like
        Depth of the hole. [mm]
    chisel : float
        Share of the whole thrust that the chisel edge takes. [1]

    Returns
    -------
    F_f : ndarray
        [N]

    References
    ----------
    TimoshenkoGere1961 art. 2.1
    """
    length = depth + SPARE_LENGTH * D
    second = second_moment(D)
    start = buckling_load(E_DRILL, second, length, FREE) / float(chisel)
    run = buckling_load(E_DRILL, second, length, PINNED)
    worse: Array = np.minimum(start, run)
    return worse

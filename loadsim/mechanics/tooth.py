"""What a tooth bears: the wedge at its edge, the cantilever at its root."""

from __future__ import annotations

from enum import Enum, auto

import numpy as np

from loadsim.base.notes import Note
from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import must_be, real, takes


@takes(F_t=must_be("N"), F_r=must_be("N"), rake=must_be("rad"), clearance=must_be("rad", over=0.0))
def wedge_tip_force(
    F_t: Reals, F_r: Reals, rake: Reals, clearance: Reals
) -> tuple[Array, Array, Array]:
    """Resolve the force on a tooth tip across and along the bisector of the tooth's wedge.

    Parameters
    ----------
    F_t : array_like
        Force against the tooth's motion. [N]
    F_r : array_like
        Force from the work towards the cutter axis. [N]
    rake : array_like
        Rake angle gamma. [rad]
    clearance : array_like
        Clearance angle alpha, > 0. [rad]

    Returns
    -------
    F_across : ndarray
        Force square to the bisector, from the rake face towards the clearance face. [N]
    F_along : ndarray
        Force along the bisector, from the tip into the tooth. [N]
    beta : ndarray
        Wedge angle, a right angle less rake and clearance. [rad]

    Raises
    ------
    ModelError
        If any value is not finite, the clearance is not positive, or no wedge is left.

    References
    ----------
    ISO3002-1, tool orthogonal plane: alpha + beta + gamma = a right angle
    """
    beta = real(
        "pi/2 - rake - clearance", np.pi / 2.0 - rake - clearance, "rad", over=0.0, below=np.pi
    )
    psi = beta / 2.0 + clearance  # from the reversed direction of motion to the bisector
    return F_t * np.sin(psi) - F_r * np.cos(psi), F_t * np.cos(psi) + F_r * np.sin(psi), beta


@takes(
    F_across=must_be("N"),
    F_along=must_be("N"),
    beta=must_be("rad", over=0.0, below=np.pi),
    theta=must_be("rad"),
    width=must_be("mm", over=0.0),
    r=must_be("mm", over=0.0),
)
def wedge_radial_stress(
    F_across: Reals, F_along: Reals, beta: Reals, r: Reals, theta: Reals, width: Reals
) -> Array:
    """Radial stress in a wedge loaded at its tip; the only stress there is.

    ``sigma_r = [F_across sin(theta) / (a - sin(2a)/2) - F_along cos(theta) / (a + sin(2a)/2)] /
    (width r)`` with the half angle ``a = beta/2`` and theta from the bisector, positive towards the
    rake face.

    Parameters
    ----------
    F_across : array_like
        Tip force square to the bisector, away from the rake face. [N]
    F_along : array_like
        Tip force along the bisector into the wedge. [N]
    beta : array_like
        Wedge angle, in (0, pi). [rad]
    r : array_like
        Distance from the tip, > 0. [mm]
    theta : array_like
        Angle from the bisector. [rad]
    width : array_like
        Width of the wedge along the edge. [mm]

    Returns
    -------
    sigma_r : ndarray
        Radial stress, tension positive. [MPa]

    Raises
    ------
    ModelError
        If any value is not finite or outside the range given above.

    References
    ----------
    TimoshenkoGoodier1970, force acting on the end of a wedge (Michell)
    """
    a = beta / 2.0
    area = width * r
    bending = F_across * np.sin(theta) / (a - np.sin(2.0 * a) / 2.0)
    push = F_along * np.cos(theta) / (a + np.sin(2.0 * a) / 2.0)
    sigma_r: Array = (bending - push) / area
    return sigma_r


#: Length on which chip and edge press on the rake face, over the chip thickness or the edge radius,
#: whichever is larger: 2 to 3 (common practice, no source). [1]
CONTACT = 2.5


@takes(h=must_be("mm", over=0.0), edge_radius=must_be("mm", over=0.0))
def contact_length(h: Reals, edge_radius: Reals) -> Array:
    """Length from the edge on which a chip presses on the rake face.

    Parameters
    ----------
    h : array_like
        Uncut chip thickness. [mm]
    edge_radius : array_like
        Radius of the edge, on which even the thinnest chip bears. [mm]

    Returns
    -------
    l : ndarray
        [mm]

    Raises
    ------
    ModelError
        If a length is not finite or not positive.
    """
    length: Array = CONTACT * np.maximum(h, edge_radius)
    return length


@takes(
    F_across=must_be("N"),
    F_along=must_be("N"),
    beta=must_be("rad", over=0.0, below=np.pi),
    contact=must_be("mm", over=0.0),
    width=must_be("mm", over=0.0),
)
def wedge_contact_stress(
    F_across: Reals, F_along: Reals, beta: Reals, contact: Reals, width: Reals
) -> Array:
    """Largest tension on each face of a tooth's wedge whose force is spread over a contact.

    Spread evenly from the edge over the contact l, the force has the arm l/2 at the section at l
    and the full push there: by equilibrium the bending part is that of a force at the tip at the
    distance 2 l, the push that of one at l. Nearer to the edge there is less force, farther from it
    more wedge.

    Parameters
    ----------
    F_across : array_like
        Force square to the bisector, away from the rake face. [N]
    F_along : array_like
        Force along the bisector into the wedge. [N]
    beta : array_like
        Wedge angle, in (0, pi). [rad]
    contact : array_like
        Length from the edge on which the force is spread. [mm]
    width : array_like
        Engaged width of the edge. [mm]

    Returns
    -------
    sigma : ndarray
        Stress on the face that is pulled more; negative when both are pressed. [MPa]

    Raises
    ------
    ModelError
        If any value is not finite or outside the range given above.

    Notes
    -----
    Under a pressure square to the rake face finite elements give as much at a wedge of 10 degrees,
    3 % more at 30, 10 % at 50, 24 % at 70 and 40 % at 84, where the tension is a quarter of that at
    50.

    References
    ----------
    TimoshenkoGoodier1970, force acting on the end of a wedge (Michell)
    """
    half = np.asarray(beta, dtype=float) / 2.0
    push = wedge_radial_stress(0.0, F_along, beta, contact, half, width)
    bending = [
        wedge_radial_stress(F_across, 0.0, beta, 2.0 * contact, face, width)
        for face in (half, -half)
    ]
    sigma: Array = push + np.maximum(*bending)
    return sigma


@takes(
    height=must_be("mm", over=0.0),
    width=must_be("mm", over=0.0),
    thickness=must_be("mm", over=0.0),
    F_t=must_be("N", least=0.0),
)
def root_stress(F_t: Reals, height: Reals, thickness: Reals, width: Reals) -> Array:
    """Bending stress at the root of a tooth taken as a short cantilever, ``6 F_t l / (b t^2)``.

    Parameters
    ----------
    F_t : array_like
        Tangential force at the tip, not negative. [N]
    height : array_like
        Tooth height from root to tip. [mm]
    thickness : array_like
        Tooth thickness at the root. [mm]
    width : array_like
        Width of the tooth along the cutter axis. [mm]

    Returns
    -------
    sigma : ndarray
        Nominal stress, without a concentration factor. [MPa]

    Raises
    ------
    ModelError
        If any value is not finite, F_t is negative or a length is not positive.

    References
    ----------
    TimoshenkoGoodier1970, bending of a cantilever loaded at the end
    """
    modulus = width * thickness**2 / 6.0
    sigma: Array = F_t * height / modulus
    return sigma


#: Arm over thickness from which the root counts as a beam: shear is a quarter of the bending there
#: (common practice, no source). [1]
SLENDER = 1.0


class RootNote(Enum):
    """Where the tooth is too stubby for the cantilever formula."""

    NO_BEAM = auto()


@takes(arm=must_be("mm", over=0.0), thickness=must_be("mm", over=0.0))
def root_notes(arm: Reals, thickness: Reals) -> tuple[Note, ...]:
    """Tell when a tooth is too stubby for `root_stress`, which leaves out the shear of
    ``1.5 F_t / (b t)``.

    Parameters
    ----------
    arm : float
        Distance of the tip from the root. [mm]
    thickness : float
        Tooth thickness at the root. [mm]

    Returns
    -------
    notes : tuple of Note

    Raises
    ------
    ModelError
        If a length is not finite or not positive.

    References
    ----------
    TimoshenkoGoodier1970, bending of a cantilever loaded at the end: shear of a rectangle
    """
    slender = float(arm / thickness)
    if slender >= SLENDER:
        return ()
    facts = {"arm_over_thickness": slender, "least": SLENDER, "shear": 1.5 / (6.0 * slender)}
    return (Note(code=RootNote.NO_BEAM, facts=facts),)

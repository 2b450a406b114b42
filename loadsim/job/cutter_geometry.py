"""From [cutter] and [grind] to the end view of the head, and what the load chain takes of it."""

from __future__ import annotations

import math
from functools import lru_cache

from loadsim.job.tables import Cutter, Grind
from loadsim.mechanics import force, head_profile
from loadsim.mechanics.head_profile import HeadShape

#: Primary relief of a cutter whose job file does not say (common practice, no source). [rad]
DEFAULT_RELIEF = math.radians(7.0)


def rake_of(cutter: Cutter) -> float:
    """Rake, given as such or by how far past the centre the flute face was ground. [rad]"""
    if cutter.rake is not None:
        return cutter.rake
    return float(force.rake_from_offset(cutter.face_offset or 0.0, cutter.head_diameter / 2))


def relief_of(cutter: Cutter) -> float:
    """Primary relief, or what is assumed for it. [rad]"""
    return DEFAULT_RELIEF if cutter.relief is None else cutter.relief


def gullet_angle_of(cutter: Cutter, grind: Grind) -> float:
    """Angle between the face and the back of a gullet: as given, else square, or one pitch for over
    four teeth. [rad]
    """
    return (
        min(math.pi / 2, 2 * math.pi / cutter.teeth)
        if grind.gullet_angle is None
        else grind.gullet_angle
    )


@lru_cache(maxsize=64)
def shape_of(cutter: Cutter, grind: Grind) -> HeadShape:
    """End view of the head.

    Parameters
    ----------
    cutter : Cutter
        The [cutter] table.
    grind : Grind
        The [grind] table.

    Returns
    -------
    shape : HeadShape

    Raises
    ------
    ModelError
        If it cannot be ground so.
    """
    angles = [relief_of(cutter)]
    widths = []
    radius = cutter.head_diameter / 2
    if grind.secondary_relief is not None:
        angles.append(grind.secondary_relief)
        widths.append(grind.land)
        if grind.heel_relief is not None and grind.secondary_land is not None:
            angles.append(grind.heel_relief)
            widths.append(grind.secondary_land)
    flats = head_profile.flats_behind(radius, angles, widths)
    return head_profile.ground_head(
        radius,
        cutter.teeth,
        rake_of(cutter),
        grind.gullet_depth,
        gullet_angle_of(cutter, grind),
        flats,
    )


def shoulder_fillet(gap: float, above: float) -> float:
    """Largest fillet between neck and shank that clears the upper corner of the throat.

    The corner stands ``c`` beside the neck and ``z`` under the shank's shoulder; the quarter circle
    through it has ``r = c + z + sqrt(2 c z)``. It may be larger than the gap, unlike the one at the
    head, because it is wide only near the shoulder, above the surface.

    Parameters
    ----------
    gap : float
        Between neck and throat wall. [mm]
    above : float
        How far the shoulder stays above the surface. [mm]

    Returns
    -------
    fillet : float
        Not above 0 where neck or shoulder touch by themselves. [mm]

    Examples
    --------
    >>> shoulder_fillet(0.2, 0.1)
    0.5
    """
    if gap <= 0 or above < 0:
        return min(gap, above)
    return gap + above + math.sqrt(2 * gap * above)

"""From [cutter] and [grind] to the end view of the head, and what the load chain takes of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from loadsim import force, head_shape, polygon, units
from loadsim.domain import Cutter, Grind, Job
from loadsim.head_shape import HeadShape

#: Primary relief of a cutter whose job file does not say (common practice, no source). [rad]
DEFAULT_RELIEF = math.radians(7.0)
#: Share of the full circle that a fluted head keeps, for area and for the smaller second moment: the weak end of heads with two
#: teeth whose heels are cleared, worked out as polygons (49 to 65 % and 20 to 34 %); assumed until the grind is known.
HEAD_AREA_SHARE, HEAD_MOMENT_SHARE = 0.49, 0.20
#: Share of the circle that is gullet, for the room that chips have: the small end.
GULLET_SHARE = 0.35
#: How far a heel stays under the circle of the edges, over its radius (common practice, no source). [1]
HEEL_DROP = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadSection:
    """What the load chain takes of the head's end view."""

    area: float  #: [mm^2]
    second_moment: float  #: the smaller one [mm^4]
    gullet: float  #: area of one gullet [mm^2]
    tooth_arm: float  #: from the edge to the tooth's weakest section [mm]
    tooth_thickness: float  #: of that section [mm]
    web: float | None  #: diameter of the core; None while the grind is not known [mm]


def rake_of(cutter: Cutter) -> float:
    """Rake, given as such or by how far past the centre the flute face was ground. [rad]"""
    if cutter.rake is not None:
        return cutter.rake
    return float(force.rake_from_offset(cutter.face_offset or 0.0, cutter.head_diameter / 2))


def relief_of(cutter: Cutter) -> float:
    """Primary relief, or what is assumed for it. [rad]"""
    return DEFAULT_RELIEF if cutter.relief is None else cutter.relief


def gullet_angle_of(cutter: Cutter, grind: Grind) -> float:
    """Angle between the face and the back of a gullet: as given, else square, or one pitch for over four teeth. [rad]"""
    return min(math.pi / 2, 2 * math.pi / cutter.teeth) if grind.gullet_angle is None else grind.gullet_angle


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
    angles, widths, radius = [relief_of(cutter)], [], cutter.head_diameter / 2
    if grind.secondary_relief is not None:
        angles.append(grind.secondary_relief)
        widths.append(grind.land)
        if grind.heel_relief is not None and grind.secondary_land is not None:
            angles.append(grind.heel_relief)
            widths.append(grind.secondary_land)
    flats = head_shape.flats_behind(radius, angles, widths)
    return head_shape.ground_head(radius, cutter.teeth, rake_of(cutter), grind.gullet_depth, gullet_angle_of(cutter, grind), flats)


def section_of(job: Job) -> HeadSection:
    """What the load chain takes of the head: from [grind], or assumed shares of the full circle.

    Parameters
    ----------
    job : Job
        The job.

    Returns
    -------
    section : HeadSection
    """
    D, N = job.cutter.head_diameter, job.cutter.teeth
    if job.grind is None:
        circle = math.pi / 4 * D**2
        return HeadSection(
            area=HEAD_AREA_SHARE * circle, second_moment=HEAD_MOMENT_SHARE * math.pi / 64 * D**4,
            gullet=GULLET_SHARE * circle / N, tooth_arm=0.25 * D * math.sqrt(2 / N) if N > 1 else 0.25 * D,
            tooth_thickness=min(0.35 * D, 0.25 * math.pi * D / N), web=None)  # fmt: skip
    shape = shape_of(job.cutter, job.grind)
    m, (arm, thickness) = polygon.moments(shape.outline), head_shape.weakest_tooth_section(shape)
    return HeadSection(area=m.area, second_moment=m.least, gullet=shape.gullet, tooth_arm=arm, tooth_thickness=thickness,
                       web=head_shape.web(shape))  # fmt: skip


def ground_notes(job: Job) -> list[str]:
    """Say what to know about the head as ground, or that its section is assumed.

    Parameters
    ----------
    job : Job
        The job.

    Returns
    -------
    notes : list of str
    """
    if job.grind is None:
        return [f"Assumed that flutes and flats leave the head {HEAD_AREA_SHARE:.0%} of the full round's metal and {HEAD_MOMENT_SHARE:.0%} of its "
                "stiffness against bending (area and second moment): the job file has no [grind]."]  # fmt: skip
    found, shape, cutter = [], shape_of(job.cutter, job.grind), job.cutter

    def show(x: float) -> str:
        return units.show(x, "length", job.job.units)

    drop, behind = head_shape.heel_drop(shape)
    if drop < HEEL_DROP * shape.radius:
        found.append(f"The heel stands {show(drop)} under the circle of the edges, {math.degrees(behind):.0f} deg behind the edge: it will "
                     "rub. Grind a secondary relief and take the heel off farther.")  # fmt: skip
    for what, distance in (("flutes", shape.radius - job.grind.gullet_depth), ("flats behind the teeth", min(f.distance for f in shape.flats))):
        under = cutter.neck_diameter / 2 - distance
        if under > 1e-6:
            found.append(f"The {what} are ground {show(under)} deeper than the neck's surface: stop the wheel at the head's upper face, "
                         "or it nicks the neck.")  # fmt: skip
    return found

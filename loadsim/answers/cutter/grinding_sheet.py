"""The grinding sheet: the order of work, and for each step what to set; the end view and the side
view as polygons.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from loadsim.base.errors import InputError, Problem
from loadsim.base.numbers import Array, plain
from loadsim.job.cutter_geometry import gullet_angle_of, shape_of
from loadsim.job.tables import Grind, Job
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import (
    beam,
    grinding,
    head_profile,
    polygon,
    sections,
    strength,
    stress_concentration,
)
from loadsim.mechanics.head_profile import HeadShape
from loadsim.words.grinding import END_RELIEF, words

#: The neck cut by a wheel: specific energy of hardened steel, the upper end of 20 to 60 J/mm^3
#: (Malkin2008). [MPa]
WHEEL_ENERGY = 60_000.0

#: Normal over tangential force, width of the wheel's edge, its surface speed, seconds for one turn
#: of the blank by hand,
#: give that still grinds to size, usual infeed that does not burn, chance of a break (all common
#: practice, no source).
NORMAL = 2.5
WHEEL_WIDTH = 3.0
WHEEL_SPEED = 25_000.0
TURN = 5.0
GIVE = 0.005
USUAL = 0.02
ODDS = 0.001


@dataclass(frozen=True, slots=True, kw_only=True)
class GrindStep:
    """One step at the grinder."""

    number: int
    name: str
    what: str  #: in words
    index_deg: tuple[float, ...]  #: of the indexing head; 0 grinds the flute of the first tooth
    offset_mm: float | None  #: of the wheel's side from the centre, positive past it
    #: from the round head's surface, or the blank's for the head and the neck
    set_down_mm: float | None
    set_down_from_blank_mm: float | None  #: from the blank's own surface
    from_end_mm: tuple[float, float] | None  #: along the axis, from the end face
    check: str  #: how to know that it is right


@dataclass(frozen=True, slots=True, kw_only=True)
class Infeed:
    """Largest infeed for each turn of the blank while the neck is cut, at one diameter."""

    diameter_mm: float
    by_strength_mm: float
    by_deflection_mm: float
    usual_mm: float  #: more burns
    infeed_mm: float  #: the least of them
    steps_to_break: float  #: of this infeed on top of each other, at which the blank would break


@dataclass(frozen=True, slots=True, kw_only=True)
class GrindingSheet:
    """The grinding sheet of one cutter."""

    operations: tuple[GrindStep, ...]
    infeed: tuple[Infeed, ...]
    head: dict[str, float]  #: what the end view comes to
    heat: tuple[tuple[str, str], ...]  #: grinding colour and what it means for this blank
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the sheet as JSON data."""
        return {
            "operations": plain(self.operations),
            "infeed": plain(self.infeed),
            "head": self.head,
            "heat": [list(x) for x in self.heat],
            "notes": list(self.notes),
        }


def sheet(job: Job) -> GrindingSheet:
    """Write the grinding sheet of a job with a [grind] table.

    Parameters
    ----------
    job : Job
        The whole job.

    Returns
    -------
    sheet : Sheet

    Raises
    ------
    InputError
        If the job has no [grind].
    """
    resolved = resolve(job)
    ground = _grind(job)
    shape = shape_of(job.cutter, ground)
    return GrindingSheet(
        operations=tuple(_operations(resolved, ground, shape)),
        infeed=tuple(_infeed(resolved)),
        head=_head(resolved, shape),
        heat=resolved.blank.heat,
        notes=tuple(
            n for n in resolved.notes if n.startswith(("The heel", "The flutes", "The flats"))
        ),
    )


def _grind(job: Job) -> Grind:
    if job.grind is None:
        raise InputError(
            "job",
            [Problem(where="[grind]", message="is missing; have it proposed: loadsim grind JOB")],
        )
    return job.grind


def _head(job: ResolvedJob, shape: HeadShape) -> dict[str, float]:
    m, (arm, thickness) = polygon.moments(shape.outline), head_profile.weakest_tooth_section(shape)
    drop, _ = head_profile.heel_drop(shape)
    return {
        "rake_deg": math.degrees(job.rake),
        "relief_deg": math.degrees(job.relief),
        "wedge_deg": math.degrees(float(grinding.wedge_angle(job.rake, job.relief))),
        "web_mm": head_profile.web(shape),
        "land_mm": head_profile.land_width(shape),
        "gullet_area_mm2": shape.gullet,
        "area_mm2": m.area,
        "area_share": m.area / (math.pi * shape.radius**2),
        "least_second_moment_mm4": m.least,
        "second_moment_share": m.least / (math.pi / 4 * shape.radius**4),
        "torsion_constant_least_mm4": head_profile.torsion_constant_bound(shape),
        "tooth_arm_mm": arm,
        "tooth_thickness_mm": thickness,
        "heel_drop_mm": drop,
    }


def _operations(job: ResolvedJob, ground: Grind, shape: HeadShape) -> list[GrindStep]:
    c = job.cutter
    R = shape.radius
    show = words(job.written)
    above = max((c.shank_diameter - c.head_diameter) / 2, 0.0)
    each = [360.0 * k / c.teeth for k in range(c.teeth)]
    e = float(grinding.offset_from_rake(job.rake, R))
    head = (0.0, c.head_height)
    top = c.head_height + c.neck_length
    found: list[GrindStep] = []

    def add(
        name: str,
        what: str,
        check: str,
        *,
        index: list[float] | None = None,
        offset: float | None = None,
        down: float | None = None,
        from_blank: float | None = None,
        along: tuple[float, float] | None = None,
    ) -> None:
        found.append(
            GrindStep(
                number=len(found) + 1,
                name=name,
                what=what,
                index_deg=tuple(round(x, 3) for x in index or ()),
                offset_mm=offset,
                set_down_mm=down,
                set_down_from_blank_mm=from_blank,
                from_end_mm=along,
                check=check,
            )
        )

    add("True the end", show.true_end(), show.check_end(), along=(0.0, 0.0))
    if above > 1e-6:
        add(
            "Round the head",
            show.round_head(c.head_diameter),
            show.check_head(c.head_diameter),
            down=above,
            from_blank=above,
            along=head,
        )
    add(
        "Cut the neck",
        show.neck(job.fillet),
        show.check_neck(c.neck_diameter),
        down=(c.shank_diameter - c.neck_diameter) / 2,
        from_blank=(c.shank_diameter - c.neck_diameter) / 2,
        along=(c.head_height, top),
    )
    add(
        "Grind the flutes",
        show.flute(e, gullet_angle_of(c, ground)),
        show.check_flute(R - e),
        index=each,
        offset=e,
        down=ground.gullet_depth,
        from_blank=ground.gullet_depth + above,
        along=head,
    )
    names = (
        ("Grind the relief", "relief"),
        ("Grind the second flat", "second"),
        ("Clear the heel", "heel"),
    )
    for flat, (name, kind) in zip(shape.flats, names, strict=False):
        turn = math.degrees(job.rake + flat.angle)
        down = R - flat.distance
        add(
            name,
            show.flat(kind, job.rake, flat.angle),
            show.check_flat(kind, ground.land, head_profile.heel_drop(shape)[0]),
            index=[a + turn for a in each],
            offset=0.0,
            down=down,
            from_blank=down + above,
            along=head,
        )
    add("Hollow both faces", show.faces(END_RELIEF), show.check_faces())
    add("Break nothing sharp", show.burrs(), show.check_burrs())
    add("Stone", show.stone(), show.check_stone(job.edge_radius))
    add("Inspect", show.inspect(), show.check_inspect(job.runout, job.fillet))
    return found


def _infeed(job: ResolvedJob) -> list[Infeed]:
    """Largest infeed at the start, half way and at the end, the wheel at the far end of the neck."""
    c = job.cutter
    d = np.linspace(c.shank_diameter, c.neck_diameter, 3)
    b = min(WHEEL_WIDTH, c.neck_length)
    F_t = grinding.tangential_force(WHEEL_ENERGY, b, 1.0, math.pi * d / TURN / WHEEL_SPEED)
    force_per_depth = grinding.resultant(F_t, NORMAL)
    K_t = np.array(
        [
            (
                float(
                    stress_concentration.stress_concentration_bending(
                        c.shank_diameter, x, job.fillet
                    )
                )
                if x < c.shank_diameter - 1e-6
                else 1.0
            )
            for x in d
        ]
    )
    stress = np.maximum(K_t, 1.0) * c.neck_length / sections.section_modulus(d)
    give = beam.compliance(
        shank_length=max(c.stickout - c.neck_length - c.head_height, 0.0),
        shank_diameter=c.shank_diameter,
        neck_length=c.neck_length,
        neck_diameter=d,
        head_height=c.head_height,
        head_second_moment=sections.second_moment(c.head_diameter),
        head_area=sections.area(c.head_diameter),
        load_reach=c.neck_length,
        E=job.blank.E,
        nu=job.blank.nu,
        k_collet=job.stiffness,
    )
    bears = float(strength.weibull_strength(ODDS, job.strength.sigma_0, job.strength.m))
    if job.strength.yield_strength is not None:
        bears = min(bears, job.strength.yield_strength)
    by_strength, by_give = grinding.largest_infeed(force_per_depth, stress, give, bears, GIVE)
    least = np.minimum(np.minimum(by_strength, by_give), USUAL)
    return [
        Infeed(
            diameter_mm=float(x),
            by_strength_mm=float(p),
            by_deflection_mm=float(q),
            usual_mm=USUAL,
            infeed_mm=float(a),
            steps_to_break=float(p / a),
        )
        for x, p, q, a in zip(d, by_strength, by_give, least, strict=True)
    ]


def end_view(job: Job) -> list[tuple[str, Array]]:
    """End view of the head to scale: seen on its end face, where it turns counter-clockwise.

    Parameters
    ----------
    job : Job
        The whole job, with [grind].

    Returns
    -------
    polygons : list of (name, ndarray of shape (n, 2))
        "blank", "circle of the edges", "neck", "head", corners counter-clockwise. [mm]

    Raises
    ------
    InputError
        If the job has no [grind].
    """
    shape = shape_of(job.cutter, _grind(job))
    c = job.cutter
    a = 2 * np.pi * np.arange(180) / 180
    unit = np.stack([np.cos(a), np.sin(a)], axis=1)
    return [
        ("blank", c.shank_diameter / 2 * unit),
        ("circle of the edges", c.head_diameter / 2 * unit),
        ("neck", c.neck_diameter / 2 * unit),
        ("head", shape.outline.copy()),
    ]


def side_view(job: Job) -> list[tuple[str, Array]]:
    """Side view of the cutter to scale: x across, y along the axis from the end face up.

    Parameters
    ----------
    job : Job
        The whole job.

    Returns
    -------
    polygons : list of (name, ndarray of shape (n, 2))
        "head", "neck" with its fillets, "shank". [mm]
    """
    c = job.cutter
    r = resolve(job).fillet
    z0 = c.head_height
    z1 = c.head_height + c.neck_length
    a = np.linspace(0.0, np.pi / 2, 13)
    r = min(r, c.neck_length / 2)
    low = np.stack([c.neck_diameter / 2 + r * (1 - np.sin(a)), z0 + r * (1 - np.cos(a))], axis=1)
    right = np.concatenate([low, np.stack([low[::-1, 0], z0 + z1 - low[::-1, 1]], axis=1)])
    outline = np.concatenate([right, right[::-1] * [-1.0, 1.0]])

    def box(d: float, low: float, high: float) -> Array:
        return np.array([[-d / 2, low], [d / 2, low], [d / 2, high], [-d / 2, high]])

    return [
        ("head", box(c.head_diameter, 0.0, z0)),
        ("neck", outline),
        ("shank", box(c.shank_diameter, z1, max(c.stickout, z1) + 0.5 * c.shank_diameter)),
    ]

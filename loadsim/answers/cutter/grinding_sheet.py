"""The grinding sheet: the order of work, and for each step what to set; the end view and the side
view as polygons.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from loadsim.base.errors import InputError, Problem
from loadsim.base.numbers import Array, plain
from loadsim.job.cutter_geometry import gullet_angle_of, shape_of
from loadsim.job.tables import Grind, Job
from loadsim.loads.resolve import GroundNote, resolve
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
from loadsim.words.reservations import spoken

#: The neck cut by a wheel: specific energy of hardened steel, the upper end of 20 to 60 J/mm^3
#: (Malkin2008). [MPa]
WHEEL_ENERGY = 60_000.0

#: Normal over tangential force while the wheel cuts (common practice, no source). [1]
NORMAL = 2.5

#: Width of the wheel's edge, and its surface speed (common practice, no source). [mm], [mm/s]
WHEEL_WIDTH = 3.0
WHEEL_SPEED = 25_000.0

#: One turn of the blank by hand (common practice, no source). [s]
TURN = 5.0

#: Give that still grinds to size, and the usual infeed that does not burn (common practice, no
#: source). [mm]
GIVE = 0.005
USUAL = 0.02

#: Chance that the blank breaks at the largest infeed (common practice, no source). [1]
ODDS = 0.001

#: The flats behind an edge in the order in which they are ground: name of the step, kind of flat.
FLATS = (
    ("Grind the relief", "relief"),
    ("Grind the second flat", "second"),
    ("Clear the heel", "heel"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class GrindStep:
    """One step at the grinder."""

    number: int = 0  #: place in the order of work
    name: str
    what: str  #: in words
    #: of the indexing head; 0 grinds the flute of the first tooth
    index_deg: tuple[float, ...] = ()
    offset_mm: float | None = None  #: of the wheel's side from the centre, positive past it
    #: from the round head's surface, or the blank's for the head and the neck
    set_down_mm: float | None = None
    set_down_from_blank_mm: float | None = None  #: from the blank's own surface
    from_end_mm: tuple[float, float] | None = None  #: along the axis, from the end face
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
            "heat": [list(row) for row in self.heat],
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
    sheet : GrindingSheet

    Raises
    ------
    InputError
        If the job has no [grind].
    """
    resolved = resolve(job)
    ground = _grind(job)
    shape = shape_of(job.cutter, ground)
    return GrindingSheet(
        operations=tuple(_order_of_work(resolved, ground, shape)),
        infeed=tuple(_infeed(resolved)),
        head=_head(resolved, shape),
        heat=resolved.blank.heat,
        notes=(
            *(
                spoken(note, resolved.units)
                for note in resolved.notes
                if isinstance(note.code, GroundNote)
            ),
            *resolved.blank.cautions,
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
    section = polygon.moments(shape.outline)
    arm, thickness = head_profile.weakest_tooth_section(shape)
    drop, _ = head_profile.heel_drop(shape)
    return {
        "rake_deg": math.degrees(job.rake),
        "relief_deg": math.degrees(job.relief),
        "wedge_deg": math.degrees(float(grinding.wedge_angle(job.rake, job.relief))),
        "web_mm": head_profile.web(shape),
        "land_mm": head_profile.land_width(shape),
        "gullet_area_mm2": shape.gullet,
        "area_mm2": section.area,
        "area_share": section.area / (math.pi * shape.radius**2),
        "least_second_moment_mm4": section.least,
        "second_moment_share": section.least / (math.pi / 4 * shape.radius**4),
        "torsion_constant_least_mm4": head_profile.torsion_constant_bound(shape),
        "tooth_arm_mm": arm,
        "tooth_thickness_mm": thickness,
        "heel_drop_mm": drop,
    }


def _order_of_work(job: ResolvedJob, ground: Grind, shape: HeadShape) -> list[GrindStep]:
    steps = (
        *_turned_steps(job),
        _flute_step(job, ground, shape),
        *_flat_steps(job, ground, shape),
        *_bench_steps(job),
    )
    return [replace(step, number=i) for i, step in enumerate(steps, 1)]


def _blank_above_head(job: ResolvedJob) -> float:
    """Metal of the blank over the round head. [mm]"""
    return max((job.cutter.shank_diameter - job.cutter.head_diameter) / 2, 0.0)


def _tooth_angles(job: ResolvedJob, turn: float) -> tuple[float, ...]:
    """Indexing angles of every tooth, all moved on by a turn. [deg]"""
    teeth = job.cutter.teeth
    return tuple(round(360.0 * k / teeth + turn, 3) for k in range(teeth))


def _turned_steps(job: ResolvedJob) -> list[GrindStep]:
    """End, head and neck, ground while the blank is turned."""
    cutter = job.cutter
    show = words(job.written)
    above = _blank_above_head(job)
    end = GrindStep(
        name="True the end", what=show.true_end(), check=show.check_end(), from_end_mm=(0.0, 0.0)
    )
    head = GrindStep(
        name="Round the head",
        what=show.round_head(cutter.head_diameter),
        check=show.check_head(cutter.head_diameter),
        set_down_mm=above,
        set_down_from_blank_mm=above,
        from_end_mm=(0.0, cutter.head_height),
    )
    neck = GrindStep(
        name="Cut the neck",
        what=show.neck(job.fillet, job.head_fillet),
        check=show.check_neck(cutter.neck_diameter),
        set_down_mm=(cutter.shank_diameter - cutter.neck_diameter) / 2,
        set_down_from_blank_mm=(cutter.shank_diameter - cutter.neck_diameter) / 2,
        from_end_mm=(cutter.head_height, cutter.head_height + cutter.neck_length),
    )
    return [end, head, neck] if above > 1e-6 else [end, neck]


def _flute_step(job: ResolvedJob, ground: Grind, shape: HeadShape) -> GrindStep:
    show = words(job.written)
    offset = float(grinding.offset_from_rake(job.rake, shape.radius))
    skew = job.cutter.edge_skew or 0.0
    return GrindStep(
        name="Grind the flutes",
        what=show.flute(offset, gullet_angle_of(job.cutter, ground), skew),
        check=show.check_flute(
            shape.radius - offset, float(grinding.lean(skew, job.cutter.head_height))
        ),
        index_deg=_tooth_angles(job, 0.0),
        offset_mm=offset,
        set_down_mm=ground.gullet_depth,
        set_down_from_blank_mm=ground.gullet_depth + _blank_above_head(job),
        from_end_mm=(0.0, job.cutter.head_height),
    )


def _flat_steps(job: ResolvedJob, ground: Grind, shape: HeadShape) -> list[GrindStep]:
    """The flats behind the edge: relief, second flat, heel, as many as the tooth has."""
    show = words(job.written)
    drop, _ = head_profile.heel_drop(shape)
    dip = float(grinding.dip(job.cutter.edge_skew or 0.0, job.relief))
    steps = []
    for flat, (name, kind) in zip(shape.flats, FLATS, strict=False):
        turn = math.degrees(job.rake + flat.angle)
        down = shape.radius - flat.distance
        steps.append(
            GrindStep(
                name=name,
                what=show.flat(kind, job.rake, flat.angle, dip),
                check=show.check_flat(kind, ground.land, drop),
                index_deg=_tooth_angles(job, turn),
                offset_mm=0.0,
                set_down_mm=down,
                set_down_from_blank_mm=down + _blank_above_head(job),
                from_end_mm=(0.0, job.cutter.head_height),
            )
        )
    return steps


def _bench_steps(job: ResolvedJob) -> list[GrindStep]:
    """What is done once the teeth stand."""
    show = words(job.written)
    rows = (
        ("Hollow both faces", show.faces(END_RELIEF), show.check_faces()),
        ("Break nothing sharp", show.burrs(), show.check_burrs()),
        ("Stone", show.stone(), show.check_stone(job.edge_radius)),
        ("Inspect", show.inspect(), show.check_inspect(job.runout, job.fillet, job.head_fillet)),
    )
    return [GrindStep(name=name, what=what, check=check) for name, what, check in rows]


def _infeed(job: ResolvedJob) -> list[Infeed]:
    """Infeeds at the start, half way and at the end, the wheel at the far end of the neck."""
    cutter = job.cutter
    d = np.linspace(cutter.shank_diameter, cutter.neck_diameter, 3)
    b = min(WHEEL_WIDTH, cutter.neck_length)
    F_t = grinding.tangential_force(WHEEL_ENERGY, b, 1.0, math.pi * d / TURN / WHEEL_SPEED)
    force_per_depth = grinding.resultant(F_t, NORMAL)
    stress_per_force = (
        np.maximum(_notch(job, d), 1.0) * cutter.neck_length / sections.section_modulus(d)
    )
    by_strength, by_deflection = grinding.largest_infeed(
        force_per_depth, stress_per_force, _compliance(job, d), _bearable_stress(job), GIVE
    )
    infeed = np.minimum(np.minimum(by_strength, by_deflection), USUAL)
    return [
        Infeed(
            diameter_mm=float(d[i]),
            by_strength_mm=float(by_strength[i]),
            by_deflection_mm=float(by_deflection[i]),
            usual_mm=USUAL,
            infeed_mm=float(infeed[i]),
            steps_to_break=float(by_strength[i] / infeed[i]),
        )
        for i in range(d.size)
    ]


def _notch(job: ResolvedJob, d: Array) -> Array:
    """Stress concentration at the shank while the neck is ground down to d; 1 at full size. [1]"""
    D = job.cutter.shank_diameter
    ground = d < D - 1e-6
    K_t = np.ones_like(d)
    K_t[ground] = [
        float(stress_concentration.stress_concentration_bending(D, neck, job.fillet))
        for neck in d[ground]
    ]
    return K_t


def _compliance(job: ResolvedJob, d: Array) -> Array:
    """Give of the blank at the far end of a neck ground down to d. [mm/N]"""
    cutter = job.cutter
    return beam.compliance(
        shank_length=max(cutter.stickout - cutter.neck_length - cutter.head_height, 0.0),
        shank_diameter=cutter.shank_diameter,
        neck_length=cutter.neck_length,
        neck_diameter=d,
        head_height=cutter.head_height,
        head_second_moment=sections.second_moment(cutter.head_diameter),
        head_area=sections.area(cutter.head_diameter),
        load_reach=cutter.neck_length,
        E=job.blank.E,
        nu=job.blank.nu,
        k_collet=job.stiffness,
    )


def _bearable_stress(job: ResolvedJob) -> float:
    """Stress that breaks one blank in 1/ODDS, and no more than it yields at. [MPa]"""
    bearable = float(strength.weibull_strength(ODDS, job.strength.sigma_0, job.strength.m))
    if job.strength.yield_strength is None:
        return bearable
    return min(bearable, job.strength.yield_strength)


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
    cutter = job.cutter
    angles = 2 * np.pi * np.arange(180) / 180
    unit_circle = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return [
        ("blank", cutter.shank_diameter / 2 * unit_circle),
        ("circle of the edges", cutter.head_diameter / 2 * unit_circle),
        ("neck", cutter.neck_diameter / 2 * unit_circle),
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
    cutter = job.cutter
    head_top = cutter.head_height
    neck_top = cutter.head_height + cutter.neck_length
    resolved = resolve(job)
    half = cutter.neck_length / 2
    radii = (min(resolved.head_fillet, half), min(resolved.fillet, half))
    shank_top = max(cutter.stickout, neck_top) + 0.5 * cutter.shank_diameter
    return [
        ("head", _rectangle(cutter.head_diameter, 0.0, head_top)),
        ("neck", _neck_outline(cutter.neck_diameter, radii, head_top, neck_top)),
        ("shank", _rectangle(cutter.shank_diameter, neck_top, shank_top)),
    ]


def _rectangle(width: float, low: float, high: float) -> Array:
    half = width / 2
    return np.array([[-half, low], [half, low], [half, high], [-half, high]])


def _neck_outline(d: float, radii: tuple[float, float], low: float, high: float) -> Array:
    """The neck between two heights, with a fillet at both ends, the head's first."""
    angles = np.linspace(0.0, np.pi / 2, 13)
    out, up = 1 - np.sin(angles), 1 - np.cos(angles)
    foot, top = (np.stack([d / 2 + r * out, r * up], axis=1) for r in radii)
    foot[:, 1] += low
    top[:, 1] = high - top[:, 1]
    right = np.concatenate([foot, top[::-1]])
    return np.concatenate([right, right[::-1] * [-1.0, 1.0]])

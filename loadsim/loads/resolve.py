"""From a job to the numbers that the physics takes, with every assumption made on the way said
aloud.
"""

from __future__ import annotations

import math
from dataclasses import replace
from enum import Enum, auto

from loadsim.base.errors import FILE, InputError, Problem
from loadsim.base.notes import Note
from loadsim.job.cutter_geometry import rake_of, relief_of, shape_of
from loadsim.job.shop import told
from loadsim.job.tables import Cutter, Job, Machine
from loadsim.loads.assumptions import (
    DEFAULT_BACKLASH,
    DEFAULT_EDGE_RADIUS,
    DEFAULT_HANDWHEEL,
    DEFAULT_RUNOUT,
    DEFAULT_STIFFNESS,
    LEAST_RELIEF,
    STONED_LAND,
)
from loadsim.loads.blank_strength import neck_strength
from loadsim.loads.fillets import fillets, gap_beside_neck, rubbing
from loadsim.loads.resolved_job import HeadSection, ResolvedJob
from loadsim.loads.skew import most_skew
from loadsim.materials import load, pooling
from loadsim.materials.law import metal_law
from loadsim.materials.load import named
from loadsim.materials.schema import WorkMaterial
from loadsim.mechanics import chip, force, head_profile, polygon
from loadsim.mechanics.force import RADIAL_RAKE_SPREAD, radial_rake_factor, rake_notes
from loadsim.mechanics.force_law import BentPower, PowerRatio, RadialRatio
from loadsim.mechanics.metal_law import MetalLaw
from loadsim.mechanics.stock import Head, Section
from loadsim.mechanics.tooth import root_notes

#: Exponent and spread of force constants of the job's own that leave them open (common practice, no
#: source). [1]
OWN_SLOPE = 0.25
OWN_SPREAD = 0.2


class Assumption(Enum):
    """What is taken where the job file is silent."""

    FROM_SHOP = auto()
    EDGE_RADIUS = auto()
    STONED = auto()
    FILLET = auto()
    RUNOUT = auto()
    SKEW = auto()
    STIFFNESS = auto()
    BACKLASH = auto()
    HANDWHEEL = auto()
    HEAD_SECTION = auto()


class ForceNote(Enum):
    """What to know of the force."""

    RADIAL_BORROWED = auto()


class MetalNote(Enum):
    """What is not known of the metal."""

    HARDNESS_UNKNOWN = auto()


class GroundNote(Enum):
    """What to know of the head as ground."""

    HEEL_RUBS = auto()
    FLUTES_UNDER_NECK = auto()
    FLATS_UNDER_NECK = auto()
    FLANK_RUBS = auto()


class FitNote(Enum):
    """What does not go together, and is no misfit in the cut."""

    HEAD_OVER_SHANK = auto()


def resolve(job: Job) -> ResolvedJob:
    """Resolve a job: materials, defaults, stock, strength, and the notes that go with them.

    Parameters
    ----------
    job : Job
        From `loadsim.job.read.read_job`.

    Returns
    -------
    job : ResolvedJob

    Raises
    ------
    InputError
        If a material is not known or its file is bad.
    """
    work = named(load.load_work, job.work.material, "[work] material")
    blank = named(load.load_blank, job.cutter.material, "[cutter] material")
    assumed = [*_from_shop(job), *_stoned(job), *_straight(job)]
    cutter, machine = job.cutter, job.machine
    section, low, high = _section(job)
    edge_radius = _assume(cutter.edge_radius, DEFAULT_EDGE_RADIUS, Assumption.EDGE_RADIUS, assumed)
    rake = rake_of(cutter)
    metal = _metal(job, work, rake)
    radial, radial_spread = _radial_basis(job, work, rake)
    ground = section_of(job)
    fillet, head_fillet, rubs = _fillets(job, (low, high), assumed)
    notes = _model_notes(job, work, ground, rake, metal.rake_reference)
    (assumed if job.grind is None else notes).extend(ground_notes(job))
    return ResolvedJob(
        written=job,
        work=work,
        blank=blank,
        head=_head(cutter),
        head_section=ground,
        section=section,
        side=high,
        side_low=low,
        fillet=fillet,
        head_fillet=head_fillet,
        edge_radius=edge_radius,
        h_min=float(chip.thinnest(edge_radius, work.h_min_ratio)),
        runout=_assume(cutter.runout, DEFAULT_RUNOUT, Assumption.RUNOUT, assumed),
        rake=rake,
        relief=relief_of(cutter),
        stiffness=_assume(machine.stiffness, DEFAULT_STIFFNESS, Assumption.STIFFNESS, assumed),
        backlash=_backlash(machine, assumed),
        handwheel=_handwheel(job, assumed),
        metal=metal,
        force_factor=_force_factor(job, work, rake, metal.rake_reference) * (1 + rubs),
        radial=radial,
        radial_spread=radial_spread,
        strength=neck_strength(job, blank, notes),
        assumed=tuple(assumed),
        notes=tuple(notes),
    )


def _head(cutter: Cutter) -> Head:
    """The head as a shape of revolution."""
    radius = cutter.head_diameter / 2
    return Head(radius=radius, height=cutter.head_height, corner=cutter.corner_radius or 0.0)


def _assume(given: float | None, default: float, code: Assumption, assumed: list[Note]) -> float:
    if given is not None:
        return given
    assumed.append(Note(code=code, facts={"value": default}))
    return default


def _handwheel(job: Job, assumed: list[Note]) -> float:
    unsaid = assumed if job.machine.feed == "hand" else []
    usual = DEFAULT_HANDWHEEL[job.job.units]
    return _assume(job.machine.handwheel, usual, Assumption.HANDWHEEL, unsaid)


def _backlash(machine: Machine, assumed: list[Note]) -> float:
    usual = DEFAULT_BACKLASH[machine.feed]
    return _assume(machine.backlash, usual, Assumption.BACKLASH, assumed)


def _fillets(
    job: Job, walls: tuple[float, float], assumed: list[Note]
) -> tuple[float, float, float]:
    """Fillet at the shank's shoulder and at the head, and what the latter adds to the force."""
    gap = gap_beside_neck(job, walls)
    shoulder, head = fillets(job.cutter, gap)
    if job.cutter.neck_fillet is None:
        facts = {"value": shoulder, "head": None if job.cutter.head_fillet else head}
        assumed.append(Note(code=Assumption.FILLET, facts=facts))
    return shoulder, head, rubbing(job.cutter, gap, head)


def _section(job: Job) -> tuple[Section, float, float]:
    """Return the stock before the undercut and the y of its low and high wall."""
    slot = job.slot
    half = slot.throat_width / 2
    throat_depth = slot.depth if slot.throat_depth is None else slot.throat_depth
    section = Section(throat_low=-half, throat_high=half, throat_floor=slot.depth - throat_depth)
    if slot.sides == 2:
        return section, -slot.undercut_width / 2, slot.undercut_width / 2
    return section, -half, slot.undercut_width - half


def _metal(job: Job, work: WorkMaterial, rake: float) -> MetalLaw:
    """The force law of the metal: the job file's own constants, or that of its pooled sources."""
    given = job.work
    if given.kc11 is None:
        pool = _pooled(work)
        if given.spread is not None:
            return replace(pool, level_sd=given.spread, slope_sd=0.0)
        off = float(force.rake_spread(rake, pool.rake_reference))
        return replace(pool, level_sd=math.hypot(pool.level_sd, off))
    return MetalLaw(
        median=BentPower(given.kc11, OWN_SLOPE if given.mc is None else given.mc),
        pivot=1.0,
        level_sd=OWN_SPREAD if given.spread is None else given.spread,
        slope_sd=0.0,
        rake_reference=given.rake_reference or 0.0,
        notes=(),
    )


def _pooled(work: WorkMaterial) -> MetalLaw:
    try:
        return metal_law(work.curves)
    except ValueError as error:
        message = f"has force constants that cannot be: {error}; check its m_c, K_tc and K_te"
        raise InputError(FILE, [Problem(where="[work] material", message=message)]) from None


def _from_shop(job: Job) -> list[Note]:
    """What a shop file filled in."""
    if job.shop is None:
        return []
    facts = {"file": job.shop.file, "keys": told(job.shop)}
    return [Note(code=Assumption.FROM_SHOP, facts=facts)]


def _stoned(job: Job) -> list[Note]:
    """Edges without a land, where none was measured and no force was measured with them."""
    if job.cutter.wear is not None or job.work.kc11 is not None:
        return []
    return [Note(code=Assumption.STONED, facts={"value": STONED_LAND})]


def _straight(job: Job) -> list[Note]:
    """Edges that nobody knows to lean."""
    if job.cutter.edge_skew is not None:
        return []
    return [Note(code=Assumption.SKEW, facts={"value": most_skew(job.cutter.teeth)})]


def _radial_basis(job: Job, work: WorkMaterial, rake: float) -> tuple[RadialRatio, float]:
    """Radial over tangential force at this rake, and its spread."""
    if job.work.radial_ratio is not None:
        return PowerRatio(job.work.radial_ratio), 0.0
    measured_at = work.radial.rake_reference or 0.0
    ratio = work.radial.ratio.scaled(float(radial_rake_factor(rake, measured_at)))
    stretch = RADIAL_RAKE_SPREAD * math.fabs(math.degrees(rake - measured_at))
    return ratio, math.hypot(work.radial.spread, stretch)


def _model_notes(
    job: Job, work: WorkMaterial, ground: HeadSection, rake: float, reference: float
) -> list[Note]:
    """Where a model is stretched: rake, a borrowed radial force, a stubby tooth."""
    notes = [*rake_notes(rake, reference), *root_notes(ground.tooth_arm, ground.tooth_thickness)]
    if work.radial.borrowed and job.work.radial_ratio is None:
        facts = {"family": work.radial.borrowed}
        notes.append(Note(code=ForceNote.RADIAL_BORROWED, facts=facts))
    relief = relief_of(job.cutter)
    if relief < LEAST_RELIEF * (1 - 1e-9):
        angles = {"relief": math.degrees(relief), "least": math.degrees(LEAST_RELIEF)}
        notes.append(Note(code=GroundNote.FLANK_RUBS, facts=angles))
    if work.hardness_HV is None:
        notes.append(Note(code=MetalNote.HARDNESS_UNKNOWN))
    head, shank = job.cutter.head_diameter, job.cutter.shank_diameter
    if head > shank + 1e-6:
        notes.append(Note(code=FitNote.HEAD_OVER_SHANK, facts={"head": head, "shank": shank}))
    return notes


def _force_factor(job: Job, work: WorkMaterial, rake: float, reference: float) -> float:
    # with this very cutter
    as_measured = job.work.kc11 is not None and job.work.rake_reference is None
    rake_part = 1.0 if as_measured else float(force.rake_factor(rake, reference))
    if job.work.kc11 is not None:
        return rake_part  # these constants and nothing else
    return rake_part * pooling.adhesion_factor(work, job.work.lubrication)


#: Share of the full circle that a fluted head keeps, for area and for the smaller second moment:
#: the weak end of heads with two
#: teeth whose heels are cleared, worked out as polygons (49 to 65 % and 20 to 34 %); assumed until
#: the grind is known.
HEAD_AREA_SHARE = 0.49
HEAD_MOMENT_SHARE = 0.20

#: Share of the circle that is gullet, for the room that chips have: the small end.
GULLET_SHARE = 0.35

#: How far a heel stays under the circle of the edges, over its radius (common practice, no source).
#: [1]
HEEL_DROP = 0.01


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
    D = job.cutter.head_diameter
    N = job.cutter.teeth
    if job.grind is None:
        circle = math.pi / 4 * D**2
        return HeadSection(
            area=HEAD_AREA_SHARE * circle,
            second_moment=HEAD_MOMENT_SHARE * math.pi / 64 * D**4,
            gullet=GULLET_SHARE * circle / N,
            tooth_arm=0.25 * D * math.sqrt(2 / N) if N > 1 else 0.25 * D,
            tooth_thickness=min(0.35 * D, 0.25 * math.pi * D / N),
            web=None,
        )
    shape = shape_of(job.cutter, job.grind)
    m, (arm, thickness) = polygon.moments(shape.outline), head_profile.weakest_tooth_section(shape)
    return HeadSection(
        area=m.area,
        second_moment=m.least,
        gullet=shape.gullet,
        tooth_arm=arm,
        tooth_thickness=thickness,
        web=head_profile.web(shape),
    )


def ground_notes(job: Job) -> list[Note]:
    """List what to know about the head as ground, or that its section is assumed.

    Parameters
    ----------
    job : Job
        Its [cutter] and [grind].

    Returns
    -------
    notes : list of Note
    """
    if job.grind is None:
        facts = {"area": HEAD_AREA_SHARE, "stiffness": HEAD_MOMENT_SHARE}
        return [Note(code=Assumption.HEAD_SECTION, facts=facts)]
    notes = []
    shape = shape_of(job.cutter, job.grind)
    drop, behind = head_profile.heel_drop(shape)
    if drop < HEEL_DROP * shape.radius:
        facts = {"drop": drop, "behind": math.degrees(behind)}
        notes.append(Note(code=GroundNote.HEEL_RUBS, facts=facts))
    for code, distance in (
        (GroundNote.FLUTES_UNDER_NECK, shape.radius - job.grind.gullet_depth),
        (GroundNote.FLATS_UNDER_NECK, min(f.distance for f in shape.flats)),
    ):
        under = job.cutter.neck_diameter / 2 - distance
        if under > 1e-6:
            notes.append(Note(code=code, facts={"under": under}))
    return notes

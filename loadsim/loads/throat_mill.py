"""The end mill of the throat slot: from the job's table to its loads and stresses; one cut or many
at once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from enum import Enum, auto

import numpy as np

from loadsim.base.errors import FILE, InputError, Problem
from loadsim.base.notes import Note
from loadsim.base.numbers import Array
from loadsim.job.tables import ThroatMill
from loadsim.loads.assumptions import DEFAULT_EDGE_RADIUS, DEFAULT_RUNOUT, WEAR_FACTOR
from loadsim.loads.blank_strength import bend_scale, hard_line, tensile_strength
from loadsim.loads.nominal import known_force
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials import load, pooling
from loadsim.materials.load import named
from loadsim.materials.schema import BlankMaterial
from loadsim.mechanics import beam, chip, end_mill, fatigue, hardness, sections

#: The fluted part bends like a round bar of this share of the diameter (KopsVo1990). Its stress is
#: taken at the full
#: radius: on a core of two thirds of the diameter that leaves room for a notch factor of 1.5 at the
#: flutes' roots. [1]
FLUTED = 0.8

#: Widest side pass, over the diameter (common practice, no source). [1]
SIDE_WIDTH = 0.5

#: Thinnest shank that end mills are sold on, 3 mm or 1/8 in: a thinner mill runs out into that
#: (memory high). [mm]
THINNEST_SHANK = 3.0

#: Turning positions over a revolution, and slices of each stretch of edge. [1]
POSITIONS = 120
SLICES = 8

_NUDGE = 1e-6  # from the angle at which a wall is made, into the cut [rad]


class MillNote(Enum):
    """What is assumed of the throat mill."""

    ASSUMED = auto()
    CORNER_LEFT = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class Mill:
    """The end mill with its material and what the job file does not say."""

    table: ThroatMill
    blank: BlankMaterial
    shank: float  #: its diameter [mm]
    depth: float  #: of the throat slot [mm]
    side_steps: int  #: passes beside the first, on each side [1]
    side_width: float  #: radial width of each, zero when the mill is as wide as the throat [mm]
    runout: float  #: [mm]
    h_min: float  #: thinnest chip the edge cuts [mm]
    force_factor: float  #: wear and adhesion together [1]
    compliance: float  #: deflection of the tip for 1 N across it [mm]
    frequency: float  #: natural frequency [Hz]
    sigma_0: float  #: characteristic bend strength of the fluted part [MPa]
    line: fatigue.StrengthLine  #: fully reversed amplitude against turns
    tau_u: float  #: torsion strength [MPa]
    assumed: tuple[Note, ...]
    notes: tuple[Note, ...]  #: where a model is used outside its range


@dataclass(frozen=True, slots=True, kw_only=True)
class MillLoads:
    """Largest loads on the mill over a revolution and over its kinds of pass, (s,)."""

    peak_chip: Array  #: [mm]
    force: Array  #: across the axis [N]
    torque: Array  #: [N*mm]
    mean_torque: Array  #: over a turn [N*mm]
    mean_axial: Array  #: out of the collet, over a turn [N]
    grip: Array  #: that keeps the shank from slipping at the worst instant [N]
    wall_force: Array  #: across the feed when a wall is made [N]
    #: fully reversed amplitude that bounds bending and torsion, flutes or shank [MPa]
    sigma_a: Array
    sigma_1: Array  #: largest principal stress [MPa]
    m_c: Array  #: exponent of the force law at this chip [1]
    sigma_ln: Array  #: spread of ln(force) [1]


def mill_of(job: ResolvedJob) -> Mill | None:
    """Resolve the [throat_mill] table, or None when the job has none.

    Parameters
    ----------
    job : ResolvedJob
        Its [throat_mill], slot, material and stiffness of the spindle.

    Returns
    -------
    mill : Mill or None

    Raises
    ------
    InputError
        If its material is not known, is soft, or does not fit the hardness given.
    """
    t = job.throat_mill
    slot = job.slot
    work = job.written.work
    if t is None:
        return None
    blank = named(load.load_blank, t.material, "[throat_mill] material")
    HV, tensile, notes = _hardness(t, blank)
    beside = (slot.throat_width - t.diameter) / 2
    steps = math.ceil(beside / (SIDE_WIDTH * t.diameter) - 1e-9) if beside > 1e-6 else 0
    volume = math.pi / 4 * (FLUTED * t.diameter) ** 2 * t.flute_length
    factor = 1.0  # the shop's own constants stand alone
    if work.kc11 is None:
        factor = WEAR_FACTOR * pooling.adhesion_factor(job.work, work.lubrication)
    return Mill(
        table=t,
        blank=blank,
        shank=shank_diameter(t),
        depth=slot.depth if slot.throat_depth is None else slot.throat_depth,
        side_steps=steps,
        side_width=beside / steps if steps else 0.0,
        runout=DEFAULT_RUNOUT if t.runout is None else t.runout,
        h_min=float(chip.thinnest(DEFAULT_EDGE_RADIUS, job.work.h_min_ratio)),
        force_factor=factor,
        compliance=_compliance(job, t, blank),
        frequency=_frequency(job, t, blank),
        sigma_0=bend_scale(blank, volume),
        line=hard_line(blank, HV, None if blank.hardness is None else tensile),
        tau_u=blank.torsion_ratio * tensile,
        assumed=_assumed(t),
        notes=notes,
    )


def shank_diameter(t: ThroatMill) -> float:
    """Diameter of the mill's shank: given, else its own where it is not thinner than any. [mm]"""
    return max(t.diameter, THINNEST_SHANK) if t.shank_diameter is None else t.shank_diameter


def _hardness(t: ThroatMill, blank: BlankMaterial) -> tuple[float, float, tuple[Note, ...]]:
    """Vickers hardness and tensile strength of the mill, with what to know of them."""

    def refuse(key: str, message: str) -> InputError:
        return InputError(FILE, [Problem(where=f"[throat_mill] {key}", message=message)])

    if blank.ductile:
        raise refuse(
            "material",
            f"is {t.material}, which is soft; an end mill is of hardened high-speed steel or"
            " carbide",
        )
    if t.hardness is not None and (blank.hardness is None or not 50 <= t.hardness <= 70):
        raise refuse(
            "hardness",
            f"is {t.hardness:g}; "
            + (
                "leave it out, this material is not rated in HRC"
                if blank.hardness is None
                else "a hardened mill has 50 to 70 HRC"
            ),
        )
    HRC = blank.hardness if t.hardness is None else t.hardness
    if HRC is None:
        return blank.hardness_HV, tensile_strength(HRC, blank), ()
    HV = blank.hardness_HV if t.hardness is None else float(hardness.hardness_to_vickers(HRC))
    notes = (
        *fatigue.murakami_notes(HV, blank.defect_size),
        *(() if t.hardness is None else hardness.hardness_notes(t.hardness)),
    )
    return HV, tensile_strength(HRC, blank), notes


def _assumed(t: ThroatMill) -> tuple[Note, ...]:
    runout = DEFAULT_RUNOUT if t.runout is None else None
    shank = shank_diameter(t) if t.shank_diameter is None else None
    facts = {"edge_radius": DEFAULT_EDGE_RADIUS, "runout": runout, "shank": shank}
    notes = [Note(code=MillNote.ASSUMED, facts=facts)]
    if t.corner_radius:
        notes.append(Note(code=MillNote.CORNER_LEFT, facts={"corner": t.corner_radius}))
    return tuple(notes)


def _compliance(job: ResolvedJob, t: ThroatMill, blank: BlankMaterial) -> float:
    """Tip deflection for a force at the tip, its lowest point: on the safe side."""
    # two equal pieces make one fluted part
    d = FLUTED * t.diameter
    half = t.flute_length / 2
    return float(
        beam.compliance(
            shank_length=max(t.stickout - t.flute_length, 0.0),
            shank_diameter=shank_diameter(t),
            neck_length=half,
            neck_diameter=d,
            head_height=half,
            head_second_moment=sections.second_moment(d),
            head_area=sections.area(d),
            load_reach=t.flute_length,
            E=blank.E,
            nu=blank.nu,
            k_collet=job.stiffness,
        )
    )


def _frequency(job: ResolvedJob, t: ThroatMill, blank: BlankMaterial) -> float:
    shank = shank_diameter(t)
    pieces = [(t.stickout - t.flute_length, shank), (t.flute_length, FLUTED * t.diameter)]
    pieces = [p for p in pieces if p[0] > 1e-6]
    return float(
        beam.natural_frequencies(
            lengths=[p[0] for p in pieces],
            second_moments=[float(sections.second_moment(p[1])) for p in pieces],
            areas=[float(sections.area(p[1])) for p in pieces],
            E=blank.E,
            nu=blank.nu,
            rho=blank.density,
            k_collet=job.stiffness,
            count=1,
        )[0]
    )


def side_angle(mill: Mill) -> float:
    """Immersion angle at which a tooth leaves the metal of a conventional side pass. [rad]"""
    return math.acos(1 - 2 * mill.side_width / mill.table.diameter)


def loads(
    job: ResolvedJob, mill: Mill, f_z: Array, depth: Array, side_depth: Array | None = None
) -> MillLoads:
    """Largest loads on the mill: the first pass in full metal, and the side passes where there are
    any.

    Parameters
    ----------
    job : ResolvedJob
        The force law and radial ratio of its material.
    mill : Mill
        From `mill_of`.
    f_z : ndarray, shape (s,)
        Feed per tooth. [mm]
    depth : ndarray, shape (s,)
        Axial depth of a pass on the centre line. [mm]
    side_depth : ndarray, shape (s,), optional
        Of a side pass; as deep as the others when left out. [mm]

    Returns
    -------
    loads : MillLoads
    """
    centre = pass_loads(job, mill, f_z, depth, side=False)
    if not mill.side_steps:
        return centre
    deep = depth if side_depth is None else side_depth
    return worse(centre, pass_loads(job, mill, f_z, deep, side=True))


def worse(a: MillLoads, b: MillLoads) -> MillLoads:
    """The larger of two kinds of pass, load by load."""
    return MillLoads(
        **{f.name: np.maximum(getattr(a, f.name), getattr(b, f.name)) for f in fields(MillLoads)}
    )


def pass_loads(job: ResolvedJob, mill: Mill, f_z: Array, depth: Array, *, side: bool) -> MillLoads:
    """Largest loads on the mill in one kind of pass.

    Parameters
    ----------
    job : ResolvedJob
        The force law and radial ratio of its material.
    mill : Mill
        From `mill_of`.
    f_z : ndarray, shape (s,)
        Feed per tooth. [mm]
    depth : ndarray, shape (s,)
        Axial depth of the pass. [mm]
    side : bool
        Beside the first, cut conventionally; else in full metal.

    Returns
    -------
    loads : MillLoads
        A pass that makes no wall of the throat has no force on one.
    """
    t = mill.table
    f_z, depth = np.broadcast_arrays(np.atleast_1d(f_z), np.atleast_1d(depth))
    turn = (np.arange(POSITIONS) + 0.5) / POSITIONS * 2 * math.pi
    full = end_mill.slices(turn, t.teeth, depth, t.helix, t.diameter, 0.0, math.pi, SLICES)
    h = end_mill.chip_thickness(full, f_z, mill.runout)
    peak = np.maximum((h * (full.dz > 0)).max(axis=(0, 1, 2)), mill.h_min)
    known = known_force(job, peak)
    law = job.metal.median.scaled(mill.force_factor)
    leave = side_angle(mill) if side else math.pi

    def run(at: Array) -> end_mill.EndMillLoads:
        s = end_mill.slices(at, t.teeth, depth, t.helix, t.diameter, 0.0, leave, SLICES)
        h = end_mill.chip_thickness(s, f_z, mill.runout)
        return end_mill.rubbing_loads(s, h, law, mill.h_min, job.radial_measured, t.helix)

    c = run(turn)
    makes_wall = side or not mill.side_steps
    walls = run(_wall_turns(mill, depth)).F_y if makes_wall else np.zeros((1, f_z.size))
    moments = [_worst(c, arm) for arm in (t.flute_length, t.stickout)]
    torque = c.torque.max(axis=0)
    stress = _stresses(mill, moments, torque)
    return MillLoads(
        peak_chip=peak,
        force=np.hypot(c.F_x, c.F_y).max(axis=0),
        torque=torque,
        mean_torque=c.torque.mean(axis=0),
        mean_axial=c.F_z.mean(axis=0),
        grip=np.hypot(2 * c.torque / mill.shank, c.F_z).max(axis=0),
        wall_force=np.maximum(walls, -walls).max(axis=0),
        sigma_a=np.maximum(*(sections.von_mises(b, q) for b, q in stress)),
        sigma_1=np.maximum(*(sections.largest_principal(b, q) for b, q in stress)),
        m_c=known.m_c,
        sigma_ln=known.sigma_ln,
    )


def _stresses(mill: Mill, moments: list[Array], torque: Array) -> list[tuple[Array, Array]]:
    """Bending and torsion where the flutes end, then at the collet. [MPa]"""
    # the fluted part has the second moment of its share of the circle, at the full radius
    moduli = [(mill.table.diameter, FLUTED**4), (mill.shank, 1.0)]
    return [
        (M / (sections.section_modulus(D) * w), torque / (sections.polar_section_modulus(D) * w))
        for M, (D, w) in zip(moments, moduli, strict=True)
    ]


def _worst(c: end_mill.EndMillLoads, arm: float) -> Array:
    """Largest bending moment at a section that lies an arm above the tip. [N*mm]"""
    return np.asarray(np.hypot(arm * c.F_x - c.S_x, arm * c.F_y - c.S_y).max(axis=0))


def _wall_turns(mill: Mill, depth: Array) -> Array:
    """Turning positions in which some height of a tooth makes a wall: at the tip, and up to the
    deepest lag.
    """
    t = mill.table
    lag = np.linspace(0.0, 1.0, 16)[:, None] * end_mill.lag(depth, t.helix, t.diameter)
    at = [lag + _NUDGE] + ([] if mill.side_steps else [lag + math.pi - _NUDGE])
    return np.concatenate([x + 2 * math.pi * j / t.teeth for x in at for j in range(t.teeth)])

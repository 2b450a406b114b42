"""From a job to the numbers that the physics takes, with every assumption made on the way said aloud."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from loadsim import chip, fatigue, force, materials, strength, units
from loadsim.domain import Job
from loadsim.errors import InputError, Problem
from loadsim.ground import HeadSection, ground_notes, rake_of, relief_of, section_of
from loadsim.materials import BlankMaterial, WorkMaterial
from loadsim.stock import Head, Section

Array = npt.NDArray[np.float64]
M = TypeVar("M")
#: Stands for the job's own file in problems that are found after it was read.
FILE = "job"

#: Gap kept between neck and throat wall, and between shank shoulder and surface. [mm]
CLEARANCE = 0.05
#: What is assumed when the job file is silent (common practice, no source, unless said otherwise).
DEFAULT_FILLET = 0.10  # the corner of a square end mill that plunged the neck [mm]
DEFAULT_EDGE_RADIUS = 0.010  # shop-ground high-speed steel, 5 to 20 um (memory medium) [mm]
DEFAULT_RUNOUT = 0.010  # collet in a worn spindle: 0.013 to 0.025 mm reading, half of it radial (memory medium) [mm]
DEFAULT_STIFFNESS = 10_000.0  # spindle nose of a small mill, 5 to 50 N/um (memory low) [N/mm]
DEFAULT_BACKLASH = {"hand": 0.10, "power": 0.10, "cnc": 0.0}  # table screw, 0.05 to 0.25 mm (memory medium) [mm]
DEFAULT_HANDWHEEL = 5.0  # travel for one turn [mm]
#: Wear of the edge on its way through a slot: handbook factor for end milling (MachinerysHandbook31, W).
WEAR_FACTOR = 1.10
#: Loss of fatigue strength of a hand-ground neck against a gentle grind (FieldKahles1971: up to 40 %).
GRIND_FACTOR = 0.85


@dataclass(frozen=True, slots=True, kw_only=True)
class Radial:
    """Radial over tangential force as ``(K_rc h + K_re)/(K_tc h + K_te)``, with its spread."""

    K_tc: float  #: [MPa]
    K_te: float  #: [N/mm]
    K_rc: float  #: [MPa]
    K_re: float  #: [N/mm]
    spread: float  #: relative standard deviation [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """What the neck of this blank bears."""

    sigma_0: float  #: characteristic bend strength of the neck [MPa]
    m: float  #: Weibull modulus [1]
    spread: float  #: between sources, relative [1]
    S_limit: float  #: fully reversed amplitude borne for N_limit cycles [MPa]
    N_limit: float  #: [1]
    k: float  #: slope of the S-N line [1]
    S_static: float  #: amplitude borne once [MPa]
    fatigue_spread: float  #: relative [1]
    tau_u: float  #: torsion strength [MPa]
    yield_strength: float | None  #: only for ductile blanks [MPa]
    notch_size: float | None  #: tensile strength for the notch sensitivity; None: fully sensitive [MPa]


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """A job with its materials, its defaults and its stock, ready for the chain."""

    job: Job
    work: WorkMaterial
    blank: BlankMaterial
    head: Head
    ground: HeadSection  #: what the flutes leave of the head
    section: Section  #: before the undercut
    side: float  #: half-width datum: y of the undercut's wall on the high side [mm]
    side_low: float  #: y of the undercut's wall (or plain wall) on the low side [mm]
    fillet: float
    edge_radius: float
    h_min: float
    runout: float
    rake: float
    relief: float
    stiffness: float
    backlash: float
    handwheel: float
    rake_reference: float
    force_factor: float  #: rake, wear and adhesion together [1]
    radial: Radial
    strength: Strength
    assumed: tuple[str, ...]  #: what was assumed because the job file is silent
    notes: tuple[str, ...]  #: where a model is used outside its range

    @property
    def axis_limits(self) -> tuple[float, float]:
        """Offsets of the cutter axis at which the head touches the low and the high wall. [mm]"""
        return self.side_low + self.head.radius, self.side - self.head.radius


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One cut, or as many as the arrays are long: what the load chain takes. All () or (s,)."""

    teeth: int
    f_z: Array  #: feed per tooth [mm]
    rho: Array  #: radial runout [mm]
    h_min: Array  #: thinnest chip the edge cuts [mm]
    k_c11: Array  #: [MPa]
    m_c: Array  #: [1]
    force_factor: Array  #: on tangential and radial force [1]
    radial: Radial
    radial_factor: Array  #: on the radial force [1]
    radius: Array  #: over the teeth [mm]
    head_height: Array  #: [mm]
    head_diameter: Array  #: for the neck's fillet at the head [mm]
    neck_length: Array  #: [mm]
    neck_diameter: Array  #: [mm]
    fillet: Array  #: [mm]
    shank_diameter: Array  #: [mm]
    fe_factor: Array  #: on the published bending K_t [1]

    def with_(self, **changes: object) -> Case:
        """Return a copy with some numbers changed."""
        return replace(self, **{k: _array(v) if k != "radial" else v for k, v in changes.items()})  # type: ignore[arg-type]


def _array(value: object) -> Array:
    return np.asarray(value, float)


def setup(job: Job) -> Setup:
    """Resolve a job: materials, defaults, stock, strength, and the notes that go with them.

    Parameters
    ----------
    job : Job
        From `loadsim.job.read_job`.

    Returns
    -------
    setup : Setup

    Raises
    ------
    InputError
        If a material is not known or its file is bad.
    """
    work = _named(materials.load_work, job.work.material, "[work] material")
    blank = _named(materials.load_blank, job.cutter.material, "[cutter] material")
    assumed: list[str] = []
    notes: list[str] = []
    cutter, radius = job.cutter, job.cutter.head_diameter / 2
    head = Head(radius=radius, height=cutter.head_height, corner=cutter.corner_radius or 0.0)
    section, low, high = _section(job)
    rake = rake_of(cutter)
    edge_radius = _assume(job, cutter.edge_radius, DEFAULT_EDGE_RADIUS, "an edge radius of {}", assumed, "chip thickness")
    reference, radial = _force_basis(job, work)
    notes += force.rake_notes(rake, reference)
    (assumed if job.grind is None else notes).extend(ground_notes(job))
    return Setup(
        job=job, work=work, blank=blank, head=head, ground=section_of(job), section=section, side=high, side_low=low,
        fillet=_assume(job, cutter.neck_fillet, DEFAULT_FILLET, "a fillet of {} at the neck's ends (a larger "
                       "one is the cheapest strength there is)", assumed),
        edge_radius=edge_radius,
        h_min=float(chip.thinnest(edge_radius, work.h_min_ratio)),
        runout=_assume(job, cutter.runout, DEFAULT_RUNOUT, "a radial runout of {} at the head", assumed),
        rake=rake,
        relief=relief_of(cutter),
        stiffness=_assume(job, job.machine.stiffness, DEFAULT_STIFFNESS, "a stiffness of {} at the collet", assumed, "stiffness"),
        backlash=_assume(job, job.machine.backlash, DEFAULT_BACKLASH[job.machine.feed],
                         "a table backlash of {}", assumed),
        handwheel=_assume(job, job.machine.handwheel, DEFAULT_HANDWHEEL, "a table travel of {} for one turn of the "
                          "handwheel", assumed if job.machine.feed == "hand" else []),
        rake_reference=reference,
        force_factor=_force_factor(job, work, rake, reference),
        radial=radial,
        strength=_strength(job, blank, notes),
        assumed=tuple(assumed), notes=tuple(notes),
    )  # fmt: skip


def _named(load: Callable[[str], M], name: str, where: str) -> M:
    """Load a material; a name that is not known is a problem of the job file, at its key."""
    try:
        return load(name)
    except InputError as error:
        if name.endswith(".toml") or "/" in name or "\\" in name:
            raise  # a shop's own file has its own problems
        raise InputError(FILE, [Problem(where=where, message=p.message) for p in error.problems]) from None


def _assume(job: Job, given: float | None, default: float, text: str, assumed: list[str], dimension: str = "length") -> float:
    if given is not None:
        return given
    assumed.append("Assumed " + text.format(units.show(default, dimension, job.job.units)) + ": the job file does not say.")
    return default


def _section(job: Job) -> tuple[Section, float, float]:
    """Return the stock before the undercut and the y of its low and high wall."""
    slot = job.slot
    half = slot.throat_width / 2
    throat_depth = slot.depth if slot.throat_depth is None else slot.throat_depth
    section = Section(throat_low=-half, throat_high=half, throat_floor=slot.depth - throat_depth)
    if slot.sides == 2:
        return section, -slot.undercut_width / 2, slot.undercut_width / 2
    return section, -half, slot.undercut_width - half


def _force_basis(job: Job, work: WorkMaterial) -> tuple[float, Radial]:
    given = job.work
    own = given.kc11 is not None
    reference = given.rake_reference or 0.0 if own else materials.pooled(work.curves, 0.02).rake_reference
    if given.radial_ratio is not None:  # K_re = K_te = 0: the ratio is constant
        return reference, Radial(K_tc=1.0, K_te=0.0, K_rc=given.radial_ratio, K_re=0.0, spread=0.0)
    r = work.radial
    return reference, Radial(K_tc=r.K_tc, K_te=r.K_te, K_rc=r.K_rc, K_re=r.K_re, spread=r.spread)


def _force_factor(job: Job, work: WorkMaterial, rake: float, reference: float) -> float:
    as_measured = job.work.kc11 is not None and job.work.rake_reference is None  # with this very cutter
    rake_part = 1.0 if as_measured else float(force.rake_factor(rake, reference))
    if job.work.kc11 is not None:
        return rake_part  # these constants and nothing else
    return rake_part * WEAR_FACTOR * materials.adhesion_factor(work, job.work.lubrication)


def _strength(job: Job, blank: BlankMaterial, notes: list[str]) -> Strength:
    cutter, m = job.cutter, blank.weibull_m
    volume = math.pi / 4 * cutter.neck_diameter**2 * cutter.neck_length
    sigma_0 = float(strength.weibull_scale(
        blank.bend_strength, m,
        blank.bar_volume * float(strength.effective_volume_factor_three_point(m)),
        volume * float(strength.effective_volume_factor_rotating(m)),
    ))  # fmt: skip
    HV = blank.hardness_HV
    if cutter.hardness is not None and not blank.ductile:
        if blank.hardness is None or not 50 <= cutter.hardness <= 70:
            allowed = "leave it out, this blank is not rated in HRC" if blank.hardness is None else "a hardened blank has 50 to 70 HRC"
            raise InputError(FILE, [Problem(where="[cutter] hardness", message=f"is {cutter.hardness:g}; {allowed}")])
        HV = float(strength.hardness_to_vickers(cutter.hardness))
        notes += strength.hardness_notes(cutter.hardness)
        lo, hi = blank.hardness_lo, blank.hardness_hi
        if lo is not None and hi is not None and not lo <= cutter.hardness <= hi:
            notes.append(f"A hardness of {cutter.hardness:g} HRC is outside the usual {lo:g} to {hi:g} HRC of "
                         f"{blank.title}; its bend strength is kept as for the usual hardness.")  # fmt: skip
    if blank.ductile:
        if cutter.hardness is not None:
            notes.append(f"The hardness given is not used: {blank.title} is judged by its yield and tensile strength.")
        return _ductile_strength(blank, sigma_0)
    S_limit = float(fatigue.murakami_limit_surface(HV, blank.defect_size)) * GRIND_FACTOR
    notes += fatigue.murakami_notes(HV, blank.defect_size)
    return Strength(
        sigma_0=sigma_0, m=m, spread=blank.bend_strength_spread, S_limit=S_limit, N_limit=1e7, k=blank.basquin_k,
        S_static=blank.bend_strength, fatigue_spread=math.hypot(0.10, blank.defect_size_spread / 6),
        tau_u=blank.torsion_ratio * _tensile(job, blank), yield_strength=None, notch_size=None,
    )  # fmt: skip


def _tensile(job: Job, blank: BlankMaterial) -> float:
    """Return the tensile strength equivalent to the hardness, which falls off the table for carbide. [MPa]"""
    hardness = blank.hardness if job.cutter.hardness is None else job.cutter.hardness
    if hardness is None:
        return blank.bend_strength / 2  # carbide: tension bears about half of bending (memory medium)
    return float(strength.hardness_to_tensile(min(hardness, 65.0)))


def _ductile_strength(blank: BlankMaterial, sigma_0: float) -> Strength:
    S_ut, S_y = blank.ultimate_strength, blank.yield_strength
    if S_ut is None or S_y is None:
        raise ValueError(f"{blank.name} is marked ductile but has no yield and ultimate strength")
    a, b = fatigue.MARIN_SURFACE["ground"]
    S_e = float(fatigue.endurance_limit_steel(S_ut) * fatigue.marin_surface(S_ut, a, b))
    _, slope = fatigue.finite_life_constants(S_ut, 0.82, S_e)
    return Strength(sigma_0=sigma_0, m=blank.weibull_m, spread=blank.bend_strength_spread, S_limit=S_e, N_limit=1e6,
                    k=-1.0 / float(slope), S_static=0.82 * S_ut, fatigue_spread=0.12,
                    tau_u=float(strength.torsion_strength(S_ut)), yield_strength=S_y, notch_size=S_ut)  # fmt: skip


def peak_chip(setup: Setup, f_z: float | Array, sine: float) -> Array:
    """Thickest chip of a turn, at which the force constants are pooled.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    f_z : float or array
        Feed per tooth. [mm]
    sine : float
        sin(phi) where the thickest chip is cut. [1]

    Returns
    -------
    h : ndarray
        [mm]
    """
    teeth = setup.job.cutter.teeth
    phi = np.full(teeth, math.asin(min(sine, 1.0)))
    h = chip.thickness(phi, np.arange(teeth), f_z, setup.runout, teeth).max(axis=0)
    return np.asarray(np.maximum(h, setup.h_min))


def force_constants(setup: Setup, h: Array) -> tuple[Array, Array, Array, tuple[str, ...]]:
    """Force constants of this job at the chip thickness of the cut.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    h : ndarray
        Chip thickness of the cut. [mm]

    Returns
    -------
    k_c11 : ndarray
        Of the power law that touches the pooled curve at h. [MPa]
    m_c : ndarray
        [1]
    sigma_ln : ndarray
        Standard deviation of the natural logarithm of the force. [1]
    notes : tuple of str
        Where a source is used outside its range.
    """
    work = setup.job.work
    if work.kc11 is not None:
        m_c = 0.25 if work.mc is None else work.mc
        spread = 0.2 if work.spread is None else work.spread
        one = np.ones_like(h)
        return one * work.kc11, one * m_c, one * spread, ()
    p = materials.pooled(setup.work.curves, h)
    sigma = p.sigma_ln if work.spread is None else np.full_like(p.sigma_ln, work.spread)
    return p.k_c * h**p.m_c, p.m_c, sigma, (
        *p.notes, *materials.range_notes(setup.work.curves, h, setup.job.job.units, float(np.max(sigma))))  # fmt: skip


def nominal_case(setup: Setup, f_z: float | Array, sine: float, fe_factor: float) -> Case:
    """Return the cut as drawn and as assumed, for one feed or many.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    f_z : float or array
        Feed per tooth. [mm]
    sine : float
        sin(phi) where the thickest chip is cut. [1]
    fe_factor : float
        On the published bending K_t, for the finite elements it lies below. [1]

    Returns
    -------
    case : Case
    """
    cutter = setup.job.cutter
    h = peak_chip(setup, f_z, sine)
    k_c11, m_c, _, _ = force_constants(setup, h)
    return Case(
        teeth=cutter.teeth, f_z=_array(f_z), rho=_array(setup.runout), h_min=_array(setup.h_min),
        k_c11=k_c11, m_c=m_c, force_factor=_array(setup.force_factor), radial=setup.radial,
        radial_factor=_array(1.0), radius=_array(setup.head.radius), head_height=_array(cutter.head_height),
        head_diameter=_array(cutter.head_diameter), neck_length=_array(cutter.neck_length),
        neck_diameter=_array(cutter.neck_diameter), fillet=_array(setup.fillet),
        shank_diameter=_array(cutter.shank_diameter), fe_factor=_array(fe_factor),
    )  # fmt: skip

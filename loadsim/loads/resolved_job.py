"""A job with its materials and defaults filled in: what the whole chain reads, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass

from loadsim.base.notes import Note
from loadsim.base.units import System
from loadsim.job.tables import (
    Cut,
    Cutter,
    Grind,
    Job,
    Machine,
    Predrill,
    Slot,
    Target,
    ThroatMill,
    Trial,
)
from loadsim.materials.schema import BlankMaterial, WorkMaterial
from loadsim.mechanics.fatigue import StrengthLine
from loadsim.mechanics.force_law import PowerRatio, RadialRatio
from loadsim.mechanics.metal_law import MetalLaw
from loadsim.mechanics.stock import Head, Section


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """What the neck of this blank bears."""

    #: characteristic bend strength of the neck, with half the credit for its small volume [MPa]
    sigma_0: float
    #: ln of the whole credit for a volume smaller than the test bar's; 0 for a larger one [1]
    size_credit: float
    m: float  #: Weibull modulus [1]
    spread: float  #: of the bend strength between sources, relative [1]
    line: StrengthLine  #: fully reversed amplitude against turns
    thousand_spread: float  #: of what is borne for a thousand turns, relative [1]
    limit_spread: float  #: of what is borne at the fatigue limit, relative [1]
    tau_u: float  #: torsion strength [MPa]
    yield_strength: float | None  #: only for ductile blanks [MPa]
    #: tensile strength for the notch sensitivity; None: fully sensitive [MPa]
    notch_size: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadSection:
    """What the load chain takes of the head's end view."""

    area: float  #: [mm^2]
    second_moment: float  #: the smaller one [mm^4]
    gullet: float  #: area of one gullet [mm^2]
    tooth_arm: float  #: from the edge to the tooth's weakest section [mm]
    tooth_thickness: float  #: of that section [mm]
    web: float | None  #: diameter of the core; None while the grind is not known [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class ResolvedJob:
    """A job with its materials, its defaults and its stock, ready for the chain."""

    written: Job  #: the job file, as written
    work: WorkMaterial
    blank: BlankMaterial
    head: Head
    head_section: HeadSection  #: what the flutes leave of the head
    section: Section  #: before the undercut
    side: float  #: half-width datum: y of the undercut's wall on the high side [mm]
    side_low: float  #: y of the undercut's wall (or plain wall) on the low side [mm]
    fillet: float  #: at the shank's shoulder [mm]
    head_fillet: float  #: where the neck meets the head [mm]
    edge_radius: float
    h_min: float
    runout: float
    rake: float
    relief: float
    stiffness: float
    backlash: float
    handwheel: float
    metal: MetalLaw  #: the tangential force of the metal, at the rake of its sources
    force_factor: float  #: rake, adhesion and a rubbing fillet together [1]
    radial: RadialRatio  #: radial over tangential force, at the rake of the cutter
    radial_spread: float  #: standard deviation of its logarithm [1]
    strength: Strength
    assumed: tuple[Note, ...]  #: what was assumed because the job file is silent
    notes: tuple[Note, ...]  #: where a model is used outside its range

    @property
    def radial_measured(self) -> RadialRatio:
        """Radial over tangential force at the rake it was measured at: of the throat mill."""
        given = self.written.work.radial_ratio
        return self.work.radial.ratio if given is None else PowerRatio(given)

    @property
    def slot(self) -> Slot:
        """``[slot]`` of the job file."""
        return self.written.slot

    @property
    def cutter(self) -> Cutter:
        """``[cutter]`` of the job file."""
        return self.written.cutter

    @property
    def machine(self) -> Machine:
        """``[machine]`` of the job file."""
        return self.written.machine

    @property
    def cut(self) -> Cut:
        """``[cut]`` of the job file."""
        return self.written.cut

    @property
    def target(self) -> Target:
        """``[target]`` of the job file."""
        return self.written.target

    @property
    def predrill(self) -> Predrill | None:
        """``[predrill]`` of the job file."""
        return self.written.predrill

    @property
    def grind(self) -> Grind | None:
        """``[grind]`` of the job file."""
        return self.written.grind

    @property
    def throat_mill(self) -> ThroatMill | None:
        """``[throat_mill]`` of the job file."""
        return self.written.throat_mill

    @property
    def trial(self) -> tuple[Trial, ...]:
        """Every ``[[trial]]`` of the job file."""
        return self.written.trial

    @property
    def units(self) -> System:
        """Which units the answer leads with."""
        return self.written.job.units

    @property
    def axis_limits(self) -> tuple[float, float]:
        """Offsets of the cutter axis at which the head touches the low and the high wall. [mm]

        Both are one for a head that is wider than the undercut, inside its tolerance: half way
        between two undercut walls, and against a plain wall, which must not be cut.
        """
        low = self.side_low + self.head.radius
        high = self.side - self.head.radius
        only = (self.side_low + self.side) / 2 if self.slot.sides == 2 else low
        return (low, high) if low <= high else (only, only)

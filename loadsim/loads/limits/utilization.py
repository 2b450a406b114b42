"""What a limit is: demand over capacity, hard or soft, and a code that logic asks for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum, StrEnum, auto

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array


class LimitCode(StrEnum):
    """Every way that a tool can go wrong; its value is the name that a reader sees.

    Undercut cutter and throat mill share a code where the limit is the same.
    """

    SNAP_PROBABILITY = "snap probability"
    NECK_FRACTURE = "neck fracture"
    NECK_FATIGUE = "neck fatigue"
    NECK_TORSION = "neck torsion"
    TOOTH_ROOT = "tooth root"
    WEB_OF_THE_HEAD = "web of the head"
    SPINDLE_TORQUE = "spindle torque"
    TABLE_GRAB = "table grab"
    COLLET_SLIP = "collet slip"
    RESONANCE = "resonance"
    WALL_ERROR = "wall error"
    RUBBING = "rubbing"
    CHIP_PACKING = "chip packing"
    SURFACE_SPEED = "surface speed"
    BLANK_AGAINST_METAL = "blank against metal"
    HANDWHEEL_SPEED = "handwheel speed"

    NECK_ON_WALL = "neck on throat wall"
    NECK_IN_THROAT = "neck in throat"
    FILLET_IN_THROAT = "fillet in throat"
    SHOULDER_ABOVE_SURFACE = "shoulder above surface"
    HEAD_IN_UNDERCUT = "head in undercut"
    REACH_OF_SIDE_PASSES = "reach of side passes"
    NECK_ABOVE_THROAT_FLOOR = "neck above throat floor"
    HEAD_BETWEEN_THE_ENDS = "head between the ends"
    DROP_IN_HOLE = "drop-in hole"

    MILL_FRACTURE = "mill fracture"
    MILL_FATIGUE = "mill fatigue"
    MILL_TORSION = "mill torsion"
    MILL_SNAP_PROBABILITY = "mill snap probability"
    COLLET_HOLD = "collet hold"
    THROAT_WALL_ERROR = "throat wall error"

    DRILL_TORQUE = "drill torque"
    DRILL_THRUST = "drill thrust"
    DRILL_DEPTH = "drill depth"


class CutNote(Enum):
    """What is told of a cut beside its limits and never judged."""

    BUILT_UP_EDGE = auto()
    HARMONIC = auto()
    CHATTER = auto()
    BURNISHES = auto()
    DUE_FOR_STONE = auto()


#: Limits of the neck itself.
NECK = frozenset({LimitCode.NECK_FRACTURE, LimitCode.NECK_FATIGUE, LimitCode.NECK_TORSION})

#: Limits that a slower feed does nothing about.
FEEDLESS = frozenset(
    {LimitCode.RUBBING, LimitCode.SURFACE_SPEED, LimitCode.RESONANCE, LimitCode.BLANK_AGAINST_METAL}
)

#: Reading a limit as "near" its capacity: a go keeps every hard limit under this. [1]
NEAR = 0.8

#: Largest share of its capacity that a limit may take and still hold: full, but for rounding. [1]
FULL = 1 + 1e-9


def is_over(utilization: float) -> bool:
    """Whether a limit used to this share does not hold; a share that is no number never holds."""
    return not utilization <= FULL


def _decides(code: LimitCode, utilization: float | Array) -> bool:
    near = np.logical_not(np.asarray(utilization) <= NEAR)
    return code is not LimitCode.BLANK_AGAINST_METAL or bool(near.any())


#: What a sentence may tell beside demand and capacity: a number, a name, a choice.
Fact = Array | npt.NDArray[np.bool_] | float | str | bool | Enum


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One way the cut can go wrong: demand against capacity."""

    name: LimitCode
    demand: float
    capacity: float
    unit: str
    utilization: float
    hard: bool
    fit: bool  #: a clearance, judged by itself
    note: str

    @property
    def over(self) -> bool:
        """Whether it does not hold."""
        return is_over(self.utilization)

    @property
    def decides(self) -> bool:
        """Whether its share tells of this cut. Blank and metal are what they are, whatever is set
        and ground: they decide only near their end.
        """
        return _decides(self.name, self.utilization)


@dataclass(frozen=True, slots=True, kw_only=True)
class Utilization:
    """One limit in numbers, of one cut or of many."""

    code: LimitCode
    demand: Array
    capacity: Array
    unit: str
    hard: bool
    fit: bool = False  #: a check of clearances, which is judged by itself and not by how near it is
    facts: Mapping[str, Fact] = field(default_factory=dict)  #: what its sentence tells beside these

    @property
    def utilization(self) -> Array:
        """Demand over capacity. [1]"""
        u: Array = np.asarray(self.demand, float) / np.asarray(self.capacity, float)
        return u

    @property
    def over(self) -> npt.NDArray[np.bool_]:
        """Whether it does not hold, of each cut."""
        return np.logical_not(self.utilization <= FULL)

    @property
    def decides(self) -> bool:
        """Whether its share tells of these cuts; see `Limit.decides`."""
        return _decides(self.code, self.utilization)

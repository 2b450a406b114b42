"""What a material file may say, and what comes out of it: quantities, units, marks and facts."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from loadsim.base.numbers import Array
from loadsim.mechanics.force_law import ForceLaw, RadialRatio

Kind = Literal["work", "blank"]

MARKS = ("read", "via", "memory-high", "memory-medium", "memory-low", "common-practice", "shop")

LUBRICATIONS = ("dry", "brush", "mist", "flood")

# --- what a file may say
# ----------------------------------------------------------------------------------
# Handbook units of material data, to those inside (mm, N, MPa, s, rad; defect size um, density
# kg/m^3).
_ONE = {"1": 1.0}

_LENGTH = {"mm": 1.0, "um": 1e-3, "in": 25.4}

_MICRON = {"um": 1.0, "mm": 1e3}

_VOLUME = {"mm^3": 1.0}

_ANGLE = {"deg": math.pi / 180, "rad": 1.0}

_SPEED = {"m/min": 1000 / 60, "ft/min": 304.8 / 60, "mm/s": 1.0}

_STRESS = {"MPa": 1.0, "GPa": 1e3, "N/mm^2": 1.0}

_EDGE = {"N/mm": 1.0}

_ENERGY = {"hp/(in^3/min)": 550 * 12 * 4.4482216152605 * 60 / 25.4**2, "J/mm^3": 1e3}

_DENSITY = {"kg/m^3": 1.0}

_HRC = {"HRC": 1.0}

_HV = {"HV": 1.0}

_TOUGHNESS = {"MPa*sqrt(m)": 1.0}


@dataclass(frozen=True, slots=True)
class Quantity:
    """What one value table must hold."""

    units: Mapping[str, float]
    needs: tuple[str, ...] = ("value",)
    low: float = 0.0
    high: float = math.inf
    strict: bool = True  # low itself is refused
    required: bool = True


def _optional(
    units: Mapping[str, float], needs: tuple[str, ...] = ("value",), low: float = 0.0
) -> Quantity:
    return Quantity(units, needs, low=low, required=False)


RANGE = ("lo", "hi")

_WORK: dict[str, Quantity] = {
    "surface_speed": Quantity(_SPEED, RANGE),
    "h_min_ratio": Quantity(_ONE, high=1.0),
    "bulking": Quantity(_ONE, ("value", "lo", "hi"), low=1.0, strict=False),
    "built_up_edge_speed": _optional(_SPEED),
    "density": _optional(_DENSITY),
} | {f"adhesion_{how}": Quantity(_ONE, low=1.0, strict=False) for how in LUBRICATIONS}

_BLANK: dict[str, Quantity] = {
    "E": Quantity(_STRESS),
    "nu": Quantity(_ONE, high=0.5),
    "density": Quantity(_DENSITY),
    "hardness_HRC": Quantity(
        _HRC, ("value", "lo", "hi"), low=20.0, high=72.0, strict=False, required=False
    ),
    "hardness_HV": Quantity(_HV),
    "bend_strength": Quantity(_STRESS),
    "weibull_m": Quantity(_ONE, ("value", "lo", "hi"), low=1.0),
    "bar_volume": Quantity(_VOLUME),
    "defect_size": Quantity(_MICRON),
    "basquin_k": Quantity(_ONE, ("value", "lo", "hi"), low=1.0),
    "torsion_ratio": Quantity(_ONE, high=1.0),
    "K_IC": Quantity(_TOUGHNESS),
    "speed_factor": Quantity(_ONE),
    "yield_strength": _optional(_STRESS),
    "ultimate_strength": _optional(_STRESS),
}

QUANTITIES: dict[str, dict[str, Quantity]] = {"work": _WORK, "blank": _BLANK}

_SHARED = {
    "rake_reference": Quantity(_ANGLE, low=-math.pi / 4, high=math.pi / 4, required=False),
    "h_range": _optional(_LENGTH, RANGE),
}

MODELS: dict[str, dict[str, Quantity]] = {
    "kienzle": {"k_c11": Quantity(_STRESS), "m_c": Quantity(_ONE, high=0.6), **_SHARED},
    "edge": {
        "K_tc": Quantity(_STRESS),
        "K_te": Quantity(_EDGE, strict=False),
        "K_rc": _optional(_STRESS),
        "K_re": _optional(_EDGE),
        **_SHARED,
    },
    "unit-power": {
        "unit_power": Quantity(_ENERGY),
        "chip_thickness": Quantity(_LENGTH),
        "m_c": Quantity(_ONE, high=0.6),
        "efficiency": Quantity(_ONE, high=1.0, required=False),
        **_SHARED,
    },
}

RADIAL: dict[str, dict[str, Quantity]] = {
    "edge": {
        "K_tc": Quantity(_STRESS),
        "K_te": Quantity(_EDGE, strict=False),
        "K_rc": Quantity(_STRESS),
        "K_re": Quantity(_EDGE, strict=False),
        "ratio_spread": Quantity(_ONE),
        "h_range": _SHARED["h_range"],
    },
    "constant": {
        "ratio": Quantity(_ONE),
        "ratio_spread": Quantity(_ONE),
        "h_range": _SHARED["h_range"],
    },
}

HEAD = ("kind", "title", "family", "condition", "hardness", "cautions", "ductile", "heat")

SOURCE_HEAD = ("source", "locator", "mark", "condition")

VALUE_KEYS = ("value", "lo", "hi", "unit", "spread", "condition", "locator", "mark")


# --- what comes out
# ---------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class ValueRow:
    """One value as its source gives it, for printing."""

    group: str  #: "" or the table it belongs to ("curves.NAME", "radial")
    quantity: str  #: key of the value
    value: float | None  #: in ``unit``, as printed
    lo: float | None  #: low end, in ``unit``
    hi: float | None  #: high end, in ``unit``
    unit: str  #: unit as printed
    spread: float | None  #: relative standard deviation [1]
    condition: str  #: under which condition it holds
    locator: str  #: where in the source
    source: str  #: key of the source; "shop: ..." for a shop's own file
    mark: str  #: who has read it, one of ``MARKS``


@dataclass(frozen=True, slots=True, kw_only=True)
class ForceCurve:
    """Cutting force of one source: its law, and where and how well it was measured."""

    label: str  #: name of the curve in its file
    source: str  #: key of the source
    model: str  #: "kienzle", "edge" or "unit-power": how the source prints it
    law: ForceLaw  #: with its constants; a unit power is Kienzle's law through one point
    spread: float = 0.0  #: the source's own relative standard deviation, 0 when it states none [1]
    #: rake it was measured at, None when the source is silent [rad]
    rake_reference: float | None = None
    h_lo: float | None = None  #: thinnest chip the source covers, None when silent [mm]
    h_hi: float | None = None  #: thickest chip the source covers, None when silent [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class RadialCurve:
    """Radial over tangential force of one source."""

    source: str  #: key of the source
    ratio: RadialRatio  #: against chip thickness
    spread: float  #: relative standard deviation of the ratio [1]
    borrowed: bool = False  #: taken from another material for want of own data


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkMaterial:
    """A material to be cut; every number in the units used inside."""

    name: str  #: name under materials/, or the path that was given
    title: str  #: what the shop calls it
    family: str  #: group of alike materials
    condition: str  #: temper or heat treatment
    hardness: str  #: hardness as text
    cautions: tuple[str, ...]  #: what to mind when cutting it
    curves: tuple[ForceCurve, ...]  #: one for each source of specific force
    radial: RadialCurve  #: radial over tangential force
    h_min_ratio: float  #: minimum chip thickness over edge radius [1]
    h_min_ratio_spread: float  #: relative standard deviation of it [1]
    surface_speed_lo: float  #: low end for milling with HSS [mm/s]
    surface_speed_hi: float  #: high end for milling with HSS [mm/s]
    bulking: float  #: chip volume over solid volume [1]
    bulking_lo: float  #: low end [1]
    bulking_hi: float  #: high end [1]
    built_up_edge_speed: float | None  #: above it the edge stays clean; None: no trouble [mm/s]
    adhesion_dry: float  #: K_a, factor on the force when cut dry [1]
    adhesion_brush: float  #: K_a with oil brushed on [1]
    adhesion_mist: float  #: K_a with mist [1]
    adhesion_flood: float  #: K_a with flood coolant [1]
    density: float | None  #: [kg/m^3]
    sources: tuple[str, ...]  #: keys of all sources used
    rows: tuple[ValueRow, ...]  #: every value as printed


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankMaterial:
    """A material a cutter is ground from; every number in the units used inside."""

    name: str  #: name under materials/, or the path that was given
    title: str  #: what the shop calls it
    family: str  #: group of alike materials
    condition: str  #: heat treatment
    cautions: tuple[str, ...]  #: what to mind when grinding it
    heat: tuple[tuple[str, str], ...]  #: grinding colour and what it means, cold to hot
    ductile: bool  #: True: it yields before it breaks
    E: float  #: Young's modulus [MPa]
    E_spread: float  #: relative standard deviation of it [1]
    nu: float  #: Poisson's ratio [1]
    density: float  #: [kg/m^3]
    hardness: float | None  #: usual working hardness; None off the scale, see hardness_HV [HRC]
    hardness_lo: float | None  #: low end [HRC]
    hardness_hi: float | None  #: high end [HRC]
    hardness_HV: float  #: Vickers hardness at the usual working hardness [HV]
    bend_strength: float  #: mean bend strength of a test bar [MPa]
    #: relative standard deviation between sources and bars of stock [1]
    bend_strength_spread: float
    weibull_m: float  #: Weibull modulus of the bend strength [1]
    weibull_m_lo: float  #: low end [1]
    weibull_m_hi: float  #: high end [1]
    bar_volume: float  #: volume of the 3-point test bar; effective volume: / (2 (m + 1)^2) [mm^3]
    defect_size: float  #: square root of the defect's area [um]
    defect_size_spread: float  #: relative standard deviation of it [1]
    basquin_k: float  #: slope of the S-N line, N ~ stress^-k [1]
    basquin_k_lo: float  #: low end [1]
    basquin_k_hi: float  #: high end [1]
    torsion_ratio: float  #: torsion strength over tensile strength [1]
    K_IC: float  #: fracture toughness in MPa times root metre
    K_IC_spread: float  #: relative standard deviation of it [1]
    speed_factor: float  #: surface speed against HSS [1]
    yield_strength: float | None  #: only for ductile blanks [MPa]
    ultimate_strength: float | None  #: only for ductile blanks [MPa]
    sources: tuple[str, ...]  #: keys of all sources used
    rows: tuple[ValueRow, ...]  #: every value as printed


@dataclass(frozen=True, slots=True, kw_only=True)
class Pooled:
    """Specific cutting force at one or more chip thicknesses, over all sources."""

    k_c: Array  #: geometric mean, shape of h [MPa]
    m_c: Array  #: local exponent -d ln k_c / d ln h of that mean, shape of h [1]
    sigma_ln: Array  #: standard deviation of ln k_c between sources, shape of h [1]
    rake_reference: float  #: mean over the sources that state theirs [rad]
    notes: tuple[str, ...]  #: what to know about the sources; on their range see ``range_notes``

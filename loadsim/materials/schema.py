"""What a material file may say, and what comes out of it: quantities, units, marks and facts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from loadsim.base.numbers import Array
from loadsim.base.units import MATERIAL_UNITS
from loadsim.mechanics.force_law import ForceLaw, RadialRatio

Kind = Literal["work", "blank"]

MARKS = ("read", "via", "memory-high", "memory-medium", "memory-low", "common-practice", "shop")

LUBRICATIONS = ("dry", "brush", "mist", "flood")


# --- what a file may say
@dataclass(frozen=True, slots=True)
class Quantity:
    """What one value table must hold."""

    dimension: str  # key of MATERIAL_UNITS
    needs: tuple[str, ...] = ("value",)
    low: float = 0.0
    high: float = math.inf
    strict: bool = True  # low itself is refused
    required: bool = True

    @property
    def units(self) -> dict[str, float]:
        """Spellings of its units, each with its size in the unit inside."""
        return MATERIAL_UNITS[self.dimension]


def _optional(dimension: str, needs: tuple[str, ...] = ("value",), low: float = 0.0) -> Quantity:
    return Quantity(dimension, needs, low=low, required=False)


RANGE = ("lo", "hi")

_WORK: dict[str, Quantity] = {
    "surface_speed": Quantity("speed", RANGE),
    "h_min_ratio": Quantity("ratio", high=1.0),
    "bulking": Quantity("ratio", ("value", "lo", "hi"), low=1.0, strict=False),
    "built_up_edge_speed": _optional("speed"),
    "density": _optional("density"),
    "hardness_HV": _optional("HV"),
    "upward": _optional("ratio", low=1.0),
} | {f"adhesion_{how}": Quantity("ratio", low=1.0, strict=False) for how in LUBRICATIONS}

_BLANK: dict[str, Quantity] = {
    "E": Quantity("stress"),
    "nu": Quantity("ratio", high=0.5),
    "density": Quantity("density"),
    "hardness_HRC": Quantity(
        "HRC", ("value", "lo", "hi"), low=20.0, high=72.0, strict=False, required=False
    ),
    "hardness_HV": Quantity("HV"),
    "hot_hardness_share": Quantity("ratio", high=1.0),
    "bend_strength": Quantity("stress"),
    "weibull_m": Quantity("ratio", ("value", "lo", "hi"), low=1.0),
    "bar_volume": Quantity("volume"),
    "defect_size": Quantity("defect size"),
    "basquin_k": Quantity("ratio", ("value", "lo", "hi"), low=1.0),
    "torsion_ratio": Quantity("ratio", high=1.0),
    "K_IC": Quantity("toughness"),
    "speed_factor": Quantity("ratio"),
    "yield_strength": _optional("stress"),
    "ultimate_strength": _optional("stress"),
}

QUANTITIES: dict[str, dict[str, Quantity]] = {"work": _WORK, "blank": _BLANK}

_SHARED = {
    "rake_reference": Quantity("angle", low=-math.pi / 4, high=math.pi / 4, required=False),
    "h_range": _optional("length", RANGE),
}

MODELS: dict[str, dict[str, Quantity]] = {
    "kienzle": {"k_c11": Quantity("stress"), "m_c": Quantity("ratio", high=0.6), **_SHARED},
    "edge": {
        "K_tc": Quantity("stress"),
        "K_te": Quantity("edge force", strict=False),
        "K_rc": _optional("stress"),
        "K_re": _optional("edge force"),
        **_SHARED,
    },
    "unit-power": {
        "unit_power": Quantity("specific energy"),
        "chip_thickness": Quantity("length"),
        "m_c": Quantity("ratio", high=0.6),
        "efficiency": Quantity("ratio", high=1.0, required=False),
        **_SHARED,
    },
}

_EXPONENT = Quantity("ratio", strict=False, high=1.0)

_RATIO = {"ratio_spread": Quantity("ratio"), "weight": _optional("ratio"), **_SHARED}

RADIAL: dict[str, dict[str, Quantity]] = {
    "edge": {
        "K_tc": Quantity("stress"),
        "K_te": Quantity("edge force", strict=False),
        "K_rc": Quantity("stress"),
        "K_re": Quantity("edge force", strict=False),
        **_RATIO,
    },
    "main-values": {
        "k_c11": Quantity("stress"),
        "k_f11": Quantity("stress"),
        "k_p11": Quantity("stress"),
        "x_c": _EXPONENT,
        "x_f": _EXPONENT,
        "x_p": _EXPONENT,
        **_RATIO,
    },
    "power": {
        "ratio": Quantity("ratio"),
        "chip_thickness": Quantity("length"),
        "exponent": Quantity("ratio", strict=False, high=0.6),
        **_RATIO,
    },
    "constant": {"ratio": Quantity("ratio"), **_RATIO},
}

DRILL: dict[str, dict[str, Quantity]] = {
    "handbook": {"K_torque": Quantity("ratio"), "K_thrust": Quantity("ratio")}
}

#: Tables that have a model, by the first part of their name.
GROUPS = {"curves": MODELS, "radial": RADIAL, "drill": DRILL}

HEAD = (
    "kind",
    "title",
    "aliases",
    "family",
    "condition",
    "hardness",
    "cautions",
    "ductile",
    "heat",
    "aged_alloy",
)

SOURCE_HEAD = ("source", "locator", "mark", "condition")

VALUE_KEYS = ("value", "lo", "hi", "unit", "spread", "condition", "locator", "mark")


# --- what comes out
@dataclass(frozen=True, slots=True, kw_only=True)
class ValueRow:
    """One value as its source gives it, for printing."""

    group: (
        str  #: "" or the table it belongs to ("curves.NAME", "radial", "radial.FAMILY.NAME", ...)
    )
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
    alloy: str = ""  #: another alloy of the family that it was measured on; "": the material's own
    #: None: the material's own curve. A number: a curve of the aged alloy, lower bound of a soft
    #: temper; standard deviation of ln k_c above that alloy's [1]
    upward: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RadialCurve:
    """Radial over tangential force of one source, or of several pooled."""

    label: str  #: name in its file, or of the family; "" where the file has one only
    source: str  #: key of the source, or of all
    ratio: RadialRatio  #: against chip thickness, at the rake it was measured at
    spread: float  #: standard deviation of ln(ratio) [1]
    #: rake it was measured at; None when no source says [rad]
    rake_reference: float | None = None
    weight: float = 1.0  #: its share in a pool: one vote a publication and alloy [1]
    h_lo: float | None = None  #: thinnest chip it covers, None when silent [mm]
    h_hi: float | None = None  #: thickest chip it covers, None when silent [mm]
    borrowed: str = ""  #: family it is taken from, for want of a source of the metal's own


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillFactors:
    """Work material factors K_d of the handbook's drilling formula, for inches and pounds."""

    torque: float  #: K_d for the torque [1]
    thrust: float  #: K_d for the thrust [1]
    #: packaged metal that they stand for, to be brought to this metal by the ratio of the cutting
    #: forces; "": they stand for this metal
    reference: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkMaterial:
    """A material to be cut; every number in the units used inside."""

    name: str  #: name under materials/, or the path that was given
    title: str  #: what the shop calls it
    family: str  #: group of alike materials
    condition: str  #: temper or heat treatment
    hardness: str  #: hardness as text
    hardness_HV: float | None  #: Vickers hardness; None: the file does not say [HV]
    cautions: tuple[str, ...]  #: what to mind when cutting it
    curves: tuple[ForceCurve, ...]  #: one for each source of specific force
    radial: RadialCurve  #: radial over tangential force, pooled
    radial_curves: tuple[RadialCurve, ...]  #: one for each source of it
    drill: DrillFactors  #: what it asks of a twist drill
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
    hot_hardness_share: float  #: share of it that an edge keeps at the heat of its cut [1]
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

    k_c: Array  #: weighted geometric mean, shape of h [MPa]
    m_c: Array  #: local exponent -d ln k_c / d ln h, mean of the sources', shape of h [1]
    m_spread: Array  #: standard deviation of that exponent between sources, shape of h [1]
    sigma_ln: Array  #: standard deviation of ln k_c to expect of a new cut, shape of h [1]
    rake_reference: float  #: mean over the sources that state theirs [rad]
    notes: tuple[str, ...]  #: what to know about the sources; on their range see ``range_notes``

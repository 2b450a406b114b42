"""Work and blank materials: what the files under ``materials/`` say, and how rival sources are pooled.

A folder ``materials/<name>/`` holds ``material.toml`` (what it is) and one file for each source. A shop's own
material is one file with the keys of both; give its path in place of a name::

    kind = "work"                    # or "blank"
    title = "6061-T6 off our rack"
    source = "test cuts of 3 March"  # free text; a packaged file names a key of the project's sources here
    mark = "shop"
    cautions = ["..."]               # optional, like family, condition, hardness (all text)
    [surface_speed]
    lo = 75
    hi = 150
    unit = "m/min"
    [curves.testcut]
    model = "kienzle"                # or "edge": K_tc, K_te; "unit-power": unit_power, chip_thickness, m_c
    k_c11 = { value = 700, unit = "MPa", spread = 0.2 }
    m_c = { value = 0.25, unit = "1" }
    rake_reference = { value = 0, unit = "deg" }
    h_range = { lo = 0.01, hi = 0.1, unit = "mm" }

Every value is a table: ``value`` (or ``lo`` and ``hi``, or all three) and ``unit``, then ``spread`` (relative
standard deviation), ``condition``, ``locator`` and ``mark``; these three are taken from the enclosing table
or the head of the file when a value does not say otherwise. What a file leaves out comes from
``materials/defaults/`` where that has it. The full list of keys is in ``materials/README.md``.
"""

from __future__ import annotations

import difflib
import hashlib
import math
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loadsim.errors import InputError, Problem

Array = NDArray[np.float64]
Kind = Literal["work", "blank"]

MARKS = ("read", "via", "memory-high", "memory-medium", "memory-low", "common-practice", "shop")
SIGMA_FLOOR = 0.15  # repeated cuts of one bar scatter about this much; agreeing tables copy each other
SIGMA_FLOOR_FEW = 0.30  # what three or more sources typically show; two that agree prove nothing
LUBRICATIONS = ("dry", "brush", "mist", "flood")

# --- what a file may say ----------------------------------------------------------------------------------
# Handbook units of material data, to those inside (mm, N, MPa, s, rad; defect size um, density kg/m^3).
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
class _Quantity:
    """What one value table must hold."""

    units: Mapping[str, float]
    needs: tuple[str, ...] = ("value",)
    low: float = 0.0
    high: float = math.inf
    strict: bool = True  # low itself is refused
    required: bool = True


def _optional(units: Mapping[str, float], needs: tuple[str, ...] = ("value",), low: float = 0.0) -> _Quantity:
    return _Quantity(units, needs, low=low, required=False)


_RANGE = ("lo", "hi")
_WORK: dict[str, _Quantity] = {
    "surface_speed": _Quantity(_SPEED, _RANGE),
    "h_min_ratio": _Quantity(_ONE, high=1.0),
    "bulking": _Quantity(_ONE, ("value", "lo", "hi"), low=1.0, strict=False),
    "built_up_edge_speed": _optional(_SPEED),
    "density": _optional(_DENSITY),
} | {f"adhesion_{how}": _Quantity(_ONE, low=1.0, strict=False) for how in LUBRICATIONS}

_BLANK: dict[str, _Quantity] = {
    "E": _Quantity(_STRESS),
    "nu": _Quantity(_ONE, high=0.5),
    "density": _Quantity(_DENSITY),
    "hardness_HRC": _Quantity(_HRC, ("value", "lo", "hi"), low=20.0, high=72.0, strict=False, required=False),
    "hardness_HV": _Quantity(_HV),
    "bend_strength": _Quantity(_STRESS),
    "weibull_m": _Quantity(_ONE, ("value", "lo", "hi"), low=1.0),
    "bar_volume": _Quantity(_VOLUME),
    "defect_size": _Quantity(_MICRON),
    "basquin_k": _Quantity(_ONE, ("value", "lo", "hi"), low=1.0),
    "torsion_ratio": _Quantity(_ONE, high=1.0),
    "K_IC": _Quantity(_TOUGHNESS),
    "speed_factor": _Quantity(_ONE),
    "yield_strength": _optional(_STRESS),
    "ultimate_strength": _optional(_STRESS),
}
_QUANTITIES: dict[str, dict[str, _Quantity]] = {"work": _WORK, "blank": _BLANK}

_SHARED = {
    "rake_reference": _Quantity(_ANGLE, low=-math.pi / 4, high=math.pi / 4, required=False),
    "h_range": _optional(_LENGTH, _RANGE),
}
_MODELS: dict[str, dict[str, _Quantity]] = {
    "kienzle": {"k_c11": _Quantity(_STRESS), "m_c": _Quantity(_ONE, high=0.6), **_SHARED},
    "edge": {
        "K_tc": _Quantity(_STRESS),
        "K_te": _Quantity(_EDGE, strict=False),
        "K_rc": _optional(_STRESS),
        "K_re": _optional(_EDGE),
        **_SHARED,
    },
    "unit-power": {
        "unit_power": _Quantity(_ENERGY),
        "chip_thickness": _Quantity(_LENGTH),
        "m_c": _Quantity(_ONE, high=0.6),
        "efficiency": _Quantity(_ONE, high=1.0, required=False),
        **_SHARED,
    },
}
_RADIAL: dict[str, dict[str, _Quantity]] = {
    "edge": {
        "K_tc": _Quantity(_STRESS),
        "K_te": _Quantity(_EDGE, strict=False),
        "K_rc": _Quantity(_STRESS),
        "K_re": _Quantity(_EDGE, strict=False),
        "ratio_spread": _Quantity(_ONE),
        "h_range": _SHARED["h_range"],
    },
    "constant": {"ratio": _Quantity(_ONE), "ratio_spread": _Quantity(_ONE), "h_range": _SHARED["h_range"]},
}
_HEAD = ("kind", "title", "family", "condition", "hardness", "cautions", "ductile", "heat")
_SOURCE_HEAD = ("source", "locator", "mark", "condition")
_VALUE_KEYS = ("value", "lo", "hi", "unit", "spread", "condition", "locator", "mark")


# --- what comes out ---------------------------------------------------------------------------------------
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
    """Specific cutting force of one source: ``k_c = k_c11 h^-m_c + K_te / h``.

    One form holds all three printed models: Kienzle (K_te = 0), the linear edge model (k_c11 = K_tc, m_c = 0)
    and the unit power of the handbooks (a power law through one point).
    """

    label: str  #: name of the curve in its file
    source: str  #: key of the source
    model: str  #: "kienzle", "edge" or "unit-power": how the source prints it
    k_c11: float  #: specific force at h = 1 mm without the edge term [MPa]
    m_c: float  #: exponent of the chip thickness [1]
    K_te: float = 0.0  #: edge force [N/mm]
    spread: float = 0.0  #: the source's own relative standard deviation, 0 when it states none [1]
    rake_reference: float | None = None  #: rake it was measured at, None when the source is silent [rad]
    h_lo: float | None = None  #: thinnest chip the source covers, None when silent [mm]
    h_hi: float | None = None  #: thickest chip the source covers, None when silent [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class RadialCurve:
    """Radial over tangential force: ``(K_rc h + K_re) / (K_tc h + K_te)``."""

    source: str  #: key of the source
    K_tc: float  #: tangential cutting coefficient; 1 for a constant ratio [MPa]
    K_te: float  #: tangential edge coefficient [N/mm]
    K_rc: float  #: radial cutting coefficient; the ratio itself for a constant ratio [MPa]
    K_re: float  #: radial edge coefficient [N/mm]
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
    bend_strength_spread: float  #: relative standard deviation between sources and bars of stock [1]
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


# --- where the files are ----------------------------------------------------------------------------------
def materials_root() -> Traversable:
    """Return the folder of the material files: inside an installed package, at the top level of a checkout.

    Returns
    -------
    root : Traversable
        The folder that holds ``index.toml``.

    Raises
    ------
    FileNotFoundError
        If the package was installed without it.
    """
    packaged = files("loadsim").joinpath("_materials")
    if packaged.joinpath("index.toml").is_file():
        return packaged
    checkout = Path(__file__).resolve().parents[1] / "materials"
    if (checkout / "index.toml").is_file():
        return checkout
    raise FileNotFoundError("the materials/ folder of loadsim is missing: reinstall the package")


@lru_cache(maxsize=1)
def _index() -> dict[str, list[str]]:
    table = tomllib.loads(materials_root().joinpath("index.toml").read_text(encoding="utf-8"))
    if table["schema"] != 1:
        problem = Problem(where="schema", message=f"is {table['schema']}, must be 1")
        raise InputError("materials/index.toml", [problem])
    return {"work": table["work"], "blank": table["blank"]}


def names(kind: Kind) -> list[str]:
    """List the packaged materials.

    Parameters
    ----------
    kind : {"work", "blank"}
        Materials to be cut, or materials a cutter is ground from.

    Returns
    -------
    names : list of str
        In the order of the index.
    """
    return list(_index()[kind])


def _is_path(name_or_path: str | Path) -> bool:
    text = str(name_or_path)
    return isinstance(name_or_path, Path) or text.endswith(".toml") or "/" in text or "\\" in text


def _unknown_name(name: str, kind: Kind) -> InputError:
    known = names(kind)
    near = difflib.get_close_matches(name.lower(), known, n=1, cutoff=0.5)
    other: Kind = "blank" if kind == "work" else "work"
    hint = f"did you mean {near[0]!r}? " if near else ""
    if name in names(other):
        hint = f"it is a {other} material, a {kind} material is needed here. "
    how = "'loadsim materials' lists them all; a path ending in .toml reads a file of your own"
    return InputError("materials", [Problem(where="", message=f"no {kind} material {name!r}; {hint}{how}")])


# --- reading one file -------------------------------------------------------------------------------------
@dataclass(slots=True)
class _Reading:
    """What was gathered from the files of one material so far."""

    kind: Kind
    shop: bool
    problems: list[Problem]
    head: dict[str, Any]
    rows: list[ValueRow]
    models: dict[str, str]  # group to model, for curves and radial
    file: str = ""
    source: str = ""

    def wrong(self, table: str, key: str, message: str) -> None:
        """Note one problem; in a packaged material the file is named too."""
        where = " ".join(part for part in (self.file, f"[{table}]" if table else "", key) if part)
        self.problems.append(Problem(where=where, message=message))


def _read_toml(path: Traversable, into: _Reading) -> dict[str, Any] | None:
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8"))
    except FileNotFoundError:
        into.wrong("", "", "there is no such file")
    except IsADirectoryError:
        into.wrong("", "", "is a directory; give the material's .toml file")
    except OSError as error:
        into.wrong("", "", f"cannot be read: {error.strerror}")
    except UnicodeDecodeError:
        into.wrong("", "", "is not UTF-8 text; save it as UTF-8")
    except tomllib.TOMLDecodeError as error:
        into.wrong("", "", f"is not TOML: {error}")
    except RecursionError:
        into.wrong("", "", "is nested too deeply")
    except ValueError as error:
        into.wrong("", "", f"cannot be read: {error}")
    return None


def _unknown_key(key: str, table: str, known: Iterable[str], into: _Reading) -> None:
    known = sorted(set(known))
    near = difflib.get_close_matches(key, known, n=1)
    hint = f"did you mean {near[0]!r}?" if near else f"allowed: {', '.join(known)}"
    into.wrong(table, key, f"unknown key; {hint}")


def _is_number(x: object) -> bool:
    return isinstance(x, int | float) and not isinstance(x, bool)


def _number(table: dict[str, Any], key: str, where: tuple[str, str], into: _Reading) -> float | None:
    """One number of a value table; None and a problem when it is not a finite number."""
    if key not in table:
        return None
    x = table[key]
    if not _is_number(x):
        into.wrong(*where, f"{key} is {x!r}; write a bare number, the unit goes into unit")
        return None
    try:
        y = float(x)
    except OverflowError:
        y = math.inf
    if not math.isfinite(y):
        into.wrong(*where, f"{key} is {y}, not a finite number")
        return None
    return y


def _check_unit(unit: object, q: _Quantity, where: tuple[str, str], into: _Reading) -> bool:
    if isinstance(unit, str) and unit in q.units:
        return True
    said = "unit is missing" if unit is None else f"unit is {unit!r}"
    into.wrong(*where, f"{said}; allowed: {', '.join(q.units)}")
    return False


def _check_bounds(
    numbers: dict[str, float], unit: str, q: _Quantity, where: tuple[str, str], into: _Reading
) -> None:
    for key, x in numbers.items():
        y = x * q.units[unit]
        if y < q.low or (q.strict and y == q.low) or y > q.high:
            sign = ">" if q.strict else ">="
            top = f" and <= {q.high / q.units[unit]:g}" if math.isfinite(q.high) else ""
            into.wrong(*where, f"{key} is {x:g} {unit}; must be {sign} {q.low / q.units[unit]:g}{top}")
    order = [numbers[k] for k in ("lo", "value", "hi") if k in numbers]
    if order != sorted(order):
        into.wrong(*where, "must be ordered lo <= value <= hi")


def _text(found: dict[str, str], key: str, where: tuple[str, str], into: _Reading) -> str:
    x = found.get(key, "")
    if not isinstance(x, str):
        into.wrong(*where, f"{key} is {x!r}; write a text in quotes")
        return ""
    if key == "mark" and into.shop and not x:
        return "shop"
    if key == "mark" and x not in MARKS:
        near = difflib.get_close_matches(x, MARKS, n=1)
        hint = f"did you mean {near[0]!r}? " if near else ""
        into.wrong(*where, f"mark is {x!r}; {hint}allowed: {', '.join(MARKS)}")
    return x


def _read_value(
    group: str, key: str, table: object, q: _Quantity, inherited: dict[str, Any], into: _Reading
) -> None:
    """Check one value table and add its row."""
    where = (group, key)
    if not isinstance(table, dict):
        unit = next(iter(q.units))
        into.wrong(*where, f"is {table!r}; write a table such as {{ value = ..., unit = {unit!r} }}")
        return
    for name in table.keys() - set(_VALUE_KEYS):
        _unknown_key(name, f"{group}.{key}" if group else key, _VALUE_KEYS, into)
    missing = [name for name in q.needs if name not in table]
    for name in missing:
        into.wrong(*where, f"{name} is missing")
    value, lo, hi, spread = (_number(table, name, where, into) for name in ("value", "lo", "hi", "spread"))
    if spread is not None and spread < 0:
        into.wrong(*where, f"spread is {spread:g}; a relative standard deviation is >= 0")
    given = {name: x for name, x in (("value", value), ("lo", lo), ("hi", hi)) if x is not None}
    condition, locator, mark = (
        _text(inherited | table, name, where, into) for name in ("condition", "locator", "mark")
    )
    if not _check_unit(table.get("unit"), q, where, into):
        return
    _check_bounds(given, table["unit"], q, where, into)
    into.rows.append(
        ValueRow(
            group=group,
            quantity=key,
            value=value,
            lo=lo,
            hi=hi,
            unit=table["unit"],
            spread=spread,
            condition=condition,
            locator=locator,
            source=into.source,
            mark=mark,
        )
    )


def _read_group(
    group: str,
    table: object,
    models: dict[str, dict[str, _Quantity]],
    inherited: dict[str, Any],
    into: _Reading,
) -> None:
    """Check one curve (or the radial table) and add its rows."""
    if not isinstance(table, dict) or table.get("model") not in models:
        said = table.get("model") if isinstance(table, dict) else table
        into.wrong(group, "model", f"is {said!r}; allowed: {', '.join(models)}")
        return
    known = models[table["model"]]
    words = {k: table[k] for k in ("condition", "locator", "mark") if k in table}
    for key, q in known.items():
        if key in table:
            _read_value(group, key, table[key], q, inherited | words, into)
        elif q.required:
            into.wrong(group, key, "is missing")
    for key in table.keys() - set(known) - {"model", *words}:
        _unknown_key(key, group, (*known, "model", "condition", "locator", "mark"), into)
    if group in into.models:
        into.wrong(group, "", "is given by another source file too; name it differently")
    into.models[group] = table["model"]


def _read_document(doc: dict[str, Any], into: _Reading) -> None:
    """Take the head, the values and the curves out of one parsed file."""
    known = _QUANTITIES[into.kind]
    heads = _HEAD + _SOURCE_HEAD if into.shop else _SOURCE_HEAD
    inherited = {k: doc[k] for k in ("locator", "mark", "condition") if isinstance(doc.get(k), str)}
    tables = ("curves", "radial") if into.kind == "work" else ()
    for key, content in doc.items():
        if key in known:
            _read_value("", key, content, known[key], inherited, into)
        elif key in tables and isinstance(content, dict):
            groups = {f"curves.{k}": v for k, v in content.items()} if key == "curves" else {key: content}
            for group, table in groups.items():
                _read_group(group, table, _MODELS if key == "curves" else _RADIAL, inherited, into)
        elif key in heads:
            if into.shop:
                into.head[key] = content
        else:
            _unknown_key(key, "", (*known, *tables, *heads), into)


def _read_source(path: Traversable, name: str, into: _Reading) -> None:
    """Read one file with values."""
    into.file = name
    doc = _read_toml(path, into)
    if doc is None:
        return
    other = {"work": "blank", "blank": "work"}[into.kind]
    if into.shop and doc.get("kind") == other:  # every other key would be wrong too
        into.wrong("", "kind", f"is {other!r}; a {into.kind} material is needed here")
        return
    said = doc.get("source")
    if not isinstance(said, str) or not said.strip():
        into.wrong("", "source", "is missing; say where the numbers come from")
        said = "?"
    into.source = f"shop: {said}" if into.shop else said
    _read_document(doc, into)


def _check_head(into: _Reading) -> None:
    """Check the keys that say what the material is."""
    head, into.file = into.head, ""
    if head.get("kind") != into.kind:
        into.wrong("", "kind", f"is {head.get('kind')!r}; a {into.kind} material is needed here")
    if not isinstance(head.get("title"), str):
        into.wrong("", "title", "is missing; name the material in a text")
    for key in ("family", "condition", "hardness"):
        if not isinstance(head.get(key, ""), str):
            into.wrong("", key, f"is {head[key]!r}; write a text in quotes")
    cautions = head.get("cautions", [])
    if not isinstance(cautions, list) or not all(isinstance(c, str) for c in cautions):
        into.wrong("", "cautions", "must be a list of texts")
    if not isinstance(head.get("ductile", False), bool):
        into.wrong("", "ductile", "must be true or false")
    heat = head.get("heat", {})
    if not isinstance(heat, dict) or not all(isinstance(v, str) for v in heat.values()):
        into.wrong("", "heat", "must be a table of color = 'what it means'")


def _check_complete(into: _Reading) -> None:
    """Every required value must be there after the defaults were added."""
    have = {row.quantity for row in into.rows if not row.group}
    needed = {key for key, q in _QUANTITIES[into.kind].items() if q.required}
    if into.kind == "blank" and into.head.get("ductile") is True:
        needed |= {"yield_strength", "ultimate_strength"}
    said = {p.where.split()[-1] for p in into.problems if p.where}
    for key in sorted(needed - have - said):
        into.wrong("", key, "is missing")
    if into.kind == "work" and not any(g.startswith("curves.") for g in into.models) and "curves" not in said:
        into.wrong("", "curves", "is missing; at least one [curves.NAME] table is needed")


def _add_defaults(into: _Reading) -> None:
    """Fill what the material's own files leave out from ``materials/defaults/``."""
    have = {row.quantity for row in into.rows if not row.group} | set(into.models)
    default = _defaults(into.kind)
    into.rows += [r for r in default.rows if (r.group or r.quantity) not in have]
    into.models |= {g: m for g, m in default.models.items() if g not in have}


@lru_cache(maxsize=2)
def _defaults(kind: Kind) -> _Reading:
    into = _Reading(kind=kind, shop=False, problems=[], head={}, rows=[], models={})
    for path in _toml_files(materials_root().joinpath("defaults", kind)):
        _read_source(path, f"{kind}/{path.name}", into)
    if into.problems:
        raise InputError("materials/defaults", into.problems)
    return into


def _toml_files(folder: Traversable) -> list[Traversable]:
    return sorted((p for p in folder.iterdir() if p.name.endswith(".toml")), key=lambda p: p.name)


def _read_folder(name: str, into: _Reading) -> None:
    """Read ``material.toml`` and every source file of a packaged material."""
    folder = materials_root().joinpath(name)
    into.file = "material.toml"
    into.head = _read_toml(folder.joinpath("material.toml"), into) or {}
    for key in into.head.keys() - set(_HEAD):
        _unknown_key(key, "", _HEAD, into)
    for path in _toml_files(folder):
        if path.name != "material.toml":
            _read_source(path, path.name, into)


def _read_all(name_or_path: str | Path, kind: Kind) -> _Reading:
    """Read every file of a material, or raise with all problems."""
    shop = _is_path(name_or_path)
    if not shop and name_or_path not in names(kind):
        raise _unknown_name(str(name_or_path), kind)
    into = _Reading(kind=kind, shop=shop, problems=[], head={}, rows=[], models={})
    if shop:
        _read_source(Path(name_or_path), "", into)
    else:
        _read_folder(str(name_or_path), into)
    if into.head or not into.problems:  # a file that could not be read has one problem, not twenty
        _check_head(into)
        _add_defaults(into)
        _check_complete(into)
    if into.problems:
        raise InputError(str(name_or_path) if shop else f"materials/{name_or_path}", into.problems)
    return into


# --- from rows to facts -----------------------------------------------------------------------------------
def _units_of(row: ValueRow, kind: Kind, models: dict[str, str]) -> float:
    if not row.group:
        return _QUANTITIES[kind][row.quantity].units[row.unit]
    table = _RADIAL if row.group == "radial" else _MODELS
    return table[models[row.group]][row.quantity].units[row.unit]


@dataclass(frozen=True, slots=True)
class _Merged:
    """One quantity over all its sources, in the units used inside."""

    value: float
    lo: float
    hi: float
    spread: float


def _merge(rows: list[ValueRow], factor: list[float]) -> _Merged:
    """Mean of the values; outermost lo and hi; variance within and between the sources added."""
    each = [r.value * f for r, f in zip(rows, factor, strict=True) if r.value is not None]
    ends = [x * f for r, f in zip(rows, factor, strict=True) for x in (r.lo, r.hi) if x is not None] + each
    value = sum(each) / len(each) if each else math.nan
    within = sum((r.spread or 0.0) ** 2 for r in rows) / len(rows)
    between = sum((x - value) ** 2 for x in each) / (len(each) - 1) / value**2 if len(each) > 1 else 0.0
    return _Merged(value, min(ends), max(ends), math.sqrt(within + between))


def _merge_all(read: _Reading, group: str = "") -> dict[str, _Merged]:
    found: dict[str, list[ValueRow]] = {}
    for row in read.rows:
        if row.group == group:
            found.setdefault(row.quantity, []).append(row)
    units = {q: [_units_of(row, read.kind, read.models) for row in rows] for q, rows in found.items()}
    return {q: _merge(rows, units[q]) for q, rows in found.items()}


def _curve(group: str, read: _Reading) -> ForceCurve:
    v = _merge_all(read, group)
    model = read.models[group]
    k_c11, m_c, K_te = 0.0, 0.0, 0.0
    if model == "kienzle":
        k_c11, m_c = v["k_c11"].value, v["m_c"].value
    elif model == "edge":
        k_c11, K_te = v["K_tc"].value, v["K_te"].value
    else:
        m_c = v["m_c"].value
        efficiency = v["efficiency"].value if "efficiency" in v else 1.0
        k_c11 = v["unit_power"].value * efficiency * v["chip_thickness"].value ** m_c
    rake, h = v.get("rake_reference"), v.get("h_range")
    return ForceCurve(
        label=group.removeprefix("curves."),
        source=next(r.source for r in read.rows if r.group == group),
        model=model,
        k_c11=k_c11,
        m_c=m_c,
        K_te=K_te,
        spread=max(v[key].spread for key in ("k_c11", "K_tc", "unit_power") if key in v),
        rake_reference=rake.value if rake else None,
        h_lo=h.lo if h else None,
        h_hi=h.hi if h else None,
    )


def _radial(read: _Reading) -> RadialCurve:
    v = _merge_all(read, "radial")
    source = next(r.source for r in read.rows if r.group == "radial")
    borrowed = any(r.group == "radial" for r in _defaults("work").rows if r in read.rows)
    spread = v["ratio_spread"].value
    if read.models["radial"] == "constant":
        return RadialCurve(source=source, K_tc=1.0, K_te=0.0, K_rc=v["ratio"].value, K_re=0.0, spread=spread)
    K = {key: v[key].value for key in ("K_tc", "K_te", "K_rc", "K_re")}
    return RadialCurve(source=source, spread=spread, borrowed=borrowed, **K)


def _sources(read: _Reading) -> tuple[str, ...]:
    return tuple(sorted({row.source for row in read.rows}))


def load_work(name_or_path: str | Path) -> WorkMaterial:
    """Load a material to be cut.

    Parameters
    ----------
    name_or_path : str or path
        A name of ``names("work")``, or the path of a shop's file (ends in .toml or has a separator).

    Returns
    -------
    material : WorkMaterial
        Every number in mm, N, MPa, s, rad.

    Raises
    ------
    InputError
        With every problem of the file; for an unknown name with the nearest known one.
    """
    if not _is_path(name_or_path):
        return _load_work_cached(str(name_or_path))
    return _build_work(name_or_path)


@lru_cache(maxsize=128)
def _load_work_cached(name: str) -> WorkMaterial:
    return _build_work(name)


def _build_work(name_or_path: str | Path) -> WorkMaterial:
    read = _read_all(name_or_path, "work")
    v, head = _merge_all(read), read.head
    bue, density = v.get("built_up_edge_speed"), v.get("density")
    return WorkMaterial(
        name=str(name_or_path),
        title=head["title"],
        family=head.get("family", ""),
        condition=head.get("condition", ""),
        hardness=head.get("hardness", ""),
        cautions=tuple(head.get("cautions", ())),
        curves=tuple(_curve(group, read) for group in read.models if group.startswith("curves.")),
        radial=_radial(read),
        h_min_ratio=v["h_min_ratio"].value,
        h_min_ratio_spread=v["h_min_ratio"].spread,
        surface_speed_lo=v["surface_speed"].lo,
        surface_speed_hi=v["surface_speed"].hi,
        bulking=v["bulking"].value,
        bulking_lo=v["bulking"].lo,
        bulking_hi=v["bulking"].hi,
        built_up_edge_speed=bue.value if bue else None,
        density=density.value if density else None,
        sources=_sources(read),
        rows=tuple(read.rows),
        **{f"adhesion_{how}": v[f"adhesion_{how}"].value for how in LUBRICATIONS},
    )


def load_blank(name_or_path: str | Path) -> BlankMaterial:
    """Load a material a cutter is ground from.

    Parameters
    ----------
    name_or_path : str or path
        A name of ``names("blank")``, or the path of a shop's file (ends in .toml or has a separator).

    Returns
    -------
    material : BlankMaterial
        Every number in mm, N, MPa, s, rad.

    Raises
    ------
    InputError
        With every problem of the file; for an unknown name with the nearest known one.
    """
    if not _is_path(name_or_path):
        return _load_blank_cached(str(name_or_path))
    return _build_blank(name_or_path)


@lru_cache(maxsize=64)
def _load_blank_cached(name: str) -> BlankMaterial:
    return _build_blank(name)


def _build_blank(name_or_path: str | Path) -> BlankMaterial:
    read = _read_all(name_or_path, "blank")
    v, head = _merge_all(read), read.head
    hrc, limit, break_ = (v.get(k) for k in ("hardness_HRC", "yield_strength", "ultimate_strength"))
    plain = ("E", "nu", "density", "hardness_HV", "bend_strength", "weibull_m", "bar_volume", "defect_size")
    more = ("basquin_k", "torsion_ratio", "K_IC", "speed_factor")
    facts = {key: v[key].value for key in plain + more}
    facts |= {f"{key}_spread": v[key].spread for key in ("E", "bend_strength", "defect_size", "K_IC")}
    facts |= {f"{key}_{end}": getattr(v[key], end) for key in ("weibull_m", "basquin_k") for end in _RANGE}
    return BlankMaterial(
        name=str(name_or_path),
        title=head["title"],
        family=head.get("family", ""),
        condition=head.get("condition", ""),
        cautions=tuple(head.get("cautions", ())),
        heat=tuple(head.get("heat", {}).items()),
        ductile=head.get("ductile", False),
        hardness=hrc.value if hrc else None,
        hardness_lo=hrc.lo if hrc else None,
        hardness_hi=hrc.hi if hrc else None,
        yield_strength=limit.value if limit else None,
        ultimate_strength=break_.value if break_ else None,
        sources=_sources(read),
        rows=tuple(read.rows),
        **facts,
    )


def values(material: WorkMaterial | BlankMaterial) -> list[dict[str, Any]]:
    """List every value of a material as its source prints it.

    Parameters
    ----------
    material : WorkMaterial or BlankMaterial
        As loaded.

    Returns
    -------
    rows : list of dict
        Keys: group, quantity, value, lo, hi, unit, spread, condition, locator, source, mark.
    """
    return [asdict(row) for row in material.rows]


def material_hash(name_or_path: str | Path, kind: Kind = "work") -> str:
    """Fingerprint of the files behind a material, so that an old report can be compared.

    Parameters
    ----------
    name_or_path : str or path
        As for ``load_work`` and ``load_blank``; a packaged name finds its kind by itself.
    kind : {"work", "blank"}
        Whose defaults count for a shop's own file.

    Returns
    -------
    digest : str
        First 16 hexadecimal digits of a SHA-256 over the files and the defaults.

    Raises
    ------
    InputError
        If the name is unknown or the file cannot be read.
    """
    into = _Reading(kind=kind, shop=True, problems=[], head={}, rows=[], models={})
    if _is_path(name_or_path):
        _read_toml(Path(name_or_path), into)
        if into.problems:
            raise InputError(str(name_or_path), into.problems)
        found: list[Traversable] = [Path(name_or_path)]
    else:
        kind = "blank" if name_or_path in names("blank") else "work"
        if name_or_path not in names(kind):
            raise _unknown_name(str(name_or_path), kind)
        found = _toml_files(materials_root().joinpath(str(name_or_path)))
    digest = hashlib.sha256()
    for path in found + _toml_files(materials_root().joinpath("defaults", kind)):
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:16]


# --- specific cutting force -------------------------------------------------------------------------------
def _thickness(h: ArrayLike) -> Array:
    h = np.asarray(h, dtype=np.float64)
    if not (np.isfinite(h) & (h > 0)).all():
        raise ValueError("chip thickness must be finite and > 0 mm; k_c has no value at h = 0")
    return h


def _terms(curves: tuple[ForceCurve, ...], h: ArrayLike) -> tuple[Array, Array, Array]:
    """Power-law part, edge part and exponent of each curve."""
    if not curves:
        raise ValueError("at least one force curve is needed")
    h = _thickness(h)
    K = np.array([(c.k_c11, c.m_c, c.K_te) for c in curves]).T.reshape(3, len(curves), *([1] * h.ndim))
    return K[0] * h ** -K[1], K[2] / h, K[1]


def specific_force(curves: tuple[ForceCurve, ...], h: ArrayLike) -> Array:
    """Specific cutting force of each source, as printed, at its own rake.

    Parameters
    ----------
    curves : tuple of ForceCurve
        One for each source.
    h : array_like, shape (...,)
        Uncut chip thickness, > 0. [mm]

    Returns
    -------
    k_c : ndarray, shape (n_curves, ...)
        Specific cutting force. [MPa]

    Raises
    ------
    ValueError
        If any h is not finite or not > 0, or there is no curve.

    References
    ----------
    KienzleVictor1957, CJME2021 table 5

    Examples
    --------
    >>> one = ForceCurve(label="a", source="b", model="kienzle", k_c11=800.0, m_c=0.25)
    >>> specific_force((one,), 0.0625).round(6).tolist()
    [1600.0]
    """
    power, edge, _ = _terms(curves, h)
    return power + edge


def pooled(curves: tuple[ForceCurve, ...], h: ArrayLike) -> Pooled:
    """Specific cutting force over all sources at the chip thickness of the cut.

    At each h: geometric mean over the sources; its local exponent; sample standard deviation of ln k_c
    between them. The spread is taken at h, not from the printed constants: the sources differ in slope as
    well as in level. It is never below ``sigma_floor``.

    Parameters
    ----------
    curves : tuple of ForceCurve
        One for each source. Each stays at its own rake: the differences of rake are part of the spread.
    h : array_like, shape (...,)
        Uncut chip thickness, > 0. [mm]

    Returns
    -------
    pooled : Pooled
        The mean, its slope and the spread, each of the shape of h.

    Raises
    ------
    ValueError
        If any h is not finite or not > 0, or there is no curve.

    References
    ----------
    KienzleVictor1957, CJME2021 table 5
    """
    power, edge, exponent = _terms(curves, h)
    k = power + edge
    log_k = np.log(k)
    mean = log_k.sum(axis=0) / len(curves)
    slope = ((exponent * power + edge) / k).sum(axis=0) / len(curves)
    between = np.sqrt(((log_k - mean) ** 2).sum(axis=0) / max(len(curves) - 1, 1))
    rakes = [c.rake_reference for c in curves if c.rake_reference is not None]
    return Pooled(
        k_c=np.exp(mean),
        m_c=slope,
        sigma_ln=np.maximum(between, sigma_floor(curves)),
        rake_reference=sum(rakes) / len(rakes) if rakes else 0.0,
        notes=_source_notes(curves, len(rakes)),
    )


def sigma_floor(curves: tuple[ForceCurve, ...]) -> float:
    """Smallest spread of ln k_c that a set of sources is trusted with.

    Sources that agree may have copied each other, so their agreement alone earns no less than 0.15, and fewer
    than three show too little of it: 0.30. Where every source states its own spread (a shop's own test cuts)
    the root mean square of those takes the place of both.

    Parameters
    ----------
    curves : tuple of ForceCurve
        One for each source.

    Returns
    -------
    floor : float
        Standard deviation of ln k_c. [1]
    """
    own = math.sqrt(sum(c.spread**2 for c in curves) / len(curves))
    if all(c.spread > 0 for c in curves):
        return own
    return max(own, SIGMA_FLOOR if len(curves) >= 3 else SIGMA_FLOOR_FEW)


def _source_notes(curves: tuple[ForceCurve, ...], stated: int) -> tuple[str, ...]:
    notes = []
    if len(curves) < 3 and not all(c.spread > 0 for c in curves):
        few = f"only {len(curves)} source{'s' if len(curves) > 1 else ''} of specific force"
        notes.append(f"{few}: sigma_ln is taken as at least {SIGMA_FLOOR_FEW:g}")
    if stated == 0:
        notes.append("no source of specific force states its rake: 0 deg is assumed")
    return tuple(notes)


def range_notes(curves: tuple[ForceCurve, ...], h: ArrayLike) -> tuple[str, ...]:
    """Say where h lies outside what the sources were measured at.

    Parameters
    ----------
    curves : tuple of ForceCurve
        One for each source.
    h : array_like, shape (...,)
        Uncut chip thickness, > 0. [mm]

    Returns
    -------
    notes : tuple of str
        Empty when every source covers every h.
    """
    h = _thickness(h)
    thin, thick = float(h.min()), float(h.max())
    below = [c.h_lo for c in curves if c.h_lo is not None and thin < c.h_lo]
    above = [c.h_hi for c in curves if c.h_hi is not None and thick > c.h_hi]
    silent = sum(c.h_lo is None or c.h_hi is None for c in curves)
    notes = []
    for ends, far, word in ((below, thin, "start"), (above, thick, "end")):
        if ends:
            few = f"{len(ends)} of {len(curves)} sources"
            reach = f"{min(ends):g}" if min(ends) == max(ends) else f"{min(ends):g} to {max(ends):g}"
            notes.append(f"k_c at chip {far:.3g} mm is extrapolated by {few}, which {word} at {reach} mm")
    if silent:
        notes.append(f"{silent} of {len(curves)} sources of specific force state no range of chip thickness")
    return tuple(notes)


def radial_ratio(radial: RadialCurve, h: ArrayLike) -> Array:
    """Radial force over tangential force.

    Parameters
    ----------
    radial : RadialCurve
        Of the material.
    h : array_like, shape (...,)
        Uncut chip thickness, > 0. [mm]

    Returns
    -------
    ratio : ndarray, shape of h
        F_r / F_t. [1]

    Raises
    ------
    ValueError
        If any h is not finite or not > 0.

    References
    ----------
    CJME2021 table 5
    """
    h = _thickness(h)
    ratio: Array = (radial.K_rc * h + radial.K_re) / (radial.K_tc * h + radial.K_te)
    return ratio


def adhesion_factor(material: WorkMaterial, lubrication: str) -> float:
    """Return K_a, the factor on the cutting force for chips that stick to the edge.

    Parameters
    ----------
    material : WorkMaterial
        As loaded.
    lubrication : {"dry", "brush", "mist", "flood"}
        How the cut is wetted.

    Returns
    -------
    K_a : float
        At least 1. [1]

    Raises
    ------
    ValueError
        If the lubrication is none of the four.
    """
    if lubrication not in LUBRICATIONS:
        raise ValueError(f"lubrication is {lubrication!r}; allowed: {', '.join(LUBRICATIONS)}")
    factor: float = getattr(material, f"adhesion_{lubrication}")
    return factor

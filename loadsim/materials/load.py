"""Materials by name or path: values in the units inside, rival sources of one value merged.

A folder ``materials/<name>/`` holds ``material.toml`` (what it is) and one file for each source. A
shop's own material is one file with the keys of both; give its path in place of a name::

    kind = "work"                    # or "blank"
    title = "6061-T6 off our rack"
    # free text; a packaged file names a key of the project's sources here
    source = "test cuts of 3 March"
    mark = "shop"
    cautions = ["..."]               # optional, like family, condition, hardness (all text)
    [surface_speed]
    lo = 75
    hi = 150
    unit = "m/min"
    [curves.testcut]
    # or "edge": K_tc, K_te; "unit-power": unit_power, chip_thickness, m_c
    model = "kienzle"
    k_c11 = { value = 700, unit = "MPa", spread = 0.2 }
    m_c = { value = 0.25, unit = "1" }
    rake_reference = { value = 0, unit = "deg" }
    h_range = { lo = 0.01, hi = 0.1, unit = "mm" }

Every value is a table: ``value`` (or ``lo`` and ``hi``, or all three) and ``unit``, then ``spread``
(relative standard deviation), ``condition``, ``locator`` and ``mark``; these three are taken from
the enclosing table or the head of the file when a value does not say otherwise. What a file leaves
out comes from ``materials/defaults/`` where that has it. The full list of keys is in
``materials/README.md``.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, TypeVar

from loadsim.base.errors import FILE, InputError, Problem, printable
from loadsim.base.files import parse_toml, read_bytes
from loadsim.materials import folder, radial
from loadsim.materials.families import DRILL_METAL, drill_family, radial_family
from loadsim.materials.folder import is_path, names, toml_files, unknown_name
from loadsim.materials.reader import MAX_BYTES, FileReading, defaults, read_all, read_toml
from loadsim.materials.schema import (
    GROUPS,
    LUBRICATIONS,
    QUANTITIES,
    RANGE,
    BlankMaterial,
    DrillFactors,
    ForceCurve,
    Kind,
    RadialCurve,
    ValueRow,
    WorkMaterial,
)
from loadsim.mechanics.force_law import ForceLaw, Kienzle, LinearEdge

M = TypeVar("M")


#: Longest path that a message tells whole. [1]
LONGEST_PATH = 400


def named(load: Callable[[str], M], name: str, where: str) -> M:
    """Load a material; what is wrong with its name, or with the file that it leads to, is a problem
    of the job file, at its key.
    """
    try:
        return load(name)
    except InputError as error:
        inside = f"{printable(name, LONGEST_PATH)}: " if is_path(name) else ""
        raise InputError(
            FILE,
            [
                Problem(
                    where=where,
                    message=inside + (f"{p.where}: {p.message}" if p.where else p.message),
                )
                for p in error.problems
            ],
        ) from None


def _units_of(row: ValueRow, kind: Kind, models: dict[str, str]) -> float:
    if not row.group:
        return QUANTITIES[kind][row.quantity].units[row.unit]
    table = GROUPS[row.group.partition(".")[0]]
    return table[models[row.group]][row.quantity].units[row.unit]


@dataclass(frozen=True, slots=True)
class _Merged:
    """One quantity over all its sources, in the units used inside."""

    value: float
    lo: float
    hi: float
    spread: float


def _merge(rows: list[ValueRow], read: FileReading) -> _Merged:
    """Mean of the values; outermost lo and hi; variance within and between the sources added."""
    factor = [_units_of(row, read.kind, read.models) for row in rows]
    each = [r.value * f for r, f in zip(rows, factor, strict=True) if r.value is not None]
    ends = [
        x * f for r, f in zip(rows, factor, strict=True) for x in (r.lo, r.hi) if x is not None
    ] + each
    value = sum(each) / len(each) if each else math.nan
    within = sum((r.spread or 0.0) ** 2 for r in rows) / len(rows)
    between = (
        sum((x - value) ** 2 for x in each) / (len(each) - 1) / value**2 if len(each) > 1 else 0.0
    )
    return _Merged(value, min(ends), max(ends), math.sqrt(within + between))


def _merge_all(read: FileReading, group: str = "") -> dict[str, _Merged]:
    quantities: dict[str, list[ValueRow]] = {}
    for row in read.rows:
        if row.group == group:
            quantities.setdefault(row.quantity, []).append(row)
    return {quantity: _merge(rows, read) for quantity, rows in quantities.items()}


def _law(model: str, v: dict[str, _Merged]) -> ForceLaw:
    """Force law of a curve, by the model its source prints."""
    if model == "kienzle":
        return Kienzle(v["k_c11"].value, v["m_c"].value)
    if model == "edge":
        return LinearEdge(v["K_tc"].value, v["K_te"].value)
    efficiency = v["efficiency"].value if "efficiency" in v else 1.0
    k_c = v["unit_power"].value * efficiency
    return Kienzle.through(v["chip_thickness"].value, k_c, v["m_c"].value)


def _curve(group: str, read: FileReading) -> ForceCurve:
    v = _merge_all(read, group)
    model = read.models[group]
    rake = v.get("rake_reference")
    h = v.get("h_range")
    return ForceCurve(
        label=group.removeprefix("curves."),
        source=next(r.source for r in read.rows if r.group == group),
        model=model,
        law=_law(model, v),
        spread=max(v[key].spread for key in ("k_c11", "K_tc", "unit_power") if key in v),
        rake_reference=rake.value if rake else None,
        h_lo=h.lo if h else None,
        h_hi=h.hi if h else None,
        alloy=read.alloys.get(group, ""),
    )


def _upward_sd(upward: _Merged) -> float:
    """Spread of ln k_c of a soft temper, level between its aged alloy's force and so many times it;
    another alloy's distance beside it."""
    return math.hypot(math.log(upward.value) / math.sqrt(12.0), upward.spread)


def _curves(read: FileReading, v: dict[str, _Merged]) -> tuple[ForceCurve, ...]:
    """Its own curves, and for a soft temper those of the aged alloy as a lower bound."""
    own = tuple(_curve(group, read) for group in read.models if group.startswith("curves."))
    if "aged_alloy" not in read.head:
        return own
    aged = load_work(read.head["aged_alloy"]).curves
    upward = _upward_sd(v["upward"])
    return own + tuple(replace(c, upward=upward) for c in aged if c.upward is None)


def _radial_curve(group: str, read: FileReading) -> RadialCurve:
    v = _merge_all(read, group)
    h = v.get("h_range")
    ends = (h.lo, h.hi) if h else (None, None)
    constants = {key: merged.value for key, merged in v.items()}
    return RadialCurve(
        label=group.rpartition(".")[2] if "." in group else "",
        source=next(r.source for r in read.rows if r.group == group),
        ratio=radial.ratio_of(read.models[group], constants, *ends),
        spread=v["ratio_spread"].value,
        rake_reference=constants.get("rake_reference"),
        weight=constants.get("weight", 1.0),
        h_lo=ends[0],
        h_hi=ends[1],
    )


def _radial_curves(read: FileReading) -> tuple[RadialCurve, ...]:
    """What each source says of the radial force: the metal's own, else those of its family."""
    groups = dict.fromkeys(r.group for r in read.rows if r.group.startswith("radial"))
    return tuple(_radial_curve(group, read) for group in groups)


def _radial(read: FileReading, curves: tuple[RadialCurve, ...]) -> RadialCurve:
    family = str(read.head.get("family", ""))
    whose = radial_family(family)
    common = {f"radial.{whose}.{c.label}" for c in curves} <= defaults("work").models.keys()
    pool = radial.pooled(curves, whose if common else "")
    if not common or family.startswith(whose):
        return pool
    spread = math.hypot(pool.spread, radial.BORROWED_SPREAD)
    return replace(pool, spread=spread, borrowed=whose)


def _drill(read: FileReading) -> DrillFactors:
    """The metal's own factors, else its family's; those of another metal name it."""
    rows = [row for row in read.rows if row.group.partition(".")[0] == "drill"]
    torque, thrust = (
        _merge([r for r in rows if r.quantity == key], read) for key in ("K_torque", "K_thrust")
    )
    family = str(read.head.get("family", ""))
    whose = drill_family(family)
    own = rows[0] not in defaults("work").rows
    kin = family.startswith(whose) and not read.shop
    reference = "" if own or kin else DRILL_METAL[whose]
    return DrillFactors(torque=torque.value, thrust=thrust.value, reference=reference)


def _sources(rows: tuple[ValueRow, ...]) -> tuple[str, ...]:
    return tuple(sorted({row.source for row in rows}))


def _rows(read: FileReading) -> tuple[ValueRow, ...]:
    """Every value as printed; for a soft temper the aged alloy's curves too, under its name."""
    aged = read.head.get("aged_alloy")
    if aged is None:
        return tuple(read.rows)
    borrowed = (r for r in load_work(aged).rows if r.group.startswith("curves."))
    return (*read.rows, *(replace(r, group=f"{aged} {r.group}") for r in borrowed))


def load_work(name_or_path: str | Path) -> WorkMaterial:
    """Load a material to be cut.

    Parameters
    ----------
    name_or_path : str or path
        A name of ``names("work")``, or the path of a shop's file (ends in .toml or has a
        separator).

    Returns
    -------
    material : WorkMaterial
        Every number in mm, N, MPa, s, rad.

    Raises
    ------
    InputError
        With every problem of the file; for an unknown name with the nearest known one.
    """
    if not is_path(name_or_path):
        return _load_work_cached(folder.listed(str(name_or_path), "work"))
    return _build_work(name_or_path)


@lru_cache(maxsize=128)
def _load_work_cached(name: str) -> WorkMaterial:
    return _build_work(name)


def _build_work(name_or_path: str | Path) -> WorkMaterial:
    read = read_all(name_or_path, "work")
    v = _merge_all(read)
    rows = _rows(read)
    head = read.head
    bue = v.get("built_up_edge_speed")
    density = v.get("density")
    hardness = v.get("hardness_HV")
    radial_curves = _radial_curves(read)
    return WorkMaterial(
        name=str(name_or_path),
        title=head["title"],
        family=head.get("family", ""),
        condition=head.get("condition", ""),
        hardness=head.get("hardness", ""),
        hardness_HV=hardness.value if hardness else None,
        cautions=tuple(head.get("cautions", ())),
        curves=_curves(read, v),
        radial=_radial(read, radial_curves),
        radial_curves=radial_curves,
        drill=_drill(read),
        h_min_ratio=v["h_min_ratio"].value,
        h_min_ratio_spread=v["h_min_ratio"].spread,
        surface_speed_lo=v["surface_speed"].lo,
        surface_speed_hi=v["surface_speed"].hi,
        bulking=v["bulking"].value,
        bulking_lo=v["bulking"].lo,
        bulking_hi=v["bulking"].hi,
        built_up_edge_speed=bue.value if bue else None,
        density=density.value if density else None,
        sources=_sources(rows),
        rows=rows,
        **{f"adhesion_{how}": v[f"adhesion_{how}"].value for how in LUBRICATIONS},
    )


def load_blank(name_or_path: str | Path) -> BlankMaterial:
    """Load a material a cutter is ground from.

    Parameters
    ----------
    name_or_path : str or path
        A name of ``names("blank")``, or the path of a shop's file (ends in .toml or has a
        separator).

    Returns
    -------
    material : BlankMaterial
        Every number in mm, N, MPa, s, rad.

    Raises
    ------
    InputError
        With every problem of the file; for an unknown name with the nearest known one.
    """
    if not is_path(name_or_path):
        return _load_blank_cached(folder.listed(str(name_or_path), "blank"))
    return _build_blank(name_or_path)


@lru_cache(maxsize=64)
def _load_blank_cached(name: str) -> BlankMaterial:
    return _build_blank(name)


def _build_blank(name_or_path: str | Path) -> BlankMaterial:
    read = read_all(name_or_path, "blank")
    v = _merge_all(read)
    head = read.head
    hrc, limit, break_ = (v.get(k) for k in ("hardness_HRC", "yield_strength", "ultimate_strength"))
    plain = (
        "E",
        "nu",
        "density",
        "hardness_HV",
        "hot_hardness_share",
        "bend_strength",
        "weibull_m",
        "bar_volume",
        "defect_size",
    )
    more = ("basquin_k", "torsion_ratio", "K_IC", "speed_factor")
    facts = {key: v[key].value for key in plain + more}
    facts |= {
        f"{key}_spread": v[key].spread for key in ("E", "bend_strength", "defect_size", "K_IC")
    }
    facts |= {
        f"{key}_{end}": getattr(v[key], end) for key in ("weibull_m", "basquin_k") for end in RANGE
    }
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
        sources=_sources(tuple(read.rows)),
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


def _files(name: str) -> list[Traversable]:
    return toml_files(folder.materials_root().joinpath(name))


def _aged_alloy(sources: list[Traversable]) -> str:
    """The alloy whose curves bound those of a soft temper; "" for any other material."""
    for path in sources:
        aged = parse_toml(read_bytes(path, MAX_BYTES).decode("utf-8")).get("aged_alloy", "")
        if aged:
            return str(aged)
    return ""


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
    into = FileReading(kind=kind, shop=True, problems=[], head={}, rows=[], models={})
    if is_path(name_or_path):
        read_toml(Path(name_or_path), into)
        if into.problems:
            raise InputError(str(name_or_path), into.problems)
        sources: list[Traversable] = [Path(name_or_path)]
    else:
        kind = "blank" if name_or_path in names("blank") else "work"
        if name_or_path not in names(kind):
            raise unknown_name(str(name_or_path), kind)
        sources = _files(str(name_or_path))
    aged = _aged_alloy(sources)
    if aged in names("work"):  # a name that is not known is refused where the material is read
        sources += _files(aged)
    digest = hashlib.sha256()
    for path in sources + toml_files(folder.materials_root().joinpath("defaults", kind)):
        digest.update(path.name.encode() + b"\0" + read_bytes(path, MAX_BYTES) + b"\0")
    return digest.hexdigest()[:16]

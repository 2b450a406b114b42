"""Material files read and checked, every problem of a material in one list; nothing converted."""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from loadsim.base.errors import InputError, Problem, is_plain
from loadsim.base.files import parse_toml, read_bytes
from loadsim.materials import folder
from loadsim.materials.families import drill_family, radial_family
from loadsim.materials.folder import is_path, names, toml_files, unknown_name
from loadsim.materials.schema import (
    GROUPS,
    HEAD,
    MARKS,
    MODELS,
    QUANTITIES,
    SOURCE_HEAD,
    VALUE_KEYS,
    Kind,
    Quantity,
    ValueRow,
)

#: Most that a material file, a text in it and a name in it may hold. [bytes], [1], [1]
MAX_BYTES = 200_000
MAX_TEXT = 500
MAX_NAME = 60


@dataclass(slots=True)
class FileReading:
    """What was gathered from the files of one material so far."""

    kind: Kind
    shop: bool
    problems: list[Problem]
    head: dict[str, Any]
    rows: list[ValueRow]
    models: dict[str, str]  # group to model, for curves and radial
    alloys: dict[str, str] = field(default_factory=dict)  # group to the alloy it was measured on
    file: str = ""
    source: str = ""

    def wrong(self, table: str, key: str, message: str) -> None:
        """Note one problem; in a packaged material the file is named too."""
        where = " ".join(part for part in (self.file, f"[{table}]" if table else "", key) if part)
        self.problems.append(Problem(where=where, message=message))


def read_toml(path: Traversable, into: FileReading) -> dict[str, Any] | None:
    """Parse one file; None and a problem when it cannot be."""
    try:
        doc = parse_toml(read_bytes(path, MAX_BYTES).decode("utf-8"))
        _check_texts(doc, "", into)
        return doc
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


def _check_texts(x: object, where: str, into: FileReading) -> None:
    """Every text and name must be plain and not over long: they stand in answers and reports."""
    if isinstance(x, dict):
        for key, inner in x.items():
            place = f"{where}.{key}" if where else key
            if not is_plain(key) or len(key) > MAX_NAME:
                into.wrong(
                    "",
                    place,
                    f"is a name with control characters, or of over {MAX_NAME} characters; write"
                    " plain text",
                )
            _check_texts(inner, place, into)
    elif isinstance(x, list):
        for inner in x:
            _check_texts(inner, where, into)
    elif isinstance(x, str):
        if not is_plain(x):
            into.wrong(
                "",
                where,
                "holds control characters, line breaks or marks of direction; write plain text on"
                " one line",
            )
        if len(x) > MAX_TEXT:
            into.wrong("", where, f"is {len(x)} characters long; allowed is at most {MAX_TEXT}")


def _unknown_key(key: str, table: str, known: Iterable[str], into: FileReading) -> None:
    known = sorted(set(known))
    near = difflib.get_close_matches(key, known, n=1)
    hint = f"did you mean {near[0]!r}?" if near else f"allowed: {', '.join(known)}"
    into.wrong(table, key, f"unknown key; {hint}")


def _is_number(x: object) -> bool:
    return isinstance(x, int | float) and not isinstance(x, bool)


def _number(
    table: dict[str, Any], key: str, where: tuple[str, str], into: FileReading
) -> float | None:
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


def _check_unit(unit: object, q: Quantity, where: tuple[str, str], into: FileReading) -> bool:
    if isinstance(unit, str) and unit in q.units:
        return True
    fault = "unit is missing" if unit is None else f"unit is {unit!r}"
    into.wrong(*where, f"{fault}; allowed: {', '.join(q.units)}")
    return False


def _check_bounds(
    numbers: dict[str, float], unit: str, q: Quantity, where: tuple[str, str], into: FileReading
) -> None:
    for key, x in numbers.items():
        y = x * q.units[unit]
        if y < q.low or (q.strict and y == q.low) or y > q.high:
            sign = ">" if q.strict else ">="
            top = f" and <= {q.high / q.units[unit]:g}" if math.isfinite(q.high) else ""
            into.wrong(
                *where, f"{key} is {x:g} {unit}; must be {sign} {q.low / q.units[unit]:g}{top}"
            )
    order = [numbers[k] for k in ("lo", "value", "hi") if k in numbers]
    if order != sorted(order):
        into.wrong(*where, "must be ordered lo <= value <= hi")


def _text(table: dict[str, str], key: str, where: tuple[str, str], into: FileReading) -> str:
    x = table.get(key, "")
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
    group: str, key: str, table: object, q: Quantity, inherited: dict[str, Any], into: FileReading
) -> None:
    """Check one value table and add its row."""
    where = (group, key)
    if not isinstance(table, dict):
        unit = next(iter(q.units))
        into.wrong(
            *where, f"is {table!r}; write a table such as {{ value = ..., unit = {unit!r} }}"
        )
        return
    for name in table.keys() - set(VALUE_KEYS):
        _unknown_key(name, f"{group}.{key}" if group else key, VALUE_KEYS, into)
    missing = [name for name in q.needs if name not in table]
    for name in missing:
        into.wrong(*where, f"{name} is missing")
    value, lo, hi, spread = (
        _number(table, name, where, into) for name in ("value", "lo", "hi", "spread")
    )
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


def _read_alloy(group: str, alloy: object, into: FileReading) -> None:
    if isinstance(alloy, str) and alloy.strip():
        into.alloys[group] = alloy
    else:
        into.wrong(group, "alloy", f"is {alloy!r}; name the alloy in a text, or leave it out")


def _read_group(
    group: str,
    table: object,
    models: dict[str, dict[str, Quantity]],
    inherited: dict[str, Any],
    into: FileReading,
) -> None:
    """Check one curve (or the radial table) and add its rows."""
    if not isinstance(table, dict) or table.get("model") not in models:
        model = table.get("model") if isinstance(table, dict) else table
        into.wrong(group, "model", f"is {model!r}; allowed: {', '.join(models)}")
        return
    known = models[table["model"]]
    words = {k: table[k] for k in ("condition", "locator", "mark") if k in table}
    for key, q in known.items():
        if key in table:
            _read_value(group, key, table[key], q, inherited | words, into)
        elif q.required:
            into.wrong(group, key, "is missing")
    own = ("model", "condition", "locator", "mark", *(("alloy",) if models is MODELS else ()))
    for key in table.keys() - {*known, *own}:
        _unknown_key(key, group, (*known, *own), into)
    if "alloy" in table and models is MODELS:
        _read_alloy(group, table["alloy"], into)
    if group in into.models:
        into.wrong(group, "", "is given by another source file too; name it differently")
    into.models[group] = table["model"]


def _groups(name: str, content: dict[str, Any]) -> dict[str, Any]:
    """Return the tables that have a model, each by its path; all but curves may be nested."""
    if name == "curves":
        return {f"curves.{key}": table for key, table in content.items()}
    if not _holds_tables(content):
        return {name: content}
    inner = (_groups(f"{name}.{key}", table) for key, table in content.items())
    return {place: table for tables in inner for place, table in tables.items()}


def _holds_tables(content: object) -> bool:
    return (
        isinstance(content, dict)
        and len(content) > 0
        and all(isinstance(x, dict) and "unit" not in x for x in content.values())
    )


def _read_document(doc: dict[str, Any], into: FileReading) -> None:
    """Take the head, the values and the curves out of one parsed file."""
    known = QUANTITIES[into.kind]
    heads = HEAD + SOURCE_HEAD if into.shop else SOURCE_HEAD
    inherited = {k: doc[k] for k in ("locator", "mark", "condition") if isinstance(doc.get(k), str)}
    tables = tuple(GROUPS) if into.kind == "work" else ()
    for key, content in doc.items():
        if key in known:
            _read_value("", key, content, known[key], inherited, into)
        elif key in tables and isinstance(content, dict):
            for group, table in _groups(key, content).items():
                _read_group(group, table, GROUPS[key], inherited, into)
        elif key in heads:
            if into.shop:
                into.head[key] = content
        else:
            _unknown_key(key, "", (*known, *tables, *heads), into)


def _read_source(path: Traversable, name: str, into: FileReading) -> None:
    """Read one file with values."""
    into.file = name
    doc = read_toml(path, into)
    if doc is None:
        return
    other = {"work": "blank", "blank": "work"}[into.kind]
    if into.shop and doc.get("kind") == other:  # every other key would be wrong too
        into.wrong("", "kind", f"is {other!r}; a {into.kind} material is needed here")
        return
    source = doc.get("source")
    if not isinstance(source, str) or not source.strip():
        into.wrong("", "source", "is missing; say where the numbers come from")
        source = "?"
    into.source = f"shop: {source}" if into.shop else source
    _read_document(doc, into)


def _check_head(into: FileReading) -> None:
    """Check the keys that say what the material is."""
    head = into.head
    into.file = ""
    if head.get("kind") != into.kind:
        into.wrong("", "kind", f"is {head.get('kind')!r}; a {into.kind} material is needed here")
    if not isinstance(head.get("title"), str):
        into.wrong("", "title", "is missing; name the material in a text")
    for key in ("family", "condition", "hardness"):
        if not isinstance(head.get(key, ""), str):
            into.wrong("", key, f"is {head[key]!r}; write a text in quotes")
    for key in ("cautions", "aliases"):
        texts = head.get(key, [])
        if not isinstance(texts, list) or not all(isinstance(text, str) for text in texts):
            into.wrong("", key, "must be a list of texts")
    if not isinstance(head.get("ductile", False), bool):
        into.wrong("", "ductile", "must be true or false")
    heat = head.get("heat", {})
    if not isinstance(heat, dict) or not all(isinstance(v, str) for v in heat.values()):
        into.wrong("", "heat", "must be a table of color = 'what it means'")


def _check_aged_alloy(into: FileReading) -> None:
    """A soft temper names the aged alloy that it is held to, and how far above it may lie."""
    aged = into.head.get("aged_alloy")
    if aged is None:
        return
    if aged not in names("work"):
        into.wrong("", "aged_alloy", f"is {aged!r}; name a work material of the list")
    if not any(row.quantity == "upward" and not row.group for row in into.rows):
        into.wrong("", "upward", "is missing; a soft temper says how far above its aged alloy")


def _check_complete(into: FileReading) -> None:
    """Every required value must be there after the defaults were added."""
    present = {row.quantity for row in into.rows if not row.group}
    needed = {key for key, q in QUANTITIES[into.kind].items() if q.required}
    if into.kind == "blank" and into.head.get("ductile") is True:
        needed |= {"yield_strength", "ultimate_strength"}
    faulty = {p.where.split()[-1] for p in into.problems if p.where}
    for key in sorted(needed - present - faulty):
        into.wrong("", key, "is missing")
    if (
        into.kind == "work"
        and not any(g.startswith("curves.") for g in into.models)
        and "curves" not in faulty
    ):
        into.wrong("", "curves", "is missing; at least one [curves.NAME] table is needed")


def _add_defaults(into: FileReading) -> None:
    """Fill what the material's own files leave out from ``materials/defaults/``."""
    present = {row.quantity for row in into.rows if not row.group} | set(into.models)
    default = defaults(into.kind)
    family = str(into.head.get("family", ""))
    own = {group.partition(".")[0] for group in into.models}
    radial = f"radial.{radial_family(family)}."
    drill = f"drill.{drill_family(family)}"
    wanted = {g for g in default.models if g.startswith(radial) or g == drill}
    present |= {g for g in default.models if g not in wanted or g.partition(".")[0] in own}
    into.rows += [r for r in default.rows if (r.group or r.quantity) not in present]
    into.models |= {g: m for g, m in default.models.items() if g not in present}


@lru_cache(maxsize=2)
def defaults(kind: Kind) -> FileReading:
    """Return what ``materials/defaults/`` holds for work materials or blanks."""
    into = FileReading(kind=kind, shop=False, problems=[], head={}, rows=[], models={})
    for path in toml_files(folder.materials_root().joinpath("defaults", kind)):
        _read_source(path, f"{kind}/{path.name}", into)
    if into.problems:
        raise InputError("materials/defaults", into.problems)
    return into


def _read_folder(name: str, into: FileReading) -> None:
    """Read ``material.toml`` and every source file of a packaged material."""
    place = folder.materials_root().joinpath(name)
    into.file = "material.toml"
    into.head = read_toml(place.joinpath("material.toml"), into) or {}
    for key in into.head.keys() - set(HEAD):
        _unknown_key(key, "", HEAD, into)
    for path in toml_files(place):
        if path.name != "material.toml":
            _read_source(path, path.name, into)


def read_all(name_or_path: str | Path, kind: Kind) -> FileReading:
    """Read every file of a material, or raise with all problems."""
    shop = is_path(name_or_path)
    if not shop and name_or_path not in names(kind):
        raise unknown_name(str(name_or_path), kind)
    into = FileReading(kind=kind, shop=shop, problems=[], head={}, rows=[], models={})
    if shop:
        _read_source(Path(name_or_path), "", into)
    else:
        _read_folder(str(name_or_path), into)
    if into.head or not into.problems:  # a file that could not be read has one problem, not twenty
        _check_head(into)
        _check_aged_alloy(into)
        _add_defaults(into)
        _check_complete(into)
    if into.problems:
        raise InputError(str(name_or_path) if shop else f"materials/{name_or_path}", into.problems)
    return into

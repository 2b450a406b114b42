"""Materials in words, for a terminal."""

from __future__ import annotations

from typing import Any

from loadsim.base import shop
from loadsim.base.units import System
from loadsim.materials.truth import ForceSource, Truth
from loadsim.report.rows.forces import (
    CHIP_UNIT,
    RATIO_TITLE,
    SOURCES_TITLE,
    chip_texts,
    force_notes,
    force_table,
    forces_title,
    source_name,
    source_values,
    where_text,
)
from loadsim.report.rows.materials import metal_title, value_row
from loadsim.report.terminal.layout import bullets, columns, wrap

#: Longest line of a metal's page. [1]
NARROW = 80

#: Where the words under a source's numbers start. [1]
INDENT = 4


def materials_text(work: list[tuple[str, str]], blanks: list[tuple[str, str]]) -> str:
    """List the materials.

    Parameters
    ----------
    work : list of (name, title)
        To be cut.
    blanks : list of (name, title)
        To grind cutters from.

    Returns
    -------
    text : str
    """
    lines = ["Materials to cut", columns(work)]
    lines += ["", "Blanks to grind cutters from", columns(blanks)]
    lines += ["", "One with its sources: loadsim materials NAME", ""]
    return "\n".join(lines)


def material_text(data: dict[str, Any], truth: Truth | None, system: System = "metric") -> str:
    """Show one material.

    Parameters
    ----------
    data : dict
        As the JSON of `loadsim materials NAME`.
    truth : Truth or None
        Its forces and their sources; None for a blank.
    system : {"metric", "inch"}
        Units to tell it in.

    Returns
    -------
    text : str
    """
    return _blank_text(data, system) if truth is None else _metal_text(data, truth)


def _blank_text(data: dict[str, Any], system: System) -> str:
    """Show a blank with every value, its source and how sure it is."""
    condition = shop.temperatures(data["condition"], system)
    lines = [wrap(f"{data['name']}: {data['title']}, {condition}", "  ", "", NARROW)]
    lines += bullets([shop.temperatures(x, system) for x in data["cautions"]], NARROW)
    lines += ["", "Values", columns([value_row(value, system) for value in data["values"]])]
    lines += _references(data, NARROW)
    if data.get("heat"):
        lines += ["", "What a grinding colour means"]
        for colour, meaning in data["heat"]:
            told = shop.temperatures(meaning, system)
            lines.append(wrap(told, " " * 16, f"  {colour:<12}  ", NARROW))
    return "\n".join([*lines, ""])


def _metal_text(data: dict[str, Any], truth: Truth) -> str:
    """Show a metal: the force on a millimetre of edge over the chip, every source of it, and the
    other values.
    """
    values = [value_row(value, truth.system) for value in data["values"] if not value["group"]]
    values_read = [(name, ", ".join(told)) for name, *told in values]
    lines = [wrap(f"{data['name']}: {metal_title(data)}", "  ", "", NARROW)]
    lines += bullets(data["cautions"], NARROW)
    lines += ["", wrap(forces_title(truth), "", None, NARROW), columns(force_table(truth))]
    lines += [wrap(text, "  ", None, NARROW) for text in force_notes(data["radial_borrowed"])]
    lines += _source_lines(truth)
    lines += ["", "Other values", columns(values_read)]
    lines += _references(data, NARROW)
    return "\n".join([*lines, ""])


def _source_lines(truth: Truth) -> list[str]:
    """A line of numbers for every source, and under it where they come from."""
    chip = f"chip [{CHIP_UNIT[truth.system]}]"
    heads = ["", chip, *chip_texts(truth), "how read"]
    rows = [heads, *(_source_row(n, s, truth) for n, s in enumerate(truth.sources, 1))]
    head, *numbers = columns(rows, "").splitlines()
    lines = ["", SOURCES_TITLE, head]
    radial = False
    for line, source in zip(numbers, truth.sources, strict=True):
        if source.kind == "radial" and not radial:
            radial = True
            lines += ["", RATIO_TITLE, head]
        lines += [line, wrap(where_text(source, truth.system), " " * INDENT, None, NARROW)]
    return lines


def _source_row(number: int, source: ForceSource, truth: Truth) -> list[str]:
    return [f"{number:2}", source_name(source), *source_values(source, truth.system), source.mark]


def _references(data: dict[str, Any], width: int) -> list[str]:
    lines = ["", "Sources"]
    for key, source in data["sources"].items():
        lines.append(wrap(f"{key}: {source['text']} ({source['read']})", "      ", "  ", width))
    return lines

"""Materials in words, for a terminal."""

from __future__ import annotations

from typing import Any

from loadsim.report.rows.materials import value_row
from loadsim.report.terminal.layout import bullets, columns, wrap


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


def material_text(data: dict[str, Any]) -> str:
    """Show one material with every value, its source and how sure it is.

    Parameters
    ----------
    data : dict
        As the JSON of `loadsim materials NAME`.

    Returns
    -------
    text : str
    """
    hardness = f" ({data['hardness']})" if data.get("hardness") else ""
    lines = [f"{data['name']}: {data['title']}, {data['condition']}{hardness}"]
    lines += bullets(data["cautions"])
    if data.get("k_c_curve"):
        lines += [
            "",
            "Specific cutting force over chip thickness, pooled from all sources",
            columns(_force_rows(data["k_c_curve"])),
        ]
    if data.get("radial_curve"):
        whose = f", borrowed: {data['radial_borrowed']}" if data["radial_borrowed"] else ""
        lines += [
            "",
            f"Radial over tangential force at the rake it was measured at, pooled{whose}",
            columns(_radial_rows(data["radial_curve"])),
        ]
    lines += ["", "Values", columns([value_row(value) for value in data["values"]])]
    lines += ["", "Sources"]
    for key, source in data["sources"].items():
        lines.append(wrap(f"{key}: {source['text']} ({source['read']})", "      ", "  "))
    if data.get("heat"):
        lines += ["", "What a grinding colour means", columns(data["heat"])]
    return "\n".join([*lines, ""])


def _force_rows(curve: list[dict[str, float]]) -> list[list[str]]:
    """Tabulate the specific cutting force over the chip thickness."""
    rows = [
        [f"{point['h_mm']:g} mm", f"{point['k_c_MPa']:.0f} N/mm^2", f"factor {point['factor']:.2f}"]
        for point in curve
    ]
    return [["h", "k_c", "spread between sources (1 sd)"], *rows]


def _radial_rows(curve: list[dict[str, float]]) -> list[list[str]]:
    """Tabulate the radial over the tangential force over the chip thickness."""
    rows = [
        [f"{point['h_mm']:g} mm", f"{point['ratio']:.2f}", f"factor {point['factor']:.2f}"]
        for point in curve
    ]
    return [["h", "radial / tangential", "spread (1 sd)"], *rows]

"""Materials in words, for a terminal."""

from __future__ import annotations

from typing import Any

from loadsim.report.rows import value_text
from loadsim.report.terminal.layout import columns, wrap


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
    return "\n".join(
        [
            "Materials to cut",
            columns([[n, t] for n, t in work]),
            "",
            "Blanks to grind cutters from",
            columns([[n, t] for n, t in blanks]),
            "",
            "One with its sources: loadsim materials NAME",
            "",
        ]
    )


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
    lines = [
        f"{data['name']}: {data['title']}, {data['condition']}"
        + (f" ({data['hardness']})" if data.get("hardness") else "")
    ]
    lines += [wrap(c, "    ", "  - ") for c in data["cautions"]]
    if data.get("k_c_curve"):
        lines += [
            "",
            "Specific cutting force over chip thickness, pooled from all sources",
            columns(
                [
                    ["h", "k_c", "spread between sources (1 sd)"],
                    *(
                        [
                            f"{p['h_mm']:g} mm",
                            f"{p['k_c_MPa']:.0f} N/mm^2",
                            f"factor {p['factor']:.2f}",
                        ]
                        for p in data["k_c_curve"]
                    ),
                ]
            ),
        ]
    lines += ["", "Values"]
    rows = [
        [
            (f"{v['group']} " if v["group"] else "") + v["quantity"],
            value_text(v),
            v["mark"],
            v["source"],
        ]
        for v in data["values"]
    ]
    lines += [columns(rows), "", "Sources"]
    lines += [
        wrap(f"{k}: {s['text']} ({s['read']})", "      ", "  ") for k, s in data["sources"].items()
    ]
    if data.get("heat"):
        lines += ["", "What a grinding colour means", columns([[c, m] for c, m in data["heat"]])]
    return "\n".join([*lines, ""])

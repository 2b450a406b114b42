"""Values of a material with their sources."""

from __future__ import annotations

from typing import Any


def value_text(value: dict[str, Any]) -> str:
    """Write a value of a material: number, range, unit and spread, as far as they are known.

    Parameters
    ----------
    value : dict
        An entry of "values" in the JSON of `loadsim materials NAME`.

    Returns
    -------
    text : str
    """
    parts = [f"{value['value']:g}"] if value["value"] is not None else []
    if value["lo"] is not None and value["hi"] is not None:
        span = f"{value['lo']:g} to {value['hi']:g}"
        parts.append(f"({span})" if parts else span)
    if value["unit"] and value["unit"] != "1":
        parts.append(value["unit"])
    if value["spread"] is not None:
        parts.append(f"+-{value['spread']:.0%}")
    return " ".join(parts)


def metal_title(data: dict[str, Any]) -> str:
    """Write what a material is: title, condition and hardness.

    Parameters
    ----------
    data : dict
        The JSON of `loadsim materials NAME`.

    Returns
    -------
    text : str
    """
    hardness = f" ({data['hardness']})" if data.get("hardness") else ""
    return f"{data['title']}, {data['condition']}{hardness}"


def value_row(value: dict[str, Any]) -> tuple[str, str, str, str]:
    """Tabulate a value of a material: what it is, the value, how sure it is, and its source.

    Parameters
    ----------
    value : dict
        An entry of "values" in the JSON of `loadsim materials NAME`.

    Returns
    -------
    row : tuple of str
    """
    group = f"{value['group']} " if value["group"] else ""
    return group + value["quantity"], value_text(value), value["mark"], value["source"]

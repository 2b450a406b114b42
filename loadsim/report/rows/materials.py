"""Values of a material with their sources."""

from __future__ import annotations

from typing import Any

from loadsim.base import shop
from loadsim.base.units import IN, LBF, System

#: Thousand pounds of force on a square inch. [MPa]
KSI = 1000 * LBF / IN**2

#: Units of a material's data that an inch shop reads in another one: its spelling, and its size.
INCH_UNITS = {
    "MPa": ("ksi", KSI),
    "N/mm^2": ("ksi", KSI),
    "GPa": ("Msi", KSI),
    "MPa*sqrt(m)": ("ksi*sqrt(in)", KSI * (IN / 1000) ** 0.5),
    "N/mm": ("lbf/in", LBF / IN),
    "m/min": ("ft/min", 12 * IN / 1000),
    "um": ("thou", IN),
    "mm": ("in", IN),
    "mm^3": ("in^3", IN**3),
    "kg/m^3": ("lb/in^3", 0.45359237 / (IN / 1000) ** 3),
}


def value_text(value: dict[str, Any], system: System = "metric") -> str:
    """Write a value of a material: number, range, unit and spread, as far as they are known.

    Parameters
    ----------
    value : dict
        An entry of "values" in the JSON of `loadsim materials NAME`.
    system : {"metric", "inch"}
        Units to write it in; metric are those that its source is kept in.

    Returns
    -------
    text : str

    Examples
    --------
    >>> steel = {"value": 1000.0, "lo": None, "hi": None, "unit": "MPa", "spread": 0.1}
    >>> value_text(steel), value_text(steel, "inch")
    ('1000 MPa +-10%', '145 ksi +-10%')
    """
    unit = value["unit"]
    inch = INCH_UNITS.get(unit) if system == "inch" else None

    def number(x: float) -> str:
        return f"{x:g}" if inch is None else shop.figures(x / inch[1], 3)

    parts = [number(value["value"])] if value["value"] is not None else []
    if value["lo"] is not None and value["hi"] is not None:
        span = f"{number(value['lo'])} to {number(value['hi'])}"
        parts.append(f"({span})" if parts else span)
    if unit and unit != "1":
        parts.append(unit if inch is None else inch[0])
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


def value_row(value: dict[str, Any], system: System = "metric") -> tuple[str, str, str, str]:
    """Tabulate a value of a material: what it is, the value, how sure it is, and its source.

    Parameters
    ----------
    value : dict
        An entry of "values" in the JSON of `loadsim materials NAME`.
    system : {"metric", "inch"}
        Units to write it in.

    Returns
    -------
    row : tuple of str
    """
    group = f"{value['group']} " if value["group"] else ""
    return group + value["quantity"], value_text(value, system), value["mark"], value["source"]

"""Force on a millimetre of edge over the chip: what all sources come to, and each by itself."""

from __future__ import annotations

import math
from dataclasses import asdict

from loadsim.base.numbers import Array
from loadsim.base.units import MATERIAL_UNITS, UNITS, System
from loadsim.materials.truth import Band, Forces, ForceSource, Truth
from loadsim.report.rows.materials import value_text

#: Before a value at a chip that its source did not measure.
STRETCHED = "~"

SOURCES_TITLE = f"Each source by itself; {STRETCHED} stretched past the chips it was measured at"

RATIO_TITLE = "Radial, each source: its share of the tangential force above, as a force"

CHIP_UNIT: dict[System, str] = {"metric": "um", "inch": "thou"}

FORCE_UNIT: dict[System, str] = {"metric": "N/mm", "inch": "lbf/in"}


def chips_in(h: Array, system: System) -> Array:
    """Chip thicknesses in the unit that a shop of this system calls thin chips by.

    Parameters
    ----------
    h : ndarray
        [mm]
    system : {"metric", "inch"}
        Micrometres or thousandths of an inch.

    Returns
    -------
    chips : ndarray
    """
    return h / UNITS["chip thickness"][CHIP_UNIT[system]]


def forces_in(force: Array, system: System) -> Array:
    """Forces on a length of edge in the unit of this system.

    Parameters
    ----------
    force : ndarray
        [N/mm]
    system : {"metric", "inch"}
        N/mm or lbf/in.

    Returns
    -------
    force : ndarray
    """
    return force / MATERIAL_UNITS["edge force"][FORCE_UNIT[system]]


def figures(x: float, count: int = 3) -> str:
    """Write a number to so many significant figures, never with an exponent.

    Examples
    --------
    >>> figures(20.614), figures(1043.2), figures(8.96, 2)
    ('20.6', '1040', '9')
    """
    return f"{float(f'{x:.{count}g}'):.10g}"


def chip_texts(truth: Truth) -> list[str]:
    """Write the chips at which the forces are told, without their unit.

    Parameters
    ----------
    truth : Truth
        Of a metal.

    Returns
    -------
    chips : list of str
    """
    return [figures(x) for x in chips_in(truth.forces.h, truth.system)]


def band_texts(band: Band, system: System) -> list[str]:
    """Write a force with the band that holds it nine times in ten.

    Parameters
    ----------
    band : Band
        Over the chips.
    system : {"metric", "inch"}
        Units.

    Returns
    -------
    texts : list of str
        "20.6 (9.1 to 45)" for each chip.
    """
    ends = (forces_in(x, system) for x in (band.median, band.low, band.high))
    return [
        f"{figures(median)} ({figures(low, 2)} to {figures(high, 2)})"
        for median, low, high in zip(*ends, strict=True)
    ]


def forces_title(truth: Truth) -> str:
    """Head the table of forces.

    Parameters
    ----------
    truth : Truth
        Of a metal.

    Returns
    -------
    text : str
    """
    length = "mm" if truth.system == "metric" else "inch"
    unit = FORCE_UNIT[truth.system]
    return f"Force on each {length} of edge [{unit}]; nine cuts in ten lie within the brackets"


def force_notes(borrowed: str) -> tuple[str, ...]:
    """Say what the forces leave out.

    Parameters
    ----------
    borrowed : str
        Family whose radial force it is; "" for the metal's own.

    Returns
    -------
    notes : tuple of str
    """
    sharp = "Sharp edge, no chip sticking to it; rake as each source had it."
    whose = f"No radial force of its own: that of {borrowed} is borrowed, its band wider."
    return (sharp, whose) if borrowed else (sharp,)


def force_table(truth: Truth) -> list[list[str]]:
    """Tabulate the forces over the chip, heads first.

    Parameters
    ----------
    truth : Truth
        Of a metal.

    Returns
    -------
    table : list of list of str
    """
    forces: Forces = truth.forces
    unit = CHIP_UNIT[truth.system]
    bands = (forces.tangential, forces.radial, forces.resultant)
    texts = (band_texts(band, truth.system) for band in bands)
    chips = (f"{chip} {unit}" for chip in chip_texts(truth))
    rows = [list(row) for row in zip(chips, *texts, strict=True)]
    return [["chip", "tangential", "radial", "both together"], *rows]


def source_values(source: ForceSource, system: System) -> list[str]:
    """Write what a source says at each chip, marked where it is stretched.

    Parameters
    ----------
    source : ForceSource
        One.
    system : {"metric", "inch"}
        Units.

    Returns
    -------
    values : list of str
    """
    values = zip(forces_in(source.force, system), source.stretched, strict=True)
    return [STRETCHED * stretched + figures(value) for value, stretched in values]


def source_name(source: ForceSource) -> str:
    """Name a source by its curve, or by its key where it has one only.

    Parameters
    ----------
    source : ForceSource
        One.

    Returns
    -------
    name : str
    """
    return source.label or source.source


def chips_text(source: ForceSource, system: System) -> str:
    """Say at which chips a source was measured.

    Parameters
    ----------
    source : ForceSource
        One.
    system : {"metric", "inch"}
        Units.

    Returns
    -------
    text : str
    """
    unit = CHIP_UNIT[system]
    low, high = (figures(x / UNITS["chip thickness"][unit]) for x in (source.h_lo, source.h_hi))
    if source.silent:
        return f"chips not said, taken from {low} {unit} up"
    return f"chips {low} to {high} {unit}"


def rake_text(source: ForceSource) -> str:
    """Say at which rake a source was measured.

    Parameters
    ----------
    source : ForceSource
        One.

    Returns
    -------
    text : str
    """
    if source.rake is None:
        return "rake not said"
    return f"rake {figures(math.degrees(source.rake))} deg"


def metal_text(source: ForceSource) -> str:
    """Say what a source cut with what, as it says it.

    Parameters
    ----------
    source : ForceSource
        One.

    Returns
    -------
    text : str
    """
    bound = "the aged alloy, taken as a lower bound" if source.bound else ""
    metal = source.condition
    if source.alloy:
        named = metal.startswith(source.alloy)
        metal = f"another alloy, {metal if named else f'{source.alloy}: {metal}'}"
    return "; ".join(text for text in (bound, metal) if text)


def where_text(source: ForceSource, system: System) -> str:
    """Say in one sentence where and how a source was measured, and its constants.

    Parameters
    ----------
    source : ForceSource
        One.
    system : {"metric", "inch"}
        Units of the chips.

    Returns
    -------
    text : str
    """
    constants = (f"{row.quantity} {value_text(asdict(row))}" for row in source.values)
    parts = (metal_text(source), chips_text(source, system), rake_text(source), *constants)
    return f"{source.source}: {'; '.join(part for part in parts if part)}"

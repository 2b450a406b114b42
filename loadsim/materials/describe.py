"""What lies on the shelf: the materials as plain data, for people and programs."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from loadsim.base.errors import InputError, Problem, echo
from loadsim.base.numbers import Array, tidy
from loadsim.base.sources import load_sources
from loadsim.base.units import System
from loadsim.materials import folder, load, schema, truth
from loadsim.materials.folder import nearest
from loadsim.materials.law import metal_law

#: Chip thicknesses at which the curve is shown. [mm]
CURVE = (0.005, 0.01, 0.02, 0.05, 0.1)


def listing() -> dict[str, list[tuple[str, str]]]:
    """Return every name and title.

    Returns
    -------
    listing : dict
        "work" and "blank", each a list of (name, title).
    """
    return {
        "work": [(n, load.load_work(n).title) for n in folder.names("work")],
        "blank": [(n, load.load_blank(n).title) for n in folder.names("blank")],
    }


def describe(name: str) -> dict[str, Any]:
    """Return one material with every value as its source prints it.

    Parameters
    ----------
    name : str
        A name, or the path of a shop's own file.

    Returns
    -------
    data : dict

    Raises
    ------
    InputError
        If it is neither a work nor a blank material, or its file is bad.
    """
    material = _either(name)
    known = load_sources()
    data: dict[str, Any] = {
        "name": material.name,
        "title": material.title,
        "family": material.family,
        "condition": material.condition,
        "cautions": list(material.cautions),
        "values": load.values(material),
        "sources": {
            k: (
                {"text": known[k].text, "read": known[k].read}
                if k in known
                else {"text": "the shop's own", "read": "shop"}
            )
            for k in material.sources
        },
    }
    if isinstance(material, schema.WorkMaterial):
        h = np.array(CURVE)
        law = metal_law(material.curves)
        data["kind"] = "work"
        data["hardness"] = material.hardness
        data["k_c_curve"] = [
            {"h_mm": float(x), "k_c_MPa": float(k), "factor": math.exp(float(s))}
            for x, k, s in zip(h, law.median.specific(h), law.sigma_ln(h), strict=True)
        ]
        data["radial_curve"] = _radial_table(material.radial, h)
        data["radial_borrowed"] = material.radial.borrowed
        metric = truth.truth_of(material, "metric")
        data["forces"] = _forces(metric.forces)
        data["force_sources"] = [_force_source(source) for source in metric.sources]
    else:
        data["kind"] = "blank"
        data["heat"] = list(material.heat)
    return data


def _radial_table(radial: schema.RadialCurve, h: Array) -> list[dict[str, float]]:
    """Radial over tangential force over the chip, at the rake it was measured at."""
    factor = math.exp(radial.spread)
    return [
        {"h_mm": float(x), "ratio": float(r), "factor": factor}
        for x, r in zip(h, radial.ratio.at(h), strict=True)
    ]


def truth_of(name: str, system: System) -> truth.Truth | None:
    """Forces of a metal over the chip, with every source of them.

    Parameters
    ----------
    name : str
        A name, or the path of a shop's own file.
    system : {"metric", "inch"}
        Whose round numbers the chips are.

    Returns
    -------
    truth : Truth or None
        None for a blank.

    Raises
    ------
    InputError
        If it is neither a work nor a blank material, or its file is bad.
    """
    material = _either(name)
    return truth.truth_of(material, system) if isinstance(material, schema.WorkMaterial) else None


def _forces(forces: truth.Forces) -> dict[str, Any]:
    """Force on a millimetre of edge over the chip: median and the band that holds nine in ten."""
    bands = {
        f"{kind}_N_per_mm": {end: getattr(band, end).tolist() for end in ("median", "low", "high")}
        for kind in ("tangential", "radial", "resultant")
        for band in (getattr(forces, kind),)
    }
    return {"h_mm": forces.h.tolist(), **bands}


def _force_source(source: truth.ForceSource) -> dict[str, Any]:
    """What one source says at the chips of ``forces``, and where it was measured."""
    return {
        "force": source.kind,
        "source": source.source,
        "label": source.label,
        "alloy": source.alloy,
        "lower_bound": source.bound,
        "condition": source.condition,
        "mark": source.mark,
        "rake_deg": None if source.rake is None else tidy(math.degrees(source.rake)),
        "h_range_mm": None if source.silent else [source.h_lo, source.h_hi],
        "N_per_mm": source.force.tolist(),
        "stretched": list(source.stretched),
    }


def _either(name: str) -> schema.WorkMaterial | schema.BlankMaterial:
    if folder.listed(name, "blank") in folder.names("blank"):
        return load.load_blank(name)
    try:
        return load.load_work(name)
    except InputError as error:
        try:
            return load.load_blank(name)
        except InputError:
            if "/" in name or name.endswith(".toml"):
                raise error from None
        near = _near(name)
        said = f'"{echo(name)}" is not a material{near}; list them with: loadsim materials'
        raise InputError("NAME", [Problem(where="", message=said)]) from None


def _near(name: str) -> str:
    found = [*folder.search(name, "work"), *folder.search(name, "blank")][:4]
    names = found or nearest(name, [*folder.names("work"), *folder.names("blank")])
    return f"; did you mean {' or '.join(names)}?" if names else ""

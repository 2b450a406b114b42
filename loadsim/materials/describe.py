"""What lies on the shelf: the materials as plain data, for people and programs."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from loadsim.base.errors import InputError, Problem, echo
from loadsim.base.numbers import Array
from loadsim.base.sources import load_sources
from loadsim.materials import folder, load, pooling, schema
from loadsim.materials.folder import nearest

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
        p = pooling.pooled(material.curves, h)
        data["kind"] = "work"
        data["hardness"] = material.hardness
        data["k_c_curve"] = [
            {"h_mm": float(x), "k_c_MPa": float(k), "factor": math.exp(float(s))}
            for x, k, s in zip(h, p.k_c, p.sigma_ln, strict=True)
        ]
        data["radial_curve"] = _radial_table(material.radial, h)
        data["radial_borrowed"] = material.radial.borrowed
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


def _either(name: str) -> schema.WorkMaterial | schema.BlankMaterial:
    if name in folder.names("blank"):
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
        raise InputError(
            echo(name),
            [
                Problem(
                    where="", message=f"is not a material{near}; list them with: loadsim materials"
                )
            ],
        ) from None


def _near(name: str) -> str:
    names = nearest(name, [*folder.names("work"), *folder.names("blank")])
    return f"; did you mean {' or '.join(names)}?" if names else ""

"""Metals by families, for who knows no more: the one that takes the most force stands for all."""

from __future__ import annotations

import functools
from dataclasses import dataclass

#: What a shop calls them, and how the families in the material files begin, or a metal's own name.
FAMILIES = {
    "soft aluminum": ("aluminum wrought, soft",),
    "some aluminum": ("aluminum",),
    "brass, bronze or copper": ("brass", "bronze", "copper"),
    "mild steel": ("steel, low carbon", "steel, free machining", "steel, case hardening"),
    "a tougher steel": ("steel", "tool steel"),
    "stainless": ("stainless",),
    "cast iron": ("iron",),
    "a plastic": ("plastic",),
}

#: Chip at which they are compared, and the share of cases that the force stays under. [mm]
CHIP = 0.02
DEVIATES = 1.645  #: 95 % of a normal distribution [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """A family, and the member that stands for it."""

    called: str
    worst: str  #: by its name in the list
    title: str


@functools.cache
def families() -> tuple[Family, ...]:
    """Return the families, each with the metal whose cutting force is the largest.

    Returns
    -------
    families : tuple of Family
    """
    forces = _forces()
    return tuple(
        _family(called, {n: f for n, (kind, f) in forces.items() if kind.startswith(begins)})
        for called, begins in FAMILIES.items()
    )


def _family(called: str, forces: dict[str, float]) -> Family:
    from loadsim.materials import load

    worst = max(forces, key=forces.__getitem__)
    return Family(called=called, worst=worst, title=load.load_work(worst).title)


def _forces() -> dict[str, tuple[str, float]]:
    """Family of each metal, and the specific force that 19 cuts in 20 stay under. [MPa]"""
    from loadsim.materials import folder, load
    from loadsim.materials.describe import describe

    forces = {}
    for name in folder.names("work"):
        rows = describe(name)["k_c_curve"]
        row = next(r for r in rows if r["h_mm"] == CHIP)
        level = row["k_c_MPa"] * row["factor"] ** DEVIATES
        forces[name] = (load.load_work(name).family, level)
    return forces


def listed() -> list[tuple[str, str]]:
    """Return every metal as (name, title)."""
    from loadsim.materials import folder

    called = folder.called("work")
    return [(name, called[name].title) for name in folder.names("work")]

"""Metals by families, for who knows no more: the one that takes the most force stands for all."""

from __future__ import annotations

import functools
import threading
from dataclasses import dataclass
from typing import Literal

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Push:
    """How hard a metal pushes back at `CHIP`."""

    title: str
    kind: str  #: family in its file
    level: float  #: usual specific force [MPa]
    factor: float  #: one standard deviation [1]


#: Reading every metal takes a second: whoever asks second waits for the first.
_READING = threading.Lock()


def pushes() -> dict[str, Push]:
    """Return how hard each metal of the list pushes back, by its name."""
    with _READING:
        return _pushes()


@functools.cache
def _pushes() -> dict[str, Push]:
    from loadsim.materials import folder, load
    from loadsim.materials.describe import describe

    found = {}
    for name in folder.names("work"):
        row = next(r for r in describe(name)["k_c_curve"] if r["h_mm"] == CHIP)
        metal = load.load_work(name)
        found[name] = Push(
            title=metal.title, kind=metal.family, level=row["k_c_MPa"], factor=row["factor"]
        )
    return found


def families() -> tuple[Family, ...]:
    """Return the families, each with the metal whose cutting force is the largest.

    Returns
    -------
    families : tuple of Family
    """
    return tuple(_family(called, members) for called, members in _members().items())


def levels() -> dict[str, list[float]]:
    """Return the usual specific forces of the metals of each family. [MPa]"""
    return {called: [p.level for p in of.values()] for called, of in _members().items()}


def _members() -> dict[str, dict[str, Push]]:
    every = pushes()
    return {
        called: {name: p for name, p in every.items() if p.kind.startswith(begins)}
        for called, begins in FAMILIES.items()
    }


def _family(called: str, members: dict[str, Push]) -> Family:
    """The member whose force, with its 95 % end, is the largest."""
    worst = max(members, key=lambda n: members[n].level * members[n].factor ** DEVIATES)
    return Family(called=called, worst=worst, title=members[worst].title)


def listed(kind: Literal["work", "blank"]) -> list[tuple[str, str]]:
    """Return every metal, or every blank, as (name, title)."""
    from loadsim.materials import folder

    called = folder.called(kind)
    return [(name, called[name].title) for name in folder.names(kind)]

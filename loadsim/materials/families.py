"""A metal's family, and what the trade says of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

T = TypeVar("T")


def by_family(table: Mapping[str, T], family: str, other: T) -> T:
    """Look a metal's family up by the longest name that it starts with.

    Parameters
    ----------
    table : mapping
        Beginning of a family's name to what the trade says of it.
    family : str
        Family of the metal as its file has it, such as "steel, stainless"; may be empty.
    other : same type as the table's values
        For a family that is not in the table.

    Returns
    -------
    value : same type as the table's values
    """
    kind = max((k for k in table if family.startswith(k)), key=len, default=None)
    return other if kind is None else table[kind]


#: Whose radial force a family has: its own, or that of the nearest that was measured.
RADIAL_FAMILY = {
    "steel": "steel",
    "stainless": "steel",
    "titanium": "steel",
    "tool steel": "tool steel",
    "iron": "iron, grey",
    "aluminum": "aluminum wrought",
    "brass": "aluminum wrought",
    "bronze": "aluminum wrought",
    "copper": "aluminum wrought",
    "magnesium": "aluminum wrought",
    "plastic": "aluminum wrought",
}


def radial_family(family: str) -> str:
    """Name the family whose radial force a metal has where its own files have none.

    Parameters
    ----------
    family : str
        Of the metal; may be empty.

    Returns
    -------
    family : str
        Of the tables in ``materials/defaults/``; that of steels, the higher, for one not known.
    """
    return by_family(RADIAL_FAMILY, family, "steel")


#: Whose drill factors a family has: its own, or those of the nearest that the handbook prints.
DRILL_FAMILY = {
    "steel": "steel",
    "steel, free machining": "steel, free machining",
    "tool steel": "steel",
    "stainless": "stainless, austenitic",
    "titanium": "titanium",
    "iron": "iron, grey",
    "aluminum": "aluminum",
    "magnesium": "magnesium",
    "brass": "brass",
    "brass, leaded": "brass, leaded",
    "bronze": "brass",
    "copper": "brass",
    "plastic": "aluminum",
}

#: Packaged metal that each family's drill factors stand for.
DRILL_METAL = {
    "steel": "steel-1045",
    "steel, free machining": "steel-12l14",
    "stainless, austenitic": "stainless-316",
    "titanium": "ti-6al-4v",
    "iron, grey": "iron-grey",
    "aluminum": "al-6061-t6",
    "magnesium": "magnesium-az31",
    "brass": "brass-260",
    "brass, leaded": "brass-360",
}


def drill_family(family: str) -> str:
    """Name the family whose drill factors a metal has where its own files have none.

    Parameters
    ----------
    family : str
        Of the metal; may be empty.

    Returns
    -------
    family : str
        Of the tables in ``materials/defaults/``; that of steels for one not known.
    """
    return by_family(DRILL_FAMILY, family, "steel")

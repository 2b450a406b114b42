"""Numbers of an answer in the reader's units."""

from __future__ import annotations

from dataclasses import dataclass

from loadsim.base import units

#: Unit of a number in an answer -> its dimension; the others are shown as they are.
DIMENSIONS = {
    "MPa": "stress",
    "N*mm": "torque",
    "mm": "length",
    "mm/s": "surface speed",
    "N": "force",
    "W": "power",
    "mm^3": "volume",
}


@dataclass(frozen=True, slots=True)
class Show:
    """Writes numbers in the reader's units, the other system in brackets."""

    system: units.System

    def __call__(self, value: float, unit: str, dimension: str, both: bool = True) -> str:
        """Write a value that is given in a unit of a dimension."""
        internal = units.from_unit(value, unit, dimension)
        return units.show(internal, dimension, self.system, both=both)

    def length(self, value: float) -> str:
        """Write a length in both systems; it is given in [mm]."""
        return self(value, "mm", "length")


def reading_text(value: float, unit: str, system: units.System) -> str:
    """Write what was read on a test cut, in the reader's own system alone."""
    return Show(system)(value, unit, DIMENSIONS[unit], both=False)

"""Stock drill sizes: number, letter, fraction and metric lists."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from loadsim.base.units import IN

#: Number drills from No. 80 to No. 1, inches (ASME-B94-11M).
_NUMBER = (
    0.0135, 0.0145, 0.0160, 0.0180, 0.0200, 0.0210, 0.0225, 0.0240, 0.0250, 0.0260,
    0.0280, 0.0292, 0.0310, 0.0320, 0.0330, 0.0350, 0.0360, 0.0370, 0.0380, 0.0390,
    0.0400, 0.0410, 0.0420, 0.0430, 0.0465, 0.0520, 0.0550, 0.0595, 0.0635, 0.0670,
    0.0700, 0.0730, 0.0760, 0.0785, 0.0810, 0.0820, 0.0860, 0.0890, 0.0935, 0.0960,
    0.0980, 0.0995, 0.1015, 0.1040, 0.1065, 0.1100, 0.1110, 0.1130, 0.1160, 0.1200,
    0.1285, 0.1360, 0.1405, 0.1440, 0.1470, 0.1495, 0.1520, 0.1540, 0.1570, 0.1590,
    0.1610, 0.1660, 0.1695, 0.1730, 0.1770, 0.1800, 0.1820, 0.1850, 0.1890, 0.1910,
    0.1935, 0.1960, 0.1990, 0.2010, 0.2040, 0.2055, 0.2090, 0.2130, 0.2210, 0.2280,
)  # fmt: skip

#: Letter drills from A to Z, inches (ASME-B94-11M).
_LETTER = (
    0.234, 0.238, 0.242, 0.246, 0.250, 0.257, 0.261, 0.266, 0.272, 0.277,
    0.281, 0.290, 0.295, 0.302, 0.316, 0.323, 0.332, 0.339, 0.348, 0.358,
    0.368, 0.377, 0.386, 0.397, 0.404, 0.413,
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """A drill that hangs in the rack."""

    name: str  #: as stamped on the index
    diameter: float  #: [mm]


@cache
def stock(system: str) -> tuple[Drill, ...]:
    """Stock drills up to one inch, thinnest first.

    Parameters
    ----------
    system : str
        "inch" (number, letter and fraction drills) or "metric".

    Returns
    -------
    drills : tuple of Drill

    References
    ----------
    ASME-B94-11M
    BS328
    """
    if system == "inch":
        drills = [Drill(name=f"#{80 - i}", diameter=x * IN) for i, x in enumerate(_NUMBER)]
        drills += [
            Drill(name=f"letter {chr(65 + i)}", diameter=x * IN) for i, x in enumerate(_LETTER)
        ]
        drills += [Drill(name=f"{Fraction(k, 64)} in", diameter=k / 64 * IN) for k in range(1, 65)]
    else:
        drills = [Drill(name=f"{x:g} mm", diameter=x) for x in _metric()]
    return tuple(sorted(drills, key=lambda d: d.diameter))


def _metric() -> list[float]:
    """Return the metric list: by 0.05 mm to 3, by 0.1 to 14, by 0.25 to 25."""
    small = [round(0.2 + 0.1 * i + part, 2) for i in range(8) for part in (0.0, 0.02, 0.05, 0.08)]
    middle = [round(1 + 0.05 * i, 2) for i in range(40)]
    large = [round(3 + 0.1 * i, 1) for i in range(110)]
    return [*small, *middle, *large, *(14 + 0.25 * i for i in range(45))]

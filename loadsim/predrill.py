"""End holes: which stock drill fits inside the undercut's outline, how deep, and what it takes away."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loadsim import drills
from loadsim.case import Setup
from loadsim.stock import Hole

#: Metal left between a hole and the outline or the next hole, so that the drill stays in (common practice). [mm]
WALL = 0.3
#: How deep a twist drill goes without wandering, in diameters (5 to 8, common practice, no source). [1]
DEPTH_IN_DIAMETERS = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """A set of equal end holes."""

    drill: drills.Drill
    holes: tuple[Hole, ...]
    depth: float  #: from each open end [mm]
    ends: int  #: drilled from how many ends
    removed: float  #: share of the undercut's metal outside the throat [1]


def layout(setup: Setup) -> Layout | None:
    """Lay out the end holes that take the most metal away, or None when no hole fits or reaches through.

    Holes lie beside the throat (what is under it the throat slot takes), on the undercut's mid-height, as
    many side by side as the web between them allows.

    Parameters
    ----------
    setup : Setup
        The job, resolved.

    Returns
    -------
    layout : Layout or None
    """
    slot, best = setup.job.slot, None
    bands = [(setup.section.throat_high, setup.side)]
    if slot.sides == 2:
        bands.append((setup.side_low, setup.section.throat_low))
    metal = sum(b - a for a, b in bands) * slot.undercut_height
    if slot.open_ends == 0:
        return None
    for drill in drills.stock("inch" if setup.job.job.units == "inch" else "metric"):
        d = drill.diameter
        depth = DEPTH_IN_DIAMETERS * d
        if d > slot.undercut_height - 2 * WALL or depth * slot.open_ends < slot.length:
            continue
        holes = tuple(h for a, b in bands for h in _row(a, b, d, slot.undercut_height))
        removed = len(holes) * math.pi / 4 * d**2 / metal
        if holes and (best is None or removed > best.removed):
            best = Layout(drill=drill, holes=holes, depth=min(depth, slot.length), ends=slot.open_ends, removed=removed)
    return best


def _row(low: float, high: float, d: float, height: float) -> list[Hole]:
    """Equal holes across one band, a web apart, on mid-height."""
    n = math.floor((high - low - WALL) / (d + WALL) + 1e-9)
    pitch = (high - low) / n if n > 0 else 0.0
    return [Hole(offset=low + (k + 0.5) * pitch, height=height / 2, diameter=d) for k in range(n)]


def why_none(setup: Setup) -> str:
    """Say why no end hole helps.

    Parameters
    ----------
    setup : Setup
        The job, resolved.

    Returns
    -------
    why : str
    """
    slot = setup.job.slot
    if slot.open_ends == 0:
        return "no end of the slot is open to drill from"
    band = setup.side - setup.section.throat_high
    largest = max(min(slot.undercut_height, band) - 2 * WALL, 0.0)
    reach = DEPTH_IN_DIAMETERS * largest * slot.open_ends
    if reach < slot.length:
        return (f"the largest drill that stays inside the undercut, {largest:.2f} mm, reaches {reach:.0f} mm of the "
                f"{slot.length:.0f} mm long slot; the metal beyond would load the neck as before")  # fmt: skip
    return "no stock drill fits inside the undercut's outline"

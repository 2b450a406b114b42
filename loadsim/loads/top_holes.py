"""Holes from the top at a closed end, drilled before the throat is milled: which, where, how deep.

What they spare the neck is worked out from the metal that they leave (`mechanics/closed_end`):
the last stretch, where the whole front of the head stands in metal and chips have no way out. They
spare it nothing of the run along the slot.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto

from loadsim.loads.assumptions import CLEARANCE
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import drill_sizes
from loadsim.mechanics.drill_sizes import Drill
from loadsim.mechanics.stock import TopHole

#: Metal left between two holes side by side, so that the second drill stays in (common practice).
#: [mm]
WEB = 0.3


class TopKind(Enum):
    """What a layout of holes from the top is for."""

    DROP_IN = auto()  #: as wide as the head: it runs out into the hole and is lifted
    ONE = auto()  #: as wide as the throat, its axis on the line where the undercut ends
    PAIR = auto()  #: two side by side inside the throat's width, their axes on that line


@dataclass(frozen=True, slots=True, kw_only=True)
class TopLayout:
    """One way of opening a closed end."""

    kind: TopKind
    drill: Drill
    holes: tuple[TopHole, ...]
    depth: float  #: from the top, to the undercut's floor [mm]
    past: float  #: how far the throat then runs past the undercut [mm]


def top_layouts(job: ResolvedJob) -> tuple[TopLayout, ...]:
    """Lay out holes from the top at the closed end.

    A drop-in hole is centred where the head stops. One hole as wide as the throat, or two side by
    side as far apart as the throat's width lets a drill in, stand with their axes on the line where
    the undercut ends: closer in, their rounds leave the middle of the head's front in metal, and
    the thickest chip with it.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, head, how far its axis goes, and the units its drills come in.

    Returns
    -------
    layouts : tuple of TopLayout
        None where both ends are open, and none that no stock drill makes.
    """
    slot = job.slot
    if slot.open_ends == 2:
        return ()
    rack = drill_sizes.stock("inch" if job.units == "inch" else "metric")
    radius = job.head.radius
    stop = 0.0 if slot.sides == 2 else job.axis_limits[1]
    width = slot.throat_width
    made = (
        (TopKind.DROP_IN, min_of(rack, 2 * (radius + CLEARANCE)), ((radius, stop),)),
        (TopKind.ONE, max_of(rack, width), ((0.0, 0.0),)),
    )
    layouts = [_layout(job, kind, drill, axes) for kind, drill, axes in made if drill is not None]
    thin = max_of(rack, (width - WEB) / 2)
    if thin is not None:
        out = (width - thin.diameter) / 2
        layouts.append(_layout(job, TopKind.PAIR, thin, ((0.0, out), (0.0, -out))))
    return tuple(layouts)


def min_of(rack: tuple[Drill, ...], least: float) -> Drill | None:
    """The thinnest drill that is not under a diameter [mm]; None without one."""
    fits = [d for d in rack if d.diameter >= least - 1e-9]
    return min(fits, key=lambda d: d.diameter, default=None)


def max_of(rack: tuple[Drill, ...], most: float) -> Drill | None:
    """The thickest drill that is not over a diameter [mm]; None without one."""
    fits = [d for d in rack if d.diameter <= most + 1e-9]
    return max(fits, key=lambda d: d.diameter, default=None)


def _layout(
    job: ResolvedJob, kind: TopKind, drill: Drill, axes: tuple[tuple[float, float], ...]
) -> TopLayout:
    holes = tuple(TopHole(along=x, offset=y, diameter=drill.diameter) for x, y in axes)
    past = max(drill.diameter / 2 - x for x, _ in axes)
    return TopLayout(kind=kind, drill=drill, holes=holes, depth=job.slot.depth, past=past)

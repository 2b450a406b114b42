"""Where the walls and the floor of an undercut come to lie, for one cut or many.

A wall is where the farthest tooth reached as it passed there: axis + radius + runout - wear +
deflection, and the
deflection is the one at that moment. The sign is kept: a force that pushes the head off its wall
leaves the slot narrow,
while runout makes it wide. The limit "wall error" adds the two instead, which bounds a single wall
from above.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array
from loadsim.loads.deflection import compliance, tilt
from loadsim.loads.load_case import LoadCase
from loadsim.loads.nominal import as_drawn
from loadsim.loads.passes import Contact, Pass, along, contacts_of, way_of
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.turn import tooth_forces
from loadsim.mechanics import force

#: What a micrometer over the teeth leaves open, one standard deviation; an odd number of teeth has
#: no opposite pair
#: to measure over (common practice, no source). [mm]
HEAD_SD = 0.005
HEAD_SD_ODD = 0.010

#: Setting of a table by its dial or readout, and the share of the backlash that is left when it is
#: always taken up
#: from one side; one standard deviation (common practice, no source). [mm], [1]
SETTING_SD = 0.010
BACKLASH_LEFT = 0.10

#: Spindle out of square with the table, one standard deviation: 0.02 mm over 100 mm (common
#: practice, no source). [rad]
TRAM_SD = 2e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """What an inspector's prediction takes beside the force chain; (s,) or (passes, s)."""

    head: Array  #: error of the measured head diameter [mm]
    wear: Array  #: radius lost [mm]
    setting: Array  #: error of each pass's axis (passes, s) [mm]
    tram: Array  #: spindle out of square, across the feed [rad]


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """Where both walls and the floor come to lie; (s,)."""

    narrowest: Array  #: least width, over all heights of the wall [mm]
    widest: Array  #: [mm]
    lean: Array  #: of the wall that leans more [mm]
    step: Array  #: of the floor [mm]
    #: of the tooth that leaves the wall, signed outward, of the wall where it is larger [mm]
    deflection: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wall:
    """One wall as one pass leaves it; outward is positive; (s,)."""

    reach: Array  #: at the load, from the datum of the drawing [mm]
    give: Array  #: deflection outward [mm]
    tilt: Array  #: floor end outward of the roof end [rad]


def no_scatter(laid: tuple[Pass, ...]) -> Scatter:
    """Return the scatter of a perfect shop: the head as drawn, sharp, every setting met.

    Parameters
    ----------
    laid : tuple of Pass
        The passes.

    Returns
    -------
    scatter : Scatter
    """
    zero = np.zeros(1)
    each = np.zeros((len(laid), 1))
    return Scatter(head=zero, wear=zero, setting=each, tram=zero)


def nominal_walls(job: ResolvedJob, laid: tuple[Pass, ...], f_z: float) -> Walls:
    """Predict the walls with every input as drawn and assumed, nothing scattered.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter and materials.
    laid : tuple of Pass
        The passes.
    f_z : float
        Feed per tooth. [mm]

    Returns
    -------
    walls : Walls
    """
    contacts = contacts_of(laid, job.cutter.teeth, 24)
    return walls_of(
        job, laid, contacts, as_drawn(job, f_z, way_of(contacts), 1.0), no_scatter(laid)
    )


def walls_of(
    job: ResolvedJob,
    laid: tuple[Pass, ...],
    contacts: list[Contact],
    case: LoadCase,
    scatter: Scatter,
) -> Walls:
    """Find where the walls and the floor come to lie.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, head and stiffness of the cutter.
    laid : tuple of Pass
        The passes.
    contacts : list of Contact
        Of every piece of every pass.
    case : LoadCase
        One cut or many.
    scatter : Scatter
        What the head and the settings are off by.

    Returns
    -------
    walls : Walls

    Notes
    -----
    A wall that several passes reach at one height is where the farthest of them left it.
    """
    # as the limits take it
    share = min(float(c.peak.level.min()) for c in contacts) / job.head.height
    level = share * case.head_height  # of a head that was measured wrongly too
    zeros = np.zeros(
        np.broadcast_shapes(np.shape(case.rho), np.shape(case.force_factor), scatter.head.shape)
    )
    give = compliance(job, case, level)
    slope = tilt(job, case, level)
    low_walls: dict[float, _Wall] = {}
    high_walls: dict[float, _Wall] = {}
    for i, (p, c) in enumerate(zip(laid, along(contacts), strict=True)):
        for side, known in ((+1, high_walls), (-1, low_walls)):
            wall = _wall(job, p, c, case, scatter, i, side, give, slope)
            before = known.get(p.level)
            known[p.level] = wall if before is None else _farther(wall, before)
    if job.slot.sides == 1:  # the plain wall was there before
        plain = _Wall(reach=np.asarray(-job.side_low) + zeros, give=zeros, tilt=zeros)
        low_walls = dict.fromkeys(high_walls, plain)
    below = level
    above = case.head_height - level
    pairs = [(high_walls[x], low_walls[x]) for x in high_walls]
    ends = [
        high.reach + low.reach + way * (high.tilt + low.tilt)
        for high, low in pairs
        for way in (below, -above)
    ]
    every = [w for both in pairs for w in both]
    floor = min(high_walls)
    leaning = _largest([w.tilt * case.head_height for w in every])
    corner = _largest([w.tilt * job.head.radius for w in (high_walls[floor], low_walls[floor])])
    span = high_walls[floor].reach + low_walls[floor].reach
    return Walls(
        narrowest=np.minimum.reduce(ends),
        widest=np.maximum.reduce(ends),
        lean=leaning,
        step=_size(corner) + _size(scatter.tram * span),
        deflection=_largest([w.give for w in every]),
    )


def _wall(
    job: ResolvedJob,
    p: Pass,
    c: Contact,
    case: LoadCase,
    scatter: Scatter,
    i: int,
    side: int,
    give: Array,
    slope: Array,
) -> _Wall:
    """Find where one pass leaves the wall of one side of the drawing, were there metal."""
    N = case.teeth
    facing = side if p.swept.offset == p.offset else -side  # in the frame of the feed
    F_y = _across(case, c)[:N] if facing > 0 else _across(case, c)[N:]
    j = np.arange(N).reshape(N, *[1] * (F_y.ndim - 1))
    radius = (
        job.head.radius + scatter.head / 2 - scatter.wear + case.rho * np.cos(2 * math.pi * j / N)
    )
    outward = facing * F_y * give
    reach = side * (p.offset + scatter.setting[i]) + radius + outward
    reach, outward, tilted = np.broadcast_arrays(reach, outward, facing * F_y * slope)
    last = reach.argmax(axis=0)[None]  # the tooth that reaches farthest leaves the wall
    return _Wall(reach=_at(reach, last), give=_at(outward, last), tilt=_at(tilted, last))


def _at(x: Array, index: npt.NDArray[np.intp]) -> Array:
    return np.asarray(np.take_along_axis(x, index, axis=0)[0])


def _across(case: LoadCase, c: Contact) -> Array:
    """Force across the feed with each tooth at the high wall, then with each at the low wall; (2N,
    s).

    The tooth at the wall counts as touching whether runout lifts it or not: it is asked where it
    would cut.
    """
    N = case.teeth
    at = c.wall
    forces = tooth_forces(case, at)
    here = (at.tooth == at.position % N)[:, None]
    _, y = force.feed_frame(
        np.where(here, forces.held_t, forces.F_t),
        np.where(here, forces.held_r, forces.F_r),
        at.phi[:, None],
    )
    total = np.zeros((2 * N, *forces.F_t.shape[1:]))
    np.add.at(total, at.position, y)
    return total


def _farther(a: _Wall, b: _Wall) -> _Wall:
    ahead = a.reach > b.reach
    return _Wall(
        reach=np.where(ahead, a.reach, b.reach),
        give=np.where(ahead, a.give, b.give),
        tilt=np.where(ahead, a.tilt, b.tilt),
    )


def _size(x: Array) -> Array:
    return np.asarray(np.fmax(x, -x))


def _largest(values: list[Array]) -> Array:
    """Return of each sample the value of the largest size, with its sign."""
    best = values[0]
    for v in values[1:]:
        best = np.where(_size(v) > _size(best), v, best)
    return np.asarray(best)

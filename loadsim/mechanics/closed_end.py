"""What holes from the top leave of the metal in front of a head that is fed to a closed end."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array
from loadsim.mechanics.stock import Head, Section, Swept, TopHole

#: Places around the front of the head, and along the last stretch, that are looked at. [1]
AROUND = 1441
ALONG = 81

#: Travel in metal that leaves no chip between two openings: a sliver thinner than an edge cuts is
#: brushed away. [mm]
BRUSHED = 0.005


def opened(
    section: Section,
    swept: Swept,
    holes: tuple[TopHole, ...],
    floor: float,
    stretch: float,
    roof: float,
) -> tuple[Swept, ...]:
    """Metal that holes from the top have taken in front of the head, all along its last stretch.

    Seen from above the head is a disc that stops when its front reaches the end of the undercut. A
    place on its front is open where, at the stop and everywhere on the stretch before it, it lies
    in a hole, or in the throat, which ends in a round of half its width at the same end. Without a
    hole nothing is open: both rounds touch the end in one point. Between two openings a place also
    counts where it meets metal on the last `BRUSHED` of the way alone.

    Parameters
    ----------
    section : Section
        The stock across the feed: its throat slot.
    swept : Swept
        The pass, fed towards the end.
    holes : tuple of TopHole
        The holes.
    floor : float
        How far above the undercut's floor they end. [mm]
    stretch : float
        Travel before the stop that counts. [mm]
    roof : float
        Height of the undercut. [mm]

    Returns
    -------
    taken : tuple of Swept
        What to take out of the section: bands from a level up to the roof.

    Notes
    -----
    Plane geometry; no source needed. A place between two that are open on the grid counts as open.
    """
    if not holes or floor >= roof - 1e-9:
        return ()
    phi = np.linspace(0.0, np.pi, AROUND)
    y = swept.offset + swept.head.radius * np.cos(phi)
    back = np.concatenate([[0.0], np.linspace(BRUSHED, stretch, ALONG)])[:, None]
    along = back + swept.head.radius * (1 - np.sin(phi))
    drilled = np.zeros(along.shape, bool)
    for h in holes:
        drilled |= (along - h.along) ** 2 + (y - h.offset) ** 2 <= (h.diameter / 2) ** 2
    level = max(floor, section.throat_floor)
    taken = _bands(y, _free(drilled), floor, roof)
    if level < roof - 1e-9:
        taken += _bands(y, _free(drilled | _in_throat(section, along, y)), level, roof)
    return taken


def _free(open_: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Where nothing is met all along the stretch, its stop first, slivers between two such places
    left out.
    """
    free = np.all(open_, axis=0)
    sliver = ~free & np.all(open_[1:], axis=0)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], sliver, [False]]).astype(int)))
    for first, after in zip(edges[::2], edges[1::2], strict=True):
        if first > 0 and after < free.size and free[first - 1] and free[after]:
            free[first:after] = True
    return np.asarray(free)


def _in_throat(section: Section, along: Array, y: Array) -> npt.NDArray[np.bool_]:
    half = (section.throat_high - section.throat_low) / 2
    off = y - (section.throat_high + section.throat_low) / 2
    round_end = (along - half) ** 2 + off**2 < half**2
    return np.asarray(((along >= half) & (np.abs(off) < half)) | round_end)


def _bands(y: Array, free: npt.ArrayLike, low: float, roof: float) -> tuple[Swept, ...]:
    """Stretches across the feed that are open, y falling, from a level to the roof."""
    edges = np.flatnonzero(
        np.diff(np.concatenate([[False], np.asarray(free), [False]]).astype(int))
    )
    bands = []
    for first, after in zip(edges[::2], edges[1::2], strict=True):
        high, under = y[first], y[after - 1]
        if high > under:
            head = Head(radius=float(high - under) / 2, height=roof - low)
            bands.append(Swept(head=head, offset=float(high + under) / 2, bottom=low))
    return tuple(bands)


def holds(swept: Swept, holes: tuple[TopHole, ...], floor: float) -> bool:
    """Whether one of the holes holds a head that has come to the closed end, so that it can be
    lifted out.

    Parameters
    ----------
    swept : Swept
        The pass, fed towards the end.
    holes : tuple of TopHole
        The holes.
    floor : float
        How far above the undercut's floor they end. [mm]

    Returns
    -------
    holds : bool
    """
    radius = swept.head.radius
    return floor <= swept.bottom + 1e-9 and any(
        math.hypot(h.along - radius, h.offset - swept.offset) + radius <= h.diameter / 2 + 1e-9
        for h in holes
    )

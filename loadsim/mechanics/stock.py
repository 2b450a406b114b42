"""What metal stands in front of the cutter: the section across the feed, and who meets it where.

The stock is prismatic along the feed. In section it is solid but for the throat slot, what earlier
passes swept, and end holes. ``y`` runs across the feed from the throat's centre line, ``z`` up from
the undercut floor. A tooth at immersion ``phi`` on radius R meets the point ``y = offset + R
cos(phi)``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array

ArrayLike = npt.ArrayLike


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The cutting head as a solid of revolution."""

    radius: float  #: over the teeth [mm]
    height: float  #: [mm]
    corner: float = 0.0  #: radius at the outer corners, top and bottom [mm]

    def __post_init__(self) -> None:
        if not (0 < self.radius < math.inf and 0 < self.height < math.inf):
            size = f"radius {self.radius:g} mm and height {self.height:g} mm"
            raise ValueError(f"head of {size}; both are > 0 mm")
        if not 0 <= self.corner <= min(self.radius, self.height / 2):
            raise ValueError(
                f"corner radius {self.corner:g} mm; it lies in [0,"
                f" {min(self.radius, self.height / 2):g}] mm"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Swept:
    """What one pass of a head takes out of the section."""

    head: Head
    offset: float  #: of the cutter axis from the centre line [mm]
    bottom: float  #: of the head's lower face above the floor [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A hole drilled along the feed."""

    offset: float  #: of its axis from the centre line [mm]
    height: float  #: of its axis above the floor [mm]
    diameter: float  #: [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class TopHole:
    """A hole drilled from the top, along the cutter's axis, near a closed end."""

    along: float  #: from the closed end of the undercut to its axis, along the slot [mm]
    offset: float  #: of its axis from the centre line [mm]
    diameter: float  #: [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """The stock across the feed, as the operations before left it."""

    throat_low: float  #: left wall of the throat [mm]
    throat_high: float  #: right wall of the throat [mm]
    throat_floor: float  #: z of the throat slot's floor [mm]
    swept: tuple[Swept, ...] = ()
    holes: tuple[Hole, ...] = ()

    def mirrored(self) -> Section:
        """Return the section seen from the other end."""
        return Section(
            throat_low=-self.throat_high,
            throat_high=-self.throat_low,
            throat_floor=self.throat_floor,
            swept=tuple(replace(s, offset=-s.offset) for s in self.swept),
            holes=tuple(replace(h, offset=-h.offset) for h in self.holes),
        )

    def after(self, swept: Swept) -> Section:
        """Return the section with one more pass taken out.

        Parameters
        ----------
        swept : Swept
            The pass.

        Returns
        -------
        section : Section
        """
        return replace(self, swept=(*self.swept, swept))


def _open_intervals(section: Section, y: Array) -> tuple[Array, Array]:
    """Return the z intervals without metal at each y, as (k, n) lower and upper ends (empty: lo >
    hi).
    """
    low = []
    high = []
    in_throat = (y > section.throat_low) & (y < section.throat_high)
    low.append(np.where(in_throat, section.throat_floor, np.inf))
    high.append(np.where(in_throat, np.inf, -np.inf))
    for s in section.swept:
        u = np.abs(y - s.offset)
        inside = u < s.head.radius
        into = np.maximum(u - (s.head.radius - s.head.corner), 0.0)
        lift = s.head.corner - np.sqrt(np.maximum(s.head.corner**2 - into**2, 0.0))
        low.append(np.where(inside, s.bottom + lift, np.inf))
        high.append(np.where(inside, s.bottom + s.head.height - lift, -np.inf))
    for hole in section.holes:
        u = np.abs(y - hole.offset)
        half = np.sqrt(np.maximum((hole.diameter / 2) ** 2 - u**2, 0.0))
        inside = u < hole.diameter / 2
        low.append(np.where(inside, hole.height - half, np.inf))
        high.append(np.where(inside, hole.height + half, -np.inf))
    return np.array(low), np.array(high)


def _open_parts(section: Section, y: Array, z_low: Array, z_high: Array) -> tuple[Array, Array]:
    """Return what is open between two levels as (k, n) parts that do not overlap (empty: from >=
    to).
    """
    low, high = _open_intervals(section, y)
    low = np.clip(low, z_low, z_high)
    high = np.clip(high, z_low, z_high)
    order = np.argsort(low, axis=0)
    low = np.take_along_axis(low, order, 0)
    high = np.take_along_axis(high, order, 0)
    reached = np.maximum.accumulate(np.vstack([z_low[None, :], high]), axis=0)[:-1]
    return np.maximum(low, reached), high


def _solid_between(section: Section, y: Array, z_low: Array, z_high: Array) -> Array:
    low, high = _open_parts(section, y, z_low, z_high)
    solid: Array = (z_high - z_low) - np.maximum(high - low, 0.0).sum(axis=0)
    return solid


def middle_of_solid(section: Section, y: ArrayLike, z_low: float, z_high: float) -> Array:
    """Level of the middle (centroid) of the metal at y between two levels.

    Parameters
    ----------
    section : Section
        The stock across the feed.
    y : array_like, shape (n,)
        Distance across the feed from the centre line. [mm]
    z_low : float
        Lower level above the floor. [mm]
    z_high : float
        Upper level above the floor. [mm]

    Returns
    -------
    z : ndarray, shape (n,)
        Half way between the levels where there is no metal. [mm]
    """
    y = np.atleast_1d(np.asarray(y, float))
    start, end = _open_parts(section, y, np.full(y.shape, z_low), np.full(y.shape, z_high))
    # the metal between the open parts, piece by piece: a difference of whole and open would put a
    # sliver outside itself
    low = np.maximum.accumulate(np.vstack([np.full((1, y.size), z_low), end]), axis=0)
    high = np.vstack([start, np.full((1, y.size), z_high)])
    length = (high - low).sum(axis=0)
    moment = ((high - low) * (high + low) / 2).sum(axis=0)
    some = length > 1e-12
    middle: Array = np.where(some, moment / np.where(some, length, 1.0), (z_low + z_high) / 2)
    return middle


def solid_length(section: Section, y: ArrayLike, z_low: float, z_high: float) -> Array:
    """Height of metal at y between two levels: exact, by the union of what is open.

    Parameters
    ----------
    section : Section
        The stock across the feed.
    y : array_like, shape (n,)
        Distance across the feed from the centre line. [mm]
    z_low : float
        Lower level above the floor. [mm]
    z_high : float
        Upper level above the floor. [mm]

    Returns
    -------
    length : ndarray, shape (n,)
        Height of metal. [mm]

    Raises
    ------
    ValueError
        If z_high is below z_low.

    Notes
    -----
    Plane geometry; no source needed.

    Examples
    --------
    >>> tee = Section(throat_low=-2.0, throat_high=2.0, throat_floor=0.5)
    >>> solid_length(tee, [0.0, 3.0], 0.0, 2.0).tolist()
    [0.5, 2.0]
    """
    if z_high < z_low:
        raise ValueError(f"z_high must be >= z_low, got {z_high:g} mm below {z_low:g} mm")
    y = np.atleast_1d(np.asarray(y, float))
    return _solid_between(section, y, np.full(y.shape, z_low), np.full(y.shape, z_high))


def inside(a: Section, b: Section, swept: Swept, n: int = 2001) -> bool:
    """Whether a pass meets nowhere more metal in one section than in another.

    Parameters
    ----------
    a : Section
        The one.
    b : Section
        The other.
    swept : Swept
        The pass.
    n : int
        Places across the path that are looked at. [1]

    Returns
    -------
    inside : bool
    """
    y = swept.offset + swept.head.radius * np.linspace(-1.0, 1.0, n)[1:-1]
    low, high = swept.bottom, swept.bottom + swept.head.height
    return bool((solid_length(a, y, low, high) <= solid_length(b, y, low, high) + 1e-9).all())


def is_solid(section: Section, y: ArrayLike, z: float) -> npt.NDArray[np.bool_]:
    """Tell whether metal stands at (y, z).

    Parameters
    ----------
    section : Section
        The stock across the feed.
    y : array_like, shape (n,)
        Distance across the feed from the centre line. [mm]
    z : float
        Level above the floor. [mm]

    Returns
    -------
    solid : ndarray of bool, shape (n,)
    """
    low, high = _open_intervals(section, np.asarray(y, float))
    return np.asarray(~((low < z) & (z < high)).any(axis=0))


def events(section: Section, swept: Swept) -> Array:
    """Places across the feed at which the height of metal may jump or kink.

    Parameters
    ----------
    section : Section
        The stock as it stands before this pass.
    swept : Swept
        Where this pass runs.

    Returns
    -------
    y : ndarray, shape (k,)
        Sorted, both ends of the path included. [mm]
    """
    y = [section.throat_low, section.throat_high]
    for s in section.swept:
        reaches = {s.head.radius, s.head.radius - s.head.corner}
        y += [s.offset + sign * reach for sign in (-1, 1) for reach in reaches]
    for hole in section.holes:
        y += [hole.offset - hole.diameter / 2, hole.offset, hole.offset + hole.diameter / 2]
    low = swept.offset - swept.head.radius
    high = swept.offset + swept.head.radius
    return np.unique(np.clip([*y, low, high], low, high))


def crossings(section: Section, z: float) -> Array:
    """Places across the feed where a level runs into or out of a hole or a rounded corner of an
    earlier pass.

    Parameters
    ----------
    section : Section
        The stock as it stands before this pass.
    z : float
        Level above the floor. [mm]

    Returns
    -------
    y : ndarray, shape (k,)
        [mm]
    """
    y = []
    for hole in section.holes:
        square = (hole.diameter / 2) ** 2 - (z - hole.height) ** 2
        y += [hole.offset + sign * math.sqrt(square) for sign in (-1, 1) if square > 0]
    for s in section.swept:
        into = s.head.corner - min(z - s.bottom, s.bottom + s.head.height - z)
        if 0 < into <= s.head.corner:
            set_in = s.head.corner - math.sqrt(s.head.corner**2 - into**2)
            y += [s.offset + sign * (s.head.radius - set_in) for sign in (-1, 1)]
    return np.array(y)


def across(section: Section, swept: Swept, n: int = 2001) -> tuple[Array, Array]:
    """Metal that a pass meets across its path: heights at midpoints between the jumps.

    Parameters
    ----------
    section : Section
        The stock as it stands before this pass.
    swept : Swept
        Where this pass runs.
    n : int
        Least number of midpoints. [1]

    Returns
    -------
    b : ndarray, shape (m,)
        Height of metal in front of the head, corners included. [mm]
    dy : ndarray, shape (m,)
        Width of each strip. [mm]
    """
    head = swept.head
    edges = events(section, swept)
    strips = [
        np.linspace(a, b, max(2, math.ceil(n * (b - a) / (2 * head.radius)) + 1))
        for a, b in pairwise(edges)
        if b > a
    ]
    y = np.concatenate([(s[1:] + s[:-1]) / 2 for s in strips])
    dy = np.concatenate([np.diff(s) for s in strips])
    u = np.abs(y - swept.offset)
    into = np.maximum(u - (head.radius - head.corner), 0.0)
    lift = head.corner - np.sqrt(np.maximum(head.corner**2 - into**2, 0.0))
    b = _solid_between(section, y, swept.bottom + lift, swept.bottom + head.height - lift)
    return b, dy


def removed_area(section: Section, swept: Swept) -> float:
    """Area of metal that a pass takes out of the section.

    Parameters
    ----------
    section : Section
        The stock as it stands before this pass.
    swept : Swept
        Where this pass runs.

    Returns
    -------
    area : float
        [mm^2]
    """
    b, dy = across(section, swept)
    return float(b @ dy)


def radial_width(section: Section, swept: Swept) -> float:
    """Width across the feed over which a pass meets metal.

    Parameters
    ----------
    section : Section
        The stock as it stands before this pass.
    swept : Swept
        Where this pass runs.

    Returns
    -------
    width : float
        [mm]
    """
    b, dy = across(section, swept)
    return float(dy[b > 1e-9].sum())

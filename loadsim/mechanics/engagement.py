"""Which tooth meets what metal, and where in the turn: the table b(phi, z) made once from geometry
alone.

A tooth at immersion ``phi`` on radius R meets the point ``y = offset + R cos(phi)`` of the section.
Tooth j follows tooth j - 1, so at one instant it is ``2 pi/N`` behind it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from loadsim.base.numbers import Array
from loadsim.mechanics.stock import (
    Head,
    Section,
    Swept,
    crossings,
    events,
    is_solid,
    middle_of_solid,
    solid_length,
)

ArrayLike = npt.ArrayLike

#: Nodes over the quarter arc of a corner radius (Gauss-Legendre).
CORNER_NODES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeElements:
    """The edge of one tooth cut into elements that share an inclination.

    Element 0 is the straight part; the rest are nodes on the corner arcs (lower and upper arc
    together, since they are alike in all that the force depends on).
    """

    length: Array  #: height of each element along z, (e,) [mm]
    sin_kappa: Array  #: sine of the edge's inclination to the feed plane, (e,) [1]
    radius: Array  #: distance from the cutter axis, (e,) [mm]
    level: Array  #: height above the head's lower face of the lower arc's node, (e,) [mm]


def edge_elements(head: Head) -> EdgeElements:
    """Cut the edge of a head into a straight part and corner nodes.

    Parameters
    ----------
    head : Head
        The cutting head.

    Returns
    -------
    elements : EdgeElements
        On an arc node at angle t from the axis direction: ``R(z) = R - r (1 - sin t)``,
        ``z = r (1 - cos t)``, ``dz = r sin t dt``, edge inclination ``kappa = t``.
    """
    straight = head.height - 2 * head.corner
    if head.corner == 0:
        one = np.array([1.0])
        return EdgeElements(
            length=one * straight, sin_kappa=one, radius=one * head.radius, level=one * 0.0
        )
    x, w = np.polynomial.legendre.leggauss(CORNER_NODES)
    t = (x + 1) * math.pi / 4
    dz = head.corner * np.sin(t) * w * math.pi / 4
    return EdgeElements(
        length=np.concatenate([[straight], dz]),
        sin_kappa=np.concatenate([[1.0], np.sin(t)]),
        radius=np.concatenate([[head.radius], head.radius - head.corner * (1 - np.sin(t))]),
        level=np.concatenate([[head.corner], head.corner * (1 - np.cos(t))]),
    )


def engaged(section: Section, swept: Swept, elements: EdgeElements, phi: ArrayLike) -> Array:
    """Engaged height b of each edge element of a tooth at immersion phi.

    Parameters
    ----------
    section : Section
        The stock as it stands before this pass.
    swept : Swept
        Where this pass runs.
    elements : EdgeElements
        The tooth's edge from `edge_elements`.
    phi : array_like, shape (p,)
        Immersion angle from the feed normal, clockwise. [rad]

    Returns
    -------
    b : ndarray, shape (p, e)
        Height of metal in front of each element; zero where the tooth faces away. [mm]
    """
    phi = np.asarray(phi, float) % (2 * math.pi)
    front = (phi > 0) & (phi < math.pi)
    cosine = np.cos(phi)
    head = swept.head
    low = swept.bottom + head.corner
    high = swept.bottom + head.height - head.corner
    b = np.zeros((phi.size, elements.length.size))
    b[:, 0] = solid_length(section, swept.offset + head.radius * cosine, low, high)
    for e in range(1, elements.length.size):
        y = swept.offset + elements.radius[e] * cosine
        for z in (swept.bottom + elements.level[e], swept.bottom + head.height - elements.level[e]):
            b[:, e] += elements.length[e] * is_solid(section, y, z)
    return b * front[:, None]


def breakpoints(section: Section, swept: Swept) -> Array:
    """Immersion angles at which the engaged height may jump or kink, with 0 and pi.

    Parameters
    ----------
    section : Section
        The stock as it stands before this pass.
    swept : Swept
        Where this pass runs.

    Returns
    -------
    phi : ndarray, shape (k,)
        Sorted, from 0 to pi. [rad]
    """
    elements = edge_elements(swept.head)
    straight = events(section, swept)
    angles = [[0.0, math.pi]]
    for radius, level in zip(elements.radius, elements.level, strict=True):
        z = (swept.bottom + level, swept.bottom + swept.head.height - level)
        y = np.concatenate([straight, *(crossings(section, x) for x in z)])
        c = (y - swept.offset) / radius
        angles.append(np.arccos(c[np.abs(c) < 1]).tolist())
    return np.unique(np.concatenate(angles))


@dataclass(frozen=True, slots=True, kw_only=True)
class Positions:
    """Turning positions of the cutter, and which tooth meets what metal in each.

    ``a`` positions, ``p`` pairs of position and tooth in the cut (sorted by position), ``e``
    elements.
    """

    phi: Array  #: immersion angle of each pair, (p,) [rad]
    tooth: npt.NDArray[np.intp]  #: tooth of each pair, (p,)
    position: npt.NDArray[np.intp]  #: position of each pair, (p,)
    b: Array  #: engaged height, (p, e) [mm]
    #: height of the middle of the engaged metal above the head's lower face, (p,) [mm]
    level: Array
    sin_kappa: Array  #: (e,) [1]
    #: share of a revolution each position stands for, (a,); zeros when only peaks matter [1]
    weight: Array
    turn: Array  #: turning angle of tooth 0 in each position, (a,) [rad]
    idle: bool  #: whether no tooth is in the cut for some part of the revolution


def _levels(section: Section, swept: Swept, phi: Array) -> Array:
    """Middle of the metal in front of a tooth, above the head's lower face."""
    y = swept.offset + swept.head.radius * np.cos(phi)
    return (
        middle_of_solid(section, y, swept.bottom, swept.bottom + swept.head.height) - swept.bottom
    )


def _positions(
    section: Section, swept: Swept, teeth: int, turn: Array, weight: Array, idle: bool
) -> Positions:
    elements = edge_elements(swept.head)
    pitch = 2 * math.pi / teeth
    phi = (turn[:, None] - pitch * np.arange(teeth)[None, :]) % (2 * math.pi)
    b = engaged(section, swept, elements, phi.ravel())
    met = np.flatnonzero(b.any(axis=1))
    level = _levels(section, swept, phi.ravel()[met])
    return Positions(
        phi=phi.ravel()[met],
        tooth=met % teeth,
        position=met // teeth,
        b=b[met],
        level=level,
        sin_kappa=elements.sin_kappa,
        weight=weight,
        turn=turn,
        idle=idle,
    )


def _busy(section: Section, swept: Swept, teeth: int) -> npt.NDArray[np.intp]:
    """Count teeth in the cut at midpoints between all events of one pitch."""
    pitch = 2 * math.pi / teeth
    events = np.unique(np.concatenate([breakpoints(section, swept) % pitch, [0.0, pitch]]))
    middle = (events[1:] + events[:-1]) / 2
    phi = middle[:, None] + pitch * np.arange(teeth)[None, :]
    b = engaged(section, swept, edge_elements(swept.head), phi.ravel())
    return np.asarray(b.any(axis=1).reshape(phi.shape).sum(axis=1))


def whole_turn(section: Section, swept: Swept, teeth: int, n: int = 720) -> Positions:
    """Positions over one revolution: midpoints between the events, weighted, for means and
    pictures.

    Parameters
    ----------
    section : Section
        The stock as it stands before this pass.
    swept : Swept
        Where this pass runs.
    teeth : int
        Number of teeth. [1]
    n : int
        About how many positions. [1]

    Returns
    -------
    positions : Positions
        Weights add up to 1.
    """
    pitch = 2 * math.pi / teeth
    events = breakpoints(section, swept)
    turns = (events[:, None] + pitch * np.arange(teeth)[None, :]) % (2 * math.pi)
    ends = np.unique(np.concatenate([[0.0, 2 * math.pi], turns.ravel()]))
    ends = ends[np.concatenate([[True], np.diff(ends) > 1e-9])]
    parts = [
        np.linspace(a, b, max(2, math.ceil(n * (b - a) / (2 * math.pi)) + 1))
        for a, b in pairwise(ends)
    ]
    turn = np.concatenate([(p[1:] + p[:-1]) / 2 for p in parts])
    weight = np.concatenate([np.diff(p) for p in parts]) / (2 * math.pi)
    idles = bool((_busy(section, swept, teeth) == 0).any())
    return _positions(section, swept, teeth, turn, weight / weight.sum(), idles)


def _outdone(sine: Array, b: Array, level: Array) -> npt.NDArray[np.bool_]:
    """Tell which positions another one outdoes in chip, metal and arm alike; of equals the first
    stays.

    True only of cuts with one tooth at a time, where those three settle the load on the neck.
    """
    key = np.round(np.column_stack([sine, b, -level]), 9)
    at_least = (key[:, None, :] >= key[None, :, :]).all(axis=2)
    equal = at_least & at_least.T
    better = at_least & ~equal
    first = np.tril(equal.T, -1).any(axis=1)
    return np.asarray(better.any(axis=0) | first)


def peak_positions(section: Section, swept: Swept, teeth: int, grid: int = 180) -> Positions:
    """Positions among which the largest force of a revolution must lie.

    With at most one tooth in the cut and steps in b alone, chip and force rise towards phi = pi/2
    between two events, so the end nearest to pi/2 of each stretch is enough, and stretches that
    another outdoes are dropped. With several teeth at once, or after rounded passes or holes, a
    grid of positions is added.

    Parameters
    ----------
    section : Section
        The stock as it stands before this pass.
    swept : Swept
        Where this pass runs.
    teeth : int
        Number of teeth. [1]
    grid : int
        Positions added in half a turn where the peak lies at no known angle. [1]

    Returns
    -------
    positions : Positions
        Weights are zero.
    """
    events = breakpoints(section, swept)
    low = events[:-1]
    high = events[1:]
    keep = high - low > 1e-9
    low = low[keep]
    high = high[keep]
    nudge = 1e-9
    at = np.minimum(np.maximum(math.pi / 2, low + nudge), high - nudge)
    busy = _busy(section, swept, teeth)
    smooth = any(s.head.corner > 0 for s in section.swept) or bool(section.holes)
    several = bool(busy.max(initial=0) > 1)
    if several or smooth:
        n = max(48, 2 * grid // teeth) if several else grid  # each tooth brings its own grid
        fine = math.pi * (np.arange(n) + 0.5) / n
        at = np.concatenate([at, low + nudge, high - nudge, fine])
    phi = np.unique(at)
    b = engaged(section, swept, edge_elements(swept.head), phi)
    # with several, the peak may lie where this tooth has just left the metal
    met = b.any(axis=1) | several
    if not several:
        met &= ~_outdone(np.sin(phi), b, _levels(section, swept, phi))
    pitch = 2 * math.pi / teeth
    turn = (phi[met][None, :] + pitch * np.arange(teeth)[:, None]).ravel() % (2 * math.pi)
    return _positions(section, swept, teeth, turn, np.zeros(turn.size), bool((busy == 0).any()))


def even_turn(section: Section, swept: Swept, teeth: int, n: int) -> Positions:
    """Positions evenly spread over a turn.

    Parameters
    ----------
    section : Section
        The stock as it stands before this pass.
    swept : Swept
        Where this pass runs.
    teeth : int
        Number of teeth. [1]
    n : int
        How many. [1]

    Returns
    -------
    positions : Positions
        Of equal weight.
    """
    turn = 2 * math.pi * (np.arange(n) + 0.5) / n
    return _positions(section, swept, teeth, turn, np.full(n, 1 / n), idle=True)


def wall_positions(section: Section, swept: Swept, teeth: int) -> Positions:
    """Positions in which a tooth shapes a wall: phi = 0 on the high side, phi = pi on the low side.

    Parameters
    ----------
    section : Section
        The stock as it stands before this pass.
    swept : Swept
        Where this pass runs.
    teeth : int
        Number of teeth. [1]

    Returns
    -------
    positions : Positions
        First all teeth at the high wall, then all at the low wall; weights are zero.
    """
    pitch = 2 * math.pi / teeth
    at = np.array([1e-9, math.pi - 1e-9])
    turn = (at[:, None] + pitch * np.arange(teeth)[None, :]).ravel() % (2 * math.pi)
    return _positions(section, swept, teeth, turn, np.zeros(turn.size), idle=False)

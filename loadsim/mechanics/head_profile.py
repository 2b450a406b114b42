"""The end view of the head as it is ground from round stock, and what the section is worth.

Seen on the end face the cutter turns counter-clockwise, x to the right, the axis at (0, 0); tooth 0
has its edge
at (R, 0) and its body below it. Each tooth is made by straight cuts: a flute whose face lies e past
the centre and
whose floor lies a gullet depth under the round surface, and up to three flats behind the edge, each
turned farther.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.errors import ModelError
from loadsim.base.numbers import Array
from loadsim.base.ranges import real
from loadsim.mechanics.polygon import beyond, clip, moments, ray_exit, turned

#: Sides of the polygon inscribed in the round: area short by (2 pi/n)^2/6 = 1.3e-5, second moment
#: by 2.5e-5: the weaker side. [1]
SIDES = 720


@dataclass(frozen=True, slots=True, kw_only=True)
class Flat:
    """One flat behind the edge: the plane n.x = distance, its normal turned back by the angle."""

    angle: float  #: from the radius through the edge, backward [rad]
    distance: float  #: from the axis [mm]
    start: float  #: along the tooth's back from the edge, over the flats before it [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadShape:
    """The end view of a head, and the lines it was made from."""

    radius: float  #: over the teeth [mm]
    rake: float  #: [rad]
    outline: Array  #: corners counter-clockwise, (n, 2) [mm]
    edges: Array  #: cutting edges, (teeth, 2) [mm]
    roots: Array  #: inner corner of each gullet, (teeth, 2) [mm]
    heels: Array  #: where the back of each gullet leaves the head, (teeth, 2) [mm]
    flats: tuple[Flat, ...]  #: of each tooth, from the edge backward
    gullet: float  #: area of one gullet [mm^2]


def flats_behind(
    radius: float, angles: Sequence[float], widths: Sequence[float]
) -> tuple[Flat, ...]:
    """Flats that meet one another along a tooth's back, from the edge.

    Parameters
    ----------
    radius : float
        R, over the teeth. [mm]
    angles : sequence of float
        Clearance of each flat, rising. [rad]
    widths : sequence of float
        Of every flat but the last. [mm]

    Returns
    -------
    flats : tuple of Flat

    Raises
    ------
    ModelError
        If the angles do not rise within a quarter turn, or a width is wrong.

    References
    ----------
    PlaneGeometry, distance of a line from a point
    """
    real("radius", radius, "mm", over=0.0)
    if len(widths) != len(angles) - 1:
        raise ModelError(f"{len(angles)} flats need {len(angles) - 1} widths, got {len(widths)}")
    flats = []
    at = np.array([radius, 0.0])
    before = 0.0
    for i, a in enumerate(angles):
        real("clearance of a flat", a, "rad", over=before, below=np.pi / 2)
        before = a
        run = sum(widths[:i])
        flats.append(
            Flat(angle=float(a), distance=float(at @ [np.cos(a), -np.sin(a)]), start=float(run))
        )
        if i < len(widths):
            width = float(real("width of a flat", widths[i], "mm", over=0.0))
            at = at + width * np.array([-np.sin(a), -np.cos(a)])
            if np.hypot(*at) > radius * (1 + 1e-9):
                raise ModelError(
                    f"a flat {width:g} mm wide is wider than the stock at {np.degrees(a):g} deg"
                )
    return tuple(flats)


def ground_head(
    radius: float,
    teeth: int,
    rake: float,
    gullet_depth: float,
    gullet_angle: float,
    flats: Sequence[Flat],
) -> HeadShape:
    """End view of a head ground from round stock.

    Parameters
    ----------
    radius : float
        R, over the teeth. [mm]
    teeth : int
        How many. [1]
    rake : float
        Of the flute faces, which lie R sin(rake) past the centre; negative stops short. [rad]
    gullet_depth : float
        From the round surface down to the flute's floor, along its face. [mm]
    gullet_angle : float
        Between the face and the back of the gullet; a square wheel leaves a right angle. [rad]
    flats : sequence of Flat
        Behind each edge, from `flats_behind`.

    Returns
    -------
    shape : HeadShape

    Raises
    ------
    ModelError
        If the cuts run into each other or leave nothing.

    References
    ----------
    PlaneGeometry, lines that meet
    """
    gamma = float(real("rake", rake, "rad", over=-np.pi / 4, below=np.pi / 4))
    real("radius", radius, "mm", over=0.0)
    floor = radius - float(real("gullet_depth", gullet_depth, "mm", over=0.0, below=radius))
    if floor >= radius * np.cos(gamma):
        raise ModelError(
            f"the gullet is {gullet_depth:g} mm deep, which does not reach below the edge; it must"
            f" be over {radius * (1 - np.cos(gamma)):.4g} mm"
        )
    psi = float(real("gullet_angle", gullet_angle, "rad", over=0.0, below=np.pi))
    pitch = 2 * np.pi / int(real("teeth", teeth, "1", least=1, most=12))
    edges = radius * np.stack(
        [np.cos(pitch * np.arange(teeth)), np.sin(pitch * np.arange(teeth))], axis=1
    )
    hull = _with_flats(radius, np.asarray(pitch * np.arange(teeth), float), flats)
    if max(beyond(hull, p) for p in edges) > 1e-9 * radius:
        raise ModelError(
            "a flat behind a tooth cuts the edge of the tooth behind it: less clearance, or fewer"
            " teeth"
        )
    root = edges[0] - (radius * np.cos(gamma) - floor) * np.array([np.cos(gamma), np.sin(gamma)])
    roots = np.concatenate([turned(root[None], pitch * k) for k in range(teeth)])
    back = np.array([np.cos(gamma + psi), np.sin(gamma + psi)])
    outline, heels = _cut_flutes(hull, edges, roots, back, pitch)
    _stand_clear(edges, roots, heels, back, pitch)
    return HeadShape(
        radius=radius,
        rake=gamma,
        outline=outline,
        edges=edges,
        roots=roots,
        heels=heels,
        flats=tuple(flats),
        gullet=(moments(hull).area - moments(outline).area) / teeth,
    )


def _with_flats(radius: float, angles: Array, flats: Sequence[Flat]) -> Array:
    """Round stock with corners at the edges, which stand at these angles, and a tooth's flats
    ground behind each of them.
    """
    sides = 2 * np.pi * np.arange(SIDES) / SIDES
    around = np.unique(np.round(np.concatenate([sides, angles]), 12))
    hull = radius * np.stack([np.cos(around), np.sin(around)], axis=1)
    for angle in angles:
        for f in flats:
            turn = angle - f.angle
            hull = clip(hull, (np.cos(turn), np.sin(turn)), f.distance + 1e-12 * radius)
    return hull


def _cut_flutes(
    hull: Array, edges: Array, roots: Array, back: Array, pitch: float
) -> tuple[Array, Array]:
    """Replace the hull between each edge and the heel before it by the gullet's two sides."""
    if float(np.max([beyond(hull, r) for r in roots])) > 0:
        raise ModelError(
            "a flat behind a tooth cuts through the floor of its gullet: less clearance, or a"
            " deeper gullet"
        )
    around = np.mod(np.arctan2(hull[:, 1], hull[:, 0]), 2 * np.pi)
    chains = []
    heels = []
    for k, (edge, root) in enumerate(zip(edges, roots, strict=True)):
        u = turned(back[None], pitch * k)[0]
        heel = root + u * ray_exit(hull, root, u)[0]
        from_edge = np.mod(np.arctan2(heel[1], heel[0]) - pitch * k, 2 * np.pi)
        if not 1e-9 < from_edge < pitch - 1e-9:
            raise ModelError(
                "the gullets run into the next tooth: less gullet depth, a smaller gullet angle, or"
                " fewer teeth"
            )
        here = np.mod(around - pitch * k, 2 * np.pi)
        rest = np.flatnonzero((here > from_edge + 1e-9) & (here < pitch - 1e-9))
        chains += [edge[None], root[None], heel[None], hull[rest[np.argsort(here[rest])]]]
        heels.append(heel)
    return np.concatenate(chains), np.array(heels)


def _stand_clear(edges: Array, roots: Array, heels: Array, back: Array, pitch: float) -> None:
    """Refuse gullets whose back runs through the next tooth's face, or through the axis."""
    out = np.array([back[1], -back[0]])  # square to the back, into the gullet
    if float(-roots[0] @ out) >= 0:
        raise ModelError("the gullets reach the axis: less gullet depth")
    if len(edges) > 1 and min(float((roots[0] - p) @ out) for p in (edges[1], roots[1])) <= 0:
        raise ModelError(
            "the gullets cut the next tooth off at its root: less gullet depth, a smaller gullet"
            " angle, or fewer teeth"
        )


def web(shape: HeadShape) -> float:
    """Web of the head: diameter of the largest circle around the axis that no cut reaches.

    Parameters
    ----------
    shape : HeadShape
        From `ground_head`.

    Returns
    -------
    web : float
        [mm]

    References
    ----------
    PlaneGeometry, distance of a point from a segment
    """
    a = shape.outline
    e = np.roll(a, -1, axis=0) - a
    # the nearest point stays on its side
    along = np.clip(-(a * e).sum(axis=1) / (e * e).sum(axis=1), 0.0, 1.0)
    return float(2 * np.hypot(*(a + along[:, None] * e).T).min())


def torsion_constant_bound(shape: HeadShape) -> float:
    """Lower bound of the torsion constant: that of the web's circle, which lies inside, ``pi
    web^4/32``.

    Parameters
    ----------
    shape : HeadShape
        From `ground_head`.

    Returns
    -------
    J : float
        [mm^4]

    References
    ----------
    PolyaSzego1951, the torsional rigidity grows with the section
    """
    return float(np.pi / 32 * web(shape) ** 4)


def tooth_thickness(shape: HeadShape, s: ArrayLike) -> Array:
    """Thickness of a tooth square to its face, at distances from the edge along the face.

    Parameters
    ----------
    shape : HeadShape
        From `ground_head`.
    s : array_like, shape (m,)
        Distance from the edge, above zero and not beyond the gullet's floor. [mm]

    Returns
    -------
    thickness : ndarray, shape (m,)
        [mm]

    References
    ----------
    PlaneGeometry, two lines that meet
    """
    height = tooth_height(shape)
    s = np.atleast_1d(real("s", s, "mm", over=0.0, most=height * (1 + 1e-9)))
    inward = -np.array([np.cos(shape.rake), np.sin(shape.rake)])
    behind = np.array([np.sin(shape.rake), -np.cos(shape.rake)])
    return np.array([ray_exit(shape.outline, shape.edges[0] + d * inward, behind)[0] for d in s])


def tooth_height(shape: HeadShape) -> float:
    """Height of a tooth: its face from the edge down to the gullet's floor.

    Parameters
    ----------
    shape : HeadShape
        From `ground_head`.

    Returns
    -------
    height : float
        [mm]

    References
    ----------
    PlaneGeometry, distance of two points
    """
    return float(np.hypot(*(shape.edges[0] - shape.roots[0])))


def weakest_tooth_section(shape: HeadShape) -> tuple[float, float]:
    """Section of a tooth at which a force on its edge bends it most: the largest ``s/t^2``.

    Parameters
    ----------
    shape : HeadShape
        From `ground_head`.

    Returns
    -------
    arm : float
        s, from the edge to the section. [mm]
    thickness : float
        t, of the section. [mm]

    References
    ----------
    TimoshenkoGoodier1970, bending of a cantilever loaded at the end
    """
    s = tooth_height(shape) * np.linspace(0.25, 1.0, 40)  # nearer the edge it is a wedge
    t = tooth_thickness(shape, s)
    worst = int(np.argmax(s / t**2))
    return float(s[worst]), float(t[worst])


def land_width(shape: HeadShape) -> float:
    """Width of the flat right behind the edge, measured on the outline.

    Parameters
    ----------
    shape : HeadShape
        From `ground_head`.

    Returns
    -------
    land : float
        Zero when no flat was ground. [mm]

    References
    ----------
    PlaneGeometry, distance of a line from a point
    """
    if not shape.flats:
        return 0.0
    f = shape.flats[0]
    n = np.array([np.cos(f.angle), -np.sin(f.angle)])
    on = np.abs(shape.outline @ n - f.distance) < 1e-8 * shape.radius
    return float(np.hypot(*(shape.outline[on] - shape.edges[0]).T).max())


def heel_drop(shape: HeadShape) -> tuple[float, float]:
    """How far the highest point behind the relief flat lies under the circle of the edges.

    Parameters
    ----------
    shape : HeadShape
        From `ground_head`.

    Returns
    -------
    drop : float
        Zero: the heel stands as high as the edge and rubs. [mm]
    behind : float
        Turn from the edge back to that point. [rad]

    References
    ----------
    PlaneGeometry, polar coordinates
    """
    if not shape.flats:
        return 0.0, 0.0
    back = np.mod(-np.arctan2(shape.outline[:, 1], shape.outline[:, 0]), 2 * np.pi)
    first = shape.flats[0]
    end = first.angle - np.arctan2(
        first.distance * np.tan(first.angle) - land_width(shape), first.distance
    )
    mine = np.flatnonzero((back > end * (1 + 1e-6)) & (back < 2 * np.pi / len(shape.edges) - 1e-9))
    if not mine.size:
        return shape.radius, 0.0
    r = np.hypot(*shape.outline[mine].T)
    i = int(np.argmax(r))
    return max(float(shape.radius - r[i]), 0.0), float(back[mine[i]])

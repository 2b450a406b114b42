"""Flat shapes as corners in order: clipped, measured, integrated."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.errors import ModelError
from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import must_be, takes


@dataclass(frozen=True, slots=True, kw_only=True)
class Moments:
    """Area, centroid and central second moments of a polygon."""

    area: float  #: [mm^2]
    x: float  #: of the centroid [mm]
    y: float  #: of the centroid [mm]
    I_xx: float  #: about the axis along x through the centroid [mm^4]
    I_yy: float  #: about the axis along y through the centroid [mm^4]
    I_xy: float  #: product of inertia [mm^4]

    @property
    def least(self) -> float:
        """Smaller principal second moment. [mm^4]"""
        mean = (self.I_xx + self.I_yy) / 2
        half = (self.I_xx - self.I_yy) / 2
        return float(mean - np.hypot(half, self.I_xy))


def clip(polygon: Array, normal: ArrayLike, distance: float) -> Array:
    """Keep the part of a convex polygon with ``n.x <= distance``: one flat ground across.

    Parameters
    ----------
    polygon : ndarray, shape (n, 2)
        Corners in order. [mm]
    normal : array_like, shape (2,)
        Unit normal of the flat, outward. [1]
    distance : float
        Of the flat from the axis. [mm]

    Returns
    -------
    kept : ndarray, shape (m, 2)
        [mm]

    Raises
    ------
    ModelError
        If nothing is left.

    References
    ----------
    SutherlandHodgman1974
    """
    n = np.asarray(normal, float)
    d = polygon @ n - distance
    ahead = np.roll(polygon, -1, axis=0)
    q = np.roll(d, -1)
    crossed = ((d < 0) & (q > 0)) | ((d > 0) & (q < 0))
    share = np.where(crossed, d / np.where(crossed, d - q, 1.0), 0.0)
    both = np.stack([polygon, polygon + (ahead - polygon) * share[:, None]], axis=1)
    # row by row: a corner, then where its side meets the flat
    kept = both[np.stack([d <= 0, crossed], axis=1)]
    if len(kept) < 3:
        raise ModelError(f"a flat {distance:g} mm from the axis leaves nothing of the head")
    return np.asarray(kept)


def turned(points: Array, angle: float) -> Array:
    """Turn points counter-clockwise about the axis.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        [mm]
    angle : float
        [rad]

    Returns
    -------
    turned : ndarray, shape (n, 2)
        [mm]
    """
    c = np.cos(angle)
    s = np.sin(angle)
    return np.asarray(points @ np.array([[c, s], [-s, c]]))


def _cross(a: Array, b: Array) -> Array:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def ray_exit(polygon: Array, start: ArrayLike, direction: ArrayLike) -> tuple[float, int]:
    """Distance along a ray to the first side it meets.

    Parameters
    ----------
    polygon : ndarray, shape (n, 2)
        Corners in order. [mm]
    start : array_like, shape (2,)
        Where the ray starts; a side it starts on does not count. [mm]
    direction : array_like, shape (2,)
        Unit vector. [1]

    Returns
    -------
    distance : float
        [mm]
    side : int
        Index of the side, from corner to next corner.

    Raises
    ------
    ModelError
        If the ray meets no side.

    References
    ----------
    PlaneGeometry, two lines that meet
    """
    o = np.asarray(start, float)
    u = np.asarray(direction, float)
    a = polygon
    e = np.roll(polygon, -1, axis=0) - polygon
    size = float(np.abs(polygon).max())
    across = _cross(np.broadcast_to(u, e.shape), e)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = _cross(a - o, e) / across
        w = _cross(a - o, np.broadcast_to(u, e.shape)) / across
    good = (np.abs(across) > 1e-14 * size) & (t > 1e-9 * size) & (w >= -1e-9) & (w <= 1 + 1e-9)
    if not good.any():
        raise ModelError("a cut does not meet the outline of the head")
    side = int(np.argmin(np.where(good, t, np.inf)))
    return float(t[side]), side


def beyond(hull: Array, point: Array) -> float:
    """How far a point lies outside a convex polygon, negative inside.

    Parameters
    ----------
    hull : ndarray, shape (n, 2)
        Corners counter-clockwise. [mm]
    point : ndarray, shape (2,)
        [mm]

    Returns
    -------
    distance : float
        [mm]
    """
    e = np.roll(hull, -1, axis=0) - hull
    return float((_cross(point - hull, e) / np.hypot(e[:, 0], e[:, 1])).max())


@takes(polygon=must_be("mm"))
def moments(polygon: Reals) -> Moments:
    """Area, centroid and central second moments of a polygon, exact for straight sides.

    Parameters
    ----------
    polygon : array_like, shape (n, 2)
        Corners counter-clockwise, the last joined to the first. [mm]

    Returns
    -------
    moments : Moments

    Raises
    ------
    ModelError
        If a corner is not finite or the corners do not run counter-clockwise around an area.

    References
    ----------
    Steger1996, moments up to the second order by Green's theorem
    """
    points: Array = polygon
    middle = points.mean(axis=0)
    (x, y), (u, v) = (points - middle).T, (np.roll(points, -1, axis=0) - middle).T
    c = x * v - u * y
    A = float(c.sum() / 2)
    if not A > 0:
        raise ModelError(f"the corners must run counter-clockwise around an area, got {A:g} mm^2")
    s_x = float(((x + u) * c).sum() / 6 / A)
    s_y = float(((y + v) * c).sum() / 6 / A)
    I_xx = float(((y * y + y * v + v * v) * c).sum() / 12) - A * s_y**2
    I_yy = float(((x * x + x * u + u * u) * c).sum() / 12) - A * s_x**2
    I_xy = float(((x * v + 2 * x * y + 2 * u * v + u * y) * c).sum() / 24) - A * s_x * s_y
    return Moments(
        area=A, x=s_x + float(middle[0]), y=s_y + float(middle[1]), I_xx=I_xx, I_yy=I_yy, I_xy=I_xy
    )

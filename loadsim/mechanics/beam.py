"""The neck: a stepped round cantilever and its natural frequencies.

The tool is a beam that leaves the collet as a shank, steps down to the neck and ends in the head.
Everything here is linear elastic and takes numbers or arrays; the same function serves one tool and
100,000
samples of it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from loadsim.base.errors import ModelError
from loadsim.base.numbers import Array, Reals
from loadsim.base.ranges import above_zero, any_finite, from_zero, not_negative, takes
from loadsim.mechanics.sections import POISSON, area, second_moment, shear_coefficient_round

T_PER_MM3: Final = 1e-12
"""One kg/m^3 in t/mm^3: with mm, N and s the mass that fits is the tonne."""


def _or_rigid(name: str, value: ArrayLike) -> Array:
    """Range of a collet's stiffness: over 0, and infinite means rigid."""
    k = np.asarray(value, dtype=np.float64)
    if k.size and not k.min() > 0:
        bad = k[~(k > 0)].flat[0]
        raise ModelError(
            f"{name} is {bad:g} N/mm; allowed is > 0 N/mm, infinite for a rigid collet"
        )
    return k


# --- the stepped cantilever
# -------------------------------------------------------------------------


def _check_load_point(neck_length: Array, head_height: Array, load_reach: Array) -> None:
    """The force must act on the head, else the three-piece formula means nothing."""
    on_head = (load_reach >= neck_length) & (load_reach <= (neck_length + head_height) * (1 + 1e-9))
    if not on_head.all():
        reach, low, height = (
            a[~on_head].flat[0] for a in np.broadcast_arrays(load_reach, neck_length, head_height)
        )
        raise ModelError(
            f"load_reach is {reach:g} mm; allowed is {low:g} to {low + height:g} mm, on the head: "
            "neck_length plus the distance from the head's upper face"
        )


@takes(
    shank_length=from_zero("mm"),
    neck_length=above_zero("mm"),
    load_reach=above_zero("mm"),
    head_height=above_zero("mm"),
    E=above_zero("MPa"),
    k_collet=_or_rigid,
    nu=POISSON,
    shank_diameter=above_zero("mm"),
    neck_diameter=above_zero("mm"),
    head_second_moment=above_zero("mm^4"),
    head_area=above_zero("mm^2"),
)
def compliance(
    *,
    shank_length: Reals,
    shank_diameter: Reals,
    neck_length: Reals,
    neck_diameter: Reals,
    head_height: Reals,
    head_second_moment: Reals,
    head_area: Reals,
    load_reach: Reals,
    E: Reals,
    nu: Reals,
    k_collet: Reals,
) -> Array:
    """Deflection of the tool for each newton of radial force on its head.

    Stepped Timoshenko cantilever from the collet face, the collet's radial stiffness in series. A
    piece from distance p to distance q from the force adds ``(p^3 - q^3) / (3 E I) + (p - q) /
    (kappa G A)``.

    Parameters
    ----------
    shank_length : array_like, broadcastable
        Shank from the collet face to its shoulder, 0 if none stands out. [mm]
    shank_diameter : array_like, broadcastable
        Shank diameter. [mm]
    neck_length : array_like, broadcastable
        Neck from the shank's shoulder to the head's upper face. [mm]
    neck_diameter : array_like, broadcastable
        Neck diameter. [mm]
    head_height : array_like, broadcastable
        Height of the head. [mm]
    head_second_moment : array_like, broadcastable
        Second moment of area of the fluted head, the smaller one. [mm^4]
    head_area : array_like, broadcastable
        Area of the fluted head's section. [mm^2]
    load_reach : array_like, broadcastable
        From the shank's shoulder to the force: neck_length plus the way from the head's upper face.
        [mm]
    E : array_like, broadcastable
        Elastic modulus. [MPa]
    nu : array_like, broadcastable
        Poisson's ratio. [1]
    k_collet : array_like, broadcastable
        Radial stiffness of collet and spindle, infinite for rigid. [N/mm]

    Returns
    -------
    c : ndarray, shape of the inputs broadcast together
        Deflection at the force for a force of 1 N. [mm]

    Raises
    ------
    ModelError
        If an input is out of range or the force is not on the head (a ValueError).

    Notes
    -----
    The head's shear coefficient is taken as that of a round bar; the head adds little to the whole.
    Tilting of the shank in the collet is left out: a measured stiffness at the tool's tip includes
    it.

    References
    ----------
    Cowper1966, circle
    """
    _check_load_point(neck_length, head_height, load_reach)
    shear_stiffness = shear_coefficient_round(nu) * E / (2 * (1 + nu))

    def piece(p: Array, q: Array, I: Array, A: Array) -> Array:  # noqa: E741
        return np.asarray((p**3 - q**3) / (3 * E * I) + (p - q) / (shear_stiffness * A))

    in_head = load_reach - neck_length
    I_s = second_moment(shank_diameter)
    A_s = area(shank_diameter)
    c = 1 / k_collet + piece(load_reach + shank_length, load_reach, I_s, A_s)
    c = c + piece(load_reach, in_head, second_moment(neck_diameter), area(neck_diameter))
    return np.asarray(c + piece(in_head, np.zeros(()), head_second_moment, head_area))


@takes(
    shank_length=from_zero("mm"),
    neck_length=above_zero("mm"),
    load_reach=above_zero("mm"),
    E=above_zero("MPa"),
    shank_diameter=above_zero("mm"),
    neck_diameter=above_zero("mm"),
    head_second_moment=above_zero("mm^4"),
)
def tilt_compliance(
    *,
    shank_length: Reals,
    shank_diameter: Reals,
    neck_length: Reals,
    neck_diameter: Reals,
    head_second_moment: Reals,
    load_reach: Reals,
    E: Reals,
) -> Array:
    """Tilt of the head for each newton of radial force on it.

    A piece from distance p to distance q from the force adds ``(p^2 - q^2) / (2 E I)``; shear does
    not tilt.

    Parameters
    ----------
    shank_length : array_like, broadcastable
        Shank from the collet face to its shoulder, 0 if none stands out. [mm]
    shank_diameter : array_like, broadcastable
        Shank diameter. [mm]
    neck_length : array_like, broadcastable
        Neck from the shank's shoulder to the head's upper face. [mm]
    neck_diameter : array_like, broadcastable
        Neck diameter. [mm]
    head_second_moment : array_like, broadcastable
        Second moment of area of the fluted head, the smaller one. [mm^4]
    load_reach : array_like, broadcastable
        From the shank's shoulder to the force: neck_length plus the way from the head's upper face.
        [mm]
    E : array_like, broadcastable
        Elastic modulus. [MPa]

    Returns
    -------
    tilt : ndarray, shape of the inputs broadcast together
        Slope of the axis at the force and beyond for a force of 1 N. [rad]

    Raises
    ------
    ModelError
        If an input is out of range (a ValueError).

    Notes
    -----
    Tilting of the shank in the collet is left out, as in `compliance`: the real tilt is larger.
    """
    in_head = not_negative("load_reach past the neck", load_reach - neck_length)
    bent = (
        ((load_reach + shank_length) ** 2 - load_reach**2) / second_moment(shank_diameter)
        + (load_reach**2 - in_head**2) / second_moment(neck_diameter)
        + in_head**2 / head_second_moment
    )
    return np.asarray(bent / (2 * E))


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """What goes on along the tool's axis under one radial force.

    Arrays run from the collet face to the free end. A step in the section is a pair of equal z, one
    value on each side of it.
    """

    z: Array  #: distance from the collet face [mm]
    diameter: Array  #: outside diameter [mm]
    shear: Array  #: shear force [N]
    moment: Array  #: bending moment [N*mm]
    deflection: Array  #: radial deflection [mm]
    stress: Array  #: nominal bending stress at the outside, no stress concentration [MPa]
    fillet_names: tuple[str, ...]  #: the fillets, from the collet on
    fillet_positions: tuple[float, ...]  #: their distances from the collet face [mm]


@takes(F=any_finite("N"), head_diameter=above_zero("mm"))
def profile(
    *,
    shank_length: float,
    shank_diameter: float,
    neck_length: float,
    neck_diameter: float,
    head_height: float,
    head_diameter: float,
    head_second_moment: float,
    head_area: float,
    load_reach: float,
    E: float,
    nu: float,
    k_collet: float,
    F: float,
    n: int = 25,
) -> Profile:
    """Shear, moment, deflection and nominal stress along the tool under one radial force.

    Parameters
    ----------
    shank_length : float
        Shank from the collet face to its shoulder, 0 if none stands out. [mm]
    shank_diameter : float
        Shank diameter. [mm]
    neck_length : float
        Neck from the shank's shoulder to the head's upper face. [mm]
    neck_diameter : float
        Neck diameter. [mm]
    head_height : float
        Height of the head. [mm]
    head_diameter : float
        Diameter of the head over its teeth. [mm]
    head_second_moment : float
        Second moment of area of the fluted head, the smaller one. [mm^4]
    head_area : float
        Area of the fluted head's section. [mm^2]
    load_reach : float
        From the shank's shoulder to the force: neck_length plus the way from the head's upper face.
        [mm]
    E : float
        Elastic modulus. [MPa]
    nu : float
        Poisson's ratio. [1]
    k_collet : float
        Radial stiffness of collet and spindle, infinite for rigid. [N/mm]
    F : float
        Radial force, either sign. [N]
    n : int
        Stations in each piece, at least 2. [1]

    Returns
    -------
    profile : Profile
        Arrays along the axis and the two fillets.

    Raises
    ------
    ModelError
        If an input is out of range or the force is not on the head (a ValueError).

    References
    ----------
    Cowper1966, circle
    """
    if n < 2:
        raise ModelError(f"n is {n}; allowed is a whole number >= 2")
    # the closed form checks every input but these two
    compliance(
        shank_length=shank_length,
        shank_diameter=shank_diameter,
        neck_length=neck_length,
        neck_diameter=neck_diameter,
        head_height=head_height,
        head_second_moment=head_second_moment,
        head_area=head_area,
        load_reach=load_reach,
        E=E,
        nu=nu,
        k_collet=k_collet,
    )
    F = float(F)
    k_collet = float(k_collet)
    head_diameter = float(head_diameter)
    kappa_G = float(shear_coefficient_round(nu)) * E / (2 * (1 + nu))
    head = (head_diameter, head_second_moment, head_area)
    shank = (shank_diameter, float(second_moment(shank_diameter)), float(area(shank_diameter)))
    neck = (neck_diameter, float(second_moment(neck_diameter)), float(area(neck_diameter)))
    pieces = (
        (shank_length, F, shank),
        (neck_length, F, neck),
        (load_reach - neck_length, F, head),
        (neck_length + head_height - load_reach, 0.0, head),
    )
    rows = _along(pieces, load_reach + shank_length, E, kappa_G, F / k_collet, n)
    return Profile(
        z=rows[0],
        diameter=rows[1],
        shear=rows[2],
        moment=rows[3],
        deflection=rows[4],
        stress=rows[5],
        fillet_names=("shank shoulder", "head shoulder"),
        fillet_positions=(shank_length, shank_length + neck_length),
    )


def _along(
    pieces: Sequence[tuple[float, float, tuple[float, float, float]]],
    from_load: float,
    E: float,
    kappa_G: float,
    w: float,
    n: int,
) -> Array:
    """z, diameter, shear, moment, deflection and stress along pieces of (length, shear, (diameter,
    second moment, area)), (6, stations); w is the deflection at the collet.
    """
    z = 0.0
    tilt = 0.0
    columns: list[Array] = []
    for length, V, (d, I, A) in pieces:  # noqa: E741
        if length <= 1e-12 * from_load:  # a piece of no length, give or take rounding
            continue
        a = np.linspace(0.0, length, n)
        M = V * (from_load - z - a)
        slope = tilt + V * ((from_load - z) * a - a**2 / 2) / (E * I)
        line = (
            w
            + tilt * a
            + V * ((from_load - z) * a**2 / 2 - a**3 / 6) / (E * I)
            + V * a / (kappa_G * A)
        )
        columns.append(np.stack([z + a, np.full(n, d), np.full(n, V), M, line, M * d / (2 * I)]))
        z = z + length
        w = float(line[-1])
        tilt = float(slope[-1])
    return np.concatenate(columns, axis=1)


# --- natural frequencies
# ----------------------------------------------------------------------------


def _element_matrices(
    L: Array, EI: Array, shear: Array, rho_A: Array, rho_I: Array
) -> tuple[Array, Array]:
    """Stiffness and consistent mass of Timoshenko elements, shape (..., elements, 4, 4), free of
    shear locking.
    """
    phi = 12 * EI / (shear * L**2)
    ones = np.ones_like(L)

    def symmetric(*rows: Array) -> Array:  # w1 t1 w2 t2, upper triangle by rows
        m = np.empty((*L.shape, 4, 4))
        i, j = np.triu_indices(4)
        m[..., i, j] = np.stack(rows, axis=-1)
        m[..., j, i] = m[..., i, j]
        return m

    u = (4 + phi) * L**2
    v = (2 - phi) * L**2
    K = symmetric(12 * ones, 6 * L, -12 * ones, 6 * L, u, -6 * L, v, 12 * ones, -6 * L, u)
    K *= (EI / (L**3 * (1 + phi)))[..., None, None]
    a = 70 * phi**2 + 147 * phi + 78
    b = (35 * phi**2 + 77 * phi + 44) * L / 4
    c = 35 * phi**2 + 63 * phi + 27
    e = (35 * phi**2 + 63 * phi + 26) * L / 4
    f = (7 * phi**2 + 14 * phi + 8) * L**2 / 4
    g = (7 * phi**2 + 14 * phi + 6) * L**2 / 4
    moving = symmetric(a, b, c, -e, f, e, -g, a, -b, f)
    h = (15 * phi - 3) * L
    p = (10 * phi**2 + 5 * phi + 4) * L**2
    q = (5 * phi**2 - 5 * phi - 1) * L**2
    tilting = symmetric(36 * ones, -h, -36 * ones, -h, p, h, q, 36 * ones, h, p)
    M = moving * (rho_A * L / (210 * (1 + phi) ** 2))[..., None, None]
    return K, M + tilting * (rho_I / (30 * (1 + phi) ** 2 * L))[..., None, None]


@takes(
    lengths=above_zero("mm"),
    second_moments=above_zero("mm^4"),
    areas=above_zero("mm^2"),
    rho=above_zero("kg/m^3"),
    E=above_zero("MPa"),
    nu=POISSON,
    k_collet=_or_rigid,
)
def natural_frequencies(
    *,
    lengths: Reals,
    second_moments: Reals,
    areas: Reals,
    E: float,
    nu: float,
    rho: Reals,
    k_collet: float,
    count: int = 3,
    elements: int = 6,
) -> Array:
    """Lowest bending frequencies of the stepped cantilever, not rotating.

    Timoshenko beam elements with consistent mass and rotary inertia; the root cannot tilt and moves
    radially against the collet's stiffness.

    Parameters
    ----------
    lengths : sequence of float, shape (..., pieces)
        Lengths of the pieces, from the collet face to the free end. [mm]
    second_moments : sequence of float, shape (..., pieces)
        Second moments of area. [mm^4]
    areas : sequence of float, shape (..., pieces)
        Areas. [mm^2]
    E : float
        Elastic modulus. [MPa]
    nu : float
        Poisson's ratio. [1]
    rho : float or sequence of float, shape (..., pieces)
        Density, one for all pieces or one for each. [kg/m^3]
    k_collet : float
        Radial stiffness of collet and spindle, infinite for rigid. [N/mm]
    count : int
        Number of frequencies. [1]
    elements : int
        Elements in each piece. [1]

    Returns
    -------
    f : ndarray, shape (..., count)
        Natural frequencies, rising. [Hz]

    Raises
    ------
    ModelError
        If an input is out of range (a ValueError).

    Notes
    -----
    The consistent mass makes every frequency an upper estimate. It falls to its limit with the
    fourth power of the element's length for a slender bar, the second where shear matters: with 6
    elements a bar of four diameters reads 0.02 % high in the first frequency, 2 % in the third.
    Gyroscopic effects and the mass of the spindle are left out.

    References
    ----------
    FriedmanKosmatka1993, element matrices
    Cowper1966, circle
    """
    most = 2 * elements * np.broadcast(np.atleast_1d(lengths), second_moments, areas).shape[-1]
    if elements < 1 or not 1 <= count <= most:
        raise ModelError(
            f"count is {count} with {elements} elements a piece; allowed is 1 to {most}"
        )
    mesh = _mesh(
        lengths, second_moments, areas, float(E), float(nu), rho, float(k_collet), elements
    )
    # M = R R^T turns the pair into one symmetric matrix
    R = np.linalg.cholesky(mesh.M)
    S = np.linalg.solve(R, np.swapaxes(np.linalg.solve(R, mesh.K), -1, -2))
    omega_squared = np.linalg.eigvalsh((S + np.swapaxes(S, -1, -2)) / 2)[..., :count]
    return np.asarray(np.sqrt(omega_squared) / (2 * np.pi))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mesh:
    """Stiffness and mass of the cantilever, and the stiffness of its elements."""

    K: Array  #: (..., free, free)
    M: Array  #: (..., free, free)
    K_e: Array  #: (..., elements, 4, 4)
    held: int  #: degrees of freedom at the root that are held [1]


def _mesh(
    lengths: Reals,
    second_moments: Reals,
    areas: Reals,
    E: float,
    nu: float,
    rho: Reals,
    k: float,
    elements: int,
) -> _Mesh:
    """Matrices of the stepped cantilever; the root cannot tilt."""
    L, I, A, density = np.broadcast_arrays(  # noqa: E741
        np.atleast_1d(lengths), second_moments, areas, rho * T_PER_MM3
    )
    shear = shear_coefficient_round(nu) * E / (2 * (1 + nu)) * A
    K_e, M_e = _element_matrices(
        *(
            np.repeat(v, elements, axis=-1)
            for v in (L / elements, E * I, shear, density * A, density * I)
        )
    )
    n = K_e.shape[-3]
    many = K_e.shape[:-3]
    K, M = np.zeros((2, *many, 2 * n + 2, 2 * n + 2))
    for e in range(n):
        at = slice(2 * e, 2 * e + 4)
        K[..., at, at] += K_e[..., e, :, :]
        M[..., at, at] += M_e[..., e, :, :]
    # the root's tilt (1) is held; its deflection (0) too if the collet is rigid
    free = np.arange(2, 2 * n + 2)
    if math.isfinite(k):
        K[..., 0, 0] += k
        free = np.r_[0, free]
    K, M = (x[..., free[:, None], free] for x in (K, M))
    return _Mesh(K=K, M=M, K_e=K_e, held=2 * n + 2 - free.size)


@takes(
    lengths=above_zero("mm"),
    second_moments=above_zero("mm^4"),
    areas=above_zero("mm^2"),
    rho=above_zero("kg/m^3"),
    E=above_zero("MPa"),
    nu=POISSON,
    k_collet=_or_rigid,
)
def moment_modes(
    *,
    lengths: Reals,
    second_moments: Reals,
    areas: Reals,
    E: float,
    nu: float,
    rho: Reals,
    k_collet: float,
    loaded: int,
    at: tuple[int, ...],
    elements: int = 6,
) -> tuple[Array, Array]:
    """Split the moment that a radial force makes in the stepped cantilever into its modes.

    With the modes of the mesh, scaled to unit mass, the force's moment at a section is
    ``M/F = sum_i s_i omega_i^2 / (omega_i^2 - omega^2 + 2 j zeta omega_i omega)``; at rest the
    shares s_i add up to the arm of the force.

    Parameters
    ----------
    lengths : sequence of float, shape (pieces,)
        Lengths of the pieces, from the collet face to the free end. [mm]
    second_moments : sequence of float, shape (pieces,)
        Second moments of area. [mm^4]
    areas : sequence of float, shape (pieces,)
        Areas. [mm^2]
    E : float
        Elastic modulus. [MPa]
    nu : float
        Poisson's ratio. [1]
    rho : float or sequence of float, shape (pieces,)
        Density. [kg/m^3]
    k_collet : float
        Radial stiffness of collet and spindle, infinite for rigid. [N/mm]
    loaded : int
        Piece at whose outer end the force acts, from 0. [1]
    at : tuple of int
        Pieces at whose inner ends the moment is asked, from 0. [1]
    elements : int
        Elements in each piece. [1]

    Returns
    -------
    omega : ndarray, shape (modes,)
        Natural frequencies of all modes of the mesh, rising. [rad/s]
    shares : ndarray, shape (sections, modes)
        What each mode brings of the moment of a force at rest. [mm]

    Raises
    ------
    ModelError
        If an input is out of range (a ValueError).

    Notes
    -----
    All modes of the mesh are kept: the high ones answer as at rest, and without them the moment at
    rest would not come out.

    References
    ----------
    FriedmanKosmatka1993, element matrices
    CloughPenzien1993, mode superposition (12-3)
    """
    mesh = _mesh(
        lengths, second_moments, areas, float(E), float(nu), rho, float(k_collet), elements
    )
    # M = R R^T turns the pair into one symmetric matrix
    R = np.linalg.cholesky(mesh.M)
    S = np.linalg.solve(R, np.linalg.solve(R, mesh.K).T)
    squares, turned = np.linalg.eigh((S + S.T) / 2)
    modes = np.linalg.solve(R.T, turned)
    whole = np.vstack([np.zeros((mesh.held, modes.shape[1])), modes])
    if mesh.held == 1:  # the root moves and does not tilt
        whole = np.vstack([modes[:1], np.zeros((1, modes.shape[1])), modes[1:]])
    answers = whole[2 * elements * (loaded + 1)] / squares
    rows = []
    for piece in at:
        first = elements * piece
        held_moment = -mesh.K_e[first][1] @ whole[2 * first : 2 * first + 4]
        rows.append(held_moment * answers)
    return np.sqrt(squares), np.array(rows)

"""The neck: a stepped round cantilever, its fillets and its natural frequencies.

The tool is a beam that leaves the collet as a shank, steps down to the neck and ends in the head.
Everything here is linear elastic and takes numbers or arrays; the same function serves one tool and 100,000
samples of it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loadsim.errors import ModelError

Array = NDArray[np.float64]

T_PER_MM3: Final = 1e-12
"""One kg/m^3 in t/mm^3: with mm, N and s the mass that fits is the tonne."""

K_T_BENDING_FE_MEAN: Final = 1.04
"""Mean of finite-element K_t over the published bending fit, for the risk; see `K_T_BENDING_FE_BOUND`."""

K_T_BENDING_FE_SD: Final = 0.03
"""Standard deviation that goes with `K_T_BENDING_FE_MEAN`."""

K_T_BENDING_FE_BOUND: Final = 1.09
"""Factor on the published bending fit for a judgement on the safe side.

The fit follows a chart drawn from photoelastic tests and lies below finite elements: by up to 4 % at r/d 0.1,
7 % at 0.05, 8.9 % at 0.03 (D/d 1.2). The factor covers every D/d from 1.02 to 4 while r/d is at least 0.03;
for smaller fillets multiply it, and the mean, by `bending_fe_scale`.
"""

K_T_TENSION_FE_BOUND: Final = 1.26
"""The same for the tension fit, which lies 6 to 24 % below finite elements for r/d 0.03 to 0.2."""

_FE_R_OVER_D: Final = 0.03
_FE_EXPONENT: Final = 0.055

# --- checks of input --------------------------------------------------------------------------------


def _numbers(name: str, value: ArrayLike, unit: str, low: float, high: float, allowed: str) -> Array:
    """Return value as floats; every one must be above low and below high (min and max see a NaN too)."""
    a = np.asarray(value, dtype=np.float64)
    if a.size and not (a.min() > low and a.max() < high):
        bad = a[~((a > low) & (a < high))].flat[0]
        raise ModelError(f"{name} is {bad:g}{unit}; allowed is {allowed}{unit}")
    return a


def _positive(name: str, value: ArrayLike, unit: str = " mm") -> Array:
    return _numbers(name, value, unit, 0.0, math.inf, "a finite number > 0")


def _not_negative(name: str, value: ArrayLike, unit: str = " mm") -> Array:
    return _numbers(name, value, unit, -5e-324, math.inf, "a finite number >= 0")


def _finite(name: str, value: ArrayLike, unit: str) -> Array:
    return _numbers(name, value, unit, -math.inf, math.inf, "a finite number")


def _poisson(nu: ArrayLike) -> Array:
    return _numbers("nu", nu, "", 0.0, 0.5, "between 0 and 0.5")


def _collet(k_collet: ArrayLike) -> Array:
    """Return the collet's stiffness; infinite means rigid."""
    k = np.asarray(k_collet, dtype=np.float64)
    if k.size and not k.min() > 0:
        bad = k[~(k > 0)].flat[0]
        raise ModelError(f"k_collet is {bad:g} N/mm; allowed is > 0 N/mm, infinite for a rigid collet")
    return k


# --- round sections ---------------------------------------------------------------------------------


def area(d: ArrayLike) -> Array:
    """Area of a round section.

    Parameters
    ----------
    d : array_like, shape (...,)
        Diameter. [mm]

    Returns
    -------
    A : ndarray, shape (...,)
        ``pi d^2 / 4``. [mm^2]

    Raises
    ------
    ModelError
        If any d is not finite or not > 0 (a ValueError).
    """
    return np.asarray(np.pi / 4 * _positive("d", d) ** 2)


def second_moment(d: ArrayLike) -> Array:
    """Second moment of area of a round section about a diameter.

    Parameters
    ----------
    d : array_like, shape (...,)
        Diameter. [mm]

    Returns
    -------
    I : ndarray, shape (...,)
        ``pi d^4 / 64``. [mm^4]

    Raises
    ------
    ModelError
        If any d is not finite or not > 0 (a ValueError).
    """
    return np.asarray(np.pi / 64 * _positive("d", d) ** 4)


def section_modulus(d: ArrayLike) -> Array:
    """Section modulus of a round section in bending.

    Parameters
    ----------
    d : array_like, shape (...,)
        Diameter. [mm]

    Returns
    -------
    W : ndarray, shape (...,)
        ``pi d^3 / 32``. [mm^3]

    Raises
    ------
    ModelError
        If any d is not finite or not > 0 (a ValueError).
    """
    return np.asarray(np.pi / 32 * _positive("d", d) ** 3)


def polar_section_modulus(d: ArrayLike) -> Array:
    """Section modulus of a round section in torsion.

    Parameters
    ----------
    d : array_like, shape (...,)
        Diameter. [mm]

    Returns
    -------
    W_p : ndarray, shape (...,)
        ``pi d^3 / 16``. [mm^3]

    Raises
    ------
    ModelError
        If any d is not finite or not > 0 (a ValueError).
    """
    return np.asarray(np.pi / 16 * _positive("d", d) ** 3)


def shear_coefficient_round(nu: ArrayLike) -> Array:
    """Timoshenko's shear coefficient of a solid round section.

    ``kappa = 6 (1 + nu) / (7 + 6 nu)``

    Parameters
    ----------
    nu : array_like, shape (...,)
        Poisson's ratio, between 0 and 0.5. [1]

    Returns
    -------
    kappa : ndarray, shape (...,)
        Shear coefficient. [1]

    Raises
    ------
    ModelError
        If any nu lies outside 0 to 0.5 (a ValueError).

    References
    ----------
    Cowper1966, circle

    Examples
    --------
    >>> round(shear_coefficient_round(0.30).item(), 4)
    0.8864
    """
    nu = _poisson(nu)
    return np.asarray(6 * (1 + nu) / (7 + 6 * nu))


# --- the stepped cantilever -------------------------------------------------------------------------


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


def compliance(
    *,
    shank_length: ArrayLike,
    shank_diameter: ArrayLike,
    neck_length: ArrayLike,
    neck_diameter: ArrayLike,
    head_height: ArrayLike,
    head_second_moment: ArrayLike,
    head_area: ArrayLike,
    load_reach: ArrayLike,
    E: ArrayLike,
    nu: ArrayLike,
    k_collet: ArrayLike,
) -> Array:
    """Deflection of the tool for each newton of radial force on its head.

    Stepped Timoshenko cantilever from the collet face, the collet's radial stiffness in series. A piece
    from distance p to distance q from the force adds ``(p^3 - q^3) / (3 E I) + (p - q) / (kappa G A)``.

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
        From the shank's shoulder to the force: neck_length plus the way from the head's upper face. [mm]
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
    The head's shear coefficient is taken as that of a round bar; the head adds little to the whole. Tilting
    of the shank in the collet is left out: a measured stiffness at the tool's tip includes it.

    References
    ----------
    Cowper1966, circle
    """
    length_s, length_n = _not_negative("shank_length", shank_length), _positive("neck_length", neck_length)
    reach, height = _positive("load_reach", load_reach), _positive("head_height", head_height)
    _check_load_point(length_n, height, reach)
    E, k_collet = _positive("E", E, " MPa"), _collet(k_collet)
    shear_stiffness = shear_coefficient_round(nu) * E / (2 * (1 + _poisson(nu)))
    d_s, d_n = _positive("shank_diameter", shank_diameter), _positive("neck_diameter", neck_diameter)
    I_h = _positive("head_second_moment", head_second_moment, " mm^4")
    A_h = _positive("head_area", head_area, " mm^2")

    def piece(p: Array, q: Array, I: Array, A: Array) -> Array:  # noqa: E741
        return np.asarray((p**3 - q**3) / (3 * E * I) + (p - q) / (shear_stiffness * A))

    in_head = reach - length_n
    c = 1 / k_collet + piece(reach + length_s, reach, second_moment(d_s), area(d_s))
    c = c + piece(reach, in_head, second_moment(d_n), area(d_n))
    return np.asarray(c + piece(in_head, np.zeros(()), I_h, A_h))


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """What goes on along the tool's axis under one radial force.

    Arrays run from the collet face to the free end. A step in the section is a pair of equal z, one value on
    each side of it.
    """

    z: Array  #: distance from the collet face [mm]
    diameter: Array  #: outside diameter [mm]
    shear: Array  #: shear force [N]
    moment: Array  #: bending moment [N*mm]
    deflection: Array  #: radial deflection [mm]
    stress: Array  #: nominal bending stress at the outside, no stress concentration [MPa]
    fillet_names: tuple[str, ...]  #: the fillets, from the collet on
    fillet_positions: tuple[float, ...]  #: their distances from the collet face [mm]


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
        From the shank's shoulder to the force: neck_length plus the way from the head's upper face. [mm]
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
        shank_length=shank_length, shank_diameter=shank_diameter, neck_length=neck_length,
        neck_diameter=neck_diameter, head_height=head_height, head_second_moment=head_second_moment,
        head_area=head_area, load_reach=load_reach, E=E, nu=nu, k_collet=k_collet,
    )  # fmt: skip
    F, k_collet = float(_finite("F", F, " N")), float(k_collet)
    head_diameter = float(_positive("head_diameter", head_diameter))
    GA = float(shear_coefficient_round(nu)) * E / (2 * (1 + nu))
    to_load, beyond = load_reach - neck_length, neck_length + head_height - load_reach
    head = (head_diameter, head_second_moment, head_area)
    shank = (shank_diameter, float(second_moment(shank_diameter)), float(area(shank_diameter)))
    neck = (neck_diameter, float(second_moment(neck_diameter)), float(area(neck_diameter)))
    from_load = load_reach + shank_length
    z, w, tilt = 0.0, F / k_collet, 0.0
    columns: list[Array] = []
    pieces = ((shank_length, F, shank), (neck_length, F, neck), (to_load, F, head), (beyond, 0.0, head))
    for length, V, (d, I, A) in pieces:  # noqa: E741
        if length <= 1e-12 * from_load:  # a piece of no length, give or take rounding
            continue
        a = np.linspace(0.0, length, n)
        M = V * (from_load - z - a)
        slope = tilt + V * ((from_load - z) * a - a**2 / 2) / (E * I)
        line = w + tilt * a + V * ((from_load - z) * a**2 / 2 - a**3 / 6) / (E * I) + V * a / (GA * A)
        columns.append(np.stack([z + a, np.full(n, d), np.full(n, V), M, line, M * d / (2 * I)]))
        z, w, tilt = z + length, float(line[-1]), float(slope[-1])
    rows = np.concatenate(columns, axis=1)
    return Profile(
        z=rows[0], diameter=rows[1], shear=rows[2], moment=rows[3], deflection=rows[4], stress=rows[5],
        fillet_names=("shank shoulder", "head shoulder"),
        fillet_positions=(shank_length, shank_length + neck_length),
    )  # fmt: skip


# --- natural frequencies ----------------------------------------------------------------------------


def _element_matrices(L: Array, EI: Array, shear: Array, rho_A: Array, rho_I: Array) -> tuple[Array, Array]:
    """Stiffness and consistent mass of Timoshenko elements, shape (elements, 4, 4), free of shear locking."""
    phi = 12 * EI / (shear * L**2)
    one = np.ones_like(L)

    def symmetric(*rows: Array) -> Array:  # w1 t1 w2 t2, upper triangle by rows
        m = np.empty((L.size, 4, 4))
        i, j = np.triu_indices(4)
        m[:, i, j] = np.stack(rows, axis=1)
        m[:, j, i] = m[:, i, j]
        return m

    u, v = (4 + phi) * L**2, (2 - phi) * L**2
    K = symmetric(12 * one, 6 * L, -12 * one, 6 * L, u, -6 * L, v, 12 * one, -6 * L, u)
    K *= (EI / (L**3 * (1 + phi)))[:, None, None]
    a, b = 70 * phi**2 + 147 * phi + 78, (35 * phi**2 + 77 * phi + 44) * L / 4
    c, e = 35 * phi**2 + 63 * phi + 27, (35 * phi**2 + 63 * phi + 26) * L / 4
    f, g = (7 * phi**2 + 14 * phi + 8) * L**2 / 4, (7 * phi**2 + 14 * phi + 6) * L**2 / 4
    moving = symmetric(a, b, c, -e, f, e, -g, a, -b, f)
    h = (15 * phi - 3) * L
    p, q = (10 * phi**2 + 5 * phi + 4) * L**2, (5 * phi**2 - 5 * phi - 1) * L**2
    tilting = symmetric(36 * one, -h, -36 * one, -h, p, h, q, 36 * one, h, p)
    M = moving * (rho_A * L / (210 * (1 + phi) ** 2))[:, None, None]
    return K, M + tilting * (rho_I / (30 * (1 + phi) ** 2 * L))[:, None, None]


def natural_frequencies(
    *,
    lengths: Sequence[float] | Array,
    second_moments: Sequence[float] | Array,
    areas: Sequence[float] | Array,
    E: float,
    nu: float,
    rho: float | Sequence[float] | Array,
    k_collet: float,
    count: int = 3,
    elements: int = 6,
) -> Array:
    """Lowest bending frequencies of the stepped cantilever, not rotating.

    Timoshenko beam elements with consistent mass and rotary inertia; the root cannot tilt and moves
    radially against the collet's stiffness.

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
        Density, one for all pieces or one for each. [kg/m^3]
    k_collet : float
        Radial stiffness of collet and spindle, infinite for rigid. [N/mm]
    count : int
        Number of frequencies. [1]
    elements : int
        Elements in each piece. [1]

    Returns
    -------
    f : ndarray, shape (count,)
        Natural frequencies, rising. [Hz]

    Raises
    ------
    ModelError
        If an input is out of range (a ValueError).

    Notes
    -----
    The consistent mass makes every frequency an upper estimate. It falls to its limit with the fourth power
    of the element's length for a slender bar, the second where shear matters: with 6 elements a bar of four
    diameters reads 0.02 % high in the first frequency, 2 % in the third. Gyroscopic effects and the mass of
    the spindle are left out.

    References
    ----------
    FriedmanKosmatka1993, element matrices
    Cowper1966, circle
    """
    L, I, A, density = np.broadcast_arrays(  # noqa: E741
        np.atleast_1d(_positive("lengths", lengths)),
        _positive("second_moments", second_moments, " mm^4"),
        _positive("areas", areas, " mm^2"),
        _positive("rho", rho, " kg/m^3") * T_PER_MM3,
    )
    E, nu = float(_positive("E", E, " MPa")), float(_poisson(nu))
    k = float(_collet(k_collet))
    most = 2 * elements * L.size
    if elements < 1 or not 1 <= count <= most:
        raise ModelError(f"count is {count} with {elements} elements a piece; allowed is 1 to {most}")
    shear = shear_coefficient_round(nu) * E / (2 * (1 + nu)) * A
    K_e, M_e = _element_matrices(
        *(np.repeat(v, elements) for v in (L / elements, E * I, shear, density * A, density * I))
    )
    dof = 2 * np.arange(K_e.shape[0])[:, None] + np.arange(4)
    K, M = np.zeros((2, dof[-1, -1] + 1, dof[-1, -1] + 1))
    np.add.at(K, (dof[:, :, None], dof[:, None, :]), K_e)
    np.add.at(M, (dof[:, :, None], dof[:, None, :]), M_e)
    # the root's tilt (1) is held; its deflection (0) too if the collet is rigid
    free = np.arange(2, K.shape[0])
    if math.isfinite(k):
        K[0, 0] += k
        free = np.r_[0, free]
    # M = R R^T turns the pair into one symmetric matrix
    R = np.linalg.cholesky(M[np.ix_(free, free)])
    S = np.linalg.solve(R, np.linalg.solve(R, K[np.ix_(free, free)]).T)
    omega_squared = np.linalg.eigvalsh((S + S.T) / 2)[:count]
    return np.asarray(np.sqrt(omega_squared) / (2 * np.pi))


# --- stress concentration of the shoulder fillets ---------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """A published fit K_t(q, x), q = t/r, x = 2 t/D: for fixed x a quadratic in sqrt(q) on each branch."""

    bounds: tuple[float, ...]  #: q at the ends of the branches [1]
    branches: tuple[tuple[tuple[float, float, float], ...], ...]  #: rows C1..C4, columns 1, sqrt(q), q
    corner: float  #: exponent of the stress at a sharp re-entrant corner of 90 degrees [1]


_BENDING: Final = _Fit(
    bounds=(0.1, 2.0, 20.0),
    branches=(
        ((0.947, 1.206, -0.131), (0.022, -3.405, 0.915), (0.869, 1.777, -0.555), (-0.810, 0.422, -0.260)),
        ((1.232, 0.832, -0.008), (-3.813, 0.968, -0.260), (7.423, -4.868, 0.869), (-3.839, 3.070, -0.600)),
    ),
    corner=0.4555,
)
_TENSION: Final = _Fit(
    bounds=(0.1, 2.0, 20.0),
    branches=(
        ((0.926, 1.157, -0.099), (0.012, -3.036, 0.961), (-0.302, 3.977, -1.744), (0.365, -2.098, 0.878)),
        ((1.200, 0.860, -0.022), (-1.805, -0.346, -0.038), (2.198, -0.486, 0.165), (-0.593, -0.028, -0.106)),
    ),
    corner=0.4555,
)
_TORSION: Final = _Fit(
    bounds=(0.25, 4.0),
    branches=(
        ((0.905, 0.783, -0.075), (-0.437, -1.969, 0.553), (1.557, 1.073, -0.578), (-1.061, 0.171, 0.086)),
    ),
    corner=1 / 3,
)


def _highest_up_to(s: Array, s_low: float, c: Array) -> Array:
    """Highest value of the quadratic c0 + c1 s + c2 s^2 from s_low to s, so that it can never fall with s."""
    c0, c1, c2 = c
    with np.errstate(divide="ignore", over="ignore"):  # a straight line has its top at infinity
        top = -c1 / (2 * np.where(c2 < 0, c2, -1.0))
    best = np.where(c2 < 0, np.clip(top, s_low, s), s)
    return np.asarray(np.maximum(c0 + s_low * (c1 + s_low * c2), c0 + best * (c1 + best * c2)))


def _shape(D: ArrayLike, d: ArrayLike, r: ArrayLike) -> tuple[Array, Array]:
    """Return q = t/r and x = 2 t/D of a checked shoulder."""
    D, d, r = _positive("D", D), _positive("d", d), _positive("r", r)
    step = D - d
    if step.size and step.min() < 0:
        D_bad, d_bad = (a[step < 0].flat[0] for a in np.broadcast_arrays(D, d))
        raise ModelError(f"D is {D_bad:g} mm; allowed is a finite number >= d, which is {d_bad:g} mm")
    q, x = np.broadcast_arrays(step / (2 * r), step / D)
    return q, x


def _stress_concentration(fit: _Fit, D: ArrayLike, d: ArrayLike, r: ArrayLike) -> Array:
    q, x = _shape(D, d, r)
    K = np.ones_like(q)
    for low, high, rows in zip(fit.bounds, fit.bounds[1:], fit.branches, strict=False):
        C1, C2, C3, C4 = np.array(rows).reshape(4, 3, *(1,) * x.ndim)
        s = np.sqrt(np.clip(q, low, high))
        branch = _highest_up_to(s, math.sqrt(low), C1 + x * (C2 + x * (C3 + x * C4)))
        reached = (q > 0) if low == fit.bounds[0] else (q >= low)
        K = np.where(reached, np.maximum(K, branch), K)
    return np.asarray(K * np.maximum(q / fit.bounds[-1], 1.0) ** fit.corner)


def stress_concentration_bending(D: ArrayLike, d: ArrayLike, r: ArrayLike) -> Array:
    """Stress concentration factor of a shouldered round bar in bending.

    Parameters
    ----------
    D : array_like, broadcastable
        Diameter of the thick bar, not smaller than d. [mm]
    d : array_like, broadcastable
        Diameter of the thin bar. [mm]
    r : array_like, broadcastable
        Radius of the fillet. [mm]

    Returns
    -------
    K_t : ndarray, shape of the inputs broadcast together
        Largest principal stress over ``32 M / (pi d^3)``; 1 without a step. [1]

    Raises
    ------
    ModelError
        If an input is not finite or not > 0, or D is below d (a ValueError).

    Notes
    -----
    Two branches, ``0.1 <= t/r <= 2`` and ``2 <= t/r <= 20``. Where they do not meet, or a branch falls with
    t/r, the highest value on the way holds. The fit lies below finite elements: see `K_T_BENDING_FE_BOUND`. A
    smaller fillet never lowers the answer. Outside the fit's range in ``t/r``, ``t = (D - d)/2``, see
    `stress_concentration_notes`: below it K_t is held, above it K_t grows with ``(t/r)^0.4555``, the
    singularity of a sharp 90-degree corner, which no fillet exceeds in slope.

    References
    ----------
    Pilkey2008, chart 3.10
    Williams1952
    """
    return _stress_concentration(_BENDING, D, d, r)


def bending_fe_scale(d: ArrayLike, r: ArrayLike) -> Array:
    """Growth of the bending fit's shortfall at fillets that are very small for their bar.

    ``max(1, 0.03 d/r)^0.055``, to be multiplied with `K_T_BENDING_FE_BOUND` and `K_T_BENDING_FE_MEAN`.

    Parameters
    ----------
    d : array_like, broadcastable
        Diameter of the thin bar. [mm]
    r : array_like, broadcastable
        Radius of the fillet. [mm]

    Returns
    -------
    scale : ndarray, shape of the inputs broadcast together
        Factor, 1 while r/d is at least 0.03. [1]

    Raises
    ------
    ModelError
        If an input is not finite or not > 0 (a ValueError).

    Notes
    -----
    An envelope over finite-element solutions for D/d 1.02 to 1.5 and r/d down to 0.0025, where the fit falls
    23 % short.
    """
    d, r = _positive("d", d), _positive("r", r)
    return np.asarray(np.maximum(_FE_R_OVER_D * d / r, 1.0) ** _FE_EXPONENT)


def stress_concentration_torsion(D: ArrayLike, d: ArrayLike, r: ArrayLike) -> Array:
    """Stress concentration factor of a shouldered round bar in torsion.

    Parameters
    ----------
    D : array_like, broadcastable
        Diameter of the thick bar, not smaller than d. [mm]
    d : array_like, broadcastable
        Diameter of the thin bar. [mm]
    r : array_like, broadcastable
        Radius of the fillet. [mm]

    Returns
    -------
    K_t : ndarray, shape of the inputs broadcast together
        Largest shear stress over ``16 T / (pi d^3)``; 1 without a step. [1]

    Raises
    ------
    ModelError
        If an input is not finite or not > 0, or D is below d (a ValueError).

    Notes
    -----
    One branch, ``0.25 <= t/r <= 4``. It lies up to 3 % above finite elements for D/d <= 1.5 and r/d <= 0.2,
    and up to 0.8 % below them at r/d 0.5. For D/d > 2 the extrapolation lies far above them: 7 % at t/r 5,
    30 % at t/r 20. A smaller fillet never lowers the answer. Outside the fit's range in ``t/r``, ``t = (D -
    d)/2``, see `stress_concentration_notes`: below it K_t is held, above it K_t grows with ``(t/r)^(1/3)``,
    the singularity of a sharp 90-degree corner, which no fillet exceeds in slope.

    References
    ----------
    Pilkey2008, chart 3.12
    Williams1952
    """
    return _stress_concentration(_TORSION, D, d, r)


def stress_concentration_tension(D: ArrayLike, d: ArrayLike, r: ArrayLike) -> Array:
    """Stress concentration factor of a shouldered round bar in tension.

    Parameters
    ----------
    D : array_like, broadcastable
        Diameter of the thick bar, not smaller than d. [mm]
    d : array_like, broadcastable
        Diameter of the thin bar. [mm]
    r : array_like, broadcastable
        Radius of the fillet. [mm]

    Returns
    -------
    K_t : ndarray, shape of the inputs broadcast together
        Largest principal stress over ``4 F / (pi d^2)``; 1 without a step. [1]

    Raises
    ------
    ModelError
        If an input is not finite or not > 0, or D is below d (a ValueError).

    Notes
    -----
    Two branches, ``0.1 <= t/r <= 2`` and ``2 <= t/r <= 20``. Where they do not meet, or a branch falls with
    t/r, the highest value on the way holds. The fit lies far below finite elements: see
    `K_T_TENSION_FE_BOUND`. A smaller fillet never lowers the answer. Outside the fit's
    range in ``t/r``, ``t = (D - d)/2``, see `stress_concentration_notes`: below it K_t is held, above it
    K_t grows with ``(t/r)^0.4555``, the singularity of a sharp 90-degree corner, which no fillet exceeds in
    slope.

    References
    ----------
    Pilkey2008, chart 3.4
    Williams1952
    """
    return _stress_concentration(_TENSION, D, d, r)


def stress_concentration_notes(D: float, d: float, r: float) -> tuple[str, ...]:
    """Say in plain words where a fillet lies outside the published fits.

    Parameters
    ----------
    D : float
        Diameter of the thick bar, not smaller than d. [mm]
    d : float
        Diameter of the thin bar. [mm]
    r : float
        Radius of the fillet. [mm]

    Returns
    -------
    notes : tuple of str
        One sentence for each range that is left; empty inside them all.

    Raises
    ------
    ModelError
        If an input is not finite or not > 0, or D is below d (a ValueError).

    References
    ----------
    Pilkey2008, charts 3.4, 3.10 and 3.12
    """
    q = float(_shape(D, d, r)[0])
    notes = []
    for load, fit in (("bending", _BENDING), ("tension", _TENSION), ("torsion", _TORSION)):
        low, high = fit.bounds[0], fit.bounds[-1]
        if 0 < q < low:
            notes.append(
                f"{load}: step over fillet radius t/r = {q:.3g} lies below the published fit "
                f"({low:g} to {high:g}); K_t is held at its value at {low:g}, which is on the safe side"
            )
        elif q > high:
            notes.append(
                f"{load}: step over fillet radius t/r = {q:.3g} lies above the published fit "
                f"({low:g} to {high:g}); K_t is carried on with the exponent of a sharp corner, an upper "
                "estimate; a larger fillet is stronger"
            )
    if q > 0 and r < _FE_R_OVER_D * d:
        notes.append(
            f"bending: fillet radius over bar diameter r/d = {r / d:.3g} is below {_FE_R_OVER_D:g}; the "
            "published fit falls further short of finite elements there, see bending_fe_scale"
        )
    return tuple(notes)


# --- stress at a point ------------------------------------------------------------------------------


def largest_principal(sigma: ArrayLike, tau: ArrayLike) -> Array:
    """Largest principal stress of one normal and one shear stress.

    ``sigma/2 + sqrt((sigma/2)^2 + tau^2)``

    Parameters
    ----------
    sigma : array_like, shape (...,)
        Normal stress, tension positive. [MPa]
    tau : array_like, broadcastable to sigma
        Shear stress. [MPa]

    Returns
    -------
    sigma_1 : ndarray, shape of the inputs broadcast together
        Largest principal stress. [MPa]

    Raises
    ------
    ModelError
        If an input is not finite (a ValueError).
    """
    half = _finite("sigma", sigma, " MPa") / 2
    return np.asarray(half + np.hypot(half, _finite("tau", tau, " MPa")))


def von_mises(sigma: ArrayLike, tau: ArrayLike) -> Array:
    """Equivalent stress of one normal and one shear stress by the distortion energy.

    ``sqrt(sigma^2 + 3 tau^2)``

    Parameters
    ----------
    sigma : array_like, shape (...,)
        Normal stress. [MPa]
    tau : array_like, broadcastable to sigma
        Shear stress. [MPa]

    Returns
    -------
    sigma_v : ndarray, shape of the inputs broadcast together
        Equivalent stress. [MPa]

    Raises
    ------
    ModelError
        If an input is not finite (a ValueError).
    """
    return np.asarray(np.hypot(_finite("sigma", sigma, " MPa"), math.sqrt(3) * _finite("tau", tau, " MPa")))

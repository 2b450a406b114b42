"""Finite-element stress concentration of a shouldered round bar, made with scikit-fem; for tests only.

The body of revolution is meshed in its half section (z, R) with quadrilaterals ruled between outline and
axis: the thin bar at z > 0, a fillet of radius r tangent to it, the thick bar at z < 0. Quadratic elements.
Torsion solves ``div(R^3 grad psi) = 0`` for the twist psi; tension is axisymmetric; bending is the first
Fourier harmonic of the solid, ``(u_z, u_R, u_theta) = (w cos, u cos, v sin)``. The stress is read at the
Gauss points of the fillet.
"""

from __future__ import annotations

import math
import warnings
from typing import Any

import numpy as np

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from skfem import (
        Basis,
        BilinearForm,
        ElementQuad2,
        ElementVector,
        FacetBasis,
        LinearForm,
        MeshQuad,
        condense,
        solve,
    )
    from skfem.helpers import dot, grad

NU = 0.29


def graded(n: int, a: float, b: float, first: float) -> np.ndarray:
    """Divide a..b into n cells that grow geometrically from about `first` at a."""
    low = 1.0000001
    high = 3.0
    for _ in range(60):
        q = (low + high) / 2
        low, high = (q, high) if first * (q**n - 1) / (q - 1) < abs(b - a) else (low, q)
    x = np.r_[0.0, np.cumsum(q ** np.arange(n))]
    return a + (b - a) * x / x[-1]


def mesh(D: float, d: float, r: float, n: int, thin: float = 2.5, thick: float = 2.0) -> MeshQuad:
    """Mesh with n cells on the fillet; the thin end is `thin` d long, the thick one `thick` D."""
    t = (D - d) / 2
    # a fillet taller than the step meets the thick bar early
    last = math.pi if t >= r else math.pi + math.asin((r - t) / r)
    angle = np.linspace(1.5 * math.pi, last, n + 1)
    arc = np.c_[r + r * np.cos(angle), d / 2 + r + r * np.sin(angle)]
    cell = r * (1.5 * math.pi - last) / n
    z_thin = graded(2 * n, r, r + thin * d, cell)[::-1]
    face = graded(n, d / 2 + r, D / 2, cell) if t - r > 1e-9 * d else np.array([D / 2])
    z_step = arc[-1, 0]
    z_thick = graded(2 * n, z_step, z_step - thick * D, max(cell, (t - r) / n))
    outline = np.r_[
        np.c_[z_thin, np.full_like(z_thin, d / 2)],
        arc[1:],
        np.c_[np.zeros(len(face) - 1), face[1:]],
        np.c_[z_thick[1:], np.full(2 * n, D / 2)],
    ]
    z_a = -0.15 * d
    z_b = -0.45 * d if len(face) > 1 else -0.15 * d
    axis = np.r_[
        z_thin,
        np.linspace(r, z_a, n + 1)[1:],
        np.linspace(z_a, z_b, len(face))[1:],
        z_b + (z_thick[1:] - z_step) * (z_thick[-1] - z_b) / (z_thick[-1] - z_step),
    ]
    v = graded(2 * n, 0.0, 1.0, cell / (d / 2))
    Z = np.outer(1 - v, outline[:, 0]) + np.outer(v, axis)
    R = np.outer(1 - v, outline[:, 1])
    i = np.arange(Z.size).reshape(Z.shape)
    quads = [i[:-1, :-1], i[1:, :-1], i[1:, 1:], i[:-1, 1:]]
    return MeshQuad(np.stack([Z.ravel(), R.ravel()]), np.stack([k.ravel() for k in quads]))


def on_fillet(d: float, r: float) -> Any:
    """Return the test for facet midpoints on the fillet."""
    return lambda x: (
        (np.hypot(x[0] - r, x[1] - d / 2 - r) < 1.01 * r) & (x[0] < r) & (x[1] < d / 2 + r)
    )


def k_torsion(m: MeshQuad, d: float, where: Any) -> float:
    """Largest shear stress on the facets `where` over the nominal 16 T / (pi d^3)."""
    B = Basis(m, ElementQuad2(), intorder=5)
    A = BilinearForm(lambda u, v, w: w.x[1] ** 3 * dot(grad(u), grad(v))).assemble(B)
    z = m.p[0]
    ends = [B.get_dofs(lambda x, e=e: np.isclose(x[0], e)).all() for e in (z.min(), z.max())]
    psi = B.zeros()
    psi[ends[1]] = 1.0
    psi = solve(*condense(A, x=psi, D=np.concatenate(ends)))
    T = 2 * math.pi * float(psi @ (A @ psi))
    F = FacetBasis(
        m, ElementQuad2(), facets=m.facets_satisfying(where, boundaries_only=True), intorder=5
    )
    slope = F.interpolate(psi).grad
    tau = F.global_coordinates()[1] * np.hypot(slope[0], slope[1])
    return float(tau.max() / (16 * T / (math.pi * d**3)))


def _strain(u: Any, R: Any) -> list[Any]:
    """Amplitudes of the strains z, R, theta, zR (cos), z theta, R theta (sin) in the first harmonic."""
    g, (w, a, b) = u.grad, u
    return [
        g[0][0],
        g[1][1],
        (a + b) / R,
        g[1][0] + g[0][1],
        g[2][0] - w / R,
        g[2][1] - (a + b) / R,
    ]


def k_bending(m: MeshQuad, d: float, where: Any, nu: float = NU) -> float:
    """Largest principal stress on the facets `where` over the nominal 32 M / (pi d^3)."""
    # E = 1
    lam = nu / (1 + nu) / (1 - 2 * nu)
    mu = 1 / (2 * (1 + nu))
    element = ElementVector(ElementQuad2(), 3)
    B = Basis(m, element, intorder=5)

    @BilinearForm
    def stiffness(u: Any, v: Any, w: Any) -> Any:
        s = _strain(u, w.x[1])
        t = _strain(v, w.x[1])
        direct = lam * (s[0] + s[1] + s[2]) * (t[0] + t[1] + t[2])
        direct = direct + 2 * mu * (s[0] * t[0] + s[1] * t[1] + s[2] * t[2])
        return w.x[1] * (direct + mu * (s[3] * t[3] + s[4] * t[4] + s[5] * t[5]))

    A = stiffness.assemble(B)
    z = m.p[0]
    end = m.facets_satisfying(lambda x: np.isclose(x[0], z.max()), boundaries_only=True)
    # sigma_z = R cos(theta) on the thin end: pure bending with d/2 as nominal stress
    end_basis = FacetBasis(m, element, facets=end, intorder=5)
    load = LinearForm(lambda v, w: w.x[1] ** 2 * v[0]).assemble(end_basis)
    held = B.get_dofs(lambda x: np.isclose(x[0], z.min())).all()
    axis = B.get_dofs(lambda x: np.isclose(x[1], 0)).all(
        ["u^1"]
    )  # u_z vanishes on the axis in this harmonic
    u = solve(*condense(A, load, D=np.unique(np.r_[held, axis])))
    F = FacetBasis(m, element, facets=m.facets_satisfying(where, boundaries_only=True), intorder=5)
    s = _strain(F.interpolate(u), F.global_coordinates()[1])
    trace = lam * (s[0] + s[1] + s[2])
    z_z = trace + 2 * mu * s[0]
    r_r = trace + 2 * mu * s[1]
    z_r = mu * s[3]
    largest = (z_z + r_r) / 2 + np.hypot((z_z - r_r) / 2, z_r)
    return float(largest.max() / (d / 2))


def k_tension(m: MeshQuad, d: float, where: Any, nu: float = NU) -> float:
    """Largest principal stress on the facets `where` over the nominal 4 F / (pi d^2)."""
    # E = 1
    lam = nu / (1 + nu) / (1 - 2 * nu)
    mu = 1 / (2 * (1 + nu))
    element = ElementVector(ElementQuad2(), 2)
    B = Basis(m, element, intorder=5)

    def strain(u: Any, R: Any) -> list[Any]:
        g, (_, a) = u.grad, u
        return [g[0][0], g[1][1], a / R, g[1][0] + g[0][1]]

    @BilinearForm
    def stiffness(u: Any, v: Any, w: Any) -> Any:
        s = strain(u, w.x[1])
        t = strain(v, w.x[1])
        direct = lam * (s[0] + s[1] + s[2]) * (t[0] + t[1] + t[2])
        direct = direct + 2 * mu * (s[0] * t[0] + s[1] * t[1] + s[2] * t[2])
        return w.x[1] * (direct + mu * s[3] * t[3])

    z = m.p[0]
    end = m.facets_satisfying(lambda x: np.isclose(x[0], z.max()), boundaries_only=True)
    load = LinearForm(lambda v, w: w.x[1] * v[0]).assemble(
        FacetBasis(m, element, facets=end, intorder=5)
    )
    held = B.get_dofs(lambda x: np.isclose(x[0], z.min())).all(["u^1"])
    axis = B.get_dofs(lambda x: np.isclose(x[1], 0)).all(["u^2"])
    u = solve(*condense(stiffness.assemble(B), load, D=np.unique(np.r_[held, axis])))
    F = FacetBasis(m, element, facets=m.facets_satisfying(where, boundaries_only=True), intorder=5)
    s = strain(F.interpolate(u), F.global_coordinates()[1])
    trace = lam * (s[0] + s[1] + s[2])
    z_z = trace + 2 * mu * s[0]
    r_r = trace + 2 * mu * s[1]
    z_r = mu * s[3]
    return float(((z_z + r_r) / 2 + np.hypot((z_z - r_r) / 2, z_r)).max())


def torsion(D: float, d: float, r: float, n: int) -> float:
    """K_t in torsion with n cells on the fillet."""
    return k_torsion(mesh(D, d, r, n), d, on_fillet(d, r))


def bending(D: float, d: float, r: float, n: int, nu: float = NU) -> float:
    """K_t in bending with n cells on the fillet."""
    return k_bending(mesh(D, d, r, n), d, on_fillet(d, r), nu)


def tension(D: float, d: float, r: float, n: int, nu: float = NU) -> float:
    """K_t in tension with n cells on the fillet."""
    return k_tension(mesh(D, d, r, n), d, on_fillet(d, r), nu)

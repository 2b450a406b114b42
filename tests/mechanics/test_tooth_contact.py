"""The wedge of a tooth whose force is spread over the contact: thin-wedge limit by the beam formula,
and plane finite elements.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadsim.mechanics import tooth

lengths = st.floats(0.01, 10)


@pytest.mark.closed_form("M/W of a tapered beam: (F l/2) 6/(b (beta l)^2) = 3 F/(b beta^2 l)")
def test_a_thin_wedge_is_a_tapered_beam() -> None:
    F = 10.0
    contact = 0.4
    b = 2.0
    beta = math.radians(2.0)
    bent = tooth.wedge_contact_stress(F, 0.0, beta, contact, b)
    assert bent == pytest.approx(3 * F / (b * beta**2 * contact), rel=beta**2)
    pushed = tooth.wedge_contact_stress(0.0, F, beta, contact, b)
    assert pushed == pytest.approx(-F / (b * beta * contact), rel=beta**2)


@pytest.mark.closed_form("2.5 chip thicknesses, not under 2.5 edge radii (common practice)")
def test_the_contact_is_no_shorter_than_the_edge_is_round() -> None:
    assert tooth.contact_length([0.004, 0.01, 0.04], 0.01) == pytest.approx([0.025, 0.025, 0.1])


@given(st.floats(-500, 500), st.floats(-500, 500), st.floats(0.1, 3.0))
def test_the_pulled_face_is_found_whichever_way_the_force_points(across, along, beta):
    assert tooth.wedge_contact_stress(across, along, beta, 0.1, 1.0) == pytest.approx(
        tooth.wedge_contact_stress(-across, along, beta, 0.1, 1.0)
    )


@given(st.floats(0.1, 500), st.floats(0.1, 3.0), lengths, lengths, lengths)
def test_spread_wider_never_more_stress(F, beta, one, other, b):
    near, far = sorted((one, other))
    assert tooth.wedge_contact_stress(F, 0.0, beta, far, b) <= tooth.wedge_contact_stress(
        F, 0.0, beta, near, b
    )


def test_relief_in_kind() -> None:
    # common practice, no source: 5 to 7 deg of relief is enough for an edge, steep relief weakens it.
    # Aluminium, h 0.0127 mm, k_c1.1 800, m_c 0.25: 30 N/mm, radial half of it; spread over 2.5 h.
    relief = np.radians([6.0, 25.0, 40.0])
    across, along, beta = tooth.wedge_tip_force(30.0, 15.0, 0.0, relief)
    usual, less, steep = tooth.wedge_contact_stress(across, along, beta, 2.5 * 0.0127, 1.0)
    assert usual < 3000 / 10  # bend strength of hard high-speed steel 3000 MPa (memory medium)
    assert usual < less < steep < 3000


def pressed_wedge(skfem, beta: float, n: int = 10) -> float:
    """Largest radial tension on the rake face beyond a unit pressure on it over a unit length.

    Plane strain, nine-node quadrilaterals that shrink towards the end of the pressure, held at
    twenty contact lengths from the edge.
    """
    from skfem.models.elasticity import lame_parameters, linear_elasticity

    half = beta / 2
    shrinking = np.geomspace(1.0, 0.005, n)
    r = np.concatenate(
        [
            np.geomspace(0.002, 0.5, n),
            1.0 - 0.5 * shrinking[1:],
            [1.0],
            1.0 + shrinking[::-1],
            np.geomspace(2.0, 20.0, n)[1:],
        ]
    )
    angles = np.concatenate([half - beta * np.geomspace(1.0, 0.005, 2 * n), [half]])
    grid = skfem.MeshQuad.init_tensor(r, angles)
    distance, angle = grid.p
    mesh = skfem.MeshQuad(np.array([distance * np.cos(angle), distance * np.sin(angle)]), grid.t)
    element = skfem.ElementVector(skfem.ElementQuad2())
    basis = skfem.Basis(mesh, element)
    lam, mu = lame_parameters(1.0, 0.3)

    def faces(reach: float):
        return mesh.facets_satisfying(
            lambda x: (np.hypot(*x) < reach) & (np.abs(np.arctan2(x[1], x[0]) - half) < 1e-6),
            boundaries_only=True,
        )

    load = skfem.LinearForm(lambda v, w: -(w.n[0] * v[0] + w.n[1] * v[1])).assemble(
        skfem.FacetBasis(mesh, element, facets=faces(1.0))
    )
    held = mesh.facets_satisfying(lambda x: np.hypot(*x) > 19.9, boundaries_only=True)
    u = skfem.solve(
        *skfem.condense(linear_elasticity(lam, mu).assemble(basis), load, D=basis.get_dofs(held))
    )
    face = skfem.FacetBasis(mesh, element, facets=faces(10.0))
    grad = face.interpolate(u).grad
    x, y = np.asarray(face.global_coordinates())
    c, s = math.cos(half), math.sin(half)
    along = c * c * grad[0][0] + s * s * grad[1][1] + c * s * (grad[0][1] + grad[1][0])
    stress = lam * (grad[0][0] + grad[1][1]) + 2 * mu * along
    return float(stress[np.hypot(x, y) > 1.0].max())


@pytest.mark.independent("plane finite elements, scikit-fem")
@pytest.mark.parametrize(("wedge_deg", "share"), [(10, 1.0), (30, 0.97), (50, 0.91), (70, 0.81)])
def test_finite_elements_agree_on_the_slender_wedges_that_steep_relief_leaves(
    wedge_deg: float, share: float
) -> None:
    # the shares stand in the notes of `wedge_contact_stress`; the beam is exact for a thin wedge
    skfem = pytest.importorskip("skfem")
    beta = math.radians(wedge_deg)
    # a unit force square to the rake face
    across, along = math.cos(beta / 2), math.sin(beta / 2)
    by_formula = tooth.wedge_contact_stress(across, along, beta, 1.0, 1.0)
    assert by_formula / pressed_wedge(skfem, beta) == pytest.approx(share, abs=0.02)

"""What loads the neck more never looks safer in fatigue; a generous fillet keeps Peterson's factor,
worked by hand.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from loadsim import check
from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads import neck_stress, turn
from loadsim.loads.nominal import as_drawn
from loadsim.loads.resolve import resolve
from loadsim.risk import samples

DRAWN = samples.draws(8)


def soft(**changes):
    """A neck of annealed steel, which Peterson's notch sensitivity is for."""
    base = changed(
        job_from_text(example("t-track"), "t"),
        {"cutter.material": "drill-rod-annealed", "cutter.hardness": None},
    )
    return changed(base, {k.replace("__", "."): v for k, v in changes.items()})


@pytest.mark.parametrize("neck", [0.5, 1.969, 5.2])
def test_a_smaller_fillet_never_lowers_the_fatigue_stress(neck: float):
    s = resolve(soft(cutter__neck_diameter=neck))
    r = np.geomspace(0.4 * neck, 0.0005, 4000)
    case = as_drawn(s, 0.01, 1.0, 1.0).with_(fillet=r, head_fillet=r)
    for end in neck_stress.notches(case, s.strength.notch_size):
        for stress in (end.bending, end.torsion):
            assert (np.diff(stress) >= -1e-6 * stress[1:]).all()


@pytest.mark.closed_form("K_f = 1 + (K_t - 1)/(1 + a/r) (Peterson1974)")
def test_a_fillet_over_the_worst_one_keeps_petersons_factor():
    # by hand: K_f = 1 + (K_t - 1)/(1 + a/r), a = 0.0254 (2070/S_u)^1.8 mm, for a generous fillet
    from loadsim.mechanics import stress_concentration

    s = resolve(soft(cutter__neck_fillet=1.0))
    size, (D, d, r) = s.strength.notch_size, (8.0, 5.2, 1.0)
    s = resolve(soft(cutter__neck_fillet=r, cutter__shank_diameter=D))
    case = as_drawn(s, 0.01, 1.0, 1.0)
    K_t = float(stress_concentration.stress_concentration_bending(D, d, r))
    expected = 1 + (K_t - 1) / (1 + 0.0254 * (2070 / size) ** 1.8 / r)
    shoulder, _ = neck_stress.notches(case, size)
    assert float(shoulder.bending) * np.pi * d**3 / 32 == pytest.approx(expected, rel=1e-9)


def test_the_limit_and_the_risk_see_it():
    # fillets of the fault: each smaller one used to look safer
    def used(r: float) -> float:
        found = check(soft(cutter__neck_diameter=1.969, cutter__neck_fillet=r), DRAWN)
        return next(x.utilization for x in found.limits if x.name == "neck fatigue")

    found = [used(r) for r in (0.3, 0.060, 0.030, 0.021, 0.0075)]
    assert all(b >= a * (1 - 1e-6) for a, b in pairwise(found))


@pytest.mark.parametrize("idle", [True, False])
def test_more_positions_in_the_cut_never_harm_less(idle: bool):
    # limit case: the neck sees every moment of the smaller table and others besides
    rng = np.random.default_rng(7)
    for _ in range(300):
        M = rng.normal(0, 1, (2, 6, 40)) + rng.normal(0, 1, (2, 1, 40))
        harm = [
            neck_stress._fatigue_stress(
                *turn._range_around(M[0, :n], M[1, :n], idle), np.zeros(40)
            )[2]
            for n in range(2, 7)
        ]
        assert all((b >= a * (1 - 1e-9)).all() for a, b in pairwise(harm))

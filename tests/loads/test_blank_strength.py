"""What a blank bears: three anchors by hand, and how much a small neck is credited with."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example
from loadsim.loads import blank_strength
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import Strength
from loadsim.materials.load import load_blank
from loadsim.mechanics.hardness import hardness_to_tensile, hardness_to_vickers


def strength_of(material: str, **changes: float | None) -> Strength:
    base = job_from_text(example("t-track"), "t-track")
    own = {f"cutter.{k}": v for k, v in changes.items()}
    return resolve(
        changed(base, {"cutter.material": material, "cutter.hardness": None, **own})
    ).strength


def effective(volume: float, m: float, rotating: bool) -> float:
    """Volume that counts, of a round cantilever that turns or a bar in three-point bending (checks
    N11).
    """
    return volume * (2 / ((m + 2) * (m + 1)) if rotating else 1 / (2 * (m + 1) ** 2))


@pytest.mark.published(
    "Murakami2002: 1.43 (HV + 120)/sqrt(area)^(1/6), surface", read="memory (high)"
)
def test_the_anchors_of_high_speed_steel() -> None:
    line = strength_of("hss-m2").line
    blank = load_blank("hss-m2")
    HV = float(hardness_to_vickers(blank.hardness))
    # its bend strength once; 0.74 of the tensile strength of its hardness for a thousand turns; the
    # limit by hardness and a flaw of 24 um, less what the wheel costs, at ten million
    assert blank.defect_size == 24.0
    assert float(line.once) == 3400.0
    assert float(line.thousand) == pytest.approx(0.74 * float(hardness_to_tensile(blank.hardness)))
    assert float(line.limit) == pytest.approx(0.85 * 1.43 * (HV + 120) / 24 ** (1 / 6), rel=1e-9)
    assert line.N_limit == 1e7


def test_the_loss_of_the_wheel_fades_to_none_at_a_thousand_turns(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    as_ground = strength_of("hss-m2").line
    monkeypatch.setattr(blank_strength, "GRIND_FACTOR", 1.0)
    gentle = strength_of("hss-m2").line
    N = np.array([1.0, 30.0, 1e3, 1e5, 1e7])
    # straight in log-log: half way from 10^3 to 10^7 half of the loss
    assert as_ground.strength(N) / gentle.strength(N) == pytest.approx([1, 1, 1, 0.85**0.5, 0.85])


@pytest.mark.closed_form("one straight line in log-log from the bend strength to the limit")
def test_carbide_runs_straight() -> None:
    line = strength_of("carbide-fine").line
    blank = load_blank("carbide-fine")
    limit = 0.85 * 1.43 * (blank.hardness_HV + 120) / blank.defect_size ** (1 / 6)
    for N in (1.0, 30.0, 1e3, 1e5, 1e7):
        share = math.log10(N) / 7
        expected = blank.bend_strength ** (1 - share) * limit**share
        assert float(line.strength(N)) == pytest.approx(expected, rel=1e-9)


@pytest.mark.published("Shigley-fatigue: 0.82 S_ut at 10^3, k_a S_e at 10^6", read="memory (high)")
def test_a_ductile_blank_is_the_textbook() -> None:
    found = strength_of("drill-rod-annealed")
    S_ut = load_blank("drill-rod-annealed").ultimate_strength
    assert S_ut is not None
    line = found.line
    assert (float(line.once), float(line.thousand)) == pytest.approx((S_ut, 0.82 * S_ut))
    limit = min(0.5 * S_ut, 700.0) * 1.58 * S_ut**-0.085
    assert float(line.limit) == pytest.approx(limit)
    assert line.N_limit == 1e6
    assert found.notch_size == S_ut


@pytest.mark.closed_form("weakest link: (V_1/V_2)^(1/m) of the volumes that count")
@pytest.mark.parametrize("volume", [0.5, 5.0, 50.0, 500.0, 5e3, 5e4])
def test_half_the_credit_for_a_small_neck_and_none_for_a_large_one(volume: float) -> None:
    blank = load_blank("hss-m2")
    m = blank.weibull_m
    bar = effective(blank.bar_volume, m, rotating=False)
    here = effective(volume, m, rotating=True)
    as_bar = blank.bend_strength / math.gamma(1 + 1 / m)
    sigma_0, credit = blank_strength.ground_scale(blank, volume)
    gain = math.log(bar / here) / m
    if gain > 0:
        assert credit == pytest.approx(gain)
        assert sigma_0 == pytest.approx(as_bar * math.exp(gain / 2))
    else:
        assert credit == 0.0
        assert sigma_0 == pytest.approx(as_bar * math.exp(gain))


def test_both_kinds_of_neck_occur() -> None:
    # so that the sweep above cannot pass on one branch
    blank = load_blank("hss-m2")
    gains = [blank_strength.ground_scale(blank, v)[1] for v in (0.5, 5e4)]
    assert gains[0] > 0.1
    assert gains[1] == 0.0

"""The shock of a straight tooth, against closed forms of one mode and of a uniform cantilever, and
against time steps of another library.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
from scipy import signal

from loadsim.base.errors import ModelError
from loadsim.mechanics import beam
from loadsim.mechanics.shock import DAMPINGS, RAMPS, VIBRATIONS, Shock, ringing, shock, transfer

ONE = np.ones(1)
#: A head that weighs on its neck: three modes, the first brings most.
RATIOS = np.array([1.0, 4.4, 11.0])
SHARES = np.array([0.97, 0.05, -0.02])


def slab(n: int, first: float = 0.25, last: float = 0.75) -> Any:
    """A force that is there for a part of the stretch."""
    at = (np.arange(n) + 0.5) / n
    return ((at > first) & (at < last)).astype(complex)


def band(n: int, teeth: int, high: float = 0.62, low: float = -0.62) -> Any:
    """One tooth's passage over a turn in both bands beside a throat: it drops out between them."""
    phi = 2 * math.pi * (np.arange(n * teeth) + 0.5) / (n * teeth)
    metal = (phi < math.pi) & ((np.cos(phi) > high) | (np.cos(phi) < low))
    chip = np.maximum(np.sin(phi), 0.0)
    return np.where(metal, chip**0.75, 0.0) * (1 + 0.4j)


def cantilever(**more: Any) -> tuple[Any, Any]:
    """A bar so slender that shear and rotary inertia do not count."""
    d, length = 1.0, 400.0
    given: dict[str, Any] = {
        "lengths": [length], "second_moments": [math.pi * d**4 / 64], "areas": [math.pi * d * d / 4],
        "E": 210_000.0, "nu": 0.29, "rho": 7850.0, "k_collet": math.inf, "loaded": 0, "at": (0,),
        "elements": 24,
    }  # fmt: skip
    return beam.moment_modes(**{**given, **more})


# --- modes --------------------------------------------------------------------------------------------


@pytest.mark.closed_form("slender cantilever, force at its tip: s_i = +-4 L/(beta_i L)^2")
def test_shares_of_a_slender_cantilever() -> None:
    _, shares = cantilever()
    roots = (1.875104, 4.694091, 7.854757)  # of cos x cosh x = -1
    for i, root in enumerate(roots):
        assert shares[0, i] == pytest.approx((-1) ** i * 4 * 400 / root**2, rel=2e-3)


@pytest.mark.closed_form("force at rest: the moment is force times arm")
@pytest.mark.parametrize("k", [math.inf, 8000.0])
def test_shares_add_up_to_the_arm(k: float) -> None:
    given: dict[str, Any] = {
        "lengths": [10.0, 8.0, 1.5, 1.5], "second_moments": [500.0, 36.0, 100.0, 90.0], "areas": [80.0, 21.0, 40.0, 40.0],
        "k_collet": k, "loaded": 2, "at": (0, 1, 2), "elements": 5,
    }  # fmt: skip
    omega, shares = cantilever(**given)
    assert shares.sum(axis=1) == pytest.approx([19.5, 9.5, 1.5], rel=1e-8)
    given = {k: given[k] for k in ("lengths", "second_moments", "areas", "k_collet", "elements")}
    same = beam.natural_frequencies(**given, E=210_000.0, nu=0.29, rho=7850.0, count=3)
    assert omega[:3] / (2 * math.pi) == pytest.approx(same, rel=1e-9)


@pytest.mark.independent("the mesh twice and four times as fine")
def test_shares_settle_as_the_mesh_gets_finer() -> None:
    coarse, fine, finest = (cantilever(lengths=[16.0], elements=e)[1][0, :2] for e in (6, 12, 24))
    assert coarse == pytest.approx(finest, rel=5e-3)
    assert np.all(np.abs(fine - finest) <= 0.3 * np.abs(coarse - finest))


# --- one mode -----------------------------------------------------------------------------------------


@pytest.mark.published(
    "CloughPenzien1993: ramp of t_r on a mode of period T, 1 + |sin(pi t_r/T)|/(pi t_r/T)",
    read="memory (high)",
)
@pytest.mark.parametrize(
    ("ramp", "top"), [(0.0, 2.0), (0.25, 1.900), (0.5, 1.637), (0.75, 1.300), (1.0, 1.000)]
)
def test_a_ramp_on_one_mode_without_damping(ramp: float, top: float) -> None:
    n = 2**16
    at = (np.arange(n) + 0.5) / n
    # up at once, down so slowly that nothing rings: what is left of damping takes half a per mille
    history = np.where(at < 0.01, 0.0, (1 + np.cos(math.pi * (at - 0.01) / 0.99)) / 2)
    _, rung = ringing(
        history + 0j, ONE, ONE, vibrations=1000.0, damping=2e-4 * 5, ramps=(ramp, 0.0)
    )
    assert rung.real.max() == pytest.approx(top, abs=0.006)


@pytest.mark.closed_form("damped step: 1 + exp(-pi zeta/sqrt(1 - zeta^2))")
@pytest.mark.parametrize("damping", DAMPINGS)
def test_overshoot_of_a_damped_step(damping: float) -> None:
    _, rung = ringing(slab(2**13), ONE, ONE, vibrations=128.0, damping=damping)
    top = 1 + math.exp(-math.pi * damping / math.sqrt(1 - damping**2))
    assert rung.real.max() == pytest.approx(top, rel=3e-3)


@pytest.mark.closed_form("a force at the own frequency is answered 1/(2 zeta) times")
def test_transfer_at_rest_and_at_resonance() -> None:
    H = transfer(np.array([0.0, 1.0, -1.0]), ONE, ONE, 0.05)
    assert H[0] == pytest.approx(1.0)
    assert H[1] == pytest.approx(-10j)
    assert H[2] == pytest.approx(10j)


# --- several modes, several teeth ---------------------------------------------------------------------


@pytest.mark.independent("scipy.signal.lsim, time steps over turns until they repeat")
def test_ringing_is_that_of_time_steps() -> None:
    n, vibrations, damping = 4096, 40.0, 0.06
    history = slab(n, 0.1, 0.35) - 0.6 * slab(n, 0.6, 0.7)
    rest, rung = ringing(
        history, RATIOS, SHARES, vibrations=vibrations, damping=damping, ramps=(0.7, 0.3)
    )
    t = np.arange(4 * n) / n * vibrations
    force = np.tile(rest.real, 4)
    answer = np.zeros_like(force)
    for ratio, share in zip(RATIOS, SHARES, strict=True):
        omega = 2 * math.pi * ratio
        mode = signal.lti([omega**2], [1.0, 2 * damping * omega, omega**2])
        answer += share * signal.lsim(mode, force, t)[1]
    assert rung.real == pytest.approx(answer[-n:], abs=2e-3 * answer.max())
    assert np.abs(rung.imag).max() < 1e-9


@pytest.mark.closed_form(
    "over a period the force does the work that damping takes: 2 zeta omega x'^2"
)
def test_work_done_is_work_damped() -> None:
    n, vibrations, damping = 8192, 24.0, 0.08
    force, x = ringing(slab(n), ONE, ONE, vibrations=vibrations, damping=damping, ramps=(0.5, 0.0))
    omega = 2 * math.pi
    rate = np.gradient(np.tile(x.real, 3), vibrations / n)[n : 2 * n]
    done = np.mean(force.real * omega**2 * rate)
    assert done == pytest.approx(np.mean(2 * damping * omega * rate**2), rel=2e-3)


@pytest.mark.closed_form("at no speed every ramp is without end: the moment is that at rest")
def test_no_speed_no_shock() -> None:
    made = shock(band(256, 2), 2, RATIOS, SHARES)
    over, under = made.at(np.array([math.inf, 1e9]), np.array([0.0, 0.3]), np.array([0.02, 0.1]))
    assert over == pytest.approx([1.0, 1.0], abs=1e-6)
    assert under == pytest.approx([0.0, 0.0], abs=1e-6)


def by_the_turn(pulse: Any, teeth: int, ramp: float, damping: float) -> float:
    """Largest moment over that at rest, the whole turn with every tooth laid out."""
    turn = sum(
        np.roll(pulse, j * pulse.size // teeth) * np.exp(2j * math.pi * j / teeth)
        for j in range(teeth)
    )
    rest, rung = ringing(
        turn, RATIOS, SHARES, vibrations=VIBRATIONS * teeth, damping=damping, ramps=(ramp, 0.0)
    )
    return float(np.abs(rung).max() / np.abs(rest).max())


@pytest.mark.independent("the whole turn, every tooth laid out")
@pytest.mark.parametrize("teeth", [1, 2, 3, 6])
def test_one_pitch_stands_for_a_turn(teeth: int) -> None:
    pulse = band(1024, teeth)
    made = shock(pulse, teeth, RATIOS, SHARES)
    for (i, ramp), (k, damping) in itertools.product(enumerate(RAMPS), enumerate(DAMPINGS)):
        whole = max(by_the_turn(pulse, teeth, ramp, damping), 1.0)
        assert made.overshoot[i, 0, k] == pytest.approx(whole, rel=1e-9)


@pytest.mark.independent("positions of the turn four times as fine")
def test_steps_are_fine_enough() -> None:
    coarse, fine = (shock(band(n, 2), 2, RATIOS, SHARES) for n in (1024, 4096))
    # a step at once has no end of harmonics; cuts are told of ramps
    assert coarse.overshoot[1:, 1:] == pytest.approx(fine.overshoot[1:, 1:], rel=0.012)
    assert coarse.undershoot[1:, 1:] == pytest.approx(fine.undershoot[1:, 1:], abs=0.015)


@pytest.mark.independent("20 to 250 vibrations of the lowest mode while a tooth passes")
@pytest.mark.parametrize("vibrations", [20.0, 32.0, 128.0, 250.0])
def test_what_rang_has_died_away_before_the_next_tooth(vibrations: float) -> None:
    pulse = band(8192, 2)
    turn = pulse - np.roll(pulse, 8192)
    for ramp, damping in ((0.25, 0.055), (0.5, 0.055), (1.0, 0.15)):
        rest, rung = ringing(
            turn, RATIOS, SHARES, vibrations=2 * vibrations, damping=damping, ramps=(ramp, 0.0)
        )
        told = shock(band(2048, 2), 2, RATIOS, SHARES).at(ramp, 0.0, damping)[0]
        assert float(np.abs(rung).max() / np.abs(rest).max()) == pytest.approx(told, rel=0.03)


def test_a_longer_ramp_and_more_damping_ring_less() -> None:
    made = shock(band(512, 2), 2, ONE, ONE)
    first = made.overshoot[: RAMPS.index(1.0) + 1]
    assert (np.diff(first[:, 0], axis=0) <= 1e-9).all()
    half = RAMPS.index(0.5) + 1  # after a whole period the ring of an undamped mode is out anyhow
    assert (np.diff(made.overshoot[:half, :half], axis=2) <= 1e-9).all()
    assert made.overshoot.min() == 1.0
    assert made.undershoot.min() == 0.0


def test_no_chip_asks_less_than_a_thinner_one() -> None:
    made = shock(band(512, 2), 2, RATIOS, SHARES)
    rise = np.geomspace(0.05, 2.5, 200)
    for exponent in (0.3, 0.6):
        bears = made.rising(exponent).at(rise, 0.0, 0.055)[0] * rise**exponent
        assert (np.diff(bears) >= -2e-3 * bears[1:]).all()
    as_is = made.at(rise, 0.0, 0.055)[0] * rise**0.3
    assert (np.diff(as_is) < -5e-3 * as_is[1:]).any()  # left as it is it would


@pytest.mark.closed_form("a chip that thickens from nothing rings little until the tooth leaves it")
def test_a_tooth_that_enters_at_no_chip_does_not_knock() -> None:
    conventional = shock(band(1024, 2, high=-1.0, low=-2.0), 2, RATIOS, SHARES)
    climb = shock(band(1024, 2, high=2.0, low=0.3), 2, RATIOS, SHARES)
    assert conventional.overshoot[1, 0].max() < 1.06
    assert climb.overshoot[1, 0].min() > 1.3


def test_between_the_tables_points() -> None:
    made = shock(band(256, 2), 2, RATIOS, SHARES)
    low, mid, high = made.at(
        np.array([0.25, 0.36, 0.5]), np.array([0.5] * 3), np.array([0.055] * 3)
    )[0]
    assert low == pytest.approx(made.overshoot[1, 2, 1])
    assert high == pytest.approx(made.overshoot[2, 2, 1])
    assert high < mid < low


@pytest.mark.parametrize(
    ("ramp", "damping", "said"),
    [(-0.1, 0.05, "ramp"), (0.5, 0.01, "damping"), (math.nan, 0.05, "ramp")],
)
def test_what_no_table_has_is_refused(ramp: float, damping: float, said: str) -> None:
    flat = np.ones((len(RAMPS) + 1,) * 2 + (len(DAMPINGS),))
    made = Shock(overshoot=flat, undershoot=flat)
    with pytest.raises(ModelError, match=said):
        made.at(ramp, 0.0, damping)


# --- cycles -------------------------------------------------------------------------------------------


def cycles(series: Any) -> list[tuple[float, float]]:
    """Range and mean of the cycles of a history that repeats, counted by rainflow from its highest point on."""
    x = np.roll(np.asarray(series, float), -int(np.argmax(series)))
    x = np.append(x, x[0])
    keep = np.append(np.append(True, np.diff(np.sign(np.diff(x))) != 0), True)
    found, stack = [], []
    for point in x[keep]:
        stack.append(point)
        while len(stack) > 2 and abs(stack[-1] - stack[-2]) >= abs(stack[-2] - stack[-3]):
            if len(stack) == 3:
                break
            low = stack.pop(-3), stack.pop(-2)
            found.append((abs(low[0] - low[1]), sum(low) / 2))
    for a, b in itertools.pairwise(stack):
        found.append((abs(a - b), (a + b) / 2))
    return found


@pytest.mark.published(
    "ASTM E1049, example of figure 6, repeated from its highest peak: ranges 3, 4, 7, 9",
    read="memory (medium)",
)
def test_rainflow_of_the_standards_example() -> None:
    found = sorted(r for r, _ in cycles([-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0]))
    # from peak to peak: 3 and 7 are whole cycles, 9 is counted going and coming, and 4 is whole
    assert found == pytest.approx([3.0, 4.0, 7.0, 9.0, 9.0])


@pytest.mark.independent("rainflow, every cycle by Smith, Watson and Topper, damage by slope")
@pytest.mark.parametrize("slope", [8.0, 12.0])
def test_the_smaller_cycles_add_next_to_nothing(slope: float) -> None:
    for pulse in (band(4096, 1), band(4096, 1) - 0.6 * np.roll(band(4096, 1), 2048)):
        _, rung = ringing(
            pulse, RATIOS, SHARES, vibrations=VIBRATIONS, damping=0.02, ramps=(0.25, 0.25)
        )
        line = (rung * np.exp(-1j * np.angle(1 + 0.4j))).real
        harm = [np.sqrt(max(mean + r / 2, 0.0) * r / 2) ** slope for r, mean in cycles(line)]
        whole = 2 * max(harm)  # the largest is counted going and coming
        assert (sum(harm) / whole) ** (1 / slope) < 1.04

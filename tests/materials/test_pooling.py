"""Rival sources pooled: votes, weights, the spread between them, and the pool held to itself."""

from __future__ import annotations

import math
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from loadsim.base.errors import InputError
from loadsim.base.numbers import Array
from loadsim.materials import folder, load, pooling, votes
from loadsim.materials.schema import ForceCurve
from loadsim.mechanics.force_law import Kienzle, LinearEdge

WORK = folder.names("work")
SOFT = ("al-1100-o", "al-3003-h14", "al-5052-h32", "al-6061-o")
THIN = np.array([0.01, 0.03, 0.1])  # [mm]
TWO_SIDED_90 = 1.645


def curve(source: str, k: float = 800.0, m: float = 0.25, **more: object) -> ForceCurve:
    facts: dict[str, object] = {"h_lo": 0.001, "h_hi": 10.0} | more
    return ForceCurve(
        label=f"{source} {k:g}", source=source, model="kienzle", law=Kienzle(k, m), **facts
    )  # type: ignore[arg-type]


def own_curves(name: str) -> tuple[ForceCurve, ...]:
    return tuple(c for c in load.load_work(name).curves if c.upward is None)


# ---- one vote a publication and alloy


@pytest.mark.closed_form("ln mean of 1000 and 4000 is ln 2000; with 2000 beside it no spread")
def test_two_rows_of_one_publication_are_one_vote() -> None:
    rows = (curve("a", 1000), curve("a", 4000), curve("b", 2000), curve("c", 2000))
    cast = votes.cast(rows, np.asarray(1.0))
    assert np.exp(cast.log_k) == pytest.approx([2000, 2000, 2000])
    assert pooling.pooled(rows, 1.0).sigma_ln == 0.15
    other = (rows[0], replace(rows[1], alloy="x"), *rows[2:])
    assert len(votes.by_vote(other)) == 4
    assert pooling.pooled(other, 1.0).sigma_ln > 0.3


@pytest.mark.closed_form("0.2^2; (0.25 ln 5)^2 at a fifth of the range; 0.3^2 stated")
def test_variance_of_a_vote_by_hand() -> None:
    rows = (
        curve("a"),
        curve("b", alloy="x"),
        curve("c", h_lo=0.1),
        curve("d", h_hi=0.004),
        curve("e", h_lo=None, h_hi=None),
        curve("f", spread=0.3),
    )
    cast = votes.cast(rows, np.asarray(0.02))
    stretched = (0.25 * math.log(5)) ** 2
    silent = (0.25 * math.log(0.05 / 0.02)) ** 2
    assert cast.variance == pytest.approx([0, 0.04, stretched, stretched, silent, 0.09])
    assert cast.scatter == pytest.approx([0, 0.04, 0, 0, 0, 0.09])
    # a source that states no range has no upper end either
    assert votes.cast(rows[4:5], np.asarray(5.0)).variance == pytest.approx([0])


# ---- the spread between votes

# log relative risk of each of thirteen trials, and its variance
BCG = np.array(
    [
        (-0.8893, 0.3256),
        (-1.5854, 0.1946),
        (-1.3481, 0.4154),
        (-1.4416, 0.0200),
        (-0.2175, 0.0512),
        (-0.7861, 0.0069),
        (-1.6209, 0.2230),
        (0.0120, 0.0040),
        (-0.4694, 0.0564),
        (-1.3713, 0.0730),
        (-0.3394, 0.0124),
        (0.4459, 0.5325),
        (-0.0173, 0.0714),
    ]
)


@pytest.mark.published(
    "thirteen vaccine trials of Colditz et al., JAMA 271 (1994) 698: Paule-Mandel tau^2 0.3181",
    read="memory (high)",
)
def test_between_variance_of_a_known_set() -> None:
    assert votes.between_variance(*BCG.T) == pytest.approx(0.3181, abs=5e-5)


@pytest.mark.closed_form("equal variances: tau^2 is the sample variance less s^2, or none")
def test_between_variance_of_equal_votes() -> None:
    y = np.array([[0.0, 0.0], [1.0, 0.1], [2.0, 0.2]])  # sample variances 1 and 0.01
    assert votes.between_variance(y, np.full((3, 2), 0.25)) == pytest.approx([0.75, 0.0])
    assert votes.between_variance(y[:1], np.full((1, 2), 0.25)).tolist() == [0.0, 0.0]


@pytest.mark.independent("Brent's root of the defining equation (scipy)")
@given(
    st.lists(
        st.tuples(st.floats(-2, 2), st.sampled_from([0.0, 0.04, 0.09, 0.5])),
        min_size=2,
        max_size=10,
    )
)
def test_between_variance_is_the_root(pairs: list[tuple[float, float]]) -> None:
    y, variance = np.array(pairs).T

    def excess(tau2: float) -> float:
        weight = 1 / (tau2 + variance)
        mean = float(weight @ y / weight.sum())
        return float(weight @ (y - mean) ** 2) - (len(y) - 1)

    expected = brentq(excess, 1e-4, 100) if excess(1e-4) > 0 else 0.0
    assert votes.between_variance(y, variance) == pytest.approx(expected, rel=1e-6, abs=1e-9)


@pytest.mark.closed_form("weights 1/(0.15^2) and 1/(0.15^2 + 0.2^2) on votes that agree in spread")
def test_a_near_source_outweighs_a_far_one() -> None:
    rows = (curve("a", 1000), curve("b", 1100, alloy="x"))
    w = 1 / np.array([0.0225, 0.0625])
    mean = math.exp(float(w @ np.log([1000, 1100]) / w.sum()))
    assert pooling.pooled(rows, 1.0).k_c == pytest.approx(mean)


@pytest.mark.closed_form("slopes 0.1, 0.2, 0.3 of equal weight: mean 0.2, sample deviation 0.1")
def test_spread_of_the_slope() -> None:
    rows = tuple(curve(s, m=m) for s, m in zip("abc", (0.1, 0.2, 0.3), strict=True))
    p = pooling.pooled(rows, 1.0)  # k_c alike at 1 mm
    assert (float(p.m_c), float(p.m_spread)) == (pytest.approx(0.2), pytest.approx(0.1))
    assert pooling.pooled(rows[:1], 1.0).m_spread == 0.05
    assert pooling.pooled((curve("a"),) * 3, 1.0).m_spread == 0.05


@pytest.mark.closed_form("0.15 and 0.25 a factor of e below the nearest range, in quadrature")
@given(st.floats(1e-4, 0.02))
def test_spread_grows_below_every_source(h: float) -> None:
    rows = (curve("a", h_lo=0.05), curve("b", h_lo=0.02), curve("c", h_lo=0.1))
    p = pooling.pooled(rows, h)
    assert p.sigma_ln >= math.hypot(0.15, 0.25 * math.log(0.02 / h)) * (1 - 1e-12)
    deeper = pooling.pooled(rows, h / math.e).sigma_ln
    assert deeper**2 - p.sigma_ln**2 >= 0.25**2 * (1 + 2 * math.log(0.02 / h)) * (1 - 1e-9) - 1e-9


@pytest.mark.parametrize("name", WORK)
def test_the_spread_of_every_metal_grows_as_chips_thin_out(name: str) -> None:
    curves = load.load_work(name).curves
    start = min(0.05 if c.h_lo is None else c.h_lo for c in curves)
    p = pooling.pooled(curves, start / np.array([1, 2, 4, 8, 16]))
    assert (np.diff(p.sigma_ln) > 0).all()


@pytest.mark.parametrize("name", WORK)
def test_more_chip_is_never_less_force(name: str) -> None:
    # the weights change with h; neither they nor the bound of a soft temper may turn the force
    h = np.geomspace(5e-4, 1, 400)
    k_c = pooling.pooled(load.load_work(name).curves, h).k_c
    assert (np.diff(k_c) < 0).all()
    assert (np.diff(k_c * h) > 0).all()


# ---- the pool held to itself


def left_out(name: str) -> Array:
    """Distance of each vote from the mean of the others, over their spread; over votes and h."""
    groups = votes.by_vote(own_curves(name))
    z = []
    for vote in groups:
        others = pooling.pooled(tuple(c for g in groups if g is not vote for c in g), THIN)
        z.append((votes.cast(tuple(vote), THIN).log_k[0] - np.log(others.k_c)) / others.sigma_ln)
    return np.array(z)


MANY = [n for n in WORK if len(votes.by_vote(own_curves(n))) >= 4]


def test_each_vote_lies_in_the_band_of_the_others() -> None:
    z = np.concatenate([left_out(name) for name in MANY])
    assert len(MANY) >= 25
    for column, h in enumerate(THIN):
        print(f"h {h:g} mm: {np.mean(abs(z[:, column]) < TWO_SIDED_90):.3f} of {len(z)}")
    inside = np.mean(abs(z) < TWO_SIDED_90)
    # 90 % asked for; a band that holds nearly all would be wider than the sources force
    assert 0.85 <= inside <= 0.95


@pytest.mark.parametrize("name", MANY)
def test_the_band_is_no_wider_than_the_sources_force(name: str) -> None:
    # one more cut among n equal votes scatters by sqrt(1 + 1/n) of their plain spread, and the mean
    # is off by what is stretched or of another alloy, over n; weights that are not equal move the
    # spread by up to a tenth (the votes that weigh most need not be those that agree). Below every
    # range the plain spread is at least that where the nearest begins: laws that cross on the way
    # agree on nothing. The floors (agreeing tables copy each other) and the stretch that all share
    # come on top, as stated.
    curves = own_curves(name)
    cast = votes.cast(curves, THIN)
    n = len(cast.log_k)
    covered = votes.cast(curves, np.maximum(THIN, cast.start))
    plain = np.maximum(*(v.log_k.std(axis=0, ddof=1) for v in (cast, covered)))
    far = (cast.variance - cast.shared).mean(axis=0) / n
    forced = 1.1 * np.sqrt(plain**2 * (1 + 1 / n) + far)
    sigma = pooling.pooled(curves, THIN).sigma_ln
    print(f"{name}: pooled {sigma.round(2)}, plain {plain.round(2)}")
    assert (sigma <= np.hypot(np.maximum(forced, 0.15), np.sqrt(cast.shared))).all()


# ---- metals that must not be alike, and the soft tempers


def test_no_two_aluminum_pools_are_alike() -> None:
    for names in (
        ("al-6061-t6", "al-7075-t6", "al-2024-t3"),
        ("al-6061-o", "al-3003-h14", "al-1100-o"),
    ):
        pools = [pooling.pooled(load.load_work(n).curves, THIN) for n in names]
        assert len({(*p.k_c.round(3), *p.sigma_ln.round(5)) for p in pools}) == 3


@pytest.mark.parametrize("name", SOFT)
def test_a_soft_temper_is_never_the_safer_one(name: str) -> None:
    h = np.geomspace(0.001, 0.5, 60)
    soft = pooling.pooled(load.load_work(name).curves, h)
    aged = pooling.pooled(load.load_work("al-6061-t6").curves, h)
    assert (soft.k_c >= aged.k_c * (1 - 1e-12)).all()
    assert (soft.k_c * np.exp(TWO_SIDED_90 * soft.sigma_ln) > aged.k_c).all()
    assert any("no lower than the aged alloy's" in note for note in soft.notes)


@pytest.mark.closed_form("spread of a level stretch from ln 1 to ln 2: ln(2)/sqrt(12)")
def test_a_soft_temper_adds_its_spread_upward() -> None:
    soft = load.load_work("al-6061-o").curves
    aged = load.load_work("al-6061-t6").curves
    here, there = (pooling.pooled(c, 0.02) for c in (soft, aged))
    assert here.k_c == pytest.approx(float(there.k_c))
    assert here.sigma_ln == pytest.approx(math.hypot(there.sigma_ln, math.log(2) / math.sqrt(12)))


def test_a_soft_temper_shows_the_rows_it_is_held_to() -> None:
    soft = load.load_work("al-6061-o")
    shown = {r.group for r in soft.rows if r.group.startswith("al-6061-t6 curves.")}
    asked = {f"al-6061-t6 curves.{c.label}" for c in soft.curves if c.upward is not None}
    assert shown == asked and len(asked) > 10
    assert "CJME2021" in soft.sources


def test_its_own_sources_count_where_they_ask_for_more() -> None:
    own = curve("own", 5000.0)
    bound = tuple(curve(s, upward=0.2) for s in "abc")
    assert pooling.pooled((own, *bound), 1.0).k_c == pytest.approx(5000)
    assert pooling.pooled((replace(own, law=Kienzle(100.0, 0.25)), *bound), 1.0).k_c == (
        pytest.approx(800)
    )
    with pytest.raises(ValueError, match="at least one force curve"):
        pooling.pooled(bound, 1.0)


def test_fingerprint_of_a_soft_temper_follows_its_aged_alloy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(folder.materials_root(), tmp_path / "materials")  # type: ignore[arg-type]
    monkeypatch.setattr(folder, "materials_root", lambda: tmp_path / "materials")
    before = load.material_hash("al-6061-o")
    file = tmp_path / "materials" / "al-6061-t6" / "german-force-tables.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("830", "831"), encoding="utf-8")
    assert load.material_hash("al-6061-o") != before


# ---- the keys of a file

SHOP = """
kind = "work"
title = "ours"
source = "test cuts"
[surface_speed]
lo = 75
hi = 150
unit = "m/min"
[curves.testcut]
model = "kienzle"
k_c11 = { value = 700, unit = "MPa" }
m_c = { value = 0.25, unit = "1" }
"""


def shop(folder: Path, text: str) -> str:
    path = folder / "ours.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_a_curve_may_name_its_alloy(tmp_path: Path) -> None:
    text = SHOP.replace('model = "kienzle"', 'model = "kienzle"\nalloy = "7075-T6"')
    assert load.load_work(shop(tmp_path, text)).curves[0].alloy == "7075-T6"
    assert load.load_work(shop(tmp_path, SHOP)).curves[0].alloy == ""


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"kienzle"', '"kienzle"\nalloy = 7075', "alloy: is 7075; name the alloy in a text"),
        ('"kienzle"', '"kienzle"\nalloy = " "', "alloy: is ' '; name the alloy in a text"),
        ('"kienzle"', '"kienzle"\naloy = "x"', "aloy: unknown key; did you mean 'alloy'?"),
        ('"ours"', '"ours"\naged_alloy = "al-6061-t6"', "upward: is missing; a soft temper says"),
        ('"ours"', '"ours"\naged_alloy = "al-6061"', "aged_alloy: is 'al-6061'; name a work"),
        ('"ours"', '"ours"\naged_alloy = 6061', "aged_alloy: is 6061; name a work material"),
    ],
)
def test_bad_alloys(tmp_path: Path, old: str, new: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        load.load_work(shop(tmp_path, SHOP.replace(old, new)))
    assert message in "\n".join(caught.value.lines())


# ---- whole groups against the trade


@pytest.mark.published(
    "pairs from one source each at 10 um: 0.30, 0.41, 0.42, 0.58, 0.61 of 6061 over C45",
    read="via a copied table",
)
def test_aluminum_over_steel() -> None:
    h = np.array([0.01, 0.05, 0.1])
    soft, hard = (
        pooling.pooled(load.load_work(n).curves, h).k_c for n in ("al-6061-t6", "steel-1045")
    )
    assert 0.25 <= soft[0] / hard[0] <= 0.62
    assert ((soft / hard)[1:] >= 0.3).all()
    assert ((soft / hard)[1:] <= 0.5).all()


def test_edge_laws_and_power_laws_of_one_vote() -> None:
    power = curve("a", 800.0, 0.25)
    edge = replace(power, law=LinearEdge(700.0, 11.0))
    slope = float(votes.cast((power, edge), np.asarray(0.02)).slope[0])
    assert slope == pytest.approx((0.25 + 550 / 1250) / 2)  # K_te/h over K_tc + K_te/h by hand

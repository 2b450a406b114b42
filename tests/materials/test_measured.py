"""Cutting, radial and resultant force held against what others measured and the metal's own pool does not hold.

The table is `measured.toml`, with the source beside each number. Nothing here is fitted to it.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from loadsim.base.numbers import Array
from loadsim.materials import load
from loadsim.materials.law import MetalLaw, metal_law
from loadsim.materials.radial import BORROWED_SPREAD
from loadsim.materials.votes import ALLOY_SD
from loadsim.mechanics.force import RADIAL_RAKE_SPREAD, radial_rake_factor, rake_factor
from loadsim.mechanics.wear import land_force

TWO_SIDED_90 = 1.645
LBF = 4.4482216  # [N]
INCH = 25.4  # [mm]
ROWS = tomllib.loads(Path(__file__).with_name("measured.toml").read_text(encoding="utf-8"))["cut"]
QUANTITIES = ("cutting", "radial", "resultant", "ratio")


@dataclass(frozen=True, kw_only=True)
class Case:
    """One force, or one ratio, measured and as the metal's law has it."""

    quantity: str
    row: dict[str, Any]
    h: float  #: [mm]
    off: float  #: ln of measured over median [1]
    sigma: float  #: the spread that the law states [1]

    @property
    def own(self) -> float:
        """Spread of the metal's law and, of another alloy, the model's own distance of an alloy. [1]"""
        return math.hypot(self.sigma, ALLOY_SD if "alloy" in self.row else 0.0)

    def inside(self, sigma: float) -> bool:
        return abs(self.off) <= TWO_SIDED_90 * sigma

    @property
    def independent(self) -> bool:
        """Whether nothing of the model was fitted to it, and it is remembered well enough to count."""
        fitted = "used" in self.row and self.quantity != "cutting"
        return not fitted and not self.row.get("only_told", False)

    def __str__(self) -> str:
        rake = f", rake {self.row['rake'][0]}.." if "rake" in self.row else ""
        what = f"{self.quantity} force of {self.row['metal']} at {1e3 * self.h:.3g} um{rake}"
        limit = math.exp(TWO_SIDED_90 * self.own)
        return f"{what}: {math.exp(self.off):.2f} of the median, band to {limit:.2f}; {self.row['source']}"


@cache
def law_of(name: str) -> MetalLaw:
    return metal_law(load.load_work(name).curves)


def measured(row: dict[str, Any]) -> tuple[Array, Array | None, Array | None]:
    """Chips [mm], cutting force [N/mm] and radial over cutting force of a row, as they are printed."""
    inch = row.get("units", "mm") == "inch"
    h = np.array(row["chip"]) * (INCH if inch else 1.0)
    ratio = np.array(row["ratio"]) if "ratio" in row else None
    if "cutting" in row:
        cutting = np.array(row["cutting"])
        across = row["across"] if "across" in row else np.hypot(row["passive"], row["feed"])
        width = row["width"] * (INCH if inch else 1.0)
        return h, cutting * (LBF if inch else 1.0) / width, across / cutting
    if "specific" in row:
        return h, np.array(row["specific"]) * h, ratio
    return h, row["k_c11"] * h ** (1 - row["m_c"]) if "k_c11" in row else None, ratio


def radial_of(row: dict[str, Any], h: Array) -> tuple[Array, Array]:
    """Radial over cutting force by the model, and its spread: of the metal, or borrowed where the metal's own is a fit
    to the row.
    """
    radial = load.load_work(row.get("radial_of", row["metal"])).radial
    at = radial.rake_reference or 0.0
    rake = np.radians(row["rake"]) if "rake" in row else at + 0.0 * h
    stretch = RADIAL_RAKE_SPREAD * np.degrees(abs(rake - at))
    borrowed = BORROWED_SPREAD if "radial_of" in row else 0.0
    sigma = np.sqrt(radial.spread**2 + stretch**2 + borrowed**2)
    return radial.ratio.at(h) * radial_rake_factor(rake, at), sigma


def compared(row: dict[str, Any]) -> Iterator[tuple[str, Array, Array]]:
    """Every quantity of a row: ln of measured over median, and the spread stated."""
    h, cutting, ratio = measured(row)
    law = law_of(row["metal"])
    rake = np.radians(row["rake"]) if "rake" in row else law.rake_reference + 0.0 * h
    median = law.median.force(h) * rake_factor(rake, law.rake_reference)
    sigma = law.sigma_ln(h)
    if cutting is not None:
        yield "cutting", np.log(cutting / median), sigma
    if ratio is None:
        return
    r, sigma_r = radial_of(row, h)
    if cutting is None:
        yield "ratio", np.log(ratio / r), sigma_r
        return
    yield "radial", np.log(cutting * ratio / (median * r)), np.hypot(sigma, sigma_r)
    # the resultant hypot(1, r) moves by r^2/(1 + r^2) of what ln r moves
    share = r**2 / (1 + r**2)
    resultant = np.log(cutting * np.hypot(1, ratio) / (median * np.hypot(1, r)))
    yield "resultant", resultant, np.hypot(sigma, share * sigma_r)


@cache
def cases() -> tuple[Case, ...]:
    return tuple(
        Case(quantity=name, row=row, h=float(h), off=float(off), sigma=float(sigma))
        for row in ROWS
        for name, offs, sigmas in compared(row)
        for h, off, sigma in zip(measured(row)[0], offs, sigmas, strict=True)
    )


def share_inside(some: list[Case], alloy: bool = True) -> float:
    return sum(c.inside(c.own if alloy else c.sigma) for c in some) / len(some)


def told(name: str, some: list[Case]) -> str:
    inside = round(share_inside(some) * len(some))
    strict = round(share_inside(some, alloy=False) * len(some))
    return f"{name}: {inside} of {len(some)} inside, {strict} with no distance of an alloy"


# ---- the table itself


@pytest.mark.closed_form(
    "380 lb on 0.0025 x 0.475 in is 320,000 psi; 370, 273 lb: 400,000 psi less 0.1 %"
)
def test_units_of_the_table() -> None:
    # Kalpakjian prints beside the forces the total energy: 320 and 400 thousand in lb/in^3
    for row, energy in zip((ROWS[0], ROWS[2]), (320e3, 400e3), strict=True):
        h, cutting, _ = measured(row)
        assert cutting is not None
        assert cutting[0] / h[0] == pytest.approx(energy * 0.00689476, rel=2e-3)


def test_every_row_says_where_it_is_from() -> None:
    assert len(ROWS) >= 35
    for row in ROWS:
        assert row["source"]
        assert row["read"].startswith(("first-hand", "via ", "memory ("))
        assert row.get("only_told", False) == (row["read"] == "memory (low)")


def test_no_row_is_in_the_pool_it_is_held_against() -> None:
    keyed = [row for row in ROWS if "key" in row]
    assert len(keyed) >= 15
    for row in keyed:
        assert all(row["key"] not in c.source for c in load.load_work(row["metal"]).curves), row[
            "source"
        ]
        if "radial_of" in row:
            radial = load.load_work(row["radial_of"]).radial_curves
            assert all(row["key"] not in c.source for c in radial), row["source"]


# ---- counted


@pytest.mark.published("measured.toml, the source beside each number", read="memory (medium)")
def test_measured_forces_lie_in_the_stated_band() -> None:
    counted = [c for c in cases() if c.independent]
    fitted = [c for c in cases() if not c.independent and not c.row.get("only_told")]
    by_quantity = {q: [c for c in counted if c.quantity == q] for q in QUANTITIES}
    print("\n".join(told(q, some) for q, some in by_quantity.items()))
    print(told("all", counted))
    print(told("rake of the radial force fitted to it", fitted))
    print("\n".join(f"  outside: {c}" for c in cases() if not c.inside(c.own)))
    assert len(counted) >= 100
    # asked: 85 in 100; cutting force alone keeps less (tables of handbooks carry wear and shop margins)
    assert share_inside(counted) >= 0.85
    assert share_inside(counted + fitted) >= 0.85
    for quantity, some in by_quantity.items():
        assert share_inside(some) >= (0.8 if quantity == "cutting" else 0.85), quantity


@pytest.mark.published("measured.toml, the source beside each number", read="memory (medium)")
def test_few_measured_forces_lie_above_the_band() -> None:
    # above it is the side on which a neck snaps: 5 in 100 stated; half as many again is two standard errors of 120
    counted = [c for c in cases() if not c.row.get("only_told")]
    above = [c for c in counted if c.off > TWO_SIDED_90 * c.own]
    print("\n".join(map(str, above)))
    assert len(above) <= 0.09 * len(counted)


@pytest.mark.published("measured.toml, the source beside each number", read="memory (medium)")
def test_the_median_is_right_on_the_whole() -> None:
    # a source is the mean of its rows: the cutting force is right to a tenth; what bends the neck may lie on the safe
    # side, by no more than the radial spread that is stated for one metal
    mean = {}
    for quantity in ("cutting", "radial", "resultant"):
        some = [c for c in cases() if c.independent and c.quantity == quantity]
        sources = sorted({c.row["source"] for c in some})
        each = [np.mean([c.off for c in some if c.row["source"] == s]) for s in sources]
        mean[quantity] = float(np.mean(each))
        print(f"{quantity}: {len(each)} sources, {math.exp(mean[quantity]):.2f} of the median")
    assert abs(mean["cutting"]) < 0.1
    for quantity in ("radial", "resultant"):
        assert -load.load_work("steel-1045").radial.spread - 0.1 < mean[quantity] < 0.1


@pytest.mark.published("finish-turned H13, open data set", read="via a copied table")
def test_a_nose_that_is_not_stated_does_not_change_the_verdict() -> None:
    # a nose of 0.8 mm, usual on such inserts, cuts an arc r acos(1 - a/r) long: the same area, a thinner chip
    rows = [row for row in ROWS if row["metal"] == "tool-steel-h13"]
    for row in rows:
        depth = row["width"]
        edge = 0.8 * math.acos(1 - depth / 0.8)
        thinner = row | {"chip": [f * depth / edge for f in row["chip"]], "width": edge}
        for quantity, off, sigma in compared(thinner):
            own = np.hypot(sigma, ALLOY_SD)
            print(depth, quantity, np.exp(off).round(2), np.exp(TWO_SIDED_90 * own).round(2))
            assert (abs(off) <= TWO_SIDED_90 * own).all()


# ---- wear


#: H13 at VB 0, 0.1 and 0.3 mm, feed 0.07, 0.09, 0.11, 0.13 mm, by depth: cutting, passive, feed force [N].
LANDS = {
    0.5: {
        0.0: ((107.9, 126.6, 150.9, 171.0), (55.4, 65.5, 75.0, 85.7), (61.5, 66.8, 73.8, 78.2)),
        0.1: ((116.1, 141.4, 161.8, 183.2), (84.7, 99.8, 102.8, 119.6), (74.2, 84.1, 85.6, 90.4)),
        0.3: ((169.4, 195.0, 211.7, 229.2), (220.6, 225.4, 235.0, 226.7), (188.6, 182.8, 192.8, 180.6)),
    },
    0.25: {
        0.0: ((53.4, 63.4, 72.7, 80.1), (45.3, 51.1, 55.4, 61.5), (25.0, 26.2, 25.8, 27.4)),
        0.1: ((72.2, 84.5, 106.2, 116.9), (76.9, 82.6, 115.8, 106.9), (38.6, 39.5, 52.0, 48.0)),
        0.3: ((95.1, 106.8, 117.5, 128.2), (196.0, 183.2, 185.2, 186.0), (97.2, 89.5, 88.6, 89.2)),
    },
}  # fmt: skip
FEEDS = np.array([0.07, 0.09, 0.11, 0.13])
K_C_H13 = (
    2780.0  #: its specific force at 0.1 mm: 150.9 N on 0.5 x 0.11, 126.6 N on 0.5 x 0.09 [MPa]
)


def forces_of(depth: float, land: float) -> tuple[Array, Array]:
    """Cutting force and force across the edge of H13, over the depth. [N/mm]"""
    cutting, passive, feed = LANDS[depth][land]
    return np.array(cutting) / depth, np.hypot(passive, feed) / depth


@pytest.mark.published(
    "finish-turned H13, VB 0.1 mm: not what the land's force was set by", read="via a copied table"
)
def test_a_short_land_in_proportion() -> None:
    pairs = [(forces_of(d, 0.1), forces_of(d, 0.0)) for d in LANDS]
    more = np.array(
        [np.subtract(worn, sharp) for worn, sharp in pairs]
    )  # (depth, along and across, feed)
    mean = np.exp(np.log(more).mean(axis=(0, 2)))
    asked = np.array(land_force(K_C_H13, 0.1))
    print("measured", mean.round(0), "by the land", asked.round(0))
    # eight runs of two scatter by 0.8 and 0.5 in the logarithm: two standard errors of their mean
    error = 2 * np.log(more).std(axis=(0, 2), ddof=1) / math.sqrt(8)
    assert (abs(np.log(mean / asked)) < error).all()


@pytest.mark.published("finish-turned H13 at VB 0.1 and 0.3 mm", read="via a copied table")
@pytest.mark.parametrize("land", [0.1, 0.3])
@pytest.mark.parametrize("depth", LANDS)
def test_worn_h13_lies_in_the_band(depth: float, land: float) -> None:
    # the whole force, as the program has it: the law's with its own radial ratio, and the land's on top; the level of
    # the metal scales both, the radial spread the sharp edge's part
    law = law_of("tool-steel-h13")
    radial = load.load_work("tool-steel-h13").radial
    along, across = land_force(law.median.specific(0.1), land)
    sharp = law.median.force(FEEDS)
    pressed = sharp * radial.ratio.at(FEEDS)
    sigma = law.sigma_ln(FEEDS)
    cutting, normal = forces_of(depth, land)
    assert (abs(np.log(cutting / (sharp + along))) <= TWO_SIDED_90 * sigma).all()
    part = pressed / (pressed + across)
    sigma_n = np.hypot(sigma, part * radial.spread)
    assert (abs(np.log(normal / (pressed + across))) <= TWO_SIDED_90 * sigma_n).all()


@pytest.mark.published("finish-turned H13 at VB 0.3 mm", read="via a copied table")
def test_without_the_land_worn_h13_lies_outside() -> None:
    law = law_of("tool-steel-h13")
    radial = load.load_work("tool-steel-h13").radial
    sharp = law.median.force(FEEDS) * radial.ratio.at(FEEDS)
    sigma = np.hypot(law.sigma_ln(FEEDS), radial.spread)
    beyond = [np.log(forces_of(d, 0.3)[1] / sharp) > TWO_SIDED_90 * sigma for d in LANDS]
    assert np.mean(beyond) > 0.8


# ---- whole groups


@pytest.mark.independent(
    "geometric mean of eleven sets of constants, worked apart: 28.6 N*mm, 90 % in 14 to 55"
)
@pytest.mark.parametrize("name", ["al-6061-t6", "al-7075-t6", "al-2024-t3"])
def test_mean_torque_of_a_small_slot(name: str) -> None:
    # D 3.175 mm, two straight teeth, f_z 0.0127 mm, full slot, b 1 mm: T = z b D/2 (1/2 pi) int F(f_z sin phi) dphi
    law = law_of(name)
    middles = (np.arange(2000) + 0.5) * math.pi / 2000
    mean = float(law.median.force(0.0127 * np.sin(middles)).mean()) * 2 * 3.175 / 2 / 2
    low, high = mean * np.exp(TWO_SIDED_90 * float(law.sigma_ln(0.0127)) * np.array([-1, 1]))
    print(f"{name}: {mean:.1f} N*mm, {low:.1f} to {high:.1f}")
    assert 20 <= mean <= 40
    assert (low, high) == pytest.approx((14, 55), rel=0.25)


@pytest.mark.published(
    "aluminum, published constants: k_c(10 um) over k_c(100 um) 1.25 to 3.4, central 2.0",
    read="via a copied table",
)
@pytest.mark.parametrize("name", ["al-6061-t6", "al-7075-t6", "al-2024-t3"])
def test_size_effect_of_aluminum(name: str) -> None:
    law = law_of(name)
    median = float(law.median.specific(0.01) / law.median.specific(0.1))
    assert 1.25 <= median <= 3.4
    assert median == pytest.approx(2.0, rel=0.15)
    # the exponent drawn spans what was published, whose ends are the least and the largest of eleven: about 0.9
    ends = median * 10 ** (law.slope_sd * np.array([-TWO_SIDED_90, TWO_SIDED_90]))
    print(f"{name}: {ends[0]:.2f}, {median:.2f}, {ends[1]:.2f}")
    assert ends == pytest.approx((1.25, 3.4), rel=0.2)


@pytest.mark.published(
    "MachinerysHandbook31 unit power, against the law of all other sources", read="memory (medium)"
)
@pytest.mark.parametrize(
    ("name", "power"),
    [
        ("al-cast-si", 0.25),
        ("al-6061-t6", 0.33),
        ("brass-360", 0.25),
        ("steel-1045", 0.78),
        ("steel-4140", 0.89),
    ],
)
def test_unit_power_of_a_handbook_left_out(name: str, power: float) -> None:
    # hp/(in^3/min) at a chip of 0.012 in: 2730.7 N/mm^2 each
    others = tuple(c for c in load.load_work(name).curves if c.source != "MachinerysHandbook31")
    law = metal_law(others)
    off = math.log(2730.7 * power / float(law.median.specific(0.3048)))
    print(f"{name}: {math.exp(off):.2f}")
    assert abs(off) <= TWO_SIDED_90 * float(law.sigma_ln(0.3048))


@pytest.mark.published(
    "pairs from one source each at 10 um: 0.30, 0.41, 0.42, 0.58, 0.61 of 6061 over C45",
    read="via a copied table",
)
def test_aluminum_over_steel_by_the_laws() -> None:
    h = np.array([0.01, 0.05, 0.1])
    soft, hard = (law_of(n).median.specific(h) for n in ("al-6061-t6", "steel-1045"))
    assert 0.25 <= soft[0] / hard[0] <= 0.62
    assert ((soft / hard)[1:] >= 0.3).all()
    assert ((soft / hard)[1:] <= 0.5).all()


@pytest.mark.published(
    "open data set of micro-milled 304, carbide 0.5 mm: mean resultant in the first tenth of life, medians",
    read="via a copied table",
)
@pytest.mark.parametrize(("f_z", "mean"), [(0.004, 2.6), (0.006, 4.97)])
def test_micro_slots_in_304(f_z: float, mean: float) -> None:
    # depth 0.08 mm; width and teeth are not stated: a full slot and one tooth in it at a time are taken, and the edges
    # were no longer sharp. Chips a hundredth of those that the sources were measured with
    metal = load.load_work("stainless-304")
    law = law_of("stainless-304")
    phi = (np.arange(1000) + 0.5) * math.pi / 1000
    h = np.maximum(f_z * np.sin(phi), 0.0005)
    r = metal.radial.ratio.at(h)
    ours = float((0.08 * law.median.force(h) * np.hypot(1.0, r)).mean())
    at = f_z * 2 / math.pi
    share = float((r**2 / (1 + r**2)).mean())
    sigma = math.hypot(float(law.sigma_ln(at)), share * metal.radial.spread)
    print(
        f"{f_z} mm: {mean / ours:.2f} of the median, band to {math.exp(TWO_SIDED_90 * sigma):.2f}"
    )
    assert abs(math.log(mean / ours)) <= TWO_SIDED_90 * sigma

"""Force on a millimetre of edge: what all sources come to, and each source by itself."""

from __future__ import annotations

import math
import tomllib
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import integrate, stats

from loadsim.materials import folder, load, truth

WORK = folder.names("work")
ROOT = Path(__file__).resolve().parents[2] / "materials"
METRIC = np.array(truth.CHIPS["metric"])

OWN = """
kind = "work"
title = "off our rack"
source = "test cuts"
mark = "memory-high"
surface_speed = { lo = 75, hi = 150, unit = "m/min" }
[curves.first]
model = "kienzle"
condition = "a slot, dry"
k_c11 = { value = 700, unit = "MPa", spread = 0.2 }
m_c = { value = 0.25, unit = "1", mark = "memory-low" }
rake_reference = { value = 8, unit = "deg" }
h_range = { lo = 20, hi = 100, unit = "um", mark = "common-practice" }
[curves.silent]
model = "edge"
K_tc = { value = 600, unit = "N/mm^2", spread = 0.3 }
K_te = { value = 12, unit = "N/mm" }
"""


def own(tmp_path: Path) -> tuple[truth.ForceSource, ...]:
    file = tmp_path / "own.toml"
    file.write_text(OWN, encoding="utf-8")
    return truth.sources_of(load.load_work(file), METRIC)


def source(name: str, label: str) -> truth.ForceSource:
    sources = truth.sources_of(load.load_work(name), METRIC)
    return next(s for s in sources if s.kind == "tangential" and s.label == label)


# ---- each source by itself


@pytest.mark.published(
    "CJME2021 table 5, 7075 with an HSS cutter: K_tc 951.365 N/mm^2, K_te 11.115 N/mm",
    read="via a copied table",
)
def test_a_source_says_what_it_prints() -> None:
    row = source("al-7075-t6", "7075-hss")
    # the file keeps 951.4 and 11.1: half a unit of the last figure each
    for h, force in zip(METRIC, row.force, strict=True):
        assert force == pytest.approx(951.365 * h + 11.115, abs=0.05 * h + 0.05)
    assert row.force[1] == pytest.approx(20.629, abs=0.051)
    assert (row.mark, row.condition) == ("via", "7075, HSS cutter, dry")


@pytest.mark.closed_form("700 h^0.75; a range of 20 to 100 um; a silent source starts at 50 um")
def test_where_a_source_was_measured_and_where_it_is_stretched(tmp_path: Path) -> None:
    first, silent = own(tmp_path)[:2]
    assert first.force == pytest.approx(700 * METRIC**0.75)
    assert first.stretched == (True, True, False, False, False, True)
    assert (first.h_lo, first.h_hi, first.silent) == (0.02, 0.1, False)
    assert first.rake == pytest.approx(math.radians(8))
    assert silent.stretched == (True, True, True, False, False, False)
    assert (silent.silent, silent.rake, silent.h_hi) == (True, None, math.inf)


def test_a_mark_is_that_of_the_least_sure_constant(tmp_path: Path) -> None:
    first, silent = own(tmp_path)[:2]
    assert first.mark == "memory-low"  # of m_c; the range is not what the source says of force
    assert silent.mark == "memory-high"
    assert [row.quantity for row in first.values] == ["k_c11", "m_c"]


def tables(name: str) -> Counter[tuple[str, str]]:
    """Source and name of every curve in a material's files, read without the package."""
    files = [tomllib.loads(f.read_text("utf-8")) for f in (ROOT / name).glob("*.toml")]
    return Counter((f["source"], label) for f in files for label in f.get("curves", ()))


@pytest.mark.independent("the curves counted in the TOML files themselves")
@pytest.mark.parametrize("name", WORK)
def test_every_source_is_listed_once(name: str) -> None:
    head = tomllib.loads((ROOT / name / "material.toml").read_text("utf-8"))
    sources = truth.sources_of(load.load_work(name), METRIC)
    tangential = [s for s in sources if s.kind == "tangential"]
    assert Counter((s.source, s.label) for s in tangential if not s.bound) == tables(name)
    aged = head.get("aged_alloy")
    bound = Counter((s.source, s.label) for s in tangential if s.bound)
    assert bound == (tables(aged) if aged else Counter())
    radial = [(s.source, s.label) for s in sources if s.kind == "radial"]
    assert radial
    assert len(radial) == len(set(radial))


def test_a_soft_temper_tells_its_own_curve_from_the_aged_alloys() -> None:
    sources = truth.sources_of(load.load_work("al-6061-o"), METRIC)
    mild, aged = (s for s in sources if s.label == "german")
    assert (mild.bound, aged.bound) == (False, True)
    assert aged.condition == source("al-6061-t6", "german").condition != mild.condition


# ---- all sources


@pytest.mark.parametrize("name", WORK)
def test_the_band_widens_below_every_source(name: str) -> None:
    material = load.load_work(name)
    start = min(s.h_lo for s in truth.sources_of(material, METRIC) if s.kind == "tangential")
    h = np.geomspace(0.001, start, 20)
    forces = truth.forces(material, h)
    for band in (forces.tangential, forces.radial, forces.resultant):
        assert (np.diff(band.high / band.low) < 0).all()
        assert (np.diff(band.median) > 0).all()


@pytest.mark.closed_form("variances of independent logarithms add")
def test_the_radial_band_adds_the_ratios_spread() -> None:
    material = load.load_work("steel-1045")
    forces = truth.forces(material, METRIC)
    sigma = [
        np.log(band.high / band.low) / (2 * stats.norm.ppf(0.95))
        for band in (forces.tangential, forces.radial)
    ]
    assert sigma[1] ** 2 - sigma[0] ** 2 == pytest.approx(material.radial.spread**2)
    assert forces.radial.median == pytest.approx(
        material.radial.ratio.at(METRIC) * forces.tangential.median
    )


@pytest.mark.closed_form("F_t sqrt(1 + r^2) where the ratio is known for sure")
def test_the_resultant_of_a_ratio_without_spread() -> None:
    material = load.load_work("iron-grey")
    sure = replace(material, radial=replace(material.radial, spread=0.0))
    forces = truth.forces(sure, METRIC)
    factor = np.sqrt(1 + material.radial.ratio.at(METRIC) ** 2)
    for end in ("median", "low", "high"):
        tangential = getattr(forces.tangential, end)
        assert getattr(forces.resultant, end) == pytest.approx(factor * tangential, rel=1e-9)


@pytest.mark.independent("adaptive quadrature of the chance over the ratio (scipy)")
@pytest.mark.parametrize("name", ["al-7075-t6", "iron-ductile", "acetal"])
def test_nine_resultants_in_ten_lie_in_their_band(name: str) -> None:
    material = load.load_work(name)
    forces = truth.forces(material, METRIC)
    spread = material.radial.spread
    for i, ratio in enumerate(material.radial.ratio.at(METRIC)):
        F_t = forces.tangential.median[i]
        sigma = math.log(forces.tangential.high[i] / F_t) / stats.norm.ppf(0.95)

        def below(
            force: float, ratio: float = ratio, F_t: float = F_t, sigma: float = sigma
        ) -> float:
            def part(z: float) -> float:
                factor = math.hypot(1.0, ratio * math.exp(spread * z))
                return float(
                    stats.norm.pdf(z) * stats.norm.cdf(math.log(force / (F_t * factor)) / sigma)
                )

            return float(integrate.quad(part, -9, 9, points=[0])[0])

        resultant = forces.resultant
        ends = [below(float(x[i])) for x in (resultant.low, resultant.median, resultant.high)]
        assert ends == pytest.approx([0.05, 0.5, 0.95], abs=1e-6)


@pytest.mark.closed_form("0.4 thou are 0.01016 mm")
def test_chips_are_round_in_the_units_asked() -> None:
    assert truth.CHIPS["inch"][1] == pytest.approx(0.4 * 0.0254)
    inch = truth.truth_of(load.load_work("steel-1018"), "inch")
    assert inch.forces.h == pytest.approx(25.4e-3 * np.array([0.2, 0.4, 0.8, 2, 4, 8]))

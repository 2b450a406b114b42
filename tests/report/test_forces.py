"""A metal's page: the same numbers as text, as charts, as tables and in the report."""

from __future__ import annotations

import math
from pathlib import Path

import html5lib
import numpy as np
import pytest

from loadsim import plan
from loadsim.job import write
from loadsim.job.read import changed, job_from_text
from loadsim.materials import describe, folder, load, truth
from loadsim.report import material_html
from loadsim.report.figures import charts, force_figures
from loadsim.report.figures.style import Chart
from loadsim.report.rows import forces as rows
from loadsim.report.terminal.materials import material_text
from loadsim.risk import samples

WORK = folder.names("work")
#: invented; a text that would end the elements it stands in
HOSTILE = "</title></script><script>alert(1)</script><img src=x onerror=alert(2)>"
OWN = f"""
kind = "work"
title = "{HOSTILE}"
condition = "{HOSTILE}"
source = "{HOSTILE}"
surface_speed = {{ lo = 75, hi = 150, unit = "m/min" }}
[curves."<img src=x onerror=alert(2)>"]
model = "kienzle"
condition = "{HOSTILE}"
k_c11 = {{ value = 700, unit = "MPa" }}
m_c = {{ value = 0.25, unit = "1" }}
h_range = {{ lo = 20, hi = 100, unit = "um" }}
"""


def text_of(name: str, system: str = "metric") -> str:
    return material_text(describe.describe(name), describe.truth_of(name, system))  # type: ignore[arg-type]


def drawn(name: str, system: str = "metric") -> dict[str, Chart]:
    both = force_figures.metal_charts(load.load_work(name), system)  # type: ignore[arg-type]
    return {chart.id: chart for chart in both}


# ---- as text


@pytest.mark.parametrize("name", WORK)
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_a_metal_fits_eighty_columns(name: str, system: str) -> None:
    long = [line for line in text_of(name, system).splitlines() if len(line) > 80]
    assert not long


def line_of(text: str) -> list[str]:
    return next(line for line in text.splitlines() if "7075-hss" in line and "~" in line).split()


@pytest.mark.closed_form("951.4 h + 11.1 at 5 to 200 um; 1 lbf/in is 0.175127 N/mm")
def test_a_source_is_a_line_of_its_own() -> None:
    metric, inch = (line_of(text_of("al-7075-t6", system)) for system in ("metric", "inch"))
    assert metric == ["1", "7075-hss", "~15.9", "~20.6", "~30.1", "58.7", "106", "201", "via"]
    # 951.4 * 0.01016 + 11.1 = 20.766 N/mm, over 0.175127 are 118.6 lbf/in
    assert inch[:4] == ["1", "7075-hss", "~91", "~119"]


def test_what_is_borrowed_or_bounds_is_said() -> None:
    assert "that of steel is borrowed" in " ".join(text_of("stainless-304").split())
    assert "borrowed" not in text_of("steel-1045")
    assert "the aged alloy, taken as a lower bound" in text_of("al-6061-o")
    assert "chips not said, taken from 50 um up" in text_of("al-7075-t6")


@pytest.mark.closed_form("three figures, or two; never an exponent")
def test_figures_of_a_number() -> None:
    given = [(20.614, 3), (1043.2, 3), (12345.0, 2), (0.0996, 2), (8.0, 2)]
    assert [rows.figures(*x) for x in given] == ["20.6", "1040", "12000", "0.1", "8"]


# ---- as charts


def traces(chart: Chart, number: int) -> list[tuple[str, list[float], list[float]]]:
    start = f"line {number}:"
    return [
        (t.line.dash, list(t.x), list(t.y))
        for t in chart.figure.data
        if (t.hovertemplate or "").startswith(start)
    ]


@pytest.mark.closed_form("end mill in steel of 750 MPa: 1951 h^0.72 between 20 and 200 um")
def test_a_line_is_solid_where_it_was_measured_and_dashed_where_stretched() -> None:
    chart = drawn("steel-1045")["force-tangential"]
    thin, measured = traces(chart, 3)
    assert (thin[0], measured[0]) == ("dash", "solid")
    assert (thin[1][0], thin[1][-1], measured[1][0], measured[1][-1]) == (5, 20, 20, 200)
    for _, x, y in (thin, measured):
        assert y == pytest.approx(1951 * (np.array(x) / 1000) ** 0.72, rel=1e-4)


def test_a_line_of_a_source_that_names_no_chips_is_dotted() -> None:
    chart = drawn("al-7075-t6")["force-tangential"]
    assert [(dash, x[0], x[-1]) for dash, x, _ in traces(chart, 1)] == [
        ("dash", 5, 50),
        ("dot", 50, 200),
    ]


@pytest.mark.parametrize("name", ["al-6061-o", "steel-1045", "ti-6al-4v", "acetal"])
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_every_source_has_its_line_its_number_and_its_row(name: str, system: str) -> None:
    charts_ = drawn(name, system)
    material = load.load_work(name)
    for kind, first, count in (
        ("tangential", 1, len(material.curves)),
        ("radial", len(material.curves) + 1, len(material.radial_curves)),
    ):
        chart = charts_[f"force-{kind}"]
        numbers = [str(n) for n in range(first, first + count)]
        assert sorted(a.text for a in chart.figure.layout.annotations) == sorted(numbers)
        assert [str(row[0]).split()[0] for row in chart.rows[-count:]] == numbers
        assert all(traces(chart, int(n)) for n in numbers)
        assert all(len(row) == len(chart.columns) for row in chart.rows)
        assert any(c.isdigit() for c in chart.alt)


def test_the_band_drawn_and_the_band_told_are_one() -> None:
    chart = drawn("steel-1045")["force-radial"]
    forces = truth.forces(load.load_work("steel-1045"), np.array([0.005, 0.2]))
    x, y = (np.array(v) for v in (chart.figure.data[0].x, chart.figure.data[0].y))
    ends = [
        forces.radial.high[0],
        forces.radial.high[1],
        forces.radial.low[1],
        forces.radial.low[0],
    ]
    middle = len(x) // 2
    assert y[[0, middle - 1, middle, -1]] == pytest.approx(ends, rel=1e-4)
    told = {row[0]: row for row in chart.rows[:3]}
    assert float(told["one in twenty over"][1]) == pytest.approx(ends[0], rel=0.05)
    assert float(told["all sources"][6]) == pytest.approx(forces.radial.median[1], rel=5e-3)


def test_the_words_tell_how_many_sources_reach_a_thin_chip() -> None:
    # 10 um: no source of 1045 starts below 20 um
    alt = drawn("steel-1045")["force-tangential"].alt
    assert alt.endswith("; sources measured at the first of these chips: 0 of 8.")
    assert "N/mm at 10 um (nine cuts in ten: " in alt
    assert "lbf/in at 0.4 thou" in drawn("steel-1045", "inch")["force-tangential"].alt


# ---- as a page


@pytest.mark.parametrize("name", ["al-6061-o", "steel-1045", "hss-m2"])
def test_a_page_is_valid_and_asks_the_network_for_nothing(name: str) -> None:
    text = material_html.page_text(name, "metric")
    parser = html5lib.HTMLParser(strict=False, namespaceHTMLElements=False)
    tree = parser.parse(text)
    assert not [(place, code) for place, code, _ in parser.errors]
    assert not [e for e in tree.iter() if e.get("src") or e.tag == "link"]
    assert "default-src 'none'" in text
    ids = [e.get("id") for e in tree.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    assert text == material_html.page_text(name, "metric")


def test_a_page_carries_charts_in_words_and_numbers() -> None:
    tree = html5lib.parse(
        material_html.page_text("steel-1045", "metric"), namespaceHTMLElements=False
    )
    plots = [e for e in tree.iter("div") if e.get("role") == "img"]
    assert [e.get("id") for e in plots] == ["plot-force-tangential", "plot-force-radial"]
    assert all("N/mm at 10 um" in (e.get("aria-label") or "") for e in plots)
    told = [[c.text or "" for c in row] for row in tree.iter("tr")]
    for chart in drawn("steel-1045").values():
        assert all(list(row) in told for row in chart.rows)
    headed = [
        row[1:] for row in rows.force_table(truth.truth_of(load.load_work("steel-1045"), "metric"))
    ]
    assert all(any(row == line[1:] for line in told) for row in headed)


def test_the_page_of_a_blank_is_its_tables() -> None:
    text = material_html.page_text("hss-m2", "metric")
    assert "Plotly" not in text
    assert "bend_strength" in text
    assert "purple-blue" in text


def test_a_hostile_file_of_the_shops_own_ends_nothing(tmp_path: Path) -> None:
    file = tmp_path / "own.toml"
    file.write_text(OWN, encoding="utf-8")
    text = material_html.page_text(str(file), "metric")
    tree = html5lib.parse(text, namespaceHTMLElements=False)
    assert not list(tree.iter("img"))
    assert len(list(tree.iter("script"))) == 3
    assert HOSTILE in "".join(tree.itertext())
    figures = (chart.figure.to_json() for chart in drawn(str(file)).values())
    assert not any("onerror" in figure or "script" in figure for figure in figures)


# ---- in the report


def test_the_report_draws_the_same_charts() -> None:
    job = job_from_text(write.example("t-track"), "t-track")
    answer = plan(job, samples.draws(samples_log2=10))
    alone = drawn(job.work.material)
    for chart in charts.charts_of(answer):
        if chart.id in alone:
            same = alone.pop(chart.id)
            assert (chart.rows, chart.columns, chart.alt) == (same.rows, same.columns, same.alt)
            assert chart.figure.data == same.figure.data
            cut = [a for a in chart.figure.layout.annotations if a.text == "this cut"]
            chip = answer.result.loads.peak_chip_mm * 1000
            assert cut[0].x == pytest.approx(math.log10(chip), abs=1e-4)
            assert chart.caption == same.caption
    assert not alone
    own = changed(answer.job, {"work.kc11": 700.0, "work.mc": 0.25})
    noted = force_figures.forces_of_plan(plan(own, samples.draws(samples_log2=10)))
    assert all("constants of its own" in chart.caption for chart in noted)

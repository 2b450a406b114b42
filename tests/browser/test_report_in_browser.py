"""The report as its reader has it, in Chromium: on a screen, on a phone, on paper, and without
scripts.
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from pypdf import PdfReader

from loadsim import plan as plan_plan
from loadsim.answers import results
from loadsim.job import write
from loadsim.job.read import job_from_dict
from loadsim.report import html
from loadsim.risk import samples

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser
NAMES = ("t-track", "thin-neck", "one-sided", "side-passes")
by_name = pytest.mark.parametrize("name", NAMES)
#: printable width with the margins of the style sheet, 10 mm each side [px at 96 to the inch]
PAPER = {"A4": (210 - 20) / 25.4 * 96, "Letter": 8.5 * 96 - 20 / 25.4 * 96}
#: Letter is the shorter one, and tried in every run.
PAPERS = [pytest.param("A4", marks=pytest.mark.nightly), "Letter"]


@contextmanager
def opened(
    browser: Browser, file: Path, width: int = 1000, scripts: bool = True
) -> Iterator[tuple[Page, list[str], list[str]]]:
    """Open a file; give the page, what the console said, and what was asked of the network."""
    context = browser.new_context(
        viewport={"width": width, "height": 800}, java_script_enabled=scripts
    )
    page = context.new_page()
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda m: said.append(f"{m.type}: {m.text}"))
    page.on("pageerror", lambda e: said.append(str(e)))
    page.on("dialog", lambda d: (said.append(f"dialog {d.message}"), d.dismiss()))
    page.on("request", lambda r: asked.append(r.url))
    page.goto(file.as_uri())
    if scripts:
        page.wait_for_function(
            # what is folded is drawn when it is unfolded
            "[...document.querySelectorAll('.plot')].filter(e => !e.closest('details:not([open])'))"
            ".every(e => e.querySelector('.main-svg'))"
        )
    yield page, said, asked
    context.close()


@by_name
def test_no_error_and_no_request(browser: Browser, files: dict[str, Path], name: str) -> None:
    with opened(browser, files[name]) as (page, said, asked):
        page.wait_for_timeout(300)
        assert said == []
        assert asked == [files[name].as_uri()]
        assert page.locator(".plot .main-svg").count() > 0


@by_name
@pytest.mark.parametrize("width", [320, 390, 1000])
def test_no_sideways_scroll(
    browser: Browser, files: dict[str, Path], name: str, width: int
) -> None:
    with opened(browser, files[name], width) as (page, _, _):
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        page.wait_for_function(
            "document.querySelectorAll('.plot').length === document.querySelectorAll('.plot .main-svg:first-child').length"
        )
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        for plot in page.locator(".plot").all():
            box = plot.bounding_box()
            assert box is not None
            assert box["x"] >= 0
            assert box["x"] + box["width"] <= width


@by_name
def test_charts_and_their_tables_carry_the_numbers_of_the_answer(
    browser: Browser, files: dict[str, Path], plans: dict[str, results.Plan], name: str
) -> None:
    from loadsim.report.figures.style import scale

    r = plans[name].result
    force = scale("force", plans[name].job.job.units)
    with opened(browser, files[name]) as (page, _, _):
        drawn = page.evaluate(
            "Math.max(...document.getElementById('plot-forces').data[0].y.filter(v => v !== null))"
        )
        assert drawn * force.size == pytest.approx(
            r.loads.peak_force_N, rel=2e-4
        )  # both round to the grid's figures
        cells = page.locator(
            "#chart-forces tbody td, #chart-forces table tr td"
        ).all_text_contents()
        assert any(
            abs(float(c) * force.size / r.loads.peak_force_N - 1) < 2e-4
            for c in cells
            if re.fullmatch(r"[0-9.]+", c)
        )
        bars = page.evaluate(
            "(() => { const t = document.getElementById('plot-limits-neck').data[0]; return t.y.map((n, i) => [n, t.x[i]]); })()"
        )
        hard = {x.name: x.utilization for x in r.limits if x.hard and not x.fit}
        assert dict(bars) == pytest.approx(hard, rel=1e-4)


def test_hover_shows_the_number(
    browser: Browser, files: dict[str, Path], plans: dict[str, results.Plan]
) -> None:
    with opened(browser, files["t-track"]) as (page, _, _):
        page.locator("#plot-limits-neck").scroll_into_view_if_needed()
        page.evaluate("Plotly.Fx.hover('plot-limits-neck', [{curveNumber: 0, pointNumber: 0}])")
        said = page.locator("#plot-limits-neck .hoverlayer").text_content() or ""
        worst = max(
            (x for x in plans["t-track"].result.limits if x.hard and not x.fit),
            key=lambda x: x.utilization,
        )
        number = re.search(r"([0-9.]+)\s*%", said)
        assert number, said
        assert float(number[1]) / 100 == pytest.approx(
            worst.utilization, rel=6e-3
        )  # two or three figures are shown


def test_the_slider_moves_the_bars_by_keyboard(browser: Browser, files: dict[str, Path]) -> None:
    with opened(browser, files["t-track"]) as (page, said, _):
        over = json.loads(page.locator("#slider-data").text_content() or "")
        slider = page.locator("#neck-slider")
        assert "this job" in (page.locator("#neck-told").text_content() or "")
        slider.focus()
        page.keyboard.press("ArrowLeft")
        assert page.locator("#neck-told").text_content() == over["texts"][over["start"] - 1]
        assert slider.get_attribute("aria-valuetext") == over["texts"][over["start"] - 1]
        shown = page.evaluate("document.getElementById('plot-limits-neck').data[0].x")
        assert list(shown) == over["utilization"][over["start"] - 1]
        assert list(shown) != over["utilization"][over["start"]]
        assert said == []


@by_name
@pytest.mark.parametrize("paper", PAPERS)
def test_page_one_fits_one_printed_page(
    browser: Browser, files: dict[str, Path], plans: dict[str, results.Plan], name: str, paper: str
) -> None:
    with opened(browser, files[name]) as (page, _, _):
        pages = PdfReader(io.BytesIO(page.pdf(format=paper))).pages
    first, second = (re.sub(r"\s+", " ", p.extract_text()) for p in pages[:2])
    r = plans[name].result
    heading = {
        "go": "Set on the machine",
        "marginal": "Prove on scrap first",
        "no-go": "do not run them",
    }[r.verdict]
    for word in (
        f"Job {r.job}",
        heading,
        f"{r.settings.spindle_speed_rpm:.0f} rpm",
        "Limits",
        "eye protection",
        "As measured",
        "signature",
        "scale",
    ):
        assert word in first
    assert second.strip().startswith("Notes and assumptions")
    assert 4 <= len(pages) <= 18  # ten charts, three a page; on Letter a page more than on A4


@by_name
@pytest.mark.parametrize("paper", PAPERS)
def test_print_is_to_scale(browser: Browser, files: dict[str, Path], name: str, paper: str) -> None:
    # a browser shrinks the whole page when anything is wider than the paper
    with opened(browser, files[name], round(PAPER[paper])) as (page, _, _):
        page.emulate_media(media="print")
        page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
        page.wait_for_timeout(300)
        assert page.evaluate("document.documentElement.scrollWidth") <= PAPER[paper] + 1
        for drawing in page.locator(".sheet .drawing svg").all():
            box = drawing.bounding_box()
            width = drawing.get_attribute("width") or ""
            assert box is not None
            assert width.endswith("mm")
            assert box["width"] == pytest.approx(float(width[:-2]) / 25.4 * 96, rel=2e-3)


@by_name
def test_black_and_white_is_enough(browser: Browser, files: dict[str, Path], name: str) -> None:
    with opened(browser, files[name]) as (page, _, _):
        colours = set(
            page.evaluate(
                "[...document.querySelectorAll('main, main *')].filter(e => !e.closest('.modebar-container, .modebar, input') && e.getBoundingClientRect().width > 0 && getComputedStyle(e).opacity > 0).flatMap(e => { const s = getComputedStyle(e); "
                "return [s.color, s.backgroundColor, s.fill, s.stroke, s.borderTopColor]; })"
            )
        )
    for colour in colours:
        parts = re.findall(r"[0-9.]+", colour)[:3] if colour.startswith("rgb") else []
        assert len(set(parts)) <= 1, colour


def test_without_scripts_every_chart_has_its_picture_and_its_table(
    browser: Browser, files: dict[str, Path]
) -> None:
    with opened(browser, files["t-track"], scripts=False) as (page, _, _):
        for fold in page.locator("details.appendix > summary").all():
            fold.click()
        figures = page.locator("figure[id^=chart-]").all()
        assert len(figures) >= 7
        for figure in figures:
            assert figure.locator("table").is_visible()
            assert figure.locator("svg.still").is_visible()
            assert not figure.locator(".plot").is_visible()
        assert not page.locator("#neck-slider").is_visible()
        assert page.locator(".sheet svg[role=img]").first.is_visible()


@pytest.fixture(scope="module")
def unbroken(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A report whose texts are one long word each, those of a shop's own metal among them."""
    import tomllib

    folder = tmp_path_factory.mktemp("unbroken")
    word = "W" * 110
    own = folder / f"{'m' * 100}.toml"
    own.write_text(
        f'kind = "work"\ntitle = "{word}"\nsource = "{word}"\ncautions = ["{word}"]\ncondition = "{word}"\n'
        'surface_speed = { lo = 75, hi = 150, unit = "m/min" }\n[curves.own]\nmodel = "kienzle"\n'
        'k_c11 = { value = 700, unit = "MPa" }\nm_c = { value = 0.25, unit = "1" }\n'
    )
    data = tomllib.loads(write.example("t-track"))
    for key in ("number", "part", "drawing", "revision", "operation", "author"):
        data["job"][key] = word
    data["work"]["material"] = str(own)
    made = plan_plan(job_from_dict(data, "unbroken"), samples.draws(samples_log2=10))
    return html.write_report(made, folder / "unbroken.html")


def test_long_words_do_not_widen_the_phone_page(browser: Browser, unbroken: Path) -> None:
    with opened(browser, unbroken, 390) as (page, _, _):
        assert page.evaluate("document.documentElement.scrollWidth") <= 390


@pytest.mark.parametrize("paper", PAPERS)
def test_long_words_do_not_shrink_the_print(browser: Browser, unbroken: Path, paper: str) -> None:
    test_print_is_to_scale(browser, {"unbroken": unbroken}, "unbroken", paper)


def test_hostile_text_does_nothing(browser: Browser, tmp_path: Path) -> None:
    import tomllib

    data = tomllib.loads(write.example("t-track"))
    for key in ("number", "part", "drawing", "revision", "operation", "author"):
        data["job"][key] = (
            "</script></style></svg><script>alert(1)</script><img src=//x.invalid/ onerror=alert(2)>"
        )
    plan = plan_plan(job_from_dict(data, "hostile"), samples.draws(samples_log2=10))
    file = html.write_report(plan, tmp_path / "hostile.html")
    with opened(browser, file) as (page, said, asked):
        page.wait_for_timeout(300)
        assert said == []
        assert asked == [file.as_uri()]
        assert page.locator("img").count() == 0
        assert "<img src=//x.invalid/ onerror=alert(2)>" in (
            page.locator("h1").text_content() or ""
        )

"""The traveler as the shop has it: sheets of paper, size of the lettering, screens of a phone, large type, forced
colours.
"""

from __future__ import annotations

import io
import re
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from pypdf import PdfReader

from loadsim import grind
from loadsim import plan as plan_plan
from loadsim.answers import results
from loadsim.job import write
from loadsim.job.read import job_from_dict
from loadsim.report import html
from loadsim.risk import samples
from tests.browser.test_report_in_browser import PAPER, PAPERS, by_name, opened

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser
by_paper = pytest.mark.parametrize("paper", PAPERS)
#: of the screen that the promise is made for [px]
SCREEN = 844
#: longest text that a job file takes in [job], of ordinary words
LONGEST = ("rail for the drilling fixture of the third bench, " * 3)[:120]


def sheets(browser: Browser, file: Path, paper: str) -> list[str]:
    """The text of every printed page."""
    with opened(browser, file) as (page, _, _):
        pages = PdfReader(io.BytesIO(page.pdf(format=paper))).pages
    return [re.sub(r"\s+", " ", p.extract_text()) for p in pages]


@pytest.fixture(scope="module")
def crowded(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The longest texts that are taken; and so many passes that the steps take a sheet."""
    long = tomllib.loads(write.example("t-track"))
    for key in ("number", "part", "drawing", "revision", "operation", "author"):
        long["job"][key] = LONGEST
    many = tomllib.loads(write.example("t-track"))
    many["slot"]["undercut_width"] = "10.9 mm"
    many["cutter"]["neck_diameter"] = "5.0 mm"
    many["cutter"]["head_height"] = "1.4 mm"
    many["cutter"]["neck_length"] = "6.6 mm"
    many["cut"]["stepover"] = "0.05 mm"
    folder = tmp_path_factory.mktemp("crowded")
    drawn = samples.draws(samples_log2=10)
    return {
        name: html.write_report(
            plan_plan(job_from_dict(data, name), drawn), folder / f"{name}.html"
        )
        for name, data in (("long", long), ("many", many))
    }


@by_paper
@by_name
def test_the_traveler_is_one_sheet_for_each_example(
    browser: Browser, files: dict[str, Path], name: str, paper: str
) -> None:
    first, second, *_ = sheets(browser, files[name], paper)
    assert "signature" in first and "As measured" in first and "sheet 1 of" not in first
    assert second.strip().startswith("Notes and assumptions")


@by_paper
@pytest.mark.parametrize("name", ["long", "many"])
def test_what_one_sheet_does_not_hold_goes_on_numbered_ones(
    browser: Browser, crowded: dict[str, Path], name: str, paper: str
) -> None:
    pages = sheets(browser, crowded[name], paper)
    behind = next(i for i, text in enumerate(pages) if text.strip().startswith("Notes and"))
    count = len(re.findall('<div class="leaf">', crowded[name].read_text()))
    assert behind == count >= 2
    for i, text in enumerate(pages[:count], 1):
        assert f"sheet {i} of {count}" in text
    assert "signature" in pages[count - 1]
    steps = re.findall(
        r'<tr><th scope="row">(\d+)</th>\n?<td class="(?:dial|what)"', crowded[name].read_text()
    )
    assert [int(n) for n in steps] == list(range(1, len(steps) + 1))


@by_paper
@by_name
def test_the_print_is_at_most_eight_pages_and_says_where_the_rest_is(
    browser: Browser, files: dict[str, Path], name: str, paper: str
) -> None:
    pages = sheets(browser, files[name], paper)
    assert len(pages) <= 8
    whole = " ".join(pages)
    assert "folded into the file of this report" in whole
    assert "[slot] undercut_height" not in whole and "Sources behind this answer" not in whole


def test_full_prints_the_appendix(
    browser: Browser, plans: dict[str, results.Plan], tmp_path: Path
) -> None:
    file = html.write_report(plans["t-track"], tmp_path / "full.html", full=True)
    pages = sheets(browser, file, "A4")
    whole = " ".join(pages)
    assert len(pages) > 8
    for words in (
        "[slot] undercut_height",
        "Sources behind this answer",
        "The same in numbers",
        "Tangential force",
    ):
        assert words in whole, words


@by_name
def test_page_one_reads_at_arms_length(
    browser: Browser, files: dict[str, Path], plans: dict[str, results.Plan], name: str
) -> None:
    with opened(browser, files[name], round(PAPER["Letter"])) as (page, _, _):
        page.emulate_media(media="print")
        sizes = page.evaluate(
            "['.verdict p', '.verdict strong', '.settings dd', '.steps td', '.steps th', '.large li']"
            ".map(s => [s, [...document.querySelectorAll(s)].map(e => parseFloat(getComputedStyle(e).fontSize))])"
        )
    found = dict(sizes)
    point = 96 / 72
    wanted = {".verdict p", ".verdict strong", ".settings dd"}
    wanted |= {".large li"} if plans[name].result.verdict == "no-go" else {".steps td", ".steps th"}
    for rule in wanted:
        assert found[rule], rule
        assert min(found[rule]) >= 11 * point - 0.01, rule


@by_name
def test_a_phone_shows_page_one_in_four_screens_and_all_in_twelve(
    browser: Browser, files: dict[str, Path], name: str
) -> None:
    with opened(browser, files[name], 390) as (page, _, _):
        box = page.locator(".sheet").bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= 4 * SCREEN
        assert page.evaluate("document.documentElement.scrollHeight") <= 12 * SCREEN
        assert page.locator("details.appendix[open]").count() == 0


@by_name
@pytest.mark.parametrize("width", [320, 390, 1280])
def test_no_word_of_a_table_is_broken(
    browser: Browser, files: dict[str, Path], name: str, width: int
) -> None:
    with opened(browser, files[name], width) as (page, _, _):
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        # a word that stands on two lines has two boxes, one over the other
        broken = page.evaluate(
            """() => {
              const found = [];
              for (const cell of document.querySelectorAll('main td, main th')) {
                const walker = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT);
                for (let node; (node = walker.nextNode());) {
                  for (const word of node.data.matchAll(/[^\\s-]{1,22}(?![^\\s-])/g)) {
                    if (word.index && /[^\\s-]/.test(node.data[word.index - 1])) { continue; }
                    const range = document.createRange();
                    range.setStart(node, word.index);
                    range.setEnd(node, word.index + word[0].length);
                    const tops = new Set([...range.getClientRects()].map(r => Math.round(r.top)));
                    if (tops.size > 1) { found.push(word[0]); }
                  }
                }
              }
              return found;
            }"""
        )
        assert broken == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", [390, 1280])
def test_twice_as_large_type_fits(browser: Browser, files: dict[str, Path], width: int) -> None:
    with opened(browser, files["side-passes"], width) as (page, _, _):
        before = page.locator(".verdict p").first.evaluate("e => getComputedStyle(e).fontSize")
        page.add_style_tag(content="html { font-size: 200%; }")
        after = page.locator(".verdict p").first.evaluate("e => getComputedStyle(e).fontSize")
        assert float(after[:-2]) == pytest.approx(2 * float(before[:-2]))
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_forced_colours_keep_drawings_bars_and_pictures_on_white(
    browser: Browser, files: dict[str, Path]
) -> None:
    with opened(browser, files["t-track"]) as (page, _, _):
        page.emulate_media(forced_colors="active")
        for rule in (".drawing svg", "svg.bar", "svg.still", "#plot-map"):
            shown = page.locator(rule).first.evaluate(
                "e => [getComputedStyle(e).forcedColorAdjust, getComputedStyle(e).backgroundColor]"
            )
            assert shown == ["none", "rgb(255, 255, 255)"], rule


def test_the_other_unit_is_shown_on_request(browser: Browser, files: dict[str, Path]) -> None:
    with opened(browser, files["t-track"], scripts=False) as (page, _, _):
        lead, other = page.locator(".drawing svg").first, page.locator(".other-drawing svg").first
        assert lead.is_visible() and not other.is_visible()
        page.get_by_label("Dimensions in inches").check()
        assert other.is_visible() and not lead.is_visible()
        # 10.4 mm over 25.4
        assert ".4094" in (other.text_content() or "")


def test_every_lettering_of_the_drawings_is_of_one_size(
    browser: Browser, files: dict[str, Path]
) -> None:
    for width in (390, 1280):
        with opened(browser, files["t-track"], width) as (page, _, _):
            heights = page.evaluate(
                "[...document.querySelectorAll('.drawing svg, section[aria-labelledby=charts] figure > svg')].map("
                "s => s.getBoundingClientRect().width / s.viewBox.baseVal.width)"
            )
        assert len(heights) == 3
        assert max(heights) == pytest.approx(min(heights), rel=1e-3)


def test_a_chart_has_its_sentence_and_a_picture_of_the_same_numbers_on_paper(
    browser: Browser, files: dict[str, Path]
) -> None:
    with opened(browser, files["t-track"]) as (page, _, _):
        charts = page.locator("section[aria-labelledby=charts] figure[id^=chart-]").all()
        assert len(charts) == 9
        for chart in charts:
            assert len(chart.locator(".use").text_content() or "") > 20
            assert (
                chart.locator(".plot").is_visible() and not chart.locator(".picture").is_visible()
            )
        page.emulate_media(media="print")
        for chart in charts:
            assert (
                chart.locator(".picture").is_visible() and not chart.locator(".plot").is_visible()
            )


@by_paper
def test_the_grinding_sheet_is_printed_with_the_appendix_alone(
    browser: Browser, tmp_path: Path, paper: str
) -> None:
    cutter = grind(tomllib.loads(write.example("t-track")) | {"cutter": {"material": "hss-m2"}})
    drawn = plan_plan(cutter.job, samples.draws(8))
    pages = sheets(browser, html.write_report(drawn, tmp_path / "brief.html"), paper)
    whole = " ".join(pages)
    assert len(pages) <= 8
    assert "Touch off on the blank" not in whole and "grinding sheet stands there too" in whole
    full = html.write_report(drawn, tmp_path / "full.html", full=True)
    assert "Touch off on the blank" in " ".join(sheets(browser, full, paper))

"""A metal's page as its reader has it, in Chromium: on a screen, on a phone, on paper, and without
scripts.
"""

from __future__ import annotations

import io
import re
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from pypdf import PdfReader

from loadsim.base.files import write_whole
from loadsim.report import material_html

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser
#: with most sources; an ordinary one, in inches
NAMES = {"al-6061-o": "metric", "steel-1045": "inch"}


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("materials")
    files = {name: folder / f"{name}.html" for name in NAMES}
    for name, file in files.items():
        write_whole(file, material_html.page_text(name, NAMES[name]), new=True)  # type: ignore[arg-type]
    return files


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", [390, 1280])
def test_it_opens_without_network_and_fits(
    browser: Browser, files: dict[str, Path], name: str, width: int
) -> None:
    page = browser.new_page(viewport={"width": width, "height": 800})
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda m: said.append(m.text))
    page.on("pageerror", lambda e: said.append(str(e)))
    page.on("request", lambda r: asked.append(r.url))
    page.goto(files[name].as_uri())
    page.wait_for_function("document.querySelectorAll('.plot .main-svg:first-child').length === 2")
    assert said == []
    assert asked == [files[name].as_uri()]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for plot in page.locator(".plot").all():
        numbers = plot.locator(".annotation text").all()
        boxes = [box for n in numbers if (box := n.bounding_box()) is not None]
        assert len(boxes) == len(numbers) >= 5
        assert all(box["x"] + box["width"] <= width and box["height"] >= 10 for box in boxes)
        heights = sorted(box["y"] for box in boxes)
        # none covers another
        assert min(b - a for a, b in pairwise(heights)) >= 10
    page.close()


@pytest.mark.parametrize("name", NAMES)
def test_the_numbers_are_printed_too(browser: Browser, files: dict[str, Path], name: str) -> None:
    page = browser.new_page(viewport={"width": 1000, "height": 800})
    page.goto(files[name].as_uri())
    page.wait_for_function("document.querySelectorAll('.plot .main-svg:first-child').length === 2")
    row = re.sub(r"\s+", " ", page.locator("#chart-force-tangential tbody tr").last.inner_text())
    pages = PdfReader(io.BytesIO(page.pdf(format="A4"))).pages
    text = re.sub(r"\s+", " ", " ".join(p.extract_text() for p in pages))
    assert row.split()[1] in text
    assert row.split()[2] in text
    assert len(pages) <= 8
    page.close()


def test_without_scripts_the_tables_stand_alone(browser: Browser, files: dict[str, Path]) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(files["steel-1045"].as_uri())
    for figure in page.locator("figure").all():
        assert figure.locator("table").is_visible()
        assert not figure.locator(".plot").is_visible()
    context.close()

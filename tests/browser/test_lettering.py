"""The estimate of how wide the lettering of a drawing is, against a browser."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from loadsim import planner
from loadsim.report import drawings, svg

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser


def test_lettering_is_as_wide_as_estimated(browser: Browser, plans: dict[str, planner.Plan]) -> None:
    parts = []
    for n, p in plans.items():
        parts += [drawings.slot_section(p.job, p.result.settings, id=f"s-{n}"), drawings.cutter(p.job, id=f"c-{n}"),
                  drawings.engagement(p.job, p.result.settings, id=f"e-{n}")]  # fmt: skip
    page = browser.new_page()
    page.set_content("".join(parts))
    measured = page.evaluate("[...document.querySelectorAll('text')].filter(t => t.textContent).map(t => [t.textContent, t.getBBox().width])")
    page.close()
    assert len(measured) > 100
    for words, width in measured:
        assert width <= svg.text_width(words) * 1.03 + 0.2, words  # 3 %: faces differ

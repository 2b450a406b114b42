"""The estimate of how wide the lettering of a drawing is, against a browser."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from loadsim.answers import results
from loadsim.report.drawings import cutter_view, pass_view, slot_view, svg

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser


def test_lettering_is_as_wide_as_estimated(
    browser: Browser, plans: dict[str, results.Plan]
) -> None:
    parts = []
    for n, p in plans.items():
        parts += [
            slot_view.slot_section(p.job, p.result.settings, id=f"s-{n}"),
            cutter_view.cutter(p.job, id=f"c-{n}"),
            pass_view.engagement(p.job, p.result.settings, id=f"e-{n}"),
        ]
    page = browser.new_page()
    page.set_content("".join(parts))
    measured = page.evaluate(
        "[...document.querySelectorAll('text')].filter(t => t.textContent).map(t => [t.textContent, t.getBBox().width])"
    )
    page.close()
    assert len(measured) > 100
    for words, width in measured:
        assert width <= svg.text_width(words) * 1.03 + 0.2, words  # 3 %: faces differ

"""For all tests: nobody's own shop file counts, and none is written among the settings of whoever
runs them; none is timed. One browser for all: Debian's Chromium, headless; without it the tests that
need one are skipped with the reason.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser


os.environ["LOADSIM_SHOP"] = ""

# no test is timed: a busy machine must not turn one red
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")

CHROMIUM = Path(os.environ.get("CHROMIUM", "/usr/bin/chromium"))
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if not CHROMIUM.exists():
        pytest.skip(f"needs Chromium at {CHROMIUM} (set CHROMIUM to another place)")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as tool:
        found = tool.chromium.launch(executable_path=str(CHROMIUM), args=QUIET)
        yield found
        found.close()

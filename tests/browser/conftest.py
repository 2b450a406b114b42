"""One browser for all: Debian's Chromium, headless; without it these tests are skipped with the reason."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from loadsim import plan
from loadsim.answers import results
from loadsim.job import write
from loadsim.job.read import job_from_text
from loadsim.report import html
from loadsim.risk import samples

if TYPE_CHECKING:
    from playwright.sync_api import Browser

CHROMIUM = Path(os.environ.get("CHROMIUM", "/usr/bin/chromium"))
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
WHEN = "2026-01-02 03:04"
#: a head smaller than its undercut: several passes; invented for the test
SIDE_PASSES = {
    'undercut_width = "10.4 mm"': 'undercut_width = "10.9 mm"', 'number = "F-118"': 'number = "S-1"',
    'neck_diameter = "5.2 mm"': 'neck_diameter = "5.0 mm"', 'units = "metric"': 'units = "inch"',
}  # fmt: skip


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if not CHROMIUM.exists():
        pytest.skip(f"needs Chromium at {CHROMIUM} (set CHROMIUM to another place)")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as tool:
        found = tool.chromium.launch(executable_path=str(CHROMIUM), args=QUIET)
        yield found
        found.close()


def side_passes() -> str:
    text = write.example("t-track")
    for old, now in SIDE_PASSES.items():
        assert old in text
        text = text.replace(old, now)
    return text


@pytest.fixture(scope="session")
def plans() -> dict[str, results.Plan]:
    texts = {n: write.example(n) for n in ("t-track", "thin-neck", "one-sided")} | {
        "side-passes": side_passes()
    }
    return {n: plan(job_from_text(t, n), samples.draws(samples_log2=10)) for n, t in texts.items()}


@pytest.fixture(scope="session")
def files(
    plans: dict[str, results.Plan], tmp_path_factory: pytest.TempPathFactory
) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("reports")
    return {n: html.write_report(p, folder / f"{n}.html", written=WHEN) for n, p in plans.items()}

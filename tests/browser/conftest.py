"""Reports of a few jobs, for the browser to open."""

from __future__ import annotations

from pathlib import Path

import pytest

from loadsim import plan
from loadsim.answers import results
from loadsim.job import write
from loadsim.job.read import job_from_text
from loadsim.report import html
from loadsim.risk import samples

WHEN = "2026-01-02 03:04"
#: a head smaller than its undercut: several passes; invented for the test
SIDE_PASSES = {
    'undercut_width = "10.4 mm"': 'undercut_width = "10.9 mm"', 'number = "F-118"': 'number = "S-1"',
    'neck_diameter = "5.2 mm"': 'neck_diameter = "5.0 mm"', 'units = "metric"': 'units = "inch"',
}  # fmt: skip


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

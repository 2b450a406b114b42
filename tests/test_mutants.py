"""Every listed wrong edit turns its tests red. The list cannot rot: the text to change must stand exactly once."""

from __future__ import annotations

import os
import queue
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
MUTANTS = tomllib.loads((ROOT / "tests" / "mutants.toml").read_text(encoding="utf-8"))["mutant"]
NAMES = [f"{m['file']}: {m['why']}" for m in MUTANTS]
AT_ONCE = min(os.cpu_count() or 1, 4)

pytestmark = pytest.mark.slow
Run = subprocess.CompletedProcess[str]


def copied(there: Path) -> Path:
    for name in ("loadsim", "materials", "tests", "reports"):
        shutil.copytree(ROOT / name, there / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, there / name)
    return there


def tried(copies: queue.Queue[Path], mutant: dict[str, str]) -> Run:
    """Run the tests of one wrong edit in a copy that nobody else uses meanwhile."""
    copy = copies.get()
    path = copy / "loadsim" / mutant["file"]
    right = path.read_text(encoding="utf-8")
    try:
        path.write_text(right.replace(mutant["old"], mutant["new"]), encoding="utf-8")
        return subprocess.run(
            [
                sys.executable,
                "-m",
                "pytest",
                "-x",
                "-q",
                "-p",
                "no:cacheprovider",
                "-m",
                "not slow",
                *mutant["tests"],
            ],
            cwd=copy,
            capture_output=True,
            text=True,
            check=False,
            timeout=300,
            env={**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"},
        )
    finally:
        path.write_text(right, encoding="utf-8")
        copies.put(copy)


@pytest.fixture(scope="module")
def runs(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[dict[str, Future[Run]]]:
    """Start every wrong edit that was chosen, as many at once as there are processors."""
    copies: queue.Queue[Path] = queue.Queue()
    for i in range(AT_ONCE):
        copies.put(copied(tmp_path_factory.mktemp(f"mutants{i}")))
    chosen = {
        item.callspec.params["name"]
        for item in request.session.items
        if isinstance(item, pytest.Function)
        and item.module is request.module
        and "name" in item.callspec.params
    }
    with ThreadPoolExecutor(AT_ONCE) as pool:
        found = {
            n: pool.submit(tried, copies, m)
            for n, m in zip(NAMES, MUTANTS, strict=True)
            if n in chosen
        }
        yield found
        for run in found.values():
            run.cancel()


@pytest.mark.parametrize("name", NAMES)
def test_the_suite_kills_it(runs: dict[str, Future[Run]], name: str) -> None:
    mutant = MUTANTS[NAMES.index(name)]
    there = (ROOT / "loadsim" / mutant["file"]).read_text(encoding="utf-8").count(mutant["old"])
    assert there == 1, "the list has rotted: the text to change does not stand exactly once"
    run = runs[name].result()
    # 1: tests failed; 2 is an error in collecting, 5 is no test chosen: neither is a kill
    assert run.returncode == 1, (
        f"not killed by {mutant['tests']} (exit {run.returncode}):\n{run.stdout[-1500:]}"
    )

"""Every listed wrong edit turns its tests red. The list cannot rot: the text to change must stand exactly once."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
MUTANTS = tomllib.loads((ROOT / "tests" / "mutants.toml").read_text(encoding="utf-8"))["mutant"]

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    there = tmp_path_factory.mktemp("mutants")
    for name in ("loadsim", "materials", "tests", "reports"):
        shutil.copytree(ROOT / name, there / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, there / name)
    return there


@pytest.mark.parametrize("mutant", MUTANTS, ids=[f"{m['file']}: {m['why']}" for m in MUTANTS])
def test_the_suite_kills_it(copy: Path, mutant: dict[str, str]) -> None:
    path = copy / "loadsim" / mutant["file"]
    right = path.read_text(encoding="utf-8")
    assert right.count(mutant["old"]) == 1, "the list has rotted: the text to change does not stand exactly once"
    path.write_text(right.replace(mutant["old"], mutant["new"]), encoding="utf-8")
    try:
        run = subprocess.run(
            [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-m", "not slow", *mutant["tests"]],
            cwd=copy, capture_output=True, text=True, check=False, timeout=300,
            env={**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"},
        )  # fmt: skip
    finally:
        path.write_text(right, encoding="utf-8")
    # 1: tests failed; 2 is an error in collecting, 5 is no test chosen: neither is a kill
    assert run.returncode == 1, f"not killed by {mutant['tests']} (exit {run.returncode}):\n{run.stdout[-1500:]}"

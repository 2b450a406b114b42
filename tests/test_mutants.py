"""Every listed wrong edit turns its tests red: every twelfth one in each run, all of them by `-m nightly` beside it. The
list cannot rot: the text to change must stand exactly once.
"""

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
NAMES = [f"{m['file']}: {m['why']}" for m in MUTANTS]

pytestmark = pytest.mark.slow
Run = subprocess.CompletedProcess[str]


def copied(there: Path) -> Path:
    for name in ("loadsim", "materials", "tests", "reports"):
        shutil.copytree(ROOT / name, there / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, there / name)
    return there


def alone() -> dict[str, str]:
    """The environment without what says that this process is one of several."""
    return {k: v for k, v in os.environ.items() if not k.startswith("PYTEST_")}


def tried(copy: Path, mutant: dict[str, str]) -> Run:
    """Run the tests of one wrong edit in a copy."""
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
                "-n",
                "0",
                "-m",
                "not slow",
                *mutant["tests"],
            ],
            cwd=copy,
            capture_output=True,
            text=True,
            check=False,
            timeout=300,
            env=alone() | {"PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"},
        )
    finally:
        path.write_text(right, encoding="utf-8")


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the project for this process alone: several run at once."""
    return copied(tmp_path_factory.mktemp("mutants"))


def test_every_text_to_change_stands_once() -> None:
    for m in MUTANTS:
        there = (ROOT / "loadsim" / m["file"]).read_text(encoding="utf-8").count(m["old"])
        assert there == 1, f"{m['file']}: {m['why']}"


LATER = [
    x if i % 12 == 0 else pytest.param(x, marks=pytest.mark.nightly) for i, x in enumerate(NAMES)
]


@pytest.mark.parametrize("name", LATER)
def test_the_suite_kills_it(copy: Path, name: str) -> None:
    mutant = MUTANTS[NAMES.index(name)]
    run = tried(copy, mutant)
    # 1: tests failed; 2 is an error in collecting, 5 is no test chosen: neither is a kill
    assert run.returncode == 1, (
        f"not killed by {mutant['tests']} (exit {run.returncode}):\n{run.stdout[-1500:]}"
    )

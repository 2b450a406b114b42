"""The package as others get it: a wheel in a fresh environment, and a plain checkout."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
pytestmark = pytest.mark.slow


def call(*args: str, cwd: str | Path = "/", path: str = "") -> str:
    env = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"} | (
        {"PYTHONPATH": path} if path else {}
    )
    done = subprocess.run(
        args, cwd=cwd, env=env, capture_output=True, text=True, check=False, timeout=300
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def checkout(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the repository holds and nothing beside it, so that no file left by a build is taken for part of it."""
    folder = tmp_path_factory.mktemp("checkout")
    for name in ("loadsim", "materials"):
        shutil.copytree(
            ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__", "_materials")
        )
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, folder / name)
    return folder


@pytest.fixture(scope="module")
def wheel(checkout: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    pytest.importorskip("build")
    pytest.importorskip("hatchling")
    out = tmp_path_factory.mktemp("dist")
    call(
        sys.executable,
        "-m",
        "build",
        "--wheel",
        "--no-isolation",
        "--outdir",
        str(out),
        str(checkout),
    )
    (found,) = out.glob("*.whl")
    return found


def test_the_wheel_holds_the_materials_and_no_tests(wheel: Path, checkout: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    inside = {
        n.removeprefix("loadsim/_materials/") for n in names if n.startswith("loadsim/_materials/")
    }
    assert inside >= {
        str(p.relative_to(checkout / "materials")) for p in (checkout / "materials").rglob("*.toml")
    }
    assert [n for n in names if n.startswith(("tests", "reports"))] == []
    assert "loadsim/py.typed" in names
    assert any(n.startswith("loadsim/base/sources.d/") for n in names)


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of commands of an environment that has the wheel, with the libraries of this one lent to it."""
    home = tmp_path_factory.mktemp("venv")
    venv.create(home, with_pip=False)
    (site,) = home.glob("lib/python*/site-packages")
    call(
        sys.executable,
        "-m",
        "pip",
        "--disable-pip-version-check",
        "install",
        "--quiet",
        "--no-deps",
        "--no-index",
        "--target",
        str(site),
        str(wheel),
    )
    libraries = (
        site.parent / "lent"
    )  # a path file, not site-packages itself: an editable install there must not be seen
    libraries.mkdir()
    for entry in Path(pytest.__file__).resolve().parent.parent.iterdir():
        if "loadsim" not in entry.name and entry.suffix != ".pth":
            (libraries / entry.name).symlink_to(entry)
    (site / "lent.pth").write_text(str(libraries) + "\n", encoding="utf-8")
    return home / "bin"


def test_the_wheel_works_from_the_root_folder(installed: Path, tmp_path: Path) -> None:
    python = str(installed / "python")
    where = call(python, "-c", "import loadsim; print(loadsim.__file__)").strip()
    assert where.startswith(str(installed.parent)), where
    assert "al-6061-t6" in call(python, "-m", "loadsim", "materials")
    assert json.loads(call(python, "-m", "loadsim", "materials", "hss-m2", "--json"))["sources"]
    call(python, "-m", "loadsim", "new", "--example", "t-track", str(tmp_path / "j.toml"))
    assert json.loads(call(python, "-m", "loadsim", "check", "--json", str(tmp_path / "j.toml")))[
        "verdict"
    ]


def test_a_plain_checkout_works_without_installing(checkout: Path, tmp_path: Path) -> None:
    def here(*args: str) -> str:
        return call(
            sys.executable,
            "-c",
            "import loadsim, sys; assert loadsim.__file__.startswith(sys.argv.pop(1)), loadsim.__file__\n"
            "from loadsim.cli import main; main()",
            str(checkout),
            *args,
            path=str(checkout),
        )

    assert "al-6061-t6" in here("materials")
    here("new", "--example", "t-track", str(tmp_path / "j.toml"))
    assert json.loads(here("check", "--json", str(tmp_path / "j.toml")))["verdict"]

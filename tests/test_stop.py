"""The command stopped from the keyboard on a terminal: exit status 2, one line said, no file left."""

from __future__ import annotations

import os
import re
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from loadsim.job.write import example

posix = pytest.mark.skipif(os.name != "posix", reason="terminals and signals of POSIX")
FEEDS = "cut.feed_per_tooth=0.005 mm:0.03 mm:80"
NECKS = "cutter.neck_diameter=2.5 mm:6 mm:80"


def run_map(
    folder: Path, workers: int, stop: Callable[[str, float], bool]
) -> tuple[int, str, float]:
    """Run the command on a terminal and press Ctrl-C once; return status, what it showed, and how long it took to end."""
    (folder / "job.toml").write_text(example("t-track"))
    ours, theirs = os.openpty()
    command = [
        sys.executable,
        "-m",
        "loadsim",
        "map",
        "job.toml",
        "--over",
        FEEDS,
        "--over",
        NECKS,
        "--csv",
        "map.csv",
        "--workers",
        str(workers),
    ]
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[1])}
    start = time.monotonic()
    pressed = 0.0
    shown = b""
    with subprocess.Popen(
        command,
        cwd=folder,
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        start_new_session=True,
        env=env,
    ) as process:
        os.close(theirs)
        while time.monotonic() - start < 120:
            if select.select([ours], [], [], 0.02)[0]:
                try:
                    shown += os.read(ours, 4096)
                except OSError:  # the other end is closed
                    break
            if not pressed and stop(shown.decode(errors="replace"), time.monotonic() - start):
                pressed = time.monotonic()
                os.killpg(
                    process.pid, signal.SIGINT
                )  # a terminal sends it to every process in the foreground
        status = process.wait(timeout=30)
    os.close(ours)
    return status, shown.decode(), time.monotonic() - pressed


def past(percent: int) -> Callable[[str, float], bool]:
    return lambda shown, _: any(int(x) >= percent for x in re.findall(r"(\d+)%", shown))


@posix
@pytest.mark.parametrize("workers", [1, 2])
def test_ctrl_c_with_the_bar_on_its_way(workers: int, tmp_path: Path) -> None:
    status, shown, seconds = run_map(tmp_path, workers, past(2))
    assert status == 2
    assert "points  [" in shown and "100%" not in shown
    assert shown.replace("\r", "").endswith("\nStopped; nothing was written.\n")
    assert "Traceback" not in shown and "Error" not in shown and shown.count("Interrupt") == 0
    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]
    assert seconds < 20, "only the pieces that have begun are waited for"


@posix
@pytest.mark.parametrize("seconds", [0.3, 0.0])
def test_ctrl_c_while_workers_are_starting(seconds: float, tmp_path: Path) -> None:
    begun: list[float] = []

    def soon(shown: str, now: float) -> bool:
        if "points" in shown:
            begun.append(now)
        return bool(begun) and now - begun[0] >= seconds

    status, shown, _ = run_map(tmp_path, 2, soon)
    assert status == 2
    assert shown.replace("\r", "").endswith("\nStopped; nothing was written.\n")
    assert "Traceback" not in shown and "Interrupt" not in shown
    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]


def test_the_status_holds_where_an_import_was_stopped(tmp_path: Path) -> None:
    # CPython: `python -m` remembers an interrupt inside exec of a text, caught or not, and ends by the signal
    (tmp_path / "pandas.py").write_text("exec('raise KeyboardInterrupt')")
    (tmp_path / "job.toml").write_text(example("t-track"))
    command = [
        sys.executable,
        "-m",
        "loadsim",
        "map",
        "job.toml",
        "--over",
        "cut.feed_per_tooth=0.01 mm,0.02 mm",
        "--csv",
        "map.csv",
        "--no-probability",
    ]
    env = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join([str(tmp_path), str(Path(__file__).parents[1])]),
    }
    run = subprocess.run(
        command, cwd=tmp_path, env=env, capture_output=True, text=True, timeout=60, check=False
    )
    assert (run.returncode, run.stdout, run.stderr.strip()) == (
        2,
        "",
        "Stopped; nothing was written.",
    )
    assert not (tmp_path / "map.csv").exists()

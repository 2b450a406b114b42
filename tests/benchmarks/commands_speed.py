"""How long the longer commands take against the shorter one they build on, whole processes, in pairs.

Limits: `plan` with `[cut]` empty, `grind` and `trial` at most 6 times `check`; `report` at most 3 times `plan`.
Run: python tests/benchmarks/commands_speed.py [PAIRS]
"""

from __future__ import annotations

import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ENV = {**os.environ, "PYTHONPATH": str(ROOT)}
#: command -> what it is compared with, its further arguments, the limit of the ratio
COMPARED = {
    "plan": ("check", [], 6.0),
    "report": ("plan", ["-o", "{folder}/r.html"], 3.0),
    "grind": ("check", [], 6.0),
    "trial": ("check", [], 6.0),
}


def timed(command: str, job: Path, more: list[str]) -> float:
    """Seconds of one run; a run that broke is no measurement."""
    start = time.perf_counter()
    run = subprocess.run(
        [sys.executable, "-m", "loadsim", command, str(job), *more],
        env=ENV,
        capture_output=True,
        text=True,
        check=False,
    )
    seconds = time.perf_counter() - start
    if run.returncode not in (0, 1):
        sys.exit(f"loadsim {command} failed: {run.stderr}")
    return seconds


def known() -> str:
    return subprocess.run(
        [sys.executable, "-m", "loadsim", "--help"],
        env=ENV,
        capture_output=True,
        text=True,
        check=True,
    ).stdout


def main() -> None:
    pairs = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    worst = 0.0
    there = known()
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "job.toml"
        example = subprocess.run(
            [sys.executable, "-m", "loadsim", "new", "--example", "t-track", "-"],
            env=ENV,
            capture_output=True,
            text=True,
            check=True,
        )
        job.write_text(
            re.sub(r"(?m)^(spindle_speed|feed_per_tooth|direction) = .*$", "", example.stdout)
        )
        for command, (other, arguments, limit) in COMPARED.items():
            if not re.search(rf"(?m)^  {command}\b", there):
                continue
            more = [x.format(folder=folder) for x in arguments]
            (
                timed(other, job, []),
                timed(command, job, more),
            )  # once unmeasured: files into the cache
            runs = [
                (timed(other, job, []), timed(command, job, more)) for _ in range(pairs)
            ]  # in pairs, so that a slow moment hits both
            ratio = statistics.median(b / a for a, b in runs)
            worst = max(worst, ratio / limit)
            print(
                f"{command:<7} {statistics.median(b for _, b in runs):.2f} s, {ratio:.2f} times {other} (limit {limit:g})"
            )
    sys.exit(0 if worst <= 1 else 1)


if __name__ == "__main__":
    main()

"""How long `loadsim check` takes against loading numpy and scipy.special alone, and how much memory it needs.

Limits: the median of the ratio is at most 3, and the peak is at most 300 MiB.
Run: python tests/benchmarks/check_speed.py [JOB] [PAIRS]
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MAX_RATIO = 3.0
MAX_MIB = 300.0
BARE = [sys.executable, "-c", "import numpy, scipy.special"]


def timed(command: list[str]) -> tuple[float, float, int]:
    """Seconds, peak memory in MiB, and exit status of a command of its own."""
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    start = time.perf_counter()
    with subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, env=env
    ) as process:
        _, status, used = os.wait4(process.pid, 0)
        if process.stderr and (said := process.stderr.read()):  # a run that broke is no measurement
            sys.exit(said.decode())
        seconds = time.perf_counter() - start
        process.returncode = os.waitstatus_to_exitcode(status)
    return seconds, used.ru_maxrss / 1024, process.returncode  # kB on Linux


def main() -> None:
    pairs = int(sys.argv[2]) if len(sys.argv) > 2 else 15
    with tempfile.TemporaryDirectory() as folder:
        job = sys.argv[1] if len(sys.argv) > 1 else f"{folder}/job.toml"
        if len(sys.argv) < 2:
            subprocess.run(
                [sys.executable, "-m", "loadsim", "new", "--example", "t-track", job],
                check=True,
                env={**os.environ, "PYTHONPATH": str(ROOT)},
                stderr=subprocess.DEVNULL,
            )
        command = [sys.executable, "-m", "loadsim", "check", job]
        timed(BARE), timed(command)  # once unmeasured: files into the cache
        runs = [
            (timed(BARE), timed(command)) for _ in range(pairs)
        ]  # in pairs, so that a slow moment hits both
    if any(check[2] not in (0, 1) for _, check in runs):
        sys.exit("loadsim check failed")
    ratio = statistics.median(check[0] / bare[0] for bare, check in runs)
    peak = max(check[1] for _, check in runs)
    print(
        f"load numpy and scipy.special  {statistics.median(b[0] for b, _ in runs):.3f} s (median of {pairs})"
    )
    print(f"loadsim check                 {statistics.median(c[0] for _, c in runs):.3f} s")
    print(f"median ratio                  {ratio:.2f} (limit {MAX_RATIO:g})")
    print(f"peak memory                   {peak:.0f} MiB (limit {MAX_MIB:g})")
    sys.exit(0 if ratio <= MAX_RATIO and peak <= MAX_MIB else 1)


if __name__ == "__main__":
    main()

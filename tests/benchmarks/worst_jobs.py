"""What the ten heaviest jobs we know of take: processor time and memory of whole commands.

Limits: 20 s of processor time (user and system, all threads) and 500 MB each, whatever else the
machine does. Run: python tests/benchmarks/worst_jobs.py [PART OF A NAME]...
"""

from __future__ import annotations

import copy
import json
import os
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from loadsim.job.write import completed, example

#: Processor time of one command [s]; its largest resident memory [MB].
MAX_SECONDS = 20.0
MAX_MB = 500.0

#: Run inside the child: what it took itself, without the process that it was forked from.
MEASURED = """
import atexit, re, resource, sys
from pathlib import Path
def tell():
    took = resource.getrusage(resource.RUSAGE_SELF)
    peak = re.search(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text())[1]
    print(took.ru_utime + took.ru_stime, peak, file=sys.stderr)
atexit.register(tell)
sys.argv = ["loadsim", *sys.argv[1:]]
from loadsim.cli import main
main()
"""


def changed(name: str, tables: dict[str, dict[str, Any]], *gone: str) -> dict[str, Any]:
    """An example with other values, and without some keys of [cut]."""
    data = copy.deepcopy(tomllib.loads(example(name)))
    for table, values in tables.items():
        data.setdefault(table, {}).update(values)
    for key in gone:
        data["cut"].pop(key, None)
    return data


def text_of(data: dict[str, Any]) -> str:
    """A job file with its test cuts."""
    tables = [
        "\n[[trial]]\n" + "".join(f"{k} = {json.dumps(v)}\n" for k, v in cut.items())
        for cut in data.get("trial", [])
    ]
    return completed({k: v for k, v in data.items() if k != "trial"}) + "".join(tables)


def test_cut(k: int, force: float, outcome: str = "survived") -> dict[str, Any]:
    """One test cut of a series, each with other settings: none can stand for another."""
    return {
        "spindle_speed": f"{2000 + k} rpm",
        "feed_per_tooth": f"{0.008 + 0.0001 * k:.4f} mm/tooth",
        "length": f"{20 + k} mm",
        "outcome": outcome,
        "cutter": "another",
        "force": f"{force:g} N",
        "force_uncertainty": f"{0.4 * force:g} N",
    }


def wide(teeth: int, **cutter: Any) -> dict[str, Any]:
    """Side passes on both sides and many teeth."""
    return changed(
        "t-track",
        {
            "slot": {"undercut_width": "11.2 mm"},
            "cutter": {"teeth": teeth, **cutter},
            "job": {"quantity": 100},
        },
        "feed_per_tooth",
        "spindle_speed",
    )


def jobs() -> dict[str, tuple[list[str], dict[str, Any]]]:
    """Name -> (command, job)."""
    steps = {"cut": {"stepover": "0.05 mm"}}
    closed = changed(
        "t-track",
        {
            "slot": {"open_ends": 0, "undercut_height": "5.2 mm", "depth": "10 mm"},
            "cutter": {
                "corner_radius": "0.9 mm",
                "neck_length": "8 mm",
                "neck_diameter": "4 mm",
                "stickout": "19 mm",
                "teeth": 6,
                "head_diameter": "9 mm",
            },
        },
        "feed_per_tooth",
        "spindle_speed",
        "direction",
    )
    finest = changed("one-sided", {"cut": {"stepover": "0.0932 mm"}})
    cuts = [test_cut(k, 40.0) for k in range(100)]
    against = [test_cut(k, 20.0 if k % 2 else 400.0) for k in range(50)]
    draft = {k: v for k, v in changed("thin-neck", {}).items() if k != "cutter"}
    draft["cutter"] = {"material": "hss-m2"}
    return {
        "12 teeth, side passes": (["report", "-o", "-"], wide(12)),
        "12 teeth, side passes, next test cut": (["trial"], wide(12)),
        "12 teeth, many side passes": (["plan"], changed("t-track", {**wide(12), **steps})),
        "100 test cuts": (["report", "-o", "-"], changed("t-track", {}) | {"trial": cuts}),
        "50 contradicting test cuts, 12 teeth": (["check"], wide(12) | {"trial": against}),
        "closed slot, large corner radius": (["plan"], closed),
        "finest stepover": (["report", "-o", "-"], finest),
        "finest stepover, 12 teeth, closed": (
            ["check"],
            changed(
                "one-sided",
                {
                    "cut": {"stepover": "0.0932 mm"},
                    "cutter": {"teeth": 12},
                    "slot": {"open_ends": 0},
                },
            ),
        ),
        "a cutter for a deep slot": (["grind"], draft),
        "map of 64 x 64": (
            [
                "map",
                "--over=cut.feed_per_tooth=0.005 mm:0.03 mm:64",
                "--over=cutter.neck_diameter=2.5 mm:6 mm:64",
                "--csv={folder}/m.csv",
            ],
            changed("t-track", {}),
        ),
    }


def measured(command: list[str], job: Path) -> tuple[int, float, float, str]:
    """Exit status, processor seconds, MB and the last line said, of one command."""
    name, *more = command
    done = subprocess.run(
        [sys.executable, "-c", MEASURED, name, str(job), *more],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    *said, last = done.stderr.rstrip("\n").split("\n")
    seconds, peak = last.split()
    return done.returncode, float(seconds), float(peak) / 1024, said[-1] if said else ""


def main() -> None:
    worst = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for name, (command, data) in jobs().items():
            if sys.argv[1:] and not any(part in name for part in sys.argv[1:]):
                continue
            job = Path(folder) / "job.toml"
            job.write_text(text_of(data), encoding="utf-8")
            filled = [part.format(folder=folder) for part in command]
            status, seconds, peak, said = measured(filled, job)
            worst = max(worst, seconds / MAX_SECONDS, peak / MAX_MB)
            print(
                f"{name:<38} {command[0]:<7}{seconds:6.1f} s {peak:6.0f} MB  exit {status}",
                flush=True,
            )
            if status == 2:
                print(f"    {said[:160]}")
    print(f"limits {MAX_SECONDS:g} s of processor time, {MAX_MB:g} MB")
    sys.exit(0 if worst <= 1 else 1)


if __name__ == "__main__":
    main()

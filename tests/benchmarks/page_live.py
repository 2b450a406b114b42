"""How long the page takes from the pause in typing to a new verdict, on the server's side: the neck's
diameter changed letter by letter, each example as given and with its settings left to be picked, a
whole count at work meanwhile or not.

Limit: 250 ms for a cutter of two teeth on a free machine.
Run: python tests/benchmarks/page_live.py [TIMES]
"""

from __future__ import annotations

import re
import statistics
import sys
import tempfile
import time
from pathlib import Path

from loadsim.job import write
from loadsim.page import views
from loadsim.page.desk import Desk
from loadsim.page.guard import Guard
from loadsim.page.start import warm

MOST_MS = 250.0
NECK = "cutter.neck_diameter"


def jobs() -> dict[str, str]:
    """The examples, and what makes them slower: settings to be picked, a head that fills nothing."""
    given = {name: write.example(name) for name in ("t-track", "thin-neck", "one-sided")}
    picked = {
        f"{name}, picked": re.sub(r"(?ms)^\[cut\].*?(?=^\[|^# \[|\Z)", "", text)
        for name, text in given.items()
    }
    small = re.sub(r"(?m)^(head_diameter *= *)\S+ \S+", r'\1"9 mm"', picked["t-track, picked"])
    return {**given, **picked, "t-track, side passes": small}


def live(text: str, times: int, *, counting: bool) -> list[float]:
    """Milliseconds of each new verdict."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_text(text, encoding="utf-8")
        desk, guard = Desk(path), Guard(port=1)
        number, unit = desk.answers.typed[NECK].split()
        took = []
        for n in range(times):
            if counting:
                views.page(desk, guard, "cutter")
                time.sleep(0.3 * (n + 1) / times)  # somewhere in the count
            start = time.perf_counter()
            desk.take({NECK: f"{float(number) * (1 - 0.002 * (n + 1)):.4f} {unit}"}, final=False)
            views.page(desk, guard, "cutter", live=True)
            took.append(1e3 * (time.perf_counter() - start))
        desk.end()
    return took


def main() -> None:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    warm()
    over = False
    for name, text in jobs().items():
        teeth = int(re.findall(r"(?m)^teeth *= *(\d+)", text)[0])
        for counting in (False, True):
            took = live(text, times, counting=counting)
            middle, worst = statistics.median(took), max(took)
            over |= teeth == 2 and not counting and middle > MOST_MS
            beside = "while counting" if counting else ""
            print(f"{name:24} {teeth} teeth  median {middle:4.0f} worst {worst:4.0f} ms {beside}")
    sys.exit(1 if over else 0)


if __name__ == "__main__":
    main()

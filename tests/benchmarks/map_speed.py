"""How long a map of 100 x 100 points takes: loads alone in one process, and with snap probability on two.

Limit: with probability at most 60 s on two processes; the two tables must agree in their loads.
Run: python tests/benchmarks/map_speed.py
"""

from __future__ import annotations

import multiprocessing
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"  # before numpy is loaded, here and in the workers
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
import pandas as pd

from loadsim.answers.maps import arrays
from loadsim.answers.maps.table import table
from loadsim.job.read import job_from_text
from loadsim.job.write import example

MAX_SECONDS = 60.0


def main() -> None:
    job = job_from_text(example("t-track"), "t-track")
    over = {
        "cut.feed_per_tooth": np.linspace(0.005, 0.03, 100),
        "cutter.neck_diameter": np.linspace(2.5, 6.0, 100),
    }
    table(
        job, {k: v[:2] for k, v in over.items()}, probability=False
    )  # once unmeasured: files into the cache
    start = time.perf_counter()
    loads = table(job, over, probability=False)
    alone = time.perf_counter() - start
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as executor:
        start = time.perf_counter()
        whole = table(job, over, executor=executor)
        seconds = time.perf_counter() - start
    pd.testing.assert_frame_equal(loads, whole.drop(columns=list(arrays.CHANCE)), check_exact=True)
    assert whole.drop(columns="note").notna().all(axis=None)
    print(f"{len(loads):,} points, loads and limits, one process     {alone:.2f} s")
    print(
        f"{len(whole):,} points with snap probability, two processes  {seconds:.1f} s (limit {MAX_SECONDS:g})"
    )
    sys.exit(0 if seconds <= MAX_SECONDS else 1)


if __name__ == "__main__":
    main()

"""Processes that share the work of a map."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from concurrent.futures import Executor


@contextmanager
def worker_pool(n: int) -> Iterator[Executor | None]:
    """Give a pool of processes, one thread each, or None when this process does the work alone.

    Parameters
    ----------
    n : int
        How many processes.

    Yields
    ------
    pool : Executor or None
        Shut down at the end.
    """
    if n == 1:
        yield None
        return
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")  # read by the workers when they load numpy
    deaf: dict[str, Any] = {
        "initializer": signal.signal,
        "initargs": (signal.SIGINT, signal.SIG_IGN),
    }
    with ProcessPoolExecutor(n, mp_context=get_context("spawn"), **deaf) as pool:
        _start(pool, n)
        yield pool


def _start(pool: Executor, n: int) -> None:
    """Start the workers deaf to Ctrl-C, which a terminal sends to them as well: only this process
    answers to it.
    """
    if not hasattr(signal, "pthread_sigmask"):
        return
    # they inherit this; here it is only put off
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        for _ in range(n):
            pool.submit(int)
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)

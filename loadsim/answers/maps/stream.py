"""A map of any size to a file: slab by slab along its first quantity; memory stays small."""

from __future__ import annotations

import csv
import io
import itertools
import math
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TYPE_CHECKING

from loadsim.answers.maps.axes import axes_of, csv_text
from loadsim.answers.maps.table import table
from loadsim.base.files import write_whole
from loadsim.job.tables import Job

if TYPE_CHECKING:
    from concurrent.futures import Executor

#: Most points that are held at once, but for one value of the first quantity. [1]
SLAB = 2**14


@dataclass(frozen=True, slots=True, kw_only=True)
class _Slab:
    """Rows that stand one after the other in the file of rows."""

    columns: tuple[str, ...]
    rows: int


def write_table(
    job: Job,
    over: Mapping[str, Sequence[float]],
    path: Path,
    *,
    new: bool = False,
    probability: bool = True,
    executor: Executor | None = None,
    chunk: int = 64,
    progress: Callable[[int, int], None] | None = None,
    slab: int = SLAB,
) -> int:
    """Answer a job at every point of a grid and write the rows as comma-separated values, whole or
    not at all.

    Parameters
    ----------
    job : Job
        From `loadsim.read_job`.
    over : dict
        As in `loadsim.answers.maps.table.table`.
    path : Path
        Where to.
    new : bool
        Whether there must be nothing yet.
    probability : bool
        Whether the snap probability is wanted.
    executor : Executor, optional
        Shares the work of a slab; None works in this process.
    chunk : int
        Most points in one piece of work. [1]
    progress : callable, optional
        Called with the pieces of work done and their number, of all slabs.
    slab : int
        Most points held at once. [1]

    Returns
    -------
    rows : int

    Raises
    ------
    InputError
        As of `table`, or if the file cannot be written; nothing is left behind.
    """
    axes = axes_of(over)
    first, *others = axes
    each = max(1, slab // math.prod(len(axes[key]) for key in others))
    starts = range(0, len(axes[first]), each)
    slabs: list[_Slab] = []
    with tempfile.TemporaryFile("w+", encoding="utf-8", newline="\n") as held:
        for k, start in enumerate(starts):
            frame = table(
                job,
                axes | {first: axes[first][start : start + each]},
                probability=probability,
                executor=executor,
                chunk=chunk,
                progress=_of_all(progress, k, len(starts)),
            )
            held.write(csv_text(frame).split("\n", 1)[1])
            slabs.append(_Slab(columns=tuple(frame.columns), rows=len(frame)))
        held.seek(0)
        write_whole(path, _joined(slabs, held), new=new)
    return sum(x.rows for x in slabs)


def _of_all(
    progress: Callable[[int, int], None] | None, k: int, count: int
) -> Callable[[int, int], None] | None:
    """Progress of slab k among all of them, which are about alike."""
    if progress is None or count == 1:
        return progress
    tell = progress
    return lambda done, of: tell(k * of + done, count * of)


def _joined(slabs: list[_Slab], held: IO[str]) -> Iterator[str]:
    """Lines of the whole table; a limit that applies in some slabs alone is left empty in the
    others.
    """
    columns = max((x.columns for x in slabs), key=len)
    more = [name for x in slabs for name in x.columns if name not in columns]
    last = columns.index("verdict")
    header = (*columns[:last], *dict.fromkeys(more), *columns[last:])
    yield _line(header)
    rows = csv.reader(held)
    for slab in slabs:
        for row in itertools.islice(rows, slab.rows):
            values = dict(zip(slab.columns, row, strict=True))
            yield _line([values.get(name, "") for name in header])


def _line(values: Sequence[str]) -> str:
    line = io.StringIO()
    csv.writer(line, lineterminator="\n").writerow(values)
    return line.getvalue()

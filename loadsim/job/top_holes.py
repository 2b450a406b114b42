"""Holes from the top, as ``[predrill]`` gives them."""

from __future__ import annotations

from loadsim.job.tables import Job
from loadsim.mechanics.stock import TopHole


def top_holes_of(job: Job) -> tuple[TopHole, ...]:
    """Return the holes from the top as the shop means to drill them.

    Parameters
    ----------
    job : Job
        Its [predrill].

    Returns
    -------
    holes : tuple of TopHole
        None where the table is absent or its holes run along the slot.
    """
    p = job.predrill
    if p is None or p.along is None:
        return ()
    return tuple(
        TopHole(along=x, offset=y, diameter=p.diameter)
        for x, y in zip(p.along, p.offsets, strict=True)
    )

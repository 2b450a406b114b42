"""What to know of a cut beside its limits: notes that are told and never judged."""

from __future__ import annotations

import numpy as np

from loadsim.base.notes import Note
from loadsim.loads.assumptions import (
    BURNISHED,
    CHATTER_DEFLECTION,
    CHATTER_GIVE,
    CHATTER_LONG,
    CHATTER_SLENDER,
    STONE_LAND,
)
from loadsim.loads.cut import Cutting, one
from loadsim.loads.limits.built_up_edge import built_up_edge_notes, surface_speed
from loadsim.loads.limits.clearances import overlap_in_throat
from loadsim.loads.limits.resonance import harmonic_notes
from loadsim.loads.limits.utilization import CutNote
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics.chip import tooth_passing


def cut_notes(job: ResolvedJob, cutting: Cutting) -> tuple[Note, ...]:
    """List what to know of one cut.

    Parameters
    ----------
    job : ResolvedJob
        Its cutter, slot, material and lubrication.
    cutting : Cutting
        One cut.

    Returns
    -------
    notes : tuple of Note
    """
    speed = one(cutting.speed)
    passing = one(tooth_passing(job.cutter.teeth, speed))
    own = one(cutting.frequency)
    return (
        *built_up_edge_notes(job, one(surface_speed(job, speed))),
        *harmonic_notes(passing, own),
        *_chatter(job, cutting, passing, own),
        *_burnishes(job, cutting),
        *_worn(job),
    )


def _chatter(job: ResolvedJob, cutting: Cutting, passing: float, own: float) -> list[Note]:
    """A thin head on a long neck: averaged theory knows no speed to choose by, so it is told."""
    s = cutting.summary
    c = job.cutter
    gives = one(s.deflection)
    length = c.neck_length / c.neck_diameter
    far = length > CHATTER_LONG and gives > CHATTER_DEFLECTION
    h = np.maximum(s.peak_chip, job.h_min)
    slope = 1 - job.metal.median.size_effect(h) / job.metal.median.specific(h)
    soft = length > CHATTER_SLENDER and gives * one(slope) > CHATTER_GIVE * one(s.peak_chip)
    if not far and not soft:
        return []
    facts = {"gives": gives, "passing": passing, "own": own}
    return [Note(code=CutNote.CHATTER, facts=facts)]


def _burnishes(job: ResolvedJob, cutting: Cutting) -> list[Note]:
    case = cutting.case
    d = np.atleast_1d(case.neck_diameter)
    wide, high = (one(x) for x in overlap_in_throat(job, cutting.passes, d, case.head_fillet))
    if not 0 < high <= BURNISHED:
        return []
    return [Note(code=CutNote.BURNISHES, facts={"wide": wide, "high": high})]


def _worn(job: ResolvedJob) -> list[Note]:
    """Edges that were due for the stone before the cut."""
    wear = job.cutter.wear
    if wear is None or wear < STONE_LAND:
        return []
    return [Note(code=CutNote.DUE_FOR_STONE, facts={"wear": wear, "due": STONE_LAND})]

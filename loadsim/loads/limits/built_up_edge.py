"""Metal that welds to a slow edge: no limit, but it makes the force less certain."""

from __future__ import annotations

from loadsim.base.notes import Note
from loadsim.base.numbers import Array
from loadsim.loads.assumptions import EDGE_KEPT_CLEAN
from loadsim.loads.limits.utilization import CutNote
from loadsim.loads.resolved_job import ResolvedJob


def clean_speed(job: ResolvedJob) -> float:
    """Surface speed above which the edge usually stays clean, with this lubrication.

    Parameters
    ----------
    job : ResolvedJob
        Its material and lubrication.

    Returns
    -------
    speed : float
        0 where no edge builds up. [mm/s]
    """
    least = job.work.built_up_edge_speed
    return 0.0 if least is None else least * EDGE_KEPT_CLEAN[job.written.work.lubrication]


def surface_speed(job: ResolvedJob, speed: float | Array) -> float | Array:
    """Surface speed of the undercut cutter's teeth at a spindle speed in rad/s. [mm/s]"""
    return speed * job.head.radius


def builds_up(job: ResolvedJob, speed: float) -> bool:
    """Whether the undercut cutter runs so slowly that metal may weld to its edge.

    Parameters
    ----------
    job : ResolvedJob
        Its material, lubrication and head.
    speed : float
        Spindle speed. [rad/s]

    Returns
    -------
    built_up : bool
        The force is then less certain by `assumptions.BUILT_UP_EDGE_SD`.
    """
    return bool(surface_speed(job, speed) < clean_speed(job))


def built_up_edge_notes(job: ResolvedJob, surface: float) -> list[Note]:
    """Tell of an edge, of whichever tool, that runs at a surface speed in mm/s at which metal may
    weld to it.
    """
    needed = clean_speed(job)
    if surface >= needed:
        return []
    facts = {"speed": surface, "needed": needed, "lubrication": job.written.work.lubrication}
    return [Note(code=CutNote.BUILT_UP_EDGE, facts=facts)]

"""What the program takes for a key that a job leaves out, and what knowing it is good for."""

from __future__ import annotations

from typing import Any

from loadsim.base.units import show
from loadsim.job.cutter_geometry import DEFAULT_RELIEF
from loadsim.job.read import job_from_dict
from loadsim.job.tolerances import width_tolerance
from loadsim.loads.resolve import Assumption, resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.words.reservations import spoken

#: Keys whose assumption is told by a note.
_NOTES = {
    "cutter.neck_fillet": Assumption.FILLET,
    "cutter.wear": Assumption.STONED,
    "cutter.runout": Assumption.RUNOUT,
    "cutter.edge_radius": Assumption.EDGE_RADIUS,
    "cutter.edge_skew": Assumption.SKEW,
    "machine.handwheel": Assumption.HANDWHEEL,
    "machine.backlash": Assumption.BACKLASH,
    "machine.stiffness": Assumption.STIFFNESS,
}

#: What a key is good for; nothing is promised by how much.
_USE = {
    "cutter.neck_fillet": "It counts much: measure it when you can.",
    "cutter.runout": "Measured, it usually narrows the chance.",
    "cutter.hardness": "Measured, it usually narrows the chance.",
    "cutter.relief": "It matters little unless it is small.",
    "cutter.edge_skew": "Two degrees take the knock off a thin neck.",
    "machine.handwheel": "Without it the seconds a turn may be off.",
    "slot.width_tolerance": "The print decides how far a wall may be off.",
}


def left_out(tables: dict[str, dict[str, Any]], path: str) -> str:
    """Say what is taken for a key that is left out.

    Parameters
    ----------
    tables : dict
        A whole job, as a job file has it.
    path : str
        "table.key" of what it leaves out.

    Returns
    -------
    sentences : str

    Raises
    ------
    InputError
        If the job is not valid.
    """
    job = resolve(job_from_dict(tables, "answers"))
    return " ".join(x for x in (_assumed(job, path), _USE.get(path, "")) if x)


def _assumed(job: ResolvedJob, path: str) -> str:
    note = next((n for n in job.assumed if n.code is _NOTES.get(path)), None)
    if note is not None:
        return spoken(note, job.units).replace(": the job file does not say.", ".")
    if path == "cutter.hardness":
        usual = job.blank.hardness
        return f"Assumed what is usual for {job.blank.name}" + (
            f", {usual:g} HRC." if usual is not None else "."
        )
    if path == "cutter.relief":
        return f"Assumed a relief of {show(DEFAULT_RELIEF, 'angle', job.units)}."
    if path == "slot.width_tolerance":
        most = show(width_tolerance(job.slot), "length", job.units)
        return f"Assumed the general tolerance of a print, plus and minus {most}."
    return ""

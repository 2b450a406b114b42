"""What is filled in by hand on the traveler: the job, the set-up, what was measured."""

from __future__ import annotations

from dataclasses import dataclass

from loadsim.answers.results import Plan
from loadsim.base.units import System
from loadsim.job.material_paths import first_name
from loadsim.job.tables import Cutter, Job, Slot
from loadsim.loads.resolve import resolve
from loadsim.report.drawings.marks import dimension_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """One box to write in."""

    name: str
    told: str  #: what is known of it beforehand, or the limits it must keep; may be empty


def job_fields(job: Job, written: str) -> tuple[tuple[str, str], ...]:
    """Name the job as its file does; what a traveler must have and the file leaves out is empty.

    Parameters
    ----------
    job : Job
        The job.
    written : str
        When the sheet was written.

    Returns
    -------
    fields : tuple of (name, text)
    """
    heading = job.job
    asked = {
        "Job": heading.number,
        "Part": heading.part or "",
        "Drawing": heading.drawing or "",
        "Revision": heading.revision or "",
        "Operation": heading.operation or "",
        "Quantity": "" if heading.quantity is None else str(heading.quantity),
    }
    known = {
        "Material": f"{first_name(job.work.material)}, {job.work.lubrication}",
        "Cutter": f"{first_name(job.cutter.material)}, {job.cutter.teeth} teeth",
        "Written by": heading.author,
        "Date": written,
    }
    return (*asked.items(), *((name, text) for name, text in known.items() if text))


def set_up(plan: Plan) -> tuple[Blank, ...]:
    """List what is written down when the job is set up.

    Parameters
    ----------
    plan : Plan
        The answer: it may say after how many slots the edge is stoned.

    Returns
    -------
    blanks : tuple of Blank
    """
    cutter = plan.job.cutter
    shank = dimension_text(cutter.shank_diameter, plan.job.job.units)
    batch = plan.result.batch
    stone = None if batch is None else batch.stone_after_slots
    return (
        Blank(name="Machine", told=""),
        Blank(name="Workholding", told=""),
        Blank(name="Edge pick-up, X zero", told=""),
        Blank(name="Edge pick-up, Y zero", told=""),
        Blank(name="Z touch-off", told=""),
        Blank(name="Dial readings X / Y / Z", told=""),
        Blank(name="Blank, lot", told=f"{first_name(cutter.material)} Ø{shank}"),
        Blank(name="Stonings, tally", told="" if stone is None else f"due after {stone} slots"),
    )


def measured(job: Job) -> tuple[Blank, ...]:
    """List what is measured, with its limits where a tolerance is known, else as drawn or ground.

    Parameters
    ----------
    job : Job
        The job.

    Returns
    -------
    blanks : tuple of Blank
    """
    return (*_of_slot(job.slot, job.job.units), *_of_cutter(job.cutter, job))


def _of_slot(slot: Slot, system: System) -> tuple[Blank, ...]:
    drawn = {
        "throat width": slot.throat_width,
        "throat depth": slot.depth if slot.throat_depth is None else slot.throat_depth,
        "undercut height": slot.undercut_height,
        "depth to the floor": slot.depth,
    }
    width = Blank(name="undercut width", told=_limits(slot, system))
    return width, *(
        Blank(name=name, told=f"{dimension_text(size, system)} drawn")
        for name, size in drawn.items()
    )


def _limits(slot: Slot, system: System) -> str:
    if slot.width_tolerance is None:
        return f"{dimension_text(slot.undercut_width, system)} drawn"
    low, high = (
        dimension_text(slot.undercut_width + sign * slot.width_tolerance, system)
        for sign in (-1, 1)
    )
    return f"{low} to {high}"


def _of_cutter(cutter: Cutter, job: Job) -> tuple[Blank, ...]:
    resolved = resolve(job)
    system = job.job.units
    fillet = "assumed" if cutter.neck_fillet is None else "ground"
    runout = "assumed" if cutter.runout is None else "given"
    return (
        Blank(name="head diameter", told=f"Ø{dimension_text(cutter.head_diameter, system)} ground"),
        Blank(name="neck diameter", told=f"Ø{dimension_text(cutter.neck_diameter, system)} ground"),
        Blank(name="neck fillet", told=f"R{dimension_text(resolved.fillet, system)} {fillet}"),
        Blank(
            name="indicator at the head",
            told=f"{dimension_text(2 * resolved.runout, system)} swing {runout}",
        ),
    )

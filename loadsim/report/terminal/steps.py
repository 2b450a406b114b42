"""The steps at the machine as a table for a terminal of 80 columns. Nothing is computed here."""

from __future__ import annotations

from loadsim.answers.steps import Step
from loadsim.base import shop, units
from loadsim.job.tables import Job
from loadsim.report.terminal.layout import columns, wrap
from loadsim.words import phrases
from loadsim.words.passes import LOOKING
from loadsim.words.steps import DIALS

#: Longest line of the table. [1]
NARROW = 80


def step_table(rows: tuple[Step, ...], job: Job) -> list[str]:
    """Tabulate steps, a line each.

    Parameters
    ----------
    rows : tuple of Step
        From `loadsim.answers.steps.steps`.
    job : Job
        Its job, for the units and the ends of the slot.

    Returns
    -------
    lines : list of str
        The heads first.
    """
    system = job.job.units
    unit = shop.DIAL[system]
    dials = (f"{axis} [{unit}]".rjust(7) for axis in "ZY")
    heads = ["", "step", *dials, "feed", "handwheel"]
    if job.machine.feed != "hand":
        heads[-1] = "table feed"
    return columns([heads, *(_row(step, system) for step in rows)], "").splitlines()


def _row(step: Step, system: units.System) -> list[str]:
    z, y = (
        "" if x is None else shop.dial(x, system, signed=True).rjust(7)
        for x in (step.z_mm, step.y_mm)
    )
    way = "conv." if step.wall.endswith("conventional") else step.wall.rpartition(", ")[2]
    feed = ", ".join(part for part in (step.feed, way if "walls" not in way else "") if part)
    return [f"{step.number:>2}", step.name, z, y, feed, _rate(step, system)]


def _rate(step: Step, system: units.System) -> str:
    """How fast it is fed: the handwheel where there is one, else the table."""
    if step.wheel_seconds is not None:
        turns = "" if step.wheel_turns is None else f", {step.wheel_turns:.0f} turns"
        return f"turn in {phrases.plain(step.wheel_seconds, 2)} s{turns}"
    if step.feed_mm_per_turn is not None:
        return (
            f"{step.spindle_speed_rpm:.0f} rpm, {shop.fine(step.feed_mm_per_turn, system)} a turn"
        )
    if step.feed_mm_per_min is None:
        return ""
    return units.show(step.feed_mm_per_min / 60, "feed speed", system)


def steps_text(rows: tuple[Step, ...], job: Job) -> list[str]:
    """Write the steps in full: the table, and under each line the order and what to look for.

    Parameters
    ----------
    rows : tuple of Step
        From `loadsim.answers.steps.steps`.
    job : Job
        Its job, for the units and the ends of the slot.

    Returns
    -------
    lines : list of str
    """
    head, *table = step_table(rows, job)
    dials = DIALS.format(where=LOOKING[job.slot.open_ends])
    lines = [*wrap(dials, width=NARROW).splitlines(), head]
    for line, step in zip(table, rows, strict=True):
        rpm = "" if step.spindle_speed_rpm is None else f", {step.spindle_speed_rpm:.0f} rpm"
        text = f"{step.what} Look for: {step.look}. ({step.tool}{rpm})"
        lines += [line, wrap(text, "      ", "    ", NARROW)]
    return lines

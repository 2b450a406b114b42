"""The steps at the machine as the traveler shows them: dial readings, ways and turns as text."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from loadsim.answers.results import Plan
from loadsim.answers.steps import Step, steps
from loadsim.base import shop, units
from loadsim.words import phrases
from loadsim.words.passes import LOOKING
from loadsim.words.steps import DIALS, LEAVING


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRow:
    """One step as shown; what it does not set is empty."""

    number: str
    tool: str  #: empty where it is the tool of the step before
    what: str
    z: str
    y: str
    feed: str  #: which way, how the wall is cut, and how fast
    look: str

    @property
    def span(self) -> int:
        """Columns that the words take: those beside them, where there is nothing in these."""
        return 1 + 2 * (not self.z and not self.y) + (not self.feed)


def step_heads(plan: Plan) -> tuple[str, ...]:
    """Return the heads of the step table, with the unit of the dials.

    Parameters
    ----------
    plan : Plan
        The answer.

    Returns
    -------
    heads : tuple of str
        In the order of the columns.
    """
    unit = shop.DIAL[plan.job.job.units]
    fed = "Feed, handwheel" if plan.job.machine.feed == "hand" else "Feed"
    return "Step", f"Z [{unit}]", f"Y [{unit}]", "Tool and what to do", fed, "Look for"


def step_rows(plan: Plan) -> tuple[StepRow, ...]:
    """Write every step of a plan.

    Parameters
    ----------
    plan : Plan
        The answer.

    Returns
    -------
    rows : tuple of StepRow
    """
    rows = [_row(step, plan.job.job.units) for step in steps(plan)]
    return (*rows[:1], *(_after(before, row) for before, row in pairwise(rows)))


def _after(before: StepRow, row: StepRow) -> StepRow:
    """Leave out of a row what the one before has said already."""
    tool = "" if row.tool == before.tool else row.tool
    look = "as before" if row.look == before.look else row.look
    return replace(row, tool=tool, look=look)


def dials_text(plan: Plan) -> str:
    """Say how the two dials are meant."""
    return DIALS.format(where=LOOKING[plan.job.slot.open_ends])


def _row(step: Step, system: units.System) -> StepRow:
    z, y = ("" if x is None else shop.dial(x, system, signed=True) for x in (step.z_mm, step.y_mm))
    way = step.wall.rpartition(", ")[2] if "," in step.wall else ""
    way = way.replace("conventional", "conv.")
    fed = () if step.name in LEAVING else (step.feed, way, _rate(step, system))
    return StepRow(
        number=str(step.number),
        tool=step.tool,
        what=step.what,
        z=z,
        y=y,
        feed=", ".join(part for part in fed if part),
        look=step.look,
    )


def _rate(step: Step, system: units.System) -> str:
    """How fast it is fed: the handwheel where there is one, else the table."""
    if step.wheel_seconds is not None:
        turns = "" if step.wheel_turns is None else f", {step.wheel_turns:.0f} turns"
        return f"1 turn in {phrases.plain(step.wheel_seconds, 2)} s{turns}"
    if step.feed_mm_per_min is None:
        return ""
    return units.show(step.feed_mm_per_min / 60, "feed speed", system)

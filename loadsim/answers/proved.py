"""Room and feeds beyond the drawing: what test cuts with this very cutter have proved when it lived
through them, and whether the head gets in at all.
"""

from __future__ import annotations

from collections.abc import Iterable

from loadsim.job.tables import Trial
from loadsim.loads.assumptions import CLEARANCE
from loadsim.loads.limits.utilization import Limit, LimitCode, Utilization
from loadsim.loads.passes import Pass, no_way_in, passes
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip

#: Most that a planned feed may lie over the largest one that the cutter has survived (common
#: practice, no source). [1]
FARTHEST = 1.5

#: Keys of a test cut that may say it was made with another cutter or in another metal, and the
#: table of the job that they are compared with.
AS_MADE = {
    "material": "work",
    "blank": "cutter",
    "neck_diameter": "cutter",
    "neck_length": "cutter",
    "neck_fillet": "cutter",
}


def lived(job: ResolvedJob) -> list[tuple[int, Trial]]:
    """List the job's own test cuts that its cutter survived, as it is, in its metal.

    Parameters
    ----------
    job : ResolvedJob
        Its [[trial]] tables, cutter and metal.

    Returns
    -------
    trials : list of (int, Trial)
        Each with its place in the file, from 1.
    """

    def alike(trial: Trial) -> bool:
        told = {key: getattr(trial, key) for key in AS_MADE}
        return all(
            value is None or value == getattr(getattr(job.written, AS_MADE[key]), _name(key))
            for key, value in told.items()
        )

    return [
        (number, trial)
        for number, trial in enumerate(job.trial, 1)
        if trial.outcome == "survived" and trial.cutter == "this" and alike(trial)
    ]


def _name(key: str) -> str:
    """Name of the key in the job's own table."""
    return "material" if key == "blank" else key


def farthest_feed(job: ResolvedJob) -> float | None:
    """Largest feed per tooth that stays near what the cutter has survived.

    Parameters
    ----------
    job : ResolvedJob
        Its [[trial]] tables and tooth count.

    Returns
    -------
    f_z : float or None
        None where no test cut was survived. [mm]
    """
    feeds = [feed_of(trial, job.cutter.teeth) for _, trial in lived(job)]
    return FARTHEST * max(feeds) if feeds else None


def feed_of(trial: Trial, teeth: int) -> float:
    """Feed per tooth of a test cut. [mm]"""
    if trial.feed_rate is not None:
        return chip.feed_per_tooth(trial.feed_rate, teeth, trial.spindle_speed)
    assert trial.feed_per_tooth is not None  # the file is refused without
    return trial.feed_per_tooth


def room_proved(
    job: ResolvedJob, steps: tuple[Pass, ...], limits: Iterable[Utilization]
) -> dict[LimitCode, int]:
    """Find the clearances that do not hold by the drawing, and yet let the cutter through.

    Parameters
    ----------
    job : ResolvedJob
        Its [[trial]] tables, slot and cutter.
    steps : tuple of Pass
        The passes of the cut.
    limits : iterable of Utilization
        Every limit of it.

    Returns
    -------
    proved : dict
        Clearances over capacity, each with the place of a test cut that was survived over the same
        passes.
    """
    over = [limit.code for limit in limits if limit.fit and limit.over.any()]
    if not over:
        return {}
    for number, trial in lived(job):
        if _places(_made(job, trial)) == _places(steps):
            return dict.fromkeys(over, number)
    return {}


def _made(job: ResolvedJob, trial: Trial) -> tuple[Pass, ...]:
    """Passes of a test cut; end holes do not move them."""
    return passes(job, trial.stepover, trial.direction or "conventional")


def _places(steps: tuple[Pass, ...]) -> set[tuple[float, float]]:
    """Where the axis runs, off centre and above the floor. [mm]"""
    return {(round(step.offset, 6), round(step.level, 6)) for step in steps}


def way_in(job: ResolvedJob, steps: tuple[Pass, ...]) -> list[Limit]:
    """The clearance that is missing where a first pass starts at a closed end: the head goes down
    the throat or not at all.

    Parameters
    ----------
    job : ResolvedJob
        Its slot and head.
    steps : tuple of Pass
        The passes of the cut.

    Returns
    -------
    limits : list of Limit
        One where nothing lets the head in, else none.
    """
    if not any(no_way_in(job, step) for step in steps):
        return []
    demand = job.cutter.head_diameter + 2 * CLEARANCE
    capacity = job.slot.throat_width
    return [
        Limit(
            name=LimitCode.DROP_IN_HOLE,
            demand=demand,
            capacity=capacity,
            unit="mm",
            utilization=demand / capacity,
            hard=True,
            fit=True,
            note=(
                "Nothing lets the head in at the closed end, where the first pass would start: set"
                " the other [cut] direction, or drill a drop-in hole there."
            ),
        )
    ]

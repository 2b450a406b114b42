"""A cutter with one size a step away, in the cut that is planned: what it does, and whether that is
better.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from loadsim.answers.cutter.rules import grind_texts
from loadsim.answers.results import Verdict
from loadsim.answers.verdict import GRADES, verdict_of
from loadsim.base import units
from loadsim.job.cutter_geometry import shoulder_fillet
from loadsim.job.read import Draft, changed
from loadsim.job.tables import Job
from loadsim.loads.assumptions import SKEW_ADVISED
from loadsim.loads.cut import Engagement, cutting, written_engagement
from loadsim.loads.end_holes import depth_for, holes_for
from loadsim.loads.limits import undercut
from loadsim.loads.limits.clearances import farthest_offset
from loadsim.loads.limits.utilization import LimitCode, Utilization
from loadsim.loads.machine import machine_time
from loadsim.loads.resolve import GroundNote, resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip
from loadsim.risk import samples, snap
from loadsim.risk.results import Risk

#: Longest that a cut which is a go may take for a lower chance to snap, over the time it takes as
#: it is (common practice, no source). [1]
LONGER = 0.2

#: Ratio of times from which it is told as such. [1]
TIMES = 1.95

#: Overlap from which on a fillet meets a corner. [mm]
MEETS = 1e-9

#: Lowest head that is ground and does not chip at the first touch (common practice, no source).
#: [mm]
LEAST_HEIGHT = 0.5

#: Sizes that the search moves: the neck, its fillets, and the head's height.
SEARCHED = ("head_height", "neck_diameter", "neck_fillet", "head_fillet")

GROUND = ("gullet_depth", "land", "secondary_relief", "secondary_land", "heel_relief")

STEP = {"teeth": 1.0, "rake": math.radians(2), "relief": math.radians(1), "edge_skew": SKEW_ADVISED}

#: Step of a length, by system. [mm], [in]
STEP_METRIC = {
    "shank_diameter": 2.0,
    "stickout": 2.0,
    "neck_length": 0.5,
    "head_height": 0.2,
    "head_diameter": 0.1,
    "neck_diameter": 0.2,
    "neck_fillet": 0.05,
    "head_fillet": 0.05,
    "face_offset": 0.1,
    "gullet_depth": 0.3,
}

STEP_INCH = {
    "shank_diameter": 0.0625,
    "stickout": 0.1,
    "neck_length": 0.02,
    "head_height": 0.01,
    "head_diameter": 0.005,
    "neck_diameter": 0.01,
    "neck_fillet": 0.002,
    "head_fillet": 0.002,
    "face_offset": 0.005,
    "gullet_depth": 0.01,
}


def step_either_way(key: str, system: units.System) -> float:
    """Step either way of a dimension, 0 where none is asked; in its internal unit."""
    if key in STEP:
        return STEP[key]
    if system == "inch":
        return STEP_INCH.get(key, 0.0) * units.IN
    return STEP_METRIC.get(key, 0.0)


def searched(draft: Draft) -> tuple[str, ...]:
    """Sizes that a draft leaves to the search; a fillet that is given stands at both ends."""
    given = {key for key in SEARCHED if draft.given(f"cutter.{key}")}
    if "neck_fillet" in given:
        given.add("head_fillet")
    return tuple(key for key in SEARCHED if key not in given)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """A cutter in its cut."""

    job: Job
    verdict: Verdict
    risk: Risk
    time: float  #: on the machine [s]
    misfits: frozenset[str]  #: clearances that it lacks
    over: frozenset[str]  #: hard limits over capacity
    costs: frozenset[str]  #: soft limits over what is advised


def tried(job: Job, drawn: samples.Draws) -> Tried:
    """Judge a cutter at the speed and feed of its job.

    Parameters
    ----------
    job : Job
        Whole, with speed and feed in [cut].
    drawn : Draws
        Sample of the risk, the same for all that are compared.

    Returns
    -------
    tried : Tried

    Raises
    ------
    InputError
        If it cannot be cut so.
    """
    resolved = resolve(job)
    cut = job.cut
    f_z = cut.feed_per_tooth or 0.0
    speed = cut.spindle_speed or 0.0
    way = written_engagement(resolved, cut.stepover, 24)
    risk = snap.assess(resolved, way, f_z, drawn, speed=speed)
    limits = undercut.checks(resolved, cutting(resolved, way, speed, f_z))
    rate = chip.feed_rate(f_z, job.cutter.teeth, speed)
    holes, depth = holes_for(resolved), depth_for(resolved)
    over = [x for x in limits if x.over.any() and x.code is not LimitCode.FILLET_IN_THROAT]
    return Tried(
        job=job,
        verdict=verdict_of(limits, risk, resolved.target.snap_probability),
        risk=risk,
        time=machine_time(resolved, len(way.passes), rate, holes, depth),
        misfits=frozenset(
            [*(x.code for x in over if x.hard and x.fit), *_meets(resolved, way, limits)]
        ),
        over=frozenset(x.code for x in over if x.hard and not x.fit),
        costs=frozenset(x.code for x in over if not x.hard),
    )


def _meets(job: ResolvedJob, way: Engagement, limits: list[Utilization]) -> list[str]:
    """What no limit judges: fillets that meet a corner of the throat, which a cut may burnish but
    no proposal relies on, a head wider than its blank or too low, a heel that rubs.
    """
    cutter = job.cutter
    found = []
    if any(x.code is LimitCode.FILLET_IN_THROAT and (x.demand > MEETS).any() for x in limits):
        found.append("the fillet at the head meets the throat's lower corner")
    gap = (job.slot.throat_width - cutter.neck_diameter) / 2 - farthest_offset(way.passes)
    above = cutter.neck_length + cutter.head_height - job.slot.depth
    if min(gap, above) >= 0 and job.fillet > shoulder_fillet(gap, above) + MEETS:
        found.append("the fillet at the shank meets the throat's upper corner")
    if cutter.shank_diameter < cutter.head_diameter:
        found.append("the head cannot be ground from this blank")
    if cutter.head_height < LEAST_HEIGHT - MEETS:
        found.append("so low a head chips")
    if any(note.code is GroundNote.HEEL_RUBS for note in job.notes):
        found.append("the heel rubs")
    return found


def better(step: Tried, chosen: Tried) -> bool:
    """Whether a step beats the cutter chosen.

    It does with the same verdict or a better one, a chance to snap that is lower by more than both
    intervals, nothing over that was not, and, where the cut is a go already, in a time not
    `LONGER`.

    Parameters
    ----------
    step : Tried
        One size away.
    chosen : Tried
        In the same cut, by the same sample.

    Returns
    -------
    better : bool
    """
    return (
        _surer(step, chosen)
        and GRADES.index(step.verdict) <= GRADES.index(chosen.verdict)
        and not (step.misfits | step.over | step.costs)
        - (chosen.misfits | chosen.over | chosen.costs)
        and not (chosen.verdict is Verdict.GO and _longer(step, chosen))
    )


def _surer(step: Tried, chosen: Tried) -> bool:
    return step.risk.high < chosen.risk.low


def _longer(step: Tried, chosen: Tried) -> bool:
    return step.time > (1 + LONGER) * chosen.time


def against(step: Tried, chosen: Tried) -> str:
    """Say what speaks against a step, empty where nothing but its chance to snap does.

    Parameters
    ----------
    step : Tried
        One size away.
    chosen : Tried
        In the same cut, by the same sample.

    Returns
    -------
    note : str
    """
    notes = [
        f"{how}: {', '.join(sorted(names))}"
        for how, names in (
            ("does not fit", step.misfits - chosen.misfits),
            ("over capacity", step.over - chosen.over),
            ("over what is advised", step.costs - chosen.costs),
        )
        if names
    ]
    if _longer(step, chosen):
        ratio = step.time / chosen.time
        long = f"{ratio - 1:.0%} longer" if ratio < TIMES else f"{ratio:.0f} times as long"
        notes.append(f"takes {long}")
    return "; ".join(notes)


def changes(draft: Draft, job: Job, path: str, value: float) -> dict[str, Any]:
    """Changes to a job that move one size of its cutter, all else kept.

    Parameters
    ----------
    draft : Draft
        The job as given.
    job : Job
        Whole.
    path : str
        "table.key".
    value : float
        In its internal unit.

    Returns
    -------
    changes : dict
        "table.key" to value.
    """
    cutter = job.cutter
    if path == "cutter.teeth":  # with other teeth the flats behind them are laid out anew
        ground = grind_texts(draft, cutter.model_copy(update={"teeth": int(value)}))
        return {path: int(value)} | {f"grind.{key}": ground.get(key) for key in GROUND}
    if path == "cutter.head_height" and not draft.given("cutter.neck_length"):
        # the shoulder stays where it is
        neck_length = cutter.neck_length + cutter.head_height - value
        return {path: value, "cutter.neck_length": neck_length}
    if path == "cutter.neck_fillet" and "head_fillet" in searched(draft):
        at_head = cutter.neck_fillet if cutter.head_fillet is None else cutter.head_fillet
        return {path: value, "cutter.head_fillet": at_head}
    return {path: value}


@dataclass(frozen=True, slots=True)
class Bench:
    """Where cutters for a draft are tried by one sample, none twice."""

    draft: Draft
    drawn: samples.Draws
    known: dict[str, Tried] = field(default_factory=dict)  #: by the whole job

    def tried(self, job: Job) -> Tried:
        """Judge a cutter at the speed and feed of its job."""
        key = job.model_dump_json()
        if key not in self.known:
            self.known[key] = tried(job, self.drawn)
        return self.known[key]

    def stepped(self, job: Job, path: str, value: float) -> Tried:
        """Judge a cutter with one size changed; raises InputError where it cannot be made so."""
        return self.tried(changed(job, changes(self.draft, job, path, value)))

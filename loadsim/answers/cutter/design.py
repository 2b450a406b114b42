"""The cutter from the print: what [cutter] leaves out is proposed, each with its reason and what a
step either way does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from loadsim.answers.check import check
from loadsim.answers.cutter.layouts import EvaluatedLayout, compared, completed
from loadsim.answers.cutter.reasons import reason, user_warnings
from loadsim.answers.cutter.rules import CutterLayout, grind_texts, offset_of
from loadsim.answers.plan import plan
from loadsim.answers.results import Plan, Verdict
from loadsim.base import units
from loadsim.base.errors import InputError
from loadsim.base.numbers import plain
from loadsim.job.read import Draft, changed, read_draft
from loadsim.job.tables import Job
from loadsim.loads.cut import Engagement, cutting, written_engagement
from loadsim.loads.limits import undercut
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials.load import load_work, named
from loadsim.risk import samples, snap

#: Samples while ways of laying out the cutter are compared, and for the steps either way, as powers
#: of two. [1]
COMPARE = 10
STEPS = 12

#: Dimensions asked, in the order they are ground, with the step either way: a length in its own
#: step, else as here.
ASKED = (
    "head_diameter",
    "head_height",
    "neck_diameter",
    "neck_length",
    "neck_fillet",
    "shank_diameter",
    "stickout",
    "teeth",
    "rake",
    "face_offset",
    "relief",
)

ASKED_GRIND = ("gullet_depth", "land", "secondary_relief", "secondary_land", "heel_relief")

ANGLES = ("rake", "relief", "secondary_relief", "heel_relief")

STEP = {"teeth": 1.0, "rake": math.radians(2), "relief": math.radians(1)}

#: Step of a length, by system. [mm], [in]
STEP_METRIC = {
    "shank_diameter": 2.0,
    "stickout": 2.0,
    "neck_length": 0.5,
    "head_height": 0.2,
    "head_diameter": 0.1,
    "neck_diameter": 0.2,
    "neck_fillet": 0.05,
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
    "face_offset": 0.005,
    "gullet_depth": 0.01,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A dimension one step away, all else kept, at the planned feed."""

    value: float  #: internal unit
    snap_probability: float | None  #: None: it cannot be made so
    note: str  #: why it cannot be made or does not fit; empty when it can


@dataclass(frozen=True, slots=True, kw_only=True)
class CutterDimension:
    """One dimension of the cutter."""

    key: str  #: "table.key"
    value: float  #: internal unit
    dimension: str  #: length, angle or count
    text: str  #: as in the job file
    given: bool  #: by the user
    reason: str
    smaller: Step | None  #: None: not asked, it does not move the neck's load
    larger: Step | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedLayout:
    """One layout that was compared."""

    name: str
    safe: bool
    time_s: float
    snap_probability: float
    feed_per_tooth_mm: float
    neck_diameter_mm: float
    gullet_filled: float  #: share of a gullet that the chips of this feed fill [1]
    web_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A cutter for the slot: the whole job, where every dimension comes from, and the plan that
    goes with it.
    """

    job: Job
    data: dict[str, Any]  #: the completed job file, as tables and keys
    dimensions: tuple[CutterDimension, ...]
    #: snap probability as laid out, by the sample that the steps either way are told by [1]
    base: float
    tried: tuple[ComparedLayout, ...]  #: the one chosen first
    plan: Plan
    warnings: tuple[str, ...]

    @property
    def safe(self) -> bool:
        """Whether the cutter has a safe plan."""
        return self.plan.safe

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON object of `loadsim grind`."""
        return {
            "loadsim": self.plan.result.loadsim,
            "job": self.job.job.number,
            "safe": self.safe,
            "dimensions": plain(self.dimensions),
            "base_snap_probability": self.base,
            "tried": plain(self.tried),
            "warnings": list(self.warnings),
            "plan": self.plan.to_dict(),
            "file": self.data,
        }


def grind(source: str | Path | dict[str, Any]) -> Proposal:
    """Propose what a job's [cutter] and [grind] leave out; what they give is kept and checked.

    Parameters
    ----------
    source : str, Path or dict
        A job file, "-" for standard input, or tables and keys as in the file.

    Returns
    -------
    proposal : Proposal

    Raises
    ------
    InputError
        If the file is bad, a material is not known, or what is given does not fit the slot.
    """
    draft = read_draft(source)
    family = _family(draft)
    few = samples.draws(COMPARE)
    layouts = compared(draft, family, few)
    layout = layouts[0].layout
    job, data = completed(draft, family, layout)
    final = _planned(job, few)
    drawn = samples.draws(STEPS)
    dimensions = tuple(
        _dimension(draft, data, final, layout, path, drawn) for path in _asked(final.job)
    )
    unchanged = _stepped(draft, final, "cutter.head_height", final.job.cutter.head_height, drawn)
    return Proposal(
        job=job,
        data=data,
        dimensions=dimensions,
        base=unchanged.snap_probability or 0.0,
        tried=tuple(_summary(evaluated) for evaluated in layouts),
        plan=final,
        warnings=tuple(user_warnings(draft, final)),
    )


def _planned(job: Job, few: samples.Draws) -> Plan:
    """Plan on the small sample, check on the whole one; where the two disagree the plan is made
    again on the whole.
    """
    quick = plan(job, few)
    result = check(quick.job, samples.draws_for(quick.job))
    if quick.safe and result.verdict is not Verdict.GO:
        return plan(job)
    return replace(quick, result=result, safe=result.verdict is Verdict.GO)


def _family(draft: Draft) -> str:
    try:
        return named(load_work, draft.job.work.material, "[work] material").family
    except InputError as error:
        file = draft.name if error.file == "job" else error.file
        raise InputError(file, list(error.problems)) from None


def _summary(evaluated: EvaluatedLayout) -> ComparedLayout:
    return ComparedLayout(
        name=_layout_name(evaluated),
        safe=evaluated.safe,
        time_s=evaluated.time,
        snap_probability=evaluated.chance,
        feed_per_tooth_mm=evaluated.feed.f_z,
        neck_diameter_mm=evaluated.job.written.cutter.neck_diameter,
        gullet_filled=evaluated.filled,
        web_mm=evaluated.job.head_section.web or 0.0,
    )


def _layout_name(evaluated: EvaluatedLayout) -> str:
    job = evaluated.job.written
    heights = evaluated.layout.heights
    system = job.job.units
    offset = offset_of(job.slot, job.cutter.head_diameter)
    head = units.show(job.cutter.head_diameter, "length", system)
    how = (
        "one full-width pass"
        if job.slot.sides == 2 and offset == 0
        else f"axis {units.show(offset, 'length', system)} off centre"
    )
    name = f"{job.cutter.teeth} teeth, head {head}, {how}"
    return f"{name}, {heights} heights" if heights > 1 else name


def _asked(job: Job) -> list[str]:
    """The dimensions that this cutter has, as "table.key"."""
    cutter = [f"cutter.{key}" for key in ASKED if getattr(job.cutter, key) is not None]
    ground = [f"grind.{key}" for key in ASKED_GRIND if getattr(job.grind, key, None) is not None]
    return cutter + ground


def _dimension(
    draft: Draft,
    data: dict[str, Any],
    final: Plan,
    layout: CutterLayout,
    path: str,
    few: samples.Draws,
) -> CutterDimension:
    table, key = path.split(".")
    value = getattr(getattr(final.job, table), key)
    step = _step(key, draft.job.job.units)
    smaller, larger = (
        _stepped(draft, final, path, value + sign * step, few) if step else None for sign in (-1, 1)
    )
    return CutterDimension(
        key=path,
        value=float(value),
        dimension=_kind(key),
        text=str(data[table][key]),
        given=draft.given(path),
        reason="as given" if draft.given(path) else reason(draft, final, path, layout),
        smaller=smaller,
        larger=larger,
    )


def _kind(key: str) -> str:
    if key == "teeth":
        return "count"
    return "angle" if key in ANGLES else "length"


def _step(key: str, system: str) -> float:
    """Step either way of a dimension, 0 where none is asked; in its internal unit."""
    if key in STEP:
        return STEP[key]
    if system == "inch":
        return STEP_INCH.get(key, 0.0) * units.IN
    return STEP_METRIC.get(key, 0.0)


def _stepped(draft: Draft, final: Plan, path: str, value: float, few: samples.Draws) -> Step:
    """Snap probability with one dimension changed, at the planned feed; what no longer fits because
    of it.
    """
    if path == "cutter.teeth" and value < 1:
        return Step(value=value, snap_probability=None, note="a cutter has at least one tooth")
    try:
        job = resolve(changed(final.job, _changes(draft, final.job, path, value)))
        engagement = written_engagement(job, job.cut.stepover, 24)
        f_z = job.cut.feed_per_tooth or 0.0
        speed = job.cut.spindle_speed
        risk = snap.assess(job, engagement, f_z, few, speed=speed)
        misfits = _misfits(job, engagement, final)
    except InputError as error:
        note = error.problems[0].message.split("; ", 1)[-1]
        return Step(value=float(value), snap_probability=None, note=note)
    return Step(
        value=float(value),
        snap_probability=risk.snap_probability,
        note=f"does not fit: {', '.join(misfits)}" if misfits else "",
    )


def _misfits(job: ResolvedJob, engagement: Engagement, final: Plan) -> list[str]:
    """What does not fit any more that did fit in the final plan."""
    cut = job.cut
    cutter = job.cutter
    limits = undercut.checks(
        job, cutting(job, engagement, cut.spindle_speed or 0.0, cut.feed_per_tooth or 0.0)
    )
    misfits: list[str] = [limit.code for limit in limits if limit.fit and limit.over.any()]
    if cutter.shank_diameter < cutter.head_diameter <= final.job.cutter.shank_diameter:
        misfits.append("the head cannot be ground from it")
    before: set[str] = {limit.name for limit in final.result.limits if limit.fit and limit.over}
    return [misfit for misfit in misfits if misfit not in before]


def _changes(draft: Draft, job: Job, path: str, value: float) -> dict[str, Any]:
    if path == "cutter.teeth":  # with other teeth the flats behind them are laid out anew
        ground = grind_texts(draft, job.cutter.model_copy(update={"teeth": int(value)}))
        return {path: int(value)} | {f"grind.{key}": ground.get(key) for key in ASKED_GRIND}
    if path == "cutter.head_height":  # the shoulder stays where it is
        neck_length = job.cutter.neck_length + job.cutter.head_height - value
        return {path: value, "cutter.neck_length": neck_length}
    return {path: value}

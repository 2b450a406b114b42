"""The cutter from the print: what [cutter] leaves out is proposed, each with its reason and what a
step either way does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from loadsim.answers.cutter.layouts import EvaluatedLayout, compared, completed, grown
from loadsim.answers.cutter.reasons import reason, user_warnings, wall_error
from loadsim.answers.cutter.rules import CutterLayout, offset_of
from loadsim.answers.cutter.search import settled
from loadsim.answers.cutter.steps import GROUND, Bench, Tried, against, step_either_way
from loadsim.answers.plan import plan
from loadsim.answers.results import Plan, Verdict
from loadsim.base import units
from loadsim.base.errors import InputError
from loadsim.base.numbers import plain
from loadsim.job.read import Draft, changed, job_from_dict, read_draft
from loadsim.job.tables import Job
from loadsim.materials.load import load_work, named
from loadsim.risk import samples

#: Samples while ways of laying out the cutter are compared, and for the steps either way, as powers
#: of two. [1]
COMPARE = 10
STEPS = 12

#: How far the growth of the cut may be off what the head was made smaller by. [mm]
UNMATCHED = 0.02

#: Dimensions asked, in the order they are ground, with the step either way: a length in its own
#: step, else as here.
ASKED = (
    "head_diameter",
    "head_height",
    "neck_diameter",
    "neck_length",
    "neck_fillet",
    "head_fillet",
    "shank_diameter",
    "stickout",
    "teeth",
    "rake",
    "face_offset",
    "relief",
    "edge_skew",
)

ANGLES = ("rake", "relief", "edge_skew", "secondary_relief", "heel_relief")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A dimension one step away, all else kept, at the planned feed."""

    value: float  #: internal unit
    snap_probability: float | None  #: None: it cannot be made so
    verdict: Verdict | None  #: by the same sample
    note: str  #: why it cannot be made, or what speaks against it; empty when nothing does


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
    verdict: Verdict
    safe: bool  #: a go
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
        """Whether the cutter's plan is a go."""
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


def grind(
    source: str | Path | dict[str, Any], progress: Callable[[int, int], None] | None = None
) -> Proposal:
    """Propose what a job's [cutter] and [grind] leave out; what they give is kept and checked.

    Parameters
    ----------
    source : str, Path or dict
        A job file, "-" for standard input, or tables and keys as in the file.
    progress : callable, optional
        Called with the ways evaluated and all ways of each plan that is made.

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
    bench = Bench(draft, samples.draws(STEPS))
    layouts = compared(draft, family, few)
    layout, data, final = _searched(bench, family, layouts[0], progress)
    chosen = bench.tried(final.job)
    return Proposal(
        job=job_from_dict(data, draft.name, shop=draft.shop),
        data=data,
        dimensions=tuple(
            _dimension(bench, data, chosen, path, reason(draft, final, path, layout))
            for path in _asked(final.job)
        ),
        base=chosen.risk.snap_probability,
        tried=tuple(_summary(evaluated) for evaluated in layouts),
        plan=final,
        warnings=tuple(user_warnings(draft, final)),
    )


def _searched(
    bench: Bench, family: str, best: EvaluatedLayout, progress: Callable[[int, int], None] | None
) -> tuple[CutterLayout, dict[str, Any], Plan]:
    """Search at the feed that is planned for what was found, until the two agree and the head is
    as much smaller as the cut grows; from what is no go first at the feed of its layout.

    No cutter is planned twice, and there are only so many, so that it ends.
    """
    draft = bench.draft
    layout = best.layout
    if best.verdict is not Verdict.GO:
        cut = {"feed_per_tooth": best.feed.f_z, "feed_rate": None, "spindle_speed": best.speed}
        job = completed(draft, family, layout)[0]
        as_cut = changed(job, {f"cut.{key}": value for key, value in cut.items()})
        layout = replace(layout, settled=settled(bench, as_cut))
    planned = []
    while True:
        job, data = completed(draft, family, layout)
        planned.append(job.cutter)
        final = plan(job, progress=progress)
        onward = replace(
            layout,
            growth=grown(draft, layout, wall_error(final), UNMATCHED),
            settled={**layout.settled, **settled(bench, final.job)},
        )
        if onward == layout or completed(draft, family, onward)[0].cutter in planned:
            return layout, data, final
        layout = onward


def _family(draft: Draft) -> str:
    try:
        return named(load_work, draft.job.work.material, "[work] material").family
    except InputError as error:
        file = draft.name if error.file == "job" else error.file
        raise InputError(file, list(error.problems)) from None


def _summary(evaluated: EvaluatedLayout) -> ComparedLayout:
    return ComparedLayout(
        name=_layout_name(evaluated),
        verdict=evaluated.verdict,
        safe=evaluated.verdict is Verdict.GO,
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
    teeth = "1 tooth" if job.cutter.teeth == 1 else f"{job.cutter.teeth} teeth"
    name = f"{teeth}, head {head}, {how}"
    return f"{name}, {heights} heights" if heights > 1 else name


def _asked(job: Job) -> list[str]:
    """The dimensions that this cutter has, as "table.key"."""
    cutter = [f"cutter.{key}" for key in ASKED if getattr(job.cutter, key) is not None]
    ground = [f"grind.{key}" for key in GROUND if getattr(job.grind, key, None) is not None]
    return cutter + ground


def _dimension(
    bench: Bench, data: dict[str, Any], chosen: Tried, path: str, why: str
) -> CutterDimension:
    table, key = path.split(".")
    draft = bench.draft
    value = getattr(getattr(chosen.job, table), key)
    step = step_either_way(key, draft.job.job.units)
    smaller, larger = (
        _step(bench, chosen, path, value + sign * step) if step else None for sign in (-1, 1)
    )
    return CutterDimension(
        key=path,
        value=float(value),
        dimension=_kind(key),
        text=str(data[table][key]),
        given=draft.given(path),
        reason="as given" if draft.given(path) else why,
        smaller=smaller,
        larger=larger,
    )


def _kind(key: str) -> str:
    if key == "teeth":
        return "count"
    return "angle" if key in ANGLES else "length"


def _step(bench: Bench, chosen: Tried, path: str, value: float) -> Step:
    """Snap probability with one dimension changed, at the planned feed; what speaks against it."""
    if path == "cutter.teeth" and value < 1:
        note = "a cutter has at least one tooth"
        return Step(value=value, snap_probability=None, verdict=None, note=note)
    try:
        step = bench.stepped(chosen.job, path, value)
    except InputError as error:
        note = error.problems[0].rule or f"it {error.problems[0].message}"
        return Step(value=float(value), snap_probability=None, verdict=None, note=note)
    return Step(
        value=float(value),
        snap_probability=step.risk.snap_probability,
        verdict=step.verdict,
        note=against(step, chosen),
    )

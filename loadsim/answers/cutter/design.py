"""The cutter from the print: what [cutter] leaves out is proposed, each with its reason and what a
step either way does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from loadsim.answers.check import check
from loadsim.answers.cutter.reasons import reason, user_warnings
from loadsim.answers.cutter.rules import (
    CutterLayout,
    allowance,
    cutter_texts,
    grind_texts,
    offset_of,
    step_of,
)
from loadsim.answers.plan import plan
from loadsim.answers.results import Plan
from loadsim.answers.settings import Feed, FeedBound, pick_feed
from loadsim.base import units
from loadsim.base.errors import InputError
from loadsim.base.numbers import plain
from loadsim.job.read import Draft, changed, job_from_dict, read_draft
from loadsim.job.tables import Job
from loadsim.job.tolerances import width_tolerance
from loadsim.loads.cut import cutting, engagement_of
from loadsim.loads.end_holes import holes_for
from loadsim.loads.limits import undercut
from loadsim.loads.limits.utilization import LimitCode
from loadsim.loads.machine import given_feed, machine_time, pick_speed
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials.load import load_work
from loadsim.mechanics import chip
from loadsim.risk import samples, snap

#: Samples while ways of laying out the cutter are compared, and for the steps either way, as powers
#: of two. [1]
COMPARE = 10
STEPS = 12

#: Time at the grinder that each tooth over two costs, to be shared by the parts of the job (common
#: practice, no source). [s]
TOOTH_COST = 600.0

#: A smaller head, on a thinner neck, must save this share of the time to be chosen (common
#: practice, no source). [1]
SMALLER_HEAD = 0.2

#: Offsets of side passes tried for a smaller head, over the throat's width. [1]
OFFSETS = (0.08, 0.16)

#: Most rounds in which head diameter and growth are matched. [1]
ROUNDS = 3

#: Dimensions asked, in the order they are ground, with the step either way: a length in its own
#: step, else as here.
ASKED = ("head_diameter", "head_height", "neck_diameter", "neck_length", "neck_fillet", "shank_diameter", "stickout", "teeth", "rake",
         "face_offset", "relief")  # fmt: skip

ASKED_GRIND = ("gullet_depth", "land", "secondary_relief", "secondary_land", "heel_relief")

STEP = {"teeth": 1.0, "rake": math.radians(2), "relief": math.radians(1)}

STEP_METRIC = {"shank_diameter": 2.0, "stickout": 2.0, "neck_length": 0.5, "head_height": 0.2, "head_diameter": 0.1, "neck_diameter": 0.2,
               "neck_fillet": 0.05, "face_offset": 0.1, "gullet_depth": 0.3}  # fmt: skip

STEP_INCH = {"shank_diameter": 0.0625, "stickout": 0.1, "neck_length": 0.02, "head_height": 0.01, "head_diameter": 0.005, "neck_diameter": 0.01,
             "neck_fillet": 0.002, "face_offset": 0.005, "gullet_depth": 0.01}  # fmt: skip


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
class Tried:
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
    tried: tuple[Tried, ...]  #: the one chosen first
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
    found = _best(draft, family, few)
    layout = found[0].layout
    job, data = _job(draft, family, layout)
    final = _planned(job, few)
    state = samples.draws(STEPS)
    dimensions = tuple(
        _dimension(draft, data, final, layout, key, state) for key in _asked(final.job)
    )
    same = _stepped(draft, final, "cutter.head_height", final.job.cutter.head_height, state)
    return Proposal(
        job=job,
        data=data,
        dimensions=dimensions,
        base=same.snap_probability or 0.0,
        tried=tuple(_tried(x) for x in found),
        plan=final,
        warnings=tuple(user_warnings(draft, final)),
    )


def _planned(job: Job, few: samples.Draws) -> Plan:
    """Plan on the small sample, check on the whole one; where the two disagree the plan is made
    again on the whole.
    """
    quick = plan(job, few)
    result = check(quick.job, samples.draws())
    if quick.safe and result.verdict == "no-go":
        return plan(job)
    return replace(quick, result=result)


def _family(draft: Draft) -> str:
    from loadsim.materials.load import named

    try:
        return named(load_work, draft.job.work.material, "[work] material").family
    except InputError as error:
        raise InputError(
            draft.name if error.file == "job" else error.file, list(error.problems)
        ) from None


def _job(draft: Draft, family: str, layout: CutterLayout) -> tuple[Job, dict[str, Any]]:
    """Lay out the cutter and its grind, and validate the whole."""
    data = {**draft.data, "cutter": cutter_texts(draft, family, layout)}
    bare = job_from_dict({k: v for k, v in data.items() if k != "grind"}, draft.name)
    data["grind"] = grind_texts(draft, bare.cutter)
    return job_from_dict(data, draft.name), data


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """One layout with its own feed, evaluated in the plainest way: conventional, each side in one
    step.
    """

    layout: CutterLayout
    job: ResolvedJob
    feed: Feed
    speed: float
    time: float
    chance: float
    safe: bool
    wall: float  #: how far a wall is set off [mm]
    filled: float  #: share of a gullet filled [1]
    used: float  #: worst use of a hard limit [1]


def _tried_out(draft: Draft, family: str, layout: CutterLayout, few: samples.Draws) -> _Way:
    job = resolve(_job(draft, family, layout)[0])
    cut = job.cut
    way = engagement_of(
        job, passes(job, job.cut.stepover, job.cut.direction or "conventional", holes_for(job)), 90
    )
    speed = cut.spindle_speed or pick_speed(job, way.frequency)[0]
    f_z = given_feed(job, speed)
    feed = (
        pick_feed(job, way, speed, few)
        if f_z is None
        else Feed(
            f_z=f_z,
            rate=chip.feed_rate(f_z, job.cutter.teeth, speed),
            safe=True,
            bound=FeedBound.GIVEN,
            next_bound="",
        )
    )
    chance = snap.assess(job, way.passes, way.contacts, feed.f_z, few).snap_probability
    used = {c.code: c for c in undercut.checks(job, cutting(job, way, speed, feed.f_z))}
    holds = all(float(c.utilization.max()) <= 1 + 1e-9 for c in used.values() if c.hard)
    time = machine_time(job, len(way.passes), feed.rate)
    return _Way(
        layout=layout,
        job=job,
        feed=feed,
        speed=speed,
        time=time,
        chance=chance,
        safe=feed.safe and holds and chance <= job.target.snap_probability,
        wall=float(used[LimitCode.WALL_ERROR].demand.max()),
        filled=float(used[LimitCode.CHIP_PACKING].utilization.max()),
        used=max(float(c.utilization.max()) for c in used.values() if c.hard and not c.fit),
    )


def _best(draft: Draft, family: str, few: samples.Draws) -> list[_Way]:
    """Compare teeth, then a smaller head with side passes, then two heights if nothing is safe; the
    best first.
    """
    given = draft.value("cutter.teeth")
    found: list[_Way] = []
    problem = None
    for teeth in (2, 3, 4) if given is None else (given,):
        try:
            found.append(
                _matched(
                    draft, family, CutterLayout(teeth=teeth, offset=0.0, growth=0.0, heights=1), few
                )
            )
        except InputError as error:  # with more teeth it may not be possible to grind
            problem = problem or error
    if not found and problem is not None:
        raise problem
    found.sort(key=_rank)
    best = found[0].layout
    more = (
        []
        if draft.given("cutter.head_diameter")
        else [replace(best, offset=f * draft.job.slot.throat_width) for f in OFFSETS]
    )
    if not found[0].safe and not draft.given("cutter.head_height"):
        more.append(replace(best, heights=2))
    for layout in more:
        try:
            found.append(_tried_out(draft, family, layout, few))
        except InputError:
            continue  # too thin for the slot: no layout
    return sorted(found, key=_rank)


def _rank(way: _Way) -> tuple[bool, float, float]:
    if not way.safe:
        return True, way.chance, way.used
    grinding = TOOTH_COST * max(way.layout.teeth - 2, 0) / (way.job.written.job.quantity or 1)
    return False, way.time * (1 + SMALLER_HEAD * (way.layout.offset > 0)) + grinding, way.chance


def _matched(draft: Draft, family: str, layout: CutterLayout, few: samples.Draws) -> _Way:
    """Repeat the feed and the head diameter until the cut grows by what the head was made smaller
    by.
    """
    for _ in range(ROUNDS):
        found = _tried_out(draft, family, layout, few)
        growth = allowance(2 * found.wall, width_tolerance(draft.job.slot))
        fixed = draft.given("cutter.head_diameter") or draft.job.slot.sides == 1
        if (
            fixed
            or math.fabs(growth - layout.growth) < step_of("head_diameter", draft.job.job.units) / 2
        ):
            break
        layout = replace(layout, growth=growth)
    return found


def _tried(way: _Way) -> Tried:
    job = way.job.written
    layout = way.layout
    c = job.cutter
    offset = offset_of(job.slot, job.cutter.head_diameter)
    system = job.job.units
    how = (
        "one full-width pass"
        if job.slot.sides == 2 and offset == 0
        else f"axis {units.show(offset, 'length', system)} off centre"
    )
    name = f"{c.teeth} teeth, head {units.show(c.head_diameter, 'length', system)}, {how}"
    return Tried(
        name=name + (f", {layout.heights} heights" if layout.heights > 1 else ""),
        safe=way.safe,
        time_s=way.time,
        snap_probability=way.chance,
        feed_per_tooth_mm=way.feed.f_z,
        neck_diameter_mm=c.neck_diameter,
        gullet_filled=way.filled,
        web_mm=way.job.head_section.web or 0.0,
    )


def _asked(job: Job) -> list[str]:
    ground = job.grind
    return [f"cutter.{k}" for k in ASKED if getattr(job.cutter, k) is not None] + [
        f"grind.{k}" for k in ASKED_GRIND if getattr(ground, k, None) is not None
    ]


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
    kind = (
        "count"
        if key == "teeth"
        else "angle"
        if key in ("rake", "relief", "secondary_relief", "heel_relief")
        else "length"
    )
    inch = draft.job.job.units == "inch"
    near = STEP.get(key) or (
        STEP_INCH.get(key, 0.0) * units.IN if inch else STEP_METRIC.get(key, 0.0)
    )
    steps = [
        _stepped(draft, final, path, value + way * near, few) if near else None for way in (-1, 1)
    ]
    return CutterDimension(
        key=path,
        value=float(value),
        dimension=kind,
        text=str(data[table][key]),
        given=draft.given(path),
        reason="as given" if draft.given(path) else reason(draft, final, path, layout),
        smaller=steps[0],
        larger=steps[1],
    )


def _stepped(draft: Draft, final: Plan, path: str, value: float, few: samples.Draws) -> Step:
    """Snap probability with one dimension changed, at the planned feed; what no longer fits because
    of it.
    """
    if path == "cutter.teeth" and value < 1:
        return Step(value=value, snap_probability=None, note="a cutter has at least one tooth")
    try:
        other = changed(final.job, _changes(draft, final.job, path, value))
        job = resolve(other)
        way = engagement_of(
            job,
            passes(job, other.cut.stepover, other.cut.direction or "conventional", holes_for(job)),
            24,
        )
        f_z = other.cut.feed_per_tooth or 0.0
        speed = other.cut.spindle_speed or 0.0
        p = snap.assess(job, way.passes, way.contacts, f_z, few).snap_probability
        tight: list[str] = [
            c.code
            for c in undercut.checks(job, cutting(job, way, speed, f_z))
            if c.fit and float(c.utilization.max()) > 1 + 1e-9
        ]
    except InputError as error:
        return Step(
            value=float(value),
            snap_probability=None,
            note=error.problems[0].message.split("; ", 1)[-1],
        )
    if other.cutter.shank_diameter < other.cutter.head_diameter <= final.job.cutter.shank_diameter:
        tight.append("the head cannot be ground from it")
    before: set[str] = {x.name for x in final.result.limits if x.fit and x.utilization > 1 + 1e-9}
    tight = [x for x in tight if x not in before]
    return Step(
        value=float(value),
        snap_probability=p,
        note=f"does not fit: {', '.join(tight)}" if tight else "",
    )


def _changes(draft: Draft, job: Job, path: str, value: float) -> dict[str, Any]:
    if path == "cutter.teeth":  # with other teeth the flats behind them are laid out anew
        ground = grind_texts(draft, job.cutter.model_copy(update={"teeth": int(value)}))
        return {path: int(value), **{f"grind.{k}": ground.get(k) for k in ASKED_GRIND}}
    if path == "cutter.head_height":  # the shoulder stays where it is
        return {
            path: value,
            "cutter.neck_length": job.cutter.neck_length + job.cutter.head_height - value,
        }
    return {path: value}

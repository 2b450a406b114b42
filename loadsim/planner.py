"""Choose the cut: speed, feed, stepover, passes, end holes; every way is evaluated by the same chain and risk."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from loadsim import drilling, risk, units
from loadsim.case import Setup, force_constants, setup
from loadsim.counsel import few_of
from loadsim.domain import Direction, Job
from loadsim.errors import InputError, Problem
from loadsim.job import changed
from loadsim.passes import full_width, holes_of, passes
from loadsim.predrill import Layout, layout
from loadsim.results import Result, _plain
from loadsim.settings import Feed, pick_feed, pick_speed, way_of
from loadsim.stock import Hole
from loadsim.verdict import check

#: Time on the machine beside cutting (common practice, no source). [s]
TOOL_CHANGE, HOLE_SETUP, PASS_SETUP = 180.0, 60.0, 20.0
#: Feed of a small twist drill, for each turn, over its diameter (common practice, no source). [1]
DRILL_FEED = 0.015


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One way of making the undercut, evaluated."""

    name: str
    safe: bool
    feed_per_tooth_mm: float
    passes: int
    time_s: float  #: on the machine, drilling and tool changes included
    snap_probability: float
    bound_by: str  #: what bounds its feed
    next_limit: str  #: the next limit, and how far it is
    why_not: str  #: why it lost; empty for the one chosen


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The answer of `loadsim plan`: the way chosen, checked as a whole, and the ways it beat."""

    job: Job  #: the job with [cut] filled in
    result: Result
    alternatives: tuple[Alternative, ...]  #: best first
    reasons: tuple[str, ...]  #: for each setting
    safe: bool

    def to_dict(self) -> dict[str, Any]:
        """Return the JSON object: that of `check`, with the alternatives and reasons."""
        return {**self.result.to_dict(), "alternatives": _plain(self.alternatives), "reasons": list(self.reasons),
                "safe": self.safe}  # fmt: skip

    def alternatives_table(self) -> Any:
        """Return the alternatives as a pandas.DataFrame, best first."""
        import pandas as pd

        return pd.DataFrame(_plain(self.alternatives))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    name: str
    stepover: float | None
    direction: Direction
    holes: tuple[Hole, ...]
    depth: float


def plan(job: Job, drawn: risk.Draws | None = None, progress: Callable[[int, int], None] | None = None) -> Plan:
    """Pick spindle speed, feed, stepover, passes and end holes; what ``[cut]`` gives is kept.

    Ranked by: safe at all, then time on the machine, then snap probability.

    Parameters
    ----------
    job : Job
        From `loadsim.read_job`.
    drawn : Draws, optional
        Sample of the risk; made when None.
    progress : callable, optional
        Called with the number of ways evaluated and of all ways.

    Returns
    -------
    plan : Plan

    Raises
    ------
    InputError
        If a material is not known, or ``[cut]`` asks for end holes that do not fit.
    """
    s = setup(job)
    drawn = risk.draws() if drawn is None else drawn
    few = few_of(drawn)
    speed, speed_reason = _speed(s)
    tried, ways = [], _ways(s)
    for i, w in enumerate(ways):
        if progress is not None:
            progress(i, len(ways))
        tried.append((w, *_evaluate(s, w, speed, few)))
    tried.sort(key=lambda x: (not x[2].safe, round(x[2].time_s) if x[2].safe else 0, x[2].snap_probability))
    way, feed, best = tried[0]
    told = _told(tried[0][2], [x[2] for x in tried[1:]])
    final = changed(job, _cut(s, way, speed, feed))
    result = check(final, drawn)
    ok = best.safe and result.verdict != "no-go"
    return Plan(job=final, result=result, alternatives=told, safe=ok,
                reasons=(f"Spindle speed: {speed_reason}.", *_feed_reasons(s, feed, best), *_way_reasons(s, way, best)))  # fmt: skip


def _speed(s: Setup) -> tuple[float, str]:
    given = s.job.cut.spindle_speed
    if given is not None:
        return given, "as given in [cut]"
    from loadsim.chain import natural_frequency

    speed, reason = pick_speed(s, natural_frequency(s))
    return speed, f"bound by {reason}"


def _ways(s: Setup) -> list[_Way]:
    """List the ways that [cut] leaves open."""
    cut, (low, high) = s.job.cut, s.axis_limits
    start = 0.0 if s.job.slot.sides == 2 else max(low, s.section.throat_high - s.head.radius)
    span = high - start
    stepping = span > 1e-6 and not (cut.stepover is None and full_width(s))
    steps: list[float | None] = [cut.stepover]
    if cut.stepover is None and stepping:
        steps = [None] + [span / n for n in (2, 3, 4) if span / n > 0.05]
    found = []
    for direction in _directions(s, stepping):
        for step in steps:
            for label, holes, depth in _hole_options(s):
                name = _way_name(s, step, direction, stepping) + label
                found.append(_Way(name=name, stepover=step, direction=direction, holes=holes, depth=depth))
    return found


def _directions(s: Setup, stepping: bool) -> list[Direction]:
    if s.job.cut.direction is not None:
        return [s.job.cut.direction]
    return ["conventional", "climb"] if stepping else ["conventional"]


def _hole_options(s: Setup) -> list[tuple[str, tuple[Hole, ...], float]]:
    cut, given = s.job.cut, s.job.predrill
    none: tuple[str, tuple[Hole, ...], float] = ("", (), 0.0)
    if cut.predrill is False:
        return [none]
    if given is not None:
        held = (f", after {len(given.offsets)} end holes as given", holes_of(s.job), given.depth)
        return [held] if cut.predrill else [none, held]
    laid = layout(s)
    if laid is None:
        if cut.predrill:
            raise InputError("job", [Problem(where="[cut] predrill", message="is true, but no end hole fits; leave it out, or give [predrill]")])
        return [none]
    own = (f", after {len(laid.holes)} end holes {laid.drill.name}", laid.holes, laid.depth)
    return [own] if cut.predrill else [none, own]


def _way_name(s: Setup, step: float | None, direction: str, stepping: bool) -> str:
    if not stepping:
        return "one full pass" + _heights(s)
    how = "in one step" if step is None else f"by {units.show(step, 'length', s.job.job.units)}"
    first = "centre line first, then each side" if s.job.slot.sides == 2 else "side cut"
    return f"{first} {how}, {direction}" + _heights(s)


def _heights(s: Setup) -> str:
    n = math.ceil(s.job.slot.undercut_height / s.head.height - 1e-9)
    return f" at {n} heights" if n > 1 else ""


def _evaluate(s: Setup, w: _Way, speed: float, few: risk.Draws) -> tuple[Feed, Alternative]:
    laid = passes(s, w.stepover, w.direction, w.holes)
    way = way_of(s, laid, 90)
    feed = _given_feed(s, speed) or pick_feed(s, way, speed, few)
    chance = risk.assess(s, laid, way.contacts, feed.f_z, few)
    travel = s.job.slot.length + s.job.cutter.head_diameter
    time = travel * len(laid) / feed.rate + PASS_SETUP * len(laid) + _drilling_time(s, w)
    over = [n for n, u in _standing(s, way, speed, feed.f_z) if u > 1 + 1e-9]
    trouble = over or (["the drill would break"] if not drill_holds(s, w.holes) else [])
    return feed, Alternative(
        name=w.name, safe=feed.safe and not trouble, feed_per_tooth_mm=feed.f_z, passes=len(laid), time_s=time,
        snap_probability=chance.snap_probability, bound_by=", ".join(trouble) or feed.bound, next_limit=feed.next_bound, why_not="",
    )  # fmt: skip


def _given_feed(s: Setup, speed: float) -> Feed | None:
    cut, teeth = s.job.cut, speed / (2 * math.pi) * s.job.cutter.teeth
    f_z = cut.feed_per_tooth if cut.feed_rate is None else cut.feed_rate / teeth
    if f_z is None:
        return None
    return Feed(f_z=f_z, rate=f_z * teeth, safe=True, bound="the feed given in [cut]", next_bound="not asked")


def _standing(s: Setup, way: Any, speed: float, f_z: float) -> list[tuple[str, float]]:
    """Hard limits at this feed, clearances included."""
    from loadsim import limits
    from loadsim.settings import cutting

    found = limits.checks(s, cutting(s, way, speed, f_z))
    return [(c.name, float(c.utilization.reshape(-1)[0])) for c in found if c.hard]


def drill_holds(s: Setup, holes: tuple[Hole, ...]) -> bool:
    """Whether a high-speed-steel drill bears the end holes. Its torque is asked to stay under half of what breaks it.

    Parameters
    ----------
    s : Setup
        The job, resolved.
    holes : tuple of Hole
        None of them holds.

    Returns
    -------
    holds : bool
    """
    import numpy as np

    if not holes:
        return True
    D, f = holes[0].diameter, DRILL_FEED * holes[0].diameter
    h = np.array(f / 2 * math.sin(math.radians(59)))
    k_c11, m_c, _, _ = force_constants(s, h)
    M = drilling.torque(k_c11 * h**-m_c, f, D) * s.force_factor
    return bool(0.5 * drilling.torque_to_break(1500.0, D) >= M)


def _drilling_time(s: Setup, w: _Way) -> float:
    if not w.holes:
        return 0.0
    D = w.holes[0].diameter
    speed = min(0.5 * s.work.surface_speed_hi / (D / 2), s.job.machine.max_spindle_speed)
    each = w.depth / (DRILL_FEED * D * speed / (2 * math.pi)) * 2 + HOLE_SETUP  # twice: pecking
    ends = s.job.slot.open_ends if w.depth < s.job.slot.length else 1
    return TOOL_CHANGE + each * len(w.holes) * ends


def _told(best: Alternative, rest: list[Alternative]) -> tuple[Alternative, ...]:
    """Say of each way that lost why it did."""
    from dataclasses import replace

    def why(a: Alternative) -> str:
        if not a.safe:
            return f"not safe: {a.bound_by}"
        if round(a.time_s) > round(best.time_s):
            return f"takes {a.time_s - best.time_s:.0f} s longer"
        if a.snap_probability > max(1.2 * best.snap_probability, 1e-6):
            return f"as quick, but the snap probability is {a.snap_probability:.1g} against {best.snap_probability:.1g}"
        return "as good"

    return (best, *(replace(a, why_not=why(a)) for a in rest))


def _cut(s: Setup, w: _Way, speed: float, feed: Feed) -> dict[str, Any]:
    """Return [cut] and [predrill] of the way chosen, as changes to the job."""
    found: dict[str, Any] = {
        "cut.spindle_speed": speed, "cut.feed_per_tooth": feed.f_z, "cut.feed_rate": None, "cut.stepover": w.stepover,
        "cut.direction": w.direction, "cut.predrill": bool(w.holes),
    }  # fmt: skip
    if w.holes and s.job.predrill is None:
        found |= {"predrill.diameter": w.holes[0].diameter, "predrill.offsets": [h.offset for h in w.holes],
                  "predrill.height": w.holes[0].height, "predrill.depth": w.depth}  # fmt: skip
    return found


def _feed_reasons(s: Setup, feed: Feed, best: Alternative) -> tuple[str, ...]:
    if not best.safe:
        return (f"No feed is safe: {best.bound_by}. The answer is for the least feed that the edge can cut.",)
    hand = f" One handwheel turn in {s.handwheel / feed.rate:.3g} s." if s.job.machine.feed == "hand" else ""
    steady, spread = risk.STEADINESS[s.job.machine.feed]
    return (f"Feed: bound by {feed.bound}; next is {feed.next_bound}.{hand}",
            f"The plan assumes a {s.job.machine.feed} feed that swings by a factor {math.exp(spread) * steady:.2f} (one cut in six is worse).")  # fmt: skip


def _way_reasons(s: Setup, w: _Way, best: Alternative) -> tuple[str, ...]:
    holes = "" if not w.holes else f", of which drilling {_drilling_time(s, w):.0f} s"
    assumed = f"{PASS_SETUP:.0f} s to set up a pass, {HOLE_SETUP:.0f} s a hole, {TOOL_CHANGE:.0f} s a tool change"
    return (f"Way: {best.name}; about {best.time_s:.0f} s on the machine{holes} (assumed {assumed}).",)


__all__ = ["Alternative", "Layout", "Plan", "drill_holds", "plan"]

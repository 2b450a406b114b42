"""Results in words, for a terminal: the reader's own units first. Nothing is computed here."""

from __future__ import annotations

from typing import Any

from loadsim.answers.results import Result, ThroatMillState
from loadsim.base import units
from loadsim.job.tables import Job
from loadsim.report.rows import cuts, governed_text, over_capacity
from loadsim.report.terminal.layout import CAUTION, columns, wrap
from loadsim.risk.results import Risk, Trials
from loadsim.words import phrases
from loadsim.words.phrases import chance_text


def _risk_lines(risk: Risk, target: float) -> list[str]:
    if risk.snap_probability < 1e-6:
        numbers = "under 0.000001"
    else:
        numbers = (
            f"{phrases.probability(risk.snap_probability)} (95 % interval"
            f" {phrases.interval(risk.low, risk.high)})"
        )
    lines = [
        (
            f"Snap probability: {numbers}, {chance_text(risk.snap_probability)}; accepted:"
            f" {phrases.accepted(target)}."
        ),
        f"From {risk.samples:,} samples, seed {risk.seed}.",
    ]
    drivers = ", ".join(f"{d.name} {d.share:.0%}" for d in risk.drivers[:5])
    return [*lines, f"What drives it: {drivers}."]


def check_text(result: Result, job: Job) -> str:
    """Write the answer of `loadsim check` for a reader at the machine.

    Parameters
    ----------
    result : Result
        From `loadsim.check`.
    job : Job
        The job that was checked.

    Returns
    -------
    text : str
    """
    parts = [
        _heading(result, job),
        *_settings(result, job),
        "",
        *_loads(result, job),
        "",
        *_limits(result),
        "",
    ]
    parts += [wrap(x) for x in _risk_lines(result.risk, job.target.snap_probability)]
    parts += [wrap(result.bad_case)] if result.bad_case else []
    parts += trials_text(result.trials, job)
    parts += ["", wrap("Would I feel it? " + result.feel)]
    parts += [
        wrap(
            f"Pre-drilling: {result.predrill.verdict} (end holes are drilled along the slot from"
            f" its open end); {result.predrill.why}"
        )
    ]
    if result.advice:
        parts += ["", "What would help:", *(wrap(a, "    ", "  - ") for a in result.advice)]
    if result.warnings:
        parts += ["", "Notes:", *(wrap(w, "    ", "  - ") for w in result.warnings)]
    return "\n".join([*parts, "", wrap(CAUTION), ""])


def trials_text(trials: Trials | None, job: Job) -> list[str]:
    """Say what the test cuts changed: before and after; nothing when none counts."""
    if trials is None or not trials.cuts:
        return []
    rows = [["", "before", "after"]]
    for f in trials.factors:
        rows.append(
            [
                f"{f.name} factor",
                *(
                    f"{b.middle:.2f} ({b.low_95:.2f} to {b.high_95:.2f})"
                    for b in (f.before, f.after)
                ),
            ]
        )
    chances = [
        f"{phrases.probability(c['snap_probability'])} ({phrases.interval(c['low'], c['high'])})"
        for c in (trials.before, trials.after)
    ]
    n = len(trials.cuts)
    return [
        "",
        wrap(
            f"Test cuts: {n} count{'s' if n == 1 else ''}; they leave"
            f" {trials.effective_samples:,.0f} effective samples of {trials.samples:,}. A factor is"
            " over what the sources give, with the range of 19 in 20."
        ),
        columns([*rows, ["snap probability", *chances]]),
        *(wrap(x, "    ", "  - ") for x in cuts(trials, job)),
    ]


def _heading(result: Result, job: Job) -> str:
    h = job.job
    title = ", ".join(
        x
        for x in (
            h.part,
            h.operation and f"operation {h.operation}",
            h.drawing and f"drawing {h.drawing}",
        )
        if x
    )
    verdict = {"go": "GO", "marginal": "MARGINAL", "no-go": "NO-GO"}[result.verdict]
    over = over_capacity(result, job.target.snap_probability)
    lines = [
        f"Job {h.number}" + (f": {title}" if title else ""),
        verdict
        + (f" because {result.why}. " if result.why else ". ")
        + governed_text(result, job.target.snap_probability),
    ]
    if over and result.verdict == "no-go":
        lines.append("Over capacity: " + ", ".join(over) + ".")
    if result.throat_mill is not None and not result.throat_mill.safe:
        lines.append("The throat mill is not safe as set: see the notes.")
    return "\n".join(wrap(x) for x in lines)


def _settings(result: Result, job: Job) -> list[str]:
    s = result.settings
    system = job.job.units

    def both(value: float, unit: str, dimension: str) -> str:
        return units.show(units.from_unit(value, unit, dimension), dimension, system, both=True)

    rows = [
        [
            "spindle speed",
            (
                f"{s.spindle_speed_rpm:.0f} rpm,"
                f" {both(s.surface_speed_m_per_min, 'm/min', 'surface speed')}"
            ),
        ],
        ["feed per tooth", both(s.feed_per_tooth_mm, "mm/tooth", "feed per tooth")],
        ["table feed", both(s.feed_rate_mm_per_min, "mm/min", "feed speed")],
    ]
    if s.handwheel_seconds_per_turn is not None:
        rows.append(
            ["handwheel", phrases.handwheel(s.handwheel_seconds_per_turn, travel(result), system)]
        )
    rows.append(["time", phrases.times(s.cutting_time_s, len(s.passes))])
    for i, p in enumerate(s.passes, 1):
        rows.append([f"pass {i}", _pass_text(p, both)])
    hows = [wrap(f"Pass {i}: {p['how']}", "    ", "  - ") for i, p in enumerate(s.passes, 1)]
    if s.predrill:
        rows.append(["end holes", _holes_text(s.predrill, both, system)])
    if result.throat_mill is not None:
        rows.append(["throat mill", _mill_text(result.throat_mill, both)])
    return ["", "Settings", columns(rows), *hows, *(wrap(x, "    ", "  - ") for x in result.picked)]


def travel(result: Result) -> float | None:
    """Table travel for a handwheel turn, given or assumed. [mm]"""
    s = result.settings
    return (
        None
        if s.handwheel_seconds_per_turn is None
        else s.handwheel_seconds_per_turn * s.feed_rate_mm_per_min / 60
    )


def _mill_text(m: ThroatMillState, both: Any) -> str:
    worst = max((x for x in m.limits if x.hard), key=lambda x: x.utilization)
    return (
        f"{m.spindle_speed_rpm:.0f} rpm, {both(m.feed_rate_mm_per_min, 'mm/min', 'feed speed')},"
        f" {phrases.levels(m.levels, m.passes)}, each {both(m.depth_per_pass_mm, 'mm', 'length')}"
        f" deep; {worst.name} used to {units.percent(worst.utilization)}"
        + ("" if m.safe else ", NOT SAFE")
    )


def _holes_text(p: dict[str, Any], both: Any, system: units.System) -> str:
    def several(values: list[float]) -> str:
        return ", ".join(both(x, "mm", "length") for x in sorted(set(values)))

    return (
        f"drilled along the slot from its open end, {p['count']} of"
        f" {phrases.drill(p['diameter_mm'], system)}, {both(p['depth_mm'], 'mm', 'length')} deep"
        f" from each open end; axes {several(p['offsets_mm'])} off centre,"
        f" {several(p['heights_mm'])} above the floor"
    )


def _pass_text(p: dict[str, Any], both: Any) -> str:
    where = (
        "on the centre line"
        if p["offset_mm"] == 0
        else f"axis {both(p['offset_mm'], 'mm', 'length')} off centre"
    )
    up = f", {both(p['height_mm'], 'mm', 'length')} above the floor" if p["height_mm"] else ""
    way = "cuts both sides" if p["direction"] == "both" else p["direction"]
    return f"{where}{up}, {way}, {both(p['radial_width_mm'], 'mm', 'length')} of metal across"


def _loads(result: Result, job: Job) -> list[str]:
    loads = result.loads
    n = result.neck
    system = job.job.units

    def show(value: float, dimension: str) -> str:
        return units.show(value, dimension, system, both=True)

    resist = "against" if loads.feed_force_mean_N >= 0 else "with"
    mean = loads.feed_force_mean_N if loads.feed_force_mean_N >= 0 else -loads.feed_force_mean_N
    rows = [
        ["thickest chip", show(loads.peak_chip_mm, "chip thickness")],
        [
            "force on the head",
            (
                f"{show(loads.peak_force_N, 'force')} at the peak,"
                f" {show(loads.mean_force_N, 'force')} on average"
            ),
        ],
        [
            "feed force",
            (
                f"{show(mean, 'force')} on average {resist} the feed, at most"
                f" {show(loads.feed_force_pull_N, 'force')} along it"
            ),
        ],
        [
            "torque",
            (
                f"{show(loads.peak_torque_Nmm, 'torque')} at the peak; power"
                f" {show(units.from_unit(loads.mean_power_W, 'W', 'power'), 'power')}"
            ),
        ],
        ["neck deflection", f"{show(n.deflection_mm, 'length')} at the head"],
        [
            "neck stress",
            (
                f"bending {show(n.bending_stress_MPa, 'stress')}, torsion"
                f" {show(n.torsion_stress_MPa, 'stress')} nominal;"
                f" {show(n.peak_stress_MPa, 'stress')} at the fillet"
            ),
        ],
        [
            "neck snaps at",
            f"{show(n.force_to_snap_N, 'force')} across, or {show(n.torque_to_snap_Nmm, 'torque')}",
        ],
    ]
    return ["Loads", columns(rows)]


def _limits(result: Result) -> list[str]:
    lines = ["Limits (used share of capacity; 100 % is the end)"]
    for x in result.limits:
        mark = " OVER" if x.utilization > 1 + 1e-9 else ""
        if x.fit:
            mark = " OVER" if mark else " fits"
            lines.append(wrap(x.note, " " * 33, f"  {x.name:<24}{mark:<7}"))
        else:
            lines.append(
                wrap(
                    x.note,
                    " " * 33,
                    f"  {x.name:<19}{units.percent(x.utilization):>10}{'!' if mark else ' '} ",
                )
            )
    return lines

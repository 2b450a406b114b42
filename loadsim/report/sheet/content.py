"""From a plan to the data of the page: texts and numbers in reading order. No markup."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from loadsim.answers.results import Plan, TrialSheet, Verdict, Watched
from loadsim.answers.trial_sheet import next_trial
from loadsim.base import units
from loadsim.job.material_paths import first_name
from loadsim.report.embed.payload import Payload
from loadsim.report.rows.loads import load_rows
from loadsim.report.rows.numbers import Show
from loadsim.report.rows.settings import handwheel_text, operation_settings, turns_a_pass
from loadsim.report.rows.test_cuts import next_cut_text
from loadsim.report.rows.verdict import governed_text, over_capacity, proving_lines
from loadsim.report.sheet.equations import Equation, equations_of
from loadsim.report.sheet.evidence import material_cautions, materials, sources
from loadsim.report.sheet.inputs import InputRow, input_rows
from loadsim.report.sheet.limits import LimitRow, limit_row
from loadsim.report.sheet.sections import sections
from loadsim.report.sheet.wording import AFTERWARDS, CAUTIONS, CHIPS, LIMIT_NOTE, MEASURED
from loadsim.words import phrases
from loadsim.words.proving import prove_text

#: Limits over capacity, remedies and drivers that page one has room for.
SHOWN_OVER = 4
SHOWN_ADVICE = 5
SHOWN_DRIVERS = 8

#: What stands over the settings.
SETTINGS_TITLES = {
    Verdict.GO: "Set on the machine",
    Verdict.MARGINAL: "Prove on scrap first; then set on the machine",
    Verdict.NO_GO: "Settings looked at: do not run them",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """Everything the template writes out."""

    title: str
    language: str
    header: tuple[tuple[str, str], ...]
    verdict: str
    verdict_lines: tuple[str, ...]
    settings: tuple[tuple[str, str], ...]
    operations: tuple[tuple[str, str], ...]
    limits: tuple[LimitRow, ...]
    fits: tuple[LimitRow, ...]
    limit_note: str
    risk: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    test_cut: tuple[tuple[str, str, str], ...]
    test_cut_settings: str
    measured: tuple[str, ...]
    predrill: str
    feel: str
    reasons: tuple[str, ...]
    advice: tuple[str, ...]
    warnings: tuple[str, ...]
    loads: tuple[tuple[str, str], ...]
    alternatives: tuple[tuple[str, ...], ...]
    runs: bool  #: whether there is something to run: it is no no-go
    settings_title: str
    remedies: tuple[str, ...]  #: for page one, when there is nothing to run
    inputs: tuple[InputRow, ...]
    materials: tuple[dict[str, Any], ...]
    equations: tuple[Equation, ...]
    sources: tuple[tuple[str, str, str], ...]
    colophon: tuple[tuple[str, str], ...]
    #: further tables: title, text, columns, rows
    sections: tuple[dict[str, Any], ...] = field(default=())


def page(plan: Plan, payload: Payload) -> Page:
    """Arrange a plan for the template.

    Parameters
    ----------
    plan : Plan
        The answer.
    payload : Payload
        What travels inside the report; names version, seed and data.

    Returns
    -------
    page : Page
    """
    system = plan.job.job.units
    show = Show(system)
    result = plan.result
    equations = equations_of(plan)
    trial = next_trial(plan)
    return Page(
        title=f"Job {result.job}: undercut cutter load report",
        language="en",
        header=_header(plan, payload),
        verdict=phrases.VERDICTS[result.verdict],
        verdict_lines=_verdict(plan),
        settings=_settings(plan, show),
        operations=_operations(plan),
        limits=tuple(limit_row(limit, show) for limit in result.limits if not limit.fit),
        fits=tuple(limit_row(limit, show) for limit in result.limits if limit.fit),
        limit_note=LIMIT_NOTE,
        risk=_risk(plan),
        cautions=(*CAUTIONS, *material_cautions(plan.job)),
        test_cut=_test_cut(trial),
        test_cut_settings=_first_cut(plan, trial),
        measured=MEASURED,
        predrill=f"{result.predrill.verdict}: {result.predrill.why}",
        feel=result.feel,
        reasons=(*plan.reasons, *result.picked),
        advice=result.advice,
        runs=result.verdict is not Verdict.NO_GO,
        settings_title=SETTINGS_TITLES[result.verdict],
        remedies=_remedies(plan),
        warnings=result.warnings,
        loads=tuple(load_rows(result, system)),
        alternatives=_alternatives(plan, show),
        inputs=input_rows(plan),
        materials=materials(plan.job),
        equations=equations,
        sources=sources(plan, equations),
        colophon=_colophon(payload),
        sections=sections(plan, trial),
    )


def _header(plan: Plan, payload: Payload) -> tuple[tuple[str, str], ...]:
    """Name the job as its file does; what the file leaves out is left out."""
    heading = plan.job.job
    work = plan.job.work
    cutter = plan.job.cutter
    rows = [
        ("Job", heading.number),
        ("Part", heading.part),
        ("Drawing", heading.drawing),
        ("Revision", heading.revision),
        ("Operation", heading.operation),
        ("Quantity", None if heading.quantity is None else str(heading.quantity)),
        ("Material", f"{first_name(work.material)}, {work.lubrication}"),
        ("Cutter", f"{first_name(cutter.material)}, {cutter.teeth} teeth"),
        ("Written by", heading.author),
        ("Date", payload.written),
    ]
    return tuple((label, text) for label, text in rows if text)


def _verdict(plan: Plan) -> tuple[str, ...]:
    result = plan.result
    target = plan.job.target.snap_probability
    because = f"Because {result.why}. " if result.why else ""
    no_go = result.verdict is Verdict.NO_GO
    over = ", ".join(over_capacity(result, target)) if no_go else ""
    over_text = f" Over capacity: {over}." if over else ""
    chance = phrases.chance_text(result.risk.snap_probability)
    lines = [
        because + governed_text(result, target) + over_text,
        (
            f"Chance that the neck snaps in this cut: {chance}; accepted:"
            f" {phrases.accepted(target)}. Weakest tool: {plan.routing.weakest}."
        ),
    ]
    if no_go:
        lines.insert(0, "No way passes; the least bad one is shown. Do not run it.")
    lines += proving_lines(result, plan.job)
    if result.bad_case:
        lines.append(result.bad_case)
    return tuple(lines)


def _settings(plan: Plan, show: Show) -> tuple[tuple[str, str], ...]:
    settings = plan.result.settings
    passes = len(settings.passes)
    rows = [
        ("Spindle speed", f"{settings.spindle_speed_rpm:.0f} rpm"),
        ("Surface speed", show(settings.surface_speed_m_per_min, "m/min", "surface speed")),
        ("Table feed", show(settings.feed_rate_mm_per_min, "mm/min", "feed speed")),
        ("Feed per tooth", show(settings.feed_per_tooth_mm, "mm/tooth", "feed per tooth")),
    ]
    handwheel = handwheel_text(settings, show.system)
    if handwheel is not None:
        rows.append(("Hand feed", f"{handwheel}, {turns_a_pass(settings)}"))
    if settings.stepover_mm is not None and passes > 1:
        rows.append(("Stepover", show.length(settings.stepover_mm)))
    rows.append(("Time", phrases.times(settings.cutting_time_s, passes)))
    rows.append(("End holes", _holes_text(settings.predrill, show)))
    return tuple(rows)


def _holes_text(holes: dict[str, Any] | None, show: Show) -> str:
    if not holes:
        return "none"
    if "along_mm" in holes:
        drill = phrases.drill(holes["diameter_mm"], show.system)
        deep = show.length(holes["depth_mm"])
        return f"{holes['count']} of {drill}, from the top at the closed end, {deep} deep"
    return (
        f"{holes['count']} of {phrases.drill(holes['diameter_mm'], show.system)}, along the slot"
        f" from its open end, {show.length(holes['depth_mm'])} deep"
    )


def _remedies(plan: Plan) -> tuple[str, ...]:
    """What page one says instead of a test cut when there is nothing to run: what is over, and what
    would help.
    """
    if plan.result.verdict is not Verdict.NO_GO:
        return ()
    over = [f"{limit.name}: {limit.note}" for limit in plan.result.limits if limit.over]
    advice = (f"Would help: {text}" for text in plan.result.advice[:SHOWN_ADVICE])
    return (*over[:SHOWN_OVER], *advice)


def _operations(plan: Plan) -> tuple[tuple[str, str], ...]:
    """List what is done in which order, with the settings of every tool."""
    rows = []
    for operation in plan.routing.operations:
        settings = ", ".join(operation_settings(operation, plan.job.job.units))
        tool = f"{operation.tool}, {settings}. " if settings else ""
        rows.append((operation.name, tool + operation.what))
    return tuple(rows)


def _risk(plan: Plan) -> tuple[tuple[str, str], ...]:
    risk = plan.result.risk
    drivers = (
        (f"Driver {number}", f"{driver.name}: {driver.share:.0%} of the variance")
        for number, driver in enumerate(risk.drivers[:SHOWN_DRIVERS], 1)
    )
    return (
        ("Snap probability", phrases.probability(risk.snap_probability)),
        ("95 % interval", phrases.interval(risk.low, risk.high)),
        ("Accepted", phrases.accepted(plan.job.target.snap_probability)),
        ("Samples", f"{risk.samples:,}, seed {risk.seed}"),
        *drivers,
    )


def _alternatives(plan: Plan, show: Show) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (
            way.name,
            show(way.feed_per_tooth_mm, "mm/tooth", "feed per tooth"),
            units.duration(way.time_s),
            phrases.few_figures(way.snap_probability),
            phrases.VERDICTS[way.verdict].lower(),
            way.bound_by,
            way.next_limit,
            way.why_not or "chosen",
        )
        for way in plan.alternatives
    )


def _first_cut(plan: Plan, trial: TrialSheet) -> str:
    """The scrap cut to be made first: the one that proves the plan, where it is to be proved, else
    the one that teaches most for its risk.
    """
    prove = plan.result.prove
    system = plan.job.job.units
    return next_cut_text(trial, system) if prove is None else prove_text(prove, system)


def _test_cut(trial: TrialSheet) -> tuple[tuple[str, str, str], ...]:
    """Rows of the test cut on page one: what is heard as computed for this job, the rest short."""
    sound = next(look for look in trial.looks if look.what is Watched.SOUND)
    return (CHIPS, ("Sound", sound.right, sound.wrong[0]), *AFTERWARDS)


def _colophon(payload: Payload) -> tuple[tuple[str, str], ...]:
    material_rows = (
        (f"{kind} data".capitalize(), f"{material.name}, fingerprint {material.hash}")
        for kind, material in payload.materials.items()
    )
    return (
        ("loadsim", payload.loadsim),
        ("Written", payload.written),
        *material_rows,
        ("Seed and samples", f"{payload.seed}, {payload.samples:,}"),
        ("Run again", "loadsim check or loadsim report on this very file"),
    )

"""From a plan to the data of the page: texts and numbers in reading order. No markup."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from loadsim.answers.results import Plan, TrialSheet, Verdict, Watched
from loadsim.answers.trial_sheet import next_trial
from loadsim.base import shop, units
from loadsim.report.embed.payload import Payload
from loadsim.report.rows.loads import load_rows
from loadsim.report.rows.numbers import Show
from loadsim.report.rows.test_cuts import next_cut_text
from loadsim.report.rows.verdict import governed_text, over_capacity, proving_lines
from loadsim.report.sheet.blanks import job_fields, measured, set_up
from loadsim.report.sheet.equations import Equation, equations_of
from loadsim.report.sheet.evidence import material_cautions, materials, sources
from loadsim.report.sheet.inputs import InputRow, input_rows
from loadsim.report.sheet.leaves import Foot, Heading, Leaf, leaves
from loadsim.report.sheet.limits import LimitRow, limit_row, limits_text
from loadsim.report.sheet.sections import sections
from loadsim.report.sheet.settings import also_set, dialled
from loadsim.report.sheet.steps import dials_text, step_heads, step_rows
from loadsim.report.sheet.wording import CAUTIONS
from loadsim.words import phrases
from loadsim.words.proving import prove_text

#: What follows the test cut.
THEN = "Then the settings above."

#: When the drawings may be measured.
SCALE = "Drawings: to scale when printed at 100 %."

#: Heads of the table of ways.
WAY_HEADS = (
    "Way",
    "Feed per tooth",
    "With setting up",
    "Snap probability",
    "Verdict",
    "Bound by",
    "Next limit",
    "Why not",
)

#: Limits over capacity, remedies and drivers that page one has room for.
SHOWN_OVER = 4
SHOWN_ADVICE = 4
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

    language: str
    head: Heading
    foot: Foot
    leaves: tuple[Leaf, ...]
    settings_title: str
    step_heads: tuple[str, ...]
    unit: str  #: of the drawings and of what is measured
    other_unit: str
    limits: tuple[LimitRow, ...]
    risk: tuple[tuple[str, str], ...]
    predrill: str
    feel: str
    reasons: tuple[str, ...]
    advice: tuple[str, ...]
    warnings: tuple[str, ...]
    loads: tuple[tuple[str, str], ...]
    way_heads: tuple[str, ...]
    alternatives: tuple[tuple[str, ...], ...]
    runs: bool  #: whether there is something to run: it is no no-go
    inputs: tuple[InputRow, ...]
    materials: tuple[dict[str, Any], ...]
    equations: tuple[Equation, ...]
    sources: tuple[tuple[str, str, str], ...]
    colophon: tuple[tuple[str, str], ...]
    #: further tables: title, text, columns, rows
    sections: tuple[dict[str, Any], ...] = field(default=())


def page(plan: Plan, payload: Payload, drawn: float = 120.0) -> Page:
    """Arrange a plan for the template.

    Parameters
    ----------
    plan : Plan
        The answer.
    payload : Payload
        What travels inside the report; names version, seed and data.
    drawn : float
        Height of the drawings of page one. [mm]

    Returns
    -------
    page : Page
    """
    system = plan.job.job.units
    show = Show(system)
    result = plan.result
    equations = equations_of(plan)
    trial = next_trial(plan)
    runs = result.verdict is not Verdict.NO_GO
    limits = tuple(limit_row(limit, show) for limit in result.limits)
    head = _heading(plan, payload, runs)
    foot = _foot(plan, trial, limits, drawn)
    return Page(
        language="en",
        head=head,
        foot=foot,
        leaves=leaves(head, foot, step_rows(plan) if runs else ()),
        settings_title=SETTINGS_TITLES[result.verdict],
        step_heads=step_heads(plan),
        unit=shop.DIAL[system],
        other_unit="inches" if system == "metric" else "mm",
        limits=limits,
        risk=_risk(plan),
        predrill=f"{result.predrill.verdict}: {result.predrill.why}",
        feel=result.feel,
        reasons=(*plan.reasons, *result.picked),
        advice=result.advice,
        runs=runs,
        warnings=result.warnings,
        loads=tuple(load_rows(result, system)),
        way_heads=WAY_HEADS,
        alternatives=_alternatives(plan, show),
        inputs=input_rows(plan),
        materials=materials(plan.job),
        equations=equations,
        sources=sources(plan, equations),
        colophon=_colophon(payload),
        sections=sections(plan, trial),
    )


def _heading(plan: Plan, payload: Payload, runs: bool) -> Heading:
    """What stands over the steps."""
    result = plan.result
    return Heading(
        title=f"Job {result.job}: undercut cutter load report",
        header=job_fields(plan.job, payload.written),
        verdict=phrases.VERDICTS[result.verdict],
        verdict_lines=_verdict(plan),
        settings=dialled(plan),
        also_set=also_set(plan),
        remedies=_remedies(plan),
        dials=dials_text(plan) if runs else "",
    )


def _foot(plan: Plan, trial: TrialSheet, limits: tuple[LimitRow, ...], drawn: float) -> Foot:
    """What stands under the steps: of a no-go there is nothing to set up nor to listen to."""
    runs = plan.result.verdict is not Verdict.NO_GO
    return Foot(
        set_up=set_up(plan) if runs else (),
        measured=measured(plan.job),
        fine=(*([sound_text(trial)] if runs else []), limits_text(limits), SCALE),
        cautions=(*CAUTIONS, *material_cautions(plan.job)),
        test_cut=f"First: {_first_cut(plan, trial)} {THEN}" if runs else "",
        proving=_proving(plan),
        drawn=drawn,
    )


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
            f" {phrases.accepted(target)}.{_weakest(plan)}"
        ),
    ]
    if no_go:
        lines.insert(0, "No way passes; the least bad one is shown. Do not run it.")
    return tuple(lines)


def _weakest(plan: Plan) -> str:
    """Name the weakest tool, where more than one was checked."""
    checked = sum(bool(operation.limits) for operation in plan.routing.operations)
    return f" Weakest tool: {plan.routing.weakest}." if checked > 1 else ""


def _proving(plan: Plan) -> tuple[str, ...]:
    """What becomes of the whole batch, and what a bad case looks like; only what there is."""
    result = plan.result
    lines = proving_lines(result, plan.job)
    # the cut that proves the plan stands as the test cut already
    lines = lines[1:] if result.prove is not None else lines
    return (*lines, result.bad_case) if result.bad_case else tuple(lines)


def _remedies(plan: Plan) -> tuple[str, ...]:
    """What page one says instead of a test cut when there is nothing to run: what is over, and what
    would help.
    """
    if plan.result.verdict is not Verdict.NO_GO:
        return ()
    over = [f"{limit.name}: {limit.note}" for limit in plan.result.limits if limit.over]
    advice = (f"Would help: {text}" for text in plan.result.advice[:SHOWN_ADVICE])
    return (*over[:SHOWN_OVER], *advice)


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
    if prove is None:
        return next_cut_text(trial, plan.job)
    return prove_text(prove, plan.job.job.units)


def sound_text(trial: TrialSheet) -> str:
    """Say what the test cut shall sound like, and the likeliest wrong sound."""
    sound = next(look for look in trial.looks if look.what is Watched.SOUND)
    return (
        f"Right sound: {sound.right}. Wrong: {sound.wrong[0]}. More under scrap test cut, on the"
        " pages behind."
    )


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

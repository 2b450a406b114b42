"""From a plan to the data of the page: texts and numbers in reading order. No markup, no plotting."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from loadsim.answers.results import Plan
from loadsim.answers.trial_sheet import TrialSheet
from loadsim.base import units
from loadsim.base.sources import load_sources
from loadsim.job.tables import Job
from loadsim.loads.limits.utilization import Limit, LimitCode
from loadsim.materials.describe import describe
from loadsim.materials.folder import is_path
from loadsim.report import rows
from loadsim.report.embed.materials import first_name
from loadsim.report.embed.payload import Payload
from loadsim.report.rows import governed_text, over_capacity, value_text
from loadsim.report.sheet.equations import Equation, equations
from loadsim.report.sheet.inputs import InputRow, inputs
from loadsim.report.sheet.sections import next_cut, sections
from loadsim.words import phrases
from loadsim.words.phrases import chance_text

#: Unit of a limit -> its dimension; the others are shown as they are.
DIMENSIONS = {
    "MPa": "stress",
    "N*mm": "torque",
    "mm": "length",
    "mm/s": "surface speed",
    "N": "force",
    "W": "power",
    "mm^3": "volume",
}

#: Limits over capacity, and remedies, that page one has room for.
SHOWN_OVER = 4
SHOWN_ADVICE = 5

WORDS = {"go": "GO", "marginal": "MARGINAL", "no-go": "NO-GO"}


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow:
    """One limit as shown."""

    name: str
    demand: str
    capacity: str
    used: float  #: share of capacity [1]
    percent: str
    mark: str  #: H or S
    over: bool
    note: str


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
    safe: bool
    remedies: tuple[str, ...]  #: for page one, when there is nothing to run
    inputs: tuple[InputRow, ...]
    materials: tuple[dict[str, Any], ...]
    equations: tuple[Equation, ...]
    sources: tuple[tuple[str, str, str], ...]
    colophon: tuple[tuple[str, str], ...]
    #: further tables: title, text, columns, rows
    sections: tuple[dict[str, Any], ...] = field(default=())


class _Show:
    """Numbers in the reader's units, the other system in brackets."""

    def __init__(self, system: units.System) -> None:
        self.system = system

    def __call__(self, value: float, unit: str, dimension: str, both: bool = True) -> str:
        return units.show(
            units.from_unit(value, unit, dimension), dimension, self.system, both=both
        )


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
    show = _Show(plan.job.job.units)
    r = plan.result
    used = equations(plan)
    sheet = next_cut(plan)
    return Page(
        title=f"Job {r.job}: undercut cutter load report",
        language="en",
        header=_header(plan, payload),
        verdict=WORDS[r.verdict],
        verdict_lines=_verdict(plan),
        settings=_settings(plan, show),
        operations=_operations(plan, show),
        limits=tuple(limit_row(x, show) for x in r.limits if not x.fit),
        fits=tuple(limit_row(x, show) for x in r.limits if x.fit),
        limit_note=LIMIT_NOTE,
        risk=_risk(plan),
        cautions=(*CAUTIONS, *_material_cautions(plan.job)),
        test_cut=_test_cut(sheet),
        test_cut_settings=rows.next_cut(sheet, plan.job.job.units),
        measured=MEASURED,
        predrill=f"{r.predrill.verdict}: {r.predrill.why}",
        feel=r.feel,
        reasons=(*plan.reasons, *r.picked),
        advice=r.advice,
        safe=plan.safe,
        remedies=_remedies(plan),
        warnings=r.warnings,
        loads=_loads(plan, show),
        alternatives=_alternatives(plan, show),
        inputs=inputs(plan),
        materials=_materials(plan.job),
        equations=used,
        sources=_sources(plan, used),
        colophon=_colophon(payload),
        sections=sections(plan, sheet, show, lambda x: limit_cells(limit_row(x, show))),
    )


def _header(plan: Plan, payload: Payload) -> tuple[tuple[str, str], ...]:
    h = plan.job.job
    job = plan.job
    rows = [
        ("Job", h.number),
        ("Part", h.part),
        ("Drawing", h.drawing),
        ("Revision", h.revision),
        ("Operation", h.operation),
        ("Quantity", None if h.quantity is None else str(h.quantity)),
        ("Material", f"{first_name(job.work.material)}, {job.work.lubrication}"),
        ("Cutter", f"{first_name(job.cutter.material)}, {job.cutter.teeth} teeth"),
        ("Written by", h.author),
        ("Date", payload.written),
    ]
    return tuple((k, v) for k, v in rows if v)


def _verdict(plan: Plan) -> tuple[str, ...]:
    r = plan.result
    target = plan.job.target.snap_probability
    over = over_capacity(r, target)
    lines = (
        [] if plan.safe else ["No safe plan was found; the least bad way is shown. Do not run it."]
    )
    because = f"Because {r.why}. " if r.why else ""
    lines.append(
        because + governed_text(r, target) + (f" Over capacity: {', '.join(over)}." if over else "")
    )
    lines.append(
        f"Chance that the neck snaps in this cut: {chance_text(r.risk.snap_probability)}; accepted:"
        f" {phrases.accepted(target)}. Weakest tool: {plan.routing.weakest}."
    )
    lines += [r.bad_case] if r.bad_case else []
    return tuple(lines)


def _settings(plan: Plan, show: _Show) -> tuple[tuple[str, str], ...]:
    s = plan.result.settings
    rows = [
        ("Spindle speed", f"{s.spindle_speed_rpm:.0f} rpm"),
        ("Surface speed", show(s.surface_speed_m_per_min, "m/min", "surface speed")),
        ("Table feed", show(s.feed_rate_mm_per_min, "mm/min", "feed speed")),
        ("Feed per tooth", show(s.feed_per_tooth_mm, "mm/tooth", "feed per tooth")),
    ]
    if s.handwheel_seconds_per_turn is not None:
        travel = s.handwheel_seconds_per_turn * s.feed_rate_mm_per_min / 60
        turns = s.cutting_time_s / s.handwheel_seconds_per_turn / len(s.passes)
        rows.append(
            (
                "Hand feed",
                (
                    f"{phrases.handwheel(s.handwheel_seconds_per_turn, travel, show.system)},"
                    f" {turns:.0f} turns a pass"
                ),
            )
        )
    if s.stepover_mm is not None and len(s.passes) > 1:
        rows.append(("Stepover", show(s.stepover_mm, "mm", "length")))
    rows.append(("Time", phrases.times(s.cutting_time_s, len(s.passes))))
    rows.append(("End holes", _holes(s.predrill, show) if s.predrill else "none"))
    return tuple(rows)


def _remedies(plan: Plan) -> tuple[str, ...]:
    """What page one says instead of a test cut when no plan is safe: what is over, and what would
    help.
    """
    if plan.safe:
        return ()
    over = [f"{x.name}: {x.note}" for x in plan.result.limits if x.utilization > 1 + 1e-9]
    return tuple(over[:SHOWN_OVER]) + tuple(
        f"Would help: {x}" for x in plan.result.advice[:SHOWN_ADVICE]
    )


def _holes(holes: dict[str, Any], show: _Show) -> str:
    return (
        f"{holes['count']} of {phrases.drill(holes['diameter_mm'], show.system)}, along the slot"
        f" from its open end, {show(holes['depth_mm'], 'mm', 'length')} deep"
    )


def _operations(plan: Plan, show: _Show) -> tuple[tuple[str, str], ...]:
    """List what is done in which order, with the settings of every tool."""
    found = []
    for o in plan.routing.operations:
        told = [] if o.spindle_speed_rpm is None else [f"{o.spindle_speed_rpm:.0f} rpm"]
        told += (
            []
            if o.feed_mm_per_min is None
            else [show(o.feed_mm_per_min, "mm/min", "feed speed", False)]
        )
        told += [] if o.share is None else [f"used to {units.percent(o.share)}"]
        found.append((o.name, (f"{o.tool}, " + ", ".join(told) + ". " if told else "") + o.what))
    return tuple(found)


def limit_row(x: Limit, show: _Show) -> LimitRow:
    """Put one limit into the reader's units.

    Parameters
    ----------
    x : Limit
        From a result.
    show : callable
        Writes a number in the reader's units.

    Returns
    -------
    row : LimitRow
    """

    def text(value: float) -> str:
        if value == 0:
            return "none"  # as the table that is not dragged
        dimension = "chip thickness" if x.name == LimitCode.RUBBING else DIMENSIONS.get(x.unit)
        return (
            show(value, x.unit, dimension, False)
            if dimension is not None
            else f"{_plain(value)} {'' if x.unit == '1' else x.unit}".rstrip()
        )

    over = x.utilization > 1 + 1e-9
    return LimitRow(
        name=x.name,
        demand=text(x.demand),
        capacity=text(x.capacity),
        used=x.utilization,
        percent=units.percent(x.utilization),
        mark="H" if x.hard else "S",
        over=over,
        note=x.note,
    )


def limit_cells(row: LimitRow) -> tuple[str, ...]:
    """Return the cells of a limit in a table of its own."""
    return (
        f"{row.name} {row.mark}",
        row.demand,
        row.capacity,
        ("OVER " if row.over else "") + row.percent,
        row.note,
    )


def _plain(value: float) -> str:
    """Three figures, never with an exponent."""
    return f"{float(f'{value:.3g}'):,.12g}"


def _risk(plan: Plan) -> tuple[tuple[str, str], ...]:
    risk = plan.result.risk
    rows = [
        ("Snap probability", phrases.probability(risk.snap_probability)),
        ("95 % interval", phrases.interval(risk.low, risk.high)),
        ("Accepted", phrases.accepted(plan.job.target.snap_probability)),
        ("Samples", f"{risk.samples:,}, seed {risk.seed}"),
    ]
    return (
        *rows,
        *(
            (f"Driver {i}", f"{d.name}: {d.share:.0%} of the variance")
            for i, d in enumerate(risk.drivers[:8], 1)
        ),
    )


def _loads(plan: Plan, show: _Show) -> tuple[tuple[str, str], ...]:
    loads = plan.result.loads
    n = plan.result.neck
    lengthy = [
        ("Thickest chip", loads.peak_chip_mm, "mm", "chip thickness"),
        ("Force on the head, peak", loads.peak_force_N, "N", "force"),
        ("Force on the head, mean", loads.mean_force_N, "N", "force"),
        ("Torque, peak", loads.peak_torque_Nmm, "N*mm", "torque"),
        ("Torque, mean", loads.mean_torque_Nmm, "N*mm", "torque"),
        ("Power, mean", loads.mean_power_W, "W", "power"),
        ("Feed force, mean (above zero resists)", loads.feed_force_mean_N, "N", "force"),
        ("Feed force, largest pull", loads.feed_force_pull_N, "N", "force"),
        ("Neck deflection at the head", n.deflection_mm, "mm", "length"),
        ("Stiffness at the head", n.stiffness_N_per_mm, "N/mm", "stiffness"),
        ("Bending moment", n.moment_Nmm, "N*mm", "torque"),
        ("Bending stress, nominal", n.bending_stress_MPa, "MPa", "stress"),
        ("Torsion stress, nominal", n.torsion_stress_MPa, "MPa", "stress"),
        ("Peak stress at the fillet", n.peak_stress_MPa, "MPa", "stress"),
        ("Force that snaps the neck", n.force_to_snap_N, "N", "force"),
        ("Torque that snaps the neck", n.torque_to_snap_Nmm, "N*mm", "torque"),
    ]
    rows = [(label, show(value, unit, dimension)) for label, value, unit, dimension in lengthy]
    return (
        *rows,
        ("K_t bending, K_ts torsion", f"{n.kt_bending:.3g}, {n.kt_torsion:.3g}"),
        ("Natural frequency", f"{n.natural_frequency_Hz:.0f} Hz"),
        ("Turns of this cut", f"{n.cycles:,.0f}"),
        ("Metal removed", f"{loads.removal_rate_mm3_per_min:.4g} mm³/min"),
    )


def _alternatives(plan: Plan, show: _Show) -> tuple[tuple[str, ...], ...]:
    def chance(p: float) -> str:
        return phrases.probability(float(f"{p:.1g}"))

    return tuple(
        (
            a.name,
            show(a.feed_per_tooth_mm, "mm/tooth", "feed per tooth"),
            units.duration(a.time_s),
            chance(a.snap_probability),
            "yes" if a.safe else "no",
            a.bound_by,
            a.next_limit,
            a.why_not or "chosen",
        )
        for a in plan.alternatives
    )


def _test_cut(sheet: TrialSheet) -> tuple[tuple[str, str, str], ...]:
    """Rows of the test cut on page one: what is heard as computed for this job, the rest short."""
    sound = next(x for x in sheet.looks if x.what == "sound")
    return tuple(
        (what, sound.right, sound.if_not.split(";")[0]) if what == "Sound" else (what, right, wrong)
        for what, right, wrong in TEST_CUT
    )


def _material_cautions(job: Job) -> tuple[str, ...]:
    """Cautions of the metal, as one line."""
    found = [x if x.endswith(".") else x + "." for x in describe(job.work.material)["cautions"]]
    return (" ".join(found),) if found else ()


def _materials(job: Job) -> tuple[dict[str, Any], ...]:
    found = []
    for name in (job.work.material, job.cutter.material):
        data = describe(name)
        rows = [
            (
                (f"{v['group']} " if v["group"] else "") + v["quantity"],
                value_text(v),
                v["mark"],
                v["source"],
            )
            for v in data["values"]
        ]
        found.append(
            {
                "name": first_name(data["name"]),
                "title": data["title"],
                "condition": data["condition"],
                "own": is_path(name),
                "rows": tuple(rows),
                "heat": tuple(data.get("heat", ())),
            }
        )
    return tuple(found)


def _sources(plan: Plan, used: tuple[Equation, ...]) -> tuple[tuple[str, str, str], ...]:
    """Only what stands behind this answer."""
    known = load_sources()
    keys = {k for e in used for k in e.keys} | set(plan.result.sources)
    return tuple(
        (
            (k, known[k].text, known[k].read)
            if k in known
            else (k, "the shop's own material file", "shop")
        )
        for k in sorted(keys)
    )


def _colophon(payload: Payload) -> tuple[tuple[str, str], ...]:
    materials = tuple(
        (f"{kind} data".capitalize(), f"{m.name}, fingerprint {m.hash}")
        for kind, m in payload.materials.items()
    )
    return (
        ("loadsim", payload.loadsim),
        ("Written", payload.written),
        *materials,
        ("Seed and samples", f"{payload.seed}, {payload.samples:,}"),
        ("Run again", "loadsim check or loadsim report on this very file"),
    )


#: Common practice of shop safety, no source.
CAUTIONS = (
    (
        "An estimate, not a guarantee. The machine's manual, the shop's rules, local codes and"
        " qualified people come before this sheet. Prove the cut on scrap of the same stock, with"
        " the same settings, before the part."
    ),
    (
        "A broken cutter is thrown: eye protection, guards in place, nobody in line with the"
        " cutter. Stop the spindle before reaching in; clear chips with a brush or air, never with"
        " fingers; no gloves or loose sleeves near the spindle."
    ),
)

#: What to look at on scrap, what is right, what to do if it is not (common practice, no source).
TEST_CUT = (
    (
        "Chips",
        "curl, even, leave the slot",
        "dust or smear: hone the edge or feed more; packed: clear, flood",
    ),
    ("Sound", "even, one beat a tooth", "knock once a turn: runout; howl: other speed"),
    ("Finish", "even feed marks", "torn or welded: slower, more coolant, hone"),
    ("Burrs", "thin, one stroke takes them", "heavy: dull edge or too little relief"),
    (
        "Size",
        "in tolerance, walls alike",
        "wide: runout; narrow or leaning: feed less, second pass",
    ),
    ("Neck", "no crack under a glass", "crack, blueing, more runout: scrap the cutter"),
)

#: What is filled in by hand.
MEASURED = (
    "head diameter",
    "neck diameter",
    "neck fillet",
    "runout at the head",
    "throat width",
    "undercut width",
)

LIMIT_NOTE = (
    "Bars: used share, the line is 100 %. H: hard, over is a no-go. S: soft, over is marginal."
)

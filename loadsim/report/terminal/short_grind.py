"""The short answer of `loadsim grind`: the cutter, and how to go about it. Nothing is computed
here.
"""

from __future__ import annotations

from loadsim.answers.cutter.design import CutterDimension, Proposal, Step
from loadsim.answers.cutter.grinding_sheet import GrindingSheet
from loadsim.base import shop, units
from loadsim.report.rows import short as rows
from loadsim.report.terminal.short import block, deeds, fitted, more, plain, text_of, title
from loadsim.words.phrases import VERDICTS
from loadsim.words.proving import prove_short
from loadsim.words.short import chance_between, one_in

#: What is told of each part of the cutter: name of the line, then key and how its value is said.
PARTS = {
    "head": (
        ("cutter.head_diameter", "{} across"),
        ("cutter.head_height", "{} high"),
        ("cutter.teeth", "{} teeth"),
        ("cutter.rake", "rake {}"),
        ("cutter.face_offset", "face {} past centre"),
    ),
    "neck": (
        ("cutter.neck_diameter", "{} thick"),
        ("cutter.neck_length", "{} long"),
        ("cutter.neck_fillet", "fillet {} at the shank"),
        ("cutter.head_fillet", "{} at the head"),
    ),
    "shank": (("cutter.shank_diameter", "{}"), ("cutter.stickout", "{} out of the collet")),
    "teeth": (
        ("grind.gullet_depth", "gullets {} deep"),
        ("cutter.relief", "relief {}"),
        ("grind.land", "land {}"),
        ("grind.secondary_relief", "second flat {}"),
        ("grind.heel_relief", "heel off at {}"),
    ),
}

#: A step that takes the chance to so many times is told. [1]
DEAR = 1.5


def short_grind(proposal: Proposal, sheet: GrindingSheet) -> str:
    """Write the answer of `loadsim grind` in 24 lines of 80 columns.

    Parameters
    ----------
    proposal : Proposal
        From `loadsim.grind`.
    sheet : GrindingSheet
        Of the proposal's job.

    Returns
    -------
    text : str
    """
    result = proposal.plan.result
    job = proposal.job
    system = job.job.units
    part = f": {job.job.part}" if job.job.part else ""
    blocks = [
        title(f"{VERDICTS[result.verdict]}. Cutter for job {job.job.number}{part}"),
        plain(rows.reason(result, job.target.snap_probability)),
        *(block(name, _part(proposal, name), most=2) for name in PARTS),
        block("infeed", _infeed(sheet, system), most=2),
        *(block(name, text) for name, text in rows.settings_rows(result, job, path=False)[1:2]),
        block("snaps", f"In {chance_between(result.risk)}.", most=2),
        block("mind", _dearest(proposal), most=2, spare=1),
        block("look", " ".join(proposal.warnings[:1]), spare=2),
        *deeds(_deeds(proposal, sheet)),
        *more("The whole grinding sheet, every why and what was compared: add --full."),
    ]
    return text_of(fitted(blocks))


def _part(proposal: Proposal, name: str) -> str:
    system = proposal.job.job.units
    told = {d.key: _value(d, d.value, system) for d in proposal.dimensions}
    parts = [words.format(told[key]) for key, words in PARTS[name] if key in told]
    return ", ".join(parts)


def _value(dimension: CutterDimension, value: float, system: units.System) -> str:
    if dimension.dimension == "length":
        return shop.length_text(value, system)
    if dimension.dimension == "count":
        return str(int(value))
    return f"{units.to_unit(value, 'deg', 'angle'):.0f} deg"


def _infeed(sheet: GrindingSheet, system: units.System) -> str:
    least = min(infeed.infeed_mm for infeed in sheet.infeed)
    return (
        f"At most {shop.fine(least, system)} for each full turn of the blank; make the full turn"
        " before you set in again."
    )


def _dearest(proposal: Proposal) -> str:
    """Which dimension a slip costs most of; empty where none costs much."""
    slips = [
        (step, dimension)
        for dimension in proposal.dimensions
        for step in (dimension.smaller, dimension.larger)
        if step is not None and (step.snap_probability or 0.0) > DEAR * max(proposal.base, 1e-6)
    ]
    if not slips:
        return ""
    step, dimension = max(slips, key=lambda slip: slip[0].snap_probability or 0.0)
    return _slip(step, dimension, proposal.job.job.units)


def _slip(step: Step, dimension: CutterDimension, system: units.System) -> str:
    name = dimension.key.split(".")[1].replace("_", " ")
    value = _value(dimension, step.value, system)
    chance = one_in(step.snap_probability or 0.0)
    return f"The {name} matters most: with {value} it snaps {chance}."


def _deeds(proposal: Proposal, sheet: GrindingSheet) -> list[str]:
    result = proposal.plan.result
    order = ", ".join(step.name[0].lower() + step.name[1:] for step in sheet.operations)
    if result.verdict == "no-go":
        return rows.deeds(result, proposal.job)
    proof = "Measure it, write what you measured into the job file, and plan again."
    if result.prove is not None:
        proof = prove_short(result.prove, proposal.job.job.units)
    return [f"Grind in this order: {order}.", proof]

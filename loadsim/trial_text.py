"""The sheet for scrap test cuts in words, for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loadsim import units, words
from loadsim.text import CAUTION, chance_text, columns, cuts, trials_text, wrap

if TYPE_CHECKING:
    from loadsim.domain import Job
    from loadsim.trial_sheet import Candidate, Sheet


def sheet_text(sheet: Sheet, job: Job) -> str:
    """Write what the test cuts say, and the sheet for the next one.

    Parameters
    ----------
    sheet : Sheet
        From `loadsim.trial_sheet.sheet`.
    job : Job
        Its job.

    Returns
    -------
    text : str
    """
    result, first, system = sheet.result, sheet.candidates[0], job.job.units
    verdict = {"go": "GO", "marginal": "MARGINAL", "no-go": "NO-GO"}[result.verdict]
    parts = [wrap(f"Job {job.job.number}: {verdict}, snap probability {words.probability(result.risk.snap_probability)}.")]
    parts += trials_text(result.trials, job) or ["", "No test cut counts for this job yet."]
    parts += ["", wrap(f"The next test cut: {next_cut(sheet, system)} {sheet.why}")]
    parts += ["", "What to read on it, and by how much that narrows what is not known of load over strength", columns(reads(first, system))]
    parts += ["", "The others", columns(_others(sheet, system))]
    parts += ["", "What to look for", *(wrap(f"{x.what}: {x.right}. If not: {x.if_not}.", "    ", "  - ") for x in sheet.looks)]
    record = 'loadsim trial JOB --record outcome=survived "length=30 mm" "spindle_power=40 W" "spindle_power_uncertainty=10 W"'
    parts += ["", wrap("Record it, with the settings that were really set (left out, those in [cut] are taken):"), f"  {record}"]
    if result.warnings:
        parts += ["", "Notes:", *(wrap(w, "    ", "  - ") for w in result.warnings)]
    return "\n".join([*parts, "", wrap(CAUTION), ""])


def _feed(c: Candidate, system: units.System) -> str:
    return units.show(c.feed_per_tooth_mm, "feed per tooth", system)


def _length(c: Candidate, system: units.System) -> str:
    return units.show(c.length_mm, "length", system)


def _share(x: float) -> str:
    return f"{x:.0%}" if x >= 0.005 else "under 1%"


def next_cut(sheet: Sheet, system: units.System) -> str:
    """Say which test cut to make.

    Parameters
    ----------
    sheet : Sheet
        From `loadsim.trial_sheet.sheet`.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str
    """
    first = sheet.candidates[0]
    return (f"{sheet.spindle_speed_rpm:.0f} rpm, {_feed(first, system)}, {_length(first, system)} long, in scrap of the same "
            f"stock. Chance to snap: {chance_text(first.snap_chance)}.")  # fmt: skip


def reads(c: Candidate, system: units.System) -> list[list[str]]:
    """Tabulate what each reading of a test cut would teach, the heads first.

    Parameters
    ----------
    c : Candidate
        A test cut that could be made.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    rows : list of list of str
    """
    rows = [["reading", "expected (19 in 20)", "if read to", "narrows by"], ["outcome alone", "", "", _share(c.narrowing)]]
    for r in sorted(c.reads, key=lambda r: -r.narrowing):
        dimension = {"N": "force", "N*mm": "torque", "W": "power", "mm": "length"}[r.unit]
        low, high, error = (units.show(units.from_unit(x, r.unit, dimension), dimension, system) for x in (
            r.expected.low_95, r.expected.high_95, r.uncertainty))  # fmt: skip
        rows.append([r.name.replace("_", " "), f"{low} to {high}", f"+-{error}", _share(r.narrowing)])
    return rows


def _others(sheet: Sheet, system: units.System) -> list[list[str]]:
    rows = [["feed per tooth", "length", "chance to snap", "narrows by, outcome alone", "with the best reading"]]
    for c in sheet.candidates[1:]:
        chance = words.probability(float(f"{c.snap_chance:.1g}"))
        rows.append([_feed(c, system), _length(c, system), chance, _share(c.narrowing), _share(c.most)])
    return rows


__all__ = ["cuts", "next_cut", "reads", "sheet_text"]

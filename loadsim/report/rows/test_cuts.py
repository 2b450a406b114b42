"""Scrap test cuts: what those made have shown, and what the next one would."""

from __future__ import annotations

from loadsim.answers.results import Candidate, ExpectedReading, TrialSheet
from loadsim.base import shop, units
from loadsim.job.tables import Job
from loadsim.loads.resolve import resolve
from loadsim.mechanics import chip
from loadsim.report.rows.numbers import reading_text
from loadsim.risk.results import Band, ScrapCut, TrialReading, Trials
from loadsim.words import phrases
from loadsim.words.passes import dialled

#: What a test cut sounded like; chatter is heard, not computed.
HEARD = {
    "quiet": "it ran quietly",
    "sings": "it sang: change the speed a little",
    "howls": "it howled: do not run the part so, the neck swings more than is counted here",
}


def cut_sentences(trials: Trials, job: Job) -> list[str]:
    """Say of every test cut what happened and what was expected, one line each.

    Parameters
    ----------
    trials : Trials
        Of a result.
    job : Job
        Its job, for the units.

    Returns
    -------
    sentences : list of str
    """
    return [_cut_sentence(cut, job.job.units) for cut in trials.cuts]


def _cut_sentence(cut: ScrapCut, system: units.System) -> str:
    outcome = "survived" if cut.outcome == "survived" else "snapped within"
    length = reading_text(cut.length_mm, "mm", system)
    chance = phrases.plain(cut.snap_expected, 1)
    parts = [f"{cut.where}: {outcome} {length}, its chance to snap was put at {chance}"]
    parts += [_reading_text(reading, system) for reading in cut.readings]
    if cut.sound is not None:
        parts.append(HEARD[cut.sound])
    return "; ".join(parts) + "."


def _reading_text(reading: TrialReading, system: units.System) -> str:
    value, low, high = (
        reading_text(number, reading.unit, system)
        for number in (reading.value, reading.expected.low_95, reading.expected.high_95)
    )
    return f"{reading.name.replace('_', ' ')} {value} where {low} to {high} was expected"


def factor_rows(trials: Trials) -> list[tuple[str, str, str]]:
    """Tabulate what the test cuts changed: each factor and the chance to snap, before and after.

    Parameters
    ----------
    trials : Trials
        Of a result.

    Returns
    -------
    rows : list of (name, before, after)
    """
    rows = [
        (f"{factor.name} factor", _band_text(factor.before), _band_text(factor.after))
        for factor in trials.factors
    ]
    chances = _risk_text(trials.before), _risk_text(trials.after)
    return [*rows, ("snap probability", *chances)]


def _band_text(band: Band) -> str:
    return f"{band.middle:.2f} ({band.low_95:.2f} to {band.high_95:.2f})"


def _risk_text(risk: dict[str, float]) -> str:
    interval = phrases.interval(risk["low"], risk["high"])
    return f"{phrases.probability(risk['snap_probability'])} ({interval})"


def next_cut_text(sheet: TrialSheet, job: Job) -> str:
    """Say which test cut to make, fed as it is dialled.

    Parameters
    ----------
    sheet : TrialSheet
        From `loadsim.answers.trial_sheet.sheet`.
    job : Job
        Its job.

    Returns
    -------
    text : str
    """
    first = sheet.candidates[0]
    speed = units.from_unit(sheet.spindle_speed_rpm, "rpm", "angular speed")
    feed = dialled(resolve(job), first.feed_per_tooth_mm, speed)
    return (
        f"{sheet.spindle_speed_rpm:.0f} rpm, {feed},"
        f" {length_text(first, job.job.units)} long, in scrap of the same stock. Chance to snap:"
        f" {phrases.chance_text(first.snap_chance)}."
    )


def reading_rows(candidate: Candidate, system: units.System) -> list[list[str]]:
    """Tabulate what each reading of a test cut would teach, the heads first.

    Parameters
    ----------
    candidate : Candidate
        A test cut that could be made.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    rows : list of list of str
    """
    rows = [
        ["reading", "expected (19 in 20)", "if read to", "narrows by"],
        ["outcome alone", "", "", share_text(candidate.narrowing)],
    ]
    for reading in sorted(candidate.reads, key=lambda reading: -reading.narrowing):
        low, high, error = (
            reading_text(number, reading.unit, system)
            for number in (reading.expected.low_95, reading.expected.high_95, reading.uncertainty)
        )
        name = reading.name.replace("_", " ")
        rows.append([name, f"{low} to {high}", f"+-{error}", share_text(reading.narrowing)])
    return rows


#: How a reading of a test cut is written down, in each system.
EXAMPLES: dict[units.System, tuple[str, ...]] = {
    "metric": ("spindle_power=40 W", "spindle_power_uncertainty=10 W"),
    "inch": ("spindle_power=0.05 hp", "spindle_power_uncertainty=0.01 hp"),
}


def record_example(sheet: TrialSheet, job: Job) -> tuple[str, ...]:
    """Write the command that records the cut proposed, in the job's own units, in three parts."""
    system = job.job.units
    first = sheet.candidates[0]
    speed = units.from_unit(sheet.spindle_speed_rpm, "rpm", "angular speed")
    rate = chip.feed_rate(first.feed_per_tooth_mm, job.cutter.teeth, speed)
    settings = (
        f"feed_rate={units.show(rate, 'feed speed', system)}",
        f"length={units.show(first.length_mm, 'length', system)}",
    )
    set_ = f'"spindle_speed={sheet.spindle_speed_rpm:.0f} rpm"'
    return (
        f"loadsim trial JOB --record outcome=survived {set_}",
        *(" ".join(f'"{x}"' for x in entries) for entries in (settings, EXAMPLES[system])),
    )


def reading_error(reading: ExpectedReading, system: units.System) -> str:
    """Write how well a reading is read, in the reader's own system."""
    if reading.unit == "N":
        return shop.force(reading.uncertainty, system)
    if reading.unit == "mm":
        return shop.fine(reading.uncertainty, system)
    return reading_text(reading.uncertainty, reading.unit, system)


def feed_text(candidate: Candidate, system: units.System) -> str:
    """Write the feed per tooth of a test cut."""
    return units.show(candidate.feed_per_tooth_mm, "feed per tooth", system)


def length_text(candidate: Candidate, system: units.System) -> str:
    """Write the length of a test cut."""
    return units.show(candidate.length_mm, "length", system)


def share_text(share: float) -> str:
    """Write a share to read, never as nothing."""
    return f"{share:.0%}" if share >= 0.005 else "under 1%"

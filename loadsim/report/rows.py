"""report/rows"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from loadsim.answers.cutter.grinding_sheet import GIVE, TURN, GrindingSheet, GrindStep
from loadsim.answers.results import Result
from loadsim.base import units
from loadsim.job.tables import Job
from loadsim.loads.limits.utilization import LimitCode
from loadsim.risk.results import Trials
from loadsim.words import phrases
from loadsim.words.phrases import chance_text

if TYPE_CHECKING:
    from loadsim.answers.trial_sheet import Candidate, TrialSheet

#: How the angles and measures of the sheet are meant.
INTRO = (
    "Index 0 grinds the flute of the first tooth, its face upright. Angles go on in the direction"
    " in which the cutter turns. Offsets are from the centre, set-downs from a touch-off on the"
    " surface named."
)

INFEED = (
    "Infeed for each full turn of the blank while the neck is cut (by a wheel, the blank turned"
    f" once in {TURN:g} s; turned faster it takes less)"
)


def head_rows(sheet: GrindingSheet, system: units.System) -> list[list[str]]:
    """Tabulate what the end of the head comes to.

    Parameters
    ----------
    sheet : Sheet
        From `loadsim.answers.cutter.grinding_sheet.sheet`.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    rows : list of list of str
    """

    def show(x: float) -> str:
        return units.show(x, "length", system)

    h = sheet.head
    return [
        [
            "rake, relief, wedge of the tooth",
            f"{h['rake_deg']:.1f}, {h['relief_deg']:.1f}, {h['wedge_deg']:.1f} deg",
        ],
        ["web", show(h["web_mm"])],
        ["land", show(h["land_mm"])],
        ["gullet, each", _area(h["gullet_area_mm2"], system)],
        [
            "tooth at its weakest",
            f"{show(h['tooth_thickness_mm'])} thick, {show(h['tooth_arm_mm'])} below the edge",
        ],
        [
            "kept of the full round",
            f"{h['area_share']:.0%} of the area, {h['second_moment_share']:.0%} of the stiffness",
        ],
    ]


def infeed_rows(sheet: GrindingSheet, system: units.System) -> list[list[str]]:
    """Tabulate the largest infeed for each full turn of the blank, the heads first.

    Parameters
    ----------
    sheet : Sheet
        From `loadsim.answers.cutter.grinding_sheet.sheet`.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    rows : list of list of str
    """

    def show(x: float) -> str:
        return units.show(x, "length", system)

    def fine(x: float) -> str:
        return units.show(x, "chip thickness", system)

    def most(x: float) -> str:
        return fine(x) if x < 1.0 else f"over {show(1.0)}"

    return [
        [
            "neck at",
            "the blank bears",
            f"gives way {show(GIVE)} at",
            "without burning",
            "so set at most",
        ],
        *(
            [
                show(i.diameter_mm),
                most(i.by_strength_mm),
                most(i.by_deflection_mm),
                fine(i.usual_mm),
                fine(i.infeed_mm),
            ]
            for i in sheet.infeed
        ),
    ]


def adds_up(sheet: GrindingSheet) -> str:
    """Say what happens when the infeed is moved before a full turn.

    Parameters
    ----------
    sheet : Sheet
        From `loadsim.answers.cutter.grinding_sheet.sheet`.

    Returns
    -------
    text : str
    """
    return (
        "Set in before the turn is full and the steps add up: every quarter turn makes the wheel"
        " meet four steps at once, with four times the force and four times the heat."
        f" {_breaks(sheet.infeed[-1].steps_to_break)}"
    )


def _area(x: float, system: units.System) -> str:
    return f"{x:.2f} mm^2" if system == "metric" else f"{x / units.IN**2:.4f} in^2"


def _breaks(steps: float) -> str:
    if steps > 20:
        return (
            "This neck would not break by that, but it gives way, springs back, and burns at its"
            " fillets."
        )
    return (
        f"At the finished neck {math.floor(steps)} such steps on top of each other break the blank."
    )


def settings_of(o: GrindStep, system: units.System) -> str:
    """Say how one step of the grinding is set: index angles, offset, set-down, where along the
    axis; empty when nothing is.

    Parameters
    ----------
    o : Operation
        Of a grinding sheet.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str
    """

    def show(x: float) -> str:
        return units.show(x, "length", system)

    settings = []
    if o.index_deg:
        settings.append("index " + ", ".join(f"{x:.1f}" for x in o.index_deg) + " deg")
    if o.offset_mm is not None:
        settings.append(
            "on centre"
            if math.fabs(o.offset_mm) < 5e-4
            else f"offset {show(math.fabs(o.offset_mm))} "
            + ("past centre" if o.offset_mm > 0 else "short of centre")
        )
    if o.set_down_mm is not None:
        text = f"set down {show(o.set_down_mm)}"
        differs = (
            o.set_down_from_blank_mm is not None
            and math.fabs(o.set_down_from_blank_mm - o.set_down_mm) > 1e-6
        )
        settings.append(
            text
            + (
                f" from the round head ({show(o.set_down_from_blank_mm or 0.0)} from the blank)"
                if differs
                else " from the blank"
            )
        )
    if o.from_end_mm is not None and o.from_end_mm[1] > 0:
        settings.append(
            f"from {show(o.from_end_mm[0])} to {show(o.from_end_mm[1])} off the end face"
        )
    return "; ".join(settings)


def cuts(trials: Trials, job: Job) -> list[str]:
    """Say of every test cut what happened and what was expected, one line each.

    Parameters
    ----------
    trials : Trials
        Of a result.
    job : Job
        Its job.

    Returns
    -------
    lines : list of str
    """
    system = job.job.units
    found = []

    def show(value: float, unit: str) -> str:
        dimension = {"N": "force", "N*mm": "torque", "W": "power", "mm": "length"}[unit]
        return units.show(units.from_unit(value, unit, dimension), dimension, system)

    for c in trials.cuts:
        reads = [
            f"{r.name.replace('_', ' ')} {show(r.value, r.unit)} where"
            f" {show(r.expected.low_95, r.unit)} to {show(r.expected.high_95, r.unit)} was expected"
            for r in c.readings
        ]
        end = "survived" if c.outcome == "survived" else "snapped within"
        found.append(
            "; ".join(
                [
                    (
                        f"{c.where}: {end} {show(c.length_mm, 'mm')}, its chance to snap was put at"
                        f" {phrases.plain(c.snap_expected, 1)}"
                    ),
                    *reads,
                ]
            )
            + "."
        )
    return found


def governed_text(result: Result, target: float) -> str:
    """Say what decides, and how far it is used.

    Parameters
    ----------
    result : Result
        From `loadsim.check`.
    target : float
        Accepted snap probability. [1]

    Returns
    -------
    text : str
    """
    if result.governed_by == LimitCode.SNAP_PROBABILITY:
        return (
            f"Governed by the snap probability, {chance_text(result.risk.snap_probability)}; asked:"
            f" at most {target:g}."
        )
    x = next(x for x in result.limits if x.name == result.governed_by)
    return (
        f"Governed by {x.name}: {x.note}"
        if x.fit
        else f"Governed by {x.name}, used to {units.percent(x.utilization)}."
    )


def over_capacity(result: Result, target: float) -> list[str]:
    """Name everything over capacity, the chance that the neck snaps too."""
    over: list[str] = [x.name for x in result.limits if x.utilization > 1 + 1e-9]
    return [*over, LimitCode.SNAP_PROBABILITY] if result.risk.snap_probability > target else over


def value_text(v: dict[str, Any]) -> str:
    parts = [f"{v['value']:g}"] if v["value"] is not None else []
    if v["lo"] is not None and v["hi"] is not None:
        parts.append(
            f"{v['lo']:g} to {v['hi']:g}" if not parts else f"({v['lo']:g} to {v['hi']:g})"
        )
    if v["unit"] and v["unit"] != "1":
        parts.append(v["unit"])
    if v["spread"] is not None:
        parts.append(f"+-{v['spread']:.0%}")
    return " ".join(parts)


def feed_text(c: Candidate, system: units.System) -> str:
    return units.show(c.feed_per_tooth_mm, "feed per tooth", system)


def length_text(c: Candidate, system: units.System) -> str:
    return units.show(c.length_mm, "length", system)


def share_text(x: float) -> str:
    return f"{x:.0%}" if x >= 0.005 else "under 1%"


def next_cut(sheet: TrialSheet, system: units.System) -> str:
    """Say which test cut to make.

    Parameters
    ----------
    sheet : Sheet
        From `loadsim.answers.trial_sheet.sheet`.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str
    """
    first = sheet.candidates[0]
    return (
        f"{sheet.spindle_speed_rpm:.0f} rpm, {feed_text(first, system)},"
        f" {length_text(first, system)} long, in scrap of the same stock. Chance to snap:"
        f" {chance_text(first.snap_chance)}."
    )


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
    rows = [
        ["reading", "expected (19 in 20)", "if read to", "narrows by"],
        ["outcome alone", "", "", share_text(c.narrowing)],
    ]
    for r in sorted(c.reads, key=lambda r: -r.narrowing):
        dimension = {"N": "force", "N*mm": "torque", "W": "power", "mm": "length"}[r.unit]
        low, high, error = (
            units.show(units.from_unit(x, r.unit, dimension), dimension, system)
            for x in (r.expected.low_95, r.expected.high_95, r.uncertainty)
        )
        rows.append(
            [r.name.replace("_", " "), f"{low} to {high}", f"+-{error}", share_text(r.narrowing)]
        )
    return rows

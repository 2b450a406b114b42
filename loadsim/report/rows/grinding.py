"""How a cutter is ground: settings of each step, the head as it comes out, infeed of the neck."""

from __future__ import annotations

import math

from loadsim.answers.cutter.grinding_sheet import GIVE, TURN, GrindingSheet, GrindStep
from loadsim.base import shop, units

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

#: Infeed from which on the exact figure helps nobody. [mm]
AMPLE = 1.0

#: Steps on top of each other from which on the neck gives way and does not break. [1]
YIELDING = 20

#: Offset under which a wheel stands on centre, and set-downs that differ by no more are one. [mm]
ON_CENTRE = 5e-4
SAME = 1e-6


def head_rows(sheet: GrindingSheet, system: units.System) -> list[list[str]]:
    """Tabulate what the end of the head comes to.

    Parameters
    ----------
    sheet : GrindingSheet
        From `loadsim.answers.cutter.grinding_sheet.sheet`.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    rows : list of list of str
    """
    head = sheet.head
    angles = f"{head['rake_deg']:.1f}, {head['relief_deg']:.1f}, {head['wedge_deg']:.1f} deg"
    thickness = _length(head["tooth_thickness_mm"], system)
    arm = _length(head["tooth_arm_mm"], system)
    area = f"{head['area_share']:.0%} of the area"
    return [
        ["rake, relief, wedge of the tooth", angles],
        ["web", _length(head["web_mm"], system)],
        ["land", _length(head["land_mm"], system)],
        ["gullet, each", _area(head["gullet_area_mm2"], system)],
        ["tooth at its weakest", f"{thickness} thick, {arm} below the edge"],
        ["kept of the full round", f"{area}, {head['second_moment_share']:.0%} of the stiffness"],
    ]


def infeed_rows(sheet: GrindingSheet, system: units.System) -> list[list[str]]:
    """Tabulate the largest infeed for each full turn of the blank, the heads first.

    Parameters
    ----------
    sheet : GrindingSheet
        From `loadsim.answers.cutter.grinding_sheet.sheet`.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    rows : list of list of str
    """

    def fine(infeed: float) -> str:
        return units.show(infeed, "chip thickness", system)

    def at_most(infeed: float) -> str:
        return fine(infeed) if infeed < AMPLE else f"over {_length(AMPLE, system)}"

    give = f"gives way {_length(GIVE, system)} at"
    heads = ["neck at", "the blank bears", give, "without burning", "so set at most"]
    rows = [
        [
            _length(infeed.diameter_mm, system),
            at_most(infeed.by_strength_mm),
            at_most(infeed.by_deflection_mm),
            fine(infeed.usual_mm),
            fine(infeed.infeed_mm),
        ]
        for infeed in sheet.infeed
    ]
    return [heads, *rows]


def heat_rows(sheet: GrindingSheet, system: units.System) -> list[tuple[str, str]]:
    """Tabulate what a colour on the blank means, its temperatures in the reader's degrees.

    Parameters
    ----------
    sheet : GrindingSheet
        From `loadsim.answers.cutter.grinding_sheet.sheet`.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    rows : list of (colour, meaning)
    """
    return [(colour, shop.temperatures(meaning, system)) for colour, meaning in sheet.heat]


def adds_up(sheet: GrindingSheet) -> str:
    """Say what happens when the infeed is moved before a full turn.

    Parameters
    ----------
    sheet : GrindingSheet
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


def _breaks(steps: float) -> str:
    if steps > YIELDING:
        return (
            "This neck would not break by that, but it gives way, springs back, and burns at its"
            " fillets."
        )
    return (
        f"At the finished neck {math.floor(steps)} such steps on top of each other break the blank."
    )


def settings_of(step: GrindStep, system: units.System) -> str:
    """Say how one step of the grinding is set: index angles, offset, set-down, where along the
    axis; empty when nothing is.

    Parameters
    ----------
    step : GrindStep
        Of a grinding sheet.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str
    """
    settings = []
    if step.index_deg:
        settings.append("index " + ", ".join(f"{angle:.1f}" for angle in step.index_deg) + " deg")
    if step.offset_mm is not None:
        settings.append(_offset(step.offset_mm, system))
    if step.set_down_mm is not None:
        settings.append(_set_down(step.set_down_mm, step.set_down_from_blank_mm, system))
    if step.from_end_mm is not None and step.from_end_mm[1] > 0:
        start, end = (_length(place, system) for place in step.from_end_mm)
        settings.append(f"from {start} to {end} off the end face")
    return "; ".join(settings)


def _offset(offset: float, system: units.System) -> str:
    distance = math.fabs(offset)
    if distance < ON_CENTRE:
        return "on centre"
    side = "past centre" if offset > 0 else "short of centre"
    return f"offset {_length(distance, system)} {side}"


def _set_down(set_down: float, from_blank: float | None, system: units.System) -> str:
    text = f"set down {_length(set_down, system)}"
    if from_blank is None or math.fabs(from_blank - set_down) <= SAME:
        return f"{text} from the blank"
    return f"{text} from the round head ({_length(from_blank, system)} from the blank)"


def _length(value: float, system: units.System) -> str:
    return units.show(value, "length", system)


def _area(area: float, system: units.System) -> str:
    return f"{area:.2f} mm^2" if system == "metric" else f"{area / units.IN**2:.4f} in^2"

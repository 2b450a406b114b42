"""The proposal and the grinding sheet in words, for a terminal. Nothing is computed here."""

from __future__ import annotations

import math

from loadsim import units
from loadsim.cutter_design import Dimension, Proposal, Step, Tried
from loadsim.grinding_sheet import GIVE, TURN, Operation, Sheet
from loadsim.text import CAUTION, chance_text, columns, wrap

#: How the angles and measures of the sheet are meant.
INTRO = ("Index 0 grinds the flute of the first tooth, its face upright. Angles go on in the direction in which the cutter turns. Offsets are from the "
         "centre, set-downs from a touch-off on the surface named.")  # fmt: skip
INFEED = f"Infeed for each full turn of the blank while the neck is cut (by a wheel, the blank turned once in {TURN:g} s; turned faster it takes less)"


def grind_text(proposal: Proposal, sheet: Sheet) -> str:
    """Write the answer of `loadsim grind` for a reader at the bench.

    Parameters
    ----------
    proposal : Proposal
        From `loadsim.grind`.
    sheet : Sheet
        From `loadsim.grinding_sheet.sheet`, of the proposal's job.

    Returns
    -------
    text : str
    """
    job, result, system = proposal.job, proposal.plan.result, proposal.job.job.units
    p = result.risk.snap_probability
    parts = [f"Cutter for job {job.job.number}" + (f": {job.job.part}" if job.job.part else ""),
             wrap(("This cutter has a safe plan. " if proposal.safe else "There is no safe plan with this cutter. ")
                  + f"The neck snaps in {chance_text(p)} at a feed of "
                  + units.show(result.settings.feed_per_tooth_mm, "feed per tooth", system)
                  + f" and {result.settings.spindle_speed_rpm:.0f} rpm.")]  # fmt: skip
    if not proposal.safe:
        parts += [wrap(x, "    ", "  - ") for x in (*proposal.plan.reasons, *result.advice)]
    if proposal.warnings:
        parts += ["", "Look at these first", *(wrap(w, "    ", "  - ") for w in proposal.warnings)]
    parts += ["", "Dimensions, why, and what one step either way does to the chance of a snap",
              wrap(f"As laid out: {chance_text(proposal.base)}, by the same sample as the steps.", "  ")]  # fmt: skip
    parts += [_dimension(d, system) for d in proposal.dimensions]
    parts += ["", "Layouts compared (quick samples, each side in one step)", columns(_layouts(proposal.tried, system)), ""]
    return "\n".join([*parts, sheet_text(sheet, system), "", wrap(CAUTION), ""])


def _dimension(d: Dimension, system: units.System) -> str:
    name = d.key.split(".")[1].replace("_", " ")
    value = str(int(d.value)) if d.dimension == "count" else units.show(d.value, d.dimension, system)
    lines = [wrap(f"{value}: {d.reason}.", " " * 22, f"  {name:<18}  ")]
    if d.smaller is not None and d.larger is not None:
        lines.append(wrap(f"{_step(d, d.smaller, system)}; {_step(d, d.larger, system)}.", " " * 24, " " * 22))
    return "\n".join(lines)


def _step(d: Dimension, step: Step, system: units.System) -> str:
    value = str(int(step.value)) if d.dimension == "count" else units.show(step.value, d.dimension, system)
    if step.snap_probability is None:
        return f"{value} cannot be: {step.note}"
    return f"{value}: {chance_text(step.snap_probability)}" + (f", but {step.note}" if step.note else "")


def _layouts(tried: tuple[Tried, ...], system: units.System) -> list[list[str]]:
    rows = [["layout", "neck", "web", "feed per tooth", "gullet filled", "time", "snaps", ""]]
    for i, t in enumerate(tried):
        rows.append([t.name, *(units.show(x, "length", system) for x in (t.neck_diameter_mm, t.web_mm)),
                     units.show(t.feed_per_tooth_mm, "feed per tooth", system), f"{t.gullet_filled:.0%}", units.duration(t.time_s),
                     chance_text(t.snap_probability), "chosen" + ("" if t.safe else ", not safe") if i == 0 else "" if t.safe else "not safe"])  # fmt: skip
    return rows


def sheet_text(sheet: Sheet, system: units.System) -> str:
    """Write the grinding sheet.

    Parameters
    ----------
    sheet : Sheet
        From `loadsim.grinding_sheet.sheet`.
    system : str
        metric or inch.

    Returns
    -------
    text : str
    """
    def show(x: float) -> str:
        return units.show(x, "length", system)

    parts = ["Grinding sheet", wrap(INTRO, "  "), *(_operation(o, system) for o in sheet.operations)]
    parts += ["", "The end of the head comes to", columns(head_rows(sheet, system)), "", INFEED,
              columns(infeed_rows(sheet, system)), wrap(adds_up(sheet), "  ")]
    if sheet.heat:
        parts += ["", "What a colour on this blank means", *(wrap(f"{m}", " " * 18, f"  {c:<14}  ") for c, m in sheet.heat)]
    if sheet.notes:
        parts += ["", *(wrap(n, "    ", "  - ") for n in sheet.notes)]
    return "\n".join(parts)


def head_rows(sheet: Sheet, system: units.System) -> list[list[str]]:
    """Tabulate what the end of the head comes to.

    Parameters
    ----------
    sheet : Sheet
        From `loadsim.grinding_sheet.sheet`.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    rows : list of list of str
    """
    def show(x: float) -> str:
        return units.show(x, "length", system)

    h = sheet.head
    return [["rake, relief, wedge of the tooth", f"{h['rake_deg']:.1f}, {h['relief_deg']:.1f}, {h['wedge_deg']:.1f} deg"],
            ["web", show(h["web_mm"])], ["land", show(h["land_mm"])], ["gullet, each", _area(h["gullet_area_mm2"], system)],
            ["tooth at its weakest", f"{show(h['tooth_thickness_mm'])} thick, {show(h['tooth_arm_mm'])} below the edge"],
            ["kept of the full round", f"{h['area_share']:.0%} of the area, {h['second_moment_share']:.0%} of the stiffness"]]  # fmt: skip


def infeed_rows(sheet: Sheet, system: units.System) -> list[list[str]]:
    """Tabulate the largest infeed for each full turn of the blank, the heads first.

    Parameters
    ----------
    sheet : Sheet
        From `loadsim.grinding_sheet.sheet`.
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

    return [["neck at", "the blank bears", f"gives way {show(GIVE)} at", "without burning", "so set at most"],
            *([show(i.diameter_mm), most(i.by_strength_mm), most(i.by_deflection_mm), fine(i.usual_mm), fine(i.infeed_mm)]
              for i in sheet.infeed)]  # fmt: skip


def adds_up(sheet: Sheet) -> str:
    """Say what happens when the infeed is moved before a full turn.

    Parameters
    ----------
    sheet : Sheet
        From `loadsim.grinding_sheet.sheet`.

    Returns
    -------
    text : str
    """
    return ("Set in before the turn is full and the steps add up: every quarter turn makes the wheel meet four steps at once, with four "
            f"times the force and four times the heat. {_breaks(sheet.infeed[-1].steps_to_break)}")  # fmt: skip


def _area(x: float, system: units.System) -> str:
    return f"{x:.2f} mm^2" if system == "metric" else f"{x / units.IN**2:.4f} in^2"


def _breaks(steps: float) -> str:
    if steps > 20:
        return "This neck would not break by that, but it gives way, springs back, and burns at its fillets."
    return f"At the finished neck {math.floor(steps)} such steps on top of each other break the blank."


def settings_of(o: Operation, system: units.System) -> str:
    """Say how one step of the grinding is set: index angles, offset, set-down, where along the axis; empty when nothing is.

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
        settings.append("on centre" if math.fabs(o.offset_mm) < 5e-4 else f"offset {show(math.fabs(o.offset_mm))} "
                        + ("past centre" if o.offset_mm > 0 else "short of centre"))  # fmt: skip
    if o.set_down_mm is not None:
        text = f"set down {show(o.set_down_mm)}"
        differs = o.set_down_from_blank_mm is not None and math.fabs(o.set_down_from_blank_mm - o.set_down_mm) > 1e-6
        settings.append(text + (f" from the round head ({show(o.set_down_from_blank_mm or 0.0)} from the blank)" if differs else " from the blank"))
    if o.from_end_mm is not None and o.from_end_mm[1] > 0:
        settings.append(f"from {show(o.from_end_mm[0])} to {show(o.from_end_mm[1])} off the end face")
    return "; ".join(settings)


def _operation(o: Operation, system: units.System) -> str:
    lines = [wrap(f"{o.name}. {o.what}", " " * 5, f"{o.number:>3}. ")]
    if told := settings_of(o, system):
        lines.append(wrap(f"Set: {told}.", " " * 10, " " * 5))
    lines.append(wrap("Check: " + o.check, " " * 12, " " * 5))
    return "\n".join(lines)

"""The sentence of every limit, made from its numbers.

In a sentence `d` is the demand and `c` the capacity; see `loadsim.words.sentences` for the rest.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from loadsim.base import units
from loadsim.job.tolerances import WallOrigin
from loadsim.loads.limits.utilization import FULL, Limit, LimitCode, Utilization
from loadsim.mechanics.drilling import DEPTH_IN_DIAMETERS
from loadsim.words.sentences import Sentence, filled, single

#: Where the accepted error of a wall comes from.
ORIGINS = {
    WallOrigin.TARGET: "asked for in [target]",
    WallOrigin.WIDTH_TOLERANCE: "half the width tolerance, one wall's share",
    WallOrigin.GENERAL_TOLERANCE: "half the general tolerance of an untoleranced width",
}


def _neck_fracture(facts: Mapping[str, Any]) -> str:
    breaks = "bends for good or breaks" if facts["ductile"] else "breaks"
    return (
        f"The neck sees {{d:stress}} at its fillet; about one neck in {{one_in:.0f}} {breaks} at"
        " {c:stress}."
    )


def _neck_fatigue(facts: Mapping[str, Any]) -> str:
    if facts["rubs"]:
        return (
            "Each turn that cuts bends the neck to and fro by {d:stress}; so thin a chip rubs until"
            " enough has piled up, so about {turns:,.0f} turns cut, for which it bears {c:stress}."
        )
    return (
        "Each turn bends the neck to and fro by {d:stress}; for the {turns:,.0f} turns of this cut"
        " it bears {c:stress}."
    )


def _table_grab(facts: Mapping[str, Any]) -> str:
    if not facts["loose"]:
        return "The screw holds the table; there is no backlash to be dragged through."
    if facts["d"] <= 0:
        return (
            "The cut, taken over a turn, pushes against the feed: it does not drag the table"
            " through its backlash."
        )
    jump = (
        "the table jumps by its backlash of {backlash:length} and the neck sees {grabbed:stress}"
        " against {bears:stress}"
    )
    if facts["d"] <= facts["c"] * FULL:
        return (
            "The cut drags the table along with {d:force}; its friction, about {c:force}, holds it."
            f" Where it does not, {jump}."
        )
    return (
        "The cut drags the table along with {d:force}, over its friction of about {c:force}:"
        f" {jump}. Cut conventionally, or lock the screw."
    )


def _tooth_root(facts: Mapping[str, Any]) -> str:
    where = "behind its edge" if facts["by_edge"] else "at its root"
    return f"A tooth sees {{d:stress}} {where}; it bears {{c:stress}}."


def _spindle(what: str) -> Sentence:
    return (
        f"{what} asks {{d:torque}} of the spindle over a turn; it stalls at about {{c:torque}}. The"
        " peaks, {peak:torque}, are carried by the spindle's flywheel."
    )


#: What a holder bears.
HOLDS = {
    "collet": "a clean, tight collet holds {c:%s} nineteen times in twenty",
    "side-lock": "the screw of a side-lock holder bears about {c:%s}",
}


def _holder(drags: str, unit: str) -> Sentence:
    def sentence(facts: Mapping[str, Any]) -> str:
        creeps = (
            f" At the peak it is {{peak:{unit}}}: mark shank and holder, look whether it creeps."
            if facts["peak"] > facts["c"] * FULL
            else ""
        )
        return f"{drags}; {HOLDS[facts['holder']] % unit}.{creeps}"

    return sentence


def _resonance(whose: str) -> Sentence:
    return lambda facts: (
        f"The teeth pass {{d:.0f}} times a second; under {whose} own {{own:.0f}} Hz they may pass"
        " up to {c:.0f} times."
        if facts["below"]
        else f"The teeth pass {{c:.0f}} times a second; above {whose} own {{own:.0f}} Hz they must"
        " pass at least {d:.0f} times."
    )


def _wall(what: str) -> Sentence:
    return lambda facts: (
        f"Deflection and runout set a {what} off by up to {{d:length}}; allowed is {{c:length}}"
        f" ({ORIGINS[facts['origin']]})."
    )


def _rubbing(facts: Mapping[str, Any]) -> str:
    idle = " One tooth skips because of runout." if facts["thin_chip"] <= 0 else ""
    return (
        "The thickest chip is {c:feed per tooth}; an edge of this sharpness only rubs below"
        f" {{d:feed per tooth}}.{idle}"
    )


def _handwheel(facts: Mapping[str, Any]) -> str:
    slower = " Feed slower, or use a power feed." if facts["d"] > facts["c"] * FULL else ""
    return (
        "The handwheel is turned {d:.2f} times a second; for a whole pass a hand keeps up about"
        f" {{c:g}} a second.{slower}"
    )


def _chip_packing(facts: Mapping[str, Any]) -> str:
    return (
        f"Loose chips fill {facts['d'] / facts['c']:.0%} of a gullet before they find the way out:"
        " clear them with air or coolant, and stop when they pack."
    )


def _blank_against_metal(facts: Mapping[str, Any]) -> str:
    if facts["scraped"]:
        says = (
            "In this metal a tooth under {d:.0f} HV, about 50 HRC, wears off at once; {blank} has"
            " {c:.0f} HV."
        )
    else:
        says = (
            "To cut this metal an edge must keep {d:.0f} HV while it is hot, {ratio:g} times the"
            " metal's own hardness; {blank} keeps about {c:.0f} HV."
        )
    return says + (" Take a harder blank." if facts["d"] > facts["c"] * FULL else "")


def _fillet_in_throat(facts: Mapping[str, Any]) -> str:
    if facts["d"] <= 0:
        return "The neck's fillet clears the throat's lower corners."
    return (
        "The neck's fillet reaches {wide:length} into the throat's lower corners, {d:length} high;"
        " up to {c:length} it only burnishes them."
    )


#: The undercut cutter.
UNDERCUT: dict[LimitCode, Sentence] = {
    LimitCode.NECK_FRACTURE: _neck_fracture,
    LimitCode.NECK_FATIGUE: _neck_fatigue,
    LimitCode.NECK_TORSION: (
        "The cut twists the neck with {d:torque}; {c:torque} would twist it off."
    ),
    LimitCode.TOOTH_ROOT: _tooth_root,
    LimitCode.WEB_OF_THE_HEAD: (
        "The head sees {d:stress} at the corners of its gullets; it bears {c:stress}."
    ),
    LimitCode.SPINDLE_TORQUE: _spindle("The cut"),
    LimitCode.TABLE_GRAB: _table_grab,
    LimitCode.COLLET_SLIP: _holder("The shank must hold {d:torque} over a turn", "torque"),
    LimitCode.RESONANCE: _resonance("the neck's"),
    LimitCode.WALL_ERROR: _wall("wall"),
    LimitCode.RUBBING: _rubbing,
    LimitCode.CHIP_PACKING: _chip_packing,
    LimitCode.SURFACE_SPEED: (
        "The teeth run at {d:surface speed}; {blank} lasts up to about {c:surface speed} here."
    ),
    LimitCode.BLANK_AGAINST_METAL: _blank_against_metal,
    LimitCode.HANDWHEEL_SPEED: _handwheel,
    LimitCode.NECK_ON_WALL: (
        "The head gives {d:length} under the largest force; the gap beside the neck is {c:length}:"
        " it leans on the throat wall from {touches:force} on."
    ),
    LimitCode.NECK_IN_THROAT: (
        "The neck with {clearance:length} clearance each side needs {d:length} of the throat's"
        " {c:length}."
    ),
    LimitCode.FILLET_IN_THROAT: _fillet_in_throat,
    LimitCode.SHOULDER_ABOVE_SURFACE: (
        "The neck must be {d:length} long to keep the shank's shoulder off the surface; it is"
        " {c:length}."
    ),
    LimitCode.HEAD_IN_UNDERCUT: "The head is {d:length} high in an undercut of up to {c:length}.",
    LimitCode.REACH_OF_SIDE_PASSES: (
        "With the axis {offset:length} off centre the neck needs a throat of {d:length}; it is"
        " {c:length}."
    ),
    LimitCode.NECK_ABOVE_THROAT_FLOOR: (
        "The throat was milled to {d:length} above the undercut's floor; the neck of the lowest"
        " pass starts at {c:length}."
    ),
    LimitCode.HEAD_BETWEEN_THE_ENDS: (
        "Both ends are closed; the head goes down the throat and needs {d:length} of its length,"
        " {c:length}."
    ),
    LimitCode.DROP_IN_HOLE: (
        "Both ends are closed: drill a drop-in hole of at least {d:length} to the undercut's floor"
        " first."
    ),
    LimitCode.SNAP_PROBABILITY: (
        "The chance that the neck snaps is {d:probability}; accepted is {c:accepted}."
    ),
}

#: The end mill of the throat.
THROAT_MILL: dict[LimitCode, Sentence] = {
    LimitCode.MILL_FRACTURE: (
        "The throat mill sees {d:stress}; about one in {one_in:.0f} breaks at {c:stress}."
    ),
    LimitCode.MILL_FATIGUE: (
        "Each turn strains the throat mill to and fro by up to {d:stress}; for the {turns:,.0f}"
        " turns of its cut it bears {c:stress}."
    ),
    LimitCode.MILL_TORSION: (
        "The cut twists the throat mill with {d:torque}; {c:torque} would twist it off."
    ),
    LimitCode.MILL_SNAP_PROBABILITY: (
        "The chance that the throat mill breaks is {d:probability}; accepted is {c:accepted}."
    ),
    LimitCode.SPINDLE_TORQUE: _spindle("The throat mill"),
    LimitCode.COLLET_HOLD: _holder(
        "Torque and the pull of the helix together drag {d:force} at the mill's shank over a turn",
        "force",
    ),
    LimitCode.RESONANCE: _resonance("the mill's"),
    LimitCode.THROAT_WALL_ERROR: _wall("throat wall"),
    LimitCode.RUBBING: (
        "The thickest chip is {c:feed per tooth}; the edge only rubs below {d:feed per tooth}."
    ),
    LimitCode.CHIP_PACKING: (
        "Loose chips fill {d:.0%} of the mill's gullets before they are out: clear them with air or"
        " coolant."
    ),
    LimitCode.SURFACE_SPEED: (
        "The mill's teeth run at {d:surface speed}; {blank} lasts up to about {c:surface speed}."
    ),
    LimitCode.BLANK_AGAINST_METAL: _blank_against_metal,
    LimitCode.HANDWHEEL_SPEED: _handwheel,
}

#: What goes wrong with a drill that is asked for more than it bears.
DRILL_TROUBLE = {
    LimitCode.DRILL_TORQUE: "the drill would twist off: torque {d:torque} against {c:torque}",
    LimitCode.DRILL_THRUST: "the drill would buckle: thrust {d:force} against {c:force}",
    LimitCode.DRILL_DEPTH: "the drill would wander: depth {d:length} against {c:length}",
}


def _drill(code: LimitCode, holds: str) -> Sentence:
    trouble = DRILL_TROUBLE[code]
    over = trouble[0].upper() + trouble[1:]
    return lambda facts: (over if facts["d"] > facts["c"] * FULL else holds) + "."


#: A drill of high-speed steel.
DRILL: dict[LimitCode, Sentence] = {
    LimitCode.DRILL_TORQUE: _drill(
        LimitCode.DRILL_TORQUE,
        "The drill is twisted with {d:torque}; in a hole this deep it bears {c:torque},"
        " {share:.0%} of what breaks it with its flutes clear",
    ),
    LimitCode.DRILL_THRUST: _drill(
        LimitCode.DRILL_THRUST, "The drill is pushed with {d:force}; it would buckle at {c:force}"
    ),
    LimitCode.DRILL_DEPTH: _drill(
        LimitCode.DRILL_DEPTH,
        "The hole is {d:length} deep; a drill of this size goes {c:length},"
        f" {DEPTH_IN_DIAMETERS:g} diameters, without wandering",
    ),
}


def worded(
    check: Utilization, system: units.System, sentences: Mapping[LimitCode, Sentence] = UNDERCUT
) -> Limit:
    """Put a limit of one cut into words.

    Parameters
    ----------
    check : Utilization
        Of a single cut.
    system : {"metric", "inch"}
        Units of the sentence.
    sentences : mapping
        Those of its tool: `UNDERCUT`, `THROAT_MILL` or `DRILL`.

    Returns
    -------
    limit : Limit

    Raises
    ------
    ValueError
        If demand, capacity or their ratio is not finite.
    """
    demand, capacity, u = map(single, (check.demand, check.capacity, check.utilization))
    if not all(math.isfinite(x) for x in (demand, capacity, u)):
        raise ValueError(
            f"limit {check.code}: demand {demand}, capacity {capacity} give no finite utilization"
        )
    return Limit(
        name=check.code,
        demand=demand,
        capacity=capacity,
        unit=check.unit,
        utilization=u,
        hard=check.hard,
        fit=check.fit,
        note=filled(sentences[check.code], {"d": demand, "c": capacity, **check.facts}, system),
    )


def trouble(check: Utilization, system: units.System) -> str:
    """Say what goes wrong with a drill that does not bear what it is asked for.

    Parameters
    ----------
    check : Utilization
        Of a drill.
    system : {"metric", "inch"}
        Units of the sentence.

    Returns
    -------
    trouble : str
        No whole sentence; with both numbers.
    """
    facts = {"d": check.demand, "c": check.capacity}
    return filled(DRILL_TROUBLE[check.code], facts, system)

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
from loadsim.mechanics.drilling import DEPTH_IN_DIAMETERS, TORQUE_SHARE
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


def _table_grab(facts: Mapping[str, Any]) -> str:
    if facts["d"] > 0:
        return (
            "The cut drags the table along: it can jump by the backlash of {backlash:length} and"
            " feed the tooth by that; the neck would then see {d:stress} against {c:stress}. Cut"
            " conventionally, or lock the screw."
        )
    if facts["loose"]:
        return (
            "The cut, taken over a turn, pushes against the feed: it does not drag the table"
            " through its backlash."
        )
    return "The screw holds the table; there is no backlash to be dragged through."


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


def _fillet_in_throat(facts: Mapping[str, Any]) -> str:
    rubs = "" if facts["d"] <= facts["c"] else ", or it rubs the throat's lower corners"
    return (
        "Where the neck leaves the head, it and its fillet need {d:length} of the throat's"
        f" {{c:length}}{rubs}."
    )


#: The undercut cutter.
UNDERCUT: dict[LimitCode, Sentence] = {
    LimitCode.NECK_FRACTURE: _neck_fracture,
    LimitCode.NECK_FATIGUE: (
        "Each turn bends the neck to and fro by {d:stress}; for the {turns:,.0f} turns of this cut"
        " it bears {c:stress}."
    ),
    LimitCode.NECK_TORSION: (
        "The cut twists the neck with {d:torque}; {c:torque} would twist it off."
    ),
    LimitCode.TOOTH_ROOT: (
        "A tooth sees {d:stress} at its root or behind its edge; it bears {c:stress}."
    ),
    LimitCode.WEB_OF_THE_HEAD: (
        "The head sees {d:stress} at the corners of its gullets; it bears {c:stress}."
    ),
    LimitCode.SPINDLE_TORQUE: (
        "The cut asks {d:torque} of the spindle at the peak; it stalls at about {c:torque}."
    ),
    LimitCode.TABLE_GRAB: _table_grab,
    LimitCode.COLLET_SLIP: (
        "The shank must hold {d:torque}; a clean, tight collet holds about {c:torque}."
    ),
    LimitCode.RESONANCE: (
        "The teeth pass {passing:.0f} times a second; with {harmonics} harmonics, {d:.0f} Hz, that"
        " must stay under {c:.0f} Hz, {detuned:.0%} of the neck's own {own:.0f} Hz."
    ),
    LimitCode.WALL_ERROR: _wall("wall"),
    LimitCode.RUBBING: _rubbing,
    LimitCode.CHIP_PACKING: (
        "Loose chips fill {d:volume} of a gullet's {c:volume} before they find the way out: clear"
        " them with air or coolant, and stop when they pack."
    ),
    LimitCode.BUILT_UP_EDGE: (
        "At {c:surface speed} with {lubrication} lubrication metal may weld to the edge below about"
        " {d:surface speed}."
    ),
    LimitCode.SURFACE_SPEED: (
        "The teeth run at {d:surface speed}; {blank} lasts up to about {c:surface speed} here."
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
    LimitCode.SPINDLE_TORQUE: (
        "The throat mill asks {d:torque} of the spindle at the peak; it stalls at about {c:torque}."
    ),
    LimitCode.COLLET_HOLD: (
        "Torque and the pull of the helix together drag {d:force} at the shank; a clean, tight"
        " collet holds about {c:force}."
    ),
    LimitCode.RESONANCE: (
        "The mill's teeth pass {passing:.0f} times a second; with {harmonics} harmonics, {d:.0f}"
        " Hz, that must stay under {c:.0f} Hz."
    ),
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
    LimitCode.BUILT_UP_EDGE: (
        "At {c:surface speed} with {lubrication} lubrication metal may weld to the mill's edge"
        " below about {d:surface speed}."
    ),
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
        f"The drill is twisted with {{d:torque}}; it is given {{c:torque}}, {TORQUE_SHARE:.0%} of"
        " what breaks it",
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

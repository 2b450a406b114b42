"""The short answer in the words of a shop: one reason, one why, two things to do, what was assumed.

No unit of an engineer's stands here, no name of a key and no share of a chance.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum

from loadsim.base import shop, units
from loadsim.base.notes import Note
from loadsim.loads.limits.utilization import Limit, LimitCode
from loadsim.loads.resolve import Assumption
from loadsim.risk.results import Driver, Modes, Risk
from loadsim.risk.samples import Uncertain
from loadsim.words import phrases
from loadsim.words.breaks import TRAITS
from loadsim.words.proving import mode_shares

#: What each limit is of, where it is no clearance.
LIMITS = {
    LimitCode.NECK_FRACTURE: "what the neck bears in one blow",
    LimitCode.NECK_FATIGUE: "what the neck bears bending to and fro",
    LimitCode.NECK_TORSION: "what twists the neck off",
    LimitCode.TOOTH_ROOT: "what a tooth bears",
    LimitCode.WEB_OF_THE_HEAD: "what the head's web bears",
    LimitCode.SPINDLE_TORQUE: "what the spindle can turn",
    LimitCode.TABLE_GRAB: "the pull that the table holds against",
    LimitCode.COLLET_SLIP: "what the collet holds",
    LimitCode.RESONANCE: "the speed at which the neck rings",
    LimitCode.WALL_ERROR: "what a wall may be off",
    LimitCode.RUBBING: "the chip that it is given, to cut and not rub",
    LimitCode.CHIP_PACKING: "the room for chips",
    LimitCode.SURFACE_SPEED: "the surface speed that the blank lasts at",
    LimitCode.BLANK_AGAINST_METAL: "the hardness that the blank keeps",
    LimitCode.HANDWHEEL_SPEED: "the speed at which a hand can turn the wheel",
    LimitCode.NECK_ON_WALL: "the gap that the neck may lean into",
    LimitCode.MILL_FRACTURE: "what the throat mill bears in one blow",
    LimitCode.MILL_FATIGUE: "what the throat mill bears bending to and fro",
    LimitCode.MILL_TORSION: "what twists the throat mill off",
    LimitCode.COLLET_HOLD: "what the collet holds of the throat mill",
    LimitCode.THROAT_WALL_ERROR: "what a wall of the throat may be off",
}

#: How a neck goes.
MODES = {
    "fracture": "in one blow",
    "fatigue": "by bending to and fro",
    "torsion": "by twisting off",
    "grab": "because the cut drags the table through its backlash and one tooth takes it all",
}

#: What is done with a no-go.
NEVER = "Do not run it as it stands."

#: Share of the doubt from which on a thing is worth a deed; what is done in any case. [1]
WORTH = 0.05
ALWAYS = "Blow the chips out all the way, and stop at the first odd sound."

#: What to do about each thing that is not known, and what of it is not known; a test cut tells most
#: of them.
TEST_CUT = "Cut the first slot in scrap of the same bar"
ACTIONS = {
    Uncertain.FORCE_CONSTANTS: (TEST_CUT, "the force that this metal takes"),
    Uncertain.RADIAL_FORCE: (TEST_CUT, "how hard this metal pushes the cutter off"),
    Uncertain.EDGE_WEAR: ("Look at the edges through a glass, stone them", "how worn they are"),
    Uncertain.FEED_STEADINESS: ("Feed evenly, without a stop", "how steady the feed is"),
    Uncertain.RUNOUT: ("Put an indicator on the head", "how far it runs out"),
    Uncertain.NECK_DIAMETER: ("Measure the neck's diameter", "how thick it is"),
    Uncertain.NECK_FILLET: ("Measure the fillet with a pin or radius gauge", "how large it is"),
    Uncertain.NECK_LENGTH: ("Measure the neck's length", "how long it is"),
    Uncertain.HEAD_HEIGHT: ("Measure the head's height", "how high it is"),
    Uncertain.STRESS_CONCENTRATION: (
        "Look at the fillet through a glass: no step, no scratch across",
        "how sharp a notch it is",
    ),
    Uncertain.BLANK_STRENGTH: (TEST_CUT, "what this blank bears"),
    Uncertain.FATIGUE_LIMIT: (TEST_CUT, "how long this blank bears bending to and fro"),
    Uncertain.NECK_GRINDING: (
        "Polish the neck along its axis, look for colours",
        "how gently it was ground",
    ),
    Uncertain.CHIP_PACKING: (
        "Keep blowing the chips out, stop when they pack",
        "whether they pack",
    ),
    Uncertain.THOUSAND_TURNS: (TEST_CUT, "how long this blank bears bending to and fro"),
    Uncertain.SMALL_VOLUME: (TEST_CUT, "what so thin a neck bears"),
    Uncertain.THIN_CHIPS: (TEST_CUT, "the force at so thin a chip"),
    Uncertain.EDGE_GROUND: (TEST_CUT, "how keen the edge came out"),
    Uncertain.EDGE_SKEW: (
        "Draw an indicator along an edge: one that leans 2 deg does not knock",
        "how straight the edges are",
    ),
    Uncertain.TOOTH_ENTRY: (TEST_CUT, "how suddenly a tooth bites"),
    Uncertain.OWN_FREQUENCY: (TEST_CUT, "how the neck rings"),
    Uncertain.DAMPING: (TEST_CUT, "how soon the neck stops ringing"),
    Uncertain.GIVE: (TEST_CUT, "how far the neck gives way to a tooth that stands out"),
}
BY_DRIVER = {unknown.driver: told for unknown, told in ACTIONS.items()}

#: What was assumed, shortly, and the driver it feeds: what matters most where none tells is first.
ASSUMED: dict[Enum, tuple[str, str]] = {
    Assumption.HANDWHEEL: ("one turn of the handwheel moves {length}: count yours", ""),
    Assumption.FILLET: ("a fillet of {length} at the neck", Uncertain.NECK_FILLET.driver),
    Assumption.RUNOUT: (
        "the head runs out {length}, half the indicator's swing",
        Uncertain.RUNOUT.driver,
    ),
    Assumption.SKEW: ("edges ground about straight", Uncertain.EDGE_SKEW.driver),
    Assumption.STONED: ("edges fresh from the stone", Uncertain.EDGE_WEAR.driver),
    Assumption.HEAD_SECTION: ("flutes of the usual depth", ""),
    Assumption.BACKLASH: ("a table with {length} of backlash", ""),
    Assumption.EDGE_RADIUS: ("edges stoned to a radius of {fine}", ""),
    Assumption.STIFFNESS: ("a collet as stiff as usual", ""),
}


def used(limit: Limit) -> str:
    """Say how far a limit is used, in whole per cents, over it as so many times.

    Parameters
    ----------
    limit : Limit
        No clearance.

    Returns
    -------
    text : str
        To follow "asks" where it does not hold, else "is used to".
    """
    of = LIMITS[limit.name]
    if limit.over:
        return f"{shop.figures(limit.utilization, 2)} times {of}"
    return f"{units.percent(limit.utilization)}: {of}"


def near_reason(limit: Limit) -> str:
    """Say that a hard limit holds, but not as a go asks."""
    return f"This is used to {used(limit)}. A go leaves a fifth of it."


def over_reason(limit: Limit) -> str:
    """Say that a limit does not hold; of a clearance, what is missing."""
    if limit.name in phrases.CHANCES:
        chance = phrases.chance_text(limit.demand)
        return f"The throat mill breaks in {chance}; asked is {phrases.accepted(limit.capacity)}."
    return limit.note if limit.fit else f"The cut asks {used(limit)}."


def go_reason(limit: Limit) -> str:
    """Say that every limit holds, and which is nearest."""
    return f"Every limit holds; the nearest is used to {used(limit)}."


def chance_reason(p: float, target: float) -> str:
    """Say that the chance to snap decides."""
    return f"It snaps in {phrases.chance_text(p)}; asked is at most {phrases.accepted(target)}."


def chance_may_be(high: float, target: float) -> str:
    """Say that the chance to snap may lie over the asked one."""
    return f"It may snap as often as {one_in(high)}; asked is at most {phrases.accepted(target)}."


def one_in(p: float) -> str:
    """Say a chance as one in so many, two figures, never finer than one in a million.

    Examples
    --------
    >>> one_in(0.0062), one_in(0.0), one_in(0.62)
    ('1 in 160', 'under 1 in 1,000,000', '62 in 100')
    """
    if p < 1e-6:
        return "under 1 in 1,000,000"
    if p > phrases.IN_A_HUNDRED:
        return f"{100 * p:.0f} in 100"
    return f"1 in {shop.figures(1 / p, 2)}"


def chance_between(risk: Risk) -> str:
    """Say the chance to snap, and between which it lies; to follow "snaps in".

    Parameters
    ----------
    risk : Risk
        Chance with its interval.

    Returns
    -------
    text : str
    """
    p = risk.snap_probability
    text = phrases.chance_text(p).removeprefix("about ")
    ends = one_in(risk.high), one_in(risk.low)
    if not 1e-6 <= p <= phrases.EVERY or ends[0] == ends[1]:
        return text
    first, last = ends if p <= phrases.IN_A_HUNDRED else reversed(ends)
    return f"{text} (between {first} and {last})"


def why(
    modes: Modes,
    *,
    at_shoulder: bool,
    turns: float,
    limits: Sequence[Limit],
    traits: Sequence[Note],
) -> str:
    """Say how the neck would go, where and when, and what would have to be true for it.

    Parameters
    ----------
    modes : Modes
        Chance by each way alone: the one that brings most is told.
    at_shoulder : bool
        Whether the fillet under the shank bears most, rather than the one at the head.
    turns : float
        That load the neck in one slot. [1]
    limits : sequence of Limit
        Those of the cut.
    traits : sequence of Note
        What the cuts that snap have in common; empty where so few snap that none is known.

    Returns
    -------
    sentence : str
    """
    mode = mode_shares(modes)[0][0]
    where = "" if mode == "grab" else f" at the fillet {_place(at_shoulder)}"
    after = f", within about {shop.figures(turns, 2)} turns" if mode == "fatigue" else ""
    goes = f"If it goes, it goes {MODES[mode]}{where}{after}."
    return f"{goes} {_condition(mode, limits, traits)}"


def _place(at_shoulder: bool) -> str:
    return "under the shank" if at_shoulder else "above the head"


#: Limit of the neck by which each way to go is judged.
JUDGED = {
    "fracture": LimitCode.NECK_FRACTURE,
    "fatigue": LimitCode.NECK_FATIGUE,
    "torsion": LimitCode.NECK_TORSION,
}


def _condition(mode: str, limits: Sequence[Limit], traits: Sequence[Note]) -> str:
    """What would have to be true: what most cuts that snap have, else so much more force."""
    judged = JUDGED.get(mode)
    use = max((limit.utilization for limit in limits if limit.name == judged), default=0.0)
    if use > 1:
        return f"It is asked {shop.figures(use, 2)} times what it bears."
    if traits:
        told = [TRAITS[trait.code].format(**trait.facts) for trait in traits[:2]]
        return f"That takes {' and '.join(told)}."
    if use:
        return f"That takes about {shop.figures(1 / use, 2)} times the force reckoned with."
    return "That takes a table whose friction no longer holds."


def settle(drivers: Sequence[Driver]) -> list[str]:
    """Say what to measure or to prove, that which settles most first, each deed once.

    Parameters
    ----------
    drivers : sequence of Driver
        What drives the chance, the largest share first.

    Returns
    -------
    deeds : list of str
    """
    deeds: dict[str, str] = {}
    for driver in drivers:
        deed, unknown = BY_DRIVER[driver.name]
        if driver.share >= WORTH:
            deeds.setdefault(deed, f"{deed}: {driver.share:.0%} of the doubt is {unknown}.")
    return [*deeds.values(), ALWAYS]


def assumed(notes: Sequence[Note], drivers: Sequence[Driver], system: units.System) -> list[str]:
    """List what was assumed because the job does not say, what matters most first.

    Parameters
    ----------
    notes : sequence of Note
        Of the job.
    drivers : sequence of Driver
        What drives the chance.
    system : {"metric", "inch"}
        The reader's.

    Returns
    -------
    phrases : list of str
    """
    shares: Mapping[str, float] = {driver.name: driver.share for driver in drivers}
    order = list(ASSUMED)
    known = [note for note in notes if note.code in ASSUMED]
    ranked = sorted(
        known,
        key=lambda note: (
            note.code is not Assumption.HANDWHEEL,
            -shares.get(ASSUMED[note.code][1], 0.0),
            order.index(note.code),
        ),
    )
    return [_assumed(note, system) for note in ranked]


def _assumed(note: Note, system: units.System) -> str:
    text = ASSUMED[note.code][0]
    value = note.facts.get("value")
    if not isinstance(value, float):
        return text
    shown = {"length": shop.length_text(value, system), "fine": shop.fine(value, system)}
    return text.format(**shown)

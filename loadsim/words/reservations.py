"""What to know beside the numbers: what was assumed, and where a model leaves its range."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import Any

from loadsim.base import units
from loadsim.base.notes import Note
from loadsim.loads.blank_strength import BlankNote
from loadsim.loads.limits.utilization import CutNote
from loadsim.loads.resolve import Assumption, FitNote, ForceNote, GroundNote, MetalNote
from loadsim.loads.throat_mill import MillNote
from loadsim.mechanics.fatigue import FatigueNote
from loadsim.mechanics.force import RakeNote
from loadsim.mechanics.hardness import HardnessNote
from loadsim.mechanics.stress_concentration import FilletNote
from loadsim.mechanics.tooth import RootNote
from loadsim.words.sentences import Sentence, filled


def _small_fillet(facts: Mapping[str, Any]) -> str:
    advice = "" if facts.get("largest") else "; a larger fillet is stronger"
    return (
        "The fillet is small for its step: the rise of the twisting stress there is carried on"
        f" beyond the published curves, on the safe side{advice} (torsion: step over fillet radius"
        " t/r = {step_over_radius:.3g} lies above the published fit ({low:g} to {high:g}); K_t is"
        " carried on with the exponent of a sharp corner, an upper estimate)"
    )


def _fillet_assumed(facts: Mapping[str, Any]) -> str:
    where = "at the neck's ends"
    if facts["head"] is None:
        where = "at the neck's shank end"
    elif facts["head"] != facts["value"]:
        where = "at the neck's shank end and {head:length} at the head, as fits there"
    return (
        f"Assumed a fillet of {{value:length}} {where} (a larger one is the cheapest strength there"
        " is): the job file does not say."
    )


def _mill_assumed(facts: Mapping[str, Any]) -> str:
    runout = "" if facts["runout"] is None else ", a radial runout of {runout:length}"
    shank = "" if facts["shank"] is None else ", a shank of {shank:length}"
    return (
        f"Throat mill: assumed an edge radius of {{edge_radius:chip thickness}}{shank}, the rake"
        f" that the force constants were measured at{runout}; the job file does not say."
    )


#: Where the job file is silent.
ASSUMED: dict[Enum, Sentence] = {
    Assumption.FROM_SHOP: "From the shop file {file}: {keys}.",
    Assumption.EDGE_RADIUS: (
        "Assumed an edge radius of {value:chip thickness}: the job file does not say."
    ),
    Assumption.STONED: (
        "Assumed edges fresh from the stone, with a worn land of {value:chip thickness} at most; a"
        " wider one presses harder on the neck: measure it and give [cutter] wear."
    ),
    Assumption.FILLET: _fillet_assumed,
    Assumption.RUNOUT: (
        "Assumed a radial runout of {value:length} at the head: the job file does not say."
    ),
    Assumption.SKEW: (
        "Assumed edges that lean against the axis by anything up to {value:angle}: the straighter"
        " they are, the harder they hit. Measure it and give [cutter] edge_skew."
    ),
    Assumption.STIFFNESS: (
        "Assumed a stiffness of {value:stiffness} at the collet: the job file does not say."
    ),
    Assumption.BACKLASH: "Assumed a table backlash of {value:length}: the job file does not say.",
    Assumption.HANDWHEEL: (
        "Assumed a table travel of {value:length} for one turn of the handwheel: the job file does"
        " not say."
    ),
    Assumption.HEAD_SECTION: (
        "Assumed that flutes and flats leave the head {area:.0%} of the full round's metal and"
        " {stiffness:.0%} of its stiffness against bending (area and second moment): the job file"
        " has no [grind]."
    ),
    MillNote.ASSUMED: _mill_assumed,
    MillNote.CORNER_LEFT: (
        "The throat mill's corner radius leaves {corner:length} of metal along the foot of the"
        " throat's walls, which the undercut cutter meets too; its loads here do not count it."
    ),
}

#: Of the blank and the head as ground.
CUTTER: dict[Enum, Sentence] = {
    BlankNote.UNUSUAL_HARDNESS: (
        "A hardness of {given:g} HRC is outside the usual {low:g} to {high:g} HRC of {blank}; its"
        " bend strength is kept as for the usual hardness."
    ),
    BlankNote.HARDNESS_NOT_USED: (
        "The hardness given is not used: {blank} is judged by its yield and tensile strength."
    ),
    FitNote.HEAD_OVER_SHANK: (
        "The head of {head:length} is wider than the shank of {shank:length}: start from a thicker"
        " blank and grind the shank down, or narrow the head."
    ),
    GroundNote.HEEL_RUBS: (
        "The heel stands {drop:length} under the circle of the edges, {behind:.0f} deg behind the"
        " edge: it will rub. Grind a secondary relief and take the heel off farther."
    ),
    GroundNote.FLANK_RUBS: (
        "A relief of {relief:.1f} deg rubs: behind the edge the flank presses on metal that springs"
        " back, which no force here counts. Grind {least:g} deg at the least, better 6."
    ),
    GroundNote.FLUTES_UNDER_NECK: (
        "The flutes are ground {under:length} deeper than the neck's surface: stop the wheel at the"
        " head's upper face, or it nicks the neck."
    ),
    GroundNote.FLATS_UNDER_NECK: (
        "The flats behind the teeth are ground {under:length} deeper than the neck's surface: stop"
        " the wheel at the head's upper face, or it nicks the neck."
    ),
}

#: Where a model is used outside its range.
RANGES: dict[Enum, Sentence] = {
    RakeNote.FAR_FROM_MEASURED: (
        "The rake is {difference:+.0f} degrees from the rake the force constants were measured at;"
        " the correction is trusted to {trusted:.0f} degrees, more spread is allowed for beyond,"
        " and no relief is credited past {credited:.0f}."
    ),
    ForceNote.RADIAL_BORROWED: (
        "No source gives the force across the edge for this metal: it is that of {family} over the"
        " cutting force, and more spread is allowed for."
    ),
    MetalNote.HARDNESS_UNKNOWN: (
        "The material file gives no hardness_HV: whether the blank is hard enough to cut this"
        " metal was not judged."
    ),
    RootNote.NO_BEAM: (
        "A tooth as stubby as this is no beam: the stress at its root is an estimate (arm"
        " {arm_over_thickness:.2f} of its thickness, the formula is meant for {least:g} and more;"
        " it leaves out the shear, {shear:.0%} of the bending)"
    ),
    HardnessNote.TENSILE_IS_AN_EQUIVALENT: (
        "What a blank this hard bears in a straight pull is only worked out from its hardness, and"
        " it breaks brittle before that (above 60 HRC the tensile strength is a hardness"
        " equivalent)"
    ),
    HardnessNote.NO_TENSILE_ABOVE: (
        "For a blank this hard no table gives a strength: it is credited with that of 65 HRC and no"
        " more (no tensile equivalent above)"
    ),
    HardnessNote.NO_VICKERS_ABOVE: (
        "The table of hardness ends at 68 HRC: a harder blank is credited with that and no more (no"
        " Vickers equivalent above)"
    ),
    FatigueNote.SCATTERS: (
        "How long a neck this hard bears bending to and fro hangs on its smallest flaws and"
        " scratches, and scatters with them (above HV 400 the fatigue limit no longer follows 1.6"
        " HV)"
    ),
    FatigueNote.HARDER_THAN_MEASURED: (
        "The blank is harder than those that the strength against bending to and fro was measured"
        " on: it is carried on from softer ones (above HV 720 the flaw-size formula is"
        " extrapolated)"
    ),
    FatigueNote.SOFTER_THAN_MEASURED: (
        "The blank is softer than those that the strength against bending to and fro was measured"
        " on (below HV 70 the flaw-size formula is extrapolated)"
    ),
    FatigueNote.FLAW_IS_A_CRACK: (
        "A flaw over 1 mm is a crack: a blank with one is scrap (above 1000 um fracture mechanics"
        " applies)"
    ),
    FatigueNote.FLAWS_DO_NOT_MATTER: (
        "The flaws are too small to matter: the blank bears less than they alone would let it"
        " (without flaws about 1.6 HV)"
    ),
    FatigueNote.FEW_TURNS: (
        "Under 1000 turns the neck is judged between what it bears once and what for a thousand"
        " turns (a straight line in log-log; no tests of steel this hard are known there)"
    ),
    FatigueNote.MANY_TURNS: (
        "Over a million turns hard steel keeps losing strength (the fatigue line is extrapolated"
        " there)"
    ),
    FilletNote.LARGE_FOR_ITS_STEP: (
        "The fillet is large for its step: the rise of the twisting stress there is held at the end"
        " of the published curves, on the safe side (torsion: step over fillet radius t/r ="
        " {step_over_radius:.3g} lies below the published fit ({low:g} to {high:g}); K_t is held at"
        " its value at {low:g})"
    ),
    FilletNote.SMALL_FOR_ITS_STEP: _small_fillet,
    FilletNote.LARGE_FOR_THE_NECK: (
        "The fillet is larger than the neck is thick: the bending stress there is carried on beyond"
        " what the formula was checked for (bending: fillet radius over bar diameter r/d ="
        " {radius_over_diameter:.3g} is above {high:g}, where K_t - 1 goes on falling with the"
        " radius to the power -0.9)"
    ),
    FilletNote.SMALL_FOR_THE_NECK: (
        "The fillet is very small for the neck: the bending stress there is carried on beyond what"
        " the formula was checked for, on the safe side (bending: fillet radius over bar diameter"
        " r/d = {radius_over_diameter:.3g} is below {low:g}, where the formula rises above finite"
        " elements)"
    ),
}

#: Of the cut, told and never judged.
CUT: dict[Enum, Sentence] = {
    CutNote.BUILT_UP_EDGE: (
        "At {speed:surface speed} with {lubrication} lubrication metal may weld to the edge, below"
        " about {needed:surface speed}: look at the edge after the cut. The force is less certain"
        " for it."
    ),
    CutNote.HARMONIC: (
        "{order} times {passing:.0f} teeth a second are {times:.0f} Hz, near the tool's own"
        " {own:.0f} Hz: if it sings, change the spindle speed a little."
    ),
    CutNote.CHATTER: (
        "The head gives {gives:length} under the largest force and may chatter: make a test cut and"
        " listen. A hum of {passing:.0f} Hz is the teeth; a howl near {own:.0f} Hz is the neck:"
        " stop, then take half the head's height or half the speed."
    ),
    CutNote.DUE_FOR_STONE: (
        "The edges have a worn land of {wear:length}; from {due:length} on they are due for the"
        " stone, since a land presses on the neck more than the chip does."
    ),
    CutNote.BURNISHES: (
        "The neck's fillet reaches {wide:length} into the throat's lower corner, {high:length}"
        " high: it burnishes the corner. Break that edge, or leave the head this much under"
        " height."
    ),
}

SENTENCES = {**ASSUMED, **CUTTER, **RANGES, **CUT}


def spoken(note: Note, system: units.System) -> str:
    """Put a note into words.

    Parameters
    ----------
    note : Note
        Of `loadsim.loads` or `loadsim.mechanics`.
    system : {"metric", "inch"}
        Units of the sentence.

    Returns
    -------
    sentence : str
    """
    return filled(SENTENCES[note.code], note.facts, system)

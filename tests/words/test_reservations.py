"""What was assumed and where a model leaves its range, word for word."""

from __future__ import annotations

from enum import Enum
from typing import Any

import pytest

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
from loadsim.words.reservations import SENTENCES, spoken

CODES = (
    Assumption,
    BlankNote,
    CutNote,
    FitNote,
    ForceNote,
    GroundNote,
    MetalNote,
    MillNote,
    FatigueNote,
    RakeNote,
    HardnessNote,
    FilletNote,
    RootNote,
)
FIT = {"step_over_radius": 5.0, "low": 0.25, "high": 4.0}

SPOKEN: list[tuple[Enum, dict[str, Any], str]] = [
    (Assumption.FROM_SHOP, {"file": "shop.toml", "keys": "[machine] feed; [cutter] runout"},
     "From the shop file shop.toml: [machine] feed; [cutter] runout."),
    (Assumption.EDGE_RADIUS, {"value": 0.008}, "Assumed an edge radius of 0.0080 mm: the job file does not say."),
    (Assumption.FILLET, {"value": 0.2, "head": None},
     "Assumed a fillet of 0.200 mm at the neck's shank end (a larger one is the cheapest strength there is): the job"
     " file does not say."),
    (Assumption.FILLET, {"value": 0.2, "head": 0.05},
     "Assumed a fillet of 0.200 mm at the neck's shank end and 0.050 mm at the head, as fits there (a larger one is"
     " the cheapest strength there is): the job file does not say."),
    (Assumption.FILLET, {"value": 0.2, "head": 0.2},
     "Assumed a fillet of 0.200 mm at the neck's ends (a larger one is the cheapest strength there is): the job file"
     " does not say."),
    (Assumption.RUNOUT, {"value": 0.01}, "Assumed a radial runout of 0.010 mm at the head: the job file does not say."),
    (Assumption.SKEW, {"value": 0.0261799},
     "Assumed edges that lean against the axis by anything up to 1.5 deg: the straighter they are, the harder they hit."
     " Measure it and give [cutter] edge_skew."),
    (Assumption.STIFFNESS, {"value": 5000.0}, "Assumed a stiffness of 5000 N/mm at the collet: the job file does not say."),
    (Assumption.BACKLASH, {"value": 0.1}, "Assumed a table backlash of 0.100 mm: the job file does not say."),
    (Assumption.HANDWHEEL, {"value": 5.0},
     "Assumed a table travel of 5.000 mm for one turn of the handwheel: the job file does not say."),
    (Assumption.STONED, {"value": 0.02},
     "Assumed edges fresh from the stone, with a worn land of 0.0200 mm at most; a wider one presses harder on the neck: "
     "measure it and give [cutter] wear."),
    (Assumption.HEAD_SECTION, {"area": 0.49, "stiffness": 0.2},
     "Assumed that flutes and flats leave the head 49% of the full round's metal and 20% of its stiffness against"
     " bending (area and second moment): the job file has no [grind]."),
    (MillNote.ASSUMED, {"edge_radius": 0.008, "runout": 0.01, "shank": 3.0},
     "Throat mill: assumed an edge radius of 0.0080 mm, a shank of 3.000 mm, the rake that the force"
     " constants were measured at, a radial runout of 0.010 mm; the job file does not say."),
    (MillNote.ASSUMED, {"edge_radius": 0.008, "runout": None, "shank": None},
     "Throat mill: assumed an edge radius of 0.0080 mm, the rake that the force"
     " constants were measured at; the job file does not say."),
    (MillNote.CORNER_LEFT, {"corner": 0.5},
     "The throat mill's corner radius leaves 0.500 mm of metal along the foot of the throat's walls, which the"
     " undercut cutter meets too; its loads here do not count it."),
    (BlankNote.UNUSUAL_HARDNESS, {"given": 55.0, "low": 62.0, "high": 66.0, "blank": "M2"},
     "A hardness of 55 HRC is outside the usual 62 to 66 HRC of M2; its bend strength is kept as for the usual hardness."),
    (BlankNote.HARDNESS_NOT_USED, {"blank": "mild steel"},
     "The hardness given is not used: mild steel is judged by its yield and tensile strength."),
    (GroundNote.HEEL_RUBS, {"drop": 0.01, "behind": 47.6},
     "The heel stands 0.010 mm under the circle of the edges, 48 deg behind the edge: it will rub. Grind a secondary"
     " relief and take the heel off farther."),
    (GroundNote.FLANK_RUBS, {"relief": 0.5, "least": 2.0},
     "A relief of 0.5 deg rubs: behind the edge the flank presses on metal that springs back, which no force here"
     " counts. Grind 2 deg at the least, better 6."),
    (GroundNote.FLUTES_UNDER_NECK, {"under": 0.6},
     "The flutes are ground 0.600 mm deeper than the neck's surface: stop the wheel at the head's upper face, or it"
     " nicks the neck."),
    (GroundNote.FLATS_UNDER_NECK, {"under": 0.6},
     "The flats behind the teeth are ground 0.600 mm deeper than the neck's surface: stop the wheel at the head's"
     " upper face, or it nicks the neck."),
    (FitNote.HEAD_OVER_SHANK, {"head": 10.4, "shank": 10.0},
     "The head of 10.400 mm is wider than the shank of 10.000 mm: start from a thicker blank and grind the shank down,"
     " or narrow the head."),
    (MetalNote.HARDNESS_UNKNOWN, {},
     "The material file gives no hardness_HV: whether the blank is hard enough to cut this metal was not judged."),
    (CutNote.BUILT_UP_EDGE, {"speed": 500.0, "needed": 1000.0, "lubrication": "dry"},  # mm/s: 30 and 60 m/min
     "At 30 m/min with dry lubrication metal may weld to the edge, below about 60 m/min: look at the edge after the cut."
     " The force is less certain for it."),
    (CutNote.HARMONIC, {"order": 3, "passing": 100.0, "times": 300.0, "own": 310.0},
     "3 times 100 teeth a second are 300 Hz, near the tool's own 310 Hz: if it sings, change the spindle speed a"
     " little."),
    (CutNote.CHATTER, {"gives": 0.08, "passing": 100.0, "own": 4000.0},
     "The head gives 0.080 mm under the largest force and may chatter: make a test cut and listen. A hum of 100 Hz is"
     " the teeth; a howl near 4000 Hz is the neck: stop, then take half the head's height or half the speed."),
    (CutNote.DUE_FOR_STONE, {"wear": 0.15, "due": 0.1},
     "The edges have a worn land of 0.150 mm; from 0.100 mm on they are due for the stone, since a land presses on the "
     "neck more than the chip does."),
    (CutNote.BURNISHES, {"wide": 0.0365, "high": 0.007},
     "The neck's fillet reaches 0.036 mm into the throat's lower corner, 0.007 mm high: it burnishes the corner. Break"
     " that edge, or leave the head this much under height."),
    (RakeNote.FAR_FROM_MEASURED, {"difference": -45.0, "trusted": 20.0, "credited": 35.0},
     "The rake is -45 degrees from the rake the force constants were measured at; the correction is trusted to 20"
     " degrees, more spread is allowed for beyond, and no relief is credited past 35."),
    (ForceNote.RADIAL_BORROWED, {"family": "steel"},
     "No source gives the force across the edge for this metal: it is that of steel over the cutting force, and more"
     " spread is allowed for."),
    (RootNote.NO_BEAM, {"arm_over_thickness": 0.625, "least": 1.0, "shear": 0.4},
     "A tooth as stubby as this is no beam: the stress at its root is an estimate (arm 0.62 of its thickness, the"
     " formula is meant for 1 and more; it leaves out the shear, 40% of the bending)"),
    (HardnessNote.TENSILE_IS_AN_EQUIVALENT, {},
     "What a blank this hard bears in a straight pull is only worked out from its hardness, and it breaks brittle"
     " before that (above 60 HRC the tensile strength is a hardness equivalent)"),
    (HardnessNote.NO_TENSILE_ABOVE, {},
     "For a blank this hard no table gives a strength: it is credited with that of 65 HRC and no more (no tensile"
     " equivalent above)"),
    (HardnessNote.NO_VICKERS_ABOVE, {},
     "The table of hardness ends at 68 HRC: a harder blank is credited with that and no more (no Vickers equivalent"
     " above)"),
    (FatigueNote.SCATTERS, {},
     "How long a neck this hard bears bending to and fro hangs on its smallest flaws and scratches, and scatters with"
     " them (above HV 400 the fatigue limit no longer follows 1.6 HV)"),
    (FatigueNote.HARDER_THAN_MEASURED, {},
     "The blank is harder than those that the strength against bending to and fro was measured on: it is carried on"
     " from softer ones (above HV 720 the flaw-size formula is extrapolated)"),
    (FatigueNote.SOFTER_THAN_MEASURED, {},
     "The blank is softer than those that the strength against bending to and fro was measured on (below HV 70 the"
     " flaw-size formula is extrapolated)"),
    (FatigueNote.FLAW_IS_A_CRACK, {},
     "A flaw over 1 mm is a crack: a blank with one is scrap (above 1000 um fracture mechanics applies)"),
    (FatigueNote.FLAWS_DO_NOT_MATTER, {},
     "The flaws are too small to matter: the blank bears less than they alone would let it (without flaws about 1.6"
     " HV)"),
    (FatigueNote.FEW_TURNS, {},
     "Under 1000 turns the neck is judged between what it bears once and what for a thousand turns (a straight line in"
     " log-log; no tests of steel this hard are known there)"),
    (FatigueNote.MANY_TURNS, {},
     "Over a million turns hard steel keeps losing strength (the fatigue line is extrapolated there)"),
    (FilletNote.LARGE_FOR_ITS_STEP, FIT | {"step_over_radius": 0.05},
     "The fillet is large for its step: the rise of the twisting stress there is held at the end of the published"
     " curves, on the safe side (torsion: step over fillet radius t/r = 0.05 lies below the published fit (0.25 to 4);"
     " K_t is held at its value at 0.25)"),
    (FilletNote.SMALL_FOR_ITS_STEP, FIT,
     "The fillet is small for its step: the rise of the twisting stress there is carried on beyond the published"
     " curves, on the safe side; a larger fillet is stronger (torsion: step over fillet radius t/r = 5 lies above the"
     " published fit (0.25 to 4); K_t is carried on with the exponent of a sharp corner, an upper estimate)"),
    (FilletNote.SMALL_FOR_ITS_STEP, FIT | {"largest": True},
     "The fillet is small for its step: the rise of the twisting stress there is carried on beyond the published"
     " curves, on the safe side (torsion: step over fillet radius t/r = 5 lies above the"
     " published fit (0.25 to 4); K_t is carried on with the exponent of a sharp corner, an upper estimate)"),
    (FilletNote.LARGE_FOR_THE_NECK, {"radius_over_diameter": 1.5, "low": 0.0025, "high": 1.0},
     "The fillet is larger than the neck is thick: the bending stress there is carried on beyond what the formula was"
     " checked for (bending: fillet radius over bar diameter r/d = 1.5 is above 1, where K_t - 1 goes on falling with"
     " the radius to the power -0.9)"),
    (FilletNote.SMALL_FOR_THE_NECK, {"radius_over_diameter": 0.001, "low": 0.0025, "high": 1.0},
     "The fillet is very small for the neck: the bending stress there is carried on beyond what the formula was"
     " checked for, on the safe side (bending: fillet radius over bar diameter r/d = 0.001 is below 0.0025, where the"
     " formula rises above finite elements)"),
]  # fmt: skip


@pytest.mark.parametrize(("code", "facts", "sentence"), SPOKEN)
def test_a_note_word_for_word(code: Enum, facts: dict[str, Any], sentence: str) -> None:
    assert spoken(Note(code=code, facts=facts), "metric") == sentence


def test_every_note_has_a_sentence_and_every_sentence_is_held() -> None:
    assert set(SENTENCES) == {code for kind in CODES for code in kind}
    assert {code for code, _, _ in SPOKEN} == set(SENTENCES)


def test_a_note_speaks_the_readers_units() -> None:
    """2.54 mm are 0.1 in."""
    note = Note(code=Assumption.HANDWHEEL, facts={"value": 2.54})
    assert "a table travel of 0.1000 in for" in spoken(note, "inch")

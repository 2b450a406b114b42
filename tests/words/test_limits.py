"""The sentence of every limit, word for word, against sentences written here for a demand and a
capacity that are known.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from loadsim.job.tolerances import WallOrigin
from loadsim.loads.limits.utilization import LimitCode, Utilization
from loadsim.words.limits import (
    DRILL,
    DRILL_TROUBLE,
    ORIGINS,
    THROAT_MILL,
    UNDERCUT,
    trouble,
    worded,
)

TOOLS = {"undercut": UNDERCUT, "throat mill": THROAT_MILL, "drill": DRILL}
C = LimitCode


def limit(code: LimitCode, demand: float, capacity: float, **facts: Any) -> Utilization:
    return Utilization(
        code=code,
        demand=np.array([demand]),
        capacity=np.array([capacity]),
        unit="1",
        hard=True,
        facts=facts,
    )


GRABBED = {"backlash": 0.1, "grabbed": np.array([2000.0]), "bears": 1000.0}

#: Tool, code, demand, capacity, facts, sentence; mm, MPa, N*mm, N, Hz, mm^3 and mm/s.
SENTENCES: list[tuple[str, LimitCode, float, float, dict[str, Any], str]] = [
    ("undercut", C.NECK_FRACTURE, 820.0, 1000.0, {"one_in": 1 / 0.01, "ductile": False},
     "The neck sees 820 MPa at its fillet; about one neck in 100 breaks at 1000 MPa."),
    ("undercut", C.NECK_FRACTURE, 820.0, 1000.0, {"one_in": 1 / 0.01, "ductile": True},
     "The neck sees 820 MPa at its fillet; about one neck in 100 bends for good or breaks at 1000 MPa."),
    ("undercut", C.NECK_FATIGUE, 300.0, 450.0, {"turns": np.array([12345.0]), "rubs": np.array([False])},
     "Each turn bends the neck to and fro by 300 MPa; for the 12,345 turns of this cut it bears 450 MPa."),
    ("undercut", C.NECK_FATIGUE, 300.0, 450.0, {"turns": np.array([12345.0]), "rubs": np.array([True])},
     "Each turn that cuts bends the neck to and fro by 300 MPa; so thin a chip rubs until enough has piled up, so about"
     " 12,345 turns cut, for which it bears 450 MPa."),
    ("undercut", C.NECK_TORSION, 1500.0, 9000.0, {},
     "The cut twists the neck with 1.500 N*m; 9.000 N*m would twist it off."),
    ("undercut", C.TOOTH_ROOT, 300.0, 450.0, {"by_edge": np.array([True])},
     "A tooth sees 300 MPa behind its edge; it bears 450 MPa."),
    ("undercut", C.TOOTH_ROOT, 300.0, 450.0, {"by_edge": np.array([False])},
     "A tooth sees 300 MPa at its root; it bears 450 MPa."),
    ("undercut", C.WEB_OF_THE_HEAD, 300.0, 450.0, {},
     "The head sees 300 MPa at the corners of its gullets; it bears 450 MPa."),
    ("undercut", C.SPINDLE_TORQUE, 1500.0, 9000.0, {"peak": 3000.0},
     "The cut asks 1.500 N*m of the spindle over a turn; it stalls at about 9.000 N*m. The peaks, 3.000 N*m, are"
     " carried by the spindle's flywheel."),
    ("undercut", C.TABLE_GRAB, 300.0, 150.0, GRABBED | {"loose": True},
     "The cut drags the table along with 300.0 N, over its friction of about 150.0 N: the table jumps by its backlash"
     " of 0.100 mm and the neck sees 2000 MPa against 1000 MPa. Cut conventionally, or lock the screw."),
    ("undercut", C.TABLE_GRAB, 100.0, 150.0, GRABBED | {"loose": True},
     "The cut drags the table along with 100.0 N; its friction, about 150.0 N, holds it. Where it does not, the table"
     " jumps by its backlash of 0.100 mm and the neck sees 2000 MPa against 1000 MPa."),
    ("undercut", C.TABLE_GRAB, 0.0, 150.0, GRABBED | {"loose": True},
     "The cut, taken over a turn, pushes against the feed: it does not drag the table through its backlash."),
    ("undercut", C.TABLE_GRAB, 0.0, 150.0, GRABBED | {"loose": False},
     "The screw holds the table; there is no backlash to be dragged through."),
    ("undercut", C.COLLET_SLIP, 1500.0, 9000.0, {"peak": np.array([8000.0]), "holder": "collet"},
     "The shank must hold 1.500 N*m over a turn; a clean, tight collet holds 9.000 N*m nineteen times in twenty."),
    ("undercut", C.COLLET_SLIP, 1500.0, 9000.0, {"peak": np.array([9500.0]), "holder": "side-lock"},
     "The shank must hold 1.500 N*m over a turn; the screw of a side-lock holder bears about 9.000 N*m. At the peak it"
     " is 9.500 N*m: mark shank and holder, look whether it creeps."),
    ("undercut", C.RESONANCE, 500.0, 850.0, {"below": np.array([True]), "own": np.array([1000.0])},
     "The teeth pass 500 times a second; under the neck's own 1000 Hz they may pass up to 850 times."),
    ("undercut", C.RESONANCE, 1150.0, 1300.0, {"below": np.array([False]), "own": np.array([1000.0])},
     "The teeth pass 1300 times a second; above the neck's own 1000 Hz they must pass at least 1150 times."),
    ("undercut", C.WALL_ERROR, 0.05, 0.1, {"origin": WallOrigin.TARGET},
     "Deflection and runout set a wall off by up to 0.050 mm; allowed is 0.100 mm (asked for in [target])."),
    ("undercut", C.WALL_ERROR, 0.05, 0.1, {"origin": WallOrigin.WIDTH_TOLERANCE},
     "Deflection and runout set a wall off by up to 0.050 mm; allowed is 0.100 mm (half the width tolerance, one"
     " wall's share)."),
    ("undercut", C.RUBBING, 0.004, 0.02, {"thin_chip": np.array([0.01])},
     "The thickest chip is 0.0200 mm/tooth; an edge of this sharpness only rubs below 0.0040 mm/tooth."),
    ("undercut", C.RUBBING, 0.004, 0.02, {"thin_chip": np.array([0.0])},
     "The thickest chip is 0.0200 mm/tooth; an edge of this sharpness only rubs below 0.0040 mm/tooth. One tooth"
     " skips because of runout."),
    ("undercut", C.CHIP_PACKING, 4.0, 10.0, {},
     "Loose chips fill 40% of a gullet before they find the way out: clear them with air or coolant,"
     " and stop when they pack."),
    ("undercut", C.SURFACE_SPEED, 500.0, 1000.0, {"blank": "carbide"},
     "The teeth run at 30 m/min; carbide lasts up to about 60 m/min here."),
    ("undercut", C.BLANK_AGAINST_METAL, 270.0, 1080.0, {"scraped": False, "blank": "carbide", "ratio": 1.35},
     "To cut this metal an edge must keep 270 HV while it is hot, 1.35 times the metal's own hardness; carbide keeps"
     " about 1080 HV."),
    ("throat mill", C.BLANK_AGAINST_METAL, 810.0, 640.0, {"scraped": False, "blank": "HSS M2", "ratio": 1.35},
     "To cut this metal an edge must keep 810 HV while it is hot, 1.35 times the metal's own hardness; HSS M2 keeps"
     " about 640 HV. Take a harder blank."),
    ("undercut", C.BLANK_AGAINST_METAL, 513.0, 302.0, {"scraped": True, "blank": "Soft shank", "ratio": 1.35},
     "In this metal a tooth under 513 HV, about 50 HRC, wears off at once; Soft shank has 302 HV. Take a harder"
     " blank."),
    ("undercut", C.HANDWHEEL_SPEED, 0.1667, 1.0, {},
     "The handwheel is turned 0.17 times a second; for a whole pass a hand keeps up about 1 a second."),
    ("throat mill", C.HANDWHEEL_SPEED, 14.0, 1.0, {},
     "The handwheel is turned 14.00 times a second; for a whole pass a hand keeps up about 1 a second. Feed slower, or"
     " use a power feed."),
    ("undercut", C.NECK_ON_WALL, 0.05, 0.065, {"touches": np.array([104.0])},
     "The head gives 0.050 mm under the largest force; the gap beside the neck is 0.065 mm: it leans on the throat"
     " wall from 104.0 N on."),
    ("undercut", C.NECK_IN_THROAT, 5.3, 6.2, {"clearance": 0.05},
     "The neck with 0.050 mm clearance each side needs 5.300 mm of the throat's 6.200 mm."),
    ("undercut", C.FILLET_IN_THROAT, 0.0, 0.05, {"wide": np.array([0.0])},
     "The neck's fillet clears the throat's lower corners."),
    ("undercut", C.FILLET_IN_THROAT, 0.007, 0.05, {"wide": np.array([0.0365])},
     "The neck's fillet reaches 0.036 mm into the throat's lower corners, 0.007 mm high; up to 0.050 mm it only"
     " burnishes them."),
    ("undercut", C.SHOULDER_ABOVE_SURFACE, 4.85, 5.0, {},
     "The neck must be 4.850 mm long to keep the shank's shoulder off the surface; it is 5.000 mm."),
    ("undercut", C.HEAD_IN_UNDERCUT, 2.6, 2.8, {}, "The head is 2.600 mm high in an undercut of up to 2.800 mm."),
    ("undercut", C.REACH_OF_SIDE_PASSES, 6.9, 6.2, {"offset": 0.8},
     "With the axis 0.800 mm off centre the neck needs a throat of 6.900 mm; it is 6.200 mm."),
    ("undercut", C.NECK_ABOVE_THROAT_FLOOR, 3.0, 2.6, {},
     "The throat was milled to 3.000 mm above the undercut's floor; the neck of the lowest pass starts at 2.600 mm."),
    ("undercut", C.HEAD_BETWEEN_THE_ENDS, 10.5, 40.0, {},
     "Both ends are closed; the head goes down the throat and needs 10.500 mm of its length, 40.000 mm."),
    ("undercut", C.DROP_IN_HOLE, 10.5, 40.0, {},
     "Both ends are closed: drill a drop-in hole of at least 10.500 mm to the undercut's floor first."),
    ("undercut", C.SNAP_PROBABILITY, 0.5, 0.01, {}, "The chance that the neck snaps is 0.5; accepted is 1 cut in 100."),
    ("throat mill", C.MILL_FRACTURE, 820.0, 1000.0, {"one_in": 1 / 0.01},
     "The throat mill sees 820 MPa; about one in 100 breaks at 1000 MPa."),
    ("throat mill", C.MILL_FATIGUE, 300.0, 450.0, {"turns": np.array([12345.0])},
     "Each turn strains the throat mill to and fro by up to 300 MPa; for the 12,345 turns of its cut it bears"
     " 450 MPa."),
    ("throat mill", C.MILL_TORSION, 1500.0, 9000.0, {},
     "The cut twists the throat mill with 1.500 N*m; 9.000 N*m would twist it off."),
    ("throat mill", C.MILL_SNAP_PROBABILITY, 0.5, 0.01, {},
     "The chance that the throat mill breaks is 0.5; accepted is 1 cut in 100."),
    ("throat mill", C.SPINDLE_TORQUE, 1500.0, 9000.0, {"peak": 3000.0},
     "The throat mill asks 1.500 N*m of the spindle over a turn; it stalls at about 9.000 N*m. The peaks, 3.000 N*m,"
     " are carried by the spindle's flywheel."),
    ("throat mill", C.COLLET_HOLD, 120.0, 900.0, {"peak": np.array([1000.0]), "holder": "collet"},
     "Torque and the pull of the helix together drag 120.0 N at the mill's shank over a turn; a clean, tight collet"
     " holds 900.0 N nineteen times in twenty. At the peak it is 1000.0 N: mark shank and holder, look whether it"
     " creeps."),
    ("throat mill", C.RESONANCE, 500.0, 850.0, {"below": np.array([True]), "own": np.array([1000.0])},
     "The teeth pass 500 times a second; under the mill's own 1000 Hz they may pass up to 850 times."),
    ("throat mill", C.THROAT_WALL_ERROR, 0.05, 0.1, {"origin": WallOrigin.GENERAL_TOLERANCE},
     "Deflection and runout set a throat wall off by up to 0.050 mm; allowed is 0.100 mm (half the general tolerance"
     " of an untoleranced width)."),
    ("throat mill", C.RUBBING, 0.004, 0.02, {},
     "The thickest chip is 0.0200 mm/tooth; the edge only rubs below 0.0040 mm/tooth."),
    ("throat mill", C.CHIP_PACKING, 0.4, 1.0, {},
     "Loose chips fill 40% of the mill's gullets before they are out: clear them with air or coolant."),
    ("throat mill", C.SURFACE_SPEED, 500.0, 1000.0, {"blank": "carbide"},
     "The mill's teeth run at 30 m/min; carbide lasts up to about 60 m/min."),
    ("drill", C.DRILL_TORQUE, 100.0, 200.0, {"share": 0.5},
     "The drill is twisted with 0.100 N*m; in a hole this deep it bears 0.200 N*m, 50% of what breaks it with its flutes"
     " clear."),
    ("drill", C.DRILL_TORQUE, 300.0, 200.0, {},
     "The drill would twist off: torque 0.300 N*m against 0.200 N*m."),
    ("drill", C.DRILL_THRUST, 120.0, 593.3, {},
     "The drill is pushed with 120.0 N; it would buckle at 593.3 N."),
    ("drill", C.DRILL_THRUST, 694.3, 593.3, {}, "The drill would buckle: thrust 694.3 N against 593.3 N."),
    ("drill", C.DRILL_DEPTH, 20.0, 24.0, {},
     "The hole is 20.000 mm deep; a drill of this size goes 24.000 mm, 8 diameters, without wandering."),
    ("drill", C.DRILL_DEPTH, 25.0, 24.0, {}, "The drill would wander: depth 25.000 mm against 24.000 mm."),
]  # fmt: skip


@pytest.mark.parametrize(("tool", "code", "demand", "capacity", "facts", "sentence"), SENTENCES)
def test_a_limit_says_what_is_asked_and_what_it_bears(
    tool: str, code: LimitCode, demand: float, capacity: float, facts: dict[str, Any], sentence: str
) -> None:
    check = limit(code, demand, capacity, **facts)
    assert worded(check, "metric", TOOLS[tool]).note == sentence


def test_every_code_has_a_name_and_a_sentence_and_every_sentence_is_held() -> None:
    spoken = {(tool, code) for tool, sentences in TOOLS.items() for code in sentences}
    assert {code for _, code in spoken} == set(LimitCode)
    assert {(tool, code) for tool, code, *_ in SENTENCES} == spoken
    names = {C.NECK_ON_WALL: "neck on throat wall"}
    assert all(names.get(code, code.value) == code.value for code in LimitCode)
    assert all(
        code.value == code.name.replace("_", " ").lower()
        for code in set(LimitCode) - set(names)
        if "-" not in code
    )
    assert {c.value for c in LimitCode if "-" in c} == {"drop-in hole"}
    assert set(ORIGINS) == set(WallOrigin)


def test_a_limit_speaks_the_readers_units() -> None:
    """25.4 mm are 1 in; 6.894757 MPa are 1 ksi."""
    head = worded(limit(C.HEAD_IN_UNDERCUT, 2.54, 25.4), "inch").note
    assert head == "The head is 0.1000 in high in an undercut of up to 1.0000 in."
    assert (
        "100.0 ksi"
        in worded(limit(C.MILL_FRACTURE, 689.4757, 3000.0, one_in=100.0), "inch", THROAT_MILL).note
    )
    assert "lbf" in worded(limit(C.DRILL_THRUST, 100.0, 200.0), "inch", DRILL).note


def test_a_limit_in_words_keeps_its_numbers() -> None:
    x = worded(limit(C.NECK_TORSION, 1500.0, 6000.0), "metric")
    assert (x.name, x.demand, x.capacity, x.utilization) == ("neck torsion", 1500.0, 6000.0, 0.25)
    assert x.hard and not x.fit and x.unit == "1"


@pytest.mark.parametrize(
    ("demand", "capacity"), [(math.nan, 1.0), (1.0, math.inf), (math.inf, 1.0)]
)
def test_a_limit_that_is_not_finite_is_refused_by_name(demand: float, capacity: float) -> None:
    with pytest.raises(ValueError, match=r"limit neck torsion: demand .* no finite utilization"):
        worded(limit(C.NECK_TORSION, demand, capacity), "metric")


@pytest.mark.parametrize(("code", "text"), [
    (C.DRILL_TORQUE, "the drill would twist off: torque 0.300 N*m against 0.200 N*m"),
    (C.DRILL_THRUST, "the drill would buckle: thrust 300.0 N against 200.0 N"),
    (C.DRILL_DEPTH, "the drill would wander: depth 300.000 mm against 200.000 mm"),
])  # fmt: skip
def test_what_goes_wrong_with_a_drill(code: LimitCode, text: str) -> None:
    assert trouble(limit(code, 300.0, 200.0), "metric") == text
    assert set(DRILL_TROUBLE) == set(DRILL)

"""Every number without a source that two rooms share: the page to read in order to disagree.

Each has its unit and what is known of it; the few that have a source name it. "Common practice" is
what shops do, written down by nobody we can cite; "memory" is recalled from books that were not at
hand, with how far it is trusted.
"""

from __future__ import annotations

import math

# --- the machine -------------------------------------------------------------------------------

#: Share of the rated power that reaches the cutter (common practice, no source). [1]
DRIVE = 0.8

#: Pull that draws a shank out of a collet: middle of a printed range, 600 to 3750 lb
#: (CatalogColletPull), [N], the spread of its logarithm if nineteen collets in twenty lie in that
#: range, [1], and the shank that it was measured on. [mm]
COLLET_PULL = 6672.0
COLLET_PULL_SD = 0.46
COLLET_SHANK = 12.7

#: Clamping screw of a side-lock holder: its core over the shank's diameter, [1], and the shear
#: stress that it bears (common practice, no source). [MPa]
SIDE_LOCK_SCREW = 0.5
SIDE_LOCK_SHEAR = 400.0

#: Share of the own frequency that tooth passing keeps away from it on either side, and the highest
#: of its harmonics that is told of (common practice, no source). [1]
RESONANCE_BAND = 0.15
HARMONICS = 5

#: Radius of a handwheel at the grip, [mm], efficiency of a table screw with its slides, [1], and
#: the force that moves a table (common practice, no source). [N]
WHEEL_RADIUS = 60.0
SCREW_EFFICIENCY = 0.3
TABLE_FRICTION = 150.0

#: Fastest that a hand turns a handwheel evenly for a whole pass; for a moment it does twice that
#: (common practice, no source). [turn/s]
FASTEST_WHEEL = 1.0

#: Spread of the logarithm of a table's friction, assumed and measured at the wheel (no source). [1]
TABLE_FRICTION_SD = 0.4
TABLE_FRICTION_SD_MEASURED = 0.15

#: Smallest change that a hand notices in a force that it holds, over that force (Weber fraction,
#: 0.07 to 0.10: Jones 1989, Pang, Tan and Durlach 1991; memory medium), how far an idle table's
#: force swings along its slides on top of that, as they stick, [1], and what a hand that is busy
#: feeding does not heed at all (common practice, no source). [N]
JUST_NOTICED = 0.10
WHEEL_SWING = 0.30
UNHEEDED = 10.0

#: Time from a push on the fingers to the hand that stops (0.15 to 0.25 s, memory medium). [s]
HAND_ANSWERS = 0.2

#: Backlash over which a driven table counts as loose (common practice, no source). [mm]
LOOSE = 0.02

#: Unsteadiness of the feed: median factor on the feed at its worst, and the spread of its logarithm
#: (common practice, no source). [1]
STEADINESS = {"hand": (1.20, 0.35), "power": (1.0, 0.10), "cnc": (1.0, 0.03)}

#: Share of the variance of unsteady feed and of packing chips that is the habit of hand, machine
#: and slot, the same in every cut (no source). [1]
HABIT = 0.5

#: Time on the machine beside cutting (common practice, no source). [s]
TOOL_CHANGE = 180.0
HOLE_SETUP = 60.0
PASS_SETUP = 20.0

# --- room ----------------------------------------------------------------------------------------

#: Gap kept between neck and throat wall, and between shank shoulder and surface (no
#: source). [mm]
CLEARANCE = 0.05

#: Height to which a fillet may burnish the throat's lower corners: an edge that is broken (common
#: practice, no source). [mm]
BURNISHED = 0.05

#: A head that may chatter: on a neck so many of its diameters long, [1], it gives this much under
#: the largest force, [mm], or on a longer neck more for each millimetre that the chip thickens than
#: that millimetre (common practice, no source: standard cutters on stout necks give as much in a
#: heavy cut and run quietly). [1]
CHATTER_LONG = 2.0
CHATTER_DEFLECTION = 0.05
CHATTER_SLENDER = 3.0
CHATTER_GIVE = 1.0

# --- what is assumed when the job file is silent -------------------------------------------------

#: The corner of a square end mill that plunged the neck (common practice, no source). [mm]
DEFAULT_FILLET = 0.10

#: Sharpest corner that a wheel leaves (common practice, no source). [mm]
LEAST_FILLET = 0.02

#: Shop-ground high-speed steel, 5 to 20 um (memory medium). [mm]
DEFAULT_EDGE_RADIUS = 0.010

#: The sharpest of those, as every edge once was (memory medium). [mm]
SHARP_EDGE_RADIUS = 0.005

#: Collet in a worn spindle: 0.013 to 0.025 mm reading, half of it radial (memory medium). [mm]
DEFAULT_RUNOUT = 0.010

#: Spindle nose of a small mill, 5 to 50 N/um (memory low). [N/mm]
DEFAULT_STIFFNESS = 10_000.0

#: Table screw, 0.05 to 0.25 mm (memory medium). [mm]
DEFAULT_BACKLASH = {"hand": 0.10, "power": 0.10, "cnc": 0.0}

#: Travel for one turn of the handwheel, 0.200 in on a machine in inches (common practice, no
#: source). [mm]
DEFAULT_HANDWHEEL = {"metric": 5.0, "inch": 5.08}

# --- cutter and grind ----------------------------------------------------------------------------

#: Stress at the inner corner of a gullet over that of the plain section (common practice, no
#: source). [1]
GULLET_CORNER = 2.5

#: Share of a mill's circle that its gullets take (assumed until they are known). [1]
GULLETS = 0.4

#: Wear of a bought mill on its way through a slot: handbook factor for end milling
#: (MachinerysHandbook31, W). [1]
WEAR_FACTOR = 1.10

#: Relief under which the flank rubs on what springs back behind the edge (common practice, no
#: source). [rad]
LEAST_RELIEF = math.radians(2.0)

#: Widest land that a stone leaves, and that of the sharp edges which forces were measured with,
#: whose part in those it is (common practice, no source). [mm]
STONED_LAND = 0.02
SHARP_LAND = 0.02

#: Feed per tooth that the life of an edge is told for (common practice, no source). [mm]
USUAL_FEED = 0.02

#: Land at which the edge is due for the stone, a third of where ISO8688Wear ends a tool's life: it
#: is followed no further, as it is stoned then. [mm]
STONE_LAND = 0.10

#: Spread of the logarithm of how fast a land grows: printed tool lives differ by more than three
#: times (assumed), and of a land that was measured (common practice, no source). [1]
LAND_GROWTH_SD = 0.5
LAND_SD = 0.15

#: Spread of the logarithm of the force between cutters ground alike: edge, rake and lapping differ
#: (0.10 to 0.15, assumed, no source). [1]
TOOL_SD = 0.12

#: Share of its tensile strength by hardness that hard steel bears for a thousand turns in bending,
#: and the spread of its logarithm: design texts, axial data and gear standards lie between 0.54 and
#: 0.90 over 2000 MPa (judgement over HardSteelThousand). [1]
THOUSAND = 0.74
THOUSAND_SD = 0.12

#: Share of the turns for which the feed is as unsteady as it gets (common practice, no source). [1]
UNSTEADY_SHARE = 0.02

#: Turns for which chips stay packed once they do, over those that a chip stays (common practice, no
#: source). [1]
PACKED_STAYS = 10.0

#: Time in the cut, at the usual surface speed, after which a small high-speed steel edge is due for
#: the stone, by how the metal wears it (common practice, no source). [s]
EDGE_LIFE = {
    "aluminum": 7200.0, "brass": 7200.0, "copper": 3600.0, "bronze": 3600.0, "magnesium": 14400.0,
    "plastic": 14400.0, "iron": 1800.0, "steel": 1800.0, "stainless": 900.0, "tool steel": 900.0,
    "titanium": 600.0,
}  # fmt: skip
EDGE_LIFE_HARD = 900.0

#: Hardness of the hot edge over that of the metal that it cuts: texts on wear ask 1.35 to 1.5
#: (memory, no page found), shops 1.3 to 1.5 of the cold tool. [1]
HARDER_THAN_METAL = 1.35

#: Hardness, cold, under which a tooth wears off at once in a metal with hard grains, or that
#: hardens as it is cut: 50 HRC, by how the metal wears it; the last for a family not known
#: (common practice, no source). [HV]
LEAST_EDGE = {
    "aluminum": 0.0, "aluminum cast, high silicon": 513.0, "brass": 0.0, "copper": 0.0,
    "bronze": 0.0, "magnesium": 0.0, "plastic": 0.0, "iron": 513.0, "steel": 513.0,
    "stainless": 513.0, "tool steel": 513.0, "titanium": 513.0,
}  # fmt: skip
LEAST_EDGE_UNKNOWN = 513.0

#: Loss of fatigue strength of a hand-ground neck against a gentle grind (FieldKahles1971: up to
#: 40 %). [1]
GRIND_FACTOR = 0.85

# --- chips ---------------------------------------------------------------------------------------

#: Turns a chip stays in an undercut before it finds the way out (common practice, no source). [1]
CHIP_STAY = {"dry": 4.0, "brush": 3.0, "mist": 2.0, "flood": 1.5}

#: What lubrication spares of the speed against a built-up edge: factor on it (common practice, no
#: source). [1]
EDGE_KEPT_CLEAN = {"dry": 1.2, "brush": 0.8, "mist": 0.7, "flood": 0.6}

#: Spread that a built-up edge adds to the logarithm of the force (assumed, no source). [1]
BUILT_UP_EDGE_SD = 0.15

#: Largest addition to the factor 1 on the force while chips are packed, and how often that happens:
#: 1 - exp(-rate (base + fill)) (assumed, no source). [1]
BURST = 2.0
BURST_BASE = 0.01
BURST_RATE = {"dry": 0.6, "brush": 0.4, "mist": 0.2, "flood": 0.1}

# --- scatter: one standard deviation -------------------------------------------------------------

#: What a workshop instrument leaves open (common practice, no source). [mm]
NECK_SD = 0.01
REACH_SD = 0.05
HEIGHT_SD = 0.02

#: Of a fillet that was measured, and of one that was assumed (no source). [1]
FILLET_SD = 0.10
FILLET_SD_ASSUMED = 0.40

#: Of a runout that was measured, and of one that was assumed (no source). [1]
RUNOUT_SD = 0.15
RUNOUT_SD_ASSUMED = 0.40

#: Largest angle between edge and axis that nobody has measured: of teeth ground straight by hand,
#: and of a head with so many teeth that it was made by machine, as those lean by turns to one side
#: and the other (common practice, no source). The spread of the logarithm of one that was measured
#: (no source). [rad] [1]
SKEW_MOST = math.radians(1.5)
SKEW_MOST_MADE = math.radians(10.0)
MADE_TEETH = 4
SKEW_SD = 0.10

#: Lean of the edges that is proposed: enough that they do not bite all along at once (no source).
#: [rad]
SKEW_ADVISED = math.radians(2.0)

#: Way over which the force of a tooth rises to that of the full chip, in thicknesses of that chip,
#: from least to most (no source). [1]
ENTRY = (1.0, 3.0)

#: Own frequency of a neck in its holder, over that of one held by a spindle that stands still, from
#: least to most: what collet and spindle give and weigh is not known (no source). [1]
OWN_FREQUENCY = (0.5, 1.4)

#: Of a bought mill's force, from a sharp edge to a worn one (no source). [1]
WEAR_SD = 0.10

#: Of the fatigue strength: hand grinding, from gentle to rough (no source). [1]
GRIND_SD = 0.15

#: Of printed breaking torques about the rule. [1]
TORSION_SD = 0.10

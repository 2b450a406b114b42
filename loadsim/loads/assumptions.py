"""loads/assumptions"""

from __future__ import annotations

#: Share of the rated power that reaches the cutter (common practice, no source). [1]
DRIVE = 0.8

#: Pull that makes a shank slip in a collet, lowest of a published range (CatalogColletPull), for a
#: 12.7 mm shank. [N]
COLLET_PULL = 2669.0
COLLET_SHANK = 12.7

#: Harmonics of tooth passing kept below the natural frequency, and how far below (common practice,
#: no source). [1]
HARMONICS = 5
DETUNED = 0.8

#: Stress at the inner corner of a gullet over that of the plain section (common practice, no
#: source). [1]
GULLET_CORNER = 2.5

#: Turns a chip stays in an undercut before it finds the way out (common practice, no source). [1]
CHIP_STAY = {"dry": 4.0, "brush": 3.0, "mist": 2.0, "flood": 1.5}

#: Share of the thinnest chip's speed that lubrication spares: factor on the built-up-edge speed
#: (common practice).
EDGE_KEPT_CLEAN = {"dry": 1.2, "brush": 0.8, "mist": 0.7, "flood": 0.6}

#: Time on the machine beside cutting (common practice, no source). [s]
TOOL_CHANGE = 180.0
HOLE_SETUP = 60.0
PASS_SETUP = 20.0

#: Gap kept between neck and throat wall, and between shank shoulder and surface. [mm]
CLEARANCE = 0.05

#: What is assumed when the job file is silent (common practice, no source, unless said otherwise).
DEFAULT_FILLET = 0.10  # the corner of a square end mill that plunged the neck [mm]

DEFAULT_EDGE_RADIUS = 0.010  # shop-ground high-speed steel, 5 to 20 um (memory medium) [mm]

# collet in a worn spindle: 0.013 to 0.025 mm reading, half of it radial (memory medium) [mm]
DEFAULT_RUNOUT = 0.010

DEFAULT_STIFFNESS = 10_000.0  # spindle nose of a small mill, 5 to 50 N/um (memory low) [N/mm]

# table screw, 0.05 to 0.25 mm (memory medium) [mm]
DEFAULT_BACKLASH = {"hand": 0.10, "power": 0.10, "cnc": 0.0}

DEFAULT_HANDWHEEL = 5.0  # travel for one turn [mm]

#: Wear of the edge on its way through a slot: handbook factor for end milling
#: (MachinerysHandbook31, W).
WEAR_FACTOR = 1.10

#: Loss of fatigue strength of a hand-ground neck against a gentle grind (FieldKahles1971: up to 40
#: %).
GRIND_FACTOR = 0.85

#: Share of a mill's circle that its gullets take (assumed until they are known). [1]
GULLETS = 0.4

#: Unsteadiness of the feed: median factor on the feed at its worst, and its spread (common
#: practice, no source).
STEADINESS = {"hand": (1.20, 0.35), "power": (1.0, 0.10), "cnc": (1.0, 0.03)}

#: What a workshop instrument leaves open, one standard deviation (common practice, no source). [mm]
NECK_SD = 0.01
REACH_SD = 0.05
HEIGHT_SD = 0.02

#: Spread of a fillet that was measured, and of one that was assumed. [1]
FILLET_SD = 0.10
FILLET_SD_ASSUMED = 0.40

RUNOUT_SD = 0.15
RUNOUT_SD_ASSUMED = 0.40

WEAR_SD = 0.10  # from a sharp edge to one that is due for the stone

GRIND_SD = 0.15  # hand grinding, from gentle to rough, on the fatigue strength

TORSION_SD = 0.10  # scatter of printed breaking torques about the rule

#: Largest factor on the force while chips are packed, and how often that happens: 1 - exp(-k (base
#: + fill)).
BURST = 2.0
BURST_BASE = 0.01
BURST_RATE = {"dry": 0.6, "brush": 0.4, "mist": 0.2, "flood": 0.1}

"""The example jobs: our own invented parts and dimensions, for demonstration only."""

from __future__ import annotations

from typing import Any

#: Name to what it is, and its tables as a job file has them.
EXAMPLES: dict[str, tuple[str, dict[str, dict[str, Any]]]] = {
    "t-track": (
        "A T-shaped track for the stops of a drilling fixture, in soft aluminum on a hand-fed"
        " mill.",
        {
            "job": {
                "number": "F-118",
                "part": "stop rail for drilling fixture",
                "drawing": "F-118-03",
                "revision": "B",
                "operation": "40",
                "quantity": 2,
                "author": "toolroom",
                "units": "metric",
            },
            "work": {"material": "al-6061-o", "lubrication": "brush"},
            "slot": {
                "throat_width": "6.2 mm",
                "undercut_width": "10.4 mm",
                "undercut_height": "2.6 mm",
                "depth": "7.4 mm",
                "length": "118 mm",
                "sides": 2,
                "open_ends": 2,
                "width_tolerance": "0.10 mm",
            },
            "cutter": {
                "material": "hss-m2",
                "hardness": 63.0,
                "head_diameter": "10.4 mm",
                "head_height": "2.6 mm",
                "neck_diameter": "5.2 mm",
                "neck_length": "5.4 mm",
                "neck_fillet": "0.4 mm",
                "shank_diameter": "10 mm",
                "stickout": "16 mm",
                "teeth": 2,
                "rake": "10 deg",
                "relief": "8 deg",
                "runout": "0.010 mm",
            },
            "machine": {
                "max_spindle_speed": "2800 rpm",
                "min_spindle_speed": "80 rpm",
                "spindle_power": "1.1 kW",
                "feed": "hand",
                "handwheel": "5 mm",
                "backlash": "0.12 mm",
            },
            "cut": {
                "spindle_speed": "2600 rpm",
                "feed_per_tooth": "0.016 mm/tooth",
                "direction": "conventional",
            },
            "target": {"snap_probability": 0.01},
        },
    ),
    "thin-neck": (
        "A deep, narrow slot in prehard steel: the neck that passes the throat is plainly too"
        " thin.",
        {
            "job": {
                "number": "K-27",
                "part": "cam follower guide",
                "operation": "30",
                "units": "metric",
            },
            "work": {"material": "steel-4140-ph", "lubrication": "brush"},
            "slot": {
                "throat_width": "2.4 mm",
                "undercut_width": "6.8 mm",
                "undercut_height": "2.2 mm",
                "depth": "11.5 mm",
                "length": "46 mm",
                "sides": 2,
                "open_ends": 1,
            },
            "cutter": {
                "material": "hss-m2",
                "head_diameter": "6.8 mm",
                "head_height": "2.2 mm",
                "neck_diameter": "2.0 mm",
                "neck_length": "9.6 mm",
                "shank_diameter": "8 mm",
                "stickout": "22 mm",
                "teeth": 2,
                "rake": "5 deg",
            },
            "machine": {
                "max_spindle_speed": "2800 rpm",
                "spindle_power": "1.1 kW",
                "feed": "hand",
                "handwheel": "5 mm",
            },
            "cut": {"feed_per_tooth": "0.012 mm/tooth", "direction": "conventional"},
            "target": {"snap_probability": 0.01},
        },
    ),
    "one-sided": (
        "A one-sided undercut for a retaining plate, in stainless, inch units.",
        {
            "job": {
                "number": "R-9",
                "part": "retaining plate seat",
                "drawing": "R-9-1",
                "operation": "60",
                "units": "inch",
            },
            "work": {"material": "stainless-303", "lubrication": "flood"},
            "slot": {
                "throat_width": "0.550 in",
                "undercut_width": "0.610 in",
                "undercut_height": "3/32 in",
                "depth": "0.290 in",
                "length": "1-3/8 in",
                "sides": 1,
                "open_ends": 1,
                "width_tolerance": "0.004 in",
            },
            "cutter": {
                "material": "hss-m42",
                "head_diameter": "0.500 in",
                "head_height": "3/32 in",
                "corner_radius": "0.010 in",
                "neck_diameter": "0.260 in",
                "neck_length": "0.215 in",
                "neck_fillet": "0.020 in",
                "shank_diameter": "3/8 in",
                "stickout": "0.800 in",
                "teeth": 3,
                "face_offset": "0.020 in",
                "edge_radius": "10 um",
                "runout": "0.0003 in",
            },
            "machine": {
                "max_spindle_speed": "3000 rpm",
                "spindle_power": "1.5 hp",
                "feed": "power",
                "backlash": "0.004 in",
            },
            "cut": {
                "spindle_speed": "230 rpm",
                "feed_per_tooth": "0.0004 in/tooth",
                "direction": "conventional",
            },
            "target": {"snap_probability": 0.01, "wall_error": "0.003 in"},
        },
    ),
}

"""Jobs whose short answers are looked at: every kind of verdict, feed, slot end and unit."""

from __future__ import annotations

import copy
import tomllib
from typing import Any

from loadsim.job.write import example, examples

EXAMPLES: dict[str, dict[str, Any]] = {n: tomllib.loads(example(n)) for n in examples()}
MILL = {
    "diameter": "5 mm",
    "flute_length": "12 mm",
    "teeth": 2,
    "helix": "30 deg",
    "material": "hss-m2",
    "stickout": "20 mm",
}
HOLES = {"diameter": "2 mm", "offsets": ["4 mm", "-4 mm"], "height": "1.3 mm", "depth": "16 mm"}
CUT = {
    "outcome": "survived",
    "length": "30 mm",
    "spindle_speed": "2600 rpm",
    "feed_per_tooth": "0.016 mm/tooth",
}
#: Sides are cut in passes of their own: throat 6.2, undercut 10.4, neck 4.6, head 9.
SIDES = {"cutter.head_diameter": "9 mm", "cutter.neck_diameter": "4.6 mm"}
FREE = {"cut.spindle_speed": None, "cut.feed_per_tooth": None, "cut.direction": None}


def made(base: str, changes: dict[str, Any], **tables: Any) -> dict[str, Any]:
    """An example with keys set, or left out where the value is None, and tables added."""
    data = copy.deepcopy(EXAMPLES[base]) | copy.deepcopy(tables)
    for path, value in changes.items():
        table, key = path.split(".")
        data.setdefault(table, {})[key] = value
        if value is None:
            del data[table][key]
    return data


#: The marginal one is turned too fast; the no-go is an example.
MARGINAL = made("t-track", {"cut.feed_per_tooth": "0.09 mm/tooth"})
INCH = made("t-track", {"job.units": "inch", "slot.open_ends": 1, **SIDES, **FREE})


def many() -> dict[str, dict[str, Any]]:
    """Jobs by name, of every kind."""
    jobs = {name: made(name, {}) for name in EXAMPLES}
    for base in EXAMPLES:
        for units in ("metric", "inch"):
            for feed in ("hand", "power", "cnc"):
                jobs[f"{base}, {units}, {feed}"] = made(
                    base, {"job.units": units, "machine.feed": feed, **FREE}
                )
    for ends in (0, 1, 2):
        jobs[f"sides, {ends} ends"] = made("t-track", {"slot.open_ends": ends, **SIDES, **FREE})
        jobs[f"climb, {ends} ends"] = made(
            "t-track", {"slot.open_ends": ends, **SIDES, "cut.direction": "climb"}
        )
        jobs[f"mill, {ends} ends"] = made("t-track", {"slot.open_ends": ends}, throat_mill=MILL)
    heights = {"cutter.head_height": "1.2 mm", "cutter.neck_length": "6.8 mm"}
    long = {
        "job.number": "N" * 60,
        "job.part": "a very long name of a part that nobody would read aloud " * 2,
    }
    return jobs | {
        "marginal": MARGINAL,
        "inch": INCH,
        "holes": made("t-track", {"cut.predrill": True}, predrill=HOLES),
        "heights": made("t-track", {**SIDES, **heights, "slot.open_ends": 1}),
        "many passes": made("t-track", {**SIDES, "cut.stepover": "0.03 mm"}),
        "trial": made("t-track", {}, trial=[CUT]),
        "snapped": made("thin-neck", {}, trial=[CUT | {"outcome": "snapped"}]),
        "mistyped": made("t-track", {"cutter.neck_diameter": "0.3 mm"}),
        "batch": made("t-track", {"job.quantity": 5000, "cut.feed_per_tooth": "0.05 mm/tooth"}),
        "steel": made("t-track", {"work.material": "steel-1045", **FREE}),
        "stainless": made("t-track", {"work.material": "stainless-304", "work.lubrication": "dry"}),
        "soft blank": made(
            "t-track", {"cutter.material": "drill-shank-soft", "cutter.hardness": None}
        ),
        "closed, short": made("t-track", {"slot.open_ends": 0, "slot.length": "10 mm"}),
        "no play": made("t-track", {"machine.backlash": "0 mm"}),
        "dull": made(
            "t-track", {"cutter.edge_radius": "0.1 mm", "cut.feed_per_tooth": "0.004 mm/tooth"}
        ),
        "mill breaks": made(
            "t-track", {}, throat_mill=MILL | {"diameter": "2 mm", "feed_per_tooth": "0.2 mm/tooth"}
        ),
        "long names": made("t-track", long),
        "bare": made(
            "t-track",
            {"cutter.neck_fillet": None, "cutter.runout": None, "machine.handwheel": None},
        ),
    }

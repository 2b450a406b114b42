"""New job files: commented, from questions or from an example; and the JSON Schema an editor completes by."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

from loadsim.errors import InputError, Problem

#: Every key of a job file with its comment, in the order a shop thinks: (key, comment, required).
_TABLES: dict[str, tuple[str, tuple[tuple[str, str], ...]]] = {
    "job": ("What the traveler is headed with.", (
        ("number", "job number, free text"), ("part", ""), ("drawing", ""), ("revision", ""), ("operation", ""),
        ("quantity", ""), ("author", ""), ("units", "metric or inch: which one the answer leads with"),
        ("trials", 'other job files whose [[trial]] tables count here too: ["file.toml"]'))),
    "work": ("What is cut. Names: loadsim materials", (
        ("material", "a name from the list, or the path of your own material file"),
        ("lubrication", "dry, brush, mist or flood"),
        ("kc11", "your own force constants, used instead of the material's; kc11 and mc belong together"),
        ("mc", ""), ("radial_ratio", "radial over tangential force"), ("rake_reference", "the rake kc11 was measured at"),
        ("spread", "standard deviation of ln(force)"))),
    "slot": ("The feature in section: a throat slot above, an undercut below.", (
        ("throat_width", ""), ("throat_depth", "how deep the throat slot was milled first; default: depth"),
        ("undercut_width", "over both sides; one-sided: from the plain throat wall to the undercut wall"),
        ("undercut_height", ""), ("depth", "surface to the undercut floor"), ("length", ""),
        ("sides", "2 = T-shaped, 1 = undercut on one side only"), ("open_ends", "0, 1 or 2"),
        ("width_tolerance", "plus and minus on undercut_width"))),
    "cutter": ("As ground. Measure what you can: the neck and its fillet matter most.", (
        ("material", "a blank from the list"), ("hardness", "HRC"), ("head_diameter", "over the teeth"), ("head_height", ""),
        ("corner_radius", "at the outer corners"), ("neck_diameter", ""), ("neck_length", "shank shoulder to the head's upper face"),
        ("neck_fillet", "radius at the neck's ends"), ("shank_diameter", ""), ("stickout", "collet face to the head's lower face"),
        ("teeth", ""), ("rake", "or face_offset: how far past centre the flute face was ground"), ("face_offset", ""),
        ("relief", ""), ("edge_radius", "5 to 20 um when shop-ground"), ("runout", "radial: half the indicator reading, at the head"))),
    "machine": ("", (
        ("max_spindle_speed", ""), ("min_spindle_speed", ""), ("spindle_power", ""), ("feed", "hand, power or cnc"),
        ("handwheel", "table travel for one turn"), ("backlash", "of the table screw"), ("stiffness", "radial, at the collet"))),
    "cut": ("The settings. What is left out is picked.", (
        ("spindle_speed", ""), ("feed_per_tooth", "or feed_rate"), ("feed_rate", ""), ("stepover", "how far a side pass steps outward"),
        ("predrill", "true: end holes are drilled first"), ("direction", "conventional or climb"))),
    "throat_mill": ("The end mill that cuts the throat slot: give it to have it checked, too.", (
        ("diameter", "of the mill; a smaller one than the throat takes side passes"), ("flute_length", "what fits into the slot"),
        ("teeth", "number of teeth"), ("helix", "0 is straight"), ("material", "a hardened blank from the list"),
        ("stickout", "collet face to the mill's tip"), ("corner_radius", "at the corners"), ("hardness", "HRC"),
        ("runout", "radial, at the teeth"), ("spindle_speed", "what is left out is picked, like the next two"),
        ("feed_per_tooth", "of the mill"), ("depth_per_pass", "axial depth of a pass"))),
    "target": ("", (("snap_probability", "accepted chance that the neck snaps"), ("wall_error", "accepted error of a wall's position"))),
    "predrill": ("End holes along the feed, as the shop means to drill them.", (
        ("diameter", "of the drill"), ("offsets", "hole axes from the centre line, as a list"), ("height", "hole axes above the floor"),
        ("heights", "instead of height: one for each hole, as a list"),
        ("depth", "from the open end"))),
    "grind": ("How the teeth are ground, seen on the end of the head. Left out, shares of the full round are assumed.", (
        ("gullet_depth", "from the head's round surface to the flute's floor"), ("gullet_angle", "between face and back of the gullet; default: square"),
        ("land", "width of the relief flat behind the edge"), ("secondary_relief", "of the flat behind the land"),
        ("secondary_land", "width of that flat, where the heel is taken off behind it"), ("heel_relief", "of the flat that takes the heel off"))),
}  # fmt: skip

#: Tables that a job may leave out whole: they are shown as comments.
_OPTIONAL = ("predrill", "grind", "throat_mill")
#: A scrap test cut as it is written down, for the end of the file.
_TRIAL = """# [[trial]]  # one scrap test cut, a table each; written here by: loadsim trial FILE --record KEY=VALUE ...
# spindle_speed = "2600 rpm"
# feed_per_tooth = "0.012 mm/tooth"  # or feed_rate
# length = "30 mm"  # cut along the slot
# outcome = "survived"  # or snapped
# spindle_power = "40 W"  # over idling; or force, torque, deflection, slot_width, wall_offset
# spindle_power_uncertainty = "10 W"  # 19 readings in 20 lie within plus and minus that
# chips = "bright curls"  # also finish, note
"""

#: Our own invented parts and dimensions, for demonstration only.
_EXAMPLES: dict[str, tuple[str, dict[str, dict[str, Any]]]] = {
    "t-track": ("A T-shaped track for the stops of a drilling fixture, in soft aluminum on a hand-fed mill.", {
        "job": {"number": "F-118", "part": "stop rail for drilling fixture", "drawing": "F-118-03", "revision": "B",
                "operation": "40", "quantity": 2, "author": "toolroom", "units": "metric"},
        "work": {"material": "al-6061-o", "lubrication": "brush"},
        "slot": {"throat_width": "6.2 mm", "undercut_width": "10.4 mm", "undercut_height": "2.6 mm", "depth": "7.4 mm",
                 "length": "118 mm", "sides": 2, "open_ends": 2, "width_tolerance": "0.10 mm"},
        "cutter": {"material": "hss-m2", "hardness": 63.0, "head_diameter": "10.4 mm", "head_height": "2.6 mm",
                   "neck_diameter": "5.2 mm", "neck_length": "5.4 mm", "neck_fillet": "0.4 mm", "shank_diameter": "10 mm",
                   "stickout": "16 mm", "teeth": 2, "rake": "10 deg", "relief": "8 deg", "runout": "0.010 mm"},
        "machine": {"max_spindle_speed": "2800 rpm", "min_spindle_speed": "80 rpm", "spindle_power": "1.1 kW", "feed": "hand",
                    "handwheel": "5 mm", "backlash": "0.12 mm"},
        "cut": {"spindle_speed": "2600 rpm", "feed_per_tooth": "0.016 mm/tooth", "direction": "conventional"},
        "target": {"snap_probability": 0.01}}),
    "thin-neck": ("A deep, narrow slot in prehard steel: the neck that passes the throat is plainly too thin.", {
        "job": {"number": "K-27", "part": "cam follower guide", "operation": "30", "units": "metric"},
        "work": {"material": "steel-4140-ph", "lubrication": "brush"},
        "slot": {"throat_width": "2.4 mm", "undercut_width": "6.8 mm", "undercut_height": "2.2 mm", "depth": "11.5 mm",
                 "length": "46 mm", "sides": 2, "open_ends": 1},
        "cutter": {"material": "hss-m2", "head_diameter": "6.8 mm", "head_height": "2.2 mm", "neck_diameter": "2.0 mm",
                   "neck_length": "9.6 mm", "shank_diameter": "8 mm", "stickout": "22 mm", "teeth": 2, "rake": "5 deg"},
        "machine": {"max_spindle_speed": "2800 rpm", "spindle_power": "1.1 kW", "feed": "hand", "handwheel": "5 mm"},
        "cut": {"feed_per_tooth": "0.012 mm/tooth", "direction": "conventional"},
        "target": {"snap_probability": 0.01}}),
    "one-sided": ("A one-sided undercut for a retaining plate, in stainless, inch units.", {
        "job": {"number": "R-9", "part": "retaining plate seat", "drawing": "R-9-1", "operation": "60", "units": "inch"},
        "work": {"material": "stainless-303", "lubrication": "flood"},
        "slot": {"throat_width": "0.550 in", "undercut_width": "0.610 in", "undercut_height": "3/32 in", "depth": "0.290 in",
                 "length": "1-3/8 in", "sides": 1, "open_ends": 1, "width_tolerance": "0.004 in"},
        "cutter": {"material": "hss-m42", "head_diameter": "0.500 in", "head_height": "3/32 in", "corner_radius": "0.010 in",
                   "neck_diameter": "0.260 in", "neck_length": "0.215 in", "neck_fillet": "0.020 in", "shank_diameter": "3/8 in",
                   "stickout": "0.800 in", "teeth": 3, "face_offset": "0.020 in", "edge_radius": "10 um", "runout": "0.0003 in"},
        "machine": {"max_spindle_speed": "3000 rpm", "spindle_power": "1.5 hp", "feed": "power", "backlash": "0.004 in"},
        "cut": {"spindle_speed": "230 rpm", "feed_per_tooth": "0.0004 in/tooth", "direction": "conventional"},
        "target": {"snap_probability": 0.01, "wall_error": "0.003 in"}}),
}  # fmt: skip


def examples() -> list[str]:
    """Return the names of the examples."""
    return list(_EXAMPLES)


def example(name: str) -> str:
    """Return the text of an example job file.

    Parameters
    ----------
    name : str
        One of `examples`.

    Returns
    -------
    text : str

    Raises
    ------
    InputError
        If there is no such example.
    """
    if name not in _EXAMPLES:
        message = f"is not an example; there are {', '.join(_EXAMPLES)}"
        raise InputError(f"--example {name[:60]}", [Problem(where="", message=message)])
    intro, values = _EXAMPLES[name]
    return _render(f"{intro}\nInvented for demonstration: our own part, our own dimensions.", values)


def _render(intro: str, values: dict[str, dict[str, Any]]) -> str:
    lines = [f"# {x}" for x in intro.splitlines()]
    lines += ["# Every quantity is written with its unit, e.g. \"2.4 mm\", \"3/32 in\", \"4200 rpm\". Check it: loadsim check FILE", ""]
    for table, (comment, keys) in _TABLES.items():
        off = "# " if table in _OPTIONAL and table not in values else ""
        lines += [f"{off}[{table}]" + (f"  # {comment}" if comment else "")]
        for key, note in keys:
            tail = f"  # {note}" if note else ""
            if key in values.get(table, {}):
                lines.append(f"{key} = {_toml(values[table][key])}{tail}")
            elif note and not note.startswith("or "):
                lines.append(f"# {key} = ...{tail}")
        lines.append("")
    return "\n".join([*lines, _TRIAL])


def _toml(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)  # a JSON string, number or bool is TOML too


def completed(values: dict[str, dict[str, Any]]) -> str:
    """Return the text of a job file from its tables and keys.

    Parameters
    ----------
    values : dict
        As in a job file, texts with their units.

    Returns
    -------
    text : str
    """
    return _render("Completed by: loadsim grind", values)


#: The questions of `loadsim new` on a terminal: table, key, question, default, default of an inch job where it is another. A key
#: comes after those that it has to fit with, so that each answer can be judged at once.
_QUESTIONS = (
    ("job", "number", "Job number", "1", ""),
    ("job", "units", "Units of the answer (metric or inch)", "metric", "metric"),
    ("work", "material", "Material to cut (a name from: loadsim materials)", "al-6061-t6", ""),
    ("work", "lubrication", "Lubrication (dry, brush, mist, flood)", "brush", ""),
    ("slot", "throat_width", "Throat slot: width", "6 mm", "1/4 in"),
    ("slot", "undercut_width", "Undercut: width over both sides (one-sided: plain wall to undercut wall)", "10 mm", "3/8 in"),
    ("slot", "depth", "Surface to undercut floor", "7 mm", "0.280 in"),
    ("slot", "undercut_height", "Undercut: height", "2.5 mm", "0.100 in"),
    ("slot", "length", "Slot length", "80 mm", "3 in"),
    ("slot", "sides", "Sides undercut (2 = T-shaped, 1 = one side)", "2", ""),
    ("slot", "open_ends", "Open ends (0, 1, 2)", "1", ""),
    ("cutter", "material", "Blank material", "hss-m2", ""),
    ("cutter", "head_diameter", "Head: diameter over the teeth", "10 mm", "3/8 in"),
    ("cutter", "head_height", "Head: height", "2.5 mm", "0.100 in"),
    ("cutter", "shank_diameter", "Shank: diameter", "10 mm", "3/8 in"),
    ("cutter", "neck_diameter", "Neck: diameter", "5 mm", "3/16 in"),
    ("cutter", "neck_length", "Neck: length, shank shoulder to head", "5.2 mm", "0.190 in"),
    ("cutter", "neck_fillet", "Neck: fillet radius at its ends", "0.2 mm", "0.010 in"),
    ("cutter", "stickout", "Collet face to the head's lower face", "16 mm", "5/8 in"),
    ("cutter", "teeth", "Teeth", "2", ""),
    ("cutter", "rake", "Rake", "8 deg", ""),
    ("machine", "max_spindle_speed", "Machine: fastest spindle speed", "2800 rpm", ""),
    ("machine", "spindle_power", "Machine: spindle power", "1.1 kW", "1.5 hp"),
    ("machine", "feed", "Machine: feed (hand, power, cnc)", "hand", ""),
)
_COUNTS = ("sides", "open_ends", "teeth")
#: A number or a fraction without a unit.
_BARE = re.compile(r"[0-9]+(?:[ -][0-9]+)?/[0-9]+|[0-9]*\.?[0-9]+")


def asked(ask: Callable[[str, str], str], tell: Callable[[str], object] | None = None) -> str:
    """Write a job file from answers; each is judged at once.

    Parameters
    ----------
    ask : callable
        Takes a question and a default, returns the answer.
    tell : callable, optional
        Takes what is wrong with an answer, which is then asked for again; when None such an answer is an error.

    Returns
    -------
    text : str

    Raises
    ------
    InputError
        If an answer cannot be used and there is no `tell`; each problem names its key.
    """
    from loadsim.job import job_from_dict

    values: dict[str, dict[str, Any]] = {}
    for question in _QUESTIONS:
        while True:
            tried = _answered(values, question, ask)
            problems = _wrong(tried, question[0], question[1])
            if not problems:
                values = tried
                break
            if tell is None:
                raise InputError("answers", problems)
            for p in problems:
                tell(p.message)
    job_from_dict(values, "answers")
    return _render("Written from questions.", values)


def _inch(values: dict[str, dict[str, Any]]) -> bool:
    return values.get("job", {}).get("units") == "inch"


def _is_length(table: str, key: str) -> bool:
    from loadsim.grid import quantities

    return quantities().get(f"{table}.{key}") == "length"


def _answered(values: dict[str, dict[str, Any]], question: tuple[str, ...], ask: Callable[[str, str], str]) -> dict[str, dict[str, Any]]:
    """Ask one question; in an inch job a bare number or fraction of a length is in inch, as its question says."""
    table, key, words, metric, inch = question
    bare = _inch(values) and _is_length(table, key)
    answer = ask(words + (" (inch when there is no unit)" if bare else ""), inch if inch and _inch(values) else metric)
    if bare and _BARE.fullmatch(answer.strip()):
        answer = f"{answer.strip()} in"
    given = int(answer) if key in _COUNTS and answer.isascii() and answer.isdigit() else answer
    return {**values, table: {**values.get(table, {}), key: given}}


def _wrong(values: dict[str, dict[str, Any]], table: str, key: str) -> list[Problem]:
    """List what is wrong with the answer given last, by itself or beside those before it; defaults stand in for what comes."""
    from loadsim import materials
    from loadsim.job import job_from_dict

    filled: dict[str, dict[str, Any]] = {}
    for t, k, _, metric, inch in _QUESTIONS:
        default = inch if inch and _inch(values) else metric
        filled.setdefault(t, {})[k] = values.get(t, {}).get(k, int(default) if k in _COUNTS else default)
    try:
        job_from_dict(filled, "answers")
        if key == "material":
            (materials.load_work if table == "work" else materials.load_blank)(values[table][key])
    except InputError as error:
        where = f"[{table}] {key}"
        return [Problem(where=where, message=p.message) for p in error.problems if p.where == where or (key == "material" and not p.where)]
    return []


def schema() -> dict[str, Any]:
    """Return the JSON Schema of the job file.

    Returns
    -------
    schema : dict
        Draft 2020-12.
    """
    from loadsim.domain import Job

    found: dict[str, Any] = _clean(Job.model_json_schema())
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "loadsim job file",
            **{k: v for k, v in found.items() if k != "title"}}  # fmt: skip


def _clean(node: Any) -> Any:
    """Drop what means something else for a text with a unit, and the null that TOML does not have."""
    if isinstance(node, list):
        return [_clean(x) for x in node]
    if not isinstance(node, dict):
        return node
    if "anyOf" in node:
        kept = [x for x in node["anyOf"] if x != {"type": "null"}]
        node = {**kept[0], **{k: v for k, v in node.items() if k not in ("anyOf",) and v is not None}} if len(kept) == 1 else node
    drop = {"ge", "le", "title"} | ({"default"} if node.get("default", 0) is None else set())
    return {k: (_clean(v) if k != "properties" else {p: _clean(q) for p, q in v.items()}) for k, v in node.items()
            if k not in drop or k == "properties"}  # fmt: skip

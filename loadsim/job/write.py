"""Job files written: commented, completed by a cutter, with one test cut more; and their schema."""

from __future__ import annotations

import difflib
import json
import re
from typing import Any

from loadsim.base import units
from loadsim.base.errors import InputError, Problem, echo
from loadsim.job.examples import EXAMPLES
from loadsim.job.read import job_from_dict, system_of, tables_in
from loadsim.job.shop import filled
from loadsim.job.tables import Job, Trial

#: Settings that a test cut takes from [cut] when they are not given.
FROM_CUT = ("spindle_speed", "feed_per_tooth", "feed_rate", "stepover", "predrill", "direction")

#: What it was cut in and with, written down so that a later change of the job does not change what
#: was seen.
FROM_JOB = {
    "material": ("work", "material"),
    "blank": ("cutter", "material"),
    "neck_diameter": ("cutter", "neck_diameter"),
    "neck_length": ("cutter", "neck_length"),
    "neck_fillet": ("cutter", "neck_fillet"),
}


def recorded(text: str, name: str, entries: tuple[str, ...]) -> str:
    """Return the text of a job file with one test cut more.

    Parameters
    ----------
    text : str
        The job file as it is, valid.
    name : str
        What to call the file in messages.
    entries : tuple of str
        Each "key=value", keys as in ``[[trial]]``; settings left out are written as ``[cut]`` gives
        them, and what was cut with what as ``[work]`` and ``[cutter]`` do.

    Returns
    -------
    text : str

    Raises
    ------
    InputError
        If an entry cannot be read, or the file would not be valid with it.
    """
    data, job = _read(text, name)
    cut = _complete(_given(entries), data, job)
    lines = [
        "[[trial]]",
        *(f"{key} = {_toml(cut[key])}" for key in Trial.model_fields if key in cut),
    ]
    end = "\r\n" if "\r\n" in text else "\n"
    longer = text.rstrip() + end * 2 + end.join(lines) + end
    _read(longer, name)  # refused whole when it does not fit
    return longer


def _read(text: str, name: str) -> tuple[dict[str, Any], Job]:
    """Return the tables of a job file, with what its shop file fills in, and the job."""
    data = tables_in(text, name)
    data, _ = filled(data, name, system_of(data))
    return data, job_from_dict(data, name)


def _complete(given: dict[str, Any], tables: dict[str, Any], job: Job) -> dict[str, Any]:
    """Return a test cut with what it takes from the rest of its file."""
    cut = dict(tables.get("cut", {}))
    if "surface_speed" in cut and job.cut.spindle_speed is not None:
        rpm = units.to_unit(job.cut.spindle_speed, "rpm", "angular speed")
        cut["spindle_speed"] = f"{rpm:.6g} rpm"
    silent = {"feed_per_tooth", "feed_rate"} if {"feed_per_tooth", "feed_rate"} & set(given) else ()
    settings = {key: cut[key] for key in FROM_CUT if key in cut and key not in silent}
    things = {
        key: tables[table][name] for key, (table, name) in FROM_JOB.items() if name in tables[table]
    }
    return settings | things | given


def _given(entries: tuple[str, ...]) -> dict[str, Any]:
    """Read the entries; raises InputError with all that is wrong in them."""
    given: dict[str, Any] = {}
    problems = []
    for entry in entries:
        key, equals, value = (part.strip() for part in entry.partition("="))
        fault = _entry_fault(key, equals, given)
        if fault:
            problems.append(Problem(where=echo(key), message=fault))
        elif key == "predrill":
            given[key] = {"true": True, "false": False}.get(value, value)
        elif key == "slots" and re.fullmatch(r"[0-9]{1,9}", value):
            given[key] = int(value)
        else:
            given[key] = value
    if problems:
        raise InputError("--record", problems)
    return given


def _entry_fault(key: str, equals: str, given: dict[str, Any]) -> str:
    """Say what is wrong with one entry; empty when nothing is."""
    keys = list(Trial.model_fields)
    if not equals:
        return 'has no "="; write KEY=VALUE, e.g. outcome=survived "length=30 mm"'
    if key not in keys:
        near = difflib.get_close_matches(key[:100], keys, 1)
        hint = f"did you mean {near[0]}?" if near else f"known are {', '.join(keys)}"
        return f"is not a key of [[trial]]; {hint}"
    return "is given twice; give it once" if key in given else ""


#: The comment of ``neck_fillet`` where ``head_fillet`` stands beside it.
SHANK_FILLET = "radius where the neck meets the shank"

#: Every key of a job file with its comment, in the order a shop thinks: (key, comment, required).
_TABLES: dict[str, tuple[str, tuple[tuple[str, str], ...]]] = {
    "job": (
        "What the traveler is headed with.",
        (
            ("number", "job number, free text"),
            ("part", ""),
            ("drawing", ""),
            ("revision", ""),
            ("operation", ""),
            ("quantity", "how many parts"),
            ("slots_per_part", "all cut with this one cutter; default: 1"),
            ("author", ""),
            ("units", "metric or inch: which one the answer leads with"),
            ("trials", 'other job files whose [[trial]] tables count here too: ["file.toml"]'),
        ),
    ),
    "work": (
        "What is cut. Names: loadsim materials",
        (
            ("material", "a name from the list, or the path of your own material file"),
            ("lubrication", "dry, brush, mist or flood"),
            (
                "kc11",
                "your own force constants, used instead of the material's; kc11 and mc belong"
                " together",
            ),
            ("mc", ""),
            ("radial_ratio", "radial over tangential force"),
            ("rake_reference", "the rake kc11 was measured at"),
            ("spread", "standard deviation of ln(force)"),
        ),
    ),
    "slot": (
        "The feature in section: a throat slot above, an undercut below.",
        (
            ("throat_width", ""),
            ("throat_depth", "how deep the throat slot was milled first; default: depth"),
            (
                "undercut_width",
                "over both sides; one-sided: from the plain throat wall to the undercut wall",
            ),
            ("undercut_height", ""),
            ("depth", "surface to the undercut floor"),
            ("length", ""),
            ("sides", "2 = T-shaped, 1 = undercut on one side only"),
            ("open_ends", "0, 1 or 2"),
            ("width_tolerance", "plus and minus on undercut_width"),
        ),
    ),
    "cutter": (
        "As ground. Measure what you can: the neck and its fillet matter most.",
        (
            ("material", "a blank from the list"),
            ("hardness", "HRC"),
            ("head_diameter", "over the teeth"),
            ("head_height", ""),
            ("corner_radius", "at the outer corners"),
            ("neck_diameter", ""),
            ("neck_length", "shank shoulder to the head's upper face"),
            ("neck_fillet", "radius at the neck's ends"),
            ("head_fillet", "radius where the neck meets the head, when it is another one"),
            ("shank_diameter", ""),
            ("stickout", "collet face to the head's lower face"),
            ("teeth", ""),
            ("rake", "or face_offset: how far past centre the flute face was ground"),
            ("face_offset", ""),
            ("relief", ""),
            ("edge_skew", "how far the edges lean against the axis"),
            ("edge_radius", "5 to 20 um when shop-ground"),
            ("wear", "land worn on the flank, when it was measured"),
            ("runout", "radial: half the indicator reading, at the head"),
        ),
    ),
    "machine": (
        "",
        (
            ("max_spindle_speed", ""),
            ("min_spindle_speed", ""),
            ("spindle_power", ""),
            ("feed", "hand, power or cnc"),
            ("handwheel", "table travel for one turn"),
            ("backlash", "of the table screw"),
            ("stiffness", "radial, at the collet"),
            ("wheel_force", "at the handwheel's rim, moves the table while nothing cuts"),
            ("holder", "collet or side-lock (a screw on a flat of the shank)"),
        ),
    ),
    "cut": (
        "The settings. What is left out is picked.",
        (
            ("spindle_speed", "or surface_speed"),
            ("surface_speed", "or spindle_speed, which it is read as"),
            ("feed_per_tooth", "or feed_rate"),
            ("feed_rate", ""),
            ("stepover", "how far a side pass steps outward"),
            ("predrill", "true: end holes are drilled first"),
            ("direction", "conventional or climb"),
        ),
    ),
    "throat_mill": (
        "The end mill that cuts the throat slot: give it to have it checked, too.",
        (
            ("diameter", "of the mill; a smaller one than the throat takes side passes"),
            ("flute_length", "what fits into the slot"),
            ("teeth", "number of teeth"),
            ("helix", "0 is straight"),
            ("material", "a hardened blank from the list"),
            ("stickout", "collet face to the mill's tip"),
            ("shank_diameter", "default: the mill's own, but not under 3 mm"),
            ("corner_radius", "at the corners"),
            ("hardness", "HRC"),
            ("runout", "radial, at the teeth"),
            ("spindle_speed", "what is left out is picked, like the next two"),
            ("feed_per_tooth", "of the mill"),
            ("depth_per_pass", "axial depth of a pass"),
        ),
    ),
    "target": (
        "",
        (
            ("snap_probability", "accepted chance that the neck snaps"),
            ("wall_error", "accepted error of a wall's position"),
        ),
    ),
    "predrill": (
        "End holes along the feed, or from the top, as the shop means to drill them.",
        (
            ("diameter", "of the drill"),
            ("offsets", "hole axes from the centre line, as a list"),
            ("height", "hole axes above the floor"),
            ("heights", "instead of height: one for each hole, as a list"),
            ("along", "instead of height: drilled from the top, axes from the closed end"),
            ("depth", "from the open end, or from the top"),
        ),
    ),
    "grind": (
        "How the teeth are ground, seen on the end of the head. Left out, shares of the full round"
        " are assumed.",
        (
            ("gullet_depth", "from the head's round surface to the flute's floor"),
            ("gullet_angle", "between face and back of the gullet; default: square"),
            ("land", "width of the relief flat behind the edge"),
            ("secondary_relief", "of the flat behind the land"),
            ("secondary_land", "width of that flat, where the heel is taken off behind it"),
            ("heel_relief", "of the flat that takes the heel off"),
        ),
    ),
}

#: Tables that a job may leave out whole: they are shown as comments.
_OPTIONAL = ("predrill", "grind", "throat_mill")

#: A scrap test cut as it is written down, for the end of the file.
_TRIAL = """\
# [[trial]]  # one scrap test cut, a table each; written here by: \
loadsim trial FILE --record KEY=VALUE ...
# spindle_speed = "2600 rpm"
# feed_per_tooth = "0.012 mm/tooth"  # or feed_rate
# length = "30 mm"  # cut along the slot
# outcome = "survived"  # or snapped
# slots = 1  # so many of this length, one after the other; it snapped in the last
# spindle_power = "40 W"  # over idling; or force, torque, deflection, slot_width, wall_offset
# spindle_power_uncertainty = "10 W"  # 19 readings in 20 lie within plus and minus that
# chips = "bright curls"  # also finish, note
"""


def examples() -> list[str]:
    """Return the names of the examples."""
    return list(EXAMPLES)


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
    if name not in EXAMPLES:
        message = f"is not an example; there are {', '.join(EXAMPLES)}"
        raise InputError(f"--example {name[:60]}", [Problem(where="", message=message)])
    intro, values = EXAMPLES[name]
    return render(f"{intro}\nInvented for demonstration: our own part, our own dimensions.", values)


def render(intro: str, values: dict[str, dict[str, Any]]) -> str:
    """Return the text of a commented job file.

    Parameters
    ----------
    intro : str
        Lines for its head.
    values : dict
        Table to key to value; keys without a value are shown as comments where that helps.

    Returns
    -------
    text : str
    """
    lines = [f"# {line}" for line in intro.splitlines()]
    lines += [
        (
            '# Every quantity is written with its unit, e.g. "2.4 mm", "3/32 in", "4200 rpm". Check'
            " it: loadsim check FILE"
        ),
        "",
    ]
    for table, (comment, keys) in _TABLES.items():
        given = values.get(table, {})
        off = "# " if table in _OPTIONAL and table not in values else ""
        lines += [f"{off}[{table}]" + (f"  # {comment}" if comment else "")]
        for key, note in keys:
            said = SHANK_FILLET if key == "neck_fillet" and "head_fillet" in given else note
            tail = f"  # {said}" if said else ""
            if key in given:
                lines.append(f"{key} = {_toml(given[key])}{tail}")
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
    return render("Completed by: loadsim grind", values)


def whole(values: dict[str, Any], intro: str = "With what the shop file gave.") -> str:
    """Return the text of a job file with its test cuts.

    Parameters
    ----------
    values : dict
        As in a job file, texts with their units.
    intro : str
        Lines for its head.

    Returns
    -------
    text : str
    """
    lines = [render(intro, values)]
    for cut in values.get("trial", []):
        lines += ["[[trial]]", *(f"{key} = {_toml(value)}" for key, value in cut.items()), ""]
    return "\n".join(lines)


def schema() -> dict[str, Any]:
    """Return the JSON Schema of the job file.

    Returns
    -------
    schema : dict
        Draft 2020-12.
    """
    body: dict[str, Any] = _clean(Job.model_json_schema())
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "loadsim job file",
        **{k: v for k, v in body.items() if k != "title"},
    }


def _clean(node: Any) -> Any:
    """Drop what means something else for a text with a unit, and the null that TOML lacks;
    descriptions are one line each.
    """
    if isinstance(node, list):
        return [_clean(x) for x in node]
    if isinstance(node, str):
        return node.replace("\n", " ")
    if not isinstance(node, dict):
        return node
    if "anyOf" in node:
        kept = [x for x in node["anyOf"] if x != {"type": "null"}]
        node = (
            {**kept[0], **{k: v for k, v in node.items() if k not in ("anyOf",) and v is not None}}
            if len(kept) == 1
            else node
        )
    drop = {"ge", "le", "title"} | ({"default"} if node.get("default", 0) is None else set())
    return {
        k: _clean(v) if k != "properties" else {p: _clean(q) for p, q in v.items()}
        for k, v in node.items()
        if k not in drop or k == "properties"
    }

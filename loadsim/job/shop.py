"""The shop file: what a shop gives once for all its jobs, and what it fills into one of them."""

from __future__ import annotations

import difflib
import json
import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from loadsim.base import units
from loadsim.base.errors import InputError, Problem, echo, printable
from loadsim.base.files import parse_toml, read_bytes
from loadsim.job.fields import FromShop
from loadsim.job.material_paths import is_closed
from loadsim.job.messages import explain
from loadsim.job.tables import Job, Machine
from loadsim.job.toml_slips import not_toml
from loadsim.materials.folder import is_path

#: Name of the file.
NAME = "shop.toml"

#: Environment variable that names the folder of the user's shop file; empty: there is none.
VARIABLE = "LOADSIM_SHOP"

#: What it may give.
KEYS: dict[str, tuple[str, ...]] = {
    "job": ("trials",),
    "cutter": ("material", "shank_diameter", "runout"),
    "machine": tuple(Machine.model_fields),
}

#: A shop file is less than a page. [bytes]
MAX_BYTES = 64_000

#: A machine that is whole by these keys is another one than the shop's.
WHOLE_MACHINE = ("max_spindle_speed", "spindle_power", "feed")

#: Only of use at a handwheel.
OF_HAND = ("handwheel", "wheel_force")

Tables = dict[str, dict[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """A shop file that was read."""

    file: Path
    tables: Tables


def user_folder() -> Path | None:
    """Return the folder of the user's shop file; None when there shall be none.

    Returns
    -------
    folder : Path or None
    """
    named = os.environ.get(VARIABLE)
    if named is not None:
        return Path(named) if named else None
    from click import get_app_dir

    return Path(get_app_dir("loadsim"))


def find(beside: Path, job: Path | None = None) -> Path | None:
    """Find the shop file of a job: the one beside it, else the user's. A job file of that name is
    none: it may hold the test cuts of the shop.

    Parameters
    ----------
    beside : Path
        Folder of the job file.
    job : Path, optional
        The job file itself.

    Returns
    -------
    file : Path or None
    """
    user = user_folder()
    places = [beside / NAME, *([] if user is None else [user / NAME])]
    there = (file for file in places if os.path.lexists(file))
    itself = (file for file in there if job is None or not _same(file, job))
    return next((file for file in itself if not _is_job(file)), None)


def _is_job(file: Path) -> bool:
    """Whether a file by that name is a job file; what cannot be read is refused as a shop file."""
    with suppress(OSError, ValueError, RecursionError):
        return "slot" in parse_toml(read_bytes(file, MAX_BYTES).decode("utf-8-sig"))
    return False


def read_shop(file: Path, system: units.System = "metric") -> Shop:
    """Read a shop file.

    Parameters
    ----------
    file : Path
        Where it is.
    system : {"metric", "inch"}
        Whose units examples in messages have.

    Returns
    -------
    shop : Shop

    Raises
    ------
    InputError
        With every problem of it.
    """
    try:
        text = read_bytes(file, MAX_BYTES).decode("utf-8-sig")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        message = f"the shop file cannot be read: {reason}"
        raise InputError(str(file), [Problem(where="", message=message)]) from None
    try:
        tables = parse_toml(text)
    except (ValueError, RecursionError) as error:
        raise InputError(str(file), [not_toml(error, text)]) from None
    problems = [*_unknown(tables), *_wrong(tables, system)]
    if problems:
        raise InputError(str(file), problems)
    return Shop(file=file, tables=tables)


def _unknown(tables: dict[str, Any]) -> list[Problem]:
    """List what no shop file gives."""
    problems = []
    for table, keys in tables.items():
        if table not in KEYS or not isinstance(keys, dict):
            allowed = ", ".join(f"[{name}]" for name in KEYS)
            message = f"is no table of a shop file; it may have {allowed}"
            problems.append(Problem(where=f"[{echo(table)}]", message=message))
            continue
        for key in keys:
            if key not in KEYS[table]:
                near = difflib.get_close_matches(key[:100], KEYS[table], 1)
                hint = f"did you mean {near[0]}?" if near else f"it may be {', '.join(KEYS[table])}"
                message = f"is no key of a shop file; {hint}"
                problems.append(Problem(where=f"[{table}] {echo(key)}", message=message))
    return problems


#: Stands for the rest of a job while a shop file is read.
_REST: Tables = {
    "job": {"number": "1"},
    "work": {"material": "al-6061-t6", "lubrication": "brush"},
    "slot": {
        "throat_width": "6 mm",
        "undercut_width": "10 mm",
        "undercut_height": "2 mm",
        "depth": "7 mm",
        "length": "80 mm",
        "sides": 2,
        "open_ends": 1,
    },
    "cutter": {
        "material": "hss-m2",
        "head_diameter": "10 mm",
        "head_height": "2 mm",
        "neck_diameter": "5 mm",
        "neck_length": "6 mm",
        "shank_diameter": "10 mm",
        "stickout": "20 mm",
        "teeth": 2,
        "rake": "0 deg",
    },
    "machine": {"max_spindle_speed": "2800 rpm", "spindle_power": "1 kW", "feed": "hand"},
}


def _wrong(tables: dict[str, Any], system: units.System) -> list[Problem]:
    """List what is wrong with single values."""
    whole = {
        table: keys | {k: v for k, v in tables.get(table, {}).items() if k in KEYS.get(table, ())}
        for table, keys in _REST.items()
        if isinstance(tables.get(table, {}), dict)
    }
    try:
        Job.model_validate({**_REST, **whole}, context={"system": system})
    except ValidationError as error:
        return [explain(e, Job, system, whole) for e in error.errors(include_url=False)]
    return []


def filled(
    data: dict[str, Any], path: str | Path, system: units.System
) -> tuple[dict[str, Any], FromShop | None]:
    """Fill what a job file leaves out from the shop file that goes with it; nothing is changed that
    it says.

    Parameters
    ----------
    data : dict
        Tables and keys of the job file.
    path : str or Path
        The job file; "-" for standard input.
    system : {"metric", "inch"}
        Whose units examples in messages have.

    Returns
    -------
    data : dict
        With what was filled in; paths lead from the job file's folder.
    source : FromShop or None
        What came from where; None when nothing did.

    Raises
    ------
    InputError
        If the shop file is bad.
    """
    job = Path(path)
    beside = job.parent
    file = None if is_closed(beside) else find(beside, job)
    if file is None:
        return data, None
    shop = read_shop(file, system)
    given = {table: data.get(table, {}) for table in KEYS}
    whole = dict(data)
    keys: list[str] = []
    for table, values in shop.tables.items():
        if not isinstance(given[table], dict) or _another_machine(table, given[table]):
            continue  # what is no table is refused with the other problems of the file
        more = {k: _seen_from(table, k, v, shop, job) for k, v in values.items()}
        more = {k: v for k, v in more.items() if k not in given[table] and v != []}
        if {**more, **given[table]}.get("feed", "hand") != "hand":
            more = {k: v for k, v in more.items() if k not in OF_HAND}
        if more:
            whole[table] = {**given[table], **more}
            keys += [f"{table}.{key}" for key in more]
    return whole, FromShop(file=shown(file), keys=tuple(keys)) if keys else None


def _another_machine(table: str, given: Mapping[str, Any]) -> bool:
    return table == "machine" and all(key in given for key in WHOLE_MACHINE)


def _seen_from(table: str, key: str, value: Any, shop: Shop, job: Path) -> Any:
    """Return a value whose paths lead from the job file; the job itself is none of its own
    trials.
    """
    if key == "trials":
        names = [value] if isinstance(value, str) else value
        files = [_moved(name, shop, job) for name in names]
        return [name for name in files if not _same(job.parent / name, job)]
    named = (table, key) == ("cutter", "material") and is_path(value)
    return _moved(value, shop, job) if named else value


def _moved(name: str, shop: Shop, job: Path) -> str:
    if shop.file.parent == job.parent:
        return name
    return os.path.abspath(shop.file.parent / name)  # noqa: PTH100 (a link stays one)


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except (OSError, ValueError):
        return False


def shown(file: Path) -> str:
    """Return the name of a shop file as an answer tells it: the user's home is his own affair.

    Parameters
    ----------
    file : Path
        Where it is.

    Returns
    -------
    name : str
    """
    try:
        home = Path("~") / file.absolute().relative_to(Path.home())
    except (ValueError, RuntimeError):
        home = file
    return printable(str(home if file.is_absolute() else file), 200)


def told(source: FromShop) -> str:
    """Say which values came from the shop file.

    Parameters
    ----------
    source : FromShop
        From `filled`.

    Returns
    -------
    text : str

    Examples
    --------
    >>> told(FromShop(file="shop.toml", keys=("machine.feed", "machine.backlash", "cutter.runout")))
    '[machine] feed, backlash; [cutter] runout'
    """
    tables: dict[str, list[str]] = {}
    for key in source.keys:
        table, _, name = key.partition(".")
        tables.setdefault(table, []).append(name)
    return "; ".join(f"[{table}] {', '.join(names)}" for table, names in tables.items())


def saved(data: dict[str, Any], job: Path, folder: Path) -> str:
    """Return the text of a shop file with what a job says of its shop.

    Parameters
    ----------
    data : dict
        Tables and keys of the job file, valid.
    job : Path
        The job file.
    folder : Path
        Where the shop file goes.

    Returns
    -------
    text : str
    """
    trials = data.get("job", {}).get("trials", [])
    names = [trials] if isinstance(trials, str) else list(trials)
    files = [job.parent / name for name in names] + ([job] if data.get("trial") else [])
    tables: Tables = {
        table: {key: data[table][key] for key in keys if key in data.get(table, {})}
        for table, keys in KEYS.items()
    }
    tables["job"] = {"trials": [_placed(x, folder) for x in files]} if files else {}
    if is_path(tables["cutter"].get("material", "")):
        tables["cutter"]["material"] = _placed(job.parent / tables["cutter"]["material"], folder)
    lines = ["# What this shop has: it is filled in where a job file is silent, and said there."]
    for table, keys in tables.items():
        if keys:
            lines += ["", f"[{table}]"]
            lines += [f"{key} = {json.dumps(v, ensure_ascii=False)}" for key, v in keys.items()]
    return "\n".join(lines) + "\n"


def _placed(file: Path, folder: Path) -> str:
    """Name a file from the folder of the shop file: whole, unless it stands beside it."""
    if file.absolute().parent == folder.absolute():
        return f"./{file.name}"
    return os.path.abspath(file)  # noqa: PTH100

"""Reading a job file: from text to tables that are valid, every problem of it named at once."""

from __future__ import annotations

import sys
from contextlib import suppress
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from loadsim.base import units
from loadsim.base.errors import InputError, Problem
from loadsim.base.files import parse_toml
from loadsim.job.fields import FromShop
from loadsim.job.material_paths import as_listed, located, remember
from loadsim.job.messages import explain
from loadsim.job.rules_cut import spindle_speed_of
from loadsim.job.rules_cutter import cutter_relations, relations, slot_relations
from loadsim.job.shop import filled
from loadsim.job.tables import Cutter, Job, Slot
from loadsim.job.toml_slips import not_toml

#: A job file is a page of text; anything far larger is not one. [bytes]
MAX_BYTES = 256_000


def read_job(path: str | Path) -> Job:
    """Read and validate a job file.

    Parameters
    ----------
    path : str or Path
        A TOML file; "-" reads standard input.

    Returns
    -------
    job : Job
        Every quantity in internal units.

    Raises
    ------
    InputError
        With every problem found, each as "[table] key: what is wrong, and what would be right".
    """
    return job_beside(read_text(path), path)


def job_beside(text: str, path: str | Path) -> Job:
    """Validate the text of a job file as it stands, or would stand, in its folder.

    Parameters
    ----------
    text : str
        TOML.
    path : str or Path
        Of the job file: its shop file, materials and test cuts are sought from there.

    Returns
    -------
    job : Job

    Raises
    ------
    InputError
        With every problem found.
    """
    data = tables_in(text, str(path))
    data, shop = filled(data, path, system_of(data))
    job = job_from_dict(data, str(path), shop=shop)
    beside = Path() if str(path) == "-" else Path(path).parent
    job = located(job, beside)
    if not job.job.trials:
        return job
    there = tuple(str(beside / x) for x in job.job.trials)
    for path, name in zip(there, job.job.trials, strict=True):
        remember(path, name)
    return job.model_copy(update={"job": job.job.model_copy(update={"trials": there})})


def read_text(path: str | Path) -> str:
    """Return the text of a file, or of standard input for "-".

    Parameters
    ----------
    path : str or Path
        Which file.

    Returns
    -------
    text : str

    Raises
    ------
    InputError
        If it cannot be read, is too large, or is not UTF-8.
    """
    name = str(path)
    try:
        if name == "-":
            if sys.stdin is None:
                raise OSError("standard input is closed")
            data = sys.stdin.buffer.read(MAX_BYTES + 1)
        else:
            with Path(path).open("rb") as file:
                data = file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        raise InputError(name, [Problem(where="", message=_cannot_read(error))]) from None
    if len(data) > MAX_BYTES:
        raise InputError(
            name, [Problem(where="", message="is over 256 kB; a job file is a page of text")]
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        message = f"is not UTF-8 text (line {line}); save it as UTF-8"
        raise InputError(name, [Problem(where="", message=message)]) from None


def _cannot_read(error: Exception) -> str:
    if isinstance(error, FileNotFoundError):
        return "does not exist; give the path of a job file, or write one with: loadsim new FILE"
    if isinstance(error, IsADirectoryError):
        return "is a directory; give the path of a job file"
    if isinstance(error, PermissionError):
        return "cannot be read: permission denied; make it readable"
    return f"cannot be read: {getattr(error, 'strerror', None) or error}"


def with_shop(path: str | Path) -> tuple[dict[str, Any], FromShop | None]:
    """Read the tables of a job file, with what its shop file fills in.

    Parameters
    ----------
    path : str or Path
        The job file; "-" reads standard input.

    Returns
    -------
    data : dict
        Tables and keys.
    shop : FromShop or None
        What came from the shop file.

    Raises
    ------
    InputError
        If one of the two is not TOML, or the shop file is bad.
    """
    data = tables_in(read_text(path), str(path))
    return filled(data, path, system_of(data))


def tables_in(text: str, name: str) -> dict[str, Any]:
    """Return the tables and keys of a text.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        What to call the file in messages.

    Returns
    -------
    data : dict

    Raises
    ------
    InputError
        If it is not TOML.
    """
    try:
        return parse_toml(text)
    except (ValueError, RecursionError) as error:
        raise InputError(name, [not_toml(error, text)]) from None


def job_from_text(text: str, name: str) -> Job:
    """Validate the text of a job file.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        What to call the file in messages.

    Returns
    -------
    job : Job

    Raises
    ------
    InputError
        With every problem found.
    """
    return job_from_dict(tables_in(text, name), name)


def job_from_dict(
    data: dict[str, Any], name: str, *, inside: bool = False, shop: FromShop | None = None
) -> Job:
    """Validate a job given as nested tables.

    Parameters
    ----------
    data : dict
        Tables and keys as in the job file.
    name : str
        What to call the file in messages.
    inside : bool
        Whether bare floats are accepted, in internal units.
    shop : FromShop, optional
        What of it came from a shop file.

    Returns
    -------
    job : Job

    Raises
    ------
    InputError
        With every problem found.
    """
    system = system_of(data)
    try:
        job = Job.model_validate(data, context={"inside": inside, "system": system})
    except ValidationError as error:
        problems = [explain(e, Job, system, data) for e in error.errors(include_url=False)]
        problems += _grind_hint(data)
        # the keys that are right may still not fit together: say that too, in the same list
        raise InputError(name, _unique(problems + _partial(data, inside))) from None
    problems = relations(job)
    if problems:
        raise InputError(name, problems)
    job = as_listed(_with_spindle_speed(job))
    return job if inside else job.with_given(deepcopy(data), shop)


def _with_spindle_speed(job: Job) -> Job:
    """Return a job whose surface speed, if it gives one, is the spindle speed that makes it."""
    if job.cut.surface_speed is None:
        return job
    speed = spindle_speed_of(job.cut, job.cutter)
    cut = job.cut.model_copy(update={"spindle_speed": speed, "surface_speed": None})
    return job.model_copy(update={"cut": cut})


def changed(job: Job, changes: dict[str, Any]) -> Job:
    """Return a job with some values replaced, validated anew.

    Parameters
    ----------
    job : Job
        The job as it is.
    changes : dict
        "table.key" to the new value, quantities as floats in internal units; None removes a key.

    Returns
    -------
    job : Job

    Raises
    ------
    InputError
        If the result is not a valid job.
    """
    data = job.model_dump(exclude_none=True)
    for path, value in changes.items():
        table, key = path.split(".")
        if value is None:
            data.get(table, {}).pop(key, None)
        else:
            data.setdefault(table, {})[key] = value
    return job_from_dict(data, "job", inside=True).with_given(job.given, job.shop)


def system_of(data: dict[str, Any]) -> units.System:
    """Return the system of units that a job asks its answer in, before it is known to be right."""
    table = data.get("job")
    return "inch" if isinstance(table, dict) and table.get("units") == "inch" else "metric"


def _unique(problems: list[Problem]) -> list[Problem]:
    return list(dict.fromkeys(problems))


def _grind_hint(data: dict[str, Any]) -> list[Problem]:
    """Say who proposes a cutter that is left open; a single key was rather forgotten."""
    cutter = data.get("cutter")
    if not isinstance(cutter, dict) or len(STAND_IN["cutter"].keys() - cutter.keys()) < 2:
        return []
    message = "what is left open here is proposed by: loadsim grind JOB -o FILE"
    return [Problem(where="[cutter]", message=message)]


def _partial(data: dict[str, Any], inside: bool) -> list[Problem]:
    """Check the relations within the tables that are valid on their own, while others are not."""
    system = system_of(data)
    context = {"inside": inside, "system": system}
    problems: list[Problem] = []
    with suppress(ValidationError):
        problems += cutter_relations(
            Cutter.model_validate(data.get("cutter"), context=context), system
        )
    with suppress(ValidationError):
        problems += slot_relations(Slot.model_validate(data.get("slot"), context=context), system)
    return problems


#: Keys that may be left out of a draft, and what stands in for them while the rest is read.
STAND_IN: dict[str, dict[str, Any]] = {
    "cutter": {
        "head_diameter": "10 mm",
        "head_height": "2 mm",
        "neck_diameter": "1 mm",
        "neck_length": "10 mm",
        "shank_diameter": "10 mm",
        "stickout": "30 mm",
        "teeth": 2,
    },
    "grind": {"gullet_depth": "1 mm", "land": "0.1 mm"},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A job whose cutter is not settled yet."""

    name: str  #: what to call the file in messages
    data: dict[str, Any]  #: tables and keys as written
    shop: FromShop | None  #: what of it came from a shop file
    job: Job  #: with stand-ins for what is left out: only ask it for keys that are given

    def given(self, path: str) -> bool:
        """Whether the file gives "table.key"."""
        table, key = path.split(".")
        return key in self.data.get(table, {})

    def value(self, path: str) -> Any:
        """Return the value of "table.key" in internal units; None when it is left out."""
        table, key = path.split(".")
        return getattr(getattr(self.job, table), key) if self.given(path) else None


def read_draft(source: str | Path | dict[str, Any]) -> Draft:
    """Read a job that may leave out everything of the cutter but its material.

    Parameters
    ----------
    source : str, Path or dict
        A TOML file, "-" for standard input, or tables and keys as in the file.

    Returns
    -------
    draft : Draft

    Raises
    ------
    InputError
        With every problem found.
    """
    name, (data, shop) = (
        ("job", (source, None)) if isinstance(source, dict) else (str(source), with_shop(source))
    )
    filled = dict(data)
    for table, keys in STAND_IN.items():
        if table in data and isinstance(data[table], dict):
            filled[table] = {**keys, **data[table]}
    try:
        job = as_listed(Job.model_validate(filled, context={"system": system_of(data)}))
    except ValidationError as error:
        raise InputError(
            name, [explain(e, Job, system_of(data), data) for e in error.errors(include_url=False)]
        ) from None
    problems = slot_relations(job.slot, job.job.units)
    if problems:
        raise InputError(name, problems)
    if not isinstance(source, dict) and str(source) != "-":
        job = located(job, Path(source).parent)
        for table in ("work", "cutter", "throat_mill"):
            if table in data:
                data = {**data, table: {**data[table], "material": getattr(job, table).material}}
    return Draft(name=name, data=data, job=job, shop=shop)

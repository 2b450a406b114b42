"""Paths of a shop's own material files: they lead from the folder of the job file."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any, TypeVar

from loadsim.base.errors import FILE, InputError, Problem, printable
from loadsim.job.tables import Job, Thing
from loadsim.materials.folder import is_path, listed
from loadsim.materials.schema import Kind

T = TypeVar("T", bound=Thing)

#: What a material is loaded by, to the name that the job file or the report gave it.
_FIRST_NAMES: dict[str, str] = {}

#: Folders of job files that came out of a report, each with the only files that it may lead to.
_CLOSED: dict[Path, dict[str, str]] = {}


def first_name(material: str) -> str:
    """Return the name that a job file gave a material.

    Parameters
    ----------
    material : str
        A name, a path, or the path of a copy that was made of a report's.

    Returns
    -------
    name : str
    """
    return _FIRST_NAMES.get(material, material)


def remember(path: str, name: str) -> None:
    """Keep the name that a file was given first, for `first_name`."""
    _FIRST_NAMES.setdefault(path, name)


def close(folder: Path, copies: dict[str, str]) -> None:
    """Let the paths of materials that lead from a folder lead to copies, and to nothing else.

    Parameters
    ----------
    folder : Path
        Of a job file that a report carries.
    copies : dict
        Name that the job file gives a material, to the file to open.
    """
    _CLOSED[folder] = copies


def is_closed(folder: Path) -> bool:
    """Whether a folder holds what came out of a report, and nothing beside it counts."""
    return folder in _CLOSED


def paths_of(job: Job) -> list[str]:
    """List what a job names its materials by where that is a path, in the order of its tables.

    Parameters
    ----------
    job : Job
        As read.

    Returns
    -------
    paths : list of str
        [work], [cutter], [throat_mill], then each [[trial]].
    """
    mill = [] if job.throat_mill is None else [job.throat_mill.material]
    trials = [name for trial in job.trial for name in (trial.material, trial.blank)]
    every = [job.work.material, job.cutter.material, *mill, *trials]
    return [name for name in every if name is not None and is_path(name)]


#: Tables with a material, each key with its kind.
_MATERIALS: dict[str, dict[str, Kind]] = {
    "work": {"material": "work"},
    "cutter": {"material": "blank"},
    "throat_mill": {"material": "blank"},
    "trial": {"material": "work", "blank": "blank"},
}


def as_listed(job: Job) -> Job:
    """Return a job with its materials named as they are listed, however they were typed.

    Parameters
    ----------
    job : Job
        As its file says.

    Returns
    -------
    job : Job
    """

    def renamed(table: Thing, kinds: dict[str, Kind]) -> Thing:
        given = {key: getattr(table, key) for key in kinds}
        names = {k: listed(name, kinds[k]) for k, name in given.items() if name is not None}
        same = all(given[k] == name for k, name in names.items())
        return table if same else table.model_copy(update=names)

    tables: dict[str, Thing | tuple[Thing, ...]] = {}
    for key, kinds in _MATERIALS.items():
        table = getattr(job, key)
        if isinstance(table, tuple):
            tables[key] = tuple(renamed(one, kinds) for one in table)
        elif table is not None:
            tables[key] = renamed(table, kinds)
    if all(getattr(job, key) == table for key, table in tables.items()):
        return job
    return job.model_copy(update=tables)


def located(job: Job, folder: Path) -> Job:
    """Return a job in which the paths of materials lead from a folder.

    Parameters
    ----------
    job : Job
        As its file says.
    folder : Path
        Of the job file.

    Returns
    -------
    job : Job
    """

    def moved(table: T, *keys: str) -> T:
        names = {key: getattr(table, key) for key in keys}
        paths = {key: _moved(name, folder) for key, name in names.items() if name is not None}
        return table.model_copy(update=paths)

    tables: dict[str, object] = {
        "work": moved(job.work, "material"),
        "cutter": moved(job.cutter, "material"),
        "trial": tuple(moved(trial, "material", "blank") for trial in job.trial),
    }
    if job.throat_mill is not None:
        tables["throat_mill"] = moved(job.throat_mill, "material")
    return job.model_copy(update=tables)


def seen_from(data: dict[str, Any], folder: Path) -> dict[str, Any]:
    """Return the tables of a job for a file in a folder: the paths of materials lead from there.

    Parameters
    ----------
    data : dict
        Tables and keys, as of a draft.
    folder : Path
        Where the file goes.

    Returns
    -------
    data : dict
    """
    tables = dict(data)
    for table in ("work", "cutter", "throat_mill"):
        name = data.get(table, {}).get("material", "")
        if is_path(name) and not Path(name).is_absolute():
            path = Path(os.path.relpath(name, folder)).as_posix()
            # a bare name would be one of the list
            tables[table] = {**data[table], "material": path if is_path(path) else f"./{path}"}
    return tables


def _moved(name: str, folder: Path) -> str:
    if not is_path(name):
        return name
    if folder in _CLOSED:
        if name not in _CLOSED[folder]:
            message = f"{printable(name, 200)} is not carried by the report, and is not opened"
            raise InputError(FILE, [Problem(where="", message=message)])
        return _CLOSED[folder][name]
    if folder == Path():  # without its "./" it could be one of the list
        remember(name, name)
        return name
    path = str(folder / name)
    remember(path, name)
    return path

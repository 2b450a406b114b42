"""The other files that a job was answered from: they travel inside the report, and of what it names
none is opened.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from pydantic import Field

from loadsim.base.errors import InputError
from loadsim.base.files import read_bytes
from loadsim.job.fields import PathOrName
from loadsim.job.material_paths import close, first_name, paths_of, remember
from loadsim.job.read import MAX_BYTES, job_from_text, read_job, read_text
from loadsim.job.tables import Job, Thing
from loadsim.job.write import whole
from loadsim.materials import reader
from loadsim.materials.folder import is_path
from loadsim.report.embed.materials import bad, copied, fresh_folder, inside, short


class File(Thing):
    """A file that the job names beside its metal and its blank."""

    name: PathOrName  #: as it is named
    of: PathOrName | None  #: the file of test cuts that names it; None: the job itself
    text: str = Field(max_length=MAX_BYTES)


def gathered(job: Job) -> list[File]:
    """Gather the files that a job was answered from, but for its metal and its blank.

    Parameters
    ----------
    job : Job
        As read, from a file or a report.

    Returns
    -------
    files : list of File
        Each once: materials of the throat mill and of test cuts, files of other test cuts, and the
        materials that these name.
    """
    known = {job.work.material, job.cutter.material}
    files = [_material(p, first_name(p), None) for p in paths_of(job) if p not in known]
    for path in job.job.trials:
        name = first_name(path)
        trials = read_job(path)
        # what a shop file gave of it travels inside
        text = read_text(path) if trials.shop is None else whole(trials.given or {})
        files.append(File(name=name, of=None, text=text))
        names = paths_of(job_from_text(text, path))
        there = paths_of(trials)
        files += [_material(p, n, name) for p, n in zip(there, names, strict=True)]
    return list({(file.name, file.of): file for file in files}.values())


def _material(path: str, name: str, of: str | None) -> File:
    text = read_bytes(Path(path), reader.MAX_BYTES).decode("utf-8")
    return File(name=name, of=of, text=text)


def copies_of(files: list[File], trials: Iterable[str], path: str | Path) -> dict[str, str]:
    """Write out what a report carries, and tell what to open in place of each name.

    Parameters
    ----------
    files : list of File
        As carried.
    trials : iterable of str
        Names of the files of other test cuts.
    path : str or Path
        The report, for messages.

    Returns
    -------
    copies : dict
        Name in the job to the path of a copy.

    Raises
    ------
    InputError
        If a file of test cuts that it carries is bad.
    """
    named = set(trials)
    copies = {}
    for file in files:
        if file.of is not None:
            continue
        if file.name in named:
            materials = [x for x in files if x.of == file.name]
            copies[file.name] = _trial_file(file, materials, path)
        else:
            copies[file.name] = copied(str(Path(file.name)), file.text)
    return copies


def _trial_file(file: File, materials: list[File], report: str | Path) -> str:
    """Write a file of test cuts into a folder of its own, from which only its materials are
    found.
    """
    folder = fresh_folder()
    beside = Path(file.name).parent  # two that name one file share its copy
    close(folder, {x.name: copied(str(beside / x.name), x.text) for x in materials})
    stem = re.sub(r"[^A-Za-z0-9._-]", "-", Path(file.name).name).removesuffix(".toml")
    path = folder / f"{stem[:100]}.toml"
    path.write_bytes(file.text.encode("utf-8"))
    remember(str(path), file.name)
    try:
        read_job(path)
    except InputError as error:
        raise inside(report, f"file {short(file.name)}", error) from None
    return str(path)


def trials_in(tables: dict[str, Any]) -> list[str]:
    """Names of the files of other test cuts in the tables of a job."""
    heading = tables.get("job")
    names = heading.get("trials") if isinstance(heading, dict) else None
    names = [names] if isinstance(names, str) else names
    return [x for x in names if isinstance(x, str)] if isinstance(names, list | tuple) else []


def pointed(tables: dict[str, Any], copies: dict[str, str], path: str | Path) -> dict[str, Any]:
    """Point the throat mill, the test cuts and [job] trials of a job at copies.

    Parameters
    ----------
    tables : dict
        The job.
    copies : dict
        From `copies_of`, the job's metal and blank among them.
    path : str or Path
        The report, for messages.

    Returns
    -------
    tables : dict

    Raises
    ------
    InputError
        If a file that it names is not carried.
    """

    def copy(name: Any, must: bool) -> Any:
        if not isinstance(name, str) or not (must or is_path(name)):
            return name  # what is wrong with it is told with the other problems of the job
        if name not in copies:
            raise bad(
                path,
                f"names the file {short(name)} and does not carry it; no file that a report names"
                " is opened: write the report anew from the job file",
            )
        return copies[name]

    def moved(table: Any) -> Any:
        if not isinstance(table, dict):
            return table
        return {k: copy(v, False) if k in ("material", "blank") else v for k, v in table.items()}

    whole = dict(tables)
    if trials := trials_in(tables):
        whole["job"] = {**tables["job"], "trials": [copy(name, True) for name in trials]}
    if "throat_mill" in tables:
        whole["throat_mill"] = moved(tables["throat_mill"])
    if isinstance(tables.get("trial"), list | tuple):
        whole["trial"] = [moved(trial) for trial in tables["trial"]]
    return whole

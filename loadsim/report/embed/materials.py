"""The materials that a report carries inside: none that it merely names is opened."""

from __future__ import annotations

import json
import re
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from loadsim.base.errors import InputError, Problem, printable
from loadsim.base.files import read_bytes
from loadsim.job.fields import PathOrName
from loadsim.job.material_paths import first_name, remember
from loadsim.job.tables import Thing
from loadsim.materials import reader
from loadsim.materials.describe import describe
from loadsim.materials.folder import is_path, listed
from loadsim.materials.load import load_blank, load_work, material_hash

Kind = Literal["work", "blank"]

#: Tables of a job that name a material which is carried.
TABLES: tuple[tuple[str, Kind], ...] = (("work", "work"), ("cutter", "blank"))


class Material(Thing):
    """A material as it was when the report was written."""

    name: PathOrName
    hash: str = Field(pattern="^[0-9a-f]{16}$")
    values: list[dict[str, Any]]
    file: str | None = Field(max_length=reader.MAX_BYTES)  #: text of the shop's own file


def plain(value: Any) -> Any:
    """Leave only what JSON holds.

    Parameters
    ----------
    value : object
        Of a job that was validated, which has nothing else.

    Returns
    -------
    value : object
    """
    return json.loads(json.dumps(value, default=str))


def carried(name: str, kind: Kind) -> Material:
    """Gather what travels of a material.

    Parameters
    ----------
    name : str
        A name, or the path of a shop's own file.
    kind : {"work", "blank"}
        Which.

    Returns
    -------
    material : Material
    """
    own = read_bytes(Path(name), reader.MAX_BYTES).decode("utf-8") if is_path(name) else None
    return Material(
        name=first_name(name),
        hash=material_hash(name, kind),
        values=plain(describe(name)["values"]),
        file=own,
    )


def inside(path: str | Path, what: str, error: InputError) -> InputError:
    """Tell the problems of a file that a report carries as the report's own.

    Parameters
    ----------
    path : str or Path
        The report.
    what : str
        What it carries, by name.
    error : InputError
        Of that file.

    Returns
    -------
    error : InputError
    """
    place = f"the {what} inside it"
    return InputError(
        str(path),
        [
            Problem(where=f"{place}: {p.where}" if p.where else place, message=p.message)
            for p in error.problems
        ],
    )


def located(material: Material, kind: Kind, path: str | Path) -> str:
    """Return what to load a material by: its name, or a copy of the file that the report carries,
    which must be one.

    Parameters
    ----------
    material : Material
        As the report carries it.
    kind : {"work", "blank"}
        Which.
    path : str or Path
        The report, for messages.

    Returns
    -------
    name : str

    Raises
    ------
    InputError
        If the file that it carries is missing or bad.
    """
    if is_path(material.name) != (material.file is not None):
        raise bad(
            path,
            f"is damaged: the material {short(material.name)} and its file do not belong together;"
            " write the report anew from the job file",
        )
    if material.file is None:
        return material.name
    copy = copied(str(Path(material.name)), material.file)
    remember(copy, material.name)
    try:
        (load_work if kind == "work" else load_blank)(copy)
    except InputError as error:
        raise inside(path, f"material file {short(material.name)}", error) from None
    return copy


def restored(
    tables: dict[str, Any],
    materials: dict[Kind, Material],
    copies: dict[Kind, str],
    path: str | Path,
) -> dict[str, Any]:
    """Point a job at the materials that its report carries.

    Parameters
    ----------
    tables : dict
        The job.
    materials, copies : dict
        What is carried, and what to load it by.
    path : str or Path
        The report, for messages.

    Returns
    -------
    tables : dict

    Raises
    ------
    InputError
        If the job names another material.
    """
    pointed = {
        name: dict(table) if isinstance(table, dict) else table for name, table in tables.items()
    }
    for name, kind in TABLES:
        table = pointed.get(name)
        if not isinstance(table, dict):
            continue  # told with the other problems of the job
        if listed(str(table.get("material")), kind) != materials[kind].name:
            raise bad(
                path,
                f"is damaged: the {kind} material it carries is not that of its job; write the"
                " report anew from the job file",
            )
        table["material"] = copies[kind]
    return pointed


@lru_cache(maxsize=64)
def copied(name: str, text: str) -> str:
    """Write a material file into a fresh folder of this run; the same one for the same file."""
    last = Path(name.replace("\\", "/")).name
    stem = re.sub(r"[^A-Za-z0-9._-]", "-", last).removesuffix(".toml")
    path = fresh_folder() / f"{stem[:100]}.toml"
    path.write_bytes(text.encode("utf-8"))
    return str(path)


def fresh_folder() -> Path:
    """Make a folder of this run, removed at its end."""
    import atexit
    import shutil
    import tempfile

    folder = Path(tempfile.mkdtemp(prefix="loadsim-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def bad(path: str | Path, message: str) -> InputError:
    """Make the error for a report as a whole.

    Parameters
    ----------
    path : str or Path
        The report.
    message : str
        What is wrong with it.

    Returns
    -------
    error : InputError
        To be raised.
    """
    return InputError(str(path), [Problem(where="", message=message)])


def short(text: str) -> str:
    """Return a text from inside a report fit for a message.

    Parameters
    ----------
    text : str
        Any.

    Returns
    -------
    text : str
        Plain, and not over long.
    """
    return printable(text, 200)

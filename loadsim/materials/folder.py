"""Where the material files are, and which names they go by."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Sequence
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from loadsim.base.errors import InputError, Problem
from loadsim.materials.schema import Kind


def materials_root() -> Traversable:
    """Return the folder of the material files: inside an installed package, at the top level of a
    checkout.

    Returns
    -------
    root : Traversable
        The folder that holds ``index.toml``.

    Raises
    ------
    FileNotFoundError
        If the package was installed without it.
    """
    packaged = files("loadsim").joinpath("_materials")
    if packaged.joinpath("index.toml").is_file():
        return packaged
    checkout = Path(__file__).resolve().parents[2] / "materials"
    if (checkout / "index.toml").is_file():
        return checkout
    raise FileNotFoundError("the materials/ folder of loadsim is missing: reinstall the package")


@lru_cache(maxsize=1)
def _index() -> dict[str, list[str]]:
    table = tomllib.loads(materials_root().joinpath("index.toml").read_text(encoding="utf-8"))
    if table["schema"] != 1:
        problem = Problem(where="schema", message=f"is {table['schema']}, must be 1")
        raise InputError("materials/index.toml", [problem])
    return {"work": table["work"], "blank": table["blank"]}


def names(kind: Kind) -> list[str]:
    """List the packaged materials.

    Parameters
    ----------
    kind : {"work", "blank"}
        Materials to be cut, or materials a cutter is ground from.

    Returns
    -------
    names : list of str
        In the order of the index.
    """
    return list(_index()[kind])


def is_path(name_or_path: str | Path) -> bool:
    """Tell a shop's own file from the name of a packaged material.

    Parameters
    ----------
    name_or_path : str or path
        As the user gives it.

    Returns
    -------
    is_path : bool
    """
    text = str(name_or_path)
    return isinstance(name_or_path, Path) or text.endswith(".toml") or "/" in text or "\\" in text


def unknown_name(name: str, kind: Kind) -> InputError:
    """Make the error for a name that is not packaged, with the nearest one that is.

    Parameters
    ----------
    name : str
        As the user gives it.
    kind : {"work", "blank"}
        Which kind was needed.

    Returns
    -------
    error : InputError
        To be raised.
    """
    known = names(kind)
    near = nearest(name, known)
    other: Kind = "blank" if kind == "work" else "work"
    hint = f"did you mean {' or '.join(repr(x) for x in near)}? " if near else ""
    if name in names(other):
        hint = f"it is a {other} material, a {kind} material is needed here. "
    how = "'loadsim materials' lists them all; a path ending in .toml reads a file of your own"
    return InputError(
        "materials", [Problem(where="", message=f"no {kind} material {name!r}; {hint}{how}")]
    )


def nearest(name: str, known: Sequence[str]) -> list[str]:
    """Find what a name may have been meant for: all that it is a part of, at most four; else the
    one most alike.

    Parameters
    ----------
    name : str
        As the user gives it.
    known : sequence of str
        What there is.

    Returns
    -------
    near : list of str

    Examples
    --------
    >>> nearest("carbide", ["hss-m2", "carbide-fine", "carbide-6co"])
    ['carbide-fine', 'carbide-6co']
    """
    low = name.strip().lower()
    parts = low.replace("_", "-").replace(" ", "-").split("-")
    within = [k for k in known if low and all(p in k.split("-") for p in parts)]
    return within[:4] or difflib.get_close_matches(low[:100], known, n=1, cutoff=0.5)


def toml_files(folder: Traversable) -> list[Traversable]:
    """List the TOML files of one folder by name.

    Parameters
    ----------
    folder : Traversable
        Below ``materials_root()``.

    Returns
    -------
    files : list of Traversable
    """
    return sorted((p for p in folder.iterdir() if p.name.endswith(".toml")), key=lambda p: p.name)

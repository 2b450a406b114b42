"""Where the material files are, and which names they go by."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
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


def folded(text: str) -> str:
    """Return a text without what names are typed differently by: case, spaces, dashes, points.

    Parameters
    ----------
    text : str
        As the user gives it.

    Returns
    -------
    text : str

    Examples
    --------
    >>> folded("AL 6061-T6"), folded("al-6061-t6")
    ('al6061t6', 'al6061t6')
    """
    return "".join(c for c in text.casefold() if c.isalnum())


def listed(name: str, kind: Kind) -> str:
    """Return the name of a packaged material as it is listed.

    Parameters
    ----------
    name : str
        In any case, with spaces or dashes; or a path, or a name that is not known.
    kind : {"work", "blank"}
        Which kind is needed.

    Returns
    -------
    name : str
        As given where it is none of the list.
    """
    if is_path(name) or name in names(kind):
        return name
    return next((x for x in names(kind) if folded(x) == folded(name)), name)


@dataclass(frozen=True, slots=True)
class Called:
    """What a packaged material is called."""

    title: str
    spellings: frozenset[str]  #: its names, each whole and folded
    words: tuple[str, ...]  #: all words of them, and of its condition


@lru_cache(maxsize=2)
def called(kind: Kind) -> dict[str, Called]:
    """Return what each packaged material is called, by its name in the list.

    Parameters
    ----------
    kind : {"work", "blank"}
        Which kind.

    Returns
    -------
    materials : dict
    """
    materials = {}
    for name in names(kind):
        file = materials_root().joinpath(name, "material.toml")
        head = tomllib.loads(file.read_text(encoding="utf-8"))
        texts = [name, head["title"], *head.get("aliases", [])]
        words = _words(" ".join([*texts, head.get("condition", "")]))
        spellings = frozenset(folded(text) for text in texts)
        materials[name] = Called(head["title"], spellings, words)
    return materials


#: How words of a search are spelled in the files.
_SPELLED = {"aluminium": "aluminum", "alum": "aluminum", "ss": "stainless", "gray": "grey"}


def _words(text: str) -> tuple[str, ...]:
    return _respelled(re.findall(r"[^\W_]+", text.casefold()))


def _respelled(words: Sequence[str]) -> tuple[str, ...]:
    return tuple(_SPELLED.get(word, word) for word in words)


def search(text: str, kind: Kind) -> list[str]:
    """Find the packaged materials that a shop may mean by a name.

    Parameters
    ----------
    text : str
        Any usual name or a part of one, in any case.
    kind : {"work", "blank"}
        Which kind.

    Returns
    -------
    names : list of str
        Those of which it is a whole name, else those that have all its words, in the order of the
        list; empty when there are none.

    Examples
    --------
    >>> search("alu 6061", "work"), search("MILD STEEL", "work"), search("mithril", "work")
    (['al-6061-o', 'al-6061-t6'], ['steel-1018'], [])
    """
    whole = folded(text)
    parts = _respelled(re.findall(r"[^\W\d_]+|\d+", text.casefold()))
    tests: tuple[Callable[[Called], bool], ...] = (
        lambda x: whole in x.spellings,
        lambda x: set(_words(text)) <= set(x.words),
        lambda x: all(_begins(word, x) for word in _words(text)),
        lambda x: all(_begins(word, x) for word in parts),
    )
    ways = ([name for name, x in called(kind).items() if test(x)] for test in tests if whole)
    return next((same for same in ways if same), [])


def _begins(word: str, material: Called) -> bool:
    """Whether a word begins one of a material's, or one of its names written without a space; a
    single sign must be a whole word.
    """
    if len(word) < 2:
        return word in material.words
    return any(text.startswith(word) for text in (*material.words, *material.spellings))


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
    near = search(name, kind)[:4] or nearest(name, names(kind))
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

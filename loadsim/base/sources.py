"""Every reference once, with how it was read."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from importlib import resources
from importlib.resources.abc import Traversable

from loadsim.base.errors import InputError, Problem

_READ = re.compile(r"first-hand\b.*|via \S.*|memory \((?:high|medium|low)\).*")

_HEADING = re.compile(r"^[ \t]*References[ \t]*\n[ \t]*-{3,}[ \t]*\n", re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One reference."""

    text: str  #: full reference
    read: str  #: "first-hand", "via ..." or "memory (high|medium|low)", with a remark if any


def load_sources(package: Traversable | None = None) -> dict[str, Source]:
    """Read ``sources.toml``, if it is there, and every file of ``sources.d``.

    Parameters
    ----------
    package : Traversable, optional
        Folder that holds them; the installed package when left out.

    Returns
    -------
    sources : dict of str to Source
        By key, sorted.

    Raises
    ------
    InputError
        With every problem of the first file that has one: not TOML, fields missing or unknown,
        or a key that another file gives with a different content.
    """
    sources: dict[str, Source] = {}
    for file in _files(package if package is not None else resources.files("loadsim.base")):
        problems = []
        for key, table in _tables(file).items():
            source = _source(key, table)
            if isinstance(source, Source) and sources.setdefault(key, source) != source:
                source = Problem(
                    where=f"[{key}]", message="another file gives this key differently"
                )
            if isinstance(source, Problem):
                problems.append(source)
        if problems:
            raise InputError(file.name, problems)
    return dict(sorted(sources.items()))


def cited_in(docstring: str | None) -> list[str]:
    """Return the keys in the References section of a docstring, in order.

    Each reference starts a line: the key, then the locator. A line indented deeper goes on
    with the reference above it.

    Parameters
    ----------
    docstring : str or None
        In numpydoc form.

    Returns
    -------
    keys : list of str
        Empty when there is no such section.

    Examples
    --------
    >>> cited_in("Sum.\\n\\nReferences\\n----------\\nShigley2015 Ex. 6-9\\n")
    ['Shigley2015']
    """
    heading = _HEADING.search(docstring or "")
    if docstring is None or heading is None:
        return []
    indent = len(heading.group()) - len(heading.group().lstrip(" \t"))
    keys = []
    lines = docstring[heading.end() :].splitlines()
    for line, following in zip(lines, [*lines[1:], ""], strict=True):
        if re.fullmatch(r"\s*-{3,}\s*", following) and line.strip():
            break  # the next section
        if line.strip() and len(line) - len(line.lstrip()) == indent:
            keys.append(line.split()[0].rstrip(",;:"))
    return keys


def _files(package: Traversable) -> list[Traversable]:
    files = [f for f in [package / "sources.toml"] if f.is_file()]
    folder = package / "sources.d"
    if folder.is_dir():
        files += sorted(
            (f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name
        )
    return files


def _tables(file: Traversable) -> dict[str, object]:
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(
            file.name, [Problem(where="", message=f"not a TOML file: {error}")]
        ) from error


def _source(key: str, table: object) -> Source | Problem:
    if not isinstance(table, dict) or set(table) != {"text", "read"}:
        return Problem(
            where=f"[{key}]", message="must have the two keys text and read, and no others"
        )
    text = table["text"]
    read = table["read"]
    if not isinstance(text, str) or not text.strip():
        return Problem(where=f"[{key}] text", message="must be the full reference")
    if not isinstance(read, str) or not _READ.fullmatch(read):
        allowed = "'first-hand', 'via ...' or 'memory (high|medium|low)'"
        return Problem(where=f"[{key}] read", message=f"is {read!r}; it must be {allowed}")
    return Source(text=text, read=read)

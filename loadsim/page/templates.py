"""The page's templates and the files that travel with it."""

from __future__ import annotations

import functools
from importlib.resources import files
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from jinja2 import Environment


def asset(name: str) -> str:
    """Read a file that travels with the page."""
    return files("loadsim.page").joinpath(name).read_text(encoding="utf-8")


@functools.cache
def _environment() -> Environment:
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    return Environment(
        loader=FunctionLoader(asset),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def filled(template: str, **shown: Any) -> str:
    """Fill a template: every text is escaped, and a name that is missing is an error.

    Parameters
    ----------
    template : str
        Its file.
    **shown : Any
        By the names that it has for them.

    Returns
    -------
    html : str
    """
    return _environment().get_template(template).render(**shown)


def plain(title: str, words: str, again: str = "") -> str:
    """Return a page that says one thing.

    Parameters
    ----------
    title : str
        What it is.
    words : str
        One paragraph.
    again : str
        Where to look again; empty: nowhere.

    Returns
    -------
    html : str
    """
    return filled("plain.html", title=title, words=words, again=again)

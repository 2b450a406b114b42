"""Files are written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from loadsim.errors import InputError, Problem


def write_whole(path: Path, text: str) -> None:
    """Write a file whole or not at all.

    Parameters
    ----------
    path : Path
        Where to.
    text : str
        What.

    Raises
    ------
    InputError
        If it cannot be written; nothing is left behind.
    """
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.write_text(text, encoding="utf-8", newline="\n")
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise InputError(str(path), [Problem(where="", message=f"cannot be written: {error.strerror}")]) from None
    except BaseException:
        part.unlink(missing_ok=True)
        raise

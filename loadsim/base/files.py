"""Files: written whole or not at all, and read only as far as they can be what is wanted."""

from __future__ import annotations

import os
import re
import stat
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loadsim.base.errors import InputError, Problem

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

#: Most parts of a dotted key: the reader's time grows with their square, and no file here has more
#: than three. [1]
MOST_PARTS = 20

#: Bytes of a file's name that the files beside it are named after. [1]
NAMED = 100

#: How long a run waits for another that writes the same file; one takes some milliseconds. [s]
PATIENCE = 10.0

#: Age at which a lock is one that a killed run has left. [s]
LEFT = 120.0

#: A bare or quoted key with a dot after it, many times over.
_DEEP = re.compile(
    r"""(?<![\w"'-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){""" + f"{MOST_PARTS}}}"
)


def write_whole(path: Path, text: str | Iterable[str], *, new: bool = False) -> None:
    """Write a file whole or not at all, where a link points, with the mode it had.

    Parameters
    ----------
    path : Path
        Where to.
    text : str, or iterable of str
        What; one piece after the other is held in memory.
    new : bool
        Whether there must be nothing yet, not even since it was last looked.

    Raises
    ------
    InputError
        If it cannot be written; nothing is left behind.
    """
    part = None
    try:
        _refuse_special(path)
        target = Path(os.path.realpath(path))
        part = target.with_name(f"{_hidden(target)}.{os.getpid()}-{os.urandom(4).hex()}.part")
        mode = None if new or not target.exists() else stat.S_IMODE(target.stat().st_mode)
        part.touch(0o666 if mode is None else 0o600, exist_ok=False)  # private from the start
        if isinstance(text, str):
            part.write_text(text, encoding="utf-8", newline="\n")
        else:
            with part.open("w", encoding="utf-8", newline="\n") as file:
                file.writelines(text)
        if mode is not None:
            part.chmod(mode)
        if new:
            _claim(part, target)
        else:
            part.replace(target)
    except FileExistsError:
        raise _wrong(
            path, "is there already; give another name, or --force to write over it"
        ) from None
    except (OSError, ValueError) as error:
        raise _wrong(
            path, f"cannot be written: {getattr(error, 'strerror', None) or error}"
        ) from None
    finally:
        if part is not None:
            with suppress(OSError):
                part.unlink(missing_ok=True)


def _hidden(target: Path) -> str:
    """Begin of a name beside a file, short enough where the file's own is as long as can be."""
    return "." + target.name.encode()[:NAMED].decode(errors="ignore")


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Keep other runs from changing a file between its reading and its writing.

    Parameters
    ----------
    path : Path
        The file; links are followed.

    Raises
    ------
    InputError
        If another run holds it all the time; what a killed one left does not count for long.
    """
    target = Path(os.path.realpath(path))
    lock = target.with_name(f"{_hidden(target)}.lock")
    end = time.monotonic() + PATIENCE
    while True:
        try:
            lock.touch(exist_ok=False)
            break
        except FileExistsError:
            if _is_left(lock):
                with suppress(OSError):
                    lock.unlink(missing_ok=True)
                    continue
            if time.monotonic() > end:
                raise _wrong(
                    path, f"is being written by another run; if none is, remove {lock}"
                ) from None
            time.sleep(0.02)
        except (OSError, ValueError) as error:
            raise _wrong(
                path, f"cannot be written: {getattr(error, 'strerror', None) or error}"
            ) from None
    try:
        yield
    finally:
        lock.unlink(missing_ok=True)


def _is_left(lock: Path) -> bool:
    """Whether a lock is so old that whoever took it was killed."""
    try:
        return time.time() - lock.stat().st_mtime > LEFT
    except OSError:  # gone meanwhile
        return False


def _claim(part: Path, target: Path) -> None:
    """Give the name to what was written, unless another has it."""
    try:
        os.link(part, target)
    except FileExistsError:
        raise
    except (OSError, AttributeError, NotImplementedError):  # a file system without links
        os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        part.replace(target)


def may_write(path: Path, force: bool) -> None:
    """Refuse to write over what is there.

    Parameters
    ----------
    path : Path
        Where something shall go.
    force : bool
        Allow an ordinary file.

    Raises
    ------
    InputError
        If it is there, or is a folder, a device or a pipe.
    """
    try:
        _refuse_special(path)  # first, as force would not help
        there = os.path.lexists(path)
    except (OSError, ValueError) as error:
        raise _wrong(
            path, f"cannot be written: {getattr(error, 'strerror', None) or error}"
        ) from None
    if there and not force:
        raise _wrong(path, "is there already; give another name, or --force to write over it")


def special(path: str | Path) -> str | None:
    """Say what is there when it is no ordinary file.

    Parameters
    ----------
    path : str or Path
        Links are followed.

    Returns
    -------
    what : str or None
        "is a folder" or the like; None for an ordinary file, and where nothing is.

    Raises
    ------
    OSError
        If it cannot be looked at.
    """
    try:
        mode = Path(path).stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        return None
    if stat.S_ISREG(mode):
        return None
    return "is a folder" if stat.S_ISDIR(mode) else "is a device or a pipe, not a file"


def read_bytes(path: Traversable, most: int) -> bytes:
    """Return what a file holds; only of an ordinary file, and only of one that is not far too
    large.

    Parameters
    ----------
    path : Path or Traversable
        The file.
    most : int
        Bytes allowed.

    Returns
    -------
    data : bytes

    Raises
    ------
    OSError
        If it cannot be read.
    ValueError
        If it is a device or a pipe, or holds more.
    """
    what = special(path) if isinstance(path, Path) else None
    if what is not None and not path.is_dir():  # that of a folder is an OSError
        raise ValueError(f"it {what}")
    with path.open("rb") as file:
        data: bytes = file.read(most + 1)
    if len(data) > most:
        raise ValueError(
            f"it is over {most // 1_000_000} MB"
            if most >= 1_000_000
            else f"it is over {most // 1000} kB"
        )
    return data


def _refuse_special(path: Path) -> None:
    what = special(path)
    if what is not None:
        raise _wrong(path, f"cannot be written: {what}; give the name of a file")


def parse_toml(text: str) -> dict[str, Any]:
    """Parse TOML, but not what would take without end.

    Parameters
    ----------
    text : str
        Bounded in length by whoever read it.

    Returns
    -------
    data : dict

    Raises
    ------
    ValueError
        If it is not TOML, or has a key of far too many parts.
    RecursionError
        If it is nested too deeply.

    Examples
    --------
    >>> parse_toml('[slot]\\ndepth = "7 mm"')
    {'slot': {'depth': '7 mm'}}
    """
    import tomllib

    deep = _DEEP.search(text)
    if deep is not None:
        raise ValueError(
            f"a key of more than {MOST_PARTS} parts (at line"
            f" {text.count(chr(10), 0, deep.start()) + 1})"
        )
    return tomllib.loads(text)


def _wrong(path: Path, message: str) -> InputError:
    return InputError(str(path), [Problem(where="", message=message)])

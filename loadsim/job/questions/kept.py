"""What was typed so far, beside the file that is to come: questions that were stopped go on."""

from __future__ import annotations

import json
from contextlib import suppress
from pathlib import Path

from loadsim.base.errors import InputError
from loadsim.base.files import parse_toml, write_whole
from loadsim.job.read import read_text

#: Where it stands, in the folder of the job file to come.
NAME = ".loadsim-new.toml"


def kept_in(folder: Path, name: str = NAME) -> dict[str, str] | None:
    """Return the answers that were kept.

    Parameters
    ----------
    folder : Path
        Of the job file to come.
    name : str
        Of the file that keeps them.

    Returns
    -------
    typed : dict or None
        "table.key" to what was typed; None where nothing is kept, or nothing that can be read.
    """
    with suppress(InputError, ValueError, RecursionError, OSError):
        if not (folder / name).is_file():
            return None
        answers = parse_toml(read_text(folder / name)).get("answers")
        if isinstance(answers, dict) and all(isinstance(x, str) for x in answers.values()):
            return answers or None
    return None


def keep(folder: Path, typed: dict[str, str], name: str = NAME, by: str = "new") -> None:
    """Write what was typed so far, whole or not at all.

    Parameters
    ----------
    folder : Path
        Of the job file to come.
    typed : dict
        "table.key" to what was typed.
    name : str
        Of the file that keeps them.
    by : str
        The command that goes on from it.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    lines = [
        f"# Answers of an unfinished `loadsim {by}`, which goes on from here; or delete this file.",
        "[answers]",
        *(f"{json.dumps(k)} = {json.dumps(v, ensure_ascii=False)}" for k, v in typed.items()),
    ]
    write_whole(folder / name, "\n".join(lines) + "\n")


def drop(folder: Path) -> None:
    """Forget what was kept.

    Parameters
    ----------
    folder : Path
        Of the job file to come.
    """
    with suppress(OSError):
        (folder / NAME).unlink(missing_ok=True)

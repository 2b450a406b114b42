"""`loadsim shop`: the shop file that is found, and a new one from what a job says."""

from __future__ import annotations

from pathlib import Path

from loadsim.base.errors import InputError, Problem, printable
from loadsim.base.files import may_write, write_whole
from loadsim.job import shop
from loadsim.job.read import job_from_dict, with_shop

#: What to say where there is none.
NONE = "There is no shop file. Write one from a job file: loadsim shop --save JOB"


def shown() -> str:
    """Return the path and the contents of the shop file that goes with this folder.

    Returns
    -------
    text : str

    Raises
    ------
    InputError
        If it is bad.
    """
    file = shop.find(Path())
    if file is None:
        return NONE
    shop.read_shop(file)
    lines = file.read_text(encoding="utf-8-sig").splitlines()
    return "\n".join([f"{printable(str(file), 400)}:", "", *(printable(x) for x in lines)])


def save(job: str, here: bool, force: bool) -> list[str]:
    """Write the shop file from what a job says of its shop, whole or not at all.

    Parameters
    ----------
    job : str
        The job file.
    here : bool
        Beside the job files of this folder, rather than in the user's own folder.
    force : bool
        Write over one that is there.

    Returns
    -------
    lines : list of str
        What was done.

    Raises
    ------
    InputError
        If the job is bad, says nothing of its shop, or the file cannot be written.
    """
    if job == "-":
        raise _refusal("--save", "takes the path of a job file, since other jobs are to find it")
    folder = Path() if here else shop.user_folder()
    if folder is None:
        raise _refusal("--save", f"has no folder to write to: {shop.VARIABLE} is empty")
    data, _ = with_shop(job)
    job_from_dict(data, job)
    file = folder / shop.NAME
    may_write(file, force)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _refusal(str(folder), f"cannot be made: {error.strerror}") from None
    write_whole(file, shop.saved(data, Path(job), folder), new=not force)
    return [f"Wrote {file}. Job files may leave out what it gives; see it with: loadsim shop"]


def _refusal(where: str, message: str) -> InputError:
    return InputError(where, [Problem(where="", message=message)])

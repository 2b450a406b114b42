"""What stands for an answer that a job must have and nobody has given: the safe side of what is
usual, where there is one, and said.
"""

from __future__ import annotations

from loadsim.job.questions.asking import Interview, Tables
from loadsim.job.questions.asking import filled as with_usual
from loadsim.job.tables import Cutter, Heading, Machine, Slot, Thing, Work

#: Metric and inch, each on the side that asks more of the neck (common practice, no source).
SAFE: dict[str, tuple[str, str]] = {
    "work.lubrication": ("dry", "dry"),
    "cutter.rake": ("0 deg", "0 deg"),
    "machine.max_spindle_speed": ("2000 rpm", "2000 rpm"),
    "machine.spindle_power": ("0.75 kW", "1 hp"),
}

#: Keys that stand on the safe side. A stick-out has none: a short one rings and evens out less, a
#: long one bends more.
ON_THE_SAFE_SIDE = frozenset(SAFE)

#: How the line of a job file begins that names them.
NOBODY = "Nobody has given these; what is usual stands for them, or its safe side: "

TABLES: dict[str, type[Thing]] = {
    "job": Heading,
    "work": Work,
    "slot": Slot,
    "cutter": Cutter,
    "machine": Machine,
}


def is_required(key: str) -> bool:
    """Whether the job file must have a key."""
    table, _, name = key.partition(".")
    return TABLES[table].model_fields[name].is_required()


def filled(so_far: Interview) -> Tables:
    """Return a whole job: the answers so far, and what stands for those to come.

    Parameters
    ----------
    so_far : Interview
        Any of its questions may be open.

    Returns
    -------
    tables : dict
        As a job file has them.
    """
    given = so_far.tables
    safe = {
        key: texts[so_far.system == "inch"]
        for key, texts in SAFE.items()
        if key.partition(".")[2] not in given.get(key.partition(".")[0], {})
        and not (key == "cutter.rake" and "face_offset" in given.get("cutter", {}))
    }
    return with_usual(Interview(fixed=so_far.fixed, values={**so_far.values, **safe}))


def nobody(text: str) -> list[str]:
    """Return the keys of a job file that nobody has given, as its head names them.

    Parameters
    ----------
    text : str
        The job file.

    Returns
    -------
    keys : list of str
    """
    begin = f"# {NOBODY}"
    line = next((x for x in text.splitlines() if x.startswith(begin)), begin)
    return [key for key in line.removeprefix(begin).split(", ") if key]

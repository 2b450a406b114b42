"""What a report carries inside, so that it can be read back, run again and compared. Data only:
nothing read is ever run.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, Literal

from pydantic import ConfigDict, Field, ValidationError

from loadsim.answers.results import Plan
from loadsim.base.files import read_bytes
from loadsim.job.fields import FromShop, PathOrName, Text
from loadsim.job.material_paths import first_name
from loadsim.job.read import job_from_dict
from loadsim.job.tables import Job, Thing
from loadsim.mechanics import chip
from loadsim.report.embed.files import File, copies_of, gathered, pointed, trials_in
from loadsim.report.embed.materials import (
    TABLES,
    Material,
    bad,
    carried,
    located,
    plain,
    restored,
    short,
)

#: The element that carries the data.
ELEMENT = "loadsim-report"

#: Most that a report may come to, and from where on a file is not read as one. [bytes]
MOST_BYTES = 2_500_000
MAX_BYTES = 8_000_000

#: Relative difference under which two numbers are the same answer. [1]
SAME = 1e-6


class Shop(Thing):
    """What a shop file filled in: the values themselves stand in the job."""

    file: PathOrName
    keys: list[Text] = Field(min_length=1, max_length=40)


class Payload(Thing):
    """Everything that travels inside a report."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)

    format: Literal[1]
    loadsim: Text
    written: Text
    seed: int
    samples: int
    given: dict[str, Any] | None  #: the job as it was written
    job: dict[str, Any]  #: the job as understood, in internal units
    planned: dict[str, Any]  #: the job with [cut] filled in
    plan: dict[str, Any]  #: the answer
    materials: dict[Literal["work", "blank"], Material] = Field(min_length=2)  # both
    files: list[File] = Field(default=[], max_length=200)  #: the other files that it names
    shop: Shop | None = None

    def tables(self) -> dict[str, Any]:
        """Return what stands in the report: nothing of a shop file where there was none."""
        return self.model_dump(exclude={"shop"} if self.shop is None else None)


def gather(plan: Plan, job: Job, written: str) -> Payload:
    """Gather what travels inside.

    Parameters
    ----------
    plan : Plan
        The answer.
    job : Job
        The job that was planned, before ``[cut]`` was filled in.
    written : str
        When, as text.

    Returns
    -------
    payload : Payload
    """
    risk = plan.result.risk
    return Payload(
        format=1,
        loadsim=plan.result.loadsim,
        written=written,
        seed=risk.seed,
        samples=risk.samples,
        given=plain(job.given),
        job=_tables(job),
        planned=_tables(plan.job),
        plan=plan.to_dict(),
        materials={
            "work": carried(job.work.material, "work"),
            "blank": carried(job.cutter.material, "blank"),
        },
        files=gathered(job),
        shop=job.shop and Shop(file=job.shop.file, keys=list(job.shop.keys)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """A report that was read back."""

    payload: Payload
    job: Job  #: as it was written
    planned: Job  #: with [cut] filled in
    restored: tuple[str, ...]  #: what had to be taken from inside the report


def _tables(job: Job) -> dict[str, Any]:
    tables = job.model_dump(exclude_none=True)
    mill = [tables["throat_mill"]] if "throat_mill" in tables else []
    for table in (*(tables[name] for name, _ in TABLES), *mill, *tables["trial"]):
        names = {key: table[key] for key in ("material", "blank") if key in table}
        table.update({key: first_name(name) for key, name in names.items()})
    tables["job"]["trials"] = [first_name(path) for path in job.job.trials]
    return tables


def escaped(data: Any) -> str:
    """Write data as JSON that no text inside can break out of: it cannot end a script element or
    start a comment.

    Parameters
    ----------
    data : object
        What JSON can hold.

    Returns
    -------
    text : str
        With <, > and & as escapes.

    Raises
    ------
    ValueError
        If a number is not finite.
    """
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


class _Finder(HTMLParser):
    """Collects the text of the data elements, and counts them."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self.elements = 0
        self._inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._inside = tag == "script" and ("id", ELEMENT) in attrs
        self.elements += self._inside

    def handle_endtag(self, tag: str) -> None:
        self._inside = False

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.texts.append(data)


def read(path: str | Path) -> Report:
    """Read a report back.

    Parameters
    ----------
    path : str or Path
        A file that ``loadsim report`` wrote.

    Returns
    -------
    report : Report

    Raises
    ------
    InputError
        If it is no report of ours, is damaged, or its job is not valid.
    """
    data = _payload_of(path)
    copies = {kind: located(material, kind, path) for kind, material in data.materials.items()}
    others = copies_of(data.files, trials_in(data.job), path)
    others |= {
        material.name: copies[kind]
        for kind, material in data.materials.items()
        if material.file is not None
    }

    def job_of(tables: dict[str, Any], inside: bool) -> Job:
        whole = restored(pointed(tables, others, path), data.materials, copies, path)
        return job_from_dict(whole, str(path), inside=inside)

    job = job_of(data.job, inside=True)
    planned = job_of(data.planned, inside=True)
    if data.given is not None:
        as_given = job_of(data.given, inside=False)
        if as_given != job:
            raise bad(
                path,
                "is damaged: the job as written and the job as understood differ; write the report"
                " anew from the job file",
            )
    shop = None if data.shop is None else FromShop(data.shop.file, tuple(data.shop.keys))
    job = job.with_given(data.given, shop)
    planned = planned.with_given(None, shop)
    if not _follows(planned, job):
        raise bad(
            path,
            "is damaged: the job as planned is not the job as understood; write the report anew"
            " from the job file",
        )
    return Report(payload=data, job=job, planned=planned, restored=_taken(data))


def _taken(data: Payload) -> tuple[str, ...]:
    """Say which material files were taken from inside the report, each once."""
    own = (material.name for material in data.materials.values() if material.file is not None)
    cuts = trials_in(data.job)
    sentences = [
        *(f"The material file {name} was taken from inside the report." for name in own),
        *(
            f"The {'test cuts of' if file.name in cuts else 'material file'} {file.name}"
            f" {'were' if file.name in cuts else 'was'} taken from inside the report."
            for file in data.files
            if file.of is None
        ),
    ]
    return tuple(dict.fromkeys(sentences))


def _payload_of(path: str | Path) -> Payload:
    text = _data_text(path)
    try:
        data = json.loads(
            text, parse_constant=_refuse_constant, parse_float=_finite, parse_int=_whole
        )
        return Payload.model_validate(data)
    except ValidationError as error:
        raise bad(
            path,
            f"is a report of another format, or damaged, at: {short(_places(error))}; write it"
            " anew from the job file",
        ) from None
    except (ValueError, RecursionError):
        raise bad(
            path,
            "is a damaged report: what it carries is not JSON; write it anew from the job file",
        ) from None


def _data_text(path: str | Path) -> str:
    """Return the text of the one data element of a report."""
    try:
        raw = read_bytes(Path(path), MAX_BYTES)
    except ValueError as error:
        raise bad(path, f"cannot be read: {error}; a report is a file, and far smaller") from None
    finder = _Finder()
    try:
        finder.feed(raw.decode("utf-8", "replace"))
    except AssertionError:  # how the parser of some versions gives up on a declaration
        raise bad(
            path, "is neither a job file nor a report of loadsim: its HTML cannot be read"
        ) from None
    if not finder.texts:
        raise bad(
            path,
            "is HTML, but no report of loadsim: it carries no job; give a job file, or write a"
            " report with: loadsim report JOB",
        )
    if finder.elements > 1:
        count = "two" if finder.elements == 2 else "many"
        raise bad(
            path, f"is a damaged report: it carries {count} jobs; write it anew from the job file"
        )
    return "".join(finder.texts)


def _places(error: ValidationError) -> str:
    """Name the places of a payload that are wrong, each once."""
    problems = error.errors(include_url=False)
    paths = (".".join(str(step) for step in problem["loc"]) for problem in problems)
    return ", ".join(sorted({path or "all of it" for path in paths}))


def _refuse_constant(name: str) -> float:
    raise ValueError(name)


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(text)
    return number


def _whole(text: str) -> int:
    if len(text) > 18:  # no count of ours comes near
        raise ValueError("too large")
    return int(text)


def _follows(planned: Job, job: Job) -> bool:
    """Whether a planned job is the job itself with nothing but what it left open filled in."""
    open_ = {"cut": True} | ({} if job.predrill else {"predrill": True})
    if planned.model_dump(exclude=open_) != job.model_dump(exclude=open_):
        return False
    given = job.cut.model_dump(exclude_none=True)
    cut = planned.cut.model_dump(exclude_none=True)
    rate = given.pop("feed_rate", None)
    speed = cut.get("spindle_speed")
    f_z = cut.get("feed_per_tooth")
    # a table feed is planned as a feed per tooth
    if rate is not None and speed is not None and f_z is not None:
        cut["feed_rate"] = chip.feed_rate(f_z, job.cutter.teeth, speed)
    kept = rate is None or math.isclose(cut.get("feed_rate", math.nan), rate, rel_tol=SAME)
    return kept and all(cut.get(key) == value for key, value in given.items())

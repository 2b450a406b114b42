"""What a report carries inside, so that it can be read back, run again and compared. Data only: nothing read is ever run."""

from __future__ import annotations

import json
import math
import re
from dataclasses import dataclass
from functools import lru_cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, Literal

from pydantic import ConfigDict, Field, ValidationError

from loadsim import __version__
from loadsim.domain import Job, Text, Thing
from loadsim.errors import InputError, Problem
from loadsim.job import job_from_dict
from loadsim.material_folder import is_path
from loadsim.materials import material_hash, names
from loadsim.planner import Plan
from loadsim.shelf import describe

#: The element that carries the data.
ELEMENT = "loadsim-report"
#: A report is under 2.5 MB; far larger is not one. [bytes]
MAX_BYTES = 8_000_000
#: Relative difference under which two numbers are the same answer. [1]
SAME = 1e-6
#: Differences shown in a message.
SHOWN = 12


class Material(Thing):
    """A material as it was when the report was written."""

    name: str = Field(min_length=1, max_length=400)
    hash: str = Field(pattern="^[0-9a-f]{16}$")
    values: list[dict[str, Any]]
    file: str | None = Field(max_length=2_000_000)  #: text of the shop's own file


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
    materials: dict[Literal["work", "blank"], Material]


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """A report that was read back."""

    payload: Payload
    job: Job  #: as it was written
    planned: Job  #: with [cut] filled in
    restored: tuple[str, ...]  #: what had to be taken from inside the report


def payload(plan: Plan, job: Job, written: str) -> Payload:
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
    return Payload(format=1, loadsim=plan.result.loadsim, written=written, seed=risk.seed, samples=risk.samples, given=_plain(job.given),
                   job=job.model_dump(exclude_none=True), planned=plan.job.model_dump(exclude_none=True), plan=plan.to_dict(),
                   materials={"work": _material(job.work.material, "work"), "blank": _material(job.cutter.material, "blank")})  # fmt: skip


def _plain(value: Any) -> Any:
    """Leave only what JSON holds; a job that was validated has nothing else."""
    return json.loads(json.dumps(value, default=str))


def _material(name: str, kind: Literal["work", "blank"]) -> Material:
    own = Path(name).read_text(encoding="utf-8") if is_path(name) else None
    return Material(name=name, hash=material_hash(name, kind), values=_plain(describe(name)["values"]), file=own)


def escaped(data: Any) -> str:
    """Write data as JSON that no text inside can break out of: it cannot end a script element or start a comment.

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
    """Collects the text of the first data element."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self._inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._inside = not self.found and tag == "script" and ("id", ELEMENT) in attrs

    def handle_endtag(self, tag: str) -> None:
        self._inside = False

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.found.append(data)


def is_report(path: str | Path) -> bool:
    """Tell whether a file is HTML, by its first bytes, and so to be read as a report.

    Parameters
    ----------
    path : str or Path
        Any file; one that is not there is no report.

    Returns
    -------
    found : bool
    """
    try:
        with Path(path).open("rb") as file:
            return file.read(200).lstrip().lower().startswith((b"<!doctype html", b"<html"))
    except OSError:
        return False


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
    restored: list[str] = []
    tables, planned = (_restored(x, data, restored) for x in (data.job, data.planned))
    job = job_from_dict(tables, str(path), inside=True)
    if data.given is not None:
        as_given = job_from_dict(_restored(data.given, data, []), str(path))
        if as_given != job:
            raise _bad(path, "is damaged: the job as written and the job as understood differ; write the report anew from the job file")
        job = job.with_given(data.given)
    return Report(payload=data, job=job, planned=job_from_dict(planned, str(path), inside=True), restored=tuple(dict.fromkeys(restored)))


def _payload_of(path: str | Path) -> Payload:
    raw = Path(path).read_bytes()[: MAX_BYTES + 1]
    if len(raw) > MAX_BYTES:
        raise _bad(path, "is over 8 MB; a report is far smaller")
    finder = _Finder()
    finder.feed(raw.decode("utf-8", "replace"))
    if not finder.found:
        raise _bad(path, "is HTML, but no report of loadsim: it carries no job; give a job file, or write a report with: loadsim report JOB")
    try:
        found = json.loads("".join(finder.found), parse_constant=_refuse_constant)
        return Payload.model_validate(found)
    except ValidationError as error:
        places = ", ".join(sorted({".".join(str(x) for x in e["loc"]) or "all of it" for e in error.errors(include_url=False)}))
        raise _bad(path, f"is a report of another format, or damaged, at: {_short(places)}; write it anew from the job file") from None
    except (ValueError, RecursionError):
        raise _bad(path, "is a damaged report: what it carries is not JSON; write it anew from the job file") from None


def _refuse_constant(name: str) -> float:
    raise ValueError(name)


def _short(text: str) -> str:
    text = text if text.isprintable() else ascii(text)
    return text if len(text) < 200 else text[:197] + "..."


def _bad(path: str | Path, message: str) -> InputError:
    return InputError(str(path), [Problem(where="", message=message)])


def _restored(tables: dict[str, Any], data: Payload, restored: list[str]) -> dict[str, Any]:
    """Point a shop's own material file that is gone to a copy of the one inside the report."""
    found = {k: dict(v) if isinstance(v, dict) else v for k, v in tables.items()}
    for table, kind in (("work", "work"), ("cutter", "blank")):
        material, there = data.materials.get(kind), found.get(table)  # type: ignore[call-overload]
        if material is None or material.file is None or not isinstance(there, dict) or Path(material.name).is_file():
            continue
        there["material"] = str(_copy(material.name, material.file))
        restored.append(f"The material file {material.name} is not here; its text was taken from inside the report.")
    return found


@lru_cache(maxsize=4)
def _copy(name: str, text: str) -> Path:
    """Write a material file into a fresh folder of this run, removed at its end."""
    import atexit
    import shutil
    import tempfile

    folder = Path(tempfile.mkdtemp(prefix="loadsim-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    path = folder / (re.sub(r"[^A-Za-z0-9._-]", "-", Path(name.replace("\\", "/")).name).removesuffix(".toml") + ".toml")
    path.write_text(text, encoding="utf-8")
    return path


def changes(old: Report, new: dict[str, Any]) -> tuple[str, ...]:
    """Say what differs between a report and the answer of today, and why it may.

    Parameters
    ----------
    old : Report
        As read back.
    new : dict
        The JSON of today's answer; keys that it lacks are not compared.

    Returns
    -------
    lines : tuple of str
        One sentence each; empty when the numbers are the same.
    """
    before = {k: v for k, v in old.payload.plan.items() if k in new}
    found = [x for x in _differences(before, {k: new[k] for k in before}, "") if not x.startswith("loadsim:")]
    if not found:
        return old.restored
    cause = _causes(old)
    more = [f"and {len(found) - SHOWN} more."] if len(found) > SHOWN else []
    return (*old.restored, *cause, *(f"Changed: {x}" for x in found[:SHOWN]), *more)


def _causes(old: Report) -> list[str]:
    data, found = old.payload, []
    if data.loadsim != __version__:
        found.append(f"The report was written by loadsim {data.loadsim}; this is {__version__}.")
    for kind, m in data.materials.items():
        name = (old.job.work if kind == "work" else old.job.cutter).material
        if not is_path(name) and name not in names(kind):
            found.append(f"The {kind} material {m.name} is not known any more.")
        elif material_hash(name, kind) != m.hash:
            now = _plain(describe(name)["values"])
            rows = _differences(_by_place(m.values), _by_place(now), "")
            found.append(f"The data of {m.name} changed" + (": " + "; ".join(rows[:SHOWN]) if rows else " (remarks or sources only)") + ".")
    return found or ["Neither the version nor the material data changed: the report was edited by hand, or the computer rounds differently."]


def _by_place(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """Key rows of values by what they are and where they come from."""
    return {f"{r.get('source')} {r.get('group') or ''} {r.get('quantity')}": {k: r.get(k) for k in ("value", "lo", "hi", "spread")} for r in rows}


def _differences(a: Any, b: Any, place: str) -> list[str]:
    if isinstance(a, dict) and isinstance(b, dict):
        return [x for k in [*a, *(k for k in b if k not in a)] for x in _differences(a.get(k), b.get(k), f"{place}.{k}" if place else str(k))]
    if isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        return [x for i, (p, q) in enumerate(zip(a, b, strict=True)) for x in _differences(p, q, f"{place}[{i}]")]
    if _number(a) and _number(b):
        same = math.isclose(a, b, rel_tol=SAME, abs_tol=1e-12)
        return [] if same else [f"{place}: {a:.6g} then, {b:.6g} now"]
    return [] if a == b else [f"{place}: {_brief(a)} then, {_brief(b)} now"]


def _number(x: Any) -> bool:
    return isinstance(x, int | float) and not isinstance(x, bool)


def _brief(x: Any) -> str:
    if isinstance(x, list):
        return f"{len(x)} entries"
    return _short("nothing" if x is None else str(x)[:160])

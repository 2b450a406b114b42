"""What was typed into the page, and the job that it makes; kept beside the job file."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from loadsim.base import units
from loadsim.base.errors import InputError, UnitError
from loadsim.base.shop import length_text
from loadsim.job import write
from loadsim.job.questions import kept
from loadsim.job.questions.answers import dimension_of, unknown
from loadsim.job.questions.asking import INSTEAD, Interview, Tables, spoken, take
from loadsim.job.questions.catalogue import QUESTIONS, STRAIGHT, Question
from loadsim.job.questions.defaults import UNKNOWN
from loadsim.job.read import job_beside, read_text, system_of, tables_in
from loadsim.job.shop import filled as with_shop
from loadsim.job.shop import find
from loadsim.job.shop import told as told_of
from loadsim.job.tables import Job
from loadsim.page.ask import GROUND, TOGETHER
from loadsim.page.usual import NOBODY, filled, is_required, nobody

BY_KEY = {q.key: q for q in QUESTIONS if q.key != STRAIGHT}

#: Choice of a metal by its family alone, and whether the cutter's numbers are a proposal.
FAMILY = "page.family"
PROPOSED = "page.proposed"
#: First line of a job file of ours.
WRITTEN_BY = "Written by: loadsim page"

#: A feed that he took from the table.
FEED = "cut.feed_per_tooth"
#: What the job was found to be when it was saved.
VERDICT = "page.verdict"
OF_THE_PAGE = (GROUND, FAMILY, PROPOSED, VERDICT)


@dataclass(slots=True)
class Answers:
    """All that was typed, right or wrong."""

    path: Path  #: of the job file
    typed: dict[str, str] = field(default_factory=dict)  #: "table.key" to what was typed
    rest: Tables = field(default_factory=dict)  #: what the file says that nobody is asked


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What the answers come to."""

    so_far: Interview
    wrong: dict[str, str]  #: key to what is wrong with its answer
    said: dict[str, str]  #: key to its answer in full
    unknown: frozenset[str]  #: keys that nobody knows
    shop: str  #: what the shop file gives, told; empty where it gives nothing

    @property
    def system(self) -> units.System:
        """Units that a bare number is in."""
        return self.so_far.system

    @property
    def settled(self) -> set[str]:
        """Keys with an answer."""
        given = {f"{t}.{k}" for t, keys in self.so_far.fixed.items() for k in keys}
        instead = {k for k, other in INSTEAD.items() if f"{k.partition('.')[0]}.{other}" in given}
        return {*self.so_far.values, *self.unknown, *given, *instead}


def opened(path: Path) -> Answers:
    """Take up the answers kept beside a job file, and what the file says; the later of the two
    goes before the other.

    Parameters
    ----------
    path : Path
        Of the job file, there or to come.

    Returns
    -------
    answers : Answers

    Raises
    ------
    InputError
        If the file is there and cannot be read.
    """
    typed = kept.kept_in(path.parent, kept_name(path)) or {}
    if not path.exists():
        return Answers(path=path, typed=typed)
    text = read_text(path)
    data = tables_in(text, str(path))
    of_file, rest = _from_file(data)
    of_file = _given(Answers(path=path, typed=of_file, rest=rest), nobody(text))
    silent = {key: UNKNOWN for key in TOGETHER if key in BY_KEY and BY_KEY[key].silent}
    of_file = {**silent, "job.units": system_of(data), GROUND: "yes", **of_file}
    beside = path.parent / kept_name(path)
    later = bool(typed) and beside.stat().st_mtime_ns >= path.stat().st_mtime_ns
    both = {**of_file, **typed} if later else {**typed, **of_file}
    return Answers(path=path, typed=both, rest=rest)


def _given(answers: Answers, open_keys: Collection[str]) -> dict[str, str]:
    """Leave out of a file's answers what nobody has given: it still stands as we would have it."""
    typed = {key: text for key, text in answers.typed.items() if key not in open_keys}
    typed |= {key: UNKNOWN for key in open_keys if key in TOGETHER}
    less = Answers(path=answers.path, typed=typed, rest=answers.rest)
    usual = filled(stand(less).so_far)
    for key in open_keys:
        table, _, name = key.partition(".")
        text = answers.typed.get(key)
        if text is not None and text != _as_typed(BY_KEY[key], usual[table][name]):
            typed[key] = text  # changed by hand since
    return typed


def beside(answers: Answers) -> str:
    """Tell the files that an answer rests on beside the job file apart from what they were.

    Parameters
    ----------
    answers : Answers
        Which may name files of test cuts and of metals.

    Returns
    -------
    stamp : str
        Of each its time; empty where there is none.
    """
    tables = {t: keys for t, keys in answers.rest.items() if isinstance(keys, dict)}
    names = [str(keys["material"]) for keys in tables.values() if "material" in keys]
    trials = tables.get("job", {}).get("trials", [])
    names += map(str, trials if isinstance(trials, list) else [])
    shop = find(answers.path.parent, answers.path)
    files = [answers.path.parent / name for name in names] + ([] if shop is None else [shop])
    return "".join(f"\n# {p} {p.stat().st_mtime_ns}" for p in files if p.is_file())


def kept_name(path: Path) -> str:
    """Return the name of the file that keeps the answers."""
    return f".{path.name}.answers"


def keep(answers: Answers) -> None:
    """Keep what was typed, whole or not at all.

    Parameters
    ----------
    answers : Answers
        All of it, right or wrong.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    kept.keep(answers.path.parent, answers.typed, kept_name(answers.path), "page")


def _from_file(data: dict[str, Any]) -> tuple[dict[str, str], Tables]:
    """Split a job file into answers, and what nobody is asked."""
    typed: dict[str, str] = {}
    rest: Tables = {}
    for table, keys in data.items():
        if not isinstance(keys, dict):
            rest[table] = keys
            continue
        for name, value in keys.items():
            question = BY_KEY.get(f"{table}.{name}")
            if question is None or is_file(question, str(value)):
                rest.setdefault(table, {})[name] = value
            else:
                typed[question.key] = _as_typed(question, value)
    return typed, rest


def _as_typed(question: Question, value: Any) -> str:
    """Write a value as it would have been typed: a runout as the reading, twice as much."""
    if question.form != "reading":
        return str(value)
    try:
        reading = 2 * units.parse(value, "length")
    except UnitError:
        return str(value)
    unit = "in" if str(value).rstrip().endswith(("in", '"', "thou")) else "mm"
    return f"{units.to_unit(reading, unit, 'length'):.6g} {unit}"


def is_file(question: Question, text: str) -> bool:
    """Whether an answer names a file of the shop's own, which no page may."""
    from loadsim.materials import folder

    return question.form == "material" and folder.is_path(text)


def stand(answers: Answers) -> Standing:
    """Judge every answer, in the order of the trade.

    Parameters
    ----------
    answers : Answers
        As typed.

    Returns
    -------
    standing : Standing
    """
    given, source = with_shop(dict(answers.rest), answers.path, "metric")
    so_far = Interview(fixed=_to_judge(given, answers.path))
    wrong: dict[str, str] = {}
    said: dict[str, str] = {}
    unknowns = {GROUND} & answers.typed.keys()
    for key, question in BY_KEY.items():
        text = answers.typed.get(key, "").strip()
        if not text or key.partition(".")[2] in so_far.fixed.get(question.table, {}):
            continue
        if unknown(text):
            unknowns.add(key)
            continue
        if is_file(question, text):
            wrong[key] = "A file of your own goes into the job file, not into the page."
            continue
        problems, told = take(so_far, question, text, None)
        if problems or key not in so_far.values:
            refused = "; ".join(in_words(p.message) for p in problems)
            wrong[key] = f"Not taken: {refused}." if problems else _several(question, text)
        else:
            full = " ".join(told).removeprefix("Taken: ").removesuffix(".")
            said[key] = full or _in_units_of_the_job(question, so_far)
    return Standing(
        so_far=so_far,
        wrong=wrong,
        said=said,
        unknown=frozenset(unknowns),
        shop="" if source is None else f"{source.file}: {told_of(source)}",
    )


def in_words(message: str) -> str:
    """Say a refusal to one who types no file: "throat_width" is the throat width to him.

    Parameters
    ----------
    message : str
        Of a problem.

    Returns
    -------
    words : str
    """
    message = message.partition("; 'loadsim materials'")[0]
    words = re.sub(r"\[(\w+)\] ?", r"\1: ", spoken(message).strip())
    words = re.sub(r"\b[a-z]+(_[a-z]+)+\b", lambda key: key[0].replace("_", " "), words)
    return f"it {words}" if words.startswith(("is ", "must ", "has ")) else words


def _in_units_of_the_job(question: Question, so_far: Interview) -> str:
    """Write a length that was typed in the other units as the dials of the job have it."""
    value = str(so_far.values[question.key])
    if question.form != "quantity" or dimension_of(question) != "length":
        return ""
    metric = value.rstrip().endswith(("mm", "cm", "um"))
    other = metric != (so_far.system == "metric")
    return length_text(units.parse(value, "length"), so_far.system) if other else ""


def _several(question: Question, text: str) -> str:
    """Name the materials that may be meant."""
    from loadsim.materials import folder

    names = folder.search(text, "work" if question.table == "work" else "blank")
    return f"{len(names)} are called so: {', '.join(names)}. Type more of the one you mean."


def _to_judge(given: Mapping[str, Any], path: Path) -> Tables:
    """The tables that stand fixed, with materials of the shop's own where they lie."""
    tables = {t: dict(keys) for t, keys in given.items() if isinstance(keys, dict)}
    for table in ("work", "cutter", "throat_mill"):
        own = tables.get(table, {}).get("material")
        if isinstance(own, str) and is_file(BY_KEY["work.material"], own):
            tables[table]["material"] = str(path.parent / own)
    return tables


def assumed(standing: Standing) -> list[str]:
    """List the keys that the job must have and nobody has given: usual values stand for them."""
    return [
        q.key
        for q in BY_KEY.values()
        if _is_needed(q) and q.key not in standing.so_far.values and not _is_fixed(standing, q)
    ]


def _is_needed(question: Question) -> bool:
    """Whether there is no job without it: the file asks for it, or for one of two."""
    return is_required(question.key) or question.key in INSTEAD


def _is_fixed(standing: Standing, question: Question) -> bool:
    given = standing.so_far.fixed.get(question.table, {})
    return question.name in given or INSTEAD.get(question.key) in given


def tables_of(answers: Answers, standing: Standing) -> Tables:
    """Return the job as a file has it, without what the shop file gives.

    Parameters
    ----------
    answers : Answers
        As typed.
    standing : Standing
        What they come to.

    Returns
    -------
    tables : dict
    """
    whole = filled(standing.so_far)
    tables: Tables = {}
    for table, keys in whole.items():
        for name, value in keys.items():
            key = f"{table}.{name}"
            given = key in standing.so_far.values or key not in BY_KEY or _is_needed(BY_KEY[key])
            if given and name not in standing.so_far.fixed.get(table, {}):
                tables.setdefault(table, {})[name] = value
    for table, more in answers.rest.items():
        tables[table] = {**tables.get(table, {}), **more} if isinstance(more, dict) else more
    for key, text in answers.typed.items():
        if key not in BY_KEY and key not in OF_THE_PAGE:  # of a proposed cutter, or a feed taken
            table, _, name = key.partition(".")
            tables[table] = {**tables.get(table, {}), name: text}
    return tables


def text_of(answers: Answers, standing: Standing) -> str:
    """Return the job file.

    Parameters
    ----------
    answers : Answers
        As typed.
    standing : Standing
        What they come to.

    Returns
    -------
    text : str
        TOML with comments.
    """
    open_keys = assumed(standing)
    lines = [WRITTEN_BY]
    if open_keys:
        names = ", ".join(open_keys)
        lines.append(f"{NOBODY}{names}")
    return write.whole(tables_of(answers, standing), "\n".join(lines))


def job_of(answers: Answers, text: str) -> tuple[Job | None, dict[str, str]]:
    """Read the job file as any command would.

    Parameters
    ----------
    answers : Answers
        Where it lies, or is to lie.
    text : str
        Its text.

    Returns
    -------
    job : Job or None
        None where something is wrong.
    wrong : dict
        Key to what is wrong; "" for what no key has.
    """
    try:
        return job_beside(text, answers.path), {}
    except InputError as error:
        wrong: dict[str, str] = {}
        for problem in error.problems:
            key = problem.where.replace("[", "").replace("] ", ".")
            key = key if key in BY_KEY else ""
            text = in_words(problem.message if key else f"{problem.where} {problem.message}")
            wrong[key] = f"{wrong[key]} {text}" if key in wrong else text
        return None, wrong


def propose(answers: Answers, data: Mapping[str, Any]) -> None:
    """Take a proposed cutter for an answer.

    Parameters
    ----------
    answers : Answers
        Gets it.
    data : mapping
        Tables of the completed job file.
    """
    for table in ("cutter", "grind"):
        for name, value in data.get(table, {}).items():
            key = f"{table}.{name}"
            question = BY_KEY.get(key)
            if name not in answers.rest.get(table, {}):
                answers.typed[key] = str(value) if question is None else _as_typed(question, value)
    answers.typed[PROPOSED] = "yes"


def unpropose(answers: Answers) -> None:
    """Forget a proposed cutter."""
    if answers.typed.pop(PROPOSED, None):
        for key in [k for k in answers.typed if k.startswith(("cutter.", "grind."))]:
            del answers.typed[key]


def draft_of(answers: Answers, standing: Standing) -> dict[str, Any]:
    """Return the tables that a cutter is to be proposed for.

    Parameters
    ----------
    answers : Answers
        As typed.
    standing : Standing
        What they come to.

    Returns
    -------
    tables : dict
        Whole but for the cutter, of which only what is to be kept stands there.
    """
    tables = tables_of(answers, standing)
    tables["cutter"] = {"material": tables["cutter"]["material"]}
    tables.pop("grind", None)
    system = system_of(tables)
    return with_shop(tables, answers.path, system)[0]

"""The questions of `loadsim new`, asked one by one, and the job file that their answers make."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from loadsim.base import units
from loadsim.base.errors import InputError, Problem, echo, is_plain
from loadsim.job.messages import STRAIGHT_ONLY
from loadsim.job.questions.answers import Value, in_full, unknown, value_of
from loadsim.job.questions.catalogue import QUESTIONS, STRAIGHT, Question
from loadsim.job.questions.defaults import UNKNOWN, default_of
from loadsim.job.questions.drawings import DRAWINGS
from loadsim.job.write import render

Tables = dict[str, dict[str, Any]]

#: Longest answer that is looked at. [1]
LONGEST = 400

#: Width that help is written in. [1]
WIDTH = 76

#: Keys that another one of the same table may stand for.
INSTEAD = {"cutter.rake": "face_offset"}

#: How the questions begin.
INTRO = (
    "About 30 questions, some ten minutes. An empty line takes the answer in brackets; ? explains"
    " the question, back goes back one. What you do not know may often stay open: don't know."
    " Ctrl-C stops and keeps what you typed."
)


@dataclass(slots=True)
class Interview:
    """What was answered so far."""

    fixed: Tables  #: what a shop file answers
    typed: dict[str, str] = field(default_factory=dict)  #: in the order asked
    values: dict[str, Value] = field(default_factory=dict)  #: those that the file will hold
    before: dict[str, str] = field(default_factory=dict)  #: answers taken back, to be offered again
    listed: list[str] = field(default_factory=list)  #: materials that a number stands for

    @property
    def tables(self) -> Tables:
        """The answers as a job file has them, with what the shop file gives."""
        tables: Tables = {}
        for key, value in self.values.items():
            table, name = key.split(".")
            tables.setdefault(table, {})[name] = value
        for table, keys in self.fixed.items():
            tables[table] = keys | tables.get(table, {})
        return tables

    @property
    def system(self) -> units.System:
        """Units that were asked for."""
        return "inch" if self.values.get("job.units") == "inch" else "metric"


def asked(
    ask: Callable[[str, str], str],
    tell: Callable[[str], object] | None = None,
    *,
    left_out: Callable[[Tables, str], str] | None = None,
    fixed: Mapping[str, Mapping[str, Any]] | None = None,
    start: Mapping[str, str] | None = None,
    keep: Callable[[dict[str, str]], object] | None = None,
) -> str:
    """Write a job file from answers; each is judged at once.

    Parameters
    ----------
    ask : callable
        Takes a question and a default, returns the answer.
    tell : callable, optional
        Takes what is said beside the questions: help, and what is wrong with an answer, which is
        then asked for again; when None such an answer is an error.
    left_out : callable, optional
        Takes a whole job as tables and a "table.key" that it leaves out, returns what is then
        assumed.
    fixed : mapping, optional
        Tables and keys that a shop file gives: they are not asked for.
    start : mapping, optional
        "table.key" to what was typed before, taken without asking.
    keep : callable, optional
        Takes what was typed so far, after each answer.

    Returns
    -------
    text : str
        Without what the shop file gives.

    Raises
    ------
    InputError
        If an answer cannot be used and there is no `tell`, each problem with its key; or if the
        slot is none that is answered for.
    """
    from loadsim.job.read import job_from_dict

    so_far = Interview(fixed={table: dict(keys) for table, keys in (fixed or {}).items()})
    old = dict(start or {})
    while (question := _next(so_far)) is not None:
        default = so_far.before.get(question.key) or default_of(
            question, so_far.tables, so_far.system
        )
        typed = old.pop(question.key, None)
        if typed is None:
            typed = ask(f"{_place(so_far, question)} {question.words}", default).strip() or default
        if _command(so_far, question, typed, tell):
            continue
        problems, said = take(so_far, question, typed, left_out)
        if problems and tell is None:
            raise InputError("answers", problems)
        for sentence in [f"Not taken: {spoken(p.message)}." for p in problems] + said:
            if tell is not None:
                tell(_wrapped(sentence))
        if not problems and keep is not None:
            keep(so_far.typed)
    job_from_dict(so_far.tables, "answers")
    return render("Written from questions.", _without(so_far))


def spoken(message: str) -> str:
    """Say a refusal to someone who types no file."""
    for words in (" without quotes", " as quoted text", " in quotes"):
        message = message.replace(words, "")
    return message


def _without(so_far: Interview) -> Tables:
    """Return the tables of the answers alone."""
    return Interview(fixed={}, values=so_far.values).tables


def _open(so_far: Interview) -> list[Question]:
    """The questions that are asked at all, with the answers so far."""
    hand = so_far.tables.get("machine", {}).get("feed", "hand") == "hand"
    return [
        q for q in QUESTIONS if q.name not in so_far.fixed.get(q.table, {}) and (hand or not q.hand)
    ]


def _next(so_far: Interview) -> Question | None:
    return next((q for q in _open(so_far) if q.key not in so_far.typed), None)


def _place(so_far: Interview, question: Question) -> str:
    return f"{len(so_far.typed) + 1}/{len(_open(so_far))}"


def _command(
    so_far: Interview, question: Question, typed: str, tell: Callable[[str], object] | None
) -> bool:
    """Do what an answer asks for that is none: help, the list, a step back."""
    word = typed.strip().lower()
    if word in ("?", "help") or (word == "list" and question.form == "material"):
        if tell is not None:
            tell(_explained(so_far, question))
        return True
    if word == "back":
        if so_far.typed:
            key, last = so_far.typed.popitem()
            so_far.values.pop(key, None)
            so_far.before[key] = last
        elif tell is not None:
            tell("  This is the first question.")
        return True
    return False


def take(
    so_far: Interview, question: Question, typed: str, left_out: Callable[[Tables, str], str] | None
) -> tuple[list[Problem], list[str]]:
    """Take one answer, unless something is wrong with it.

    Parameters
    ----------
    so_far : Interview
        Gets the answer.
    question : Question
        What was asked.
    typed : str
        As typed, not empty.
    left_out : callable or None
        Says what is assumed for a key that is left open.

    Returns
    -------
    problems : list of Problem
        What is wrong with it.
    said : list of str
        Else what to say of it.
    """
    so_far.before.pop(question.key, None)
    if len(typed) > LONGEST or not is_plain(typed):
        odd = "holds signs that do not print, such as arrow keys"
        message = (
            f"{echo(typed)} {odd if len(typed) <= LONGEST else f'is over {LONGEST} characters'}"
        )
        return [Problem(where=_where(question), message=message)], []
    if unknown(typed):
        return _leave_out(so_far, question, left_out)
    value = value_of(question, typed, so_far.system)
    if question.key == STRAIGHT:
        return _straight(so_far, value, typed)
    said: list[str] = []
    if question.form == "material":
        value, said = _material(so_far, question, str(value))
        if not value:
            return [], said
    trial = Interview(fixed=so_far.fixed, values={**so_far.values, question.key: value})
    problems = _wrong(trial, question)
    if problems:
        return problems, []
    so_far.values[question.key] = value
    so_far.typed[question.key] = value if question.form == "material" else typed  # type: ignore[assignment]
    so_far.listed = []
    full = "" if said else in_full(question, typed, value, so_far.system)
    return [], said or ([f"Taken: {full}."] if full else [])


def _where(question: Question) -> str:
    return f"[{question.table}] {question.name}"


def _straight(so_far: Interview, value: Value, typed: str) -> tuple[list[Problem], list[str]]:
    if value is False:
        message = f"{STRAIGHT_ONLY.removesuffix('.')}; nothing was written"
        raise InputError("loadsim new", [Problem(where="", message=message)])
    if value is not True:
        return [Problem(where="", message=f"{echo(typed)} is neither yes nor no")], []
    so_far.typed[STRAIGHT] = typed
    return [], []


def _leave_out(
    so_far: Interview, question: Question, left_out: Callable[[Tables, str], str] | None
) -> tuple[list[Problem], list[str]]:
    """Leave a key open where the program has an assumption for it, and say which."""
    if not question.silent:
        how = f"; how to find it: {question.measure}" if question.measure else f". {question.help}"
        message = f"this must be known{how}".rstrip(".")
        return [Problem(where=_where(question), message=message)], []
    so_far.typed[question.key] = UNKNOWN
    assumed = left_out(filled(so_far), question.key) if left_out is not None else ""
    return [], [f"Left open. {assumed}".strip()]


def _material(so_far: Interview, question: Question, text: str) -> tuple[str, list[str]]:
    """Return the material that is meant, or none, and what to say."""
    from loadsim.materials import folder

    kind = _kind(question)
    if text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= len(so_far.listed):
        text = so_far.listed[int(text) - 1]
    text = folder.listed(text, kind)
    if folder.is_path(text):
        return text, []
    names = [text] if text in folder.names(kind) else folder.search(text, kind)
    if len(names) == 1:
        return names[0], [f"Taken: {names[0]} ({folder.called(kind)[names[0]].title})."]
    if not names:
        return text, []  # refused with what is near it
    so_far.listed = names
    return "", [f"{len(names)} are called so; type the number of one:", *_numbered(names, kind)]


def _kind(question: Question) -> Any:
    return "work" if question.table == "work" else "blank"


def _numbered(names: list[str], kind: Any) -> list[str]:
    from loadsim.materials import folder

    titles = folder.called(kind)
    return [f"{i:3} {name:22} {titles[name].title}" for i, name in enumerate(names, 1)]


def _explained(so_far: Interview, question: Question) -> str:
    """Explain a question: in a sentence, with a drawing, and how to measure."""
    parts = [_wrapped(question.help)]
    if question.form == "material":
        from loadsim.materials import folder

        so_far.listed = folder.names(_kind(question))
        parts += [f"  {line}" for line in _numbered(so_far.listed, _kind(question))]
    if question.key in DRAWINGS:
        parts.append(DRAWINGS[question.key])
    if question.measure:
        parts.append(_wrapped(f"To find it: {question.measure}."))
    if question.silent:
        parts.append(_wrapped("Not known? Type: don't know. The program then says what it takes."))
    elif question.form in ("quantity", "material"):
        parts.append(_wrapped("This one must be known."))
    return "\n".join(parts)


def _wrapped(sentence: str) -> str:
    if sentence[:3].strip().isdigit():  # a line of a list
        return f"  {sentence}"
    return textwrap.fill(sentence, WIDTH, initial_indent="  ", subsequent_indent="  ")


def filled(so_far: Interview) -> Tables:
    """Return a whole job: the answers so far, and defaults for what comes.

    Parameters
    ----------
    so_far : Interview
        Any of its questions may be open.

    Returns
    -------
    tables : dict
        As a job file has them.
    """
    tables = so_far.tables
    for question in QUESTIONS:
        given = tables.get(question.table, {})
        known = question.name in given or INSTEAD.get(question.key) in given
        if question.key == STRAIGHT or question.silent or known:
            continue
        value = value_of(question, default_of(question, tables, so_far.system), so_far.system)
        tables.setdefault(question.table, {})[question.name] = value
    return tables


def _wrong(so_far: Interview, question: Question) -> list[Problem]:
    """List what is wrong with the answer given last, by itself or beside those before it; defaults
    stand in for what comes.
    """
    from loadsim.job.read import job_from_dict
    from loadsim.materials import load

    where = _where(question)
    try:
        job = job_from_dict(filled(so_far), "answers")
        if question.form == "material":
            name = getattr(job, question.table).material
            (load.load_work if question.table == "work" else load.load_blank)(name)
    except InputError as error:
        return [
            Problem(where=where, message=p.message)
            for p in error.problems
            if p.where == where or (question.form == "material" and not p.where)
        ]
    return []

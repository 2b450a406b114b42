"""What lies on the desk while the page is open: the answers, what they come to, and the counts."""

from __future__ import annotations

import math
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from loadsim.answers.results import Result
from loadsim.base.errors import InputError, Problem
from loadsim.base.files import alone, write_whole
from loadsim.job import write
from loadsim.job.questions.asking import Tables
from loadsim.job.questions.defaults import UNKNOWN
from loadsim.job.read import read_text
from loadsim.job.tables import Job
from loadsim.page import ask, metals, state
from loadsim.page.ask import GROUND, Step
from loadsim.page.run import Counter, First, Found, Tell, whole_count
from loadsim.page.state import BY_KEY, FAMILY, FEED, PROPOSED, VERDICT, Answers, Standing
from loadsim.words import phrases

#: Answers of a step that may be left empty: the head fills the undercut.
MAY_BE_EMPTY = {"cutter.head_diameter", "cutter.head_height"}

#: What may be read off a scrap cut.
READINGS = ("force", "spindle_power", "deflection", "slot_width")

#: What stands for the cutter asks for a new proposal when it changes.
OF_THE_PROPOSAL = ("slot.", "work.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Now:
    """Everything that the page shows."""

    answers: Answers
    standing: Standing
    step: Step | None  #: that is next; None: there is a verdict
    text: str  #: of the job file
    job: Job | None
    wrong: dict[str, str]  #: key to what is wrong, "" for the rest
    first: Result | None  #: from a small sample
    found: Found | None  #: from the whole one
    counting: bool
    share: float  #: of the count [1]
    elapsed: float  #: since a cutter is worked out [s]
    trouble: str
    proposing: bool
    preview: Result | None  #: of numbers that are not all given yet, to be drawn

    @property
    def result(self) -> Result | None:
        """The surest answer there is."""
        return self.found.result if self.found is not None else self.first

    @property
    def text_tables(self) -> Tables:
        """The job file as tables."""
        return state.tables_of(self.answers, self.standing)

    @property
    def open_keys(self) -> list[str]:
        """Questions left, that which moves the chance most first."""
        if self.found is not None and self.found.worths:
            worth = {key: w.factor for key, w in self.found.worths.items()}
        else:
            drivers = () if self.result is None else self.result.risk.drivers
            worth = ask.by_drivers({d.name: d.share for d in drivers})
        return ask.order(open_keys(self.standing), worth)


def open_keys(standing: Standing) -> list[str]:
    """List the questions that are asked one at a time and have no answer yet.

    Parameters
    ----------
    standing : Standing
        What the answers come to.

    Returns
    -------
    keys : list of str
        In the order of the catalogue.
    """
    hand = standing.so_far.tables.get("machine", {}).get("feed", "hand") == "hand"
    return [
        key
        for key, q in BY_KEY.items()
        if key not in ask.TOGETHER and key not in standing.settled and (hand or not q.hand)
    ]


def verdict_text(result: Result) -> str:
    """Return the verdict of a job in one line."""
    word = phrases.VERDICTS[result.verdict]
    return f"{word}: snaps in {phrases.chance_text(result.risk.snap_probability)}"


def _reading(fields: Mapping[str, str]) -> dict[str, str]:
    """What was read off a scrap cut, as the job file has it; nothing where nothing was."""
    name = fields.get("reading", "")
    if name not in READINGS:
        return {}
    return {
        name: fields.get("value", "").strip(),
        f"{name}_uncertainty": fields.get("off", "").strip(),
    }


@dataclass(slots=True)
class Desk:
    """One job at work."""

    path: Path
    answers: Answers = field(init=False)
    on_disk: str | None = field(init=False)  #: the job file as it was read or written last
    first: First = field(default_factory=First)
    counter: Counter[Found] = field(default_factory=Counter)
    proposer: Counter[bool] = field(default_factory=Counter)
    lock: threading.RLock = field(default_factory=threading.RLock)

    def __post_init__(self) -> None:
        """Read what there is."""
        self.on_disk = read_text(self.path) if self.path.exists() else None
        self.answers = state.opened(self.path)

    def now(self, *, yields: bool = False) -> Now:
        """Judge the answers, and count what can be counted.

        Parameters
        ----------
        yields : bool
            Whether he is still typing: it gives way to another answer, and the whole count waits
            until he rests.

        Returns
        -------
        now : Now

        Raises
        ------
        Superseded
            If it yields, and another answer has come meanwhile.
        """
        with self.lock:
            answers = Answers(
                path=self.path, typed=dict(self.answers.typed), rest=self.answers.rest
            )
            standing = state.stand(answers)
            text = state.text_of(answers, standing)
            key = text + state.beside(answers)
            self.counter.stop(but=key)  # an older count would slow this answer down
            job, wrong = state.job_of(answers, text)
            step = ask.next_step(standing.settled)
            proposing = self._propose(answers, standing, step)
        ready = step is None and job is not None and not standing.wrong.keys() & ask.TOGETHER
        first, trouble, preview, resting = None, "", None, False
        if step is ask.CUTTER and job is not None and not proposing:
            preview, _ = self._first(key, job, yields)
        if ready and job is not None:
            first, trouble = self._first(key, job, yields)
            keys = [*open_keys(standing), *sorted(standing.unknown & BY_KEY.keys() - ask.TOGETHER)]
            if yields:
                resting = self.counter.key != key
            elif not trouble:
                self._count(key, job, keys)
        return Now(
            answers=answers,
            standing=standing,
            step=step,
            text=text,
            job=job,
            wrong={**wrong, **standing.wrong},
            first=first,
            found=self.counter.of(key),
            counting=resting or self.counter.counting(key),
            share=self.counter.share,
            elapsed=self.proposer.elapsed,
            trouble=trouble or (self.proposer.trouble if proposing else self.counter.trouble),
            proposing=proposing,
            preview=preview,
        )

    def _first(self, key: str, job: Job, yields: bool) -> tuple[Result | None, str]:
        try:
            return self.first.of(key, job, yields=yields), ""
        except InputError as error:
            if job.trial or job.job.trials:  # too few cases to weigh them: the whole count judges
                return None, ""
            return None, " ".join(p.message for p in error.problems)

    def _count(self, key: str, job: Job, keys: list[str]) -> None:
        self.counter.start(key, lambda tell, take: whole_count(job, keys, tell, take))

    def _propose(self, answers: Answers, standing: Standing, step: Step | None) -> bool:
        """Have a cutter proposed where there is none; say whether it is still to come."""
        asked = answers.typed.get(GROUND) == "no" and PROPOSED not in answers.typed
        if not asked or step is not ask.CUTTER:
            return False
        draft = state.draft_of(answers, standing)

        def count(tell: Tell, take: object) -> None:
            from loadsim.answers.cutter.design import grind

            data = grind(draft, tell).data
            with self.lock:
                tell(1, 1)  # he may have thought better of it
                state.propose(self.answers, data)
                state.keep(self.answers)

        self.proposer.start(repr(draft), count)
        return True

    def take(self, fields: Mapping[str, str], *, final: bool) -> list[str]:
        """Take what a form holds, and keep it.

        Parameters
        ----------
        fields : mapping
            Names to texts.
        final : bool
            Whether he goes on, rather than is still typing.

        Returns
        -------
        missing : list of str
            Keys that must be answered before he goes on.

        Raises
        ------
        InputError
            If it cannot be kept.
        """
        with self.lock:
            typed = self.answers.typed
            before = dict(typed)
            missing = [
                key
                for key, text in fields.items()
                if key in BY_KEY and self._missing(key, text.strip(), final)
            ]
            if (unknown := fields.get("unknown", "")) in BY_KEY:
                typed[unknown] = UNKNOWN
                missing = []
            if fields.get(GROUND) in ("yes", "no"):
                typed[GROUND] = fields[GROUND]
            for family in metals.families() if "family" in fields else ():
                if family.called == fields["family"]:
                    typed["work.material"] = family.worst
                    typed[FAMILY] = family.called
                    missing = [key for key in missing if key != "work.material"]
            self._feed(fields.get("feed"))
            self._follow(before)
            if typed != before:
                state.keep(self.answers)
            return missing

    def _feed(self, text: str | None) -> None:
        """Take a feed of the table; none, to have it picked again."""
        if text == "":
            self.answers.typed.pop(FEED, None)
        elif text is not None:
            if not math.isfinite(float(text)):
                raise self._refused("takes no such feed")
            self.answers.typed[FEED] = f"{float(text):.6g} mm/tooth"

    def _missing(self, key: str, text: str, final: bool) -> bool:
        """Take one answer; say whether it is missing."""
        typed = self.answers.typed
        if text:
            typed[key] = text
            return False
        if not final and typed.get(key) == UNKNOWN:  # left empty before
            return False
        typed.pop(key, None)
        if final and (BY_KEY[key].silent or key in MAY_BE_EMPTY):
            typed[key] = UNKNOWN
        return final and key not in typed

    def _follow(self, before: dict[str, str]) -> None:
        """Let go what stood on answers that have changed."""
        typed = self.answers.typed
        changed = {k for k in {*typed, *before} if typed.get(k) != before.get(k)}
        if "work.material" in changed and FAMILY not in changed:
            typed.pop(FAMILY, None)
        other_way = GROUND in changed and GROUND in before
        if other_way or any(k.startswith(OF_THE_PROPOSAL) for k in changed):
            state.unpropose(self.answers)
            self.proposer.stop()

    def stop(self) -> None:
        """Stop all counts, which end soon."""
        self.counter.stop()
        self.proposer.stop()

    def end(self) -> None:
        """Stop all counts and wait until they have."""
        self.counter.end()
        self.proposer.end()

    def save(self) -> None:
        """Write the job file, whole or not at all.

        Raises
        ------
        InputError
            If something is wrong with it, it was changed by another, or it cannot be written.
        """
        now = self.now()
        if now.job is None or now.step is not None:
            raise self._refused("is not whole yet. " + " ".join(now.wrong.values()))
        if now.result is not None:
            with self.lock:
                self.answers.typed[VERDICT] = verdict_text(now.result)
        self._write(now.text)

    def _write(self, text: str) -> None:
        with self.lock, alone(self.path):
            there = read_text(self.path) if self.path.exists() else None
            if there != self.on_disk:
                raise self._refused("was changed by another since; start the page again")
            write_whole(self.path, text, new=there is None)
            self.on_disk = text
            state.keep(self.answers)  # after it: the later of the two goes before the other

    def _refused(self, why: str) -> InputError:
        return InputError(str(self.path), [Problem(where="", message=why)])

    def record(self, fields: Mapping[str, str]) -> None:
        """Record a scrap cut at the settings shown, and save the job with it.

        Parameters
        ----------
        fields : mapping
            outcome, length and slots as typed.

        Raises
        ------
        InputError
            If it cannot be read, contradicts the model or cannot be written.
        """
        now = self.now()
        if now.result is None:
            raise self._refused("has no answer yet")
        settings = now.result.settings
        length = fields.get("length", "").strip()
        if length and now.job is not None and length.replace(".", "").isdigit():
            length += " in" if now.job.job.units == "inch" else " mm"
        entries = {
            "outcome": fields.get("outcome", ""),
            "length": length,
            "slots": fields.get("slots", "").strip() or "1",
            "spindle_speed": f"{settings.spindle_speed_rpm:.6g} rpm",
            "feed_per_tooth": f"{settings.feed_per_tooth_mm:.6g} mm/tooth",
            **_reading(fields),
        }
        told = tuple(f"{key}={value}" for key, value in entries.items())
        self._write(write.recorded(now.text, str(self.path), told))
        with self.lock:
            self.answers = state.opened(self.path)

    def text(self, *, whole: bool = False) -> str:
        """Return the job file as the answers make it.

        Parameters
        ----------
        whole : bool
            Whether nothing may be missing that is read off the print or the cutter.

        Returns
        -------
        text : str

        Raises
        ------
        InputError
            If something is missing all the same.
        """
        with self.lock:
            standing = state.stand(self.answers)
            if whole and ask.next_step(standing.settled) is not None:
                raise self._refused("is not whole yet")
            return state.text_of(self.answers, standing)

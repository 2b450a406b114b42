"""What is shown: answers, questions and results to HTML. Everything typed is escaped."""

from __future__ import annotations

import math
import re
from typing import Any

from loadsim.base import shop, units
from loadsim.base.errors import UnitError
from loadsim.job.questions.catalogue import Question
from loadsim.job.questions.defaults import UNKNOWN
from loadsim.job.questions.drawings import DRAWINGS
from loadsim.page import ask, bars, jobs, metals, sketch
from loadsim.page.ask import GROUND, Step
from loadsim.page.desk import Desk, Now
from loadsim.page.guard import LONGEST, Guard
from loadsim.page.state import BY_KEY, FAMILY, FEED, PROPOSED, WRITTEN_BY, assumed
from loadsim.page.templates import filled
from loadsim.page.usual import ON_THE_SAFE_SIDE
from loadsim.page.usual import filled as whole
from loadsim.page.worth import LITTLE, STILL
from loadsim.report.rows import short as rows
from loadsim.words import phrases
from loadsim.words.left_out import left_out
from loadsim.words.phrases import EVERY
from loadsim.words.short import chance_between, chance_reason, one_in

#: Box of the drawing of cutter and slot. [mm]
BOX = (88.0, 90.0)

#: What the answers of a closed question are called.
CHOICES = {
    "slot.sides": (("2", "both walls (T-shaped)"), ("1", "one wall only")),
    "slot.open_ends": (("0", "none"), ("1", "one"), ("2", "both")),
}

#: What stands for the answers that are left empty.
LEFT_EMPTY = {
    "slot.width_tolerance": "the general tolerance",
    "cutter.head_diameter": "as the undercut",
    "cutter.head_height": "as the undercut",
}

#: Of what the questions that are asked one at a time are.
ABOUT = {"job": "The job", "work": "The cut", "cutter": "The cutter", "machine": "The machine"}

METAL_HELP = "Type a usual name or a part of it; the list narrows as you type."

UNMOVED = "It moves time or wear, not the chance of one cut."

#: Forms, each with a token of its own.
FORMS = ("answer", "save", "trial", "open", "stop")


def page(
    desk: Desk,
    guard: Guard,
    at: str = "",
    missing: tuple[str, ...] = (),
    told: str = "",
    *,
    live: bool = False,
) -> str:
    """Return the page as it stands.

    Parameters
    ----------
    desk : Desk
        The job at work.
    guard : Guard
        For the tokens of the forms.
    at : str
        Step or question that is asked for; empty: the next.
    missing : tuple of str
        Keys that were left empty.
    told : str
        What to say about what was just done.
    live : bool
        Whether he is still typing, and a newer answer goes before this one.

    Returns
    -------
    html : str

    Raises
    ------
    Superseded
        If he is, and another answer has come meanwhile.
    """
    now = desk.now(yields=live)
    step, key = _place(now, at)
    shown = {
        "name": desk.path.name,
        "number": now.answers.typed.get("job.number", ""),
        "at": step.name if step is not None else key,
        "step": step,
        "fields": _fields(now, step, key, missing),
        "single": _single(now, key) if step is None and key else None,
        "families": tuple(metals.FAMILIES) if step is ask.METAL else (),
        "family": _family(now),
        "strip": _strip(now),
        "proposing": now.proposing,
        "proposed": PROPOSED in now.answers.typed,
        "waiting": now.counting or (now.proposing and not now.trouble),
        "share": f"{now.elapsed:.0f} s so far" if now.proposing else f"{now.share:.0%}",
        "trouble": now.trouble,
        "wrong": _wrong_elsewhere(now, step, key),
        "push": _push(now, step),
        "drawing": "" if step is ask.METAL else _drawing(now, step),
        "gets_in": _gets_in(now) if step in (ask.SLOT, ask.CUTTER_GROUND, ask.CUTTER) else "",
        "answered": _answered(now),
        "taken": _taken(now),
        "feeds": _feeds(now),
        "shop": now.standing.shop,
        "told": told,
        "longest": LONGEST,
        "tokens": {form: guard.token(form) for form in FORMS},
        "rewrites": desk.on_disk is not None and not desk.on_disk.startswith(f"# {WRITTEN_BY}"),
        "jobs": [job for job in jobs.known(desk.path.parent) if job.name != desk.path.name],
        "cuts": len(now.answers.rest.get("trial", ())),
    }
    return filled("page.html", **shown)


def _place(now: Now, at: str) -> tuple[Step | None, str]:
    """The step or the single question to show."""
    step = next((s for s in ask.STEPS if s.name == at), None) or ask.step_of(at)
    if step is not None:
        return step, ""
    if now.step is not None:
        return now.step, ""
    left = now.open_keys
    return None, at if at in BY_KEY else (left[0] if left else "")


def _fields(
    now: Now, step: Step | None, key: str, missing: tuple[str, ...]
) -> list[dict[str, Any]]:
    keys = step.keys if step is not None else ((key,) if key else ())
    return [
        _field(now, BY_KEY[k], k in missing)
        for k in keys
        if k != GROUND and BY_KEY[k].name not in now.standing.so_far.fixed.get(BY_KEY[k].table, {})
    ]


def _field(now: Now, question: Question, missing: bool) -> dict[str, Any]:
    key = question.key
    typed = now.answers.typed.get(key, "")
    system = now.standing.system
    usual = question.inch if question.inch and system == "inch" else question.metric
    needed = "This one is needed." if missing else ""
    if question.choices:
        choices = tuple((c, c) for c in question.choices)
    else:
        choices = CHOICES.get(key, ())
    return {
        "key": key,
        "id": key.replace(".", "-"),
        "label": _label(question),
        "value": "" if typed == UNKNOWN else typed,
        "choices": choices,
        "listed": _listed(question),
        "error": needed or now.wrong.get(key, ""),
        "said": _said(now, question),
        "help": METAL_HELP if question.form == "material" else question.help,
        "measure": question.measure,
        "example": "" if choices or question.form == "text" else usual,
        "empty": LEFT_EMPTY.get(key, ""),
    }


def _listed(question: Question) -> list[tuple[str, str]]:
    """The materials that may be meant."""
    if question.form != "material":
        return []
    return metals.listed("work" if question.table == "work" else "blank")


def _label(question: Question) -> str:
    """The question without what only a terminal needs."""
    spare = question.form in ("choice", "count", "material", "units")
    return question.words.partition(" (")[0] if spare else question.words


def _single(now: Now, key: str) -> dict[str, Any]:
    """A question by itself: what it is, how to find it, and what not knowing costs."""
    question = BY_KEY[key]
    worth = None if now.found is None else now.found.worths.get(key)
    left = now.open_keys
    return {
        "key": key,
        "about": ABOUT.get(question.table, "The slot"),
        "drawing": DRAWINGS.get(key, ""),
        "worth": worth.words if worth is not None else UNMOVED if key in STILL else "",
        "taken": _assumption(now, question),
        "left": len(left),
        "costs": _costs(now, left),
        "skip": next((k for k in left if k != key), ""),
    }


def _costs(now: Now, left: list[str]) -> list[dict[str, Any]]:
    """What each open answer may still move the chance by, as a bar in powers of ten."""
    if now.found is None:
        return []
    worths = {key: now.found.worths[key] for key in left if key in now.found.worths}
    return [
        {
            "key": key,
            "words": BY_KEY[key].words.partition(" (")[0],
            "factor": shop.figures(worth.factor, 2),
            "power": f"{math.log10(worth.factor):.2f}",
        }
        for key, worth in worths.items()
        if worth.factor >= LITTLE
    ]


def _assumption(now: Now, question: Question) -> str:
    """Say what stands for an answer that nobody gives."""
    if question.silent:
        said = "" if now.job is None else left_out(whole(now.standing.so_far), question.key)
        return re.sub(r" and give \[\w+\] \w+", "", said)  # he writes no file
    value = whole(now.standing.so_far)[question.table].get(question.name)
    if value is None or question.key not in assumed(now.standing):
        return ""
    how = "the safe side" if question.key in ON_THE_SAFE_SIDE else "as if it were known"
    return f"Until it is answered, {value} is taken, {how}."


def _family(now: Now) -> str:
    called = now.answers.typed.get(FAMILY, "")
    family = next((f for f in metals.families() if f.called == called), None) if called else None
    if family is None:
        return ""
    return (
        f"Not sure, {family.called}: taken as {family.title}, which takes the most force of them."
    )


def _strip(now: Now) -> dict[str, Any] | None:
    """The verdict, the chance, the settings and the one reason."""
    result, job = now.result, now.job
    if result is None or job is None:
        return None
    accepted = job.target.snap_probability
    sure = now.found is not None
    why, reason = rows.why(result), rows.reason(result, accepted)
    if reason == chance_reason(result.risk.snap_probability, accepted):  # it stands there already
        why, reason = "", why
    return {
        "word": phrases.VERDICTS[result.verdict],
        "kind": result.verdict.value,
        "chance": chance_between(result.risk),
        "batch": rows.batch(result).strip(),
        "accepted": phrases.accepted(accepted),
        "reason": reason,
        "settings": rows.settings_rows(result, job),
        "why": why,
        "deeds": rows.deeds(result, job) if sure else [],
        "cuts": rows.test_cuts(result),
        "look": rows.mistyped(result, job),
        "sure": sure,
        "samples": f"{result.risk.samples:,}",
        "enough": _enough(now, accepted),
        "within": result.risk.high <= accepted,
        "notes": result.warnings,
    }


def _enough(now: Now, accepted: float) -> str:
    """Say that he may stop, once no answer that is left carries the chance over the accepted one;
    empty before.
    """
    if now.found is None or not now.found.feeds:  # what they are worth is not all counted
        return ""
    risk = now.found.result.risk
    worths = [now.found.worths[key] for key in now.open_keys if key in now.found.worths]
    ends = [risk.low, risk.high, *(e for w in worths for e in (w.low, w.high))]
    if not ask.enough(ends, accepted):
        return ""
    if risk.high <= accepted:
        return "Good enough: no single answer that is left would carry it over what is accepted."
    return "No single answer that is left brings it under what is accepted: change cutter or cut."


def _wrong_elsewhere(now: Now, step: Step | None, key: str) -> list[tuple[str, str, str]]:
    """What is wrong with answers that are not in the form: (key, name, message)."""
    here = step.keys if step is not None else (key,)
    return [
        (k, BY_KEY[k].words if k else "", message)
        for k, message in now.wrong.items()
        if k not in here and message and (now.step is None or k)
    ]


def _drawing(now: Now, step: Step | None) -> Any:
    """The slot as it grows, while it is asked for; then with the cutter in it."""
    from markupsafe import Markup

    from loadsim.report.drawings.slot_view import slot_section

    drawn = now.result or now.preview
    if drawn is not None and now.job is not None and step is not ask.SLOT:
        return Markup(slot_section(now.job, drawn.settings, box=BOX))
    slot = now.text_tables["slot"]
    sizes: dict[str, float] = {}
    for name in (*sketch.CALLED, "length"):
        try:
            sizes[name] = units.parse(slot.get(name), "length")
        except UnitError:
            return ""
    given = {key.partition(".")[2] for key in now.standing.so_far.values if key in ask.SLOT.keys}
    sides, ends = int(slot["sides"]), int(slot["open_ends"])
    return Markup(sketch.slot(sizes, given, now.standing.system, sides=sides, ends=ends))


def _push(now: Now, step: Step | None) -> dict[str, Any] | None:
    """How hard the metal pushes back, while that is asked."""
    from markupsafe import Markup

    name = now.standing.so_far.tables.get("work", {}).get("material")
    if step is not ask.METAL or not isinstance(name, str) or name not in metals.pushes():
        return None
    drawn, words = bars.metal(name, now.standing.system)
    return {"drawn": Markup(drawn), "words": words}


def _gets_in(now: Now) -> str:
    """Say which cutters get into the slot at all, once the print says how wide and deep it is."""
    given = now.standing.so_far.values
    if (
        now.job is None
        or not {"slot.throat_width", "slot.depth", "slot.undercut_height"} <= given.keys()
    ):
        return ""
    slot, system = now.job.slot, now.job.job.units
    reach = shop.length_text(slot.depth - slot.undercut_height, system)
    thin = shop.length_text(slot.throat_width, system)
    return f"Whatever the cutter: its neck must be thinner than {thin} and reach over {reach}."


def _answered(now: Now) -> list[dict[str, str]]:
    """Every answer, to be looked over and changed."""
    shown = []
    for key, question in BY_KEY.items():
        typed = now.answers.typed.get(key, "")
        if not typed:
            continue
        worth = None if now.found is None else now.found.worths.get(key)
        cost = worth.words if worth is not None and key in now.standing.unknown else ""
        shown.append(
            {
                "key": key,
                "words": question.words.partition(" (")[0],
                "typed": _called(question, typed),
                "said": _said(now, question) or _stands(now, key),
                "wrong": now.wrong.get(key, ""),
                "cost": cost,
            }
        )
    return shown


def _said(now: Now, question: Question) -> str:
    """An answer in full: of a material what it is called."""
    said = now.standing.said.get(question.key, "")
    if question.form == "material" and " (" in said:
        return said[said.index(" (") + 2 : -1]
    return said


def _called(question: Question, typed: str) -> str:
    """What was typed, as a man says it."""
    if typed == UNKNOWN:
        return LEFT_EMPTY.get(question.key, typed)
    return dict(CHOICES.get(question.key, ())).get(typed, typed)


def _stands(now: Now, key: str) -> str:
    """The usual value that stands for an answer nobody knows."""
    if key not in now.standing.unknown:
        return ""
    question = BY_KEY[key]
    value = now.text_tables.get(question.table, {}).get(question.name)
    return "" if value is None else f"taken as {value}"


def _taken(now: Now) -> list[tuple[str, str, str]]:
    """Usual values that stand for what nobody has given: (key, name, value)."""
    if now.result is None:
        return []
    tables = now.text_tables
    return [
        (key, BY_KEY[key].words.partition(" (")[0], str(tables[q.table][q.name]))
        for key in assumed(now.standing)
        if (q := BY_KEY[key]).name in tables.get(q.table, {})
    ]


def _feeds(now: Now) -> dict[str, Any] | None:
    """Chance and force over the feed, drawn and in numbers."""
    from markupsafe import Markup

    if now.found is None or not now.found.feeds or now.job is None or now.result is None:
        return None
    system = now.job.job.units
    accepted = now.job.target.snap_probability
    seconds = now.result.settings.handwheel_seconds_per_turn
    places = sketch.feed_places(now.found.feeds)
    picked = next(i for i, row in enumerate(now.found.feeds) if row.picked)
    rate = now.found.feeds[picked].rate
    table = [
        {
            "feed": shop.fine(row.feed_per_tooth, system),
            "rate": shop.feed_rate(60 * row.rate, system),
            "turn": f"{seconds * rate / row.rate:.2g} s" if seconds is not None else "",
            "chance": one_in(row.snap_probability) if row.snap_probability < EVERY else "every cut",
            "force": shop.force(row.force, system),
            "picked": row.picked,
            "over": row.snap_probability > accepted,
            "value": f"{row.feed_per_tooth:.6g}",
            "place": f"{place - places[picked]:.3f}",
        }
        for row, place in zip(now.found.feeds, places, strict=True)
    ]
    return {
        "chart": Markup(sketch.feeds(now.found.feeds, accepted, system)),
        "rows": table,
        "picked": picked,
        "hand": seconds is not None,
        "given": FEED in now.answers.typed,
        "open": not now.answers.rest.get("cut", {}).keys() & {"feed_per_tooth", "feed_rate"},
        "accepted": phrases.accepted(accepted),
    }

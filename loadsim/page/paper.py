"""A sheet with the questions of the page, to be filled in where no computer stands."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from loadsim.job.questions.defaults import UNKNOWN
from loadsim.page import ask, sketch
from loadsim.page.desk import Desk
from loadsim.page.state import BY_KEY
from loadsim.page.templates import filled

#: A slot that shows where each number lies, of no job. [mm]
SHOWN = {"throat_width": 6.0, "undercut_width": 10.0, "undercut_height": 2.5, "depth": 7.0}


def paper(desk: Desk) -> str:
    """Return the sheet, with what is answered already filled in.

    Parameters
    ----------
    desk : Desk
        The job at work.

    Returns
    -------
    html : str
    """
    typed = desk.answers.typed
    together = [(step.title, step.keys) for step in ask.STEPS if step is not ask.CUTTER_GROUND]
    single = [key for key in BY_KEY if key not in ask.TOGETHER]
    parts = [
        (title, [_row(key, typed.get(key, "")) for key in keys])
        for title, keys in (*together, ("What narrows the answer", ask.order(single, FIRST)))
    ]
    drawing = Markup(sketch.blank(SHOWN))
    return filled("paper.html", parts=parts, drawing=drawing)


#: Usually the first to be asked, where no answer tells (common practice, no source). [1]
FIRST = {"cutter.neck_fillet": 5.0, "cutter.runout": 4.0, "machine.feed": 3.0, "cutter.wear": 2.0}


def _row(key: str, typed: str) -> dict[str, Any]:
    question = BY_KEY[key]
    how = f"To find it: {question.measure}." if question.measure else question.help
    return {"words": question.words, "how": how, "typed": "" if typed == UNKNOWN else typed}

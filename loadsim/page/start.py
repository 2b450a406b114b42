"""`loadsim page`: the page begun, told of, and ended."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from threading import Thread

from loadsim.answers.check import check
from loadsim.base.errors import InputError, Problem
from loadsim.job.read import job_from_text
from loadsim.job.write import example
from loadsim.page import serve
from loadsim.page.app import Page
from loadsim.page.desk import Desk
from loadsim.page.guard import MOST_BYTES, Guard
from loadsim.page.metals import families
from loadsim.page.run import FIRST
from loadsim.page.views import BOX
from loadsim.report.drawings.slot_view import slot_section
from loadsim.report.terminal.streams import say
from loadsim.risk.samples import draws


def warm() -> None:
    """Do once what takes long the first time: he would wait for it at his first answer."""
    families()
    job = job_from_text(example("t-track"), "t-track")
    slot_section(job, check(job, draws(FIRST), advise=False).settings, box=BOX)


def start(file: str, *, browser: bool) -> None:
    """Serve the page of a job until it is stopped: by its button, or by the keyboard.

    Parameters
    ----------
    file : str
        The job file, there or to come.
    browser : bool
        Whether to open it in his browser.

    Raises
    ------
    InputError
        If the file has no folder, or cannot be read.
    """
    path = Path(file)
    if not path.parent.is_dir():
        message = "cannot be written: its folder is not there; make it, or give another place"
        raise InputError(file, [Problem(where="", message=message)])
    desk = Desk(path)
    listening = serve.bound()
    guard = Guard(port=listening.getsockname()[1])
    application = Page(desk=desk, guard=guard)
    running = serve.Running(listening, application, MOST_BYTES)
    application.stop = running.stop
    warming = Thread(target=warm, daemon=True)
    with suppress(KeyboardInterrupt):
        running.start()
        warming.start()
        shown = browser and serve.show(guard.address)
        say(f"{'Opened in your browser' if shown else 'Open in your browser'}: {guard.address}")
        say("It ends by the button at the foot of the page, or by Ctrl-C here.")
        running.wait()
    with suppress(KeyboardInterrupt):  # a second one does not wait for the counts
        application.end()
        if warming.is_alive():
            warming.join()
    say("Stopped; what was typed is kept.")

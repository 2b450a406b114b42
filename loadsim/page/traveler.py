"""The traveler, made while he looks on: some seconds of counting."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from loadsim.base.errors import InputError, Problem
from loadsim.job.read import job_beside
from loadsim.job.tables import Job
from loadsim.page import state
from loadsim.page.desk import Desk
from loadsim.page.run import Counter, Tell


@dataclass(slots=True)
class Traveler:
    """The sheet of one job, as `loadsim report` writes it."""

    maker: Counter[str] = field(default_factory=Counter)

    def of(self, desk: Desk) -> str | None:
        """Return the sheet of a job as it stands, or begin to make it.

        Parameters
        ----------
        desk : Desk
            The job at work.

        Returns
        -------
        html : str or None
            None while it is being made.

        Raises
        ------
        InputError
            If something is wrong with the job, or it is not whole yet.
        """
        text = desk.text(whole=True)
        job = job_beside(text, desk.path)
        key = text + state.beside(desk.answers)
        self.maker.start(key, lambda tell, take: _make(job, tell, take))
        found, why = self.maker.of(key), self.maker.trouble
        if found is None and why:
            self.maker.stop()  # tried again when he asks again
            raise InputError(str(desk.path), [Problem(where="", message=why)])
        return found


def _make(job: Job, tell: Tell, take: Callable[[str], None]) -> None:
    from loadsim.answers.plan import plan
    from loadsim.report.html import page_text

    take(page_text(plan(job, progress=tell)))

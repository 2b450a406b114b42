"""Will the neck survive? The whole answer for one job, from setup to verdict."""

from __future__ import annotations

from collections.abc import Callable

from loadsim.answers.advice import advice
from loadsim.answers.end_holes import predrill_verdict
from loadsim.answers.operations import drills_over
from loadsim.answers.proved import way_in
from loadsim.answers.results import Result, Verdict
from loadsim.answers.settings import pick, picked_rate
from loadsim.answers.states import loads_of, neck_of, settings_of
from loadsim.answers.throat_mill import MillSettings, mill_settings, mill_state
from loadsim.answers.verdict import governing, verdict_of, why_marginal, with_mill, with_tools
from loadsim.base.version import __version__
from loadsim.job.tables import Job
from loadsim.loads.cut import Cutting, Engagement, Picked, cutting, written_engagement
from loadsim.loads.limits import undercut
from loadsim.loads.limits.utilization import Limit
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk import samples, trial_update
from loadsim.risk.breaks import bad_case
from loadsim.risk.results import Risk, Trials
from loadsim.risk.samples import few_of
from loadsim.risk.snap import risk_of, snaps
from loadsim.words import breaks, notes
from loadsim.words.limits import worded
from loadsim.words.notes import core_left, feel, slow_feed, warnings

#: Steps of which a check tells how far it is.
STEPS = 5


def check(
    job: Job,
    drawn: samples.Draws | None = None,
    seen: trial_update.Weighed | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Result:
    """Answer whether the neck survives the cut as written in ``[cut]``; what is left out is picked.

    Parameters
    ----------
    job : Job
        From `loadsim.read_job`.
    drawn : Draws, optional
        Sample of the risk, to be shared between checks; made when None.
    seen : Weighed, optional
        The same sample as the test cuts of this job weigh it, where that is known already.
    progress : callable, optional
        Called with the number of steps done and of all steps.

    Returns
    -------
    result : Result

    Raises
    ------
    InputError
        If a material is not known, the cut asks for what the job does not give, or its test cuts
        contradict the model.
    """
    resolved = resolve(job)
    report = progress or (lambda done, of: None)
    report(0, STEPS)
    seen = seen or trial_update.weighed(resolved, drawn or samples.draws())
    few = few_of(seen.drawn)
    engagement = written_engagement(resolved, job.cut.stepover)
    report(1, STEPS)
    picked = pick(resolved, engagement, job.cut.stepover, few)
    report(2, STEPS)
    cut = cutting(resolved, engagement, picked.speed, picked.f_z)
    mill = mill_settings(resolved)
    limits = [
        *(worded(limit, resolved.units) for limit in undercut.checks(resolved, cut)),
        *way_in(resolved, engagement.passes),
    ]
    risk, why_it_snaps = _risk(resolved, engagement, picked, limits, seen.drawn)
    trials = trial_update.trials_of(resolved, engagement, picked.f_z, picked.speed, seen, risk)
    report(3, STEPS)
    verdict = verdict_of(limits, risk, job.target.snap_probability)
    helps = () if verdict is Verdict.GO else advice(resolved, picked, limits, few, verdict)
    settings = settings_of(resolved, engagement, picked)
    drills = drills_over(resolved, settings.predrill)
    whole = with_tools(with_mill(verdict, mill), hold=not drills)
    report(4, STEPS)
    return Result(
        loadsim=__version__,
        job=job.job.number,
        verdict=whole,
        governed_by=governing(limits, risk.snap_probability / job.target.snap_probability),
        settings=settings,
        loads=loads_of(cut, picked, resolved),
        neck=neck_of(resolved, cut),
        limits=tuple(sorted(limits, key=lambda limit: (limit.fit, -limit.utilization))),
        risk=risk,
        predrill=predrill_verdict(resolved, picked.speed, few),
        feel=feel(resolved, cut),
        advice=helps,
        picked=picked.notes,
        warnings=_warnings(resolved, cut, picked, mill, seen, trials, risk),
        sources=_sources(resolved, mill),
        throat_mill=None if mill is None else mill_state(resolved, mill),
        trials=trials,
        why=why_marginal(limits, risk, job.target.snap_probability, mill, drills)
        if whole is Verdict.MARGINAL
        else "",
        bad_case=why_it_snaps,
    )


def _risk(
    job: ResolvedJob,
    engagement: Engagement,
    picked: Picked,
    limits: list[Limit],
    drawn: samples.Draws,
) -> tuple[Risk, str]:
    """Chance that the neck snaps, and what the cuts that snap have in common."""
    snap = snaps(job, engagement, picked.f_z, drawn, speed=picked.speed)
    risk = risk_of(job, snap, drawn)
    common = bad_case(job, engagement.passes, picked.f_z, limits, risk, snap, drawn)
    return risk, breaks.why_it_snaps(common)


def _warnings(
    job: ResolvedJob,
    cut: Cutting,
    picked: Picked,
    mill: MillSettings | None,
    seen: trial_update.Weighed,
    trials: Trials | None,
    risk: Risk,
) -> tuple[str, ...]:
    return (
        *notes.notes(seen, trials),
        *_mill_warnings(job, mill),
        *slow_feed(job, picked_rate(job, picked)),
        *core_left(job),
        *warnings(job, cut, risk),
    )


def _mill_warnings(job: ResolvedJob, mill: MillSettings | None) -> tuple[str, ...]:
    if mill is None:
        return ()
    over = ", ".join(limit.name for limit in mill.limits if limit.hard and limit.over)
    unsafe = (f"The throat mill does not hold: {over} over capacity.",) if over else ()
    return (*unsafe, *slow_feed(job, mill.rate, "Throat mill: "), *mill.notes)


def _sources(job: ResolvedJob, mill: MillSettings | None) -> tuple[str, ...]:
    """Sources of every material of the job, each once."""
    keys = (*job.work.sources, *job.blank.sources, *(mill.sources if mill else ()))
    return tuple(dict.fromkeys(keys))

"""Will the neck survive? The whole answer for one job, from setup to verdict."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from loadsim.answers.advice import advice
from loadsim.answers.end_holes import predrill_verdict
from loadsim.answers.operations import drills_over
from loadsim.answers.proved import room_proved, way_in
from loadsim.answers.results import Cause, Help, PredrillVerdict, Result, Verdict
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
from loadsim.risk.batch import batch_of, prove_of
from loadsim.risk.breaks import bad_case, what_snaps
from loadsim.risk.results import Batch, Prove, Risk, Trials
from loadsim.risk.samples import few_of
from loadsim.risk.snap import risk_of, snaps
from loadsim.words import breaks, notes
from loadsim.words.feel import feel
from loadsim.words.limits import worded
from loadsim.words.notes import core_left, room_note, slow_feed, tools_help, warnings

#: Steps of which a check tells how far it is.
STEPS = 5

#: What a check without advice says of end holes.
NOT_LOOKED = PredrillVerdict(
    verdict="not looked at", why="Asked without advice, end holes are not looked at.", holes=None
)


def check(
    job: Job,
    drawn: samples.Draws | None = None,
    seen: trial_update.Weighed | None = None,
    progress: Callable[[int, int], None] | None = None,
    *,
    advise: bool = True,
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
    advise : bool
        Whether to seek what would make it pass, to look at end holes, to follow the cutter through
        all slots of the job and to weigh a scrap cut, which takes longest.

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
    seen = seen or trial_update.weighed(resolved, drawn or samples.draws_for(job))
    few = few_of(seen.drawn)
    engagement = written_engagement(resolved, job.cut.stepover)
    report(1, STEPS)
    picked = pick(resolved, engagement, job.cut.stepover, few)
    report(2, STEPS)
    cut = cutting(resolved, engagement, picked.speed, picked.f_z)
    found = undercut.checks(resolved, cut)
    proved = room_proved(resolved, engagement.passes, found)
    limits = [worded(limit, resolved.units) for limit in found]
    held = [limit for limit in limits if limit.name not in proved]
    held += way_in(resolved, engagement.passes)
    risk, why_it_snaps, cause = _risk(resolved, engagement, cut, picked, held, seen.drawn)
    report(3, STEPS)
    verdict = verdict_of(held, risk, job.target.snap_probability)
    sought = advise and verdict is not Verdict.GO
    told, helps = ((), ()) if not sought else advice(resolved, picked, held, few, verdict, proved)
    report(4, STEPS)
    return _result(
        _Checked(
            job=resolved,
            engagement=engagement,
            picked=picked,
            cut=cut,
            limits=held,
            risk=risk,
            verdict=verdict,
            mill=mill_settings(resolved),
            seen=seen,
        ),
        advice=told,
        helps=helps,
        cause=cause,
        bad_case=why_it_snaps,
        proved=tuple(room_note(x, proved[x.name]) for x in limits if x.name in proved),
        predrill=predrill_verdict(resolved, picked.speed, few) if advise else NOT_LOOKED,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Checked:
    """A cut with all that was found of it."""

    job: ResolvedJob
    engagement: Engagement
    picked: Picked
    cut: Cutting
    limits: list[Limit]
    risk: Risk
    verdict: Verdict  #: of the undercut
    mill: MillSettings | None
    seen: trial_update.Weighed


def _result(
    c: _Checked,
    advice: tuple[str, ...],
    helps: tuple[Help, ...],
    cause: Cause,
    bad_case: str,
    proved: tuple[str, ...],
    predrill: PredrillVerdict,
) -> Result:
    """Put what was found into the answer; without advice nothing is looked at that comes later."""
    ahead = predrill is not NOT_LOOKED
    job = c.job
    target = job.target.snap_probability
    settings = settings_of(job, c.engagement, c.picked)
    mill = None if c.mill is None else mill_state(job, c.mill)
    drills = drills_over(job, settings.predrill)
    verdict = with_tools(with_mill(c.verdict, mill), hold=not drills)
    why = why_marginal(c.limits, c.risk, target, drills)
    trials = trial_update.trials_of(job, c.engagement, c.picked.f_z, c.picked.speed, c.seen, c.risk)
    return Result(
        loadsim=__version__,
        job=job.written.job.number,
        verdict=verdict,
        governed_by=governing(c.limits, c.risk, target, mill),
        settings=settings,
        loads=loads_of(c.cut, c.picked, job),
        neck=neck_of(job, c.cut, c.engagement, c.picked.f_z),
        limits=tuple(sorted(c.limits, key=lambda limit: (limit.fit, -limit.utilization))),
        risk=c.risk,
        predrill=predrill,
        feel=feel(job, c.cut),
        advice=advice or tools_help(mill, drills),
        picked=c.picked.notes,
        warnings=(*proved, *_warnings(c, trials)),
        sources=_sources(job, c.mill),
        throat_mill=mill,
        trials=trials,
        why=why if verdict is Verdict.MARGINAL else "",
        bad_case=bad_case,
        batch=_batch(c) if ahead else None,
        prove=_prove(c) if ahead and verdict is Verdict.MARGINAL else None,
        helps=helps,
        cause=cause,
    )


def _batch(c: _Checked) -> Batch:
    """What becomes of the cutter over all slots of the job."""
    slots = c.job.written.slots_in_batch
    if slots == 1:
        p = c.risk.snap_probability
        return Batch(slots=1, snap_probability=p, slots_to_target=None, stone_after_slots=None)
    return batch_of(c.job, c.engagement, c.picked.f_z, c.picked.speed, c.seen.drawn, slots)


def _prove(c: _Checked) -> Prove:
    """The scrap cut that proves it."""
    return prove_of(c.job, c.engagement, c.picked.f_z, c.picked.speed, c.seen.drawn)


def _risk(
    job: ResolvedJob,
    engagement: Engagement,
    cut: Cutting,
    picked: Picked,
    limits: list[Limit],
    drawn: samples.Draws,
) -> tuple[Risk, str, Cause]:
    """Chance that the neck snaps, what the cuts that snap have in common as a sentence where the
    limits do not explain it, and in any case where it goes and what with.
    """
    snap = snaps(job, engagement, picked.f_z, drawn, speed=picked.speed)
    risk = risk_of(job, snap, drawn)
    common = bad_case(job, engagement.passes, picked.f_z, limits, risk, snap, drawn)
    traits = what_snaps(job, engagement.passes, picked.f_z, snap, drawn)
    cause = Cause(at_shoulder=bool(cut.summary.at_shoulder.any()), traits=traits)
    return risk, breaks.why_it_snaps(common), cause


def _warnings(c: _Checked, trials: Trials | None) -> tuple[str, ...]:
    return (
        *notes.notes(c.seen, trials),
        *_mill_warnings(c.job, c.mill),
        *slow_feed(c.job, picked_rate(c.job, c.picked)),
        *core_left(c.job),
        *warnings(c.job, c.cut, c.risk),
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

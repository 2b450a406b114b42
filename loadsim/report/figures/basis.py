"""The plan's own cut, made once for all charts."""

from __future__ import annotations

from dataclasses import dataclass

from loadsim.answers.results import Plan
from loadsim.loads import cut
from loadsim.loads.cut import Engagement, cutting, written_engagement
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.risk.samples import Draws, draws, few_of

#: Base-2 logarithm of the samples for curves and for other necks; the answer itself has more. [1]
SAMPLES_LOG2 = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """A plan's own cut, made once for all charts."""

    plan: Plan
    job: ResolvedJob
    way: Engagement
    speed: float  #: spindle speed [rad/s]
    f_z: float  #: feed per tooth [mm]
    cut: cut.Cutting


def basis_of(plan: Plan) -> Basis:
    """Run the chain for the cut that a plan chose.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.

    Returns
    -------
    basis : Basis
    """
    job = resolve(plan.job)
    cut = plan.job.cut
    if cut.spindle_speed is None or cut.feed_per_tooth is None:
        raise ValueError(
            "the plan's job has no spindle speed or feed; charts are made from loadsim.plan(job)"
        )
    way = written_engagement(job, cut.stepover)
    return Basis(
        plan=plan,
        job=job,
        way=way,
        speed=cut.spindle_speed,
        f_z=cut.feed_per_tooth,
        cut=cutting(job, way, cut.spindle_speed, cut.feed_per_tooth),
    )


def samples(plan: Plan) -> Draws:
    """Sample of the risk for curves: fewer points than the answer, weighed by the test cuts as the
    answer is.

    Parameters
    ----------
    plan : Plan
        Its test cuts.

    Returns
    -------
    samples : Draws
    """
    if not plan.job.trial and not plan.job.job.trials:
        return draws(SAMPLES_LOG2)
    return few_of(plan.drawn)

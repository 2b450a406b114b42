"""What the print will see of a planned cut: slot width, wall lean and floor step with their spread,
gauges, what to correct.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from loadsim.answers.results import Correction, Inspection, Plan, Spread
from loadsim.base import units
from loadsim.base.errors import InputError, Problem
from loadsim.base.numbers import Array
from loadsim.job import tolerances
from loadsim.job.tables import Job
from loadsim.loads.assumptions import STONE_LAND
from loadsim.loads.cut import written_passes
from loadsim.loads.load_case import LoadCase
from loadsim.loads.passes import Pass, contacts_of, drop_in_hole, side_reach
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.loads.walls import (
    BACKLASH_LEFT,
    HEAD_SD,
    HEAD_SD_ODD,
    SETTING_SD,
    TRAM_SD,
    Scatter,
    Walls,
    walls_of,
)
from loadsim.mechanics import gauging
from loadsim.risk import samples


def scatter_of(
    job: ResolvedJob, steps: tuple[Pass, ...], drawn: samples.Draws, wear_land: float = STONE_LAND
) -> Scatter:
    """Draw head size, wear, settings of the table and squareness of the spindle.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter and machine.
    steps : tuple of Pass
        The passes.
    drawn : Draws
        Of the force chain; wear goes with its draw of edge wear.
    wear_land : float
        Worn land on the tooth of a cutter due for the stone. [mm]

    Returns
    -------
    scatter : Scatter

    References
    ----------
    ISO8688Wear
    """
    n = drawn.u.shape[1]
    rng = np.random.default_rng(drawn.seed)
    z = rng.standard_normal((2 + len(steps), n))
    head_sd = HEAD_SD if job.cutter.teeth % 2 == 0 else HEAD_SD_ODD
    across = z[2:]
    if len({step.offset for step in steps}) == 1:  # the table is not moved across between passes
        across = np.repeat(across[:1], len(steps), axis=0)
    return Scatter(
        head=head_sd * z[0],
        wear=wear_land * drawn.u[samples.Uncertain.EDGE_WEAR] * math.tan(job.relief),
        tram=TRAM_SD * z[1],
        setting=math.hypot(SETTING_SD, BACKLASH_LEFT * job.backlash) * across,
    )


#: Base-2 logarithm of the samples. [1]
SAMPLES_LOG2 = 12

#: Least distance that a pass can be moved by. [mm]
SETTABLE = 0.001

#: Deviation of the median that is not worth a correction, over the tolerance of the width (common
#: practice, no source). [1]
WORTH = 0.1

#: The same for a head that would have to be ground anew. [1]
WORTH_A_HEAD = 0.5


def inspect_cut(plan: Plan) -> Inspection:
    """Predict what an inspector will measure on the undercut of a plan.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.

    Returns
    -------
    inspection : Inspection
    """
    return inspect_job(plan.job)


def inspect_job(job: Job, samples_log2: int = SAMPLES_LOG2, seed: int = samples.SEED) -> Inspection:
    """Predict what an inspector will measure on the undercut of a job whose [cut] is filled in.

    Parameters
    ----------
    job : Job
        With the feed per tooth given.
    samples_log2 : int
        Base-2 logarithm of the number of samples, at least 8. [1]
    seed : int
        Stamped in the result.

    Returns
    -------
    inspection : Inspection

    Raises
    ------
    InputError
        If the feed per tooth is not given.
    ValueError
        If a result is not finite.
    """
    resolved = resolve(job)
    f_z = job.cut.feed_per_tooth
    if f_z is None:
        raise InputError(
            "job", [Problem(where="[cut] feed_per_tooth", message="is missing; plan the cut first")]
        )
    steps = written_passes(resolved, job.cut.stepover)
    contacts = contacts_of(steps, job.cutter.teeth, 24)
    drawn = samples.draws(samples_log2, seed)
    case = samples.sampled_case(resolved, contacts, f_z, drawn.z)
    scatter = scatter_of(resolved, steps, drawn)
    walls = walls_of(resolved, steps, contacts, case, scatter)
    if not all(np.isfinite(getattr(walls, name)).all() for name in Walls.__dataclass_fields__):
        raise ValueError("a predicted wall is not a finite number")
    return _prediction(resolved, steps, case, scatter, walls, drawn, f_z)


def _prediction(
    job: ResolvedJob,
    steps: tuple[Pass, ...],
    case: LoadCase,
    scatter: Scatter,
    walls: Walls,
    drawn: samples.Draws,
    f_z: float,
) -> Inspection:
    """Put the prediction into the answer."""
    slot = job.slot
    tolerance = slot.width_tolerance
    n = drawn.u.shape[1]
    width = _width(walls)
    correction = correct(job, steps, width.p50 - slot.undercut_width)
    under = over = out = None
    gauges: tuple[gauging.Method, ...] = ()
    notes = _notes(job)
    if float(np.median(-walls.deflection)) > f_z:
        notes.insert(
            0,
            "A wall pushes the head off by more than the feed per tooth: the real wall lies between"
            " this prediction and the head's size, and a second pass at the same setting brings it"
            " nearer to the latter.",
        )
    if tolerance is not None and tolerance < slot.undercut_width:
        low = slot.undercut_width - tolerance
        high = slot.undercut_width + tolerance
        under, over, out = gauging.out_of_tolerance(walls.narrowest, walls.widest, low, high)
        gauges, remarks = _gauges(job, low, high)
        notes += list(remarks)
    return Inspection(
        drawn_width_mm=slot.undercut_width,
        tolerance_mm=tolerance,
        width_mm=width,
        wall_lean_mm=_spread(walls.lean),
        floor_step_mm=_spread(walls.step),
        deflection_mm=float(np.median(walls.deflection)),
        runout_growth_mm=slot.sides * float(np.median(case.rho)),
        wear_loss_mm=slot.sides * float(np.median(scatter.wear)),
        under=under,
        over=over,
        out=out,
        gauges=gauges,
        correction=correction,
        samples=n,
        seed=drawn.seed,
        notes=tuple(dict.fromkeys(notes)),
    )


def _spread(sizes: Array) -> Spread:
    p05, p50, p95 = (float(quantile) for quantile in np.quantile(sizes, (0.05, 0.5, 0.95)))
    return Spread(p05=p05, p50=p50, p95=p95)


def _width(walls: Walls) -> Spread:
    """Spread of the width: its low end where the slot is narrowest, its high end where it is
    widest.
    """
    middle = float(np.median((walls.narrowest + walls.widest) / 2))
    return Spread(
        p05=float(np.quantile(walls.narrowest, 0.05)),
        p50=middle,
        p95=float(np.quantile(walls.widest, 0.95)),
    )


def _gauges(
    job: ResolvedJob, low: float, high: float
) -> tuple[tuple[gauging.Method, ...], tuple[str, ...]]:
    slot = job.slot
    if low <= slot.throat_width:
        return (), ("The tolerance reaches down to the throat's width: no gauge sizes are given.",)
    return gauging.methods(
        low,
        high,
        slot.throat_width,
        slot.undercut_height,
        slot.sides,
        slot.open_ends,
        job.units,
        job.head.corner,
    )


def _notes(job: ResolvedJob) -> list[str]:
    slot = job.slot
    cutter = job.cutter
    notes = [
        "The runout is taken to point at a tooth, as an indicator on the teeth reads it; read"
        " on the neck it may widen the slot less.",
        "Chips that pack, a stop of the feed and tilting in the collet are left out: they mark"
        " the wall beyond this.",
    ]
    if slot.width_tolerance is None:
        notes.append("The job gives no width_tolerance: the width is predicted, not judged.")
    elif slot.width_tolerance >= slot.undercut_width:
        notes.append(
            "width_tolerance is as large as the width itself: the width is predicted, not judged."
        )
    if cutter.teeth % 2:
        notes.append(
            f"A head of {cutter.teeth} teeth has no opposite pair: its diameter is taken to be"
            f" known to {units.show(HEAD_SD_ODD, 'length', job.units)} only, which two heads in"
            " three keep (one standard deviation)."
        )
    return notes


def correct(job: ResolvedJob, steps: tuple[Pass, ...], excess: float) -> Correction:
    """Say what to grind off, to add or to set so that the median of the width lands on the drawn
    one.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, cutter and machine.
    steps : tuple of Pass
        The passes.
    excess : float
        Median of the width less the drawn width. [mm]

    Returns
    -------
    correction : Correction
    """

    def show(length: float) -> str:
        return units.show(length, "length", job.units)

    teeth = job.cutter.teeth
    known = HEAD_SD if teeth % 2 == 0 else HEAD_SD_ODD
    idle = max(known, WORTH * 2 * tolerances.wall_allowance(job.written)[0])
    stepped = any(step.direction != "both" for step in steps)
    if -idle < excess < idle:
        as_near = (
            "as nearly as the head can be measured"
            if idle == known
            else f"within {WORTH:.0%} of the tolerance"
        )
        return Correction(
            kind="none", change_mm=0.0, why=f"The median lies on the drawn width {as_near}."
        )
    if stepped:
        return _offset(job, steps, excess, show)
    if excess > 0:
        return Correction(
            kind="grind",
            change_mm=-excess,
            why=f"Grind {show(excess)} off the head's diameter, {show(excess / 2)} at each tooth.",
        )
    if excess > -WORTH_A_HEAD * 2 * tolerances.wall_allowance(job.written)[0]:
        return Correction(
            kind="none",
            change_mm=0.0,
            why=(
                f"The median lies {show(-excess)} under the drawn width, well inside the tolerance:"
                " leave the head as it is."
            ),
        )
    why = (
        f"The head is {show(-excess)} too small in diameter, and metal cannot be ground on: grind a"
        f" new head of {show(job.cutter.head_diameter - excess)}, or take a side pass on each side."
    )
    if drop_in_hole(job) is not None:
        why += " The drop-in hole must let the larger head through."
    return Correction(kind="new head", change_mm=-excess, why=why)


def _offset(
    job: ResolvedJob, steps: tuple[Pass, ...], excess: float, show: Callable[[float], str]
) -> Correction:
    """Move the side passes instead of grinding the head, as far as the neck clears the throat."""
    sides = job.slot.sides
    outermost = max(math.fabs(step.offset) for step in steps)
    wanted = -excess / sides
    room = side_reach(job) - outermost
    each = "each outer pass" if sides == 2 else "the outer pass"
    if wanted > room + 1e-9:
        move = max(room, 0.0)
        lacking = show(-(excess + sides * move))
        if move < SETTABLE:
            return Correction(
                kind="offset short",
                change_mm=move,
                why=(
                    f"There is no room to set {each} farther out: the neck already comes as near"
                    f" the throat as it may; the width stays {lacking} short, which takes a"
                    " head larger by that."
                ),
            )
        return Correction(
            kind="offset short",
            change_mm=move,
            why=(
                f"Set {each} {show(move)} farther out, where the neck still clears the "
                f"throat; the width stays {lacking} short, which takes a head larger by that."
            ),
        )
    side = "farther out" if wanted > 0 else "less far out"
    return Correction(
        kind="offset",
        change_mm=wanted,
        why=f"Set {each} {show(max(wanted, -wanted))} {side}; leave the head as it is.",
    )

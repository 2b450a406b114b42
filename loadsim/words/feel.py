"""Whether a hand at the wheel feels the neck coming to its end, and in time."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loadsim.base import units
from loadsim.loads.assumptions import (
    DRIVE,
    HAND_ANSWERS,
    JUST_NOTICED,
    SCREW_EFFICIENCY,
    TABLE_FRICTION_SD,
    TABLE_FRICTION_SD_MEASURED,
    UNHEEDED,
    WHEEL_RADIUS,
    WHEEL_SWING,
)
from loadsim.loads.cut import Cutting, one, snapping
from loadsim.loads.holding import table_friction
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import strength
from loadsim.mechanics.chip import feed_rate
from loadsim.words.phrases import plain


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheel:
    """What a hand at the rim of the handwheel holds and notices."""

    snaps: float  #: force at which the neck snaps [N]
    empty: float  #: force that turns the wheel while nothing cuts, median [N]
    low: float  #: two wheels in three lie between this [N]
    high: float  #: and this [N]
    noticed: float  #: least change that is noticed [N]
    left: float  #: from then until the neck snaps, the cutter not cutting; negative: never [s]

    @property
    def noticeable(self) -> bool:
        """Whether what snaps the neck stands out of what the empty wheel takes."""
        return self.snaps > self.noticed

    @property
    def in_time(self) -> bool:
        """Whether a hand that has noticed it can still stop."""
        return self.noticeable and self.left > HAND_ANSWERS


def wheel_of(job: ResolvedJob, cut: Cutting) -> Wheel:
    """Forces at the handwheel's rim, and the time that a hand has.

    A change is noticed over the largest of `UNHEEDED` and ``JUST_NOTICED + WHEEL_SWING`` of what
    the empty wheel takes, at the firm end of its spread: a hand tells a tenth of the force it holds
    at best, and slides that stick swing by more. A cutter that no longer cuts is bent by the feed,
    so the push grows by stiffness times table feed: what is noticed later than `HAND_ANSWERS`
    before the snap is noticed too late. More force on the empty wheel raises the one and shortens
    the other: it never makes the snap more felt.

    Parameters
    ----------
    job : ResolvedJob
        Its handwheel, and the force of the empty wheel where that was measured.
    cut : Cutting
        The cut.

    Returns
    -------
    wheel : Wheel
    """

    def at_rim(force: float) -> float:
        return float(strength.rim_force(force, job.handwheel, WHEEL_RADIUS, SCREW_EFFICIENCY))

    force, _ = snapping(job, cut)
    empty = at_rim(table_friction(job))
    measured = job.machine.wheel_force is not None
    spread = math.exp(TABLE_FRICTION_SD_MEASURED if measured else TABLE_FRICTION_SD)
    noticed = max(UNHEEDED, (JUST_NOTICED + WHEEL_SWING) * empty * spread)
    growth = one(cut.summary.stiffness) * feed_rate(
        one(cut.case.f_z), job.cutter.teeth, float(cut.speed)
    )
    return Wheel(
        snaps=at_rim(force),
        empty=empty,
        low=empty / spread,
        high=empty * spread,
        noticed=noticed,
        left=(force - noticed / at_rim(1.0)) / growth,
    )


def feel(job: ResolvedJob, cut: Cutting) -> str:
    """Answer the practitioner's worry: whether a hand, or the spindle, tells before the neck snaps.

    Parameters
    ----------
    job : ResolvedJob
        Its machine, and the units to speak in.
    cut : Cutting
        The cut.

    Returns
    -------
    text : str
        A few sentences, the answer first.
    """
    force, torque = snapping(job, cut)
    stall = DRIVE * job.machine.spindle_power / float(cut.speed)

    def t(x: float) -> str:
        return units.show(x, "torque", job.units)

    spindle = (
        f"The spindle stalls only at {t(stall)}, past the {t(torque)} that twist the neck off."
        if stall > torque
        else f"The spindle stalls at {t(stall)}, before the {t(torque)} that twist the neck off."
    )
    if job.machine.feed == "hand":
        return f"{_by_hand(job, force, wheel_of(job, cut))} {spindle}"
    return (
        f"No: a driven table does not notice the push of {_force(job, force)} that snaps the neck."
        f" {spindle}"
    )


def _force(job: ResolvedJob, x: float) -> str:
    """To two figures: what a hand feels has no more."""
    unit = "lbf" if job.units == "inch" else "N"
    return f"{plain(units.to_unit(x, unit, 'force'), 2)} {unit}"


def _by_hand(job: ResolvedJob, force: float, wheel: Wheel) -> str:
    noticed = _force(job, wheel.noticed)
    if not wheel.noticeable:
        answer = "No, you will not feel it: " + (
            f"a hand that feeds does not heed less than {noticed}."
            if wheel.noticed == UNHEEDED
            else f"less than {noticed} is lost in what this wheel takes by itself."
        )
    elif not wheel.in_time:
        answer = (
            f"Only as it goes: once the cutter stops cutting, the neck snaps {plain(wheel.left, 1)}"
            f" s after a hand can notice {noticed} more; a hand takes {plain(HAND_ANSWERS, 1)} s."
        )
    else:
        answer = (
            f"You may: once the cutter stops cutting a hand can notice {noticed} more at the rim,"
            f" {plain(wheel.left, 1)} s before the neck snaps."
        )
    low = _force(job, wheel.low).split()[0]
    empty = f"{_force(job, wheel.empty)} ({low} to {_force(job, wheel.high)}"
    if job.machine.wheel_force is None:
        empty += ", assumed: pull the crank with a spring scale and give [machine] wheel_force"
    return (
        f"{answer} A push of {_force(job, force)} on the table snaps the neck,"
        f" {_force(job, wheel.snaps)} at the wheel's rim; turning the wheel empty takes {empty})."
    )

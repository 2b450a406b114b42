"""job/rules_cut"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

from loadsim.base import units
from loadsim.base.errors import Problem
from loadsim.job.tables import Cut, Cutter, Job, Slot, Trial
from loadsim.mechanics import chip

#: Most passes of an undercut; more take minutes to work out and hours to make. [1]
MOST_PASSES = 100

#: Least and greatest feed per tooth, as for the key of that name. [mm/tooth]
FEEDS = (1e-5, 5.0)


def pass_count(slot: Slot, head_diameter: float, head_height: float, stepover: float | None) -> int:
    """How many passes an undercut takes, those that meet no metal counted.

    Parameters
    ----------
    slot : Slot
        The [slot] table.
    head_diameter : float
        Not over the undercut's width. [mm]
    head_height : float
        [mm]
    stepover : float or None
        Largest step of a side pass; None: each side in one step. [mm]

    Returns
    -------
    n : int
        [1]
    """
    heights = math.ceil(slot.undercut_height / head_height - 1e-9)
    if stepover is None:
        return heights * (
            3
            if slot.sides == 2
            and slot.undercut_width - head_diameter > (slot.width_tolerance or 0.0) + 1e-9
            else 1
        )
    span = (
        (slot.undercut_width - head_diameter) / 2
        if slot.sides == 2
        else slot.undercut_width - min(head_diameter, slot.throat_width)
    )
    return heights * max(slot.sides * math.ceil(span / stepover - 1e-9) + slot.sides - 1, 1)


def feed_problems(where: str, rate: float, speed: float, teeth: int) -> list[Problem]:
    """List what is wrong with a table feed at a spindle speed: the feed per tooth that it makes is
    out of range.

    Parameters
    ----------
    where : str
        The key.
    rate : float
        Table feed. [mm/s]
    speed : float
        Spindle speed. [rad/s]
    teeth : int
        Number of teeth. [1]

    Returns
    -------
    problems : list of Problem
    """
    f_z = chip.feed_per_tooth(rate, teeth, speed)
    least, most = FEEDS
    if least * (1 - 1e-9) <= f_z <= most * (1 + 1e-9):
        return []
    return [
        Problem(
            where=where,
            message=(
                f"makes {f_z:.6g} mm/tooth at {speed * 30 / math.pi:.5g} rpm with {teeth} "
                f"{'teeth' if teeth > 1 else 'tooth'}; allowed is {least:g} to {most:g} mm/tooth"
            ),
        )
    ]


#: Most steps of a side pass; more is a slip of the decimal point. [1]
MOST_STEPS = 30

#: Most depths of the throat slot; more is a slip of the decimal point too. [1]
MOST_LEVELS = 200


def mill_relations(job: Job, say: Callable[[float], str]) -> list[Problem]:
    """List what does not fit in [throat_mill].

    Parameters
    ----------
    job : Job
        The whole job.
    say : callable
        Writes a length.

    Returns
    -------
    problems : list of Problem
    """
    mill = job.throat_mill
    slot = job.slot
    machine = job.machine
    rpm = 30 / math.pi
    found: list[Problem] = []
    if mill is None:
        return found
    depth = slot.depth if slot.throat_depth is None else slot.throat_depth

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[throat_mill] {key}", message=message))

    if mill.diameter > slot.throat_width * (1 + 1e-9):
        wrong(
            "diameter",
            f"is {say(mill.diameter)}; it must not be over throat_width, {say(slot.throat_width)}",
        )
    if mill.diameter * MOST_STEPS < slot.throat_width:
        wrong(
            "diameter",
            f"is {say(mill.diameter)}; that makes over {MOST_STEPS} passes side by side, allowed is"
            f" from {say(slot.throat_width / MOST_STEPS)}",
        )
    if mill.flute_length < depth * (1 - 1e-9):
        wrong(
            "flute_length",
            f"is {say(mill.flute_length)}; the throat slot is {say(depth)} deep and the shank must"
            " stay out of it",
        )
    if mill.stickout < mill.flute_length * (1 - 1e-9):
        wrong(
            "stickout",
            f"is {say(mill.stickout)}; it runs from the collet to the tip, so it is at least"
            f" flute_length, {say(mill.flute_length)}",
        )
    if mill.corner_radius is not None and mill.corner_radius > mill.diameter / 2 * (1 + 1e-9):
        wrong(
            "corner_radius",
            f"is {say(mill.corner_radius)}; it must not be over half the diameter,"
            f" {say(mill.diameter / 2)}",
        )
    low = machine.min_spindle_speed or 0.0
    high = machine.max_spindle_speed
    if mill.spindle_speed is not None and not low * (1 - 1e-9) <= mill.spindle_speed <= high * (
        1 + 1e-9
    ):
        wrong(
            "spindle_speed",
            f"is {mill.spindle_speed * rpm:.5g} rpm; the machine runs {low * rpm:.5g} to"
            f" {high * rpm:.5g} rpm",
        )
    if (
        mill.depth_per_pass is not None
        and not depth / MOST_LEVELS <= mill.depth_per_pass <= depth * (1 + 1e-9)
    ):
        wrong(
            "depth_per_pass",
            f"is {say(mill.depth_per_pass)}; allowed is from {say(depth / MOST_LEVELS)} to the"
            f" throat's depth, {say(depth)}",
        )
    return found


#: Least width of metal to undercut. [mm]
LEAST_UNDERCUT = 0.001

#: What can be read off a test cut; each has a key of the same name with `_uncertainty`.
READINGS = ("force", "torque", "spindle_power", "deflection", "slot_width", "wall_offset")


def slot_sizes(system: units.System) -> Callable[[float], str]:
    """Return how a length is written, finer than a shop holds: it is compared with what was given."""

    def say(x: float) -> str:
        metric = f"{x:.6g} mm"
        inch = f"{x / units.IN:.4g} in"
        return f"{inch} ({metric})" if system == "inch" else f"{metric} ({inch})"

    return say


def _too_many(
    slot: Slot, cutter: Cutter, stepover: float | None, say: Callable[[float], str]
) -> list[Problem]:
    n = pass_count(slot, cutter.head_diameter, cutter.head_height, stepover)
    if n <= MOST_PASSES:
        return []
    where, x = (
        ("[cutter] head_height", cutter.head_height)
        if stepover is None
        else ("[cut] stepover", stepover)
    )
    return [
        Problem(
            where=where,
            message=(
                f"is {say(x)}; with a head {say(cutter.head_height)} high that makes {n} passes,"
                f" allowed is at most {MOST_PASSES}: take a larger stepover or a higher head"
            ),
        )
    ]


def setting_relations(job: Job, cut: Cut, cutter: Cutter) -> list[Problem]:
    """List what does not fit between settings, cutter and the rest of a job: the only relations
    that see both of the two.

    Parameters
    ----------
    job : Job
        The job; its own [cut] and [cutter] are not read.
    cut : Cut
        The [cut] table.
    cutter : Cutter
        The [cutter] table.

    Returns
    -------
    problems : list of Problem
    """
    machine = job.machine
    work = job.work
    found = []
    say = slot_sizes(job.job.units)
    low = machine.min_spindle_speed
    high = machine.max_spindle_speed
    rpm = 30 / math.pi
    if low is not None and low > high:
        found.append(
            Problem(
                where="[machine] min_spindle_speed",
                message=(
                    f"is {low * rpm:.5g} rpm; it must not be over "
                    f"max_spindle_speed, {high * rpm:.5g} rpm"
                ),
            )
        )
    if cut.feed_per_tooth is not None and cut.feed_rate is not None:
        found.append(
            Problem(
                where="[cut] feed_rate",
                message="is given together with feed_per_tooth; give one of the two",
            )
        )
    if cut.spindle_speed is not None and not (low or 0.0) <= cut.spindle_speed <= high * (1 + 1e-9):
        found.append(
            Problem(
                where="[cut] spindle_speed",
                message=(
                    f"is {cut.spindle_speed * rpm:.5g} rpm; the machine runs "
                    f"{(low or 0) * rpm:.5g} to {high * rpm:.5g} rpm"
                ),
            )
        )
    # with a speed yet to be picked the fastest makes the thinnest chip
    if cut.feed_rate is not None:
        found += [
            p
            for p in feed_problems(
                "[cut] feed_rate", cut.feed_rate, cut.spindle_speed or high, cutter.teeth
            )
            if cut.spindle_speed is not None
            or cut.feed_rate > chip.feed_rate(FEEDS[1], cutter.teeth, high)
        ]
    if (work.kc11 is None) != (work.mc is None):
        found.append(
            Problem(
                where="[work] mc" if work.mc is None else "[work] kc11",
                message="is missing; kc11 and mc belong together: give both or neither",
            )
        )
    if work.rake_reference is not None and work.kc11 is None:
        found.append(
            Problem(
                where="[work] rake_reference",
                message="is given without kc11 and mc, which it belongs to",
            )
        )
    slot = job.slot
    head = cutter.head_diameter
    span = (
        (slot.undercut_width - head) / 2
        if slot.sides == 2
        else slot.undercut_width - min(head, slot.throat_width)
    )
    if cut.stepover is not None and span / cut.stepover > MOST_STEPS:
        found.append(
            Problem(
                where="[cut] stepover",
                message=(
                    f"is {say(cut.stepover)}; that makes over {MOST_STEPS} steps a side, "
                    f"allowed is from {say(span / MOST_STEPS)}"
                ),
            )
        )
    return found or _too_many(slot, cutter, cut.stepover, say)


def predrill_relations(job: Job) -> list[Problem]:
    holes = job.predrill
    slot = job.slot
    say = slot_sizes(job.job.units)
    if holes is None:
        return []
    r = holes.diameter / 2
    half = slot.throat_width / 2
    wide = slot.undercut_width
    low, high = (-wide / 2, wide / 2) if slot.sides == 2 else (-half, wide - half)
    found = _hole_heights(job)
    for y in holes.offsets:
        if not (low + r <= y <= high - r):
            found.append(
                Problem(
                    where="[predrill] offsets",
                    message=(
                        f"hold {say(y)}; a hole of {say(holes.diameter)} stays inside the undercut"
                        f" only from {say(low + r)} to {say(high - r)} off the centre line"
                    ),
                )
            )
    if slot.open_ends == 0:
        found.append(
            Problem(
                where="[predrill]", message="needs an open end to drill from; [slot] open_ends is 0"
            )
        )
    return found


def _hole_heights(job: Job) -> list[Problem]:
    """Heights of the end holes: one for all, or one for each; inside the undercut, and clear of
    each other.
    """
    holes = job.predrill
    slot = job.slot
    say = slot_sizes(job.job.units)
    if holes is None:
        return []
    key = "height" if holes.heights is None else "heights"
    r = holes.diameter / 2
    if (holes.height is None) == (holes.heights is None):
        both = holes.height is not None
        like = "0.05 in" if job.job.units == "inch" else "1.3 mm"
        return [
            Problem(
                where="[predrill] height",
                message=(
                    "is given together with heights; give one of the two"
                    if both
                    else 'is missing; give height = "'
                    + like
                    + '" for all holes, or heights, one for each of the offsets'
                ),
            )
        ]
    if holes.heights is not None and len(holes.heights) != len(holes.offsets):
        return [
            Problem(
                where="[predrill] heights",
                message=(
                    f"hold {len(holes.heights)} for {len(holes.offsets)} offsets; give one for each"
                ),
            )
        ]
    heights = [holes.height or 0.0] * len(holes.offsets) if holes.heights is None else holes.heights
    found = []
    for z in dict.fromkeys(heights):
        if not (r <= z <= slot.undercut_height - r):
            found.append(
                Problem(
                    where=f"[predrill] {key}",
                    message=(
                        f"{'is' if key == 'height' else 'hold'} {say(z)}; a hole of"
                        f" {say(holes.diameter)} stays inside the undercut only with its axis from"
                        f" {say(r)} to {say(slot.undercut_height - r)}"
                    ),
                )
            )
    axes = sorted(zip(holes.offsets, heights, strict=True))
    for (a, za), (b, zb) in itertools.combinations(axes, 2):
        if math.hypot(b - a, zb - za) < holes.diameter * (1 - 1e-9):
            found.append(
                Problem(
                    where="[predrill] offsets",
                    message=(
                        f"{say(a)} and {say(b)} are closer than the diameter; "
                        "holes must not run into each other"
                    ),
                )
            )
    return found


def trial_relations(job: Job, trial: Trial, number: int) -> list[Problem]:
    """List what does not fit in one test cut: its settings, and a reading with its uncertainty."""
    found: list[Problem] = []
    say = slot_sizes(job.job.units)

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[[trial]] {number} {key}", message=message))

    if (trial.feed_per_tooth is None) == (trial.feed_rate is None):
        wrong(
            "feed_rate",
            (
                "is given together with feed_per_tooth; give one of the two"
                if trial.feed_rate is not None
                else 'is missing; give feed_per_tooth = "'
                + units.example("feed per tooth", job.job.units)
                + '" or feed_rate = "'
                + units.example("feed speed", job.job.units)
                + '"'
            ),
        )
    if trial.feed_rate is not None:
        found += feed_problems(
            f"[[trial]] {number} feed_rate", trial.feed_rate, trial.spindle_speed, job.cutter.teeth
        )
    if trial.predrill and job.predrill is None:
        wrong(
            "predrill",
            "is true, but the file has no table [predrill] that says what was drilled; give it",
        )
    if trial.stepover is not None and job.slot.undercut_width / trial.stepover > 2 * MOST_STEPS:
        wrong("stepover", f"is {say(trial.stepover)}; that makes over {MOST_STEPS} steps a side")
    for name in READINGS:
        value = getattr(trial, name)
        spread = getattr(trial, f"{name}_uncertainty")
        if (value is None) != (spread is None):
            wrong(
                f"{name}_uncertainty" if spread is None else name,
                "is missing; a reading and its uncertainty belong together, 19 readings in "
                "20 lie within plus and minus that",
            )
        elif value is not None and not name.endswith(("width", "offset")) and spread > value:
            wrong(
                f"{name}_uncertainty",
                f"is {spread / value:.3g} times the reading; from such a reading nothing can be"
                " learned: leave both out",
            )
    return found

"""What has to fit in [cut], [predrill], [throat_mill] and [[trial]], their keys being right."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator

from loadsim.base import units
from loadsim.base.errors import Problem
from loadsim.job.tables import Cut, Cutter, Job, Machine, Predrill, Slot, ThroatMill, Trial, Work
from loadsim.mechanics import chip

#: Most passes of an undercut; more take minutes to work out and hours to make. [1]
MOST_PASSES = 100

#: Least and greatest feed per tooth, as for the key of that name. [mm/tooth]
FEEDS = (1e-5, 5.0)

#: Most steps of a side pass; more is a slip of the decimal point. [1]
MOST_STEPS = 30

#: Most depths of the throat slot; more is a slip of the decimal point too. [1]
MOST_LEVELS = 200

#: Least width of metal to undercut. [mm]
LEAST_UNDERCUT = 0.001

#: What can be read off a test cut; each has a key of the same name with `_uncertainty`.
READINGS = ("force", "torque", "spindle_power", "deflection", "slot_width", "wall_offset")

#: A key of a table, what is wrong with it and what would be right; in one, or in two.
Fault = tuple[str, str] | tuple[str, str, str]


def problems_in(table: str, faults: Iterable[Fault]) -> list[Problem]:
    """Return the faults of one table as problems, each with its place.

    Parameters
    ----------
    table : str
        As a job file heads it, in brackets.
    faults : iterable of Fault
        Key, empty for the whole table, and what is wrong with it.

    Returns
    -------
    problems : list of Problem
    """
    return [
        Problem(
            where=f"{table} {key}" if key else table,
            message="; ".join([wrong, *rule]),
            rule="".join(rule),
        )
        for key, wrong, *rule in faults
    ]


def slot_sizes(system: units.System) -> Callable[[float], str]:
    """Return how a length is written, finer than a shop holds: it stands beside what was given."""

    def say(length: float) -> str:
        metric = f"{length:.6g} mm"
        inch = f"{length / units.IN:.4g} in"
        return f"{inch} ({metric})" if system == "inch" else f"{metric} ({inch})"

    return say


def _rpm(speed: float) -> str:
    return f"{units.to_unit(speed, 'rpm', 'angular speed'):.5g}"


def side_span(slot: Slot, head_diameter: float) -> float:
    """How far a side pass of the undercut has to go out, in all its steps. [mm]"""
    if slot.sides == 2:
        return (slot.undercut_width - head_diameter) / 2
    return slot.undercut_width - min(head_diameter, slot.throat_width)


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
        left = slot.undercut_width - head_diameter
        to_both_sides = slot.sides == 2 and left > (slot.width_tolerance or 0.0) + 1e-9
        return heights * (3 if to_both_sides else 1)
    span = side_span(slot, head_diameter)
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
                f"makes {f_z:.6g} mm/tooth at {_rpm(speed)} rpm with {teeth} "
                f"{'teeth' if teeth > 1 else 'tooth'}; allowed is {least:g} to {most:g} mm/tooth"
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
    say = slot_sizes(job.job.units)
    problems = [
        *problems_in("[machine]", _machine_faults(job.machine)),
        *problems_in("[cut]", _speed_faults(job.machine, cut, cutter, say)),
        *_feed_rate_problems(job.machine, cut, cutter),
        *problems_in("[work]", _work_faults(job.work)),
        *problems_in("[cut]", _step_faults(job.slot, cut, cutter, say)),
    ]
    return problems or _too_many(job.slot, cutter, cut.stepover, say)


def _machine_faults(machine: Machine) -> Iterator[Fault]:
    low = machine.min_spindle_speed
    high = machine.max_spindle_speed
    if low is not None and low > high:
        yield (
            "min_spindle_speed",
            f"is {_rpm(low)} rpm; it must not be over max_spindle_speed, {_rpm(high)} rpm",
        )
    if machine.wheel_force is not None and machine.feed != "hand":
        yield (
            "wheel_force",
            f'is given with feed = "{machine.feed}"; it is measured at a handwheel that feeds the'
            ' cut: leave it out, or write feed = "hand"',
        )


def spindle_speed_of(cut: Cut, cutter: Cutter) -> float | None:
    """Spindle speed, given as such or by the speed of the teeth; None: to be picked. [rad/s]"""
    if cut.spindle_speed is not None or cut.surface_speed is None:
        return cut.spindle_speed
    return cut.surface_speed / (cutter.head_diameter / 2)


def _speed_faults(
    machine: Machine, cut: Cut, cutter: Cutter, say: Callable[[float], str]
) -> Iterator[Fault]:
    low = machine.min_spindle_speed or 0.0
    high = machine.max_spindle_speed
    if cut.spindle_speed is not None and cut.surface_speed is not None:
        yield "surface_speed", "is given together with spindle_speed; give one of the two"
    if cut.feed_per_tooth is not None and cut.feed_rate is not None:
        yield "feed_rate", "is given together with feed_per_tooth; give one of the two"
    speed = spindle_speed_of(cut, cutter)
    if speed is not None and not low <= speed <= high * (1 + 1e-9):
        runs = f"the machine runs {_rpm(low)} to {_rpm(high)} rpm"
        if cut.spindle_speed is not None:
            yield "spindle_speed", f"is {_rpm(speed)} rpm; {runs}"
        else:
            head = say(cutter.head_diameter)
            yield "surface_speed", f"makes {_rpm(speed)} rpm on this head of {head}; {runs}"


def _feed_rate_problems(machine: Machine, cut: Cut, cutter: Cutter) -> list[Problem]:
    """With a speed yet to be picked the fastest makes the thinnest chip: only too much is wrong."""
    rate = cut.feed_rate
    speed = spindle_speed_of(cut, cutter)
    teeth = cutter.teeth
    fastest = machine.max_spindle_speed
    if rate is None:
        return []
    if speed is None and rate <= chip.feed_rate(FEEDS[1], teeth, fastest):
        return []
    return feed_problems("[cut] feed_rate", rate, speed or fastest, teeth)


def _work_faults(work: Work) -> Iterator[Fault]:
    if (work.kc11 is None) != (work.mc is None):
        yield (
            "mc" if work.mc is None else "kc11",
            "is missing; kc11 and mc belong together: give both or neither",
        )
    if work.rake_reference is not None and work.kc11 is None:
        yield "rake_reference", "is given without kc11 and mc, which it belongs to"


def _step_faults(
    slot: Slot, cut: Cut, cutter: Cutter, say: Callable[[float], str]
) -> Iterator[Fault]:
    span = side_span(slot, cutter.head_diameter)
    if cut.stepover is not None and span / cut.stepover > MOST_STEPS:
        yield (
            "stepover",
            f"is {say(cut.stepover)}; that makes over {MOST_STEPS} steps a side, "
            f"allowed is from {say(span / MOST_STEPS)}",
        )


def _too_many(
    slot: Slot, cutter: Cutter, stepover: float | None, say: Callable[[float], str]
) -> list[Problem]:
    height = cutter.head_height
    n = pass_count(slot, cutter.head_diameter, height, stepover)
    if n <= MOST_PASSES:
        return []
    where, size = (
        ("[cutter] head_height", height) if stepover is None else ("[cut] stepover", stepover)
    )
    message = (
        f"is {say(size)}; with a head {say(height)} high that makes {n} passes,"
        f" allowed is at most {MOST_PASSES}: take a larger stepover or a higher head"
    )
    return [Problem(where=where, message=message)]


def mill_relations(job: Job) -> list[Problem]:
    """List what does not fit in [throat_mill].

    Parameters
    ----------
    job : Job
        The whole job.

    Returns
    -------
    problems : list of Problem
    """
    mill = job.throat_mill
    if mill is None:
        return []
    say = slot_sizes(job.job.units)
    depth = job.slot.depth if job.slot.throat_depth is None else job.slot.throat_depth
    return [
        *problems_in("[throat_mill]", _mill_size_faults(mill, job.slot, depth, say)),
        *problems_in("[throat_mill]", _mill_setting_faults(mill, job.machine, depth, say)),
    ]


def _mill_size_faults(
    mill: ThroatMill, slot: Slot, depth: float, say: Callable[[float], str]
) -> Iterator[Fault]:
    if mill.diameter > slot.throat_width * (1 + 1e-9):
        yield (
            "diameter",
            f"is {say(mill.diameter)}; it must not be over throat_width, {say(slot.throat_width)}",
        )
    if mill.diameter * MOST_STEPS < slot.throat_width:
        yield (
            "diameter",
            f"is {say(mill.diameter)}; that makes over {MOST_STEPS} passes side by side, allowed is"
            f" from {say(slot.throat_width / MOST_STEPS)}",
        )
    if mill.flute_length < depth * (1 - 1e-9):
        yield (
            "flute_length",
            f"is {say(mill.flute_length)}; the throat slot is {say(depth)} deep and the shank must"
            " stay out of it",
        )
    if mill.stickout < mill.flute_length * (1 - 1e-9):
        yield (
            "stickout",
            f"is {say(mill.stickout)}; it runs from the collet to the tip, so it is at least"
            f" flute_length, {say(mill.flute_length)}",
        )
    if mill.corner_radius is not None and mill.corner_radius > mill.diameter / 2 * (1 + 1e-9):
        yield (
            "corner_radius",
            f"is {say(mill.corner_radius)}; it must not be over half the diameter,"
            f" {say(mill.diameter / 2)}",
        )


def _mill_setting_faults(
    mill: ThroatMill, machine: Machine, depth: float, say: Callable[[float], str]
) -> Iterator[Fault]:
    low = machine.min_spindle_speed or 0.0
    high = machine.max_spindle_speed
    speed = mill.spindle_speed
    if speed is not None and not low * (1 - 1e-9) <= speed <= high * (1 + 1e-9):
        yield (
            "spindle_speed",
            f"is {_rpm(speed)} rpm; the machine runs {_rpm(low)} to {_rpm(high)} rpm",
        )
    level = mill.depth_per_pass
    least = depth / MOST_LEVELS
    if level is not None and not least <= level <= depth * (1 + 1e-9):
        yield (
            "depth_per_pass",
            f"is {say(level)}; allowed is from {say(least)} to the throat's depth, {say(depth)}",
        )


def predrill_relations(job: Job) -> list[Problem]:
    """List what does not fit in [predrill].

    Parameters
    ----------
    job : Job
        The whole job.

    Returns
    -------
    problems : list of Problem
    """
    holes = job.predrill
    if holes is None:
        return []
    say = slot_sizes(job.job.units)
    if holes.along is not None:
        return problems_in("[predrill]", _top_hole_faults(holes, holes.along, job.slot, say))
    faults = [
        *(_height_keys(holes, job.job.units) or _hole_heights(holes, job.slot, say)),
        *_hole_offsets(holes, job.slot, say),
    ]
    if job.slot.open_ends == 0:
        faults.append(("", "needs an open end to drill from; [slot] open_ends is 0"))
    return problems_in("[predrill]", faults)


def _height_keys(holes: Predrill, system: units.System) -> list[Fault]:
    """Heights are given for all holes or for each, not both and not neither."""
    if holes.height is not None and holes.heights is not None:
        return [("height", "is given together with heights; give one of the two")]
    if holes.heights is None:
        like = "0.05 in" if system == "inch" else "1.3 mm"
        message = (
            f'is missing; give height = "{like}" for all holes, or heights, one for each of the'
            " offsets"
        )
        return [] if holes.height is not None else [("height", message)]
    if len(holes.heights) != len(holes.offsets):
        message = f"hold {len(holes.heights)} for {len(holes.offsets)} offsets; give one for each"
        return [("heights", message)]
    return []


def _top_hole_faults(
    holes: Predrill, along: list[float], slot: Slot, say: Callable[[float], str]
) -> Iterator[Fault]:
    """Holes from the top stand at a closed end, over the undercut, and clear of each other."""
    if slot.open_ends == 2:
        yield "along", "is for holes at a closed end; [slot] open_ends is 2"
    if holes.height is not None or holes.heights is not None:
        yield "along", "is given together with a height; holes from the top have none"
    if len(along) != len(holes.offsets):
        yield "along", f"hold {len(along)} for {len(holes.offsets)} offsets; give one for each"
        return
    if holes.depth > slot.depth * (1 + 1e-9):
        yield (
            "depth",
            f"is {say(holes.depth)}; that is past the undercut's floor, {say(slot.depth)} deep",
        )
    low, high = _outline(slot)
    r = holes.diameter / 2
    for x, y in zip(along, holes.offsets, strict=True):
        if not (low <= y <= high and -r < x <= slot.length):
            yield (
                "along",
                f"and offsets put a hole at {say(x)} and {say(y)}; its axis lies over the undercut,"
                f" up to {say(r)} past its end",
            )
    for a, b in itertools.combinations(zip(along, holes.offsets, strict=True), 2):
        if math.dist(a, b) < holes.diameter * (1 - 1e-9):
            yield "along", "and offsets put two holes closer than the diameter"


def _outline(slot: Slot) -> tuple[float, float]:
    """Both walls of the undercut, from the centre line. [mm]"""
    half = slot.throat_width / 2
    wide = slot.undercut_width
    return (-wide / 2, wide / 2) if slot.sides == 2 else (-half, wide - half)


def _hole_heights(holes: Predrill, slot: Slot, say: Callable[[float], str]) -> Iterator[Fault]:
    """Holes stay inside the undercut, and clear of each other."""
    key, verb = ("height", "is") if holes.heights is None else ("heights", "hold")
    heights = holes.heights or [holes.height or 0.0] * len(holes.offsets)
    r = holes.diameter / 2
    for z in dict.fromkeys(heights):
        if not (r <= z <= slot.undercut_height - r):
            yield (
                key,
                f"{verb} {say(z)}; a hole of {say(holes.diameter)} stays inside the undercut only"
                f" with its axis from {say(r)} to {say(slot.undercut_height - r)}",
            )
    axes = sorted(zip(holes.offsets, heights, strict=True))
    for (a, za), (b, zb) in itertools.combinations(axes, 2):
        if math.hypot(b - a, zb - za) < holes.diameter * (1 - 1e-9):
            yield (
                "offsets",
                f"{say(a)} and {say(b)} are closer than the diameter; "
                "holes must not run into each other",
            )


def _hole_offsets(holes: Predrill, slot: Slot, say: Callable[[float], str]) -> Iterator[Fault]:
    r = holes.diameter / 2
    low, high = _outline(slot)
    for y in holes.offsets:
        if not (low + r <= y <= high - r):
            yield (
                "offsets",
                f"hold {say(y)}; a hole of {say(holes.diameter)} stays inside the undercut"
                f" only from {say(low + r)} to {say(high - r)} off the centre line",
            )


def trial_relations(job: Job, trial: Trial, number: int) -> list[Problem]:
    """List what does not fit in one test cut: its settings, and a reading with its uncertainty.

    Parameters
    ----------
    job : Job
        The whole job.
    trial : Trial
        The test cut.
    number : int
        Its place in the file, from 1. [1]

    Returns
    -------
    problems : list of Problem
    """
    table = f"[[trial]] {number}"
    rate = trial.feed_rate
    return [
        *problems_in(table, _trial_feed_faults(trial, job.job.units)),
        *(
            []
            if rate is None
            else feed_problems(f"{table} feed_rate", rate, trial.spindle_speed, job.cutter.teeth)
        ),
        *problems_in(table, _trial_way_faults(job, trial)),
        *problems_in(table, _reading_faults(trial)),
    ]


def _trial_feed_faults(trial: Trial, system: units.System) -> Iterator[Fault]:
    if trial.feed_per_tooth is not None and trial.feed_rate is not None:
        yield "feed_rate", "is given together with feed_per_tooth; give one of the two"
    if trial.feed_per_tooth is None and trial.feed_rate is None:
        yield (
            "feed_rate",
            f'is missing; give feed_per_tooth = "{units.example("feed per tooth", system)}"'
            f' or feed_rate = "{units.example("feed speed", system)}"',
        )


def _trial_way_faults(job: Job, trial: Trial) -> Iterator[Fault]:
    say = slot_sizes(job.job.units)
    if trial.predrill and job.predrill is None:
        yield (
            "predrill",
            "is true, but the file has no table [predrill] that says what was drilled; give it",
        )
    if trial.stepover is not None and job.slot.undercut_width / trial.stepover > 2 * MOST_STEPS:
        yield "stepover", f"is {say(trial.stepover)}; that makes over {MOST_STEPS} steps a side"


def _reading_faults(trial: Trial) -> Iterator[Fault]:
    for name in READINGS:
        value = getattr(trial, name)
        spread = getattr(trial, f"{name}_uncertainty")
        if (value is None) != (spread is None):
            yield (
                f"{name}_uncertainty" if spread is None else name,
                "is missing; a reading and its uncertainty belong together, 19 readings in "
                "20 lie within plus and minus that",
            )
        elif value is not None and not name.endswith(("width", "offset")) and spread > value:
            yield (
                f"{name}_uncertainty",
                f"is {spread / value:.3g} times the reading; from such a reading nothing can be"
                " learned: leave both out",
            )

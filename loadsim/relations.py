"""What has to fit together in a job whose keys are right one by one."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

from loadsim import grind_angles, units
from loadsim.cut_bounds import FEEDS, MOST_PASSES, feed_problems, pass_count
from loadsim.domain import Cut, Cutter, Grind, Job, Slot, Trial
from loadsim.errors import ModelError, Problem
from loadsim.ground import relief_of, shape_of
from loadsim.mill_relations import MOST_STEPS, mill_relations

#: Least width of metal to undercut. [mm]
LEAST_UNDERCUT = 0.001
#: What can be read off a test cut; each has a key of the same name with `_uncertainty`.
READINGS = ("force", "torque", "spindle_power", "deflection", "slot_width", "wall_offset")


def _sizes(system: units.System) -> Callable[[float], str]:
    """Return how a length is written, finer than a shop holds: it is compared with what was given."""
    def say(x: float) -> str:
        metric, inch = f"{x:.6g} mm", f"{x / units.IN:.4g} in"
        return f"{inch} ({metric})" if system == "inch" else f"{metric} ({inch})"

    return say


def relations(job: Job) -> list[Problem]:
    """List what does not fit together in a job whose keys are right one by one.

    Parameters
    ----------
    job : Job
        The job.

    Returns
    -------
    problems : list of Problem
    """
    system = job.job.units
    return [*slot_relations(job.slot, system), *cutter_relations(job.cutter, system), *_fit(job.slot, job.cutter, _sizes(system)),
            *setting_relations(job, job.cut, job.cutter), *_predrill_relations(job), *mill_relations(job, _sizes(job.job.units)),
            *(p for i, x in enumerate(job.trial, 1) for p in _trial_relations(job, x, i)), *grind_relations(job.cutter, job.grind, system)]  # fmt: skip


def slot_relations(slot: Slot, system: units.System = "metric") -> list[Problem]:
    """List what does not fit together within the slot, its keys being right.

    Parameters
    ----------
    slot : Slot
        The [slot] table.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    problems : list of Problem
    """
    found, say = [], _sizes(system)
    if slot.undercut_width < slot.throat_width + LEAST_UNDERCUT:
        found.append(Problem(
            where="[slot] undercut_width", message=f"is {say(slot.undercut_width)}; it must be over "
            f"throat_width, {say(slot.throat_width)}, or there is nothing to undercut"))  # fmt: skip
    if slot.undercut_height >= slot.depth:
        found.append(Problem(
            where="[slot] undercut_height", message=f"is {say(slot.undercut_height)}; it must be under "
            "depth, "
            f"{say(slot.depth)}, which reaches from the surface to the undercut's floor"))  # fmt: skip
    low = slot.depth - slot.undercut_height
    if slot.throat_depth is not None and not low * (1 - 1e-9) <= slot.throat_depth <= slot.depth:
        found.append(Problem(
            where="[slot] throat_depth", message=f"is {say(slot.throat_depth)}; allowed is from the "
            f"undercut's roof, {say(low)}, to depth, {say(slot.depth)}"))  # fmt: skip
    return found


def cutter_relations(cutter: Cutter, system: units.System = "metric") -> list[Problem]:
    """List what does not fit together within the cutter, its keys being right.

    Parameters
    ----------
    cutter : Cutter
        The [cutter] table.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    problems : list of Problem
    """
    found, say = [], _sizes(system)
    radius = cutter.head_diameter / 2

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[cutter] {key}", message=message))

    if (cutter.rake is None) == (cutter.face_offset is None):
        both = cutter.rake is not None
        wrong("rake", "is given together with face_offset; give one of the two" if both else
              'is missing; give rake = "8 deg", or face_offset = "' + ("0.008 in" if system == "inch" else "0.2 mm") + '" (how far past centre the flute '
              "face was ground)")  # fmt: skip
    farthest = radius * math.sin(math.radians(45))
    if cutter.face_offset is not None and math.fabs(cutter.face_offset) >= farthest:
        wrong("face_offset", f"is {say(cutter.face_offset)}; it must stay under 0.7 of the head's radius, "
              f"{say(radius)}")  # fmt: skip
    if cutter.neck_diameter > cutter.head_diameter:
        wrong("neck_diameter", f"is {say(cutter.neck_diameter)}; it must not be over head_diameter, "
              f"{say(cutter.head_diameter)}")  # fmt: skip
    if cutter.neck_diameter > cutter.shank_diameter:
        wrong("neck_diameter", f"is {say(cutter.neck_diameter)}; it must not be over shank_diameter, "
              f"{say(cutter.shank_diameter)}")  # fmt: skip
    if cutter.stickout < (cutter.neck_length + cutter.head_height) * (1 - 1e-9):
        wrong("stickout", f"is {say(cutter.stickout)}; it runs from the collet to the head's lower face, so "
              "it "
              "is at least neck_length + head_height, "
              f"{say(cutter.neck_length + cutter.head_height)}")  # fmt: skip
    if cutter.corner_radius is not None and cutter.corner_radius > min(cutter.head_height / 2, radius / 2):
        wrong("corner_radius", f"is {say(cutter.corner_radius)}; it must not be over half the head's height "
              "or "
              f"a quarter of its diameter, {say(min(cutter.head_height / 2, radius / 2))}")  # fmt: skip
    step = max(cutter.shank_diameter - cutter.neck_diameter, cutter.head_diameter - cutter.neck_diameter) / 2
    fillet = cutter.neck_fillet
    if fillet is not None and step > 0 and fillet > max(2 * step, cutter.neck_diameter):
        wrong("neck_fillet", f"is {say(fillet)}; that is larger than the step it sits in, "
              f"{say(step)}")  # fmt: skip
    return found


def _fit(slot: Slot, cutter: Cutter, say: Callable[[float], str]) -> list[Problem]:
    found = []

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[cutter] {key}", message=message))

    if cutter.head_diameter > slot.undercut_width * (1 + 1e-9):
        wrong("head_diameter", f"is {say(cutter.head_diameter)}; it must not be over undercut_width, "
              f"{say(slot.undercut_width)}")  # fmt: skip
    if cutter.head_height > slot.undercut_height * (1 + 1e-9):
        wrong("head_height", f"is {say(cutter.head_height)}; it must not be over undercut_height, "
              f"{say(slot.undercut_height)}")  # fmt: skip
    if cutter.neck_diameter >= slot.throat_width:
        wrong("neck_diameter", f"is {say(cutter.neck_diameter)}; the neck must pass through throat_width, "
              f"{say(slot.throat_width)}")  # fmt: skip
    return found


def _too_many(slot: Slot, cutter: Cutter, stepover: float | None, say: Callable[[float], str]) -> list[Problem]:
    n = pass_count(slot, cutter.head_diameter, cutter.head_height, stepover)
    if n <= MOST_PASSES:
        return []
    where, x = ("[cutter] head_height", cutter.head_height) if stepover is None else ("[cut] stepover", stepover)
    return [Problem(where=where, message=f"is {say(x)}; with a head {say(cutter.head_height)} high that makes {n} passes, allowed is "
                    f"at most {MOST_PASSES}: take a larger stepover or a higher head")]  # fmt: skip


def setting_relations(job: Job, cut: Cut, cutter: Cutter) -> list[Problem]:
    """List what does not fit between settings, cutter and the rest of a job: the only relations that see both of the two.

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
    machine, work, found, say = job.machine, job.work, [], _sizes(job.job.units)
    low, high = machine.min_spindle_speed, machine.max_spindle_speed
    rpm = 30 / math.pi
    if low is not None and low > high:
        found.append(Problem(
            where="[machine] min_spindle_speed", message=f"is {low * rpm:.5g} rpm; it must not be over "
            f"max_spindle_speed, {high * rpm:.5g} rpm"))  # fmt: skip
    if cut.feed_per_tooth is not None and cut.feed_rate is not None:
        found.append(Problem(
            where="[cut] feed_rate", message="is given together with feed_per_tooth; give one "
            "of the two"))  # fmt: skip
    if cut.spindle_speed is not None and not (low or 0.0) <= cut.spindle_speed <= high * (1 + 1e-9):
        found.append(Problem(
            where="[cut] spindle_speed", message=f"is {cut.spindle_speed * rpm:.5g} rpm; the machine runs "
            f"{(low or 0) * rpm:.5g} to {high * rpm:.5g} rpm"))  # fmt: skip
    if cut.feed_rate is not None:  # with a speed yet to be picked the fastest makes the thinnest chip
        found += [p for p in feed_problems("[cut] feed_rate", cut.feed_rate, cut.spindle_speed or high, cutter.teeth)
                  if cut.spindle_speed is not None or cut.feed_rate > FEEDS[1] * high / (2 * math.pi) * cutter.teeth]  # fmt: skip
    if (work.kc11 is None) != (work.mc is None):
        found.append(Problem(where="[work] mc" if work.mc is None else "[work] kc11",
                             message="is missing; kc11 and mc belong together: give both or "
                             "neither"))  # fmt: skip
    if work.rake_reference is not None and work.kc11 is None:
        found.append(Problem(
            where="[work] rake_reference", message="is given without kc11 and mc, which it "
            "belongs to"))  # fmt: skip
    slot, head = job.slot, cutter.head_diameter
    span = (slot.undercut_width - head) / 2 if slot.sides == 2 else slot.undercut_width - min(head, slot.throat_width)
    if cut.stepover is not None and span / cut.stepover > MOST_STEPS:
        found.append(Problem(where="[cut] stepover", message=f"is {say(cut.stepover)}; that makes over {MOST_STEPS} steps a side, "
                             f"allowed is from {say(span / MOST_STEPS)}"))  # fmt: skip
    return found or _too_many(slot, cutter, cut.stepover, say)


def _predrill_relations(job: Job) -> list[Problem]:
    holes, slot, say = job.predrill, job.slot, _sizes(job.job.units)
    if holes is None:
        return []
    r, half, wide = holes.diameter / 2, slot.throat_width / 2, slot.undercut_width
    low, high = (-wide / 2, wide / 2) if slot.sides == 2 else (-half, wide - half)
    found = _hole_heights(job)
    for y in holes.offsets:
        if not (low + r <= y <= high - r):
            found.append(Problem(
                where="[predrill] offsets", message=f"hold {say(y)}; a hole of {say(holes.diameter)} stays "
                "inside "
                f"the undercut only from {say(low + r)} to {say(high - r)} off the centre line"))  # fmt: skip
    if slot.open_ends == 0:
        found.append(Problem(
            where="[predrill]", message="needs an open end to drill from; [slot] open_ends is "
            "0"))  # fmt: skip
    return found


def _hole_heights(job: Job) -> list[Problem]:
    """Heights of the end holes: one for all, or one for each; inside the undercut, and clear of each other."""
    holes, slot, say = job.predrill, job.slot, _sizes(job.job.units)
    if holes is None:
        return []
    key, r = "height" if holes.heights is None else "heights", holes.diameter / 2
    if (holes.height is None) == (holes.heights is None):
        both, like = holes.height is not None, "0.05 in" if job.job.units == "inch" else "1.3 mm"
        return [Problem(where="[predrill] height", message="is given together with heights; give one of the two" if both else
                        'is missing; give height = "' + like + '" for all holes, or heights, one for each of the offsets')]  # fmt: skip
    if holes.heights is not None and len(holes.heights) != len(holes.offsets):
        return [Problem(where="[predrill] heights", message=f"hold {len(holes.heights)} for {len(holes.offsets)} offsets; give one for each")]
    heights = [holes.height or 0.0] * len(holes.offsets) if holes.heights is None else holes.heights
    found = []
    for z in dict.fromkeys(heights):
        if not (r <= z <= slot.undercut_height - r):
            found.append(Problem(
                where=f"[predrill] {key}", message=f"{'is' if key == 'height' else 'hold'} {say(z)}; a hole of {say(holes.diameter)} "
                f"stays inside the undercut only with its axis from {say(r)} to {say(slot.undercut_height - r)}"))  # fmt: skip
    axes = sorted(zip(holes.offsets, heights, strict=True))
    for (a, za), (b, zb) in itertools.combinations(axes, 2):
        if math.hypot(b - a, zb - za) < holes.diameter * (1 - 1e-9):
            found.append(Problem(
                where="[predrill] offsets", message=f"{say(a)} and {say(b)} are closer than the diameter; "
                "holes must not run into each other"))  # fmt: skip
    return found


def _trial_relations(job: Job, trial: Trial, number: int) -> list[Problem]:
    """List what does not fit in one test cut: its settings, and a reading with its uncertainty."""
    found: list[Problem] = []
    say = _sizes(job.job.units)

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[[trial]] {number} {key}", message=message))

    if (trial.feed_per_tooth is None) == (trial.feed_rate is None):
        wrong("feed_rate", "is given together with feed_per_tooth; give one of the two" if trial.feed_rate is not None else
              'is missing; give feed_per_tooth = "' + units.example("feed per tooth", job.job.units) + '" or feed_rate = "'
              + units.example("feed speed", job.job.units) + '"')  # fmt: skip
    if trial.feed_rate is not None:
        found += feed_problems(f"[[trial]] {number} feed_rate", trial.feed_rate, trial.spindle_speed, job.cutter.teeth)
    if trial.predrill and job.predrill is None:
        wrong("predrill", "is true, but the file has no table [predrill] that says what was drilled; give it")
    if trial.stepover is not None and job.slot.undercut_width / trial.stepover > 2 * MOST_STEPS:
        wrong("stepover", f"is {say(trial.stepover)}; that makes over {MOST_STEPS} steps a side")
    for name in READINGS:
        value, spread = getattr(trial, name), getattr(trial, f"{name}_uncertainty")
        if (value is None) != (spread is None):
            wrong(f"{name}_uncertainty" if spread is None else name, "is missing; a reading and its uncertainty belong together, 19 readings in "
                  "20 lie within plus and minus that")  # fmt: skip
        elif value is not None and not name.endswith(("width", "offset")) and spread > value:
            wrong(f"{name}_uncertainty", f"is {spread / value:.3g} times the reading; from such a reading nothing can be learned: leave both out")
    return found


def grind_relations(cutter: Cutter, grind: Grind | None, system: units.System = "metric") -> list[Problem]:
    """List what does not fit together in how the teeth are ground.

    Parameters
    ----------
    cutter : Cutter
        The [cutter] table, right by itself.
    grind : Grind or None
        The [grind] table.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    problems : list of Problem
    """
    found: list[Problem] = []
    if grind is None or cutter_relations(cutter):
        return found
    deg, radius, say = math.degrees, cutter.head_diameter / 2, _sizes(system)

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[grind] {key}", message=message))

    before, name = relief_of(cutter), "relief" if cutter.relief is not None else "relief (assumed)"
    widest = float(grind_angles.flat_width(before, radius))
    if grind.land > widest:
        wrong("land", f"is {say(grind.land)}; a flat at a {name} of {deg(before):.4g} deg is only {say(widest)} wide on this head")
    if (grind.secondary_land is None) != (grind.heel_relief is None):
        wrong("heel_relief", "is given without secondary_land, or the other way round; give both or neither")
    if grind.heel_relief is not None and grind.secondary_relief is None:
        wrong("secondary_relief", "is missing; heel_relief comes behind it")
    for key in ("secondary_relief", "heel_relief"):
        angle = getattr(grind, key)
        if angle is not None and angle <= before:
            wrong(key, f"is {deg(angle):.4g} deg; it must be over the {name}, {deg(before):.4g} deg, which it falls away from")
        before, name = (before, name) if angle is None else (angle, key)
    if not found:
        try:
            shape_of(cutter, grind)
        except ModelError as error:
            wrong("gullet_depth", f"and the flats cannot be ground so: {error}")
    return found

"""What has to fit together in a job whose keys are right one by one."""

from __future__ import annotations

import math

from loadsim import grind_angles, units
from loadsim.domain import Cutter, Grind, Job, Slot
from loadsim.errors import ModelError, Problem
from loadsim.ground import relief_of, shape_of

#: Most steps of a side pass; more is a slip of the decimal point. [1]
MOST_STEPS = 30


def _mm(x: float) -> str:
    return f"{x:.6g} mm ({x / units.IN:.4g} in)"


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
    return [*slot_relations(job.slot), *cutter_relations(job.cutter), *_fit(job), *_setting_relations(job),
            *_predrill_relations(job), *grind_relations(job.cutter, job.grind)]  # fmt: skip


def slot_relations(slot: Slot) -> list[Problem]:
    """List what does not fit together within the slot, its keys being right.

    Parameters
    ----------
    slot : Slot
        The [slot] table.

    Returns
    -------
    problems : list of Problem
    """
    found = []
    if slot.undercut_width <= slot.throat_width:
        found.append(Problem(
            where="[slot] undercut_width", message=f"is {_mm(slot.undercut_width)}; it must be over "
            f"throat_width, {_mm(slot.throat_width)}, or there is nothing to undercut"))  # fmt: skip
    if slot.undercut_height >= slot.depth:
        found.append(Problem(
            where="[slot] undercut_height", message=f"is {_mm(slot.undercut_height)}; it must be under "
            "depth, "
            f"{_mm(slot.depth)}, which reaches from the surface to the undercut's floor"))  # fmt: skip
    low = slot.depth - slot.undercut_height
    if slot.throat_depth is not None and not low * (1 - 1e-9) <= slot.throat_depth <= slot.depth:
        found.append(Problem(
            where="[slot] throat_depth", message=f"is {_mm(slot.throat_depth)}; allowed is from the "
            f"undercut's roof, {_mm(low)}, to depth, {_mm(slot.depth)}"))  # fmt: skip
    return found


def cutter_relations(cutter: Cutter) -> list[Problem]:
    """List what does not fit together within the cutter, its keys being right.

    Parameters
    ----------
    cutter : Cutter
        The [cutter] table.

    Returns
    -------
    problems : list of Problem
    """
    found = []
    radius = cutter.head_diameter / 2

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[cutter] {key}", message=message))

    if (cutter.rake is None) == (cutter.face_offset is None):
        both = cutter.rake is not None
        wrong("rake", "is given together with face_offset; give one of the two" if both else
              'is missing; give rake = "8 deg", or face_offset = "0.2 mm" (how far past centre the flute '
              "face was ground)")  # fmt: skip
    farthest = radius * math.sin(math.radians(45))
    if cutter.face_offset is not None and math.fabs(cutter.face_offset) >= farthest:
        wrong("face_offset", f"is {_mm(cutter.face_offset)}; it must stay under 0.7 of the head's radius, "
              f"{_mm(radius)}")  # fmt: skip
    if cutter.neck_diameter > cutter.head_diameter:
        wrong("neck_diameter", f"is {_mm(cutter.neck_diameter)}; it must not be over head_diameter, "
              f"{_mm(cutter.head_diameter)}")  # fmt: skip
    if cutter.neck_diameter > cutter.shank_diameter:
        wrong("neck_diameter", f"is {_mm(cutter.neck_diameter)}; it must not be over shank_diameter, "
              f"{_mm(cutter.shank_diameter)}")  # fmt: skip
    if cutter.stickout < (cutter.neck_length + cutter.head_height) * (1 - 1e-9):
        wrong("stickout", f"is {_mm(cutter.stickout)}; it runs from the collet to the head's lower face, so "
              "it "
              "is at least neck_length + head_height, "
              f"{_mm(cutter.neck_length + cutter.head_height)}")  # fmt: skip
    if cutter.corner_radius is not None and cutter.corner_radius > min(cutter.head_height / 2, radius / 2):
        wrong("corner_radius", f"is {_mm(cutter.corner_radius)}; it must not be over half the head's height "
              "or "
              f"a quarter of its diameter, {_mm(min(cutter.head_height / 2, radius / 2))}")  # fmt: skip
    step = max(cutter.shank_diameter - cutter.neck_diameter, cutter.head_diameter - cutter.neck_diameter) / 2
    fillet = cutter.neck_fillet
    if fillet is not None and step > 0 and fillet > max(2 * step, cutter.neck_diameter):
        wrong("neck_fillet", f"is {_mm(fillet)}; that is larger than the step it sits in, "
              f"{_mm(step)}")  # fmt: skip
    return found


def _fit(job: Job) -> list[Problem]:
    slot, cutter, found = job.slot, job.cutter, []

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[cutter] {key}", message=message))

    if cutter.head_diameter > slot.undercut_width * (1 + 1e-9):
        wrong("head_diameter", f"is {_mm(cutter.head_diameter)}; it must not be over undercut_width, "
              f"{_mm(slot.undercut_width)}")  # fmt: skip
    if cutter.head_height > slot.undercut_height * (1 + 1e-9):
        wrong("head_height", f"is {_mm(cutter.head_height)}; it must not be over undercut_height, "
              f"{_mm(slot.undercut_height)}")  # fmt: skip
    if cutter.neck_diameter >= slot.throat_width:
        wrong("neck_diameter", f"is {_mm(cutter.neck_diameter)}; the neck must pass through throat_width, "
              f"{_mm(slot.throat_width)}")  # fmt: skip
    return found


def _setting_relations(job: Job) -> list[Problem]:
    cut, machine, work, found = job.cut, job.machine, job.work, []
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
    if (work.kc11 is None) != (work.mc is None):
        found.append(Problem(where="[work] mc" if work.mc is None else "[work] kc11",
                             message="is missing; kc11 and mc belong together: give both or "
                             "neither"))  # fmt: skip
    if work.rake_reference is not None and work.kc11 is None:
        found.append(Problem(
            where="[work] rake_reference", message="is given without kc11 and mc, which it "
            "belongs to"))  # fmt: skip
    slot, head = job.slot, job.cutter.head_diameter
    span = (slot.undercut_width - head) / 2 if slot.sides == 2 else slot.undercut_width - min(head, slot.throat_width)
    if cut.stepover is not None and span / cut.stepover > MOST_STEPS:
        found.append(Problem(where="[cut] stepover", message=f"is {_mm(cut.stepover)}; that makes over {MOST_STEPS} steps a side, "
                             f"allowed is from {_mm(span / MOST_STEPS)}"))  # fmt: skip
    return found


def _predrill_relations(job: Job) -> list[Problem]:
    holes, slot = job.predrill, job.slot
    found: list[Problem] = []
    if holes is None:
        return found
    r = holes.diameter / 2
    half = slot.throat_width / 2
    wide = slot.undercut_width
    low, high = (-wide / 2, wide / 2) if slot.sides == 2 else (-half, wide - half)
    if not (r <= holes.height <= slot.undercut_height - r):
        found.append(Problem(
            where="[predrill] height", message=f"is {_mm(holes.height)}; a hole of {_mm(holes.diameter)} "
            "stays "
            f"inside the undercut only with its axis from {_mm(r)} to "
            f"{_mm(slot.undercut_height - r)}"))  # fmt: skip
    for y in holes.offsets:
        if not (low + r <= y <= high - r):
            found.append(Problem(
                where="[predrill] offsets", message=f"hold {_mm(y)}; a hole of {_mm(holes.diameter)} stays "
                "inside "
                f"the undercut only from {_mm(low + r)} to {_mm(high - r)} off the centre line"))  # fmt: skip
    for a, b in zip(sorted(holes.offsets), sorted(holes.offsets)[1:], strict=False):
        if b - a < holes.diameter:
            found.append(Problem(
                where="[predrill] offsets", message=f"{_mm(a)} and {_mm(b)} are closer than the diameter; "
                "holes must not run into each other"))  # fmt: skip
    if slot.open_ends == 0:
        found.append(Problem(
            where="[predrill]", message="needs an open end to drill from; [slot] open_ends is "
            "0"))  # fmt: skip
    return found


def grind_relations(cutter: Cutter, grind: Grind | None) -> list[Problem]:
    """List what does not fit together in how the teeth are ground.

    Parameters
    ----------
    cutter : Cutter
        The [cutter] table, right by itself.
    grind : Grind or None
        The [grind] table.

    Returns
    -------
    problems : list of Problem
    """
    found: list[Problem] = []
    if grind is None or cutter_relations(cutter):
        return found
    deg, radius = math.degrees, cutter.head_diameter / 2

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[grind] {key}", message=message))

    before, name = relief_of(cutter), "relief" if cutter.relief is not None else "relief (assumed)"
    widest = float(grind_angles.flat_width(before, radius))
    if grind.land > widest:
        wrong("land", f"is {_mm(grind.land)}; a flat at a {name} of {deg(before):.4g} deg is only {_mm(widest)} wide on this head")
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

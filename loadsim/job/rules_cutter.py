"""What has to fit together in a job whose keys are right one by one."""

from __future__ import annotations

import math
from collections.abc import Callable

from loadsim.base import units
from loadsim.base.errors import ModelError, Problem
from loadsim.job.cutter_geometry import relief_of, shape_of
from loadsim.job.rules_cut import (
    LEAST_UNDERCUT,
    mill_relations,
    predrill_relations,
    setting_relations,
    slot_sizes,
    trial_relations,
)
from loadsim.job.tables import Cutter, Grind, Job, Slot
from loadsim.mechanics import grinding


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
    return [
        *slot_relations(job.slot, system),
        *cutter_relations(job.cutter, system),
        *_fit(job.slot, job.cutter, slot_sizes(system)),
        *setting_relations(job, job.cut, job.cutter),
        *predrill_relations(job),
        *mill_relations(job, slot_sizes(job.job.units)),
        *(p for i, x in enumerate(job.trial, 1) for p in trial_relations(job, x, i)),
        *grind_relations(job.cutter, job.grind, system),
    ]


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
    found = []
    say = slot_sizes(system)
    if slot.undercut_width < slot.throat_width + LEAST_UNDERCUT:
        found.append(
            Problem(
                where="[slot] undercut_width",
                message=(
                    f"is {say(slot.undercut_width)}; it must be over "
                    f"throat_width, {say(slot.throat_width)}, or there is nothing to undercut"
                ),
            )
        )
    if slot.undercut_height >= slot.depth:
        found.append(
            Problem(
                where="[slot] undercut_height",
                message=(
                    f"is {say(slot.undercut_height)}; it must be under "
                    "depth, "
                    f"{say(slot.depth)}, which reaches from the surface to the undercut's floor"
                ),
            )
        )
    low = slot.depth - slot.undercut_height
    if slot.throat_depth is not None and not low * (1 - 1e-9) <= slot.throat_depth <= slot.depth:
        found.append(
            Problem(
                where="[slot] throat_depth",
                message=(
                    f"is {say(slot.throat_depth)}; allowed is from the "
                    f"undercut's roof, {say(low)}, to depth, {say(slot.depth)}"
                ),
            )
        )
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
    found = []
    say = slot_sizes(system)
    radius = cutter.head_diameter / 2

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[cutter] {key}", message=message))

    if (cutter.rake is None) == (cutter.face_offset is None):
        both = cutter.rake is not None
        wrong(
            "rake",
            (
                "is given together with face_offset; give one of the two"
                if both
                else 'is missing; give rake = "8 deg", or face_offset = "'
                + ("0.008 in" if system == "inch" else "0.2 mm")
                + '" (how far past centre the flute face was ground)'
            ),
        )
    farthest = radius * math.sin(math.radians(45))
    if cutter.face_offset is not None and math.fabs(cutter.face_offset) >= farthest:
        wrong(
            "face_offset",
            f"is {say(cutter.face_offset)}; it must stay under 0.7 of the head's radius, "
            f"{say(radius)}",
        )
    if cutter.neck_diameter > cutter.head_diameter:
        wrong(
            "neck_diameter",
            f"is {say(cutter.neck_diameter)}; it must not be over head_diameter, "
            f"{say(cutter.head_diameter)}",
        )
    if cutter.neck_diameter > cutter.shank_diameter:
        wrong(
            "neck_diameter",
            f"is {say(cutter.neck_diameter)}; it must not be over shank_diameter, "
            f"{say(cutter.shank_diameter)}",
        )
    if cutter.stickout < (cutter.neck_length + cutter.head_height) * (1 - 1e-9):
        wrong(
            "stickout",
            f"is {say(cutter.stickout)}; it runs from the collet to the head's lower face, so "
            "it "
            "is at least neck_length + head_height, "
            f"{say(cutter.neck_length + cutter.head_height)}",
        )
    if cutter.corner_radius is not None and cutter.corner_radius > min(
        cutter.head_height / 2, radius / 2
    ):
        wrong(
            "corner_radius",
            f"is {say(cutter.corner_radius)}; it must not be over half the head's height "
            "or "
            f"a quarter of its diameter, {say(min(cutter.head_height / 2, radius / 2))}",
        )
    step = (
        max(
            cutter.shank_diameter - cutter.neck_diameter,
            cutter.head_diameter - cutter.neck_diameter,
        )
        / 2
    )
    fillet = cutter.neck_fillet
    if fillet is not None and step > 0 and fillet > max(2 * step, cutter.neck_diameter):
        wrong(
            "neck_fillet", f"is {say(fillet)}; that is larger than the step it sits in, {say(step)}"
        )
    return found


def _fit(slot: Slot, cutter: Cutter, say: Callable[[float], str]) -> list[Problem]:
    found = []

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[cutter] {key}", message=message))

    if cutter.head_diameter > slot.undercut_width * (1 + 1e-9):
        wrong(
            "head_diameter",
            f"is {say(cutter.head_diameter)}; it must not be over undercut_width, "
            f"{say(slot.undercut_width)}",
        )
    if cutter.head_height > slot.undercut_height * (1 + 1e-9):
        wrong(
            "head_height",
            f"is {say(cutter.head_height)}; it must not be over undercut_height, "
            f"{say(slot.undercut_height)}",
        )
    if cutter.neck_diameter >= slot.throat_width:
        wrong(
            "neck_diameter",
            f"is {say(cutter.neck_diameter)}; the neck must pass through throat_width, "
            f"{say(slot.throat_width)}",
        )
    return found


def grind_relations(
    cutter: Cutter, grind: Grind | None, system: units.System = "metric"
) -> list[Problem]:
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
    deg = math.degrees
    radius = cutter.head_diameter / 2
    say = slot_sizes(system)

    def wrong(key: str, message: str) -> None:
        found.append(Problem(where=f"[grind] {key}", message=message))

    before = relief_of(cutter)
    name = "relief" if cutter.relief is not None else "relief (assumed)"
    widest = float(grinding.flat_width(before, radius))
    if grind.land > widest:
        wrong(
            "land",
            f"is {say(grind.land)}; a flat at a {name} of {deg(before):.4g} deg is only"
            f" {say(widest)} wide on this head",
        )
    if (grind.secondary_land is None) != (grind.heel_relief is None):
        wrong(
            "heel_relief",
            "is given without secondary_land, or the other way round; give both or neither",
        )
    if grind.heel_relief is not None and grind.secondary_relief is None:
        wrong("secondary_relief", "is missing; heel_relief comes behind it")
    for key in ("secondary_relief", "heel_relief"):
        angle = getattr(grind, key)
        if angle is not None and angle <= before:
            wrong(
                key,
                f"is {deg(angle):.4g} deg; it must be over the {name}, {deg(before):.4g} deg, which"
                " it falls away from",
            )
        before, name = (before, name) if angle is None else (angle, key)
    if not found:
        try:
            shape_of(cutter, grind)
        except ModelError as error:
            wrong("gullet_depth", f"and the flats cannot be ground so: {error}")
    return found

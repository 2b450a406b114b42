"""What has to fit in [slot], [cutter] and [grind], and all relations of a job in one list."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from loadsim.base import units
from loadsim.base.errors import ModelError, Problem
from loadsim.job.cutter_geometry import rake_of, relief_of, shape_of
from loadsim.job.rules_cut import (
    LEAST_UNDERCUT,
    Fault,
    mill_relations,
    predrill_relations,
    problems_in,
    setting_relations,
    slot_sizes,
    trial_relations,
)
from loadsim.job.tables import Cutter, Grind, Job, Slot
from loadsim.job.tolerances import oversize
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
        *problems_in("[cutter]", _passage_faults(job.slot, job.cutter, slot_sizes(system))),
        *setting_relations(job, job.cut, job.cutter),
        *predrill_relations(job),
        *mill_relations(job),
        *(p for i, cut in enumerate(job.trial, 1) for p in trial_relations(job, cut, i)),
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
    return problems_in("[slot]", _slot_faults(slot, slot_sizes(system)))


def _slot_faults(slot: Slot, say: Callable[[float], str]) -> Iterator[Fault]:
    if slot.undercut_width < slot.throat_width + LEAST_UNDERCUT:
        yield (
            "undercut_width",
            f"is {say(slot.undercut_width)}; it must be over throat_width,"
            f" {say(slot.throat_width)}, or there is nothing to undercut; a keyseat, as wide above"
            " as below, is not answered for",
        )
    if slot.undercut_height >= slot.depth:
        yield (
            "undercut_height",
            f"is {say(slot.undercut_height)}; it must be under depth, {say(slot.depth)}, which"
            " reaches from the surface to the undercut's floor",
        )
    low = slot.depth - slot.undercut_height
    if slot.throat_depth is not None and not low * (1 - 1e-9) <= slot.throat_depth <= slot.depth:
        yield (
            "throat_depth",
            f"is {say(slot.throat_depth)}; allowed is from the undercut's roof, {say(low)}, to"
            f" depth, {say(slot.depth)}",
        )


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
    say = slot_sizes(system)
    return [
        *problems_in("[cutter]", _rake_faults(cutter, system, say)),
        *problems_in("[cutter]", _wedge_faults(cutter)),
        *problems_in("[cutter]", _neck_faults(cutter, say)),
        *problems_in("[cutter]", _radius_faults(cutter, say)),
    ]


def _rake_faults(
    cutter: Cutter, system: units.System, say: Callable[[float], str]
) -> Iterator[Fault]:
    offset = cutter.face_offset
    radius = cutter.head_diameter / 2
    if cutter.rake is not None and offset is not None:
        yield "rake", "is given together with face_offset; give one of the two"
    if cutter.rake is None and offset is None:
        like = "0.008 in" if system == "inch" else "0.2 mm"
        yield (
            "rake",
            f'is missing; give rake = "8 deg", or face_offset = "{like}" (how far past centre the'
            " flute face was ground)",
        )
    if offset is not None and math.fabs(offset) >= radius * math.sin(math.radians(45)):
        yield (
            "face_offset",
            f"is {say(offset)}; it must stay under 0.7 of the head's radius, {say(radius)}",
        )


#: Least wedge that an edge is ground with (common practice, no source). [rad]
LEAST_WEDGE = math.radians(15)


def _wedge_faults(cutter: Cutter) -> Iterator[Fault]:
    """Rake and relief leave a wedge between them."""
    if any(_rake_faults(cutter, "metric", str)):
        return  # told there
    rake, relief = rake_of(cutter), relief_of(cutter)
    wedge = math.pi / 2 - rake - relief
    if wedge < LEAST_WEDGE * (1 - 1e-9):
        given = "rake" if cutter.rake is not None else "face_offset"
        yield (
            given,
            f"and {_relief_name(cutter)} leave a wedge of {math.degrees(wedge):.3g} deg (rake"
            f" {math.degrees(rake):.4g} deg, relief {math.degrees(relief):.4g} deg); an edge needs"
            f" at least {math.degrees(LEAST_WEDGE):.0f} deg: grind one of the two less steep",
        )


def _neck_faults(cutter: Cutter, say: Callable[[float], str]) -> Iterator[Fault]:
    neck = cutter.neck_diameter
    for key in ("head_diameter", "shank_diameter"):
        widest = getattr(cutter, key)
        if neck > widest:
            yield "neck_diameter", f"is {say(neck)}", f"it must not be over {key}, {say(widest)}"
    least = cutter.neck_length + cutter.head_height
    if cutter.stickout < least * (1 - 1e-9):
        yield (
            "stickout",
            f"is {say(cutter.stickout)}",
            "it runs from the collet to the head's lower face, so it is at least neck_length +"
            f" head_height, {say(least)}",
        )


def _radius_faults(cutter: Cutter, say: Callable[[float], str]) -> Iterator[Fault]:
    corner = cutter.corner_radius
    most = min(cutter.head_height / 2, cutter.head_diameter / 4)
    if corner is not None and corner > most:
        yield (
            "corner_radius",
            f"is {say(corner)}",
            f"it must not be over half the head's height or a quarter of its diameter, {say(most)}",
        )
    neck = cutter.neck_diameter
    at_head = (cutter.head_diameter - neck) / 2
    at_shank = (cutter.shank_diameter - neck) / 2
    for key, step in (("neck_fillet", max(at_shank, at_head)), ("head_fillet", at_head)):
        fillet = getattr(cutter, key)
        if fillet is not None and step > 0 and fillet > max(2 * step, neck):
            yield key, f"is {say(fillet)}", f"that is larger than the step it sits in, {say(step)}"


def _passage_faults(slot: Slot, cutter: Cutter, say: Callable[[float], str]) -> Iterator[Fault]:
    """The head fits into the undercut as far as its tolerance lets it, the neck into the throat."""
    over = oversize(slot)
    for key, size, name, drawn, most in (
        ("head_diameter", cutter.head_diameter, "undercut_width", slot.undercut_width, over.width),
        ("head_height", cutter.head_height, "undercut_height", slot.undercut_height, over.height),
    ):
        if size > (drawn + most) * (1 + 1e-9):
            allowed = f"; with its tolerance that lets {say(drawn + most)} pass" if most else ""
            yield key, f"is {say(size)}", f"it must not be over {name}, {say(drawn)}{allowed}"
    if cutter.neck_diameter >= slot.throat_width:
        yield (
            "neck_diameter",
            f"is {say(cutter.neck_diameter)}",
            f"the neck must pass through throat_width, {say(slot.throat_width)}",
        )


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
    if grind is None or cutter_relations(cutter):
        return []
    say = slot_sizes(system)
    faults = [
        *_land_faults(cutter, grind, say),
        *_heel_faults(grind),
        *_falling_faults(cutter, grind),
    ]
    if not faults:
        try:
            shape_of(cutter, grind)
        except ModelError as error:
            faults.append(("gullet_depth", f"and the flats cannot be ground so: {error}"))
    return problems_in("[grind]", faults)


def _relief_name(cutter: Cutter) -> str:
    return "relief" if cutter.relief is not None else "relief (assumed)"


def _land_faults(cutter: Cutter, grind: Grind, say: Callable[[float], str]) -> Iterator[Fault]:
    relief = relief_of(cutter)
    widest = float(grinding.flat_width(relief, cutter.head_diameter / 2))
    if grind.land > widest:
        yield (
            "land",
            f"is {say(grind.land)}",
            f"a flat at a {_relief_name(cutter)} of {math.degrees(relief):.4g} deg is only"
            f" {say(widest)} wide on this head",
        )


def _heel_faults(grind: Grind) -> Iterator[Fault]:
    if (grind.secondary_land is None) != (grind.heel_relief is None):
        yield (
            "heel_relief",
            "is given without secondary_land, or the other way round; give both or neither",
        )
    if grind.heel_relief is not None and grind.secondary_relief is None:
        yield "secondary_relief", "is missing; heel_relief comes behind it"


def _falling_faults(cutter: Cutter, grind: Grind) -> Iterator[Fault]:
    """Each flat falls away from the one before it."""
    before = relief_of(cutter)
    name = _relief_name(cutter)
    for key in ("secondary_relief", "heel_relief"):
        angle = getattr(grind, key)
        if angle is None:
            continue
        if angle <= before:
            yield (
                key,
                f"is {math.degrees(angle):.4g} deg",
                f"it must be over the {name}, {math.degrees(before):.4g} deg, which it falls away"
                " from",
            )
        before = angle
        name = key

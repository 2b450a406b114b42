"""Rules of the trade by which a cutter is laid out for a slot: from the print and what is known to
every dimension.

Each rule gives a text with its unit, rounded the safe way to what a shop can set and measure.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from loadsim.answers.cutter.neck import LEAST_ROOM, Passage, best_neck
from loadsim.answers.cutter.texts import Rounding, length_text, mm
from loadsim.base import units
from loadsim.base.errors import InputError, ModelError, Problem
from loadsim.job.cutter_geometry import shape_of
from loadsim.job.read import Draft
from loadsim.job.tables import Cutter, Grind, Slot
from loadsim.job.tolerances import width_tolerance
from loadsim.loads.assumptions import CLEARANCE, SKEW_ADVISED
from loadsim.materials.families import by_family
from loadsim.mechanics import head_profile
from loadsim.mechanics.head_profile import Flat, HeadShape

#: Round blanks that are stocked, by system. [mm]
BLANKS = {
    "metric": (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 20.0, 25.0, 32.0, 40.0),
    "inch": tuple(
        units.IN * inches
        for inches in (
            1 / 8,
            3 / 16,
            1 / 4,
            5 / 16,
            3 / 8,
            7 / 16,
            1 / 2,
            5 / 8,
            3 / 4,
            1,
            1.25,
            1.5,
        )
    ),
}

#: Rake and primary relief by how the metal cuts (common practice, no source). [deg]
RAKE = {
    "aluminum": 10.0,
    "magnesium": 10.0,
    "copper": 12.0,
    "brass": 0.0,
    "bronze": 2.0,
    "plastic": 5.0,
    "iron": 4.0,
    "steel": 8.0,
    "stainless": 8.0,
    "tool steel": 5.0,
    "titanium": 5.0,
}

RELIEF = {"aluminum": 9.0, "magnesium": 9.0, "copper": 9.0, "plastic": 10.0, "titanium": 9.0}

RAKE_ELSE = 8.0

RELIEF_ELSE = 7.0

#: Between collet face and shoulder, to see the cut and blow the chips out (common practice, no
#: source). [mm]
COLLET_ROOM = 3.0

#: Least distance of the gullet's floor from the axis over the head's radius, by teeth, so that
#: teeth stay short. [1]
FLOOR = {1: 0.30, 2: 0.35, 3: 0.40, 4: 0.45}

#: Land over head diameter; how much steeper the second flat is; widths of it tried, over the land
#: (common practice, no source).
LAND = 0.05
STEEPER = math.radians(12.0)
SECOND = tuple(0.5 * i for i in range(2, 13))

#: How far the heel is taken down, over the head's radius (common practice, no source). [1]
HEEL = 0.015

#: Time at the grinder that each tooth over two costs, to be shared by the parts of the job (common
#: practice, no source). [s]
TOOTH_COST = 600.0

#: Room between the head and the plain wall of a one-sided undercut. [mm]
PLAIN_WALL = 0.20


@dataclass(frozen=True, slots=True, kw_only=True)
class CutterLayout:
    """One way of laying the cutter out."""

    teeth: int
    offset: float  #: of the axis at the outermost pass [mm]
    growth: float  #: by which a full-width cut comes out wider than the head [mm]
    heights: int  #: in how many heights the undercut is cut
    #: keys of [cutter] that the search has settled, as in a job file
    settled: Mapping[str, str] = field(default_factory=dict)


def allowance(growth: float, tolerance: float) -> float:
    """How much smaller than the undercut a full-width head is made for a cut that grows by up to a
    growth.

    Parameters
    ----------
    growth : float
        The most by which the cut comes out wider than the head; it may be nothing. [mm]
    tolerance : float
        Plus and minus on the width. [mm]

    Returns
    -------
    allowance : float
        At which head and head with growth both stay inside the tolerance while they can. [mm]
    """
    return growth if growth <= tolerance else min(growth - tolerance, tolerance)


def offset_of(slot: Slot, head_diameter: float) -> float:
    """Offset of the cutter axis from the throat's centre line at its outermost pass. [mm]"""
    if slot.sides == 2:
        rest = slot.undercut_width - head_diameter
        return rest / 2 if rest > width_tolerance(slot) * (1 + 1e-9) else 0.0
    return math.fabs(slot.undercut_width - slot.throat_width / 2 - head_diameter / 2)


def farthest_offset_of(slot: Slot, head_diameter: float, stepover: float | None) -> float:
    """Farthest that the axis runs off the throat's centre line; with a stepover a full-width head
    is stepped to both walls too, inside the tolerance. [mm]
    """
    if slot.sides == 2 and stepover is not None:
        return (slot.undercut_width - head_diameter) / 2
    return offset_of(slot, head_diameter)


def cutter_texts(draft: Draft, family: str, layout: CutterLayout) -> dict[str, Any]:
    """Lay out [cutter]: what the file gives is kept.

    Parameters
    ----------
    draft : Draft
        The job.
    family : str
        Of the metal.
    layout : CutterLayout
        Teeth, offset, growth and heights, and what is settled already.

    Returns
    -------
    cutter : dict
        Key to value as in a job file.
    """
    slot = draft.job.slot
    system = draft.job.job.units
    cutter = {**layout.settled, **draft.data["cutter"]}

    laid_out = partial(_laid_out, draft, cutter)

    def propose(key: str, length: float, rounding: Rounding) -> None:
        cutter.setdefault(key, length_text(key, length, rounding, system))

    blank = draft.value("cutter.shank_diameter")
    widest = _widest_head(slot, layout)
    propose(
        "head_diameter",
        widest if blank is None else min(widest, blank),
        _head_rounding(slot, layout, widest, system),
    )
    if layout.heights == 1:
        cutter.setdefault("head_height", draft.data["slot"]["undercut_height"])
    propose("head_height", slot.undercut_height / layout.heights, "up")
    head = laid_out("head_diameter")
    if blank is None:
        blank = next((stocked for stocked in BLANKS[system] if stocked >= head - 1e-6), head)
        cutter["shank_diameter"] = _blank_text(blank, system)
    propose("neck_length", slot.depth - laid_out("head_height") + CLEARANCE, "up")
    cutter |= _neck_texts(draft, cutter, head, blank, capped=widest > blank)
    propose("stickout", laid_out("neck_length") + laid_out("head_height") + COLLET_ROOM, "up")
    cutter.setdefault("teeth", layout.teeth)
    if "rake" not in cutter and "face_offset" not in cutter:
        cutter["rake"] = f"{by_family(RAKE, family, RAKE_ELSE):g} deg"
    cutter.setdefault("relief", f"{by_family(RELIEF, family, RELIEF_ELSE):g} deg")
    cutter.setdefault("edge_skew", f"{math.degrees(SKEW_ADVISED):g} deg")
    return cutter


def _laid_out(draft: Draft, cutter: dict[str, Any], key: str) -> float:
    """A length of the cutter, given or laid out by now. [mm]"""
    value = draft.value(f"cutter.{key}")
    return float(value) if value is not None else mm(cutter[key])


def _neck_texts(
    draft: Draft, cutter: dict[str, Any], head: float, blank: float, *, capped: bool
) -> dict[str, str]:
    """Neck and fillets that are neither given nor settled; raises where none passes."""
    system = draft.job.job.units
    slot = draft.job.slot

    def known(key: str) -> float | None:
        return _laid_out(draft, cutter, key) if key in cutter else None

    passage = Passage(
        throat_width=slot.throat_width,
        offset=farthest_offset_of(slot, head, draft.value("cut.stepover")),
        depth=slot.depth,
        head_diameter=head,
        head_height=_laid_out(draft, cutter, "head_height"),
        shank_diameter=blank,
        neck_length=_laid_out(draft, cutter, "neck_length"),
    )
    d = known("neck_diameter")
    r = known("neck_fillet")
    if d is None and (room := passage.thickest(0.0)) < LEAST_ROOM:
        raise InputError(draft.name, [_no_room(draft, passage.offset, room, capped=capped)])
    neck = best_neck(passage, system, diameter=d, at_shank=r, at_head=known("head_fillet"))
    sizes = {"neck_diameter": neck.diameter, "neck_fillet": neck.at_shank}
    if r is None and neck.at_head != neck.at_shank:
        sizes["head_fillet"] = neck.at_head
    return {k: length_text(k, x, "near", system) for k, x in sizes.items() if k not in cutter}


def _widest_head(slot: Slot, layout: CutterLayout) -> float:
    """Head diameter of a layout before it is rounded. [mm]"""
    if slot.sides == 2:
        return slot.undercut_width - layout.growth - 2 * layout.offset
    return slot.undercut_width - 2 * (PLAIN_WALL + layout.offset)


def _head_rounding(slot: Slot, layout: CutterLayout, widest: float, system: str) -> Rounding:
    """Down, but up where a full-width head rounded down would leave the tolerance."""
    if slot.sides != 2 or layout.offset:
        return "down"
    rounded = mm(length_text("head_diameter", widest, "down", system))
    return "up" if slot.undercut_width - rounded > width_tolerance(slot) else "down"


def _blank_text(diameter: float, system: str) -> str:
    return f"{diameter:g} mm" if system == "metric" else f"{diameter / units.IN:.4f} in"


def _no_room(draft: Draft, offset: float, room: float, *, capped: bool) -> Problem:
    slot = draft.job.slot
    system = draft.job.job.units
    undercut = units.show(slot.undercut_width, "length", system)
    throat = units.show(slot.throat_width, "length", system)
    side = units.show(offset, "length", system)
    rest = units.show(max(room, 0.0), "length", system)
    if offset > 0 and capped:
        return Problem(
            where="[cutter] shank_diameter",
            message=(
                f"gives too narrow a head for an undercut of {undercut}: side passes {side} off"
                f" centre leave {rest} of the throat for a neck; take a thicker blank"
            ),
        )
    if offset > 0:
        return Problem(
            where="[slot] undercut_width",
            message=(
                f"is {undercut}; to reach its wall the axis runs {side} off centre, which leaves"
                f" {rest} of the throat of {throat} for a neck: no cutter on a straight neck passes"
            ),
        )
    return Problem(
        where="[slot] throat_width",
        message=f"is {throat}; it leaves {rest} for a neck, too thin to grind",
    )


def grind_texts(draft: Draft, cutter: Cutter) -> dict[str, Any]:
    """Lay out [grind] for a cutter: what the file gives is kept.

    Parameters
    ----------
    draft : Draft
        The job.
    cutter : Cutter
        Laid out, and valid.

    Returns
    -------
    grind : dict
        Key to value as in a job file; the heel is left out when no flat clears it.
    """
    system = draft.job.job.units
    R = cutter.head_diameter / 2
    N = cutter.teeth
    grind: dict[str, Any] = dict(draft.data.get("grind", {}))
    floor = max(cutter.neck_diameter / 2, FLOOR.get(N, 0.6) * R)
    grind.setdefault(
        "gullet_depth", length_text("gullet_depth", max(R - floor, 0.2 * R), "down", system)
    )
    relief = cutter.relief or math.radians(RELIEF_ELSE)
    grind.setdefault(
        "land", length_text("land", min(LAND * 2 * R, 1.6 * R * math.sin(relief)), "near", system)
    )
    grind.setdefault("secondary_relief", f"{math.degrees(relief + STEEPER):.0f} deg")
    if "heel_relief" not in grind and "secondary_land" not in grind:
        grind |= _heel(cutter, grind, system)
    return grind


def _flats(bare: HeadShape, widths: list[float], heel: float) -> tuple[Flat, ...]:
    """The flats of a tooth with a heel flat behind, or none when they do not fit the stock."""
    try:
        return head_profile.flats_behind(
            bare.radius, [bare.flats[0].angle, bare.flats[1].angle, heel], widths
        )
    except ModelError:
        return ()


def _heel(cutter: Cutter, grind: dict[str, Any], system: str) -> dict[str, Any]:
    """Of all widths of the second flat, each with the least heel relief that clears, the one that
    leaves the strongest tooth.
    """
    R = cutter.head_diameter / 2
    pitch = 2 * math.pi / cutter.teeth
    try:
        bare = shape_of(cutter, Grind.model_validate(grind))
    except (ModelError, ValueError):
        return {}
    # from the edge back to the heel
    span = pitch - math.atan2(bare.heels[0, 1], bare.heels[0, 0]) % (2 * math.pi)
    best = {}
    strongest = (False, 0.0)
    for k in SECOND:
        second = length_text("land", k * mm(grind["land"]), "near", system)
        for heel in range(30, 86, 5):
            flats = _flats(bare, [mm(grind["land"]), mm(second)], math.radians(heel))
            if flats and flats[2].distance <= (1 - HEEL) * R * math.cos(span - flats[2].angle):
                break
        else:
            continue
        keys = {"secondary_land": second, "heel_relief": f"{heel} deg"}
        try:
            shape = shape_of(cutter, Grind.model_validate(grind | keys))
        except ModelError:
            continue
        arm, thickness = head_profile.weakest_tooth_section(shape)
        # first of all it must not nick the neck
        strength = (flats[2].distance >= cutter.neck_diameter / 2, thickness**2 / arm)
        if head_profile.heel_drop(shape)[0] >= 0.9 * HEEL * R and strength > strongest:
            best = keys
            strongest = strength
    return best

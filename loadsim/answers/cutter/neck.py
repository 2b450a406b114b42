"""The neck and its fillets: how they share the throat, so that together they bear most."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loadsim.answers.cutter.texts import length_text, mm
from loadsim.base.units import System
from loadsim.job.cutter_geometry import shoulder_fillet
from loadsim.loads.limits.clearances import largest_fillet, thickest_neck
from loadsim.mechanics import sections, stress_concentration

#: Least room in the throat that is worth a neck and its fillets. [mm]
LEAST_ROOM = 0.45

#: Smallest fillet that a dressed wheel keeps (common practice, no source). [mm]
DRESSED_FILLET = 0.10

#: Step between the fillets that are tried. [mm]
FILLET_STEP = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Neck:
    """A neck with the fillets at its ends."""

    diameter: float  #: [mm]
    at_shank: float  #: fillet at the shank's shoulder [mm]
    at_head: float  #: fillet at the head [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """Where the neck passes, and what it joins."""

    throat_width: float  #: [mm]
    offset: float  #: farthest that the axis runs off the throat's centre line [mm]
    depth: float  #: of the undercut's floor [mm]
    head_diameter: float  #: [mm]
    head_height: float  #: [mm]
    shank_diameter: float  #: [mm]
    neck_length: float  #: [mm]

    @property
    def above(self) -> float:
        """How far the shank's shoulder stays above the surface. [mm]"""
        return self.neck_length + self.head_height - self.depth

    def gap(self, diameter: float) -> float:
        """Room between a neck and the wall of the throat it comes nearest to. [mm]"""
        return (self.throat_width - diameter) / 2 - self.offset

    def thickest(self, at_head: float) -> float:
        """Thickest neck that passes with a fillet at the head. [mm]"""
        return thickest_neck(
            throat_width=self.throat_width,
            offset=self.offset,
            fillet=at_head,
            head_diameter=self.head_diameter,
            shank_diameter=self.shank_diameter,
        )

    def largest_at_head(self, diameter: float) -> float:
        """Largest fillet at the head, inside its step, that clears the throat. [mm]"""
        largest = largest_fillet(
            throat_width=self.throat_width,
            offset=self.offset,
            neck_diameter=diameter,
            head_diameter=self.head_diameter,
        )
        step = (self.head_diameter - diameter) / 2
        return max(min(largest, step, diameter / 2), DRESSED_FILLET)

    def largest_at_shank(self, diameter: float, at_head: float) -> float:
        """Largest fillet at the shank, inside its step, that clears the throat too. [mm]"""
        largest = shoulder_fillet(self.gap(diameter), self.above)
        step = (self.shank_diameter - diameter) / 2
        return max(min(largest, step, diameter / 2, self.neck_length - at_head), DRESSED_FILLET)

    def bears(self, neck: Neck) -> float:
        """Force across the head's middle that bends the worse end of a neck to a unit of stress.

        [mm^2]
        """
        d = neck.diameter
        middle = self.head_height / 2
        forces = []
        for widest, arm, r in (
            (self.shank_diameter, self.neck_length + middle, neck.at_shank),
            (self.head_diameter, middle, neck.at_head),
        ):
            K_t = stress_concentration.stress_concentration_bending(max(widest, d), d, r)
            forces.append(float(sections.section_modulus(d)) / (max(float(K_t), 1.0) * arm))
        return min(forces)


def best_neck(
    passage: Passage,
    system: System,
    *,
    diameter: float | None = None,
    at_shank: float | None = None,
    at_head: float | None = None,
) -> Neck:
    """Choose what is not given of a neck: of all that pass, the one that bears most.

    Parameters
    ----------
    passage : Passage
        Where it passes.
    system : {"metric", "inch"}
        Sizes are rounded down to its steps.
    diameter : float, optional
        As given. [mm]
    at_shank : float, optional
        As given; it then stands at the head too, unless that is given. [mm]
    at_head : float, optional
        As given. [mm]

    Returns
    -------
    neck : Neck
    """

    def down(key: str, length: float) -> float:
        return mm(length_text(key, length, "down", system))

    def with_fillet(r: float) -> Neck:
        d = down("neck_diameter", passage.thickest(r)) if diameter is None else diameter
        shank = passage.largest_at_shank(d, r)
        return Neck(
            diameter=d,
            at_shank=down("neck_fillet", shank) if at_shank is None else at_shank,
            at_head=r,
        )

    fillet = at_shank if at_head is None else at_head
    if fillet is not None:
        return with_fillet(fillet)
    if diameter is not None:
        return with_fillet(down("neck_fillet", passage.largest_at_head(diameter)))
    tried = [with_fillet(down("neck_fillet", r)) for r in _fillets(passage)]
    return max(tried, key=passage.bears)


def _fillets(passage: Passage) -> Iterator[float]:
    """Fillets at the head that are tried: the least, and as many more as leave a neck as thick as
    both its fillets.
    """
    r = DRESSED_FILLET
    yield r
    while 2 * (r := r + FILLET_STEP) <= passage.thickest(r):
        yield r

"""What the grinding sheet says at each step, in the reader's own units."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loadsim.base import units
from loadsim.job.tables import Job

#: Hollow of the head's two faces toward the axis (common practice, no source). [deg]
END_RELIEF = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """The sentences of one sheet."""

    system: units.System

    def _mm(self, x: float) -> str:
        return units.show(x, "length", self.system)

    def _deg(self, x: float) -> str:
        return f"{math.degrees(x):.1f} deg"

    def true_end(self) -> str:
        return (
            "Grind the end face square to the axis. It is zero for every measure along the cutter."
        )

    def check_end(self) -> str:
        return "It runs true on an indicator and no pit is left at the centre."

    def round_head(self, D: float) -> str:
        return (
            "Touch off on the blank, then grind the head round, turning the blank steadily. Its"
            " surface is zero for the flutes and flats."
        )

    def check_head(self, D: float) -> str:
        return f"Micrometer: {self._mm(D)}."

    def neck(self, r: float, at_head: float) -> str:
        dress = f"Dress a {self._mm(r)} radius on both corners of the wheel."
        if at_head != r:
            dress = (
                f"Dress a {self._mm(r)} radius on the wheel's corner at the shank and"
                f" {self._mm(at_head)} on the one at the head."
            )
        return (
            f"{dress} Touch off on the blank,"
            " set in a little for each turn of the blank, and make the full turn before you set in"
            " again (see the infeed table). Let it spark out over the last two turns."
        )

    def check_neck(self, d: float) -> str:
        return (
            f"Micrometer: {self._mm(d)}; no step and no scratch across it at the fillets, under a"
            " glass."
        )

    def flute(self, e: float, angle: float, skew: float) -> str:
        square = math.fabs(angle - math.pi / 2) < 1e-6
        wheel = "square corner" if square else f"edge dressed to {self._deg(angle)}"
        side = (
            "on the centre"
            if math.fabs(e) < 0.5e-3
            else f"{self._mm(math.fabs(e))} {'past' if e > 0 else 'short of'} the centre"
        )
        return (
            f"Wheel with a {wheel}: its side grinds the cutting face, {side}; its edge grinds the"
            " floor. Touch off on the round head, set down, stop at the neck. Same depth on every"
            f" tooth.{self._swivel(skew)}"
        )

    def _swivel(self, skew: float) -> str:
        if not skew:
            return ""
        return (
            f" Swivel the indexing head {self._deg(skew)} in plan, so that face and edge lean as"
            " much against the axis; the offset is that at half the head's height."
        )

    def check_flute(self, left: float, lean: float) -> str:
        along = (
            f" An indicator drawn along the edge runs {self._mm(lean)} over the head's height."
            if lean
            else ""
        )
        return (
            "From the face to the far side of the round head, before the next flute is ground:"
            f" {self._mm(left)}.{along}"
        )

    def flat(self, kind: str, rake: float, angle: float, dip: float) -> str:
        edge = (
            f"Turn on in the cutting direction by {self._deg(rake)} to bring the edge to the top"
            if rake >= 0
            else (f"Turn back by {self._deg(-rake)} to bring the edge to the top")
        )
        what = {
            "relief": "the flat then just reaches the edge",
            "second": "it falls away behind the land",
            "heel": "it takes off what would rub behind",
        }[kind]
        tilt = (
            f" Dip the head {math.degrees(dip):.2f} deg, so that the flat follows the leaning edge."
            if dip and kind == "relief"
            else ""
        )
        return f"{edge}, then on by {self._deg(angle)}. Grind a level flat across: {what}.{tilt}"

    def check_flat(self, kind: str, land: float, drop: float) -> str:
        return {
            "relief": (
                "The last bright line of round goes as the flat meets the edge; stop there. The"
                " head must not get smaller."
            ),
            "second": (
                f"The land left behind the edge is {self._mm(land)} wide, the same on every tooth."
            ),
            "heel": (
                f"Turned past a fixed stop, the heel clears it by {self._mm(drop)} where the edge"
                " just touches."
            ),
        }[kind]

    def faces(self, angle: float) -> str:
        return (
            f"Grind the end face and the head's upper face hollow by {angle:g} deg toward the axis,"
            " leaving the outer corners; back each tooth off behind its edge by as much. Without"
            " it the faces rub on floor and roof."
        )

    def check_faces(self) -> str:
        return "A straightedge rests on the outer corners alone."

    def burrs(self) -> str:
        return (
            "Take burrs off heels, shoulder and gullet ends only. The cutting edges and their"
            " corners stay as ground."
        )

    def check_burrs(self) -> str:
        return "Every edge shaves a curl off a plastic rod held to it."

    def stone(self) -> str:
        return (
            "Fine stone flat on each face, then flat on each land, two or three strokes toward the"
            " edge. Polish neck and fillets along the axis, never round it."
        )

    def check_stone(self, edge: float) -> str:
        return (
            "No light from the edge itself under a glass: an edge radius near"
            f" {units.show(edge, 'chip thickness', self.system)}."
        )

    def inspect(self) -> str:
        return (
            "In the collet that will cut: indicator on every tooth. Measure head, neck, fillet and"
            " lengths; look for cracks and colours with a glass. Put the measured values into the"
            " job file and check it."
        )

    def check_inspect(self, runout: float, r: float, at_head: float) -> str:
        ends = f" at the shank and {self._mm(at_head)} at the head" if at_head != r else ""
        return (
            f"Teeth within {self._mm(2 * runout)} of each other on the indicator; fillet"
            f" {self._mm(r)}{ends} by a radius gauge or a pin."
        )


def words(job: Job) -> Words:
    """Return the sentences in the units of a job."""
    return Words(system=job.job.units)

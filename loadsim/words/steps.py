"""What to do at each step of the job, as it is told at the machine: short, and an order."""

from __future__ import annotations

from loadsim.base import shop, units

#: How the two dials are meant, said once over a table of steps.
DIALS = (
    "Z from touch-off on the top of the work, down is minus; Y from the throat's centre line,"
    " + is left, looking {where}."
)

#: Which way the cutter travels (the table runs the other way), by the number of open ends.
IN = {0: "away", 1: "in", 2: "in"}
OUT = {0: "back", 1: "out", 2: "back"}

DOWN = "down"

#: Steps that lead the cutter out of the slot: their words say which way.
LEAVING = ("back out", "lift out")

#: The operation that lets the head into a slot that is closed at both ends.
DROP_IN = "drop-in hole"
UP = "up"

#: What tells that a step goes right.
LOOK = {
    "drill": "chips come up all the way",
    "throat": "chips clear, no squeal",
    "touch off": "paper drags on both, spindle stopped",
    "undercut": "even sound, chips come out; stop if they pack",
    "back out": "the wheel turns freely",
    "deburr": "no burr under the edge",
    "measure": "within the print",
}

TOUCH_OFF = (
    "Spindle stopped: touch the head's lower face on the top of the work, Z 0; set the axis on the"
    " throat's centre line, Y 0."
)

DEBURR = (
    "Spindle stopped: break the throat's edges, draw a hooked blade along the undercut's edges."
)


def drill_on_axis(number: int, of: int, ends: int) -> str:
    """Tell one end hole, drilled along the slot.

    Examples
    --------
    >>> drill_on_axis(1, 2, 1), drill_on_axis(2, 2, 2)
    ('Spot and drill end hole 1 of 2.', 'Spot and drill end hole 2 of 2, from both ends.')
    """
    both = ", from both ends" if ends == 2 else ""
    return f"Spot and drill end hole {number} of {of}{both}."


def drill_down(name: str) -> str:
    """Tell a hole that is drilled from the top.

    Examples
    --------
    >>> drill_down("drop-in hole")
    "Spot and drill the drop-in hole where the head goes in, its edge on the undercut's end."
    """
    return f"Spot and drill the {name} where the head goes in, its edge on the undercut's end."


def drill_at_the_end(number: int, of: int, along: float, system: units.System) -> str:
    """Tell one hole from the top at the closed end, by the place of its axis along the slot.

    Examples
    --------
    >>> drill_at_the_end(1, 1, 5.2, "metric")
    "Spot and drill hole 1 of 1 from the top, 5.20 from the undercut's closed end."
    """
    place = f"{shop.dial(along, system)} from the undercut's closed end"
    place = place if along else "on the line where the undercut ends"
    return f"Spot and drill hole {number} of {of} from the top, {place}."


def throat_at(level: int, levels: int, side: float, system: units.System) -> str:
    """Tell one depth of the throat slot, and what is taken beside the first pass.

    Examples
    --------
    >>> throat_at(1, 1, 0.0, "metric"), throat_at(2, 3, 0.5, "metric")
    ('Mill the throat slot.', 'Mill the throat slot, depth 2 of 3; then at Y +0.50 and Y -0.50.')
    """
    depth = "" if levels == 1 else f", depth {level} of {levels}"
    return f"Mill the throat slot{depth}{_beside(side, system)}."


#: Of a throat slot whose end mill the job does not give.
THROAT_UNKNOWN = "Mill the throat slot in several depths (not checked)."


def throat_in(levels: int, depth: float, side: float, system: units.System) -> str:
    """Tell all depths of the throat slot in one.

    Examples
    --------
    >>> throat_in(15, 0.5, 0.0, "metric")
    'Mill the throat slot in 15 depths, 0.50 deeper each time.'
    """
    each = shop.dial(depth, system)
    return (
        f"Mill the throat slot in {levels} depths, {each} deeper each time{_beside(side, system)}."
    )


def throat_sides(levels: int, steps: int, side: float, system: units.System) -> str:
    """Tell the passes beside the first, cut when that is at its full depth.

    Examples
    --------
    >>> throat_sides(1, 1, 0.6, "metric")
    'Mill each side at full depth: Y +0.60 and -0.60.'
    >>> throat_sides(2, 2, 0.5, "metric")
    'Mill each side in 2 depths: Y +0.50, +1.00 and -0.50, -1.00.'
    """
    deep = "at full depth" if levels == 1 else f"in {levels} depths"
    out, back = (
        ", ".join(shop.dial(sign * k * side, system, signed=True) for k in range(1, steps + 1))
        for sign in (1, -1)
    )
    return f"Mill each side {deep}: Y {out} and {back}."


def _beside(side: float, system: units.System) -> str:
    if not side:
        return ""
    return f"; then at Y {shop.dial(side, system, signed=True)} and Y" + (
        f" {shop.dial(-side, system, signed=True)}"
    )


def cut_wall(wall: str, level: int, levels: int) -> str:
    """Tell one pass of the undercut.

    Examples
    --------
    >>> cut_wall("both walls", 1, 1), cut_wall("left wall", 2, 2)
    ('Cut both walls.', 'Cut the left wall, height 2 of 2.')
    """
    the = "" if wall.startswith("both") else "the "
    height = "" if levels == 1 else f", height {level} of {levels}"
    return f"Cut {the}{wall}{height}."


STEP_OVER = (
    "At the closed end, spindle running, step over to this Y at half the feed; then feed out."
)

#: How the head gets to its depth: outside of the slot, or where a hole or the throat lets it down.
LOWER = "Lower it outside the slot; lock Z and Y."
LOWER_IN = "Lower it, spindle stopped, where the head goes in, at Y 0; lock Z."

#: Out of the hole, or the throat, sideways into metal: half the feed keeps the chip under the
#: pass's own, as long as a pass meets more than a tenth of the head's width.
ASIDE = "There, spindle running, feed the cross slide to this Y at half the feed."


def stop_past(x: float, system: units.System) -> str:
    """Tell where a pass ends at a closed end, from the open one.

    Examples
    --------
    >>> stop_past(58.75, "inch")
    'Stop with the axis 2.312 past the open end.'
    """
    return f"Stop with the axis {shop.dial_under(x, system)} past the open end."


def stop_short(x: float, system: units.System) -> str:
    """Tell where a pass ends in a slot that is closed at both ends.

    Examples
    --------
    >>> stop_short(5.2, "metric")
    "Stop with the axis 5.20 short of the undercut's end."
    """
    return f"Stop with the axis {shop.dial(x, system)} short of the undercut's end."


GO_ROUND = "Take the cutter to that end along what is already cut, spindle running."


def measure(widths: tuple[float, float, float, float], system: units.System) -> str:
    """Tell what is measured.

    Parameters
    ----------
    widths : (float, float, float, float)
        Throat's width; undercut's width and height; depth to its floor. [mm]
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str
    """
    throat, width, height, depth = (shop.dial(x, system) for x in widths)
    return (
        f"Measure throat {throat} wide, undercut {width} wide, {height} high, floor {depth} down."
    )

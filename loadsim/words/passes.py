"""How a pass is set up, in the words of somebody who stands at the table: which way, which wall,
which side.

The spindle turns clockwise seen from above. The tooth on the left of a cutter that travels away
from you then moves the way the cutter travels: the wall on the left is cut conventionally, the wall
on the right climbs. What travels is the cutter along the slot; on a mill the table runs the other
way. Left and right are one for all passes, as seen by one who looks in from where the first comes
in: a pass that is fed back has its conventional wall on the right.
"""

from __future__ import annotations

from loadsim.base import shop, units
from loadsim.loads.passes import Pass, down_throat, in_drop_in, no_way_in
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.mechanics import chip
from loadsim.words import phrases

#: From where one looks along the slot, by the number of open ends: left and right are told so.
LOOKING = {
    0: "along the slot from the end where the head goes in",
    1: "in from the open end",
    2: "in from the end where the first pass starts",
}

#: Where a travel starts and ends, by the number of open ends: along the slot, and back.
ALONG = {
    0: "from the end where the head goes in",
    1: "from the open end in",
    2: "from the end where pass 1 starts",
}

BACK = {0: "from the far end back", 1: "from the closed end out", 2: "from the other end back"}


def how(job: ResolvedJob, p: Pass) -> str:
    """Say how a pass is set: where the axis stands, which way the cutter travels, which wall it
    cuts and how.

    Parameters
    ----------
    job : ResolvedJob
        Its slot: sides, open ends and datums.
    p : Pass
        One pass.

    Returns
    -------
    how : str
        Whole sentences.
    """
    ends = job.slot.open_ends
    travel = (BACK if p.back else ALONG)[job.slot.open_ends]
    up = f", {_show(job, p.level)} above the floor" if p.level > 0 else ", on the floor"
    if p.direction == "both":
        return (
            f"Feed {travel}, {_axis(job, p)}{up}; it cuts both walls at once, the left one"
            " conventionally, the right one climbing."
        )
    left = (p.direction == "conventional") != p.back
    sentence = (
        f"Feed {travel}, {_axis(job, p)}{up}; it cuts the {'left' if left else 'right'} wall,"
        f" {p.direction} (left and right as seen looking {LOOKING[ends]})."
    )
    if p.back and ends < 2:
        sentence += f" {_to_that_end(job, p)}"
    if job.slot.sides == 1 and not p.back and ends == 1:
        other = (
            "from the closed end out, or it climbs"
            if left
            else "from the closed end out, or it cuts conventionally"
        )
        sentence += (
            f" That holds where the undercut is on the {'left' if left else 'right'} seen from the"
            f" open end; where it is on the other side, feed {other}."
        )
    return sentence


def way_out(job: ResolvedJob, passes: tuple[Pass, ...], i: int) -> str:
    """Say how the cutter leaves the slot after a pass that ends where the slot is closed.

    It is backed out with the spindle running, along the line it came and no faster: the slot is
    then as wide as the head, so a running tooth meets air and the little that sprang back, while a
    tooth that stands, or a chip beside it, wedges against a wall and the table bends the neck. The
    wheel first turns free through the backlash. It is not lifted: the head stands under the ledges.

    Parameters
    ----------
    job : ResolvedJob
        Its slot, and how its table is fed.
    passes : tuple of Pass
        Of the whole cut, in order.
    i : int
        Which of them. [1]

    Returns
    -------
    out : str
        Whole sentences; "" where the cutter leaves by an open end, or the next pass starts here.
    """
    ends = job.slot.open_ends
    goes_on = i + 1 < len(passes)
    at_start = passes[i].back  # back at the end where the first pass came in
    if ends == 2 or (ends == 1 and at_start):
        return ""
    if goes_on and passes[i + 1].back != at_start:
        return ""
    if not at_start and in_drop_in(job, passes[i]):
        return RUN_OUT
    if down_throat(job):
        return (
            f"{CLEAR} Spindle running, step back to the centre line; stop the spindle there, then"
            " raise the cutter."
        )
    if at_start:
        return "" if goes_on else LIFT
    wheel = {
        "hand": "turn the handwheel the other way, through its backlash and then no faster than"
        " you fed in",
        "power": "feed the table back, no faster than you fed in",
        "cnc": "feed back along the same line, no faster than you fed in, never in rapid",
    }[job.machine.feed]
    out = f"{CLEAR} Back out with the spindle running, the cross slide untouched: {wheel}. {WHY}"
    return f"{out} {LIFT}" if ends == 0 and not goes_on else out


#: First of all at a closed end.
CLEAR = "At the closed end stop the feed, let the cutter run free and blow the chips out."

#: At a closed end with a drop-in hole.
RUN_OUT = (
    "Feed on until the head stands free in the hole at the closed end, stop the spindle there, and"
    " raise the cutter only when it stands."
)

#: Why the spindle runs on the way out, and why the cutter is not lifted.
WHY = (
    "Running, the teeth meet air; stopped, a tooth or a chip wedges against the wall and the table"
    " can snap the neck. Do not lift: the head is under the ledges."
)

#: Out of a slot that is closed at both ends.
LIFT = (
    "Back in the drop-in hole set the cross slide to Y 0; with the head in the hole's middle stop"
    " the spindle, and raise the cutter only when it stands."
)


def _to_that_end(job: ResolvedJob, p: Pass) -> str:
    if no_way_in(job, p):
        return (
            "Nothing lets the head in at that end: cut the other way, or drill a drop-in hole"
            " there."
        )
    if job.slot.open_ends == 0 and not p.section.swept and not down_throat(job):
        return "So the drop-in hole belongs at that end."
    if in_drop_in(job, p) and not p.section.swept:
        return "Lower the cutter there into the hole from the top, then start the spindle."
    along = "what is already cut" if p.section.swept else "the throat"
    return f"Take the cutter to that end along {along} and step it over there, spindle running."


def dialled(job: ResolvedJob, f_z: float, speed: float) -> str:
    """Say a feed as it is dialled, and what it is a tooth.

    Parameters
    ----------
    job : ResolvedJob
        Its teeth, how its table is fed, and the units to speak in.
    f_z : float
        Feed per tooth. [mm]
    speed : float
        Spindle speed. [rad/s]

    Returns
    -------
    text : str
    """
    rate = chip.feed_rate(f_z, job.cutter.teeth, speed)
    tooth = f"{shop.fine(f_z, job.units)} a tooth"
    if job.machine.feed == "hand":
        return f"{phrases.wheel(job.handwheel / rate, job.handwheel, job.units)} ({tooth})"
    per_minute = units.to_unit(rate, "mm/min", "feed speed")
    return f"{shop.feed_rate(per_minute, job.units)} ({tooth})"


def _axis(job: ResolvedJob, p: Pass) -> str:
    """Where the axis stands, seen from where the first pass comes in, whichever way it is fed."""
    y = p.offset
    if y == 0:
        return "the axis on the centre line"
    return f"the axis {_show(job, max(y, -y))} {'left' if y > 0 else 'right'} of the centre line"


def _show(job: ResolvedJob, x: float) -> str:
    return units.show(x, "length", job.units)

"""How long a way of making the undercut keeps the machine: cutting, setting up passes, drilling end
holes.
"""

from __future__ import annotations

import math
from enum import Enum, auto

from loadsim.base import units
from loadsim.base.errors import FILE, InputError
from loadsim.base.numbers import two_figures_down
from loadsim.job.rules_cut import feed_problems
from loadsim.job.tables import Machine
from loadsim.loads.assumptions import HOLE_SETUP, PASS_SETUP, RESONANCE_BAND, TOOL_CHANGE
from loadsim.loads.cut import Engagement
from loadsim.loads.limits.utilization import NEAR
from loadsim.loads.passes import pass_travel
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.materials.families import by_family
from loadsim.mechanics import chip
from loadsim.mechanics.drilling import DRILL_FEED
from loadsim.mechanics.stock import Hole, TopHole

#: Share of the surface speed for an end mill at which a drill runs; travel over depth, for pecking
#: (common practice). [1]
DRILL_SPEED = 0.5
PECKING = 2.0


def drill_speed(job: ResolvedJob, diameter: float) -> float:
    """Spindle speed for a drill.

    Parameters
    ----------
    job : ResolvedJob
        Its machine's speeds and the surface speed of its material.
    diameter : float
        Drill diameter. [mm]

    Returns
    -------
    speed : float
        [rad/s]
    """
    return min(
        DRILL_SPEED * job.work.surface_speed_hi / (diameter / 2), job.machine.max_spindle_speed
    )


def drilling_time(job: ResolvedJob, holes: tuple[Hole | TopHole, ...], depth: float) -> float:
    """Time to drill the end holes, the change of tools included.

    Parameters
    ----------
    job : ResolvedJob
        Its machine, material, and the length and open ends of its slot.
    holes : tuple of Hole
        None of them takes no time.
    depth : float
        From each open end, or from the top. [mm]

    Returns
    -------
    time : float
        [s]
    """
    if not holes:
        return 0.0
    D = holes[0].diameter
    each = PECKING * depth / (DRILL_FEED * D * drill_speed(job, D) / (2 * math.pi)) + HOLE_SETUP
    through = isinstance(holes[0], TopHole) or depth >= job.slot.length
    ends = 1 if through else job.slot.open_ends
    return TOOL_CHANGE + each * len(holes) * ends


def machine_time(
    job: ResolvedJob,
    passes: int,
    rate: float,
    holes: tuple[Hole | TopHole, ...] = (),
    depth: float = 0.0,
) -> float:
    """Time on the machine of one way of making the undercut.

    Parameters
    ----------
    job : ResolvedJob
        Its slot and cutter, whose lengths make the travel, and what drilling asks of it.
    passes : int
        How many. [1]
    rate : float
        Table feed. [mm/s]
    holes : tuple of Hole
        End holes drilled before.
    depth : float
        Of the end holes, from each open end or from the top. [mm]

    Returns
    -------
    time : float
        [s]
    """
    travel = pass_travel(job.slot, job.cutter.head_diameter)
    return travel * passes / rate + PASS_SETUP * passes + drilling_time(job, holes, depth)


#: Share of the surface speed for an end mill at which an undercut cutter runs (0.5 to 0.7, memory
#: medium). [1]
UNDERCUT_SPEED = 0.6

#: Feed per tooth that a small cutter is usually given, over its diameter, by how the metal cuts
#: (memory medium). [1]
USUAL_FEED = {
    "aluminum": 0.008, "brass": 0.008, "copper": 0.006, "bronze": 0.006, "magnesium": 0.008,
    "plastic": 0.012, "iron": 0.004, "steel": 0.004, "stainless": 0.003, "tool steel": 0.003,
    "titanium": 0.003,
}  # fmt: skip

#: Largest feed per tooth for cutters of this kind, whatever their diameter (0.001 to 0.003 in,
#: memory medium). [mm]
LARGEST_FEED = 0.075


def given_feed(job: ResolvedJob, speed: float) -> float | None:
    """Feed per tooth that [cut] gives, as such or by the table feed.

    Parameters
    ----------
    job : ResolvedJob
        Its [cut] and tooth count.
    speed : float
        Spindle speed. [rad/s]

    Returns
    -------
    f_z : float or None
        None where it is left open. [mm]

    Raises
    ------
    InputError
        If the table feed makes an absurd chip at this speed.
    """
    cut = job.cut
    teeth = job.cutter.teeth
    if cut.feed_rate is None:
        return cut.feed_per_tooth
    if problems := feed_problems("[cut] feed_rate", cut.feed_rate, speed, teeth):
        raise InputError(FILE, problems)
    return chip.feed_per_tooth(cut.feed_rate, teeth, speed)


class SpeedBound(Enum):
    """What bounds a spindle speed."""

    FASTEST = auto()  #: of the machine
    SLOWEST = auto()  #: of the machine, faster than the metal asks for
    SURFACE_SPEED = auto()
    RESONANCE = auto()


def pick_speed(job: ResolvedJob, frequency: float) -> tuple[float, SpeedBound]:
    """Pick the spindle speed: the lowest of machine, surface speed and distance to resonance.

    Parameters
    ----------
    job : ResolvedJob
        Its machine, head, blank and the surface speed of its material.
    frequency : float
        Natural frequency of the cutter. [Hz]

    Returns
    -------
    speed : float
        [rad/s]
    bound : SpeedBound
    """
    machine = job.machine
    radius = job.head.radius
    best = (
        max(UNDERCUT_SPEED * job.work.surface_speed_hi, job.work.surface_speed_lo)
        * job.blank.speed_factor
    )
    bounds = {
        SpeedBound.FASTEST: machine.max_spindle_speed,
        SpeedBound.SURFACE_SPEED: best / radius,
        SpeedBound.RESONANCE: below_resonance(frequency, job.cutter.teeth),
    }
    return lowest_speed(machine, bounds)


def below_resonance(own: float, teeth: int) -> float:
    """Fastest spindle speed at which tooth passing stays clear under the own frequency.

    Parameters
    ----------
    own : float
        Own frequency of the tool. [Hz]
    teeth : int
        Number of teeth. [1]

    Returns
    -------
    speed : float
        Its resonance is used to `NEAR`, as a go asks. [rad/s]
    """
    return NEAR * (1 - RESONANCE_BAND) * own * 2 * math.pi / teeth


def lowest_speed(machine: Machine, bounds: dict[SpeedBound, float]) -> tuple[float, SpeedBound]:
    """Round the lowest of the bounds on a spindle speed to what the machine runs, and say which it
    was.

    Parameters
    ----------
    machine : Machine
        The [machine] table.
    bounds : dict
        Spindle speed by what bounds it. [rad/s]

    Returns
    -------
    speed : float
        [rad/s]
    bound : SpeedBound
    """
    bound = min(bounds, key=lambda k: bounds[k])
    speed = units.from_unit(
        two_figures_down(units.to_unit(bounds[bound], "rpm", "angular speed")),
        "rpm",
        "angular speed",
    )
    if bound is SpeedBound.FASTEST:
        speed = machine.max_spindle_speed
    if machine.min_spindle_speed is not None and speed < machine.min_spindle_speed:
        return machine.min_spindle_speed, SpeedBound.SLOWEST
    return speed, bound


def usual_feed(job: ResolvedJob, diameter: float | None = None) -> float:
    """Feed per tooth that a cutter of this diameter, else the undercut cutter, is usually given in
    this metal. [mm]
    """
    D = 2 * job.head.radius if diameter is None else diameter
    share = by_family(USUAL_FEED, job.work.family, USUAL_FEED["steel"])
    return min(share * D, LARGEST_FEED)


def rubbing_feed(job: ResolvedJob, way: Engagement) -> float:
    """Feed per tooth below which even the thickest chip only rubs. [mm]"""
    return job.h_min / min(c.sine for c in way.contacts)


def settable(job: ResolvedJob, speed: float, f_z: float, teeth: int | None = None) -> float:
    """Largest feed per tooth not over f_z that the machine can set.

    Hand feed: seconds for one turn of the handwheel to a whole half second; else table feed to two
    figures.

    Parameters
    ----------
    job : ResolvedJob
        Its tooth count and the feeds of its machine.
    speed : float
        Spindle speed. [rad/s]
    f_z : float
        Feed per tooth. [mm]
    teeth : int, optional
        Of another tool than the undercut cutter. [1]

    Returns
    -------
    f_z : float
        [mm]
    """
    N = job.cutter.teeth if teeth is None else teeth
    return chip.feed_per_tooth(settable_rate(job, chip.feed_rate(f_z, N, speed)), N, speed)


def settable_rate(job: ResolvedJob, rate: float) -> float:
    """Largest table feed not over rate that the machine can set. [mm/s]"""
    if job.machine.feed == "hand":
        half_seconds = math.ceil(2 * job.handwheel / rate - 1e-9)
        return job.handwheel / (half_seconds / 2)
    return units.from_unit(
        two_figures_down(units.to_unit(rate, "mm/min", "feed speed")), "mm/min", "feed speed"
    )

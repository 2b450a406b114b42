"""Picks what [cut] leaves out: spindle speed, and the largest feed at which every limit holds."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from loadsim import limits, risk, units
from loadsim.beam import natural_frequency
from loadsim.case import FILE, Case, Setup, nominal_case
from loadsim.chain import Contact, thickest_sine
from loadsim.cut_bounds import feed_problems
from loadsim.domain import Machine
from loadsim.errors import InputError
from loadsim.fillet import K_T_BENDING_FE_BOUND
from loadsim.passes import Pass
from loadsim.summary import summarise

Array = npt.NDArray[np.float64]

#: Share of the surface speed for an end mill at which an undercut cutter runs (0.5 to 0.7, memory medium). [1]
UNDERCUT_SPEED = 0.6
#: Feed per tooth that a small cutter is usually given, over its diameter, by how the metal cuts (memory medium). [1]
USUAL_FEED = {"aluminum": 0.008, "brass": 0.008, "copper": 0.006, "bronze": 0.006, "magnesium": 0.008, "plastic": 0.012,
              "iron": 0.004, "steel": 0.004, "stainless": 0.003, "tool steel": 0.003, "titanium": 0.003}  # fmt: skip
#: Largest feed per tooth for cutters of this kind, whatever their diameter (0.001 to 0.003 in, memory medium). [mm]
LARGEST_FEED = 0.075
#: Reading a limit as "near" its capacity: a go keeps every hard limit under this. [1]
NEAR = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way of making the undercut: its passes and their contact tables."""

    passes: tuple[Pass, ...]
    contacts: list[Contact]
    sine: float  #: sin(phi) of the thickest chip [1]
    frequency: float  #: natural frequency of the cutter [Hz]


def way_of(setup: Setup, passes: tuple[Pass, ...], fine: int = 360) -> Way:
    """Make the contact tables of one way of cutting, once.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    passes : tuple of Pass
        From `loadsim.passes.passes`.
    fine : int
        About how many positions stand for a turn. [1]

    Returns
    -------
    way : Way
    """
    from loadsim.chain import contacts_of

    contacts = contacts_of(passes, setup.job.cutter.teeth, fine)
    return Way(passes=passes, contacts=contacts, sine=thickest_sine(contacts), frequency=natural_frequency(setup))


def cutting(setup: Setup, way: Way, speed: float | Array, f_z: float | Array) -> limits.Cutting:
    """Run the chain for one speed and one feed, or many.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    way : Way
        How the undercut is made.
    speed : float or array
        Spindle speed. [rad/s]
    f_z : float or array
        Feed per tooth. [mm]

    Returns
    -------
    cutting : Cutting
    """
    case: Case = nominal_case(setup, f_z, way.sine, K_T_BENDING_FE_BOUND)
    return limits.Cutting(case=case, speed=np.asarray(speed, float), summary=summarise(setup, way.contacts, case),
                          passes=way.passes, frequency=way.frequency)  # fmt: skip


def given_feed(setup: Setup, speed: float) -> float | None:
    """Feed per tooth that [cut] gives, as such or by the table feed.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
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
    cut, teeth = setup.job.cut, setup.job.cutter.teeth
    if cut.feed_rate is None:
        return cut.feed_per_tooth
    if problems := feed_problems("[cut] feed_rate", cut.feed_rate, speed, teeth):
        raise InputError(FILE, problems)
    return cut.feed_rate / (speed / (2 * math.pi) * teeth)


def two_figures_down(x: float) -> float:
    """Round down to two significant figures, as a speed or feed is set.

    Parameters
    ----------
    x : float
        Above zero.

    Returns
    -------
    rounded : float

    Examples
    --------
    >>> two_figures_down(3579.0), two_figures_down(0.0467)
    (3500.0, 0.046)
    """
    step = 10.0 ** (math.floor(math.log10(x)) - 1)
    return float(f"{math.floor(x / step * (1 + 1e-12)) * step:.12g}")


def pick_speed(setup: Setup, frequency: float) -> tuple[float, str]:
    """Pick the spindle speed: the lowest of machine, surface speed and distance to resonance.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    frequency : float
        Natural frequency of the cutter. [Hz]

    Returns
    -------
    speed : float
        [rad/s]
    reason : str
    """
    machine, radius, N = setup.job.machine, setup.head.radius, setup.job.cutter.teeth
    best = max(UNDERCUT_SPEED * setup.work.surface_speed_hi, setup.work.surface_speed_lo) * setup.blank.speed_factor
    bounds = {
        "the fastest the machine runs": machine.max_spindle_speed,
        f"the surface speed for {setup.blank.title} in {setup.work.title}": best / radius,
        "the distance to resonance": limits.DETUNED * frequency * 2 * math.pi / (limits.HARMONICS * N),
    }
    return lowest_speed(machine, bounds)


def lowest_speed(machine: Machine, bounds: dict[str, float]) -> tuple[float, str]:
    """Round the lowest of the bounds on a spindle speed to what the machine runs, and say which it was.

    Parameters
    ----------
    machine : Machine
        The [machine] table.
    bounds : dict
        Reason to spindle speed; that of the machine starts with "the fastest". [rad/s]

    Returns
    -------
    speed : float
        [rad/s]
    reason : str
    """
    reason = min(bounds, key=lambda k: bounds[k])
    speed = units.from_unit(two_figures_down(units.to_unit(bounds[reason], "rpm", "angular speed")), "rpm", "angular speed")
    if reason.startswith("the fastest"):
        speed = machine.max_spindle_speed
    if machine.min_spindle_speed is not None and speed < machine.min_spindle_speed:
        return machine.min_spindle_speed, "the slowest the machine runs, faster than the metal asks for"
    return speed, reason


def usual_feed(setup: Setup, diameter: float | None = None) -> float:
    """Feed per tooth that a cutter of this diameter, else the undercut cutter, is usually given in this metal. [mm]"""
    family, D = setup.work.family, 2 * setup.head.radius if diameter is None else diameter
    kind = max((k for k in USUAL_FEED if family.startswith(k)), key=len, default="steel")
    return min(USUAL_FEED[kind] * D, LARGEST_FEED)


def rubbing_feed(setup: Setup, way: Way) -> float:
    """Feed per tooth below which even the thickest chip only rubs. [mm]"""
    least = min(float(np.sin(c.peak.phi).max()) for c in way.contacts)
    return setup.h_min / least


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """A feed picked, or the reason why there is none."""

    f_z: float  #: [mm]
    rate: float  #: table feed [mm/s]
    safe: bool  #: every limit holds at the asked snap probability
    bound: str  #: what bound it
    next_bound: str  #: the next limit, and how far it is


def settable(setup: Setup, speed: float, f_z: float) -> float:
    """Largest feed per tooth not over f_z that the machine can set.

    Hand feed: seconds for one turn of the handwheel to a whole half second; else table feed to two figures.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    speed : float
        Spindle speed. [rad/s]
    f_z : float
        Feed per tooth. [mm]

    Returns
    -------
    f_z : float
        [mm]
    """
    teeth = speed / (2 * math.pi) * setup.job.cutter.teeth
    return settable_rate(setup, f_z * teeth) / teeth


def settable_rate(setup: Setup, rate: float) -> float:
    """Largest table feed not over rate that the machine can set. [mm/s]"""
    if setup.job.machine.feed == "hand":
        half_seconds = math.ceil(2 * setup.handwheel / rate - 1e-9)
        return setup.handwheel / (half_seconds / 2)
    return units.from_unit(two_figures_down(units.to_unit(rate, "mm/min", "feed speed")), "mm/min", "feed speed")


#: Limits that a slower feed does nothing about.
FEEDLESS = ("rubbing", "built-up edge", "surface speed", "resonance")


def _over(setup: Setup, way: Way, speed: float, f_z: Array) -> tuple[Array, list[str]]:
    """Utilization, against what a go allows, of every limit that the feed moves; (limits, feeds)."""
    found = [c for c in limits.checks(setup, cutting(setup, way, speed, f_z)) if c.name not in FEEDLESS and not c.fit]
    u = np.array([np.broadcast_to(c.utilization / (NEAR if c.hard else 1.0), f_z.shape) for c in found])
    return u, [c.name for c in found]


def pick_feed(setup: Setup, way: Way, speed: float, drawn: risk.Draws) -> Feed:
    """Pick the largest settable feed at which every limit holds at the asked snap probability.

    Bisection on utilization and probability, both rising with the feed; never under the rubbing feed,
    never over what is usual for the size.

    Parameters
    ----------
    setup : Setup
        The job, resolved.
    way : Way
        How the undercut is made.
    speed : float
        Spindle speed. [rad/s]
    drawn : Draws
        Sample of the risk.

    Returns
    -------
    feed : Feed
        When nothing is safe, the rubbing feed with ``safe`` false.
    """
    target, least, most = setup.job.target.snap_probability, rubbing_feed(setup, way), usual_feed(setup)
    most = max(most, 1.5 * least)
    grid = np.geomspace(least, most, 25)
    u, names = _over(setup, way, speed, grid)
    worst = u.max(axis=0)

    def chance(f_z: float) -> float:
        return risk.assess(setup, way.passes, way.contacts, f_z, drawn).high

    bound = "what is usual for a cutter of this size"
    high = most
    if worst[-1] > 1:
        i = int(np.argmax(worst > 1))
        bound = names[int(np.argmax(u[:, i]))]
        high = _root(lambda f: float(_over(setup, way, speed, np.array([f]))[0].max()) - 1, grid[max(i - 1, 0)], grid[i]) if i else 0.0
    if high and chance(high) > target:
        bound = "the asked snap probability"
        high = _root(lambda f: chance(f) - target, least, high) if chance(least) <= target else 0.0
    f_z = settable(setup, speed, high) if high else least
    safe = high > 0 and f_z >= least * (1 - 1e-9)
    if not safe:
        f_z = settable(setup, speed, least)
    teeth = speed / (2 * math.pi) * setup.job.cutter.teeth
    return Feed(f_z=f_z, rate=f_z * teeth, safe=safe, bound=bound, next_bound=_next(setup, way, speed, f_z, bound))


def _root(f: object, low: float, high: float) -> float:
    """Largest x in [low, high] with f(x) <= 0 for a rising f, to 0.2 %."""
    assert callable(f)
    while high / low > 1.002:
        middle = math.sqrt(low * high)
        if f(middle) > 0:
            high = middle
        else:
            low = middle
    return low


def _next(setup: Setup, way: Way, speed: float, f_z: float, bound: str) -> str:
    u, names = _over(setup, way, speed, np.array([f_z]))
    ranked = sorted((x, n) for x, n in zip(u[:, 0].tolist(), names, strict=True) if n != bound)
    return f"{ranked[-1][1]}, used to {units.percent(ranked[-1][0])} of what a go allows"

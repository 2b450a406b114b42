"""Words that every answer uses in the same way: times, chances, the handwheel, drills, what a job
makes hard to do.
"""

from __future__ import annotations

import math

from loadsim.base import shop, units
from loadsim.loads.assumptions import PASS_SETUP, TOOL_CHANGE
from loadsim.loads.limits.utilization import Limit, LimitCode
from loadsim.mechanics import drill_sizes

#: Longest turn of a handwheel that a hand still feeds evenly (common practice, no source). [s]
SLOWEST_TURN = 20.0

#: Time for which a slower feed is told as a share of a turn. [s]
TOLD_FOR = 10.0

#: How near a share of a turn lies to one part of it that is told as such. [1]
NEAR_PART = 0.05

#: What feeds a table that no hand feeds.
DRIVEN = {"power": "power feed", "cnc": "control"}

#: Limits that are a chance: a share of the asked one is no use of a capacity.
CHANCES = frozenset({LimitCode.SNAP_PROBABILITY, LimitCode.MILL_SNAP_PROBABILITY})

#: The verdict as a reader sees it.
VERDICTS = {"go": "GO", "marginal": "PROVE IT ON SCRAP FIRST", "no-go": "NO-GO"}

#: Chance from which on a neck is said to snap in practically every cut. [1]
EVERY = 0.995

#: Chance from which on it is told in a hundred cuts. [1]
IN_A_HUNDRED = 0.2

#: What a drill's point depth is told to, in mm and in inches (common practice, no source).
POINT_MM = 0.1
POINT_IN = 0.005


def probability(p: float) -> str:
    """Write a probability as a plain decimal with at most two figures, never finer than one in a
    million.

    Parameters
    ----------
    p : float
        [1]

    Returns
    -------
    text : str

    Examples
    --------
    >>> probability(6.2e-06), probability(0.0), probability(1.0), probability(0.01)
    ('0.0000062', 'under 0.000001', 'nearly 1', '0.01')
    """
    if p < 1e-6:
        return "under 0.000001"
    return "nearly 1" if p > EVERY else plain(p, 2)


def plain(x: float, figures: int) -> str:
    """Write a number with so many figures and without an exponent.

    Examples
    --------
    >>> plain(1.8e-05, 2), plain(190.0, 2), plain(0.0, 2)
    ('0.000018', '190', '0')
    """
    text = f"{float(f'{x:.{figures}g}'):.12f}"
    return text.rstrip("0").rstrip(".")


def interval(low: float, high: float) -> str:
    """Write the interval of a probability."""
    return f"{plain(low, 2)} to {plain(high, 2)}"


def accepted(p: float) -> str:
    """Say a probability that is asked for as so many cuts in a round number.

    Examples
    --------
    >>> accepted(0.01), accepted(0.001), accepted(0.25), accepted(0.003)
    ('1 cut in 100', '1 cut in 1,000', '1 cut in 4', '3 cuts in 1,000')
    """
    n = round(1 / p)
    if math.fabs(n * p - 1) < 1e-6:
        return f"1 cut in {n:,}"
    of = 10
    while math.fabs(round(p * of) - p * of) > 1e-6 and of < 1_000_000:
        of *= 10
    return f"{p * of:.3g} cuts in {of:,}"


def times(cutting: float, passes: int) -> str:
    """Tell the three times of a cut, each by its own name.

    Parameters
    ----------
    cutting : float
        While the tool is fed. [s]
    passes : int
        How many. [1]

    Returns
    -------
    text : str
    """
    set_up = cutting + PASS_SETUP * passes
    return (
        f"cutting {units.duration(cutting)} in {passes} pass{'es' if passes > 1 else ''}; with"
        f" setting up {units.duration(set_up)}; with tool change"
        f" {units.duration(set_up + TOOL_CHANGE)}"
    )


def handwheel(seconds: float, travel: float | None, system: units.System) -> str:
    """Say how the handwheel is turned; a slow turn also as a share of it, which a hand can follow.

    Parameters
    ----------
    seconds : float
        For one turn. [s]
    travel : float or None
        Of the table for one turn, where it is known. [mm]
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str
    """
    text = f"one turn in {plain(seconds, 3)} s"
    if seconds <= SLOWEST_TURN:
        return text
    share = TOLD_FOR / seconds
    dial = "" if travel is None else f", {units.show(travel * share, 'length', system)} on the dial"
    return f"{text}: {plain(share, 2)} of a turn every {TOLD_FOR:.0f} s{dial}"


def wheel(seconds: float, travel: float, system: units.System) -> str:
    """Say shortly how the handwheel is turned; a slow turn as a share of it, which a hand can
    follow on the dial.

    Parameters
    ----------
    seconds : float
        For one turn. [s]
    travel : float
        Of the table for one turn. [mm]
    system : {"metric", "inch"}
        Which dial.

    Returns
    -------
    text : str

    Examples
    --------
    >>> wheel(3.61, 5.0, "metric"), wheel(29.8, 2.54, "inch")
    ('1 turn of the handwheel in 3.6 s', '0.0336 in on the dial (1/3 turn) every 10 s')
    """
    if seconds <= SLOWEST_TURN:
        return f"1 turn of the handwheel in {plain(seconds, 2)} s"
    share = TOLD_FOR / seconds
    dial = shop.length_text(travel * share, system)
    return f"{dial} on the dial ({_share(share)} turn) every {TOLD_FOR:.0f} s"


def _share(share: float) -> str:
    """Write a share of a turn as a fraction, where one is near."""
    part = round(1 / share)
    return f"1/{part}" if math.fabs(part * share - 1) < NEAR_PART else plain(share, 2)


def drill(diameter: float, system: units.System) -> str:
    """Name a drill as the index does; one that hangs in no index by its diameter.

    Parameters
    ----------
    diameter : float
        [mm]
    system : {"metric", "inch"}
        Whose index is looked at first.

    Returns
    -------
    name : str

    Examples
    --------
    >>> drill(8.1, "metric"), drill(6.35, "metric")
    ('8.1 mm', '6.350 mm')
    >>> drill(0.201 * 25.4, "inch"), drill(6.35, "inch")
    ('#7', '1/4 in')
    """
    same = [
        d.name
        for d in drill_sizes.stock("inch" if system == "inch" else "metric")
        if math.isclose(d.diameter, diameter, rel_tol=1e-6)
    ]
    return (
        min(same, key=lambda x: x.startswith("letter"))
        if same
        else units.show(diameter, "length", system)
    )


def drill_factors(metal: str) -> str:
    """Say whose drill factors a job's are made from; nothing where they are its own metal's.

    Parameters
    ----------
    metal : str
        Title of that metal; "" for the job's own.

    Returns
    -------
    sentence : str
        With a blank before it.

    Examples
    --------
    >>> drill_factors("Brass 260")
    ' Its torque and thrust are those in Brass 260 times the ratio of the cutting forces.'
    >>> drill_factors("")
    ''
    """
    if not metal:
        return ""
    return f" Its torque and thrust are those in {metal} times the ratio of the cutting forces."


def point_depth(x: float, system: units.System) -> str:
    """Tell how far a drill's point runs ahead, to what a shop sets.

    Examples
    --------
    >>> point_depth(3.1543, "metric"), point_depth(3.1543, "inch")
    ('3.2 mm', '0.125 in')
    """
    if system == "metric":
        return f"{round(x / POINT_MM) * POINT_MM:.1f} mm"
    return f"{round(x / units.IN / POINT_IN) * POINT_IN:.3f} in"


def chance_text(p: float) -> str:
    """Say a probability as one cut in so many, never finer than one in a million.

    Parameters
    ----------
    p : float
        [1]

    Returns
    -------
    text : str

    Examples
    --------
    >>> chance_text(0.0075), chance_text(1e-9), chance_text(0.62)
    ('about 1 cut in 130', 'less than 1 cut in 1,000,000', '62 cuts in 100')
    >>> chance_text(0.999)
    'practically every cut'
    """
    if p > EVERY:
        return "practically every cut"
    if p < 1e-6:
        return "less than 1 cut in 1,000,000"
    if p > IN_A_HUNDRED:
        return f"{100 * p:.0f} cuts in 100"
    return f"about 1 cut in {float(f'{1 / p:.2g}'):,.0f}"


def used_text(limit: Limit) -> str:
    """Say how far a limit is used; a chance is told as such, never as a share of the asked one.

    Parameters
    ----------
    limit : Limit
        Of any tool.

    Returns
    -------
    text : str
    """
    if limit.name in CHANCES:
        return f"{limit.name} {chance_text(limit.demand)}, asked {accepted(limit.capacity)}"
    return f"{limit.name} used to {units.percent(limit.utilization)}"


def few_figures(p: float) -> str:
    """Write a probability with the figure it earns."""
    return probability(float(f"{p:.1g}")) if p <= EVERY else "nearly 1"


def percent(u: float) -> str:
    """Write a utilization to read: whole per cents, two figures below ten.

    Examples
    --------
    >>> percent(0.154), percent(7.424), percent(0.00213)
    ('15%', '742%', '0.21%')
    """
    x = 100 * u
    return f"{x:.0f}%" if x >= 9.5 or x == 0 else f"{x:.2g}%"


def chance(p: float) -> str:
    """Write a probability to read; below one in a million it says no more than that.

    Examples
    --------
    >>> chance(0.0067), chance(6e-6), chance(2e-11)
    ('0.67%', '0.0006%', 'under 1 in a million')
    """
    if p < 1e-6:
        return "under 1 in a million"
    shown = f"{100 * p:.3g}"
    return f"{100 * p:.4f}".rstrip("0").rstrip(".") + "%" if "e" in shown else f"{shown}%"

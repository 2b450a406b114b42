"""Inspection of a width by gauges: chance of being out, go and no-go sizes, and what can get into
an undercut at all.

A gauge that is used alone must never pass a bad part. For a width (an inside feature) that means:
the go gauge is
not smaller than the least width, the no-go gauge not larger than the greatest, and sizes are
rounded into the
tolerance, never out of it. A few good parts near a limit are refused instead; measure those.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from loadsim.base.errors import ModelError
from loadsim.base.numbers import Reals
from loadsim.base.ranges import above_zero, any_finite, takes
from loadsim.base.units import IN

#: Classes of gauge pin, finest first, and the band of each: a plus pin lies in 0 to +band, a minus
#: pin in -band to 0,
#: up to 20.96 mm (ASMEB89Pins). Class ZZ is what a shop's pin set is. [mm]
CLASSES = (
    ("XX", 0.00002 * IN),
    ("X", 0.00004 * IN),
    ("Y", 0.00007 * IN),
    ("Z", 0.0001 * IN),
    ("ZZ", 0.0002 * IN),
)

#: Largest pin that those bands hold for (ASMEB89Pins). [mm]
LARGEST_PIN = 0.825 * IN

#: Both gauges together take at most this share of the part's whole tolerance: the gauge maker's
#: rule (common practice). [1]
GAUGE_SHARE = 0.10

#: Steps of pin sets and of gauge block sets (common practice). [mm]
PIN_STEP = {"metric": 0.01, "inch": 0.001 * IN}

BLOCK_STEP = {"metric": 0.001, "inch": 0.0001 * IN}

#: How far a pin stands out past the throat wall so that a block meets it (common practice, no
#: source). [mm]
PROUD = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """A probability counted from samples, with its interval."""

    p: float  #: [1]
    low: float  #: [1]
    high: float  #: [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Go and no-go gauge of a width."""

    go: float  #: nominal size, made to the plus side [mm]
    no_go: float  #: nominal size, made to the minus side [mm]
    band: float  #: allowed error of each, on its side [mm]
    grade: str  #: class of pin that holds the band; "" when it takes a finer one than there is
    refused: float  #: largest share of the tolerance in which good parts are refused [1]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """One way to gauge an undercut, with sizes that can be got into it."""

    name: str
    how: str
    pins: int  #: pins laid against undercut walls, 0, 1 or 2
    pin: float  #: their diameter, 0 without pins [mm]
    go: float  #: size that must go in [mm]
    no_go: float  #: size that must not [mm]
    grade: str  #: class of pin that the two sizes ask for


def counted(hits: int, n: int) -> Chance:
    """Probability from hits among n samples, with the exact binomial 95 % interval.

    Parameters
    ----------
    hits : int
        How many samples are out. [1]
    n : int
        How many there are. [1]

    Returns
    -------
    chance : Chance

    Raises
    ------
    ModelError
        If hits is not between 0 and n, or n is not positive (a ValueError).

    References
    ----------
    ClopperPearson1934
    """
    from scipy.special import betaincinv

    if not (n > 0 and 0 <= hits <= n):
        raise ModelError(f"hits is {hits} of {n}; allowed is 0 to n, with n over 0")
    low = float(betaincinv(hits, n - hits + 1, 0.025)) if hits else 0.0
    high = float(betaincinv(hits + 1, n - hits, 0.975)) if hits < n else 1.0
    return Chance(p=hits / n, low=low, high=high)


@takes(narrowest=any_finite("mm"), widest=any_finite("mm"))
def out_of_tolerance(
    narrowest: Reals, widest: Reals, low: float, high: float
) -> tuple[Chance, Chance, Chance]:
    """Chance that a sampled width lies under, over, or anywhere out of its limits.

    Parameters
    ----------
    narrowest : array_like, shape (s,)
        Least width along the wall, one a sample. [mm]
    widest : array_like, shape (s,)
        Greatest width along the wall, one a sample. [mm]
    low : float
        Least width allowed. [mm]
    high : float
        Greatest width allowed. [mm]

    Returns
    -------
    under : Chance
    over : Chance
    out : Chance

    Raises
    ------
    ModelError
        If a sample is not finite, or the limits are not in order (a ValueError).
    """
    _in_order(low, high)
    under = narrowest < low
    over = widest > high
    n = int(under.size)
    return (
        counted(int(under.sum()), n),
        counted(int(over.sum()), n),
        counted(int((under | over).sum()), n),
    )


def _in_order(low: float, high: float) -> None:
    if not (math.isfinite(low) and math.isfinite(high) and 0 < low < high):
        raise ModelError(f"limits are {low:g} and {high:g} mm; allowed is 0 < low < high")


def size_up(x: float, step: float) -> float:
    """Smallest size on a grid that is not below x.

    Parameters
    ----------
    x : float
        What it must reach. [mm]
    step : float
        Step of the grid. [mm]

    Returns
    -------
    size : float
        [mm]
    """
    return round(math.ceil(x / step - 1e-6) * step, 9)


def size_down(x: float, step: float) -> float:
    """Largest size on a grid that is not above x.

    Parameters
    ----------
    x : float
        What it must not pass. [mm]
    step : float
        Step of the grid. [mm]

    Returns
    -------
    size : float
        [mm]
    """
    return round(math.floor(x / step + 1e-6) * step, 9)


@takes(step=above_zero("mm"))
def pair(low: float, high: float, step: float) -> Pair:
    """Go and no-go size of a width, rounded into its tolerance, and the class that they have to be.

    The go gauge is a plus pin of at least the least width, the no-go a minus pin of at most the
    greatest; each takes at most half of `GAUGE_SHARE` of the tolerance. Rounding the other way
    would let the go gauge enter a slot that is too narrow, and keep the no-go gauge out of one that
    is too wide.

    Parameters
    ----------
    low : float
        Least width allowed. [mm]
    high : float
        Greatest width allowed. [mm]
    step : float
        Step of the sizes that there are. [mm]

    Returns
    -------
    pair : Pair

    Raises
    ------
    ModelError
        If the limits are not in order, or no two sizes of this step lie between them (a
        ValueError).

    References
    ----------
    ASMEB89Pins
    ISO1938Gauges, go gauge at the maximum material limit
    """
    _in_order(low, high)
    step = float(step)
    go = size_up(low, step)
    no_go = size_down(high, step)
    if go >= no_go:
        raise ModelError(
            f"no two sizes in steps of {step:g} mm lie between {low:g} and {high:g} mm; measure it"
            " instead"
        )
    allowed = GAUGE_SHARE * (high - low) / 2
    fits = [(name, band) for name, band in CLASSES if band <= allowed * (1 + 1e-9)]
    grade, band = fits[-1] if fits else ("", CLASSES[0][1])
    notes = []
    if not fits:
        notes.append(
            f"A tenth of this tolerance is finer than class {CLASSES[0][0]} pins: measure the width"
            " instead."
        )
    if no_go > LARGEST_PIN:
        notes.append(
            f"Pins over {LARGEST_PIN / IN:g} in ({LARGEST_PIN:g} mm) have wider bands than the"
            " class named here."
        )
    refused = (go - low + high - no_go + 2 * band) / (high - low)
    return Pair(go=go, no_go=no_go, band=band, grade=grade, refused=refused, notes=tuple(notes))


def lying_pin(
    width: float, throat: float, height: float, sides: int, step: float, corner: float = 0.0
) -> float | None:
    """Diameter of the pins that, laid along the slot, reach from an undercut wall past the throat
    wall above it.

    Each stands proud of the ledge by `PROUD`, lies under the roof, and drops in through the throat;
    of two pins the second must still drop in beside the first.

    Parameters
    ----------
    width : float
        Undercut width, greatest allowed; one-sided: from the plain throat wall to the undercut
        wall. [mm]
    throat : float
        Throat width. [mm]
    height : float
        Undercut height. [mm]
    sides : int
        1 or 2. [1]
    step : float
        Step of the pin set. [mm]
    corner : float
        Radius left in the undercut's corner, under which the pin must meet the wall. [mm]

    Returns
    -------
    pin : float or None
        None when no pin does. [mm]

    Notes
    -----
    The ledge is ``(width - throat)/sides`` deep.
    """
    ledge = (width - throat) / sides
    pin = size_up(max(ledge + PROUD, 2 * corner), step)
    most = min(height, (throat + ledge) / 2) if sides == 2 else min(height, throat)
    return pin if pin <= most else None


@takes(height=above_zero("mm"))
def methods(
    low: float,
    high: float,
    throat: float,
    height: float,
    sides: int,
    open_ends: int,
    system: str = "metric",
    corner: float = 0.0,
) -> tuple[tuple[Method, ...], tuple[str, ...]]:
    """Ways to gauge an undercut that its shape allows.

    No plain pin gets across an undercut: it is wider than the throat it would have to pass. A
    T-shaped gauge slides in at an open end. Pins laid along the slot drop in through the throat,
    and the gap that they leave is gauged.

    Parameters
    ----------
    low : float
        Least undercut width allowed. [mm]
    high : float
        Greatest undercut width allowed. [mm]
    throat : float
        Throat width. [mm]
    height : float
        Undercut height. [mm]
    sides : int
        1 or 2. [1]
    open_ends : int
        0, 1 or 2. [1]
    system : str
        Which pin set: metric or inch.
    corner : float
        Radius left in the undercut's corners. [mm]

    Returns
    -------
    methods : tuple of Method
    notes : tuple of str

    Raises
    ------
    ModelError
        If the limits are not in order, the throat is not narrower than the undercut, or sides or
        open_ends is not one of those named (a ValueError).
    """
    _in_order(low, high)
    if not 0 < throat < low or sides not in (1, 2) or open_ends not in (0, 1, 2):
        raise ModelError(
            f"throat {throat:g} mm, sides {sides}, open_ends {open_ends}; the throat must be"
            f" narrower than the undercut, {low:g} mm, sides 1 or 2, open ends 0 to 2"
        )
    usable: list[Method] = []
    notes: list[str] = []
    for name, make in (("Sliding gauge", _sliding), ("Pins and gap", _gap)):
        try:
            method, reason = make(low, high, throat, height, sides, open_ends, system, corner)
        except ModelError as error:  # no two sizes in the tolerance
            notes.append(f"{name}: {error}.")
            continue
        usable += [method] if method else []
        notes += reason
    notes.append(
        "A telescoping or small-hole gauge, once locked to this width, does not come out through"
        " the throat" + ("; slide it out at an open end." if open_ends else ".")
    )
    return tuple(usable), tuple(dict.fromkeys(notes))


def _sliding(
    low: float,
    high: float,
    throat: float,
    height: float,
    sides: int,
    open_ends: int,
    system: str,
    corner: float,
) -> tuple[Method | None, tuple[str, ...]]:
    """Gauge the width whole, by a gauge of the undercut's own shape."""
    if open_ends == 0:
        return None, ("Both ends are closed: no T-shaped gauge or T-nut slides in.",)
    p = pair(low, high, BLOCK_STEP[system])  # made to size, not out of a set
    shape = "T-shaped gauge" if sides == 2 else "L-shaped gauge"
    ends = "at either end" if open_ends == 2 else "at the open end"
    nut = " A T-nut measured to the go size does for the go." if sides == 2 else ""
    how = (
        "one of this shape,"
        f" {'' if sides == 2 else 'its other edge on the plain throat wall, '}thinner than the"
        " undercut is high, its corners clear of those in the slot, on a stem narrower than the"
        f" throat, pushed in {ends} and along the whole slot; the no-go must not enter.{nut}"
    )
    return (
        Method(name=shape, how=how, pins=0, pin=0.0, go=p.go, no_go=p.no_go, grade=p.grade),
        p.notes,
    )


def _gap(
    low: float,
    high: float,
    throat: float,
    height: float,
    sides: int,
    open_ends: int,
    system: str,
    corner: float,
) -> tuple[Method | None, tuple[str, ...]]:
    """Gauge the gap that laid pins leave; works with both ends closed."""
    pin = lying_pin(high, throat, height, sides, PIN_STEP[system], corner)
    if pin is None:
        return None, (
            (
                "No pair of pins that reaches past the ledges fits under the roof and through the"
                " throat."
                if sides == 2
                else (
                    "No pin that reaches past the ledge fits under the roof and through the throat."
                )
            ),
        )
    taken = sides * pin
    p = pair(low - taken, high - taken, BLOCK_STEP[system])
    where = "between the two pins" if sides == 2 else "between the pin and the plain throat wall"
    ledge = (
        " One ledge alone: its pin and the blocks to the opposite throat wall, less the throat."
        if sides == 2
        else ""
    )
    grip = (
        "two pins, one against each undercut wall"
        if sides == 2
        else "one pin against the undercut wall"
    )
    how = (
        f"{grip}, laid along the slot; the go size of blocks must drop {where}, the no-go must not."
        f" Measure the pins; if one is not to size, take its error off the blocks.{ledge}"
    )
    return (
        Method(
            name="pins and gap", how=how, pins=sides, pin=pin, go=p.go, no_go=p.no_go, grade=p.grade
        ),
        p.notes,
    )

"""Numbers as they are read off a dial and said in a shop: hundredths of a millimetre, thousandths
and tenths of an inch, never an exponent and never a row of zeros.
"""

from __future__ import annotations

import math
import re

from loadsim.base.units import IN, LBF, System

#: Thousandth of an inch. [mm]
THOU = IN / 1000

#: How near a length lies to a whole thousandth that is told as one. [1]
WHOLE = 0.05

#: Thousandths up to which a length is told in them. [1]
FEW = 5

#: What the dials are in.
DIAL: dict[System, str] = {"metric": "mm", "inch": "in"}


def dial(length: float, system: System, *, signed: bool = False) -> str:
    """Write a length as a dial is set to it, without its unit: hundredths of a millimetre, or
    thousandths of an inch with the tenths where there are any.

    Parameters
    ----------
    length : float
        [mm]
    system : {"metric", "inch"}
        Which dial.
    signed : bool
        Put the plus before what is above zero.

    Returns
    -------
    text : str

    Examples
    --------
    >>> dial(7.4, "metric"), dial(6.35, "inch"), dial(-5.2, "inch"), dial(0.0004, "inch")
    ('7.40', '0.250', '-0.2047', '0.000')
    >>> dial(0.5, "metric", signed=True), dial(0.0, "metric", signed=True)
    ('+0.50', '0.00')
    """
    thou = length / THOU
    tenths = 3 if math.fabs(thou - round(thou)) < WHOLE else 4
    text = f"{length:.2f}" if system == "metric" else f"{length / IN:.{tenths}f}"
    if not float(text):
        return text.removeprefix("-")
    return f"+{text}" if signed and length > 0 else text


def dial_under(length: float, system: System) -> str:
    """Write a length as whole thousandths or hundredths, never more than it is.

    Parameters
    ----------
    length : float
        [mm]
    system : {"metric", "inch"}
        Which dial.

    Returns
    -------
    text : str

    Examples
    --------
    >>> dial_under(69.8678, "inch"), dial_under(113.509, "metric"), dial_under(25.4, "inch")
    ('2.750', '113.50', '1.000')
    """
    mark = 0.01 if system == "metric" else THOU
    return dial(math.floor(length / mark + 1e-6) * mark, system)


def length_text(length: float, system: System) -> str:
    """Write a length as it is set, with its unit; a few thousandths of an inch as such.

    Examples
    --------
    >>> length_text(7.4, "metric"), length_text(6.35, "inch"), length_text(0.0102, "inch")
    ('7.40 mm', '0.250 in', '0.4 thou')
    """
    if system == "inch" and 0 < length < FEW * THOU:
        return fine(length, system)
    return f"{dial(length, system)} {DIAL[system]}"


def fine(length: float, system: System) -> str:
    """Write a chip or an edge: thousandths of a millimetre, or of an inch, with two figures.

    Examples
    --------
    >>> fine(0.016, "metric"), fine(0.016, "inch"), fine(0.0035, "inch"), fine(0.09, "inch")
    ('0.016 mm', '0.63 thou', '0.14 thou', '3.5 thou')
    >>> fine(0.0035, "metric"), fine(0.4, "metric")
    ('0.0035 mm', '0.4 mm')
    """
    if system == "metric":
        return f"{figures(length, 2)} mm"
    return f"{figures(length / THOU, 2)} thou"


def feed_rate(rate: float, system: System) -> str:
    """Write a table feed [mm/min] as a feed is set.

    Examples
    --------
    >>> feed_rate(83.2, "metric"), feed_rate(83.2, "inch"), feed_rate(7.0, "inch")
    ('83 mm/min', '3.3 in/min', '0.28 in/min')
    """
    if system == "metric":
        return f"{figures(rate, 2 if rate < 100 else 3)} mm/min"
    return f"{figures(rate / IN, 2)} in/min"


def force(newtons: float, system: System) -> str:
    """Write a force as it is felt, two figures under a hundred.

    Examples
    --------
    >>> force(96.7, "metric"), force(96.7, "inch"), force(3560.2, "inch"), force(4.03, "metric")
    ('97 N', '22 lbf', '800 lbf', '4 N')
    """
    if system == "metric":
        return f"{figures(newtons, 2)} N"
    return f"{figures(newtons / LBF, 2)} lbf"


#: A temperature in a text, alone or as the ends of a range, in degrees Celsius.
_CELSIUS = re.compile(r"(\d+)(?: to (\d+))? C\b")


def temperatures(text: str, system: System) -> str:
    """Write the temperatures of a text, which are in degrees Celsius, in the reader's degrees.

    Examples
    --------
    >>> temperatures("220 to 240 C: straw, over 600 C grey", "inch")
    '430 to 460 F: straw, over 1110 F grey'
    >>> temperatures("over about 820 C", "metric")
    'over about 820 C'
    """
    if system == "metric":
        return text

    def fahrenheit(found: re.Match[str]) -> str:
        ends = (f"{round(float(x) * 1.8 + 32, -1):.0f}" for x in found.groups() if x)
        return " to ".join(ends) + " F"

    return _CELSIUS.sub(fahrenheit, text)


def figures(x: float, count: int) -> str:
    """Write a number with so many figures and no exponent.

    Examples
    --------
    >>> figures(4012.0, 2), figures(0.0123, 2), figures(0.0, 2), figures(1.0, 2)
    ('4,000', '0.012', '0', '1')
    """
    text = f"{float(f'{x:.{count}g}'):,.9f}"
    return text.rstrip("0").rstrip(".")

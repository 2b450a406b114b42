"""Numbers as they are read off a dial and said in a shop: hundredths of a millimetre, thousandths
and tenths of an inch, never an exponent and never a row of zeros.
"""

from __future__ import annotations

from loadsim.base.units import IN, System

#: Thousandth of an inch. [mm]
THOU = IN / 1000

#: How near a length lies to a whole thousandth that is told as one. [1]
WHOLE = 0.05


def dial(length: float, system: System, *, signed: bool = False) -> str:
    """Write a length as a dial is set to it, without its unit: hundredths of a millimetre, or
    thousandths of an inch with the tenths where there are any, no zero before the point.

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
    ('7.40', '.250', '-.2047', '.000')
    >>> dial(0.5, "metric", signed=True), dial(0.0, "metric", signed=True)
    ('+0.50', '0.00')
    """
    if system == "metric":
        text = f"{length:+.2f}"
    else:
        thou = length / THOU
        text = f"{length / IN:+.{3 if abs(thou - round(thou)) < WHOLE else 4}f}"
        text = text[0] + text[1:].removeprefix("0")
    plus = "+" if signed else ""
    sign = {"+": plus, "-": "-"}[text[0]] if float(text) else ""
    return sign + text[1:]

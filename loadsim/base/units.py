"""The only place where units are converted: text to internal numbers, internal numbers to text.

Inside, every number is in mm, rad, rad/s, mm/s, MPa, N, N*mm, N*mm/s, N/mm or s.
"""

from __future__ import annotations

import functools
import math
import re
from typing import Final, Literal, NoReturn

from loadsim.base.errors import ModelError, UnitError

IN: Final = 25.4  # mm, exact since 1959

LBF: Final = 0.45359237 * 9.80665  # N, exact: the pound times standard gravity

_LENGTH: Final = {
    "mm": 1.0, "in": IN, "um": 1e-3, "thou": IN / 1e3, "cm": 10.0, "m": 1e3, "ft": 12 * IN,
    "inch": IN, "inches": IN, '"': IN, "″": IN, "”": IN,
}  # fmt: skip

_SPEED: Final = {
    "m/min": 1e3 / 60,
    "mm/min": 1 / 60,
    "in/min": IN / 60,
    "ft/min": 12 * IN / 60,
    "m/s": 1e3,
    "mm/s": 1.0,
    "in/s": IN,
    "ft/s": 12 * IN,
    "ipm": IN / 60,
    "fpm": 12 * IN / 60,
    "sfm": 12 * IN / 60,
    "sfpm": 12 * IN / 60,
}

#: dimension -> unit spelling -> size of the unit in the internal unit; the first ones are named in
#: messages
UNITS: Final[dict[str, dict[str, float]]] = {
    "length": _LENGTH,
    "angle": {"deg": math.pi / 180, "°": math.pi / 180, "rad": 1.0, "degree": math.pi / 180,
              "degrees": math.pi / 180},
    "angular speed": {"rpm": math.pi / 30, "rad/s": 1.0, "rev/min": math.pi / 30,
                      "r/min": math.pi / 30, "1/min": math.pi / 30, "rev/s": 2 * math.pi},
    "speed": _SPEED,
    "surface speed": _SPEED,
    "feed speed": _SPEED,
    "feed per tooth": {
        "mm/tooth": 1.0, "in/tooth": IN, "um/tooth": 1e-3, "thou/tooth": IN / 1e3, "ipt": IN,
        "mm": 1.0, "in": IN, "um": 1e-3, "thou": IN / 1e3, "inch": IN, '"': IN, "″": IN, "”": IN,
    },
    "stress": {"MPa": 1.0, "N/mm^2": 1.0, "GPa": 1e3, "psi": LBF / IN**2, "ksi": 1e3 * LBF / IN**2,
               "lbf/in^2": LBF / IN**2},
    "force": {"N": 1.0, "lbf": LBF, "kN": 1e3, "lb": LBF},
    "torque": {"N*m": 1e3, "N*mm": 1.0, "in*lbf": LBF * IN, "ft*lbf": 12 * LBF * IN,
               "lbf*in": LBF * IN, "lbf*ft": 12 * LBF * IN, "in*lb": LBF * IN,
               "ft*lb": 12 * LBF * IN},
    # hp: 550 ft lbf/s, not the metric one
    "power": {"W": 1e3, "kW": 1e6, "hp": 550 * 12 * IN * LBF},
    "stiffness": {"N/um": 1e3, "N/mm": 1.0, "lbf/in": LBF / IN, "N/m": 1e-3,
                  "lbf/thou": 1e3 * LBF / IN},
    "time": {"s": 1.0, "min": 60.0, "h": 3600.0, "ms": 1e-3, "sec": 1.0},
    "volume": {"mm^3": 1.0, "in^3": IN**3},
    "chip thickness": _LENGTH,
}  # fmt: skip

#: what a material's data are printed in: dimension -> unit spelling -> size of the unit inside,
#: where a defect's size stays in um and a density in kg/m^3; the first ones are named in messages
MATERIAL_UNITS: Final[dict[str, dict[str, float]]] = {
    "ratio": {"1": 1.0},
    "length": {"mm": 1.0, "um": 1e-3, "in": IN},
    "defect size": {"um": 1.0, "mm": 1e3},
    "volume": {"mm^3": 1.0},
    "angle": {"deg": math.pi / 180, "rad": 1.0},
    "speed": {"m/min": 1e3 / 60, "ft/min": 304.8 / 60, "mm/s": 1.0},
    "stress": {"MPa": 1.0, "GPa": 1e3, "N/mm^2": 1.0},
    "edge force": {"N/mm": 1.0, "lbf/in": LBF / IN},
    "specific energy": {"hp/(in^3/min)": 550 * 12 * LBF * 60 / IN**2, "J/mm^3": 1e3},
    "density": {"kg/m^3": 1.0},
    "HRC": {"HRC": 1.0},
    "HV": {"HV": 1.0},
    "toughness": {"MPa*sqrt(m)": 1.0},
}

_EXAMPLES: Final = {
    "length": "2.4 mm",
    "angle": "35 deg",
    "angular speed": "4200 rpm",
    "speed": "30 m/min",
    "surface speed": "30 m/min",
    "feed speed": "40 mm/min",
    "feed per tooth": "0.012 mm/tooth",
    "stress": "800 N/mm^2",
    "force": "12 N",
    "torque": "0.5 N*m",
    "power": "750 W",
    "stiffness": "20 N/um",
    "time": "90 s",
    "volume": "12 mm^3",
    "chip thickness": "0.012 mm",
}

#: the same for a reader of an inch print
_INCH_EXAMPLES: Final = {
    "length": "0.094 in",
    "speed": "100 ft/min",
    "surface speed": "100 ft/min",
    "feed speed": "1.5 in/min",
    "feed per tooth": "0.0005 in/tooth",
    "stress": "116 ksi",
    "force": "3 lbf",
    "torque": "4 in*lbf",
    "power": "1 hp",
    "stiffness": "110000 lbf/in",
    "volume": "0.001 in^3",
    "chip thickness": "0.0005 in",
}

#: spellings refused with their own reason, whatever the dimension
_REFUSED: Final = {
    "mil": (
        "'mil' is a thousandth of an inch to some and a millimetre to others; write thou, in or mm"
    ),
    "mils": (
        "'mils' are thousandths of an inch to some and millimetres to others; write thou, in or mm"
    ),
    "mm/rev": "'mm/rev' is a feed per turn; divide by the number of teeth and write mm/tooth",
    "in/rev": "'in/rev' is a feed per turn; divide by the number of teeth and write in/tooth",
    "ipr": "'ipr' is a feed per turn; divide by the number of teeth and write in/tooth",
    "ps": "'PS' is the metric horsepower to some; write kW, W or hp",
}

_WS: Final = r"[ \t\r\n\u00a0\u2009\u202f]"

_SIGN: Final = r"[+\-\u2212]?"

# digits and exponent are bounded, so that no accepted text can overflow
_NUMBER: Final = (
    rf"(?:[0-9]{{1,15}}(?:{_WS}+|-)[0-9]{{1,15}}/0{{0,9}}[1-9][0-9]{{0,14}}"
    r"|[0-9]{1,15}/0{0,9}[1-9][0-9]{0,14}"
    r"|(?:[0-9]{1,15}(?:\.[0-9]{0,30})?|\.[0-9]{1,30})(?:[eE][+\-]?[0-9]{1,2})?)"
)

_LOOSE: Final = re.compile(  # a number of any size, then anything: only to explain a refusal
    rf"({_SIGN})((?:[0-9]+(?:{_WS}+|-))?[0-9]+/[0-9]+|(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+\-]?[0-9]+)?)(.*)",
    re.DOTALL,
)

System = Literal["metric", "inch"]

#: dimension -> (unit, decimals) metric, (unit, decimals) inch, figures kept when the value is small
#: (0: never finer
#: than the decimals, because no shop holds or sets that)
_SHOW: Final[dict[str, tuple[tuple[str, int], tuple[str, int], int]]] = {
    "length": (("mm", 3), ("in", 4), 0),
    "angle": (("deg", 1), ("deg", 1), 2),
    "angular speed": (("rpm", 0), ("rpm", 0), 2),
    "speed": (("m/min", 0), ("ft/min", 0), 2),
    "surface speed": (("m/min", 0), ("ft/min", 0), 2),
    "feed speed": (("mm/min", 0), ("in/min", 1), 2),
    "feed per tooth": (("mm/tooth", 4), ("thou/tooth", 2), 2),
    "stress": (("MPa", 0), ("ksi", 1), 3),
    "force": (("N", 1), ("lbf", 1), 3),
    "torque": (("N*m", 3), ("in*lbf", 1), 3),
    "power": (("W", 0), ("hp", 3), 2),
    "stiffness": (("N/mm", 0), ("lbf/thou", 0), 3),
    "time": (("s", 1), ("s", 1), 2),
    "volume": (("mm^3", 1), ("in^3", 5), 2),
    "chip thickness": (("mm", 4), ("thou", 2), 0),
}

#: Longest time told in seconds, and in minutes. [s]
_SECONDS = 120.0
_MINUTES = 3600.0

#: Most decimals of any number for people: what is smaller is under the last of them. [1]
_MOST_DECIMALS = 7


def parse(text: object, dimension: str, system: System = "metric") -> float:
    """Turn a written quantity into a number in the internal unit of its dimension.

    Parameters
    ----------
    text : str
        Number and unit, e.g. ``"3/32 in"``; anything that is not text is refused too.
    dimension : str
        A key of `UNITS`.
    system : {"metric", "inch"}
        Whose units the example in a refusal has.

    Returns
    -------
    value : float
        In the internal unit of the dimension.

    Raises
    ------
    UnitError
        If the text is not a quantity of this dimension; the message is one line.

    References
    ----------
    NISTSP811 app. B

    Examples
    --------
    >>> parse("1-1/8 in", "length")
    28.575
    """
    table = _table(dimension)
    match = _compiled(dimension).fullmatch(text) if isinstance(text, str) else None
    if match is None:
        _refuse(text, dimension, system)
    group = match.groupdict()
    value = _number(group["number"]) * table[_find(group["unit"] or group["digit_unit"], dimension)]
    return -value if group["sign"] in ("-", "\u2212") else value


def to_unit(value: float, unit: str, dimension: str) -> float:
    """Express an internal number in a unit, for output.

    Parameters
    ----------
    value : float
        Number in the internal unit of the dimension.
    unit : str
        A unit of the dimension, e.g. ``"m/min"``.
    dimension : str
        A key of `UNITS`.

    Returns
    -------
    value : float
        In the unit asked for.

    Raises
    ------
    ModelError
        If the value is not finite.
    UnitError
        If the dimension has no such unit.

    Examples
    --------
    >>> to_unit(0.0125, "um", "length")
    12.5
    """
    return _finite(_finite(value, dimension) / factor(unit, dimension), dimension)


def from_unit(value: float, unit: str, dimension: str) -> float:
    """Turn a number in a named unit into the internal unit: the reverse of `to_unit`.

    Parameters
    ----------
    value : float
        Number in that unit.
    unit : str
        A unit of the dimension.
    dimension : str
        A key of `UNITS`.

    Returns
    -------
    value : float
        In the internal unit of the dimension.

    Raises
    ------
    ModelError
        If the value is not finite.
    UnitError
        If the dimension has no such unit.
    """
    return _finite(_finite(value, dimension) * factor(unit, dimension), dimension)


def factor(unit: str, dimension: str) -> float:
    """Return the size of a unit in the internal unit, for whole arrays.

    Parameters
    ----------
    unit : str
        A unit of the dimension.
    dimension : str
        A key of `UNITS`.

    Returns
    -------
    size : float
        Internal units in one unit.

    Raises
    ------
    UnitError
        If the dimension has no such unit.
    """
    table = _table(dimension)
    size = _find(unit.strip(), dimension)
    if not size:
        raise UnitError(_unknown(unit.strip(), dimension))
    return table[size]


def example(dimension: str, system: System = "metric") -> str:
    """Return a well-written quantity of the dimension, for messages and schemas.

    Parameters
    ----------
    dimension : str
        A key of `UNITS`.
    system : {"metric", "inch"}
        Whose unit it has.

    Returns
    -------
    text : str
        A text that `parse` accepts.
    """
    _table(dimension)
    return (
        _INCH_EXAMPLES.get(dimension, _EXAMPLES[dimension])
        if system == "inch"
        else _EXAMPLES[dimension]
    )


@functools.cache
def pattern(dimension: str) -> str:
    """Return a regular expression that matches exactly the texts `parse` accepts, for a JSON
    Schema.

    Parameters
    ----------
    dimension : str
        A key of `UNITS`.

    Returns
    -------
    pattern : str
        Anchored, and written in the part of the syntax that JSON Schema and Python share.
    """
    return _pattern(dimension, "(?:", "(?:", "(?:", "(?:")


def show(value: float, dimension: str, system: System = "metric", *, both: bool = False) -> str:
    """Write an internal number for people, never with an exponent.

    A "length" is one that a shop sets or measures: to 0.001 mm or 0.0001 in, and what is less is
    said to be under that. Write a chip or the edge that cuts it as "chip thickness", which is ten
    times finer.

    Parameters
    ----------
    value : float
        Number in the internal unit of the dimension.
    dimension : str
        A key of `UNITS`.
    system : {"metric", "inch"}
        Which system leads.
    both : bool
        Add the other system in brackets, where it has another unit.

    Returns
    -------
    text : str
        Number and unit.

    Raises
    ------
    ModelError
        If the value is not finite.

    Examples
    --------
    >>> show(0.012, "feed per tooth", both=True)
    '0.0120 mm/tooth (0.47 thou/tooth)'
    >>> show(-0.00062, "length", "inch"), show(0.0126, "chip thickness")
    ('under 0.0001 in', '0.0126 mm')
    """
    _table(dimension)
    metric, inch, figures = _SHOW[dimension]
    if system not in ("metric", "inch"):
        raise ValueError(f"system is {system!r}; it must be 'metric' or 'inch'")
    first, second = (metric, inch) if system == "metric" else (inch, metric)
    text = f"{_fixed(to_unit(value, first[0], dimension), first[1], figures)} {first[0]}"
    if both and first[0] != second[0]:
        text += f" ({_fixed(to_unit(value, second[0], dimension), second[1], figures)} {second[0]})"
    return text


def _fixed(value: float, decimals: int, figures: int) -> str:
    """Fixed decimals; more of them where a small value would keep fewer than `figures` figures."""
    if value != 0 and figures:
        decimals = min(
            max(decimals, figures - 1 - math.floor(math.log10(abs(value)))), _MOST_DECIMALS
        )
    if abs(value) >= 1000:
        decimals = min(decimals, 1)
    text = f"{round(value, decimals) + 0.0:.{decimals}f}"
    return f"under {10.0**-decimals:.{decimals}f}" if value != 0 and float(text) == 0 else text


def duration(seconds: float) -> str:
    """Write a time as a clock in the shop tells it: seconds, then minutes, then hours.

    Parameters
    ----------
    seconds : float
        Not negative. [s]

    Returns
    -------
    text : str

    Raises
    ------
    ModelError
        If it is not finite.

    Examples
    --------
    >>> duration(93.4), duration(320.0), duration(6960.0)
    ('93 s', '5 min 20 s', '1 h 56 min')
    """
    whole = round(_finite(seconds, "time"))
    if whole <= _SECONDS:
        return f"{seconds:.0f} s" if seconds >= 10 or seconds == 0 else f"{seconds:.2g} s"
    if whole < _MINUTES:
        return f"{whole // 60} min" + (f" {whole % 60} s" if whole % 60 else "")
    minutes = round(seconds / 60)
    return f"{minutes // 60} h" + (f" {minutes % 60} min" if minutes % 60 else "")


def _finite(value: float, dimension: str) -> float:
    if not math.isfinite(value):
        raise ModelError(f"a {dimension} came out as {value}, which is not a finite number")
    return value


def _table(dimension: str) -> dict[str, float]:
    if dimension not in UNITS:
        raise ValueError(f"no dimension {dimension!r}; it must be one of {', '.join(UNITS)}")
    return UNITS[dimension]


def _number(text: str) -> float:
    if "/" not in text:
        return float(text)
    *whole, top, bottom = (int(n) for n in re.findall("[0-9]+", text))
    return (sum(whole) * bottom + top) / bottom  # one division of integers: correctly rounded


def _pattern(dimension: str, sign: str, number: str, unit: str, digit_unit: str) -> str:
    """`pattern`, with the opening of each group given: one text for the schema and for `parse`."""
    table = _table(dimension)
    letters = "|".join(_spellings(u) for u in table if not u[0].isdigit())
    tail = f"{_WS}*{unit}{letters})"
    digits = "|".join(_spellings(u) for u in table if u[0].isdigit())
    if digits:  # "42001/min" must not be read as 4200 of "1/min"
        tail = f"(?:{tail}|{_WS}+{digit_unit}{digits}))"
    return f"^{_WS}*{sign}{_SIGN}){number}{_NUMBER}){tail}{_WS}*$"


@functools.cache
def _compiled(dimension: str) -> re.Pattern[str]:
    return re.compile(
        _pattern(dimension, "(?P<sign>", "(?P<number>", "(?P<unit>", "(?P<digit_unit>")
    )


@functools.cache
def _spellings(unit: str) -> str:
    """Regular expression of every accepted way to write a unit.

    Letters may be of either case, but a leading m or M is a prefix that changes the size: it may
    differ from the table only where the whole word is in one case (MM, mpa; not mPa, Mm).
    """
    word = re.match("[A-Za-z]*", unit)
    head = word.group() if word else ""
    if len(head) > 1 and head[0] in "mM":
        other = head.upper() if head[0] == "m" else head.lower()
        return f"(?:{head[0]}{_fold(head[1:])}|{other}){_fold(unit[len(head) :])}"
    return _fold(unit)


def _fold(unit: str) -> str:
    special = {
        "um": r"[uU\u00b5\u03bc][mM]",
        "^2": r"(?:\^2|\*\*2|\u00b2|2)",
        "/": f"{_WS}*/{_WS}*",
        "*": rf"{_WS}*(?:[*\u00b7\u22c5\-]{_WS}*)?",
    }
    parts = re.findall(r"um|\^2|.", unit)
    both_cases = {p: f"[{p.lower()}{p.upper()}]" for p in parts if p.isalpha()} | special
    return "".join(both_cases.get(p) or re.escape(p) for p in parts)


@functools.cache
def _find(unit: str, dimension: str) -> str:
    """Return the table's spelling of a unit, or "" if there is none: exact case first."""
    table = _table(dimension)
    if unit in table:
        return unit
    spelled = [u for u in table if re.fullmatch(_spellings(u), unit)]
    return spelled[0] if len({table[u] for u in spelled}) == 1 else ""


def _echo(text: object) -> str:
    """Repeat what was given: one line, printable, not long."""
    raw = text if isinstance(text, str) else repr(text)
    shown = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in raw[:61])
    shown = shown if len(shown) <= 60 else shown[:57] + "..."
    return f"'{shown}'" if isinstance(text, str) else shown


def _a(dimension: str) -> str:
    return f"an {dimension}" if dimension[0] in "aeiou" else f"a {dimension}"


def _refuse(text: object, dimension: str, system: System) -> NoReturn:
    hint = f"e.g. '{example(dimension, system)}'"
    if not isinstance(text, str):
        bare = isinstance(text, int | float) and not isinstance(text, bool)
        what = "has no unit" if bare else "is not a quantity"
        raise UnitError(
            f"{_echo(text)} {what}; write {_a(dimension)} as quoted text with its unit, {hint}"
        )
    core = text.strip()
    problem = _bad_number(core)
    if problem:
        raise UnitError(f"{_echo(text)} {problem}; write {_a(dimension)} with its unit, {hint}")
    loose = _LOOSE.fullmatch(core)
    unit = loose[3].strip() if loose else ""
    if not unit:
        raise UnitError(f"{_echo(text)} has no unit; write {_a(dimension)} with its unit, {hint}")
    raise UnitError(_wrong_unit(text, unit, dimension, system))


def _bad_number(core: str) -> str:
    """Say what is wrong with the number at the start of a text, or nothing."""
    if not core:
        return "is empty"
    if any(c.isnumeric() and not c.isascii() and c not in "²³" for c in core):
        return "has digits or fractions other than 0-9 (1/2 is written with a slash)"
    if re.match(r"[+\-]?(nan|inf)", core, re.IGNORECASE):
        return "is not a finite number"
    if comma := re.match(r"([+\-]?[0-9]+),([0-9]+)", core):
        # not guessed: 1,500 is 1.5 to some and 1500 to others
        point = f"{comma[1]}.{comma[2]}"
        return f"has a comma; write {point} with a point, and thousands without a separator"
    if re.match(r"[+\-]?0[xXbBoO]|[+\-]?[0-9.]*_", core):
        return "is not a plain decimal number"
    loose = _LOOSE.fullmatch(core)
    if loose is None:
        return "does not start with a number"
    number = loose[2]
    if re.search(r"/0+$", number):
        return "divides by zero"
    if re.fullmatch(_NUMBER, number) is None:
        return "has a number with too many digits or too large an exponent"
    return ""


def _wrong_unit(text: str, unit: str, dimension: str, system: System) -> str:
    if reason := _REFUSED.get(unit.lower()):
        return f"{_echo(text)}: {reason}"
    for other in UNITS:
        if _compiled(other).fullmatch(text):
            first = _SHOW[dimension][1][0] if system == "inch" else next(iter(UNITS[dimension]))
            few = ", ".join(list(dict.fromkeys((first, *UNITS[dimension])))[:3])
            return f"{_echo(text)} is {_a(other)}, but {_a(dimension)} is needed here ({few}, ...)"
    return f"{_echo(text)}: {_unknown(unit, dimension)}"


def _unknown(unit: str, dimension: str) -> str:
    import difflib  # only a refusal needs it

    names = [u for u in _table(dimension) if u not in ("″", "”")]
    folded = {n.lower(): n for n in names}
    near = difflib.get_close_matches(unit[:60].lower(), folded, 1, 0.5)
    hint = f"; did you mean {folded[near[0]]!r}?" if near else ""
    return f"unit {_echo(unit)} is not known for {_a(dimension)} (known: {', '.join(names)}){hint}"


def percent(share: float) -> str:
    """Write a used share of capacity; past ten times it says no more than that.

    Parameters
    ----------
    share : float
        [1]

    Returns
    -------
    text : str

    Examples
    --------
    >>> percent(0.846), percent(1.2), percent(5871.19)
    ('85%', '120%', 'over 1000%')
    """
    return "over 1000%" if share > 10 else f"{share:.0%}"

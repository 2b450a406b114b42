"""What a key of a job file may hold: quantities with their units, texts, words, whole numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal, NamedTuple

from pydantic import BeforeValidator, Field, ValidationInfo, WithJsonSchema

from loadsim.base import units
from loadsim.base.errors import JOINERS, UnitError, is_plain

#: What a limit is written in when a value is refused, by dimension.
LIMIT_UNIT = {
    "length": "mm",
    "angle": "deg",
    "angular speed": "rpm",
    "feed speed": "mm/min",
    "surface speed": "m/min",
    "feed per tooth": "mm/tooth",
    "stress": "N/mm^2",
    "power": "W",
    "stiffness": "N/mm",
    "force": "N",
    "torque": "N*mm",
    "time": "s",
}


class FromShop(NamedTuple):
    """What was filled into a job from a shop file."""

    file: str  #: its name, as told
    keys: tuple[str, ...]  #: each "table.key"


def usual_unit(dimension: str, system: units.System) -> str:
    """Return the unit that a shop means by a number without one.

    Parameters
    ----------
    dimension : str
        A key of `loadsim.base.units.UNITS`.
    system : {"metric", "inch"}
        Which system the job is written in.

    Returns
    -------
    unit : str

    Examples
    --------
    >>> usual_unit("length", "inch"), usual_unit("power", "metric")
    ('in', 'kW')
    """
    if dimension == "power":
        return "hp" if system == "inch" else "kW"
    return units.example(dimension, system).split(" ", 1)[1]


@dataclass(frozen=True, slots=True)
class UnitOf:
    """Marks a field as a quantity of one dimension."""

    name: str


def _reader(dimension: str) -> BeforeValidator:
    def read(value: object, info: ValidationInfo) -> object:
        inside = bool(info.context and info.context.get("inside"))
        if inside and isinstance(value, float):
            return value
        system: units.System = (
            "inch" if info.context and info.context.get("system") == "inch" else "metric"
        )
        if isinstance(value, str):
            try:
                return units.parse(value, dimension, system)
            except UnitError as error:
                raise ValueError(str(error)) from None
        like = f'e.g. "{units.example(dimension, system)}"'
        if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e9:
            like = f'as in "{value:.9g} {usual_unit(dimension, system)}"'
        raise ValueError(f"is {value!r:.40}; write the {dimension} in quotes with its unit, {like}")

    return BeforeValidator(read)


def _schema(dimension: str) -> WithJsonSchema:
    return WithJsonSchema(
        {
            "type": "string",
            "pattern": units.pattern(dimension),
            "examples": [units.example(dimension)],
        }
    )


Length = Annotated[float, UnitOf("length"), _reader("length"), _schema("length")]
Angle = Annotated[float, UnitOf("angle"), _reader("angle"), _schema("angle")]
SpindleSpeed = Annotated[
    float, UnitOf("angular speed"), _reader("angular speed"), _schema("angular speed")
]
Feed = Annotated[
    float, UnitOf("feed per tooth"), _reader("feed per tooth"), _schema("feed per tooth")
]
SurfaceSpeed = Annotated[
    float, UnitOf("surface speed"), _reader("surface speed"), _schema("surface speed")
]
Speed = Annotated[float, UnitOf("feed speed"), _reader("feed speed"), _schema("feed speed")]
Stress = Annotated[float, UnitOf("stress"), _reader("stress"), _schema("stress")]
Power = Annotated[float, UnitOf("power"), _reader("power"), _schema("power")]
Stiffness = Annotated[float, UnitOf("stiffness"), _reader("stiffness"), _schema("stiffness")]
Force = Annotated[float, UnitOf("force"), _reader("force"), _schema("force")]
Torque = Annotated[float, UnitOf("torque"), _reader("torque"), _schema("torque")]


def _printable(value: object) -> object:
    if isinstance(value, str) and not is_plain(value):
        raise ValueError(
            "holds control characters, line breaks or marks of direction; write plain text on one"
            " line"
        )
    if isinstance(value, str) and value and not value.strip(f" {JOINERS}").strip():
        raise ValueError("is blank; write what it is, or leave it out")
    return value


def whole_number(value: object) -> object:
    """Refuse true, false and 2.0 where a number of things is asked."""
    if isinstance(value, bool | float):
        raise ValueError(f"is {str(value).lower()}; write a whole number")
    return value


def as_tuple(value: object) -> object:
    """Return a list as a tuple: a job that exists does not change."""
    return tuple(value) if isinstance(value, list) else value


Text = Annotated[str, BeforeValidator(_printable), Field(min_length=1, max_length=120)]
PathOrName = Annotated[str, BeforeValidator(_printable), Field(min_length=1, max_length=400)]
Lubrication = Literal["dry", "brush", "mist", "flood"]
Direction = Literal["conventional", "climb"]

#: Limits of the tables in the internal unit. [rad], [rad/s]
DEG = math.pi / 180
RPM = units.factor("rpm", "angular speed")

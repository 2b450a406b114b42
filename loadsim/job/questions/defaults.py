"""The answer that an empty line takes: a usual one, that fits with what was answered before."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from loadsim.base import units
from loadsim.base.errors import UnitError
from loadsim.job.questions.catalogue import Question

#: Steps that a default is rounded to. [mm]
STEP = {"metric": 0.1, "inch": units.IN / 64}

#: Round stock that a shop has (common practice, no source). [mm], [in]
STOCK: dict[str, tuple[float, ...]] = {
    "metric": (3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 32, 40),
    "inch": (1 / 8, 3 / 16, 1 / 4, 5 / 16, 3 / 8, 1 / 2, 5 / 8, 3 / 4, 1, 1.25, 1.5),
}

#: What is answered where one does not know.
UNKNOWN = "don't know"

Tables = Mapping[str, Mapping[str, Any]]


def default_of(question: Question, tables: Tables, system: units.System) -> str:
    """Return what an empty line answers.

    Parameters
    ----------
    question : Question
        What is asked.
    tables : mapping
        What was answered so far, as in a job file.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str
        "don't know" where there is no usual value and the key may be left out.
    """
    derived = _DERIVED.get(question.key)
    if derived is not None:
        return derived(tables, system)
    usual = question.inch if question.inch and system == "inch" else question.metric
    return usual or UNKNOWN


def _length(tables: Tables, path: str) -> float:
    table, key = path.split(".")
    try:
        return units.parse(tables.get(table, {}).get(key), "length")
    except UnitError:
        return 0.0


def _text(length: float, system: units.System) -> str:
    """Write a length in the steps of a print: down to a 64th of an inch, or a tenth of a mm."""
    n = max(int(length / STEP[system] + 1e-6), 1)
    if system == "metric":
        return f"{n / 10:g} mm"
    return f"{n / 64:.4g} in" if n % 4 else _fraction(n)


def _fraction(n: int) -> str:
    """Write so many 64ths as a fraction."""
    whole, top, bottom = n // 64, n % 64, 64
    while top and top % 2 == 0:
        top, bottom = top // 2, bottom // 2
    parts = [str(whole)] if whole else []
    return "-".join([*parts, *([f"{top}/{bottom}"] if top else [])]) + " in"


def _stock(least: float, system: units.System) -> str:
    """Write the thinnest round stock that is not under a length."""
    unit = units.IN if system == "inch" else 1.0
    size = next((s for s in STOCK[system] if s * unit >= least - 1e-6), None)
    if size is None:
        return _text(least + STEP[system], system)
    return f"{size:g} mm" if system == "metric" else _fraction(round(size * 64))


def _undercut(t: Tables, system: units.System) -> str:
    more = units.IN / 8 if system == "inch" else 4.0
    return _text(_length(t, "slot.throat_width") + more, system)


def _height(t: Tables, system: units.System) -> str:
    usual = 0.1 * units.IN if system == "inch" else 2.5
    if _length(t, "slot.depth") > 1.5 * usual:
        return "0.100 in" if system == "inch" else "2.5 mm"
    return _text(_length(t, "slot.depth") / 2, system)


def _head_diameter(t: Tables, system: units.System) -> str:
    """As wide as the undercut where an end lets it in, else as the throat."""
    slot = t.get("slot", {})
    key = "undercut_width" if slot.get("open_ends") else "throat_width"
    return str(slot.get(key, _text(10.0, system)))


def _head_height(t: Tables, system: units.System) -> str:
    return str(t.get("slot", {}).get("undercut_height", _text(2.5, system)))


def _shank(t: Tables, system: units.System) -> str:
    return _stock(_length(t, "cutter.head_diameter"), system)


def _neck_diameter(t: Tables, system: units.System) -> str:
    """What passes the throat while the head stands at the wall of the undercut."""
    throat, head = _length(t, "slot.throat_width"), _length(t, "cutter.head_diameter")
    out = _length(t, "slot.undercut_width") - head  # both sides, or one
    room = throat - out
    if t.get("slot", {}).get("sides") == 1:
        room = 2 * throat - 2 * out - head
    return _text(0.8 * min(room if room > 0 else 0.5 * throat, head), system)


def _neck_length(t: Tables, system: units.System) -> str:
    """To the surface, and a little more: the shoulder must stay above it."""
    wall = _length(t, "slot.depth") - _length(t, "slot.undercut_height")
    return _text(wall + 2 * STEP[system] - 1e-6, system)


def _stickout(t: Tables, system: units.System) -> str:
    tool = _length(t, "cutter.neck_length") + _length(t, "cutter.head_height")
    return _text(tool + _length(t, "cutter.shank_diameter") + STEP[system], system)


_DERIVED: dict[str, Callable[[Tables, units.System], str]] = {
    "slot.undercut_width": _undercut,
    "slot.undercut_height": _height,
    "cutter.head_diameter": _head_diameter,
    "cutter.head_height": _head_height,
    "cutter.shank_diameter": _shank,
    "cutter.neck_diameter": _neck_diameter,
    "cutter.neck_length": _neck_length,
    "cutter.stickout": _stickout,
}

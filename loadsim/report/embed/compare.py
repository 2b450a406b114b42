"""What changed between a report and the answer of today, and why it may have."""

from __future__ import annotations

import math
from itertools import chain
from typing import Any

from loadsim.base.version import __version__
from loadsim.materials.describe import describe
from loadsim.materials.folder import is_path, names
from loadsim.materials.load import material_hash
from loadsim.report.embed.materials import Material, plain, short
from loadsim.report.embed.payload import SAME, Report

#: Differences shown in a message.
SHOWN = 12


def changes(old: Report, new: dict[str, Any]) -> tuple[str, ...]:
    """Say what differs between a report and the answer of today, and why it may.

    Parameters
    ----------
    old : Report
        As read back.
    new : dict
        The JSON of today's answer; what it lacks is not compared.

    Returns
    -------
    lines : tuple of str
        One sentence each; empty when the numbers are the same.
    """
    before = {key: value for key, value in old.payload.plan.items() if key in new}
    differences = _differences(before, {key: new[key] for key in before}, "")
    # the version has a sentence of its own
    lines = [line for line in differences if not line.startswith("loadsim:")]
    lines += [f"{key}: nothing then, given now" for key in new if key not in before]
    if not lines:
        return old.restored
    shown = (f"Changed: {line}" for line in lines[:SHOWN])
    more = [f"and {len(lines) - SHOWN} more."] if len(lines) > SHOWN else []
    return (*old.restored, *_causes(old), *shown, *more)


def _causes(old: Report) -> list[str]:
    data = old.payload
    causes = []
    if data.loadsim != __version__:
        causes.append(f"The report was written by loadsim {data.loadsim}; this is {__version__}.")
    for kind, material in data.materials.items():
        name = (old.job.work if kind == "work" else old.job.cutter).material
        if not is_path(name) and name not in names(kind):
            causes.append(f"The {kind} material {material.name} is not known any more.")
        elif material_hash(name, kind) != material.hash:
            causes.append(_data_changed(material, name))
    return causes or [
        "Neither the version nor the data of metal and blank changed: other data did, the report"
        " was edited by hand, or the computer rounds differently."
    ]


def _data_changed(material: Material, name: str) -> str:
    """Say which values of a material are others now."""
    now = plain(describe(name)["values"])
    differences = _differences(_by_place(material.values), _by_place(now), "")
    if not differences:
        return f"The data of {material.name} changed (remarks or sources only)."
    return f"The data of {material.name} changed: {'; '.join(differences[:SHOWN])}."


def _by_place(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """Key rows of values by what they are and where they come from."""
    return {
        f"{row.get('source')} {row.get('group') or ''} {row.get('quantity')}": {
            key: row.get(key) for key in ("value", "lo", "hi", "spread")
        }
        for row in rows
    }


def _differences(then: Any, now: Any, place: str) -> list[str]:
    """List what differs between two pieces of JSON, each line with its place."""
    if isinstance(then, dict) and isinstance(now, dict):
        return _dict_differences(then, now, place)
    if isinstance(then, list) and isinstance(now, list) and len(then) == len(now):
        pairs = enumerate(zip(then, now, strict=True))
        lines = (_differences(old, new, f"{place}[{i}]") for i, (old, new) in pairs)
        return list(chain.from_iterable(lines))
    if _is_number(then) and _is_number(now):
        same = math.isclose(then, now, rel_tol=SAME, abs_tol=1e-12)
        return [] if same else [f"{place}: {then:.6g} then, {now:.6g} now"]
    return [] if then == now else [f"{place}: {_brief(then)} then, {_brief(now)} now"]


def _dict_differences(then: dict[str, Any], now: dict[str, Any], place: str) -> list[str]:
    keys = [*then, *(key for key in now if key not in then)]
    before = f"{place}." if place else ""
    lines = (_differences(then.get(key), now.get(key), before + short(key)) for key in keys)
    return list(chain.from_iterable(lines))


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _brief(value: Any) -> str:
    if isinstance(value, list):
        return f"{len(value)} entries"
    return short("nothing" if value is None else str(value)[:160])

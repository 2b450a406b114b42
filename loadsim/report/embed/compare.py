"""report/embed/compare"""

from __future__ import annotations

import math
from typing import Any

from loadsim.base.version import __version__
from loadsim.materials.describe import describe
from loadsim.materials.folder import is_path, names
from loadsim.materials.load import material_hash
from loadsim.report.embed.materials import plain, short
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
    before = {k: v for k, v in old.payload.plan.items() if k in new}
    found = [
        x
        for x in _differences(before, {k: new[k] for k in before}, "")
        if not x.startswith("loadsim:")
    ]
    found += [f"{k}: nothing then, given now" for k in new if k not in before]
    if not found:
        return old.restored
    cause = _causes(old)
    more = [f"and {len(found) - SHOWN} more."] if len(found) > SHOWN else []
    return (*old.restored, *cause, *(f"Changed: {x}" for x in found[:SHOWN]), *more)


def _causes(old: Report) -> list[str]:
    data = old.payload
    found = []
    if data.loadsim != __version__:
        found.append(f"The report was written by loadsim {data.loadsim}; this is {__version__}.")
    for kind, m in data.materials.items():
        name = (old.job.work if kind == "work" else old.job.cutter).material
        if not is_path(name) and name not in names(kind):
            found.append(f"The {kind} material {m.name} is not known any more.")
        elif material_hash(name, kind) != m.hash:
            now = plain(describe(name)["values"])
            rows = _differences(_by_place(m.values), _by_place(now), "")
            found.append(
                f"The data of {m.name} changed"
                + (": " + "; ".join(rows[:SHOWN]) if rows else " (remarks or sources only)")
                + "."
            )
    return found or [
        "Neither the version nor the material data changed: the report was edited by hand, or the"
        " computer rounds differently."
    ]


def _by_place(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """Key rows of values by what they are and where they come from."""
    return {
        f"{r.get('source')} {r.get('group') or ''} {r.get('quantity')}": {
            k: r.get(k) for k in ("value", "lo", "hi", "spread")
        }
        for r in rows
    }


def _differences(a: Any, b: Any, place: str) -> list[str]:
    if isinstance(a, dict) and isinstance(b, dict):
        return [
            x
            for k in [*a, *(k for k in b if k not in a)]
            for x in _differences(a.get(k), b.get(k), f"{place}.{short(k)}" if place else short(k))
        ]
    if isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        return [
            x
            for i, (p, q) in enumerate(zip(a, b, strict=True))
            for x in _differences(p, q, f"{place}[{i}]")
        ]
    if _number(a) and _number(b):
        same = math.isclose(a, b, rel_tol=SAME, abs_tol=1e-12)
        return [] if same else [f"{place}: {a:.6g} then, {b:.6g} now"]
    return [] if a == b else [f"{place}: {_brief(a)} then, {_brief(b)} now"]


def _number(x: Any) -> bool:
    return isinstance(x, int | float) and not isinstance(x, bool)


def _brief(x: Any) -> str:
    if isinstance(x, list):
        return f"{len(x)} entries"
    return short("nothing" if x is None else str(x)[:160])

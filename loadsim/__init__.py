"""Loads on a hand-ground undercut cutter: will the neck survive the cut?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from loadsim.cutter_design import grind as grind
    from loadsim.inspection import inspect_cut as inspect_cut
    from loadsim.job import read_job as read_job
    from loadsim.planner import plan as plan
    from loadsim.report.html import write_report as write_report
    from loadsim.verdict import check as check

#: Public names and where they live; loaded when first used, so that --help stays quick.
_PUBLIC = {"read_job": "loadsim.job", "check": "loadsim.verdict", "plan": "loadsim.planner", "write_report": "loadsim.report.html",
           "inspect_cut": "loadsim.inspection", "grind": "loadsim.cutter_design"}  # fmt: skip

__all__ = ["__version__", "check", "grind", "inspect_cut", "plan", "read_job", "write_report"]


def __getattr__(name: str) -> Any:
    if name in _PUBLIC:
        from importlib import import_module

        return getattr(import_module(_PUBLIC[name]), name)
    raise AttributeError(f"module 'loadsim' has no attribute {name!r}")

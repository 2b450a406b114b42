"""Loads on a hand-ground undercut cutter: will the neck survive the cut?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from loadsim.base.version import __version__

if TYPE_CHECKING:
    from loadsim.answers.check import check as check
    from loadsim.answers.cutter.design import grind as grind
    from loadsim.answers.cutter.grinding_sheet import end_view as end_view
    from loadsim.answers.cutter.grinding_sheet import sheet as sheet
    from loadsim.answers.cutter.grinding_sheet import side_view as side_view
    from loadsim.answers.inspection import inspect_cut as inspect_cut
    from loadsim.answers.plan import plan as plan
    from loadsim.job.read import read_job as read_job
    from loadsim.report.html import write_report as write_report

#: Public names and where they live; loaded when first used, so that --help stays quick.
_PUBLIC = {
    "check": "loadsim.answers.check",
    "end_view": "loadsim.answers.cutter.grinding_sheet",
    "grind": "loadsim.answers.cutter.design",
    "inspect_cut": "loadsim.answers.inspection",
    "plan": "loadsim.answers.plan",
    "read_job": "loadsim.job.read",
    "sheet": "loadsim.answers.cutter.grinding_sheet",
    "side_view": "loadsim.answers.cutter.grinding_sheet",
    "write_report": "loadsim.report.html",
}

__all__ = [
    "__version__",
    "check",
    "end_view",
    "grind",
    "inspect_cut",
    "plan",
    "read_job",
    "sheet",
    "side_view",
    "write_report",
]


def __getattr__(name: str) -> Any:
    if name in _PUBLIC:
        from importlib import import_module

        return getattr(import_module(_PUBLIC[name]), name)
    raise AttributeError(f"module 'loadsim' has no attribute {name!r}")

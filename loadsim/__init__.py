"""Loads on a hand-ground undercut cutter: will the neck survive the cut?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from loadsim.base.version import __version__

if TYPE_CHECKING:
    from loadsim.answers.check import check as check
    from loadsim.answers.cutter.design import grind as grind
    from loadsim.answers.inspection import inspect_cut as inspect_cut
    from loadsim.answers.plan import plan as plan
    from loadsim.job.read import read_job as read_job
    from loadsim.report.html import write_report as write_report

#: Public names and where they live; loaded when first used, so that --help stays quick.
_PUBLIC = {"read_job": "loadsim.job.read", "check": "loadsim.answers.check", "plan": "loadsim.answers.plan", "write_report": "loadsim.report.html",
           "inspect_cut": "loadsim.answers.inspection", "grind": "loadsim.answers.cutter.design"}  # fmt: skip

__all__ = ["__version__", "check", "grind", "inspect_cut", "plan", "read_job", "write_report"]


def __getattr__(name: str) -> Any:
    if name in _PUBLIC:
        from importlib import import_module

        return getattr(import_module(_PUBLIC[name]), name)
    raise AttributeError(f"module 'loadsim' has no attribute {name!r}")

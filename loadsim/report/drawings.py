"""Drawings of a job for the printed report: the section of the slot, the cutter, and a pass seen from the spindle."""

from loadsim.report.cutter_view import cutter
from loadsim.report.pass_view import engagement
from loadsim.report.slot_view import slot_section

__all__ = ["cutter", "engagement", "slot_section"]

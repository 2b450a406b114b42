"""How the machine is set, operation by operation."""

from __future__ import annotations

from loadsim.answers.results import Operation, Settings
from loadsim.base import units
from loadsim.report.rows.numbers import Show
from loadsim.words import phrases
from loadsim.words.phrases import used_text


def handwheel_text(settings: Settings, system: units.System) -> str | None:
    """Say how the handwheel is turned.

    Parameters
    ----------
    settings : Settings
        Of an answer.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    text : str or None
        None when the table is not fed by hand.
    """
    seconds = settings.handwheel_seconds_per_turn
    if seconds is None:
        return None
    travel = seconds * settings.feed_rate_mm_per_min / 60
    return phrases.handwheel(seconds, travel, system)


def turns_a_pass(settings: Settings) -> str | None:
    """Say how many turns of the handwheel a pass takes; None when the table is not fed by hand."""
    seconds = settings.handwheel_seconds_per_turn
    if seconds is None:
        return None
    return f"{settings.cutting_time_s / seconds / len(settings.passes):.0f} turns a pass"


def operation_settings(operation: Operation, system: units.System) -> list[str]:
    """List what is set for an operation: spindle speed, table feed, and how far its tool is used.

    Parameters
    ----------
    operation : Operation
        Of a routing.
    system : {"metric", "inch"}
        Which system leads.

    Returns
    -------
    texts : list of str
        Only what the operation has.
    """
    texts = []
    if operation.spindle_speed_rpm is not None:
        texts.append(f"{operation.spindle_speed_rpm:.0f} rpm")
    if operation.feed_mm_per_min is not None:
        texts.append(Show(system)(operation.feed_mm_per_min, "mm/min", "feed speed", both=False))
    if operation.worst is not None:
        texts.append(used_text(operation.worst))
    return texts

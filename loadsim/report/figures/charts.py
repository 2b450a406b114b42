"""The charts of a plan, in the order of the page; each can be had by itself."""

from __future__ import annotations

from loadsim.answers.results import Plan
from loadsim.report.figures import basis
from loadsim.report.figures.cut_figures import (
    along_neck,
    chip_over_immersion,
    forces_over_turn,
    load_against_strength,
)
from loadsim.report.figures.limit_figures import (
    drivers,
    limits_over_feed,
    limits_over_neck,
    one_map,
)
from loadsim.report.figures.style import Chart


def charts(plan: Plan) -> tuple[Chart, ...]:
    """Return every chart of a plan, in the order of the page.

    The ways that lost are a table of words (name, why not) and get no chart of their own.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.

    Returns
    -------
    charts : tuple of Chart
    """
    b = basis.basis(plan)
    return (
        forces_over_turn(plan, b),
        chip_over_immersion(plan, b),
        along_neck(plan, b),
        limits_over_feed(plan, b),
        limits_over_neck(plan, b),
        one_map(plan, b),
        load_against_strength(plan, b),
        *([drivers(plan)] if plan.result.risk.drivers else []),
    )

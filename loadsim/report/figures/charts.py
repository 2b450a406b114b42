"""The charts of a plan, in the order of the page; each can be had by itself."""

from __future__ import annotations

from loadsim.answers.results import Plan
from loadsim.report.figures.basis import basis_of
from loadsim.report.figures.driver_figure import drivers
from loadsim.report.figures.force_figures import forces_of_plan
from loadsim.report.figures.limit_figures import limits_over_feed, limits_over_neck
from loadsim.report.figures.map_figures import one_map
from loadsim.report.figures.neck_figures import along_neck, load_against_strength
from loadsim.report.figures.shock_figure import moment_over_turn
from loadsim.report.figures.style import Chart
from loadsim.report.figures.turn_figures import chip_over_immersion, forces_over_turn


def charts_of(plan: Plan) -> tuple[Chart, ...]:
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
    basis = basis_of(plan)
    charts = [
        forces_over_turn(plan, basis),
        chip_over_immersion(plan, basis),
        moment_over_turn(plan, basis),
        along_neck(plan, basis),
        limits_over_feed(plan, basis),
        limits_over_neck(plan, basis),
        one_map(plan, basis),
        load_against_strength(plan, basis),
    ]
    if plan.result.risk.drivers:
        charts.append(drivers(plan))
    charts += forces_of_plan(plan, basis)
    return tuple(charts)

"""Charts of the limits: over the feed, and over the neck."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from loadsim.answers.results import Plan
from loadsim.base.numbers import Array
from loadsim.report.drawings.svg import text_width
from loadsim.report.figures import limit_series, style
from loadsim.report.figures.basis import Basis, basis_of
from loadsim.report.figures.style import (
    DASHES,
    INK,
    Chart,
    Scale,
    axis,
    line,
    note,
    scale,
    shower,
    sig,
    thinned,
)
from loadsim.words.phrases import percent

#: Most lines of limits that are drawn over the feed.
MOST_LINES = 7

#: Size of the names beside the lines, and room for the lines that lead to them. [px]
LETTERS = 11.0
BESIDE = 24

#: Where the bars of the limits end. [1]
LONGEST = 1.5


def limits_over_feed(plan: Plan, basis: Basis | None = None) -> Chart:
    """Utilization of the nearest limits over the feed.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.
    basis : Basis, optional
        From `basis.basis_of`, when it is at hand.

    Returns
    -------
    chart : Chart
    """
    series = limit_series.over_feed(basis or basis_of(plan))
    show = shower(plan)
    f = scale("feed per tooth", plan.job.job.units)
    x = f.of(series.f_z)
    names = series.names[:MOST_LINES]
    utilization = series.utilization[:MOST_LINES]
    chosen = show(float(series.f_z[series.chosen]), "feed per tooth")
    at_chosen = [percent(float(u)) for u in utilization[:, series.chosen]]
    texts = [f"{name} ({used})" for name, used in zip(names, at_chosen, strict=True)]
    layout = _feed_layout(utilization, x, texts, f)
    beside = round(max(text_width(text, LETTERS) for text in texts)) + BESIDE
    told = style.chosen_words(plan.result.verdict)
    mark, words = style.upright(x[series.chosen], f"{told}, {chosen}")
    layout["shapes"].append(mark)
    layout["annotations"].insert(0, words)
    rows = thinned(series.f_z.size, {series.chosen}, 13)
    return Chart(
        id="limits-feed",
        title="Limits over the feed",
        figure=style.figure(_feed_lines(series, x, f), layout, {"r": beside}),
        use=_keep_under(series, show),
        caption=(
            "Thick: hard limits; thin: soft ones. In brackets: used at the chosen feed;"
            f" the scale is logarithmic.{_left_out(series)}"
        ),
        alt=(
            f"At the chosen feed of {chosen} the nearest limit is {names[0]} {at_chosen[0]};"
            f" {_crossing(series, show)}"
        ),
        columns=(f"feed per tooth [{f.unit}]", *names),
        rows=style.rows_of(rows, x, *(sig(u, 5) for u in utilization)),
    )


def _feed_lines(series: limit_series.OverFeed, x: list[float], f: Scale) -> list[dict[str, Any]]:
    """A line for each of the nearest limits, thick where it is hard."""
    limits = zip(series.names, series.hard, series.utilization, strict=True)
    return [
        line(
            x,
            sig(u, 5),
            DASHES[i % len(DASHES)],
            2.0 if hard else 1.1,
            INK if hard else "#555555",
            name=name,
            hovertemplate=f"{name}: %{{y:.2~%}} at %{{x}} {f.unit}",
        )
        for i, (name, hard, u) in enumerate(limits)
        if i < MOST_LINES
    ]


def _feed_layout(utilization: Array, x: list[float], texts: list[str], f: Scale) -> dict[str, Any]:
    """Axes, the line of full use, and a label at the end of each line."""
    least = max(min(float(utilization[utilization > 0].min()), 0.5), 1e-3)
    low = math.log10(least) - 0.05
    high = math.log10(max(float(utilization.max()), 1.2)) + 0.1
    ends = [math.log10(max(float(u[-1]), 10**low)) for u in utilization]
    labels = ["<b>capacity</b>", *texts]
    return {
        "xaxis": axis(f"feed per tooth [{f.unit}]", range=[x[0], x[-1]], nticks=5),
        "shapes": [_capacity_line("x", 3)],
        "yaxis": axis(
            "used share of capacity",
            type="log",
            range=sig([low, high]),
            tickformat="~%",
            tickvals=style.decades(10**low, 10**high),
        ),
        "annotations": style.end_labels(labels, x[-1], [0.0, *ends], (low, high)),
    }


def _left_out(series: limit_series.OverFeed) -> str:
    """Say how many limits are not drawn."""
    rest = series.utilization[MOST_LINES:, series.chosen]
    if not rest.size:
        return ""
    largest = percent(float(rest.max()))
    return f" {rest.size} more stay out: none over {largest} at the chosen feed."


def _capacity_line(along: str, width: float) -> dict[str, Any]:
    """A thick line at full use, along one axis of the whole plot."""
    across = "y" if along == "x" else "x"
    return {
        "type": "line",
        f"{along}ref": "paper",
        f"{along}0": 0,
        f"{along}1": 1,
        f"{across}0": 1,
        f"{across}1": 1,
        "line": {"color": INK, "width": width},
    }


def _crossing(series: limit_series.OverFeed, show: Callable[[float, str], str]) -> str:
    """Say from which of the feeds on a hard limit is over its capacity."""

    def feed(i: int) -> str:
        return show(float(series.f_z[i]), "feed per tooth")

    over = (series.utilization[np.array(series.hard)] > 1).any(axis=0)
    if not over.any():
        return f"no hard limit is over capacity up to {feed(-1)}."
    if over.all():
        return "at no feed drawn are all hard limits within capacity."
    first = int(np.argmax(over))
    if first == 0:
        return f"hard limits are within capacity from {feed(int(np.argmin(over)))}."
    limits = zip(series.names, series.hard, series.utilization, strict=True)
    name = next(name for name, hard, u in limits if hard and u[first] > 1)
    return f"{name} is over capacity from {feed(first)}."


def _keep_under(series: limit_series.OverFeed, show: Callable[[float, str], str]) -> str:
    """Say what to do with the lines."""
    return (
        "Feed no faster than where a thick line reaches capacity, and no slower than where rubbing"
        f" does: {_crossing(series, show)}"
    )


def limits_over_neck(plan: Plan, basis: Basis | None = None) -> Chart:
    """Hard limits at the job's own neck, as bars; `limit_series.over_neck` holds the numbers of
    other necks in the same order.

    Trace 0 holds the bars (its x is one list of "utilization"), trace 1 the figures at the right
    (its text is one list of "text").

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.
    basis : Basis, optional
        From `basis.basis_of`, when it is at hand.

    Returns
    -------
    chart : Chart
    """
    series = limit_series.over_neck(plan, basis)
    L = scale("length", plan.job.job.units)
    own = series["own"]
    names = series["names"]
    labels = series["labels"]
    chance = series["snap_text"][own]
    diameter = shower(plan)(plan.job.cutter.neck_diameter, "length")
    necks = zip(series["values"], series["utilization"], series["snap"], strict=True)
    return Chart(
        id="limits-neck",
        title="Hard limits and the neck",
        slider=series,
        figure=style.figure(_neck_bars(series), _neck_layout(), {"l": 10, "r": 24}),
        use=_thicker(plan, series),
        caption=(
            f"At the job's own neck of {diameter}: snap probability {chance}. A bar that runs past"
            f" {percent(LONGEST)} is cut; its figure stands at the right."
        ),
        alt=(
            f"With a neck of {diameter} the nearest hard limit is {names[0]} at"
            f" {series['text'][own][0]}; from {labels[0]} to {labels[-1]} the snap probability"
            f" {_moves(series['snap_text'])}."
        ),
        columns=(f"neck diameter [{L.unit}]", *names, "snap probability"),
        rows=tuple((L.of([value])[0], *used, p) for value, used, p in necks),
    )


def _thicker(plan: Plan, series: dict[str, Any]) -> str:
    """Say what to do with the bars."""
    thickest = series["labels"][-1]
    if series["own"] == len(series["values"]) - 1:
        return f"The neck is as thick as fits: {thickest}; grind it no thinner."
    return f"If a bar is too long, grind a thicker neck: up to {thickest} fits."


def _neck_bars(series: dict[str, Any]) -> list[dict[str, Any]]:
    """Bars of the job's own neck, and their figures at the right."""
    own = series["own"]
    names = series["names"]
    bars = {
        "type": "bar",
        "orientation": "h",
        "x": series["utilization"][own],
        "y": names,
        "hovertemplate": "%{y}: %{x:.2~%}<extra></extra>",
        "marker": {"color": "#bbbbbb", "line": {"color": INK, "width": 1}},
    }
    figures = {
        "type": "scatter",
        "mode": "text",
        "x": [0.99 * LONGEST] * len(names),
        "y": names,
        "text": series["text"][own],
        "textposition": "middle left",
        "textfont": {"size": 11, "color": INK},
        "hoverinfo": "skip",
    }
    return [bars, figures]


def _neck_layout() -> dict[str, Any]:
    return {
        "xaxis": axis("used share of capacity", range=[0, LONGEST], tickformat=".0%", dtick=0.25),
        "bargap": 0.4,
        "shapes": [_capacity_line("y", 2.5)],
        "yaxis": axis("", automargin=True, showgrid=False, autorange="reversed"),
        "annotations": [note("capacity", 1, 1, yref="paper", yanchor="bottom")],
    }


def _moves(chances: list[str]) -> str:
    """Say where the snap probability goes from the thinnest neck to the thickest."""
    if chances[0] == chances[-1]:
        return f"stays {chances[0]}"
    return f"goes from {chances[0]} to {chances[-1]}"

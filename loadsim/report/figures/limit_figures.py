"""Charts of the limits: over the feed, over the neck, on a map, and what the risk hangs on."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from loadsim.answers.results import Plan
from loadsim.report.figures import basis, limit_series, style
from loadsim.report.figures.basis import Basis
from loadsim.report.figures.style import (
    DASHES,
    INK,
    PALE,
    Chart,
    axis,
    line,
    note,
    scale,
    shower,
    sig,
    thinned,
)
from loadsim.words.phrases import percent

#: What a shop can do about each driver of the spread.
WHAT_HELPS = {
    "force constants of the metal": (
        "cut a trial slot, measure the torque or the power, and give kc11"
    ),
    "radial force": "give a radial_ratio from a trial cut",
    "edge wear": "touch up the edge before the cut",
    "steadiness of the feed": "feed evenly, or use a power feed",
    "runout": "set an indicator on the head",
    "neck diameter": "put a micrometer on the neck",
    "neck fillet": "look at the fillet under a magnifier, or with a radius gauge",
    "neck length": "measure the neck's length",
    "head height": "measure the head's height",
    "stress concentration": "grind a larger fillet",
    "strength of the blank": "use a blank of known make and hardness",
    "fatigue strength": "use a blank of known make and hardness",
    "grinding of the neck": "grind the neck gently, along its axis",
    "chip packing": "clear the chips with air or coolant",
}

#: Of these, what a gauge or a trial cut tells: the others are worked on, not measured.
MEASURED = (
    "force constants of the metal",
    "radial force",
    "runout",
    "neck diameter",
    "neck fillet",
    "neck length",
    "head height",
)

#: Levels drawn on a map. [1]
LEVELS = (0.2, 0.5, 0.8, 1.0)

#: Least room, as a share of the height, that words on a map need.
ROOM = 0.05

#: Most lines of limits that are drawn over the feed.
MOST_LINES = 7

#: Where the bars of the limits end. [1]
LONGEST = 1.5


def limits_over_feed(plan: Plan, b: Basis | None = None) -> Chart:
    """Utilization of the nearest limits over the feed.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.
    b : Basis, optional
        From `series.basis`, when it is at hand.

    Returns
    -------
    chart : Chart
    """
    s = limit_series.over_feed(b or basis.basis(plan))
    show = shower(plan)
    f = scale("feed per tooth", plan.job.job.units)
    u = s.utilization[:MOST_LINES]
    x = f.of(s.f_z)
    names = s.names[:MOST_LINES]
    data = [
        line(
            x,
            sig(v, 5),
            DASHES[i % len(DASHES)],
            2.0 if s.hard[i] else 1.1,
            INK if s.hard[i] else "#555555",
            name=names[i],
            hovertemplate=f"{names[i]}: %{{y:.2~%}} at %{{x}} {f.unit}",
        )
        for i, v in enumerate(u)
    ]
    low = math.log10(max(min(float(u[u > 0].min()), 0.5), 1e-3)) - 0.05
    high = math.log10(max(float(u.max()), 1.2)) + 0.1
    chosen = show(float(s.f_z[s.chosen]), "feed per tooth")
    mark, words = style.upright(x[s.chosen], f"chosen: {chosen}")
    full = {
        "type": "line",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": 1,
        "y1": 1,
        "line": {"color": INK, "width": 3},
    }
    ends = [math.log10(max(float(v[-1]), 10**low)) for v in u]
    texts = [f"{n} {percent(float(v[s.chosen]))}" for n, v in zip(names, u, strict=True)]
    layout = {
        "xaxis": axis(f"feed per tooth [{f.unit}]", range=[x[0], x[-1]], nticks=5),
        "shapes": [full, mark],
        "yaxis": axis(
            "used share of capacity",
            type="log",
            range=sig([low, high]),
            tickformat="~%",
            tickvals=style.decades(10**low, 10**high),
        ),
        "annotations": [
            words,
            *style.end_labels(["<b>capacity</b>", *texts], x[-1], [0.0, *ends], (low, high)),
        ],
    }
    rest = s.utilization[MOST_LINES:, s.chosen]
    left_out = (
        f" {rest.size} more stay out: none over {percent(float(rest.max()))} at the chosen feed."
        if rest.size
        else ""
    )
    return Chart(
        id="limits-feed",
        title="Limits over the feed",
        figure=style.figure(data, layout, {"r": 138}),
        caption=(
            "Thick: hard limits; thin: soft ones. The figure behind each name is at the chosen"
            f" feed; the scale is logarithmic.{left_out}"
        ),
        alt=f"At the chosen feed of {chosen} the nearest limit is {texts[0]}; {_crossing(s, show)}",
        columns=(f"feed per tooth [{f.unit}]", *names),
        rows=style.rows_of(thinned(s.f_z.size, {s.chosen}, 13), x, *(sig(v, 5) for v in u)),
    )


def _crossing(s: limit_series.OverFeed, show: Any) -> str:
    """Say from which of the feeds on a hard limit is over its capacity."""
    hard = np.array(s.hard)
    over = (s.utilization[hard] > 1).any(axis=0)
    if not over.any():
        return f"no hard limit is over capacity up to {show(float(s.f_z[-1]), 'feed per tooth')}."
    if over.all():
        return "at no feed drawn are all hard limits within capacity."
    k = int(np.argmax(over))
    if k == 0:
        return (
            "hard limits are within capacity from"
            f" {show(float(s.f_z[int(np.argmin(over))]), 'feed per tooth')}."
        )
    name = next(n for n, h, v in zip(s.names, s.hard, s.utilization, strict=True) if h and v[k] > 1)
    return f"{name} is over capacity from {show(float(s.f_z[k]), 'feed per tooth')}."


def limits_over_neck(plan: Plan, b: Basis | None = None) -> Chart:
    """Hard limits at the job's own neck, as bars; `series.over_neck` holds the numbers of other
    necks in the same order.

    Trace 0 holds the bars (its x is one list of "utilization"), trace 1 the figures at the right
    (its text is one list of "text").

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.
    b : Basis, optional
        From `series.basis`, when it is at hand.

    Returns
    -------
    chart : Chart
    """
    s = limit_series.over_neck(plan, b)
    show = shower(plan)
    L = scale("length", plan.job.job.units)
    own = s["own"]
    names = s["names"]
    chances = s["snap_text"]
    bars = {
        "type": "bar",
        "orientation": "h",
        "x": s["utilization"][own],
        "y": names,
        "hovertemplate": "%{y}: %{x:.2~%}<extra></extra>",
        "marker": {"color": "#bbbbbb", "line": {"color": INK, "width": 1}},
    }
    figures = {
        "type": "scatter",
        "mode": "text",
        "x": [0.99 * LONGEST] * len(names),
        "y": names,
        "text": s["text"][own],
        "textposition": "middle left",
        "textfont": {"size": 11, "color": INK},
        "hoverinfo": "skip",
    }
    full = {
        "type": "line",
        "yref": "paper",
        "x0": 1,
        "x1": 1,
        "y0": 0,
        "y1": 1,
        "line": {"color": INK, "width": 2.5},
    }
    layout = {
        "xaxis": axis("used share of capacity", range=[0, LONGEST], tickformat=".0%", dtick=0.25),
        "bargap": 0.4,
        "shapes": [full],
        "yaxis": axis("", automargin=True, showgrid=False, autorange="reversed"),
        "annotations": [note("capacity", 1, 1, yref="paper", yanchor="bottom")],
    }
    d = show(plan.job.cutter.neck_diameter, "length")
    moves = (
        f"stays {chances[0]}"
        if chances[0] == chances[-1]
        else f"goes from {chances[0]} to {chances[-1]}"
    )
    return Chart(
        id="limits-neck",
        title="Hard limits and the neck",
        slider=s,
        figure=style.figure([bars, figures], layout, {"l": 10, "r": 24}),
        caption=(
            f"At the job's own neck of {d}: snap probability {chances[own]}. A bar that runs past"
            f" {percent(LONGEST)} is cut; its figure stands at the right."
        ),
        alt=(
            f"With a neck of {d} the nearest hard limit is {names[0]} at {s['text'][own][0]}; from"
            f" {s['labels'][0]} to {s['labels'][-1]} the snap probability {moves}."
        ),
        columns=(f"neck diameter [{L.unit}]", *names, "snap probability"),
        rows=tuple(
            (L.of([v])[0], *row, p)
            for v, row, p in zip(s["values"], s["utilization"], s["snap"], strict=True)
        ),
    )


def feed_neck_map(plan: Plan, b: Basis | None = None) -> Chart:
    """Worst hard limit over feed and neck diameter.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.
    b : Basis, optional
        From `series.basis`, when it is at hand.

    Returns
    -------
    chart : Chart
    """
    return _map_chart(
        plan, limit_series.over_feed_and_neck(b or basis.basis(plan)), "neck diameter"
    )


def feed_stepover_map(plan: Plan, b: Basis | None = None) -> Chart:
    """Worst hard limit over feed and stepover of the side passes.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`; its cut has side passes.
    b : Basis, optional
        From `series.basis`, when it is at hand.

    Returns
    -------
    chart : Chart
    """
    return _map_chart(plan, limit_series.over_feed_and_stepover(b or basis.basis(plan)), "stepover")


def one_map(plan: Plan, b: Basis) -> Chart:
    """Return the map of the stepover where that decides something, else that of the neck."""
    if limit_series.side_span(b) > limit_series.LEAST_SPAN:
        few = limit_series.over_feed_and_stepover(b, 3).worst
        if few.max() > LEVELS[1] and float((few.max(axis=0) / few.min(axis=0)).max()) > 1.02:
            return feed_stepover_map(plan, b)
    return feed_neck_map(plan, b)


def _map_chart(plan: Plan, s: limit_series.Map, other: str) -> Chart:
    show = shower(plan)
    f = scale("feed per tooth", plan.job.job.units)
    mm = scale("length", plan.job.job.units)
    x = f.of(s.f_z)
    y = mm.of(s.other)
    z = sig(s.worst, 4)
    hover = f"{other} %{{y}} {mm.unit}, %{{x}} {f.unit}: %{{z:.2~%}}<extra></extra>"
    col, row = (
        int(np.argmin(np.abs(a - c))) for a, c in zip((s.f_z, s.other), s.chosen, strict=True)
    )
    layout = {
        "xaxis": axis(f"feed per tooth [{f.unit}]", range=[x[0], x[-1]], nticks=5),
        "yaxis": axis(f"{other} [{mm.unit}]", range=[y[0], y[-1]], nticks=6),
        "annotations": _map_words(s, x, y, (row, col)),
    }
    cols = thinned(len(x), {col}, 7)
    here = percent(float(s.worst[row, col]))
    d = show(float(s.other[row]), "length")
    return Chart(
        id="map",
        title=f"Feed and {other}",
        figure=style.figure([*_contours(x, y, z, hover), *_map_marks(s, x, y, (row, col))], layout),
        caption=(
            "Used share of capacity of the hard limit that is nearest, at"
            f" {', '.join(f'{v:.0%}' for v in LEVELS)}; crosses are over capacity. Loads only, no"
            " probability; all else is kept as chosen."
        ),
        alt=(
            f"At the chosen feed and a {other} of {d} the nearest hard limit is used to {here};"
            f" {_extent(s)}"
        ),
        columns=(f"{other} [{mm.unit}]", *(f"at {x[j]:g} {f.unit}" for j in cols)),
        rows=tuple(
            (y[i], *("" if z[i][j] is None else z[i][j] for j in cols))
            for i in thinned(len(y), {row}, 12)
        ),
    )


def _contours(x: list[float], y: list[float], z: list[Any], hover: str) -> list[dict[str, Any]]:
    """One trace a level, told apart by dash and width, since the levels are not evenly spaced."""
    lines = zip(LEVELS, (0.8, 1.1, 1.4, 2.6), ("dot", "dot", "dash", "solid"), strict=True)
    return [
        {
            "type": "contour",
            "x": x,
            "y": y,
            "z": z,
            "showscale": False,
            "hoverinfo": "all" if level == 1 else "skip",
            "hovertemplate": hover,
            "line": {"color": INK, "width": width, "dash": dash, "smoothing": 0},
            "contours": {
                "start": level,
                "end": level,
                "size": 1,
                "coloring": "none",
                "showlabels": True,
                "labelformat": ".0%",
                "labelfont": {"size": 11, "color": INK},
            },
        }
        for level, width, dash in lines
    ]


def _map_marks(
    s: limit_series.Map, x: list[float], y: list[float], chosen: tuple[int, int]
) -> list[dict[str, Any]]:
    """Crosses where a hard limit is over capacity, and the point chosen."""
    over = np.argwhere(s.worst > 1)
    over = over[over.sum(axis=1) % 2 == 0]
    marks = {"type": "scatter", "mode": "markers", "hoverinfo": "skip"}
    return [
        {
            **marks,
            "x": [x[j] for _, j in over],
            "y": [y[i] for i, _ in over],
            "marker": {"symbol": "x-thin", "size": 6, "line": {"color": PALE, "width": 1}},
        },
        {
            **marks,
            "x": [x[chosen[1]]],
            "y": [y[chosen[0]]],
            "cliponaxis": False,
            "marker": {
                "symbol": "circle",
                "size": 10,
                "color": INK,
                "line": {"color": "white", "width": 2},
            },
        },
    ]


def _map_words(
    s: limit_series.Map, x: list[float], y: list[float], chosen: tuple[int, int]
) -> list[dict[str, Any]]:
    """Name the point chosen and the areas that are large enough for words."""
    below = y[chosen[0]] > (y[0] + y[-1]) / 2
    found = [
        style.pointed(
            "<b>chosen</b>",
            x[chosen[1]],
            y[chosen[0]],
            0,
            18 if below else -18,
            bgcolor="white",
            borderpad=1,
        )
    ]
    for text, area in (("safe: under 80%", s.worst < LEVELS[2]), ("over capacity", s.worst > 1)):
        place = _middle(area, np.digitize(s.worst, LEVELS), chosen)
        if place is not None:
            found.append(
                note(f"<b>{text}</b>", x[place[1]], y[place[0]], bgcolor="white", borderpad=2)
            )
    return found


def _middle(area: Any, band: Any, chosen: tuple[int, int]) -> tuple[int, int] | None:
    """Return the cell of an area that is farthest from lines, the map's edge and the chosen point;
    None when it is too small.
    """
    inside = np.argwhere(area)
    if len(inside) < 12:
        return None
    n, m = area.shape
    upward = np.argwhere(band[1:] != band[:-1])
    across = np.argwhere(band[:, 1:] != band[:, :-1])
    border = np.concatenate([np.add(upward, [0.5, 0]), np.add(across, [0, 0.5]), [chosen]])
    size = np.array([1.0 / n, 0.3 / m])  # words are wide
    far = np.sqrt((((inside[:, None, :] - border[None, :, :]) * size) ** 2).sum(axis=2)).min(axis=1)
    edge = (np.minimum(inside, np.array([n - 1, m - 1]) - inside) * size).min(axis=1)
    room = np.minimum(far, edge)
    best = inside[int(np.argmax(room))]
    return (int(best[0]), int(best[1])) if room.max() > ROOM else None


def _extent(s: limit_series.Map) -> str:
    known = np.isfinite(s.worst)
    safe = float((s.worst < LEVELS[2]).sum() / known.sum())
    over = float((s.worst > 1).sum() / known.sum())
    if safe == 1 or over == 1:
        return "all of the map is under 80%." if safe == 1 else "all of the map is over capacity."
    return f"{percent(safe)} of the map is under 80%, {percent(over)} is over capacity."


def drivers(plan: Plan) -> Chart:
    """Shares of the variance behind the snap probability, largest first.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.

    Returns
    -------
    chart : Chart

    Raises
    ------
    ValueError
        If nothing of this cut is uncertain.
    """
    found = plan.result.risk.drivers[:8]
    if not found:
        raise ValueError("the result names no drivers")
    first = next((d for d in found if d.name in MEASURED), None)
    up = found[::-1]  # bars are drawn from the bottom
    bars = {
        "type": "bar",
        "orientation": "h",
        "x": [d.share for d in up],
        "y": [d.name for d in up],
        "cliponaxis": False,
        "text": [percent(d.share) + ("  <b>measure first</b>" if d is first else "") for d in up],
        "textposition": "outside",
        "textfont": {"size": 11},
        "marker": {
            "color": ["#444444" if d is first else "#bbbbbb" for d in up],
            "line": {"color": INK, "width": 1},
        },
        "hovertemplate": "%{y}: %{x:.1%}<extra></extra>",
    }
    end = max(1.3 * found[0].share, 2.3 * first.share if first else 0.0)
    layout = {
        "xaxis": axis(
            "share of the variance",
            range=[0, sig(end)],
            tickformat=".0%",
            tickvals=[0, 0.2, 0.4, 0.6, 0.8, 1.0],
        ),
        "yaxis": axis("", automargin=True, showgrid=False),
        "bargap": 0.35,
    }
    to_do = "" if first is None else f" Measure first: {first.name}; {WHAT_HELPS[first.name]}."
    return Chart(
        id="drivers",
        title="What the risk hangs on",
        figure=style.figure([bars], layout, {"l": 10, "t": 8}),
        caption=f"Share of each uncertain input in the spread of load over strength.{to_do}",
        alt=f"The largest driver is {found[0].name} with {percent(found[0].share)}.{to_do}",
        columns=("input", "share of the variance", "what helps"),
        rows=tuple((d.name, d.share, WHAT_HELPS.get(d.name, "")) for d in found),
    )

"""Maps of the worst hard limit: over feed and neck, or over feed and stepover."""

from __future__ import annotations

from typing import Any

import numpy as np

from loadsim.answers.results import Plan, Verdict
from loadsim.answers.verdict import verdict_of, with_mill
from loadsim.loads.cut import cutting, written_engagement
from loadsim.loads.limits import undercut
from loadsim.report.figures import limit_series, style
from loadsim.report.figures.basis import Basis, basis_of, samples
from loadsim.report.figures.style import INK, PALE, Chart, axis, note, scale, shower, sig, thinned
from loadsim.risk.snap import assess
from loadsim.words.phrases import percent

#: Levels drawn on a map. [1]
LEVELS = (0.2, 0.5, 0.8, 1.0)

#: Width and dash of the line of each level.
LINES = ((0.8, "dot"), (1.1, "dot"), (1.4, "dash"), (2.6, "solid"))

#: Least room, as a share of the height, that words on a map need.
ROOM = 0.05

#: Cells under which an area is too small for words. [1]
LEAST_CELLS = 12

#: Ratio of the worst to the best stepover from which on the stepover decides something. [1]
TELLING = 1.02

Cell = tuple[int, int]  #: row and column of a map


def feed_neck_map(plan: Plan, basis: Basis | None = None) -> Chart:
    """Worst hard limit over feed and neck diameter.

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
    basis = basis or basis_of(plan)
    return _map_chart(basis, limit_series.over_feed_and_neck(basis), "neck diameter")


def feed_stepover_map(plan: Plan, basis: Basis | None = None) -> Chart:
    """Worst hard limit over feed and stepover of the side passes.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`; its cut has side passes.
    basis : Basis, optional
        From `basis.basis_of`, when it is at hand.

    Returns
    -------
    chart : Chart
    """
    basis = basis or basis_of(plan)
    return _map_chart(basis, limit_series.over_feed_and_stepover(basis), "stepover")


def one_map(plan: Plan, basis: Basis) -> Chart:
    """Return the map of the stepover where that decides something, else that of the neck."""
    if limit_series.side_span(basis) > limit_series.LEAST_SPAN:
        worst = limit_series.over_feed_and_stepover(basis, 3).worst
        ratio = float((worst.max(axis=0) / worst.min(axis=0)).max())
        if worst.max() > LEVELS[1] and ratio > TELLING:
            return feed_stepover_map(plan, basis)
    return feed_neck_map(plan, basis)


def _map_chart(basis: Basis, series: limit_series.Map, other: str) -> Chart:
    plan = basis.plan
    show = shower(plan)
    f = scale("feed per tooth", plan.job.job.units)
    mm = scale("length", plan.job.job.units)
    x = f.of(series.f_z)
    y = mm.of(series.other)
    z = sig(series.worst, 4)
    chosen = _chosen(series)
    row, column = chosen
    verdict = plan.result.verdict
    columns = thinned(len(x), {column}, 7)
    rows = thinned(len(y), {row}, 12)
    hover = f"{other} %{{y}} {mm.unit}, %{{x}} {f.unit}: %{{z:.2~%}}<extra></extra>"
    layout = {
        "xaxis": axis(f"feed per tooth [{f.unit}]", range=[x[0], x[-1]], nticks=5),
        "yaxis": axis(f"{other} [{mm.unit}]", range=[y[0], y[-1]], nticks=6),
        "annotations": _map_words(basis, series, other, x, y, chosen),
    }
    data = [*_contours(x, y, z, hover), *_map_marks(series, x, y, chosen, verdict)]
    used = percent(float(series.worst[row, column]))
    levels = ", ".join(f"{level:.0%}" for level in LEVELS)
    return Chart(
        id="map",
        title=f"Feed and {other}",
        figure=style.figure(data, layout),
        use=_way_out(verdict, other),
        caption=(
            f"Used share of capacity of the hard limit that is nearest, at {levels}; crosses are"
            " over capacity. Loads only, no probability; all else is kept as chosen."
        ),
        alt=(
            f"At the chosen feed and a {other} of {show(float(series.other[row]), 'length')} the"
            f" nearest hard limit is used to {used}; {_extent(series)}"
        ),
        columns=(f"{other} [{mm.unit}]", *(f"at {x[j]:g} {f.unit}" for j in columns)),
        rows=tuple((y[i], *("" if z[i][j] is None else z[i][j] for j in columns)) for i in rows),
    )


def _way_out(verdict: Verdict, other: str) -> str:
    """Say what to do with the map."""
    thicker = "a thicker neck" if other == "neck diameter" else "a smaller stepover"
    if verdict is Verdict.GO:
        return "Stay out of the crosses, should feed or size come out otherwise than planned."
    return f"Go from the crosses towards the lines of less use: less feed, or {thicker}."


def _chosen(series: limit_series.Map) -> Cell:
    """Return the cell of the plan's own feed and other length."""
    f_z, other = series.chosen
    row = int(np.argmin(np.abs(series.other - other)))
    column = int(np.argmin(np.abs(series.f_z - f_z)))
    return row, column


def _contours(x: list[float], y: list[float], z: list[Any], hover: str) -> list[dict[str, Any]]:
    """One trace a level, told apart by dash and width, since the levels are not evenly spaced."""
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
        for level, (width, dash) in zip(LEVELS, LINES, strict=True)
    ]


def _map_marks(
    series: limit_series.Map, x: list[float], y: list[float], chosen: Cell, verdict: Verdict
) -> list[dict[str, Any]]:
    """Crosses where a hard limit is over capacity, on every other cell, and the point chosen."""
    over = np.argwhere(series.worst > 1)
    over = over[over.sum(axis=1) % 2 == 0]
    marks = {"type": "scatter", "mode": "markers", "hoverinfo": "skip"}
    crosses = {"symbol": "x-thin", "size": 6, "line": {"color": PALE, "width": 1}}
    point = style.chosen_marker(verdict)
    row, column = chosen
    return [
        {**marks, "x": [x[j] for _, j in over], "y": [y[i] for i, _ in over], "marker": crosses},
        {**marks, "x": [x[column]], "y": [y[row]], "cliponaxis": False, "marker": point},
    ]


def _map_words(
    basis: Basis, series: limit_series.Map, other: str, x: list[float], y: list[float], chosen: Cell
) -> list[dict[str, Any]]:
    """Name the point chosen and the areas that are large enough for words."""
    row, column = chosen
    down = 18 if y[row] > (y[0] + y[-1]) / 2 else -18
    box = {"bgcolor": "white", "borderpad": 1}
    told = f"<b>{style.chosen_words(basis.plan.result.verdict)}</b>"
    words = [style.pointed(told, x[column], y[row], 0, down, **box)]
    band = np.digitize(series.worst, LEVELS)
    within, over = (
        _middle(area, band, chosen) for area in (series.worst < LEVELS[2], series.worst > 1)
    )
    for place, text in ((within, None), (over, "over capacity")):
        if place is not None:
            i, j = place
            text = text or area_words(basis, series, other, place)
            words.append(note(f"<b>{text}</b>", x[j], y[i], bgcolor="white", borderpad=2))
    return words


def area_words(basis: Basis, series: limit_series.Map, other: str, place: Cell) -> str:
    """Name the area whose loads are within what a go allows.

    Parameters
    ----------
    basis : Basis
        The plan's own cut.
    series : Map
        The map.
    other : {"neck diameter", "stepover"}
        What it has beside the feed.
    place : (int, int)
        Row and column that the words stand at.

    Returns
    -------
    words : str
        Safe only where the verdict at that very point is go: chance, soft limits and clearances
        count too.
    """
    i, j = place
    verdict = verdict_at(basis, float(series.f_z[j]), other, float(series.other[i]))
    return "safe" if verdict is Verdict.GO else "loads under 80%"


def verdict_at(basis: Basis, f_z: float, other: str, value: float) -> Verdict:
    """Weigh limits and chance at a point of a map.

    Parameters
    ----------
    basis : Basis
        The plan's own cut: all else is as chosen.
    f_z : float
        Feed per tooth. [mm]
    other : {"neck diameter", "stepover"}
        Which length.
    value : float
        Its value. [mm]

    Returns
    -------
    verdict : Verdict
    """
    plan = basis.plan
    if other == "stepover":
        job, way = basis.job, written_engagement(basis.job, value, 90)
    else:
        job, way = limit_series.with_neck(basis, value)
    limits = undercut.checks(job, cutting(job, way, basis.speed, f_z))
    chance = assess(job, way, f_z, samples(plan), speed=basis.speed)
    verdict = verdict_of(limits, chance, plan.job.target.snap_probability)
    return with_mill(verdict, plan.result.throat_mill)


def _middle(area: Any, band: Any, chosen: Cell) -> Cell | None:
    """Return the cell of an area that is farthest from lines, the map's edge and the chosen point;
    None when it is too small.
    """
    inside = np.argwhere(area)
    if len(inside) < LEAST_CELLS:
        return None
    rows, columns = area.shape
    upward = np.argwhere(band[1:] != band[:-1])
    across = np.argwhere(band[:, 1:] != band[:, :-1])
    border = np.concatenate([np.add(upward, [0.5, 0]), np.add(across, [0, 0.5]), [chosen]])
    size = np.array([1.0 / rows, 0.3 / columns])  # words are wide
    far = np.sqrt((((inside[:, None, :] - border[None, :, :]) * size) ** 2).sum(axis=2)).min(axis=1)
    edge = (np.minimum(inside, np.array([rows - 1, columns - 1]) - inside) * size).min(axis=1)
    room = np.minimum(far, edge)
    best = inside[int(np.argmax(room))]
    return (int(best[0]), int(best[1])) if room.max() > ROOM else None


def _extent(series: limit_series.Map) -> str:
    """Say how much of the map is under what a go allows, and how much is over capacity."""
    known = np.isfinite(series.worst)
    under = float((series.worst < LEVELS[2]).sum() / known.sum())
    over = float((series.worst > 1).sum() / known.sum())
    if under == 1:
        return "all of the map is under 80%."
    if over == 1:
        return "all of the map is over capacity."
    return f"{percent(under)} of the map is under 80%, {percent(over)} is over capacity."

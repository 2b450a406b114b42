"""Charts of one turn: force and torque, and the chip of every tooth."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from loadsim.answers.results import Plan
from loadsim.base.numbers import Array
from loadsim.loads.passes import PieceKind
from loadsim.report.figures import cut_series, style
from loadsim.report.figures.basis import Basis, basis_of
from loadsim.report.figures.style import (
    DASHES,
    LABEL,
    PALE,
    PLOT,
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

#: Part of the chart's height that the thickest chip takes, turned round. [1]
HEADROOM = 1.22

#: Teeth whose thickest chips differ by less, over the thickest of all, cut alike. [1]
ALIKE = 0.02

LEGEND = {
    "orientation": "h",
    "x": 0,
    "y": 1.02,
    "yanchor": "bottom",
    "font": {"size": 11},
    "itemclick": False,
    "itemdoubleclick": False,
}


def forces_over_turn(plan: Plan, basis: Basis | None = None) -> Chart:
    """Force and torque over one turn of the pass with the largest force.

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
    series = cut_series.over_turn(basis or basis_of(plan))
    show = shower(plan)
    N = scale("force", plan.job.job.units)
    T = scale("torque", plan.job.job.units)
    angle = sig(np.degrees(series.angle), 6)
    top = int(np.argmax(series.F))
    top_torque = int(np.argmax(series.torque))
    force = show(float(series.F[top]), "force")
    torque = show(float(series.torque[top_torque]), "torque")
    forces = ("resultant", "along the feed", "across the feed")
    data = _force_lines(series, angle, N, T)
    return Chart(
        id="forces",
        title="Force and torque over one turn",
        figure=style.figure(data, _forces_layout(N, T), {"t": 30}),
        use=(
            "If a load meter on the scrap cut shows much more than these peaks, stop: the edge is"
            " dull, or the chips are packed."
        ),
        caption=(
            f"As drawn and as assumed, one turn.{_pass_text(plan, series.number, series.kind)}"
            f" Along the feed, below zero resists it. Peak force {force}, peak torque {torque}."
        ),
        alt=(
            f"The force on the head peaks at {force}, {math.degrees(series.angle[top]):.0f} degrees"
            f" into the turn; the torque at {torque}."
        ),
        columns=("turn [°]", *(f"{name} [{N.unit}]" for name in forces), f"torque [{T.unit}]"),
        rows=style.rows_of(
            thinned(series.angle.size, {top, top_torque}),
            angle,
            *(N.of(F) for F in (series.F, series.F_x, series.F_y)),
            T.of(series.torque),
        ),
    )


def _force_lines(
    series: cut_series.OverTurn, angle: list[float], N: Scale, T: Scale
) -> list[dict[str, Any]]:
    """Three lines of force, and under them one of torque."""
    forces = (
        (series.F, "resultant", "solid", 2.2),
        (series.F_x, "along the feed", "dash", 1.3),
        (series.F_y, "across the feed", "dot", 1.6),
    )
    lines = [
        line(
            angle,
            N.of(F),
            dash,
            width,
            name=name,
            showlegend=True,
            hovertemplate=f"%{{y}} {N.unit} at %{{x:.0f}}°",
        )
        for F, name, dash, width in forces
    ]
    hover = f"%{{y}} {T.unit} at %{{x:.0f}}°"
    torque = line(angle, T.of(series.torque), width=1.8, yaxis="y2", hovertemplate=hover)
    return [*lines, torque]


def _forces_layout(N: Scale, T: Scale) -> dict[str, Any]:
    return {
        "xaxis": axis("turn of the cutter [°]", range=[0, 360], dtick=45, anchor="y2"),
        "yaxis": axis(f"force [{N.unit}]", domain=[0.45, 1], nticks=6),
        "yaxis2": axis(f"torque [{T.unit}]", domain=[0, 0.36], nticks=4, rangemode="tozero"),
        "showlegend": True,
        "legend": LEGEND,
    }


def _pass_text(plan: Plan, number: int, kind: PieceKind) -> str:
    """Say which pass is shown, where there are several, and that it is its end."""
    count = len(plan.result.settings.passes)
    which = "" if count == 1 else f" Pass {number} of {count}."
    return which + (" At the closed end." if kind is PieceKind.CLOSED_END else "")


def chip_over_immersion(plan: Plan, basis: Basis | None = None) -> Chart:
    """Chip thickness of every tooth where it meets metal.

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
    series = cut_series.over_immersion(basis)
    show = shower(plan)
    mm = scale("length", plan.job.job.units)
    phi = _joined([np.degrees(angles) for angles in series.phi])
    chips = [_joined([part[j] for part in series.h]) for j in range(basis.job.cutter.teeth)]
    peaks = [float(np.nanmax(h)) for h in chips]
    thickest = int(np.argmax(peaks))
    at_peak = int(np.nanargmax(chips[thickest]))
    spans = [(math.degrees(low), math.degrees(high)) for low, high in series.stretches]
    where = " and ".join(f"{low:.0f} to {high:.0f}°" for low, high in spans)
    least = _least_chip(peaks, show, show(basis.job.runout, "length"))
    rows = [i for i in thinned(phi.size, {at_peak}) if not np.isnan(phi[i])]
    data = [_chip_line(phi, h, j, j == thickest, mm) for j, h in enumerate(chips)]
    layout = _chip_layout(series, spans, HEADROOM * max(peaks) / mm.size, mm)
    return Chart(
        id="chip",
        title="Chip thickness",
        figure=style.figure(data, layout),
        use=_thin_or_thick(peaks, series.h_min),
        caption=(
            f"Grey where a tooth meets metal: {where}."
            f"{_pass_text(plan, series.number, series.kind)}{least} At 0° a tooth starts across the"
            " front of the head; 90° points along the feed."
        ),
        alt=(
            f"The thickest chip is {show(peaks[thickest], 'chip thickness')}, by tooth"
            f" {thickest + 1}.{least} Below {show(series.h_min, 'chip thickness')} the edge only"
            " rubs."
        ),
        columns=("immersion [°]", *(f"tooth {j + 1} [{mm.unit}]" for j in range(len(chips)))),
        rows=style.rows_of(rows, sig(phi, 6), *(mm.of(h) for h in chips)),
    )


def _thin_or_thick(peaks: list[float], h_min: float) -> str:
    """Say what to do with the chip of the tooth that cuts most and of the one that cuts least."""
    if max(peaks) <= h_min:
        return "No tooth gets over the dotted line: feed more, or hone the edge, or it only rubs."
    if min(peaks) <= h_min:
        return "A tooth stays under the dotted line and does not cut: bring the runout down."
    return "Keep the chip over the dotted line: under it, feed more or hone the edge."


def _joined(parts: list[Array]) -> Array:
    """Return stretches one after the other, a gap between two."""
    gap = np.array([np.nan])
    return np.concatenate([piece for part in parts for piece in (part, gap)][:-1])


def _chip_line(phi: Array, h: Array, tooth: int, thickest: bool, mm: Scale) -> dict[str, Any]:
    return line(
        sig(phi, 6),
        mm.of(h),
        DASHES[tooth % len(DASHES)],
        2.2 if thickest else 1.3,
        hovertemplate=f"tooth {tooth + 1}: %{{y}} {mm.unit} at %{{x:.0f}}°",
    )


def _chip_layout(
    series: cut_series.OverImmersion, spans: list[tuple[float, float]], high: float, mm: Scale
) -> dict[str, Any]:
    """Axes up to `high`, grey where a tooth meets metal, and the chip below which an edge rubs."""
    rubs = sig(series.h_min / mm.size)
    in_metal = spans[0][0]
    return {
        "xaxis": axis("immersion angle of the tooth [°]", range=[0, 180], dtick=30),
        "yaxis": axis(f"chip thickness [{mm.unit}]", range=[0, high], nticks=6),
        "annotations": [
            *_tooth_labels(series, high, mm.size),
            note("only rubs below", 90, rubs, yanchor="bottom"),
            note("in metal", in_metal, 1.0, yref="paper", xanchor="left", yanchor="top", xshift=4),
        ],
        "shapes": [*(_grey(low, high) for low, high in spans), _rubbing_line(rubs)],
    }


def _grey(low: float, high: float) -> dict[str, Any]:
    return {
        "type": "rect",
        "x0": low,
        "x1": high,
        "y0": 0,
        "y1": 1,
        "yref": "paper",
        "fillcolor": "#f0f0f0",
        "line": {"width": 0},
        "layer": "below",
    }


def _rubbing_line(rubs: float) -> dict[str, Any]:
    return {
        "type": "line",
        "x0": 0,
        "x1": 180,
        "y0": rubs,
        "y1": rubs,
        "line": {"color": PALE, "width": 1, "dash": "dot"},
    }


def _least_chip(peaks: list[float], show: Callable[[float, str], str], runout: str) -> str:
    """Say what runout leaves to the tooth that cuts least."""
    least = min(peaks)
    tooth = peaks.index(least) + 1
    if least == max(peaks):
        return ""
    if least > 0:
        return f" Runout of {runout} leaves tooth {tooth} at most {show(least, 'chip thickness')}."
    return f" Runout of {runout} lifts tooth {tooth} clear of the metal."


def _tooth_labels(
    series: cut_series.OverImmersion, high: float, size: float
) -> list[dict[str, Any]]:
    """Name the teeth at their thickest chip in the last stretch; those that cut alike share a
    name.
    """
    peaks = series.h[-1].max(axis=1)
    groups = _alike(peaks, ALIKE * float(max(h.max() for h in series.h)))
    last = series.phi[-1].size - 1
    at = int(np.argmax(series.h[-1][groups[0][0]]))
    free = int(at == last) - int(at == 0)  # on which side of the curve nothing is drawn
    lift = LABEL / 2 if free else LABEL
    wanted = [PLOT * (1 - float(peaks[teeth[0]]) / size / high) - lift for teeth in groups]
    places = style.spread(wanted, LABEL, LABEL / 2, PLOT - LABEL / 2)
    return [
        note(
            _teeth_text(teeth),
            sig(math.degrees(series.phi[-1][at])),
            sig(high * (1 - y / PLOT)),
            xanchor=("right", "center", "left")[free + 1],
            xshift=4 * free,
        )
        for teeth, y in zip(groups, places, strict=True)
    ]


def _alike(peaks: Array, difference: float) -> list[list[int]]:
    """Group teeth whose thickest chips differ by less, the thickest first."""
    groups: list[list[int]] = []
    for tooth in np.argsort(-peaks, kind="stable").tolist():
        if groups and peaks[groups[-1][0]] - peaks[tooth] < difference:
            groups[-1].append(tooth)
        else:
            groups.append([tooth])
    return groups


def _teeth_text(teeth: list[int]) -> str:
    numbers = ", ".join(str(tooth + 1) for tooth in sorted(teeth))
    return f"teeth {numbers}" if len(teeth) > 1 else f"tooth {numbers}"

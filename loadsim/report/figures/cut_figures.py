"""Charts of one cut: force over a turn, chip, the neck under load, load against strength."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from loadsim.answers.results import Plan
from loadsim.report.figures import basis, cut_series, style
from loadsim.report.figures.basis import Basis
from loadsim.report.figures.style import (
    DASHES,
    LABEL,
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
from loadsim.words.phrases import chance


def _pass(plan: Plan, number: int) -> str:
    of = len(plan.result.settings.passes)
    return "" if of == 1 else f" Pass {number} of {of}."


def forces_over_turn(plan: Plan, b: Basis | None = None) -> Chart:
    """Force and torque over one turn of the pass with the largest force.

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
    s = cut_series.over_turn(b or basis.basis(plan))
    show = shower(plan)
    system = plan.job.job.units
    N = scale("force", system)
    T = scale("torque", system)
    angle = sig(np.degrees(s.angle), 6)
    top = int(np.argmax(s.F))
    turned = int(np.argmax(s.torque))
    lines = (
        (s.F, "resultant", "solid", 2.2),
        (s.F_x, "along the feed", "dash", 1.3),
        (s.F_y, "across the feed", "dot", 1.6),
    )
    data = [
        line(
            angle,
            N.of(F),
            dash,
            width,
            name=name,
            showlegend=True,
            hovertemplate=f"%{{y}} {N.unit} at %{{x:.0f}}°",
        )
        for F, name, dash, width in lines
    ]
    data.append(
        line(
            angle,
            T.of(s.torque),
            width=1.8,
            yaxis="y2",
            hovertemplate=f"%{{y}} {T.unit} at %{{x:.0f}}°",
        )
    )
    layout = {
        "xaxis": axis("turn of the cutter [°]", range=[0, 360], dtick=45, anchor="y2"),
        "yaxis": axis(f"force [{N.unit}]", domain=[0.45, 1], nticks=6),
        "yaxis2": axis(f"torque [{T.unit}]", domain=[0, 0.36], nticks=4, rangemode="tozero"),
        "showlegend": True,
        "legend": {
            "orientation": "h",
            "x": 0,
            "y": 1.02,
            "yanchor": "bottom",
            "font": {"size": 11},
            "itemclick": False,
            "itemdoubleclick": False,
        },
    }
    force = show(float(s.F[top]), "force")
    torque = show(float(s.torque[turned]), "torque")
    return Chart(
        id="forces",
        title="Force and torque over one turn",
        figure=style.figure(data, layout, {"t": 30}),
        caption=(
            f"As drawn and as assumed, one turn.{_pass(plan, s.number)} Along the feed, below zero"
            f" resists it. Peak force {force}, peak torque {torque}."
        ),
        alt=(
            f"The force on the head peaks at {force}, {math.degrees(s.angle[top]):.0f} degrees into"
            f" the turn; the torque at {torque}."
        ),
        columns=(
            "turn [°]",
            f"resultant [{N.unit}]",
            f"along the feed [{N.unit}]",
            f"across the feed [{N.unit}]",
            f"torque [{T.unit}]",
        ),
        rows=style.rows_of(
            thinned(s.angle.size, {top, turned}),
            angle,
            N.of(s.F),
            N.of(s.F_x),
            N.of(s.F_y),
            T.of(s.torque),
        ),
    )


def chip_over_immersion(plan: Plan, b: Basis | None = None) -> Chart:
    """Chip thickness of every tooth where it meets metal.

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
    b = b or basis.basis(plan)
    s = cut_series.over_immersion(b)
    show = shower(plan)
    mm = scale("length", plan.job.job.units)
    phi = _joined([np.degrees(p) for p in s.phi])
    h = [_joined([part[j] for part in s.h]) for j in range(b.job.cutter.teeth)]
    peak = [float(np.nanmax(x)) for x in h]
    top = int(np.argmax(peak))
    high = 1.22 * max(peak) / mm.size
    data = [
        line(
            sig(phi, 6),
            mm.of(x),
            DASHES[j % len(DASHES)],
            2.2 if j == top else 1.3,
            hovertemplate=f"tooth {j + 1}: %{{y}} {mm.unit} at %{{x:.0f}}°",
        )
        for j, x in enumerate(h)
    ]
    rubs = sig(s.h_min / mm.size)
    spans = [(math.degrees(low), math.degrees(up)) for low, up in s.stretches]
    shapes: list[dict[str, Any]] = [
        {
            "type": "rect",
            "x0": low,
            "x1": up,
            "y0": 0,
            "y1": 1,
            "yref": "paper",
            "fillcolor": "#f0f0f0",
            "line": {"width": 0},
            "layer": "below",
        }
        for low, up in spans
    ]
    shapes.append(
        {
            "type": "line",
            "x0": 0,
            "x1": 180,
            "y0": rubs,
            "y1": rubs,
            "line": {"color": PALE, "width": 1, "dash": "dot"},
        }
    )
    notes = [
        *_tooth_labels(s, high, mm.size),
        note("only rubs below", 90, rubs, yanchor="bottom"),
        note("in metal", spans[0][0], 1.0, yref="paper", xanchor="left", yanchor="top", xshift=4),
    ]
    layout = {
        "xaxis": axis("immersion angle of the tooth [°]", range=[0, 180], dtick=30),
        "yaxis": axis(f"chip thickness [{mm.unit}]", range=[0, high], nticks=6),
        "annotations": notes,
        "shapes": shapes,
    }
    rows = [i for i in thinned(phi.size, {int(np.nanargmax(h[top]))}) if not np.isnan(phi[i])]
    where = " and ".join(f"{low:.0f} to {up:.0f}°" for low, up in spans)
    least = _least(peak, show, show(b.job.runout, "length"))
    return Chart(
        id="chip",
        title="Chip thickness",
        figure=style.figure(data, layout),
        caption=(
            f"Grey where a tooth meets metal: {where}.{_pass(plan, s.number)}{least} At 0° a tooth"
            " starts across the front of the head; 90° points along the feed."
        ),
        alt=(
            f"The thickest chip is {show(peak[top], 'chip thickness')}, by tooth {top + 1}.{least}"
            f" Below {show(s.h_min, 'chip thickness')} the edge only rubs."
        ),
        columns=("immersion [°]", *(f"tooth {j + 1} [{mm.unit}]" for j in range(len(h)))),
        rows=style.rows_of(rows, sig(phi, 6), *(mm.of(x) for x in h)),
    )


def _joined(parts: list[Any]) -> Any:
    """Return stretches one after the other, a gap between two."""
    gap = np.array([np.nan])
    return np.concatenate([x for part in parts for x in (part, gap)][:-1])


def _least(peak: list[float], show: Any, runout: str) -> str:
    """Say what runout leaves to the tooth that cuts least."""
    least = min(peak)
    tooth = peak.index(least) + 1
    if least == max(peak):
        return ""
    left = (
        f"leaves tooth {tooth} at most {show(least, 'chip thickness')}"
        if least > 0
        else f"lifts tooth {tooth} clear of the metal"
    )
    return f" Runout of {runout} {left}."


def _tooth_labels(s: cut_series.OverImmersion, high: float, size: float) -> list[dict[str, Any]]:
    """Name the teeth at their thickest chip in the last stretch; those that cut alike share a name."""
    last = s.h[-1].max(axis=1)
    top = float(max(x.max() for x in s.h))
    groups: list[list[int]] = []
    for j in np.argsort(-last, kind="stable").tolist():
        if groups and last[groups[-1][0]] - last[j] < 0.02 * top:
            groups[-1].append(j)
        else:
            groups.append([j])
    plot = style.PLOT
    at = int(np.argmax(s.h[-1][groups[0][0]]))
    # on which side of the curve nothing is drawn
    free = (1 if at == s.phi[-1].size - 1 else 0) - (1 if at == 0 else 0)
    best = [
        plot * (1 - float(last[g[0]]) / size / high) - (LABEL / 2 if free else LABEL)
        for g in groups
    ]
    found = []
    for g, y in zip(groups, style.spread(best, LABEL, LABEL / 2, plot - LABEL / 2), strict=True):
        text = ("teeth " if len(g) > 1 else "tooth ") + ", ".join(str(j + 1) for j in sorted(g))
        found.append(
            note(
                text,
                sig(math.degrees(s.phi[-1][at])),
                sig(high * (1 - y / plot)),
                xanchor=("right", "center", "left")[free + 1],
                xshift=4 * free,
            )
        )
    return found


def along_neck(plan: Plan, b: Basis | None = None) -> Chart:
    """Deflection, bending moment and nominal stress along the tool, collet at the top.

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
    s = cut_series.along_neck(b or basis.basis(plan))
    show = shower(plan)
    system = plan.job.job.units
    p = s.profile
    L = scale("length", system)
    z = L.of(p.z, 6)
    panels = [
        ("deflection", p.deflection, L),
        ("moment", p.moment, scale("torque", system)),
        ("stress", p.stress, scale("stress", system)),
    ]
    data = []
    layout = _neck_layout(p, L)
    for k, (name, v, u) in enumerate(panels):
        tail = str(k + 1) if k else ""
        data.append(
            line(
                u.of(v),
                z,
                width=2.0,
                xaxis=f"x{tail}",
                hovertemplate=f"%{{x}} {u.unit} at %{{y}} {L.unit}",
            )
        )
        layout[f"xaxis{tail}"] = axis(
            f"{name} [{u.unit}]",
            domain=[0.36 * k, 0.36 * k + 0.28],
            nticks=3,
            zeroline=True,
            zerolinecolor=PALE,
            range=[0, sig(1.06 * float(v.max()) / u.size)],
        )
    worst = int(np.argmax(np.where(s.in_neck, p.stress, 0.0)))
    bent = float(np.interp(s.load_at, p.z, p.deflection))
    peak = show(plan.result.neck.peak_stress_MPa, "stress")
    return Chart(
        id="neck",
        title="The neck under the largest force",
        figure=style.figure(data, layout, {"r": 46}),
        caption=(
            f"{show(s.force, 'force')} on the head, {show(s.load_at, 'length')} from the collet."
            f" The stress is nominal; the fillet raises it to {peak}, torsion included."
        ),
        alt=(
            f"The head bends away by {show(bent, 'length')}; the neck carries"
            f" {show(float(p.moment[worst]), 'torque')} and"
            f" {show(float(p.stress[worst]), 'stress')} nominal bending stress at its upper end."
        ),
        columns=(f"from the collet [{L.unit}]", *(f"{name} [{u.unit}]" for name, _, u in panels)),
        rows=style.rows_of(
            thinned(p.z.size, {0, worst, p.z.size - 1}), z, *(u.of(v) for _, v, u in panels)
        ),
    )


def _neck_layout(p: Any, L: style.Scale) -> dict[str, Any]:
    """Shared axis along the tool, with shank, neck and head told apart."""
    shank, head, end = (float(x) / L.size for x in (*p.fillet_positions, p.z[-1]))
    parts = [((shank + head) / 2, "neck"), ((head + end) / 2, "head")]
    if shank > 0.05 * end:
        parts.append((shank / 2, "shank"))
    return {
        "yaxis": axis(f"from the collet [{L.unit}]", range=[sig(end), 0], nticks=6),
        "annotations": [
            note(text, 1.0, sig(at), xref="paper", xanchor="left", xshift=4) for at, text in parts
        ],
        "shapes": [
            {
                "type": "line",
                "xref": "paper",
                "x0": 0,
                "x1": 1,
                "y0": sig(at),
                "y1": sig(at),
                "line": {"color": PALE, "width": 1, "dash": "dot"},
            }
            for at in (shank, head)
        ],
    }


def load_against_strength(plan: Plan, b: Basis | None = None) -> Chart:
    """How often each stress occurs, against how often such necks bear no more.

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
    s = cut_series.load_and_strength(b or basis.basis(plan))
    show = shower(plan)
    u = scale("stress", plan.job.job.units)
    x = u.of(s.stress)
    r = plan.result.risk
    data = []
    for name, y, dash in (("load", s.load, "solid"), ("strength", s.strength, "dash")):
        seen = np.flatnonzero(y > 0.003 * y.max())  # beyond that the curve lies on the axis
        part = slice(int(seen[0]), int(seen[-1]) + 1)
        data.append(
            line(x[part], sig(y[part], 4), dash, 2.2, hovertemplate=f"{name} %{{x}} {u.unit}")
        )
    odds = f"{chance(r.snap_probability)} ({_interval(r.low, r.high)}, {r.samples:,} samples)"
    medians = [show(m, "stress") for m in (s.load_median, s.strength_median)]
    return Chart(
        id="strength",
        title="Load against strength",
        figure=style.figure(data, _strength_layout(s, x, u, medians), {"l": 36}),
        caption=(
            "Peak stress at the fillet with everything that is not known for sure, against the"
            " bend strength of such necks. The neck snaps in this cut with a probability of"
            f" {odds}, fatigue and torsion counted; by these two curves alone it would be"
            f" {chance(s.fracture)}."
        ),
        alt=(
            f"In the middle of both curves the strength is {s.strength_median / s.load_median:.2g}"
            f" times the stress, {medians[1]} against {medians[0]}; snap probability {odds}."
        ),
        columns=(
            f"stress [{u.unit}]",
            "load, density in ln(stress)",
            "strength, density in ln(stress)",
        ),
        rows=style.rows_of(
            thinned(len(x), {int(np.argmax(s.load)), int(np.argmax(s.strength))}),
            x,
            sig(s.load, 4),
            sig(s.strength, 4),
        ),
    )


def _strength_layout(
    s: cut_series.LoadAndStrength, x: list[float], u: style.Scale, medians: list[str]
) -> dict[str, Any]:
    """Axes and labels; curves that stand close are labelled away from each other."""
    peak = [math.log10(x[int(np.argmax(y))]) for y in (s.load, s.strength)]
    low = math.log10(x[0])
    high = math.log10(x[-1])
    close = max(peak) - min(peak) < 0.45 * (high - low)
    pad = (0.45 if close else 0.08) * (high - low)
    notes = []
    for i, (y, text) in enumerate(((s.load, "stress at the fillet"), (s.strength, "strength"))):
        side = "center" if not close else "right" if peak[i] <= peak[1 - i] else "left"
        half = np.flatnonzero(y > 0.6 * y.max())
        # on the flank that is free
        k = {"center": int(np.argmax(y)), "right": int(half[0]), "left": int(half[-1])}[side]
        notes.append(
            note(
                f"{text}<br>half over {medians[i]}",
                sig(math.log10(x[k]), 6),
                sig(float(y[k]), 4),
                yanchor="bottom",
                yshift=3,
                align=side,
                xanchor=side,
                xshift={"center": 0, "right": -3, "left": 3}[side],
            )
        )
    top = 1.4 * max(float(s.load.max()), float(s.strength.max()))
    return {
        "xaxis": axis(
            f"stress [{u.unit}], logarithmic",
            type="log",
            range=sig([low - pad, high + pad], 6),
            tickvals=style.decades(10 ** (low - pad), 10 ** (high + pad), 5 if close else 8),
        ),
        "yaxis": axis(
            "how often", range=[0, sig(top)], showticklabels=False, ticks="", showgrid=False
        ),
        "annotations": notes,
    }


def _interval(low: float, high: float) -> str:
    return (
        f"95% between {chance(low)} and {chance(high)}"
        if high >= 1e-6
        else "with its whole 95% interval"
    )

"""The charts of a plan, in the order of the page; each can be had by itself."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from loadsim import units
from loadsim.planner import Plan
from loadsim.report import series
from loadsim.report.look import (
    DASHES, GRID, HEIGHT, INK, MARGIN, PALE, Chart, axis, end_labels, figure, line, note, pointed, scale, sig, thinned, upright,
)  # fmt: skip
from loadsim.report.series import Basis, chance, percent

#: What a shop can do about each driver of the spread.
HOW_TO_KNOW = {
    "force constants of the metal": "cut a trial slot, measure the torque or the power, and give kc11",
    "radial force": "give a radial_ratio from a trial cut",
    "edge wear": "touch up the edge before the cut",
    "steadiness of the feed": "feed evenly, or use a power feed",
    "runout": "set an indicator on the head",
    "neck diameter": "put a micrometer on the neck",
    "neck fillet": "look at the fillet under a magnifier, or with a radius gauge",
    "neck length": "measure the neck's length",
    "head height": "measure the head's height",
    "strength of the blank": "use a blank of known make and hardness",
    "fatigue strength": "use a blank of known make and hardness",
    "grinding of the neck": "grind the neck gently, along its axis",
    "chip packing": "clear the chips with air or coolant",
}
#: Of these, what a gauge or a trial cut tells: the others are worked on, not measured.
GAUGED = ("force constants of the metal", "radial force", "runout", "neck diameter", "neck fillet", "neck length", "head height")
#: Most lines of limits that are drawn over the feed.
MOST_LINES = 7


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
    b = series.basis(plan)
    stepped = series.side_span(b) > 0.05
    return (
        forces_over_turn(plan, b), chip_over_immersion(plan, b), along_neck(plan, b), limits_over_feed(plan, b),
        limits_over_neck(plan, b), feed_stepover_map(plan, b) if stepped else feed_neck_map(plan, b),
        load_against_strength(plan, b), *([drivers(plan)] if plan.result.risk.drivers else []),
    )  # fmt: skip


def _pass(plan: Plan, number: int) -> str:
    of = len(plan.result.settings.passes)
    return "" if of == 1 else f" Pass {number} of {of}."


def _shower(plan: Plan) -> Any:
    return lambda x, dimension: units.show(x, dimension, plan.job.job.units)


def forces_over_turn(plan: Plan, b: Basis | None = None) -> Chart:
    """Force and torque over one turn of the pass with the largest force."""
    b = series.basis(plan) if b is None else b
    s, show, system = series.over_turn(b), _shower(plan), plan.job.job.units
    N, T = scale("force", system), scale("torque", system)
    angle = sig(np.degrees(s.angle), 6)
    top, turned = int(np.argmax(s.F)), int(np.argmax(s.torque))
    data = [line(angle, N.of(F), dash, width, name=name, showlegend=True, hovertemplate=f"%{{y}} {N.unit} at %{{x:.0f}}°")
            for F, dash, width, name in ((s.F, "solid", 2.2, "resultant"), (s.F_x, "dash", 1.3, "along the feed"), (s.F_y, "dot", 1.6, "across the feed"))]  # fmt: skip
    data.append(line(angle, T.of(s.torque), width=1.8, yaxis="y2", hovertemplate=f"%{{y}} {T.unit} at %{{x:.0f}}°"))
    layout = {
        "xaxis": axis("turn of the cutter [°]", range=[0, 360], dtick=45, anchor="y2"),
        "yaxis": axis(f"force [{N.unit}]", domain=[0.45, 1], nticks=6), "yaxis2": axis(f"torque [{T.unit}]", domain=[0, 0.36], nticks=4),
        "showlegend": True, "legend": {"orientation": "h", "x": 0, "y": 1.02, "yanchor": "bottom", "font": {"size": 11}, "itemclick": False, "itemdoubleclick": False},
    }  # fmt: skip
    rows = thinned(s.angle.size, {top, turned})
    force, torque = show(float(s.F[top]), "force"), show(float(s.torque[turned]), "torque")
    return Chart(
        id="forces", title="Force and torque over one turn", figure=figure(data, layout, {"t": 30}),
        caption=f"As drawn and as assumed, one turn.{_pass(plan, s.number)} Along the feed, below zero resists it. Peak force {force}, peak torque {torque}.",
        alt=f"The force on the head peaks at {force}, {math.degrees(s.angle[top]):.0f} degrees into the turn; the torque at {torque}.",
        columns=("turn [°]", f"along the feed [{N.unit}]", f"across the feed [{N.unit}]", f"resultant [{N.unit}]", f"torque [{T.unit}]"),
        rows=_rows(rows, angle, N.of(s.F_x), N.of(s.F_y), N.of(s.F), T.of(s.torque)),
    )  # fmt: skip


def _rows(which: list[int], *columns: list[Any]) -> tuple[tuple[float | str, ...], ...]:
    return tuple(tuple("" if c[i] is None else c[i] for c in columns) for i in which)


def chip_over_immersion(plan: Plan, b: Basis | None = None) -> Chart:
    """Chip thickness of every tooth where it meets metal."""
    b = series.basis(plan) if b is None else b
    s, show, teeth = series.over_immersion(b), _shower(plan), b.setup.job.cutter.teeth
    mm = scale("length", plan.job.job.units)
    gap = np.array([np.nan])
    phi = np.concatenate([x for p in s.phi for x in (np.degrees(p), gap)][:-1])
    h = [np.concatenate([x for part in s.h for x in (part[j], gap)][:-1]) for j in range(teeth)]
    peak = [float(np.nanmax(x)) for x in h]
    top, least = int(np.argmax(peak)), int(np.argmin(peak))
    data = [line(sig(phi, 6), mm.of(x), DASHES[j % 6], 2.2 if j == top else 1.3, hovertemplate=f"tooth {j + 1}: %{{y}} {mm.unit} at %{{x:.0f}}°") for j, x in enumerate(h)]
    high = max(peak) / mm.size * 1.22
    bands = [{"type": "rect", "x0": math.degrees(x0), "x1": math.degrees(x1), "y0": 0, "y1": 1, "yref": "paper", "fillcolor": "#f0f0f0", "line": {"width": 0}, "layer": "below"}
             for x0, x1 in s.stretches]  # fmt: skip
    rub = {"type": "line", "x0": 0, "x1": 180, "y0": s.h_min / mm.size, "y1": s.h_min / mm.size, "line": {"color": PALE, "width": 1, "dash": "dot"}}
    words = [f"tooth {j + 1}" for j in range(teeth)]
    ends = [float(x[~np.isnan(x)][-1]) / mm.size for x in h]
    notes = [*end_labels(words, math.degrees(s.stretches[-1][1]), ends, (0.0, high), HEIGHT - MARGIN["b"] - MARGIN["t"]),
             note("only rubs below", 0, s.h_min / mm.size, xanchor="left", yanchor="bottom", xshift=2, bgcolor="white")]  # fmt: skip
    notes.append(note("in metal", math.degrees(sum(s.stretches[0]) / 2), 1.0, yref="paper", yanchor="top"))
    layout = {"xaxis": axis("immersion angle of the tooth [°]", range=[0, 180], dtick=30), "annotations": notes, "shapes": [*bands, rub],
              "yaxis": axis(f"chip thickness [{mm.unit}]", range=[0, high], nticks=6)}  # fmt: skip
    where = [i for i in thinned(phi.size, {int(np.nanargmax(h[top]))}) if not np.isnan(phi[i])]
    runout, thick = show(b.setup.runout, "length"), show(peak[top], "length")
    spans = " and ".join(f"{math.degrees(x0):.0f} to {math.degrees(x1):.0f}°" for x0, x1 in s.stretches)
    thin = "" if teeth == 1 else f" Runout of {runout} leaves tooth {least + 1} at most {show(peak[least], 'length')}."
    return Chart(
        id="chip", title="Chip thickness", figure=figure(data, layout, {"r": 64}),
        caption=f"Grey where a tooth meets metal: {spans}.{_pass(plan, s.number)}{thin} 0° is at the wall on the side where the teeth enter.",
        alt=f"The thickest chip is {thick}, by tooth {top + 1}.{thin} Below {show(s.h_min, 'length')} the edge only rubs.",
        columns=("immersion [°]", *(f"{w} [{mm.unit}]" for w in words)), rows=_rows(where, sig(phi, 6), *(mm.of(x) for x in h)),
    )  # fmt: skip


def along_neck(plan: Plan, b: Basis | None = None) -> Chart:
    """Deflection, bending moment and nominal stress along the tool, collet at the top."""
    b = series.basis(plan) if b is None else b
    s, show, system = series.along_neck(b), _shower(plan), plan.job.job.units
    p, names = s.profile, ("deflection", "moment", "stress")
    scales = tuple(scale(d, system) for d in ("length", "torque", "stress"))
    z, L = scales[0].of(p.z, 6), scales[0]
    values = (p.deflection, p.moment, p.stress)
    shank, head = (x / L.size for x in p.fillet_positions)
    end = float(p.z[-1]) / L.size
    data, layout, notes = [], {}, []
    for k, (name, v, u) in enumerate(zip(names, values, scales, strict=True), 1):
        tail = "" if k == 1 else str(k)
        data.append(line(u.of(v), z, width=2.0, xaxis=f"x{tail}", hovertemplate=f"%{{x}} {u.unit} at %{{y}} {L.unit}"))
        layout[f"xaxis{tail}"] = axis(f"{name} [{u.unit}]", domain=[(k - 1) * 0.345, (k - 1) * 0.345 + 0.31], nticks=4, rangemode="tozero",
                                      range=[0, 1.06 * float(v.max()) / u.size])  # fmt: skip
    for at, text in ((shank / 2, "shank"), ((shank + head) / 2, "neck"), ((head + end) / 2, "head")):
        notes.append(note(text, 1.0, at, xref="paper", xanchor="left", xshift=4))
    layout["yaxis"] = axis(f"from the collet [{L.unit}]", range=[end, 0], nticks=6)
    layout["annotations"] = notes if shank > 0.05 * end else notes[1:]
    layout["shapes"] = [{"type": "line", "xref": "paper", "x0": 0, "x1": 1, "y0": y, "y1": y, "line": {"color": PALE, "width": 1, "dash": "dot"}} for y in (shank, head)]
    root = int(np.flatnonzero(p.z >= p.fillet_positions[0] - 1e-9)[-1 if shank == 0 else 0])
    in_neck = (p.z >= p.fillet_positions[0] - 1e-9) & (p.z <= p.fillet_positions[1] + 1e-9) & (p.diameter == b.setup.job.cutter.neck_diameter)
    worst, bent = float(p.stress[in_neck].max()), float(np.interp(s.load_at, p.z, p.deflection))
    moment = float(p.moment[in_neck].max())
    which = thinned(p.z.size, {0, root, int(np.argmax(np.where(in_neck, p.stress, 0))), p.z.size - 1})
    return Chart(
        id="neck", title="The neck under the largest force", figure=figure(data, layout, {"r": 46}),
        caption=f"{show(s.force, 'force')} on the head, {show(s.load_at, 'length')} from the collet. The stress is nominal; the fillet raises it to "
        f"{show(plan.result.neck.peak_stress_MPa, 'stress')}, torsion included.",
        alt=f"The head bends away by {show(bent, 'length')}; the neck carries {show(moment, 'torque')} and {show(worst, 'stress')} nominal bending stress at its upper end.",
        columns=(f"from the collet [{L.unit}]", *(f"{n} [{u.unit}]" for n, u in zip(names, scales, strict=True))),
        rows=_rows(which, z, *(u.of(v) for u, v in zip(scales, values, strict=True))),
    )  # fmt: skip


def limits_over_feed(plan: Plan, b: Basis | None = None) -> Chart:
    """Utilization of the nearest limits over the feed."""
    b = series.basis(plan) if b is None else b
    s, show, f = series.over_feed(b), _shower(plan), scale("feed per tooth", plan.job.job.units)
    u, x = s.utilization[:MOST_LINES], f.of(s.f_z, 5)
    data = [line(x, sig(v, 5), DASHES[i % 6], 2.0 if s.hard[i] else 1.1, INK if s.hard[i] else "#555555", name=s.names[i],
                 hovertemplate=f"{s.names[i]}: %{{y:.2~%}} at %{{x}} {f.unit}") for i, v in enumerate(u)]  # fmt: skip
    low, high = math.log10(max(min(float(u[u > 0].min()), 0.5), 1e-3)) - 0.05, math.log10(max(float(u.max()), 1.2)) + 0.1
    mark, words = upright(x[s.chosen], f"chosen: {show(b.f_z, 'feed per tooth')}")
    full = {"type": "line", "xref": "paper", "x0": 0, "x1": 1, "y0": 1, "y1": 1, "line": {"color": INK, "width": 3}}
    ends = [math.log10(max(float(v[-1]), 10**low)) for v in u]
    notes = [words, note("capacity", 0, 0, xref="paper", xanchor="left", yanchor="bottom", xshift=2, yshift=1),
             *end_labels([f"{n} {percent(v[s.chosen])}" for n, v in zip(s.names, u, strict=False)], x[-1], ends, (low, high), HEIGHT - MARGIN["b"] - MARGIN["t"])]  # fmt: skip
    layout = {"xaxis": axis(f"feed per tooth [{f.unit}]", range=[x[0], x[-1]], nticks=6), "shapes": [full, mark], "annotations": notes,
              "yaxis": axis("used share of capacity", type="log", range=[low, high], tickformat="~%", dtick="D2" if high - low < 1.6 else 1)}  # fmt: skip
    rest = len(s.names) - len(u)
    left_out = f" {rest} more stay out: each under {percent(float(s.utilization[MOST_LINES:, s.chosen].max()))} at the chosen feed." if rest else ""
    first = f"{s.names[0]} {percent(float(u[0, s.chosen]))}"
    return Chart(
        id="limits-feed", title="Limits over the feed", figure=figure(data, layout, {"r": 138}),
        caption=f"Thick: hard limits; thin: soft ones. The figure behind each name is at the chosen feed; the scale is logarithmic.{left_out}",
        alt=f"At the chosen feed of {show(b.f_z, 'feed per tooth')} the nearest limit is {first}; {_crossing(s, u, show)}",
        columns=(f"feed per tooth [{f.unit}]", *s.names[: len(u)]),
        rows=_rows(thinned(s.f_z.size, {s.chosen}, 13), x, *(sig(v, 5) for v in u)),
    )  # fmt: skip


def _crossing(s: series.OverFeed, u: Any, show: Any) -> str:
    """Say at which feed looked at the first hard limit is over its capacity."""
    hard = [i for i in range(len(u)) if s.hard[i]]
    over = np.array([u[i] > 1 for i in hard]).any(axis=0) if hard else np.zeros(s.f_z.size, bool)
    if not over.any():
        return f"no hard limit is over capacity up to {show(float(s.f_z[-1]), 'feed per tooth')}."
    if over.all():
        return "at no feed drawn are all hard limits within capacity."
    k = int(np.argmax(over))
    name = next(s.names[i] for i in hard if u[i][k] > 1)
    return f"{name} is over capacity from {show(float(s.f_z[k]), 'feed per tooth')}."


def feed_neck_map(plan: Plan, b: Basis | None = None) -> Chart:
    """Worst hard limit over feed and neck diameter."""
    b = series.basis(plan) if b is None else b
    return _map_chart(plan, series.over_feed_and_neck(b), "neck diameter", "map-neck")


def feed_stepover_map(plan: Plan, b: Basis | None = None) -> Chart:
    """Worst hard limit over feed and stepover of the side passes."""
    b = series.basis(plan) if b is None else b
    return _map_chart(plan, series.over_feed_and_stepover(b), "stepover", "map-stepover")


def _map_chart(plan: Plan, s: series.Map, other: str, key: str) -> Chart:
    system, show = plan.job.job.units, _shower(plan)
    f, mm = scale("feed per tooth", system), scale("length", system)
    x, y, z = f.of(s.f_z), mm.of(s.other), sig(s.worst, 4)
    data: list[dict[str, Any]] = [
        {"type": "contour", "x": x, "y": y, "z": z, "contours": {"start": at, "end": at, "size": 1, "coloring": "none", "showlabels": True,
         "labelformat": ".0%", "labelfont": {"size": 11, "color": INK}}, "line": {"color": INK, "width": w, "dash": dash, "smoothing": 0},
         "showscale": False, "hoverinfo": "skip" if at != 1 else "all", "hovertemplate": f"{other} %{{y}} {mm.unit}, %{{x}} {f.unit}: %{{z:.2~%}}"}
        for at, w, dash in ((0.5, 1.1, "dot"), (0.8, 1.4, "dash"), (1.0, 2.6, "solid"))]  # fmt: skip
    over = np.argwhere(s.worst > 1)
    over = over[(over.sum(axis=1) % 2 == 0)]
    data.append({"type": "scatter", "mode": "markers", "x": [x[j] for _, j in over], "y": [y[i] for i, _ in over], "hoverinfo": "skip",
                 "marker": {"symbol": "x-thin", "size": 6, "line": {"color": PALE, "width": 1}}})  # fmt: skip
    at_x, at_y = s.chosen[0] / f.size, (s.chosen[1] or float(s.other[-1])) / mm.size
    data.append({"type": "scatter", "mode": "markers", "x": [sig(at_x)], "y": [sig(at_y)], "hoverinfo": "skip",
                 "marker": {"symbol": "circle", "size": 10, "color": INK, "line": {"color": "white", "width": 2}}})  # fmt: skip
    notes = [pointed("<b>chosen</b>", sig(at_x), sig(at_y), 0, 18 if at_y > (y[0] + y[-1]) / 2 else -18, bgcolor="white", borderpad=1)]
    avoid = (int(np.argmin(np.abs(s.f_z - s.chosen[0]))), int(np.argmin(np.abs(np.array(y) - at_y))))
    for text, area in (("safe: under 80 %", s.worst < 0.8), ("over capacity", s.worst > 1)):
        place = _middle(area, avoid)
        if place is not None:
            notes.append(note(f"<b>{text}</b>", x[place[1]], y[place[0]], bgcolor="white", borderpad=2))
    layout = {"xaxis": axis(f"feed per tooth [{f.unit}]", range=[x[0], x[-1]], nticks=6), "annotations": notes,
              "yaxis": axis(f"{other} [{mm.unit}]", range=[y[0], y[-1]], nticks=6)}  # fmt: skip
    rows, cols = thinned(len(y), (), 12), thinned(len(x), (), 7)
    here = float(s.worst[avoid[1], avoid[0]])
    return Chart(
        id=key, title=f"Feed and {other}", figure=figure(data, layout),
        caption="Used share of capacity of the hard limit that is nearest, at 50, 80 and 100 %; crosses are over capacity. Loads only, no probability; "
        "all else is kept as chosen.",
        alt=f"At the chosen feed and a {other} of {show(float(s.other[avoid[1]]), 'length')} the nearest hard limit is used to about {percent(here)}; {_extent(s, other, show)}",
        columns=(f"{other} [{mm.unit}]", *(f"at {x[j]:g} {f.unit}" for j in cols)),
        rows=tuple((y[i], *("" if z[i][j] is None else z[i][j] for j in cols)) for i in rows),
    )  # fmt: skip


def _extent(s: series.Map, other: str, show: Any) -> str:
    share = float(np.nanmean(s.worst < 0.8)) if np.isfinite(s.worst).any() else 0.0
    if share >= 1:
        return "all of the map is under 80 %."
    return f"{share:.0%} of the map is under 80 %, {float(np.nanmean(s.worst > 1)):.0%} is over capacity."


def _middle(area: Any, avoid: tuple[int, int]) -> tuple[int, int] | None:
    """Return the cell of an area that is farthest from its edge, the map's edge and the chosen point; None when it is too small."""
    inside = np.argwhere(area)
    if len(inside) < 12:
        return None
    n, m = area.shape
    border = np.argwhere(~area)
    border = np.concatenate([border, np.array([[avoid[1], avoid[0]]])])
    scale_ = np.array([1.0 / n, 0.45 / m])  # words are wide
    far = np.sqrt((((inside[:, None, :] - border[None, :, :]) * scale_) ** 2).sum(axis=2)).min(axis=1)
    edge = np.minimum(np.minimum(inside[:, 0], n - 1 - inside[:, 0]) / n, np.minimum(inside[:, 1], m - 1 - inside[:, 1]) * 0.45 / m)
    best = inside[int(np.argmax(np.minimum(far, edge)))]
    return int(best[0]), int(best[1])


def load_against_strength(plan: Plan, b: Basis | None = None) -> Chart:
    """How often each stress occurs against how often such necks bear no more."""
    b = series.basis(plan) if b is None else b
    s, show, u = series.load_and_strength(b), _shower(plan), scale("stress", plan.job.job.units)
    x, top = u.of(s.stress), 1.25 * max(float(s.load.max()), float(s.strength.max()))
    data = [line(x, sig(s.load, 4), "solid", 2.2, hovertemplate=f"load %{{x}} {u.unit}"), line(x, sig(s.strength, 4), "dash", 2.0, hovertemplate=f"strength %{{x}} {u.unit}")]
    notes = []
    for y, text, median, way in ((s.load, "stress at the fillet", s.load_median, 1), (s.strength, "strength of such necks", s.strength_median, 1)):
        i = int(np.argmax(y))
        notes.append(note(f"{text}<br>half over {show(median, 'stress')}", math.log10(x[i]), sig(float(y[i]), 4), yanchor="bottom", yshift=3 * way, align="center"))
    layout = {"xaxis": axis(f"stress [{u.unit}], logarithmic", type="log", range=[math.log10(x[0]), math.log10(x[-1])], dtick="D2"),
              "yaxis": axis("how often", range=[0, top * 1.12], showticklabels=False, ticks="", showgrid=False), "annotations": notes}  # fmt: skip
    r = plan.result.risk
    odds = f"{chance(r.snap_probability)} ({_interval(r.low, r.high)}, {r.samples:,} samples)"
    ratio = s.strength_median / s.load_median
    return Chart(
        id="strength", title="Load against strength", figure=figure(data, layout, {"l": 36}),
        caption=f"Peak stress with everything that is not known for sure, against the bend strength of such necks. The neck snaps in this cut with a probability of {odds}; "
        "that counts fatigue and torsion too.",
        alt=f"In the middle of both curves the strength is {ratio:.2g} times the stress, {show(s.strength_median, 'stress')} against {show(s.load_median, 'stress')}; snap probability {odds}.",
        columns=(f"stress [{u.unit}]", "load, density in ln(stress)", "strength, density in ln(stress)"),
        rows=_rows(thinned(len(x), {int(np.argmax(s.load)), int(np.argmax(s.strength))}), x, sig(s.load, 4), sig(s.strength, 4)),
    )  # fmt: skip


def _interval(low: float, high: float) -> str:
    return f"95 % between {chance(low)} and {chance(high)}" if high >= 1e-6 else "with its whole 95 % interval"


def drivers(plan: Plan, b: Basis | None = None) -> Chart:
    """Shares of the variance behind the snap probability, largest first."""
    found = plan.result.risk.drivers[:8]
    names, shares = [d.name for d in found][::-1], [d.share for d in found][::-1]
    first = next((d for d in found if d.name in GAUGED), None)
    data = [{"type": "bar", "orientation": "h", "x": shares, "y": names, "text": [percent(v) for v in shares], "textposition": "outside", "cliponaxis": False,
             "textfont": {"size": 11}, "marker": {"color": ["#444444" if first and n == first.name else "#bbbbbb" for n in names], "line": {"color": INK, "width": 1}},
             "hovertemplate": "%{y}: %{x:.1%}<extra></extra>"}]  # fmt: skip
    notes = [] if first is None else [note("← measure this first", first.share, first.name, xanchor="left", xshift=40)]
    layout = {"xaxis": axis("share of the variance", range=[0, max(1.25 * shares[-1], 0.3)], tickformat=".0%", nticks=6),
              "yaxis": axis("", automargin=True, showgrid=False), "bargap": 0.35, "annotations": notes}  # fmt: skip
    to_do = "" if first is None else f" Measure first: {first.name}; {HOW_TO_KNOW[first.name]}."
    return Chart(
        id="drivers", title="What the risk hangs on", figure=figure(data, layout, {"l": 10, "t": 8}),
        caption=f"Share of each uncertain input in the spread of load over strength.{to_do}",
        alt=f"The largest driver is {found[0].name} with {percent(found[0].share)}.{to_do}",
        columns=("input", "share of the variance", "what helps"), rows=tuple((d.name, d.share, HOW_TO_KNOW.get(d.name, "")) for d in found),
    )  # fmt: skip


def limits_over_neck(plan: Plan, b: Basis | None = None) -> Chart:
    """Hard limits at the job's own neck, as bars; `series.over_neck` holds the numbers for other necks in the same order.

    Trace 0 are the bars (its x is one list of "utilization"), trace 1 the words at the right (its text is one list of "text").
    """
    s, show, L = series.over_neck(plan, b), _shower(plan), scale("length", plan.job.job.units)
    own, most = s["own"], 1.5
    names = s["names"]
    data = [{"type": "bar", "orientation": "h", "x": s["utilization"][own], "y": names, "marker": {"color": "#bbbbbb", "line": {"color": INK, "width": 1}},
             "hovertemplate": "%{y}: %{x:.2~%}<extra></extra>"},
            {"type": "scatter", "mode": "text", "x": [most * 0.99] * len(names), "y": names, "text": s["text"][own], "textposition": "middle left",
             "textfont": {"size": 11, "color": INK}, "hoverinfo": "skip"}]  # fmt: skip
    full = {"type": "line", "yref": "paper", "x0": 1, "x1": 1, "y0": 0, "y1": 1, "line": {"color": INK, "width": 2.5}}
    layout = {"xaxis": axis("used share of capacity", range=[0, most], tickformat=".0%", dtick=0.25), "bargap": 0.4, "shapes": [full],
              "yaxis": axis("", automargin=True, showgrid=False, autorange="reversed"), "annotations": [note("capacity", 1, 1, yref="paper", yanchor="bottom")]}  # fmt: skip
    first, d = names[0], show(plan.job.cutter.neck_diameter, "length")
    return Chart(
        id="limits-neck", title="Hard limits over the neck", figure=figure(data, layout, {"l": 10}),
        caption=f"At the job's own neck of {d}: snap probability {s['snap_text'][own]}. A bar that runs past 150 % is cut; its number stands at the right.",
        alt=f"With a neck of {d} the nearest hard limit is {first} at {s['text'][own][0]}; from {s['labels'][0]} to {s['labels'][-1]} "
        f"the snap probability goes from {s['snap_text'][0]} to {s['snap_text'][-1]}.",
        columns=(f"neck diameter [{L.unit}]", *names, "snap probability"),
        rows=tuple((L.of([v])[0], *row, p) for v, row, p in zip(s["values"], s["utilization"], s["snap"], strict=True)),
    )  # fmt: skip


__all__ = [
    "GRID", "Chart", "along_neck", "charts", "chip_over_immersion", "drivers", "feed_neck_map", "feed_stepover_map", "forces_over_turn", "limits_over_feed",
    "limits_over_neck", "load_against_strength",
]  # fmt: skip

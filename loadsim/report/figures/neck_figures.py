"""Charts of the neck: along it under load, and its load against its strength."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from loadsim.answers.results import Plan
from loadsim.base.numbers import Array
from loadsim.mechanics.beam import Profile
from loadsim.report.figures import cut_series, style
from loadsim.report.figures.basis import Basis, basis_of
from loadsim.report.figures.style import (
    PALE,
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
from loadsim.risk.results import Risk
from loadsim.words.phrases import chance

#: Width of a panel of the neck, and from one to the next. [1]
PANEL = 0.28
PITCH = 0.36

#: Share of its peak under which a density is not drawn: it would lie on the axis. [1]
SEEN = 0.003

#: Peaks nearer than this share of the axis are labelled away from each other. [1]
CLOSE = 0.45

Panel = tuple[str, Array, Scale]  #: name, numbers, unit


def along_neck(plan: Plan, basis: Basis | None = None) -> Chart:
    """Deflection, bending moment and nominal stress along the tool, collet at the top.

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
    series = cut_series.along_neck(basis or basis_of(plan))
    show = shower(plan)
    system = plan.job.job.units
    profile = series.profile
    L = scale("length", system)
    panels = [
        ("deflection", profile.deflection, L),
        ("moment", profile.moment, scale("torque", system)),
        ("stress", profile.stress, scale("stress", system)),
    ]
    worst = int(np.argmax(np.where(series.in_neck, profile.stress, 0.0)))
    rows = thinned(profile.z.size, {0, worst, profile.z.size - 1})
    z = L.of(profile.z, 6)
    deflection = float(np.interp(series.load_at, profile.z, profile.deflection))
    moment = show(float(profile.moment[worst]), "torque")
    stress = show(float(profile.stress[worst]), "stress")
    peak = show(plan.result.neck.peak_stress_MPa, "stress")
    layout = {**_neck_layout(profile, L), **_panel_axes(panels)}
    return Chart(
        id="neck",
        title="The neck under the largest force",
        figure=style.figure(_panel_lines(panels, z, L), layout, {"r": 46}),
        caption=(
            f"{show(series.force, 'force')} on the head, {show(series.load_at, 'length')} from the"
            f" collet. The stress is nominal; the fillet raises it to {peak}, torsion included."
        ),
        alt=(
            f"The head bends away by {show(deflection, 'length')}; the neck carries {moment} and"
            f" {stress} nominal bending stress at its upper end."
        ),
        columns=(f"from the collet [{L.unit}]", *(f"{name} [{u.unit}]" for name, _, u in panels)),
        rows=style.rows_of(rows, z, *(u.of(values) for _, values, u in panels)),
    )


def _panel_lines(panels: list[Panel], z: list[float], L: Scale) -> list[dict[str, Any]]:
    return [
        line(
            u.of(values),
            z,
            width=2.0,
            xaxis=f"x{_axis_number(k)}",
            hovertemplate=f"%{{x}} {u.unit} at %{{y}} {L.unit}",
        )
        for k, (_, values, u) in enumerate(panels)
    ]


def _panel_axes(panels: list[Panel]) -> dict[str, Any]:
    return {
        f"xaxis{_axis_number(k)}": axis(
            f"{name} [{u.unit}]",
            domain=[PITCH * k, PITCH * k + PANEL],
            nticks=3,
            zeroline=True,
            zerolinecolor=PALE,
            range=[0, sig(1.06 * float(values.max()) / u.size)],
        )
        for k, (name, values, u) in enumerate(panels)
    }


def _axis_number(k: int) -> str:
    """What plotly writes behind the name of an axis; the first has none."""
    return str(k + 1) if k else ""


def _neck_layout(profile: Profile, L: Scale) -> dict[str, Any]:
    """Shared axis along the tool, with shank, neck and head told apart."""
    shank, head, end = (float(z) / L.size for z in (*profile.fillet_positions, profile.z[-1]))
    parts = [((shank + head) / 2, "neck"), ((head + end) / 2, "head")]
    if shank > 0.05 * end:
        parts.append((shank / 2, "shank"))
    return {
        "yaxis": axis(f"from the collet [{L.unit}]", range=[sig(end), 0], nticks=6),
        "annotations": [
            note(text, 1.0, sig(z), xref="paper", xanchor="left", xshift=4) for z, text in parts
        ],
        "shapes": [_border(sig(z)) for z in (shank, head)],
    }


def _border(z: float) -> dict[str, Any]:
    return {
        "type": "line",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": z,
        "y1": z,
        "line": {"color": PALE, "width": 1, "dash": "dot"},
    }


def load_against_strength(plan: Plan, basis: Basis | None = None) -> Chart:
    """How often each stress occurs, against how often such necks bear no more.

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
    series = cut_series.load_and_strength(basis or basis_of(plan))
    show = shower(plan)
    u = scale("stress", plan.job.job.units)
    stress = u.of(series.stress)
    odds = _odds(plan.result.risk)
    load = show(series.load_median, "stress")
    strength = show(series.strength_median, "stress")
    margin = f"{series.strength_median / series.load_median:.2g}"
    peaks = {int(np.argmax(series.load)), int(np.argmax(series.strength))}
    data = [
        _density_line("load", stress, series.load, "solid", u),
        _density_line("strength", stress, series.strength, "dash", u),
    ]
    return Chart(
        id="strength",
        title="Load against strength",
        figure=style.figure(data, _strength_layout(series, stress, u, (load, strength)), {"l": 36}),
        caption=(
            "Peak stress at the fillet with everything that is not known for sure, against the"
            " bend strength of such necks. The neck snaps in this cut with a probability of"
            f" {odds}, fatigue and torsion counted; by these two curves alone it would be"
            f" {chance(series.fracture)}."
        ),
        alt=(
            f"In the middle of both curves the strength is {margin} times the stress, {strength}"
            f" against {load}; snap probability {odds}."
        ),
        columns=(
            f"stress [{u.unit}]",
            "load, density in ln(stress)",
            "strength, density in ln(stress)",
        ),
        rows=style.rows_of(
            thinned(len(stress), peaks), stress, sig(series.load, 4), sig(series.strength, 4)
        ),
    )


def _density_line(
    name: str, stress: list[float], density: Array, dash: str, u: Scale
) -> dict[str, Any]:
    seen = np.flatnonzero(density > SEEN * density.max())
    part = slice(int(seen[0]), int(seen[-1]) + 1)
    hover = f"{name} %{{x}} {u.unit}"
    return line(stress[part], sig(density[part], 4), dash, 2.2, hovertemplate=hover)


def _odds(risk: Risk) -> str:
    """Write the snap probability with its interval."""
    interval = "with its whole 95% interval"
    if risk.high >= 1e-6:
        interval = f"95% between {chance(risk.low)} and {chance(risk.high)}"
    return f"{chance(risk.snap_probability)} ({interval}, {risk.samples:,} samples)"


def _strength_layout(
    series: cut_series.LoadAndStrength, stress: list[float], u: Scale, medians: tuple[str, str]
) -> dict[str, Any]:
    """Axes and labels; curves that stand close are labelled away from each other."""
    peaks = [math.log10(stress[int(np.argmax(y))]) for y in (series.load, series.strength)]
    low = math.log10(stress[0])
    high = math.log10(stress[-1])
    close = max(peaks) - min(peaks) < CLOSE * (high - low)
    pad = (0.45 if close else 0.08) * (high - low)
    load_side = strength_side = "center"
    if close:
        load_side = "right" if peaks[0] <= peaks[1] else "left"
        strength_side = "right" if peaks[1] <= peaks[0] else "left"
    load_text = f"stress at the fillet<br>half over {medians[0]}"
    strength_text = f"strength<br>half over {medians[1]}"
    top = 1.4 * max(float(series.load.max()), float(series.strength.max()))
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
        "annotations": [
            _density_label(load_text, stress, series.load, load_side),
            _density_label(strength_text, stress, series.strength, strength_side),
        ],
    }


def _density_label(text: str, stress: list[float], density: Array, side: str) -> dict[str, Any]:
    """Name a curve at its peak, or on the flank that is free."""
    upper = np.flatnonzero(density > 0.6 * density.max())
    places = {"center": int(np.argmax(density)), "right": int(upper[0]), "left": int(upper[-1])}
    i = places[side]
    return note(
        text,
        sig(math.log10(stress[i]), 6),
        sig(float(density[i]), 4),
        yanchor="bottom",
        yshift=3,
        align=side,
        xanchor=side,
        xshift={"center": 0, "right": -3, "left": 3}[side],
    )

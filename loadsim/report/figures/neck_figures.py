"""Charts of the neck: along it under load, and its load against its strength."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from loadsim.answers.results import Plan
from loadsim.base.numbers import Array
from loadsim.mechanics.beam import Profile
from loadsim.report.figures import cut_series, style
from loadsim.report.figures.basis import Basis, basis_of
from loadsim.report.figures.mode_series import Humps, governing_humps
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
from loadsim.words.phrases import chance, percent
from loadsim.words.proving import chance_by

#: Width of a panel of the neck, and from one to the next. [1]
PANEL = 0.28
PITCH = 0.36

#: Share of its peak under which a density is not drawn: it would lie on the axis. [1]
SEEN = 0.003

#: Peaks nearer than this share of the axis are labelled away from each other. [1]
CLOSE = 0.45

#: Chance to snap, over the accepted one, under which nothing need be done about it. [1]
IDLE = 0.01

Panel = tuple[str, Array, Scale]  #: name, numbers, unit


@dataclass(frozen=True, slots=True, kw_only=True)
class ModeWords:
    """How load and strength of a way to break are called."""

    name: str
    axis: str
    load: str
    strength: str
    short: str  #: the load, beside its curve


MODE_WORDS = {
    "fracture": ModeWords(
        name="fracture",
        axis="stress",
        load="Peak stress at the fillet",
        strength="the bend strength of such necks",
        short="stress at the fillet",
    ),
    "fatigue": ModeWords(
        name="fatigue",
        axis="share of the fatigue strength",
        load="The stress that comes and goes with every turn, all turns of the cut counted",
        strength="what such necks bear as often",
        short="load",
    ),
    "torsion": ModeWords(
        name="torsion",
        axis="share of the torque that snaps a neck",
        load="Peak torque",
        strength="what such necks bear",
        short="torque",
    ),
    "grab": ModeWords(
        name="table grab",
        axis="stress",
        load="Stress at the fillet if the table is grabbed through its backlash",
        strength="the bend strength of such necks",
        short="stress if grabbed",
    ),
}


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
        use=(
            "Look for cracks with a glass where the stress is largest; a larger fillet or a shorter"
            " neck is what helps there."
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
            tickvals=[0, _round_under(float(values.max()) / u.size)],
            zeroline=True,
            zerolinecolor=PALE,
            range=[0, sig(1.06 * float(values.max()) / u.size)],
        )
        for k, (name, values, u) in enumerate(panels)
    }


def _round_under(value: float) -> float:
    """Return the largest of 1, 2 and 5 times a power of ten that is not over a value."""
    decade = 10.0 ** math.floor(math.log10(value))
    return float(f"{max(k * decade for k in (1, 2, 5) if k * decade <= value * (1 + 1e-9)):g}")


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
    humps = governing_humps(basis or basis_of(plan))
    dimension = humps.dimension
    u = Scale(unit="%", size=0.01)
    if dimension is not None:
        u = scale(dimension, plan.job.job.units)
    x = u.of(humps.x)
    odds = _odds(plan.result.risk)
    load, strength = (
        percent(median) if dimension is None else shower(plan)(median, dimension)
        for median in (humps.load_median, humps.strength_median)
    )
    words = MODE_WORDS[humps.mode]
    peaks = {int(np.argmax(humps.load)), int(np.argmax(humps.strength))}
    axis_title = f"{words.axis} [{u.unit}]"
    layout = _strength_layout(humps, x, f"{axis_title}, logarithmic", words, (load, strength))
    data = [
        _density_line("load", x, humps.load, "solid", u),
        _density_line("strength", x, humps.strength, "dash", u),
    ]
    return Chart(
        id="strength",
        title=f"Load against strength: {words.name}",
        figure=style.figure(data, layout, {"l": 36}),
        use=_parting(plan),
        caption=(
            f"{words.load}, with everything that is not known for sure, against"
            f" {words.strength}. The neck snaps in this cut with a probability of {odds}:"
            f" {chance_by(plan.result.risk.modes)}. By {words.name} alone it would be"
            f" {chance(humps.chance)}."
        ),
        alt=(
            f"{words.name.capitalize()} brings most of the chance. In the middle of both curves the"
            f" strength is {humps.strength_median / humps.load_median:.2g} times the load,"
            f" {strength} against {load}; snap probability {odds}."
        ),
        columns=(axis_title, "load, density in its logarithm", "strength, likewise"),
        rows=style.rows_of(thinned(len(x), peaks), x, sig(humps.load, 4), sig(humps.strength, 4)),
    )


def _parting(plan: Plan) -> str:
    """Say what to do with the two humps."""
    if plan.result.risk.high < IDLE * plan.job.target.snap_probability:
        return "Nothing to do: the two humps stand well apart."
    return (
        "The neck snaps where the humps overlap. To part them: a thicker or shorter neck, a larger"
        " fillet, or less feed."
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
    humps: Humps, x: list[float], title: str, words: ModeWords, medians: tuple[str, str]
) -> dict[str, Any]:
    """Axes and labels; curves that stand close are labelled away from each other."""
    peaks = [math.log10(x[int(np.argmax(y))]) for y in (humps.load, humps.strength)]
    low, high = math.log10(x[0]), math.log10(x[-1])
    close = max(peaks) - min(peaks) < CLOSE * (high - low)
    pad = (0.45 if close else 0.08) * (high - low)
    load_side = strength_side = "center"
    if close:
        load_side = "right" if peaks[0] <= peaks[1] else "left"
        strength_side = "right" if peaks[1] < peaks[0] else "left"
    load_text = f"{words.short}<br>half over {medians[0]}"
    strength_text = f"strength<br>half over {medians[1]}"
    top = 1.4 * max(float(humps.load.max()), float(humps.strength.max()))
    return {
        "xaxis": axis(
            title,
            type="log",
            range=sig([low - pad, high + pad], 6),
            tickvals=style.decades(10 ** (low - pad), 10 ** (high + pad), 5 if close else 8),
        ),
        "yaxis": axis(
            "how often", range=[0, sig(top)], showticklabels=False, ticks="", showgrid=False
        ),
        "annotations": [
            _density_label(load_text, x, humps.load, load_side),
            _density_label(strength_text, x, humps.strength, strength_side),
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

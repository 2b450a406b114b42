"""The chart of the moment at the fillet over one turn: at rest, and as the neck rings."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from loadsim.answers.results import Plan
from loadsim.base.numbers import Array
from loadsim.loads.assumptions import SKEW_ADVISED
from loadsim.loads.cut import one
from loadsim.loads.neck_stress import notches, peaks
from loadsim.loads.ringing import at_the_middle, damping_of, modes_of, own_frequency, ramps_of
from loadsim.loads.turn import moment_around
from loadsim.mechanics.engagement import even_turn
from loadsim.mechanics.shock import ringing
from loadsim.report.figures import style
from loadsim.report.figures.basis import Basis, basis_of
from loadsim.report.figures.style import Chart, Scale, axis, line, scale, shower, sig, thinned
from loadsim.report.figures.turn_figures import LEGEND

#: Positions in which the cut is met, samples of the answer for each vibration, and places that are
#: drawn, each with the least and the largest in it. [1]
MET = 4096
EACH = 16
PLACES = 180

#: Rise of the moment that is worth a deed, one that is hardly any, and the least that is drawn over
#: the largest. [1]
WORTH = 0.03
LEAST = 0.01
DRAWN = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class RungTurn:
    """Moment at the shank's shoulder over a turn of the pass with the largest force."""

    angle: Array  #: turning angle of the first tooth [rad]
    rest: Array  #: [N*mm]
    straight: Array  #: edges along the axis [N*mm]
    skewed: Array  #: edges that lean by `skew` [N*mm]
    skew: float  #: as the job gives it, else what is advised [rad]


def rung_turn(basis: Basis) -> RungTurn:
    """Follow the moment over a turn, all that is not known of the ringing at its middle.

    Parameters
    ----------
    basis : Basis
        From `basis.basis_of`.

    Returns
    -------
    series : RungTurn
    """
    job = basis.job
    case = basis.cut.case
    notch = notches(case)[0]
    contacts = basis.way.contacts
    worst = max(contacts, key=lambda c: one(peaks(case, c.peak, notch).force))
    positions = even_turn(worst.section, worst.swept, job.cutter.teeth, MET)
    modes = modes_of(job)
    skew = SKEW_ADVISED if job.cutter.edge_skew is None else job.cutter.edge_skew
    middle = at_the_middle(job, skew)
    vibrations = 2 * math.pi * one(own_frequency(job, middle)) / basis.speed
    times = 2 ** max(math.ceil(math.log2(EACH * vibrations / MET)), 0)
    history = np.repeat(moment_around(case, positions, case.neck_length)[:, 0], times)
    rise, lean = (one(x) for x in ramps_of(job, worst, basis.f_z, basis.speed, middle))

    def bent(spread: float) -> tuple[Array, Array]:
        rest, rung = ringing(
            history,
            np.array(modes.ratios),
            np.array(modes.shares),
            vibrations=vibrations,
            damping=one(damping_of(middle)),
            ramps=(rise, spread),
        )
        return np.abs(rest), np.abs(rung)

    rest, straight = bent(0.0)
    _, skewed = bent(lean)
    angle = 2 * math.pi * (np.arange(2 * PLACES) + 0.5) / (2 * PLACES)
    return RungTurn(
        angle=angle, rest=_spans(rest), straight=_spans(straight), skewed=_spans(skewed), skew=skew
    )


def _use(knock: float, soft: float, lean: str, job_skew: float | None) -> str:
    """Say what to do about it."""
    if knock < WORTH:
        return "This cut hardly makes the neck ring: nothing to do."
    left = f"{soft:.0%} is left" if soft > LEAST else "hardly any of it is left"
    if job_skew is not None:
        return f"The edges lean {lean}: of {knock:.0%} with straight ones {left}."
    return (
        f"Straight edges add {knock:.0%} as the neck rings. Swivel the cutter {lean} while its"
        f" flutes are ground: {left}."
    )


def _spans(values: Array) -> Array:
    """Least and largest of each place, in the order in which they come: no needle is lost."""
    parts = np.array_split(values, PLACES)
    ends = [part[np.sort([part.argmin(), part.argmax()])] for part in parts]
    spans = np.concatenate(ends)
    step = DRAWN * values.max()
    return np.asarray(np.round(spans / step) * step)


def moment_over_turn(plan: Plan, basis: Basis | None = None) -> Chart:
    """Moment at the fillet over one turn, at rest and as the neck rings.

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
    series = rung_turn(basis)
    show = shower(plan)
    T = scale("torque", plan.job.job.units)
    lean = show(series.skew, "angle")
    tops = [float(x.max()) for x in (series.rest, series.straight, series.skewed)]
    rest, straight, skewed = (show(x, "torque") for x in tops)
    knock, soft = (x / tops[0] - 1 for x in tops[1:])
    lines = _lines(series, lean)
    angle = sig(np.degrees(series.angle), 6)
    return Chart(
        id="shock",
        title="Moment at the fillet over one turn",
        figure=style.figure(_data(angle, lines, T), _layout(T), {"t": 30}),
        use=_use(knock, soft, lean, basis.job.cutter.edge_skew),
        caption=(
            "At the shank's shoulder, in the pass with the largest force. A straight edge meets the"
            f" metal all along at once and the neck rings: {straight} instead of {rest}; with edges"
            f" {lean} askew {skewed}. How fast the force rises, how the neck rings and how soon it"
            " stops is not known and taken in the middle; nobody has measured it on such a neck."
        ),
        alt=(
            f"The moment peaks at {rest} without ringing, at {straight} with straight edges and at"
            f" {skewed} with edges {lean} askew."
        ),
        columns=("turn [°]", *(f"{name} [{T.unit}]" for _, name, _, _ in lines)),
        rows=style.rows_of(
            thinned(series.angle.size, {int(np.argmax(series.straight))}),
            angle,
            *(T.of(M) for M, _, _, _ in lines),
        ),
    )


Line: TypeAlias = tuple[Array, str, str, float]


def _lines(series: RungTurn, lean: str) -> tuple[Line, ...]:
    """Moment, name, dash and width of each line."""
    return (
        (series.straight, "edges straight", "dot", 1.2),
        (series.skewed, f"edges {lean} askew", "dash", 1.4),
        (series.rest, "without ringing", "solid", 2.2),
    )


def _data(angle: list[float], lines: tuple[Line, ...], T: Scale) -> list[dict[str, Any]]:
    return [
        line(
            angle,
            T.of(M),
            dash,
            width,
            name=name,
            showlegend=True,
            hovertemplate=f"%{{y}} {T.unit} at %{{x:.0f}}°",
        )
        for M, name, dash, width in lines
    ]


def _layout(T: Scale) -> dict[str, Any]:
    return {
        "xaxis": axis("turn of the cutter [°]", range=[0, 360], dtick=45),
        "yaxis": axis(f"moment [{T.unit}]", nticks=6, rangemode="tozero"),
        "showlegend": True,
        "legend": LEGEND,
    }

"""Charts of a metal: force on a millimetre of edge over the chip, the band of all sources and a
line for each.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from loadsim.answers.results import Plan
from loadsim.base.numbers import Array
from loadsim.base.units import System
from loadsim.materials import truth
from loadsim.materials.schema import WorkMaterial
from loadsim.materials.truth import Band, ForceSource, Kind, Truth
from loadsim.report.figures import style
from loadsim.report.figures.basis import Basis, basis_of
from loadsim.report.figures.style import Chart, axis, decades, line, sig, upright
from loadsim.report.rows.forces import (
    CHIP_UNIT,
    FORCE_UNIT,
    STRETCHED,
    chip_texts,
    chips_in,
    chips_text,
    figures,
    forces_in,
    rake_text,
    source_name,
    source_values,
)

#: Points of a curve: a straight line needs two, an edge law bends a little. [1]
POINTS = 25

#: Space that one number at the end of a line needs down the page, in pixels.
GAP = 12

#: Room beyond the ends of an axis, so that what ends there is drawn; a logarithm. [1]
EDGE = 0.02

#: Grey of the band: lighter than any line, darker than paper when printed.
SHADE = "#dedede"

#: Chip whose force the words tell. [mm]
TOLD = {"metric": 0.01, "inch": truth.CHIPS["inch"][1]}

TITLES: dict[Kind, str] = {
    "tangential": "Tangential force on the edge, by source",
    "radial": "Radial force on the edge, by source",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawn:
    """What one chart draws: curves over many chips, and the table at a few."""

    kind: Kind
    system: System
    curves: Truth  #: over as many chips as a curve has points
    table: Truth  #: at the chips that are told

    def band(self, whose: Truth) -> Band:
        return whose.forces.tangential if self.kind == "tangential" else whose.forces.radial

    def sources(self, whose: Truth) -> list[tuple[int, ForceSource]]:
        """This force's sources, numbered as in every list of the metal."""
        return [(n, s) for n, s in enumerate(whose.sources, 1) if s.kind == self.kind]


def metal_charts(
    material: WorkMaterial, system: System, chip: float | None = None, note: str = ""
) -> tuple[Chart, ...]:
    """Draw the tangential and the radial force of a metal with every source of them.

    Parameters
    ----------
    material : WorkMaterial
        As loaded.
    system : {"metric", "inch"}
        Units.
    chip : float, optional
        Thickest chip of a job's cut, to be marked. [mm]
    note : str
        A sentence for the captions.

    Returns
    -------
    charts : tuple of Chart
    """
    table = truth.truth_of(material, system)
    h = _chips_of_curves(table)
    curves = Truth(
        system=system, forces=truth.forces(material, h), sources=truth.sources_of(material, h)
    )
    kinds: tuple[Kind, ...] = ("tangential", "radial")
    return tuple(
        _chart(_Drawn(kind=kind, system=system, curves=curves, table=table), chip, note)
        for kind in kinds
    )


def forces_of_plan(plan: Plan, basis: Basis | None = None) -> tuple[Chart, ...]:
    """Draw the forces of a plan's metal, with the thickest chip of its cut.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.
    basis : Basis, optional
        From `basis.basis_of`, when it is at hand.

    Returns
    -------
    charts : tuple of Chart
    """
    basis = basis or basis_of(plan)
    work = plan.job.work
    own = work.kc11 is not None or work.radial_ratio is not None
    note = "This job has force constants of its own in [work], which count instead." if own else ""
    return metal_charts(basis.job.work, plan.job.job.units, plan.result.loads.peak_chip_mm, note)


def _chart(drawn: _Drawn, chip: float | None, note: str) -> Chart:
    unit = FORCE_UNIT[drawn.system]
    chips = (f"{text} {CHIP_UNIT[drawn.system]}" for text in chip_texts(drawn.table))
    return Chart(
        id=f"force-{drawn.kind}",
        title=TITLES[drawn.kind],
        use=(
            "If a test cut of your own reads outside the grey, trust your cut: record it, and the"
            " answer moves to it."
        ),
        caption=_caption(drawn, note),
        alt=_alt(drawn),
        columns=(f"line [{unit}]", *chips, "how read", "source", "measured at"),
        rows=(
            *_pool_rows(drawn),
            *(_source_row(n, s, drawn.system) for n, s in drawn.sources(drawn.table)),
        ),
        figure=_figure(drawn, chip),
    )


def _chips_of_curves(table: Truth) -> Array:
    """Chips from the thinnest told to the thickest; among them those where a range ends."""
    thin, thick = table.forces.h[[0, -1]].tolist()
    ends = {end for source in table.sources for end in (source.h_lo, source.h_hi)}
    inside = [end for end in ends if thin < end < thick]
    return np.unique(np.concatenate([np.geomspace(thin, thick, POINTS), inside]))


def _pool_rows(drawn: _Drawn) -> list[tuple[str, ...]]:
    """Median and band of all sources, and for the radial force those of the resultant."""
    forces = drawn.table.forces
    names = [("all sources", drawn.band(drawn.table))]
    if drawn.kind == "radial":
        names.append(("both together", forces.resultant))
    return [row for name, band in names for row in _band_rows(name, band, drawn.system)]


def _band_rows(name: str, band: Band, system: System) -> list[tuple[str, ...]]:
    ends = (
        (name, band.median, 3),
        ("one in twenty under", band.low, 2),
        ("one in twenty over", band.high, 2),
    )
    return [
        (label, *(figures(x, count) for x in forces_in(force, system)), "", "", "")
        for label, force, count in ends
    ]


def _source_row(number: int, source: ForceSource, system: System) -> tuple[str, ...]:
    where = f"{chips_text(source, system)}, {rake_text(source)}"
    name = f"{number} {source_name(source)}"
    return (name, *source_values(source, system), source.mark, source.source, where)


def _figure(drawn: _Drawn, chip: float | None) -> Any:
    system = drawn.system
    x = chips_in(drawn.curves.forces.h, system)
    band = drawn.band(drawn.curves)
    sources = drawn.sources(drawn.curves)
    data = [
        _shade(x, band, system),
        *(trace for number, source in sources for trace in _source_lines(number, source, drawn)),
        line(sig(x), sig(forces_in(band.median, system)), width=3.2, hovertemplate=_hover("all")),
    ]
    return style.figure(data, _layout(drawn, sources, chip), {"r": 40})


def _shade(x: Array, band: Band, system: System) -> dict[str, Any]:
    """The band, as one grey area round which a line runs."""
    around = np.concatenate([forces_in(band.high, system), forces_in(band.low, system)[::-1]])
    area = line(sig(np.concatenate([x, x[::-1]])), sig(around), width=0)
    return {**area, "fill": "toself", "fillcolor": SHADE, "hoverinfo": "skip"}


def _source_lines(number: int, source: ForceSource, drawn: _Drawn) -> list[dict[str, Any]]:
    """One source's line: solid where it measured, dotted where it does not say, dashed beyond."""
    h = drawn.curves.forces.h
    within = "dot" if source.silent else "solid"
    parts = (
        (h <= source.h_lo, "dash"),
        ((h >= source.h_lo) & (h <= source.h_hi), within),
        (h >= source.h_hi, "dash"),
    )
    x = chips_in(h, drawn.system)
    y = forces_in(source.force, drawn.system)
    hover = _hover(f"line {number}")  # no text of a shop's own file: charts read markup in it
    return [
        line(sig(x[part]), sig(y[part]), dash, 1.0, hovertemplate=hover)
        for part, dash in parts
        if part.sum() > 1
    ]


def _hover(name: str) -> str:
    return f"{name}: %{{y:.3g}} at %{{x:.3g}}<extra></extra>"


def _layout(
    drawn: _Drawn, sources: list[tuple[int, ForceSource]], chip: float | None
) -> dict[str, Any]:
    """Both axes logarithmic; a number at the end of every line."""
    system = drawn.system
    x = np.log10(chips_in(drawn.curves.forces.h, system))
    band = drawn.band(drawn.curves)
    drawn_forces = [band.low, band.high, *(source.force for _, source in sources)]
    y = np.log10(forces_in(np.array(drawn_forces), system))
    span = (float(y.min()) - EDGE, float(y.max()) + EDGE)
    ends = np.log10(forces_in(np.array([s.force[-1] for _, s in sources]), system)).tolist()
    numbers = [str(number) for number, _ in sources]
    marks = style.end_labels(numbers, float(x[-1]), ends, span, GAP)
    layout = {
        "xaxis": _log_axis(f"chip [{CHIP_UNIT[system]}]", (float(x[0]), float(x[-1]) + EDGE)),
        "yaxis": _log_axis(f"{drawn.kind} force [{FORCE_UNIT[system]}]", span),
        "annotations": marks,
    }
    if chip is not None and x[0] <= math.log10(chips_in(np.array(chip), system)) <= x[-1]:
        shape, words = upright(sig(float(chips_in(np.array(chip), system))), "this cut")
        layout["shapes"] = [shape]
        layout["annotations"] = [*marks, {**words, "x": math.log10(shape["x0"])}]
    return layout


def _log_axis(title: str, span: tuple[float, float]) -> dict[str, Any]:
    ticks = decades(10 ** span[0] * (1 - 1e-9), 10 ** span[1] * (1 + 1e-9))
    return axis(
        title, type="log", range=sig(span), tickvals=ticks, ticktext=[f"{t:g}" for t in ticks]
    )


def _caption(drawn: _Drawn, note: str) -> str:
    whose = (
        " A source says a share of the tangential force: its line is that share of the median."
        if drawn.kind == "radial"
        else ""
    )
    return (
        "Sharp edge, rake as measured. Thick: all sources; grey: nine cuts in ten. Thin: one source"
        " each, numbered as in the table; solid where it was measured, dotted where it does not say"
        f" at which chips, dashed ({STRETCHED} in the table) where it is stretched.{whose}"
        + (f" {note}" if note else "")
    )


def _alt(drawn: _Drawn) -> str:
    """The force at a thin chip and at the thickest, and how many sources measured there."""
    sources = [source for _, source in drawn.sources(drawn.table)]
    thin = drawn.table.forces.h.tolist().index(TOLD[drawn.system])
    measured = sum(not source.stretched[thin] for source in sources)
    texts = [_told(drawn, place) for place in (thin, -1)]
    return (
        f"{drawn.kind.capitalize()} force {' and '.join(texts)}; sources measured at the first of"
        f" these chips: {measured} of {len(sources)}."
    )


def _told(drawn: _Drawn, place: int) -> str:
    band = drawn.band(drawn.table)
    ends = ((band.median, 3), (band.low, 2), (band.high, 2))
    median, low, high = (
        figures(float(forces_in(force, drawn.system)[place]), count) for force, count in ends
    )
    chip = f"{chip_texts(drawn.table)[place]} {CHIP_UNIT[drawn.system]}"
    return f"{median} {FORCE_UNIT[drawn.system]} at {chip} (nine cuts in ten: {low} to {high})"

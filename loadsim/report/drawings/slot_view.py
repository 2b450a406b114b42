"""The section of the slot across the feed, with the cutter standing in it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loadsim.answers.results import Settings
from loadsim.job.tables import Job
from loadsim.loads.resolve import resolve
from loadsim.loads.resolved_job import ResolvedJob
from loadsim.report.drawings import svg
from loadsim.report.drawings.marks import (
    APART,
    CAPTION,
    EDGE,
    OFF,
    REACH,
    ROW,
    Box,
    both,
    caption,
    said,
    width_of,
    zigzag,
)
from loadsim.report.drawings.outlines import head_outline, holes_of, silhouette, slot_outline
from loadsim.report.drawings.svg import Label, Paper, View

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Slot:
    """What the section shows, gathered once."""

    s: ResolvedJob
    settings: Settings
    axis: float  #: offset of the first pass [mm]
    level: float  #: of its head [mm]
    low: float  #: least offset of all passes [mm]
    high: float  #: largest [mm]
    busy: int  #: side with the undercut, where most is dimensioned

    @property
    def neck_gaps(self) -> Point:
        """Neck to throat wall, low and high side, each at the pass that comes nearest. [mm]"""
        half = self.s.cutter.neck_diameter / 2
        return (
            self.low - half - self.s.section.throat_low,
            self.s.section.throat_high - self.high - half,
        )

    @property
    def roof_gap(self) -> float:
        """Head to the undercut's roof, first pass. [mm]"""
        return self.s.slot.undercut_height - self.level - self.s.head.height

    @property
    def shoulder(self) -> float:
        """Height of the shank's shoulder over the surface, first pass. [mm]"""
        return self.level + self.s.head.height + self.s.cutter.neck_length - self.s.slot.depth

    @property
    def shank_fouls(self) -> bool:
        """Whether the shank runs into the stock: its shoulder is below the surface, and it is too
        wide for the throat.
        """
        half = self.s.cutter.shank_diameter / 2
        return self.shoulder < 0 and (
            self.low - half < self.s.section.throat_low
            or self.high + half > self.s.section.throat_high
        )

    @property
    def shallow(self) -> bool:
        """Whether the throat slot was milled less deep than the undercut's floor."""
        return self.s.section.throat_floor > 1e-9

    def labels(self, side: int) -> dict[str, tuple[str, ...]]:
        """Lettering beside the section, top to bottom."""
        job, (low, high) = self.s.written, self.neck_gaps
        near = high if side > 0 else low
        gap = ("neck gap" if near >= 0 else "neck fouls", *both(near, job))
        if side == self.busy:
            shank = ("shank fouls" if self.shank_fouls else "shank gap", *both(self.shoulder, job))
            return {
                "shank": shank,
                "neck": gap,
                "roof": ("roof gap", *both(self.roof_gap, job)),
                "height": both(job.slot.undercut_height, job),
            }
        found = {"neck": gap, "depth": both(job.slot.depth, job)}
        if self.settings.predrill:
            found["holes"] = both(
                self.settings.predrill["diameter_mm"], job, f"{self.settings.predrill['count']} × Ø"
            )
        if self.shallow:
            found["throat"] = (
                "throat milled",
                *both(job.slot.depth - self.s.section.throat_floor, job),
            )
        return found


def slot_section(
    job: Job, settings: Settings, *, box: Box = (85.0, 70.0), id: str = "slot-section"
) -> str:
    """Draw the slot across the feed, seen against it, with the cutter standing in it.

    Parameters
    ----------
    job : Job
        The job.
    settings : Settings
        Passes and end holes, from the answer to this job.
    box : (float, float)
        Width and greatest height of the drawing on paper. [mm]
    id : str
        Of the drawing on the page.

    Returns
    -------
    svg : str

    Raises
    ------
    ValueError
        If the box is too small for any standard scale.
    """
    offsets = [p["offset_mm"] for p in settings.passes]
    d = _Slot(
        s=resolve(job),
        settings=settings,
        axis=offsets[0],
        level=settings.passes[0]["height_mm"],
        low=min(offsets),
        high=max(offsets),
        busy=-1 if job.slot.sides == 2 else 1,
    )
    name, scale = svg.fitting(lambda k: _slot_height(d, k, box[0]) <= box[1])
    sheet = Paper(width=box[0], height=_slot_height(d, scale, box[0]))
    columns = (
        width_of([*d.labels(-1).values()]) + EDGE,
        sheet.width - width_of([*d.labels(1).values()]) - EDGE,
    )
    low, high = _slot_span(d, scale)
    bottom = sheet.height - CAPTION - 2 * ROW - APART
    spare = bottom - _slot_view_height(d, scale)
    room = (columns[1] - columns[0] - 2 * (REACH + OFF) - (high - low)) / 2
    inset = max(room - 5.0, 0.0)  # a wide sheet keeps its lettering by the view
    columns = columns[0] + inset, columns[1] - inset
    view = View(
        x=(columns[0] + columns[1] - low - high) / 2, y=bottom - 4.0 - 0.4 * spare, scale=scale
    )
    edges = view.x + low - min(room, 5.0), view.x + high + min(room, 5.0)
    _draw_stock(sheet, d, view, edges, bottom)
    _draw_cutter_in_slot(sheet, d, view)
    _gap_dimensions(sheet, d, view, columns, edges, bottom)
    _width_rows(sheet, d, view, bottom)
    caption(
        sheet,
        f"scale {name}, seen against the feed"
        + ("", ", one end closed", ", both ends closed")[2 - job.slot.open_ends],
    )
    return svg.finish(
        sheet,
        id,
        "Section of the slot across the feed, with the cutter at its first pass",
        _slot_words(d, name),
    )


def _slot_span(d: _Slot, scale: float) -> Point:
    """Least extent of the stock drawn, left and right of the centre line, on paper. [mm]"""
    shank = d.s.cutter.shank_diameter / 2
    return min(d.s.side_low * scale - 2, (d.axis - shank) * scale - 4), max(
        d.s.side * scale + 2, (d.axis + shank) * scale + 4
    )


def _slot_view_height(d: _Slot, scale: float) -> float:
    return 2.0 + max(d.shoulder * scale, 0.0) + 7.0 + d.s.slot.depth * scale + 4.0


def _slot_height(d: _Slot, scale: float, width: float) -> float:
    """Height that the whole section needs at a scale, infinite when it is too wide. [mm]"""
    left = [*d.labels(-1).values()]
    right = [*d.labels(1).values()]
    low, high = _slot_span(d, scale)
    if high - low + width_of(left) + width_of(right) + 2 * (EDGE + REACH + OFF) > width:
        return math.inf
    tall = max(
        _slot_view_height(d, scale), svg.column_height(left) + 1, svg.column_height(right) + 1
    )
    return tall + 2 * ROW + APART + CAPTION


def _draw_stock(sheet: Paper, d: _Slot, view: View, edges: Point, bottom: float) -> None:
    slot = d.s.slot
    outline = [view.at(y, z) for y, z in slot_outline(d.s)]
    surface = view.at(0, slot.depth)[1]
    left = (edges[0], surface)
    right = (edges[1], surface)
    low = [(edges[1], bottom), (edges[0], bottom)]
    svg.hatch(sheet, [[left, *outline, right, *low]], part="hatch")
    svg.path(sheet, outline, "outline", part="slot")
    for a, b in ((left, outline[0]), (outline[-1], right)):
        svg.path(sheet, [a, b], "outline")
    for a, b in ((left, low[1]), (right, low[0]), (low[1], low[0])):
        svg.path(sheet, zigzag(a, b))


def _draw_cutter_in_slot(sheet: Paper, d: _Slot, view: View) -> None:
    slot = d.s.slot
    cutter = d.s.cutter
    top = slot.depth + max(d.shoulder, 0.0) + 7.0 / view.scale
    around = [view.at(y, z) for y, z in silhouette(d.s, d.axis, d.level, top)]
    svg.path(sheet, around, "none", fill="#fff", close=True)
    svg.path(sheet, around, "outline", part="cutter")
    svg.path(sheet, zigzag(around[0], around[-1]))
    for p in d.settings.passes[1:]:
        axis = p["offset_mm"]
        level = p["height_mm"]
        svg.path(
            sheet,
            [view.at(y, z) for y, z in head_outline(d.s, axis, level)],
            "dashed",
            part="other-pass",
            close=True,
        )
        if axis != d.axis:
            for side in (-1, 1):
                y = axis + side * cutter.neck_diameter / 2
                svg.path(
                    sheet, [view.at(y, level + d.s.head.height), view.at(y, slot.depth)], "dashed"
                )
    if d.shallow:
        z = d.s.section.throat_floor
        svg.path(
            sheet,
            [view.at(d.s.section.throat_low, z), view.at(d.s.section.throat_high, z)],
            "dashed",
            part="throat-floor",
        )
    for h in holes_of(d.settings):
        x, y = view.at(h.offset, h.height)
        r = h.diameter / 2 * view.scale
        svg.circle(sheet, (x, y), r, "outline", part="hole")
        svg.path(sheet, [(x - r - 1.2, y), (x + r + 1.2, y)], "chain", part="centre-mark")
        svg.path(sheet, [(x, y - r - 1.2), (x, y + r + 1.2)], "chain", part="centre-mark")
    (x, low), (_, high) = view.at(d.axis, d.level), view.at(d.axis, top)
    svg.path(sheet, [(x, high - 1.8), (x, low + 2.2)], "chain", part="centre-line")


def _gap_dimensions(
    sheet: Paper, d: _Slot, view: View, columns: Point, edges: Point, bottom: float
) -> None:
    """Dimension clearances and heights, with their lettering in the two columns."""
    for side in (-1, 1):
        column = columns[0] if side < 0 else columns[1]
        edge = edges[0] if side < 0 else edges[1]
        words = d.labels(side)
        leads = (
            _busy_leads(sheet, d, view, edge)
            if side == d.busy
            else _quiet_leads(sheet, d, view, edge)
        )
        svg.column(
            sheet,
            [
                Label(
                    lines=words[k], leader=lead, wanted=lead[-1][1], arrow=k in ("throat", "holes")
                )
                for k, lead in leads.items()
            ],
            column,
            side,
            1.0,
            bottom,
        )


def _neck_gap(sheet: Paper, d: _Slot, view: View, side: int) -> Point:
    """Dimension the gap between neck and throat wall on a side; returns where its leader leaves the
    wall.
    """
    slot = d.s.slot
    half = d.s.cutter.neck_diameter / 2
    neck, wall = (
        (d.low - half, d.s.section.throat_low)
        if side < 0
        else (d.high + half, d.s.section.throat_high)
    )
    z = slot.undercut_height + 0.7 * (slot.depth - slot.undercut_height)
    svg.dimension(
        sheet,
        view.at(neck, z),
        view.at(wall, z),
        f"neck-gap-{'low' if side < 0 else 'high'}-across",
        3.0,
    )
    return view.at(wall, z)


def _busy_leads(sheet: Paper, d: _Slot, view: View, edge: float) -> dict[str, tuple[Point, ...]]:
    slot = d.s.slot
    side = d.busy
    cutter = d.s.cutter
    line = edge + side * OFF
    shank = view.at(d.axis + side * cutter.shank_diameter / 2, slot.depth + d.shoulder)
    x = shank[0] + side * 2.2
    surface = view.at(0, slot.depth)[1]
    svg.extension(sheet, shank, (x, shank[1]))
    svg.dimension(sheet, (x, shank[1]), (x, surface), "shank-gap", 3.0)
    over = min(shank[1], surface) - 3.0
    wall = _neck_gap(sheet, d, view, side)
    throat = side * slot.throat_width / 2
    far = d.s.side if side > 0 else d.s.side_low
    roof = view.at((throat + far) / 2, slot.undercut_height)
    top = view.at((throat + far) / 2, d.level + d.s.head.height)
    svg.dimension(sheet, top, roof, "roof-gap", 3.4)
    floor = view.at(far, 0)
    for z in (roof[1], floor[1]):
        svg.extension(sheet, (floor[0], z), (line, z))
    svg.dimension(sheet, (line, roof[1]), (line, floor[1]), "undercut-height", 3.0)
    out = line + side * 0.8
    return {
        "shank": ((x, over), (out, over)),
        "neck": (wall, (out, wall[1])),
        "roof": ((roof[0], roof[1] - 3.4), (out, roof[1] - 3.4)),
        "height": ((line, (roof[1] + floor[1]) / 2),),
    }


def _quiet_leads(sheet: Paper, d: _Slot, view: View, edge: float) -> dict[str, tuple[Point, ...]]:
    slot = d.s.slot
    side = -d.busy
    line = edge + side * OFF
    surface = view.at(0, slot.depth)[1]
    wall = _neck_gap(sheet, d, view, side)
    shank = view.at(d.axis + side * d.s.cutter.shank_diameter / 2, 0)[0]
    corner = shank + side * 1.2 if side * (shank - wall[0]) > 0 else wall[0] + side * 1.2
    floor = view.at(d.s.side if side > 0 else d.s.side_low, 0)
    svg.extension(sheet, (edge, surface), (line, surface))
    svg.extension(sheet, floor, (line, floor[1]))
    svg.dimension(sheet, (line, surface), (line, floor[1]), "depth")
    neck: tuple[Point, ...] = (wall, (corner, wall[1]), (corner + side * 2, surface - 3))
    if side * (shank - wall[0]) < -4:  # the way up is free inside the throat
        neck = ((wall[0] - side * 2, wall[1]), (wall[0] + side * 0.5, surface - 3))
    leads = {"neck": neck, "depth": ((line, (surface + floor[1]) / 2),)}
    under = floor[1] + 1.6
    holes = holes_of(d.settings)
    if holes:
        h = max(holes, key=lambda h: side * h.offset)
        x, y = view.at(h.offset, h.height)
        r = h.diameter / 2 * view.scale
        leads["holes"] = (
            (x + side * 0.5 * r, y + math.sqrt(3) / 2 * r),
            (x + side * (r + 1), under),
            (line, under),
        )
    if d.shallow:
        start = view.at(side * slot.throat_width * 0.3, d.s.section.throat_floor)
        leads["throat"] = (start, (start[0] + side * 3, under + 1), (line, under + 1))
    return leads


def _width_rows(sheet: Paper, d: _Slot, view: View, bottom: float) -> None:
    slot = d.s.slot
    half = d.s.slot.throat_width / 2
    low = view.at(d.s.side_low, 0)
    high = view.at(d.s.side, 0)
    roof = view.at(0, slot.undercut_height)[1]
    text_x = high[0] + 2.0
    y = bottom + APART + ROW / 2
    plain = low[1] if slot.sides == 1 else roof
    svg.across(
        sheet,
        y,
        (view.at(-half, 0)[0], view.at(half, 0)[0]),
        (plain, roof),
        both(slot.throat_width, d.s.written),
        text_x,
        "throat-width",
    )
    svg.across(
        sheet,
        y + ROW,
        (low[0], high[0]),
        (low[1], high[1]),
        both(slot.undercut_width, d.s.written),
        text_x,
        "undercut-width",
    )


def _slot_words(d: _Slot, scale: str) -> str:
    job, slot, (low, high) = d.s.written, d.s.slot, d.neck_gaps
    kind = "T-shaped slot" if slot.sides == 2 else "slot undercut on one side"
    ends = ("both ends closed", "one end open", "both ends open")[slot.open_ends]
    words = [
        (
            f"Scale {scale}. {kind}, {said(slot.length, job)} long, {ends}: throat"
            f" {said(slot.throat_width, job)} wide, undercut {said(slot.undercut_width, job)} wide"
            f" and {said(slot.undercut_height, job)} high, depth {said(slot.depth, job)}."
        ),
        (
            f"Neck to throat wall at the nearest pass: {said(low, job)} on the low side,"
            f" {said(high, job)} on the high side. Head to undercut roof: {said(d.roof_gap, job)}."
            f" Shank shoulder over the surface: {said(d.shoulder, job)}."
        ),
    ]
    words += [
        f"The {part} runs into the stock."
        for part, bad in (("neck", min(low, high) < 0), ("shank", d.shank_fouls))
        if bad
    ]
    if d.shallow:
        words.append(
            f"The throat slot was milled {said(slot.depth - d.s.section.throat_floor, job)} deep."
        )
    if d.settings.predrill:
        words.append(
            f"{d.settings.predrill['count']} end holes of"
            f" {said(d.settings.predrill['diameter_mm'], job)} diameter."
        )
    others = len(d.settings.passes) - 1
    if others:
        words.append(
            f"The positions of {others} other pass{'es' if others > 1 else ''} are dashed."
        )
    return " ".join(words)

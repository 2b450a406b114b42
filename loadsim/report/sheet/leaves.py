"""How many sheets of paper the traveler takes, and which steps stand on which.

A browser breaks pages where it likes; so that each sheet can say which of how many it is, the
lettering is measured here, at the narrower of Letter and A4 and the shorter of the two.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from loadsim.report.drawings.svg import text_width
from loadsim.report.sheet.blanks import Blank
from loadsim.report.sheet.steps import StepRow

T = TypeVar("T")

#: Width and height that both Letter and A4 have within their margins. [mm]
WIDE = 190.0
TALL = 265.0

#: Millimetres of a point.
PT = 25.4 / 72

#: From line to line over the size of the lettering; bold over plain lettering. [1]
LEADING = 1.12
BOLD = 1.1

#: Sizes of lettering on paper, as in the style sheet. [mm]
LARGE = 11 * PT
SMALL = 7.5 * PT
BOX = 7 * PT
SETTING = 12 * PT
VERDICT = 16 * PT
TITLE = 10.5 * PT

#: Height of a heading; of a caption in a box; of the signatures. [mm]
HEADING = 4.7
CAPTION = 2.4
SIGN = 9.0

#: Columns of the step table, less their padding: words, and what may lie beside them. [mm]
WORDS = 74.0
DIALS = 36.0
FEED = 32.0
LOOK = 32.0

#: Columns of the heading, of the set-up and of what is measured, and from one to the next. [mm]
HEADER_COLUMNS = 6
SET_UP_COLUMNS = 4
MEASURED_COLUMNS = 3
GAP = 3.2

#: What the test cut is headed with.
CUT_HEAD = "Test cut on scrap"

#: Beside the drawings, which are so wide. [mm]
DRAWING = 88.0
LEFT = WIDE - DRAWING - 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What stands on the first sheet, over the steps."""

    title: str
    header: tuple[tuple[str, str], ...]
    verdict: str
    verdict_lines: tuple[str, ...]
    settings: tuple[tuple[str, str], ...]  #: the three that are dialled
    also_set: tuple[str, ...]
    remedies: tuple[str, ...]  #: when there is nothing to run
    dials: str  #: how the dials of the steps are meant

    @property
    def height(self) -> float:
        """On paper. [mm]"""
        three, others_set = self.settings[:3], self.settings[3:]
        wide = sum(text_width(text, SETTING) * BOLD + 6 for _, text in three)
        first, *others = self.verdict_lines
        mark = text_width(self.verdict, VERDICT) * BOLD + 5
        said = [lines(first, WIDE - 8, LARGE, mark), *(lines(x, WIDE - 8, LARGE) for x in others)]
        return (
            lines(self.title, WIDE, TITLE * BOLD) * TITLE * 1.2
            + 1
            + sum(_row(row) for row in _by(self.header, HEADER_COLUMNS))
            + 3.7
            + VERDICT * LEADING
            + (sum(said) - 1) * LARGE * LEADING
            + 0.6 * len(said)
            + HEADING
            + CAPTION
            + math.ceil(wide / WIDE) * SETTING * LEADING
            + sum(CAPTION + _paragraph(text, WIDE - 4, SETTING * BOLD) for _, text in others_set)
            + _paragraph("; ".join(self.also_set), WIDE)
            + (HEADING if self.remedies else 0.0)
            + sum(_paragraph(x, WIDE - 7, LARGE) for x in self.remedies)
            + (HEADING if self.dials else 0.0)
            + _paragraph(self.dials, WIDE)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Foot:
    """What stands on the last sheet, under the steps."""

    set_up: tuple[Blank, ...]
    measured: tuple[Blank, ...]
    fine: tuple[str, ...]  #: sound, limits and scale, in one paragraph
    cautions: tuple[str, ...]
    test_cut: str
    proving: tuple[str, ...]
    drawn: float = field(default=120.0)  #: height of the drawings [mm]

    @property
    def height(self) -> float:
        """On paper. [mm]"""
        left = (
            (_paragraph(f"{CUT_HEAD} {self.test_cut}", LEFT) if self.test_cut else 0.0)
            + sum(_paragraph(line, LEFT) for line in self.proving)
            + _boxes(self.set_up, SET_UP_COLUMNS)
            + _boxes(self.measured, MEASURED_COLUMNS)
            + sum(lines(line, LEFT - 7, SMALL) for line in self.cautions) * SMALL * LEADING
            + 4
        )
        under = _paragraph(" ".join(self.fine), WIDE)
        return max(left, self.drawn + 0.5) + under + SIGN


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaf:
    """One sheet of paper."""

    number: int
    of: int
    steps: tuple[StepRow, ...]
    first: bool  #: has the heading, the verdict and the settings
    last: bool  #: has what is filled in


def lines(text: str, width: float, size: float, start: float = 0.0) -> int:
    """Count the lines that a text takes, words too long broken anywhere.

    Parameters
    ----------
    text : str
        One paragraph.
    width : float
        [mm]
    size : float
        Of the lettering. [mm]
    start : float
        What the first line has at its beginning. [mm]

    Returns
    -------
    count : int
        At least one.
    """
    count = 1
    left = width - start
    for word in text.split():
        wide = text_width(word, size)
        if wide > left and left < width:
            count += 1
            left = width
        while wide > width:
            count += 1
            wide -= width
        left -= wide + text_width(" ", size)
    return count


def _paragraph(text: str, width: float, size: float = SMALL) -> float:
    """Height of a paragraph; none where there is nothing to say. [mm]"""
    return lines(text, width, size) * size * LEADING + 0.6 if text else 0.0


def _by(things: Sequence[T], count: int) -> list[Sequence[T]]:
    """Cut a sequence into rows."""
    return [things[i : i + count] for i in range(0, len(things), count)]


def _row(cells: Sequence[tuple[str, str]]) -> float:
    """Height of a row of the heading. [mm]"""
    width = (WIDE - (HEADER_COLUMNS - 1) * GAP) / HEADER_COLUMNS
    most = max(lines(text, width, SMALL * BOLD) for _, text in cells)
    writing = 0.0 if all(text for _, text in cells) else 1.45 * SMALL
    return CAPTION + max(most * SMALL * LEADING, writing) + 0.9


def _boxes(blanks: Sequence[Blank], columns: int) -> float:
    """Height of boxes to write in, with their heading. [mm]"""
    if not blanks:
        return 0.0
    width = (LEFT - columns + 1) / columns - 2.0
    rows = (
        max(lines(f"{blank.name} {blank.told}", width, BOX * BOLD) for blank in row)
        for row in _by(blanks, columns)
    )
    return HEADING + sum(max(7.5, most * BOX * LEADING + 0.6) + 1 for most in rows)


def _step(row: StepRow) -> float:
    """Height of a step. [mm]"""
    beside = DIALS * (not row.z and not row.y) + FEED * (not row.feed)
    words = f"{row.tool}: {row.what}" if row.tool else row.what
    most = max(
        lines(words, WORDS + beside, LARGE * (1.03 if row.tool else 1.0)),
        lines(row.feed, FEED, LARGE),
        lines(row.look, LOOK, LARGE),
    )
    return most * LARGE * LEADING + 0.7


def leaves(head: Heading, foot: Foot, steps: Sequence[StepRow]) -> tuple[Leaf, ...]:
    """Lay the traveler out on as few sheets as hold it.

    Parameters
    ----------
    head : Heading
        Over the steps.
    foot : Foot
        Under them.
    steps : sequence of StepRow
        In order; none where there is nothing to run.

    Returns
    -------
    leaves : tuple of Leaf
    """
    room = TALL
    heads = LARGE * LEADING + 1
    piles: list[list[StepRow]] = [[]]
    used = head.height + (heads if steps else 0.0)
    for row in steps:
        if used + _step(row) > room:
            piles.append([])
            used = heads + HEADING
        piles[-1].append(row)
        used += _step(row)
    if used + foot.height > room:
        piles.append([])
    return tuple(
        Leaf(number=i, of=len(piles), steps=tuple(pile), first=i == 1, last=i == len(piles))
        for i, pile in enumerate(piles, 1)
    )

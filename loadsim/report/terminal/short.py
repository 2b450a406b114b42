"""A short answer on a terminal of 24 lines and 80 columns: labels on the left, what matters least
left out first. Nothing is computed here.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

#: What a terminal shows at once. [1]
LINES = 24
COLUMNS = 80

#: Where the text of a block begins. [1]
LABEL = 9

SAFETY = "An estimate. Eye protection on, guards in place; the machine's manual first."


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Some lines of a short answer."""

    lines: tuple[str, ...]
    spare: int = 0  #: the larger, the sooner it is left out; 0 never


def block(label: str, text: str, *, most: int = 3, spare: int = 0) -> Block:
    """Fold a sentence beside its label.

    Parameters
    ----------
    label : str
        Before the first line; one that ends in a blank is as wide as it is.
    text : str
        One paragraph; empty makes no line.
    most : int
        Lines, after which it is cut short. [1]
    spare : int
        How soon it is left out; 0 never. [1]

    Returns
    -------
    block : Block
    """
    indent = len(label) if label.endswith(" ") else LABEL
    lines = textwrap.wrap(
        text,
        COLUMNS,
        initial_indent=label.ljust(indent),
        subsequent_indent=" " * indent,
        max_lines=most,
        placeholder=" ...",
    )
    return Block(lines=tuple(lines), spare=spare)


def fitted(blocks: Sequence[Block], lines: int = LINES) -> list[Block]:
    """Leave out what can be spared until the blocks fit.

    Parameters
    ----------
    blocks : sequence of Block
        In their order.
    lines : int
        That there are. [1]

    Returns
    -------
    blocks : list of Block
    """
    kept = list(blocks)
    while sum(len(b.lines) for b in kept) > lines:
        sparest = max(kept, key=lambda b: b.spare)
        if not sparest.spare:
            break
        kept.remove(sparest)
    return kept


def text_of(blocks: Sequence[Block]) -> str:
    """Write blocks that fit."""
    return "\n".join(line for b in blocks for line in b.lines) + "\n"


def title(text: str) -> Block:
    """One line that says what it is all about."""
    return Block(lines=(textwrap.shorten(text, COLUMNS, placeholder=" ..."),))


def plain(text: str, *, most: int = 2) -> Block:
    """Fold a sentence over the whole width."""
    lines = textwrap.wrap(text, COLUMNS, max_lines=most, placeholder=" ...")
    return Block(lines=tuple(lines))


def deeds(sentences: Sequence[str]) -> list[Block]:
    """Number what to do: the first deed, and the second where it goes in."""
    first, *others = sentences
    second = [block(f"{'2.':>{LABEL + 2}} ", text, spare=2) for text in others[:1]]
    return [block(f"{'do':<{LABEL}}1. ", first, most=4), *second]


def more(text: str) -> list[Block]:
    """The caution, and how to see more: the last lines of every short answer."""
    return [plain(SAFETY), plain(text)]

"""Lines of a terminal: sentences folded, points, columns; and the caution under every answer."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

WIDTH = 100

CAUTION = (
    "An estimate, not a guarantee. Wear eye protection, keep guards in place, stop the spindle"
    " before reaching in: a broken cutter is thrown. Prove the cut on scrap first. The machine's"
    " manual, the shop's rules, local codes and qualified people come before this sheet."
)


def wrap(text: str, indent: str = "", first: str | None = None, width: int = WIDTH) -> str:
    """Fold a sentence to the terminal's width.

    Parameters
    ----------
    text : str
        One paragraph.
    indent : str
        Put before every line.
    first : str, optional
        Put before the first line instead.
    width : int
        Longest line. [1]

    Returns
    -------
    folded : str
    """
    return textwrap.fill(
        text, width, initial_indent=indent if first is None else first, subsequent_indent=indent
    )


def bullets(sentences: Iterable[str], width: int = WIDTH) -> list[str]:
    """Fold sentences, each as a point of a list.

    Parameters
    ----------
    sentences : iterable of str
        One point each.
    width : int
        Longest line. [1]

    Returns
    -------
    points : list of str
    """
    return [wrap(sentence, "    ", "  - ", width) for sentence in sentences]


def columns(rows: Sequence[Sequence[str]], indent: str = "  ") -> str:
    """Align rows of text in columns.

    Parameters
    ----------
    rows : sequence of sequences of str
        Cells.
    indent : str
        Put before every row.

    Returns
    -------
    table : str
    """
    count = max(len(row) for row in rows)
    widths = [_column_width(rows, i) for i in range(count)]
    padded = ([cell.ljust(widths[i]) for i, cell in enumerate(row)] for row in rows)
    return "\n".join(indent + "  ".join(cells).rstrip() for cells in padded)


def _column_width(rows: Sequence[Sequence[str]], i: int) -> int:
    """Widest cell of a column; the last cell of a row may run on and does not count."""
    return max((len(row[i]) for row in rows if i < len(row) - 1), default=0)

"""report/terminal/layout"""

from __future__ import annotations

from collections.abc import Sequence

WIDTH = 100

CAUTION = (
    "An estimate, not a guarantee. Wear eye protection, keep guards in place, stop the spindle"
    " before reaching in: a broken cutter is thrown. Prove the cut on scrap first. The machine's"
    " manual, the shop's rules, local codes and qualified people come before this sheet."
)


def wrap(text: str, indent: str = "", first: str | None = None) -> str:
    """Fold a sentence to the terminal's width.

    Parameters
    ----------
    text : str
        One paragraph.
    indent : str
        Put before every line.
    first : str, optional
        Put before the first line instead.

    Returns
    -------
    folded : str
    """
    import textwrap

    return textwrap.fill(
        text, WIDTH, initial_indent=indent if first is None else first, subsequent_indent=indent
    )


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
    widths = [
        max(len(r[i]) for r in rows if i < len(r) - 1) if any(i < len(r) - 1 for r in rows) else 0
        for i in range(max(len(r) for r in rows))
    ]
    return "\n".join(
        indent + "  ".join(c.ljust(widths[i]) for i, c in enumerate(r)).rstrip() for r in rows
    )

"""The pictures of the README: a plan as a terminal shows it, drawn from what the command prints.

Run to write it anew: python -m tests.report.pictures
"""

from __future__ import annotations

from html import escape
from pathlib import Path

from loadsim import plan, read_job
from loadsim.report.terminal.short_check import short_plan

ROOT = Path(__file__).resolve().parents[2]
PLAN = ROOT / "reports" / "plan.svg"

#: Size of a letter's cell, and the margin. [px]
WIDE, HIGH, MARGIN = 8.4, 18, 14


def plan_picture() -> str:
    """The plan of the first example as a terminal shows it."""
    job = read_job(ROOT / "reports" / "t-track.toml")
    lines = ["$ loadsim plan job.toml", *short_plan(plan(job)).rstrip("\n").split("\n")]
    width = round(2 * MARGIN + WIDE * max(map(len, lines)))
    height = 2 * MARGIN + HIGH * len(lines)
    rows = [
        f'<text x="{MARGIN}" y="{MARGIN + HIGH * (k + 0.75):g}">{_kept(line)}</text>'
        for k, line in enumerate(lines)
    ]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}"'
            ' font-family="monospace" font-size="14" role="img">',
            "<title>What loadsim plan prints for the first example</title>",
            f'<rect width="{width}" height="{height}" fill="#fff" stroke="#000"/>',
            *rows,
            "</svg>\n",
        ]
    )


def _kept(line: str) -> str:
    """A line whose blanks no viewer folds."""
    return escape(line).replace(" ", "\u00a0")


if __name__ == "__main__":
    PLAN.write_text(plan_picture(), encoding="utf-8")

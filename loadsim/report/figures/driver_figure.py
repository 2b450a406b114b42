"""The chart of what the risk hangs on, and what helps against each."""

from __future__ import annotations

from typing import Any

from loadsim.answers.results import Plan
from loadsim.report.figures import style
from loadsim.report.figures.style import INK, Chart, axis, sig
from loadsim.risk.results import Driver
from loadsim.words.phrases import percent

#: What a shop can do about each driver of the spread.
WHAT_HELPS = {
    "force constants of the metal": (
        "cut a trial slot, measure the torque or the power, and give kc11"
    ),
    "radial force": "give a radial_ratio from a trial cut",
    "edge wear": "touch up the edge before the cut",
    "steadiness of the feed": "feed evenly, or use a power feed",
    "runout": "set an indicator on the head",
    "neck diameter": "put a micrometer on the neck",
    "neck fillet": "look at the fillet under a magnifier, or with a radius gauge",
    "neck length": "measure the neck's length",
    "head height": "measure the head's height",
    "stress concentration": "grind a larger fillet",
    "strength of the blank": "use a blank of known make and hardness",
    "fatigue strength": "use a blank of known make and hardness",
    "grinding of the neck": "grind the neck gently, along its axis",
    "skew of the edges": "grind the edges 2 deg askew",
    "chip packing": "clear the chips with air or coolant",
}

#: Of these, what a gauge or a trial cut tells: the others are worked on, not measured.
MEASURED = (
    "force constants of the metal",
    "radial force",
    "runout",
    "neck diameter",
    "neck fillet",
    "neck length",
    "head height",
    "skew of the edges",
)

#: Most drivers that are drawn.
MOST_DRIVERS = 8

MEASURE_FIRST = "  <b>measure first</b>"


def drivers(plan: Plan) -> Chart:
    """Shares of the variance behind the snap probability, largest first.

    Parameters
    ----------
    plan : Plan
        From `loadsim.plan`.

    Returns
    -------
    chart : Chart

    Raises
    ------
    ValueError
        If nothing of this cut is uncertain.
    """
    largest = plan.result.risk.drivers[:MOST_DRIVERS]
    if not largest:
        raise ValueError("the result names no drivers")
    first = next((driver for driver in largest if driver.name in MEASURED), None)
    end = max(1.3 * largest[0].share, 2.3 * first.share if first else 0.0)
    layout = {
        "xaxis": axis(
            "share of the variance", range=[0, sig(end)], tickformat=".0%", tickvals=[0, 0.5, 1.0]
        ),
        "yaxis": axis("", automargin=True, showgrid=False),
        "bargap": 0.35,
    }
    to_do = "" if first is None else f" Measure first: {first.name}; {WHAT_HELPS[first.name]}."
    share = percent(largest[0].share)
    helps = WHAT_HELPS.get(largest[0].name, "prove the cut on scrap")
    return Chart(
        id="drivers",
        title="What the risk hangs on",
        figure=style.figure([_bars(largest, first)], layout, {"l": 10, "t": 8}),
        use=to_do.strip() or f"Nothing here is measured with a gauge: {helps}.",
        caption="Share of each uncertain input in the spread of load over strength.",
        alt=f"The largest driver is {largest[0].name} with {share}.{to_do}",
        columns=("input", "share of the variance", "what helps"),
        rows=tuple(
            (driver.name, driver.share, WHAT_HELPS.get(driver.name, "")) for driver in largest
        ),
    )


def _bars(largest: tuple[Driver, ...], first: Driver | None) -> dict[str, Any]:
    """Bars from the bottom up; the one to measure first is dark and says so."""
    upward = largest[::-1]
    texts = [
        percent(driver.share) + (MEASURE_FIRST if driver is first else "") for driver in upward
    ]
    return {
        "type": "bar",
        "orientation": "h",
        "x": [driver.share for driver in upward],
        "y": [driver.name for driver in upward],
        "cliponaxis": False,
        "text": texts,
        "textposition": "outside",
        "textfont": {"size": 11},
        "marker": {
            "color": ["#444444" if driver is first else "#bbbbbb" for driver in upward],
            "line": {"color": INK, "width": 1},
        },
        "hovertemplate": "%{y}: %{x:.1%}<extra></extra>",
    }

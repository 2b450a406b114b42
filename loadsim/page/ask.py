"""Which question comes next: the print first, then whatever would narrow the chance most."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

#: Whether the cutter is ground already: no key of a job file.
GROUND = "page.ground"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Questions that are asked together."""

    name: str
    title: str
    keys: tuple[str, ...]


METAL = Step(
    name="metal", title="What do you cut?", keys=("job.number", "job.units", "work.material")
)
SLOT = Step(
    name="slot",
    title="The slot, off the print",
    keys=(
        "slot.throat_width",
        "slot.undercut_width",
        "slot.depth",
        "slot.undercut_height",
        "slot.length",
        "slot.sides",
        "slot.open_ends",
        "slot.width_tolerance",
    ),
)
CUTTER_GROUND = Step(name="ground", title="Is the cutter ground already?", keys=(GROUND,))
CUTTER = Step(
    name="cutter",
    title="The cutter: what is thin, and what cuts",
    keys=(
        "cutter.neck_diameter",
        "cutter.neck_length",
        "cutter.head_diameter",
        "cutter.head_height",
    ),
)
STEPS = (METAL, SLOT, CUTTER_GROUND, CUTTER)

#: All keys that are asked together with others.
TOGETHER = frozenset(key for step in STEPS for key in step.keys)


#: What each question may settle of the doubt, by the driver's name in an answer.
DRIVERS = {
    "cutter.neck_fillet": "neck fillet",
    "cutter.runout": "runout",
    "cutter.wear": "edge wear",
    "cutter.edge_skew": "skew of the edges",
    "machine.feed": "steadiness of the feed",
    "cutter.hardness": "strength of the blank",
    "work.lubrication": "chip packing",
}


def by_drivers(shares: Mapping[str, float]) -> dict[str, float]:
    """Rank questions by the drivers of an answer, until what each is worth is counted.

    Parameters
    ----------
    shares : mapping
        Driver's name to its share of the doubt. [1]

    Returns
    -------
    worth : dict
        Key to one and that share. [1]
    """
    return {key: 1.0 + shares.get(name, 0.0) for key, name in DRIVERS.items()}


def step_of(key: str) -> Step | None:
    """Return the step that a question belongs to; None where it is asked by itself."""
    return next((step for step in STEPS if key in step.keys), None)


def next_step(settled: Collection[str]) -> Step | None:
    """Return the first step with a question that is open.

    Parameters
    ----------
    settled : collection of str
        Keys with an answer, "don't know" being one.

    Returns
    -------
    step : Step or None
        None: they are all answered, and a verdict can be given.
    """
    return next((s for s in STEPS if any(key not in settled for key in s.keys)), None)


def order(keys: Sequence[str], worth: Mapping[str, float]) -> list[str]:
    """Sort questions: the one first whose answer would move the chance most.

    Parameters
    ----------
    keys : sequence of str
        Open questions, in the order of the catalogue, which breaks ties.
    worth : mapping
        Key to the factor that its answer may move the chance by; 1 where it is missing. [1]

    Returns
    -------
    keys : list of str
    """
    return sorted(keys, key=lambda key: -worth.get(key, 1.0))


def enough(ends: Sequence[float], accepted: float) -> bool:
    """Whether the chance stays on one side of the accepted one, whatever is answered next.

    Parameters
    ----------
    ends : sequence of float
        Of the chance as counted, and of what each open answer may make of it. [1]
    accepted : float
        Accepted chance. [1]

    Returns
    -------
    enough : bool
    """
    return max(ends) <= accepted or min(ends) > accepted

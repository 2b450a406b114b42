"""What the cuts that snap have in common, as a sentence."""

from __future__ import annotations

from enum import Enum

from loadsim.risk.breaks import BadCase, Trait

#: Chance up to which one speaks of one cut in so many. [1]
COMMON = 0.2

#: What such a cut has.
TRAITS: dict[Enum, str] = {
    Trait.PACKED_CHIPS: "chips that pack and multiply the force by {factor:.2g}",
    Trait.UNSTEADY_FEED: "a feed that runs at its worst to {factor:.2g} times the set one",
    Trait.HARD_METAL: "metal that takes {factor:.2g} times the usual force to cut",
    Trait.WEAK_BLANK: "a blank of {share:.0%} of the usual strength",
    Trait.SMALL_FILLET: "a fillet smaller than it was taken to be",
    Trait.STRAIGHT_EDGES: "edges so straight that the neck rings",
}


def why_it_snaps(case: BadCase | None) -> str:
    """Say why a neck snaps though its limits look ample.

    Parameters
    ----------
    case : BadCase or None
        What the cuts that snap have in common.

    Returns
    -------
    sentence : str
        Empty when there is nothing to explain.
    """
    if case is None:
        return ""
    p = case.snap_probability
    cuts = (
        f"the one cut in {float(f'{1 / p:.2g}'):,.0f} that snaps has"
        if p <= COMMON
        else f"the {100 * p:.0f} cuts in 100 that snap have"
    )
    traits = " and ".join(TRAITS[trait.code].format(**trait.facts) for trait in case.traits)
    return (
        f"Why it snaps though the neck is used to {case.used:.0%} at most: {cuts}, in the middle of"
        f" all that snap, {traits}."
    )

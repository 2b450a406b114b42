"""What the cuts that snap have in common, word for word."""

from __future__ import annotations

import pytest

from loadsim.base.notes import Note
from loadsim.risk.breaks import BadCase, Trait
from loadsim.words.breaks import TRAITS, why_it_snaps

ALL = (
    Note(code=Trait.PACKED_CHIPS, facts={"factor": 2.56}),
    Note(code=Trait.UNSTEADY_FEED, facts={"factor": 1.826}),
    Note(code=Trait.HARD_METAL, facts={"factor": 1.34}),
    Note(code=Trait.WEAK_BLANK, facts={"share": 0.844}),
    Note(code=Trait.SMALL_FILLET),
    Note(code=Trait.STRAIGHT_EDGES),
)


@pytest.mark.parametrize(
    ("p", "cuts"),
    [
        (0.2, "the one cut in 5 that snaps has"),
        (0.2001, "the 20 cuts in 100 that snap have"),
        (1 / 1234, "the one cut in 1,200 that snaps has"),  # by hand: two figures
    ],
)
def test_the_cuts_that_snap_word_for_word(p: float, cuts: str) -> None:
    case = BadCase(used=0.426, snap_probability=p, traits=ALL)
    assert why_it_snaps(case) == (
        f"Why it snaps though the neck is used to 43% at most: {cuts}, in the middle of all that snap, chips that"
        " pack and multiply the force by 2.6 and a feed that runs at its worst to 1.8 times the set one and metal"
        " that takes 1.3 times the usual force to cut and a blank of 84% of the usual strength and a fillet smaller"
        " than it was taken to be and edges so straight that the neck rings."
    )


def test_nothing_to_explain_is_not_explained() -> None:
    assert why_it_snaps(None) == ""


def test_every_trait_has_words() -> None:
    assert set(TRAITS) == set(Trait) == {note.code for note in ALL}

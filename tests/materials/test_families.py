"""What the trade says of a metal, by the family that its file names."""

from __future__ import annotations

import pytest

from loadsim.materials.families import by_family

TABLE = {"steel": 1.0, "steel, stainless": 2.0, "brass": 3.0}


@pytest.mark.parametrize(
    ("family", "value"),
    [
        ("steel", 1.0),
        ("steel, stainless", 2.0),  # the longest name that fits
        ("steel, stainless, 300 series", 2.0),
        ("steel, tool", 1.0),
        ("brass, free-cutting", 3.0),
        ("stainless steel", 9.0),  # a name stands at the beginning
        ("", 9.0),
    ],
)
def test_the_longest_beginning_decides(family: str, value: float) -> None:
    assert by_family(TABLE, family, 9.0) == value

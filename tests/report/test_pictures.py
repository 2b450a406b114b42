"""The README shows what the program prints today."""

from __future__ import annotations

import re

import pytest

from tests.report import pictures


@pytest.mark.regression
def test_the_terminal_of_the_readme_is_what_the_command_prints() -> None:
    """Our own output of an earlier day, read aloud when it was kept."""
    assert pictures.PLAN.read_text(encoding="utf-8") == pictures.plan_picture()


def test_the_pictures_of_the_readme_are_there() -> None:
    text = (pictures.ROOT / "README.md").read_text(encoding="utf-8")
    shown = re.findall(r"!\[[^]]+\]\(([^)]+)\)", text)
    assert len(shown) == 3
    for name in shown:
        picture = (pictures.ROOT / name).read_bytes()
        assert picture.startswith((b"<svg", b"\x89PNG")) and len(picture) < 400_000
    assert len(text.splitlines()) <= 92

"""Ranges declared above a formula: same messages on a direct call, not asked where it is trusted."""

from __future__ import annotations

import threading

import numpy as np
import pytest

from loadsim.base import ranges
from loadsim.base.errors import ModelError


@ranges.takes(d=ranges.above_zero("mm"), share=ranges.must_be("1", least=0.0, most=1.0))
def part(d: float, share: float = 0.5) -> float:
    return d * share


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: part(0.0), r"^d is 0 mm; allowed is a finite number > 0 mm$"),
        (lambda: part(d=np.nan), r"^d is nan mm; allowed is a finite number > 0 mm$"),
        (lambda: part(2.0, share=1.5), r"^share must be finite and >= 0 and <= 1 \[1\], got 1.5$"),
        (lambda: part([3.0, -1.0], 0.5), r"^d is -1 mm; allowed is a finite number > 0 mm$"),
    ],
)
def test_a_number_out_of_its_declared_range_is_refused(call, message: str):
    with pytest.raises(ModelError, match=message):
        call()


def test_the_formula_gets_floats_and_its_defaults():
    assert part([2, 4]).tolist() == [1.0, 2.0]
    assert part(2, share=0.25) == 0.5
    assert part(2, share=0.0) == 0.0  # the end of its range


def test_wrong_arguments_are_refused_as_ever():
    with pytest.raises(TypeError):
        part(1.0, 0.5, 3.0)
    with pytest.raises(TypeError):
        part(1.0, d=2.0)


def test_trusted_numbers_are_not_asked_again():
    with ranges.trusted():
        assert part(-2.0) == -1.0
        assert part([2, 4]).tolist() == [1.0, 2.0]  # floats all the same
    with pytest.raises(ModelError):
        part(-2.0)


def test_trust_ends_with_an_error():
    with pytest.raises(ZeroDivisionError), ranges.trusted():
        1 / 0  # noqa: B018
    with pytest.raises(ModelError):
        part(-2.0)


def test_trust_within_trust_lasts_to_the_outer_end():
    with ranges.trusted():
        with ranges.trusted():
            pass
        assert part(-2.0) == -1.0


def test_another_thread_is_not_trusted():
    refusals = []

    def ask() -> None:
        try:
            part(-2.0)
        except ModelError as error:
            refusals.append(str(error))

    with ranges.trusted():
        thread = threading.Thread(target=ask)
        thread.start()
        thread.join()
    assert len(refusals) == 1

"""A case is checked once, every number of it, before the formulas of the chain trust it."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from loadsim.base.errors import ModelError
from loadsim.base.numbers import Array
from loadsim.job.read import job_from_text
from loadsim.job.write import example
from loadsim.loads import cut, passes, resolve
from loadsim.loads.load_case import RANGES, LoadCase, checked
from loadsim.loads.nominal import as_drawn
from loadsim.loads.resolved_job import ResolvedJob

NUMBERS = [f.name for f in dataclasses.fields(LoadCase) if f.name not in ("teeth", "law", "radial")]


def job() -> ResolvedJob:
    return resolve.resolve(job_from_text(example("t-track"), "t-track"))


def case() -> LoadCase:
    return as_drawn(job(), 0.01, 1.0, 1.1)


def test_every_number_has_a_range():
    assert list(RANGES) == NUMBERS


def test_a_sound_case_comes_back_as_it_is():
    sound = case()
    assert checked(sound) is sound


@pytest.mark.parametrize("bad", [math.nan, math.inf])
@pytest.mark.parametrize("name", NUMBERS)
def test_a_number_that_is_not_finite_is_named(name: str, bad: float):
    value = np.array([getattr(case(), name).item(), bad])
    with pytest.raises(ModelError, match=f"^{name} is {bad}"):
        checked(case().with_(**{name: value}))


@pytest.mark.parametrize("name", NUMBERS)
def test_a_negative_number_is_named(name: str):
    with pytest.raises(ModelError, match=f"^{name} is -1"):
        checked(case().with_(**{name: -1.0}))


@pytest.mark.parametrize("name", ["neck_diameter", "fillet", "fe_factor"])
def test_the_stress_of_a_cut_asks_before_it_trusts(name: str):
    resolved = job()
    contacts = passes.contacts_of(
        passes.passes(resolved, None, "conventional"), resolved.cutter.teeth, 24
    )
    demand = cut.cut_demand(contacts, case())
    bad: Array = np.asarray(math.nan)
    with pytest.raises(ModelError, match=f"^{name} is nan"):
        cut.cut_stress(resolved, case().with_(**{name: bad}), demand)

"""The uncertain inputs by name: one row each, in the order of the points they were always drawn from."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtri

from loadsim.risk import samples, sobol
from loadsim.risk.samples import Uncertain


def test_each_name_is_its_own_row() -> None:
    drawn = samples.draws(8)
    assert [int(x) for x in Uncertain] == [x.value for x in Uncertain] == list(range(23))
    assert len({x.driver for x in Uncertain}) == len(drawn.u) == 23
    for row, name in enumerate(Uncertain):
        assert Uncertain(row) is name
        assert drawn.z[name].tolist() == drawn.z[row].tolist()


def test_rows_are_views() -> None:
    drawn = samples.draws(8)
    assert all(np.shares_memory(drawn.z[name], drawn.z) for name in Uncertain)


def test_a_row_is_its_column_of_the_points() -> None:
    drawn = samples.draws(8, 5)
    points = sobol.replicates(4, 23, samples.REPLICATES, 5)  # (replicates, dimensions, n)
    column = np.concatenate([x[11] for x in points])
    assert Uncertain.FATIGUE_LIMIT.driver == "fatigue limit"
    assert drawn.u[Uncertain.FATIGUE_LIMIT].tolist() == column.tolist()
    assert drawn.z[Uncertain.FATIGUE_LIMIT] == pytest.approx(ndtri(column))


def test_median_draws_are_the_median_of_both_laws() -> None:
    drawn = samples.median_draws(3)
    assert drawn.u.shape == drawn.z.shape == (23, 3)
    assert drawn.z.tolist() == ndtri(drawn.u).tolist()


def test_a_few_are_the_first_of_each_replicate() -> None:
    drawn = samples.draws(10)  # 16 replicates of 64
    few = samples.few_of(drawn, 4)
    each = drawn.u.reshape(23, 16, 64)[:, :, :4].reshape(23, -1)
    assert few.u.tolist() == each.tolist()
    assert few.replicates == 16
    assert samples.few_of(drawn).u.shape == drawn.u.shape

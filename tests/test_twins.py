"""A job in inches and its twin in millimetres, the same numbers, get the same answer."""

from __future__ import annotations

import copy
import tomllib
from typing import Any

import numpy as np
import pytest

from loadsim import check
from loadsim.base.errors import InputError
from loadsim.job.read import job_from_dict
from loadsim.job.write import example, examples
from loadsim.risk import samples

#: What is changed, and to which share of itself. [1]
CHANGES = tuple(
    (path, share)
    for path in (
        "cutter.neck_diameter", "cutter.neck_length", "cutter.neck_fillet", "cutter.head_height",
        "cutter.stickout", "cutter.runout", "slot.length", "cut.feed_per_tooth",
    )
    for share in (15 / 16, 17 / 16)
)  # fmt: skip
DRAWN = samples.draws(8)
JOBS = 60
EVERY = 1


def lengths(seed: int) -> dict[str, Any]:
    """An example with one to four teeth that says what both twins would else be given."""
    rng = np.random.default_rng([7, seed])
    data = copy.deepcopy(tomllib.loads(example(sorted(examples())[seed % 3])))
    data["cutter"]["teeth"] = int(rng.integers(1, 5))
    data["cutter"].setdefault("neck_fillet", "0.2 mm")
    data["cutter"].setdefault("runout", "0.01 mm")
    data["cut"].setdefault("spindle_speed", "600 rpm")
    return data


def number(text: str) -> float:
    """A length of the examples. [mm]"""
    words = text.replace("/tooth", "").split()
    whole, _, part = words[0].rpartition("-")
    top, _, bottom = part.partition("/")
    value = float(whole or 0) + float(top) / float(bottom or 1)
    return value * {"in": 25.4, "um": 1e-3, "mm": 1.0}[words[1]]


def twins(data: dict[str, Any], path: str, share: float) -> list[dict[str, Any]]:
    """The job with one length changed, all lengths in inches and in millimetres."""
    table, key = path.split(".")
    both = []
    for unit, size in (("in", 1.0), ("mm", 25.4)):
        twin = copy.deepcopy(data)
        for name in ("slot", "cutter", "cut", "machine"):
            for k, v in twin[name].items():
                if isinstance(v, str) and v.replace("/tooth", "").endswith((" mm", " in", " um")):
                    inches = round(number(v) / 25.4 * 2**17) / 2**17
                    inches *= share if (name, k) == (table, key) else 1.0
                    tail = "/tooth" if v.endswith("/tooth") else ""
                    twin[name][k] = f"{inches * size:.17g} {unit}{tail}"
        twin["job"]["units"] = "metric"
        both.append(twin)
    return both


def answered(data: dict[str, Any]) -> dict[str, Any] | list[str]:
    try:
        return check(job_from_dict(data, "t.toml"), DRAWN).to_dict()
    except InputError as error:
        return [p.where for p in error.problems]


def alike(a: Any, b: Any, place: str) -> None:
    if isinstance(a, dict):
        assert a.keys() == b.keys(), place
        for key in a:
            alike(a[key], b[key], f"{place}.{key}")
    elif isinstance(a, list):
        assert len(a) == len(b), place
        for i, (x, y) in enumerate(zip(a, b, strict=True)):
            alike(x, y, f"{place}[{i}]")
    elif isinstance(a, float):
        assert a == pytest.approx(b, rel=1e-9, abs=1e-12), place
    else:
        assert a == b, place


@pytest.mark.parametrize(
    "seed",
    [pytest.param(n, marks=[pytest.mark.slow, pytest.mark.nightly] * (n >= EVERY)) for n in range(JOBS)],
)  # fmt: skip
def test_twins_get_the_same_answer(seed: int) -> None:
    data = lengths(seed)
    seen = 0
    for path, share in CHANGES:
        inch, metric = (answered(twin) for twin in twins(data, path, share))
        alike(inch, metric, f"{path} times {share}")
        seen += isinstance(inch, dict)
    assert seen > len(CHANGES) // 2

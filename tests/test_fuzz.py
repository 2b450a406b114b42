"""Random job files: refused with a list of problems, or answered with finite numbers; never anything else.

HYPOTHESIS_PROFILE=slow runs ten times as many.
"""

from __future__ import annotations

import copy
import json
import math
import os
import tomllib
import typing
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loadsim import check
from loadsim.base import units
from loadsim.base.errors import InputError
from loadsim.job.read import job_from_dict, job_from_text
from loadsim.job.tables import Job, Trial
from loadsim.job.write import example, examples
from loadsim.risk import samples

TIMES = 10 if os.environ.get("HYPOTHESIS_PROFILE") == "slow" else 1
GOOD: dict[str, dict[str, dict[str, Any]]] = {n: tomllib.loads(example(n)) for n in examples()}
DRAWN = samples.draws(8)  # few samples: the fuzz is after crashes, not after figures
#: physical sense of the small-shop job, per key of the job file: (unit, low, high)
RANGES: dict[str, tuple[str, float, float]] = {
    "slot.throat_width": ("mm", 0.5, 60), "slot.undercut_width": ("mm", 1, 90), "slot.undercut_height": ("mm", 0.3, 30),
    "slot.depth": ("mm", 1, 60), "slot.length": ("mm", 0.5, 5000), "slot.width_tolerance": ("mm", 0.001, 5),
    "cutter.head_diameter": ("mm", 0.4, 60), "cutter.head_height": ("mm", 0.1, 30), "cutter.corner_radius": ("mm", 0, 1),
    "cutter.neck_diameter": ("mm", 0.2, 40), "cutter.neck_length": ("mm", 0.1, 60), "cutter.neck_fillet": ("mm", 0.005, 3),
    "cutter.shank_diameter": ("mm", 0.5, 40), "cutter.stickout": ("mm", 0.5, 100), "cutter.relief": ("deg", 0.5, 45),
    "cutter.edge_radius": ("mm", 0.0005, 0.2), "cutter.runout": ("mm", 0, 1), "machine.max_spindle_speed": ("rpm", 10, 200_000),
    "machine.spindle_power": ("W", 5, 1e6), "machine.handwheel": ("mm", 0.1, 100), "machine.backlash": ("mm", 0, 5),
    "cutter.head_fillet": ("mm", 0.005, 3), "machine.wheel_force": ("N", 0.1, 500),
    "machine.stiffness": ("N/mm", 10, 1e7), "cut.feed_per_tooth": ("mm/tooth", 1e-5, 5), "target.wall_error": ("mm", 0.001, 5),
}  # fmt: skip
BARE: dict[str, list[Any]] = {
    "slot.sides": [1, 2], "slot.open_ends": [0, 1, 2], "cutter.teeth": [1, 2, 3, 4], "cutter.hardness": [10, 50, 58.5, 66, 70, 75],
    "job.quantity": [1, 7, 1_000_000], "job.slots_per_part": [1, 3, 1000], "machine.holder": ["collet", "side-lock"],
    "machine.feed": ["hand", "power", "cnc"], "work.lubrication": ["dry", "brush", "mist", "flood"],
    "cut.direction": ["conventional", "climb"], "cut.predrill": [True, False], "target.snap_probability": [1e-6, 0.5],
    "work.material": ["al-1100-o", "steel-1018", "stainless-304", "acetal", "brass-360"], "work.spread": [0.0, 1.0],
    "cutter.material": ["hss-m2", "o1-hardened", "carbide-fine", "drill-shank-soft"], "work.radial_ratio": [0.02, 3.0],
}  # fmt: skip
names = st.sampled_from(sorted(GOOD))


def answer(data: dict[str, Any]) -> dict[str, Any] | None:
    """None when refused as bad input; else the answer, which is finite and adds up."""
    try:
        job = job_from_dict(data, "f.toml")
    except InputError as error:
        assert error.lines()
        assert all(
            x.startswith("f.toml: ") and x.isprintable() and len(x) < 600 for x in error.lines()
        )
        return None
    try:
        found = check(job, DRAWN).to_dict()
    except InputError as error:  # what is known only with the materials: end holes that do not fit, a table feed at the speed picked
        assert all(
            p.where in ("[cut] predrill", "[cut] feed_rate", "[cutter] hardness")
            or p.where.startswith("[[trial]] ")
            for p in error.problems
        )
        return None
    json.dumps(found, allow_nan=False)
    assert (
        0 <= found["risk"]["low"] <= found["risk"]["snap_probability"] <= found["risk"]["high"] <= 1
    )
    assert all(x["utilization"] >= 0 and x["capacity"] >= 0 for x in found["limits"])
    assert found["neck"]["force_to_snap_N"] > 0
    assert found["neck"]["stiffness_N_per_mm"] > 0
    assert found["loads"]["peak_force_N"] > 0
    assert found["settings"]["cutting_time_s"] > 0
    if found["verdict"] == "go":
        assert all(x["utilization"] <= 1 + 1e-9 for x in found["limits"])
        assert found["risk"]["high"] <= job.target.snap_probability
    return found


@st.composite
def quantity(draw: st.DrawFn, unit: str, low: float, high: float) -> str:
    """A quantity over the whole range, by ratio, with its ends drawn often."""
    small = low if low > 0 else 1e-4  # the negative end is drawn as such
    x = draw(
        st.one_of(
            st.sampled_from([low, high]), st.floats(math.log(small), math.log(high)).map(math.exp)
        )
    )
    return f"{x:.9g} {unit}"


@st.composite
def valid_keys(draw: st.DrawFn) -> dict[str, Any]:
    """An example with one to four keys set to values that are allowed one by one."""
    data = copy.deepcopy(GOOD[draw(names)])
    for path in draw(
        st.lists(
            st.sampled_from(sorted(RANGES) + sorted(BARE)), min_size=1, max_size=4, unique=True
        )
    ):
        table, key = path.split(".")
        data.setdefault(table, {})[key] = draw(
            quantity(*RANGES[path]) if path in RANGES else st.sampled_from(BARE[path])
        )
    for key in draw(st.sets(st.sampled_from(["spindle_speed", "feed_per_tooth", "direction"]))):
        data["cut"].pop(key, None)  # what is left out is picked
    return data


MILL = {
    "diameter": "5 mm",
    "flute_length": "12 mm",
    "teeth": 2,
    "helix": "30 deg",
    "material": "hss-m2",
    "stickout": "20 mm",
}
MILL_RANGES = {"diameter": ("mm", 0.3, 7), "flute_length": ("mm", 5, 300), "helix": ("deg", 0, 60), "stickout": ("mm", 5, 500),
               "corner_radius": ("mm", 0, 3), "runout": ("mm", 0, 1), "spindle_speed": ("rpm", 1, 2800), "feed_per_tooth": ("mm/tooth", 1e-5, 5),
               "depth_per_pass": ("mm", 0.005, 8)}  # fmt: skip
MILL_BARE: dict[str, list[Any]] = {
    "teeth": [1, 2, 3, 4, 6, 12],
    "material": ["hss-m42", "carbide-fine"],
    "hardness": [50, 60.5, 70],
}


@st.composite
def valid_mills(draw: st.DrawFn) -> dict[str, Any]:
    """An example with a throat mill that has one to four keys set to values that are allowed one by one."""
    data = copy.deepcopy(GOOD[draw(names)])
    mill = dict[str, Any](MILL)
    for key in draw(
        st.lists(
            st.sampled_from(sorted(MILL_RANGES) + sorted(MILL_BARE)),
            min_size=1,
            max_size=4,
            unique=True,
        )
    ):
        mill[key] = draw(
            quantity(*MILL_RANGES[key]) if key in MILL_RANGES else st.sampled_from(MILL_BARE[key])
        )
    data["throat_mill"] = mill
    return data


QUIET = {
    "deadline": None,
    "suppress_health_check": list(HealthCheck),
    "derandomize": TIMES == 1,
    "database": None,
}


@settings(max_examples=25 * TIMES, **QUIET)  # type: ignore[arg-type]
@given(valid_keys())
def test_allowed_values_are_answered_with_finite_numbers(data: dict[str, Any]) -> None:
    try:
        answer(data)
    except InputError as error:  # what only the blank's file can tell
        assert all("[cutter] hardness: is " in x for x in error.lines())


@settings(max_examples=25 * TIMES, **QUIET)  # type: ignore[arg-type]
@given(valid_mills())
def test_allowed_mills_are_answered_with_finite_numbers(data: dict[str, Any]) -> None:
    found = answer(data)
    if found is not None:
        mill = found["throat_mill"]
        assert (
            all(x["utilization"] >= 0 for x in mill["limits"])
            and mill["feed_rate_mm_per_min"] > 0
            and mill["passes"] >= 1
        )
        assert mill["safe"] == all(
            x["utilization"] <= 1 + 1e-9 for x in mill["limits"] if x["hard"]
        )


nonsense = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=20), st.binary(max_size=5), st.lists(st.integers(), max_size=3),
    st.dictionaries(st.text(max_size=5), st.integers(), max_size=2), st.dates(), st.just([[]] * 5), st.just("9" * 10_000),
    st.builds("{}{}".format, st.floats(), st.sampled_from([" mm", " in", "", " deg", " rpm", "mm/tooth", " MPa", " W", " \x00", " furlong"])),
)  # fmt: skip
TABLES = {
    t: next(x for x in (*typing.get_args(m.annotation), m.annotation) if hasattr(x, "model_fields"))
    for t, m in Job.model_fields.items()
}
PLACES = sorted(
    f"{t}.{k}" for t, m in TABLES.items() if t not in ("predrill", "trial") for k in m.model_fields
)


TRIAL = {
    "spindle_speed": ("rpm", 1, 200_000), "feed_per_tooth": ("mm/tooth", 1e-5, 5), "length": ("mm", 0.1, 50_000), "stepover": ("mm", 0.005, 100),
    "force": ("N", 1e-3, 1e5), "torque": ("N*mm", 1e-2, 1e7), "spindle_power": ("W", 1e-3, 1e6), "deflection": ("mm", 1e-4, 10),
    "slot_width": ("mm", 0.3, 500), "wall_offset": ("mm", -5, 5), "neck_diameter": ("mm", 0.2, 100), "neck_fillet": ("mm", 0.005, 20),
}  # fmt: skip
SPREAD = {
    "force": "N",
    "torque": "N*mm",
    "spindle_power": "W",
    "deflection": "mm",
    "slot_width": "mm",
    "wall_offset": "mm",
}


@st.composite
def scrap_cuts(draw: st.DrawFn) -> dict[str, Any]:
    """One test cut whose keys are allowed one by one, its readings over the whole range."""
    found: dict[str, Any] = {"outcome": draw(st.sampled_from(["survived", "snapped"]))}
    for key in [
        "spindle_speed",
        "feed_per_tooth",
        "length",
        *draw(st.sets(st.sampled_from(sorted(TRIAL)), max_size=3)),
    ]:
        found[key] = draw(quantity(*TRIAL[key]))
        if key in SPREAD:
            share = draw(st.floats(0.01, 1.0))
            found[f"{key}_uncertainty"] = (
                f"{share if key in ('slot_width', 'wall_offset') else share * float(found[key].split()[0]):.9g} {SPREAD[key]}"
            )
    slots = draw(st.sampled_from([None, 1, 12, 100_000]))
    counted = {} if slots is None else {"slots": slots}
    return found | counted | ({"direction": "climb"} if draw(st.booleans()) else {})


@settings(max_examples=40 * TIMES, **QUIET)  # type: ignore[arg-type]
@given(names, st.lists(scrap_cuts(), min_size=1, max_size=3))
def test_test_cuts_are_counted_or_refused_by_name(name: str, cuts: list[dict[str, Any]]) -> None:
    data = copy.deepcopy(GOOD[name]) | {"trial": cuts}
    try:
        answer(data)
    except InputError as error:  # read, but it contradicts the model
        for line in error.lines():
            assert line.startswith("job: [[trial]] ") and (
                "contradicts" in line or "does not fit its file" in line
            )
            assert line.isprintable() and len(line) < 700


@settings(max_examples=40 * TIMES, **QUIET)  # type: ignore[arg-type]
@given(
    names,
    st.lists(
        st.dictionaries(
            st.one_of(st.sampled_from(sorted(Trial.model_fields)), st.text(max_size=5)),
            nonsense,
            max_size=4,
        ),
        max_size=3,
    ),
)
def test_nonsense_in_test_cuts_is_refused(name: str, cuts: list[dict[str, Any]]) -> None:
    answer(copy.deepcopy(GOOD[name]) | {"trial": cuts})


@settings(max_examples=90 * TIMES, **QUIET)  # type: ignore[arg-type]
@given(names, st.dictionaries(st.one_of(st.sampled_from(PLACES), st.text(min_size=1, max_size=8).map("cutter.{}".format)), nonsense,
                              min_size=1, max_size=3), st.sets(st.sampled_from(PLACES), max_size=2))  # fmt: skip
def test_nonsense_is_refused_or_answered(
    name: str, changes: dict[str, Any], gone: set[str]
) -> None:
    data = copy.deepcopy(GOOD[name])
    for path in gone:
        data.get(path.split(".")[0], {}).pop(path.split(".")[1], None)
    for path, value in changes.items():
        table, key = path.split(".", 1)
        data.setdefault(table, {})[key] = value
    answer(data)


@settings(max_examples=60 * TIMES, **QUIET)  # type: ignore[arg-type]
@given(st.dictionaries(st.sampled_from([*Job.model_fields, "x"]), nonsense, max_size=8))
def test_nonsense_for_tables_is_refused(data: dict[str, Any]) -> None:
    assert answer(data) is None


@settings(max_examples=90 * TIMES, **QUIET)  # type: ignore[arg-type]
@given(names, st.integers(0, 3000), st.integers(0, 40), st.text(max_size=6))
def test_a_file_with_a_piece_torn_out_is_refused_or_read(
    name: str, at: int, length: int, put: str
) -> None:
    text = example(name)
    try:
        job_from_text(text[:at] + put + text[at + length :], "f.toml")
    except InputError as error:
        assert all(x.startswith("f.toml: ") for x in error.lines())


@settings(max_examples=60 * TIMES, **QUIET)  # type: ignore[arg-type]
@given(st.text(max_size=200))
def test_any_text_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        job_from_text(text, "f.toml")


#: what can never be a go: (key, value of it as a share of the other key, the other key); a head may be over its
#: undercut by the tolerance, in the examples at most 0.2 on 6.8 mm of width and 0.1 on 2.2 mm of height
NEVER = [
    ("cutter.neck_diameter", "slot.throat_width", 1.0), ("cutter.neck_diameter", "cutter.head_diameter", 1.001),
    ("cutter.neck_diameter", "cutter.shank_diameter", 1.001), ("cutter.head_diameter", "slot.undercut_width", 1.03),
    ("cutter.head_height", "slot.undercut_height", 1.046), ("slot.undercut_height", "slot.depth", 1.0),
    ("slot.throat_width", "slot.undercut_width", 1.0),
]  # fmt: skip


@pytest.mark.parametrize(("key", "other", "least"), NEVER)
@settings(max_examples=15 * TIMES, **QUIET)  # type: ignore[arg-type]
@given(name=names, over=st.floats(0, 3))
def test_what_cannot_fit_is_never_answered(
    key: str, other: str, least: float, name: str, over: float
) -> None:
    data = copy.deepcopy(GOOD[name])
    (t, k), (t2, k2) = key.split("."), other.split(".")
    data[t][k] = f"{units.parse(data[t2][k2], 'length') * least * math.exp(over):.12g} mm"
    assert answer(data) is None


@pytest.mark.parametrize("name", sorted(GOOD))
@pytest.mark.parametrize("zero", ["0 mm", "-0 mm", "1e-99 mm", "0/3 mm"])
@pytest.mark.parametrize(
    "key", ["neck_diameter", "neck_length", "head_diameter", "head_height", "shank_diameter"]
)
def test_a_zero_size_is_never_answered(name: str, zero: str, key: str) -> None:
    data = copy.deepcopy(GOOD[name])
    data["cutter"][key] = zero
    assert answer(data) is None


#: a neck that any machinist would laugh at, and a cut that no small cutter takes: answered, and never with a go
@pytest.mark.parametrize("changes", [
    {"cutter.neck_diameter": "0.2 mm"}, {"cutter.neck_diameter": "0.5 mm"}, {"cut.feed_per_tooth": "1 mm/tooth"},
    {"cut.feed_per_tooth": "5 mm/tooth"}, {"work.kc11": "20000 MPa", "work.mc": 0.3, "cutter.neck_diameter": "1 mm"},
    {"machine.spindle_power": "5 W"}, {"cutter.runout": "1 mm"},
])  # fmt: skip
@pytest.mark.parametrize("name", sorted(GOOD))
def test_folly_is_never_a_go(name: str, changes: dict[str, Any]) -> None:
    data = copy.deepcopy(GOOD[name])
    for path, value in changes.items():
        table, key = path.split(".")
        data[table][key] = value
    found = answer(data)
    assert found is None or found["verdict"] != "go"


@pytest.mark.parametrize("end", [0, 1])
@pytest.mark.parametrize("path", sorted(RANGES))
def test_the_ends_of_every_range_are_refused_or_answered(path: str, end: int) -> None:
    unit, *ends = RANGES[path]
    data = copy.deepcopy(GOOD["t-track"])
    table, key = path.split(".")
    data.setdefault(table, {})[key] = f"{ends[end]} {unit}"
    if path == "machine.max_spindle_speed":
        del data["cut"]["spindle_speed"], data["machine"]["min_spindle_speed"]
    answer(data)


@pytest.mark.parametrize("hardness", [10, 49.9, 50, 60, 63, 70, 70.1, 75])
def test_every_allowed_hardness_is_answered_or_refused(hardness: float) -> None:
    data = copy.deepcopy(GOOD["t-track"])
    data["cutter"]["hardness"] = hardness
    if 50 <= hardness <= 70:
        assert answer(data) is not None
    else:
        with pytest.raises(InputError, match=r"\[cutter\] hardness: is"):
            check(job_from_dict(data, "f.toml"), DRAWN)


def test_advice_that_does_not_fit_is_left_out() -> None:
    """A no-go job whose head cannot be halved: by its corner radius, and by the least height allowed."""
    for changes in (
        {"corner_radius": "0.9 mm"},
        {"head_height": "0.15 mm", "neck_diameter": "0.4 mm"},
    ):
        data = copy.deepcopy(GOOD["thin-neck"])
        data["cutter"] |= changes
        if "head_height" in changes:
            data["slot"]["undercut_height"] = "0.15 mm"
            data["slot"]["depth"] = "9.4 mm"
        found = answer(data)
        assert found is not None
        assert found["verdict"] == "no-go"


def test_a_table_feed_that_makes_an_absurd_chip_is_refused_or_no_go() -> None:
    """Each key is in its range, the feed per tooth that follows is not: 60 m/min at 420 rpm and two teeth is 71 mm."""
    data = copy.deepcopy(GOOD["thin-neck"])
    del data["cut"]["feed_per_tooth"]
    data["cut"] |= {"spindle_speed": "420 rpm", "feed_rate": "60 m/min"}
    found = answer(data)
    assert found is None or found["verdict"] == "no-go"


def test_a_neck_as_thick_as_its_shank_is_answered() -> None:
    """A cutter turned from the plain blank: no shoulder at the shank, so no stress concentration there."""
    data = copy.deepcopy(GOOD["t-track"])
    data["cutter"] |= {"shank_diameter": "5.2 mm", "neck_fillet": "0.2 mm"}
    assert answer(data) is not None


@settings(max_examples=12 * TIMES, **QUIET)  # type: ignore[arg-type]
@given(share=st.one_of(st.sampled_from([0.5, 0.999, 1.0, 1.0001]), st.floats(0.4, 1.2)), wider=st.floats(0.01, 3.0), sides=st.sampled_from([1, 2]),
       heights=st.sampled_from([1.0, 2.0, 2.6]), ends=st.sampled_from([0, 1, 2]))  # fmt: skip
def test_a_head_inside_the_throat_is_answered(
    share: float, wider: float, sides: int, heights: float, ends: int
) -> None:
    """A head narrower than the throat meets metal in its side passes alone."""
    data = copy.deepcopy(GOOD["t-track"])
    data["slot"] |= {
        "throat_width": "12 mm",
        "undercut_width": f"{12 + wider:.6g} mm",
        "sides": sides,
        "open_ends": ends,
    }
    data["cutter"] |= {
        "head_diameter": f"{min(12 * share, 12 + wider):.6g} mm",
        "neck_diameter": "4 mm",
        "head_height": f"{2.6 / heights:.6g} mm",
        "neck_length": "7 mm",
    }
    del data["cut"]["feed_per_tooth"]
    assert answer(data) is not None


@pytest.mark.slow
def test_many_teeth_are_answered_in_bounded_memory() -> None:
    """The whole `check` stays under 300 MiB, for the most teeth that are allowed."""
    import subprocess
    import sys
    from pathlib import Path

    text = example("t-track").replace("teeth = 2", "teeth = 12")
    root = Path(__file__).resolve().parent.parent
    # VmHWM is of this program alone; the peak that getrusage tells takes in the process it was forked from
    script = (
        "import atexit, re, sys\nfrom pathlib import Path\n"
        "hwm = lambda: re.search(r'VmHWM:\\s+(\\d+) kB', Path('/proc/self/status').read_text())[1]\n"
        "atexit.register(lambda: print(hwm(), file=sys.stderr))\n"
        "sys.argv = ['loadsim', 'check', '-']\nfrom loadsim.cli import main\nmain()"
    )
    if not Path("/proc/self/status").exists():
        pytest.skip("no /proc to read the peak from")
    done = subprocess.run(
        [sys.executable, "-c", script],
        input=text.encode(),
        capture_output=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(root)},
        timeout=60,
    )
    assert done.returncode in (0, 1, 2)
    peak = int(done.stderr.split()[-1])  # of this child alone, told by itself
    assert peak / 1024 < 300


@pytest.mark.slow
def test_the_finest_stepover_is_answered_or_refused_in_time() -> None:
    """A stepover at the least allowed asks for hundreds of passes: no answer may take minutes."""
    import subprocess
    import sys
    from pathlib import Path

    text = example("one-sided").replace("[cut]", '[cut]\nstepover = "0.005 mm"')
    root = Path(__file__).resolve().parent.parent
    script = (
        "import atexit, resource, sys\n"
        "atexit.register(lambda: print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, file=sys.stderr))\n"
        "sys.argv = ['loadsim', 'check', '-']\nfrom loadsim.cli import main\nmain()"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        input=text.encode(),
        capture_output=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(root)},
        timeout=20,
    )
    assert done.returncode in (0, 1, 2)
    assert b"Traceback" not in done.stderr

"""Maps: each row is the answer of `check`, whatever the path and whatever the engine."""

from __future__ import annotations

import functools
import math
import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from loadsim import check
from loadsim.answers.maps import arrays, axes, stream
from loadsim.answers.maps import table as table_room
from loadsim.answers.maps.stream import write_table
from loadsim.answers.maps.table import NOT_FINITE, table
from loadsim.base.errors import InputError, Problem
from loadsim.job import quantities
from loadsim.job.quantities import column
from loadsim.job.read import changed, job_from_text
from loadsim.job.tables import Cut, Cutter, Job
from loadsim.job.write import example
from loadsim.loads.assumptions import CLEARANCE
from loadsim.loads.cut import cutting, written_engagement
from loadsim.loads.resolve import resolve
from loadsim.risk import samples, snap

RPM = math.pi / 30
FEED = "cut.feed_per_tooth"
NECK = "cutter.neck_diameter"
SPEED = "cut.spindle_speed"


@functools.cache
def made(name: str = "t-track", **changes: Any) -> Job:
    base = job_from_text(example(name), name)
    return changed(base, {k.replace("__", "."): v for k, v in changes.items()})


#: A straight shank: the shoulder has no step, so that the corner at the head governs once the feed is high enough.
FLIPPING = made(
    cutter__shank_diameter=5.2,
    cutter__neck_length=6.74,
    cutter__stickout=18.74,
    cutter__neck_fillet=0.1,
)


def same_as_check(job: Job, over: dict[str, Sequence[float]], **options: Any) -> pd.DataFrame:
    """Compare every valid row of a map with the whole check of that point."""
    frame = table(job, over, samples_log2=8, **options)
    drawn = samples.draws(8)
    grid = np.stack(np.meshgrid(*over.values(), indexing="ij"), -1).reshape(-1, len(over))
    assert len(frame) == len(grid)
    for values, (_, row) in zip(grid.tolist(), frame.iterrows(), strict=True):
        result = check(changed(job, dict(zip(over, values, strict=True))), drawn)
        loads = result.loads
        neck = result.neck
        chance = result.risk
        expected = {
            "peak_force_N": loads.peak_force_N,
            "peak_torque_Nmm": loads.peak_torque_Nmm,
            "peak_stress_MPa": neck.peak_stress_MPa,
            "deflection_mm": neck.deflection_mm,
            **{f"use: {x.name}": x.utilization for x in result.limits},
        }
        if options.get("probability", True):
            expected |= {
                "snap_probability": chance.snap_probability,
                "low": chance.low,
                "high": chance.high,
            }
        for name, value in expected.items():
            assert row[name] == pytest.approx(value, rel=1e-9), (name, values)
        spare = {c for c in frame.columns if c.startswith("use: ")} - set(expected)
        assert all(math.isnan(row[c]) for c in spare), "a limit that does not apply has no number"
    return frame


def no_slow_path(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*args: object) -> None:
        raise AssertionError("a point was answered alone")

    monkeypatch.setattr(table_room, "_row", refuse)


# --- equal to the check, point by point ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "over"),
    [
        ("t-track", {FEED: [0.004, 0.016, 0.05], NECK: [2.5, 5.2, 6.0]}),
        ("one-sided", {NECK: [4.0, 6.6], FEED: [0.004, 0.02], SPEED: [100 * RPM, 230 * RPM]}),
        ("thin-neck", {NECK: [1.5, 2.0], FEED: [0.005, 0.02]}),  # the speed is picked for each neck
    ],
)
def test_arrays_equal_check(
    name: str, over: dict[str, Sequence[float]], monkeypatch: pytest.MonkeyPatch
) -> None:
    no_slow_path(monkeypatch)
    same_as_check(made(name), over)


def test_feed_rate_and_mapped_speed_equal_check(monkeypatch: pytest.MonkeyPatch) -> None:
    no_slow_path(monkeypatch)
    job = made(cut__feed_per_tooth=None, cut__feed_rate=1.2)
    frame = same_as_check(job, {SPEED: [1000 * RPM, 2600 * RPM]})
    assert frame[
        "peak_force_N"
    ].is_monotonic_decreasing  # the same table feed, shared among more teeth


def test_arrays_equal_check_where_the_other_notch_takes_over(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    no_slow_path(monkeypatch)
    feeds = np.geomspace(0.002, 0.15, 6)
    s = resolve(FLIPPING)
    shoulder = cutting(
        s, written_engagement(s, s.cut.stepover), 100 * RPM, feeds
    ).summary.at_shoulder
    assert shoulder.any() and not shoulder.all()  # or this test says nothing
    same_as_check(FLIPPING, {FEED: feeds.tolist()}, probability=False)


@pytest.mark.parametrize(
    ("job", "over"),
    [
        (made(), {"slot.undercut_height": [2.6, 2.9], "cutter.runout": [0.0, 0.02]}),
        (made("one-sided"), {"cut.stepover": [0.5, 1.5], FEED: [0.01]}),
        (
            made(cut__feed_per_tooth=None, cut__spindle_speed=None),
            {NECK: [3.0, 5.2]},
        ),  # speed and feed are picked
        (made(cut__feed_per_tooth=None), {"cut.feed_rate": [0.8, 1.6]}),
        (
            made("one-sided", cut__direction=None, cut__stepover=0.7),
            {"cutter.edge_radius": [0.005, 0.02]},
        ),
        (made("one-sided", cutter__head_diameter=13.0), {"slot.undercut_width": [14.2, 15.5]}),
    ],
)
def test_point_by_point_equals_check(job: Job, over: dict[str, Sequence[float]]) -> None:
    same_as_check(job, over)


def test_picked_settings_are_told() -> None:
    job = made(cut__feed_per_tooth=None, cut__spindle_speed=None)
    row = table(job, {NECK: [5.2]}, samples_log2=8, probability=False).iloc[0]
    settings = check(job, samples.draws(8)).settings
    assert row[column(SPEED)] == pytest.approx(settings.spindle_speed_rpm, rel=1e-8)
    assert row[column(FEED)] == pytest.approx(settings.feed_per_tooth_mm, rel=1e-8)
    hopeless = made("thin-neck", cut__feed_per_tooth=None)
    assert table(hopeless, {NECK: [1.0]}, samples_log2=8)["note"][0].startswith(
        "No feed is a go, bound by "
    )


# --- closed forms ----------------------------------------------------------------------------------------


def test_closed_forms() -> None:
    job = made()
    frame = table(job, {SPEED: [500 * RPM, 2000 * RPM], NECK: [3.0, 4.0, 5.0]}, samples_log2=8)
    omega = np.repeat([500 * RPM, 2000 * RPM], 3)
    d = np.tile([3.0, 4.0, 5.0], 2)
    # demand over capacity by their definitions: clearance each side of the neck; T omega / (0.8 P); v / v_max
    np.testing.assert_allclose(
        frame["use: neck in throat"], (d + 2 * CLEARANCE) / job.slot.throat_width, rtol=1e-12
    )
    np.testing.assert_allclose(
        frame["use: spindle torque"],
        check(job, samples.draws(8)).loads.mean_torque_Nmm
        * omega
        / (0.8 * job.machine.spindle_power),
        rtol=1e-12,
    )
    assert frame["use: surface speed"][3] / frame["use: surface speed"][0] == pytest.approx(
        4.0, rel=1e-12
    )
    # neither force nor snap probability knows the speed, and a thicker neck never snaps more often
    assert (
        frame["snap_probability"][:3].to_numpy() == frame["snap_probability"][3:].to_numpy()
    ).all()
    assert (
        frame["snap_probability"][:3].is_monotonic_decreasing
        and frame["peak_stress_MPa"][:3].is_monotonic_decreasing
    )
    assert (frame["low"] <= frame["snap_probability"]).all() and (
        frame["snap_probability"] <= frame["high"]
    ).all()


# --- shape and units -------------------------------------------------------------------------------------


def test_rows_are_row_major_and_in_the_units_of_the_answer() -> None:
    frame = table(made(), {SPEED: [1000 * RPM, 2000 * RPM], FEED: [0.01, 0.02]}, probability=False)
    assert frame["cut.spindle_speed [rpm]"].tolist() == [1000.0, 1000.0, 2000.0, 2000.0]
    assert frame["cut.feed_per_tooth [mm]"].tolist() == [0.01, 0.02, 0.01, 0.02]
    assert list(frame.columns[:6]) == [
        "cut.spindle_speed [rpm]",
        "cut.feed_per_tooth [mm]",
        *arrays.LOADS,
    ]
    assert frame.columns[-1] == "note" and not set(arrays.CHANCE) & set(frame.columns)


def test_a_table_asked_for_in_inch_has_no_noise_of_conversion() -> None:
    """0.2 in, 0.28 in and 0.36 in are 5.08, 7.112 and 9.144 mm."""
    key, values = axes.parse_over("slot.depth=0.28 in:0.36 in:2")
    text = axes.csv_text(
        table(
            made(cutter__neck_length=8.0, cutter__stickout=18.0), {key: values}, probability=False
        )
    )
    assert [line.split(",")[0] for line in text.splitlines()[1:]] == ["7.112", "9.144"]


@pytest.mark.parametrize("over", [{FEED: [0.016, 0.5]}, {"machine.spindle_power": [1.1e6, 1e4]}])
def test_a_row_has_the_verdict_of_a_check(over: dict[str, Sequence[float]]) -> None:
    """In one process by arrays, and point by point."""
    job = made(target__snap_probability=0.001)
    frame = table(job, over, samples_log2=8)
    bare = table(job, over, probability=False)
    (key,) = over
    for k, value in enumerate(over[key]):
        result = check(changed(job, {key: value}), samples.draws(8))
        assert frame["verdict"][k] == result.verdict
        assert bool(frame["safe"][k]) == (result.verdict == "go")
        # without the chance: no-go by a hard limit alone, go when none is near and no soft one over
        holds = all(x.utilization <= 1 + 1e-9 for x in result.limits if x.hard)
        assert (bare["verdict"][k] != "no-go") == holds
    assert frame["verdict"][1] == "no-go" and not frame["safe"][1]
    assert list(frame.columns[-3:]) == ["verdict", "safe", "note"]


def test_every_quantity_has_a_column_unit() -> None:
    found = {key: column(key) for key in quantities.quantities()}
    assert found["machine.spindle_power"] == "machine.spindle_power [W]"
    assert found["work.kc11"] == "work.kc11 [MPa]" and found["cutter.rake"] == "cutter.rake [deg]"
    assert not {"cutter.teeth", "cutter.hardness", "slot.sides", "machine.feed", "work.mc"} & set(
        found
    )
    assert (
        len(found) == 8 + 15 + 7 + 4 + 2 + 6
    )  # slot, cutter, machine, cut, work, grind: counted in the tables of the job file


# --- points that are no valid job ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("over", "valid", "says"),
    [
        ({NECK: [5.2, 6.2, 7.0], FEED: [0.01]}, 1, "[cutter] neck_diameter: is 6.2 mm (0.2441 in); the neck must pass through throat_width"),
        ({SPEED: [2600 * RPM, 2900 * RPM, math.nan]}, 1, "[cut] spindle_speed: is 2900 rpm; the machine runs 80 to 2800 rpm"),
        ({FEED: [0.01, -0.01, 9.0]}, 1, "[cut] feed_per_tooth: is -0.01 mm/tooth; allowed is 0.00001 to 5 mm/tooth"),
        ({"slot.throat_width": [6.2, 5.0, 11.0]}, 1, "[cutter] neck_diameter: is 5.2 mm (0.2047 in); the neck must pass through"),
        ({"cut.feed_rate": [1.0, 2.0]}, 0, ""),
    ],
)  # fmt: skip
def test_a_point_that_is_no_job_is_a_row_without_numbers(
    over: dict[str, Sequence[float]], valid: int, says: str
) -> None:
    frame = table(made(), over, samples_log2=8)
    numbers = frame.drop(columns=["note", *(column(k) for k in over)])
    assert numbers[valid:].isna().all(axis=None)  # least of all a probability of zero
    assert (frame["note"][valid:] != "").all() and (frame["note"][:valid] == "").all()
    assert numbers[:valid].notna().all(axis=None)
    assert says in "".join(frame["note"][valid : valid + 1])
    if not valid:
        assert "is given together with feed_per_tooth" in frame["note"][0]


def test_values_that_are_right_alone_and_wrong_together(monkeypatch: pytest.MonkeyPatch) -> None:
    def fits(job: Job, cut: Cut, cutter: Cutter) -> list[Problem]:
        wrong = cutter.neck_diameter < 3 and (cut.feed_per_tooth or 0) > 0.02
        return (
            [Problem(where="[cut] feed_per_tooth", message="is too much for this neck")]
            if wrong
            else []
        )

    monkeypatch.setattr(arrays, "setting_relations", fits)
    monkeypatch.setattr("loadsim.job.rules_cutter.setting_relations", fits)
    frame = table(made(), {NECK: [2.5, 4.0], FEED: [0.01, 0.03]}, samples_log2=8)
    assert frame["snap_probability"].isna().tolist() == [False, True, False, False]
    assert frame["note"].tolist() == ["", "[cut] feed_per_tooth: is too much for this neck", "", ""]


@pytest.mark.parametrize("over", [{FEED: [0.01, 0.02]}, {"cutter.runout": [0.0, 0.01]}])
def test_an_answer_that_is_not_finite_is_no_answer(
    over: dict[str, Sequence[float]], monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = arrays.numbers

    def broken(*args: Any) -> dict[str, Any]:
        return {k: v * math.inf if k == "use: neck fatigue" else v for k, v in whole(*args).items()}

    for room in (table_room, arrays):
        monkeypatch.setattr(room, "numbers", broken)
    frame = table(made(), over, samples_log2=8)
    assert frame.drop(columns=["note", *(column(k) for k in over)]).isna().all(axis=None)
    assert (frame["note"] == NOT_FINITE).all()


def test_a_probability_that_fails_takes_the_row_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*args: object, **named: object) -> None:
        raise ValueError("the snap probability is not a finite number")

    monkeypatch.setattr(snap, "snaps", fail)
    frame = table(made(), {FEED: [0.01, 0.02]}, samples_log2=8)
    assert frame.drop(columns=["note", column(FEED)]).isna().all(axis=None)
    assert (frame["note"] == "the snap probability is not a finite number").all()


def test_a_material_that_is_not_known_is_a_problem_of_the_job() -> None:
    with pytest.raises(InputError, match=r"\[work\] material: "):
        table(made(work__material="unobtainium"), {FEED: [0.01]})


# --- what cannot be asked --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("over", "message"),
    [
        (
            {"cut.feed_per_toth": [0.01]},
            r"over: cut\.feed_per_toth: is not a known quantity; did you mean cut\.feed_per_tooth\?",
        ),
        ({"feed_per_tooth": [0.01]}, r"did you mean cut\.feed_per_tooth\?"),
        ({"cutter.teeth": [2]}, r"over: cutter\.teeth: has no unit"),
        ({"target.wall_error": [0.1]}, r"target\.wall_error: is not a known quantity"),
        ({}, "names 0 quantities; a map runs over 1 to 3"),
        ({key: [0.1] for key in (FEED, NECK, SPEED, "cutter.runout")}, "names 4 quantities"),
        ({FEED: []}, "needs at least one value"),
        ({FEED: ["0.01 mm"]}, "each a number in internal units"),
        ({FEED: "0.01"}, "needs at least one value"),
        ({FEED: b"12"}, "needs at least one value"),
        ({FEED: [True]}, "each a number"),
        (
            {FEED: np.ones(1001), NECK: np.ones(1000)},
            "makes 1,001,000 points; allowed are 1,000,000",
        ),
    ],
)
def test_bad_axes_are_refused(over: dict[str, Any], message: str) -> None:
    with pytest.raises(InputError, match=message):
        table(made(), over)


@pytest.mark.parametrize("options", [{"chunk": 0}, {"samples_log2": 7}, {"samples_log2": 21}])
def test_bad_options_are_refused(options: dict[str, int]) -> None:
    with pytest.raises(ValueError, match="allowed are at least 1, and 8 to 20"):
        table(made(), {FEED: [0.01]}, **options)


@pytest.mark.parametrize(
    ("text", "key", "values"),
    [
        ("cut.feed_per_tooth=0.005 mm:0.03 mm:6", FEED, [0.005, 0.01, 0.015, 0.02, 0.025, 0.03]),
        (" cutter.neck_diameter = 3/32 in , 2.5mm", NECK, [25.4 * 3 / 32, 2.5]),
        ("cut.spindle_speed=600 rpm", SPEED, [20 * math.pi]),
    ],
)
def test_over_is_read(text: str, key: str, values: list[float]) -> None:
    got, found = axes.parse_over(text)
    assert got == key and found == pytest.approx(values, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "cut.feed=1 mm:2 mm:3",
            r"--over: cut\.feed: is not a known quantity; did you mean cut\.feed_rate\?",
        ),
        ("=1 mm:2 mm:3", r"\(empty\): is not a known quantity"),
        ("cut.feed_per_tooth", "is empty.*write cut.feed_per_tooth=LOW:HIGH:COUNT"),
        ("cut.feed_per_tooth=0.005:0.03:20", "'0.005' has no unit"),
        ("cut.feed_per_tooth=0.005 mm:0.03 mm", "has 2 parts between colons"),
        (
            "cut.feed_per_tooth=0.005 mm:0.03 mm:1",
            "has the count '1'; write a whole number, 2 to 1,000,000",
        ),
        ("cut.feed_per_tooth=0.005 mm:0.03 mm:2.5", "has the count '2.5'"),
        ("cut.feed_per_tooth=0.005 mm:0.03 mm:²", "has the count '²'"),
        ("cut.feed_per_tooth=0.03 mm:0.03 mm:5", "starts at or over its end"),
        ("cut.feed_per_tooth=10 N:20 N:3", "is a force, but a feed per tooth is needed"),
        ("cut.feed_per_tooth=0.01 mm,", "is empty"),
    ],
)
def test_bad_over_is_refused(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        axes.parse_over(text)


# --- any engine ------------------------------------------------------------------------------------------


@contextmanager
def engine(name: str) -> Iterator[Executor]:
    if name == "threads":
        with ThreadPoolExecutor(2) as pool:
            yield pool
    elif name == "processes":
        with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as pool:
            yield pool
    else:
        distributed = pytest.importorskip(
            "distributed", reason="distributed (the extra [cluster]) is not installed"
        )
        with distributed.Client(
            n_workers=2, threads_per_worker=1, dashboard_address=None
        ) as client:
            yield client.get_executor(pure=False)


@pytest.mark.parametrize("name", ["threads", "processes", "distributed"])
def test_every_engine_gives_the_same_table(name: str) -> None:
    grids: tuple[dict[str, Sequence[float]], ...] = (
        {FEED: [0.02, 0.01, 0.04], NECK: [2.5, 6.3, 3.0]},  # arrays, and a neck that is no job
        {"cutter.runout": [0.0, 0.02, 0.05], FEED: [0.02, 0.01]},
    )
    with engine(name) as executor:
        for over in grids:
            serial = table(made(), over, samples_log2=8)
            pd.testing.assert_frame_equal(
                serial,
                table(made(), over, samples_log2=8, executor=executor, chunk=2),
                check_exact=True,
            )


def test_the_chunk_changes_nothing_and_progress_is_told() -> None:
    told: list[tuple[int, int]] = []
    over = {FEED: [0.02, 0.01, 0.04], NECK: [2.5, 3.0]}
    one = table(made(), over, samples_log2=8)
    two = table(
        made(), over, samples_log2=8, chunk=1, progress=lambda done, of: told.append((done, of))
    )
    pd.testing.assert_frame_equal(one, two, check_exact=True)
    assert told == [(k, 6) for k in range(1, 7)]


class Stopped(Executor):
    """The first piece is stopped from the keyboard, the others wait."""

    def __init__(self) -> None:
        self.futures: list[Future[Any]] = []

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        future: Future[Any] = Future()
        if not self.futures:
            future.set_exception(KeyboardInterrupt())
        self.futures.append(future)
        return future


@pytest.mark.parametrize("key", [FEED, "cutter.runout"])
def test_a_stop_cancels_what_is_pending(key: str) -> None:
    executor = Stopped()
    with pytest.raises(KeyboardInterrupt):
        table(made(), {key: [0.01, 0.02, 0.03]}, samples_log2=8, executor=executor, chunk=1)
    assert len(executor.futures) == 3
    assert all(f.cancelled() for f in executor.futures[1:])


class Watched(Executor):
    """An engine whose futures are kept."""

    def __init__(self, inner: Executor) -> None:
        self.inner = inner
        self.futures = []

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        self.futures.append(self.inner.submit(fn, *args, **kwargs))
        return self.futures[-1]


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
@pytest.mark.parametrize("name", ["threads", "processes", "distributed"])
def test_a_signal_cancels_what_waits_on_any_engine(name: str, tmp_path: Path) -> None:
    told: list[int] = []

    def stop_soon(done: int, of: int) -> None:
        told.append(done)
        if done == 1:  # the signal comes while a piece is waited for
            threading.Timer(0.05, os.kill, (os.getpid(), signal.SIGINT)).start()

    with engine(name) as inner:
        executor = Watched(inner)
        with pytest.raises(KeyboardInterrupt):
            frame = table(
                made(),
                {FEED: np.linspace(0.005, 0.03, 200).tolist()},
                samples_log2=13,
                executor=executor,
                chunk=1,
                progress=stop_soon,
            )
            (tmp_path / "map.csv").write_text(axes.csv_text(frame))
        assert len(executor.futures) == 200 and 1 <= len(told) < 200
        end = time.monotonic() + 30
        while not all(f.done() for f in executor.futures) and time.monotonic() < end:
            time.sleep(
                0.01
            )  # not wait(): distributed does not always notify of a future that was cancelled
        assert all(f.done() for f in executor.futures)
        assert sum(f.cancelled() for f in executor.futures) > 100  # most of them: two run at a time
        assert inner.submit(int, "3").result(timeout=30) == 3  # the engine itself lives on
    assert not list(tmp_path.iterdir())


# --- written out -----------------------------------------------------------------------------------------


def test_csv_reads_back(tmp_path: Path) -> None:
    over = {NECK: [5.2, 7.0]}
    frame = table(made(), over)
    path = tmp_path / "map.csv"
    assert write_table(made(), over, path) == 2
    pd.testing.assert_frame_equal(
        pd.read_csv(
            path, keep_default_na=True, dtype={"note": str, "safe": "boolean", "verdict": "string"}
        ).fillna({"note": ""}),
        frame,
    )
    assert [p.name for p in tmp_path.iterdir()] == ["map.csv"]
    assert b"\r" not in path.read_bytes()


@pytest.mark.parametrize(
    ("error", "seen", "says"),
    [
        (
            OSError(28, "No space left on device"),
            InputError,
            r"map\.csv: cannot be written: No space left on device",
        ),
        (KeyboardInterrupt(), KeyboardInterrupt, "^$"),
    ],
)
def test_csv_is_whole_or_not_there(
    error: BaseException,
    seen: type[BaseException],
    says: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    path = tmp_path / "map.csv"
    path.write_text("before")

    def full(slabs: object, held: object) -> Iterator[str]:
        yield "half a ta"
        raise error

    monkeypatch.setattr(stream, "_joined", full)
    with pytest.raises(seen, match=says):
        write_table(made(), {NECK: [5.2]}, path, probability=False)
    assert path.read_text() == "before" and [p.name for p in tmp_path.iterdir()] == ["map.csv"]


@pytest.mark.parametrize("name", [".", "none/map.csv"])
def test_csv_that_cannot_be_written(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be written"):
        write_table(made(), {NECK: [5.2]}, tmp_path / name, probability=False)
    assert not list(tmp_path.rglob("*.part"))


@pytest.mark.parametrize("slab", [1, 6, 100])
def test_a_map_is_the_same_however_few_points_are_held(slab: int, tmp_path: Path) -> None:
    # the first neck is thicker than the head: a slab of it alone knows of no limit
    over = {NECK: [12.0, 5.2, 3.1], FEED: [0.005, 0.01, 0.02]}
    path = tmp_path / "map.csv"
    told: list[tuple[int, int]] = []
    assert write_table(made(), over, path, slab=slab, progress=lambda *x: told.append(x)) == 9
    text = path.read_text()
    assert text == axes.csv_text(table(made(), over))
    assert text.count("use: neck fracture") == 1 and text.count("\n") == 10
    assert told[-1][0] == told[-1][1]

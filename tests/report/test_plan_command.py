"""`loadsim plan` from outside: exit codes, JSON, words; what ships against what the commands write."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from loadsim.cli import cli
from loadsim.job import write


def free(name: str, folder: Path) -> str:
    """An example with [cut] left empty, as a file."""
    keep = [
        x
        for x in write.example(name).splitlines()
        if not x.startswith(("spindle_speed", "feed_per_tooth", "direction"))
    ]
    path = folder / f"{name}.toml"
    path.write_text("\n".join(keep), encoding="utf-8")
    return str(path)


@pytest.mark.parametrize(("name", "code"), [("t-track", 0), ("thin-neck", 1), ("one-sided", 0)])
def test_exit_status_and_json(name: str, code: int, tmp_path: Path) -> None:
    run = CliRunner().invoke(cli, ["plan", free(name, tmp_path), "--json"])
    assert run.exit_code == code, run.output
    data = json.loads(run.output)
    assert data["safe"] is (code == 0)
    assert {"verdict", "settings", "limits", "risk", "predrill", "alternatives", "reasons"} <= set(
        data
    )
    assert data["alternatives"][0]["why_not"] == "" and all(
        a["why_not"] for a in data["alternatives"][1:]
    )
    if code:
        assert data["verdict"] == "no-go" and "neck" in data["alternatives"][0]["bound_by"]


def test_words_for_the_machine(tmp_path: Path) -> None:
    out = CliRunner().invoke(cli, ["plan", free("t-track", tmp_path), "--full"]).output
    for words in (
        "The plan",
        "Spindle speed: bound by",
        "Feed: bound by",
        "Hand feed: one turn in",
        "turns a pass",
        "Ways",
        "chosen",
        "Pre-drilling: not needed",
        "An estimate, not a guarantee",
    ):
        assert words in out


def test_the_schema_that_ships_is_the_one_of_the_models() -> None:
    from importlib.resources import files

    assert (
        json.loads(files("loadsim.job").joinpath("job.schema.json").read_text(encoding="utf-8"))
        == write.schema()
    )


@pytest.mark.parametrize("name", write.examples())
def test_the_example_jobs_that_ship_are_those_that_new_writes(name: str) -> None:
    shipped = Path(__file__).resolve().parents[2] / "reports" / f"{name}.toml"
    assert shipped.read_text(encoding="utf-8") == write.example(name)


def test_map_writes_a_table_and_says_why_a_point_has_no_answer(tmp_path: Path) -> None:
    import csv

    job = free("t-track", tmp_path)
    out = tmp_path / "map.csv"
    args = [
        "map",
        job,
        "--over",
        "cut.feed_per_tooth=0.005 mm:0.02 mm:3",
        "--over",
        "cutter.neck_diameter=3 mm, 7 mm",
        "--csv",
        str(out),
    ]
    run = CliRunner().invoke(cli, args)
    assert run.exit_code == 0, run.output
    rows = list(csv.DictReader(out.read_text(encoding="utf-8").splitlines()))
    assert len(rows) == 6
    assert [r["cut.feed_per_tooth [mm]"] for r in rows[::2]] == ["0.005", "0.0125", "0.02"]
    assert all(r["snap_probability"] and not r["note"] for r in rows[::2])
    assert all("throat_width" in r["note"] and not r["snap_probability"] for r in rows[1::2])
    before = out.read_bytes()
    with pytest.raises(Exception, match="is there already"):
        CliRunner().invoke(cli, args, catch_exceptions=False)
    assert out.read_bytes() == before

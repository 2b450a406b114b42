"""Random jobs through every command: answered in whole or refused by name, and nothing left behind.

Each of 200 jobs goes through one of the commands in every run, the long ones more seldom; `-m nightly` sends 2,000
through all of them. The samples are few: the fuzz is after crashes, not after figures.
"""

from __future__ import annotations

import copy
import json
import math
import re
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from loadsim import cli
from loadsim.job.write import completed
from loadsim.risk import samples
from tests.test_fuzz import BARE, GOOD, MILL, RANGES

#: Words of a user who does not know what belongs there.
NONSENSE = ["", "-1 mm", "1e400 mm", "nan mm", "5", "12 furlong", "0.1.2 mm", "ten", "\u00b5", "1 mm\u0007"]  # fmt: skip
#: What may be said beside an answer or a refusal: a table of the file, or the argument at fault.
NAMED = re.compile(r"\[{1,2}\w+\]{1,2}|--\w+|\w+\.\w+:|^NAME: \"")
COMMANDS = ("check", "plan", "map", "trial", "report", "materials", "grind")
#: Which one a job goes through in every run: check, plan, trial and report answer alike at length,
#: the search for a cutter takes longest.
TURNS = ("check", "plan", "map", "trial", "check", "report", "map", "materials", "check", "trial")
TURNS += ("check", "plan", "map", "trial", "check", "plan", "map", "materials", "check", "map")
EVERY = 200
NIGHT = 2000


def made(seed: int) -> dict[str, Any]:
    """A job: an example with one to four keys drawn over what is allowed, at times one of nonsense
    or one left out; at times with a throat mill.
    """
    rng = np.random.default_rng([20, seed])
    data = copy.deepcopy(GOOD[sorted(GOOD)[seed % len(GOOD)]])
    places = sorted(RANGES) + sorted(BARE)
    for path in rng.choice(places, int(rng.integers(1, 5)), replace=False).tolist():
        table, key = path.split(".")
        if path in BARE:
            value = BARE[path][int(rng.integers(len(BARE[path])))]
        else:
            unit, low, high = RANGES[path]
            now = data.get(table, {}).get(key)
            least = math.log(low or 1e-4)
            # near what the example says, or anywhere: both kinds of slips are made
            x = math.exp(rng.uniform(least, math.log(high)))
            if isinstance(now, str) and now.endswith(f" {unit}") and rng.random() < 0.7:
                x = float(now.split()[0]) * math.exp(rng.normal(0.0, 0.15))
            value = f"{x:.9g} {unit}"
        data.setdefault(table, {})[key] = value
    for key in ("spindle_speed", "feed_per_tooth", "direction"):
        if rng.random() < 0.3:
            data["cut"].pop(key, None)
    if rng.random() < 0.15:
        data["throat_mill"] = dict(MILL)
    if rng.random() < 0.2:
        table = str(rng.choice(sorted(data)))
        key = str(rng.choice(sorted(data[table]) or ["x"]))
        if rng.random() < 0.5:
            data[table].pop(key, None)
        else:
            data[table][key] = str(rng.choice(NONSENSE))
    return data


def arguments(command: str, job: Path, data: dict[str, Any]) -> list[str]:
    match command:
        case "report":
            return ["report", str(job), "-o", str(job.with_name("r.html"))]
        case "grind":
            return ["grind", str(job), "--json", "-o", str(job.with_name("g.toml"))]
        case "map":
            over = "--over=cut.feed_per_tooth=0.004 mm:0.02 mm:2"
            return ["map", str(job), over, "--csv", str(job.with_name("m.csv"))]
        case "materials":
            return ["materials", str(data.get("work", {}).get("material", "")), "--json"]
        case _:
            return [command, str(job), "--json"]


def refuse(word: str) -> None:
    raise AssertionError(f"{word} in the JSON")


def run(
    command: str, data: dict[str, Any], folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = folder / "job.toml"
    text = completed(data)
    job.write_text(text, encoding="utf-8")
    args = arguments(command, job, data)
    status = 0
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "argv", ["loadsim", *args])
        patch.setattr(samples, "USUAL", 8)
        patch.setattr(samples, "TRIED", 8)
        try:
            cli.main()
        except SystemExit as stop:
            status = int(stop.code or 0)
    said, beside = capsys.readouterr()
    assert status in (0, 1, 2), beside
    assert "Traceback" not in beside and "defect" not in beside, beside
    # a word of his own may come back to him
    assert "nan" not in beside.lower().split() or '"nan mm"' in text, beside
    left = {path.name for path in folder.iterdir()} - {"job.toml"}
    assert job.read_text(encoding="utf-8") == text
    if status == 2:
        assert said == ""
        assert left == set()
        lines = beside.strip().split("\n")
        assert lines[0] and all(NAMED.search(line) for line in lines), beside
        return
    if "--json" in args:
        json.loads(said, parse_constant=refuse)
    wanted = {"report": "r.html", "grind": "g.toml", "map": "m.csv"}.get(command)
    assert left == ({wanted} if wanted else set())
    if wanted == "r.html":
        assert (folder / wanted).read_text(encoding="utf-8").rstrip().endswith("</html>")
    for name in left:
        (folder / name).unlink()


@pytest.mark.parametrize("start", range(0, EVERY, 20))
def test_a_job_is_answered_or_refused(
    start: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for seed in range(start, start + 20):
        run(TURNS[seed % len(TURNS)], made(seed), tmp_path, capsys)


@pytest.mark.parametrize("seed", [3, 116])
def test_a_job_gets_a_cutter_or_is_refused(
    seed: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run("grind", made(seed), tmp_path, capsys)


@pytest.mark.slow
@pytest.mark.nightly
@pytest.mark.parametrize("start", range(0, NIGHT, 20))
def test_a_job_is_answered_or_refused_by_every_command(
    start: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for seed in range(start, start + 20):
        data = made(seed)
        for command in COMMANDS:
            run(command, data, tmp_path, capsys)

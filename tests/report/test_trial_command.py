"""`loadsim trial` from outside: the sheet, before and after, recording whole or not at all; what
cuts would teach, against simulated cuts.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from loadsim import read_job
from loadsim.answers import trial_sheet
from loadsim.answers.results import TrialSheet
from loadsim.base.errors import InputError
from loadsim.cli import cli
from loadsim.job.read import changed, job_from_text
from loadsim.job.write import example, recorded
from loadsim.loads import cut
from loadsim.loads.passes import passes
from loadsim.loads.resolve import resolve
from loadsim.report.sheet import content
from loadsim.risk import bayes, samples, trial_readings, trial_update

CUT = ("outcome=survived", "length=30 mm", "spindle_power=30 W", "spindle_power_uncertainty=10 W")
#: Edges that lean so far that nothing rings: the chances are too small to tell lengths apart.
TEXT = example("t-track").replace("# edge_skew = ...", 'edge_skew = "4 deg"')


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def run(*args: str) -> Any:
    found = CliRunner().invoke(cli, ["trial", *args], catch_exceptions=False)
    assert found.exit_code == 0, found.output
    return found


def test_the_sheet_without_any_test_cut(job: Path) -> None:
    out = " ".join(run(str(job), "--full").output.split())
    for words in (
        "No test cut counts",
        "The next test cut: 2600 rpm,",
        "in scrap of the same stock",
        "Chance to snap:",
        "outcome alone",
        "spindle power",
        "What to look for",
        "sound: a beat 43 times a second: at this runout one tooth works",
        "chips: ",
        "finish and burrs: ",
        "size: undercut",
        "If not: ",
        "--record outcome=survived",
        "An estimate, not a guarantee",
    ):
        assert words in out
    # two teeth at 2600 rpm pass 2 * 2600 / 60 = 86.7 times a second


def test_rows_alike_but_for_the_length_are_told_once(job: Path) -> None:
    lines = run(str(job), "--full").output.splitlines()
    start = lines.index("The others") + 2
    rows = [x.split("  ") for x in lines[start : lines.index("", start)]]
    cells = [[x.strip() for x in row if x.strip()] for row in rows]
    told = [(row[0], *row[2:]) for row in cells]
    assert len(told) == len(set(told)) > 2
    # two head diameters and the whole slot, at most feeds
    assert sum(row[1] == "20.800 mm or 118.000 mm" for row in cells) >= len(cells) // 2


def test_a_reading_expected_anywhere_is_not_proposed(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    spans = {
        x.name: x.expected.high_95 / x.expected.low_95
        for x in trial_sheet.sheet_of(read_job(job)).candidates[0].reads
        if x.name in ("force", "spindle_power")
    }
    assert spans["force"] < spans["spindle_power"] < trial_sheet.WIDEST == 30.0
    monkeypatch.setattr(trial_sheet, "WIDEST", sum(spans.values()) / 2)
    sheet = trial_sheet.sheet_of(read_job(job))
    names = [x.name for x in sheet.candidates[0].reads]
    assert "force" in names and "wall_offset" in names and "spindle_power" not in names
    assert "spindle power:" not in run(str(job)).output
    assert content.sound_text(sheet)


def test_page_one_tells_the_likeliest_wrong_sound_and_the_sheet_all_of_them(job: Path) -> None:
    # runout lifts one of the two teeth clear: a heavier knock means it works too
    sheet = trial_sheet.sheet_of(read_job(job))
    sound = sheet.looks[0]
    knock = "a heavier knock, or one that comes and goes: stop, look at the edges and the collet"
    squeal = "a squeal: it rubs or rings, hone the edge, slower spindle"
    assert sound.wrong == (knock, squeal)
    assert sheet.to_dict()["looks"][0]["if_not"] == f"{knock}; {squeal}"
    said = content.sound_text(sheet)
    assert f"Right sound: {sound.right}. Wrong: {knock}." in said and squeal not in said


def test_record_then_before_and_after(job: Path) -> None:
    found = run(str(job), "--record", *CUT)
    assert "1 test cut: the chance" in found.output and "Recorded in" in found.output
    text = job.read_text("utf-8")
    assert text.startswith(TEXT.rstrip()) and text.count("\n[[trial]]\n") == 1
    (made,) = read_job(job).trial
    assert (
        made.length,
        made.outcome,
        made.spindle_power,
        made.direction,
        made.material,
        made.blank,
    ) == (30.0, "survived", 30e3, "conventional", "al-6061-o", "hss-m2")
    assert (
        made.spindle_speed == pytest.approx(2600 * np.pi / 30)
        and made.feed_per_tooth == 0.016
        and made.neck_diameter == 5.2
    )
    data = json.loads(run(str(job), "--json").stdout)
    assert data["trials"]["cuts"][0]["readings"][0]["value"] == 30.0
    assert data["candidates"][0]["reads"] and data["looks"][0]["if_not"] and data["why"]
    for command in ("check", "plan"):
        out = CliRunner().invoke(cli, [command, str(job), "--full"]).output
        assert "Test cuts: 1 counts" in out and "force factor" in out and "before" in out
        assert (
            json.loads(CliRunner().invoke(cli, [command, str(job), "--json"]).stdout)["trials"][
                "effective_samples"
            ]
            > 500
        )


@pytest.mark.parametrize(("entries", "line"), [
    (["outcome=survived"], "[[trial]] 1 length: is missing"), (["lenght=30 mm", *CUT[:1]], "--record: lenght: is not a key of [[trial]]; did you mean length?"),
    ([*CUT, "length=3 mm"], "--record: length: is given twice"), (["outcome=lived", "length=3 mm"], "[[trial]] 1 outcome: is lived; allowed is one of"),
    ([*CUT[:2], "force=30"], "[[trial]] 1 force: "), ([*CUT[:2], "force=30 N"], "[[trial]] 1 force_uncertainty: is missing"),
    ([*CUT[:2], "force=30 N", "force_uncertainty=40 N"], "[[trial]] 1 force_uncertainty: is 1.33 times the reading"),
    ([*CUT[:2], "feed_rate=40 mm/min", "feed_per_tooth=0.01 mm"], "[[trial]] 1 feed_rate: is given together"), (["outcome"], '--record: outcome: has no "="'),
    ([*CUT[:2], "predrill=true"], "[[trial]] 1 predrill: is true, but"), ([*CUT[:2], "predrill=yes"], "[[trial]] 1 predrill: is yes; write true without quotes"),
    ([*CUT[:2], "stepover=0.01 mm"], "[[trial]] 1 stepover: is 0.01 mm"), ([*CUT[:2], 'note=a"b\nc'], "[[trial]] 1 note: holds control characters"),
])  # fmt: skip
def test_what_does_not_fit_is_refused_and_nothing_is_written(
    job: Path, entries: list[str], line: str
) -> None:
    with pytest.raises(InputError) as caught:
        CliRunner().invoke(cli, ["trial", str(job), "--record", *entries], catch_exceptions=False)
    assert any(x.removeprefix(f"{job}: ").startswith(line) for x in caught.value.lines()), (
        caught.value.lines()
    )
    assert job.read_text("utf-8") == TEXT
    assert list(job.parent.iterdir()) == [job]


@pytest.mark.parametrize("args", [["--record"], ["outcome=survived"]])
def test_record_and_entries_belong_together(job: Path, args: list[str]) -> None:
    with pytest.raises(InputError, match="belong together"):
        CliRunner().invoke(cli, ["trial", str(job), *args], catch_exceptions=False)


def test_standard_input_cannot_be_written_to() -> None:
    with pytest.raises(InputError, match="cannot be written to"):
        CliRunner().invoke(
            cli, ["trial", "-", "--record", *CUT], input=TEXT, catch_exceptions=False
        )


def test_text_is_kept_whatever_its_line_ends_and_its_second_cut() -> None:
    once = recorded(TEXT, "f", CUT)
    twice = recorded(
        once,
        "f",
        ("outcome=snapped", "length=5 mm", 'note=the "second" \\ µ', "feed_rate=60 mm/min"),
    )
    assert twice.startswith(once) and len(job_from_text(twice, "f").trial) == 2
    second = job_from_text(twice, "f").trial[1]
    assert (
        second.note == 'the "second" \\ µ'
        and second.feed_per_tooth is None
        and second.feed_rate == pytest.approx(1.0)
    )
    dos = recorded(TEXT.replace("\n", "\r\n"), "f", CUT)
    assert "\n" not in dos.replace("\r\n", "")


def test_a_cut_that_contradicts_is_written_down_all_the_same(job: Path) -> None:
    """A break must not be lost because it is surprising: the file holds it, and no answer is given until it is looked into."""
    with pytest.raises(InputError, match=r"\[\[trial\]\] 1: contradicts"):
        CliRunner().invoke(
            cli,
            [
                "trial",
                str(job),
                "--record",
                "outcome=snapped",
                "length=1 mm",
                "feed_per_tooth=0.002 mm/tooth",
            ],
            catch_exceptions=False,
        )
    assert len(read_job(job).trial) == 1
    with pytest.raises(InputError, match=f"^{job}: "):
        CliRunner().invoke(cli, ["check", str(job)], catch_exceptions=False)


@pytest.mark.parametrize(("text", "line"), [
    ('[[trial]]\nspindel_speed = "1 rpm"', "[[trial]] 1 spindel_speed: is not a known key; did you mean spindle_speed?"),
    ('trial = 3', "[trial] trial: "), ('[trial]\nlength = "3 mm"', "[trial]: "),
])  # fmt: skip
def test_bad_tables_are_named(text: str, line: str) -> None:
    body = TEXT + "\n" + text if "[" in text else text + "\n" + TEXT
    with pytest.raises(InputError) as caught:
        job_from_text(body, "f")
    if "[[" in text:
        assert any(x.startswith("f: " + line) for x in caught.value.lines()), caught.value.lines()
    assert all("\n" not in x and "trial" in x for x in caught.value.lines())


def test_trial_and_check_with_test_cuts_load_no_heavy_package(job: Path) -> None:
    job.write_text(recorded(TEXT, "f", CUT), encoding="utf-8")
    code = (
        "import sys, runpy\nsys.argv = ['loadsim', {0!r}, {1!r}]\ntry:\n    runpy.run_module('loadsim', run_name='__main__')\n"
        "except SystemExit:\n    pass\nprint([m for m in ('scipy.stats', 'scipy.optimize', 'pandas', 'plotly') if m in sys.modules])"
    )
    for command in ("check", "trial"):
        found = subprocess.run(
            [sys.executable, "-c", code.format(command, str(job))],
            capture_output=True,
            text=True,
            timeout=60,
            check=True,
        )
        assert found.stdout.splitlines()[-1] == "[]"
        assert "1 test cut" in found.stdout


# ---- the sheet's numbers


def sheet_for(text: str, **changes: Any) -> TrialSheet:
    return trial_sheet.sheet_of(
        changed(job_from_text(text, "f"), {k.replace("__", "."): v for k, v in changes.items()})
    )


def test_the_first_cut_is_the_best_by_the_rule_stated() -> None:
    found = sheet_for(TEXT, cutter__neck_diameter=3.2, cutter__neck_fillet=0.2)
    first = found.candidates[0]
    safe = [c for c in found.candidates if c.snap_chance <= 0.01]
    assert first in safe and len(safe) < len(found.candidates)
    assert first.most >= 0.9 * max(c.most for c in safe)
    assert all(
        c.snap_chance >= first.snap_chance
        for c in safe
        if c.most >= 0.9 * max(x.most for x in safe)
    )


def test_no_safe_cut_says_so() -> None:
    found = sheet_for(example("thin-neck"))
    assert found.why.startswith("No test cut keeps the chance of snapping under the asked 0.01")
    assert found.candidates[0].snap_chance == min(c.snap_chance for c in found.candidates)


def test_expected_narrowing_is_what_simulated_cuts_narrow() -> None:
    """The rule of total variance, by brute force: draw a truth from the sample, read, weigh, and average the variance left."""
    job = changed(
        job_from_text(TEXT, "f"),
        {"cutter.neck_diameter": 3.0, "cutter.neck_fillet": 0.2, "machine.feed": "cnc"},
    )
    s = resolve(job)
    few = samples.few_of(samples.draws(14))
    rng = np.random.default_rng(3)
    way = cut.engagement_of(s, passes(s, None, "conventional"), trial_readings.FINE)
    margin = trial_sheet._margin(s, way, 0.016, few)
    site = trial_sheet._trial_cut(s, way, 270.0, 0.06, 118.0)
    c = trial_sheet._candidate(site, few, margin)
    f = trial_readings.foresee(site, few)
    assert 0.02 < c.snap_chance < 0.9
    lives = np.exp(f.ln_lived)

    def variance(w: np.ndarray) -> float:
        return bayes.mean((margin - bayes.mean(margin, w)) ** 2, w)

    p = float(lives.mean())
    left = (p * variance(lives) + (1 - p) * variance(1 - lives)) / float(margin.var())
    assert c.narrowing == pytest.approx(1 - left**0.5, abs=0.002)
    r = f.readings[0]
    noise = float(trial_update.covariance([(site, r)])[0, 0])
    found = []
    for i in rng.choice(margin.size, 400, p=lives / lives.sum()):
        y = r.predicted[i] + noise**0.5 * rng.standard_normal()
        found.append(
            variance(lives * bayes.weights(bayes.log_normal_density([y - r.predicted], [[noise]])))
        )
    left = (p * float(np.mean(found)) + (1 - p) * variance(1 - lives)) / float(margin.var())
    (read,) = [x for x in c.reads if x.name == r.name]
    assert read.narrowing == pytest.approx(1 - left**0.5, abs=0.03)

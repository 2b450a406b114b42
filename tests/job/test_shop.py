"""The shop file: what it fills in, what it never changes, and that it is told."""

from __future__ import annotations

import copy
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from loadsim import check, plan, read_job
from loadsim.base.errors import InputError
from loadsim.job import shop
from loadsim.job.read import read_draft
from loadsim.job.write import example, recorded, whole
from loadsim.report.embed import payload
from loadsim.report.html import write_report
from loadsim.report.sheet.inputs import input_rows
from loadsim.report.terminal import shop as shop_command
from loadsim.risk import samples

TRACK = tomllib.loads(example("t-track"))
SHOP = """
[machine]
max_spindle_speed = "2800 rpm"
min_spindle_speed = "80 rpm"
spindle_power = "1.1 kW"
feed = "hand"
handwheel = "5 mm"
backlash = "0.12 mm"
[cutter]
material = "hss-m2"
shank_diameter = "10 mm"
runout = "0.010 mm"
"""
CUT = {
    "spindle_speed": "2600 rpm",
    "feed_per_tooth": "0.016 mm/tooth",
    "length": "118 mm",
    "outcome": "survived",
}
FEW = samples.draws(samples_log2=8)


@pytest.fixture
def user(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of a user's own shop file."""
    folder = tmp_path / "settings"
    monkeypatch.setenv(shop.VARIABLE, str(folder))
    return folder


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job file that says nothing of the shop."""
    return write(tmp_path / "jobs" / "short.toml", short())


def short() -> dict[str, Any]:
    data = copy.deepcopy(TRACK)
    del data["machine"]
    for key in ("material", "shank_diameter", "runout"):
        del data["cutter"][key]
    return data


def write(file: Path, content: dict[str, Any] | str) -> Path:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(content if isinstance(content, str) else whole(content), encoding="utf-8")
    return file


def refused(file: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_job(file)
    return caught.value.lines()


def test_without_a_shop_file_the_job_is_refused(user: Path, job: Path) -> None:
    lines = refused(job)
    assert any("[machine] max_spindle_speed: is missing" in x for x in lines)
    assert any("[cutter] material: is missing" in x for x in lines)


@pytest.mark.parametrize("beside", [True, False])
def test_what_a_job_leaves_out_is_filled_in_and_told(user: Path, job: Path, beside: bool) -> None:
    file = write((job.parent if beside else user) / "shop.toml", SHOP)
    read = read_job(job)
    assert read == read_job(write(job.parent / "full.toml", TRACK)) and read.shop is not None
    assert read.shop.file == shop.shown(file)
    assert set(read.shop.keys) == {f"machine.{k}" for k in TRACK["machine"]} | {
        "cutter.material", "cutter.shank_diameter", "cutter.runout",
    }  # fmt: skip
    (told,) = (w for w in check(read, FEW).warnings if w.startswith("From the shop file "))
    assert (
        "[machine] max_spindle_speed" in told
        and "[cutter] material, shank_diameter, runout" in told
    )


def test_the_one_beside_the_job_goes_before_the_users(user: Path, job: Path) -> None:
    write(user / "shop.toml", SHOP)
    write(job.parent / "shop.toml", SHOP.replace("2800", "3200"))
    assert read_job(job).machine.max_spindle_speed == pytest.approx(
        3200 * 2 * 3.141592653589793 / 60
    )


def test_what_a_job_says_is_never_changed(user: Path, tmp_path: Path) -> None:
    write(user / "shop.toml", SHOP)
    data = short()
    data["cutter"] |= {"material": "carbide-fine", "runout": "0.003 mm"}
    data["machine"] = {"spindle_power": "2 kW"}
    read = read_job(write(tmp_path / "j.toml", data))
    assert (read.cutter.material, read.cutter.runout, read.cutter.shank_diameter) == (
        "carbide-fine",
        0.003,
        10.0,
    )
    assert read.machine.spindle_power == 2e6 and read.machine.backlash == 0.12
    assert read.shop is not None and "machine.spindle_power" not in read.shop.keys


def test_a_machine_that_is_whole_is_another_machine(user: Path, tmp_path: Path) -> None:
    """The backlash of the shop's mill must not go into a job for another machine."""
    write(user / "shop.toml", SHOP)
    data = copy.deepcopy(TRACK)
    data["machine"] = {"max_spindle_speed": "6000 rpm", "spindle_power": "5 kW", "feed": "cnc"}
    read = read_job(write(tmp_path / "j.toml", data))
    assert (read.machine.backlash, read.machine.handwheel, read.shop) == (None, None, None)


def test_a_power_feed_takes_no_handwheel_from_the_shop(user: Path, tmp_path: Path) -> None:
    write(user / "shop.toml", SHOP.replace("[cutter]", 'wheel_force = "9 N"\n[cutter]'))
    data = short()
    data["machine"] = {"feed": "power"}
    read = read_job(write(tmp_path / "j.toml", data))
    assert (read.machine.handwheel, read.machine.wheel_force, read.machine.backlash) == (
        None,
        None,
        0.12,
    )


def test_a_draft_is_filled_in_too(user: Path, job: Path) -> None:
    write(user / "shop.toml", SHOP)
    data = short()
    data["cutter"] = {}
    draft = read_draft(write(job.parent / "draft.toml", data))
    assert draft.data["cutter"] == {
        "material": "hss-m2",
        "shank_diameter": "10 mm",
        "runout": "0.010 mm",
    }
    assert draft.shop is not None and draft.given("machine.feed")


@pytest.mark.parametrize(("content", "told"), [
    ("[machine", "line 1: [machine lacks a bracket"), ("[target]\nx = 1", "[target]: is no table of a shop file; it may have [job], [cutter], [machine]"),
    ('[machine]\nhandweel = "5 mm"', "[machine] handweel: is no key of a shop file; did you mean handwheel?"),
    ('[cutter]\nteeth = 2', "[cutter] teeth: is no key of a shop file; it may be material, shank_diameter, runout"),
    ('[machine]\nhandwheel = 5', '[machine] handwheel: is 5; write the length in quotes with its unit, as in "5 mm"'),
    ('[machine]\nbacklash = "9 mm"', "[machine] backlash: is 9 mm; allowed is 0 to 5 mm"), ("job = 3", "[job]: is no table of a shop file"),
    ('[machine]\nfeed = "belt"', "[machine] feed: is belt; allowed is one of hand, power, cnc"), ("[job]\ntrials = 3", "[job] trials"),
    ("\x00", "is not TOML"), ("x" * 70_000, "the shop file cannot be read: it is over 64 kB"),
])  # fmt: skip
def test_a_bad_shop_file_is_named(user: Path, job: Path, content: str, told: str) -> None:
    file = write(user / "shop.toml", content)
    lines = refused(job)
    assert all(x.startswith(f"{file}: ") for x in lines), lines
    assert any(told in x for x in lines), lines


def test_a_job_file_of_that_name_is_none(user: Path, job: Path, tmp_path: Path) -> None:
    named_so = write(job.parent / "shop.toml", TRACK)
    assert read_job(named_so).shop is None
    assert refused(job)
    write(user / "shop.toml", SHOP)
    assert read_job(job).shop is not None and read_job(job).shop.file == shop.shown(
        user / "shop.toml"
    )


def test_a_shop_file_that_cannot_be_opened_is_named(user: Path, job: Path) -> None:
    (user / "shop.toml").mkdir(parents=True)
    (line,) = refused(job)
    assert line.startswith(f"{user / 'shop.toml'}: the shop file cannot be read: ")


def test_its_paths_lead_from_its_own_folder(user: Path, job: Path) -> None:
    own = write(user / "mine.toml", OWN)
    write(
        user / "shop.toml",
        SHOP.replace('"hss-m2"', '"./mine.toml"') + '[job]\ntrials = ["old.toml"]',
    )
    old = copy.deepcopy(TRACK) | {"trial": [CUT]}
    write(user / "old.toml", old)
    data = short()
    del data["cutter"]["hardness"]
    read = read_job(write(job, data))
    assert read.cutter.material == str(own)
    assert read.job.trials == (str(user / "old.toml"),)
    assert plan(read, FEW).result.verdict


OWN = """
kind = "blank"
title = "HSS from the drawer"
source = "spark test"
bend_strength = { value = 3600, unit = "MPa", spread = 0.1 }
weibull_m = { value = 12, lo = 9, hi = 15, unit = "1" }
bar_volume = { value = 100, unit = "mm^3" }
E = { value = 225, unit = "GPa" }
nu = { value = 0.3, unit = "1" }
density = { value = 8160, unit = "kg/m^3" }
hardness_HV = { value = 800, unit = "HV" }
defect_size = { value = 15, unit = "um" }
K_IC = { value = 22, unit = "MPa*sqrt(m)" }
hot_hardness_share = { value = 0.7, unit = "1" }
speed_factor = { value = 1, unit = "1" }
"""


def test_a_job_with_test_cuts_is_none_of_its_own_trials(user: Path, tmp_path: Path) -> None:
    data = copy.deepcopy(TRACK) | {"trial": [CUT]}
    file = write(tmp_path / "jobs" / "a.toml", data)
    write(user / "shop.toml", f'[job]\ntrials = ["{file}"]')
    assert read_job(file).job.trials == () and read_job(file).shop is None
    other = read_job(write(tmp_path / "b" / "b.toml", TRACK))
    assert other.job.trials == (str(file),)


def test_a_test_cut_is_recorded_with_what_the_shop_file_gives(user: Path, job: Path) -> None:
    write(user / "shop.toml", SHOP)
    text = recorded(job.read_text("utf-8"), str(job), ("outcome=survived", "length=30 mm"))
    (cut,) = tomllib.loads(text)["trial"]
    assert cut["blank"] == "hss-m2" and "machine" in text


def test_a_report_is_whole_by_itself(
    user: Path, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the shop file gave travels inside, that of the files of test cuts too; afterwards another one changes nothing."""
    trials = short() | {"trial": [CUT | {"material": "al-6061-o"}]}
    write(user / "old.toml", trials)
    write(user / "shop.toml", SHOP + '[job]\ntrials = ["old.toml"]')
    made = plan(read_job(job), FEW)
    file = write_report(made, tmp_path / "r.html")
    rows = {row.key: row.given for row in input_rows(made)}
    assert rows["[machine] handwheel"] == "5 mm, from the shop file"
    assert rows["[cutter] runout"] == "0.010 mm, from the shop file"
    assert rows["[slot] depth"] == "7.4 mm"
    (user / "old.toml").unlink()
    for other in (None, SHOP.replace("2800", "3200").replace("0.010", "0.050")):
        (user / "shop.toml").unlink(missing_ok=True)
        if other:
            write(user / "shop.toml", other)
        back = payload.read(file)
        assert back.job.shop == made.asked.shop
        assert plan(back.job, FEW).to_dict() == made.to_dict()
        assert back.planned.cutter.runout == 0.010
    monkeypatch.setenv(shop.VARIABLE, "")
    assert payload.read(file).job.machine == made.job.machine


def test_a_report_is_not_filled_in_by_whoever_reads_it(
    user: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither its job nor the files of test cuts inside it."""
    trials = copy.deepcopy(TRACK) | {"trial": [CUT]}
    for key in ("runout", "backlash"):
        trials["cutter"].pop(key, None)
        trials["machine"].pop(key, None)
    write(tmp_path / "old.toml", trials)
    data = copy.deepcopy(TRACK)
    data["job"]["trials"] = ["old.toml"]
    del data["cutter"]["runout"]
    made = plan(read_job(write(tmp_path / "j.toml", data)), FEW)
    file = write_report(made, tmp_path / "r.html")
    write(user / "shop.toml", '[cutter]\nrunout = "0.080 mm"')
    back = payload.read(file)
    assert back.job.cutter.runout is None and back.job.shop is None
    (inside,) = back.job.job.trials
    assert read_job(inside).cutter.runout is None
    assert plan(back.job, FEW).to_dict() == made.to_dict()


def test_a_report_without_a_shop_file_holds_nothing_of_one(tmp_path: Path) -> None:
    made = plan(read_job(write(tmp_path / "j.toml", TRACK)), FEW)
    assert "shop" not in payload.gather(made, made.asked, "now").tables()


@pytest.mark.parametrize("here", [True, False])
def test_saved_is_what_a_job_says_of_its_shop(
    user: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, here: bool
) -> None:
    folder = tmp_path / "jobs"
    full = copy.deepcopy(TRACK) | {"trial": [CUT]}
    full["job"]["trials"] = ["other.toml"]
    write(folder / "other.toml", copy.deepcopy(TRACK) | {"trial": [CUT]})
    write(folder / "full.toml", full)
    monkeypatch.chdir(folder)
    (line,) = shop_command.save("full.toml", here, False)
    file = (folder if here else user) / "shop.toml"
    assert file.is_file() and ("Wrote shop.toml" in line if here else str(file) in line)
    tables = tomllib.loads(file.read_text("utf-8"))
    assert tables["machine"] == TRACK["machine"]
    assert tables["cutter"] == {
        k: TRACK["cutter"][k] for k in ("material", "shank_diameter", "runout")
    }
    names = (
        ["./other.toml", "./full.toml"]
        if here
        else [str(folder / "other.toml"), str(folder / "full.toml")]
    )
    assert tables["job"]["trials"] == names
    assert "[machine]" in shop_command.shown() and str(file.name) in shop_command.shown()
    read = read_job(write(folder / "short.toml", short()))
    assert len(read.job.trials) == 2 and check(read, FEW).warnings
    with pytest.raises(InputError, match="is there already"):
        shop_command.save("full.toml", here, False)
    shop_command.save("full.toml", here, True)


def test_there_may_be_none(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    assert shop_command.shown().startswith("There is no shop file.")
    for job in ("-", "none.toml"):
        with pytest.raises(InputError):
            shop_command.save(job, True, False)
    write(tmp_path / "j.toml", TRACK)
    with pytest.raises(InputError, match="has no folder to write to: LOADSIM_SHOP is empty"):
        shop_command.save("j.toml", False, False)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["j.toml"]


def test_a_home_is_not_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    assert shop.shown(tmp_path / "x" / "shop.toml") == str(Path("~") / "x" / "shop.toml")
    assert shop.shown(Path("shop.toml")) == "shop.toml"


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the folder of a Linux desktop")
def test_the_users_shop_file_lies_where_the_system_keeps_settings(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The XDG base directory specification: $XDG_CONFIG_HOME, else ~/.config (from memory)."""
    monkeypatch.delenv(shop.VARIABLE)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "kept"))
    assert shop.user_folder() == tmp_path / "kept" / "loadsim"
    monkeypatch.delenv("XDG_CONFIG_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert shop.user_folder() == tmp_path / ".config" / "loadsim"

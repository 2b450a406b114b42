"""The page from the first question to the printed sheet, called as a function."""

from __future__ import annotations

import html
import json
import re
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from loadsim import check, read_job
from loadsim.job import write
from loadsim.job.read import job_from_text
from loadsim.page import state
from loadsim.report.html import page_text
from loadsim.words.short import chance_between

HOSTILE = "<script>alert(1)</script>\"'`&{{7*7}}</textarea>"


def test_from_the_first_question_to_the_job_file(caller: Any, tmp_path: Path) -> None:
    first = caller.get()
    assert first.status == 200
    assert "What do you cut?" in first.words
    assert "Snaps in" not in first.words
    caller.through()
    counting = caller.get()
    assert "Snaps in" in counting.words
    assert "First answer over 4,096 cases" in counting.words or "16,384" in counting.words
    done = caller.counted()
    assert "Counted over 16,384 cases" in done.words
    # what is open, the costliest first
    factors = [float(x.replace(",", "")) for x in re.findall(r'"power">([0-9.,]+)<', done.body)]
    assert len(factors) > 2
    assert factors == sorted(factors, reverse=True)
    assert "I don't know" in done.words.replace("&#39;", "'")
    assert caller.post("save", {}).headers["Location"] == "/?saved=1"
    path = tmp_path / "job.toml"
    result = check(read_job(path))
    assert f"Snaps in {chance_between(result.risk)}." in done.words
    assert f"{result.settings.spindle_speed_rpm:.0f} rpm" in done.words
    run = subprocess.run(
        [sys.executable, "-m", "loadsim", "check", "--json", str(path)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert json.loads(run.stdout)["risk"]["snap_probability"] == result.risk.snap_probability


def test_the_traveler_is_the_report_byte_for_byte(
    caller: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from loadsim.answers.plan import plan

    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1795600000")
    caller.through()
    caller.post("answer", {"job.number": HOSTILE, "at": "metal"})
    caller.post("save", {})
    assert read_job(tmp_path / "job.toml").job.number == HOSTILE
    reply = caller.sheet()
    assert "<script>alert(1)" not in reply.body
    assert "&lt;script&gt;alert(1)" in reply.body
    assert reply.body == page_text(plan(read_job(tmp_path / "job.toml")))
    policy = reply.headers["Content-Security-Policy"]
    assert policy.startswith("sandbox allow-scripts")
    assert "allow-same-origin" not in policy
    assert caller.get("/traveler").body == reply.body  # "save as" asks again


def test_a_job_that_is_not_whole_has_no_traveler(caller: Any) -> None:
    assert caller.get("/traveler").status == 422
    assert caller.post("save", {}).status == 422
    assert not caller.app.desk.path.exists()
    caller.through()
    caller.post("answer", {**caller.cutter, "cutter.neck_diameter": "0.3", "at": "cutter"})
    assert caller.get("/traveler").status == 422


def test_what_is_missing_is_asked_for_at_its_place(caller: Any) -> None:
    caller.post("answer", caller.metal)
    reply = caller.post("answer", {**caller.slot, "at": "slot", "slot.depth": ""})
    assert reply.status == 422
    assert "This one is needed." in reply.words
    assert 'value="13/32"' in reply.body  # nothing typed is lost


def test_while_he_types_nothing_is_missing_and_all_is_kept(
    caller: Any, tmp_path: Path, opened: Callable[[Path], Any]
) -> None:
    caller.post("answer", caller.metal)
    reply = caller.post("answer", {**caller.slot, "at": "slot", "slot.depth": "", "live": "1"})
    assert reply.status == 200
    assert "This one is needed." not in reply.words
    assert "10.319 mm" in reply.words
    again = opened(tmp_path / "job.toml")
    assert 'value="13/32"' in again.get().body


def test_a_wrong_number_is_told_and_stays(caller: Any) -> None:
    caller.post("answer", caller.metal)
    reply = caller.post("answer", {**caller.slot, "slot.undercut_width": "1/8", "at": "slot"})
    assert reply.status == 422
    assert 'value="1/8"' in reply.body
    assert 'aria-invalid="true"' in reply.body


def test_not_sure_of_the_metal_takes_the_worst_of_its_family(caller: Any) -> None:
    reply = caller.post("answer", {**caller.metal, "work.material": "", "family": "mild steel"})
    assert reply.status == 303
    again = caller.get("/?at=metal").words
    assert "Not sure, mild steel: taken as" in again


def test_two_windows_do_not_undo_each_other(caller: Any) -> None:
    caller.through()
    caller.post("answer", {"cutter.neck_fillet": "0.02", "at": "cutter.neck_fillet"})
    caller.post("answer", {"work.lubrication": "flood", "at": "work.lubrication"})
    typed = caller.app.desk.answers.typed
    assert typed["cutter.neck_fillet"] == "0.02"
    assert typed["work.lubrication"] == "flood"


def test_an_answer_that_is_not_known_is_left_out_and_can_be_given_later(caller: Any) -> None:
    caller.through()
    caller.post("answer", {"cutter.runout": "", "unknown": "cutter.runout", "at": "cutter.runout"})
    assert "runout =" not in caller.get("/job.toml").body.replace("# runout =", "")
    caller.post("answer", {"cutter.runout": "0.001", "at": "cutter.runout"})
    assert 'runout = "0.0005 in"' in caller.get("/job.toml").body


def test_no_cutter_yet_one_is_proposed(caller: Any) -> None:
    for fields in (caller.metal, caller.slot, {"page.ground": "no"}):
        assert caller.post("answer", fields).status == 303
    assert "A cutter is being worked out" in caller.get().words
    done = caller.counted()
    assert "Snaps in" in done.words
    assert "are a proposal" in done.words
    assert "[grind]" in caller.get("/job.toml").body.replace("# [grind]", "")
    # another slot asks for another cutter
    caller.post("answer", {**caller.slot, "slot.throat_width": "0.26"})
    assert state.PROPOSED not in caller.app.desk.answers.typed


def test_a_scrap_cut_is_recorded_and_counts(caller: Any, tmp_path: Path) -> None:
    caller.through()
    reply = caller.post("trial", {"outcome": "survived", "length": "3", "slots": "12"})
    assert reply.headers["Location"] == "/?cut=1"
    (cut,) = read_job(tmp_path / "job.toml").trial
    assert cut.slots == 12
    assert cut.length == pytest.approx(3 * 25.4)
    assert "1 test cut: the chance to snap" in caller.judged().words


def test_a_file_changed_by_another_is_not_written_over(caller: Any, tmp_path: Path) -> None:
    caller.through()
    path = tmp_path / "job.toml"
    path.write_text("# another's", encoding="utf-8")
    reply = caller.post("save", {})
    assert reply.status == 422
    assert "changed by another" in reply.words
    assert path.read_text(encoding="utf-8") == "# another's"


@pytest.mark.parametrize("key", ["job.number", "work.material", "slot.depth", "cutter.runout"])
def test_hostile_text_is_text(caller: Any, tmp_path: Path, key: str) -> None:
    caller.through()
    caller.post("answer", {key: HOSTILE, "at": key})
    for where in (f"/?at={key}", "/", "/?at=%3Cscript%3Ealert(1)%3C/script%3E"):
        body = caller.get(where).body
        assert "<script>alert" not in body
        assert "{{7*7}}" in body  # shown as typed
    assert caller.app.desk.answers.typed[key] == HOSTILE


def test_no_path_is_taken_from_the_page(caller: Any, tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text("x = 1", encoding="utf-8")
    for text in ("own.toml", str(own), "../own.toml"):
        reply = caller.post("answer", {**caller.metal, "work.material": text, "at": "metal"})
        assert reply.status == 422
        assert "not into the page" in reply.words
    caller.post("answer", {"job.trials": str(own), "throat_mill.material": str(own)})
    assert caller.app.desk.answers.typed.keys() <= {*caller.metal, "work.material"}


@pytest.mark.parametrize("form", ["answer", "save", "trial", "stop"])
def test_a_form_without_our_token_does_nothing(caller: Any, form: str, tmp_path: Path) -> None:
    stopped: list[int] = []
    caller.app.stop = lambda: stopped.append(1)
    for token in ("", "x", caller.app.guard.token("other")):
        assert caller.call("POST", f"/{form}", f"token={token}&job.number=9").status == 403
    assert stopped == []
    assert caller.app.desk.answers.typed == {}
    assert list(tmp_path.iterdir()) == []


def test_getting_changes_nothing(caller: Any, tmp_path: Path) -> None:
    for path in ("/", "/?at=slot", "/?job.number=9", "/save", "/stop", "/answer", "/job.toml"):
        caller.get(path)
    assert caller.app.desk.answers.typed == {}
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("path", "status"),
    [("/nothing", 404), ("/../page.py", 404), ("/page.html", 404), ("/page.css", 200),
     ("/page.js", 200), ("//page.css", 404), ("/plain.html", 404)],
)  # fmt: skip
def test_only_what_is_meant_is_shown(caller: Any, path: str, status: int) -> None:
    assert caller.get(path).status == status


@pytest.mark.parametrize(
    "body", ["a=" + "b" * 401, "&".join(f"a{i}=1" for i in range(201)), "a=%ff", "b" * 401 + "=1"]
)
def test_forms_out_of_measure_are_refused_whole(caller: Any, body: str) -> None:
    token = caller.app.guard.token("answer")
    reply = caller.call("POST", "/answer", f"token={token}&file=job.toml&job.number=9&{body}")
    assert reply.status == 422
    assert caller.app.desk.answers.typed == {}


def test_a_defect_shows_no_traceback(caller: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> str:
        raise RuntimeError("secret inside")

    monkeypatch.setattr("loadsim.page.views.page", broken)
    reply = caller.get()
    assert reply.status == 500
    assert "secret" not in reply.body
    assert "Traceback" not in reply.body


def test_the_ticket_becomes_a_cookie_of_this_page_alone(caller: Any) -> None:
    address = caller.app.guard.address.removeprefix(f"http://{caller.app.guard.host}")
    reply = caller.call("GET", address, HTTP_COOKIE="")
    assert reply.status == 303
    cookie = reply.headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert caller.call("GET", address, HTTP_COOKIE="").status == 403
    assert caller.call("GET", "/", HTTP_COOKIE=cookie.partition(";")[0]).status == 200
    assert caller.call("GET", "/", HTTP_COOKIE="").status == 403


def test_a_shop_of_numbers_that_do_not_fit_gets_no_verdict(caller: Any) -> None:
    caller.through()
    reply = caller.post("answer", {**caller.cutter, "cutter.neck_diameter": "0.3", "at": "cutter"})
    assert reply.status in (303, 422)
    words = caller.get("/?at=cutter").words
    assert "NO-GO" in words or "Snaps in" not in words


def test_a_feed_of_the_table_can_be_taken_and_let_go(caller: Any) -> None:
    caller.through()
    caller.post("answer", {"feed": "0.02"})
    assert 'feed_per_tooth = "0.02 mm/tooth"' in caller.get("/job.toml").body
    done = caller.counted().words
    assert "0.79 thou a tooth" in done  # 0.02 mm over 0.0254 mm
    assert "You have taken this feed yourself" in done
    caller.post("answer", {"feed": ""})
    assert 'feed_per_tooth = "0.02 mm/tooth"' not in caller.get("/job.toml").body
    for feed in ("nan mm; x", "nan", "inf"):
        assert caller.post("answer", {"feed": feed}).status == 422
    assert "cut.feed_per_tooth" not in caller.app.desk.answers.typed


def test_the_jobs_of_the_folder_and_no_others(caller: Any, tmp_path: Path) -> None:
    caller.through()
    caller.post("save", {})
    (tmp_path / "other.toml").write_text(write.example("thin-neck"), encoding="utf-8")
    (tmp_path / "notes.toml").write_text("x = 1", encoding="utf-8")
    (tmp_path / "broken.toml").write_text("[", encoding="utf-8")
    shown = caller.get().words
    assert "other.toml" in shown
    assert "notes.toml" not in shown
    assert "broken.toml" not in shown
    for name in ("../job.toml", "notes.toml", "/etc/passwd", "nothing.toml"):
        assert caller.post("open", {"name": name}).status == 422
    assert caller.post("open", {"name": "other.toml"}).status == 303
    words = caller.get("/?at=metal").words
    assert "K-27" in words  # its number
    assert "GO: snaps in" in words  # of the one saved before
    # what the window of the first job sends goes into no other
    stale = caller.post("answer", {"file": "job.toml", "slot.depth": "9 mm"})
    assert stale.status == 409
    assert caller.app.desk.answers.typed["slot.depth"] != "9 mm"


def test_a_new_job_takes_a_free_name(caller: Any, tmp_path: Path) -> None:
    (tmp_path / "job-2.toml").write_text("", encoding="utf-8")
    assert caller.post("open", {"name": ""}).status == 303
    assert caller.app.desk.path == tmp_path / "job-3.toml"
    assert "What do you cut?" in caller.get().words


def test_a_proposal_that_he_thinks_better_of_is_made_anew_when_asked_again(
    caller: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    drafts: list[object] = []
    go_on = threading.Event()

    @dataclass
    class Ground:
        data: dict[str, dict[str, str]]

    def grind(draft: object, tell: Callable[[int, int], None]) -> Ground:
        drafts.append(draft)
        mine = len(drafts)
        if mine == 1:
            go_on.wait(30)
        return Ground({"cutter": {"neck_diameter": f"{mine} mm"}})

    monkeypatch.setattr("loadsim.answers.cutter.design.grind", grind)
    for fields in (caller.metal, caller.slot, {"page.ground": "no"}):
        caller.post("answer", fields)
    assert "A cutter is being worked out" in caller.get().words
    caller.post("answer", {"page.ground": "yes"})
    assert "The cutter: what is thin" in caller.get().words
    caller.post("answer", {"page.ground": "no"})
    assert "are a proposal" in caller.counted().words
    before = threading.active_count()
    go_on.set()  # the older one ends last, and changes nothing
    end = time.monotonic() + 30
    while threading.active_count() == before and time.monotonic() < end:
        time.sleep(0.01)
    assert caller.app.desk.answers.typed["cutter.neck_diameter"] == "2 mm"


def test_the_whole_count_waits_until_he_rests(caller: Any) -> None:
    caller.through()
    typed = {**caller.cutter, "cutter.neck_diameter": "0.19", "at": "cutter", "live": "1"}
    words = caller.post("answer", typed).words
    assert "First answer over 4,096 cases" in words
    assert "Still counting" in words  # for the script to ask again, once he rests
    assert caller.app.desk.counter.key == ""
    caller.get("/?at=cutter")
    assert caller.app.desk.counter.key != ""
    # an older count ends when he types on
    caller.post("answer", {**typed, "cutter.neck_diameter": "0.195"})
    assert caller.app.desk.counter.key == ""


def test_a_file_of_another_hand_is_written_anew_only_after_that_is_said(
    tmp_path: Path, opened: Callable[[Path], Any]
) -> None:
    path = tmp_path / "job.toml"
    path.write_text("# my own words\n" + write.example("t-track"), encoding="utf-8")
    caller = opened(path)
    assert "comments of your own in it go" in caller.get().words
    assert caller.post("save", {}).status == 303
    assert "comments of your own" not in caller.get().words
    assert read_job(path) == job_from_text(write.example("t-track"), "a")


def test_hostile_text_in_every_field_is_text(caller: Any) -> None:
    for key in state.BY_KEY:
        body = caller.post("answer", {key: HOSTILE, "at": key, "live": "1"}).body
        assert "<script>alert" not in body
        assert "{{7*7}}" in body
        assert caller.app.desk.answers.typed[key] == HOSTILE
    for where in ("/", "/photo", "/paper", "/job.toml"):
        reply = caller.get(where)
        assert "<script>alert" not in reply.body or reply.headers["Content-Type"].startswith(
            "text/plain"
        )
        assert reply.status == 200


def test_the_sheet_asks_everything_once(caller: Any) -> None:
    caller.post("answer", caller.metal)
    words = caller.get("/paper").words
    for question in state.BY_KEY.values():
        assert question.words in html.unescape(words), question.key
    assert "6061-t6" in words


def test_a_reading_of_a_scrap_cut_is_recorded_with_its_doubt(caller: Any, tmp_path: Path) -> None:
    caller.through()
    cut = {"outcome": "survived", "length": "1.5", "slots": "", "reading": "spindle_power"}
    refused = caller.post("trial", {**cut, "value": "many", "off": "10 W"})
    assert refused.status == 422
    assert not (tmp_path / "job.toml").exists()
    reply = caller.post("trial", {**cut, "value": "60 W", "off": "20 W"})
    assert reply.status == 303
    (made,) = read_job(tmp_path / "job.toml").trial
    assert made.spindle_power == pytest.approx(60_000)  # N*mm/s
    assert made.spindle_power_uncertainty == pytest.approx(20_000)

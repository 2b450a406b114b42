"""The program itself: where it listens, who it answers, how it ends."""

from __future__ import annotations

import http.client
import os
import re
import signal
import subprocess
import sys
import threading
import time
import urllib.parse
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from pathlib import Path

import pytest

from loadsim import read_job
from loadsim.job import write
from loadsim.page import serve, state
from loadsim.page.app import Page
from loadsim.page.desk import Desk
from loadsim.page.guard import FORM, MOST_BYTES, Guard


@pytest.fixture
def running(tmp_path: Path) -> Iterator[serve.Running]:
    listening = serve.bound()
    port = listening.getsockname()[1]
    app = Page(desk=Desk(tmp_path / "job.toml"), guard=Guard(port=port))
    running = serve.Running(listening, app, MOST_BYTES)
    running.start()
    yield running
    running.stop()
    running.wait()


def ask(port: int, method: str, path: str, body: str = "", **headers: str) -> tuple[int, str]:
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=30)) as way:
        way.request(
            method, path, body or None, {k.replace("_", "-"): v for k, v in headers.items()}
        )
        reply = way.getresponse()
        return reply.status, reply.read().decode()


def test_this_machine_alone_reaches_it(running: serve.Running) -> None:
    assert running.server.socket.getsockname()[0] == "127.0.0.1"
    assert running.server.socket.getsockname()[1] == running.application.guard.port > 0


def test_the_server_answers_by_the_guard(running: serve.Running) -> None:
    guard: Guard = running.application.guard
    cookie = f"{guard.cookie_name}={guard.session}"
    assert ask(guard.port, "GET", "/", Cookie=cookie)[0] == 200
    assert ask(guard.port, "GET", "/")[0] == 403
    assert ask(guard.port, "GET", "/", Cookie=cookie, Host="evil.test")[0] == 421
    assert ask(guard.port, "GET", "/", Cookie=cookie, Host=f"localhost:{guard.port}")[0] == 421
    form = urllib.parse.urlencode(
        {"token": guard.token("answer"), "file": "job.toml", "job.number": "7"}
    )
    elsewhere = {"Cookie": cookie, "Content_Type": FORM, "Origin": "http://127.0.0.1:1"}
    assert ask(guard.port, "POST", "/answer", form, **elsewhere)[0] == 403
    assert running.application.desk.answers.typed == {}


def test_large_forms_and_headers_are_not_read(running: serve.Running) -> None:
    guard: Guard = running.application.guard
    cookie = f"{guard.cookie_name}={guard.session}"
    form = f"token={guard.token('answer')}&a=" + "b" * MOST_BYTES
    assert ask(guard.port, "POST", "/answer", form, Cookie=cookie, Content_Type=FORM)[0] == 413
    assert ask(guard.port, "GET", "/", Cookie=cookie, X="y" * serve.MOST_HEADER)[0] == 431


def test_the_button_ends_it(running: serve.Running) -> None:
    guard: Guard = running.application.guard
    running.application.stop = running.stop
    status, body = ask(guard.port, "POST", "/stop", f"token={guard.token('stop')}",
                       Cookie=f"{guard.cookie_name}={guard.session}", Content_Type=FORM)  # fmt: skip
    assert status == 200
    assert "Stopped" in body
    assert running.ended.wait(5)


@pytest.mark.skipif(sys.platform == "win32", reason="a signal as Ctrl-C sends it")
def test_the_command_serves_and_ends_by_the_keyboard(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "loadsim", "page", "--no-browser", str(tmp_path / "a.toml")]
    run = subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env={**os.environ})
    assert run.stderr is not None
    found = re.search(r"http://127\.0\.0\.1:([0-9]+)(/enter/\S+)", run.stderr.readline())
    assert found is not None
    assert ask(int(found[1]), "GET", found[2])[0] == 303
    run.send_signal(signal.SIGINT)
    assert run.wait(30) == 0
    assert "what was typed is kept" in run.stderr.read()
    run.stderr.close()


def test_no_folder_no_page(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "loadsim", "page", str(tmp_path / "none" / "a.toml")]
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    assert run.returncode == 2
    assert "its folder is not there" in run.stderr


BLOCKED = """
import sys
sys.modules["waitress"] = None
from loadsim.cli import cli
cli(["check", sys.argv[1]])
"""


def test_every_other_command_runs_without_the_server(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(write.example("t-track"), encoding="utf-8")
    run = subprocess.run(
        [sys.executable, "-c", BLOCKED, str(path)], capture_output=True, text=True, check=False
    )
    assert run.returncode in (0, 1), run.stderr
    assert "snaps" in run.stdout


SAVING = """
import sys
from pathlib import Path
from loadsim.page import state
answers = state.Answers(Path(sys.argv[1]), {"job.number": "0"})
print("begun", flush=True)
for n in range(1_000_000):
    answers.typed = {"job.number": str(n), "slot.depth": "7 mm " * 2000}
    state.keep(answers)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="a kill as this system has it")
def test_a_kill_while_it_keeps_leaves_the_answers_whole(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    for pause in (0.01, 0.05, 0.11, 0.23):
        run = subprocess.Popen([sys.executable, "-c", SAVING, str(path)], stdout=subprocess.PIPE)
        assert run.stdout is not None
        run.stdout.readline()
        time.sleep(pause)
        run.send_signal(signal.SIGKILL)
        run.wait(30)
        run.stdout.close()
        typed = state.opened(path).typed
        assert typed.get("job.number") is None or typed["slot.depth"] == "7 mm " * 2000
    assert typed["job.number"].isdigit()


def forms_of(run: subprocess.Popen[str]) -> Callable[[str, str], int]:
    """Go in where a program says that it serves; return what posts its forms."""
    assert run.stderr is not None
    found = re.search(r"127\.0\.0\.1:([0-9]+)(/enter/\S+)", run.stderr.readline())
    assert found is not None
    port = int(found[1])
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=30)) as way:
        way.request("GET", found[2])
        cookie = str(way.getresponse().headers["Set-Cookie"]).partition(";")[0]
    page = ask(port, "GET", "/", Cookie=cookie)[1]
    tokens = dict(re.findall(r'action="/(\w+)".*?name="token" value="(\w+)"', page, re.S))

    def post(form: str, number: str) -> int:
        fields = {"token": tokens[form], "file": "job.toml"}
        fields |= {"job.number": number} if form == "answer" else {}
        body = urllib.parse.urlencode(fields)
        return ask(port, "POST", f"/{form}", body, Cookie=cookie, Content_Type=FORM)[0]

    return post


@pytest.mark.skipif(sys.platform == "win32", reason="a kill as this system has it")
@pytest.mark.parametrize("pause", [0.05, 0.13])
def test_a_kill_of_the_program_while_it_saves_leaves_file_and_answers_whole(
    tmp_path: Path, pause: float
) -> None:
    path = tmp_path / "job.toml"
    path.write_text(write.example("t-track"), encoding="utf-8")
    command = [sys.executable, "-m", "loadsim", "page", "--no-browser", str(path)]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as run:
        try:
            post = forms_of(run)
            saved = 0
            with suppress(OSError, http.client.HTTPException):
                for n in range(1, 1000):
                    assert post("answer", f"{n} " * 20) == post("save", "") == 303
                    saved = n
                    if n == 3:  # somewhere in what comes
                        threading.Timer(pause, run.kill).start()
        finally:
            run.kill()
    assert 3 <= saved < 999
    for number in (read_job(path).job.number, state.opened(path).typed["job.number"]):
        n, *same = number.split()
        assert same == [n] * 19
        assert int(n) in (saved, saved + 1)
    lock = tmp_path / ".job.toml.lock"
    if lock.exists():  # it counts for a while
        os.utime(lock, (0, 0))
    Desk(path).save()


def test_a_double_click_takes_a_job_among_the_documents(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from loadsim import __main__ as started

    monkeypatch.setattr("platformdirs.user_documents_path", lambda: tmp_path)
    monkeypatch.setattr(started, "main", lambda: None)
    monkeypatch.setattr(sys, "argv", ["loadsim-page"])
    started.page()
    assert sys.argv == ["loadsim-page", "page", str(tmp_path / "job.toml")]
    monkeypatch.setattr(sys, "argv", ["loadsim-page", "a.toml"])
    started.page()
    assert sys.argv == ["loadsim-page", "page", "a.toml"]

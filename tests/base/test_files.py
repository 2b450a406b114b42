"""Files, streams and texts from outside: what is no file is left alone, what never ends is not read, what hides is not shown."""

from __future__ import annotations

import json
import os
import signal
import stat
import subprocess
import sys
import threading
import time
from contextlib import suppress
from pathlib import Path

import pytest

from loadsim import cli, read_job
from loadsim.base import errors, files
from loadsim.base.errors import InputError, Problem
from loadsim.job import write
from loadsim.job.read import job_from_text
from loadsim.job.tables import Heading
from loadsim.materials import load
from loadsim.risk import samples

ROOT = Path(__file__).resolve().parents[2]
posix = pytest.mark.skipif(os.name != "posix", reason="pipes and links of POSIX")
ESC = "\x1b[31m"
RLO = "\u202e"
# invented for the test
SHOP = """
kind = "work"
title = "bar off our rack"
source = "test cuts"
[surface_speed]
lo = 75
hi = 150
unit = "m/min"
[curves.testcut]
model = "kienzle"
k_c11 = { value = 700, unit = "MPa", spread = 0.2 }
m_c = { value = 0.25, unit = "1" }
rake_reference = { value = 10, unit = "deg" }
h_range = { lo = 10, hi = 100, unit = "um" }
"""


def shell(line: str, folder: Path, timeout: float = 60) -> subprocess.CompletedProcess[str]:
    """Run a line of the shell, in which $L is the command."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), "L": f"{sys.executable} -m loadsim"}
    return subprocess.run(
        ["sh", "-c", line],
        cwd=folder,
        env=env,
        capture_output=True,
        text=True,
        timeout=timeout,
        check=False,
    )


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(write.example("t-track"))
    return path


def refusal(path: Path | str) -> list[str]:
    with pytest.raises(InputError) as caught:
        load.load_work(str(path))
    return caught.value.lines()


# ---- writing


@posix
@pytest.mark.parametrize("made", [False, True])
def test_a_pipe_is_not_replaced(made: bool, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "link").symlink_to("pipe")
    for name in ("pipe", "link"):
        with pytest.raises(InputError, match="is a device or a pipe, not a file"):
            files.write_whole(tmp_path / name, "x", new=made)
        with pytest.raises(InputError, match="is a device or a pipe, not a file"):
            files.may_write(
                tmp_path / name, made
            )  # where it would not help, --force is not offered
    assert (tmp_path / "pipe").is_fifo() and (tmp_path / "link").is_symlink()
    assert len(list(tmp_path.iterdir())) == 2


@posix
@pytest.mark.parametrize("command", ['map job.toml --over "cut.feed_per_tooth=0.01 mm" --no-probability --csv pipe', "new --example t-track pipe",
                                     "grind job.toml -o pipe"])  # fmt: skip
def test_no_command_replaces_a_pipe(command: str, job: Path) -> None:
    os.mkfifo(job.parent / "pipe")
    done = shell(f"$L {command} --force", job.parent)
    assert (done.returncode, len(done.stderr.splitlines())) == (2, 1), done.stderr
    assert "pipe: cannot be written: is a device or a pipe" in done.stderr
    assert (job.parent / "pipe").is_fifo()


@posix
def test_a_link_is_written_through(tmp_path: Path) -> None:
    (tmp_path / "there").write_text("before")
    (tmp_path / "link").symlink_to("there")
    files.write_whole(tmp_path / "link", "after")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "there").read_text() == "after"


@posix
@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_a_file_keeps_its_mode(mode: int, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text("before")
    path.chmod(mode)
    files.write_whole(path, "after")
    assert (path.read_text(), stat.S_IMODE(path.stat().st_mode)) == ("after", mode)
    before = os.umask(0o027)
    try:
        files.write_whole(tmp_path / "new", "x", new=True)
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == 0o640  # POSIX: 666 less the mask


def test_who_changes_a_file_waits_for_the_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "count"
    path.write_text("0")

    def add() -> None:
        for _ in range(10):
            with files.alone(path):
                files.write_whole(path, str(int(path.read_text()) + 1))

    threads = [threading.Thread(target=add) for _ in range(6)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert path.read_text() == "60"
    assert [p.name for p in tmp_path.iterdir()] == ["count"]
    monkeypatch.setattr(files, "PATIENCE", 0.05)
    with (
        files.alone(path),
        pytest.raises(InputError, match=r"another run; if none is, remove .*\.count\.lock"),
        files.alone(path),
    ):
        pass


def test_the_lock_of_a_killed_run_does_not_stay(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "job.toml"
    lock = tmp_path / ".job.toml.lock"
    lock.touch()
    monkeypatch.setattr(files, "PATIENCE", 0.05)
    with pytest.raises(InputError, match="another run"), files.alone(path):
        pass  # it may be at work
    old = time.time() - 1.1 * files.LEFT
    os.utime(lock, (old, old))
    with files.alone(path):
        assert lock.exists()
    assert list(tmp_path.iterdir()) == []


@posix
def test_two_that_record_at_once_keep_both(job: Path) -> None:
    one = '$L trial job.toml --record outcome=survived "length=20 mm" "note=%s" >/dev/null &'
    done = shell(" ".join(one % i for i in range(4)) + " wait", job.parent)
    assert done.stderr.count("Recorded in job.toml.") == 4, done.stderr
    assert sorted(x.note or "" for x in read_job(job).trial) == ["0", "1", "2", "3"]
    assert [p.name for p in job.parent.iterdir()] == ["job.toml"]


@posix
def test_a_link_to_itself_is_refused(tmp_path: Path) -> None:
    (tmp_path / "loop").symlink_to("loop")
    with pytest.raises(InputError, match="cannot be written"):
        files.write_whole(tmp_path / "loop", "x")
    assert [p.name for p in tmp_path.iterdir()] == ["loop"]


def test_of_many_that_write_one_new_file_one_does(tmp_path: Path) -> None:
    told: list[str] = []

    def write(i: int) -> None:
        try:
            files.write_whole(tmp_path / "new", str(i), new=True)
            told.append(str(i))
        except InputError as error:
            assert "is there already" in str(error)

    threads = [threading.Thread(target=write, args=(i,)) for i in range(16)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert told == [(tmp_path / "new").read_text()]
    assert [p.name for p in tmp_path.iterdir()] == ["new"]


def test_a_new_file_where_links_cannot_be_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        os, "link", lambda *_: (_ for _ in ()).throw(PermissionError(1, "Operation not permitted"))
    )
    files.write_whole(tmp_path / "new", "x", new=True)
    with pytest.raises(InputError, match="is there already"):
        files.write_whole(tmp_path / "new", "y", new=True)
    assert [(p.name, p.read_text()) for p in tmp_path.iterdir()] == [("new", "x")]


# ---- streams


@posix
def test_the_status_holds_when_nothing_can_be_said(job: Path) -> None:
    """POSIX: a write to /dev/full fails, as on a full disk."""
    done = shell('$L check job.toml >&-; echo "$?"', job.parent)
    assert (done.stdout, done.stderr) == ("0\n", "")
    done = shell('$L check none.toml 2>/dev/full; echo "$?"', job.parent)
    assert done.stdout == "2\n"
    done = shell('$L check 2>/dev/full; echo "$?"', job.parent)
    assert done.stdout == "2\n"
    done = shell(
        '$L new --example t-track made.toml 2>/dev/full; echo "$?"; $L new --example t-track made2.toml 2>&-; echo "$?"',
        job.parent,
    )
    assert done.stdout == "0\n0\n"
    done = shell('$L materials >/dev/full; echo "$?" >&2', job.parent)
    assert done.stderr == "loadsim: cannot answer: [Errno 28] No space left on device\n2\n"


PART = "\u0434\u0435\u0442\u0430\u043b\u044c \u2300 7"  # Cyrillic, and the sign of a diameter


@pytest.mark.parametrize(
    "page", ["cp1252", "latin-1", "cp437", "cp866", "ascii", "utf-8", "cp932:strict", None]
)
def test_any_code_page_takes_the_answer(page: str | None, job: Path) -> None:
    """A letter that the code page lacks is replaced; what a file would hold is UTF-8 on a pipe too."""
    text = job.read_text("utf-8").replace('number = "F-118"', f'number = "{PART}"')
    assert PART in text
    job.write_text(text, "utf-8")
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "0", "LC_ALL": "C"}
    env |= {"PYTHONCOERCECLOCALE": "0"} if page is None else {"PYTHONIOENCODING": page}

    def run(*args: str) -> bytes:
        done = subprocess.run(
            [sys.executable, "-m", "loadsim", *args],
            cwd=job.parent,
            env=env,
            capture_output=True,
            timeout=60,
            check=False,
        )
        assert (done.returncode, done.stderr) == (0, b""), (args, done.stderr)
        return done.stdout

    shown = run("check", "job.toml")
    spoken = {None: "utf-8", "ascii": "utf-8"}.get(page, (page or "").split(":")[0])
    assert PART.encode(spoken, "replace") in b" ".join(shown.split())
    assert PART in run("report", "job.toml", "-o", "-").decode("utf-8")
    assert json.loads(run("check", "job.toml", "--json"))["job"] == PART


@posix
def test_a_closed_input_is_named(job: Path) -> None:
    done = shell("$L check - <&-", job.parent)
    assert (done.returncode, done.stderr) == (2, "-: cannot be read: standard input is closed\n")
    done = shell("$L new other.toml <&-", job.parent)
    assert done.returncode == 2
    assert "not a terminal" in done.stderr


@posix
def test_a_stop_while_loading_gives_one_line(tmp_path: Path) -> None:
    """Until the program's first line runs the interpreter itself answers; a slow package stands for the loading after it."""
    (tmp_path / "click.py").write_text("print('loading', flush=True)\nimport time\ntime.sleep(5)")
    env = {**os.environ, "PYTHONPATH": os.pathsep.join([str(tmp_path), str(ROOT)])}
    with subprocess.Popen(
        [sys.executable, "-m", "loadsim", "--help"],
        env=env,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as run:
        assert run.stdout is not None and run.stderr is not None
        assert run.stdout.readline() == "loading\n"
        time.sleep(0.1)
        run.send_signal(signal.SIGINT)
        assert run.stderr.read() == "Stopped; nothing was written.\n"
        assert run.wait(10) == 2


# ---- what never ends


@posix
def test_a_material_is_an_ordinary_file_of_bounded_size(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "m.toml")
    assert refusal(tmp_path / "m.toml") == [
        f"{tmp_path}/m.toml: cannot be read: it is a device or a pipe, not a file"
    ]
    assert refusal("/dev/zero") == [
        "/dev/zero: cannot be read: it is a device or a pipe, not a file"
    ]
    large = tmp_path / "large.toml"
    large.write_text(SHOP + "#" * 200_000)
    assert refusal(large) == [f"{large}: cannot be read: it is over 200 kB"]
    large.write_text(SHOP + "#" * (200_000 - len(SHOP)))
    assert load.load_work(str(large)).title == "bar off our rack"


@pytest.mark.parametrize("bomb", ["a" + ".a" * 100_000 + " = 1", "[a" + " . a" * 50_000 + "]", 'x = 1\n"a"' + ".'b'" * 40_000 + " = 1", "a" * 250_000,
                                  '"' * 250_000, "a-" * 120_000, "\n".join(["a.b.c"] * 40_000), " . " * 80_000])  # fmt: skip
def test_a_key_of_very_many_parts_is_refused_at_once(bomb: str) -> None:
    start = time.monotonic()
    with pytest.raises(InputError, match="is not TOML"):
        job_from_text(bomb, "bomb")
    assert time.monotonic() - start < 2


def test_dots_that_are_no_key_are_read() -> None:
    assert files.parse_toml('# a.b.c\nx = "' + "a b. " * 100 + '"')["x"].startswith("a b. ")
    assert files.parse_toml(".".join("a" * files.MOST_PARTS) + " = 1")
    with pytest.raises(ValueError, match=r"more than 20 parts \(at line 2\)"):
        files.parse_toml("x = 1\n" + ".".join("a" * (files.MOST_PARTS + 1)) + " = 1")


def test_a_job_file_is_bounded(tmp_path: Path) -> None:
    (tmp_path / "j.toml").write_text("#" * 256_001)
    with pytest.raises(InputError, match="is over 256 kB"):
        read_job(tmp_path / "j.toml")


# ---- texts that hide


@pytest.mark.parametrize("text", ["\x00", ESC, RLO + "x", "a\nb", "a\u2028b", "\u2066a", "\u200ea"])
@pytest.mark.parametrize("where", ["title", "caution", "source", "curve", "condition"])
def test_texts_of_a_material_are_plain(text: str, where: str, tmp_path: Path) -> None:
    escaped = "".join(f"\\U{ord(c):08x}" for c in text)
    head = 'kind = "work"'
    change = {
        "title": ("bar off our rack", escaped),
        "source": ("test cuts", escaped),
        "curve": ("[curves.testcut]", f'[curves."{escaped}"]'),
        "caution": (head, f'{head}\ncautions = ["{escaped}"]'),
        "condition": (head, f'{head}\ncondition = "{escaped}"'),
    }
    path = tmp_path / "m.toml"
    path.write_text(SHOP.replace(*change[where], 1))
    lines = refusal(path)
    assert any("control characters" in line for line in lines)
    assert all(errors.is_plain(line) and line.startswith(f"{path}: ") for line in lines)


def test_texts_of_a_material_are_not_endless(tmp_path: Path) -> None:
    path = tmp_path / "m.toml"
    path.write_text(SHOP.replace("bar off our rack", "x" * 501))
    assert refusal(path) == [f"{path}: title: is 501 characters long; allowed is at most 500"]


def test_no_line_is_forged(tmp_path: Path) -> None:
    path = tmp_path / "m.toml"
    path.write_text(f'"a\\u001b[31m\\nfake: ok" = 1\n{SHOP}')
    assert all(line.isprintable() for line in refusal(path))
    with pytest.raises(InputError) as caught:
        read_job(tmp_path / f"a\n{RLO}fake: ok")
    assert len(caught.value.lines()) == 1 and caught.value.lines()[0].isprintable()
    assert Problem(where="k" * 5000, message="m" * 5000).line("f").count("k") < 200


def test_very_many_problems_are_counted() -> None:
    problems = [Problem(where=f"k{i}", message="is not known") for i in range(20_000)]
    lines = InputError("f", problems).lines()
    assert len(lines) == errors.MOST_LINES + 1
    assert lines[-1] == f"f: and {20_000 - errors.MOST_LINES} more"
    assert (
        InputError("f", problems[: errors.MOST_LINES]).lines()[-1]
        == f"f: k{errors.MOST_LINES - 1}: is not known"
    )


# UTS 51: families and professions are joined by U+200D; Unicode category Zs: spaces that do not break; Persian: U+200C inside words
@pytest.mark.parametrize(
    "text",
    [
        "Lot\u00a07",
        "12\u202f000",
        "\U0001f469\u200d\U0001f527",
        "\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645",
        "a\u3000b",
    ],
)
def test_texts_that_hide_nothing_are_taken(text: str) -> None:
    assert Heading.model_validate({"number": text}).number == text


@pytest.mark.parametrize(
    "text",
    [
        " ",
        "\u00a0",
        "\u200d",
        " \u3000\u200c",
        "a\u202eb",
        "a\u200fb",
        "a\u2069",
        "a\u0085b",
        "\ufeffa",
        "\ud800",
    ],
)
def test_texts_that_hide_or_say_nothing_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"is blank|holds control characters"):
        Heading.model_validate({"number": text})


@posix
def test_a_name_as_long_as_the_system_takes(tmp_path: Path) -> None:
    longest = os.pathconf(tmp_path, "PC_NAME_MAX")
    path = tmp_path / ("ä" * ((longest - 5) // 2) + ".toml")
    files.write_whole(path, "before")
    with files.alone(path):
        files.write_whole(path, (line for line in ("af", "ter")))
    assert path.read_text() == "after" and list(tmp_path.iterdir()) == [path]
    with pytest.raises(InputError, match="cannot be written: File name too long"):
        files.write_whole(tmp_path / ("x" * (longest + 1)), "")


@pytest.mark.parametrize("command", ["map", "report", "new", "record"])
def test_a_name_that_would_steer_the_terminal_is_shown_escaped(
    command: str, job: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    evil = str(job.with_name(f"m{ESC}.x"))
    name = str(job)
    args = {
        "map": ["map", name, "--over", "cutter.neck_diameter=5 mm", "--csv", evil],
        "report": ["report", name, "-o", evil],
        "new": ["new", evil, "--example", "t-track"],
        "record": ["trial", evil, "--record", "outcome=survived", "length=30 mm"],
    }[command]
    if command == "record":
        Path(evil).write_text(job.read_text("utf-8"), "utf-8")
    monkeypatch.setattr(sys, "argv", ["loadsim", *args])
    monkeypatch.setattr(samples, "USUAL", 8)
    with suppress(SystemExit):
        cli.main()
    said = capsys.readouterr()
    assert "\x1b" not in said.out + said.err
    assert r"m\x1b[31m.x" in said.err

"""Three ways in, each from nothing to a printed sheet: an inch shop with a handwheel, a beginner in
metric who does not know, and Python as in a notebook.
"""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from loadsim.job.questions.catalogue import QUESTIONS
from loadsim.job.write import example

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ROOT = Path(__file__).resolve().parent.parent
posix = pytest.mark.skipif(os.name != "posix", reason="a terminal of POSIX")
pytestmark = pytest.mark.slow
KEYS = {q.words: q.key for q in QUESTIONS}
PROMPT = r"\r?\n?(\d+)/(\d+) ([^\r\n]+?) \[([^\r\n]*)\]: $"


def spawn(folder: Path, *args: str) -> Any:
    pexpect = pytest.importorskip("pexpect")
    env = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "LOADSIM_SHOP": str(folder / "settings"),
        "TERM": "dumb",
    }
    command = ["-m", "loadsim", *args]
    return pexpect.spawn(
        sys.executable, command, cwd=str(folder), env=env, encoding="utf-8", timeout=60, dimensions=(24, 80)
    )  # fmt: skip


def talk(child: Any, answer: Callable[[str, str], str], most: int = 200) -> tuple[str, list[str]]:
    """Answer questions until the end; return all that stood on the screen, and what was asked."""
    shown = ""
    asked: list[str] = []
    for _ in range(most):
        if child.expect([PROMPT, end_of_input()]) == 1:
            shown += child.before
            child.close()
            return shown, asked
        shown += child.before + child.match[0]
        asked.append(KEYS[child.match[3]])
        typed = answer(asked[-1], child.match[4])
        if typed == "^C":
            time.sleep(0.5)  # the question stands there a moment before the terminal is read
            child.sendintr()
        elif typed == "^D":
            child.sendeof()
        else:
            child.sendline(typed)
    raise AssertionError("no end")


def end_of_input() -> Any:
    import pexpect

    return pexpect.EOF


def run(folder: Path, *args: str) -> tuple[int, str]:
    """Run a command on a terminal to its end."""
    child = spawn(folder, *args)
    child.expect(end_of_input())
    shown = child.before
    child.close()
    return child.exitstatus, shown.replace("\r", "")


def page_one(browser: Browser, file: Path) -> str:
    """Print a report as a browser does and return the text of its first page."""
    from pypdf import PdfReader

    page = browser.new_page()
    page.goto(file.as_uri())
    printed = page.pdf(format="Letter")
    page.close()
    return re.sub(r"\s+", " ", PdfReader(io.BytesIO(printed)).pages[0].extract_text())


INCH = {
    "job.number": "W-12", "job.units": "inch", "work.material": "cold rolled", "work.lubrication": "oil", "slot.throat_width": "1/4",
    "slot.undercut_width": "3/8", "slot.depth": ".280", "slot.undercut_height": ".100", "slot.length": "2-1/2", "slot.open_ends": "2",
    "slot.width_tolerance": ".003", "job.quantity": "4", "cutter.material": "m2", "cutter.hardness": "63 HRC", "cutter.head_diameter": "3/8",
    "cutter.neck_diameter": ".195", "cutter.neck_fillet": ".015", "cutter.runout": ".0008", "cutter.relief": "7", "cutter.wear": "0",
    "machine.max_spindle_speed": "2800", "machine.spindle_power": "1-1/2", "machine.handwheel": ".100",
}  # fmt: skip


@posix
def test_an_inch_shop_with_a_handwheel(tmp_path: Path, request: pytest.FixtureRequest) -> None:
    stopped = iter(["^C"])

    def first(key: str, default: str) -> str:
        return next(stopped) if key == "slot.length" else INCH.get(key, "")

    child = spawn(tmp_path, "new", "w12.toml")
    shown, asked = talk(child, first)
    assert child.exitstatus == 2 and "Traceback" not in shown
    assert "About 30 questions" in shown and "? explains" in shown
    assert asked[0] == "slot.straight" and asked[-1] == "slot.length"
    assert "kept in .loadsim-new.toml; to go on: loadsim new w12.toml" in re.sub(r"\s+", " ", shown)
    assert [p.name for p in tmp_path.iterdir()] == [".loadsim-new.toml"]

    child = spawn(tmp_path, "new", "w12.toml")
    child.expect(r"answers of job W-12 are kept from before\. Go on with them\? \[Y/n\]: $")
    child.sendline("y")
    shown, asked = talk(child, lambda key, default: INCH.get(key, ""))
    assert child.exitstatus == 0, shown
    assert asked[0] == "slot.length" and "job.number" not in asked
    assert (
        "Taken: 2-1/2 in (63.500 mm)." in shown
        and "Wrote w12.toml. Next: loadsim check w12.toml" in shown
    )
    assert [p.name for p in tmp_path.iterdir()] == ["w12.toml"]
    data = tomllib.loads((tmp_path / "w12.toml").read_text("utf-8"))
    assert data["work"] == {"material": "steel-1018", "lubrication": "brush"}
    assert data["cutter"]["runout"] == "0.0004 in" and data["machine"]["handwheel"] == ".100 in"

    status, text = run(tmp_path, "check", "w12.toml")
    assert status in (0, 1) and "turn" in text and "Traceback" not in text
    status, text = run(tmp_path, "shop", "--save", "w12.toml")
    assert status == 0 and (tmp_path / "settings" / "shop.toml").is_file()
    child = spawn(tmp_path, "new", "w13.toml")
    shown, asked = talk(child, lambda key, default: INCH.get(key, ""))
    assert child.exitstatus == 0 and not [k for k in asked if k.startswith("machine.")]
    assert "Not asked, as the shop file" in shown
    status, text = run(tmp_path, "plan", "w13.toml")
    assert status in (0, 1) and "From the shop file" in text
    status, text = run(tmp_path, "report", "w13.toml")
    assert status in (0, 1) and "Wrote reports/W-12.html" in text
    sheet = page_one(request.getfixturevalue("browser"), tmp_path / "reports" / "W-12.html")
    assert "W-12" in sheet and "rpm" in sheet and " in" in sheet


@posix
def test_a_beginner_in_metric_who_does_not_know(
    tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    """He asks what each question means, says that he does not know, and takes what is offered where he must know."""
    said: dict[str, list[str]] = {}

    def answer(key: str, default: str) -> str:
        tries = said.setdefault(key, [])
        tries.append(default)
        return ("?", "don't know", "")[min(len(tries), 3) - 1] if key != "slot.straight" else "yes"

    child = spawn(tmp_path, "new")
    shown, asked = talk(child, answer)
    assert child.exitstatus == 0, shown
    open_keys = {q.key for q in QUESTIONS if q.silent}
    assert all(asked.count(key) == 2 for key in open_keys) and shown.count("Left open.") == len(
        open_keys
    )
    assert all(
        asked.count(q.key) == 3 for q in QUESTIONS if not q.silent and q.key != "slot.straight"
    )
    assert all(len(line) <= 80 for line in shown.replace("\r", "").split("\n") if "]: " not in line)
    data = tomllib.loads((tmp_path / "job.toml").read_text("utf-8"))
    assert not open_keys & {f"{table}.{key}" for table, keys in data.items() for key in keys}
    for command in ("check", "plan", "trial"):
        status, text = run(tmp_path, command, "job.toml")
        assert status in (0, 1) and "Traceback" not in text and len(text.splitlines()) > 5
    status, text = run(tmp_path, "report", "job.toml")
    assert status in (0, 1) and "Wrote reports/1.html" in text
    sheet = page_one(request.getfixturevalue("browser"), tmp_path / "reports" / "1.html")
    assert "rpm" in sheet and " mm" in sheet


@posix
@pytest.mark.parametrize("key", [q.key for q in QUESTIONS][::4])
def test_the_end_of_input_keeps_what_was_typed(tmp_path: Path, key: str) -> None:
    child = spawn(tmp_path, "new")
    shown, asked = talk(child, lambda k, default: "^D" if k == key else "")
    assert child.exitstatus == 2 and "Traceback" not in shown
    assert asked[-1] == key
    names = [p.name for p in tmp_path.iterdir()]
    if len(asked) == 1:
        assert names == [] and "Stopped; nothing was written." in shown
    else:
        kept = tomllib.loads((tmp_path / ".loadsim-new.toml").read_text("utf-8"))["answers"]
        assert names == [".loadsim-new.toml"] and list(kept) == asked[:-1]


CELLS = """
import loadsim
job = loadsim.read_job("job.toml")
#%%
result = loadsim.check(job)
result.verdict
#%%
plan = loadsim.plan(job)
plan.result.settings.spindle_speed_rpm
#%%
loadsim.write_report(plan, "r.html")
"""


def test_python_as_in_a_notebook(tmp_path: Path, request: pytest.FixtureRequest) -> None:
    (tmp_path / "job.toml").write_text(example("one-sided"), encoding="utf-8")
    notebook = (  # a cell is run, and its last line shown, as a notebook does
        "import ast, sys\nspace = {}\nfor cell in sys.stdin.read().split('#%%'):\n"
        "    lines = ast.parse(cell).body\n    last = lines.pop() if isinstance(lines[-1], ast.Expr) else None\n"
        "    exec(compile(ast.Module(lines, []), 'cell', 'exec'), space)\n"
        "    if last:\n        print(repr(eval(compile(ast.Expression(last.value), 'cell', 'eval'), space)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", notebook],
        input=CELLS,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error"},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert (done.returncode, done.stderr) == (0, "")
    verdict, rpm, path = done.stdout.splitlines()
    assert verdict in ("<Verdict.GO: 'go'>", "<Verdict.MARGINAL: 'marginal'>")
    assert float(rpm) == pytest.approx(230)  # as [cut] gives it
    assert "r.html" in path
    sheet = page_one(request.getfixturevalue("browser"), tmp_path / "r.html")
    assert "R-9" in sheet and "230 rpm" in sheet

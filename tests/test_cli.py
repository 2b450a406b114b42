"""The command line from outside: exit codes, what is printed where, what is written, what is loaded."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parent.parent


def run(
    *args: str, cwd: Path | None = None, stdin: bytes = b"", timeout: float = 60
) -> subprocess.CompletedProcess[bytes]:
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error", "COLUMNS": "100"}
    return subprocess.run(
        [sys.executable, "-m", "loadsim", *args],
        input=stdin,
        capture_output=True,
        cwd=cwd,
        env=env,
        timeout=timeout,
        check=False,
    )


@pytest.fixture(scope="session")
def jobs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the three examples."""
    folder = tmp_path_factory.mktemp("jobs")
    for name in ("t-track", "thin-neck", "one-sided"):
        done = run("new", "--example", name, f"{name}.toml", cwd=folder)
        assert (done.returncode, done.stdout) == (0, b""), done.stderr
    return folder


@pytest.fixture(scope="session")
def answers(jobs: Path) -> dict[str, tuple[int, Any, str]]:
    """Exit code, JSON and stderr of each example."""
    found = {}
    for name in ("t-track", "thin-neck", "one-sided"):
        done = run("check", "--json", f"{name}.toml", cwd=jobs)
        found[name] = (
            done.returncode,
            json.loads(done.stdout, parse_constant=refuse),
            done.stderr.decode(),
        )
    return found


def refuse(word: str) -> None:
    raise AssertionError(f"{word} in the JSON")


def bad(*args: str, cwd: Path | None = None, stdin: bytes = b"") -> list[str]:
    """Lines on stderr of a call that is refused: exit 2, nothing on stdout, no traceback."""
    done = run(*args, cwd=cwd, stdin=stdin)
    lines = done.stderr.decode().splitlines()
    assert done.returncode == 2, (done.returncode, lines)
    assert done.stdout == b""
    assert lines
    assert "Traceback" not in done.stderr.decode()
    return lines


# ---- the examples, which are made to show the three answers


def test_exit_code_tells_go_from_no_go(answers: dict[str, tuple[int, Any, str]]) -> None:
    assert {n: a[0] for n, a in answers.items()} == {"t-track": 0, "thin-neck": 1, "one-sided": 0}
    assert answers["thin-neck"][1]["verdict"] == "no-go"
    assert answers["one-sided"][1]["verdict"] in ("go", "marginal")
    assert [a[2] for a in answers.values()] == ["", "", ""]


N = (int, float)
S = str
L = list
D = dict
O = type(None)  # noqa: E741
#: the promised object, written out by hand from the promise: key -> types
SHAPE: dict[str, Any] = {
    "loadsim": S, "job": S, "verdict": S, "governed_by": S, "limits": L, "warnings": L,
    "settings": {"spindle_speed_rpm": N, "surface_speed_m_per_min": N, "feed_per_tooth_mm": N, "feed_rate_mm_per_min": N,
                 "stepover_mm": (*N, O), "handwheel_seconds_per_turn": (*N, O), "cutting_time_s": N, "passes": L,
                 "predrill": (D, O)},
    "loads": dict.fromkeys(("peak_chip_mm", "peak_force_N", "mean_force_N", "peak_torque_Nmm", "mean_torque_Nmm", "mean_power_W",
                            "feed_force_mean_N", "feed_force_pull_N", "removal_rate_mm3_per_min"), N),
    "neck": dict.fromkeys(("stiffness_N_per_mm", "deflection_mm", "moment_Nmm", "bending_stress_MPa", "torsion_stress_MPa",
                           "kt_bending", "kt_torsion", "peak_stress_MPa", "natural_frequency_Hz", "force_to_snap_N",
                           "shock_moment_factor", "shock_amplitude_factor",
                           "torque_to_snap_Nmm", "cycles"), N),
    "risk": {"snap_probability": N, "low": N, "high": N, "samples": int, "drivers": L},
    "predrill": {"verdict": S, "why": S, "holes": (D, O)},
}  # fmt: skip
ITEMS: dict[tuple[str, ...], dict[str, Any]] = {
    ("limits",): {"name": S, "demand": N, "capacity": N, "unit": S, "utilization": N, "note": S},
    ("settings", "passes"): {"offset_mm": N, "height_mm": N, "radial_width_mm": N, "direction": S},
    ("risk", "drivers"): {"name": S, "share": N},
}


def misfits(value: Any, shape: Any, path: str = "") -> list[str]:
    if not isinstance(shape, dict):
        return (
            []
            if isinstance(value, shape) and not isinstance(value, bool)
            else [f"{path} is {value!r}"]
        )
    return [
        x
        for k, s in shape.items()
        for x in (
            [f"{path}.{k} is missing"] if k not in value else misfits(value[k], s, f"{path}.{k}")
        )
    ]


@pytest.mark.parametrize("name", ["t-track", "thin-neck", "one-sided"])
def test_json_has_every_promised_key(answers: dict[str, tuple[int, Any, str]], name: str) -> None:
    data = answers[name][1]
    assert misfits(data, SHAPE) == []
    for path, shape in ITEMS.items():
        items = data[path[0]] if len(path) == 1 else data[path[0]][path[1]]
        assert items
        assert [x for i in items for x in misfits(i, shape, ".".join(path))] == []
    assert data["verdict"] in ("go", "marginal", "no-go")
    assert data["governed_by"] in ["snap probability", *(x["name"] for x in data["limits"])]
    assert data["predrill"]["verdict"] in ("needed", "worthwhile", "not needed", "not possible")
    assert {x["direction"] for x in data["settings"]["passes"]} <= {"both", "conventional", "climb"}
    assert all(isinstance(w, str) for w in data["warnings"])
    assert 0 <= data["risk"]["low"] <= data["risk"]["snap_probability"] <= data["risk"]["high"] <= 1


@pytest.mark.parametrize("name", ["t-track", "thin-neck", "one-sided"])
def test_json_agrees_with_itself(answers: dict[str, tuple[int, Any, str]], name: str) -> None:
    """Definitions of a mill's settings: v = pi D n, f = f_z z n, P = T omega, utilization = demand / capacity."""
    data = answers[name][1]
    s = data["settings"]
    pi = 3.141592653589793
    diameter, teeth = {"t-track": (10.4, 2), "thin-neck": (6.8, 2), "one-sided": (12.7, 3)}[
        name
    ]  # as in the example
    assert s["surface_speed_m_per_min"] == pytest.approx(
        pi * diameter * s["spindle_speed_rpm"] / 1000, rel=1e-6
    )
    assert s["feed_rate_mm_per_min"] == pytest.approx(
        s["feed_per_tooth_mm"] * teeth * s["spindle_speed_rpm"], rel=1e-6
    )
    watt = data["loads"]["mean_torque_Nmm"] / 1000 * s["spindle_speed_rpm"] * 2 * pi / 60
    assert data["loads"]["mean_power_W"] == pytest.approx(watt, rel=1e-6)
    for x in data["limits"]:
        if x["capacity"] > 0:
            assert x["utilization"] == pytest.approx(
                x["demand"] / x["capacity"], rel=1e-6, abs=1e-9
            )


def test_json_is_one_object_and_the_same_every_time(
    jobs: Path, answers: dict[str, tuple[int, Any, str]]
) -> None:
    done = run("check", "t-track.toml", "--json", cwd=jobs)
    assert done.stdout.startswith(b"{")
    assert done.stdout.endswith(b"}\n")
    assert json.loads(done.stdout) == answers["t-track"][1]


def test_standard_input(jobs: Path, answers: dict[str, tuple[int, Any, str]]) -> None:
    done = run("check", "--json", "-", stdin=(jobs / "thin-neck.toml").read_bytes())
    assert (done.returncode, json.loads(done.stdout)) == (1, answers["thin-neck"][1])
    assert bad("check", "-", stdin=b"[job]\n")[0].startswith("-: ")


@pytest.mark.parametrize(
    ("name", "first", "second"),
    [("t-track", "mm/tooth", "thou/tooth"), ("one-sided", "thou/tooth", "mm/tooth")],
)
def test_text_leads_with_the_users_units_and_ends_with_the_caution(
    jobs: Path, name: str, first: str, second: str
) -> None:
    done = run("check", f"{name}.toml", "--full", cwd=jobs)
    text = done.stdout.decode()
    line = next(x for x in text.splitlines() if "feed per tooth" in x)
    assert 0 < line.index(first) < line.index(second)
    assert "eye protection" in text[-400:]
    assert "not a guarantee" in text
    assert max(map(len, text.splitlines())) <= 130


def test_a_closed_pipe_is_no_error(jobs: Path) -> None:
    script = f'"{sys.executable}" -m loadsim check t-track.toml | true; echo "${{PIPESTATUS[0]}}"'
    done = subprocess.run(
        ["bash", "-c", script],
        cwd=jobs,
        capture_output=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        timeout=60,
        check=False,
    )
    assert done.stderr == b""
    assert done.stdout.strip() in (b"0", b"141")


# ---- help and version, and what is loaded


def test_version() -> None:
    import loadsim

    assert run("--version").stdout.decode().split()[-1] == loadsim.__version__


@pytest.mark.parametrize("command", ["new", "check", "materials", "plan", "report", "map", "shop"])
def test_help_of_every_command_has_an_example(command: str) -> None:
    done = run(command, "--help")
    if b"No such command" in done.stderr and command not in ("new", "check", "materials"):
        pytest.skip(f"no {command} yet")
    assert done.returncode == 0
    assert f"Example: loadsim {command} " in done.stdout.decode()
    assert command in run("--help").stdout.decode()


@pytest.mark.parametrize("args", [("--help",), ("new", "--help")])
def test_what_is_not_answered_for_is_said_before_all(args: tuple[str, ...]) -> None:
    from loadsim.job.messages import STRAIGHT_ONLY

    assert STRAIGHT_ONLY in " ".join(run(*args).stdout.decode().split())


def loaded(*args: str, cwd: Path | None = None) -> set[str]:
    """Top names and scipy's parts that a call loads."""
    code = (
        "import sys, runpy; sys.argv = ['loadsim', *sys.argv[1:]]\n"
        "try:\n    runpy.run_module('loadsim', run_name='__main__')\n"
        "except SystemExit:\n    pass\n"
        "print('\\n'.join(sys.modules), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *args],
        capture_output=True,
        cwd=cwd,
        check=False,
        timeout=60,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    return set(done.stderr.decode().split())


@pytest.mark.parametrize("args", [("--help",), ("check", "--help"), ("--version",)])
def test_help_loads_nothing_heavy(args: tuple[str, ...]) -> None:
    found = loaded(*args)
    assert "click" in found
    assert found & {"numpy", "scipy", "pydantic", "pandas", "plotly", "jinja2"} == set()


def test_check_loads_no_package_it_does_not_use(jobs: Path) -> None:
    found = loaded("check", "t-track.toml", cwd=jobs)
    assert "numpy" in found
    assert (
        found & {"scipy.stats", "scipy.optimize", "pandas", "plotly", "jinja2", "matplotlib"}
        == set()
    )


# ---- bad input


@pytest.mark.parametrize(
    "args",
    [
        (),
        ("bogus",),
        ("check",),
        ("check", "--bogus", "a"),
        ("check", "a", "b"),
        ("materials", "a", "b"),
    ],
)
def test_wrong_arguments(args: tuple[str, ...]) -> None:
    done = run(*args)
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr


@pytest.mark.parametrize("flag", [(), ("--json",)])
def test_every_problem_is_one_line_on_stderr(
    tmp_path: Path, jobs: Path, flag: tuple[str, ...]
) -> None:
    text = (
        (jobs / "t-track.toml")
        .read_text("utf-8")
        .replace('"5.2 mm"', '"5.2"')
        .replace("teeth = 2", "teth = 2")
    )
    (tmp_path / "j.toml").write_text(text, encoding="utf-8")
    lines = bad("check", *flag, "j.toml", cwd=tmp_path)
    assert sorted(x.split(": ")[1] for x in lines) == [
        "[cutter] neck_diameter",
        "[cutter] teeth",
        "[cutter] teth",
    ]
    assert all(x.startswith("j.toml: ") for x in lines)
    assert [p.name for p in tmp_path.iterdir()] == ["j.toml"]  # nothing was written


@pytest.mark.parametrize("name", ["none.toml", ".", "\x01.toml", ""])
def test_a_file_that_cannot_be_read(tmp_path: Path, name: str) -> None:
    assert len(bad("check", name, cwd=tmp_path)) == 1
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("key", "right", "wrong", "near"), [
    ("[work] material", "al-6061-o", "al-6061-0", "al-6061-o"), ("[cutter] material", "hss-m2", "hss-m22", "hss-m2"),
])  # fmt: skip
def test_an_unknown_material_names_its_key_and_the_nearest(
    jobs: Path, key: str, right: str, wrong: str, near: str
) -> None:
    text = (jobs / "t-track.toml").read_text("utf-8").replace(f'"{right}"', f'"{wrong}"')
    lines = bad("check", "-", stdin=text.encode())
    assert len(lines) == 1
    assert lines[0].startswith(f"-: {key}: "), lines
    assert wrong in lines[0]
    assert f"did you mean {near}" in lines[0].replace("'", "")


@pytest.mark.parametrize("key", ["[work] material", "[cutter] material"])
@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("./none.toml", "there is no such file"),
        ("./text.toml", "is not TOML"),
        ("./thin-neck.toml", "job: unknown key"),
    ],
)
def test_a_path_to_something_else_is_named_with_its_key(
    jobs: Path, tmp_path: Path, key: str, path: str, words: str
) -> None:
    (tmp_path / "text.toml").write_text("root:x:0:0\n")
    (tmp_path / "thin-neck.toml").write_bytes((jobs / "thin-neck.toml").read_bytes())
    name = {"[work] material": "al-6061-o", "[cutter] material": "hss-m2"}[key]
    text = (jobs / "t-track.toml").read_text("utf-8").replace(f'"{name}"', f'"{path}"')
    lines = bad("check", "-", stdin=text.encode(), cwd=tmp_path)
    assert all(x.startswith(f"-: {key}: {path}: ") for x in lines), lines
    assert any(words in x for x in lines)


def test_a_work_material_is_no_blank(jobs: Path) -> None:
    text = (jobs / "t-track.toml").read_text("utf-8").replace('"hss-m2"', '"steel-1018"')
    (line,) = bad("check", "-", stdin=text.encode())
    assert "steel-1018" in line
    assert "blank" in line


# ---- materials


def test_materials_are_listed() -> None:
    text = run("materials").stdout.decode()
    promised = (
        "al-1100-o",
        "al-5052-h32",
        "al-6061-o",
        "al-6061-t6",
        "al-7075-t6",
        "brass-360",
        "steel-1018",
        "steel-1045",
        "steel-4140",
        "stainless-303",
        "stainless-304",
        "acetal",
        "hss-m2",
        "hss-m42",
        "o1-hardened",
        "carbide-fine",
    )
    assert [n for n in promised if n not in text.split()] == []
    data = json.loads(run("materials", "--json").stdout, parse_constant=refuse)
    assert [n for n in promised if n not in [x[0] for kind in data.values() for x in kind]] == []


@pytest.mark.parametrize("name", ["al-6061-o", "hss-m2"])
def test_one_material_shows_its_sources(name: str) -> None:
    data = json.loads(run("materials", name, "--json").stdout, parse_constant=refuse)
    text = run("materials", name).stdout.decode()
    assert data["name"] == name
    assert data["sources"]
    assert all(key in text for key in data["sources"])
    assert all(v["source"] in data["sources"] for v in data["values"])


def test_a_metal_tells_its_forces_and_their_sources() -> None:
    data = json.loads(run("materials", "al-6061-o", "--json").stdout, parse_constant=refuse)
    forces = data["forces"]
    assert forces["h_mm"] == [0.005, 0.01, 0.02, 0.05, 0.1, 0.2]
    for kind in ("tangential", "radial", "resultant"):
        band = forces[f"{kind}_N_per_mm"]
        ends = zip(band["low"], band["median"], band["high"], strict=True)
        assert all(0 < low < median < high for low, median, high in ends)
    (first, *_) = data["force_sources"]
    assert (first["force"], first["source"], first["label"]) == (
        "tangential", "GermanForceTables", "german",
    )  # fmt: skip
    assert first["h_range_mm"] == [0.05, 2.5]
    assert first["stretched"] == [True] * 3 + [False] * 3
    assert {s["force"] for s in data["force_sources"]} == {"tangential", "radial"}
    assert "forces" not in json.loads(run("materials", "hss-m2", "--json").stdout)


def test_the_page_of_a_material_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    done = run("materials", "steel-1018", "--html", "m.html", "--units", "inch", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (0, b"")
    assert done.stderr == b"Wrote m.html.\n"
    text = (tmp_path / "m.html").read_text("utf-8")
    assert "[lbf/in]" in text
    (line,) = bad("materials", "steel-1018", "--html", "m.html", cwd=tmp_path)
    assert line.startswith("m.html: is there already")
    assert (tmp_path / "m.html").read_text("utf-8") == text
    assert run("materials", "hss-m2", "--html", "m.html", "--force", cwd=tmp_path).returncode == 0
    assert "hss-m2" in (tmp_path / "m.html").read_text("utf-8")
    (line,) = bad("materials", "hss-m2", "--html", "none/m.html", cwd=tmp_path)
    assert "none/m.html: cannot be written" in line
    (line,) = bad("materials", "zzz", "--html", "z.html", cwd=tmp_path)
    (line,) = bad("materials", "--html", "z.html", cwd=tmp_path)
    assert line == "--html: belongs to one material: give NAME"
    assert [p.name for p in tmp_path.iterdir()] == ["m.html"]


def test_a_material_that_is_not_there() -> None:
    assert "did you mean al-6061-o?" in bad("materials", "al-6061-0")[0]
    for name in ("", "zzz", "../etc", "/", "x" * 5000, "a\x1bb"):
        (line,) = bad("materials", name)
        assert line.isprintable()
        assert len(line) < 400


OWN = """
kind = "work"
title = "6061-T6 off our rack"
source = "test cuts of 3 March"

[surface_speed]
lo = 75
hi = 150
unit = "m/min"

[curves.testcut]
model = "kienzle"
k_c11 = { value = 700, unit = "MPa", spread = 0.2 }
m_c = { value = 0.25, unit = "1" }
rake_reference = { value = 0, unit = "deg" }
h_range = { lo = 0.01, hi = 0.1, unit = "mm" }
"""


def test_a_file_of_the_shops_own_by_its_path(tmp_path: Path, jobs: Path) -> None:
    target = tmp_path / "own.toml"
    target.write_text(OWN, encoding="utf-8")
    text = (
        (jobs / "t-track.toml").read_text("utf-8").replace('"al-6061-o"', json.dumps(str(target)))
    )
    done = run("check", "--json", "-", stdin=text.encode())
    assert done.returncode in (0, 1), done.stderr
    target.write_text(OWN.replace("700", "-700") + "boiling = 3\n", encoding="utf-8")
    lines = bad("check", "-", stdin=text.encode())
    assert all(str(target) in x for x in lines)
    assert any("boiling" in x for x in lines)
    assert any("-700" in x for x in lines)


# ---- new


def test_new_refuses_to_write_over_a_file(tmp_path: Path) -> None:
    (tmp_path / "j.toml").write_text("mine", encoding="utf-8")
    (line,) = bad("new", "--example", "t-track", "j.toml", cwd=tmp_path)
    assert line.startswith("j.toml: ")
    assert (tmp_path / "j.toml").read_text("utf-8") == "mine"
    assert run("new", "--example", "t-track", "--force", "j.toml", cwd=tmp_path).returncode == 0
    assert "[cutter]" in (tmp_path / "j.toml").read_text("utf-8")
    assert [p.name for p in tmp_path.iterdir()] == ["j.toml"]


def test_new_writes_a_schema_only_when_asked_and_over_nothing(tmp_path: Path) -> None:
    assert run("new", "--example", "t-track", "--schema", "j.toml", cwd=tmp_path).returncode == 0
    assert sorted(p.name for p in tmp_path.iterdir()) == ["j.toml", "job.schema.json"]
    assert json.loads((tmp_path / "job.schema.json").read_text("utf-8"))["title"]
    (tmp_path / "job.schema.json").write_text("mine", encoding="utf-8")
    run("new", "--example", "t-track", "--schema", "k.toml", cwd=tmp_path)
    assert (tmp_path / "job.schema.json").read_text("utf-8") == "mine"


@pytest.mark.parametrize("args", [("--example", "nope", "j.toml"), ("j.toml",), (), ("--example", "t-track", "no/j.toml"),
                                  ("--example", "t-track", ".")])  # fmt: skip
def test_new_that_cannot_writes_nothing(tmp_path: Path, args: tuple[str, ...]) -> None:
    bad("new", *args, cwd=tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_new_to_standard_output_makes_no_file_named_dash(tmp_path: Path) -> None:
    done = run("new", "--example", "t-track", "-", cwd=tmp_path)
    assert list(tmp_path.iterdir()) == []
    assert done.returncode == 0
    assert b"[cutter]" in done.stdout

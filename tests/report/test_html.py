"""The report, against reference checkers and the answer it was made of: it reads back, nothing
escapes from it, and no file is lost.
"""

from __future__ import annotations

import contextlib
import json
import math
import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import html5lib
import pytest
from click.testing import CliRunner

import loadsim
from loadsim import plan
from loadsim import plan as plan_plan
from loadsim.answers import results
from loadsim.base.errors import InputError
from loadsim.cli import cli, main
from loadsim.job import write
from loadsim.job.read import job_from_dict, job_from_text
from loadsim.job.tables import Job
from loadsim.report import html, parts
from loadsim.report.embed import compare, payload, rerun
from loadsim.report.sheet.content import page
from loadsim.risk import samples

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ("t-track", "thin-neck", "one-sided")
WHEN = "2026-01-02 03:04"
SVG = "{http://www.w3.org/2000/svg}"
#: what a hostile job file would write: ends of elements, comments, attributes, templates, Plotly's own markup
HOSTILE = "</script><script>alert(1)</script><img src=x onerror=alert(2)>{{7*7}}<!--\"'&amp;<b>"


def few() -> samples.Draws:
    return samples.draws(samples_log2=10)


@pytest.fixture(scope="module")
def plans() -> dict[str, results.Plan]:
    return {n: plan(job_from_text(write.example(n), n), few()) for n in EXAMPLES}


@pytest.fixture(scope="module")
def texts(plans: dict[str, results.Plan]) -> dict[str, str]:
    return {n: html.page_text(p, WHEN) for n, p in plans.items()}


def hostile_job() -> Job:
    import tomllib

    data = tomllib.loads(write.example("t-track"))
    for key in ("number", "part", "drawing", "revision", "operation", "author"):
        data["job"][key] = f"{HOSTILE}{key}"
    return job_from_dict(data, "hostile")


@pytest.fixture(scope="module")
def hostile() -> str:
    return html.page_text(plan(hostile_job(), few()), WHEN)


# ---- one valid file


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_is_valid_html5(texts: dict[str, str], name: str) -> None:
    parser = html5lib.HTMLParser(strict=False, namespaceHTMLElements=False)
    parser.parse(texts[name])
    assert not [(place, code) for place, code, _ in parser.errors]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_reference_checker_finds_no_error(
    texts: dict[str, str], name: str, tmp_path: Path
) -> None:
    jar = os.environ.get("VNU_JAR")
    if not jar:
        pytest.skip(
            "needs Java and the Nu HTML Checker; set VNU_JAR to its vnu.jar (npm package vnu-jar)"
        )
    file = tmp_path / "r.html"
    file.write_text(texts[name])
    run = subprocess.run(
        ["java", "-jar", jar, "--errors-only", str(file)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr


@pytest.mark.parametrize("name", EXAMPLES)
def test_ids_are_unique_and_what_is_pointed_at_is_there(texts: dict[str, str], name: str) -> None:
    tree = html5lib.parse(texts[name], namespaceHTMLElements=False)
    ids = [e.get("id") for e in tree.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    links = {e.get("href", "#")[1:] for e in tree.iter("a")}
    labels = {
        x for e in tree.iter() for x in (e.get("aria-labelledby") or e.get("for") or "").split()
    }
    assert links | labels <= set(ids)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_screen_reader_finds_its_way(texts: dict[str, str], name: str) -> None:
    tree = html5lib.parse(texts[name], namespaceHTMLElements=False)
    levels = [int(e.tag[1]) for e in tree.iter() if e.tag in ("h1", "h2", "h3")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))
    for table in tree.iter("table"):
        assert any(th.get("scope") in ("row", "col") for th in table.iter("th"))
    drawings = [svg for svg in tree.iter(f"{SVG}svg") if svg.get("aria-hidden") != "true"]
    assert len(drawings) >= 3
    for svg in drawings:
        assert (
            svg.get("role") == "img" and svg.findtext(f"{SVG}title") and svg.findtext(f"{SVG}desc")
        )
    assert tree.get("lang") == "en"


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_is_small_and_asks_the_network_for_nothing(texts: dict[str, str], name: str) -> None:
    text = texts[name]
    assert len(text.encode()) < 2_500_000
    tree = html5lib.parse(text, namespaceHTMLElements=False)
    for element in tree.iter():
        for attribute in ("src", "href", "srcset", "action", "poster", "data"):
            value = element.get(attribute)
            assert value is None or value.startswith(("#", "data:")), (
                f"{element.tag} {attribute}={value}"
            )
    assert not list(tree.iter("link"))
    assert "default-src 'none'" in text


def test_the_charts_program_is_the_one_that_plotly_writes_for() -> None:
    from plotly.offline import get_plotlyjs_version

    bundle = parts.bundle()
    assert not re.search("[\x00-\x08\x0b\x0e-\x1f\x7f]", bundle)  # HTML forbids them
    assert f"plotly.js (cartesian - minified) v{get_plotlyjs_version()}" in bundle[:200]
    assert "</script" not in bundle.lower()
    assert "<!--" not in bundle
    assert "MIT" in parts.asset("plotly-LICENSE.txt")


def test_equal_input_gives_equal_bytes(
    plans: dict[str, results.Plan], texts: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert html.page_text(plans["t-track"], WHEN) == texts["t-track"]
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1767322800")
    assert "2026-01-02 03:00" in html.page_text(plans["t-track"])


# ---- what it says


@pytest.mark.parametrize("name", EXAMPLES)
def test_page_one_says_what_the_plan_says(
    plans: dict[str, results.Plan], texts: dict[str, str], name: str
) -> None:
    r = plans[name].result
    tree = html5lib.parse(texts[name], namespaceHTMLElements=False)
    sheet = next(e for e in tree.iter("section") if e.get("class") == "sheet")
    said = re.sub(r"\s+", " ", " ".join(sheet.itertext()))
    words = {"go": "GO", "marginal": "PROVE IT ON SCRAP FIRST", "no-go": "NO-GO"}
    assert words[r.verdict] in said
    assert f"{r.settings.spindle_speed_rpm:.0f} rpm" in said
    for limit in r.limits:
        assert limit.name in said or limit.note in said
    for word in ("eye protection", "scrap", "manual", "local codes", "signature", "head diameter"):
        assert word in said
    if r.verdict != "no-go":
        assert "Order of operations" in said and "Test cut on scrap" in said
    else:  # nothing on it may be taken for instructions
        assert "Do not run it" in said and "Why not, and what would help" in said
        assert not any(
            x in said for x in ("Set on the machine", "Order of operations", "test cut passed")
        )


def test_every_key_of_the_job_is_shown_as_given_and_as_understood(
    plans: dict[str, results.Plan],
) -> None:
    plan = plans["one-sided"]
    rows = {r.key: r for r in page(plan, payload.gather(plan, plan.asked, WHEN)).inputs}
    for table, keys in (plan.asked.given or {}).items():
        for key, value in keys.items():
            assert rows[f"[{table}] {key}"].given == (
                str(value).lower() if isinstance(value, bool) else str(value)
            )
    assert rows["[slot] undercut_height"].given == "3/32 in"
    assert rows["[slot] undercut_height"].understood in (
        "0.0937 in (2.381 mm)",
        "0.0938 in (2.381 mm)",
    )
    assert rows["[cutter] edge_radius"].understood.endswith("(0.0100 mm)")
    assert rows["[cut] spindle_speed"].understood == "230 rpm"


def test_the_grinding_sheet_is_a_page_of_the_report(tmp_path: Path) -> None:
    from loadsim.answers.cutter import grinding_sheet
    from loadsim.job.cutter_geometry import shape_of
    from loadsim.mechanics import polygon

    text = (
        write.example("t-track")
        + '[grind]\ngullet_depth = "2.4 mm"\nland = "0.5 mm"\nsecondary_relief = "20 deg"\n'
    )
    plan = plan_plan(job_from_text(text, "job"), few())
    tree = html5lib.parse(html.page_text(plan, WHEN), namespaceHTMLElements=False)
    said = re.sub(r"\s+", " ", " ".join(tree.itertext()))
    steps = grinding_sheet.sheet(plan.job)
    for o in steps.operations:
        assert o.what in said and o.check in said
    drawing = next(e for e in tree.iter(f"{SVG}svg") if e.get("id") == "grinding")
    scale = float(re.search(r"scale (\d+):1", "".join(drawing.itertext()))[1])  # type: ignore[index]
    head = next(e for e in drawing.iter(f"{SVG}path") if e.get("data-part") == "ground-head")
    points = [tuple(map(float, p.split())) for p in (head.get("d") or "")[1:-2].split(" L")]
    area = (
        sum(
            a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True)
        )
        / 2
    )
    assert plan.job.grind is not None
    exact = polygon.moments(shape_of(plan.job.cutter, plan.job.grind).outline).area
    assert max(area, -area) / scale**2 == pytest.approx(
        exact, rel=1e-3
    )  # coordinates are written to 0.001 mm of paper


WHOLE = """
[grind]
gullet_depth = "2.4 mm"
land = "0.5 mm"
[throat_mill]
diameter = "6.2 mm"
flute_length = "12 mm"
teeth = 2
helix = "30 deg"
material = "hss-m2"
stickout = "25 mm"
[[trial]]
spindle_speed = "2600 rpm"
feed_per_tooth = "0.012 mm/tooth"
length = "30 mm"
outcome = "survived"
"""


def test_a_whole_routing_lists_the_sources_of_all_its_tools_and_no_bare_unit() -> None:
    plan = plan_plan(
        job_from_text(write.example("t-track") + WHOLE, "job"), samples.draws(samples_log2=13)
    )
    shown = page(plan, payload.gather(plan, plan.asked, WHEN))
    plain = plan_plan(job_from_text(write.example("t-track"), "job"), few())
    before = {k for k, _, _ in page(plain, payload.gather(plain, plain.asked, WHEN)).sources}
    mine = {
        "KopsVo1990",
        "Kong1994",
        "Steger1996",
        "SutherlandHodgman1974",
        "PlaneGeometry",
        "Malkin2008",
    }
    assert mine <= {k for k, _, _ in shown.sources} and not mine & before
    rows = {r.key: r for r in shown.inputs}
    assert rows["[[trial]] 1 length"].given == "30 mm" and "[job] trials" not in rows
    cells = [
        c
        for s in shown.sections
        for t in s["tables"]
        if t["caption"].startswith("Limits of")
        for r in t["rows"]
        for c in r[1:3]
    ]
    assert len(cells) > 10 and not any(c.endswith(" 1") for c in cells)


def test_other_necks_are_worked_out_once(
    plans: dict[str, results.Plan], monkeypatch: pytest.MonkeyPatch
) -> None:
    from loadsim.report.figures import limit_series

    asked = []
    real = limit_series.over_neck
    monkeypatch.setattr(limit_series, "over_neck", lambda *a: (asked.append(1), real(*a))[1])
    html.page_text(plans["t-track"], WHEN)
    assert len(asked) == 1


def test_without_a_grind_there_is_no_grinding_sheet(texts: dict[str, str]) -> None:
    assert "Grinding sheet" not in texts["t-track"]


def test_test_cuts_are_shown_before_and_after() -> None:
    text = write.example("t-track") + (
        '[[trial]]\nspindle_speed = "2600 rpm"\nfeed_per_tooth = "0.012 mm/tooth"\nlength = "30 mm"\noutcome = "survived"\n'
        'force = "95 N"\nforce_uncertainty = "15 N"\n'
    )
    plan = plan_plan(job_from_text(text, "job"), samples.draws(samples_log2=13))
    trials = plan.result.trials
    assert trials is not None
    said = re.sub(
        r"\s+",
        " ",
        " ".join(
            html5lib.parse(html.page_text(plan, WHEN), namespaceHTMLElements=False).itertext()
        ),
    )
    force = next(f for f in trials.factors if f.name == "force")
    for band in (force.before, force.after):
        assert f"{band.middle:.2f} ({band.low_95:.2f} to {band.high_95:.2f})" in said
    assert "Scrap test cut" in said and "effective samples" in said


def test_only_the_sources_used_are_listed(plans: dict[str, results.Plan]) -> None:
    plan = plans["t-track"]
    shown = page(plan, payload.gather(plan, plan.asked, WHEN))
    keys = {k for k, _, _ in shown.sources}
    assert keys == set(plan.result.sources) | {k for e in shown.equations for k in e.keys}
    assert "ISO2768-1" not in keys  # this job gives its tolerance
    thin = plans["thin-neck"]
    assert "ISO2768-1" in {
        k for k, _, _ in page(thin, payload.gather(thin, thin.asked, WHEN)).sources
    }


def test_sources_of_equations_are_known() -> None:
    from loadsim.base.sources import load_sources
    from loadsim.report.sheet import equations

    known = load_sources()
    assert all(
        k in known
        for e in (
            *equations._ALWAYS,
            *(e for e in vars(equations).values() if isinstance(e, equations.Equation)),
        )
        for k in e.keys
    )


# ---- hostile text stays text


def test_hostile_text_stays_text(hostile: str, texts: dict[str, str]) -> None:
    plain = html5lib.parse(texts["t-track"], namespaceHTMLElements=False)
    tree = html5lib.parse(hostile, namespaceHTMLElements=False)
    assert [e.tag for e in tree.iter() if isinstance(e.tag, str)].count("script") == [
        e.tag for e in plain.iter() if isinstance(e.tag, str)
    ].count("script")
    assert not list(tree.iter("img"))
    assert not [
        e for e in tree.iter() for a in e.attrib if isinstance(a, str) and a.startswith("on")
    ]
    parts = [t for e in tree.iter() for t in (e.text, e.tail) if t and HOSTILE in t]
    assert parts, "the text itself must still be readable"
    assert "{{7*7}}" in hostile  # and no template ran on it


def test_hostile_text_comes_back_as_it_went_in(hostile: str, tmp_path: Path) -> None:
    file = tmp_path / "r.html"
    file.write_text(hostile)
    assert payload.read(file).job == hostile_job()


def test_no_text_inside_the_data_can_end_its_element(hostile: str) -> None:
    start = hostile.index('id="loadsim-report">')
    data = hostile[start : hostile.index("</script>", start)]
    assert "alert(2)" in data
    assert "<" not in data
    assert "&" not in data


# ---- read back


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_job_comes_back_whole(
    plans: dict[str, results.Plan], texts: dict[str, str], name: str, tmp_path: Path
) -> None:
    file = tmp_path / "r.html"
    file.write_text(texts[name])
    back = payload.read(file)
    assert back.job == plans[name].asked
    assert back.planned == plans[name].job
    assert back.job.given == plans[name].asked.given
    assert compare.changes(back, plans[name].to_dict()) == ()
    assert compare.changes(back, plans[name].result.to_dict()) == ()


def test_the_same_numbers_when_it_is_run_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("job.toml").write_text(write.example("one-sided"))
    runner = CliRunner()
    first = runner.invoke(cli, ["report", "job.toml", "-o", "out/r.html"])
    assert "Wrote out/r.html" in first.stderr
    again = runner.invoke(cli, ["report", "out/r.html", "-o", "second.html"])
    assert "The numbers are those of the report." in again.stderr
    assert again.exit_code == first.exit_code
    checked = runner.invoke(cli, ["check", "out/r.html", "--json"])
    assert json.loads(checked.stdout) == {
        k: v
        for k, v in payload.read("out/r.html").payload.plan.items()
        if k in json.loads(checked.stdout)
    }
    assert "The numbers are those of the report." in checked.stderr


def test_a_report_of_a_job_with_an_empty_cut_checks_the_cut_that_was_planned(
    tmp_path: Path,
) -> None:
    job = job_from_text(
        re.sub(
            r"(?m)^(spindle_speed|feed_per_tooth|direction) = .*$", "", write.example("t-track")
        ),
        "job",
    )
    assert job.cut.feed_per_tooth is None
    plan = plan_plan(job, few())
    file = loadsim.write_report(plan, tmp_path / "r.html", written=WHEN)
    back = payload.read(file)
    assert back.job.cut.feed_per_tooth is None
    assert back.planned.cut.feed_per_tooth == pytest.approx(
        plan.result.settings.feed_per_tooth_mm, rel=1e-8
    )  # the answer keeps nine figures
    assert compare.changes(back, loadsim.check(back.planned, few()).to_dict()) == ()


def test_a_job_made_in_python_has_a_report_too(
    plans: dict[str, results.Plan], tmp_path: Path
) -> None:
    plan = plans["t-track"]
    bare = replace(plan, asked=plan.asked.with_given(None))
    file = loadsim.write_report(bare, tmp_path / "r.html", written=WHEN)
    assert payload.read(file).job == plan.asked
    assert "made in Python" in file.read_text()


def tampered(text: str, change: dict[str, object], tmp_path: Path) -> Path:
    start = text.index('id="loadsim-report">') + len('id="loadsim-report">')
    end = text.index("</script>", start)
    data = json.loads(text[start:end])
    for path, value in change.items():
        inner = data
        *way, last = path.split(".")
        for step in way:
            inner = inner[step]
        inner[last] = value
    file = tmp_path / "t.html"
    file.write_text(text[:start] + payload.escaped(data) + text[end:])
    return file


def test_a_changed_version_or_material_is_named_with_how_far_the_numbers_moved(
    plans: dict[str, results.Plan], texts: dict[str, str], tmp_path: Path
) -> None:
    plan = plans["t-track"]
    values = payload.gather(plan, plan.asked, WHEN).materials["work"].values
    values = [
        {**v, "value": v["value"] * 1.25} if i == 0 and v["value"] else v
        for i, v in enumerate(values)
    ]
    force = plan.result.loads.peak_force_N
    file = tampered(
        texts["t-track"],
        {
            "loadsim": "0.0.9",
            "materials.work.hash": "0123456789abcdef",
            "materials.work.values": values,
            "plan.loads.peak_force_N": force * 1.1,
            "plan.loadsim": "0.0.9",
        },
        tmp_path,
    )
    lines = compare.changes(payload.read(file), plan.to_dict())
    assert lines[0] == f"The report was written by loadsim 0.0.9; this is {loadsim.__version__}."
    assert lines[1].startswith("The data of al-6061-o changed: ")
    assert "then" in lines[1]
    assert lines[2] == f"Changed: loads.peak_force_N: {force * 1.1:.6g} then, {force:.6g} now"
    assert len(lines) == 3


def test_numbers_that_nothing_explains_say_so(
    plans: dict[str, results.Plan], texts: dict[str, str], tmp_path: Path
) -> None:
    file = tampered(texts["t-track"], {"plan.risk.snap_probability": 0.5}, tmp_path)
    lines = compare.changes(payload.read(file), plans["t-track"].to_dict())
    assert lines[0].startswith("Neither the version nor the data of metal and blank changed")
    assert lines[1].startswith("Changed: risk.snap_probability: 0.5 then, ")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"format": 2}, "is a report of another format, or damaged, at: format"),
        ({"job.cutter.neck_diameter": -1.0}, r"\[cutter\] neck_diameter: "),
        ({"job.cutter.neck_diameter": 5.0}, "the job as written and the job as understood differ"),
        ({"planned.slot.depth": "7 N"}, r"\[slot\] depth: "),
        (
            {"given.work.material": "unobtainium"},
            "the work material it carries is not that of its job",
        ),
        ({"given.slot.depth": "7.1 mm"}, "the job as written and the job as understood differ"),
        ({"surprise": 1}, "damaged, at: surprise"),
        ({"seed": True}, "damaged, at: seed"),
        ({"plan": []}, "damaged, at: plan"),
    ],
)
def test_a_damaged_report_is_refused(
    texts: dict[str, str], change: dict[str, object], message: str, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match=message):
        payload.read(tampered(texts["t-track"], change, tmp_path))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("<!DOCTYPE html><title>x</title>", "no report of loadsim: it carries no job"),
        ("<!doctype html><![<", "no report of loadsim|nor a report of loadsim"),
        ('<!DOCTYPE html><script id="loadsim-report">{"a": NaN}</script>', "is not JSON"),
        (
            '<!DOCTYPE html><script id="loadsim-report">' + "[" * 100_000 + "</script>",
            "is not JSON",
        ),
        ('<!DOCTYPE html><script id="loadsim-report">[1]</script>', "damaged, at: all of it"),
        ("<!DOCTYPE html>" + " " * 8_000_000, "is over 8 MB"),
    ],
)
def test_html_that_is_no_report_is_refused(
    text: str,
    message: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    file = tmp_path / "x.html"
    file.write_text(text)
    monkeypatch.setattr(sys, "argv", ["loadsim", "check", str(file)])
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == 2
    said = capsys.readouterr().err
    assert re.search(message, said) and said.count("\n") == 1 and "defect" not in said


def test_a_shops_own_material_travels_inside(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("mine.toml").write_text(SHOP)
    job = job_from_text(write.example("t-track").replace('"al-6061-o"', '"mine.toml"'), "job")
    plan = plan_plan(job, few())
    file = loadsim.write_report(plan, "r.html", written=WHEN)
    Path("mine.toml").unlink()
    back = payload.read(file)
    assert Path(back.job.work.material).read_text() == SHOP
    again = plan_plan(back.job, few()).to_dict()
    lines = compare.changes(back, again)
    assert lines == ("The material file mine.toml was taken from inside the report.",)


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


# ---- reports that were edited to deceive


def own_report(folder: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[results.Plan, str]:
    """A report with a material file of the shop's own, and the folder it was written in."""
    monkeypatch.chdir(folder)
    Path("mine.toml").write_text(SHOP)
    plan = plan_plan(
        job_from_text(write.example("t-track").replace('"al-6061-o"', '"mine.toml"'), "job"), few()
    )
    return plan, html.page_text(plan, WHEN)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"planned.cutter.neck_diameter": 5.9, "plan": {}}, "the job as planned is not the job as understood"),
        ({"planned.cut.spindle_speed": 100.0}, "the job as planned is not the job as understood"),
        ({"planned.job.number": "other"}, "the job as planned is not the job as understood"),
        ({"materials": {}}, "damaged, at: materials"),
        ({"materials.work.name": "x/evil.toml"}, "the material x/evil.toml and its file do not belong together"),
        ({"materials.work.name": "x/evil.toml", "materials.work.file": "SHOP"}, "the work material it carries is not that of its job"),
        ({"materials.work.file": "SHOP"}, "the material al-6061-o and its file do not belong together"),
        ({"materials.work.name": "a\x1b[31m\nThe numbers are those of the report."}, "damaged, at: materials.work.name"),
        ({"materials.work.name": "a/" + "x" * 390 + ".toml", "materials.work.file": "SHOP"}, "the work material it carries is not that of its job"),
        ({"materials.work.name": "a/b.toml", "materials.work.file": "kind = 1"}, "the material file a/b.toml inside it: "),
        ({"job.work.material": "/etc/hostname", "given.work.material": "/etc/hostname", "planned.work.material": "/etc/hostname"},
         "the work material it carries is not that of its job"),
        ({**{f"{t}.work.material": "/etc/hostname" for t in ("job", "given", "planned")}, "materials.work.name": "/etc/hostname"},
         "the material /etc/hostname and its file do not belong together"),
        ({"plan.neck.cycles": 10**400}, "is not JSON"),
    ],
)  # fmt: skip
def test_a_report_edited_to_deceive_is_refused(
    texts: dict[str, str], change: dict[str, object], message: str, tmp_path: Path
) -> None:
    change = {k: SHOP if v == "SHOP" else v for k, v in change.items()}
    file = tampered(texts["t-track"], change, tmp_path)
    with pytest.raises(InputError, match=re.escape(message)) as caught:
        payload.read(file)
    assert all(line.startswith(f"{file}: ") for line in caught.value.lines())


@pytest.mark.parametrize(
    "change",
    [
        {"job.job.trials": ["SECRET"], "planned.job.trials": ["SECRET"], "given.job.trials": ["SECRET"]},
        {"job.throat_mill": {"material": "SECRET"}, "planned.throat_mill": {"material": "SECRET"},
         "given.throat_mill": {"material": "SECRET"}},
        {"job.trial": [{"material": "SECRET"}], "planned.trial": [{"material": "SECRET"}],
         "given.trial": [{"blank": "SECRET"}]},
    ],
)  # fmt: skip
def test_a_report_opens_no_file_that_it_names(
    texts: dict[str, str], change: dict[str, object], tmp_path: Path
) -> None:
    secret = tmp_path / "secret.toml"
    secret.write_text("the key is hunter2\n")
    secret.chmod(0)
    forged = json.loads(json.dumps(change).replace("SECRET", str(secret)))
    file = tampered(texts["t-track"], forged, tmp_path)
    secret.chmod(0o600)
    opened = _opened(lambda: payload.read(file))
    assert str(secret) not in opened
    with pytest.raises(
        InputError, match=r"names the file .*secret\.toml and does not carry it"
    ) as e:
        payload.read(file)
    assert "hunter2" not in str(e.value.lines())


def _opened(run: Callable[[], object]) -> set[str]:
    """Every file that is opened while something runs, refused or not."""
    seen: list[str] = []
    WATCHED.append(seen)
    try:
        with contextlib.suppress(InputError):
            run()
    finally:
        WATCHED.remove(seen)
    return set(seen)


WATCHED: list[list[str]] = []


def _watch(event: str, args: tuple[object, ...]) -> None:
    if event == "open":
        for seen in WATCHED:
            seen.append(str(args[0]))


sys.addaudithook(_watch)  # for good: Python takes none back


#: A shop's own blank and metal, and a file of test cuts made with that metal.
OWN_BLANK = """kind = "blank"
title = "Our end mills"
source = "the maker's sheet"
E = { value = 217, unit = "GPa" }
nu = { value = 0.29, unit = "1" }
density = { value = 8160, unit = "kg/m^3" }
hardness_HRC = { value = 64, lo = 63, hi = 65, unit = "HRC" }
hardness_HV = { value = 800, unit = "HV" }
bend_strength = { value = 3400, unit = "MPa", spread = 0.12 }
weibull_m = { value = 15, lo = 8, hi = 25, unit = "1" }
K_IC = { value = 16, unit = "MPa*sqrt(m)", spread = 0.2 }
defect_size = { value = 24, unit = "um", spread = 0.3 }
speed_factor = { value = 1, unit = "1" }
"""
TRIAL = """
[[trial]]
spindle_speed = "2000 rpm"
feed_per_tooth = "0.02 mm/tooth"
length = "30 mm"
outcome = "survived"
direction = "conventional"
"""


def test_everything_it_was_made_from_travels_inside(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    (shop / "cuts").mkdir(parents=True)
    (shop / "mill.toml").write_text(OWN_BLANK)
    (shop / "metal.toml").write_text(SHOP)
    base = re.sub(
        r'(?m)^material *= "al-[^"]*"', 'material = "METAL"', write.example("t-track"), count=1
    )
    assert "METAL" in base
    (shop / "cuts" / "other.toml").write_text(base.replace("METAL", "../metal.toml") + TRIAL)
    job = base.replace("METAL", "cuts/../metal.toml").replace(
        "[job]", '[job]\ntrials = ["cuts/other.toml"]', 1
    )
    job += '\n[throat_mill]\nmaterial = "mill.toml"\ndiameter = "6 mm"\nflute_length = "10 mm"\nteeth = 2\n'
    job += 'helix = "30 deg"\nstickout = "15 mm"\n'
    (shop / "job.toml").write_text(job)
    runner = CliRunner()
    page = tmp_path / "r.html"
    done = runner.invoke(cli, ["report", str(shop / "job.toml"), "-o", str(page)])
    assert done.exit_code in (0, 1), done.output
    data = payload.read(page).payload
    assert {(x.name, x.of) for x in data.files} == {
        ("mill.toml", None), ("cuts/other.toml", None), ("../metal.toml", "cuts/other.toml")
    }  # fmt: skip
    assert data.job["job"]["trials"] == ["cuts/other.toml"]
    # others of these names, and worse ones, lie there when it is run again: none is opened
    for name in ("mill.toml", "metal.toml", "cuts/other.toml"):
        (shop / name).write_text("no = toml = here")
    opened = _opened(lambda: runner.invoke(cli, ["plan", str(page), "--json"]))
    assert not [x for x in opened if x.startswith(str(shop))]
    again = runner.invoke(cli, ["plan", str(page), "--json"])
    assert again.exit_code in (0, 1), again.output
    assert json.loads(again.stdout)["trials"]["cuts"][0]["where"] == "cuts/other.toml [[trial]] 1"
    for told in ("The material file mill.toml was", "The test cuts of cuts/other.toml were"):
        assert f"{told} taken from inside the report." in " ".join(again.stderr.split())
    assert "The numbers are those of the report." in again.stderr


def test_numbers_that_are_not_finite_are_refused(texts: dict[str, str], tmp_path: Path) -> None:
    text, changed = re.subn(r'"cycles":[0-9.e+-]+', '"cycles":1e999', texts["t-track"], count=1)
    assert changed == 1
    (tmp_path / "r.html").write_text(text)
    with pytest.raises(InputError, match="is not JSON"):
        payload.read(tmp_path / "r.html")


@pytest.mark.parametrize("first", ["", "{}"])
def test_two_data_elements_are_refused(texts: dict[str, str], first: str, tmp_path: Path) -> None:
    head, tag, rest = texts["t-track"].partition(
        '<script type="application/json" id="loadsim-report">'
    )
    assert tag
    (tmp_path / "r.html").write_text(f"{head}{tag}{first}</script>{tag}{rest}")
    with pytest.raises(InputError, match="carries two jobs"):
        payload.read(tmp_path / "r.html")


def test_what_the_report_does_not_say_is_no_agreement(
    plans: dict[str, results.Plan], texts: dict[str, str], tmp_path: Path
) -> None:
    lines = compare.changes(
        payload.read(tampered(texts["t-track"], {"plan": {}}, tmp_path)), plans["t-track"].to_dict()
    )
    assert "Changed: verdict: nothing then, given now" in lines


def test_keys_inside_forge_no_line(
    plans: dict[str, results.Plan], texts: dict[str, str], tmp_path: Path
) -> None:
    file = tampered(
        texts["t-track"],
        {"plan.neck.x\x1b[2J\nThe numbers are those of the report": 1, "plan.neck.\u202ey": 2},
        tmp_path,
    )
    lines = compare.changes(payload.read(file), plans["t-track"].to_dict())
    assert len(lines) == 3
    assert all(line.isprintable() for line in lines)


def test_only_the_file_inside_is_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _, text = own_report(tmp_path, monkeypatch)
    Path("r.html").write_text(text)
    Path("mine.toml").unlink()
    os.mkfifo("mine.toml")  # reading it would not end
    back = payload.read("r.html")
    assert Path(back.job.work.material).read_text() == SHOP
    again = plan(back.job, few())
    assert html.page_text(again, WHEN) == text, "a report of a report is the same report"
    assert rerun.changes(back, again.to_dict()) == [
        "The material file mine.toml was taken from inside the report.",
        "The numbers are those of the report.",
    ]


def test_a_bad_material_file_inside_is_named_by_the_report(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, text = own_report(tmp_path, monkeypatch)
    file = tampered(text, {"materials.work.file": SHOP.replace("700", "-700")}, tmp_path)
    with pytest.raises(InputError) as caught:
        payload.read(file)
    assert caught.value.lines() == [
        f"{file}: the material file mine.toml inside it: [curves.testcut] k_c11: value is -700 MPa; must be > 0"
    ]


def test_nothing_is_printed_before_the_changes_are_known(
    texts: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "r.html").write_text(texts["t-track"])
    monkeypatch.setattr(
        compare, "changes", lambda *_: (_ for _ in ()).throw(InputError("r.html", []))
    )
    done = CliRunner().invoke(cli, ["check", str(tmp_path / "r.html")])
    assert isinstance(done.exception, InputError)
    assert done.stdout == ""


# ---- files


@pytest.mark.parametrize(
    ("number", "name"),
    [
        ("CON", "job-CON.html"),
        ("nul.1", "job-nul.1.html"),
        ("COM7", "job-COM7.html"),
        ("CONE", "CONE.html"),
    ],
)
def test_a_number_that_names_a_device_on_some_systems(number: str, name: str) -> None:
    import tomllib

    data = tomllib.loads(write.example("t-track"))
    data["job"]["number"] = number
    assert html.where(job_from_dict(data, "job"), None).name == name


@pytest.mark.parametrize("epoch", ["99999999999999999", "-5", "1.5", "\u0663", "253402300800"])
def test_a_date_that_is_none_is_refused(epoch: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
    with pytest.raises(InputError, match=r"^SOURCE_DATE_EPOCH: is "):
        html._clock()


def test_the_last_date_that_can_be(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "253402300799")
    assert html._clock() == "9999-12-31 23:59"


def test_a_report_never_comes_to_more_than_it_may(plans: dict[str, results.Plan]) -> None:
    with pytest.raises(InputError, match=r"would come to 1\.\d MB; allowed are 1 MB"):
        html.page_text(plans["t-track"], WHEN, most_bytes=1_000_000)


def test_the_same_name_at_the_same_time_is_written_once(
    plans: dict[str, results.Plan],
    texts: dict[str, str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    file = tmp_path / "r.html"

    def slow(plan: results.Plan, written: str | None, full: bool) -> str:
        file.write_text(texts["thin-neck"])  # another job, while this one is being drawn
        return texts["t-track"]

    monkeypatch.setattr(html, "page_text", slow)
    with pytest.raises(InputError, match="is there already and is the report of job"):
        loadsim.write_report(plans["t-track"], file, written=WHEN)
    assert file.read_text() == texts["thin-neck"]


@pytest.mark.parametrize("force", [False, True])
def test_a_report_goes_to_no_pipe(
    plans: dict[str, results.Plan], force: bool, tmp_path: Path
) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(
        InputError,
        match="is a device or a pipe, not a file; give another name with -o FILE, or -o - for standard output",
    ):
        loadsim.write_report(plans["t-track"], tmp_path / "pipe", written=WHEN, force=force)
    assert (tmp_path / "pipe").is_fifo()


def test_a_link_to_a_report_stays_a_link(plans: dict[str, results.Plan], tmp_path: Path) -> None:
    loadsim.write_report(plans["t-track"], tmp_path / "r.html", written=WHEN)
    (tmp_path / "link.html").symlink_to("r.html")
    loadsim.write_report(plans["t-track"], tmp_path / "link.html", written="later")
    assert (tmp_path / "link.html").is_symlink()
    assert "later" in (tmp_path / "r.html").read_text()


def test_the_default_name_is_the_jobs_number() -> None:
    job = hostile_job()
    assert html.where(job, None).parent == Path("reports")
    assert re.fullmatch(r"[A-Za-z0-9._-]+\.html", html.where(job, None).name)
    assert html.where(job, "x.html") == Path("x.html")
    import tomllib

    data = tomllib.loads(write.example("t-track"))
    for number, name in (
        ("../../etc/passwd", "etc-passwd.html"),
        ("F 118/2", "F-118-2.html"),
        (".hidden", "hidden.html"),
    ):
        data["job"]["number"] = number
        assert html.where(job_from_dict(data, "job"), None) == Path("reports") / name
    data["job"]["number"] = "///"
    with pytest.raises(InputError, match=r"\[job\] number: gives no file name .* -o FILE"):
        html.where(job_from_dict(data, "job"), None)


def test_nothing_else_is_written_over(
    plans: dict[str, results.Plan], texts: dict[str, str], tmp_path: Path
) -> None:
    plan = plans["t-track"]
    file = tmp_path / "r.html"
    file.write_text("my notes")
    with pytest.raises(InputError, match="is there already and is not a report"):
        loadsim.write_report(plan, file, written=WHEN)
    assert file.read_text() == "my notes"
    loadsim.write_report(plan, file, written=WHEN, force=True)
    assert file.read_text() == texts["t-track"]
    loadsim.write_report(plan, file, written="later")  # our own report of the same job
    assert "later" in file.read_text()
    with pytest.raises(InputError, match="is the report of job 'F-118'"):
        loadsim.write_report(plans["thin-neck"], file, written=WHEN)
    with pytest.raises(InputError, match="is a folder"):
        loadsim.write_report(plan, tmp_path, written=WHEN, force=True)
    assert [p.name for p in tmp_path.iterdir()] == ["r.html"]


def test_a_report_that_fails_leaves_what_was_there(
    plans: dict[str, results.Plan], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = loadsim.write_report(plans["t-track"], tmp_path / "r.html", written=WHEN)
    before = file.read_bytes()
    monkeypatch.setattr(
        Path, "replace", lambda *_: (_ for _ in ()).throw(OSError(28, "No space left on device"))
    )
    with pytest.raises(InputError, match="cannot be written: No space left on device"):
        loadsim.write_report(plans["t-track"], file, written="later")
    assert file.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["r.html"]


def test_exit_status_is_that_of_plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for name, status in (("t-track", 0), ("thin-neck", 1)):
        Path(f"{name}.toml").write_text(write.example(name))
        run = CliRunner().invoke(cli, ["report", f"{name}.toml"])
        assert run.exit_code == status, run.output
    assert sorted(p.name for p in Path("reports").iterdir()) == ["F-118.html", "K-27.html"]
    refused = subprocess.run(
        [sys.executable, "-m", "loadsim", "report", "t-track.toml", "-o", "t-track.toml"],
        capture_output=True,
        text=True,
        env={"PYTHONPATH": str(ROOT), "PATH": "/usr/bin", "LOADSIM_SHOP": ""},
        check=False,
    )
    assert refused.returncode == 2
    assert "t-track.toml: is there already and is not a report" in refused.stderr
    assert Path("t-track.toml").read_text() == write.example("t-track")


# ---- the example that is committed

NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?")


def same_but_for_rounding(a: str, b: str) -> bool:
    """Equal text, numbers equal within one unit of their last printed digit (another computer may round otherwise)."""
    if NUMBER.split(a) != NUMBER.split(b):
        return False
    for x, y in zip(NUMBER.findall(a), NUMBER.findall(b), strict=True):
        unit = 10.0 ** -len(x.split("e")[0].partition(".")[2])
        if x != y and not math.isclose(
            float(x),
            float(y),
            rel_tol=1e-6,
            abs_tol=1.01 * unit * 10.0 ** int(x.partition("e")[2] or 0),
        ):
            return False
    return True


def test_the_committed_example_is_what_is_written_today() -> None:
    old = payload.read(ROOT / "reports" / "F-118.html")
    plan = plan_plan(loadsim.read_job(ROOT / "reports" / "t-track.toml"))
    assert compare.changes(old, plan.to_dict()) == ()
    now = html.page_text(plan, old.payload.written)
    then = (ROOT / "reports" / "F-118.html").read_text(encoding="utf-8")
    bundle = parts.bundle()
    assert now.count(bundle) == then.count(bundle) == 1
    for a, b in zip(now.split(bundle), then.split(bundle), strict=True):
        assert same_but_for_rounding(a, b), (
            "write it anew: SOURCE_DATE_EPOCH=1795600000 loadsim report reports/t-track.toml"
        )


def test_rounding_is_told_from_another_number() -> None:
    assert same_but_for_rounding("a 0.0128 b", "a 0.0129 b") and not same_but_for_rounding(
        "a 0.0128 b", "a 0.0131 b"
    )
    assert not same_but_for_rounding("a 0.0128 b", "a 0.0128 c") and same_but_for_rounding(
        "1.5e-07", "1.6e-07"
    )

"""The page as a man at the machine has it, in Chromium: with scripts and without, by the keyboard
alone, at three widths, and asked by other pages.
"""

from __future__ import annotations

import http.server
import math
import os
import re
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from loadsim import check, read_job
from loadsim.job import write
from loadsim.page import serve, state
from loadsim.page.app import Page as App
from loadsim.page.desk import Desk
from loadsim.page.guard import MOST_BYTES, Guard
from loadsim.words.short import chance_between

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

#: off a print and off a cutter; invented for the test
SLOT = {"throat_width": ".25", "undercut_width": "13/32", "depth": "7 mm",
        "undercut_height": ".1", "length": "3"}  # fmt: skip
NECK = {"neck_diameter": ".2", "neck_length": ".2"}


@dataclass
class Served:
    app: App
    path: Path
    asked: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    @property
    def root(self) -> str:
        return f"http://{self.app.guard.host}"


def serving(path: Path) -> Iterator[Served]:
    listening = serve.bound()
    app = App(desk=Desk(path), guard=Guard(port=listening.getsockname()[1]))
    running = serve.Running(listening, app, MOST_BYTES)
    app.stop = running.stop
    running.start()
    yield Served(app, path)
    running.stop()
    running.wait()
    app.end()


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    yield from serving(tmp_path / "job.toml")


@pytest.fixture(scope="module")
def standing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A job with its verdict, for tests that change nothing."""
    path = tmp_path_factory.mktemp("shop") / "job.toml"
    (path.parent / "other.toml").write_text(write.example("one-sided"), encoding="utf-8")
    path.write_text(
        write.example("t-track").replace("open_ends = 0", "open_ends = 1"), encoding="utf-8"
    )
    for found in serving(path):
        found.app.desk.now()
        while found.app.desk.counter.counting(found.app.desk.text()):
            time.sleep(0.05)
        yield found


@contextmanager
def entered(
    browser: Browser, served: Served, width: int = 1280, scripts: bool = True, **more: object
) -> Iterator[Page]:
    context = browser.new_context(
        viewport={"width": width, "height": 900}, java_script_enabled=scripts, **more
    )
    page = context.new_page()
    page.set_default_timeout(60_000)
    page.on("console", lambda m: served.said.append(f"{m.type}: {m.text}"))
    page.on("pageerror", lambda e: served.said.append(str(e)))
    context.on("request", lambda r: served.asked.append(r.url))
    guard = served.app.guard
    if guard.ticket is None:  # let in before
        name, root = guard.cookie_name, served.root
        context.add_cookies([{"name": name, "value": guard.session, "url": root}])
    page.goto(guard.address if guard.ticket else served.root)
    yield page
    context.close()


def to_the_verdict(page: Page) -> None:
    page.fill('[name="job.number"]', "A-1")
    page.check('[name="job.units"][value="inch"]')
    page.fill('[name="work.material"]', "6061-t6")
    page.click("button[name=go]")
    for key, text in SLOT.items():
        page.fill(f'[name="slot.{key}"]', text)
    page.check('[name="slot.sides"][value="2"]')
    page.check('[name="slot.open_ends"][value="1"]')
    page.click("button[name=go]")
    page.click('button[value="yes"]')
    for key, text in NECK.items():
        page.fill(f'[name="cutter.{key}"]', text)
    page.click("button[name=go]")
    page.wait_for_selector("#word")


def counted(page: Page, scripts: bool) -> str:
    """Wait for the full answer; return the verdict as it is read."""
    for _ in range(300):
        if "Counted over" in page.inner_text("#verdict"):
            break
        page.wait_for_timeout(200)
        if not scripts:
            page.get_by_role("link", name="Show").click()
    return " ".join(page.inner_text("#verdict").split())


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "plain forms"])
def test_from_the_first_question_to_the_saved_job(
    browser: Browser, served: Served, scripts: bool
) -> None:
    with entered(browser, served, scripts=scripts) as page:
        to_the_verdict(page)
        words = counted(page, scripts)
        page.get_by_role("button", name="I don't know").click()
        page.get_by_role("button", name="Save job.toml").click()
        page.wait_for_selector(".told")
        assert "Counted over 16,384 cases" in words
        result = check(read_job(served.path))
        assert f"Snaps in {chance_between(result.risk)}." in words
        assert f"{result.settings.spindle_speed_rpm:.0f} rpm" in words
        assert served.said == []
        assert served.asked
        assert [u for u in served.asked if not u.startswith((served.root, "data:"))] == []


def test_while_he_types_the_drawing_grows_and_his_place_is_kept(
    browser: Browser, served: Served
) -> None:
    with entered(browser, served) as page:
        page.fill('[name="job.number"]', "A-1")
        page.check('[name="job.units"][value="inch"]')
        page.fill('[name="work.material"]', "6061-t6")
        page.click("button[name=go]")
        field = page.locator('[name="slot.throat_width"]')
        field.press_sequentially("5/16")
        page.locator("#drawing").filter(has_text="throat .3125").wait_for()
        assert "= 5/16 in (7.938 mm)" in page.inner_text("#slot-throat_width-note")
        assert page.evaluate("document.activeElement.name") == "slot.throat_width"
        page.reload()  # and nothing typed is lost
        assert field.input_value() == "5/16"


def test_by_the_keyboard_alone(browser: Browser, served: Served) -> None:
    with entered(browser, served) as page:
        keys = page.keyboard

        def to(name: str) -> None:
            for _ in range(60):
                keys.press("Tab")
                here = "document.activeElement.name + '=' + document.activeElement.value"
                if page.evaluate(here).startswith(name):
                    return
            pytest.fail(f"no way by Tab to {name}")

        to("job.number")
        keys.type("K-2")
        to("job.units")
        keys.press("ArrowRight")
        to("work.material")
        keys.type("al-6061-t6")
        to("go")
        keys.press("Enter")
        page.wait_for_selector('[name="slot.depth"]')
        for key, text in SLOT.items():
            to(f"slot.{key}")
            keys.type(text)
        to("slot.sides")
        keys.press("Space")
        to("slot.open_ends")
        keys.press("Space")
        keys.press("ArrowRight")
        to("go")
        keys.press("Enter")
        page.wait_for_selector('[name="page.ground"]')
        to("page.ground=yes")
        keys.press("Enter")
        page.wait_for_selector('[name="cutter.neck_diameter"]')
        for key, text in NECK.items():
            to(f"cutter.{key}")
            keys.type(text)
        to("go")
        keys.press("Enter")
        page.wait_for_selector("#word")
        typed = served.app.desk.answers.typed
        assert typed["slot.open_ends"] == "1"
        assert typed["slot.sides"] == "2"
        assert typed["job.units"] == "inch"


#: every step, with the verdict above the later ones
STEPS = ("", "?at=metal", "?at=slot", "?at=ground", "?at=cutter", "?at=machine.handwheel")


def test_no_barrier_at_any_step(browser: Browser, standing: Served) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()

    def look(page: Page) -> None:
        found = axe.run(page).response["violations"]
        assert [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found] == []

    with entered(browser, standing, 390, bypass_csp=True) as page:
        for where in (*STEPS, "photo", "paper"):
            page.goto(f"{standing.root}/{where}")
            page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
            look(page)
        page.emulate_media(forced_colors="active")
        for where in ("", "?at=slot", "photo"):
            page.goto(f"{standing.root}/{where}")
            look(page)


def test_nothing_is_cut_off_at_any_width(browser: Browser, standing: Served) -> None:
    small = "all => all.filter(e => e.getBoundingClientRect().height < 44).map(e => e.outerHTML)"
    wide = (
        "all => all.filter(e => e.getBoundingClientRect().right > 391 && !e.closest('.scroll'))"
        ".map(e => e.outerHTML.slice(0, 160))"
    )
    with entered(browser, standing) as page:
        for where in (*STEPS, "photo", "paper"):
            page.goto(f"{standing.root}/{where}")
            for width in (320, 390, 1280):
                page.set_viewport_size({"width": width, "height": 900})
                assert page.evaluate("document.documentElement.scrollWidth") <= width
            touched = "button, .button, input:not([type=hidden]):not([type=radio])"
            assert page.eval_on_selector_all(touched, small) == []
        page.set_viewport_size({"width": 390, "height": 900})
        page.goto(standing.root)
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        assert page.eval_on_selector_all("body *", wide) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_drawing_stays_beside_its_fields(browser: Browser, standing: Served) -> None:
    with entered(browser, standing) as page:
        page.goto(f"{standing.root}/?at=slot")
        for width in (390, 1280):
            page.set_viewport_size({"width": width, "height": 844})
            page.evaluate("document.activeElement.blur()")
            page.focus('[name="slot.length"]')
            inside = "e => [e.getBoundingClientRect().top, e.getBoundingClientRect().bottom]"
            top, bottom = page.locator("#drawing").evaluate(inside)
            assert 0 <= top < bottom <= 844
            lit = page.locator("#drawing .lit")
            assert lit.evaluate_all("all => all.map(e => e.dataset.part)") == ["dim-length"]
            page.evaluate("scrollTo(0, document.body.scrollHeight)")
            over = page.locator("#drawing").evaluate(inside)[1]
            assert over <= page.locator("#answers").evaluate(inside)[0]


def test_every_field_has_its_label(browser: Browser, standing: Served) -> None:
    with entered(browser, standing) as page:
        for at in ("metal", "slot", "cutter", "cutter.neck_fillet", "machine.feed"):
            page.goto(f"{standing.root}/?at={at}")
            bare = page.eval_on_selector_all(
                "input:not([type=hidden])", "all => all.filter(e => !e.labels.length).length"
            )
            assert bare == 0
            notes = page.eval_on_selector_all(
                "#answer [aria-describedby]",
                "all => all.every(e => document.getElementById(e.getAttribute('aria-describedby')))",
            )
            assert notes is True


def test_two_windows_on_one_job(browser: Browser, served: Served) -> None:
    with entered(browser, served) as first:
        to_the_verdict(first)
        second = first.context.new_page()
        second.goto(f"{served.root}/?at=cutter.runout")
        first.goto(f"{served.root}/?at=cutter.neck_fillet")
        second.locator('[name="cutter.runout"]').press_sequentially(".0004")
        first.locator('[name="cutter.neck_fillet"]').press_sequentially(".012")
        for page in (first, second):
            page.get_by_role("button", name="Next").click()
            page.wait_for_selector("#word")
        typed = served.app.desk.answers.typed
        assert (typed["cutter.runout"], typed["cutter.neck_fillet"]) == (".0004", ".012")
        # one begins another job: the other's typing goes into neither, and it shows the new one
        second.goto(f"{served.root}/?at=cutter")
        first.get_by_role("button", name="Begin a new job").click()
        first.wait_for_selector("text=job-2.toml")
        second.locator('[name="cutter.neck_diameter"]').fill(".19")
        second.wait_for_selector("text=job-2.toml")
        assert "cutter.neck_diameter" not in served.app.desk.answers.typed
        assert state.opened(served.path).typed["cutter.neck_diameter"] == ".2"


def test_another_name_for_this_machine_gets_nothing(browser: Browser, served: Served) -> None:
    rule = "--host-resolver-rules=MAP evil.test 127.0.0.1"
    other = browser.browser_type.launch(
        executable_path=os.environ.get("CHROMIUM", "/usr/bin/chromium"), args=["--no-sandbox", rule]
    )
    reply = other.new_page().goto(f"http://evil.test:{served.app.guard.port}/")
    assert reply is not None
    assert reply.status == 421
    other.close()


def test_a_form_of_another_page_of_this_machine_is_refused(
    browser: Browser, served: Served
) -> None:
    target = f"{served.root}/answer"
    token = served.app.guard.token("answer")
    body = (
        f'<form method="post" action="{target}"><input name="token" value="{token}">'
        '<input name="job.number" value="evil"></form><script>document.forms[0].submit()</script>'
    ).encode()

    class Other(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None: ...

    with http.server.HTTPServer(("127.0.0.1", 0), Other) as other, entered(browser, served) as page:
        threading.Thread(target=other.serve_forever, daemon=True).start()
        with page.expect_response(target) as posted:
            page.goto(f"http://127.0.0.1:{other.server_port}/")
        assert posted.value.status == 403
        other.shutdown()
    assert "job.number" not in served.app.desk.answers.typed


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "plain"])
def test_the_traveler_comes_by_itself_and_runs_apart(
    browser: Browser, standing: Served, scripts: bool
) -> None:
    with entered(browser, standing, scripts=scripts) as page:
        page.goto(f"{standing.root}/traveler")
        page.wait_for_selector("text=F-118")
        assert page.locator("text=Making the sheet").count() == 0
        if scripts:
            assert page.evaluate("window.origin") == "null"  # it reaches nothing of the page


# ---- a photo: points worked by hand

#: a shank 12 wide at 10 pixels to the millimetre, a neck 5 wide, a fillet of radius 0.8; turned by
#: 30 degrees, as no photo stands straight
UPRIGHT = [
    (0, 0),
    (0, 90),
    (120, 40),
    (35, 200),
    (85, 230),
    (35, 300),
    (43 - 8 / 2**0.5, 300 + 8 / 2**0.5),
    (43, 308),
]


def turned(degrees: float) -> list[list[float]]:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [[c * x - s * y + 500, s * x + c * y + 500] for x, y in UPRIGHT]


@pytest.mark.closed_form("10 px/mm: 50 px are 5 mm; points of a circle of 8 px at 180, 135, 90 deg;"
                         " sqrt((0.1 mm)^2 a coordinate that counts, and 1 % of the lens)")  # fmt: skip
def test_sizes_in_a_photo_and_how_far_they_may_be_off(browser: Browser, standing: Served) -> None:
    with entered(browser, standing) as page:
        page.goto(f"{standing.root}/photo")
        for degrees in (0, 30, -75):
            points = turned(degrees)
            assert page.evaluate("p => loadsimPhoto.neck(p, 12)", points) == pytest.approx(5.0)
            fillet = page.evaluate("p => loadsimPhoto.fillet(p, 12)", points)
            assert fillet == pytest.approx(0.8)
        read = "p => loadsimPhoto.off(loadsimPhoto.neck, p.slice(0, 5), 12, [1, 1, 1, 1, 1])"
        off = page.evaluate(read, turned(0))
        # a pixel of either neck point is 0.1 mm of 5, of the third point 1/120 of the scale; of the
        # first two, 90 apart, it also turns the axis: the neck's points lie 30 apart along it, the
        # third 40 from the first
        first = 5 * (30 / 90 / 50 + (1 - 40 / 90) / 120)
        second = 5 * (30 / 90 / 50 - 40 / 90 / 120)
        terms = (0.1, 0.1, 5 / 120, first, second, 0.05)
        assert off == pytest.approx(math.sqrt(sum(t * t for t in terms)), rel=0.02)


def test_a_photo_stays_in_the_browser_and_its_sizes_are_taken(
    browser: Browser, served: Served, tmp_path: Path
) -> None:
    drawn = tmp_path / "cutter.svg"
    drawn.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="1000" height="1000">'
        '<rect width="1000" height="1000" fill="#fff"/></svg>',
        encoding="utf-8",
    )
    with entered(browser, served) as page:
        page.goto(f"{served.root}/photo")
        page.set_input_files("#file", drawn)
        page.fill("#shank", "12")
        canvas = page.locator("#canvas")
        page.wait_for_timeout(300)
        canvas.scroll_into_view_if_needed()
        box = canvas.bounding_box()
        assert box is not None
        wide = box["width"] / 1000
        for x, y in UPRIGHT[:5]:
            canvas.click(position={"x": (x + 200) * wide, "y": (y + 50) * wide})
        assert float(page.input_value("#neck").split()[0]) == pytest.approx(5.0, abs=0.2)
        asked = len(served.asked)
        page.get_by_role("button", name="Take the neck").click()
        page.wait_for_selector("h1")
        assert served.app.desk.answers.typed["cutter.neck_diameter"].endswith("mm")
        assert all(u.startswith((served.root, "data:")) for u in served.asked[asked:])


def test_the_handle_shows_a_feed_and_would_take_it(browser: Browser, standing: Served) -> None:
    with entered(browser, standing) as page:
        page.locator("#feed-handle").wait_for()
        assert page.locator("#feeds tbody tr").count() == 8
        page.focus("#feed-handle")
        page.keyboard.press("ArrowLeft")
        row = page.locator("#feeds tbody tr").nth(3)
        assert row.locator("th").inner_text() in page.locator("#feed-told").inner_text()
        moved = page.locator('#feeds [data-part="handle"]').get_attribute("transform")
        assert moved == f"translate({row.get_attribute('data-place')} 0)"


# ---- contrast, computed from the style sheet

CSS = (Path(serve.__file__).parent / "page.css").read_text(encoding="utf-8")
COLORS = dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6});", CSS))


def luminance(color: str) -> float:
    """Relative luminance of WCAG 2.2."""
    digits = color[1:] if len(color) == 7 else "".join(2 * c for c in color[1:])
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize(
    ("front", "back", "least"),
    [(f, b, 4.5) for f in ("ink", "soft", "warn", "mark") for b in ("paper", "pale")]
    + [("line", b, 3.0) for b in ("paper", "pale")],
)
@pytest.mark.published("WCAG 2.2 criteria 1.4.3 and 1.4.11", read="memory (high)")
def test_letters_and_edges_stand_out(front: str, back: str, least: float) -> None:
    a, b = sorted((luminance(COLORS[front]), luminance(COLORS[back])))
    assert (b + 0.05) / (a + 0.05) >= least

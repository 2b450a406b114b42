"""The picture of the page in the README: the first example in Chromium, its fillet not measured yet.

Run to take it anew: python -m tests.browser.picture
"""

from __future__ import annotations

import os
import tempfile
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

from loadsim.job import write
from loadsim.page import serve
from loadsim.page.app import Page
from loadsim.page.desk import Desk
from loadsim.page.guard import MOST_BYTES, Guard
from loadsim.page.state import FEED

ROOT = Path(__file__).resolve().parents[2]
PICTURE = ROOT / "reports" / "page.png"

#: What the browser shows. [px]
SIZE = {"width": 1100, "height": 1040}

#: What is still to be measured, or picked.
OPEN = ("cutter.neck_fillet", "cutter.runout", FEED)


def take() -> None:
    """Take the picture."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "F-118.toml"
        path.write_text(write.example("t-track"), encoding="utf-8")
        listening = serve.bound()
        app = Page(desk=Desk(path), guard=Guard(port=listening.getsockname()[1]))
        for key in OPEN:
            app.desk.answers.typed.pop(key, None)
            app.desk.answers.rest.get("cut", {}).pop(key.partition(".")[2], None)
        running = serve.Running(listening, app, MOST_BYTES)
        running.start()
        app.desk.now()
        while app.desk.counter.counting(app.desk.text()):
            time.sleep(0.1)
        with sync_playwright() as tool:
            chromium = os.environ.get("CHROMIUM", "/usr/bin/chromium")
            browser = tool.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
            page = browser.new_page(viewport=SIZE)
            page.goto(app.guard.address)
            page.screenshot(path=PICTURE)
            browser.close()
        running.stop()
        running.wait()
        app.end()


if __name__ == "__main__":
    take()

"""The page called as a function, without a server or a browser."""

from __future__ import annotations

import io
import re
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar
from urllib.parse import urlencode

import pytest

from loadsim.page.app import Page
from loadsim.page.desk import Desk
from loadsim.page.guard import FORM, Guard

PORT = 50123
#: what a man reads off the print of a T-slot, and off his cutter, in inches; invented for the test
METAL = {"job.number": "A-1", "job.units": "inch", "work.material": "6061-t6"}
SLOT = {
    "slot.throat_width": ".25", "slot.undercut_width": "13/32", "slot.depth": "7 mm",
    "slot.undercut_height": ".1", "slot.length": "3", "slot.sides": "2", "slot.open_ends": "1",
    "slot.width_tolerance": "",
}  # fmt: skip
CUTTER = {
    "cutter.neck_diameter": ".2", "cutter.neck_length": "0.2", "cutter.head_diameter": "",
    "cutter.head_height": "",
}  # fmt: skip
FLOW = (METAL, SLOT, {"page.ground": "yes"}, CUTTER)


@dataclass
class Reply:
    status: int
    headers: dict[str, str]
    body: str

    @property
    def words(self) -> str:
        """What is read, without the markup."""
        return " ".join(re.sub(r"<[^>]*>", " ", self.body).split())


@dataclass
class Caller:
    app: Page
    metal: ClassVar = METAL
    slot: ClassVar = SLOT
    cutter: ClassVar = CUTTER

    def call(self, method: str, path: str, body: str = "", **more: Any) -> Reply:
        where, _, query = path.partition("?")
        guard = self.app.guard
        environ = {
            "REQUEST_METHOD": method, "PATH_INFO": where, "QUERY_STRING": query,
            "HTTP_HOST": guard.host, "HTTP_COOKIE": f"{guard.cookie_name}={guard.session}",
            "CONTENT_TYPE": FORM, "CONTENT_LENGTH": str(len(body.encode())),
            "wsgi.input": io.BytesIO(body.encode()), **more,
        }  # fmt: skip
        got: list[tuple[str, list[tuple[str, str]]]] = []
        data = b"".join(self.app(environ, lambda status, headers: got.append((status, headers))))
        ((status, headers),) = got
        return Reply(int(status[:3]), dict(headers), data.decode())

    def get(self, path: str = "/") -> Reply:
        return self.call("GET", path)

    def post(self, form: str, fields: Mapping[str, str], **more: Any) -> Reply:
        token = self.app.guard.token(form)
        own = {"token": token, "file": self.app.desk.path.name}
        return self.call("POST", f"/{form}", urlencode({**own, **fields}), **more)

    def through(self) -> None:
        """Answer all that comes before the first verdict."""
        for fields in FLOW:
            assert self.post("answer", fields).status == 303

    def judged(self) -> Reply:
        """Wait for the full answer alone."""
        self.get()
        end = time.monotonic() + 120
        while self.app.desk.counter.found is None and self.app.desk.counter.trouble == "":
            assert time.monotonic() < end
            time.sleep(0.05)
        return self.get()

    def sheet(self) -> Reply:
        """Wait for the traveler."""
        end = time.monotonic() + 120
        while "Refresh" in (reply := self.get("/traveler")).headers:
            assert "Making the sheet" in reply.words
            assert time.monotonic() < end
            time.sleep(0.1)
        return reply

    def counted(self) -> Reply:
        """Wait for the full answer, what each answer is worth, and the feeds."""
        end = time.monotonic() + 120
        while (reply := self.get()).body.find("Still counting") >= 0:
            assert time.monotonic() < end
            time.sleep(0.1)
        return reply


@pytest.fixture
def opened() -> Iterator[Callable[[Path], Caller]]:
    callers: list[Caller] = []

    def open_(path: Path) -> Caller:
        callers.append(Caller(Page(desk=Desk(path), guard=Guard(port=PORT))))
        return callers[-1]

    yield open_
    for caller in callers:
        caller.app.end()


@pytest.fixture
def caller(tmp_path: Path, opened: Callable[[Path], Caller]) -> Caller:
    return opened(tmp_path / "job.toml")

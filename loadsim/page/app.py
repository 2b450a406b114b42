"""The page as a WSGI application: who may ask, what for, and the answer."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qsl

from loadsim.base.errors import LoadsimError, printable
from loadsim.page import jobs, paper, photo, views
from loadsim.page.desk import Desk
from loadsim.page.guard import HEADERS, LONGEST, MOST_FIELDS, SHEET_POLICY, Asked, Guard
from loadsim.page.run import Superseded
from loadsim.page.templates import asset, plain
from loadsim.page.traveler import Traveler

Environ = dict[str, Any]
Headers = list[tuple[str, str]]
Start = Callable[[str, Headers], object]

OK = "200 OK"
WRONG = "422 Unprocessable Content"

#: Files that travel with the page.
ASSETS = {
    "/page.css": "text/css; charset=utf-8",
    "/page.js": "text/javascript; charset=utf-8",
    "/photo.js": "text/javascript; charset=utf-8",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What goes back."""

    status: str = OK
    body: str = ""
    kind: str = "text/html; charset=utf-8"
    headers: tuple[tuple[str, str], ...] = ()


def seen(path: str = "/", cookie: str = "") -> Answer:
    """Lead to another place: what was posted is not posted again by a reload."""
    more = (("Set-Cookie", cookie),) if cookie else ()
    return Answer(status="303 See Other", headers=(("Location", path), *more))


@dataclass(slots=True)
class Page:
    """The application."""

    desk: Desk
    guard: Guard
    traveler: Traveler = field(default_factory=Traveler)
    stop: Callable[[], object] = field(default=lambda: None)

    def __call__(self, environ: Environ, start: Start) -> Iterable[bytes]:
        """Answer one request."""
        try:
            answer = self._answer(environ)
        except Superseded:
            answer = Answer(status="204 No Content")
        except (LoadsimError, ValueError, ArithmeticError, OSError) as error:
            words = printable(str(error), 600)
            answer = Answer(status=WRONG, body=plain("That did not work", words))
        except Exception as error:  # no traceback goes to a browser
            words = f"A defect in the program: {type(error).__name__}. What you typed is kept."
            body = plain("That did not work", words)
            answer = Answer(status="500 Internal Server Error", body=body)
        data = answer.body.encode()
        own = {name for name, _ in answer.headers}
        headers = [*answer.headers, *((n, v) for n, v in HEADERS if n not in own)]
        if not answer.status.startswith("204"):
            headers += [("Content-Type", answer.kind), ("Content-Length", str(len(data)))]
        start(answer.status, headers)
        return [data]

    def _answer(self, environ: Environ) -> Answer:
        path = environ.get("PATH_INFO", "/")
        refusal = self.guard.refusal(self._asked(environ))
        if refusal is not None:
            return Answer(status=refusal.status, body=plain(refusal.why, refusal.status))
        if path.startswith("/enter/"):
            return self._enter(path.removeprefix("/enter/"))
        if environ["REQUEST_METHOD"] == "GET":
            return self._get(path, dict(_pairs(environ.get("QUERY_STRING", ""))))
        return self._post(path, dict(_pairs(_body(environ))))

    def _asked(self, environ: Environ) -> Asked:
        length = environ.get("CONTENT_LENGTH") or ""
        return Asked(
            method=environ["REQUEST_METHOD"],
            path=environ.get("PATH_INFO", "/"),
            host=environ.get("HTTP_HOST", ""),
            origin=environ.get("HTTP_ORIGIN"),
            fetch_site=environ.get("HTTP_SEC_FETCH_SITE"),
            cookie=_cookie(environ.get("HTTP_COOKIE", ""), self.guard.cookie_name),
            content_type=environ.get("CONTENT_TYPE", ""),
            length=int(length) if length.isascii() and length.isdigit() else None,
        )

    def end(self) -> None:
        """Stop all counts and wait until they have."""
        self.desk.end()
        self.traveler.maker.end()

    def _enter(self, ticket: str) -> Answer:
        if not self.guard.enter(ticket):
            words = "This address lets in once. Stop the program and start it again for another."
            return Answer(status="403 Forbidden", body=plain("Used already", words))
        name, session = self.guard.cookie_name, self.guard.session
        return seen("/", f"{name}={session}; HttpOnly; SameSite=Strict; Path=/; Max-Age=86400")

    def _get(self, path: str, query: dict[str, str]) -> Answer:
        if path == "/":
            told = "Saved." if "saved" in query else ""
            told = "The scrap cut is recorded and counts." if "cut" in query else told
            return Answer(body=views.page(self.desk, self.guard, query.get("at", ""), told=told))
        if path == "/photo":
            return Answer(body=photo.photo(self.desk, self.guard))
        if path == "/paper":
            return Answer(body=paper.paper(self.desk))
        if path in ASSETS:
            return Answer(body=asset(path[1:]), kind=ASSETS[path])
        if path == "/job.toml":
            return Answer(body=self.desk.text(), kind="text/plain; charset=utf-8")
        if path == "/traveler":
            return self._traveler()
        words = "There is no such page."
        return Answer(status="404 Not Found", body=plain("Not found", words))

    def _traveler(self) -> Answer:
        sheet = self.traveler.of(self.desk)
        if sheet is not None:
            return Answer(body=sheet, headers=(("Content-Security-Policy", SHEET_POLICY),))
        elapsed = self.traveler.maker.elapsed
        words = f"{elapsed:.0f} s so far. It takes some seconds and comes by itself."
        body = plain("Making the sheet ...", words, again="/traveler")
        return Answer(body=body, headers=(("Refresh", "1"),))

    def _post(self, path: str, fields: dict[str, str]) -> Answer:
        forms = {
            "/answer": self._take,
            "/save": self._save,
            "/trial": self._trial,
            "/open": self._open,
            "/stop": self._stop,
        }
        form = forms.get(path)
        if form is None:
            words = "There is no such form."
            return Answer(status="404 Not Found", body=plain("Not found", words))
        if not self.guard.is_token(path[1:], fields.pop("token", "")):
            words = "The form is of another run of the program: open the page again."
            return Answer(status="403 Forbidden", body=plain("Not this page's form", words))
        if fields.pop("file", "") != self.desk.path.name and path != "/stop":
            words = "Another job was opened since; this window shows an older one. Reload it."
            return Answer(status="409 Conflict", body=plain("Another job", words))
        return form(fields)

    def _take(self, fields: dict[str, str]) -> Answer:
        live = "live" in fields
        missing = tuple(self.desk.take(fields, final=not live))
        at = fields.get("at", "")
        if live:
            return Answer(body=views.page(self.desk, self.guard, at, live=True))
        wrong = self.desk.now().wrong.keys() & fields.keys()
        if missing or wrong:
            return Answer(status=WRONG, body=views.page(self.desk, self.guard, at, missing))
        return seen()

    def _save(self, fields: dict[str, str]) -> Answer:
        self.desk.save()
        return seen("/?saved=1")

    def _trial(self, fields: dict[str, str]) -> Answer:
        self.desk.record(fields)
        return seen("/?cut=1")

    def _open(self, fields: dict[str, str]) -> Answer:
        new = Desk(jobs.chosen(self.desk.path.parent, fields.get("name", "")))
        self.desk.stop()
        self.desk = new
        return seen()

    def _stop(self, fields: dict[str, str]) -> Answer:
        self.stop()
        words = "What you typed is kept beside the job file. To go on, start it again."
        return Answer(body=plain("Stopped", words))


def _cookie(text: str, name: str) -> str | None:
    try:
        found = SimpleCookie(text).get(name)
    except CookieError:
        return None
    return None if found is None else found.value


def _body(environ: Environ) -> str:
    """Read a form, whose length the guard has looked at."""
    data: bytes = environ["wsgi.input"].read(int(environ["CONTENT_LENGTH"]))
    return data.decode("utf-8")


def _pairs(text: str) -> list[tuple[str, str]]:
    """Read a form's fields; raises ValueError where there are too many, or one is too long."""
    pairs = parse_qsl(text, keep_blank_values=True, max_num_fields=MOST_FIELDS, errors="strict")
    for name, value in pairs:
        if len(name) > LONGEST or len(value) > LONGEST:
            raise ValueError(f"a field is over {LONGEST} characters")
    return pairs

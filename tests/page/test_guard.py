"""Who may ask: a table of what requests say of themselves."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loadsim.page.guard import FORM, HEADERS, MOST_BYTES, Asked, Guard

GUARD = Guard(port=50123)
#: a page got, and a form posted, as a browser at our own page does it
GOT = Asked(method="GET", path="/", host="127.0.0.1:50123", fetch_site="none", cookie=GUARD.session)
POSTED = replace(
    GOT, method="POST", path="/answer", origin="http://127.0.0.1:50123", fetch_site="same-origin",
    content_type=FORM, length=100,
)  # fmt: skip


@pytest.mark.parametrize(
    ("asked", "status"),
    [
        (GOT, None),
        (POSTED, None),
        (replace(GOT, fetch_site=None), None),  # an old browser says nothing
        (replace(POSTED, origin=None, fetch_site=None), None),
        (replace(POSTED, content_type=f"{FORM}; charset=UTF-8"), None),
        (replace(POSTED, length=MOST_BYTES), None),
        (replace(GOT, path="/enter/x", cookie=None), None),  # the ticket is looked at afterwards
        # another name for this machine: how a page elsewhere is made to point here
        (replace(GOT, host="evil.test:50123"), 421),
        (replace(GOT, host="localhost:50123"), 421),
        (replace(GOT, host="127.0.0.1"), 421),
        (replace(GOT, host="127.0.0.1:50124"), 421),
        (replace(GOT, host="127.0.0.1:50123."), 421),
        (replace(GOT, host=""), 421),
        (replace(GOT, host="evil.test", path="/enter/x", cookie=None), 421),
        # another page, here or elsewhere
        (replace(POSTED, origin="http://127.0.0.1:50124"), 403),
        (replace(POSTED, origin="https://127.0.0.1:50123"), 403),
        (replace(POSTED, origin="null"), 403),
        (replace(POSTED, origin=""), 403),
        (replace(POSTED, fetch_site="same-site", origin=None), 403),
        (replace(GOT, fetch_site="cross-site"), 403),
        (replace(GOT, fetch_site="cross-site", path="/enter/x", cookie=None), 403),
        # another user of this machine
        (replace(GOT, cookie=None), 403),
        (replace(GOT, cookie=""), 403),
        (replace(GOT, cookie="é"), 403),
        (replace(GOT, path="/page.css", cookie=None), 403),
        (replace(POSTED, cookie=GUARD.session[:-1]), 403),
        # what is no form of ours
        (replace(GOT, method="PUT"), 405),
        (replace(GOT, method="HEAD"), 405),
        (replace(POSTED, path="/enter/x"), 405),
        (replace(POSTED, content_type="text/plain"), 415),
        (replace(POSTED, content_type="multipart/form-data; boundary=x"), 415),
        (replace(POSTED, content_type=""), 415),
        (replace(POSTED, length=None), 411),
        (replace(POSTED, length=MOST_BYTES + 1), 413),
        (replace(POSTED, length=-1), 413),
    ],
)
def test_who_may_ask(asked: Asked, status: int | None) -> None:
    refusal = GUARD.refusal(asked)
    assert (None if refusal is None else int(refusal.status[:3])) == status


def test_the_address_lets_in_once() -> None:
    guard = Guard(port=1)
    ticket = guard.ticket
    assert ticket is not None
    assert len(ticket) >= 22  # 128 bits, six to a letter
    assert not guard.enter("x")
    assert not guard.enter("é")
    assert guard.enter(ticket)
    assert not guard.enter(ticket)
    assert not guard.enter("None")


def test_two_runs_share_no_secret() -> None:
    a, b = Guard(port=1), Guard(port=1)
    assert a.session != b.session
    assert a.ticket != b.ticket
    assert a.token("save") != b.token("save")


def test_a_token_is_of_its_form() -> None:
    assert GUARD.is_token("save", GUARD.token("save"))
    assert not GUARD.is_token("save", GUARD.token("stop"))
    assert not GUARD.is_token("save", "")
    assert not GUARD.is_token("save", "é")


def test_nothing_from_elsewhere_is_loaded() -> None:
    policy = dict(HEADERS)["Content-Security-Policy"]
    assert policy.startswith("default-src 'none';")
    assert "unsafe" not in policy
    assert "http" not in policy

"""The page on a port of this machine alone, opened in his browser, until he stops it."""

from __future__ import annotations

import socket
import threading
import webbrowser
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

#: The only place it listens at; a free port of it.
HERE = ("127.0.0.1", 0)

#: Time for the last answer to get out. [s]
LAST_WORD = 0.5

#: Largest header. [B]
MOST_HEADER = 16 * 1024

Application = Callable[..., Any]


def bound() -> socket.socket:
    """Return a socket that this machine alone reaches.

    Returns
    -------
    socket : socket
    """
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.bind(HERE)
    return found


@dataclass(slots=True)
class Running:
    """A server at work."""

    listening: socket.socket
    application: Application
    most_bytes: int  #: of a form [B]
    ended: threading.Event = field(default_factory=threading.Event)
    server: Any = None
    sockets: dict[int, Any] = field(default_factory=dict)  #: all that are open
    thread: threading.Thread | None = None

    def start(self) -> None:
        """Answer in threads of its own."""
        from waitress import create_server  # type: ignore[import-untyped]

        self.server = create_server(
            self.application,
            map=self.sockets,
            sockets=[self.listening],
            threads=4,
            ident=None,
            expose_tracebacks=False,
            clear_untrusted_proxy_headers=True,
            max_request_body_size=self.most_bytes,
            max_request_header_size=MOST_HEADER,
            connection_limit=50,
            channel_timeout=60,
        )
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()

    def stop(self) -> None:
        """Let it end soon."""
        self.ended.set()

    def wait(self) -> None:
        """Wait until it is stopped: by the page, or by the keyboard."""
        try:
            while not self.ended.wait(LAST_WORD):
                pass
            threading.Event().wait(LAST_WORD)
        finally:
            self._close()

    def _close(self) -> None:
        """Let the server close its sockets itself: it may be waiting at one of them."""
        from waitress.wasyncore import close_all  # type: ignore[import-untyped]

        self.server.trigger.pull_trigger(lambda: close_all(self.sockets, ignore_all=True))
        if self.thread is not None:
            self.thread.join(LAST_WORD)


def show(address: str) -> bool:
    """Open an address in his browser.

    Parameters
    ----------
    address : str
        Of the page.

    Returns
    -------
    shown : bool
        Whether there is a browser.
    """
    try:
        return webbrowser.open(address)
    except webbrowser.Error:
        return False

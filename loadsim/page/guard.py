"""Who may ask: a request is answered only if it comes from the page of this very program."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from dataclasses import dataclass, field

#: Largest form, of how many fields, each so long. [B], [1], [1]
MOST_BYTES = 64 * 1024
MOST_FIELDS = 200
LONGEST = 400

FORM = "application/x-www-form-urlencoded"

#: What every answer carries.
HEADERS = (
    (
        "Content-Security-Policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:;"
        " connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    ),
    ("X-Content-Type-Options", "nosniff"),
    # with no-referrer a browser says "Origin: null" of our own forms
    ("Referrer-Policy", "same-origin"),
    ("Cache-Control", "no-store"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
)

#: Policy of the traveler, a whole page of its own: it runs apart, with its own programs.
SHEET_POLICY = (
    "sandbox allow-scripts allow-modals; default-src 'none'; script-src 'unsafe-inline';"
    " style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none';"
    " frame-ancestors 'none'"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a request says of itself."""

    method: str
    path: str
    host: str
    origin: str | None = None
    fetch_site: str | None = None
    cookie: str | None = None  #: of ours
    content_type: str = ""
    length: int | None = 0  #: None: not said, or no number


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """Why a request is not answered."""

    status: str
    why: str


@dataclass(slots=True)
class Guard:
    """The secrets of one run."""

    port: int
    ticket: str | None = field(default_factory=lambda: secrets.token_urlsafe(16))  #: used once
    session: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    secret: bytes = field(default_factory=lambda: secrets.token_bytes(32))

    @property
    def host(self) -> str:
        """The only name that this page has."""
        return f"127.0.0.1:{self.port}"

    @property
    def cookie_name(self) -> str:
        """Cookies do not keep ports apart; the name does."""
        return f"loadsim-{self.port}"

    @property
    def address(self) -> str:
        """The address that lets one browser in, once."""
        return f"http://{self.host}/enter/{self.ticket}"

    def refusal(self, asked: Asked) -> Refusal | None:
        """Say why a request is not answered; None lets it in.

        Parameters
        ----------
        asked : Asked
            What it says of itself.

        Returns
        -------
        refusal : Refusal or None
        """
        if asked.host != self.host:
            return Refusal(status="421 Misdirected Request", why="This is not the page's address.")
        if asked.origin not in (None, f"http://{self.host}"):
            return Refusal(status="403 Forbidden", why="Asked from another page.")
        entering = asked.path.startswith("/enter/")
        # whoever comes from elsewhere by a link has no cookie with him, and needs the address
        if asked.fetch_site not in (None, "same-origin", "none"):
            return Refusal(status="403 Forbidden", why="Asked from another page.")
        if asked.method not in ("GET", "POST") or (entering and asked.method != "GET"):
            return Refusal(status="405 Method Not Allowed", why="Pages are got, forms are posted.")
        if not entering and not self._is_ours(asked.cookie):
            why = "Open the address that the program shows where it was started."
            return Refusal(status="403 Forbidden", why=why)
        return self._form(asked) if asked.method == "POST" else None

    def _is_ours(self, cookie: str | None) -> bool:
        return cookie is not None and hmac.compare_digest(cookie.encode(), self.session.encode())

    def _form(self, asked: Asked) -> Refusal | None:
        if asked.content_type.partition(";")[0].strip().lower() != FORM:
            return Refusal(status="415 Unsupported Media Type", why="Only forms are posted.")
        if asked.length is None:
            return Refusal(status="411 Length Required", why="How long is the form?")
        if not 0 <= asked.length <= MOST_BYTES:
            return Refusal(status="413 Content Too Large", why="The form is too large.")
        return None

    def enter(self, ticket: str) -> bool:
        """Let in whoever brings the ticket, once.

        Parameters
        ----------
        ticket : str
            As in the address.

        Returns
        -------
        entered : bool
        """
        if self.ticket is None or not hmac.compare_digest(ticket.encode(), self.ticket.encode()):
            return False
        self.ticket = None
        return True

    def token(self, form: str) -> str:
        """Return what proves that a form is ours.

        Parameters
        ----------
        form : str
            Its name.

        Returns
        -------
        token : str
        """
        said = f"{self.session} {form}".encode()
        return hmac.new(self.secret, said, hashlib.sha256).hexdigest()

    def is_token(self, form: str, token: str) -> bool:
        """Whether a form is ours."""
        return hmac.compare_digest(self.token(form).encode(), token.encode())

"""What every request and every answer goes through: guards, headers, and one log line."""

from __future__ import annotations

import logging
import re
import traceback
from collections.abc import Callable, Mapping

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request as HttpRequest
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app import clock, display, security
from app.errors import Refused
from app.messages import CATALOGUE
from app.stylesheet import STYLES_HASH

LOG = logging.getLogger("ebbstock.requests")
LARGEST_FORM_BYTES = 256 * 1024
LARGEST_FILE_BYTES = 512 * 1024
"""Ten years of daily sessions. While a file is saved no other change can be, so it must not take
longer than the others wait (`db.SQLITE_PRAGMAS`)."""

TAKES_FILES = "/import"
"""Only addresses that end like this take files."""

_SAFE_METHODS = ("GET", "HEAD", "OPTIONS")

CONTENT_POLICY = (
    f"default-src 'none'; style-src '{STYLES_HASH}'; img-src 'self'; script-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)

HEADERS = {
    "Content-Security-Policy": CONTENT_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "X-Robots-Tag": "noindex, nofollow",
}

PAGE_REFERRER_POLICY = "same-origin"
"""Under no-referrer a browser posts a page's own forms with `Origin: null` (WHATWG Fetch,
"append a request Origin header"), which the guard could not tell from a stranger's."""

_ONE_YEAR = "max-age=31536000; includeSubDomains"


class Guard:
    """Refuses what no page of ours sends: forms from elsewhere, and very large ones."""

    def __init__(self, app: ASGIApp, base_url: str) -> None:
        self.app = app
        self.own_origin = security.origin_of(base_url)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        refusal = self._refusal(scope) if scope["type"] == "http" else None
        await (refusal or self.app)(scope, receive, send)

    def _refusal(self, scope: Scope) -> ASGIApp | None:
        if scope["method"] in _SAFE_METHODS:
            return None
        headers = Headers(scope=scope)
        if not security.comes_from_own_page(headers, self._origins(scope, headers)):
            return PlainTextResponse(Refused.message, Refused.status)
        if "transfer-encoding" in headers:
            return PlainTextResponse("Send the form with its length.", 411)
        length = headers.get("content-length", "0")
        takes_file = scope["path"].endswith(TAKES_FILES)
        most = LARGEST_FILE_BYTES if takes_file else LARGEST_FORM_BYTES
        if not length.isdecimal() or int(length) > most:
            text = f"This is too large. Send at most {most // 1024:,} KB. Nothing was saved."
            return PlainTextResponse(text, 413)
        return None

    def _origins(self, scope: Scope, headers: Mapping[str, str]) -> tuple[str, ...]:
        return (self.own_origin, f"{scope['scheme']}://{headers.get('host', '')}")


class Rescue:
    """Turns an unexpected failure into a page, and logs where it arose but no values.

    A failure's own text may hold parts of a record, so only its kind and place are logged.
    """

    def __init__(self, app: ASGIApp, page: Callable[[HttpRequest], Response]) -> None:
        self.app = app
        self.page = page

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        started = False

        async def send_and_note(message: Message) -> None:
            nonlocal started
            started = True
            await send(message)

        try:
            await self.app(scope, receive, send_and_note)
        except Exception as error:
            if scope["type"] != "http" or started:
                raise
            where = "".join(traceback.format_tb(error.__traceback__))
            LOG.error("unexpected %s\n%s", type(error).__name__, where)  # noqa: TRY400
            await self.page(HttpRequest(scope))(scope, receive, send)


class AnswerHeaders:
    """Adds the security headers; whatever is not told otherwise must not be stored."""

    def __init__(self, app: ASGIApp, *, secure: bool) -> None:
        self.app = app
        self.headers = HEADERS | ({"Strict-Transport-Security": _ONE_YEAR} if secure else {})

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.update(self.headers)
                headers.setdefault("Cache-Control", "no-store")
                if headers.get("Content-Type", "").startswith("text/html"):
                    headers["Referrer-Policy"] = PAGE_REFERRER_POLICY
            await send(message)

        await self.app(scope, receive, send_with_headers)


class RequestLog:
    """One line per request: method, route, status, milliseconds.

    It names the route as written in the program, never the address, so that no household,
    search word or calendar secret gets into a log.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        began = clock.seconds()
        status = 500

        async def send_and_note(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self.app(scope, receive, send_and_note)
        finally:
            route = getattr(scope.get("route"), "path", "(no route)")
            took_ms = (clock.seconds() - began) * 1000
            LOG.info("%s %s %d %.0f ms", scope["method"], route, status, took_ms)


def _language_of(asked: str) -> str:
    """The language of the catalogue that a browser likes best.

    References:
        RFC 9110 section 12.5.4, Accept-Language; a weight that cannot be read counts as none.
    """
    best, weight = display.USUAL.language, 0.0
    for one in asked.split(","):
        name, _, after = one.strip().partition(";")
        language = name.strip().partition("-")[0].lower()
        found = re.fullmatch(r"\s*q=([01](?:\.\d{0,3})?)\s*", after) if after else None
        likes = 1.0 if not after else float(found[1]) if found else 0.0
        if language in CATALOGUE and likes > weight:
            best, weight = language, likes
    return best


class NewRequest:
    """Makes every request start as nobody's, before anything else looks at it."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        asked = Headers(scope=scope).get("accept-language", "") if scope["type"] == "http" else ""
        display.begin_request(_language_of(asked))
        await self.app(scope, receive, send)

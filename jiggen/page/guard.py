"""Stands before every request and answer: only this user's own browser, on this machine, gets in.

A page on loopback can be reached by every site that the browser has open, and by every program of
the machine. So the first address carries a secret, which becomes a cookie that scripts and other
sites cannot use; the host must be the very address that was printed, which no other name that
points here is; and what writes must come from the page itself. Bodies are read here, whole, with
their length announced and a time limit, before anything else sees them.
"""

from __future__ import annotations

import asyncio
import hmac
import secrets
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

BODY_MOST = 256 * 1024
"""Bytes of a request's body."""
BODY_SECONDS = 5.0
"""In which it must have come."""

ALWAYS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    # With no-referrer a form's POST would carry "Origin: null", and Save would be refused.
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}
"""Headers of every answer."""

COME_IN = "Open the address that jiggen bench printed."


class Guard:
    """The rules, round the application; see the module's head.

    Attributes:
        token: the secret of the first address, 192 bits.
    """

    def __init__(self, app: ASGIApp, port: int, seconds: float = BODY_SECONDS) -> None:
        self.app, self.seconds = app, seconds
        self.host = f"127.0.0.1:{port}"
        self.cookie = f"jiggen-{port}"
        self.token = secrets.token_urlsafe(24)

    @property
    def address(self) -> str:
        """Return the first address, with the token."""
        return f"http://{self.host}/?t={self.token}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(ALWAYS)
            await send(message)

        if scope["type"] != "http":
            return  # no socket but those of requests is ever opened
        answer = self._refused(scope) or self._entered(scope)
        body = b""
        if answer is None and scope["method"] == "POST":
            answer, body = await self._body(scope, receive)
        if answer is not None:
            await answer(scope, receive, send_with_headers)
            return
        rest = iter([{"type": "http.request", "body": body, "more_body": False}])

        async def receive_body() -> Message:
            return next(rest, None) or await receive()

        await self.app(scope, receive_body, send_with_headers)

    def _refused(self, scope: Scope) -> Response | None:
        """Return the answer to a request that breaks a rule; None where it may go on."""
        headers = Headers(scope=scope)
        if headers.getlist("host") != [self.host]:
            return _no(421, f"This page is at {self.host} only.")
        if scope["method"] not in ("GET", "POST"):
            return _no(405, "Only GET and POST are answered.")
        if headers.getlist("sec-fetch-site") not in ([], ["same-origin"], ["none"]):
            return _no(403, "The request came from another site.")
        if "transfer-encoding" in headers:
            return _no(411, "The length must be announced.")
        if scope["method"] == "POST":
            if headers.getlist("origin") != [f"http://{self.host}"]:
                return _no(403, "The request came from another site.")
            if headers.getlist("sec-fetch-site") == ["none"]:
                return _no(403, "The request did not come from the page.")
        return None

    def _entered(self, scope: Scope) -> Response | None:
        """Return the answer to the first address, and to whoever has not come by it."""
        if scope["method"] == "GET" and scope["path"] == "/" and b"t=" in scope["query_string"]:
            given = parse_qs(scope["query_string"].decode("ascii", "replace")).get("t", [])
            if len(given) == 1 and _same(given[0], self.token):
                welcome = RedirectResponse("/", 303)
                welcome.set_cookie(self.cookie, self.token, httponly=True, samesite="strict")
                return welcome
            return _no(403, COME_IN)
        lines = Headers(scope=scope).getlist("cookie")
        pairs = [pair.strip().partition("=") for line in lines for pair in line.split(";")]
        given = [value for name, _, value in pairs if name == self.cookie]
        if len(given) == 1 and _same(given[0], self.token):
            return None
        return _no(403, COME_IN)

    async def _body(self, scope: Scope, receive: Receive) -> tuple[Response | None, bytes]:
        """Return a request's whole body, or the answer to one that breaks a rule."""
        length = Headers(scope=scope).getlist("content-length")
        if len(length) != 1 or not (length[0].isascii() and length[0].isdigit()):
            return _no(411, "The length must be announced."), b""
        if len(length[0]) > 9 or int(length[0]) > BODY_MOST:
            return _no(413, f"More than {BODY_MOST // 1024} KiB."), b""
        body = bytearray()
        try:
            async with asyncio.timeout(self.seconds):
                while True:
                    message = await receive()
                    if message["type"] != "http.request":
                        return _no(400, "The request broke off."), b""
                    body += message.get("body", b"")
                    if not message.get("more_body", False):
                        return None, bytes(body)
        except TimeoutError:
            return _no(408, f"The request took more than {self.seconds:g} s."), b""


def _same(given: str, token: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "replace"), token.encode("ascii"))


def _no(status: int, why: str) -> Response:
    return PlainTextResponse(f"{why}\n", status, {"Connection": "close"})

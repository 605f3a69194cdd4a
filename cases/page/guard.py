"""What stands before the page's server: only this machine, only by the page's own address, only small messages.

A page that is open in the same browser can send requests to a loopback port. It does not know the token, its Origin is another
one, and a name of its own that it has made to lead here (DNS rebinding) is another Host. Each alone is refused.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = "127.0.0.1"
MAX_BODY = 2 * 1024 * 1024
"""Bytes of a message: a boat file's own limit."""
TOO_LARGE = 413, f"larger than {MAX_BODY / 2**20:g} MiB"
CURE = "open the address that forebeam printed"
HEADERS: Mapping[str, str] = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "connect-src 'self'; frame-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cache-Control": "no-store",
}
"""With every answer: nothing from elsewhere is loaded, the address with its token goes nowhere, no page frames this one."""


class Guard:
    """ASGI middleware that refuses foreign requests, and takes the token off the path of others.

    port  : of the server, which Host and Origin have to name
    token : the first part of every path
    """

    def __init__(self, app: ASGIApp, port: int, token: str) -> None:
        self._app, self._token = app, token
        self._hosts = {f"{LOOPBACK}:{port}", f"localhost:{port}"}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand on what may pass, with `HEADERS` on its answer; web sockets never, nothing here uses them."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
        elif scope["type"] == "http":
            await self._answer(scope, receive, send)
        else:
            await send({"type": "websocket.close", "code": 1008})

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        headers = Headers(scope=scope)
        if refusal := self._foreign(scope, headers) or _unfit(scope, headers):
            await PlainTextResponse(refusal[1], refusal[0])(scope, receive, send_with_headers)
            return
        within = {**scope, "path": scope["path"][len(self._token) + 1 :]}
        await self._app(within, _limited(receive), send_with_headers)

    def _foreign(self, scope: Scope, headers: Headers) -> tuple[int, str] | None:
        """Status and reason where a request does not come from the page itself."""
        hosts, own = headers.getlist("host"), {f"http://{host}" for host in self._hosts}
        if len(hosts) != 1 or hosts[0] not in self._hosts:
            return 403, f"foreign Host; {CURE}"
        if any(origin not in own for origin in headers.getlist("origin")):
            return 403, f"foreign Origin; {CURE}"
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return 403, f"request of another page; {CURE}"
        first, _, _ = scope["path"].removeprefix("/").partition("/")
        known = secrets.compare_digest(first.encode("utf-8", "replace"), self._token.encode())
        return None if known else (403, f"no token; {CURE}")


def _unfit(scope: Scope, headers: Headers) -> tuple[int, str] | None:
    """Status and reason where a message is too large or of another kind than the page sends."""
    if scope["method"] == "POST" and headers.get("content-type", "").partition(";")[0] != "application/json":
        return 415, "no JSON; send application/json"
    length = headers.get("content-length", "0")
    if not (length.isascii() and length.isdecimal()):
        return 400, "the length is no number"
    return TOO_LARGE if int(length) > MAX_BODY else None


def _limited(receive: Receive) -> Receive:
    """The same, up to `MAX_BODY` bytes, whatever length was announced."""
    left = MAX_BODY

    async def limited() -> Message:
        nonlocal left
        message = await receive()
        left -= len(message.get("body", b""))
        if left < 0:
            raise HTTPException(*TOO_LARGE)
        return message

    return limited

"""Asks every request at the door, before anything else reads it, and puts what a page may not do on every answer.

Used by `server`.
"""

from __future__ import annotations

from collections.abc import Mapping
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs

from starlette.types import ASGIApp, Receive, Scope, Send

from scanprep.review.access import COOKIE, Door
from scanprep.review.answers import refused

_GUARD = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
                               "connect-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'; "
                               "frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-resource-policy": "same-origin",
}
#: Heeded on this machine only: beyond it, without encryption, browsers note of every answer that they do not.
_GUARD_HERE = {"cross-origin-opener-policy": "same-origin"}


class Guarded:
    """Asks every request at the door, before anything else reads it."""

    def __init__(self, inner: ASGIApp, door: Door) -> None:
        self._inner, self._door = inner, door
        self._guard = _GUARD | ({} if door.tokens else _GUARD_HERE)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self._inner(scope, receive, send)
            return
        headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        door, live = self._door, scope["type"] == "websocket"
        refusal = door.refusal(headers, changes=live or scope["method"] not in ("GET", "HEAD"))
        seat = door.seat(_token(scope, headers))
        if not refusal and seat is None:
            refusal = "this page is shared with a token, and the address has none that fits. Open the whole address"
        if refusal:
            if live:
                await send({"type": "websocket.close", "code": 1008, "reason": refusal})
            else:
                await refused(403, refusal)(scope, receive, _with(send, self._guard))
            return
        scope["seat"] = seat
        await self._inner(scope, receive, send if live else _with(send, self._guard))


def _with(send: Send, guard: Mapping[str, str]) -> Send:
    async def guarded(message: Any) -> None:
        if message["type"] == "http.response.start":
            named = {name.lower() for name, _ in message["headers"]}
            extra = {**guard, "cache-control": "no-store"}
            message["headers"] = [*message["headers"], *((name.encode(), value.encode()) for name, value in
                                                         extra.items() if name.encode() not in named)]
        await send(message)

    return guarded


def _token(scope: Scope, headers: dict[str, str]) -> str | None:
    """The token of the address, on the first visit, or of the cookie that it left."""
    given = parse_qs(scope.get("query_string", b"").decode("latin-1")).get("token")
    if given and scope["path"] == "/":
        return str(given[0])
    try:
        kept = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return None
    return None if kept is None else kept.value

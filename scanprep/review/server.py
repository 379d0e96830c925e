"""The review page's server: the page, the case as it stands, pictures, and decisions taken in.

HTTP for everything that can be asked for; one websocket a page for what is said while people look: drags out and their
findings back, and the word that something changed. What changed is then fetched, so that a page that was away is in
step again by the same way. Every request passes the `Door` first. The case is worked by one thread, pictures by
another, so that a slow picture never holds a drag up.
"""

from __future__ import annotations

import asyncio
import concurrent.futures
import functools
import gzip
import json
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp, Receive, Scope, Send
from starlette.websockets import WebSocket, WebSocketDisconnect

from scanprep.errors import ScanprepError
from scanprep.plain_values import to_plain
from scanprep.review import pictures
from scanprep.review.access import COOKIE, Door, Seat
from scanprep.review.card import card_of, hold_key
from scanprep.review.desk import Desk, StaleError, Trial
from scanprep.review.messages import MOST_BYTES, Drag, MessageError, decision_of, drag_of, read
from scanprep.review.scene import CaseScene
from scanprep.review.web_files import WEB_FILES, web_file

#: tolerance: How often the record is looked at for what other programs wrote.
LOOK_s = 1.0
#: format: Pages that may be open at once; a table seats fewer.
MOST_PAGES = 40
T = TypeVar("T")

_GUARD = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
                               "connect-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'; "
                               "frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
}
_FOR_GOOD = "private, max-age=31536000, immutable"


@dataclass(eq=False)
class _Page:
    """One open page."""

    socket: WebSocket
    seat: Seat
    trial: Trial | None = None
    latest: Drag | None = None  # the drag that waits for the desk; a newer one takes its place
    working: asyncio.Task[None] | None = None
    lock: asyncio.Lock = field(default_factory=asyncio.Lock)

    async def say(self, plain: dict[str, Any]) -> None:
        async with self.lock:
            await self.socket.send_text(json.dumps(plain, allow_nan=False))


class ReviewServer:
    """The routes over one desk. `app` is the ASGI application."""

    def __init__(self, desk: Desk, door: Door) -> None:
        self.desk, self.door = desk, door
        self._pages: set[_Page] = set()
        self._desk_thread = concurrent.futures.ThreadPoolExecutor(1, "desk")
        self._picture_thread = concurrent.futures.ThreadPoolExecutor(1, "pictures")
        self._looking: asyncio.Task[None] | None = None
        self._sheets: asyncio.Task[None] | None = None
        self._written: tuple[CaseScene, bytes] | None = None
        routes = [
            Route("/", self._index), Route("/web/{name}", self._static),
            Route("/api/case", self._case), Route("/api/shapes", self._shapes), Route("/api/card", self._card),
            Route("/api/book", self._book),
            Route("/api/since", self._since), Route("/api/decide", self._decide, methods=["POST"]),
            Route("/api/nudge", self._nudge, methods=["POST"]),
            Route("/api/proposals", self._proposals, methods=["POST"]),
            Route("/picture/{key}.png", self._sprite), Route("/model/{key}.glb", self._model),
            Route("/hold/{key}/{index:int}/{view}.png", self._hold_picture),
            Route("/hold/{key}/{index:int}.glb", self._hold_model),
            WebSocketRoute("/live", self._live),
        ]
        self.app: ASGIApp = _Guarded(Starlette(routes=routes, exception_handlers={ScanprepError: _sentence}), self)

    async def _on_desk(self, call: Callable[[], T]) -> T:
        return await asyncio.get_running_loop().run_in_executor(self._desk_thread, call)

    async def _on_easel(self, call: Callable[[], T]) -> T:
        return await asyncio.get_running_loop().run_in_executor(self._picture_thread, call)

    # What a page is made of

    async def _index(self, request: Request) -> Response:
        token = request.query_params.get("token")
        if token is not None:
            # the token leaves the address at once, so that it stands in no history and no screenshot
            answer = RedirectResponse("/", 303)
            answer.set_cookie(COOKIE, token, httponly=True, samesite="strict", path="/")
            return answer
        return _file("index.html")

    async def _static(self, request: Request) -> Response:
        name = request.path_params["name"]
        return _file(name) if name in WEB_FILES else _problem(404, "there is no such file")

    async def _case(self, request: Request) -> Response:
        scene = self.desk.scene
        if self._written is None or self._written[0] is not scene:
            # written once for all pages: a table's worth of them ask at the same moment
            self._written = (scene, await self._on_desk(lambda: _text(to_plain(scene))))
        seat = json.dumps(request.scope["seat"].value).encode()
        return _packed(self._written[1][:-1] + b',"seat":' + seat + b"}", "application/json", "no-store")

    async def _shapes(self, request: Request) -> Response:
        return _json(await self._on_desk(lambda: to_plain(self.desk.shapes())))

    async def _card(self, request: Request) -> Response:
        number = request.query_params.get("object", "")
        return _json(await self._on_desk(lambda: to_plain(card_of(self.desk, number))))

    async def _book(self, request: Request) -> Response:
        number = request.query_params.get("object") or None
        return _json(await self._on_desk(lambda: to_plain(self.desk.book(number))))

    async def _since(self, request: Request) -> Response:
        session = request.query_params.get("session", "")
        if not session.isdecimal() or len(session) > 6:
            raise MessageError(f"{session[:20]!r} is no session's number")
        return _json(await self._on_desk(lambda: to_plain(self.desk.since(int(session)))))

    # Pictures and models: named by what they show, so a browser keeps them for good

    async def _sprite(self, request: Request) -> Response:
        key = request.path_params["key"]
        found = await self._on_desk(lambda: self.desk.seen(key))
        if found is None:
            return _problem(404, "there is no such picture")
        shape, spec, study = found
        png = await self._on_easel(lambda: pictures.sprite(self.desk.folder.cache, shape, spec, study))
        return Response(png, media_type="image/png", headers={"cache-control": _FOR_GOOD})

    async def _model(self, request: Request) -> Response:
        key, fine = request.path_params["key"], request.query_params.get("fine") == "1"
        found = await self._on_desk(lambda: self.desk.seen(key))
        if found is None:
            return _problem(404, "there is no such model")
        shape, spec, study = found
        made = await self._on_easel(lambda: pictures.model(self.desk.folder.cache, shape.key, spec, study, fine))
        return _packed(made)

    async def _hold_picture(self, request: Request) -> Response:
        view, index = request.path_params["view"], request.path_params["index"]
        found = await self._on_desk(lambda: self.desk.held(request.path_params["key"], index))
        if found is None or view not in pictures.HOLD_VIEWS:
            return _problem(404, "there is no such picture")
        hold, spec, study = found
        key = hold_key(self.desk.folder, spec, hold)
        png = await self._on_easel(lambda: pictures.hold_picture(self.desk.folder.cache, key, hold, spec, study, view))
        return Response(png, media_type="image/png", headers={"cache-control": _FOR_GOOD})

    async def _hold_model(self, request: Request) -> Response:
        found = await self._on_desk(lambda: self.desk.held(request.path_params["key"], request.path_params["index"]))
        if found is None:
            return _problem(404, "there is no such model")
        return _packed(await self._on_easel(lambda: pictures.hold_model(*found)))

    # What people say

    async def _decide(self, request: Request) -> Response:
        if request.scope["seat"] is not Seat.DECIDES:
            return _problem(403, "guests look and do not decide. Ask for the other address")
        said = decision_of(read(await _body(request)))
        try:
            taken = await self._on_desk(lambda: self.desk.decide(said))
        except StaleError as problem:
            return JSONResponse({"sentence": str(problem), "changed": to_plain(problem.changed)}, 409)
        await self._tell_all({"type": "changed", "seq": taken.seq, "sentences": list(taken.sentences)})
        self._follow_up()
        return _json(to_plain(taken))

    async def _nudge(self, request: Request) -> Response:
        drag = drag_of(read(await _body(request)))
        found = await self._on_desk(lambda: self.desk.nudged(self.desk.trial(drag.moves)))
        return _json(to_plain(found))

    async def _proposals(self, request: Request) -> Response:
        await _body(request)
        return _json(await self._on_desk(lambda: to_plain(self.desk.proposals())))

    async def _live(self, socket: WebSocket) -> None:
        await socket.accept()
        if len(self._pages) >= MOST_PAGES:
            await socket.close(1013, "too many pages are open")
            return
        page = _Page(socket, socket.scope["seat"])
        self._pages.add(page)
        if self._looking is None or self._looking.done():
            self._looking = asyncio.create_task(self._look_at_record())
        self._follow_up()
        try:
            await page.say({"type": "hello", "seq": self.desk.scene.seq, "seat": page.seat.value})
            while True:
                await self._heard(page, await socket.receive_text())
        except (WebSocketDisconnect, RuntimeError, KeyError):
            pass  # the page went away, or sent what is no text: either way it is gone
        finally:
            self._pages.discard(page)

    async def _heard(self, page: _Page, raw: str) -> None:
        """Take one message of a page; one that cannot be read is answered with why.

        Only the latest drag of a page waits for the desk: one that it overtakes is answered as skipped, so that a
        fast hand is never shown the past and nothing piles up.
        """
        try:
            drag = drag_of(read(raw))
        except ScanprepError as problem:
            await page.say({"type": "refused", "sentence": str(problem)})
            return
        overtaken, page.latest = page.latest, drag
        if overtaken is not None:
            await page.say({"type": "skipped", "ticket": overtaken.ticket})
        if page.working is None or page.working.done():
            page.working = asyncio.create_task(self._answer(page))

    async def _answer(self, page: _Page) -> None:
        while page.latest is not None and page in self._pages:
            drag, page.latest = page.latest, None
            try:
                findings = await self._on_desk(functools.partial(self._dragged, page, drag.moves))
                await page.say({"type": "findings", "ticket": drag.ticket, "findings": findings})
            except ScanprepError as problem:
                await page.say({"type": "refused", "ticket": drag.ticket, "sentence": str(problem)})
            except (WebSocketDisconnect, RuntimeError):
                return  # the page went away while the desk was at it

    def _dragged(self, page: _Page, moves: Any) -> list[Any]:
        page.trial = self.desk.trial(moves, page.trial)
        plain: list[Any] = to_plain(self.desk.trial_findings(page.trial))
        return plain

    async def _tell_all(self, plain: dict[str, Any]) -> None:
        for page in tuple(self._pages):
            try:
                await asyncio.wait_for(page.say(plain), 2.0)
            except (WebSocketDisconnect, RuntimeError, TimeoutError):
                self._pages.discard(page)  # it fetches everything when it comes back

    async def _look_at_record(self) -> None:
        """Take in what other programs put on record, as long as a page is open."""
        while self._pages:
            await asyncio.sleep(LOOK_s)
            if await self._on_desk(self.desk.refresh):
                await self._tell_all({"type": "changed", "seq": self.desk.scene.seq, "sentences": []})
                self._follow_up()

    def _follow_up(self) -> None:
        """Work out panels whose load changed, next to the desk, and show each report when it is there."""
        if self._sheets is None or self._sheets.done():
            self._sheets = asyncio.create_task(self._work_out_panels())

    async def _work_out_panels(self) -> None:
        while jobs := await self._on_desk(self.desk.sheets_waiting):
            folder, job = self.desk.folder, jobs[0]
            report = await self._on_easel(functools.partial(job.report, folder.case, folder.rules))
            await self._on_desk(functools.partial(self.desk.take_sheet, job, report))
            await self._tell_all({"type": "changed", "seq": self.desk.scene.seq, "sentences": []})

    def close(self) -> None:
        """Let the threads go when they have done what they are at."""
        self._desk_thread.shutdown(wait=True)
        self._picture_thread.shutdown(wait=False, cancel_futures=True)


class _Guarded:
    """Asks every request at the door, before anything else reads it."""

    def __init__(self, inner: ASGIApp, server: ReviewServer) -> None:
        self._inner, self._server = inner, server

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self._inner(scope, receive, send)
            return
        headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        door, live = self._server.door, scope["type"] == "websocket"
        refusal = door.refusal(headers, changes=live or scope["method"] not in ("GET", "HEAD"))
        seat = door.seat(_token(scope, headers))
        if not refusal and seat is None:
            refusal = "this page is shared with a token, and the address has none that fits. Open the whole address"
        if refusal:
            if live:
                await send({"type": "websocket.close", "code": 1008, "reason": refusal})
            else:
                await _problem(403, refusal)(scope, receive, _with(send))
            return
        scope["seat"] = seat
        await self._inner(scope, receive, send if live else _with(send))


def _with(send: Send) -> Send:
    async def guarded(message: Any) -> None:
        if message["type"] == "http.response.start":
            named = {name.lower() for name, _ in message["headers"]}
            extra = {**_GUARD, "cache-control": "no-store"}
            message["headers"] = [*message["headers"], *((name.encode(), value.encode()) for name, value in
                                                         extra.items() if name.encode() not in named)]
        await send(message)

    return guarded


def _token(scope: Scope, headers: dict[str, str]) -> str | None:
    """The token of the address, on the first visit, or of the cookie that it left."""
    from http.cookies import CookieError, SimpleCookie
    from urllib.parse import parse_qs

    given = parse_qs(scope.get("query_string", b"").decode("latin-1")).get("token")
    if given and scope["path"] == "/":
        return str(given[0])
    try:
        kept = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return None
    return None if kept is None else kept.value


async def _body(request: Request) -> bytes:
    """Read a request's body as far as it may be long. Raises MessageError."""
    if request.headers.get("content-type", "").partition(";")[0].strip() != "application/json":
        raise MessageError("a message is sent as application/json")
    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > MOST_BYTES:
            raise MessageError(f"the message is longer than the {MOST_BYTES} bytes that are read. Send less at once")
    return bytes(body)


def _json(plain: Any) -> Response:
    return _packed(_text(plain), "application/json", "no-store")


def _text(plain: Any) -> bytes:
    return json.dumps(plain, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def _packed(content: bytes, kind: str = "model/gltf-binary", keep: str = _FOR_GOOD) -> Response:
    # level 1: a table's pages are on this machine or the next, so time counts for more than bytes
    return Response(gzip.compress(content, 1, mtime=0), media_type=kind,
                    headers={"content-encoding": "gzip", "cache-control": keep})


def _file(name: str) -> Response:
    kind, packed = web_file(name)
    return Response(packed, media_type=kind, headers={"content-encoding": "gzip", "cache-control": "no-cache"})


def _problem(status: int, sentence: str) -> JSONResponse:
    return JSONResponse({"sentence": sentence}, status)


async def _sentence(request: Request, problem: Exception) -> Response:
    """Answer a refusal of the record or of a message as one sentence."""
    return _problem(400 if isinstance(problem, MessageError) else 422, str(problem))



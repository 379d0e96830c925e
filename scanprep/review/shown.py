"""What a page may ask for: itself, the case as it stands, an object's card, pictures and models.

Everything here only looks. What is named by what it shows is kept by the browser for good; while the desk is being
opened the case as it was kept last is shown. Used by `server`.
"""

from __future__ import annotations

import json
import re

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from scanprep.plain_values import to_plain
from scanprep.review import pictures
from scanprep.review.access import COOKIE
from scanprep.review.answers import file_of, json_of, packed, picture_of, refused, text_of
from scanprep.review.card import card_of, hold_key
from scanprep.review.messages import MOST_LETTERS, MessageError
from scanprep.review.scene import CaseScene
from scanprep.review.table import Table
from scanprep.review.web_files import WEB_FILES

_KEY = re.compile(r"[0-9a-f]{24}")


class Shown:
    """The routes that look."""

    def __init__(self, table: Table) -> None:
        self._table = table
        self._written: tuple[CaseScene, bytes] | None = None
        self.routes = [
            Route("/", self._index), Route("/web/{name}", self._static),
            Route("/api/case", self._case), Route("/api/shapes", self._shapes), Route("/api/card", self._card),
            Route("/api/book", self._book), Route("/api/compare", self._compare),
            Route("/picture/{key}.png", self._sprite), Route("/model/{key}.glb", self._model),
            Route("/skin/{key}.glb", self._skin), Route("/showing/{key}/{index:int}.png", self._showing),
            Route("/hold/{key}/{index:int}/{view}.png", self._hold_picture),
            Route("/hold/{key}/{index:int}.glb", self._hold_model),
        ]

    async def _index(self, request: Request) -> Response:
        token = request.query_params.get("token")
        if token is not None:
            # the token leaves the address at once, so that it stands in no history and no screenshot
            answer = RedirectResponse("/", 303)
            answer.set_cookie(COOKIE, token, httponly=True, samesite="strict", path="/")
            return answer
        return file_of("index.html")

    async def _static(self, request: Request) -> Response:
        name = request.path_params["name"]
        return file_of(name) if name in WEB_FILES else refused(404, "there is no such file")

    async def _case(self, request: Request) -> Response:
        seat = json.dumps(request.scope["seat"].value).encode()
        if not self._table.ready:
            kept, told = self._table.opening.kept("case"), text_of(self._table.opening.told())
            return packed((b'{"opening":' + told if kept is None else kept[:-1] + b',"opening":' + told)
                          + b',"seat":' + seat + b"}", "application/json", "no-store")
        scene = self._table.desk.scene
        if self._written is None or self._written[0] is not scene:
            # written once for all pages: a table's worth of them ask at the same moment
            self._written = (scene, await self._table.on_desk(lambda desk: text_of(to_plain(scene))))
        return packed(self._written[1][:-1] + b',"seat":' + seat + b"}", "application/json", "no-store")

    async def _shapes(self, request: Request) -> Response:
        kept = None if self._table.ready else self._table.opening.kept("shapes")
        if kept is not None:
            return packed(kept, "application/json", "no-store")
        return json_of(await self._table.on_desk(lambda desk: to_plain(desk.shapes())))

    async def _card(self, request: Request) -> Response:
        number, units = request.query_params.get("object", ""), request.query_params.get("units")
        if units not in (None, "mm", "in"):
            raise MessageError(f"{units[:20]!r} is no unit of the page; say mm or in")
        return json_of(await self._table.on_desk(lambda desk: to_plain(card_of(desk, number, units))))

    async def _book(self, request: Request) -> Response:
        number = request.query_params.get("object") or None
        return json_of(await self._table.on_desk(lambda desk: to_plain(desk.book(number))))

    async def _compare(self, request: Request) -> Response:
        session, kept = request.query_params.get("session"), request.query_params.get("try", "")
        if session is not None and (not session.isdecimal() or len(session) > 6):
            raise MessageError(f"{session[:20]!r} is no session's number")
        if session is None and not 0 < len(kept) <= MOST_LETTERS:
            raise MessageError("say which session or which try to compare with")
        earlier = None if session is None else int(session)
        return json_of(await self._table.on_desk(lambda desk: to_plain(desk.compared(earlier, kept))))

    # Pictures and models: named by what they show, so a browser keeps them for good

    async def _sprite(self, request: Request) -> Response:
        key, table = request.path_params["key"], self._table
        if not table.ready and _KEY.fullmatch(key):
            kept = table.opening.folder.cache.load_bytes("review", f"{key}.png")
            if kept is not None:
                return picture_of(kept)
        found = await table.on_desk(lambda desk: desk.seen(key))
        if found is None:
            return refused(404, "there is no such picture")
        shape, spec, study = found
        return picture_of(await table.on_easel(lambda: pictures.sprite(table.desk.folder.cache, shape, spec, study)))

    async def _model(self, request: Request) -> Response:
        key, fine, table = request.path_params["key"], request.query_params.get("fine") == "1", self._table
        found = await table.on_desk(lambda desk: desk.seen(key))
        if found is None:
            return refused(404, "there is no such model")
        shape, spec, study = found
        return packed(await table.on_easel(
            lambda: pictures.model(table.desk.folder.cache, shape.key, spec, study, fine)))

    async def _skin(self, request: Request) -> Response:
        key, table = request.path_params["key"], self._table
        found = await table.on_desk(lambda desk: desk.seen(key))
        if found is None:
            return refused(404, "there is no such model")
        return packed(await table.on_easel(
            lambda: pictures.skin_model(table.desk.folder.cache, key, found[2])))

    async def _showing(self, request: Request) -> Response:
        key, index, table = request.path_params["key"], request.path_params["index"], self._table
        found = await table.on_desk(lambda desk: desk.seen(key))
        png = None if found is None else await table.on_easel(
            lambda: pictures.showing_picture(table.desk.folder.cache, key, found[2], index))
        return refused(404, "there is no such picture") if png is None else picture_of(png)

    async def _hold_picture(self, request: Request) -> Response:
        view, index, table = request.path_params["view"], request.path_params["index"], self._table
        found = await table.on_desk(lambda desk: desk.held(request.path_params["key"], index))
        if found is None or view not in pictures.HOLD_VIEWS:
            return refused(404, "there is no such picture")
        hold, spec, study = found
        folder = table.desk.folder
        key = hold_key(folder, spec, hold)
        return picture_of(await table.on_easel(
            lambda: pictures.hold_picture(folder.cache, key, hold, spec, study, view)))

    async def _hold_model(self, request: Request) -> Response:
        found = await self._table.on_desk(
            lambda desk: desk.held(request.path_params["key"], request.path_params["index"]))
        if found is None:
            return refused(404, "there is no such model")
        return packed(await self._table.on_easel(lambda: pictures.hold_model(*found)))

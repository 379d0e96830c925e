"""The review page's server: decisions taken in, and what is said while people look.

HTTP for everything that can be asked for (`shown`); one websocket a page for what is said while people look: drags out
and their findings back, and the word that something changed. What changed is then fetched, so that a page that was
away is in step again by the same way. Every request passes the `Door` first.
"""

from __future__ import annotations

import asyncio
import functools
import json
import time
from collections.abc import Callable, Coroutine
from concurrent.futures import BrokenExecutor
from dataclasses import dataclass, field
from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp
from starlette.websockets import WebSocket, WebSocketDisconnect

from scanprep.errors import ScanprepError
from scanprep.plain_values import to_plain
from scanprep.review.access import Door, Seat
from scanprep.review.answers import body_of, json_of, refusal_of, refused
from scanprep.review.desk import Desk, StaleError, Trial
from scanprep.review.gate import Guarded
from scanprep.review.messages import (
    MOST_LETTERS,
    Drag,
    MessageError,
    angles_of,
    decision_of,
    drag_of,
    read,
    try_of,
)
from scanprep.review.opening import Opening, keep_scene
from scanprep.review.restudy import StudyJob, Workbench
from scanprep.review.shown import Shown
from scanprep.review.table import Table
from scanprep.workspace.tasks import StudyDone

#: tolerance: How often the record is looked at for what other programs wrote.
LOOK_s = 1.0
#: format: Pages that may be open at once; a table seats fewer.
MOST_PAGES = 40


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

    def __init__(self, opening: Opening, door: Door) -> None:
        self.table = Table(opening)
        self._pages: set[_Page] = set()
        self._bench = Workbench()
        self._running: tuple[StudyJob, float] | None = None  # the search under way, and since when
        self._tasks: dict[str, asyncio.Task[None]] = {}
        decides = [("decide", self._decide), ("angles", self._angles), ("stop", self._stop), ("try", self._keep_try)]
        looks = [("nudge", self._nudge), ("proposals", self._proposals)]
        routes = [*Shown(self.table).routes,
                  *(Route(f"/api/{name}", self._only_who_decides(act), methods=["POST"]) for name, act in decides),
                  *(Route(f"/api/{name}", act, methods=["POST"]) for name, act in looks),
                  WebSocketRoute("/live", self._live)]
        self.app: ASGIApp = Guarded(Starlette(routes=routes, exception_handlers={ScanprepError: refusal_of}), door)

    # What people say

    @staticmethod
    def _only_who_decides(act: Callable[[Request], Coroutine[Any, Any, Response]]
                          ) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        async def asked(request: Request) -> Response:
            if request.scope["seat"] is not Seat.DECIDES:
                return refused(403, "guests look and do not decide. Ask for the other address")
            return await act(request)

        return asked

    async def _decide(self, request: Request) -> Response:
        said = decision_of(read(await body_of(request)))
        try:
            taken = await self.table.on_desk(lambda desk: desk.decide(said))
        except StaleError as problem:
            return JSONResponse({"sentence": str(problem), "changed": to_plain(problem.changed)}, 409)
        await self._tell_all({"type": "changed", "seq": taken.seq, "sentences": list(taken.sentences)})
        self._follow_up()
        return json_of(to_plain(taken))

    async def _nudge(self, request: Request) -> Response:
        drag = drag_of(read(await body_of(request)))
        found = await self.table.on_desk(lambda desk: desk.nudged(desk.trial(drag.moves)))
        return json_of(to_plain(found))

    async def _proposals(self, request: Request) -> Response:
        await body_of(request)
        return json_of(await self.table.on_desk(lambda desk: to_plain(desk.proposals())))

    async def _keep_try(self, request: Request) -> Response:
        kept = try_of(read(await body_of(request)))
        await self.table.on_desk(lambda desk: desk.keep_try(kept.name, kept.moves))
        await self._changed([f"kept as the try {kept.name}; the record was not touched"])
        return json_of({"name": kept.name})

    async def _angles(self, request: Request) -> Response:
        asked = angles_of(read(await body_of(request)))
        if not await self.table.on_desk(lambda desk: desk.ask_angles(asked)):
            raise MessageError(f"object {asked.object}: these angles wait already, or too many do. Wait for them")
        self._follow_up()
        await self._tell_work()
        return json_of({"waits": True})

    async def _stop(self, request: Request) -> Response:
        """Stop the search under way for an object, and forget what waits for it."""
        number = str(read(await body_of(request)).get("object", ""))[:MOST_LETTERS]
        dropped = await self.table.on_desk(lambda desk: desk.stop_asking(number))
        running = self._running
        if running is not None and running[0].number == number and running[0].angles is not None:
            self._bench.stop()
        await self._tell_work()
        return json_of({"stopped": dropped})

    # Pages

    async def _live(self, socket: WebSocket) -> None:
        await socket.accept()
        if len(self._pages) >= MOST_PAGES:
            await socket.close(1013, "too many pages are open")
            return
        page = _Page(socket, socket.scope["seat"])
        self._pages.add(page)
        try:
            await self._until_open(page)
            self._start("look", self._look_at_record)
            self._follow_up()
            await page.say({"type": "hello", "seq": self.table.desk.scene.seq, "seat": page.seat.value})
            await page.say(await self._work())
            while True:
                await self._heard(page, await socket.receive_text())
        except (WebSocketDisconnect, RuntimeError, KeyError):
            pass  # the page went away, or sent what is no text: either way it is gone
        finally:
            self._pages.discard(page)

    async def _until_open(self, page: _Page) -> None:
        """Tell a page how far the opening is, until the desk is there."""
        waiting = asyncio.ensure_future(self.table.wait())
        while not (await asyncio.wait({waiting}, timeout=LOOK_s / 2))[0]:
            await page.say({"type": "opening", **self.table.opening.told()})
        waiting.result()

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
                findings = await self.table.on_desk(functools.partial(_dragged, page, drag.moves))
                await page.say({"type": "findings", "ticket": drag.ticket, "findings": findings})
            except ScanprepError as problem:
                await page.say({"type": "refused", "ticket": drag.ticket, "sentence": str(problem)})
            except (WebSocketDisconnect, RuntimeError):
                return  # the page went away while the desk was at it

    async def _tell_all(self, plain: dict[str, Any]) -> None:
        for page in tuple(self._pages):
            try:
                await asyncio.wait_for(page.say(plain), 2.0)
            except (WebSocketDisconnect, RuntimeError, TimeoutError):
                self._pages.discard(page)  # it fetches everything when it comes back

    async def _changed(self, sentences: list[str]) -> None:
        await self._tell_all({"type": "changed", "seq": self.table.desk.scene.seq, "sentences": sentences})

    # What goes on next to the table

    def _start(self, name: str, work: Callable[[], Coroutine[Any, Any, None]]) -> None:
        if name not in self._tasks or self._tasks[name].done():
            self._tasks[name] = asyncio.create_task(work())

    def _follow_up(self) -> None:
        """Work out what waits next to the desk, and show it when it is there."""
        self._start("panels", self._work_out_panels)
        self._start("studies", self._look_for_holds)

    async def _look_at_record(self) -> None:
        """Take in what other programs put on record, as long as a page is open."""
        while self._pages:
            await asyncio.sleep(LOOK_s)
            if await self.table.on_desk(lambda desk: desk.refresh()):
                await self._changed([])
                self._follow_up()
            if self._running is not None:
                await self._tell_work()

    async def _work_out_panels(self) -> None:
        """Work out panels whose load changed; when all stand, keep the scene for the next opening."""
        while jobs := await self.table.on_desk(lambda desk: desk.sheets_waiting()):
            folder, job = self.table.desk.folder, jobs[0]
            report = await self.table.on_easel(functools.partial(job.report, folder.case, folder.rules))
            await self.table.on_desk(functools.partial(Desk.take_sheet, job=job, report=report))
            await self._changed([])
        kept = await self.table.on_desk(lambda desk: (desk.folder, desk.scene, desk.shapes()))
        await self.table.on_easel(lambda: keep_scene(*kept))

    async def _look_for_holds(self) -> None:
        while jobs := await self.table.on_desk(lambda desk: desk.studies_waiting()):
            job, folder = jobs[0], self.table.desk.folder
            self._running = (job, time.monotonic())
            await self._tell_work()
            try:
                done = await asyncio.wrap_future(self._bench.submit(*job.call(folder)))
            except (BrokenExecutor, asyncio.CancelledError):
                done = StudyDone(job.number, "", "it was stopped", 0.0, True)
                self._bench.stop()
            self._running = None
            sentence = await self.table.on_desk(functools.partial(Desk.take_study, job=job, done=done))
            await self._tell_all({"type": "card", "object": job.number})
            await self._tell_work()
            await self._changed([sentence])

    async def _work(self) -> dict[str, Any]:
        jobs = await self.table.on_desk(lambda desk: desk.studies_waiting())
        rows = []
        for job in jobs:
            runs = self._running is not None and self._running[0] == job
            seconds = round(time.monotonic() - self._running[1], 1) if runs and self._running is not None else None
            rows.append({"object": job.number, "words": job.words, "by_hand": job.angles is not None,
                         "seconds": seconds, "steps": self._bench.steps() if runs else None})
        return {"type": "work", "jobs": rows}

    async def _tell_work(self) -> None:
        await self._tell_all(await self._work())

    def close(self) -> None:
        """Let the threads go when they have done what they are at, and end the search under way."""
        self._bench.close()
        self.table.close()


def _dragged(page: _Page, moves: Any, desk: Desk) -> list[Any]:
    page.trial = desk.trial(moves, page.trial)
    plain: list[Any] = to_plain(desk.trial_findings(page.trial))
    return plain

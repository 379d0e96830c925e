"""The desk as the server's tasks reach it: worked by one thread, pictures by another, waited for while it is opened.

Used by `server` and `shown`.
"""

from __future__ import annotations

import asyncio
import concurrent.futures
from collections.abc import Callable
from typing import TypeVar

from scanprep.review.desk import Desk
from scanprep.review.opening import Opening

T = TypeVar("T")


class Table:
    """One desk and its two threads, so that a slow picture never holds a drag up."""

    def __init__(self, opening: Opening) -> None:
        self.opening = opening
        self._desk_thread = concurrent.futures.ThreadPoolExecutor(1, "desk")
        self._picture_thread = concurrent.futures.ThreadPoolExecutor(1, "pictures")

    @property
    def ready(self) -> bool:
        """Whether the desk is there."""
        return self.opening.desk.done() and self.opening.desk.exception() is None

    @property
    def desk(self) -> Desk:
        """The desk; only to be asked for where it is there."""
        return self.opening.desk.result(timeout=0)

    async def wait(self) -> Desk:
        """Return the desk when it is there."""
        return await asyncio.wrap_future(self.opening.desk)

    async def on_desk(self, call: Callable[[Desk], T]) -> T:
        """Return what a call says of the desk, one call at a time."""
        desk = await self.wait()
        return await asyncio.get_running_loop().run_in_executor(self._desk_thread, call, desk)

    async def on_easel(self, call: Callable[[], T]) -> T:
        """Return what a slow call makes that changes nothing."""
        return await asyncio.get_running_loop().run_in_executor(self._picture_thread, call)

    def close(self) -> None:
        """Let the threads go when they have done what they are at."""
        self._desk_thread.shutdown(wait=True)
        self._picture_thread.shutdown(wait=False, cancel_futures=True)

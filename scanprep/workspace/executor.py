"""Work on all cores through concurrent.futures: results as they come, a person told of each."""

from __future__ import annotations

import concurrent.futures
import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from typing import Any, TypeVar

T = TypeVar("T")

#: Libraries that would each start a thread per core inside every worker.
_THREAD_LIMITS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMEXPR_NUM_THREADS")


class SameProcessExecutor(concurrent.futures.Executor):
    """Runs each call at once where it stands: for one object, for tests, and for debugging."""

    def submit(self, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> concurrent.futures.Future[T]:
        """Return a future that is already done."""
        future: concurrent.futures.Future[T] = concurrent.futures.Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except BaseException as problem:  # noqa: BLE001 - handed to whoever asks for the result
            future.set_exception(problem)
        return future


def make_executor(workers: int | None = None, tasks: int | None = None) -> concurrent.futures.Executor:
    """Return an executor with one process a core, or the same process where one worker or one task is all there is.

    Processes are spawned, not forked: open3d's threads do not survive a fork.
    """
    count = workers or os.cpu_count() or 1
    if tasks is not None:
        count = min(count, tasks)
    if count <= 1:
        return SameProcessExecutor()
    for name in _THREAD_LIMITS:
        os.environ.setdefault(name, "1")
    return concurrent.futures.ProcessPoolExecutor(count, mp_context=multiprocessing.get_context("spawn"))


def run_all(executor: concurrent.futures.Executor, fn: Callable[..., T],
            calls: Sequence[tuple[Any, ...]]) -> Iterator[tuple[int, T]]:
    """Yield (index of the call, its result) as results come. An exception of a call is raised here."""
    futures = {executor.submit(fn, *call): index for index, call in enumerate(calls)}
    for future in concurrent.futures.as_completed(futures):
        yield futures[future], future.result()

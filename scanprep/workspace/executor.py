"""Work on all cores through concurrent.futures: results as they come, a person told of each."""

from __future__ import annotations

import concurrent.futures
import contextlib
import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, TypeVar

from scanprep.errors import ScanprepError
from scanprep.workspace.cluster import ClusterExecutor, on_one_thread, open_cluster

T = TypeVar("T")

#: tolerance: a study of five million faces takes a minute or two; a busy old laptop may need seven times as long
MOST_STUDY_S = 900
LEAST_WORKER_BYTES = 8 << 30  # tolerance: address space, of which the libraries map some GB without using it

#: Libraries that would each start a thread per core inside every worker.
_THREAD_LIMITS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMEXPR_NUM_THREADS")


class SameProcessExecutor(concurrent.futures.Executor):
    """Runs each call at once where it stands, without bounds on time and memory: for debugging and for tests."""

    def submit(self, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> concurrent.futures.Future[T]:
        """Return a future that is already done."""
        future: concurrent.futures.Future[T] = concurrent.futures.Future()
        try:
            future.set_result(on_one_thread(fn, *args, **kwargs))
        except BaseException as problem:  # noqa: BLE001 - handed to whoever asks for the result
            future.set_exception(problem)
        return future


def make_executor(workers: int | None = None, tasks: int | None = None) -> concurrent.futures.Executor:
    """Return an executor with one process a core, or with `workers` of them; none is started before there is work.

    workers  0: this process does the work itself
    tasks    how many calls there are at most; more processes than that are not started

    A lone task too gets a process of its own, so that a scan that crashes or hangs a library ends in a sentence.
    Processes are spawned, not forked: open3d's threads do not survive a fork.
    """
    if workers == 0:
        return SameProcessExecutor()
    count = workers or os.cpu_count() or 1
    return make_pool(max(1, count if tasks is None else min(count, tasks)))


def open_workers(workers: int | None, tasks: int, scheduler: str | None
                 ) -> contextlib.AbstractContextManager[concurrent.futures.Executor]:
    """Return the workers of a Dask scheduler where its address is given, else those of `make_executor`."""
    return make_executor(workers, tasks) if scheduler is None else open_cluster(scheduler)


def make_pool(count: int) -> concurrent.futures.ProcessPoolExecutor:
    """Return an executor of `count` processes, one thread each, that end when this process ends, however it ends."""
    for name in _THREAD_LIMITS:
        os.environ.setdefault(name, "1")
    return concurrent.futures.ProcessPoolExecutor(count, mp_context=multiprocessing.get_context("spawn"),
                                                  initializer=_end_with_parent, initargs=(os.getpid(),))


def _end_with_parent(parent: int) -> None:
    """Make this worker end when its parent is gone, and leave Ctrl-C to the parent, which ends its workers itself."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _worker_limits()

    def look() -> None:
        while os.getppid() == parent:
            time.sleep(0.5)
        os._exit(1)

    threading.Thread(target=look, daemon=True).start()


def _worker_limits() -> None:
    """Bound this worker's memory, so that a broken scan ends in a sentence and not in the loss of other programs."""
    if sys.platform == "linux":
        import resource

        there = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
        most = max(there, LEAST_WORKER_BYTES)
        hard = resource.getrlimit(resource.RLIMIT_AS)[1]
        resource.setrlimit(resource.RLIMIT_AS, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))


@contextmanager
def at_most(seconds: int) -> Iterator[None]:
    """End this process where what is inside takes longer, even in a library that never comes back; in a worker only.

    The system does it: a signal whose own action is to end the process. Whoever waits for the worker is told.
    """
    if not _is_worker() or not hasattr(signal, "alarm"):
        yield
        return
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)


def _is_worker() -> bool:
    return multiprocessing.parent_process() is not None


def end_workers() -> None:
    """End every worker process of this one at once; nothing is lost, since results are kept whole or not at all."""
    for worker in multiprocessing.active_children():
        worker.kill()


def run_all(executor: concurrent.futures.Executor, fn: Callable[..., T], calls: Sequence[tuple[Any, ...]], *,
            died: Callable[[int], T] | None = None) -> Iterator[tuple[int, T]]:
    """Yield (index of the call, its result) as results come. An exception of a call is raised here.

    Where a worker process dies (mostly killed by the system for want of memory) no other call is lost: each unfinished
    one is done again in a process of its own, on a cluster when no other call is left.

    died  gives the result of a call whose own process dies too; None: that raises ScanprepError
    """
    if isinstance(executor, SameProcessExecutor):
        # One at a time, so that each is told of when it is done and not all of them at the end.
        for index, call in enumerate(calls):
            yield index, executor.submit(fn, *call).result()
        return
    unfinished = []
    try:
        futures = {executor.submit(fn, *call): index for index, call in enumerate(calls)}
    except concurrent.futures.BrokenExecutor:
        futures, unfinished = {}, list(range(len(calls)))
    try:
        for future in concurrent.futures.as_completed(futures):
            try:
                result = future.result()
            except concurrent.futures.BrokenExecutor:
                unfinished.append(futures[future])
            else:
                yield futures[future], result
    except BaseException:  # Ctrl-C, a fault of a call, or nobody wants the rest: do not wait for what still runs
        executor.shutdown(wait=False, cancel_futures=True)
        end_workers()
        raise
    for index in sorted(unfinished):
        yield index, _alone(executor, fn, calls[index], index, died)


def _alone(executor: concurrent.futures.Executor, fn: Callable[..., T], call: tuple[Any, ...], index: int,
           died: Callable[[int], T] | None) -> T:
    own = contextlib.nullcontext(executor) if isinstance(executor, ClusterExecutor) else make_pool(1)
    with own as pool:
        try:
            return pool.submit(fn, *call).result()
        except concurrent.futures.BrokenExecutor:
            if died is not None:
                return died(index)
            raise ScanprepError("a worker process was stopped by the system twice at the same work, most likely for "
                                "want of memory; free some, then run the command again") from None

"""The same work on many machines: a Dask scheduler's workers behind the executor interface.

Workers read scans and keep results by path, so the case folder and the cache lie where every one of them sees them
under the same path. Only keys and sentences travel. `distributed` is an optional extra, imported when it is asked for.
"""

from __future__ import annotations

import concurrent.futures
import contextlib
from collections.abc import Callable, Iterator
from typing import Any, TypeVar

from scanprep import CODE_VERSION
from scanprep.errors import InputError

T = TypeVar("T")

_PATIENCE_s = 10.0  # tolerance: for a scheduler to answer


def on_one_thread(fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> T:
    """Return a call's result with one thread for linear algebra: the last digits hang on how many share a sum.

    So a worker of the pool, which is started with one, this process and another machine give the same bytes.
    """
    from threadpoolctl import threadpool_limits

    with threadpool_limits(1):
        return fn(*args, **kwargs)


class WorkerLostError(concurrent.futures.BrokenExecutor):
    """Every worker that was given a call died at it."""


class ClusterExecutor(concurrent.futures.Executor):
    """A cluster's workers. A call whose worker dies is run again on another; a few deaths raise WorkerLostError."""

    def __init__(self, client: Any) -> None:
        self._inner: concurrent.futures.Executor = client.get_executor(pure=False)

    def submit(self, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> concurrent.futures.Future[T]:
        """Return the future of a call on some worker."""
        told: concurrent.futures.Future[T] = concurrent.futures.Future()
        self._inner.submit(on_one_thread, fn, *args, **kwargs).add_done_callback(lambda done: _pass_on(done, told))
        return told

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Take no more calls; wait for those that run, or cancel them."""
        self._inner.shutdown(wait=wait and not cancel_futures)


def _pass_on(done: concurrent.futures.Future[T], told: concurrent.futures.Future[T]) -> None:
    from distributed.scheduler import KilledWorker

    if done.cancelled():
        told.cancel()
        return
    problem = done.exception()
    if problem is None:
        told.set_result(done.result())
    else:
        told.set_exception(WorkerLostError(str(problem)) if isinstance(problem, KilledWorker) else problem)


def code_version() -> int:
    """Return by which code a worker computes; asked of each before it gets work."""
    return CODE_VERSION


@contextlib.contextmanager
def open_cluster(address: str) -> Iterator[ClusterExecutor]:
    """Give the workers of the scheduler at an address, such as tcp://10.0.0.5:8786.

    Raises InputError where the extra is not installed, no scheduler answers there, it has no workers, or some of them
    compute by other code than this.
    """
    try:
        from distributed import Client
    except ImportError:
        raise InputError(field="--scheduler", value=address, problem="needs the optional extra `dask`, which is not "
                         "installed here", remedy="Install it with `pip install 'scanprep[dask]'`, here and on every "
                         "worker") from None
    try:
        client = Client(address, timeout=_PATIENCE_s, set_as_default=False)
    except (OSError, ValueError, TypeError) as problem:
        raise InputError(field="--scheduler", value=address, problem=f"no Dask scheduler answers there ({problem})",
                         remedy="Start one with `dask scheduler` and give the address that it prints") from None
    with client:
        _check_workers(client, address)
        with ClusterExecutor(client) as executor:
            yield executor


def _check_workers(client: Any, address: str) -> None:
    try:
        versions: dict[str, int] = client.run(code_version)
    except ImportError as problem:
        raise InputError(field="--scheduler", value=address, problem=f"its workers cannot load scanprep ({problem})",
                         remedy="Install the same scanprep on every worker") from None
    if not versions:
        raise InputError(field="--scheduler", value=address, problem="has no workers",
                         remedy="Start some with `dask worker ADDRESS --nthreads 1`")
    others = sorted(worker for worker, version in versions.items() if version != CODE_VERSION)
    if others:
        raise InputError(field="--scheduler", value=address,
                         problem=f"has workers that compute by other code than {CODE_VERSION}: {', '.join(others[:4])}",
                         remedy="Install the same scanprep on every worker")

"""Opens the review page's server on this machine, or on its network where asked, and keeps it until it is stopped.

Loopback only unless it is shared; then two tokens are made anew each time, one for those who decide and one for guests.
"""

from __future__ import annotations

import socket
import sys
from concurrent.futures import Future
from dataclasses import dataclass

from scanprep.errors import InputError
from scanprep.review.access import Door, new_tokens
from scanprep.review.desk import Desk
from scanprep.review.messages import MOST_BYTES
from scanprep.review.opening import Opening
from scanprep.review.server import MOST_PAGES, ReviewServer

LOOPBACK = "127.0.0.1"
#: tolerance: How long one thread works before another gets its turn; Python's own is ten times as long.
_TURN_s = 0.0005


@dataclass(frozen=True, slots=True)
class Addresses:
    """Where the page is."""

    decides: str
    guest: str | None  # None: not shared


def bound_socket(share: bool, port: int) -> socket.socket:
    """Return a listening socket. Raises InputError where the port is taken."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(("0.0.0.0" if share else LOOPBACK, port))
    except OSError as problem:
        listener.close()
        raise InputError(field="--port", value=port, problem=f"cannot be listened on ({problem.strerror})",
                         remedy="Leave --port out, or give another") from problem
    return listener


def own_address() -> str:
    """Return the address under which others on the network reach this machine; loopback where there is no network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737); a datagram socket sends nothing here
        except OSError:
            return LOOPBACK
        return str(probe.getsockname()[0])


def door_of(share: bool, port: int, names: tuple[str, ...]) -> tuple[Door, Addresses]:
    """Return what requests must show, and the addresses to give to people.

    names  under which the machine is reached when it is shared
    """
    if not share:
        hosts = frozenset(f"{name}:{port}" for name in (LOOPBACK, "localhost"))
        return Door(hosts), Addresses(f"http://{LOOPBACK}:{port}/", None)
    tokens = new_tokens()
    hosts = frozenset(f"{name.lower()}:{port}" for name in (LOOPBACK, "localhost", *names))
    base = f"http://{names[0] if names else LOOPBACK}:{port}/"
    return Door(hosts, tokens), Addresses(f"{base}?token={tokens.decides}", f"{base}?token={tokens.guest}")


class Service:
    """A server over one desk, which may still be on its way, with its listening socket."""

    def __init__(self, opening: Opening, share: bool, port: int) -> None:
        """Listen. Raises InputError where the port is taken."""
        import uvicorn

        self._listener = bound_socket(share, port)
        bound = int(self._listener.getsockname()[1])
        door, self.addresses = door_of(share, bound, (own_address(), socket.gethostname()) if share else ())
        self._opening = opening
        self._review = ReviewServer(opening, door)
        self._server = uvicorn.Server(uvicorn.Config(
            self._review.app, log_level="warning", access_log=False, ws="websockets-sansio", http="h11",
            ws_max_size=MOST_BYTES, ws_per_message_deflate=False, limit_concurrency=4 * MOST_PAGES,
            timeout_graceful_shutdown=2, h11_max_incomplete_event_size=MOST_BYTES, lifespan="off",
            server_header=False, date_header=False))
        self._listener.listen(128)

    def run(self) -> None:
        """Serve until the process is interrupted or `stop` is called. Raises what kept the desk from being opened."""
        # a drag waits for its turn next to a panel that is worked out: half its waiting at this interval (docs/why)
        sys.setswitchinterval(_TURN_s)
        self._opening.desk.add_done_callback(self._opened)
        self._opening.begin()
        try:
            self._server.run(sockets=[self._listener])
        finally:
            self._review.close()
            self._listener.close()
        if self._opening.desk.done():
            self._opening.desk.result()

    def _opened(self, desk: Future[Desk]) -> None:
        if desk.exception() is not None:
            self.stop()

    def stop(self) -> None:
        """Let `run` end."""
        self._server.should_exit = True

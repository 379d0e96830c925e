"""A review server for tests: in this process over a small case, or the real command in a process of its own."""

import http.client
import json
import subprocess
import sys
import threading
from contextlib import contextmanager
from urllib.parse import urlsplit

from scanprep.review.opening import Opening
from scanprep.review.serve import Service

#: Against what never comes: on a machine that is busy with other things an answer may take many times as long.
GUARD_S = 120


@contextmanager
def serving(desk, share=False):
    """A running server over a desk, or over one that is being opened; yields its addresses."""
    service = Service(desk if isinstance(desk, Opening) else Opening.opened(desk), share, 0)
    thread = threading.Thread(target=service.run)
    thread.start()
    try:
        yield service.addresses
    finally:
        service.stop()
        thread.join(20)


def ask(address, path, method="GET", body=None, host=None, **headers):
    """One request as written, with any Host; returns status, headers, body."""
    at = urlsplit(address)
    connection = http.client.HTTPConnection("127.0.0.1", at.port, timeout=GUARD_S)
    connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
    connection.putheader("Host", at.netloc if host is None else host)
    for name, value in headers.items():
        connection.putheader(name.replace("_", "-"), value)
    if body is not None:
        connection.putheader("Content-Length", str(len(body)))
    connection.endheaders(body)
    answer = connection.getresponse()
    read = answer.read()
    connection.close()
    return answer.status, {name.lower(): value for name, value in answer.getheaders()}, read


def say(address, path, plain, **headers):
    """POST a JSON message as a page of that server does."""
    at = urlsplit(address)
    raw = plain if isinstance(plain, bytes) else json.dumps(plain).encode()
    headers = {"Origin": f"http://{at.netloc}", "Content_Type": "application/json", **headers}
    status, _, body = ask(address, path, "POST", raw, **headers)
    return status, json.loads(body)


def heard(socket, timeout=GUARD_S):
    """The next answer on a page's socket; what is said at any time is passed over."""
    while True:
        said = json.loads(socket.recv(timeout=timeout))
        if said["type"] not in ("changed", "work", "card", "opening"):
            return said


class Command:
    """`scanprep review DIR` in a process of its own."""

    def __init__(self, folder, port=0, *words):
        self.process = subprocess.Popen(
            [sys.executable, "-c", "from scanprep_cli.main import main; main()", "review", str(folder), "--no-browser",
             "--json", "--port", str(port), *words], stdout=subprocess.PIPE, text=True)
        told = ""
        for line in self.process.stdout:
            told += line
            if line.rstrip() == "}":
                break
        self.address = json.loads(told)["address"]
        self.port = urlsplit(self.address).port

    def kill(self):
        """End it at once, as a power cut does."""
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()

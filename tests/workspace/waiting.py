"""A call that works for a long time, and a parent with workers at it: for tests that end one or the other."""

import os
import signal
import sys
import time
from pathlib import Path


def wait(seconds: float, marks: str) -> float:
    """Leave a mark with this process's number, then work for some seconds."""
    (Path(marks) / str(os.getpid())).touch()
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        time.sleep(0.05)
    return seconds


if __name__ == "__main__":
    from scanprep.workspace.executor import make_pool, run_all

    # a shell that starts a job in the background has it ignore Ctrl-C, and children inherit that; a terminal does not
    signal.signal(signal.SIGINT, signal.default_int_handler)

    with make_pool(2) as pool:
        list(run_all(pool, wait, [(300.0, sys.argv[1])] * 4))

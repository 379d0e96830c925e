"""Calls for worker processes that are stopped by the system, importable by a spawned process."""

import os
import signal
import time
from pathlib import Path

from scanprep.workspace.executor import at_most


def double(number: int, dies: str, marks: str) -> int:
    """Return twice a number; die of a signal where `dies` says always, or the first time only; hangs: for minutes."""
    mark = Path(marks) / f"{number}"
    first = not mark.exists()
    mark.touch()
    if dies == "hangs":
        with at_most(1):
            time.sleep(600)
    if dies == "always" or (dies == "once" and first):
        os.kill(os.getpid(), signal.SIGKILL)
    return 2 * number


def crashes(*call: object) -> None:
    """End this process as a fault inside a library does."""
    os.kill(os.getpid(), signal.SIGSEGV)

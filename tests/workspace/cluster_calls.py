"""Calls for the workers of a test's cluster: one that answers, one that kills its first worker, one that kills all."""

import os
from pathlib import Path


def answer(number: int) -> int:
    """Return twice a number."""
    return 2 * number


def die_once(mark: str) -> str:
    """Kill the worker unless another one died here before."""
    if not Path(mark).exists():
        Path(mark).touch()
        os._exit(1)
    return "done at the second try"


def die(_: str) -> str:
    """Kill the worker."""
    os._exit(1)


def work(kind: str, value: str) -> str:
    """Do one of them."""
    return {"answer": lambda text: str(answer(int(text))), "die once": die_once, "die": die}[kind](value)

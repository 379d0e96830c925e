"""Runs trials in a child process, so that a crash or a hang is counted and the campaign goes on behind it."""

from __future__ import annotations

import atexit
import os
import random
import resource
import select
import signal
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from scanprep.errors import ScanprepError

#: A trial: gets its own chance and an empty-to-begin-with folder of the campaign, and says how it went in a word.
Trial = Callable[[random.Random, Path], str]
#: Makes what all trials share, once in each child process, in a folder of its own.
Prepare = Callable[[Path], Trial]

SLOW_S = 20.0  # of CPU, since the machine may be busy; a trial takes milliseconds
STUCK_S = 900.0  # without a word: waits for ever, or a library never comes back
MOST_BYTES = 6 << 30  # address space of the child: open3d maps about 2 GB before it does anything
LEAST_WORDS = 15  # letters of a sentence that says something


class HangError(Exception):
    """A trial took too long."""


class WrongError(Exception):
    """A trial gave a wrong answer without a word."""


@dataclass(frozen=True, slots=True)
class Failure:
    """One trial that failed."""

    seed: int
    index: int
    what: str


@dataclass(frozen=True, slots=True)
class Tally:
    """How a campaign went."""

    name: str
    seed: int  # of the first trial
    tried: int
    went: dict[str, int]  # how many trials went how
    failures: tuple[Failure, ...]
    seconds: float
    grown_MB: float  # most memory of the child: from its first tenth to its end


def chance(name: str, seed: int, index: int) -> random.Random:
    """Return the chance of one trial, the same for the same trial."""
    return random.Random(f"{name} {seed} {index}")


def one(trial: Trial, dice: random.Random, folder: Path) -> str:
    """Return how a trial went. Raises what it should not have raised."""
    try:
        return trial(dice, folder)
    except ScanprepError as refusal:
        lines = str(refusal).splitlines()
        if not lines or any(len(line) < LEAST_WORDS for line in lines):
            raise WrongError(f"refused without a sentence: {refusal}") from refusal
        return "refused"


def run(name: str, prepare: Prepare, todo: Sequence[tuple[int, int]]) -> Tally:
    """Run trials, each given by its seed and index, in a child that is made anew where one dies."""
    began, went, failures, grown = time.monotonic(), Counter[str](), [], 0.0
    at = 0
    while at < len(todo):
        reader, writer = os.pipe()
        pid = os.fork()
        if pid == 0:
            os.close(reader)
            _child(name, prepare, todo[at:], writer)
        os.close(writer)
        at, memory = _watch(reader, pid, todo, at, went, failures)
        os.close(reader)
        grown = max(grown, memory)
    return Tally(name, todo[0][0], len(todo), dict(went), tuple(failures), time.monotonic() - began, grown)


def _child(name: str, prepare: Prepare, todo: Sequence[tuple[int, int]], writer: int) -> None:
    def hang(*_: object) -> None:
        raise HangError(f"took longer than {SLOW_S:.0f} s")

    code = 1
    try:
        signal.signal(signal.SIGPROF, hang)
        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
        warnings.simplefilter("ignore")
        base = Path("/dev/shm") if Path("/dev/shm").is_dir() else None
        with tempfile.TemporaryDirectory(dir=base, prefix="campaign-") as place:
            folder = Path(place)
            trial = prepare(folder)
            early = 0
            for done, (seed, index) in enumerate(todo):
                signal.setitimer(signal.ITIMER_PROF, SLOW_S)
                try:
                    said = one(trial, chance(name, seed, index), folder)
                except BaseException as fault:  # noqa: BLE001 - this is what is looked for
                    where = traceback.extract_tb(fault.__traceback__)[-1]
                    what = f"{type(fault).__name__}: {' '.join(str(fault).split())[:160]} ({where.name}:{where.lineno})"
                    said = f"!{what}"
                signal.setitimer(signal.ITIMER_PROF, 0)
                os.write(writer, f"{said}\n".encode(errors="replace"))
                if done == len(todo) // 10:
                    early = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
            late = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        os.write(writer, f"={(late - early) / 1024:.1f}\n".encode())
        code = 0
        atexit._run_exitfuncs()
    except BaseException:  # noqa: BLE001 - a campaign that cannot begin says why
        traceback.print_exc()
    finally:
        os._exit(code)


def _watch(reader: int, pid: int, todo: Sequence[tuple[int, int]], at: int, went: Counter[str],
           failures: list[Failure]) -> tuple[int, float]:
    """Count what a child reports; return where the next one goes on, and by how many MB this one grew."""
    rest, first, grown = b"", at, 0.0
    while True:
        ready, _, _ = select.select([reader], [], [], STUCK_S)
        data = os.read(reader, 1 << 16) if ready else b""
        if not data:
            break
        *lines, rest = (rest + data).split(b"\n")
        for line in lines:
            text = line.decode(errors="replace")
            if text.startswith("="):
                grown = float(text[1:])
                continue
            went["failed" if text.startswith("!") else text] += 1
            if text.startswith("!"):
                failures.append(Failure(*todo[at], text[1:]))
            at += 1
    if not ready:
        os.kill(pid, signal.SIGKILL)
    _, status = os.waitpid(pid, 0)
    if os.WIFEXITED(status) and os.WEXITSTATUS(status) == 0:
        return at, grown
    if os.WIFEXITED(status) and at == first:
        raise SystemExit("the campaign could not begin")
    how = "hung" if not ready else f"ended by signal {os.WTERMSIG(status)}" if os.WIFSIGNALED(status) else "ended"
    failures.append(Failure(*todo[at], f"the process {how}"))
    went["failed"] += 1
    return at + 1, grown

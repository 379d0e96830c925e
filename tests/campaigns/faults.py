"""Faults while a case is worked on: kills, full disks, clocks set back, crowds of writers, a long day.

After each the case has to open, hold everything that was confirmed, no half of a decision, and take the next one.
A kill ends the process, not the machine: that a commit outlives a power cut is SQLite's and the drive's to keep.
"""

from __future__ import annotations

import contextlib
import errno
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from scanprep.case.record.decide import note_condition
from scanprep.case.record.entry import Entry
from scanprep.case.record.history import history
from scanprep.case.record.mount_status import life_findings
from scanprep.errors import InputError, RecordError, ScanprepError
from scanprep.files import atomic_write, ledger
from scanprep.files.ledger import Ledger
from scanprep.workspace.folder import RECORD, CaseFolder, open_case
from tests.campaigns.decisions import chosen, shared_life
from tests.campaigns.trials import Trial, WrongError
from tests.review.cases import small_case


def _end() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


class _Countdown:
    """Calls something at the nth step of writing: a statement that writes, the flush, the rename, the end of a file."""

    def __init__(self, steps: int, then: Callable[[], None]) -> None:
        self.left, self.then = steps, then

    def step(self, *_: object) -> None:
        self.left -= 1
        if self.left == 0:
            self.then()


@contextlib.contextmanager
def _patched(*changes: tuple[Any, str, Any]) -> Iterator[None]:
    before = [(owner, name, getattr(owner, name)) for owner, name, _ in changes]
    try:
        for owner, name, value in changes:
            setattr(owner, name, value)
        yield
    finally:
        for owner, name, value in before:
            setattr(owner, name, value)


def _files_stepped(count: _Countdown) -> tuple[tuple[Any, str, Any], ...]:
    """Patches that count what `write_atomically` does to the disk: before each, and once after the rename."""
    fsync, mkstemp, replace = os.fsync, tempfile.mkstemp, Path.replace

    def renamed(path: Path, target: Path) -> Path:
        count.step()
        done = replace(path, target)
        count.step()
        return done

    return ((atomic_write.os, "fsync", lambda handle: (count.step(), fsync(handle))[1]),
            (atomic_write.tempfile, "mkstemp", lambda **how: (count.step(), mkstemp(**how))[1]),
            (Path, "replace", renamed))


def _whole(root: Path, before: tuple[Entry, ...], said: int, confirmed: bool) -> CaseFolder:
    """Return the case after a fault. Raises WrongError where something is lost, halved, or does not go on."""
    after = open_case(root)
    new = len(after.entries) - len(before)
    if after.entries[:len(before)] != before:
        raise WrongError("entries from before have changed")
    if new not in (0, said) or (confirmed and new != said):
        raise WrongError(f"{new} of {said} entries are there; confirmed: {confirmed}")
    with Ledger(root / RECORD, look=True) as record:
        if record.verify():
            raise WrongError(f"the record is not sound: {record.verify()}")
    strays = [p.name for p in root.rglob(".*") if p.is_file() and p.stat().st_size and p.parent.name != "exports"
              and not p.name.startswith((".record", ".case", "."))]
    if strays:
        raise WrongError(f"left lying about: {strays}")
    after.say(note_condition(after.state, "FB-003", "the next decision"), "reader")
    return after


def kills(folder: Path) -> Trial:
    """SIGKILL after the write began, of every kind of decision, page included."""
    life = shared_life()

    def trial(dice: random.Random, folder: Path) -> str:
        name = chosen(life, dice)
        root = life.copy(name, folder / "trial")
        before = open_case(root).entries
        reader, writer = os.pipe()
        pid = os.fork()
        if pid == 0:
            try:
                with _patched(*_killing(dice, writer)):
                    life.take(name, root)
                os.write(writer, b"confirmed")
            finally:
                os._exit(0)
        os.close(writer)
        with os.fdopen(reader, "rb") as pipe:
            told = pipe.read()
        _, status = os.waitpid(pid, 0)
        _whole(root, before, life.adds[name], b"confirmed" in told)
        if not os.WIFSIGNALED(status):
            return "ended before the kill"
        return "killed while writing" if b"w" in told.replace(b"confirmed", b"") else "killed before"

    return trial


def _killing(dice: random.Random, writer: int) -> tuple[tuple[Any, str, Any], ...]:
    """Patches that kill: at a statement, within the commit by the clock, or at a step of writing a file."""
    begin = Ledger._begin

    def began(self: Ledger, then: Callable[[Ledger], None]) -> None:
        begin(self)
        os.write(writer, b"w")
        then(self)

    how = dice.randrange(3)
    if how == 0:
        count = _Countdown(dice.randrange(1, 5), _end)
        return ((Ledger, "_begin", lambda self: began(self, lambda s: s._db.set_trace_callback(count.step))),)
    if how == 1:
        wait_s = dice.uniform(0.00005, 0.004)

        def arm(_: Ledger) -> None:
            signal.signal(signal.SIGALRM, signal.SIG_DFL)  # its own action: the process ends at once
            signal.setitimer(signal.ITIMER_REAL, wait_s)

        return ((Ledger, "_begin", lambda self: began(self, arm)),)
    count = _Countdown(dice.randrange(1, 6), lambda: (os.write(writer, b"w"), _end()))  # type: ignore[arg-type]
    return _files_stepped(count)


def disk(folder: Path) -> Trial:
    """No space left: at the nth step of writing files, in the middle of SQLite, or on a small disk that is full."""
    life = shared_life()
    small = folder / "small"
    small.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1500k", "tmpfs", str(small)], check=False,
                             stderr=subprocess.DEVNULL).returncode == 0
    if mounted:  # the mount goes with the child's folder: unmounted lazily now, it lives as long as we hold it
        os.chdir(small)
        subprocess.run(["umount", "-l", str(small)], check=False)
        small = Path(f"/proc/{os.getpid()}/cwd")

    def full() -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    def trial(dice: random.Random, folder: Path) -> str:
        name = chosen(life, dice)
        how = dice.randrange(3 if mounted else 2)
        root = life.copy(name, (small if how == 2 else folder) / "trial")
        before = open_case(root).entries
        changes: tuple[tuple[Any, str, Any], ...] = ()
        if how == 0:
            changes = _files_stepped(_Countdown(dice.randrange(1, 6), full))
        elif how == 1:
            begin, pages = Ledger._begin, dice.randrange(2)
            with contextlib.closing(sqlite3.connect(root / RECORD)) as db:
                db.execute("VACUUM")  # no room left in pages that there are already

            def begun(self: Ledger) -> None:
                count = self._db.execute("PRAGMA page_count").fetchone()[0]
                self._db.execute(f"PRAGMA max_page_count = {count + pages}")
                begin(self)

            changes = ((Ledger, "_begin", begun),)
        else:
            free = dice.randrange(0, 40) * 1024
            room = os.statvfs(root).f_bavail * os.statvfs(root).f_bsize
            with (root / "ballast").open("wb", buffering=0) as ballast, contextlib.suppress(OSError):
                ballast.write(bytes(max(0, room - free)))
        confirmed, went = False, "refused"
        try:
            with _patched(*changes):
                life.take(name, root)
            confirmed, went = True, "written"
        except ScanprepError as problem:
            if "no space" not in str(problem).lower() and "full" not in str(problem) and "disk" not in str(problem):
                raise WrongError(f"does not say that the disk is full: {problem}") from problem
        (root / "ballast").unlink(missing_ok=True)
        if not confirmed and len(open_case(root).entries) != len(before):
            raise WrongError("refused in a sentence, and on record all the same")
        _whole(root, before, life.adds[name], confirmed)
        shutil.rmtree(root)
        return went

    return trial


def clock(folder: Path) -> Trial:
    """Decisions under a clock that jumps by years, back and forth."""
    life = shared_life()

    def trial(dice: random.Random, folder: Path) -> str:
        root = life.copy(chosen(life, dice), folder / "trial")
        known = open_case(root).entries
        for _ in range(3):
            now = datetime(2026, 6, 1, tzinfo=UTC) + timedelta(days=dice.uniform(-20_000, 20_000))

            class Clock(datetime):
                @classmethod
                def now(cls, tz: Any = None) -> datetime:
                    return now  # noqa: B023

            with _patched((ledger, "datetime", Clock)):
                folder_now = open_case(root)
                folder_now.say(note_condition(folder_now.state, "FB-001", f"at {now}"), "Ada")
        after = open_case(root)
        if after.entries[:len(known)] != known or len(after.entries) != len(known) + 3:
            raise WrongError("an entry was lost under a clock that was set back")
        for number in (None, *after.state.objects):
            lines = history(after.entries, number)
            if [line.seq for line in lines] != sorted(line.seq for line in lines):
                raise WrongError("the logbook is out of order")
        someday = (now + timedelta(days=dice.uniform(-9000, 9000))).date()
        life_findings(after.state, after.rules.case, after.rules.fit, someday)
        return "told in order"

    return trial


def writers(folder: Path) -> Trial:
    """Two to eight processes that say eight things each, about objects of their own and about shared ones."""
    life = shared_life()

    def write(root: Path, name: str, dice: random.Random, pipe: int) -> None:
        for k in range(8):
            number = dice.choice(("FB-001", "FB-002", "FB-003", "FB-004"))
            until = time.monotonic() + 900
            while time.monotonic() < until:
                case = open_case(root)
                try:
                    case.say(note_condition(case.state, number, f"{name} {k}"), name)
                except RecordError:  # somebody was faster: looked at, said again
                    continue
                os.write(pipe, f"{name} {k}\n".encode())
                break

    def trial(dice: random.Random, folder: Path) -> str:
        root = life.copy("condition", folder / "trial")
        known = open_case(root).entries
        reader, pipe = os.pipe()
        names = [f"writer-{k}" for k in range(dice.randrange(2, 9))]
        children = []
        for name in names:
            pid = os.fork()
            if pid == 0:
                try:
                        write(root, name, random.Random(f"{name} {dice.random()}"), pipe)
                except BaseException as fault:  # noqa: BLE001 - what a writer met is told by the trial
                    os.write(pipe, f"!{type(fault).__name__}: {fault}\n".encode())
                finally:
                    os._exit(0)
            children.append(pid)
        os.close(pipe)
        with os.fdopen(reader, "rb") as told:
            confirmed = told.read().decode().split("\n")[:-1]
        for pid in children:
            os.waitpid(pid, 0)
        if met := [line for line in confirmed if line.startswith("!")]:
            raise WrongError(met[0])
        after = open_case(root).entries
        said = [entry.payload["text"] for entry in after[len(known):]]
        if after[:len(known)] != known or sorted(said) != sorted(confirmed):
            raise WrongError(f"confirmed {len(confirmed)}, on record {len(said)}")
        for name in names:
            own = [text for text in said if text.startswith(f"{name} ")]
            if own != [f"{name} {k}" for k in range(8)]:
                raise WrongError(f"{name} finds {own}")
        return f"{len(names)} writers"

    return trial


def long(folder: Path) -> Trial:
    """One program that goes on deciding: nothing may pile up in memory or in open files (`grown_MB`)."""
    life = shared_life()
    opened: list[int] = []
    grown = 0

    def trial(dice: random.Random, folder: Path) -> str:
        nonlocal grown
        name = chosen(life, dice)
        root = life.copy(name, folder / "trial")
        with contextlib.suppress(InputError):
            life.take(name, root)
        opened.append(len(list(Path("/proc/self/fd").iterdir())))
        if opened[-1] > opened[0] + 3:
            raise WrongError(f"{opened[-1] - opened[0]} more open files than at the beginning")
        return "decided"

    return trial


def locale(folder: Path) -> Trial:
    """Thirty commands under locales that know no accents, on a case full of them."""
    case = small_case(folder / "cas-é", 3, "Étude — обход, 釉").root
    toml = (case / "case.toml").read_text(encoding="utf-8").replace('"South"', '"Süd"')
    (case / "case.toml").write_text(toml, encoding="utf-8")
    (case / "list.csv").write_text("number,title\nFB-001,Крушка é 釉\nFB-002,\nFB-003,\n", encoding="utf-8")
    plain = {key: value for key, value in os.environ.items() if key != "SCANPREP_CACHE"}

    def trial(dice: random.Random, folder: Path) -> str:
        name = dice.choice(("POSIX", "POSIX without UTF-8", "C, Latin-1 streams"))
        told = {"POSIX": {}, "POSIX without UTF-8": {"PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
                "C, Latin-1 streams": {"PYTHONIOENCODING": "latin-1:strict"}}[name]
        root = shutil.copytree(case, folder / "essai", dirs_exist_ok=True)
        done = subprocess.run([sys.executable, "-m", "tests.campaigns.locale_commands", str(root)], text=True,
                              env={**plain, "LC_ALL": name.split(",")[0].split()[0], **told}, capture_output=True,
                              check=False, encoding="utf-8", errors="replace")
        shutil.rmtree(root)
        if done.returncode:
            raise WrongError(done.stderr[-400:])
        return name

    return trial


CAMPAIGNS = {"kills": kills, "disk": disk, "clock": clock, "writers": writers, "long": long, "locale": locale}

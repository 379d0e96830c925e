"""The record of decisions on disk: one SQLite file, append-only, safe against a kill at any instant.

Every entry is committed and flushed to disk before `append` returns. Entries are numbered without gaps and each carries
the hash of the one before, so a changed, missing or invented line shows itself. Triggers refuse changes and deletions.
Two people at once: `append` takes the number of the last entry its writer had seen; when others have written since, it
refuses and tells what they wrote. Stands on the standard library alone. Used by `workspace` and the record commands.
"""

from __future__ import annotations

import hashlib
import json
import os
import random
import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType

from scanprep.case.record.entry import Entry, NewEntry
from scanprep.errors import InputError, RecordError, UnreadableRecordError
from scanprep.files.network_disk import on_network_disk

FORMAT = 1  # format: version of the record's file
FIRST_HASH = "0" * 64  # format: what the first entry is chained to
_FIELDS = ("seq", "time", "person", "session", "kind", "object", "payload", "reason", "previous_hash", "hash")

_TABLE = f"""
CREATE TABLE entries (
    seq INTEGER PRIMARY KEY,
    time TEXT NOT NULL,
    person TEXT NOT NULL,
    session INTEGER,
    kind TEXT NOT NULL,
    object TEXT,
    payload TEXT NOT NULL,
    reason TEXT NOT NULL,
    previous_hash TEXT NOT NULL UNIQUE,
    hash TEXT NOT NULL UNIQUE
);
CREATE INDEX entries_of_object ON entries (object, seq);
CREATE TRIGGER entries_never_change BEFORE UPDATE ON entries
    BEGIN SELECT RAISE(ABORT, 'the record is never changed'); END;
CREATE TRIGGER entries_never_go BEFORE DELETE ON entries
    BEGIN SELECT RAISE(ABORT, 'nothing is ever deleted from the record'); END;
PRAGMA user_version = {FORMAT};
"""


class ChangedUnderneathError(RecordError):
    """Others wrote since the writer last looked; `entries` says what."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        self.entries = tuple(entries)
        told = "; ".join(
            f"{e.seq}: {e.person} {e.kind}{f' {e.object}' if e.object else ''}" for e in self.entries[:5]
        )
        more = f" and {len(self.entries) - 5} more" if len(self.entries) > 5 else ""
        super().__init__(f"the record has changed underneath ({told}{more}). Look at the changes, then say it again")


def payload_text(payload: object) -> str:
    """Return a payload as canonical JSON: sorted keys, no spaces, no NaN. Raises ValueError on what JSON has no word
    for."""
    return json.dumps(payload, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def entry_hash(seq: int, time: str, person: str, session: int | None, kind: str, object_: str | None, payload: str,
               reason: str, previous_hash: str) -> str:
    """Return the SHA-256 of an entry's canonical JSON list, in hexadecimal."""
    text = payload_text([seq, time, person, session, kind, object_, payload, reason, previous_hash])
    return hashlib.sha256(text.encode()).hexdigest()


def entry_of(row: Sequence[object]) -> Entry:
    """Return a row of the table as an entry."""
    values = dict(zip(_FIELDS, row, strict=True))
    values["payload"] = json.loads(str(values["payload"]))
    return Entry(**values)  # type: ignore[arg-type]  # columns are typed by the table


def _chained(path: Path, rows: Iterable[Sequence[object]]) -> Iterator[Entry]:
    """Yield entries whose chain is sound. Raises UnreadableRecordError at the first that is not."""
    previous = FIRST_HASH
    for seq, row in enumerate(rows, start=1):
        fault = row_fault(row, seq, previous)
        if fault:
            raise UnreadableRecordError(f"{path}: {fault}. Bring back a copy, or save what is sound with `scanprep "
                                        "record DIR repair`")
        previous = str(row[9])
        yield entry_of(row)


def row_fault(row: Sequence[object], seq: int, previous_hash: str) -> str | None:
    """Return what is wrong with a row of the table where entry `seq` should stand, or None."""
    if row[0] != seq:
        return f"entry {seq} is missing (the next one is {row[0]})"
    if row[8] != previous_hash:
        return f"entry {seq} does not follow the one before it"
    if entry_hash(*row[:9]) != row[9]:  # type: ignore[arg-type]  # same columns, same order
        return f"entry {seq} was changed after it was written"
    return None


def rows_of(path: Path) -> Iterator[Sequence[object]]:
    """Yield the rows of a record, unchecked, as far as its file can be read. Raises RecordError where it cannot."""
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as db:
            yield from db.execute(f"SELECT {', '.join(_FIELDS)} FROM entries ORDER BY seq")
    except sqlite3.DatabaseError as problem:
        raise RecordError(str(problem)) from problem


class Ledger:
    """An open ledger. Use as a context manager, or call `close`.

    path     the file; made when `create` is set
    create   False: a missing file is an InputError
    look     only to be read: nothing is made or changed, so that a case on a read-only disk can be opened
    wait_s   how long to wait for another writer before giving up
    """

    def __init__(self, path: Path, *, create: bool = False, look: bool = False,
                 wait_s: float = 30.0) -> None:
        self.path = Path(path)
        if not create and not self.path.exists():
            raise InputError(file=self.path, problem="there is no record here",
                             remedy="Start a case with `scanprep new`, or name the case's folder")
        try:
            self._wait_s = wait_s
            if look:
                self._db = self._to_look_at()
                self._check_format()
                return
            self._db = sqlite3.connect(self.path, timeout=wait_s, isolation_level=None)
            self._prepare()
        except sqlite3.DatabaseError as problem:
            raise self._unusable(problem) from problem

    def _to_look_at(self) -> sqlite3.Connection:
        """Open the file without writing next to it where that is not allowed.

        `immutable` skips locks and the write-ahead log; it is taken only where nobody can write anyway.
        """
        uri = self.path.resolve().as_uri()
        if os.access(self.path.parent, os.W_OK):
            return sqlite3.connect(f"{uri}?mode=ro", uri=True, timeout=self._wait_s, isolation_level=None)
        return sqlite3.connect(f"{uri}?mode=ro&immutable=1", uri=True, isolation_level=None)

    def _unusable(self, problem: sqlite3.DatabaseError) -> InputError:
        """Return what is told of a record whose folder may not be written to, or whose file is none or is damaged."""
        if any(word in str(problem) for word in ("readonly", "unable to open", "disk I/O", "is full")):
            return InputError(file=self.path, problem=f"cannot be written to ({problem}); it may well be sound",
                              remedy="Copy the case to a folder that you may write to, or free some space")
        return InputError(file=self.path, problem=f"cannot be read as a record ({problem})",
                          remedy="Take the last copy, or import a JSON-lines export into a new case")

    def _prepare(self) -> None:
        # a file system that cannot do a write-ahead log stays with another mode, as safe; a network one may say that
        # it can and lose entries of two machines, which share no memory: https://www.sqlite.org/wal.html, chapter 1
        mode = "DELETE" if on_network_disk(self.path) else "WAL"
        with suppress(sqlite3.OperationalError):  # another program has it open in the other mode: it stays so
            self._db.execute(f"PRAGMA journal_mode = {mode}")
        self._db.execute("PRAGMA synchronous = FULL")  # every commit reaches the disk before we say yes
        if self._format() == 0:
            with self._writing():
                if self._format() == 0:  # another process may have made it while we waited
                    for statement in _TABLE.replace("; END", "\x00 END").split(";\n"):
                        if statement.strip():
                            self._db.execute(statement.replace("\x00", ";"))
        self._check_format()

    def _check_format(self) -> None:
        if self._format() != FORMAT:
            raise InputError(file=self.path, problem=f"is a record of format {self._format()}; we read {FORMAT}",
                             remedy="Use the version of scanprep that wrote it, and export JSON lines from there")

    def _format(self) -> int:
        return int(self._db.execute("PRAGMA user_version").fetchone()[0])

    def __enter__(self) -> Ledger:
        return self

    def __exit__(self, kind: type[BaseException] | None, problem: BaseException | None,
                 trace: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Fold the write-ahead log into the one file and let go of it."""
        self._db.close()

    @contextmanager
    def _writing(self) -> Iterator[None]:
        try:
            self._begin()
            try:
                yield
                self._db.execute("COMMIT")
            except BaseException:
                with suppress(sqlite3.DatabaseError):  # a full disk may have ended the transaction already
                    self._db.execute("ROLLBACK")
                raise
        except sqlite3.DatabaseError as problem:
            raise self._unusable(problem) from problem

    def _begin(self) -> None:
        """Wait for our turn in short random steps: the library's own waits grow to a tenth of a second."""
        until = time.monotonic() + self._wait_s
        self._db.execute("PRAGMA busy_timeout = 0")
        while True:
            try:
                self._db.execute("BEGIN IMMEDIATE")
                break
            except sqlite3.OperationalError as problem:
                if "locked" not in str(problem):
                    raise
                if time.monotonic() > until:
                    raise RecordError(f"{self.path}: somebody else has been writing for {self._wait_s:.0f} s. Close "
                                      "the other program, then say it again") from problem
                time.sleep(random.uniform(0.0002, 0.002))
        self._db.execute(f"PRAGMA busy_timeout = {int(1000 * self._wait_s)}")

    def last_seq(self) -> int:
        """Return the number of the last entry; 0 when there is none."""
        return int(self._db.execute("SELECT COALESCE(MAX(seq), 0) FROM entries").fetchone()[0])

    def entries(self, after: int = 0, object: str | None = None) -> tuple[Entry, ...]:
        """Return the entries numbered above `after`, in order; those of one object when it is named."""
        query = f"SELECT {', '.join(_FIELDS)} FROM entries WHERE seq > ?"
        try:
            if object is None:
                rows = self._db.execute(f"{query} ORDER BY seq", (after,))
            else:
                rows = self._db.execute(f"{query} AND object = ? ORDER BY seq", (after, object))
            return tuple(_chained(self.path, rows)) if object is None and after == 0 else tuple(map(entry_of, rows))
        except (sqlite3.DatabaseError, ValueError) as problem:  # ValueError: a payload that is no JSON any more
            raise self._unusable(sqlite3.DatabaseError(str(problem))) from problem

    def append(self, new: Sequence[NewEntry], *, person: str, session: int | None = None,
               expected_seq: int | None = None, when: str | None = None) -> tuple[Entry, ...]:
        """Write some decisions, all or none, and return them as recorded.

        person        who decided; never empty
        expected_seq  the last entry the writer had seen; None: whatever stands there
        when          ISO 8601; None: now, UTC

        Raises ChangedUnderneathError with the entries written since, and RecordError without a person.
        """
        if not person.strip():
            raise RecordError("a decision needs the name of who made it. Say --person NAME")
        moment = when or datetime.now(UTC).isoformat(timespec="milliseconds")
        with self._writing():
            last, previous = self._end()
            if expected_seq is not None and last != expected_seq:
                raise ChangedUnderneathError(self.entries(after=expected_seq))
            rows = []
            for seq, entry in enumerate(new, start=last + 1):
                fields = (seq, moment, person, session, entry.kind, entry.object, payload_text(entry.payload),
                          entry.reason, previous)
                try:
                    previous = entry_hash(*fields)
                except UnicodeEncodeError as problem:
                    raise RecordError("a text holds a letter that came broken from another encoding, and no file can "
                                      "keep it. Type it again") from problem
                rows.append((*fields, previous))
            self._insert(rows)
        return tuple(entry_of(row) for row in rows)

    def _end(self) -> tuple[int, str]:
        row = self._db.execute("SELECT seq, hash FROM entries ORDER BY seq DESC LIMIT 1").fetchone()
        return (0, FIRST_HASH) if row is None else (int(row[0]), str(row[1]))

    def _insert(self, rows: Iterable[Sequence[object]]) -> None:
        marks = ", ".join("?" * len(_FIELDS))
        self._db.executemany(f"INSERT INTO entries ({', '.join(_FIELDS)}) VALUES ({marks})", rows)

    def verify(self) -> tuple[str, ...]:
        """Return every fault of the file and of the chain of hashes, as sentences; empty when all is well."""
        told = [str(row[0]) for row in self._db.execute("PRAGMA integrity_check")]
        faults = [f"the file is damaged: {line}" for line in told if line != "ok"]
        seq, previous = 0, FIRST_HASH
        for row in self._db.execute(f"SELECT {', '.join(_FIELDS)} FROM entries ORDER BY seq"):
            fault = row_fault(row, seq + 1, previous)
            if fault:
                faults.append(fault)
            seq, previous = int(row[0]), str(row[9])
        return tuple(faults)

    def export_lines(self) -> Iterator[str]:
        """Yield each entry as one line of JSON, hashes included."""
        for row in self._db.execute(f"SELECT {', '.join(_FIELDS)} FROM entries ORDER BY seq"):
            line = dict(zip(_FIELDS, row, strict=True))
            line["payload"] = json.loads(line["payload"])
            yield payload_text(line)

    def insert_rows(self, rows: Sequence[Sequence[object]]) -> None:
        """Put whole rows of another record, already chained, into this empty one."""
        with self._writing():
            if self._end()[0]:
                raise RecordError(f"{self.path}: holds entries already")
            self._insert(rows)

    def import_lines(self, lines: Iterable[str], source: str = "import",
                     check: Callable[[Sequence[Entry]], object] = len) -> int:
        """Take exported lines into an empty ledger, or the tail that this one lacks. Returns how many were new.

        check  called with all entries as they would then stand; what it raises keeps everything as it was

        Raises InputError when a line is broken, when its hash does not fit, or when the two records part ways.
        """
        with self._writing():
            last, previous = self._end()
            have = dict(self._db.execute("SELECT seq, hash FROM entries"))
            rows: list[tuple[object, ...]] = []
            for number, line in enumerate((text for text in lines if text.strip()), start=1):
                row = parsed_line(line, number, source)
                if int(str(row[0])) <= last:
                    if have.get(row[0]) != row[9]:
                        raise _bad_line(source, number, f"entry {row[0]} differs from the one on record")
                    continue
                fault = row_fault(row, last + len(rows) + 1, previous)
                if fault:
                    raise _bad_line(source, number, fault)
                previous = str(row[9])
                rows.append(row)
            if rows:
                check((*self.entries(), *(entry_of(row) for row in rows)))
            self._insert(rows)
        return len(rows)


def parsed_line(line: str, number: int, source: str) -> tuple[object, ...]:
    """Return a line of an export as a row of the table, every column of its own type. Raises InputError."""
    try:
        values = json.loads(line)
        payload = values["payload"]
        values["payload"] = payload_text(payload)
        row = tuple(values[name] for name in _FIELDS)
        payload_text(row).encode()  # half a letter, as JSON can write it, has no place in a file
    except (ValueError, KeyError, TypeError, RecursionError) as problem:
        raise _bad_line(source, number, f"is not an entry of a record ({problem})") from problem
    seq, when, person, session, kind, object_, _, reason, previous, own = row
    if not _whole(seq, 1):
        raise _bad_line(source, number, "has no entry number")
    texts = (when, person, kind, reason, previous, own)
    if not (all(isinstance(text, str) for text in texts) and isinstance(payload, dict)
            and isinstance(object_, str | None) and (session is None or _whole(session, 0))):
        raise _bad_line(source, number, "has a field of another type than an entry's")
    try:
        datetime.fromisoformat(str(when))
    except ValueError:
        raise _bad_line(source, number, f"has no time that can be read ({when!r})") from None
    return row


def _whole(value: object, least: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and least <= value < 2**53


def _bad_line(source: str, number: int, problem: str) -> InputError:
    return InputError(file=source, field=f"line {number}", problem=problem,
                      remedy="Nothing was taken. Export again from the record it came from")

"""Whether a record is the one its case had, whole: identity, end and chain, looked at whenever a case is opened.

The hash of a record's first entry is its identity, number and hash of its last one its end. Both are noted in a small
file next to it after every write, so that a record that was cut off, emptied or taken from another case shows itself
before anything is printed from it. Used by `workspace`.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from scanprep.case.record.entry import Entry
from scanprep.errors import InputError, RecordError, ScanprepError, UnreadableRecordError
from scanprep.files.atomic_write import write_atomically
from scanprep.files.ledger import FIRST_HASH, Ledger, parsed_line, row_fault, rows_of

HEAD = "record.head"
#: What a case folder holds only once something has been decided in it.
_SIGNS = ("out", "papers", "checklists", "exports")


@dataclass(frozen=True, slots=True)
class Head:
    """Where a record ended when this folder last saw it."""

    first: str  # hash of the first entry: the record's identity
    seq: int
    hash: str  # of the last entry


def read_head(root: Path) -> Head | None:
    """Return what was noted of the record's end; None where nothing was, or nothing that can be read."""
    try:
        kept = json.loads((root / HEAD).read_text(encoding="utf-8"))
        return Head(str(kept["first"]), int(kept["seq"]), str(kept["hash"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def note_head(root: Path, entries: Sequence[Entry]) -> None:
    """Note where the record ends now. A folder that cannot be written to is left as it is."""
    if not entries:
        return
    now = Head(entries[0].hash, entries[-1].seq, entries[-1].hash)
    noted = read_head(root)
    if noted is None or noted.first != now.first or noted.seq < now.seq:  # another program may have noted a later end
        try:
            write_atomically(root / HEAD, json.dumps(asdict(now)).encode())
        except InputError:
            return  # the record itself says how far it goes; the note is made at the next chance


def check_whole(root: Path, head: Head | None, entries: Sequence[Entry]) -> None:
    """Refuse a record that is not the one this case had, or not all of it.

    head  read before the entries were: others may have written since

    Raises UnreadableRecordError with what is wrong and how to go on.
    """
    wrong = _what_is_wrong(root, head, entries)
    if wrong:
        raise UnreadableRecordError(f"{root}: {wrong}. Bring back the last copy of record.sqlite, or build it from the "
                                    "newest file of exports/ with `scanprep record DIR repair`; where the record is "
                                    f"meant to be as it is, delete {HEAD}")


def _what_is_wrong(root: Path, head: Head | None, entries: Sequence[Entry]) -> str:
    if not entries:
        signs = [name for name in _SIGNS if (root / name).is_dir() and any((root / name).iterdir())]
        if head is None and not signs:
            return ""
        why = f"had {head.seq} entries when it was last open here" if head else f"has {', '.join(signs)} already"
        return f"its record is missing or empty, but this case {why}; hole numbers would start again at H1"
    if head is None:
        return ""
    if entries[0].hash != head.first:
        return "its record is another case's: it begins with another entry than the one that was here"
    if entries[-1].seq < head.seq:
        gone = head.seq - entries[-1].seq
        return f"the last {gone} of {head.seq} entries of its record are gone (cut off, or an older copy)"
    if entries[head.seq - 1].hash != head.hash:
        return (f"entry {head.seq} of its record is not the one that was here: two copies went different ways; the "
                "other's export can be joined with `scanprep record DIR merge`")
    return ""


@dataclass(frozen=True, slots=True)
class Repair:
    """What could be saved of a record, and what not."""

    saved: int
    lost: tuple[str, ...]  # sentences
    kept: Path | None  # where the damaged file was put; None where there was none


def repair(root: Path, record: Path) -> Repair:
    """Build a record anew from the sound beginning of the damaged one and the exports that go on from there.

    The damaged file is kept. Raises RecordError where the record is sound already, or nothing at all can be saved.
    """
    rows, lost = _sound_rows(record)
    if not lost and rows and (read_head(root) is None or len(rows) >= (read_head(root) or Head("", 0, "")).seq):
        raise RecordError(f"{record}: the record is sound, there is nothing to repair")
    chains = [rows, *(_exported(path) for path in sorted((root / "exports").glob("*.jsonl")))]
    best = max((chain for chain in chains if _goes_on(rows, chain)), key=len, default=[])
    if not best:
        raise RecordError(f"{record}: nothing of it can be read, and no export goes on from it. Bring back a copy")
    kept = None
    if record.exists():
        number = next(n for n in range(1, 1000) if not record.with_suffix(f".damaged-{n}").exists())
        kept = record.with_suffix(f".damaged-{number}")
        for ending in ("", "-wal", "-shm"):
            part = record.with_name(record.name + ending)
            if part.exists():
                shutil.move(part, kept if not ending else kept.with_name(kept.name + ending))
    with Ledger(record, create=True) as ledger:
        ledger.insert_rows(best)
    head = read_head(root)
    missing = 0 if head is None else max(0, head.seq - len(best))
    if missing:
        lost.append(f"entries {len(best) + 1} to {len(best) + missing} are in no file")
    (root / HEAD).unlink(missing_ok=True)
    return Repair(len(best), tuple(lost), kept)


def _goes_on(rows: list[tuple[object, ...]], chain: list[tuple[object, ...]]) -> bool:
    return bool(chain) and (not rows or (len(chain) >= len(rows) and chain[len(rows) - 1][9] == rows[-1][9]))


def _sound_rows(record: Path) -> tuple[list[tuple[object, ...]], list[str]]:
    """The entries from the first on that fit their chain, and what was found wrong."""
    rows: list[tuple[object, ...]] = []
    previous = FIRST_HASH
    try:
        for row in rows_of(record):
            fault = row_fault(row, len(rows) + 1, previous)
            if fault:
                return rows, [f"{fault}; it and all after it were left out"]
            rows.append(tuple(row))
            previous = str(row[9])
    except RecordError as problem:
        return rows, [f"after entry {len(rows)} the file cannot be read ({problem})"]
    return rows, []


def _exported(path: Path) -> list[tuple[object, ...]]:
    """The entries of an export that fit their chain from the first on."""
    rows: list[tuple[object, ...]] = []
    previous = FIRST_HASH
    try:
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
            row = parsed_line(line, number, str(path))
            if row_fault(row, len(rows) + 1, previous):
                break
            rows.append(row)
            previous = str(row[9])
    except (OSError, ValueError, ScanprepError):
        return rows
    return rows

"""The record of a case folder as people use it: put something on it, read it as a logbook, check it, copy it.

Used by the record commands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from scanprep.brief import CaseBrief
from scanprep.case.record.entry import Entry, NewEntry
from scanprep.case.record.fold import fold
from scanprep.case.record.history import LogLine, history
from scanprep.case.record.inputs import check_same_case
from scanprep.case.record.measuring import with_measured
from scanprep.case.record.state import CaseState
from scanprep.errors import InputError, ScanprepError, UnreadableRecordError
from scanprep.files.atomic_write import write_atomically
from scanprep.files.case_file import read_case
from scanprep.files.ledger import Ledger, entry_of, parsed_line
from scanprep.files.new_case import CASE_FILE
from scanprep.files.record_health import Repair, check_whole, note_head, read_head, repair
from scanprep.workspace.folder import RECORD, CaseFolder, apart

KEPT_EXPORTS = 5  # tolerance: a few steps back, in case the newest was written after the damage


def put(folder: CaseFolder, entries: Sequence[NewEntry], person: str | None) -> tuple[LogLine, ...]:
    """Put decisions on record, all or none, and return their lines in the logbook; nothing to say, nothing written."""
    if not entries:
        return ()
    after = folder.say(entries, person)
    numbers = dict.fromkeys(entry.object for entry in entries)
    lines = (line for n in numbers for line in history(after.entries, n, folder.case.units))
    return tuple(line for line in lines if line.seq > folder.state.seq)


def book(root: Path, number: str | None) -> tuple[LogLine, ...]:
    """Return an object's logbook, or the case's own lines.

    A record with entries of a newer version is read too, though nothing else can be done with it here. Raises
    InputError on an object that the record does not know.
    """
    case, _ = read_case(root / CASE_FILE)
    with Ledger(root / RECORD, look=True) as ledger:
        head, entries = read_head(root), ledger.entries()
    check_whole(root, head, entries)
    known = dict.fromkeys(entry.object for entry in entries if entry.object is not None)
    if number is not None and number not in known:
        raise InputError(field="OBJECT", value=number, problem="is not in this case's record",
                         remedy=f"There are: {', '.join(list(known)[:8]) or 'none yet'}")
    return history(entries, number, case.units)


def photo_paths(folder: CaseFolder, photos: Sequence[Path]) -> tuple[str, ...]:
    """Return photographs as the record names them: from the case folder where they lie in it. Raises InputError."""
    named = []
    for photo in photos:
        if not photo.is_file():
            raise InputError(file=photo, problem="is not there", remedy="Give the path of the photograph as it is now")
        full, root = photo.resolve(), folder.root.resolve()
        named.append(full.relative_to(root).as_posix() if full.is_relative_to(root) else str(full))
    return tuple(named)


def verify(root: Path) -> tuple[int, tuple[str, ...]]:
    """Return how many entries a case's record has, and every fault of its file, its chain and its end."""
    with Ledger(root / RECORD, look=True) as ledger:
        head, count, faults = read_head(root), ledger.last_seq(), ledger.verify()
        if faults:
            return count, faults
        try:
            check_whole(root, head, ledger.entries())
        except UnreadableRecordError as problem:
            return count, (str(problem),)
    return count, ()


def repair_record(root: Path) -> Repair:
    """Build a case's record anew from what is sound of it and its exports. Raises RecordError where nothing is."""
    return repair(root, root / RECORD)


def export(root: Path, target: Path) -> int:
    """Write the whole record as JSON lines, entries of a newer version too; return how many."""
    with Ledger(root / RECORD, look=True) as ledger:
        check_whole(root, read_head(root), ledger.entries())
        lines = tuple(ledger.export_lines())
    write_atomically(target, "".join(line + "\n" for line in lines))
    return len(lines)


def _lines(source: Path) -> list[str]:
    if not source.is_file():
        raise InputError(file=source, problem="is not there", remedy="Give the path of an exported record")
    try:
        return source.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as problem:
        raise InputError(file=source, problem=f"cannot be read as text ({problem})",
                         remedy="Give the path of an exported record") from problem


def import_from(folder: CaseFolder, source: Path) -> int:
    """Take exported lines that this record lacks; return how many. Raises InputError where the two part ways."""
    lines = _lines(source)

    with Ledger(folder.root / RECORD, create=True) as ledger:
        count = ledger.import_lines(lines, str(source), lambda entries: check_same_case(
            _make_sense(entries, source, folder.case).inputs, folder.case))
        note_head(folder.root, ledger.entries())
    return count


def _make_sense(entries: Sequence[Entry], source: Path, case: CaseBrief) -> CaseState:
    """Fold and tell entries before they are taken, so that no record is left that nothing opens. Raises InputError."""
    try:
        state = fold(entries)
        for number in (None, *state.objects):
            history(entries, number)
        with_measured(case, state.measured)
        return state
    except (ScanprepError, ValueError, TypeError, LookupError, AttributeError) as problem:
        raise InputError(file=source, problem=f"holds entries that do not make sense together ({problem})",
                         remedy="Nothing was taken. Export again from the record it came from") from problem


@dataclass(frozen=True, slots=True)
class Merged:
    """What was taken from a copy of the record, and what was not, each named."""

    taken: int
    left: tuple[str, ...]


def rotate_exports(folder: CaseFolder) -> Path | None:
    """Write the record as JSON lines into exports/, next to the last few; None where it has not grown since.

    A second form of the record that no fault of one file takes along; `repair` reads it.
    """
    target = folder.root / "exports" / f"record-{folder.state.seq:06d}.jsonl"
    if not folder.entries or target.exists():
        return None
    export(folder.root, target)
    for old in sorted(target.parent.glob("record-*.jsonl"))[:-KEPT_EXPORTS]:
        old.unlink(missing_ok=True)
    return target


def merge_from(folder: CaseFolder, source: Path, person: str | None) -> Merged:
    """Take from a copy of this record that went its own way what has nothing to do with what was decided here.

    Its entries after the last one that both have are put on record anew, in their order, each with its own person's
    name in the reason; an entry about an object, a hole or the case as a whole that was decided about here too is left
    out and named. Raises InputError where the two are not copies of one record.
    """
    rows = [parsed_line(line, k, str(source)) for k, line in enumerate(_lines(source), start=1) if line.strip()]
    lines = [entry_of(row) for row in rows]
    ours = {entry.seq: entry for entry in folder.entries}
    common = 0
    for line in lines:
        mine = ours.get(line.seq)
        if mine is None or mine.hash != line.hash:
            break
        common = mine.seq
    if common == 0 and folder.entries:
        raise InputError(file=source, problem="is no copy of this record: not even their first entries are the same",
                         remedy="Merge the export of a copy of this case")
    here = [entry for entry in folder.entries if entry.seq > common]
    taken: list[NewEntry] = []
    left: list[str] = []
    for line in lines[common:]:
        entry = NewEntry(line.kind, line.object, line.payload,
                         f"{line.reason} (merged: {line.person}, {line.time[:10]})".strip())
        if not here or apart([entry], here):
            taken.append(entry)
        else:
            left.append(f"entry {line.seq} ({line.person}: {line.kind} {line.object or 'of the case'})")
    _make_sense((*folder.entries, *_as_entries(taken, folder.entries[-1])), source, folder.case)
    if taken:
        folder.say(taken, person)
    return Merged(len(taken), tuple(left))


def _as_entries(said: Sequence[NewEntry], last: Entry) -> list[Entry]:
    """Decisions as they would stand on record after its last entry, to be folded before they are written.

    They are dated like that entry, since none of them is older; the hashes are not read there.
    """
    return [Entry(seq, last.time, "", None, new.kind, new.object, new.payload, new.reason, "", "")
            for seq, new in enumerate(said, start=last.seq + 1)]


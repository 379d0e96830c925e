"""The record of a case folder as people use it: put something on it, read it as a logbook, check it, copy it.

Used by the record commands.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from scanprep.case.record.entry import NewEntry
from scanprep.case.record.history import LogLine, history
from scanprep.errors import InputError
from scanprep.files.atomic_write import write_atomically
from scanprep.files.ledger import Ledger
from scanprep.workspace.folder import RECORD, CaseFolder


def put(folder: CaseFolder, entries: Sequence[NewEntry], person: str | None) -> tuple[LogLine, ...]:
    """Put decisions on record, all or none, and return their lines in the logbook; nothing to say, nothing written."""
    if not entries:
        return ()
    after = folder.say(entries, person)
    numbers = dict.fromkeys(entry.object for entry in entries)
    lines = (line for n in numbers for line in history(after.entries, n, folder.case.units))
    return tuple(line for line in lines if line.seq > folder.state.seq)


def book(folder: CaseFolder, number: str | None) -> tuple[LogLine, ...]:
    """Return an object's logbook, or the case's own lines. Raises InputError on an unknown object."""
    if number is not None:
        folder.object(number)
    return history(folder.entries, number, folder.case.units)


def photo_paths(folder: CaseFolder, photos: Sequence[Path]) -> tuple[str, ...]:
    """Return photographs as the record names them: from the case folder where they lie in it. Raises InputError."""
    named = []
    for photo in photos:
        if not photo.is_file():
            raise InputError(file=photo, problem="is not there", remedy="Give the path of the photograph as it is now")
        full, root = photo.resolve(), folder.root.resolve()
        named.append(full.relative_to(root).as_posix() if full.is_relative_to(root) else str(full))
    return tuple(named)


def verify(folder: CaseFolder) -> tuple[str, ...]:
    """Return every fault of the record's file and chain; empty when all is well."""
    with Ledger(folder.root / RECORD) as ledger:
        return ledger.verify()


def export(folder: CaseFolder, target: Path) -> int:
    """Write the whole record as JSON lines; return how many."""
    with Ledger(folder.root / RECORD) as ledger:
        lines = tuple(ledger.export_lines())
    write_atomically(target, "".join(line + "\n" for line in lines))
    return len(lines)


def import_from(folder: CaseFolder, source: Path) -> int:
    """Take exported lines that this record lacks; return how many. Raises InputError where the two part ways."""
    if not source.is_file():
        raise InputError(file=source, problem="is not there", remedy="Give the path of an exported record")
    try:
        lines = source.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as problem:
        raise InputError(file=source, problem=f"cannot be read as text ({problem})",
                         remedy="Give the path of an exported record") from problem
    with Ledger(folder.root / RECORD, create=True) as ledger:
        return ledger.import_lines(lines, str(source))

"""The papers' folder of a case: its register, old issues moved away, and the judgement of a paper in the hand.

DIR/papers/register.json lists every issue; DIR/papers/superseded keeps the files of old ones, their issue in the name.
"""

from __future__ import annotations

import hashlib
import sqlite3
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from scanprep.errors import InputError
from scanprep.files.atomic_write import write_atomically
from scanprep.files.ledger import Ledger
from scanprep.papers.drawing.control import Control, as_identity, find_control
from scanprep.papers.register import (
    Drawn,
    FactChange,
    Register,
    Registered,
    changes_between,
    read_register,
    register_text,
)
from scanprep.workspace.folder import RECORD, CaseFolder

REGISTER, SUPERSEDED, LOCK = "register.json", "superseded", ".lock"


def load_register(root: Path) -> Register:
    """Return the register of a papers' folder; an empty one where nothing was printed yet.

    Raises InputError where the file cannot be read as one: printing over it would lose what is out there.
    """
    path = root / REGISTER
    if not path.exists():
        return Register()
    try:
        return read_register(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as problem:
        raise InputError(file=path, problem=f"is no register of papers ({problem})",
                         remedy="Bring back a sound copy, or move the whole folder away to begin a new register"
                         ) from problem


@contextmanager
def alone(root: Path) -> Iterator[None]:
    """Let one run at a time write to a papers' folder. Raises InputError where another one does.

    The lock is the system's, on the file `.lock`, and ends with the program that holds it: a run that was killed holds
    nothing up, and the file itself may stay.
    """
    root.mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(root / LOCK, timeout=0.0, isolation_level=None)) as lock:
        try:
            lock.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as problem:
            raise InputError(file=root, problem="another run of `scanprep papers` is writing here",
                             remedy="Wait until it has ended, then say it again; nothing was written by this one"
                             ) from problem
        yield


def keep_register(root: Path, register: Register) -> None:
    """Write the register, whole or not at all."""
    text = register_text(register)
    path = root / REGISTER
    if not path.exists() or path.read_text(encoding="utf-8") != text:
        write_atomically(path, text)


def altered(root: Path, paper: Registered) -> bool:
    """Whether a paper's file is lost or not as it was issued."""
    try:
        return hashlib.sha256((root / paper.file).read_bytes()).hexdigest() != paper.last.sha256
    except OSError:
        return True


def record_end(folder: CaseFolder) -> int:
    """Return the number of the record's last entry as its file has it now, others' included."""
    with Ledger(folder.root / RECORD, look=True) as ledger:
        return ledger.last_seq()


def record_mark(folder: CaseFolder) -> str:
    """Return where a case's record ends, as papers say it: number and first digits of the hash of its last entry."""
    return f"{folder.entries[-1].seq} {folder.entries[-1].hash[:12]}" if folder.entries else ""


def _of_this_record(folder: CaseFolder, control: Control) -> bool:
    """Whether the record still holds the entry up to which a paper was drawn."""
    seq, _, start = control.record.partition(" ")
    return not seq or (int(seq) <= len(folder.entries) and folder.entries[int(seq) - 1].hash.startswith(start))


def put_paper(root: Path, paper: Drawn) -> bool:
    """Write a paper unless its file is so already; return whether it was written."""
    path = root / paper.file
    if path.exists() and path.read_bytes() == paper.content:
        return False
    write_atomically(path, paper.content)
    return True


def supersede(root: Path, paper: Registered) -> None:
    """Move the file of a paper's last issue to the superseded ones; one that was altered is moved as what it is."""
    path, at = root / paper.file, PurePosixPath(paper.file)
    if not path.exists():
        return
    stem = f"{at.stem}-issue-{paper.last.control.issue}"
    folder = root / SUPERSEDED / at.parent
    if (folder / f"{stem}{at.suffix}").exists():
        return  # moved by a run that was killed before it could enter it; what stands there now is newer
    write_atomically(folder / f"{stem}{'-altered' if altered(root, paper) else ''}{at.suffix}", path.read_bytes())
    path.unlink()


def strays(root: Path, register: Register) -> tuple[str, ...]:
    """Return the files in the papers' folder that are not current papers: nobody says what they are worth."""
    if not root.exists():
        return ()
    names = (path.relative_to(root).as_posix() for path in sorted(root.rglob("*")) if path.is_file())
    return tuple(name for name in names if name not in register.current and name != REGISTER
                 and not name.startswith((f"{SUPERSEDED}/", ".")) and "/." not in name)


@dataclass(frozen=True, slots=True)
class Verified:
    """What the register says of a paper in the hand."""

    control: Control
    file: str  # empty where the register does not know the paper
    standing: str  # current, superseded, withdrawn, altered, unknown
    now: str  # what is current instead
    changes: tuple[FactChange, ...]  # what the current issue says otherwise
    entries_since: int  # decisions on record since the set was last brought up to date
    of_this_record: bool = True  # False: the case's record has no such entry as the paper was drawn up to

    @property
    def may_be_used(self) -> bool:
        """Whether it may be worked from."""
        return self.standing == "current" and not self.entries_since and self.of_this_record

    @property
    def sentences(self) -> tuple[str, ...]:
        """What a person is told, a line each."""
        if self.standing == "unknown":
            return (f"paper {self.control.identity} is not in this case's register: do not work from it",)
        what = f"{self.file}, {self.control.words}"
        said = {"current": f"{what}: current", "withdrawn": f"{what}: WITHDRAWN, the case no longer has this paper",
                "superseded": f"{what}: SUPERSEDED by {self.now}",
                "altered": f"{what}: ALTERED, the file is not as it was issued (current: {self.now or 'none'})"}
        lines = [said[self.standing]]
        lines += [f"  {change.kind} {change.number}: was {change.was or 'not there'}; is {change.now or 'not there'}"
                  for change in self.changes]
        if self.standing == "superseded" and not self.changes:
            lines.append("  no figure of a hole or mount changed")
        if not self.of_this_record:
            lines.append(f"  it was {self.control.record_words}, which is not in this case's record: do not work from "
                         "it; the record was replaced by an older copy or another case's")
        if self.entries_since > 0:
            lines.append(f"  {self.entries_since} entries were recorded since the set was brought up to date: run "
                         "`papers` before anybody works from it")
        return tuple(lines)


def verify_paper(folder: CaseFolder, what: str) -> Verified:
    """Return what the register says of a paper, given by its file or by the identity printed on it.

    Raises InputError where it is neither, or a file that carries no identity.
    """
    register = load_register(folder.root / "papers")
    since = folder.state.seq - register.entry
    identity, path = as_identity(what), Path(what)
    content = path.read_bytes() if path.is_file() else None
    if content is not None:
        control = _control_in(content)
        if control is None:
            raise InputError(file=path, problem="carries no identity of a paper",
                             remedy="Give a file that `papers` printed, or the identity printed on the sheet")
    elif identity is not None:
        control = Control(identity, 0)
    else:
        raise InputError(field="verify", value=what, problem="is no file and no identity",
                         remedy="Write a file's path, or an identity as printed, such as 7K3A-91CD")
    found = register.find(control.identity)
    if found is None:
        return Verified(control, "", "unknown", "", (), since)
    paper, issued = found
    now = "" if paper.withdrawn_by else paper.last.control.words
    changes = () if issued == paper.last else changes_between(issued.facts, paper.last.facts)
    if content is not None and hashlib.sha256(content).hexdigest() != issued.sha256:
        return Verified(issued.control, paper.file, "altered", now, changes, since,
                        _of_this_record(folder, issued.control))
    standing = "withdrawn" if paper.withdrawn_by else "current" if issued == paper.last else "superseded"
    return Verified(issued.control, paper.file, standing, now, changes, since, _of_this_record(folder, issued.control))


def _control_in(content: bytes) -> Control | None:
    """The control in a file's metadata: an XLSX is a zip archive, all others say it in plain text."""
    import io

    if content[:2] == b"PK":
        try:
            with zipfile.ZipFile(io.BytesIO(content)) as book:
                content = book.read("docProps/core.xml")
        except (zipfile.BadZipFile, KeyError):
            return None
    return find_control(content.decode("utf-8", errors="replace"))

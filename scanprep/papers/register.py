"""The register of a case's papers: which issue of each is current, which are superseded, and what each one said.

A paper is issued anew when its content changed, never for anything else; its issue number then rises. Every issue keeps
its facts: for each hole and each mount that the paper gives figures of, one line of
words. Facts of two issues compared say what changed, so that a paper in the hand can be judged without the old drawing.
Pure values; reading and writing the register's file is done by `workspace`.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from scanprep.numbering import natural_key
from scanprep.papers.drawing.control import Control, control_of, digest_of
from scanprep.plain_values import from_plain, to_plain

SCHEMA = 1  # format: version of the register


@dataclass(frozen=True, slots=True)
class Fact:
    """What a paper says of one hole or one mount."""

    kind: str  # "hole" or "mount"
    number: str
    words: str


@dataclass(frozen=True, slots=True)
class FactChange:
    """A fact that two issues say differently; empty words: it is not there."""

    kind: str
    number: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Issued:
    """One issue of a paper."""

    control: Control
    digest: str  # of its content
    sha256: str  # of the file as written
    note: int  # number of the change note that went out with it
    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Registered:
    """One paper: all its issues in order; the last one counts, unless the paper was withdrawn."""

    file: str  # relative to the papers' folder
    kind: str
    made_from: str  # key of everything it was made from
    issues: tuple[Issued, ...]
    withdrawn_by: int = 0  # number of the change note that withdrew it; 0: it is current

    @property
    def last(self) -> Issued:
        """Its newest issue."""
        return self.issues[-1]


@dataclass(frozen=True, slots=True)
class Printing:
    """On what and how a set is printed; kept, so that printing one kind again does not change the others."""

    paper: str = "A4"
    units: str = ""  # mm or in; empty: the case's own
    x_ratio: float = 1.0  # stretch for one printer
    y_ratio: float = 1.0


@dataclass(frozen=True, slots=True)
class Register:
    """All papers that were ever issued for a case."""

    papers: dict[str, Registered] = field(default_factory=dict)
    printing: Printing = field(default_factory=Printing)
    note: int = 0  # number of the latest change note
    entry: int = 0  # of the record, as it stood when the set was last brought up to date
    schema: int = SCHEMA

    @property
    def current(self) -> dict[str, Registered]:
        """The papers that count."""
        return {file: paper for file, paper in self.papers.items() if not paper.withdrawn_by}

    def find(self, identity: str) -> tuple[Registered, Issued] | None:
        """Return the paper and the issue that an identity stands for; None where it was never issued here."""
        return next(((paper, issued) for paper in self.papers.values() for issued in paper.issues
                     if issued.control.identity == identity), None)

    def with_papers(self, papers: Mapping[str, Registered]) -> Register:
        """Return the register with papers entered, in the order of their files."""
        return replace(self, papers=dict(sorted({**self.papers, **papers}.items())))


@dataclass(frozen=True, slots=True)
class Drawn:
    """A paper as drawn: the bytes of the issue that it is."""

    file: str
    digest: str
    control: Control
    content: bytes


def draw(file: str, make: Callable[[Control | None], bytes], before: Registered | None, record: str) -> Drawn:
    """Return a paper as the issue that it is: the last one where its content is the same, else the next.

    make    writes it, with the words of its control or without
    before  what the register says of the file
    record  where the case's record ends; a new issue says so, one that stays keeps what it said
    """
    digest = digest_of(make(None))
    if before is not None and before.last.digest == digest and not before.withdrawn_by:
        control = before.last.control
    else:
        control = control_of(file, 1 if before is None else before.last.control.issue + 1, digest, record)
    return Drawn(file, digest, control, make(control))


def entered(drawn: Drawn, kind: str, made_from: str, facts: tuple[Fact, ...], note: int,
            before: Registered | None) -> Registered:
    """Return what the register says of a paper once it is drawn.

    note  number of the change note that goes out with it, where it is a new issue
    """
    issues = () if before is None else before.issues
    if before is not None and before.last.control == drawn.control:
        return replace(before, made_from=made_from)
    issued = Issued(drawn.control, drawn.digest, hashlib.sha256(drawn.content).hexdigest(), note, facts)
    return Registered(drawn.file, kind, made_from, (*issues, issued))


def register_text(register: Register) -> str:
    """Return a register as the text of its file; the same text for the same register."""
    return json.dumps(to_plain(register), indent=1, ensure_ascii=False) + "\n"


def read_register(text: str) -> Register:
    """Return the register that a text holds. Raises ValueError where it holds none, or one of a newer version."""
    plain = json.loads(text)
    if not isinstance(plain, dict) or plain.get("schema") != SCHEMA:
        raise ValueError(f"schema must be {SCHEMA}")
    register: Register = from_plain(Register, plain)
    return register


def changes_between(was: Sequence[Fact], now: Sequence[Fact]) -> tuple[FactChange, ...]:
    """Return what two issues say differently, holes first, in the order in which people count."""
    old = {(fact.kind, fact.number): fact.words for fact in was}
    new = {(fact.kind, fact.number): fact.words for fact in now}
    return tuple(FactChange(*key, old.get(key, ""), new.get(key, ""))
                 for key in sorted({*old, *new}, key=lambda key: (key[0], natural_key(key[1])))
                 if old.get(key) != new.get(key))
